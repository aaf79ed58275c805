"""Two questions to HiGHS, in a process of its own that can be stopped.

- `questions`: a programme in whole numbers, and pieces to cut for the least; their answers
- `process`: the process, held from outside
- `__main__`: the process, from inside
- `programme`; `columns`, `listing`, `knapsack`: how it finds the answers
"""

from bom.buy.solver.process import Solver
from bom.buy.solver.questions import (
    COIN,
    GAP,
    INFINITE,
    LOOSE,
    NOTHING,
    UNKNOWN,
    Column,
    CutAnswer,
    CutFrom,
    CutQuestion,
    Programme,
    Solution,
)

__all__ = [
    "COIN",
    "GAP",
    "INFINITE",
    "LOOSE",
    "NOTHING",
    "UNKNOWN",
    "Column",
    "CutAnswer",
    "CutFrom",
    "CutQuestion",
    "Programme",
    "Solution",
    "Solver",
]
