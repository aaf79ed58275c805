"""Several files as one: all of them new or none, and readers see one state of a folder."""

import errno
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import msgspec
import pytest

from bom.estimate import read_shelf
from bom.files import safely, together
from bom.files.safely import ABSENT, HalfWritten, NewFile, NotWritten
from bom.files.sheet import read_book
from bom.files.together import journal_of, look_all, put_all
from bom.job import find_workshop
from bom.shelf.stockbook import keep
from bom.trade.problem import Problem
from bom.workshop.shelf_requests import shelf_shown
from tests.shops import CABLE, DRAWER, job
from tests.stockrooms import ITEMS, MOVES, REELS, loom, shop, typed
from tests.test_full_disk import as_csv
from tests.test_safely import as_anyone, failing, names
from tests.test_safely import shop as anyones
from tests.test_stockroom import used
from tests.within import ROOT, bom, bom_alone

__all__ = ["anyones"]  # a fixture, used by its name


def new(*paths: Path, data: bytes = b"new") -> list[NewFile]:
    """Files to be put in their places."""
    return [NewFile(path=path, data=data) for path in paths]


# All or none


def test_all_are_put_in_their_places(tmp_path: Path) -> None:
    """Over an older one, beside it, and in a folder that is made for two."""
    (tmp_path / "a").write_bytes(b"old")
    places = [tmp_path / name for name in ("a", "b", "c/d/e", "c/f")]
    put_all(new(*places), folders=True)
    assert [path.read_bytes() for path in places] == [b"new"] * 4
    assert names(tmp_path) == ["a", "b", "c"]
    with pytest.raises(NotWritten, match=r"^g: nothing was written: there is no folder f"):
        put_all(new(tmp_path / "a", tmp_path / "f" / "g", data=b"newer"))
    assert (tmp_path / "a").read_bytes() == b"new" and names(tmp_path) == ["a", "b", "c"]


@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("fails", range(1, 5))
def test_a_move_that_fails_turns_the_others_round(
    fails: int, links: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two older ones, a new one and a folder; on a disk that knows second names or not."""
    for name in "ab":
        (tmp_path / name).write_bytes(name.encode())
    moves = iter(range(1, 99))

    def counted(real: Callable[..., object]) -> Callable[..., None]:
        def move(*paths: Path) -> None:
            if next(moves) == fails:
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            real(*paths)

        return move

    if not links:
        monkeypatch.setattr(os, "link", failing(errno.EPERM))
    for name in ("_replace", "_place_new"):
        monkeypatch.setattr(safely, name, counted(getattr(safely, name)))
    monkeypatch.setattr(together, "_renamed", counted(together._renamed))
    files = [*new(tmp_path / "a", tmp_path / "b"), *new(tmp_path / "d" / "e")]
    files.insert(2, NewFile(path=tmp_path / "c", data=b"new", seen=ABSENT))
    with pytest.raises(NotWritten, match="nothing was written: the disk has failed"):
        put_all(files, folders=True)
    assert names(tmp_path) == ["a", "b"]
    assert [(tmp_path / name).read_bytes() for name in "ab"] == [b"a", b"b"]


def test_what_cannot_go_back_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The third move fails, and the second cannot be undone: so the first stays new as well."""
    places = [tmp_path / name for name in "abc"]
    for path in places:
        path.write_bytes(b"old")
    real, moves = safely._replace, iter(range(1, 99))

    def full(part: Path, path: Path) -> None:
        if next(moves) > 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(part, path)

    monkeypatch.setattr(safely, "_replace", full)
    with pytest.raises(HalfWritten) as caught:
        put_all(new(*places))
    assert caught.value.says == "half written: the disk is full; of all only a and b came to be new"
    assert [path.read_bytes() for path in places] == [b"new", b"new", b"old"]
    assert names(tmp_path) == ["a", "b", "c"]


def test_the_owner_stops_it_between_two_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C: the first goes back."""
    places = [tmp_path / name for name in "ab"]
    for path in places:
        path.write_bytes(b"old")
    real = safely._replace

    def stopped(part: Path, path: Path) -> None:
        if path.name == "b":
            raise KeyboardInterrupt
        real(part, path)

    monkeypatch.setattr(safely, "_replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        put_all(new(*places))
    assert [path.read_bytes() for path in places] == [b"old", b"old"]


def test_a_pipe_comes_last(tmp_path: Path) -> None:
    """What went down it cannot be taken back: where the file cannot be placed nothing goes down."""
    pipe, path = tmp_path / "pipe", tmp_path / "a"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    path.mkdir()
    with pytest.raises(NotWritten, match="nothing was written: this is a folder"):
        put_all(new(pipe, path))
    assert os.read(reader, 9) == b""
    path.rmdir()
    put_all(new(pipe, path))
    assert os.read(reader, 9) == path.read_bytes() == b"new"
    os.close(reader)


def test_a_list_goes_down_a_pipe() -> None:
    """`--csv /dev/stdout` leads to a pipe without a place of its own: the list, then the table."""
    done = bom_alone("takeoff", "sample_projects/workshop/jobs/single.xlsx", "--csv", "/dev/stdout")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("\ufeffkind,item,") and "\nnext: bom order" in done.stdout


@pytest.mark.parametrize("folder", ["is there", "is new"])
def test_a_new_workshop_can_be_asked_for_again(
    folder: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After a full disk nothing of it is there; the owner's picture is."""
    yard = tmp_path / "yard"
    if folder == "is there":
        yard.mkdir()
        (yard / "picture.png").write_bytes(b"mine")
    before = sorted(tmp_path.rglob("*"))
    real, calls = os.fsync, iter(range(99))

    def full(handle: int) -> None:
        if next(calls) >= 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(handle)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        refused = bom("new", "workshop", "yard", cwd=tmp_path)
    assert refused.returncode == 1
    assert ": nothing was written: the disk is full\n    try: free some space" in refused.stderr
    assert sorted(tmp_path.rglob("*")) == before
    assert bom("new", "workshop", "yard", cwd=tmp_path).returncode == 0


# A folder of .csv, read while it is written


def shelf(folder: Path) -> Path:
    """A workshop whose stock book is a folder; R01 has 10 m."""
    shop(folder)
    (folder / "stock.xlsx").unlink()
    sheets: dict[str, Sequence[Sequence[object]]] = {
        "Cable": (CABLE, *REELS),
        "Drawer": (DRAWER, *ITEMS),
        "Moves": (MOVES,),
    }
    for name, rows in sheets.items():
        as_csv(folder / "stock" / f"{name}.csv", rows)
    return folder


COUNTER = """
import sys, time
from itertools import cycle
from pathlib import Path
from bom.files import safely
from bom.job import find_workshop
from bom.workshop.shelf_requests import count
from bom.workshop.stockroom import How, book
workshop, real = find_workshop(Path(sys.argv[1])), safely._replace
def slow(part, path):
    real(part, path)
    time.sleep(0.02)
safely._replace = slow
print("ready", flush=True)
for metres in cycle(("9", "8", "7")):
    assert book(workshop, count(workshop, "R01", metres), How()).written
    print(metres, flush=True)
"""


@pytest.mark.parametrize("reads", [150, pytest.param(800, marks=pytest.mark.slow)])
def test_readers_see_the_old_state_or_the_new(reads: int, tmp_path: Path) -> None:
    """While another process counts R01 again and again nothing was ever changed by hand."""
    folder = shelf(tmp_path / "shop")
    workshop, wrong = find_workshop(folder), list[Problem]()
    seen: set[object] = set()
    command = [sys.executable, "-c", COUNTER, str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as writer:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
        while reads > 0 or (len(seen) < 3 and writer.poll() is None):
            reads -= 1
            stock, problems = read_shelf(folder / "stock", workshop.catalogue)
            _, by_hand = shelf_shown(stock)
            wrong += [*problems, *by_hand]
            seen.add(stock.pieces[0].length_mm)
        writer.send_signal(signal.SIGKILL)
    assert not wrong
    assert seen <= {10_000, 9_000, 8_000, 7_000} and len(seen) >= 3


def test_between_two_files_a_reader_waits_for_the_second(tmp_path: Path) -> None:
    """The journal stands while Cable is new and Moves is old: what is read is the new state."""
    folder = shelf(tmp_path / "shop") / "stock"
    paper = journal_of(folder)
    paper.parent.mkdir()
    paper.write_bytes(b"{}")
    (folder / "Cable.csv").write_text("piece,gauge,colour,length\nR09,1.0,red,1\n")

    def finish() -> None:
        time.sleep(0.1)
        (folder / "Moves.csv").write_text("when,job,what\n2026-01-01,,new\n")
        paper.unlink()

    writer = threading.Thread(target=finish)
    writer.start()
    book, problems = read_book(folder)
    writer.join()
    assert problems == () and book is not None
    cable, moves = (book.sheet(name) for name in ("Cable", "Moves"))
    assert cable is not None and cable.rows[1][0] == "R09"
    assert moves is not None and moves.rows[1][2] == "new"


def test_a_folder_that_never_rests(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A journal that nobody takes away, and lists that change all the time: told, not read."""
    folder = shelf(tmp_path / "shop") / "stock"
    monkeypatch.setattr(together, "_PAUSE_S", 0)
    restless = iter(range(999))
    with monkeypatch.context() as patch:
        patch.setattr(together, "_marks", lambda _: [("", next(restless), 0, 0)])
        with pytest.raises(NotWritten, match="another program is writing it"):
            look_all(folder)
    journal_of(folder).parent.mkdir()
    journal_of(folder).write_bytes(b"")
    with pytest.raises(NotWritten, match="another program is writing it"):
        look_all(folder)


def test_to_read_takes_no_right_to_write(anyones: Path) -> None:
    """Nothing is made; a change that was cut off is told with who may finish it."""
    folder = shelf(anyones) / "stock"
    paper = journal_of(folder)
    for path in (anyones, *anyones.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)
    before = sorted(anyones.rglob("*"))
    workshop = find_workshop(anyones)
    with as_anyone():
        stock, problems = read_shelf(folder, workshop.catalogue)
    assert problems == () and stock.pieces[0].name == "R01"
    assert sorted(anyones.rglob("*")) == before
    anyones.chmod(0o755)
    paper.parent.mkdir()
    paper.write_bytes(b'{"Cable.csv": [null, "eA=="]}')
    anyones.chmod(0o555)
    with as_anyone():
        _, (problem,) = read_shelf(folder, workshop.catalogue)
    assert problem.says == "half written by a run that was cut off, and you may not finish it"
    assert problem.cure == "bom stock show, by whoever may write in its folder"


def test_a_price_list_that_was_cut_off_is_finished_by_who_reads_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the stock book is: the journal's price is in the list then."""
    shop(tmp_path)
    (tmp_path / "prices.xlsx").unlink()
    heads = "supplier,item,gauge,colour,sold as,pack,price\n"
    old, new_text = (f"{heads}Abel,cable,1.0,red,metre,,{price}\n" for price in ("0.40", "0.50"))
    as_csv(tmp_path / "prices" / "Prices.csv", ())
    (tmp_path / "prices" / "Prices.csv").write_text(old)
    monkeypatch.setattr(keep, "_LOOKS", 1)
    journal_of(tmp_path / "prices").parent.mkdir()
    texts = {"Prices.csv": (old.encode(), new_text.encode())}
    journal_of(tmp_path / "prices").write_bytes(msgspec.json.encode(texts))
    shown = bom("prices", "show", cwd=tmp_path)
    assert re.search(r"Abel .* 0\.50\n", shown.stdout), shown.stderr
    assert not journal_of(tmp_path / "prices").exists()


# Commands that write several files


def test_a_disk_full_at_what_is_kept_books_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`done` makes done.csv before it books the shelf: full there, the stock book is as it was."""
    shop(tmp_path)
    loom(tmp_path, "twin", 1.5, covers=0)
    for words in (("stock", "issue", "twin"), ("done", "twin")):
        assert bom(*words, cwd=tmp_path).returncode == 0
    used = tmp_path / "used" / "twin.xlsx"
    typed(used, "Used", G2=2)
    before = (tmp_path / "stock.xlsx").read_bytes()
    real = safely.write_part

    def full(part: Path, data: bytes, like: Path | None) -> None:
        if data.startswith(b"\xef\xbb\xbfjob"):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(part, data, like)

    with monkeypatch.context() as patch:
        patch.setattr(safely, "write_part", full)
        refused = bom("done", "twin", cwd=tmp_path)
    assert "error: done.csv: not written: the disk is full\n" in refused.stderr
    assert (tmp_path / "stock.xlsx").read_bytes() == before
    assert bom("done", "twin", cwd=tmp_path).returncode == 0
    assert (tmp_path / "stock.xlsx").read_bytes() != before


def test_a_list_that_cannot_be_written_after_the_prices(tmp_path: Path) -> None:
    """They are booked before it, and that is said; likewise the marks."""
    shop(tmp_path, moves=used(10, 14))
    (tmp_path / "list.csv").write_text("Code,Description,Net price\nK1,Blade fuse 10A,0.30\n")
    add = ("prices", "add", "list.csv", "--supplier", "Abel", "--price-for", "each")
    for words, said in (
        (add, "the prices are booked all the same"),
        (("topup", "--learn", "--yes"), "the marks are written all the same"),
    ):
        done = bom(*words, "--csv", "none/list.csv", cwd=tmp_path)
        assert done.returncode == 1
        assert "error: list.csv: not written: there is no folder none" in done.stderr
        assert done.stderr.endswith(f"\n    {said}\n")


def test_a_dry_run_makes_nothing_aside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither parts nor locks: it runs on a disk that is read-only."""
    shop(tmp_path)
    job(tmp_path, [("W1", "red", "1.0", 1.5)], "twin")
    for words in (("stock", "issue", "twin"), ("done", "twin")):
        assert bom(*words, cwd=tmp_path).returncode == 0
    monkeypatch.setattr(safely, "write_part", failing(errno.EROFS))
    monkeypatch.setattr(together, "write_part", failing(errno.EROFS))
    assert bom("done", "twin", "--dry-run", cwd=tmp_path).returncode == 0
    assert bom("stock", "count", "R01", "3", "--dry-run", cwd=tmp_path).returncode == 0
