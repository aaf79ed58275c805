"""The columns of a table made to fit a screen: words wrapped, columns of less use left out."""

from collections.abc import Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from bom.files.table.cells import Cell, shown
from bom.files.table.headed import Foot, Heading, Table, feet
from bom.files.wrapping import across, longest_word, wrapped
from bom.trade.visible import visible

GAP = 2
"""Blanks between two columns."""


class TextColumn(Struct, frozen=True):
    """A column as text: its title, the cells of the rows and those under them.

    `least` is its longest word, `limit` the room it takes; numbers are not wrapped, their title is.
    """

    heading: Heading[Any]
    title: str
    cells: Sequence[str]
    sums: Sequence[str]
    least: int
    limit: int
    finely: bool

    @classmethod
    def of(
        cls,
        heading: Heading[Any],
        cells: Sequence[Cell],
        sums: Sequence[Cell],
        title: str,
        *,
        finely: bool,
    ) -> "TextColumn":
        """The column with all the room that it may take."""
        texts = [shown(cell, heading.form) for cell in cells]
        under = [shown(cell, heading.form) for cell in sums]
        is_words = heading.form == "text"
        words = [longest_word(text, finely=finely) if is_words else across(text) for text in texts]
        least = max(longest_word(title), *words, *map(across, under))
        wide = max(least, heading.wide) if is_words else max(least, across(title))
        lines = (line for text in (title, *texts) for line in wrapped(text, wide, finely=finely))
        limit = max(least, *map(across, lines))
        return cls(heading, title, texts, under, least, limit, finely)

    @property
    def is_words(self) -> bool:
        """Whether its cells may be wrapped."""
        return self.heading.form == "text"

    def wrapped(self) -> list[str]:
        """Title and cells within the limit."""
        texts = (self.title, *self.cells)
        return ["\n".join(wrapped(text, self.limit, finely=self.finely)) for text in texts]


class Grid(Struct, frozen=True):
    """A table as text in columns, with the lines under its rows."""

    columns: tuple[TextColumn, ...]
    below: tuple[Foot, ...]

    @classmethod
    def of(cls, table: Table, currency: str, *, finely: bool = False) -> "Grid":
        """The table with all the room that it may take."""
        below = tuple(feet(table))
        columns = [
            TextColumn.of(
                heading,
                [row[index] for row in table.rows],
                [foot.values.get(index) for foot in below],
                visible(heading.titled(currency)),
                finely=finely,
            )
            for index, heading in enumerate(table.headings)
        ]
        for foot in below:
            _make_room(columns, foot)
        return cls(tuple(columns), below)

    @property
    def width(self) -> int:
        """Characters across."""
        return across_all([column.limit for column in self.columns])

    def rows(self) -> list[tuple[str, ...]]:
        """The titles, then the rows, wrapped."""
        return list(zip(*(column.wrapped() for column in self.columns), strict=True))

    def squeezed(self, width: int) -> "Grid":
        """Titles of numbers wrapped, then words, always in the widest column, until it fits."""
        limits = [column.limit for column in self.columns]
        for is_words in (False, True):
            for _ in range(across_all(limits) - width):
                loose = [
                    (limits[index], index)
                    for index, column in enumerate(self.columns)
                    if column.is_words == is_words and limits[index] > column.least
                ]
                if loose:
                    limits[max(loose)[1]] -= 1
        pairs = zip(self.columns, limits, strict=True)
        return Grid(tuple(replace(column, limit=limit) for column, limit in pairs), self.below)

    @property
    def harm(self) -> float:
        """Lines, less what the columns that are kept are worth in lines."""
        rows = self.rows()
        lines = sum(1 + max(cell.count("\n") for cell in row) for row in rows)
        worth = sum(column.heading.gives_way for column in self.columns)
        return lines - len(rows) * worth / 10


def _make_room(columns: list[TextColumn], foot: Foot) -> None:
    """Let the column of a label have its longest word, where those to its left have no room."""
    at, word = foot.label_column, longest_word(visible(foot.label))
    if at is not None and word > across_all([column.least for column in columns[: at + 1]]):
        limit = max(word, columns[at].limit)
        columns[at] = replace(columns[at], least=word, limit=limit)


def fitted(table: Table, width: int | None, currency: str) -> Grid:
    """The whole table where it fits; else that in which wrapping and leaving out harm least."""
    whole = Grid.of(table, currency)
    if width is None or whole.width <= width:
        return whole
    table = table.without_blanks()
    grids = [Grid.of(table, currency)]
    for number in sorted({heading.gives_way for heading in table.headings} - {0}):
        table = table.without(number)
        grids.append(Grid.of(table, currency))
    tried = [grid.squeezed(width) for grid in grids]
    fitting = [grid for grid in tried if grid.width <= width]
    if not fitting:
        return Grid.of(table, currency, finely=True).squeezed(width)
    return min(fitting, key=lambda grid: grid.harm)


def across_all(widths: Sequence[int]) -> int:
    """Characters across of columns side by side."""
    return sum(widths) + GAP * (len(widths) - 1)
