"""What one length can be cut into that is worth the most: a knapsack with so many of each size.

Dynamic programming over the length, in whole numbers; pieces of one size go in as bundles of
1, 2, 4 ... so that many alike cost little (Martello and Toth, Knapsack Problems, 1990, chapter 3,
from memory).
"""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from bom.buy.cutting.pack import bundles


class Knapsack:
    """The best loads of every length up to the longest, in the unit of the sizes."""

    def __init__(
        self, sizes: Sequence[int], values: Sequence[int], counts: Sequence[int], top: int
    ) -> None:
        self._sizes = len(sizes)
        self._taken: list[tuple[_Batch, Any]] = []
        self.best = np.zeros(top + 1, dtype=np.int64)
        """By length: what its best load is worth."""
        more = np.empty(top + 1, dtype=np.int64)
        for bundle, value in _batches(sizes, values, counts, top):
            with_it = np.add(
                self.best[: -bundle.length], value, out=more[: top + 1 - bundle.length]
            )
            without = self.best[bundle.length :]
            self._taken.append((bundle, with_it > without))
            np.maximum(without, with_it, out=without)

    def load(self, length: int) -> tuple[int, ...]:
        """How many of each size the best load of a length has."""
        load = [0] * self._sizes
        for bundle, taken in reversed(self._taken):
            if length >= bundle.length and taken[length - bundle.length]:
                load[bundle.size] += bundle.many
                length -= bundle.length
        return tuple(load)

    def next_worth(self, length: int) -> int:
        """The longest length whose best load is worth less than that of this one; -1: none."""
        return int(np.searchsorted(self.best, self.best[length])) - 1


class _Batch(Struct, frozen=True):
    size: int
    many: int
    length: int


def _batches(
    sizes: Sequence[int], values: Sequence[int], counts: Sequence[int], top: int
) -> Iterator[tuple[_Batch, int]]:
    for number, (size, value, count) in enumerate(zip(sizes, values, counts, strict=True)):
        for many in bundles(min(count, top // size) if value > 0 else 0):
            yield _Batch(number, many, size * many), value * many


def best_by_rest(
    sizes: Sequence[int], values: Sequence[int], counts: Sequence[int], top: int
) -> list[Any]:
    """For each size on what it and those after it are worth at the most, by length."""
    tables = [np.zeros(top + 1, dtype=np.int64)]
    for size, value, count in reversed([*zip(sizes, values, counts, strict=True)]):
        best = tables[-1].copy()
        for many in bundles(min(count, top // size)):
            length = size * many
            np.maximum(best[length:], best[:-length] + value * many, out=best[length:])
        tables.append(best)
    return tables[::-1]
