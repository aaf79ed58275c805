"""Each thing is said once, the cause first: counts of lines, of cells, and what is accepted."""

import json
import re
import shutil
from collections.abc import Mapping
from itertools import permutations
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.show.told import MOST_PLACES, accepted, grouped, headline
from bom.trade.problem import Problem, Where, caution, error
from tests.books import book, checked
from tests.within import JOBS, SAMPLES, bom

CELL = re.compile(r"\b[A-Z]{1,2}[0-9]+\b")


# ------------------------------------------------------------------------------ the printer


def _problems() -> st.SearchStrategy[list[Problem]]:
    place = st.builds(
        Where,
        st.just("job.xlsx"),
        st.sampled_from(("Circuits", "Loom")),
        st.builds("{}{}".format, st.sampled_from("CD"), st.integers(2, 9)),
    )
    says = st.sampled_from(("too thin", "too long", "not known"))
    one = st.builds(
        Problem,
        st.sampled_from(("error", "caution")),
        place,
        says,
        st.sampled_from(("", "another", "a third")),
        alike=st.sampled_from(("", "wires are too thin", "runs are too long")),
        cause=st.booleans(),
        accepted=st.sampled_from(("", "", "as it should be")),
    )
    return st.lists(one, max_size=24)


@given(_problems())
def test_nothing_is_lost_and_nothing_told_twice(problems: list[Problem]) -> None:
    """Every cell stands in what is told, or is counted there; causes first, then errors."""
    told = grouped(problems)
    left = {p for p in problems if not p.accepted}
    assert len(told) <= len(left)
    reasons = {problem.accepted for problem in problems} - {""}
    assert {line.rpartition(" (")[2] for line in accepted(problems)} == {f"{r})" for r in reasons}
    ranks = [(not one.cause, one.level != "error") for one in told]
    assert ranks == sorted(ranks)
    assert {*grouped(problems, each=True)} == left
    for problem in left:
        here = [one for one in told if _speaks_of(one, problem)]
        assert here, problem
    if left:
        levels = [p.level for p in problems if not p.accepted]
        assert f"{levels.count('error')} error" in headline(problems) or "error" not in levels


def _speaks_of(told: Problem, problem: Problem) -> bool:
    words = problem.says in told.says or (problem.alike and problem.alike in told.says)
    column, row = problem.where.cell[0], int(problem.where.cell[1:])
    runs = re.findall(rf"{column}(\d+)(?: to {column}(\d+))?", str(told.where))
    there = any(int(first) <= row <= int(last or first) for first, last in runs)
    return told.level == problem.level and bool(words) and (there or " more" in str(told.where))


def test_very_many_cells_are_counted() -> None:
    """Every second cell: eight stand there, the others are a number."""
    problems = [error(Where("j", "Loom", f"C{2 * n}"), "too long") for n in range(1, 21)]
    (one,) = grouped(problems)
    assert len(CELL.findall(one.where.cell)) == MOST_PLACES
    assert one.where.cell.endswith("and 12 more")


# ---------------------------------------------------------------- one cause, 40 consequences

LAMPS = range(20)


def machine(**changed: Any) -> dict[str, Any]:
    """Twenty lamps on a rail, each with its fuse and its earth: 40 wires over one branch."""
    feed, earth = changed.get("at", ("rail", "rail"))
    wires: list[list[Any]] = []
    for n in LAMPS:
        wires += [
            [f"f{n}", "lamps", f"battery:+ {n}", f"{feed}:{n}", "red", "1.0", "5 W", f"F{n}"],
            [f"e{n}", "earth", f"{earth}:e{n}", f"battery:- {n}", "black", "1.0", None, None],
        ]
    head = ["wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse"]
    return {
        "Circuits": [head, *wires],
        "Loom": [["from", "to", "length"], *changed.get("loom", [["rear", "front", 0.8]])],
        "Components": [
            ["component", "at"],
            *changed.get("parts", [["battery", "rear"], ["rail", "front"]]),
        ],
    }


ONE_CAUSE: Mapping[str, tuple[dict[str, Any], str]] = {
    "a place that the loom does not have": (
        {"parts": [["battery", "rear"], ["rail", "frint"]]},
        "Components!B3",
    ),
    "a component under another name": (
        {"parts": [["battery", "rear"], ["rial", "front"]]},
        "Components!A3",
    ),
    "a component without a row": ({"parts": [["battery", "rear"]]}, "Circuits!D2"),
    "a slip in a branch": (
        {"loom": [["rear", "middle", 0.4], ["middle", "tail", 1], ["midle", "front", 0.4]]},
        "Loom!A4",
    ),
    "a branch that is missing": (
        {"loom": [["rear", "left", 0.4], ["left", "tail", 0.1], ["bars", "front", 0.4]]},
        "Loom!A4",
    ),
    "a length that cannot be read": ({"loom": [["rear", "front", "0.8 miles"]]}, "Loom!C2"),
}


@pytest.mark.parametrize("name", ONE_CAUSE)
def test_one_cause_with_forty_consequences_names_one_cell(tmp_path: Path, name: str) -> None:
    """One error, at the cell that is wrong, on the screen and in JSON; whole, it has none."""
    assert not checked(book(tmp_path, "whole.xlsx", **machine()))["problems"][1:]
    changed, cell = ONE_CAUSE[name]
    path = book(tmp_path, **machine(**changed))
    problems = [p for p in checked(path)["problems"] if p["level"] == "error"]
    assert [f"{p['sheet']}!{p['cell']}" for p in problems] == [cell]
    said = bom("check", path).stderr
    assert {*CELL.findall(said)} == {cell.partition("!")[2]}
    assert "of 40 wires" in said


# ---------------------------------------------------------------------- sheets by headings


@pytest.mark.parametrize("sample", SAMPLES)
def test_sheets_under_other_names_are_read_as_they_were(tmp_path: Path, sample: str) -> None:
    """Whatever the sheets are called: the same wires, and a word of each for what it is taken."""
    names = ("Circuits", "Loom", "Components", "Fuses", "Extras", "Labour", "Job")
    made = openpyxl.load_workbook(JOBS / f"{sample}.xlsx")
    there = [name for name in names if name in made.sheetnames]
    for number, name in enumerate(there):
        made[name].title = f"Page {number}"
    shutil.copytree(JOBS.parent, tmp_path / "shop")
    made.save(tmp_path / "shop" / "jobs" / "renamed.xlsx")
    answer, as_named = (
        checked(tmp_path / "shop" / "jobs" / f"{n}.xlsx") for n in ("renamed", sample)
    )
    assert answer["wires"] == as_named["wires"]
    read = [p["sheet"] for p in answer["problems"] if p["says"].startswith("this sheet is read as")]
    assert sorted(read) == [f"Page {number}" for number in range(len(there))]


@pytest.mark.parametrize("order", [*permutations(("Circuits", "Loom", "Components"))])
def test_the_order_of_renamed_sheets_is_of_no_account(
    tmp_path: Path, order: tuple[str, ...]
) -> None:
    """All six ways three sheets may stand."""
    sheets = machine()
    path = book(tmp_path, **{f"my {name[::-1]}": sheets[name] for name in order})
    answer = checked(path)
    assert len(answer["wires"]) == 40
    assert not [p for p in answer["problems"] if p["level"] == "error"]


@pytest.mark.parametrize(
    ("heads", "reading"),
    [
        (("from", "to", "length"), "could be Circuits or Loom"),
        (("from", "to", "length", "slack"), "read as Loom"),
        (("from", "to", "colour", "length"), "read as Circuits"),
        (("name", "amps"), "could be Components or Fuses"),
        (("name", "phone", "place"), ""),
        (("item", "supplier", "part no", "price"), "not read: as Extras"),
        (("fuse", "rating"), "read as Fuses"),
        (("item", "qty", "price"), "read as Extras"),
        (("task", "hours"), "read as Labour"),
    ],
)
def test_ten_ordinary_sheets(tmp_path: Path, heads: tuple[str, ...], reading: str) -> None:
    """What headings alone can tell, and what they cannot (common practice)."""
    rows = [[*heads], [*heads][:0]]
    sheets = {"Bits": rows} if "Circuits" in reading else {**machine(), "Bits": rows}
    if reading.endswith("Loom") or "Components" in reading:
        sheets = {"Circuits": machine()["Circuits"], "Bits": rows}
    if "or Loom" in reading or reading.endswith("Circuits"):
        sheets = {"Bits": rows, "Components": machine()["Components"]}
    told = [
        p["says"] for p in checked(book(tmp_path, **sheets))["problems"] if p["sheet"] == "Bits"
    ]
    assert bool(reading) == any(reading in says for says in told), told


# ------------------------------------------------------------------------------- accepted


def test_what_is_accepted_is_counted_out_and_still_told(tmp_path: Path) -> None:
    """By cell, run of cells and our own printed place; JSON has it all, with a mark."""
    sheets = machine()
    for row in sheets["Circuits"][1:8:2]:
        row[7] = None
    whole = bom("check", book(tmp_path, "bare.xlsx", **sheets)).stderr
    assert whole.startswith("5 cautions\n")  # and: not in a workshop
    rows = ["Circuits H2: in the lamp", "H.xlsx › Circuits › H4 to H8: in the rail"]
    sheets["Job"] = [["item", "value"], *(["accept", row] for row in rows)]
    done = bom("check", book(tmp_path, "job.xlsx", **sheets))
    assert done.stderr.startswith("1 caution, 4 accepted\n") and done.returncode == 0
    assert done.stderr.count("(in the lamp)") == 1
    assert "H4, H6, H8: 3 feeds without a fuse (in the rail)" in done.stderr
    problems = json.loads(bom("check", tmp_path / "job.xlsx", "--json").stdout)["problems"]
    marked = {p["cell"] for p in problems if p["accepted"]}
    assert marked == {"H2", "H4", "H6", "H8"} and len(problems) == 5


def test_an_error_that_may_be_accepted_is_a_caution_then(tmp_path: Path) -> None:
    """Design, section 3: a fuse over 1.25 times the rating of its wire; no other error."""
    sheets = machine()
    sheets["Fuses"] = [["fuse", "rating"], ["F0", 25]]  # behind it 1.0, good for 16.5 A
    stopped = checked(book(tmp_path, "one.xlsx", **sheets))["problems"]
    assert [(p["level"], p["cell"]) for p in stopped if p["level"] == "error"] == [("error", "F2")]
    sheets["Job"] = [["item", "value"], ["accept", "Circuits F2: the maker asks for it"]]
    passed = checked(book(tmp_path, "two.xlsx", **sheets))["problems"]
    assert [(p["level"], p["accepted"]) for p in passed if p["cell"] == "F2"] == [("caution", True)]


def test_other_commands_count_cautions_and_which_are_new(tmp_path: Path) -> None:
    """New is what was not there when the job was last looked through; accepted does not count."""
    (tmp_path / "workshop.toml").write_text("", encoding="utf-8")
    sheets = machine()
    sheets["Circuits"][1][7] = None
    book(tmp_path, "jobs/rail.xlsx", **sheets)
    assert "1 caution in the job: bom check rail" in bom("takeoff", "rail", cwd=tmp_path).stderr
    bom("check", "rail", cwd=tmp_path)
    sheets["Circuits"][3][7] = None
    book(tmp_path, "jobs/rail.xlsx", **sheets)
    told = bom("takeoff", "rail", cwd=tmp_path).stderr
    assert told == "2 cautions in the job, 1 of them new: bom check rail\n"
    sheets["Job"] = [["item", "value"], ["accept", "Circuits H2 to H4: in the lamps"]]
    book(tmp_path, "jobs/rail.xlsx", **sheets)
    assert bom("takeoff", "rail", cwd=tmp_path).stderr == ""


# --------------------------------------------------------------------------- a messy book


def messy(folder: Path, *, cured: bool) -> Path:
    """The twin as a workshop might have typed it: own words, slips, and two prices of three gone.

    Every third wire has lost its fuse, every fourth its gauge, every fifth its colour, every
    seventh its ends; every fourth component its load, every sixth what it passes.
    """
    shutil.copytree(JOBS.parent, folder)
    made = openpyxl.load_workbook(JOBS / "twin.xlsx")
    for sheet, blank in (("Circuits", _WIRES_LOSE), ("Components", _PARTS_LOSE)):
        heads = {cell.value: cell.column for cell in made[sheet][1]}
        for heading, every in blank.items():
            for row in range(2, made[sheet].max_row + 1):
                if row % every == 0:
                    made[sheet].cell(row, heads[heading] or 0).value = None
    for row in range(5, made["Circuits"].max_row + 1, 5):
        made["Circuits"].cell(row, 5).value = "GN"
    for sheet, (title, words) in _OWN_WORDS.items():
        for cell in made[sheet][1]:
            cell.value = words.get(str(cell.value), cell.value)
        made[sheet].title = title
    if not cured:
        made["Wiring"]["E20"], made["Runs"]["A3"] = "gren", "electrics try"
    made.save(folder / "jobs" / "messy.xlsx")
    prices = openpyxl.load_workbook(folder / "prices.xlsx")
    rows: Any = prices.active
    for row in range(rows.max_row, 1, -1):
        if row % 3:
            rows.delete_rows(row)
    prices.save(folder / "prices.xlsx")
    return folder


_WIRES_LOSE = {"fuse": 3, "gauge mm2": 4, "from end": 7, "to end": 7}
_PARTS_LOSE = {"load": 4, "passes": 6}
_OWN_WORDS = {
    "Circuits": (
        "Wiring",
        {"wire": "Cable no", "circuit": "Function", "colour": "Col", "gauge mm2": "CSA"}
        | {"from end": "Terminal A", "to end": "Terminal B", "length m": "Run m"},
    ),
    "Components": ("Parts", {"component": "Device", "at": "Where"}),
    "Loom": ("Runs", {"from": "Start", "to": "Finish", "length m": "Run m"}),
}


def test_a_messy_book_is_told_in_few_lines(tmp_path: Path) -> None:
    """Issue 17: 40 lines at the first check, the cause in the first; 25 after; 3 at a quote."""
    here = messy(tmp_path / "first", cured=False)
    first = bom("check", "messy", cwd=here).stderr.splitlines()
    assert len(first) <= 40 and "begin with: 'electrics try'" in first[0]
    after = bom("check", "messy", cwd=messy(tmp_path / "after", cured=True))
    assert len(after.stderr.splitlines()) <= 25


def test_a_quotation_has_its_own_cautions_alone(tmp_path: Path) -> None:
    """What has no price in one line, and how many cautions the job has in another."""
    here = tmp_path / "shop"
    messy(here, cured=True)
    shutil.copy(JOBS / "twin.xlsx", here / "jobs" / "messy.xlsx")
    made = openpyxl.load_workbook(here / "jobs" / "messy.xlsx")
    made["Circuits"]["E80"] = "RD"  # an earth, where the others are black
    (named,) = [row for row in made["Job"] if row[0].value == "job"]
    named[1].value = "messy"
    made.save(here / "jobs" / "messy.xlsx")
    told = bom("quote", "messy", cwd=here)
    assert told.returncode == 0 and len(told.stderr.splitlines()) <= 3
    assert "are on no price list" in told.stderr and "1 caution in the job" in told.stderr


def test_a_caution_of_the_command_stands_under_its_result() -> None:
    """A line each, with its cure behind it."""
    doubt = caution(Where(), "old prices", "new ones")
    assert doubt.told("; ") == "caution: old prices; try: new ones"
