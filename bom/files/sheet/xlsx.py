"""Books of .xlsx and .xlsm: values by calamine, faults and per cents from the XML."""

import posixpath
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import TypeAlias

from msgspec import Struct, field

from bom.files.sheet.package import Package, Room, damaged, not_a_book, walk_xml
from bom.files.sheet.values import (
    MAX_COLUMNS,
    MAX_ROWS,
    NO_RESULT,
    SAVE_AS_XLSX,
    Cells,
    Fault,
    Sheet,
    Value,
    Values,
    as_percent,
    column_number,
    refused,
    trimmed,
)
from bom.trade.problem import Where


def read_xlsx(package: Package) -> tuple[Sheet, ...]:
    """The sheets of an .xlsx or .xlsm package; raises `Refused`."""
    top = dict(relations(package, "").values())
    workbook = top.get("officeDocument", "")
    if not workbook.endswith(".xml"):
        raise not_a_book(package.file, ".xlsx")
    targets = relations(package, workbook)
    members = dict(targets.values())
    percents = percent_styles(package, members.get("styles", ""))
    package.part(members.get("sharedStrings", ""))  # read here so that calamine is given it
    marks: dict[str, _Marks] = {}
    for name, relation in sheet_names(package, workbook):
        kind, target = targets.get(relation, ("", ""))
        if kind == "worksheet":  # a chart sheet has no cells
            marks[name] = _marks(package, name, target, percents)
    if not marks:
        raise refused(Where(package.file), "has no sheets")
    values, room = Values(), Room()
    sheets: list[Sheet] = []
    for name, grid in _grids(package, marks):
        room.take(Where(package.file, name), len(grid), len(grid[0]) if grid else 0)
        rows = _finished(grid, marks[name], values)
        sheets.append(Sheet(file=package.file, name=name, rows=rows))
    return tuple(sheets)


def relations(package: Package, part: str) -> dict[str, tuple[str, str]]:
    """Relation id -> (kind, member), from a part, or from the package itself (no part)."""
    folder, own = posixpath.split("/" + part)
    found: dict[str, tuple[str, str]] = {}

    def start(name: str, attributes: dict[str, str]) -> None:
        if name.endswith("Relationship") and attributes.get("TargetMode") != "External":
            target = attributes.get("Target", "")
            if part:  # some write the workbook's parts in full, without the first slash
                target = target.removeprefix("xl/")
            member = posixpath.normpath(posixpath.join(folder, target)).lstrip("/")
            kind = attributes.get("Type", "").rpartition("/")[2]
            found[attributes.get("Id", "")] = (kind, member)

    walk_xml(package.part(f"{folder}/_rels/{own}.rels".lstrip("/")), package.file, start)
    return found


def sheet_names(package: Package, workbook: str) -> tuple[tuple[str, str], ...]:
    """Sheet name and relation id, in the order of the workbook."""
    found: list[tuple[str, str]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        if name.rpartition(":")[2] == "sheet":
            relation = next((v for k, v in attributes.items() if k.endswith(":id")), "")
            found.append((attributes.get("name", ""), relation))

    walk_xml(package.part(workbook), package.file, start)
    return tuple(found)


def percent_styles(package: Package, member: str) -> frozenset[str]:
    """The style numbers of cells that are shown in per cent.

    Formats 9 and 10 are built in (ECMA-376 Part 1, 18.8.30); others say so in their code.
    """
    xml = package.part(member)
    formats = {"9", "10"}
    styles: list[str] = []
    inside = ""

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal inside
        name = name.rpartition(":")[2]
        if name in ("numFmts", "cellXfs", "cellStyleXfs", "dxfs"):
            inside = name
        elif name == "numFmt" and inside == "numFmts" and _shows_percent(attributes):
            formats.add(attributes.get("numFmtId", ""))
        elif name == "xf" and inside == "cellXfs":
            styles.append(attributes.get("numFmtId", ""))

    if xml:
        walk_xml(xml, package.file, start)
    return frozenset(str(n) for n, number_format in enumerate(styles) if number_format in formats)


def _shows_percent(number_format: dict[str, str]) -> bool:
    r"""True when a number format holds a per-cent sign that is not quoted.

    >>> [_shows_percent({"formatCode": code}) for code in ("0.0%", '0"%"', "0\\%")]
    [True, False, False]
    """
    code = number_format.get("formatCode", "")
    return "%" in re.sub(r'"[^"]*"|\\.|_.|\*.|\[[^\]]*\]', "", code)


class _Marks(Struct):
    """What calamine does not tell of a sheet: faults, cells in per cent, how far it reaches."""

    faults: dict[tuple[int, int], Fault] = field(default_factory=dict)
    percents: list[tuple[int, int]] = field(default_factory=list)
    rows: int = 0
    columns: int = 0


_MANY_BLANKS = 100_000
"""Bytes of blank rows that are worth leaving out."""


def _marks(package: Package, name: str, member: str, percents: frozenset[str]) -> _Marks:
    xml = package.part(member)
    where = Where(package.file, name)
    if not xml:
        raise damaged(package.file, f"the sheet '{name}' is missing")
    xml = package.parts[member] = _without_blank_rows(xml)
    if _is_plain(xml, percents):
        return _Marks()
    scan = _CellScan(percents)
    try:
        walk_xml(xml, package.file, scan.start, scan.end, scan.text)
    except ValueError as bad:
        raise refused(where, f"cannot be read: {bad}", SAVE_AS_XLSX) from bad
    Room().take(where, scan.marks.rows, scan.marks.columns)
    return scan.marks


def _without_blank_rows(xml: bytes) -> bytes:
    """The sheet without the rows under the last cell that holds anything.

    Where cells are formatted down to the bottom of the sheet a million of them are blank.
    """
    end = xml.rfind(b"</sheetData>")
    last = max(xml.rfind(held, 0, max(0, end)) for held in (b"</v>", b"</is>", b"<f"))
    row = xml.find(b"</row>", last, end) if last >= 0 else -1
    begin = row + len(b"</row>")
    return xml[:begin] + xml[end:] if row >= 0 and end - begin > _MANY_BLANKS else xml


def _is_plain(xml: bytes, percents: frozenset[str]) -> bool:
    """True when the cells need no closer look: calamine's values will do as they are.

    Byte searches only, 3 ms a megabyte (one after the other: together in one pattern they
    take twice as long).  Any unusual way of writing (single quotes, prefixes, cells without
    address) counts as not plain.  Columns A to Z and rows up to 99,999 stay within the
    number of cells allowed.
    """
    styles = "|".join(sorted(percents))
    return (
        b't="e"' not in xml
        and (b"'" not in xml or b"='" not in xml)
        and not re.search(rb"<f[\s/>]", xml)
        and not re.search(rb'<c(?! r="[A-Z][0-9]{1,5}"|[a-zA-Z])', xml)
        and not re.search(rb":c[\s/>]", xml)
        and not (percents and re.search(rf' s="(?:{styles})"'.encode(), xml))
    )


class _CellScan:
    """Handlers for one pass over a sheet's XML that fill `marks`."""

    def __init__(self, percents: frozenset[str]) -> None:
        self.marks = _Marks()
        self._percents = percents
        self._row = self._column = -1
        self._cell: dict[str, str] = {}
        self._seen: set[str] = set()
        self._value: list[str] = []
        self._in_value = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """A row or cell opens, or something within a cell."""
        name = name.rpartition(":")[2]
        if name == "c":
            self._open_cell(attributes)
        elif name == "row":
            self._row = position(f"A{attributes['r']}")[0] if "r" in attributes else self._row + 1
            self._column = -1
        elif name in ("v", "f", "is"):
            self._seen.add(name)
            self._in_value = name == "v"

    def text(self, data: str) -> None:
        """Text, which matters only inside a stored value."""
        if self._in_value:
            self._value.append(data)

    def end(self, name: str) -> None:
        """A cell is complete."""
        name = name.rpartition(":")[2]
        if name == "v":
            self._in_value = False
        elif name == "c" and self._seen:
            self._close_cell()

    def _open_cell(self, attributes: dict[str, str]) -> None:
        self._cell, self._value = attributes, []
        self._seen.clear()
        if "r" in attributes:
            self._row, self._column = position(attributes["r"])
        else:
            self._column += 1
            if self._column >= MAX_COLUMNS:
                raise ValueError(f"a row of over {MAX_COLUMNS:,} cells")

    def _close_cell(self) -> None:
        marks, place, kind = self.marks, (self._row, self._column), self._cell.get("t", "n")
        value = "".join(self._value)
        marks.rows = max(marks.rows, self._row + 1)
        marks.columns = max(marks.columns, self._column + 1)
        if kind == "e":
            marks.faults[place] = Fault(value or "an error value")
        elif "f" in self._seen and ("v" not in self._seen or not (value or kind == "str")):
            marks.faults[place] = NO_RESULT
        elif self._cell.get("s", "0") in self._percents:
            marks.percents.append(place)


def position(name: str) -> tuple[int, int]:
    """Zero-based row and column of a cell's name; ValueError when there is no such cell.

    >>> position("C7"), position("AA1")
    ((6, 2), (0, 26))
    """
    match = re.fullmatch(r"([A-Za-z]{1,3})([0-9]{1,7})", name)
    if match is None:
        raise ValueError(f"'{name}' is not a cell")
    row, column = int(match[2]) - 1, column_number(match[1].upper())
    if not (0 <= row < MAX_ROWS and column < MAX_COLUMNS):
        raise ValueError(f"'{name}' lies outside any sheet")
    return row, column


_Grid: TypeAlias = Sequence[Sequence[object]]


def _grids(package: Package, names: Iterable[str]) -> Iterator[tuple[str, _Grid]]:
    """Each sheet's name and raw grid from A1 on, by calamine."""
    from python_calamine import CalamineWorkbook

    try:
        with CalamineWorkbook.from_filelike(package.copy()) as book:
            for name in names:
                yield name, book.get_sheet_by_name(name).to_python(skip_empty_area=False)
    except (KeyboardInterrupt, SystemExit, GeneratorExit):
        raise
    except BaseException as bad:  # a panic in Rust is no Exception
        raise refused(Where(package.file), f"cannot be read: {bad}", SAVE_AS_XLSX) from bad


def _finished(grid: _Grid, marks: _Marks, values: Values) -> tuple[Cells, ...]:
    rows: list[list[Value]] = [
        [raw if raw is True or raw is False else values[raw] for raw in row] for row in grid
    ]
    for row, column in marks.percents:
        if row < len(rows) and column < len(rows[row]):
            rows[row][column] = as_percent(rows[row][column])
    for (row, column), fault in marks.faults.items():
        rows.extend([] for _ in range(row + 1 - len(rows)))
        rows[row].extend([None] * (column + 1 - len(rows[row])))
        rows[row][column] = fault
    return trimmed(rows)
