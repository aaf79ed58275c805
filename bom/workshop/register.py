"""A quotation given to the customer, on one page: its number, what is kept of it, its row.

    register -> changed since the last one? -> number -> paper -> given/NUMBER and the row

Under a number stands one quotation for ever: what is kept in `given/NUMBER` is never written
again, and a paper bears the number only while its figures are those that were given.  The folder
comes first and the row last, so that no row points to nothing; of a run that is killed between
them the folder stays, and its number is not given again.
"""

import os
import shutil
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from bom.files.names import file_name
from bom.files.safely import (
    ABSENT,
    AGAIN,
    HalfWritten,
    NewFile,
    NotWritten,
    Seen,
    followed,
    look,
    told,
)
from bom.files.sheet import letters_of
from bom.files.spelling import fold
from bom.files.together import look_all, put_all
from bom.job import Job, Workshop
from bom.read.books import REGISTER, RULES_FILE, find_book, named
from bom.read.register import HALF, WRITTEN, read_register, register_columns
from bom.shelf.stockbook.edits import Edit, NewRow, Unwritable
from bom.shelf.stockbook.keep import settle
from bom.shelf.stockbook.owner import OwnersBook
from bom.trade.figures import round_money
from bom.trade.problem import Problem, Where, caution, error, has_errors, in_file_order
from bom.trade.quotes import Figures, GivenQuote, Quote, Register
from bom.trade.rows import Listing, Written
from bom.workshop.new_books import blank_register
from bom.workshop.stockroom import How, opened

FOLDER = "given"
PAPER = "quotation.pdf"
FIGURES = "figures.json"

Texts = Mapping[str, tuple[bytes, Seen]]
"""The files of a job book by their names beside it, as they were read."""


class GroupChange(Struct, frozen=True):
    """What one group of a quotation was when it was given, and what it is now, without tax."""

    what: str
    was: Decimal
    now: Decimal

    @property
    def by(self) -> Decimal:
        """So much more."""
        return self.now - self.was


class SinceGiven(Struct, frozen=True, kw_only=True):
    """The quotation that a job was given last, and what has changed since, the most first.

    Half a price is set beside nothing: where one of the two is half, they are the same or not.
    """

    last: GivenQuote | None = None
    changes: tuple[GroupChange, ...] = ()
    is_half: bool = False
    """Then or now something has no price, and the two are not the same."""
    problems: tuple[Problem, ...] = ()

    @property
    def holds(self) -> GivenQuote | None:
        """The quotation given, where its figures are still those of the job."""
        return None if self.changes or self.is_half else self.last


class ToGive(Struct, frozen=True, kw_only=True):
    """A job with its estimate, its book as it was read, and what prints the customer's paper."""

    job: Job
    estimate: Quote
    book: Texts
    today: date
    paper: Callable[[GivenQuote], bytes]


class Giving(Struct, frozen=True, kw_only=True):
    """What came of it; `kept` are the files in the folder `place` of the workshop.

    `new` is False where it was given before and is as it was.
    """

    quote: GivenQuote | None = None
    replaces: str = ""
    file: str = ""
    place: str = ""
    kept: tuple[str, ...] = ()
    new: bool = False
    written: bool = False
    problems: tuple[Problem, ...] = ()


# ----------------------------------------------------------------------- what was given


def register_of(workshop: Workshop) -> tuple[Register, tuple[Problem, ...]]:
    """The register of a workshop; empty where it has none yet."""
    path = find_book(workshop.folder, REGISTER) if workshop.folder else None
    if path is None:
        return Register(), ()
    try:
        settle(path)
    except NotWritten as fault:
        return Register(), (error(Where(path.name), fault.says, fault.cure),)
    return read_register(path, workshop.own)


def since_given(job: Job, estimate: Quote | None) -> SinceGiven:
    """The quotation given last for a job, and how the estimate differs from it."""
    register, problems = register_of(job.workshop)
    last = _last(register, job.name)
    if last is None or estimate is None or job.workshop.folder is None:
        return SinceGiven(last=last, problems=problems)
    kept = _kept_of(job.workshop.folder, last)
    if last.total is None or not estimate.complete:
        same = kept is not None and kept == replace(kept, **_figures(estimate))
        return SinceGiven(last=last, is_half=not same, problems=problems)
    return SinceGiven(last=last, changes=_changes(_was(last, kept), estimate), problems=problems)


def _last(register: Register, job: str) -> GivenQuote | None:
    own = _of_the_job(register, job)
    return own[-1] if own else None


def _of_the_job(register: Register, job: str) -> list[GivenQuote]:
    return [row for row in register.rows if fold(row.job) == fold(job)]


def _kept_of(folder: Path, last: GivenQuote) -> Figures | None:
    """The figures kept of what was given; None where they are not to be had, or not these."""
    with suppress(OSError, msgspec.MsgspecError):
        data = (place_of(folder, last.number) / FIGURES).read_bytes()
        figures = msgspec.json.decode(data, type=Figures)
        if last.total in (None, figures.total):
            return figures
    return None


def _was(last: GivenQuote, kept: Figures | None) -> Mapping[str, Decimal]:
    """What was given by its groups; by net and tax where no more is kept of it."""
    if kept:
        return {**kept.groups, "tax": kept.tax}
    net = last.net or Decimal()
    return {"net": net, "tax": (last.total or net) - net}


def _changes(was: Mapping[str, Decimal], estimate: Quote) -> tuple[GroupChange, ...]:
    groups = {"net": estimate.net} if "net" in was else estimate.groups
    now = {**groups, "tax": estimate.tax}
    pairs = ((what, was.get(what, Decimal()), now.get(what, Decimal())) for what in {**now, **was})
    changed = [GroupChange(*pair) for pair in pairs if pair[1] != pair[2]]
    return tuple(sorted(changed, key=lambda change: (change.what == "tax", -abs(change.by))))


def unnumbered(since: SinceGiven, job: Job, typed: str) -> Iterator[Problem]:
    """Why the customer's paper bears no number, where one would look for it."""
    cure = f"bom quote {typed} --give"
    if since.last and not since.holds:
        last = since.last
        given = last.total or "half a price"
        says = f"the paper bears no number: under {last.number} {given} was given"
        yield caution(Where(), says, cure)
    elif job.rules.number and since.last is None:
        says = f"the paper bears no number: '{job.rules.number}' is printed once it is given"
        yield caution(Where(), says, cure)


# ------------------------------------------------------------------------------- giving


def as_read(book: Path) -> Texts:
    """The files of a job book, to be kept; none where it cannot be read, which its reader tells."""
    with suppress(OSError):
        if book.is_dir():
            files = look_all(followed(book))
            return {f"{book.name}/{name}": found for name, found in files.items()}
        return {book.name: look(book)}
    return {}


def give(asked: ToGive, how: How) -> Giving:
    """Give a quotation: all of it is kept and written down, or nothing."""
    folder = asked.job.workshop.folder
    if folder is None:
        says = "not in a workshop folder, where quotations given are kept"
        return Giving(problems=(error(Where(), says, "bom new workshop PATH"),))
    path = find_book(folder, REGISTER) or folder / f"{REGISTER}.xlsx"
    try:
        with opened(path, how):
            return _given(asked, folder, path, how)
    except Unwritable as refusal:
        return Giving(file=path.name, problems=in_file_order(refusal.problems))
    except NotWritten as fault:
        return Giving(problems=(error(Where(fault.path.name), fault.says, fault.cure),))


def _given(asked: ToGive, folder: Path, path: Path, how: How) -> Giving:
    job = asked.job
    owned = _look(path, job)
    register, found = register_of(job.workshop)
    problems = _graver(found, _of_the_job(register, job.name))
    since = since_given(job, asked.estimate)
    if has_errors(problems):
        return Giving(file=path.name, problems=problems)
    if since.holds and not _is_over(since.holds, asked.today):
        return Giving(quote=since.holds, file=path.name, problems=problems)
    number, taken = _number(job, register, folder, asked.today)
    if taken:
        return Giving(file=path.name, problems=(*problems, *taken))
    quote = _quote(asked, number)
    replaced = since.last if since.last and _is_replaced(since.last) else None
    place = place_of(folder, number)
    kept = _to_keep(asked, quote)
    texts = owned.changed(*_changed(register.listing, path, quote, replaced), {})
    answer = Giving(
        quote=quote,
        replaces=replaced.number if replaced else "",
        file=path.name,
        place=f"{FOLDER}/{place.name}",
        kept=tuple(kept),
        new=True,
        written=not how.dry_run,
        problems=problems,
    )
    if not how.dry_run:
        files = {place / name: data for name, data in kept.items()}
        _write(owned, texts, files, job.rules.keep_copies)
    return answer


def _graver(found: Iterable[Problem], own: Iterable[GivenQuote]) -> tuple[Problem, ...]:
    """What came of the job's own quotations has to be understood before another is given."""
    cells = {quote.row.where(name) for quote in own if quote.row for name in quote.unread}
    return tuple(replace(p, level="error") if p.where in cells else p for p in found)


def _look(path: Path, job: Job) -> OwnersBook:
    """The register as it is; a blank one where there is none yet."""
    if os.path.lexists(path):
        with told(path):
            return OwnersBook.look(path, one_list=True)
    return OwnersBook(
        path=path, files={path.name: (blank_register(job.workshop.catalogue), ABSENT)}
    )


def _is_over(quote: GivenQuote, today: date) -> bool:
    """Declined, or no longer valid: the customer may be given it once more under a new number."""
    late = quote.valid_until is not None and quote.valid_until < today
    return quote.is_declined or (late and not quote.is_accepted)


def _is_replaced(quote: GivenQuote) -> bool:
    """Whether a later one takes its place: what is billed is business of its own."""
    return quote.billed is None and not quote.replaced_by


# ----------------------------------------------------------------------------- its number


def _number(
    job: Job, register: Register, folder: Path, today: date
) -> tuple[str, tuple[Problem, ...]]:
    """The owner's own number for the job, else the next of the year."""
    places = _names(named(folder, FOLDER))
    taken = {fold(row.number) for row in register.rows}
    own = job.rules.number
    if not own:
        begins = f"q{today.year}-"
        numbers = (name.removeprefix(begins) for name in taken | places if name.startswith(begins))
        last = max((int(number) for number in numbers if number.isdecimal()), default=0)
        return f"Q{today.year}-{last + 1:03}", ()
    if fold(own) in taken or fold(_folder_name(own)) in places:
        says = f"'{own}' was given before, and one number stands for one quotation"
        return own, (error(_where_typed(job), says, "another number, or none"),)
    return own, ()


def _names(folder: Path) -> set[str]:
    """The names in a folder, folded; a number whose row was deleted is not given again."""
    with suppress(OSError):
        return {fold(name) for name in os.listdir(folder)}
    return set()


def _where_typed(job: Job) -> Where:
    if job.workshop.figures.get("number") == job.rules.number:
        return Where(RULES_FILE, "", "number")
    return Where(job.path.name, "Job")


def place_of(folder: Path, number: str) -> Path:
    """Where a workshop keeps what was given under a number."""
    return named(folder, FOLDER) / _folder_name(number)


def _folder_name(number: str) -> str:
    return file_name(number, "", set())


# --------------------------------------------------------------- what is kept and written


def _quote(asked: ToGive, number: str) -> GivenQuote:
    job, estimate = asked.job, asked.estimate
    whole = estimate.complete
    return GivenQuote(
        number=number,
        job=job.name,
        customer=job.book.customer if job.book else "",
        machine=job.book.machine if job.book else "",
        given=asked.today,
        valid_until=asked.today + timedelta(days=job.rules.valid_days),
        net=estimate.net if whole else None,
        total=estimate.total if whole else None,
        at_cost=round_money(estimate.at_cost) if whole else None,
        hours=round(estimate.hours, 2),
    )


def _to_keep(asked: ToGive, quote: GivenQuote) -> dict[str, bytes]:
    """The paper, the job book as it was read, and the figures, to be compared with later ones."""
    now = as_read(asked.job.path)
    if {n: s.sha256 for n, (_, s) in now.items()} != {
        n: s.sha256 for n, (_, s) in asked.book.items()
    }:
        raise NotWritten(asked.job.path, "not given: it was changed after it was read", AGAIN)
    figures = Figures(number=quote.number, given=quote.given, **_figures(asked.estimate))
    own = {name: data for name, (data, _) in asked.book.items()}
    told_of = msgspec.json.format(msgspec.json.encode(figures), indent=2)
    return {PAPER: asked.paper(quote), **own, FIGURES: told_of}


def _figures(estimate: Quote) -> dict[str, Any]:
    """What is kept of an estimate, to be set beside a later one."""
    return {
        "groups": estimate.groups,
        "unpriced": estimate.unpriced,
        "net": estimate.net,
        "tax": estimate.tax,
        "total": estimate.total,
    }


def _changed(
    listing: Listing | None, path: Path, quote: GivenQuote, replaced: GivenQuote | None
) -> tuple[list[Edit], list[NewRow]]:
    """The row under the owner's list, and in the row that it replaces a word of that."""
    place = listing or _blank_listing(path)
    where = Where(place.file, place.sheet, f"A{place.header_row}")
    lacking = [column for column in WRITTEN if column not in place.letters]
    if lacking:
        raise Unwritable(*(error(where, f"no column '{h}'", f"the heading '{h}'") for h in lacking))
    cells = {place.letters[h]: v for h, v in _cells(quote).items() if h in place.letters}
    row = NewRow(
        sheet=place.sheet, header_row=place.header_row, values=cells, last_row=place.last_row
    )
    if replaced is None or replaced.row is None or "note" not in place.letters:
        return [], [row]
    cell = f"{place.letters['note']}{replaced.row.number}"
    note = "; ".join(filter(None, (replaced.note, f"replaced by {quote.number}")))
    return [Edit(sheet=place.sheet, cell=cell, value=note)], [row]


def _blank_listing(path: Path) -> Listing:
    ((sheet, columns),) = register_columns()
    letters = {column.name: letters_of(n) for n, column in enumerate(columns)}
    return Listing(file=path.name, sheet=sheet, header_row=1, letters=letters, units={})


def _cells(quote: GivenQuote) -> Mapping[str, Written]:
    return {
        "number": quote.number,
        "job": quote.job,
        "customer": quote.customer or None,
        "machine": quote.machine or None,
        "given": f"{quote.given}",
        "valid until": f"{quote.valid_until}",
        "net": HALF if quote.net is None else quote.net,
        "total": HALF if quote.total is None else quote.total,
        "materials at cost": quote.at_cost,
        "hours": quote.hours,
    }


def _write(
    owned: OwnersBook, texts: Mapping[str, bytes], files: Mapping[Path, bytes], copies: int
) -> None:
    """The folder of what was given, then the register; both or neither."""
    like = named(owned.path.parent, RULES_FILE)  # whoever may write there may give the next one

    def made(path: Path, data: bytes) -> NewFile:
        return NewFile(path=path, data=data, seen=ABSENT, like=like)

    new = [made(path, data) for path, data in files.items()]
    begun = owned.files.get(owned.path.name, (b"", None))[1] == ABSENT
    with told(owned.path):
        if begun:
            put_all([*new, made(owned.path, texts[owned.path.name])], folders=True)
            return
        place = next(iter(files)).parent
        there = place.parent.exists()
        put_all(new, folders=True)
        with _taken_back(place if there else place.parent):
            owned.save(texts, copies=copies)


@contextmanager
def _taken_back(folder: Path) -> Iterator[None]:
    """Remove what was kept of a quotation that did not come to stand in the register."""
    try:
        yield
    except HalfWritten:  # the next run finishes it
        raise
    except BaseException:  # Ctrl-C too
        shutil.rmtree(folder, ignore_errors=True)
        raise
