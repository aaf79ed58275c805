"""Where a row of a sheet and a list stand, so that any field of them can name its cell."""

from collections.abc import Mapping
from decimal import Decimal
from typing import TypeAlias

from msgspec import Struct, field

from bom.trade.problem import Where

Written: TypeAlias = str | int | Decimal | None
"""What is written into a cell; `None`, or a text without a character, empties it."""


class Row(Struct, frozen=True):
    """Where a row of a sheet stands, so that any field of it can name its cell."""

    file: str
    sheet: str
    number: int
    letters: Mapping[str, str] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash((self.file, self.sheet, self.number))

    def where(self, heading: str = "") -> Where:
        """The cell of `heading` in this row; the row's first cell when the column is missing."""
        letter = self.letters.get(heading) or self.letters.get(heading.removesuffix(" end"))
        letter = letter or min(
            self.letters.values(), key=lambda name: (len(name), name), default="A"
        )
        return Where(self.file, self.sheet, f"{letter}{self.number}")


class Listing(Struct, frozen=True, kw_only=True):
    """Where a list stands: its heading row as the spreadsheet counts, and its columns.

    `letters` and `units` (of those that name one: `length mm`) are by heading.  A sheet without
    a single cell has heading row 0 and no letters.
    """

    file: str
    sheet: str
    header_row: int
    letters: Mapping[str, str]
    units: Mapping[str, str]
    numbers: frozenset[str] = frozenset()
    """Headings under which every cell is a number, and there are some."""
    last_row: int | None = None
    """The last row of the list where free rows follow and then something else, such as totals."""
