"""What each wire leads to and what comes back in it, as sets of loads."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property

from msgspec.structs import replace

from bom.reckon.current.charging import roads_to_the_battery
from bom.reckon.current.items import Items
from bom.reckon.net import NOTHING_PASSES, PIN_TO_PIN, Net
from bom.reckon.settle import after_needs, settle
from bom.trade.job_book import NO_FUSE, Pin, Wire
from bom.trade.one_of import NOTHING, Loads, as_bits, merged, numbers, under
from bom.trade.point_names import is_earth, is_fuse
from bom.trade.wires import STARTER, MeasuredWire

UNKNOWN = ""
"""A fuse not worked out yet (it stays so in a ring that nothing feeds)."""
DISAGREE = "\0"
"""The feeds do not agree, or one of them has no fuse."""
Fed = Pin | str
"""Where something is fed on: a port, or, by its label, a wire whose own load is fed on from."""


class Reckoner:
    """The loads in every wire of a job; `returns`, `links` and `charging` are labels of wires."""

    def __init__(self, net: Net, measured: Sequence[MeasuredWire], items: Items) -> None:
        self.net = net
        self.items = items
        wires = net.book.wires
        ports: list[Fed] = [*net.ports]
        self.wire = {wire.label: wire for wire in wires}
        self.links = {w.label for w in wires if net.is_link(w)}
        self.typed_feeds = {w.label: self._typed_load(w) for w in wires if self._is_typed_feed(w)}
        self.own: frozenset[str] = frozenset()
        """Wires whose typed load is that of the component they end at, not all beyond it."""
        self.looped: dict[str, list[Wire]] = {}
        """Of those, the ones from whose end something is fed on."""
        order = after_needs(ports, self._needs_ahead)
        self.ahead: dict[Fed, Loads] = settle(order, self._ahead_of, NOTHING)
        self.returns = {w.label for w in wires if not self._leads(w, self.ahead)} - self.links
        self.own = frozenset(filter(self._is_own_typed, self.typed_feeds))
        self.looped = {label: on for label in self.own if (on := self._looped_on(label))}
        if self.looped:
            order = after_needs(ports, self._needs_ahead)
            self.ahead = settle(order, self._ahead_of, NOTHING)
        self.only_charging: set[str] = set()
        """Wires between a charging wire and the battery that feed nothing."""
        self.charging = self._charge(measured)
        from_supply = after_needs(net.ports, self._needs_behind)
        self.fuse_at = settle(from_supply, self._fuse_behind, UNKNOWN)
        self.ways_to = self._ways_from_sources(order)
        self.behind = settle(from_supply, self._behind, 0)
        """What a return starting at a port carries: loads as bits, their words are in `ways_to`."""

    # ----------------------------------------------------- what a wire leads to

    def _typed_load(self, wire: Wire) -> Loads:
        return Loads(1 << self.items.of_wire[wire.label])

    def _is_typed_feed(self, wire: Wire) -> bool:
        """A typed load makes a feed, but at an earth it only says what the earth carries.

        A charging wire ends at the battery and is a feed all the same.
        """
        if wire.load is None:
            return False
        charging = self.items.charging(wire) and not self.net.is_earth_pin(wire.start)
        return charging or not is_earth(wire.finish)

    def _leads(self, wire: Wire, ahead: Mapping[Fed, Loads]) -> Loads:
        loads = self.typed_feeds.get(wire.label)
        if loads is None:
            if wire.load is not None:
                return NOTHING
            loads = ahead.get(self.net.finish[wire.label], NOTHING)
        elif wire.label in self.looped:
            loads = merged([loads, ahead.get(wire.label, NOTHING)])
        return under(loads, wire.one_of, f"wire {wire.label}") if wire.one_of else loads

    def _needs_ahead(self, place: Fed) -> Iterable[Fed]:
        looped, through = self._onward(place)
        wires = (*looped, *through)
        labels = (wire.label for wire in wires if wire.label in self.looped)
        return dict.fromkeys((*labels, *(self.net.finish[wire.label] for wire in wires)))

    def _onward(self, place: Fed) -> tuple[list[Wire], list[Wire]]:
        """The wires that what is fed at a place goes on in: at its joint, and passed on to."""
        return (self.looped[place], []) if isinstance(place, str) else self.net.beyond(place)

    def _ahead_of(self, port: Fed, ahead: Mapping[Fed, Loads]) -> Loads:
        """The loads that a wire ending at this port leads to."""
        if isinstance(port, str):
            return merged(self._leads(wire, ahead) for wire in self.looped[port])
        if port.point in self.net.sources:
            return NOTHING
        looped, through = self.net.beyond(port)
        onward = [self._leads(wire, ahead) for wire in looped]
        if self.net.is_own(port):
            return self._own_ahead(port, onward)
        if through:
            component = self.net.component(port.point)
            beyond = merged(self._leads(wire, ahead) for wire in through)
            onward.append(under(beyond, component.one_of, component.name))
        return merged(onward)

    def _own_ahead(self, port: Pin, onward: list[Loads]) -> Loads:
        if onward and not any(onward):
            return NOTHING  # earths chained from lamp to lamp
        typed = self._typed_at(port) if port.pin else NOTHING
        if typed:
            return merged([typed, *onward])
        component = self.net.component(port.point)
        own = Loads(1 << self.items.of_component[component.name])
        return merged([under(own, component.one_of, component.name), *onward])

    def _typed_at(self, port: Pin) -> Loads:
        arriving = (w for w in self.net.wires_to(port) if not self.items.charging(w))
        typed = (wire.label for wire in arriving if wire.label in self.typed_feeds)
        return Loads(as_bits(self.items.of_wire[label] for label in typed))

    def _is_own_typed(self, label: str) -> bool:
        """True where the component a typed feed ends at has a return of its own."""
        net = self.net
        if self.items.charging(self.wire[label]):
            return False  # a stud that it shares with a starter
        pin = self.wire[label].finish
        how = net.passing(pin.point)
        if how == PIN_TO_PIN or (how == "named" and pin.pin in net.passes(pin.point).named):
            return False
        if how == "load" or net.is_own(net.finish[label]):
            return True
        return pin.point in self._leads_back

    @cached_property
    def _leads_back(self) -> set[str]:
        """The points that a return starts at."""
        return {self.wire[label].start.point for label in self.returns}

    def _looped_on(self, label: str) -> list[Wire]:
        """The feeds that go on from the pin a wire ends at, none from that of another filament."""
        looped = self.net.beyond(self.net.finish[label])[0]
        pin = self.wire[label].finish
        feeds = [wire for wire in looped if wire.label not in self.returns]
        return [w for w in feeds if w.start == pin or w.start not in self._filaments]

    @cached_property
    def _filaments(self) -> dict[Pin, Wire]:
        """The one wire to each pin of a lamp that has several, with loads of their own typed."""
        pins: dict[str, dict[Pin, Wire]] = {}
        for label in self.own:
            wire = self.wire[label]
            if wire.finish.pin and self.net.arriving[wire.finish] == [wire]:
                pins.setdefault(wire.finish.point, {})[wire.finish] = wire
        several = (found for found in pins.values() if len(found) > 1)
        return {pin: wire for found in several for pin, wire in found.items()}

    # ------------------------------------------------------------------- charging

    def _charge(self, measured: Sequence[MeasuredWire]) -> dict[str, Loads]:
        """The charging currents in wires, those between a charging wire and the battery too."""
        wires = {w.label: w for w in self.net.book.wires if self.items.charging(w)}
        charging = {label: self._typed_load(wire) for label, wire in wires.items()}
        feeds = [wire for label, wire in wires.items() if label in self.typed_feeds]
        roads = roads_to_the_battery(self.net, feeds, measured, self.own)
        self.roads = {label: tuple(w.label for w, _ in road) for label, road in roads.items()}
        for label, road in roads.items():
            for wire, onward in road:
                if onward and wire.load is not None:  # typed once more: the same current
                    charging[wire.label] = self._typed_load(wire)
                    self._make_charging(wire)
                else:
                    found = charging.get(wire.label, NOTHING)
                    charging[wire.label] = merged([found, charging[label]])
                if onward and (wire.load is not None or wire.label in self.returns):
                    self.only_charging.add(wire.label)
                    self.returns.discard(wire.label)
        return charging

    def _make_charging(self, wire: Wire) -> None:
        items, number = self.items.all, self.items.of_wire[wire.label]
        items[number] = replace(items[number], kind="charging", runs=wire.runs or "always")

    # --------------------------------------------------------- where it comes from

    def _needs_behind(self, port: Pin) -> Iterable[Pin]:
        start = self.net.start
        return dict.fromkeys(start[wire.label] for wire in self.net.behind(port))

    def _ways_from_sources(self, order: tuple[Sequence[Fed], bool]) -> Loads:
        """The words on every way from a source to each load, also beyond a typed load."""
        hiding = self.typed_feeds.keys() - self.own
        ahead = self.ahead
        if any(ahead.get(self.net.finish[label]) for label in hiding):
            ahead = settle(order, self._ahead_through, NOTHING)
        return merged(
            loads
            for wire in self.net.book.wires
            if wire.label not in self.returns and next(self.feeders(wire), None) is None
            for loads in self._leads_through(wire, ahead)
        )

    def _leads_through(self, wire: Wire, ahead: Mapping[Fed, Loads]) -> list[Loads]:
        """What a wire leads to, where a typed load takes nothing away of what lies beyond."""
        loads = self._leads(wire, ahead)
        if wire.label not in self.typed_feeds or wire.label in self.own:
            return [loads]
        beyond = ahead.get(self.net.finish[wire.label], NOTHING)
        return [loads, under(beyond, wire.one_of, f"wire {wire.label}")]

    def _ahead_through(self, port: Fed, ahead: Mapping[Fed, Loads]) -> Loads:
        looped, through = self._onward(port)
        hidden = [w for w in (*looped, *through) if w.label in self.typed_feeds]
        if isinstance(port, str) or port.point in self.net.sources or not hidden:
            return self._ahead_of(port, ahead)
        component = self.net.component(port.point)
        beyond = [loads for wire in hidden for loads in self._leads_through(wire, ahead)]
        onward = [under(loads, component.one_of, component.name) for loads in beyond]
        return merged([self._ahead_of(port, ahead), *onward])

    def feeders(self, wire: Wire) -> Iterator[Wire]:
        """The feeds that come to where a wire starts, one by one: there may be thousands."""
        if wire.start.point in self.net.sources:
            return
        for other in self.net.behind(self.net.start[wire.label]):
            if other.label not in self.returns and other.label != wire.label:
                yield other

    def _behind(self, port: Pin, behind: Mapping[Pin, int]) -> int:
        """The loads that a return starting at this port carries, as bits."""
        if port.point in self.net.sources:
            return 0
        found = as_bits(self._loads_here(port))
        for wire in self.net.behind(port):
            if wire.label in self.returns:
                found |= self._carried_back(wire, behind)
        return found

    def _carried_back(self, wire: Wire, behind: Mapping[Pin, int]) -> int:
        if wire.load is not None:
            return self._typed_load(wire).always
        return behind.get(self.net.start[wire.label], 0)

    def _loads_here(self, port: Pin) -> list[int]:
        """The loads whose return may start at this port, as they are fed."""
        net, own = self.net, self.net.is_own(port)
        gives = self._gives.get(port.point)
        if gives and not own:
            return gives
        if own or net.passing(port.point) == NOTHING_PASSES:
            pins = net.pins.get(port.point, {}).values()
            ports = [pin for pin in pins if not own or net.is_own(pin)]
        else:
            ports = [port, *net.back(port)]
        feeds = [
            wire
            for other in dict.fromkeys(ports)
            for wire in net.wires_to(other)
            if wire.label not in self.returns and not (own and self.items.charging(wire))
        ]
        typed = [self.items.of_wire[wire.label] for wire in feeds if wire.load is not None]
        if not own:
            return [*typed, *self._own_beside(port, typed)]
        named_pins = {wire.finish for wire in feeds if wire.load is not None and wire.finish.pin}
        blank = [w for w in feeds if w.load is None and w.finish not in named_pins]
        if blank or not typed:
            return [self.items.of_component[port.point], *typed]
        return typed

    def _own_beside(self, port: Pin, known: Sequence[int]) -> Iterator[int]:
        """Loads typed for a component itself, whose earth starts at another pin of it."""
        net = self.net
        if net.passing(port.point) == "named" and port.pin not in net.passes(port.point).named:
            for pin in net.pins[port.point].values():
                for wire in net.arriving.get(pin, ()) if pin != port else ():
                    number = self.items.of_wire.get(wire.label)
                    if number is not None and wire.label in self.own and number not in known:
                        yield number

    @cached_property
    def _gives(self) -> dict[str, list[int]]:
        """The charging currents that start at each component: its earth carries them back."""
        found: dict[str, list[int]] = {}
        for wire in self.net.book.wires:
            if wire.label in self.typed_feeds and self.items.charging(wire):
                found.setdefault(wire.start.point, []).append(self.items.of_wire[wire.label])
        return found

    # ------------------------------------------------------------- what it carries

    def carried(self, wire: Wire) -> Loads:
        """The loads in this wire: those it leads to, or, for a return, those it comes from."""
        label = wire.label
        if label in self.links:
            return self._linked(wire)
        if label in self.returns:
            back = self._carried_back(wire, self.behind)
            if self._is_strap(wire):
                back |= self._through_the_frame
            return self._as_fed(back)
        charging = self.charging.get(label)
        loads = self._leads(wire, self.ahead)
        return loads if charging is None else merged([loads, charging])

    def _as_fed(self, loads: int) -> Loads:
        """Loads with the words on every way to them."""
        worded = {n: self.ways_to.worded[n] for n in numbers(loads & self._worded)}
        return Loads(loads & ~self._worded, worded)

    @cached_property
    def _worded(self) -> int:
        return as_bits(self.ways_to.worded)

    def _is_strap(self, wire: Wire) -> bool:
        """True for a wire from the frame or the engine to the battery."""
        net, start = self.net, wire.start
        if wire.load is not None or wire.finish.point not in net.batteries:
            return False
        return is_earth(start) or not any(map(net.arriving.get, net.pins[start.point].values()))

    @cached_property
    def _through_the_frame(self) -> int:
        """Starter motors that no wire leads on or back from: they earth through their mounting."""
        starts = {pin.point for pin in self.net.starting}
        mounted = [n for point, n in self.items.of_component.items() if point not in starts]
        ends = {label: self.wire[label].finish.point for label in self.typed_feeds}
        mounted += [self.items.of_wire[n] for n, point in ends.items() if point not in starts]
        starters = as_bits(n for n in mounted if self.items.all[n].kind == STARTER)
        return starters & self.ways_to.every

    def _linked(self, wire: Wire) -> Loads:
        """A link between batteries carries what one of them feeds, the one it ends at first."""
        for point in (wire.finish.point, wire.start.point):
            pins = self.net.pins.get(point, {}).values()
            fed = [w for pin in pins for w in self.net.starting.get(pin, ())]
            loads = merged(self._leads(w, self.ahead) for w in fed if w.label not in self.links)
            if loads:
                return loads
        return NOTHING

    # ---------------------------------------------------------------------- fuses

    def fuse_of(self, wire: Wire) -> str | None:
        """The name of the fuse a wire is behind, `none` on purpose, None where none is agreed."""
        name = wire.fuse if wire.label in self.links else self._fuse_name(wire, self.fuse_at)
        return None if name in (UNKNOWN, DISAGREE) else name

    def _fuse_name(self, wire: Wire, fuse_at: Mapping[Pin, str]) -> str:
        first = self._from_a_filament(wire)
        typed = first.fuse or self._fuse_of_pin.get(first.start)
        return typed or fuse_at.get(self.net.start[first.label], DISAGREE)

    def _from_a_filament(self, wire: Wire) -> Wire:
        """The wire with whose fuse it goes on from the pin of a filament; itself from elsewhere."""
        seen = set()
        while not wire.fuse and wire.start in self._filaments and wire.label not in seen:
            seen.add(wire.label)
            wire = self._filaments[wire.start]
        return wire

    @cached_property
    def _fuse_of_pin(self) -> dict[Pin, str]:
        """The fuse typed at a pin of a fuse or fuse box: all that starts there is behind it."""
        found: dict[Pin, set[str]] = {}
        for wire in self.net.book.wires:
            if wire.fuse and wire.start.pin and is_fuse(wire.start.point):
                found.setdefault(wire.start, set()).add(wire.fuse)
        return {pin: names.pop() for pin, names in found.items() if len(names) == 1}

    def _fuse_behind(self, port: Pin, fuse_at: Mapping[Pin, str]) -> str:
        """The fuse of the wires that feed this port, if they agree; a feed without one, none.

        A charging wire feeds nothing but the battery, so that it counts only where there is
        no other feed.
        """
        feeds = [w for w in self.net.behind(port) if w.label not in self.returns]
        feeds = [w for w in feeds if not self.items.charging(w)] or feeds
        if port.point in self.net.sources or not feeds:
            return DISAGREE
        names = {self._fuse_name(wire, fuse_at) for wire in feeds} - {UNKNOWN}
        if not names:
            return UNKNOWN
        return names.pop() if len(names) == 1 and names != {NO_FUSE} else DISAGREE
