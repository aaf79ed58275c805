"""What the workshop has: its shelf, its drawer, its price lists and its suppliers."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from bom.read.books import find_book
from bom.read.prices import items_unknown, read_prices
from bom.read.stock import EMPTY_STOCK, read_stock
from bom.trade.catalogue_files import load_catalogue
from bom.trade.job_book import Colour
from bom.trade.orders import Price, PriceBook
from bom.trade.problem import Problem
from bom.trade.shelf import Stock
from tests.books import Rows, book

CATALOGUE, _ = load_catalogue()
CABLE = ("piece", "gauge", "colour", "length", "cost per m", "place", "note")
DRAWER = ("item", "unit", "on hand", "low", "full", "cost", "place", "note")
PRICES = ("supplier", "item", "gauge", "colour", "sold as", "pack", "price", "from qty", "part no")
SUPPLIERS = ("supplier", "postage", "free over", "minimum order", "prices include tax")


def told(problems: Sequence[Problem]) -> list[tuple[str, str, str, str]]:
    """Problems as (level, sheet, cell, sentence)."""
    return [(p.level, p.where.sheet, p.where.cell, p.says) for p in problems]


def stock(folder: Path, **sheets: Rows) -> tuple[Any, list[tuple[str, str, str, str]]]:
    """A stock book written and read; `Any`, so that its figures compare with plain numbers."""
    found, problems = read_stock(book(folder, "stock.xlsx", **sheets), CATALOGUE)
    assert isinstance(found, Stock)
    return found, told(problems)


def prices(
    folder: Path, rows: Rows, suppliers: Rows | None = None, tax: str = "20"
) -> tuple[Any, list[tuple[str, str, str, str]]]:
    """Price lists and suppliers written and read; `Any` as with the stock."""
    terms = book(folder, "suppliers.xlsx", Suppliers=suppliers) if suppliers else None
    listed = book(folder, "prices.xlsx", Prices=rows)
    found, problems = read_prices(listed, terms, Decimal(tax), CATALOGUE)
    assert isinstance(found, PriceBook)
    return found, told(problems)


def line(**cells: Any) -> tuple[Any, ...]:
    """One row of a price list: `each` at 1.00 from A unless told otherwise."""
    usual: dict[str, Any] = {"supplier": "A", "item": "ring", "sold_as": "each", "price": 1}
    return tuple((usual | cells).get(heading.replace(" ", "_")) for heading in PRICES)


# ------------------------------------------------------------------------------- finding


@pytest.mark.parametrize("name", ["stock.xlsx", "stock.xlsm", "stock.ods", "stock.csv", "stock"])
def test_a_book_is_found_in_whichever_kind_it_is_kept(tmp_path: Path, name: str) -> None:
    """A folder of .csv files is a book too; nothing on the shelf is no fault."""
    path = tmp_path / name
    assert find_book(tmp_path, "stock") is None
    path.mkdir() if name == "stock" else path.write_text("", encoding="utf-8")
    assert find_book(tmp_path, "stock") == path


# --------------------------------------------------------------------------------- cable


def test_cable_on_the_shelf(tmp_path: Path) -> None:
    """One row a reel or offcut, its length in whole millimetres."""
    found, problems = stock(
        tmp_path, Cable=[CABLE, ("R1", "1.0", "U/W", 48.5, 0.35, "rack 2", "reel")]
    )
    assert problems == []
    (reel,) = found.pieces
    assert (reel.name, reel.gauge, reel.colour) == ("R1", "1.0", Colour("blue", "white"))
    assert (reel.length_mm, reel.cost_per_m, reel.place) == (48_500, Decimal("0.35"), "rack 2")
    assert reel.row.where("length").cell == "D2"


@pytest.mark.parametrize(
    ("heading", "cell", "mm"),
    [
        ("length", 5, 5000),
        ("length m", 5, 5000),
        ("length (mm)", 5000, 5000),
        ("length", "5 m", 5000),
        ("length", "850 mm", 850),
        ("length mm", "0.85 m", 850),
        ("length", "5,25", 5250),
        # 47 in x 25.4 = 1193.8 mm: a part of a millimetre on the shelf cannot be cut
        ("length", "47 in", 1193),
        # an offcut used up may stand there with nothing left
        ("length", 0, 0),
    ],
)
def test_lengths_on_the_shelf(tmp_path: Path, heading: str, cell: Any, mm: int) -> None:
    """The cell's unit, the heading's, then metres; never more than there is."""
    rows = [("piece", "gauge", "colour", heading), ("R1", "1.0", "red", cell)]
    found, problems = stock(tmp_path, Cable=rows)
    assert problems == []
    assert [piece.length_mm for piece in found.pieces] == [mm]


RED = ("1.0", "red")


@pytest.mark.parametrize(
    ("sheet", "rows", "found", "said"),
    [
        # headings alone, a blank sheet, or none of ours: an empty shelf
        ("Cable", [CABLE], [], []),
        ("Drawer", [], [], []),
        ("Diary", [("rain",)], [], []),
        # rows that cannot be understood are not taken for one
        ("Cable", [("R1", *RED, 5)], [], ["A1 no row has the headings 'piece' and 'gauge'"]),
        # two reels under one name could not be told apart at the bench
        (
            "Cable",
            [CABLE[:4], ("R1", *RED, 5), ("r1 ", *RED, 6), ("R2", *RED, 1)],
            [("R1", 5000), ("R2", 1000)],
            ["A3 piece 'r1' stands in A2 too"],
        ),
        # a faulty row hides no other, and the good ones are read
        (
            "Cable",
            [
                CABLE,
                *(("R1", "1.1", "red", 5), ("R2", "1.0", "gren", 5), ("R3", *RED, "1,200")),
                *((None, *RED, 5), ("R5", *RED, -5), ("R6", *RED, date(2026, 3, 4))),
                *(("R7", *RED, "#N/A"), ("R8", *RED, "=RAND()"), ("R9", *RED, 5, "dear")),
                *(("R10", *RED, 5), ("O7", 1, "N")),
            ],
            [("R9", 5000), ("R10", 5000)],  # what R9 cost is not known; how much it is, is
            ["B2", "C3", "D4", "A5", "D6", "D7", "D8", "D9", "E10", "D12 'length' is empty"],
        ),
        # nothing below zero, and full is not below low
        (
            "Drawer",
            [
                *(DRAWER, ("a", "each", -1), ("b", "each", "many"), (None, "each", 1)),
                *(("d", "each", 1, 10, 5), ("e", "each", None)),
            ],
            [("d", 1), ("e", 0)],
            [
                *("C2 -1 is below zero", "C3 'many' is not a number", "A4 'item' is empty"),
                "E5 full (5) is less than low (10)",
            ],
        ),
    ],
)
def test_the_stock_book(
    tmp_path: Path, sheet: str, rows: Rows, found: list[Any], said: list[str]
) -> None:
    """Each with its cell."""
    shelf, problems = stock(tmp_path, **{sheet: rows})
    there = [(piece.name, piece.length_mm) for piece in shelf.pieces]
    assert [*there, *((item.item, item.on_hand) for item in shelf.drawer)] == found
    assert [problem[:2] for problem in problems] == [("error", sheet)] * len(said)
    texts = [f"{cell} {says}" for _, _, cell, says in problems]
    assert [text for text, s in zip(texts, said, strict=True) if not text.startswith(s)] == []


def test_the_owners_own_sheets_and_columns_are_left_alone(tmp_path: Path) -> None:
    """Other sheets, columns and cells are the owner's, whatever is in them."""
    rows = [
        ("Shelf in the back room", None, None, None, None),
        ("photo", *CABLE[:4], "#N/A"),
        ("17.jpg", "R1", "1.0", "red", 5, "#REF!"),
    ]
    found, problems = stock(tmp_path, Diary=[("rain", "#N/A")], Cable=rows, Sums=[("=1+1",)])
    assert problems == []
    assert [piece.length_mm for piece in found.pieces] == [5000]


def test_a_stock_book_that_cannot_be_read_is_one_problem(tmp_path: Path) -> None:
    """And an empty shelf goes with it."""
    path = tmp_path / "stock.xlsx"
    path.write_text("not a workbook", encoding="utf-8")
    found, problems = read_stock(path, CATALOGUE)
    assert found == EMPTY_STOCK
    assert [problem.level for problem in problems] == ["error"]


# -------------------------------------------------------------------------------- drawer


def test_the_drawer_counts_things_and_measures_lengths(tmp_path: Path) -> None:
    """Counted things as they are; tape, tube and braid by length, in millimetres."""
    rows = [
        DRAWER,
        ("ring terminal, M6, 0.5-1.5 mm2", None, 30, 10, 50, "0.12", "drawer 4"),
        # 2.5 m on hand, low 1 m, full 20 m at 0.40 a metre: 0.0004 a millimetre
        ("loom tape, PVC, 19 mm", "m", 2.5, 1, 20, 0.4),
        ("PVC tube, 8 mm bore", "mm", 900, None, None, None),
    ]
    found, problems = stock(tmp_path, Drawer=rows)
    assert problems == []
    ring, tape, tube = found.drawer
    assert (ring.unit, ring.on_hand, ring.low, ring.full) == ("each", 30, 10, 50)
    assert (ring.cost, ring.place) == (Decimal("0.12"), "drawer 4")
    assert (tape.unit, tape.on_hand, tape.low, tape.full) == ("mm", 2500, 1000, 20_000)
    assert tape.cost == Decimal("0.0004")
    assert (tube.unit, tube.on_hand, tube.low) == ("mm", 900, None)


@pytest.mark.parametrize("unit", ["m", "M", "metre", "metres"])
def test_metres_by_any_name(tmp_path: Path, unit: str) -> None:
    """The unit of a drawer row is a word of its own."""
    found, _ = stock(tmp_path, Drawer=[DRAWER[:3], ("tape", unit, 3)])
    assert [(item.unit, item.on_hand) for item in found.drawer] == [("mm", 3000)]


def test_the_history_of_moves_is_read_as_it_stands(tmp_path: Path) -> None:
    """One row a change, numbers as numbers."""
    rows = [
        ("when", "job", "what", "item", "change", "unit", "left", "note"),
        ("2026-03-04 10:00", "twin", "issued", "R1", -1200, "mm", 800, None),
    ]
    cable = [("piece", "gauge", "colour", "length"), ("R1", "1.0", "red", "800 mm")]
    found, problems = stock(tmp_path, Cable=cable, Moves=rows)
    assert problems == []
    (move,) = found.moves
    assert (move.when, move.job, move.what, move.item) == rows[1][:4]
    assert (move.change, move.unit, move.left) == rows[1][4:7]


# -------------------------------------------------------------------------------- prices


def test_a_price_list(tmp_path: Path) -> None:
    """Cable with gauge and colour, things by their name; `sold as` in the four ways."""
    rows = [
        PRICES,
        ("A", "cable", "1,0 mm2", "BU/WH", "metre", None, 0.42, None, "C-10"),
        ("A", "cable", 1, None, "Reel", 50, "£16.00", 2, None),
        ("B", "ring terminal, M6, 0.5-1.5 mm2", None, None, "pack", 25, "3,50", None, None),
        ("B", "loom tape, PVC, 19 mm", None, None, "each", None, 1.2, None, None),
    ]
    found, problems = prices(tmp_path, rows)
    assert problems == []
    metre, reel, pack, each = found.prices
    assert (metre.gauge, metre.colour, metre.sold_as) == ("1.0", Colour("blue", "white"), "metre")
    assert (metre.pack, metre.price, metre.part_no) == (1, Decimal("0.42"), "C-10")
    # a cable row with no colour covers every plain colour
    assert (reel.gauge, reel.colour, reel.sold_as) == ("1.0", None, "reel")
    assert (reel.pack, reel.price, reel.from_qty) == (50, 16, 2)
    assert (pack.gauge, pack.pack, pack.price, pack.from_qty) == ("", 25, Decimal("3.50"), 1)
    assert (each.sold_as, each.pack) == ("each", 1)


def test_one_sheet_a_supplier_or_one_for_all(tmp_path: Path) -> None:
    """Every sheet with the headings is a price list; others are not spoken of."""
    path = book(
        tmp_path,
        "prices.xlsx",
        Notes=[("rang on Monday",)],
        North=[PRICES, line(supplier="A")],
        South=[PRICES, line(supplier="B", price=2)],
    )
    found, problems = read_prices(path, None, Decimal(20), CATALOGUE)
    assert problems == ()
    assert [(row.supplier, str(row.price)) for row in found.prices] == [("A", "1"), ("B", "2")]


@pytest.mark.parametrize(
    ("cells", "cell", "says"),
    [
        ({"pack": 0}, "F2", "a pack of 0"),
        ({"pack": -1}, "F2", "-1 is below zero"),
        ({"price": None}, "G2", "'price' is empty"),
        ({"price": -1}, "G2", "-1 is below zero"),
        ({"sold_as": "box"}, "E2", "sold as 'box' is not known"),
        ({"sold_as": None}, "E2", "'sold as' is empty"),
        ({"from_qty": 0}, "H2", "'0' is not a whole number from 1 up"),
        ({"supplier": None}, "A2", "'supplier' is empty"),
        ({"gauge": "4 mm"}, "C2", "'4 mm' may be a diameter: a gauge is an area"),
        ({"colour": "gren"}, "D2", "colour 'gren' is not known"),
        ({"price": "1,250"}, "G2", "'1,250' can be read in two ways"),
    ],
)
def test_faults_of_a_price_row(tmp_path: Path, cells: dict[str, Any], cell: str, says: str) -> None:
    """Each with its cell; the row behind it is read."""
    rows = [PRICES, line(**({"sold_as": "pack", "pack": 5} | cells)), line(item="good")]
    found, problems = prices(tmp_path, rows)
    assert problems == [("error", "Prices", cell, says)]
    assert [row.item for row in found.prices] == ["good"]


@pytest.mark.parametrize(
    ("rows", "cells", "says"),
    [
        # nothing is dropped in silence
        ([(*PRICES, "prise"), (*line(), None, "stray")], "J1 K2", "column 'prise' is not known"),
        # not a row at a time
        ([PRICES[:5], line()[:5], line(item="fork")[:5]], "A1", "no column 'price'"),
    ],
)
def test_columns_of_a_price_list(tmp_path: Path, rows: Rows, cells: str, says: str) -> None:
    """What stands under no heading, or under none that is known, and what lacks its own."""
    _, problems = prices(tmp_path, rows)
    assert [(level, cell) for level, _, cell, _ in problems] == [
        ("error", cell) for cell in cells.split()
    ]
    assert problems[0][3] == says


# ----------------------------------------------------------------------------- suppliers


def test_suppliers_and_their_terms(tmp_path: Path) -> None:
    """Postage, where it ends, the least order; blanks are no postage and no limits."""
    terms = [SUPPLIERS, ("A", 4.95, 50, 20, "no"), ("B",)]
    found, problems = prices(tmp_path, [PRICES, line(), line(supplier="b")], terms)
    assert problems == []
    a, b = found.suppliers["A"], found.suppliers["B"]
    assert (a.postage, a.free_over, a.minimum_order) == (Decimal("4.95"), 50, 20)
    assert (b.postage, b.free_over, b.minimum_order) == (0, None, None)
    # the name on the list is the supplier's own, whatever the case on the price row
    assert [row.supplier for row in found.prices] == ["A", "B"]


@pytest.mark.parametrize(
    ("yes", "price", "net"),
    # 12.00 with 20 % tax is 12.00 / 1.2 = 10.00; 0.99 is 0.825, rounded once, at the end
    [*((yes, 12, "10") for yes in ("yes", "Y", True, "true")), ("yes", 0.99, "0.825")],
)
def test_prices_with_tax_come_out_net(tmp_path: Path, yes: Any, price: float, net: str) -> None:
    """And the other supplier's stay."""
    terms = [SUPPLIERS, ("A", 0, None, None, yes), ("B", 0, None, None, None)]
    rows = [PRICES, line(supplier="a", price=price), line(supplier="B", price=12)]
    found, problems = prices(tmp_path, rows, terms)
    assert problems == []
    assert [row.price for row in found.prices] == [Decimal(net), 12]


def test_a_pack_on_a_row_by_the_metre_is_told(tmp_path: Path) -> None:
    """5 m for 2.40 is a reel of 5: sold as metre the price is for one."""
    found, problems = prices(tmp_path, [PRICES, line(sold_as="metre", pack=5, price=2.4)])
    assert [(level, cell) for level, _, cell, _ in problems] == [("caution", "F2")]
    assert [(row.pack, row.price) for row in found.prices] == [(1, Decimal("2.4"))]


def test_a_supplier_without_terms_is_a_caution_told_once(tmp_path: Path) -> None:
    """With the nearest name as its cure; its prices are used all the same."""
    terms = book(tmp_path, "suppliers.xlsx", Suppliers=[SUPPLIERS, ("Northern", 5)])
    rows = [PRICES, line(supplier="Northen"), line(supplier="Northen", item="fork")]
    listed = book(tmp_path, "prices.xlsx", Prices=rows)
    found, problems = read_prices(listed, terms, Decimal(20), CATALOGUE)
    (problem,) = problems
    assert (problem.level, problem.where.cell, problem.cure) == ("caution", "A2", "Northern")
    assert problem.says.startswith("supplier 'Northen' has no row on the suppliers list")
    assert len(found.prices) == 2


def test_faults_of_the_suppliers_list(tmp_path: Path) -> None:
    """A name twice, an answer that is neither, a postage below zero."""
    rows = (("A", 4), ("a", 5), ("B", -1), ("C", 0, None, None, "perhaps"), (None, 3))
    terms = [SUPPLIERS, *rows]
    found, problems = prices(tmp_path, [PRICES, line()], terms)
    assert [cell for level, _, cell, _ in problems if level == "error"] == ["B4", "E5", "A6", "A3"]
    assert list(found.suppliers) == ["A"]


def test_a_workshop_without_price_lists(tmp_path: Path) -> None:
    """No prices, and the suppliers known all the same."""
    terms = book(tmp_path, "suppliers.xlsx", Suppliers=[SUPPLIERS, ("A", 5)])
    found, problems = read_prices(None, terms, Decimal(20), CATALOGUE)
    assert (found.prices, list(found.suppliers), problems) == ((), ["A"], ())
    assert read_prices(None, None, Decimal(20), CATALOGUE)[0] == PriceBook(prices=(), suppliers={})


def test_price_lists_as_csv_with_decimal_commas(tmp_path: Path) -> None:
    """As spreadsheets write them in many countries."""
    path = tmp_path / "prices.csv"
    path.write_text(
        "supplier;item;gauge;colour;sold as;pack;price\nA;cable;1,0;rot/BU;metre;;0,42\n"
        "A;cable;1,0;R;metre;;0,42\n",
        encoding="utf-8",
    )
    found, problems = read_prices(path, None, Decimal(20), CATALOGUE)
    assert told(problems) == [("error", "Prices", "D2", "colour 'rot' is not known")]
    assert [(row.gauge, row.price) for row in found.prices] == [("1.0", Decimal("0.42"))]


# ----------------------------------------------------------------------- names of items


def test_items_that_are_nearly_a_catalogue_item_are_pointed_out(tmp_path: Path) -> None:
    """A slip would be ordered for ever; a thing of the owner's own is not spoken of."""
    drawer = [
        DRAWER[:3],
        ("ring terminal, M6, 0.5-1.5 mm", "each", 1),
        ("RING terminal,  M6, 0.5-1.5 mm2", "each", 1),
        ("tea", "each", 1),
        ("seat bolt", "each", 1),
    ]
    found, _ = stock(tmp_path, Drawer=drawer)
    listed, _ = prices(tmp_path, [PRICES, line(item="blade fuse 7.5 A"), line(item="seat bolts")])
    problems = items_unknown(found, listed, CATALOGUE, ["seat bolt"])
    assert [(p.level, p.where.cell, p.cure) for p in problems] == [
        ("caution", "A2", "ring terminal, M6, 0.5-1.5 mm2"),
        ("caution", "B2", "blade fuse, 7.5 A"),
        ("caution", "B3", "seat bolt"),
    ]


def test_a_price_is_exact_to_fifteen_figures(tmp_path: Path) -> None:
    """A number cell of 0.1 is a tenth, not the binary float next to it."""
    found, _ = prices(tmp_path, [PRICES, line(price=0.1), line(price=0.3)])
    row: Price = found.prices[0]
    assert Fraction(row.price) == Fraction(1, 10)
    assert row.price * 3 == found.prices[1].price
