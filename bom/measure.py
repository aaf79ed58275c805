"""The walk with the tape measure: each wire's way through the loom, and its piece.

A wire takes the shortest way by measured length; of equal ways the one with less slack,
then with fewer branches, then the one whose first differing branch, from its `from` on,
stands first on the sheet.  A wire with a length of its own still lies in the branches
between its ends where the loom has them.
"""

import heapq
from collections.abc import Iterable, Mapping
from fractions import Fraction

from bom.figures import piece_length_mm
from bom.house import HouseRules
from bom.problem import Problem, error, nearest
from bom.trade import Branch, JobBook, MeasuredWire, Wire

_Label = tuple[Fraction, Fraction, int, tuple[int, ...]]
"""Length and slack in mm, number of branches, and the branches from the start on."""


def measure(
    book: JobBook, rules: HouseRules
) -> tuple[tuple[MeasuredWire, ...], tuple[Problem, ...]]:
    """Measure every wire of the book; lengths in mm, pieces in whole `step_mm`.

    A wire with neither a length nor a way is an error, and comes out with a piece of 0.
    """
    ways = _Ways(book.branches)
    problems: list[Problem] = []
    measured = []
    for wire in book.wires:
        start, finish = (book.component(pin.point).at for pin in (wire.start, wire.finish))
        label = ways.between(start, finish)
        if label is None and wire.length_mm is None:
            problems += _no_way(wire, book, ways)
        measured.append(_measured(wire, label, book, rules))
    return tuple(measured), tuple(problems)


def _measured(wire: Wire, label: _Label | None, book: JobBook, rules: HouseRules) -> MeasuredWire:
    path, slack, _, branches = label or (Fraction(0), Fraction(0), 0, ())
    tails = book.component(wire.start.point).tail_mm + book.component(wire.finish.point).tail_mm
    if wire.length_mm is not None:
        path, slack, tails = wire.length_mm, Fraction(0), Fraction(0)
    unknown = label is None and wire.length_mm is None
    piece = piece_length_mm(path, rules.run_percent, slack, tails, rules.end_mm, rules.step_mm)
    return MeasuredWire(
        wire=wire,
        branches=branches,
        path_mm=path,
        slack_mm=slack,
        tails_mm=tails,
        piece_mm=0 if unknown else piece,
    )


def _no_way(wire: Wire, book: JobBook, ways: "_Ways") -> Iterable[Problem]:
    """Why this wire has no length: a point that is nowhere, or a loom in two parts."""
    if not book.branches:
        return [
            error(
                wire.row.where("length"),
                f"wire {wire.label} has no length, and there is no Loom sheet to work it out from",
                "the measured length, such as 1.2 m",
            )
        ]
    problems = [
        problem
        for heading, pin in (("from", wire.start), ("to", wire.finish))
        if (problem := _nowhere(wire, heading, pin.point, book, ways))
    ]
    if problems or not book.whole:
        return problems
    return [
        error(
            wire.row.where("length"),
            f"no way through the loom from {wire.start.point} to {wire.finish.point}",
            "a branch on the Loom sheet that joins the two parts, or a length here",
        )
    ]


def _nowhere(wire: Wire, heading: str, point: str, book: JobBook, ways: "_Ways") -> Problem | None:
    component = book.component(point)
    if component.at in ways.points:
        return None
    if component.row is not None:
        cell = component.row.where("at" if component.at != component.name else "component")
        says = f"{component.name} sits at '{component.at}', which is no point of the loom"
        return error(cell, says, nearest(component.at, ways.points))
    known = {*ways.points, *book.components}
    says = f"point '{point}' is neither on the Loom nor on the Components sheet"
    folded = {name.casefold(): name for name in known}
    close = nearest(point, folded)
    return error(wire.row.where(heading), says, folded.get(close, "a length for this wire"))


class _Ways:
    """Best ways between points; searches grow only as far as they are asked."""

    def __init__(self, branches: Iterable[Branch]) -> None:
        self._joined: dict[str, list[tuple[str, int, Branch]]] = {}
        for index, branch in enumerate(branches):
            self._joined.setdefault(branch.start, []).append((branch.finish, index, branch))
            self._joined.setdefault(branch.finish, []).append((branch.start, index, branch))
        self._searches: dict[str, _Search] = {}

    @property
    def points(self) -> Iterable[str]:
        """Every point of the loom."""
        return self._joined.keys()

    def between(self, start: str, finish: str) -> _Label | None:
        """The best way, or None where the loom has none; at one point it is empty."""
        if start == finish:
            return (Fraction(0), Fraction(0), 0, ())
        if start not in self._joined or finish not in self._joined:
            return None
        search = self._searches.get(start)
        if search is None:
            search = self._searches[start] = _Search(start, self._joined)
        return search.reach(finish)


class _Search:
    """Dijkstra's algorithm from one point, with the order of ways as its cost."""

    def __init__(self, start: str, joined: Mapping[str, list[tuple[str, int, Branch]]]) -> None:
        self._joined = joined
        self._settled: dict[str, _Label] = {}
        self._open: list[tuple[_Label, str]] = [((Fraction(0), Fraction(0), 0, ()), start)]

    def reach(self, finish: str) -> _Label | None:
        """Grow the search until `finish` is settled."""
        while finish not in self._settled and self._open:
            label, point = heapq.heappop(self._open)
            if point in self._settled:
                continue
            self._settled[point] = label
            length, slack, count, way = label
            for neighbour, index, branch in self._joined[point]:
                if neighbour not in self._settled:
                    longer = length + branch.length_mm
                    further = (longer, slack + branch.slack_mm, count + 1, (*way, index))
                    heapq.heappush(self._open, (further, neighbour))
        return self._settled.get(finish)
