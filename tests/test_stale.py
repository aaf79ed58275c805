"""Stored results after a change: those that may be untrue are gone, the others stay."""

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st

from bom.shelf.stockbook.edits import Edit, NewRow
from tests.fixture_books import CABLE, before, operated, with_cells
from tests.office import converted
from tests.test_splice import loaded
from tests.test_splice import made as spliced_by

STORED = 4711


def made(
    formulas: dict[str, str], numbers: Mapping[str, float] | None = None, **sheets: Any
) -> bytes:
    """A sheet Cable with numbers and formulas, each of them with `STORED` as its result.

    `sheets` are others by name: their formulas by cell, or None for a sheet of numbers alone.
    """
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet("Cable")
        for cell, number in (numbers or {}).items():
            sheet.write_number(cell, number)
        for cell, formula in formulas.items():
            sheet.write_formula(cell, f"={formula}", None, STORED)
        for name, others in sheets.items():
            other = book.add_worksheet(name)
            other.write_number("A1", 7)
            for cell, formula in (others or {}).items():
                other.write_formula(cell, f"={formula}", None, STORED)
        book.define_name("Rate", "=Cable!$A$1")
    return out.getvalue()


def kept(data: bytes, *changes: Edit | NewRow) -> set[str]:
    """The formula cells of Cable that still have their stored result after the changes."""
    cells = loaded(spliced_by(data, *changes), results=True)["Cable"].iter_rows()
    return {c.coordinate for row in cells for c in row if c.value == STORED}


D2 = Edit(sheet="Cable", cell="D2", value=5)


@pytest.mark.parametrize(
    ("formula", "stays"),
    [
        ("H2/100", True),
        ("D2*E2", False),
        ("$D$2", False),
        ("SUM(D1:D9)", False),
        ("SUM(D3:D9)", True),
        ("SUM(D:D)", False),
        ("SUM(E:ZZ)", True),
        ("SUM($C:$F)", False),
        ("SUM(2:2)", False),
        ("SUM(3:9)", True),
        ("Cable!D2", False),
        ("'Cable'!E2", True),
        ("Prices!A1", True),
        ("Sums!A1", False),
        ("Rate*2", False),
        ('INDIRECT("H2")', False),
        ("OFFSET(H2,0,-4)", False),
        ("NOW()-H2", True),  # which hangs on the hour, but on no cell that changes
        ("NOW()-D2", False),
        ("INDEX(H1:H9,2)", True),
        ("INDEX(D1:D9,2):H9", False),
        ('IF(H2>1,"D2","x")', True),
        ("[1]Sheet1!A1", False),
        ("38.5/100", True),
        ("XFE1", False),
    ],
)
def test_what_a_formula_reads(formula: str, stays: bool) -> None:
    """D2 changes; what cannot be told counts as read.

    Prices holds numbers alone; Sums has a formula, which may read D2 in its turn.
    """
    numbers = {"A1": 1, "D2": 3, "E2": 4, "H2": 38}
    data = made({"J5": formula}, numbers, Prices=None, Sums={"B1": "Cable!D2"})
    assert (kept(data, D2) == {"J5"}) is stays


def test_chains_to_and_fro_and_arrays() -> None:
    """K1 reads D2 through J9, which stands below it; the array M1:M3 through K1; L1 none."""
    data = made({"J9": "D2+1", "K1": "J9*2", "L1": "E2+1", "N1": "M3"}, {"D2": 1, "E2": 1})
    array = f'<c r="M1"><f t="array" ref="M1:M3">K1:K3</f><v>{STORED}</v></c>'
    new = operated(data, {CABLE: before('<c r="N1"', array)})
    assert kept(new, D2) == {"L1"}


def test_shared_formulas() -> None:
    """Written once for J2:J4, `E2+1` from each row: true where no row reads D; else none is."""

    def shared(text: str) -> bytes:
        cell = '<row r="{0}"><c r="E{0}"><v>1</v></c><c r="J{0}"><f {1}</c></row>'
        first = cell.format(2, f't="shared" ref="J2:J4" si="0">{text}</f><v>{STORED}</v>')
        others = (cell.format(row, f't="shared" si="0"/><v>{STORED}</v>') for row in (3, 4))
        return with_cells(f"<sheetData>{first}{''.join(others)}</sheetData>")

    assert kept(shared("E2+1"), D2) == {"J2", "J3", "J4"}
    assert kept(shared("D1+1"), D2) == set()
    assert kept(shared("D5+1"), D2) == {"J2", "J3", "J4"}


def test_new_rows_and_other_sheets_of_the_same_call_are_changes() -> None:
    """A row comes to stand in A3:B3; and Prices, which is read, is changed with it."""
    formulas = {"J1": "SUM(A1:A9)", "K1": "C1", "L1": "Prices!A1"}
    data = made(formulas, {"A1": 1, "B1": 1, "A2": 2, "B2": 2, "C1": 3}, Prices=None)
    row = NewRow(sheet="Cable", header_row=1, values={"A": 5, "B": 6}, last_row=2)
    assert kept(data, row) == {"K1", "L1"}
    assert kept(data, row, Edit(sheet="Prices", cell="A1", value=9)) == {"K1"}


# The law, on small sheets of sums

CELLS = [f"{letter}{row}" for letter in "ABCD" for row in range(1, 6)]
SHEETS = st.dictionaries(
    st.sampled_from(CELLS),
    st.one_of(st.integers(1, 9), st.lists(st.sampled_from(CELLS), min_size=1, max_size=3)),
    min_size=2,
)


def value(sheet: dict[str, Any], cell: str, path: tuple[str, ...] = ()) -> int:
    """A cell worked out by going after its references; a ring counts as 0 at its second turn."""
    held = sheet.get(cell, 0)
    if not isinstance(held, list):
        return int(held)
    return sum(value(sheet, ref, (*path, cell)) for ref in held if ref not in (*path, cell))


def reaches(sheet: dict[str, Any], cell: str, changed: str, seen: frozenset[str]) -> bool:
    """Whether a formula leads to the changed cell."""
    refs = sheet.get(cell)
    return isinstance(refs, list) and any(
        ref == changed or (ref not in seen and reaches(sheet, ref, changed, seen | {ref}))
        for ref in refs
    )


@given(SHEETS, st.sampled_from(CELLS), st.integers(10, 99))
def test_no_untrue_result_is_left(sheet: dict[str, Any], cell: str, number: int) -> None:
    """What is worked out anew differently has lost its result; what leads nowhere kept it."""
    if isinstance(sheet.get(cell), list):
        sheet[cell] = 1
    formulas = {c: "+".join(refs) for c, refs in sheet.items() if isinstance(refs, list)}
    numbers = {c: float(n) for c, n in sheet.items() if not isinstance(n, list)}
    left = kept(made(formulas, numbers), Edit(sheet="Cable", cell=cell, value=number))
    after = {**sheet, cell: number}
    untrue = {c for c in formulas if value(sheet, c) != value(after, c)}
    assert not left & untrue
    assert left == {c for c in formulas if not reaches(sheet, c, cell, frozenset())}


@pytest.mark.libreoffice
@pytest.mark.slow
def test_libreoffice_works_out_what_lost_its_result(tmp_path: Path) -> None:
    """D2 becomes 5: 5 x 4 = 20, its double 40; the other formula shows what was stored."""
    data = made({"J1": "D2*E2", "K1": "J1*2", "L1": "E2+1"}, {"D2": 3, "E2": 4})
    new = converted(spliced_by(data, D2), "a.xlsx", tmp_path)
    sheet = loaded(new.read_bytes(), results=True)["Cable"]
    assert [sheet[cell].value for cell in ("J1", "K1", "L1")] == [20, 40, STORED]
