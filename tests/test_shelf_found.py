"""`bom stock show WORD...`: the rows that have all the words, and what is said where none has."""

import csv
import json
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from bom.workshop.shelf_requests import hold
from tests.stockrooms import done, loom, shop
from tests.within import bom

CABLE = (
    ("R01", "1.0", "red", 10, 0.30, "rack A"),
    ("R02", "16.0", "red", 2, 0.30, "rack A"),
    ("R03", "1.0", "purple/red", 5, 0.55, "rack B"),
    ("R04", "2.0", "light green", 4, 0.55, "rack B"),
    ("R05", "0.5", "red", 3, 0.20, "offcuts 1"),
    ("R06", "1.0", "grey", 0, 0.20, "offcuts 1"),
)
DRAWER = (
    ("bullet terminal, male, 0.5-1.0 mm2", "each", 20, 10, 50, 0.05),
    ("bullet terminal, female, 0.5-1.0 mm2", "each", 25, 10, 50, 0.05),
    ("bullet cover, male", "each", 20, 10, 50, 0.05),
    ("blade fuse, 10 A", "each", 9, 5, 20, 0.05),
    ("blade fuse, 5 A", "each", 9, 5, 20, 0.05),
    ("loom tape, PVC, 19 mm", "m", 12, 5, 30, 0.12),
)


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    """A shelf of which a metre of R01 and six covers are set aside for a job; R06 is used up."""
    folder = shop(tmp_path, tuple(row[:5] for row in CABLE), DRAWER)
    book = load_workbook(folder / "stock.xlsx")
    sheet = book["Cable"]
    sheet.cell(1, 6, "place")
    for number, row in enumerate(CABLE, start=2):
        sheet.cell(number, 6, row[5])
    book.save(folder / "stock.xlsx")
    loom(folder, "twin", 1.0, covers=6)
    done(folder, hold(folder / "jobs" / "twin.xlsx"))
    return folder


def names(answer: dict[str, Any]) -> str:
    """What is shown, by its names; of what is set aside the job."""
    rows = (*answer["cable"], *answer["drawer"])
    held = [f"{row['job']}: {row['item']}" for row in answer["held"]]
    return "; ".join([row.get("piece") or row["item"] for row in rows] + held)


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("1.0 red", "R01; R03"),
        ("RED 1", "R01; R03"),
        ("red 1,0", "R01; R03"),
        ("violet", "R03"),
        ("Purple", "R03"),
        ("light green", "R04"),
        ("rack b", "R03; R04"),
        ("offcuts 1", "R05"),
        ("cable 16", "R02"),
        ("R03", "R03"),
        ("male terminal bullet", "bullet terminal, male, 0.5-1.0 mm2"),
        ("fuses", "blade fuse, 10 A; blade fuse, 5 A"),
        ("10A", "blade fuse, 10 A"),
        ("tap", "loom tape, PVC, 19 mm"),
        ("twin", "twin: R01; twin: bullet cover, male"),
        ("cover", "bullet cover, male; twin: bullet cover, male"),
    ],
)
def test_words_in_any_order(words: str, found: str, folder: Path) -> None:
    """A word, its beginning, its plural, a number by its value, a colour by its other name."""
    done = bom("stock", "show", *words.split(), "--json", cwd=folder)
    assert names(json.loads(done.stdout)) == found
    whole = bom("stock", "show", words, "--json", cwd=folder)
    assert whole.stdout == done.stdout


def test_totals_and_files_are_of_what_is_shown(folder: Path) -> None:
    """R01 and R03 have 10 and 5 m; what is set aside of covers stands beside them."""
    done = bom("stock", "show", "1.0", "red", "--csv", "red.csv", "--xlsx", "red.xlsx", cwd=folder)
    assert done.returncode == 0 and "drawer" not in done.stdout and "R02" not in done.stdout
    (total,) = [line for line in done.stdout.splitlines() if "total" in line]
    assert "15.00" in total
    with (folder / "red.csv").open(encoding="utf-8-sig") as stream:
        assert [row["piece"] for row in csv.DictReader(stream)] == ["R01", "R03"]
    assert len(load_workbook(folder / "red.xlsx").sheetnames) == 1
    bullets = bom("stock", "show", "bullet", "cover", "--rebuild", cwd=folder).stdout
    cells = [line.split() for line in bullets.splitlines() if line.startswith("bullet cover")]
    assert cells[0][3:6] == ["20", "6", "each"] and "from opening count and moves" in bullets


def test_without_words_all_is_shown(folder: Path) -> None:
    """What is used up is not."""
    answer = json.loads(bom("stock", "show", "--json", cwd=folder).stdout)
    assert [row["piece"] for row in answer["cable"]] == ["R01", "R02", "R03", "R04", "R05"]
    assert len(answer["drawer"]) == len(DRAWER) and len(answer["held"]) == 2


@pytest.mark.parametrize(
    ("words", "says", "cure"),
    [
        ("purpel red", "purpel", "bom stock show purple red"),
        ("bulet cover", "bulet", "bom stock show bullet cover"),
        ("gray", "gray", "bom stock show"),
        ("zzzz", "zzzz", "bom stock show"),
        ("fuse 7.5", "7.5", "blade fuse, 10 A or blade fuse, 5 A"),
        ("2.0 red", "2.0 red", "R01 (1.0 red) or R02 (16.0 red) or R03 (1.0 purple/red)"),
    ],
)
def test_nothing_found(words: str, says: str, cure: str, folder: Path) -> None:
    """The word that nothing has, and the nearest there is."""
    done = bom("stock", "show", *words.split(), cwd=folder)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == f"error: nothing on the shelf has '{says}'\n    try: {cure}\n"
