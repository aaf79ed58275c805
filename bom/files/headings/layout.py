"""Where the list stands in a sheet: its header row, its columns, and what is beside it.

Titles above the header row are harmless.  A list beside this one is told and not read.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import groupby

from msgspec import Struct

from bom.files.headings.columns import (
    NOT_READ,
    Column,
    FoundColumn,
    KnownHeadings,
    as_shown,
)
from bom.files.sheet import Sheet, Value, letters_of
from bom.trade.problem import Problem, Where, caution, error, nearest
from bom.trade.rows import Listing

LATER_HEADER = 20
"""So many rows under the first that could be the header row a fuller one is looked for."""

_MOST_SLIPS = 200
"""In so many headings that are not known a slip of the pen is looked for: no list has more."""


class Layout(Struct, frozen=True):
    """The columns of a list, and its header row.

    `header` is -1 where it has none; `titled` are all columns with a heading, known or not.
    """

    header: int
    found: tuple[FoundColumn, ...]
    titled: frozenset[int]
    known: KnownHeadings

    @property
    def letters(self) -> dict[str, str]:
        """The letter of each column by its name."""
        return {match.column.name: letters_of(match.index) for match in self.found}


def has_headings(sheet: Sheet, columns: Sequence[Column]) -> bool:
    """True when some row of the sheet has all needed headings."""
    return _header_row(sheet, KnownHeadings(columns)) is not None


def _header_row(sheet: Sheet, known: KnownHeadings) -> int | None:
    """The row with all needed headings, and with the most known of those near the first."""
    first: int | None = None
    best, most = None, 0
    for number, cells in enumerate(sheet.rows):
        if first is not None and number > first + LATER_HEADER:
            break
        if sum(isinstance(cell, str) for cell in cells) < len(known.needed):
            continue
        names = known.names(cells)
        if known.needed <= names:
            first = number if first is None else first
            if len(names) > most:
                best, most = number, len(names)
    return best


def layout(
    sheet: Sheet, columns: Sequence[Column], *, own_columns: bool
) -> tuple[Layout | None, list[Problem]]:
    """The list's columns by their headings, None where no row has them.

    A heading that is not known is a problem unless the owner may keep columns of their own.
    """
    known = KnownHeadings(columns)
    header = _header_row(sheet, known)
    if header is None:
        return None, [_no_header(sheet, columns)]
    heads = {i: v for i, v in enumerate(sheet.rows[header]) if v is not None}
    beside = _beside(heads, known)
    problems = [] if own_columns else [_not_read(sheet, header, heads, b) for b in beside]
    others = {index for block in beside for index in block}
    found: dict[str, FoundColumn] = {}
    for index in sorted(heads.keys() - others):
        where, match = sheet.where(header, index), known.find(as_shown(heads[index]), index)
        before = next((m for m in found.values() if m.index == index - 1), None)
        match = known.after(before, as_shown(heads[index])) or match
        if match is None:
            if not own_columns:
                names = columns if len(problems) < _MOST_SLIPS else ()
                problems.append(_unknown_column(where, as_shown(heads[index]), names))
        elif match.column.name == NOT_READ:
            continue
        elif own_columns and _one_by_its_name(found.get(match.column.name), match):
            found[match.column.name] = min(found[match.column.name], match, key=_by_word)
        elif match.column.name in found:
            first = sheet.where(header, found[match.column.name].index).cell
            says = f"a second column for '{match.column.name}', which stands in {first} too"
            problems.append(error(where, says, "keep one of the two"))
        else:
            found[match.column.name] = match
    return Layout(header, tuple(found.values()), frozenset(heads), known), problems


def _by_word(match: FoundColumn) -> bool:
    return match.how == "word"


def _one_by_its_name(first: FoundColumn | None, second: FoundColumn) -> bool:
    """True where one of two is known by its own name: the other is a column of the owner's."""
    return first is not None and _by_word(first) != _by_word(second)


def headless(columns: Sequence[Column]) -> Layout:
    """A list without a header row: its needed columns in their order."""
    needed = [column for column in columns if column.needed]
    found = tuple(FoundColumn(column, index, "") for index, column in enumerate(needed))
    return Layout(-1, found, frozenset(range(len(needed))), KnownHeadings(columns))


def _beside(heads: Mapping[int, Value], known: KnownHeadings) -> list[list[int]]:
    """Blocks of headings, parted by a blank one, that are lists of their own beside the list."""
    blocks = [
        [index for _, index in group]
        for _, group in groupby(enumerate(sorted(heads)), lambda pair: pair[1] - pair[0])
    ]
    found = [[known.find(as_shown(heads[index])) for index in block] for block in blocks]
    names = [[match.column.name for match in block if match] for block in found]
    whole = [number for number, block in enumerate(names) if known.needed <= {*block}]
    if not whole:
        return []
    main = max(whole, key=lambda number: (len({*names[number]}), -number))
    there = {*names[main]}
    beside = []
    for number, block in enumerate(blocks):
        new = [name for name in names[number] if name not in there]
        if number == main or len(block) < 2:
            continue
        if known.needed & {*names[number]} or 2 * len(new) < len(block):
            beside.append(block)
        else:
            there.update(new)
    return beside


def _not_read(sheet: Sheet, header: int, heads: Mapping[int, Value], block: list[int]) -> Problem:
    names = ", ".join(as_shown(heads[index]) for index in block)
    says = f"the list beside this one ({names}) is not read"
    return caution(sheet.where(header, block[0]), says, "a sheet of its own for it")


def _no_header(sheet: Sheet, columns: Sequence[Column]) -> Problem:
    needed = " and ".join(f"'{column.name}'" for column in columns if column.needed)
    names = ", ".join(column.name for column in columns if column.name)
    cure = f"a heading over each column ({names}), or your own words for them under [columns] in "
    says = f"no row has the headings {needed}"
    where = Where(sheet.file, sheet.name, "A1")
    return error(where, says, f"{cure}workshop.toml", cause=True)


def _unknown_column(where: Where, text: str, columns: Sequence[Column]) -> Problem:
    """A slip of the pen is an error; a column of the user's own is only pointed out."""
    names = [name for column in columns for name in (column.name, *column.also)]
    close = nearest(text, names)
    if close:
        return error(where, f"column '{text}' is not known", close, cause=True)
    says = f"column '{text}' is not known and is not read"
    alike = "columns are not known and not read"
    cure = "your word for its column under [columns] in workshop.toml, or 'note' over remarks"
    return caution(where, says, cure, alike=alike, cause=True)


# ---------------------------------------------------------------------- where it stands


def listing(sheet: Sheet, columns: Sequence[Column]) -> Listing | None:
    """Where the list stands in the sheet; None where no row has its headings."""
    if not sheet.rows:
        return Listing(file=sheet.file, sheet=sheet.name, header_row=0, letters={}, units={})
    place, _ = layout(sheet, columns, own_columns=True)
    if place is None:
        return None
    return Listing(
        file=sheet.file,
        sheet=sheet.name,
        header_row=place.header + 1,
        letters=place.letters,
        units={match.column.name: match.unit for match in place.found if match.unit},
        numbers=frozenset(
            m.column.name for m in place.found if _all_numbers(sheet, place.header, m.index)
        ),
    )


def _all_numbers(sheet: Sheet, header: int, column: int) -> bool:
    cells = (row[column] for row in sheet.rows[header + 1 :] if column < len(row))
    filled = (cell for cell in cells if cell is not None)
    return isinstance(next(filled, None), Decimal) and all(isinstance(c, Decimal) for c in filled)


class TakenFor(Struct, frozen=True, kw_only=True):
    """A heading of a sheet and the column it is taken for, '' where it is not read."""

    where: Where
    heading: str
    column: str
    unit: str
    how: str

    @property
    def is_other_word(self) -> bool:
        """True where it is known by another word of the trade than the column's name."""
        return self.how == _HOW["word"]


_HOW = {"name": "its name", "word": "another word for it", "own": "workshop.toml"}


def taken_for(sheet: Sheet, columns: Sequence[Column]) -> tuple[TakenFor, ...]:
    """Each heading of the header row in its order; of the likeliest row where none is one."""
    place, _ = layout(sheet, columns, own_columns=True)
    known = KnownHeadings(columns)
    header = place.header if place else _likeliest(sheet, known)
    heads = sheet.rows[header] if sheet.rows else ()
    words = [known.find(as_shown(head), index) for index, head in enumerate(heads)]
    found = place.found if place else [match for match in words if match]
    left_out = (match for match in words if match and match.column.name == NOT_READ)
    by_index = {match.index: match for match in (*found, *left_out)}
    taken = []
    for index, value in enumerate(heads):
        if value is None:
            continue
        match = by_index.get(index)
        taken.append(
            TakenFor(
                where=sheet.where(header, index),
                heading=as_shown(value),
                column=match.column.name if match else "",
                unit=match.unit if match else "",
                how=_HOW[match.how] if match else "not read",
            )
        )
    return tuple(taken)


def _likeliest(sheet: Sheet, known: KnownHeadings) -> int:
    """The row near the top with the most known headings, of those the one with the most words."""

    def merit(number: int) -> tuple[int, int]:
        cells = sheet.rows[number]
        return len(known.names(cells)), sum(isinstance(cell, str) for cell in cells)

    return max(range(min(LATER_HEADER, len(sheet.rows))), key=merit, default=0)
