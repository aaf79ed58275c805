"""The walk with the tape measure: which way a wire takes, and how long its piece is."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise, permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bom.read import read_job
from bom.reckon.measure import measure
from bom.trade.catalogue_files import load_catalogue
from bom.trade.house import HouseRules
from bom.trade.job_book import Branch, JobBook, Pin, Wire
from bom.trade.problem import Problem
from bom.trade.rows import Row
from bom.trade.wires import MeasuredWire
from tests.books import Rows, book

CATALOGUE, _ = load_catalogue()
HEAD = ("from", "to", "length", "slack")


def walk(
    folder: Path, circuits: Rows, loom: Rows = (), components: Rows = (), **rules: Any
) -> tuple[JobBook, tuple[Any, ...], list[tuple[str, str, str, str]]]:
    """The book, its wires as measured, and problems as (sheet, cell, sentence, cure).

    The wires are `Any`, so that their exact lengths compare with plain numbers.
    """
    sheets = {"Circuits": circuits, "Loom": loom, "Components": components}
    sheets = {"Job": list(rules.items())} | {k: v for k, v in sheets.items() if v}
    path = book(folder, "job.xlsx", **sheets)
    read, house, found = read_job(path, {}, "", CATALOGUE)
    assert read is not None
    assert not [problem for problem in found if problem.level == "error"]
    wires, problems = measure(read, house)
    assert all(isinstance(wire, MeasuredWire) for wire in wires)
    return read, wires, [told(problem) for problem in problems]


def told(problem: Problem) -> tuple[str, str, str, str]:
    """A problem as (sheet, cell, sentence, cure)."""
    return problem.where.sheet, problem.where.cell, problem.says, problem.cure


def way(folder: Path, loom: Rows, start: str = "a", finish: str = "d") -> list[str]:
    """The branches that one wire from `start` to `finish` takes, in its own direction."""
    rows = [("from", "to", "colour"), (start, finish, "red")]
    read, (wire,), problems = walk(folder, rows, [HEAD, *loom])
    assert problems == []
    return [str(read.branches[index]) for index in wire.branches]


# --------------------------------------------------------------------------------- pieces


def test_the_worked_example_of_the_design(tmp_path: Path) -> None:
    """Path 1300 x 1.05 = 1365; + 150 + 2 x 40 = 1595; piece 1600 mm (design section 3)."""
    _, (wire,), problems = walk(
        tmp_path,
        [("from", "to", "colour", "gauge"), ("battery", "tail lamp", "red", "1.0")],
        [HEAD, ("battery", "spine", 0.5), ("spine", "tail", 0.8)],
        [("component", "at", "tail"), ("tail lamp", "tail", 150)],
    )
    assert problems == []
    assert (wire.path_mm, wire.slack_mm, wire.tails_mm) == (1300, 0, 150)
    assert wire.piece_mm == 1600


def test_slack_and_both_tails_are_added(tmp_path: Path) -> None:
    """(300 + 200) x 1.05 = 525; slack 100 + 20; tails 150 + 60; ends 80: 935 -> 940."""
    _, (wire,), _ = walk(
        tmp_path,
        [("from", "to", "colour"), ("switch", "lamp", "red")],
        [HEAD, ("a", "b", 0.3, 100), ("b", "c", 0.2, 20), ("c", "d", 0.7, 500)],
        [("component", "at", "tail"), ("switch", "a", 150), ("lamp", "c", 60)],
    )
    assert (wire.path_mm, wire.slack_mm, wire.tails_mm) == (500, 120, 210)
    assert wire.piece_mm == 940


def test_both_ends_at_one_point(tmp_path: Path) -> None:
    """Path 0: the tails and the ends alone, 150 + 60 + 80 = 290."""
    _, (wire,), problems = walk(
        tmp_path,
        [("from", "to", "colour"), ("lamp", "switch", "red")],
        [HEAD, ("a", "b", 0.3, 100)],
        [("component", "at", "tail"), ("switch", "b", 150), ("lamp", "B", 60)],
    )
    assert problems == []
    assert (wire.branches, wire.path_mm, wire.slack_mm, wire.piece_mm) == ((), 0, 0, 290)


def test_from_pin_to_pin_of_one_component_both_tails_count(tmp_path: Path) -> None:
    """A link on a switch with a tail of 150 at each end: 0 + 300 + 80 = 380."""
    _, (wire,), _ = walk(
        tmp_path,
        [("from", "to", "colour"), ("switch:1", "switch:2", "red")],
        [HEAD, ("a", "b", 0.3)],
        [("component", "at", "tail"), ("switch", "b", 150)],
    )
    assert wire.piece_mm == 380


def test_an_own_length_takes_neither_tails_nor_slack(tmp_path: Path) -> None:
    """1000 x 1.05 + 2 x 40 = 1130; it still lies in the branches between its ends."""
    _, (wire,), _ = walk(
        tmp_path,
        [("from", "to", "colour", "length"), ("a", "lamp", "red", 1)],
        [HEAD, ("a", "b", 0.3, 100), ("b", "c", 0.3, 100)],
        [("component", "at", "tail"), ("lamp", "c", 150)],
    )
    assert (wire.path_mm, wire.slack_mm, wire.tails_mm, wire.piece_mm) == (1000, 0, 0, 1130)
    assert wire.branches == (0, 1)


def test_an_own_length_needs_no_loom(tmp_path: Path) -> None:
    """Nor that its ends are points of the loom there is."""
    rows = [("from", "to", "colour", "length"), ("p", "q", "red", "1.2 m")]
    # 1200 x 1.05 + 80 = 1340
    for loom in ((), [HEAD, ("a", "b", 0.3)]):
        _, (wire,), problems = walk(tmp_path, rows, loom)
        assert (wire.piece_mm, wire.branches, problems) == (1340, (), [])


@pytest.mark.parametrize(
    ("length", "rules", "mm"),
    [
        # 47 in x 25.4 = 1193.8; x 1.05 = 1253.49; + 80 = 1333.49: one rounding, at the end
        ("47 in", {}, 1340),
        ("47 in", {"step_mm": 1}, 1334),
        # just on a step: 1000 x 1.05 + 80 = 1130, and a hair over it
        ("1000 mm", {}, 1130),
        ("1000.01 mm", {}, 1140),
        # no allowances at all: the run as measured, in whole steps
        ("1 m", {"run_percent": 0, "end_mm": 0}, 1000),
        # 1000 x 1.075 + 2 x 25 = 1125 -> steps of 50: 1150
        ("1 m", {"run_percent": 7.5, "end_mm": 25, "step_mm": 50}, 1150),
        # 0.1 + 0.2 m are not 0.30000000000000004: 200 x 1.05 + 80 = 290
        ("0.2 m", {}, 290),
    ],
)
def test_rounded_up_once_to_whole_steps(
    tmp_path: Path, length: str, rules: dict[str, Any], mm: int
) -> None:
    """Exact until the end, then up to `step_mm`."""
    rows = [("from", "to", "colour", "length"), ("p", "q", "red", length)]
    _, (wire,), _ = walk(tmp_path, rows, **rules)
    assert wire.piece_mm == mm


# -------------------------------------------------------------------------- components


def test_a_components_name_goes_before_a_loom_point_of_that_name(tmp_path: Path) -> None:
    """`tail` is the component, which sits at `rear`; the loom point `tail` is elsewhere."""
    read, (wire,), _ = walk(
        tmp_path,
        [("from", "to", "colour"), ("front", "tail", "red")],
        [HEAD, ("front", "tail", 0.3), ("tail", "rear", 0.4)],
        [("component", "at", "tail"), ("tail", "rear", 0)],
    )
    assert [str(read.branches[i]) for i in wire.branches] == ["front-tail", "tail-rear"]


def test_a_component_with_blank_at_sits_at_its_own_name(tmp_path: Path) -> None:
    """Its tail counts: 300 x 1.05 + 50 + 80 = 445 -> 450."""
    _, (wire,), _ = walk(
        tmp_path,
        [("from", "to", "colour"), ("front", "rear", "red")],
        [HEAD, ("front", "rear", 0.3)],
        [("component", "at", "tail"), ("rear", None, 50)],
    )
    assert wire.piece_mm == 450


def test_names_meet_without_regard_to_case_and_spaces(tmp_path: Path) -> None:
    """Repeated and non-breaking spaces too, on all three sheets."""
    _, (wire,), problems = walk(
        tmp_path,
        [("from", "to", "colour"), ("Front  FORK", "tail\u00a0lamp:1", "red")],
        [HEAD, ("front fork", "Rear  End", 0.3)],
        [("component", "at", "tail"), ("Tail Lamp", "rear end", 0)],
    )
    assert problems == []
    assert wire.branches == (0,)


# ---------------------------------------------------------------------------------- ways


def test_the_shortest_way_by_measured_length(tmp_path: Path) -> None:
    """Whatever the number of branches, and whatever the slack."""
    loom = [("a", "d", 1.0), ("a", "b", 0.3, 400), ("b", "d", 0.3, 400)]
    assert way(tmp_path, loom) == ["a-b", "b-d"]


def test_of_equal_ways_the_one_with_less_slack(tmp_path: Path) -> None:
    """Before the number of branches: a-c-d has two, a-d one with 50 mm of slack."""
    loom = [("a", "d", 1.0, 50), ("a", "c", 0.5), ("c", "d", 0.5)]
    assert way(tmp_path, loom) == ["a-c", "c-d"]


def test_then_the_one_with_fewer_branches(tmp_path: Path) -> None:
    """Before the order on the sheet."""
    assert way(tmp_path, [("a", "b", 0.5), ("b", "d", 0.5), ("a", "d", 1.0)]) == ["a-d"]


def test_then_the_one_whose_first_differing_branch_stands_first(tmp_path: Path) -> None:
    """From `from` on: a-c is row 3 and a-b row 5, though b-d stands before c-d."""
    loom = [("b", "d", 0.5), ("a", "c", 0.5), ("c", "d", 0.5), ("a", "b", 0.5)]
    assert way(tmp_path, loom) == ["a-c", "c-d"]
    # from the other end b-d, row 2, comes before c-d, row 4
    assert way(tmp_path, loom, "d", "a") == ["b-d", "a-b"]


def test_a_common_beginning_does_not_decide(tmp_path: Path) -> None:
    """Both ways start with the last row of the sheet and differ in the branch after it."""
    loom = [("b", "c", 0.2), ("c", "e", 0.2), ("b", "d", 0.2), ("d", "e", 0.2), ("a", "b", 0.2)]
    assert way(tmp_path, loom, "a", "e") == ["a-b", "b-c", "c-e"]


def test_equal_is_exactly_equal(tmp_path: Path) -> None:
    """0.1 + 0.2 m is as long as 0.3 m, so the one branch is taken."""
    loom = [("a", "b", 0.1), ("b", "d", 0.2), ("a", "d", 0.3)]
    assert way(tmp_path, loom) == ["a-d"]


def test_a_branch_may_be_walked_either_way(tmp_path: Path) -> None:
    """A branch has no direction."""
    assert way(tmp_path, [("b", "a", 0.3), ("d", "b", 0.3)]) == ["b-a", "d-b"]


POINTS = "abcde"


@st.composite
def looms(draw: st.DrawFn) -> list[tuple[str, str, int, int]]:
    """Looms of up to nine branches between five points, lengths and slacks often equal."""
    pairs = [(p, q) for i, p in enumerate(POINTS) for q in POINTS[i + 1 :]]
    chosen = draw(st.permutations(pairs))[: draw(st.integers(1, 9))]
    return [(*pair, draw(st.integers(1, 3)) * 100, draw(st.integers(0, 1)) * 10) for pair in chosen]


def best_by_trying_all(loom: Sequence[tuple[str, str, int, int]]) -> tuple[int, ...] | None:
    """The way from a to e by the design's four rules, found by trying every order of points."""
    index = {frozenset(row[:2]): i for i, row in enumerate(loom)}
    found = []
    for size in range(len(POINTS) - 1):
        for middle in permutations("bcd", size):
            stops = ("a", *middle, "e")
            pairs = [frozenset(pair) for pair in pairwise(stops)]
            if all(pair in index for pair in pairs):
                taken = tuple(index[pair] for pair in pairs)
                length = sum(loom[i][2] for i in taken)
                slack = sum(loom[i][3] for i in taken)
                found.append((length, slack, len(taken), taken))
    return min(found)[-1] if found else None


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(looms())
def test_the_way_is_the_best_of_all_ways(loom: list[tuple[str, str, int, int]]) -> None:
    """Length, slack, number of branches, order on the sheet: against trying every way."""
    row = Row("job.xlsx", "Loom", 2)
    branches = tuple(
        Branch(
            start=start,
            finish=finish,
            length_mm=Fraction(mm),
            exposure="hidden",
            slack_mm=Fraction(slack),
            covering="tape",
            row=row,
        )
        for start, finish, mm, slack in loom
    )
    (wire,), problems = measure(_book_of(branches), HouseRules())
    best = best_by_trying_all(loom)
    assert wire.branches == (best or ())
    assert (problems == ()) == (best is not None)


def _book_of(branches: tuple[Branch, ...]) -> JobBook:
    wire = Wire(
        label="1",
        circuit="",
        start=Pin("a"),
        finish=Pin("e"),
        colour=None,
        gauge=None,
        load=None,
        fuse=None,
        length_mm=None,
        start_end=None,
        finish_end=None,
        one_of=None,
        qty=1,
        note="",
        row=Row("job.xlsx", "Circuits", 2, {"length": "C"}),
    )
    return JobBook(
        file="job.xlsx",
        job="job",
        customer="",
        machine="",
        wires=(wire,),
        branches=branches,
        components={},
        fuses=(),
        extras=(),
        labour=(),
        whole=True,
    )


# --------------------------------------------------------------------------- no way at all


ROWS = [("from", "to", "colour", "length"), ("a", "d", "red", None)]


def test_neither_a_length_nor_a_loom(tmp_path: Path) -> None:
    """The cell of the length, and what to type there."""
    _, (wire,), problems = walk(tmp_path, ROWS)
    assert wire.piece_mm == 0
    ((sheet, cell, says, cure),) = problems
    assert (sheet, cell, cure) == ("Circuits", "D2", "the measured length, such as 1.2 m")
    assert "no length" in says


def test_a_loom_in_two_parts(tmp_path: Path) -> None:
    """No way through it is an error at the length."""
    _, _, problems = walk(tmp_path, ROWS, [HEAD, ("a", "b", 0.3), ("c", "d", 0.3)])
    ((sheet, cell, says, _),) = problems
    assert (sheet, cell, says) == ("Circuits", "D2", "no way through the loom from a to d")


def test_a_point_that_is_nowhere_is_told_at_its_own_cell(tmp_path: Path) -> None:
    """With the nearest point or component as its cure."""
    rows = [*ROWS, ("battery", "tail lmp:1", "red", None)]
    _, _, problems = walk(
        tmp_path,
        rows,
        [HEAD, ("battery", "a", 0.3), ("a", "d", 0.3)],
        [("component", "at"), ("Tail lamp", "d")],
    )
    ((sheet, cell, says, cure),) = problems
    assert (sheet, cell, cure) == ("Circuits", "B3", "Tail lamp")
    assert "point 'tail lmp'" in says


def test_a_component_that_sits_nowhere_is_told_once(tmp_path: Path) -> None:
    """At its own cell, though two wires come to it."""
    rows = [ROWS[0], ("a", "lamp:1", "red", None), ("lamp:2", "a", "black", None)]
    _, _, problems = walk(
        tmp_path, rows, [HEAD, ("a", "tail", 0.3)], [("component", "at"), ("lamp", "tial")]
    )
    assert set(problems) == {
        ("Components", "B2", "lamp sits at 'tial', which is no point of the loom", "tail")
    }


def test_lengths_are_exact_fractions(tmp_path: Path) -> None:
    """47 in is 1193.8 mm: nothing is rounded before the piece."""
    rows = [("from", "to", "colour"), ("a", "b", "red")]
    _, (wire,), _ = walk(tmp_path, rows, [HEAD, ("a", "b", "47 in", "0.5 in")])
    # 0.5 in x 25.4 = 12.7
    assert (wire.path_mm, wire.slack_mm) == (Fraction("1193.8"), Fraction("12.7"))
    assert wire.path_mm == Fraction(Decimal("1193.8"))
