"""Where everything lies on a sheet: trees one under the other at a scale, with their words."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from itertools import count
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from bom.show.drawing.boxes import Box, Room, Stroke, Words
from bom.show.drawing.labels import set_out
from bom.show.drawing.lines import Point
from bom.show.drawing.parts import MOST_BRANCHES
from bom.show.drawing.place import DrawnBranch, placed
from bom.show.drawing.spread import spread
from bom.show.drawing.tree import Node

_LEAST_LINE_MM = 0.8
_LEAST_OPEN_MM = 1.6
"""Of a line with a white core: thinner, a bad printer leaves nothing of it."""
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


class SheetFoot(Struct, frozen=True):
    """What stands at the foot of a sheet: its title, and above it notes in columns."""

    title: str = ""
    notes: tuple[str, ...] = ()


class LoomLayout(Struct, frozen=True):
    """All that is drawn, at 1:scale, in mm on paper; `left` to `bottom` take it all in."""

    lines: tuple[DrawnBranch, ...]
    foot: SheetFoot
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


def at_full_size(root: Node, most_spread: int = MOST_BRANCHES) -> DrawnTree:
    """A tree with its true lengths; its breakouts spread where they are not too many for that."""
    lines, points = placed(root)
    if len(lines) <= most_spread:
        lines = spread(root, lines)
        points |= {line.finish_name: line.finish for line in lines}
    return DrawnTree(lines, points)


def wordless(_: DrawnTree) -> Iterable[Words]:
    """Nothing said: how large the loom is by itself."""
    return ()


def laid_out(trees: Iterable[DrawnTree], foot: SheetFoot, says: Says, scale: float) -> LoomLayout:
    """Trees one under the other, each with its words."""
    lines: list[DrawnBranch] = []
    points: dict[str, Point] = {}
    boxes: list[Box] = []
    floor = 0.0
    for tree in trees:
        own = tree.moved(partial(_scaled, scale))
        beside = set_out([*says(own)], [stroke(line, scale) for line in own.lines])
        _, top, _, bottom = extent(own.points.values(), beside)
        drop = floor - top if lines else 0.0
        lower = own.moved(partial(_dropped, drop))
        lines += lower.lines
        points |= lower.points
        boxes += [_dropped_box(drop, box) for box in beside]
        floor = bottom + drop + _BETWEEN_MM
    around = extent(points.values(), boxes)
    keyed = [box for box in boxes if box.words.is_keyed]
    keys = (f"key {number}: {box.words.key}" for number, box in enumerate(keyed, 1))
    foot = replace(foot, notes=(*keys, *foot.notes))
    return LoomLayout(tuple(lines), foot, points, tuple(_numbered(boxes)), scale, *around)


def _numbered(boxes: Iterable[Box]) -> Iterator[Box]:
    """The boxes, those of short words with the number of their key."""
    numbers = count(1)
    for box in boxes:
        is_keyed = box.words.is_keyed
        yield replace(box, words=box.words.numbered(next(numbers))) if is_keyed else box


def stroke(line: DrawnBranch, scale: float) -> Stroke:
    """A branch as wide as its bundle, but never so thin that it is not seen."""
    least = _LEAST_OPEN_MM if line.stretch.covering.core else _LEAST_LINE_MM
    wide = max(least, line.stretch.across_mm / scale)
    return Stroke(line.start, line.finish, wide)


def _scaled(scale: float, point: Point) -> Point:
    return point[0] / scale, point[1] / scale


def _dropped(drop: float, point: Point) -> Point:
    return point[0], point[1] + drop


def _dropped_box(drop: float, box: Box) -> Box:
    own, down = box.words, partial(_dropped, drop)
    words = replace(own, at=down(own.at), to=own.to and down(own.to))
    lead = box.lead and (down(box.lead[0]), down(box.lead[1]))
    return replace(box, words=words, lead=lead, top=box.top + drop, bottom=box.bottom + drop)


def extent(points: Iterable[Point], boxes: Iterable[Box]) -> Room:
    """What takes in all of them; nothing is at the origin."""
    spots, rooms = list(points), list(boxes)
    xs = [x for x, _ in spots] + [b.left for b in rooms] + [b.right for b in rooms]
    ys = [y for _, y in spots] + [b.top for b in rooms] + [b.bottom for b in rooms]
    return min(xs, default=0.0), min(ys, default=0.0), max(xs, default=0.0), max(ys, default=0.0)
