"""Where in a sheet's XML each row, cell and range stands: byte offsets, found by expat.

Element and attribute names: ECMA-376 Part 1, 18.3 (worksheets); `xm:sqref` of the parts in
`extLst`: MS-XLSX 2.4.  Rows and columns count from zero, as everywhere inside this program.
"""

import re
from collections.abc import Iterator
from xml.parsers import expat

from msgspec import Struct, field

from bom.files.sheet.package import damaged
from bom.files.sheet.values import cell_name
from bom.files.sheet.xlsx import position


class Area(Struct, frozen=True, kw_only=True):
    """A rectangle of cells, both ends within."""

    top: int
    left: int
    bottom: int
    right: int

    def __contains__(self, place: tuple[int, int]) -> bool:
        row, column = place
        return self.top <= row <= self.bottom and self.left <= column <= self.right

    def __str__(self) -> str:
        first, last = cell_name(self.top, self.left), cell_name(self.bottom, self.right)
        return first if first == last else f"{first}:{last}"


def area(ref: str) -> Area:
    """The cells of a reference such as `A1:C9`; ValueError when it is none.

    >>> str(area("$C$9:A1")), area("B2")
    ('A1:C9', Area(top=1, left=1, bottom=1, right=1))
    """
    first, _, last = ref.replace("$", "").partition(":")
    (r1, c1), (r2, c2) = position(first), position(last or first)
    return Area(top=min(r1, r2), left=min(c1, c2), bottom=max(r1, r2), right=max(c1, c2))


class Span(Struct, frozen=True):
    """A stretch of the XML, `[start, end)` in bytes."""

    start: int
    end: int


class CellXml(Struct, kw_only=True):
    """A `c` element: `tag` is its start tag, `value` its stored value with its tags."""

    row: int
    column: int
    tag: Span
    attributes: dict[str, str]
    end: int = 0
    value: Span | None = None
    formula: str | None = None
    formula_attributes: dict[str, str] = field(default_factory=dict)
    text: str = ""
    extras: bool = False

    @property
    def blank(self) -> bool:
        """True when it shows nothing and works nothing out."""
        return self.formula is None and not self.text


class RowXml(Struct, kw_only=True):
    """A `row` element; `close` is where its end tag begins, or its end when it has none."""

    number: int
    tag: Span
    attributes: dict[str, str]
    close: int = 0
    cells: dict[int, CellXml] = field(default_factory=dict)


class StartTag(Struct, frozen=True):
    """A start tag that matters beside the cells, with what it says."""

    tag: Span
    attributes: dict[str, str]


class SheetXml(Struct, kw_only=True):
    """One sheet: its XML, and where things are in it."""

    xml: bytes
    prefix: str = ""
    dimension: StartTag | None = None
    data: StartTag | None = None
    data_close: int = 0
    rows: dict[int, RowXml] = field(default_factory=dict)
    columns: list[dict[str, str]] = field(default_factory=list)
    merges: list[Area] = field(default_factory=list)
    arrays: list[Area] = field(default_factory=list)
    ranges: list[StartTag] = field(default_factory=list)
    far_ranges: list[tuple[Span, str]] = field(default_factory=list)
    protected: bool = False

    def cell(self, row: int, column: int) -> CellXml | None:
        """The cell there, if the sheet's XML has one."""
        found = self.rows.get(row)
        return found.cells.get(column) if found else None

    def empty(self, tag: Span) -> bool:
        """Whether a start tag is its own end tag too."""
        return self.xml[tag.end - 2 : tag.end] == b"/>"

    def cells(self) -> Iterator[CellXml]:
        """All cells there are."""
        for row in self.rows.values():
            yield from row.cells.values()

    def column_style(self, column: int) -> str | None:
        """The style that a column gives to cells that are not there yet."""
        for attributes in self.columns:
            if int(attributes.get("min", 0)) <= column + 1 <= int(attributes.get("max", 0)):
                return attributes.get("style")
        return None


_TAG = re.compile(rb"""<(?:[^>"']|"[^"]*"|'[^']*')*>""")
TRUE = ("1", "true", "on")


def tag_at(xml: bytes, start: int) -> Span:
    """The tag that begins there; the XML is known to be well formed."""
    match = _TAG.match(xml, start)
    if match is None:
        raise ValueError("a tag without an end")
    return Span(start, match.end())


def parse_sheet(xml: bytes, file: str) -> SheetXml:
    """Where everything is in a sheet's XML; raises `Refused` where it is not well formed."""
    scan = _Scan(xml)
    try:
        scan.parser.Parse(xml, True)
    except (expat.ExpatError, KeyError, ValueError) as bad:
        raise damaged(file, str(bad)) from bad
    if scan.sheet.data is None:
        raise damaged(file, "a sheet without cells")
    return scan.sheet


_DEEPEST = 12
"""No element that matters is so deep; some files nest a hundred thousand."""


class _Scan:
    """Handlers for one pass over a sheet's XML that fill `sheet`."""

    def __init__(self, xml: bytes) -> None:
        self.sheet = SheetXml(xml=xml)
        self.parser = expat.ParserCreate()
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self.start
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.characters
        self._path: list[str] = []
        self._row: RowXml | None = None
        self._last_row = -1
        self._cell: CellXml | None = None
        self._last_column = -1
        self._opened: list[Span] = []
        self._text: list[str] = []

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """An element opens."""
        tag = tag_at(self.sheet.xml, self.parser.CurrentByteIndex)
        if not self._path:
            self.sheet.prefix = name.rpartition(":")[0]
            self.sheet.prefix += ":" if self.sheet.prefix else ""
        self._text.clear()
        self._path.append(name.removeprefix(self.sheet.prefix))
        self._opened.append(tag)
        path = self._place()
        if path == "sheetData/row":
            self._open_row(tag, attributes)
        elif path == "sheetData/row/c":
            self._open_cell(tag, attributes)
        elif self._cell is not None:
            self._within_cell(path, attributes)
        else:
            self._beside(path, tag, attributes)

    def characters(self, data: str) -> None:
        """Text, of which only that of the innermost element is kept."""
        self._text.append(data)

    def end(self, name: str) -> None:
        """An element is complete."""
        path, text, tag = self._place(), "".join(self._text), self._opened.pop()
        self._path.pop()
        self._text.clear()
        if self.sheet.empty(tag):  # expat gives the place after the tag, but says so nowhere
            close = end = tag.end
        else:
            close = self.parser.CurrentByteIndex
            end = tag_at(self.sheet.xml, close).end
        if path == "sheetData":
            self.sheet.data_close = close
        elif path == "sheetData/row" and self._row:
            self._row.close = close
        elif path == "sheetData/row/c" and self._cell:
            self._cell.end, self._cell = end, None
        elif self._cell is not None:
            self._text_of_cell(self._cell, path, text, Span(tag.start, end))
        elif name.endswith(":sqref") and ("Formatting" in path or "Validation" in path):
            self.sheet.far_ranges.append((Span(tag.end, close), text))

    def _place(self) -> str:
        """The elements that are open within the sheet's own, as far as any is looked for."""
        return "/".join(self._path[1:_DEEPEST])

    def _open_row(self, tag: Span, attributes: dict[str, str]) -> None:
        number = int(attributes["r"]) - 1 if "r" in attributes else self._last_row + 1
        if number <= self._last_row:
            raise ValueError(f"row {number + 1} comes twice, or too late")
        self._last_row, self._last_column = number, -1
        self._row = RowXml(number=number, tag=tag, attributes=attributes)
        self.sheet.rows[number] = self._row

    def _open_cell(self, tag: Span, attributes: dict[str, str]) -> None:
        row, column = self._last_row, self._last_column + 1
        if "r" in attributes:
            row, column = position(attributes["r"])
        if self._row is None or row != self._last_row or column <= self._last_column:
            raise ValueError(f"cell {cell_name(row, column)} comes twice, or in a wrong place")
        self._last_column = column
        self._cell = CellXml(row=row, column=column, tag=tag, attributes=attributes)
        self._row.cells[column] = self._cell

    def _within_cell(self, path: str, attributes: dict[str, str]) -> None:
        kind = path.removeprefix("sheetData/row/c/")
        if self._cell is None:
            return
        if kind == "f":
            self._cell.formula_attributes = attributes
            if attributes.get("t") in ("array", "dataTable") and "ref" in attributes:
                self.sheet.arrays.append(area(attributes["ref"]))
        elif kind not in ("v", "is") and not kind.startswith("is/"):
            self._cell.extras = True

    @staticmethod
    def _text_of_cell(cell: CellXml, path: str, text: str, span: Span) -> None:
        kind = path.removeprefix("sheetData/row/c/")
        if kind == "f":
            cell.formula = text
        elif kind == "v":
            cell.value = span
            cell.text += text
        elif kind in ("is/t", "is/r/t"):
            cell.text += text

    def _beside(self, path: str, tag: Span, attributes: dict[str, str]) -> None:
        sheet, mark = self.sheet, StartTag(tag, attributes)
        if path == "sheetData":
            sheet.data = mark
        elif path == "dimension":
            sheet.dimension = mark
        elif path == "cols/col":
            sheet.columns.append(attributes)
        elif path == "mergeCells/mergeCell":
            sheet.merges.append(area(attributes["ref"]))
        elif path == "sheetProtection":
            sheet.protected = attributes.get("sheet", "0") in TRUE
        elif path in ("conditionalFormatting", "dataValidations/dataValidation"):
            sheet.ranges.append(mark)
