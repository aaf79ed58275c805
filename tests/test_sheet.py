"""Books on the way in: every kind, every odd cell, every refusal."""

import csv
import datetime
import io
import os
import re
import resource
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, NoReturn

import openpyxl
import pytest
import python_calamine
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.files.sheet import (
    NO_RESULT,
    Book,
    Cells,
    Fault,
    Percent,
    Sheet,
    Value,
    cell_name,
    read_book,
)
from bom.trade.problem import Where
from tests.bench.yardstick import too_long
from tests.fixture_books import CABLE as SHEET
from tests.fixture_books import (
    locked,
    ods_book,
    ods_cell,
    ods_row,
    operated,
    packed,
    plain_book,
    with_cells,
)
from tests.hostile_packages import REFUSED
from tests.test_hostile_laws import Formula, InPercent, as_ods, as_xlsx

MOST_CPU_S = 10.0
"""An idle machine needs less than one; on a busy one each second does less."""


def book_of(path: Path, single: str = "Circuits") -> Book:
    """The book at `path`, which must read without a word."""
    book, problems = read_book(path, single=single)
    assert problems == ()
    assert book is not None
    return book


def rows_of(path: Path) -> tuple[Cells, ...]:
    """The rows of a book's only sheet."""
    (sheet,) = book_of(path).sheets
    return sheet.rows


def refusal(path: Path) -> tuple[str, str, str]:
    """Place, sentence and cure of the single error a book is refused with, in little time."""
    started = time.process_time()
    book, problems = read_book(path)
    seconds = time.process_time() - started
    assert book is None
    (problem,) = problems
    assert problem.level == "error"
    assert problem.where.file == path.name
    assert not too_long(seconds, MOST_CPU_S)
    return str(problem.where), problem.says, problem.cure


def write_xlsx(path: Path, rows: Sequence[Sequence[Any]], title: str = "Circuits") -> Path:
    """A book with one sheet by openpyxl; text is written as text, never as a formula."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for r, row in enumerate(rows, 1):
        for c, value in enumerate(row, 1):
            cell = sheet.cell(r, c, value)
            if isinstance(value, str):
                cell.data_type = "s"
    book.save(path)
    return path


def with_part(path: Path, name: str, change: Callable[[bytes], bytes]) -> Path:
    """The same zip with one member changed."""
    path.write_bytes(operated(path.read_bytes(), {name: change}))
    return path


def xlsx_of(path: Path, cells: str, top: str = "") -> Path:
    """A book whose only sheet has this sheet data, typed by hand."""
    path.write_bytes(with_cells(f"<sheetData>{cells}</sheetData>", top))
    return path


def ods_of(path: Path, *rows: str) -> Path:
    """An OpenDocument sheet `Circuits` with these rows, typed by hand."""
    path.write_bytes(ods_book(("Circuits", rows)))
    return path


# Names and places


@pytest.mark.parametrize(
    ("row", "column", "name"),
    [
        (0, 0, "A1"),
        (6, 2, "C7"),
        (0, 25, "Z1"),
        (0, 26, "AA1"),  # 26 letters, then two of them
        (0, 701, "ZZ1"),  # 26 + 26 x 26 = 702 columns with one or two letters
        (0, 702, "AAA1"),
        (1_048_575, 16_383, "XFD1048576"),
    ],
)
def test_cell_name(row: int, column: int, name: str) -> None:
    """Zero-based row and column make the name a spreadsheet shows, and a place."""
    assert cell_name(row, column) == name
    sheet = Sheet(file="bobber.xlsx", name="Circuits", rows=())
    assert sheet.where(row, column) == Where("bobber.xlsx", "Circuits", name)


def test_sheet_is_found_without_regard_to_case_and_spaces(tmp_path: Path) -> None:
    """`circuits` and ` CIR cuits` find the sheet, which keeps its own spelling."""
    book = book_of(write_xlsx(tmp_path / "a.xlsx", [["wire"]], "Cir Cuits"))
    found = [book.sheet(name) for name in ("circuits", " CIR cuits")]
    assert [sheet and sheet.name for sheet in found] == ["Cir Cuits", "Cir Cuits"]
    assert book.sheet("Loom") is None


def test_two_sheets_of_one_name_are_told(tmp_path: Path) -> None:
    """A second sheet that answers to the same name is a caution, the first is used."""
    (tmp_path / "Cir cuits.csv").write_text("a\n")
    (tmp_path / "circuits.csv").write_text("b\n")
    book, problems = read_book(tmp_path)
    found = book and book.sheet("Circuits")
    assert found and found.rows == (("a",),)
    assert [(p.level, p.where.sheet) for p in problems] == [("caution", "circuits")]
    assert "'Cir cuits'" in problems[0].says


def test_import_is_light() -> None:
    """Importing the module loads none of the heavy libraries."""
    code = (
        "import sys, bom.files.sheet; "
        "print(*{'python_calamine', 'openpyxl', 'pandas'} & set(sys.modules), sep=',')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


# .xlsx: values


DAY = datetime.datetime(2024, 1, 2)


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ([" battery:-\xa0 1 ", "NA", "None", "", "  "], ("battery:-  1", "NA", "None")),
        ([1, 0.1 + 0.2, 1e20], (Decimal(1), Decimal("0.3"), Decimal("1e20"))),
        ([1.5e-7, -0.0], (Decimal("1.5e-7"), Decimal(0))),
        # TRUE beside 1 stays TRUE, in either order
        ([1, True, 0, False, 1.0], (Decimal(1), True, Decimal(0), False, Decimal(1))),
        ([True, 1, False], (True, Decimal(1), False)),
        ([DAY, datetime.time(1, 30)], (DAY.date(), datetime.time(1, 30))),
        # a time under a day is a time; a longer one has no value in a list
        ([datetime.timedelta(hours=1.5)], (datetime.time(1, 30),)),
        ([datetime.timedelta(hours=30)], (Fault("a length of time"),)),
        ([None, "x", None, " "], (None, "x")),
        ([*range(30)], tuple(map(Decimal, range(30)))),
    ],
)
def test_plain_values(tmp_path: Path, typed: list[Any], read: Cells) -> None:
    """Text is tidied, numbers are exact to 15 figures, dates and booleans stay.

    Blank rows and columns before the list count, those after it are cut off.
    """
    assert rows_of(write_xlsx(tmp_path / "a.xlsx", [[], [], typed, [], [""]])) == ((), (), read)
    (*_, row) = rows_of(tmp_path / "a.xlsx")
    assert [type(value) for value in row] == [type(value) for value in read]


def test_numbers_print_without_exponent(tmp_path: Path) -> None:
    """A whole number never shows an exponent, and zero has no sign."""
    (row,) = rows_of(write_xlsx(tmp_path / "a.xlsx", [[100, 1e15, -0.0, 12.50]]))
    assert [str(value) for value in row] == ["100", "1000000000000000", "0", "12.5"]


def test_percent_formats_by_xlsxwriter(tmp_path: Path) -> None:
    """A number shown in per cent is the per cent; a quoted sign is only decoration."""
    path = tmp_path / "a.xlsx"
    shown = ("0%", "0.00%", "0.0 %;[Red]-0.0 %", '0"%"', "0\\%", "0%", "0%", "0%")
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Job")
        looks = [book.add_format({"num_format": code}) for code in shown]
        for column, value in enumerate((0.05, 0.175, 0.2, 5, 5)):
            sheet.write_number(0, column, value, looks[column])
        sheet.write_string(0, 5, "5", looks[5])
        sheet.write_formula(0, 6, "=1/10", looks[6], 0.1)
        sheet.write_number(0, 7, 10, looks[7])
    (row,) = rows_of(path)
    percents = [Percent(Decimal(number)) for number in ("5", "17.5", "20", "10", "1000")]
    assert row == (*percents[:3], Decimal(5), Decimal(5), "5", *percents[3:])
    assert str(row[7]) == "Percent(value=Decimal('1000'))"


def test_errors_and_uncalculated_formulas_by_openpyxl(tmp_path: Path) -> None:
    """Error values come with their own text; formulas without a result are worked out, or say so.

    1 + 1 is 2, a sum of #N/A is #N/A, and what a throw of the dice gives nobody can tell.
    """
    book = openpyxl.Workbook()
    book.worksheets[0].append(["#N/A", "x", "=1+1", "#DIV/0!", "=RAND()"])
    book.worksheets[0]["F3"] = "=SUM(A1:A2)"
    book.save(tmp_path / "a.xlsx")
    first = (Fault("#N/A"), "x", Decimal(2), Fault("#DIV/0!"), NO_RESULT)
    assert rows_of(tmp_path / "a.xlsx") == (first, (), (*[None] * 5, Fault("#N/A")))


def test_calculated_formulas_by_xlsxwriter(tmp_path: Path) -> None:
    """A formula with a stored result is its result."""
    results = (2, "red", "#N/A", True)
    cells = [Formula("=A1", result) for result in results]
    (tmp_path / "a.xlsx").write_bytes(as_xlsx({"Job": [[*cells, "end"]]}))
    assert rows_of(tmp_path / "a.xlsx") == ((Decimal(2), "red", Fault("#N/A"), True, "end"),)


def test_formula_results_typed_by_hand(tmp_path: Path) -> None:
    """An empty text result is blank; with no result, or an empty number, there is none."""
    cells = (
        '<row r="1"><c r="A1" t="str"><f>""</f><v></v></c><c r="B1"><f>NOW()</f></c>'
        '<c r="C1"><f>NOW()</f><v/></c><c r="D1" t="str"><f>NOW()</f></c>'
        '<c r="E1" t="e"><f>1/0</f><v>#DIV/0!</v></c><c r="F1" t="e"/>'
        '<c r="G1"><f t="shared" si="0"/><v>7</v></c><c r="H1" t="b"><v>1</v></c>'
        '<c r="I1"><v>1e999</v></c></row>'
    )
    never, large = NO_RESULT, Fault("a number too large to read")
    assert rows_of(xlsx_of(tmp_path / "a.xlsx", cells)) == (
        (None, never, never, never, Fault("#DIV/0!"), None, Decimal(7), True, large),
    )


SAME_CELLS = (
    '<row r="2"><c r="B2"><v>1</v></c><c r="C2" t="inlineStr"><is><t>red</t></is></c></row>'
    '<row r="3"><c r="A3" t="e"><v>#N/A</v></c><c r="B3"><v>4</v></c></row>'
)
SAME_ROWS: tuple[Cells, ...] = ((), (None, Decimal(1), "red"), (Fault("#N/A"), Decimal(4)))


@pytest.mark.parametrize(
    "cells",
    [
        SAME_CELLS,
        SAME_CELLS.replace('"', "'"),
        SAME_CELLS.replace('<c r="B3">', "<c>").replace('<c r="C2" ', "<c "),
        "<row/>" + SAME_CELLS.replace(' r="2"', "").replace(' r="3"', "").replace('r="A3"', ""),
        re.sub(r'<c (r="..")( t="\w+")?', r"<c\2 \1", SAME_CELLS),
        SAME_CELLS.replace("<c ", "<c\n"),
    ],
    ids=["as usual", "single quotes", "no cell address", "no row", "other order", "line breaks"],
)
def test_ways_of_writing_one_sheet(tmp_path: Path, cells: str) -> None:
    """Addresses left out, quotes and order make no difference."""
    assert rows_of(xlsx_of(tmp_path / "a.xlsx", cells)) == SAME_ROWS


def test_prefixed_xml(tmp_path: Path) -> None:
    """A sheet whose elements carry a prefix is read and its faults are found."""

    def prefixed(xml: bytes) -> bytes:
        return re.sub(rb"<(/?)(?=\w)", rb"<\1x:", xml).replace(b"xmlns=", b"xmlns:x=")

    path = xlsx_of(tmp_path / "a.xlsx", SAME_CELLS)
    assert rows_of(with_part(path, SHEET, prefixed)) == SAME_ROWS


def test_shared_and_inline_text(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        bold = book.add_format({"bold": True})
        sheet.write_rich_string("A1", "blue", bold, "/white")
        sheet.write_string("B1", "two\nlines")
        sheet.write_string("C1", "=1+1")
    assert rows_of(path) == (("blue/white", "two\nlines", "=1+1"),)


def test_hidden_and_chart_sheets(tmp_path: Path) -> None:
    """Hidden sheets are read, chart sheets are not sheets, names stay as typed."""
    path = tmp_path / "a.xlsx"
    book = openpyxl.Workbook()
    book.worksheets[0].title = "Küche & <Co>"
    book.create_chartsheet("Picture")
    for name, state in (("Loom", "hidden"), ("Job", "veryHidden")):
        sheet = book.create_sheet(name)
        sheet["A1"] = name
        sheet.sheet_state = state
    book.save(path)
    sheets = book_of(path).sheets
    found = [("Küche & <Co>", ()), ("Loom", (("Loom",),)), ("Job", (("Job",),))]
    assert [(sheet.name, sheet.rows) for sheet in sheets] == found


@pytest.mark.parametrize("name", ["a.xlsx", "a.xlsm", "A.XLSX"])
def test_a_book_keeps_its_path_and_own_name(tmp_path: Path, name: str) -> None:
    """Whatever its ending; messages use the file's own name, the path stays as given."""
    path = write_xlsx(tmp_path / "a.xlsx", [["x"]]).rename(tmp_path / name)
    book = book_of(path)
    assert (book.file, book.path, book.sheets[0].file) == (name, path, name)
    assert book.sheets[0].rows == (("x",),)


def test_dot_path_is_called_by_its_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "bobber").mkdir()
    (tmp_path / "bobber" / "Circuits.csv").write_text("a\n")
    monkeypatch.chdir(tmp_path / "bobber")
    assert book_of(Path(".")).file == "bobber"


# .xlsx: far cells


@pytest.mark.parametrize(("cell", "value"), [("C5", "<v></v>"), ("XFD1048576", "")])
def test_stray_format_costs_nothing(tmp_path: Path, cell: str, value: str) -> None:
    """A cell shown in per cent and without a value, however far, changes neither rows nor time."""
    path = tmp_path / "a.xlsx"
    book = openpyxl.load_workbook(write_xlsx(path, [["x"]]))
    book.worksheets[0][cell].number_format = "0.00%"
    book.save(path)
    far = re.compile(rf'(<c r="{cell}"[^>]*?) ?/>'.encode())
    with_part(path, SHEET, lambda xml: far.sub(rb"\1>" + value.encode() + b"</c>", xml))
    started = time.process_time()
    assert rows_of(path) == (("x",),)
    assert not too_long(time.process_time() - started, MOST_CPU_S)


def test_stray_value_in_the_last_cell_is_refused(tmp_path: Path) -> None:
    """A value in XFD1048576 would make a grid of 17,000 million cells: it is named."""
    cells = '<row r="1"><c><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>2</v></c></row>'
    place, says, cure = refusal(xlsx_of(tmp_path / "a.xlsx", cells))
    assert place == "a.xlsx › Cable › XFD1048576"
    assert "over 5,000,000 cells" in says
    assert "stray cells" in cure


LAST_ROW = (
    '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="A1048576"><v>2</v></c></row>'
)
LAST_OF_ODS = ods_row(ods_cell("1")) + ods_row(times=1_048_574) + ods_row(ods_cell("2"))


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_stray_value_in_the_last_row_is_found(tmp_path: Path, kind: str) -> None:
    """A value in A1048576 is read where it stands: one column of a million is allowed."""
    if kind == "xlsx":
        rows = rows_of(xlsx_of(tmp_path / "a.xlsx", LAST_ROW))
    else:
        rows = rows_of(ods_of(tmp_path / "a.ods", LAST_OF_ODS))
    assert len(rows) == 1_048_576
    assert [str(value) for row in rows for value in row] == ["1", "2"] and rows[-1]


ADDRESSES = ("XFE1", "A1048577", "A99999999999", "1A", "$A$1", "A0")


@pytest.mark.parametrize(
    "row",
    [
        *(f'<row r="1"><c  r="{address}"><v>1</v></c></row>' for address in ADDRESSES),
        *(f'<row r="{row}"><c><v>1</v></c></row>' for row in ("0", "-5", "x", "99999999")),
    ],
)
def test_impossible_addresses_are_refused(tmp_path: Path, row: str) -> None:
    """A cell or a row outside any sheet is an error, whatever reads it."""
    assert "cannot be read" in refusal(xlsx_of(tmp_path / "a.xlsx", row))[1]


def test_a_wrong_dimension_is_not_believed(tmp_path: Path) -> None:
    """The size a sheet claims for itself allocates nothing."""
    top = '<dimension ref="A1:XFD1048576"/>'
    path = xlsx_of(tmp_path / "a.xlsx", '<row r="1"><c r="A1"><v>1</v></c></row>', top)
    assert rows_of(path) == ((Decimal(1),),)


# .ods


def test_ods_by_odfpy(tmp_path: Path) -> None:
    """A sheet written by odfpy: number, per cent, date, time, boolean, text."""
    cells = [0.1, InPercent(0.05), DAY.date(), datetime.time(1, 30), True, " red "]
    (tmp_path / "a.ods").write_bytes(as_ods({"Job": [cells]}))
    (sheet,) = book_of(tmp_path / "a.ods").sheets
    read = (Decimal("0.1"), Percent(Decimal(5)), DAY.date(), datetime.time(1, 30), True, "red")
    assert (sheet.name, sheet.rows) == ("Job", (read,))


@pytest.mark.parametrize(
    ("attributes", "text", "value"),
    [
        ('table:formula="of:=NA()" calcext:value-type="error"', "#N/A", Fault("#N/A")),
        ('table:formula="of:=X" office:value-type="float" office:value="0"', "Err:502", "Err:502"),
        ('table:formula="of:=1+1"', "", NO_RESULT.says),
        ('table:formula="of:=1+1" office:value-type="float" office:value="2"', "2", Decimal(2)),
        ('table:formula="of:=A1" office:value-type="string"', "", None),
        ('table:formula="of:=&quot;&quot;"', "<text:span/>", None),
        ('office:value-type="currency" office:value="12.50"', "£ 12.50", Decimal("12.5")),
        ('office:value-type="string"', "#N/A", "#N/A"),
        ('office:value-type="string" office:string-value="red"', "", "red"),
        ('office:value-type="float" office:value="1e999"', "", "a number too large to read"),
        ('office:value-type="float" office:value="x"', "", "a stored float that cannot be read"),
        ('office:value-type="float"', "", "a stored float that cannot be read"),
        ('office:value-type="date" office:date-value="never"', "", "a stored date that cannot"),
        ('office:value-type="time" office:time-value="PT30H00M00S"', "", "a length of time"),
        ('office:value-type="time" office:time-value="-PT1H"', "", "a stored time that cannot"),
        ('office:value-type="time" office:time-value="PT9999999999999H"', "", "a stored time that"),
        (
            'office:value-type="date" office:date-value="2024-01-02T10:30:00"',
            "",
            datetime.datetime(2024, 1, 2, 10, 30),
        ),
        ("", "loose", "loose"),
        ('office:value-type="string"', "a<text:s text:c='2'/>b<text:tab/>c", "a  b\tc"),
        ('office:value-type="string"', "a</text:p><text:p>b", "a\nb"),
        ('office:value-type="string"', "blue<text:span>/white</text:span>", "blue/white"),
    ],
)
def test_ods_cells(tmp_path: Path, attributes: str, text: str, value: Value) -> None:
    """Each kind of cell, and each way it can be without a usable value."""
    row = ods_row(ods_cell(text, attributes), ods_cell("end"))
    ((found, end),) = rows_of(ods_of(tmp_path / "a.ods", row))
    assert end == "end"
    if isinstance(found, Fault) and isinstance(value, str):
        assert found.says.startswith(value)
    else:
        assert found == value


def test_ods_repeats(tmp_path: Path) -> None:
    """Repeated cells and rows stand as often as they say, blank ends are not written out."""
    one = ods_cell("1", 'office:value-type="float" office:value="1"', times=2)
    covered, blanks = "<table:covered-table-cell/>", ods_cell(times=16_378)
    path = ods_of(
        tmp_path / "a.ods",
        ods_row(ods_cell(times=16_384), times=2),
        ods_row(ods_cell(times=2), one, covered, ods_cell("x"), blanks, times=2),
        ods_row(ods_cell(times=16_384), times=1_048_571),
        ods_row(ods_cell(about='table:style-name="ce1"')),
    )
    row = (None, None, Decimal(1), Decimal(1), None, "x")
    assert rows_of(path) == ((), (), row, row)


@pytest.mark.parametrize(
    ("rows", "cell"),
    [
        (ods_row(ods_cell("x", times=16_384), times=1_048_576), "XFD1048576"),
        (ods_row(ods_cell("x", times=6), times=1_000_000), "F1000000"),
        (ods_row(ods_cell("x", times=9_000), ods_cell("y", times=9_000)), "ZPH1"),
        (ods_row(times=1_048_576) + ods_row(ods_cell("x")), "A1048577"),
    ],
)
def test_ods_far_cells_are_refused(tmp_path: Path, rows: str, cell: str) -> None:
    """Repeats that make millions of cells are refused before they are written out."""
    place, says, _ = refusal(ods_of(tmp_path / "a.ods", rows))
    assert place == f"a.ods › Circuits › {cell}"
    assert "cells" in says


def test_ods_notes_drawings_and_inner_tables_are_passed_over(tmp_path: Path) -> None:
    """Only the cell's own text is its value."""
    note = "<office:annotation><text:p>note</text:p></office:annotation>"
    shape = "<draw:frame><draw:text-box><text:p>box</text:p></draw:text-box></draw:frame>"
    inner = f'<table:table table:name="in">{ods_row(ods_cell("z"))}</table:table>'
    cell = f"<table:table-cell>{note}{shape}{inner}<text:p>red</text:p></table:table-cell>"
    shapes = f"<table:shapes>{shape}</table:shapes>"
    heading = f"<table:table-header-rows>{ods_row(ods_cell('wire'))}</table:table-header-rows>"
    rows = rows_of(ods_of(tmp_path / "a.ods", shapes, heading, ods_row(cell)))
    assert rows == (("wire",), ("red",))


def test_ods_stored_copies_of_other_files_are_no_sheets(tmp_path: Path) -> None:
    """What LibreOffice keeps of a linked file is not a sheet of this one."""
    copy = "<table:table-source/>" + ods_row(ods_cell("old"))
    tables = (("'file:///b.ods'#$Circuits", copy), ("Circuits", ods_row(ods_cell("new"))))
    (tmp_path / "a.ods").write_bytes(ods_book(*tables))
    assert rows_of(tmp_path / "a.ods") == (("new",),)


# .csv


def test_one_csv_is_the_single_sheet(tmp_path: Path) -> None:
    """A lone `.csv` has one sheet, called as the caller says; its values are text."""
    path = tmp_path / "bobber.csv"
    path.write_text("wire,from,length\n W1 ,battery:- 1,1.20\n\n,,\nW2,,\n")
    (sheet,) = book_of(path, single="Prices").sheets
    assert (sheet.file, sheet.name) == ("bobber.csv", "Prices")
    heads, first = ("wire", "from", "length"), ("W1", "battery:- 1", "1.20")
    assert sheet.rows == (heads, first, (), (), ("W2",))


def test_folder_of_csv(tmp_path: Path) -> None:
    """Each `.csv` of a folder is a sheet of its name; other files are let be."""
    folder = tmp_path / "bobber"
    (folder / "sub.csv").mkdir(parents=True)
    for name in ("Loom.csv", "Circuits.CSV", "._Loom.csv", "notes.txt"):
        (folder / name).write_text(f"{name}\n")
    book = book_of(folder)
    assert book.file == "bobber"
    assert [(s.file, s.name, s.rows) for s in book.sheets] == [
        ("bobber/Circuits.CSV", "Circuits", (("Circuits.CSV",),)),
        ("bobber/Loom.csv", "Loom", (("Loom.csv",),)),
    ]


def test_folder_tells_all_bad_files_at_once(tmp_path: Path) -> None:
    folder = tmp_path / "bobber"
    folder.mkdir()
    for name, data in (("A", b""), ("B", b'a\n"b\n'), ("C", b"fine\n")):
        (folder / f"{name}.csv").write_bytes(data)
    book, problems = read_book(folder)
    assert book is None
    assert [str(p.where) for p in problems] == ["bobber/A.csv", "bobber/B.csv › A2"]


@pytest.mark.parametrize(
    ("data", "row"),
    [
        ("a,grün".encode(), ("a", "grün")),
        ("a,grün".encode("utf-8-sig"), ("a", "grün")),
        ("a,grün".encode("cp1252"), ("a", "grün")),
        ("a,1.0 mm²\r".encode("cp1252"), ("a", "1.0 mm²")),
        ("a,b\xa0c".encode(), ("a", "b c")),
        (b'a,"x, ""y""\nz"\n', ("a", 'x, "y"\nz')),
        (b'a,47"\n', ("a", '47"')),
        (b"a;1,5\nb;2,5\nc;3,5\n", ("a", "1,5")),
        (b"a\tb, c\nd\te\n", ("a", "b, c")),
        (b'a,"x;y;z"\nb,c\n', ("a", "x;y;z")),
        (b"alone\n", ("alone",)),
        (b"a,'=1+1\n", ("a", "=1+1")),
        (b"a,'-x,'+x,'@x,'\tx,'x\n", ("a", "-x", "+x", "@x", "x", "'x")),
        (b"a,#N/A,#n/a\n", ("a", Fault("#N/A"), "#n/a")),
    ],
)
def test_csv_cells(tmp_path: Path, data: bytes, row: Cells) -> None:
    """Encodings, separators, quotes, guards and error words of a `.csv`."""
    path = tmp_path / "a.csv"
    path.write_bytes(data)
    assert rows_of(path)[0] == row


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("wire;from;length;note\nW1;a;1,2\nW2;a;1,3\nW3;a;1,4;x\n", ";"),
        ("My job, 1976\nwire;from;length\nW1;a;1,2\nW2;a;1,3\n", ";"),
        ("from,to,note\na,b,x;y\nc,d\n", ","),
        ("from,to,colour,gauge\na,b\nc,d,red\ne,f,red,1.0\n", ","),
        ("from\tto\tnote\na\tb\tx; y, z\n", "\t"),
        ("\n\n;;;\nfrom;to\n1,5;2,5\n", ";"),
    ],
)
def test_csv_separator_is_found(tmp_path: Path, text: str, mark: str) -> None:
    """Titles, notes and decimal commas do not pass for column marks."""
    path = tmp_path / "a.csv"
    path.write_text(text)
    last = text.splitlines()[-1].split(mark)
    assert rows_of(path)[-1] == tuple(last)


@pytest.mark.parametrize(
    ("data", "place", "says"),
    [
        (b'a,b\nc,"d\ne,f\n', "a.csv › Circuits › A2", "row 2: a quote mark is opened"),
        (b'a,"b"c\n', "a.csv › Circuits › A1", "row 1: text goes on after a closing quote"),
        (b"a,b\nc,\x81\n", "a.csv › Circuits", "line 2: byte 0x81"),
        (b"\xef\xbb\xbfa,\xfc\n", "a.csv › Circuits", "line 1: byte 0xFC"),
        (b"a\0b\n", "a.csv › Circuits", "UTF-16"),
        ("a,b\n".encode("utf-16"), "a.csv › Circuits", "UTF-16"),
        (b'a\n"' + b"x" * 200_000, "a.csv › Circuits › A2", "row 2: a quote mark is opened"),
        (b"", "a.csv", "is empty"),
        (b" \r\n", "a.csv", "is empty"),
        (b"," * 5_000_000, "a.csv › Circuits", "over 5,000,000 cells"),
    ],
)
def test_csv_refusals(tmp_path: Path, data: bytes, place: str, says: str) -> None:
    """A `.csv` that is no list is refused with the row that is wrong."""
    path = tmp_path / "a.csv"
    path.write_bytes(data)
    found = refusal(path)
    assert found[0] == place
    assert says in found[1]


# Refusals of any file


def test_missing_file_suggests_a_near_one(tmp_path: Path) -> None:
    write_xlsx(tmp_path / "Bobber.xlsx", [["x"]])
    (tmp_path / "bobbin.txt").write_text("x")
    assert refusal(tmp_path / "bober.xlsx") == (
        "bober.xlsx",
        "there is no such file",
        "Bobber.xlsx",
    )
    assert refusal(tmp_path / "bobber")[2] == "Bobber.xlsx"
    assert refusal(tmp_path / "zzz.xlsx")[2] == "Bobber.xlsx"
    (tmp_path / "empty").mkdir()
    assert refusal(tmp_path / "empty" / "zzz.xlsx")[2] == "the path of a book"


def test_missing_folder(tmp_path: Path) -> None:
    """A folder that is not there is named, and the one beside it that it may be."""
    assert "there is no folder" in refusal(tmp_path / "no" / "a.xlsx")[1]
    assert refusal(tmp_path / "no" / "a.xlsx")[2] == "the folder it lies in"
    (tmp_path / "jobs").mkdir()
    assert refusal(tmp_path / "jbs" / "a.xlsx")[2] == str(tmp_path / "jobs" / "a.xlsx")


def test_a_folder_of_workbooks_names_them(tmp_path: Path) -> None:
    """A workshop, or its folder of jobs, is no job: the books in it are named."""
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    assert refusal(jobs)[1:] == ("is a folder without any .csv in it", "name a workbook")
    for name in ("b.xlsx", "a.ods", "~$b.xlsx", "note.txt"):
        (jobs / name).write_text("x")
    there = f"one of {jobs / 'a.ods'}, {jobs / 'b.xlsx'}"
    assert refusal(jobs)[2] == there
    assert refusal(tmp_path)[2] == there


XLSX = plain_book([["#N/A"]], "Circuits")
ODS = ods_book(("Circuits", ""))
OLE = b"\xd0\xcf\x11\xe0" + b"\0" * 508
SAVE = "save it as .xlsx"
DTD = b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>'
BOOK, STYLES, STRINGS = (f"xl/{name}.xml" for name in ("workbook", "styles", "sharedStrings"))


def changed(name: str, change: Callable[[bytes], bytes]) -> bytes:
    """The workbook with one member changed, or the OpenDocument."""
    return operated(ODS if name == "content.xml" else XLSX, {name: change})


@pytest.mark.parametrize(
    ("name", "data", "says", "cure"),
    [
        ("a.xls", OLE, "files ending in '.xls'", SAVE),
        ("a.xlsb", b"PK", "files ending in '.xlsb'", SAVE),
        ("a", b"x", "no ending such as .xlsx", SAVE),
        ("a.xlsx", b"wire,from,to\n", "is not a .xlsx workbook", SAVE),
        ("a.ods", b"<html></html>", "is not a .ods workbook", SAVE),
        ("a.xlsx", ODS, "is not a .xlsx workbook", SAVE),
        ("a.ods", XLSX, "is not a .ods workbook", SAVE),
        ("a.xlsx", b"", "is empty", ""),
        ("a.xlsx", b"PK\x03\x04" + b"\0" * 100, "is damaged", "fresh copy"),
        *(("a.xlsx", XLSX[: len(XLSX) * n // 100], "is damaged", "") for n in (10, 50, 90, 99)),
        ("a.xlsx", b"PK\x03\x04" + b"PK\x01\x02" * 10_001, "over 10,000 parts", ""),
        # passwords: an old container around it, a flag of the zip, a word in the manifest
        ("a.xlsx", OLE, "protected with a password", "without a"),
        ("a.ods", OLE, "protected with a password", "without a"),
        ("a.xlsx", locked(XLSX), "protected with a password", ""),
        ("a.ods", ods_book(manifest="<m><manifest:encryption-data/></m>"), "protected", ""),
        # LZMA unpacks without a bound in the standard library
        ("a.xlsx", packed({BOOK: "<workbook/>"}, zipfile.ZIP_LZMA), "packed in a way", ""),
        # entities can blow up any reader, and searches in other letters would find nothing
        *(
            ("a.xlsx", changed(n, lambda x: DTD + x), "DTD", "")
            for n in (BOOK, STYLES, STRINGS, SHEET)
        ),
        ("a.ods", changed("content.xml", lambda x: DTD + x), "document type decl", ""),
        ("a.xlsx", changed(SHEET, lambda xml: xml.decode().encode("utf-16")), "UTF-8", ""),
        ("a.xlsx", changed(SHEET, lambda xml: xml.replace(b"UTF-8", b"UTF-7")), "UTF-8", ""),
        *(
            ("a.xlsx", changed(n, lambda xml: xml[:-30]), "is damaged|read: syntax error", "")
            for n in (BOOK, STYLES, SHEET)
        ),
        ("a.xlsx", changed(SHEET, lambda _: b""), "the sheet 'Circuits' is missing", ""),
        ("a.xlsx", changed(BOOK, lambda x: re.sub(b"<sheet .*?/>", b"", x)), "^has no sheets$", ""),
        ("a.ods", ods_book(), "^has no sheets$", ""),
        # a text that is not among the shared texts
        ("a.xlsx", changed(SHEET, lambda x: x.replace(b"<v>0", b"<v>7")), "cannot be read", ""),
    ],
)
def test_refused_as_no_book(tmp_path: Path, name: str, data: bytes, says: str, cure: str) -> None:
    (tmp_path / name).write_bytes(data)
    found = refusal(tmp_path / name)
    assert re.search(says, found[1])
    assert cure in found[2]


def test_flipped_bits_never_raise(tmp_path: Path) -> None:
    """A byte changed anywhere gives a book or a problem, never an exception."""
    path = write_xlsx(tmp_path / "a.xlsx", [["wire", 1, 0.5]])
    data = path.read_bytes()
    for place in range(0, len(data), 41):
        path.write_bytes(data[:place] + bytes([data[place] ^ 0xFF]) + data[place + 1 :])
        book, problems = read_book(path)
        assert (book is None) == bool(problems)


def test_duplicate_members(tmp_path: Path) -> None:
    """Two parts of one name could be read either way: refused."""
    with pytest.warns(UserWarning, match="Duplicate"):
        (tmp_path / "a.xlsx").write_bytes(operated(XLSX, {}, {BOOK: b"<workbook/>"}))
    assert "two parts of one name" in refusal(tmp_path / "a.xlsx")[1]


@pytest.mark.parametrize(
    ("name", "make", "says"),
    [
        # refused from the zip directory
        ("a.xlsx", REFUSED["gigabytes.xlsx"], "would unpack to 2,000 MB"),
        ("a.ods", REFUSED["gigabytes.ods"], "would unpack to 2,000 MB"),
        ("a.ods", lambda: packed({"content.xml": b" " * 60_000_000}), "would unpack to 60 MB"),
        # a member that says it is small is unpacked no further than it says
        ("a.ods", REFUSED["lying.ods"], "is damaged"),
    ],
)
def test_zip_bombs(tmp_path: Path, name: str, make: Callable[[], bytes], says: str) -> None:
    """Small files that unpack to much take no memory."""
    (tmp_path / name).write_bytes(make())
    assert (tmp_path / name).stat().st_size < 2_500_000
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert says in refusal(tmp_path / name)[1]
    grown_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert grown_kb < 100_000


class PanicException(BaseException):
    """As Rust code raises it: not an Exception."""


@pytest.mark.parametrize(
    ("call", "trouble", "says"),
    [
        # even a panic inside calamine is a problem, not a crash
        ("calamine", PanicException("index out of bounds"), "cannot be read: index out of bounds"),
        ("disk", PermissionError(13, "Permission denied"), "may not be read: permission denied"),
        ("disk", OSError(5, "Input/output error"), "cannot be read: Input/output error"),
        # Ctrl-C while reading stops the program
        ("calamine", KeyboardInterrupt(), None),
    ],
)
def test_trouble_while_reading(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    call: str,
    trouble: BaseException,
    says: str | None,
) -> None:
    """What calamine or the system refuses is told in its words."""

    def refuse(*_: object) -> NoReturn:
        raise trouble

    path = write_xlsx(tmp_path / "a.xlsx", [["x"]])
    if call == "disk":
        monkeypatch.setattr(Path, "read_bytes", refuse)
    else:
        monkeypatch.setattr(python_calamine.CalamineWorkbook, "from_filelike", refuse, False)
    if says is None:
        with pytest.raises(KeyboardInterrupt):
            read_book(path)
    else:
        assert says in refusal(path)[1]


def test_what_is_not_even_opened(tmp_path: Path) -> None:
    """A folder without lists, a named pipe, a long name, over 300 MB: refused without waiting."""
    with (tmp_path / "a.csv").open("wb") as file:
        file.truncate(300_000_001)
    assert "over 300 MB" in refusal(tmp_path / "a.csv")[1]
    (tmp_path / "jobs.xlsx").mkdir()
    (tmp_path / "jobs.xlsx" / "notes.txt").write_text("x")
    os.mkfifo(tmp_path / "pipe.xlsx")
    assert "folder without any .csv" in refusal(tmp_path / "jobs.xlsx")[1]
    assert "is not a file" in refusal(tmp_path / "pipe.xlsx")[1]
    assert "cannot be read" in refusal(tmp_path / ("x" * 300 + ".xlsx"))[1]


# Write, then read: the same rows

TEXTS = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=12)
NUMBERS = st.decimals(
    min_value=-(10**9), max_value=10**9, places=4, allow_nan=False, allow_infinity=False
)
ROWS = st.lists(st.lists(TEXTS | NUMBERS | st.none(), max_size=5), max_size=6)
NO_BREAK = str.maketrans("\xa0\u2007\u202f", "   ")


def as_read(value: Any) -> Any:
    """What a written cell must come back as: text without outer blanks, no empty text."""
    if isinstance(value, str):
        return value.translate(NO_BREAK).strip() or None
    return value


def without_blank_ends(rows: Sequence[Sequence[Any]]) -> tuple[tuple[Any, ...], ...]:
    """The rows without blank cells at their ends and blank rows at the end."""
    cut = [list(row) for row in rows]
    for row in cut:
        while row and row[-1] is None:
            row.pop()
    while cut and not cut[-1]:
        cut.pop()
    return tuple(map(tuple, cut))


@settings(max_examples=60)
@given(rows=ROWS)
def test_round_trip_by_xlsx(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str | Decimal | None]]
) -> None:
    """Rows written by openpyxl read back equal, numbers exactly."""
    path = write_xlsx(tmp_path_factory.mktemp("trip") / "a.xlsx", rows)
    assert rows_of(path) == without_blank_ends([[as_read(v) for v in row] for row in rows])


def guarded(value: str | Decimal | None) -> str:
    """A cell as the program writes it to CSV: text a spreadsheet might run gets a quote."""
    text = "" if value is None else str(value)
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t")) else text


@given(rows=ROWS, mark=st.sampled_from(",;\t"))
def test_round_trip_by_csv(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str | Decimal | None]], mark: str
) -> None:
    """Rows written by our rules read back equal, as text."""
    path = tmp_path_factory.mktemp("trip") / "a.csv"
    heading = ["wire", "from", "to", "colour", "gauge"]
    file = io.StringIO(newline="")
    writer = csv.writer(file, delimiter=mark, quoting=csv.QUOTE_ALL)
    writer.writerows([heading, *[[guarded(value) for value in row] for row in rows]])
    path.write_text(file.getvalue(), encoding="utf-8", newline="")
    texts = [[None if v is None else as_read(str(v)) for v in row] for row in rows]
    assert rows_of(path) == without_blank_ends([heading, *texts])


def test_rows_formatted_down_to_the_bottom_are_left_out(tmp_path: Path) -> None:
    """What stands above them is as it was; a formula without a result among them is still told."""
    grids = {}
    for path, blanks, formula in (("plain", 0, 0), ("long", 30_000, 0), ("late", 30_000, 20_000)):
        with xlsxwriter.Workbook(tmp_path / f"{path}.xlsx") as book:
            sheet, red = book.add_worksheet("Circuits"), book.add_format({"bg_color": "red"})
            sheet.write_row(0, 0, ("wire", "from"))
            sheet.write_row(1, 0, ("1", "battery"))
            for row in range(2, 2 + blanks):
                sheet.write_blank(row, 0, None, red)
            if formula:
                sheet.write_formula(formula, 1, "=A1", None, "")
        grids[path] = rows_of(tmp_path / f"{path}.xlsx")
    assert grids["plain"] == grids["long"] == grids["late"][:2]
    assert len(grids["late"]) == 20_001
