"""The tube over a bundle and the braid over the tube: bores and walls worked out by hand.

The catalogue's tubes have bores of 2 3 4 5 6 8 10 12 14 16 20 25 32 mm and walls of 0.5, from
10 mm on 0.6, from 20 mm on 0.8 mm; its braids 3 4 6 8 10 12 15 20 25 30 40 mm, walls 0.5, from
15 mm on 0.7, from 25 mm on 0.8 mm (catalogs/coverings.csv, from memory).  What goes over has 15 %
more bore (house rule).
"""

from decimal import Decimal

import pytest

from bom.reckon.bundle import laid
from bom.trade.catalogue_files import load_catalogue
from bom.trade.house import HouseRules

CATALOGUE, _ = load_catalogue()


def over(diameter_mm: float, covering: str, rules: HouseRules) -> list[tuple[float, float]]:
    """Bore and outside in mm of what lies over a bundle, from the inside out."""
    found = laid(diameter_mm, covering, rules, CATALOGUE)
    return [(one.goods.bore_mm, one.goods.outside_mm) for one in found if one.goods]


@pytest.mark.parametrize(
    ("diameter_mm", "tube", "braid"),
    [
        # 2.1 x 1.15 = 2.415: bore 3, 4.0 outside; 4.0 x 1.15 = 4.6: bore 6, 7.0 outside
        (2.1, (3, 4.0), (6, 7.0)),
        # 6.9 x 1.15 = 7.935: 8, 9.0; 9.0 x 1.15 = 10.35: 12, 13.0
        (6.9, (8, 9.0), (12, 13.0)),
        # 7.0 x 1.15 = 8.05, just over 8: 10, 11.2; 11.2 x 1.15 = 12.88: 15, 16.4
        (7.0, (10, 11.2), (15, 16.4)),
        # 20 x 1.15 = 23: 25, 26.6; 26.6 x 1.15 = 30.59: 40, 41.6
        (20.0, (25, 26.6), (40, 41.6)),
        # 27.8 x 1.15 = 31.97: 32, 33.6; 33.6 x 1.15 = 38.64: 40, 41.6
        (27.8, (32, 33.6), (40, 41.6)),
        # 27.9 x 1.15 = 32.085, over the widest tube; and no braid without one
        (27.9, None, None),
    ],
)
def test_tube_and_braid_over_a_bundle(
    diameter_mm: float, tube: tuple[float, float] | None, braid: tuple[float, float] | None
) -> None:
    """A braid lies on a tube, a tube on the wires; a branch with a tube has no braid."""
    assert over(diameter_mm, "braid", HouseRules()) == [size for size in (tube, braid) if size]
    assert over(diameter_mm, "tube", HouseRules()) == [size for size in (tube,) if size]


def test_a_tube_of_just_the_bore_goes_over() -> None:
    """8 mm and 25 % are 10 mm: the tube of 10, and not the next."""
    rules = HouseRules(tube_clearance_percent=Decimal(25))
    assert over(8.0, "tube", rules) == [(10, 11.2)]


def test_without_clearance_the_bore_is_the_bundle() -> None:
    """6 mm in a tube of 6, 7.0 outside; that in a braid of 8."""
    rules = HouseRules(tube_clearance_percent=Decimal(0))
    assert over(6.0, "braid", rules) == [(6, 7.0), (8, 9.0)]


def test_other_coverings_are_no_sleeve() -> None:
    """Tape is wound, not pulled over: two layers of 0.13 mm all round, 5 + 4 x 0.13."""
    (tape,) = laid(5.0, "tape", HouseRules(), CATALOGUE)
    assert tape.goods and tape.goods.bore_mm == 0 and tape.outside_mm == pytest.approx(5.52)
    assert over(5.0, "none", HouseRules()) == []
