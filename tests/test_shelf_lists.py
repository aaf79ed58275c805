"""`bom stock show --held`, `--low` and `--value`: figures by hand from the rows of the book."""

import csv
import json
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from openpyxl import load_workbook

from bom.files.table import as_text
from bom.show.shelf_found import everything
from bom.show.shelf_worth import worth_of, worth_tables
from bom.trade.shelf import Stock
from bom.workshop.shelf_requests import hold, release, shelf_shown
from tests.shopping import offcut
from tests.stockrooms import done, loom, shop, typed
from tests.test_learn import item
from tests.within import bom

CABLE = (
    ("R01", "1.0", "red", 10, 0.305),
    ("R02", "18 AWG", "blue/white", 1.255, 0.40),
    ("R03", "2.0", "black", 5, None),
)
DRAWER = (
    ("bullet cover, male", "each", 20, 15, 50, 0.0475),
    ("bullet cover, female", "each", 30, 10, 50, None),
    ("blade fuse, 5 A", "each", 1, 10, 20, 0.12),
    ("blade fuse, 10 A", "each", 0, 5, 20, None),
    ("loom tape, PVC, 19 mm", "m", 12.5, 25, 50, 0.12),
    ("crimp splice, 0.5-1.5 mm2", "each", 3, None, None, 0.05),
)


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    """Three metres of red and eleven covers are set aside for a job, half and six for another."""
    folder = shop(tmp_path, CABLE, DRAWER)
    typed(folder / "stock.xlsx", "Drawer", G1="place", G2="drawer 1")
    for name, metres, covers in (("twin", (1.0, 2.0), 11), ("mono", (0.5,), 6)):
        loom(folder, name, *metres, covers=covers)
        done(folder, hold(folder / "jobs" / f"{name}.xlsx"))
    return folder


def shown(folder: Path, *words: str) -> dict[str, Any]:
    """The answer as JSON."""
    answer: dict[str, Any] = json.loads(bom("stock", "show", *words, "--json", cwd=folder).stdout)
    return answer


# Set aside


@pytest.mark.parametrize(
    ("words", "held"),
    [
        ((), [("mono", 500), ("mono", 6), ("twin", 3000), ("twin", 11)]),
        (("twin",), [("twin", 3000), ("twin", 11)]),
        (("red",), [("mono", 500), ("twin", 3000)]),
        (("twin", "red"), [("twin", 3000)]),
        (("cover",), [("mono", 6), ("twin", 11)]),
        (("drawer", "1"), [("mono", 6), ("twin", 11)]),
        (("fuse",), []),
    ],
)
def test_what_is_set_aside(
    words: tuple[str, ...], held: list[tuple[str, int]], folder: Path
) -> None:
    """By job; words find the job, the thing, what the thing is, and its place."""
    answer = shown(folder, "--held", *words)
    assert [(row["job"], row["quantity"]) for row in answer["held"]] == held
    names = {row["item"] for row in answer["held"]}
    assert {row["piece"] for row in answer["cable"]} == names & {"R01"}
    assert {row["item"] for row in answer["drawer"]} == names - {"R01"}


def test_since_when_and_where(folder: Path) -> None:
    """The moment at which the first of what is held now was set aside; more came to it since."""
    when = {row["job"]: row["since"] for row in shown(folder, "--held")["held"]}
    assert when["twin"] < when["mono"]
    loom(folder, "twin", 1.0, 2.0, covers=12)
    done(folder, hold(folder / "jobs" / "twin.xlsx"))
    again = {row["item"]: row for row in shown(folder, "--held", "twin")["held"]}
    assert again["bullet cover, male"]["quantity"] == 12
    assert {row["since"] for row in again.values()} == {when["twin"]}
    printed = bom("stock", "show", "--held", cwd=folder).stdout
    (row,) = [line for line in printed.splitlines() if line.startswith("twin  bullet cover")]
    assert row.endswith(f"12  each  {when['twin'][:10]}  drawer 1")
    assert "R01, 1.0 mm2, red" in printed and "fuse" not in printed


def test_what_was_set_free_and_aside_again_is_held_from_then_on(folder: Path) -> None:
    """Not from the first time."""
    first = shown(folder, "--held", "mono")["held"][0]["since"]
    done(folder, release(folder / "jobs" / "mono.xlsx", "mono"))
    assert shown(folder, "--held")["held"][0]["job"] == "twin"
    done(folder, hold(folder / "jobs" / "mono.xlsx"))
    assert shown(folder, "--held", "mono")["held"][0]["since"] > first


# What runs low


def test_the_lowest_first(folder: Path) -> None:
    """0 of 5; 1 of 10; 20 less 17 set aside of 15 are a fifth; 12.5 of 25 m are half."""
    lowest = ["blade fuse, 10 A", "blade fuse, 5 A", "bullet cover, male", "loom tape, PVC, 19 mm"]
    answer = shown(folder, "--low")
    assert [row["item"] for row in answer["drawer"]] == lowest
    assert answer["cable"] == answer["held"] == []
    printed = bom("stock", "show", "--low", cwd=folder).stdout
    figures = [line.split("  ") for line in printed.splitlines() if line.startswith(("b", "l"))]
    cells = [[cell.strip() for cell in row if cell.strip()] for row in figures]
    assert [row[1:5] for row in cells] == [
        ["0", "each", "5", "0.0"],
        ["1", "each", "10", "10.0"],
        ["3", "each", "15", "20.0"],
        ["12.5", "m", "25", "50.0"],
    ]
    assert [row["item"] for row in shown(folder, "--low", "fuse")["drawer"]] == lowest[:2]
    assert "(nothing)" in bom("stock", "show", "--low", "splice", cwd=folder).stdout
    rebuilt = shown(folder, "--low", "--rebuild")["rebuilt"]
    assert [row["item"] for row in rebuilt] == ["bullet cover, male"]  # alone of them it has moves


# What it is worth

WORTH = {
    # 10 x 0.305 = 3.05; 1.255 x 0.40 = 0.502; 20 x 0.0475 = 0.95; 12.5 x 0.12 = 1.50
    "R01, 1.0 mm2, red": "3.05",
    "R02, 18 AWG, blue/white": "0.50",
    "R03, 2.0 mm2, black": None,
    "bullet cover, male": "0.95",
    "bullet cover, female": None,
    "blade fuse, 5 A": "0.12",
    "loom tape, PVC, 19 mm": "1.50",
    "crimp splice, 0.5-1.5 mm2": "0.15",
}
"""Of the ten-ampere fuses there are none: nothing is lacking there."""


def test_what_the_shelf_is_worth(folder: Path) -> None:
    """Cable 3.05 + 0.50, drawer 0.95 + 0.12 + 1.50 + 0.15; what is set aside is worth as much."""
    value = shown(folder, "--value")["value"]
    assert {line["item"]: line["value"] for line in value["lines"]} == WORTH
    sums = {key: value[key] for key in ("cable", "drawer", "total", "without_cost")}
    assert sums == {"cable": "3.55", "drawer": "2.72", "total": "6.27", "without_cost": 2}
    printed = bom("stock", "show", "--value", cwd=folder).stdout
    assert f"the shelf at cost, {date.today()}" in printed
    totals = [" ".join(line.split()) for line in printed.splitlines() if "total without" in line]
    assert totals == ["total without tax, 2 things without a cost 6.27"]
    lacking = printed.split("without a cost, and not in the total")[1]
    assert "R03, 2.0 mm2, black" in lacking and "bullet cover, female" in lacking
    assert "0.0475" in printed  # a fraction of a penny is not rounded away


def test_the_value_of_some_and_in_files(folder: Path) -> None:
    """Three fuses less: of the words alone; formulas that come to the same, and blank no cost."""
    value = shown(folder, "--value", "bullet")["value"]
    assert (value["cable"], value["total"], value["without_cost"]) == ("0.00", "0.95", 1)
    bom("stock", "show", "--value", "--xlsx", "v.xlsx", "--csv", "v.csv", cwd=folder)
    book = load_workbook(folder / "v.xlsx")
    assert book.sheetnames[1] == "without a cost, and not in the "[:31].strip()
    sheet = book.worksheets[0]
    assert sheet["F2"].value == "=ROUND(C2*E2,2)" and sheet["F10"].value == "=F8+F9"
    stored = load_workbook(folder / "v.xlsx", data_only=True).worksheets[0]
    assert [stored.cell(row, 6).value for row in (8, 9, 10)] == [3.55, 2.72, 6.27]
    with (folder / "v.csv").open(encoding="utf-8-sig") as stream:
        rows = [*csv.DictReader(stream)]
    assert {row["piece or item"]: row["value GBP"] for row in rows} == {
        item: worth for item, worth in WORTH.items() if worth
    }


def test_money_is_the_workshops_own(folder: Path) -> None:
    """Whoever reckons in francs reads of no pounds."""
    (folder / "workshop.toml").write_text('currency = "CHF"\n')
    for words in (("stock", "show"), ("stock", "show", "--value"), ("topup",)):
        printed = bom(*words, cwd=folder).stdout
        assert "CHF" in printed and "GBP" not in printed


COSTS = st.none() | st.decimals(0, 30, places=4)
AMOUNTS = st.integers(0, 90_000)


@given(st.lists(st.tuples(AMOUNTS, COSTS)), st.lists(st.tuples(AMOUNTS, COSTS)))
def test_what_is_printed_adds_up(
    lengths: list[tuple[int, Decimal | None]], counts: list[tuple[int, Decimal | None]]
) -> None:
    """The printed values are the printed sums of the groups, and those the total."""
    pieces = (
        replace(offcut("red", n, mm), cost_per_m=cost) for n, (mm, cost) in enumerate(lengths)
    )
    drawer = (
        item(f"item {n}", on_hand=Decimal(amount), cost=cost)
        for n, (amount, cost) in enumerate(counts)
    )
    shelf, _ = shelf_shown(Stock(file="stock.xlsx", pieces=tuple(pieces), drawer=tuple(drawer)))
    all_of_it = everything(shelf)
    tables = worth_tables(all_of_it, date(2026, 12, 31))
    printed: dict[str, Decimal] = {"cable": Decimal(), "drawer": Decimal()}
    for row in tables[0].rows:
        printed[str(row[0])] += Decimal(f"{row[5]:.2f}")
    foot = [line.split()[-1] for line in as_text(tables[0]).splitlines() if line][-3:]
    assert [Decimal(text) for text in foot] == [*printed.values(), sum(printed.values())]
    without = [w for w in worth_of(all_of_it) if w.cost is None]
    there = [cost for amount, cost in (*lengths, *counts) if amount]
    assert len(without) == there.count(None)
    assert len(tables) == (2 if without else 1)


@pytest.mark.parametrize("words", [("--held", "--low"), ("--low", "--value")])
def test_three_lists(words: tuple[str, ...], folder: Path) -> None:
    """One at a time."""
    done_ = bom("stock", "show", *words, cwd=folder)
    assert (done_.returncode, done_.stdout) == (2, "")
