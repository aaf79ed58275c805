"""Printing, JSON and files: what a command has to show goes out here, and its exit code."""

import os
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer
from msgspec import Struct

from bom.cli import complete
from bom.cli.screen import echo, echo_json, echo_table, gap, width_of
from bom.cli.tell import note, refuse, tell
from bom.trade.problem import Problem, as_typed, has_errors

if TYPE_CHECKING:
    from bom.files.table import Table
    from bom.job import Job

JobPath = Annotated[
    Path,
    typer.Argument(
        metavar="JOB",
        autocompletion=complete.jobs,
        help="A job book: .xlsx, .xlsm, .ods, .csv, a folder of .csv, or its name.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")]
Xlsx = Annotated[
    Path | None, typer.Option("--xlsx", metavar="FILE", help="Write the tables to this .xlsx too.")
]
Csv = Annotated[
    Path | None, typer.Option("--csv", metavar="FILE", help="Write the list to this .csv too.")
]

Sets = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="RULE=VALUE",
        autocompletion=complete.rules,
        help="A rule of the sheet Job for this run alone, as volts=6.",
    ),
]
Force = Annotated[
    bool, typer.Option("--force", help="Write although somebody seems to have the book open.")
]


class Show(Struct, frozen=True):
    """What a command has to show: its problems, its JSON, its tables, and what comes next."""

    problems: Sequence[Problem]
    answer: Callable[[], dict[str, Any]]
    tables: "Callable[[], tuple[Table, ...]]"
    listing: "Callable[[], Table] | None" = None
    currency: str = "GBP"
    next_step: str = ""
    anyway: bool = False
    """The tables are shown though there are errors."""
    jobs: "Sequence[tuple[Path, Job]]" = ()
    """Jobs as they were typed, whose cautions `bom check` tells: here they are only counted."""
    first: Sequence[Problem] = ()
    """Cautions that are told before the answer: without them it would be believed."""
    aside: Sequence[Problem] = ()
    """Cautions that are not the command's business, and are in its JSON alone."""
    looking: Literal["", "alike", "each"] = ""
    """Every problem is told before the answer, what is alike in one sentence or one by one."""
    files: Mapping[Path, bytes] = {}
    """What is written beside the tables, by its place."""
    makes_folders: bool = False
    """Folders that are missing are made for what is written."""
    booked: str = ""
    """What was changed before, which stands though no file can be written."""
    not_looked_at: str = ""
    """What errors kept from being looked at."""

    over: str = ""
    """The line over the answer; the rules that were set for this run where it is blank."""

    @property
    def variant(self) -> str:
        """The rules that were set for this run alone, in words."""
        return self.jobs[0][1].variant if self.jobs else ""

    @property
    def sets(self) -> tuple[str, ...]:
        """The same as they were typed."""
        return self.jobs[0][1].sets if self.jobs else ()


def found(job: Path) -> Path:
    """The job book by its path, or by its bare name in the workshop's `jobs` folder."""
    from bom.job import find_job

    book = find_job(job, Path.cwd())
    _BOOKS_READ.add(Path(os.path.realpath(book)))
    return book


def open_jobs(jobs: Iterable[Path], sets: Sequence[str] | None) -> "list[Job]":
    """The jobs as they are opened, with the rules that are set for this run."""
    from bom.job import open_job

    return [open_job(found(job), sets=sets or ()) for job in jobs]


def as_asked(job: Path, sets: Sequence[str] | None) -> str:
    """A job as it is typed behind a command, with the rules that are set for this run."""
    return " ".join((as_typed(job), *(f"--set {as_typed(one)}" for one in sets or ())))


def then(step: str, job: Path, sets: Sequence[str] | None) -> str:
    """The next step; where rules are set for this run alone, what they change."""
    return f"bom compare {as_asked(job, sets)}" if sets else step


def refuse_to_write(sets: Sequence[str] | None, asked: bool, step: str) -> None:
    """Leave with 2 where something is to be written of rules that are for this run alone."""
    if sets and asked:
        says = "--set is for one run, of which nothing is written down"
        refuse(says, f"the rule on the sheet Job, then: {step}", code=2)


def emit(show: Show, json: bool, xlsx: Path | None = None, csv: Path | None = None) -> None:
    """Print, write the files asked for, and leave with 1 where there are errors."""
    wrong = has_errors(show.problems)
    _tell_first(show)
    tables = () if wrong and not show.anyway else show.tables()
    if tables and (show.files or xlsx or csv):
        _write(show, tables, xlsx, csv)
    if json:
        from bom.show.job_json import as_json

        echo_json(as_json(show.answer() | told_in_json(show.sets)))
    elif tables:
        from bom.files.table import as_text

        if line := show.over or show.variant:
            echo(line, "")
        width = width_of(sys.stdout)
        texts = (as_text(table, width, currency=show.currency) for table in tables)
        echo_table("\n\n".join(texts))
    if not show.looking:
        told = {*show.aside, *show.first}
        tell_the_rest([p for p in show.problems if p not in told], show.jobs)
    if tables and show.next_step and not json:
        echo("", f"next: {show.next_step}")
    for path, job in show.jobs:
        if job.book and has_errors(job.problems) and not _is_misset(job):
            mend = "mend that, then: " if show.looking else ""
            echo("", f"next: {mend}bom check {as_asked(path, job.sets)}", err=True)
    raise typer.Exit(1 if wrong else 0)


def told_in_json(sets: Sequence[str]) -> dict[str, Sequence[str]]:
    """The rules that were set for this run, where some were."""
    return {"set": sets} if sets else {}


def _is_misset(job: "Job") -> bool:
    """Whether a rule that was set for this run is wrong: nothing is to be mended in the book."""
    return any(p.level == "error" and p.where.file.startswith("--set ") for p in job.problems)


def _tell_first(show: Show) -> None:
    """Errors and what is lacking; where the job is looked through, all its cautions too."""
    if not show.looking:
        tell([problem for problem in show.problems if problem.level == "error"])
        tell(show.first)
        return
    tell(show.problems, each=show.looking == "each", headed=True)
    if show.not_looked_at:
        echo(show.not_looked_at, err=True)
    if show.problems and not has_errors(show.problems):
        gap()


def tell_the_rest(problems: Sequence[Problem], jobs: "Sequence[tuple[Path, Job]]") -> None:
    """Under an answer: the cautions of its own, and of each job how many `bom check` tells."""
    from bom.workshop.looked_at import counted_cautions

    told_by_check = {p for _, job in jobs for p in job.problems} - {
        p for _, job in jobs for p in job.workshop.problems
    }
    own = [p for p in problems if p.level == "caution" and p not in told_by_check]
    lines = dict.fromkeys(
        f"{line}: bom check {as_asked(path, job.sets)}"
        for path, job in jobs
        if not _is_misset(job) and (line := counted_cautions(job))
    )
    if own or lines:
        gap()
    note(own)
    for line in lines:
        echo(line, err=True)


def _write(show: Show, tables: "tuple[Table, ...]", xlsx: Path | None, csv: Path | None) -> None:
    from bom.cli.existing_files import put_together
    from bom.files.safely import is_stream, real
    from bom.files.table import csv_bytes, xlsx_bytes

    named = [real(path) for path in (*show.files, xlsx, csv) if path and not is_stream(path)]
    if len({*named}) < len(named):
        refuse("two files of one name; try: a name of its own for each")
    files = dict(show.files)
    if xlsx:
        files[xlsx] = xlsx_bytes(tables, currency=show.currency)
    if csv:
        listing = show.listing() if show.listing else tables[0]
        files[csv] = csv_bytes(listing, currency=show.currency)
    try:
        for path in files:
            leave_books_alone(path)
        put_together(files, folders=show.makes_folders)
    except typer.Exit:
        if show.booked:
            echo(f"    {show.booked}", err=True)
        raise


def leave_books_alone(path: Path) -> None:
    """Leave with 1 rather than write over a book of the workshop."""
    if _is_a_book(path):
        refuse(f"{path} is a book of the workshop and is left as it is; try: another name")


def _is_a_book(path: Path) -> bool:
    """True for what must never be written over: a book that was read, or a file of a workshop.

    A book may be a folder of .csv: then each of them is the book's.
    """
    owned = path.name == "workshop.toml" or path.parent.name == "catalogs"
    books = (path, path.parent)
    owned |= any(
        book.parent.name in ("jobs", "used", "given") or book.stem in _BOOKS_OF_A_WORKSHOP
        for book in books
    )
    return os.path.exists(path) and (
        owned or any(Path(os.path.realpath(book)) in _BOOKS_READ for book in books)
    )


_BOOKS_OF_A_WORKSHOP = ("stock", "prices", "suppliers", "register", "done", "answers")
_BOOKS_READ: set[Path] = set()
"""The job books of this run, by their whole paths."""
