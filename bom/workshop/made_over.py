"""A job made over: its wires and fuses as the sheet of what was used says that they are.

Wires that were planned and are not there are left out, with what hangs on them alone; those
that were added stand behind the others.
"""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec.structs import replace

from bom.files import spelling
from bom.files.spelling import Misspelt, fold
from bom.job import Job
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Cable
from bom.trade.figures import bundle_diameter_mm
from bom.trade.job_book import JobBook, Pin, Wire
from bom.trade.needs import Takeoff
from bom.trade.rows import Row
from bom.trade.wires import Bundle, ChosenFuse, LoadedWire, MeasuredWire, SizedWire
from bom.workshop.finished import MadeWire, Used
from bom.workshop.made_sheet import by_label

_NONE = Fraction(0)
_NO_CABLE = Cable(
    gauge="",
    area_mm2=_NONE,
    kind="",
    rated_amps=_NONE,
    outside_mm=0.0,
    ohm_per_km_20c=0.0,
    max_c=0.0,
    cost_per_m=0.0,
    colours=(),
    source="",
)
"""Of an added wire whose gauge nobody typed."""


def made_over(job: Job, used: Used, ratings: Mapping[str, Fraction]) -> Job:
    """The job as it was made; `ratings` are those of fuses fitted otherwise, by folded name."""
    if job.sized is None or job.takeoff is None or job.book is None:
        return job
    wires = made_wires_of(job, used)
    behind = {fold(wire.loaded.fuse) for wire in wires if wire.loaded.fuse}
    fuses = (_made_fuse(fuse, ratings) for fuse in job.sized.fuses if fold(fuse.name) in behind)
    sized = replace(job.sized, wires=wires, fuses=tuple(fuses))
    kept = {wire.wire.label: wire for wire in wires}
    return replace(
        job,
        sized=sized,
        takeoff=_made_bundles(job.takeoff, kept),
        book=_without(job.book, kept),
    )


def made_wires_of(job: Job, used: Used) -> tuple[SizedWire, ...]:
    """The wires that are in the loom: those of the plan that were fitted, and those added."""
    catalogue, own = job.workshop.catalogue, by_label(used.wires)
    out = {*not_fitted(job, used), *no_row(job, used)}
    fitted = (wire for wire in job.wires if wire.wire.label not in out)
    planned = (_made_wire(wire, own.get(fold(wire.wire.label)), catalogue) for wire in fitted)
    return (*planned, *_added(job, used))


def not_fitted(job: Job, used: Used) -> list[str]:
    """The labels of the wires whose row says that they are not there."""
    said = {fold(wire.wire) for wire in used.wires if not wire.is_fitted}
    return [wire.wire.label for wire in job.wires if fold(wire.wire.label) in said]


def no_row(job: Job, used: Used) -> list[str]:
    """The labels of the wires that have no row, on a sheet that has some."""
    rows = by_label(used.wires)
    return [w.wire.label for w in job.wires if rows and fold(w.wire.label) not in rows]


def ends_of(made: MadeWire) -> tuple[Pin, Pin] | None:
    """Both ends as they are typed; None where one is not."""
    try:
        start, finish = map(spelling.pin, made.ends)
    except Misspelt:
        return None
    return start, finish


def is_added(wire: SizedWire) -> bool:
    """True for a wire that was not planned: nobody chose its ends."""
    return not wire.start_end


def _made_wire(wire: SizedWire, made: MadeWire | None, catalogue: Catalogue) -> SizedWire:
    if made is None:
        return wire
    row = replace(wire.wire, colour=made.colour or wire.wire.colour)
    measured = wire.loaded.measured
    length = wire.piece_mm if made.length_mm is None else made.length_mm
    loaded = replace(wire.loaded, measured=replace(measured, piece_mm=length))
    cable = catalogue.cables[made.gauge] if made.gauge else wire.cable
    return replace(wire, wire=row, loaded=loaded, cable=cable)


# ---------------------------------------------------------------------- what was added


def _added(job: Job, used: Used) -> Iterator[SizedWire]:
    """The wires that the job book does not have, with the ends typed on the sheet."""
    known = {fold(wire.wire.label) for wire in job.wires}
    spelt = _spellings(job.wires)
    for made in used.wires:
        ends = ends_of(made)
        new = fold(made.wire) not in known and made.is_fitted
        if new and ends and made.row is not None:
            pins = [spelt.get(fold(str(end))) or _on(spelt, end) for end in ends]
            yield _as_sized(made, pins, made.row, job.workshop.catalogue)


def _spellings(wires: Sequence[SizedWire]) -> Mapping[str, Pin]:
    """Points and pins as the job book spells them, by their folded words."""
    ends = [pin for wire in wires for pin in (wire.wire.start, wire.wire.finish)]
    points = {fold(pin.point): Pin(pin.point) for pin in ends}
    return points | {fold(str(pin)): pin for pin in ends}


def _on(spelt: Mapping[str, Pin], new: Pin) -> Pin:
    """A pin that the job book does not have, at a point that it may have."""
    return Pin(spelt.get(fold(new.point), new).point, new.pin)


def _as_sized(made: MadeWire, ends: Sequence[Pin], row: Row, catalogue: Catalogue) -> SizedWire:
    """What is known of an added wire; it lies in no branch and carries nothing that is known."""
    wire = Wire(
        label=made.wire,
        circuit=made.circuit,
        start=ends[0],
        finish=ends[1],
        colour=made.colour,
        gauge=made.gauge or None,
        load=None,
        fuse=None,
        length_mm=None,
        start_end=None,
        finish_end=None,
        one_of=None,
        qty=1,
        note=made.note,
        row=row,
    )
    return SizedWire(
        wire=wire,
        loaded=_carrying_nothing(wire, made.length_mm or 0),
        cable=catalogue.cables[made.gauge] if made.gauge else _NO_CABLE,
        start_end="",
        finish_end="",
        fuse_amps=None,
        drop_volts=0.0,
    )


def _carrying_nothing(wire: Wire, piece_mm: int) -> LoadedWire:
    measured = MeasuredWire(
        wire=wire,
        branches=(),
        path_mm=_NONE,
        slack_mm=_NONE,
        tails_mm=_NONE,
        piece_mm=piece_mm,
    )
    return LoadedWire(
        wire=wire,
        measured=measured,
        amps=_NONE,
        heat_amps=0.0,
        starter_amps=_NONE,
        is_return=False,
        is_link=False,
        charges=False,
        fuse=None,
        loads=0,
    )


# ------------------------------------------------------------------- what hangs on wires


def _made_fuse(fuse: ChosenFuse, ratings: Mapping[str, Fraction]) -> ChosenFuse:
    return replace(fuse, rating=ratings.get(fold(fuse.name), fuse.rating))


def _made_bundles(takeoff: Takeoff, kept: Mapping[str, SizedWire]) -> Takeoff:
    """What runs in each branch, as thick as the wires that were made; no branch left empty."""
    bundles = (_made_bundle(bundle, kept) for bundle in takeoff.bundles)
    were_used = {id(bundle.branch) for bundle in takeoff.bundles if bundle.wires}
    there = (b for b in bundles if b.wires or id(b.branch) not in were_used)
    return replace(takeoff, bundles=tuple(there))


def _made_bundle(bundle: Bundle, kept: Mapping[str, SizedWire]) -> Bundle:
    wires = tuple(kept[w.wire.label] for w in bundle.wires if w.wire.label in kept)
    outsides = [wire.cable.outside_mm for wire in wires for _ in range(wire.wire.qty)]
    return replace(bundle, wires=wires, diameter_mm=bundle_diameter_mm(outsides))


def _without(book: JobBook, kept: Mapping[str, SizedWire]) -> JobBook:
    """The book without the components whose every wire is gone: they were not fitted either."""

    def points(wires: Sequence[Wire]) -> set[str]:
        return {pin.point for wire in wires for pin in (wire.start, wire.finish)}

    gone = points(book.wires) - points([wire.wire for wire in kept.values()])
    left = {name: part for name, part in book.components.items() if name not in gone}
    return replace(book, components=left)
