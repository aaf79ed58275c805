"""The formulas of a workbook that hold no result, worked out where that is plain.

A program that does not reckon leaves results out, and so does this one where what it wrote may
make them untrue (`shelf/stockbook/stale`).  What is stored on the same sheet is taken as it is;
a formula of another sheet may hold what was true before, and is worked out anew.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from msgspec.structs import replace

from bom.files.sheet.formula import CellRows, tokens_of, worked_out
from bom.files.sheet.formula_cells import Block, Formulas, SheetCell, formulas_of
from bom.files.sheet.package import Package
from bom.files.sheet.values import (
    NO_RESULT,
    Sheet,
    Value,
    as_percent,
    cell_name,
    clean_text,
    trimmed,
)

if TYPE_CHECKING:
    from openpyxl.formula.tokenizer import Token

_MOST = 1_500_000
"""So many cells are gone through for the results of one sheet, which takes 3 s at most."""

_LETTER = 5
"""What a letter of a formula takes, measured in cells."""

_FIGURE = re.compile(r"[0-9]{1,15}(\.[0-9]{1,15})?")


def with_results(package: Package, sheets: Sequence[Sheet]) -> tuple[Sheet, ...]:
    """The sheets of an .xlsx package with the results that it does not hold."""
    lacking = [at for at, sheet in enumerate(sheets) if any(_lacking(sheet))]
    if not lacking:
        return tuple(sheets)
    formulas = formulas_of(package, [sheet.name for sheet in sheets])
    if formulas is None:
        return tuple(sheets)
    filled = {at: _filled(sheets, at, formulas) for at in lacking}
    return tuple(filled.get(at, sheet) for at, sheet in enumerate(sheets))


def _lacking(sheet: Sheet) -> Iterator[tuple[int, int]]:
    for row, cells in enumerate(sheet.rows):
        if NO_RESULT in cells:
            yield from ((row, column) for column, cell in enumerate(cells) if cell == NO_RESULT)


def _filled(sheets: Sequence[Sheet], at: int, formulas: Formulas) -> Sheet:
    work = _Results(sheets, at, formulas)
    rows = [*map(list, sheets[at].rows)]
    for row, column in _lacking(sheets[at]):
        value = work.result((at, row, column))
        if isinstance(value, str):
            value = clean_text(value)
        elif (at, row, column) in formulas.percents:
            value = as_percent(value)
        rows[row][column] = value
    return replace(sheets[at], rows=trimmed(rows))


class _Results:
    """The formulas that the results of one sheet follow from, each worked out once."""

    def __init__(self, sheets: Sequence[Sheet], home: int, formulas: Formulas) -> None:
        self._sheets = sheets
        self._home = home
        self._formulas = formulas
        self._done: dict[SheetCell, Value] = {}
        self._widths = [max(map(len, sheet.rows), default=0) for sheet in sheets]
        self._left = _MOST

    def result(self, place: SheetCell) -> Value:
        """What a formula gives; one that leads back to itself gives nothing."""
        begun: dict[SheetCell, Sequence[Token]] = {}
        waiting = [place]
        while waiting and self._left > 0:
            here = waiting[-1]
            before: list[SheetCell] = []
            if here not in begun:
                begun[here] = self._words(here)
                before = [p for p in self._before(here, begun[here]) if p not in begun]
            if not before:
                waiting.pop()
                if here not in self._done:
                    self._done[here] = self._worked_out(here, begun[here])
            waiting += before
        return self._done.get(place, NO_RESULT)

    def _words(self, here: SheetCell) -> Sequence["Token"]:
        held = self._formulas.held[here]
        self._left -= _LETTER * len(held.text)
        return tokens_of(held.text, held.cell, cell_name(*here[1:]))

    def _before(self, here: SheetCell, words: Iterable["Token"]) -> Iterator[SheetCell]:
        """The formulas that have to be worked out before this one."""
        for word in words:
            block = self._block(word.value, here) if word.subtype == "RANGE" else None
            for place in (p for row in self._places(block) for p in row):
                if place not in self._done and self._is_open(place):
                    yield place

    def _worked_out(self, here: SheetCell, words: Sequence["Token"]) -> Value:
        def look(said: str) -> CellRows | None:
            figure = _FIGURE.fullmatch(self._formulas.meaning(said, here))
            if figure:
                return [[Decimal(figure[0])]]
            block = self._block(said, here)
            return [[*map(self._value, row)] for row in self._places(block)] if block else None

        value = worked_out(words, look)
        return value if self._left > 0 else NO_RESULT  # which may have seen a part of its cells

    def _block(self, said: str, here: SheetCell) -> Block | None:
        return self._formulas.block(self._formulas.meaning(said, here), here)

    def _places(self, block: Block | None) -> Iterator[list[SheetCell]]:
        """The cells of a block row by row, as far as its sheet reaches; of one cell that one."""
        if block is None:
            return
        rows = self._sheets[block.sheet].rows
        bottom = max(block.top, min(block.bottom, len(rows) - 1))
        right = max(block.left, min(block.right, self._widths[block.sheet] - 1))
        columns = range(block.left, right + 1)
        for row in range(block.top, bottom + 1):
            self._left -= len(columns)
            if self._left < 0:
                return
            yield [(block.sheet, row, column) for column in columns]

    # ------------------------------------------------------------------------------ cells

    def _value(self, place: SheetCell) -> Value:
        if self._is_open(place):
            return self._done.get(place, NO_RESULT)
        value = self._stored(place)
        return "" if value is None and place in self._formulas.held else value

    def _is_open(self, place: SheetCell) -> bool:
        """Whether a cell has to be worked out first."""
        at_home = place[0] == self._home
        return place in self._formulas.held and not (at_home and self._stored(place) != NO_RESULT)

    def _stored(self, place: SheetCell) -> Value:
        sheet, row, column = place
        rows = self._sheets[sheet].rows
        cells = rows[row] if row < len(rows) else ()
        return cells[column] if column < len(cells) else None
