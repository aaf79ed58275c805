"""Formulas of stock keeping, one a function: unit in the name, range, source; nothing else.

SFT: Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019, whose examples
the tests hold these against.
"""

from decimal import Decimal
from math import sqrt
from statistics import NormalDist


def order_size(order_cost: float, use_per_year: float, holding_per_year: float) -> float:
    """The order size of least cost: sqrt(2 K D / h), with h the cost of keeping one for a year.

    Economic order quantity, SFT section 3.2 (example 3.1).  ValueError for a cost or a use that
    is not above zero.

    >>> round(order_size(8, 1300, 0.225), 5)
    304.04678
    """
    _positive(order_cost=order_cost, use_per_year=use_per_year, holding_per_year=holding_per_year)
    return sqrt(2 * order_cost * use_per_year / holding_per_year)


def order_size_cost(
    size: float, order_cost: float, use_per_year: float, holding_per_year: float
) -> float:
    """What ordering so many at a time and keeping them cost in a year: K D / Q + h Q / 2.

    SFT section 3.2 (example 3.1, at the best size); the goods themselves are not in it.
    ValueError for anything that is not above zero.

    >>> round(order_size_cost(order_size(8, 1300, 0.225), 8, 1300, 0.225), 6)
    68.410526
    """
    _positive(size=size, order_cost=order_cost)
    _positive(use_per_year=use_per_year, holding_per_year=holding_per_year)
    return order_cost * use_per_year / size + holding_per_year * size / 2


def reorder_point(mean: float, deviation: float, service: float) -> float:
    """The stock that lasts out a time with the chance `service` (0 to 1, both excluded).

    `mean` and `deviation` are of the use in that time, taken for normally distributed: the mean
    plus z deviations (SFT section 4.3, and 5.4 for the time that an order takes; with the costs h
    of one left over and p of one lacking the best service is p / (p + h)).  ValueError for a mean
    not above zero, a deviation below zero, a service outside its range.

    >>> round(reorder_point(50, 8, 0.70 / (0.70 + 0.18)), 6)
    56.603956
    """
    _positive(mean=mean)
    if not deviation >= 0:
        raise ValueError(f"deviation {deviation} is below zero")
    if not 0 < service < 1:
        raise ValueError(f"service {service} is not between 0 and 1")
    return mean if not deviation else NormalDist(mean, deviation).inv_cdf(service)


def mean_cost(there: Decimal, cost: Decimal, come: Decimal, each: Decimal) -> Decimal:
    """The mean cost of one after a delivery: weighted by how many there are and come.

    Weighted average cost, IAS 2 paragraphs 25 and 27.  ValueError when none come.

    >>> mean_cost(Decimal(30), Decimal("0.10"), Decimal(10), Decimal("0.14"))
    Decimal('0.11')
    """
    if come <= 0 or there < 0:
        raise ValueError(f"{come} come to {there}")
    return (there * cost + come * each) / (there + come)


def _positive(**named: float) -> None:
    for name, value in named.items():
        if not value > 0:
            raise ValueError(f"{name} {value} is not above zero")
