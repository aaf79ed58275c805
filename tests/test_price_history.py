"""`bom prices show WORD...`: what the goods cost now, on the lists before, and what was paid."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from tests.books import book
from tests.shops import CABLE, DRAWER, PRICES, RING, offers, workshop
from tests.stockrooms import MOVES
from tests.within import bom

ORDERS = (
    *("number", "date", "supplier", "item", "gauge", "colour", "sold as", "pack", "packs"),
    *("price", "part no", "for", "came"),
)
REEL = ("cable", "1.0", "red", "reel", 50)


def come(when: str, item: str, unit: str, note: str) -> tuple[Any, ...]:
    """A move of goods that came in."""
    return (f"{when} 10:00:00", None, "receive", item, 50, unit, 50, note)


def shop(folder: Path, moves: Sequence[Any] = (), orders: Sequence[Any] = ()) -> Path:
    """A workshop that knows prices of Abel and Berta, with what came in and what was ordered."""
    rows = offers("Abel cable 0.40 metre; Abel cable 0.35 metre from 25", colour="red")
    rows += offers("Berta cable 0.45 metre; Berta ring 4.20 pack 50")
    workshop(folder, prices=rows, suppliers=[("Abel", 3), ("Berta", 0)])
    sheets: dict[str, Any] = {"Cable": [CABLE], "Drawer": [DRAWER], "Moves": [MOVES, *moves]}
    book(folder, "stock.xlsx", **sheets, Orders=[ORDERS, *orders])
    return folder


def found(folder: Path, *words: str) -> dict[str, Any]:
    """What `bom prices show --json` answers."""
    answer: dict[str, Any] = json.loads(bom("prices", "show", *words, "--json", cwd=folder).stdout)
    return answer


def past(folder: Path, *words: str) -> list[str]:
    """The past of what has these words: day, supplier, form, price and where it stands."""
    return [
        f"{p['date']} {p['supplier']} {p['packs']} x {p['sold_as']} {p['pack']} {p['price']}: "
        f"{p['from']}"
        for p in found(folder, *words)["past"]
    ]


@pytest.mark.parametrize(
    ("words", "prices"),
    [
        ("1.0 red", "0.40 0.35 0.45"),  # Berta's, of every plain colour, is red too
        ("1 RED abel", "0.40 0.35"),
        ("cable blue", "0.45"),
        ("blue/white", ""),  # no plain colour
        ("ring M6", "4.20"),
        ("berta pack", "4.20"),
    ],
)
def test_rows_are_found_by_their_words(tmp_path: Path, words: str, prices: str) -> None:
    """In any order and case, numbers by their value, as the shelf is searched."""
    done = bom("prices", "show", *words.split(), "--json", cwd=shop(tmp_path))
    if not prices:
        assert "nothing on the price lists has 'blue white'" in done.stdout
        return
    rows = json.loads(done.stdout)["prices"]
    assert " ".join(row["price"] for row in rows) == prices


def test_words_that_nothing_has_are_told_with_the_nearest(tmp_path: Path) -> None:
    """A slip in one of two words."""
    done = bom("prices", "show", "rign", "m6", cwd=shop(tmp_path))
    assert done.returncode == 1
    assert "nothing on the price lists has 'rign'" in done.stderr
    assert "try: bom prices show ring m6" in done.stderr


def test_from_how_many_on_a_price_holds_is_shown(tmp_path: Path) -> None:
    """The 0.35 is the price from 25 m on; blank stands for the price of one."""
    out = bom("prices", "show", cwd=shop(tmp_path)).stdout
    head, _, first, second, *_ = (line.split() for line in out.splitlines()[2:])
    assert head[-5:-2] == ["qty", "price", "GBP"] and "from" in head
    assert (first[-2:], second[-2:]) == (["1", "0.40"], ["25", "0.35"])
    assert [row["from_qty"] for row in found(tmp_path)["prices"]] == [1, 25, 1, 1]


def test_what_a_list_said_before_is_told(tmp_path: Path) -> None:
    """0.40 without a date, then 0.50 by a list and 0.60 by the next; the day is that of the list.

    Berta's price, which stayed, has no past.
    """
    folder, head = shop(tmp_path), ("Description", "Colour", "Unit", "Net price")
    for price in ("0.50", "0.50", "0.60"):
        listed = book(
            folder, "list.xlsx", Prices=[head, ("Thinwall cable 1.0mm2", "red", "metre", price)]
        )
        assert bom("prices", "add", listed, "--supplier", "Abel", cwd=folder).returncode == 0
    prices = load_workbook(folder / "prices.xlsx")["Prices"]
    today = prices.cell(2, len(PRICES) + 1).value
    assert past(folder, "1.0", "red") == [
        f"{today} Abel 0 x metre 1 0.50: list until {today}",
        f" Abel 0 x metre 1 0.40: list until {today}",
    ]
    assert "past" not in found(folder)


def test_what_came_in_is_told_with_what_was_paid(tmp_path: Path) -> None:
    """Two reels of one line once; what was undone not; a day of the owner's own is left blank."""
    reel = "1.0 red, Abel, 2 x reel of 50 at 14 (abc123)"
    moves = [
        come("2026-10-01", "R08", "m", f"new row; {reel}; rack A"),
        come("2026-10-01", "R09", "m", f"new row; {reel}; rack A"),
        come("2026-10-02", RING, "each", "Berta, 3 x pack of 50 at 4.2 (aaa111); cost 0.08"),
        come("2026-10-03", "R10", "m", "new row; 1.0 red, Abel, 1 x reel of 50 at 99 (abc124)"),
        ("2026-10-03 11:00:00", None, "undo", "R10", -50, "m", 0, "undoes receive of "
         "2026-10-03 10:00:00"),
        ("mid October", None, "receive", RING, 50, "each", 200, "Berta, 1 x pack of 50 at 4.4"),
        come("2026-10-04", RING, "each", "bought at the counter"),
    ]  # fmt: skip
    folder = shop(tmp_path, moves)
    assert past(folder, "1.0", "red") == ["2026-10-01 Abel 2 x reel 50 14.00: came in"]
    assert past(folder, "ring") == [
        "2026-10-02 Berta 3 x pack 50 4.20: came in",
        " Berta 1 x pack 50 4.40: came in",
    ]


def test_what_was_ordered_is_told_once(tmp_path: Path) -> None:
    """The order of three reels at 13.50, of which one came at that price and two at 13.90.

    Four packs of rings are on order, and have not come; a line without a price says nothing.
    """
    note = "new row; 1.0 red; order 2026-014: 1 x reel of 50 at"
    moves = [
        come("2026-10-08", "R08", "m", f"{note} 13.5, Abel"),
        come("2026-10-09", "R09", "m", f"{note} 13.9, Abel; rack A"),
        come("2026-10-09", "R10", "m", f"{note} 13.9, Abel; rack A"),
    ]
    orders = [
        ("2026-014", "2026-10-05", "Abel", *REEL, 3, 13.5, "K7", "twin", 3),
        ("2026-015", "2026-10-06", "Berta", RING, None, None, "pack", 50, 4, 4.25, None, None, 0),
        ("2026-016", "2026-10-07", "Berta", RING, None, None, "pack", 50, 4, None, None, None, 0),
    ]
    folder = shop(tmp_path, moves, orders)
    reels = [
        "2026-10-09 Abel 2 x reel 50 13.90: came in, order 2026-014",
        "2026-10-05 Abel 3 x reel 50 13.50: order 2026-014",
    ]
    assert past(folder, "1.0", "red") == reels
    assert past(folder, "K7") == reels[1:]
    assert past(folder, "ring") == ["2026-10-06 Berta 4 x pack 50 4.25: order 2026-015, not come"]


def test_what_one_costs_stands_beside_the_pack(tmp_path: Path) -> None:
    """50 rings at 4.20 are 0.084 each, and at 4.25, as they were ordered, 0.085."""
    order = ("2026-015", "2026-10-06", "Berta", RING, None, None, "pack", 50, 4, 4.25)
    out = bom("prices", "show", "ring", cwd=shop(tmp_path, orders=[order])).stdout
    lines = [" ".join(line.split()) for line in out.splitlines()]
    assert f"Berta {RING} pack of 50 4.20 0.084" in lines
    assert f"2026-10-06 Berta {RING} pack of 50 4.25 0.085 4 order 2026-015, not come" in lines


def test_a_stock_book_with_errors_does_not_hide_the_lists(tmp_path: Path) -> None:
    """The prices are shown, and that nothing is told of what was paid."""
    folder = shop(tmp_path, orders=[("2026-015", "soon", "Berta", RING)])
    done = bom("prices", "show", "ring", cwd=folder)
    assert done.returncode == 0 and "4.20" in done.stdout
    assert "what was paid for orders and for what came in is not told" in done.stderr
