"""Spreadsheets on the way in: `.xlsx`, `.xlsm`, `.ods`, a folder of `.csv`, one `.csv`.

The only file that knows how books are stored.  Whatever the kind, out comes a `Book` of
`Sheet`s of plain values, each findable by its cell.  What cannot be read is a `Problem`,
never an exception, and nothing is dropped in silence: an error value and a formula that
was never calculated come out as a `Fault`.

A file is taken for hostile until it is known better: it is read once into memory, its zip
directory is judged before anything is unpacked, and calamine (Rust, fast, but it allocates
the whole grid and ends the process when that fails) only ever sees a fresh copy of the
parts that passed.
"""

import os
from collections.abc import Iterable
from contextlib import suppress
from itertools import islice
from pathlib import Path

from bom.files.safely import Seen, followed
from bom.files.sheet.ods import read_ods
from bom.files.sheet.package import open_package
from bom.files.sheet.results import with_results
from bom.files.sheet.text import csv_rows
from bom.files.sheet.values import (
    KINDS,
    MAX_BYTES,
    NO_RESULT,
    SAVE_AS_XLSX,
    Book,
    Cells,
    Fault,
    Percent,
    Refused,
    Sheet,
    Value,
    cell_name,
    column_number,
    letters_of,
    refused,
    sheet_key,
)
from bom.files.sheet.xlsx import read_xlsx
from bom.files.together import csv_files, look_all
from bom.trade.problem import Problem, Where, as_typed, caution, error, nearest

__all__ = [
    "NO_RESULT",
    "SAVE_AS_XLSX",
    "Book",
    "Cells",
    "Fault",
    "Percent",
    "Sheet",
    "Value",
    "cell_name",
    "column_number",
    "letters_of",
    "link_to_nothing",
    "read_book",
    "sheet_key",
]


FEW = 5
"""So many names stand in a sentence."""

JOBS = "jobs"
"""The folder of a workshop that its jobs lie in."""


def read_book(path: Path, *, single: str = "Circuits") -> tuple[Book | None, tuple[Problem, ...]]:
    """All sheets of a book, hidden ones too, or `None` and why it cannot be read.

    A lone `.csv` has one sheet, called `single`; a folder has one for each `.csv` in it.
    """
    return _read_book(path, single)


def _read_book(
    path: Path, single: str, data: bytes | None = None
) -> tuple[Book | None, tuple[Problem, ...]]:
    """As `read_book`; `data` is what a file holds, where it was looked at before."""
    file = path.name if path.name not in ("", "..") else followed(path).name
    try:
        is_folder = os.path.isdir(path)
        sheets = _read_folder(path, file) if is_folder else _read_file(path, file, single, data)
    except Refused as refusal:
        return None, refusal.problems
    except PermissionError:
        return None, (error(Where(file), "may not be read: permission denied"),)
    except OSError as trouble:
        return None, (error(Where(file), f"cannot be read: {trouble.strerror or trouble}"),)
    return Book(file=file, path=path, sheets=sheets), _twins(sheets)


def _twins(sheets: Iterable[Sheet]) -> tuple[Problem, ...]:
    first: dict[str, Sheet] = {}
    return tuple(
        caution(
            Where(sheet.file, sheet.name),
            f"answers to the same name as the sheet '{first[sheet_key(sheet.name)].name}' "
            "before it: only that one is used",
            "give one of them another name",
        )
        for sheet in sheets
        if first.setdefault(sheet_key(sheet.name), sheet) is not sheet
    )


def _read_folder(path: Path, file: str) -> tuple[Sheet, ...]:
    lists = csv_files(path)
    jobs = path / JOBS
    if jobs.is_dir():
        cure = _one_of(str(jobs / item.name) for item in _books(jobs))
        raise refused(Where(file), "is the folder of a workshop, and no book", cure or "name a job")
    if not lists:
        cure = _one_of(str(path / item.name) for item in _books(path))
        raise refused(Where(file), "is a folder without any .csv in it", cure or "name a workbook")
    sheets: list[Sheet] = []
    problems: list[Problem] = []
    texts: dict[str, tuple[bytes, Seen]] = {}
    with suppress(PermissionError):  # told of the file
        texts = look_all(followed(path), most_bytes=MAX_BYTES)
    for item in lists:
        book, wrong = _read_book(item, item.stem, texts.get(item.name, (None,))[0])
        place = f"{file}/{item.name}"
        problems += [
            Problem(p.level, Where(place, p.where.sheet, p.where.cell), p.says, p.cure)
            for p in wrong
        ]
        if book:
            sheets += [Sheet(file=place, name=s.name, rows=s.rows) for s in book.sheets]
    if problems:
        raise Refused(*problems)
    return tuple(sheets)


def _read_file(path: Path, file: str, single: str, data: bytes | None) -> tuple[Sheet, ...]:
    kind = path.suffix.casefold()
    if not os.path.exists(path):
        raise _missing(path, file)
    if not path.is_file():
        raise refused(Where(file), "is not a file that can be read")
    if kind not in KINDS:
        says = f"files ending in '{kind}' are not read" if kind else "has no ending such as .xlsx"
        raise refused(Where(file), says, SAVE_AS_XLSX)
    if path.stat().st_size > MAX_BYTES:
        raise refused(Where(file), f"is over {MAX_BYTES // 1_000_000} MB: too large to be a list")
    data = path.read_bytes() if data is None else data
    if not data.strip():
        raise refused(Where(file), "is empty")
    if kind == ".csv":
        return (Sheet(file=file, name=single, rows=csv_rows(data, Where(file, single))),)
    package = open_package(data, file, kind)
    return read_ods(package) if kind == ".ods" else with_results(package, read_xlsx(package))


def link_to_nothing(path: Path) -> tuple[str, str] | None:
    """What is the matter with a link whose book is not there, and what to try; None for others."""
    if not path.is_symlink() or path.exists():
        return None
    says = f"is a link to '{os.readlink(path)}', and there is nothing"
    return says, "the disk or share that it is on, or another link"


def _missing(path: Path, file: str) -> Refused:
    """The refusal of what is not there, with the nearest book, or folder, that is."""
    if amiss := link_to_nothing(path):
        return refused(Where(file), *amiss)
    folder = path.parent
    if not os.path.isdir(folder):
        beside = _first(folder.parent) if os.path.isdir(folder.parent) else []
        near = nearest(folder.name, [item.name for item in beside if item.is_dir()])
        there = _nearest_in(folder.with_name(near), path) if near else None
        cure = as_typed(there) if there else "the folder it lies in"
        return refused(Where(file), f"there is no folder '{folder}'", cure)
    if folder.name == JOBS:
        return _no_job(path)
    found = _nearest_in(folder, path)
    if found == path and (folder / JOBS).is_dir():
        found = _nearest_in(folder / JOBS, folder / JOBS / path.name)
    cure = as_typed(found.name if found.parent == folder else found)
    cure = cure if found.exists() else _one_of(item.name for item in _books(folder))
    return refused(Where(file), "there is no such file", cure or "the path of a book")


def _no_job(path: Path) -> Refused:
    """The refusal of a job that is none: inside its workshop a job goes by its name alone."""
    jobs, name = path.parent, path.stem
    inside = Path.cwd().resolve().is_relative_to(followed(jobs).parent)

    def typed(book: Path) -> str:
        bare = book.name if book.is_dir() else book.stem
        return as_typed(bare if inside else book)

    near = _nearest_in(jobs, path)
    if near.stem == name and near.exists():  # another ending
        return refused(Where(path.name), "there is no such file", as_typed(near))
    if near.exists():
        return refused(Where(), f"no job '{name}'", typed(near))
    there = [*_books(jobs), *(item for item in _first(jobs) if any(item.glob("*.csv")))]
    new = f"bom new job {as_typed(name)}" if inside else "the path of a book"
    return refused(Where(), f"no job '{name}'", _one_of(map(typed, there)) or new)


def _nearest_in(folder: Path, path: Path) -> Path:
    """The book or folder there whose name is nearest; `path` itself in it where none is near."""
    # by their names alone: that two of them end in .xlsx makes them no more alike
    books = {item.stem: item for item in _books(folder)}
    known = {item.name: item for item in _first(folder) if item.is_dir()} | books
    return known.get(nearest(path.stem, known), folder / path.name)


def _books(folder: Path) -> list[Path]:
    return [item for item in _first(folder) if item.suffix.casefold() in KINDS]


def _one_of(names: Iterable[str]) -> str:
    known = sorted(names)
    if len(known) == 1:
        return known[0]
    more = " ..." if len(known) > FEW else ""
    return f"one of {', '.join(known[:FEW])}{more}" if known else ""


def _first(folder: Path) -> list[Path]:
    """What lies in a folder, of a large one a part; marks of other programs are left out."""
    items = islice(folder.iterdir(), 1000)
    return [item for item in items if item.name[:1] not in ".~"]
