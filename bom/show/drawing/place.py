"""Every branch as a straight line of its true length, none crossing another.

Each breakout has a wedge of its own in which all that is behind it stays: the wedges at a point
share the angle that it was given, and a wedge moved outwards along a line inside it lies inside
itself.  So no two branches can meet but at their common point, whatever their lengths.
"""

from collections.abc import Iterable, Iterator, Sequence
from math import cos, pi, radians, sin

from msgspec import Struct

from bom.show.drawing.lines import Line, Point
from bom.show.drawing.tree import Node, Stretch

_ARM = radians(80)
"""To each side of the trunk so much at the most is kept for what goes on along it."""
_BREAKOUT = radians(10)
"""So much each end that turns off at the trunk's middle gets before the trunk does."""


class DrawnBranch(Struct, frozen=True):
    """A branch as drawn: from where to where, in mm; y goes down the sheet."""

    stretch: Stretch
    start: Point
    finish: Point
    finish_name: str

    @property
    def line(self) -> Line:
        """From end to end."""
        return self.start, self.finish


class Wedge(Struct, frozen=True):
    """Room between two angles in radians, with the direction that goes straight on."""

    low: float
    high: float
    ahead: float


def placed(root: Node) -> tuple[list[DrawnBranch], dict[str, Point]]:
    """The lines of a tree whose trunk lies level, and its points; its root is the origin."""
    points = {root.name: (0.0, 0.0)}
    lines: list[DrawnBranch] = []
    stack = list(_around(root))
    while stack:
        stretch, node, wedge, start = stack.pop()
        length = stretch.length_mm
        finish = (start[0] + length * cos(wedge.ahead), start[1] - length * sin(wedge.ahead))
        points[node.name] = finish
        lines.append(DrawnBranch(stretch, start, finish, node.name))
        for (further, far), room in zip(node.on, shared(node.on, wedge), strict=True):
            stack.append((further, far, room, finish))
    return lines, points


_Pending = tuple[Stretch, Node, Wedge, Point]


def _around(root: Node) -> Iterator[_Pending]:
    """The trunk's two arms to the left and right, and the root's own breakouts up and down."""
    origin = (0.0, 0.0)
    arms, rest = root.on[:2], root.on[2:]
    arm = _arm(arms, rest)
    if len(arms) == 1:
        yield (*arms[0], Wedge(-pi / 2, pi / 2, 0.0), origin)
        return
    for (stretch, node), ahead in zip(arms, (0.0, pi), strict=True):
        yield (stretch, node, Wedge(ahead - arm, ahead + arm, ahead), origin)
    for up, side in ((True, rest[::2]), (False, rest[1::2])):
        low, high = (arm, pi - arm) if up else (pi + arm, 2 * pi - arm)
        for (stretch, node), room in zip(side, _divided(side, low, high), strict=True):
            yield (stretch, node, room, origin)


def _arm(arms: Sequence[tuple[Stretch, Node]], rest: Sequence[tuple[Stretch, Node]]) -> float:
    """What is kept to each side of an arm: where very many turn off, its part by the ends."""
    if not rest:
        return pi / 2
    along, turning = (sum(node.leaves for _, node in side) for side in (arms, rest))
    return max(pi / 2 * along / (along + turning), min(_ARM, (pi - _BREAKOUT * turning / 2) / 2))


def shared(on: Sequence[tuple[Stretch, Node]], wedge: Wedge) -> list[Wedge]:
    """The wedges of the branches that go on from a point, in their order.

    The first goes straight on, the others turn off to one side and the other by turns; each
    side of the wedge is divided by how many ends are behind.
    """
    if not on:
        return []
    left, right = list(on[1::2]), list(on[2::2])
    ends = on[0][1].leaves / 2
    up = _part(wedge.high - wedge.ahead, ends, left)
    down = _part(wedge.ahead - wedge.low, ends, right)
    straight = Wedge(wedge.ahead - down, wedge.ahead + up, wedge.ahead)
    lefts = _divided(left, wedge.ahead + up, wedge.high)
    rights = _divided(right, wedge.low, wedge.ahead - down)
    by_turns = [room for pair in zip(lefts, rights, strict=False) for room in pair]
    return [straight, *by_turns, *lefts[len(rights) :]]


def _part(angle: float, ends: float, others: Iterable[tuple[Stretch, Node]]) -> float:
    """What of one side is left to the branch that goes straight on."""
    turning = sum(node.leaves for _, node in others)
    return angle * ends / (ends + turning)


def _divided(side: Sequence[tuple[Stretch, Node]], low: float, high: float) -> list[Wedge]:
    """The angle divided among branches by the ends behind them, each along its middle."""
    whole = sum(node.leaves for _, node in side)
    rooms = []
    for _, node in side:
        top = low + (high - low) * node.leaves / whole
        rooms.append(Wedge(low, top, (low + top) / 2))
        low, whole, high = top, whole - node.leaves, high
    return rooms
