"""Points and straight lines on a sheet, in mm: how far apart they are, and whether they cross."""

from math import hypot
from typing import TypeAlias

Point: TypeAlias = tuple[float, float]
Line: TypeAlias = tuple[Point, Point]


def off_line_mm(point: Point, line: Line) -> float:
    """How far a point is from a straight line."""
    (x, y), (x2, y2) = line
    dx, dy = x2 - x, y2 - y
    along = (point[0] - x) * dx + (point[1] - y) * dy
    share = min(1.0, max(0.0, along / (dx * dx + dy * dy))) if along else 0.0
    return hypot(point[0] - x - share * dx, point[1] - y - share * dy)


def cross(one: Line, other: Line) -> bool:
    """Whether two straight lines cross."""
    (a, b), (c, d) = one, other
    return _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0


def apart_mm(one: Line, other: Line) -> float:
    """How far apart two straight lines are; 0 where they cross."""
    if cross(one, other):
        return 0.0
    return min(*(off_line_mm(p, other) for p in one), *(off_line_mm(p, one) for p in other))


def _turn(a: Point, b: Point, c: Point) -> float:
    """Which side of the line a-b the point c is on."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
