"""Which sheet of a job book is which list: by its name, else by its headings.

A sheet that could be two lists is asked about, and so are two that could be the same one.  What
is left is not read, and that is told where it looks like a list.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher

from msgspec import Struct

from bom.files.headings import Column, TakenFor, folded, taken_for
from bom.files.sheet import Book, Sheet
from bom.files.spelling import fold
from bom.trade.house import RULES
from bom.trade.problem import Problem, Where, caution, error

MANY_SHEETS = 50
"""In a book with more sheets those under names of their own are not looked at."""
NAMES = ("job", "customer", "machine")
"""Items of the Job sheet that are no house rules."""
SLIP = 0.8
"""So alike, of 1, is a name that is meant for another: Componets, Looms."""


class Lists(Struct, frozen=True):
    """The sheets by the lists that they hold, and the names of those that hold none."""

    sheets: Mapping[str, Sheet]
    not_read: tuple[str, ...]


def which_sheets(
    book: Book, columns: Mapping[str, Sequence[Column]]
) -> tuple[Lists, tuple[Problem, ...]]:
    """The sheets of a job book by list; `columns` are those of each list.

    A book of one sheet is a list of circuits whatever its name.
    """
    named = {name: sheet for name in columns if (sheet := book.sheet(name))}
    if len(book.sheets) == 1 and not named:
        return Lists({"Circuits": book.sheets[0]}, ()), ()
    theirs = {folded(name) for name in columns}
    others = [sheet for sheet in book.sheets if folded(sheet.name) not in theirs]
    finder = _Finder(named, columns)
    if len(book.sheets) <= MANY_SHEETS:
        for sheet in others:
            finder.look_at(sheet)
    finder.settle()
    found = {sheet.name for sheet in finder.sheets.values()} | finder.told
    left = (sheet for sheet in others if sheet.name not in found and any(map(any, sheet.rows)))
    lists = Lists(finder.sheets, tuple(sheet.name for sheet in left))
    return lists, tuple(finder.problems)


class _Finder:
    """Looks for lists under other names than their own."""

    def __init__(self, named: Mapping[str, Sheet], columns: Mapping[str, Sequence[Column]]) -> None:
        self.sheets = dict(named)
        self.columns = columns
        self.named = frozenset(named)
        self.meant: dict[str, list[Sheet]] = defaultdict(list)
        self.told: set[str] = set()
        self.problems: list[Problem] = []

    def look_at(self, sheet: Sheet) -> None:
        """Note which list a sheet holds; asked where its headings are those of two."""
        readings = self._readings(sheet)
        lists = [name for name in readings if name not in self.named]
        if len(lists) > 1:
            self._ask(sheet, lists, readings[lists[0]])
        elif lists:
            self.meant[lists[0]].append(sheet)
        elif readings:
            says = f"this sheet has the headings of {next(iter(readings))}, and is not read"
            self._tell(caution(Where(sheet.file, sheet.name), says, "its rows on that sheet"))

    def _readings(self, sheet: Sheet) -> dict[str, list[str]]:
        """The lists that a sheet may be, each with its headings there: the best, or its equals."""
        if "Job" not in self.named and _speaks_of_a_job(sheet):
            return {"Job": []}
        slip = next((name for name in self.columns if _is_slip(sheet.name, name)), "Job")
        if slip not in ("Job", *self.named):
            return {slip: []}
        found = {}
        for name, columns in self.columns.items():
            taken = [t for t in taken_for(sheet, columns) if t.column != "note"]
            known = [t for t in taken if t.column]
            if _fits(known, columns, len(taken)):
                found[name] = [t.heading for t in known]
        most = max((len(headings) for headings in found.values()), default=0)
        return {name: headings for name, headings in found.items() if len(headings) == most}

    def settle(self) -> None:
        """Give each list its sheet; two that could be the same one are asked about."""
        for name, sheets in self.meant.items():
            where = Where(sheets[0].file, sheets[0].name)
            if len(sheets) == 1:
                self.sheets[name] = sheets[0]
                self.problems.append(caution(where, f"this sheet is read as {name}"))
                continue
            names = " and ".join(f"'{sheet.name}'" for sheet in sheets)
            says = f"the sheets {names} have the headings of {name}: which is meant?"
            self._tell(error(where, says, f"the name {name} for one of them", cause=True))
            self.told |= {sheet.name for sheet in sheets}

    def _ask(self, sheet: Sheet, lists: Sequence[str], headings: Sequence[str]) -> None:
        either = " or ".join(lists)
        says = f"this sheet ({', '.join(headings)}) could be {either}: which is meant?"
        cure = f"the name {either}"
        self._tell(error(Where(sheet.file, sheet.name), says, cure, cause=True))

    def _tell(self, problem: Problem) -> None:
        self.told.add(problem.where.sheet)
        self.problems.append(problem)


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
    loose = any(taken.is_other_word for taken in known if taken.column in needed)
    more = len(names) - len(needed)
    enough = more > 1 or (more == 1 and (not loose or len(known) == headings))
    return needed <= names and enough and 2 * len(known) >= headings
