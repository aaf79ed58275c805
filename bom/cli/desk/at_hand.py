"""What is on the desk: the workshop's books, jobs as last worked, and what was told of changes."""

import os
import secrets
from collections import OrderedDict
from collections.abc import AsyncIterator, Callable, Mapping, Sequence
from pathlib import Path
from threading import Lock
from typing import Any, Generic, TypeVar

from bom.estimate import Bought, quote_for
from bom.job import Workshop, find_workshop, open_job
from bom.read.books import RULES_FILE, SUFFIXES, books_in, named
from bom.trade.quotes import Quote
from bom.workshop.came_out import with_past
from bom.workshop.stockroom import open_by

_MOST_JOBS = 8
"""So many stay as last worked, by when they were looked at."""
_MOST_TOLD = 200
_QUIET_MS, _MOST_MS = 250, 1000
"""A book is read when nothing was written for so long, or has been written to for that long."""

_T = TypeVar("_T")


class Recent(Generic[_T]):
    """The last things of their kind, by name; the oldest goes where there are too many."""

    def __init__(self, most: int) -> None:
        self._most, self._things = most, OrderedDict[str, _T]()
        self._lock = Lock()

    def get(self, name: str) -> _T | None:
        """One of them."""
        with self._lock:
            if name in self._things:
                self._things.move_to_end(name)
            return self._things.get(name)

    def put(self, name: str, thing: _T) -> None:
        """One more, or another in its place."""
        with self._lock:
            self._things[name] = thing
            self._things.move_to_end(name)
            while len(self._things) > self._most:
                self._things.popitem(last=False)


class AtHand:
    """The books of one workshop, as of an edition, which is another one when one was saved."""

    def __init__(self, folder: Path) -> None:
        from anyio import CapacityLimiter

        self.folder = folder
        self.writing = CapacityLimiter(1)
        """Whoever changes a book: one after the other, so that nobody's wait runs out."""
        self.working = CapacityLimiter(1)
        """Whoever looks at a job: of two who look at once the second finds it worked."""
        self._start, self._saved = secrets.token_hex(4), 0
        self._worked: Recent[tuple[tuple[object, ...], tuple[Bought, Quote | None]]]
        self._worked = Recent(_MOST_JOBS)
        self._told: Recent[Mapping[str, Any]] = Recent(_MOST_TOLD)

    @property
    def edition(self) -> str:
        """Another one after each book that was saved, and after each start of the desk.

        And while the stock book is open in a spreadsheet program: the pages then say so.
        """
        return f"{self._start}-{self._saved}{'-open' if self.open_by else ''}"

    @property
    def open_by(self) -> str:
        """Who has the stock book open in a spreadsheet program; '' for nobody."""
        return open_by(self.folder)

    def workshop(self) -> Workshop:
        """The workshop as its files say now."""
        return find_workshop(self.folder)

    def jobs(self) -> dict[str, Path]:
        """The job books by the names that are typed for them, the newest first."""
        books = books_in(named(self.folder, "jobs"))
        return {book.name if book.is_dir() else book.stem: book for book in books}

    def job(self, name: str) -> tuple[Bought, Quote | None] | None:
        """A job with its price, worked anew where a book was saved since; None for no such job.

        The name picks one of the workshop's own books, and is no path.  One call at a time.
        """
        book = self.jobs().get(name)
        if book is None:
            return None
        as_of, known = (self._saved, *_mark(book)), self._worked.get(name)
        if known and known[0] == as_of:
            return known[1]
        worked = _worked(book, self.workshop())
        self._worked.put(name, (as_of, worked))
        return worked

    def tell(self, told: Mapping[str, Any]) -> str:
        """Keep what is to be said of a change; the name by which a page finds it."""
        name = secrets.token_urlsafe(9)
        self._told.put(name, told)
        return name

    def told(self, name: str) -> Mapping[str, Any] | None:
        """What was to be said."""
        return self._told.get(name)

    async def watch(self) -> None:
        """Go up an edition whenever a book of the workshop was saved, until it is cancelled."""
        async for _ in _saves(self.folder):
            self._saved += 1


def _mark(book: Path) -> tuple[object, ...]:
    """What another book in its place has otherwise, though nobody was told that it was saved."""
    return tuple(
        (os.path.realpath(file), (seen := file.stat()).st_mtime_ns, seen.st_size)
        for file in (book, *sorted(book.glob("*.csv")))
    )


def _worked(book: Path, workshop: Workshop) -> tuple[Bought, Quote | None]:
    bought, estimate = quote_for(open_job(book, workshop=workshop))
    return bought, with_past(bought, estimate) if estimate else None


async def _saves(folder: Path) -> AsyncIterator[object]:
    """Each time that books were saved; where the system cannot tell, they are looked at."""
    from watchfiles import awatch

    folders = _with_linked(folder)
    how: Mapping[str, Any] = {
        "watch_filter": _is_book(folders),
        "debounce": _MOST_MS,
        "step": _QUIET_MS,
    }
    try:
        async for saved in awatch(*folders, **how):
            yield saved
    except OSError:  # more folders than the system watches
        async for saved in awatch(*folders, force_polling=True, **how):
            yield saved


def _with_linked(folder: Path) -> list[Path]:
    """The folder, and those in which books lie that it has links to."""
    links = (path for path in (*folder.iterdir(), *books_in(named(folder, "jobs"))))
    beside = {Path(os.path.realpath(path)).parent for path in links if path.is_symlink()}
    return [folder, *(other for other in beside if not other.is_relative_to(folder))]


def _is_book(folders: Sequence[Path]) -> Callable[[object, str], bool]:
    """Whether a file is one that the desk reads: no copy in `.bom`, no mark of another program."""

    def is_book(_: object, path: str) -> bool:
        file = Path(path)
        inside = next((file.relative_to(f) for f in folders if file.is_relative_to(f)), file)
        kind = file.suffix.casefold()
        known = kind in (*SUFFIXES, Path(RULES_FILE).suffix)  # without any: a folder
        return known and not any(part[:1] in ".~" for part in inside.parts)

    return is_book
