"""What a customer reads of the job beside its price: volts, what is fitted, the owner's words."""

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence, Set

from msgspec import Struct

from bom.files.spelling import plain
from bom.job import Job
from bom.trade.job_book import Extra
from bom.trade.problem import counted, listed

FITTED = (
    *("alarm", "ammeter", "clock", "counter", "gauge", "grips", "horn", "instrument"),
    *("instruments", "rectifier", "regulator", "socket", "speedo", "speedometer", "tacho"),
    *("tachometer", "voltmeter"),
)
"""What a component is named for that the customer knows of; relays are counted."""
RELAY = "relay"
_SWITCHING = (RELAY, "flasher", "switch")
_HEADLAMP, _STARTER = "headlamp", "starter"
_LAMPS = (_HEADLAMP, "lamp", "lamp over 15 W")
_WARNS = re.compile(
    r"\b(?:warning|neutral|oil|charg\w+|ignition|beam lamp|instrument|speedo\w*|tacho\w*|telltale"
    r"|parking brake)\b",
    re.IGNORECASE,
)
_TURN_WARNING = "indicator lamp"
"""So catalogs/loads.csv calls it; on the outside of a machine it is no warning lamp."""
_MOST_TO_WARN_W = 5
_LED = "LED"
_BULB = re.compile(r"(?<![\w./])[A-Z][A-Z0-9./]+(?!\w)")
"""What stands on a bulb or a lamp, of the words of a load: `H4`, `P21/5W`, `LED`."""
_WITH_WATTS = re.compile(r"[0-9]W$")
_SIDES = frozenset(("front", "left", "off", "near", "rear", "right"))
_MARK = 2
"""So short is a mark behind a name: `FL`, `2`."""


class _Lit(Struct, frozen=True):
    """One filament or LED: where it is, its kind, its load by name, and what it takes."""

    point: str
    kind: str
    load: str
    watts: float


def what_is_in_it(job: Job) -> tuple[str, ...]:
    """Sentences on what the price is for, where the job tells it."""
    return tuple(_sentences(job))


def _sentences(job: Job) -> Iterator[str]:
    lit = sorted(_lit(job), key=lambda each: each.kind != _HEADLAMP)
    things = ", ".join((*_lamps(lit), *_others(job, {each.point for each in lit})))
    yield f"{plain(job.rules.volts)} V{things and f', wired for {things}'}"
    book = job.book
    if tasks := "; ".join(row.task for row in (book.labour if book else ())):
        yield f"work beside the loom: {tasks}"
    if parts := "; ".join(map(_part, book.extras if book else ())):
        yield f"parts beside the loom: {parts}"


def _part(extra: Extra) -> str:
    if extra.unit != "each":
        return f"{plain(extra.qty)} {extra.unit} {extra.item}"
    return extra.item if extra.qty == 1 else f"{plain(extra.qty)} x {extra.item}"


# ----------------------------------------------------------------------------------- lamps


def _lamps(lit: Sequence[_Lit]) -> Iterator[str]:
    """Lamps with what is in them; warning lamps by their number, but those of an instrument."""
    lamps: dict[str, list[_Lit]] = defaultdict(list)
    for each in lit:
        if _what_it_is(each.point) not in FITTED and not _warns(each):
            lamps[each.point].append(each)
    alike: dict[tuple[str, str], list[str]] = defaultdict(list)
    for point, in_it in lamps.items():
        alike[_sort(point), _bulb(in_it)].append(point)
    yield from (f"{_together(points)} {bulb}" for (_, bulb), points in alike.items())
    if warning := sum(_what_it_is(each.point) not in FITTED and _warns(each) for each in lit):
        yield counted(warning, "warning lamp")


def _lit(job: Job) -> Iterator[_Lit]:
    """Each filament and LED, those in an instrument too."""
    if job.currents is None or job.book is None:
        return
    wires = {wire.wire.label: wire.wire for wire in job.wires}
    typed = {name: wires[label] for label, name in job.currents.typed.items() if label in wires}
    for name, amps in job.currents.amps.items():
        point = typed[name].finish.point if name in typed else name
        load = typed[name].load if name in typed else job.book.component(name).load
        kind = (load.kind if load else "") or job.workshop.catalogue.kind_of(point)
        if amps and load and kind in _LAMPS and _what_it_is(point) not in _SWITCHING:
            yield _Lit(point, kind, load.name, round(float(amps) * float(job.rules.volts), 1))


def _warns(lit: _Lit) -> bool:
    is_named = lit.load == _TURN_WARNING or _WARNS.search(f"{lit.point}; {lit.load}")
    return bool(is_named) and lit.watts <= _MOST_TO_WARN_W


def _bulb(lit: Sequence[_Lit]) -> str:
    """What is in a lamp, as it is stamped: `H4 55/60 W`, `W5W`, `LED 1 W and 3 W`."""
    first, *others = (_BULB.findall(each.load) for each in lit)
    marks = [mark for mark in first if all(mark in other for other in others)]
    if any(map(_WITH_WATTS.search, marks)):
        return " ".join(marks)
    watts = [f"{each:g}" for each in sorted(each.watts for each in lit)]
    takes = listed(f"{each} W" for each in watts) if _LED in marks else f"{'/'.join(watts)} W"
    return " ".join((*marks, takes))


# ------------------------------------------------------------------------------- all else


def _others(job: Job, lit: Set[str]) -> Iterator[str]:
    """What turns the engine, what else a customer knows of by name, and relays by number.

    How many warning lamps an instrument has is not told: some are lit by what switches earth.
    """
    pins = (pin for wire in job.wires for pin in (wire.wire.start, wire.wire.finish))
    points = [*dict.fromkeys(pin.point for pin in pins)]
    kind_of = job.workshop.catalogue.kind_of
    yield from (point for point in points if kind_of(point) == _STARTER)
    sorts: dict[str, list[str]] = defaultdict(list)
    for point in points:
        if _what_it_is(point) in FITTED:
            sorts[_sort(point)].append(point)
    for of in sorts.values():
        yield f"{_together(of)}{' with warning lamps' * bool(lit & {*of})}"
    if relays := sum(_what_it_is(point) == RELAY for point in points):
        yield counted(relays, RELAY)


def _together(points: Sequence[str]) -> str:
    """One by its name, several of a sort by their number."""
    return points[0] if len(points) == 1 else counted(len(points), _sort(points[0]))


def _sort(point: str) -> str:
    """A name without its side and without a mark."""
    words = [word for word in point.split() if word.casefold() not in _SIDES and len(word) > _MARK]
    return " ".join(words) or point


def _what_it_is(point: str) -> str:
    """The word that says it: the last one before side and mark; of a unit the one before that."""
    named = [word for word in _sort(point).casefold().split() if word != "unit"]
    return named[-1] if named else ""
