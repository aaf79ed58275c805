r"""Two estimates side by side: what is new, gone and changed, and by how much in all.

    job            -> estimate \
                                > comparison: wires, needs, hours, groups of the price
    the same, else -> estimate /

Both are worked out today: on the same shelf, on which what is set aside for either is there for
both, at the same prices, and by the house rules as they are now.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from bom.buy.price import DELIVERY
from bom.estimate import Bought, quote_for
from bom.files.spelling import fold
from bom.job import Job, find_workshop, open_job
from bom.read.books import books_in
from bom.trade.needs import LABOUR
from bom.trade.problem import Problem, Where, as_typed, error, has_errors
from bom.trade.quotes import GivenQuote, Quote, QuoteLine
from bom.trade.wires import ChosenFuse, SizedWire
from bom.workshop.register import FOLDER, place_of, since_given


class Side(Struct, frozen=True, kw_only=True):
    """One of the two: a job with what it takes and its price, and how it is called here."""

    called: str
    bought: Bought
    estimate: Quote | None
    """None where it has errors: its wires and fuses can be compared, and nothing else."""

    @property
    def job(self) -> Job:
        """Its job."""
        return self.bought.jobs[0]

    @property
    def lines(self) -> tuple[QuoteLine, ...]:
        """The lines of its estimate."""
        return self.estimate.lines if self.estimate else ()

    @property
    def whole(self) -> Quote | None:
        """Its estimate, where everything has a price."""
        return self.estimate if self.estimate and self.estimate.complete else None

    @property
    def total(self) -> Decimal | None:
        """What it comes to with tax; None where something has no price."""
        return self.whole.total if self.whole else None

    @property
    def net(self) -> Decimal | None:
        """The same without tax."""
        return self.whole.net if self.whole else None

    @property
    def tax(self) -> Decimal | None:
        """The tax in that."""
        return self.whole.tax if self.whole else None

    @property
    def so_far(self) -> Decimal | None:
        """All that has a price, with tax."""
        return self.estimate.total if self.estimate else None

    @property
    def goods(self) -> Decimal | None:
        """What is needed at cost, without its delivery; None where something has no price."""
        costs = [line.cost for line in self.lines if _is_need(line)]
        return None if None in costs else sum(filter(None, costs), Decimal())

    def price_of(self, group: str) -> Decimal | None:
        """The price of a group without tax; None where something in it has none."""
        lines = [line for line in self.lines if line.group == group]
        unpriced = any(line.cost is None for line in lines)
        return None if unpriced else sum((line.price for line in lines), Decimal())

    @property
    def length_mm(self) -> Decimal:
        """All pieces of cable, without spare."""
        return Decimal(sum(entry.piece_mm * entry.wire.qty for entry in self.job.wires))


class WireChange(Struct, frozen=True, kw_only=True):
    """A wire as it was and as it is now; None where it is new, or gone."""

    was: SizedWire | None
    now: SizedWire | None

    @property
    def differs_in(self) -> tuple[str, ...]:
        """The names of the facts that are others now; all of a wire that is new or gone."""
        was, now = ({} if one is None else facts(one) for one in (self.was, self.now))
        return tuple(name for name in {**was, **now} if _as_one(was, name) != _as_one(now, name))


class FuseChange(Struct, frozen=True, kw_only=True):
    """A fuse as it was and as it is now; None where it is new, or gone."""

    was: ChosenFuse | None
    now: ChosenFuse | None


class LineChange(Struct, frozen=True, kw_only=True):
    """An item or a task of the estimate as it was and as it is now; None where it has none."""

    item: str
    unit: str
    was: QuoteLine | None
    now: QuoteLine | None

    def by(self, amount: Callable[[QuoteLine], Decimal | None]) -> Decimal:
        """So much more."""
        now, was = (one and amount(one) for one in (self.now, self.was))
        return (now or Decimal()) - (was or Decimal())


class CostChange(Struct, frozen=True, kw_only=True):
    """A part of the price as it was and as it is now; None where something in it has no price."""

    what: str
    was: Decimal | None
    now: Decimal | None

    @property
    def by(self) -> Decimal | None:
        """So much more."""
        return None if self.was is None or self.now is None else self.now - self.was


class Comparison(Struct, frozen=True, kw_only=True):
    """What differs between two sides; of `costs` all groups of the price, the same or not."""

    was: Side
    now: Side
    wires: tuple[WireChange, ...]
    fuses: tuple[FuseChange, ...]
    needs: tuple[LineChange, ...]
    hours: tuple[LineChange, ...]
    costs: tuple[CostChange, ...]

    @property
    def total(self) -> CostChange:
        """The price of all, with tax."""
        return CostChange(what="total", was=self.was.total, now=self.now.total)

    @property
    def all_hours(self) -> tuple[Decimal, Decimal]:
        """All labour, as it was and as it is now."""
        was, now = (
            each.estimate.hours if each.estimate else Decimal() for each in (self.was, self.now)
        )
        return was, now

    @property
    def complete(self) -> bool:
        """Whether all has a price on both sides, so that the totals can be told."""
        return self.total.by is not None

    @property
    def is_nothing(self) -> bool:
        """Whether nothing differs."""
        costs = any(change.was != change.now for change in (*self.costs, self.total))
        return not (self.wires or self.fuses or self.needs or self.hours or costs)


def compared(was: Side, now: Side) -> Comparison:
    """What differs between two estimates; where one has errors, in wires and fuses alone."""
    if was.estimate is None or now.estimate is None:
        was, now = replace(was, estimate=None), replace(now, estimate=None)
    groups = dict.fromkeys(line.group for side in (was, now) for line in side.lines)
    return Comparison(
        was=was,
        now=now,
        wires=tuple(_wires(was.job.wires, now.job.wires)),
        fuses=tuple(_fuses(was.job, now.job)),
        needs=tuple(change for change in _lines(was, now, _is_need) if _differs(change)),
        hours=tuple(c for c in _lines(was, now, _is_labour) if c.by(lambda line: line.hours)),
        costs=tuple(
            CostChange(what=what, was=was.price_of(what), now=now.price_of(what)) for what in groups
        ),
    )


def opened_together(job: Path, other: Path, sets: Sequence[str] = ()) -> tuple[Job, Job]:
    """Two jobs in one workshop: that of the first, or where it lies in none that of the other.

    The second is opened with the rules that are set for this run.
    """
    workshop = find_workshop(job.parent)
    if workshop.folder is None:
        workshop = find_workshop(other.parent)
    return open_job(job, workshop=workshop), open_job(other, workshop=workshop, sets=sets)


def compare_jobs(
    was: Job, now: Job, given: GivenQuote | None = None
) -> tuple[Comparison | None, tuple[Bought, Bought]]:
    """Work out both today and compare them; None where one of them has no wires worked out.

    What is set aside or ordered for either is there for both.  The first may be as it was `given`.
    """
    names = frozenset((was.name, now.name))
    first, estimate = quote_for(replace(was, shares=names))
    second, other = quote_for(replace(now, shares=names))
    if was.sized is None or now.sized is None:
        return None, (first, second)
    was_called, now_called = (f"{job.name} {job.variant}".rstrip() for job in (was, now))
    if given:
        was_called = f"{was.name} as given in {given.number} on {given.given}"
    elif was_called == now_called and was.path != now.path:
        was_called, now_called = str(was.path), str(now.path)
    before = Side(called=was_called, bought=first, estimate=estimate)
    after = Side(called=now_called, bought=second, estimate=other)
    return compared(before, after), (first, second)


# ---------------------------------------------------------------------------------- wires


def facts(entry: SizedWire) -> dict[str, Any]:
    """What is compared of a wire, amps as they are printed."""
    wire = entry.wire
    return {
        "from": str(wire.start),
        "to": str(wire.finish),
        "length_mm": entry.piece_mm,
        "gauge": entry.cable.gauge,
        "colour": str(wire.colour or ""),
        "from_end": entry.start_end,
        "to_end": entry.finish_end,
        "amps": round(float(entry.loaded.amps), 2),
        "fuse": entry.loaded.fuse or "",
        "qty": wire.qty,
    }


def _as_one(known: Mapping[str, Any], name: str) -> Any:
    """A fact; names that differ in letters and blanks alone are one."""
    fact = known.get(name)
    return fold(fact) if isinstance(fact, str) else fact


def _wires(was: Iterable[SizedWire], now: Iterable[SizedWire]) -> Iterator[WireChange]:
    """The wires that differ: by the places where they begin and end, then by their labels.

    A wire without a label of its own is called by its row, which another may have by now.
    """
    found: dict[int, SizedWire] = {}
    left, right = list(was), list(now)
    for key in (_label_and_way, _way, _label):
        waiting: dict[Any, list[SizedWire]] = defaultdict(list)
        for entry in left:
            waiting[key(entry)].append(entry)
        for entry in (e for e in right if id(e) not in found):
            if waiting[key(entry)]:
                found[id(entry)] = waiting[key(entry)].pop(0)
        left = [entry for rest in waiting.values() for entry in rest]
    gone = {id(entry) for entry in left}
    pairs = [WireChange(was=found.get(id(entry)), now=entry) for entry in right]
    pairs += [WireChange(was=entry, now=None) for entry in was if id(entry) in gone]
    yield from (pair for pair in pairs if pair.differs_in)


def _label(entry: SizedWire) -> str:
    return fold(entry.wire.label)


def _way(entry: SizedWire) -> tuple[str, ...]:
    wire = entry.wire
    return tuple(map(fold, (wire.circuit, str(wire.start), str(wire.finish))))


def _label_and_way(entry: SizedWire) -> tuple[str, ...]:
    return (_label(entry), *_way(entry))


def _fuses(was: Job, now: Job) -> Iterator[FuseChange]:
    """The fuses that have another rating, kind or holder now; they are known by their names."""
    before, after = (
        {fold(fuse.name): fuse for fuse in (job.sized.fuses if job.sized else ())}
        for job in (was, now)
    )
    for name in {**before, **after}:
        old, new = before.get(name), after.get(name)
        if _fitted(old) != _fitted(new):
            yield FuseChange(was=old, now=new)


def _fitted(fuse: ChosenFuse | None) -> tuple[Fraction, str, str] | None:
    return (fuse.rating, fuse.kind, fuse.holder) if fuse else None


# ---------------------------------------------------------------------------------- lines


def _is_need(line: QuoteLine) -> bool:
    return line.group not in (LABOUR, DELIVERY)


def _is_labour(line: QuoteLine) -> bool:
    return line.group == LABOUR


def _lines(was: Side, now: Side, asked: Callable[[QuoteLine], bool]) -> Iterator[LineChange]:
    before, after = (_summed(side.lines, asked) for side in (was, now))
    found = {**before, **after}
    groups = [*dict.fromkeys(line.group for line in found.values())]
    for key, line in sorted(found.items(), key=lambda one: groups.index(one[1].group)):
        lines = {"was": before.get(key), "now": after.get(key)}
        yield LineChange(item=line.item, unit=line.unit, **lines)


def _summed(
    lines: Sequence[QuoteLine], asked: Callable[[QuoteLine], bool]
) -> dict[tuple[str, str], QuoteLine]:
    """The lines asked for by item and unit: one task may stand in several rows."""
    found: dict[tuple[str, str], QuoteLine] = {}
    for line in filter(asked, lines):
        key = (fold(line.item), line.unit)
        found[key] = _added(found[key], line) if key in found else line
    return found


def _added(one: QuoteLine, other: QuoteLine) -> QuoteLine:
    costs = (one.cost, other.cost)
    return replace(
        one,
        quantity=one.quantity + other.quantity,
        cost=None if None in costs else sum(filter(None, costs), Decimal()),
        price=one.price + other.price,
        hours=(one.hours or Decimal()) + (other.hours or Decimal()),
    )


def _differs(change: LineChange) -> bool:
    if change.was is None or change.now is None:
        return True
    was, now = ((one.quantity, one.cost) for one in (change.was, change.now))
    return was != now


# -------------------------------------------------------------------------- as it was given


def given_before(job: Job) -> tuple[Job | None, GivenQuote | None, tuple[Problem, ...]]:
    """The job as its book was when the last quotation was given, and that quotation."""
    since = since_given(job, None)
    folder, last = job.workshop.folder, since.last
    if folder is None:
        says = "not in a workshop folder, where quotations given are kept"
        return None, None, (error(Where(), says, "bom new workshop PATH"),)
    if last is None and has_errors(since.problems):
        return None, None, since.problems
    if last is None:
        says = f"no quotation was given for '{job.name}' yet"
        return None, None, (error(Where(), says, f"bom quote {as_typed(job.path.stem)} --give"),)
    place = place_of(folder, last.number)
    kept = {book.name: book for book in books_in(place)}
    book = kept.get(job.path.name) or next(iter(kept.values()), None)
    if book is None:
        says = f"the job book that {last.number} was given for is not in it"
        return None, last, (error(Where(f"{FOLDER}/{place.name}"), says, "its copy back in there"),)
    return _found_in(place, open_job(book, workshop=job.workshop)), last, ()


def _found_in(place: Path, job: Job) -> Job:
    """What is told of it with its place: the job's own book is called alike."""
    problems = (
        replace(p, where=replace(p.where, file=f"{FOLDER}/{place.name}/{p.where.file}"))
        if p.where.file.partition("/")[0] == job.path.name
        else p
        for p in job.problems
    )
    return replace(job, problems=tuple(problems))
