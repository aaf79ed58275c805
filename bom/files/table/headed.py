"""A table: headings that know what stands under them, rows made of things, and what is below."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any, Generic, TypeAlias, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from bom.files.table.cells import OF_MONEY, UNITS, Cell, Form, number

Thing = TypeVar("Thing", contravariant=True)

FootLine: TypeAlias = tuple[str, Cell, str]
"""A line under the rows: its label, its value, and its .xlsx formula or ''."""


class Heading(Struct, Generic[Thing], frozen=True):
    """One column: its name, and the value that each thing in the rows has under it.

    `form` gives alignment, decimals and unit, `total` asks for the sum; text longer than `wide`
    characters across is wrapped, and a heading that is not `shown` is left out with its values.
    Where a screen is too narrow a column may be left out that `gives_way`: rather than that the
    table grows by so many tenths of its rows, the lowest first.  Before a total one has to stay,
    for its label.

    `formula` is for .xlsx only: `ROUND({packs}*{price},2)`, the names of headings in braces
    standing for the cells of the same row; the row's own value is stored as its result.  A
    row gets no formula when its own value or a cell named is not a number: an unpriced line
    stays blank instead of turning into 0.
    """

    name: str
    value: Callable[[Thing], Cell]
    form: Form = "text"
    wide: int = 40
    total: bool = False
    formula: str = ""
    shown: bool = True
    gives_way: int = 0

    def titled(self, currency: str) -> str:
        """The name of the column with its unit, unless it says so itself (`hours`)."""
        unit = currency if self.form in OF_MONEY else UNITS.get(self.form, "")
        said = {unit, *({self.form} - OF_MONEY)} & set(self.name.split())
        return self.name if said else f"{self.name} {unit}".strip()


class Table(Struct, frozen=True):
    """Rows under headings, made by `of`.

    `footer` holds lines under the table, their values in the last column with a total, else in
    the last column of numbers.  In a footer's formula braces name an earlier footer by its label,
    or a heading: the cell below the column where it has a total, else the column itself
    (`SUM({cost})`).  `notes` are sentences under it all; `whole` has what a narrow screen left out.
    """

    title: str
    headings: tuple[Heading[Any], ...]
    rows: tuple[tuple[Cell, ...], ...]
    footer: tuple[FootLine, ...] = ()
    notes: tuple[str, ...] = ()
    whole: str = "--xlsx FILE"

    @classmethod
    def of(
        cls,
        title: str,
        things: Iterable[Thing],
        *headings: Heading[Thing],
        footer: Iterable[FootLine] = (),
        notes: Iterable[str | None] = (),
        whole: str = "--xlsx FILE",
    ) -> "Table":
        """A row for each thing, with the value that each heading has for it; no empty notes."""
        shown = [heading for heading in headings if heading.shown]
        below = tuple(footer)
        if below and len(shown) == 1:  # the labels take the only column
            shown.append(Heading("", lambda _: None, "quantity"))
        rows = tuple(tuple(heading.value(thing) for heading in shown) for thing in things)
        return cls(title, tuple(shown), rows, below, tuple(filter(None, notes)), whole)

    def without(self, number: int) -> "Table":
        """The table less the columns that give way with this number; values under one keep it."""
        return self._less({i for i, head in enumerate(self.headings) if head.gives_way == number})

    def without_blanks(self) -> "Table":
        """The table less the columns that may give way and have nothing in them."""
        blank = {
            index
            for index, heading in enumerate(self.headings)
            if heading.gives_way and all(row[index] in (None, "") for row in self.rows)
        }
        return self._less(blank)

    def _less(self, columns: Collection[int]) -> "Table":
        stay = {index for foot in feet(self) for index in foot.values}
        kept = [i for i in range(len(self.headings)) if i not in columns or i in stay]
        return replace(
            self,
            headings=tuple(self.headings[index] for index in kept),
            rows=tuple(tuple(row[index] for index in kept) for row in self.rows),
        )


class Foot(Struct, frozen=True, kw_only=True):
    """A line under the rows: values by column, and the label's column if it has one."""

    label: str
    label_column: int | None
    values: Mapping[int, Cell]
    formula: str = ""
    is_sum: bool = False


def feet(table: Table) -> list[Foot]:
    """The totals, if any are asked for and there is something to add, then the footer."""
    found = []
    totals = [index for index, heading in enumerate(table.headings) if heading.total]
    if totals and table.rows:
        found.append(
            Foot(
                label="subtotal" if table.footer else "total",
                label_column=totals[0] - 1 if totals[0] else None,
                values={index: _sum(row[index] for row in table.rows) for index in totals},
                is_sum=True,
            )
        )
    at = _value_column(table.headings)
    for label, value, formula in table.footer:
        found.append(Foot(label=label, label_column=at - 1, values={at: value}, formula=formula))
    return found


def _value_column(headings: Sequence[Heading[Any]]) -> int:
    totals = [index for index, heading in enumerate(headings) if heading.total]
    numbers = [index for index, heading in enumerate(headings) if heading.form != "text"]
    return max(1, (totals or numbers or [len(headings) - 1])[-1])


def _sum(values: Iterable[Cell]) -> Decimal:
    return sum((exact for value in values if (exact := number(value)) is not None), Decimal())
