"""What may be taken for what: wires as strands of their circuits, which clash or do not.

A circuit is its name; wires without one are the circuit that they are joined to, or by themselves
one for each electrical node.  All wires at earth from end to end are one circuit, whatever their
rows call them.  A part of a circuit is one electrical node of it: what is joined at pins, plugs
and splices.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from bom.files.spelling import fold
from bom.reckon.net import GENERATORS, Net
from bom.trade.job_book import Pin
from bom.trade.point_names import is_battery, is_earth, is_fuse
from bom.trade.wires import SizedWire

EARTH = "earth"
"""The circuit of all that lies at earth."""

JOINS = frozenset(("splice", "fuse", "fuses", "connector", "joint", "junction"))
"""Words of things that join what comes to them (common practice)."""


class Strand(Struct, frozen=True, eq=False):
    """A wire with the circuit that it belongs to, and what it is joined to of that."""

    entry: SizedWire
    circuit: str
    """Folded; of wires that no row calls by a name the ends of all that are joined."""
    node: Pin

    @property
    def part(self) -> tuple[str, Pin]:
        """What has one colour: of the earth all, of another circuit a node."""
        return self.circuit, Pin(EARTH) if self.circuit == EARTH else self.node

    @property
    def in_few_colours(self) -> bool:
        """True for cable that is made in few colours, as battery cable is."""
        return bool(self.entry.cable.colours)

    def clashes(self, other: "Strand") -> bool:
        """True for wires that must not have one colour where they lie in one branch."""
        few = self.in_few_colours and other.in_few_colours
        return self.circuit != other.circuit and not few


def strands(net: Net, wires: Sequence[SizedWire]) -> Mapping[str, Strand]:
    """Each wire by its label, with its circuit."""
    joined, at_earth = _nodes(net, wires), earths(net, wires)
    names: dict[Pin, set[str]] = defaultdict(set)
    ends: dict[Pin, set[str]] = defaultdict(set)
    for entry in wires:
        wire, node = entry.wire, joined[entry.wire.label]
        ends[node] |= {fold(str(wire.start)), fold(str(wire.finish))}
        if wire.circuit and wire.label not in at_earth:
            names[node].add(fold(wire.circuit))
    unnamed = _told_apart(ends)
    found = {}
    for entry in wires:
        wire, node = entry.wire, joined[entry.wire.label]
        own = [fold(wire.circuit)] if wire.circuit else [*names[node]]
        circuit = own[0] if len(own) == 1 else unnamed[node]
        found[wire.label] = Strand(entry, EARTH if wire.label in at_earth else circuit, node)
    return _phases_as_one(found)


def _told_apart(ends: Mapping[Pin, Iterable[str]]) -> dict[Pin, str]:
    """A name for each node by its ends; those between the same bare points are numbered."""
    seen: Counter[str] = Counter()
    found = {}
    for node, own in ends.items():
        name = " = ".join(sorted(own))
        seen[name] += 1
        found[node] = f"{name} ({seen[name]})"
    return found


def _phases_as_one(found: Mapping[str, Strand]) -> Mapping[str, Strand]:
    """The phases of an alternator are one part: it is of no account which is which."""
    first: dict[tuple[str, str, str], Pin] = {}
    done = {}
    for label, strand in found.items():
        wire, node = strand.entry.wire, strand.node
        if GENERATORS & {*fold(wire.start.point).split()} and strand.circuit != EARTH:
            node = first.setdefault((strand.circuit, wire.start.point, wire.finish.point), node)
        done[label] = Strand(strand.entry, strand.circuit, node)
    return done


# ---------------------------------------------------------------------------------- nodes


def _nodes(net: Net, wires: Iterable[SizedWire]) -> Mapping[str, Pin]:
    """Of each wire one pin of all that it is joined to by wires, terminals and splices."""
    joined: dict[Pin, Pin] = {}

    def root(pin: Pin) -> Pin:
        while pin in joined:
            pin = joined[pin]
        return pin

    terminals = {entry.wire.label: _terminals(net, entry) for entry in wires}
    for start, finish in terminals.values():
        one, other = root(start), root(finish)
        if one != other:
            joined[other] = one
    return {label: root(start) for label, (start, _) in terminals.items()}


def _terminals(net: Net, entry: SizedWire) -> tuple[Pin, Pin]:
    wire = entry.wire
    return (
        _terminal(net, wire.start, entry.start_end, Pin(wire.label, "from")),
        _terminal(net, wire.finish, entry.finish_end, Pin(wire.label, "to")),
    )


def _terminal(net: Net, pin: Pin, style: str, alone: Pin) -> Pin:
    """An end of a wire; `alone` at a bare point that is no joint: there each has its own."""
    if not JOINS.isdisjoint(pin.point.casefold().split()) and not is_fuse(pin.point):
        return net.port(pin)
    return pin if pin.pin or style == "splice" else alone


# --------------------------------------------------------------------------------- earths


def earths(net: Net, wires: Iterable[SizedWire]) -> frozenset[str]:
    """The wires that lie at earth from end to end, with no switch or load behind them.

    A return is not one yet: the wire from a coil to its switch, or a charging wire, is live.
    """
    arriving: dict[Pin, list[SizedWire]] = defaultdict(list)
    waiting: list[SizedWire] = []
    for entry in wires:
        if not entry.loaded.is_return:
            continue
        start, finish = entry.wire.start, entry.wire.finish
        if _at_earth(net, finish) or (is_earth(Pin(start.point)) and not is_battery(start.point)):
            waiting.append(entry)
        elif finish.pin or _is_joint(finish.point, entry.finish_end):
            arriving[finish].append(entry)
    found: set[str] = set()
    while waiting:
        entry = waiting.pop()
        found.add(entry.wire.label)
        waiting += arriving.pop(entry.wire.start, ())
    return frozenset(found)


def _at_earth(net: Net, pin: Pin) -> bool:
    """Whether a pin is named as an earth; of a battery, its pole on the earth side alone."""
    if not is_battery(pin.point):
        return is_earth(pin)
    return net.is_earth_pin(Pin(pin.point, f"{pin.point} {pin.pin}"))


def _is_joint(point: str, style: str) -> bool:
    """Whether bare ends at a point are surely joined there, as they are not at a switch."""
    return style == "splice" or "earth" in point.casefold().split()
