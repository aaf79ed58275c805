"""Breakouts evenly about their points, so that there is room for words between them.

The wedges of `place` keep apart what would only meet if it were far longer.  Here what turns off
at a point shares the half turn of its side, as far as nothing comes close to anything by that.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import atan2, cos, pi, sin

from msgspec.structs import replace

from bom.show.drawing.lines import Point, apart_mm
from bom.show.drawing.place import DrawnBranch
from bom.show.drawing.tree import Node

_APART_MM = 60
"""At full size: on a sheet there is just room for a line of words."""
_SHARES = (1.0, 0.6, 0.3)
"""Of the way from where it lies to where it had most room."""


def spread(root: Node, lines: Sequence[DrawnBranch]) -> list[DrawnBranch]:
    """The lines of a tree with its breakouts turned, each with all that is behind it."""
    by_name = {line.finish_name: line for line in lines}
    for node in root.walk():
        turns = dict(_turns(node, by_name, keep=2 if node is root else 1))
        for share in _SHARES if turns else ():
            moved = {
                each.name: _turned(
                    by_name[each.name], by_name[far.name].start, share * turns[far.name]
                )
                for _, far in node.on
                if far.name in turns
                for each in far.walk()
            }
            if _are_apart(moved, by_name):
                by_name |= moved
                break
    return [by_name[line.finish_name] for line in lines]


def _turns(
    node: Node, by_name: Mapping[str, DrawnBranch], keep: int
) -> Iterator[tuple[str, float]]:
    """By how much each breakout of a point turns; those of the trunk that are kept do not."""
    if len(node.on) <= keep:
        return
    ahead = _angle(by_name[node.on[0][1].name])
    sides: tuple[list[tuple[float, str]], ...] = ([], [])
    for _, far in node.on[keep:]:
        angle = (_angle(by_name[far.name]) - ahead) % (2 * pi)
        sides[angle > pi].append((angle, far.name))
    for number, side in enumerate(sides):
        for place, (angle, name) in enumerate(sorted(side), 1):
            yield name, pi * (number + place / (len(side) + 1)) - angle


def _angle(line: DrawnBranch) -> float:
    return atan2(line.start[1] - line.finish[1], line.finish[0] - line.start[0])


def _turned(line: DrawnBranch, about: Point, turn: float) -> DrawnBranch:
    def to(point: Point) -> Point:
        x, y = point[0] - about[0], point[1] - about[1]
        return about[0] + x * cos(turn) + y * sin(turn), about[1] + y * cos(turn) - x * sin(turn)

    return replace(line, start=to(line.start), finish=to(line.finish))


def _are_apart(moved: Mapping[str, DrawnBranch], by_name: Mapping[str, DrawnBranch]) -> bool:
    """Whether what was moved keeps clear of all that it has no point in common with."""
    after = {**by_name, **moved}
    return all(
        apart_mm(one.line, other.line) >= _APART_MM
        for one in moved.values()
        for other in after.values()
        if not {one.start, one.finish} & {other.start, other.finish}
    )
