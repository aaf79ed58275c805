"""Small files that ask for much: each read by the program itself, in a process of its own.

Nothing may end in a traceback, take much CPU, or over 300 MB.
"""

import shutil
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.bench.alone import Alone, alone
from tests.bench.hostile import MOST_CPU_S, MOST_MB
from tests.bench.yardstick import too_long
from tests.fixture_books import packed
from tests.hostile_packages import LIST, READ, REFUSED, cells, far, row, xlsx, xlsx_parts
from tests.slow import one_in
from tests.within import ENVIRONMENT, ROOT, bom

SMALL = 6_000_000
"""No file is larger than this."""

REFUSED_CPU_S = 2.0
"""What is not read takes no longer than this."""


def measured(*words: object, cwd: Path) -> Alone:
    """The program in a process of its own, without what the tests' process has taken."""
    env = {"PYTHONPATH": str(ROOT), **ENVIRONMENT}
    return alone(sys.executable, "-m", "bom.cli", *words, cwd=cwd, env=env)


@pytest.fixture(scope="module")
def start_s(tmp_path_factory: pytest.TempPathFactory) -> float:
    """The CPU seconds of `bom check` of a book of one wire."""
    folder = tmp_path_factory.mktemp("start")
    (folder / "a.xlsx").write_bytes(READ["plain.xlsx"]())
    return measured("check", folder / "a.xlsx", cwd=folder).cpu_s


def in_bounds(done: Alone, start_s: float, most_s: float = MOST_CPU_S) -> None:
    """It came to its end by itself, without a traceback, in little time and 300 MB."""
    assert done.code in (0, 1), (done.code, done.err[-2000:])
    assert "Traceback" not in done.err
    assert not too_long(done.cpu_s - start_s, most_s)
    assert done.peak_mb <= MOST_MB


def made(folder: Path, name: str, books: Mapping[str, object]) -> Path:
    """The book of that name, small as it is meant to be."""
    make = books[name]
    assert callable(make)
    path = folder / name
    path.write_bytes(make())
    assert path.stat().st_size < SMALL
    return path


def checked(folder: Path, name: str, books: Mapping[str, object], start_s: float) -> Alone:
    """What `bom check` of a book comes to: in bounds, and the file as it was."""
    path = made(folder, name, books)
    before = path.read_bytes()
    done = measured("check", path, cwd=folder)
    in_bounds(done, start_s)
    assert path.read_bytes() == before
    assert [*folder.iterdir()] == [path]
    return done


@pytest.mark.parametrize("name", one_in(6, REFUSED))
def test_what_asks_for_too_much_is_refused(name: str, tmp_path: Path, start_s: float) -> None:
    """In one error that names the file, and the file is as it was."""
    done = checked(tmp_path, name, REFUSED, start_s)
    errors = [line for line in done.err.splitlines() if line.startswith("error: ")]
    in_bounds(done, start_s, REFUSED_CPU_S)
    assert done.code == 1
    assert len(errors) == 1
    assert errors[0].startswith(f"error: {name}")


@pytest.mark.parametrize("name", one_in(6, READ))
def test_what_is_odd_is_read_in_bounds(name: str, tmp_path: Path, start_s: float) -> None:
    """Whatever is wrong in it is told with its place, and the file is as it was."""
    done = checked(tmp_path, name, READ, start_s)
    assert done.out or done.code == 1


@pytest.mark.parametrize("name", ["plain.xlsx", "plain.ods", "no-types.xlsx", "other-type.xlsx"])
def test_a_good_list_is_read_whatever_the_package_says(name: str, tmp_path: Path) -> None:
    """The one wire is listed: what is refused above is not refused for how it was made."""
    done = bom("check", made(tmp_path, name, READ), "--json", cwd=tmp_path)
    assert '"wires": [' in done.stdout
    assert '"gauge": "1.0"' in done.stdout


# ------------------------------------------------------------------------- the stock book

_SHELF = row("item", "on hand", "unit", "note") + row("bullet cover, male", "20", "each", "mine")
STOCK = {
    "good": lambda: _stock(cells(_SHELF)),
    "lying-dimension": lambda: _stock('<dimension ref="A1:XFD1048576"/>' + cells(_SHELF)),
    "last-row": lambda: _stock(cells(_SHELF, far("A1048576"))),
    "last-column": lambda: _stock(cells(_SHELF, far("XFD3"))),
    "blank-area": lambda: _stock(cells(_SHELF, far("XFA305"))),
    "no-types": lambda: _stock(cells(_SHELF), **{"[Content_Types].xml": ""}),
    "no-relations-of-sheets": lambda: _stock(cells(_SHELF), **{"xl/_rels/workbook.xml.rels": ""}),
    "deep": lambda: _stock("<x>" * 100_000 + "</x>" * 100_000 + cells(_SHELF)),
    "long-list": lambda: _stock(cells(_SHELF, row("a thing", "x", "each", "") * 5_000)),
    "a-list-of-wires": lambda: xlsx(cells(LIST)),
    "far-corner": REFUSED["far-corner.xlsx"],
    "blank-areas": REFUSED["blank-areas.xlsx"],
    "many-cells": REFUSED["many-cells.xlsx"],
    "overlapping": REFUSED["overlapping.xlsx"],
    "laughs": REFUSED["laughs.xlsx"],
}


def _stock(inside: str, **changed: str) -> bytes:
    return packed({**xlsx_parts({"Drawer": inside}), **changed})


@pytest.mark.parametrize("name", one_in(5, STOCK))
def test_a_stock_book_is_counted_in_or_left(name: str, tmp_path: Path, start_s: float) -> None:
    """Done with what else stands in the sheet kept, or refused with not a byte changed."""
    (tmp_path / "workshop.toml").write_text("tax_percent = 20\n")
    path = made(tmp_path, "stock.xlsx", {"stock.xlsx": STOCK[name]})
    before = path.read_bytes()
    done = measured("stock", "count", "bullet cover, male", 7, cwd=tmp_path)
    in_bounds(done, start_s)
    if done.code:
        assert path.read_bytes() == before
        assert "error: " in done.err
        return
    again = bom("stock", "show", "--json", cwd=tmp_path)
    assert '"on_hand": 7' in again.stdout.replace('"7"', "7")
    (copy,) = (tmp_path / ".bom").glob("stock*.xlsx")
    assert copy.read_bytes() == before
    shutil.rmtree(tmp_path / ".bom")
