"""Books on the way in: every kind, every odd cell, every refusal."""

import csv
import datetime
import io
import os
import re
import resource
import struct
import subprocess
import sys
import time
import zipfile
import zlib
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
    NEVER_CALCULATED,
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

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
ONE_GB = 1_000_000_000
MAX_SECONDS = 1.0


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
    """Place, sentence and cure of the single error a book is refused with, in under a second."""
    started = time.process_time()
    book, problems = read_book(path)
    seconds = time.process_time() - started
    assert book is None
    (problem,) = problems
    assert problem.level == "error"
    assert problem.where.file == path.name
    assert seconds < MAX_SECONDS
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
    with zipfile.ZipFile(path) as old:
        parts = {item: old.read(item) for item in old.namelist()}
    parts[name] = change(parts.get(name, b""))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for item, data in parts.items():
            new.writestr(item, data)
    return path


def xlsx_of(path: Path, cells: str, top: str = "") -> Path:
    """A book whose only sheet has this sheet data, typed by hand."""
    write_xlsx(path, [["x"]])
    xml = f'<worksheet xmlns="{MAIN}">{top}<sheetData>{cells}</sheetData></worksheet>'
    return with_part(path, "xl/worksheets/sheet1.xml", lambda _: xml.encode())


ODS_SPACES = " ".join(
    f'xmlns:{prefix}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for prefix, name in [
        ("office", "office"),
        ("table", "table"),
        ("text", "text"),
        ("draw", "drawing"),
        ("calcext", "calcext"),
    ]
)


def ods_of(path: Path, rows: str, before: str = "") -> Path:
    """An OpenDocument sheet `Circuits` with these rows, typed by hand."""
    xml = (
        f"<office:document-content {ODS_SPACES}><office:body><office:spreadsheet>{before}"
        f'<table:table table:name="Circuits">{rows}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", xml)
    return path


def ods_row(*cells: str, repeat: int = 1) -> str:
    """One row of OpenDocument cells."""
    return (
        f'<table:table-row table:number-rows-repeated="{repeat}">{"".join(cells)}</table:table-row>'
    )


def ods_cell(attributes: str = "", text: str = "", repeat: int = 1) -> str:
    """One OpenDocument cell, its text in one paragraph."""
    inner = f"<text:p>{text}</text:p>" if text else ""
    columns = f'table:number-columns-repeated="{repeat}"'
    return f"<table:table-cell {attributes} {columns}>{inner}</table:table-cell>"


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
    """Zero-based row and column make the name a spreadsheet shows."""
    assert cell_name(row, column) == name


def test_where_names_file_sheet_and_cell() -> None:
    """A sheet knows the place of each of its cells."""
    sheet = Sheet(file="bobber.xlsx", name="Circuits", rows=())
    assert sheet.where(6, 2) == Where("bobber.xlsx", "Circuits", "C7")


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
    assert book is not None
    found = book.sheet("Circuits")
    assert found is not None
    assert found.rows == (("a",),)
    assert [(p.level, p.where.sheet) for p in problems] == [("caution", "circuits")]
    assert "'Cir cuits'" in problems[0].says


def test_import_is_light() -> None:
    """Importing the module loads none of the heavy libraries."""
    code = (
        "import sys, bom.sheet; "
        "print(*{'python_calamine', 'openpyxl', 'pandas'} & set(sys.modules), sep=',')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


# .xlsx: values


def test_plain_values(tmp_path: Path) -> None:
    """Text is tidied, numbers are exact to 15 figures, dates and booleans stay."""
    day = datetime.datetime(2024, 1, 2)
    path = write_xlsx(
        tmp_path / "a.xlsx",
        [
            [" battery:-\xa0 1 ", "NA", "None", "", "  "],
            [1, 0.1 + 0.2, 1e20, 1.5e-7, -0.0],
            [True, False, 1.0, day, datetime.time(1, 30)],
        ],
    )
    assert rows_of(path) == (
        ("battery:-  1", "NA", "None"),
        (Decimal(1), Decimal("0.3"), Decimal("1e20"), Decimal("1.5e-7"), Decimal(0)),
        (True, False, Decimal(1), day.date(), datetime.time(1, 30)),
    )


def test_numbers_print_without_exponent(tmp_path: Path) -> None:
    """A whole number never shows an exponent, and zero has no sign."""
    (row,) = rows_of(write_xlsx(tmp_path / "a.xlsx", [[100, 1e15, -0.0, 12.50]]))
    assert [str(value) for value in row] == ["100", "1000000000000000", "0", "12.5"]


def test_booleans_are_not_numbers(tmp_path: Path) -> None:
    """TRUE beside 1 stays TRUE, in either order."""
    (row,) = rows_of(write_xlsx(tmp_path / "a.xlsx", [[1, True, 0, False, 1.0, True]]))
    assert [type(value) for value in row] == [Decimal, bool, Decimal, bool, Decimal, bool]


def test_lengths_of_time(tmp_path: Path) -> None:
    """A time under a day is a time; a longer one has no value in a list."""
    path = tmp_path / "a.xlsx"
    spans = [datetime.timedelta(hours=1, minutes=30), datetime.timedelta(hours=30)]
    write_xlsx(path, [spans])
    assert rows_of(path) == ((datetime.time(1, 30), Fault("a length of time")),)


def test_number_beyond_reading_is_a_fault(tmp_path: Path) -> None:
    """A number that overflows is named, not infinite."""
    path = xlsx_of(tmp_path / "a.xlsx", '<row r="1"><c r="A1"><v>1e999</v></c></row>')
    assert rows_of(path) == ((Fault("a number too large to read"),),)


def test_leading_and_trailing_blanks(tmp_path: Path) -> None:
    """Blank rows and columns before the list count, those after it are cut off."""
    path = tmp_path / "a.xlsx"
    write_xlsx(path, [[], [], [None, "x", None, " "], [], [""]])
    assert rows_of(path) == ((), (), (None, "x"))


def test_percent_formats_by_xlsxwriter(tmp_path: Path) -> None:
    """A number shown in per cent is the per cent; a quoted sign is only decoration."""
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Job")
        for column, (value, code) in enumerate(
            [(0.05, "0%"), (0.175, "0.00%"), (0.2, "0.0 %;[Red]-0.0 %"), (5, '0"%"'), (5, "0\\%")]
        ):
            sheet.write_number(0, column, value, book.add_format({"num_format": code}))
        sheet.write_string(0, 5, "5", book.add_format({"num_format": "0%"}))
        sheet.write_formula(0, 6, "=1/10", book.add_format({"num_format": "0%"}), 0.1)
        sheet.write_number(0, 7, 10, book.add_format({"num_format": "0%"}))
    (row,) = rows_of(path)
    assert row == (
        Percent(Decimal(5)),
        Percent(Decimal("17.5")),
        Percent(Decimal(20)),
        Decimal(5),
        Decimal(5),
        "5",
        Percent(Decimal(10)),
        Percent(Decimal(1000)),
    )
    assert str(row[7]) == "Percent(value=Decimal('1000'))"


def test_errors_and_uncalculated_formulas_by_openpyxl(tmp_path: Path) -> None:
    """Error values come with their own text, formulas without a result say so."""
    path = tmp_path / "a.xlsx"
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["#N/A", "x", "=1+1", "#DIV/0!"])
    sheet["F3"] = "=SUM(A1:A2)"
    book.save(path)
    assert rows_of(path) == (
        (Fault("#N/A"), "x", Fault(NEVER_CALCULATED), Fault("#DIV/0!")),
        (),
        (None, None, None, None, None, Fault(NEVER_CALCULATED)),
    )


def test_calculated_formulas_by_xlsxwriter(tmp_path: Path) -> None:
    """A formula with a stored result is its result, an empty text is blank."""
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet()
        sheet.write_formula("A1", "=1+1", None, 2)
        sheet.write_formula("B1", '="re"&"d"', None, "red")
        sheet.write_formula("C1", "=NA()", None, "#N/A")
        sheet.write_formula("D1", "=1=1", None, True)
        sheet.write("E1", "end")
    assert rows_of(path) == ((Decimal(2), "red", Fault("#N/A"), True, "end"),)


def test_formula_results_typed_by_hand(tmp_path: Path) -> None:
    """An empty text result is blank; no result, or an empty number, was never calculated."""
    cells = (
        '<row r="1"><c r="A1" t="str"><f>""</f><v></v></c><c r="B1"><f>1</f></c>'
        '<c r="C1"><f>1</f><v/></c><c r="D1" t="str"><f>1</f></c>'
        '<c r="E1" t="e"><f>1/0</f><v>#DIV/0!</v></c><c r="F1" t="e"/>'
        '<c r="G1"><f t="shared" si="0"/><v>7</v></c><c r="H1" t="b"><v>1</v></c></row>'
    )
    never = Fault(NEVER_CALCULATED)
    assert rows_of(xlsx_of(tmp_path / "a.xlsx", cells)) == (
        (None, never, never, never, Fault("#DIV/0!"), None, Decimal(7), True),
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
    assert rows_of(with_part(path, "xl/worksheets/sheet1.xml", prefixed)) == SAME_ROWS


def test_percent_cell_without_value_at_the_edge(tmp_path: Path) -> None:
    """A blank cell shown in per cent beyond the list is no trouble."""
    path = tmp_path / "a.xlsx"
    write_xlsx(path, [["x"]])
    book = openpyxl.load_workbook(path)
    book.worksheets[0]["C5"].number_format = "0%"
    book.save(path)
    with_part(
        path,
        "xl/worksheets/sheet1.xml",
        lambda xml: re.sub(rb'(<c r="C5"[^>]*?) ?/>', rb"\1><v></v></c>", xml),
    )
    assert rows_of(path) == (("x",),)


def test_shared_and_inline_text(tmp_path: Path) -> None:
    """Rich, shared and inline text all come out as plain text."""
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
    assert [(s.name, s.rows) for s in sheets] == [
        ("Küche & <Co>", ()),
        ("Loom", (("Loom",),)),
        ("Job", (("Job",),)),
    ]


def test_macro_book_and_upper_case_ending(tmp_path: Path) -> None:
    """`.xlsm` and `.XLSX` are read like `.xlsx`."""
    for name in ("a.xlsm", "A.XLSX"):
        path = write_xlsx(tmp_path / "a.xlsx", [["x"]]).rename(tmp_path / name)
        assert rows_of(path) == (("x",),)


def test_book_keeps_its_path_and_own_name(tmp_path: Path) -> None:
    """Messages use the file's own name, the path stays as given."""
    path = write_xlsx(tmp_path / "a.xlsx", [["x"]])
    book = book_of(path)
    assert (book.file, book.path, book.sheets[0].file) == ("a.xlsx", path, "a.xlsx")


def test_dot_path_is_called_by_its_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder one stands in has a name in messages."""
    (tmp_path / "bobber").mkdir()
    (tmp_path / "bobber" / "Circuits.csv").write_text("a\n")
    monkeypatch.chdir(tmp_path / "bobber")
    assert book_of(Path(".")).file == "bobber"


# .xlsx: far cells


def test_stray_format_in_the_last_cell_costs_nothing(tmp_path: Path) -> None:
    """A formatted but empty cell in XFD1048576 changes neither rows nor time."""
    path = tmp_path / "a.xlsx"
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet["A1"] = "x"
    sheet.cell(1_048_576, 16_384).number_format = "0.00%"
    book.save(path)
    started = time.process_time()
    assert rows_of(path) == (("x",),)
    assert time.process_time() - started < MAX_SECONDS


def test_stray_value_in_the_last_cell_is_refused(tmp_path: Path) -> None:
    """A value in XFD1048576 would make a grid of 17,000 million cells: it is named."""
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Circuits")
        sheet.write("A1", "x")
        sheet.write(1_048_575, 16_383, "stray")
    place, says, cure = refusal(path)
    assert place == "a.xlsx › Circuits › XFD1048576"
    assert "over 5,000,000 cells" in says
    assert "stray cells" in cure


def test_stray_value_in_the_last_row_is_found(tmp_path: Path) -> None:
    """A value in A1048576 is read where it stands: one column of a million is allowed."""
    cells = (
        '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="A1048576"><v>2</v></c></row>'
    )
    rows = rows_of(xlsx_of(tmp_path / "a.xlsx", cells))
    assert len(rows) == 1_048_576
    assert (rows[0], rows[1], rows[-1]) == ((Decimal(1),), (), (Decimal(2),))


@pytest.mark.parametrize("address", ["XFE1", "A1048577", "A99999999999", "1A", "$A$1", "A0"])
def test_impossible_addresses_are_refused(tmp_path: Path, address: str) -> None:
    """A cell outside any sheet is an error, whatever reads it."""
    path = xlsx_of(tmp_path / "a.xlsx", f'<row r="1"><c  r="{address}"><v>1</v></c></row>')
    assert "cannot be read" in refusal(path)[1]


@pytest.mark.parametrize("row", ["0", "-5", "x", "99999999"])
def test_impossible_rows_are_refused(tmp_path: Path, row: str) -> None:
    """A row number outside any sheet is an error."""
    path = xlsx_of(tmp_path / "a.xlsx", f'<row r="{row}"><c><v>1</v></c></row>')
    assert "cannot be read" in refusal(path)[1]


def test_a_wrong_dimension_is_not_believed(tmp_path: Path) -> None:
    """The size a sheet claims for itself allocates nothing."""
    top = '<dimension ref="A1:XFD1048576"/>'
    path = xlsx_of(tmp_path / "a.xlsx", '<row r="1"><c r="A1"><v>1</v></c></row>', top)
    assert rows_of(path) == ((Decimal(1),),)


def test_columns_beyond_z(tmp_path: Path) -> None:
    """A list wider than 26 columns is read whole."""
    (row,) = rows_of(write_xlsx(tmp_path / "a.xlsx", [[*range(30)]]))
    assert row == tuple(map(Decimal, range(30)))


# .ods


def test_ods_by_odfpy(tmp_path: Path) -> None:
    """A sheet written by odfpy: number, per cent, text, money, date, time, boolean."""
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    document = OpenDocumentSpreadsheet()
    table, row = Table(name="Job"), TableRow()
    for kind, attribute, value in [
        ("float", "value", "0.1"),
        ("percentage", "value", "0.05"),
        ("currency", "value", "12.50"),
        ("date", "datevalue", "2024-01-02"),
        ("time", "timevalue", "PT01H30M00S"),
        ("boolean", "booleanvalue", "true"),
        ("string", "stringvalue", " red "),
    ]:
        cell = TableCell(valuetype=kind, **{attribute: value})
        cell.addElement(P(text=value))
        row.addElement(cell)
    table.addElement(row)
    document.spreadsheet.addElement(table)
    path = tmp_path / "a.ods"
    document.save(path)
    (sheet,) = book_of(path).sheets
    assert sheet.name == "Job"
    assert sheet.rows == (
        (
            Decimal("0.1"),
            Percent(Decimal(5)),
            Decimal("12.5"),
            datetime.date(2024, 1, 2),
            datetime.time(1, 30),
            True,
            "red",
        ),
    )


@pytest.mark.parametrize(
    ("attributes", "text", "value"),
    [
        ('table:formula="of:=NA()" calcext:value-type="error"', "#N/A", Fault("#N/A")),
        ('table:formula="of:=X" office:value-type="float" office:value="0"', "Err:502", "Err:502"),
        ('table:formula="of:=1+1"', "", NEVER_CALCULATED),
        ('table:formula="of:=1+1" office:value-type="float" office:value="2"', "2", Decimal(2)),
        ('table:formula="of:=A1" office:value-type="string"', "", None),
        ('table:formula="of:=&quot;&quot;"', "<text:span/>", None),
        ('office:value-type="string"', "#N/A", "#N/A"),
        ('office:value-type="string" office:string-value="red"', "", "red"),
        ('office:value-type="float" office:value="1e999"', "", "a number too large to read"),
        ('office:value-type="float" office:value="x"', "", "a stored float that cannot be read"),
        ('office:value-type="float"', "", "a stored float that cannot be read"),
        ('office:value-type="date" office:date-value="never"', "", "a stored date that cannot"),
        ('office:value-type="time" office:time-value="PT30H00M00S"', "", "a length of time"),
        ('office:value-type="time" office:time-value="-PT1H"', "", "a stored time that cannot"),
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
    ((found, end),) = rows_of(
        ods_of(tmp_path / "a.ods", ods_row(ods_cell(attributes, text), ods_cell("", "end")))
    )
    assert end == "end"
    if isinstance(found, Fault) and isinstance(value, str):
        assert found.says.startswith(value)
    else:
        assert found == value


def test_ods_repeats(tmp_path: Path) -> None:
    """Repeated cells and rows stand as often as they say, blank ends are not written out."""
    one = 'office:value-type="float" office:value="1"'
    path = ods_of(
        tmp_path / "a.ods",
        ods_row(ods_cell(repeat=16_384), repeat=2)
        + ods_row(
            ods_cell(repeat=2),
            ods_cell(one, "1", repeat=2),
            "<table:covered-table-cell/>",
            ods_cell("", "x"),
            ods_cell(repeat=16_378),
            repeat=2,
        )
        + ods_row(ods_cell(repeat=16_384), repeat=1_048_571)
        + ods_row(ods_cell('table:style-name="ce1"')),
    )
    row = (None, None, Decimal(1), Decimal(1), None, "x")
    assert rows_of(path) == ((), (), row, row)


@pytest.mark.parametrize(
    ("rows", "cell"),
    [
        (ods_row(ods_cell("", "x", repeat=16_384), repeat=1_048_576), "XFD1048576"),
        (ods_row(ods_cell("", "x", repeat=6), repeat=1_000_000), "F1000000"),
        (ods_row(ods_cell("", "x", repeat=9_000), ods_cell("", "y", repeat=9_000)), "ZPH1"),
        (ods_row(repeat=1_048_576) + ods_row(ods_cell("", "x")), "A1048577"),
    ],
)
def test_ods_far_cells_are_refused(tmp_path: Path, rows: str, cell: str) -> None:
    """Repeats that make millions of cells are refused before they are written out."""
    place, says, _ = refusal(ods_of(tmp_path / "a.ods", rows))
    assert place == f"a.ods › Circuits › {cell}"
    assert "cells" in says


def test_ods_last_row_value_is_found(tmp_path: Path) -> None:
    """A value in the last row of an otherwise empty column is read where it stands."""
    rows = ods_row(repeat=1_048_575) + ods_row(ods_cell("", "x"))
    found = rows_of(ods_of(tmp_path / "a.ods", rows))
    assert (len(found), found[0], found[-1]) == (1_048_576, (), ("x",))


def test_ods_notes_drawings_and_inner_tables_are_passed_over(tmp_path: Path) -> None:
    """Only the cell's own text is its value."""
    note = "<office:annotation><text:p>note</text:p></office:annotation>"
    shape = "<draw:frame><draw:text-box><text:p>box</text:p></draw:text-box></draw:frame>"
    inner = f'<table:table table:name="in">{ods_row(ods_cell("", "z"))}</table:table>'
    cell = f"<table:table-cell>{note}{shape}{inner}<text:p>red</text:p></table:table-cell>"
    shapes = f"<table:shapes>{shape}</table:shapes>"
    heading = f"<table:table-header-rows>{ods_row(ods_cell('', 'wire'))}</table:table-header-rows>"
    assert rows_of(ods_of(tmp_path / "a.ods", shapes + heading + ods_row(cell))) == (
        ("wire",),
        ("red",),
    )


def test_ods_stored_copies_of_other_files_are_no_sheets(tmp_path: Path) -> None:
    """What LibreOffice keeps of a linked file is not a sheet of this one."""
    copy = (
        "<table:table table:name=\"'file:///b.ods'#$Circuits\"><table:table-source/>"
        f"{ods_row(ods_cell('', 'old'))}</table:table>"
    )
    assert rows_of(ods_of(tmp_path / "a.ods", ods_row(ods_cell("", "new")), copy)) == (("new",),)


# .csv


def test_one_csv_is_the_single_sheet(tmp_path: Path) -> None:
    """A lone `.csv` has one sheet, called as the caller says; its values are text."""
    path = tmp_path / "bobber.csv"
    path.write_text("wire,from,length\n W1 ,battery:- 1,1.20\n\n,,\nW2,,\n")
    (sheet,) = book_of(path, single="Prices").sheets
    assert (sheet.file, sheet.name) == ("bobber.csv", "Prices")
    assert sheet.rows == (
        ("wire", "from", "length"),
        ("W1", "battery:- 1", "1.20"),
        (),
        (),
        ("W2",),
    )


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
    """One bad file of a folder does not hide another."""
    folder = tmp_path / "bobber"
    folder.mkdir()
    (folder / "A.csv").write_bytes(b"")
    (folder / "B.csv").write_bytes(b'a\n"b\n')
    (folder / "C.csv").write_bytes(b"fine\n")
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
    """A mistyped name gets the name that is there."""
    write_xlsx(tmp_path / "Bobber.xlsx", [["x"]])
    (tmp_path / "bobbin.txt").write_text("x")
    assert refusal(tmp_path / "bober.xlsx") == (
        "bober.xlsx",
        "there is no such file",
        "Bobber.xlsx",
    )
    assert refusal(tmp_path / "bobber")[2] == "Bobber.xlsx"
    assert refusal(tmp_path / "zzz.xlsx")[2] == "one of Bobber.xlsx"
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


@pytest.mark.parametrize(
    ("name", "data", "says", "cure"),
    [
        ("a.xls", b"\xd0\xcf\x11\xe0", "files ending in '.xls'", "save it as .xlsx"),
        ("a.xlsb", b"PK", "files ending in '.xlsb'", "save it as .xlsx"),
        ("a", b"x", "no ending such as .xlsx", "save it as .xlsx"),
        ("a.xlsx", b"wire,from,to\n", "is not a .xlsx workbook", "save it as .xlsx"),
        ("a.ods", b"<html></html>", "is not a .ods workbook", "save it as .xlsx"),
        ("a.xlsx", b"\xd0\xcf\x11\xe0" + b"\0" * 508, "protected with a password", "without a"),
        ("a.ods", b"\xd0\xcf\x11\xe0" + b"\0" * 508, "protected with a password", "without a"),
        ("a.xlsx", b"", "is empty", ""),
        ("a.xlsx", b"PK\x03\x04" + b"\0" * 100, "is damaged", "fresh copy"),
        ("a.xlsx", b"PK\x03\x04" + b"PK\x01\x02" * 10_001, "over 10,000 parts", ""),
    ],
)
def test_wrong_bytes(tmp_path: Path, name: str, data: bytes, says: str, cure: str) -> None:
    """What is no workbook is refused with what to do about it."""
    path = tmp_path / name
    path.write_bytes(data)
    found = refusal(path)
    assert found[0] == name
    assert says in found[1]
    assert cure in found[2]


def test_wrong_kind_of_zip(tmp_path: Path) -> None:
    """An `.ods` called `.xlsx`, and the other way round, is not guessed at."""
    ods = ods_of(tmp_path / "a.ods", "").rename(tmp_path / "b.xlsx")
    xlsx = write_xlsx(tmp_path / "a.xlsx", [["x"]]).rename(tmp_path / "b.ods")
    assert "is not a .xlsx workbook" in refusal(ods)[1]
    assert "is not a .ods workbook" in refusal(xlsx)[1]


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99])
def test_truncated_file(tmp_path: Path, share: float) -> None:
    """A file that was only half saved is damaged."""
    path = write_xlsx(tmp_path / "a.xlsx", [["x"]])
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    assert "is damaged" in refusal(path)[1]


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
    path = write_xlsx(tmp_path / "a.xlsx", [["x"]])
    with zipfile.ZipFile(path, "a") as archive, pytest.warns(UserWarning, match="Duplicate"):
        archive.writestr("xl/workbook.xml", "<workbook/>")
    assert "two parts of one name" in refusal(path)[1]


def patched(path: Path, local: Callable[[bytearray, int], None], central: int) -> Path:
    """The zip with each local header changed by `local`, each directory entry likewise.

    Fields of a directory entry stand `central` bytes further on than in a local header.
    """
    data = bytearray(path.read_bytes())
    for mark, shift in ((b"PK\x03\x04", 0), (b"PK\x01\x02", central)):
        for match in re.finditer(re.escape(mark), bytes(data)):
            local(data, match.start() + shift)
    path.write_bytes(data)
    return path


def test_encrypted_members(tmp_path: Path) -> None:
    """A zip whose members are encrypted (flag bit 0, PKWARE APPNOTE 4.4.4) is protected."""

    def encrypt(data: bytearray, start: int) -> None:
        data[start + 6] |= 1

    path = patched(write_xlsx(tmp_path / "a.xlsx", [["x"]]), encrypt, 2)
    assert "protected with a password" in refusal(path)[1]


def test_encrypted_ods(tmp_path: Path) -> None:
    """An OpenDocument says in its manifest that it is encrypted."""
    path = ods_of(tmp_path / "a.ods", "")
    with_part(path, "content.xml", lambda _: bytes(range(256)))
    with_part(path, "META-INF/manifest.xml", lambda _: b"<m><manifest:encryption-data/></m>")
    assert "protected with a password" in refusal(path)[1]


def test_unusual_packing(tmp_path: Path) -> None:
    """LZMA unpacks without a bound in the standard library: refused."""
    path = tmp_path / "a.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("xl/workbook.xml", "<workbook/>")
    assert "packed in a way" in refusal(path)[1]


def zip_bomb(path: Path, name: str, claimed: int) -> Path:
    """A zip of about 1 MB whose member `name` unpacks to 1 GB and claims to be `claimed`."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    head = packer.compress(b"<x>") + packer.flush(zlib.Z_FULL_FLUSH)
    megabyte = packer.compress(b" " * 1_000_000) + packer.flush(zlib.Z_FULL_FLUSH)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr(name, head + megabyte * 1000 + packer.flush())

    def lie(data: bytearray, start: int) -> None:
        struct.pack_into("<H", data, start + 8, zipfile.ZIP_DEFLATED)
        struct.pack_into("<I", data, start + 22, claimed)

    return patched(path, lie, 2)


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_zip_bomb(tmp_path: Path, kind: str) -> None:
    """A megabyte that unpacks to a gigabyte is refused from the zip directory."""
    path = zip_bomb(tmp_path / f"a.{kind}", "content.xml", ONE_GB + 3)
    assert 900_000 < path.stat().st_size < 1_300_000
    assert "would unpack to 1,000 MB" in refusal(path)[1]


def test_zip_bomb_that_lies_about_its_size(tmp_path: Path) -> None:
    """A member that says it is small is unpacked no further than it says."""
    path = zip_bomb(tmp_path / "a.ods", "content.xml", 1_000_000)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert "is damaged" in refusal(path)[1]
    grown_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert grown_kb < 100_000


def test_high_ratio_below_the_limit(tmp_path: Path) -> None:
    """60 MB packed over 200 to 1 is a bomb as well."""
    path = tmp_path / "a.ods"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("content.xml", b" " * 60_000_000)
    assert "would unpack to 60 MB" in refusal(path)[1]


@pytest.mark.parametrize(
    "part",
    ["xl/workbook.xml", "xl/styles.xml", "xl/sharedStrings.xml", "xl/worksheets/sheet1.xml"],
)
def test_document_type_declarations(tmp_path: Path, part: str) -> None:
    """Entities can blow up any reader: a DTD in a part that is read is refused."""
    dtd = b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>'
    with xlsxwriter.Workbook(tmp_path / "a.xlsx") as book:
        book.add_worksheet().write("A1", "shared")
    path = with_part(tmp_path / "a.xlsx", part, lambda xml: dtd + xml)
    assert "document type declaration" in refusal(path)[1]


def test_document_type_declaration_in_ods(tmp_path: Path) -> None:
    """The same in an OpenDocument."""
    path = with_part(ods_of(tmp_path / "a.ods", ""), "content.xml", lambda x: b"<!DOCTYPE x>" + x)
    assert "document type declaration" in refusal(path)[1]


@pytest.mark.parametrize(
    "change",
    [
        lambda xml: xml.decode().encode("utf-16"),
        lambda xml: b'<?xml version="1.0" encoding="UTF-7"?>' + xml,
    ],
)
def test_other_encodings_of_xml(tmp_path: Path, change: Callable[[bytes], bytes]) -> None:
    """Sheets are written in UTF-8, or the searches in them would find nothing."""
    path = xlsx_of(tmp_path / "a.xlsx", SAME_CELLS)
    assert "UTF-8" in refusal(with_part(path, "xl/worksheets/sheet1.xml", change))[1]


@pytest.mark.parametrize("part", ["xl/workbook.xml", "xl/worksheets/sheet1.xml", "xl/styles.xml"])
def test_broken_xml(tmp_path: Path, part: str) -> None:
    """XML that ends too early is damage."""
    path = with_part(write_xlsx(tmp_path / "a.xlsx", [["#N/A"]]), part, lambda xml: xml[:-30])
    assert re.search("is damaged|cannot be read: syntax error", refusal(path)[1])


def test_sheet_that_is_not_there(tmp_path: Path) -> None:
    """A workbook that names a sheet it does not hold is damaged."""
    path = with_part(
        write_xlsx(tmp_path / "a.xlsx", [["x"]]), "xl/worksheets/sheet1.xml", lambda _: b""
    )
    assert "the sheet 'Circuits' is missing" in refusal(path)[1]


@pytest.mark.parametrize("name", ["a.xlsx", "a.ods"])
def test_book_without_sheets(tmp_path: Path, name: str) -> None:
    """A book of nothing but chart sheets, or of nothing, says so."""
    path = tmp_path / name
    if name == "a.xlsx":
        book = openpyxl.Workbook()
        book.create_chartsheet("Picture")
        del book["Sheet"]
        book.save(path)
    else:
        with_part(
            ods_of(path, ""), "content.xml", lambda x: re.sub(b"<table:.*/table:table>", b"", x)
        )
    assert refusal(path)[1] == "has no sheets"


def test_calamine_errors_become_problems(tmp_path: Path) -> None:
    """A text that is not in the shared texts is one clear error."""
    path = xlsx_of(tmp_path / "a.xlsx", '<row r="1"><c r="A1" t="s"><v>7</v></c></row>')
    assert "cannot be read" in refusal(path)[1]


class PanicException(BaseException):
    """As Rust code raises it: not an Exception."""


def test_calamine_panics_become_problems(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Even a panic inside calamine is a problem, not a crash."""

    class Panicking:
        @staticmethod
        def from_filelike(_: object) -> NoReturn:
            raise PanicException("index out of bounds")

    path = write_xlsx(tmp_path / "a.xlsx", [["x"]])
    monkeypatch.setattr(python_calamine, "CalamineWorkbook", Panicking)
    assert "cannot be read: index out of bounds" in refusal(path)[1]


def test_interrupts_are_not_swallowed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while reading stops the program."""

    def interrupted(_: object) -> NoReturn:
        raise KeyboardInterrupt

    path = write_xlsx(tmp_path / "a.xlsx", [["x"]])
    monkeypatch.setattr(python_calamine.CalamineWorkbook, "from_filelike", interrupted, False)
    with pytest.raises(KeyboardInterrupt):
        read_book(path)
    assert path.exists()


@pytest.mark.parametrize(
    ("trouble", "says"),
    [
        (PermissionError(13, "Permission denied"), "may not be read: permission denied"),
        (OSError(5, "Input/output error"), "cannot be read: Input/output error"),
    ],
)
def test_trouble_with_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, trouble: OSError, says: str
) -> None:
    """What the system refuses is told in its words."""

    def refuse(_: Path) -> NoReturn:
        raise trouble

    path = write_xlsx(tmp_path / "a.xlsx", [["x"]])
    monkeypatch.setattr(Path, "read_bytes", refuse)
    assert refusal(path)[1] == says


def test_file_over_the_limit(tmp_path: Path) -> None:
    """A file of over 300 MB is not even opened."""
    path = tmp_path / "a.csv"
    with path.open("wb") as file:
        file.truncate(300_000_001)
    assert "over 300 MB" in refusal(path)[1]


def test_things_that_are_no_files(tmp_path: Path) -> None:
    """A folder without lists and a named pipe are refused without waiting."""
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


@settings(max_examples=60, deadline=None)
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


@settings(max_examples=150, deadline=None)
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
    plain, long, late = (tmp_path / f"{name}.xlsx" for name in ("plain", "long", "late"))
    for path, blanks, formula in ((plain, 0, 0), (long, 30_000, 0), (late, 30_000, 20_000)):
        with xlsxwriter.Workbook(path) as book:
            sheet, red = book.add_worksheet("Circuits"), book.add_format({"bg_color": "red"})
            sheet.write_row(0, 0, ("wire", "from"))
            sheet.write_row(1, 0, ("1", "battery"))
            for row in range(2, 2 + blanks):
                sheet.write_blank(row, 0, None, red)
            if formula:
                sheet.write_formula(formula, 1, "=A1", None, "")
    grids = {}
    for path in (plain, long, late):
        book_read, problems = read_book(path)
        assert book_read and not problems
        grids[path] = book_read.sheets[0].rows
    assert grids[plain] == grids[long]
    assert len(grids[late]) == 20_001
    assert grids[late][:2] == grids[plain]
