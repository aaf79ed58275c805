"""A book that somebody owns, of whichever kind: looked at once, changed, and put back safely."""

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

from msgspec import Struct

from bom.files import safely
from bom.files.safely import Seen, followed
from bom.files.sheet import SAVE_AS_XLSX
from bom.files.together import look_all
from bom.shelf.stockbook import keep
from bom.shelf.stockbook.edits import Edit, NewRow, Unwritable
from bom.shelf.stockbook.lines import relined
from bom.shelf.stockbook.newsheet import with_sheet
from bom.shelf.stockbook.splice import readers, spliced
from bom.trade.problem import Problem, Where, error

WRITTEN = (".xlsx", ".xlsm")


class OwnersBook(Struct, frozen=True, kw_only=True):
    """The files of a book as they were read: one workbook, or each `.csv` of a folder."""

    path: Path
    files: Mapping[str, tuple[bytes, Seen]]

    @classmethod
    def look(cls, path: Path, *, one_list: bool = False) -> "OwnersBook":
        """Read the book; raises OSError, and `Unwritable` for a kind that is only read.

        `one_list` is a book that is whole as a single .csv.
        """
        refusal = None if one_list and path.suffix.casefold() == ".csv" else _only_read(path)
        if refusal:
            raise Unwritable(refusal)
        files = look_all(followed(path)) if path.is_dir() else {path.name: safely.look(path)}
        return cls(path=path, files=files)

    def changed(
        self, edits: Sequence[Edit], rows: Sequence[NewRow], added: Mapping[str, Sequence[str]]
    ) -> dict[str, bytes]:
        """The new text of each file that changes; nothing is written yet.

        `added` are sheets to be made first, with their headings in row 1.  Raises `Unwritable`
        with everything that is in the way.
        """
        if self.path.is_dir():
            return self._changed_files(edits, rows, added)
        data, _ = self.files[self.path.name]
        if self.path.suffix.casefold() == ".csv":
            new = relined(data, Where(self.path.name), edits, rows)
            return {self.path.name: new} if new != data else {}
        new = data
        for name, headings in added.items():
            new = with_sheet(new, self.path.name, name, headings)
        new = spliced(new, self.path.name, edits, rows)
        return {self.path.name: new} if new != data else {}

    def _changed_files(
        self, edits: Sequence[Edit], rows: Sequence[NewRow], added: Mapping[str, Sequence[str]]
    ) -> dict[str, bytes]:
        headed = [
            Edit(sheet=name, cell=f"{chr(ord('A') + n)}1", value=heading)
            for name, headings in added.items()
            for n, heading in enumerate(headings)
        ]
        names = {Path(file).stem: file for file in self.files}
        changed: dict[str, bytes] = {}
        problems: list[Problem] = []
        sheets = [*(edit.sheet for edit in (*headed, *edits)), *(row.sheet for row in rows)]
        for sheet in dict.fromkeys(sheets):
            file = names.get(sheet, f"{sheet}.csv")
            old = self.files[file][0] if file in self.files else b""
            own = [edit for edit in (*headed, *edits) if edit.sheet == sheet]
            under = [row for row in rows if row.sheet == sheet]
            try:
                new = relined(old, Where(f"{self.path.name}/{file}", sheet), own, under)
            except Unwritable as refusal:
                problems += refusal.problems
                continue
            if new != old:
                changed[file] = new
        if problems:
            raise Unwritable(*problems)
        return changed

    def readers(self, changed: Collection[str]) -> tuple[str, ...]:
        """The owner's sheets that reckon with these and show old figures until recalculated."""
        if self.path.is_dir() or self.path.suffix.casefold() == ".csv":
            return ()
        data, _ = self.files[self.path.name]
        return readers(data, self.path.name, changed)

    def save(self, texts: Mapping[str, bytes], *, copies: int) -> None:
        """Put the new texts in their place, all or none; raises `NotWritten`."""
        if not texts:
            return  # a copy of what stays as it is would push an older one out
        if self.path.is_dir():
            seen = {name: known for name, (_, known) in self.files.items()}
            keep.save_folder(self.path, texts, seen, copies=copies)
            return
        for name, data in texts.items():
            keep.save(self.path, data, self.files[name][1], copies=copies)


def _only_read(path: Path) -> Problem | None:
    """Why a book of this kind is read but not written; None where it is."""
    where, kind = Where(path.name), path.suffix.casefold()
    if path.is_dir() or kind in WRITTEN:
        return None
    if kind == ".csv":
        says = "a single .csv is the drawer alone, and has no room for the moves"
        cure = f"a folder '{path.stem}' with it as Drawer.csv in it"
        return error(where, says, cure)
    return error(where, f"a book that ends in '{kind}' is read but not written", SAVE_AS_XLSX)
