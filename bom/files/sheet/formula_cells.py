"""What an .xlsx package holds of formulas: their texts by cell, and what they can refer to.

Elements and attributes: ECMA-376 Part 1, 18.3.1.40 (`f`), 18.2.5 (names), 18.5.1.2 (tables).
"""

import posixpath
import re
from collections.abc import Mapping, Sequence

from msgspec import Struct, field

from bom.files.sheet.package import Package, walk_xml
from bom.files.sheet.values import MAX_COLUMNS, MAX_ROWS, cell_name, column_number
from bom.files.sheet.xlsx import percent_styles, position, relations, sheet_names

SheetCell = tuple[int, int, int]
"""Sheet, row and column of a cell, each from zero."""

_MOST = 200_000
"""So many formulas are kept in mind, in 100 MB."""

EVERYWHERE = -1
"""In place of a sheet: a name that means the same on each."""

_FORMULA = re.compile(rb"<(?:[\w.-]+:)?f[\s/>]")
_ELSEWHERE = re.compile(r"(?:'((?:[^']|'')+)'|([^'!\[\]:]+))!(.+)")
_CORNERS = re.compile(
    r"\$?([A-Z]{0,3})\$?([1-9][0-9]{0,6}|)(?::\$?([A-Z]{0,3})\$?([1-9][0-9]{0,6}|))?",
    re.IGNORECASE,
)
_FIXED = re.compile(
    r"[0-9]{1,15}(\.[0-9]{1,15})?|(.+!)?(\$[A-Z]{1,3})?(\$[0-9]+)?(:(\$[A-Z]{1,3})?(\$[0-9]+)?)?"
)
"""What a name may stand for: a figure, or cells that are the same wherever it is used."""

_COLUMN = re.compile(r"([^\[\]]+)\[(\[#This Row\],)?\[?([^\[\]#'@]+)\]?\]", re.IGNORECASE)


class Held(Struct, frozen=True):
    """A formula's text, and the cell it is written for: others may share it from there."""

    text: str
    cell: str


class Block(Struct, frozen=True):
    """A rectangle of cells of a sheet, both ends within."""

    sheet: int
    top: int
    left: int
    bottom: int
    right: int


class ColumnsOf(Struct, frozen=True):
    """The rows of an Excel table without headings and totals, and its columns by folded name."""

    rows: Block
    columns: Mapping[str, int]


class Formulas(Struct, frozen=True, kw_only=True):
    """What a workbook holds of formulas; names and tables by their folded names."""

    sheets: Mapping[str, int]
    held: dict[SheetCell, Held] = field(default_factory=dict)
    percents: set[SheetCell] = field(default_factory=set)
    """Those of the formulas whose cells are shown in per cent."""
    names: dict[tuple[int, str], str] = field(default_factory=dict)
    tables: dict[str, ColumnsOf] = field(default_factory=dict)

    def block(self, said: str, here: SheetCell) -> Block | None:
        """The cells that a reference in the cell `here` means; None where it is not plain."""
        sheet, said = self._on_sheet(said, here[0])
        if sheet is None:
            return None
        return _block(sheet, said) or self._of_table(said, here)

    def meaning(self, said: str, here: SheetCell) -> str:
        """What a name stands for; any other reference is what it is."""
        sheet, name = self._on_sheet(said, here[0])
        for scope in (sheet, EVERYWHERE):
            if scope is not None and (scope, name.casefold()) in self.names:
                return self.names[scope, name.casefold()]
        return said

    def _on_sheet(self, said: str, here: int) -> tuple[int | None, str]:
        elsewhere = _ELSEWHERE.fullmatch(said)
        if elsewhere is None:
            return here, said
        sheet = (elsewhere[1] or elsewhere[2]).replace("''", "'")
        return self.sheets.get(sheet.casefold()), elsewhere[3]

    def _of_table(self, said: str, here: SheetCell) -> Block | None:
        """A column of a table, or its cell in the row of the formula."""
        match = _COLUMN.fullmatch(said)
        table = self.tables.get(match[1].casefold()) if match else None
        column = table.columns.get(match[3].casefold()) if match and table else None
        if match is None or table is None or column is None:
            return None
        rows = table.rows
        if match[2]:
            rows = Block(rows.sheet, here[1], 0, here[1], 0)
        return Block(rows.sheet, rows.top, column, rows.bottom, column)


def _block(sheet: int, said: str) -> Block | None:
    """The cells of `A1`, `A1:B9`, `A:B` or `1:9`.

    >>> _block(0, "$A$1:B9"), _block(0, "B"), _block(0, "XFE1")
    (Block(sheet=0, top=0, left=0, bottom=8, right=1), None, None)
    """
    match = _CORNERS.fullmatch(said)
    first, last = (match.group(1, 2), match.group(3, 4)) if match else (("", ""), ("", ""))
    last = first if last == (None, None) and all(first) else last
    if [bool(part) for part in first] != [bool(part) for part in last] or not any(first):
        return None
    left, right = sorted(column_number(name.upper()) for name in (first[0], last[0]))
    top, bottom = sorted(int(number or 0) - 1 for number in (first[1], last[1]))
    if right >= MAX_COLUMNS or bottom >= MAX_ROWS:
        return None
    right = right if first[0] else MAX_COLUMNS - 1
    bottom = bottom if first[1] else MAX_ROWS - 1
    return Block(sheet, max(top, 0), max(left, 0), bottom, right)


# --------------------------------------------------------------------- out of the package


def formulas_of(package: Package, names: Sequence[str]) -> Formulas | None:
    """The formulas of the sheets of these names, in their order; None where they are too many.

    Raises `Refused`.
    """
    workbook = dict(relations(package, "").values()).get("officeDocument", "")
    targets = relations(package, workbook)
    percents = percent_styles(package, dict(targets.values()).get("styles", ""))
    order = sheet_names(package, workbook)
    members = {name: targets.get(key, ("", ""))[1] for name, key in order}
    if sum(1 for name in names for _ in _FORMULA.finditer(package.part(members[name]))) > _MOST:
        return None
    found = Formulas(sheets={name.casefold(): at for at, name in enumerate(names)})
    for at, name in enumerate(names):
        xml = package.part(members[name])
        scan = _FormulaScan(found, at, percents)
        if _FORMULA.search(xml):
            walk_xml(xml, package.file, scan.start, scan.end, scan.text)
        _add_tables(found, package, members[name], at)
    _add_names(found, package, workbook, [found.sheets.get(n.casefold()) for n, _ in order])
    return found


class _FormulaScan:
    """Handlers for one pass over a sheet's XML that take up its formulas.

    Of an array no formula is plain, so that it stands there without a text.
    """

    def __init__(self, into: Formulas, sheet: int, percents: frozenset[str]) -> None:
        self._into = into
        self._sheet = sheet
        self._percents = percents
        self._row = self._column = -1
        self._style: str | None = None
        self._attributes: dict[str, str] | None = None
        self._text: list[str] = []
        self._shared: dict[str, Held] = {}

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """A row, a cell or a formula opens."""
        name = name.rpartition(":")[2]
        if name == "row":
            self._row = int(attributes["r"]) - 1 if "r" in attributes else self._row + 1
            self._column = -1
        elif name == "c":
            self._column += 1
            if "r" in attributes:
                self._row, self._column = position(attributes["r"])
            self._style = attributes.get("s", "0")
        elif name == "f" and self._style is not None:  # those under the cells are rules of format
            self._attributes, self._text = attributes, []

    def text(self, data: str) -> None:
        """Text, which matters only inside a formula."""
        if self._attributes is not None:
            self._text.append(data)

    def end(self, name: str) -> None:
        """A formula is complete."""
        name = name.rpartition(":")[2]
        if name == "c":
            self._style = None
        if name != "f" or self._attributes is None:
            return
        place = (self._sheet, self._row, self._column)
        text, kind = "".join(self._text), self._attributes.get("t", "normal")
        held = Held(text if kind in ("normal", "shared") else "", cell_name(*place[1:]))
        if kind == "shared":
            group = self._attributes.get("si", "")
            held = self._shared[group] = held if text else self._shared.get(group, held)
        self._into.held[place] = held
        if self._style in self._percents:
            self._into.percents.add(place)
        self._attributes = None


def _add_names(
    into: Formulas, package: Package, workbook: str, sheets: Sequence[int | None]
) -> None:
    """The defined names; `localSheetId` counts the sheets in the order of the workbook."""
    own_of = {"": EVERYWHERE, **{str(at): sheet for at, sheet in enumerate(sheets)}}
    said: list[str] = []
    scope: list[tuple[int | None, str]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        said.clear()
        scope.clear()
        if name.rpartition(":")[2] == "definedName":
            own = own_of.get(attributes.get("localSheetId", ""))
            scope.append((own, attributes.get("name", "").casefold()))

    def end(_: str) -> None:
        for sheet, name in scope:
            if sheet is not None and _FIXED.fullmatch("".join(said)):
                into.names[sheet, name] = "".join(said)
        scope.clear()

    walk_xml(package.part(workbook), package.file, start, end, said.append)


def _add_tables(into: Formulas, package: Package, member: str, sheet: int) -> None:
    folder, own = posixpath.split(member)
    if not package.part(f"{folder}/_rels/{own}.rels"):
        return
    for kind, target in relations(package, member).values():
        if kind == "table" and package.part(target):
            _add_table(into, package, target, sheet)


def _add_table(into: Formulas, package: Package, member: str, sheet: int) -> None:
    root: dict[str, str] = {}
    columns: list[str] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        name = name.rpartition(":")[2]
        if name == "table":
            root.update(attributes)
        elif name == "tableColumn":
            columns.append(attributes.get("name", "").casefold())

    walk_xml(package.part(member), package.file, start)
    area = _block(sheet, root.get("ref", ""))
    if area is not None:
        top = area.top + (root.get("headerRowCount") != "0")
        bottom = area.bottom - (root.get("totalsRowCount", "0") != "0")
        rows = Block(sheet, top, area.left, bottom, area.right)
        places = {name: area.left + at for at, name in enumerate(columns)}
        into.tables[root.get("displayName", "").casefold()] = ColumnsOf(rows, places)
