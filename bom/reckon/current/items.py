"""The loads of a job, each once: what it takes, what kind it is, and how long it is on."""

import math
from collections.abc import Collection
from fractions import Fraction
from functools import cached_property

from msgspec import Struct

from bom.reckon.net import NOTHING_PASSES, Net
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Load
from bom.trade.figures import DUTIES, STARTER_LEAST_AMPS, mean_square_amps2
from bom.trade.job_book import Component, Wire
from bom.trade.one_of import Loads, largest_sum
from bom.trade.wires import STARTER

STARTERS = (STARTER, "starter control")
"""The kinds whose words say that a large current is a starter motor's."""


class Item(Struct, frozen=True):
    """One load: current in amps, kind (catalogs/drops.csv), how long it is on."""

    name: str
    amps: Fraction
    kind: str
    runs: str

    @property
    def charges(self) -> bool:
        """True for the current of a generator or regulator on its way to the battery."""
        return self.kind == "charging"


Sort = tuple[bool, str, bool]
"""What is summed by itself: whether it charges, how long it is on, whether it is a starter."""


class Items:
    """Every load by number, and the numbers by component and by wire (typed loads)."""

    def __init__(self, net: Net, volts: Fraction, catalogue: Catalogue) -> None:
        self.net = net
        self.volts = volts
        self.catalogue = catalogue
        self.all: list[Item] = []
        self.of_component: dict[str, int] = {}
        self.of_wire: dict[str, int] = {}
        self._amps: dict[int, Fraction] = {}
        self._charging = {wire.label for wire in net.book.wires if self._gives(wire)}
        self._sums: dict[int, tuple[Fraction, float, Fraction]] = {}
        for component in net.book.components.values():
            if component.load is not None:
                self.of_component[component.name] = len(self.all)
                self.all.append(self._of_component(component, component.load))
        for wire in net.book.wires:
            if wire.load is not None:
                self.of_wire[wire.label] = len(self.all)
                self.all.append(self._of_wire(wire, wire.load))

    def _gives(self, wire: Wire) -> bool:
        """True for a load typed on a wire from what nothing passes: no lamp's pin, fed on."""
        point = wire.start.point
        if wire.load is None or self.net.passing(point) != NOTHING_PASSES:
            return False
        fed = wire.start.pin and wire.start in self.net.arriving
        return point not in self.net.sources and (
            not fed or self.catalogue.kind_of(point) == "charging"
        )

    def charging(self, wire: Wire) -> bool:
        """True for a wire with a load typed that starts at what charges the battery."""
        return wire.label in self._charging

    def typed_amps(self, load: Load) -> Fraction:
        """Current of a load in amps; one object stands in many rows."""
        known = self._amps.get(id(load))
        if known is None:
            known = self._amps[id(load)] = load.amps(self.volts)
        return known

    # ------------------------------------------------------------------- what they are

    def _of_component(self, component: Component, load: Load) -> Item:
        feeds = self._own_feeds(component.name)
        circuit = feeds[0].circuit if feeds else ""
        amps = load.amps(self.volts)
        kind = self._kind(load, amps, component.name, circuit)
        typed = sorted({w.runs for w in feeds if w.runs}, key=DUTIES.__getitem__)
        runs = self._runs(typed[-1] if typed else "", component.name, load)
        return Item(component.name, amps, kind, "starting" if kind == STARTER else runs)

    def _own_feeds(self, point: str) -> list[Wire]:
        pins = self.net.pins.get(point, {}).values()
        return [w for pin in pins if self.net.is_own(pin) for w in self.net.wires_to(pin)]

    def _of_wire(self, wire: Wire, load: Load) -> Item:
        amps, point = self.typed_amps(load), wire.finish.point
        name = f"{point} ({wire.label})"
        total = amps if wire.qty == 1 else amps * wire.qty
        if self.charging(wire):
            return Item(name, total, "charging", wire.runs or "always")
        kind = self._kind(load, amps, point, wire.circuit)
        if amps >= STARTER_LEAST_AMPS and self.catalogue.kind_of(wire.circuit) in STARTERS:
            kind = STARTER
        runs = "starting" if kind == STARTER else self._runs(wire.runs, point, load)
        return Item(name, total, kind, runs)

    def _kind(self, load: Load, amps: Fraction, point: str, circuit: str) -> str:
        """By the load's own row, else by the words of where it sits, else by its circuit's."""
        known = self.catalogue.kind_of
        kind = load.kind or known(point) or known(circuit) or "other"
        if kind == STARTER and not load.kind and amps < STARTER_LEAST_AMPS:
            return "starter control"
        if kind == "starter control" and not load.kind and amps >= STARTER_LEAST_AMPS:
            return STARTER
        if kind == "charging":  # an exciter's current: nothing that charges is a load
            return "other"
        if kind == "lamp":
            watts = load.amount if load.unit == "W" else amps * self.volts
            return "lamp over 15 W" if watts > LARGE_LAMP_WATTS else kind
        return kind

    def _runs(self, typed: str, point: str, load: Load) -> str:
        component = self.net.component(point)
        words = self.catalogue.runs_of(point)
        return typed or component.runs or words or load.runs or "always"

    # ---------------------------------------------------------------------------- sums

    def sums(self, loads: Loads) -> tuple[Fraction, float, Fraction]:
        """What flows for a set of loads, in amps.

        The largest sum over all settings of the words, its root mean square over minutes, and
        the share of starters in it.  A charging current and loads in one wire go opposite ways:
        the larger counts.
        """
        if loads.worded:
            return self._summed(loads)
        known = self._sums.get(loads.always)
        if known is None:
            known = self._sums[loads.always] = self._summed(loads)
        return known

    def _summed(self, loads: Loads) -> tuple[Fraction, float, Fraction]:
        amps = max(self.largest(loads, charging=charging) for charging in (False, True))
        heat = max(self._heat(loads, charging=charging) for charging in (False, True))
        starters = [sort for sort in self._planes if sort[2] and not sort[0]]
        return amps, heat, self._sum(loads, starters)

    def largest(self, loads: Loads, *, charging: bool) -> Fraction:
        """The largest sum of charging currents, or of all other loads, in amps."""
        return self._sum(loads, [sort for sort in self._planes if sort[0] is charging])

    def _heat(self, loads: Loads, *, charging: bool) -> float:
        sums = {}
        for runs in DUTIES:
            sorts = [sort for sort in self._planes if sort[:2] == (charging, runs)]
            sums[runs] = float(self._sum(loads, sorts)) if sorts else 0.0
        return math.sqrt(mean_square_amps2(sums))

    def _sum(self, loads: Loads, sorts: Collection[Sort]) -> Fraction:
        """The largest sum of the loads of some sorts, exact.

        Those that can always be on are counted place by place of their binary figures, a set at
        once: in a chain of thousands each wire has another set.
        """
        units = sum(
            (loads.always & plane).bit_count() << place
            for sort in sorts
            for place, plane in enumerate(self._planes[sort])
        )
        amps = Fraction(units, self._unit)
        if not loads.worded:
            return amps
        worded = {n: ways for n, ways in loads.worded.items() if _sort(self.all[n]) in sorts}
        return amps + largest_sum({n: self.all[n].amps for n in worded}, worded)

    @cached_property
    def _unit(self) -> int:
        """Into how many parts an ampere is divided so that each load is a whole number of them."""
        return math.lcm(*(item.amps.denominator for item in self.all))

    @cached_property
    def _planes(self) -> dict[Sort, list[int]]:
        """For each sort, by the places of binary figures, the loads whose amps have a 1 there."""
        planes: dict[Sort, list[int]] = {}
        for number, item in enumerate(self.all):
            units = int(item.amps * self._unit)
            found = planes.setdefault(_sort(item), [])
            found += [0] * (units.bit_length() - len(found))
            for place in range(units.bit_length()):
                found[place] |= (units >> place & 1) << number
        return planes


def _sort(item: Item) -> Sort:
    return item.charges, item.runs, item.kind == STARTER


LARGE_LAMP_WATTS = 15
"""Lamps up to this have a limit of their own (catalogs/drops.csv)."""
