"""Why a wire gets its colour, what the colours come to, and what each exception costs."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from functools import cached_property

from msgspec import Struct

from bom.buy.colours import Answer, CircuitPart, Line, Question, WeighedColours
from bom.reckon.strands import EARTH, Strand
from bom.trade.job_book import Colour
from bom.trade.problem import listed
from bom.trade.wires import SizedWire
from bom.workshop.colours import Proposal

FAIR = Decimal("0.005")
"""In money: what costs less more than this is not told."""


class Given(Struct, frozen=True):
    """A wire with the colour that it gets, and why."""

    entry: SizedWire
    was: Colour | None
    colour: Colour
    why: str
    shelf: tuple[str, ...] = ()
    """The lengths on the shelf that it is cut from, one a wire; '' for what is bought."""


class Exceptional(Struct, frozen=True):
    """A circuit that is not in its usual colour, or in one that is dearer than another."""

    circuit: str
    usual: Colour
    colour: Colour
    """What it has; of one in its usual colour what would cost less."""
    why: str
    costs: Decimal = Decimal()
    """So much more than the other of the two."""
    typed: bool = False
    """It is not the usual colour that it lacks, but that of the rest of it."""


class Reasons:
    """What is to be told of a proposal that has an answer."""

    def __init__(self, proposal: Proposal, question: Question, answer: Answer) -> None:
        self.proposal, self.question, self.answer = proposal, question, answer
        self.wires = proposal.job.wires if proposal.job else ()
        self.weighed = WeighedColours(question, answer)
        self.of_part = {n: own for n, own in enumerate(proposal.parts) if own}
        typed = proposal.was.book.wires if proposal.was.book else ()
        self.was = {wire.label: wire.colour for wire in typed}
        self.shelf = self._from_shelf()
        self.owners: dict[Line, list[Strand]] = defaultdict(list)
        for strand in proposal.strands.values():
            colour = strand.entry.wire.colour
            if colour:
                self.owners[strand.entry.cable.gauge, colour].append(strand)

    # -------------------------------------------------------------------------- wires

    @cached_property
    def given(self) -> tuple[Given, ...]:
        """The wires whose colour is another than what is typed, in the order of the rows."""
        found = {
            strand.entry.wire.label: (self.question.parts[number], self.answer.colours[number])
            for number, own in self.of_part.items()
            for strand in own
        }
        changed = [e for e in self.wires if self.was[e.wire.label] != e.wire.colour]
        return tuple(self._given(entry, *found[entry.wire.label]) for entry in changed)

    def _given(self, entry: SizedWire, part: CircuitPart, colour: Colour) -> Given:
        label = entry.wire.label
        shelf = self.shelf[label]
        return Given(entry, self.was[label], colour, self._why(entry, part, colour), shelf)

    def _why(self, entry: SizedWire, part: CircuitPart, colour: Colour) -> str:
        names = [*dict.fromkeys(filter(None, self.shelf[entry.wire.label]))]
        if colour == part.typed:
            return "as the rest of it"
        if colour == part.usual:
            return "usual"
        if names:
            return f"on the shelf: {listed(names)}"
        if len(part.made_in) == 1 or (part.made_in and {*part.made_in} & part.barred):
            return "all that it is made in"
        own = self.proposal.strands[entry.wire.label].circuit
        others = self.owners[entry.cable.gauge, colour]
        other = next((s for s in others if s.circuit != own), None)
        if other:
            return f"in one line with '{called(other)}'"
        return "free in its branches"

    def _from_shelf(self) -> Mapping[str, tuple[str, ...]]:
        """What each wire is cut from: of pieces that are alike it is of no account which."""
        found: dict[str, tuple[str, ...]] = {}
        for number, own in self.of_part.items():
            left: dict[tuple[str, int], list[str]] = defaultdict(list)
            pieces = self.question.parts[number].pieces
            for piece, name in zip(pieces, self.answer.cuts[number], strict=True):
                left[piece].append(name)
            for strand in own:
                entry = strand.entry
                names = left[entry.cable.gauge, entry.piece_mm]
                found[entry.wire.label] = tuple(names[: entry.wire.qty])
                del names[: entry.wire.qty]
        return found

    # -------------------------------------------------------------------- what it comes to

    @cached_property
    def bought_mm(self) -> Mapping[Line, int]:
        """The lines that have to be bought, with the pieces of each in mm."""
        found: dict[Line, int] = defaultdict(int)
        pairs = zip(self.question.parts, self.answer.colours, self.answer.cuts, strict=True)
        for part, colour, cuts in pairs:
            for (gauge, mm), name in zip(part.pieces, cuts, strict=True):
                if not name:
                    found[gauge, colour] += mm
        return found

    @property
    def unsold(self) -> list[str]:
        """The wires in a colour that is neither sold nor on the shelf, where there are prices."""
        if not self.question.priced:
            return []
        return [
            strand.entry.wire.label
            for number, own in self.of_part.items()
            for strand in own
            if not self._has((strand.entry.cable.gauge, self.answer.colours[number]))
        ]

    @property
    def shelf_mm(self) -> int:
        """What comes from the shelf."""
        every = sum(mm for part in self.question.parts for _, mm in part.pieces)
        return every - sum(self.bought_mm.values())

    @property
    def money(self) -> Decimal:
        """What is bought costs, without what a line is worth to the house."""
        worth = len(self.bought_mm) * self.question.line_worth
        return Decimal(str(round(self.answer.levels["cost"].value, 2))) - worth

    # ------------------------------------------------------------------------- exceptions

    @cached_property
    def exceptions(self) -> tuple[Exceptional, ...]:
        """Circuits that are not in their usual colour, then usual colours that are dear."""
        alike: dict[tuple[str, Colour], list[int]] = defaultdict(list)
        for number in self.of_part:
            alike[self.question.parts[number].circuit, self.answer.colours[number]].append(number)
        found = [self._exception(numbers) for numbers in alike.values()]
        return tuple(sorted(filter(None, found), key=lambda each: (not each.why, each.circuit)))

    def _exception(self, numbers: list[int]) -> Exceptional | None:
        part, colour = self.question.parts[numbers[0]], self.answer.colours[numbers[0]]
        name = called(self.of_part[numbers[0]][0])
        if part.astray(colour):
            own = part.typed or Colour(min(part.bodies))
            return Exceptional(name, own, colour, self._why_not(numbers, own), typed=True)
        if part.usual is None or part.astray(part.usual):
            return None
        if colour != part.usual:
            why = self._why_not(numbers, part.usual)
            costs = -self.weighed.more(numbers, part.usual)
            sold = self._is_to_be_had(part, part.usual)
            return Exceptional(name, part.usual, colour, why, costs if sold else Decimal())
        return self._dear(numbers, name)

    def _dear(self, numbers: list[int], name: str) -> Exceptional | None:
        """A usual colour that is dearer than the cheapest one that is free."""
        part = self.question.parts[numbers[0]]
        if part.usual is None or part.typed or part.made_in or part.circuit == EARTH:
            return None
        others = {colour for gauge, colour in self.question.goods if gauge in part.gauges}
        free = sorted(
            (self.weighed.more(numbers, colour), colour)
            for colour in others - {part.usual}
            if self._is_to_be_had(part, colour) and self.weighed.is_free(numbers, colour)
        )
        if not free or free[0][0] > -FAIR:
            return None
        return Exceptional(name, part.usual, free[0][1], "", -free[0][0])

    def _is_to_be_had(self, part: CircuitPart, colour: Colour) -> bool:
        goods = [self.question.goods_of((gauge, colour)) for gauge in part.gauges]
        return all(own.offers or own.shelf for own in goods)

    def _why_not(self, numbers: list[int], usual: Colour) -> str:
        parts = [self.question.parts[number] for number in numbers]
        if any(part.made_in for part in parts):
            return f"made in {' or '.join(map(str, parts[0].made_in))} alone"
        taker = next(self._takers(numbers, usual), None)
        if taker:
            return taker
        if self._beside(parts, usual):
            return "another output of its switch has it"
        lacking = sorted({g for p in parts for g in p.gauges if not self._has((g, usual))})
        if lacking and self.question.priced:
            return f"in {listed(lacking)} neither on the shelf nor on a price list"
        return "another body is free for all of the circuit"

    def _beside(self, own: Iterable[CircuitPart], colour: Colour) -> bool:
        """Whether another output of their switch has a colour."""
        pairs = [*zip(self.question.parts, self.answer.colours, strict=True)]
        others = [part for part, its in pairs if its == colour]
        return any(part.is_output_beside(other) for part in own for other in others)

    def _has(self, line: Line) -> bool:
        goods = self.question.goods_of(line)
        return bool(goods.offers or goods.shelf)

    def _takers(self, numbers: list[int], colour: Colour) -> Iterator[str]:
        """Who has a colour in a branch with these parts, and in which."""
        for number in numbers:
            for strand in self.of_part[number]:
                places = {*strand.entry.loaded.measured.branches}
                for other in self.proposal.strands.values():
                    there = places & {*other.entry.loaded.measured.branches}
                    same = other.entry.wire.colour == colour and other.clashes(strand)
                    if same and there:
                        named = min(str(self.proposal.branches[branch]) for branch in there)
                        yield f"'{called(other)}' has it in {named}"
                    elif same and not self.proposal.branches:
                        yield f"'{called(other)}' has it"
        if any(colour in self.question.parts[number].barred for number in numbers):
            yield "kept for the earths"


def called(strand: Strand) -> str:
    """A circuit in a sentence: by its name, else by a wire of it."""
    if strand.circuit == EARTH:
        return EARTH
    return strand.entry.wire.circuit or f"wire {strand.entry.wire.label}"
