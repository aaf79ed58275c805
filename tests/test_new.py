"""What a workshop starts from: complete, readable, and never written over anything."""

import subprocess
import zipfile
from pathlib import Path

import pytest

from bom.catalogue import load_catalogue
from bom.job import open_job, quote_for
from bom.new import SHEETS, Exists, new_job, new_workshop
from bom.outcome import dumped, takeoff_out
from bom.sheet import read_book

CATALOGUE, _ = load_catalogue()


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new workshop."""
    folder = tmp_path_factory.mktemp("new") / "my shop"
    new_workshop(folder, CATALOGUE)
    return folder


def test_its_files(shop: Path) -> None:
    """Rules, three books and one worked job; no stray file."""
    made = sorted(str(path.relative_to(shop)) for path in shop.rglob("*") if path.is_file())
    assert made == [
        "jobs/example.xlsx",
        "prices.xlsx",
        "stock.xlsx",
        "suppliers.xlsx",
        "workshop.toml",
    ]


def test_the_example_is_clean_and_complete(shop: Path) -> None:
    """Not a single caution, and everything has a price."""
    bought, estimate = quote_for(shop / "jobs" / "example.xlsx")
    assert bought.problems == ()
    assert estimate
    assert estimate.complete
    assert estimate.total > 0


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
    path.unlink()


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
    subprocess.run(
        ["soffice", "--headless", "--convert-to", "ods", "--outdir", tmp_path, book],
        check=True,
        capture_output=True,
    )
    ours, theirs = (
        dumped(takeoff_out(open_job(path)))["needs"] for path in (book, tmp_path / "example.ods")
    )
    assert ours == theirs
