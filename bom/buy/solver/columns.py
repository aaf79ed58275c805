"""What to cut from which lengths for the least, by column generation.

A column is a way to cut one length.  A linear programme mixes the columns known so far; its prices
of the pieces ask a knapsack for better ones, until there are none (Gilmore and Gomory, 1961 and
1963).  The prices, rounded to whole numbers, also tell what no mix can beat: exactly, whatever
the linear programme's own precision.  Whole numbers of columns come of a dive: what the mix has
whole is kept, what it has most of is rounded up, and columns are generated anew for what is left
(Belov and Scheithauer, 2006).  Where that fails, all columns that can be in an answer are listed,
by what they lose against the prices, and put to HiGHS: so a "no" is proved as well.  All from
memory.
"""

import math
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate
from typing import Any

import highspy as library
import numpy as np
from msgspec import Struct

from bom.buy.solver.knapsack import Knapsack
from bom.buy.solver.listing import ColumnList, TooMany
from bom.buy.solver.programme import quiet, solve
from bom.buy.solver.questions import (
    COIN,
    LOOSE,
    Column,
    CutAnswer,
    CutFrom,
    CutQuestion,
    Programme,
    Solution,
)

highspy: Any = library  # it has no types of its own

SCALE = 10**8
"""Prices of pieces are whole numbers: so many to the dearest room."""

WAY_OUT = 10
"""So many times the dearest room costs a piece that no column cuts."""

A_HAIR = 1e-6

AT_ONCE = 5
"""So many columns of a room are taken from one knapsack, each worth less than the one before."""

FEW = 5
"""Up to so many sums are tried one by one, from the least on."""

LISTED = 20_000
"""So many columns are listed at the most."""

TABLES = 4_000_000
"""The largest tables that a listing may need, in numbers."""


class _TimeUp(Exception):
    """There is no time left."""


class _Mix(Struct, frozen=True):
    """A mix of columns: its cost, how much of each column, and the prices of pieces and rooms."""

    cost: float
    amounts: Any
    complete: bool
    """All pieces are cut, none is left out for want of a column."""
    weights: tuple[int, ...] = ()
    worth: tuple[int, ...] = ()


def cut(question: CutQuestion, seconds: float) -> CutAnswer:
    """The cheapest loads found, or that there are none."""
    cutter = _Cutter(question, time.monotonic() + seconds)
    impossible = False
    try:
        cutter.list_all(question.list_all)
        cutter.search()
    except _TimeUp:
        pass
    except _Impossible:
        impossible = True
    return CutAnswer(
        loads=None if cutter.found is None else tuple(cutter.found.items()),
        cost=cutter.cost(cutter.found or {}),
        impossible=impossible,
        proved=cutter.proved,
        weights=cutter.mix.weights,
        worth=cutter.mix.worth,
        columns=tuple(cutter.columns),
        complete=cutter.complete,
    )


class _Impossible(Exception):
    """It is proved that the pieces do not go on the lengths for the cost that was asked."""


class _Cutter:
    def __init__(self, question: CutQuestion, deadline: float) -> None:
        self.step = math.gcd(*question.sizes)
        self.sizes = [size // self.step for size in question.sizes]
        self.counts = question.counts
        self.rooms = [
            CutFrom(room.length // self.step, room.cost, room.most) for room in question.rooms
        ]
        self.top = max((room.length for room in self.rooms), default=0)
        self.loose = (question.loose or 0.0) * self.step
        self.dearest = max([self.loose * max(self.sizes), *(room.cost for room in self.rooms)])
        self.scale = SCALE / self.dearest
        self.enough = question.enough
        self.deadline = deadline
        self.columns: list[Column] = []
        self.known: set[Column] = set()
        self.complete = False
        self.proved = False
        self.found: Mapping[Column, int] | None = None
        self.mix = _Mix(0.0, (), complete=False)
        self.limited = {
            number: len(self.sizes) + at
            for at, number in enumerate(n for n, r in enumerate(self.rooms) if r.most is not None)
        }
        self.highs = quiet(math.inf)
        self._begin()
        self._add([*self._loose(question), *question.columns])

    def _loose(self, question: CutQuestion) -> Iterator[Column]:
        """Every piece by itself, where it can be cut from metres."""
        if question.loose is not None:
            for row in range(len(self.sizes)):
                yield LOOSE, tuple(int(row == other) for other in range(len(self.sizes)))

    def _price(self, column: Column) -> float:
        number, load = column
        if number != LOOSE:
            return self.rooms[number].cost
        return self.loose * sum(s * n for s, n in zip(self.sizes, load, strict=True))

    def _begin(self) -> None:
        """A row for each size and each room with a limit; a dear way out for every size."""
        nothing = np.array([], np.int32), np.array([], float)
        for count in self.counts:
            self.highs.addRow(float(count), highspy.kHighsInf, 0, *nothing)
        for number in self.limited:
            self.highs.addRow(-highspy.kHighsInf, float(self.rooms[number].most or 0), 0, *nothing)
        for row, size in enumerate(self.sizes):
            terms = np.array([row], np.int32), np.array([1.0])
            cost = WAY_OUT * self.dearest * (1 + size / max(self.sizes))
            self.highs.addCol(cost, 0.0, highspy.kHighsInf, 1, *terms)

    def _add(self, columns: Sequence[Column]) -> bool:
        """Take up columns; False where all are known."""
        new = [column for column in dict.fromkeys(columns) if column not in self.known]
        self.known.update(new)
        self.columns += new
        terms = [self._terms(column) for column in new]
        starts = np.array([*accumulate(map(len, terms), initial=0)][:-1], np.int32)
        rows = np.array([row for own in terms for row, _ in own], np.int32)
        factors = np.array([factor for own in terms for _, factor in own])
        costs = np.array([self._price(column) for column in new])
        lower, upper = np.zeros(len(new)), np.full(len(new), highspy.kHighsInf)
        if new:
            self.highs.addCols(len(new), costs, lower, upper, len(rows), starts, rows, factors)
        return bool(new)

    def _terms(self, column: Column) -> list[tuple[int, float]]:
        """The rows of a column, with what it has in them."""
        number, load = column
        terms = [(row, float(count)) for row, count in enumerate(load) if count]
        return [*terms, (self.limited[number], 1.0)] if number in self.limited else terms

    # ----------------------------------------------------------------------- the search

    def list_all(self, most: int) -> None:
        """Take up every column that nothing can be added to, unless they are more than so many."""
        listing = ColumnList(self.sizes, (0,) * len(self.sizes), self.counts, 0, most)
        try:
            for number in sorted(range(len(self.rooms)), key=lambda n: -self.rooms[n].length):
                listing.add(number, self.rooms[number].length, least=-math.inf)
        except TooMany:
            return
        self._add(listing.found)
        self.complete = True

    def search(self) -> None:
        """A dive from the first mix that is good enough; else one from the best, and a proof."""
        self._dive(self._generate(self.counts, self.enough))
        if self.enough is not None and self.found is not None:
            return
        best = self._generate(self.counts, None)
        self._look_at_proof()
        if self.found is None:
            self._dive(best)
        self._settle()

    def _generate(self, counts: Sequence[int], enough: float | None) -> _Mix:
        """The cheapest mix, or the first that costs no more than is enough."""
        while True:
            if time.monotonic() > self.deadline:
                raise _TimeUp
            self.highs.run()
            solution = self.highs.getSolution()
            amounts, duals = np.array(solution.col_value), np.array(solution.row_dual)
            here = len(self.sizes)
            complete = bool((amounts[:here] < A_HAIR).all())
            cost = float(self.highs.getInfo().objective_function_value)
            mix = _Mix(cost, amounts[here:], complete)
            if enough is not None and complete and cost <= enough + A_HAIR:
                return mix
            prices = np.floor(np.maximum(duals[:here], 0) * self.scale).astype(np.int64)
            sack = Knapsack(self.sizes, [int(price) for price in prices], counts, self.top)
            better = self._better(sack, duals)
            if counts is self.counts:
                worth = tuple(int(sack.best[room.length]) for room in self.rooms)
                self.mix = _Mix(cost, (), complete, tuple(map(int, prices)), worth)
                self._look_at_proof()
            if not self._add(better):
                return mix

    def _better(self, sack: Knapsack, duals: Any) -> list[Column]:
        """Columns that would make the mix cheaper, the best ones of each room."""
        found = []
        for number, room in enumerate(self.rooms):
            if room.most == 0:
                continue
            price = room.cost - (duals[self.limited[number]] if number in self.limited else 0.0)
            least = price * self.scale * (1 + 1e-7) + len(self.sizes)
            length = room.length
            for _ in range(AT_ONCE):
                if length < 0 or sack.best[length] <= least:
                    break
                found.append((number, sack.load(length)))
                length = sack.next_worth(length)
        return found

    def _look_at_proof(self) -> None:
        """Raise `_Impossible` where the prices show that nothing costs as little as is asked."""
        most = math.inf if self.enough is None else self.enough * self.scale + 1
        if self._least() > min(most, sys.float_info.max):
            raise _Impossible

    def _least(self) -> float:
        """What any answer costs at the least by the last prices, in their whole numbers.

        Where all rooms have a limit and are worth less than the pieces weigh: endless.
        """
        weight = sum(w * n for w, n in zip(self.mix.weights, self.counts, strict=True))
        worth = [(room, own) for room, own in zip(self.rooms, self.mix.worth, strict=True)]
        known = all(room.most is not None for room in self.rooms) and not self.loose
        if known and weight > sum(own * (room.most or 0) for room, own in worth):
            return math.inf
        share = 1.0
        for room, own in worth:
            cost = room.cost * self.scale
            if room.most is not None:
                weight -= max(0, own - math.floor(cost)) * room.most
            elif own > cost:
                share = min(share, cost / own)
        if self.loose:
            prices = zip(self.sizes, self.mix.weights, strict=True)
            parts = [self.loose * self.scale * size / own for size, own in prices if own]
            share = min([share, *parts])
        return weight * share

    # ------------------------------------------------------------------------- the dive

    def _dive(self, mix: _Mix) -> None:
        """Whole columns, a few at a time, until all pieces are cut or the mix gets too dear."""
        left = list(self.counts)
        kept: dict[Column, int] = {}
        try:
            while any(left):
                if not self._keep(mix.amounts, left, kept):
                    return
                if not any(left):
                    break
                self._hold(left, kept)
                mix = self._generate(left, self.enough)
                if self.enough is not None and mix.cost > self.enough + A_HAIR:
                    return
        finally:
            self._hold(self.counts, {})
        self._note(kept)

    def _keep(self, amounts: Sequence[float], left: list[int], kept: dict[Column, int]) -> bool:
        """Take what the mix has whole, else one of what it has most of; False where none fits."""
        some = False
        parts = []
        for column, amount in zip(self.columns, amounts, strict=False):
            over = amount - kept.get(column, 0)
            if over < A_HAIR:
                continue
            times = min([math.floor(over + A_HAIR), *self._times(column, left)])
            if times:
                some = True
                self._take(column, times, left, kept)
            else:
                parts.append((over, column))
        if some:
            return True
        for _, column in sorted(parts, key=lambda part: -part[0]):
            if min(self._times(column, left)):
                self._take(column, 1, left, kept)
                return True
        return False

    def _times(self, column: Column, left: Sequence[int]) -> Iterator[int]:
        return (have // count for have, count in zip(left, column[1], strict=True) if count)

    def _take(self, column: Column, times: int, left: list[int], kept: dict[Column, int]) -> None:
        kept[column] = kept.get(column, 0) + times
        for row, count in enumerate(column[1]):
            left[row] -= count * times

    def _hold(self, left: Sequence[int], kept: Mapping[Column, int]) -> None:
        """Keep these columns, and bar those that cut more of a size than is left of it."""
        number = len(self.columns)
        load = np.array([load for _, load in self.columns]).reshape(number, len(self.sizes))
        lower = np.array([kept.get(column, 0) for column in self.columns], dtype=float)
        fits = (load <= np.array(left)).all(axis=1)
        upper = np.where(fits, highspy.kHighsInf, lower)
        first = len(self.sizes)
        columns = np.arange(first, first + number, dtype=np.int32)
        self.highs.changeColsBounds(number, columns, lower, upper)

    def _note(self, kept: Mapping[Column, int]) -> None:
        if self.found is None or self.cost(kept) < self.cost(self.found):
            self.found = dict(kept)

    def cost(self, kept: Mapping[Column, int]) -> float:
        """What so many of each column cost."""
        return sum(self._price(column) * times for column, times in kept.items())

    # ------------------------------------------------------------------------ the proof

    def _settle(self) -> None:
        """The best there is, as far as all columns of a better answer can be listed.

        Raises `_Impossible` where all were listed and none is good enough.
        """
        for cost in self._to_try():
            listed = self._listed(cost)
            columns = self.columns if listed is None else listed
            solution = self._whole(columns)
            if solution.values:
                amounts = map(round, solution.values)
                self._note({c: n for c, n in zip(columns, amounts, strict=True) if n})
            if listed is None or not solution.proved:
                return
            self.proved = self.found is not None and self.cost(self.found) < cost + COIN
            if self.proved:
                return
        if self.enough is not None:
            raise _Impossible
        self.proved = self.found is not None

    def _to_try(self) -> Iterator[float]:
        """What an answer may cost: as asked, else the few costs there can be, else what is known.

        Rooms of few prices have few sums: the fewer a cost allows for, the fewer are its columns.
        """
        if self.enough is not None:
            yield self.enough
            return
        known = self.cost(self.found) if self.found else math.inf
        least = self._least() / self.scale
        coins = [room.cost / COIN for room in self.rooms]
        step = math.gcd(*map(round, coins)) * COIN
        whole = all(abs(cost - round(cost)) < A_HAIR for cost in coins) and not self.loose
        if known < least + COIN:
            return
        if not whole or not step or known - least > FEW * step:
            yield known
            return
        cost = math.ceil(least / step - A_HAIR) * step
        while cost < known - COIN:
            yield cost
            cost += step

    def _listed(self, cost: float) -> list[Column] | None:
        """All columns of an answer of this cost, None where they are too many.

        Each loses something against the prices; an answer cannot lose more than it may cost over
        the least.
        """
        if math.isinf(cost):
            return None
        gap = cost * self.scale + 1 - self._least()
        least = [self._asked_for(number) - gap for number in range(len(self.rooms))]
        loose = [column for column in self.columns if column[0] == LOOSE]
        if self.complete:
            weights = np.array(self.mix.weights)
            known = [column for column in self.columns if column[0] != LOOSE]
            return loose + [c for c in known if weights @ np.array(c[1]) >= least[c[0]]]
        if (len(self.sizes) + 1) * self.top > TABLES:
            return None
        listing = ColumnList(self.sizes, self.mix.weights, self.counts, self.top, LISTED)
        try:
            for number, room in enumerate(self.rooms):
                listing.add(number, room.length, least[number])
        except TooMany:
            return None
        return loose + listing.found

    def _asked_for(self, number: int) -> float:
        """What a length of a room costs by the last prices, the worth of a limited one included."""
        cost = self.rooms[number].cost * self.scale
        return cost if number not in self.limited else max(cost, self.mix.worth[number])

    def _whole(self, columns: Sequence[Column]) -> Solution:
        """So many of each column for the least."""
        programme = Programme(gap=COIN)
        cut: list[dict[int, float]] = [{} for _ in self.sizes]
        used: dict[int, dict[int, float]] = {number: {} for number in self.limited}
        for number, load in columns:
            unknown = programme.column(self._price((number, load)))
            for row, count in enumerate(load):
                if count:
                    cut[row][unknown] = float(count)
            if number in used:
                used[number][unknown] = 1.0
        if not all(cut):
            return Solution(proved=True)
        for row, terms in enumerate(cut):
            programme.row(terms, at_least=self.counts[row])
        for number, terms in used.items():
            programme.row(terms, at_most=self.rooms[number].most)
        seconds = self.deadline - time.monotonic()
        if seconds <= 0:
            raise _TimeUp
        return solve(programme, seconds, lambda _: None)
