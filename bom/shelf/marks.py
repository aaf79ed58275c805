"""Low and full marks for the drawer, learned from what went out of it week by week.

Low lasts until an order comes, as surely as the house wants; full is low and one order, of the
size at which ordering and keeping cost least (`stock_figures`).
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from math import sqrt

from msgspec import Struct

from bom.files.spelling import fold
from bom.files.units import ThingKey, key_of, per_unit
from bom.shelf.stock_figures import order_size, order_size_cost, reorder_point
from bom.trade.figures import round_money
from bom.trade.house import HouseRules
from bom.trade.shelf import DrawerItem, Move

FEWEST_WEEKS = 8
"""From fewer whole weeks nothing is proposed: two months tell little enough of ups and downs."""

FEWEST_USED = 2
"""What was used in fewer weeks than this has no use per week yet."""

WEEKS_OF_YEAR = 52
"""Not 365.25 / 7: an order size goes with the root of a year's use, so it differs by 0.1 %."""

WEEKS_WITHOUT_COST = 4
"""So many weeks' use is one order where no cost says what keeping it would cost."""

NO_COST = "no cost on the Drawer sheet: four weeks' use"
OVER_A_YEAR = "one order is more than a year's use"

_DAYS_OF_WEEK = 7
_PIECE = Decimal(1)
_MEASURED = Decimal("0.1")
_ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d(?!\d)")


class LearnedMark(Struct, frozen=True, kw_only=True):
    """What is proposed for an item of the drawer, and the figures; amounts in its own `unit`.

    `per_week` and `deviation` are the mean and the sample standard deviation of its weekly use.
    `order_cost_per_year` is what ordering `order_size` at a time and keeping it cost, None where
    the item has no cost of its own.
    """

    item: str
    unit: str
    weeks: int
    per_week: float
    deviation: float
    low: Decimal
    full: Decimal
    was_low: Decimal | None
    was_full: Decimal | None
    order_size: Decimal
    order_cost_per_year: Decimal | None
    remark: str

    @property
    def changed(self) -> bool:
        """True where the Drawer sheet has other marks, or none."""
        return (self.low, self.full) != (self.was_low, self.was_full)


class Learned(Struct, frozen=True, kw_only=True):
    """The marks in the order of the drawer; none where `weeks` is under `FEWEST_WEEKS`."""

    marks: tuple[LearnedMark, ...]
    weeks: int
    """Whole weeks since the first move of the book, today not in them."""
    too_little: tuple[str, ...]
    """Items used in fewer than `FEWEST_USED` of the weeks."""
    undated: int
    """Moves left out since their moment begins with no date (2026-11-25), or with one to come."""


class _Use(Struct, frozen=True, kw_only=True):
    """Use per week of one item, over all the weeks."""

    mean: float
    deviation: float
    weeks_used: int

    @property
    def enough(self) -> bool:
        """Used in weeks enough, and not all of it put back."""
        return self.weeks_used >= FEWEST_USED and self.mean > 0


_Dated = tuple[date, Move]


def learn(
    moves: Sequence[Move], drawer: Sequence[DrawerItem], rules: HouseRules, today: date
) -> Learned:
    """Propose marks from the moves that stand: those of undone commands must not be among them.

    Weeks are counted back from yesterday, since today is not over; the days before the first
    whole week are left out, and a week without use is a week with use 0.  An item that stands in
    two rows is marked in its first.
    """
    dated = [(day, move) for move in moves if (day := _day(move.when)) and day <= today]
    first = min((day for day, _ in dated), default=today)
    weeks = (today - first).days // _DAYS_OF_WEEK
    undated = len(moves) - len(dated)
    if weeks < FEWEST_WEEKS:
        return Learned(marks=(), weeks=weeks, too_little=(), undated=undated)
    items: dict[ThingKey, DrawerItem] = {}
    for item in drawer:
        items.setdefault(key_of(item.item, item.counted_in), item)
    numbers = {key: number for number, key in enumerate(items)}
    seen = list(zip(items.values(), _per_week(dated, numbers, today, weeks), strict=True))
    enough = [(item, use) for item, use in seen if use.enough]
    return Learned(
        marks=tuple(_mark(item, use, weeks, rules) for item, use in enough),
        weeks=weeks,
        too_little=tuple(item.item for item, use in seen if not use.enough),
        undated=undated,
    )


def _day(when: str) -> date | None:
    """The day of a moment; None for what the owner wrote in another way."""
    said = _ISO_DAY.match(when)
    try:
        return date.fromisoformat(said[0]) if said else None
    except ValueError:
        return None


# Use


def _is_use(move: Move) -> bool:
    """Issued or taken, or gone without a word and missed by a count; scrap is not bought again.

    What a job put right after it (`done`, `takeback`) counts both ways: what came back was not
    used.  So does what was put in, as far as it is what was taken (`_per_week`).
    """
    what = fold(move.what)
    both_ways = what in ("done", "takeback", "put")
    return both_ways or (what in ("issue", "take", "count") and move.change < 0)


def _per_week(
    dated: Iterable[_Dated], items: Mapping[ThingKey, int], today: date, weeks: int
) -> tuple[_Use, ...]:
    """Use per week of each item by its number, in millimetres or in the unit it is counted in.

    What was put in came back as far as as much was taken in that week; more of it is new.
    """
    import pandas as pd

    frame = pd.DataFrame(
        [
            (
                items[key],
                ((today - day).days - 1) // _DAYS_OF_WEEK,
                float(-move.change * per_unit(move.unit)),
                fold(move.what) in ("take", "put"),
            )
            for day, move in dated
            if _is_use(move) and (key := key_of(move.item, move.unit)) in items
        ],
        columns=["item", "week", "used", "by hand"],
    )
    frame = frame.groupby(["item", "week", "by hand"], as_index=False).sum()
    frame["used"] = frame["used"].mask(frame["by hand"] & (frame["used"] < 0), 0.0)
    by_week = frame.pivot_table(index="week", columns="item", values="used", aggfunc="sum")
    # today is week -1, what is older than the first whole week is over the last: both fall out
    by_week = by_week.reindex(index=range(weeks), columns=range(len(items))).fillna(0.0)
    return tuple(
        _Use(
            mean=float(by_week[number].mean()),
            deviation=float(by_week[number].std(ddof=1)),
            weeks_used=int((by_week[number] > 0).sum()),
        )
        for number in range(len(items))
    )


# Marks


def _mark(item: DrawerItem, use: _Use, weeks: int, rules: HouseRules) -> LearnedMark:
    per = per_unit(item.counted_in)
    step = _PIECE if item.unit != "mm" else _MEASURED
    mean, deviation = use.mean / float(per), use.deviation / float(per)
    low = _low(mean, deviation, step, rules)
    cost = (item.cost or Decimal()) * per
    size, yearly = _order(mean, cost, step, rules)
    remarks = (
        NO_COST if yearly is None else "",
        OVER_A_YEAR if size > _exact(mean * WEEKS_OF_YEAR) else "",
    )
    return LearnedMark(
        item=item.item,
        unit=item.counted_in,
        weeks=weeks,
        per_week=mean,
        deviation=deviation,
        low=low,
        full=low + size,
        was_low=None if item.low is None else item.low / per,
        was_full=None if item.full is None else item.full / per,
        order_size=size,
        order_cost_per_year=yearly,
        remark="; ".join(filter(None, remarks)),
    )


def _low(mean: float, deviation: float, step: Decimal, rules: HouseRules) -> Decimal:
    """One step over the least stock that lasts until an order comes; weeks count as independent.

    An item is bought when it is under its low mark, so that the order goes out with as much as
    the reorder point there.  What goes out before the owner asks what runs low comes on top.
    """
    lead_weeks = float(rules.lead_days) / _DAYS_OF_WEEK
    service = float(rules.service_percent) / 100
    point = reorder_point(mean * lead_weeks, deviation * sqrt(lead_weeks), service)
    return max(_up(point, step), Decimal()) + step


def _order(
    mean: float, cost: Decimal, step: Decimal, rules: HouseRules
) -> tuple[Decimal, Decimal | None]:
    """How much to order at a time, and what that costs in a year, None without a cost."""
    if not cost:
        return _up(WEEKS_WITHOUT_COST * mean, step), None
    once, per_year = float(rules.order_cost), WEEKS_OF_YEAR * mean
    holding = float(cost * rules.holding_percent / 100)
    size = _up(order_size(once, per_year, holding), step)
    yearly = order_size_cost(float(size), once, per_year, holding)
    return size, round_money(Decimal(str(yearly)))


def _up(amount: float, step: Decimal) -> Decimal:
    """The next whole step."""
    return (_exact(amount) / step).to_integral_value("ROUND_CEILING") * step


def _exact(amount: float) -> Decimal:
    """A sum of floats without its last places, which are no reason for one piece more."""
    return Decimal(str(round(amount, 9)))
