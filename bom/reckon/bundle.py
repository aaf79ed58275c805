"""What goes over a bundle of wires, layer by layer from the inside out."""

from collections.abc import Iterator
from typing import NamedTuple

from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import HELIX, Covering, Layer
from bom.trade.figures import air_gap_k_m_per_w, taped_mm, tube_bore_mm
from bom.trade.house import HouseRules


class Laid(NamedTuple):
    """A layer as it lies on what is inside; `goods` is None where none has the size."""

    layer: Layer
    inside_mm: float
    goods: Covering | None
    outside_mm: float

    @property
    def heat_k_m_per_w(self) -> float:
        """The resistance to heat that it adds."""
        known = self.layer.heat_k_m_per_w
        if self.goods is None:
            return 0.0
        return air_gap_k_m_per_w(self.inside_mm) if known is None else known


def laid(
    diameter_mm: float, covering: str, rules: HouseRules, catalogue: Catalogue
) -> Iterator[Laid]:
    """The layers that a word puts over a bundle; nothing lies on one that cannot be had."""
    for layer in catalogue.layers_of(covering):
        one = _lay(layer, diameter_mm, rules, catalogue)
        yield one
        if one.goods is None:
            return
        diameter_mm = one.outside_mm


def _lay(layer: Layer, inside_mm: float, rules: HouseRules, catalogue: Catalogue) -> Laid:
    """Tape by its width; else an expandable one by its range, or the narrowest wide enough."""
    if layer.length == HELIX:
        tape = catalogue.tape(layer.covering, float(rules.tape_width_mm))
        thickness, overlap = rules.tape_thickness_mm, rules.tape_overlap_percent
        return Laid(layer, inside_mm, tape, taped_mm(inside_mm, float(thickness), float(overlap)))
    bore_mm = tube_bore_mm(inside_mm, float(rules.tube_clearance_percent))
    closing = catalogue.expandable(layer.covering, inside_mm)
    goods = closing or catalogue.sleeve(layer.covering, bore_mm)
    return Laid(layer, inside_mm, goods, goods.outside_mm if goods else inside_mm)
