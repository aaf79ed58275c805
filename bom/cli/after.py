"""The commands after a job: what it really used, and what jobs teach about allowances."""

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from msgspec.structs import replace

from bom.cli.booking import DryRun, Yes, taken_over
from bom.cli.jobs import app
from bom.cli.progress import working
from bom.cli.show import Csv, Force, JobPath, Json, Show, Xlsx, emit, found
from bom.trade.problem import as_typed, has_errors

if TYPE_CHECKING:
    from bom.workshop.after_job import After
    from bom.workshop.as_made import AsMade

_RECORDS = "records"
_COMPARING = "setting what was used beside the plan"
_Replace = Annotated[
    bool, typer.Option("--again", help="Replace what is kept of a job that was done before.")
]


@app.command(epilog="Example: bom done single")
def done(
    job: JobPath,
    again: _Replace = False,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Take what a job really used: a sheet to put right first, then the difference booked.

    The first time the sheet is made, filled in with the plan: used/JOB.xlsx.  Put right what was
    used, and empty what nobody measured.  The next time it is read, the shelf is put right, and
    what was planned and used is kept in done.csv.
    """
    from bom.show.after_json import done_out
    from bom.show.after_tables import done_tables
    from bom.workshop.after_job import after
    from bom.workshop.stockroom import How

    book = found(job)
    how = How(dry_run=dry_run, force=force, yes=yes)
    with working(_COMPARING):
        finished = after(book, how, again=again)
    if finished.booked and taken_over(finished.booked, json):
        with working(_COMPARING):
            finished = after(book, replace(how, yes=True), again=again)
    show = Show(
        finished.problems,
        lambda: done_out(finished),
        lambda: done_tables(finished),
        next_step=_next(finished, job, again=again),
    )
    emit(show, json)


@app.command(epilog="Example: bom record twin")
def record(job: JobPath, json: Json = False) -> None:
    """Write the machine's own paper: records/JOB.pdf and .xlsx, for whoever repairs it next.

    Wires, fuses, plugs pin by pin, splices, earths, lamps, what was measured, the loom to scale:
    as made, from the sheets Wires and Tests of used/JOB.xlsx, which bom done makes.  Where there
    is none the paper says that it is as planned.
    """
    from bom.show.record_json import record_out
    from bom.show.record_tables import files_table
    from bom.workshop.as_made import as_made

    book = found(job)
    with working("putting the paper together"):
        made = as_made(book)
        files = _record_files(made)
    show = Show(
        made.problems,
        lambda: record_out(made, files),
        lambda: (files_table(made, files),),
        next_step=f"print {next(iter(files), '')}, to stay with the machine",
        jobs=((job, made.job),),
        files=files,
        makes_folders=True,
    )
    emit(show, json)


def _record_files(made: "AsMade") -> dict[Path, bytes]:
    """The paper and its workbook by their places in the workshop; none where there are errors."""
    from bom.files.table import xlsx_bytes
    from bom.show.papers import record as paper
    from bom.show.record_tables import record_tables

    folder = made.job.workshop.folder
    if folder is None or has_errors(made.problems):
        return {}
    place = Path(os.path.relpath(folder / _RECORDS / made.job.path.stem))
    return {
        place.with_name(f"{place.name}.pdf"): paper(made),
        place.with_name(f"{place.name}.xlsx"): xlsx_bytes(record_tables(made)),
    }


def _next(finished: "After", job: Path, *, again: bool) -> str:
    if finished.made:
        return f"put right what was used, then: bom done {as_typed(job)}"
    return "bom learn" if finished.stored else f"bom done {as_typed(job)}{' --again' * again}"


@app.command(epilog="Example: bom learn")
def learn(json: Json = False, xlsx: Xlsx = None, csv: Csv = None) -> None:
    """Propose run, spare, waste and labour allowances from the jobs that are done.

    From three jobs on.  Nothing is written: copy the lines you agree with into workshop.toml.
    """
    from bom.job import find_workshop
    from bom.show.after_json import taught_out
    from bom.show.after_tables import taught_tables
    from bom.workshop.after_job import taught
    from bom.workshop.allowances import lines

    workshop = find_workshop(Path.cwd())
    with working("learning from the jobs that are done"):
        answer = taught(workshop)
    copied = "copy the lines you agree with into workshop.toml, then: bom quote JOB"
    show = Show(
        answer.problems,
        lambda: taught_out(answer),
        lambda: taught_tables(answer),
        next_step=copied if lines(answer.allowances) else "bom done JOB, when one is finished",
    )
    emit(show, json, xlsx, csv)
