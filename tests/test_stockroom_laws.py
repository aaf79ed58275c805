"""Laws of the stock book: whatever is done in whatever order, nothing is lost."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Mapping
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.job import find_workshop
from bom.shelf.moves import Spent
from bom.workshop.shelf_requests import (
    count,
    hold,
    issue,
    put_in,
    put_right,
    receive,
    release,
    take,
    take_back,
)
from bom.workshop.stockroom import How, Request, book, undo
from tests.books import book as write_book
from tests.slow import examples
from tests.stockrooms import ITEMS, REELS, loom, rows, shelf, shop
from tests.within import ROOT, bom

JOBS = ("twin", "single")
START = {row[0]: float(row[3]) for row in REELS} | {row[0]: float(row[2]) for row in ITEMS}
NAMES = (*START, "bullet cover, female")
ORDER = ("supplier", "item", "sold as", "pack", "packs", "price")
GOODS = (
    ("cable, 1.0 mm2, red", "reel", 5, 2.5),
    ("cable, 2.0 mm2, black", "metre", 1, 0.6),
    ("bullet cover, male", "pack", 10, 0.9),
    ("bullet cover, female", "each", 1, 0.11),
    ("loom tape, PVC, 19 mm", "reel", 20, 3),
)


def summed(folder: Path, opening: Mapping[str, float] = START) -> dict[str, float]:
    """What there should be: what the book began with, and all changes of its moves, by name."""
    total: dict[str, float] = defaultdict(float, opening)
    for _, _, _, item, change, *_ in rows(folder, "Moves"):
        total[item] += change
    return {name: round(amount, 6) for name, amount in total.items() if round(amount, 6)}


def workshop(folder: Path) -> Path:
    """Two jobs that share the red and the covers, and an order for each draw of goods."""
    shop(folder)
    loom(folder, "twin", 3.2, 1.8, 0.9, covers=7)
    loom(folder, "single", 2.1, 1.1, covers=5)
    return folder


# Steps, drawn by number

Step = tuple[str, int, int]
FOR_JOBS = ("hold", "hold both", "release", "issue", "issue both", "rest", "done", "takeback")
BY_NUMBER = {"count": count, "take": take, "put in": put_in}
WHATS = (*FOR_JOBS, "receive", "count", "take", "put in", "undo", "by hand")
STEPS = st.tuples(
    st.sampled_from(WHATS),
    st.integers(0, 9),
    st.integers(0, 12),
)


def planned(folder: Path, step: Step) -> Request:
    """The plan of a step; `which` and `much` say for what and how much."""
    what, which, much = step
    book_of = folder / "jobs" / f"{JOBS[which % 2]}.xlsx"
    if what == "receive":
        item, sold, pack, price = GOODS[which % len(GOODS)]
        line = ("Abel", item, sold, pack, much, price)
        paper = write_book(folder, "order.xlsx", Order=[ORDER, line])
        return receive(find_workshop(folder), paper, suppliers=(), place="", twice="again")
    if what in BY_NUMBER:
        return BY_NUMBER[what](find_workshop(folder), NAMES[which % len(NAMES)], f"{much}")
    if what == "done":
        return put_right(
            Spent(
                job=book_of.stem,
                drawn={("bullet cover, male", "each"): Decimal(much)},
                cable={"1.0 red": Decimal(700 * which)},
                pieces={},
            )
        )
    both = [folder / "jobs" / f"{name}.xlsx" for name in (JOBS if which % 2 else JOBS[::-1])]
    named = [(book, book.stem) for book in (both if which > 7 else [book_of])]
    plans: dict[str, Callable[[], Request]] = {
        "hold": lambda: hold(book_of),
        "hold both": lambda: hold(*both),
        "release": lambda: release(book_of, book_of.stem),
        "issue": lambda: issue(book_of, again=which > 6, in_part=much > 6),
        "issue both": lambda: issue(*both, again=which > 6, in_part=much > 6),
        "rest": lambda: issue(book_of, rest=True, in_part=much > 6),
        "takeback": lambda: take_back(
            find_workshop(folder), named, None if much < 5 else ("W1",) if much < 9 else ()
        ),
        "undo": lambda: undo,
    }
    return plans[what]()


def by_hand(folder: Path, opening: dict[str, float], which: int, much: int) -> None:
    """The owner types another amount; what has not moved yet opens with it."""
    path = folder / "stock.xlsx"
    owned = openpyxl.load_workbook(path)
    name = list(START)[which % len(START)]
    sheet, column = (owned["Cable"], 4) if name.startswith("R") else (owned["Drawer"], 3)
    (row,) = (cells[0].row for cells in sheet.iter_rows() if cells[0].value == name)
    sheet.cell(row, column).value = much
    if name not in {move[3] for move in rows(folder, "Moves")}:
        opening[name] = much
    owned.save(path)


@examples(6, 40)
def test_opening_and_moves_make_what_is_on_hand(count: int) -> None:
    """After every command; nothing falls below zero, and what is refused leaves every byte."""

    @settings(max_examples=count)
    @given(st.lists(STEPS, min_size=1, max_size=10))
    def holds(steps: list[Step]) -> None:
        with TemporaryDirectory() as place:
            folder = workshop(Path(place))
            path, opening = folder / "stock.xlsx", dict(START)
            for step in steps:
                if step[0] == "by hand":
                    by_hand(folder, opening, *step[1:])
                    continue
                old = path.read_bytes()
                booked = book(find_workshop(folder), planned(folder, step), How(yes=True))
                if not booked.written:
                    assert path.read_bytes() == old
                    continue
                if step[0] == "done":  # what is booked is not booked again
                    assert not book(find_workshop(folder), planned(folder, step), How()).written
                touched = {entry.item for entry in booked.entries}
                there, should = shelf(folder), summed(folder, opening)
                for name in touched:
                    assert there.get(name, 0) == pytest.approx(should.get(name, 0))
                assert all(amount >= 0 for amount in there.values())
                no_job_gives_more_than_it_took(folder)

    holds()


def no_job_gives_more_than_it_took(folder: Path) -> None:
    """Of no cable and of no item, what came back as offcuts of other names with it."""
    cables = {row[0]: row[1:3] for row in rows(folder, "Cable")}
    given: dict[tuple[str, Any], float] = defaultdict(float)
    for _, job, _, item, change, *_ in rows(folder, "Moves"):
        given[job, cables.get(item, item)] += change if job else 0
    assert all(round(amount, 6) <= 0 for amount in given.values())


@examples(6, 40)
def test_undo_takes_back_one_command_after_the_other(count: int) -> None:
    """Back to the very shelf before each, and to the start."""

    @settings(max_examples=count)
    @given(st.lists(STEPS.filter(lambda step: step[0] not in ("undo", "by hand")), max_size=6))
    def holds(steps: list[Step]) -> None:
        with TemporaryDirectory() as place:
            folder = workshop(Path(place))
            seen = []
            for step in steps:
                before = shelf(folder)
                if book(find_workshop(folder), planned(folder, step), How()).written:
                    seen.append(before)
            for before in reversed(seen):
                assert book(find_workshop(folder), undo, How()).written
                assert shelf(folder) == before
            assert shelf(folder) == START

    holds()


# Two at once, and kills


def started(folder: Path, *words: str) -> subprocess.Popen[str]:
    """The program as a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "bom.cli", *words],
        cwd=folder,
        env={"PYTHONPATH": str(ROOT), "PATH": "", "NO_COLOR": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_two_jobs_issued_at_once_lose_nothing(tmp_path: Path) -> None:
    """One comes after the other, and the moves add up to what has gone from the shelf.

    Red: 12 m less 3.2 + 1.8 + 0.9 and 2.1 + 1.1 and scrap; covers 20 - 7 - 5 = 8.
    """
    folder = workshop(tmp_path)
    both = [started(folder, "stock", "issue", job, "--json") for job in JOBS]
    answers = [child.communicate() for child in both]
    assert [child.returncode for child in both] == [0, 0], answers
    assert all(json.loads(out)["written"] for out, _ in answers)
    assert shelf(folder) == pytest.approx(summed(folder))
    assert shelf(folder)["bullet cover, male"] == 8
    whens = [row[0] for row in rows(folder, "Moves")]
    assert whens == sorted(whens) and len(set(whens)) == 2


@pytest.mark.parametrize(
    ("kills", "least"), [(5, 0), pytest.param(100, 10, marks=pytest.mark.slow)]
)
def test_kills_leave_the_old_book_or_the_new_one(kills: int, least: int, tmp_path: Path) -> None:
    """Commands of the shelf are killed at random: cable, drawer and moves always agree.

    Of many some come before the change and some after it.  The next command finds the book as if
    nothing had been, and sweeps up.
    """
    folder, dice, changed = workshop(tmp_path), random.Random(20261125), 0
    commands = (
        ("issue", "twin"),
        ("undo",),
        ("count", "bullet cover, male", "19"),
        ("hold", "single", "twin"),
        ("take", "bullet cover, male", "2"),
        ("putin", "R01", "1.5 m"),
        ("count", "bullet cover, male", "20"),
        ("issue", "single", "--part"),
        ("takeback", "single"),
    )
    alone = time.monotonic()
    started(folder, "stock", "undo", "--dry-run").communicate()
    alone = time.monotonic() - alone
    for number in range(kills):
        old = (folder / "stock.xlsx").read_bytes()
        child = started(folder, "stock", *commands[number % len(commands)])
        time.sleep(dice.uniform(0.5, 1.3) * alone)
        os.kill(child.pid, signal.SIGKILL)
        child.communicate()
        changed += (folder / "stock.xlsx").read_bytes() != old
        assert shelf(folder) == pytest.approx(summed(folder))
    assert least <= changed <= kills - least
    assert bom("stock", "count", "bullet cover, male", "11", cwd=folder).returncode == 0
    assert shelf(folder)["bullet cover, male"] == 11
    assert [path.name for path in folder.rglob(".bom-*.part")] == []
