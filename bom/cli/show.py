"""Printing, JSON and files: what a command has to show goes out here, and its exit code."""

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING, Annotated, Any

import typer
from msgspec import Struct

from bom.cli import complete
from bom.cli.tell import refuse, tell, writing
from bom.trade.problem import Problem, has_errors

if TYPE_CHECKING:
    from bom.files.table import Table

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


def found(job: Path) -> Path:
    """The job book by its path, or by its bare name in the workshop's `jobs` folder."""
    from bom.job import find_job

    book = find_job(job, Path.cwd())
    _BOOKS_READ.add(book.resolve())
    return book


def emit(show: Show, json: bool, xlsx: Path | None = None, csv: Path | None = None) -> None:
    """Print, write the files asked for, and leave with 1 where there are errors."""
    tell(show.problems)
    wrong = has_errors(show.problems)
    tables = () if wrong and not show.anyway else show.tables()
    if tables and (xlsx or csv):
        _write(show, tables, xlsx, csv)
    if json:
        from bom.show.job_json import as_json

        typer.echo(as_json(show.answer()))
    elif tables:
        from bom.files.table import as_text

        width = get_terminal_size().columns if sys.stdout.isatty() else None
        texts = (as_text(table, width, currency=show.currency) for table in tables)
        typer.echo("\n\n".join(texts))
        if show.next_step:
            typer.echo(f"\nnext: {show.next_step}")
    raise typer.Exit(1 if wrong else 0)


def _write(show: Show, tables: "tuple[Table, ...]", xlsx: Path | None, csv: Path | None) -> None:
    from bom.cli.existing_files import keep_what_is_not_ours
    from bom.files.table import csv_bytes, write_csv, write_xlsx

    for path in filter(None, (xlsx, csv)):
        leave_books_alone(path)
    if xlsx:
        keep_what_is_not_ours(xlsx)
        with writing(xlsx):
            write_xlsx(xlsx, tables, currency=show.currency)
    if csv:
        listing = show.listing() if show.listing else tables[0]
        first_line, _, _ = csv_bytes(listing, currency=show.currency).partition(b"\n")
        keep_what_is_not_ours(csv, first_line)
        with writing(csv):
            write_csv(csv, listing, currency=show.currency)


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
        book.parent.name in ("jobs", "used") or book.stem in _BOOKS_OF_A_WORKSHOP for book in books
    )
    return path.exists() and (owned or any(book.resolve() in _BOOKS_READ for book in books))


_BOOKS_OF_A_WORKSHOP = ("stock", "prices", "suppliers", "done", "answers")
_BOOKS_READ: set[Path] = set()
"""The job books of this run, by their whole paths."""
