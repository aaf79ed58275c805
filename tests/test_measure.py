"""The walk with the tape measure: which way a wire takes, and how long its piece is."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise, permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.read import read_job
from bom.reckon.measure import measure
from bom.trade.catalogue_files import load_catalogue
from bom.trade.house import HouseRules
from bom.trade.job_book import Branch, JobBook, Pin, Wire
from bom.trade.rows import Row
from bom.trade.wires import MeasuredWire
from tests.books import book, job_book, machines, sketch

CATALOGUE, _ = load_catalogue()


def walk(folder: Path, told: str) -> tuple[JobBook, Any, list[tuple[str, str, str]]]:
    """The book, its wires as measured, and problems as (cell, sentence, cure).

    The wires are `Any`, so that their exact lengths compare with plain numbers.
    """
    path = book(folder, **sketch(told, "length", length=None)[0])
    read, house, found = read_job(path, {}, CATALOGUE)
    assert read is not None
    assert not [problem for problem in found if problem.level == "error"]
    wires, problems = measure(read, house)
    assert all(isinstance(wire, MeasuredWire) for wire in wires)
    told_of = ((f"{p.where.sheet}!{p.where.cell}", p.says, p.cure) for p in problems)
    return read, wires, list(told_of)


@machines("""
The worked example of the design, section 3: 1300 x 1.05 = 1365; + 150 + 2 x 40 = 1595
  loom: battery > spine | 0.5; spine > tail | 0.8
  with: tail lamp | at=tail | tail=150
  battery > tail lamp = path 1300, slack 0, tails 150, piece 1600

Slack and both tails are added: 500 x 1.05 = 525; 100 + 20; 150 + 60; ends 80: 935
  loom: a > b | 0.3 | slack=100; b > c | 0.2 | slack=20; c > d | 0.7 | slack=500
  with: switch | at=a | tail=150; lamp | at=c | tail=60
  switch > lamp = path 500, slack 120, tails 210, piece 940

Both ends at one point: the tails and the ends alone, 150 + 60 + 80
  loom: a > b | 0.3 | slack=100
  with: switch | at=b | tail=150; lamp | at=B | tail=60
  lamp > switch = path 0, slack 0, piece 290, by

From pin to pin of one component both tails count: a link on a switch, 0 + 300 + 80
  loom: a > b | 0.3
  with: switch | at=b | tail=150
  switch:1 > switch:2 = piece 380

A length of its own, 1000 x 1.05 + 80, takes neither tails nor slack, yet lies in its branches
  loom: a > b | 0.3 | slack=100; b > c | 0.3 | slack=100
  with: lamp | at=c | tail=150
  a > lamp | 1 = path 1000, slack 0, tails 0, piece 1130, by a-b b-c

A length of its own needs no loom: 1200 x 1.05 + 80 = 1340
  p > q | 1.2 m = piece 1340, by

Nor that its ends are points of the loom there is
  loom: a > b | 0.3
  p > q | 1.2 m = piece 1340, by

A component's name goes before a loom point of that name: `tail` sits at `rear`
  loom: front > tail | 0.3; tail > rear | 0.4
  with: tail | at=rear | tail=0
  front > tail = by front-tail tail-rear

A component with blank `at` sits at its own name, and its tail counts: 315 + 50 + 80 = 445
  loom: front > rear | 0.3
  with: rear | tail=50
  front > rear = piece 450

Names meet without regard to case and spaces, non-breaking ones too, on all three sheets
  loom: front fork > Rear  End | 0.3
  with: Tail Lamp | at=rear end | tail=0
  Front  FORK > tail lamp:1 = by front fork-Rear End

Lengths are exact fractions: 47 in x 25.4 = 1193.8 mm, 0.5 in of slack 12.7 mm
  loom: a > b | 47 in | slack=0.5 in
  a > b = path 1193.8, slack 12.7

The shortest way by measured length, whatever the number of branches and the slack
  loom: a > d | 1.0; a > b | 0.3 | slack=400; b > d | 0.3 | slack=400
  a > d = by a-b b-d

Of equal ways the one with less slack, before the number of branches
  loom: a > d | 1.0 | slack=50; a > c | 0.5; c > d | 0.5
  a > d = by a-c c-d

Then the one with fewer branches, before the order on the sheet
  loom: a > b | 0.5; b > d | 0.5; a > d | 1.0
  a > d = by a-d

Then the one whose first differing branch stands first: a-c is row 3, a-b row 5, though b-d is 2
  loom: b > d | 0.5; a > c | 0.5; c > d | 0.5; a > b | 0.5
  a > d = by a-c c-d
  d > a = by b-d a-b  # from the other end b-d, row 2, comes before c-d, row 4

A common beginning does not decide: both start with the last row and differ after it
  loom: b > c | 0.2; c > e | 0.2; b > d | 0.2; d > e | 0.2; a > b | 0.2
  a > e = by a-b b-c c-e

Equal is exactly equal: 0.1 + 0.2 m is as long as 0.3 m, so the one branch is taken
  loom: a > b | 0.1; b > d | 0.2; a > d | 0.3
  a > d = by a-d

A branch has no direction
  loom: b > a | 0.3; d > b | 0.3
  a > d = by b-a d-b
""")
def test_pieces_and_ways(tmp_path: Path, told: str) -> None:
    """The way that a wire takes, what it is long, and its piece; nothing is said."""
    read, wires, problems = walk(tmp_path, told)
    assert problems == []
    lines = [line.partition("  #")[0] for line in told.splitlines()[1:] if " = " in line]
    for wire, (_, expected) in zip(wires, (line.split(" = ") for line in lines), strict=True):
        for of, _, what in (token.partition(" ") for token in expected.split(", ")):
            if of == "by":
                way = " ".join(str(read.branches[index]) for index in wire.branches)
                assert " ".join(way.split()).casefold() == what.casefold()
            else:
                assert getattr(wire, f"{of}_mm") == Fraction(what), (of, wire)


@pytest.mark.parametrize(
    ("length", "rules", "mm"),
    [
        # 47 in x 25.4 = 1193.8; x 1.05 = 1253.49; + 80 = 1333.49: one rounding, at the end
        ("47 in", "", 1340),
        ("47 in", "job: step_mm | 1", 1334),
        # just on a step: 1000 x 1.05 + 80 = 1130, and a hair over it
        ("1000 mm", "", 1130),
        ("1000.01 mm", "", 1140),
        # no allowances at all: the run as measured, in whole steps
        ("1 m", "job: run_percent | 0; end_mm | 0", 1000),
        # 1000 x 1.075 + 2 x 25 = 1125 -> steps of 50: 1150
        ("1 m", "job: run_percent | 7.5; end_mm | 25; step_mm | 50", 1150),
        # 0.1 + 0.2 m are not 0.30000000000000004: 200 x 1.05 + 80 = 290
        ("0.2 m", "", 290),
    ],
)
def test_rounded_up_once_to_whole_steps(tmp_path: Path, length: str, rules: str, mm: int) -> None:
    """Exact until the end, then up to `step_mm`."""
    _, (wire,), _ = walk(tmp_path, f"a piece\n{rules}\np > q | {length}")
    assert wire.piece_mm == mm


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
    return job_book(wires=(wire,), branches=branches)


# --------------------------------------------------------------------------- no way at all


@pytest.mark.parametrize(
    ("told", "cell", "words", "cure"),
    [
        # neither a length nor a loom: the cell of the length, and what to type there
        ("a > d", "Circuits!J2", "no length", "the measured length, such as 1.2 m"),
        # a loom in two parts
        ("loom: a > b | 0.3; c > d | 0.3\na > d", "Circuits!J2", "loom from a to d", None),
        # a point that is nowhere is told at its own cell, with the nearest point or component
        (
            "loom: battery > a | 0.3; a > d | 0.3\nwith: Tail lamp | at=d\n"
            "a > d\nbattery > tail lmp:1",
            *("Circuits!D3", "point 'tail lmp'", "Tail lamp"),
        ),
        # a component that sits nowhere is told at its own cell, though two wires come to it
        (
            "loom: a > tail | 0.3\nwith: lamp | at=tial\na > lamp:1\nlamp:2 > a",
            *("Components!G2", "lamp sits at 'tial'", "tail"),
        ),
    ],
)
def test_no_way_at_all(tmp_path: Path, told: str, cell: str, words: str, cure: str | None) -> None:
    """One error, and a piece of no length."""
    _, wires, problems = walk(tmp_path, f"no way\n{told}")
    ((place, says, proposed),) = set(problems)
    assert (place, words in says) == (cell, True)
    assert cure is None or proposed == cure
    assert wires[-1].piece_mm == 0
