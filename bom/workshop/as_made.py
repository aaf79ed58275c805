"""A job as it was made: the plan with what the sheet of what was used says of each wire."""

import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from bom.files.safely import followed
from bom.files.spelling import fold
from bom.job import Job, open_job
from bom.trade.job_book import Pin
from bom.trade.problem import Problem, Where, caution, error, has_errors, in_file_order
from bom.trade.wires import ChosenFuse
from bom.workshop.after_job import DONE_FILE, FOLDER, in_used, of_another
from bom.workshop.done_file import read_done
from bom.workshop.finished import MadeWire, Tested, Used
from bom.workshop.fuses_made import fitted_fuses
from bom.workshop.made_over import ends_of, is_added, made_over, no_row
from bom.workshop.made_sheet import MADE_SHEETS, amps, by_label
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

    @property
    def added(self) -> tuple[str, ...]:
        """The labels of the wires that the job book does not have: no drawing shows them."""
        return tuple(wire.wire.label for wire in self.job.wires if is_added(wire))

    @property
    def left_out(self) -> tuple[str, ...]:
        """The labels of the wires that were planned and are not fitted."""
        fitted = {wire.wire.label for wire in self.job.wires}
        return tuple(w.wire.label for w in self.plan.wires if w.wire.label not in fitted)

    @property
    def ratings(self) -> Mapping[str, str]:
        """Each fuse's amps in words, by its folded name: `10 A fitted, 7.5 A planned`."""
        planned = {fuse.name: fuse.rating for fuse in _fuses(self.plan)}
        return {
            fold(fuse.name): amps(fuse.rating)
            if fuse.rating == planned[fuse.name]
            else f"{amps(fuse.rating)} fitted, {amps(planned[fuse.name])} planned"
            for fuse in _fuses(self.job)
        }


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
    done, fuses = _done_on(folder / DONE_FILE, job), fitted_fuses(job, used)
    of_fuses = (replace(p, where=in_used(sheet, p.where)) for p in fuses.problems)
    doubts = (*faults, *_doubts(job, used, sheet, done), *of_fuses)
    return AsMade(
        plan=job,
        job=made_over(job, used, fuses.ratings),
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
    if gone := no_row(job, used):
        says = f"no row on this sheet, and taken as not fitted: {', '.join(gone)}"
        cure = "a row again for each of them that is in the loom"
        yield caution(in_used(sheet, Where(sheet=MADE_SHEETS[0])), says, cure)
    yield from _ends_in_doubt(job, used, sheet)


def _ends_in_doubt(job: Job, used: Used, sheet: Path) -> Iterator[Problem]:
    """Wires whose ends nobody knows, or that differ from those of the job book."""
    known = {fold(wire.wire.label): wire.wire for wire in job.wires}
    for wire in used.wires:
        where = in_used(sheet, wire.row.where("to") if wire.row else Where())
        row = known.get(fold(wire.wire))
        if row is None and wire.is_fitted and not ends_of(wire):
            says = f"'{wire.wire}' is no wire of the job book, so that nobody knows its ends"
            yield caution(where, says, "both of its ends here, under from and to")
        elif row and any(wire.ends) and _folded(*wire.ends) != _folded(row.start, row.finish):
            says = f"{wire.wire} has other ends in the job book, and those are shown"
            yield caution(where, says, "the ends that it really has, on Circuits and here")


def _folded(*ends: str | Pin) -> list[str]:
    return [fold(str(end)) for end in ends]


def _fuses(job: Job) -> tuple[ChosenFuse, ...]:
    return job.sized.fuses if job.sized else ()
