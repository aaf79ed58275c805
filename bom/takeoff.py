"""The take-off: from sized wires to everything the job needs, allowances included.

Each rule is one function that yields lines; a line carries its trace, so that `why` can
print how it came about.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias, get_args

from msgspec import Struct, field

from bom.catalogue import Catalogue
from bom.figures import (
    bundle_diameter_mm,
    spare_count,
    spare_length_mm,
    tape_length_mm,
    tube_bore_mm,
)
from bom.goods import Kind, Need, Takeoff, Trace
from bom.house import HouseRules
from bom.net import PIN_TO_PIN, Net
from bom.parts import Covering, Housing, Shrink
from bom.problem import Problem, caution, error
from bom.spelling import MM_PER_UNIT, plain
from bom.trade import Branch, Bundle, ChosenFuse, Ends, Joint, Sized, SizedWire

BY_SLEEVE = "bullet 4.7"
"""The family whose sockets are sleeved connectors joining all bullets at one pin."""


def take_off(
    net: Net, sized: Sized, ends: Ends, rules: HouseRules, catalogue: Catalogue
) -> tuple[Takeoff, tuple[Problem, ...]]:
    """Everything the job needs: lengths in mm, counts in pieces.

    Errors: a terminal, sleeve or tape that the catalogues do not hold.
    """
    taker = _Taker(net, sized, ends, rules, catalogue)
    bundles = taker.bundles()
    needs = [
        *taker.cables(),
        *taker.terminals(),
        *taker.housings(),
        *taker.coverings(bundles),
        *taker.fuses(),
        *taker.holders(),
        *taker.extras(),
    ]
    counts = taker.operations(bundles)
    return Takeoff(tuple(needs), tuple(bundles), counts), tuple(taker.problems)


class _Count(Struct):
    """So many of an item, and the wires they are for in the order first met."""

    number: int = 0
    wires: dict[str, None] = field(default_factory=dict)

    def add(self, joint: Joint) -> None:
        """What one joint takes."""
        self.number += joint.count
        for end in joint.ends:
            self.wires[end.wire.label] = None


_Tally: TypeAlias = dict[tuple[Kind, str], _Count]


class _Taker:
    def __init__(
        self, net: Net, sized: Sized, ends: Ends, rules: HouseRules, catalogue: Catalogue
    ) -> None:
        self.net = net
        self.book = net.book
        self.sized = sized
        self.joints = ends.joints
        self.rules = rules
        self.catalogue = catalogue
        self.problems: list[Problem] = []
        self.areas = {w.wire.label: w.cable.area_mm2 for w in sized.wires}
        self.outsides = {w.wire.label: w.cable.outside_mm for w in sized.wires}
        self.gauges = {w.wire.label: w.cable.gauge for w in sized.wires}
        self.alike: dict[tuple[str, str, str], list[_Count]] = {}
        """What a terminal with one wire in it is counted to, by end, half and gauge."""
        self.made: Counter[str] = Counter()

    # -------------------------------------------------------------------- cable

    def cables(self) -> Iterator[Need]:
        """One line a gauge and colour: pieces, and the spare rounded up to whole steps."""
        groups: dict[tuple[str, object], list[SizedWire]] = defaultdict(list)
        for wire in self.sized.wires:
            groups[wire.cable.gauge, wire.wire.colour].append(wire)
        order = list(self.catalogue.cables)
        for _, wires in sorted(groups.items(), key=lambda g: (order.index(g[0][0]), str(g[0][1]))):
            yield self._cable(wires)

    def _cable(self, wires: Sequence[SizedWire]) -> Need:
        first = wires[0]
        gauge, colour = first.cable.gauge, first.wire.colour
        pieces = tuple(
            (wire.piece_mm, wire.wire.label) for wire in wires for _ in range(wire.wire.qty)
        )
        total = sum(length for length, _ in pieces)
        spare = spare_length_mm(total, self.rules.cable_spare_percent, self.rules.step_mm)
        percent = plain(self.rules.cable_spare_percent)
        return Need(
            kind="cable",
            item=f"cable, {gauge if first.cable.is_awg else f'{gauge} mm2'}, {colour}",
            gauge=gauge,
            colour=colour,
            quantity=Decimal(total + spare),
            unit="mm",
            wires=tuple(wire.wire.label for wire in wires),
            counted=Decimal(total),
            pieces=pieces,
            spare_mm=spare,
            trace=Trace(
                f"pieces of this gauge and colour, and {percent} % spare (cable_spare_percent) "
                f"rounded up to {self.rules.step_mm} mm",
                (
                    f"pieces {' + '.join(str(length) for length, _ in pieces)} = {total} mm",
                    f"spare {percent} % of {total} mm: {spare} mm",
                    f"needed {total} + {spare} = {total + spare} mm",
                ),
            ),
        )

    # ---------------------------------------------------------------- terminals

    def terminals(self) -> Iterator[Need]:
        """Terminals, covers, seals and splices by end and pin, with their spares."""
        tally: _Tally = {}
        for joint in self.joints:
            if joint.style.family:
                self._count_joint(joint, tally)
        for kind, item in sorted(tally, key=lambda key: (_RANK[key[0]], key)):
            count = tally[kind, item]
            self.made[kind] += count.number
            yield self._counted(kind, item, count.number, tuple(count.wires))

    def _count_joint(self, joint: Joint, tally: _Tally) -> None:
        """Its terminal, and the cover or seal over it; of many like it only one is looked up."""
        alone = len(joint.ends) == 1 and joint.ends[0].wire.qty == 1
        key = (joint.style.end, joint.half, self.gauges[joint.ends[0].wire.label])
        counts = self.alike.get(key) if alone else None
        if counts is None:
            told = len(self.problems)
            items = self._look_up(joint)
            counts = [tally.setdefault(item, _Count()) for item in items]
            if alone and len(self.problems) == told:  # a fault is told for each of them
                self.alike[key] = counts
        for count in counts:
            count.add(joint)

    def _look_up(self, joint: Joint) -> list[tuple[Kind, str]]:
        """What one joint is made of."""
        family = joint.style.family
        half = "plug" if family == BY_SLEEVE else joint.half
        area = joint.area_mm2(self.areas)
        terminal = self.catalogue.terminal(family, half, area)
        if terminal is None:
            self._too_thick(joint, area)
            return []
        items: list[tuple[Kind, str]] = [
            ("splice" if family == "splice" else "terminal", terminal.item)
        ]
        if joint.style.closure == "cover":
            cover = self.catalogue.cover(family, half)
            items += [("cover", cover.item)] if cover else []
        elif joint.style.closure == "seal":
            seal = self._seal(joint)
            items += [("seal", seal)] if seal else []
        return items

    def _too_thick(self, joint: Joint, area: Fraction) -> None:
        if joint.mate:
            return
        end = joint.ends[-1]
        where = end.wire.row.where(end.heading)
        most = float(joint.style.max_mm2)
        says = f"{float(area):g} mm2 at {joint.pin}: '{joint.style.end}' takes {most:g} mm2 at most"
        cure = "a splice point in front of it" if len(joint.ends) > 1 else "another end style"
        self.problems.append(error(where, says, cure))

    def _seal(self, joint: Joint) -> str:
        """The seal over its wires; empty where no seal is so wide, which is told."""
        outside = max(self.outsides[end.wire.label] for end in joint.ends)
        seal = self.catalogue.seal(joint.style.family, outside)
        end = joint.ends[-1]
        where = end.wire.row.where(end.heading)
        if seal is None:
            says = f"no wire seal takes an insulation of {outside:g} mm ('{joint.style.end}')"
            self.problems.append(error(where, says, "a thinner cable or another end style"))
            return ""
        wires = len(_wires_in(joint))
        if wires > 1 and not joint.mate:
            says = f"{wires} wires through one seal at {joint.pin} will not be tight"
            self.problems.append(caution(where, says, "a splice point in front of it"))
        return seal.item

    def _counted(self, kind: Kind, item: str, count: int, wires: tuple[str, ...]) -> Need:
        rules = self.rules
        spare = spare_count(count, rules.terminal_spare_percent, rules.terminal_spare_min)
        percent = plain(rules.terminal_spare_percent)
        return Need(
            kind=kind,
            item=item,
            quantity=Decimal(count + spare),
            counted=Decimal(count),
            unit="each",
            wires=wires,
            trace=Trace(
                "counted by end and pin, and spares (terminal_spare_percent, terminal_spare_min)",
                (
                    f"{count} counted on wires {', '.join(wires)}",
                    f"spares: {percent} % rounded up, at least {rules.terminal_spare_min}: {spare}",
                    f"needed {count} + {spare} = {count + spare}",
                ),
            ),
        )

    # ----------------------------------------------------------------- housings

    def housings(self) -> Iterator[Need]:
        """Housings by component and half, ways counted by pins; no spares."""
        ways: dict[tuple[str, str, str], list[Joint]] = defaultdict(list)
        for joint in self.joints:
            family = joint.style.housing
            if not family:
                continue
            if family == BY_SLEEVE:
                if joint.style.half != "plug":
                    ways[_sleeve_place(joint), family, "socket"].append(joint)
            else:
                ways[joint.pin.point, family, joint.half].append(joint)
        yield from self._housing_lines(ways)

    def _housing_lines(
        self, ways: Mapping[tuple[str, str, str], Sequence[Joint]]
    ) -> Iterator[Need]:
        count: Counter[str] = Counter()
        wires: dict[str, dict[str, None]] = defaultdict(dict)
        figures: dict[str, list[str]] = defaultdict(list)
        for (place, family, half), joints in ways.items():
            sets = joints[0].count if family == BY_SLEEVE else 1
            needed = sum(joint.count for joint in joints) // sets
            chosen = self.catalogue.housing_set(family, half, needed)
            if len(chosen) > 1:
                self._two_housings(place, family, needed, chosen, joints)
            for housing in chosen:
                count[housing.item] += sets
                figures[housing.item].append(f"{place}: {needed} ways, half {half}")
                wires[housing.item].update(
                    dict.fromkeys(end.wire.label for joint in joints for end in joint.ends)
                )
        self.made["housing"] = sum(count.values())
        for item in sorted(count):
            yield Need(
                kind="housing",
                item=item,
                quantity=Decimal(count[item]),
                unit="each",
                wires=tuple(wires[item]),
                trace=Trace(
                    "the smallest set of housings with enough ways at each place; no spares",
                    tuple(figures[item]),
                ),
            )

    def _two_housings(
        self,
        place: str,
        family: str,
        needed: int,
        chosen: Sequence[Housing],
        joints: Sequence[Joint],
    ) -> None:
        end = joints[-1].ends[-1]
        where = end.wire.row.where("to" if end.heading == "to end" else "from")
        says = (
            f"{needed} ways at {place} are more than the largest {family} housing has "
            f"({chosen[0].ways}): reckoned with {len(chosen)} housings"
        )
        self.problems.append(caution(where, says, "two components with a plug each"))

    # ---------------------------------------------------------------- coverings

    def bundles(self) -> list[Bundle]:
        """What runs in each branch, how thick that is, and what goes over it."""
        inside: dict[int, list[SizedWire]] = defaultdict(list)
        for wire in self.sized.wires:
            for index in wire.loaded.measured.branches:
                inside[index].append(wire)
        return [
            self._bundle(branch, tuple(inside.get(index, ())))
            for index, branch in enumerate(self.book.branches)
        ]

    def _bundle(self, branch: Branch, wires: tuple[SizedWire, ...]) -> Bundle:
        outsides = [w.cable.outside_mm for w in wires for _ in range(w.wire.qty)]
        diameter = bundle_diameter_mm(outsides)
        bundle = Bundle(branch=branch, wires=wires, diameter_mm=diameter)
        if not wires or branch.covering in ("tape", "none"):
            return bundle
        tube = self._sleeve("tube", diameter, branch)
        if branch.covering == "tube" or tube is None:
            return Bundle(branch=branch, wires=wires, diameter_mm=diameter, tube=tube)
        braid = self._sleeve("braid", tube.outside_mm, branch)
        shrink = self._shrink("plain", braid.outside_mm, branch) if braid else None
        return Bundle(
            branch=branch, wires=wires, diameter_mm=diameter, tube=tube, braid=braid, shrink=shrink
        )

    def _sleeve(self, covering: str, inside_mm: float, branch: Branch) -> Covering | None:
        bore = tube_bore_mm(inside_mm, float(self.rules.tube_clearance_percent))
        sleeve = self.catalogue.sleeve(covering, bore)
        if sleeve is None:
            says = f"no {covering} in the catalogue has a bore of {bore:.1f} mm for this branch"
            self.problems.append(error(branch.row.where("covering"), says, "tape"))
        return sleeve

    def _shrink(self, kind: str, object_mm: float, branch: Branch) -> Shrink | None:
        shrink = self.catalogue.shrink(kind, object_mm)
        if shrink is None:
            says = f"no {kind} heat-shrink in the catalogue closes on {object_mm:.1f} mm"
            self.problems.append(error(branch.row.where("covering"), says, "tape"))
        return shrink

    def coverings(self, bundles: Sequence[Bundle]) -> Iterator[Need]:
        """Tape, tube, braid and shrink, branch by branch, summed and rounded up once."""
        sums = _Lengths()
        for bundle in bundles:
            if bundle.wires:
                self._cover_branch(bundle, sums)
        for joint in self.joints:
            if joint.style.closure == "shrink":
                self._shrink_joint(joint, sums)
        self.made["shrink ends"] = sums.ends
        waste = plain(self.rules.covering_waste_percent)
        for (kind, item), length in sorted(sums.mm.items(), key=lambda e: (_RANK[e[0][0]], e[0])):
            yield Need(
                kind=kind,
                item=item,
                quantity=Decimal(math.ceil(round(length, 6))),
                counted=Decimal(math.ceil(round(length / _waste_on(kind, self.rules), 6))),
                unit="mm",
                wires=tuple(sums.wires[kind, item]),
                trace=Trace(_COVER_RULE[kind].format(waste=waste), tuple(sums.said[kind, item])),
            )

    def _cover_branch(self, bundle: Bundle, sums: "_Lengths") -> None:
        branch, rules = bundle.branch, self.rules
        covered = float(branch.length_mm + branch.slack_mm)
        waste = _waste_on("tape", rules)
        if branch.covering == "tape":
            self._tape(bundle, covered, waste, sums)
        for kind, sleeve in (("tube", bundle.tube), ("braid", bundle.braid)):
            if sleeve:
                says = f"{branch}: {covered:g} mm over {bundle.diameter_mm:.1f} mm of wires"
                sums.add(
                    "tube" if kind == "tube" else "braid",
                    sleeve.item,
                    covered * waste,
                    bundle,
                    says,
                )
        if bundle.shrink and bundle.braid:
            ends = 2 * float(rules.shrink_end_mm)
            says = f"{branch}: two ends of {float(rules.shrink_end_mm):g} mm on the braid"
            sums.add("shrink", bundle.shrink.item, ends, bundle, says)
            sums.ends += 2

    def _tape(self, bundle: Bundle, covered: float, waste: float, sums: "_Lengths") -> None:
        rules = self.rules
        tape = self.catalogue.tape(float(rules.tape_width_mm))
        if tape is None:
            where = bundle.branch.row.where("covering")
            says = f"no tape {plain(rules.tape_width_mm)} mm wide in the catalogue"
            self.problems.append(error(where, says, "19 for tape_width_mm"))
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

    def _shrink_joint(self, joint: Joint, sums: "_Lengths") -> None:
        outsides = [self.outsides[label] for label in _wires_in(joint)]
        shrink = self.catalogue.shrink("adhesive", bundle_diameter_mm(outsides))
        if shrink is None:
            end = joint.ends[-1]
            says = f"no adhesive heat-shrink in the catalogue closes the {joint.style.end}"
            where = end.wire.row.where(end.heading)
            self.problems.append(error(where, says, "another end style"))
            return
        each = float(self.rules.shrink_end_mm)
        key: tuple[Kind, str] = ("shrink", shrink.item)
        sums.mm[key] += each * joint.count
        sums.said[key].append(f"{joint.style.end} at {joint.pin}: {joint.count} x {each:g} mm")
        sums.wires[key].update(dict.fromkeys(end.wire.label for end in joint.ends))
        sums.ends += joint.count

    # -------------------------------------------------------------------- fuses

    def fuses(self) -> Iterator[Need]:
        """One fuse a name, and the spares of each rating used."""
        groups: dict[tuple[str, Fraction], list[ChosenFuse]] = defaultdict(list)
        for fuse in self.sized.fuses:
            groups[fuse.kind, fuse.rating].append(fuse)
        behind = defaultdict(list)
        for wire in self.sized.wires:
            behind[wire.loaded.fuse].append(wire.wire.label)
        for (kind, rating), fuses in sorted(groups.items()):
            typed = [fuse.spares for fuse in fuses if fuse.spares is not None]
            spares = max(typed) if typed else self.rules.fuse_spares
            names = ", ".join(f"{f.name} ({float(f.load_amps):g} A)" for f in fuses)
            yield Need(
                kind="fuse",
                item=self._fuse_item(kind, rating),
                quantity=Decimal(len(fuses) + spares),
                counted=Decimal(len(fuses)),
                unit="each",
                wires=tuple(label for fuse in fuses for label in behind[fuse.name]),
                trace=Trace(
                    "one fuse a name, and fuse_spares of each rating",
                    (f"{len(fuses)} for {names}", f"spares {spares}"),
                ),
            )

    def _fuse_item(self, kind: str, rating: Fraction) -> str:
        known = (f.item for f in self.catalogue.fuses if (f.kind, f.amps) == (kind, rating))
        return next(known, f"{kind} fuse, {float(rating):g} A")

    def holders(self) -> Iterator[Need]:
        """In-line holders one each; fuses with the same holder word share boxes."""
        groups: dict[str, list[ChosenFuse]] = defaultdict(list)
        for fuse in self.sized.fuses:
            groups[fuse.holder].append(fuse)
        count: Counter[str] = Counter()
        said: dict[str, list[str]] = defaultdict(list)
        for word, fuses in groups.items():
            holder = self.catalogue.holder(word)
            if holder is None:
                continue
            chosen = self.catalogue.holder_set(holder.holder, holder.kind, len(fuses))
            for box in chosen:
                count[box.item] += 1
            said[chosen[0].item].append(f"{word}: {', '.join(fuse.name for fuse in fuses)}")
        for item in sorted(count):
            trace = Trace(
                "in-line: one each; else the smallest set with enough ways", tuple(said[item])
            )
            yield Need(
                kind="fuse_holder",
                item=item,
                quantity=Decimal(count[item]),
                unit="each",
                wires=(),
                trace=trace,
            )

    def extras(self) -> Iterator[Need]:
        """The rows of the Extras sheet as they stand, lengths in mm."""
        for extra in self.book.extras:
            mm = MM_PER_UNIT.get(extra.unit.casefold())
            scale = Decimal(mm.numerator) / mm.denominator if mm else Decimal(1)
            yield Need(
                kind="extra",
                item=extra.item,
                quantity=extra.qty * scale,
                unit="mm" if mm else extra.unit,
                wires=(),
                price=None if extra.price is None else extra.price / scale,
                trace=Trace("as listed", (f"{extra.row.where('item')}",)),
            )

    # ------------------------------------------------------------------- labour

    def operations(self, bundles: Sequence[Bundle]) -> Mapping[str, Fraction]:
        """How often each operation of catalogs/labour.csv is done; metres for coverings."""
        wires = Fraction(sum(wire.wire.qty for wire in self.sized.wires))
        metres: dict[str, Fraction] = defaultdict(Fraction)
        for bundle in bundles:
            if bundle.wires:
                metres[bundle.branch.covering] += (
                    bundle.branch.length_mm + bundle.branch.slack_mm
                ) / 1000
        return {
            "cut and strip": wires,
            "crimp": Fraction(self.made["terminal"]),
            "cover": Fraction(self.made["cover"]),
            "seal": Fraction(self.made["seal"]),
            "splice": Fraction(self.made["splice"]),
            "wrap": metres["tape"],
            "tube": metres["tube"] + metres["braid"],
            "braid": metres["braid"],
            "shrink": Fraction(self.made["shrink ends"]),
            "breakout": Fraction(_breakouts(bundles)),
            "housing": Fraction(self.made["housing"]),
            "fuse": Fraction(len(self.sized.fuses)),
            "continuity test": wires,
            "fit": Fraction(self._fitted()),
        }

    def _fitted(self) -> int:
        """Components that wires end at, each once; a splice or a plug in the loom is no fitting."""
        spliced = {j.pin.point for j in self.joints if j.style.family == "splice"}
        points = {pin.point for wire in self.book.wires for pin in (wire.start, wire.finish)}
        return len([p for p in points - spliced if self.net.passing(p) != PIN_TO_PIN])


def _sleeve_place(joint: Joint) -> str:
    """Bullets at a pin meet in one connector; at a bare point every wire has its own."""
    return str(joint.pin) if joint.pin.pin else f"{joint.pin}, wire {joint.ends[0].wire.label}"


def _wires_in(joint: Joint) -> list[str]:
    """Labels of the wires in one terminal, a label as often as its wires lie in it."""
    shared = joint.count == 1
    return [end.wire.label for end in joint.ends for _ in range(end.wire.qty if shared else 1)]


def _waste_on(kind: Kind, rules: HouseRules) -> float:
    """What the length of a covering is multiplied by; shrink is cut to length, without waste."""
    return 1.0 if kind == "shrink" else 1 + float(rules.covering_waste_percent) / 100


class _Lengths:
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


def _breakouts(bundles: Iterable[Bundle]) -> int:
    """Loom points where three branches or more that hold wires meet."""
    meeting: Counter[str] = Counter()
    for bundle in bundles:
        if bundle.wires:
            meeting.update((bundle.branch.start, bundle.branch.finish))
    return sum(1 for branches in meeting.values() if branches > 2)


_RANK: Mapping[str, int] = {kind: rank for rank, kind in enumerate(get_args(Kind))}
_COVER_RULE: Mapping[Kind, str] = {
    "tape": "a helix unrolled with two turns at each end, branch by branch, and {waste} % waste",
    "tube": "length and slack of each branch, and {waste} % waste; bore at least the bundle "
    "and tube_clearance_percent",
    "braid": "length and slack of each branch, and {waste} % waste; the tube lies inside it",
    "shrink": "over both ends of each braid and over lugs and splices; no waste",
}
