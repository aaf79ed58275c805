"""How a file of the user's is put in its place: the whole new one stands there, or the old one.

The new bytes go into a file beside it (`.bom-….part`), which takes over its owner and mode, is
flushed to the disk and only then moved over the old one.  A run that is killed leaves the old
file or the new one, and perhaps a part, which the next run sweeps up.
"""

import errno
import hashlib
import os
import re
import secrets
import shutil
import stat
import sys
import time
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from msgspec import Struct

STALE_S = 24 * 3600
"""A part as old as this, in seconds, is swept whoever wrote it: writing one takes no minute."""

AGAIN = "give the command again"
_ON_WINDOWS = os.name == "nt"
_TRIES = 5  # other programs of Windows (search, virus guard) hold a new file for a moment
_PAUSE_S = 0.1
_PART = re.compile(r"\.bom-([0-9a-f]{4})([0-9a-f]{8})[0-9a-f]{8}\.part")


class NotWritten(OSError):
    """Nothing was written: what the matter is in one clause, and what to try.

    An `OSError` with its number, so that whoever catches those catches this; `strerror` is what
    `says` holds, `filename` the path.
    """

    def __init__(self, path: Path, says: str, cure: str, number: int | None = None) -> None:
        super().__init__(number or errno.EIO, says, str(path))
        self.path = path
        self.says = says
        self.cure = cure

    def __str__(self) -> str:
        return f"{self.path.name}: {self.says}; try: {self.cure}"


class Seen(Struct, frozen=True, kw_only=True):
    """A file as it was when it was read: size in bytes, time of change in ns, inode, sha256."""

    size: int
    mtime_ns: int
    inode: int
    sha256: str


ABSENT = Seen(size=-1, mtime_ns=0, inode=0, sha256="")
"""What is seen where there is no file."""


def look(path: Path) -> tuple[bytes, Seen]:
    """The bytes of a file and what to know it by later, both of one moment.

    Raises OSError as reading does, and `NotWritten` where another program goes on writing it.
    """
    for _ in range(_TRIES):
        with path.open("rb") as stream:
            before = os.fstat(stream.fileno())
            data = stream.read()
            after = os.fstat(stream.fileno())
        if before.st_mtime_ns == after.st_mtime_ns and len(data) == after.st_size:
            digest = hashlib.sha256(data).hexdigest()
            size, time_ns, inode = after.st_size, after.st_mtime_ns, after.st_ino
            return data, Seen(size=size, mtime_ns=time_ns, inode=inode, sha256=digest)
        time.sleep(_PAUSE_S)
    raise NotWritten(path, "another program is writing it", AGAIN, errno.EBUSY)


def holding(data: bytes | None) -> Seen:
    """What is seen of a file that holds these bytes, whenever it was written; None: no file."""
    if data is None:
        return ABSENT
    return Seen(size=len(data), mtime_ns=0, inode=0, sha256=hashlib.sha256(data).hexdigest())


def unchanged(path: Path, seen: Seen) -> None:
    """Raise `NotWritten` unless the file still holds the bytes seen (or is still absent).

    The bytes decide: a file that was only touched, or put back by a syncing program, is the same.
    """
    try:
        _, now = look(path)
    except FileNotFoundError:
        now = ABSENT
    compare(path, seen, now)


def compare(path: Path, seen: Seen, now: Seen) -> None:
    """Raise `NotWritten` unless a file holds now what was seen in it."""
    if now.sha256 == seen.sha256:
        return
    says = "it was changed after it was read"
    if seen == ABSENT:
        says = "another program has made one meanwhile"
    elif now == ABSENT:
        says = "it was taken away after it was read"
    raise NotWritten(path, f"not written: {says}", AGAIN)


# Writing


class NewFile(Struct, frozen=True, kw_only=True):
    """A file to be put in its place: with `seen` only over the one that was read (`ABSENT`: none).

    It takes over mode and owner of the file that is there, or of `like`.
    """

    path: Path
    data: bytes
    seen: Seen | None = None
    like: Path | None = None


class HalfWritten(NotWritten):
    """Some files are new and some are old: it says which, or what does the rest."""


def put(path: Path, data: bytes, *, seen: Seen | None = None) -> None:
    """Put a whole file in its place at once, or raise OSError and leave what was there.

    A link stays a link, and a file keeps its mode and, where the system allows, its owner; what
    is no file (`/dev/stdout`) is written to, not replaced.  With `seen` the file must still be
    the one that was read (`NotWritten`).  The error names the path that was asked for.
    """
    with aside(NewFile(path=real(path), data=data, seen=seen)) as move:
        move()


def put_new(path: Path, data: bytes, *, like: Path | None = None) -> None:
    """Put a new file in its place whole; FileExistsError for anything there, a dead link too.

    It gets the mode and owner of the file `like`; without one, those of any new file.
    """
    with aside(NewFile(path=path, data=data, seen=ABSENT, like=like)) as move:
        move()


def jot(note: Path, data: bytes) -> None:
    """Put a note of our own over anybody's older one, with the rights of its folder."""
    with _part(note, data, like=note.parent) as part:
        _replace(part, note)


@contextmanager
def aside(new: NewFile) -> Iterator[Callable[[], object]]:
    """A file made beside its place and safe on the disk; what is yielded moves it there."""
    path, like = new.path, new.like
    if new.seen != ABSENT:
        if is_stream(path):
            yield lambda: path.write_bytes(new.data)
            return
        _may_be_replaced(path)
        like = path if os.path.exists(path) else like
    with _part(path, new.data, like=like) as part:
        yield lambda: _move(part, new)
        sync_folder(path.parent)


def is_stream(path: Path) -> bool:
    """True for what is written to, not replaced: `/dev/stdout`, a pipe."""
    return os.path.exists(path) and not (os.path.isfile(path) or os.path.isdir(path))


def real(path: Path) -> Path:
    """Where a link leads, so that it stays one; a stream (`/dev/stdout`, say) as it is."""
    return path if is_stream(path) else followed(path)


def followed(path: Path) -> Path:
    """The whole path with its links followed, as far as they lead; one to itself stays."""
    return Path(os.path.realpath(path))


def _may_be_replaced(path: Path) -> None:
    if os.path.isdir(path):
        raise IsADirectoryError(errno.EISDIR, "this is a folder", str(path))
    if os.path.exists(path) and not os.access(path, os.W_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))


def _move(part: Path, new: NewFile) -> None:
    with about(new.path):
        if new.seen == ABSENT:
            _place_new(part, new.path)
            return
        if new.seen is not None:
            unchanged(new.path, new.seen)
        _replace(part, new.path)


@contextmanager
def _part(path: Path, data: bytes, *, like: Path | None) -> Iterator[Path]:
    """A file with these bytes beside `path`, safe on the disk; gone at the end, come what may."""
    part = part_beside(path)
    try:
        with about(path):
            sweep(path.parent)
            write_part(part, data, like if like is not None and like.exists() else None)
        yield part
    finally:
        with suppress(OSError):  # it must not hide why the file was not written
            part.unlink(missing_ok=True)


@contextmanager
def about(path: Path) -> Iterator[None]:
    """What the system refuses of a part is told of the file that it was to be."""
    try:
        yield
    except NotWritten:
        raise
    except OSError as trouble:
        says = trouble.strerror or str(trouble)
        raise OSError(trouble.errno, says, str(path)) from trouble


def write_part(part: Path, data: bytes, like: Path | None) -> None:
    """Write a part and flush it to the disk; it takes over from `like`."""
    # Nobody may read the part of a private file, not even before it has that file's mode.
    mode = 0o666 if like is None else 0o600
    with open(part, "xb", opener=lambda name, flags: os.open(name, flags, mode)) as stream:
        stream.write(data)
        stream.flush()
        if like is not None:
            take_over(part, like)
        os.fsync(stream.fileno())


def take_over(part: Path, like: Path) -> None:
    """Owner and group (the group alone where the owner cannot be given), marks, mode.

    A file in a folder of ours takes over what that folder lets everyone do.
    """
    old = like.stat()
    mode = stat.S_IMODE(old.st_mode)
    if like.is_dir() and not part.is_dir():
        mode &= 0o666
    if hasattr(os, "chown"):  # not on Windows
        for owner in (old.st_uid, -1):
            with suppress(OSError):
                os.chown(part, owner, old.st_gid)
                break
    if sys.platform == "linux":  # access lists are among the marks
        with suppress(OSError):
            for name in os.listxattr(like):
                with suppress(OSError):
                    os.setxattr(part, name, os.getxattr(like, name))
    part.chmod(mode)


@contextmanager
def way_back(path: Path) -> Iterator[Callable[[], object]]:
    """What is yielded puts back what is there now, which keeps a second name: it takes no room."""
    if not os.path.isfile(path):
        yield (lambda: None) if is_stream(path) else path.unlink
        return
    name = part_beside(path)
    try:
        with about(path):
            try:
                os.link(path, name)
            except OSError:  # a disk without links, or a file that is another user's
                shutil.copy2(path, name)
        yield lambda: _replace(name, path)
    finally:
        with suppress(OSError):
            name.unlink(missing_ok=True)


def _replace(part: Path, path: Path) -> None:
    for _ in range(_TRIES - 1 if _ON_WINDOWS else 0):
        with suppress(PermissionError):
            os.replace(part, path)
            return
        time.sleep(_PAUSE_S)
    os.replace(part, path)


def _place_new(part: Path, path: Path) -> None:
    """Link it; where the disk has no links (a stick), take the place first, then move it there."""
    try:
        os.link(part, path)
    except FileExistsError:
        raise
    except OSError:
        if _ON_WINDOWS:
            os.rename(part, path)  # never replaces there
            return
        path.open("xb").close()
        try:
            part.replace(path)
        except OSError:
            path.unlink()
            raise


def sync_folder(folder: Path) -> None:
    """Have the disk remember the names in a folder, where the system can be asked to."""
    with suppress(OSError):  # Windows opens no folders; the file stands in its place already
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


# Parts of runs that were killed


def part_beside(path: Path) -> Path:
    """A name in the same folder: `.bom-`, machine (4 hex), process (8), chance (8), `.part`."""
    name = f".bom-{_machine()}{os.getpid():08x}{secrets.token_hex(4)}.part"
    return path.with_name(name)


def _machine() -> str:
    """Four digits for this machine and, in a container, its own numbering of processes."""
    import platform

    name = platform.node()
    with suppress(OSError):
        name += os.readlink("/proc/self/ns/pid")
    return f"{zlib.crc32(name.encode()) & 0xFFFF:04x}"


def sweep(folder: Path) -> None:
    """Remove the parts that killed runs left in a folder, by their name, and nothing else.

    A part goes at once where its process was on this machine and is gone, else after a day:
    a process elsewhere (a shared disk) cannot be asked, and a number may be another's by now.
    Were a living process's part taken all the same, its writing would fail and the old file stay.
    """
    try:
        names = os.listdir(folder)
    except OSError:
        return  # whoever writes here will hear of it
    for name in names:
        match = _PART.fullmatch(name)
        part = folder / name
        with suppress(OSError):
            if match and (_is_gone(match[1], int(match[2], 16)) or _age_s(part) > STALE_S):
                shutil.rmtree(part) if part.is_dir() else part.unlink()


def _age_s(part: Path) -> float:
    return time.time() - part.stat().st_mtime


def _is_gone(machine: str, process: int) -> bool:
    """True when a process of this machine is surely over; Windows cannot be asked so simply."""
    if _ON_WINDOWS or machine != _machine():
        return False
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        return False
    return False


# What went wrong, in words


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Whatever the system refuses inside is raised as `NotWritten` about `path`, with a cure."""
    try:
        yield
    except NotWritten:
        raise
    except OSError as fault:
        says, cure = in_words(Path(fault.filename or path), fault)
        raise NotWritten(path, f"not written: {says}", cure, fault.errno) from fault


_WORDS = {
    errno.ENOSPC: ("the disk is full", f"free some space, then {AGAIN}"),
    errno.EDQUOT: ("your share of the disk is used up", f"free some space, then {AGAIN}"),
    errno.EFBIG: ("the file is larger than is allowed here", "a disk that takes larger files"),
    errno.EROFS: ("the disk is read-only", "a disk that can be written, or unlock this one"),
    errno.EEXIST: ("another program has made one meanwhile", AGAIN),
    errno.ENOTEMPTY: ("another program has made one meanwhile", AGAIN),
    errno.ENAMETOOLONG: ("its name is too long for the disk", "a shorter name"),
    errno.EISDIR: ("this is a folder", "move the folder away"),
    errno.ENOTDIR: ("a file stands where a folder belongs", "move that file away"),
    errno.EIO: ("the disk has failed", "look after the disk; keep the copies in .bom elsewhere"),
}


def in_words(path: Path, fault: OSError) -> tuple[str, str]:
    """What is the matter, and the cure, from the error's number and the state of the folder."""
    if fault.errno in _WORDS:
        return _WORDS[fault.errno]
    if fault.errno in (errno.EACCES, errno.EPERM):
        return _forbidden(path)
    if fault.errno == errno.ENOENT and not path.parent.is_dir():
        return (
            f"there is no folder {path.parent.name}",
            "make that folder, or put it back where it was",
        )
    if fault.errno == errno.ENOENT:
        return "its new text was taken away before it was in place", AGAIN
    return (fault.strerror or str(fault)), AGAIN


def _forbidden(path: Path) -> tuple[str, str]:
    if path.exists() and not os.access(path, os.W_OK):
        return "the file is read-only", "allow writing in its properties, or ask its owner"
    if not os.access(path.parent, os.W_OK):
        says = f"nothing may be written in the folder {path.parent.name}"
        return says, "allow writing in the folder's properties, or ask its owner"
    return "another program has it open, or it is protected", f"close it there, then {AGAIN}"
