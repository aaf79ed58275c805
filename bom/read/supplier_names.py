"""Suppliers by the names that people call them: a part of the name, its letters, or with a slip."""

import re
from collections.abc import Iterable
from difflib import SequenceMatcher

from bom.files.spelling import Misspelt, fold

_NO_NAMES = frozenset(("ltd", "limited", "plc", "co", "company", "inc", "gmbh", "and", "the"))
"""Words that do not tell one firm from another."""

_ALIKE = 0.7
"""So much of a word is right where it has a slip: `cabels`, but not `north` for `south`."""


def called(typed: str, known: Iterable[str]) -> list[str]:
    """The suppliers that a name may stand for: the one of that very name, else those it is part of.

    >>> called("example cables", ["Example Cables Ltd", "Example Tools"])
    ['Example Cables Ltd']
    >>> called("Example", ["Example Cables Ltd", "Example Tools"])
    ['Example Cables Ltd', 'Example Tools']
    >>> called("ect", ["Example Cables & Terminals"]), called("Abel & Sons", ["Abel", "Berta"])
    (['Example Cables & Terminals'], ['Abel'])
    """
    names = list(dict.fromkeys(known))
    same = [name for name in names if fold(name) == fold(typed)]
    return same or [name for name in names if _is_part(_words(typed), _words(name))]


def slips_of(typed: str, known: Iterable[str]) -> list[str]:
    """The suppliers whose name this is but for a slip in its words.

    >>> slips_of("Exampel Cable Limited", ["Example Cables Ltd", "Example Tools"])
    ['Example Cables Ltd']
    >>> slips_of("North Electrical", ["South Electrical"])
    []
    """
    return [name for name in dict.fromkeys(known) if _is_slip(_words(typed), _words(name))]


def one_called(typed: str, known: Iterable[str], place: str) -> str:
    """The one supplier that a name stands for; raises `Misspelt` where that is none or several.

    `place` tells where they are known: `on the price lists`.
    """
    names = sorted({*known})
    found = called(typed, names)
    if len(found) == 1:
        return found[0]
    says = f"'{typed}' may be any of {len(found)} suppliers {place}"
    says = says if found else f"no supplier '{typed}' {place}"
    raise Misspelt(says, " or ".join(found or slips_of(typed, names) or names))


def _words(name: str) -> list[str]:
    words = re.findall(r"\w+", fold(name))
    return [word for word in words if word not in _NO_NAMES] or words


def _is_part(typed: list[str], name: list[str]) -> bool:
    """True for words that begin words of the name, for all of its words and more, for initials."""
    if not typed or not name:
        return False
    begins = all(any(word.startswith(part) for word in name) for part in typed)
    initials = len(name) > 1 and typed == ["".join(word[0] for word in name)]
    return begins or initials or {*name} <= {*typed}


def _is_slip(typed: list[str], name: list[str]) -> bool:
    if len(typed) != len(name):
        return _ratio("".join(typed), "".join(name)) > _ALIKE + (1 - _ALIKE) / 2
    return all(_ratio(a, b) >= _ALIKE for a, b in zip(typed, name, strict=True))


def _ratio(first: str, second: str) -> float:
    return SequenceMatcher(None, first, second).ratio()
