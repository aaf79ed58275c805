"""Reading a job book: sheets of cells in, a `JobBook` out.

Every cell is read, whatever stands in its neighbours, and every fault carries its cell.
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from bom.files.headings import NO_OWN_WORDS, OwnWords, TakenFor
from bom.files.sheet import read_book
from bom.files.spelling import Misspelt, fold, text_of
from bom.read.books import RULES_FILE
from bom.read.house_rules import make_rules
from bom.read.job_rows import BlankColours, JobRows
from bom.read.job_sheets import JobSheets
from bom.trade.catalogue import Catalogue
from bom.trade.house import HouseRules
from bom.trade.job_book import JobBook
from bom.trade.problem import Problem, Where


def read_job(
    path: Path,
    base: Mapping[str, Any],
    catalogue: Catalogue,
    *,
    own: OwnWords = NO_OWN_WORDS,
    blank_colours: BlankColours = "asked",
    sets: Sequence[str] = (),
) -> tuple[JobBook | None, HouseRules, tuple[Problem, ...]]:
    """Read a job book; `base` are the workshop's figures, which its Job sheet overrides.

    `sets`, as `volts=12`, override both.  `own` are the workshop's words for columns.
    The book is None when the file cannot be opened or has no circuits.
    """
    places = {key: Where(RULES_FILE, "", key) for key in base}
    book, problems = read_book(path)
    if book is None:
        rules, more = make_rules(base, places, catalogue)
        return None, rules, (*problems, *more)
    sheets = JobSheets(book, catalogue, list(problems), own)
    details = sheets.details(dict(base), places, sets)
    rules, more = make_rules(details.figures, places, catalogue)
    sheets.problems += more
    rows = JobRows(sheets, catalogue, rules, blank_colours=blank_colours)
    return rows.job_book(details), rules, tuple(sheets.problems)


def columns_taken(
    path: Path, catalogue: Catalogue, own: OwnWords
) -> tuple[tuple[TakenFor, ...], tuple[Problem, ...]]:
    """What each heading of a job book is taken for."""
    book, problems = read_book(path)
    if book is None:
        return (), problems
    sheets = JobSheets(book, catalogue, list(problems), own)
    return sheets.taken_for(), tuple(sheets.problems)


def job_named_in(path: Path) -> str:
    """The job's name as a book has it, for a look from outside: nothing else is read of it."""
    book, _ = read_book(path)
    sheet = book.sheet("Job") if book else None
    rows = (row for row in (sheet.rows if sheet else ()) if len(row) > 1)
    with suppress(Misspelt):  # an error value, of which the book itself tells
        return next((text_of(row[1]) for row in rows if fold(text_of(row[0])) == "job"), path.stem)
    return path.stem
