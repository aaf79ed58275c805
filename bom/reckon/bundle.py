"""What goes over a bundle of wires: the tube on it, and the braid on the tube."""

from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Covering
from bom.trade.figures import tube_bore_mm
from bom.trade.house import HouseRules


def sleeves(
    diameter_mm: float, covering: str, rules: HouseRules, catalogue: Catalogue
) -> tuple[Covering | None, Covering | None]:
    """Tube and braid over a bundle; None where it is not wanted, or none is so wide.

    `covering` is the word of the branch; the braid lies on the tube, with its bore and outside
    in mm as they are there.
    """
    if covering not in ("tube", "braid"):
        return None, None
    tube = _over(diameter_mm, "tube", rules, catalogue)
    if tube is None or covering == "tube":
        return tube, None
    return tube, _over(tube.outside_mm, "braid", rules, catalogue)


def _over(
    inside_mm: float, covering: str, rules: HouseRules, catalogue: Catalogue
) -> Covering | None:
    """An expandable one by its range, else the narrowest fixed one that is wide enough."""
    bore_mm = tube_bore_mm(inside_mm, float(rules.tube_clearance_percent))
    return catalogue.expandable(covering, inside_mm) or catalogue.sleeve(covering, bore_mm)
