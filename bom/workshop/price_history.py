"""What things cost: the prices of the lists before, of orders, and of what came in.

    copies of the price book, order lines, moves -> priced -> those of the goods, the latest first

A list's price before stands in the dated copies of the price book that are kept in `.bom`.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date
from decimal import Decimal
from itertools import chain
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from bom.estimate import read_shelf
from bom.files.spelling import fold
from bom.job import Workshop, house_rules
from bom.read.books import find_book
from bom.read.prices import read_prices
from bom.read.stock import EMPTY_STOCK
from bom.shelf.moves import shelf_of
from bom.shelf.stockbook.keep import copies_of
from bom.trade.job_book import Colour
from bom.trade.orders import Price
from bom.trade.placed import SOLD_AS, OrderLine, SoldAs
from bom.trade.problem import Problem, Where, caution, has_errors
from bom.trade.shelf import Move
from bom.workshop.price_rows import key_of_row

_CAME = re.compile(
    r"(?:new row; )?(?:(?P<gauge>\d[\d.]*(?: AWG)?) (?P<colour>[a-z][a-z /]*)[,;] )?"
    r"(?:(?P<what>order|file) (?P<paper>[^;]+?): |(?P<supplier>[^;]+?), )(?P<packs>\d+) x "
    rf"(?P<form>{'|'.join(SOLD_AS)})(?: of (?P<pack>[0-9.]+))? at (?P<price>[0-9]+(?:\.[0-9]+)?)"
    r"(?:, (?P<seller>[^;]+))?"
)
"""What a move says of goods that came; the supplier stands first where there were no orders yet."""

_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_FORMS: Mapping[str, SoldAs] = {form: form for form in SOLD_AS}


class Paid(Struct, frozen=True, kw_only=True):
    """What one pack (or metre, or piece) cost, net of tax; `packs` is 0 where none was bought."""

    day: date | None
    supplier: str
    item: str
    gauge: str
    colour: Colour | None
    sold_as: SoldAs
    pack: Decimal
    price: Decimal
    packs: int
    part_no: str
    source: str
    """Where it stands: `list until 2026-11-25`, `order 2026-014`, `came in`."""

    @property
    def each(self) -> Decimal:
        """What one metre or one piece cost."""
        return self.price / self.pack

    @property
    def key(self) -> tuple[object, ...]:
        """The goods and the form in which they were sold."""
        goods = (fold(self.supplier), fold(self.item), self.gauge, self.colour)
        return (*goods, self.sold_as, self.pack, self.price)


def past_prices(
    workshop: Workshop, now: Sequence[Price]
) -> tuple[tuple[Paid, ...], tuple[Problem, ...]]:
    """As `price_history`, from the stock book of the workshop; where that has errors without it."""
    path = find_book(workshop.folder, "stock") if workshop.folder else None
    stock, problems = EMPTY_STOCK, tuple[Problem, ...]()
    if path:
        stock, faults = read_shelf(path, workshop.catalogue, workshop.own)
        if has_errors(faults):
            says = "it has errors: what was paid for orders and for what came in is not told"
            problems = (caution(Where(path.name), says, "bom stock show"),)
            stock = EMPTY_STOCK
    shelf, _ = shelf_of(stock)
    return price_history(workshop, now, stock.orders, shelf.history.counting), problems


def price_history(
    workshop: Workshop, now: Sequence[Price], orders: Sequence[OrderLine], moves: Iterable[Move]
) -> tuple[Paid, ...]:
    """All that is known of prices but those of the lists as they are now, the latest first.

    `moves` are those that stand.  What came in at the price that its order has is told once.
    """
    found = [*_ordered(orders)]
    known = {paid.key for paid in found}
    found += (paid for paid in _come(moves, orders) if paid.key not in known)
    found += _listed_before(workshop, now)
    return tuple(sorted(found, key=lambda paid: paid.day or date.min, reverse=True))


def _ordered(orders: Iterable[OrderLine]) -> Iterator[Paid]:
    for line in orders:
        if line.price is not None:
            yield Paid(
                day=line.date,
                supplier=line.supplier,
                item="cable" if line.gauge else line.item,
                gauge=line.gauge,
                colour=line.colour,
                sold_as=line.sold_as,
                pack=line.pack,
                price=line.price,
                packs=line.came or line.packs,
                part_no=line.part_no,
                source=f"order {line.number}" + ("" if line.came else ", not come"),
            )


def _come(moves: Iterable[Move], orders: Iterable[OrderLine]) -> Iterable[Paid]:
    """What came in, reels of one line together.

    Each has a move of its own, which before there were orders told of all of them.
    """
    suppliers = {fold(line.number): line.supplier for line in orders}
    told: dict[tuple[str, str], Paid] = {}
    for move in moves:
        said = _CAME.match(move.note) if move.what == "receive" else None
        if said is None:
            continue
        key = (move.when, said[0] if said["gauge"] else f"{move.item}: {said[0]}")
        paid = _paid(move, said, suppliers.get(fold(said["paper"] or ""), ""))
        before = told[key].packs if key in told and said["what"] else 0
        told[key] = replace(paid, packs=paid.packs + before)
    return told.values()


def _paid(move: Move, said: re.Match[str], supplier: str) -> Paid:
    body, _, trace = (said["colour"] or "").partition("/")
    return Paid(
        day=_day_of(move),
        supplier=said["supplier"] or said["seller"] or supplier,
        item="cable" if body else move.item,
        gauge=said["gauge"] or "",
        colour=Colour(body, trace) if body else None,
        sold_as=_FORMS[said["form"]],
        pack=Decimal(said["pack"] or 1),
        price=Decimal(said["price"]),
        packs=int(said["packs"]),
        part_no="",
        source=f"came in, {said['what']} {said['paper']}" if said["what"] else "came in",
    )


def _day_of(move: Move) -> date | None:
    """The day of a move; None where the owner wrote it in another way."""
    with suppress(ValueError):
        return date.fromisoformat(move.when[:10])
    return None


def _listed_before(workshop: Workshop, now: Iterable[Price]) -> Iterator[Paid]:
    """Prices that rows of the price book had before, one for each time that they stayed the same.

    They are those of the dated copies, of which one is made before each change.
    """
    own = find_book(workshop.folder, "prices") if workshop.folder else None
    before: dict[tuple[object, ...], list[Paid]] = {}
    for copy in copies_of(own) if own else ():
        until = _DAY.findall(copy.name)[-1]
        for price in _prices_of(copy, workshop):
            same_row = before.setdefault(_row_key(price), [])
            first = same_row.pop() if same_row and same_row[-1].price == price.price else None
            day = first.day if first else price.priced_on
            same_row.append(_as_listed(price, day, f"list until {until}"))
    for price in now:
        same_row = before.get(_row_key(price), [])
        if same_row and same_row[-1].price == price.price:
            same_row.pop()
    yield from chain.from_iterable(before.values())


def _row_key(price: Price) -> tuple[object, ...]:
    """What makes two rows of the price book the same row at another time."""
    return (*key_of_row(price), price.from_qty, fold(price.part_no))


def _prices_of(copy: Path, workshop: Workshop) -> Sequence[Price]:
    """The rows of a copy that can be read; what is wrong in it is past."""
    suppliers = find_book(workshop.folder, "suppliers") if workshop.folder else None
    rules, _ = house_rules(workshop)
    book, _ = read_prices(copy, suppliers, rules.tax_percent, workshop.catalogue, workshop.own)
    return book.prices


def _as_listed(price: Price, day: date | None, source: str) -> Paid:
    return Paid(
        day=day,
        supplier=price.supplier,
        item=price.item,
        gauge=price.gauge,
        colour=price.colour,
        sold_as=price.sold_as,
        pack=price.pack,
        price=price.price,
        packs=0,
        part_no=price.part_no,
        source=source,
    )
