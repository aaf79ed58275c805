"""The least that the cable of a job can cost: the bound that the program's choice is held against.

A `Loom` reckons heat, drop, room and cost of any choice of cables anew, from the figures alone.
`least_cost` is an integer programme over it: one cable for each wire, money and lines together
the least.  Drop and room are linear; heat is not, so that a branch found too warm is cut off
and the programme solved again.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import partial
from itertools import takewhile
from typing import NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from bom.job import Job
from bom.reckon.bundle import laid
from bom.reckon.size import _tasks
from bom.reckon.size.task import WireTask
from bom.trade.catalogue_rows import Cable
from bom.trade.figures import (
    HEAT_MARGIN,
    WarmWire,
    air_gap_k_m_per_w,
    bundle_diameter_mm,
    bundle_rise_k,
    drop_volts,
    heat_w_per_m,
    taped_mm,
)
from bom.trade.job_book import Branch

BRAID_K_M_PER_W = 0.3
"""What a braid over a tube holds back (an estimate)."""
NEAR = 1e-7
"""Volts, degrees and money nearer than this are the same."""

Cables = Mapping[str, Cable]
"""A choice: the cable of each wire, by its label."""

Line = tuple[str, str]
"""Colour and gauge."""


class Way(NamedTuple):
    """A stretch of wires, by their labels, and the volts that it may lose."""

    labels: tuple[str, ...]
    volts: float
    kind: str


class Room(NamedTuple):
    """A terminal that wires share, by their labels, and the most that it takes in mm2."""

    labels: tuple[str, ...]
    most_mm2: Fraction


class Loom:
    """The wires of a job with the cables that each may be, and its limits for any choice."""

    def __init__(self, job: Job) -> None:
        assert job.book and job.net and job.currents and job.ends and job.sized
        house = (job.rules, job.workshop.catalogue)
        fuses = job.sized.fuses
        tasks = _tasks(job.net, job.currents, job.ends, fuses, house)
        self.rules, self.catalogue = house
        self.tasks: dict[str, WireTask] = {task.wire.label: task for task in tasks}
        self.branches = job.book.branches
        self.inside: dict[int, list[str]] = defaultdict(list)
        for task in tasks:
            for branch in task.loaded.measured.branches:
                self.inside[branch].append(task.wire.label)
        limits = {
            (stretch.wires, stretch.volts, supply.kind)
            for supply in job.supplies
            for stretch in supply.limits
        }
        self.ways = [Way(*way) for way in sorted(limits)]
        self.rooms = [
            Room(tuple(end.wire.label for end in joint.ends), joint.style.max_mm2)
            for joint in job.ends.joints
            if len(joint.ends) > 1 and not joint.mate and joint.style.max_mm2
        ]

    # ------------------------------------------------------------------------ choices

    def least(self) -> dict[str, Cable]:
        """The thinnest that each wire may be."""
        return {label: task.cables[0] for label, task in self.tasks.items()}

    def thickest(self) -> dict[str, Cable]:
        """The thickest that each wire may be."""
        return {label: task.cables[-1] for label, task in self.tasks.items()}

    # ------------------------------------------------------------------------- limits

    def too_warm_k(self, branch: int, cables: Cables) -> float:
        """By how many degrees a branch is over what its insulation stands; below 0: under."""
        labels = self.inside[branch]
        wires = [
            self._warmth(label, cables[label])
            for label in labels
            for _ in range(self.tasks[label].wire.qty)
        ]
        row = self.branches[branch]
        air = float(self.rules.ambient_c if row.ambient_c is None else row.ambient_c)
        rise = bundle_rise_k(wires, *self._outside(row, wires))
        return air + HEAT_MARGIN * rise - min(self._most_c(cables[label]) for label in labels)

    def _most_c(self, cable: Cable) -> float:
        return min(float(self.rules.insulation_c), cable.max_c)

    def _warmth(self, label: str, cable: Cable) -> WarmWire:
        amps, warm_c = self.tasks[label].loaded.heat_amps, self._most_c(cable)
        watts = heat_w_per_m(amps, cable.ohm_per_km_20c, warm_c)
        return WarmWire(watts, cable.outside_mm, float(cable.area_mm2))

    def _outside(self, branch: Branch, wires: Sequence[WarmWire]) -> tuple[float, float]:
        bundle = bundle_diameter_mm([wire.outside_mm for wire in wires])
        rules = self.rules
        if branch.covering == "tape":
            tape = float(rules.tape_thickness_mm), float(rules.tape_overlap_percent)
            return taped_mm(bundle, *tape), 0.0
        over = laid(bundle, branch.covering, rules, self.catalogue)
        tube, braid = [*(one.goods for one in over), None, None][:2]
        outside = (braid or tube).outside_mm if tube else bundle
        gap = air_gap_k_m_per_w(bundle) if tube else 0.0
        return outside, gap + (BRAID_K_M_PER_W if braid else 0.0)

    def lost_volts(self, label: str, cable: Cable) -> float:
        """What one wire loses in a cable."""
        loaded = self.tasks[label].loaded
        warm_c = float(self.rules.conductor_c)
        return drop_volts(
            float(loaded.amps), loaded.measured.piece_mm, cable.ohm_per_km_20c, warm_c
        )

    def over_volts(self, way: Way, cables: Cables) -> float:
        """By how many volts a way is over its limit; below 0: under."""
        lost = (self.lost_volts(n, cables[n]) * self.share(n, way) for n in way.labels)
        return sum(lost) - way.volts

    def share(self, label: str, way: Way) -> float:
        """What of a wire's current counts on a way: a starter's on its own alone."""
        loaded = self.tasks[label].loaded
        if way.kind == "starter" or not loaded.amps:
            return 1.0
        return float((loaded.amps - loaded.starter_amps) / loaded.amps)

    def area_mm2(self, label: str, cable: Cable) -> Fraction:
        """What all pieces of a wire take up in a terminal."""
        return cable.area_mm2 * self.tasks[label].wire.qty

    def over_mm2(self, room: Room, cables: Cables) -> Fraction:
        """By how much the wires of a terminal are over what it takes; below 0: under."""
        areas = (self.area_mm2(n, cables[n]) for n in room.labels)
        return sum(areas, -room.most_mm2)

    def broken(self, cables: Cables) -> tuple[set[int], set[Way]]:
        """The branches and the ways over their limits."""
        warm = {branch for branch in self.inside if self.too_warm_k(branch, cables) > NEAR}
        return warm, {way for way in self.ways if self.over_volts(way, cables) > NEAR}

    # -------------------------------------------------------------------------- money

    def cost_of(self, label: str, cable: Cable) -> float:
        """What the pieces of a wire cost in a cable."""
        task = self.tasks[label]
        return task.loaded.measured.piece_mm * task.wire.qty * cable.cost_per_m / 1000

    def line_of(self, label: str, cable: Cable) -> Line:
        """The line that a wire in a cable belongs to."""
        return str(self.tasks[label].wire.colour), cable.gauge

    def lines(self, cables: Cables) -> set[Line]:
        """The lines of gauge and colour to order."""
        return {self.line_of(label, cable) for label, cable in cables.items()}

    def cable_cost(self, cables: Cables) -> float:
        """What all cable costs."""
        return sum(self.cost_of(label, cable) for label, cable in cables.items())

    def cost(self, cables: Cables) -> float:
        """What all cable costs, and what the lines are worth."""
        return self.cable_cost(cables) + float(self.rules.line_worth) * len(self.lines(cables))


# ------------------------------------------------------------------------- the programme


class Bound(NamedTuple):
    """The cheapest choice found, and what no choice costs less than."""

    cables: dict[str, Cable]
    cost: float
    """No choice within the limits costs less, but for a ten thousandth of it."""
    cuts: list[dict[str, int]]
    """Choices too warm: of the wires named one at the least is thicker than the index here."""


def least_cost(loom: Loom, *, seconds: float = 60.0) -> Bound:
    """The cheapest choice that keeps every branch and way that the thickest cables keep."""
    return _Programme(loom, seconds).solved()


class _Programme:
    def __init__(self, loom: Loom, seconds: float) -> None:
        self.loom = loom
        self.seconds = seconds
        thickest = loom.thickest()
        hopeless_branches, hopeless_ways = loom.broken(thickest)
        self.branches = [b for b in sorted(loom.inside) if b not in hopeless_branches]
        self.ways = [way for way in loom.ways if way not in hopeless_ways]
        self.wires = [(n, i) for n, t in loom.tasks.items() for i in range(len(t.cables))]
        self.column = {wire: place for place, wire in enumerate(self.wires)}
        there = {loom.line_of(n, t.cables[0]) for n, t in loom.tasks.items() if len(t.cables) == 1}
        self.line_at: dict[Line, int] = {}
        for label, index in self.wires:
            line = loom.line_of(label, loom.tasks[label].cables[index])
            if line not in there:
                self.line_at.setdefault(line, len(self.wires) + len(self.line_at))
        self.fixed = float(loom.rules.line_worth) * len(there)
        self.rows: list[dict[int, float]] = []
        self.least: list[float] = []
        self.most: list[float] = []
        self._limit()

    def _row(self, row: dict[int, float], least: float, most: float) -> None:
        self.rows.append(row)
        self.least.append(least)
        self.most.append(most)

    def _limit(self) -> None:
        loom, tasks = self.loom, self.loom.tasks
        for label, task in tasks.items():
            self._row({self.column[label, i]: 1.0 for i in range(len(task.cables))}, 1, 1)
        for label, index in self.wires:
            at = self.line_at.get(loom.line_of(label, tasks[label].cables[index]))
            if at is not None:
                self._row({self.column[label, index]: -1.0, at: 1.0}, 0, np.inf)
        for way in self.ways:
            drops = self._of_all(way.labels, partial(self._on, way))
            self._row(drops, -np.inf, way.volts)
        for room in loom.rooms:
            full = max(room.most_mm2, room.most_mm2 + loom.over_mm2(room, loom.least()))
            areas = self._of_all(room.labels, lambda n, c: float(loom.area_mm2(n, c)))
            self._row(areas, -np.inf, float(full) + NEAR)

    def _on(self, way: Way, label: str, cable: Cable) -> float:
        return self.loom.lost_volts(label, cable) * self.loom.share(label, way)

    def _of_all(
        self, labels: Iterable[str], value: Callable[[str, Cable], float]
    ) -> dict[int, float]:
        row: dict[int, float] = defaultdict(float)
        for label in labels:
            for index, cable in enumerate(self.loom.tasks[label].cables):
                row[self.column[label, index]] += value(label, cable)
        return row

    def solved(self) -> Bound:
        """Solve, cut off what is too warm, and solve again until nothing is."""
        cuts: list[dict[str, int]] = []
        while True:
            at, bound = self._solution()
            found = [cut for branch in self.branches for cut in self._cuts(branch, at)]
            if not found:
                cables = {n: self.loom.tasks[n].cables[i] for n, i in at.items()}
                return Bound(cables, bound, cuts)
            for cut in found:
                thicker = {
                    self.column[n, i]: 1.0
                    for n, above in cut.items()
                    for i in range(above + 1, len(self.loom.tasks[n].cables))
                }
                self._row(thicker, 1, np.inf)
            cuts += found

    def _solution(self) -> tuple[dict[str, int], float]:
        size = len(self.wires) + len(self.line_at)
        price = np.zeros(size)
        for (label, index), place in self.column.items():
            price[place] = self.loom.cost_of(label, self.loom.tasks[label].cables[index])
        price[len(self.wires) :] = float(self.loom.rules.line_worth)
        where = [(r, c, v) for r, row in enumerate(self.rows) for c, v in row.items()]
        rows, columns, values = zip(*where, strict=True)
        matrix = csr_array((values, (rows, columns)), shape=(len(self.rows), size))
        found = milp(
            price,
            integrality=np.ones(size),
            bounds=Bounds(0, 1),
            constraints=LinearConstraint(matrix, self.least, self.most),
            options={"time_limit": self.seconds, "mip_rel_gap": 1e-4},
        )
        assert found.x is not None, found.message
        at = {n: i for (n, i), place in self.column.items() if found.x[place] > 0.5}
        return at, float(found.mip_dual_bound) + self.fixed

    def _cuts(self, branch: int, at: Mapping[str, int]) -> Iterator[dict[str, int]]:
        """Where a branch is too warm: wires of which one must be thicker than so.

        Each is as thick as it can be while the branch stays too warm, those that give off least
        made thicker first, and those that give off most: two cuts.  The branch is too warm with
        every thinner cable of a wire too: a thick cold wire can warm the others a little.
        """
        if not self._is_too_warm(branch, at):
            return
        tasks = self.loom.tasks
        labels = sorted(self.loom.inside[branch], key=lambda n: (tasks[n].loaded.heat_amps, n))
        for order in (labels, labels[::-1]):
            thick = dict(at)
            for label in order:
                indexes = range(len(tasks[label].cables))
                warm = (self._is_too_warm(branch, {**thick, label: index}) for index in indexes)
                thick[label] = max(at[label], sum(takewhile(bool, warm)) - 1)
            yield {label: thick[label] for label in labels}

    def _is_too_warm(self, branch: int, at: Mapping[str, int]) -> bool:
        inside = self.loom.inside[branch]
        cables = {n: self.loom.tasks[n].cables[at[n]] for n in inside}
        return self.loom.too_warm_k(branch, cables) > NEAR
