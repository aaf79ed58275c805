"""Sizing: a rating for each fuse and a cable for each wire.

Where a rating or a gauge is blank it is chosen here; where it is typed it is kept, and
`check` says what is wrong with it.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from bom.catalogue import IN_LINE, Catalogue
from bom.figures import ambient_factor, counts_in_a_group, drop_volts, grouping_factor
from bom.house import HouseRules
from bom.parts import Cable, takes
from bom.trade import (
    NO_FUSE,
    ChosenFuse,
    Currents,
    Ends,
    FuseLoad,
    FuseRow,
    JobBook,
    LoadedWire,
    Sized,
    SizedWire,
    Supply,
)

_ZERO = Fraction(0)
STARTING = "starting"
"""The kind of circuit that is sized by drop alone: it runs for seconds."""


def size(
    book: JobBook,
    currents: Currents,
    supplies: Sequence[Supply],
    ends: Ends,
    house: "tuple[HouseRules, Catalogue]",
) -> Sized:
    """Choose ratings and gauges; amps exact, drop in volts, factors from 0 up.

    A typed gauge is kept.  A chosen one is the smallest of the house that fits both ends
    and whose table rating covers load and fuse, which carries its load at the ambient
    temperature in the fullest branch on its way, and which keeps the wire within its
    share of the drop that its loads allow.  Gauges only grow, until nothing changes; if
    none meets all, the largest that fits.  Starting circuits go by drop alone.
    """
    rules, catalogue = house
    fuses = choose_fuses(book, currents.fuses, rules, catalogue)
    sizer = _Sizer(currents, supplies, ends, fuses, house)
    return Sized(sizer.sized(), fuses)


def choose_fuses(
    book: JobBook, loads: Sequence[FuseLoad], rules: HouseRules, catalogue: Catalogue
) -> tuple[ChosenFuse, ...]:
    """A rating for every fuse that a wire names, and for every row that has one typed.

    Blank: the smallest standard rating >= load / (fuse_load_percent / 100); for a fuse
    that feeds other fuses the smallest >= load; the largest there is if none will do.
    """
    rows = {row.name: row for row in book.fuses}
    chosen = [_chosen_fuse(load, rows.get(load.name), rules, catalogue) for load in loads]
    named = {load.name for load in loads}
    unused = [row for row in book.fuses if row.name not in named and row.rating is not None]
    idle = (FuseLoad(name=r.name, amps=Fraction(0), feeds_fuses=False, wires=()) for r in unused)
    return (*chosen, *(_chosen_fuse(load, rows[load.name], rules, catalogue) for load in idle))


def _chosen_fuse(
    load: FuseLoad, row: FuseRow | None, rules: HouseRules, catalogue: Catalogue
) -> ChosenFuse:
    word = row.holder if row else ""
    holder = catalogue.holder(word)
    kind = holder.kind if holder else "blade"
    typed = row.rating if row else None
    ratings = [fuse.amps for fuse in catalogue.ratings(kind)]
    floor = load.least_rating(rules.fuse_load_percent)
    chosen = next((amps for amps in ratings if amps >= floor), ratings[-1])
    return ChosenFuse(
        name=load.name,
        rating=chosen if typed is None else typed,
        load_amps=load.amps,
        kind=kind,
        holder=word or IN_LINE,
        spares=row.spares if row else None,
        typed=typed is not None,
    )


class _Task(Struct, frozen=True):
    """What one wire must do: currents in amps, drop in volts, and the cables to choose from."""

    loaded: LoadedWire
    amps: float
    fuse_amps: Fraction | None
    steady_amps: Fraction
    steady: float
    """`steady_amps` for what is not compared exactly."""
    starting: bool
    allowed_volts: float
    cables: Sequence[Cable]


class _Sizer:
    def __init__(
        self,
        currents: Currents,
        supplies: Sequence[Supply],
        ends: Ends,
        fuses: Sequence[ChosenFuse],
        house: tuple[HouseRules, Catalogue],
    ) -> None:
        self.rules, self.catalogue = house
        self.styles = ends.styles
        self.rating = {fuse.name: fuse.rating for fuse in fuses}
        self.supplies = {supply.load: supply for supply in supplies}
        self.factors = self.catalogue.grouping(self.rules.grouping.casefold())
        cables = self.catalogue.cables
        kept = self.rules.gauges or [g for g, cable in cables.items() if not cable.is_awg]
        self.kept = sorted((cables[gauge] for gauge in kept), key=lambda cable: cable.area_mm2)
        self.rated = {gauge: float(cable.rated_amps) for gauge, cable in cables.items()}
        self.conductor_c = float(self.rules.conductor_c)
        self.fitting: dict[tuple[str, str, str], Sequence[Cable]] = {}
        """The cables that may be chosen, by colour and both ends."""
        self.tasks = [self._task(loaded) for loaded in currents.wires]
        self.choice = [0] * len(self.tasks)
        self.ambients: dict[str, float] = {}
        self.shared = self._shared(ends)

    # ------------------------------------------------------------------------- the tasks

    def _task(self, loaded: LoadedWire) -> _Task:
        starters, allowed = self._limits(loaded)
        wire = loaded.wire
        fuse = None if loaded.fuse in (None, NO_FUSE) else self.rating[str(loaded.fuse)]
        steady = max(loaded.highest_amps - starters, Fraction(0)) if starters else None
        amps = float(loaded.amps)
        if steady is None:
            steady = loaded.highest_amps
        return _Task(
            loaded=loaded,
            amps=amps,
            fuse_amps=fuse,
            steady_amps=steady,
            steady=amps if steady is loaded.amps else float(steady),
            starting=self.catalogue.circuit_kind(wire.circuit) == STARTING,
            allowed_volts=allowed,
            cables=self._cables(loaded),
        )

    def _limits(self, loaded: LoadedWire) -> tuple[Fraction, float]:
        """Amps of the starters in a wire, and its share of the drop its loads allow."""
        starters, per_mm = _ZERO, math.inf
        for load in loaded.loads:
            supply = self.supplies.get(load)
            if supply is None or not supply.length_mm:
                continue
            per_mm = min(per_mm, supply.allowed_volts / supply.length_mm)
            if supply.kind == STARTING:
                starters += supply.amps
        piece = loaded.measured.piece_mm
        return starters, per_mm * piece if piece else math.inf

    def _cables(self, loaded: LoadedWire) -> Sequence[Cable]:
        gauge = loaded.wire.gauge
        if gauge is not None:
            return (self.catalogue.cables[gauge],)
        wire = loaded.wire
        styles = (self.styles[wire.label, "from end"], self.styles[wire.label, "to end"])
        key = (str(wire.colour), *styles)
        known = self.fitting.get(key)
        if known is None:
            fits = [cable for cable in self.kept if self._fits(*key, cable)]
            known = self.fitting[key] = fits or self.kept
        return known

    def _fits(self, colour: str, start_end: str, finish_end: str, cable: Cable) -> bool:
        if cable.colours and colour not in cable.colours:
            return False
        styles = (self.catalogue.ends[start_end], self.catalogue.ends[finish_end])
        return all(takes(style, cable.area_mm2) for style in styles)

    def _shared(self, ends: Ends) -> dict[int, list[tuple[Fraction, list[int]]]]:
        """For each wire the terminals it shares: the most they take, and the wires in them."""
        number_of = {task.loaded.wire.label: n for n, task in enumerate(self.tasks)}
        shared: dict[int, list[tuple[Fraction, list[int]]]] = defaultdict(list)
        for joint in ends.joints:
            if len(joint.ends) > 1 and not joint.mate and joint.style.max_mm2:
                numbers = [number_of[end.wire.label] for end in joint.ends]
                for number in numbers:
                    shared[number].append((joint.style.max_mm2, numbers))
        return shared

    # ------------------------------------------------------------------------ the choice

    def sized(self) -> tuple[SizedWire, ...]:
        """Every wire with its cable: from the smallest up, until nothing changes."""
        changed = True
        while changed:
            grouping = self._grouping()
            changed = False
            for number, task in enumerate(self.tasks):
                best = self._least(number, task, grouping[number])
                changed |= best != self.choice[number]
                self.choice[number] = best
        return tuple(map(self._sized, self.tasks, self.choice, self._grouping()))

    def _least(self, number: int, task: _Task, grouping: float) -> int:
        """The next cable that will do, else the largest that its shared terminals still take."""
        least = self.choice[number]
        if len(task.cables) == 1:  # typed, and kept
            return 0
        roomy = [i for i in range(least, len(task.cables)) if i == least or self._room(number, i)]
        for index in roomy:
            if not any(self._faults(task, task.cables[index], grouping)):
                return index
        return roomy[-1]

    def _room(self, number: int, index: int) -> bool:
        area = self.tasks[number].cables[index].area_mm2 * self.tasks[number].loaded.wire.qty
        return all(
            area + sum((self._area(other) for other in wires if other != number), Fraction(0))
            <= most
            for most, wires in self.shared.get(number, ())
        )

    def _area(self, number: int) -> Fraction:
        task = self.tasks[number]
        return task.cables[self.choice[number]].area_mm2 * task.loaded.wire.qty

    def _grouping(self) -> list[float]:
        """The factor of the fullest branch on the way of each wire."""
        inside: dict[int, list[int]] = defaultdict(list)
        for number, task in enumerate(self.tasks):
            for branch in task.loaded.measured.branches:
                inside[branch].append(number)
        factor = {branch: self._branch_factor(numbers) for branch, numbers in inside.items()}
        return [
            min((factor[b] for b in task.loaded.measured.branches), default=1.0)
            for task in self.tasks
        ]

    def _branch_factor(self, numbers: Sequence[int]) -> float:
        """Only wires over 30 % of their rating grouped with every wire of the branch count."""
        of_all = grouping_factor(
            self.factors, sum(self.tasks[number].loaded.wire.qty for number in numbers)
        )
        warm = 0
        for number in numbers:
            task = self.tasks[number]
            rated = self.rated[task.cables[self.choice[number]].gauge]
            if counts_in_a_group(task.amps, rated, of_all):
                warm += task.loaded.wire.qty
        return grouping_factor(self.factors, warm)

    def _faults(
        self, task: _Task, cable: Cable, grouping: float, drop: float | None = None
    ) -> Iterator[str]:
        """Why a cable will not do, a sentence each; nothing for one that will."""
        if not task.starting:
            yield from self._current_faults(task, cable, grouping)
        drop = self._drop(task, cable) if drop is None else drop
        if drop > task.allowed_volts:
            yield f"drops {drop:.3f} V, its share is {task.allowed_volts:.3f} V"

    def _current_faults(self, task: _Task, cable: Cable, grouping: float) -> Iterator[str]:
        rated = self.rated[cable.gauge]
        # the floats first: a comparison of fractions takes ten times as long
        if task.steady >= rated and task.steady_amps > cable.rated_amps:
            yield f"rated {rated:g} A, carries {task.steady:.3g} A"
        if task.fuse_amps is not None and task.fuse_amps > cable.rated_amps:
            yield f"rated {rated:g} A, the fuse is {float(task.fuse_amps):g} A"
        ambient, grouped = self._ambient(cable), _grouped(cable, grouping)
        good = rated * ambient * grouped
        if task.steady > good:
            factors = f"ambient {ambient:.2f}, grouping {grouped:.2f}"
            yield f"good for {good:.1f} A where it lies ({factors}), carries {task.steady:.3g} A"

    def _ambient(self, cable: Cable) -> float:
        if cable.gauge not in self.ambients:
            ambient_c = float(self.rules.ambient_c)
            self.ambients[cable.gauge] = ambient_factor(cable.max_c, ambient_c, cable.ref_c)
        return self.ambients[cable.gauge]

    def _drop(self, task: _Task, cable: Cable) -> float:
        return drop_volts(
            task.amps,
            task.loaded.measured.piece_mm,
            cable.ohm_per_km_20c,
            self.conductor_c,
        )

    def _sized(self, task: _Task, choice: int, grouping: float) -> SizedWire:
        cable, wire = task.cables[choice], task.loaded.wire
        drop = self._drop(task, cable)
        return SizedWire(
            wire=wire,
            loaded=task.loaded,
            cable=cable,
            start_end=self.styles[wire.label, "from end"],
            finish_end=self.styles[wire.label, "to end"],
            fuse_amps=task.fuse_amps,
            drop_volts=drop,
            steady_amps=_ZERO if task.starting else task.steady_amps,
            ambient_factor=self._ambient(cable),
            grouping_factor=_grouped(cable, grouping),
            allowed_volts=task.allowed_volts,
            rejected=tuple(
                f"{thinner.gauge}: {'; '.join(faults)}"
                for thinner in task.cables[:choice]
                if (faults := tuple(self._faults(task, thinner, grouping)))
            ),
            lacks=tuple(self._faults(task, cable, grouping, drop)),
            without_drop=self._without_drop(task, choice, grouping),
        )

    def _without_drop(self, task: _Task, choice: int, grouping: float) -> str:
        for cable in task.cables[:choice]:
            if task.starting or not any(self._current_faults(task, cable, grouping)):
                return cable.gauge
        return ""


def _grouped(cable: Cable, grouping: float) -> float:
    return 1.0 if cable.is_bundled else grouping
