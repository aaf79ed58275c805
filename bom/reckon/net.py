"""How the pins of a job are joined: wires between them, components across them.

A port is a pin, or all bare ends at a component together.  Wires at one named pin are
joined always; what a component joins beside that is what its `passes` says.  This is
the one place that reads `passes` and that knows what a source is.
"""

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from itertools import pairwise

from msgspec import Struct

from bom.trade.job_book import Component, JobBook, Pin, Wire
from bom.trade.point_names import EARTHS, is_battery

PIN_TO_PIN = "pin to pin"
NOTHING_PASSES = "none"

GENERATORS = frozenset(("magneto", "generator", "alternator", "dynamo", "stator", "flywheel"))
_MINUS = frozenset(("-", "minus", "neg", "negative"))
_PLUS = frozenset(("+", "plus", "pos", "positive"))


def _pole_words(text: str) -> set[str]:
    """The words of a pin or point, without a number behind a pole: `-1` is `-`."""
    return {word.rstrip("0123456789") or word for word in text.casefold().split()}


class Passes(Struct, frozen=True):
    """What one component passes: pin to pins, the pins named, and words that are no pins."""

    to: Mapping[str, frozenset[str]]
    named: frozenset[str]
    unused: tuple[str, ...]
    understood: bool = True


def read_passes(text: str, pins: Iterable[str]) -> Passes:
    """Read `30 > 87, lights > dip main` against the pins used on Circuits, longest first.

    >>> read_passes("turn in > left right", ["turn in", "left", "right"]).to["turn in"] == {
    ...     "left", "right"}
    True
    """
    known = {" ".join(pin.casefold().split()): pin for pin in pins if pin}
    direct: dict[str, set[str]] = {}
    named: set[str] = set()
    unused: list[str] = []
    understood = True
    for rule in filter(str.strip, text.split(",")):
        groups = [_pins_in(part, known, unused) for part in rule.split(">")]
        understood &= len(groups) > 1 and all(part.strip() for part in rule.split(">"))
        named.update(*groups)
        for sources, targets in pairwise(groups):
            for source in sources:
                direct.setdefault(source, set()).update(targets)
    to = {pin: frozenset(_closure(pin, direct) - {pin}) for pin in direct}
    return Passes(to, frozenset(named), tuple(unused), understood)


def _pins_in(part: str, known: Mapping[str, str], unused: list[str]) -> list[str]:
    words = part.casefold().split()
    found = []
    while words:
        for size in range(len(words), 0, -1):
            name = " ".join(words[:size])
            if name in known:
                found.append(known[name])
                del words[:size]
                break
        else:
            # no wire uses it, yet a chain may run over it: a > b, b > c passes a to c
            unused.append(words[0])
            found.append(words.pop(0))
    return found


def _closure(pin: str, direct: Mapping[str, set[str]]) -> set[str]:
    reached: set[str] = set()
    waiting = [pin]
    while waiting:
        for following in direct.get(waiting.pop(), ()):
            if following not in reached:
                reached.add(following)
                waiting.append(following)
    return reached


class Net:
    """The joints of one job book, by port: `start` and `finish` are those of a wire's ends."""

    def __init__(self, book: JobBook) -> None:
        self.book = book
        self.starting: dict[Pin, list[Wire]] = {}
        self.arriving: dict[Pin, list[Wire]] = {}
        self.pins: dict[str, dict[str, Pin]] = {}
        """The pins that wires end at, by point and name."""
        for wire in book.wires:
            start, finish = wire.start, wire.finish
            self.starting.setdefault(start, []).append(wire)
            self.arriving.setdefault(finish, []).append(wire)
            self.pins.setdefault(start.point, {})[start.pin] = start
            self.pins.setdefault(finish.point, {})[finish.pin] = finish
        self._passes: dict[str, Passes] = {}
        self._passing: dict[str, str] = {}
        self._back: dict[str, dict[str, tuple[Pin, ...]]] = {}
        self._beyond: dict[Pin, tuple[list[Wire], list[Wire]]] = {}
        self._behind: dict[Pin, list[Wire]] = {}
        self._ports: dict[Pin, Pin] = {}
        self._wires_from: dict[Pin, list[Wire]] = {}
        self._wires_to: dict[Pin, list[Wire]] = {}
        self._give = self.sources | self.batteries
        """The points that nothing passes through, whatever their rows say."""
        for point, pins in self.pins.items():
            self._gather(point, pins.values())
        self.start = {wire.label: self._ports[wire.start] for wire in book.wires}
        self.finish = {wire.label: self._ports[wire.finish] for wire in book.wires}

    def _gather(self, point: str, pins: Iterable[Pin]) -> None:
        """The wires of a point, port by port."""
        one = Pin(point) if self.is_one(point) else None
        for pin in pins:
            port = self._ports[pin] = one or pin
            for found, wires in (
                (self._wires_from, self.starting.get(pin)),
                (self._wires_to, self.arriving.get(pin)),
            ):
                if wires:
                    found.setdefault(port, []).extend(wires)

    @property
    def ports(self) -> list[Pin]:
        """Every port, in the order in which the wires come to it."""
        start, finish = self.start, self.finish
        labels = (wire.label for wire in self.book.wires)
        return list(dict.fromkeys(port for n in labels for port in (start[n], finish[n])))

    @cached_property
    def batteries(self) -> frozenset[str]:
        """Every point that is one."""
        return frozenset(filter(is_battery, {*self.pins, *self.book.components}))

    @cached_property
    def sources(self) -> frozenset[str]:
        """The batteries; on a machine without one, its magneto or generator."""
        if self.batteries:
            return self.batteries
        starts = {pin.point for pin in self.starting}
        return frozenset(
            point for point in starts if not GENERATORS.isdisjoint(point.casefold().split())
        )

    @cached_property
    def positive_earth(self) -> bool:
        """True where the feeds start at the minus of the source, and none at its plus."""
        starts = [pin for pin in self.starting if pin.point in self.sources]
        words = {word for pin in starts for word in _pole_words(f"{pin.point} {pin.pin}")}
        return not _MINUS.isdisjoint(words) and _PLUS.isdisjoint(words)

    def is_earth_pin(self, pin: Pin) -> bool:
        """True for a pin named as an earth, whatever it is a pin of: a regulator's earth."""
        earthed = _PLUS if self.positive_earth else _MINUS
        return not (EARTHS | earthed).isdisjoint(_pole_words(pin.pin))

    def is_link(self, wire: Wire) -> bool:
        """True for a wire between the poles of batteries: neither a feed nor a return."""
        return wire.start.point in self.batteries and wire.finish.point in self.batteries

    def is_plus(self, pin: Pin) -> bool:
        """True for a pin whose name has a plus pole in it, on the point or the pin."""
        return not _PLUS.isdisjoint(_pole_words(f"{pin.point} {pin.pin}"))

    def is_minus(self, pin: Pin) -> bool:
        """True for a pin whose name has a minus pole in it."""
        return not _MINUS.isdisjoint(_pole_words(f"{pin.point} {pin.pin}"))

    def component(self, point: str) -> Component:
        """The component at a point."""
        return self.book.component(point)

    def passes(self, point: str) -> Passes:
        """The component's `passes` read against the pins used on Circuits."""
        if point not in self._passes:
            self._passes[point] = read_passes(
                self.component(point).passes, self.pins.get(point, ())
            )
        return self._passes[point]

    def passing(self, point: str) -> str:
        """How a component passes current: `none`, `pin to pin`, `all`, `load` or `named`."""
        component = self.book.components.get(point)
        if component is None:
            return NOTHING_PASSES if point in self._give else "all"
        known = self._passing.get(point)
        if known is None:
            known = self._passing[point] = self._how_it_passes(component)
        return known

    def _how_it_passes(self, component: Component) -> str:
        if component.name in self._give:
            return NOTHING_PASSES
        rule = " ".join(component.passes.casefold().split())
        if rule == NOTHING_PASSES:
            return NOTHING_PASSES
        if rule:
            return PIN_TO_PIN if rule == PIN_TO_PIN else "named"
        return "load" if component.load is not None else "all"

    def is_own(self, port: Pin) -> bool:
        """True where a wire ends at the component's own load, not at a pin that passes on."""
        component = self.book.components.get(port.point)
        if component is None or component.load is None or port.point in self.sources:
            return False
        how = self.passing(port.point)
        return (
            how == "load"
            or how == NOTHING_PASSES
            or (how == "named" and port.pin not in self.passes(port.point).named)
        )

    def is_one(self, point: str) -> bool:
        """True where all pins of a component are one port (a word on it tells them apart)."""
        component = self.book.components.get(point)
        if component is None:
            return point not in self._give
        return self.passing(point) == "all" and component.one_of is None

    def port(self, pin: Pin) -> Pin:
        """The port of a pin; all pins of a component that joins them are one port."""
        known = self._ports.get(pin)
        if known is None:
            return Pin(pin.point) if pin.pin and self.is_one(pin.point) else pin
        return known

    def wires_from(self, port: Pin) -> Sequence[Wire]:
        """The wires that start at a port."""
        return self._wires_from.get(port, ())

    def wires_to(self, port: Pin) -> Sequence[Wire]:
        """The wires that arrive at a port."""
        return self._wires_to.get(port, ())

    def shares(self, port: Pin) -> bool:
        """True where the wires of a port share its terminal or joint; bare ends share nothing."""
        return bool(port.pin) or self.is_one(port.point)

    def beyond(self, port: Pin) -> tuple[list[Wire], list[Wire]]:
        """The wires that a wire ending at this port goes on in: at its joint, and passed on to."""
        known = self._beyond.get(port)
        if known is None:
            looped = [*self.wires_from(port)] if self.shares(port) else []
            through = [wire for other in self.onward(port) for wire in self.wires_from(other)]
            known = self._beyond[port] = (looped, through)
        return known

    def behind(self, port: Pin) -> list[Wire]:
        """The wires that come to a wire starting at this port: at its joint, or passed on to it."""
        known = self._behind.get(port)
        if known is None:
            known = [*self.wires_to(port)] if self.shares(port) else []
            known += [wire for other in self.back(port) for wire in self.wires_to(other)]
            self._behind[port] = known
        return known

    def onward(self, port: Pin) -> tuple[Pin, ...]:
        """The other ports that current arriving at `port` passes to through the component."""
        how = self.passing(port.point)
        if how == "all" and self.component(port.point).one_of is not None:
            others = self.pins[port.point].values()
            return tuple(pin for pin in others if not pin.pin or pin.pin != port.pin)
        if how == "named":
            targets = self.passes(port.point).to.get(port.pin, frozenset())
            return tuple(p for name, p in self.pins[port.point].items() if name in targets)
        return ()

    def back(self, port: Pin) -> tuple[Pin, ...]:
        """The other ports that pass to `port` through the component."""
        by_pin = self._back.get(port.point)
        if by_pin is None:
            found: dict[str, list[Pin]] = {}
            for pin in self.pins.get(port.point, {}).values():
                for target in self.onward(pin):
                    found.setdefault(target.pin, []).append(pin)
            by_pin = self._back[port.point] = {pin: tuple(ps) for pin, ps in found.items()}
        return by_pin.get(port.pin, ())
