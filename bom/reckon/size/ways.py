"""What the ways of all loads lose, and which of them a wire is on.

Ways that begin alike share their wires, so that they form trees: what a wire loses counts on a
stretch of them.  Volts are summed as whole numbers, so that the order of rows changes nothing.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence, Set
from typing import NamedTuple

from bom.trade.roads import Road, Step
from bom.trade.wires import STARTER, Supply, WayPart

UNITS_PER_VOLT = 10**15
"""Volts are counted in these: finer than floats tell a wire's loss, and exact in sums."""


def units_of(volts: float) -> int:
    """Volts in whole units."""
    return round(volts * UNITS_PER_VOLT)


class Limit(NamedTuple):
    """A stretch of wires and what it may lose, in volts and in units."""

    stretch: WayPart
    starts: bool
    """It leads to a starter motor."""

    @property
    def volts(self) -> float:
        """What it may lose."""
        return self.stretch.volts


class _Sums:
    """Whole numbers added over stretches of places: a Fenwick tree of their differences."""

    def __init__(self, places: int) -> None:
        self.tree = [0] * (places + 2)

    def add(self, first: int, end: int, units: int) -> None:
        """Add to every place from `first` to before `end`."""
        for place, by in ((first + 1, units), (end + 1, -units)):
            while place < len(self.tree):
                self.tree[place] += by
                place += place & -place

    def at(self, place: int) -> int:
        """The sum at a place."""
        place, total = place + 1, 0
        while place:
            total += self.tree[place]
            place &= place - 1
        return total


class WayLosses:
    """Every stretch that has a limit in volts, each once, and what it loses now, in units."""

    def __init__(self, limits: Sequence[Limit]) -> None:
        self.limits = limits
        self._allowed = [units_of(limit.volts) for limit in limits]
        self._lay_out()
        self._lost = {starts: _Sums(len(self._place)) for starts in (False, True)}
        self.steps: dict[str, list[Step]] = defaultdict(list)
        """The steps of each wire, by its label."""
        for step in self._place:
            self.steps[step.wire].append(step)
        ends = ((road, way) for way, limit in enumerate(limits) for road in limit.stretch[:2])
        self._ends = sorted((self._place[road], way) for road, way in ends if road)
        self._kept: list[tuple[int, int]] | None = self._ends
        self._left_out: Set[int] = frozenset()

    def _lay_out(self) -> None:
        """Give each step a place, in front of the places of all steps behind it."""
        steps: dict[Step, int] = {}
        for limit in self.limits:
            for road in limit.stretch[:2]:
                for step in reversed([*_new(road, steps)]):
                    steps[step] = 1
        for step in reversed(steps):
            if step.before:
                steps[step.before] += steps[step]
        self._place: dict[Step, int] = {}
        free: dict[Road, int] = {None: 0}
        for step, places in steps.items():
            self._place[step] = free[step.before]
            free[step.before] += places
            free[step] = self._place[step] + 1
        self._end = {step: self._place[step] + places for step, places in steps.items()}

    def add(self, wire: str, starts: bool, units: int) -> None:
        """Let a wire lose more, or less, on the ways to starters, or on all others."""
        for step in self.steps.get(wire, ()):
            self._lost[starts].add(self._place[step], self._end[step], units)

    def excess(self, way: int) -> int:
        """By how many units a way is over its limit; below 0 where it keeps it."""
        stretch, starts = self.limits[way]
        sums = self._lost[starts]
        lost = sum(sums.at(self._place[road]) for road in stretch[:2] if road)
        return lost - self._allowed[way]

    def allowed(self, way: int) -> int:
        """What a way may lose, in units."""
        return self._allowed[way]

    def allow(self, ways: Set[int], times: float) -> None:
        """Let ways that no cable keeps lose so many times their limit, and look at them again."""
        for way in ways:
            self._allowed[way] = units_of(self.limits[way].volts * times)
        self.left_out = self.left_out - ways

    @property
    def left_out(self) -> Set[int]:
        """The ways whose limits are not looked at any more."""
        return self._left_out

    @left_out.setter
    def left_out(self, ways: Set[int]) -> None:
        self._left_out = ways
        self._kept = None

    def through(self, wire: str) -> Iterator[int]:
        """The ways that a wire is on, the farthest first: those are over their limits first."""
        return self._among(self._ends, wire)

    def kept_through(self, wire: str) -> Iterator[int]:
        """The same without those that are left out."""
        if self._kept is None:
            self._kept = [end for end in self._ends if end[1] not in self._left_out]
        return self._among(self._kept, wire)

    def _among(self, ends: Sequence[tuple[int, int]], wire: str) -> Iterator[int]:
        for step in self.steps.get(wire, ()):
            first = bisect_left(ends, (self._place[step],))
            end = bisect_left(ends, (self._end[step],))
            yield from (ends[at][1] for at in range(end - 1, first - 1, -1))


def limits_of(supplies: Sequence[Supply], free: Callable[[Road], bool]) -> list[Limit]:
    """Every stretch with a wire whose gauge is free to choose, each once with its least volts."""
    found: dict[tuple[Road, Road, bool], WayPart] = {}
    for supply in supplies:
        for stretch in supply.limits:
            if free(stretch.feed) or free(stretch.back):
                key = (stretch.feed, stretch.back, supply.kind == STARTER)
                known = found.get(key, stretch)
                found[key] = min(known, stretch, key=lambda each: each.volts)
    return [Limit(stretch, starts) for (_, _, starts), stretch in found.items()]


def _new(road: Road, known: dict[Step, int]) -> Iterator[Step]:
    """The steps of a road that are not known yet, the last one first."""
    while road is not None and road not in known:
        yield road
        road = road.before
