"""What the solver is asked, and what it answers."""

import math
from collections.abc import Mapping
from typing import TypeAlias

from msgspec import Struct, field

INFINITE = math.inf

GAP = 0.005
"""Answers nearer than this to the least there can be count as the least: half a penny."""


COIN = 0.0001
"""Ways to cut that differ by less cost the same."""


class Programme(Struct, tag=True):
    """Columns with a cost and bounds, rows of terms with bounds; the least sum is sought."""

    costs: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float | None] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float | None, float | None]] = field(default_factory=list)
    gap: float = GAP
    """So near to the least an answer counts as proved."""
    presolve: bool = True
    """Made smaller first; without that HiGHS is slower, and a little surer."""

    def column(
        self,
        cost: float = 0.0,
        *,
        at_least: float = 0.0,
        at_most: float = INFINITE,
        whole: bool = True,
    ) -> int:
        """A new unknown; its number is the answer."""
        self.costs.append(cost)
        self.lower.append(at_least)
        self.upper.append(None if math.isinf(at_most) else at_most)
        self.whole.append(whole)
        return len(self.costs) - 1

    def row(
        self,
        terms: Mapping[int, float],
        *,
        at_least: float | None = None,
        at_most: float | None = None,
    ) -> None:
        """A condition: the sum of factor x unknown lies between the bounds; None is no bound."""
        self.rows.append((dict(terms), at_least, at_most))


class Solution(Struct, frozen=True):
    """The best values known (empty: none), the least the sum can be, and whether that is it.

    `proved` without values says that there is no answer; `bound` is None where it is not known.
    """

    values: tuple[float, ...] = ()
    bound: float | None = None
    proved: bool = False
    last: bool = True
    """Nothing better will be told."""


NOTHING = Solution()


class CutFrom(Struct, frozen=True):
    """Lengths of one kind to cut from: what one takes in mm and costs, and how many there are."""

    length: int
    cost: float
    most: int | None = None


Column: TypeAlias = tuple[int, tuple[int, ...]]
"""A room by its number, and how many of each size are cut from one of its lengths."""

LOOSE = -1
"""Stands for the room of a column that is one piece, cut from metres."""


class CutQuestion(Struct, frozen=True, tag=True):
    """Pieces to cut, `counts` of each of the `sizes` in mm: from which lengths for the least.

    `loose` is the cost of a mm that is had by the metre; None where none is.  `enough` is a cost
    that will do: with it only an answer that costs no more is sought.  `columns` are known already.
    With `list_all` every column there is comes back, if there are no more than so many.
    """

    sizes: tuple[int, ...]
    counts: tuple[int, ...]
    rooms: tuple[CutFrom, ...]
    loose: float | None = None
    enough: float | None = None
    columns: tuple[Column, ...] = ()
    list_all: int = 0


class CutAnswer(Struct, frozen=True):
    """What is cut how often (None: no way was found), or that it cannot be.

    Whatever the prices, the pieces only go on lengths that are `worth` what the pieces weigh:
    sum of worth x lengths of a room >= sum of weight x pieces of a size.  Whole numbers, so that
    this holds exactly.
    """

    loads: tuple[tuple[Column, int], ...] | None = None
    cost: float = 0.0
    impossible: bool = False
    proved: bool = False
    """No loads cost less than these."""
    weights: tuple[int, ...] = ()
    worth: tuple[int, ...] = ()
    columns: tuple[Column, ...] = ()
    complete: bool = False
    """These are all the columns there are."""
    last: bool = True


UNKNOWN = CutAnswer()
