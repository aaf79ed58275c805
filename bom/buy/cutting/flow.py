"""The pieces as a flow along the lengths, for the solver.

Every length is a path over places from its start to its end, by arcs as long as the pieces.
Source: Valerio de Carvalho, Exact solution of bin-packing problems using column generation
and branch-and-bound, Annals of Operations Research 86, 1999 (from memory).
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise

from msgspec import Struct

from bom.buy.cutting.lengths_and_sizes import Packing, Patterns, Sizes
from bom.buy.solver import Programme, Solver

SECONDS = 3.0
"""Time of the solver for one question; what it leaves open is not proved."""

ARCS = 60_000
"""The largest flow that is put to the solver, in arcs."""


class _Arc(Struct, frozen=True):
    """From one place on a length to another; `size` 0 is waste, -1 the end of the length."""

    start: int
    finish: int
    size: int


def by_flow(sizes: Sizes, lengths: Sequence[int], solver: Solver) -> Packing:
    """Ask the solver, as far as the flow is not too large for it."""
    step = math.gcd(*sizes)
    ends = Counter(length // step for length in lengths)
    arcs = _arcs({size // step: count for size, count in sizes.items()}, ends)
    if arcs is None:
        return Packing(None, proved=False)
    programme = _flow_programme(arcs, {s // step: n for s, n in sizes.items()}, ends)
    found = solver.solve(programme, seconds=SECONDS)
    if not found.values:
        return Packing(None, proved=found.proved)
    paths = _paths(arcs, [round(value) for value in found.values])
    return Packing(_dealt(paths, sizes, lengths, step), proved=True)


def _arcs(sizes: Sizes, ends: Mapping[int, int]) -> list[_Arc] | None:
    """Larger pieces come before smaller ones on a length, so that no order is met twice.

    None where there are too many.
    """
    places, top = {0}, max(ends)
    arcs: dict[_Arc, None] = {}
    for size in sorted(sizes, reverse=True):
        front = set(places)
        for _ in range(min(sizes[size], top // size)):
            front = {place + size for place in front if place + size <= top}
            arcs.update(dict.fromkeys(_Arc(place - size, place, size) for place in front))
            places |= front
            if len(arcs) > ARCS:
                return None
    marks = sorted(places | set(ends))
    waste = [_Arc(here, there, 0) for here, there in pairwise(marks)]
    return [*sorted(arcs, key=_order), *waste, *(_Arc(end, 0, -1) for end in sorted(ends))]


def _order(arc: _Arc) -> tuple[int, int]:
    return (-arc.size, arc.start)


def _flow_programme(arcs: Sequence[_Arc], sizes: Sizes, ends: Mapping[int, int]) -> Programme:
    """What comes to a place leaves it; every size is cut as often as it is wanted."""
    programme = Programme()
    balance: dict[int, dict[int, float]] = {}
    cut: dict[int, dict[int, float]] = {size: {} for size in sizes}
    for arc in arcs:
        most = ends[arc.start] if arc.size < 0 else sizes.get(arc.size, sum(ends.values()))
        column = programme.column(at_most=most)
        balance.setdefault(arc.start, {})[column] = -1.0
        balance.setdefault(arc.finish, {})[column] = 1.0
        if arc.size > 0:
            cut[arc.size][column] = 1.0
    for terms in balance.values():
        programme.row(terms, at_least=0, at_most=0)
    for size, terms in cut.items():
        programme.row(terms, at_least=sizes[size])
    return programme


def _paths(arcs: Sequence[_Arc], flow: list[int]) -> list[tuple[int, tuple[int, ...]]]:
    """The flow taken apart: the end of each length used and the sizes on it, in steps."""
    leaving: dict[int, list[int]] = {}
    for number, arc in enumerate(arcs):
        leaving.setdefault(arc.start, []).append(number)
    paths = []
    while any(flow[number] for number in leaving[0] if arcs[number].size >= 0):
        place, load = 0, []
        while True:
            number = next(n for n in leaving[place] if flow[n] and (place or arcs[n].size >= 0))
            flow[number] -= 1
            arc = arcs[number]
            if arc.size < 0:
                break
            place = arc.finish
            load += [arc.size] * (arc.size > 0)
        paths.append((place, tuple(load)))
    return paths


def _dealt(
    paths: Sequence[tuple[int, tuple[int, ...]]],
    sizes: Sizes,
    lengths: Sequence[int],
    step: int,
) -> Patterns:
    """Paths set on the lengths they were made for; a piece cut once too often is left off."""
    wanted = Counter(dict(sizes))
    free: dict[int, list[int]] = {}
    for at, length in enumerate(lengths):
        free.setdefault(length // step, []).append(at)
    loads: list[tuple[int, ...]] = [()] * len(lengths)
    for end, load in paths:
        kept = []
        for size in (steps * step for steps in load):
            if wanted[size] > 0:
                wanted[size] -= 1
                kept.append(size)
        loads[free[end].pop()] = tuple(kept)
    return tuple(loads)
