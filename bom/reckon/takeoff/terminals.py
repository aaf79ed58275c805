"""Terminals with their covers and seals, splices, and what closes the ways without a wire."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

from msgspec import Struct, field

from bom.files.spelling import plain
from bom.reckon.takeoff.housings import Housed
from bom.reckon.takeoff.work import Work, wires_in
from bom.trade.catalogue_rows import BY_SLEEVE, takes
from bom.trade.figures import spare_count
from bom.trade.larger_ends import at_ends, larger_end
from bom.trade.needs import Need, Trace
from bom.trade.problem import caution, error, listed
from bom.trade.wires import Joint


class _Count(Struct):
    """So many of an item, and the wires they are for in the order first met."""

    number: int = 0
    wires: dict[str, None] = field(default_factory=dict)
    how: str = "counted by end and pin"

    def add(self, number: int, joints: Iterable[Joint]) -> None:
        """So many more, for the wires of some joints."""
        self.number += number
        for joint in joints:
            for end in joint.ends:
                self.wires[end.wire.label] = None


_Counts: TypeAlias = dict[tuple[str, str], _Count]


class Terminals:
    """What the joints of a job are made of, counted by item."""

    def __init__(self, work: Work, housings: Sequence[Housed]) -> None:
        self.work = work
        self.housings = housings
        self.alike: dict[tuple[str, str, str], list[_Count]] = {}
        """What a terminal with one wire in it is counted to, by end, half and gauge."""
        self.thick: dict[tuple[tuple[str, ...], Fraction], list[Joint]] = defaultdict(list)
        """Terminals that their wires are too thick for, by these wires and their area."""
        self.amps = {wire.wire.label: wire.loaded.steady_amps for wire in work.sized.wires}

    def needs(self) -> Iterator[Need]:
        """Terminals, covers, seals and splices by end and pin, with their spares."""
        tally: _Counts = {}
        for joint in self.work.joints:
            if joint.style.family:
                self._count_joint(joint, tally)
        self._tell_thick()
        for housed in self.housings:
            self._close_ways(housed, tally)
        for kind, item in sorted(tally, key=lambda key: (self.work.rank[key[0]], key)):
            yield self._counted(kind, item, tally[kind, item])

    def _close_ways(self, housed: Housed, tally: _Counts) -> None:
        """A cavity plug in each way of a sealed housing that has no wire."""
        plug = self.work.catalogue.cavity_plug(housed.joints[0].style.family)
        if plug and housed.empty:
            how = "one for each way without a wire"
            count = tally.setdefault(("seal", plug.item), _Count(how=how))
            count.add(housed.empty, housed.joints)

    def _count_joint(self, joint: Joint, tally: _Counts) -> None:
        """Its terminal, and the cover or seal over it; of many like it only one is looked up."""
        alone = len(joint.ends) == 1 and joint.ends[0].wire.qty == 1
        key = (joint.style.end, joint.half, self.work.gauges[joint.ends[0].wire.label])
        counts = self.alike.get(key) if alone else None
        if counts is None:
            told = len(self.work.problems)
            items = self._look_up(joint)
            counts = [tally.setdefault(item, _Count()) for item in items]
            if alone and items and len(self.work.problems) == told:  # a fault is told for each
                self.alike[key] = counts
        for count in counts:
            count.add(joint.count, (joint,))

    def _look_up(self, joint: Joint) -> list[tuple[str, str]]:
        """What one joint is made of."""
        family = joint.style.family
        half = "plug" if family == BY_SLEEVE else joint.half
        area = joint.area_mm2(self.work.areas)
        terminal = self.work.catalogue.terminal(family, half, area)
        if terminal is None:
            if not joint.mate:
                self.thick[tuple(wires_in(joint)), area].append(joint)
            return []
        items: list[tuple[str, str]] = [
            ("splice" if family == "splice" else "terminal", terminal.item)
        ]
        if joint.style.closure == "cover":
            cover = self.work.catalogue.cover(family, half)
            items += [("cover", cover.item)] if cover else []
        elif joint.style.closure == "seal":
            seal = self._seal(joint)
            items += [("seal", seal)] if seal else []
        return items

    def _tell_thick(self) -> None:
        """Wires too thick for their terminals: both ends of one wire at once."""
        for (_, area), joints in self.thick.items():
            end = joints[0].ends[-1]
            styles = {joint.style.end: float(joint.style.max_mm2) for joint in joints}
            most = " and ".join(f"'{name}' takes {mm2:g} mm2" for name, mm2 in styles.items())
            places = " and ".join(str(joint.pin) for joint in joints)
            says = f"{_together(joints[0])}{float(area):g} mm2 at {places}: {most} at most"
            where = end.wire.row.where(end.heading)
            cure, alike = self._taken_by(joints, area), "wires too thick for their ends"
            self.work.problems.append(error(where, says, cure, alike=alike))

    def _taken_by(self, joints: Sequence[Joint], area: Fraction) -> str:
        """What takes the wires that some terminals do not."""
        first, labels = joints[0], wires_in(joints[0])
        if len(labels) == 1:
            return at_ends((joint.pin, self._larger(joint, area)) for joint in joints)
        *_, second, thickest = sorted(self.work.areas[label] for label in labels)
        spliced = self.work.catalogue.ends["splice"].max_mm2
        if first.style.family == "splice":
            two = thickest + second <= spliced
            stud = "a stud in place of the splice, with a ring or a lug on each wire"
            return "two splices, one behind the other" if two else stud
        if area <= spliced:
            return "a splice point in front of it, or a pin for each wire"
        larger = "" if takes(first.style, thickest) else self._larger(first, thickest)
        return f"a pin for each wire{larger and f', with {larger} for the thickest'}"

    def _larger(self, joint: Joint, area: Fraction) -> str:
        """The end style that takes the wires of a terminal."""
        amps = max(self.amps[end.wire.label] for end in joint.ends)
        ends = self.work.catalogue.ends.values()
        return larger_end(ends, joint.style, joint.pin, area, amps)

    def _seal(self, joint: Joint) -> str:
        """The seal over its wires; empty where no seal is so wide, which is told."""
        outside = max(self.work.outsides[end.wire.label] for end in joint.ends)
        seal = self.work.catalogue.seal(joint.style.family, outside)
        end = joint.ends[-1]
        where = end.wire.row.where(end.heading)
        if seal is None:
            says = f"no wire seal takes an insulation of {outside:g} mm ('{joint.style.end}')"
            cure, alike = "a thinner cable or another end style", "wires that no seal takes"
            self.work.problems.append(error(where, says, cure, alike=alike))
            return ""
        wires = len(wires_in(joint))
        if wires > 1 and not joint.mate:
            says = f"{wires} wires through one seal at {joint.pin} will not be tight"
            cure, alike = "a splice point in front of it", "seals with more than one wire"
            self.work.problems.append(caution(where, says, cure, alike=alike))
        return seal.item

    def _counted(self, kind: str, item: str, counted: _Count) -> Need:
        rules, count, wires = self.work.rules, counted.number, tuple(counted.wires)
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
                f"{counted.how}, and spares (terminal_spare_percent, terminal_spare_min)",
                (
                    f"{count} counted on wires {', '.join(wires)}",
                    f"spares: {percent} % rounded up, at least {rules.terminal_spare_min}: {spare}",
                    f"needed {count} + {spare} = {count + spare}",
                ),
            ),
        )


def _together(joint: Joint) -> str:
    """The wires that a terminal takes the sum of; empty for one alone."""
    wires = wires_in(joint)
    return f"wires {listed(wires)} come to " if len(wires) > 1 else ""
