"""From a grid of cells to rows under known headings, with every fault named by its cell."""

import re
from collections.abc import Container, Mapping, Sequence
from decimal import Decimal
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from bom.headings.columns import Column, Found, as_shown
from bom.headings.layout import (
    Layout,
    another_list,
    is_headings_again,
    is_total,
    layout,
)
from bom.headings.layout import (
    headless as without_header,
)
from bom.problem import Problem, Where, caution, error
from bom.sheet import Sheet, Value
from bom.spelling import Misspelt
from bom.trade import Row

MOST_KEPT = 4096
"""So many different cells of a column are remembered with what they say: most come again."""
_KEPT = (str, Decimal)
_UNREAD = object()


class Record(Struct, frozen=True, kw_only=True):
    """One row as read: values by heading, and the headings whose cells were faulty."""

    row: Row
    values: Mapping[str, Any]
    broken: frozenset[str]
    annotated: bool = False
    """There are cells in its row that stand in none of the columns."""

    def __getitem__(self, heading: str) -> Any:
        return self.values[heading]


def read_rows(
    sheet: Sheet, columns: Sequence[Column], *, own_columns: bool = False, headless: bool = False
) -> tuple[tuple[Record, ...], tuple[Problem, ...]]:
    """All rows of a sheet under its header row.

    Every row is read and every faulty cell named; a faulty cell gets its column's blank
    and stands in `broken`.  `own_columns` lets the owner keep columns of their own
    (stock books); otherwise a column that is not known is reported.  `headless` allows a
    sheet without a header row, its needed columns in their order.
    """
    place, problems = layout(sheet, columns, own_columns=own_columns)
    if place is None and headless:
        place, problems = without_header(columns), []
    if place is None:
        return (), tuple(problems)
    slips = {problem.cure for problem in problems if problem.level == "error"}
    records = _Rows(sheet, columns, place, problems, own_columns).read()
    unread = _misspelt(columns, place.letters, slips)
    if records:
        problems += _missing_columns(sheet, place, columns, {*place.letters, *unread})
    whole = (replace(record, broken=record.broken | unread) for record in records)
    return tuple(whole), tuple(problems)


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
    sheet: Sheet, place: Layout, columns: Sequence[Column], there: Container[str]
) -> list[Problem]:
    """Columns that no row can do without, told once and not again for each row."""
    where = Where(sheet.file, sheet.name, f"A{place.header + 1}")
    return [
        error(where, f"no column '{column.name}'", f"the heading '{column.name}'")
        for column in columns
        if column.must and column.name not in there
    ]


class _Rows:
    """The rows under a header, one after the other."""

    def __init__(
        self,
        sheet: Sheet,
        columns: Sequence[Column],
        place: Layout,
        problems: list[Problem],
        own_columns: bool,
    ) -> None:
        self.sheet = sheet
        self.columns = columns
        self.place = place
        self.problems = problems
        self.own_columns = own_columns
        self.letters = place.letters
        self.covered = {match.index for match in place.found}
        self.needed = [match.index for match in place.found if match.column.needed]
        self.may_have_more = own_columns or len(self.covered) < len(place.titled)
        self.must = [column for column in columns if column.must]
        self.blanks = {column.name: column.blank for column in columns}
        self.known: list[tuple[Found, dict[Value, Any]]] = [(m, {}) for m in place.found]

    def read(self) -> list[Record]:
        """All of them, but for blank ones, totals and headings printed again."""
        records: list[Record] = []
        blank_above = False
        for number in range(self.place.header + 1, len(self.sheet.rows)):
            cells = self.sheet.rows[number]
            if all(value is None for value in cells):
                blank_above = True
                continue
            if not self.own_columns:
                self._surplus(number, cells)
            if all(cells[i] is None for i in self.covered if i < len(cells)):
                continue
            if self._is_none(number, cells, records):
                continue
            if blank_above and (second := another_list(self.sheet, number, self.place.known)):
                self.problems.append(second)
                break
            blank_above = False
            records.append(self._record(number, cells))
        return records

    def _is_none(self, number: int, cells: Sequence[Value], records: list[Record]) -> bool:
        """True for headings printed again, and for totals, which are told."""
        if self.place.header >= 0 and is_headings_again(self.sheet, number, self.place):
            return True
        whole = all(i < len(cells) and cells[i] is not None for i in self.needed)
        if whole and len(self.needed) > 1:
            return False  # a wire between two points, whatever its label
        above = (record.row.number - 1 for record in records)
        total = is_total(self.sheet, number, self.place, above)
        says = "a row of totals, which is not read" if total else self._heading_inside(cells)
        if says and not self.own_columns:
            first = next(i for i in sorted(self.covered) if i < len(cells) and cells[i] is not None)
            self.problems.append(caution(self.sheet.where(number, first), says))
        return bool(says)

    def _heading_inside(self, cells: Sequence[Value]) -> str:
        """What to say of a row with nothing but words in one cell, such as LIGHTING."""
        filled = [i for i in self.covered if i < len(cells) and cells[i] is not None]
        if len(filled) != 1 or filled[0] in self.needed:
            return ""
        said = cells[filled[0]]
        words = isinstance(said, str) and re.fullmatch(r"[^\d:/]{3,}", said.strip())
        return f"'{as_shown(said)}' alone is no row of the list, and is not read" if words else ""

    def _surplus(self, number: int, cells: Sequence[Value]) -> None:
        self.problems += [
            error(
                self.sheet.where(number, index),
                f"a surplus cell: '{as_shown(value)}' stands under no heading",
                "a heading over it, or take it away",
            )
            for index, value in enumerate(cells)
            if value is not None and index not in self.place.titled
        ]

    def _record(self, number: int, cells: Sequence[Value]) -> Record:
        values = self.blanks.copy()
        broken = set()
        width = len(cells)
        for match, known in self.known:
            value = cells[match.index] if match.index < width else None
            if value is None:
                continue
            told = known.get(value, _UNREAD) if type(value) in _KEPT else _UNREAD
            if told is _UNREAD:
                try:
                    told = match.column.read(value, match.unit)
                except Misspelt as fault:
                    broken.add(match.column.name)
                    where = self.sheet.where(number, match.index)
                    self.problems.append(error(where, fault.says, fault.cure))
                    continue
                if type(value) in _KEPT and len(known) < MOST_KEPT:
                    known[value] = told
            values[match.column.name] = told
        row = Row(self.sheet.file, self.sheet.name, number + 1, self.letters)
        for column in self.must:
            if values[column.name] == column.blank and column.name not in broken:
                broken.add(column.name)
                if column.name in self.letters:
                    where = row.where(column.name)
                    self.problems.append(error(where, f"'{column.name}' is empty"))
        covered = self.covered
        annotated = self.may_have_more and any(
            cell is not None and at not in covered for at, cell in enumerate(cells)
        )
        return Record(row=row, values=values, broken=frozenset(broken), annotated=annotated)
