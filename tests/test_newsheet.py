"""A sheet put behind the others of an owner's workbook: it is there, and all else as it was."""

import io
import re
from decimal import Decimal
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
import python_calamine
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.files.sheet import read_book
from bom.shelf.stockbook.edits import NewRow, Unwritable
from bom.shelf.stockbook.newsheet import with_sheet
from bom.shelf.stockbook.splice import spliced
from tests.fixture_books import members, openpyxl_book, operated, plain_book, raw_members, rich_book
from tests.office import converted

HEADINGS = ("when", "job", "what", "item", "change", "unit", "left", "note")
NAMING = {"xl/workbook.xml", "xl/_rels/workbook.xml.rels", "[Content_Types].xml"}
ROW = NewRow(sheet="Moves", header_row=1, values={"A": "now", "D": "R1", "E": Decimal("-1.5")})


@pytest.fixture(scope="module")
def rich(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The macro workbook with everything in it."""
    return rich_book(tmp_path_factory.mktemp("rich"))


def made(data: bytes, file: str = "stock.xlsx") -> bytes:
    """The sheet Moves added, and a row under its headings."""
    return spliced(with_sheet(data, file, "Moves", HEADINGS), file, (), [ROW])


def test_only_the_three_parts_that_name_it_change(rich: bytes) -> None:
    """By one element each; every other member is byte for byte what it was, in its order."""
    raw_old, raw_new = raw_members(rich), raw_members(made(rich, "stock.xlsm"))
    assert list(raw_new)[: len(raw_old)] == list(raw_old)
    assert len(raw_new) == len(raw_old) + 1
    assert {name for name in raw_old if raw_old[name] != raw_new[name]} == NAMING
    assert "xl/vbaProject.bin" in raw_old
    old, new = members(rich), members(made(rich, "stock.xlsm"))
    for name in NAMING:
        more = len(new[name]) - len(old[name])
        start = next(i for i in range(len(old[name])) if old[name][: i + 1] != new[name][: i + 1])
        ways = range(max(0, start - more), start + 1)
        assert any(new[name][:i] + new[name][i + more :] == old[name] for i in ways)


@pytest.mark.parametrize("which", ["rich", "openpyxl", "plain"])
def test_other_readers_find_it(which: str, rich: bytes, tmp_path: Path) -> None:
    """By openpyxl, pandas, calamine and the program itself; the other sheets as before."""
    old = {"rich": rich, "openpyxl": openpyxl_book(), "plain": plain_book()}[which]
    new = made(old, "stock.xlsm")
    book = openpyxl.load_workbook(io.BytesIO(new), keep_vba=True)
    before = openpyxl.load_workbook(io.BytesIO(old), keep_vba=True)
    assert book.sheetnames == [*before.sheetnames, "Moves"]
    assert [cell.value for cell in book["Moves"][1]] == list(HEADINGS)
    assert book["Moves"]["E2"].value == -1.5 and book["Moves"].freeze_panes == "A2"
    assert [[c.value for c in row] for row in book["Cable"]["A1:G4"]] == [
        [c.value for c in row] for row in before["Cable"]["A1:G4"]
    ]
    frame = pd.read_excel(io.BytesIO(new), sheet_name="Moves", engine="calamine")
    assert frame["item"].tolist() == ["R1"]
    rows = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(new))
    assert rows.get_sheet_by_name("Moves").to_python()[0] == list(HEADINGS)
    path = tmp_path / "stock.xlsm"
    path.write_bytes(new)
    found, problems = read_book(path)
    assert problems == () and found is not None
    sheet = found.sheet("Moves")
    assert sheet is not None and sheet.rows[1][3:5] == ("R1", Decimal("-1.5"))


@pytest.mark.libreoffice
@pytest.mark.slow
def test_libreoffice_reads_it(rich: bytes, tmp_path: Path) -> None:
    seen = openpyxl.load_workbook(converted(made(rich, "a.xlsm"), "a.xlsm", tmp_path))
    assert seen["Moves"]["D2"].value == "R1" and seen["Moves"]["E2"].value == -1.5
    own = converted(openpyxl_book(), "b.xlsx", tmp_path).read_bytes()
    again = openpyxl.load_workbook(converted(made(own), "c.xlsx", tmp_path))
    assert again["Moves"]["A1"].value == "when" and again["Cable"]["A2"].value == "R1"


def test_prefixes_and_the_strict_form_are_kept() -> None:
    """Where a part writes its namespace with a prefix, so does the new element.

    ISO/IEC 29500 strict has other namespaces (purl.oclc.org), and the new parts follow.
    """

    def prefixed(xml: bytes) -> bytes:
        xml = re.sub(rb"<(/?)(?=(?:workbook|sheets|sheet)[ >])", rb"<\1x:", xml)
        return xml.replace(b' xmlns="', b' xmlns:x="', 1)

    book = operated(plain_book(), {"xl/workbook.xml": prefixed})
    new = members(with_sheet(book, "a.xlsx", "M", ["a"]))
    assert b'<x:sheet name="M" sheetId="2" ' in new["xl/workbook.xml"]

    def strict(xml: bytes) -> bytes:
        ours, theirs = rb"http://schemas.openxmlformats.org/", rb"http://purl.oclc.org/ooxml/"
        xml = xml.replace(ours + b"spreadsheetml/2006/main", theirs + b"spreadsheetml/main")
        old = b"officeDocument/2006/relationships"
        return xml.replace(ours + old, theirs + b"officeDocument/relationships")

    book = operated(plain_book(), dict.fromkeys(members(plain_book()), strict))
    new = members(with_sheet(book, "a.xlsx", "M", ["a"]))
    assert b"http://purl.oclc.org/ooxml/spreadsheetml/main" in new["xl/worksheets/sheet2.xml"]
    assert b"schemas.openxmlformats.org/officeDocument" not in new["xl/_rels/workbook.xml.rels"]


def test_what_is_in_the_way_is_told() -> None:
    """A protected order of sheets; and other kinds of books."""
    lock = b'<workbookProtection lockStructure="1"/><bookViews'
    book = operated(plain_book(), {"xl/workbook.xml": lambda xml: xml.replace(b"<bookViews", lock)})
    with pytest.raises(Unwritable, match="the order of its sheets is protected"):
        with_sheet(book, "stock.xlsx", "Moves", HEADINGS)
    with pytest.raises(Unwritable, match=r"only .xlsx and .xlsm are written"):
        with_sheet(book, "stock.ods", "Moves", HEADINGS)


@pytest.mark.parametrize("name", ["", "a" * 32, "a/b", "[x]", "'a", "cable", "C able"])
def test_names_that_no_sheet_can_have(name: str) -> None:
    with pytest.raises(ValueError, match="sheet"):
        with_sheet(plain_book(), "stock.xlsx", name, HEADINGS)


LETTERS = st.characters(exclude_categories=("Cs", "Cc"), exclude_characters=":\\/?*[]'\ufffe\uffff")


@settings(max_examples=60)
@given(st.text(LETTERS, min_size=1, max_size=15).map(str.strip).filter(bool), st.text(LETTERS))
def test_names_and_headings_of_any_letters(name: str, heading: str) -> None:
    """Ampersands, quotes, all scripts: as typed."""
    new = with_sheet(plain_book(), "stock.xlsx", name, [heading])
    book = openpyxl.load_workbook(io.BytesIO(new))
    assert book.sheetnames == ["Cable", name]
    assert (book[name]["A1"].value or "") == heading
