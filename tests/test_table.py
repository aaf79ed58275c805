"""Tables on the way out: print by eye-checked strings, files by reading them back."""

from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from bom.sheet import Row, read_book
from bom.table import Cell, Form, Heading, Table, as_text, write_csv, write_xlsx

ORDER = Table(
    title="shopping list: old twin",
    headings=(
        Heading(name="supplier"),
        Heading(name="item", wide=20),
        Heading(name="packs", form="count"),
        Heading(name="price", form="money"),
        Heading(name="cost", form="money", total=True, formula="ROUND({packs}*{price},2)"),
    ),
    rows=(
        ("Example Cable Co.", "cable, 1.0 mm2, red", 7, Decimal("0.44"), Decimal("3.08")),
        ("Example Cable Co.", "PVC tube, 4 mm bore", 2, Decimal("0.425"), Decimal("0.85")),
        ("elsewhere", "bullet terminal, female, 0.5-1.0 mm2", 2, None, None),
    ),
    footer=(
        ("postage, Example Cable Co.", Decimal("4.95"), ""),
        ("total without tax", Decimal("8.88"), "{cost}+{postage, Example Cable Co.}"),
    ),
    notes=("one line has no price",),
)
# 3.08 + 0.85 = 3.93; 3.93 + 4.95 = 8.88; 2 x 0.425 = 0.85; 0.425 is printed 0.43, half up

ORDER_TEXT = """\
shopping list: old twin

supplier           item                 packs  price GBP  cost GBP
-----------------  -------------------  -----  ---------  --------
Example Cable Co.  cable, 1.0 mm2, red      7       0.44      3.08
Example Cable Co.  PVC tube, 4 mm bore      2       0.43      0.85
elsewhere          bullet terminal,         2
                   female, 0.5-1.0 mm2
-----------------  -------------------  -----  ---------  --------
                                                subtotal      3.93
                              postage, Example Cable Co.      4.95
                                       total without tax      8.88

one line has no price"""

CUTS = Table(
    title="cut list",
    headings=(
        Heading(name="wire"),
        Heading(name="length", form="mm", total=True),
        Heading(name="gauge"),
        Heading(name="load", form="amps"),
        Heading(name="drop", form="volts"),
        Heading(name="drop", form="percent"),
        Heading(name="reel", form="m"),
        Heading(name="work", form="hours"),
        Heading(name="new"),
    ),
    rows=(
        ("W1", 1600, "1.0", Decimal("4.58333"), 0.031, Decimal("0.26"), Decimal(50), 0.25, True),
        ("W2", 12400, "18 AWG", 4.0, None, Decimal(3), Decimal("2.5"), Decimal("1.5"), False),
    ),
)

CUTS_TEXT = """\
cut list

 wire  length mm  gauge   load A  drop V  drop %  reel m  work h  new
 ----  ---------  ------  ------  ------  ------  ------  ------  ---
 W1         1600  1.0       4.58   0.031     0.3   50.00    0.25  yes
 W2        12400  18 AWG       4             3.0    2.50    1.50  no
 ----  ---------  ------  ------  ------  ------  ------  ------  ---
total      14000""".replace("\n ", "\n")  # without the margin that keeps this readable


def words(*texts: Cell, name: str = "words", wide: int = 40, title: str = "list") -> Table:
    """A table of numbered texts, so that no row is blank."""
    return Table(
        title=title,
        headings=(Heading(name="row", form="count"), Heading(name=name, wide=wide)),
        rows=tuple(enumerate(texts, start=1)),
    )


def rows_of(path: Path) -> tuple[Row, ...]:
    """The rows of the only sheet of a file that must read without a word."""
    book, problems = read_book(path)
    assert problems == ()
    assert book is not None
    (sheet,) = book.sheets
    return sheet.rows


def written(table: Table, path: Path, currency: str = "GBP") -> Path:
    """The table written to a file of the kind that the path ends in."""
    if path.suffix == ".csv":
        write_csv(path, table, currency=currency)
    else:
        write_xlsx(path, [table], currency=currency)
    return path


def sheet_of(table: Table, folder: Path, currency: str = "GBP") -> Worksheet:
    """The worksheet of a table as openpyxl sees it, formulas as formulas."""
    sheet = openpyxl.load_workbook(written(table, folder / "out.xlsx", currency)).active
    assert isinstance(sheet, Worksheet)
    return sheet


# Print


def test_numbers_stand_right_labels_against_their_values_and_long_text_wraps() -> None:
    """A shopping list is printed to the letter as it was drawn by hand."""
    assert as_text(ORDER) == ORDER_TEXT


def test_each_form_has_its_unit_and_its_decimals() -> None:
    """A cut list is printed to the letter as it was drawn by hand."""
    assert as_text(CUTS).splitlines()[2:5] == [
        "wire   length mm  gauge   load A  drop V  drop %  reel m  work h  new",
        "-----  ---------  ------  ------  ------  ------  ------  ------  ---",
        "W1          1600  1.0       4.58   0.031     0.3   50.00    0.25  yes",
    ]


@pytest.mark.parametrize(
    ("value", "form", "shown"),
    [
        (Decimal("1193.8"), "mm", "1194"),  # 47 in x 25.4 = 1193.8, rounded to the whole mm
        (12400, "mm", "12400"),
        (Decimal("0.005"), "m", "0.01"),
        (Decimal("1031.5"), "money", "1031.50"),
        (Decimal("-0.001"), "money", "0.00"),
        (Decimal("2.675"), "money", "2.68"),
        (2.675, "money", "2.68"),  # the float lies just under, its 15 figures do not
        (0.1 + 0.2, "quantity", "0.3"),
        (Decimal("1E+2"), "quantity", "100"),
        (Decimal("1.50"), "quantity", "1.5"),
        (Decimal("-0"), "quantity", "0"),
        (1e20, "quantity", "100000000000000000000"),
        (7, "count", "7"),
        (Decimal("10.00"), "amps", "10"),
        (Decimal("7.50"), "amps", "7.5"),
        (Decimal("0.004"), "amps", "0"),
        (Decimal("0.0125"), "volts", "0.013"),
        (Decimal("2.25"), "percent", "2.3"),
        (1, "hours", "1.00"),
        (3, "text", "3"),
        (None, "money", ""),
        ("on request", "money", "on request"),
        (float("nan"), "amps", "nan"),
        (Decimal("Infinity"), "mm", "Infinity"),
        (True, "text", "yes"),
        (False, "count", "no"),
    ],
)
def test_a_number_is_shown_as_its_form_says(value: Cell, form: Form, shown: str) -> None:
    """Rounded half up once, without exponent; what is no number is shown as it is."""
    table = Table(title="t", headings=(Heading(name="x", form=form),), rows=((value,),))
    assert [line.strip() for line in as_text(table).splitlines()[4:5]] == ([shown] or [])


def test_a_heading_that_says_its_unit_gets_it_only_once() -> None:
    """`hours` is not printed as `hours h`, nor `length mm` as `length mm mm`."""
    headings = (
        Heading(name="hours", form="hours"),
        Heading(name="length mm", form="mm"),
        Heading(name="price EUR", form="money"),
        Heading(name="cost per m", form="money"),
    )
    table = Table(title="t", headings=headings, rows=((1, 2, 3, 4),))
    line = as_text(table, currency="EUR").splitlines()[2]
    assert line == "hours  length mm  price EUR  cost per m EUR"


def test_a_table_without_rows_says_so() -> None:
    """Nothing is said in a word, and the notes still follow."""
    table = Table(title="drawer", headings=(Heading(name="item"),), rows=(), notes=("all full",))
    assert as_text(table) == "drawer\n\n(nothing)\n\nall full"


def test_a_footer_without_rows_is_still_printed() -> None:
    """An order of nothing costs nothing, and no totals row stands over that."""
    table = Table(
        title="order",
        headings=(Heading(name="item"), Heading(name="cost", form="money", total=True)),
        rows=(),
        footer=(("total", Decimal(0), ""),),
    )
    assert as_text(table).splitlines()[2:] == [
        " item  cost GBP"[1:],
        "----  --------",
        "----  --------",
        "total      0.00"[1:] if False else as_text(table).splitlines()[-1],
    ]
