"""From a grid of cells to rows under known headings, with every fault named by its cell.

A sheet is described by its columns: the heading, its other names, the units a heading
may carry, and the reader of one cell.  The header row is the first row that has all
needed headings; titles above it and blank rows are harmless.
"""

import re
from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from bom.problem import Problem, Where, caution, error, nearest
from bom.sheet import Fault, Sheet, Value, cell_name
from bom.spelling import Misspelt, text_of
from bom.trade import Listing, Row

Reader = Callable[[Value, str], Any]
"""Reads one cell: its value and the unit in its heading, or raises `Misspelt`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a sheet: `read` gives the value, `blank` stands for an empty cell.

    `units` maps what may follow the heading (`length mm`) to the unit handed to `read`;
    a heading in `also` may carry a unit of its own (`watts`).  `must` says that an empty
    cell is an error, `needed` that the header row is known by this heading.
    """

    name: str
    read: Reader
    blank: Any = ""
    also: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    needed: bool = False
    must: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One row as read: values by heading, and the headings whose cells were faulty."""

    row: Row
    values: Mapping[str, Any]
    broken: frozenset[str]
    annotated: bool = False
    """There are cells in its row that stand in none of the columns."""

    def __getitem__(self, heading: str) -> Any:
        return self.values[heading]


@dataclass(frozen=True, slots=True)
class _Found:
    column: Column
    index: int
    unit: str


def folded(heading: str) -> str:
    """A heading without case, spaces and points: `From End` and `fromend` are the same."""
    return re.sub(r"[\s._:]+", "", heading).casefold()


def read_rows(
    sheet: Sheet, columns: Sequence[Column], *, own_columns: bool = False, headless: bool = False
) -> tuple[tuple[Record, ...], tuple[Problem, ...]]:
    """All rows of a sheet under its header row.

    Every row is read and every faulty cell named; a faulty cell gets its column's blank
    and stands in `broken`.  `own_columns` lets the owner keep columns of their own
    (stock books); otherwise a column that is not known is reported.  `headless` allows a
    sheet without a header row, its needed columns in their order.
    """
    header = _header_row(sheet, columns)
    if header is None and not headless:
        return (), (_no_header(sheet, columns),)
    found, problems = _match(sheet, header, columns, own_columns)
    header = -1 if header is None else header
    slips = {problem.cure for problem in problems if problem.level == "error"}
    letters = {column.column.name: _letters(column.index) for column in found}
    records = []
    covered = {column.index for column in found}
    titled = covered | {i for i, v in enumerate(_heads(sheet, header)) if v is not None}
    for number in range(header + 1, len(sheet.rows)):
        cells = sheet.rows[number]
        if all(value is None for value in cells):
            continue
        if not own_columns:
            problems += _surplus(sheet, number, cells, titled)
        if all(cells[i] is None for i in covered if i < len(cells)):
            continue
        records.append(_record(sheet, number, found, columns, letters, problems))
    unread = _misspelt(columns, letters, slips)
    if records:
        problems += _missing_columns(sheet, header, columns, {*letters, *unread})
    whole = (replace(record, broken=record.broken | unread) for record in records)
    return tuple(whole), tuple(problems)


def _heads(sheet: Sheet, header: int) -> Sequence[Value]:
    return sheet.rows[header] if header >= 0 else ()


def _misspelt(
    columns: Sequence[Column], letters: Mapping[str, str], slips: Container[str]
) -> frozenset[str]:
    """Columns that stand under a misspelt heading: there, but unread."""
    return frozenset(
        column.name
        for column in columns
        if column.name not in letters and any(n in slips for n in (column.name, *column.also))
    )


def _missing_columns(
    sheet: Sheet, header: int, columns: Sequence[Column], there: Container[str]
) -> list[Problem]:
    """Columns that no row can do without, told once and not again for each row."""
    where = Where(sheet.file, sheet.name, f"A{header + 1}")
    return [
        error(where, f"no column '{column.name}'", f"the heading '{column.name}'")
        for column in columns
        if column.must and column.name not in there
    ]


def listing(sheet: Sheet, columns: Sequence[Column]) -> Listing | None:
    """Where the list stands in the sheet; None where no row has its headings."""
    if not sheet.rows:
        return Listing(file=sheet.file, sheet=sheet.name, header_row=0, letters={}, units={})
    header = _header_row(sheet, columns)
    if header is None:
        return None
    found, _ = _match(sheet, header, columns, own_columns=True)
    return Listing(
        file=sheet.file,
        sheet=sheet.name,
        header_row=header + 1,
        letters={match.column.name: _letters(match.index) for match in found},
        units={match.column.name: match.unit for match in found if match.unit},
        numbers=frozenset(m.column.name for m in found if _all_numbers(sheet, header, m.index)),
    )


def _all_numbers(sheet: Sheet, header: int, column: int) -> bool:
    cells = (row[column] for row in sheet.rows[header + 1 :] if column < len(row))
    filled = [cell for cell in cells if cell is not None]
    return bool(filled) and all(isinstance(cell, Decimal) for cell in filled)


def _letters(column: int) -> str:
    return cell_name(0, column).rstrip("0123456789")


def has_headings(sheet: Sheet, columns: Sequence[Column]) -> bool:
    """True when some row of the sheet has all needed headings."""
    return _header_row(sheet, columns) is not None


def _header_row(sheet: Sheet, columns: Sequence[Column]) -> int | None:
    needed = {column.name for column in columns if column.needed}
    for number, cells in enumerate(sheet.rows):
        texts = [cell for cell in cells if isinstance(cell, str)]
        if len(texts) < len(needed):
            continue
        names = {match.column.name for text in texts if (match := _identify(text, 0, columns))}
        if needed <= names:
            return number
    return None


def _no_header(sheet: Sheet, columns: Sequence[Column]) -> Problem:
    needed = " and ".join(f"'{column.name}'" for column in columns if column.needed)
    return error(
        Where(sheet.file, sheet.name, "A1"),
        f"no row has the headings {needed}",
        "a heading over each column: " + ", ".join(column.name for column in columns),
    )


def _identify(text: str, index: int, columns: Sequence[Column]) -> _Found | None:
    whole = folded(text)
    for column in columns:
        if whole == folded(column.name):
            return _Found(column, index, "")
        for other, unit in column.also.items():
            if whole == folded(other):
                return _Found(column, index, unit)
    bare, unit_word = _split_unit(text)
    for column in columns:
        if unit_word not in column.units:
            continue
        names = {folded(column.name), *map(folded, column.also)}
        if folded(bare) in names:
            return _Found(column, index, column.units[unit_word])
    return None


def _split_unit(text: str) -> tuple[str, str]:
    match = re.fullmatch(r"(.*?)[\s,]*[(\[]?(?:\bin\s+)?([^\s()\[\],]+)[)\]]?\s*", text.strip())
    return (match[1], match[2].casefold().replace("²", "2")) if match else (text, "")


def _match(
    sheet: Sheet, header: int | None, columns: Sequence[Column], own_columns: bool
) -> tuple[list[_Found], list[Problem]]:
    """The columns by their headings; without a header row the needed ones in their order."""
    if header is None:
        needed = [column for column in columns if column.needed]
        return [_Found(column, index, "") for index, column in enumerate(needed)], []
    found: dict[str, _Found] = {}
    problems: list[Problem] = []
    for index, value in enumerate(sheet.rows[header]):
        if value is None:
            continue
        where = sheet.where(header, index)
        text = _as_shown(value)
        match = _identify(text, index, columns)
        if match is None:
            if not own_columns:
                problems.append(_unknown_column(where, text, columns))
        elif match.column.name in found:
            first = sheet.where(header, found[match.column.name].index).cell
            says = f"a second column for '{match.column.name}', which stands in {first} too"
            problems.append(error(where, says, "keep one of the two"))
        else:
            found[match.column.name] = match
    return list(found.values()), problems


def _unknown_column(where: Where, text: str, columns: Sequence[Column]) -> Problem:
    """A slip of the pen is an error; a column of the user's own is only pointed out."""
    names = [name for column in columns for name in (column.name, *column.also)]
    close = nearest(text, names)
    if close:
        return error(where, f"column '{text}' is not known", close)
    return caution(
        where,
        f"column '{text}' is not known and is not read",
        "the column 'note' for remarks",
    )


def _surplus(sheet: Sheet, number: int, cells: Sequence[Value], titled: set[int]) -> list[Problem]:
    return [
        error(
            sheet.where(number, index),
            f"a surplus cell: '{_as_shown(value)}' stands under no heading",
            "a heading over it, or take it away",
        )
        for index, value in enumerate(cells)
        if value is not None and index not in titled
    ]


def _record(
    sheet: Sheet,
    number: int,
    found: Sequence[_Found],
    columns: Sequence[Column],
    letters: Mapping[str, str],
    problems: list[Problem],
) -> Record:
    cells = sheet.rows[number]
    values = {column.name: column.blank for column in columns}
    broken = set()
    for match in found:
        value = cells[match.index] if match.index < len(cells) else None
        if value is None:
            continue
        try:
            values[match.column.name] = match.column.read(value, match.unit)
        except Misspelt as fault:
            broken.add(match.column.name)
            problems.append(error(sheet.where(number, match.index), fault.says, fault.cure))
    known = {match.index for match in found}
    row = Row(sheet.file, sheet.name, number + 1, letters)
    for column in columns:
        if column.must and values[column.name] == column.blank and column.name not in broken:
            broken.add(column.name)
            if column.name in letters:
                problems.append(error(row.where(column.name), f"'{column.name}' is empty"))
    annotated = any(cell is not None and at not in known for at, cell in enumerate(cells))
    return Record(row=row, values=values, broken=frozenset(broken), annotated=annotated)


def _as_shown(value: Value) -> str:
    """A cell in a sentence, whatever is in it."""
    try:
        return text_of(value)
    except Misspelt:
        return value.says if isinstance(value, Fault) else str(value)


def text(value: Value, _unit: str) -> str:
    """Reader of a cell as plain text."""
    return text_of(value)
