"""The words of a drawing: each stands by what it belongs to, or a thin line leads there."""

from collections.abc import Iterator, Sequence
from math import atan2, degrees, dist
from typing import Any

import pytest

from bom.job import open_job
from bom.show.drawing import drawn, in_parts, layout
from bom.show.drawing.boxes import Box, Stroke, Words
from bom.show.drawing.labels import set_out
from bom.show.drawing.lines import apart_mm, off_line_mm
from bom.show.drawing.place import placed
from bom.show.drawing.spread import spread
from bom.show.drawing.tree import Stretch, forest
from bom.show.paper.loom import sits_at, stretches
from tests.test_drawing import COVERINGS, stretch
from tests.test_large_drawings import loom
from tests.within import JOBS, SAMPLES

Found = list[tuple[list[Box], list[Stroke]]]


@pytest.fixture(name="found")
def _found(monkeypatch: pytest.MonkeyPatch) -> Found:
    """The labels and branches of every drawing that is tried; the last one is printed."""
    every: Found = []

    def noted(words: Sequence[Words], lines: Sequence[Stroke]) -> list[Box]:
        boxes = set_out(words, lines)
        every.append((boxes, [*lines]))
        return boxes

    monkeypatch.setattr(layout, "set_out", noted)
    return every


def strayed(boxes: Sequence[Box], strokes: Sequence[Stroke]) -> Iterator[Box]:
    """Labels that stand nearer to another branch, or whose line leads through words or not home."""
    for box in boxes:
        own, points = box.words.line, [b.words.at for b in boxes if b.words.to is None]
        if box.lead:
            start, _ = box.lead
            others = (other for other in boxes if other is not box)
            if off_line_mm(start, own) > 1e-6 or any(o.crossed_by(*box.lead) for o in others):
                yield box
            continue
        alike = [(p, p) for p in points] if box.words.to is None else [s.line for s in strokes]
        near_mm = min((box.apart_mm(*line) for line in alike if line != own), default=1e9)
        if box.apart_mm(*own) >= near_mm:
            yield box


def drawn_parts(title: str, whole: Sequence[Stretch], at: Any, found: Found) -> Iterator[Any]:
    """Each drawing of a loom: its labels and branches as printed."""
    for part in in_parts(title, whole, at):
        found.clear()
        drawn(part.title, part.stretches, part.at, COVERINGS.values())
        yield found[-1]


@pytest.mark.parametrize("name", SAMPLES)
def test_every_label_of_a_sample_is_by_its_own_branch(name: str, found: Found) -> None:
    """It was not on the twin, where a branch's words lay under the trunk."""
    job = open_job(JOBS / f"{name}.xlsx")
    for boxes, strokes in drawn_parts(name, stretches(job), sits_at(job), found):
        assert len([box for box in boxes if box.words.to]) == len(strokes)
        assert not [box.words.lines for box in strayed(boxes, strokes)]
        keyed = [box for box in boxes if box.words.is_keyed]
        assert len(keyed) <= len(strokes) / 3  # its wires stand at the branch


@pytest.mark.parametrize("kind", ["tree", "both sides"])
def test_so_is_every_label_of_a_large_loom(kind: str, found: Found) -> None:
    """100 branches of 150 to 600 mm, with two things at each point."""
    whole = loom(kind, 100)
    at = {s.finish: [f"lamp at {s.finish}", "a switch"] for s in whole}
    for boxes, strokes in drawn_parts("t", whole, at, found):
        assert not [box.words.lines for box in strayed(boxes, strokes)]


@pytest.mark.parametrize("kind", ["tree", "both sides", "star", "spine"])
def test_breakouts_that_are_spread_keep_apart(kind: str) -> None:
    """16 branches: true lengths, 60 mm between those without a common point, or as they were."""
    for part in in_parts("t", loom(kind, 48), {}):
        for root in forest(part.stretches).roots:
            lines, _ = placed(root)
            wide = spread(root, lines)
            for number, line in enumerate(wide):
                length = dist(line.start, line.finish)
                assert length == pytest.approx(line.stretch.length_mm)
                for before, other in zip(lines[:number], wide[:number], strict=True):
                    if not {*line.line} & {*other.line}:
                        was = apart_mm(before.line, lines[number].line)
                        assert apart_mm(line.line, other.line) >= min(60, was) - 1e-6


def test_breakouts_turn_off_evenly() -> None:
    """Three to one side of a trunk, each 45 degrees from the next: a quarter of a half turn."""
    whole = [stretch("a", "b", 900), stretch("b", "c", 800)]
    whole += [stretch("b", name, 300 + n) for n, name in enumerate("uvwxyz")]
    (root,) = forest(whole).roots
    ends = {line.finish_name: line for line in spread(root, placed(root)[0])}
    turned = sorted(
        round(degrees(atan2(-line.finish[1], line.finish[0]))) % 360 for line in ends.values()
    )
    assert turned == [0, 45, 90, 135, 180, 225, 270, 315]
