"""Books of .xlsx and .xlsm: values by calamine, faults and per cents from the XML."""

import posixpath
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, repeat
from typing import TYPE_CHECKING, TypeAlias

from msgspec import Struct, field

from bom.files.sheet.bounds import check_cells, check_texts
from bom.files.sheet.package import Package, Room, damaged, not_a_book, walk_xml
from bom.files.sheet.values import (
    MAX_CELLS,
    MAX_COLUMNS,
    MAX_ROWS,
    MAX_SHEETS,
    NO_RESULT,
    SAVE_AS_XLSX,
    Cells,
    Fault,
    Refused,
    Sheet,
    Value,
    Values,
    as_percent,
    column_number,
    refused,
    trimmed,
)
from bom.trade.problem import Where

if TYPE_CHECKING:
    from python_calamine import CalamineSheet


def read_xlsx(package: Package) -> tuple[Sheet, ...]:
    """The sheets of an .xlsx or .xlsm package; raises `Refused`."""
    top = dict(relations(package, "").values())
    workbook = top.get("officeDocument", "")
    if not workbook.endswith(".xml"):
        raise not_a_book(package.file, ".xlsx")
    targets = relations(package, workbook)
    members = dict(targets.values())
    percents = percent_styles(package, members.get("styles", ""))
    xml = _sheet_parts(package, workbook, targets)
    check_cells((Where(package.file, name), part) for name, part in xml.items())
    strings = members.get("sharedStrings", "")  # read, too, so that calamine is given them
    check_texts(package.file, package.part(strings), [*xml.values()])
    marks = {name: _marks(Where(package.file, name), part, percents) for name, part in xml.items()}
    del xml
    found = _rows(package, marks)
    return tuple(Sheet(file=package.file, name=name, rows=rows) for name, rows in found)


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
    if len(found) > MAX_SHEETS:
        raise refused(Where(package.file), f"has over {MAX_SHEETS:,} sheets: not a workbook")
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


def _sheet_parts(
    package: Package, workbook: str, targets: Mapping[str, tuple[str, str]]
) -> dict[str, bytes]:
    """The XML of each sheet that has cells, without the blank rows at its end."""
    kinds = {n: targets.get(relation, ("", "")) for n, relation in sheet_names(package, workbook)}
    members = {name: member for name, (kind, member) in kinds.items() if kind == "worksheet"}
    if not members:  # nothing, or charts alone
        raise refused(Where(package.file), "has no sheets")
    if len({member.casefold() for member in members.values()}) < len(members):
        raise damaged(package.file, "two of its sheets are one part")
    found: dict[str, bytes] = {}
    for name, member in members.items():
        xml = package.part(member)
        if not xml:
            raise damaged(package.file, f"the sheet '{name}' is missing")
        found[name] = package.parts[member] = _without_blank_rows(xml)
    return found


def _marks(where: Where, xml: bytes, percents: frozenset[str]) -> _Marks:
    most = 0
    if _is_usual(xml) and _is_near(xml):
        most = _TAGS_OF_ONE * _MOST_ODD
        xml = _odd_cells(xml, percents, where)
    scan = _CellScan(percents)
    try:
        walk_xml(xml, where.file, scan.start, scan.end, scan.text, most)
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


def _is_usual(xml: bytes) -> bool:
    """True where tags and addresses of cells are written as most programs do.

    Byte searches only, 3 ms a megabyte (one after the other: together in one pattern they take
    twice as long).  Single quotes, prefixes and cells without an address are unusual.
    """
    return (
        (b"'" not in xml or b"='" not in xml)
        and not re.search(rb'<c(?! r="[A-Z]{1,3}[1-9][0-9]{0,6}"|[a-zA-Z])', xml)
        and not re.search(rb":c[\s/>]", xml)
    )


_FAR_CELL = re.compile(rb'<c r="(?![A-Z](?:1[0-8][0-9]{4}|[0-9]{1,5})")')


_FILLED_CELL = re.compile(rb'<c r="([A-Z]+)([0-9]+)"[^>]*+(?<!/)>(?!</c)')


def _is_near(xml: bytes) -> bool:
    """True where the cells with anything in them reach no farther than is allowed.

    Columns A to Z and rows up to 189,999 are; others are counted.
    """
    if not _FAR_CELL.search(xml):
        return True
    rows, letters = 0, set[bytes]()
    for found in _FILLED_CELL.finditer(xml):
        letters.add(found[1])
        rows = max(rows, int(found[2]))
    columns = max((1 + column_number(each.decode()) for each in letters), default=0)
    return rows * columns <= MAX_CELLS


_MOST_ODD = 500_000
"""So many are gone through one by one: four columns of formulas beside 100,000 moves are fewer."""
_TAGS_OF_ONE = 8


def _odd_cells(xml: bytes, percents: frozenset[str], where: Where) -> bytes:
    """The cells that calamine's values will not do for: faults, formulas, those in per cent."""
    signs = ['t="e"', r"<f(?:\s[^>]*)?(?:/>|>[^<]*</f>)(?!<v>[^<])"]  # without a result
    signs += [f' s="(?:{"|".join(sorted(percents))})"'] if percents else []
    starts = set[int]()
    for found in chain.from_iterable(re.finditer(sign.encode(), xml) for sign in signs):
        starts.add(xml.rfind(b"<c ", 0, found.start()))
        if len(starts) > _MOST_ODD:
            says = f"has over {_MOST_ODD:,} errors, per cents or formulas without a result"
            raise refused(where, says, SAVE_AS_XLSX)
    cells = []
    for start in sorted(starts - {-1}):
        end = xml.find(b">", start)
        if xml[end - 1 : end] != b"/":  # with something in it
            cells += [xml[start : xml.find(b"</c", end)], b"</c>"]
    return b"<x>" + b"".join(cells) + b"</x>"


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


def _rows(package: Package, marks: Mapping[str, _Marks]) -> Iterator[tuple[str, tuple[Cells, ...]]]:
    """Each sheet's name and rows from A1 on, by calamine."""
    from python_calamine import CalamineWorkbook

    values, room = Values(package.file), Room()
    try:
        with CalamineWorkbook.from_filelike(package.copy()) as book:
            for name, marked in marks.items():
                where = Where(package.file, name)
                yield name, _rows_of(book.get_sheet_by_name(name), where, marked, values, room)
    except (KeyboardInterrupt, SystemExit, GeneratorExit, Refused):
        raise
    except BaseException as bad:  # a panic in Rust is no Exception
        raise refused(Where(package.file), f"cannot be read: {bad}", SAVE_AS_XLSX) from bad


def _rows_of(
    sheet: "CalamineSheet", where: Where, marks: _Marks, values: Values, room: Room
) -> tuple[Cells, ...]:
    """A sheet's rows; of what calamine holds of it nothing is kept when it goes on."""
    row, column = sheet.end or (-1, -1)
    room.take(where, row + 1, column + 1)
    from_a1 = sheet.start == (0, 0)  # else row by row they come without what is blank
    grid = sheet.iter_rows() if from_a1 else sheet.to_python(skip_empty_area=False)
    return _finished(grid, marks, values)


_Grid: TypeAlias = Iterable[Sequence[object]]


def _finished(grid: _Grid, marks: _Marks, values: Values) -> tuple[Cells, ...]:
    rows = [
        *trimmed(
            [raw if raw is True or raw is False else values[raw] for raw in row] for row in grid
        )
    ]
    for row, column in marks.percents:
        if row < len(rows) and column < len(rows[row]):
            _put(rows, row, column, as_percent(rows[row][column]))
    for (row, column), fault in marks.faults.items():
        rows.extend(() for _ in range(row + 1 - len(rows)))
        _put(rows, row, column, fault)
    return tuple(rows)


def _put(rows: list[Cells], row: int, column: int, value: Value) -> None:
    cells = [*rows[row], *repeat(None, column + 1 - len(rows[row]))]
    cells[column] = value
    rows[row] = tuple(cells)
