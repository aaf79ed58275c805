"""Formulas of stock keeping against published examples, hand arithmetic and their laws.

SFT: Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed., Wiley 2019.
"""

import doctest
import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from bom.shelf import stock_figures
from bom.shelf.stock_figures import mean_cost, order_size, order_size_cost, reorder_point

SOME = st.floats(min_value=0.01, max_value=1e4)
CHANCE = st.floats(min_value=0.001, max_value=0.999)
COST = st.decimals(min_value=0, max_value=1000, places=4)
COUNT = st.integers(min_value=0, max_value=10_000).map(Decimal)


def test_the_examples_in_the_docstrings_hold() -> None:
    """They are the published ones, so they must run."""
    done = doctest.testmod(stock_figures)
    assert done.attempted and not done.failed


# ---- Published values ----------------------------------------------------------------------


def test_order_size_of_example_3_1() -> None:
    """SFT example 3.1: fixed cost 8, holding 0.225, demand 1300 a year."""
    size = order_size(8, 1300, 0.225)
    assert size == pytest.approx(304.04678, abs=5e-6)
    assert order_size_cost(size, 8, 1300, 0.225) == pytest.approx(68.410526, abs=5e-7)


def test_newsvendor_of_example_4_3() -> None:
    """SFT example 4.3: holding 0.18, stock-out 0.70, demand of mean 50 and deviation 8."""
    assert reorder_point(50, 8, 0.70 / (0.70 + 0.18)) == pytest.approx(56.603956, abs=5e-7)


def test_reorder_point_and_order_size_of_example_5_5() -> None:
    """SFT example 5.5: holding 0.225, stock-out 7.5, fixed 8, 1300 a year by 150, 1/12 year.

    Its size is the economic order quantity of 3.1; its reorder point the newsvendor's stock for
    the use in the lead time, whose variance is 1/12 of the year's.
    """
    size = order_size(8, 1300, 0.225)
    mean, deviation = 1300 / 12, 150 * math.sqrt(1 / 12)
    point = reorder_point(mean, deviation, 7.5 / (7.5 + 0.225))
    assert size == pytest.approx(304.04678, abs=5e-6)
    assert point == pytest.approx(190.33700, abs=5e-6)


def test_mean_cost_by_hand() -> None:
    """IAS 2 paragraph 27, weighted: (30 x 0.10 + 10 x 0.14) / 40 = 4.40 / 40 = 0.11."""
    assert mean_cost(Decimal(30), Decimal("0.10"), Decimal(10), Decimal("0.14")) == Decimal("0.11")
    assert mean_cost(Decimal(), Decimal(5), Decimal(10), Decimal("0.14")) == Decimal("0.14")


# ---- Limits --------------------------------------------------------------------------------


@pytest.mark.parametrize("place", range(3))
@pytest.mark.parametrize("value", [0, -1, math.nan])
def test_an_order_size_needs_costs_and_a_use_above_zero(place: int, value: float) -> None:
    """The fault names what it is that cannot be."""
    given_: list[float] = [8, 1300, 0.225]
    given_[place] = value
    named = ("order_cost", "use_per_year", "holding_per_year")[place]
    with pytest.raises(ValueError, match=named):
        order_size(*given_)
    with pytest.raises(ValueError, match=named):
        order_size_cost(300, *given_)


@pytest.mark.parametrize("size", [0, -1, math.nan])
def test_an_order_of_nothing_has_no_cost(size: float) -> None:
    """There would be no end to the orders."""
    with pytest.raises(ValueError, match="size"):
        order_size_cost(size, 8, 1300, 0.225)


@pytest.mark.parametrize("service", [0, 1, -0.1, 1.1, math.nan])
def test_no_stock_is_quite_sure_to_last(service: float) -> None:
    """A chance of 0 or 1 has no finite stock under a normal curve; 95 is no chance."""
    with pytest.raises(ValueError, match="service"):
        reorder_point(50, 8, service)


@pytest.mark.parametrize(
    ("mean", "deviation"), [(0, 8), (-1, 8), (math.nan, 8), (50, -0.1), (50, math.nan)]
)
def test_a_use_is_above_zero_and_its_deviation_not_below(mean: float, deviation: float) -> None:
    """A reorder point is for what is used."""
    with pytest.raises(ValueError, match=r"mean|deviation"):
        reorder_point(mean, deviation, 0.95)


def test_an_even_use_needs_no_more_than_itself() -> None:
    """Without deviation every service needs just the mean."""
    assert [reorder_point(50, 0, service) for service in (0.01, 0.5, 0.99)] == [50, 50, 50]


@pytest.mark.parametrize(("there", "come"), [(0, 0), (10, -1), (-1, 10)])
def test_a_mean_cost_is_of_a_delivery(there: int, come: int) -> None:
    """Something must come, and what is there is not below zero."""
    with pytest.raises(ValueError, match="come to"):
        mean_cost(Decimal(there), Decimal(1), Decimal(come), Decimal(1))


# ---- Laws ----------------------------------------------------------------------------------


@given(order_cost=SOME, use=SOME, holding=SOME, other=SOME)
def test_no_other_order_size_is_cheaper(
    order_cost: float, use: float, holding: float, other: float
) -> None:
    """K D / Q + h Q / 2 is least at the order size, where it is sqrt(2 K D h)."""
    size = order_size(order_cost, use, holding)
    least = order_cost * use / size + holding * size / 2
    assert least <= (order_cost * use / other + holding * other / 2) * (1 + 1e-9)
    assert least == pytest.approx(math.sqrt(2 * order_cost * use * holding))
    assert order_size_cost(size, order_cost, use, holding) == pytest.approx(least)


@given(mean=SOME, deviation=SOME, low=CHANCE, high=CHANCE)
def test_a_surer_stock_is_not_smaller(
    mean: float, deviation: float, low: float, high: float
) -> None:
    """The reorder point rises with the service."""
    low, high = sorted((low, high))
    at_low, at_high = (reorder_point(mean, deviation, service) for service in (low, high))
    assert at_low <= at_high + 1e-9 * (mean + deviation)


@given(mean=SOME, small=SOME, large=SOME, service=st.floats(min_value=0.5, max_value=0.999))
def test_a_wilder_use_needs_no_smaller_stock(
    mean: float, small: float, large: float, service: float
) -> None:
    """The reorder point rises with the deviation, for a service above one half."""
    small, large = sorted((small, large))
    at_small, at_large = (reorder_point(mean, each, service) for each in (small, large))
    assert at_small <= at_large + 1e-9 * (mean + large)


@given(mean=SOME, deviation=SOME, service=CHANCE)
def test_the_reorder_point_is_the_normal_curves(
    mean: float, deviation: float, service: float
) -> None:
    """Held against the quantile of scipy, another reckoning of the same curve."""
    point = reorder_point(mean, deviation, service)
    expected = float(norm.ppf(service, loc=mean, scale=deviation))
    assert point == pytest.approx(expected, abs=1e-9 * (mean + deviation))


@given(there=COUNT, cost=COST, come=COUNT.filter(bool), each=COST)
def test_a_mean_cost_lies_between_the_two(
    there: Decimal, cost: Decimal, come: Decimal, each: Decimal
) -> None:
    """And what all is worth is what the old and the new were worth."""
    mean = mean_cost(there, cost, come, each)
    slack = Decimal("1e-20")
    assert min(cost, each) - slack <= mean <= max(cost, each) + slack
    assert abs(mean * (there + come) - (there * cost + come * each)) < slack
