"""Books of .ods, in one pass over their XML."""

import datetime
import re

from bom.files.sheet.package import Package, Room, too_large, walk_xml
from bom.files.sheet.values import (
    ERROR_WORD,
    MAX_COLUMNS,
    MAX_REPEATED,
    MAX_ROWS,
    NO_RESULT,
    Cells,
    Fault,
    Sheet,
    Value,
    as_percent,
    cell_name,
    clean_text,
    duration,
    exact_number,
    refused,
)
from bom.trade.problem import Where


def read_ods(package: Package) -> tuple[Sheet, ...]:
    """The sheets of an .ods package; raises `Refused` for one that has none or is broken."""
    scan = _TableScan(package.file)
    handlers = scan.start, scan.end, scan.text
    walk_xml(package.part("content.xml"), package.file, *handlers, most=_MOST_TAGS)
    if not scan.sheets:
        raise refused(Where(package.file), "has no sheets")
    return tuple(scan.sheets)


class _TableScan:
    """Handlers for one pass over an OpenDocument `content.xml` that fill `sheets`.

    Runs of blank cells and rows (`repeated`, up to a million) are counted and only written
    out when something follows; a repeated row is one tuple however often it stands there.
    """

    def __init__(self, file: str) -> None:
        self.sheets: list[Sheet] = []
        self._file = file
        self._name: str | None = None
        self._rows: list[Cells] = []
        self._row: list[Value] = []
        self._blank_rows = self._blank_cells = self._width = self._skip = self._paragraphs = 0
        self._row_repeat = 1
        self._repeated = 0
        self._room = Room()
        self._cell: dict[str, str] | None = None
        self._text: list[str] = []
        self._in_text = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """An element opens; notes, drawings and tables within a table are passed over."""
        if self._skip:
            self._skip += 1
        elif name in _ODS_CELLS:
            self._cell, self._text, self._paragraphs = attributes, [], 0
        elif self._cell is not None and name in _ODS_TEXT:
            self._open_text(name, attributes)
        elif name == "table:table-row":
            self._row, self._blank_cells = [], 0
            self._row_repeat = _repeat(attributes, "table:number-rows-repeated", MAX_ROWS)
        elif name == "table:table" and self._name is None:
            self._open_table(attributes)
        elif name == "table:table-source":
            self._name = None  # a stored copy of another file's sheet
        elif name in _ODS_SKIPPED or name.startswith("draw:"):
            self._skip = 1

    def text(self, data: str) -> None:
        """Text, which counts only within a paragraph of a cell."""
        if self._in_text and not self._skip:
            self._text.append(data)

    def end(self, name: str) -> None:
        """An element closes."""
        if self._skip:
            self._skip -= 1
        elif name in _ODS_CELLS:
            self._close_cell()
        elif name == "table:table-row":
            self._close_row()
        elif name == "text:p":
            self._in_text = False
        elif name == "table:table" and self._name is not None:
            self._room.take(self._where(), len(self._rows), self._width)
            self.sheets.append(Sheet(file=self._file, name=self._name, rows=tuple(self._rows)))
            self._name = None

    def _open_table(self, attributes: dict[str, str]) -> None:
        self._name = attributes.get("table:name", "")
        self._rows, self._blank_rows, self._width = [], 0, 0

    def _open_text(self, name: str, attributes: dict[str, str]) -> None:
        if name == "text:p":
            self._in_text = True
            self._text.append("\n" if self._paragraphs else "")
            self._paragraphs += 1
        elif name == "text:s":
            self._text.append(" " * _repeat(attributes, "text:c", _MOST_SPACES))
        elif name in ("text:tab", "text:line-break"):
            self._text.append("\t" if name == "text:tab" else "\n")

    def _close_cell(self) -> None:
        cell, self._cell = self._cell or {}, None
        value = _ods_value(cell, "".join(self._text) if self._paragraphs else None)
        repeat = _repeat(cell, "table:number-columns-repeated", MAX_COLUMNS)
        if value is None:
            self._blank_cells += repeat
            return
        columns = len(self._row) + self._blank_cells + repeat
        if columns > MAX_COLUMNS:
            raise too_large(self._where(), len(self._rows) + self._blank_rows + 1, columns)
        self._repeat(repeat - 1, len(self._row) + self._blank_cells)
        self._row += [None] * self._blank_cells + [value] * repeat
        self._blank_cells = 0

    def _close_row(self) -> None:
        if not self._row:
            self._blank_rows += self._row_repeat
            return
        self._width = max(self._width, len(self._row))
        rows = len(self._rows) + self._blank_rows + self._row_repeat
        if rows > MAX_ROWS:
            raise too_large(self._where(), rows, self._width)
        Room().take(self._where(), rows, self._width)
        filled = sum(cell is not None for cell in self._row)
        self._repeat((self._row_repeat - 1) * filled, 0)
        self._rows += [()] * self._blank_rows + [tuple(self._row)] * self._row_repeat
        self._blank_rows = 0

    def _repeat(self, cells: int, column: int) -> None:
        """Count cells that are the same again: every one of them would be read and told."""
        self._repeated += cells
        if self._repeated > MAX_REPEATED:
            far = cell_name(len(self._rows) + self._blank_rows, column)
            where = Where(self._file, self._name or "", far)
            says = f"from here on the same again: over {MAX_REPEATED:,} repeated cells"
            raise refused(where, says, "delete what is filled in far below or beside the list")

    def _where(self) -> Where:
        return Where(self._file, self._name or "")


_MOST_TAGS = 8_000_000  # a price list of 200,000 rows
_MOST_SPACES = 100  # in a row, within a text
_ODS_CELLS = ("table:table-cell", "table:covered-table-cell")
_ODS_TEXT = ("text:p", "text:s", "text:tab", "text:line-break")
_ODS_SKIPPED = (
    "table:table",  # within a cell
    "office:annotation",
    "table:shapes",
    "table:tracked-changes",
    "text:ruby-text",
)


def _repeat(attributes: dict[str, str], name: str, most: int) -> int:
    if name not in attributes:
        return 1
    match = re.fullmatch(r"[0-9]{1,9}", attributes[name])
    return max(1, min(int(match[0]), most)) if match else most


def _ods_value(cell: dict[str, str], paragraphs: str | None) -> Value:
    """The value of a cell from its attributes and text: OpenDocument, office:value-type.

    LibreOffice writes the result of `=""` as an empty paragraph without a kind; only a
    formula without even that was never calculated.
    """
    kind = cell.get("office:value-type")
    text = paragraphs or ""
    if "table:formula" in cell:
        if cell.get("calcext:value-type") == "error" or ERROR_WORD.fullmatch(text.strip()):
            return Fault(text.strip() or "an error value")
        if kind is None and paragraphs is None:
            return NO_RESULT
    try:
        match kind:
            case "float" | "currency":
                return exact_number(float(cell["office:value"]))
            case "percentage":
                return as_percent(exact_number(float(cell["office:value"])))
            case "boolean":
                return cell["office:boolean-value"] == "true"
            case "date":
                return _iso_date(cell["office:date-value"])
            case "time":
                return _iso_time(cell["office:time-value"])
    except (KeyError, ValueError, OverflowError):
        return Fault(f"a stored {kind} that cannot be read")
    return clean_text(text or cell.get("office:string-value", ""))


def _iso_date(text: str) -> datetime.date:
    if "T" in text:
        return datetime.datetime.fromisoformat(text)
    return datetime.date.fromisoformat(text)


def _iso_time(text: str) -> Value:
    """A stored length of time: `PT01H30M00S` is half past one."""
    match = re.fullmatch(r"(-?)PT(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:\.\d+)?)S)?", text)
    if match is None or match[1]:
        raise ValueError(text)
    hours, minutes, seconds = (float(part or 0) for part in match.groups()[1:])
    return duration(datetime.timedelta(hours=hours, minutes=minutes, seconds=seconds))
