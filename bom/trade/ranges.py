"""The range of a figure: what lies outside is refused by the figure's name, with the range."""

import math
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

Exact: TypeAlias = Fraction | Decimal | int
"""A number without binary rounding."""


def exact(**named: Exact) -> Fraction:
    """The one named number as a fraction; a float is refused, for its dust would be rounded up."""
    ((name, value),) = named.items()
    if isinstance(value, float):
        raise TypeError(f"{name} must be exact (int, Decimal or Fraction), not the float {value}")
    if isinstance(value, Decimal) and not value.is_finite():
        raise ValueError(f"{name} must be a number, not {value}")
    return Fraction(value)


def positive(**named: float | Fraction) -> None:
    """Refuse what is not above 0."""
    for name, value in named.items():
        if not 0 < value < math.inf:  # written so that a float's NaN fails too
            raise ValueError(f"{name} must be above 0, not {value}")


def not_negative(**named: float | Fraction) -> None:
    """Refuse what is below 0."""
    within(0, math.inf, **named)


def within(low: float, high: float, **named: float | Fraction) -> None:
    """Refuse what is not from `low` to `high`, nor finite."""
    for name, value in named.items():
        if not (low <= value <= high and value < math.inf):
            upper = "" if high == math.inf else f" to {high:g}"
            raise ValueError(f"{name} must be from {low:g}{upper}, not {value}")
