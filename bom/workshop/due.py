"""What is due next in a workshop: each job with where it stands, what runs low, what is wrong.

Books are read and checked, nothing is taken off, priced or written: it is the answer to `bom`
alone, which must come at once.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from bom.estimate import price_book, read_shelf
from bom.files import clock
from bom.files.sheet import read_book
from bom.files.spelling import fold, text_of
from bom.job import Workshop, house_rules, open_job
from bom.read.books import BOOKS, books_in, find_book, missing, named
from bom.read.prices import old_prices
from bom.read.stock import EMPTY_STOCK
from bom.shelf.moves import History, Shelf, shelf_of
from bom.trade.problem import Problem, as_typed, counted, has_errors
from bom.trade.shelf import Stock

MOST_JOBS = 8
"""So many jobs are looked at, the newest by the time of their files; of more only the number."""

DONE_BOOK = "done.csv"
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
    history = None if has_errors(unread) else replace(shelf.history, holds=shelf.holds)
    done = _done(named(folder, DONE_BOOK)) - (history.not_done if history else frozenset())
    books = books_in(named(folder, "jobs"))
    return (
        *(_job(book, workshop, amiss, (done, history)) for book in books[:MOST_JOBS]),
        *_beside(len(books)),
        *(Due(stands=problem.says, then=problem.cure) for problem in missing(folder, *BOOKS)),
        *_faults((*amiss, *unread)),
        *(_shelf(shelf) if history else ()),
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


def _job(
    book: Path,
    workshop: Workshop,
    amiss: set[Problem],
    told: tuple[set[str], History | None],
) -> Due:
    """Where a job stands; `amiss` is wrong in the workshop, `told` what is done and the moves."""
    done, history = told
    name = book.name if book.is_dir() else book.stem
    typed = as_typed(name)
    if fold(name) in done:
        return Due(job=name, stands="done")
    job = open_job(book, workshop=workshop, taking_off=False)
    if fold(job.name) in done:
        return Due(job=name, stands="done")
    errors = sum(p.level == "error" for p in job.problems if p not in amiss)
    if job.book is None:
        return Due(job=name, stands="cannot be read", then=f"bom check {typed}")
    if errors:
        return Due(job=name, stands=f"has {counted(errors, 'error')}", then=f"bom check {typed}")
    if history is None:
        return Due(job=name, stands="has no errors")
    return _by_the_moves(history, (job.name, name, typed))


def _by_the_moves(history: History, names: tuple[str, str, str]) -> Due:
    """Set aside, issued or neither; a job is known in the moves by the name on its Job sheet."""
    own, shown, typed = names
    key, since = fold(own), ""
    for command in history.standing:
        what = command.what_for(own)
        if what in ("hold", "release", "issue"):
            since = (since or command.when) if what == "hold" else ""
    if since and any(fold(hold.job) == key for hold in history.holds):
        return Due(job=shown, stands=f"set aside since {_day(since)}")
    if key in history.taken_back:
        return Due(job=shown, stands=f"taken back {_day(history.taken_back[key])}")
    if key in history.issues:
        stands = f"issued {_day(history.issues[key])}"
        return Due(job=shown, stands=stands, then=f"bom done {typed}")
    return Due(job=shown, stands="nothing set aside yet")


def _day(moment: str) -> str:
    return moment[: len("2026-11-20")]


def _done(path: Path) -> set[str]:
    """The folded names of the jobs that have rows in the book of jobs done; none without it."""
    book, _ = read_book(path) if path.is_file() else (None, ())
    rows = [row for sheet in (book.sheets if book else ()) for row in sheet.rows]
    for number, row in enumerate(rows):
        headings = [fold(text_of(cell)) for cell in row]
        if "job" in headings:
            column = headings.index("job")
            return {fold(text_of(c)) for below in rows[number + 1 :] for c in below[column:][:1]}
    return set()


# ---------------------------------------------------------------------- the workshop


def _faults(problems: Iterable[Problem]) -> Iterator[Due]:
    """A line for each book of the workshop with errors in it."""
    wrong = Counter(p.where.file for p in dict.fromkeys(problems) if p.level == "error")
    for file, number in sorted(wrong.items()):
        stands = f"{file or 'the workshop'} has {counted(number, 'error')}"
        yield Due(stands=stands, then=_SHOWS_FAULTS)


def _shelf(shelf: Shelf) -> Iterator[Due]:
    """What runs low once that is left out which is set aside, and what was changed by hand."""
    low = sum(map(shelf.runs_low, shelf.stock.drawer))
    if low:
        stands = "1 thing runs low" if low == 1 else f"{low} things run low"
        yield Due(stands=stands, then="bom topup")
    by_hand = len(shelf.differences())
    if by_hand:
        were = "1 thing was" if by_hand == 1 else f"{by_hand} things were"
        yield Due(stands=f"{were} changed by hand", then=_SHOWS_FAULTS)


def _old_prices(workshop: Workshop) -> Iterator[Due]:
    """Suppliers whose lists were asked for longer ago than `price_age_days`."""
    rules, _ = house_rules(workshop)
    book, _ = price_book(workshop)
    old = old_prices(book.prices, clock.today(), rules.price_age_days)
    for name, (count, oldest) in sorted(old.items()):
        stands = f"{counted(count, 'price')} of {name} are old, the oldest of {oldest}"
        yield Due(stands=stands, then=f"bom prices add FILE --supplier {as_typed(name)}")
