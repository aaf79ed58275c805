"""A full disk at every write of every command: the old state or the new, and it is said which."""

import re
import shutil
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from bom.files import clock
from bom.show import papers
from bom.workshop import new_books
from tests.books import book
from tests.full_disks import Disk, failing, tree
from tests.shops import CABLE, DRAWER, RING, offers
from tests.stockrooms import MOVES, REELS, loom, shop
from tests.test_prices_add import FUSE, HEAD, RED, UNCLEAR
from tests.within import bom

DAY = datetime(2026, 11, 25, 14, 3, 7)
RINGS = ((RING, "each", 20, 10, 50, 0.05),)
ORDER = ("order", "twin", "--xlsx", "o.xlsx", "--csv", "o.csv")
GIVEN = ("given", "valid until", "net", "total", "note")
BOTH = ("quote", "twin", "--pdf", "q.pdf", "--xlsx", "q.xlsx", "--csv", "q.csv")
GIVE = ("quote", "twin", "--give")
ADD = ("prices", "add", "list.xlsx", "--supplier", "Abel")


@pytest.fixture(autouse=True)
def still(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock stands; papers are not set, new books made once: tried is how they are placed."""
    made: dict[str, bytes] = {}
    real = new_books._book, new_books._bytes

    def lasting(*words: Any) -> Any:
        key = repr((words[0], words[1], words[3]))
        made[key] = made.get(key) or real[1](real[0](*words))
        return key

    monkeypatch.setattr(new_books, "_book", lasting)
    monkeypatch.setattr(
        new_books, "_bytes", lambda b: made[b] if isinstance(b, str) else real[1](b)
    )
    monkeypatch.setattr(clock, "now", lambda: DAY)
    monkeypatch.setattr(papers, "pdf", lambda name, _: f"%PDF {name} /Creator(Typst)".encode())


def workshop(folder: Path, kind: str) -> Path:
    """Red cable and rings on the shelf, Abel who sells both, and the job `twin`, of 8 and 4 m."""
    sold = offers("Abel cable 0.40 metre; Abel ring 1.10 pack 10", "red")
    shop(folder, drawer=RINGS, prices=sold, suppliers=[("Abel", 4, None, None, "no")])
    loom(folder, "twin", 8, 4, covers=0)
    book(folder, "list.xlsx", Prices=[HEAD, RED, FUSE, UNCLEAR])
    if kind == "folder":
        (folder / "stock.xlsx").unlink()
        sheets = {"Cable": (CABLE, *REELS), "Drawer": (DRAWER, *RINGS), "Moves": (MOVES,)}
        for name, rows in sheets.items():
            as_csv(folder / "stock" / f"{name}.csv", rows)
    if kind in ("one list", "no list"):
        (folder / "prices.xlsx").unlink()
    if kind == "one list":
        heads = ("supplier", "item", "gauge", "colour", "sold as", "pack", "price")
        as_csv(folder / "prices.csv", (heads, ("Abel", "cable", "1.0", "red", "metre", "", 0.4)))
    return folder


def as_csv(path: Path, rows: Sequence[Sequence[Any]]) -> None:
    """A list as .csv; what has a comma in it in quotes."""
    path.parent.mkdir(exist_ok=True)
    lines = (",".join(f'"{c}"' if "," in str(c) else str(c) for c in row) for row in rows)
    path.write_text("".join(f"{line}\n" for line in lines))


SAID = re.compile(r": (not written|nothing was written): (the disk is full)\n {4}try: free some")
AGAIN = re.compile("; the (shelf is|prices are) booked")
BEFORE: Mapping[str, Sequence[Sequence[str]]] = {
    "release": [("stock", "hold", "twin")],
    "takeback": [("stock", "issue", "twin", "--part")],
    "undo": [("stock", "count", "R01", "9")],
    "receive": [("order", "twin", "--xlsx", "order.xlsx")],
    "done twice": [("stock", "issue", "twin", "--part"), ("done", "twin")],
    "pack over": [("pack", "twin", "--out", "papers"), ("stock", "count", "R01", "2")],
    "give again": [GIVE, ("stock", "count", "R01", "2")],
    "order over": [ORDER, ("stock", "count", "R01", "2")],
}
"""What is done first, by the word that names a command."""

STOCK = {
    "count": ("stock", "count", "R01", "9"),
    "hold": ("stock", "hold", "twin"),
    "release": ("stock", "release", "twin"),
    "issue": ("stock", "issue", "twin", "--part"),
    "receive": ("stock", "receive", "order.xlsx"),
    "undo": ("stock", "undo"),
    "takeback": ("stock", "takeback", "twin"),
    "done twice": ("done", "twin"),
}
COMMANDS = [
    *(("xlsx", name, words) for name, words in STOCK.items()),
    *(("folder", name, STOCK[name]) for name in ("count", "issue", "takeback", "done twice")),
    ("", "new workshop", ("new", "workshop", "shop/yard")),
    ("", "new workshop in a folder", ("new", "workshop", ".")),
    ("xlsx", "new job", ("new", "job", "other")),
    ("xlsx", "new job like", ("new", "job", "other", "--like", "twin")),
    ("xlsx", "new job like a folder", ("new", "job", "other", "--like", "stock-as-job")),
    ("xlsx", "order", ORDER),
    ("xlsx", "order over", ORDER),
    ("xlsx", "order over theirs", ORDER),
    ("xlsx", "cut", ("cut", "twin", "--csv", "cut.csv")),
    ("xlsx", "quote", BOTH),
    ("xlsx", "pack", ("pack", "twin", "--out", "a/papers")),
    ("xlsx", "pack over", ("pack", "twin", "--out", "papers")),
    ("xlsx", "done", ("done", "twin")),
    ("xlsx", "record", ("record", "twin")),
    ("xlsx", "prices add", ADD),
    ("one list", "prices add", ADD),
    ("no list", "prices add", ADD),
    ("xlsx", "check", ("check", "twin")),
    ("xlsx", "learn", ("learn", "--csv", "learnt.csv")),
    ("xlsx", "give", GIVE),
    ("xlsx", "give again", GIVE),
    ("folder", "give again", GIVE),
    ("xlsx", "jobs", ("jobs", "--csv", "jobs.csv")),
]
FEW = ("new workshop", "order over theirs", "done twice", "prices add", "count", "give again")
"""Tried in the default run, as one of their kind."""


def begun(folder: Path, kind: str, name: str) -> Path:
    """The state before the command."""
    if not kind:
        folder.mkdir()
        (folder / "mine.txt").write_text("mine")
        return folder
    workshop(folder, kind)
    if kind == "folder" and name == "give again":
        as_csv(folder / "register" / "Register.csv", [("number", "job", *GIVEN)])
    if name == "new job like a folder":
        as_csv(folder / "jobs" / "stock-as-job" / "Circuits.csv", [("wire", "colour"), (1, "red")])
        as_csv(folder / "jobs" / "stock-as-job" / "Job.csv", [("item", "value"), ("job", "x")])
    if name == "order over theirs":
        (folder / "o.csv").write_text("mine")
        (folder / "o.xlsx").write_text("mine too")
    for words in BEFORE.get(name, ()):
        assert bom(*words, cwd=folder).returncode == 0
    return folder


def cases() -> Iterator[Any]:
    """Each command with a disk that fails once and one that stays full; few of them quickly."""
    quick = {name: kind for kind, name, _ in reversed(COMMANDS) if name in FEW}
    for kind, name, words in COMMANDS:
        for stays_full in (False, True):
            slow = quick.get(name) != kind or stays_full
            yield pytest.param(
                *(kind, name, words, stays_full),
                marks=[pytest.mark.slow] if slow else [],
                id=f"{name}, {kind or 'none'}, {'full' if stays_full else 'once'}",
            )


@pytest.mark.parametrize(("kind", "name", "words", "stays_full"), [*cases()])
def test_old_or_new(
    kind: str, name: str, words: Sequence[str], stays_full: bool, tmp_path: Path
) -> None:
    """A disk that fails at the first, second, third ... thing, until the command comes through.

    Refused, all is byte for byte as it was, and the disk is said to be full; else all is as
    without a fault, but for the notes in `.bom`, which no command fails for.
    """
    start = begun(tmp_path / "start", kind, name)
    old = tree(start)
    whole = tmp_path / "whole" / "start"  # a workshop says the name of its folder
    shutil.copytree(start, whole)
    first = bom(*words, cwd=whole)
    new = tree(whole, kept=False)
    assert first.returncode == 0, first.stderr
    refused = 0
    for number in range(1, 200):
        here = tmp_path / f"{number}" / "start"
        shutil.copytree(start, here)
        disk = Disk(here, number, stays_full=stays_full)
        with failing(disk):
            done = bom(*words, cwd=here)
        if not disk.failed:
            break
        if "booked" in done.stderr:  # the second file could not follow the first: told, and again
            done = bom(*words, cwd=here)
        refused += done.returncode
        if done.returncode:
            assert tree(here) == old, (number, done.stderr)
            assert SAID.search(done.stderr), (number, done.stderr)
        else:
            assert tree(here, kept=False) == new, number
            assert not [*here.rglob("*.part"), *here.rglob("*.journal")], number
        shutil.rmtree(here)
    assert disk.asked < disk.number
    assert refused or new == {k: v for k, v in old.items() if not k.startswith(".bom")}


def test_the_disk_sees_what_it_looks_for(tmp_path: Path) -> None:
    """A file written plainly, over another, is left half: 3 of 6 bytes."""
    path = tmp_path / "a"
    path.write_bytes(b"before")
    with failing(Disk(tmp_path, 2, stays_full=False)), pytest.raises(OSError, match="No space"):
        path.write_bytes(b"behind")
    assert path.read_bytes() in (b"beh", b"behbehind")
