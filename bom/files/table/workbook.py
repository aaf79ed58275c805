"""Tables as .xlsx: a sheet each, with formulas whose results are stored beside them."""

import re
import textwrap
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from io import BytesIO
from typing import TYPE_CHECKING

from msgspec import Struct, field

from bom.files.names import untaken
from bom.files.sheet import cell_name
from bom.files.table.cells import (
    OF_MONEY,
    UNITS,
    Cell,
    Form,
    cut,
    fit_for_a_cell,
    fit_for_files,
    number,
    shown,
    words,
)
from bom.files.table.headed import Foot, Table, feet
from bom.files.wrapping import across
from bom.trade.visible import visible

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

_FORMATS = {
    "text": "@",  # stays text when it is edited: gauge 1.0 does not turn into 1
    "mm": '0 "mm"',
    "m": '0.00 "m"',
    "amps": '0.0# "A"',
    "volts": '0.000 "V"',
    "percent": '0.0"%"',
    "hours": '0.00 "h"',
}
_MADE = datetime(2000, 1, 1)  # a fixed date of making: the same input gives the same bytes
_NAMES = re.compile(r"\{([^{}]+)\}")

_PAPER: dict[str, object] = {"font_name": "Arial", "font_size": 10, "font_scheme": False}
_ROLES: dict[str, dict[str, object]] = {
    "head": {"bold": True, "bg_color": "#E3EAEF", "bottom": 1, "bottom_color": "#7A8B99"},
    "body": {"bottom": 1, "bottom_color": "#DDE3E8"},
    "sum": {"bold": True, "top": 1, "top_color": "#7A8B99"},
    "foot": {},
    "last": {"bold": True},
    "note": {"italic": True, "font_color": "#4A5560"},
}
_MARGIN = 3  # characters that a cell is wider than what is in it
_LEAST_WIDTH, _USUAL_WIDTH = 7, 8  # of a column; of one that was never set
_LEAST_NOTE = 70  # characters across that a note has at least
_LINE_HEIGHT, _HIGHEST = 13, 400  # points, of 10 point letters; no row is over 409
_PORTRAIT_WIDTH = 110  # characters across that an upright A4 page takes, hardly made smaller


def xlsx_bytes(tables: Sequence[Table], *, currency: str = "GBP") -> bytes:
    """A file with one sheet a table: frozen headings, filters, units, totals that recompute.

    The same input gives the same bytes.  Every formula has its result stored beside it, for
    viewers that do not calculate.
    """
    import xlsxwriter

    stream = BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True, "default_format_properties": _PAPER})
    book.set_properties({"created": _MADE})
    looks = _Looks(book=book, currency=re.sub(r'[\[\]"]', "", currency))
    taken = {"history"}  # the one name that spreadsheets keep for themselves
    for table in tables:
        sheet = book.add_worksheet(_sheet_name(table.title, taken))
        _SheetOut(sheet=sheet, table=table, looks=looks).write()
    book.close()
    return stream.getvalue()


def _sheet_name(title: str, taken: set[str]) -> str:
    """A name that no sheet has yet, of 31 letters at most, without forbidden ones."""
    base = re.sub(r"[\[\]:*?/\\]", " ", visible(fit_for_files(title)))
    base = " ".join(base.split()).strip(" '")
    if not _cut(base, 31):
        base = "Sheet"
    return untaken(lambda end: _cut(base, 31 - len(end)) + end, taken)


def _cut(text: str, length: int) -> str:
    return cut(text, length).rstrip(" '")


class _Looks(Struct, frozen=True, kw_only=True):
    """The cell formats of a book, each made once."""

    book: "Workbook"
    currency: str
    made: dict[tuple[str, str], "Format"] = field(default_factory=dict)

    def of(self, role: str, form: str = "text") -> "Format":
        """The look of a cell in a column of that form: a role of `_ROLES`, or one's ` label`."""
        if (role, form) not in self.made:
            label = role.endswith(" label")
            wordy = label or role in ("head", "note")  # never a number
            codes = {} if wordy else _FORMATS | self._money()
            look = self.book.add_format(_PAPER | _ROLES[role.removesuffix(" label")])
            look.set_num_format(codes.get(form, "General"))
            look.set_align("top")
            if form == "text" and not label:
                look.set_align("left")
                look.set_indent(1)  # or words would touch the numbers to their left
                look.set_text_wrap()
            else:
                look.set_align("right")
            self.made[role, form] = look
        return self.made[role, form]

    def _money(self) -> dict[str, str]:
        unit = f" [${self.currency}]"
        return {"money": f"#,##0.00{unit}", "price": f"#,##0.00##{unit}"}

    def shown(self, value: Cell, form: Form) -> str:
        """About what the spreadsheet will show of a cell, for the width of its column."""
        text = shown(value, form)
        if number(value) is None:
            return text
        if form in OF_MONEY:
            return f"{Decimal(text):,} {self.currency}"
        return f"{text} {UNITS[form]}" if form in UNITS else text


class _SheetOut(Struct, kw_only=True):
    """Writes one table to one worksheet, from the top; `row` is the next one, from zero."""

    sheet: "Worksheet"
    table: Table
    looks: _Looks
    row: int = 0
    widths: list[int] = field(default_factory=list)

    def write(self) -> None:
        """Headings, rows, totals, footer, notes, and how it all prints."""
        self._headings()
        for cells in self.table.rows:
            self._data(cells)
        self._footer()
        for index, width in enumerate(self.widths):
            self.sheet.set_column(index, index, width)
        self._heighten()
        self._notes()
        self._page()

    def _headings(self) -> None:
        table = self.table
        for index, heading in enumerate(table.headings):
            name = heading.titled(self.looks.currency)
            self._text(index, name, self.looks.of("head", heading.form))
            self.widths.append(max(min(across(name), heading.wide) + _MARGIN, _LEAST_WIDTH))
        self.sheet.set_row(0, 2 * _LINE_HEIGHT + 2)  # the filter's button has its own line
        self.sheet.freeze_panes(1, 0)
        self.row = 1
        if table.rows:
            last = len(table.rows), len(table.headings) - 1
            self.sheet.autofilter(0, 0, *last)
            area = f"{cell_name(1, 0)}:{cell_name(*last)}"
            self.sheet.ignore_errors({"number_stored_as_text": area})

    def _data(self, cells: Sequence[Cell]) -> None:
        numbers: dict[str, str] = {}
        for index, heading in enumerate(self.table.headings):
            if number(cells[index]) is not None:
                numbers.setdefault(heading.name, cell_name(self.row, index))
        for index, heading in enumerate(self.table.headings):
            known = all(name in numbers for name in self._names(heading.formula))
            formula = _NAMES.sub(lambda m: numbers[m[1]], heading.formula) if known else ""
            self._put(index, cells[index], "body", formula)
        self.row += 1

    def _names(self, formula: str) -> list[str]:
        """The headings a row's formula names; KeyError for one that the table does not have."""
        names = _NAMES.findall(formula)
        if unknown := set(names) - {heading.name for heading in self.table.headings}:
            raise KeyError(f"'{self.table.title}' has no heading {sorted(unknown)}: {formula}")
        return names

    def _footer(self) -> None:
        below, last = feet(self.table), self.row - 1
        columns = [f"{cell_name(1, i)}:{cell_name(last, i)}" for i in range(len(self.widths))]
        places = dict(zip((h.name for h in self.table.headings), columns, strict=True))
        for foot in below:
            role = "sum" if foot.is_sum else "last" if foot is below[-1] else "foot"
            for index in range(len(self.widths) if foot.is_sum else 0):  # ruled off all across
                self.sheet.write_blank(self.row, index, None, self.looks.of("sum"))
            for index, value in foot.values.items():
                formula = foot.formula if self.table.rows else ""  # no rows, no columns to name
                formula = _NAMES.sub(lambda m: places[m[1]], formula)
                formula = f"SUM({columns[index]})" if foot.is_sum else formula
                self._put(index, value, role, formula)
                name = self.table.headings[index].name if foot.is_sum else foot.label
                places[name] = cell_name(self.row, index)
            self._label(foot, role)
            self.row += 1

    def _label(self, foot: Foot, role: str) -> None:
        """Against its value; it runs out over the empty cells to the left."""
        at = foot.label_column
        if at is not None:
            self._text(at, foot.label, self.looks.of(f"{role} label"))
            short = across(foot.label) + _MARGIN - sum(self.widths[: at + 1])
            self.widths[at] += max(short, 0)

    def _notes(self) -> None:
        """Each across the table and beyond a narrow one, in a row high enough for it."""
        look = self.looks.of("note")
        last, width = len(self.widths) - 1, sum(self.widths)
        while width < _LEAST_NOTE:
            last, width = last + 1, width + _USUAL_WIDTH
        for note in self.table.notes:
            self.row += 1
            if last:
                self.sheet.merge_range(self.row, 0, self.row, last, "", look)
            self._text(0, note, look)
            lines = _lines(fit_for_files(note), width)
            self.sheet.set_row(self.row, min(_LINE_HEIGHT * lines + 2, _HIGHEST))

    def _put(self, index: int, value: Cell, role: str, formula: str = "") -> None:
        """A value in its column, which grows to what it shows."""
        heading, exact = self.table.headings[index], number(value)
        look = self.looks.of(role, heading.form)
        if exact is None:
            self._text(index, words(value), look)
        elif formula:
            self.sheet.write_formula(self.row, index, f"={formula}", look, float(exact))
        else:
            self.sheet.write_number(self.row, index, float(exact), look)
        width = across(self.looks.shown(value, heading.form))
        width = min(width, heading.wide) if heading.form == "text" else width
        self.widths[index] = max(self.widths[index], width + _MARGIN)

    def _text(self, index: int, text: str, look: "Format") -> None:
        text = fit_for_a_cell(text)
        if text.startswith("<r>") and text.endswith("</r>"):
            text += " "  # or XlsxWriter takes it for its own mark-up of rich text
        if text:
            self.sheet.write_string(self.row, index, text, look)
        else:
            self.sheet.write_blank(self.row, index, None, look)  # "" is an error in a sum

    def _heighten(self) -> None:
        """Rows with wrapped text: not every program finds their height by itself."""
        for row, cells in enumerate(self.table.rows, start=1):
            lines = [
                _lines(fit_for_files(cell), width)
                for cell, width in zip(cells, self.widths, strict=True)
                if isinstance(cell, str)
            ]
            if max(lines, default=1) > 1:
                self.sheet.set_row(row, min(_LINE_HEIGHT * max(lines) + 2, _HIGHEST))

    def _page(self) -> None:
        self.sheet.hide_gridlines(2)
        self.sheet.set_paper(9)  # A4
        if sum(self.widths) > _PORTRAIT_WIDTH:
            self.sheet.set_landscape()
        self.sheet.set_margins(left=0.6, right=0.6, top=0.6, bottom=0.8)
        self.sheet.fit_to_pages(1, 0)
        self.sheet.repeat_rows(0)
        title = visible(_cut(fit_for_files(self.table.title), 100)).replace("&", "&&")
        font = '&"Arial,Regular"&8 '
        self.sheet.set_footer(f"&L{font}{title}&R{font}page &P of &N")


def _lines(text: str, width: int) -> int:
    """Lines that text takes in a cell that is `width` digits across, rather one too many."""
    return sum(
        max(1, len(textwrap.wrap(line, max(1, int((width - 1.5) / _pitch(line))))))
        for line in text.split("\n")
    )


def _pitch(line: str) -> float:
    """The average width of its letters in digits, in Arial: small ones take less, capitals more."""
    capitals = sum(letter.isupper() for letter in line)
    return (0.85 * across(line) + 0.4 * capitals) / (len(line) or 1) or 1
