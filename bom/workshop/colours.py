r"""Colours for the wires of a job that have none, or for all of them.

    job          \
    the shelf     > parts of circuits, what there is of each colour -> buy/colours -> the job again
    price lists  /

Gauges go by colour too (two lines of one colour may become one), so that the job is worked out
again with the colours that were found, and coloured again while its gauges change.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property

from msgspec import Struct
from msgspec.structs import replace

from bom.buy.allot import unheld
from bom.buy.colours import Answer, CableOffer, CircuitPart, Line, LineGoods, Question, coloured
from bom.buy.on_order import with_orders
from bom.buy.solver import Solver
from bom.estimate import lacking_books
from bom.estimate.books import read_shop
from bom.files import spelling
from bom.job import Job, worked_out
from bom.reckon.net import NOTHING_PASSES, PIN_TO_PIN
from bom.reckon.strands import EARTH, Strand, strands
from bom.trade.job_book import Branch, Colour, JobBook
from bom.trade.orders import Price, PriceBook
from bom.trade.point_names import is_fuse
from bom.trade.problem import Problem, Where, error, has_errors, in_file_order
from bom.trade.shelf import Stock
from bom.trade.wires import SizedWire

ROUNDS = 3
"""So often the job is coloured at the most while its gauges change by its colours."""


class Proposal(Struct, frozen=True, kw_only=True, dict=True):
    """A job with the colours that are proposed; `job` is None where it has errors."""

    was: Job
    """As its book is."""
    job: Job | None
    question: Question | None = None
    answer: Answer | None = None
    parts: tuple[tuple[Strand, ...], ...] = ()
    """The wires of each part of the question."""
    regauged: tuple[str, ...] = ()
    """Wires that have another gauge with these colours than they were coloured with."""
    problems: tuple[Problem, ...] = ()
    lacking: tuple[Problem, ...] = ()
    """Those of the problems that say what is not there."""

    @cached_property
    def strands(self) -> Mapping[str, Strand]:
        """The wires of the coloured job with their circuits, by label."""
        return strands(self.job.net, self.job.wires) if self.job and self.job.net else {}

    @property
    def branches(self) -> tuple[Branch, ...]:
        """The branches of its loom."""
        return self.was.book.branches if self.was.book else ()

    @property
    def colours(self) -> Mapping[str, Colour]:
        """The colour of each wire that gets one, by its label."""
        return _by_label(self.parts, self.answer) if self.answer else {}


class _Shop(Struct, frozen=True):
    """What there is to choose from."""

    stock: Stock
    prices: PriceBook


def propose(job: Job, *, all_wires: bool = False) -> Proposal:
    """Colours for the wires of an opened job that have none; with `all_wires` for each."""
    workshop, book = job.workshop, job.book
    stock, prices, unread = read_shop(workshop, job.rules, [job])
    unread = stock.beside_orders(unread)
    lacking = lacking_books(workshop, ("stock", "prices"))
    problems = in_file_order((*job.problems, *lacking, *unread))
    if book is None or has_errors(problems):
        return Proposal(was=job, job=None, problems=problems, lacking=lacking)
    blank = _blank(job, book) if all_wires else job
    shop = _Shop(with_orders(unheld(stock, {job.name}), {job.name}, job.rules.reel_end_mm), prices)
    task = _Colouring(job, blank, shop)
    found = task.once(blank, Solver(0), {})  # a first look tells most of the gauges
    with Solver(float(job.rules.order_seconds)) as solver:
        found = task.rounds(found, solver)
    problems = in_file_order((*problems, *found.problems))
    return replace(found, problems=problems, lacking=lacking)


def _blank(job: Job, book: JobBook) -> Job:
    """The job as if no colour were typed."""
    wires = tuple(replace(wire, colour=None) for wire in book.wires)
    return worked_out(job, replace(book, wires=wires))


class _Colouring(Struct, frozen=True):
    """A job as it is and without the colours that are sought, and what there is to choose from."""

    was: Job
    blank: Job
    shop: _Shop

    def rounds(self, first: Proposal, solver: Solver) -> Proposal:
        """Coloured, and again while the colours change the gauges and there is time."""
        found, seconds = first, solver.seconds_left
        for _ in range(ROUNDS):
            found = self.once(found.job or self.blank, solver, found.colours)
            enough = not found.regauged or solver.seconds_left < seconds / 2
            if found.answer is None or enough:
                break
        return self._as_it_is(found, solver) if found.regauged else found

    def _as_it_is(self, found: Proposal, solver: Solver) -> Proposal:
        """By the gauges that the colours bring, of which nothing is proved."""
        if found.job is None:
            return found
        question, parts = _Asking(self.blank, found.job, self.shop).question()
        own = [_known_of(part, found.colours) for part in parts]
        kept = [replace(p, fixed=c or p.fixed) for p, c in zip(question.parts, own, strict=True)]
        fixed = replace(question, parts=tuple(kept))
        answer = coloured(fixed, solver, own)
        if answer is None:
            return found
        levels = {
            name: replace(level, bound=0.0, proved=False) for name, level in answer.levels.items()
        }
        answer = replace(answer, levels=levels)
        return replace(found, question=question, answer=answer, parts=parts)

    def once(self, now: Job, solver: Solver, known: Mapping[str, Colour]) -> Proposal:
        """Coloured by the gauges that it has now."""
        question, parts = _Asking(self.blank, now, self.shop).question()
        if not any(parts):
            return Proposal(was=self.was, job=self.blank)
        answer = coloured(question, solver, [_known_of(part, known) for part in parts])
        if answer is None:
            return Proposal(was=self.was, job=None, problems=(_too_few(self.was),))
        job = _filled(self.blank, _by_label(parts, answer))
        errors = tuple(problem for problem in job.problems if problem.level == "error")
        if errors:
            return Proposal(was=self.was, job=None, problems=errors)
        before = _gauges(now)
        return Proposal(
            was=self.was,
            job=job,
            question=question,
            answer=answer,
            parts=parts,
            regauged=tuple(n for n, gauge in _gauges(job).items() if gauge != before[n]),
        )


def _known_of(part: Sequence[Strand], known: Mapping[str, Colour]) -> Colour | None:
    """What all wires of a part had the time before."""
    each = {known.get(strand.entry.wire.label) for strand in part}
    return each.pop() if len(each) == 1 else None


def _too_few(job: Job) -> Problem:
    says = "no colours were found for all circuits that lie in one branch: they are too many"
    return error(Where(job.path.name), says, "two branches side by side, or more order_seconds")


def _by_label(parts: Iterable[Sequence[Strand]], answer: Answer) -> dict[str, Colour]:
    pairs = zip(parts, answer.colours, strict=True)
    return {strand.entry.wire.label: colour for part, colour in pairs for strand in part}


def _filled(job: Job, colours: Mapping[str, Colour]) -> Job:
    """The job with these colours, worked out with them."""
    book = job.book
    if book is None:
        return job
    wires = (replace(wire, colour=colours.get(wire.label, wire.colour)) for wire in book.wires)
    return worked_out(job, replace(book, wires=tuple(wires)))


def _gauges(job: Job) -> dict[str, str]:
    return {entry.wire.label: entry.cable.gauge for entry in job.wires}


# ----------------------------------------------------------------------------- what is asked


class _Asking:
    """The question of a job: its gauges as they are `now`, its colours as they were `blank`."""

    def __init__(self, blank: Job, now: Job, shop: _Shop) -> None:
        self.rules, self.catalogue = blank.rules, blank.workshop.catalogue
        self.has_loom = bool(blank.book and blank.book.branches)
        self.shop = shop
        found = strands(blank.net, now.wires).values() if blank.net else ()
        self.passing = blank.net.passing if blank.net else str
        self.named = {EARTH, *(spelling.fold(entry.wire.circuit) for entry in now.wires)}
        typed = {entry.wire.label: entry.wire.colour for entry in blank.wires}
        self.kept = {strand: c for strand in found if (c := typed[strand.entry.wire.label])}
        self.free = [strand for strand in found if strand not in self.kept]

    def question(self) -> tuple[Question, tuple[tuple[Strand, ...], ...]]:
        """What is asked, and the wires of its parts; none of those that are kept."""
        groups: dict[object, list[Strand]] = defaultdict(list)
        for strand in self.free:
            groups[strand.part, strand.in_few_colours].append(strand)
        made = [(self._part(own), tuple(own)) for own in groups.values()]
        made.sort(key=lambda one: _in_order(*one))
        kept = self._kept_lines()
        prices = self.shop.prices
        gauges = {gauge for part in (*(part for part, _ in made), *kept) for gauge in part.gauges}
        palette = [Colour(row.word) for row in self.catalogue.colours if row.plain]
        question = Question(
            parts=(*(part for part, _ in made), *kept),
            goods=dict(self._goods(gauges, palette)),
            palette=tuple(dict.fromkeys((*palette, *self.kept.values()))),
            further=tuple(Colour(a.body, b.body) for a in palette for b in palette if a != b),
            priced=any(price.gauge for price in prices.prices),
            line_worth=self.rules.line_worth,
            trim_mm=self.rules.trim_mm,
            spare_percent=self.rules.cable_spare_percent,
        )
        return question, (*(own for _, own in made), *(() for _ in kept))

    def _part(self, own: Sequence[Strand]) -> CircuitPart:
        first = own[0]
        few = first.in_few_colours
        alike = {s: colour for s, colour in self.kept.items() if s.in_few_colours == few}
        typed = _most_common(c for s, c in alike.items() if s.part == first.part)
        bodies = {c.body for s, c in alike.items() if s.circuit == first.circuit and not few}
        return CircuitPart(
            circuit=first.circuit,
            pieces=tuple(sorted(piece for strand in own for piece in _pieces(strand.entry))),
            lies_in=frozenset(branch for strand in own for branch in self._places(strand)),
            usual=self._usual(first.circuit),
            typed=typed,
            bodies=frozenset(bodies),
            made_in=tuple(self._made_in(own)),
            starts=frozenset(filter(self._is_switch, (s.entry.wire.start.point for s in own))),
            barred=frozenset(self._barred(own)) | self._of_earths(first, typed),
            barred_body=self._body_of_earths(own, bodies),
        )

    def _kept_lines(self) -> list[CircuitPart]:
        """What is typed takes of the shelf too, and is bought with the rest."""
        pieces: dict[tuple[str, Colour], list[tuple[str, int]]] = defaultdict(list)
        for strand, colour in self.kept.items():
            pieces[strand.entry.cable.gauge, colour] += _pieces(strand.entry)
        return [
            CircuitPart(circuit="", pieces=tuple(sorted(own)), fixed=colour)
            for (_, colour), own in sorted(pieces.items())
        ]

    def _places(self, strand: Strand) -> tuple[int, ...]:
        """The branches that a wire lies in; a job without a loom is one."""
        return strand.entry.loaded.measured.branches if self.has_loom else (0,)

    def _usual(self, circuit: str) -> Colour | None:
        """By its name: where its wires lead says nothing of what they are for."""
        usual = self.catalogue.usual_colour(circuit) if circuit in self.named else ""
        return spelling.colour(usual, self.catalogue) if usual else None

    def _made_in(self, own: Iterable[Strand]) -> Iterator[Colour]:
        """The colours that all its cables are made in, where those are few."""
        each = [strand.entry.cable.colours for strand in own if strand.in_few_colours]
        for name in each[0] if each else ():
            if all(name in colours for colours in each):
                yield spelling.colour(name, self.catalogue)

    def _barred(self, own: Sequence[Strand]) -> Iterator[Colour]:
        """The colours that others have by what is typed, in a branch with one of these."""
        places = {strand: {*self._places(strand)} for strand in own}
        for other, colour in self.kept.items():
            there = {*self._places(other)}
            if any(
                there & lies and (other.clashes(strand) or self._beside(strand, other))
                for strand, lies in places.items()
            ):
                yield colour

    def _is_switch(self, point: str) -> bool:
        """True for what passes current from pin to pin, of itself and not through a fuse."""
        return self.passing(point) not in (NOTHING_PASSES, PIN_TO_PIN) and not is_fuse(point)

    def _beside(self, one: Strand, other: Strand) -> bool:
        """True for two outputs of one switch in one circuit."""
        start = one.entry.wire.start.point
        few = one.in_few_colours or other.in_few_colours
        same = one.circuit == other.circuit and start == other.entry.wire.start.point
        return same and not few and one.part != other.part and self._is_switch(start)

    def _of_earths(self, first: Strand, typed: Colour | None) -> frozenset[Colour]:
        """The colours of the earths, which nothing else has anywhere on the machine."""
        if first.circuit == EARTH:
            return frozenset()
        common = _most_common(c for s, c in self.kept.items() if s.circuit == EARTH)
        return frozenset(filter(None, (common, self._usual(EARTH)))) - {typed}

    def _body_of_earths(self, own: Sequence[Strand], bodies: Iterable[str]) -> str:
        """The body that no feed has: a trace on it is soon dirty, and then it is an earth."""
        earth, usual = self._usual(EARTH), self._usual(own[0].circuit)
        feeds = any(not s.entry.loaded.is_return and not s.in_few_colours for s in own)
        if not earth or not feeds or earth.body in (*bodies, usual and usual.body):
            return ""
        return earth.body

    # ------------------------------------------------------------------- what there is

    def _goods(
        self, gauges: Iterable[str], palette: Iterable[Colour]
    ) -> Iterator[tuple[Line, LineGoods]]:
        """By gauge and colour: lengths on the shelf, the longest first, and what is sold."""
        shelf: dict[Line, list[tuple[str, int]]] = defaultdict(list)
        sold: dict[Line, list[CableOffer]] = defaultdict(list)
        for piece in self.shop.stock.pieces:
            shelf[piece.gauge, piece.colour].append((piece.name, piece.length_mm))
        for gauge in gauges:
            for price in self.shop.prices.by_gauge.get(gauge, ()):
                for offer in self._offers(price):
                    for colour in [price.colour] if price.colour else palette:
                        sold[gauge, colour].append(offer)
        for line in sorted({*shelf, *sold}):
            if line[0] in gauges:
                lengths = sorted(shelf[line], key=lambda piece: (-piece[1], piece[0]))
                yield line, LineGoods(tuple(lengths), tuple(sorted(sold[line])))

    def _offers(self, price: Price) -> Iterator[CableOffer]:
        if price.sold_as == "metre":
            yield CableOffer(1000, price.price, price.from_qty)
        elif price.sold_as != "each":
            holds_mm = int(price.pack * 1000) - self.rules.reel_end_mm
            yield CableOffer(holds_mm, price.price, price.from_qty)


def _pieces(entry: SizedWire) -> list[tuple[str, int]]:
    return [(entry.cable.gauge, entry.piece_mm)] * entry.wire.qty


def _most_common(colours: Iterable[Colour]) -> Colour | None:
    counts = Counter(colours)
    return min(counts, key=lambda colour: (-counts[colour], colour), default=None)


def _in_order(part: CircuitPart, own: Iterable[Strand]) -> tuple[object, ...]:
    """By names and what is wanted, so that the order of rows is of no account."""
    ends = sorted((str(s.entry.wire.start), str(s.entry.wire.finish)) for s in own)
    return part.circuit, bool(part.made_in), ends, part.pieces
