"""Which stored results of a sheet may no longer be true after some of its cells have changed.

A formula that reads a changed cell, itself or through other formulas of the sheet, is out of
date.  What a formula reads is told by its words; whatever it reads that cannot be told for sure
(names, parts of tables, INDIRECT, other books) counts as changed.  What lost its result we work
out when we read the book (`files/sheet/results`), and a spreadsheet program when it opens it.
"""

import re
from bisect import bisect_left, insort
from collections.abc import Callable, Collection, Iterable, Iterator

from msgspec import Struct

from bom.files.sheet.formula import tokens_of
from bom.files.sheet.values import MAX_COLUMNS, MAX_ROWS, column_number
from bom.shelf.stockbook.sheetxml import Area, CellXml, SheetXml, area

Steady = Callable[[str], bool]
"""Whether another sheet, by its name, is neither changed nor holds a formula."""

_UNSURE = {
    *("INDIRECT(", "OFFSET(", "CELL(", "INFO(", "SHEET(", "SHEETS(", "GETPIVOTDATA("),
    *("CUBEVALUE(", "RTD(", "WEBSERVICE(", "LET(", "LAMBDA("),
}
"""Functions that may read other cells than are named in them.

TODAY and its like read none: a program that opens the book works them out anew whatever is stored
(measured with LibreOffice 7.4).
"""

_PASSES = 8
"""So often the formulas are gone through, to and fro; chains that wind more are all out of date."""

_COLUMNS = re.compile(r"\$?([A-Z]{1,3}):\$?([A-Z]{1,3})", re.IGNORECASE)
_ROWS = re.compile(r"\$?([0-9]+):\$?([0-9]+)")
_ELSEWHERE = re.compile(r"(?:'((?:[^']|'')+)'|([^'!\[\]:]+))!(.+)")


class _Formula(Struct, frozen=True):
    """What a formula gives its results to, what it reads (None: anything), and its cells."""

    gives: Area
    reads: tuple[Area, ...] | None
    cells: tuple[CellXml, ...]


def out_of_date(
    sheet: SheetXml, name: str, changed: Collection[tuple[int, int]], steady: Steady
) -> Iterator[CellXml]:
    """The formula cells of the sheet called `name` that may depend on changed cells."""
    formulas = list(_formulas(sheet, name, steady))
    dirty = _Dirty(changed)
    for turn in range(_PASSES):
        before = len(formulas)
        clean = []
        for formula in formulas if turn % 2 == 0 else reversed(formulas):
            if dirty.reaches(formula.reads):
                dirty.add(formula.gives)
                yield from formula.cells
            else:
                clean.append(formula)
        formulas = clean if turn % 2 == 0 else clean[::-1]
        if len(formulas) == before:
            return
    for formula in formulas:
        yield from formula.cells


class _Dirty:
    """Changed cells, by column and row."""

    def __init__(self, cells: Iterable[tuple[int, int]]) -> None:
        self._rows: dict[int, list[int]] = {}
        for row, column in cells:
            insort(self._rows.setdefault(column, []), row)

    def add(self, given: Area) -> None:
        """The results of a formula are among them now."""
        for column in range(given.left, given.right + 1):
            for row in range(given.top, given.bottom + 1):
                insort(self._rows.setdefault(column, []), row)

    def reaches(self, reads: tuple[Area, ...] | None) -> bool:
        """Whether one of them is read."""
        return reads is None or any(map(self._in, reads))

    def _in(self, read: Area) -> bool:
        for column, rows in self._rows.items():
            if read.left <= column <= read.right:
                at = bisect_left(rows, read.top)
                if at < len(rows) and rows[at] <= read.bottom:
                    return True
        return False


# What formulas read


def _formulas(sheet: SheetXml, name: str, steady: Steady) -> Iterator[_Formula]:
    """Each formula of the sheet; those that share one text are one, with all that they read."""
    shared: dict[str, list[CellXml]] = {}
    known: dict[str, tuple[Area, ...] | None] = {}
    for cell in sheet.formulas:
        kind, group = cell.formula_attributes.get("t"), cell.formula_attributes.get("si")
        if kind == "shared" and group is not None:
            shared.setdefault(group, []).append(cell)
            continue
        text = cell.formula or ""
        if text not in known:
            known[text] = None if kind == "dataTable" else _reads(text, name, steady)
        yield _Formula(_given(cell), known[text], (cell,))
    for cells in shared.values():
        yield _shared(cells, name, steady)


def _given(cell: CellXml) -> Area:
    """The cells that a formula gives results to: its own, or those of an array."""
    ref = cell.formula_attributes.get("ref")
    if ref:
        return area(ref)
    return Area(top=cell.row, left=cell.column, bottom=cell.row, right=cell.column)


def _shared(cells: list[CellXml], name: str, steady: Steady) -> _Formula:
    """A formula written once for many cells, which reads from each as its first does from its own.

    Taken as one: where any of its cells is out of date, all are.
    """
    rows, columns = [cell.row for cell in cells], [cell.column for cell in cells]
    given = Area(top=min(rows), left=min(columns), bottom=max(rows), right=max(columns))
    first = next((cell for cell in cells if cell.formula), None)
    reads = _reads(first.formula or "", name, steady) if first else None
    if first is None or reads is None:
        return _Formula(given, None, tuple(cells))
    spread = tuple(
        Area(
            top=max(0, read.top - (first.row - given.top)),
            left=max(0, read.left - (first.column - given.left)),
            bottom=read.bottom + given.bottom - first.row,
            right=read.right + given.right - first.column,
        )
        for read in reads
    )
    return _Formula(given, spread, tuple(cells))


def _reads(text: str, name: str, steady: Steady) -> tuple[Area, ...] | None:
    """The areas of the own sheet that a formula reads; None where that cannot be told."""
    from openpyxl.formula.tokenizer import Token

    areas: list[Area] = []
    tokens = tokens_of(text)
    if not tokens:
        return None
    for token in tokens:
        unsure = token.type == Token.FUNC and token.value.upper().rpartition(".")[2] in _UNSURE
        if unsure or (token.type == Token.OP_IN and token.value == ":"):
            return None
        if token.type == Token.OPERAND and token.subtype == Token.RANGE:
            read = _area_of(token.value, name, steady)
            if read is None:
                return None
            areas += read
    return tuple(areas)


def _area_of(said: str, name: str, steady: Steady) -> list[Area] | None:
    """The cells that a reference means on the own sheet; None where it may mean anything."""
    elsewhere = _ELSEWHERE.fullmatch(said)
    if elsewhere:
        sheet = (elsewhere[1] or elsewhere[2] or "").replace("''", "'")
        if sheet.casefold() != name.casefold():
            return [] if steady(sheet) else None
        said = elsewhere[3]
    columns, rows = _COLUMNS.fullmatch(said), _ROWS.fullmatch(said)
    try:
        if columns:
            left, right = sorted(column_number(letters.upper()) for letters in columns.groups())
            return [Area(top=0, left=left, bottom=MAX_ROWS - 1, right=right)]
        if rows:
            top, bottom = sorted(int(number) - 1 for number in rows.groups())
            return [Area(top=top, left=0, bottom=bottom, right=MAX_COLUMNS - 1)]
        return [area(said.upper())]
    except ValueError:  # a name, a part of a table, another book
        return None
