"""All pieces on the lengths, in the way that leaves a workshop the most.

In this order: the least scrap (rests under the useful length, in steps of 50 mm), the fewest
lengths opened, the longest single length left on the shelf (untouched ones count: a long
reel stays whole while shorter lengths do), the lengths that stand first.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, islice

from msgspec import Struct

from bom.buy.cutting.lengths_and_sizes import Patterns, Sizes
from bom.buy.cutting.pack import best_fit, every_way, fullest, pack

SCRAP_STEP_MM = 50
"""Scrap is compared in these steps: less is not worth another opened length."""

STATES = 3_000
"""So many ways to set pieces on lengths are gone through one by one, some 20 ms."""

SETS = 24
"""So many sets of lengths are tried for each number of lengths opened, fewer of many lengths."""


FILLED = 3_000
"""So many lengths are filled for one answer, half a second at the most."""


class Tidiness(Struct, frozen=True):
    """What counts as useful: rests from `useful_mm` up, when each cut takes `trim_mm`."""

    useful_mm: int
    trim_mm: int = 0

    def rest_mm(self, length: int, load: Sequence[int]) -> int:
        """What is left of a length; size and length hold the trim, the rest does not."""
        return max(0, length - sum(load) - self.trim_mm)

    def key(self, loads: Patterns, lengths: Sequence[int]) -> tuple[object, ...]:
        """The smaller the better."""
        opened = [at for at, load in enumerate(loads) if load]
        rests = [self.rest_mm(*both) for both in zip(lengths, loads, strict=True)]
        scrap = sum(rests[at] for at in opened if rests[at] < self.useful_mm)
        return (scrap // SCRAP_STEP_MM, len(opened), -max(rests, default=0), opened)


def tidy(
    sizes: Sizes, lengths: Sequence[int], rule: Tidiness, known: Patterns | None = None
) -> Patterns:
    """The tidiest loads found; the best there are where the pieces are few.

    All pieces go on the lengths; `known` is a way to do so where the caller has one.
    Raises ValueError where no way is known or found.
    """
    ways = every_way(sizes, lengths, STATES)
    if ways is None:
        ways = [*_by_sets(sizes, lengths, rule)]
        loads, over = best_fit(sizes, lengths)
        ways += [loads] * (not over)
        ways += [known] if known else []
    if not ways:
        packed = pack(sizes, lengths).loads
        if packed is None:
            raise ValueError("these pieces do not go on these lengths")
        ways = [packed]
    return min(ways, key=lambda loads: rule.key(loads, lengths))


# ------------------------------------------------------------------------ sets of lengths


def _by_sets(sizes: Sizes, lengths: Sequence[int], rule: Tidiness) -> Iterator[Patterns]:
    """Open few lengths, fill all but one of them, and leave the rest on that one.

    Ends with the first number of lengths that leaves no scrap: more would not be better.
    """
    total, left = sum(size * count for size, count in sizes.items()), FILLED
    longest = sorted(range(len(lengths)), key=lambda at: -lengths[at])
    for many in range(1, len(lengths) + 1):
        if sum(lengths[at] for at in longest[:many]) < total:
            continue
        sets = [*_sets(longest, many)]
        left -= 2 * many * len(sets)
        if left < 0:
            return
        found = [
            loads
            for opened in sets
            if sum(lengths[at] for at in opened) >= total
            for loads in _filled(sizes, lengths, opened)
        ]
        yield from found
        if any(rule.key(loads, lengths)[0] == 0 for loads in found) or many > SETS:
            return


def _sets(longest: Sequence[int], many: int) -> Iterable[tuple[int, ...]]:
    """Neighbours by length, the longest first, then as many other choices as are tried."""
    tried = min(SETS, 1 + SETS * SETS // many**2)
    starts = range(max(0, len(longest) - many + 1 - tried), len(longest) - many + 1)
    neighbours = [tuple(longest[at : at + many]) for at in starts]
    return dict.fromkeys([*neighbours, *islice(combinations(longest, many), tried)])


def _filled(sizes: Sizes, lengths: Sequence[int], opened: Sequence[int]) -> Iterator[Patterns]:
    """The lengths filled one by one, and the last with what is left over: two ways of it."""
    for order in (opened[::-1], (*opened[1:], opened[0])) if len(opened) > 1 else (opened,):
        left = Counter(dict(sizes))
        loads: list[tuple[int, ...]] = [()] * len(lengths)
        for at in order:
            loads[at] = fullest(left, lengths[at])
            left -= Counter(loads[at])
        if not left:
            yield tuple(loads)
