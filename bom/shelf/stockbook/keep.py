"""The stock book kept safe: one writer at a time, dated copies, the old book or the new one.

Everything that is not the book itself (lock, copies, journal) lies in the folder `.bom` beside
it.  A link is followed first, so that two workshops with one book share its lock.
"""

import errno
import json
import os
import re
import shutil
import stat
import sys
import time
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from datetime import date, datetime, timedelta
from itertools import count
from pathlib import Path

from bom.files import clock, safely
from bom.files.safely import HalfWritten, NewFile, NotWritten, Seen
from bom.files.together import journal_of, look_all, put_all
from bom.shelf.stockbook import journal
from bom.trade.visible import visible

WAIT_S = 10.0
"""How long, in seconds, another bom is waited for: a write takes less than one."""

_LOOKS, _PAUSE_S = 20, 0.01  # at a journal, before its run is taken for one that was killed
SOMEBODY = "somebody"
_STAMP = "%Y-%m-%d %H.%M.%S"
_DAILY = timedelta(days=31)
"""So long one copy of each day is kept."""
_OFFICE_UTF16_AT = 55  # bytes: a name's length, 54 for the name; then both again, 16 bits each


def room(path: Path) -> Path:
    """The folder `.bom` beside a book, made where there is none; raises OSError.

    It takes the rights of the folder it is in: whoever may write there may use it.  One that was
    made with fewer gets them when its owner comes by.
    """
    beside = safely.followed(path).parent
    folder = beside / ".bom"
    with suppress(FileExistsError):
        folder.mkdir()
        safely.take_over(folder, beside)
    if not folder.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(folder))
    if _lets_do(beside) & ~_lets_do(folder):
        with suppress(OSError):
            safely.take_over(folder, beside)
    if os.access(beside, os.W_OK) and not os.access(folder, os.W_OK | os.X_OK):
        raise _closed(folder, beside)
    return folder


def _lets_do(folder: Path) -> int:
    return stat.S_IMODE(folder.stat().st_mode)


def _closed(folder: Path, beside: Path) -> NotWritten:
    """A folder `.bom` of another user, made by a version that took no heed of the others."""
    owner = f"user {folder.stat().st_uid}"
    with suppress(OSError, KeyError, NotImplementedError):  # none of that name, or Windows
        owner = folder.owner()
    says = f"not written: the folder {folder} is {owner}'s, and closed to others"
    cure = f"ask {owner} to book something with bom stock, which opens it, or for chmod"
    return NotWritten(folder, says, f"{cure} {_lets_do(beside):o} {folder}", errno.EACCES)


# One writer at a time


@contextmanager
def locked(path: Path, *, wait_s: float = WAIT_S) -> Iterator[None]:
    """Hold a book against every other bom; what a killed run left half done is finished first.

    Raises `NotWritten` that says who holds it, when it is not free within `wait_s`, or why it
    cannot be locked.  Not to be held twice at once.
    """
    from filelock import FileLock, Timeout

    book = safely.followed(path)
    with safely.told(book):
        # Open to all who may use the folder: whoever locks first must not shut out the others.
        lock = FileLock(room(book) / f"{book.name}.lock", mode=0o666)
        note = room(book) / f"{book.name}.holder"
        try:
            lock.acquire(timeout=wait_s)
        except Timeout:
            raise NotWritten(book, f"being written by {_holder(note)}", "again soon") from None
        except NotImplementedError:  # filelock's own word for a disk (some shares) without locks
            says = "not written: the disk it is on cannot lock files"
            raise NotWritten(book, says, "keep the workshop on a disk of this machine") from None
    try:
        _sign(note)
        with safely.told(book):
            journal.finish(book)
        yield
    finally:
        with suppress(OSError):
            note.unlink(missing_ok=True)
        lock.release()


def settle(path: Path) -> None:
    """Finish what a killed run left half done in a folder of `.csv`; to be called before reading.

    Costs one look at the disk where there is nothing to do; a living run is left to finish its
    own, which takes it no time.  Raises `NotWritten`.
    """
    paper = journal_of(safely.followed(path))
    for _ in range(_LOOKS):
        if not os.path.exists(paper):
            return
        time.sleep(_PAUSE_S)
    try:
        with locked(path):
            pass
    except NotWritten as fault:
        if fault.errno not in (errno.EACCES, errno.EPERM, errno.EROFS):
            raise
        says = "half written by a run that was cut off, and you may not finish it"
        cure = "bom stock show, by whoever may write in its folder"
        raise NotWritten(path, says, cure, fault.errno) from fault


def _sign(note: Path) -> None:
    """Leave word of who holds the lock; without room for a note the work goes on."""
    import platform

    about = {
        "user": _user(),
        "machine": platform.node(),
        "process": os.getpid(),
        "command": " ".join([Path(sys.argv[0]).stem, *sys.argv[1:]]),
        "since": clock.now().isoformat(" ", "seconds"),
    }
    with suppress(OSError):  # over that of a run that was killed, perhaps another user's
        safely.jot(note, json.dumps(about).encode())


def _user() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):  # a container's user may have no name
        return SOMEBODY


def _holder(note: Path) -> str:
    """`anna on bench since 2026-11-25 14:03:07 (bom stock issue twin, process 4711)`."""
    try:
        about = json.loads(note.read_bytes())
        return (
            f"{about['user']} on {about['machine']} since {about['since']} "
            f"({about['command']}, process {about['process']})"
        )
    except (OSError, ValueError, KeyError, TypeError):
        return "another bom"


# Open in a spreadsheet program


def open_elsewhere(path: Path) -> str:
    """Who has the book, or a file of its folder, open in a spreadsheet program; '' for nobody.

    As `Anna on bench, since 25.11.2026 14:03`, as far as the program tells.  Its mark survives a
    crash of the program, so the answer is a reason to stop, not a proof.
    """
    books = sorted(path.glob("*.csv")) if path.is_dir() else [path]
    for book in books:
        for place in dict.fromkeys((book.absolute(), safely.followed(book))):
            for name, reader in ((f".~lock.{place.name}#", _libre), (f"~${place.name}", _office)):
                with suppress(FileNotFoundError):
                    return _read_mark(place.with_name(name), reader) or SOMEBODY
    return ""


def _read_mark(mark: Path, reader: Callable[[bytes], str]) -> str:
    mark.lstat()  # FileNotFoundError: nobody
    try:
        with mark.open("rb") as stream:
            return visible(reader(stream.read(4096))).strip()
    except OSError:  # the program that made it lets nobody read it
        return ""


def _libre(data: bytes) -> str:
    r"""LibreOffice's mark: name, account, machine, time, profile, parted by commas, `;` at the end.

    UTF-8; a backslash stands before `,` `;` and itself (its svl/source/misc/lockfilecommon.cxx).

    >>> _libre(rb"Bench\, Anna,anna,workshop,25.11.2026 14:03,file:///home;")
    'Bench, Anna on workshop, since 25.11.2026 14:03'
    """
    entry = re.match(r"(?:[^;\\]|\\.)*", data.decode("utf-8", "replace"))
    fields = re.findall(r"((?:[^,\\]|\\.)*)(?:,|$)", entry[0] if entry else "")
    name, account, machine, since = ([re.sub(r"\\(.)", r"\1", f) for f in fields] + [""] * 4)[:4]
    who = name.strip() or account.strip() or SOMEBODY
    return who + (f" on {machine}" if machine else "") + (f", since {since}" if since else "")


def _office(data: bytes) -> str:
    r"""Microsoft's mark: the name's length, the name in one byte a letter, then both in UTF-16.

    Spreadsheets: 165 bytes, the second name at byte 55 (LibreOffice writes and tests the same:
    svl/source/misc/msodocumentlockfile.cxx).

    >>> _office(b"\x04Anna" + b" " * 50 + b"\x04\x00" + "Anna".encode("utf-16-le"))
    'Anna'
    """
    at = _OFFICE_UTF16_AT
    wide = data[at + 2 :][: 2 * int.from_bytes(data[at : at + 2], "little")]
    name = wide.decode("utf-16-le", "replace").strip(" \0")
    if name and name.isprintable() and "\ufffd" not in name:
        return name
    return data[1 : 1 + data[0]].decode("cp1252", "replace").strip(" \0") if data else ""


# Writing


def save(path: Path, data: bytes, seen: Seen, *, copies: int) -> None:
    """Put a new text of a book in its place, after a dated copy of the old.

    Copies are thinned by age, the old ones to one a month for `copies` months; 0 keeps none.
    `seen` is what `safely.look` told when the book was read.  Raises `NotWritten`: then the old
    book is whole, and neither a copy nor a part is left of the attempt.
    """
    book = safely.followed(path)
    with safely.told(book):
        safely.unchanged(book, seen)
        old, _ = safely.look(book)
        copy = _copy(book, lambda place: safely.put_new(place, old, like=book)) if copies else None
        with _taken_back(copy):
            safely.put(book, data, seen=seen)
    _prune(book, copies, copy)


def save_folder(
    path: Path, files: Mapping[str, bytes], seen: Mapping[str, Seen], *, copies: int
) -> None:
    """As `save`, for a book that is a folder of `.csv`: all of `files` (by name) or none.

    `seen` holds every file that was read, also those that stay as they are: the new figures rest
    on them.  To be called inside `locked`, which finishes what a kill between two files leaves.
    """
    book = safely.followed(path)
    with safely.told(book):
        old = look_all(book)
        _same(
            {book / name: known for name, known in seen.items()},
            {book / name: found[1] for name, found in old.items()},
            {book / name for name in files},
        )
        texts = {name: found[0] for name, found in old.items()}
        copy = _copy(book, lambda place: _copy_folder(book, place, texts)) if copies else None
        with _taken_back(copy):
            journal.carry_out(book, {n: (texts.get(n), files[n]) for n in files})
    _prune(book, copies, copy)


def _same(
    seen: Mapping[Path, Seen], now: Mapping[Path, Seen], written: Iterable[Path] = ()
) -> None:
    """Raise `NotWritten` for the first file that is not as it was when it was read."""
    for path in sorted({*seen, *written}):
        safely.compare(path, seen.get(path, safely.ABSENT), now.get(path, safely.ABSENT))


# Dated copies


def copies_of(path: Path) -> list[Path]:
    """The dated copies of a book, oldest first: files, or folders for a book that is one."""
    return [copy for _, _, copy in _dated(safely.followed(path))]


def _dated(book: Path) -> list[tuple[datetime, int, Path]]:
    """Each copy with the time and the number within that second in its name, in their order."""
    name = re.compile(
        rf"{re.escape(book.stem)} (\d{{4}}-\d\d-\d\d \d\d\.\d\d\.\d\d)(?: (\d+))?"
        + re.escape(book.suffix)
    )
    found = []
    with suppress(OSError):
        for entry in os.scandir(book.parent / ".bom"):
            if (match := name.fullmatch(entry.name)) and entry.is_dir() == book.is_dir():
                with suppress(ValueError):  # a name of the owner's: there is no such moment
                    when = datetime.strptime(match[1], _STAMP)
                    found.append((when, int(match[2] or 1), Path(entry.path)))
    return sorted(found)


def _prune(book: Path, copies: int, newest: Path | None) -> None:
    """Remove what `thinned` does not keep; what cannot be removed stays for next time.

    Today is the day of the copy just made, whatever others say: the clock may have been put back.
    """
    dated = _dated(book)
    today = next((when.date() for when, _, copy in dated if copy == newest), None)
    kept: Collection[int] = range(len(dated)) if copies else ()
    if today:
        kept = thinned([when.date() for when, _, _ in dated], today, copies)
    for at, (_, _, copy) in enumerate(dated):
        if at not in kept:
            _remove(copy)


def thinned(days: Sequence[date], today: date, months: int) -> set[int]:
    """Which copies stay, by their places in `days`, the rising days on which they were made.

    All of today's; the first of each day of the 31 before; the first of each month of the other
    days, of as many months as said, the latest.  A copy is the book as it was before a change:
    the day's first has what stood there the evening before, and a January's first the year's end.
    """
    first_of_month: dict[tuple[int, int], int] = {}
    first_of_day: dict[date, int] = {}
    kept = set()
    for at, day in enumerate(days):
        if day == today:
            kept.add(at)
        elif timedelta() < today - day <= _DAILY:
            first_of_day.setdefault(day, at)
        else:
            first_of_month.setdefault((day.year, day.month), at)
    return kept | {*first_of_day.values()} | {*[*first_of_month.values()][-months:]}


def _copy(book: Path, write: Callable[[Path], None]) -> Path:
    """The path of a new copy, written by `write`, which raises FileExistsError on a taken one."""
    now = clock.now().replace(microsecond=0)
    start = str(room(book) / f"{book.stem} {now:{_STAMP}}")
    # Numbers that pruning has freed are not given again: the order would be lost.
    same_second = [number for when, number, _ in _dated(book) if when == now]
    for number in count(max(same_second, default=0) + 1):
        place = Path(start + (f" {number}" if number > 1 else "") + book.suffix)
        with suppress(FileExistsError):
            write(place)
            return place
    raise AssertionError("count() ends nowhere")


def _copy_folder(book: Path, place: Path, texts: Mapping[str, bytes]) -> None:
    """A folder appears under its name when all is in it."""
    if place.exists():
        raise FileExistsError(place)
    files = (
        NewFile(path=place / name, data=data, seen=safely.ABSENT, like=book / name)
        for name, data in texts.items()
    )
    put_all([*files], folders=True)


@contextmanager
def _taken_back(copy: Path | None) -> Iterator[None]:
    """Remove the copy of a change that failed: the book is as it was, and no copy is due."""
    try:
        yield
    except HalfWritten:
        raise
    except OSError:  # nothing else: Ctrl-C may come when the new book stands already
        if copy is not None:
            _remove(copy)
        raise


def _remove(copy: Path) -> None:
    with suppress(OSError):
        shutil.rmtree(copy) if copy.is_dir() else copy.unlink()
