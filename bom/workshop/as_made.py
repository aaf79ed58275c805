"""A job as it was made: the plan with what the sheet of what was used says of each wire."""

import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from bom.files.safely import followed
from bom.files.spelling import fold
from bom.job import Job, open_job
from bom.trade.catalogue import Catalogue
from bom.trade.figures import bundle_diameter_mm
from bom.trade.needs import Takeoff
from bom.trade.problem import Problem, Where, caution, error, has_errors, in_file_order
from bom.trade.wires import Bundle, SizedWire
from bom.workshop.after_job import DONE_FILE, FOLDER, in_used, of_another
from bom.workshop.done_file import read_done
from bom.workshop.finished import MadeWire, Tested, Used
from bom.workshop.made_sheet import by_label
from bom.workshop.used_sheet import read_used


class AsMade(Struct, frozen=True, kw_only=True):
    """A job whose wires are those that were made.

    `sheet` is where that stands, empty where nothing does: then they are as planned.  `done` is
    the day when the job was, `wires` has what else was written of each wire, by its folded label.
    """

    plan: Job
    job: Job
    sheet: str = ""
    done: str = ""
    wires: Mapping[str, MadeWire] = {}
    tests: tuple[Tested, ...] = ()
    problems: tuple[Problem, ...] = ()


def as_made(path: Path) -> AsMade:
    """The job by the sheet of what it used; with errors in either there is nothing to show."""
    job = open_job(path)
    folder = job.workshop.folder
    plan = AsMade(plan=job, job=job, problems=job.problems)
    if folder is None:
        says = "not in a workshop folder, where records are kept"
        return replace(plan, problems=(error(Where(), says, "bom new workshop PATH"),))
    sheet = folder / FOLDER / f"{job.path.stem}.xlsx"
    if has_errors(job.problems) or not os.path.exists(sheet):
        return plan
    catalogue = job.workshop.catalogue
    used, faults = read_used(sheet, catalogue)
    faults = tuple(replace(p, where=in_used(sheet, p.where)) for p in faults)
    if used is None or has_errors(faults):
        return replace(plan, problems=in_file_order((*plan.problems, *faults)))
    if fold(used.job) != fold(job.name):
        return replace(plan, problems=(*plan.problems, of_another(sheet, used.job, job.name)))
    done = _done_on(folder / DONE_FILE, job)
    doubts = (*faults, *_doubts(job, used, sheet, done))
    return AsMade(
        plan=job,
        job=_made_of(job, used),
        sheet=f"{FOLDER}/{sheet.name}" if used.wires else "",
        done=done,
        wires=by_label(used.wires),
        tests=tuple(used.tests),
        problems=in_file_order((*plan.problems, *doubts)),
    )


def _done_on(store: Path, job: Job) -> str:
    """The day when the job was done, empty where it was not."""
    records, _ = read_done(followed(store), job.workshop.catalogue)
    return next((each.done for each in records if fold(each.job) == fold(job.name)), "")


def _doubts(job: Job, used: Used, sheet: Path, done: str) -> Iterator[Problem]:
    """What keeps the paper from being sure of how the loom was made."""
    if not used.wires:
        says = "no sheet Wires, so that each wire is shown as it was planned"
        yield caution(in_used(sheet), says)
    elif not done:
        says = f"'{job.name}' is not done yet, and the sheet may still say what was planned"
        yield caution(in_used(sheet), says, f"bom done {job.path.stem}, once it is put right")
    known = {fold(wire.wire.label): wire.wire for wire in job.wires}
    for wire in used.wires:
        where = in_used(sheet, wire.row.where("to") if wire.row else Where())
        row = known.get(fold(wire.wire))
        if row is None:
            says = f"'{wire.wire}' is no wire of the job book, so that nobody knows its ends"
            yield caution(where, says, f"a row {wire.wire} on the sheet Circuits of the job book")
        elif any(wire.ends) and [*map(fold, wire.ends)] != [fold(str(e)) for e, *_ in row.ends]:
            says = f"{wire.wire} has other ends in the job book, and those are shown"
            yield caution(where, says, "the ends that it really has, on Circuits and here")


# ------------------------------------------------------------------------ the job, made over


def _made_of(job: Job, used: Used) -> Job:
    """The job with the cable, colour and length that each wire really has."""
    if job.sized is None or job.takeoff is None:
        return job
    catalogue, own = job.workshop.catalogue, by_label(used.wires)
    made = {
        wire.wire.label: _made_wire(wire, own.get(fold(wire.wire.label)), catalogue)
        for wire in job.wires
    }
    sized = replace(job.sized, wires=tuple(made.values()))
    return replace(job, sized=sized, takeoff=_made_bundles(job.takeoff, made))


def _made_wire(wire: SizedWire, made: MadeWire | None, catalogue: Catalogue) -> SizedWire:
    if made is None:
        return wire
    row = replace(wire.wire, colour=made.colour or wire.wire.colour)
    measured = wire.loaded.measured
    length = wire.piece_mm if made.length_mm is None else made.length_mm
    loaded = replace(wire.loaded, measured=replace(measured, piece_mm=length))
    cable = catalogue.cables[made.gauge] if made.gauge else wire.cable
    return replace(wire, wire=row, loaded=loaded, cable=cable)


def _made_bundles(takeoff: Takeoff, made: Mapping[str, SizedWire]) -> Takeoff:
    """What runs in each branch, as thick as the wires that were made."""
    return replace(takeoff, bundles=tuple(_made_bundle(each, made) for each in takeoff.bundles))


def _made_bundle(bundle: Bundle, made: Mapping[str, SizedWire]) -> Bundle:
    wires = tuple(made[wire.wire.label] for wire in bundle.wires)
    outsides = [wire.cable.outside_mm for wire in wires for _ in range(wire.wire.qty)]
    return replace(bundle, wires=wires, diameter_mm=bundle_diameter_mm(outsides))
