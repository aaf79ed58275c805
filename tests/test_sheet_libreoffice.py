"""Books saved by LibreOffice: what it writes is read as it shows it."""

import datetime
import io
from decimal import Decimal

import openpyxl
import pytest

from bom.files.sheet import Book, Fault, Percent, read_book
from tests.office import converted

pytestmark = pytest.mark.libreoffice


@pytest.fixture(scope="module", params=["xlsx", "ods"])
def saved(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Book:
    """A book made with openpyxl and saved again by LibreOffice."""
    folder = tmp_path_factory.mktemp("libreoffice")
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Circuits"
    sheet["B2"], sheet["C2"] = "two  blanks\nand a line", 0.1
    sheet["D2"], sheet["E2"] = 0.175, datetime.datetime(2024, 1, 2)
    sheet["D2"].number_format = "0.0%"
    sheet["B3"], sheet["C3"], sheet["D3"] = "=1+1", "=NA()", "=1/0"
    sheet["E3"], sheet["F3"], sheet["G3"] = '="re"&"d"', '=""', "=C2*100"
    sheet["A5"], sheet["B5"] = 1, 1
    sheet.merge_cells("B5:C5")
    sheet.cell(1_048_576, 30).number_format = "0.00%"
    hidden = book.create_sheet("Loom")
    hidden.sheet_state = "hidden"
    hidden["A1"] = "from"
    stream = io.BytesIO()
    book.save(stream)
    path = converted(stream.getvalue(), "first.xlsx", folder, request.param)
    found, problems = read_book(path)
    assert problems == ()
    assert found is not None
    return found


def test_cells_saved_by_libreoffice(saved: Book) -> None:
    """Text, number, per cent, date, results, errors and blanks come out alike from both kinds."""
    sheet = saved.sheet("circuits")
    assert sheet is not None
    assert sheet.rows == (
        (),
        (
            None,
            "two  blanks\nand a line",
            Decimal("0.1"),
            Percent(Decimal("17.5")),
            datetime.date(2024, 1, 2),
        ),
        (None, Decimal(2), Fault("#N/A"), Fault("#DIV/0!"), "red", None, Decimal(10)),
        (),
        (Decimal(1), Decimal(1)),
    )


def test_hidden_sheet_saved_by_libreoffice(saved: Book) -> None:
    """A hidden sheet is read like any other."""
    assert [(sheet.name, sheet.rows[0][:1]) for sheet in saved.sheets] == [
        ("Circuits", ()),
        ("Loom", ("from",)),
    ]
