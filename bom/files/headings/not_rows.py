"""Rows inside a list that are none of it: totals, headings of its parts, headings again.

Sums under the list and headings printed again are harmless.  A list under this one is refused.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import cached_property, lru_cache

from msgspec.structs import replace

from bom.files.headings.columns import Column, KnownHeadings, as_shown, folded
from bom.files.headings.layout import Layout, listing
from bom.files.sheet import NO_RESULT, Fault, Sheet, Value, column_number
from bom.files.spelling import Misspelt, fold
from bom.trade.problem import Problem, error

_TOTAL = re.compile(
    r"(?:sub|grand|over-?all)?[\s-]*(?:totals?|sums?|Σ)\b(?!\W*loss\b)\W*(?P<of>.*?)\W*",
    re.IGNORECASE,
)
"""A total, and what of.  Total loss is a way to oil an engine or to feed its coil."""

_BARE_TOTAL = re.compile(r"(?:sub|grand|over-?all)?[\s-]*(?:totals?|sums?|Σ)\W*", re.IGNORECASE)
_SEVERAL = 2
"""Under so many rows `Total` is their total, though of prices times numbers it is not their sum."""

_THINGS = r"(?:wires?|circuits?|cables?|leads?|conductors?|branches|rows|lines|items|pieces)"
_COUNT = re.compile(
    rf"\d++\s*+{_THINGS}\.?|{_THINGS}\s*[:=]\s*\d*|(?:number|no\.?)\s+of\s+{_THINGS}\W*\d*",
    re.IGNORECASE,
)
"""So many wires: what stands under a list that somebody counted."""

_FIGURE = re.compile(r"\D?\s*(?:\d[\d.,]*)\s*[^\W\d]*[2²%]?")
"""A number, with a sign of money or a unit."""

_SUMMED = re.compile(r"(?:time|work|cost|amount|number|all|of .+|for .+)", re.IGNORECASE)
"""What a total may be of beside what the headings say."""


def says_total(value: Value) -> bool:
    """True for a cell that calls its row a total or counts the rows above.

    >>> [says_total(text) for text in ("Sub-total:", "85 wires", "T1", "total loss oiler")]
    [True, True, False, False]
    """
    return isinstance(value, str) and _says_total(value.strip())


@lru_cache(4096)
def _says_total(text: str) -> bool:
    """The same words come in most rows of a list."""
    return bool(_TOTAL.fullmatch(text) or _COUNT.fullmatch(text))


def is_total(sheet: Sheet, number: int, place: Layout, above: Sequence[int]) -> bool:
    """True for a row of totals: it says so, or each of its figures is the sum of those above.

    `above` are the rows of the list over it.  A row whose one needed cell is filled (`Total hours`,
    say) must do both, but for the bare word under several rows; of two one must be the total, and
    nothing but figures with it.
    """
    cells = sheet.rows[number]
    own = sorted((match.index, match.column.needed) for match in place.found)
    filled = {i: cells[i] for i, _ in own if i < len(cells) and cells[i] is not None}
    needed = {index for index, is_needed in own if is_needed}
    said = [index for index, value in filled.items() if says_total(value)]
    words = {i for i, value in filled.items() if i not in said and not _is_figure(value)}
    if not needed <= filled.keys():
        named = needed & words or not _TOTAL.fullmatch(str(next(iter(filled.values()))).strip())
        if said and not (words and named):
            return True
    elif len(needed) > 1:
        return not words and not needed.isdisjoint(said)
    elif len(above) >= _SEVERAL and said and _BARE_TOTAL.fullmatch(str(filled[said[0]]).strip()):
        return True
    elif not _is_summed(filled, said, sheet, place.known):
        return False
    figures = [i for i, value in filled.items() if not isinstance(value, str)]
    if not figures or (len(figures) < len(filled) and not said):
        return False
    return all(_may_sum_up(sheet.rows[number][i], _above(sheet, i, above)) for i in figures)


def is_own_total(sheet: Sheet, number: int, covered: Iterable[int], above: Sequence[int]) -> bool:
    """True for a row of totals in an owner's book, where no row is left out that might be one.

    It says `Total` or how many rows there are over it, and beside that holds their sums alone,
    or formulas that give none.
    """
    cells, rows = sheet.rows[number], len(above)
    there = [i for i in covered if i < len(cells)]
    said = [i for i in there if says_total(cells[i]) or cells[i] == rows]
    if not said:
        return False
    filled = (i for i in there if i not in said and cells[i] is not None)
    figures = {i: _number(cells[i]) for i in filled}
    return bool(figures) and all(
        isinstance(value, Fault) or _may_sum_up(value, _above(sheet, i, above))
        for i, value in figures.items()
    )


def has_a_sum(sheet: Sheet, number: int, covered: Iterable[int], above: Sequence[int]) -> bool:
    """True where one of the figures of a row is the sum of those above it."""
    cells = sheet.rows[number]
    found = ((i, _number(cells[i])) for i in covered if i < len(cells))
    sums = ((i, value) for i, value in found if isinstance(value, Decimal))
    return any(_may_sum_up(value, _above(sheet, i, above)) for i, value in sums)


def _is_figure(value: Value) -> bool:
    return not isinstance(value, str) or _FIGURE.fullmatch(value.strip()) is not None


def _is_summed(
    filled: Mapping[int, Value], said: Sequence[int], sheet: Sheet, known: KnownHeadings
) -> bool:
    """True for a total of what the list has, such as `Total hours`: `total strip down` is work."""
    total = _TOTAL.fullmatch(str(filled[said[0]]).strip()) if said else None
    if total is None:
        return False
    of = total["of"]
    own = not of or known.find(of) or folded(of) == folded(sheet.name)
    return bool(own or _FIGURE.fullmatch(of) or _SUMMED.fullmatch(of))


def _number(value: Value) -> Value:
    """A text of a .csv as the number that it is."""
    is_number = isinstance(value, str) and re.fullmatch(r"-?[0-9]{1,15}([.,][0-9]{1,15})?", value)
    return Decimal(str(value).replace(",", ".")) if is_number else value


def _above(sheet: Sheet, index: int, rows: Iterable[int]) -> list[Decimal]:
    cells = (_number(sheet.rows[n][index]) for n in rows if index < len(sheet.rows[n]))
    return [cell for cell in cells if isinstance(cell, Decimal)]


def _may_sum_up(value: Value, above: Sequence[Decimal]) -> bool:
    """True for the sum of the figures above, and for a formula whose result is not stored."""
    if not isinstance(value, Decimal):
        return value == NO_RESULT
    return len(above) > 1 and abs(sum(above) - value) <= abs(value) / 10**6


def without_notes(sheet: Sheet, columns: Sequence[Column]) -> Sheet:
    """An owner's sheet without the notes of a list whose rows need several cells.

    Where none of those is filled it is no row of the list; nor is a sentence alone in one.
    """
    place = listing(sheet, columns)
    letters = place.letters if place else {}
    index = {name: column_number(letter) for name, letter in letters.items()}
    must = {index[column.name] for column in columns if column.must and column.name in index}
    if place is None or len(must) < _SEVERAL:
        return sheet
    read = {index[c.name] for c in columns if c.filled_by != "owner" and c.name in index}

    def is_note(row: Sequence[Value]) -> bool:
        filled = [i for i in sorted(read) if i < len(row) and row[i] is not None]
        return must.isdisjoint(filled) or (len(filled) == 1 and _is_said(row[filled[0]]))

    kept = (
        row if n < place.header_row or not is_note(row) else () for n, row in enumerate(sheet.rows)
    )
    return replace(sheet, rows=tuple(kept))


def _is_said(value: Value) -> bool:
    """True for words, and none that a row could be called by: `R07`, `2026-014`."""
    return isinstance(value, str) and (" " in value.strip() or not re.search(r"\d", value))


# ------------------------------------------------------------- headings of parts of a list

_WORDS = re.compile(r"[^\d:/]{3,}")
_TITLE = re.compile(
    r".*[^\W\d_]{3}.*:|(?:\d{1,2}|[a-z]|[ivx]+)[.)]\s*(?!\d).*[^\W\d_]{3}.*", re.IGNORECASE
)
"""What nobody calls a wire or a point: `Lighting:`, `1. Lighting`."""

_LONG_WORD = re.compile(r"[^\W\d_]{4}")


class PartHeadings:
    """The headings that part a list, such as LIGHTING: words alone in their row."""

    def __init__(self, sheet: Sheet, place: Layout) -> None:
        self.sheet = sheet
        self.header = place.header
        self.columns = {match.index: match for match in place.found}
        self.needed = {i for i, match in self.columns.items() if match.column.needed}

    def has(self, number: int, index: int) -> bool:
        """True where the one filled cell of a row is such a heading."""
        value = self.sheet.rows[number][index]
        if not isinstance(value, str):
            return False
        said = value.strip()
        if index not in self.needed:
            return bool(_WORDS.fullmatch(said) or _TITLE.fullmatch(said)) or self._tells(
                index, said
            )
        others = self.needed - {index}
        if not all(self.columns[i].column.must for i in others):
            return False  # no fault: a row of the Job sheet that is not filled in yet
        return bool(_TITLE.fullmatch(said)) or bool(others and self._stands_out(said))

    def _tells(self, index: int, said: str) -> bool:
        """Words with a figure or a stroke among them, and no value: `Lights / horn`, `Loom 2`."""
        if not _LONG_WORD.search(said) or (" " not in said and re.search(r"\d", said)):
            return False
        match = self.columns[index]
        try:
            return isinstance(match.column.read(said, match.unit), str)
        except Misspelt:
            return True

    def _stands_out(self, said: str) -> bool:
        """True for no point of the list, in capitals where its points have none."""
        shapes, points = self._ends
        shape = _shape(said)
        if not shape or not shapes or shape in shapes or fold(said) in points:
            return False
        return _LONG_WORD.search(said) is not None

    @cached_property
    def _ends(self) -> tuple[frozenset[str], frozenset[str]]:
        """How the needed cells of whole rows are written, and the points that they name."""
        below = self.sheet.rows[self.header + 1 :]
        rows = ([row[i] for i in self.needed if i < len(row)] for row in below)
        whole = (ends for ends in rows if len(ends) == len(self.needed) and None not in ends)
        texts = [end for ends in whole for end in ends if isinstance(end, str)]
        shapes = frozenset(_shape(text) for text in texts if not says_total(text))
        return shapes, frozenset(fold(text.partition(":")[0]) for text in texts)


def _shape(text: str) -> str:
    """In capitals, with a capital first, or neither."""
    return "upper" if text.isupper() else "title" * text[:1].isupper()


# ----------------------------------------------------------------- headings printed again


def needed_heads(sheet: Sheet, place: Layout) -> tuple[tuple[int, str], ...]:
    """Where the headings stand that the header row is known by, each as it is compared."""
    if place.header < 0:
        return ()
    heads = sheet.rows[place.header]
    needed = (match.index for match in place.found if match.column.needed)
    return tuple((index, folded(as_shown(heads[index]))) for index in needed)


def is_headings_again(cells: Sequence[Value], heads: Iterable[tuple[int, str]]) -> bool:
    """True where the headings (`needed_heads`) stand once more, as at the top of a new page."""
    for index, head in heads:
        cell = cells[index] if index < len(cells) else None
        if not isinstance(cell, str) or folded(cell) != head:
            return False
    return True


def another_list(sheet: Sheet, number: int, known: KnownHeadings) -> Problem | None:
    """What to say where another list's headings stand in this row, below a blank one."""
    cells = sheet.rows[number]
    if not known.needed <= known.names(cells):
        return None
    first = next(index for index, value in enumerate(cells) if value is not None)
    says = "a second list begins here, under the first"
    return error(sheet.where(number, first), says, "a sheet of its own for it")
