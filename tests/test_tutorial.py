"""README's first hour: every step done, every output compared."""

import re
from pathlib import Path

from openpyxl import load_workbook

from tests.consoles import BLOCK, README, assert_console

FIRST_HOUR = README.partition("\n## The first hour\n")[2].partition("\n## ")[0]
_STEP = re.compile(
    rf"(?P<console>{BLOCK.pattern})"
    r"|On the sheet \*\*(?P<sheet>\w+)\*\*:\n\n(?P<table>(?:\|.*\n)+)"
    r"|Put `(?P<word>\w+)` there",
    re.MULTILINE,
)
_FIRST_ROW = {"Job": 5}
"""A new Job sheet has job, customer and machine under its headings."""


def _fill(book: Path, sheet: str, table: str) -> None:
    """Type the rows of a table of README into a sheet, each value under its heading."""
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines()]
    made = load_workbook(book)
    place = made[sheet]
    columns = {str(cell.value): number for number, cell in enumerate(place[1], start=1)}
    for number, row in enumerate(rows[2:], start=_FIRST_ROW.get(sheet, 2)):
        for heading, value in zip(rows[0], row, strict=True):
            if value:
                place.cell(number, columns[heading]).value = value
    made.save(book)


def _mend(book: Path, block: str, word: str) -> None:
    """Put a word into the cell that the last error named."""
    named = re.search(r"› (\w+) › ([A-Z]+\d+):", block)
    assert named
    made = load_workbook(book)
    made[named[1]][named[2]] = word
    made.save(book)


def test_the_first_hour_runs_as_it_is_written(tmp_path: Path) -> None:
    """Workshop, job, sheets, a slip and its mending, check, order, quotation, cuts, papers."""
    folder, block, filled = tmp_path, "", []
    book = tmp_path / "yard" / "jobs" / "shunter.xlsx"
    for step in _STEP.finditer(FIRST_HOUR):
        if step["sheet"]:
            _fill(book, step["sheet"], step["table"])
            filled.append(step["sheet"])
        elif step["word"]:
            _mend(book, block, step["word"])
            filled.append(step["word"])
        else:
            block = step["console"]
            folder = assert_console(block, folder)
    assert filled == ["Loom", "Components", "Circuits", "Job", "Labour", "purple"]
    assert (folder / "shunter-papers" / "quotation.pdf").read_bytes().startswith(b"%PDF")


def test_figures_of_the_first_hour_by_hand() -> None:
    """Wire 7, the doubt, the tax: each reckoned here and found in the printed lines."""
    # 250 + 950 = 1200; x 1.05 = 1260; tails 100 + 100; two ends of 40
    assert round((250 + 950) * 1.05) + 100 + 100 + 2 * 40 == 1540
    assert re.search(r"^7 +earth .* 1540 ", FIRST_HOUR, re.MULTILINE)
    # 25 % of 4 h at 40 with 20 % tax: 48 up or down
    total, net = (
        float(*re.findall(rf"{name} +([\d.]+)", FIRST_HOUR)) for name in ("TOTAL", " net")
    )
    assert f"likely between {total - 48:.2f} and {total + 48:.2f}" in FIRST_HOUR
    assert round(net * 1.2, 2) == total
