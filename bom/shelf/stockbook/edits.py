"""What can be asked of a book that somebody owns: a cell changed, a row put under a list."""

from collections.abc import Mapping

from msgspec import Struct

from bom.trade.problem import Problem, in_file_order
from bom.trade.rows import Written


class Edit(Struct, frozen=True, kw_only=True):
    """One cell, `B7`, of a sheet, named as in the workbook; an emptied cell keeps its style."""

    sheet: str
    cell: str
    value: Written


class NewRow(Struct, frozen=True, kw_only=True):
    """A row put under a list: column letter -> value.

    `header_row` is the row of the list's headings, and `last_row` the last one that is the
    list's, both as the spreadsheet numbers them.  Without `last_row` the list goes down to
    the last row that is not blank in its columns.
    """

    sheet: str
    header_row: int
    values: Mapping[str, Written]
    last_row: int | None = None


class Unwritable(Exception):
    """Nothing was written: each thing in the way once, in file order."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__(*problems)
        self.problems = in_file_order(problems)

    def __str__(self) -> str:
        return "\n".join(map(str, self.problems))
