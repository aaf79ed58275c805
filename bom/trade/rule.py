"""What a house rule is: what it may be, and why no more."""

import re
from decimal import Decimal, InvalidOperation
from typing import Any

from msgspec import Struct

COMMON = "common practice"
HOUSE = "house default"

TINY = Decimal("0.000001")
"""What is meant to be above 0 is at least this."""


class Rule(Struct, frozen=True):
    """What a house rule is, where its default comes from, and what it may be."""

    says: str
    origin: str = HOUSE
    above: int | None = None
    at_least: int | None = None
    below: int | None = None
    at_most: int | None = None
    why: str = ""
    """Why it may be no more."""
    pattern: str = ""
    pattern_says: str = ""

    @property
    def range(self) -> str:
        """The figures that it may be, in words; empty for a rule that is no figure."""
        least = self.at_least if self.above is None else f"above {self.above}"
        most = self.at_most if self.below is None else f"below {self.below}"
        return "" if least is None else f"{least} to {most}"


class NotAllowed(ValueError):
    """A figure that a house rule cannot have; its text is what the figure must be."""


def from_0(says: str, at_most: int, why: str, origin: str = HOUSE) -> Rule:
    """A figure from 0 up."""
    return Rule(says, origin, at_least=0, at_most=at_most, why=why)


def above_0(says: str, at_most: int, why: str, origin: str = HOUSE) -> Rule:
    """A figure above 0."""
    return Rule(says, origin, above=0, at_most=at_most, why=why)


def percent(says: str, origin: str = HOUSE) -> Rule:
    """A share of something, in per cent."""
    return Rule(says, origin, at_least=0, at_most=1000, why="ten times over")


def money(says: str) -> Rule:
    """A sum of money."""
    return from_0(says, 1_000_000, "in any currency")


def word_of(rule: Rule, value: Any) -> str:
    """A word that a rule may be."""
    if not isinstance(value, str):
        raise NotAllowed("words in quotes")
    if rule.pattern and not re.fullmatch(rule.pattern, value):
        raise NotAllowed(rule.pattern_says)
    return value


def figure_of(value: Any, *, whole: bool) -> Decimal:
    """A figure, exact."""
    must = "a whole number" if whole else "a number"
    if isinstance(value, bool) or not isinstance(value, str | int | float | Decimal):
        raise NotAllowed(must)
    try:
        number = Decimal(value if isinstance(value, int | Decimal) else str(value).strip())
    except InvalidOperation:
        raise NotAllowed(must) from None
    if not number.is_finite() or (whole and number != number.to_integral_value()):
        raise NotAllowed(must)
    return number


def within(rule: Rule, figure: Decimal) -> Decimal:
    """A figure that a rule may be."""
    if rule.above is not None and figure < rule.above + TINY:
        raise NotAllowed(f"above {rule.above}")
    if rule.at_least is not None and figure < rule.at_least:
        raise NotAllowed(f"{rule.at_least} or more")
    if rule.below is not None and figure >= rule.below:
        raise NotAllowed(f"below {rule.below}")
    if rule.at_most is not None and figure > rule.at_most:
        raise NotAllowed(f"{rule.at_most} or less ({rule.why})")
    return figure
