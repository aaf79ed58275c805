"""A price as it is kept and printed."""

from decimal import ROUND_HALF_UP, Decimal


def round_price(value: Decimal) -> Decimal:
    """The price of one pack, metre or piece, with the decimals it has: two to four of them.

    Half of the last and above goes away from zero, as with sums of money: so many times the price,
    as it is printed, is the cost beside it.

    >>> [f"{round_price(Decimal(price))}" for price in ("0.4", "1.625", "0.33335", "12.5000")]
    ['0.40', '1.625', '0.3334', '12.50']
    """
    rounded = value.quantize(Decimal("0.0001"), rounding=ROUND_HALF_UP)
    decimals = next(number for number in (2, 3, 4) if rounded == round(rounded, number))
    return round(rounded, decimals) + Decimal("0.00")
