"""Room for the words of a drawing: no label on another, none on a branch."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise, product
from math import ceil, cos, floor, hypot, inf, pi, sin
from textwrap import wrap
from typing import Generic, TypeAlias, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from bom.show.drawing.place import Point

FONT_MM = 3.9
"""Size of the letters on paper: capitals are 0.645 of it in our face, 2.5 mm high."""

LINE_MM = 4.7
_WIDE = 0.56  # of a letter's size: broader than the mean of a serif face, so that boxes hold
_BROADER = dict.fromkeys("mwMW@%", 0.4)  # by so much more of the size
_CAPITAL = 0.15
_GAP_MM = 0.6
_STEP_MM = 2.2
_ANGLES = [pi / 2 + 2 * pi * turn / 24 for turn in range(24)]
_ROUND = [(cos(angle), -sin(angle)) for angle in _ANGLES]
"""The directions in which room is sought, from straight up round to the left."""
_REACH_MM = 60
_BESIDE_MM = 25  # farther off nobody sees what long words belong to: a key does better
_PAGE_MM = 180  # nothing on a page is farther off
_CLOSE_MM = 2 * FONT_MM
_SQUARE_MM = 20  # about as large as a label

T = TypeVar("T")
Lead: TypeAlias = tuple[Point, Point]
"""A thin line from the place that words belong to."""
Room: TypeAlias = tuple[float, float, float, float]
"""Left, top, right and bottom in mm."""


class Words(Struct, frozen=True, kw_only=True):
    """Lines of text that belong to a place on the sheet, in mm."""

    lines: tuple[str, ...]
    at: Point
    bold: int = 0
    """So many of its lines are printed in bold."""
    short: tuple[str, ...] = ()
    """What stands there instead where all of it finds no room close by; `key` says the rest."""
    key: str = ""
    """What is told at the foot of the sheet, under a number."""

    def numbered(self, number: int) -> "Words":
        """The short lines with the number of the key."""
        return replace(self, lines=(*self.lines[:-1], f"{self.lines[-1]} {number}"))


class Box(Struct, frozen=True):
    """Text with the room it takes: left, top, right and bottom in mm; y goes down."""

    words: Words
    left: float
    top: float
    right: float
    bottom: float

    @property
    def is_keyed(self) -> bool:
        """Whether its short words stand there, and the rest at the foot."""
        return bool(self.words.key) and not self.words.short

    @property
    def room(self) -> Room:
        """Its edges."""
        return self.left, self.top, self.right, self.bottom

    @property
    def lead(self) -> Lead | None:
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

    def clipped(self, start: Point, finish: Point) -> Lead | None:
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

    def holds(self, other: "Box") -> bool:
        """Whether the other lies inside."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.top <= other.top and other.bottom <= self.bottom


class Stroke(Struct, frozen=True):
    """A straight line as it is drawn."""

    start: Point
    finish: Point
    wide_mm: float

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


def set_out(
    words: Sequence[Words], lines: Iterable[Stroke], within: Box | None = None
) -> list[Box]:
    """A box for each, as near to its place as there is room, in the order given.

    The thin line from a box to its place keeps clear of other labels too, as long as there is
    room for that within reach.  `within` is the page to stay on: what finds no room there is
    left out; without one there is always room.
    """
    sheet = _Occupied(lines if words else ())
    placed = (sheet.take(word, within) for word in words)
    return [box for box in placed if box]


class _Near(Generic[T]):
    """What lies near a place, found by squares of the sheet: the rest is not looked at."""

    def __init__(self) -> None:
        self._on: dict[tuple[int, int], list[T]] = defaultdict(list)

    def put(self, thing: T, room: Room) -> None:
        for square in _squares(room):
            self._on[square].append(thing)

    def of(self, room: Room) -> Iterator[T]:
        """All that may touch a room, some of it twice."""
        for square in _squares(room):
            yield from self._on.get(square, ())


def _squares(room: Room) -> Iterator[tuple[int, int]]:
    left, top, right, bottom = room
    across = range(floor(left / _SQUARE_MM), floor(right / _SQUARE_MM) + 1)
    return product(across, range(floor(top / _SQUARE_MM), floor(bottom / _SQUARE_MM) + 1))


class _Occupied:
    """What has its place on a sheet already."""

    def __init__(self, lines: Iterable[Stroke]) -> None:
        self._taken = _Near[Stroke | Box]()
        self._boxes = _Near[Box]()
        self._leads = _Near[Lead]()
        self._in_the_way: Stroke | Box | None = None
        for line in lines:
            for room in _along(line):
                self._taken.put(line, room)

    def take(self, words: Words, within: Box | None) -> Box | None:
        """The nearest place that is free, taken; far off only what must be."""
        most_mm = _BESIDE_MM if words.short else _PAGE_MM if within else inf
        for off_mm, box in _tries(words) if words.lines else ():
            if off_mm > most_mm:
                break
            if (within and not within.holds(box)) or not self._is_free(box):
                continue
            lead = box.lead
            if off_mm > _REACH_MM or self._is_clear(box, lead):
                self._taken.put(box, box.room)
                self._boxes.put(box, box.room)
                if lead:
                    self._leads.put(lead, _about(*lead))
                return box
        if words.short:
            return self.take(replace(words, lines=words.short, short=()), within)
        return None

    def _is_free(self, box: Box) -> bool:
        """Whether nothing is in the way; what was in the way of the last box is so most often."""
        if self._in_the_way and self._in_the_way.on(box):
            return False
        self._in_the_way = next((one for one in self._taken.of(box.room) if one.on(box)), None)
        return not self._in_the_way

    def _is_clear(self, box: Box, lead: Lead | None) -> bool:
        """Whether its thin line crosses no other words, and no other thin line it."""
        if lead and any(other.crossed_by(*lead) for other in self._boxes.of(_about(*lead))):
            return False
        return not any(box.crossed_by(*other) for other in self._leads.of(box.room))


def _along(line: Stroke) -> Iterator[Room]:
    """The rooms of its pieces, so that a long slant is not in every square about it."""
    (x1, y1), (x2, y2) = line.start, line.finish
    pieces = ceil(hypot(x2 - x1, y2 - y1) / (2 * _SQUARE_MM)) or 1
    stops = [(x1 + (x2 - x1) * n / pieces, y1 + (y2 - y1) * n / pieces) for n in range(pieces + 1)]
    return (_about(here, there, line.wide_mm / 2) for here, there in pairwise(stops))


def _about(start: Point, finish: Point, half_mm: float = 0.0) -> Room:
    """The room that a line of some width lies in."""
    (x1, y1), (x2, y2) = start, finish
    left, top, right, bottom = min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)
    return left - half_mm, top - half_mm, right + half_mm, bottom + half_mm


def _tries(words: Words) -> Iterator[tuple[float, Box]]:
    """Boxes round about a place, farther and farther off; the sheet has no end."""
    wide = max(map(width_mm, words.lines), default=0.0) + 2 * _GAP_MM
    high = LINE_MM * len(words.lines) + 2 * _GAP_MM
    off_mm = _GAP_MM
    while True:
        for across, down in _ROUND:
            x = words.at[0] + (off_mm + wide / 2) * across - wide / 2
            y = words.at[1] + (off_mm + high / 2) * down - high / 2
            yield off_mm, Box(words, x, y, x + wide, y + high)
        off_mm += max(_STEP_MM, off_mm / 8)  # the farther, the less it matters where
