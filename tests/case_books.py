"""Books of the cases that no `.csv` can be: made when the case runs, so that none is committed."""

import io
import os
import re
import zipfile
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import xlsxwriter

from tests.fixture_books import (
    CABLE,
    before,
    counted,
    locked,
    members,
    ods_book,
    ods_cell,
    ods_row,
    operated,
    packed,
    plain_book,
    shifted,
    zip64,
)

Fill = Callable[[Any, Any], None]
"""What a stock book is given beside its plain rows: its sheets Drawer and Moves."""

HEADINGS = ("from", "to", "colour", "gauge", "load", "length")
MOVES = ("when", "job", "what", "item", "change", "unit", "left", "note")
COVERS = "bullet cover, male"
MOVE = ("2026-11-20 10:00:00", "", "count", COVERS, 5, "each", 5)


def _wire(number: int) -> tuple[str, ...]:
    return (f"battery:{number}", f"lamp:{number}", "red", "1.0", "5 W", "1.2")


# ------------------------------------------------------------------------- cells of a job


def cells(here: Path) -> None:
    """Job books whose cells hold what a `.csv` cannot: results, errors, dates, lengths of time."""
    (here / "job.xlsx").write_bytes(_job_xlsx())
    error = '<table:table-cell table:formula="of:=1/0" calcext:value-type="error"{}'
    odd = (
        error.format("><text:p>#DIV/0!</text:p></table:table-cell>"),
        error.format("/>"),
        '<table:table-cell table:formula="of:=1+1"/>',
        '<table:table-cell office:value-type="date" office:date-value="soon"/>',
        '<table:table-cell office:value-type="time" office:time-value="PT36H00M00S"/>',
        '<table:table-cell office:value-type="float" office:value="1e999"/>',
    )
    rows = [_row(HEADINGS)]
    for column, cell in enumerate(odd):
        wire = _wire(column)
        rows.append(_row([*wire[:column], None, *wire[column + 1 :]], cell))
    (here / "job.ods").write_bytes(ods_book(("Circuits", rows)))


def _job_xlsx() -> bytes:
    """Each row has one cell that cannot be read; the numbers are marks that the XML replaces."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet("Circuits")
        for number in range(8):
            sheet.write_row(number, 0, _wire(number) if number else HEADINGS)
        for number, mark in enumerate((991, 992, 993, 994), 1):
            sheet.write_number(number, number - 1, mark)
        sheet.write_datetime("E6", date(2026, 3, 4), book.add_format({"num_format": "yyyy-mm-dd"}))
        sheet.write_number("F7", 1.5, book.add_format({"num_format": "[h]:mm"}))
    new = {"A2": "<f>RAND()</f>", "B3": "<v>#N/A</v>", "C4": "<v></v>", "D5": "<v>1e999</v>"}

    def change(xml: bytes) -> bytes:
        for cell, inside in new.items():
            kind = ' t="e"' if cell in ("B3", "C4") else ""
            xml = re.sub(
                rf'<c r="{cell}"><v>99.</v></c>'.encode(),
                f'<c r="{cell}"{kind}>{inside}</c>'.encode(),
                xml,
            )
        return xml

    return operated(out.getvalue(), {CABLE: change})


def _row(values: Any, odd: str = "", times: int = 1) -> str:
    """A row of texts; None is where the odd cell stands."""
    cells = (odd if value is None else ods_cell(escape(str(value))) for value in values)
    return ods_row(*cells, times=times)


# -------------------------------------------------------------- files that are not read


def broken(here: Path) -> None:
    """Files that are damaged, hostile, locked or far too large."""
    plain = plain_book([HEADINGS, _wire(1)], "Circuits")
    far = before("</sheetData>", '<row r="1048576"><c r="XFD1048576"><f>1</f><v>1</v></c></row>')
    books = {
        "cut-off.xlsx": plain[: len(plain) // 2],
        "broken-xml.xlsx": operated(plain, {"xl/workbook.xml": lambda xml: xml[:-20]}),
        "bad-packing.xlsx": _bad_packing(plain),
        "document-type.xlsx": operated(plain, {CABLE: lambda xml: b"<!DOCTYPE x>" + xml}),
        "wide-letters.xlsx": operated(plain, {CABLE: lambda xml: xml.decode().encode("utf-16")}),
        "locked.xlsx": locked(plain),
        "locked.ods": ods_book(manifest='<m xmlns="x"><encryption-data/></m>'),
        "no-sheets.ods": ods_book(),
        "no-sheets.xlsx": operated(plain, {"xl/workbook.xml": _without_sheets}),
        "lost-sheet.xlsx": _without(plain, CABLE),
        "twice.xlsx": operated(plain, {}, {"XL/worksheets/sheet1.xml": b""}),
        "other-packing.xlsx": packed(members(plain), zipfile.ZIP_BZIP2),
        "blown-up.xlsx": operated(plain, {}, {"xl/zeros.xml": b"\0" * 60_000_000}),
        "many-parts.xlsx": operated(plain, {}, {f"x/{n}": b"" for n in range(10_001)}),
        "far-cell.xlsx": operated(plain, {CABLE: far}),
        "no-such-cell.xlsx": operated(plain, {CABLE: _renamed("'2F'")}),
        "outside.xlsx": operated(plain, {CABLE: _renamed("'F9999999'")}),
        "wide-row.xlsx": operated(plain, {CABLE: before("</sheetData>", _WIDE_ROW)}),
        "together.xlsx": _together(),
        "too-many.csv": b"," * 5_000_000,
        "too-wide.csv": b"from,to\n" + b"x," * 16_385,
        "the-same-again.ods": ods_book(("Circuits", [_row(HEADINGS), _row(_wire(1), times=9_000)])),
    }
    for name, data in books.items():
        (here / name).write_bytes(data)
    os.mkfifo(here / "pipe.csv")
    (here / "drawings").mkdir()


_WIDE_ROW = f"<row>{'<c><v>1</v></c>' * 16_385}</row>"


def _together() -> bytes:
    """Two sheets of 3,000,000 cells each, nearly all blank."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        for name in ("Circuits", "Old"):
            book.add_worksheet(name).write(29_999, 99, "x")
    return out.getvalue()


def _renamed(name: str) -> Callable[[bytes], bytes]:
    return lambda xml: xml.replace(b'r="F2"', f"r={name}".encode())


def _without_sheets(xml: bytes) -> bytes:
    return re.sub(rb"<sheet .*?/>", b"", xml)


def _without(data: bytes, name: str) -> bytes:
    return packed({member: part for member, part in members(data).items() if member != name})


def _bad_packing(data: bytes) -> bytes:
    """One byte inside the first sheet turned over: its checksum no longer holds."""
    stored = bytearray(packed(members(data), zipfile.ZIP_STORED))
    at = stored.find(b"<sheetData>")
    stored[at + 1] ^= 1
    return bytes(stored)


# ------------------------------------------------------- stock books that are not written


def resisting(here: Path) -> None:
    """Stock books in which something stands in the way, each in a workshop of its own."""
    for name, fill in _FILLED.items():
        _workshop(here / name).write_bytes(_stock(fill))
    plain, bare = _stock(lambda *_: None), _stock(lambda *_: None, moves=False)
    drawer, moves, workbook = CABLE, "xl/worksheets/sheet2.xml", "xl/workbook.xml"
    books = {
        "plain": plain,
        "linked": operated(plain, {drawer: lambda x: x.replace(b'"C2"', b'"C2" vm="1"')}),
        "signed": operated(plain, {}, {"_xmlsignatures/origin.sigs": b""}),
        "order-locked": operated(bare, {workbook: before("<sheets>", _LOCK)}),
        "no-types": _without(bare, "[Content_Types].xml"),
        "rows-twice": operated(plain, {moves: lambda x: x.replace(b'r="2"', b'r="1"', 1)}),
        "cells-twice": operated(plain, {moves: lambda x: x.replace(b'r="G2"', b'r="F2"')}),
        "cell-elsewhere": operated(plain, {drawer: lambda x: x.replace(b'r="D1"', b'r="E2"')}),
        "no-cells": operated(plain, {moves: lambda x: x.replace(b"sheetData", b"sheetNone")}),
        "over-4-gb": zip64(plain),
        "in-front": b"PK\x03\x04 something else" + plain,
        "cut-directory": counted(plain),
        "overlapping": shifted(plain, 40),
        "elsewhere": shifted(plain, -1),
    }
    for name, data in books.items():
        _workshop(here / name).write_bytes(data)
    rows = [_row(("item", "on hand")), _row((COVERS, "5"))]
    _workshop(here / "kept-as-ods").with_suffix(".ods").write_bytes(ods_book(("Drawer", rows)))
    (here / "plain" / "long.csv").write_text(
        f'supplier,item,sold as,packs\n{"x" * 33_000},"{COVERS}",each,1\n'
    )


_LOCK = '<workbookProtection lockStructure="1"/>'


def _workshop(folder: Path) -> Path:
    """A workshop folder; the path of its stock book to be."""
    folder.mkdir(exist_ok=True)
    (folder / "workshop.toml").touch()
    return folder / "stock.xlsx"


def _stock(fill: Fill, *, moves: bool = True) -> bytes:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        drawer = book.add_worksheet("Drawer")
        drawer.write_row(0, 0, ("item", "unit", "on hand", "place"))
        drawer.write_row(1, 0, (COVERS, "each", 5))
        past = book.add_worksheet("Moves") if moves else None
        if past:
            past.write_row(0, 0, MOVES)
            past.write_row(1, 0, MOVE)
        fill(drawer, past)
    return out.getvalue()


def _with_totals(drawer: Any, _: Any) -> None:
    total = [{"total_string": "Total"}, {}, {"total_string": "5"}, {}]
    heads = ("item", "unit", "on hand", "place")
    columns = [{"header": head, **more} for head, more in zip(heads, total, strict=True)]
    drawer.add_table("A1:D3", {"columns": columns, "total_row": True})


def _moves_with_totals(_: Any, moves: Any) -> None:
    columns = [{"header": head} for head in MOVES]
    columns[0]["total_string"] = "Total"
    moves.add_table("A1:H3", {"columns": columns, "total_row": True})


_FILLED: Mapping[str, Fill] = {
    "protected": lambda drawer, moves: drawer.protect(),
    "formula": lambda drawer, moves: drawer.write_formula("C2", "=2+3", None, 5),
    "array": lambda drawer, moves: drawer.write_array_formula("C2:D2", "{=F2:G2}", None, 5),
    "merged": lambda drawer, moves: drawer.merge_range("B2:C2", "each"),
    "totals": _with_totals,
    "totals-of-moves": _moves_with_totals,
    "sum-of-moves": lambda drawer, moves: moves.write_formula("E3", "=SUM(E2:E2)", None, 5),
    "note-under-moves": lambda drawer, moves: moves.merge_range("A3:B3", ""),
}


# --------------------------------------------------------------- what finished jobs used

USED = ("kind", "item", "gauge", "colour", "unit", "used", "spoilt")
GREY = ("planned", "counted", "path", "fixed")
RED = ("cable", "cable, 1.0 mm2, red", "1.0", "red", "m")
BLACK = ("cable", "cable, 1.0 mm2, black", "1.0", "black", "m")
PLAN = (1.407, 1.34, 1.2, 0.08)
"""A wire of 1.2 m: 5 % of run and two ends of 40 mm are a piece of 1.34 m, and 5 % spare."""


def used(here: Path) -> None:
    """Sheets of what was used, as an owner may leave them."""
    faulty = [
        ("cable", "own cable", None, None, "each", 2),
        (*RED, 1340, 60, *PLAN),
        (*BLACK, 1.34, 200, *PLAN),
        ("terminal", "own terminal", None, None, "each", None, 2, 4),
    ]
    slips = [
        ("tubes", "own tube", None, None, "m", 1),
        (*RED, "1.3 yards", 0, *PLAN),
        ("terminal", "own terminal", None, None, "each", 2.5, 0, 4),
        ("cover", "own cover", None, None, "each", 10**9, 0, 4),
    ]
    _used_book(here, "faulty", faulty)
    _used_book(here, "slips", slips, hours=12_345)
    _used_book(here, "copied", [(*RED, 1.34, 0, *PLAN)], job="single")
    _used_book(here, "nameless", [(*RED, 1.34, 0, *PLAN)], job=None)
    _used_book(here, "emptied", None)
    plain = [(*RED, 1.34, 0, *PLAN), (*BLACK, 1.34, 0, *PLAN)]
    twice = [("3", "1.0", "red", 1.4)] * 2
    wrong = [("1", "1.0", "red", 1340), ("2", "1.0", "blak", 1.34), *twice]
    _used_book(here, "miswired", plain, wires=wrong)
    _used_book(here, "rewired", plain, wires=[("1", "2.0", "red", 1.34), ("2", None, None, None)])


def finished(here: Path) -> None:
    """Sheets of what was used in three workshops: of jobs that were done, issued, never issued."""
    plain = [(*RED, 1.34, 0, *PLAN), (*BLACK, 1.34, 0, *PLAN)]
    for name in ("kept/single", "kept/twin", "twice/single", "shelf/single", "shelf/quad"):
        _used_book(here, name, plain)
    _used_book(here, "shelf/twin", [(*RED, 10, 0, *PLAN)])
    more = [
        (*BLACK, 2.5, 0, *PLAN),
        ("cover", COVERS, None, None, "each", 1, 0, 2, 2),
        ("seal", "own seal", None, None, "each", 3),
    ]
    _used_book(here, "shelf/triple", more)


def _used_book(
    here: Path,
    name: str,
    rows: list[Any] | None,
    *,
    job: str | None = "",
    hours: float = 2,
    wires: Sequence[Any] = (),
) -> None:
    """The sheet of the job `WORKSHOP/JOB`; without rows Used is empty and Labour is gone."""
    folder = (here / name).parent / "used"
    folder.mkdir(exist_ok=True)
    stem = Path(name).name
    with xlsxwriter.Workbook(folder / f"{stem}.xlsx") as book:
        sheets = {
            "Used": [(*USED, *GREY), *rows] if rows else [],
            "Labour": [("task", "hours"), ("all together", hours)],
            "Job": [("item", "value"), ("job", stem if job == "" else job)],
            **({"Wires": [("wire", "gauge", "colour", "length m"), *wires]} if wires else {}),
        }
        for title, lines in sheets.items():
            if title == "Labour" and rows is None:
                continue
            sheet = book.add_worksheet(title)
            for number, line in enumerate(lines):
                sheet.write_row(number, 0, line)


RECIPES: Mapping[str, Callable[[Path], None]] = {
    "cells": cells,
    "broken": broken,
    "resisting": resisting,
    "used": used,
    "finished": finished,
}
"""Name in a case's file `books` -> what makes them in its folder."""
