"""Goods as types: what the job needs, what is on the shelf, what is bought and charged.

Frozen data, like `trade`; lengths in mm, money as `Decimal` without tax.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from typing import Literal, get_args

from msgspec import Struct, field

from bom.likely import Range
from bom.trade import Bundle, Colour, Listing, Row

LABOUR = "labour"
"""The group of an estimate that hours stand in."""
ELSEWHERE = "elsewhere"
"""The supplier of an extra that has a price of its own on the Extras sheet."""

Kind = Literal[
    "cable",
    "terminal",
    "cover",
    "seal",
    "splice",
    "housing",
    "tape",
    "tube",
    "braid",
    "shrink",
    "fuse",
    "fuse_holder",
    "extra",
]

SoldAs = Literal["metre", "reel", "pack", "each"]
SOLD_AS: tuple[SoldAs, ...] = get_args(SoldAs)


class Trace(Struct, frozen=True):
    """How a number came about: the rule in a sentence, then its figures in sentences."""

    rule: str
    figures: tuple[str, ...] = ()


class Need(Struct, frozen=True, kw_only=True):
    """One line of the take-off, allowances included; mm for lengths, else counts.

    `counted` is the quantity without spares and waste, None where it has neither.
    """

    kind: Kind
    item: str
    quantity: Decimal
    unit: str
    wires: tuple[str, ...]
    trace: Trace
    gauge: str = ""
    colour: Colour | None = None
    pieces: tuple[tuple[int, str], ...] = ()
    spare_mm: int = 0
    price: Decimal | None = None
    counted: Decimal | None = None

    @property
    def key(self) -> tuple[str, str, str]:
        """What makes two lines the same thing to buy: item, gauge and colour in words."""
        return (self.item, self.gauge, str(self.colour or ""))


class Takeoff(Struct, frozen=True):
    """The bill of materials, the bundles it was reckoned from, and counts for labour."""

    needs: tuple[Need, ...]
    bundles: tuple[Bundle, ...]
    counts: Mapping[str, Fraction]


class ShelfPiece(Struct, frozen=True, kw_only=True):
    """A reel or an offcut on the shelf: one continuous length, 0 for one that is used up."""

    name: str
    gauge: str
    colour: Colour
    length_mm: int
    cost_per_m: Decimal | None
    place: str
    row: Row
    annotated: bool = False
    """The owner has written more into its row than the columns that the program fills."""


class DrawerItem(Struct, frozen=True, kw_only=True):
    """A counted or measured item of the drawer; lengths are in millimetres."""

    item: str
    unit: str
    on_hand: Decimal
    low: Decimal | None
    full: Decimal | None
    cost: Decimal | None
    place: str
    row: Row
    counted_in: str = "each"
    """The unit in which its row counts: `m` for what is measured in metres."""
    annotated: bool = False
    """The owner has written more into its row than the columns that the program fills."""


class Move(Struct, frozen=True, kw_only=True):
    """One line of the book's history; `change` and `left` are in `unit`.

    `when` is text, `2026-11-25 14:03:07` where the program wrote it.
    """

    when: str
    job: str
    what: str
    item: str
    change: Decimal
    unit: str
    left: Decimal | None
    note: str
    row: Row


class Hold(Struct, frozen=True, kw_only=True):
    """So much of a piece (mm) or of an item of the drawer is set aside for a job."""

    job: str
    item: str
    quantity: Decimal
    unit: str


class Stock(Struct, frozen=True, kw_only=True):
    """The shelf as read from the owner's book."""

    file: str
    pieces: tuple[ShelfPiece, ...]
    drawer: tuple[DrawerItem, ...]
    moves: tuple[Move, ...] = ()
    holds: tuple[Hold, ...] = ()
    issued: Mapping[str, str] = field(default_factory=dict)
    """The jobs whose parts are off the shelf already, by their folded names, and since when."""
    lists: Mapping[str, Listing] = field(default_factory=dict)
    """Cable, Drawer and Moves as far as the book has them, by these names."""


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


class Cut(Struct, frozen=True, kw_only=True):
    """One piece to cut: for which wire, how long, and from which reel or offcut."""

    job: str
    wire: str
    gauge: str
    colour: Colour
    length_mm: int
    piece: str
    new: bool


class Offcut(Struct, frozen=True, kw_only=True):
    """What is left of a piece that was opened."""

    piece: str
    gauge: str
    colour: Colour
    length_mm: int
    new: bool


class Short(Struct, frozen=True, kw_only=True):
    """What the shelf cannot give: pieces for cables, a quantity for everything else.

    `pieces` are (length in mm, job, wire); `spare_mm` is what of the spare is missing.
    """

    kind: Kind
    item: str
    gauge: str
    colour: Colour | None
    quantity: Decimal
    unit: str
    jobs: tuple[str, ...]
    pieces: tuple[tuple[int, str, str], ...] = ()
    spare_mm: int = 0
    price: Decimal | None = None

    @property
    def key(self) -> tuple[str, str, str]:
        """Item, gauge and colour in words."""
        return (self.item, self.gauge, str(self.colour or ""))


class Taken(Struct, frozen=True, kw_only=True):
    """What comes off the shelf, with the cost recorded for it or None where none is."""

    kind: Kind
    item: str
    gauge: str
    colour: Colour | None
    quantity: Decimal
    unit: str
    piece: str
    cost: Decimal | None


Wanted = tuple[int, str, str]
"""A piece to cut: length in mm, job, wire."""


class CableNeed(Struct, frozen=True, kw_only=True):
    """Pieces of one cable for all jobs, and the lengths on the shelf that they may come from."""

    item: str
    gauge: str
    colour: Colour | None
    pieces: tuple[Wanted, ...]
    spare_mm: int
    jobs: tuple[str, ...]
    shelf: tuple[ShelfPiece, ...]

    @property
    def key(self) -> tuple[str, str, str]:
        """Item, gauge and colour in words."""
        return (self.item, self.gauge, str(self.colour or ""))

    def sizes_mm(self, trim_mm: int) -> Counter[int]:
        """How many pieces of each length, the trim of their cut added."""
        return Counter(length + trim_mm for length, _, _ in self.pieces)

    def lacking(self, unplaced: Sequence[Wanted], spare_mm: int) -> "Short":
        """What of this the shelf cannot give."""
        return Short(
            kind="cable",
            item=self.item,
            gauge=self.gauge,
            colour=self.colour,
            quantity=Decimal(sum(length for length, _, _ in unplaced) + spare_mm),
            unit="mm",
            jobs=self.jobs,
            pieces=tuple(unplaced),
            spare_mm=spare_mm,
        )


class Allotment(Struct, frozen=True, kw_only=True):
    """The shelf set against the needs: what the drawer gives, what it lacks, and the cables.

    Which cable comes from the shelf is settled when it is known what is bought.
    """

    taken: tuple[Taken, ...]
    short: tuple[Short, ...]
    cables: tuple[CableNeed, ...] = ()


class CutList(Struct, frozen=True, kw_only=True):
    """Every piece with the length it is cut from, what is left, taken and short of the cables."""

    cuts: tuple[Cut, ...]
    offcuts: tuple[Offcut, ...]
    taken: tuple[Taken, ...]
    short: tuple[Short, ...]


class Purchase(Struct, frozen=True, kw_only=True):
    """One line of the order: so many packs (metres, reels, pieces) at one supplier."""

    supplier: str
    item: str
    kind: Kind
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


class Order(Struct, frozen=True, kw_only=True):
    """The whole order: lines, postage by supplier, and how good it is known to be.

    `bound` is what any order for this must cost at the least; `credit` what its left-over
    cable is worth to the house, which the total does not take off.
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


class Rival(Struct, frozen=True, kw_only=True):
    """The least that another choice of suppliers costs, None where they do not sell it all."""

    suppliers: tuple[str, ...]
    total: Decimal | None
    sells: int
    """How many of the lines these suppliers sell."""


class Substitute(Struct, frozen=True, kw_only=True):
    """Cable on the shelf that would do for a line to be bought; nobody swaps it unasked."""

    item: str
    gauge: str
    colour: Colour
    instead: str
    pieces: tuple[str, ...]
    saves: Decimal


class QuoteLine(Struct, frozen=True, kw_only=True):
    """One line of the estimate; `cost` is ours, `price` the customer's, both net of tax."""

    group: str
    item: str
    quantity: Decimal
    unit: str
    cost: Decimal | None
    price: Decimal
    hours: Decimal | None = None
    """What labour takes, all of it."""


class Quote(Struct, frozen=True, kw_only=True):
    """The estimate: sums of rounded lines, tax on the total."""

    lines: tuple[QuoteLine, ...]
    materials: Decimal
    labour: Decimal
    net: Decimal
    tax: Decimal
    total: Decimal
    complete: bool
    unpriced: tuple[str, ...]
    range: Range | None = None
    """How far the total may be off; None where no row of the job has a doubt."""
