"""A job like another: its book copied under a new name, with the owner's own sheets and colours.

On the Job sheet the name becomes that of the new job; the customer and the number of the
quotation, which are the other job's own, are emptied.  From a record come the gauges and colours
that were really used.
"""

import os
from collections.abc import Iterator, Sequence
from pathlib import Path

from bom.files import safely
from bom.files.headings import read_rows
from bom.files.sheet import Book, read_book
from bom.files.spelling import fold
from bom.job import Workshop
from bom.read.job_sheets import JobSheets
from bom.shelf.stockbook.edits import Edit, Unwritable
from bom.shelf.stockbook.owner import WRITTEN, OwnersBook
from bom.trade.job_book import Wire
from bom.trade.problem import Problem, Where, caution
from bom.workshop.as_made import AsMade
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
    lacking: list[Problem] = []
    edits = _renamed(book, workshop, job_name(name))
    over = tuple(_made_over(made, lacking)) if made else ()
    if not _can_be_written(other):
        lacking += _copied_as_it_is(other, edits, over)
        edits = over = ()
    try:
        texts = _texts(other, (*edits, *over))
    except Unwritable as refusal:
        return None, refusal.problems
    put_new_files({path / name if name else path: data for name, data in texts.items()})
    return path, tuple(lacking)


def _renamed(book: Book, workshop: Workshop, name: str) -> tuple[Edit, ...]:
    """The cells of the Job sheet that are the other job's own."""
    sheets = JobSheets(book, workshop.catalogue, [], workshop.own)
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


def _copied_as_it_is(other: Path, edits: Sequence[Edit], over: Sequence[Edit]) -> Iterator[Problem]:
    """A caution for each sheet of the copy that has to be put right by hand."""
    says = f"copied as it is: a book that ends in '{other.suffix}' is read but not written"
    if edits:
        cure = "job, customer and number on its Job sheet"
        yield caution(Where(other.name, edits[0].sheet), says, cure)
    if over:
        cure = "the gauges and colours that bom record prints"
        yield caution(Where(other.name, over[0].sheet), says, cure)


def _made_over(made: AsMade, lacking: list[Problem]) -> Iterator[Edit]:
    """The cells of Circuits that say otherwise than the loom that was made."""
    typed = {wire.label: wire for wire in made.plan.book.wires} if made.plan.book else {}
    for wire in made.job.wires:
        row, gauge = typed[wire.wire.label], wire.cable.gauge
        with_unit = gauge if wire.cable.is_awg else f"{gauge} mm2"
        yield from _cell(row, "gauge", with_unit if gauge != row.gauge else "", lacking)
        other_colour = wire.wire.colour != row.colour
        yield from _cell(row, "colour", str(wire.wire.colour) if other_colour else "", lacking)
    planned = {wire.wire.label: wire.piece_mm for wire in made.plan.wires}
    otherwise = [w for w in made.job.wires if w.piece_mm != planned[w.wire.label]]
    if otherwise:
        where = otherwise[0].wire.row.where("length")
        names = ", ".join(wire.wire.label for wire in otherwise)
        says = f"not as long as planned, which is not taken over: {names}"
        lacking.append(caution(where, says, "measure the branches that they lie in again"))


def _cell(row: Wire, heading: str, value: str, lacking: list[Problem]) -> Iterator[Edit]:
    if not value:
        return
    where = row.row.where(heading)
    if heading in row.row.letters:
        yield Edit(sheet=where.sheet, cell=where.cell, value=value)
    elif not any(heading in problem.says for problem in lacking):
        says = f"no column {heading}, so that those which were used are not taken over"
        cure = f"a column {heading} on {where.sheet} of {where.file} first"
        lacking.append(caution(Where(where.file, where.sheet), says, cure))


def _can_be_written(path: Path) -> bool:
    return path.is_dir() or path.suffix.casefold() in WRITTEN


def _texts(other: Path, edits: tuple[Edit, ...]) -> dict[str, bytes]:
    """The files of the copy, by name; of a workbook the one under ''."""
    if not other.is_dir():
        changed = OwnersBook.look(other).changed(edits, (), {}) if edits else {}
        return {"": changed.get(other.name) or safely.look(other)[0]}
    owned = OwnersBook.look(other)
    return {**{n: data for n, (data, _) in owned.files.items()}, **owned.changed(edits, (), {})}
