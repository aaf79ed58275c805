"""Do these pieces go on these lengths, and how: what is found without a solver.

Best fit decreasing; filling each length by subset sums, which are kept as the bits of one large
integer (Martello and Toth, Knapsack Problems, 1990, chapter 4, from memory); and every way there
is, while they are few.
"""

import math
from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence

from bom.buy.cutting.lengths_and_sizes import Packing, Patterns, Sizes

STATES = 500
"""So many ways to set pieces on lengths are gone through for an answer, some 3 ms."""


def pack(sizes: Sizes, lengths: Sequence[int], *, at_once: bool = False) -> Packing:
    """All pieces on the lengths; without `proved` there may be a way that was not found.

    `at_once` is for want of time: only best fit is tried.
    """
    if not may_go_on(sizes, lengths):
        return Packing(None, proved=True)
    for way in _WAYS[: 1 if at_once else None]:
        loads, over = way(sizes, lengths)
        if not over:
            return Packing(loads, proved=True)
    ways = None if at_once else every_way(sizes, lengths, STATES)
    return Packing(ways[0] if ways else None, proved=ways is not None)


def may_go_on(sizes: Sizes, lengths: Sequence[int]) -> bool:
    """False where the millimetres show that the pieces do not go on the lengths."""
    total = sum(size * count for size, count in sizes.items())
    return total <= sum(lengths) and max(sizes, default=0) <= max(lengths, default=0)


def pack_most(sizes: Sizes, lengths: Sequence[int]) -> tuple[Patterns, tuple[int, ...]]:
    """As many millimetres as the fast ways get on the lengths, and the sizes left over."""
    return min((way(sizes, lengths) for way in _WAYS), key=lambda found: sum(found[1]))


def open_more(sizes: Sizes, length: int) -> Patterns | None:
    """All pieces on as many lengths of so many mm as it takes; None where one is too long."""
    if max(sizes, default=0) > length:
        return None
    fitted, _ = best_fit(sizes, [length] * sum(sizes.values()))
    return tuple(load for load in fitted if load)


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
    batches = (
        (size, many)
        for size in sorted(sizes, reverse=True)
        if size <= length
        for many in bundles(min(sizes[size], length // size))
    )
    full = length // step
    within = (1 << (full + 1)) - 1
    sums, used = [1], []
    for size, many in batches:
        used.append((size, many))
        sums.append((sums[-1] | sums[-1] << size * many // step) & within)
        if sums[-1] >> full:  # nothing fills it better
            break
    target = sums[-1].bit_length() - 1
    load: list[int] = []
    for number in range(len(used) - 1, -1, -1):
        if not sums[number] >> target & 1:
            size, many = used[number]
            load += [size] * many
            target -= size * many // step
    return tuple(sorted(load, reverse=True))


def bundles(count: int) -> Iterator[int]:
    """1, 2, 4 ... and a rest that sum to the count, so that any number is a sum of some."""
    many = 1
    while count > 0:
        yield min(many, count)
        count -= many
        many *= 2


# -------------------------------------------------------------------------- every way


def every_way(sizes: Sizes, lengths: Sequence[int], states: int) -> list[Patterns] | None:
    """One way to reach each set of rests there can be; None where they are too many."""
    falling = sorted(Counter(dict(sizes)).elements(), reverse=True)
    if len(lengths) == 1:
        return [(tuple(falling),)] if sum(falling) <= lengths[0] else []
    rests: dict[tuple[int, ...], Patterns] = {tuple(lengths): ((),) * len(lengths)}
    for size in falling:
        further: dict[tuple[int, ...], Patterns] = {}
        for rest, loads in rests.items():
            for at, room in enumerate(rest):
                if room >= size:
                    key = (*rest[:at], room - size, *rest[at + 1 :])
                    if key not in further:
                        further[key] = (*loads[:at], (*loads[at], size), *loads[at + 1 :])
            if len(further) > states:
                return None
        rests = further
    return list(rests.values())


# ------------------------------------------------------------------------- from elsewhere


def dealt(
    loads: Iterable[tuple[int, Sequence[int]]], sizes: Sizes, lengths: Sequence[int]
) -> Patterns | None:
    """Loads of lengths, given as (length, sizes), set on these lengths; None where one finds none.

    Every load has a length of its own: the one that it was made for, else the shortest that takes
    it.  A piece cut once too often is left off.
    """
    wanted = Counter(dict(sizes))
    free = sorted((length, at) for at, length in enumerate(lengths))
    found: list[tuple[int, ...]] = [()] * len(lengths)
    for length, load in loads:
        fits = bisect_left(free, (length, -1))
        if fits == len(free) or free[fits][0] != length:
            fits = bisect_left(free, (sum(load), -1))
        if fits == len(free):
            return None
        kept = []
        for size in load:
            if wanted[size] > 0:
                wanted[size] -= 1
                kept.append(size)
        found[free.pop(fits)[1]] = tuple(sorted(kept, reverse=True))
    return tuple(found)
