"""What a customer reads of the job beside its price: volts, what is fitted, the owner's words."""

from collections import defaultdict
from collections.abc import Iterator

from bom.files.spelling import plain
from bom.job import Job
from bom.trade.job_book import Extra
from bom.trade.problem import counted

FITTED = ("flasher", "horn", "rectifier", "regulator", "socket")
"""What a component is named for that the customer knows of; relays are counted."""
RELAY = "relay"
_LAMPS = ("headlamp", "lamp", "lamp over 15 W")
_SIDES = frozenset(("front", "left", "off", "near", "rear", "right"))
_MARK = 2
"""So short is a mark behind a name: `FL`, `2`."""


def what_is_in_it(job: Job) -> tuple[str, ...]:
    """Sentences on what the price is for, where the job tells it."""
    return tuple(_sentences(job))


def _sentences(job: Job) -> Iterator[str]:
    things = ", ".join((*_lamps(job), *_others(job)))
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


def _lamps(job: Job) -> Iterator[str]:
    """Lamps with the watts of their filaments; those of one sort and power by their number."""
    currents = job.currents
    if currents is None:
        return
    ends = {wire.wire.label: wire.wire.finish.point for wire in job.wires}
    points = {name: ends[label] for label, name in currents.typed.items() if label in ends}
    watts: dict[str, list[float]] = defaultdict(list)
    for name, amps in currents.amps.items():
        point = points.get(name, name)
        is_lamp = job.workshop.catalogue.kind_of(point) in _LAMPS
        if amps and is_lamp and _what_it_is(point) not in (*FITTED, RELAY):
            watts[point].append(round(float(amps) * float(job.rules.volts), 1))
    alike: dict[tuple[str, str], list[str]] = defaultdict(list)
    for point, filaments in watts.items():
        power = "/".join(f"{each:g}" for each in sorted(filaments))
        alike[_sort(point), power].append(point)
    for (sort, power), lamps in alike.items():
        yield f"{lamps[0] if len(lamps) == 1 else counted(len(lamps), sort)} {power} W"


def _sort(point: str) -> str:
    """A lamp's name without its side and without a mark."""
    words = [word for word in point.split() if word.casefold() not in _SIDES and len(word) > _MARK]
    return " ".join(words) or point


def _others(job: Job) -> Iterator[str]:
    """Relays by their number, and what else a customer knows of by name."""
    pins = (pin for wire in job.wires for pin in (wire.wire.start, wire.wire.finish))
    names = {point: _what_it_is(point) for point in (pin.point for pin in pins)}
    yield from (point for point, what in names.items() if what in FITTED)
    if relays := sum(what == RELAY for what in names.values()):
        yield counted(relays, RELAY)


def _what_it_is(point: str) -> str:
    """The word that says it: the last one before a mark; of a unit the one before that."""
    named = [word for word in point.casefold().split() if len(word) > _MARK and word != "unit"]
    return named[-1] if named else ""
