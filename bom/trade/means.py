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


def _weighted(values: Sequence[float], weights: Sequence[float]) -> None:
    if not weights or len(values) != len(weights):
        raise ValueError(f"{len(values)} values with {len(weights)} weights")
    for weight in weights:
        positive(weight=weight)
