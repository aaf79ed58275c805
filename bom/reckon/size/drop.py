"""Thicker where a way loses too many volts: the wire first that gains most for its money."""

import heapq
from collections import defaultdict
from collections.abc import Callable

from bom.reckon.size.choice import DUST, Choice
from bom.reckon.size.ways import units_of
from bom.trade.roads import Along

WAY = "way"
"""What raised a wire."""
_MOST_WAYS = 50
"""So many ways are looked at together, the worst first: along a chain the others follow them."""
_TIMES = (1.25, 1.5, 2, 2.5, 3, 4, 6, 8)
"""So many times its limit a way may lose that keeps it in no cable."""


def raise_for_drop(choice: Choice, raised: dict[int, str]) -> None:
    """While a way is over its limit, raise the wire that gains most for its money.

    A way that the largest fitting cables do not keep is held to a quarter more, else to half as
    much again and so on: it is no reason for thin ones.  What keeps none of them is left out.  The
    checks tell it in either case.
    """
    ways = range(len(choice.ways.limits))
    _raise_all(choice, raised, {way for way in ways if _is_over(choice, way)})
    for times in _TIMES:
        lost = choice.ways.left_out
        again = {*heapq.nsmallest(_MOST_WAYS, lost, key=lambda way: _rank(choice, way))}
        choice.ways.allow(again, times)
        _raise_all(choice, raised, {way for way in again if _is_over(choice, way)})


def _raise_all(choice: Choice, raised: dict[int, str], over: set[int]) -> None:
    least = {starts: _least(choice, starts) for starts in (False, True)}
    waiting = [way for way in sorted(over) if _can_be_kept(choice, way, least)]
    lost = choice.ways.left_out | over.difference(waiting)
    while waiting:
        worst = heapq.nsmallest(_MOST_WAYS, waiting, key=lambda way: _rank(choice, way))
        later = set(waiting).difference(worst)
        choice.ways.left_out = lost | later
        _Raise(choice, raised, worst).until_all_keep()
        lost = choice.ways.left_out - later
        waiting = [way for way in waiting if way in later and _is_over(choice, way)]
    choice.ways.left_out = lost


def _is_over(choice: Choice, way: int) -> bool:
    return choice.ways.excess(way) > units_of(DUST)


def _least(choice: Choice, starts: bool) -> Along[int]:
    """The least that roads can lose, in units."""

    def further(units: int, label: str) -> int:
        number = choice.number[label]
        return units + choice.lost(number, starts, len(choice.tasks[number].cables) - 1)

    return Along(0, further)


def _can_be_kept(choice: Choice, way: int, least: dict[bool, Along[int]]) -> bool:
    stretch, starts = choice.ways.limits[way]
    lost = least[starts](stretch.feed) + least[starts](stretch.back)
    return lost <= choice.ways.allowed(way) + units_of(DUST)


def _rank(choice: Choice, way: int) -> tuple[float, list[int]]:
    limit = choice.ways.limits[way]
    ends = [choice.number[road.wire] for road in limit.stretch[:2] if road]
    return -choice.ways.excess(way) / limit.volts, ends


class _Raise:
    """Some ways that are over their limits, and by how many units."""

    def __init__(self, choice: Choice, raised: dict[int, str], ways: list[int]) -> None:
        self.choice = choice
        self.raised = raised
        self.over = {way: choice.ways.excess(way) for way in ways}
        self.numbers = {
            way: [choice.number[label] for label in choice.ways.limits[way].stretch.wires]
            for way in ways
        }
        self.through: dict[int, list[int]] = defaultdict(list)
        for way, numbers in self.numbers.items():
            for number in numbers:
                self.through[number].append(way)

    def until_all_keep(self) -> None:
        """Raise what gains most; a way that cannot be kept so is begun anew, or left out."""
        self._raise_by(self._gain)
        for way in sorted(self.over, key=self.numbers.__getitem__):
            if not self._once_more(way):
                self.choice.ways.left_out |= {way}

    def _raise_by(self, score: Callable[[int], float]) -> None:
        """Raise the wire with the highest score until no way is over, or none can rise."""
        choice = self.choice
        heap = [(-best, n) for n in self.through if (best := score(n))]
        heapq.heapify(heap)
        while self.over and heap:
            _, number = heapq.heappop(heap)
            best = score(number)  # what others gained meanwhile only makes it less
            if not best:
                continue
            if heap and (-best, number) > heap[0]:
                heapq.heappush(heap, (-best, number))
                continue
            self._look_again(number)
            choice.put(number, choice.at[number] + 1)
            self.raised[number] = WAY
            heapq.heappush(heap, (-score(number), number))

    def _once_more(self, way: int) -> bool:
        """Begin a way anew, the longest wires first: short cheap ones had filled its terminals."""
        choice, numbers = self.choice, self.numbers[way]
        if len(numbers) > _MOST_WAYS:
            return False
        before = {n: choice.at[n] for n in numbers}
        for n in numbers:
            choice.put(n, 0)
        alone = _Raise(choice, self.raised, [way])
        alone._raise_by(alone._volts_gained)
        if all(choice.keeps(n) for n in numbers):
            return True
        for n, index in before.items():
            choice.put(n, index)
        return False

    def _volts_gained(self, number: int) -> float:
        """What the next cable of a task gains, where a way is over."""
        return self._gained(number, True) if self.over and self.choice.can_rise(number) else 0.0

    def _gained(self, number: int, starts: bool) -> int:
        choice = self.choice
        return choice.lost(number, starts) - choice.lost(number, starts, choice.at[number] + 1)

    def _gain(self, number: int) -> float:
        """What the next cable of a task gains on all ways that are over, for its money."""
        choice = self.choice
        ways = [way for way in self.through[number] if way in self.over]
        if not ways or not choice.can_rise(number):
            return 0.0
        index = choice.at[number]
        gained = {starts: self._gained(number, starts) for starts in (False, True)}
        each = []
        for way in ways:
            limit = choice.ways.limits[way]
            each.append(min(self.over[way], gained[limit.starts]) / limit.volts)
        more = choice.cost(number, index + 1) - choice.cost(number, index)
        more += float(choice.rules.line_worth) * max(choice.lines_more(number, index + 1), 0)
        return sum(sorted(each)) / max(more, 1e-6)

    def _look_again(self, number: int) -> None:
        """Take what the next cable of a task gains off the ways that it is on."""
        gained = {starts: self._gained(number, starts) for starts in (False, True)}
        for way in self.through[number]:
            if way in self.over:
                self.over[way] -= gained[self.choice.ways.limits[way].starts]
                if self.over[way] <= units_of(DUST):
                    del self.over[way]
