"""What the shelf is worth by what it cost, for the year's end: each thing, and the sum of them."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any, Literal, get_args

from msgspec import Struct

from bom.files.table import Heading, Table
from bom.show.job_json import money, number, unit_price
from bom.show.shelf_found import Shown
from bom.show.shelf_tables import in_m, m_for, piece_in_words
from bom.trade.figures import round_money
from bom.trade.problem import counted

Group = Literal["cable", "drawer"]
_GROUPS: tuple[Group, ...] = get_args(Group)


class Worth(Struct, frozen=True, kw_only=True):
    """Something on the shelf, lengths in metres, and what one of it cost, if that is known."""

    group: Group
    item: str
    quantity: Decimal
    unit: str
    cost: Decimal | None
    place: str

    @property
    def value(self) -> Decimal:
        """What all of it cost, to the penny, so that what is printed adds up; 0 if unknown."""
        return round_money(self.quantity * (self.cost or 0))


def worth_of(shown: Shown) -> tuple[Worth, ...]:
    """The things shown of which there is something, what is set aside among them."""
    found = (*_cable(shown), *_drawer(shown))
    return tuple(worth for worth in found if worth.quantity)


def _cable(shown: Shown) -> Iterator[Worth]:
    for piece in shown.pieces:
        yield Worth(
            group="cable",
            item=piece_in_words(piece),
            quantity=Decimal(piece.length_mm) / 1000,
            unit="m",
            cost=_to_four_places(piece.cost_per_m),
            place=piece.place,
        )


def _drawer(shown: Shown) -> Iterator[Worth]:
    for item in shown.drawer:
        in_metres = item.unit == "mm"
        cost = item.cost * 1000 if item.cost is not None and in_metres else item.cost
        yield Worth(
            group="drawer",
            item=item.item,
            quantity=in_m(item.on_hand, item.unit) or Decimal(),
            unit=m_for(item.unit),
            cost=_to_four_places(cost),
            place=item.place,
        )


def _to_four_places(cost: Decimal | None) -> Decimal | None:
    """As it is printed: times the quantity it is the value."""
    return None if cost is None else round(cost, 4)


def worth_tables(shown: Shown, today: date) -> tuple[Table, ...]:
    """Each thing with its cost and value, the sums of both groups and of all; what has no cost."""
    worths = worth_of(shown)
    known = [worth for worth in worths if worth.cost is not None]
    unknown = [worth for worth in worths if worth.cost is None]
    sums = [
        (group, _sum(known, group), f'SUMIF({{group}},"{group}",{{value}})') for group in _GROUPS
    ]
    without = f", {counted(len(unknown), 'thing')} without a cost" if unknown else ""
    total = sum((worth.value for worth in known), Decimal())
    table = Table.of(
        f"the shelf at cost, {today}",
        known,
        Heading("group", lambda worth: worth.group, gives_way=3),
        Heading("piece or item", lambda worth: worth.item, wide=48),
        Heading("quantity", lambda worth: worth.quantity, "quantity"),
        Heading("unit", lambda worth: worth.unit),
        Heading("cost", lambda worth: worth.cost, "price"),
        Heading("value", lambda worth: worth.value, "money", formula="ROUND({quantity}*{cost},2)"),
        footer=(*sums, (f"total without tax{without}", total, "{cable}+{drawer}")),
    )
    lacking = Table.of(
        "without a cost, and not in the total",
        unknown,
        Heading("piece or item", lambda worth: worth.item, wide=48),
        Heading("quantity", lambda worth: worth.quantity, "quantity"),
        Heading("unit", lambda worth: worth.unit),
        Heading("place", lambda worth: worth.place, wide=20),
        notes=("type it in the stock book: Cable has a column 'cost per m', Drawer 'cost'",),
    )
    return (table, lacking) if unknown else (table,)


def _sum(worths: list[Worth], group: Group) -> Decimal:
    return sum((worth.value for worth in worths if worth.group == group), Decimal("0.00"))


def worth_out(shown: Shown) -> dict[str, Any]:
    """For JSON: each thing, `value` null without a cost; the sums are of those that have one."""
    worths = [*worth_of(shown)]
    known = [worth for worth in worths if worth.cost is not None]
    return {
        "lines": [
            {
                "group": worth.group,
                "item": worth.item,
                "quantity": number(worth.quantity),
                "unit": worth.unit,
                "cost": unit_price(worth.cost),
                "value": None if worth.cost is None else money(worth.value),
            }
            for worth in worths
        ],
        **{group: money(_sum(known, group)) for group in _GROUPS},
        "total": money(sum((worth.value for worth in known), Decimal("0.00"))),
        "without_cost": len(worths) - len(known),
    }
