"""What a workshop starts from: complete, readable, and never written over anything."""

import subprocess
import zipfile
from decimal import Decimal
from pathlib import Path

import pytest

from bom import example
from bom.catalogue import load_catalogue
from bom.job import open_job, quote_for
from bom.new import SHEETS, Exists, new_job, new_workshop
from bom.outcome import dumped, takeoff_out
from bom.sheet import read_book
from bom.shop import read_prices, read_stock
from tests.test_cli import bom

CATALOGUE, _ = load_catalogue()
MADE = ("workshop.toml", "stock.xlsx", "prices.xlsx", "suppliers.xlsx", "jobs/example.xlsx")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new workshop."""
    folder = tmp_path_factory.mktemp("new") / "my shop"
    new_workshop(folder, CATALOGUE)
    return folder


def test_the_example_is_clean_and_complete(shop: Path) -> None:
    """Not a single caution, and everything has a price."""
    bought, estimate = quote_for(shop / "jobs" / "example.xlsx")
    assert bought.problems == ()
    assert estimate
    assert estimate.complete
    assert estimate.total > 0


def test_they_are_named_in_the_order_they_are_made(tmp_path: Path) -> None:
    """The rules first, the worked job last, and no stray file."""
    made = new_workshop(tmp_path / "shop", CATALOGUE)
    assert made == tuple(tmp_path / "shop" / name for name in MADE)
    assert {path for path in (tmp_path / "shop").rglob("*") if path.is_file()} == set(made)


@pytest.mark.parametrize("name", MADE)
def test_any_of_them_in_the_way_stops_all(name: str, tmp_path: Path) -> None:
    """Refused before the first file is written, and what was there is as it was."""
    there = tmp_path / name
    there.parent.mkdir(exist_ok=True)
    there.write_bytes(b"mine")
    with pytest.raises(Exists) as caught:
        new_workshop(tmp_path, CATALOGUE)
    assert caught.value.path == there
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [there]
    assert there.read_bytes() == b"mine"


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    """One file in the way, and nothing at all is made."""
    (tmp_path / "stock.xlsx").write_bytes(b"mine")
    with pytest.raises(Exists):
        new_workshop(tmp_path, CATALOGUE)
    assert [path.name for path in tmp_path.iterdir()] == ["stock.xlsx"]
    assert (tmp_path / "stock.xlsx").read_bytes() == b"mine"
    first = new_job(tmp_path, "twin", CATALOGUE)
    before = first.read_bytes()
    with pytest.raises(Exists):
        new_job(tmp_path, "twin.xlsx", CATALOGUE)
    assert first.read_bytes() == before


def test_a_blank_job_has_all_sheets_and_no_wires(shop: Path) -> None:
    """Check says so, and finds no fault with the headings."""
    path = new_job(shop, "blank", CATALOGUE)
    job = open_job(path)
    assert [problem.says for problem in job.problems] == ["no wires on this sheet"]
    book, _ = read_book(path)
    assert book
    assert [sheet.name for sheet in book.sheets][:8] == [
        "Read me",
        "Job",
        "Circuits",
        "Loom",
        "Components",
        "Fuses",
        "Extras",
        "Labour",
    ]
    done = bom("check", path)
    assert "no wires on this sheet" in done.stdout + done.stderr
    path.unlink()


def test_no_word_of_the_example_is_cut() -> None:
    """Each column is wider than its heading and whatever the example has in it."""
    for name, heads in SHEETS.items():
        for head, *cells in zip(heads, *example.ROWS.get(name, ()), strict=False):
            assert max(len(str(cell or "")) for cell in (head.name, *cells)) < head.width, head


def test_every_heading_of_the_stock_book_is_read(shop: Path) -> None:
    """Stock books may have columns of their own, so the values themselves must come back."""
    stock, problems = read_stock(shop / "stock.xlsx", CATALOGUE)
    assert problems == ()
    reel, tape = stock.pieces[0], stock.drawer[0]
    assert (reel.name, reel.gauge, reel.place) == ("R1", "1.0", "rack")
    assert (reel.length_mm, reel.cost_per_m) == (22000, Decimal("0.31"))  # 22.0 m x 1000
    # by the metre, kept in mm: 33 m, 10 m and 66 m x 1000; 0.06 a metre
    assert (tape.on_hand, tape.low, tape.full) == tuple(map(Decimal, (33000, 10000, 66000)))
    assert (tape.item, tape.place) == ("loom tape, PVC, 19 mm", "drawer 1")


def test_every_heading_of_prices_and_suppliers_is_known(shop: Path) -> None:
    """Not a word about a column, and postage is what the row says."""
    book, problems = read_prices(
        shop / "prices.xlsx", shop / "suppliers.xlsx", Decimal(20), CATALOGUE
    )
    assert problems == ()
    (supplier,) = book.suppliers.values()
    assert (supplier.postage, supplier.free_over) == (Decimal("3.95"), Decimal(60))


def test_lists_are_offered(shop: Path) -> None:
    """Colours, gauges, end styles, exposures: in the sheets' own XML."""
    with zipfile.ZipFile(shop / "jobs" / "example.xlsx") as book:
        text = "".join(
            book.read(name).decode() for name in book.namelist() if "worksheets/sheet" in name
        )
    assert text.count('type="list"') >= sum(
        bool(head.choices) for name in ("Circuits", "Loom", "Components") for head in SHEETS[name]
    )


@pytest.mark.libreoffice
def test_libreoffice_opens_them_and_the_take_off_is_the_same(shop: Path, tmp_path: Path) -> None:
    """Opened and saved by LibreOffice, the example gives the same parts."""
    book = shop / "jobs" / "example.xlsx"
    soffice = "soffice", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    subprocess.run(
        [*soffice, "--headless", "--convert-to", "ods", "--outdir", tmp_path, book],
        check=True,
        capture_output=True,
        timeout=110,
    )
    ours, theirs = (
        dumped(takeoff_out(open_job(path)))["needs"] for path in (book, tmp_path / "example.ods")
    )
    assert ours == theirs
