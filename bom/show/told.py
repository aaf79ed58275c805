"""What a person is told of problems: the cause first, what is alike in one sentence, each once."""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from msgspec.structs import replace

from bom.trade.problem import Problem, Where, counted

SEVERAL = 3
"""From so many on, problems of one kind are told by their number and what they are alike in."""
MOST_PLACES = 8
"""So many places, each a cell or a run of cells, stand before a sentence."""


def headline(problems: Sequence[Problem]) -> str:
    """How many there are, and where there are errors what to begin with.

    >>> from bom.trade.problem import caution, error
    >>> headline([caution(Where(), "b"), error(Where(), "a")])
    '1 error, 1 caution; begin with: a'
    """
    levels = Counter(problem.level for problem in problems if not problem.accepted)
    accepted = sum(bool(problem.accepted) for problem in problems)
    parts = [counted(levels[level], level) for level in ("error", "caution") if levels[level]]
    parts += [f"{accepted} accepted"] if accepted else []
    told = grouped(problems) if levels["error"] else []
    begin = f"; begin with: {told[0].says}" if len(told) > 1 else ""
    return f"{', '.join(parts)}{begin}"


def grouped(problems: Iterable[Problem], *, each: bool = False) -> list[Problem]:
    """Problems as they are told: causes, then errors, then cautions, those accepted left out.

    The same slip in many cells is one sentence with its cells, and so is what is alike; with
    `each` they are told one by one.

    >>> from bom.trade.problem import caution
    >>> rows = (2, 3, 4, 9)
    >>> slips = [caution(Where("j", "Loom", f"C{n}"), f"no {n}", alike="points lost") for n in rows]
    >>> [(str(problem.where), problem.says) for problem in grouped(slips)]
    [('j › Loom › C2 to C4, C9', '4 points lost')]
    """
    told = sorted(
        dict.fromkeys(problem for problem in problems if not problem.accepted),
        key=lambda problem: (not problem.cause, problem.level != "error"),
    )
    if each:
        return told
    kinds: dict[tuple[object, ...], list[Problem]] = defaultdict(list)
    for problem in told:
        kind = (problem.cause, problem.level, problem.where.file, problem.alike or _slip(problem))
        kinds[kind].append(problem)
    return [one for alike in kinds.values() for one in _of_one_kind(alike)]


def accepted(problems: Iterable[Problem]) -> list[str]:
    """What the owner accepts, with the reason; what is alike and has one reason in one line."""
    by_reason: dict[str, list[Problem]] = defaultdict(list)
    for problem in problems:
        if problem.accepted:
            by_reason[problem.accepted].append(replace(problem, accepted=""))
    return [
        f"{problem.where}: {problem.says} ({reason})"
        for reason, alike in by_reason.items()
        for problem in grouped(alike)
    ]


def _slip(problem: Problem) -> tuple[str, str]:
    return problem.says, problem.cure


def _of_one_kind(alike: Sequence[Problem]) -> Iterator[Problem]:
    """Problems of one kind: by their number where there are several, else each of its words."""
    slips: dict[tuple[str, str], list[Problem]] = defaultdict(list)
    for problem in alike:
        slips[_slip(problem)].append(problem)
    several = SEVERAL if str(alike[0].where) else 2  # what has no place is named, not its cells
    if len(alike) < several or len(slips) == 1 or not alike[0].alike:
        yield from (_at_all_cells(group, group[0].says) for group in slips.values())
    else:
        yield _at_all_cells(alike, f"{len(alike)} {alike[0].alike}{_names(alike)}")


def _names(group: Sequence[Problem]) -> str:
    """The first names of what has no place of its own: the words between quotes."""
    if str(group[0].where):
        return ""
    names = [name for problem in group for name in re.findall("'.+?'", problem.says)[:1]]
    more = len(names) - SEVERAL
    return f": {', '.join(names[:SEVERAL])}" + (f" and {more} more" if more > 0 else "")


def _at_all_cells(group: Sequence[Problem], says: str) -> Problem:
    """One problem for all of them, with their cells, and one cure for an example."""
    first = group[0]
    if len(group) == 1:
        return first
    unlike = len({problem.cure for problem in group}) > 1
    example = f" ({first.where.cell})" if unlike and first.cure and first.where.cell else ""
    return replace(first, where=_place(group), says=says, cure=f"{first.cure}{example}")


def _place(group: Sequence[Problem]) -> Where:
    """The file, sheets and cells of all of them; of very many cells the first."""
    file = group[0].where.file
    sheets: dict[str, list[str]] = defaultdict(list)
    for problem in group:
        sheets[problem.where.sheet].append(problem.where.cell)
    runs = {sheet: list(_runs(filter(None, cells))) for sheet, cells in sheets.items()}
    if len(runs) == 1:
        sheet, cells = next(iter(runs.items()))
        return Where(file, sheet, _few(cells))
    return Where(file, "", "; ".join(f"{s} {_few(cells)}".strip() for s, cells in runs.items()))


def _few(cells: Sequence[str]) -> str:
    more = len(cells) - MOST_PLACES
    return ", ".join(cells[:MOST_PLACES]) + (f" and {more} more" if more > 0 else "")


def _runs(cells: Iterable[str]) -> Iterator[str]:
    """Cells down each column, those without a gap between them as `C2 to C9`."""
    columns: dict[str, list[int]] = defaultdict(list)
    for cell in dict.fromkeys(cells):
        place = re.fullmatch(r"([A-Z]+)([0-9]+)", cell)
        if place is None:
            yield cell
        else:
            columns[place[1]].append(int(place[2]))
    for letters, rows in columns.items():
        for _, steps in groupby(enumerate(sorted(rows)), lambda step: step[1] - step[0]):
            run = [f"{letters}{row}" for _, row in steps]
            yield " to ".join(dict.fromkeys((run[0], run[-1])))
