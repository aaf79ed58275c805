"""Tables as text for a terminal: aligned columns, made to fit its width without cutting a word."""

import re
from collections.abc import Iterator, Sequence

from msgspec import Struct

from bom.files.table.fitting import Grid, across_all, fitted
from bom.files.table.headed import Table
from bom.files.wrapping import across, longest_word, wrapped
from bom.trade.visible import visible

_NOTE_WIDTH = 96


def as_text(table: Table, width: int | None = None, *, currency: str = "GBP") -> str:
    """The table for a terminal: title, aligned columns, totals, footer, notes.

    With a `width` in characters words are wrapped, and columns that give way are left out and
    named under the table, until it fits, if it can.
    """
    title = visible(table.title)
    lines = [*(wrapped(title, width, "  ") if width else [title]), ""]
    notes = table.notes
    if table.rows or table.footer:
        grid = fitted(table, width, currency)
        lines += _lines(grid, width)
        notes = (*_left_out(table, grid, currency), *notes)
    else:
        lines.append("(nothing)")
    if notes:
        lines.append("")
    for note in notes:
        lines += wrapped(visible(note), width or _NOTE_WIDTH, "  ")
    return "\n".join(lines)


def _left_out(table: Table, grid: Grid, currency: str) -> Iterator[str]:
    kept = [column.heading for column in grid.columns]
    gone = [each.titled(currency) for each in table.headings if each not in kept]
    if gone:
        yield f"left out for want of width: {', '.join(gone)}; {table.whole} has them"


def _lines(grid: Grid, width: int | None) -> list[str]:
    """Titles, rows and the lines under them, set out."""
    from tabulate import SEPARATING_LINE, tabulate

    head, *body = grid.rows()
    under = list(_under(grid, (head, *body), width))
    # Without headers: tabulate would make every column two wider than its heading.
    rule_off = [[SEPARATING_LINE]] if body and under else []
    text = tabulate(
        [head, [SEPARATING_LINE], *body, *rule_off, *(line.cells for line in under)],
        tablefmt="simple",
        disable_numparse=True,
        colalign=["left" if column.is_words else "right" for column in grid.columns],
    )
    rule, *lines = text.splitlines()[:-1]
    return _labelled(lines, under, [match.end() for match in re.finditer("-+", rule)])


class _Under(Struct, frozen=True):
    """A line under the rows: its label in lines, the column which that ends in, and its cells."""

    label: Sequence[str]
    column: int
    cells: Sequence[str]


def _under(grid: Grid, rows: Sequence[tuple[str, ...]], width: int | None) -> Iterator[_Under]:
    """The lines under the rows; a label runs out over the columns to its left.

    Where it has no room there its column grows, or where the width forbids that it is wrapped.
    """
    sums = list(zip(*(column.sums for column in grid.columns), strict=True))
    widths = [
        max(across(line) for cell in column for line in cell.split("\n"))
        for column in zip(*rows, *sums, strict=True)
    ]
    for foot, cells in zip(grid.below, sums, strict=True):
        at, label = foot.label_column, visible(foot.label)
        if at is None:
            yield _Under((), 0, cells)
            continue
        room = across_all(widths[: at + 1])
        grown = across_all(widths) + across(label) - widths[at]
        forbidden = width is not None and grown > width
        lines = wrapped(label, max(room, longest_word(label)) if forbidden else across(label))
        widest = max(lines, key=across)
        makes_room = (*cells[:at], widest, *cells[at + 1 :])
        yield _Under(lines, at, makes_room if across(widest) > room else cells)


def _labelled(lines: list[str], under: Sequence[_Under], ends: Sequence[int]) -> list[str]:
    """With the labels of the last lines set against their values, over the empty columns."""
    rows = len(lines) - len(under)
    labelled = lines[:rows]
    for line, foot in zip(lines[rows:], under, strict=True):
        end = ends[foot.column]
        labels = [" " * (end - across(label)) + label for label in foot.label]
        labelled += [labels[0] + line[end:], *labels[1:]] if labels else [line]
    return [line.rstrip() for line in labelled]
