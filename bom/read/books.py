"""Where the books of a workshop lie, in whichever kind they are kept."""

from pathlib import Path

RULES_FILE = "workshop.toml"
"""The file by which the folder of a workshop is known."""

SUFFIXES = (".xlsx", ".xlsm", ".ods", ".csv", "")
"""Where a book of the workshop may be kept, in the order looked for; '' is a folder."""


def workshop_folder(start: Path) -> Path | None:
    """The folder of the workshop that `start` lies in, looking upwards; None outside one."""
    begin = start.resolve()
    return next((f for f in (begin, *begin.parents) if (f / RULES_FILE).is_file()), None)


def find_book(folder: Path, name: str) -> Path | None:
    """The workshop's book of this name in whichever kind it is kept."""
    paths = (folder / f"{name}{suffix}" for suffix in SUFFIXES)
    return next((path for path in paths if path.exists()), None)


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
    return any(path.glob("*.csv")) if path.is_dir() else path.suffix in SUFFIXES[:-1]


def _changed_ns(book: Path) -> int:
    """When a book was last written, in nanoseconds; a folder of lists when the newest of them."""
    return max(file.stat().st_mtime_ns for file in (*book.glob("*.csv"), book))
