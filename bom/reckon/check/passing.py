"""What a component passes, where `passes` does not say it, or says it back to front."""

from collections.abc import Iterable, Iterator

from msgspec import Struct

from bom.reckon.check.findings import Findings
from bom.reckon.strands import JOINS
from bom.trade.job_book import Pin, Wire
from bom.trade.problem import Where

_COILED = frozenset(("relay", "solenoid", "flasher"))
"""Words of things that take a small current of their own beside the one that they switch."""
_CONTACTS = frozenset(("30", "87", "87a", "87b"))
_COILS = frozenset(("85", "86", "coil"))
"""The first words of the pins of a relay (DIN 72552; `coil`: common practice)."""


class Slip(Struct, frozen=True):
    """Something mistyped, and the point whose wires lead to nothing because of it."""

    point: str
    where: Where
    says: str
    cure: str
    alike: str
    is_sure: bool = False
    """Currents are reckoned wrong because of it, whatever else is typed: an error."""
    meant: str = ""
    """The point that it was mistyped for, which misses a wire because of it."""

    @property
    def points(self) -> frozenset[str]:
        """Both points."""
        return frozenset(filter(None, (self.point, self.meant)))


def contacts_left_out(findings: Findings) -> Iterator[Slip]:
    """A relay, solenoid or flasher that feeds on, and `passes` is blank: its coil takes it all."""
    net = findings.net
    for point in net.pins if findings.whole else ():
        row = net.component(point).row
        if row is None or not _switches_by_a_coil(findings, point):
            continue
        ins, outs = _contacts(findings, point)
        if ins and outs:
            says = f"passes of {point} is blank, so that nothing passes to {_listed(outs)}"
            sure = any(wire.load is None for pin in ins for wire in net.arriving[pin])
            where, alike = row.where("passes"), "relays whose passes is blank"
            yield Slip(point, where, says, f"{_listed(ins)} > {_listed(outs)}", alike, sure)


def _switches_by_a_coil(findings: Findings, point: str) -> bool:
    """True for what has a load of its own, and nothing said of what it passes."""
    pins = findings.net.pins[point]
    coiled = _is_coiled(point) or {"30", "87"} <= pins.keys()
    return coiled and findings.net.passing(point) == "load"


def _is_coiled(point: str) -> bool:
    return not _COILED.isdisjoint(point.casefold().split())


def _contacts(findings: Findings, point: str) -> tuple[list[Pin], list[Pin]]:
    """The contacts of a relay, by its wires: where it is fed the most directly, and what it feeds.

    Either is empty where no wire tells it.
    """
    net, pins = findings.net, [pin for pin in findings.net.pins[point].values() if pin.pin]
    ins = [pin for pin in pins if pin in net.arriving and pin not in net.starting]
    ins = [pin for pin in ins if not _is_coil(pin) and not net.is_earth_pin(pin)]
    named = [pin for pin in ins if pin.pin.casefold().split()[0] in _CONTACTS]
    nearest = sorted(ins, key=lambda pin: _steps_to_the_supply(findings, pin))[:1]
    return named or nearest, [pin for pin in pins if _only_feeds_on(findings, pin)]


def _steps_to_the_supply(findings: Findings, pin: Pin) -> int:
    """0 for a pin that is fed by a source, 1 by a fuse or a splice, 2 by anything else."""
    points = [wire.start.point for wire in findings.net.arriving[pin]]
    if not findings.net.sources.isdisjoint(points):
        return 0
    return 1 if any(JOINS & set(point.casefold().split()) for point in points) else 2


def _listed(pins: Iterable[Pin]) -> str:
    return " ".join(pin.pin for pin in pins)


def _is_coil(pin: Pin) -> bool:
    return bool(pin.pin) and pin.pin.casefold().split()[0] in _COILS


def _only_feeds_on(findings: Findings, pin: Pin) -> bool:
    """True for a pin to which no wire comes, and from which a load is fed."""
    net = findings.net
    starting = net.starting.get(pin, ()) if pin not in net.arriving and not _is_coil(pin) else ()
    return any(not findings.is_return(wire) for wire in starting)


def back_to_front(findings: Findings) -> Iterator[Slip]:
    """`passes` that leads from where wires only start to where they only end."""
    net = findings.net
    gives, takes = net.starting.keys(), net.arriving.keys()
    one_way = gives ^ takes
    for point, component in findings.book.components.items() if findings.whole else ():
        pins = net.pins.get(point, {})
        if component.row is None or net.passing(point) != "named":
            continue
        to = net.passes(point).to
        ways = [(pins[a], pins[b]) for a in to for b in to[a] if a in pins and b in pins]
        wrong = [w for w in ways if {*w} <= one_way and w[0] in gives and w[1] in takes]
        if wrong and not any(a in takes and b in gives for a, b in ways):
            start, finish = wrong[0]
            says = (
                f"passes of {point} is back to front: wires come to {finish.pin} "
                f"and go on from {start.pin}"
            )
            cure = ", ".join(map(_turned, component.passes.split(",")))
            sure = any(_only_feeds_on(findings, pin) for pin, _ in wrong)
            alike = "passes that are back to front"
            yield Slip(point, component.row.where("passes"), says, cure, alike, is_sure=sure)


def _turned(rule: str) -> str:
    return " > ".join(part.strip() for part in reversed(rule.split(">")))


def unlike_feeds(findings: Findings) -> Iterator[Slip]:
    """Unlike feeds into a component without load and with blank `passes`."""
    for point, feed in _unlike(findings):
        row = findings.net.component(point).row
        where = row.where("passes") if row else feed.row.where("to")
        says = f"unlike feeds arrive at {point}, and all its pins are taken for one"
        such = "in 1 > out 1, in 2 > out 2"
        if _is_coiled(point) and all(contacts := _contacts(findings, point)):
            such = " > ".join(map(_listed, contacts))
        cure = f"say which feeds which under passes: {such}"
        if row is None:
            cure = f"a row for {point} on Components, with what feeds what under passes: {such}"
        yield Slip(point, where, says, cure, "points where unlike feeds are taken for one")


def _unlike(findings: Findings) -> Iterator[tuple[str, Wire]]:
    """The points that unlike feeds come to, each with the second of them."""
    net = findings.net
    for point, pins in net.pins.items() if findings.whole else ():
        arriving = [wire for pin in pins.values() for wire in net.arriving.get(pin, ())]
        if len(arriving) < 2 or point in net.sources:
            continue
        component = net.component(point)
        if component.load is not None or component.passes or JOINS & set(point.casefold().split()):
            continue
        feeds = [wire for wire in arriving if not findings.is_return(wire)]
        feeds = [wire for wire in feeds if wire.label not in findings.currents.roads]
        if all(wire.load is not None for wire in feeds):
            continue  # row by row it is said what each of them feeds
        kinds = {(w.circuit.casefold(), findings.by_label[w.label].loaded.fuse) for w in feeds}
        ends = [wire.finish for wire in feeds if wire.finish.pin]
        places = len({*ends}) + len(feeds) - len(ends)
        unlike = len(kinds) > 1 or (_is_coiled(point) and len({*map(_is_coil, ends)}) > 1)
        if unlike and places > 1 and _feeds_on(findings, point):
            yield point, feeds[1]


def _feeds_on(findings: Findings, point: str) -> bool:
    net = findings.net
    starting = (net.starting.get(pin, ()) for pin in net.pins[point].values())
    return any(not findings.is_return(wire) for wires in starting for wire in wires)
