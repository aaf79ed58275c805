"""The solver's ways to cut, asked in this process: small questions against every way to cut."""

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from bom.buy.solver import LOOSE, CutAnswer, CutFrom, CutQuestion
from bom.buy.solver.columns import cut
from bom.buy.solver.knapsack import Knapsack, best_by_rest
from bom.buy.solver.listing import ColumnList, TooMany
from tests.slow import examples

SECONDS = 600.0
"""More than any question here takes, on any machine."""


def loads_of(sizes: Sequence[int], counts: Sequence[int], length: int) -> Iterator[tuple[int, ...]]:
    """Every way to cut a length, how many of each size."""
    for load in product(*(range(count + 1) for count in counts)):
        if sum(s * n for s, n in zip(sizes, load, strict=True)) <= length:
            yield load


def is_full(sizes: Sequence[int], counts: Sequence[int], length: int, load: Sequence[int]) -> bool:
    """Nothing can be added to a load, for want of room or of pieces."""
    rest = length - sum(s * n for s, n in zip(sizes, load, strict=True))
    return all(s > rest or n == c for s, n, c in zip(sizes, load, counts, strict=True))


def least(question: CutQuestion) -> float | None:
    """The least by one plain programme of every way to cut; None where there is none."""
    columns, costs = [], []
    for number, room in enumerate(question.rooms):
        for load in loads_of(question.sizes, question.counts, room.length):
            used = [int(other == number) for other in range(len(question.rooms))]
            columns.append([*load, *used])
            costs.append(room.cost)
    if question.loose is not None:
        for row, size in enumerate(question.sizes):
            piece = [int(other == row) for other in range(len(question.sizes))]
            columns.append([*piece, *[0] * len(question.rooms)])
            costs.append(question.loose * size)
    most = [np.inf if room.most is None else room.most for room in question.rooms]
    lower = [*question.counts, *[0] * len(most)]
    upper = [*[np.inf] * len(question.counts), *most]
    found = milp(
        np.array(costs),
        constraints=LinearConstraint(np.array(columns).T, lower, upper),
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, np.inf),
    )
    return float(found.fun) if found.success else None


def sound(question: CutQuestion, answer: CutAnswer) -> None:
    """Every piece is cut, no length is over-cut, none is used that is not there; the cost is so."""
    cut_of: Counter[int] = Counter()
    used: Counter[int] = Counter()
    cost = 0.0
    for (number, load), times in answer.loads or ():
        length = sum(s * n for s, n in zip(question.sizes, load, strict=True))
        if number == LOOSE:
            cost += (question.loose or 0) * length * times
        else:
            assert length <= question.rooms[number].length
            cost += question.rooms[number].cost * times
            used[number] += times
        cut_of.update({row: count * times for row, count in enumerate(load)})
    assert all(cut_of[row] >= count for row, count in enumerate(question.counts))
    assert all(r.most is None or used[n] <= r.most for n, r in enumerate(question.rooms))
    assert answer.cost == pytest.approx(cost)


def outweighs(question: CutQuestion, answer: CutAnswer, lengths: Sequence[int]) -> bool:
    """So many lengths of each room are worth less than the pieces weigh."""
    weight = sum(w * n for w, n in zip(answer.weights, question.counts, strict=True))
    return weight > sum(w * n for w, n in zip(answer.worth, lengths, strict=True))


sizes_of_three = st.lists(st.integers(3, 30), min_size=1, max_size=3, unique=True)
few = st.lists(st.integers(1, 3), min_size=3, max_size=3)
rooms_of_two = st.lists(
    st.tuples(st.integers(5, 60), st.integers(0, 9), st.sampled_from((None, 0, 1, 2))),
    min_size=1,
    max_size=2,
)


@examples(60, 600)
def test_the_least_is_that_of_every_way_to_cut(count: int) -> None:
    """Proved; what no lengths can do without is so; and where there is no way, none is told."""

    @settings(max_examples=count)
    @given(sizes_of_three, few, rooms_of_two, st.sampled_from((None, 0.3, 1.0)))
    def holds(
        sizes: list[int],
        counts: list[int],
        rooms: list[tuple[int, int, int | None]],
        loose: float | None,
    ) -> None:
        question = CutQuestion(
            tuple(sizes),
            tuple(counts[: len(sizes)]),
            tuple(CutFrom(length, cost + 0.5, most) for length, cost, most in rooms),
            loose,
        )
        answer, known = cut(question, SECONDS), least(question)
        if known is None:
            assert answer.loads is None
            return
        sound(question, answer)
        assert answer.proved
        assert answer.cost == pytest.approx(known, abs=1e-4)
        if answer.worth and loose is None:
            used = Counter[int]()
            for (number, _), times in answer.loads or ():
                used[number] += times
            assert not outweighs(question, answer, [used[n] for n in range(len(rooms))])

    holds()


@examples(60, 600)
def test_what_is_asked_for_a_cost_is_found_or_cannot_be(count: int) -> None:
    """Of lengths that are there, at the cost of all of them: a way, or the proof that none is."""

    @settings(max_examples=count)
    @given(sizes_of_three, few, st.lists(st.integers(10, 60), min_size=1, max_size=5))
    def holds(sizes: list[int], counts: list[int], lengths: list[int]) -> None:
        there = Counter(lengths)
        rooms = tuple(CutFrom(length, float(length), many) for length, many in there.items())
        question = CutQuestion(
            tuple(sizes), tuple(counts[: len(sizes)]), rooms, enough=float(sum(lengths))
        )
        answer = cut(question, SECONDS)
        if least(question) is None:
            assert (answer.loads, answer.impossible) == (None, True)
        else:
            sound(question, answer)
            assert not answer.impossible
            assert not outweighs(question, answer, list(there.values())) or not answer.worth

    holds()


@given(sizes_of_three, few, st.integers(1, 90))
def test_every_full_column_is_listed_once(sizes: list[int], counts: list[int], length: int) -> None:
    """Against every way to cut a length to which nothing can be added."""
    counts = counts[: len(sizes)]
    full = {
        load for load in loads_of(sizes, counts, length) if is_full(sizes, counts, length, load)
    }
    question = CutQuestion(tuple(sizes), tuple(counts), (CutFrom(length, 1.0),), list_all=1000)
    answer = cut(question, SECONDS)
    assert answer.complete
    assert {load for _, load in answer.columns} >= full
    listing = ColumnList(sizes, [0] * len(sizes), counts, 0, len(full) - 1)
    with pytest.raises(TooMany):
        listing.add(0, length, float("-inf"))


@given(
    sizes_of_three,
    few,
    st.lists(st.integers(0, 50), min_size=3, max_size=3),
    st.integers(0, 90),
)
def test_the_best_load_is_worth_the_most(
    sizes: list[int], counts: list[int], values: list[int], length: int
) -> None:
    """Of every length up to the longest, and of the last sizes alone."""
    counts, values = counts[: len(sizes)], values[: len(sizes)]
    sack = Knapsack(sizes, values, counts, 90)
    most = max(
        sum(v * n for v, n in zip(values, load, strict=True))
        for load in loads_of(sizes, counts, length)
    )
    load = sack.load(length)
    assert sack.best[length] == most == best_by_rest(sizes, values, counts, 90)[0][length]
    assert sum(v * n for v, n in zip(values, load, strict=True)) == most
    assert load in set(loads_of(sizes, counts, length))


def test_without_time_there_is_no_answer() -> None:
    """None is said to be proved."""
    answer = cut(CutQuestion((3, 4), (5, 5), (CutFrom(10, 1.0),)), 0.0)
    assert (answer.loads, answer.proved, answer.impossible) == (None, False, False)
