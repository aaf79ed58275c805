"""The order of work when the stock book is changed, on one page.

    look who has it open -> lock -> look -> read -> shelf -> booking -> hand edits taken over
        -> edits and rows -> splice -> copy -> put in its place

What is asked for is a plan: a function from the shelf as it stands to a booking.  It runs inside
the lock, so that two of them at once come one after the other.  A dry run does all but the last
two, without the lock.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from bom.estimate import stock_at
from bom.files import clock
from bom.files.headings import Column
from bom.files.safely import NotWritten, told
from bom.files.sheet import letters_of, link_to_nothing, sheet_key
from bom.files.spelling import plain
from bom.job import Workshop, house_rules
from bom.read.books import find_book, not_there
from bom.read.stock import stock_columns
from bom.shelf import moves
from bom.shelf.moves import Booking, Difference, Entry, Refusal, Shelf, shelf_of, take_over
from bom.shelf.stockbook import keep
from bom.shelf.stockbook.edits import Edit, NewRow, Unwritable
from bom.shelf.stockbook.owner import OwnersBook
from bom.trade.house import HouseRules
from bom.trade.problem import Problem, Where, caution, error, has_errors, in_file_order
from bom.trade.rows import Listing, Row, Written
from bom.trade.shelf import Stock

_LISTS = ("Cable", "Drawer", "Orders")
"""What stands in them may be wrong while the moves are whole."""
_STAMP = "%Y-%m-%d %H:%M:%S"

_OR_YES = "--yes takes it over as a count; nothing is written without"

Request: TypeAlias = Callable[[Shelf], tuple[Booking, tuple[Problem, ...]]]
"""What is asked for, and what the owner should know of it; raises `Refusal`."""


class How(Struct, frozen=True, kw_only=True):
    """`dry_run`: write nothing; `force`: though somebody has the book open; `yes`: hand edits."""

    dry_run: bool = False
    force: bool = False
    yes: bool = False


class Booked(Struct, frozen=True, kw_only=True):
    """What a command did, or would do, to the stock book.

    `by_hand` are the hand edits among what it touches, which are taken over with it; `doubts` are
    what else wants the owner's yes.
    """

    file: str = ""
    when: str = ""
    entries: tuple[Entry, ...] = ()
    remarks: tuple[str, ...] = ()
    by_hand: tuple[Difference, ...] = ()
    doubts: tuple[Problem, ...] = ()
    problems: tuple[Problem, ...] = ()
    written: bool = False
    waits: bool = False
    """Nothing is written for want of the owner's yes to the hand edits, or to what is doubtful."""


# --------------------------------------------------------------------------- the work


def book(workshop: Workshop, plan: Request, how: How) -> Booked:
    """Change the stock book of a workshop as planned, or say why not and leave it as it is."""
    path = find_book(workshop.folder, "stock") if workshop.folder else None
    if path is None:
        return Booked(problems=no_stock_book(workshop))
    try:
        with opened(path, how):
            return _book(path, workshop, plan, how)
    except (Refusal, Unwritable) as refusal:
        return Booked(file=path.name, problems=in_file_order(refusal.problems))
    except NotWritten as fault:
        problem = error(Where(path.name), fault.says, fault.cure)
        return Booked(file=path.name, problems=(problem,))


def no_stock_book(workshop: Workshop) -> tuple[Problem, ...]:
    """Why there is no shelf to change."""
    if workshop.folder:
        return (*workshop.problems, not_there(workshop.folder, "stock"))
    here = error(Where(), "there is no workshop here", "bom new workshop PATH")
    return (*workshop.problems, here)


def open_by(folder: Path) -> str:
    """Who has the stock book of a workshop open in a spreadsheet program; '' for nobody."""
    path = find_book(folder, "stock")
    return keep.open_elsewhere(path) if path else ""


@contextmanager
def opened(path: Path, how: How) -> Iterator[None]:
    """The book to ourselves; a dry run only has what was cut off finished."""
    if how.dry_run:
        keep.settle(path)
        yield
        return
    if amiss := link_to_nothing(path):
        raise NotWritten(path, *amiss)
    who = keep.open_elsewhere(path)
    if who and not how.force:
        cure = "close it there; --force if nobody has: the mark of a crash stays behind"
        raise NotWritten(path, f"not written: it is open, by {who}", cure)
    with keep.locked(path):
        yield


def _book(path: Path, workshop: Workshop, plan: Request, how: How) -> Booked:
    with told(path):
        owned = OwnersBook.look(path)
    shelf, rules, problems = _read(path, workshop, plan)
    booking, noticed = _planned(plan, shelf, problems)
    problems = tuple(problem for problem in problems if problem.level != "error")
    touched = () if booking.takes_over else booking.keys
    by_hand = [d for d in shelf.differences() if d.key in touched]
    asked = _asked(booking, by_hand, how)
    before, now = _moments(shelf.history.last)
    answer = Booked(
        file=path.name,
        when=now if by_hand else before,
        entries=booking.entries,
        remarks=booking.remarks,
        doubts=booking.doubts,
        problems=in_file_order((*problems, *noticed, *asked)),
    )
    if has_errors(asked):
        return replace(answer, by_hand=tuple(by_hand), waits=True)
    work = _Writing(shelf.stock, dict(stock_columns(workshop.catalogue)))
    work.moves(before, take_over(by_hand).entries)
    work.write(booking, answer.when)
    texts = owned.changed(*work.asked())
    answer = replace(answer, remarks=(*booking.remarks, *_old_figures(owned, work.sheets())))
    if not how.dry_run:
        owned.save(texts, copies=rules.keep_copies)
    return replace(answer, by_hand=tuple(by_hand), written=bool(texts) and not how.dry_run)


def _asked(booking: Booking, by_hand: Iterable[Difference], how: How) -> tuple[Problem, ...]:
    """What wants the owner's yes; a count asks nothing of the hand edits that it replaces."""
    if how.yes:
        return ()
    if how.dry_run:
        return tuple(replace(doubt, level="caution") for doubt in booking.doubts)
    counted = any(entry.what == "count" for entry in booking.entries)
    edits = (told_by_hand(d) for d in by_hand if not counted)
    return (*booking.doubts, *(replace(edit, level="error", cure=_OR_YES) for edit in edits))


def _read(
    path: Path, workshop: Workshop, plan: Request
) -> tuple[Shelf, HouseRules, tuple[Problem, ...]]:
    """The shelf, the house rules and what is wrong; raises `Refusal` where that is in the way."""
    rules, faults = house_rules(workshop)
    stock, problems = stock_at(path, workshop.catalogue, workshop.own)
    shelf, more = shelf_of(stock)
    beside = stock.beside_orders(problems)
    bars = (p for p in beside if not isinstance(plan, Undo) or _hides_moves(p, stock))
    if has_errors((*faults, *more, *bars)):
        raise Refusal(*faults, *problems, *more)
    return shelf, rules, (*(problems if isinstance(plan, Undo) else beside), *more)


def _planned(
    plan: Request, shelf: Shelf, problems: Iterable[Problem]
) -> tuple[Booking, tuple[Problem, ...]]:
    try:
        return plan(shelf)
    except Refusal as refusal:  # a row that it did not find may be one that cannot be read
        wrong = [p for p in problems if p.level == "error" and shelf.history.standing]
        raise Refusal(*(wrong or refusal.problems)) from refusal


def _old_figures(owned: OwnersBook, changed: set[str]) -> Iterable[str]:
    """What the owner has to do for figures of their own on other sheets."""
    names = owned.readers(changed)
    if names and changed:
        yield (
            f"{', '.join(names)}: formulas there that reckon with {' and '.join(sorted(changed))} "
            "show old figures until you recalculate (LibreOffice: Ctrl+Shift+F9)"
        )


def _moments(last: str) -> tuple[str, str]:
    """Two moments later than any in the moves, for hand edits and for the command itself.

    They are told apart by the second, so that a clock that was put back, or two commands in one
    second, do not run into each other.
    """
    now = clock.now().replace(microsecond=0)
    with suppress(ValueError):  # no moves of the program's own yet
        now = max(now, datetime.strptime(last, _STAMP) + timedelta(seconds=1))
    return f"{now:{_STAMP}}", f"{now + timedelta(seconds=1):{_STAMP}}"


class _Writing:
    """A booking in cells: what is edited, what comes under which list, which sheets are made."""

    def __init__(self, stock: Stock, columns: Mapping[str, Sequence[Column]]) -> None:
        self._lists = stock.lists
        self._columns = columns
        self._edits: list[Edit] = []
        self._rows: list[NewRow] = []
        self._added: dict[str, Sequence[str]] = {}

    def asked(self) -> tuple[list[Edit], list[NewRow], dict[str, Sequence[str]]]:
        """What the stock book is asked for."""
        return self._edits, self._rows, self._added

    def sheets(self) -> set[str]:
        """The sheets that change."""
        return {edit.sheet for edit in self._edits} | {row.sheet for row in self._rows}

    def write(self, booking: Booking, when: str) -> None:
        """All of a booking."""
        for put in booking.puts:
            self._edit(put.row, put.heading, put.value)
        for gone in booking.emptied:
            for heading in gone.row.letters:
                self._edit(gone.row, heading, None)
        for row in booking.added:
            self._under(row.listing, row.values)
        self.moves(when, booking.entries)

    def moves(self, when: str, entries: Iterable[Entry]) -> None:
        """A row of Moves for each entry."""
        for entry in entries:
            values = {
                "when": when,
                "job": entry.job or None,
                "what": entry.what,
                "item": entry.item,
                "change": entry.change,
                "unit": entry.unit,
                "left": entry.left,
                "note": entry.note or None,
            }
            self._under("Moves", values)

    def _edit(self, row: Row, heading: str, value: Written) -> None:
        cell = f"{row.letters[heading]}{row.number}"
        self._edits.append(Edit(sheet=row.sheet, cell=cell, value=value))

    def _under(self, name: str, values: Mapping[str, Written]) -> None:
        place = self._place(name)
        needed = (c.name for c in self._columns[name] if c.filled_by == "program")
        lacking = [heading for heading in needed if heading not in place.letters]
        if lacking:
            where = Where(place.file, place.sheet, f"A{place.header_row}")
            raise Refusal(
                *(error(where, f"no column '{h}'", f"the heading '{h}'") for h in lacking)
            )
        cells = {
            place.letters[heading]: _as_kept(value, heading in place.numbers)
            for heading, value in values.items()
            if heading in place.letters
        }
        self._rows.append(
            NewRow(
                sheet=place.sheet,
                header_row=place.header_row,
                values=cells,
                last_row=place.last_row,
            )
        )

    def _place(self, name: str) -> Listing:
        """Where a list stands; made where the book has none, its headings where it is blank."""
        place = self._lists.get(name)
        if place and place.header_row:
            return place
        headings = [column.name for column in self._columns[name]]
        letters = {heading: letters_of(n) for n, heading in enumerate(headings)}
        sheet = place.sheet if place else name
        if place is None:
            self._added[sheet] = headings
        else:
            self._edits += [Edit(sheet=sheet, cell=f"{letters[h]}1", value=h) for h in headings]
        made = Listing(file="", sheet=sheet, header_row=1, letters=letters, units={})
        self._lists = {**self._lists, name: made}
        return made


def _as_kept(value: Written, number: bool) -> Written:
    """A gauge as a number where the owner writes all of theirs so."""
    plain = isinstance(value, str) and value.replace(".", "", 1).isdecimal()
    return Decimal(str(value)) if number and plain else value


class Undo(Struct, frozen=True):
    """A plan: reverse the last command, whatever is wrong in rows that it does not put back.

    With a moment only the command of that moment, and only while none was booked since.
    """

    when: str = ""

    def __call__(self, shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        """Reverse it."""
        return moves.undo(shelf, self.when), ()


undo = Undo()
"""Reverses the last command, whichever it is."""


def undo_of(when: str) -> Request:
    """Reverse the command that was booked at this moment, as `Booked.when` has it."""
    return Undo(when)


def _hides_moves(problem: Problem, stock: Stock) -> bool:
    """True but in a row of the lists, where it may hide a thing; and of which piece it is that."""
    name, place = sheet_key(problem.where.sheet), stock.lists.get("Cable")
    here = [stock.lists[kind].sheet for kind in _LISTS if kind in stock.lists]
    names = {sheet_key(sheet) for sheet in (*_LISTS, *here)}
    letter = place.letters.get("piece") if place and name == sheet_key(place.sheet) else None
    of_the_name = letter is not None and problem.where.cell.rstrip("0123456789") == letter
    return of_the_name or name not in names


def largest(differences: Sequence[Difference]) -> str:
    """The hand edit that changes most, many times over or to a small part, behind a sentence."""

    def times(difference: Difference) -> Decimal:
        least, most = sorted((difference.by_the_moves, difference.in_the_book))
        return most / least if least > 0 else Decimal()

    most = max(differences, key=times)
    here, there = plain(most.in_the_book), plain(most.by_the_moves)
    first = ": " if differences == (most,) else ", most of all "
    return f"{first}'{most.name}' from {there} to {here} {most.unit}"


def told_by_hand(difference: Difference) -> Problem:
    """A caution for a thing that was changed by hand."""
    here, there = plain(difference.in_the_book), plain(difference.by_the_moves)
    unit = "" if difference.unit == "each" else f" {difference.unit}"
    says = f"'{difference.name}' was changed by hand: {here}{unit} here, {there}{unit} by the moves"
    if difference.broken:
        says += f", which do not add up from {difference.broken} on"
    if not difference.where.cell:
        says = f"'{difference.name}' is gone from the book: {there}{unit} by the moves"
    return caution(difference.where, says, "bom stock show --yes takes it over as a count")
