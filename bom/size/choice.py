"""The cable chosen for each wire so far, and what follows: heat, drop, and room in terminals."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction

from bom.bundle import sleeves
from bom.catalogue import Catalogue
from bom.figures import (
    BRAID_K_M_PER_W,
    HEAT_MARGIN,
    WarmWire,
    air_gap_k_m_per_w,
    bundle_diameter_mm,
    bundle_rise_k,
    drop_volts,
    heat_w_per_m,
    taped_mm,
)
from bom.house import HouseRules
from bom.parts import Cable
from bom.size.task import Task
from bom.trade import Branch, BranchHeat, Ends, Supply

DUST = 1e-9
"""Degrees and volts nearer than this are the same."""


class Choice:
    """For each task the index of its cable; branches and ways are known by numbers."""

    def __init__(
        self,
        tasks: Sequence[Task],
        branches: Sequence[Branch],
        supplies: Sequence[Supply],
        ends: Ends,
        house: tuple[HouseRules, Catalogue],
    ) -> None:
        self.tasks = tasks
        self.rules, self.catalogue = house
        self.branches = branches
        self.at = [0] * len(tasks)
        self.conductor_c = float(self.rules.conductor_c)
        self.number = {task.wire.label: n for n, task in enumerate(tasks)}
        self.inside: dict[int, list[int]] = defaultdict(list)
        for n, task in enumerate(tasks):
            for branch in task.loaded.measured.branches:
                self.inside[branch].append(n)
        self.ways = self._limits(supplies)
        self.through: dict[int, list[int]] = defaultdict(list)
        for way, (numbers, _) in enumerate(self.ways):
            for n in numbers:
                self.through[n].append(way)
        self.shared = self._shared(ends)
        self._heats: dict[int, BranchHeat] = {}
        self._warm: dict[tuple[int, str], WarmWire] = {}
        self._drops: dict[tuple[int, int], float] = {}

    def _limits(self, supplies: Sequence[Supply]) -> list[tuple[tuple[int, ...], float]]:
        """Every stretch that has a limit in volts, by the numbers of its wires; each once.

        Where every gauge is typed there is nothing to choose.
        """
        found: dict[tuple[int, ...], float] = {}
        free = {task.wire.label for task in self.tasks if len(task.cables) > 1}
        for supply in supplies if free else ():
            for labels, volts in supply.limits:
                if not free.isdisjoint(labels):
                    numbers = tuple(self.number[label] for label in labels)
                    found[numbers] = min(volts, found.get(numbers, volts))
        return list(found.items())

    def _shared(self, ends: Ends) -> dict[int, list[tuple[Fraction, list[int]]]]:
        """For each wire the terminals it shares: the most they take, and the wires in them."""
        shared: dict[int, list[tuple[Fraction, list[int]]]] = defaultdict(list)
        for joint in ends.joints:
            if len(joint.ends) > 1 and not joint.mate and joint.style.max_mm2:
                numbers = [self.number[end.wire.label] for end in joint.ends]
                for number in numbers:
                    shared[number].append((joint.style.max_mm2, numbers))
        return shared

    def cable(self, number: int) -> Cable:
        """The cable chosen for a task."""
        return self.tasks[number].cables[self.at[number]]

    def put(self, number: int, index: int) -> None:
        """Choose another cable for a task."""
        self.at[number] = index
        for branch in self.tasks[number].loaded.measured.branches:
            self._heats.pop(branch, None)

    def cost(self, number: int, index: int) -> float:
        """What the pieces of a task cost in one of its cables."""
        task = self.tasks[number]
        metres = task.loaded.measured.piece_mm * task.wire.qty / 1000
        return metres * task.cables[index].cost_per_m

    # ------------------------------------------------------------------------------ room

    def has_room(self, raised: Iterable[tuple[int, int]]) -> bool:
        """True where the terminals still take these tasks in the cables of these indexes."""
        new = dict(raised)
        return all(
            sum((self._area(n, new.get(n, self.at[n])) for n in wires), Fraction(0)) <= most
            for number in new
            for most, wires in self.shared.get(number, ())
        )

    def _area(self, number: int, index: int) -> Fraction:
        task = self.tasks[number]
        return task.cables[index].area_mm2 * task.wire.qty

    # ------------------------------------------------------------------------------ heat

    def heat(self, branch: int) -> BranchHeat:
        """How warm a branch gets with the cables as they are."""
        known = self._heats.get(branch)
        if known is None:
            known = self._heats[branch] = self._heat(self.branches[branch], self.inside[branch])
        return known

    def is_too_warm(self, branch: int) -> bool:
        """True for a branch whose hottest conductor gets over what its insulation stands."""
        heat = self.heat(branch)
        return heat.hottest_c > heat.most_c + DUST

    def warmth(self, number: int) -> WarmWire:
        """What one wire of a task gives off."""
        cable = self.cable(number)
        key = (number, cable.gauge)
        known = self._warm.get(key)
        if known is None:
            amps = self.tasks[number].loaded.heat_amps
            watts = heat_w_per_m(amps, cable.ohm_per_km_20c, self._most_c(cable)) if amps else 0.0
            known = WarmWire(watts, cable.outside_mm, float(cable.area_mm2))
            self._warm[key] = known
        return known

    def _most_c(self, cable: Cable) -> float:
        return min(float(self.rules.insulation_c), cable.max_c)

    def _heat(self, branch: Branch, numbers: Sequence[int]) -> BranchHeat:
        wires = [self.warmth(n) for n in numbers for _ in range(self.tasks[n].wire.qty)]
        ambient = self.rules.ambient_c if branch.ambient_c is None else branch.ambient_c
        most_c = min(self._most_c(self.cable(n)) for n in numbers)
        rise = 0.0
        if any(wire.w_per_m for wire in wires):
            rise = bundle_rise_k(wires, *self._covered(branch, wires))
        hottest = max(numbers, key=lambda n: (self.warmth(n).w_per_m, self.tasks[n].key))
        return BranchHeat(
            rise_k=rise,
            hottest_c=float(ambient) + HEAT_MARGIN * rise,
            most_c=most_c,
            wire=self.tasks[hottest].wire.label,
        )

    def _covered(self, branch: Branch, wires: Sequence[WarmWire]) -> tuple[float, float]:
        """Outside in mm of the covered bundle, and the resistance of its covering in K m/W."""
        bundle = bundle_diameter_mm([wire.outside_mm for wire in wires])
        rules = self.rules
        if branch.covering == "tape":
            thickness, overlap = rules.tape_thickness_mm, rules.tape_overlap_percent
            return taped_mm(bundle, float(thickness), float(overlap)), 0.0
        tube, braid = sleeves(bundle, branch.covering, rules, self.catalogue)
        if tube is None:
            return bundle, 0.0
        gap = air_gap_k_m_per_w(bundle)
        return (braid.outside_mm, gap + BRAID_K_M_PER_W) if braid else (tube.outside_mm, gap)

    # ------------------------------------------------------------------------------ drop

    def drop(self, number: int, index: int | None = None) -> float:
        """What one wire of a task loses in volts, in its cable or another of its own."""
        index = self.at[number] if index is None else index
        known = self._drops.get((number, index))
        if known is None:
            loaded, cable = self.tasks[number].loaded, self.tasks[number].cables[index]
            amps, piece_mm = float(loaded.amps), loaded.measured.piece_mm
            known = drop_volts(amps, piece_mm, cable.ohm_per_km_20c, self.conductor_c)
            self._drops[number, index] = known
        return known

    def excess(self, way: int) -> float:
        """By how many volts a way is over its limit; below 0 where it keeps it."""
        numbers, volts = self.ways[way]
        return sum(sorted(self.drop(n) for n in numbers)) - volts

    def holds(self, number: int) -> bool:
        """True where no branch and no way of a task is over its limit."""
        ways = (self.excess(way) <= DUST for way in self.through.get(number, ()))
        branches = self.tasks[number].loaded.measured.branches
        return all(ways) and not any(self.is_too_warm(branch) for branch in branches)
