"""The sheet that the shelf is counted on: order of the walk, the PDF as it is printed, files."""

import csv
import doctest
import json
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from bom.show import count_sheet
from bom.workshop.shelf_requests import hold
from tests.stockrooms import done, loom, shop
from tests.test_papers import Page, assert_whole, pages, text_of
from tests.within import bom

CABLE = (
    ("R01", "1.0", "red", 10, 0.30, "A10"),
    ("R02", "2.0", "blue/white", 2.25, 0.30, "a2"),
    ("R03", "18 AWG", "black", 4, 0.30, ""),
)
DRAWER = (
    ("bullet cover, male", "each", 20, 10, 50, 0.05, "A2"),
    ("blade fuse, 10 A", "each", 9, 5, 20, 0.05, "A10"),
    ("blade fuse, 5 A", "each", 4, 5, 20, 0.05, "A10"),
    ("loom tape, PVC, 19 mm", "m", 12, 30, 60, 0.12, ""),
    ("crimp splice, 0.5-1.5 mm2", "each", 0, None, None, 0.05, "rack"),
)
WALK = (
    # `a2` and `A2` are one place; 20 less the 15 set aside are under the mark of 10
    ("A2", "bullet cover, male", 20, "each", 15, True),
    ("a2", "R02", 2.25, "m", 0, False),
    ("A10", "blade fuse, 5 A", 4, "each", 0, True),
    ("A10", "R01", 10, "m", 1, False),
    ("A10", "blade fuse, 10 A", 9, "each", 0, False),
    ("rack", "crimp splice, 0.5-1.5 mm2", 0, "each", 0, False),
    ("", "loom tape, PVC, 19 mm", 12, "m", 0, True),
    ("", "R03", 4, "m", 0, False),
)
"""Place, item, in the book, unit, set aside, low: by hand from the two lists above."""


def placed(folder: Path, cable: Any = CABLE, drawer: Any = DRAWER) -> Path:
    """A workshop whose rows have places, as the last of their cells."""
    shop(folder, [row[:-1] for row in cable], [row[:-1] for row in drawer])
    book = load_workbook(folder / "stock.xlsx")
    for sheet, rows, column in (("Cable", cable, 6), ("Drawer", drawer, 7)):
        book[sheet].cell(1, column, "place")
        for number, row in enumerate(rows, start=2):
            book[sheet].cell(number, column, row[-1] or None)
    book.save(folder / "stock.xlsx")
    return folder


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    """Of the shelf above a metre of R01 and fifteen covers are set aside."""
    folder = placed(tmp_path)
    loom(folder, "twin", 1.0, covers=15)
    done(folder, hold(folder / "jobs" / "twin.xlsx"))
    return folder


def test_the_order_of_a_walk(folder: Path) -> None:
    """2 before 10, what is low first at its place, what has no place at the end."""
    answer = json.loads(bom("stock", "sheet", "--json", cwd=folder).stdout)
    keys = ("place", "item", "in_the_book", "unit", "held", "low")
    assert [tuple(line[key] for key in keys) for line in answer["lines"]] == [*WALK]
    assert doctest.testmod(count_sheet).failed == 0


def test_what_is_printed(folder: Path) -> None:
    """Each place once, before its things; what the book says of each; words in its head."""
    done_ = bom("stock", "sheet", "--pdf", "c.pdf", cwd=folder)
    assert done_.returncode == 0, done_.stderr
    assert "next: bom stock count ITEM NUMBER for what is not as the book says" in done_.stdout
    text = text_of((folder / "c.pdf").read_bytes())
    wanted = (
        *("A2 set aside in the book counted", "low bullet cover, male 15 each 20 each"),
        *("R02, 2.0 mm2, blue/white 2.25 m", "A10 set aside", "low blade fuse, 5 A 4 each"),
        *("R01, 1.0 mm2, red 1 m 10 m", "blade fuse, 10 A 9 each", "rack set aside"),
        *("crimp splice, 0.5-1.5 mm2 0 each", "no place in the book set aside"),
        *("low loom tape, PVC, 19 mm 12 m", "R03, 18 AWG, black 4 m", "Found, and not on"),
    )
    found = [text.find(words) for words in wanted]
    assert -1 not in found and found == sorted(found), dict(zip(wanted, found, strict=True))
    assert "only" not in text
    bom("stock", "sheet", "fuse", "--pdf", "c.pdf", cwd=folder)
    text = text_of((folder / "c.pdf").read_bytes())
    assert "only fuse" in text and "blade fuse, 5 A" in text and "cover" not in text


def test_a_box_for_each_and_a_stripe_for_each_cable(folder: Path) -> None:
    """Eight rows: boxes of 26 x 6.5 mm are 73.7 x 18.4 pt; three pieces, one with a trace."""
    bom("stock", "sheet", "--pdf", "c.pdf", cwd=folder)
    shapes = [s for page in pages((folder / "c.pdf").read_bytes()) for s in page.shapes]
    sizes = [(round(s["width"]), round(s["height"])) for s in shapes]
    assert sizes.count((74, 18)) == len(WALK)
    assert sizes.count((40, 9)) == 3 and sizes.count((40, 3)) == 1  # 14 x 3 mm, 1 mm of trace


def test_a_long_sheet_is_whole(tmp_path: Path) -> None:
    """Places of 1 to 40 things, long names: each place's name on every page that it is on."""
    name = "a terminal with a name that does not come to its end for a long while, "
    long = "x" * 90
    counts = {f"drawer {number}": number for number in (1, 2, 3, 5, 8, 13, 21, 40)}
    drawer = [
        (
            f"{name * (n % 3)}{long if n == 5 else ''} {place[7:]}-{n}",
            "each",
            n,
            10,
            50,
            0.05,
            place,
        )
        for place, count in counts.items()
        for n in range(count)
    ]
    folder = placed(tmp_path, (), drawer)
    done_ = bom("stock", "sheet", "--pdf", "c.pdf", cwd=folder)
    assert done_.returncode == 0, done_.stderr
    data = (folder / "c.pdf").read_bytes()
    assert_whole({"c.pdf": data})
    named = set[str]()
    for page in pages(data):
        here = {word["text"].partition("-")[0] for word in _last_words(page)}
        heads = {place for place in counts if f"{place} set aside in the book" in page.text}
        assert heads == {f"drawer {place}" for place in here}
        named |= heads
    assert named == {*counts}


def _last_words(page: Page) -> list[dict[str, Any]]:
    """The words that end a name, `13-4`."""
    return [
        word
        for word in page.words
        if word["text"].replace("-", "", 1).isdigit()
        and "-" in word["text"][1:]
        and word["x0"] < 400
    ]


def test_files_have_a_column_to_type_in(folder: Path) -> None:
    """Blank, between what the book says and its unit; on the screen alone there is none."""
    assert "counted" not in bom("stock", "sheet", cwd=folder).stdout
    bom("stock", "sheet", "--xlsx", "c.xlsx", "--csv", "c.csv", cwd=folder)
    head, *rows = load_workbook(folder / "c.xlsx").worksheets[0].iter_rows(values_only=True)
    assert head[:6] == ("place", "piece or item", "in the book", "counted", "unit", "set aside")
    assert len(rows) == len(WALK) and {row[3] for row in rows} == {None}
    with (folder / "c.csv").open(encoding="utf-8-sig") as stream:
        assert [row["counted"] for row in csv.DictReader(stream)] == [""] * len(WALK)


def test_a_word_that_nothing_has(folder: Path) -> None:
    """As bom stock show says it, and no file is written."""
    done_ = bom("stock", "sheet", "zzzz", "--pdf", "c.pdf", cwd=folder)
    assert done_.returncode == 1 and "nothing on the shelf has 'zzzz'" in done_.stderr
    assert not (folder / "c.pdf").exists()


def test_no_sheet_of_a_book_with_errors(tmp_path: Path) -> None:
    """It would have less on it than there is."""
    folder = shop(tmp_path, [("R01", "1.0", "red", "long", 0.3)])
    done_ = bom("stock", "sheet", "--pdf", "c.pdf", cwd=folder)
    assert done_.returncode == 1 and "'long'" in done_.stderr
    assert not (folder / "c.pdf").exists()
