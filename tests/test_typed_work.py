"""Labour that is counted already and typed once more: told, and honest rows are let be."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.books import book, checked, says
from tests.within import bom

OWN = """
test ride; strip old loom; tank off and on; make battery box; take the old loom out, find its
faults; strip out; strip loom; remove seat and side panels; find fault in charging; set up
headlamp beam; test charging; fit mudguard; fit head lamp bracket; drill headlamp shell; wrap
exhaust; seal tank; fit fork seals; fit spark plugs; fit covers; draw wiring diagram; collect
and deliver; make loom board; lay loom in frame; fit cable ties; strip wiring; fit rear brake;
re-cover seat; solder old rectifier; test and hand over; repair wiring; cut bracket; fit the new
one
"""
"""Tasks of a workshop that nobody counts, made up on paper before the rule was written."""


def told(tmp_path: Path, *tasks: str) -> Sequence[tuple[str, str]]:
    """The cells and sentences that a lamp's loom is told of, with these rows of labour."""
    path = book(
        tmp_path,
        Job=[("item", "value"), ("end", "ring M6")],
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse"),
            ("1", "lamp", "battery:+", "rear brake switch:in", "red", "1.0", None, "none"),
            ("2", "lamp", "rear brake switch:out", "head lamp:1", "blue", "1.0", "5 W", None),
            ("3", "lamp", "head lamp:2", "battery:-", "black", "1.0", None, None),
        ],
        Loom=[
            ("from", "to", "length m"),
            ("battery", "rear brake switch", 1),
            ("battery", "head lamp", 1),
        ],
        Labour=[("task", "hours"), *((task, 1) for task in tasks)],
    )
    return [(cell, sentence) for sheet, cell, sentence in says(checked(path)) if sheet == "Labour"]


def test_honest_rows_are_let_be(tmp_path: Path) -> None:
    """Each has a word that no counted operation has, or none of what is done."""
    assert told(tmp_path, *(task.strip() for task in OWN.split(";"))) == []


@pytest.mark.parametrize(
    ("task", "counted"),
    [
        # 1 minute a terminal; a wire has two ends, each a ring: 6 minutes
        ("crimp terminals", "crimp, 0.1 h"),
        ("Crimping", "crimp, 0.1 h"),
        # 3 wires x 1.5, and 0.5 each to test
        ("cutting and stripping the wires", "cut and strip, 0.07 h"),
        ("test continuity", "continuity test, 0.03 h"),
        # 2 m x 6 minutes
        ("tape up the whole loom", "wrap, 0.2 h"),
        ("crimp and wrap", "crimp, wrap, 0.3 h"),
        # battery, switch and lamp, 10 minutes each
        ("fit headlamp", "fit, 0.5 h"),
        ("mount switches", "fit, 0.5 h"),
    ],
)
def test_counted_work_is_told(tmp_path: Path, task: str, counted: str) -> None:
    """With its cell, the operations that it is, and the hours that they take already."""
    assert told(tmp_path, "test ride", task) == [("A3", f"'{task}' is counted already: {counted}")]


def test_the_loom_as_a_whole_is_every_operation(tmp_path: Path) -> None:
    """The row that one has always typed; what is not in the loom is not counted twice.

    Minutes: cut 4.5, crimp 6, wrap 12, test 1.5, fit 30: 54.
    """
    ((_, sentence),) = told(tmp_path, "make loom", "braid loom", "splices")
    assert sentence == "'make loom' is counted already: 5 operations, 0.9 h"


def test_of_many_the_first_are_told_with_their_operation(tmp_path: Path) -> None:
    """Three and more are one sentence, which names what some of them are counted as."""
    tasks = ("fit terminals", "test ride", "wrap loom", "testing", "cut wires")
    path = tmp_path / "many.xlsx"
    told(tmp_path, *tasks)
    next(tmp_path.glob("*.xlsx")).rename(path)
    done = bom("check", path)
    assert (
        "Labour › A2, A4 to A6: 4 tasks are counted already, such as 'fit terminals' (crimp), "
        "'wrap loom' (wrap), 'testing' (continuity test)\n"
    ) in done.stderr
