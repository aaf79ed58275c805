"""Tables on the way out: printed, as .xlsx and as .csv; the only file that writes them.

Text is always text: in .xlsx it is written as a string, never as a formula, and in .csv what
a spreadsheet would take for a formula gets a quote in front.  Files are made in memory and
put in their place whole (`safely`), so that half a file never stands where the user looks.
"""

import math
import re
import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from decimal import ROUND_HALF_UP, Context, Decimal
from io import BytesIO
from itertools import chain, count
from pathlib import Path
from typing import TYPE_CHECKING, Literal, TypeAlias

from msgspec import Struct, field
from msgspec.structs import replace

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

    from bom.files.safely import Seen

Cell: TypeAlias = str | int | Decimal | float | bool | None
"""What a cell can hold; a per cent is its number of hundredths: 5 is shown as 5.0 %."""

Form = Literal["text", "mm", "m", "count", "money", "amps", "volts", "percent", "quantity", "hours"]
"""How a column is shown; the unit of its numbers is that of the form."""

_UNITS = {"mm": "mm", "m": "m", "amps": "A", "volts": "V", "percent": "%", "hours": "h"}
_DECIMALS = {"mm": 0, "m": 2, "money": 2, "amps": 2, "volts": 3, "percent": 1, "hours": 2}
_XLSX_FORMATS = {
    "text": "@",  # stays text when it is edited: gauge 1.0 does not turn into 1
    "mm": '0 "mm"',
    "m": '0.00 "m"',
    "amps": '0.0# "A"',
    "volts": '0.000 "V"',
    "percent": '0.0"%"',
    "hours": '0.00 "h"',
}
_MANY_DIGITS = Context(prec=400)  # any float written out in full has fewer
_NARROWEST = 10  # characters below which a column of words is not squeezed
_NOTE_WIDTH = 96
_MADE = datetime(2000, 1, 1)  # a fixed date of making: the same input gives the same bytes

_BAD_IN_PRINT = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")
_BAD_IN_FILES = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")  # XML 1.0, 2.2 Char
_SURROGATES = re.compile("[\ud800-\udfff]")  # a file name that is no UTF-8 has them
_NAMES = re.compile(r"\{([^{}]+)\}")


class Heading(Struct, frozen=True, kw_only=True):
    """One column: `form` gives alignment, decimals and unit, `total` asks for its sum.

    `formula` is for .xlsx only: `ROUND({packs}*{price},2)`, the names of headings in braces
    standing for the cells of the same row; the row's own value is stored as its result.  A
    row gets no formula when its own value or a cell named is not a number: an unpriced line
    stays blank instead of turning into 0.  `wide` is the most characters across; longer
    text is wrapped.
    """

    name: str
    form: Form = "text"
    total: bool = False
    formula: str = ""
    wide: int = 40


class Table(Struct, frozen=True, kw_only=True):
    """Rows under headings, each row as long as `headings` (else ValueError).

    `footer` holds (label, value, .xlsx formula or "") lines under the table; the value
    stands in the last column with a total, else in the last column of numbers.  In a
    footer's formula braces name an earlier footer by its label, or a heading: the cell
    below the column where it has a total, else the column itself (`SUM({cost})`).
    `notes` are sentences under it all.
    """

    title: str
    headings: tuple[Heading, ...]
    rows: tuple[tuple[Cell, ...], ...]
    footer: tuple[tuple[str, Cell, str], ...] = ()
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for number, row in enumerate(self.rows, start=1):
            if len(row) != len(self.headings):
                raise ValueError(
                    f"'{self.title}': row {number} has {len(row)} cells "
                    f"under {len(self.headings)} headings"
                )


# Values


def _number(value: Cell) -> Decimal | None:
    """The exact number of a cell, a float to the 15 figures a spreadsheet keeps; else None."""
    if value is None or isinstance(value, str | bool):
        return None
    if isinstance(value, float):
        return Decimal(f"{value:.15g}") if math.isfinite(value) else None
    return Decimal(value) if math.isfinite(value) else None


def _words(value: Cell) -> str:
    """The text of a cell that holds no number."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _rounded(number: Decimal, decimals: int) -> str:
    """Half away from zero, as spreadsheets round; never a minus before nothing.

    >>> _rounded(Decimal("0.125"), 2), _rounded(Decimal("-0.001"), 2)
    ('0.13', '0.00')
    """
    unit = Decimal(1).scaleb(-decimals)
    result = number.quantize(unit, ROUND_HALF_UP, _MANY_DIGITS)
    return format(result if result else abs(result), "f")


def _plain(number: Decimal) -> str:
    """Without exponent and without zeros at the end."""
    text = format(number if number else abs(number), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _shown(value: Cell, form: Form) -> str:
    """A cell as it is printed, without its unit and not yet wrapped."""
    number = _number(value)
    if number is None:
        return _printable(_words(value))
    if form == "amps":
        return _plain(Decimal(_rounded(number, _DECIMALS[form])))
    return _rounded(number, _DECIMALS[form]) if form in _DECIMALS else _plain(number)


def _printable(text: str) -> str:
    """Nothing that moves the cursor, colours a terminal or turns the direction of a line."""
    return _BAD_IN_PRINT.sub(" ", _SURROGATES.sub("\ufffd", text))


def _fit_for_files(text: str) -> str:
    """Line breaks and tabs stay; what XML or UTF-8 cannot hold goes."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return _BAD_IN_FILES.sub("", _SURROGATES.sub("\ufffd", text))


def _across(text: str) -> int:
    """Columns a text takes on a screen of fixed pitch: ideographs take two."""
    if text.isascii():
        return len(text)
    return sum(2 if unicodedata.east_asian_width(letter) in "WF" else 1 for letter in text)


# Layout common to print and .xlsx


class _Foot(Struct, frozen=True, kw_only=True):
    """A line under the rows: values by column, and the label's column if it has one."""

    label: str
    label_column: int | None
    values: Mapping[int, Cell]
    formula: str = ""
    is_sum: bool = False


def _titled(heading: Heading, currency: str) -> str:
    """The name of a column with its unit, unless it says so itself (`hours`)."""
    unit = currency if heading.form == "money" else _UNITS.get(heading.form, "")
    said = {unit, heading.form} & set(heading.name.split())
    return heading.name if said else f"{heading.name} {unit}".strip()


def _value_column(headings: Sequence[Heading]) -> int:
    totals = [index for index, heading in enumerate(headings) if heading.total]
    numbers = [index for index, heading in enumerate(headings) if heading.form != "text"]
    return max(1, (totals or numbers or [len(headings) - 1])[-1])


def _laid_out(table: Table) -> Table:
    """With a nameless column at the end where the only one has the footer's labels in it."""
    if not table.footer or _value_column(table.headings) < len(table.headings):
        return table
    return replace(
        table,
        headings=(*table.headings, Heading(name="", form="quantity")),
        rows=tuple((*row, None) for row in table.rows),
    )


def _feet(table: Table) -> list[_Foot]:
    """The totals, if any are asked for and there is something to add, then the footer."""
    feet = []
    totals = [index for index, heading in enumerate(table.headings) if heading.total]
    if totals and table.rows:
        feet.append(
            _Foot(
                label="subtotal" if table.footer else "total",
                label_column=totals[0] - 1 if totals[0] else None,
                values={index: _sum(row[index] for row in table.rows) for index in totals},
                is_sum=True,
            )
        )
    at = _value_column(table.headings)
    for label, value, formula in table.footer:
        feet.append(_Foot(label=label, label_column=at - 1, values={at: value}, formula=formula))
    return feet


def _sum(values: Iterable[Cell]) -> Decimal:
    return sum((number for value in values if (number := _number(value)) is not None), Decimal())


# Print


def as_text(table: Table, width: int | None = None, *, currency: str = "GBP") -> str:
    """The table for a terminal: title, aligned columns, totals, footer, notes.

    With a `width` in characters the widest columns of words are wrapped more narrowly until
    the table fits, if it can.
    """
    lines = [_printable(table.title), ""]
    if table.rows or table.footer:
        lines += _grid(_laid_out(table), width, currency)
    else:
        lines.append("(nothing)")
    if table.notes:
        lines.append("")
    for note in table.notes:
        lines += textwrap.wrap(_printable(note), width or _NOTE_WIDTH, subsequent_indent="  ")
    return "\n".join(lines)


def _grid(table: Table, width: int | None, currency: str) -> list[str]:
    from tabulate import SEPARATING_LINE, tabulate

    headings = table.headings
    body = [[_printable(_titled(heading, currency)) for heading in headings]]
    body += [[_shown(*cell) for cell in _with_forms(row, headings)] for row in table.rows]
    feet = _feet(table)
    sums = [[_shown(*cell) for cell in _with_forms(_spread(f, table), headings)] for f in feet]
    limits = _limits([*body, *sums], headings, width)
    body = [[_wrapped(*pair) for pair in zip(row, limits, strict=True)] for row in body]
    _place_long_labels(feet, sums, [_widest(column) for column in zip(*body, *sums, strict=True)])
    # Without headers: tabulate would make every column two wider than its heading.
    rows = [
        body[0],
        [SEPARATING_LINE],
        *body[1:],
        *([[SEPARATING_LINE]] if table.rows and sums else []),
        *sums,
    ]
    align = ["left" if heading.form == "text" else "right" for heading in headings]
    text = tabulate(rows, tablefmt="simple", disable_numparse=True, colalign=align)
    rule, *lines = text.splitlines()[:-1]
    return _labelled(lines, feet, [match.end() for match in re.finditer("-+", rule)])


def _with_forms(row: Iterable[Cell], headings: Iterable[Heading]) -> Iterator[tuple[Cell, Form]]:
    return ((cell, heading.form) for cell, heading in zip(row, headings, strict=True))


def _spread(foot: _Foot, table: Table) -> list[Cell]:
    return [foot.values.get(index) for index in range(len(table.headings))]


def _limits(
    rows: Sequence[Sequence[str]], headings: Sequence[Heading], width: int | None
) -> list[int]:
    """Characters across of each column; numbers are never wrapped."""
    limits = [
        max(_across(text) for text in column)
        if heading.form != "text"
        else min(max(_across(text) for text in column), heading.wide)
        for column, heading in zip(zip(*rows, strict=True), headings, strict=True)
    ]
    words = [index for index, heading in enumerate(headings) if heading.form == "text"]
    while width and words and sum(limits) + 2 * (len(limits) - 1) > width:
        widest = max(words, key=limits.__getitem__)
        if limits[widest] <= _NARROWEST:
            break
        limits[widest] -= 1
    return limits


def _wrapped(text: str, wide: int) -> str:
    if (across := _across(text)) <= wide:
        return text
    letters = max(1, wide * len(text) // across)
    return "\n".join(textwrap.wrap(text, letters, break_on_hyphens=False))


def _widest(cells: Iterable[str]) -> int:
    return max(_across(line) for cell in cells for line in cell.split("\n"))


def _place_long_labels(
    feet: Sequence[_Foot], sums: Sequence[list[str]], widths: Sequence[int]
) -> None:
    """Put a label into its cell, so that the column grows, where it has no room to the left."""
    for foot, cells in zip(feet, sums, strict=True):
        at = foot.label_column
        if at is not None and _across(foot.label) > sum(widths[: at + 1]) + 2 * at:
            cells[at] = _printable(foot.label)


def _labelled(lines: list[str], feet: Sequence[_Foot], ends: Sequence[int]) -> list[str]:
    """With the labels of the last lines set against their values, over the empty columns."""
    first = len(lines) - len(feet)
    for number, foot in enumerate(feet, start=first):
        at = foot.label_column
        if at is not None and not lines[number][: ends[at]].strip():
            label = _printable(foot.label)
            room = " " * (ends[at] - _across(label))
            lines[number] = room + label + lines[number][ends[at] :]
    return [line.rstrip() for line in lines]


# Files


def guarded(text: str) -> str:
    """Text for a CSV cell: what a spreadsheet would take for a formula gets a quote.

    >>> guarded("=1+1"), guarded("red")
    ("'=1+1", 'red')
    """
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t")) else text


def write_csv(
    path: Path, table: Table, *, currency: str = "GBP", seen: "Seen | None" = None
) -> None:
    """Write headings with units, and the rows: UTF-8 with a byte order mark, commas (RFC 4180).

    Numbers are plain and not rounded, money has at least two decimals; no totals, footer
    or notes.  Raises OSError where the file cannot be written, or with `seen` is no longer the one
    that was read; what was there then stays.
    """
    from bom.files import safely

    safely.put(path, csv_bytes(table, currency=currency), seen=seen)


def csv_bytes(table: Table, *, currency: str = "GBP") -> bytes:
    """The file that `write_csv` writes."""
    lines = [[_csv_text(_titled(heading, currency)) for heading in table.headings]]
    lines += [[_csv_cell(*cell) for cell in _with_forms(row, table.headings)] for row in table.rows]
    text = "".join((",".join(line) or '""') + "\r\n" for line in lines)
    return text.encode("utf-8-sig")


def _csv_cell(value: Cell, form: Form) -> str:
    number = _number(value)
    if number is None:
        return _csv_text(_words(value))
    text = _plain(number)
    if form == "money":
        pounds, _, pence = text.partition(".")
        text = f"{pounds}.{pence:0<2}"
    return text


def _csv_text(text: str) -> str:
    """In quotes wherever a reader could take a mark in it for the end of the cell."""
    text = _fit_for_files(text)
    text = guarded(text) if text.strip() else ""
    if re.search(r'[",;\t\n]', text):
        return '"' + text.replace('"', '""') + '"'
    return text


# .xlsx


def write_xlsx(path: Path, tables: Sequence[Table], *, currency: str = "GBP") -> None:
    """Write one sheet a table: frozen headings, filters, units, totals that recompute.

    The same input gives the same bytes.  Every formula has its result stored beside it, for
    viewers that do not calculate.  Raises OSError where the file cannot be written; what was
    there then stays.
    """
    import xlsxwriter

    from bom.files import safely

    stream = BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True, "default_format_properties": _PAPER})
    book.set_properties({"created": _MADE})
    looks = _Looks(book=book, currency=re.sub(r'[\[\]"]', "", currency))
    taken = {"history"}  # the one name that spreadsheets keep for themselves
    for table in tables:
        sheet = book.add_worksheet(_sheet_name(table.title, taken))
        _SheetOut(sheet=sheet, table=_laid_out(table), looks=looks).write()
    book.close()
    safely.put(path, stream.getvalue())


def _sheet_name(title: str, taken: set[str]) -> str:
    """A name that no sheet has yet, of 31 letters at most, without forbidden ones."""
    base = re.sub(r"[\[\]:*?/\\]", " ", _printable(_fit_for_files(title)))
    base = _cut(" ".join(base.split()).strip(" '"), 31) or "Sheet"
    names = (f"{_cut(base, 31 - len(f' ({n})'))} ({n})" for n in count(2))
    name = next(name for name in chain((base,), names) if name.lower() not in taken)
    taken.add(name.lower())
    return name


def _cut(text: str, length: int) -> str:
    """At most `length` units of UTF-16, in which spreadsheets count."""
    while len(text.encode("utf-16-le")) > 2 * length:
        text = text[:-1]
    return text.rstrip(" '")


class _Looks(Struct, frozen=True, kw_only=True):
    """The cell formats of a book, each made once."""

    book: "Workbook"
    currency: str
    made: dict[tuple[str, str], "Format"] = field(default_factory=dict)

    def number_format(self, form: str) -> str:
        """The format code of a form, its unit in it."""
        if form == "money":
            return f"#,##0.00 [${self.currency}]"
        return _XLSX_FORMATS.get(form, "General")

    def of(self, role: str, form: str = "text") -> "Format":
        """The look of a cell of that role (a key of `_ROLES`) in a column of that form."""
        if (role, form) not in self.made:
            look = self.book.add_format(_PAPER | _ROLES[role])
            look.set_num_format("General" if role in _WORDY else self.number_format(form))
            look.set_align("top")
            if form == "text" and role not in _LABELS:
                look.set_align("left")
                look.set_indent(1)  # or words would touch the numbers to their left
                look.set_text_wrap()
            else:
                look.set_align("right")
            self.made[role, form] = look
        return self.made[role, form]

    def shown(self, value: Cell, form: Form) -> str:
        """About what the spreadsheet will show of a cell, for the width of its column."""
        text = _shown(value, form)
        if _number(value) is None:
            return text
        if form == "money":
            return f"{Decimal(text):,} {self.currency}"
        return f"{text} {_UNITS[form]}" if form in _UNITS else text


_PAPER: dict[str, object] = {"font_name": "Arial", "font_size": 10, "font_scheme": False}
_ROLES: dict[str, dict[str, object]] = {
    "head": {"bold": True, "bg_color": "#E3EAEF", "bottom": 1, "bottom_color": "#7A8B99"},
    "body": {"bottom": 1, "bottom_color": "#DDE3E8"},
    "sum": {"bold": True, "top": 1, "top_color": "#7A8B99"},
    "foot": {},
    "last": {"bold": True},
    "sum label": {"bold": True, "top": 1, "top_color": "#7A8B99"},
    "foot label": {},
    "last label": {"bold": True},
    "note": {"italic": True, "font_color": "#4A5560"},
}


_LABELS = {"sum label", "foot label", "last label"}
_WORDY = {"head", "note"} | _LABELS  # roles whose cells never hold a number
_MARGIN = 3  # characters that a cell is wider than what is in it
_LEAST_WIDTH, _USUAL_WIDTH = 7, 8  # of a column; of one that was never set
_LEAST_NOTE = 70  # characters across that a note has at least
_LINE_HEIGHT, _HIGHEST = 13, 400  # points, of 10 point letters; no row is over 409
_PORTRAIT_WIDTH = 110  # characters across that an upright A4 page takes, hardly made smaller


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
            name = _titled(heading, self.looks.currency)
            self._text(index, name, self.looks.of("head", heading.form))
            self.widths.append(max(min(_across(name), heading.wide) + _MARGIN, _LEAST_WIDTH))
        self.sheet.set_row(0, 2 * _LINE_HEIGHT + 2)  # the filter's button has its own line
        self.sheet.freeze_panes(1, 0)
        self.row = 1
        if table.rows:
            last = len(table.rows), len(table.headings) - 1
            self.sheet.autofilter(0, 0, *last)
            area = f"{_reference(1, 0)}:{_reference(*last)}"
            self.sheet.ignore_errors({"number_stored_as_text": area})

    def _data(self, cells: Sequence[Cell]) -> None:
        numbers: dict[str, str] = {}
        for index, heading in enumerate(self.table.headings):
            if _number(cells[index]) is not None:
                numbers.setdefault(heading.name, _reference(self.row, index))
        for index, heading in enumerate(self.table.headings):
            known = all(name in numbers for name in self._names(heading.formula))
            formula = _NAMES.sub(lambda m: numbers[m[1]], heading.formula) if known else ""
            self._cell(index, cells[index], self.looks.of("body", heading.form), formula)
            self._widen(index, self.looks.shown(cells[index], heading.form))
        self.row += 1

    def _names(self, formula: str) -> list[str]:
        """The headings a row's formula names; KeyError for one that the table does not have."""
        names = _NAMES.findall(formula)
        if unknown := set(names) - {heading.name for heading in self.table.headings}:
            raise KeyError(f"'{self.table.title}' has no heading {sorted(unknown)}: {formula}")
        return names

    def _footer(self) -> None:
        feet = _feet(self.table)
        last = self.row - 1
        columns = [f"{_reference(1, i)}:{_reference(last, i)}" for i in range(len(self.widths))]
        places = dict(zip((h.name for h in self.table.headings), columns, strict=True))
        for foot in feet:
            role = "sum" if foot.is_sum else "last" if foot is feet[-1] else "foot"
            if foot.is_sum:
                self._rule_off()
            for index, value in foot.values.items():
                heading = self.table.headings[index]
                formula = foot.formula if self.table.rows else ""  # no rows, no columns to name
                formula = _NAMES.sub(lambda m: places[m[1]], formula)
                formula = f"SUM({columns[index]})" if foot.is_sum else formula
                self._cell(index, value, self.looks.of(role, heading.form), formula)
                self._widen(index, self.looks.shown(value, heading.form))
                places[heading.name if foot.is_sum else foot.label] = _reference(self.row, index)
            self._label(foot, role)
            self.row += 1

    def _rule_off(self) -> None:
        for index in range(len(self.widths)):
            self.sheet.write_blank(self.row, index, None, self.looks.of("sum"))

    def _label(self, foot: _Foot, role: str) -> None:
        """Against its value; it runs out over the empty cells to the left."""
        at = foot.label_column
        if at is not None:
            self._text(at, foot.label, self.looks.of(f"{role} label"))
            short = _across(foot.label) + _MARGIN - sum(self.widths[: at + 1])
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
            lines = _lines(_fit_for_files(note), width)
            self.sheet.set_row(self.row, min(_LINE_HEIGHT * lines + 2, _HIGHEST))

    def _cell(self, index: int, value: Cell, look: "Format", formula: str = "") -> None:
        number = _number(value)
        if number is not None and formula:
            self.sheet.write_formula(self.row, index, f"={formula}", look, float(number))
        elif number is not None:
            self.sheet.write_number(self.row, index, float(number), look)
        else:
            self._text(index, _words(value), look)

    def _text(self, index: int, text: str, look: "Format") -> None:
        text = _fit_for_files(text)
        if text.startswith("<r>") and text.endswith("</r>"):
            text += " "  # or XlsxWriter takes it for its own mark-up of rich text
        if text:
            self.sheet.write_string(self.row, index, text, look)
        else:
            self.sheet.write_blank(self.row, index, None, look)  # "" is an error in a sum

    def _widen(self, index: int, text: str) -> None:
        heading = self.table.headings[index]
        width = min(_across(text), heading.wide) if heading.form == "text" else _across(text)
        self.widths[index] = max(self.widths[index], width + _MARGIN)

    def _heighten(self) -> None:
        """Rows with wrapped text: not every program finds their height by itself."""
        for row, cells in enumerate(self.table.rows, start=1):
            lines = [
                _lines(_fit_for_files(cell), width)
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
        title = _printable(_cut(_fit_for_files(self.table.title), 100)).replace("&", "&&")
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
    return (0.85 * _across(line) + 0.4 * capitals) / (len(line) or 1) or 1


def _reference(row: int, column: int) -> str:
    from xlsxwriter.utility import xl_rowcol_to_cell

    return str(xl_rowcol_to_cell(row, column))
