"""What is due next in a workshop: each job with where it stands, what runs low, what is wrong.

Books are read and checked, nothing is taken off, priced or written: it is the answer to `bom`
alone, which must come at once.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path

from msgspec import Struct

from bom.buy.allot import top_up, unheld
from bom.buy.on_order import with_orders
from bom.estimate import price_book, read_shelf
from bom.files import clock
from bom.files.spelling import fold
from bom.job import Workshop, house_rules, open_job
from bom.read.books import BOOKS, books_in, find_book, missing, named
from bom.read.prices import old_prices
from bom.read.stock import EMPTY_STOCK
from bom.shelf.moves import Shelf, shelf_of
from bom.trade.needs import Allotment
from bom.trade.problem import Problem, as_typed, counted, has_errors
from bom.trade.quotes import GivenQuote
from bom.trade.shelf import Stock
from bom.workshop.register import register_of
from bom.workshop.standing import (
    DONE_BOOK,
    KeptAside,
    Known,
    Standing,
    bookless,
    day_of,
    jobs_done,
    standing,
)

MOST_JOBS = 8
"""So many jobs are looked at, the newest by the time of their files; of more only the number."""

NEAR_DAYS = 7
"""So many days before it ends, a quotation without an answer is told: time to ask."""

_SHOWS_FAULTS = "bom stock show"


class Due(Struct, frozen=True, kw_only=True):
    """One line: the job it is about, by the name one types ('' for the workshop as a whole).

    `stands` is a clause, `then` the command that comes next, or ''.
    """

    job: str = ""
    stands: str
    then: str = ""


def due(workshop: Workshop) -> tuple[Due, ...]:
    """What is due in a workshop, jobs first, the newest of them first; nothing outside one."""
    folder = workshop.folder
    if folder is None:
        return ()
    amiss = {*workshop.problems, *house_rules(workshop)[1]}
    stock, unread = _stock(workshop, folder)
    shelf, _ = shelf_of(stock)  # what is wrong in it, reading the stock has told
    read = None if has_errors(stock.beside_orders(unread)) else shelf
    register, slips = register_of(workshop)
    known = Known.of(read, register, jobs_done(named(folder, DONE_BOOK)))
    books = books_in(named(folder, "jobs"))
    return (
        *(_job(book, workshop, amiss, known) for book in books[:MOST_JOBS]),
        *map(without_book, bookless(known, books)),
        *_beside(len(books)),
        *(Due(stands=problem.says, then=problem.cure) for problem in missing(folder, *BOOKS)),
        *_faults((*amiss, *unread)),
        *_faults(slips, "bom jobs"),
        *(_shelf(read) if read else ()),
        *_orders(stock),
        *_old_prices(workshop),
    )


def _stock(workshop: Workshop, folder: Path) -> tuple[Stock, tuple[Problem, ...]]:
    path = find_book(folder, "stock")
    return read_shelf(path, workshop.catalogue, workshop.own) if path else (EMPTY_STOCK, ())


def _beside(number: int) -> Iterator[Due]:
    """What the list of jobs leaves out."""
    if number > MOST_JOBS:
        yield Due(stands=f"and {number - MOST_JOBS} more")
    if not number:
        yield Due(stands="no job yet", then="bom new job NAME")


# -------------------------------------------------------------------------------- jobs


def _job(book: Path, workshop: Workshop, amiss: set[Problem], known: Known) -> Due:
    """Where a job stands; `amiss` is wrong in the workshop."""
    name = book.name if book.is_dir() else book.stem
    typed = as_typed(name)
    if fold(name) in known.done:
        return Due(job=name, stands="done")
    job = open_job(book, workshop=workshop, taking_off=False)
    stands = standing((job.name, name), known)
    if stands.state == "done":
        return Due(job=name, stands="done")
    errors = sum(p.level == "error" for p in job.problems if p not in amiss)
    if job.book is None:
        return Due(job=name, stands="cannot be read", then=f"bom check {typed}")
    if errors:
        return Due(job=name, stands=f"has {counted(errors, 'error')}", then=f"bom check {typed}")
    if known.unread and not stands.state:
        return Due(job=name, stands="has no errors")
    clause, then = _clause(stands, typed, clock.today())
    if known.unread:
        return Due(job=name, stands=f"{clause}, no more is known {_WHILE}")
    return Due(job=name, stands=clause, then=then)


_WHILE = "while the stock book has errors"


def without_book(kept: KeptAside) -> Due:
    """A job that was renamed, deleted or misspelt, and that something is kept for."""
    then = f"bom stock release {as_typed(kept.job)}" if kept.holds else "bom stock orders"
    return Due(job=kept.job, stands=f"no job book of that name; {kept.words}", then=then)


def _clause(stands: Standing, typed: str, today: date) -> tuple[str, str]:
    """Where a job stands, and what comes next."""
    kept, since = stands.kept, f" {stands.since}".rstrip()
    match stands.state:
        case "issued":
            return f"issued{since}", f"bom done {typed}"
        case "issued in part":
            if kept.lines:
                return f"issued in part{since}, the rest on order", "bom stock orders"
            return f"issued in part{since}, the rest set aside", f"bom stock issue {typed} --rest"
        case "on order":
            held = f", some of it set aside since {day_of(kept.since)}" if kept.holds else ""
            return f"on order{' since' * bool(since)}{since}{held}", "bom stock orders"
        case "set aside":
            return f"set aside since{since}", ""
        case "taken back":
            return _called_off(f"taken back{since}", kept, typed)
        case "accepted":
            return f"accepted{since}", f"bom order {typed}"
        case "declined" if stands.last:
            return _called_off(f"{stands.last.number} was declined", kept, typed)
    if stands.last is None:
        return "nothing set aside yet", ""
    return _given(stands.last, typed, today)


def _called_off(clause: str, kept: KeptAside, typed: str) -> tuple[str, str]:
    """What is still kept for a job that will not be made, and how to let go of it."""
    if kept.holds:
        return f"{clause}, {kept.words}", f"bom stock release {typed}"
    if not kept.lines:
        return clause, ""
    close = "bom stock orders" if kept.shared else f"bom stock close {kept.numbers[0]}"
    return f"{clause}, {' and '.join(kept.numbers)} still to come", close


def _given(last: GivenQuote, typed: str, today: date) -> tuple[str, str]:
    """A quotation without a yes: how long it is still valid, where the days are numbered."""
    given = f"given as {last.number} on {last.given}"
    if last.valid_until is None or (last.valid_until - today).days > NEAR_DAYS:
        return given, ""
    if last.valid_until < today:
        return f"{given}, valid until {last.valid_until}, no answer", f"bom quote {typed} --give"
    return f"{given}, no answer, valid until {last.valid_until}", ""


# ---------------------------------------------------------------------- the workshop


def _faults(problems: Iterable[Problem], shown_by: str = _SHOWS_FAULTS) -> Iterator[Due]:
    """A line for each book of the workshop with errors in it."""
    wrong = Counter(p.where.file for p in dict.fromkeys(problems) if p.level == "error")
    for file, number in sorted(wrong.items()):
        stands = f"{file or 'the workshop'} has {counted(number, 'error')}"
        yield Due(stands=stands, then=shown_by)


def _shelf(shelf: Shelf) -> Iterator[Due]:
    """What is to be topped up, less what is on order for it, and what was changed by hand."""
    nothing = Allotment(taken=(), short=())
    low = len(top_up(nothing, with_orders(unheld(shelf.stock, ()), (), 0)).short)
    if low:
        stands = "1 thing runs low" if low == 1 else f"{low} things run low"
        yield Due(stands=stands, then="bom topup")
    by_hand = len(shelf.differences())
    if by_hand:
        were = "1 thing was" if by_hand == 1 else f"{by_hand} things were"
        yield Due(stands=f"{were} changed by hand", then=_SHOWS_FAULTS)


def _orders(stock: Stock) -> Iterator[Due]:
    """How many orders have not come whole, and since when."""
    lines = [line for line in stock.orders if line.to_come]
    numbers = {fold(line.number) for line in lines}
    if numbers:
        oldest = min((f"{line.date}" for line in lines if line.date), default="")
        since = f", the oldest of {oldest}" * bool(oldest)
        yield Due(
            stands=f"{counted(len(numbers), 'order')} to come{since}", then="bom stock orders"
        )


def _old_prices(workshop: Workshop) -> Iterator[Due]:
    """Suppliers whose lists were asked for longer ago than `price_age_days`."""
    rules, _ = house_rules(workshop)
    book, _ = price_book(workshop)
    old = old_prices(book.prices, clock.today(), rules.price_age_days)
    for name, (count, oldest) in sorted(old.items()):
        stands = f"{counted(count, 'price')} of {name} are old, the oldest of {oldest}"
        yield Due(stands=stands, then=f"bom prices add FILE --supplier {as_typed(name)}")
