"""Loads that are never on together: the sum against trying every setting, and all doctests."""

import doctest
import importlib
import itertools
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import bom
from bom.trade.one_of import Loads, Way, largest_sum, merged, under

MODULES = sorted(
    "bom." + ".".join(path.relative_to(Path(bom.__file__).parent).with_suffix("").parts)
    for path in Path(bom.__file__).parent.rglob("*.py")
    if path.stem != "__init__"
)


@pytest.mark.parametrize("name", MODULES)
def test_doctests(name: str) -> None:
    """What a docstring shows is what comes."""
    assert doctest.testmod(importlib.import_module(name)).failed == 0


ways = st.frozensets(
    st.frozensets(st.tuples(st.sampled_from("xyz"), st.sampled_from("12")), min_size=0, max_size=2),
    min_size=1,
    max_size=2,
)


@given(loads=st.dictionaries(st.integers(0, 6), ways, max_size=6), data=st.data())
def test_the_largest_sum_is_that_of_the_best_setting(
    loads: dict[int, frozenset[Way]], data: st.DataObject
) -> None:
    """Every word set to one of its choices or to none: no setting gives more."""
    amps = {number: Fraction(data.draw(st.integers(0, 9))) for number in loads}
    best = Fraction(0)
    for setting in itertools.product("12-", repeat=3):
        on = set(zip("xyz", setting, strict=True))
        lit = (n for n, w in loads.items() if any(way <= on for way in w))
        best = max(best, sum((amps[n] for n in lit), Fraction(0)))
    assert largest_sum(amps, loads) == best


def test_words_in_front_and_joined() -> None:
    """The first word on a way counts; of two ways the one that asks less is enough."""
    always = Loads(0b10)
    one = under(always, ("beam", "main"), "")
    assert one == Loads(worded={1: frozenset({frozenset({("beam", "main")})})})
    dip = under(one, ("beam", "dip"), "")
    assert dip == Loads(worded={1: frozenset({frozenset({("beam", "dip")})})})
    assert merged([one, always]) == always
    assert under(always, ("beam", ""), "wire 1") != under(always, ("beam", ""), "wire 2")
