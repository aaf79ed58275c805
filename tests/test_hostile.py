"""Books that nobody means well with: `tests/bench/hostile.py`, a few here and 10,000 on demand."""

import random
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.bench.hostile import PACKAGES, grid_of, turned_cells
from tests.test_cli import ROOT, bom
from tests.test_hostile_laws import contents


def attacked(books: int, seed: int) -> subprocess.CompletedProcess[str]:
    """What the fuzzer says, as a process of its own."""
    command = [sys.executable, "-m", "tests.bench.hostile", f"--books={books}", f"--seed={seed}"]
    return subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False)


@pytest.mark.parametrize("seed", [3, 14])
def test_a_few_hundred_books_do_no_harm(seed: int) -> None:
    """No traceback and no changed file; the seed is told."""
    done = attacked(150, seed)
    assert f"seed {seed}: 150 books" in done.stdout, done.stderr
    assert "0 tracebacks, 0 changed files" in done.stdout, done.stderr


@pytest.mark.slow
def test_ten_thousand_books_do_no_harm() -> None:
    """Within 2 s and 300 MB each as well."""
    done = attacked(10_000, 2026)
    assert done.returncode == 0, done.stdout + done.stderr[-2000:]
    assert "0 tracebacks, 0 changed files" in done.stdout


# ------------------------------------------------------- commands that write the stock book

SHOP = ROOT / "sample_projects" / "workshop"
WRITING = (
    ("count", "bullet cover, male", "7"),
    ("hold", "single", "--yes"),
    ("receive", "order.csv", "--yes"),
    ("issue", "single", "--part", "--yes"),
    ("release", "single", "--yes"),
    ("undo", "--yes"),
)
ORDER = 'supplier,item,sold as,pack,packs,price\nExample,"bullet cover, male",pack,10,2,0.9\n'


def changed_or_left(folder: Path, books: int, seed: int) -> int:
    """Each command on mutated stock books; how many were written."""
    shutil.copytree(SHOP, folder)
    (folder / "order.csv").write_text(ORDER)
    stock, dice, written = folder / "stock.xlsx", random.Random(seed), 0
    grid, data = grid_of(stock), stock.read_bytes()
    for number in range(books):
        by_cell = dice.random() < 0.6
        stock.write_bytes(
            turned_cells(grid, dice) if by_cell else dice.choice(PACKAGES)(data, dice)
        )
        shutil.rmtree(folder / ".bom", ignore_errors=True)
        before, words = contents(folder), WRITING[number % len(WRITING)]
        done = bom("stock", *words, cwd=folder)
        assert done.returncode in (0, 1), (seed, number, done.stderr)
        assert "Traceback" not in done.stderr, (seed, number, done.stderr)
        after = contents(folder)
        if done.returncode:
            assert after == before, (seed, number, done.stderr)
        written += after["stock.xlsx"] != before["stock.xlsx"]
        assert {name for name in before if after[name] != before[name]} <= {"stock.xlsx"}
    return written


def test_stock_books_are_changed_properly_or_left(tmp_path: Path) -> None:
    """A few mutated books with the program itself; some of them can be changed."""
    assert changed_or_left(tmp_path / "shop", 18, 5) > 0


@pytest.mark.slow
def test_six_hundred_stock_books_are_changed_properly_or_left(tmp_path: Path) -> None:
    """As above, each command a hundred times."""
    assert changed_or_left(tmp_path / "shop", 600, 2026) > 50
