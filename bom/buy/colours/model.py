"""The question about colours as a programme in whole numbers.

A part has one of its colours, a circuit one body.  In a branch a colour is one circuit's at the
most, which also tells that a line is needed by one of them: both in one row a branch and colour,
so that the programme without whole numbers is near to the answer.  Colours that nothing tells
apart are left to the solver: rows that put them in an order made it twice as slow on real looms.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations

from msgspec import Struct, field

from bom.buy.colours.money import worthwhile
from bom.buy.colours.question import LEVELS, CircuitPart, Line, LineGoods, Piece, Question
from bom.buy.solver import Programme, Solution
from bom.trade.job_book import Colour

UNITS = {"bought_mm": 1000}
"""So much of a level is one in the programme: metres are nearer to the other figures."""

Candidates = Sequence[Sequence[Colour]]
"""The colours of each part to choose from, in the order of the parts."""


class _Wanted(Struct, frozen=True):
    """Pieces of one length that a part wants of a line, if it has the line's colour."""

    part: int
    size: Piece
    count: int
    column: int
    """Whether the part has the colour."""
    cuts: dict[int, int] = field(default_factory=dict)
    """How many of them come from a length on the shelf, by its number."""

    @property
    def bought(self) -> dict[int, float]:
        """How many have to be bought."""
        return {self.column: float(self.count), **dict.fromkeys(self.cuts.values(), -1.0)}


class ColourModel(Struct):
    """The programme of a question, and which of its unknowns means what."""

    question: Question
    candidates: Candidates
    programme: Programme = field(default_factory=Programme)
    has: dict[tuple[int, Colour], int] = field(default_factory=dict)
    """Whether a part has a colour."""
    levels: dict[str, dict[int, float]] = field(default_factory=dict)
    """What each level sums, by unknown."""
    wanted: dict[Line, list[_Wanted]] = field(default_factory=dict)
    ample: dict[Line, str] = field(default_factory=dict)
    """Lines that one length on the shelf gives all of, by its name."""
    needed: dict[Line, int] = field(default_factory=dict)
    """Whether a line has to be bought."""
    some: dict[tuple[tuple[int, ...], Colour], int] = field(default_factory=dict)
    """Whether one of several parts of a circuit has a colour."""

    def __post_init__(self) -> None:
        self.levels = {level: {} for level in LEVELS}
        for number, part in enumerate(self.question.parts):
            self._part(number, part)
        for line in sorted(self.wanted):
            self._line(line, self.question.goods_of(line))
        for branch in cliques(self.question.parts):
            self._branch(branch)
        self._bodies()

    # ---------------------------------------------------------------------- parts

    def _part(self, number: int, part: CircuitPart) -> None:
        wires = float(len(part.pieces))
        for colour in self.candidates[number]:
            column = self.has[number, colour] = self.programme.column(at_most=1)
            if part.astray(colour):
                self.levels["astray"][column] = wires * part.astray(colour)
            if part.is_unusual(colour):
                self.levels["unusual"][column] = wires
            for size, count in sorted(part.sizes.items()):
                line = (size[0], colour)
                self.wanted.setdefault(line, []).append(_Wanted(number, size, count, column))
        own = [self.has[number, colour] for colour in self.candidates[number]]
        self.programme.row(dict.fromkeys(own, 1.0), at_least=1, at_most=1)

    def _bodies(self) -> None:
        """A circuit of which nothing is typed has one body, whatever traces come in."""
        circuits: dict[str, list[int]] = defaultdict(list)
        for number, part in enumerate(self.question.parts):
            if part.fixed is None and not part.made_in and not part.bodies:
                circuits[part.circuit].append(number)
        for numbers in circuits.values():
            if len(numbers) > 1:
                self._one_body(numbers)

    def _one_body(self, numbers: Sequence[int]) -> None:
        bodies = sorted({colour.body for n in numbers for colour in self.candidates[n]})
        chosen = {body: self.programme.column(at_most=1) for body in bodies}
        self.programme.row(dict.fromkeys(chosen.values(), 1.0), at_least=1, at_most=1)
        for number in numbers:
            for body, column in chosen.items():
                own = [c for c in self.candidates[number] if c.body == body]
                terms = {self.has[number, colour]: 1.0 for colour in own}
                self.programme.row({**terms, column: -1.0}, at_most=0)

    # ---------------------------------------------------------------------- lines

    def _line(self, line: Line, goods: LineGoods) -> None:
        """What of a line comes from the shelf, and what the rest costs."""
        wanted = self.wanted[line]
        name = self._gives_all(goods, wanted)
        if name:
            self.ample[line] = name
            return
        self._shelf(wanted, goods)
        needed = self.needed[line] = self.programme.column(at_most=1)
        self.levels["cost"][needed] = float(self.question.line_worth)
        for want in wanted:
            _add(self.levels["bought_mm"], want.bought, want.size[1] / UNITS["bought_mm"])
            if not goods.offers and self._counts(want):
                _add(self.levels["unsold"], want.bought, 1.0)
            if want.cuts:
                self.programme.row({**want.bought, needed: -float(want.count)}, at_most=0)
        for column in dict.fromkeys(want.column for want in wanted if not want.cuts):
            self.programme.row({column: 1.0, needed: -1.0}, at_most=0)
        if goods.offers:
            self._packs(wanted, goods)

    def _gives_all(self, goods: LineGoods, wanted: Iterable[_Wanted]) -> str:
        """A length on the shelf that all that may want the line goes on; empty for none."""
        mm = sum(self.question.takes_mm(want.size[1], want.count) for want in wanted)
        rooms = zip(goods.shelf, self.question.rooms(goods), strict=True)
        return next((name for (name, _), room in rooms if room >= mm), "")

    def _counts(self, want: _Wanted) -> bool:
        return self.question.priced and self.question.parts[want.part].fixed is None

    def _shelf(self, wanted: Iterable[_Wanted], goods: LineGoods) -> None:
        """Pieces are cut from lengths that are long enough for all that is cut from them."""
        rooms = self.question.rooms(goods)
        cut: dict[int, dict[int, float]] = defaultdict(dict)
        for want in wanted:
            takes = self.question.takes_mm(want.size[1])
            for number, room in enumerate(rooms):
                if takes <= room:
                    column = want.cuts[number] = self.programme.column(at_most=want.count)
                    cut[number][column] = float(takes)
            if want.cuts:
                cuts = dict.fromkeys(want.cuts.values(), 1.0)
                self.programme.row({**cuts, want.column: -float(want.count)}, at_most=0)
        for number, terms in cut.items():
            self.programme.row(terms, at_most=float(rooms[number]))

    def _packs(self, wanted: Iterable[_Wanted], goods: LineGoods) -> None:
        """Packs of the offers that are worth while, in metres, cover what is bought."""
        covered: dict[int, float] = {}
        for want in wanted:
            metres = float(self.question.takes_mm(want.size[1])) / 1000
            _add(covered, want.bought, -metres)
        for offer in worthwhile(goods.offers):
            packs = self.programme.column()
            self.levels["cost"][packs] = float(offer.price)
            covered[packs] = offer.holds_mm / 1000
            if offer.from_packs > 1:
                self._from_so_many(packs, offer.from_packs, wanted, offer.holds_mm)
        self.programme.row(covered, at_least=0)

    def _from_so_many(self, packs: int, least: int, wanted: Iterable[_Wanted], mm: int) -> None:
        """None or at least so many packs; never more than do for everything."""
        every = sum(self.question.takes_mm(want.size[1], want.count) for want in wanted)
        most = max(least, int(every // mm) + 1)
        some = self.programme.column(at_most=1)
        self.programme.row({packs: 1.0, some: -float(least)}, at_least=0)
        self.programme.row({packs: 1.0, some: -float(most)}, at_most=0)

    # ------------------------------------------------------------------- branches

    def _branch(self, branch: Sequence[int]) -> None:
        """A colour is one circuit's; between cables that are made in few there is no clash."""
        parts = self.question.parts
        few = [number for number in branch if parts[number].made_in]
        others = [number for number in branch if not parts[number].made_in]
        for colour in sorted({c for number in branch for c in self.candidates[number]}):
            own = dict(self._circuits(others, colour))
            if len(own) > 1:
                self.programme.row(dict.fromkeys(own.values(), 1.0), at_most=1)
            for pair in self._outputs(others, colour):
                self.programme.row(dict.fromkeys(pair, 1.0), at_most=1)
            for number in few:
                column = self.has.get((number, colour))
                clashing = [c for circuit, c in own.items() if circuit != parts[number].circuit]
                if column is not None and clashing:
                    self.programme.row(dict.fromkeys((column, *clashing), 1.0), at_most=1)
            for gauge in sorted({gauge for n in others for gauge in parts[n].gauges}):
                self._needs(gauge, colour, [n for n in others if gauge in parts[n].gauges])

    def _outputs(self, numbers: Sequence[int], colour: Colour) -> Iterator[tuple[int, int]]:
        """Outputs of one switch that a circuit has beside each other."""
        parts = self.question.parts
        having = [number for number in numbers if (number, colour) in self.has]
        for one, other in combinations(having, 2):
            if parts[one].is_output_beside(parts[other]):
                yield self.has[one, colour], self.has[other, colour]

    def _needs(self, gauge: str, colour: Colour, numbers: Sequence[int]) -> None:
        """A line is bought for the one circuit that has it, where none of it is on the shelf."""
        line = (gauge, colour)
        if line in self.needed and not self.question.goods_of(line).shelf:
            own = dict(self._circuits(numbers, colour))
            terms = dict.fromkeys(own.values(), 1.0)
            if len(own) > 1:
                self.programme.row({**terms, self.needed[line]: -1.0}, at_most=0)

    def _circuits(self, numbers: Iterable[int], colour: Colour) -> Iterator[tuple[str, int]]:
        """Each circuit of these parts, with the unknown that tells whether it has a colour."""
        circuits: dict[str, list[int]] = defaultdict(list)
        for number in numbers:
            if (number, colour) in self.has:
                circuits[self.question.parts[number].circuit].append(number)
        for circuit, own in circuits.items():
            yield circuit, self._one_of(tuple(own), colour)

    def _one_of(self, numbers: tuple[int, ...], colour: Colour) -> int:
        if len(numbers) == 1:
            return self.has[numbers[0], colour]
        if (numbers, colour) not in self.some:
            column = self.some[numbers, colour] = self.programme.column(at_most=1, whole=False)
            for number in numbers:
                terms = {self.has[number, colour]: 1.0, column: -1.0}
                self.programme.row(terms, at_most=0)
        return self.some[numbers, colour]

    # -------------------------------------------------------------------- answers

    def colours(self, found: Solution) -> tuple[Colour, ...]:
        """The colour of each part in an answer."""
        return tuple(
            max(own, key=lambda colour: found.values[self.has[number, colour]])
            for number, own in enumerate(self.candidates)
        )

    def cuts(self, found: Solution) -> Mapping[tuple[int, Piece], list[str]]:
        """The lengths on the shelf that pieces of a part are cut from in an answer."""
        cut: dict[tuple[int, Piece], list[str]] = defaultdict(list)
        for line, wanted in self.wanted.items():
            shelf = self.question.goods_of(line).shelf
            for want in wanted:
                own = cut[want.part, want.size]
                if line in self.ample and round(found.values[want.column]):
                    own += [self.ample[line]] * want.count
                for number, column in want.cuts.items():
                    own += [shelf[number][0]] * round(found.values[column])
        return cut


def cliques(parts: Sequence[CircuitPart]) -> list[tuple[int, ...]]:
    """The parts of each branch, but of those that are within another's; in their own order."""
    branches: dict[int, list[int]] = defaultdict(list)
    for number, part in enumerate(parts):
        for branch in part.lies_in if part.fixed is None else ():
            branches[branch].append(number)
    sets = {tuple(numbers) for numbers in branches.values()}
    return sorted(own for own in sets if not any({*own} < {*other} for other in sets))


def _add(total: dict[int, float], terms: Mapping[int, float], factor: float) -> None:
    for column, value in terms.items():
        total[column] = total.get(column, 0.0) + factor * value
