"""What is wrong or doubtful, and where: problems are data, not exceptions.

Every stage returns the problems it found beside its result.  One problem is one
sentence for a person, with the file, sheet and cell it speaks of and, where the
program can suggest a cure, what to try.
"""

import re
import shlex
from collections.abc import Iterable, Sequence
from decimal import Decimal
from difflib import get_close_matches
from itertools import chain
from typing import Literal

from msgspec import Struct

from bom.trade.visible import visible

Level = Literal["error", "caution"]
"""`error` stops the job; `caution` is printed and the work goes on."""


class Where(Struct, frozen=True):
    """A place in the user's files; `sheet` and `cell` are empty when the whole is meant."""

    file: str = ""
    sheet: str = ""
    cell: str = ""

    def __str__(self) -> str:
        named_by_file = self.file.endswith(f"/{self.sheet}.csv")
        sheet = "" if named_by_file else self.sheet
        return " › ".join(part for part in (self.file, sheet, self.cell) if part)


class Problem(Struct, frozen=True):
    """One thing wrong (`error`) or doubtful (`caution`), with its place and its cure.

    `alike` is what several of its kind are told as in one sentence, behind their number: `feeds
    without a fuse`.  A `cause` is told before everything that may follow from it, an error or not.
    `accepted` is the reason for which the owner lets it be, as an `acceptable` error may be too.
    """

    level: Level
    where: Where
    says: str
    cure: str = ""
    alike: str = ""
    cause: bool = False
    accepted: str = ""
    acceptable: bool = False

    def told(self, between: str = "\n    ") -> str:
        """The problem as one reads it, its cure behind `between`; each of its parts in one line."""
        place = f"{visible(str(self.where))}: " if str(self.where) else ""
        cure = f"{between}try: {visible(self.cure)}" if self.cure else ""
        return f"{self.level}: {place}{visible(self.says)}{cure}"

    def __str__(self) -> str:
        return self.told()


def error(
    where: Where,
    says: str,
    cure: str = "",
    *,
    alike: str = "",
    cause: bool = False,
    acceptable: bool = False,
) -> Problem:
    """A problem that stops the job."""
    return Problem("error", where, says, cure, alike, cause, acceptable=acceptable)


def caution(
    where: Where, says: str, cure: str = "", *, alike: str = "", cause: bool = False
) -> Problem:
    """A problem that is printed while the work goes on."""
    return Problem("caution", where, says, cure, alike, cause)


def has_errors(problems: Iterable[Problem]) -> bool:
    """True when at least one of the problems stops the job."""
    return any(problem.level == "error" for problem in problems)


def in_file_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems once each, by file, sheet, row and column; what is said of a whole one first."""
    return tuple(
        sorted(
            dict.fromkeys(problems),
            key=lambda p: (p.where.file, p.where.sheet, _row_and_column(p.where.cell)),
        )
    )


def _row_and_column(cell: str) -> tuple[int, int, str]:
    match = re.fullmatch(r"([A-Z]+)?([0-9]+)", cell)
    if match is None:
        return (0, 0, cell)
    letters = match[1] or ""
    return (int(match[2]), len(letters), letters)


def nearest(word: str, known: Iterable[str]) -> str:
    """The known spelling closest to `word` in any case, or an empty string when none is close.

    Of several that are close it is one with the same figures: they tell sizes apart.

    >>> nearest("gren", ["green", "grey", "red"])
    'green'
    >>> nearest("h4 dpi", ["H4 main", "H4 dip"])
    'H4 dip'
    >>> nearest("ring terminal M6 2.5", ["ring terminal, M5, 2.5", "ring terminal, M6, 2.5-6.0"])
    'ring terminal, M6, 2.5-6.0'
    >>> nearest("zzz", ["green"])
    ''
    """
    spelled = {name.casefold(): name for name in known}
    close = get_close_matches(word.casefold(), spelled, n=_CLOSE, cutoff=0.6)
    figures = _figures(word)
    best = max(close, key=lambda name: len(figures & _figures(name)), default="")
    return spelled.get(best, "")


def near_names(word: str, *known: Sequence[str]) -> str:
    """Up to three names that have every word of `word`, else the nearest; of the first list first.

    >>> near_names("ring terminal, M6", ["ring terminal, M5, 2.5", "ring terminal, M6, 2.5"])
    'ring terminal, M6, 2.5'
    >>> near_names("loom tpe", ["loom tape, 19 mm"], ["loom tape, 25 mm"])
    'loom tape, 19 mm'
    """
    fitting = ([name for name in names if _has_all_of(name, word)] for names in known)
    if few := next(filter(None, fitting), [])[:_FEW]:
        return " or ".join(few)
    near = (nearest(word, names) for names in known)
    of_the_size = (name for name in near if name and _figures(word) <= _figures(name))
    return next(of_the_size, "") or nearest(word, chain(*known))


def _has_all_of(name: str, typed: str) -> bool:
    """Sizes have to be the same; of another word a letter may be missing or double."""
    words = _words(name)
    return all(
        word in words or (not _figures(word) and get_close_matches(word, words, 1, _A_SLIP))
        for word in _words(typed)
    )


def _words(text: str) -> list[str]:
    return re.split(r"[,;]?\s+", text.casefold().strip(" ,;"))


_FEW = 3
_A_SLIP = 0.85
"""So much alike are words with such a slip; `male` and `female` are less."""

_CLOSE = 20
"""Among so many close spellings the one with the same figures is looked for."""


def _figures(text: str) -> frozenset[tuple[str, Decimal]]:
    """The figures of a text by their value, each with the letter before it: M6 is not 6."""
    found = re.findall(r"([a-z]?)(\d+(?:[.,]\d+)?)", text.casefold())
    return frozenset((letter, Decimal(figure.replace(",", "."))) for letter, figure in found)


def counted(number: int, word: str) -> str:
    """A number with its word, which takes an s unless there is one of it.

    >>> counted(1, "thing"), counted(0, "thing")
    ('1 thing', '0 things')
    """
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def listed(names: Iterable[str]) -> str:
    """Names in a sentence.

    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def as_typed(name: object) -> str:
    """A name as it is typed behind a command, in double quotes where it has blanks or marks.

    Double quotes are what every shell takes, on Windows too; what a shell would run inside them
    stands in single ones.

    >>> as_typed("twin"), as_typed("old twin"), as_typed("$(twin)")
    ('twin', '"old twin"', "'$(twin)'")
    """
    text = str(name)
    if re.fullmatch(r"[\w.,:/\\@%+=-]+", text):
        return text
    return shlex.quote(text) if re.search(r'[$`"!]', text) else f'"{text}"'
