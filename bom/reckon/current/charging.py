"""The road of a charging current: from the end of its wire to the battery."""

import heapq
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from bom.reckon.net import NOTHING_PASSES, Net
from bom.trade.job_book import Pin, Wire
from bom.trade.point_names import is_earth
from bom.trade.wires import MeasuredWire

ChargingRoad = tuple[tuple[Wire, bool], ...]
"""Wires one behind the other, and whether the current runs in them from start to finish."""
_Visit = tuple[int, tuple[tuple[str, bool], ...], Pin]
"""The mm so far, the labels of the wires so far with their directions, and where they lead."""


def roads_to_the_battery(
    net: Net, charging: Sequence[Wire], measured: Sequence[MeasuredWire], apart: Collection[str]
) -> dict[str, ChargingRoad]:
    """The wires between each charging wire's end and the battery, the shortest way, by label.

    The current runs through fuses and switches, forwards or backwards, but through no load:
    `apart` are wires that end at one.
    """
    if not charging:
        return {}
    pieces = {entry.wire.label: entry.piece_mm for entry in measured}
    roads = _ChargingRoads(net, pieces, {*apart, *(wire.label for wire in charging)})
    return {wire.label: roads.of(net.finish[wire.label]) for wire in charging}


class _ChargingRoads:
    def __init__(self, net: Net, pieces_mm: Mapping[str, int], closed: Collection[str]) -> None:
        self.net = net
        self.pieces_mm = pieces_mm
        self.closed = closed
        self.wire = {wire.label: wire for wire in net.book.wires}

    def of(self, start: Pin) -> ChargingRoad:
        """The wires from a port to the battery, by Dijkstra's algorithm; empty for no way."""
        settled: set[Pin] = set()
        heap: list[_Visit] = [(0, (), start)]
        while heap:
            so_far_mm, labels, port = heapq.heappop(heap)
            if port.point in self.net.sources:
                return tuple((self.wire[label], onward) for label, onward in labels)
            if port in settled or (port != start and not self._open(port)):
                continue
            settled.add(port)
            for other in (*self.net.onward(port), *self.net.back(port)):
                heapq.heappush(heap, (so_far_mm, labels, other))
            for wire, further in self._wires(port):
                step_mm = self.pieces_mm[wire.label]
                step = (wire.label, port == self.net.start[wire.label])
                heapq.heappush(heap, (so_far_mm + step_mm, (*labels, step), further))
        return ()

    def _open(self, port: Pin) -> bool:
        """True where the current may run on: not at a load, a regulator, or an earth."""
        how = self.net.passing(port.point)
        return not (self.net.is_own(port) or how == NOTHING_PASSES or is_earth(port))

    def _wires(self, port: Pin) -> Iterator[tuple[Wire, Pin]]:
        """The wires at a port that are not shut, each with the port at its other end."""
        for wire in self._at(port):
            ends = (self.net.start[wire.label], self.net.finish[wire.label])
            further = ends[0] if ends[1] == port else ends[1]
            pins = (wire.start, wire.finish)
            earthed = any(p.point in self.net.sources and self.net.is_earth_pin(p) for p in pins)
            if wire.label not in self.closed and not earthed:
                yield wire, further

    def _at(self, port: Pin) -> Iterable[Wire]:
        return (*self.net.wires_to(port), *self.net.wires_from(port))
