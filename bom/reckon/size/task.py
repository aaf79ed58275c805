"""What one wire must do by itself: the cables that it may be, and why no thinner one."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from msgspec import Struct

from bom.reckon.net import Net
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Cable, takes
from bom.trade.figures import starter_area_mm2
from bom.trade.house import HouseRules
from bom.trade.job_book import NO_FUSE, Pin, Wire
from bom.trade.wires import ChosenFuse, Ends, FuseLoad, LoadedWire

BATTERY_CABLE = "battery"
"""The kind of cable that starter leads are made of (common practice)."""


def _said(cable: Cable, found: Mapping[str, str]) -> str:
    """What a cable lacks, in one sentence."""
    return f"rated {float(cable.rated_amps):g} A; {'; '.join(found.values())}"


class Needs(NamedTuple):
    """What a cable must be up to for one wire alone: currents and ratings in amps, area in mm2."""

    amps: Fraction
    steady_amps: Fraction
    starter_amps: Fraction
    fuse_amps: Fraction
    ahead_amps: Fraction
    """The largest rating of the fuses that the wire runs into, or that it leads back from."""
    link_mm2: Fraction
    """What a link between batteries must have."""


class Suited(NamedTuple):
    """The cables that do for one wire alone, the thinnest first, and what decided it.

    `rejected` are thinner ones with what they lack.  Where none will do, `cables` is the largest
    that its ends take, `lacks` says what it misses, and `enough` is the gauge that would do.
    """

    cables: tuple[Cable, ...]
    decided: str = ""
    rejected: tuple[str, ...] = ()
    lacks: tuple[str, ...] = ()
    enough: str = ""


class WireTask(Struct, frozen=True):
    """A wire with the cables that will do for it alone."""

    loaded: LoadedWire
    suited: Suited
    fuse_amps: Fraction | None
    start_end: str
    finish_end: str

    @property
    def cables(self) -> tuple[Cable, ...]:
        """The cables to choose from, the thinnest first."""
        return self.suited.cables

    @property
    def wire(self) -> Wire:
        """The row it was asked for in."""
        return self.loaded.wire

    @property
    def key(self) -> tuple[object, ...]:
        """What sorts tasks whatever the order of the rows."""
        wire = self.wire
        return wire.start, wire.finish, str(wire.colour), wire.label


class TaskMaker:
    """Makes the task of each wire of a job."""

    def __init__(
        self,
        net: Net,
        ends: Ends,
        fuses: tuple[Sequence[FuseLoad], Sequence[ChosenFuse]],
        house: tuple[HouseRules, Catalogue],
    ) -> None:
        self.net = net
        self.rules, self.catalogue = house
        self.styles = ends.styles
        self.rating = {fuse.name: fuse.rating for fuse in fuses[1]}
        self._gather(fuses[0])
        cables = self.catalogue.cables
        kept = self.rules.gauges or [g for g, cable in cables.items() if not cable.is_awg]
        self.kept = tuple(sorted((cables[g] for g in kept), key=lambda cable: cable.area_mm2))
        others = (c for c in cables.values() if c.is_awg is self.kept[-1].is_awg)
        self.made = (*self.kept, *sorted(others, key=lambda cable: cable.area_mm2))
        """What the shop keeps, and then whatever is made."""
        self.has_battery_cable = any(cable.kind == BATTERY_CABLE for cable in self.kept)
        floor = cables.get(self.rules.floor_gauge)
        self.floor_mm2 = floor.area_mm2 if floor else Fraction(0)
        self.floor_amps = Fraction(self.rules.floor_amps)
        self._typed = {gauge: Suited((cable,)) for gauge, cable in cables.items()}
        self._ahead: dict[Pin, set[str]] = {}
        self._fitting: dict[tuple[str, str, str], tuple[Cable, ...]] = {}
        self._suited: dict[tuple[Needs, tuple[Cable, ...]], Suited] = {}

    def task(self, loaded: LoadedWire, link_mm2: Fraction = Fraction(0)) -> WireTask:
        """The task of one wire; `link_mm2` is what a link between batteries must have."""
        wire = loaded.wire
        styles = (self.styles[wire.label, "from end"], self.styles[wire.label, "to end"])
        fuse = None if loaded.fuse in (None, NO_FUSE) else self.rating[str(loaded.fuse)]
        if wire.gauge is not None:
            return WireTask(loaded, self._typed[wire.gauge], fuse, *styles)
        heavy = bool(loaded.starter_amps) or loaded.is_link
        fitting = self._with_typed_ends(wire, styles) if heavy else self._fits(wire, styles)
        needs = Needs(
            amps=loaded.amps,
            steady_amps=loaded.steady_amps,
            starter_amps=loaded.starter_amps,
            fuse_amps=fuse or Fraction(0),
            ahead_amps=self._fuse_ahead(loaded),
            link_mm2=link_mm2,
        )
        suited = self._suited.get((needs, fitting))
        if suited is None:
            suited = self._suited[needs, fitting] = self._looked_through(needs, fitting)
        return WireTask(loaded, suited, fuse, *styles)

    def _looked_through(self, needs: Needs, fitting: Sequence[Cable]) -> Suited:
        faults = [(cable, self._faults(needs, cable)) for cable in fitting]
        good = tuple(cable for cable, found in faults if not found)
        if not good:
            largest, found = faults[-1]
            whose = "the shop keeps" if largest is self.kept[-1] else "its ends take"
            enough = next((c.gauge for c in self.made if not self._faults(needs, c)), "")
            return Suited(
                (largest,), f"the largest that {whose}", (), tuple(found.values()), enough
            )
        thinner = [(c, found) for c, found in faults if c.area_mm2 < good[0].area_mm2]
        rejected = tuple(f"{c.gauge}: {_said(c, found)}" for c, found in thinner if found)
        return Suited(good, next(iter(thinner[-1][1]), "") if thinner else "", rejected)

    # ---------------------------------------------------------------------- what it asks

    def _faults(self, needs: Needs, cable: Cable) -> dict[str, str]:
        """What a cable lacks for a wire alone: a sentence each, by what it falls short of."""
        found = {}
        if needs.steady_amps > cable.rated_amps:
            found["its load"] = f"carries {float(needs.steady_amps):.3g} A"
        if needs.fuse_amps > cable.rated_amps:
            found["its fuse"] = f"its fuse is {float(needs.fuse_amps):g} A"
        if needs.ahead_amps > cable.rated_amps:
            ahead = float(needs.ahead_amps)
            found["the fuse on its way"] = f"the fuse on its way is {ahead:g} A"
        if needs.amps > self.floor_amps and cable.area_mm2 < self.floor_mm2:
            least = f"over {float(self.floor_amps):g} A at least {self.rules.floor_gauge}"
            found["floor_gauge"] = f"{least} (floor_gauge)"
        if cable.area_mm2 < needs.link_mm2:
            found["what it joins"] = f"the wires it joins are {float(needs.link_mm2):g} mm2"
        if needs.starter_amps:
            found |= self._as_starter_lead(float(needs.starter_amps), cable)
        return found

    def _as_starter_lead(self, amps: float, cable: Cable) -> dict[str, str]:
        least = starter_area_mm2(amps)
        if float(cable.area_mm2) < least:
            return {"the starter": f"{least:.1f} mm2 at the least for {amps:g} A of cranking"}
        if cable.kind != BATTERY_CABLE and self.has_battery_cable:
            return {"the starter": "starter leads are made of battery cable"}
        return {}

    def _fuse_ahead(self, loaded: LoadedWire) -> Fraction:
        """The largest rating of the fuses that this wire runs into; 0 where there is none.

        For a return those of the fuses that its loads are right behind, and of those whose
        loads all come back in it: what they let pass comes back here.
        """
        if loaded.is_link:
            return Fraction(0)
        if loaded.is_return:
            return self._fuse_of_return(loaded.loads)
        port = self.net.finish[loaded.wire.label]
        names = self._ahead.get(port)
        if names is None:
            onward = self.net.beyond(port)
            names = self._ahead[port] = {w.fuse for wires in onward for w in wires if w.fuse}
        ahead = names - {NO_FUSE, loaded.fuse}
        return max((self.rating[n] for n in ahead if n in self.rating), default=Fraction(0))

    def _fuse_of_return(self, loads: int) -> Fraction:
        right = (rating for rating, behind in self.right_behind.items() if behind & loads)
        whole = (
            self.rating[fuse.name] for fuse in self.feeders if fuse.loads & loads == fuse.loads
        )
        return max((*right, *whole), default=Fraction(0))

    def _gather(self, fuse_loads: Sequence[FuseLoad]) -> None:
        """By rating the loads with no other fuse between, and the fuses that have none such."""
        loads = {fuse.name: fuse.loads for fuse in fuse_loads}
        self.right_behind: dict[Fraction, int] = defaultdict(int)
        self.feeders: list[FuseLoad] = []
        for fuse in fuse_loads:
            right = fuse.loads
            for name in fuse.feeds:
                right &= ~loads.get(name, 0)
            self.right_behind[self.rating[fuse.name]] |= right
            if fuse.loads and not right:
                self.feeders.append(fuse)

    # ------------------------------------------------------------------------ what fits

    def _fits(self, wire: Wire, styles: tuple[str, str]) -> tuple[Cable, ...]:
        key = (str(wire.colour), *styles)
        known = self._fitting.get(key)
        if known is None:
            fits = tuple(
                cable
                for cable in self.kept
                if (not wire.colour or not cable.colours or key[0] in cable.colours)
                and self._take(styles, cable)
            )
            known = self._fitting[key] = fits or self.kept
        return known

    def _take(self, styles: Sequence[str], cable: Cable) -> bool:
        return all(takes(self.catalogue.ends[style], cable.area_mm2) for style in styles)

    def _with_typed_ends(self, wire: Wire, styles: tuple[str, str]) -> tuple[Cable, ...]:
        """For heavy cable only ends that somebody typed count: no house has bullets on it."""
        components = self.net.book.components
        typed = [
            style
            for style, (pin, own, _) in zip(styles, wire.ends, strict=True)
            if own or (pin.point in components and components[pin.point].end)
        ]
        return tuple(cable for cable in self.kept if self._take(typed, cable)) or self.kept
