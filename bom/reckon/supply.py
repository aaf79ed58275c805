"""The way of each load: from the supply to it and back, and the voltage drop allowed on it.

Of several ways the shortest counts.  The limit belongs to what the load is
(catalogs/drops.csv), scaled from 12 V to the machine's voltage.
"""

import heapq
from collections.abc import Callable, Iterable

from bom.reckon.net import Net
from bom.trade.catalogue import Catalogue
from bom.trade.figures import resistance_at_c
from bom.trade.house import HouseRules
from bom.trade.job_book import Pin, Wire
from bom.trade.roads import Road, Step, backwards
from bom.trade.wires import STARTER, Currents, LoadedWire, Supply

CLOSE_KINDS = ("headlamp", "lamp over 15 W", "lamp", "ignition", "charging")
"""Kinds of load that `drop_percent` is for; `drop_percent_other` is for all others."""
_DROPS_AT_VOLTS = 12
_STARTER_AMPS = 100
"""Limits of catalogs/drops.csv are for 12 V; a starter's for each 100 A."""


_NOWHERE = Pin("")
"""Stands before the first port of a road."""


_Onward = tuple[Pin, int, str]
"""A further port, the mm to it, and the wire to it (empty: through a component)."""


def supplies(
    net: Net, currents: Currents, rules: HouseRules, catalogue: Catalogue
) -> tuple[Supply, ...]:
    """The way of every load that a feed reaches; lengths in whole mm, limits in volts."""
    return _SupplyWays(net, currents, rules, catalogue).supplies()


class _SupplyWays:
    def __init__(
        self, net: Net, currents: Currents, rules: HouseRules, catalogue: Catalogue
    ) -> None:
        self.net = net
        self.currents = currents
        self.rules = rules
        self.catalogue = catalogue
        self.wires = {entry.wire.label: entry for entry in currents.wires}
        self.there = self._there()
        self.back = _spread(self._ends_at_sources(), self._further_back)

    # ------------------------------------------------------------------- the two roads

    def _there(self) -> dict[Pin, Road]:
        feeds = [entry for entry in self.currents.wires if not entry.is_return]
        sources = self.net.sources
        there = _spread(self._starts(e for e in feeds if e.wire.start.point in sources), self._on)
        others = [e for e in feeds if self.net.start[e.wire.label] not in there]
        return _spread(self._starts(others), self._on) | there

    def _starts(self, entries: Iterable[LoadedWire]) -> list[_Onward]:
        finish = self.net.finish
        return [(finish[e.wire.label], e.measured.piece_mm, e.wire.label) for e in entries]

    def _on(self, port: Pin) -> Iterable[_Onward]:
        if port.point in self.net.sources:
            return
        for onward in self.net.onward(port):
            yield onward, 0, ""  # a typed load's wire is traced back from the pin it starts at
        for wires in self.net.beyond(port):
            for wire in wires:
                entry = self.wires[wire.label]
                if not entry.is_return:
                    yield self.net.finish[wire.label], entry.measured.piece_mm, wire.label

    def _ends_at_sources(self) -> list[_Onward]:
        return [
            (self.net.start[e.wire.label], e.measured.piece_mm, e.wire.label)
            for e in self.currents.wires
            if e.is_return and e.wire.finish.point in self.net.sources
        ]

    def _further_back(self, port: Pin) -> Iterable[_Onward]:
        for wire in self.net.behind(port):
            entry = self.wires[wire.label]
            if entry.is_return:
                yield self.net.start[wire.label], entry.measured.piece_mm, wire.label

    # ----------------------------------------------------------------------- the loads

    def supplies(self) -> tuple[Supply, ...]:
        """One way for each load: typed ones by their row, the others by their component."""
        found = []
        for label, load in self.currents.typed.items():
            entry = self.wires[label]
            if entry.is_return or entry.is_link:
                continue
            if label in self.currents.roads:
                found.append(self._charging(label, load))
            elif not entry.charges or self.currents.kinds[load] != "charging":
                feed = self._further(self.there.get(self.net.start[label]), label)
                found.append(self._supply(load, feed, entry.wire.finish.point))
        for name, component in self.net.book.components.items():
            if component.load is None or self._replaced(name):
                continue
            ports = [port for port in self._own_ports(name) if port in self.there]
            found += [self._supply(name, self.there[port], name) for port in ports]
        return tuple(found)

    def _replaced(self, point: str) -> bool:
        """True where every feed to a component's own load has a load of its own typed."""
        arriving = (w for port in self._own_ports(point) for w in self.net.wires_to(port))
        passing = self.currents.roads
        feeds = [w for w in arriving if not (self.wires[w.label].is_return or w.label in passing)]
        return bool(feeds) and all(w.load is not None for w in feeds)

    def _charging(self, label: str, load: str) -> Supply:
        """A charging current: on to the battery and back, or, of two phases, there and back."""
        wire = self.wires[label].wire
        road = self.currents.roads[label]
        pins = self.net.pins[wire.start.point].values()
        if road or wire.finish.point in self.net.sources:
            back = [*backwards(self._nearest([self.net.port(pin) for pin in pins]))]
        else:
            back = self._other_phase(wire)
        return self._limited(load, self._road((label, *road)), self._road(back))

    def _road(self, labels: Iterable[str]) -> Road:
        road: Road = None
        for label in labels:
            road = self._further(road, label)
        return road

    def _further(self, road: Road, label: str) -> Step:
        piece_mm = self.wires[label].measured.piece_mm
        return Step(label, road, piece_mm + (road.length_mm if road else 0))

    def _other_phase(self, wire: Wire) -> list[str]:
        """Another wire between the same two components, the one behind it in their order."""
        between = {
            w.label
            for p in self.net.pins[wire.start.point].values()
            for w in self.net.starting.get(p, ())
            if w.finish.point == wire.finish.point
        }
        phases = sorted(between & self.currents.roads.keys(), key=self._by_end)
        following = phases[(phases.index(wire.label) + 1) % len(phases)]
        return [] if following == wire.label else [following]

    def _by_end(self, label: str) -> tuple[Pin, Pin, str]:
        wire = self.wires[label].wire
        return wire.start, wire.finish, label

    def _own_ports(self, point: str) -> list[Pin]:
        ports = self.net.pins.get(point, {}).values()
        return [port for port in ports if self.net.is_own(port)]

    def _nearest(self, ports: Iterable[Pin]) -> Road:
        """The shortest way back from one of some ports."""
        roads = [(road.length_mm, port) for port in ports if (road := self.back.get(port))]
        return self.back[min(roads)[1]] if roads else None

    def _supply(self, load: str, feed: Road, point: str) -> Supply:
        ports = self._own_ports(point) or [
            self.net.port(pin) for pin in self.net.pins[point].values()
        ]
        return self._limited(load, feed, self._nearest(ports))

    def _limited(self, load: str, feed: Road, back: Road) -> Supply:
        """A way with its limits in volts."""
        kind, amps = self.currents.kinds[load], self.currents.amps[load]
        feed_volts, volts = self._limits(kind, float(amps))
        return Supply(
            load=load,
            kind=kind,
            amps=amps,
            feed=feed,
            back=back,
            allowed_volts=volts,
            feed_volts=feed_volts,
            back_volts=feed_volts if kind == STARTER else None,
        )

    def _limits(self, kind: str, amps: float) -> tuple[float | None, float]:
        """The drops allowed in the plus lead (None: as all the way) and all the way."""
        rules = self.rules
        if kind == STARTER:
            warmer = resistance_at_c(1.0, float(rules.conductor_c))  # the limit is one at 20 C
            return self._scaled(kind, warmer * amps / _STARTER_AMPS)
        close = kind in CLOSE_KINDS
        percent = rules.drop_percent if close else rules.drop_percent_other
        if percent:
            return None, float(rules.volts * percent / 100)
        return self._scaled(kind, 1.0)

    def _scaled(self, kind: str, factor: float) -> tuple[float | None, float]:
        drops = self.catalogue.drops
        drop = drops.get(kind) or drops["other"]  # an unknown kind is told with the catalogues
        factor *= float(self.rules.volts) / _DROPS_AT_VOLTS
        feed = None if drop.feed_volts is None else drop.feed_volts * factor
        return feed, drop.volts * factor


def _spread(
    starts: Iterable[_Onward], onward: Callable[[Pin], Iterable[_Onward]]
) -> dict[Pin, Road]:
    """Dijkstra's algorithm over ports: the shortest road to each."""
    settled: dict[Pin, Road] = {}
    heap = [(length, port, wire, _NOWHERE) for port, length, wire in starts]
    heapq.heapify(heap)
    while heap:
        length, port, wire, before = heapq.heappop(heap)
        if port in settled:
            continue
        road = settled.get(before)
        settled[port] = Step(wire, road, length) if wire else road
        for further, piece, label in onward(port):
            if further not in settled:
                heapq.heappush(heap, (length + piece, further, label, port))
    return settled
