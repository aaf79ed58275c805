"""Rows that are none of the list, totals and headings of its parts; wires that look like them."""

from decimal import Decimal

import pytest

from bom.files.headings import read_rows
from bom.files.sheet import Fault, Sheet, Value
from bom.read import job_columns
from bom.read.stock import stock_columns
from bom.trade.catalogue_files import load_catalogue

COLUMNS = dict(job_columns(load_catalogue()[0]))
LISTS: dict[str, tuple[tuple[Value, ...], ...]] = {
    "Circuits": (
        ("no", "function", "from", "to", "colour", "length"),
        ("1", "feed", "battery:+", "switch:in", "red", Decimal("1.2")),
        ("2", "lamp", "switch:out", "lamp:+", "blue", Decimal("2.2")),
        ("3", "earth", "lamp:-", "frame", "black", Decimal("1.0")),
    ),
    "Loom": (("from", "to", "length"), ("a", "b", Decimal(1)), ("b", "c", Decimal(2))),
    "Components": (
        ("component", "at", "tail"),
        ("lamp", "nose", Decimal(50)),
        ("horn", "nose", Decimal(50)),
    ),
    "Labour": (("task", "hours"), ("strip", Decimal(2)), ("fit", Decimal(2))),
    "Job": (("item", "value"), ("machine", "trike")),
}
"""Good lists as people keep them; under each one row more is put."""

TOTAL = "a row of totals, which is not read"
NO = None


def said_of(row: tuple[Value, ...], name: str = "Circuits") -> list[str] | None:
    """What is said of a row under the list; None where nothing is and it is a row."""
    rows = (*LISTS[name], row)
    records, problems = read_rows(Sheet(file="b", name=name, rows=rows), COLUMNS[name])
    read = len(records) == len(rows) - 1
    assert read == (not any(problem.level == "caution" for problem in problems))
    return [problem.says for problem in problems] or None


@pytest.mark.parametrize("name", LISTS)
def test_a_good_list_is_silent(name: str) -> None:
    """Nothing is said of the last of its own rows."""
    records, problems = read_rows(Sheet(file="b", name=name, rows=LISTS[name]), COLUMNS[name])
    assert len(records) == len(LISTS[name]) - 1 and not problems


@pytest.mark.parametrize(
    "row",
    [
        ("85", "total", NO, NO, NO, "73.2"),
        (Decimal(85), "total", NO, NO, NO, Decimal("73.2")),
        ("Total", "85 wires"),
        (NO, NO, "Total", Decimal(85)),
        (NO, NO, "Total", "85"),
        (NO, NO, "Total:", "85 wires"),
        (NO, NO, "TOTAL WIRES", Decimal(85)),
        ("Total:",),
        ("sum",),
        (NO, "sum", NO, NO, NO, Decimal("4.4")),
        ("wires: 85",),
        ("85 wires",),
        (NO, NO, "85 wires"),
        ("85 wires", NO, NO, NO, NO, "73.2 m"),
        ("No of wires:", Decimal(85)),
        ("TOTAL", NO, NO, NO, NO, "73.2 m"),
        (NO, NO, NO, "total", NO, Decimal("73.2")),
        (NO, NO, NO, NO, "Total", Decimal("73.2")),
        ("Grand total", NO, NO, NO, NO, "73,2 m"),
        ("Total lighting", NO, NO, NO, NO, "23.4"),
        ("Total wires: 85",),
        ("Σ", NO, NO, NO, NO, Decimal("73.2")),
    ],
)
def test_a_row_of_totals_is_no_wire(row: tuple[Value, ...]) -> None:
    """With a count in it, in whichever column, and with no sum that fits."""
    assert said_of(row) == [TOTAL]


@pytest.mark.parametrize(
    ("name", "row", "says"),
    [
        # a total of tasks has to add up as well: 2 + 2 = 4 hours
        ("Labour", ("Total", Decimal(4)), [TOTAL]),
        ("Labour", ("Total hours", Decimal(4)), [TOTAL]),
        ("Labour", ("Total labour", Decimal(4)), [TOTAL]),
        ("Labour", ("total strip down", Decimal(4)), None),
        ("Labour", ("total strip down", Decimal(7)), None),
        ("Components", ("total loss oiler",), None),
        ("Components", ("total loss oiler", NO, Decimal(100)), None),
        ("Loom", ("Total", NO, "3.4"), [TOTAL]),
        ("Loom", ("Total", "2 branches", Decimal(3)), [TOTAL]),
        # wires between two ends, and half-filled ones, which name what is empty
        ("Circuits", ("T1", NO, "battery", "lamp", "red"), None),
        ("Circuits", ("Total", "dip", "battery", "lamp", "red"), None),
        ("Circuits", ("Sum", NO, "85", "86", "red"), None),
        ("Circuits", ("T1",), ["'from' is empty", "'to' is empty"]),
        ("Circuits", ("T1", "total loss", "battery:+", NO, "red"), ["'to' is empty"]),
        ("Circuits", (NO, "total loss ignition", "battery:+"), ["'to' is empty"]),
        ("Circuits", ("4", "total loss coil", NO, "coil", NO, "1.2"), ["'from' is empty"]),
        ("Circuits", ("8", "wires to lamp", "lamp"), ["'to' is empty"]),
    ],
)
def test_what_only_looks_like_totals_stays_what_it_is(
    name: str, row: tuple[Value, ...], says: list[str] | None
) -> None:
    """A label, a task, a way to oil an engine."""
    assert said_of(row, name) == says


@pytest.mark.parametrize("column", range(4))
@pytest.mark.parametrize(
    "heading",
    [
        *("LIGHTING:", "Lighting:", "1. Lighting", "2) Lighting", "A. Front", "LIGHTING"),
        *("Lighting", "Charging system (12 V):", "Front loom, 12 V:"),
    ],
)
def test_a_heading_inside_a_list_is_no_wire(heading: str, column: int) -> None:
    """In whichever column it stands; in capitals, where the points of the list have none."""
    says = f"'{heading}' alone is no row of the list, and is not read"
    assert said_of((*[None] * column, heading)) == [says]


@pytest.mark.parametrize(
    "heading", ["Charging system (12 V)", "Lights / horn", "Loom 2", "12 V circuits", "- Front -"]
)
def test_figures_and_strokes_in_a_heading(heading: str) -> None:
    """Where no point can stand."""
    says = f"'{heading}' alone is no row of the list, and is not read"
    assert said_of((heading,)) == said_of((NO, heading)) == [says]


@pytest.mark.parametrize(
    ("row", "empty"),
    [
        ((NO, NO, "battery:+"), "to"),
        ((NO, NO, "Battery"), "to"),
        ((NO, NO, "LAMP"), "to"),
        ((NO, NO, "ECU"), "to"),
        ((NO, NO, "horn"), "to"),
        ((NO, NO, "lamp 2"), "to"),
        ((NO, NO, NO, "frame"), "from"),
        (("7", "Lighting", "battery:+"), "to"),
        (("W12",), "from to"),
        (("12",), "from to"),
        (("HL-1",), "from to"),
        ((NO, NO, NO, NO, "blue/white"), "from to"),
        ((NO, NO, NO, NO, NO, "1.2 metres"), "from to"),
    ],
)
def test_a_half_filled_wire_names_what_is_empty(row: tuple[Value, ...], empty: str) -> None:
    """A point or a label alone in its row is a wire that somebody has begun."""
    assert said_of(row) == [f"'{name}' is empty" for name in empty.split()]


def test_headings_in_other_lists() -> None:
    """A component may stand alone in its row; an item of the Job sheet may wait for its value."""
    says = ["'LIGHTING:' alone is no row of the list, and is not read"]
    assert said_of(("LIGHTING:",), "Components") == says
    assert said_of(("LIGHTING",), "Components") is None
    assert said_of(("Customer:",), "Job") is None
    assert said_of(("FRONT",), "Loom") == [says[0].replace("LIGHTING:", "FRONT")]


CABLE = dict(stock_columns(load_catalogue()[0]))["Cable"]
REELS: tuple[tuple[Value, ...], ...] = (
    ("piece", "gauge", "colour", "length", "cost per m"),
    ("R1", "1.0", "red", Decimal("42.5"), Decimal("0.38")),
    ("R2", "1.0", "black", Decimal("17.5"), Decimal("0.38")),
)


@pytest.mark.parametrize(
    ("row", "is_read"),
    [
        # 42.5 + 17.5 = 60; 60 x 0.38 = 22.8, which is the sum of nothing
        ((None, None, "metres", Decimal(60), Decimal("22.8")), False),
        ((None, None, None, Decimal(60), Fault("a formula")), False),
        ((None, None, None, "60", None), False),  # a .csv has texts alone
        ((None, None, "red", Decimal(61), None), True),
        (("R3", "1.0", "red", Decimal(60), None), True),
    ],
)
def test_sums_under_an_owners_list_need_no_word(row: tuple[Value, ...], is_read: bool) -> None:
    """Where neither piece nor gauge is named one true sum is enough, whatever stands beside it."""
    sheet = Sheet(file="stock", name="Cable", rows=(*REELS, row, ("counted at new year",)))
    records, problems = read_rows(sheet, CABLE, own_columns=True)
    told = [problem for problem in problems if problem.where.cell.endswith("4")]
    assert [record.row.number for record in records][:3] == [2, 3, 4][: 2 + is_read]
    assert bool(told) == (is_read and row[0] is None)
    assert is_read or not problems  # the note under the totals is no piece
