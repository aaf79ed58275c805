"""What the owner accepts: cautions taken out of the count by a row of the Job sheet, with a reason.

Nothing is hidden by it: what is accepted is printed with its reason, and a row that accepts
nothing any more is told.
"""

from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from bom.trade.problem import Problem, Where, caution, has_errors


class Accept(Struct, frozen=True, kw_only=True):
    """Places whose cautions are accepted: cells, or a sheet for what is said of it as a whole.

    `where` is the cell that says so.
    """

    places: frozenset[Where]
    reason: str
    where: Where


def accepted(problems: Iterable[Problem], rows: Sequence[Accept]) -> tuple[Problem, ...]:
    """The problems, those marked that a row accepts: cautions, and errors that say they may be."""
    if not rows:
        return tuple(problems)
    return tuple(_accepted(problem, rows) for problem in problems)


def _accepted(problem: Problem, rows: Sequence[Accept]) -> Problem:
    row = next((row for row in rows if problem.where in row.places), None)
    if row is None or not (problem.level == "caution" or problem.acceptable):
        return problem
    return replace(problem, level="caution", accepted=row.reason)


def idle(problems: Sequence[Problem], rows: Iterable[Accept]) -> Iterable[Problem]:
    """Rows that accept nothing, where all was looked through; told at their own cells."""
    for row in rows:
        there = [problem for problem in problems if problem.where in row.places]
        if any(problem.accepted for problem in there):
            continue
        if there:
            yield caution(row.where, "the error there cannot be accepted", "mend it there")
        elif not has_errors(problems):
            yield caution(row.where, "there is nothing to accept there", "take this row away")
