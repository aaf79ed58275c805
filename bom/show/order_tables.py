"""What `bom order` and `bom topup` print: the shopping list, and what nobody sells."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from msgspec.structs import replace

from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.show.shared import Unsold, have_no_price, quantity, unsold
from bom.trade.needs import ELSEWHERE, Taken
from bom.trade.orders import Order, Purchase

if TYPE_CHECKING:
    from bom.estimate import Bought

NEAR = Decimal("0.02")
"""Another choice of suppliers is told of when it costs less than this share more."""


def order_tables(bought: "Bought", numbers: Mapping[str, str] | None = None) -> tuple[Table, ...]:
    """The shopping list by supplier, what nobody sells at its end, and the cable by colour.

    `numbers` are those that the order was placed under, by supplier.
    """
    order = bought.order
    others = (
        on_order_table(bought.on_order),
        _colour_table(order),
        _substitute_table(bought),
    )
    return (_order_table(bought, numbers or {}), *(table for table in others if table.rows))


def on_order_table(parts: Iterable[Taken]) -> Table:
    """What is counted on that is ordered and has not come."""
    amounts: dict[tuple[str, str], list[Taken]] = defaultdict(list)
    for part in parts:
        amounts[part.order, part.item].append(part)
    sums = [
        replace(own[0], quantity=sum((part.quantity for part in own), Decimal()))
        for own in amounts.values()
    ]
    return Table.of(
        "on order already, and counted on",
        sums,
        Heading("number", lambda part: part.order),
        Heading("item", lambda part: part.item, wide=60),
        *quantity("taken"),
    )


def _order_table(bought: "Bought", numbers: Mapping[str, str]) -> Table:
    order, without = bought.order, len(bought.order.unpriced)
    lines: tuple[Purchase | Unsold, ...] = (*order.lines, *map(unsold, order.unpriced))
    postage = [(f"postage, {name}", cost, "") for name, cost in order.postage.items()]
    cost = "SUM({cost})" if without else "{cost}"
    sums = "+".join((cost, *(f"{{{label}}}" for label, _, _ in postage)))
    so_far = f"so far without tax; {have_no_price(without)}"
    several = len({job for line in lines for job in line.jobs}) > 1
    return Table.of(
        "shopping list",
        lines,
        Heading(
            "number", lambda line: numbers.get(line.supplier), shown=bool(numbers), gives_way=4
        ),
        Heading("supplier", lambda line: line.supplier),
        Heading("item", lambda line: line.item, wide=44),
        Heading("part no", lambda line: line.part_no, gives_way=3),
        Heading("sold as", lambda line: line.sold_as, gives_way=2),
        Heading("pack", lambda line: line.pack, "quantity"),
        Heading("packs", lambda line: line.packs, "count"),
        Heading("price", lambda line: line.price, "price"),
        Heading(
            "cost",
            lambda line: line.cost,
            "money",
            total=not without,
            formula="ROUND({packs}*{price},2)",
        ),
        Heading("for", lambda line: ", ".join(line.jobs), wide=28, shown=several, gives_way=1),
        footer=(*postage, (so_far if without else "total without tax", order.total, sums)),
        notes=_order_notes(order, bool(bought.on_order)),
    )


def _order_notes(order: Order, counted_on: bool) -> Iterator[str]:
    """How good the order is known to be, what it is better than, and what was bought over."""
    if not order.lines:
        if not order.unpriced:
            has = "shelf and orders have" if counted_on else "shelf has"
            yield f"nothing to order: the {has} it all"
        return
    yield _how_good(order)
    if order.credit:
        yield f"left-over cable is credited with {order.credit:.2f}"
    yield from _compared(order)
    why = ", as fewer would make the whole order dearer" if order.proved else ""
    for line in order.lines:
        if line.more:
            pack = "" if line.pack == 1 else f" of {plain(line.pack)}"
            yield f"{line.item}: {line.more} x {line.sold_as}{pack} more than needed{why}"


def _how_good(order: Order) -> str:
    gap = order.net - order.bound
    least = "no other choice of reels, metres, packs and suppliers is cheaper"
    if order.proved:
        return f"proved: {least}"
    if not gap:
        return f"proved for all that is on a price list: {least}"
    share = f"{gap:.2f} ({100 * gap / order.net:.1f} %)"
    return f"not proved to be the cheapest: within {share} of the least possible"


def _compared(order: Order) -> Iterator[str]:
    """What it would cost at each supplier alone, and from the next choice where that is near."""
    lines = len({line.key for line in order.lines if line.supplier != ELSEWHERE})
    used = {line.supplier for line in order.lines}
    alone = []
    for rival in order.alone:
        (name,) = rival.suppliers or ("",)
        if rival.net is None:
            alone.append(f"{name} sells {rival.sells} of the {lines} lines")
        elif used != {name}:
            at_most = "" if rival.proved else "at most "
            alone.append(f"{name} {at_most}{rival.net:.2f}, {rival.net - order.net:.2f} more")
    if alone:
        less = ", less what is left over" if order.credit else ""
        yield f"from one supplier alone{less}: {'; '.join(alone)}"
    other = order.next_best
    if other and other.net is not None and other.net - order.net < NEAR * order.net > 0:
        more = other.net - order.net
        names = " and ".join(other.suppliers)
        share = f"{more:.2f}, {100 * more / order.net:.1f} % more"
        yield f"next cheapest choice of suppliers: {names}, {other.net:.2f} ({share})"


def _colour_table(order: Order) -> Table:
    """Metres of cable to buy: colours down, gauges across, as one walks along the rack."""
    metres: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for line in order.lines:
        if line.kind == "cable":
            metres[str(line.colour or ""), line.gauge] += line.bought / 1000
    for missing in order.unpriced:
        if missing.kind == "cable":
            metres[str(missing.colour or ""), missing.gauge] += unsold(missing).packs

    def column(gauge: str) -> Heading[str]:
        return Heading(gauge, lambda colour: metres.get((colour, gauge)), "quantity", total=True)

    return Table.of(
        "cable by colour, metres",
        sorted({colour for colour, _ in metres}),
        Heading("colour", str),
        *map(column, sorted({gauge for _, gauge in metres}, key=_gauge_order)),
    )


def _gauge_order(gauge: str) -> tuple[bool, Fraction]:
    size = gauge.removesuffix(" AWG")
    awg = size != gauge
    return (awg, -Fraction(size) if awg else Fraction(size))


def _substitute_table(bought: "Bought") -> Table:
    return Table.of(
        "on the shelf, and would do instead",
        bought.substitutes,
        Heading("to be bought", lambda each: each.item, wide=44),
        Heading("on the shelf", lambda each: each.instead),
        Heading("pieces", lambda each: ", ".join(each.pieces), wide=30),
        Heading("saves", lambda each: each.saves, "money"),
        notes=(
            "Nothing is swapped by itself: a cable without its trace must not lie beside "
            "another circuit of the same colour. Type the gauge or colour in the job book.",
        ),
    )
