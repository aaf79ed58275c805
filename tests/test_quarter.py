"""A quarter played through, day by day, against the worksheet that was reckoned before it by hand.

`tests/quarter/` has the workshop as it opens, `played.txt` what is typed and when, `worksheet.md`
what each day leaves on the shelf, and `printed/` what is printed at the end.
"""

import csv
import os
import re
import shlex
import shutil
from collections.abc import Iterator, Mapping
from datetime import datetime
from decimal import Decimal, InvalidOperation
from pathlib import Path

import pytest
from openpyxl import load_workbook

from bom.files import clock
from bom.show import papers
from tests.test_cases import WRITING
from tests.within import bom

QUARTER = Path(__file__).parent / "quarter"
PRINTED = (
    "bom",
    "bom stock orders",
    "bom jobs",
    "bom stock show",
    "bom stock show --value",
)
JOBS = ("hopper", "sweeper", "dumper", "roller", "loader", "mixer")
_MOMENT = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d")


class Played:
    """A workshop, and the clock on its wall."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder = folder
        self.now = datetime(2026, 1, 1)
        self.last = ""
        monkeypatch.setattr(clock, "now", lambda: self.now)

    def line(self, line: str) -> None:
        """One line of what is played."""
        if _MOMENT.fullmatch(line):
            self.now = datetime.fromisoformat(line)
        elif line.startswith("types "):
            _typed(self.folder, *line.removeprefix("types ").split(" / "))
        elif line.startswith("says "):
            assert f" {line.removeprefix('says ')}\n" in re.sub(" {2,}", " ", self.last), line
        else:
            self.last = self.said(line)

    def said(self, command: str) -> str:
        """What a command prints; it has to end well."""
        done = bom(*shlex.split(command)[1:], cwd=self.folder)
        assert done.returncode == 0, f"{self.now} {command}\n{done.stdout}{done.stderr}"
        return done.stdout


def _typed(folder: Path, book: str, row: str, *cells: str) -> None:
    """The owner types into the row that has this cell, under headings."""
    opened = load_workbook(folder / book)
    found = [
        (sheet, cell.row)
        for sheet in opened
        for line in sheet
        for cell in line
        if cell.value == row
    ]
    assert len(found) == 1, (book, row, found)
    sheet, number = found[0]
    headings = {str(cell.value): at for at, cell in enumerate(sheet[1], start=1)}
    for heading, _, value in (cell.partition(" = ") for cell in cells):
        day = re.fullmatch(r"\d{4}-\d\d-\d\d", value)
        known = datetime.fromisoformat(value) if day else float(value)
        sheet.cell(number, headings[heading]).value = known
    opened.save(folder / book)


@pytest.fixture(scope="module")
def quarter(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Played]:
    """The workshop at the end of the quarter."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(papers, "pdf", lambda *_: b"%PDF")  # how paper is set is no part of this
        folder = tmp_path_factory.mktemp("played") / "workshop"
        shutil.copytree(QUARTER / "workshop", folder)
        for hour, job in enumerate(JOBS):  # the job that was begun last comes first
            for path in (*(folder / "jobs" / job).iterdir(), folder / "jobs" / job):
                os.utime(path, (3600 * hour, 3600 * hour))
        played = Played(folder, patch)
        text = (QUARTER / "played.txt").read_text(encoding="utf-8")
        for line in text.splitlines():
            if line and not line.startswith("#"):
                played.line(line)
        yield played


def by_hand(title: str) -> list[Mapping[str, str]]:
    """The rows of a table of the worksheet, by heading."""
    text = (QUARTER / "worksheet.md").read_text(encoding="utf-8")
    part = text.partition(f"### {title}\n")[2].partition("\n#")[0]
    rows = [line.strip("|").split("|") for line in part.splitlines() if line.startswith("|")]
    headings, _, *others = [[cell.strip() for cell in row] for row in rows]
    return [dict(zip(headings, row, strict=True)) for row in others]


def _same(here: str, there: str) -> bool:
    """The same figure, or the same words."""
    try:
        return Decimal(here) == Decimal(there)
    except InvalidOperation:
        return here == there


def as_rows(printed: str, first: str) -> list[list[str]]:
    """The cells of the printed lines that begin with this one."""
    lines = [re.split(r"\s{2,}", line.strip()) for line in printed.splitlines()]
    return [cells for cells in lines if cells[0] == first]


def _begins(cells: list[str], wanted: list[str]) -> bool:
    """Whether a line begins with these cells."""
    return len(cells) >= len(wanted) and all(map(_same, cells, wanted))


def in_order(wanted: list[str], cells: list[str]) -> bool:
    """Whether these cells stand on a line, in this order, with others between them."""
    rest = iter(cells)
    return all(any(_same(cell, other) for other in rest) for cell in wanted)


def sheet_of(folder: Path, name: str) -> list[dict[str, str]]:
    """A sheet of the stock book, by heading."""
    with (folder / "stock" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def differing(found: list[dict[str, str]], wanted: list[Mapping[str, str]], key: str) -> list[str]:
    """Cells of a sheet that are not what the worksheet has, told."""
    there = {row[key]: row for row in found}
    return [
        f"{row[key]}, {heading}: {there[row[key]][heading]} and not {cell}"
        for row in wanted
        for heading, cell in row.items()
        if heading in there[row[key]] and not _same(there[row[key]][heading], cell)
    ]


def test_each_length_and_item_is_what_the_worksheet_leaves(quarter: Played) -> None:
    """In the book and as it is shown: on hand, set aside, cost, and what runs low."""
    shown = quarter.said("bom stock show")
    cable, drawer = by_hand("Cable"), by_hand("Drawer")
    for row in cable:
        cells = [cell for cell in row.values() if cell]
        assert any(_begins(line, cells) for line in as_rows(shown, row["piece"])), row
    for row in drawer:
        cells = [row[name] for name in ("item", "on hand", "set aside", "unit") if row[name]]
        (line,) = [line for line in as_rows(shown, row["item"]) if _begins(line, cells)]
        assert ("low" in line) == (row["marked"] == "low"), row
    value = quarter.said("bom stock show --value")
    assert as_rows(value, "cable")[-1] == ["cable", "20.01"]
    assert as_rows(value, "drawer")[-1] == ["drawer", "44.81"]
    there = [row for row in sheet_of(quarter.folder, "Cable") if Decimal(row["length"])]
    assert [row["piece"] for row in there] == [row["piece"] for row in cable]
    assert differing(there, cable, "piece") == []
    assert differing(sheet_of(quarter.folder, "Drawer"), drawer, "item") == []


def test_opening_and_moves_make_what_is_on_hand(quarter: Played) -> None:
    """Of each length and item, those included that are used up by now."""
    there: dict[str, Decimal] = {}
    for folder, sign in ((QUARTER / "workshop", 1), (quarter.folder, -1)):
        for sheet, name, amount in (("Cable", "piece", "length"), ("Drawer", "item", "on hand")):
            for row in sheet_of(folder, sheet):
                there[row[name]] = there.get(row[name], Decimal()) + sign * Decimal(row[amount])
    for move in sheet_of(quarter.folder, "Moves"):
        there[move["item"]] = there.get(move["item"], Decimal()) + Decimal(move["change"])
    assert {name: amount for name, amount in there.items() if amount} == {}


def test_the_orders_are_those_of_the_worksheet(quarter: Played) -> None:
    """Line by line, and what is still to come of them."""
    orders, wanted = sheet_of(quarter.folder, "Orders"), by_hand("Orders")
    assert [row["item"] for row in orders] == [row["item"] for row in wanted]
    for number, row in enumerate(wanted):
        assert differing([orders[number]], [row], "number") == []
    shown = as_rows(quarter.said("bom stock orders"), "2026-004")
    for row in by_hand("To come"):
        assert any(in_order([*row.values()], line) for line in shown), row
    assert sum("top-up" in line for line in shown) == len(shown) == 3  # the order, and two lines


def test_the_jobs_are_where_the_worksheet_has_them(quarter: Played) -> None:
    """State, quoted, at cost, hours, earned and unpaid; and what `bom` says is due."""
    jobs, due = quarter.said("bom jobs"), quarter.said("bom")
    for row in by_hand("Jobs"):
        cells = [cell for cell in row.values() if cell]
        assert any(in_order(cells, line) for line in as_rows(jobs, row["job"])), row
    for row in by_hand("Due"):
        (line,) = as_rows(due, row["job"])
        assert line[1].startswith(row["where it stands"]), row
    assert "1 thing runs low: bom topup" in due


@pytest.mark.parametrize("command", PRINTED)
def test_what_is_printed_at_the_end(command: str, quarter: Played) -> None:
    """Word for word, each figure as on the worksheet."""
    path = QUARTER / "printed" / f"{command.replace(' ', '-')}.txt"
    printed = quarter.said(command)
    if WRITING:
        path.write_text(printed, encoding="utf-8")  # to be read before it is kept, as in cases
    assert printed == path.read_text(encoding="utf-8")
