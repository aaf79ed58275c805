"""What the shell offers for a word half typed: jobs, suppliers and wires of the workshop.

It is asked for with every press of a key: nothing is written, nothing large is read, and what
cannot be found out is not offered.  Where nothing is offered the shell goes on to its files.
"""

import os
import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path

import typer

MOST_BYTES = 300_000
"""A book larger than this is not read: it would take longer than one waits for a key."""


def jobs(incomplete: str) -> list[str]:
    """The jobs of the workshop, the newest first."""
    return _offered(incomplete, _jobs)


def suppliers(incomplete: str) -> list[str]:
    """The suppliers on the workshop's list."""
    return _offered(incomplete, _suppliers)


def named(context: typer.Context, incomplete: str) -> list[str]:
    """The suppliers, where the word before is `supplier`."""
    return suppliers(incomplete) if context.params.get("what") == "supplier" else []


def orders(incomplete: str) -> list[str]:
    """The numbers of the orders that were placed, the newest first."""
    return _offered(incomplete, _orders)


def rules(incomplete: str) -> list[str]:
    """The house rules, each with its `=`."""
    return _offered(incomplete, _rules)


def wires(context: typer.Context, incomplete: str) -> list[str]:
    """The labels of the wires of the job that stands before, and what else `why` is asked."""
    return _offered(incomplete, lambda: _wires(context.params.get("job")))


def _offered(incomplete: str, names: Callable[[], Iterable[str]]) -> list[str]:
    with suppress(Exception):  # a fault is told by the command itself, not while one types it
        return [_typed(name) for name in names() if name.startswith(incomplete)]
    return []


def _typed(name: str) -> str:
    """The name as one types it: in bash what means something to the shell gets a backslash.

    Inside quotes that were opened already it stays as it is.
    """
    if os.environ.get("_BOM_COMPLETE") != "complete_bash":
        return name
    words = os.environ.get("COMP_WORDS", "").split("\n")
    number = int(os.environ.get("COMP_CWORD", "0"))
    quoted = number < len(words) and words[number][:1] in ("'", '"')
    return name if quoted else re.sub(r"([^\w.,:/@%+=-])", r"\\\1", name)


def _jobs() -> Iterable[str]:
    from bom.read.books import books_in, named, workshop_folder

    folder = workshop_folder(Path.cwd())
    books = books_in(named(folder, "jobs")) if folder else ()
    return [book.name if book.is_dir() else book.stem for book in books]


def _suppliers() -> Iterable[str]:
    from bom.read.books import find_book, workshop_folder
    from bom.read.prices import supplier_names

    folder = workshop_folder(Path.cwd())
    book = find_book(folder, "suppliers") if folder else None
    return supplier_names(folder) if folder and book and _is_small(book) else ()


def _orders() -> Iterable[str]:
    from bom.files.sheet import read_book
    from bom.files.spelling import text_of
    from bom.read.books import find_book, workshop_folder

    folder = workshop_folder(Path.cwd())
    book = find_book(folder, "stock") if folder else None
    read, _ = read_book(book) if book and _is_small(book) else (None, ())
    sheet = read.sheet("Orders") if read else None
    rows = sheet.rows if sheet else ()
    numbers = [text_of(row[0]) for row in rows[1:] if row and row[0]]
    return dict.fromkeys(reversed(numbers))


def _rules() -> Iterable[str]:
    from bom.trade.house import RULES

    return [f"{rule}=" for rule in RULES]


def _wires(job: Path | None) -> Iterable[str]:
    from bom.job import find_job, wire_labels

    if job is None:
        return ()
    book = find_job(Path(job), Path.cwd())
    labels = wire_labels(book) if _is_small(book) else ()
    return (*labels, "total", "labour", "fuse", "supplier") if labels else ()


def _is_small(book: Path) -> bool:
    files = tuple(book.glob("*.csv")) if book.is_dir() else (book,)
    return sum(file.stat().st_size for file in files) <= MOST_BYTES
