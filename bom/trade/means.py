"""What many jobs teach together: means and how sure they are, each with its source."""

import math
from collections.abc import Sequence

from bom.trade.ranges import not_negative, positive


def weighted_mean(values: Sequence[float], weights: Sequence[float]) -> float:
    """The mean of values, each with its weight above 0; of ratios by their bases, sum by sum.

    Source: arithmetic: the sum of value x weight over the sum of the weights.

    >>> weighted_mean([0.10, 0.20], [3, 1])
    0.125
    """
    _weighted(values, weights)
    products = (v * w for v, w in zip(values, weights, strict=True))
    return math.fsum(products) / math.fsum(weights)


def sample_deviation(values: Sequence[float]) -> float:
    """The experimental standard deviation of two values or more: root of sum (q - mean)^2/(n - 1).

    Each value counts alike.  Source: JCGM 100:2008, 4.2.2, equation 4.

    >>> sample_deviation([2, 4, 6])
    2.0
    """
    if len(values) < 2:
        raise ValueError(f"a deviation needs two values or more, not {len(values)}")
    mean = math.fsum(values) / len(values)
    return math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1))


def mean_uncertainty(deviation: float, weights: Sequence[float]) -> float:
    """The standard uncertainty of a weighted mean: s x root of sum w^2 / sum w.

    With equal weights that is s / root of n.  Source: JCGM 100:2008, 4.2.3, equation 5; with
    other weights 5.1.2, equation 10, for values that all scatter by `deviation`.

    >>> mean_uncertainty(6.0, [1, 1, 1, 1])
    3.0
    """
    not_negative(deviation=deviation)
    _weighted(weights, weights)
    return deviation * math.sqrt(math.fsum(w * w for w in weights)) / math.fsum(weights)


_T = {
    **{4: 2.13, 5: 2.02, 6: 1.94, 7: 1.89, 8: 1.86, 9: 1.83, 10: 1.81, 11: 1.80, 12: 1.78},
    **{13: 1.77, 14: 1.76, 15: 1.75, 17: 1.74, 18: 1.73, 20: 1.72, 25: 1.71, 30: 1.70, 40: 1.68},
}
"""Student's t by degrees of freedom: nine in ten are within.  JCGM 100:2008, table G.2."""


def t_nine_in_ten(freedom: int) -> float:
    """Student's t for nine in ten, both sides; between two rows of the table the larger.

    From 4 degrees of freedom up.  Source: JCGM 100:2008, table G.2, p = 90 %.

    >>> t_nine_in_ten(4), t_nine_in_ten(35)
    (2.13, 1.7)
    """
    if freedom < min(_T):
        raise ValueError(f"{freedom} degrees of freedom are too few")
    return _T[max(known for known in _T if known <= freedom)]


def next_one(values: Sequence[float], factor: float) -> tuple[float, float]:
    """The mean of values, and how far from it one more may lie: factor x s x root of (1 + 1/n).

    The next value scatters by s, and the mean by s / root of n beside it.  Source: JCGM 100:2008,
    5.1.2, equation 10; with Student's t as the factor G.3.2.

    >>> next_one([1, 2, 3, 4, 5, 6, 7, 8], 2.0)[0]
    4.5
    """
    spread = sample_deviation(values) * math.sqrt(1 + 1 / len(values))
    return math.fsum(values) / len(values), factor * spread


def factor_that_holds(values: Sequence[float]) -> float:
    """The least factor of `next_one` with which nine in ten of the values are held by the others.

    Each of three or more is left out in turn and set beside what the others let expect.  Source:
    counted.  Here each 0 stands beside eight more and a 9: mean 1, deviation 3, and 1 off.

    >>> round(factor_that_holds([0, 0, 0, 0, 0, 0, 0, 0, 0, 9]) * 3 * math.sqrt(10 / 9), 9)
    1.0
    """
    asked = sorted(_asked(value, [*values[:n], *values[n + 1 :]]) for n, value in enumerate(values))
    return asked[math.ceil(len(values) * _NINE / 10) - 1]


_NINE = 9


def _asked(value: float, others: Sequence[float]) -> float:
    """The factor with which others hold a value."""
    mean, one = next_one(others, 1.0)
    off = abs(value - mean)
    return off / one if one else math.inf if off else 0.0


def _weighted(values: Sequence[float], weights: Sequence[float]) -> None:
    if not weights or len(values) != len(weights):
        raise ValueError(f"{len(values)} values with {len(weights)} weights")
    for weight in weights:
        positive(weight=weight)
