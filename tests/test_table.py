"""Tables on the way out: print by eye-checked strings, files by reading them back."""

import os
import re
import zipfile
from collections.abc import Sequence
from decimal import Decimal
from operator import itemgetter
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.worksheet.worksheet import Worksheet

from bom.files.safely import put
from bom.files.sheet import Cells, read_book
from bom.files.table import Cell, Form, Heading, Table, as_text, csv_bytes, guarded, xlsx_bytes
from tests.office import converted

ORDER = Table.of(
    "shopping list: old twin",
    (
        ("Example Cable Co.", "cable, 1.0 mm2, red", 7, Decimal("0.44"), Decimal("3.08")),
        ("Example Cable Co.", "PVC tube, 4 mm bore", 2, Decimal("0.425"), Decimal("0.85")),
        ("elsewhere", "bullet terminal, female, 0.5-1.0 mm2", 2, None, None),
    ),
    Heading("supplier", itemgetter(0)),
    Heading("item", itemgetter(1), wide=20),
    Heading("packs", itemgetter(2), "count"),
    Heading("price", itemgetter(3), "money"),
    Heading("cost", itemgetter(4), "money", total=True, formula="ROUND({packs}*{price},2)"),
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

CUTS = Table.of(
    "cut list",
    (
        ("W1", 1600, "1.0", Decimal("4.58333"), 0.031, Decimal("0.26"), Decimal(50), 0.25, True),
        ("W2", 12400, "18 AWG", 4.0, None, Decimal(3), Decimal("2.5"), Decimal("1.5"), False),
    ),
    Heading("wire", itemgetter(0)),
    Heading("length", itemgetter(1), "mm", total=True),
    Heading("gauge", itemgetter(2)),
    Heading("load", itemgetter(3), "amps"),
    Heading("drop", itemgetter(4), "volts"),
    Heading("drop", itemgetter(5), "percent"),
    Heading("reel", itemgetter(6), "m"),
    Heading("work", itemgetter(7), "hours"),
    Heading("new", itemgetter(8)),
)

CUTS_TEXT = """\
cut list

wire   length mm  gauge   load A  drop V  drop %  reel m  work h  new
-----  ---------  ------  ------  ------  ------  ------  ------  ---
W1          1600  1.0       4.58   0.031     0.3   50.00    0.25  yes
W2         12400  18 AWG       4             3.0    2.50    1.50  no
-----  ---------  ------  ------  ------  ------  ------  ------  ---
total      14000"""


def words(*texts: Cell, name: str = "words", wide: int = 40, title: str = "list") -> Table:
    """A table of numbered texts, so that no row is blank."""
    return Table.of(
        title,
        enumerate(texts, start=1),
        Heading("row", itemgetter(0), "count"),
        Heading(name, itemgetter(1), wide=wide),
    )


def rows_of(path: Path) -> tuple[Cells, ...]:
    """The rows of the only sheet of a file that must read without a word."""
    book, problems = read_book(path)
    assert problems == ()
    assert book is not None
    (sheet,) = book.sheets
    return sheet.rows


def write_csv(path: Path, table: Table, *, currency: str = "GBP") -> None:
    """Put in its place as the commands do."""
    put(path, csv_bytes(table, currency=currency))


def write_xlsx(path: Path, tables: Sequence[Table], *, currency: str = "GBP") -> None:
    """Put in its place as the commands do."""
    put(path, xlsx_bytes(tables, currency=currency))


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
    assert as_text(CUTS) == CUTS_TEXT


@pytest.mark.parametrize(
    ("value", "form", "shown"),
    [
        (Decimal("1193.8"), "mm", "1194"),  # 47 in x 25.4 = 1193.8, rounded to the whole mm
        (12400, "mm", "12400"),
        (Decimal("0.005"), "m", "0.01"),
        (Decimal("1031.5"), "money", "1031.50"),
        (Decimal("-0.001"), "money", "0.00"),
        (Decimal("2.675"), "money", "2.68"),
        (Decimal("1.625"), "price", "1.625"),
        (Decimal("0.4"), "price", "0.40"),
        (Decimal(5) / 3, "price", "1.6667"),
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
    table = Table.of("t", ((value,),), Heading("x", itemgetter(0), form))
    assert as_text(table).split("\n")[4].strip() == shown


def test_a_heading_that_says_its_unit_gets_it_only_once() -> None:
    """`hours` is not printed as `hours h`, nor `length mm` as `length mm mm`."""
    headings = (
        Heading("hours", itemgetter(0), "hours"),
        Heading("length mm", itemgetter(1), "mm"),
        Heading("price EUR", itemgetter(2), "money"),
        Heading("cost per m", itemgetter(3), "money"),
    )
    table = Table.of("t", ((1, 2, 3, 4),), *headings)
    line = as_text(table, currency="EUR").splitlines()[2]
    assert line == "hours  length mm  price EUR  cost per m EUR"


def test_a_table_without_rows_says_so() -> None:
    """Nothing is said in a word, and the notes still follow."""
    table = Table.of("drawer", (), Heading("item", itemgetter(0)), notes=("all full",))
    assert as_text(table) == "drawer\n\n(nothing)\n\nall full"


def test_a_footer_without_rows_is_still_printed() -> None:
    """An order of nothing costs nothing, and no totals row stands over that."""
    table = Table.of(
        "order",
        (),
        Heading("item", itemgetter(0)),
        Heading("cost", itemgetter(1), "money", total=True),
        footer=(("total", Decimal(0), ""),),
    )
    assert as_text(table) == (
        "order\n\n"
        "item   cost GBP\n"
        "-----  --------\n"
        "total      0.00"
    )  # fmt: skip


def test_a_footer_under_a_single_column_gets_a_column_of_its_own() -> None:
    """The value has to stand right of its label, even where the table has nothing there."""
    table = Table.of(
        "wires", (("W1",), ("W2",)), Heading("wire", itemgetter(0)), footer=(("how many", 2, ""),)
    )
    assert as_text(table) == (
        "wires\n\n"
        "wire\n"
        "--------  -\n"
        "W1\n"
        "W2\n"
        "--------  -\n"
        "how many  2"
    )  # fmt: skip


def test_words_are_squeezed_until_the_table_fits_the_terminal() -> None:
    """40 characters: 5 for the wires, 2 twice between, 11 for mm: 20 are left for the circuit."""
    table = Table.of(
        "cut list",
        (("W1234", "side lamp and dash lamp feed", 12345678901),),
        Heading("wire", itemgetter(0)),
        Heading("circuit", itemgetter(1)),
        Heading("length mm", itemgetter(2), "mm"),
        notes=("one two three four five six seven eight nine ten",),
    )
    assert as_text(table, 40) == (
        "cut list\n\n"
        "wire   circuit               length mm\n"
        "-----  ------------------  -----------\n"
        "W1234  side lamp and dash  12345678901\n"
        "       lamp feed\n\n"
        "one two three four five six seven eight\n"
        "  nine ten"
    )


def test_a_table_that_cannot_fit_keeps_its_words_readable() -> None:
    """No column gets narrower than its longest word; the table then runs over the edge."""
    lines = as_text(words("earth of the side lamp"), 5).splitlines()
    assert lines[4:] == ["  1  earth", "     of", "     the", "     side", "     lamp"]


@pytest.mark.parametrize(
    "nasty",
    ["a\x1b[31mb", "a\nb", "a\x00b", "a\x9bb", "a\u202eb", "a\u2028b", "a\x7fb", "a\tb"],
)
def test_nothing_in_a_text_can_steer_the_terminal(nasty: str) -> None:
    """Control characters and changes of direction are printed as signs, line breaks as blanks."""
    table = Table.of(
        nasty,
        ((nasty, 1),),
        Heading(nasty, itemgetter(0)),
        Heading("n", itemgetter(1), "count", total=True),
        footer=((nasty, nasty, ""),),
        notes=(nasty,),
    )
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028-\u202e]", as_text(table))
    assert as_text(table).count("\n") == 9  # title, head, row, total, footer, note; 2 rules, 2 gaps
    assert as_text(table)[1] in " ␛␀␡<"


def test_a_file_name_that_is_no_utf8_can_be_printed() -> None:
    """A lone surrogate, which Python makes of such a name, is shown by its number."""
    assert as_text(words("x", title="job \udcff")).startswith("job <U+DCFF>\n")


def test_a_heading_that_is_not_shown_takes_its_values_with_it() -> None:
    """A column that says nothing of these rows is left out."""
    job = Heading("job", itemgetter(1), shown=False)
    table = Table.of("t", [("W1", "twin", 5)], Heading("wire", itemgetter(0)), job)
    assert ([heading.name for heading in table.headings], table.rows) == (["wire"], (("W1",),))


# Text stays text

FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "=cmd|' /C calc'!A0", '=HYPERLINK("http://x")']


@pytest.mark.parametrize("text", ["=1+1", "+44 1234", "-1", "@SUM(A1)", "\tred"])
def test_what_a_spreadsheet_would_run_gets_a_quote(text: str) -> None:
    """The five marks a spreadsheet takes for the start of a formula."""
    assert guarded(text) == "'" + text


@pytest.mark.parametrize("text", ["", "red", "1-2", "a=b", "'=1+1", " =1", "£5"])
def test_other_text_gets_no_quote(text: str) -> None:
    """A mark further on is harmless."""
    assert guarded(text) == text


@pytest.mark.parametrize("kind", [".xlsx", ".csv"])
def test_formulas_in_text_come_back_as_text(kind: str, tmp_path: Path) -> None:
    """In rows and in headings alike, in both kinds of file."""
    path = written(words(*FORMULAS, "\t=2", name="=A1"), tmp_path / f"out{kind}")
    assert [row[1] for row in rows_of(path)] == ["=A1", *FORMULAS, "=2"]


def test_csv_holds_the_quote_itself(tmp_path: Path) -> None:
    """Other programs read the file too, and they must see the guard."""
    table = words("=1+1", "-1", "\tx", name="@x")
    assert written(table, tmp_path / "out.csv").read_bytes() == (
        b"\xef\xbb\xbfrow,'@x\r\n1,'=1+1\r\n2,'-1\r\n3,\"'\tx\"\r\n"
    )


def test_no_text_becomes_a_formula_a_link_or_mark_up_in_xlsx(tmp_path: Path) -> None:
    """Titles, headings, labels and notes too, and what XlsxWriter would take for its own."""
    rich = "<r><t>bold</t></r>"
    nasty = [*FORMULAS, "{=1}", "https://example.org", "mailto:a@example.org", "007", "1e5", rich]
    table = Table.of(
        "=1+1",
        ((text, text) for text in nasty),
        Heading("=A1", itemgetter(0)),
        Heading("+n", itemgetter(1), "quantity"),
        footer=(("=label", "=value", ""),),
        notes=("=note",),
    )
    sheet = sheet_of(table, tmp_path)
    cells = [cell for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert len(cells) == 2 + 2 * len(nasty) + 2 + 1
    assert {cell.data_type for cell in cells} == {"s"}
    assert not any(cell.hyperlink for cell in cells)
    assert rich in [str(cell.value).strip() for cell in cells]


letters = st.characters(exclude_categories=["Cs"])
texts = st.one_of(
    st.text(letters, max_size=12),
    st.text("=+-@'\"\t\n\r,; .1ax€漢\xa0", max_size=8),
    st.sampled_from(
        ["_x0041_", "_x005F_", "#", "NA", "None", "1,5", "<r>a</r>", "&amp;", "\ufeff"]
    ),
)


def as_read(text: str) -> str | None:
    """What must come back: bad characters out, line ends as one, blanks at the ends gone."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = "".join(c for c in text if (c >= " " or c in "\t\n") and c not in "\ufffe\uffff")
    for blank in "\xa0\u2007\u202f":
        text = text.replace(blank, " ")
    return text.strip() or None


def come_back(texts: Sequence[str], path: Path) -> bool:
    """True where all texts are read back from a file of that kind as they went in."""
    rows = rows_of(written(words(*texts), path))
    return [row[1] if len(row) > 1 else None for row in rows[1:]] == [as_read(t) for t in texts]


@given(st.lists(texts, min_size=1, max_size=12))
def test_any_text_comes_back_from_xlsx(
    tmp_path_factory: pytest.TempPathFactory, texts: list[str]
) -> None:
    """Write, then read, gives the same text, whatever is in it."""
    assert come_back(texts, tmp_path_factory.mktemp("xlsx") / "out.xlsx")


def reads_as_guard(text: str) -> bool:
    """True for text that begins with a quote and a mark: the reader takes the quote off."""
    return bool(re.match(r"\s*'[=+\-@\t]", text)) or text.strip().startswith("#")


@given(st.lists(texts.filter(lambda text: not reads_as_guard(text)), min_size=1, max_size=12))
def test_any_text_comes_back_from_csv(
    tmp_path_factory: pytest.TempPathFactory, texts: list[str]
) -> None:
    """As above; semicolons, tabs, quotes and line ends do not split a cell."""
    assert come_back(texts, tmp_path_factory.mktemp("csv") / "out.csv")


numbers = st.one_of(
    st.none(),
    st.integers(-(10**14), 10**14),
    st.decimals(-(10**9), 10**9, places=4),
    st.floats(-1e12, 1e12, allow_subnormal=False).map(lambda number: float(f"{number:.12g}")),
)


@given(st.lists(numbers, min_size=1, max_size=12), st.sampled_from([".xlsx", ".csv"]))
def test_numbers_come_back_exact(
    tmp_path_factory: pytest.TempPathFactory, values: list[int | Decimal | float | None], kind: str
) -> None:
    """Nothing is rounded in a file, whatever the cell shows."""
    headings = (Heading("row", itemgetter(0), "count"), Heading("length", itemgetter(1), "mm"))
    table = Table.of("t", enumerate(values), *headings)
    rows = rows_of(written(table, tmp_path_factory.mktemp("numbers") / f"out{kind}"))
    found = [Decimal(str(row[1])) if len(row) > 1 else None for row in rows[1:]]
    assert found == [None if value is None else Decimal(str(value)) for value in values]


# .csv


def test_csv_has_headings_with_units_and_the_rows_alone(tmp_path: Path) -> None:
    """Plain numbers, pence always, no totals, no footer, no notes; a byte order mark first."""
    assert written(ORDER, tmp_path / "out.csv", "EUR").read_text(encoding="utf-8") == (
        "\ufeffsupplier,item,packs,price EUR,cost EUR\n"
        'Example Cable Co.,"cable, 1.0 mm2, red",7,0.44,3.08\n'
        'Example Cable Co.,"PVC tube, 4 mm bore",2,0.425,0.85\n'
        'elsewhere,"bullet terminal, female, 0.5-1.0 mm2",2,,\n'
    )


def test_csv_money_has_pence_and_numbers_have_no_exponent(tmp_path: Path) -> None:
    """12 pounds are 12.00; a float keeps 15 figures; yes and no are words."""
    headings = (Heading("price", itemgetter(0), "money"), Heading("load", itemgetter(1), "amps"))
    rows: tuple[tuple[Cell, ...], ...] = ((12, 55 / 12), (Decimal("1E+3"), 1e-7), (-0.5, True))
    table = Table.of("t", rows, *headings)
    assert written(table, tmp_path / "out.csv").read_text(encoding="utf-8-sig") == (
        "price GBP,load A\n12.00,4.58333333333333\n1000.00,0.0000001\n-0.50,yes\n"
    )


def test_csv_of_one_blank_cell_is_a_line_that_is_seen(tmp_path: Path) -> None:
    """An empty line would be no row at all to most readers."""
    table = Table.of("t", ((None,), ("a",)), Heading("x", itemgetter(0)))
    assert written(table, tmp_path / "out.csv").read_bytes()[3:] == b'x\r\n""\r\na\r\n'


# .xlsx


def test_formulas_name_their_own_row_and_store_its_result(tmp_path: Path) -> None:
    """A line without a price has no formula: a blank is no free part."""
    sheet = sheet_of(ORDER, tmp_path)
    assert [sheet.cell(row, 5).value for row in range(2, 8)] == [
        "=ROUND(C2*D2,2)",
        "=ROUND(C3*D3,2)",
        None,
        "=SUM(E2:E4)",
        4.95,
        "=E5+E6",
    ]
    assert [row[4] for row in rows_of(tmp_path / "out.xlsx")[1:3]] == [
        Decimal("3.08"),
        Decimal("0.85"),
    ]
    assert [row[4] for row in rows_of(tmp_path / "out.xlsx")[4:7]] == [
        Decimal("3.93"),
        Decimal("4.95"),
        Decimal("8.88"),
    ]


def test_a_viewer_that_does_not_calculate_sees_the_results(tmp_path: Path) -> None:
    """3.08, 0.85 and none; 3.93, 4.95 and 8.88 below: stored as numbers beside the formulas."""
    write_xlsx(tmp_path / "out.xlsx", [ORDER])
    sheet = openpyxl.load_workbook(tmp_path / "out.xlsx", data_only=True).active
    assert isinstance(sheet, Worksheet)
    stored = [sheet.cell(row, 5).value for row in range(2, 8)]
    assert stored == [3.08, 0.85, None, 3.93, 4.95, 8.88]


def test_a_formula_over_words_stays_a_value(tmp_path: Path) -> None:
    """`on request` times two is an error in a spreadsheet, so the cost is written plain."""
    rows = (("on request", 2, Decimal(5)), (Decimal(3), 2, Decimal(6)))
    headings = (
        Heading("price", itemgetter(0), "money"),
        Heading("packs", itemgetter(1), "count"),
        Heading("cost", itemgetter(2), "money", formula="{price}*{packs}"),
    )
    sheet = sheet_of(Table.of("t", rows, *headings), tmp_path)
    assert [sheet.cell(row, 3).value for row in (2, 3)] == [5, "=A3*B3"]


def test_a_footer_formula_names_a_whole_column_that_has_no_total(tmp_path: Path) -> None:
    """`SUM({cost})` is the sum of the data, and a footer may use the one above it."""
    headings = (Heading("what", itemgetter(0)), Heading("cost", itemgetter(1), "money"))
    footer = (
        ("net", Decimal(30), "SUM({cost})"),
        ("tax 20 %", Decimal(6), "ROUND({net}*20%,2)"),
        ("TOTAL", Decimal(36), "{net}+{tax 20 %}"),
    )
    table = Table.of("t", (("a", 10), ("b", 20)), *headings, footer=footer)
    sheet = sheet_of(table, tmp_path)
    assert [sheet.cell(row, 1).value for row in (4, 5, 6)] == ["net", "tax 20 %", "TOTAL"]
    assert [sheet.cell(row, 2).value for row in (4, 5, 6)] == [
        "=SUM(B2:B3)",
        "=ROUND(B4*20%,2)",
        "=B4+B5",
    ]


def test_a_footer_formula_without_rows_is_its_value(tmp_path: Path) -> None:
    """There is no column to sum up: the formula would take in the heading."""
    headings = (Heading("what", itemgetter(0)), Heading("cost", itemgetter(1), "money", total=True))
    footer = (("total", Decimal(0), "{cost}"),)
    sheet = sheet_of(Table.of("t", (), *headings, footer=footer), tmp_path)
    assert [cell.value for cell in sheet[2]] == ["total", 0]


def test_a_formula_that_names_no_heading_is_refused(tmp_path: Path) -> None:
    """A slip in a report must not come out as a table without formulas."""
    table = Table.of("t", ((1,),), Heading("n", itemgetter(0), "count", formula="{m}+1"))
    with pytest.raises(KeyError, match="has no heading"):
        write_xlsx(tmp_path / "out.xlsx", [table])
    assert list(tmp_path.iterdir()) == []


def test_totals_skip_what_is_no_number(tmp_path: Path) -> None:
    """Blanks and words count for nothing, as SUM has it."""
    headings = (Heading("item", itemgetter(0)), Heading("m", itemgetter(1), "m", total=True))
    rows = (("a", Decimal("0.1")), ("b", None), ("c", "some"), ("d", 0.2), ("e", 3))
    table = Table.of("t", rows, *headings)
    assert as_text(table).splitlines()[-1] == "total  3.30"
    assert rows_of(written(table, tmp_path / "out.xlsx"))[-1] == ("total", Decimal("3.3"))


def test_the_sheet_is_made_to_be_read_and_printed(tmp_path: Path) -> None:
    """Frozen bold headings, a filter over the data, A4 one page wide, headings on each page."""
    sheet = sheet_of(ORDER, tmp_path)
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == "A1:E4"
    assert all(cell.font.b and cell.fill.fill_type == "solid" for cell in sheet[1])
    assert (sheet.page_setup.paperSize, sheet.page_setup.orientation) == (9, "portrait")
    assert sheet.page_setup.fitToWidth in (1, None)  # 1 when not given: ECMA-376 Part 1, 18.3.1.63
    assert sheet.page_setup.fitToHeight == 0
    assert sheet.sheet_properties.pageSetUpPr is not None
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.print_title_rows == "$1:$1"
    with zipfile.ZipFile(tmp_path / "out.xlsx") as archive:
        xml = archive.read("xl/worksheets/sheet1.xml").decode()
    assert re.search(
        "<oddFooter>&amp;L.* shopping list: old twin&amp;R.* page &amp;P of &amp;N<", xml
    )


def test_a_wide_table_is_printed_across(tmp_path: Path) -> None:
    """Twelve columns of twelve characters do not fit an upright page."""
    headings = tuple(Heading(f"column {n:05}", itemgetter(0)) for n in range(12))
    sheet = sheet_of(Table.of("t", (("x",) * 12,), *headings), tmp_path)
    assert sheet.page_setup.orientation == "landscape"


@pytest.mark.parametrize(
    ("form", "code"),
    [
        ("mm", '0 "mm"'),
        ("m", '0.00 "m"'),
        ("money", "#,##0.00 [$EUR]"),
        ("amps", '0.0# "A"'),
        ("volts", '0.000 "V"'),
        ("percent", '0.0"%"'),
        ("hours", '0.00 "h"'),
        ("count", "General"),
        ("quantity", "General"),
    ],
)
def test_number_formats_carry_the_unit(form: Form, code: str, tmp_path: Path) -> None:
    """Data and totals alike."""
    headings = (Heading("item", itemgetter(0)), Heading("n", itemgetter(1), form, total=True))
    sheet = sheet_of(Table.of("t", (("a", 1),), *headings), tmp_path, "EUR")
    assert [sheet.cell(row, 2).number_format for row in (2, 3)] == [code, code]


def test_text_cells_stay_text_when_they_are_edited(tmp_path: Path) -> None:
    """A gauge 1.0 does not turn into 1, and no green corner blames it."""
    sheet = sheet_of(words("1.0"), tmp_path)
    with zipfile.ZipFile(tmp_path / "out.xlsx") as archive:
        xml = archive.read("xl/worksheets/sheet1.xml").decode()
    assert (sheet["B2"].value, sheet["B2"].number_format) == ("1.0", "@")
    assert '<ignoredError sqref="A2:B2" numberStoredAsText="1"/>' in xml


def test_columns_are_as_wide_as_what_is_in_them_up_to_the_most(tmp_path: Path) -> None:
    """Longer text is wrapped, in a row made high enough for it."""
    sheet = sheet_of(words("x" * 30, "word " * 30, wide=40), tmp_path)
    assert 40 < sheet.column_dimensions["B"].width < 46
    assert sheet["B3"].alignment.wrap_text
    assert sheet.row_dimensions[2].height is None
    assert sheet.row_dimensions[3].height > 3 * 13  # 150 characters: over three lines of 40


def test_long_notes_are_wrapped_below_the_table(tmp_path: Path) -> None:
    """Merged over the columns, a row free between, high enough for their lines."""
    table = Table.of("t", CUTS.rows, *CUTS.headings, notes=("word " * 60, "two"))
    sheet = sheet_of(table, tmp_path)
    assert [sheet.cell(row, 1).value for row in (5, 6, 7)] == [None, "word " * 60, "two"]
    assert {str(area) for area in sheet.merged_cells.ranges} == {"A6:I6", "A7:I7"}
    assert sheet.row_dimensions[6].height > 2 * 13


def test_each_table_has_its_own_sheet_with_a_name_that_is_allowed(tmp_path: Path) -> None:
    """31 characters, no forbidden ones, none twice whatever the case."""
    long = "cable on the shelf of the workshop in the yard"
    titles = ["a/b: [c]*?", long, long.upper(), "", "'quoted'", "History", "\x07", "😀" * 20]
    write_xlsx(tmp_path / "out.xlsx", [words("x", title=title) for title in titles])
    names = openpyxl.load_workbook(tmp_path / "out.xlsx").sheetnames
    assert names == [
        "a b c",
        "cable on the shelf of the works",
        "CABLE ON THE SHELF OF THE W (2)",
        "Sheet",
        "quoted",
        "History (2)",
        "Sheet (2)",
        "😀" * 15,
    ]


def test_the_same_tables_make_the_same_bytes(tmp_path: Path) -> None:
    """No date, no random name gets into a file."""
    for name in ("one", "two"):
        write_xlsx(tmp_path / f"{name}.xlsx", [ORDER, CUTS])
        write_csv(tmp_path / f"{name}.csv", ORDER)
    assert (tmp_path / "one.xlsx").read_bytes() == (tmp_path / "two.xlsx").read_bytes()
    assert (tmp_path / "one.csv").read_bytes() == (tmp_path / "two.csv").read_bytes()


def recalculated(path: Path) -> tuple[Cells, ...]:
    """The rows after LibreOffice has opened and saved the file."""
    return rows_of(converted(path.read_bytes(), path.name, path.parent))


@pytest.mark.libreoffice
def test_libreoffice_works_out_what_is_stored(tmp_path: Path) -> None:
    """With every stored result removed it has to calculate, and finds the same."""
    footer = (
        ("tax 20 %", Decimal("0.79"), "ROUND({cost}*20%,2)"),  # 3.93 x 0.2 = 0.786
        ("TOTAL", Decimal("4.72"), "{cost}+{tax 20 %}"),  # 3.93 + 0.79
    )
    table = Table.of("order", ORDER.rows, *ORDER.headings, footer=footer)
    write_xlsx(tmp_path / "stored.xlsx", [table])
    bare = tmp_path / "bare.xlsx"
    with zipfile.ZipFile(tmp_path / "stored.xlsx") as old, zipfile.ZipFile(bare, "w") as new:
        for name in old.namelist():
            new.writestr(name, re.sub(rb"</f><v>[^<]*</v>", b"</f>", old.read(name)))
    assert recalculated(bare) == rows_of(tmp_path / "stored.xlsx")
    assert [row[4] for row in rows_of(tmp_path / "stored.xlsx")[4:]] == [
        Decimal("3.93"),
        Decimal("0.79"),
        Decimal("4.72"),
    ]


@pytest.mark.libreoffice
@pytest.mark.slow
def test_the_totals_follow_a_number_that_is_changed(tmp_path: Path) -> None:
    """Ten packs for seven: 10 x 0.44 = 4.40; 4.40 + 0.85 = 5.25; 5.25 + 4.95 = 10.20."""
    write_xlsx(tmp_path / "out.xlsx", [ORDER])
    book = openpyxl.load_workbook(tmp_path / "out.xlsx")
    book.worksheets[0]["C2"] = 10
    book.save(tmp_path / "changed.xlsx")
    cost = [row[4] for row in recalculated(tmp_path / "changed.xlsx")[1:] if len(row) > 4]
    assert [value for value in cost if value is not None] == [
        Decimal(number) for number in ("4.40", "0.85", "5.25", "4.95", "10.20")
    ]


# The place of a file


@pytest.mark.parametrize("kind", [".xlsx", ".csv"])
class TestPlace:
    """Both kinds are put in their place whole."""

    def test_a_file_is_replaced_and_nothing_else_is_left(self, kind: str, tmp_path: Path) -> None:
        """Its permissions stay; no temporary file stays."""
        path = tmp_path / f"out{kind}"
        path.write_text("old")
        path.chmod(0o640)
        written(ORDER, path)
        assert list(tmp_path.iterdir()) == [path]
        assert path.stat().st_mode & 0o777 == 0o640
        assert len(rows_of(path)) > 3

    def test_a_new_file_is_as_open_as_any_other(self, kind: str, tmp_path: Path) -> None:
        """The permissions are those the user's settings give a new file."""
        (tmp_path / "other").write_text("")
        path = written(ORDER, tmp_path / f"out{kind}")
        assert path.stat().st_mode == (tmp_path / "other").stat().st_mode

    def test_a_link_stays_a_link(self, kind: str, tmp_path: Path) -> None:
        """What it points to is replaced."""
        path, link = tmp_path / f"out{kind}", tmp_path / f"link{kind}"
        path.write_text("old")
        link.symlink_to(path)
        written(ORDER, link)
        assert link.is_symlink()
        assert len(rows_of(path)) > 3

    def test_no_folder_is_an_oserror(self, kind: str, tmp_path: Path) -> None:
        """It names the file that was asked for."""
        path = tmp_path / "none" / f"out{kind}"
        with pytest.raises(OSError, match=re.escape(str(path))):
            written(ORDER, path)
        assert list(tmp_path.iterdir()) == []

    def test_a_folder_in_the_way_is_an_oserror(self, kind: str, tmp_path: Path) -> None:
        """Even an empty one stays."""
        path = tmp_path / f"out{kind}"
        path.mkdir()
        with pytest.raises(IsADirectoryError, match="this is a folder"):
            written(ORDER, path)
        assert list(tmp_path.iterdir()) == [path]

    def test_a_disk_that_fails_leaves_the_old_file(
        self, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Half a file never stands there, nor beside it."""

        def full(_: int) -> None:
            raise OSError(28, "No space left on device")

        path = tmp_path / f"out{kind}"
        path.write_text("old")
        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(OSError, match="No space left") as caught:
            written(ORDER, path)
        assert caught.value.filename == str(path)
        assert path.read_text() == "old"
        assert list(tmp_path.iterdir()) == [path]

    def test_a_file_that_may_not_be_written_is_not_replaced(
        self, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The folder would allow it; the owner of the file has said no."""
        path = tmp_path / f"out{kind}"
        path.write_text("old")
        monkeypatch.setattr(os, "access", lambda *_: False)  # root may write anything
        with pytest.raises(PermissionError):
            written(ORDER, path)
        assert path.read_text() == "old"


def test_what_is_no_file_is_written_to(tmp_path: Path) -> None:
    """`--csv /dev/null` must not put a file in place of the device; a pipe gets the bytes."""
    pipe = tmp_path / "out.csv"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    write_csv(pipe, words("a"))
    assert os.read(reader, 100) == b"\xef\xbb\xbfrow,words\r\n1,a\r\n"
    os.close(reader)
    assert pipe.is_fifo()
