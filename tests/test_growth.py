"""Long books take as long as they are long: stock books and suppliers' lists, by their own CPU.

The limits of a stock book of 100,000 moves are those that were asked for; an exponent is the slope
of log CPU over log size, with what the program takes to start left out (`tests.bench.growth`).
"""

import shutil
from pathlib import Path

import pytest

from tests.bench.growth import MOST, exponent
from tests.bench.lists import DRAWER, price_list, stock_book
from tests.fixture_books import members
from tests.test_hostile_packages import measured

MOVES = 100_000
COUNT_S, OTHERS_S, MOST_MB = 5.0, 6.0, 300


@pytest.fixture(scope="module")
def long_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A stock book of so many moves."""
    path = tmp_path_factory.mktemp("moves") / "stock.xlsx"
    stock_book(path, MOVES)
    return path


@pytest.fixture
def shop(long_book: Path, tmp_path: Path) -> Path:
    """A workshop with a copy of that book."""
    (tmp_path / "workshop.toml").touch()
    shutil.copy(long_book, tmp_path / "stock.xlsx")
    return tmp_path


def test_a_count_in_a_hundred_thousand_moves_and_its_undo(shop: Path) -> None:
    """Read once, and a row put under the rest: in five seconds and 300 MB, and taken back."""
    drawer = members((shop / "stock.xlsx").read_bytes())["xl/worksheets/sheet1.xml"]
    done = measured("stock", "count", DRAWER[0], 25, cwd=shop)
    assert (done.code, "1 thing counted" in done.out) == (0, True), done.err
    assert done.cpu_s <= COUNT_S and done.peak_mb <= MOST_MB
    done = measured("stock", "undo", cwd=shop)
    assert (done.code, "1 thing undone" in done.out) == (0, True), done.err
    assert done.cpu_s <= OTHERS_S and done.peak_mb <= MOST_MB
    assert members((shop / "stock.xlsx").read_bytes())["xl/worksheets/sheet1.xml"] == drawer


@pytest.mark.slow
def test_a_shelf_of_a_hundred_thousand_moves_is_shown(shop: Path) -> None:
    """As quickly, though every move is looked at."""
    done = measured("stock", "show", cwd=shop)
    assert done.code == 0 and done.cpu_s <= OTHERS_S and done.peak_mb <= MOST_MB


@pytest.mark.parametrize("rows", [40_000, pytest.param(200_000, marks=pytest.mark.slow)])
def test_a_supplier_s_list_takes_as_long_as_it_is_long(rows: int, tmp_path: Path) -> None:
    """Five times the rows take no more than seven times the work (the power 1.2 of five)."""
    (tmp_path / "workshop.toml").touch()
    taken = {}
    for size in (1, rows // 5, rows):
        price_list(tmp_path / "list.csv", size)
        words = ("prices", "add", "list.csv", "--supplier", "Example", "--dry-run")
        taken[size] = measured(*words, cwd=tmp_path).cpu_s
    least = taken.pop(1)
    assert exponent([(size, cpu_s - least) for size, cpu_s in taken.items()]) <= MOST
    assert taken[rows] <= rows / 2_000
