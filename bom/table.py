"""Tables on the way out: printed, as .xlsx and as .csv; the only file that writes them.

Files are written beside their place and moved there whole, so that half a file never
stands where the user looks for one.  Text is always text: in .xlsx it is written as a
string, never as a formula, and in .csv what a spreadsheet would take for a formula gets
a quote in front.
"""

import csv
import io
import os
import re
import tempfile
import textwrap
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

Cell: TypeAlias = str | int | Decimal | float | bool | None
Form = Literal["text", "mm", "m", "count", "money", "amps", "volts", "percent", "quantity", "hours"]

UNITS: dict[str, str] = {
    "mm": "mm",
    "m": "m",
    "amps": "A",
    "volts": "V",
    "percent": "%",
    "hours": "h",
}
XLSX_FORMATS: dict[str, str] = {
    "mm": '0 "mm"',
    "m": '0.00 "m"',
    "count": "0",
    "amps": '0.0# "A"',
    "volts": '0.000 "V"',
    "percent": '0.0"%"',
    "quantity": "0.###",
    "hours": '0.00 "h"',
}
DECIMALS: dict[str, int] = {"mm": 0, "m": 2, "money": 2, "volts": 3, "percent": 1, "hours": 2}
LANDSCAPE_FROM = 95
"""Characters across from which a sheet is printed across the page."""
MADE = datetime(2000, 1, 1)
"""A fixed date of making, so that the same input gives the same file."""

_CONTROLS = re.compile(r"[\x00-\x1f\x7f\ufffe\uffff]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """One column; `form` gives unit and decimals, `total` asks for the sum below it.

    `formula` is for .xlsx only: `ROUND({packs}*{price},2)` with the names of headings in
    braces; the row's own value is stored as its result.  `wide` is the most characters.
    """

    name: str
    form: Form = "text"
    total: bool = False
    formula: str = ""
    wide: int = 40

    @property
    def title(self) -> str:
        """The name with its unit."""
        unit = UNITS.get(self.form, "")
        return f"{self.name} {unit}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under headings; `footer` holds (label, value, xlsx formula or empty) lines."""

    title: str
    headings: tuple[Heading, ...]
    rows: tuple[tuple[Cell, ...], ...]
    footer: tuple[tuple[str, Cell, str], ...] = ()
    notes: tuple[str, ...] = ()


# --------------------------------------------------------------------------------- print


def as_text(table: Table, width: int | None = None) -> str:
    """The table for a terminal: title, aligned columns, totals, footer, notes.

    `width` wraps the notes; columns keep their own widths.
    """
    from tabulate import tabulate

    headings = table.headings
    body = [
        [_wrapped(_shown(cell, h.form), h.wide) for cell, h in zip(row, headings, strict=True)]
        for row in table.rows
    ]
    last = _footer_rows(table)
    lines = [table.title, ""]
    if body or last:
        text = tabulate(
            [*body, *last],
            headers=[heading.title for heading in headings],
            tablefmt="simple",
            disable_numparse=True,
            colalign=["left" if h.form == "text" else "right" for h in headings],
        ).splitlines()
        if last:
            text.insert(len(text) - len(last), text[1])
        lines += [line.rstrip() for line in text]
    else:
        lines.append("(nothing)")
    if table.notes:
        lines.append("")
    for note in table.notes:
        lines += textwrap.wrap(note, width or 96, subsequent_indent="  ")
    return "\n".join(lines)


def _footer_rows(table: Table) -> list[list[str]]:
    """The totals row, then the footer's lines, in the columns they belong to."""
    headings = table.headings
    rows = []
    if table.rows and any(heading.total for heading in headings):
        sums = [
            _shown(_sum(table, index), heading.form) if heading.total else ""
            for index, heading in enumerate(headings)
        ]
        sums[0] = sums[0] or "total"
        rows.append(sums)
    at = _value_column(table)
    for label, value, _ in table.footer:
        line = [""] * len(headings)
        line[_label_column(table)] = label
        line[at] = _shown(value, headings[at].form)
        rows.append(line)
    return rows


def _label_column(table: Table) -> int:
    """The widest column of words left of the values: there a label has room."""
    words = [i for i, h in enumerate(table.headings[: _value_column(table)]) if h.form == "text"]
    return max(words, key=lambda i: (table.headings[i].wide, -i), default=0)


def _value_column(table: Table) -> int:
    totals = [index for index, heading in enumerate(table.headings) if heading.total]
    return totals[-1] if totals else len(table.headings) - 1


def _sum(table: Table, index: int) -> Decimal:
    values = (row[index] for row in table.rows)
    return sum((_exact(value) for value in values if value is not None), Decimal())


def _exact(value: Cell) -> Decimal:
    return value if isinstance(value, Decimal) else Decimal(str(value or 0))


def _shown(value: Cell, form: Form) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return _CONTROLS.sub(" ", value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if form in DECIMALS:
        return f"{_exact(value):.{DECIMALS[form]}f}"
    if form != "amps":
        return f"{_exact(value):f}"
    return f"{_exact(value):.2f}".rstrip("0").rstrip(".")


def _wrapped(text: str, wide: int) -> str:
    return "\n".join(textwrap.wrap(text, wide)) if len(text) > wide else text


# --------------------------------------------------------------------------------- files


@contextmanager
def _put(path: Path) -> Iterator[Path]:
    """A name beside `path` to write to; it takes the place of `path` when all went well."""
    if path.is_dir():
        raise IsADirectoryError(21, "this is a folder", str(path))
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    os.close(handle)
    beside = Path(name)
    try:
        yield beside
        beside.chmod(0o666 & ~_umask())
        os.replace(beside, path)
    finally:
        beside.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def guarded(text: str) -> str:
    """Text for a CSV cell: what a spreadsheet would take for a formula gets a quote.

    >>> guarded("=1+1"), guarded("red")
    ("'=1+1", 'red')
    """
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text


def write_csv(path: Path, table: Table) -> None:
    """Headings and rows, UTF-8 with a byte order mark; numbers plain, no totals."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow([guarded(heading.title) for heading in table.headings])
    for row in table.rows:
        writer.writerow([_csv_cell(cell) for cell in row])
    with _put(path) as beside:
        beside.write_text(stream.getvalue(), encoding="utf-8-sig", newline="")


def _csv_cell(value: Cell) -> str:
    if isinstance(value, str):
        return guarded(value.replace("\0", ""))
    return _shown(value, "quantity")


def write_xlsx(path: Path, tables: Sequence[Table], *, currency: str = "GBP") -> None:
    """One sheet a table, with frozen headings, filters, units, totals that recompute."""
    import xlsxwriter

    with _put(path) as beside:
        book = xlsxwriter.Workbook(str(beside))
        book.set_properties({"created": MADE})
        taken: set[str] = set()
        for table in tables:
            _Sheet(book, book.add_worksheet(_sheet_name(table.title, taken)), currency).write(table)
        book.close()


def _sheet_name(title: str, taken: set[str]) -> str:
    base = re.sub(r"[\[\]:*?/\\]", " ", _CONTROLS.sub(" ", title)).strip(" '")[:31] or "Sheet"
    name, number = base, 2
    while name.casefold() in taken:
        name = f"{base[:27]} ({number})"
        number += 1
    taken.add(name.casefold())
    return name


class _Sheet:
    """Writes one table to one worksheet."""

    def __init__(self, book: "Workbook", sheet: "Worksheet", currency: str) -> None:
        self.sheet = sheet
        self.currency = currency
        self._book = book
        self._formats: dict[tuple[str, str], Format] = {}

    def write(self, table: Table) -> None:
        """Headings, rows, totals, notes, and how it prints."""
        widths = self._headings(table)
        for number, row in enumerate(table.rows, start=1):
            self._row(table, number, row, widths)
        after = self._totals(table, len(table.rows) + 1)
        for number, note in enumerate(table.notes, start=after + 1):
            self.sheet.write_string(
                number, 0, _CONTROLS.sub("", note), self._format("text", "note")
            )
        for index, wide in enumerate(widths):
            self.sheet.set_column(index, index, wide + 2)
        self._page(table, sum(widths))

    def _headings(self, table: Table) -> list[int]:
        for index, heading in enumerate(table.headings):
            name = f"{heading.name} {self.currency}" if heading.form == "money" else heading.title
            self.sheet.write_string(0, index, name, self._format("text", "head"))
        self.sheet.freeze_panes(1, 0)
        if table.rows:
            self.sheet.autofilter(0, 0, len(table.rows), len(table.headings) - 1)
        return [max(len(heading.title) + 4, 8) for heading in table.headings]

    def _row(self, table: Table, number: int, row: tuple[Cell, ...], widths: list[int]) -> None:
        for index, (value, heading) in enumerate(zip(row, table.headings, strict=True)):
            widths[index] = max(
                widths[index], min(len(_shown(value, heading.form)) + 3, heading.wide)
            )
            if heading.formula and not isinstance(value, str) and value is not None:
                formula = self._formula(heading.formula, table, number)
                self.sheet.write_formula(
                    number, index, formula, self._format(heading.form), float(_exact(value))
                )
            else:
                self._cell(number, index, value, self._format(heading.form))

    def _cell(self, number: int, index: int, value: Cell, look: "Format") -> None:
        if value is None:
            self.sheet.write_blank(number, index, None, look)
        elif isinstance(value, str):
            self.sheet.write_string(number, index, _CONTROLS.sub("", value), look)
        elif isinstance(value, bool):
            self.sheet.write_string(number, index, "yes" if value else "no", look)
        else:
            self.sheet.write_number(number, index, float(value), look)

    def _formula(self, template: str, table: Table, number: int) -> str:
        from xlsxwriter.utility import xl_rowcol_to_cell

        cells = {
            heading.name: xl_rowcol_to_cell(number, index)
            for index, heading in enumerate(table.headings)
        }
        return "=" + template.format(**cells)

    def _totals(self, table: Table, at: int) -> int:
        """Sums of the columns, then the footer's lines; returns the row after them."""
        from xlsxwriter.utility import xl_range

        summed = table.rows and any(heading.total for heading in table.headings)
        for index, heading in enumerate(table.headings if summed else ()):
            look = self._format(heading.form, "sum")
            if heading.total:
                formula = f"=SUM({xl_range(1, index, len(table.rows), index)})"
                self.sheet.write_formula(at, index, formula, look, float(_sum(table, index)))
            else:
                self.sheet.write_string(at, index, "" if index else "total", look)
        at += bool(summed)
        value_at = _value_column(table)
        for label, value, formula in table.footer:
            look = self._format(table.headings[value_at].form, "foot")
            words = self._format("text", "foot")
            self.sheet.write_string(at, _label_column(table), _CONTROLS.sub("", label), words)
            if formula:
                self.sheet.write_formula(at, value_at, formula, look, float(_exact(value)))
            else:
                self._cell(at, value_at, value, look)
            at += 1
        return at

    def _page(self, table: Table, across: int) -> None:
        self.sheet.set_paper(9)  # A4
        if across > LANDSCAPE_FROM:
            self.sheet.set_landscape()
        self.sheet.fit_to_pages(1, 0)
        self.sheet.repeat_rows(0)
        title = _CONTROLS.sub(" ", table.title).replace("&", "&&")
        self.sheet.set_footer(f"&L{title}&Rpage &P of &N")

    def _format(self, form: str, look: str = "") -> "Format":
        key = (form, look)
        if key not in self._formats:
            made = self._book.add_format({"valign": "top", "text_wrap": form == "text"})
            for change in _LOOKS[look]:
                change(made)
            money = f'#,##0.00 "{self.currency}"'
            made.set_num_format(money if form == "money" else XLSX_FORMATS.get(form, "General"))
            self._formats[key] = made
        return self._formats[key]


def _head(look: Any) -> None:
    look.set_bold()
    look.set_bg_color("#DDE5EA")
    look.set_bottom(1)


def _summed(look: Any) -> None:
    look.set_bold()
    look.set_top(1)


def _noted(look: Any) -> None:
    look.set_italic()
    look.set_text_wrap(False)


_LOOKS: dict[str, tuple[Callable[[Any], None], ...]] = {
    "": (),
    "head": (_head,),
    "sum": (_summed,),
    "foot": (lambda look: look.set_bold(),),
    "note": (_noted,),
}
