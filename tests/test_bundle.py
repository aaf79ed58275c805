"""The tube over a bundle and the braid over the tube: bores and walls worked out by hand.

The catalogue's tubes have bores of 2 3 4 5 6 8 10 12 14 16 20 25 32 mm and walls of 0.5, from
10 mm on 0.6, from 20 mm on 0.8 mm; its braids 3 4 6 8 10 12 15 20 25 30 40 mm, walls 0.5, from
15 mm on 0.7, from 25 mm on 0.8 mm (catalogs/coverings.csv, from memory).  What goes over has 15 %
more bore (house rule).
"""

from decimal import Decimal

import pytest

from bom.reckon.bundle import sleeves
from bom.trade.catalogue import load_catalogue
from bom.trade.catalogue_rows import Covering
from bom.trade.house import HouseRules

CATALOGUE, _ = load_catalogue()


def sizes(found: Covering | None) -> tuple[float, float] | None:
    """Bore and outside in mm of what was found."""
    return (found.bore_mm, found.outside_mm) if found else None


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
    found = sleeves(diameter_mm, "braid", HouseRules(), CATALOGUE)
    assert (sizes(found[0]), sizes(found[1])) == (tube, braid)
    found = sleeves(diameter_mm, "tube", HouseRules(), CATALOGUE)
    assert (sizes(found[0]), found[1]) == (tube, None)


def test_a_tube_of_just_the_bore_goes_over() -> None:
    """8 mm and 25 % are 10 mm: the tube of 10, and not the next."""
    rules = HouseRules(tube_clearance_percent=Decimal(25))
    tube, _ = sleeves(8.0, "tube", rules, CATALOGUE)
    assert sizes(tube) == (10, 11.2)


def test_without_clearance_the_bore_is_the_bundle() -> None:
    """6 mm in a tube of 6, 7.0 outside; that in a braid of 8."""
    rules = HouseRules(tube_clearance_percent=Decimal(0))
    found = sleeves(6.0, "braid", rules, CATALOGUE)
    assert (sizes(found[0]), sizes(found[1])) == ((6, 7.0), (8, 9.0))


@pytest.mark.parametrize("covering", ["tape", "none", ""])
def test_other_coverings_are_no_sleeve(covering: str) -> None:
    """Tape is wound, not pulled over."""
    assert sleeves(5.0, covering, HouseRules(), CATALOGUE) == (None, None)
