"""Commands of orders, jobs and quotations, killed at each thing that they ask of the disk.

After each kill every book is as before the command or as after it, and they agree with each other:
Orders with Moves, Moves with Cable and Drawer, the register with what is kept of quotations.
"""

import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from bom.files import clock
from bom.show import papers
from tests.full_disks import Disk, failing, tree
from tests.kills import DAY, is_killed
from tests.shops import CABLE, DRAWER, offers
from tests.stockrooms import ITEMS, MOVES, REELS, listed, loom, packs_by_the_moves, shop
from tests.test_full_disk import as_csv
from tests.within import bom

COVERS = "bullet cover, male"
PLAY = (
    ("stock", "hold", "twin"),
    ("order", "twin", "single", "--place"),
    ("stock", "receive", "2026-001"),
    ("stock", "receive", "2026-002", "--only", f"{COVERS}=1", "--price", f"{COVERS}=0.80"),
    ("stock", "receive", "2026-002"),
    ("stock", "sendback", "2026-002", COVERS, "1"),
    ("stock", "close", "2026-002"),
    ("stock", "issue", "twin", "--part"),
    ("stock", "issue", "twin", "--rest"),
    ("stock", "takeback", "twin"),
    ("stock", "undo"),
    ("quote", "single", "--give"),
    ("stock", "issue", "single", "--part"),
    ("done", "single"),
    ("done", "single"),
    ("stock", "putin", COVERS, "3"),
    ("stock", "take", COVERS, "1"),
    ("stock", "putin", "R03", "1.2 m"),
)
"""What is played, so that each command finds what it needs: 5.9 and 8 m of 12, 26 covers of 20."""


def begun(folder: Path, kind: str) -> Path:
    """A workshop whose stock book is a workbook, or a folder of .csv, and two jobs."""
    sold = offers("Abel cable 0.40 metre", "red")
    sold += [("Bert", COVERS, None, None, "pack", 2, 0.70, None)]
    suppliers = [("Abel", 2, None, None, "no"), ("Bert", 3, None, None, "no")]
    shop(folder, prices=sold, suppliers=suppliers)
    loom(folder, "twin", 3.2, 1.8, 0.9, covers=14, hourly_rate=40)
    loom(folder, "single", 5, 4, covers=12, hourly_rate=40)
    if kind == "folder":
        (folder / "stock.xlsx").unlink()
        for name, rows in {"Cable": (CABLE, *REELS), "Drawer": (DRAWER, *ITEMS)}.items():
            as_csv(folder / "stock" / f"{name}.csv", rows)
        as_csv(folder / "stock" / "Moves.csv", (MOVES,))
    return folder


def amounts(folder: Path) -> dict[str, float]:
    """What there is of each length and item."""
    cable = {row["piece"]: row["length"] for row in listed(folder, "Cable")}
    return cable | {row["item"]: row["on hand"] for row in listed(folder, "Drawer")}


def agree(folder: Path, opening: Mapping[str, float]) -> None:
    """Orders, Moves, Cable and Drawer say the same; so do the register and what was kept."""
    should = dict(opening)
    for move in listed(folder, "Moves"):
        should[move["item"]] = should.get(move["item"], 0) + move["change"]
    there = amounts(folder)
    for name in {*there, *should}:
        assert there.get(name, 0) == pytest.approx(should.get(name, 0)), name
    for line in listed(folder, "Orders"):
        assert line["came"] == packs_by_the_moves(folder, line), line
    given = folder / "given"
    kept = {p.name for p in given.iterdir() if p.name[0] != "."} if given.is_dir() else set()
    rows = {str(row["number"]) for row in registered(folder)}
    assert rows <= kept and len(kept - rows) <= 1  # the folder first: no row points to nothing


def registered(folder: Path) -> list[dict[str, Any]]:
    """The rows of the register, by heading."""
    path = folder / "register.xlsx"
    if not path.exists():
        return []
    headings, *rows = load_workbook(path)["Register"].iter_rows(values_only=True)
    return [dict(zip(map(str, headings), row, strict=True)) for row in rows if any(row)]


def state(folder: Path) -> tuple[Any, ...]:
    """What has to be whole each: the shelf, quotations kept, their register, jobs done, used."""
    shelf = [listed(folder, sheet) for sheet in ("Cable", "Drawer", "Moves", "Orders")]
    files = tree(folder, kept=False)
    kinds = ("given/", "register", "done", "used/")
    own = [{n: data for n, data in files.items() if n.startswith(kind)} for kind in kinds]
    return shelf, *own


def ran(folder: Path, words: Sequence[str]) -> None:
    """A command that comes to its end."""
    done = bom(*words, cwd=folder)
    assert done.returncode == 0, f"{words}\n{done.stdout}{done.stderr}"


@pytest.mark.parametrize(
    ("kind", "one_in", "least"),
    [
        ("xlsx", 41, 4),
        pytest.param("xlsx", 2, 130, marks=pytest.mark.slow),
        pytest.param("folder", 4, 170, marks=pytest.mark.slow),
    ],
)
def test_kills_leave_books_that_agree(
    kind: str, one_in: int, least: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Old or new, each of them, whichever call was the last; what was killed can be done again."""
    monkeypatch.setattr(clock, "now", lambda: DAY)
    monkeypatch.setattr(papers, "pdf", lambda *_: b"%PDF")
    start = begun(tmp_path / "shop", kind)
    opening, kills, calls = amounts(start), 0, 0
    for words in PLAY:
        whole = shutil.copytree(start, tmp_path / "whole" / "shop")
        disk = Disk(whole, 0, stays_full=False)  # never fails: it counts
        with failing(disk):
            ran(whole, words)
        agree(whole, opening)
        states = state(start), state(whole)
        for number in range(1, disk.asked + 1):
            calls += 1
            if calls % one_in == 0:
                here = shutil.copytree(start, tmp_path / "killed" / "shop")
                kills += is_killed(here, words, number)
                survives(here, words, states)
                agree(here, opening)
                shutil.rmtree(tmp_path / "killed")
        shutil.rmtree(start)
        whole.rename(start)
        (tmp_path / "whole").rmdir()
    assert kills >= least


def survives(here: Path, words: Sequence[str], states: tuple[Any, Any]) -> None:
    """Each book is the old or the new one; where all are old the command can be given again."""
    old, new = states
    ran(here, ("stock", "show"))  # a change of several .csv that was cut off is finished
    found = state(here)
    for part, before, after in zip(found, old, new, strict=True):
        assert part in (before, after), words
    if found == old:
        ran(here, words)
        assert state(here) == new, words
