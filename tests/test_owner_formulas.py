"""Owners' books with formulas: what bom has written itself never bars bom.

Each layout has the results of its formulas stored, as a spreadsheet program stores them.  A
change takes those away that may no longer be true, and every command goes on all the same.

The shop: 20 covers at 0.05 with a low mark of 10 and a full one of 50, red cable at 0.30 a metre.
The job takes 30 covers and 3 m of the cable.  Abel sells covers in tens for 1.20.
"""

import json
import re
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.formula import ArrayFormula
from xlsxwriter import Workbook

from bom.files.sheet import NO_RESULT, Fault, Percent, Value, read_book
from bom.files.sheet.values import exact_number
from tests.bench.alone import alone
from tests.bench.yardstick import too_long
from tests.books import book
from tests.fixture_books import operated
from tests.office import converted
from tests.shops import CABLE, DRAWER, PRICES
from tests.stockrooms import ITEMS, MOVES, REELS, loom, shop, typed
from tests.test_splice import loaded
from tests.within import ENVIRONMENT, ROOT, bom

COVER = "bullet cover, male"
OFFERS = (
    ("Abel", "cable", "1.0", "red", "metre", None, 0.4, None),
    ("Abel", COVER, None, None, "pack", 10, 1.2, None),
)
LIST = (
    ("Code", "Description", "Colour", "Sold by", "Pack qty", "Net price"),
    ("K1", "Thinwall cable 1.0mm2", "RD", "metre", None, "0.50"),
)

Fill = Callable[[Workbook], None]


def written(path: Path, fill: Fill, **sheets: Any) -> None:
    """A book of rows, with what the owner has put into it beside them."""
    with Workbook(path) as made:
        for title, rows in sheets.items():
            sheet = made.add_worksheet(title)
            for number, row in enumerate(rows):
                sheet.write_row(number, 0, row)
        fill(made)


def cells(sheet: str, **formulas: tuple[str, Any]) -> Fill:
    """Formulas with their results, by cell; what is no formula is written as it is."""

    def fill(made: Workbook) -> None:
        page = made.get_worksheet_by_name(sheet) or made.add_worksheet(sheet)
        for cell, (text, result) in formulas.items():
            if text.startswith("="):
                page.write_formula(cell, text, None, result)
            else:
                page.write(cell, result)

    return fill


def several(*fills: Fill) -> Fill:
    """All of these, one after the other."""

    def fill(made: Workbook) -> None:
        for one in fills:
            one(made)

    return fill


def named(name: str, value: float) -> Fill:
    """A figure in a cell of a sheet of its own, and a name for it."""

    def fill(made: Workbook) -> None:
        made.add_worksheet("Figures").write("A1", value)
        made.define_name(name, "=Figures!$A$1")

    return fill


def table(made: Workbook) -> None:
    """The drawer as a table, with a row of totals and a low mark that each row works out."""
    drawer = made.get_worksheet_by_name("Drawer")
    assert drawer
    columns: list[dict[str, Any]] = [{"header": heading} for heading in DRAWER]
    columns[0] |= {"total_string": "Total"}
    columns[2] |= {"total_function": "sum", "total_value": 32}
    columns[3] |= {"formula": "=[@full]/5"}
    place = {"name": "Shelf", "columns": columns, "total_row": True}
    drawer.add_table("A1:F4", place)
    low = "=Shelf[[#This Row],[full]]/5"
    drawer.write_formula("D2", low, None, 10)
    drawer.write_formula("D3", low, None, 6)


STOCK: dict[str, Fill] = {
    "a total under the drawer": cells("Drawer", C4=("=SUM(C2:C3)", 32)),
    "a total with its word": cells("Drawer", A4=("", "Total"), C4=("=SUM(C2:C3)", 32)),
    "the rows counted among the items": cells(
        "Drawer", A4=("=COUNTA(A2:A3)", 2), C4=("=SUM(C2:C3)", 32)
    ),
    "a total that no row is left out of": cells("Drawer", C4=("=SUBTOTAL(109,C2:C3)", 32)),
    "a note with an IF": cells(
        "Drawer",
        G1=("", "note"),
        G2=('=IF(C2<D2,"order","")', ""),
        G3=('=IF(C3<D3,"order","enough: "&C3)', "enough: 12"),
    ),
    "a cost worked out on another sheet": several(
        cells("Bought", A2=("", 20), B2=("", 1), C2=("=B2/A2", 0.05)),
        cells("Drawer", F2=("=Bought!C2", 0.05)),
    ),
    "a cost by a name": several(named("Each", 0.04), cells("Drawer", F2=("=Each*1.25", 0.05))),
    "a table with totals and a column of its own": table,
    "the value of each row, and their sum": cells(
        "Drawer",
        G1=("", "value"),
        G2=("=C2*F2", 1),
        G3=("=ROUND(C3*F3,2)", 1.44),
        G4=("=SUM(G2:G3)", 2.44),
    ),
    "marks one from the other": cells("Drawer", D2=("=E2/5", 10), E2=("=MAX(50,C2)", 50)),
    "metres in all, and a cost by a name": several(
        named("Metre", 0.25),
        cells("Cable", D5=("=SUM(D2:D4)", 17), E2=("=Metre*1.2", 0.3), E3=("=E2", 0.3)),
    ),
    "a sum beside the moves, filled in ahead": cells(
        "Moves",
        I1=("", "so far"),
        **{f"I{n}": (f'=IF(E{n}="","",SUM(E$2:E{n}))', "") for n in range(2, 9)},
    ),
    "a mark from a sheet that reads the drawer": several(
        cells("Needs", B2=("=Drawer!E2/5", 10), B3=("=Drawer!C2", 20)),
        cells("Drawer", D2=("=ROUND(Needs!B2,0)", 10)),
    ),
    "a price looked up": several(
        cells("Paid", A2=("", COVER), B2=("=0.5/10", 0.05)),
        cells("Drawer", F2=("=VLOOKUP(A2,Paid!A:B,2,FALSE)", 0.05)),
    ),
    "what nobody can tell from the file, beside the list": cells(
        "Drawer",
        G1=("", "note"),
        G2=('=TEXT(TODAY(),"yyyy")&C2', "202620"),
        H1=("", "place"),
        H2=('=IF(C2>5,INDIRECT("A1"),"box")', "item"),
        J2=("=[1]Sheet1!A1*C2", 7),
    ),
}


def day(made: Workbook) -> None:
    """A price of whatever day it is."""
    prices = made.get_worksheet_by_name("Prices")
    assert prices
    prices.write("I1", "date")
    prices.write_formula("I3", "=TODAY()", made.add_format({"num_format": "yyyy-mm-dd"}), 46_000)


PRICE_BOOKS: dict[str, Fill] = {
    "a total under the prices": cells("Prices", G4=("=SUM(G2:G3)", 1.6)),
    "a note with an IF among the prices": cells(
        "Prices", I1=("", "note"), I2=('=IF(G2>0.45,"dear","")', ""), I3=("=G2&G3", "0.41.2")
    ),
    "a price by a name": several(named("Raise", 1.2), cells("Prices", G3=("=1*Raise", 1.2))),
    "a day that hangs on the day": day,
    "a price from another": cells("Prices", G3=("=IF(G2>0,ROUND(2.4/2,2),G2*3)", 1.2)),
}
LAYOUTS = [*((name, "stock") for name in STOCK), *((name, "prices") for name in PRICE_BOOKS)]


def made(folder: Path, layout: str = "", kind: str = "") -> Path:
    """The workshop with one of its books laid out so."""
    shop(folder, prices=OFFERS, suppliers=[("Abel", 0, None, None, "no")])
    loom(folder, "twin", 1.0, 2.0, covers=30)
    book(folder, "list.xlsx", Prices=LIST)
    sheets = {"Cable": [CABLE, *REELS], "Drawer": [DRAWER, *ITEMS], "Moves": [MOVES]}
    if kind == "stock":
        written(folder / "stock.xlsx", STOCK[layout], **sheets)
    if kind == "prices":
        written(folder / "prices.xlsx", PRICE_BOOKS[layout], Prices=[PRICES, *OFFERS])
    return folder


def said(folder: Path, *words: str) -> Any:
    """What a command answers as data; it goes through."""
    done = bom(*words, "--json", cwd=folder)
    assert done.returncode == 0, f"{words}: {done.stdout}{done.stderr}"
    return json.loads(done.stdout)


def on_hand(folder: Path) -> dict[str, Any]:
    """What the shelf holds of each thing, as `bom stock show` has it."""
    shown = said(folder, "stock", "show")
    drawer = {row["item"]: row["on_hand"] for row in shown["drawer"]}
    return {**drawer, **{row["piece"]: row["length_mm"] for row in shown["cable"]}}


def formulas(folder: Path) -> dict[str, str]:
    """Every formula of the two books, by file, sheet and cell."""
    return {
        f"{name}!{sheet.title}!{cell.coordinate}": str(getattr(cell.value, "text", cell.value))
        for name in ("stock.xlsx", "prices.xlsx")
        for sheet in load_workbook(folder / name)
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    }


START = {COVER: 20, "loom tape, PVC, 19 mm": 12_000, "R01": 10_000, "R02": 2_000, "R03": 5_000}


def assert_every_command_goes_through(folder: Path) -> None:
    """Count, show, order, top up, quote, add prices, hold and undo, with figures by hand."""
    before = formulas(folder)
    said(folder, "stock", "count", COVER, "8")
    said(folder, "stock", "count", "R02", "1.5 m")
    assert on_hand(folder) == {**START, COVER: 8, "R02": 1_500}
    # 30 - 8 = 22 covers: three packs; up to 50 from 8 under a low of 10: 42 covers, five packs
    assert said(folder, "order", "twin")["total"] == "3.60"
    assert said(folder, "topup")["total"] == "6.00"
    # 3 m at 0.30; 8 covers at 0.05 off the shelf and three packs
    assert said(folder, "quote", "twin")["materials"] == "4.90"
    (added,) = said(folder, "prices", "add", "list.xlsx", "--supplier", "Abel")["booked"]
    assert (added["was"], added["price"]) == ("0.40", "0.50")
    said(folder, "stock", "hold", "twin")
    for _ in range(3):
        said(folder, "stock", "undo")
    assert on_hand(folder) == START
    # 10 covers short: one pack; none to top up
    assert said(folder, "order", "twin")["total"] == "1.20"
    assert said(folder, "topup")["lines"] == []
    assert formulas(folder) == before


@pytest.mark.parametrize(("layout", "kind"), LAYOUTS)
def test_what_we_wrote_does_not_bar_us(tmp_path: Path, layout: str, kind: str) -> None:
    """Each layout through every command."""
    assert_every_command_goes_through(made(tmp_path, layout, kind))


def test_formulas_that_share_one_text(tmp_path: Path) -> None:
    """The low marks of both rows are one formula, written with the first: 10 and 10."""
    made(tmp_path)
    path = tmp_path / "stock.xlsx"

    def share(xml: bytes) -> bytes:
        first = '<f t="shared" ref="D2:D3" si="0">MAX(10,MIN(C2,0))</f>'
        for cell, formula in (("D2", first), ("D3", '<f t="shared" si="0"/>')):
            xml = re.sub(
                rf'(<c r="{cell}"[^>]*>)<v>[0-9]+</v>'.encode(),
                rf"\g<1>{formula}<v>10</v>".encode(),
                xml,
            )
        return xml

    path.write_bytes(operated(path.read_bytes(), {"xl/worksheets/sheet2.xml": share}))
    assert_every_command_goes_through(tmp_path)


@pytest.mark.slow
@pytest.mark.libreoffice
@pytest.mark.parametrize(
    "layout",
    [
        "a total with its word",
        "a note with an IF",
        "a cost by a name",
        "a table with totals and a column of its own",
        "marks one from the other",
    ],
)
def test_books_that_libreoffice_saved(tmp_path: Path, layout: str) -> None:
    """The same with the book as LibreOffice writes it, results and all."""
    folder = made(tmp_path / "shop", layout, "stock")
    path = folder / "stock.xlsx"
    path.write_bytes(converted(path.read_bytes(), "stock.xlsx", tmp_path).read_bytes())
    assert_every_command_goes_through(folder)


@pytest.mark.libreoffice
def test_libreoffice_works_out_what_lost_its_result(tmp_path: Path) -> None:
    """8 covers and 12 m of tape are 20; 8 x 0.05 is 0.40 and 12 x 0.12 is 1.44."""
    folder = made(tmp_path / "shop", "the value of each row, and their sum", "stock")
    typed(folder / "stock.xlsx", "Drawer", C4="=SUM(C2:C3)")
    said(folder, "stock", "count", COVER, "8")
    data = (folder / "stock.xlsx").read_bytes()
    drawer = loaded(converted(data, "a.xlsx", tmp_path).read_bytes(), results=True)["Drawer"]
    assert [drawer[cell].value for cell in ("C4", "G2", "G3", "G4")] == [20, 0.4, 1.44, 1.84]


def test_a_result_on_another_sheet_may_be_an_older_one(tmp_path: Path) -> None:
    """The low mark is half of what is on hand, by way of another sheet, where 10 is stored.

    Of 8 covers it is 4, so that there is nothing to top up.
    """
    folder = made(tmp_path)
    fill = several(cells("Halves", B2=("=Drawer!C2/2", 10)), cells("Drawer", D2=("=Halves!B2", 10)))
    sheets = {"Cable": [CABLE, *REELS], "Drawer": [DRAWER, *ITEMS], "Moves": [MOVES]}
    written(folder / "stock.xlsx", fill, **sheets)
    said(folder, "stock", "count", COVER, "8")
    assert said(folder, "topup")["lines"] == []
    (low,) = (row["low"] for row in said(folder, "stock", "show")["drawer"] if row["item"] == COVER)
    assert low == 4


def test_the_other_books_by_a_program_that_does_not_reckon(tmp_path: Path) -> None:
    """Its library stores no results: a length, a postage, a total, a note that hangs on the day.

    0.5 + 0.7 m is 1200 mm; two packs of ten for 28 covers without any on the shelf, at 1.20, and
    a postage of 2 x 1.50.
    """
    folder = made(tmp_path)
    job, suppliers = folder / "jobs" / "twin.xlsx", folder / "suppliers.xlsx"
    typed(job, "Circuits", D2="=0.5+0.7", C4="Total", D4="=SUM(D2:D3)", I1="note", I2="=NOW()")
    typed(job, "Extras", B2="=20+28")
    typed(suppliers, "Suppliers", B2="=2*1.5")
    (cable,) = (n for n in said(folder, "takeoff", "twin")["needs"] if n["kind"] == "cable")
    assert sorted(cable["pieces_mm"]) == [1200, 2000]
    order = said(folder, "order", "twin")
    assert (order["postage"], order["total"]) == ("3.00", "6.60")


def test_a_result_in_per_cent_and_one_of_an_array(tmp_path: Path) -> None:
    """15 % where the cell shows per cent; an array is nothing plain."""
    opened = load_workbook(book(tmp_path, "a.xlsx", Sums=[()]))
    opened["Sums"]["A1"] = "=0.6/4"
    opened["Sums"]["A1"].number_format = "0 %"
    opened["Sums"]["A2"] = ArrayFormula("A2", "=SUM(C1:C2*D1:D2)")
    opened["Sums"]["A3"] = "=A1*2"
    opened.save(tmp_path / "a.xlsx")
    read, _ = read_book(tmp_path / "a.xlsx")
    assert read
    assert read.sheets[0].rows == (
        (Percent(Decimal(15)),),
        (NO_RESULT,),
        (Decimal("0.3"),),
    )


# What is reckoned with and cannot be told, and taking back


def test_what_cannot_be_told_is_named_with_its_cure(tmp_path: Path) -> None:
    """A cost that hangs on the day, and no result of it: the cell, and that a save gives one."""
    folder = made(tmp_path)
    said(folder, "stock", "count", COVER, "8")
    typed(folder / "stock.xlsx", "Drawer", F2="=C2/YEAR(TODAY())")
    done = bom("order", "twin", cwd=folder)
    assert done.returncode == 1
    assert done.stderr == (
        "error: stock.xlsx › Drawer › F2: the cell holds a formula without a result\n"
        "    try: open the book in the spreadsheet program and save it\n"
    )


@pytest.mark.libreoffice
def test_a_save_gives_a_result(tmp_path: Path) -> None:
    """The cure that the message names, as LibreOffice does it."""
    folder = made(tmp_path / "shop")
    path = folder / "stock.xlsx"
    typed(path, "Drawer", F2="=YEAR(TODAY())/YEAR(TODAY())/20")
    assert bom("quote", "twin", cwd=folder).returncode == 1
    path.write_bytes(converted(path.read_bytes(), "stock.xlsx", tmp_path).read_bytes())
    # 20 covers at 0.05, one pack for 1.20, 3 m of cable at 0.30
    assert said(folder, "quote", "twin")["materials"] == "3.10"


def test_undo_needs_no_more_than_what_it_puts_back(tmp_path: Path) -> None:
    """A cost without a result, another row's amount and a gauge that is none: it is taken back."""
    folder = made(tmp_path)
    said(folder, "stock", "count", COVER, "8")
    typed(folder / "stock.xlsx", "Drawer", F2="=TODAY()", C3="a few")
    typed(folder / "stock.xlsx", "Cable", B4="thick")
    assert bom("stock", "show", cwd=folder).returncode == 1
    said(folder, "stock", "undo")
    assert load_workbook(folder / "stock.xlsx")["Drawer"]["C2"].value == 20
    # now there is none left to take back, whatever else is wrong
    (none_left,) = json.loads(bom("stock", "undo", "--json", cwd=folder).stdout)["problems"]
    assert none_left["says"] == "there is no command left to undo"


@pytest.mark.parametrize(
    ("sheet", "cell", "says"),
    [
        ("Cable", "D3", "'a few' is not a length"),
        ("Cable", "A4", "piece 'R02' stands in A3 too"),
        ("Moves", "E2", "'a few' is not a number"),
    ],
)
def test_undo_is_told_what_it_cannot_read(tmp_path: Path, sheet: str, cell: str, says: str) -> None:
    """The length that it puts back, whose it is, and the move that says what to put back."""
    folder = made(tmp_path)
    said(folder, "stock", "count", "R02", "1.5 m")
    typed(folder / "stock.xlsx", sheet, **{cell: "R02" if cell == "A4" else "a few"})
    (wrong,) = json.loads(bom("stock", "undo", "--json", cwd=folder).stdout)["problems"]
    assert (wrong["sheet"], wrong["cell"], wrong["says"]) == (sheet, cell, says)


def test_a_row_that_may_be_one_is_no_total(tmp_path: Path) -> None:
    """An item called as a total, with no sum of those above, stays an item of the drawer."""
    folder = made(tmp_path)
    typed(folder / "stock.xlsx", "Drawer", A4="total loss oiler", C4=32, A5="sum", C5=7)
    assert on_hand(folder) == {**START, "total loss oiler": 32, "sum": 7}


# Formulas worked out

FIGURES = {
    **{"A1": 1.5, "A2": 4, "A3": 10, "A4": "text", "A6": 0.5, "B1": 2, "B2": "red", "B3": "blue"},
    **{"B4": "black", "C2": 12.55, "C3": 20, "C4": 19},
}
ANYWHERE = "Other!$A$1:$A$3"


def results(folder: Path, *texts: str) -> tuple[list[Value], bytes]:
    """What formulas in F11, F12 ... give beside `FIGURES`, and the book: none has a result."""
    path = book(folder, "a.xlsx", Sums=[()], Other=[()], **{"My list": [()]})
    opened = load_workbook(path)
    others = {"A1": 1, "A2": 2, "A3": 3, "B1": "=Sums!A1*2", "B2": "=B1+1"}
    mine = {"B2": 5, "B3": "n/a", "B4": 7}
    asked = {f"F{number}": f"={text}" for number, text in enumerate(texts, 11)}
    held: dict[str, dict[str, Any]] = {"Sums": FIGURES | asked, "Other": others, "My list": mine}
    for sheet, filled in held.items():
        for cell, value in filled.items():
            opened[sheet][cell] = value
    opened.defined_names["Rate"] = DefinedName("Rate", attr_text="Sums!$A$1")
    opened.defined_names["Whole"] = DefinedName("Whole", attr_text=ANYWHERE)
    opened.defined_names["Beside"] = DefinedName("Beside", attr_text="Sums!A1")
    opened["Sums"].defined_names["Local"] = DefinedName("Local", attr_text="0.2")
    opened.save(path)
    read, problems = read_book(path)
    assert read and not problems
    rows = read.sheets[0].rows[10:]
    return [row[5] if len(row) > 5 else None for row in rows], path.read_bytes()


RESULTS: dict[str, Value | int] = {
    # arithmetic
    "1+2*3": 7,
    "-2^2": 4,  # the sign binds closer, as in every spreadsheet program
    "2^3^2": 64,
    "50%*8": 4,
    "0.1+0.2": Decimal("0.3"),
    "2/3": Decimal("0.666666666666667"),  # the 15 figures that a spreadsheet keeps
    "INT(1/3*3)": 1,
    "ROUND(2.675,2)": Decimal("2.68"),  # half goes up, on what is shown
    "ROUND(-2.5,0)": -3,
    "ROUNDUP(1.001,2)": Decimal("1.01"),
    "ROUNDDOWN(-1.999,2)": Decimal("-1.99"),
    "ROUND(C2*1.2,2)": Decimal("15.06"),
    "1/0": Fault("#DIV/0!"),
    # cells
    "SUM(A1:A6)": 16,  # 1.5 + 4 + 10 + 0.5: texts and blanks do not count
    "SUM(A:A,B1)": 18,
    "PRODUCT(A1:A3)": 60,
    "MIN(A1:A6)+MAX(A1:A6,100)": Decimal("100.5"),
    "AVERAGE(A1:A6)": 4,
    "COUNTA(A1:A6)": 5,
    "SUM('My list'!B2:B4)": 12,
    "Other!B2": 4,  # 1.5 x 2 + 1, itself without a result
    "SUM(Whole)*Rate+Local": Decimal("9.2"),
    "A5": 0,
    # choices
    'IF(A1>1,"more","less")': "more",
    'IF(A5="","blank",1/0)': "blank",
    'IF(B2="RED",1,2)': 1,
    "IFERROR(1/0,9)": 9,
    "IF(OR(A1>100,NOT(AND(A2=4,A3=10))),1,2)": 2,
    'B2&"-"&A2': "red-4",
    'VLOOKUP("BLUE",B2:C4,2,FALSE)': 20,
    'VLOOKUP("green",B2:C4,2,FALSE)': Fault("#N/A"),
    'INDEX(C2:C4,MATCH("black",B2:B4,0))': 19,
}
"""By hand, from `FIGURES`."""

NOT_PLAIN = (
    *("TODAY()", "RAND()*0", 'INDIRECT("A1")', "SUBTOTAL(109,A1:A3)", "[1]S!A1", "F11:F12"),
    *("SUM(A1:A3*2)", "A1:A3", "A1 B1", "Nobody", "Beside", "Nowhere!A1", "{1,2}", "MAX(A1,NOW())"),
    *('"5"+1', 'A1&" m"', "2^0.5", "A1:B1:C1", "SUM(", ")", "1+", "SUM(A1 B1)", "IF()"),
    *(
        'VLOOKUP("a","abc",1,0)',
        "MATCH(4,A1:B3,0)",
        "MATCH(4,A1:A3)",
        "INDEX(A1:A3,9)",
        "INDEX(4,1)",
    ),
    *(
        "9^64^64",
        "1E308*10",
        "1E999",
        "(" * 65 + "1" + ")" * 65,
        "1" + "+1" * 500,
        "inf",
        "NAN",
        "AND(A1,A5)",
    ),
)


def test_formulas(tmp_path: Path) -> None:
    """Each by hand, and nothing for what is not plain."""
    expected = {**RESULTS, **dict.fromkeys(NOT_PLAIN, NO_RESULT)}
    found, _ = results(tmp_path, *expected)
    assert dict(zip(expected, found, strict=True)) == expected


@pytest.mark.libreoffice
def test_formulas_give_what_libreoffice_gives(tmp_path: Path) -> None:
    """What we work out is what LibreOffice does; what we do not is none of the plain ones."""
    found, data = results(tmp_path, *PLAIN)
    sheet = loaded(converted(data, "b.xlsx", tmp_path).read_bytes(), results=True)["Sums"]
    theirs = [sheet.cell(number, 6).value for number in range(11, 11 + len(PLAIN))]
    assert dict(zip(PLAIN, map(_as_ours, theirs), strict=True)) == {
        text: value.says if isinstance(value, Fault) else value
        for text, value in zip(PLAIN, found, strict=True)
    }


def _as_ours(value: Any) -> Any:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return exact_number(float(value))
    return value or None if isinstance(value, str) else value


PLAIN = (
    *("1+2*3", "-2^2", "2^3^2", "2^-1", "50%*8", "10%%", "-50%", "1/3", "2/3", "1/3*3"),
    *("INT(1/3*3)", "0.1+0.2-0.3", "INT(-1.5)", "ABS(-3)", "99.99*3", "19.99*1.2", "33.333*3"),
    *("ROUND(2.675,2)", "ROUND(-2.5,0)", "ROUND(1.005,2)", "ROUND(1234.5,-2)", "1.15*100"),
    *("ROUNDUP(1.001,2)", "ROUNDUP(-1.001,2)", "ROUNDDOWN(1.999,2)", "ROUNDDOWN(-1.999,2)"),
    *("ROUND(4.35*100,0)", "ROUND(1.15*100,0)/100", "ROUND(A3*1000/3,1)/1000", "7-4.9", "1.1*1.1"),
    *("SUM(A1:A6)", "SUM(A1:A6,B1,4)", "SUM(A:A)", "SUM(Other!A1:A3)", "SUM('My list'!B2:B4)"),
    *("PRODUCT(A1:A3)", "PRODUCT(A1,B1)", "MIN(A1:A6)", "MAX(A1:A6,100)", "MIN(D1:D3)"),
    *("AVERAGE(A1:A6)", "AVERAGE(D1:D3)", "COUNTA(A1:A6)", "SUM(D1:D9)", "SUM(Whole)", "Rate*10"),
    *('IF(A1>1,"more","less")', "IF(A2>1,,5)", 'IF(A5="","blank","not")', "IF(A1,1/0,7)"),
    *('IF(B2="Red","yes","no")', 'IF(B2<>"red",1,2)', "IF(D1,1/0,7)", "IFERROR(1/0,9)", "1/0"),
    *('IF(OR(A1="",A2=""),"",A1*A2)', 'IF(C4<20,"order","")', "IF(TRUE,IF(FALSE,1,2),3)"),
    *("AND(A1>0,A2>100)", "OR(A1>100,A2>100)", "NOT(A1>0)", "A1=1.5", "A1>=1.5", "0.1+0.2=0.3"),
    *('A2&"-"&B2', '"say ""so"""', 'A5&"x"', "A5", "A1/A5", "TRUE+1", '1="1"', '"a"="A"', "1<>2"),
    *("Local*2", 'VLOOKUP("blue",B2:C4,2,FALSE)', 'VLOOKUP("green",B2:C4,2,FALSE)', "((1+2))*3"),
    *('MATCH("blue",B2:B4,0)', "INDEX(A1:B3,3,1)", 'INDEX(C2:C4,MATCH("black",B2:B4,0))'),
    *(" SUM( A1 , A2 )", "1E3+.5", "1000000*1000000*1000000", "C2*1.2", "Other!B1", "Other!B2+1"),
    *("A1+A5", "MAX(0,A1-10)", "MIN(A1,A2)*2", "-(3)", "+A1", "--A1", 'D1=""', 'D1<>""'),
)
"""What owners type, and what programs have been known to differ in."""


# What is hostile


@pytest.mark.slow
def test_what_leads_back_to_itself_ends(tmp_path: Path) -> None:
    """A ring of 100,000 formulas, and others that double what they hold or read whole sheets.

    15 s of CPU and 500 MB are enough.
    """
    path, length = tmp_path / "a.xlsx", 100_000
    with Workbook(path) as book:
        sheet = book.add_worksheet("Drawer")
        for row in range(length):
            sheet.write_formula(row, 0, f"=A{row or length}+1", None, "")
        for row in range(1000):
            sheet.write_formula(row, 1, "=SUM(B:XFD)", None, "")
            sheet.write_formula(row, 2, f"=C{row}&C{row}" if row else '="x"', None, "")
    read = "import sys; from pathlib import Path; from bom.files.sheet import read_book"
    code = f"{read}; book, _ = read_book(Path({str(path)!r})); print(len(book.sheets[0].rows))"
    env = {"PYTHONPATH": str(ROOT), **ENVIRONMENT}
    taken = alone(sys.executable, "-c", code, cwd=tmp_path, env=env)
    assert (taken.code, taken.out.strip(), taken.err) == (0, "100000", "")
    assert not too_long(taken.cpu_s, 15)
    assert taken.peak_mb < 500
