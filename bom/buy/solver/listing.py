"""All ways to cut a length that are worth enough, one by one."""

from collections.abc import Iterator, Sequence

from bom.buy.solver.knapsack import best_by_rest
from bom.buy.solver.questions import Column

STEPS = 30
"""So many steps the listing goes for each column that it may list."""

DEEP = 400
"""So many sizes are gone through one inside the other: Python itself ends at some 1,000."""


class TooMany(Exception):
    """There are more columns than may be listed."""


class ColumnList:
    """Columns that are worth at least so much, and that nothing can be added to."""

    def __init__(
        self,
        sizes: Sequence[int],
        weights: Sequence[int],
        counts: Sequence[int],
        top: int,
        most: int,
    ) -> None:
        self.most = most
        self.order = sorted(range(len(sizes)), key=lambda row: -sizes[row])
        self.sizes = [sizes[row] for row in self.order]
        self.weights = [weights[row] for row in self.order]
        self.counts = [counts[row] for row in self.order]
        self.tables = best_by_rest(self.sizes, self.weights, self.counts, top) if top else []
        pieces = [size * count for size, count in zip(self.sizes, self.counts, strict=True)]
        self.rest = [sum(pieces[at:]) for at in range(len(pieces) + 1)]
        """For each size on all that is left to cut."""
        self.found: list[Column] = []
        self.steps = 0

    def add(self, number: int, length: int, least: float) -> None:
        """List those of a room; raises `TooMany` where they are too many."""
        if len(self.sizes) > DEEP:
            raise TooMany
        for taken in self._loads(0, length, least, length + 1):
            load = [0] * len(self.order)
            for row, count in zip(self.order, taken, strict=True):
                load[row] = count
            self.found.append((number, tuple(load)))
            if len(self.found) > self.most:
                raise TooMany

    def _loads(self, at: int, room: int, least: float, smallest: int) -> Iterator[tuple[int, ...]]:
        """From a size on; `smallest` is the smallest size of which more could be cut."""
        self.steps += 1
        if self.steps > STEPS * self.most:
            raise TooMany
        if room - self.rest[at] >= smallest:
            return  # more of what was passed over would go on
        if at == len(self.sizes):
            yield ()
            return
        if self.tables and self.tables[at][room] < least:
            return
        size, weight = self.sizes[at], self.weights[at]
        for many in range(min(self.counts[at], room // size), -1, -1):
            more = smallest if many == self.counts[at] else size
            for rest in self._loads(at + 1, room - many * size, least - many * weight, more):
                yield (many, *rest)
