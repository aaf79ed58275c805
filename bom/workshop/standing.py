"""Where a job stands, in one place: from its moves, its quotations, its orders, and what is done.

What is furthest along counts: one that waits for goods is on order rather than set aside, though
some of it is.  A job that was called off is that, whatever is still to come for it, until it is
ordered, held or issued anew.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Literal, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from bom.files.sheet import read_book
from bom.files.spelling import fold, text_of
from bom.read import job_named_in
from bom.shelf.moves import Shelf
from bom.trade.placed import TOP_UP, OrderLine
from bom.trade.problem import counted
from bom.trade.quotes import GivenQuote, Register
from bom.trade.shelf import Hold

DONE_BOOK = "done.csv"

JobState: TypeAlias = Literal[
    "",
    "declined",
    "given",
    "accepted",
    "on order",
    "set aside",
    "issued in part",
    "issued",
    "taken back",
    "done",
]
"""Where a job stands; '' is a job of which nothing is known but its book."""


class KeptAside(Struct, frozen=True, kw_only=True):
    """What is kept for a job: set aside and there, and the order lines that it waits for."""

    job: str
    holds: tuple[Hold, ...] = ()
    lines: tuple[OrderLine, ...] = ()
    shared: bool = False
    """Others wait for something of these orders too."""

    @property
    def since(self) -> str:
        """The moment from which on the first of it is set aside; '' where nothing is."""
        return min((hold.since for hold in self.holds), default="")

    @property
    def words(self) -> str:
        """What is kept, counted; '' where nothing is."""
        aside = [f"{counted(len(self.holds), 'thing')} set aside"] * bool(self.holds)
        to_come = [f"{counted(len(self.numbers), 'order')} to come"] * bool(self.numbers)
        return ", ".join((*aside, *to_come))

    @property
    def numbers(self) -> tuple[str, ...]:
        """The orders that it waits for."""
        return tuple(dict.fromkeys(line.number for line in self.lines))

    @property
    def ordered(self) -> str:
        """The day since which it waits; '' where that is unknown."""
        return min((f"{line.date or ''}" for line in self.lines), default="")


class Known(Struct, frozen=True, kw_only=True):
    """What is known of all jobs of a workshop, by their folded names."""

    issued: Mapping[str, str]
    taken_back: Mapping[str, str]
    """When each was, of those that it was done last for."""
    kept: Mapping[str, KeptAside]
    placed: Mapping[str, str]
    """When each order was placed, by its folded number; of the program's own ones."""
    quotes: Mapping[str, tuple[GivenQuote, ...]]
    done: Collection[str]
    unread: bool = False
    """The stock book has errors, so that only quotations and records of use are known."""

    @classmethod
    def of(cls, shelf: Shelf | None, register: Register, done: Collection[str]) -> "Known":
        """From the stock book (None: not read), the register, and the jobs with records of use."""
        quotes: dict[str, list[GivenQuote]] = {}
        for quote in sorted(register.rows, key=lambda quote: quote.given):
            quotes.setdefault(fold(quote.job), []).append(quote)
        past = shelf.history if shelf else None
        return cls(
            issued=past.issues if past else {},
            taken_back=past.taken_back if past else {},
            kept=_kept(shelf) if shelf else {},
            placed=past.placed if past else {},
            quotes={job: tuple(own) for job, own in quotes.items()},
            done=frozenset(done) - (past.not_done if past else frozenset()),
            unread=shelf is None,
        )


class Standing(Struct, frozen=True, kw_only=True):
    """Where one job stands, since which day where that is known, and what it was quoted."""

    state: JobState = ""
    since: str = ""
    kept: KeptAside = KeptAside(job="")
    quotes: tuple[GivenQuote, ...] = ()
    unread: bool = False
    """What the stock book says of it is not known."""

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
        """What the customer owes, with tax; None where nothing is agreed, or no amount is.

        Of what was accepted the amount billed, or quoted, less all that was paid.  A quotation
        that was replaced counts until the one in its place is accepted; what was paid for it
        counts always.
        """
        agreed = {fold(one.number): one for one in self.quotes if one.is_accepted}
        if not agreed:
            return None
        owing = [one for one in agreed.values() if fold(one.replaced_by) not in agreed]
        if not all(one.has_amount for one in owing):
            return None
        owed = sum((one.amount for one in owing), Decimal())
        return owed - sum((one.received for one in self.quotes), Decimal())


def standing(names: Sequence[str], known: Known) -> Standing:
    """Where a job stands; of its names the one on its Job sheet is the first."""
    own = fold(names[0])
    kept, quotes = known.kept.get(own, KeptAside(job=names[0])), known.quotes.get(own, ())
    state, since = _state(names, known, kept, quotes)
    return Standing(state=state, since=since, kept=kept, quotes=quotes, unread=known.unread)


def _state(
    names: Sequence[str], known: Known, kept: KeptAside, quotes: Sequence[GivenQuote]
) -> tuple[JobState, str]:
    own = fold(names[0])
    if any(fold(name) in known.done for name in names):
        return "done", ""
    if own in known.issued:
        whole = not (kept.holds or kept.lines)
        return "issued" if whole else "issued in part", day_of(known.issued[own])
    called_off = known.taken_back.get(own, "")
    if called_off and not _begun_anew(called_off, known, kept):
        return "taken back", day_of(called_off)
    quoted = _of_the_quotation(quotes)
    if quoted[0] == "declined":
        return quoted
    if kept.lines:
        return "on order", kept.ordered
    return ("set aside", day_of(kept.since)) if kept.holds else quoted


def _begun_anew(called_off: str, known: Known, kept: KeptAside) -> bool:
    """Something was ordered or set aside for it after it was called off."""
    placed = (known.placed.get(fold(ln.number), f"{ln.date or ''}") for ln in kept.lines)
    return max((*placed, *(hold.since for hold in kept.holds)), default="") > called_off


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


def _kept(shelf: Shelf) -> dict[str, KeptAside]:
    """What is set aside or to come for each job, by folded name."""
    found: dict[str, KeptAside] = {}
    waiting: set[tuple[str, str]] = set()
    for hold in shelf.holds:
        one = found.get(fold(hold.job), KeptAside(job=hold.job))
        found[fold(hold.job)] = replace(one, holds=(*one.holds, hold))
    for line in shelf.stock.orders:
        for job in line.waiting:
            waiting.add((line.number, fold(job)))
            if job != TOP_UP:
                one = found.get(fold(job), KeptAside(job=job))
                found[fold(job)] = replace(one, lines=(*one.lines, line))
    jobs = Counter(number for number, _ in waiting)
    return {
        job: replace(one, shared=any(jobs[number] > 1 for number in one.numbers))
        for job, one in found.items()
    }


def bookless(known: Known, books: Iterable[Path]) -> tuple[KeptAside, ...]:
    """What is kept for jobs of which there is no book; of the books no more are read than needed.

    What is known of a job that is done is no question any more.
    """
    left = {job: kept for job, kept in known.kept.items() if job not in known.done}
    for book in books:
        if not left:
            break
        left.pop(fold(job_named_in(book)), None)
    return tuple(left.values())


def day_of(moment: str) -> str:
    """The day of a moment."""
    return moment[: len("2026-11-20")]


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
