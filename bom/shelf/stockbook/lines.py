"""Cells changed and rows put under lists in a .csv that somebody owns; nothing else touched.

Whatever a spreadsheet program, or its owner, made of the file stays: encoding, separator, line
ends, quotes, titles, blank lines.  Only the records that get a value are written anew, and in
them only the cells that change; to tell record from record is left to Python's `csv`.

What is written is what `files.sheet.text` reads back.  A text that it would take for something
else is refused, and so is a change after which it would find another encoding or separator.
"""

import csv
import io
import re
from collections.abc import Iterable, Sequence

from msgspec import Struct, field

from bom.files.sheet.text import csv_rows, csv_value, decoded, delimiter
from bom.files.sheet.values import MAX_ROWS, Fault, Refused, cell_name, clean_text, refused
from bom.files.sheet.xlsx import position
from bom.files.table import guarded
from bom.shelf.stockbook.edits import Edit, NewRow, Unwritable
from bom.shelf.stockbook.markup import fault, number_text
from bom.shelf.stockbook.plan import Place, columns_of, headed
from bom.trade.problem import Problem, Where, error
from bom.trade.rows import Written

_COMMA = re.compile(r"[+-]?\d+,\d+")
_POINT = re.compile(r"[+-]?\d+\.\d+")
_UNSURE = re.compile(r"[+-]?\d+,\d{3}")  # of thousands, or decimals
_NAMES = {",": "a comma", ";": "a semicolon", "\t": "a tab"}


def relined(data: bytes, where: Where, edits: Sequence[Edit], rows: Sequence[NewRow]) -> bytes:
    r"""The .csv with those cells changed and rows put under their lists; sheet names do not count.

    Edits come first, so a row goes into the place of one that was emptied at a list's end; blank
    lines there are used up before lines are added.  A file without any bytes becomes one with
    commas and `\n`.  Raises `Unwritable` with everything that is in the way, in file order, and
    ValueError for a cell that no sheet has or that is edited twice.
    """
    if not edits and not rows:
        return data
    try:
        page = _read(data, where)
        _put_all(page, edits, rows)
        if page.problems:
            raise Unwritable(*page.problems)
        return _written(page)
    except Refused as refusal:
        raise Unwritable(*refusal.problems) from refusal


# The file as it is


class _CsvRecord(Struct, frozen=True):
    """What `csv` reads in one record, and its text without and with nothing but the line end."""

    cells: list[str]
    text: str
    end: str


class _Page(Struct, kw_only=True):
    """The records of a file, the text put into cells, rows at least so wide, what is in the way."""

    where: Where
    encoding: str
    mark: str
    records: list[_CsvRecord]
    commas: bool
    puts: dict[Place, str] = field(default_factory=dict)
    widths: dict[int, int] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, place: Place, says: str, cure: str = "") -> None:
        """Note what is in the way at a cell."""
        where = Where(self.where.file, self.where.sheet, cell_name(*place))
        self.problems.append(error(where, says, cure))

    def blank(self, place: Place) -> bool:
        """True when the cell says nothing to a reader once the edits are made."""
        if place in self.puts:
            return csv_value(self.puts[place]) is None
        row, column = place
        cells = self.records[row].cells if row < len(self.records) else []
        return column >= len(cells) or csv_value(cells[column]) is None

    def width(self, row: int) -> int:
        """The number of cells of a row once the edits are made."""
        old = self.records[row].text if row < len(self.records) else ""
        put = (column + 1 for number, column in self.puts if number == row)
        return max(len(_fields(old, self.mark)), *put, 1)


def _read(data: bytes, where: Where) -> _Page:
    csv_rows(data, where)  # raises `Refused` for whatever is no list
    text, encoding = decoded(data, where)
    mark = delimiter(text)
    records = _records(text, mark)
    # With commas as separators a number has a point: `1,5` would be two cells.
    commas = mark != "," and _has_decimal_commas(cell for r in records for cell in r.cells)
    return _Page(where=where, encoding=encoding, mark=mark, records=records, commas=commas)


def _records(text: str, mark: str) -> list[_CsvRecord]:
    lines = list(io.StringIO(text, newline=""))
    reader = csv.reader(lines, delimiter=mark, strict=True)
    records = []
    first = 0
    for cells in reader:
        raw = "".join(lines[first : reader.line_num])
        body = raw.removesuffix("\n").removesuffix("\r")
        records.append(_CsvRecord(cells, body, raw[len(body) :]))
        first = reader.line_num
    return records


def _has_decimal_commas(cells: Iterable[str]) -> bool:
    """Whether the numbers have decimal commas; `8,746` says so only where none has a point."""
    numbers = [cell.strip() for cell in cells]
    commas = [text for text in numbers if _COMMA.fullmatch(text)]
    if not all(map(_UNSURE.fullmatch, commas)):
        return True
    return bool(commas) and not any(map(_POINT.fullmatch, numbers))


# What is put where


def _put_all(page: _Page, edits: Sequence[Edit], rows: Sequence[NewRow]) -> None:
    """Put the edits, then the rows under their lists, into the page, or say what is wrong."""
    edited = set()
    for edit in edits:
        place = position(edit.cell)
        if place in edited:
            raise ValueError(f"{edit.cell} is edited twice")
        edited.add(place)
        _put(page, place, edit.value)
    lists: dict[object, list[NewRow]] = {}
    for row in rows:
        columns = headed(page.blank, row.header_row - 1, columns_of(row))
        lists.setdefault((row.header_row, row.last_row, columns), []).append(row)
    for appended in lists.values():
        _append(page, appended)


def _put(page: _Page, place: Place, value: Written) -> None:
    """Put a value into a cell, or note why it cannot be; what is blank is not emptied."""
    wrong = fault(value)
    text = "" if wrong else _spelled(value, page.commas)
    wrong = wrong or _misread(value, text) or _unlettered(text, page.encoding)
    if wrong:
        page.refuse(place, *wrong)
    elif csv_value(text) is not None or not page.blank(place):
        page.puts[place] = text


def _spelled(value: Written, commas: bool) -> str:
    """The text of a cell, before it is put in quotes; numbers as `bom.spelling` reads them.

    >>> _spelled("=1+1", False), _spelled(-5, False)
    ("'=1+1", '-5')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return guarded(value) if clean_text(value) else value
    text = number_text(value)
    if commas:
        text = text.replace(".", ",")
    return f"{text}0" if _UNSURE.fullmatch(text) else text


def _misread(value: Written, text: str) -> tuple[str, str] | None:
    """What is wrong with a text that a .csv cannot hold, since it has nothing but characters."""
    if not isinstance(value, str) or csv_value(text) == clean_text(value):
        return None
    if isinstance(csv_value(text), Fault):
        return f"the text '{value.strip()}' in a .csv is an error value", "use another word"
    says = f"the text '{value.strip()}' in a .csv is read without its quote mark"
    return says, "take the quote mark at its start out"


def _unlettered(text: str, encoding: str) -> tuple[str, str] | None:
    try:
        text.encode(encoding)
    except UnicodeEncodeError as trouble:
        letter = text[trouble.start]
        says = f"the file is in Windows-1252, which has no '{letter}' (U+{ord(letter):04X})"
        return says, "save it as CSV UTF-8"
    return None


def _append(page: _Page, rows: Sequence[NewRow]) -> None:
    """Put rows under the one list they are for."""
    header = rows[0].header_row - 1
    written = frozenset[int]().union(*map(columns_of, rows))
    headings = headed(page.blank, header, written)
    if not headings:
        page.refuse((header, min(written)), "there are no headings in this row")
        return
    columns, width = sorted(written.union(headings)), page.width(header)
    given = rows[0].last_row
    last = _last_row(page, header, columns) if given is None else given - 1
    if last + len(rows) >= MAX_ROWS:
        page.refuse((last, columns[0]), "there is no row left under the list")
        return
    for number, row in enumerate(rows, last + 1):
        taken = next((c for c in columns if not page.blank((number, c))), None)
        if taken is not None:
            says = "is in the way of a new row under the list"
            page.refuse((number, taken), says, "insert empty rows above it, or move it")
            return
        for letters, value in row.values.items():
            _put(page, (number, position(f"{letters}1")[1]), value)
        page.widths[number] = max(width, page.widths.get(number, 0))


def _last_row(page: _Page, header: int, columns: Sequence[int]) -> int:
    """The last row that is not blank in the columns of a list, or its headings."""
    below = max((row for row, _ in page.puts), default=0)
    for row in range(max(below, len(page.records) - 1), header, -1):
        if not all(page.blank((row, column)) for column in columns):
            return row
    return header


# The new text


def _written(page: _Page) -> bytes:
    """The bytes that read as asked; where quotes only as needed do not do, with all quotes.

    Decimal commas of a few cells can be enough to outnumber `;` in a short list.
    """
    for all_quoted in (False, True):
        text = _text(page, all_quoted)
        data = text.encode(page.encoding)
        if decoded(data, page.where)[0] != text:
            says = "with this change the letters of the file would be read as others"
            raise refused(page.where, says, "save it as CSV UTF-8")
        found = delimiter(text)
        if found == page.mark:
            return data
    says = f"with this change {_NAMES[found]} would be taken for the separator of the file"
    raise refused(page.where, says, f"put the texts that have {_NAMES[found]} in them in quotes")


def _text(page: _Page, all_quoted: bool) -> str:
    """The whole text; a file whose last line had no end has none again."""
    bodies = [record.text for record in page.records]
    ends = [record.end for record in page.records]
    changed: dict[int, dict[int, str]] = {row: {} for row in page.widths}
    for (row, column), text in page.puts.items():
        changed.setdefault(row, {})[column] = text
    missing = max(changed, default=-1) + 1 - len(bodies)
    if missing > 0:
        usual = next((end for end in reversed(ends) if end), "\n")
        last = ends[-1] if ends else usual
        bodies += [""] * missing
        ends = [*(end or usual for end in ends), *[usual] * (missing - 1), last]
    for row, puts in changed.items():
        fields = _changed_fields(bodies[row], puts, page.mark)
        fields += [""] * (page.widths.get(row, 0) - len(fields))
        if all_quoted:
            fields = [
                text if text.startswith('"') else _field(text, page.mark, quoted=True)
                for text in fields
            ]
        # As `csv` writes a record of one blank: a line of nothing could join \r before, \n after.
        bodies[row] = page.mark.join(fields) or '""'
    return "".join(body + end for body, end in zip(bodies, ends, strict=True))


def _changed_fields(body: str, puts: dict[int, str], mark: str) -> list[str]:
    """The cells of a record as they stand in its text, with some changed."""
    fields = _fields(body, mark)
    fields += [""] * (max(puts, default=0) + 1 - len(fields))
    for column, text in puts.items():
        fields[column] = _field(text, mark, quoted=fields[column].startswith('"'))
    return fields


def _fields(body: str, mark: str) -> list[str]:
    """The cells of a record with their quotes: `a,"b,c",` is `a`, `"b,c"` and nothing."""
    return re.findall(rf'(?:\A|{mark})("(?:[^"]|"")*+"|[^{mark}]*+)', body)


def _field(text: str, mark: str, *, quoted: bool) -> str:
    """A cell with quotes where it had them, or where a reader could take it for two.

    That is so with any separator: which of them is the file's, a reader finds out by counting
    those outside quotes.  A number is left bare, as spreadsheets write it.
    """
    quoted = quoted or (bool(re.search("[;\t,]", text)) and not _COMMA.fullmatch(text))
    out = io.StringIO()
    writer = csv.writer(
        out,
        delimiter=mark,
        quoting=csv.QUOTE_ALL if quoted else csv.QUOTE_MINIMAL,
        lineterminator="\r\n",
    )
    writer.writerow([text])
    return out.getvalue().removesuffix("\r\n") if text or quoted else ""
