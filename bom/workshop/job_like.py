"""A job like another: its book copied under a new name, with the owner's own sheets and colours.

On the Job sheet the name becomes that of the new job; the customer and the number of the
quotation, which are the other job's own, are emptied.
"""

import os
from pathlib import Path

from bom.files import safely
from bom.files.headings import read_rows
from bom.files.sheet import Book, read_book
from bom.files.spelling import fold
from bom.job import Workshop
from bom.read.job_sheets import JobSheets
from bom.shelf.stockbook.edits import Edit, Unwritable
from bom.shelf.stockbook.owner import WRITTEN, OwnersBook
from bom.trade.problem import Problem, Where, caution
from bom.workshop.new_books import job_name, place_for, put_new_files

_OF_THE_OTHER = ("customer", "number")


def job_like(workshop: Workshop, name: str, other: Path) -> tuple[Path | None, tuple[Problem, ...]]:
    """Copy the book `other` to `jobs/NAME` in its own kind; None where that cannot be done.

    Raises `Exists` and ValueError as `bom.new.new_job` does, and OSError.
    """
    if workshop.folder is None:
        raise ValueError("not in a workshop folder")
    path = place_for(workshop.folder, name, "" if os.path.isdir(other) else other.suffix)
    book, problems = read_book(other)
    if book is None:
        return None, problems
    edits, lacking = _renamed(book, workshop, other, job_name(name))
    try:
        texts = _texts(other, edits)
    except Unwritable as refusal:
        return None, refusal.problems
    put_new_files({path / name if name else path: data for name, data in texts.items()})
    return path, lacking


def _renamed(
    book: Book, workshop: Workshop, other: Path, name: str
) -> tuple[tuple[Edit, ...], tuple[Problem, ...]]:
    """The cells of the Job sheet that are the other job's own, and what has to be done by hand."""
    sheets = JobSheets(book, workshop.catalogue, [], workshop.own)
    sheet = sheets.lists.sheets.get("Job")
    if sheet is None:
        return (), ()
    records, _ = read_rows(sheet, sheets.columns["Job"], headless=True)
    news = {"job": name, **dict.fromkeys(_OF_THE_OTHER)}
    edits = tuple(
        Edit(sheet=sheet.name, cell=record.row.where("value").cell, value=news[key])
        for record in records
        if (key := fold(record["item"])) in news and record["value"] is not None
    )
    if edits and not _can_be_written(other):
        says = f"copied as it is: a book that ends in '{other.suffix}' is read but not written"
        where = Where(other.name, sheet.name)
        return (), (caution(where, says, "job, customer and number on its Job sheet"),)
    return edits, ()


def _can_be_written(path: Path) -> bool:
    return path.is_dir() or path.suffix.casefold() in WRITTEN


def _texts(other: Path, edits: tuple[Edit, ...]) -> dict[str, bytes]:
    """The files of the copy, by name; of a workbook the one under ''."""
    if not other.is_dir():
        changed = OwnersBook.look(other).changed(edits, (), {}) if edits else {}
        return {"": changed.get(other.name) or safely.look(other)[0]}
    owned = OwnersBook.look(other)
    return {**{n: data for n, (data, _) in owned.files.items()}, **owned.changed(edits, (), {})}
