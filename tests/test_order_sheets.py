"""`--pdf FOLDER` of `bom order` and `bom topup`: each supplier's sheet, read back from the PDF."""

import errno
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from bom.estimate import buy_for
from bom.files import clock
from bom.show.papers import order_papers
from tests.books import book
from tests.shops import DRAWER, PRICES, SUPPLIERS, job
from tests.test_papers import TODAY, assert_whole, pages, text_of
from tests.test_safely import failing
from tests.within import bom

COVER, FUSE, TAPE = "bullet cover, male", "blade fuse, 10 A", "loom tape, PVC, 19 mm"
LONG = "Ångström & Sons Wholesale of Terminals, Cables and Everything Else (invented)"
RULES = 'name = "Example Rewires (invented)"\naddress = "1 Any Lane; Any Town"\ncurrency = "EUR"\n'


def shop(folder: Path, drawer: Sequence[Any], prices: Sequence[Any]) -> Path:
    """A workshop whose drawer is low; its price list has part numbers, its suppliers postage."""
    names = dict.fromkeys(str(row[0]) for row in prices)
    (folder / "workshop.toml").write_text(RULES, encoding="utf-8")
    (folder / "jobs").mkdir()
    book(folder, "stock.xlsx", Drawer=[DRAWER, *drawer])
    book(folder, "prices.xlsx", Prices=[(*PRICES, "part no"), *prices])
    rows = [(name, 3.95, 100, None, "no") for name in names]
    book(folder, "suppliers.xlsx", Suppliers=[SUPPLIERS, *rows])
    return folder


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    """Covers in packs of 25 at 1.625 here, fuses there; two of each more than are low."""
    drawer = [(COVER, "each", 5, 10, 50, None), (FUSE, "each", 1, 5, 10, None)]
    prices = [
        ("North/South", COVER, None, None, "pack", 25, 1.625, None, "BC-25"),
        ("north:south", FUSE, None, None, "each", 1, 0.12, None, None),
        (LONG, "cable", "1.0", None, "metre", None, 0.5, None, "C10"),
    ]
    return shop(tmp_path, drawer, prices)


def files(folder: Path) -> list[str]:
    """The sheets there."""
    return sorted(path.name for path in folder.iterdir())


def test_a_top_up_on_paper(folder: Path) -> None:
    """45 covers are two packs at 1.625, 3.25 in all; nine fuses at 0.12 are 1.08; and postage."""
    done = bom("topup", "--pdf", "papers/of today", cwd=folder)
    assert done.returncode == 0, done.stderr
    papers = folder / "papers" / "of today"
    assert files(papers) == ["order North South.pdf", "order north south (2).pdf"]
    next_step = 'next: print or send, in "papers/of today": '
    assert done.stdout.endswith(f"{next_step}order North South.pdf, order north south (2).pdf\n")
    text = text_of((papers / files(papers)[0]).read_bytes())
    for words in (
        *("Example Rewires (invented) 1 Any Lane Any Town", "to North/South order no date"),
        *("for top-up", "part no item sold as pack packs price cost"),
        *("BC-25 bullet cover, male pack 25 2 €1.625 €3.25", "goods €3.25"),
        *("postage €3.95", "Total without tax €7.20"),
        *("Order to North/South from Example Rewires (invented)", "page 1 of 1"),
    ):
        assert words in text, words
    other = text_of((papers / files(papers)[1]).read_bytes())
    assert "part no" not in other and "blade fuse, 10 A each 1 9 €0.12 €1.08" in other
    assert "Total without tax €5.03" in other and "cover" not in other


def test_a_joint_order_on_paper(folder: Path) -> None:
    """Each sheet names the jobs that wait for its lines: red for twin, blue and fuses for mono."""
    extra = [("item", "qty", "unit", "price"), (FUSE, 4, "each", None)]
    job(folder, [("W1", "red", "1.0", 2)], "twin", {})
    job(folder, [("W1", "blue", "1.0", 1)], "mono", {}, Extras=extra)
    done = bom("order", "twin", "mono", "--topup", "--pdf", "papers", cwd=folder)
    assert done.returncode == 0, done.stderr
    found = {}
    for name in files(folder / "papers"):
        text = text_of((folder / "papers" / name).read_bytes())
        found[name] = text.partition(" for ")[2].partition(" item ")[0].removesuffix(" part no")
    assert found == {
        f"order {LONG}.pdf": "twin, mono",
        "order North South.pdf": "top-up",
        "order north south (2).pdf": "mono, top-up",
    }


def test_a_number_stands_on_its_sheet_and_in_its_name(folder: Path) -> None:
    """Where it has none yet there is a line to write it on, as on each of today's."""
    bought = buy_for([], topping_up=True, start=folder)
    numbered = order_papers(bought, TODAY, {"North/South": "2026-014"})
    assert [*numbered] == ["order 2026-014 North South.pdf", "order north south.pdf"]
    given, blank = numbered.values()
    assert "order no 2026-014" in text_of(given)
    assert "Order 2026-014 to North/South" in text_of(given)
    assert "order no date" in text_of(blank)
    lines = [s for page in pages(blank) for s in page.shapes if abs(s["width"] - 127.6) < 1]
    assert len(lines) == 1  # 45 mm are 127.6 pt
    assert [*order_papers(bought, TODAY)] == [
        "order North South.pdf",
        "order north south (2).pdf",
    ]
    assert order_papers(bought, TODAY) == order_papers(bought, TODAY)


@pytest.mark.parametrize("part", ["", "BC-{n:05d}", "A-PART-NUMBER-OF-FORTY-LETTERS-THAT-{n:05d}"])
def test_sixty_lines_of_long_names(part: str, tmp_path: Path) -> None:
    """Whole, all there, the headings on each page, the total on one page with the last lines."""
    names = [
        f"terminal {n}, tinned, with a name that goes on for two lines at the least"
        for n in range(60)
    ]
    shop(
        tmp_path,
        [(name, "each", 0, 10, 50, None) for name in names],
        [
            (LONG, name, None, None, "pack", 50, 12.5, None, part.format(n=n) or None)
            for n, name in enumerate(names)
        ],
    )
    (data,) = order_papers(buy_for([], topping_up=True, start=tmp_path), TODAY).values()
    assert_whole({"order": data})
    text = text_of(data)
    assert "Total without tax €750.00" in text  # and no postage: free over 100
    assert all(f"terminal {n}, tinned" in text for n in range(60))
    for page in pages(data):
        assert ("part no item" in page.text) == bool(
            part
        ) and "sold as pack packs price" in page.text
    if not part:  # the names have that room as well
        assert "terminal 7, tinned, with a name that goes on" in pages(data)[0].text
    assert "terminal 59," in pages(data)[-1].text and "goods" in pages(data)[-1].text


def test_what_is_bought_elsewhere_is_ordered_of_nobody(folder: Path) -> None:
    """It is to be found: four at 0.125 each, as typed on Extras, on the workshop's own page."""
    extra = [("item", "qty", "unit", "price"), ("grommet", 4, "each", 0.125)]
    path = job(folder, [("W1", "red", "1.0", 2)], "twin", {}, Extras=extra)
    papers = order_papers(buy_for([path]), TODAY, {LONG: "2026-015"})
    assert [*papers] == [f"order 2026-015 {LONG}.pdf", "shopping.pdf"]
    text = text_of(papers["shopping.pdf"])
    assert f"Shopping list for twin date 25 November 2026 Orders {LONG}" in text
    assert "grommet 4 €0.125 €0.50" in text and "to find €0.50" in text
    assert "order no" not in text and "elsewhere" not in text
    assert_whole(papers)


def test_the_shopping_list_has_no_sum_of_all_while_something_has_no_price(folder: Path) -> None:
    """Cable with a stripe, which nobody sells, is on a sheet of its own; the sum is `so far`."""
    extra = [("item", "qty", "unit", "price"), ("grommet", 4, "each", 0.125)]
    for colour, says in (("red", "all, with"), ("red/white", "so far, with")):
        path = job(folder, [("W1", "red", "1.0", 2), ("W2", colour, "1.0", 2)], Extras=extra)
        papers = order_papers(buy_for([path]), TODAY)
        text = text_of(papers["shopping.pdf"])
        assert f"to find €0.50 {says} postage and without tax €" in text
        unpriced = "1 item has no price: see prices wanted.pdf"
        assert (unpriced in text) == ("prices wanted.pdf" in papers) == (colour == "red/white")
        assert_whole(papers)


@pytest.mark.parametrize(
    ("unit", "qty", "says"),
    [("each", 1, "1"), ("mm", 750, "0.75 m"), ("m", 2, "2 m")],
)
def test_what_is_to_be_found_says_how_much(unit: str, qty: float, says: str, folder: Path) -> None:
    """Pieces by their number, lengths in metres."""
    extra = [("item", "qty", "unit", "price"), ("guard", qty, unit, 1)]
    path = job(folder, [("W1", "red", "1.0", 2)], "twin", {}, Extras=extra)
    text = text_of(order_papers(buy_for([path]), TODAY)["shopping.pdf"])
    assert f"guard {says} €" in text


def test_orders_that_are_placed_have_their_numbers(folder: Path) -> None:
    """The first of the year on the first sheet, and in the names of both."""
    year = clock.today().year
    done = bom("topup", "--place", "--pdf", "papers", cwd=folder)
    assert done.returncode == 0, done.stderr
    north, south = (f"order {year}-001 North South.pdf", f"order {year}-002 north south.pdf")
    assert files(folder / "papers") == [north, south]
    assert f"order no {year}-001" in text_of((folder / "papers" / north).read_bytes())
    assert done.stdout.endswith(f"next: print or send, in papers: {north}, {south}\n")


def test_what_cannot_be_printed_is_placed_all_the_same(folder: Path) -> None:
    """And said so: nobody orders it twice."""
    with (folder / "workshop.toml").open("a", encoding="utf-8") as rules:
        rules.write('logo = "none.png"\n')
    done = bom("topup", "--place", "--pdf", "papers", cwd=folder)
    assert done.returncode == 1 and "logo 'none.png': there is no such file" in done.stderr
    assert done.stderr.endswith("    the order is placed all the same\n")
    assert f"{clock.today().year}-001" in bom("stock", "orders", cwd=folder).stdout


def test_a_price_is_printed_whole(folder: Path) -> None:
    """1.625 for a pack beside 3.25 for two: on the screen and in files as on paper."""
    printed = bom("topup", "--csv", "list.csv", cwd=folder).stdout
    (row,) = [line for line in printed.splitlines() if "bullet cover" in line]
    assert row.split()[-3:] == ["2", "1.625", "3.25"]
    assert ",1.625," in (folder / "list.csv").read_text(encoding="utf-8-sig")


def test_together_or_none(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a full disk neither a folder nor the list in an .xlsx beside it."""
    monkeypatch.setattr(os, "fsync", failing(errno.ENOSPC))
    done = bom("topup", "--pdf", "papers", "--xlsx", "list.xlsx", cwd=folder)
    assert done.returncode == 1 and "the disk is full" in done.stderr
    assert not (folder / "papers").exists() and not (folder / "list.xlsx").exists()
    monkeypatch.undo()
    done = bom("topup", "--pdf", "papers", "--xlsx", "list.xlsx", cwd=folder)
    assert done.returncode == 0 and len(files(folder / "papers")) == 2
    assert (folder / "list.xlsx").exists()


def test_a_file_where_the_folder_belongs(folder: Path) -> None:
    """Or a book of the workshop, which is left as it is."""
    (folder / "papers").write_text("mine")
    done = bom("topup", "--pdf", "papers", cwd=folder)
    assert done.returncode == 1 and "papers" in done.stderr and not done.stdout
    assert (folder / "papers").read_text() == "mine"
    done = bom("topup", "--pdf", "stock.xlsx", cwd=folder)
    assert done.returncode == 1 and "is a book of the workshop" in done.stderr


def test_nothing_to_order_makes_no_folder(tmp_path: Path) -> None:
    """And what comes next is what it would be without paper."""
    shop(
        tmp_path,
        [(COVER, "each", 20, 10, 50, None)],
        [(LONG, COVER, None, None, "each", 1, 1, None, None)],
    )
    done = bom("topup", "--pdf", "papers", cwd=tmp_path)
    assert done.returncode == 0 and done.stdout.endswith("next: bom stock show\n")
    assert not (tmp_path / "papers").exists()


def test_an_order_with_errors_has_no_papers(folder: Path) -> None:
    """Nothing is printed of it."""
    book = job(folder, [("W1", "gren", "1.0", 2)], "twin", {})
    done = bom("order", book, "--pdf", "papers", cwd=folder)
    assert done.returncode == 1 and "gren" in done.stderr
    assert not (folder / "papers").exists()
