"""Sets of loads, and loads that are never on together: each with the words of every way to it.

Loads are known by numbers, and those that can always be on are the bits of one whole number:
a thousand sets along a chain are then joined, compared and kept without copying a load.

A word (`one of`) is set to one of its choices at a time.  A load is on where all words of
one of its ways are set so; a current is the largest sum over all settings.
"""

import functools
import itertools
import math
import operator
from collections.abc import Hashable, Iterable, Mapping
from fractions import Fraction
from typing import TypeVar

from msgspec import Struct

LoadId = TypeVar("LoadId", bound=Hashable)
"""What a load goes under: a number, or its name."""

Way = frozenset[tuple[str, str]]
"""The words on one way to a load, each with its choice."""

Ways = frozenset[Way]
"""All ways to a load; only the least demanding ones are kept."""

ALWAYS: Ways = frozenset((frozenset(),))


class Loads(Struct, frozen=True):
    """A set of loads: `always` has a bit for each that can always be on, `worded` are the others.

    >>> Loads(0b101) == merged([Loads(0b001), Loads(0b100)]), bool(NOTHING)
    (True, False)
    """

    always: int = 0
    worded: Mapping[int, Ways] = {}

    def __bool__(self) -> bool:
        return bool(self.always or self.worded)

    @property
    def every(self) -> int:
        """All of them as bits, whatever the words."""
        return self.always | as_bits(self.worded)

    def ways(self) -> dict[int, Ways]:
        """All of them by number, each with its ways."""
        return {**dict.fromkeys(numbers(self.always), ALWAYS), **self.worded}


NOTHING = Loads()
MOST_SETTINGS = 20_000
"""Settings of the words tried for one current; beyond it all of those loads are summed."""


def under(loads: Loads, one_of: tuple[str, str] | None, owner: str) -> Loads:
    """Loads with a word put in front of their ways; the same word further on gives way."""
    if one_of is None or not loads:
        return loads
    word, choice = one_of[0], one_of[1] or f"\0{owner}"
    worded = {
        number: least(
            frozenset({(word, choice), *((w, c) for w, c in way if w != word)}) for way in ways
        )
        for number, ways in loads.ways().items()
    }
    return Loads(worded=worded)


def merged(parts: Iterable[Loads]) -> Loads:
    """The union of sets of loads, with the ways of each joined."""
    filled = list({id(part): part for part in parts if part}.values())
    if len(filled) == 1:
        return filled[0]
    always = union(part.always for part in filled)
    worded: dict[int, Ways] = {}
    for part in filled:
        for number, ways in part.worded.items():
            if not always >> number & 1:
                known = worded.get(number, ways)
                worded[number] = ways if known == ways else least((*known, *ways))
    return Loads(always, worded)


def union(sets: Iterable[int]) -> int:
    """Sets of loads joined, as bits."""
    return functools.reduce(operator.or_, sets, 0)


def as_bits(loads: Iterable[int]) -> int:
    """Numbers of loads as the bits of one."""
    return union(1 << number for number in loads)


def numbers(bits: int) -> list[int]:
    """The numbers of the loads in a set, the lowest first.

    >>> numbers(as_bits([3, 0])), numbers(0)
    ([0, 3], [])
    """
    return [number for number, bit in enumerate(f"{bits:b}"[::-1]) if bit == "1"]


def least(ways: Iterable[Way]) -> Ways:
    """Only the ways that ask for no more than another one does."""
    kept: list[Way] = []
    for way in sorted(set(ways), key=len):
        if not any(other <= way for other in kept):
            kept.append(way)
    return frozenset(kept)


def largest_sum(amps: Mapping[LoadId, Fraction], loads: Mapping[LoadId, Ways]) -> Fraction:
    """The largest sum of currents over all settings of the words, exact.

    Words that share no load are set apart from one another.  Where one group has more
    than `MOST_SETTINGS` settings all of its loads are summed: the safe side.
    """
    if len(loads) == 1:
        ((number, ways),) = loads.items()
        if ways == ALWAYS:
            return amps[number]
    total = sum((amps[n] for n, ways in loads.items() if ways == ALWAYS), Fraction(0))
    worded = {n: ways for n, ways in loads.items() if ways != ALWAYS}
    for group in _groups(worded):
        total += _largest_of_group(amps, {n: worded[n] for n in group})
    return total


def _groups(worded: Mapping[LoadId, Ways]) -> list[list[LoadId]]:
    """Loads grouped by shared words."""
    group_of: dict[str, list[LoadId]] = {}
    for load, ways in worded.items():
        words = {word for way in ways for word, _ in way}
        found = {id(group_of[word]): group_of[word] for word in words if word in group_of}
        joined = [*itertools.chain.from_iterable(found.values()), load]
        touched = [word for word, group in group_of.items() if id(group) in found]
        group_of.update(dict.fromkeys((*touched, *words), joined))
    return list({id(group): group for group in group_of.values()}.values())


def _largest_of_group(amps: Mapping[LoadId, Fraction], loads: Mapping[LoadId, Ways]) -> Fraction:
    choices: dict[str, dict[str, None]] = {}
    for ways in loads.values():
        for way in ways:
            for word, choice in way:
                choices.setdefault(word, {})[choice] = None
    if math.prod(len(options) for options in choices.values()) > MOST_SETTINGS:
        return sum((amps[n] for n in loads), Fraction(0))
    words = list(choices)
    return max(
        sum((amps[n] for n, ways in loads.items() if _is_on(ways, setting)), Fraction(0))
        for chosen in itertools.product(*choices.values())
        for setting in [set(zip(words, chosen, strict=True))]
    )


def _is_on(ways: Ways, setting: set[tuple[str, str]]) -> bool:
    return any(way <= setting for way in ways)
