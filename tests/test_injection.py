"""Text that a spreadsheet would run: it reaches every file we write as text, and paper as typed."""

import csv
import io
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from tests.test_cli import bom
from tests.test_papers import text_of

STARTS = ("=", "+", "-", "@")
MARK = "zq9"
"""Stands in every hostile text and in nothing else."""


def _text(start: str, field: str) -> str:
    return f"{start}{MARK}{field}"


def _sheet(book: Workbook, title: str, rows: list[tuple[object, ...]]) -> None:
    sheet = book.create_sheet(title)
    for number, row in enumerate(rows, start=1):
        for column, value in enumerate(row, start=1):
            cell = sheet.cell(number, column, value)
            if isinstance(value, str):
                cell.data_type = "s"  # as typed behind an apostrophe: text, whatever it begins with


def _saved(path: Path, **sheets: list[tuple[object, ...]]) -> None:
    book = Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets.items():
        _sheet(book, title, rows)
    path.parent.mkdir(parents=True, exist_ok=True)
    book.save(path)


def _workshop(folder: Path, start: str) -> Path:
    """A workshop in which every field of text begins with that sign."""

    def text(field: str) -> str:
        return _text(start, field)

    (folder / "workshop.toml").write_text(
        f'name = "{text("house")}"\nterms = "{text("terms")}"\nhourly_rate = 30\nend = "bare"\n'
    )
    _saved(
        folder / "stock.xlsx",
        Cable=[
            ("piece", "gauge", "colour", "length", "cost per m", "place", "note"),
            (text("reel"), "1.0", "red", 5, 0.4, text("shelf"), text("remark")),
        ],
        Drawer=[
            ("item", "unit", "on hand", "low", "full", "cost", "place", "note"),
            (text("drawer item"), "each", 1, 5, 10, 0.1, text("box"), text("remark")),
        ],
    )
    _saved(
        folder / "prices.xlsx",
        Prices=[
            ("supplier", "item", "gauge", "colour", "sold as", "pack", "price", "part no", "note"),
            (text("seller"), "cable", "1.0", None, "metre", None, 0.5, text("part"), text("say")),
            (text("seller"), text("extra"), None, None, "each", None, 2, text("p2"), None),
            (text("seller"), text("drawer item"), None, None, "pack", 10, 3, text("p3"), None),
        ],
    )
    _saved(
        folder / "suppliers.xlsx",
        Suppliers=[("supplier", "postage", "note"), (text("seller"), 3, text("rem"))],
    )
    _saved(
        folder / "jobs" / "job.xlsx",
        Job=[
            ("item", "value"),
            ("job", text("job")),
            ("customer", text("customer")),
            ("machine", text("machine")),
        ],
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse", "length", "note"),
            (
                *(text("wire"), text("circuit"), text("switch"), f"{text('lamp')}:{text('pin')}"),
                *("blue", "1.0", "5 W", text("fuse"), 1, text("note")),
            ),
            (*(text("w2"), text("c2"), text("lamp"), "earth"), *("black", "1.0", None, None, 1)),
        ],
        Loom=[("from", "to", "length", "note"), (text("front"), text("back"), 1, text("n"))],
        Components=[
            ("component", "at", "load", "note"),
            (text("lamp"), text("front"), None, text("n")),
        ],
        Extras=[("item", "qty", "unit", "note"), (text("extra"), 1, "each", text("n"))],
        Labour=[("task", "hours", "note"), (text("task"), 1, text("n"))],
    )
    return folder


COMMANDS = (
    ("check", "job"),
    ("check", "job", "--columns"),
    ("takeoff", "job"),
    ("cut", "job"),
    ("order", "job", "--topup"),
    ("quote", "job"),
    ("topup",),
    ("stock", "show"),
)


@pytest.mark.parametrize("start", STARTS)
def test_tables_hold_it_as_text(start: str, tmp_path: Path) -> None:
    """In .xlsx as a text cell, in .csv behind a quote mark; no formula has it in it."""
    shop = _workshop(tmp_path, start)
    seen = 0
    for number, command in enumerate(COMMANDS):
        out, listed = tmp_path / f"{number}.xlsx", tmp_path / f"{number}.csv"
        done = bom(*command, "--xlsx", out, "--csv", listed, cwd=shop)
        assert done.returncode == 0, done.stderr
        for sheet in load_workbook(out).worksheets:
            for cell in (cell for row in sheet.iter_rows() for cell in row):
                if MARK in str(cell.value):
                    assert cell.data_type in ("s", "inlineStr"), cell.coordinate
                    seen += 1
        for row in csv.reader(io.StringIO(listed.read_text(encoding="utf-8-sig"))):
            for value in row:
                assert not (MARK in value and value.startswith(start)), value
    assert seen > 30


@pytest.mark.parametrize("start", STARTS)
def test_the_papers_print_it_as_typed_and_the_workbook_keeps_it(start: str, tmp_path: Path) -> None:
    """Letterhead, customer, machine, wires and ends; live formulas have none of it."""
    shop = _workshop(tmp_path, start)
    done = bom("pack", "job", "--out", tmp_path / "papers", cwd=shop)
    assert done.returncode == 0, done.stderr
    papers = tmp_path / "papers"
    printed = text_of((papers / "quotation.pdf").read_bytes())
    for field in ("house", "terms", "customer", "machine", "job"):
        assert _text(start, field) in printed
    bench = text_of((papers / "bench.pdf").read_bytes())
    for field in ("wire", "circuit", "switch", "lamp", "w2"):
        assert _text(start, field) in bench
    (order,) = papers.glob("order *.pdf")
    assert _text(start, "part") in text_of(order.read_bytes())
    (book,) = papers.glob("*.xlsx")
    for sheet in load_workbook(book).worksheets:
        for cell in (cell for row in sheet.iter_rows() for cell in row):
            if cell.data_type == "f":
                assert MARK not in str(cell.value), cell.coordinate


def test_the_stock_book_gets_it_as_text(tmp_path: Path) -> None:
    """A hold for a job and an order come in write names of the owner's: all as text."""
    shop = _workshop(tmp_path, "=")
    assert bom("order", "job", "--xlsx", "order.xlsx", cwd=shop).returncode == 0
    done = bom("stock", "receive", "order.xlsx", "--place", "=1+1", cwd=shop)
    assert done.returncode == 0, done.stderr
    book = load_workbook(shop / "stock.xlsx")
    cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]
    assert any(cell.value == "=1+1" for cell in cells)
    assert {cell.data_type for cell in cells if str(cell.value)[:1] == "="} == {"s"}
