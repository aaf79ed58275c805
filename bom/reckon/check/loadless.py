"""What has no load that is known: told once for each component, with all that hangs on it.

A wire of 0 A belongs to the component at the end of its way, over switches and splices; an earth
to the component that it leads back from.
"""

from collections.abc import Callable, Iterator, Sequence

from msgspec import Struct

from bom.reckon.check.findings import Findings
from bom.reckon.check.slips import slipped_points, slips
from bom.reckon.net import PIN_TO_PIN
from bom.reckon.strands import JOINS
from bom.trade.job_book import UNREAD, Component, Pin, Wire
from bom.trade.point_names import is_earth
from bom.trade.problem import Problem, Where, caution, counted, error, listed

_SWITCHES = frozenset(
    (
        "switch",
        "button",
        "key",
        "kill",
        "flasher",
        "points",
        "breaker",
        "dimmer",
        "diode",
        "lock",
        "fusebox",
    )
)
_COILS = frozenset(("relay", "solenoid"))
"""Words of things that a current goes through on its way to a load; a coil may be one itself."""
_LOADS = frozenset(("lamp", "light", "horn", "motor", "pump", "coil", "valve", "heater"))
"""Last words of a name that is a load's, whatever stands before: `brake switch lamp`."""
_NAMED_AT_THE_MOST = 6
"""More wires than these are told by their number."""


class Loadless(Struct, frozen=True):
    """A point without a load that is known: its wires of 0 A, and fuses without a rating."""

    point: str
    wires: tuple[Wire, ...]
    fuses: tuple[str, ...]

    @property
    def hangs(self) -> str:
        """What is sized for nothing because of it; empty where every gauge and rating is typed."""
        blank = [wire.label for wire in self.wires if wire.gauge is None]
        fuses = _named("fuse", self.fuses)
        if not blank:
            return f"no rating can be chosen for {fuses}"
        things = " and ".join(filter(None, (_named("wire", blank), fuses)))
        return f"{things} {'are' if len(blank) + len(self.fuses) > 1 else 'is'} sized for nothing"

    @property
    def matters(self) -> bool:
        """False where nothing had to be chosen."""
        return bool(self.fuses) or any(wire.gauge is None for wire in self.wires)


def _named(word: str, names: Sequence[str]) -> str:
    """`wires 1, 2 and 3`, or how many there are."""
    if len(names) > _NAMED_AT_THE_MOST:
        return counted(len(names), word)
    return f"{word}{'s' * (len(names) > 1)} {listed(names)}" if names else ""


def loadless(findings: Findings) -> tuple[Loadless, ...]:
    """Every point without a load that is known, in the order of the wires; each wire once."""
    if findings.unread:
        return ()
    seeker = _OwnerSeeker(findings)
    points: dict[str, tuple[list[Wire], list[str]]] = {}
    owner = {}
    for wire in seeker.wires.values():
        owner[wire.label] = seeker.owner(wire)
        points.setdefault(owner[wire.label], ([], []))[0].append(wire)
    first = {load.name: load.wires[0] for load in findings.fuse_loads}
    for fuse in findings.sized.fuses:
        label = first.get(fuse.name)
        if label in owner and not (fuse.typed or fuse.load_amps):
            points[owner[label]][1].append(fuse.name)
    return tuple(Loadless(point, tuple(ws), tuple(names)) for point, (ws, names) in points.items())


class _OwnerSeeker:
    """Looks from wires of 0 A for the component that they are there for."""

    def __init__(self, findings: Findings) -> None:
        self.findings, self.net = findings, findings.net
        self.slipped = slipped_points(findings)
        lost = {wire.label for wire in findings.past_their_load}
        self.wires = {
            entry.wire.label: entry.wire
            for entry in findings.sized.wires
            if not (entry.loaded.amps or entry.loaded.is_link or entry.wire.label in lost)
        }
        self._ahead: dict[Callable[[Pin], bool], dict[str, dict[str, None]]] = {}

    def owner(self, wire: Wire) -> str:
        """The point that a wire is there for; of several the first in the order of the wires.

        A slip of the pen on its way is why it has no load.
        """
        if wire.finish.point in self.slipped:
            return wire.finish.point
        if self.findings.should_charge(wire):
            given = wire.finish.point
            return given if self._gives_nothing(given) else wire.start.point
        for is_meant in (self._is_load, self._is_coil, self._is_thing):
            points = self._points_ahead(wire, is_meant) or self._points_behind(wire, is_meant)
            if points:
                return next(iter(points))
        return wire.finish.point

    def _gives_nothing(self, point: str) -> bool:
        """True for a regulator of which nobody says what it gives."""
        starting = [
            w for pin in self.net.pins[point].values() for w in self.net.starting.get(pin, ())
        ]
        return any(w.label in self.wires and self.findings.should_charge(w) for w in starting)

    # ------------------------------------------------------------------- what a point may be

    def _is_thing(self, port: Pin) -> bool:
        return port.point not in self.net.sources and not is_earth(Pin(port.point))

    def _is_coil(self, port: Pin) -> bool:
        return self._is_thing(port) and not _only_leads_on(port.point, JOINS | _SWITCHES)

    def _is_load(self, port: Pin) -> bool:
        """True for what may be a load: nothing that only joins, switches or passes on."""
        net, load = self.net, self.net.component(port.point).load
        if not self._is_coil(port) or (load is not None and load.amount):
            return False
        if self.findings.catalogue.kind_of(port.point) == "charging":
            return False
        how = net.passing(port.point)
        if how == "all":
            return not _only_leads_on(port.point, _COILS)
        return how != PIN_TO_PIN and (
            how != "named" or port.pin not in net.passes(port.point).named
        )

    # ---------------------------------------------------------------------- both directions

    def _onward(self, wire: Wire) -> list[Wire]:
        """The wires of 0 A that a wire goes on in.

        Where it should feed a load, what is taken for the load's earth may be its feed fed on.
        """
        if not self._is_thing(wire.finish):
            return []
        port = self.net.finish[wire.label]
        looped, through = self.net.beyond(port)
        own = self.net.is_own(port)
        return [
            each
            for each in (*looped, *through)
            if each.label in self.wires or (own and self.findings.is_return(each))
        ]

    def _points_ahead(self, wire: Wire, is_meant: Callable[[Pin], bool]) -> dict[str, None]:
        """The last points of a kind on every way from a wire on."""
        known = self._ahead.setdefault(is_meant, {})
        waiting, begun = [wire], set()
        while waiting:
            each = waiting[-1]
            onward = self._onward(each)
            further = [w for w in onward if w.label not in known and w.label not in begun]
            if each.label not in begun and further:
                begun.add(each.label)
                waiting += further
                continue
            waiting.pop()
            known[each.label] = self._last_points(
                each, [known.get(w.label, {}) for w in onward], is_meant
            )
        return known[wire.label]

    def _last_points(
        self, wire: Wire, onward: list[dict[str, None]], is_meant: Callable[[Pin], bool]
    ) -> dict[str, None]:
        found = {point: None for points in onward for point in points}
        here = self.net.finish[wire.label]
        if is_meant(here) and not all(onward):
            return {here.point: None, **found}
        return {here.point: None} if not onward and is_meant(here) else found

    def _points_behind(self, wire: Wire, is_meant: Callable[[Pin], bool]) -> dict[str, None]:
        """The nearest points of a kind on every way that leads to a wire."""
        found: dict[str, None] = {}
        waiting, seen = [wire], {wire.label}
        for each in waiting:
            port = self.net.start[each.label]
            if is_meant(port):
                found[port.point] = None
            elif port.point not in self.net.sources:
                behind = [w for w in self.net.behind(port) if w.label in self.wires]
                waiting += [w for w in behind if w.label not in seen]
                seen.update(w.label for w in behind)
        return found


def _only_leads_on(point: str, words: frozenset[str]) -> bool:
    """True for a point with one of some words in its name, unless it ends in that of a load."""
    named = point.casefold().split()
    return not words.isdisjoint(named) and named[-1] not in _LOADS


# ------------------------------------------------------------------------------- what is told


def slips_of_the_pen(findings: Findings) -> Iterator[Problem]:
    """Slips in pins and names: errors where a gauge or a fuse would be wrong because of them."""
    unrated = {found.point for found in loadless(findings) if found.fuses}
    for slip in slips(findings):
        where, says, cure, alike = slip.where, slip.says, slip.cure, slip.alike
        dies = slip.is_sure or not unrated.isdisjoint(slip.points)
        yield (error if dies else caution)(where, says, cure, alike=alike, cause=True)


def missing_loads(findings: Findings) -> Iterator[Problem]:
    """A component of which nobody says what it takes or gives, told once for its whole way."""
    told = {point for point, *_ in _noughts(findings)} | slipped_points(findings)
    for found in loadless(findings):
        if found.matters and found.point not in told:
            yield _missing(findings, found)


def _missing(findings: Findings, found: Loadless) -> Problem:
    says, alike = f"no load is known for {found.point}", "components without a load"
    cure = "its watts or amps"
    where = _load_cell(findings, found)
    from_it = (wire for wire in found.wires if wire.start.point == found.point)
    gives = next(filter(findings.should_charge, from_it), None)
    typed = _typed_beside(findings, found)
    if typed is not None:
        says, alike = (
            f"the load of {found.point} is typed for wire {typed.label} alone",
            "loads typed for one of several feeds",
        )
        cure = (
            f"its load on Components in place of wire {typed.label}, or one for each of its wires"
        )
        where = typed.row.where("load")
    elif gives is not None:
        says, alike = f"nobody says what {found.point} gives", "chargers whose current is not said"
        cure, where = f"what {found.point} gives, in A", gives.row.where("load")
    elif _only_leads_on(found.point, JOINS | _SWITCHES):
        says, alike = f"no load is known behind {found.point}", "points that lead to no load"
        cure = "a wire on to the load, or the load here"
    if not found.fuses:
        cure += ", or a gauge for each wire"
    return (error if found.fuses else caution)(where, f"{says}: {found.hangs}", cure, alike=alike)


def _typed_beside(findings: Findings, found: Loadless) -> Wire | None:
    """A wire with a load typed that ends where others of 0 A end too."""
    labels = {wire.label for wire in found.wires}
    pins = findings.net.pins.get(found.point, {}).values()
    ending = [wire for pin in pins for wire in findings.net.arriving.get(pin, ())]
    dead = [wire for wire in ending if wire.label in labels and not is_earth(wire.finish)]
    typed = (wire for wire in ending if wire.load is not None and wire.label not in labels)
    return next(typed, None) if dead else None


def _load_cell(findings: Findings, found: Loadless) -> Where:
    """Where the load belongs: with the component, else with the first wire that ends there."""
    row = findings.net.component(found.point).row
    charges = findings.catalogue.kind_of(found.point) == "charging"  # its row's would be a lamp's
    if row is not None and not charges:
        return row.where("load")
    ending = (wire for wire in found.wires if wire.finish.point == found.point)
    return next(ending, found.wires[0]).row.where("load")


def loads_of_nothing(findings: Findings) -> Iterator[Problem]:
    """A load of 0 W or 0 A: a blank cell asks for it, a nought does not."""
    hanging = {found.point: found for found in loadless(findings) if found.matters}
    for point, name, nought, where in _noughts(findings):
        found = hanging.pop(point, None)
        things = found.hangs if found else "its wires are sized for nothing"
        says, cure = (
            f"the load of {name} is {nought}: {things}",
            "its watts or amps, or a blank cell",
        )
        dies = found is not None and found.fuses
        yield (error if dies else caution)(where, says, cure, alike="loads of nothing")


def _noughts(findings: Findings) -> Iterator[tuple[str, str, str, Where]]:
    """Every load of 0: its point, whose it is, how it is typed, and its cell."""
    owners: list[Component | Wire] = [*findings.book.components.values(), *findings.book.wires]
    for owner in owners:
        load, row = owner.load, owner.row
        if load is not None and not load.amount and load is not UNREAD and row is not None:
            point = owner.finish.point if isinstance(owner, Wire) else owner.name
            name = f"wire {owner.label}" if isinstance(owner, Wire) else owner.name
            yield point, name, f"0 {load.unit}", row.where("load")
