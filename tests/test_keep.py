"""The stock book kept safe: one writer, dated copies, all of a folder's files or none."""

import base64
import doctest
import errno
import getpass
import json
import os
import platform
import random
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from pathlib import Path
from unittest import mock

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.files import clock, safely
from bom.files.safely import HalfWritten, NotWritten, look
from bom.files.together import look_all
from bom.shelf.stockbook import journal, keep
from bom.shelf.stockbook.keep import (
    copies_of,
    locked,
    open_elsewhere,
    save,
    save_folder,
    settle,
    thinned,
)
from tests.office import opened
from tests.test_safely import as_anyone, failing, is_whole, killed, names, shop
from tests.within import ROOT

__all__ = ["shop"]  # a fixture, used by its name

OLD, NEW = b"old" * 1000, b"new" * 2000
SHEETS = ("Cable.csv", "Drawer.csv", "Moves.csv")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A book with the old text, alone in its workshop."""
    path = tmp_path / "stock.xlsx"
    path.write_bytes(OLD)
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A book that is a folder of `.csv`, each with its name as text, and a note of the owner's."""
    path = tmp_path / "stock"
    path.mkdir()
    for name in SHEETS:
        (path / name).write_bytes(name.encode())
    (path / "mine.txt").write_bytes(b"mine")
    return path


def saved(book: Path, text: bytes, copies: int = 10) -> None:
    """Read, then saved."""
    save(book, text, look(book)[1], copies=copies)


def saved_folder(folder: Path, files: dict[str, bytes], copies: int = 10) -> None:
    """Read, then saved, all files seen."""
    seen = {name: found[1] for name, found in look_all(folder).items()}
    save_folder(folder, files, seen, copies=copies)


def texts(folder: Path) -> dict[str, bytes]:
    """The text of each file of a folder."""
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def at(monkeypatch: pytest.MonkeyPatch, *when: str) -> None:
    """Let the clock show these times, one a call; the last for good."""
    times = [datetime.fromisoformat(text) for text in when]
    monkeypatch.setattr(clock, "now", lambda: times.pop(0) if len(times) > 1 else times[0])


# Copies


def test_the_old_book_is_kept_under_its_date(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In the folder `.bom` of the workshop, with the mode of the book."""
    book.chmod(0o600)
    at(monkeypatch, "2026-11-25 14:03:07")
    saved(book, NEW)
    assert book.read_bytes() == NEW
    assert names(book.parent) == [".bom", "stock.xlsx"]
    assert names(book.parent / ".bom") == ["stock 2026-11-25 14.03.07.xlsx"]
    copy = copies_of(book)[0]
    assert copy.read_bytes() == OLD
    assert copy.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize(
    ("when", "copies", "kept"),
    [
        # two in one second are two, in the order they were made: 2 comes before 10
        (["2026-11-25 14:03:07"] * 11, [20] * 11, [OLD, *(b"%d" % n for n in range(10))]),
        # a year ahead by mistake: a day like any other; the one just made stays all the same
        (["2027-11-25T08", "2027-11-25T09", "2026-11-25T10"], [2, 2, 2], [b"1", OLD]),
        # of Monday and Tuesday the first, which have what Sunday's and Monday's evening left
        (
            ["2026-11-23T08", "2026-11-23T17", "2026-11-24T08", "2026-11-24T17", "2026-11-25T08"],
            [2] * 5,
            [OLD, b"1", b"3"],
        ),
        # 31 days back is a day of its own, 32 are one of its month; the year's end is kept
        (
            ["2026-01-02", "2026-01-31", "2026-10-24", "2026-10-25", "2026-11-25"],
            [9] * 5,
            [OLD, b"1", b"2", b"3"],
        ),
        # so many months back, the others go
        (["2026-01-02", "2026-02-02", "2026-03-02", "2026-11-25"], [2] * 4, [b"0", b"1", b"2"]),
        # a house that keeps none: none is made, and those of before go
        (["2026-11-25T08"] * 2, [2, 0], []),
    ],
)
def test_which_copies_are_kept(
    when: list[str],
    copies: list[int],
    kept: list[bytes],
    book: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of saves of 0, 1, 2 ..., by the time of each and the months that are kept."""
    at(monkeypatch, *when)
    for number, many in enumerate(copies):
        saved(book, b"%d" % number, copies=many)
    assert [copy.read_bytes() for copy in copies_of(book)] == kept
    assert book.read_bytes() == b"%d" % (len(copies) - 1)
    if len(kept) == 11:
        assert copies_of(book)[-1].name == "stock 2026-11-25 14.03.07 11.xlsx"


def test_old_copies_go_and_only_ours(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Five months, three kept; what the owner put there, or belongs to another book, stays."""
    at(monkeypatch, *(f"2026-0{month}-20 08:00:00" for month in range(1, 6)))
    theirs = {
        "stock 2020-01-01 08.00.00.ods",
        "stock 2020-01-01 08.00.00 before Christmas.xlsx",
        "stock 2020-01-01.xlsx",
        "stock 2020-13-32 25.61.00.xlsx",
        "old stock 2020-01-01 08.00.00.xlsx",
    }
    (book.parent / ".bom").mkdir()
    for name in theirs:
        (book.parent / ".bom" / name).write_bytes(b"mine")
    for number in range(5):
        saved(book, b"%d" % number, copies=2)
    # April's is 30 days old: a day of its own
    ours = {f"stock 2026-0{month}-20 08.00.00.xlsx" for month in (2, 3, 4, 5)}
    assert set(names(book.parent / ".bom")) == ours | theirs
    assert [copy.read_bytes() for copy in copies_of(book)] == [b"0", b"1", b"2", b"3"]


DAYS = st.lists(st.dates(date(2024, 1, 1), date(2026, 12, 31)), min_size=1, max_size=80).map(sorted)


@given(DAYS, st.integers(1, 30))
def test_what_thinning_keeps(days: list[date], months: int) -> None:
    """The newest; all of today; each day of the 31 before by its first; the rest by the month."""
    today = days[-1]
    kept = thinned(days, today, months)
    of_today = days.count(today)
    assert len(days) - 1 in kept and len(kept) <= of_today + 31 + months
    assert {*range(len(days) - of_today, len(days))} <= kept
    for at in kept:
        older = (today - days[at]).days
        alike = [day for day in days[:at] if day == days[at]]
        assert older == 0 or not alike
        if older > 31:
            assert not [
                d for d in days[:at] if (d.year, d.month) == (days[at].year, days[at].month)
            ]
    recent = {day for day in days if (today - day).days <= 31}
    assert recent <= {days[at] for at in kept}
    old = sorted({(day.year, day.month) for day in days if (today - day).days > 31})
    kept_old = [days[at] for at in sorted(kept) if (today - days[at]).days > 31]
    assert [(day.year, day.month) for day in kept_old] == old[-months:]


@given(DAYS, st.integers(0, 400), st.integers(1, 30))
def test_thinned_on_the_way_or_at_the_end_is_the_same(
    days: list[date], later: int, months: int
) -> None:
    """What a day's thinning takes away would not have been kept later either."""
    on_the_way = [days[at] for at in sorted(thinned(days, days[-1], months))]
    end = days[-1] + timedelta(days=later)
    once, twice = ([ds[at] for at in sorted(thinned(ds, end, months))] for ds in (days, on_the_way))
    assert [*dict.fromkeys(twice)] == [*dict.fromkeys(once)]


def test_names_that_windows_takes(folder: Path, book: Path) -> None:
    r"""None of < > : " / \ | ? * and no dot or space at the end (Naming Files, Win32 documents)."""
    saved(book, NEW)
    saved_folder(folder, {"Moves.csv": NEW})
    with locked(book):
        made = names(book.parent / ".bom")
    assert len(made) == 4  # two copies, the lock and its note
    for name in made:
        assert not re.search(r'[<>:"/\\|?*\x00-\x1f]|[. ]$', name)


def test_copies_lie_beside_the_real_book(book: Path, tmp_path: Path) -> None:
    """A book that is a link keeps lock and copies where it lies: one book, one lock."""
    (tmp_path / "shop").mkdir()
    link = tmp_path / "shop" / "stock.xlsx"
    link.symlink_to(book)
    saved(link, NEW)
    assert link.is_symlink()
    assert book.read_bytes() == NEW
    assert names(tmp_path / "shop") == ["stock.xlsx"]
    assert copies_of(link) == copies_of(book) != []


# Refused


@pytest.mark.parametrize(
    ("meanwhile", "says"), [(b"theirs", "changed"), (OLD.upper(), "changed"), (None, "taken away")]
)
def test_a_book_changed_since_is_left(meanwhile: bytes | None, says: str, book: Path) -> None:
    """Or moved away: then it does not come back.  No copy is made of it either."""
    _, seen = look(book)
    book.write_bytes(meanwhile) if meanwhile else book.unlink()
    with pytest.raises(NotWritten, match=rf"^stock.xlsx: not written: it was {says} after"):
        save(book, NEW, seen, copies=10)
    assert (book.read_bytes() if book.exists() else None) == meanwhile
    assert copies_of(book) == []


def test_a_book_changed_while_it_is_copied(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Looked at once more, at the last moment; the copy is taken back."""
    real = safely.put_new

    def slow(path: Path, data: bytes, *, like: Path | None = None) -> None:
        real(path, data, like=like)
        book.write_bytes(b"theirs")

    monkeypatch.setattr(safely, "put_new", slow)
    with pytest.raises(NotWritten, match="changed after it was read"):
        saved(book, NEW)
    assert book.read_bytes() == b"theirs"
    assert copies_of(book) == []


@pytest.mark.parametrize("flush", [1, 3])
def test_a_full_disk_leaves_all_old(
    flush: int, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Full at the copy (the first flush), or at the book (the third: copy, its folder, book)."""
    saved(book, b"1", copies=1)
    before, calls, real = copies_of(book), iter(range(1, 9)), os.fsync

    def full(handle: int) -> None:
        if next(calls) == flush:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(handle)

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(NotWritten, match=r"^stock.xlsx: not written: the disk is full"):
        saved(book, NEW, copies=1)
    assert book.read_bytes() == b"1"
    assert names(book.parent) == [".bom", "stock.xlsx"]
    assert [path.name for path in before] == names(book.parent / ".bom")


def test_a_workshop_that_is_read_only(shop: Path) -> None:
    """Neither lock nor copy can be made, and each says why."""
    book = shop / "stock.xlsx"
    says = f"nothing may be written in the folder {shop.name}"
    with as_anyone():
        book.write_bytes(OLD)
        shop.chmod(0o555)
        with pytest.raises(NotWritten, match=says), locked(book):
            pass
        with pytest.raises(NotWritten, match=says):
            saved(book, NEW)
    assert names(shop) == ["stock.xlsx"]
    assert book.read_bytes() == OLD


def test_a_file_where_the_folder_belongs(book: Path) -> None:
    """The owner's own file `.bom` is left alone."""
    (book.parent / ".bom").write_bytes(b"mine")
    with pytest.raises(NotWritten, match="a file stands where a folder belongs"), locked(book):
        pass
    with pytest.raises(NotWritten, match="a file stands where a folder belongs"):
        saved(book, NEW)
    assert (book.parent / ".bom").read_bytes() == b"mine"


# Lock

HOLDER = """
import sys
from pathlib import Path
from bom.shelf.stockbook.keep import locked
with locked(Path(sys.argv[1])):
    print("ready", flush=True)
    sys.stdin.readline()
print("free", flush=True)
"""


@contextmanager
def held(book: Path, *words: str) -> Iterator[subprocess.Popen[str]]:
    """Another process that holds the lock until it reads a line."""
    command = [sys.executable, "-c", HOLDER, str(book), *words]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n"
        try:
            yield child
        finally:
            child.kill()


def note_of(book: Path) -> dict[str, object]:
    """What the holder of the lock says of itself."""
    note: dict[str, object] = json.loads((book.parent / ".bom" / "stock.xlsx.holder").read_text())
    return note


def test_the_second_process_says_who_holds_the_book(book: Path) -> None:
    """User, machine, command, process, since when; after the time it was told to wait, or 10 s."""
    assert keep.WAIT_S == 10  # as the contract has it
    with held(book, "stock", "issue") as child:
        before = names(book.parent / ".bom")
        with pytest.raises(NotWritten) as caught, locked(book, wait_s=0.1):
            pass
    who, machine = re.escape(getpass.getuser()), re.escape(platform.node())
    assert re.fullmatch(
        rf"stock\.xlsx: being written by {who} on {machine} "
        r"since 20\d\d-\d\d-\d\d \d\d:\d\d:\d\d "
        rf"\(-c {re.escape(str(book))} stock issue, process {child.pid}\); try: again soon",
        str(caught.value),
    )
    assert before == ["stock.xlsx.holder", "stock.xlsx.lock"]


@pytest.mark.parametrize("end", ["let go", "killed"])
def test_a_book_let_go_is_free(end: str, book: Path) -> None:
    """Whoever waits gets it; the note of a killed process stays until the next writes its own."""
    with held(book) as child:
        assert child.stdin is not None
        if end == "killed":
            child.send_signal(signal.SIGKILL)
            child.wait()
            assert "stock.xlsx.holder" in names(book.parent / ".bom")
        else:
            child.stdin.write("\n")
            child.stdin.flush()
        with locked(book, wait_s=300):
            assert note_of(book)["process"] == os.getpid()
    assert names(book.parent / ".bom") == ["stock.xlsx.lock"]


@pytest.mark.parametrize("note", [b"", b"{}", b"[1]", b"\xff", b'{"user": "anna"}'])
def test_a_note_that_tells_nothing(note: bytes, book: Path) -> None:
    """Still a sentence."""
    with held(book):
        (book.parent / ".bom" / "stock.xlsx.holder").write_bytes(note)
        with (
            pytest.raises(NotWritten, match="being written by another bom"),
            locked(book, wait_s=0),
        ):
            pass


def test_a_user_without_a_name(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As in a container."""

    def nameless() -> str:
        raise KeyError("getpwuid(): uid not found: 1234")

    monkeypatch.setattr(getpass, "getuser", nameless)
    with locked(book):
        assert note_of(book)["user"] == "somebody"


def test_an_error_inside_lets_the_book_go(book: Path) -> None:
    """Whatever goes wrong between, the next one is let in."""
    with pytest.raises(ZeroDivisionError), locked(book):
        raise ZeroDivisionError
    with locked(book, wait_s=0):
        assert book.read_bytes() == OLD


ADDER = """
import sys
from pathlib import Path
from bom.files.safely import look
from bom.shelf.stockbook.keep import locked, save
book = Path(sys.argv[1])
for _ in range(20):
    with locked(book):
        text, seen = look(book)
        save(book, b"%d" % (int(text) + 1), seen, copies=3)
"""


def test_two_processes_at_once_lose_nothing(book: Path) -> None:
    """Each adds one twenty times: forty in the end, and of today all copies."""
    book.write_bytes(b"0")
    command = [sys.executable, "-c", ADDER, str(book)]
    children = [subprocess.Popen(command, cwd=ROOT) for _ in range(2)]
    assert [child.wait() for child in children] == [0, 0]
    assert book.read_bytes() == b"40"
    assert [int(copy.read_bytes()) for copy in copies_of(book)] == [*range(40)]


# Open in a spreadsheet program


def test_the_examples_in_the_docstrings_hold() -> None:
    """One mark of each program."""
    result = doctest.testmod(keep)
    assert (result.attempted, result.failed) == (2, 0)


def office(name: str, narrow: bytes) -> bytes:
    """A mark as documented: 165 bytes; LibreOffice's svl/qa/unit/lockfiles/test_lockfiles.cxx."""
    wide = name.encode("utf-16-le")
    start = bytes([len(narrow)]) + narrow.ljust(54, b" ")
    return (start + len(name).to_bytes(2, "little") + wide).ljust(165, b" ")


LIBREOFFICES = (
    # fields and escapes: LibreOffice's svl/source/misc/lockfilecommon.cxx
    (b"Anna Bench,anna,shop,25.11 14:03,file:///p;", "Anna Bench on shop, since 25.11 14:03"),
    (b",anna,shop,25.11.2026 14:03,file:///p;", "anna on shop, since 25.11.2026 14:03"),
    (rb"Bench\, Anna\; \\,SHOP/anna,SHOP,25.11,file:///p;", "Bench, Anna; \\ on SHOP, since 25.11"),
    ("Änne,a,b,c,d;".encode(), "Änne on b, since c"),
    # whatever else may stand there
    (b"", "somebody"),
    (b",,,,;", "somebody"),
    (b"Anna", "Anna"),
    (b"Anna;other,stuff", "Anna"),
    (b"An\x1b[31mna\n,a,b,c,d;", "An␛[31mna on b, since c"),
    (b"\xff\xfe,a,,,;", "\ufffd\ufffd"),
    (b"Anna\\", "Anna"),
    (b"\\", "somebody"),
)  # fmt: skip
MICROSOFTS = (
    # the wide name where it is sound, else the narrow one
    (office("Anna Bench", b"Anna Bench"), "Anna Bench"),
    (office("Łucja", b"?ucja"), "Łucja"),
    (office("", b"Anna"), "Anna"),
    (b"\x04Anna", "Anna"),
    (b"\x04Anna" + b" " * 50 + b"\xff\xff\x00\x00", "Anna"),
    (b"\x06Ren\xe9 B", "René B"),
    (b"", "somebody"),
    (b"\x00", "somebody"),
    (b"\xff" * 3, "ÿÿ"),
)


@pytest.mark.parametrize(
    ("name", "mark", "who"),
    [
        *((".~lock.stock.xlsx#", *row) for row in LIBREOFFICES),
        *(("~$stock.xlsx", *row) for row in MICROSOFTS),
    ],
)
def test_marks_of_other_programs_are_read(name: str, mark: bytes, who: str, book: Path) -> None:
    """Who has it open, as far as it tells."""
    (book.parent / name).write_bytes(mark)
    assert open_elsewhere(book) == who


def test_nobody_has_it_open(book: Path, folder: Path) -> None:
    """Nor is the mark of another book one of this."""
    (book.parent / ".~lock.prices.xlsx#").write_bytes(b"Anna,a,b,c,d;")
    (book.parent / ".~lock.stock.xlsx").write_bytes(b"Anna,a,b,c,d;")
    for path in (book, folder, book.with_name("none.xlsx")):
        assert open_elsewhere(path) == ""


def test_where_a_mark_may_lie(book: Path, folder: Path, tmp_path: Path) -> None:
    """In a folder at any of its files; beside the real book, as those programs follow links.

    On Windows its program may keep a mark to itself: somebody, then.
    """
    (tmp_path / "link.xlsx").symlink_to(book)
    for mark in (folder / ".~lock.Moves.csv#", tmp_path / ".~lock.stock.xlsx#"):
        mark.write_bytes(b"Anna,a,b,c,d;")
    for path in (folder, tmp_path / "link.xlsx"):
        assert open_elsewhere(path) == "Anna on b, since c"
    (tmp_path / ".~lock.stock.xlsx#").unlink()
    (tmp_path / "~$stock.xlsx").mkdir()
    assert open_elsewhere(book) == "somebody"


@pytest.mark.libreoffice
@pytest.mark.slow
def test_the_mark_of_a_real_libreoffice(tmp_path: Path) -> None:
    """It opens the book, and its mark outlives it when it is killed."""
    book = tmp_path / "stock.xlsx"
    openpyxl.Workbook().save(book)
    with opened(book, tmp_path) as who:
        pass
    assert re.fullmatch(
        rf"{re.escape(getpass.getuser())} on \S+, since \d\d\.\d\d\.20\d\d \d\d:\d\d", who
    )
    assert open_elsewhere(book) == who


# A folder of .csv


def test_a_folder_is_saved_as_one(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The copy has all that was read, the other files stay, no journal is left."""
    at(monkeypatch, "2026-11-25 14:03:07")
    saved_folder(folder, {"Cable.csv": b"1", "Moves.csv": b"2"})
    assert texts(folder) == {
        "Cable.csv": b"1",
        "Drawer.csv": b"Drawer.csv",
        "Moves.csv": b"2",
        "mine.txt": b"mine",
    }
    assert names(folder.parent / ".bom") == ["stock 2026-11-25 14.03.07"]
    assert texts(copies_of(folder)[0]) == {name: name.encode() for name in SHEETS}


def test_copies_of_a_folder_are_thinned_too(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A month and today of four; a file of the owner's with such a name is no copy of a folder."""
    at(monkeypatch, "2026-01-02", "2026-02-02", "2026-03-02", "2026-11-25")
    (folder.parent / ".bom").mkdir()
    (folder.parent / ".bom" / "stock 2020-01-01 08.00.00").write_bytes(b"mine")
    for number in range(4):
        saved_folder(folder, {"Moves.csv": b"%d" % number}, copies=1)
    assert [texts(copy)["Moves.csv"] for copy in copies_of(folder)] == [b"1", b"2"]
    assert len(names(folder.parent / ".bom")) == 3


def test_a_file_that_was_not_there_is_made(folder: Path) -> None:
    """Moves begins with the first change; made meanwhile by another, nothing is written."""
    (folder / "Moves.csv").unlink()
    seen = {name: found[1] for name, found in look_all(folder).items()}
    save_folder(folder, {"Moves.csv": b"first"}, seen, copies=1)
    assert texts(folder)["Moves.csv"] == b"first"
    with pytest.raises(NotWritten, match=r"^Moves.csv: .* another program has made one meanwhile"):
        save_folder(folder, {"Moves.csv": b"second", "Cable.csv": b"2"}, seen, copies=1)
    assert texts(folder)["Cable.csv"] == b"Cable.csv"


def test_a_file_that_was_only_read_counts(folder: Path) -> None:
    """The new moves rest on the cable that was read."""
    seen = {name: found[1] for name, found in look_all(folder).items()}
    (folder / "Cable.csv").write_bytes(b"theirs")
    with pytest.raises(NotWritten, match=r"^Cable.csv: .* changed after it was read"):
        save_folder(folder, {"Moves.csv": b"new"}, seen, copies=1)
    assert texts(folder)["Moves.csv"] == b"Moves.csv"
    assert copies_of(folder) == []


def test_a_private_folder_has_private_copies(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The journal too, while it stands."""
    folder.chmod(0o700)
    for name in SHEETS:
        (folder / name).chmod(0o600)
    modes = []
    real = journal._done

    def done(paper: Path) -> None:
        modes.append(paper.stat().st_mode & 0o777)
        real(paper)

    monkeypatch.setattr(journal, "_done", done)
    saved_folder(folder, {"Moves.csv": b"new"})
    copy = copies_of(folder)[0]
    assert modes == [0o600]
    assert copy.stat().st_mode & 0o777 == 0o700
    assert {path.stat().st_mode & 0o777 for path in copy.iterdir()} == {0o600}


def fails_at(monkeypatch: pytest.MonkeyPatch, folder: Path, *which: int) -> None:
    """Let the disk be full at these writes of the folder's own files, counted from 1."""
    real, counter = safely._replace, iter(range(1, 99))

    def replace(part: Path, path: Path) -> None:
        if path.parent == folder and next(counter) in which:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(part, path)

    monkeypatch.setattr(safely, "_replace", replace)


@pytest.mark.parametrize("which", [1, 2, 3])
def test_a_full_disk_puts_all_back(
    which: int, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As it was: no file new, no copy, no journal."""
    before = texts(folder)
    fails_at(monkeypatch, folder, which)
    with pytest.raises(NotWritten, match="nothing was written: the disk is full"):
        saved_folder(folder, dict.fromkeys(SHEETS, b"new"))
    assert texts(folder) == before
    assert names(folder.parent / ".bom") == []


def test_a_disk_too_full_to_put_back_is_told(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two files of three are new, the first cannot go back: the journal stays, and the copy."""
    fails_at(monkeypatch, folder, 3, 4)
    with pytest.raises(HalfWritten, match=r"^stock: half written: the disk is full"):
        saved_folder(folder, dict.fromkeys(SHEETS, b"new"))
    assert len(copies_of(folder)) == 1
    settle(folder)
    assert {texts(folder)[name] for name in SHEETS} == {b"new"}
    assert "stock.journal" not in names(folder.parent / ".bom")


def cut_off(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave a folder as a kill after the first of three files does."""

    class Killed(BaseException):
        """Stands for the end of the process: nothing but `finally` runs."""

    real, counter = safely._replace, iter(range(1, 99))

    def replace(part: Path, path: Path) -> None:
        if path.parent == folder and next(counter) == 2:
            raise Killed
        real(part, path)

    with monkeypatch.context() as patch:
        patch.setattr(safely, "_replace", replace)
        with pytest.raises(Killed):
            saved_folder(folder, dict.fromkeys(SHEETS, b"new"))


def test_the_next_finishes_what_was_cut_off(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever locks the book finds it done; before, Cable is new and Moves old."""
    cut_off(folder, monkeypatch)
    assert (texts(folder)["Cable.csv"], texts(folder)["Moves.csv"]) == (b"new", b"Moves.csv")
    with locked(folder):
        assert {texts(folder)[name] for name in SHEETS} == {b"new"}
    assert [name for name in names(folder.parent / ".bom") if "journal" in name] == []


def test_nothing_is_saved_over_half_a_change(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the lock that would finish it, the save is refused."""
    cut_off(folder, monkeypatch)
    with pytest.raises(NotWritten):
        saved_folder(folder, {"Moves.csv": b"newer"})
    settle(folder)
    assert {texts(folder)[name] for name in SHEETS} == {b"new"}


def test_a_file_changed_after_the_cut_is_left(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing more is written until the owner has looked; the cure is one that works."""
    cut_off(folder, monkeypatch)
    (folder / "Moves.csv").write_bytes(b"theirs")
    with pytest.raises(NotWritten, match=r"^stock: half .* Moves.csv was changed"), locked(folder):
        pass
    assert texts(folder)["Drawer.csv"] == b"Drawer.csv"
    (folder.parent / ".bom" / "stock.journal").unlink()
    with locked(folder):
        assert texts(folder)["Moves.csv"] == b"theirs"


OUTSIDE = json.dumps({"../x.csv": [None, base64.b64encode(b"x").decode()]}).encode()


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"[]",
        b"{",
        b'{"Moves.csv": 1}',
        b'{"Moves.csv": ["?", null]}',
        b'{"..": [null, "eA=="]}',
        b'{"workshop.toml": [null, "eA=="]}',
        OUTSIDE,
    ],
)
def test_a_journal_that_is_not_ours(text: bytes, folder: Path) -> None:
    """Nothing is written from it, least of all outside the folder."""
    (folder.parent / ".bom").mkdir()
    (folder.parent / ".bom" / "stock.journal").write_bytes(text)
    with pytest.raises(NotWritten, match=r"^stock.journal: .* cannot be read"):
        settle(folder)
    assert not (folder.parent / "x.csv").exists()
    assert texts(folder)["Moves.csv"] == b"Moves.csv"


def test_settling_where_nothing_is_to_be_done_writes_nothing(folder: Path, book: Path) -> None:
    """A reader makes no folder `.bom`."""
    settle(folder)
    settle(book)
    assert names(folder.parent) == ["stock", "stock.xlsx"]


def test_a_journal_that_stays_does_no_harm(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All files are new; it is found done later."""
    with monkeypatch.context() as patch:
        patch.setattr(Path, "unlink", failing(errno.EACCES))
        saved_folder(folder, {"Moves.csv": b"new"})
    assert "stock.journal" in names(folder.parent / ".bom")
    settle(folder)
    assert "stock.journal" not in names(folder.parent / ".bom")
    assert texts(folder)["Moves.csv"] == b"new"


# Killed

# Forty days pass from save to save, so that of many copies few are kept.
SAVER = """
import sys
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from bom.files.safely import look
from bom.files.together import look_all
from bom.files import clock
from bom.shelf.stockbook.keep import locked, save, save_folder
book, saves = Path(sys.argv[1]), count()
clock.now = lambda: datetime(2020, 1, 1) + timedelta(days=40 * next(saves))
print("ready", flush=True)
while True:
    for letter in (b"A", b"B"):
        text = letter * 200_000
        with locked(book):
            if book.is_dir():
                seen = {name: found[1] for name, found in look_all(book).items()}
                save_folder(book, dict.fromkeys(seen, text), seen, copies=3)
            else:
                save(book, text, look(book)[1], copies=3)
"""


def strays(workshop: Path) -> list[str]:
    """Parts and journals left anywhere in a workshop."""
    return [path.name for path in workshop.rglob("*") if path.suffix in (".part", ".journal")]


def after_kills(book: Path, kills: int) -> tuple[int, int]:
    """How many kills left a broken book, and how many something for the next run to do."""
    broken = left = 0
    chance = random.Random(7)
    for _ in range(kills):
        killed(SAVER, [str(book)], chance.uniform(0, 0.12))
        left += bool(strays(book.parent))
        settle(book)
        files = [book] if book.is_file() else [book / name for name in SHEETS]
        copied = [p for copy in copies_of(book) for p in ([copy, *copy.rglob("*")])]
        found = {path.read_bytes() for path in files}
        broken += len(found) > 1
        broken += not all(
            is_whole(path.read_bytes(), 200_000) for path in (*files, *copied) if path.is_file()
        )
        day = datetime(2020, 1, 1) + timedelta(days=40 * chance.randrange(300))
        with locked(book, wait_s=300), mock.patch.object(clock, "now", return_value=day):
            _save_as_it_is(book)
        assert strays(book.parent) == []
        assert len(copies_of(book)) <= 3 + 3  # of three months, and of the day that it seems to be
    return broken, left


def _save_as_it_is(book: Path) -> None:
    if book.is_file():
        saved(book, book.read_bytes(), copies=3)
    else:
        saved_folder(book, {name: (book / name).read_bytes() for name in SHEETS}, copies=3)


def whole(kind: str, workshop: Path) -> Path:
    """A book of one letter throughout."""
    book = workshop / ("stock" if kind == "folder" else "stock.xlsx")
    if kind == "folder":
        book.mkdir()
    for path in [book / name for name in SHEETS] if kind == "folder" else [book]:
        path.write_bytes(b"A" * 200_000)
    return book


@pytest.mark.parametrize(("kills", "least"), [(6, 0), pytest.param(100, 1, marks=pytest.mark.slow)])
@pytest.mark.parametrize("kind", ["book", "folder"])
def test_kills_break_no_book(kind: str, kills: int, least: int, tmp_path: Path) -> None:
    """Old or new, its files agree, copies are whole, and the next save leaves no part.

    Of many kills some come while a book is written.
    """
    broken, left = after_kills(whole(kind, tmp_path), kills)
    assert broken == 0
    assert left >= least
