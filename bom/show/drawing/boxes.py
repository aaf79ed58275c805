"""Words in their boxes, and the lines of a drawing: what touches, crosses or is near what."""

from collections.abc import Sequence
from math import ceil, hypot
from textwrap import wrap
from typing import TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from bom.show.drawing.lines import Line, Point, off_line_mm

FONT_MM = 3.9
"""Size of the letters on paper: capitals are 0.645 of it in our face, 2.5 mm high."""

LINE_MM = 4.7
_WIDE = 0.575  # of a letter's size: broader than the mean of a serif face, so that boxes hold
_BROADER = dict.fromkeys("mwMW@%", 0.4)  # by so much more of the size
_CAPITAL = 0.15

Room: TypeAlias = tuple[float, float, float, float]
"""Left, top, right and bottom in mm."""


class Words(Struct, frozen=True, kw_only=True):
    """Lines of text that belong to a place on the sheet, in mm."""

    lines: tuple[str, ...]
    at: Point
    to: Point | None = None
    """Of a branch its other end: they may stand anywhere along it."""
    bold: int = 0
    """So many of its lines are printed in bold."""
    short: tuple[str, ...] = ()
    """What stands there instead where all of it finds no room close by; `key` says the rest."""
    key: str = ""
    """What is told at the foot of the sheet, under a number."""

    is_on: bool = False
    """It stands on its branch."""

    @property
    def line(self) -> Line:
        """What they belong to: a branch, or a point alone."""
        return self.at, self.to or self.at

    @property
    def is_keyed(self) -> bool:
        """Whether they are short already, and the rest stands at the foot."""
        return bool(self.key) and not self.short

    def on_its_branch(self) -> "Words":
        """The number of the key alone, which finds room on the branch itself."""
        return replace(self, lines=("",), is_on=True)

    def numbered(self, number: int) -> "Words":
        """The short lines with the number of the key."""
        return replace(self, lines=(*self.lines[:-1], f"{self.lines[-1]} {number}".strip()))


class Box(Struct, frozen=True):
    """Text with the room it takes: left, top, right and bottom in mm; y goes down."""

    words: Words
    left: float
    top: float
    right: float
    bottom: float
    lead: Line | None = None
    """The thin line from the place that it belongs to, where that is not plain without."""

    def is_on(self, one: "Stroke | Box") -> bool:
        """Whether it may stand on that: it is the branch that it belongs to."""
        return self.words.is_on and isinstance(one, Stroke) and one.line == self.words.line

    @property
    def room(self) -> Room:
        """Its edges."""
        return self.left, self.top, self.right, self.bottom

    def on(self, other: "Box") -> bool:
        """Whether two boxes lie on each other."""
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)

    def crossed_by(self, start: Point, finish: Point) -> bool:
        """Whether a straight line goes through."""
        return self.clipped(start, finish) is not None

    def clipped(self, start: Point, finish: Point) -> Line | None:
        """The part of a straight line inside (Liang and Barsky's clipping)."""
        (x, y), dx, dy = start, finish[0] - start[0], finish[1] - start[1]
        first, last = 0.0, 1.0
        for step, room in (
            (-dx, x - self.left),
            (dx, self.right - x),
            (-dy, y - self.top),
            (dy, self.bottom - y),
        ):
            if step == 0:
                if room < 0:
                    return None
            elif step < 0:
                first = max(first, room / step)
            else:
                last = min(last, room / step)
            if first >= last:
                return None
        return (x + first * dx, y + first * dy), (x + last * dx, y + last * dy)

    def touched_by(self, stroke: "Stroke") -> bool:
        """Whether a line of some width comes to it."""
        return stroke.on(self)

    def apart_mm(self, start: Point, finish: Point) -> float:
        """How far a straight line is off; 0 for one that goes through."""
        if self.crossed_by(start, finish):
            return 0.0
        corners = ((x, y) for x in (self.left, self.right) for y in (self.top, self.bottom))
        ends = (
            hypot(*(a - b for a, b in zip(p, self.nearest(p), strict=True)))
            for p in (start, finish)
        )
        return min(*ends, *(off_line_mm(corner, (start, finish)) for corner in corners))

    def grown(self, by_mm: float) -> "Box":
        """Larger to each side."""
        left, top, right, bottom = self.room
        return Box(self.words, left - by_mm, top - by_mm, right + by_mm, bottom + by_mm)

    def nearest(self, point: Point) -> Point:
        """Its place that is nearest to a point."""
        x, y = point
        return min(max(x, self.left), self.right), min(max(y, self.top), self.bottom)

    def holds(self, other: "Box") -> bool:
        """Whether the other lies inside."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.top <= other.top and other.bottom <= self.bottom


class Stroke(Struct, frozen=True):
    """A straight line as it is drawn."""

    start: Point
    finish: Point
    wide_mm: float

    @property
    def line(self) -> Line:
        """From end to end."""
        return self.start, self.finish

    def on(self, box: Box) -> bool:
        """Whether a box lies on it: apart neither level, upright, nor square to the line."""
        (x1, y1), (x2, y2), half = self.start, self.finish, self.wide_mm / 2
        left, right = box.left - half, box.right + half
        top, bottom = box.top - half, box.bottom + half
        if (x1 <= left and x2 <= left) or (x1 >= right and x2 >= right):
            return False
        if (y1 <= top and y2 <= top) or (y1 >= bottom and y2 >= bottom):
            return False
        dx, dy = x2 - x1, y2 - y1
        off = dx * (top + bottom - 2 * y1) - dy * (left + right - 2 * x1)
        return abs(off) < abs(dx) * (bottom - top) + abs(dy) * (right - left)


def width_mm(text: str) -> float:
    """How wide a line of text is at the most, about."""
    broad = sum(_BROADER.get(letter, _CAPITAL * letter.isupper()) for letter in text)
    return (len(text) * _WIDE + broad) * FONT_MM


def in_lines(text: str, wide_mm: float) -> list[str]:
    """A text in lines of about that width, parted between words where they are not longer."""
    letters = max(1, int(wide_mm * len(text) / (width_mm(text) or 1)))
    return wrap(text, letters, subsequent_indent="\u00a0\u00a0", break_on_hyphens=False)


def in_columns(notes: Sequence[Sequence[str]], most: int) -> list[list[str]]:
    """The lines of notes in columns as low as may be, no note in two of them."""
    rows = ceil(sum(map(len, notes)) / most)
    while True:
        columns: list[list[str]] = []
        for note in notes:
            if not columns or len(columns[-1]) + len(note) > rows:
                columns.append([])
            columns[-1] += note
        if len(columns) <= most:
            return columns
        rows += 1
