"""Names and texts of the user's where a disk or a workbook has limits: no fault, and none lost."""

import csv
import doctest
import time
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from bom.files import names
from bom.files.names import file_name
from bom.files.sheet import read_book
from bom.files.table import Heading, Table, fit_for_a_cell, xlsx_bytes
from tests.full_disks import tree
from tests.shops import job, offers, workshop
from tests.stockrooms import loom, shop
from tests.within import bom

LONG = "ж" * 150
"""300 bytes in UTF-8, of the 255 that a name may have (NAME_MAX)."""

WORDS = (
    ("check", LONG),
    ("check", f"{LONG}.xlsx"),
    ("check", f"jobs/{LONG}.xlsx"),
    ("check", f"{LONG}/twin.xlsx"),
    ("check", "twin", "--csv", f"{LONG}.csv"),
    ("takeoff", LONG),
    ("order", LONG),
    ("order", "twin", "--xlsx", f"{LONG}.xlsx"),
    ("order", "twin", "--csv", f"{LONG}/list.csv"),
    ("cut", LONG),
    ("quote", LONG),
    ("quote", "twin", "--pdf", f"{LONG}.pdf"),
    ("why", LONG, "W1"),
    ("pack", LONG, "--out", "papers"),
    ("pack", "twin", "--out", LONG),
    ("pack", "twin", "--out", f"{LONG}/{LONG}"),
    ("stock", "hold", LONG),
    ("stock", "release", LONG),
    ("stock", "issue", LONG),
    ("stock", "receive", f"{LONG}.xlsx"),
    ("stock", "count", LONG, "1"),
    ("done", LONG),
    ("new", "job", LONG),
    ("new", "job", "other", "--like", LONG),
    ("new", "job", LONG, "--like", "twin"),
    ("new", "workshop", LONG),
    ("new", "workshop", f"yard/{LONG}"),
    ("prices", "add", f"{LONG}.csv", "--supplier", "Abel"),
    (LONG, "twin"),
)


def test_the_examples_in_the_docstrings_hold() -> None:
    result = doctest.testmod(names)
    assert (result.attempted, result.failed) == (3, 0)


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A workshop with the job `twin`."""
    loom(shop(tmp_path / "shop"), "twin", 1.5, covers=0)
    return tmp_path / "shop"


@pytest.mark.parametrize("words", WORDS, ids=lambda words: " ".join(words).replace(LONG, "LONG"))
def test_a_name_no_disk_takes(words: tuple[str, ...], yard: Path) -> None:
    """Refused in a sentence, and nothing is made."""
    before = tree(yard, kept=False)
    done = bom(*words, cwd=yard)
    assert done.returncode in (1, 2)
    assert "error: " in done.stderr
    assert tree(yard, kept=False) == before


def test_suppliers_whose_names_come_to_the_same(tmp_path: Path) -> None:
    """Three orders are three files and three sheets: / and : are no letters of a file's name."""
    sold = "cable 0.40 metre", "ring 1.10 pack 10", "tube 0.60 metre"
    whose = ("North/South", "North:South", "NORTH SOUTH")
    rows = [offers(f"x {what}")[0] for what in sold]
    prices = [(name, *row[1:]) for name, row in zip(whose, rows, strict=True)]
    workshop(tmp_path, prices=prices, suppliers=[(name, 0, None, None, "no") for name in whose])
    extras = [(prices[1][1], 10, "each", None), (prices[2][1], 2, "m", None)]
    job(tmp_path, [("W1", "red", "1.0", 1.5)], "twin", Extras=extras)
    done = bom("pack", "twin", "--out", "papers", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    orders = sorted(path.name for path in (tmp_path / "papers").glob("order *"))
    assert len({name.casefold() for name in orders}) == 3
    assert {name for name in orders if name.startswith("order North South")} <= set(orders)
    assert done.stdout.count("papers/order ") == 3


def test_a_supplier_with_a_long_name(tmp_path: Path) -> None:
    """Cut to 255 bytes, the ending kept, and two that begin alike are two."""
    whose = (f"{LONG} & Sons", f"{LONG} & Daughters")
    sold = (offers("x cable 0.40 metre")[0], offers("x ring 1.10 pack 10")[0])
    prices = [(name, *row[1:]) for name, row in zip(whose, sold, strict=True)]
    workshop(tmp_path, prices=prices, suppliers=[(name, 0, None, None, "no") for name in whose])
    extras = [(prices[1][1], 10, "each", None)]
    job(tmp_path, [("W1", "red", "1.0", 1.5)], "twin", {"job": LONG}, Extras=extras)
    done = bom("pack", "twin", "--out", "papers", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    made = [path.name for path in (tmp_path / "papers").iterdir()]
    assert sum(name.startswith("order ж") and name.endswith(".pdf") for name in made) == 2
    assert [name for name in made if name.endswith(".xlsx")] == ["ж" * 125 + ".xlsx"]  # 250 + 5
    assert max(len(name.encode()) for name in made) == 255


@pytest.mark.parametrize(
    ("text", "name"),
    [
        # Naming Files, Paths, and Namespaces (Win32 documents): devices, dots and spaces at the end
        ("con", "con_.x"),
        ("Aux.old", "Aux.old_.x"),
        ("LPT1", "LPT1_.x"),
        ("conrad", "conrad.x"),
        ("twin. ", "twin.x"),
        ('a<b>c"d|e?f*g\\h', "a b c d e f g h.x"),
        ("...", "job.x"),
        # what a terminal or UTF-8 cannot bear
        ("a\x1b[2Jb\u202ec\udc80", "a [2Jb c.x"),
    ],
)
def test_a_name_that_every_system_takes(text: str, name: str) -> None:
    assert file_name(text, ".x", set()) == name


def test_names_stay_apart_when_they_are_cut() -> None:
    """Of 255 bytes: 251 letters and the ending; then ` (2)` takes four of them."""
    taken: set[str] = set()
    made = [file_name("a" * 300, ".pdf", taken), file_name("A" * 299, ".pdf", taken)]
    assert made == ["a" * 251 + ".pdf", "A" * 247 + " (2).pdf"]


# Cells

ODD = "cover\x07, \x1bred\ufffe"
SIGNS = "cover, red"


def items_of(path: Path, sheet: str = "Used") -> list[Any]:
    """The column `item` of a sheet."""
    rows = list(openpyxl.load_workbook(path)[sheet].iter_rows(values_only=True))
    place = rows[0].index("item")
    return [row[place] for row in rows[1:] if row[place]]


def folder_job(folder: Path, item: str, name: str = "twin") -> None:
    """A job of one wire that is a folder of .csv, with an extra of this name."""
    loom(folder, name, 1.5, covers=0)
    book, _ = read_book(folder / "jobs" / f"{name}.xlsx")
    assert book is not None
    (folder / "jobs" / f"{name}.xlsx").unlink()
    (folder / "jobs" / name).mkdir()
    extras = (("item", "qty", "unit"), (item, "2", "each"))
    lists: dict[str, Any] = {sheet.name: sheet.rows for sheet in book.sheets} | {"Extras": extras}
    for title, rows in lists.items():
        with (folder / "jobs" / name / f"{title}.csv").open("w", newline="") as out:
            csv.writer(out).writerows(rows)


def test_a_control_character_in_an_extras_name(tmp_path: Path) -> None:
    """The sheet of what was used is made without it, read back, and kept."""
    folder_job(shop(tmp_path), ODD)
    made = bom("done", "twin", cwd=tmp_path)
    assert made.returncode == 0, made.stderr
    assert SIGNS in items_of(tmp_path / "used" / "twin.xlsx")
    done = bom("done", "twin", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "done.csv").exists()


def test_a_control_character_in_a_jobs_name(tmp_path: Path) -> None:
    """Its sheet is known again by the name without it, and it is done once."""
    folder_job(shop(tmp_path), "cover")
    rows = (tmp_path / "jobs" / "twin" / "Job.csv").read_text()
    (tmp_path / "jobs" / "twin" / "Job.csv").write_text(rows.replace("job,twin", "job,tw\x07in"))
    for words in (("done", "twin"), ("done", "twin")):
        done = bom(*words, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
    again = bom("done", "twin", cwd=tmp_path)
    assert again.returncode == 1 and "was done on" in again.stderr


def test_a_text_longer_than_a_cell(tmp_path: Path) -> None:
    """32,767 letters (Excel specifications and limits): the last is a sign that more is missing."""
    text = "x" * 40_000
    table = Table.of("list", [text], Heading("item", str))
    (tmp_path / "list.xlsx").write_bytes(xlsx_bytes([table]))
    cell = openpyxl.load_workbook(tmp_path / "list.xlsx").worksheets[0]["A2"].value
    assert cell == "x" * 32_766 + "\u2026"
    folder_job(shop(tmp_path / "shop"), "y" * 40_000)
    made = bom("done", "twin", cwd=tmp_path / "shop")
    assert made.returncode == 0, made.stderr
    assert "y" * 32_766 + "\u2026" in items_of(tmp_path / "shop" / "used" / "twin.xlsx")


@pytest.mark.parametrize(
    ("text", "fit"),
    [
        ("a\x00b\ud800c\uffffd\r\ne", "ab\ufffdcd\ne"),
        ("\U0001f600" * 16_384, "\U0001f600" * 16_383 + "\u2026"),  # two units of UTF-16 each
        ("x" * 32_767, "x" * 32_767),
    ],
)
def test_what_a_cell_takes(text: str, fit: str) -> None:
    assert fit_for_a_cell(text) == fit


def test_a_clock_before_1980(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine without a battery in its clock begins in 1970; a zip knows no day before 1980."""
    monkeypatch.setattr(time, "time", lambda: 1000.0)
    made: tuple[tuple[str, ...], ...] = (
        ("new", "workshop", "yard"),
        ("order", "yard/jobs/example.xlsx", "--xlsx", "list.xlsx"),
    )
    for words in made:
        done = bom(*words, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
    written = (("stock", "count", "R1", "9"), ("new", "job", "other"), ("done", "example"))
    for words in written:
        done = bom(*words, cwd=tmp_path / "yard")
        assert done.returncode == 0, done.stderr
    assert openpyxl.load_workbook(tmp_path / "yard" / "jobs" / "other.xlsx").sheetnames
