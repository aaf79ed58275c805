"""What is wrong or doubtful, and where: problems are data, not exceptions.

Every stage returns the problems it found beside its result.  One problem is one
sentence for a person, with the file, sheet and cell it speaks of and, where the
program can suggest a cure, what to try.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

Level = Literal["error", "caution"]
"""`error` stops the job; `caution` is printed and the work goes on."""


@dataclass(frozen=True, slots=True)
class Where:
    """A place in the user's files; `sheet` and `cell` are empty when the whole is meant."""

    file: str = ""
    sheet: str = ""
    cell: str = ""

    def __str__(self) -> str:
        named_by_file = self.file.endswith(f"/{self.sheet}.csv")
        sheet = "" if named_by_file else self.sheet
        return " › ".join(part for part in (self.file, sheet, self.cell) if part)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong (`error`) or doubtful (`caution`), with its place and its cure."""

    level: Level
    where: Where
    says: str
    cure: str = ""

    def __str__(self) -> str:
        place = f"{self.where}: " if str(self.where) else ""
        cure = f"\n    try: {self.cure}" if self.cure else ""
        return f"{self.level}: {place}{self.says}{cure}"


def error(where: Where, says: str, cure: str = "") -> Problem:
    """A problem that stops the job."""
    return Problem("error", where, says, cure)


def caution(where: Where, says: str, cure: str = "") -> Problem:
    """A problem that is printed while the work goes on."""
    return Problem("caution", where, says, cure)


def has_errors(problems: Iterable[Problem]) -> bool:
    """True when at least one of the problems stops the job."""
    return any(problem.level == "error" for problem in problems)


def in_file_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems once each, by file and sheet in the order met, then by row and column."""
    once = list(dict.fromkeys(problems))
    rank: dict[tuple[str, str], int] = {}
    for problem in once:
        rank.setdefault((problem.where.file, problem.where.sheet), len(rank))
    files: dict[str, int] = {}
    for file, _ in rank:
        files.setdefault(file, len(files))
    return tuple(
        sorted(
            once,
            key=lambda p: (
                files[p.where.file],
                p.where.sheet != "",
                rank[p.where.file, p.where.sheet],
                _row_and_column(p.where.cell),
            ),
        )
    )


def _row_and_column(cell: str) -> tuple[int, int, str]:
    match = re.fullmatch(r"([A-Z]+)?([0-9]+)", cell)
    if match is None:
        return (0, 0, cell)
    letters = match[1] or ""
    return (int(match[2]), len(letters), letters)


def nearest(word: str, known: Iterable[str]) -> str:
    """The known spelling closest to `word`, or an empty string when none is close.

    >>> nearest("gren", ["green", "grey", "red"])
    'green'
    >>> nearest("zzz", ["green"])
    ''
    """
    close = get_close_matches(word.casefold(), list(known), n=1, cutoff=0.6)
    return close[0] if close else ""
