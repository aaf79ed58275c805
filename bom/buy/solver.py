"""Programmes with whole numbers, solved by HiGHS in a process of its own.

The solver's own time limit is not hard (it was measured to run on for five times as
long), so that it works in a child that is killed when its time is up.  The child tells
every better answer as it finds it: a kill loses the proof, not the best answer so far.
One thread, a fixed seed and rows in the caller's order: same programme, same answer.

Run as a module this file is the child: programmes come in on stdin and answers go out on
stdout, a line of JSON each.
"""

import contextlib
import json
import math
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct, field

INFINITE = math.inf

SOFT = 0.85
"""The solver is told to end by itself after this share of its time: it then tells its bound."""

GAP = 0.005
"""Answers nearer than this to the least there can be count as the least: half a penny."""


class Programme(Struct):
    """Columns with a cost and bounds, rows of terms with bounds; the least sum is sought."""

    costs: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[dict[int, float], float, float]] = field(default_factory=list)

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
        self.upper.append(at_most)
        self.whole.append(whole)
        return len(self.costs) - 1

    def row(
        self,
        terms: Mapping[int, float],
        *,
        at_least: float = -INFINITE,
        at_most: float = INFINITE,
    ) -> None:
        """A condition: the sum of factor x unknown lies between the bounds."""
        self.rows.append((dict(terms), at_least, at_most))


class Solution(Struct, frozen=True):
    """The best values known (empty: none), the least the sum can be, and whether that is it.

    `proved` without values says that there is no answer.
    """

    values: tuple[float, ...]
    bound: float
    proved: bool


NOTHING = Solution((), -INFINITE, proved=False)


class Solver:
    """A child that solves one programme after another until the seconds are used up.

    A child that runs over the time of one programme is replaced for the next; one that
    dies by itself is not, as it would die again.
    """

    def __init__(self, seconds: float) -> None:
        self._deadline = time.monotonic() + seconds
        self._child: subprocess.Popen[str] | None = None
        self._lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._dead = False

    def __enter__(self) -> "Solver":
        return self

    def __exit__(self, *_: object) -> None:
        self._kill()

    @property
    def seconds_left(self) -> float:
        """What is left of the time; 0 when no child will come of it."""
        return 0.0 if self._dead else max(0.0, self._deadline - time.monotonic())

    def solve(self, programme: Programme, *, seconds: float = INFINITE) -> Solution:
        """The least answer, or the best one known when the time is up or the child dies."""
        self._start()
        child, limit = self._child, min(self.seconds_left, seconds)
        if child is None or child.stdin is None or limit <= 0:
            return NOTHING
        end = time.monotonic() + limit
        try:
            child.stdin.write(json.dumps({**_as_data(programme), "seconds": SOFT * limit}) + "\n")
            child.stdin.flush()
        except OSError:
            self._dead = True
            return NOTHING
        return self._listen(end)

    def _listen(self, end: float) -> Solution:
        """Better answers as they come, until the last word, the end of time or of the child."""
        best = NOTHING
        while True:
            try:
                line = self._lines.get(timeout=max(0.0, end - time.monotonic()))
            except queue.Empty:
                self._kill()
                return best
            if line is None:
                self._dead = True
                return best
            says = json.loads(line)
            bound = -INFINITE if says["bound"] is None else says["bound"]
            found = Solution(tuple(says["values"]) or best.values, bound, proved=says["proved"])
            if says["last"]:
                return found
            best = found

    def _start(self) -> None:
        if self._child or self.seconds_left <= 0:
            return
        # the child must find this very package, wherever it was imported from
        here = str(Path(__file__).resolve().parents[2])
        paths = os.pathsep.join(filter(None, (here, os.environ.get("PYTHONPATH"))))
        try:
            self._child = subprocess.Popen(
                [sys.executable, "-m", "bom.buy.solver"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
                env={**os.environ, "PYTHONPATH": paths, "OMP_NUM_THREADS": "1"},
            )
        except OSError:
            self._dead = True
            return
        self._lines = queue.SimpleQueue()
        threading.Thread(target=_pump, args=(self._child, self._lines), daemon=True).start()

    def _kill(self) -> None:
        child, self._child = self._child, None
        if child is None:
            return
        child.kill()
        child.wait()
        for stream in filter(None, (child.stdin, child.stdout)):
            with contextlib.suppress(OSError):
                stream.close()


def _pump(child: "subprocess.Popen[str]", lines: "queue.SimpleQueue[str | None]") -> None:
    """Carry the child's lines to the queue, and None when it says no more."""
    try:
        for line in child.stdout or ():
            lines.put(line)
    except ValueError:  # closed under our hands
        pass
    lines.put(None)


def _as_data(programme: Programme) -> dict[str, Any]:
    """The programme as JSON can carry it: no infinities."""

    def ends(values: Sequence[float]) -> list[float | None]:
        return [None if math.isinf(value) else value for value in values]

    return {
        "costs": programme.costs,
        "lower": ends(programme.lower),
        "upper": ends(programme.upper),
        "whole": programme.whole,
        "rows": [[list(terms), list(terms.values())] for terms, _, _ in programme.rows],
        "least": ends([low for _, low, _ in programme.rows]),
        "most": ends([high for _, _, high in programme.rows]),
    }


# ----------------------------------------------------------------------------- the child


def _serve() -> None:
    """Answer programmes until stdin ends.  Banners of the library must not reach stdout."""
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)

    def say(values: list[float], bound: float, *, proved: bool, last: bool) -> None:
        least = bound if math.isfinite(bound) else None
        words = {"values": values, "bound": least, "proved": proved, "last": last}
        answers.write(json.dumps(words) + "\n")
        answers.flush()

    for line in sys.stdin:
        _answer(json.loads(line), say)


def _answer(data: dict[str, Any], say: Callable[..., None]) -> None:
    """Solve one programme; `say` takes values, bound, proved, and whether that is the last."""
    import highspy as library

    highspy: Any = library  # it has no types of its own

    def better(event: Any) -> None:
        out = event.data_out
        say(list(out.mip_solution), out.mip_dual_bound, proved=False, last=False)

    highs = highspy.Highs()
    for option, value in (
        ("output_flag", False),
        ("threads", 1),
        ("random_seed", 0),
        ("time_limit", data["seconds"]),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", GAP),
        ("mip_feasibility_tolerance", 1e-7),
    ):
        highs.setOptionValue(option, value)
    highs.cbMipImprovingSolution += better
    highs.passModel(_model(highspy, data))
    highs.run()
    status = highs.getModelStatus()
    solved = status == highspy.HighsModelStatus.kOptimal
    none = status == highspy.HighsModelStatus.kInfeasible
    info = highs.getInfo()
    bound = info.mip_dual_bound if any(data["whole"]) else info.objective_function_value
    some = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    values = list(highs.getSolution().col_value) if some else []
    say(values, -INFINITE if none else bound, proved=solved or none, last=True)


def _model(highspy: Any, data: dict[str, Any]) -> Any:
    import numpy as np

    def ends(values: Sequence[float | None], infinite: float) -> Any:
        return np.array([infinite if value is None else value for value in values], dtype=float)

    infinite = highspy.kHighsInf
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(data["costs"]), len(data["rows"])
    lp.col_cost_ = np.array(data["costs"], dtype=float)
    lp.col_lower_, lp.col_upper_ = ends(data["lower"], -infinite), ends(data["upper"], infinite)
    lp.row_lower_, lp.row_upper_ = ends(data["least"], -infinite), ends(data["most"], infinite)
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in data["whole"]]
    starts = np.cumsum([0, *(len(columns) for columns, _ in data["rows"])])
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = starts.astype(np.int32)
    lp.a_matrix_.index_ = np.array([c for columns, _ in data["rows"] for c in columns], np.int32)
    lp.a_matrix_.value_ = np.array([v for _, values in data["rows"] for v in values], float)
    return lp


if __name__ == "__main__":
    _serve()
