"""Currents and fuses: what each wire leads to, what it carries, what protects it.

Loads are thought of in sets, each once however often it is reached, so that rings, two
ways to one lamp and parallel earths need no special case.  A load keeps the words
(`one of`) of every way to it, and a current is the largest sum over all settings of the
words.  All sums are exact fractions.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import TypeVar

from msgspec import Struct

from bom.house import HouseRules
from bom.net import NOTHING_PASSES, Net, is_battery, is_earth
from bom.parts import Load
from bom.trade import NO_FUSE, Currents, FuseLoad, LoadedWire, MeasuredWire, Pin, Wire
from bom.words import ALWAYS, NOTHING, Loads, Ways, largest_sum, merged, under


class _Item(Struct, frozen=True):
    name: str
    amps: Fraction
    highest_amps: Fraction
    duty: str


def reckon(net: Net, measured: Sequence[MeasuredWire], rules: HouseRules) -> Currents:
    """Work out the current of every wire, exact, in amps at the machine's voltage.

    A wire that leads to no load is a return and has no fuse.  Nothing either way: 0 A.
    """
    reckoner = _Reckoner(net, Fraction(rules.volts))
    wires = tuple(reckoner.loaded(entry) for entry in measured)
    names = {item.name: item.amps for item in reckoner.items}
    typed = {label: reckoner.items[number].name for label, number in reckoner.of_wire.items()}
    ways = {item.name: reckoner.ways_to.get(n, ALWAYS) for n, item in enumerate(reckoner.items)}
    duty = {item.name: item.duty for item in reckoner.items}
    return Currents(wires, reckoner.fuse_loads(), names, typed, duty, ways)


State = TypeVar("State")


def _settle(
    ordered: tuple[Sequence[Pin], bool],
    work_out: Callable[[Pin, Mapping[Pin, State]], State],
    start: State,
) -> dict[Pin, State]:
    """The least states in which every key agrees with those it needs.

    `ordered` are the keys behind what they need, so that without rings one pass is enough;
    with rings passes go on until nothing changes.
    """
    order, ringed = ordered
    states = dict.fromkeys(order, start)
    changed = True
    while changed:
        changed = False
        for key in order:
            state = work_out(key, states)
            if state != states[key]:
                states[key] = state
                changed = ringed
    return states


def _after_needs(
    keys: Iterable[Pin], needs: Callable[[Pin], Iterable[Pin]]
) -> tuple[list[Pin], bool]:
    """The keys in an order in which each stands behind what it needs, and whether rings forbid."""
    order: dict[Pin, None] = {}
    under_way: set[Pin] = set()
    ringed = False
    for key in keys:
        stack = [key]
        while stack:
            current = stack[-1]
            if current in order or current in under_way:  # what it needs stands before it now
                order[stack.pop()] = None
                under_way.discard(current)
                continue
            under_way.add(current)
            for following in needs(current):
                if following in under_way:
                    ringed = True
                elif following not in order:
                    stack.append(following)
    return list(order), ringed


class _Reckoner:
    def __init__(self, net: Net, volts: Fraction) -> None:
        self.net = net
        self.volts = volts
        self.items: list[_Item] = []
        self.of_component: dict[str, int] = {}
        self.of_wire: dict[str, int] = {}
        self.typed_amps: dict[int, tuple[Fraction, Fraction]] = {}
        self._number_loads()
        self.typed_feeds: dict[str, Loads] = {
            w.label: {self.of_wire[w.label]: ALWAYS}
            for w in net.book.wires
            if self._is_typed_feed(w)
        }
        self.sums: dict[int, tuple[Loads, Fraction, Fraction]] = {}
        ports = net.ports
        self.ahead = _settle(_after_needs(ports, self._needs_ahead), self._ahead_of, NOTHING)
        self.returns = {w.label for w in net.book.wires if self._is_return(w)}
        from_supply = _after_needs(ports, self._needs_behind)
        self.fuse_at = _settle(from_supply, self._fuse_behind, _UNKNOWN)
        self.ways_to = self._ways_from_sources()
        self.behind = _settle(from_supply, self._behind, NOTHING)

    def _number_loads(self) -> None:
        for component in self.net.book.components.values():
            if component.load is not None:
                self.of_component[component.name] = len(self.items)
                amps = component.load.amps(self.volts)
                highest = component.load.highest_amps(self.volts)
                duty = component.load.duty
                self.items.append(_Item(component.name, amps, highest, duty))
        for wire in self.net.book.wires:
            if wire.load is not None:
                self.of_wire[wire.label] = len(self.items)
                amps, highest = self._typed_amps(wire.load)
                if wire.qty != 1:
                    amps, highest = amps * wire.qty, highest * wire.qty
                name = f"{wire.finish.point} ({wire.label})"
                self.items.append(_Item(name, amps, highest, wire.load.duty))

    def _typed_amps(self, load: Load) -> tuple[Fraction, Fraction]:
        """Rated and highest current of a load; one object stands in many rows."""
        known = self.typed_amps.get(id(load))
        if known is None:
            known = load.amps(self.volts), load.highest_amps(self.volts)
            self.typed_amps[id(load)] = known
        return known

    # ----------------------------------------------------- what a wire leads to

    def _is_typed_feed(self, wire: Wire) -> bool:
        """A typed load makes a feed, but at an earth it only says what the earth carries.

        A charging wire ends at the battery and is a feed all the same.
        """
        if wire.load is None:
            return False
        charging = self._charges(wire) and not self.net.is_earth_pin(wire.start)
        return charging or not is_earth(wire.finish)

    def _leads(self, wire: Wire, ahead: Mapping[Pin, Loads]) -> Loads:
        loads = self.typed_feeds.get(wire.label)
        if loads is None:
            if wire.load is not None:
                return NOTHING
            loads = ahead.get(self.net.finish[wire.label], NOTHING)
        return under(loads, wire.one_of, f"wire {wire.label}") if wire.one_of else loads

    def _needs_ahead(self, port: Pin) -> Iterable[Pin]:
        finish = self.net.finish
        looped, through = self.net.beyond(port)
        return dict.fromkeys(finish[wire.label] for wire in (*looped, *through))

    def _ahead_of(self, port: Pin, ahead: Mapping[Pin, Loads]) -> Loads:
        """The loads that a wire ending at this port leads to."""
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
            return typed
        component = self.net.component(port.point)
        own: Loads = {self.of_component[component.name]: ALWAYS}
        return merged([under(own, component.one_of, component.name), *onward])

    def _typed_at(self, port: Pin) -> Loads:
        arriving = self.net.wires_to(port)
        return {self.of_wire[w.label]: ALWAYS for w in arriving if w.label in self.typed_feeds}

    def _is_return(self, wire: Wire) -> bool:
        return not self._leads(wire, self.ahead)

    # --------------------------------------------------------- where it comes from

    def _needs_behind(self, port: Pin) -> Iterable[Pin]:
        start = self.net.start
        return dict.fromkeys(start[wire.label] for wire in self.net.behind(port))

    def _ways_from_sources(self) -> dict[int, Ways]:
        """The words on every way from a source to each load."""
        roots = (
            self._leads(wire, self.ahead)
            for wire in self.net.book.wires
            if wire.label not in self.returns and next(self._feeders(wire), None) is None
        )
        return dict(merged(roots))

    def _feeders(self, wire: Wire) -> Iterator[Wire]:
        """The feeds that come to where a wire starts, one by one: there may be thousands."""
        if wire.start.point in self.net.sources:
            return
        for other in self.net.behind(self.net.start[wire.label]):
            if other.label not in self.returns and other.label != wire.label:
                yield other

    def _behind(self, port: Pin, behind: Mapping[Pin, Loads]) -> Loads:
        """The loads that a return starting at this port carries."""
        if port.point in self.net.sources:
            return NOTHING
        found = [
            self._carried_back(wire, behind)
            for wire in self.net.behind(port)
            if wire.label in self.returns
        ]
        return merged([*found, dict.fromkeys(self._loads_here(port), ALWAYS)])

    def _carried_back(self, wire: Wire, behind: Mapping[Pin, Loads]) -> Loads:
        if wire.load is not None:
            return {self.of_wire[wire.label]: ALWAYS}
        return behind.get(self.net.start[wire.label], NOTHING)

    def _loads_here(self, port: Pin) -> list[int]:
        """The loads whose return may start at this port, as they are fed."""
        net, own = self.net, self.net.is_own(port)
        if own or net.passing(port.point) == NOTHING_PASSES:
            pins = net.pins.get(port.point, {}).values()
            ports = [pin for pin in pins if not own or net.is_own(pin)]
        else:
            ports = [port, *net.back(port)]
        feeds = [
            wire
            for other in dict.fromkeys(ports)
            for wire in net.wires_to(other)
            if wire.label not in self.returns
        ]
        typed = [self.of_wire[wire.label] for wire in feeds if wire.load is not None]
        if not own:
            return typed
        named_pins = {wire.finish for wire in feeds if wire.load is not None and wire.finish.pin}
        blank = [w for w in feeds if w.load is None and w.finish not in named_pins]
        if blank or not typed:
            return [self.of_component[port.point], *typed]
        return typed

    # ------------------------------------------------------------------- currents

    def loaded(self, measured: MeasuredWire) -> LoadedWire:
        """One wire with its current, its fuse and the names of its loads."""
        wire = measured.wire
        is_return = wire.label in self.returns
        loads = self.carried(wire)
        amps, highest = self._amps(loads)
        if wire.load is not None:
            amps, highest = self._typed_amps(wire.load)
        return LoadedWire(
            wire=wire,
            measured=measured,
            amps=amps,
            highest_amps=highest,
            is_return=is_return,
            fuse=None if is_return else self._fuse_of(wire),
            loads=tuple(self.items[number].name for number in loads),
        )

    def carried(self, wire: Wire) -> Loads:
        """The loads in this wire: those it leads to, or, for a return, those it comes from."""
        if wire.label not in self.returns:
            return self._leads(wire, self.ahead)
        back = self._carried_back(wire, self.behind)
        return {number: self.ways_to.get(number, ALWAYS) for number in back}

    def _amps(self, loads: Loads) -> tuple[Fraction, Fraction]:
        """Rated current of a set of loads, and the highest that a published test gives."""
        if len(loads) == 1:
            ((number, ways),) = loads.items()
            if ways == ALWAYS:
                return self.items[number].amps, self.items[number].highest_amps
        known = self.sums.get(id(loads))
        if known is None or known[0] is not loads:
            items = {number: self.items[number] for number in loads}
            amps = largest_sum({n: item.amps for n, item in items.items()}, loads)
            highest = amps
            if any(item.highest_amps > item.amps for item in items.values()):
                highest = largest_sum({n: i.highest_amps for n, i in items.items()}, loads)
            known = (loads, amps, highest)
            self.sums[id(loads)] = known
        return known[1], known[2]

    # ---------------------------------------------------------------------- fuses

    def _fuse_of(self, wire: Wire) -> str | None:
        name = self._fuse_name(wire, self.fuse_at)
        return None if name in (_UNKNOWN, _DISAGREE) else name

    def _fuse_name(self, wire: Wire, fuse_at: Mapping[Pin, str]) -> str:
        return wire.fuse or fuse_at.get(self.net.start[wire.label], _DISAGREE)

    def _fuse_behind(self, port: Pin, fuse_at: Mapping[Pin, str]) -> str:
        """The fuse of the wires that feed this port, if they agree; a feed without one, none."""
        feeds = [w for w in self.net.behind(port) if w.label not in self.returns]
        if port.point in self.net.sources or not feeds:
            return _DISAGREE
        names = {self._fuse_name(wire, fuse_at) for wire in feeds} - {_UNKNOWN}
        if not names:
            return _UNKNOWN
        return names.pop() if len(names) == 1 and names != {NO_FUSE} else _DISAGREE

    def fuse_loads(self) -> tuple[FuseLoad, ...]:
        """Every fuse named, with what its first wires carry."""
        behind: dict[str, list[Wire]] = {}
        for wire in self.net.book.wires:
            name = wire.fuse if wire.label in self.returns else self._fuse_of(wire)
            if name and name != NO_FUSE:
                behind.setdefault(name, []).append(wire)
        feeding = self._feeding_fuses()
        return tuple(self._fuse_load(name, wires, feeding) for name, wires in behind.items())

    def _fuse_load(self, name: str, wires: list[Wire], feeding: set[str]) -> FuseLoad:
        labels = {wire.label for wire in wires}
        first = [w for w in wires if not any(f.label in labels for f in self._feeders(w))]
        loads = merged(self.carried(w) for w in first or wires if not self._charges(w))
        return FuseLoad(
            name=name,
            amps=self._amps(loads)[0],
            feeds_fuses=name in feeding,
            wires=tuple(wire.label for wire in wires),
        )

    def _charges(self, wire: Wire) -> bool:
        start = wire.start.point
        return (
            wire.load is not None
            and self.net.passing(start) == NOTHING_PASSES
            and not is_battery(start)
        )

    def _feeding_fuses(self) -> set[str]:
        """The names of fuses that feed wires behind another fuse."""
        return {
            name
            for wire in self.net.book.wires
            if wire.fuse not in (None, NO_FUSE) and wire.label not in self.returns
            for feeder in self._feeders(wire)
            if (name := self._fuse_of(feeder)) and name not in (NO_FUSE, wire.fuse)
        }


_UNKNOWN = ""
"""A fuse not worked out yet (it stays so in a ring that nothing feeds)."""
_DISAGREE = "\0"
"""The feeds do not agree, or one of them has no fuse."""
