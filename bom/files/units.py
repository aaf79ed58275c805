"""Amounts as the shelf reckons them: lengths in millimetres, everything else one by one."""

from collections.abc import Mapping
from decimal import Decimal
from functools import cache

from bom.files.spelling import MM_PER_UNIT, fold, plain

PIECE_UNIT = "m"
"""The unit in which moves of cable are written."""

ThingKey = tuple[str, str]
"""What makes two rows the same thing on the shelf: its name folded, and `mm` or `each`."""

_MM: Mapping[str, Decimal] = {
    word: Decimal(mm.numerator) / Decimal(mm.denominator) for word, mm in MM_PER_UNIT.items()
}


@cache
def per_unit(unit: str) -> Decimal:
    """Millimetres in one of a unit of length, 1 for everything that is counted."""
    return _MM.get(fold(unit), Decimal(1))


@cache
def key_of(name: str, unit: str) -> ThingKey:
    """The key of a thing by its name and whether it is measured or counted.

    One thing counted is one thing, whatever word stands for it; a length is never a count.

    >>> key_of("Gasket", "pair") == key_of("gasket", "pcs"), key_of("hose", "ft")
    (True, ('hose', 'mm'))
    """
    return (fold(name), "mm" if fold(unit) in _MM else "each")


def reckoned_in(unit: str) -> str:
    """The unit of a thing's amount on the shelf: `mm` of a length, else its own word."""
    return "mm" if fold(unit) in _MM else unit


def shown(amount: Decimal, per: Decimal) -> Decimal:
    """An amount in a unit of `per`, to four decimals where it does not come out even.

    Rounded up then, so that a length in inches read back is not a millimetre shorter.

    >>> shown(Decimal(1600), Decimal(1000)), shown(Decimal(1234), Decimal("25.4"))
    (Decimal('1.6'), Decimal('48.5827'))
    """
    exact = amount / per
    rounded = exact.quantize(Decimal("0.0001"), "ROUND_CEILING")
    return Decimal(plain(exact if exact == rounded else rounded))
