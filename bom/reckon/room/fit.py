"""Whether boxes go into one place, square to its walls, each turned as it may be."""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import permutations

from msgspec import Struct

from bom.reckon.room.relations import OutOfSteps, Relations, Stands, volume
from bom.reckon.room.setting_in import SettingIn
from bom.trade.job_book import Sides
from bom.trade.stowing import MOST_PROVED

BY_HAND = 4_000
"""Steps of the first try, a few hundredths of a second: most places are filled by it."""
STARTS, SHORT = 50, 10_000
"""So many times the search begins anew with the boxes turned otherwise, for so many steps: of
8 boxes nearly all that go in are found so."""
PROVING = 800_000
"""Steps of the search that proves: a second or two."""
MOST_TRIED = 12
"""More boxes are set in by hand alone."""


class Fit(Struct, frozen=True):
    """Where each box stands, or None; `proved`: they go in, or go in in no way."""

    stands: Stands | None
    proved: bool
    steps: int = 0
    """What it took to find out."""


@lru_cache(maxsize=1_000)  # asked again by each run of a job, and by what is left out
def fit(place: Sides, boxes: tuple[Sides, ...], upright: frozenset[int] = frozenset()) -> Fit:
    """Set boxes into an empty place; the largest ones are best told first.

    `upright` are the numbers of those whose third side is their height and stays so.
    """
    ways = [_ways(box, place, number in upright) for number, box in enumerate(boxes)]
    if not all(ways) or sum(map(volume, boxes)) > volume(place):
        return Fit(None, True)
    found = SettingIn(place, ways, BY_HAND).stands()
    return Fit(found, True) if found else _searched(place, ways)


def _ways(box: Sides, place: Sides, upright: bool) -> tuple[Sides, ...]:
    """The ways in which a box goes into an empty place: upright first, and as it is typed."""
    ways = {(a, b, c) for a, b, c in permutations(box) if c == box[2] or not upright}
    going = [w for w in ways if all(s <= p for s, p in zip(w, place, strict=True))]
    return tuple(sorted(going, key=lambda way: (way[2] != box[2], way != box, way)))


def _searched(place: Sides, ways: Sequence[Sequence[Sides]]) -> Fit:
    """The search that proves, after starts that find more; of more boxes nothing is proved."""
    starts = [(turned, SHORT) for turned in _otherwise(ways)] if len(ways) <= MOST_TRIED else []
    proving = [(ways, PROVING)] if len(ways) <= MOST_PROVED else []
    taken = 0
    for turned, steps in (*starts, *proving):
        search = Relations(place, turned, steps)
        try:
            return Fit(search.stands(), True, taken + steps - search.steps)
        except OutOfSteps:
            taken += steps
    return Fit(None, False, taken)


def _otherwise(ways: Sequence[Sequence[Sides]]) -> Iterator[Sequence[Sequence[Sides]]]:
    """The boxes with another way first each time, as dice would have it: the same dice always."""
    dice = 1
    for _ in range(STARTS):
        turned = []
        for each in ways:
            dice = dice * 48271 % 0x7FFFFFFF  # Park and Miller, Communications of the ACM 36, 1993
            first = dice % len(each)
            turned.append((*each[first:], *each[:first]))
        yield turned
