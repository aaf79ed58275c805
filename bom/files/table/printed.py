"""Tables as text for a terminal: aligned columns, words wrapped until it fits."""

import re
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any

from bom.files.table.cells import across, printable, shown
from bom.files.table.headed import Foot, Heading, Table, feet

_NARROWEST = 10  # characters below which a column of words is not squeezed
_NOTE_WIDTH = 96


def as_text(table: Table, width: int | None = None, *, currency: str = "GBP") -> str:
    """The table for a terminal: title, aligned columns, totals, footer, notes.

    With a `width` in characters the widest columns of words are wrapped more narrowly until
    the table fits, if it can.
    """
    lines = [printable(table.title), ""]
    if table.rows or table.footer:
        lines += _grid(table, width, currency)
    else:
        lines.append("(nothing)")
    if table.notes:
        lines.append("")
    for note in table.notes:
        lines += textwrap.wrap(printable(note), width or _NOTE_WIDTH, subsequent_indent="  ")
    return "\n".join(lines)


def _grid(table: Table, width: int | None, currency: str) -> list[str]:
    from tabulate import SEPARATING_LINE, tabulate

    headings, below = table.headings, feet(table)
    sums = [[foot.values.get(index) for index in range(len(headings))] for foot in below]
    cells = [[printable(heading.titled(currency)) for heading in headings]]
    cells += [
        [shown(cell, heading.form) for cell, heading in zip(row, headings, strict=True)]
        for row in (*table.rows, *sums)
    ]
    limits = _limits(cells, headings, width)
    cells, last = cells[: len(table.rows) + 1], cells[len(table.rows) + 1 :]
    head, *body = ([_wrapped(*pair) for pair in zip(row, limits, strict=True)] for row in cells)
    widths = [_widest(column) for column in zip(head, *body, *last, strict=True)]
    _place_long_labels(below, last, widths)
    # Without headers: tabulate would make every column two wider than its heading.
    rule_off = [[SEPARATING_LINE]] if body and last else []
    text = tabulate(
        [head, [SEPARATING_LINE], *body, *rule_off, *last],
        tablefmt="simple",
        disable_numparse=True,
        colalign=["left" if heading.form == "text" else "right" for heading in headings],
    )
    rule, *lines = text.splitlines()[:-1]
    return _labelled(lines, below, [match.end() for match in re.finditer("-+", rule)])


def _limits(
    rows: Sequence[Sequence[str]], headings: Sequence[Heading[Any]], width: int | None
) -> list[int]:
    """Characters across of each column; numbers are never wrapped."""
    limits = [max(across(text) for text in column) for column in zip(*rows, strict=True)]
    words = [index for index, heading in enumerate(headings) if heading.form == "text"]
    for index in words:
        limits[index] = min(limits[index], headings[index].wide)
    while width and words and sum(limits) + 2 * (len(limits) - 1) > width:
        widest = max(words, key=limits.__getitem__)
        if limits[widest] <= _NARROWEST:
            break
        limits[widest] -= 1
    return limits


def _wrapped(text: str, wide: int) -> str:
    if across(text) <= wide:
        return text
    letters = max(1, wide * len(text) // across(text))
    return "\n".join(textwrap.wrap(text, letters, break_on_hyphens=False))


def _widest(cells: Iterable[str]) -> int:
    return max(across(line) for cell in cells for line in cell.split("\n"))


def _place_long_labels(
    below: Sequence[Foot], last: Sequence[list[str]], widths: Sequence[int]
) -> None:
    """Put a label into its cell, so that the column grows, where it has no room to the left."""
    for foot, cells in zip(below, last, strict=True):
        at = foot.label_column
        if at is not None and across(foot.label) > sum(widths[: at + 1]) + 2 * at:
            cells[at] = printable(foot.label)


def _labelled(lines: list[str], below: Sequence[Foot], ends: Sequence[int]) -> list[str]:
    """With the labels of the last lines set against their values, over the empty columns."""
    for number, foot in enumerate(below, start=len(lines) - len(below)):
        at = foot.label_column
        if at is not None and not lines[number][: ends[at]].strip():
            label = printable(foot.label)
            room = " " * (ends[at] - across(label))
            lines[number] = room + label + lines[number][ends[at] :]
    return [line.rstrip() for line in lines]
