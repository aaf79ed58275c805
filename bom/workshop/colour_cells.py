"""A copy of a job book with the colours that are proposed in its cells, all else as it was."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from bom.files import safely
from bom.shelf.stockbook.edits import Edit, Unwritable
from bom.shelf.stockbook.owner import OwnersBook
from bom.trade.problem import Where, error
from bom.workshop.colour_reasons import Given


def filled_in(book: Path, given: Iterable[Given], copy: Path) -> dict[Path, bytes]:
    """The files of the copy: one, or those of a folder; raises `Unwritable` and OSError."""
    _refuse_another_kind(book, copy)
    owned = OwnersBook.look(book, one_list=True)
    changed = owned.changed(tuple(_edits(given)), (), {})
    if not book.is_dir():
        return {copy: changed.get(book.name) or safely.look(book)[0]}
    whole = {name: data for name, (data, _) in owned.files.items()}
    return {copy / name: data for name, data in {**whole, **changed}.items()}


def _refuse_another_kind(book: Path, copy: Path) -> None:
    """A copy is of the same kind as its book."""
    kind = "" if book.is_dir() else book.suffix.casefold()
    if kind == ".ods":
        says = "an .ods is read, and not written"
        raise Unwritable(error(Where(book.name), says, f"it saved as {book.stem}.xlsx"))
    if copy.suffix.casefold() != kind:
        says = "a copy is of the kind of its book" + (f", {kind}" if kind else ", a folder")
        raise Unwritable(error(Where(copy.name), says, copy.with_suffix(kind).name))


def _edits(given: Iterable[Given]) -> Iterator[Edit]:
    for one in given:
        row = one.entry.wire.row
        where = row.where("colour")
        if "colour" not in row.letters:
            says = "there is no column colour to fill in"
            raise Unwritable(error(Where(where.file, where.sheet), says, "a column colour first"))
        yield Edit(sheet=where.sheet, cell=where.cell, value=str(one.colour))
