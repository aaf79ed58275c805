"""Do these pieces go on these lengths, and how.

Fast ways come first (best fit decreasing; filling each length by subset sums, which are
kept as the bits of one large integer); a search that goes through all completions of a
length settles what they leave open, as far as its steps reach; the rest is put to a solver
as flows along the lengths.
Subset sums: Martello and Toth, Knapsack Problems, 1990, chapter 4.  Completions: Korf, A
new algorithm for optimal bin packing, AAAI 2002 (both from memory).
"""

import math
from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Callable, Iterator, Sequence

from bom.buy.cutting.flow import by_flow
from bom.buy.cutting.lengths_and_sizes import Packing, Patterns, Sizes
from bom.buy.solver import Solver

STEPS = 400_000
"""Steps of the search for one question, some 50 ms: a step looks at one size, or hands it on."""


def pack(sizes: Sizes, lengths: Sequence[int], solver: Solver | None = None) -> Packing:
    """All pieces on the lengths, or the answer that they do not go on.

    `proved` is False only where nothing was found and search and solver gave up.
    """
    if sum(size * count for size, count in sizes.items()) > sum(lengths):
        return Packing(None, proved=True)
    if max(sizes, default=0) > max(lengths, default=0):
        return Packing(None, proved=True)
    for way in _WAYS:
        loads, over = way(sizes, lengths)
        if not over:
            return Packing(loads, proved=True)
    found = _search(sizes, lengths)
    return found if found.proved or solver is None else by_flow(sizes, lengths, solver)


def pack_most(sizes: Sizes, lengths: Sequence[int]) -> tuple[Patterns, tuple[int, ...]]:
    """As many millimetres as the fast ways get on the lengths, and the sizes left over."""
    return min((way(sizes, lengths) for way in _WAYS), key=lambda found: sum(found[1]))


# ------------------------------------------------------------------------- the fast ways


def best_fit(sizes: Sizes, lengths: Sequence[int]) -> tuple[Patterns, tuple[int, ...]]:
    """The longest piece first, each on the length that it leaves the least of."""
    rests = sorted((length, at) for at, length in enumerate(lengths))
    loads: list[list[int]] = [[] for _ in lengths]
    over: list[int] = []
    for size in sorted(sizes, reverse=True):
        for done in range(sizes[size]):
            at = bisect_left(rests, (size, -1))
            if at == len(rests):
                over += [size] * (sizes[size] - done)
                break
            rest, number = rests.pop(at)
            insort(rests, (rest - size, number))
            loads[number].append(size)
    return tuple(map(tuple, loads)), tuple(over)


def fill_shortest_first(sizes: Sizes, lengths: Sequence[int]) -> tuple[Patterns, tuple[int, ...]]:
    """Each length as full as it goes, the shortest length first."""
    return _fill_all(sizes, lengths, sorted(range(len(lengths)), key=lambda at: lengths[at]))


def fill_longest_first(sizes: Sizes, lengths: Sequence[int]) -> tuple[Patterns, tuple[int, ...]]:
    """Each length as full as it goes, the longest length first."""
    return _fill_all(sizes, lengths, sorted(range(len(lengths)), key=lambda at: -lengths[at]))


_WAYS: tuple[Callable[[Sizes, Sequence[int]], tuple[Patterns, tuple[int, ...]]], ...] = (
    best_fit,
    fill_shortest_first,
    fill_longest_first,
)


def _fill_all(
    sizes: Sizes, lengths: Sequence[int], order: Sequence[int]
) -> tuple[Patterns, tuple[int, ...]]:
    left = Counter(dict(sizes))
    loads: list[tuple[int, ...]] = [()] * len(lengths)
    for at in order:
        load = fullest(left, lengths[at])
        left -= Counter(load)
        loads[at] = load
    return tuple(loads), tuple(sorted(left.elements(), reverse=True))


def fullest(sizes: Sizes, length: int) -> tuple[int, ...]:
    """The pieces that fill one length best; of equal ways the one with the larger pieces.

    Bit n of a number says that its pieces can sum to n steps; pieces of one size go in as
    bundles of 1, 2, 4 ... so that many alike cost little.
    """
    if sum(size * count for size, count in sizes.items()) <= length:
        return tuple(sorted(Counter(dict(sizes)).elements(), reverse=True))
    step = math.gcd(*sizes)
    bundles = [
        (size, many)
        for size in sorted(sizes, reverse=True)
        if size <= length
        for many in _bundles(min(sizes[size], length // size))
    ]
    within = (1 << (length // step + 1)) - 1
    sums = [1]
    for size, many in bundles:
        sums.append((sums[-1] | sums[-1] << size * many // step) & within)
    target = sums[-1].bit_length() - 1
    load: list[int] = []
    for number in range(len(bundles) - 1, -1, -1):
        if not sums[number] >> target & 1:
            size, many = bundles[number]
            load += [size] * many
            target -= size * many // step
    return tuple(sorted(load, reverse=True))


def _bundles(count: int) -> Iterator[int]:
    """1, 2, 4 ... and a rest that sum to the count, so that any number is a sum of some."""
    many = 1
    while count > 0:
        yield min(many, count)
        count -= many
        many *= 2


# ------------------------------------------------------------------------ the full search


class _OutOfSteps(Exception):
    """The search has gone as far as it may."""


def _search(sizes: Sizes, lengths: Sequence[int]) -> Packing:
    """Go through the completions of each length, the shortest first, until all are placed."""
    order = sorted(range(len(lengths)), key=lambda at: lengths[at])
    seeker = _Seeker(sorted(sizes, reverse=True), [lengths[at] for at in order], STEPS)
    try:
        found = seeker.place(0, tuple(sizes[size] for size in seeker.sizes))
    except _OutOfSteps:
        return Packing(None, proved=False)
    if found is None:
        return Packing(None, proved=True)
    loads: list[tuple[int, ...]] = [()] * len(lengths)
    for at, load in zip(order, found, strict=False):
        loads[at] = load
    return Packing(tuple(loads), proved=True)


class _Seeker:
    """Depth first over lengths; what was tried in vain is remembered."""

    def __init__(self, sizes: Sequence[int], lengths: Sequence[int], steps: int) -> None:
        self.sizes = sizes
        self.lengths = lengths
        self.steps = steps
        self.room = [sum(lengths[at:]) for at in range(len(lengths) + 1)]
        self.vain: set[tuple[int, tuple[int, ...]]] = set()

    def place(self, at: int, counts: tuple[int, ...]) -> list[tuple[int, ...]] | None:
        """Loads for the lengths from `at` on that take all that is left, or None."""
        if not any(counts):
            return []
        total = sum(size * count for size, count in zip(self.sizes, counts, strict=True))
        slack = self.room[at] - total
        if slack < 0 or (at, counts) in self.vain:
            return None
        for used in sorted(
            self._completions(0, counts, self.lengths[at], slack), key=self._rest_of(at)
        ):
            left = tuple(count - take for count, take in zip(counts, used, strict=True))
            further = self.place(at + 1, left)
            if further is not None:
                load = (s for s, take in zip(self.sizes, used, strict=True) for _ in range(take))
                return [tuple(load), *further]
        self.vain.add((at, counts))
        return None

    def _rest_of(self, at: int) -> Callable[[tuple[int, ...]], int]:
        def rest(used: tuple[int, ...]) -> int:
            return self.lengths[at] - sum(s * n for s, n in zip(self.sizes, used, strict=True))

        return rest

    def _completions(
        self, first: int, counts: tuple[int, ...], room: int, slack: int
    ) -> Iterator[tuple[int, ...]]:
        """Ways to fill a room from size `first` on that waste no more than the slack."""
        self.steps -= len(counts) if first == len(counts) else len(counts) - first
        if self.steps < 0:
            raise _OutOfSteps
        if first == len(counts):
            if room <= slack:
                yield ()
            return
        reach = sum(
            size * count for size, count in zip(self.sizes[first:], counts[first:], strict=True)
        )
        if room - reach > slack:
            return
        size = self.sizes[first]
        for take in range(min(counts[first], room // size), -1, -1):
            for rest in self._completions(first + 1, counts, room - take * size, slack):
                yield (take, *rest)
