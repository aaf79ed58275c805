"""Where the books of a workshop lie, in whichever kind they are kept and whatever letters."""

import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from bom.files.sheet import link_to_nothing
from bom.trade.problem import Problem, Where, caution, error, listed, nearest

RULES_FILE = "workshop.toml"
"""The file by which the folder of a workshop is known."""

SUFFIXES = (".xlsx", ".xlsm", ".ods", ".csv", "")
"""Where a book of the workshop may be kept, in the order looked for; '' is a folder."""


BOOKS = {
    "stock": ("stock book", "its shelf is taken as empty"),
    "prices": ("price list", "nothing has a price"),
    "suppliers": ("list of suppliers", "no postage is reckoned"),
}
"""The books of a workshop: what they are, and what is the case where there is none."""

REGISTER = "register"
"""The book of the quotations given, which `bom quote --give` begins; nobody needs to have one."""

_OTHERS = ("catalogs", "jobs", "used", "given", "done.csv", "answers.csv")
"""What else lies in a workshop, each of which may be a link."""

PRICED = ("prices", "suppliers")
"""Those that an order needs beside the shelf."""


def workshop_folder(start: Path) -> Path | None:
    """The folder of the workshop that `start` lies in, looking upwards; None outside one."""
    begin = Path(os.path.realpath(start))
    return next((f for f in (begin, *begin.parents) if _is_there(named(f, RULES_FILE))), None)


def _is_there(rules: Path) -> bool:
    return os.path.isfile(rules) or os.path.islink(rules)


def named(folder: Path, name: str) -> Path:
    """What lies in a folder under a name, be it in other letters; the path as asked for nothing."""
    return _first_there(folder, (name,)) or folder / name


def find_book(folder: Path, name: str) -> Path | None:
    """The workshop's book of this name in whichever kind it is kept; a link to nothing is one."""
    return _first_there(folder, tuple(f"{name}{suffix}" for suffix in SUFFIXES))


def _first_there(folder: Path, names: tuple[str, ...]) -> Path | None:
    """The first of these names that a folder has, in their own letters before others."""
    for name in names:
        if os.path.lexists(folder / name):
            return folder / name
    wanted = {name.casefold(): number for number, name in enumerate(names)}
    with suppress(OSError):  # no such folder, or one that may not be looked into
        there = [name for name in os.listdir(folder) if name.casefold() in wanted]
        if there:
            return folder / min(there, key=lambda name: (wanted[name.casefold()], name))
    return None


def misplaced(folder: Path) -> Iterator[Problem]:
    """What lies in a workshop's folder otherwise than it seems: links to nothing, and twins."""
    for name in _OTHERS:
        path = named(folder, name)
        if amiss := link_to_nothing(path):
            yield error(Where(path.name), *amiss)
    for name in (*BOOKS, REGISTER):
        book, *others = _all_there(folder, name) or [folder]
        if others:
            says = f"{listed(path.name for path in others)} beside it: {book.name} alone is read"
            yield caution(Where(book.name), says, "one of them elsewhere, or under another name")


def _all_there(folder: Path, name: str) -> list[Path]:
    """The books of this name in every kind, that which is read first."""
    first = find_book(folder, name)
    kinds = {f"{name}{suffix}" for suffix in SUFFIXES[:-1]}
    with suppress(OSError):
        there = sorted(each for each in os.listdir(folder) if each.casefold() in kinds)
        others = [folder / each for each in there if first and each != first.name]
        return [first, *others] if first else []
    return []


def missing(folder: Path, *names: str) -> Iterator[Problem]:
    """A caution where a workshop lacks some of these books, so that it goes on without."""
    lacking = [name for name in names if find_book(folder, name) is None]
    if lacking:
        are, means = zip(*(BOOKS[name] for name in lacking), strict=True)
        says = f"this workshop has {listed(f'no {each}' for each in are)}: {', '.join(means)}"
        yield caution(Where(), says, _cure(folder, lacking))


def not_there(folder: Path, name: str) -> Problem:
    """The error where a book of the workshop is needed that it has not."""
    return error(Where(), f"this workshop has no {BOOKS[name][0]}", _cure(folder, [name]))


def _cure(folder: Path, lacking: list[str]) -> str:
    """The name that belongs to a book beside them that is nearly called so, or a book."""
    others = {book.stem: book.name for book in books_in(folder) if book.stem not in BOOKS}
    for name in lacking:
        near = others.get(nearest(name, others))
        if near:
            return f"the name {name}{Path(near).suffix} for '{near}', if that is it"
    return f"{listed(f'{name}.xlsx' for name in lacking)} beside {RULES_FILE}"


def books_in(folder: Path) -> tuple[Path, ...]:
    """The books of a folder, one of each name as `find_book` has it, newest first."""
    try:
        names = [item.name if item.is_dir() else item.stem for item in folder.iterdir()]
        # what begins with a dot or a tilde is a mark of a program that has a book open
        found = {name: find_book(folder, name) for name in names if name[:1] not in ".~"}
        books = [(_changed_ns(book), book) for book in found.values() if book and _is_book(book)]
    except OSError:  # no such folder, or one that may not be looked into
        return ()
    return tuple(book for _, book in sorted(books, reverse=True))


def _is_book(path: Path) -> bool:
    if path.is_dir():
        return any(path.glob("*.csv"))
    return path.suffix.casefold() in SUFFIXES[:-1]


def _changed_ns(book: Path) -> int:
    """When a book was last written, in nanoseconds; a folder of lists when the newest of them."""
    return max(file.stat().st_mtime_ns for file in (*book.glob("*.csv"), book))
