"""Where in a sheet's XML each row, cell and range stands: byte offsets, found by expat.

A list may have a hundred thousand rows of which one is changed: where each row begins is found by
its start tag alone, and what is in it only once that is asked for.

Element and attribute names: ECMA-376 Part 1, 18.3 (worksheets); `xm:sqref` of the parts in
`extLst`: MS-XLSX 2.4.  Rows and columns count from zero, as everywhere inside this program.
"""

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
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
    """One sheet: its XML, and where things are in it.

    `numbers` are those of its rows, rising, and `starts` where each begins.
    """

    xml: bytes
    file: str
    prefix: str = ""
    dimension: StartTag | None = None
    data: StartTag | None = None
    data_close: int = 0
    numbers: list[int] = field(default_factory=list)
    starts: list[int] = field(default_factory=list)
    named: Counter[bytes] = field(default_factory=Counter)
    """How many cells are called by a row's number, wherever they stand."""
    formulas: list[CellXml] = field(default_factory=list)
    """The cells that hold one, in their order."""
    columns: list[dict[str, str]] = field(default_factory=list)
    merges: list[Area] = field(default_factory=list)
    arrays: list[Area] = field(default_factory=list)
    ranges: list[StartTag] = field(default_factory=list)
    far_ranges: list[tuple[Span, str]] = field(default_factory=list)
    protected: bool = False
    _rows: dict[int, RowXml | None] = field(default_factory=dict)

    def row(self, number: int) -> RowXml | None:
        """The row of that number, if the sheet's XML has one; raises `Refused`."""
        if number not in self._rows:
            with _well_formed(self.file):
                self._rows[number] = self._looked_into(number)
        return self._rows[number]

    def _looked_into(self, number: int) -> RowXml | None:
        at = bisect_left(self.numbers, number)
        row = _row_there(self, number) if number in self.numbers[at : at + 1] else None
        named = sum("r" in cell.attributes for cell in row.cells.values()) if row else 0
        if self.named[str(number + 1).encode()] != named:
            raise ValueError(f"a cell of row {number + 1} is in a wrong place")
        return row

    def start_behind(self, number: int) -> int:
        """Where the first row behind that number begins, or the end of them all."""
        at = bisect_right(self.numbers, number)
        return self.starts[at] if at < len(self.starts) else self.data_close

    def cell(self, row: int, column: int) -> CellXml | None:
        """The cell there, if the sheet's XML has one."""
        found = self.row(row)
        return found.cells.get(column) if found else None

    def empty(self, tag: Span) -> bool:
        """Whether a start tag is its own end tag too."""
        return self.xml[tag.end - 2 : tag.end] == b"/>"

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


_NO_MARKUP = re.compile(rb"<(?:!--.*?--|!\[CDATA\[.*?\]\]|\?.*?\?)>", re.DOTALL)
_DECLARATION = len(b"<?xml")
_SHEET_DATA = re.compile(rb"<((?:[\w.-]+:)?)sheetData(?=[\s/>])")
_ROW = rb"""<%srow(?=[\s/>])
    (?:\s+(?!r[\s=])[^\s=]+\s*=\s*(?:"[^"]*"|'[^']*'))*+ (?:\s+r\s*=\s*["']([^"']*)["'])?"""
"""The start of a row's tag, with its number in whichever attribute."""
_CELL = rb"""<%sc\s[^>]*?\br\s*=\s*["'][A-Za-z]+([0-9]+)["']"""


def parse_sheet(xml: bytes, file: str) -> SheetXml:
    """Where everything is in a sheet's XML; raises `Refused` where it is not well formed."""
    sheet = SheetXml(xml=xml, file=file)
    with _well_formed(file):
        expat.ParserCreate().Parse(xml, True)
        _find_rows(sheet)
        start = sheet.starts[0] if sheet.starts else sheet.data_close
        _Scan(sheet, [Span(0, start), Span(sheet.data_close, len(xml))]).parse()
        _find_formulas(sheet)
    if sheet.data is None:
        raise damaged(file, "a sheet without cells")
    return sheet


@contextmanager
def _well_formed(file: str) -> Iterator[None]:
    try:
        yield
    except (expat.ExpatError, KeyError, ValueError) as bad:
        raise damaged(file, str(bad)) from bad


def _find_rows(sheet: SheetXml) -> None:
    """Note where each row begins, by tags: outside of `_NO_MARKUP` every `<` begins one."""
    bare = sheet.xml
    if _NO_MARKUP.search(bare, _DECLARATION):
        bare = _NO_MARKUP.sub(lambda found: b" " * len(found[0]), bare)
    data = _SHEET_DATA.search(bare)
    if data is None:
        return
    prefix, tag = data[1], tag_at(bare, data.start())
    sheet.prefix, sheet.data_close = prefix.decode(), tag.end
    if sheet.empty(tag):
        return
    sheet.data_close = bare.index(b"</" + prefix + b"sheetData", tag.end)
    row, cell = (re.compile(p % re.escape(prefix), re.VERBOSE) for p in (_ROW, _CELL))
    last = -1
    for found in row.finditer(bare, tag.end, sheet.data_close):
        number = int(found[1]) - 1 if found[1] else last + 1
        if number <= last:
            raise ValueError(f"row {number + 1} comes twice, or too late")
        sheet.numbers.append(number)
        sheet.starts.append(found.start())
        last = number
    sheet.named.update(cell.findall(bare, tag.end, sheet.data_close))


def _find_formulas(sheet: SheetXml) -> None:
    begin = sheet.starts[0] if sheet.starts else sheet.data_close
    tag = re.compile(rf"<{re.escape(sheet.prefix)}f[\s/>]".encode())
    places = (found.start() for found in tag.finditer(sheet.xml, begin, sheet.data_close))
    numbers = (sheet.numbers[bisect_right(sheet.starts, place) - 1] for place in places)
    for number in dict.fromkeys(numbers):
        cells = _row_there(sheet, number).cells.values()
        sheet.formulas += [cell for cell in cells if cell.formula is not None]
    for cell in sheet.formulas:
        about = cell.formula_attributes
        if about.get("t") in ("array", "dataTable") and "ref" in about:
            sheet.arrays.append(area(about["ref"]))


def _row_there(sheet: SheetXml, number: int) -> RowXml:
    """A row that the sheet has, looked into."""
    start = sheet.starts[bisect_left(sheet.numbers, number)]
    scan = _Scan(sheet, [Span(start, sheet.start_behind(number))], within=("", "sheetData"))
    scan.parse()
    return scan.row


_DEEPEST = 12
"""No element that matters is so deep; some files nest a hundred thousand."""


class _Scan:
    """Handlers for one pass over stretches of a sheet's XML: all but the rows, or one of them."""

    def __init__(self, sheet: SheetXml, spans: Sequence[Span], within: Sequence[str] = ()) -> None:
        self.sheet = sheet
        self.row = RowXml(number=-1, tag=Span(0, 0), attributes={})
        self._spans = spans
        self._parser = expat.ParserCreate()
        self._parser.buffer_text = True
        self._parser.StartElementHandler = self.start
        self._parser.EndElementHandler = self.end
        self._parser.CharacterDataHandler = self.characters
        self._path = [*within]
        self._cell: CellXml | None = None
        self._last_column = -1
        self._opened: list[Span] = []
        self._text: list[str] = []

    def parse(self) -> None:
        """Go over it all; raises what expat raises, KeyError and ValueError."""
        for span in self._spans:
            self._parser.Parse(self.sheet.xml[span.start : span.end], False)
        self._parser.Parse(b"", True)

    def _here(self) -> int:
        """Where in the sheet's XML the parser is."""
        index = self._parser.CurrentByteIndex
        for span in self._spans[:-1]:
            if index < span.end - span.start:
                return index + span.start
            index -= span.end - span.start
        return index + self._spans[-1].start

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """An element opens."""
        tag = tag_at(self.sheet.xml, self._here())
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
            close = self._here()
            end = tag_at(self.sheet.xml, close).end
        if path == "sheetData/row":
            self.row.close = close
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
        number = self.sheet.numbers[bisect_left(self.sheet.starts, tag.start)]
        self.row = RowXml(number=number, tag=tag, attributes=attributes)

    def _open_cell(self, tag: Span, attributes: dict[str, str]) -> None:
        row, column = self.row.number, self._last_column + 1
        if "r" in attributes:
            row, column = position(attributes["r"])
        if row != self.row.number or column <= self._last_column:
            raise ValueError(f"cell {cell_name(row, column)} comes twice, or in a wrong place")
        self._last_column = column
        self._cell = CellXml(row=row, column=column, tag=tag, attributes=attributes)
        self.row.cells[column] = self._cell

    def _within_cell(self, path: str, attributes: dict[str, str]) -> None:
        kind = path.removeprefix("sheetData/row/c/")
        if self._cell is None:
            return
        if kind == "f":
            self._cell.formula_attributes = attributes
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
