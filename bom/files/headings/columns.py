"""Columns of a sheet: their headings, the other words for them, and the units they carry.

A heading is known by the column's name, by another word of the trade for it, or by the
owner's own word for it (`[columns]` in workshop.toml), which comes first.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Literal

from msgspec import Struct, field
from msgspec.structs import replace

from bom.files.sheet import Fault, Value
from bom.files.spelling import Misspelt, fold, text_of
from bom.trade.problem import Problem, Where, error, nearest

CellReader = Callable[[Value, str], Any]
"""Reads one cell: its value and the unit in its heading, or raises `Misspelt`."""

KnownBy = Literal["name", "word", "own"]
"""A heading is known by the column's name, by another word of the trade, or by the owner's."""


CellForm = Literal["", "code", "number", "decimals"]
"""How cells are shown: as text even where it looks like a number, or as a number."""

Filler = Literal["program", "either", "owner"]
"""Who fills a column.  `program`: no row can be written without it; `either`: it is filled where
the list has it; `owner`: what stands there is the owner's own, and never goes with the row."""


class NewHead(Struct, frozen=True):
    """A column in a book that is made new: the note on its heading, its width in letters.

    `choices` names the list it offers, `unit` stands behind its name (`length m`).  Of a `given`
    column the cells are the program's, and shaded grey.
    """

    note: str
    width: int = 14
    choices: str = ""
    unit: str = ""
    form: CellForm = ""
    given: bool = False


class Column(Struct, frozen=True, kw_only=True):
    """One column of a sheet: `read` gives the value, `blank` stands for an empty cell.

    `units` maps what may follow the heading (`length mm`) to the unit handed to `read`;
    a heading in `also` may carry a unit of its own (`watts`).  `must` says that an empty
    cell is an error, `needed` that the header row is known by this heading.  `own` are the
    owner's words for it, `new` is how it stands in a new book; None: it does not.
    """

    name: str
    read: CellReader
    blank: Any = ""
    also: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    needed: bool = False
    must: bool = False
    missing: str = ""
    """What to type where `must` finds an empty cell."""
    own: tuple[str, ...] = ()
    behind: str = ""
    bare: tuple[str, ...] = ()
    """Words that mean this column right behind the column `behind`: From, Pin, To, Pin."""
    new: NewHead | None = None
    filled_by: Filler = "either"


NOT_READ = ""
"""The column that the owner's words stand for which are to be left out."""


class FoundColumn(Struct, frozen=True):
    """A column found at `index`, 0 for the first, with the unit in its heading."""

    column: Column
    index: int
    unit: str
    how: KnownBy = "name"


def folded(heading: str) -> str:
    """A heading without case, spaces, points and dashes: `From End` and `from-end` are the same."""
    return "".join(heading.split()).translate(_MARKS).casefold()


_MARKS = str.maketrans("", "", "._:-")


def words(*others: str) -> dict[str, str]:
    """Other words for a column that carry no unit."""
    return dict.fromkeys(others, "")


class KnownHeadings:
    """The headings of some columns, looked up in whichever way they may be written.

    The owner's words come before names, and names before other words.
    """

    def __init__(self, columns: Sequence[Column]) -> None:
        self._by_word: dict[str, tuple[Column, str, KnownBy]] = {}
        for how in ("own", "name", "word"):
            for column in columns:
                for word, unit in _words_of(column, how):
                    self._by_word.setdefault(folded(word), (column, unit, how))
        self.columns = columns
        self.needed = {column.name for column in columns if column.needed}

    def find(self, heading: str, index: int = 0) -> FoundColumn | None:
        """The column under this heading, a unit behind the word told apart."""
        whole = self._by_word.get(folded(heading))
        if whole:
            column, unit, how = whole
            return FoundColumn(column, index, unit, how)
        bare, unit_word = _split_unit(heading)
        part = self._by_word.get(folded(bare))
        if part is None or unit_word not in part[0].units:
            return None
        return FoundColumn(part[0], index, part[0].units[unit_word], part[2])

    def after(self, before: FoundColumn | None, heading: str) -> FoundColumn | None:
        """The column that a heading means right behind the one before it, and nowhere else."""
        for column in self.columns if before else ():
            words = map(folded, column.bare)
            if before and column.behind == before.column.name and folded(heading) in words:
                return FoundColumn(column, before.index + 1, "", "word")
        return None

    def names(self, cells: Iterable[Value]) -> set[str]:
        """The names of the columns whose headings are among these cells."""
        texts = (cell for cell in cells if isinstance(cell, str))
        return {match.column.name for text in texts if (match := self.find(text))}


def _words_of(column: Column, how: KnownBy) -> Iterable[tuple[str, str]]:
    """The words for a column of one kind, with the unit that each gives."""
    if how == "own":
        return ((word, "") for word in column.own)
    return ((column.name, ""),) if how == "name" else column.also.items()


def _split_unit(text: str) -> tuple[str, str]:
    match = re.fullmatch(r"(.*?)[\s,]*[(\[]?(?:\bin\s+)?([^\s()\[\],]+)[)\]]?\s*", text.strip())
    return (match[1], match[2].casefold().replace("²", "2")) if match else (text, "")


class OwnWords(Struct, frozen=True):
    """The owner's words for columns: by sheet (`''` for every one), heading and column's name."""

    by_sheet: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def on(self, sheet: str, columns: Iterable[Column]) -> tuple[Column, ...]:
        """The columns of a sheet with the owner's words for them."""
        named = {**self.by_sheet.get("", {}), **self.by_sheet.get(fold(sheet), {})}
        if not named:
            return tuple(columns)
        left_out = tuple(word for word, name in named.items() if not name)
        nothing = (Column(name=NOT_READ, read=text, own=left_out),) if left_out else ()
        own = (
            replace(c, own=tuple(word for word, name in named.items() if fold(name) == c.name))
            for c in columns
        )
        return (*own, *nothing)


NO_OWN_WORDS = OwnWords()


def own_words(
    table: object, known: Mapping[str, Sequence[str]], file: str
) -> tuple[OwnWords, tuple[Problem, ...]]:
    """What stands under `[columns]`: heading = "column", or a table of those for one sheet.

    `known` are the names of the columns by sheet.  What is none is named by its key.
    """
    if not isinstance(table, Mapping):
        where = Where(file, "", "columns")
        says = "columns is a table of your headings"
        return OwnWords(), (error(where, says, '[columns] and under it "Leitung" = "wire"'),)
    by_sheet: dict[str, dict[str, str]] = {}
    problems: list[Problem] = []
    sheets = {fold(name): name for name in known}
    every = [name for names in known.values() for name in names]
    for heading, column in table.items():
        below = column if isinstance(column, Mapping) else {heading: column}
        sheet = fold(heading) if below is column else ""
        key = f"columns.{heading}"
        if sheet and sheet not in sheets:
            cure = sheets.get(nearest(sheet, sheets), "one of " + ", ".join(known))
            problems.append(error(Where(file, "", key), f"no sheet '{heading}'", cure))
            continue
        names = known[sheets[sheet]] if sheet else every
        for word, name in below.items():
            if name == NOT_READ or fold(str(name)) in names:
                by_sheet.setdefault(sheet, {})[str(word)] = str(name)
                continue
            where = Where(file, "", f"{key}.{word}" if sheet else key)
            cure = nearest(str(name), names) or "one of " + ", ".join(dict.fromkeys(names))
            problems.append(error(where, f"no column '{name}'", cure))
    return OwnWords(by_sheet), tuple(problems)


def as_shown(value: Value) -> str:
    """A cell in a sentence, whatever is in it."""
    try:
        return text_of(value)
    except Misspelt:
        return value.says if isinstance(value, Fault) else str(value)


def text(value: Value, _unit: str) -> str:
    """Reader of a cell as plain text."""
    return text_of(value)


def by(read: Callable[[Value], Any]) -> CellReader:
    """Reader of a cell whatever the unit in its heading."""
    return lambda value, _unit: read(value)
