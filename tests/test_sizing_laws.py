"""Laws of sizing, on small looms drawn by lot; the limits are reckoned anew from the figures."""

import math
import random
from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec import Struct
from msgspec.structs import replace

from bom.job import Job, open_job, worked_out
from bom.parts import Cable
from tests.books import book
from tests.least_cost import NEAR, Loom, Room, Way, least_cost

Row = tuple[Any, ...]
Make = Callable[[str], Path]

CIRCUITS = (
    *("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse", "one of"),
    *("from end", "to end", "qty"),
)
LOOM = ("from", "to", "length", "slack", "covering", "ambient")
COMPONENTS = ("component", "at", "load", "passes", "end", "tail")
FUSES = ("fuse", "rating")

SHOPS = (
    "",
    "0.5, 1.0, 2.0, 3.0, 6.0, 16.0, 25.0",
    "0.75, 1.5, 2.5, 4.0, 10.0",
    "22 AWG, 20 AWG, 18 AWG, 16 AWG, 14 AWG, 12 AWG, 10 AWG, 8 AWG",
    "0.5, 18 AWG, 1.0, 16 AWG, 14 AWG, 2.5, 12 AWG, 6.0",
)
"""The gauges that a shop keeps; empty: every one in mm2."""
LOADS = (3, 5, 10, 21, 21, 35, 55, 60, 130)
WORDS = ("horn", "headlamp", "tail lamp", "indicator", "pump", "coil")
ENDS = ("bullet joint", "blade 6.3", "ring M6", "splice", "solder", "sealed 1.5", "multiway 6.3")
COLOURS = ("red", "black", "blue", "green", "white/red")


class Machine(Struct, frozen=True):
    """The rows of a job book, and which of them may be made larger."""

    circuits: tuple[Row, ...]
    loom: tuple[Row, ...]
    components: tuple[Row, ...]
    fuses: tuple[Row, ...]
    rules: tuple[Row, ...]


@st.composite
def machines(draw: st.DrawFn) -> Machine:
    """A battery, a main fuse, a fuse box, and up to four circuits of lamps, horns and earths."""
    maker = _Maker(draw)
    for circuit in range(draw(st.integers(1, 4))):
        maker.circuit(circuit)
    return maker.machine()


class _Maker:
    def __init__(self, draw: st.DrawFn) -> None:
        self.draw = draw
        self.room = draw(st.integers(2, 25))
        branches = draw(st.integers(2, 8))
        self.points = [f"p{n}" for n in range(branches + 1)]
        self.loom = [self._branch(n) for n in range(branches)]
        self.circuits: list[Row] = []
        self.components: list[Row] = [
            ("battery", "p0", None, None, self._end(), None),
            ("fuse box", self._point(), None, None, self._end(), None),
        ]
        self.fuses: list[Row] = []
        self._wire("battery:+", "fuse box:in", fuse="main")
        self._fuse("main")

    def _pick(self, among: Sequence[Any]) -> Any:
        return self.draw(st.sampled_from(among))

    def _often(self, value: Any, times: int = 2) -> Any:
        """Nothing, and one time in so many the value."""
        return value if self.draw(st.integers(1, times)) == times else None

    def _branch(self, number: int) -> Row:
        length = self.draw(st.integers(1, 25)) / 10
        covering = self._pick(("tape", "tube", "braid", "none"))
        ambient = self._pick((None, None, None, 20, 60, 80, 95))
        before = self._pick(self.points[: number + 1])
        return before, self.points[number + 1], length, self._pick((None, 50)), covering, ambient

    def _point(self) -> str:
        return str(self._pick(self.points))

    def _end(self) -> str | None:
        return self._often(self._pick(ENDS))

    def _fuse(self, name: str) -> None:
        if rating := self._often(self._pick((5, 10, 15, 25, 40))):
            self.fuses.append((name, rating))

    def _wire(self, start: str, finish: str, load: Any = None, **cells: Any) -> None:
        number = len(self.circuits) + 1
        gauge = self._often(self._pick(("0.5", "1.0", "2.0", "6.0", "14 AWG")), 8)
        qty = self._often(2, 10)
        ends = (cells.get("start_end"), cells.get("finish_end"))
        self.circuits.append(
            (
                f"w{number}",
                cells.get("circuit", "feed"),
                start,
                finish,
                self._pick(COLOURS),
                gauge,
                load,
                cells.get("fuse"),
                cells.get("one_of"),
                *ends,
                qty,
            )
        )

    def circuit(self, number: int) -> None:
        """A fuse, a switch and the lamps behind it, each with its earth."""
        if len(self.circuits) >= self.room:
            return
        draw, switch, fuse = self.draw, f"switch {number}", f"f{number}"
        self._wire(f"fuse box:{number}", f"{switch}:in", fuse=fuse)
        self._fuse(fuse)
        self.components.append((switch, self._point(), None, None, self._end(), None))
        word = self._often(f"word{number}")
        for lamp in range(draw(st.integers(1, 4))):
            name = f"{self._pick(WORDS)} {number}{lamp}"
            load = f"{self._pick(LOADS)} W"
            own = draw(st.booleans())
            tail = self._often(100)
            at = self._point()
            self.components.append((name, at, load if own else None, None, self._end(), tail))
            start = f"{switch}:out" if draw(st.booleans()) else f"{switch}:{lamp}"
            self._wire(
                start,
                f"{name}:a",
                None if own else load,
                circuit=name.rstrip("0123456789 "),
                one_of=word and f"{word}:{self._pick('ab')}",
            )
            self._earth(f"{name}:b")

    def _earth(self, start: str) -> None:
        """A wire to a pin of one of two earth points, or to the battery itself."""
        where = self._pick(("earth", "frame earth", "battery"))
        pin = "-" if where == "battery" else self._pick(("1", "1", "2"))
        self._wire(start, f"{where}:{pin}", circuit="earth")
        known = {row[0] for row in self.components}
        if where not in known:
            self.components.append((where, self._point(), None, None, self._end(), None))
            self._wire(f"{where}:1", "battery:-", circuit="earth")

    def machine(self) -> Machine:
        """What was drawn."""
        shop = self._pick(SHOPS)
        worth = self._pick((0, "0.5", 3))
        rules: list[Row] = [("line_worth", worth), ("ambient_c", self._pick((20, 40, 60)))]
        if shop:
            rules.append(("gauges", shop))
        if self._often(1, 4):
            rules.append(("drop_percent_other", 2))
        return Machine(
            tuple(self.circuits),
            tuple(self.loom),
            tuple(self.components),
            tuple(self.fuses),
            tuple(rules),
        )


def opened(folder: Path, machine: Machine) -> Job:
    """The machine's job, read from a book of it and sized."""
    sheets: dict[str, Sequence[Row]] = {
        "Job": machine.rules,
        "Circuits": (CIRCUITS, *machine.circuits),
        "Loom": (LOOM, *machine.loom),
        "Components": (COMPONENTS, *machine.components),
    }
    if machine.fuses:
        sheets["Fuses"] = (FUSES, *machine.fuses)
    job = open_job(book(folder, **sheets), taking_off=False)
    assert job.sized is not None, job.problems
    return job


def chosen(job: Job) -> dict[str, Cable]:
    """The cable of each wire by its label."""
    assert job.sized is not None
    return {entry.wire.label: entry.cable for entry in job.sized.wires}


# ------------------------------------------------------------- 2. nothing over its limit


def unmet(job: Job) -> list[str]:
    """Limits that a chosen wire does not keep and that nobody is told of, or without need."""
    assert job.sized is not None
    loom, cables = Loom(job), chosen(job)
    found = []
    for entry in job.sized.wires:
        fuse, rated = entry.fuse_amps or 0, entry.cable.rated_amps
        over = max(entry.loaded.steady_amps, fuse) > rated
        if entry.wire.gauge is None and over and not entry.lacks:
            found.append(f"{entry.wire.label} is over its rating")
    told = {problem.where.cell for problem in job.problems if problem.level == "caution"}
    thickest = loom.thickest()
    warm, lost = loom.broken(cables)
    for branch in warm:
        row = loom.branches[branch].row
        if row.where("from").cell not in told:
            found.append(f"nothing is said of {loom.branches[branch]}")
        if loom.too_warm_k(branch, thickest) <= NEAR:
            heated = [n for n in loom.inside[branch] if loom.tasks[n].loaded.heat_amps]
            found += [f"{n} is not raised for {loom.branches[branch]}" for n in heated if can_rise(loom, cables, n)]
    for supply in job.supplies:
        lines = {loom.tasks[n].wire.row.where("gauge").cell for n in supply.wires}
        if not lost.isdisjoint(Way(*limit) for limit in supply.limits) and not told & lines:
            found.append(f"nothing is said of the way to {supply.load}")
    for way in lost:
        if least_volts(loom, way, cables) <= way.volts - NEAR:
            found.append(f"wires are not raised for {way}")
    return found


def least_volts(loom: Loom, way: Way, cables: dict[str, Cable]) -> float:
    """The least that a way can lose where no other wire is changed and the terminals take it."""
    best: dict[tuple[Fraction, ...], float] = {}
    rooms = [room for room in loom.rooms if not set(room.labels).isdisjoint(way.labels)]
    start = tuple(
        sum((loom.area_mm2(n, cables[n]) for n in room.labels if n not in way.labels), Fraction(0))
        for room in rooms
    )
    best[start] = 0.0
    for label in way.labels:
        further: dict[tuple[Fraction, ...], float] = {}
        for full, volts in best.items():
            for cable in loom.tasks[label].cables:
                more = [loom.area_mm2(label, cable) * room.labels.count(label) for room in rooms]
                filled = tuple(map(sum, zip(full, more, strict=True)))
                if all(f <= max(r.most_mm2, f0) for f, f0, r in zip(filled, full, rooms, strict=True)):
                    lost = volts + loom.lost_volts(label, cable)
                    further[filled] = min(lost, further.get(filled, lost))
        best = further
    return min(best.values(), default=math.inf)


def can_rise(loom: Loom, cables: dict[str, Cable], label: str) -> bool:
    """True for a wire that may be thicker, and whose terminals take the next thicker one."""
    task = loom.tasks[label]
    above = task.cables.index(cables[label]) + 1
    if above == len(task.cables):
        return False
    thicker = {**cables, label: task.cables[above]}
    rooms = [room for room in loom.rooms if label in room.labels]
    return all(loom.over_mm2(room, thicker) <= 0 for room in rooms)


def undone(job: Job) -> list[str]:
    """Raises that could be taken back: all that held goes on to hold, for less money."""
    loom, cables = Loom(job), chosen(job)
    before, cost = loom.broken(cables), loom.cost(cables)
    found = []
    for label, task in loom.tasks.items():
        for cable in task.cables[: task.cables.index(cables[label])]:
            thinner = {**cables, label: cable}
            if loom.cost(thinner) < cost - NEAR and all(
                after <= held for after, held in zip(loom.broken(thinner), before, strict=True)
            ):
                found.append(f"{label} {cables[label].gauge} could be {cable.gauge}")
    return found


# ---------------------------------------------------------- 1. more never asks for less


@st.composite
def grown(draw: st.DrawFn) -> tuple[Machine, Machine]:
    """A machine, and the same with a larger load or a larger fuse."""
    machine = draw(machines())
    places = [("circuits", n, 6) for n, row in enumerate(machine.circuits) if row[6]]
    places += [("components", n, 2) for n, row in enumerate(machine.components) if row[2]]
    places += [("fuses", n, 1) for n in range(len(machine.fuses))]
    sheet, number, column = draw(st.sampled_from(places))
    rows = list(getattr(machine, sheet))
    row = list(rows[number])
    if sheet == "fuses":
        row[column] = draw(st.sampled_from([a for a in (7.5, 20, 30, 60) if a > row[column]]))
    else:
        row[column] = f"{float(row[column][:-2]) * draw(st.sampled_from((1.1, 2, 3, 10)))} W"
    rows[number] = tuple(row)
    return machine, replace(machine, **{sheet: tuple(rows)})


def thinner(before: Job, after: Job) -> list[str]:
    """Wires whose least gauge is less than it was."""
    was, now = Loom(before).least(), Loom(after).least()
    return [
        f"{label} {was[label].gauge} is now {cable.gauge}"
        for label, cable in now.items()
        if cable.area_mm2 < was[label].area_mm2
    ]


# ------------------------------------------------------------------ 4. rows in any order


@st.composite
def shuffled(draw: st.DrawFn) -> tuple[Machine, Machine]:
    """A machine, and the same with the rows of its sheets in another order."""
    machine = draw(machines())
    sheets = ("circuits", "loom", "components", "fuses")
    rows = {name: tuple(draw(st.permutations(getattr(machine, name)))) for name in sheets}
    return machine, replace(machine, **rows)
