"""Why a fuse has its size: the loads behind it, what they draw at once, what it protects."""

from collections.abc import Iterator

from bom.files.spelling import fold, plain
from bom.job import Job
from bom.trade.figures import fuse_floor_amps
from bom.trade.one_of import ALWAYS
from bom.trade.problem import counted, nearest
from bom.trade.wires import ChosenFuse, Currents, FuseLoad

CHARGING = "charging"
FUSE_SOURCE = "L. Lundy, The fuse-selection checklist, EDN, 26 September 1996"


def why_fuse(job: Job, typed: str) -> tuple[str, tuple[str, ...]]:
    """The fuse of this name, and a sentence a line; without a subject what comes nearest."""
    chosen = {fold(fuse.name): fuse for fuse in (job.sized.fuses if job.sized else ())}
    if job.currents is None or fold(typed) not in chosen:
        close = nearest(fold(typed), chosen)
        names = [fuse.name for name, fuse in chosen.items() if close in ("", name)]
        hint = f"; try: {' or '.join(names)}" if names else ""
        return "", (f"no fuse '{typed}' in this job{hint}",)
    fuse = chosen[fold(typed)]
    loads = {load.name: load for load in job.currents.fuses}
    return f"fuse {fuse.name}", tuple(_lines(job, job.currents, fuse, loads.get(fuse.name)))


def _lines(job: Job, currents: Currents, fuse: ChosenFuse, load: FuseLoad | None) -> Iterator[str]:
    how = "typed" if fuse.typed else "chosen"
    yield f"fuse {fuse.name}: {float(fuse.rating):g} A {how}, {fuse.kind} fuse, {fuse.holder}"
    if load is None:
        yield "no wire is behind it"
        return
    names = currents.of(load.loads)
    for name in names:
        yield f"behind it: {_load(currents, name)}"
    every = sum(currents.amps[name] for name in names if currents.kinds[name] != CHARGING)
    if load.fed_amps:
        of_all = f" at the most; all that is behind it takes {float(every):.3g} A"
        yield (f"largest current: {float(load.fed_amps):.3g} A{of_all * (every > load.fed_amps)}")
    if load.charging_amps:
        charging = f"{float(load.charging_amps):.3g} A"
        yield f"charging current: {charging}; of charging and load the larger counts"
    yield f"size: {rating(job, fuse)}"
    yield from _protected(job, fuse)


def _load(currents: Currents, name: str) -> str:
    """A load with its current, how long it is on, and the words for what is on without it."""
    ways = currents.worded.get(name, ALWAYS)
    words = sorted({_word(one) for way in ways for one in way})
    shared = f", one of {' or '.join(words)}" if words else ""
    return f"{name}, {float(currents.amps[name]):.3g} A, {currents.runs[name]}{shared}"


def _word(one: tuple[str, str]) -> str:
    """A word with its choice as it is typed; a choice that nobody typed is left out."""
    word, choice = one
    return word if choice.startswith("\0") else f"{word}:{choice}"


def rating(job: Job, fuse: ChosenFuse) -> str:
    """How its rating came about."""
    load = f"{float(fuse.load_amps):.3g} A"
    if fuse.typed:
        return f"its rating of {float(fuse.rating):g} A is typed, its load is {load}"
    loads = {found.name: found for found in (job.currents.fuses if job.currents else ())}
    feeds = ", ".join(loads[fuse.name].feeds) if fuse.name in loads else ""
    at_least = f", and at least the ratings of {feeds}, which it feeds" if feeds else ""
    percent = job.rules.fuse_load_percent
    floor = float(fuse_floor_amps(fuse.load_amps, percent))
    return (
        f"{float(fuse.rating):g} A, the smallest from {load} / {plain(percent)} % = "
        f"{floor:.3g} A ({FUSE_SOURCE}){at_least}"
    )


def _protected(job: Job, fuse: ChosenFuse) -> Iterator[str]:
    """The wire behind it that takes least, where no other fuse is nearer."""
    behind = [wire for wire in job.wires if wire.loaded.fuse == fuse.name]
    thinnest = min(behind, key=lambda wire: wire.cable.rated_amps, default=None)
    if thinnest is None:
        return
    cable = thinnest.cable
    enough = "which it protects" if fuse.rating <= cable.rated_amps else "less than the fuse"
    yield (
        f"thinnest of {counted(len(behind), 'wire')} behind it: {thinnest.wire.label}, "
        f"{cable.gauge} {thinnest.wire.colour}, rated {float(cable.rated_amps):g} A, {enough}"
    )
