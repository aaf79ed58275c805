"""Where everything lies on a sheet: trees one under the other at a scale, with their words."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from bom.show.drawing.labels import Box, Stroke, Words, set_out
from bom.show.drawing.place import DrawnBranch, Point, placed
from bom.show.drawing.tree import Node, Stretch

_LEAST_LINE_MM = 0.5
_BETWEEN_MM = 15


class DrawnTree(Struct, frozen=True):
    """The lines and points of a tree, in mm."""

    lines: Sequence[DrawnBranch]
    points: Mapping[str, Point]

    def moved(self, to: Callable[[Point], Point]) -> "DrawnTree":
        """The same with each of its places elsewhere."""
        lines = [replace(ln, start=to(ln.start), finish=to(ln.finish)) for ln in self.lines]
        return DrawnTree(lines, {name: to(point) for name, point in self.points.items()})


Says: TypeAlias = Callable[[DrawnTree], Iterable[Words]]
"""The words that stand beside a tree."""


class LoomLayout(Struct, frozen=True):
    """All that is drawn, at 1:scale, in mm on paper; `left` to `bottom` take it all in."""

    lines: tuple[DrawnBranch, ...]
    rings: tuple[Stretch, ...]
    points: Mapping[str, Point]
    boxes: tuple[Box, ...]
    scale: float
    left: float
    top: float
    right: float
    bottom: float

    @property
    def wide(self) -> float:
        """From its left to its right."""
        return self.right - self.left

    @property
    def high(self) -> float:
        """From its top to its bottom."""
        return self.bottom - self.top


def at_full_size(root: Node) -> DrawnTree:
    """A tree with its true lengths."""
    return DrawnTree(*placed(root))


def wordless(_: DrawnTree) -> Iterable[Words]:
    """Nothing said: how large the loom is by itself."""
    return ()


def laid_out(
    trees: Iterable[DrawnTree], rings: tuple[Stretch, ...], says: Says, scale: float
) -> LoomLayout:
    """Trees one under the other, each with its words."""
    lines: list[DrawnBranch] = []
    points: dict[str, Point] = {}
    boxes: list[Box] = []
    floor = 0.0
    for tree in trees:
        own = tree.moved(partial(_scaled, scale))
        beside = set_out([*says(own)], [stroke(line, scale) for line in own.lines])
        _, top, _, bottom = _extent(own.points.values(), beside)
        drop = floor - top if lines else 0.0
        lower = own.moved(partial(_dropped, drop))
        lines += lower.lines
        points |= lower.points
        boxes += [_dropped_box(drop, box) for box in beside]
        floor = bottom + drop + _BETWEEN_MM
    extent = _extent(points.values(), boxes)
    return LoomLayout(tuple(lines), rings, points, tuple(boxes), scale, *extent)


def stroke(line: DrawnBranch, scale: float) -> Stroke:
    """A branch as wide as its bundle, but never so thin that it is not seen."""
    wide = max(_LEAST_LINE_MM, line.stretch.across_mm / scale)
    return Stroke(line.start, line.finish, wide)


def _scaled(scale: float, point: Point) -> Point:
    return point[0] / scale, point[1] / scale


def _dropped(drop: float, point: Point) -> Point:
    return point[0], point[1] + drop


def _dropped_box(drop: float, box: Box) -> Box:
    words = replace(box.words, at=_dropped(drop, box.words.at))
    return replace(box, words=words, top=box.top + drop, bottom=box.bottom + drop)


def _extent(points: Iterable[Point], boxes: Iterable[Box]) -> tuple[float, float, float, float]:
    spots, rooms = list(points), list(boxes)
    xs = [x for x, _ in spots] + [b.left for b in rooms] + [b.right for b in rooms]
    ys = [y for _, y in spots] + [b.top for b in rooms] + [b.bottom for b in rooms]
    return min(xs, default=0.0), min(ys, default=0.0), max(xs, default=0.0), max(ys, default=0.0)
