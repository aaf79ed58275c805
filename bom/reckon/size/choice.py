"""The cable chosen for each wire so far, and what follows: heat, drop, and room in terminals."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import cached_property

from bom.reckon.bundle import laid
from bom.reckon.size.task import WireTask
from bom.reckon.size.ways import WayLosses, limits_of, units_of
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
from bom.trade.roads import Along
from bom.trade.wires import STARTER, BranchHeat, Ends, Supply

DUST = 1e-9
"""Degrees and volts nearer than this are the same."""

_Heat = tuple[float, float]
"""The rise of the hottest conductor in a branch, in K, and the most it may get to, in C."""
_Kind = tuple[WarmWire, float]
"""What makes wires alike in a branch: what they give off, and the most their insulation stands."""


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
        self._share(ends)
        self._reached_c: dict[int, float] = {}
        self.insulation_c = float(self.rules.insulation_c)
        self._heats: dict[int, _Heat] = {}
        self._heats_if: dict[int, dict[tuple[_Kind, _Kind, int], _Heat]] = {}
        self._units: dict[tuple[int, int, bool], int] = {}
        self.ways = self._ways(supplies)
        self._kinds: dict[tuple[int, int], _Kind] = {}
        self._wires: dict[int, Counter[_Kind]] = {b: Counter() for b in self.inside}
        for branch, numbers in self.inside.items():
            for n in numbers:
                self._wires[branch][self._kind(n, 0)] += tasks[n].wire.qty

    def _ways(self, supplies: Sequence[Supply]) -> WayLosses:
        """The ways with wires to choose for, with what they lose; where all is typed none."""
        free = {task.wire.label for task in self.tasks if len(task.cables) > 1}
        is_free = Along(False, lambda met, label: met or label in free)
        ways = WayLosses(limits_of(supplies, is_free) if free else [])
        for label in ways.steps:
            for starts in (False, True):
                ways.add(label, starts, self.lost(self.number[label], starts))
        return ways

    def _share(self, ends: Ends) -> None:
        """Find the terminals that each wire shares, by number, and what they still take in mm2."""
        self._shared: dict[int, list[int]] = defaultdict(list)
        self._room_mm2: list[Fraction] = []
        for joint in ends.joints:
            if len(joint.ends) > 1 and not joint.mate and joint.style.max_mm2:
                room_mm2 = joint.style.max_mm2
                for end in joint.ends:
                    number = self.number[end.wire.label]
                    self._shared[number].append(len(self._room_mm2))
                    room_mm2 -= self._area(number, 0)
                self._room_mm2.append(room_mm2)

    def cable(self, number: int) -> Cable:
        """The cable chosen for a task."""
        return self.tasks[number].cables[self.at[number]]

    def put(self, number: int, index: int) -> None:
        """Choose another cable for a task."""
        task, now = self.tasks[number], self._kind(number, self.at[number])
        coloured, label = task.wire.colour is not None, task.wire.label
        if coloured:
            self.lines[self._line(number)] -= 1
        for starts in (False, True) if label in self.ways.steps else ():
            more = self.lost(number, starts, index) - self.lost(number, starts)
            self.ways.add(label, starts, more)
        for terminal in self._shared.get(number, ()):
            self._room_mm2[terminal] -= self._area(number, index) - self._area(number)
        self.at[number] = index
        if coloured:
            self.lines[self._line(number)] += 1
        for branch in task.loaded.measured.branches:
            _exchange(self._wires[branch], now, self._kind(number, index), task.wire.qty)
            self._heats.pop(branch, None)
            self._heats_if.pop(branch, None)

    def lower(self, number: int, index: int) -> bool:
        """Choose a thinner cable for a task, unless a limit would be broken that holds now."""
        branches = self.tasks[number].loaded.measured.branches
        for branch in branches:
            if self.is_too_warm(branch) or self.is_too_warm_if(branch, number, index):
                return False
        if not self._ways_allow(number, index):
            return False
        heats = {branch: self._heat_if(branch, number, index) for branch in branches}
        self.put(number, index)
        self._heats.update(heats)
        return True

    def lower_all(self, numbers: Iterable[int]) -> bool:
        """The thinnest cables that the ways allow for some tasks, unless a branch gets too warm."""
        before = {number: self.at[number] for number in numbers}
        branches = {b for n in before for b in self.tasks[n].loaded.measured.branches}
        if any(self.is_too_warm(branch) for branch in branches):
            return False
        heats = {branch: self._heat(branch) for branch in branches}
        heats_if = {branch: self._heats_if.get(branch, {}) for branch in branches}
        for number in before:
            while self.at[number] and self._ways_allow(number, self.at[number] - 1):
                self.put(number, self.at[number] - 1)
        if not any(self.is_too_warm(branch) for branch in branches):
            return True
        for number, index in before.items():
            self.put(number, index)
        self._heats.update(heats)
        self._heats_if.update(heats_if)
        return False

    def _ways_allow(self, number: int, index: int) -> bool:
        ways = self.ways.kept_through(self.tasks[number].wire.label)
        return all(self.excess_if(way, number, index) <= units_of(DUST) for way in ways)

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
        more: dict[int, Fraction] = defaultdict(Fraction)
        for number, index in raised:
            for terminal in self._shared.get(number, ()):
                more[terminal] += self._area(number, index) - self._area(number)
        return all(area <= self._room_mm2[terminal] for terminal, area in more.items())

    def can_rise(self, number: int) -> bool:
        """True where there is a thicker cable for a task, and its terminals take it."""
        index = self.at[number] + 1
        return index < len(self.tasks[number].cables) and self.has_room([(number, index)])

    def _area(self, number: int, index: int | None = None) -> Fraction:
        task = self.tasks[number]
        area_mm2 = task.cables[self.at[number] if index is None else index].area_mm2
        return area_mm2 if task.wire.qty == 1 else area_mm2 * task.wire.qty

    # ------------------------------------------------------------------------------ heat

    def is_too_warm(self, branch: int) -> bool:
        """True for a branch whose hottest conductor gets over what its insulation stands.

        Of one that no cable keeps cool: over what was reached, and a degree.
        """
        return self._is_over(branch, self._heat(branch))

    def is_too_warm_if(self, branch: int, number: int, index: int) -> bool:
        """The same with another cable for a task."""
        return self._is_over(branch, self._heat_if(branch, number, index))

    def _is_over(self, branch: int, heat: _Heat) -> bool:
        rise_k, most_c = heat
        return self._hottest_c(branch, rise_k) > self._reached_c.get(branch, most_c) + DUST

    def heat_if(self, branch: int, number: int, index: int) -> tuple[float, float]:
        """How warm a branch would get with another cable for a task, and the most it may."""
        rise_k, most_c = self._heat_if(branch, number, index)
        return self._hottest_c(branch, rise_k), most_c

    def give_up(self, branch: int) -> None:
        """Leave a branch as cool as it could be made; the checks tell it."""
        self._reached_c[branch] = self._hottest_c(branch, self._heat(branch)[0]) + 1

    def heat(self, branch: int) -> BranchHeat:
        """How warm a branch gets with the cables as they are."""
        rise_k, most_c = self._heat(branch)
        numbers = self.inside[branch]
        hottest = max(numbers, key=lambda n: (self.warmth(n), n))
        return BranchHeat(
            rise_k=rise_k,
            hottest_c=self._hottest_c(branch, rise_k),
            most_c=most_c,
            wire=self.tasks[hottest].wire.label,
        )

    def _hottest_c(self, branch: int, rise_k: float) -> float:
        ambient = self.branches[branch].ambient_c
        return float(self.rules.ambient_c if ambient is None else ambient) + HEAT_MARGIN * rise_k

    def warmth(self, number: int) -> float:
        """What one wire of a task gives off in its cable, in W/m."""
        return self._kind(number, self.at[number])[0].w_per_m

    def _kind(self, number: int, index: int) -> _Kind:
        known = self._kinds.get((number, index))
        if known is None:
            task = self.tasks[number]
            cable, amps = task.cables[index], task.loaded.heat_amps
            most_c = min(self.insulation_c, cable.max_c)
            watts = heat_w_per_m(amps, cable.ohm_per_km_20c, most_c) if amps else 0.0
            wire = WarmWire(watts, cable.outside_mm, float(cable.area_mm2))
            known = self._kinds[number, index] = (wire, most_c)
        return known

    def _heat(self, branch: int) -> _Heat:
        """Rise of the hottest conductor in K, and what the weakest insulation stands in C."""
        known = self._heats.get(branch)
        if known is None:
            known = self._heats[branch] = self._heat_of(branch, self._wires[branch])
        return known

    def _heat_if(self, branch: int, number: int, index: int) -> _Heat:
        """The same with another cable for a task; wires that are alike make it alike."""
        now, new = self._kind(number, self.at[number]), self._kind(number, index)
        qty = self.tasks[number].wire.qty
        known = self._heats_if.setdefault(branch, {})
        if (now, new, qty) not in known:
            wires = self._wires[branch].copy()
            _exchange(wires, now, new, qty)
            known[now, new, qty] = self._heat_of(branch, wires)
        return known[now, new, qty]

    def _heat_of(self, branch: int, kinds: Counter[_Kind]) -> _Heat:
        """The heat of a branch with these wires in it."""
        wires: Counter[WarmWire] = Counter()
        for (wire, _), count in kinds.items():
            wires[wire] += count
        rise_k = 0.0
        if any(wire.w_per_m for wire in wires):
            rise_k = bundle_rise_k(wires, *self._covered(self.branches[branch], wires))
        return rise_k, min(most_c for _, most_c in kinds)

    def _covered(self, branch: Branch, wires: Counter[WarmWire]) -> tuple[float, float]:
        """Outside in mm of the covered bundle, and the resistance of its covering in K m/W."""
        diameters: Counter[float] = Counter()
        for wire, count in wires.items():
            diameters[wire.outside_mm] += count
        outside_mm, holds = bundle_diameter_mm(diameters), 0.0
        for one in laid(outside_mm, branch.covering, self.rules, self.catalogue):
            outside_mm, holds = one.outside_mm, holds + one.heat_k_m_per_w
        return outside_mm, holds

    # ------------------------------------------------------------------------------ drop

    def drop(self, number: int) -> float:
        """What one wire of a task loses in volts."""
        return self._drop(number, self.at[number])

    def _drop(self, number: int, index: int) -> float:
        loaded, cable = self.tasks[number].loaded, self.tasks[number].cables[index]
        piece_mm = loaded.measured.piece_mm
        return drop_volts(float(loaded.amps), piece_mm, cable.ohm_per_km_20c, self.conductor_c)

    def lost(self, number: int, starts: bool, index: int | None = None) -> int:
        """What of the drop of a task counts on a way, in units: no starter turns but on its own.

        In its cable, or in another of its own.
        """
        key = (number, self.at[number] if index is None else index, starts)
        known = self._units.get(key)
        if known is None:
            share = self.tasks[number].loaded.share_of_drop(STARTER if starts else "")
            known = self._units[key] = units_of(self._drop(*key[:2]) * share)
        return known

    def excess_if(self, way: int, number: int, index: int) -> int:
        """By how many units a way would be over its limit with another cable for a task on it."""
        starts = self.ways.limits[way].starts
        more = self.lost(number, starts, index) - self.lost(number, starts)
        return self.ways.excess(way) + more

    def keeps(self, number: int) -> bool:
        """True where a task breaks no limit but those that no cable keeps."""
        branches = self.tasks[number].loaded.measured.branches
        cool = not any(self.is_too_warm(branch) for branch in branches)
        ways = self.ways.kept_through(self.tasks[number].wire.label)
        return cool and all(self.ways.excess(way) <= units_of(DUST) for way in ways)


def _exchange(wires: Counter[_Kind], now: _Kind, new: _Kind, count: int) -> None:
    """Count some wires as of another kind."""
    wires[now] -= count
    wires[new] += count
    if not wires[now]:
        del wires[now]
