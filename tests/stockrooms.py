"""Workshops whose stock book is changed: made from short rows, and read by openpyxl alone."""

import csv
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from openpyxl import load_workbook

from bom.job import find_workshop
from bom.workshop.stockroom import Booked, How, Request, book
from tests.books import book as write_book
from tests.shops import CABLE, DRAWER, job, workshop

MOVES = ("when", "job", "what", "item", "change", "unit", "left", "note")
REELS = (
    ("R01", "1.0", "red", 10, 0.30),
    ("R02", "1.0", "red", 2, 0.30),
    ("R03", "2.0", "black", 5, 0.55),
)
ITEMS = (
    ("bullet cover, male", "each", 20, 10, 50, 0.05),
    ("loom tape, PVC, 19 mm", "m", 12, 5, 30, 0.12),
)


def shop(
    folder: Path,
    cable: Sequence[Any] = REELS,
    drawer: Sequence[Any] = ITEMS,
    moves: Sequence[Any] | None = (),
    **lists: Any,
) -> Path:
    """A workshop with a stock book; without a Moves sheet where `moves` is None."""
    workshop(folder, cable, drawer, **lists)
    sheets: dict[str, Any] = {"Cable": [CABLE, *cable], "Drawer": [DRAWER, *drawer]}
    if moves is not None:
        sheets["Moves"] = [MOVES, *moves]
    write_book(folder, "stock.xlsx", **sheets)
    return folder


def loom(folder: Path, name: str = "twin", *metres: float, covers: int = 6, **rules: Any) -> Path:
    """A job of red wires of these lengths, and covers as extras; without allowances."""
    wires = [(f"W{n}", "red", "1.0", length) for n, length in enumerate(metres, 1)]
    extras = [("bullet cover, male", covers, "each", None)] if covers else []
    return job(folder, wires, name, rules, Extras=extras)


def done(folder: Path, plan: Request, **how: bool) -> Booked:
    """Carry a plan out, and insist that it was written."""
    booked = book(find_workshop(folder), plan, How(**how))
    assert not [str(problem) for problem in booked.problems if problem.level == "error"]
    assert booked.written
    return booked


def refused(folder: Path, plan: Request, **how: bool) -> list[str]:
    """Sheet, cell and sentence of each error; the book is byte for byte what it was."""
    path = next(folder.glob("stock.*"))
    old = path.read_bytes()
    booked = book(find_workshop(folder), plan, How(**how))
    assert not booked.written and path.read_bytes() == old
    errors = [p for p in booked.problems if p.level == "error"]
    return [" ".join(filter(None, (p.where.sheet, p.where.cell, p.says))) for p in errors]


def typed(path: Path, sheet: str, **cells: Any) -> None:
    """The owner types into these cells of a book."""
    opened = load_workbook(path)
    for cell, value in cells.items():
        opened[sheet][cell] = value
    opened.save(path)


def rows(folder: Path, sheet: str) -> list[tuple[Any, ...]]:
    """The rows under the headings of a sheet of the stock book, blank ones left out."""
    found = load_workbook(folder / "stock.xlsx")[sheet].iter_rows(min_row=2, values_only=True)
    return [row for row in found if any(cell is not None for cell in row)]


def shelf(folder: Path) -> dict[str, float]:
    """What there is of each piece and item, in the book's own unit; nothing of what is used up."""
    cable = {row[0]: row[3] for row in rows(folder, "Cable")}
    drawer = {row[0]: row[2] for row in rows(folder, "Drawer")}
    return {name: amount for name, amount in {**cable, **drawer}.items() if amount}


def moves(folder: Path) -> list[tuple[Any, ...]]:
    """The rows of Moves without their moment."""
    return [row[1:] for row in rows(folder, "Moves")]


def listed(folder: Path, sheet: str) -> list[dict[str, Any]]:
    """The rows of a sheet of the stock book by heading, blank ones left out, read plainly."""
    book = folder / "stock"
    if book.is_dir():
        path = book / f"{sheet}.csv"
        lines = csv.reader(path.read_text(encoding="utf-8").splitlines()) if path.exists() else ()
        found: list[Any] = [[as_figure(cell) for cell in line] for line in lines]
    else:
        opened = load_workbook(book.with_suffix(".xlsx"))
        found = [*opened[sheet].iter_rows(values_only=True)] if sheet in opened.sheetnames else []
    named = [dict(zip(found[0], row, strict=True)) for row in found[1:]]
    return [row for row in named if any(cell is not None for cell in row.values())]


def as_figure(cell: str) -> Any:
    """What a cell of a `.csv` says: nothing, a number, or words."""
    try:
        return float(cell) if cell else None
    except ValueError:
        return cell


def standing(folder: Path) -> list[dict[str, Any]]:
    """The moves of commands that nobody has undone."""
    found = listed(folder, "Moves")
    gone = {
        undone[1]
        for move in found
        if move["what"] == "undo"
        and (undone := re.search(r"undoes \w+ of ([-\d]+ [:\d]+)", move["note"]))
    }
    return [move for move in found if move["what"] != "undo" and move["when"] not in gone]


def packs_by_the_moves(folder: Path, line: Mapping[str, Any]) -> float:
    """So many packs of a line of Orders have come and not gone back, as the moves have it.

    One order may hold an item in two forms, metres beside a reel: a move tells its form.
    """
    cable = f"{line['gauge']} {line['colour']}; " if line["gauge"] else ""
    pack = line["pack"] or 1
    form = f"{line['sold as']}" + (f" of {pack:g}" if pack != 1 else "")
    said = re.compile(rf"{re.escape(cable)}order {line['number']}: \d+ x {form}(?! of)")
    own = (move for move in standing(folder) if cable or move["item"] == line["item"])
    moved: float = sum(move["change"] for move in own if said.search(move["note"] or ""))
    return round(moved / (line["pack"] or 1), 6)
