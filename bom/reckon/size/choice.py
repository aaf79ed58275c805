"""The cable chosen for each wire so far, and what follows: heat, drop, and room in terminals."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from bom.reckon.bundle import laid
from bom.reckon.size.task import WireTask
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Cable
from bom.trade.figures import (
    HEAT_MARGIN,
    WarmWire,
    bundle_diameter_mm,
    bundle_rise_k,
    drop_volts,
    heat_w_per_m,
)
from bom.trade.house import HouseRules
from bom.trade.job_book import Branch
from bom.trade.wires import STARTER, BranchHeat, Ends, Supply

DUST = 1e-9
"""Degrees and volts nearer than this are the same."""


class Limit(NamedTuple):
    """A stretch of wires, by their tasks' numbers, and the volts that it may lose."""

    numbers: tuple[int, ...]
    volts: float
    starts: bool
    """It leads to a starter motor."""


class Choice:
    """For each task the index of its cable; branches and ways are known by numbers."""

    def __init__(
        self,
        tasks: Sequence[WireTask],
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
        for way, (numbers, _, _) in enumerate(self.ways):
            for n in numbers:
                self.through[n].append(way)
        self.shared = self._shared(ends)
        self._reached_c: dict[int, float] = {}
        self.lost_ways: set[int] = set()
        """Limits that the largest fitting cables do not keep: left out, and told by the checks."""
        self.insulation_c = float(self.rules.insulation_c)
        self._heats: dict[int, tuple[float, float]] = {}
        self._warm: dict[tuple[int, str], WarmWire] = {}
        self._drops: dict[tuple[int, int], float] = {}
        lain = {n for numbers in self.inside.values() for n in numbers}
        self.warmth = {n: self._warmth(n) for n in sorted(lain)}
        """What one wire of each task in a branch gives off, in the cable that it has now."""

    def _limits(self, supplies: Sequence[Supply]) -> list[Limit]:
        """Every stretch that has a limit in volts, by the numbers of its wires; each once.

        Where every gauge is typed there is nothing to choose.
        """
        found: dict[tuple[tuple[int, ...], bool], float] = {}
        free = {task.wire.label for task in self.tasks if len(task.cables) > 1}
        for supply in supplies if free else ():
            for labels, volts in supply.limits:
                if not free.isdisjoint(labels):
                    numbers = tuple(self.number[label] for label in labels)
                    key = (numbers, supply.kind == STARTER)
                    found[key] = min(volts, found.get(key, volts))
        return [Limit(numbers, volts, starts) for (numbers, starts), volts in found.items()]

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
        coloured = self.tasks[number].wire.colour is not None
        if coloured:
            self.lines[self._line(number)] -= 1
        self.at[number] = index
        if coloured:
            self.lines[self._line(number)] += 1
        if number in self.warmth:
            self.warmth[number] = self._warmth(number)
        for branch in self.tasks[number].loaded.measured.branches:
            self._heats.pop(branch, None)

    def lower(self, number: int, index: int) -> bool:
        """Choose a thinner cable for a task, unless a limit would be broken that holds now."""
        before, branches = self.at[number], self.tasks[number].loaded.measured.branches
        if not self.keeps(number):
            return False
        heats = {branch: self._heat(branch) for branch in branches}
        self.put(number, index)
        if self.keeps(number):
            return True
        self.put(number, before)
        self._heats.update(heats)
        return False

    @cached_property
    def lines(self) -> "Counter[tuple[str, str]]":
        """How many tasks there are of each colour and gauge: a line to order each."""
        coloured = (n for n, task in enumerate(self.tasks) if task.wire.colour is not None)
        return Counter(self._line(n) for n in coloured)

    def _line(self, number: int) -> tuple[str, str]:
        return str(self.tasks[number].wire.colour), self.cable(number).gauge

    def lines_more(self, number: int, index: int) -> int:
        """How many lines of gauge and colour another cable for a task makes: -1, 0 or 1."""
        task, now = self.tasks[number], self.cable(number)
        colour, gauge = str(task.wire.colour), task.cables[index].gauge
        if task.wire.colour is None or gauge == now.gauge:
            return 0
        return (not self.lines[colour, gauge]) - (self.lines[colour, now.gauge] == 1)

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

    def is_too_warm(self, branch: int) -> bool:
        """True for a branch whose hottest conductor gets over what its insulation stands.

        Of one that no cable keeps cool: over what was reached, and a degree.
        """
        rise_k, most_c = self._heat(branch)
        return self._hottest_c(branch, rise_k) > self._reached_c.get(branch, most_c) + DUST

    def give_up(self, branch: int) -> None:
        """Leave a branch as cool as it could be made; the checks tell it."""
        self._reached_c[branch] = self._hottest_c(branch, self._heat(branch)[0]) + 1

    def heat(self, branch: int) -> BranchHeat:
        """How warm a branch gets with the cables as they are."""
        rise_k, most_c = self._heat(branch)
        numbers = self.inside[branch]
        hottest = max(numbers, key=lambda n: (self.warmth[n].w_per_m, self.tasks[n].key))
        return BranchHeat(
            rise_k=rise_k,
            hottest_c=self._hottest_c(branch, rise_k),
            most_c=most_c,
            wire=self.tasks[hottest].wire.label,
        )

    def _hottest_c(self, branch: int, rise_k: float) -> float:
        ambient = self.branches[branch].ambient_c
        return float(self.rules.ambient_c if ambient is None else ambient) + HEAT_MARGIN * rise_k

    def _warmth(self, number: int) -> WarmWire:
        """What one wire of a task gives off in its cable."""
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
        return min(self.insulation_c, cable.max_c)

    def _heat(self, branch: int) -> tuple[float, float]:
        """Rise of the hottest conductor in K, and what the weakest insulation stands in C."""
        known = self._heats.get(branch)
        if known is None:
            numbers = self.inside[branch]
            wires = [self.warmth[n] for n in numbers for _ in range(self.tasks[n].wire.qty)]
            rise_k = 0.0
            if any(wire.w_per_m for wire in wires):
                rise_k = bundle_rise_k(wires, *self._covered(self.branches[branch], wires))
            most_c = min(
                map(self._most_c, {self.cable(n).gauge: self.cable(n) for n in numbers}.values())
            )
            known = self._heats[branch] = (rise_k, most_c)
        return known

    def _covered(self, branch: Branch, wires: Sequence[WarmWire]) -> tuple[float, float]:
        """Outside in mm of the covered bundle, and the resistance of its covering in K m/W."""
        outside_mm, holds = bundle_diameter_mm([wire.outside_mm for wire in wires]), 0.0
        for one in laid(outside_mm, branch.covering, self.rules, self.catalogue):
            outside_mm, holds = one.outside_mm, holds + one.heat_k_m_per_w
        return outside_mm, holds

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

    def lost(self, number: int, way: int, index: int | None = None) -> float:
        """What of the drop of a task counts on a way: no starter turns but on its own."""
        share = self.tasks[number].loaded.share_of_drop(STARTER if self.ways[way].starts else "")
        return self.drop(number, index) * share

    def excess(self, way: int) -> float:
        """By how many volts a way is over its limit; below 0 where it keeps it."""
        numbers, volts, _ = self.ways[way]
        return sum(sorted(self.lost(n, way) for n in numbers)) - volts

    def keeps(self, number: int) -> bool:
        """True where a task breaks no limit but those that no cable keeps."""
        branches = self.tasks[number].loaded.measured.branches
        cool = not any(self.is_too_warm(branch) for branch in branches)
        ways = (way for way in self.through.get(number, ()) if way not in self.lost_ways)
        return cool and all(self.excess(way) <= DUST for way in ways)
