"""Where a job stands, in one place: from its moves, its quotations, its orders, and what is done.

What is furthest along counts: a job that is issued is no longer on order, and one that waits for
goods is that rather than set aside, though some of it is.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Literal, TypeAlias

from msgspec import Struct

from bom.files.sheet import read_book
from bom.files.spelling import fold, text_of
from bom.shelf.moves import Shelf
from bom.trade.placed import OrderLine
from bom.trade.quotes import GivenQuote, Register

DONE_BOOK = "done.csv"

JobState: TypeAlias = Literal[
    "",
    "declined",
    "given",
    "accepted",
    "on order",
    "set aside",
    "issued",
    "taken back",
    "done",
]
"""Where a job stands; '' is a job of which nothing is known but its book."""


class _Moved(Struct, frozen=True, kw_only=True):
    """What the moves say of a job: the last that took it out or back, and since when it is held."""

    out: Literal["", "issued", "taken back"] = ""
    when: str = ""
    held_since: str = ""


class Known(Struct, frozen=True, kw_only=True):
    """What is known of all jobs of a workshop, by their folded names."""

    moved: Mapping[str, _Moved]
    ordered: Mapping[str, str]
    """The jobs for which something is on order and has not come, since which day; '' unknown."""
    quotes: Mapping[str, tuple[GivenQuote, ...]]
    done: Collection[str]

    @classmethod
    def of(cls, shelf: Shelf | None, register: Register, done: Collection[str]) -> "Known":
        """From the stock book (None: not read), the register, and the jobs with records of use."""
        quotes: dict[str, list[GivenQuote]] = {}
        for quote in sorted(register.rows, key=lambda quote: quote.given):
            quotes.setdefault(fold(quote.job), []).append(quote)
        return cls(
            moved=_moved(shelf) if shelf else {},
            ordered=_ordered(shelf.stock.orders if shelf else ()),
            quotes={job: tuple(own) for job, own in quotes.items()},
            done=frozenset(done) - (shelf.history.not_done if shelf else frozenset()),
        )


class Standing(Struct, frozen=True, kw_only=True):
    """Where one job stands, since which day where that is known, and what it was quoted."""

    state: JobState = ""
    since: str = ""
    held_since: str = ""
    quotes: tuple[GivenQuote, ...] = ()

    @property
    def last(self) -> GivenQuote | None:
        """The quotation given last of those that were not declined, if any was not."""
        left = [one for one in self.quotes if not one.is_declined] or [*self.quotes]
        return left[-1] if left else None

    @property
    def quoted(self) -> Sequence[GivenQuote]:
        """Those that stand: neither declined nor replaced by one that is not declined."""
        left = {fold(one.number): one for one in self.quotes if not one.is_declined}
        return [one for one in left.values() if fold(one.replaced_by) not in left]

    @property
    def unpaid(self) -> Decimal | None:
        """What the customer owes, with tax; None where nothing is agreed.

        Of what was accepted the amount billed, or quoted, less all that was paid.  A quotation
        that was replaced counts until the one in its place is accepted; what was paid for it
        counts always.
        """
        agreed = {fold(one.number): one for one in self.quotes if one.is_accepted}
        if not agreed:
            return None
        owed = sum(
            (one.amount for one in agreed.values() if fold(one.replaced_by) not in agreed),
            Decimal(),
        )
        return owed - sum((one.received for one in self.quotes), Decimal())


def standing(names: Sequence[str], known: Known) -> Standing:
    """Where a job stands; of its names the one on its Job sheet is the first."""
    own = fold(names[0])
    moved, quotes = known.moved.get(own, _Moved()), known.quotes.get(own, ())
    state, since = _state(names, known, moved, quotes)
    held = _day(moved.held_since)
    return Standing(state=state, since=since, held_since=held, quotes=quotes)


def _state(
    names: Sequence[str], known: Known, moved: _Moved, quotes: Sequence[GivenQuote]
) -> tuple[JobState, str]:
    own = fold(names[0])
    if any(fold(name) in known.done for name in names):
        return "done", ""
    if moved.out == "issued" and not moved.held_since:
        return "issued", _day(moved.when)
    if own in known.ordered:
        return "on order", known.ordered[own]
    if moved.held_since:
        return "set aside", _day(moved.held_since)
    if moved.out:
        return moved.out, _day(moved.when)
    return _of_the_quotation(quotes)


def _of_the_quotation(quotes: Sequence[GivenQuote]) -> tuple[JobState, str]:
    """One that was accepted and not billed yet counts, though another was given since."""
    left = [one for one in quotes if not one.is_declined]
    if not left:
        return ("declined", "") if quotes else ("", "")
    accepted = [one for one in left if one.is_accepted and (one is left[-1] or not one.billed)]
    if not accepted:
        return "given", f"{left[-1].given}"
    day = accepted[-1].accepted
    return "accepted", day if day[:1].isdigit() else ""


def _ordered(orders: Iterable[OrderLine]) -> dict[str, str]:
    """The jobs that something is still to come for, by folded name, with the first day of it."""
    found: dict[str, str] = {}
    for line in orders:
        for job in map(fold, line.waiting):
            day = f"{line.date or ''}"
            found[job] = min(found.get(job, day), day)
    return found


def _day(moment: str) -> str:
    return moment[: len("2026-11-20")]


def _moved(shelf: Shelf) -> dict[str, _Moved]:
    """What was done last for each job: a hold counts from its first, a release ends it."""
    found: dict[str, _Moved] = {}
    held = {fold(hold.job) for hold in shelf.holds}
    for command in shelf.history.standing:
        for job, what in {fold(m.job): m.what for m in command.moves if m.what in _TOLD}.items():
            found[job] = _after(found.get(job, _Moved()), what, command.when)
    return {
        job: moved if job in held else _Moved(out=moved.out, when=moved.when)
        for job, moved in found.items()
    }


_TOLD = ("hold", "release", "issue", "takeback")


def _after(before: _Moved, what: str, when: str) -> _Moved:
    match what:
        case "hold":
            since = before.held_since or when
            return _Moved(out=before.out, when=before.when, held_since=since)
        case "release":
            return _Moved(out=before.out, when=before.when)
        case "issue":
            return _Moved(out="issued", when=when)
        case "takeback":
            return _Moved(out="taken back", when=when)
    return before


def jobs_done(path: Path) -> set[str]:
    """The folded names of the jobs that have rows in the book of jobs done; none without it."""
    book, _ = read_book(path) if path.is_file() else (None, ())
    rows = [row for sheet in (book.sheets if book else ()) for row in sheet.rows]
    for number, row in enumerate(rows):
        headings = [fold(text_of(cell)) for cell in row]
        if "job" in headings:
            column = headings.index("job")
            return {fold(text_of(c)) for below in rows[number + 1 :] for c in below[column:][:1]}
    return set()
