"""A programme in whole numbers, by HiGHS."""

import math
from collections.abc import Callable, Sequence
from itertools import accumulate
from typing import Any

import highspy as library
import numpy as np

from bom.buy.solver.questions import Programme, Solution

highspy: Any = library  # it has no types of its own


def quiet(seconds: float) -> Any:
    """HiGHS without a word, with one thread and a fixed seed."""
    highs = highspy.Highs()
    for option, value in (
        ("output_flag", False),
        ("threads", 1),
        ("random_seed", 0),
        ("time_limit", max(seconds, 0.001)),
        ("mip_rel_gap", 0.0),
        ("mip_feasibility_tolerance", 1e-7),
    ):
        highs.setOptionValue(option, value)
    return highs


def solve(programme: Programme, seconds: float, say: Callable[[Solution], None]) -> Solution:
    """The least answer; `say` is told of every better one on the way.

    No answer is given to begin with: HiGHS 1.15.1 was seen to call one the least that was not
    (20 rows; without it, it found the least at once).
    """

    def better(event: Any) -> None:
        known = event.data_out
        bound = known.mip_dual_bound
        values = tuple(map(float, known.mip_solution))
        say(Solution(values, bound if math.isfinite(bound) else None, last=False))

    highs = quiet(seconds)
    highs.setOptionValue("mip_abs_gap", programme.gap)
    highs.setOptionValue("presolve", "choose" if programme.presolve else "off")
    highs.cbMipImprovingSolution += better
    highs.passModel(_model(programme))
    highs.run()
    status = highs.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return Solution(proved=True)
    info = highs.getInfo()
    bound = info.mip_dual_bound if any(programme.whole) else info.objective_function_value
    some = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    return Solution(
        values=tuple(highs.getSolution().col_value) if some else (),
        bound=bound if math.isfinite(bound) else None,
        proved=status == highspy.HighsModelStatus.kOptimal,
    )


def _model(programme: Programme) -> Any:
    def ends(values: Sequence[float | None], infinite: float) -> Any:
        return np.array([infinite if value is None else value for value in values], dtype=float)

    infinite = highspy.kHighsInf
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(programme.costs), len(programme.rows)
    lp.col_cost_ = np.array(programme.costs, dtype=float)
    lp.col_lower_, lp.col_upper_ = ends(programme.lower, -infinite), ends(programme.upper, infinite)
    lp.row_lower_ = ends([low for _, low, _ in programme.rows], -infinite)
    lp.row_upper_ = ends([high for _, _, high in programme.rows], infinite)
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger if w else kinds.kContinuous for w in programme.whole]
    terms = [terms for terms, _, _ in programme.rows]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.array([*accumulate(map(len, terms), initial=0)], np.int32)
    lp.a_matrix_.index_ = np.array([c for row in terms for c in row], np.int32)
    lp.a_matrix_.value_ = np.array([v for row in terms for v in row.values()], float)
    return lp
