"""Checks of the circuit: feeds, returns, fuses on them, and what passes what."""

from collections.abc import Iterator

from bom.check.findings import Findings
from bom.net import is_battery
from bom.problem import Problem, caution, error, nearest
from bom.trade import NO_FUSE, Pin


def unfused_feeds(findings: Findings) -> Iterator[Problem]:
    """The first wire of a feed that is behind no fuse and not unfused on purpose."""
    if not findings.whole:
        return
    for entry in findings.sized.wires:
        wire = entry.wire
        if entry.loaded.is_return or entry.loaded.fuse is not None:
            continue
        names = {findings.by_label[f.label].loaded.fuse for f in findings.feeders(wire)}
        if names == {None}:
            continue  # said already at the wire that feeds it
        where = wire.row.where("fuse")
        behind = sorted(name for name in names if name and name != NO_FUSE)
        if len(behind) > 1:
            says = f"wire {wire.label} is fed from behind more than one fuse: {', '.join(behind)}"
            yield caution(where, says, "the name of the fuse it is behind")
        elif behind:
            says = f"wire {wire.label} is fed from behind {behind[0]}, and by a wire without a fuse"
            yield caution(where, says, "a fuse on that wire, or the name of one here")
        else:
            says = f"wire {wire.label} is a feed with no fuse on it"
            yield caution(where, says, "the name of a fuse, or 'none' if that is on purpose")


def fuse_on_a_return(findings: Findings) -> Iterator[Problem]:
    """A fuse typed on a wire that leads to no load."""
    if findings.unread:
        return
    for wire in findings.book.wires:
        dead = findings.by_label[wire.label].loaded.amps == 0
        if wire.fuse not in (None, NO_FUSE) and findings.is_return(wire) and not dead:
            says = f"fuse '{wire.fuse}' is on wire {wire.label}, which leads to no load"
            yield caution(wire.row.where("fuse"), says, "the fuse on the feed")


def no_return(findings: Findings) -> Iterator[Problem]:
    """A component that is fed but has no wire back."""
    book, net = findings.book, findings.net
    if not findings.whole:
        return
    starts = {wire.start.point for wire in book.wires if findings.is_return(wire)}
    said = set()
    for wire in book.wires:
        point = wire.finish.point
        if point in starts or point in said or findings.is_return(wire):
            continue
        if wire.load is None and not net.is_own(net.finish[wire.label]):
            continue
        if point in net.sources or _goes_on(findings, point):
            continue
        said.add(point)
        says = f"{point} is fed by wire {wire.label} but has no return"
        cure = f"a wire from {point} to earth, unless it earths through its mounting"
        yield caution(wire.row.where("to"), says, cure)


def _goes_on(findings: Findings, point: str) -> bool:
    """True for a point without a load that a typed load only passes on its way."""
    net = findings.net
    if net.component(point).load is not None:
        return False
    onward = (net.wires_from(net.port(pin)) for pin in net.pins.get(point, {}).values())
    return any(not findings.is_return(wire) for wires in onward for wire in wires)


def unlike_feeds(findings: Findings) -> Iterator[Problem]:
    """Unlike feeds into a component without load and with blank `passes`."""
    net = findings.net
    if not findings.whole:
        return
    for point, pins in net.pins.items():
        arriving = [wire for pin in pins.values() for wire in net.arriving.get(pin, ())]
        if len(arriving) < 2 or point in net.sources:
            continue
        component = net.component(point)
        if component.load is not None or component.passes:
            continue
        feeds = [wire for wire in arriving if not findings.is_return(wire)]
        kinds = {(w.circuit.casefold(), findings.by_label[w.label].loaded.fuse) for w in feeds}
        ends = [wire for wire in feeds if wire.finish.pin]
        places = len({w.finish.pin for w in ends}) + len(feeds) - len(ends)
        if len(kinds) > 1 and places > 1 and _feeds_on(findings, point):
            first = component.row
            where = first.where("passes") if first else feeds[1].row.where("to")
            says = f"unlike feeds arrive at {point}, and all its pins are taken for one"
            yield caution(
                where, says, "say which feeds which under passes: in 1 > out 1, in 2 > out 2"
            )


def _feeds_on(findings: Findings, point: str) -> bool:
    net = findings.net
    starting = (net.starting.get(pin, ()) for pin in net.pins[point].values())
    return any(not findings.is_return(wire) for wires in starting for wire in wires)


def passes_understood(findings: Findings) -> Iterator[Problem]:
    """`passes` cells that cannot be read, or that name a pin that no wire uses."""
    net = findings.net
    for name, component in findings.book.components.items():
        if component.row is None or net.passing(name) != "named":
            continue
        where = component.row.where("passes")
        if is_battery(name):
            continue
        passes = net.passes(name)
        if not passes.understood:
            cure = "30 > 87, or 'none', or 'pin to pin'"
            yield error(where, f"passes '{component.passes}' is not understood", cure)
            continue
        for word in passes.unused if findings.whole and name in net.pins else ():
            says = f"passes names '{word}', a pin of {name} that no wire uses"
            yield caution(
                where, says, nearest(word, [pin for pin in net.pins.get(name, ()) if pin])
            )


def pins_that_pass_nothing(findings: Findings) -> Iterator[Problem]:
    """A pin that is nearly one named in `passes`: nothing passes to it or from it."""
    net = findings.net
    for wire in findings.book.wires:
        for pin, _, heading in wire.ends:
            if not pin.pin or net.passing(pin.point) != "named" or net.is_own(pin):
                continue
            named = net.passes(pin.point).named
            close = "" if pin.pin in named else nearest(pin.pin, named - net.pins[pin.point].keys())
            if close:
                says = f"pin '{pin.pin}' of {pin.point} is not named in its passes: nothing passes"
                where = wire.row.where(heading.removesuffix(" end"))
                yield caution(where, says, f"{pin.point}:{close}")


def load_out_of_reach(findings: Findings) -> Iterator[Problem]:
    """A component's own load that no wire comes to: `passes` names every pin it has."""
    net = findings.net
    for name, component in findings.book.components.items():
        if component.load is None or component.row is None or net.passing(name) != "named":
            continue
        pins = net.pins.get(name, {}).values()
        if pins and findings.whole and not any(net.is_own(pin) for pin in pins):
            says = f"the load of {name} is in no current: passes names all the pins that wires use"
            yield caution(
                component.row.where("load"), says, "its load typed on the row that feeds it"
            )


def load_behind_a_typed_load(findings: Findings) -> Iterator[Problem]:
    """A lamp fed through another lamp's row: the typed load stands for both."""
    net = findings.net
    beyond: dict[Pin, str] = {}  # looked for once at each port: thousands of wires may meet there
    for wire in findings.book.wires:
        if wire.load is None or findings.is_return(wire):
            continue
        port = net.finish[wire.label]
        if port not in beyond:
            beyond[port] = _fed_through(findings, port)
        if beyond[port]:
            says = (
                f"the load typed for wire {wire.label} stands for all beyond it, {beyond[port]} too"
            )
            yield caution(wire.row.where("load"), says, "the sum of the loads, or a blank cell")


def _fed_through(findings: Findings, port: Pin) -> str:
    """The point that is fed onward from a port where a load ends too, '' where none is."""
    net = findings.net
    onward = next((w for w in net.beyond(port)[0] if not findings.is_return(w)), None)
    if onward is None:
        return ""
    ends_here = net.is_own(port) or any(map(findings.is_return, net.wires_from(port)))
    return onward.finish.point if ends_here else ""
