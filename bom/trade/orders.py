"""Price lists and orders as types: frozen data, money as `Decimal` without tax."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from functools import cached_property

from msgspec import Struct, field

from bom.trade.job_book import Colour
from bom.trade.needs import Short, Trace
from bom.trade.placed import SoldAs
from bom.trade.rows import Listing, Row


class Arrived(Struct, frozen=True, kw_only=True):
    """One line of an order that has come in: `packs` of `pack` (metres, or pieces) at `price`.

    `price` buys one pack and is None where none stands there; `gauge` is '' for what is no cable.
    """

    supplier: str
    item: str
    gauge: str
    colour: Colour | None
    sold_as: SoldAs
    pack: Decimal
    packs: int
    price: Decimal | None
    row: Row
    number: str = ""
    """Of the order that it was placed under, where the file says so."""


class Price(Struct, frozen=True, kw_only=True):
    """One row of a supplier's list: `price` buys one pack (or metre, or piece), net of tax."""

    supplier: str
    item: str
    gauge: str
    colour: Colour | None
    sold_as: SoldAs
    pack: Decimal
    price: Decimal
    from_qty: int
    part_no: str
    row: Row | None
    priced_on: date | None = None
    """The day on which it was asked for; None where the list does not say."""


class Supplier(Struct, frozen=True, kw_only=True):
    """What an order at one supplier costs beside its lines, net of tax."""

    name: str
    postage: Decimal
    free_over: Decimal | None
    minimum_order: Decimal | None
    with_tax: bool = False
    """Its lists have prices with tax in them."""


class PriceBook(Struct, frozen=True, kw_only=True, dict=True):
    """All price lists of the workshop."""

    prices: tuple[Price, ...]
    suppliers: Mapping[str, Supplier]
    listing: Listing | None = None
    """Where the first price list stands."""

    def offers(self, item: str, gauge: str, colour: Colour | None, unit: str) -> list[Price]:
        """The rows that sell this: cable by gauge and colour, all else by its name.

        A cable row without a colour covers every plain colour.  What is measured (unit
        `mm`) is sold by the metre, or in reels and packs of so many metres; what is
        counted in packs or singly.
        """
        measured = unit == "mm"
        forms = ("metre", "reel", "pack") if measured else ("reel", "pack", "each")
        plain = colour is not None and not colour.trace
        named = item.casefold()
        return [
            price
            for price in self.by_gauge.get(gauge, ())
            if price.sold_as in forms
            and (price.colour == colour or (price.colour is None and plain))
            and (gauge or price.item.casefold() == named)
        ]

    @cached_property
    def by_gauge(self) -> Mapping[str, list[Price]]:
        """Rows by gauge; under the empty gauge stands all that is no cable."""
        found: dict[str, list[Price]] = {}
        for price in self.prices:
            found.setdefault(price.gauge, []).append(price)
        return found

    def unit_price(self, item: str, gauge: str, colour: Colour | None, unit: str) -> Decimal | None:
        """The lowest price of one mm or one piece at the smallest quantity, net of tax."""
        each = [
            price.price / (price.pack * (1000 if unit == "mm" else 1))
            for price in self.offers(item, gauge, colour, unit)
            if price.from_qty == 1
        ]
        return min(each, default=None)


class Purchase(Struct, frozen=True, kw_only=True):
    """One line of the order: so many packs (metres, reels, pieces) at one supplier."""

    supplier: str
    item: str
    kind: str
    gauge: str
    colour: Colour | None
    sold_as: SoldAs
    pack: Decimal
    packs: int
    price: Decimal
    cost: Decimal
    jobs: tuple[str, ...]
    part_no: str
    bought: Decimal
    unit: str
    trace: Trace
    more: int = 0
    """Packs beyond what is needed, where fewer would make the whole order dearer."""

    @property
    def key(self) -> tuple[str, str, str]:
        """Item, gauge and colour in words."""
        return (self.item, self.gauge, str(self.colour or ""))

    def lengths_mm(self, reel_end_mm: int) -> tuple[int, ...]:
        """New lengths to cut from: metres come in one, a reel loses its end."""
        if self.sold_as == "metre":
            return (self.packs * 1000,)
        return (int(self.pack * 1000) - reel_end_mm,) * self.packs


class ForJobs(Struct, frozen=True):
    """A line of an order with what each job waits for of it, in mm or the item's own unit."""

    line: Purchase
    needed: Mapping[str, Decimal]


class Order(Struct, frozen=True, kw_only=True):
    """The whole order: lines, postage by supplier, and how good it is known to be.

    `credit` is what its left-over cable is worth to the house, which the total does not take off;
    `bound` what any order for this must come to at the least, less its own credit.
    """

    lines: tuple[Purchase, ...]
    postage: Mapping[str, Decimal]
    unpriced: tuple[Short, ...]
    bound: Decimal
    proved: bool
    credit: Decimal = Decimal("0.00")
    alone: tuple["Rival", ...] = ()
    """What each supplier alone would cost, where that was asked."""
    next_best: "Rival | None" = None
    """The cheapest order from any other choice of suppliers, where that was asked."""
    ways: Mapping[tuple[str, str, str], tuple[tuple[int, ...], ...]] = field(default_factory=dict)
    """For each cable one way in which its pieces go on the shelf and what is bought."""

    @property
    def total(self) -> Decimal:
        """Lines and postage, net of tax."""
        return sum((line.cost for line in self.lines), Decimal()) + sum(
            self.postage.values(), Decimal()
        )

    @property
    def net(self) -> Decimal:
        """What the choice goes by: the total, less what its left-over cable is worth."""
        return self.total - self.credit


class Rival(Struct, frozen=True, kw_only=True):
    """The least that another choice of suppliers costs, None where they do not sell it all."""

    suppliers: tuple[str, ...]
    total: Decimal | None
    net: Decimal | None
    """The total, less what its left-over cable is worth."""
    sells: int
    """How many of the lines these suppliers sell."""
    proved: bool
    """It is known to be the least."""


class Substitute(Struct, frozen=True, kw_only=True):
    """Cable on the shelf that would do for a line to be bought; nobody swaps it unasked."""

    item: str
    gauge: str
    colour: Colour
    instead: str
    pieces: tuple[str, ...]
    saves: Decimal | None
    """None where nobody is known to sell what is to be bought."""
