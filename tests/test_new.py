"""What a workshop starts from: complete, readable, and never written over anything."""

import errno
import os
import re
import zipfile
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from bom.estimate import quote_for
from bom.files.headings import taken_for
from bom.files.sheet import read_book
from bom.job import open_job
from bom.read.all_columns import all_columns
from bom.read.prices import read_prices
from bom.read.stock import read_stock
from bom.show.job_json import takeoff_out
from bom.trade.catalogue_files import load_catalogue
from bom.workshop import example
from bom.workshop.new_books import Exists, new_job, new_workshop, put_new_files
from tests.office import converted
from tests.test_safely import failing
from tests.within import bom

CATALOGUE, _ = load_catalogue()
COLUMNS = all_columns(CATALOGUE)
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


@pytest.mark.parametrize("name", [*MADE, "stock.ods", "prices.csv", "suppliers/Suppliers.csv"])
def test_any_of_them_in_the_way_stops_all(name: str, tmp_path: Path) -> None:
    """In any kind, as a new .xlsx would be read before it; nothing is made, it is as it was."""
    there = tmp_path / name
    there.parent.mkdir(exist_ok=True)
    there.write_bytes(b"mine")
    with pytest.raises(Exists) as caught:
        new_workshop(tmp_path, CATALOGUE)
    assert caught.value.path == there or name not in MADE
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [there]
    assert there.read_bytes() == b"mine"


def test_no_job_is_written_over(tmp_path: Path) -> None:
    """Nor hidden by one of another kind; a folder without lists is no job."""
    first = new_job(tmp_path, "twin", CATALOGUE)
    before = first.read_bytes()
    (tmp_path / "jobs" / "pictures").mkdir(parents=True)
    (tmp_path / "jobs" / "old.ods").write_bytes(b"mine")
    for name in ("twin.xlsx", "old"):
        with pytest.raises(Exists):
            new_job(tmp_path, name, CATALOGUE)
    assert first.read_bytes() == before
    assert new_job(tmp_path, "pictures", CATALOGUE).is_file()


@pytest.mark.parametrize("name", ["workshop.toml", "stock.xlsx"])
def test_a_link_to_nowhere_is_in_the_way_too(name: str, tmp_path: Path) -> None:
    """It is the owner's, whatever it points to."""
    (tmp_path / name).symlink_to(tmp_path / "nowhere")
    with pytest.raises(Exists):
        new_workshop(tmp_path, CATALOGUE)
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_a_file_where_a_folder_belongs(tmp_path: Path) -> None:
    """The workshop itself, or its jobs: refused and left alone."""
    (tmp_path / "jobs").write_bytes(b"mine")
    for attempt in (
        lambda: new_workshop(tmp_path, CATALOGUE),
        lambda: new_workshop(tmp_path / "jobs", CATALOGUE),
        lambda: new_job(tmp_path, "twin", CATALOGUE),
    ):
        with pytest.raises(Exists) as caught:
            attempt()
        assert caught.value.path == tmp_path / "jobs"
    assert [path.name for path in tmp_path.iterdir()] == ["jobs"]


@pytest.mark.parametrize(
    ("names", "says"),
    [
        (("", " ", "..", "."), "needs a name"),
        # on any system, so that a workshop can be carried from one to the other
        (("a/b", "a\\b", "c:d", "what?", "x*", "tab\there"), "is that of a file and cannot have"),
        (("con", "Aux.xlsx", "LPT1", "nul.2"), "Windows has no file named"),
    ],
)
def test_a_name_no_file_can_have_is_refused(
    names: tuple[str, ...], says: str, tmp_path: Path
) -> None:
    """Nothing is left behind."""
    for name in names:
        with pytest.raises(ValueError, match=says):
            new_job(tmp_path, name, CATALOGUE)
        assert not list(tmp_path.iterdir())


def test_no_links_and_whole_files_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Moved there instead, never onto what is there, and no scrap left."""
    monkeypatch.setattr(os, "link", failing(errno.EPERM))
    made = new_job(tmp_path, "twin", CATALOGUE)
    assert [path.name for path in made.parent.iterdir()] == ["twin.xlsx"]
    assert openpyxl.load_workbook(made).sheetnames[0] == "Read me"
    mine = tmp_path / "mine.xlsx"
    mine.write_bytes(b"mine")
    with pytest.raises(Exists):
        put_new_files({mine: b"other"})
    assert mine.read_bytes() == b"mine"


def test_a_blank_job_has_all_sheets_and_no_wires(shop: Path) -> None:
    """Check says so, and finds no fault with the headings."""
    path = new_job(shop, "blank", CATALOGUE)
    job = open_job(path)
    assert [problem.says for problem in job.problems] == ["no wires on this sheet"]
    book, _ = read_book(path)
    assert book
    names = ["Read me", "Job", "Circuits", "Loom", "Components", "Places", "Fuses", "Extras"]
    assert [sheet.name for sheet in book.sheets][:9] == [*names, "Labour"]
    done = bom("check", path)
    assert "no wires on this sheet" in done.stdout + done.stderr
    path.unlink()


def test_no_word_of_the_example_is_cut() -> None:
    """Each column is wider than its heading and whatever the example has in it."""
    for name, columns in COLUMNS.items():
        for column, new in ((c, c.new) for c in columns if c.new):
            cells = [str(row.get(column.name) or "") for row in example.ROWS.get(name, ())]
            head = f"{column.name} {new.unit}".strip()
            assert max(map(len, (head, *cells))) < new.width, head


def test_the_example_fills_columns_that_there_are() -> None:
    """A cell under a column that no list has would be lost without a word."""
    for name, rows in example.ROWS.items():
        made = {column.name for column in COLUMNS[name] if column.new}
        assert {cell for row in rows for cell in row} <= made, name


def test_a_new_book_is_read_as_it_was_made(shop: Path) -> None:
    """Each heading of a new book is known as the column it was made from, by its own name."""
    for path in (*shop.glob("*.xlsx"), shop / "jobs" / "example.xlsx"):
        book, _ = read_book(path)
        for sheet in (sheet for sheet in book.sheets if sheet.name in COLUMNS) if book else ():
            made = [column.name for column in COLUMNS[sheet.name] if column.new]
            taken = taken_for(sheet, COLUMNS[sheet.name])
            assert [(one.column, one.how) for one in taken] == [(n, "its name") for n in made]


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


def _offers(path: Path) -> dict[str, list[str]]:
    """By sheet: the list of each drop-down, as the sheets' own XML has it."""
    found: dict[str, list[str]] = {}
    with zipfile.ZipFile(path) as book:
        names = re.findall(r'<sheet [^>]*?name="([^"]+)"', book.read("xl/workbook.xml").decode())
        for number, name in enumerate(names, start=1):
            text = book.read(f"xl/worksheets/sheet{number}.xml").decode()
            found[name] = re.findall(r"<dataValidation .*?</dataValidation>", text)
    return found


def test_lists_are_offered_and_do_not_forbid(shop: Path) -> None:
    """One for each column that has words to offer; another value may be typed."""
    counts = {
        "jobs/example.xlsx": {
            **{"Job": 1, "Circuits": 5, "Loom": 2, "Components": 2, "Fuses": 1, "Extras": 1}
        },
        "stock.xlsx": {"Cable": 2, "Drawer": 2, "Orders": 3},
        "prices.xlsx": {"Prices": 3},
        "suppliers.xlsx": {"Suppliers": 1},
    }
    for name, sheets in counts.items():
        offers = _offers(shop / name)
        assert {sheet: len(found) for sheet, found in offers.items() if found} == sheets
        for offer in (offer for found in offers.values() for offer in found):
            assert 'type="list"' in offer and "<formula1>Lists!$" in offer
            assert 'showErrorMessage="1"' not in offer


def test_every_heading_has_its_note_and_the_lists_are_out_of_sight(shop: Path) -> None:
    """A page of ten lines or so, a sentence on each column, frozen headings, wide paper."""
    for path in (*shop.glob("*.xlsx"), shop / "jobs" / "example.xlsx"):
        book = openpyxl.load_workbook(path)
        assert book["Lists"].sheet_state == "hidden"
        assert book.sheetnames[0] == "Read me" and 6 <= book.worksheets[0].max_row <= 12
        for name in set(book.sheetnames) & set(COLUMNS):
            sheet = book[name]
            assert all(cell.comment and cell.font.bold for cell in sheet[1]), name
            assert (sheet.freeze_panes, sheet.print_title_rows) == ("A2", "$1:$1")
            assert sheet.page_setup.orientation == "landscape"


def test_what_a_spreadsheet_would_make_a_date_is_text(shop: Path) -> None:
    """Labels, pins, gauges and fuses are kept as they are typed, far below the example too."""
    sheet = openpyxl.load_workbook(shop / "jobs" / "example.xlsx")["Circuits"]
    heads = {str(cell.value): number for number, cell in enumerate(sheet[1], start=1)}
    for name in ("wire", "from", "to", "gauge", "fuse"):
        assert {sheet.cell(row, heads[name]).number_format for row in (2, 150)} == {"@"}


def test_a_wire_of_the_example_by_hand(shop: Path) -> None:
    """The tail lamp's feed, from the ignition switch in the headlamp shell to the tail."""
    # headlamp shell - headstock - tank - battery - tail: 300 + 500 + 450 + 800 = 2050 mm
    # 2050 x 1.05 = 2152.5; slack 60; tails 60 + 150; two ends of 40: 2502.5, up to 2510 mm
    needs = takeoff_out(open_job(shop / "jobs" / "example.xlsx"))["needs"]
    (red,) = (need for need in needs if need["kind"] == "cable" and need["colour"] == "red")
    # spare: 5 % of 2510 = 125.5, up to 130 mm
    assert (red["pieces_mm"], red["spare_mm"], red["quantity"]) == ([2510], 130, 2640)


@pytest.mark.libreoffice
@pytest.mark.slow
def test_libreoffice_opens_them_and_everything_is_as_it_was(shop: Path, tmp_path: Path) -> None:
    """Each book opened and saved by LibreOffice: same checks, same parts, same shelf and prices."""
    saved = tmp_path / "shop"
    (saved / "jobs").mkdir(parents=True)
    (saved / "workshop.toml").write_bytes((shop / "workshop.toml").read_bytes())
    for name in MADE[1:]:
        made = converted((shop / name).read_bytes(), Path(name).name, tmp_path)
        (saved / name).write_bytes(made.read_bytes())
    for command in ("check", "takeoff", "order", "quote"):
        ours, theirs = (
            bom(command, folder / "jobs" / "example.xlsx", "--json") for folder in (shop, saved)
        )
        assert (ours.returncode, theirs.returncode) == (0, 0), theirs.stderr
        assert ours.stdout == theirs.stdout
    assert theirs.stderr == ours.stderr == ""


def test_points_in_a_name_and_what_looks_like_a_formula_are_kept(tmp_path: Path) -> None:
    """`R80.5` is not `R80`; `=1+1` is text."""
    assert new_job(tmp_path, "R80.5", CATALOGUE) == tmp_path / "jobs" / "R80.5.xlsx"
    sheet = openpyxl.load_workbook(new_job(tmp_path, "=1+1", CATALOGUE))["Job"]
    assert (sheet["B2"].value, sheet["B2"].data_type) == ("=1+1", "s")
