"""A file put in its place: the old one or the new one, whole, whatever happens meanwhile."""

import errno
import hashlib
import os
import random
import signal
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from bom.files import safely
from bom.files.safely import ABSENT, NotWritten, look, put, put_new, sweep, told
from tests.within import ROOT

OLD, NEW = b"old" * 1000, b"new" * 2000
NOBODY = 65534  # the user that owns nothing, on Linux; its number matters not
GONE = 2**22 + 1  # no process of Linux has a number above 2**22 (proc(5), pid_max)


@contextmanager
def as_anyone() -> Iterator[None]:
    """Root may write anything, so that permissions are tried as somebody else."""
    if os.getuid():
        yield
        return
    os.setresuid(NOBODY, NOBODY, 0)
    try:
        yield
    finally:
        os.setresuid(0, 0, 0)


@pytest.fixture
def shop() -> Iterator[Path]:
    """A folder that belongs to whoever `as_anyone` is; the folders of pytest are shut to them."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if os.getuid() == 0:
            os.chown(folder, NOBODY, NOBODY)
        yield folder
        folder.chmod(0o700)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A file with the old text."""
    path = tmp_path / "stock.xlsx"
    path.write_bytes(OLD)
    return path


def names(folder: Path) -> list[str]:
    """What stands in a folder, hidden files too."""
    return sorted(os.listdir(folder))


def part(machine: str, process: int) -> str:
    """The name of a part as documented: machine, process, chance, in hex."""
    return f".bom-{machine}{process:08x}0123abcd.part"


def failing(number: int) -> Callable[..., None]:
    """A call of the system that fails with this error."""

    def fail(*_: Any, **__: Any) -> None:
        raise OSError(number, os.strerror(number))

    return fail


# Looking


def test_what_is_seen_of_a_file(book: Path) -> None:
    """Its bytes, and size, time, inode and digest as the system and hashlib tell them."""
    data, seen = look(book)
    told = book.stat()
    assert data == OLD
    assert (seen.size, seen.mtime_ns, seen.inode) == (3000, told.st_mtime_ns, told.st_ino)
    assert seen.sha256 == hashlib.sha256(OLD).hexdigest()


def test_a_file_that_goes_on_changing_is_no_text(
    book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half of one text and half of another would be worse than none."""
    real = os.fstat
    times = iter(range(100))

    def restless(handle: int) -> Any:
        found = real(handle)
        changed = list(found)
        return os.stat_result(changed, {"st_mtime_ns": next(times)})

    monkeypatch.setattr(os, "fstat", restless)
    monkeypatch.setattr(safely, "_PAUSE_S", 0)
    with pytest.raises(NotWritten, match="another program is writing it"):
        look(book)


# Putting


def test_a_link_stays_a_link(book: Path, tmp_path: Path) -> None:
    """The part lies beside the real file, so that the move is one within a disk."""
    (tmp_path / "shop").mkdir()
    link = tmp_path / "shop" / "stock.xlsx"
    link.symlink_to(Path("..") / book.name)
    put(link, NEW)
    assert link.is_symlink()
    assert book.read_bytes() == NEW
    assert names(tmp_path / "shop") == ["stock.xlsx"]


def test_mode_and_owner_are_kept(book: Path) -> None:
    """Root gives it back to its owner, anyone else is the owner."""
    book.chmod(0o640)
    if os.getuid() == 0:
        os.chown(book, 1234, 1235)
    before = book.stat()
    put(book, NEW)
    after = book.stat()
    assert stat.S_IMODE(after.st_mode) == 0o640
    assert (after.st_uid, after.st_gid) == (before.st_uid, before.st_gid)
    assert after.st_ino != before.st_ino
    assert book.read_bytes() == NEW and names(book.parent) == ["stock.xlsx"]


def test_the_group_is_kept_where_no_owner_can(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As for a member of the group who writes a colleague's file."""
    asked = []

    def chown(_path: Path, owner: int, group: int) -> None:
        asked.append((owner, group))
        if owner != -1:
            raise PermissionError(errno.EPERM, "not permitted")

    was = book.stat()
    monkeypatch.setattr(os, "chown", chown)
    put(book, NEW)
    assert asked == [(was.st_uid, was.st_gid), (-1, was.st_gid)]
    assert book.read_bytes() == NEW


def test_marks_such_as_access_lists_go_with_it(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each by itself: one that may not be set does not stop the others."""
    kept = {}

    def setxattr(_path: Path, name: str, value: bytes) -> None:
        if name == "security.label":
            raise PermissionError(errno.EPERM, "not permitted")
        kept[name] = value

    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(os, "listxattr", lambda _: ["security.label", "user.a"], raising=False)
    monkeypatch.setattr(os, "getxattr", lambda _, name: name.encode(), raising=False)
    monkeypatch.setattr(os, "setxattr", setxattr, raising=False)
    put(book, NEW)
    assert kept == {"user.a": b"user.a"}
    assert book.read_bytes() == NEW


def test_the_part_of_a_private_file_is_private(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From its first moment: it is made for the owner alone, and gets its mode later."""
    book.chmod(0o644)
    modes = []
    real = os.open

    def watching(name: Any, flags: int, mode: int = 0o777) -> int:
        if str(name).endswith(".part"):
            modes.append(mode)
        return real(name, flags, mode)

    monkeypatch.setattr(os, "open", watching)
    put(book, NEW)
    assert modes == [0o600]
    assert stat.S_IMODE(book.stat().st_mode) == 0o644


def test_a_new_file_is_never_put_over_another(book: Path) -> None:
    """Not over a dead link either; the mode can be that of another file."""
    with pytest.raises(FileExistsError):
        put_new(book, NEW)
    link = book.with_name("link")
    link.symlink_to(book.with_name("nowhere"))
    with pytest.raises(FileExistsError):
        put_new(link, NEW)
    book.chmod(0o600)
    put_new(book.with_name("copy"), NEW, like=book)
    assert stat.S_IMODE(book.with_name("copy").stat().st_mode) == 0o600
    assert names(book.parent) == ["copy", "link", "stock.xlsx"]
    assert book.read_bytes() == OLD


def test_without_posix_the_same_is_written(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows: no owners, no opening of folders, no links on some disks."""
    real = os.open

    def no_folders(name: Any, flags: int, mode: int = 0o777) -> int:
        if Path(name).is_dir():
            raise PermissionError(errno.EACCES, "Permission denied")
        return real(name, flags, mode)

    monkeypatch.setattr(os, "open", no_folders)
    monkeypatch.delattr(os, "chown")
    monkeypatch.setattr(os, "link", failing(errno.EPERM))
    monkeypatch.setattr(safely, "_ON_WINDOWS", True)
    put(book, NEW)
    put_new(book.with_name("new"), NEW)
    assert book.read_bytes() == book.with_name("new").read_bytes() == NEW
    assert names(book.parent) == ["new", "stock.xlsx"]


def test_windows_is_asked_again_after_a_guard(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice refused, then allowed; refused for good, it is told."""
    refusals = 2
    real = os.replace

    def replace(source: Path, target: Path) -> None:
        nonlocal refusals
        refusals -= 1
        if refusals >= 0:
            raise PermissionError(errno.EACCES, "Permission denied")
        real(source, target)

    monkeypatch.setattr(safely, "_ON_WINDOWS", True)
    monkeypatch.setattr(safely, "_PAUSE_S", 0)
    monkeypatch.setattr(os, "replace", replace)
    put(book, NEW)
    assert book.read_bytes() == NEW
    refusals = 100
    with pytest.raises(NotWritten, match="another program has it open"), told(book):
        put(book, OLD)
    assert book.read_bytes() == NEW
    assert names(book.parent) == ["stock.xlsx"]


# Refused: the old file whole, no part left, one sentence and a cure

REFUSALS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is used up",
    errno.EROFS: "the disk is read-only",
    errno.EIO: "the disk has failed",
    errno.ETIMEDOUT: os.strerror(errno.ETIMEDOUT),
}


@pytest.mark.parametrize("number", REFUSALS)
def test_a_disk_that_fails(number: int, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Full, over quota, locked, broken, far away."""
    monkeypatch.setattr(os, "fsync", failing(number))
    with pytest.raises(NotWritten, match=REFUSALS[number]) as caught, told(book):
        put(book, NEW)
    assert (caught.value.errno, caught.value.filename) == (number, str(book))
    assert book.read_bytes() == OLD
    assert names(book.parent) == ["stock.xlsx"]


def test_a_file_larger_than_the_system_allows(book: Path) -> None:
    """A child process with a real limit of 4096 bytes a file, and 6000 to write."""
    code = (
        "import resource, sys; from pathlib import Path; from bom.files import safely\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))\n"
        "book = Path(sys.argv[1])\n"
        "try:\n"
        "    with safely.told(book): safely.put(book, b'new' * 2000)\n"
        "except safely.NotWritten as fault: print(fault)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(book)], capture_output=True, text=True, cwd=ROOT
    )
    assert done.stdout.startswith("stock.xlsx: not written: the file is larger than is allowed")
    assert book.read_bytes() == OLD
    assert names(book.parent) == ["stock.xlsx"]


@pytest.mark.parametrize("closed", ["file", "folder"])
def test_what_is_read_only(closed: str, shop: Path) -> None:
    """The folder would allow the file to be replaced, or the file to be written, but not whole."""
    book = shop / "stock.xlsx"
    says = {"file": "the file is read-only", "folder": f"nothing .* in the folder {shop.name}"}
    with as_anyone():
        book.write_bytes(OLD)
        (book if closed == "file" else shop).chmod(0o444 if closed == "file" else 0o555)
        with pytest.raises(NotWritten, match=says[closed]), told(book):
            put(book, NEW)
    assert book.read_bytes() == OLD
    assert names(shop) == ["stock.xlsx"]


def test_no_folder_and_a_folder_in_the_way(tmp_path: Path) -> None:
    """Each said as it is."""
    lost = tmp_path / "none" / "stock.xlsx"
    with pytest.raises(NotWritten, match="there is no folder none"), told(lost):
        put(lost, NEW)
    with pytest.raises(NotWritten, match="this is a folder"), told(tmp_path):
        put(tmp_path, NEW)
    assert names(tmp_path) == []


def test_a_part_that_is_taken_away(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Should anybody sweep the part of a living process, its owner hears of it."""
    real = os.replace

    def swept(source: Path, target: Path) -> None:
        source.unlink()
        real(source, target)

    monkeypatch.setattr(os, "replace", swept)
    with pytest.raises(NotWritten, match="its new text was taken away"), told(book):
        put(book, NEW)
    assert book.read_bytes() == OLD


# Changed meanwhile


def test_an_untouched_file_is_replaced(book: Path) -> None:
    """So is one that was only touched, or replaced by the same bytes: these decide."""
    _, seen = look(book)
    put(book, NEW, seen=seen)
    _, seen = look(book)
    os.utime(book, (1, 1))
    put(book, OLD, seen=seen)
    assert book.read_bytes() == OLD


@pytest.mark.parametrize(
    ("other", "says"),
    [
        (b"other", "changed after it was read"),
        (OLD.swapcase(), "changed after it was read"),  # even when size and time are as before
        (None, "taken away after it was read"),  # whoever moved it would wonder
    ],
)
def test_a_file_changed_since_then_is_left(book: Path, other: bytes | None, says: str) -> None:
    """Nothing is put over it, and nothing comes back."""
    _, seen = look(book)
    if other is None:
        book.unlink()
    else:
        book.write_bytes(other)
        os.utime(book, ns=(seen.mtime_ns, seen.mtime_ns))
    with pytest.raises(NotWritten, match=rf"^stock.xlsx: not written: it was {says}"), told(book):
        put(book, NEW, seen=seen)
    assert [path.read_bytes() for path in book.parent.iterdir()] == [other] * (other is not None)


def test_a_file_made_since_there_was_none(book: Path) -> None:
    """Nothing seen, nothing replaced."""
    with pytest.raises(NotWritten, match="another program has made one"), told(book):
        put(book, NEW, seen=ABSENT)
    assert book.read_bytes() == OLD
    book.unlink()
    put(book, NEW, seen=ABSENT)
    assert book.read_bytes() == NEW


# Parts of killed runs


def test_only_the_parts_of_dead_runs_are_swept(tmp_path: Path) -> None:
    """Here and gone: at once; alive, or elsewhere: after a day; anything else: never."""
    here = safely._machine()
    elsewhere = f"{(int(here, 16) + 1) % 65536:04x}"
    day_ago = time.time() - 86_401
    living, far = part(here, os.getpid()), part(elsewhere, GONE)
    for name in (part(here, GONE), living, far, ".bom-notes.part", "bom.part", f"{living}.old"):
        (tmp_path / name).write_bytes(b"")
    (tmp_path / part(here, GONE + 1)).mkdir()
    (tmp_path / part(here, GONE + 1) / "Cable.csv").write_bytes(b"")
    sweep(tmp_path)
    kept = {living, far, ".bom-notes.part", "bom.part", f"{living}.old"}
    assert set(names(tmp_path)) == kept
    for name in kept:
        os.utime(tmp_path / name, (day_ago, day_ago))
    sweep(tmp_path)
    assert set(names(tmp_path)) == kept - {living, far}
    sweep(tmp_path / "none")  # no folder, no fault: the writing will tell
    assert not (tmp_path / "none").exists()


def test_windows_goes_by_age_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Asking for a process would end it there (os.kill in the documents of Python)."""
    stray = tmp_path / part(safely._machine(), GONE)
    stray.write_bytes(b"")
    monkeypatch.setattr(safely, "_ON_WINDOWS", True)
    monkeypatch.setattr(os, "kill", failing(errno.EPERM))
    sweep(tmp_path)
    assert stray.exists()
    os.utime(stray, (1, 1))
    sweep(tmp_path)
    assert not stray.exists()


def test_own_parts_are_named_as_documented(tmp_path: Path) -> None:
    """In the same folder, with the number of this process in them, never two alike."""
    one, other = (safely.part_beside(tmp_path / "stock.xlsx") for _ in range(2))
    assert one.parent == tmp_path
    assert one.name.startswith(f".bom-{safely._machine()}{os.getpid():08x}")
    assert one != other


# Killed

WRITER = """
import sys
from pathlib import Path
from bom.files.safely import put
book, how = Path(sys.argv[1]), sys.argv[2]
texts = [letter * int(sys.argv[3]) for letter in (b"A", b"B")]
print("ready", flush=True)
while True:
    for text in texts:
        put(book, text) if how == "put" else book.write_bytes(text)
"""


def killed(code: str, args: list[str], wait_s: float) -> None:
    """Run code in a child process and kill it (-9) so long after it says that it is ready."""
    with subprocess.Popen(
        [sys.executable, "-c", code, *args], stdout=subprocess.PIPE, text=True, cwd=ROOT
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n"
        time.sleep(wait_s)
        child.send_signal(signal.SIGKILL)
        assert child.wait() == -signal.SIGKILL


def is_whole(text: bytes, size: int) -> bool:
    """One letter throughout."""
    return text in (b"A" * size, b"B" * size)


def after_kills(book: Path, how: str, kills: int, size: int) -> tuple[int, int]:
    """How many kills left a broken file, and how many a part; the next put sweeps it."""
    broken = strays = 0
    chance = random.Random(5)
    for _ in range(kills):
        book.write_bytes(b"A" * size)
        killed(WRITER, [str(book), how, str(size)], chance.uniform(0, 0.03))
        broken += not is_whole(book.read_bytes(), size)
        strays += len(names(book.parent)) > 1
        put(book, b"B" * size)
        assert names(book.parent) == [book.name]
    return broken, strays


@pytest.mark.parametrize(("kills", "least"), [(8, 0), pytest.param(100, 1, marks=pytest.mark.slow)])
def test_kills_break_no_file(kills: int, least: int, book: Path) -> None:
    """Old or new, whole, and no part outlives the next put; of many, some come while writing."""
    broken, strays = after_kills(book, "put", kills, 300_000)
    assert broken == 0
    assert strays >= least


@pytest.mark.slow
def test_the_same_kills_break_files_written_plainly(book: Path) -> None:
    """The loop can see what it looks for."""
    broken, _ = after_kills(book, "plainly", 60, 3_000_000)
    assert broken > 0
