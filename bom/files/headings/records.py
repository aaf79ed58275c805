"""The rows of a list: columns read from top to bottom, what cannot be read named by its cell."""

from collections.abc import Container, Iterable, Mapping, Sequence
from decimal import Decimal
from itertools import repeat
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from bom.files.headings.columns import Column, FoundColumn, as_shown
from bom.files.headings.layout import Layout, layout
from bom.files.headings.layout import headless as without_header
from bom.files.headings.not_rows import (
    PartHeadings,
    another_list,
    has_a_sum,
    is_headings_again,
    is_own_total,
    is_total,
    needed_heads,
    says_total,
)
from bom.files.sheet import Sheet, Value
from bom.files.spelling import Misspelt
from bom.trade.problem import Problem, Where, caution, error, in_file_order
from bom.trade.rows import Row

MOST_KEPT = 4096
"""So many different cells of a column are remembered with what they say: most come again."""
_KEPT = (str, Decimal)
_UNREAD = object()
_NONE: frozenset[str] = frozenset()


class Record(Struct, frozen=True, kw_only=True):
    """One row as read: values by heading, and the headings whose cells were faulty."""

    row: Row
    values: Mapping[str, Any]
    broken: frozenset[str]
    annotated: bool = False
    """There are cells in its row that are the owner's own: of no column, or of one they fill."""

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
    if unread:
        records = [replace(record, broken=record.broken | unread) for record in records]
    return tuple(records), in_file_order(problems)


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


def _said(match: FoundColumn, value: Value) -> Any:
    """What a cell says, or what is wrong with it."""
    try:
        return match.column.read(value, match.unit)
    except Misspelt as fault:
        return fault.with_traceback(None)


class _Rows:
    """The rows under a header; each column is read from top to bottom."""

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
        self.covered = {match.index for match in place.found}
        self.filled = {m.index for m in place.found if m.column.filled_by != "owner"}
        self.needed = {match.index for match in place.found if match.column.needed}
        self.heads = needed_heads(sheet, place)
        self.part_headings = PartHeadings(sheet, place)
        may_have_more = own_columns or len(self.covered) < len(place.titled)
        width = max(map(len, sheet.rows), default=0) if may_have_more else 0
        self.others = [index for index in range(width) if index not in self.filled]
        self.totalled = False
        """Whether a row of totals was passed."""
        self.rows: list[Row] = []
        self.broken: dict[int, set[str]] = {}
        """The headings of faulty cells, by where their row stands in `rows`."""

    def read(self) -> list[Record]:
        """All of them, but for blank ones, totals and headings printed again."""
        numbers = self._numbers()
        cells = [self.sheet.rows[number] for number in numbers]
        name, sheet, letters = self.sheet.file, self.sheet.name, self.place.letters
        self.rows = [Row(name, sheet, number + 1, letters) for number in numbers]
        told: dict[str, Iterable[Any]] = {c.name: repeat(c.blank) for c in self.columns}
        told |= {match.column.name: self._column(match, cells) for match in self.place.found}
        for column in self.columns:
            if column.must:
                self._empty(column, told[column.name])
        headings = tuple(told)
        annotated = map(self._annotated, cells) if self.others else repeat(False)
        return [
            Record(
                row=row,
                values=dict(zip(headings, values, strict=True)),
                broken=frozenset(self.broken[at]) if at in self.broken else _NONE,
                annotated=more,
            )
            for at, (row, more, *values) in enumerate(
                zip(self.rows, annotated, *told.values(), strict=False)
            )
        ]

    def _annotated(self, cells: Sequence[Value]) -> bool:
        return any(cells[at] is not None for at in self.others if at < len(cells))

    # ------------------------------------------------------------------ rows of the list

    def _numbers(self) -> list[int]:
        """Which rows of the sheet are rows of the list."""
        numbers: list[int] = []
        blank_above = False
        covered, titled, strict = self.covered, self.place.titled, not self.own_columns
        for number in range(self.place.header + 1, len(self.sheet.rows)):
            filled = [i for i, value in enumerate(self.sheet.rows[number]) if value is not None]
            if not filled:
                blank_above = True
                continue
            if strict and not titled.issuperset(filled):
                self._surplus(number, filled)
            if covered.isdisjoint(filled) or self._is_none(number, filled, numbers):
                continue
            if blank_above and (second := another_list(self.sheet, number, self.place.known)):
                self.problems.append(second)
                break
            blank_above = False
            numbers.append(number)
        return numbers

    def _is_none(self, number: int, filled: list[int], above: list[int]) -> bool:
        """True for headings printed again, and for totals, which are told."""
        if self.heads and is_headings_again(self.sheet.rows[number], self.heads):
            return True
        cells, whole = self.sheet.rows[number], self.needed.issubset(filled)
        if len(self.needed) > 1 and whole:
            if self.own_columns:
                is_sum = is_own_total(self.sheet, number, self.covered, above)
                self.totalled |= is_sum
                return is_sum
            if not any(says_total(cells[index]) for index in self.needed):
                return False  # a wire between two points, whatever its label
        own = [index for index in filled if index in self.covered]
        if self.own_columns and self.totalled and len(own) == 1:
            return True  # the owner's word under the totals
        is_nameless = self.own_columns and self.needed.isdisjoint(filled)
        if is_nameless and has_a_sum(self.sheet, number, self.covered, above):
            self.totalled = True
            return True  # no piece and no item: the owner's sums, beside which anything may stand
        says, alike = "", "rows with a heading alone, which are not read"
        if is_total(self.sheet, number, self.place, above):
            self.totalled = True
            says, alike = "a row of totals, which is not read", "rows of totals, which are not read"
        elif len(own) == 1 and self._is_part_heading(number, own[0]):
            says = f"'{as_shown(cells[own[0]])}' alone is no row of the list, and is not read"
        if says and not self.own_columns:
            self.problems.append(caution(self.sheet.where(number, own[0]), says, alike=alike))
        return bool(says)

    def _is_part_heading(self, number: int, index: int) -> bool:
        """In an owner's book, where nothing would be told of it, never in a needed cell."""
        if self.own_columns and index in self.needed:
            return False
        return self.part_headings.has(number, index)

    def _surplus(self, number: int, filled: list[int]) -> None:
        cells = self.sheet.rows[number]
        self.problems += [
            error(
                self.sheet.where(number, index),
                f"a surplus cell: '{as_shown(cells[index])}' stands under no heading",
                "a heading over it, or take it away",
            )
            for index in filled
            if index not in self.place.titled
        ]

    # -------------------------------------------------------------------------- columns

    def _column(self, match: FoundColumn, rows: Sequence[Sequence[Value]]) -> list[Any]:
        """What the cells of a column say, the column's blank where they cannot be read.

        Each different cell is read once: to look for the word nearest to a slip takes far longer
        than to read it, and a list that is filled down has the same slip in every row.
        """
        index, blank = match.index, match.column.blank
        known: dict[Value, Any] = {None: blank}
        told = []
        for at, cells in enumerate(rows):
            value = cells[index] if index < len(cells) else None
            keep = value is None or type(value) in _KEPT
            said = known.get(value, _UNREAD) if keep else _UNREAD
            if said is _UNREAD:
                said = _said(match, value)
                if keep and len(known) < MOST_KEPT:
                    known[value] = said
            if type(said) is Misspelt:
                self._unread(match.column.name, at, said)
                said = blank
            told.append(said)
        return told

    def _unread(self, heading: str, at: int, fault: Misspelt) -> None:
        self.broken.setdefault(at, set()).add(heading)
        self.problems.append(
            error(self.rows[at].where(heading), fault.says, fault.cure, alike=fault.alike)
        )

    def _empty(self, column: Column, told: Iterable[Any]) -> None:
        """Cells that no row can do without; where the column is missing that is told once."""
        for at, (row, said) in enumerate(zip(self.rows, told, strict=False)):
            if said == column.blank and column.name not in self.broken.get(at, ()):
                self.broken.setdefault(at, set()).add(column.name)
                if column.name in self.place.letters:
                    where = row.where(column.name)
                    says = f"'{column.name}' is empty"
                    self.problems.append(error(where, says, column.missing))
