"""The loads of a job, each once: what it takes, what kind it is, and how long it is on."""

import math
from collections.abc import Iterable, Mapping
from fractions import Fraction

from msgspec import Struct

from bom.reckon.net import NOTHING_PASSES, Net
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Load
from bom.trade.figures import DUTIES, STARTER_LEAST_AMPS, mean_square_amps2
from bom.trade.job_book import Component, Wire
from bom.trade.one_of import ALWAYS, Loads, largest_sum
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
        self._sums: dict[int, tuple[Loads, Fraction, float, Fraction]] = {}
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
        known = self._sums.get(id(loads))
        if known is None or known[0] is not loads:
            known = self._sums[id(loads)] = (loads, *self._summed(loads))
        return known[1:]

    def _summed(self, loads: Loads) -> tuple[Fraction, float, Fraction]:
        if len(loads) == 1:
            ((number, ways),) = loads.items()
            if ways == ALWAYS:
                item = self.all[number]
                heat = float(item.amps) * _HEAT_OF_ONE[item.runs]
                return item.amps, heat, item.amps if item.kind == STARTER else Fraction(0)
        parts: dict[bool, dict[int, Item]] = {False: {}, True: {}}
        for number in loads:
            item = self.all[number]
            parts[item.charges][number] = item
        amps = max(self._largest(part, loads) for part in parts.values())
        heat = max(self._heat(part, loads) for part in parts.values())
        starters = {n: item for n, item in parts[False].items() if item.kind == STARTER}
        return amps, heat, self._largest(starters, loads)

    def _largest(self, items: Mapping[int, Item], loads: Loads) -> Fraction:
        amps = {number: item.amps for number, item in items.items()}
        return largest_sum(amps, {number: loads[number] for number in items})

    def _heat(self, items: Mapping[int, Item], loads: Loads) -> float:
        by_runs: dict[str, dict[int, Item]] = {}
        for number, item in items.items():
            by_runs.setdefault(item.runs, {})[number] = item
        sums = {runs: float(self._largest(part, loads)) for runs, part in by_runs.items()}
        return math.sqrt(mean_square_amps2(sums))

    def names(self, loads: Iterable[int]) -> tuple[str, ...]:
        """The names of loads, in their order."""
        return tuple(self.all[number].name for number in loads)


_HEAT_OF_ONE = {runs: math.sqrt(mean_square_amps2({runs: 1.0})) for runs in DUTIES}
"""What a load alone comes to, over minutes, as a share of its current."""
LARGE_LAMP_WATTS = 15
"""Lamps up to this have a limit of their own (catalogs/drops.csv)."""
