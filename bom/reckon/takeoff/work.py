"""What every part of the take-off looks at."""

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cached_property

from msgspec import Struct

from bom.files.spelling import fold
from bom.reckon.net import Net
from bom.trade.catalogue import Catalogue
from bom.trade.house import HouseRules
from bom.trade.job_book import JobBook
from bom.trade.problem import Problem
from bom.trade.wires import Joint, Sized

_AT_A_FUSE = re.compile(r"\bfuse(?:s|box(?:es)?)?\b")


class Work(Struct, frozen=True, kw_only=True, dict=True):
    """A sized job with its terminals; `problems` gathers what the parts find."""

    net: Net
    sized: Sized
    joints: tuple[Joint, ...]
    rules: HouseRules
    catalogue: Catalogue
    problems: list[Problem]

    @property
    def book(self) -> JobBook:
        """The job book."""
        return self.net.book

    @cached_property
    def rank(self) -> Mapping[str, int]:
        """The order of the kinds on a take-off."""
        return {kind: rank for rank, kind in enumerate(self.catalogue.kinds)}

    @cached_property
    def areas(self) -> Mapping[str, Fraction]:
        """Areas in mm2 by the label of the wire."""
        return {wire.wire.label: wire.cable.area_mm2 for wire in self.sized.wires}

    @cached_property
    def outsides(self) -> Mapping[str, float]:
        """Outside diameters in mm by the label of the wire."""
        return {wire.wire.label: wire.cable.outside_mm for wire in self.sized.wires}

    @cached_property
    def gauges(self) -> Mapping[str, str]:
        """Gauges by the label of the wire."""
        return {wire.wire.label: wire.cable.gauge for wire in self.sized.wires}


def wires_in(joint: Joint) -> list[str]:
    """Labels of the wires in one terminal, a label as often as its wires lie in it."""
    shared = joint.count == 1
    return [end.wire.label for end in joint.ends for _ in range(end.wire.qty if shared else 1)]


def at_a_fuse(point: str) -> bool:
    """True for a point where fuses sit: fuse box, fuses, main fuse ..."""
    return _AT_A_FUSE.search(fold(point)) is not None
