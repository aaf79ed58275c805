"""What a job needs, what of it is taken from the shelf, and what is cut from which length.

Frozen data; lengths in mm, money as `Decimal` without tax.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from bom.trade.job_book import Colour
from bom.trade.shelf import ShelfPiece
from bom.trade.wires import Bundle, Joint

LABOUR = "labour"
"""The group of an estimate that hours stand in."""
ELSEWHERE = "elsewhere"
"""The supplier of an extra that has a price of its own on the Extras sheet."""

SHRINK = "shrink"

KINDS: Mapping[str, str] = {
    "cable": "cable",
    "terminal": "terminals and covers",
    "cover": "terminals and covers",
    "seal": "terminals and covers",
    "splice": "terminals and covers",
    "housing": "plugs and housings",
    SHRINK: "tape, tube and braid",
    "fuse": "fuses and holders",
    "fuse_holder": "fuses and holders",
    "extra": "extras",
}
"""Kinds of needs with their group of the estimate; `Catalogue.kinds` has the layers between."""


class Trace(Struct, frozen=True):
    """How a number came about: the rule in a sentence, then its figures in sentences."""

    rule: str
    figures: tuple[str, ...] = ()


LineKey = tuple[tuple[str, str, str], str]
"""Item, gauge and colour, and the unit: what makes two needs one line of the estimate."""


class Need(Struct, frozen=True, kw_only=True):
    """One line of the take-off, allowances included; mm for lengths, else counts.

    `counted` is the quantity without spares and waste, None where it has neither.
    """

    kind: str
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

    @property
    def line_key(self) -> LineKey:
        """The same with its unit."""
        return self.key, self.unit


class Takeoff(Struct, frozen=True):
    """The bill of materials, the bundles it was reckoned from, and counts for labour."""

    needs: tuple[Need, ...]
    bundles: tuple[Bundle, ...]
    counts: Mapping[str, Fraction]
    joints: tuple[Joint, ...] = ()
    """Every terminal and splice, those of fuse holders in a wire with them."""


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

    kind: str
    item: str
    gauge: str
    colour: Colour | None
    quantity: Decimal
    unit: str
    jobs: tuple[str, ...]
    pieces: tuple[tuple[int, str, str], ...] = ()
    spare_mm: int = 0
    price: Decimal | None = None
    shares: tuple[Decimal, ...] = ()
    """How much each of the jobs is short of, in their order; of cable `pieces` say it."""

    @property
    def key(self) -> tuple[str, str, str]:
        """Item, gauge and colour in words."""
        return (self.item, self.gauge, str(self.colour or ""))


class Taken(Struct, frozen=True, kw_only=True):
    """What comes off the shelf, with the cost recorded for it or None where none is."""

    kind: str
    item: str
    gauge: str
    colour: Colour | None
    quantity: Decimal
    unit: str
    piece: str
    cost: Decimal | None
    order: str = ""
    """The number of the order that it is still on; '' for what lies on the shelf."""


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
