"""An invoice's price into the price book: its row changed and dated, or one added."""

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from bom.job import find_workshop
from bom.trade.job_book import Colour
from bom.trade.placed import OrderLine
from bom.trade.rows import Row
from bom.workshop.invoice_prices import BookedPrices, Invoiced, book_invoice, invoiced_line
from bom.workshop.stockroom import How
from tests.shops import offers, workshop

DAY = date(2026, 11, 27)
RED = Colour("red", "")
FUSE = "blade fuse, 10 A"


def shop(tmp_path: Path, *rows: Any, taxed: str = "no") -> Path:
    """A workshop that buys of Abel, whose list has these rows."""
    return workshop(tmp_path / "shop", prices=[*rows], suppliers=[("Abel", 0, None, None, taxed)])


def rows_of(folder: Path) -> list[tuple[Any, ...]]:
    """The rows of the price book under its headings."""
    rows = load_workbook(folder / "prices.xlsx")["Prices"].iter_rows(min_row=2, values_only=True)
    return list(rows)


def booked(folder: Path, *invoiced: Invoiced, dry_run: bool = False) -> BookedPrices:
    """What comes of an invoice."""
    return book_invoice(find_workshop(folder), invoiced, DAY, How(dry_run=dry_run))


def fuses(price: str, **more: Any) -> Invoiced:
    """A pack of ten fuses of Abel's."""
    told: dict[str, Any] = {"supplier": "abel", "item": FUSE, "sold_as": "pack"}
    return Invoiced(**told | {"pack": Decimal(10), "price": Decimal(price)} | more)


def cable(price: str, colour: Colour | None = RED, **more: Any) -> Invoiced:
    """Cable of 1.0 mm2 of Abel's by the metre."""
    told: dict[str, Any] = {"supplier": "Abel", "item": "cable, 1.0 mm2, red", "gauge": "1.0"}
    return Invoiced(**told | {"colour": colour, "sold_as": "metre", "price": Decimal(price)} | more)


def test_the_row_of_the_goods_is_changed_and_dated(tmp_path: Path) -> None:
    """Ten at 2.00 become ten at 2.125; fifty at 9.00 are another row, and stay."""
    ten, fifty = (
        ("Abel", FUSE, None, None, "pack", 10, 2),
        ("Abel", FUSE, None, None, "pack", 50, 9),
    )
    folder = shop(tmp_path, ten, fifty)
    done = booked(folder, fuses("2.125"))
    assert (done.file, done.written, done.problems) == ("prices.xlsx", True, ())
    assert [str(one) for one in done.prices] == [f"abel, {FUSE}, pack of 10: 2.125 (was 2.00)"]
    assert rows_of(folder) == [(*ten[:6], 2.125, None, "2026-11-27"), (*fifty, None, None)]


def test_what_is_on_no_list_gets_a_row(tmp_path: Path) -> None:
    """With the supplier as the list spells it, and the part number only where the list has one."""
    folder = shop(tmp_path, ("Abel", "cable", "1.0", "red", "metre", None, 0.4))
    done = booked(folder, fuses("2.00", part_no="K7"))
    assert done.prices[0].was is None
    assert rows_of(folder)[1] == ("Abel", FUSE, None, None, "pack", 10, 2, None, "2026-11-27")


def test_a_dry_run_tells_and_writes_nothing(tmp_path: Path) -> None:
    """The book stays byte for byte."""
    folder = shop(tmp_path, *offers("Abel cable 0.40 metre"))
    before = (folder / "prices.xlsx").read_bytes()
    done = booked(folder, cable("0.50"), dry_run=True)
    assert [one.was for one in done.prices] == [Decimal("0.40")] and not done.written
    assert (folder / "prices.xlsx").read_bytes() == before


def test_the_row_that_was_bought_at_is_found(tmp_path: Path) -> None:
    """A colour's own row before that of every plain colour; at 25 m the row from 25 on.

    A trace is no plain colour: blue/white gets a row of its own.
    """
    plain, red = "Abel cable 0.40 metre; Abel cable 0.30 metre from 25", "Abel cable 0.45 metre"
    folder = shop(tmp_path, *offers(plain), *offers(red, colour="red"))
    booked(folder, cable("0.50"), cable("0.35", Colour("blue", ""), packs=30))
    booked(folder, cable("0.60", Colour("blue", "white")))
    found = [(row[3], float(row[6]), row[7]) for row in rows_of(folder)]
    assert found == [
        (None, 0.4, None),
        (None, 0.35, "25"),
        ("red", 0.5, None),
        ("blue/white", 0.6, None),
    ]


def test_two_prices_at_one_row(tmp_path: Path) -> None:
    """Red at 0.50 and green at 0.50 change the row of all colours once; blue at 0.60 is its own."""
    folder = shop(tmp_path, *offers("Abel cable 0.40 metre"))
    green, blue = Colour("green", ""), Colour("blue", "")
    booked(folder, cable("0.50"), cable("0.50", green), cable("0.60", blue))
    found = [(row[3], float(row[6])) for row in rows_of(folder)]
    assert found == [(None, 0.5), ("blue", 0.6)]


def test_a_list_with_tax_is_kept_with_tax(tmp_path: Path) -> None:
    """2.00 net at 20 % is 2.40 on the list; it was 1.80, which is 1.50 net."""
    folder = shop(tmp_path, ("Abel", FUSE, None, None, "pack", 10, 1.8), taxed="yes")
    done = booked(folder, fuses("2.00"))
    assert done.prices[0].was == Decimal("1.50")
    assert rows_of(folder)[0][6] == 2.4


def test_another_part_number_is_another_row(tmp_path: Path) -> None:
    """K1 and K2 are two articles; a row without a number takes either."""
    folder = shop(tmp_path)
    (folder / "prices.xlsx").unlink()
    text = "supplier,item,sold as,pack,price,part no\n"
    (folder / "prices.csv").write_text(f'{text}Abel,"{FUSE}",pack,10,2.00,K1\n')
    booked(folder, fuses("2.10", part_no="K2"))
    booked(folder, fuses("2.20", part_no="k1"))
    lines = (folder / "prices.csv").read_text().splitlines()
    assert lines[0] == "supplier,item,sold as,pack,price,part no,date"
    assert lines[1].endswith("pack,10,2.2,K1,2026-11-27")
    assert lines[2].endswith("pack,10,2.1,K2,2026-11-27")


def test_a_workshop_without_a_price_book_gets_one(tmp_path: Path) -> None:
    """Made as `prices add` makes it."""
    folder = shop(tmp_path)
    (folder / "prices.xlsx").unlink()
    assert booked(folder, fuses("2.00")).file == "prices.xlsx"
    assert rows_of(folder)[0][:2] == ("Abel", FUSE)


@pytest.mark.parametrize("fault", ["row", "open"])
def test_a_book_that_cannot_be_changed_is_told(tmp_path: Path, fault: str) -> None:
    """A price that is none, or somebody has the book open: nothing is written."""
    price = "cheap" if fault == "row" else 2
    folder = shop(tmp_path, ("Abel", FUSE, None, None, "pack", 10, price))
    if fault == "open":
        (folder / ".~lock.prices.xlsx#").write_text(",anna,desk,27.11.2026 10:00,;")
    before = (folder / "prices.xlsx").read_bytes()
    done = booked(folder, fuses("2.00"))
    (problem,) = done.problems
    assert problem.level == "error" and not done.written
    assert ("'cheap' is not a number" if fault == "row" else "it is open, by anna") in problem.says
    assert (folder / "prices.xlsx").read_bytes() == before


def test_the_line_of_an_order_at_the_price_of_its_invoice(tmp_path: Path) -> None:
    """Five packs of ten were ordered at 1.80, the price from five on; they cost 1.90."""
    one = ("Abel", FUSE, None, None, "pack", 10, 2, 1)
    folder = shop(tmp_path, one, (*one[:6], 1.8, 5))
    told: dict[str, Any] = {"number": "2026-001", "supplier": "Abel", "item": FUSE, "gauge": ""}
    told |= {"colour": None, "sold_as": "pack", "pack": Decimal(10), "packs": 5, "came": 5}
    told |= dict.fromkeys(("jobs", "needed"), ()) | dict.fromkeys(("part_no", "note"), "")
    line = OrderLine(**told, date=DAY, price=Decimal("1.8"), measured=False, row=Row("", "", 2))
    booked(folder, invoiced_line(line, Decimal("1.90")))
    assert [float(row[6]) for row in rows_of(folder)] == [2, 1.9]


def test_nothing_is_asked_where_there_is_no_workshop(tmp_path: Path) -> None:
    """No folder to write into, and nothing to write."""
    assert booked(tmp_path, fuses("2.00")) == BookedPrices()
    assert booked(shop(tmp_path)) == BookedPrices()
