"""The machine's own paper as tables: what lies where, for whoever repairs it next."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any, Literal, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from bom.files import clock
from bom.files.spelling import fold, plain
from bom.files.table import Heading, Table
from bom.job import Job
from bom.show.plug_halves import Half, halves, is_in_the_loom
from bom.trade.catalogue_rows import BY_SLEEVE, Load
from bom.trade.handover import CHARGING, FIRST_POWER, OF_ALL_WIRES, ROAD_TEST
from bom.trade.job_book import NO_FUSE, Pin, Wire
from bom.trade.point_names import is_battery, is_earth, is_fuse
from bom.trade.problem import counted
from bom.trade.wires import ChosenFuse, SizedWire, WireEnd
from bom.workshop.as_made import AsMade
from bom.workshop.finished import MadeWire, Tested
from bom.workshop.made_over import is_added

PointKind: TypeAlias = Literal["plug", "splice", "earth", "other"]
POINTS: Mapping[PointKind, str] = {
    "plug": "Plugs, pin by pin",
    "splice": "Splices",
    "earth": "Earths",
    "other": "All else, pin by pin",
}
"""The kinds of points that wires end at, each with the title of its table."""
_LAMPS = ("headlamp", "lamp")


class WireAtPin(Struct, frozen=True, kw_only=True):
    """A wire at one of its ends, as somebody sees it who looks into the plug.

    `half` says which half of a plug in the loom it goes into, where that is known.
    """

    pin: Pin
    wire: SizedWire
    style: str
    other: Pin
    half: str = ""


class Point(Struct, frozen=True, kw_only=True):
    """A place wires end at, with all of them in the order of its pins."""

    name: str
    kind: PointKind
    says: str
    wires: tuple[WireAtPin, ...]
    face: tuple[tuple[str, ...], ...] = ()
    in_loom: bool = False
    """It is a plug in the loom, of two halves."""
    halves: tuple[Half, ...] = ()
    """Of a plug in the loom, that of the face first; none where they cannot be told."""


# ------------------------------------------------------------------------------ the tables


def record_tables(made: AsMade) -> tuple[Table, ...]:
    """Every table of the record, none of them empty; wires as they were made."""
    job = made.job
    by_kind: dict[PointKind, list[WireAtPin]] = defaultdict(list)
    for point in points(job):
        by_kind[point.kind] += point.wires
    tables = (
        facts_table(made),
        fuses_table(made),
        wires_table(made),
        *(_points_table(title, by_kind[kind], job) for kind, title in POINTS.items()),
        loads_table(job),
        tests_table(made.tests),
    )
    return tuple(table for table in tables if table.rows or table.notes)


def by_heading(table: Table) -> list[dict[str, Any]]:
    """The cells of each row by the names of their headings."""
    names = [heading.name for heading in table.headings]
    return [dict(zip(names, row, strict=True)) for row in table.rows]


def files_table(made: AsMade, files: Iterable[Path]) -> Table:
    """What was written, and how far it can be believed."""
    job, many = made.job, Counter(point.kind for point in points(made.job))
    ratings, fuses = made.ratings, job.sized.fuses if job.sized else ()
    held = (
        counted(len(job.wires), "wire"),
        counted(len(fuses), "fuse"),
        *(counted(many[kind], kind) for kind in ("plug", "splice", "earth")),
    )
    how = f"as made, {made.sheet}" if made.sheet else "as planned"
    told = (f"{fuse.name} {ratings[fold(fuse.name)]}" for fuse in fuses)
    others = [words for words in told if words.endswith(" planned")]
    return Table.of(
        f"{job.name}: the machine's own paper",
        files,
        Heading("file", str, wide=60),
        Heading("for", lambda path: "the machine" if path.suffix == ".pdf" else "the office"),
        notes=(
            f"{how}: {', '.join(held)}",
            f"not fitted: {', '.join(made.left_out)}" if made.left_out else None,
            f"added: {', '.join(made.added)}, which the drawing has not" if made.added else None,
            f"other fuses than planned: {'; '.join(others)}" if others else None,
        ),
    )


def facts(made: AsMade) -> list[tuple[str, str]]:
    """Which machine this is the paper of, and how far it can be believed."""
    job, book = made.job, made.job.book
    earth = "plus" if job.net and job.net.positive_earth else "minus"
    by = f"by {made.sheet}, " + (f"done on {made.done}" if made.done else "not done yet")
    known = (
        ("machine", book.machine if book else ""),
        ("job", job.name),
        ("volts", f"{plain(job.rules.volts)} V, {earth} to earth"),
        ("wired by", job.rules.name),
        (
            "as made" if made.sheet else "as planned",
            by if made.sheet else "no sheet in used/ says how it was made",
        ),
        ("printed", str(clock.today())),
    )
    return [(name, value) for name, value in known if value]


def facts_table(made: AsMade) -> Table:
    """The facts, a row each."""
    return Table.of(
        "Machine",
        facts(made),
        Heading("item", lambda fact: fact[0]),
        Heading("value", lambda fact: fact[1], wide=70),
    )


def wires_table(made: AsMade) -> Table:
    """Every wire once, in the order of the job book."""
    fuses = made.ratings
    written = partial(_written, made)
    return Table.of(
        "Wires",
        made.job.wires,
        Heading("wire", lambda wire: wire.wire.label),
        Heading("circuit", lambda wire: wire.wire.circuit),
        *_cable(lambda wire: wire),
        Heading("from", lambda wire: str(wire.wire.start)),
        Heading("to", lambda wire: str(wire.wire.finish)),
        Heading("fuse", lambda wire: _fuse(wire, fuses)),
        Heading("length", _length),
        Heading("measured", lambda wire: written(wire).measured, gives_way=1),
        Heading("note", lambda wire: written(wire).note, gives_way=2),
        notes=(not_drawn(made),),
    ).without_blanks()


def not_drawn(made: AsMade) -> str:
    """The wires that the drawing of the loom does not have; empty where it has all."""
    return f"not in the drawing: {', '.join(made.added)}" if made.added else ""


def _written(made: AsMade, wire: SizedWire) -> MadeWire:
    """What the sheet says of a wire, else the note of the job book."""
    own = made.wires.get(fold(wire.wire.label))
    return own or MadeWire(wire=wire.wire.label, note=wire.wire.note)


def _cable(wire_of: Callable[[Any], SizedWire]) -> tuple[Heading[Any], Heading[Any]]:
    """What a wire is known by in the loom: its gauge, and its colour in words."""
    return (
        Heading("gauge", lambda thing: gauge(wire_of(thing))),
        Heading("colour", lambda thing: colour(wire_of(thing))),
    )


def gauge(wire: SizedWire) -> str:
    """With its unit: `0.5 mm2`, `18 AWG`; of an added wire what was typed."""
    own = wire.cable.gauge
    return own if wire.cable.is_awg or not own else f"{own} mm2"


def colour(wire: SizedWire) -> str:
    """In words; of an added wire what was typed."""
    return str(wire.wire.colour or ("" if is_added(wire) else "any colour"))


def _length(wire: SizedWire) -> str:
    count = f"{wire.wire.qty} x " if wire.wire.qty > 1 else ""
    return f"{count}{wire.piece_mm} mm" if wire.piece_mm else ""


def _fuse(wire: SizedWire, ratings: Mapping[str, str]) -> str:
    name = wire.loaded.fuse
    if name is None or name == NO_FUSE:
        return "no fuse" if name else ""
    return ", ".join(filter(None, (name, ratings.get(fold(name)))))


def fuses_table(made: AsMade) -> Table:
    """Each fuse with its amps, where it sits, and what goes dark with it."""
    job, ratings = made.job, made.ratings
    wires = {wire.wire.label: wire for wire in job.wires}
    behind = {
        fold(fuse.name): [wires[label] for label in fuse.wires if label in wires]
        for fuse in (job.currents.fuses if job.currents else ())
    }
    firsts = {name: own[0].wire for name, own in behind.items() if own}
    return Table.of(
        "Fuses",
        job.sized.fuses if job.sized else (),
        Heading("fuse", lambda fuse: fuse.name),
        Heading("rating", lambda fuse: ratings[fold(fuse.name)]),
        Heading("at", lambda fuse: _sits_at(firsts[fold(fuse.name)], firsts.values())),
        Heading("holder", lambda fuse: fuse.holder),
        Heading("first wire", lambda fuse: firsts[fold(fuse.name)].label),
        Heading("behind it", lambda fuse: _behind(job, fuse, behind[fold(fuse.name)]), wide=60),
    )


def _sits_at(first: Wire, firsts: Iterable[Wire]) -> str:
    """The way of the fuse box that the first wire behind a fuse starts at, or its own holder."""
    if is_fuse(first.start.point):
        return str(first.start)
    shared = {wire.start.point for wire in firsts}
    own = is_fuse(first.finish.point) and first.finish.point not in shared
    return first.finish.point if own else ""


def _behind(job: Job, fuse: ChosenFuse, wires: Sequence[SizedWire]) -> str:
    named = dict.fromkeys(wire.wire.circuit for wire in wires if wire.wire.circuit)
    there = {each.name for each in (job.sized.fuses if job.sized else ())}
    load = next(
        (f for f in (job.currents.fuses if job.currents else ()) if f.name == fuse.name), None
    )
    fed = [name for name in (load.feeds if load else ()) if name in there]
    return ", ".join([*named, *([f"the fuses {', '.join(fed)}"] if fed else [])])


def _points_table(title: str, ends: Sequence[WireAtPin], job: Job) -> Table:
    """A row for each wire at each of these points."""
    place = partial(_place, job)
    return Table.of(
        title,
        ends,
        Heading("what", lambda end: end.pin.point),
        Heading("at", lambda end: place(end.pin.point)),
        Heading("pin", lambda end: end.pin.pin),
        Heading("half", lambda end: end.half, shown=any(end.half for end in ends)),
        Heading("wire", lambda end: end.wire.wire.label),
        *_cable(lambda end: end.wire),
        Heading("circuit", lambda end: end.wire.wire.circuit),
        Heading("other end", lambda end: str(end.other)),
    )


def loads_table(job: Job) -> Table:
    """Lamps and whatever else takes current, by the names and watts that were reckoned with."""
    volts = Fraction(job.rules.volts)
    return Table.of(
        "Lamps and other loads",
        sorted(_loads(job), key=lambda load: load[1].kind not in _LAMPS),
        Heading("where", lambda load: load[0]),
        Heading("fitted", lambda load: load[1].name),
        Heading("takes", lambda load: _takes(load[1], volts)),
    )


def _loads(job: Job) -> Iterator[tuple[str, Load]]:
    """Those of the components, then those typed on rows that lead to them."""
    for part in job.book.components.values() if job.book else ():
        if part.load:
            yield part.name, part.load
    for wire in job.wires:
        if wire.wire.load and not wire.loaded.is_return and not wire.loaded.charges:
            yield str(wire.wire.finish), wire.wire.load


def _takes(load: Load, volts: Fraction) -> str:
    own = load.at(volts) or load
    return f"{plain(Decimal(str(float(own.amount))))} {own.unit}"


def tests_table(tests: Iterable[Tested]) -> Table:
    """What was measured, and which tests nobody wrote anything down of."""
    rows = tuple(tests)
    return Table.of(
        "Tests",
        [test for test in rows if not test.is_blank],
        Heading("what", lambda test: test.what, wide=60),
        Heading("expected", lambda test: test.expected),
        Heading("measured", lambda test: test.measured),
        Heading("by", lambda test: test.by),
        Heading("date", lambda test: str(test.day or "")),
        notes=(not_written_down(rows),),
    )


def untested(tests: Iterable[Tested]) -> list[str]:
    """The tests of the machine as a whole that nobody wrote anything down of."""
    asked = {fold(what) for what in (*OF_ALL_WIRES, FIRST_POWER, *CHARGING, *ROAD_TEST)}
    return [test.what for test in tests if test.is_blank and fold(test.what) in asked]


def not_written_down(tests: Iterable[Tested]) -> str:
    """The same in a line; empty where there is something behind each of them."""
    blank = untested(tests)
    return f"not written down: {', '.join(blank)}" if blank else ""


# ------------------------------------------------------------------------------ the points


def points(job: Job) -> list[Point]:
    """Every point with its wires: the plugs first, then splices, earths and all else."""
    ends: dict[str, list[WireAtPin]] = defaultdict(list)
    for wire in job.wires:
        row = wire.wire
        start = WireAtPin(pin=row.start, wire=wire, style=wire.start_end, other=row.finish)
        finish = WireAtPin(pin=row.finish, wire=wire, style=wire.finish_end, other=row.start)
        ends[row.start.point].append(start)
        ends[row.finish.point].append(finish)
    found = [_point(job, name, each) for name, each in ends.items()]
    kinds = tuple(POINTS)
    return sorted(found, key=lambda point: kinds.index(point.kind))


def _point(job: Job, name: str, ends: Sequence[WireAtPin]) -> Point:
    place, kind = _place(job, name), _kind(job, name, ends)
    styles = ", ".join(dict.fromkeys(end.style for end in ends if end.style))
    in_loom = kind == "plug" and is_in_the_loom(job, name)
    parts = halves(job, name) if in_loom else ()
    said = (f"at {place}" * (place != name), styles, _note(job, name))
    return Point(
        name=name,
        kind=kind,
        says="; ".join(filter(None, said)),
        wires=tuple(replace(end, half=_half_of(end, parts)) for end in _by_pin(ends)),
        face=job.book.component(name).face if job.book else (),
        in_loom=in_loom,
        halves=parts,
    )


def _half_of(end: WireAtPin, parts: Sequence[Half]) -> str:
    heading = "from end" if end.pin == end.wire.wire.start else "to end"
    own = WireEnd(end.wire.wire, heading)
    return next((str(part) for part in parts if own in part.ends), "")


def _note(job: Job, name: str) -> str:
    return job.book.component(name).note if job.book else ""


def _place(job: Job, point: str) -> str:
    return job.book.place(point) if job.book else point


def _by_pin(ends: Sequence[WireAtPin]) -> list[WireAtPin]:
    """Pin 10 after pin 9; pins with names behind those, in the order of the job book."""
    named = list(dict.fromkeys(end.pin.pin for end in ends))
    return sorted(ends, key=lambda end: _number(end.pin.pin, named))


def _number(pin: str, named: Sequence[str]) -> tuple[bool, int]:
    is_number = pin.isdecimal()
    return not is_number, int(pin) if is_number else named.index(pin)


def _kind(job: Job, name: str, ends: Sequence[WireAtPin]) -> PointKind:
    """Bullets that meet in a sleeve are no plug, whatever holds them."""
    styles = [job.workshop.catalogue.ends[end.style] for end in ends if end.style]
    if any(style.housing and style.family != BY_SLEEVE for style in styles):
        return "plug"
    spliced = all(end.style == "splice" and not end.pin.pin for end in ends)
    if spliced and not is_fuse(name) and job.book and not job.book.component(name).load:
        return "splice"
    at_earth = is_earth(Pin(name)) and not is_battery(name)
    return "earth" if at_earth else "other"
