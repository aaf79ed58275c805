"""Which sheet of a book is which list: by its name, else by its headings.

A sheet that could be two lists is asked about, and so are two that could be the same one.  What
is left is not read, and that is told where it looks like a list.  In a job book every sheet is
looked at; in the stock book those beside our lists are the owner's own.
"""

from collections import defaultdict
from collections.abc import Container, Iterator, Mapping, Sequence
from difflib import SequenceMatcher
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from bom.files.headings import Column, TakenFor, folded, taken_for
from bom.files.sheet import Book, Sheet
from bom.files.spelling import fold
from bom.trade.house import RULES
from bom.trade.problem import Problem, Where, caution, error, listed

MANY_SHEETS = 50
"""In a book with more sheets those under names of their own are not looked at."""
TOP_ROWS = 50
"""A list under a name of its own begins within so many rows."""
NAMES = ("job", "customer", "machine")
"""Items of the Job sheet that are no house rules."""
SLIP = 0.8
"""So alike, of 1, is a name that is meant for another: Componets, Looms."""

_FEWEST = 2
"""With fewer known headings a sheet is nothing of ours: a list of names, say."""

Columns: TypeAlias = Mapping[str, Sequence[Column]]
"""The columns of each list of a book, by its name."""
Readings: TypeAlias = Mapping[str, Sequence[str]]
"""The lists that a sheet may hold, each with its headings there."""
Unsure: TypeAlias = Sequence[tuple[Sheet, Readings]]
"""Sheets under names of their own, with the lists that they may hold."""


class Lists(Struct, frozen=True):
    """The sheets by the lists that they hold, and the names of those that hold none."""

    sheets: Mapping[str, Sheet]
    not_read: tuple[str, ...]


def which_sheets(book: Book, columns: Columns) -> tuple[Lists, tuple[Problem, ...]]:
    """The sheets of a job book by list; `columns` are those of each list.

    A book of one sheet is a list of circuits whatever its name.
    """
    found = _by_name(book, columns)
    if len(book.sheets) == 1 and not found:
        return Lists({"Circuits": book.sheets[0]}, ()), ()
    others, tops = _others(book, columns)
    each = ((s, _readings(tops[s.name], found, columns)) for s in others if s.name in tops)
    by_headings, unsure = _settled([(s, readings) for s, readings in each if readings], found)
    found |= by_headings
    told = {sheet.name for sheet, _ in unsure} | {sheet.name for sheet in by_headings.values()}
    left = [s for s in others if s.name not in told and any(map(any, s.rows))]
    lacks = {s.name: _lacking(tops[s.name], found, columns) for s in left if s.name in tops}
    lacking = {name: problem for name, problem in lacks.items() if problem}
    problems = (*_read_as(by_headings), *_asked(unsure, found), *lacking.values())
    return Lists(found, tuple(s.name for s in left if s.name not in lacking)), problems


def own_sheets(
    book: Book, columns: Columns, theirs: Container[str]
) -> tuple[dict[str, Sheet], tuple[Problem, ...]]:
    """The sheets by list of a book in which the others are the owner's own.

    A copy of a list that is there by its name is the owner's own too.  The lists `theirs` are the
    owner's, who may know them by other words of the trade: that is told, since it may be none,
    and so is what a sheet lacks where the book has not that list.  The other lists are written by
    the program alone, and have all that it writes.
    """
    found = _by_name(book, columns)
    others, tops = _others(book, columns)
    likely = []
    for sheet in (sheet for sheet in others if sheet.name in tops):
        fitting = _fitting(tops[sheet.name], columns).items()
        readings = {n: h for n, h in fitting if n in theirs or _is_whole(sheet, columns[n])}
        likely += [(sheet, readings)] if readings.keys() - found.keys() else []
    by_headings, unsure = _settled(likely, found)
    found |= by_headings
    told = {sheet.name for sheet, _ in likely}
    lists = {name: columns[name] for name in columns if name in theirs}
    lacks = (_lacking(top, found, lists) for name, top in tops.items() if name not in told)
    loose = {
        n: s for n, s in by_headings.items() if _is_loose(taken_for(s, columns[n]), columns[n])
    }
    return found, (*_read_as(loose), *_asked(unsure, found), *filter(None, lacks))


def _is_whole(sheet: Sheet, columns: Sequence[Column]) -> bool:
    written = {column.name for column in columns if column.filled_by == "program"}
    return written <= {taken.column for taken in taken_for(sheet, columns)}


def _by_name(book: Book, columns: Columns) -> dict[str, Sheet]:
    return {name: sheet for name in columns if (sheet := book.sheet(name))}


def _others(book: Book, columns: Columns) -> tuple[list[Sheet], dict[str, Sheet]]:
    """Sheets under names of their own, and the tops of those that are looked at, by name."""
    theirs = {folded(name) for name in columns}
    others = [sheet for sheet in book.sheets if folded(sheet.name) not in theirs]
    few = others if len(book.sheets) <= MANY_SHEETS else []
    return others, {s.name: replace(s, rows=s.rows[:TOP_ROWS]) for s in few}


def _settled(unsure: Unsure, found: Mapping[str, Sheet]) -> tuple[dict[str, Sheet], Unsure]:
    """The lists that are sure by their headings, one after the other, and what is still unsure."""
    by_headings: dict[str, Sheet] = {}
    while sure := _sure(unsure, {**found, **by_headings}):
        by_headings |= sure
        unsure = [(s, readings) for s, readings in unsure if s not in sure.values()]
    return by_headings, unsure


def _readings(sheet: Sheet, found: Mapping[str, Sheet], columns: Columns) -> Readings:
    """The lists that a sheet may be: by a slip in its name, else by most headings."""
    if "Job" not in found and _speaks_of_a_job(sheet):
        return {"Job": ()}
    slip = next((name for name in columns if _is_slip(sheet.name, name)), "Job")
    if slip not in ("Job", *found):
        return {slip: ()}
    return _fitting(sheet, columns)


def _fitting(sheet: Sheet, columns: Columns) -> dict[str, Sequence[str]]:
    """The lists whose headings a sheet has, those of which it has most."""
    fitting = {}
    for name in columns:
        taken = [heading for heading in taken_for(sheet, columns[name]) if heading.column != "note"]
        known = [heading for heading in taken if heading.column]
        if _fits(known, columns[name], len(taken)):
            fitting[name] = [heading.heading for heading in known]
    most = max(map(len, fitting.values()), default=0)
    return {name: headings for name, headings in fitting.items() if len(headings) == most}


def _sure(unsure: Unsure, found: Mapping[str, Sheet]) -> dict[str, Sheet]:
    """Lists that one sheet alone can be, which can be no other: what is left may be sure then."""
    meant: dict[str, list[Sheet]] = defaultdict(list)
    for sheet, readings in unsure:
        free = [name for name in readings if name not in found]
        if len(free) == 1:
            meant[free[0]].append(sheet)
    return {name: sheets[0] for name, sheets in meant.items() if len(sheets) == 1}


def _read_as(by_headings: Mapping[str, Sheet]) -> Iterator[Problem]:
    each = ", ".join(f"'{sheet.name}' as {name}" for name, sheet in by_headings.items())
    alike = f"sheets are read by their headings; in all {each}"
    for name, sheet in by_headings.items():
        yield caution(Where(sheet.file, sheet.name), f"this sheet is read as {name}", alike=alike)


def _asked(unsure: Unsure, found: Mapping[str, Sheet]) -> Iterator[Problem]:
    """Sheets that could be two lists, lists that two sheets could be, copies of what is read."""
    rivals: dict[str, list[Sheet]] = defaultdict(list)
    for sheet, readings in unsure:
        free = [name for name in readings if name not in found]
        where, either = Where(sheet.file, sheet.name), " or ".join(free)
        if len(free) > 1:
            headings = ", ".join(readings[free[0]])
            says = f"this sheet ({headings}) could be {either}: which is meant?"
            yield error(where, says, f"the name {either}", cause=True)
        elif free:
            rivals[free[0]].append(sheet)
        else:
            says = f"this sheet has the headings of {next(iter(readings))}, and is not read"
            yield caution(where, says, "its rows on that sheet")
    for name, sheets in rivals.items():
        names = listed(f"'{sheet.name}'" for sheet in sheets)
        says = f"the sheets {names} have the headings of {name}: which is meant?"
        where = Where(sheets[0].file, sheets[0].name)
        yield error(where, says, f"the name {name} for one of them", cause=True)


def _lacking(sheet: Sheet, found: Mapping[str, Sheet], columns: Columns) -> Problem | None:
    """What a sheet with headings of a list that has no sheet yet lacks to be that list."""
    missing = [name for name in columns if name not in found]
    known = {name: {t.column for t in taken_for(sheet, columns[name])} for name in missing}
    known = {name: words - {"", "note"} for name, words in known.items()}
    near = max(missing, key=lambda name: len(known[name]), default="")
    if not near or len(known[near]) < _FEWEST:
        return None
    lacks = [f"'{c.name}'" for c in columns[near] if c.needed and c.name not in known[near]]
    why = f"it lacks {listed(lacks)}" if lacks else "most of its headings are not known"
    names = ", ".join(column.name for column in columns[near] if column.name)
    says = f"this sheet is not read: as {near} {why}"
    cure = f"the headings of {near} ({names})" if lacks else f"the name {near} for it"
    where = Where(sheet.file, sheet.name)
    return caution(where, says, cure, alike="sheets are not read", cause=True)


def _is_slip(name: str, known: str) -> bool:
    return SequenceMatcher(None, folded(name), folded(known)).ratio() >= SLIP


def _speaks_of_a_job(sheet: Sheet) -> bool:
    """True for a sheet with two items of a Job sheet or more down its first column."""
    firsts = (row[0] for row in sheet.rows if row)
    items = {fold(first).replace(" ", "_") for first in firsts if isinstance(first, str)}
    return len(items & {*NAMES, *RULES}) > 1


def _fits(known: Sequence[TakenFor], columns: Sequence[Column], headings: int) -> bool:
    """True where all needed headings are there and more, and most of all headings are known.

    Where the needed ones are other words (a list of names, say), two more or all of them.
    """
    needed = {column.name for column in columns if column.needed}
    names = {taken.column for taken in known}
    more = len(names) - len(needed)
    enough = more > 1 or (more == 1 and (not _is_loose(known, columns) or len(known) == headings))
    return needed <= names and enough and 2 * len(known) > headings


def _is_loose(known: Sequence[TakenFor], columns: Sequence[Column]) -> bool:
    """True where a needed heading is another word of the trade than ours."""
    needed = {column.name for column in columns if column.needed}
    return any(taken.is_other_word for taken in known if taken.column in needed)
