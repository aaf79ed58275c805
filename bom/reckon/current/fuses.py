"""What each fuse carries, and which fuses it feeds."""

from bom.reckon.current.reckoner import Reckoner
from bom.trade.job_book import NO_FUSE, Wire
from bom.trade.one_of import Loads, merged
from bom.trade.point_names import is_fuse
from bom.trade.wires import FuseLoad


def fuse_loads(reckoner: Reckoner) -> tuple[FuseLoad, ...]:
    """Every fuse named, with what its first wires carry and the charging current through it."""
    behind: dict[str, list[Wire]] = {}
    for wire in reckoner.net.book.wires:
        name = wire.fuse if wire.label in reckoner.returns else reckoner.fuse_of(wire)
        if name and name != NO_FUSE:
            behind.setdefault(name, []).append(wire)
    fed = _fed(reckoner)
    holders = _holders(behind)
    return tuple(
        _fuse_load(reckoner, name, wires, fed.get(name, {}), holders)
        for name, wires in behind.items()
    )


def _fuse_load(
    reckoner: Reckoner,
    name: str,
    wires: list[Wire],
    fed: dict[str, None],
    holders: dict[str, str],
) -> FuseLoad:
    labels = {wire.label for wire in wires}
    first = [w for w in wires if not _is_fed(reckoner, w, labels)] or wires
    loads = merged(reckoner.carried(w) for w in first)
    through = merged([loads, *_into(reckoner, name, holders)])
    return FuseLoad(
        name=name,
        fed_amps=reckoner.items.largest(through, charging=False),
        charging_amps=reckoner.items.largest(through, charging=True),
        feeds=tuple(fed),
        loads=through.every,
        wires=tuple(dict.fromkeys(wire.label for wire in (*first, *wires))),
    )


def _is_fed(reckoner: Reckoner, wire: Wire, labels: set[str]) -> bool:
    """True where a wire behind the same fuse feeds this one; what charges feeds no load."""
    onward = wire.label in reckoner.only_charging
    return any(
        feeder.label in labels and (onward or not reckoner.items.charging(feeder))
        for feeder in reckoner.feeders(wire)
    )


def _holders(behind: dict[str, list[Wire]]) -> dict[str, str]:
    """The fuse by the point that holds it alone: a name with `fuse` where one fuse begins."""
    names: dict[str, set[str]] = {}
    for name, wires in behind.items():
        for wire in wires:
            if wire.fuse == name and is_fuse(wire.start.point):
                names.setdefault(wire.start.point, set()).add(name)
    return {point: found.pop() for point, found in names.items() if len(found) == 1}


def _into(reckoner: Reckoner, name: str, holders: dict[str, str]) -> list[Loads]:
    """The charging currents of wires that end at the fuse itself, on the side of its loads."""
    ends = {label: reckoner.wire[label].finish for label in reckoner.charging}
    return [
        reckoner.charging[label]
        for label, pin in ends.items()
        if label in reckoner.typed_feeds
        and holders.get(pin.point) == name
        and not (pin.pin and len(reckoner.net.arriving[pin]) > 1)
    ]


def _fed(reckoner: Reckoner) -> dict[str, dict[str, None]]:
    """For each fuse the fuses whose wires it feeds; a charging wire feeds none."""
    fed: dict[str, dict[str, None]] = {}
    for wire in reckoner.net.book.wires:
        if wire.fuse in (None, NO_FUSE) or wire.label in reckoner.returns:
            continue
        for feeder in reckoner.feeders(wire):
            name = reckoner.fuse_of(feeder)
            if name and name not in (NO_FUSE, wire.fuse) and not reckoner.items.charging(feeder):
                fed.setdefault(name, {})[str(wire.fuse)] = None
    return fed
