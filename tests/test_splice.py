"""Cells and rows spliced into an owner's book: they are there, and nothing else changed."""

import io
import re
import struct
import time
import warnings
import zipfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest
import python_calamine
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.files.sheet import read_book
from bom.shelf.stockbook.splice import Edit, NewRow, Unwritable, spliced
from bom.trade.problem import Where
from bom.trade.rows import Written
from tests.bench.yardstick import too_long
from tests.fixture_books import (
    CABLE,
    DRAWER,
    FEATURES,
    HEADINGS,
    PIECES,
    TABLE,
    before,
    counted,
    has,
    locked,
    members,
    openpyxl_book,
    operated,
    plain_book,
    raw_members,
    rich_book,
    shifted,
    table_book,
    with_cells,
    zip64,
)
from tests.office import converted

NEW_PIECE: dict[str, Written] = {
    "A": "K2",
    "B": "1.0",
    "C": "red",
    "D": Decimal("3.25"),
    "F": "box",
    "G": " offcut",
}
EDITS = (
    Edit(sheet="Cable", cell="D2", value=Decimal("12.75")),
    Edit(sheet="Cable", cell="G3", value="=half & <used>\nük"),
    Edit(sheet="Cable", cell="F4", value=None),
    Edit(sheet="Drawer", cell="C2", value=75),
)
ROWS = (NewRow(sheet="Cable", header_row=1, values=NEW_PIECE),)


@pytest.fixture(scope="module")
def rich(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The book with everything in it."""
    return rich_book(tmp_path_factory.mktemp("rich"))


@pytest.fixture(scope="module")
def changed(rich: bytes) -> bytes:
    """The same, with `EDITS` and `ROWS` made."""
    return spliced(rich, "stock.xlsm", EDITS, ROWS)


def edit(cell: str, value: Written, sheet: str = "Cable") -> Edit:
    """An edit of the sheet Cable, unless another is named."""
    return Edit(sheet=sheet, cell=cell, value=value)


def row(header_row: int = 1, last_row: int | None = None, **values: Written) -> NewRow:
    """A row under a list of the sheet Cable."""
    return NewRow(sheet="Cable", header_row=header_row, values=values, last_row=last_row)


def emptied(row_number: int) -> list[Edit]:
    """Edits that empty a row of the list."""
    return [edit(f"{column}{row_number}", None) for column in "ABCDEFG"]


def made(data: bytes, *changes: Edit | NewRow, file: str = "stock.xlsx") -> bytes:
    """The book with these edits and rows."""
    edits = [change for change in changes if isinstance(change, Edit)]
    rows = [change for change in changes if isinstance(change, NewRow)]
    return spliced(data, file, edits, rows)


def sheet_xml(data: bytes, *changes: Edit | NewRow) -> str:
    """The sheet Cable, after it was changed."""
    return members(made(data, *changes))[CABLE].decode()


def cells_xml(cells: str, *changes: Edit | NewRow) -> str:
    """What becomes of these rows, which are all there is in the sheet."""
    data = with_cells(f"<sheetData>{cells}</sheetData>" if cells else "<sheetData/>")
    (found,) = re.findall(r"<sheetData>(.*)</sheetData>", sheet_xml(data, *changes), re.S)
    return str(found)


def refusals(
    data: bytes, *changes: Edit | NewRow, file: str = "stock.xlsx"
) -> list[tuple[str, str, str]]:
    """Place, sentence and cure of everything in the way."""
    with pytest.raises(Unwritable) as caught:
        made(data, *changes, file=file)
    assert all(problem.level == "error" for problem in caught.value.problems)
    return [(str(p.where), p.says, p.cure) for p in caught.value.problems]


def loaded(data: bytes, *, results: bool = False) -> openpyxl.Workbook:
    """The book by openpyxl: formulas, or their stored results."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of what openpyxl would lose
        return openpyxl.load_workbook(io.BytesIO(data), data_only=results)


def grid(data: bytes, sheet: str = "Cable") -> list[list[Any]]:
    """The sheet's values from A1 on, by openpyxl."""
    return [list(values) for values in loaded(data)[sheet].values]


# Nothing else changes


def test_the_rich_book_holds_what_it_says(rich: bytes) -> None:
    """At least forty things that a workbook can hold are in the book that is tried."""
    data = members(rich)
    assert [name for name, member, pattern in FEATURES if not has(data, member, pattern)] == []
    assert len({name for name, *_ in FEATURES}) == len(FEATURES) >= 40


def test_every_feature_is_still_there(changed: bytes) -> None:
    data = members(changed)
    assert [name for name, member, pattern in FEATURES if not has(data, member, pattern)] == []


def test_every_other_member_is_byte_for_byte_the_same(rich: bytes, changed: bytes) -> None:
    """Content, compressed bytes, headers, extra fields, times and attributes are equal."""
    named = {CABLE, DRAWER, TABLE}
    old, new = members(rich), members(changed)
    assert list(old) == list(new)
    assert {name for name in old if old[name] != new[name]} == named
    raw_old, raw_new = raw_members(rich), raw_members(changed)
    assert {name for name in raw_old if raw_old[name] != raw_new[name]} == named


def test_changed_sheet_differs_only_where_it_was_changed(rich: bytes, changed: bytes) -> None:
    """All before and all after the cells, but for the ranges that grew with the list."""
    old, new = (members(data)[CABLE].decode() for data in (rich, changed))
    grown = new
    for after, was in (("C2:C5", "C2:C4"), ("D2:D5", "D2:D4"), ("E2:E5", "E2:E4")):
        for form in ('sqref="{}"', "<xm:sqref>{}</xm:sqref>"):
            grown = grown.replace(form.format(after), form.format(was))
    assert old.partition("<sheetData>")[0] == grown.partition("<sheetData>")[0]
    assert old.partition("</sheetData>")[2] == grown.partition("</sheetData>")[2]
    assert "<xm:sqref>E2:E5</xm:sqref>" in new and 'sqref="D2:D5"' in new


def test_nothing_asked_changes_nothing(rich: bytes, changed: bytes) -> None:
    """No edits, or edits that empty what is empty, give the same bytes, as do the same edits."""
    assert spliced(rich, "stock.xlsm", EDITS, ROWS) == changed
    assert spliced(rich, "stock.xlsm", (), ()) == rich
    assert spliced(rich, "stock.xlsm", [edit("Z99", None), edit("B20", "")], ()) == rich


# What other programs read


EXPECTED = [
    [*HEADINGS],
    ["R1", "1.0", "red", 12.75, 0.38, "rack", "reel"],
    ["R2", "1.0", "black", 17, 0.38, "rack", "=half & <used>\nük"],
    ["K1", "2.0", "blue", 1.25, 0.61, None, "offcut"],
    ["K2", "1.0", "red", 3.25, None, "box", " offcut"],
]
"""The list of the sheet Cable after `EDITS` and `ROWS`."""


def test_openpyxl_reads_the_new_values(changed: bytes) -> None:
    """Values, types and the table's range."""
    assert [values[:7] for values in grid(changed)[:5]] == EXPECTED
    assert grid(changed, "Drawer")[1] == ["terminal 6.3", "each", 75, 50, 200]
    book = loaded(table_book())
    assert book["Cable"].tables["Table1"].ref == "A1:G4"
    after = made(table_book(), row(A="K2"), row(A="K3"))
    table = loaded(after)["Cable"].tables["Table1"]
    assert (table.ref, table.autoFilter.ref) == ("A1:G6", "A1:G6")


def test_other_readers_read_the_new_values(changed: bytes, tmp_path: Path) -> None:
    """The same by calamine itself, through pandas, and by our own reader, which trims text."""
    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(changed))
    rows = book.get_sheet_by_name("Cable").to_python(skip_empty_area=False)
    assert [[cell or None for cell in values[:7]] for values in rows[:5]] == EXPECTED
    frame = pd.read_excel(io.BytesIO(changed), sheet_name="Cable", engine="calamine")
    assert frame["length"][:4].tolist() == [12.75, 17, 1.25, 3.25]
    assert frame["piece"][3] == "K2"
    (tmp_path / "stock.xlsm").write_bytes(changed)
    ours, problems = read_book(tmp_path / "stock.xlsm")
    sheet = ours and ours.sheet("Cable")
    assert sheet and problems == ()
    assert sheet.rows[4][:4] == ("K2", "1.0", "red", Decimal("3.25"))
    assert sheet.rows[1][3] == Decimal("12.75")


def test_openpyxl_made_book() -> None:
    """A book by openpyxl, which has a filter, a note, a hidden row and a validation."""
    old = openpyxl_book()
    new = made(old, edit("D3", 5), row(A="K2", D=Decimal("0.5")))
    assert {n for n, raw in raw_members(old).items() if raw != raw_members(new)[n]} == {CABLE}
    assert grid(new)[2][3] == 5 and grid(new)[4][:4] == ["K2", None, None, 0.5]
    sheet = loaded(new)["Cable"]
    assert str(sheet.data_validations.dataValidation[0].sqref) == "C2:C5"
    assert sheet.row_dimensions[3].hidden and not sheet.row_dimensions[5].hidden
    assert sheet["B3"].comment.text == "half used" and sheet["A2"].font.b


@pytest.mark.libreoffice
@pytest.mark.slow
def test_libreoffice_reads_the_new_values(changed: bytes, tmp_path: Path) -> None:
    """LibreOffice shows them, and works out the formulas of the changed sheet.

    D2 x E2 = 12.75 x 0.38 = 4.845; the array doubles D2 = 12.75.  Another sheet's formula
    keeps showing what was stored, 60.75, as the module says.
    """
    seen = converted(changed, "stock.xlsm", tmp_path).read_bytes()
    assert [values[:7] for values in grid(seen)[:5]] == EXPECTED
    book = loaded(seen, results=True)
    assert book["Cable"]["I2"].value == pytest.approx(4.845)
    assert book["Cable"]["J2"].value == pytest.approx(25.5)
    assert book["Cable"]["I3"].value == pytest.approx(0.385)
    assert book["Rates"]["A1"].value == pytest.approx(60.75)


@pytest.mark.libreoffice
@pytest.mark.slow
def test_libreoffice_made_book(tmp_path: Path) -> None:
    old = converted(openpyxl_book(), "first.xlsx", tmp_path).read_bytes()
    new = made(old, edit("D3", 5), row(A="K2", D=Decimal("0.5")))
    assert {n for n, raw in raw_members(old).items() if raw != raw_members(new)[n]} == {CABLE}
    seen = loaded(converted(new, "second.xlsx", tmp_path).read_bytes(), results=True)["Cable"]
    assert (seen["D3"].value, seen["A5"].value, seen["D5"].value) == (5, "K2", 0.5)
    assert seen["H2"].value == pytest.approx(42.5 * 0.38)


# Cells, written by hand


@pytest.mark.parametrize(
    ("value", "cell"),
    [
        ("red", '<c r="B2" s="3" t="inlineStr"><is><t>red</t></is></c>'),
        (" red", '<c r="B2" s="3" t="inlineStr"><is><t xml:space="preserve"> red</t></is></c>'),
        ("a\nb", '<c r="B2" s="3" t="inlineStr"><is><t xml:space="preserve">a\nb</t></is></c>'),
        ("=1<2&", '<c r="B2" s="3" t="inlineStr"><is><t>=1&lt;2&amp;</t></is></c>'),
        ("_x0041_", '<c r="B2" s="3" t="inlineStr"><is><t>_x005F_x0041_</t></is></c>'),
        (7, '<c r="B2" s="3"><v>7</v></c>'),
        (Decimal("0.10"), '<c r="B2" s="3"><v>0.1</v></c>'),
        (Decimal("1E+3"), '<c r="B2" s="3"><v>1000</v></c>'),
        (Decimal("-0.00"), '<c r="B2" s="3"><v>0</v></c>'),
        (Decimal("0.0000001"), '<c r="B2" s="3"><v>0.0000001</v></c>'),
        (None, '<c r="B2" s="3"/>'),
        ("", '<c r="B2" s="3"/>'),
    ],
)
def test_a_cell_is_replaced_and_keeps_its_style(value: Written, cell: str) -> None:
    """Inline text, a plain number or nothing, in the place of a shared text."""
    cells = '<row r="2"><c r="B2" s="3" t="s"><v>0</v></c></row>'
    assert cells_xml(cells, edit("B2", value)) == f'<row r="2">{cell}</row>'


OWN_LOOKS = '<row r="1" s="4" customFormat="1"><c r="A1"/>{}</row>'
ODD = "<!-- <row r='1'> --><row r='1' x='a>b'>{}</row>"
"""Comments, single quotes and a `>` within an attribute, which do not lead astray."""


@pytest.mark.parametrize(
    ("cells", "edits", "expected"),
    [
        ("", {"B2": 1}, '<row r="2"><c r="B2"><v>1</v></c></row>'),
        (" ", {"A1": 1}, ' <row r="1"><c r="A1"><v>1</v></c></row>'),
        (
            '<row r="2"/>',
            {"C2": 1, "A2": 2},
            '<row r="2"><c r="A2"><v>2</v></c><c r="C2"><v>1</v></c></row>',
        ),
        (
            '<row r="2" spans="2:2"><c r="B2"/></row>',
            {"AA2": 1, "A2": 2, "C2": 3},
            '<row r="2" spans="1:27"><c r="A2"><v>2</v></c><c r="B2"/><c r="C2"><v>3</v></c>'
            '<c r="AA2"><v>1</v></c></row>',
        ),
        (
            '<row r="3"><c r="A3"/></row>',
            {"A2": 1, "A4": 2, "A3": 3, "A5": 4},
            '<row r="2"><c r="A2"><v>1</v></c></row><row r="3"><c r="A3"><v>3</v></c></row>'
            '<row r="4"><c r="A4"><v>2</v></c></row><row r="5"><c r="A5"><v>4</v></c></row>',
        ),
        (  # rows and cells without an address follow the one before
            "<row><c/></row><row><c/><c><v>5</v></c><c/></row>",
            {"B2": 6},
            '<row><c/></row><row><c/><c r="B2"><v>6</v></c><c/></row>',
        ),
        # a new cell looks like its row
        (OWN_LOOKS.format(""), {"B1": 1}, OWN_LOOKS.format('<c r="B1" s="4"><v>1</v></c>')),
        (ODD.format("<c r='A1' ><v >1</v></c >"), {"A1": 2}, ODD.format('<c r="A1"><v>2</v></c>')),
        (  # results of other formulas go with their type; of one that reads no cell they stay
            '<row r="1"><c r="A1"><v>1</v></c><c r="B1" s="2"><f>A1*2</f><v>9</v></c>'
            '<c r="C1" t="str"><f>"x"&amp;A1</f><v>x9</v></c><c r="D1" t="b"><f>A1=9</f><v>1</v>'
            '</c><c r="E1" t="e"><f>1/A1</f><v>#DIV/0!</v></c><c r="F1"><f>2*(3+4)</f><v>14</v></c>'
            '<c r="G1"><f t="shared" si="0"/><v>9</v></c></row>',
            {"A1": 5},
            '<row r="1"><c r="A1"><v>5</v></c><c r="B1" s="2"><f>A1*2</f></c>'
            '<c r="C1"><f>"x"&amp;A1</f></c><c r="D1"><f>A1=9</f></c>'
            '<c r="E1"><f>1/A1</f></c><c r="F1"><f>2*(3+4)</f><v>14</v></c>'
            '<c r="G1"><f t="shared" si="0"/></c></row>',
        ),
    ],
)
def test_cells_and_rows_stand_in_order(cells: str, edits: dict[str, int], expected: str) -> None:
    """New cells go where they belong, whichever cells there are."""
    asked = [edit(cell, value) for cell, value in edits.items()]
    assert cells_xml(cells, *asked) == expected


def test_a_new_cell_looks_like_its_column() -> None:
    top = '<cols><col min="2" max="3" width="9" style="5"/></cols>'
    xml = sheet_xml(with_cells("<sheetData/>", top), edit("C1", 1), edit("D1", 2))
    assert '<c r="C1" s="5"><v>1</v></c><c r="D1"><v>2</v></c>' in xml


@pytest.mark.parametrize(
    ("old", "cell", "new"),
    [("A1:B2", "D5", "A1:D5"), ("B2", "A3", "A2:B3"), ("A1:G4", "B2", "A1:G4")],
)
def test_the_used_area_takes_in_new_cells(old: str, cell: str, new: str) -> None:
    """`dimension` is widened where it has to be."""
    data = with_cells("<sheetData/>", f'<dimension ref="{old}"/>')
    assert f'<dimension ref="{new}"/>' in sheet_xml(data, edit(cell, 1))


def test_prefixed_xml_gets_prefixed_cells() -> None:
    """A sheet whose elements all bear a prefix stays of one kind."""

    def prefixed(xml: bytes) -> bytes:
        xml = re.sub(rb"<(/?)(?=[a-z])", rb"<\1x:", xml)
        return xml.replace(b" xmlns=", b" xmlns:x=")

    cells = '<sheetData><row r="1"><c r="A1"><v>1</v></c></row></sheetData>'
    data = operated(with_cells(cells), {CABLE: prefixed})
    xml = sheet_xml(data, edit("A1", "x"), edit("A2", 5))
    assert (
        '<x:sheetData><x:row r="1"><x:c r="A1" t="inlineStr"><x:is><x:t>x</x:t></x:is></x:c>'
        '</x:row><x:row r="2"><x:c r="A2"><x:v>5</x:v></x:c></x:row></x:sheetData>'
    ) in xml
    assert grid(made(data, edit("A1", "x"))) == [["x"]]


def test_declared_encodings() -> None:
    """A byte order mark does not shift the places, and ASCII is written with references."""
    cells = '<sheetData><row r="1"><c r="A1"><v>1</v></c></row></sheetData>'
    marked = operated(with_cells(cells), {CABLE: lambda xml: b"\xef\xbb\xbf" + xml})
    assert grid(made(marked, edit("A1", "é"))) == [["é"]]
    head = b'<?xml version="1.0" encoding="us-ascii"?>'
    ascii_only = operated(with_cells(cells), {CABLE: lambda xml: head + xml})
    assert "<t>&#233;</t>" in sheet_xml(ascii_only, edit("A1", "é"))


# Rows under a list


@pytest.mark.parametrize(
    ("cells", "new", "end"),
    [
        (  # height and styles come from the last row, cell by cell; that it is hidden does not
            '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>2</v></c><c r="C1"><v>3</v></c></row>'
            '<row r="2" spans="1:3" ht="20" customHeight="1" hidden="1"><c r="A2" s="4"><v>1</v>'
            '</c><c r="B2" s="5"/><c r="C2" s="6"/><c r="E2" s="7"/></row>',
            row(A="K2", C=5),
            '<row r="3" ht="20" customHeight="1"><c r="A3" s="4" t="inlineStr"><is><t>K2</t></is>'
            '</c><c r="B3" s="5"/><c r="C3" s="6"><v>5</v></c></row>',
        ),
        (  # a blank row under the list keeps its formats, and comes out of hiding
            '<row r="1"><c r="A1"><v>1</v></c></row><row r="2"><c r="A2" s="4"><v>1</v></c>'
            '</row><row r="3" ht="9" hidden="1"><c r="A3" s="8"/></row>',
            row(A=5),
            '<row r="3" ht="9"><c r="A3" s="8"><v>5</v></c></row>',
        ),
        (  # the first row of a list does not look like its headings
            '<row r="1" ht="30"><c r="A1" s="9"><v>1</v></c></row>',
            row(A=5),
            '</row><row r="2"><c r="A2"><v>5</v></c></row>',
        ),
        (  # an owner's column of formulas down to row 4 leaves rows 3 and 4 free for pieces
            '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>1</v></c><c r="C1"><v>1</v></c></row>'
            '<row r="2"><c r="A2"><v>7</v></c><c r="C2"><f>A2*2</f><v>14</v></c></row>'
            '<row r="3"><c r="C3"><f>A3*2</f><v>0</v></c></row>'
            '<row r="4"><c r="C4"><f>A4*2</f><v>0</v></c></row>',
            row(A=8),
            '<row r="3"><c r="A3"><v>8</v></c><c r="C3"><f>A3*2</f></c></row>'
            '<row r="4"><c r="C4"><f>A4*2</f><v>0</v></c></row>',
        ),
    ],
)
def test_a_row_goes_under_the_last_one(cells: str, new: NewRow, end: str) -> None:
    assert cells_xml(cells, new).endswith(end)


def test_rows_go_one_under_the_other_and_emptied_rows_are_used_again() -> None:
    """The last piece is used up and two come in: its row is taken, then the next."""
    new = made(plain_book(), *emptied(4), row(A="K2"), row(A="K3"))
    assert [values[0] for values in grid(new)] == ["piece", "R1", "R2", "K2", "K3"]
    new = made(plain_book(), *emptied(3), row(A="K2"))
    assert [values[0] for values in grid(new)] == ["piece", "R1", None, "K1", "K2"]


def test_two_lists_beside_each_other() -> None:
    """Each has its own end, though their headings share a row."""
    data = plain_book([["a", "b", None, "x"], [1, 2, None, 3], [4, 5], [6, 7]])
    new = made(data, row(A=8), row(D=9), row(B=10))
    assert grid(new)[1:] == [
        [1, 2, None, 3],
        [4, 5, None, 9],
        [6, 7, None, None],
        [8, None, None, None],
        [None, 10, None, None],
    ]


def test_ranges_that_end_with_the_list_grow_with_it() -> None:
    """Formats and validations over its columns grow; others, and whole columns, do not."""
    bottom = (
        '<conditionalFormatting sqref="A2:A4 C9"><cfRule type="uniqueValues" priority="1"/>'
        '</conditionalFormatting><conditionalFormatting sqref="J2:J4"><cfRule priority="2" '
        'type="uniqueValues"/></conditionalFormatting><conditionalFormatting sqref="B:B"/>'
        '<conditionalFormatting sqref="A1:G1"/>'
        '<dataValidations count="1"><dataValidation type="list" sqref="C2:C4"/></dataValidations>'
    )
    data = operated(plain_book(), {CABLE: before("<pageMargins", bottom)})
    xml = sheet_xml(data, row(A="K2"), row(A="K3"))
    assert re.findall('sqref="([^"]*)"', xml) == ["A2:A6 C9", "J2:J4", "B:B", "A1:G1", "C2:C6"]


def test_a_table_grows_in_its_ranges_alone() -> None:
    """By two references in its part, and only once the blank rows at its end are filled."""
    old, data = table_book(), made(table_book(), *emptied(4))
    longer = members(made(old, row(A="K2")))[TABLE]
    assert longer.replace(b'ref="A1:G5"', b'ref="A1:G4"') == members(old)[TABLE]
    assert longer.count(b'ref="A1:G5"') == 2
    inside = made(data, row(A="K2"))
    assert grid(inside)[3][0] == "K2" and members(inside)[TABLE] == members(old)[TABLE]
    assert members(made(data, row(A="K2"), row(A="K3")))[TABLE] == longer


# What is in the way

CELLS = "<sheetData>{}</sheetData>"
SHARED = '<c r="C1"><f t="shared" ref="C1:C2" si="0">A1</f></c>'
ARRAY = '<c r="C1"><f t="array" ref="C1:D1">A1:B1</f></c>'
TALL = '<c r="C1" cm="1"><f t="array" ref="C1:C3">A1</f></c>'
DATA_TABLE = '<c r="C1"><f t="dataTable" ref="C1:D2" dt2D="1"/></c>'
TWO, LABEL = '<c r="A2"><v>3</v></c>', '<c r="A3" t="str"><v>sum</v></c>'
ROW = '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>2</v></c>{}</row>'
LAST_ROW = ROW.format("") + '<row r="1048576"><c r="A1048576"><v>1</v></c></row>'
TOTALS = table_book(total_row=True)
PROTECTED = '<sheetProtection sheet="{}" objects="1"/>'
COUNTED = [["a", "b"], [1, 2], [None, None], ["Counted in May", None]]


def under(*cells: str, merged: str = "", bottom: str = "") -> bytes:
    """A sheet with a row of two cells, the last of these cells in it and the others below."""
    rows = "".join(f'<row r="{n}">{cell}</row>' for n, cell in enumerate(cells[1:], 2))
    if merged:
        bottom = f'<mergeCells><mergeCell ref="{merged}"/></mergeCells>'
    return with_cells(CELLS.format(ROW.format("".join(cells[:1])) + rows), bottom=bottom)


@pytest.mark.parametrize(
    ("data", "changes", "cell", "says"),
    [
        # formulas, their ranges, pictures in cells and what a merge covers
        (under('<c r="C1"><f>A1</f><v>1</v></c>'), [edit("C1", 5)], "C1", "holds a formula"),
        (under(SHARED), [edit("C1", 5)], "C1", "holds a formula"),
        (under(ARRAY), [edit("C1", 5)], "C1", "C1:D1"),
        (under(ARRAY + '<c r="D1"/>'), [edit("D1", 5)], "D1", "C1:D1"),
        (under(TALL), [edit("C3", 5)], "C3", "C1:C3"),
        (under(DATA_TABLE), [edit("D2", 5)], "D2", "C1:D2"),
        (under('<c r="C1" t="e" vm="1"><v>#</v></c>'), [edit("C1", 5)], "C1", "holds a picture"),
        (under(merged="C1:D2"), [edit("D2", 5)], "D2", "covered by C1"),
        (under(merged="A2:C2"), [row(A=4)], "A2", ""),
        # whatever the protection leaves unlocked, the owner takes it off first
        (under(bottom=PROTECTED.format(1)), [edit("A1", 1)], "", "protected.*take the prot"),
        # a heading also stands in the table's part, and a total is worked out
        (TOTALS, [edit("C1", 5)], "C1", "heading of the table Table1"),
        (TOTALS, [edit("D5", 5)], "D5", "totals row of the table Table1"),
        (TOTALS, [row(A="K2")], "A5", "totals row of the table Table1 is in the way.*insert a row"),
        # a table does not grow over the owner's own cells, formulas included
        (made(table_book(), edit("C5", "note")), [row(A="K2")], "C5", "in the way"),
        # a formula over its own column ends the list, with a label beside it or without
        (under("", TWO, '<c r="A3"><f>SUM(A2:A2)</f></c>'), [row(A=4)], "A3", "insert empty rows"),
        (under("", TWO, LABEL + '<c r="B3"><f>SUM(B$2:B2)</f></c>'), [row(A=4)], "[AB]3", "insert"),
        (under("", TWO, '<c r="B3"><f>SUM(B2:B2)</f></c>'), [row(A=4)], "B3", "insert empty rows"),
        # who knows where the list ends can say so, and what stands below is not run over
        (plain_book([*COUNTED[:2], COUNTED[3]]), [row(last_row=2, A=4)], "A3", "in the way"),
        (plain_book(COUNTED), [row(last_row=2, A=n) for n in (4, 5)], "A4", "in the way"),
        (plain_book(), [row(header_row=9, A=4)], "A9", "there are no headings in this row"),
        (with_cells(CELLS.format(LAST_ROW)), [row(A=4)], r"A\d+", "no row left"),
    ],
)  # fmt: skip
def test_what_is_in_the_way(
    data: bytes, changes: list[Edit | NewRow], cell: str, says: str
) -> None:
    """Nothing of the owner's is lost, and each is told with its place."""
    ((place, said, cure),) = refusals(data, *changes)
    assert re.fullmatch(f"stock.xlsx › Cable( › )?{cell}", place)
    assert re.search(says, f"{said}; {cure}")


def test_what_is_nearly_in_the_way_is_written() -> None:
    """The cell of a merge that shows, a protection that is off, room above totals or a note."""
    assert grid(made(under(merged="A1:B1"), edit("A1", 5)))[0][0] == 5
    assert grid(made(under(bottom=PROTECTED.format(0)), edit("A1", 5)))[0][0] == 5
    assert grid(made(TOTALS, *emptied(4), row(A="K2")))[3][0] == "K2"
    assert grid(made(plain_book(COUNTED), row(last_row=2, A=4)))[2] == [4, None]


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("a\x07b", "U+0007"),
        ("\ud800", "U+D800"),
        ("\uffff", "U+FFFF"),
        ("x" * 32_768, "over 32,767 characters"),
        ("\U0001f527" * 16_384, "over 32,767 characters"),  # two units each
        (1_234_567_890_123_456, "15 figures"),
        (Decimal("0.1234567890123456"), "15 figures"),
        (Decimal("NaN"), "not a number"),
        (Decimal("Infinity"), "not a number"),
        (Decimal("1E+400"), "not a number"),
    ],
)
def test_values_that_no_cell_holds(value: Written, says: str) -> None:
    """They are refused in an edit and in a new row alike."""
    for change, cell in ((edit("A2", value), "A2"), (row(A=value), "A5")):
        ((place, said, _),) = refusals(plain_book(), change)
        assert place == f"stock.xlsx › Cable › {cell}" and says in said


@pytest.mark.parametrize("value", ["x" * 32_767, 999_999_999_999_999, 10**20, Decimal("1E-9")])
def test_values_that_just_fit(value: Written) -> None:
    assert grid(made(plain_book(), edit("A2", value)))[1][0] == (
        value if isinstance(value, str) else pytest.approx(float(value or 0), rel=1e-15)
    )


def test_everything_in_the_way_is_told_at_once_in_order() -> None:
    """One call, all faults, by sheet, row and column; nothing is written."""
    data = under('<c r="C1"><f>A1</f></c>')
    edits = [edit("B1", "\x01"), edit("A1", 1, "Cabel"), edit("C1", 5), edit("A9", 10**16 + 1)]
    assert [(place, cure) for place, _, cure in refusals(data, *edits)] == [
        ("stock.xlsx › Cabel", "Cable"),
        ("stock.xlsx › Cable › B1", "take the character out"),
        ("stock.xlsx › Cable › C1", "put the value itself there in the spreadsheet program"),
        ("stock.xlsx › Cable › A9", "round it"),
    ]


def test_unwritable_reads_as_its_problems() -> None:
    """The exception says what a command would print."""
    with pytest.raises(Unwritable) as caught:
        made(plain_book(), edit("A2", 10**16 + 1))
    assert caught.value.problems[0].where == Where("stock.xlsx", "Cable", "A2")
    assert str(caught.value) == str(caught.value.problems[0])
    assert str(caught.value).startswith("error: stock.xlsx › Cable › A2: ")


@pytest.mark.parametrize("cell", ["7B", "XFE1", "A0", "A1048577", "$A$1", ""])
def test_cells_that_no_sheet_has(cell: str) -> None:
    """That is a mistake in the program, not in the book."""
    with pytest.raises(ValueError, match=r"cell|outside"):
        made(plain_book(), edit(cell, 1))


def test_calls_that_contradict_themselves() -> None:
    with pytest.raises(ValueError, match="twice"):
        made(plain_book(), edit("A1", 1), edit("a1", 2))
    with pytest.raises(ValueError, match="without values"):
        made(plain_book(), row())


# Packages


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda xml: b'<!DOCTYPE x [<!ENTITY e "">]>' + xml, "DTD"),
        (lambda xml: xml[:-20], "damaged"),
        (lambda xml: xml.replace(b'r="2"', b'r="1"'), "damaged"),
        (lambda xml: xml.replace(b'r="B2"', b'r="A2"'), "damaged"),
        (lambda xml: xml.replace(b'r="B2"', b'r="B3"'), "damaged"),
        (lambda xml: xml.replace(b"sheetData", b"sheetNone"), "damaged"),
        (lambda xml: xml.decode().encode("utf-16"), "UTF-8"),
    ],
)
def test_sheets_that_are_not_understood(change: Any, says: str) -> None:
    """What cannot be read for certain is not written."""
    ((place, said, _),) = refusals(operated(plain_book(), {CABLE: change}), edit("A2", 1))
    assert place == "stock.xlsx" and says in said


@pytest.mark.parametrize(
    ("data", "file", "says"),
    [
        (b"PK\x03\x04" + b"\0" * 40, "stock.xlsx", "damaged"),
        (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "stock.xlsx", "password"),
        (plain_book(), "stock.ods", "only .xlsx and .xlsm"),
        (plain_book()[:-40], "stock.xlsx", "damaged"),
        (plain_book() + b"more", "stock.xlsx", "damaged"),
        (operated(plain_book(), {}, {"_xmlsignatures/origin.sigs": b""}), "stock.xlsx", "signed"),
        (locked(plain_book()), "stock.xlsx", "is protected with a password"),
        # a directory whose entry points elsewhere, or into another member, or that lacks one
        (shifted(plain_book(), 1), "stock.xlsx", "damaged"),
        (shifted(plain_book(), 40), "stock.xlsx", "damaged"),
        (counted(plain_book()), "stock.xlsx", "damaged.*cut off"),
        (zip64(plain_book()), "stock.xlsx", "ZIP64.*save it as .xlsx"),
    ],
)
def test_packages_that_are_not_written(data: bytes, file: str, says: str) -> None:
    """Encrypted, cut off, signed, or of another kind."""
    ((place, said, cure),) = refusals(data, edit("A2", 1), file=file)
    assert place == file and re.search(says, f"{said}; {cure}")


def test_duplicate_members() -> None:
    """Two members of one name: which one is meant is not guessed."""
    with pytest.warns(UserWarning, match="Duplicate"):
        twice = operated(plain_book(), {}, {CABLE: b""})
    ((_, says, _),) = refusals(twice, edit("A2", 1))
    assert says == "holds two parts of one name"


class Pipe(io.BytesIO):
    """What a program writes to that cannot go back."""

    def tell(self) -> int:
        """Nowhere that could be told."""
        raise io.UnsupportedOperation


def _streamed(data: bytes) -> bytes:
    """The package with data descriptors, as it comes through a pipe."""
    pipe = Pipe()
    with zipfile.ZipFile(pipe, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members(data).items():
            archive.writestr(name, content)
    return pipe.getvalue()


def _stored(data: bytes) -> bytes:
    """The package unpacked, with attributes, extra fields, comments and wide local headers."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.comment = b"kept by its owner"
        for name, content in members(data).items():
            info = zipfile.ZipInfo(name, (1999, 12, 31, 23, 59, 58))
            info.comment, info.external_attr = b"a note", 0o640 << 16
            info.extra = struct.pack("<2H4s", 0xCAFE, 4, b"mine")
            with archive.open(info, "w", force_zip64=True) as member:
                member.write(content)
    return out.getvalue()


@pytest.mark.parametrize("pack", [_streamed, _stored])
def test_ways_of_packing(pack: Any) -> None:
    """Data descriptors, stored members, extra fields and comments come through."""
    old = pack(plain_book())
    new = made(old, edit("D2", 5), row(A="K2"))
    raw_old, raw_new = raw_members(old), raw_members(new)
    assert [name for name in raw_old if raw_old[name] != raw_new[name]] == [CABLE]
    assert list(raw_old) == list(raw_new)
    with zipfile.ZipFile(io.BytesIO(new)) as after, zipfile.ZipFile(io.BytesIO(old)) as was:
        assert after.testzip() is None and after.comment == was.comment
        info, gone = after.getinfo(CABLE), was.getinfo(CABLE)
        for kept in ("date_time", "comment", "external_attr", "extra"):
            assert getattr(info, kept) == getattr(gone, kept)
        assert info.compress_type == zipfile.ZIP_DEFLATED and info.flag_bits & 8 == 0
    assert grid(new)[4][0] == "K2"


@pytest.mark.slow
def test_a_large_book_in_good_time() -> None:
    """Ten thousand rows of ten take a second or two, not minutes."""
    data = plain_book([[f"h{n}" for n in range(10)], *([n] * 10 for n in range(10_000))])
    started = time.process_time()
    new = made(data, *(edit(f"B{n}", n) for n in range(2, 500)), *[row(A=1)] * 50)
    assert not too_long(time.process_time() - started, 6)
    assert b'<c r="A10051">' in members(new)[CABLE]


# Laws

TEXTS = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\ufffe\uffff"), max_size=20
).filter(lambda text: not re.search("_x[0-9A-Fa-f]{4}_", text))
NUMBERS = st.decimals(
    min_value=-(10**9), max_value=10**9, places=4, allow_nan=False, allow_infinity=False
)
VALUES: st.SearchStrategy[Written] = st.none() | TEXTS | st.integers(-(10**14), 10**14) | NUMBERS
CELL_NAMES = st.builds(
    "{}{}".format, st.sampled_from(["A", "B", "G", "H", "AB"]), st.integers(1, 9)
)
BOOKS = {"plain": plain_book(), "openpyxl": openpyxl_book()}


def as_read(value: Written) -> Any:
    """What openpyxl gives for a value: no empty text, and numbers as floats."""
    if value is None or value == "":
        return None
    return value if isinstance(value, str) else float(value)


def as_number(value: Any) -> Any:
    """A whole number and the same float are one."""
    return float(value) if isinstance(value, int | float) else value


@settings(max_examples=60)
@given(st.dictionaries(CELL_NAMES, VALUES, max_size=8), st.sampled_from(sorted(BOOKS)))
def test_random_edits_read_back_equal(values: dict[str, Written], kind: str) -> None:
    """Edited cells hold what was put there, all others what they held, and no member else moves."""
    values.pop("H2", None)  # a formula in one of the books
    old = BOOKS[kind]
    new = made(old, *(edit(cell, value) for cell, value in values.items()))
    was = loaded(old)["Cable"]
    now = loaded(new)["Cable"]
    expected = {c.coordinate: as_number(c.value) for cells in was for c in cells}
    expected |= {cell: as_read(value) for cell, value in values.items()}
    found = {c.coordinate: as_number(c.value) for cells in now for c in cells}
    assert {k: v for k, v in expected.items() if v is not None} == {
        k: v for k, v in found.items() if v is not None
    }
    raw_old, raw_new = raw_members(old), raw_members(new)
    assert {name for name in raw_old if raw_old[name] != raw_new[name]} <= {CABLE}


@settings(max_examples=30)
@given(st.lists(st.dictionaries(st.sampled_from("ABG"), VALUES, min_size=1), max_size=5))
def test_random_rows_go_under_the_list_in_order(rows: list[dict[str, Written]]) -> None:
    """The list as it was, and then the rows one by one."""
    added = (NewRow(sheet="Cable", header_row=1, values=values) for values in rows)
    new = made(BOOKS["plain"], *added)
    found = [[as_number(value) for value in values] for values in grid(new)]
    expected = [[as_number(value) for value in values] for values in (HEADINGS, *PIECES)]
    expected += [[as_read(values.get(column)) for column in "ABCDEFG"] for values in rows]
    while not any(value is not None for value in expected[-1]):
        expected.pop()
    assert [values[:7] for values in found[: len(expected)]] == expected


def test_edits_one_by_one_are_edits_together() -> None:
    """The order and the number of calls do not matter to the cells."""
    together = made(plain_book(), edit("A2", "x"), edit("H9", 3))
    first = made(plain_book(), edit("H9", 3))
    assert members(made(first, edit("A2", "x"))) == members(together)


def test_a_sheet_is_found_by_its_exact_name() -> None:
    """Names with marks that XML escapes are no trouble, and a chart sheet has no cells."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        book.add_worksheet("Nuts & <bolts>").write("A1", 1)
        chart = book.add_chart({"type": "pie"})
        chart.add_series({"values": "='Nuts & <bolts>'!$A$1"})
        book.add_chartsheet("Pie").set_chart(chart)
    data = out.getvalue()
    new = made(data, edit("A1", 2, "Nuts & <bolts>"))
    assert grid(new, "Nuts & <bolts>") == [[2]]
    ((place, says, _),) = refusals(data, edit("A1", 2, "Pie"))
    assert place == "stock.xlsx › Pie" and says == "there is no sheet 'Pie' with cells"
