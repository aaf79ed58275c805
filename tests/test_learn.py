"""Marks learned from the moves: hand arithmetic, what counts as use, and whether stock lasts.

The items and their use are invented.  z(95 %) = 1.645 is the usual table of the normal curve.
"""

import random
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from math import sqrt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from bom.shelf.marks import NO_COST, OVER_A_YEAR, Learned, LearnedMark, learn
from bom.trade.house import HouseRules
from bom.trade.rows import Row
from bom.trade.shelf import DrawerItem, Move

TODAY = date(2026, 11, 25)
ROW = Row("stock.xlsx", "Drawer", 2)
SIX = HouseRules(order_cost=Decimal(6))
WEEK = replace(SIX, lead_days=Decimal(7))
"""An order comes in a week: the use until then is the use of a week."""


def item(name: str = "bullet", **cells: Any) -> DrawerItem:
    """A counted item without marks or cost, unless `cells` say otherwise."""
    blank: dict[str, Any] = {"unit": "each", "on_hand": Decimal(10), "place": "", "row": ROW}
    blank |= dict.fromkeys(("low", "full", "cost"))
    return DrawerItem(item=name, **(blank | cells))


def tape(**cells: Any) -> DrawerItem:
    """An item measured in metres: its amounts are in mm, its cost is that of one mm."""
    return item("tape", **({"unit": "mm", "counted_in": "m"} | cells))


def move(days_ago: int, change: str, what: str = "issue", **cells: Any) -> Move:
    """So much came or went, so many days before today."""
    when = f"{TODAY - timedelta(days=days_ago)} 14:03:07"
    blank: dict[str, Any] = {"when": when, "job": "", "item": "bullet", "unit": "each"}
    blank |= {"left": None, "note": "", "row": ROW}
    return Move(what=what, change=Decimal(change), **(blank | cells))


def opening(weeks: int) -> Move:
    """The first move of a book that is so many whole weeks old: the delivery it began with."""
    return move(7 * weeks, "1000", "receive", item="something else")


def weekly(*used: int | str, **cells: Any) -> list[Move]:
    """So much used in each week, last week first, all on the last day of it."""
    issues = [move(7 * week + 1, f"-{much}", **cells) for week, much in enumerate(used) if much]
    return [opening(len(used)), *issues]


def one(moves: Iterable[Move], of: DrawerItem, rules: HouseRules = WEEK) -> LearnedMark:
    """The one mark learned for the one item of a drawer."""
    (mark,) = learn(tuple(moves), (of,), rules, TODAY).marks
    return mark


# ---- By hand -------------------------------------------------------------------------------


def test_marks_of_an_item_with_a_cost_by_hand() -> None:
    """Eight weeks of 2 and 4 by turns, at 0.10 each, 6.00 an order, 20 % a year for keeping."""
    mark = one(weekly(2, 4, 2, 4, 2, 4, 2, 4), item(cost=Decimal("0.10")))
    # mean 24 / 8 = 3; each week is 1 off, so deviation sqrt(8 x 1 / 7) = 1.0690
    assert (mark.weeks, mark.per_week) == (8, 3)
    assert mark.deviation == pytest.approx(1.0690, abs=5e-5)
    # 3 + 1.645 x 1.0690 = 4.76, so 5, and one over it
    assert mark.low == 6
    # 52 x 3 = 156 a year, 0.02 for keeping one: sqrt(2 x 6 x 156 / 0.02) = sqrt(93600) = 305.9
    assert mark.order_size == 306
    assert mark.full == 6 + 306
    # 6 x 156 / 306 + 0.02 x 306 / 2 = 3.0588 + 3.06
    assert mark.order_cost_per_year == Decimal("6.12")
    assert mark.remark == OVER_A_YEAR
    assert (mark.item, mark.unit) == ("bullet", "each")


def test_the_lead_time_of_the_house_by_hand() -> None:
    """Five days are 5/7 of a week: mean 3 x 5/7 = 2.143, deviation 1.069 x sqrt(5/7) = 0.9035."""
    mark = one(weekly(2, 4, 2, 4, 2, 4, 2, 4), item(), SIX)
    # 2.143 + 1.645 x 0.9035 = 3.63, so 4 and one
    assert mark.low == 5
    # three weeks: 9 + 1.645 x 1.069 x sqrt(3) = 9 + 3.05, so 13 and one
    three = HouseRules(lead_days=Decimal(21))
    assert one(weekly(2, 4, 2, 4, 2, 4, 2, 4), item(), three).low == 14


def test_spares_that_came_back_after_a_job_were_not_used() -> None:
    """4 issued a week and 1 back: 3 a week.  All of it back is no use at all."""
    issued = weekly(4, 4, 4, 4, 4, 4, 4, 4)
    back = [move(7 * week + 1, "1", "done") for week in range(8)]
    assert one([*issued, *back], item()).per_week == 3
    more = [move(7 * week + 1, "-1", "done") for week in range(8)]
    assert one([*issued, *more], item()).per_week == 5
    every = [move(1, "32", "done")]
    found = learn((*issued, *every), (item(),), WEEK, TODAY)
    assert (found.marks, found.too_little) == ((), ("bullet",))


def test_what_was_taken_is_use_and_what_of_it_came_back_is_not() -> None:
    """5 taken and 2 put back in each of eight weeks: 3 a week, though they are two moves."""
    taken = weekly(*[5] * 8, what="take")
    back = [move(7 * week + 2, "2", "put") for week in range(8)]
    assert one([*taken, *back], item()).per_week == 3


def test_a_bag_that_was_put_in_takes_no_use_away() -> None:
    """4 issued a week; in one week 1 was taken and a bag of 100 put in: that 1 may have come back.

    4 x 8 / 8 = 4 a week.  The bag alone in another week changes nothing.
    """
    issued = weekly(*[4] * 8)
    bag = [move(9, "-1", "take"), move(10, "100", "put"), move(30, "100", "put")]
    assert one([*issued, *bag], item()).per_week == 4


def test_weeks_without_use_are_weeks_with_use_zero() -> None:
    """5 in two weeks of ten: mean 1, deviation sqrt((2 x 4^2 + 8 x 1^2) / 9) = sqrt(40 / 9)."""
    mark = one(weekly(0, 5, 0, 0, 0, 0, 0, 0, 5, 0), item())
    assert (mark.weeks, mark.per_week) == (10, 1)
    assert mark.deviation == pytest.approx(2.1082, abs=5e-5)
    # 1 + 1.645 x 2.1082 = 4.47, so 5 and one
    assert mark.low == 6


def test_an_even_use_has_no_deviation_and_no_piece_too_many() -> None:
    """Seven times 0.1 is 0.7 and a bit in binary floats; 3 a week are marked 3 and one over."""
    mark = one(weekly(*[3] * 9), item())
    assert (mark.per_week, mark.deviation) == (3, 0)
    assert mark.low == 4
    thin = one(weekly(*["0.1"] * 10, item="tape", unit="m"), tape())
    assert thin.low == Decimal("0.2") and thin.order_size == Decimal("0.4")


def test_the_cost_is_that_of_the_size_proposed() -> None:
    """One a week at 4000 each: best is 0.88 at a time, but a piece is a piece."""
    mark = one(weekly(*[1] * 8), item(cost=Decimal(4000)))
    # sqrt(2 x 6 x 52 / 800) = 0.883, so 1; 6 x 52 / 1 + 800 x 1 / 2 = 312 + 400
    assert mark.order_size == 1 and mark.order_cost_per_year == Decimal("712.00")
    assert mark.remark == ""


def test_rules_of_the_house_are_the_ones_used() -> None:
    """Order cost by four, or keeping by a quarter: twice the size; service of half: the mean."""
    moves = weekly(2, 4, 2, 4, 2, 4, 2, 4)
    dear = item(cost=Decimal("7.80"))
    # sqrt(2 x 6 x 156 / 1.56) = sqrt(1200) = 34.6; four times that under the root: 69.3
    assert one(moves, dear).order_size == 35
    assert one(moves, dear, HouseRules(order_cost=Decimal(24))).order_size == 70
    assert one(moves, dear, replace(SIX, holding_percent=Decimal(5))).order_size == 70
    even = replace(WEEK, service_percent=Decimal(50))
    assert one(moves, dear, even).low == 4


@pytest.mark.parametrize("cost", [None, Decimal(0)])
def test_without_a_cost_an_order_is_four_weeks_use(cost: Decimal | None) -> None:
    """Four times 18 / 8 = 9, and no cost is told."""
    mark = one(weekly(3, 2, 2, 2, 2, 2, 2, 3), item(cost=cost))
    assert mark.order_size == 9 and mark.order_cost_per_year is None
    assert mark.remark == NO_COST == "no cost on the Drawer sheet: four weeks' use"
    assert mark.full == mark.low + 9


def test_all_that_is_to_be_said_is_said() -> None:
    """A tenth of a piece in two of 60 weeks: 0.17 a year, and still a whole piece an order."""
    mark = one(weekly("0.1", *[0] * 58, "0.1"), item())
    assert mark.order_size == 1
    assert mark.remark == f"{NO_COST}; {OVER_A_YEAR}"


def test_a_mark_is_one_piece_at_the_least() -> None:
    """Where the house hardly minds running out, an item is bought when there is none left."""
    # mean 1, deviation 2.1: z(10 %) = -1.28, 1 - 1.28 x 2.1 < 0
    lax = replace(WEEK, service_percent=Decimal(10))
    assert one(weekly(0, 5, 0, 0, 0, 0, 0, 0, 5, 0), item(), lax).low == 1
    thin = weekly(0, 5, 0, 0, 0, 0, 0, 0, 5, 0, item="tape", unit="m")
    assert one(thin, tape(), lax).low == Decimal("0.1")


# ---- Units ---------------------------------------------------------------------------------


def test_amounts_are_in_the_items_own_unit() -> None:
    """A metre a week, however it was written: tape at 0.50 a metre, marked 5 m and 20 m."""
    spelt = [("1000", "mm"), ("100", "cm"), ("1", "m"), ("1", "metres"), ("1", "M"), ("1", "m")]
    spelt += [("500", "mm"), ("500", "mm")]
    moves = [opening(8)]
    for week, (much, unit) in enumerate(spelt):
        moves.append(move(7 * week + 3, f"-{much}", item="tape", unit=unit))
    moves += [move(7 * week + 5, "-0.5", item="tape", unit="m") for week in (6, 7)]
    marked = tape(low=Decimal(5000), full=Decimal(20_000), cost=Decimal("0.0005"))
    mark = one(moves, marked, SIX)
    assert (mark.unit, mark.per_week, mark.deviation) == ("m", 1, 0)
    # 5/7 = 0.714 m until an order comes, up to a tenth: 0.8, and a tenth over it
    assert mark.low == Decimal("0.9")
    # sqrt(2 x 6 x 52 / (0.50 x 20 %)) = sqrt(6240) = 78.99
    assert mark.order_size == Decimal("79.0")
    assert mark.was_low == 5 and mark.was_full == 20
    # 6 x 52 / 79 + 0.10 x 79 / 2 = 3.949 + 3.95
    assert mark.order_cost_per_year == Decimal("7.90")


def test_inches_stay_inches() -> None:
    """10 in a week, moves in millimetres: 254 mm are 10 in."""
    inches = item("braid", unit="mm", counted_in="in", low=Decimal("127"))
    mark = one(weekly(*[254] * 8, item="braid", unit="mm"), inches)
    assert mark.per_week == pytest.approx(10)
    assert mark.unit == "in" and mark.low == Decimal("10.1")
    assert mark.was_low == 5 and mark.was_full is None


def test_a_thing_is_its_name_and_its_unit() -> None:
    """Case, spaces and the word for one of it do not count; a length is another thing: 2 + 9."""
    moves = weekly(*[2] * 8, item=" Bullet ", unit="Each")
    moves += weekly(*[9] * 8, unit="pcs") + weekly(*[5] * 8, unit="m")
    assert one(moves, item()).per_week == 11


def test_an_item_in_two_rows_is_marked_in_its_first() -> None:
    """One thing on the shelf has one mark, in the order of the drawer."""
    moves = weekly(*[2] * 8) + weekly(*[1] * 8, item="tape", unit="m")
    drawer = (tape(), item(low=Decimal(7)), item("BULLET", low=Decimal(9)))
    marks = learn(moves, drawer, WEEK, TODAY).marks
    assert [(mark.item, mark.was_low) for mark in marks] == [("tape", None), ("bullet", 7)]


# ---- What is use, and when -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("what", "change"),
    [
        *((what, "0") for what in ("hold", "release", "marks")),
        *((what, "50") for what in ("receive", "count", "issue")),
        *((what, "-50") for what in ("receive", "scrap", "undo", "lent to a friend")),
    ],
)
def test_what_is_no_use(what: str, change: str) -> None:
    """Coming in, scrap, setting aside, undoing, marks and a count upwards change nothing."""
    moves = weekly(*[2] * 8)
    drawer = (item(),)
    with_it = learn([*moves, move(10, change, what)], drawer, WEEK, TODAY)
    assert with_it == learn(moves, drawer, WEEK, TODAY)


def test_a_count_that_finds_less_is_use() -> None:
    """8 issued over 8 weeks, and a count that found 8 less: 16 / 8 = 2 a week."""
    counted = move(10, "-8", "count", note="changed by hand")
    assert one([*weekly(*[1] * 8), counted], item()).per_week == 2


@pytest.mark.parametrize(
    ("days_ago", "per_week"),
    [
        # today is not over; a book of 60 days has 8 whole weeks, 56 days: 57 ago is before them
        (0, 1),
        (1, 2),
        (7, 2),
        (8, 2),
        (56, 2),
        (57, 1),
    ],
)
def test_weeks_are_counted_back_from_yesterday(days_ago: int, per_week: int) -> None:
    """8 more on a day inside the weeks make one a week more, outside them nothing."""
    moves = [move(60, "100", "receive"), *weekly(*[1] * 8)[1:], move(days_ago, "-8")]
    mark = one(moves, item())
    assert (mark.weeks, mark.per_week) == (8, per_week)


def test_a_week_ends_seven_days_back() -> None:
    """7 and 8 days ago are two weeks, 1 and 7 days ago are one."""
    apart = [opening(8), move(7, "-4"), move(8, "-4")]
    together = [opening(8), move(1, "-4"), move(7, "-4")]
    assert one(apart, item()).per_week == 1
    assert learn(together, (item(),), WEEK, TODAY).too_little == ("bullet",)


@pytest.mark.parametrize(("age_days", "weeks"), [(0, 0), (55, 7), (56, 8), (62, 8), (63, 9)])
def test_nothing_is_proposed_from_under_eight_weeks(age_days: int, weeks: int) -> None:
    """The weeks there are, are told."""
    moves = [move(age_days, "100", "receive"), *(move(day, "-1") for day in range(age_days))]
    learned = learn(moves, (item(),), WEEK, TODAY)
    assert learned.weeks == weeks
    assert len(learned.marks) == (1 if weeks >= 8 else 0)
    assert learned.too_little == ()


def test_a_book_without_use_teaches_nothing() -> None:
    """No moves, no weeks; or weeks enough, but nothing went out."""
    nothing = Learned(marks=(), weeks=0, too_little=(), undated=0)
    assert learn((), (item(),), WEEK, TODAY) == nothing
    learned = learn([opening(20)], (item(), tape()), WEEK, TODAY)
    assert learned == Learned(marks=(), weeks=20, too_little=("bullet", "tape"), undated=0)


def test_too_little_use_is_listed_and_not_marked() -> None:
    """Used in two weeks is enough, in one or never is not; in the order of the drawer."""
    moves = [opening(8), move(3, "-4"), move(4, "-4"), move(3, "-1", item="fork")]
    moves.append(move(30, "-1", item="fork"))
    drawer = (item("ring"), item("fork"), item("bullet"))
    learned = learn(moves, drawer, WEEK, TODAY)
    assert learned.too_little == ("ring", "bullet")
    assert [mark.item for mark in learned.marks] == ["fork"]


@pytest.mark.parametrize(
    "when", ["", "last spring", "25/11/2026", "2026-13-01", "2026-11-031", "20261118", "2026-11-26"]
)
def test_moves_without_a_date_are_left_out_and_told(when: str) -> None:
    """What cannot be put in a week, or lies ahead (a clock that was wrong), is counted."""
    moves = weekly(*[1] * 8)
    learned = learn([*moves, move(0, "-80", when=when)], (item(),), WEEK, TODAY)
    assert learned.undated == 1
    assert [mark.per_week for mark in learned.marks] == [1]


@pytest.mark.parametrize("when", ["2026-11-18", "2026-11-18 09:30", "2026-11-18T09:30:00"])
def test_days_that_the_owner_wrote_count(when: str) -> None:
    """A week ago, by day alone or with a time."""
    learned = learn([*weekly(*[1] * 8), move(0, "-8", when=when)], (item(),), WEEK, TODAY)
    assert learned.undated == 0
    assert [mark.per_week for mark in learned.marks] == [2]


# ---- Marks that are there ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("low", "full", "changed"),
    [("4", "16", False), ("4.0", "16.00", False), ("4", "17", True), (None, "16", True)],
)
def test_marks_that_stay_are_kept_and_known(low: str | None, full: str, changed: bool) -> None:
    """3 a week, four weeks' use an order: 3 + 1 = 4 and 16 are proposed, whatever stands there."""
    stands = item(low=None if low is None else Decimal(low), full=Decimal(full))
    mark = one(weekly(*[3] * 8), stands)
    assert mark.low == 4 and mark.full == 16
    assert mark.changed is changed


# ---- Laws ----------------------------------------------------------------------------------

USES = st.lists(st.integers(min_value=0, max_value=50), min_size=8, max_size=30)


@given(used=USES, dice=st.randoms(use_true_random=False))
def test_the_order_of_moves_does_not_matter(used: list[int], dice: random.Random) -> None:
    """Nor whether an amount went out in one move or in two."""
    whole = weekly(*used)
    halves = [whole[0], *_halved(whole[1:])]
    dice.shuffle(halves)
    learned = learn(halves, (item(cost=Decimal(1)),), WEEK, TODAY)
    assert learned == learn(whole, (item(cost=Decimal(1)),), WEEK, TODAY)


def _halved(moves: Iterable[Move]) -> list[Move]:
    days = [(TODAY - date.fromisoformat(each.when[:10])).days for each in moves]
    sizes = [each.change / 2 for each in moves]
    return [move(day, str(size)) for day, size in zip(days, sizes, strict=True) for _ in range(2)]


@given(used=USES)
def test_figures_are_those_of_the_textbook(used: list[int]) -> None:
    """Mean and sample deviation over all weeks; low covers the mean; full is low and an order."""
    weeks = len(used)
    mean = sum(used) / weeks
    deviation = sqrt(sum((each - mean) ** 2 for each in used) / (weeks - 1))
    learned = learn(weekly(*used), (item(cost=Decimal(1)),), WEEK, TODAY)
    assert len(learned.marks) == (1 if sum(each > 0 for each in used) >= 2 else 0)
    for mark in learned.marks:
        assert mark.per_week == pytest.approx(mean)
        assert mark.deviation == pytest.approx(deviation, abs=1e-9)
        assert mark.low >= mean - 1e-6
        assert mark.full == mark.low + mark.order_size
        assert mark.low == int(mark.low) and mark.order_size == int(mark.order_size) >= 1


def test_the_stock_lasts_as_surely_as_the_house_wants() -> None:
    """200 made-up items: marks learned from 52 weeks, then tried on 500 lead times each.

    Daily use is normal (mean 10 to 100, deviation a fifth to a third of it), rounded to pieces.
    Learned from 52 weeks, the deviation is off by 1 / sqrt(2 x 51) = 10 % and the mean until an
    order comes by 0.12 deviations: z = 1.645 by 0.2 in all.  So the items together come to 94.7 %,
    and a little more for marks rounded up: 93.5 to 97 % is asked of them.  The order goes out
    with one piece under low: what is used until it comes has to be less than low.  A single item
    may be off by 3 x 0.2, z = 1.04 or 85 %, and its 500 tries by 3 x 1.5 %: over 80 % is asked.
    """
    dice = random.Random(20261125)
    rules = HouseRules(lead_days=Decimal(5), service_percent=Decimal(95))
    demand = [(mean := dice.uniform(10, 100), mean * dice.uniform(0.2, 0.33)) for _ in range(200)]
    names = [f"item {number}" for number in range(200)]
    moves = [opening(52)]
    for name, (mean, deviation) in zip(names, demand, strict=True):
        for days_ago in range(1, 7 * 52 + 1):
            moves.append(move(days_ago, f"-{_pieces(dice, mean, deviation)}", item=name))
    learned = learn(moves, tuple(map(item, names)), rules, TODAY)
    assert [mark.item for mark in learned.marks] == names
    lasted = [
        sum(sum(_pieces(dice, mean, deviation) for _ in range(5)) < mark.low for _ in range(500))
        / 500
        for mark, (mean, deviation) in zip(learned.marks, demand, strict=True)
    ]
    assert 0.935 < sum(lasted) / len(lasted) < 0.97
    assert min(lasted) > 0.80


def _pieces(dice: random.Random, mean: float, deviation: float) -> int:
    return max(0, round(dice.gauss(mean, deviation)))
