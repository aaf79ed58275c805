"""Books that nobody means well with, of `tests/bench/hostile.py`: a few here, a thousand in CI."""

import random
import shutil
import time
from pathlib import Path

import pytest

from tests.bench.alone import peak_mb
from tests.bench.attacks import attacks
from tests.bench.hostile import MOST_CPU_S, MOST_MB, grid_of, mutated, told, turned
from tests.bench.yardstick import too_long
from tests.test_hostile_laws import contents
from tests.within import ROOT, bom


@pytest.mark.parametrize(
    ("books", "seed"), [(40, 3), pytest.param(1_000, 2026, marks=pytest.mark.slow)]
)
def test_mutated_books_do_no_harm(books: int, seed: int, tmp_path: Path) -> None:
    """No traceback, no file changed or made, and neither much time nor much memory."""
    path, before_mb = tmp_path / "book.xlsx", peak_mb()
    for number, (data, readers) in enumerate(mutated(books, seed)):
        path.write_bytes(data)
        for read in readers:
            begun = time.process_time()
            told(read(path), path.name)
            assert not too_long(time.process_time() - begun, MOST_CPU_S), (number, read)
        assert contents(tmp_path) == {path.name: data}, number
    assert peak_mb() - before_mb <= MOST_MB


@pytest.mark.parametrize(
    ("books", "seed"), [(20, 18), pytest.param(300, 181, marks=pytest.mark.slow)]
)
def test_commands_end_in_an_answer_or_a_sentence(books: int, seed: int) -> None:
    """Whatever is in the books of a workshop; `python -m tests.bench.attacks` tries thousands."""
    tried = list(attacks(books, seed))
    assert len(tried) > books
    assert [one for one in tried if one.wrong] == []


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


@pytest.mark.parametrize(
    ("books", "least"), [(18, 1), pytest.param(300, 25, marks=pytest.mark.slow)]
)
def test_stock_books_are_changed_properly_or_left(books: int, least: int, tmp_path: Path) -> None:
    """By each command in its turn; some of them can be changed."""
    folder = tmp_path / "shop"
    shutil.copytree(SHOP, folder)
    (folder / "order.csv").write_text(ORDER)
    stock, dice, written = folder / "stock.xlsx", random.Random(5), 0
    grid, data = grid_of(stock), stock.read_bytes()
    for number in range(books):
        stock.write_bytes(turned(grid, data, dice))
        shutil.rmtree(folder / ".bom", ignore_errors=True)
        before, words = contents(folder), WRITING[number % len(WRITING)]
        done = bom("stock", *words, cwd=folder)
        assert done.returncode in (0, 1), (number, done.stderr)
        assert "Traceback" not in done.stderr, (number, done.stderr)
        after = contents(folder)
        if done.returncode:
            assert after == before, (number, done.stderr)
        written += after["stock.xlsx"] != before["stock.xlsx"]
        assert {name for name in before if after[name] != before[name]} <= {"stock.xlsx"}
    assert written >= least
