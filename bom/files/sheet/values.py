"""Cells, sheets and books as values, and how what a file stores becomes one."""

import datetime
import math
import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TypeAlias

from msgspec import Struct

from bom.trade.problem import Problem, Where, error

KINDS = (".xlsx", ".xlsm", ".ods", ".csv")
SAVE_AS_XLSX = "open it in the spreadsheet program and save it as .xlsx"
MAX_BYTES = 300_000_000  # of a file, and of all it unpacks to
MAX_READ = 150_000_000  # of that, what is read: a list of 200,000 rows has 80 MB
MAX_TAGS = 2_000_000  # of XML that is gone through tag by tag, which takes a second
BOMB_BYTES = 1_000_000  # from here on the packing ratio is looked at too
BOMB_RATIO = 60  # sheets of a workshop pack about 10:1, one of nothing but formatted rows 25:1
MAX_MEMBERS = 10_000
MAX_SHEETS = 1_000
MAX_VALUES = 600_000  # different ones in a book: a list of 200,000 rows has 450,000
MAX_CELLS = 5_000_000  # of the used areas of a book's sheets, blanks included
MAX_REPEATED = 50_000  # cells of an .ods that only say "the same again": a line makes millions
MAX_ROWS, MAX_COLUMNS = 1_048_576, 16_384  # no spreadsheet program goes further
FORMULA_MARKS = ("=", "+", "-", "@", "\t")  # a spreadsheet runs a text that begins with one
ERROR_WORD = re.compile(r"#(N/A|REF!|VALUE!|DIV/0!|NAME\?|NUM!|NULL!|SPILL!|CALC!)|Err:[0-9]{3}")


class Percent(Struct, frozen=True):
    """A number cell shown in per cent; `value` is the per cent: 5 for a cell that shows 5 %."""

    value: Decimal


class Fault(Struct, frozen=True):
    """A cell without a usable value; `says` is its own text (`#N/A`) or what is wrong."""

    says: str


NO_RESULT = Fault("a formula without a result")
"""What a formula cell holds that has no result stored, nor one that is plain to work out."""

Value: TypeAlias = (
    str
    | Decimal
    | bool
    | datetime.date
    | datetime.datetime
    | datetime.time
    | Percent
    | Fault
    | None
)
"""What a cell can hold; blank is `None`, and text is never empty."""

Cells: TypeAlias = tuple[Value, ...]
"""One row from column A on, without the blanks at its end."""


class Sheet(Struct, frozen=True, kw_only=True):
    """One sheet: `rows[0]` is row 1 and item 0 of a row is column A; blank ends are cut off."""

    file: str
    name: str
    rows: tuple[Cells, ...]

    def where(self, row: int, column: int) -> Where:
        """The place of a cell, from zero-based row and column."""
        return Where(self.file, self.name, cell_name(row, column))


class Book(Struct, frozen=True, kw_only=True):
    """All sheets of a file or folder; `file` is its own name, for messages."""

    file: str
    path: Path
    sheets: tuple[Sheet, ...]

    def sheet(self, name: str) -> Sheet | None:
        """The first sheet of that name, without regard to case and spaces."""
        wanted = sheet_key(name)
        return next((sheet for sheet in self.sheets if sheet_key(sheet.name) == wanted), None)


def sheet_key(name: str) -> str:
    """The form in which two sheet names are the same: case and spaces do not count."""
    return "".join(name.casefold().split())


def cell_name(row: int, column: int) -> str:
    """The spreadsheet's name of a cell, from zero-based row and column.

    >>> cell_name(6, 2), cell_name(0, 26), cell_name(1_048_575, 16_383)
    ('C7', 'AA1', 'XFD1048576')
    """
    return f"{letters_of(column)}{row + 1}"


def letters_of(column: int) -> str:
    """The letters of a column, 0 for `A`."""
    letters = ""
    column += 1
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return letters


def column_number(letters: str) -> int:
    """The zero-based column of its letters.

    >>> column_number("A"), column_number("AA"), column_number("XFD")
    (0, 26, 16383)
    """
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number - 1


class Refused(Exception):
    """The book is not read; travels no further than `read_book`."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__(*problems)
        self.problems = problems


def refused(where: Where, says: str, cure: str = "") -> Refused:
    """A reason not to read on, as an exception."""
    return Refused(error(where, says, cure))


# Files and folders


def clean_text(raw: str) -> str | None:
    """Text without spaces around it, no-break spaces as spaces; nothing left is None."""
    if not raw.isascii():  # no-break, figure and narrow no-break space
        raw = raw.replace("\xa0", " ").replace("\u2007", " ").replace("\u202f", " ")
    return raw.strip() or None


def exact_number(raw: float) -> Decimal | Fault:
    """To the 15 figures a spreadsheet keeps, so that 0.1 + 0.2 is 0.3; never an exponent.

    >>> exact_number(0.1 + 0.2), exact_number(1e20), exact_number(12.0)
    (Decimal('0.3'), Decimal('100000000000000000000'), Decimal('12'))
    """
    if raw.is_integer() and abs(raw) < 1e15:
        return Decimal(int(raw))
    if not math.isfinite(raw):
        return Fault("a number too large to read")
    text = f"{raw:.15g}"
    return _unscaled(Decimal(text)) if "e+" in text else Decimal(text)


def _unscaled(number: Decimal) -> Decimal:
    return Decimal(format(number, "f"))


def as_percent(value: Value) -> Value:
    """A value whose cell is formatted in per cent; text and faults stay what they are."""
    if not isinstance(value, Decimal):
        return value
    return Percent(_unscaled((value * 100).normalize()))


def duration(raw: datetime.timedelta) -> Value:
    """A length of time as a time of day; a day or more is a fault."""
    if datetime.timedelta(0) <= raw < datetime.timedelta(days=1):
        return (datetime.datetime.min + raw).time()
    return Fault("a length of time")


def _plain(raw: object) -> Value:
    if isinstance(raw, str):
        return clean_text(raw)
    if isinstance(raw, float):
        return exact_number(raw)
    if isinstance(raw, datetime.timedelta):
        return duration(raw)
    if isinstance(raw, datetime.date | datetime.time):
        return raw
    return Fault("a value of an unknown kind")


class Values(dict[object, Value]):
    """Raw value -> value, worked out once each: lists repeat themselves.

    Not for booleans: True and 1.0 are the same key.  Raises `Refused` when they are too many.
    """

    def __init__(self, file: str) -> None:
        super().__init__()
        self._file = file

    def __missing__(self, raw: object) -> Value:
        if len(self) >= MAX_VALUES:
            says = f"has over {MAX_VALUES:,} different values: too large for a list"
            raise refused(Where(self._file), says, "take out what is old, or what is not needed")
        value = self[raw] = _plain(raw)
        return value


def trimmed(rows: Iterable[Sequence[Value]]) -> tuple[Cells, ...]:
    """Rows without the blank cells at their ends and the blank rows after the last."""
    kept: list[Cells] = []
    for row in rows:
        end = len(row)
        while end and row[end - 1] is None:
            end -= 1
        kept.append(tuple(row[:end]))
    while kept and not kept[-1]:
        kept.pop()
    return tuple(kept)
