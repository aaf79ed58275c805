"""Several files as one: put in their places together, or read as they were at one moment."""

import errno
import os
import shutil
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from msgspec import Struct

from bom.files.safely import (
    AGAIN,
    HalfWritten,
    NewFile,
    NotWritten,
    Seen,
    about,
    aside,
    in_words,
    is_stream,
    look,
    part_beside,
    sweep,
    sync_folder,
    take_over,
    way_back,
    write_part,
)
from bom.trade.problem import listed

_LOOKS = 100
_PAUSE_S = 0.01  # a change of several files stands between two of them for less than that


# Reading


def journal_of(folder: Path) -> Path:
    """What stands while the files of a folder are being changed (`shelf/stockbook/journal`)."""
    return folder.parent / ".bom" / f"{folder.name}.journal"


def csv_files(folder: Path) -> list[Path]:
    """The lists of a book that is a folder; marks of other programs are left out."""
    return sorted(
        item
        for item in folder.iterdir()
        if item.suffix.casefold() == ".csv" and not item.name.startswith(".") and item.is_file()
    )


def look_all(folder: Path, *, most_bytes: int | None = None) -> dict[str, tuple[bytes, Seen]]:
    """Each `.csv` of a folder by its name, with its bytes and what to know it by, of one moment.

    Read again where a change stood between two files or one was changed meanwhile: nothing is
    locked, and nothing written.  Files of over `most_bytes` are left out.  Raises OSError, and
    `NotWritten` where another program goes on writing.
    """
    for _ in range(_LOOKS):
        before = _marks(folder)
        with suppress(FileNotFoundError):
            files = {
                path.name: look(path)
                for path in csv_files(folder)
                if most_bytes is None or path.stat().st_size <= most_bytes
            }
            if not os.path.exists(journal_of(folder)) and _marks(folder) == before:
                return files
        time.sleep(_PAUSE_S)
    raise NotWritten(folder, "another program is writing it", AGAIN, errno.EBUSY)


def _marks(folder: Path) -> list[tuple[str, int, int, int]]:
    """What changes with any of its lists."""
    stats = ((path.name, path.stat()) for path in csv_files(folder))
    return [(name, stat.st_mtime_ns, stat.st_ino, stat.st_size) for name, stat in stats]


# Writing


def put_all(files: Sequence[NewFile], *, folders: bool = False) -> None:
    """Put files in their places together, or raise OSError and leave all as it was.

    All are made aside, safe on the disk, which is where a full one strikes, and then moved one
    after the other; a move that fails turns those before it round (`HalfWritten` where it cannot).
    A run that is killed between two moves leaves each file whole, the first ones new.  With
    `folders` those that are missing are made, each with what belongs in it, and come in one move.
    """
    try:
        with ExitStack() as stack:
            groups = _by_move(files, folders=folders).items()
            _carry_out([stack.enter_context(_move(*group)) for group in groups])
    except NotWritten:
        raise
    except OSError as fault:
        if len(files) == 1:
            raise
        path = Path(fault.filename or files[0].path)
        says, cure = in_words(path, fault)
        raise NotWritten(path, f"nothing was written: {says}", cure, fault.errno) from fault


def _by_move(files: Sequence[NewFile], *, folders: bool) -> dict[Path, list[NewFile]]:
    """The files that come in one move, by its place; streams last: they take nothing back."""
    groups: dict[Path, list[NewFile]] = {}
    for new in sorted(files, key=lambda new: is_stream(new.path)):
        groups.setdefault(_missing(new.path) if folders else new.path, []).append(new)
    return groups


def _missing(path: Path) -> Path:
    """The highest folder above a file that is not there, or the file itself."""
    return [path, *(folder for folder in path.parents if not os.path.lexists(folder))][-1]


class _Placing(Struct, frozen=True):
    """What is put in a place, how, and how the place gets back what was there."""

    place: Path
    do: Callable[[], object]
    undo: Callable[[], object]


@contextmanager
def _move(place: Path, files: Sequence[NewFile]) -> Iterator[_Placing]:
    new = files[0]
    if place != new.path:
        with _folder_aside(place, files) as part:
            yield _Placing(place, lambda: _renamed(part, place), lambda: place.rename(part))
            sync_folder(place.parent)
        return
    with aside(new) as do, way_back(place) as undo:
        yield _Placing(place, do, undo)


@contextmanager
def _folder_aside(place: Path, files: Sequence[NewFile]) -> Iterator[Path]:
    """A folder with these files in it beside its place; gone at the end unless it was moved."""
    part = part_beside(place)
    try:
        with about(place):
            sweep(place.parent)
            part.mkdir()
        for new in files:
            inside = part / new.path.relative_to(place)
            with about(new.path):
                inside.parent.mkdir(parents=True, exist_ok=True)
                write_part(inside, new.data, new.like)
            sync_folder(inside.parent)
        if files[0].like is not None:
            take_over(part, files[0].like.parent)
        yield part
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _renamed(part: Path, place: Path) -> None:
    with about(place):
        part.rename(place)


def _carry_out(moves: Sequence[_Placing]) -> None:
    done: list[_Placing] = []
    try:
        for move in moves:
            move.do()
            done.append(move)
            sync_folder(move.place.parent)
    except (OSError, KeyboardInterrupt) as fault:
        _turn_round(done, fault)
        raise


def _turn_round(done: Sequence[_Placing], fault: BaseException) -> None:
    """Undo what was moved, the last first; raise `HalfWritten` at the first where that fails."""
    for number, move in reversed([*enumerate(done, start=1)]):
        try:
            move.undo()
        except OSError:
            names = listed(each.place.name for each in done[:number])
            says = f"half written: {_reason(move.place, fault)}; of all only {names} came to be new"
            raise HalfWritten(move.place, says, AGAIN) from fault


def _reason(path: Path, fault: BaseException) -> str:
    if isinstance(fault, NotWritten):
        return fault.says
    return in_words(path, fault)[0] if isinstance(fault, OSError) else "it was stopped"
