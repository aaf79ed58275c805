"""The walk with the tape measure: each wire's way through the loom, and its piece.

A wire takes the shortest way by measured length; of equal ways the one with less slack,
then with fewer branches, then the one whose first differing branch, from its `from` on,
stands first on the sheet.  A wire with a length of its own still lies in the branches
between its ends where the loom has them.
"""

import heapq
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from bom.reckon.no_way import why_no_way
from bom.trade.figures import piece_length_mm
from bom.trade.house import HouseRules
from bom.trade.job_book import Branch, JobBook, Wire
from bom.trade.problem import Problem
from bom.trade.wires import MeasuredWire

_Path = tuple[int, ...]
"""The branches from the start on, by their index."""

_ZERO = Fraction(0)
_Cost = tuple[Fraction, Fraction, int, _Path]
"""Length and slack in mm, number of branches, and the branches themselves."""


def measure(
    book: JobBook, rules: HouseRules
) -> tuple[tuple[MeasuredWire, ...], tuple[Problem, ...]]:
    """Measure every wire of the book; lengths in mm, pieces in whole `step_mm`.

    A wire with neither a length nor a way is an error, and comes out with a piece of 0.
    """
    ways = _LoomWays(book.branches)
    extra = _RunRules(Fraction(rules.run_percent), Fraction(rules.end_mm), rules.step_mm)
    lost, measured = [], []
    for wire in book.wires:
        way = ways.between(book.place(wire.start.point), book.place(wire.finish.point))
        if way is None and wire.length_mm is None:
            lost.append(wire)
        measured.append(_measured(wire, way, book, extra))
    return tuple(measured), tuple(why_no_way(lost, book, ways.parts))


class _RunRules(NamedTuple):
    """What the house adds to every run, as fractions."""

    run_percent: Fraction
    end_mm: Fraction
    step_mm: int


def _measured(wire: Wire, way: _Path | None, book: JobBook, extra: _RunRules) -> MeasuredWire:
    branches = way or ()
    path, slack, tails = wire.length_mm, _ZERO, _ZERO
    if path is None:
        path = sum((book.branches[index].length_mm for index in branches), _ZERO)
        slack = sum((book.branches[index].slack_mm for index in branches), _ZERO)
        ends = (wire.start.point, wire.finish.point)
        tails = sum((book.component(point).tail_mm for point in ends), _ZERO)
    unknown = way is None and wire.length_mm is None
    piece = piece_length_mm(path, extra.run_percent, slack, tails, extra.end_mm, extra.step_mm)
    return MeasuredWire(
        wire=wire,
        branches=branches,
        path_mm=path,
        slack_mm=slack,
        tails_mm=tails,
        piece_mm=0 if unknown else piece,
    )


class _LoomWays:
    """Best ways between points.

    A loom is nearly always a tree: then there is one way, found by climbing from both
    points to where they meet.  Only a loom with a ring in it is searched.
    """

    def __init__(self, branches: Sequence[Branch]) -> None:
        self._branches = branches
        self._joined: dict[str, list[tuple[str, int]]] = {}
        for index, branch in enumerate(branches):
            self._joined.setdefault(branch.start, []).append((branch.finish, index))
            self._joined.setdefault(branch.finish, []).append((branch.start, index))
        self._step: dict[str, tuple[str, int, int]] = {}  # towards the root: point, branch, depth
        self._loom: dict[str, str] = {}  # the root of the part of the loom a point is in
        self._ringed: set[str] = set()
        for point in self._joined:
            if point not in self._loom:
                self._grow(point)
        self._searches: dict[str, _ShortestWays] = {}

    @property
    def parts(self) -> Mapping[str, str]:
        """Every point of the loom, with the first point of the part of it that it is in."""
        return self._loom

    def _grow(self, root: str) -> None:
        waiting = [root]
        self._loom[root] = root
        self._step[root] = (root, -1, 0)
        ends = 0
        for point in waiting:
            ends += len(self._joined[point])
            for neighbour, index in self._joined[point]:
                if neighbour not in self._loom:
                    self._loom[neighbour] = root
                    self._step[neighbour] = (point, index, self._step[point][2] + 1)
                    waiting.append(neighbour)
        if ends != 2 * (len(waiting) - 1):
            self._ringed.add(root)

    def between(self, start: str, finish: str) -> _Path | None:
        """The branches of the best way, or None where there is none; at one point, none."""
        if start == finish:
            return ()
        if start not in self._loom or self._loom[start] != self._loom.get(finish):
            return None
        if self._loom[start] not in self._ringed:
            return self._climb(start, finish)
        search = self._searches.get(start)
        if search is None:
            search = self._searches[start] = _ShortestWays(start, self._joined, self._branches)
        return search.reach(finish)

    def _climb(self, start: str, finish: str) -> _Path:
        there: list[int] = []
        back: list[int] = []
        while start != finish:
            if self._step[start][2] >= self._step[finish][2]:
                start, index, _ = self._step[start]
                there.append(index)
            else:
                finish, index, _ = self._step[finish]
                back.append(index)
        return (*there, *reversed(back))


class _ShortestWays:
    """Dijkstra's algorithm from one point; it grows only as far as it is asked."""

    def __init__(
        self,
        start: str,
        joined: Mapping[str, list[tuple[str, int]]],
        branches: Sequence[Branch],
    ) -> None:
        self._joined = joined
        self._branches = branches
        self._settled: dict[str, _Path] = {}
        self._open: list[tuple[_Cost, str]] = [((Fraction(0), Fraction(0), 0, ()), start)]

    def reach(self, finish: str) -> _Path | None:
        """The best way to `finish`: length, slack, number of branches, order on the sheet."""
        while finish not in self._settled and self._open:
            (length, slack, count, way), point = heapq.heappop(self._open)
            if point in self._settled:
                continue
            self._settled[point] = way
            for neighbour, index in self._joined[point]:
                if neighbour not in self._settled:
                    branch = self._branches[index]
                    longer, looser = length + branch.length_mm, slack + branch.slack_mm
                    cost = (longer, looser, count + 1, (*way, index))
                    heapq.heappush(self._open, (cost, neighbour))
        return self._settled.get(finish)
