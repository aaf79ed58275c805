"""The solver's child: answers, bounds, limits, kills."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from bom.buy.solver import NOTHING, Programme, Solver


def two_for_five() -> Programme:
    """The least of 3x + 2y where x + y >= 5 and y <= 3: 2 and 3, by hand 12."""
    programme = Programme()
    x, y = programme.column(3.0), programme.column(2.0, at_most=3)
    programme.row({x: 1.0, y: 1.0}, at_least=5)
    return programme


def endless() -> Programme:
    """A knapsack of fifteen dimensions: an answer at once, and the least not in minutes."""
    programme = Programme()
    columns = [programme.column(-float(997 + n * 7919 % 1009), at_most=1) for n in range(60)]
    for row in range(15):
        terms = {c: float(1 + (c * 7 + row * 13) * 104729 % 997) for c in columns}
        programme.row(terms, at_most=6_000)
    return programme


def test_the_least_is_found_and_proved() -> None:
    """Values, the bound, and the proof."""
    with Solver(600) as solver:
        found = solver.solve(two_for_five())
    assert (found.values, found.proved) == ((2.0, 3.0), True)
    assert found.bound == pytest.approx(12)


def test_what_has_no_answer_is_proved_to_have_none() -> None:
    """X + y is at least 5 and at most 4."""
    programme = two_for_five()
    programme.row({0: 1.0, 1: 1.0}, at_most=4)
    with Solver(600) as solver:
        found = solver.solve(programme)
    assert (found.values, found.proved) == ((), True)


def test_no_time_no_answer() -> None:
    """A limit of 0 s starts no child."""
    with Solver(0) as solver:
        assert solver.solve(two_for_five()) == NOTHING
        assert solver.seconds_left == 0


def test_the_limit_of_a_question_is_kept_with_the_best_answer() -> None:
    """Two seconds of ten minutes: an answer, not proved, and the next question is answered."""
    with Solver(600) as solver:
        assert solver.solve(two_for_five()).proved  # the child is there
        found = solver.solve(endless(), seconds=2)
        assert (len(found.values), found.proved) == (60, False)
        assert solver.solve(two_for_five()).proved


def test_a_child_that_dies_is_missed_and_not_replaced() -> None:
    """Kill -9: no answer, no hanging, no error."""
    with Solver(600) as solver:
        assert solver.solve(two_for_five()).proved
        assert solver._child is not None
        os.kill(solver._child.pid, signal.SIGKILL)
        solver._child.wait()
        assert solver.solve(two_for_five()) == NOTHING
        assert solver.seconds_left == 0


def test_the_child_ends_with_its_parent() -> None:
    """A parent killed in the middle leaves no solver running behind it."""
    script = (
        "import os, signal; from bom.buy.solver import Solver\n"
        "solver = Solver(600); solver._start(); print(solver._child.pid, flush=True)\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    child = int(run.stdout)
    until = time.monotonic() + 300
    while (running := _runs(child)) and time.monotonic() < until:
        time.sleep(0.05)
    assert not running


def _runs(process: int) -> bool:
    """False for a process that has ended, its exit code asked for or not."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    state = Path(f"/proc/{process}/stat")
    return not state.exists() or state.read_text().split()[2] != "Z"


def test_the_same_programme_has_the_same_answer() -> None:
    """Value for value."""
    with Solver(600) as one, Solver(600) as two:
        assert one.solve(two_for_five()) == two.solve(two_for_five())


small = st.integers(-9, 9)


@pytest.fixture(scope="module")
def solver() -> Solver:
    """One child for all the examples."""
    return Solver(600)


@settings(max_examples=60)
@given(
    costs=st.lists(st.integers(1, 20), min_size=2, max_size=4),
    rows=st.lists(st.tuples(st.lists(small, min_size=4, max_size=4), small), max_size=4),
)
def test_against_another_front_end(
    solver: Solver, costs: list[int], rows: list[tuple[list[int], int]]
) -> None:
    """The same programmes through scipy.optimize.milp: the same least sum, or none."""
    programme = Programme()
    columns = [programme.column(float(cost), at_most=9) for cost in costs]
    for factors, least in rows:
        programme.row(dict(zip(columns, map(float, factors), strict=False)), at_least=float(least))
    found = solver.solve(programme)
    limits = [LinearConstraint([factors[: len(costs)]], lb=least) for factors, least in rows]
    reference = milp(costs, constraints=limits, integrality=[1] * len(costs), bounds=Bounds(0, 9))
    assert found.proved
    if not reference.success:
        assert found.values == ()
    else:
        sum_of = sum(cost * value for cost, value in zip(costs, found.values, strict=True))
        assert sum_of == pytest.approx(reference.fun)
