"""What becomes of the cells of one sheet, and everything that stands in the way of it."""

import re
from collections.abc import Callable, Collection, Mapping, Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from bom.files.sheet.values import MAX_ROWS, cell_name, letters_of
from bom.files.sheet.xlsx import position
from bom.shelf.stockbook.edits import Edit, NewRow
from bom.shelf.stockbook.markup import fault
from bom.shelf.stockbook.sheetxml import CellXml, RowXml, SheetXml
from bom.shelf.stockbook.tables import ExcelTable
from bom.trade.problem import Problem, Where, error
from bom.trade.rows import Written

Place = tuple[int, int]
"""Row and column, from zero."""

_OVERWRITE = "a formula is not written over"
_PLAIN_VALUE = "put the value itself there in the spreadsheet program"


class NewCell(Struct, frozen=True):
    """A value for a cell, and the style it takes where the cell has none of its own."""

    value: Written
    style: str | None = None


class Grown(Struct, frozen=True, kw_only=True):
    """A list that got rows: it ended at `last` and now ends at `bottom`."""

    columns: Collection[int]
    last: int
    bottom: int
    table: ExcelTable | None


class SheetPlan(Struct, kw_only=True):
    """One sheet, what is put where, which rows look like which, and what is in the way."""

    where: Where
    sheet: SheetXml
    tables: tuple[ExcelTable, ...]
    steady: Callable[[str], bool] = lambda _: False
    """Whether another sheet, by its name, is neither changed nor holds a formula."""
    puts: dict[Place, NewCell] = field(default_factory=dict)
    models: dict[int, RowXml] = field(default_factory=dict)
    grown: list[Grown] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def refuse(self, place: Place, says: str, cure: str = "") -> None:
        """Note what is in the way at a cell."""
        where = Where(self.where.file, self.where.sheet, cell_name(*place))
        self.problems.append(error(where, says, cure))

    def blank(self, place: Place, *, but_formulas: bool = False) -> bool:
        """True when the cell holds nothing once the edits are made, or only a formula."""
        put, cell = self.puts.get(place), self.sheet.cell(*place)
        if put is not None:
            return put.value in (None, "")
        if cell is None or cell.blank:
            return True
        return but_formulas and cell.formula is not None


def planned(plan: SheetPlan, edits: Sequence[Edit], rows: Sequence[NewRow]) -> None:
    """Put the edits, then the rows under their lists, into the plan, or say what is wrong."""
    if plan.sheet.protected:
        says = "the sheet is protected, so that nothing in it is changed"
        plan.problems.append(error(plan.where, says, "take the protection off"))
        return
    for edit in edits:
        place = position(edit.cell)
        if place in plan.puts:
            raise ValueError(f"{edit.cell} is edited twice")
        plan.puts[place] = NewCell(edit.value)
        _check(plan, place, edit.value)
    lists: dict[object, list[NewRow]] = {}
    for row in rows:
        columns, table = _columns(plan, row.header_row - 1, columns_of(row))
        lists.setdefault((row.header_row, row.last_row, columns, table), []).append(row)
    for appended in lists.values():
        _append(plan, appended)


def _check(plan: SheetPlan, place: Place, value: Written) -> None:
    """Note what is wrong with a value, and what forbids the cell to be changed."""
    wrong = fault(value) or _forbidden(plan, place, plan.sheet.cell(*place))
    if wrong:
        plan.refuse(place, *wrong)


def _forbidden(plan: SheetPlan, place: Place, cell: CellXml | None) -> tuple[str, str] | None:
    array = next((area for area in plan.sheet.arrays if place in area), None)
    if array:
        return f"belongs to one formula for {array}: {_OVERWRITE}", _PLAIN_VALUE
    if cell is not None and cell.formula is not None:
        return f"holds a formula: {_OVERWRITE}", _PLAIN_VALUE
    if cell is not None and (cell.extras or "vm" in cell.attributes):
        return "holds a picture or linked data, which is not written over", "empty the cell first"
    for merge in plan.sheet.merges:
        if place in merge and place != (merge.top, merge.left):
            first = cell_name(merge.top, merge.left)
            return f"is covered by {first}, which is merged over it", f"unmerge {merge}"
    for table in plan.tables:
        if place in table.area and place[0] < table.first:
            return f"is a heading of the table {table.name}: it is not changed", ""
        if place in table.area and place[0] > table.last:
            return f"is in the totals row of the table {table.name}: it is not changed", ""
    return None


# Rows under a list


class _List(Struct, frozen=True, kw_only=True):
    header: int
    columns: tuple[int, ...]
    written: frozenset[int]
    last: int
    table: ExcelTable | None


def columns_of(row: NewRow) -> frozenset[int]:
    """The columns that a row has values for; ValueError when there are none."""
    if not row.values:
        raise ValueError("a row without values")
    return frozenset(position(f"{letters}1")[1] for letters in row.values)


def _append(plan: SheetPlan, rows: Sequence[NewRow]) -> None:
    """Put rows under the one list they are for."""
    found = _list(plan, rows[0], frozenset[int]().union(*map(columns_of, rows)))
    if found is None:
        return
    bottom = found.last + len(rows)
    if bottom >= MAX_ROWS:
        plan.refuse((found.last, found.columns[0]), "there is no row left under the list")
        return
    before = len(plan.problems)
    for number in range(found.last + 1, bottom + 1):
        _check_free(plan, found, number)
    _check_totals(plan, found, bottom)
    if len(plan.problems) > before:
        return
    for number, row in enumerate(rows, found.last + 1):
        values = {position(f"{letters}1")[1]: value for letters, value in row.values.items()}
        _put_row(plan, found, number, values)
    plan.grown.append(
        Grown(columns=found.columns, last=found.last, bottom=bottom, table=found.table)
    )


def _list(plan: SheetPlan, row: NewRow, written: frozenset[int]) -> _List | None:
    header = row.header_row - 1
    headed, table = _columns(plan, header, written)
    if not headed:
        plan.refuse((header, min(written)), "there are no headings in this row")
        return None
    columns = tuple(sorted(written.union(headed)))
    found = _List(header=header, columns=columns, written=written, last=header, table=table)
    last = _last_row(plan, found) if row.last_row is None else row.last_row - 1
    return replace(found, last=last)


def _columns(
    plan: SheetPlan, header: int, written: Collection[int]
) -> tuple[range, ExcelTable | None]:
    """The columns of a list, and the table that it is; none where there are no headings."""
    for table in plan.tables:
        if _heads(table, header, written):
            return range(table.area.left, table.area.right + 1), table
    return headed(plan.blank, header, written), None


def _heads(table: ExcelTable, header: int, written: Collection[int]) -> bool:
    """Whether that row is the headings of the table, and the columns are some of it."""
    first = table.area.top if table.headings else table.area.top - 1
    over = any(table.area.left <= column <= table.area.right for column in written)
    return over and first <= header < table.first


def headed(blank: Callable[[Place], bool], header: int, written: Collection[int]) -> range:
    """From the first to the last column with a heading, without a gap beside those written."""
    if blank((header, min(written))) and blank((header, max(written))):
        return range(0)
    first, last = min(written), max(written)
    while first and not blank((header, first - 1)):
        first -= 1
    while not blank((header, last + 1)):
        last += 1
    return range(first, last + 1)


def _last_row(plan: SheetPlan, found: _List) -> int:
    """The last row that is not blank; formulas in the owner's own columns do not count.

    Those may be filled in ahead of the rows to come.
    """
    rows = {row for row, _ in plan.puts}.union(plan.sheet.numbers)
    last = found.table.last if found.table else MAX_ROWS
    filled = (
        row
        for row in sorted(rows, reverse=True)
        if found.header < row <= last
        and not all(
            plan.blank((row, column), but_formulas=column not in found.written)
            for column in found.columns
        )
    )
    return next(filled, found.header)


def _check_free(plan: SheetPlan, found: _List, row: int) -> None:
    """Note the first thing that stands where the row is to go."""
    table = found.table
    longer = table is not None and row > table.last
    if table and longer and table.totals:
        says = f"the totals row of the table {table.name} is in the way of a new row"
        cure = "switch the totals row off, or insert a row above it"
        plan.refuse((table.last + 1, table.area.left), says, cure)
        return
    for place in [(found.last, column) for column in found.columns if found.last > found.header]:
        if _adds_up(plan, place):
            says = "looks like a row of totals, which is in the way of a new row under the list"
            plan.refuse(place, says, "insert empty rows above it, and leave them free")
            return
    for place in ((row, column) for column in found.columns):
        if _taken(plan, found, place, longer):
            says = "is in the way of a new row under the list"
            plan.refuse(place, says, "insert empty rows above it, or move it")
            return
    _check_cells(plan, found, row)


def _check_totals(plan: SheetPlan, found: _List, bottom: int) -> None:
    """Note a total below that would leave the new rows out."""
    for cell in plan.sheet.formulas:
        place = (cell.row, cell.column)
        if cell.row <= bottom or cell.column not in found.columns or not _adds_up(plan, place):
            continue
        letters = letters_of(cell.column)
        reach = re.search(rf":\$?{letters}\$?([0-9]+)", cell.formula or "")
        if reach and found.last <= int(reach[1]) <= bottom:
            says = f"adds up to row {reach[1]} alone, and would leave the new row {bottom + 1} out"
            cure = f"let it add up to {letters}{cell.row}, the row above it"
            plan.refuse(place, says, cure)


def _taken(plan: SheetPlan, found: _List, place: Place, longer: bool) -> bool:
    """True for anything but a blank cell, or a formula filled in ahead in an own column."""
    others = any(place in other.area for other in plan.tables if other is not found.table)
    merged = any(place in merge for merge in plan.sheet.merges)
    ahead = not longer and place[1] not in found.written
    blank = plan.blank(place, but_formulas=ahead)
    return others or merged or not blank or _adds_up(plan, place)


def _check_cells(plan: SheetPlan, found: _List, row: int) -> None:
    for column in found.written:
        wrong = _forbidden(plan, (row, column), plan.sheet.cell(row, column))
        if wrong:
            plan.refuse((row, column), *wrong)


def _adds_up(plan: SheetPlan, place: Place) -> bool:
    """True for a formula over cells of its own column, as a total has it."""
    cell = plan.sheet.cell(*place)
    letters = letters_of(place[1])
    own = rf"\$?{letters}\$?[0-9]+:\$?{letters}\$?[0-9]+"
    return bool(cell and cell.formula and re.search(own, cell.formula))


def _put_row(plan: SheetPlan, found: _List, row: int, values: Mapping[int, Written]) -> None:
    model = plan.sheet.row(found.last) if found.last > found.header else None
    if model:
        plan.models[row] = model
    for column in found.columns:
        value = values.get(column)
        wrong = fault(value)
        if wrong:
            plan.refuse((row, column), *wrong)
        above = model.cells.get(column) if model else None
        style = above.attributes.get("s") if above else None
        if column in found.written or not _holds(plan, (row, column)):
            plan.puts[row, column] = NewCell(value, style)


def _holds(plan: SheetPlan, place: Place) -> bool:
    cell = plan.sheet.cell(*place)
    return cell is not None and not cell.blank
