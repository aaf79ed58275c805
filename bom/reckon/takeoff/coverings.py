"""What goes over the branches and over lugs and splices: tape, tube, braid and shrink."""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec.structs import replace

from bom.files.spelling import plain
from bom.reckon.bundle import sleeves
from bom.reckon.takeoff.work import RANK, Work, wires_in
from bom.trade.catalogue_rows import Shrink
from bom.trade.figures import bundle_diameter_mm, tape_length_mm, tube_bore_mm
from bom.trade.house import HouseRules
from bom.trade.job_book import Branch
from bom.trade.needs import Kind, Need, Trace
from bom.trade.problem import error
from bom.trade.wires import Bundle, Joint, SizedWire


class Coverings:
    """What the branches and the shrunk joints take; `shrink_ends` are counted by `needs`."""

    def __init__(self, work: Work) -> None:
        self.work = work
        self.shrink_ends = 0

    def bundles(self) -> list[Bundle]:
        """What runs in each branch, how thick that is, and what goes over it."""
        inside: dict[int, list[SizedWire]] = defaultdict(list)
        for wire in self.work.sized.wires:
            for index in wire.loaded.measured.branches:
                inside[index].append(wire)
        return [
            self._bundle(branch, tuple(inside.get(index, ())))
            for index, branch in enumerate(self.work.book.branches)
        ]

    def _bundle(self, branch: Branch, wires: tuple[SizedWire, ...]) -> Bundle:
        outsides = [w.cable.outside_mm for w in wires for _ in range(w.wire.qty)]
        diameter = bundle_diameter_mm(outsides)
        bundle = Bundle(branch=branch, wires=wires, diameter_mm=diameter)
        if not wires or branch.covering in ("tape", "none"):
            return bundle
        tube, braid = sleeves(diameter, branch.covering, self.work.rules, self.work.catalogue)
        if tube is None:
            self._no_sleeve("tube", diameter, branch)
        elif braid is None and branch.covering == "braid":
            self._no_sleeve("braid", tube.outside_mm, branch)
        shrink = self._shrink("plain", braid.outside_mm, branch) if braid else None
        return replace(bundle, tube=tube, braid=braid, shrink=shrink)

    def _no_sleeve(self, covering: str, inside_mm: float, branch: Branch) -> None:
        bore = tube_bore_mm(inside_mm, float(self.work.rules.tube_clearance_percent))
        says = f"no {covering} in the catalogue has a bore of {bore:.1f} mm for this branch"
        self.work.problems.append(error(branch.row.where("covering"), says, "tape"))

    def _shrink(self, kind: str, object_mm: float, branch: Branch) -> Shrink | None:
        shrink = self.work.catalogue.shrink(kind, object_mm)
        if shrink is None:
            says = f"no {kind} heat-shrink in the catalogue closes on {object_mm:.1f} mm"
            self.work.problems.append(error(branch.row.where("covering"), says, "tape"))
        return shrink

    def needs(self, bundles: Sequence[Bundle]) -> Iterator[Need]:
        """Tape, tube, braid and shrink, branch by branch, summed and rounded up once."""
        sums = _Covered()
        for bundle in bundles:
            if bundle.wires:
                self._cover_branch(bundle, sums)
        for joint in self.work.joints:
            if joint.style.closure == "shrink":
                self._shrink_joint(joint, sums)
        self.shrink_ends = sums.ends
        waste = plain(self.work.rules.covering_waste_percent)
        for (kind, item), length in sorted(sums.mm.items(), key=lambda e: (RANK[e[0][0]], e[0])):
            yield Need(
                kind=kind,
                item=item,
                quantity=Decimal(math.ceil(round(length, 6))),
                counted=Decimal(math.ceil(round(length / _waste_on(kind, self.work.rules), 6))),
                unit="mm",
                wires=tuple(sums.wires[kind, item]),
                trace=Trace(_COVER_RULE[kind].format(waste=waste), tuple(sums.said[kind, item])),
            )

    def _cover_branch(self, bundle: Bundle, sums: "_Covered") -> None:
        branch, rules = bundle.branch, self.work.rules
        covered = float(branch.length_mm + branch.slack_mm)
        waste = _waste_on("tape", rules)
        if branch.covering == "tape":
            self._tape(bundle, covered, waste, sums)
        for kind, sleeve in (("tube", bundle.tube), ("braid", bundle.braid)):
            if sleeve:
                says = f"{branch}: {covered:g} mm over {bundle.diameter_mm:.1f} mm of wires"
                if sleeve.shortening_percent:
                    says += f", {sleeve.shortening_percent:g} % more as it shortens"
                length = covered * (1 + sleeve.shortening_percent / 100) * waste
                sums.add("tube" if kind == "tube" else "braid", sleeve.item, length, bundle, says)
        if bundle.shrink and bundle.braid:
            ends = 2 * float(rules.shrink_end_mm)
            says = f"{branch}: two ends of {float(rules.shrink_end_mm):g} mm on the braid"
            sums.add("shrink", bundle.shrink.item, ends, bundle, says)
            sums.ends += 2

    def _tape(self, bundle: Bundle, covered: float, waste: float, sums: "_Covered") -> None:
        rules = self.work.rules
        tape = self.work.catalogue.tape(float(rules.tape_width_mm))
        if tape is None:
            where = bundle.branch.row.where("covering")
            says = f"no tape {plain(rules.tape_width_mm)} mm wide in the catalogue"
            self.work.problems.append(error(where, says, "19 for tape_width_mm"))
            return
        length = waste * tape_length_mm(
            covered,
            bundle.diameter_mm,
            float(rules.tape_width_mm),
            float(rules.tape_overlap_percent),
            float(rules.tape_thickness_mm),
        )
        says = f"{bundle.branch}: {covered:g} mm round {bundle.diameter_mm:.1f} mm: {length:.0f} mm"
        sums.add("tape", tape.item, length, bundle, says)

    def _shrink_joint(self, joint: Joint, sums: "_Covered") -> None:
        shrink = self.work.catalogue.shrink("adhesive", self._under_shrink_mm(joint))
        if shrink is None:
            end = joint.ends[-1]
            says = f"no adhesive heat-shrink in the catalogue closes the {joint.style.end}"
            where = end.wire.row.where(end.heading)
            self.work.problems.append(error(where, says, "another end style"))
            return
        each = float(self.work.rules.shrink_end_mm)
        key: tuple[Kind, str] = ("shrink", shrink.item)
        sums.mm[key] += each * joint.count
        sums.said[key].append(f"{joint.style.end} at {joint.pin}: {joint.count} x {each:g} mm")
        sums.wires[key].update(dict.fromkeys(end.wire.label for end in joint.ends))
        sums.ends += joint.count

    def _under_shrink_mm(self, joint: Joint) -> float:
        """What the shrink of a joint closes on: the barrel of a lug, else all its wires."""
        area = joint.area_mm2(self.work.areas)
        terminal = self.work.catalogue.terminal(joint.style.family, joint.half, area)
        if terminal and terminal.barrel_mm:
            return terminal.barrel_mm
        return bundle_diameter_mm([self.work.outsides[label] for label in wires_in(joint)])


def _waste_on(kind: Kind, rules: HouseRules) -> float:
    """What the length of a covering is multiplied by; shrink is cut to length, without waste."""
    return 1.0 if kind == "shrink" else 1 + float(rules.covering_waste_percent) / 100


class _Covered:
    """Running lengths of coverings in mm, with the wires and the sentences behind them."""

    def __init__(self) -> None:
        self.mm: dict[tuple[Kind, str], float] = defaultdict(float)
        self.wires: dict[tuple[Kind, str], dict[str, None]] = defaultdict(dict)
        self.said: dict[tuple[Kind, str], list[str]] = defaultdict(list)
        self.ends = 0

    def add(self, kind: Kind, item: str, length_mm: float, bundle: Bundle, says: str) -> None:
        """Add a length of an item for one branch."""
        self.mm[kind, item] += length_mm
        self.wires[kind, item].update(dict.fromkeys(w.wire.label for w in bundle.wires))
        self.said[kind, item].append(says)


_COVER_RULE: Mapping[Kind, str] = {
    "tape": "a helix unrolled with two turns at each end, branch by branch, and {waste} % waste",
    "tube": "length and slack of each branch, and {waste} % waste; bore at least the bundle "
    "and tube_clearance_percent",
    "braid": "length and slack of each branch, and {waste} % waste; the tube lies inside it",
    "shrink": "over both ends of each braid and over lugs and splices; no waste",
}
