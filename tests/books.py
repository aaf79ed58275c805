"""Job books and workshops for the tests, made from rows."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from bom.job import open_job
from bom.show.job_json import check_out

Rows = Sequence[Sequence[Any]]

HEAD = (
    *("wire", "circuit", "from", "to", "colour", "gauge"),
    *("load", "fuse", "one of", "length", "qty"),
)
"""Headings of the Circuits sheet of a `machine`, from column A on."""

COMPONENTS = ("component", "load", "passes", "one of")
"""Headings of its Components sheet, from column A on."""

FUSES = ("fuse", "rating", "holder", "spares")
"""Headings of its Fuses sheet, from column A on."""


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
    return check_out(open_job(path))


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


def machine(
    folder: Path,
    *rows: str,
    components: tuple[tuple[Any, ...], ...] = (),
    fuses: Any = (),
    **job: Any,
) -> dict[str, Any]:
    """Check a machine of rows such as `1: battery:+ > lamp:1 | 5 W | main | beam | 2`.

    The cells after the ends are load, fuse, one of and qty; every wire is red, 2.0 mm2 and
    1 m long, and its circuit is `c` and its label.  Wires begin in row 2 of the sheet.
    """
    circuits = []
    for row in rows:
        label, _, rest = row.partition(": ")
        ends, *cells = (part.strip() for part in rest.split("|"))
        start, _, finish = ends.partition(" > ")
        load, fuse, word, qty = (*cells, "", "", "", "")[:4]
        circuits.append(
            (
                label,
                f"c{label}",
                start,
                finish,
                "red",
                "2.0",
                load or None,
                fuse or None,
                word or None,
                1,
                qty or None,
            )
        )
    sheets: dict[str, Any] = {"Circuits": [HEAD, *circuits]}
    if components:
        sheets["Components"] = [COMPONENTS, *((*c, None, None, None)[:4] for c in components)]
    if fuses:
        sheets["Fuses"] = [FUSES, *fuses]
    if job:
        sheets["Job"] = list(job.items())
    return checked(book(folder, **sheets))


def amps(answer: dict[str, Any]) -> dict[str, float]:
    """Amps by wire, to four decimals."""
    return {row["wire"]: round(row["amps"], 4) for row in answer["wires"]}


def fuses_of(answer: dict[str, Any]) -> dict[str, float | None]:
    """Fuse ratings by wire."""
    return {row["wire"]: row["fuse"] for row in answer["wires"]}
