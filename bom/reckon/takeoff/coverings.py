"""What goes over the branches and over lugs and splices: the layers of each branch, and shrink."""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from bom.files.spelling import plain
from bom.reckon.bundle import Laid, laid
from bom.reckon.takeoff.work import Work, wires_in
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import HELIX, Covering
from bom.trade.figures import bundle_diameter_mm, tape_length_mm, tube_bore_mm
from bom.trade.job_book import Branch, Wire
from bom.trade.needs import SHRINK, Need, Trace
from bom.trade.problem import error
from bom.trade.wires import Bundle, Joint, SizedWire


class Coverings:
    """What the branches and the shrunk joints take; `shrink_ends` are counted by `needs`."""

    def __init__(self, work: Work) -> None:
        self.work = work
        self.shrink_ends = 0

    def bundles(self) -> list[Bundle]:
        """What runs in each branch, and how thick that is."""
        inside: dict[int, list[SizedWire]] = defaultdict(list)
        for wire in self.work.sized.wires:
            for index in wire.loaded.measured.branches:
                inside[index].append(wire)
        return [
            _bundle(branch, tuple(inside.get(index, ())))
            for index, branch in enumerate(self.work.book.branches)
        ]

    def needs(self, bundles: Sequence[Bundle]) -> Iterator[Need]:
        """Every layer and the shrink, branch by branch, summed and rounded up once."""
        sums = _Covered()
        for bundle in bundles:
            if bundle.wires:
                self._cover_branch(bundle, sums)
        for joint in self.work.joints:
            if joint.style.closure == "shrink":
                self._shrink_joint(joint, sums)
        self.shrink_ends = sums.ends
        rank = self.work.rank
        for (kind, item), length in sorted(sums.mm.items(), key=lambda e: (rank[e[0][0]], e[0])):
            yield Need(
                kind=kind,
                item=item,
                quantity=Decimal(math.ceil(round(length, 6))),
                counted=Decimal(math.ceil(round(length / self._waste(kind), 6))),
                unit="mm",
                wires=tuple(sums.wires[kind, item]),
                trace=Trace(self._rule(kind), tuple(sums.said[kind, item])),
            )

    def _cover_branch(self, bundle: Bundle, sums: "_Covered") -> None:
        """Each layer of a branch, and shrink over both ends of one that is closed with it."""
        branch, work = bundle.branch, self.work
        for one in laid(bundle.diameter_mm, branch.covering, work.rules, work.catalogue):
            if one.goods is None:
                self._lacks(one, branch)
                return
            length, says = self._length_mm(one, one.goods, bundle)
            key = (one.layer.covering, one.goods.item)
            sums.add(key, length, says, (wire.wire for wire in bundle.wires))
            if one.layer.ends:
                self._close_ends(one, bundle, sums)

    def _lacks(self, one: Laid, branch: Branch) -> None:
        """A layer that the catalogue has in no such size."""
        rules, covering = self.work.rules, one.layer.covering
        if one.layer.length == HELIX:
            wanted = rules.tape_width_mm
            widths = (size.width_mm for size in self.work.catalogue.sizes[covering])
            says = f"no {covering} {plain(wanted)} mm wide in the catalogue"
            cure = f"{min(widths, key=lambda mm: abs(mm - float(wanted))):g} for tape_width_mm"
        else:
            bore = tube_bore_mm(one.inside_mm, float(rules.tube_clearance_percent))
            says = f"no {covering} in the catalogue has a bore of {bore:.1f} mm for this branch"
            cure = "tape"
        alike = f"branches that no {covering} in the catalogue fits"
        self.work.problems.append(error(branch.row.where("covering"), says, cure, alike=alike))

    def _length_mm(self, one: Laid, goods: Covering, bundle: Bundle) -> tuple[float, str]:
        """What a layer takes on a branch, waste and all, and how that comes about."""
        branch, rules = bundle.branch, self.work.rules
        covered = float(branch.length_mm + branch.slack_mm)
        waste = self._waste(one.layer.covering)
        if one.layer.length == HELIX:
            length = waste * tape_length_mm(
                covered,
                one.inside_mm,
                float(rules.tape_width_mm),
                float(rules.tape_overlap_percent),
                float(rules.tape_thickness_mm),
            )
            return length, f"{branch}: {covered:g} mm round {one.inside_mm:.1f} mm: {length:.0f} mm"
        says = f"{branch}: {covered:g} mm over {bundle.diameter_mm:.1f} mm of wires"
        if goods.shortening_percent:
            says += f", {goods.shortening_percent:g} % more as it shortens"
        return covered * (1 + goods.shortening_percent / 100) * waste, says

    def _close_ends(self, one: Laid, bundle: Bundle, sums: "_Covered") -> None:
        branch, kind = bundle.branch, one.layer.ends
        shrink = self.work.catalogue.shrink(kind, one.outside_mm)
        if shrink is None:
            says = f"no {kind} heat-shrink in the catalogue closes on {one.outside_mm:.1f} mm"
            where, alike = branch.row.where("covering"), "branches that no heat-shrink closes"
            self.work.problems.append(error(where, says, "tape", alike=alike))
            return
        each = float(self.work.rules.shrink_end_mm)
        says = f"{branch}: two ends of {each:g} mm on the {one.layer.covering}"
        wires = (wire.wire for wire in bundle.wires)
        sums.add((SHRINK, shrink.item), 2 * each, says, wires)
        sums.ends += 2

    def _shrink_joint(self, joint: Joint, sums: "_Covered") -> None:
        work = self.work
        under_mm = under_shrink_mm(joint, work.areas, work.outsides, work.catalogue)
        shrink = work.catalogue.shrink("adhesive", under_mm)
        if shrink is None:
            end = joint.ends[-1]
            says = f"no adhesive heat-shrink in the catalogue closes the {joint.style.end}"
            where = end.wire.row.where(end.heading)
            alike = "ends that no heat-shrink closes"
            self.work.problems.append(error(where, says, "another end style", alike=alike))
            return
        each = float(self.work.rules.shrink_end_mm)
        says = f"{joint.style.end} at {joint.pin}: {joint.count} x {each:g} mm"
        wires = (end.wire for end in joint.ends)
        sums.add((SHRINK, shrink.item), each * joint.count, says, wires)
        sums.ends += joint.count

    def _waste(self, kind: str) -> float:
        """What the length of a kind is multiplied by."""
        return 1 + float(self._waste_percent(kind)) / 100

    def _waste_percent(self, kind: str) -> Decimal:
        """The layer's own, else the house's; shrink is cut to length, without waste."""
        if kind == SHRINK:
            return Decimal(0)
        own = self.work.catalogue.layers[kind].waste_percent
        return self.work.rules.covering_waste_percent if own is None else own

    def _rule(self, kind: str) -> str:
        """How the length of a kind is found, in a sentence."""
        layers = self.work.catalogue.layers
        if kind == SHRINK:
            closed = " and ".join(word for word, layer in layers.items() if layer.ends)
            return f"over both ends of each {closed} and over lugs and splices; no waste"
        layer, waste = layers[kind], plain(self._waste_percent(kind))
        if layer.length == HELIX:
            says = "a helix unrolled with two turns at each end, branch by branch"
            return f"{says}, and {waste} % waste"
        bore = "bore at least the bundle and tube_clearance_percent"
        fits = f"the {layer.inside[-1]} lies inside it" if layer.inside else bore
        return f"length and slack of each branch, and {waste} % waste; {fits}"


def under_shrink_mm(
    joint: Joint,
    areas_mm2: Mapping[str, Fraction],
    outsides_mm: Mapping[str, float],
    catalogue: Catalogue,
) -> float:
    """What the shrink of a joint closes on: the barrel of a lug, else all its wires.

    Areas and outsides are those of the wires, by label.
    """
    terminal = catalogue.terminal(joint.style.family, joint.half, joint.area_mm2(areas_mm2))
    if terminal and terminal.barrel_mm:
        return terminal.barrel_mm
    return bundle_diameter_mm([outsides_mm[label] for label in wires_in(joint)])


class _Covered:
    """Running lengths of coverings in mm, with the wires and the sentences behind them."""

    def __init__(self) -> None:
        self.mm: dict[tuple[str, str], float] = defaultdict(float)
        self.wires: dict[tuple[str, str], dict[str, None]] = defaultdict(dict)
        self.said: dict[tuple[str, str], list[str]] = defaultdict(list)
        self.ends = 0

    def add(self, key: tuple[str, str], length_mm: float, says: str, wires: Iterable[Wire]) -> None:
        """Add a length of a kind and item, for one branch or joint."""
        self.mm[key] += length_mm
        self.said[key].append(says)
        self.wires[key].update(dict.fromkeys(wire.label for wire in wires))


def _bundle(branch: Branch, wires: tuple[SizedWire, ...]) -> Bundle:
    outsides = [w.cable.outside_mm for w in wires for _ in range(w.wire.qty)]
    return Bundle(branch=branch, wires=wires, diameter_mm=bundle_diameter_mm(outsides))
