"""What a cell says: its number or its words, and how they go to print and into a file."""

import math
import re
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Literal, TypeAlias

from bom.files.spelling import plain
from bom.trade.money import round_price
from bom.trade.visible import visible

Cell: TypeAlias = str | int | Decimal | float | bool | None
"""What a cell can hold; a per cent is its number of hundredths: 5 is shown as 5.0 %."""

Form = Literal[
    "text",
    "mm",
    "m",
    "count",
    "money",
    "price",
    "amps",
    "volts",
    "percent",
    "quantity",
    "hours",
]
"""How a column is shown; the unit of its numbers is that of the form.

`money` is a sum, to two decimals; a `price` keeps what it has beyond them.
"""

OF_MONEY = frozenset(("money", "price"))
"""The forms whose unit is the currency of the house."""

UNITS = {"mm": "mm", "m": "m", "amps": "A", "volts": "V", "percent": "%", "hours": "h"}
_DECIMALS = {"mm": 0, "m": 2, "money": 2, "amps": 2, "volts": 3, "percent": 1, "hours": 2}
_MANY_DIGITS = Context(prec=400)  # any float written out in full has fewer

_BAD_IN_FILES = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")  # XML 1.0, 2.2 Char
_SURROGATES = re.compile("[\ud800-\udfff]")  # a file name that is no UTF-8 has them


def number(value: Cell) -> Decimal | None:
    """The exact number of a cell, a float to the 15 figures a spreadsheet keeps; else None."""
    if value is None or isinstance(value, str | bool) or not math.isfinite(value):
        return None
    exact = Decimal(f"{value:.15g}") if isinstance(value, float) else Decimal(value)
    return exact or Decimal()  # never a minus before nothing


def words(value: Cell) -> str:
    """The text of a cell that holds no number."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def shown(value: Cell, form: Form) -> str:
    """A cell as it is printed, without its unit and not yet wrapped."""
    exact = number(value)
    if exact is None:
        return visible(words(value))
    if form == "price":
        return str(round_price(exact))
    if form not in _DECIMALS:
        return plain(exact)
    rounded = _rounded(exact, _DECIMALS[form])
    return plain(Decimal(rounded)) if form == "amps" else rounded


def _rounded(exact: Decimal, decimals: int) -> str:
    """Half away from zero, as spreadsheets round; never a minus before nothing.

    >>> _rounded(Decimal("0.125"), 2), _rounded(Decimal("-0.001"), 2)
    ('0.13', '0.00')
    """
    result = exact.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP, _MANY_DIGITS)
    return format(result or abs(result), "f")


MAX_CHARACTERS = 32_767
"""Of a cell, in units of UTF-16 (Excel specifications and limits, Microsoft support)."""


def cut(text: str, length: int) -> str:
    """At most `length` units of UTF-16, in which spreadsheets count."""
    while (over := len(text.encode("utf-16-le", "surrogatepass")) // 2 - length) > 0:
        text = text[: -((over + 1) // 2)]
    return text


def fit_for_a_cell(text: str) -> str:
    """As `fit_for_files`, and with a sign at its end where it is longer than a workbook's cell."""
    text = fit_for_files(text)
    shorter = cut(text, MAX_CHARACTERS)
    return text if shorter == text else cut(text, MAX_CHARACTERS - 1) + "\u2026"


def fit_for_files(text: str) -> str:
    """Line breaks and tabs stay; what XML or UTF-8 cannot hold goes."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return _BAD_IN_FILES.sub("", _SURROGATES.sub("\ufffd", text))
