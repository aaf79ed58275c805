"""Job books and workshops for the tests, made from rows."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from bom.job import open_job
from bom.outcome import check_out, dumped

Rows = Sequence[Sequence[Any]]


def book(folder: Path, name: str = "job.xlsx", **sheets: Rows) -> Path:
    """Write a book with one sheet for each keyword, in order, and return its path."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    made = Workbook()
    made.remove(made.worksheets[0])
    for title, rows in sheets.items():
        sheet = made.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    made.save(path)
    return path


def checked(path: Path) -> dict[str, Any]:
    """The answer of `bom check` as data."""
    return dumped(check_out(open_job(path)))


def wire(answer: Mapping[str, Any], label: str) -> dict[str, Any]:
    """The entry of one wire."""
    found: dict[str, Any] = next(row for row in answer["wires"] if row["wire"] == label)
    return found


def says(answer: Mapping[str, Any], level: str = "") -> list[tuple[str, str, str]]:
    """Problems as (sheet, cell, sentence), of one level or of both."""
    return [
        (p["sheet"], p["cell"], p["says"])
        for p in answer["problems"]
        if p["file"] and (not level or p["level"] == level)
    ]
