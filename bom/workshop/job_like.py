"""A job like another: its book copied under a new name, with the owner's own sheets and colours.

On the Job sheet the name becomes that of the new job; the customer and the number of the
quotation, which are the other job's own, are emptied.  From a record comes how it was really made.
"""

import os
from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec.structs import replace

from bom.files import safely
from bom.files.headings import read_rows
from bom.files.sheet import read_book
from bom.files.spelling import fold
from bom.job import Workshop
from bom.read.job_sheets import JobSheets
from bom.shelf.stockbook.edits import Edit, Unwritable
from bom.shelf.stockbook.owner import WRITTEN, OwnersBook
from bom.trade.problem import Problem, Where, caution
from bom.workshop.as_made import AsMade
from bom.workshop.job_as_made import Changes, changes, emptied
from bom.workshop.new_books import job_name, place_for, put_new_files

_OF_THE_OTHER = ("customer", "number")


def job_like(
    workshop: Workshop, name: str, other: Path, made: AsMade | None = None
) -> tuple[Path | None, tuple[Problem, ...]]:
    """Copy the book `other` to `jobs/NAME` in its own kind; None where that cannot be done.

    With `made`, how that job was made, its wires are those.
    Raises `Exists` and ValueError as `bom.new.new_job` does, and OSError.
    """
    if workshop.folder is None:
        raise ValueError("not in a workshop folder")
    path = place_for(workshop.folder, name, "" if os.path.isdir(other) else other.suffix)
    book, problems = read_book(other)
    if book is None:
        return None, problems
    sheets = JobSheets(book, workshop.catalogue, [], workshop.own)
    edits = _renamed(sheets, job_name(name))
    over = changes(made, book, sheets) if made else Changes()
    lacking = over.problems
    if not _can_be_written(other):
        lacking += _copied_as_it_is(other, edits, over)
        edits, over = (), Changes()
    try:
        texts = _as_far_as_can_be(other, edits, over)
    except Unwritable as refusal:
        return None, refusal.problems
    put_new_files({path / name if name else path: data for name, data in texts.items()})
    return path, tuple(lacking)


def _renamed(sheets: JobSheets, name: str) -> tuple[Edit, ...]:
    """The cells of the Job sheet that are the other job's own."""
    sheet = sheets.lists.sheets.get("Job")
    if sheet is None:
        return ()
    records, _ = read_rows(sheet, sheets.columns["Job"], headless=True)
    news = {"job": name, **dict.fromkeys(_OF_THE_OTHER)}
    return tuple(
        Edit(sheet=sheet.name, cell=record.row.where("value").cell, value=news[key])
        for record in records
        if (key := fold(record["item"])) in news and record["value"] is not None
    )


def _copied_as_it_is(other: Path, edits: Sequence[Edit], over: Changes) -> Iterator[Problem]:
    """A caution for each sheet of the copy that has to be put right by hand."""
    says = f"copied as it is: a book that ends in '{other.suffix}' is read but not written"
    if edits:
        cure = "job, customer and number on its Job sheet"
        yield caution(Where(other.name, edits[0].sheet), says, cure)
    edited = (edit.sheet for edit in (*over.edits, *emptied(over.emptied)))
    if sheets := [*edited, *(row.sheet for row in over.rows)]:
        cure = "the gauges and colours that bom record prints, its fuses and its wires"
        yield caution(Where(other.name, sheets[0]), says, cure)


def _can_be_written(path: Path) -> bool:
    return path.is_dir() or path.suffix.casefold() in WRITTEN


def _as_far_as_can_be(other: Path, edits: Sequence[Edit], over: Changes) -> dict[str, bytes]:
    """The files of the copy; rows that cannot be emptied, as of formulas, stay and are told."""
    try:
        return _texts(other, edits, over)
    except Unwritable:
        if not over.emptied:
            raise
    told = ", ".join(f"{row.sheet} {row.number}" for row in over.emptied)
    says = f"not fitted, and still in the new book, as these rows cannot be emptied: {told}"
    over.problems.append(caution(Where(other.name), says, "delete them in the new book"))
    return _texts(other, edits, replace(over, emptied=[]))


def _texts(other: Path, edits: Sequence[Edit], over: Changes) -> dict[str, bytes]:
    """The files of the copy, by name; of a workbook the one under ''."""
    every = (*edits, *over.edits, *emptied(over.emptied))
    if not other.is_dir() and not every and not over.rows:
        return {"": safely.look(other)[0]}
    owned = OwnersBook.look(other)
    changed = owned.changed(every, over.rows, over.sheets)
    if not other.is_dir():
        return {"": changed.get(other.name) or safely.look(other)[0]}
    return {**{name: data for name, (data, _) in owned.files.items()}, **changed}
