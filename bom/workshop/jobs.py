"""Every job of a workshop: where it stands, what it was quoted, and what it came to.

Nothing is taken off or priced: what a job was quoted stands in the register, what it took of hours
in `done.csv`.  A job whose book is gone counts as long as one of these two has it, or something is
set aside or on order for it.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import get_args

from msgspec import Struct

from bom.estimate import read_shelf
from bom.files.spelling import fold
from bom.job import Workshop
from bom.read import read_job
from bom.read.books import REGISTER, books_in, find_book, named
from bom.read.stock import EMPTY_STOCK
from bom.shelf.moves import shelf_of
from bom.trade.problem import Problem, Where, error, has_errors, in_file_order
from bom.trade.quotes import GivenQuote
from bom.workshop.done_file import read_done
from bom.workshop.finished import Finished
from bom.workshop.register import register_of
from bom.workshop.standing import DONE_BOOK, JobState, Known, Standing, jobs_done, standing

_ORDER: Sequence[JobState] = get_args(JobState)


class JobLine(Struct, frozen=True, kw_only=True):
    """One job: `typed` is the name by which its book goes, '' where there is none any more."""

    job: str
    typed: str = ""
    standing: Standing
    since: str = ""
    """The day from which on it stands there, where that is known."""
    planned_hours: Decimal | None = None
    used_hours: Decimal | None = None

    @property
    def is_lost(self) -> bool:
        """Something is kept for it, though it is no job that anybody has a book of."""
        kept = self.standing.kept
        return not self.typed and self.standing.state != "done" and bool(kept.words)

    @property
    def net(self) -> Decimal | None:
        """What it was quoted, without tax; None where that was half a price."""
        return _sum_of([one.net for one in self.standing.quoted])

    @property
    def at_cost(self) -> Decimal | None:
        """What its materials cost the house by the plan; None where a row does not say."""
        return _sum_of([one.at_cost for one in self.standing.quoted])

    @property
    def earned_an_hour(self) -> Decimal | None:
        """What is left of its price without tax once materials are paid, by the hours it took.

        Materials are the plan's, since nobody writes down what the used ones cost; where another
        amount was billed than was quoted its share without tax counts.
        """
        net = _sum_of([_billed_net(quote) for quote in self.standing.quoted])
        if net is None or self.at_cost is None or not self.used_hours:
            return None
        return (net - self.at_cost) / self.used_hours


def _sum_of(amounts: Sequence[Decimal | None]) -> Decimal | None:
    """The sum of amounts of which all are known; None where there are none."""
    known = [amount for amount in amounts if amount is not None]
    return sum(known, Decimal()) if known and len(known) == len(amounts) else None


def _billed_net(quote: GivenQuote) -> Decimal | None:
    return quote.net * quote.amount / quote.total if quote.net and quote.total else quote.net


class JobList(Struct, frozen=True, kw_only=True):
    """The jobs, those first that wait for something; `register` is the book's name, '' for none."""

    lines: tuple[JobLine, ...] = ()
    register: str = ""
    problems: tuple[Problem, ...] = ()


def jobs_of(workshop: Workshop) -> JobList:
    """All jobs of a workshop; outside one that is an error."""
    folder = workshop.folder
    if folder is None:
        here = error(Where(), "there is no workshop here", "bom new workshop PATH")
        return JobList(problems=(here,))
    known, faults = known_of(workshop, folder)
    records, unread = read_done(named(folder, DONE_BOOK), workshop.catalogue)
    finished = [record for record in records if fold(record.job) in known.done]
    hours = {fold(r.job): r for r in finished if r.kind == "labour"}
    names: dict[str, tuple[str, str]] = {}
    for book in books_in(named(folder, "jobs")):
        typed = book.name if book.is_dir() else book.stem
        name = _name_in(book, workshop) or typed
        names.setdefault(fold(name), (name, typed))
    quoted = (quote.job for own in known.quotes.values() for quote in own)
    kept = (one.job for one in known.kept.values())
    for name in (*quoted, *(record.job for record in finished), *kept):
        names.setdefault(fold(name), (name, ""))
    lines = (_line(name, typed, known, hours) for name, typed in names.values())
    register = find_book(folder, REGISTER)
    return JobList(
        lines=tuple(sorted(lines, key=_place_of)),
        register=register.name if register else "",
        problems=in_file_order((*workshop.problems, *faults, *unread)),
    )


def known_of(workshop: Workshop, folder: Path) -> tuple[Known, tuple[Problem, ...]]:
    """What is known of all jobs, and the errors that keep more from being known."""
    path = find_book(folder, "stock")
    stock, unread = (
        read_shelf(path, workshop.catalogue, workshop.own) if path else (EMPTY_STOCK, ())
    )
    shelf, _ = shelf_of(stock)  # what is wrong in it, reading the stock has told
    errors = [problem for problem in unread if problem.level == "error"]
    register, faults = register_of(workshop)
    done = jobs_done(named(folder, DONE_BOOK))
    read = None if has_errors(stock.beside_orders(errors)) else shelf
    return Known.of(read, register, done), (*errors, *faults)


def _name_in(book: Path, workshop: Workshop) -> str:
    """The job's name on its Job sheet; '' for a book that cannot be read."""
    found, _, _ = read_job(book, workshop.figures, workshop.catalogue, own=workshop.own)
    return found.job if found else ""


def _line(name: str, typed: str, known: Known, hours: Mapping[str, Finished]) -> JobLine:
    stands = standing((name, typed) if typed else (name,), known)
    done = hours.get(fold(name))
    planned = [one.hours for one in stands.quoted if one.hours is not None]
    return JobLine(
        job=name,
        typed=typed,
        standing=stands,
        since=done.done if done and stands.state == "done" else stands.since,
        planned_hours=sum(planned, Decimal()) if planned else (done.planned if done else None),
        used_hours=done.used if done else None,
    )


def _place_of(line: JobLine) -> tuple[int, str]:
    """What is furthest along last, and under that by name."""
    return _ORDER.index(line.standing.state), fold(line.job)
