"""A job like another: its book under a new name, and all that is the owner's own."""

from pathlib import Path

import openpyxl
import pytest

from tests.books import book
from tests.fixture_books import members, ods_book, ods_cell, ods_row
from tests.within import bom

CIRCUITS = (
    ("wire", "from", "to", "colour", "gauge", "load", "length"),
    ("1", "switch", "lamp", "red", "1.0", "5 W", 1),
)
JOB = (
    ("item", "value"),
    ("job", "old"),
    ("customer", "Somebody"),
    ("machine", "a single"),
    ("number", "Q7"),
    ("volts", 6),
)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A workshop with one job, in a book that has a sheet of the owner's own."""
    (tmp_path / "workshop.toml").write_text("")
    book(tmp_path / "jobs", "old.xlsx", Job=JOB, Circuits=CIRCUITS, Mine=[("=1+1", "a thought")])
    return tmp_path


def test_a_job_like_another_has_its_circuits_and_not_its_customer(shop: Path) -> None:
    """Only the Job sheet changes: its name, and what belongs to the other customer."""
    done = bom("new", "job", "new", "--like", "old", cwd=shop)
    assert (done.returncode, done.stderr) == (0, "")
    assert "next: change in it what is different, then: bom check new" in done.stdout
    sheet = openpyxl.load_workbook(shop / "jobs" / "new.xlsx")["Job"]
    assert [row[:2] for row in sheet.iter_rows(values_only=True)] == [
        ("item", "value"),
        ("job", "new"),
        ("customer", None),
        ("machine", "a single"),
        ("number", None),
        ("volts", 6),
    ]
    old, new = (members((shop / "jobs" / f"{n}.xlsx").read_bytes()) for n in ("old", "new"))
    assert {name for name in old if old[name] != new[name]} == {"xl/worksheets/sheet1.xml"}


def test_a_job_sheet_under_another_name_loses_its_customer_too(shop: Path) -> None:
    """It is known by its items; what belongs to the other customer is not copied."""
    book(shop / "jobs", "own.xlsx", Particulars=JOB, Circuits=CIRCUITS)
    assert bom("new", "job", "new", "--like", "own", cwd=shop).returncode == 0
    rows = openpyxl.load_workbook(shop / "jobs" / "new.xlsx")["Particulars"].iter_rows()
    assert {row[0].value: row[1].value for row in rows}["customer"] is None


def test_a_row_that_stands_twice_is_told_and_emptied_wherever_it_stands(shop: Path) -> None:
    """A blank row from the start, another typed below.  Wrong before: nothing told of the two."""
    twice = (*JOB[:2], ("customer", None), ("machine", None), *JOB[2:])
    book(shop / "jobs", "twice.xlsx", Job=twice, Circuits=CIRCUITS)
    told = bom("check", "twice", cwd=shop).stderr
    assert "twice.xlsx › Job › A3: 'customer' stands in A5 too, and is empty here\n" in told
    assert "twice.xlsx › Job › A4: 'machine' stands in A6 too, and is empty here\n" in told
    assert bom("new", "job", "new", "--like", "twice", cwd=shop).returncode == 0
    sheet = openpyxl.load_workbook(shop / "jobs" / "new.xlsx")["Job"]
    assert [row[1].value for row in sheet if row[0].value == "customer"] == [None, None]
    assert "Job › A3: 'customer' stands in A5 too" in bom("check", "new", cwd=shop).stderr


def test_what_is_there_is_left_as_it_is(shop: Path) -> None:
    """A second job of that name, and another that is none, are refused."""
    before = (shop / "jobs" / "old.xlsx").read_bytes()
    done = bom("new", "job", "old", "--like", "old", cwd=shop)
    assert done.returncode == 1 and "is there already and is left as it is" in done.stderr
    done = bom("new", "job", "new", "--like", "odl", cwd=shop)
    assert done.returncode == 1 and "try: old\n" in done.stderr
    assert (shop / "jobs" / "old.xlsx").read_bytes() == before
    assert [path.name for path in (shop / "jobs").iterdir()] == ["old.xlsx"]


def test_a_folder_of_csv_and_a_single_one_are_copied_too(shop: Path) -> None:
    """Kept as what it is; the Job sheet of a folder gets the new name."""
    folder = shop / "jobs" / "cards"
    folder.mkdir()
    (folder / "Job.csv").write_text("item;value\njob;cards\ncustomer;Somebody\n")
    (folder / "Circuits.csv").write_text("from;to;colour;length;load\na;b;red;1,5;5 W\n")
    assert bom("new", "job", "more", "--like", "cards", cwd=shop).returncode == 0
    assert (shop / "jobs" / "more" / "Job.csv").read_text() == "item;value\njob;more\ncustomer;\n"
    (shop / "jobs" / "line.csv").write_bytes((folder / "Circuits.csv").read_bytes())
    assert bom("new", "job", "line 2", "--like", "line", cwd=shop).returncode == 0
    copy = (shop / "jobs" / "line 2.csv").read_bytes()
    assert copy == (folder / "Circuits.csv").read_bytes()


def test_a_formula_where_the_name_stands_is_not_written_over(shop: Path) -> None:
    """It is named, and no copy is made."""
    rows = (JOB[0], ("job", '="o"&"dd"'), *JOB[2:])
    book(shop / "jobs", "odd.xlsx", Job=rows, Circuits=CIRCUITS)
    done = bom("new", "job", "new", "--like", "odd", cwd=shop)
    assert done.returncode == 1 and "odd.xlsx › Job › B2" in done.stderr
    assert not (shop / "jobs" / "new.xlsx").exists()


def test_a_book_that_is_only_read_is_copied_as_it_is(shop: Path) -> None:
    """An .ods whose name cannot be changed in it: the same bytes, and what to do by hand."""
    rows = (ods_row(*(ods_cell(str(value)) for value in row)) for row in JOB)
    made = ods_book(("Job", rows), ("Circuits", ()))
    (shop / "jobs" / "old-ods.ods").write_bytes(made)
    done = bom("new", "job", "new", "--like", "old-ods", cwd=shop)
    assert done.returncode == 0
    says = "copied as it is: a book that ends in '.ods' is read but not written"
    cure = "job, customer and number on its Job sheet"
    told = f"caution: old-ods.ods › Job: {says}\n    try: {cure}\n"
    assert done.stderr == told
    copy = (shop / "jobs" / "new.ods").read_bytes()
    assert copy == (shop / "jobs" / "old-ods.ods").read_bytes()
