"""Whether boxes go into a place at all: each two of them stand apart along some axis.

Decided box by box: how it is turned, and along which axis it stands apart from each one before
it (after Fekete and Schepers, "A combinatorial characterization of higher-dimensional orthogonal
packing", Mathematics of Operations Research 29, 2004).  Boxes that all stand apart along an axis
lie in a row, which must not be longer than the place.  Boxes that all overlap along an axis are
met by one plane across it: their sections must not be larger than the place's.  Which of two is
the first along an axis is settled last.
"""

from collections.abc import Iterator, Sequence
from typing import TypeAlias

from bom.trade.job_book import Sides

AXES = (0, 1, 2)
Stands: TypeAlias = tuple[tuple[Sides, Sides], ...]
"""Corner and sides of each box as it stands."""


class OutOfSteps(Exception):
    """The search took all the steps it may: whether the boxes go in is not known."""


class Relations:
    """The search for one place; `ways` are those in which each box may be turned.

    `steps` is how many it may still take: it is counted, not timed, so that the answer is the
    same on every machine.  Sets of boxes are the bits of a number.
    """

    def __init__(self, place: Sides, ways: Sequence[Sequence[Sides]], steps: int) -> None:
        self.place = place
        self.ways = ways
        self.steps = steps
        self.turned: list[Sides] = []
        number = len(ways)
        self.alike = [n > 0 and {*ways[n]} == {*ways[n - 1]} for n in range(number)]
        self.long = [[0] * number for _ in AXES]
        self.section = [[0] * number for _ in AXES]
        self.apart = [[0] * number for _ in AXES]
        self.over = [[0] * number for _ in AXES]

    def stands(self) -> Stands | None:
        """Where each box stands; None where they do not go in.  Raises `OutOfSteps`."""
        return self._turn(0)

    def _step(self) -> None:
        self.steps -= 1
        if self.steps < 0:
            raise OutOfSteps

    def _turn(self, new: int) -> Stands | None:
        """The boxes from `new` on, turned in each way and set apart from those before."""
        if new == len(self.ways):
            return self._set_down()
        for way in self.ways[new]:
            if self._is_met_before(new, way):
                continue
            for axis in AXES:
                self.long[axis][new] = way[axis]
                self.section[axis][new] = _section(way, axis)
            free = [len(self._free_axes(new, other)) for other in range(new)]
            if all(free):
                self.turned.append(way)
                found = self._set_apart(new, sorted(range(new), key=free.__getitem__))
                self.turned.pop()
                if found:
                    return found
        return None

    def _is_met_before(self, new: int, way: Sides) -> bool:
        """True where a box and the one before it, alike, would change places in what was tried."""
        return self.alike[new] and way < self.turned[-1]

    def _free_axes(self, one: int, other: int) -> list[int]:
        """The axes along which two boxes may stand apart."""
        return [a for a in AXES if self.long[a][one] + self.long[a][other] <= self.place[a]]

    def _set_apart(self, new: int, others: Sequence[int]) -> Stands | None:
        """The new box apart from each of the others, then the next box.

        Along the axes before the one along which two stand apart they overlap, so that no
        arrangement is met twice.
        """
        if not others:
            return self._turn(new + 1)
        other, rest = others[0], others[1:]
        free = self._free_axes(new, other)
        overlapping: list[int] = []
        found = None
        for axis in sorted(AXES, key=free.__contains__):
            self._step()
            if axis in free and self._may_stand_apart(axis, new, other):
                _mark(self.apart[axis], new, other)
                found = self._set_apart(new, rest)
                _mark(self.apart[axis], new, other)
            if found or not self._may_overlap(axis, new, other):
                break
            _mark(self.over[axis], new, other)
            overlapping.append(axis)
        for axis in overlapping:
            _mark(self.over[axis], new, other)
        return found

    def _may_stand_apart(self, axis: int, new: int, other: int) -> bool:
        apart, over, long = self.apart[axis], self.over[axis], self.long[axis]
        left = self.place[axis] - long[new] - long[other]
        if _is_too_much(apart, long, apart[new] & apart[other], left):
            return False
        both = over[new] & over[other]
        return not any(apart[one] & both for one in _members(both))

    def _may_overlap(self, axis: int, new: int, other: int) -> bool:
        apart, over, section = self.apart[axis], self.over[axis], self.section[axis]
        left = _section(self.place, axis) - section[new] - section[other]
        if _is_too_much(over, section, over[new] & over[other], left):
            return False
        # four intervals that overlap in a ring, and not across it: there are none
        ends = _members(over[other] & apart[new])
        return not any(over[one] & over[new] & apart[other] for one in ends)

    def _set_down(self) -> Stands | None:
        """The boxes where they stand, as near to the corner as they may."""
        starts = [self._in_line(axis) for axis in AXES]
        if not all(starts):
            return None
        return tuple(zip(zip(*starts, strict=True), self.turned, strict=True))

    def _in_line(self, axis: int) -> list[int]:
        """Where each box begins along an axis; empty where those apart lie in no order."""
        starts = [0] * len(self.ways)
        return starts if self._next_in_line(axis, starts, (1 << len(starts)) - 1) else []

    def _next_in_line(self, axis: int, starts: list[int], waiting: int) -> bool:
        long, apart = self.long[axis], self.apart[axis]
        for one in _members(waiting):
            self._step()
            before = _members(apart[one] & ~waiting)
            starts[one] = max((starts[each] + long[each] for each in before), default=0)
            if starts[one] + long[one] <= self.place[axis] and self._next_in_line(
                axis, starts, waiting ^ (1 << one)
            ):
                return True
        return not waiting


def volume(sides: Sides) -> int:
    """In cubic mm."""
    return sides[0] * sides[1] * sides[2]


def _section(sides: Sides, axis: int) -> int:
    """The area across an axis."""
    return sides[axis - 1] * sides[axis - 2]


def _mark(marks: list[int], one: int, other: int) -> None:
    """Note that two boxes stand so, or take it back."""
    marks[one] ^= 1 << other
    marks[other] ^= 1 << one


def _members(bits: int) -> Iterator[int]:
    while bits:
        lowest = bits & -bits
        yield lowest.bit_length() - 1
        bits ^= lowest


def _is_too_much(joined: Sequence[int], weights: Sequence[int], among: int, left: int) -> bool:
    """True where boxes among these that are all joined weigh more than is left."""
    if left < 0:
        return True
    while among:
        one = among.bit_length() - 1
        among ^= 1 << one
        if _is_too_much(joined, weights, among & joined[one], left - weights[one]):
            return True
    return False
