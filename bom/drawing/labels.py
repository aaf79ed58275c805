"""Room for the words of a drawing: no label on another, none on a branch."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import cos, pi, sin

Point = tuple[float, float]

FONT_MM = 2.6
"""Height of the letters on paper."""

LINE_MM = 3.3
_WIDE = 0.56  # of a letter's height: broader than the mean of a serif face, so that boxes hold
_GAP_MM = 0.6
_STEP_MM = 1.5
_TURNS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Lines of text that belong to a place on the sheet, in mm."""

    lines: tuple[str, ...]
    at: Point
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """Text with the room it takes: left, top, right and bottom in mm; y goes down."""

    words: Words
    left: float
    top: float
    right: float
    bottom: float

    def on(self, other: "Box") -> bool:
        """Whether two boxes lie on each other."""
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)

    def crossed_by(self, start: Point, finish: Point) -> bool:
        """Whether a straight line goes through (Liang and Barsky's clipping)."""
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
                    return False
            elif step < 0:
                first = max(first, room / step)
            else:
                last = min(last, room / step)
        return first < last


def width_mm(text: str) -> float:
    """How wide a line of text is at the most, about."""
    return len(text) * _WIDE * FONT_MM


def set_out(words: Sequence[Words], lines: Sequence[tuple[Point, Point]]) -> list[Box]:
    """A box for each, as near to its place as there is room, in the order given."""
    boxes: list[Box] = []
    for word in words:
        boxes.append(next(box for box in _tries(word) if _free(box, boxes, lines)))
    return boxes


def _free(box: Box, boxes: Sequence[Box], lines: Sequence[tuple[Point, Point]]) -> bool:
    return not any(map(box.on, boxes)) and not any(box.crossed_by(*line) for line in lines)


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
