"""What is asked about colours, and what is answered: frozen data, in the order of the parts."""

from collections import Counter
from collections.abc import Mapping
from decimal import Decimal
from functools import cached_property
from typing import TypeAlias

from msgspec import Struct

from bom.trade.job_book import Colour

Line: TypeAlias = tuple[str, Colour]
"""A gauge and a colour: what is one line of an order."""

Piece: TypeAlias = tuple[str, int]
"""A gauge, and a length in mm."""

LEVELS = ("astray", "unsold", "unusual", "bought_mm", "cost")
"""What is to be the least, the most important first: wires in another colour than the rest of
their part or another body than their circuit, wires in a colour that is neither sold nor on the
shelf, wires that are not in their usual colour, mm that do not come from the shelf, and money."""


class CableOffer(Struct, frozen=True, order=True):
    """Packs that hold so many mm each, at one price from so many packs on."""

    holds_mm: int
    price: Decimal
    from_packs: int = 1


class LineGoods(Struct, frozen=True):
    """What there is of a line: names and lengths in mm on the shelf, and what is sold."""

    shelf: tuple[tuple[str, int], ...] = ()
    offers: tuple[CableOffer, ...] = ()


class CircuitPart(Struct, frozen=True, kw_only=True, dict=True):
    """Wires that have one colour, with the branches that they lie in.

    `circuit` tells which parts have one body.  `fixed` is a colour that is kept as it is typed:
    such a part clashes with none here, what it takes from others is `barred` to them.
    """

    circuit: str
    pieces: tuple[Piece, ...]
    lies_in: frozenset[int] = frozenset()
    fixed: Colour | None = None
    usual: Colour | None = None
    typed: Colour | None = None
    """What the rest of the part has."""
    bodies: frozenset[str] = frozenset()
    """What the rest of the circuit has."""
    made_in: tuple[Colour, ...] = ()
    """The few colours that its cable is made in; empty for any."""
    starts: frozenset[str] = frozenset()
    """The switches and relays that its wires start at: their outputs are told apart."""
    barred: frozenset[Colour] = frozenset()
    barred_body: str = ""

    @cached_property
    def sizes(self) -> Mapping[Piece, int]:
        """How many pieces there are of each gauge and length."""
        return Counter(self.pieces)

    @cached_property
    def gauges(self) -> tuple[str, ...]:
        """Its gauges, each once."""
        return tuple(sorted({gauge for gauge, _ in self.pieces}))

    def clashes(self, other: "CircuitPart") -> bool:
        """True for a part that must not have the same colour."""
        few = self.made_in and other.made_in
        apart = self.circuit != other.circuit or self.is_output_beside(other)
        return apart and not few and bool(self.lies_in & other.lies_in)

    def is_output_beside(self, other: "CircuitPart") -> bool:
        """True for another output of the same switch or relay in the same circuit."""
        few = self.made_in or other.made_in
        same = self.circuit == other.circuit and self is not other
        return same and not few and bool(self.starts & other.starts)

    def astray(self, colour: Colour) -> int:
        """0 for a colour that goes with what is typed of its circuit.

        1 for another than the rest of the part has, 1 more for another body than the circuit has.
        """
        of_body = bool(self.bodies) and colour.body not in self.bodies
        return of_body + (self.typed not in (None, colour))

    def is_unusual(self, colour: Colour) -> bool:
        """True for another colour than the usual one; what is typed counts for nothing."""
        return self.usual not in (None, colour) and self.fixed is None


class Question(Struct, frozen=True, kw_only=True):
    """Parts to be coloured.

    `palette` are the colours to choose from, `further` those that are taken only where the palette
    does not do.  Every cut loses `trim_mm`, and of what is bought so many per cent are spare.
    """

    parts: tuple[CircuitPart, ...]
    goods: Mapping[Line, LineGoods]
    palette: tuple[Colour, ...]
    further: tuple[Colour, ...] = ()
    priced: bool = False
    """There are price lists, so that what nobody sells counts."""
    line_worth: Decimal = Decimal()
    trim_mm: int = 0
    spare_percent: Decimal = Decimal()

    def goods_of(self, line: Line) -> LineGoods:
        """What there is of a line."""
        return self.goods.get(line, _NOTHING)

    def rooms(self, goods: LineGoods) -> tuple[int, ...]:
        """What goes on the lengths of a shelf: their last cut needs no trim."""
        return tuple(length + self.trim_mm for _, length in goods.shelf)

    def takes_mm(self, mm: int, count: int = 1) -> Decimal:
        """So much cable, from the shelf or bought, pieces of a length take: with trim and spare."""
        return count * (mm + self.trim_mm) * (1 + self.spare_percent / 100)


_NOTHING = LineGoods()


class Level(Struct, frozen=True):
    """What one of the levels came to, and the least that it can be."""

    value: float
    bound: float
    proved: bool


class Answer(Struct, frozen=True, kw_only=True):
    """Colours in the order of the parts, what is cut from the shelf, and how good that is.

    `cuts` are the lengths on the shelf, by name, for the pieces of a part in the order of its
    pieces; '' for a piece that is bought.
    """

    colours: tuple[Colour, ...]
    cuts: tuple[tuple[str, ...], ...]
    levels: Mapping[str, Level]

    @property
    def proved(self) -> bool:
        """True where every level is known to be the least."""
        return all(level.proved for level in self.levels.values())
