"""Long books take as long as they are long: stock books and suppliers' lists, by their own CPU.

The limits of a stock book of 100,000 moves are those that were asked for; an exponent is the slope
of log CPU over log size, with what the program takes to start left out (`tests.bench.growth`).
Seconds of CPU are those of `tests.bench.yardstick`.
"""

import random
import shutil
from pathlib import Path

import pytest

from tests.bench.growth import MOST, grown, prices
from tests.bench.lists import DRAWER, stock_book
from tests.bench.yardstick import too_long
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
    done = measured("stock", "count", DRAWER[0], 25, "--yes", cwd=shop)
    assert (done.code, "1 thing counted" in done.out) == (0, True), done.err
    assert not too_long(done.cpu_s, COUNT_S)
    assert done.peak_mb <= MOST_MB
    done = measured("stock", "undo", cwd=shop)
    assert (done.code, "1 thing undone" in done.out) == (0, True), done.err
    assert not too_long(done.cpu_s, OTHERS_S)
    assert done.peak_mb <= MOST_MB
    assert members((shop / "stock.xlsx").read_bytes())["xl/worksheets/sheet1.xml"] == drawer


@pytest.mark.slow
def test_a_shelf_of_a_hundred_thousand_moves_is_shown(shop: Path) -> None:
    """As quickly, though every move is looked at."""
    done = measured("stock", "show", cwd=shop)
    assert done.code == 0 and done.peak_mb <= MOST_MB
    assert not too_long(done.cpu_s, OTHERS_S)


@pytest.mark.parametrize("rows", [40_000, pytest.param(200_000, marks=pytest.mark.slow)])
def test_a_supplier_s_list_takes_as_long_as_it_is_long(rows: int) -> None:
    """Five times the rows take no more than seven times the work (the power 1.2 of five)."""

    def made(shop: Path, size: int) -> tuple[object, ...]:
        return *prices(shop, size), "--dry-run"

    (_, most), slope = grown(made, (rows // 5, rows))
    assert slope <= MOST
    assert not too_long(most.cpu_s, rows / 2_000)


def test_an_order_of_three_hundred_lengths_for_forty_offcuts(tmp_path: Path) -> None:
    """Every wire from one end of a spine: what cannot be settled in steps is given up in time."""
    dice = random.Random(4)
    (tmp_path / "workshop.toml").write_text('end = "bare"\n')
    (tmp_path / "prices.csv").write_text(
        "supplier,item,gauge,colour,sold as,pack,price\n"
        "Abel,cable,1.0,red,reel,100,30\nAbel,cable,1.0,red,metre,,0.5\nBaker,cable,1.0,red,reel,25,8\n"
    )
    reels = [f"R{n},1.0,red,{dice.randint(300, 60_000)} mm" for n in range(40)]
    branches = [f"p{n},p{n + 1},{dice.randint(150, 600)} mm" for n in range(300)]
    lamps = range(1, 301)
    lists = {
        "stock/Cable": ("piece,gauge,colour,length", *reels),
        "jobs/spine/Loom": ("from,to,length", *branches),
        "jobs/spine/Components": (
            *("component,at,load", "battery,p0,"),
            *(f"lamp {n},p{n},0.01 W" for n in lamps),
        ),
        "jobs/spine/Circuits": (
            "from,to,colour,gauge,fuse",
            *(f"battery:+ {n},lamp {n}:feed,red,1.0,none" for n in lamps),
        ),
    }
    for name, rows in lists.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / f"{name}.csv").write_text("\n".join(rows))
    done = measured("order", "spine", cwd=tmp_path)
    assert done.code == 0, done.err
    assert not too_long(done.cpu_s, 12)
