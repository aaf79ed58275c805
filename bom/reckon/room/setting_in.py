"""Boxes set into a place one after the other, as by hand: into the lowest free corner first.

There the largest box is tried first, in each way that it may be turned.  What fills a place
without a gap is found so; a few corners may be left empty on purpose.
"""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from itertools import product

from bom.reckon.room.relations import AXES, OutOfSteps, Stands, volume
from bom.trade.job_book import Sides

SPARED = 3
"""So many corners are left empty on purpose, at the most: more is for the search that proves."""
MOST_TIGHT = 20
"""So many times the steps go to the round in which no more volume is lost than there is to spare:
where there is none, or little, that round finds what no other does."""


class SettingIn:
    """The search for one place; `steps` is how often it may look whether a box goes to a corner.

    So many are for each number of corners that are spared.
    """

    def __init__(self, place: Sides, ways: Sequence[Sequence[Sides]], steps: int) -> None:
        self.place = place
        self.ways = ways
        self.steps = steps
        self.left = 0
        self.set_in: dict[int, tuple[Sides, Sides]] = {}
        self.spare_mm3 = volume(place) - sum(volume(way) for way, *_ in ways)

    def stands(self) -> Stands | None:
        """Where each box stands; None where no room was found for one."""
        rounds = [(n, volume(self.place), 1) for n in range(SPARED + 1)]
        for spared, lost_mm3, share in ((SPARED, self.spare_mm3, MOST_TIGHT), *rounds):
            self.left = self.steps * share
            self.set_in.clear()
            with suppress(OutOfSteps):
                if self._next((0, 0, -1), spared, lost_mm3):
                    return tuple(self.set_in[number] for number in range(len(self.ways)))
        return None

    def _next(self, last: Sides, spared: int, lost_mm3: int) -> bool:
        """Set in what waits; False where that cannot be done behind the corner `last`.

        A corner where nothing is set stays empty: of the volume so much may be lost so.
        """
        waiting = [n for n in range(len(self.ways)) if n not in self.set_in]
        for corner, free_mm3 in self._free_corners(last) if waiting else ():
            goes = False
            for number, way in self._to_try(waiting):
                if self._is_free(corner, way):
                    goes = True
                    self.set_in[number] = (corner, way)
                    if self._next(corner, spared, lost_mm3):
                        return True
                    del self.set_in[number]
            spared -= goes
            lost_mm3 -= free_mm3
            if spared < 0 or lost_mm3 < 0:
                return False
        return not waiting

    def _to_try(self, waiting: Sequence[int]) -> Iterator[tuple[int, Sides]]:
        """Each box that waits in each way, one of those that are alike."""
        first_of = {self.ways[number]: number for number in reversed(waiting)}
        for number in sorted(first_of.values()):
            yield from ((number, way) for way in self.ways[number])

    def _free_corners(self, last: Sides) -> Iterator[tuple[Sides, int]]:
        """Where a box may have its corner behind the last, from the floor up, from the back.

        Each with the volume up to the next ends of boxes that stand there.
        """
        xs, ys, zs = (
            sorted({0, *(corner[a] + sides[a] for corner, sides in self.set_in.values())})
            for a in AXES
        )
        to_x, to_y, to_z = (
            dict(zip(ends, (*ends[1:], side), strict=True))
            for ends, side in zip((xs, ys, zs), self.place, strict=True)
        )
        for z, y, x in product(zs, ys, xs):
            if (z, y, x) > (last[2], last[1], last[0]) and self._is_free((x, y, z), (1, 1, 1)):
                yield (x, y, z), (to_x[x] - x) * (to_y[y] - y) * (to_z[z] - z)

    def _is_free(self, corner: Sides, sides: Sides) -> bool:
        self.left -= 1
        if self.left < 0:
            raise OutOfSteps
        x, y, z = corner
        right, front, top = x + sides[0], y + sides[1], z + sides[2]
        if right > self.place[0] or front > self.place[1] or top > self.place[2]:
            return False
        return all(
            right <= a or a + w <= x or front <= b or b + d <= y or top <= c or c + h <= z
            for (a, b, c), (w, d, h) in self.set_in.values()
        )
