"""Room for the words of a drawing: no label on another, none on a branch."""

from collections.abc import Iterator, Sequence
from math import cos, pi, sin

from msgspec import Struct

from bom.show.drawing.place import Point

FONT_MM = 2.6
"""Height of the letters on paper."""

LINE_MM = 3.3
_WIDE = 0.56  # of a letter's height: broader than the mean of a serif face, so that boxes hold
_GAP_MM = 0.6
_STEP_MM = 1.5
_TURNS = 24
_WITHIN_REACH = 40 * _TURNS
_ON_A_PAGE = 120 * _TURNS
_CLOSE_MM = 2 * FONT_MM


class Words(Struct, frozen=True, kw_only=True):
    """Lines of text that belong to a place on the sheet, in mm."""

    lines: tuple[str, ...]
    at: Point
    bold: bool = False


class Box(Struct, frozen=True):
    """Text with the room it takes: left, top, right and bottom in mm; y goes down."""

    words: Words
    left: float
    top: float
    right: float
    bottom: float

    @property
    def lead(self) -> tuple[Point, Point] | None:
        """From its place to its nearest edge, where that is not close by."""
        x, y = self.words.at
        near = (min(max(x, self.left), self.right), min(max(y, self.top), self.bottom))
        far = abs(near[0] - x) + abs(near[1] - y) > _CLOSE_MM
        return (self.words.at, near) if far else None

    def on(self, other: "Box") -> bool:
        """Whether two boxes lie on each other."""
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)

    def crossed_by(self, start: Point, finish: Point) -> bool:
        """Whether a straight line goes through."""
        return self.clipped(start, finish) is not None

    def clipped(self, start: Point, finish: Point) -> tuple[Point, Point] | None:
        """The part of a straight line inside (Liang and Barsky's clipping), None for none."""
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
        half = stroke.wide_mm / 2
        edges = (self.left - half, self.top - half, self.right + half, self.bottom + half)
        return Box(self.words, *edges).crossed_by(stroke.start, stroke.finish)

    def holds(self, other: "Box") -> bool:
        """Whether the other lies inside."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.top <= other.top and other.bottom <= self.bottom


class Stroke(Struct, frozen=True):
    """A straight line as it is drawn."""

    start: Point
    finish: Point
    wide_mm: float


def width_mm(text: str) -> float:
    """How wide a line of text is at the most, about."""
    return len(text) * _WIDE * FONT_MM


def set_out(
    words: Sequence[Words], lines: Sequence[Stroke], within: Box | None = None
) -> list[Box]:
    """A box for each, as near to its place as there is room, in the order given.

    The thin line from a box to its place keeps clear of other labels too, as long as there is
    room for that within reach.  `within` is the page to stay on: what finds no room there is
    left out; without one there is always room.
    """
    boxes: list[Box] = []
    leads: list[tuple[Point, Point]] = []
    for word in words:
        box = _room(word, boxes, lines, leads, within)
        if box is None:
            continue
        boxes.append(box)
        if box.lead:
            leads.append(box.lead)
    return boxes


def _room(
    word: Words,
    boxes: Sequence[Box],
    lines: Sequence[Stroke],
    leads: Sequence[tuple[Point, Point]],
    within: Box | None,
) -> Box | None:
    """The nearest place that is free; far off only what must be."""
    for number, box in enumerate(_tries(word)):
        if within and number > _ON_A_PAGE:
            break
        if (within and not within.holds(box)) or not _free(box, boxes, lines):
            continue
        lead = box.lead
        clear = not lead or not any(other.crossed_by(*lead) for other in boxes)
        if number > _WITHIN_REACH or (clear and not any(box.crossed_by(*ln) for ln in leads)):
            return box
    return None


def _free(box: Box, boxes: Sequence[Box], lines: Sequence[Stroke]) -> bool:
    return not any(map(box.on, boxes)) and not any(map(box.touched_by, lines))


def _tries(words: Words) -> Iterator[Box]:
    """Boxes round about a place, farther and farther off; the sheet has no end."""
    wide = max(map(width_mm, words.lines), default=0.0) + 2 * _GAP_MM
    high = LINE_MM * len(words.lines) + 2 * _GAP_MM
    distance = _GAP_MM
    while True:
        for turn in range(_TURNS):
            angle = pi / 2 + 2 * pi * turn / _TURNS
            x = words.at[0] + (distance + wide / 2) * cos(angle) - wide / 2
            y = words.at[1] - (distance + high / 2) * sin(angle) - high / 2
            yield Box(words, x, y, x + wide, y + high)
        distance += _STEP_MM
