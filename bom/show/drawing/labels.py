"""Room for the words of a drawing: no label on another, none on a branch, each by its own.

What stands close to its branch, and nearer to it than to any other, needs no more; from all else
a thin line goes to the branch, clear of other words and as far as may be of other branches.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise, product
from math import atan2, ceil, cos, floor, hypot, inf, pi, radians, sin
from typing import Generic, NamedTuple, TypeVar

from msgspec.structs import replace

from bom.show.drawing.boxes import FONT_MM, LINE_MM, Box, Room, Stroke, Words, width_mm
from bom.show.drawing.lines import Line, Point, cross, off_line_mm

GAP_MM = 0.6
_STEP_MM = 2.2
_BESIDE = radians(50)
"""A name so near to a branch's direction takes the room of what is said of the branch."""
_OFFS_MM = (GAP_MM, 1.4, 3.0)
_REACH_MM = 40
_FAR_MM = 60  # so far off nobody looks
_BESIDE_MM = 35  # farther off nobody sees what long words belong to: a key does better
_PAGE_MM = 180  # nothing on a page is farther off
_CLOSE_MM = 2 * FONT_MM
_PLAIN_MM = 1.0  # by so much nearer than the next branch it is seen which one is meant
_SEEN_MM = 6.0  # where a thin line must have come away from the branches about its start
_HIGH = 0.6  # of its width: a sheet on its side is about so high
_AGAIN = 1
_FEW = 2  # of more it is the sheet that is too small
_SQUARE_MM = 20  # about as large as a label

T = TypeVar("T")


class _HowClosely(NamedTuple):
    """Where room is sought: how many directions, and which parts of a branch."""

    turns: int
    along: tuple[float, ...]
    """Where a branch's words may stand beside it, its middle first."""
    leads_from: tuple[float, ...]
    """Where a thin line may come from."""
    farther: float
    """The next try is farther off by this share."""

    def directions(self, is_high: bool) -> list[float]:
        """First those in which the sheet has more room: beside what is high, else above."""
        every = (pi / 2 + 2 * pi * turn / self.turns for turn in range(self.turns))
        off = sin if is_high else cos
        return sorted(every, key=lambda angle: round(abs(off(angle)), 6))


_QUICK = _HowClosely(16, (0.5, 0.35, 0.65, 0.2, 0.8), (0.6, 0.35), 1 / 3)
_CLOSELY = _HowClosely(
    24, (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9), (0.5, 0.3, 0.7, 0.15, 0.85), 1 / 8
)
"""What takes long: for the few that found no room."""


def set_out(
    words: Sequence[Words], lines: Iterable[Stroke], within: Box | None = None
) -> list[Box]:
    """A box for each, as near to its place as there is room, in the order given.

    `within` is the page to stay on: what finds no room there is left out; without one there is
    always room.  What found none as it should is put out first in another go.
    """
    strokes = list(lines) if words else []
    placed, left = _placed(words, strokes, within, ())
    first, least = dict.fromkeys(left), len(left)
    for _ in range(_AGAIN):
        if within or not 0 < least <= _FEW:
            break
        other, left = _placed(words, strokes, within, (*first,))
        if len(left) < least:
            placed, least = other, len(left)
        first = dict.fromkeys((*left, *first))
    return [box for box in placed if box]


def _placed(
    words: Sequence[Words], strokes: Sequence[Stroke], within: Box | None, first: Sequence[int]
) -> tuple[list[Box | None], list[int]]:
    """Their boxes, and which of them found no room as it should be; those given come first."""
    sheet = _Occupied(strokes, words, _CLOSELY if first else _QUICK)
    boxes: list[Box | None] = [None] * len(words)
    left = []
    for number in (*first, *(n for n in range(len(words)) if n not in first)):
        boxes[number], is_good = sheet.take(words[number], within)
        if not is_good:
            left.append(number)
    return boxes, left


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

    def __init__(
        self, lines: Iterable[Stroke], words: Iterable[Words], search: _HowClosely
    ) -> None:
        self.search = search
        lines = [*lines]
        xs, ys = ([end[n] for line in lines for end in line.line] for n in (0, 1))
        is_high = bool(lines) and max(ys) - min(ys) > _HIGH * (max(xs) - min(xs))
        self.directions = search.directions(is_high)
        self._things = _Near[Stroke | Box]()
        self._strokes = _Near[Stroke]()
        self._boxes = _Near[Box]()
        self._leads = _Near[Line]()
        self._points = _Near[Point]()
        self._in_the_way: Stroke | Box | None = None
        self._turned: dict[Point, list[float]] = defaultdict(list)
        for line in lines:
            for room in _along(line):
                self._things.put(line, room)
                self._strokes.put(line, room)
            for here, there in ((line.start, line.finish), (line.finish, line.start)):
                self._turned[here].append(atan2(here[1] - there[1], there[0] - here[0]))
        for word in words:
            if word.to is None:
                self._points.put(word.at, (*word.at, *word.at))

    def take(self, words: Words, within: Box | None) -> tuple[Box | None, bool]:
        """The best place that is free, taken, and whether it is as it should be."""
        for said, most_mm, clear in _ways(words, within):
            for off_mm, start, box in self._tries(said) if said.lines else ():
                if off_mm > most_mm:
                    break
                if (within and not within.holds(box)) or not self._is_free(box):
                    continue
                found = box if off_mm > _FAR_MM else self._told_apart(box, start, clear)
                if found:
                    return self._put(found), clear
        return None, False

    def _tries(self, words: Words) -> Iterator["_Try"]:
        if words.to is None:
            return _about_them(words, [words.at], self._directions(words.at), GAP_MM, self.search)
        return (
            _on(words, self.search) if words.is_on else _beside(words, self.search, self.directions)
        )

    def _directions(self, point: Point) -> list[float]:
        """Where a point's name may stand: not along its branches, if there is room elsewhere."""
        turned = self._turned.get(point, [])

        def is_beside(angle: float) -> bool:
            return any(abs((angle - turn + pi) % (2 * pi) - pi) < _BESIDE for turn in turned)

        return sorted(self.directions, key=is_beside)

    def _put(self, box: Box) -> Box:
        self._things.put(box, box.room)
        self._boxes.put(box, box.room)
        if box.lead:
            self._leads.put(box.lead, _about(*box.lead))
        return box

    def _is_free(self, box: Box) -> bool:
        """Whether nothing is in the way; what was in the way of the last box is so most often."""
        if self._in_the_way and self._in_the_way.on(box):
            return False
        things = (one for one in self._things.of(box.room) if one.on(box) and not box.is_on(one))
        self._in_the_way = next(things, None)
        return not self._in_the_way and not any(
            box.crossed_by(*lead) for lead in self._leads.of(box.room)
        )

    def _told_apart(self, box: Box, start: Point, clear: bool) -> Box | None:
        """The box as it is where it is plain what it belongs to, else with a thin line to that."""
        near = box.nearest(start)
        if hypot(near[0] - start[0], near[1] - start[1]) <= _CLOSE_MM and self._is_plain(box):
            return box
        if clear and not self._keeps_off(box):
            return None
        middle = ((box.left + box.right) / 2, (box.top + box.bottom) / 2)
        entry = box.clipped(start, middle)
        leads = ((start, end) for end in (near, *(entry or ())[:1]))
        lead = next((lead for lead in leads if self._is_seen(box, lead, clear)), None)
        return lead and replace(box, lead=lead)

    def _is_seen(self, box: Box, lead: Line, clear: bool) -> bool:
        """Whether a thin line is long enough, on no words, and where it has to be on nothing."""
        (x1, y1), (x2, y2) = lead
        own, room = box.words.line, _about(*lead)
        if hypot(x2 - x1, y2 - y1) < _STEP_MM:
            return False
        if any(other.crossed_by(*lead) for other in self._boxes.of(room)):
            return False
        return not (clear and self._crosses(lead, own, room)) and not self._runs_along(lead, own)

    def _is_plain(self, box: Box) -> bool:
        """Whether all else that it could be taken to belong to is farther off than its own."""
        own = box.words.line
        own_mm = box.apart_mm(*own) + _PLAIN_MM
        room = box.grown(own_mm).room
        if box.words.to is None:
            points = (point for point in self._points.of(room) if point != own[0])
            return all(box.apart_mm(point, point) > own_mm for point in points)
        others = (line for line in self._strokes.of(room) if line.line != own)
        return all(box.apart_mm(*line.line) - line.wide_mm / 2 > own_mm for line in others)

    def _keeps_off(self, box: Box) -> bool:
        """Whether no branch is so near that words with a thin line look as if they were its own."""
        wider = box.grown(_PLAIN_MM)
        return not any(line.on(wider) for line in self._strokes.of(wider.room))

    def _runs_along(self, lead: Line, own: Line) -> bool:
        """Whether a thin line would not be seen beside a branch."""
        (x1, y1), (x2, y2) = lead
        soon = min(0.5, _SEEN_MM / hypot(x2 - x1, y2 - y1))
        ways = ((x1 + share * (x2 - x1), y1 + share * (y2 - y1)) for share in (soon, 0.5))
        return any(
            off_line_mm(spot, line.line) < line.wide_mm / 2 + GAP_MM
            for spot in (lead[1], *ways)
            for line in self._strokes.of((*spot, *spot))
            if spot == lead[1] or line.line != own
        )

    def _crosses(self, lead: Line, own: Line, room: Room) -> bool:
        """Whether a thin line goes over a branch, or over another thin line."""
        if any(cross(lead, other) for other in self._leads.of(room)):
            return True
        return any(cross(lead, ln.line) for ln in self._strokes.of(room) if ln.line != own)


def _ways(words: Words, within: Box | None) -> Iterator[tuple[Words, float, bool]]:
    """What may be said, how far off at the most, and whether a thin line has to be clear."""
    most_mm = _PAGE_MM if within else inf
    if words.short:
        yield words, _BESIDE_MM, True
        words = replace(words, lines=words.short, short=())
        yield words, _REACH_MM, True
        yield words.on_its_branch(), 0, True
    else:
        yield words, _REACH_MM, True
    yield words, most_mm, False


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


def _size(words: Words) -> tuple[float, float]:
    lines = words.numbered(99).lines if words.is_keyed else words.lines
    wide = max(map(width_mm, lines), default=0.0) + 2 * GAP_MM
    return wide, LINE_MM * len(words.lines) + 2 * GAP_MM


_Try = tuple[float, Point, Box]
"""How far off, from where, and the box."""


def _beside(words: Words, search: _HowClosely, directions: Sequence[float]) -> Iterator[_Try]:
    """Boxes that touch a branch's line along it on both sides, then round about it."""
    wide, high = _size(words)
    (x1, y1), (x2, y2) = words.line
    length = hypot(x2 - x1, y2 - y1) or 1.0
    across, down = (y2 - y1) / length, (x1 - x2) / length
    reach = abs(across) * wide / 2 + abs(down) * high / 2
    for off_mm, part, side in product(_OFFS_MM, search.along, (1, -1)):
        place = (x1 + part * (x2 - x1), y1 + part * (y2 - y1))
        out = side * (off_mm + reach)
        x, y = place[0] + out * across - wide / 2, place[1] + out * down - high / 2
        yield off_mm, place, Box(words, x, y, x + wide, y + high)
    from_where = [(x1 + part * (x2 - x1), y1 + part * (y2 - y1)) for part in search.leads_from]
    yield from _about_them(words, from_where, directions, _OFFS_MM[-1], search)


def _on(words: Words, search: _HowClosely) -> Iterator[_Try]:
    """Boxes on a branch's line, which they interrupt."""
    wide, high = _size(words)
    (x1, y1), (x2, y2) = words.line
    for part in search.along:
        place = (x1 + part * (x2 - x1), y1 + part * (y2 - y1))
        x, y = place[0] - wide / 2, place[1] - high / 2
        yield 0, place, Box(words, x, y, x + wide, y + high)


def _about_them(
    words: Words,
    places: Sequence[Point],
    directions: Sequence[float],
    off_mm: float,
    search: _HowClosely,
) -> Iterator[_Try]:
    """Boxes round about places, farther and farther off; the sheet has no end."""
    wide, high = _size(words)
    turns = [(cos(angle), sin(angle)) for angle in directions]
    while True:
        for place, (across, up) in product(places, turns):
            x = place[0] + (off_mm + wide / 2) * across - wide / 2
            y = place[1] - (off_mm + high / 2) * up - high / 2
            yield off_mm, place, Box(words, x, y, x + wide, y + high)
        off_mm += max(_STEP_MM, off_mm * search.farther)  # the farther, the less it matters where
