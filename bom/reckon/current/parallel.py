"""Wires side by side: what of the current each of them carries."""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from fractions import Fraction

from bom.reckon.current.reckoner import Reckoner
from bom.trade.catalogue import Catalogue
from bom.trade.wires import MeasuredWire


def shares(
    reckoner: Reckoner, measured: Sequence[MeasuredWire], catalogue: Catalogue
) -> dict[str, Fraction]:
    """The part of its loads' current in one wire, by label, for those that are not alone.

    Between the same two ends the current divides as 1 / (resistance x length); equally where a
    gauge is blank.  A load typed on the row is what that row carries (each of its `qty`).
    """
    groups: dict[tuple[str, str], list[MeasuredWire]] = defaultdict(list)
    for entry in measured:
        wire = entry.wire
        if wire.load is None and wire.label not in reckoner.links:
            groups[wire.start.point, wire.finish.point].append(entry)
    found = {
        w.label: Fraction(1, w.qty)
        for w in reckoner.net.book.wires
        if w.load is not None and w.qty > 1
    }
    for group in groups.values():
        if len(group) > 1 or group[0].wire.qty > 1:
            for part in _alike(reckoner, group):
                found.update(_divided(part, catalogue))
    return found


def _alike(reckoner: Reckoner, group: Sequence[MeasuredWire]) -> list[list[MeasuredWire]]:
    """Those between two points that lie side by side.

    All carry the same loads and come together where they end (pins of a plug are apart); feeds
    have both pins, words and fuse in common.
    """
    net = reckoner.net
    parts: dict[Hashable, list[MeasuredWire]] = defaultdict(list)
    for entry in group:
        wire = entry.wire
        joined: Hashable = net.finish[wire.label]
        if wire.label not in reckoner.returns:
            joined = (wire.start, wire.finish, wire.one_of, reckoner.fuse_of(wire))
        elif wire.finish.point in net.sources:
            joined = wire.finish.point
        parts[joined, reckoner.carried(wire).every].append(entry)
    return list(parts.values())


def _divided(part: Sequence[MeasuredWire], catalogue: Catalogue) -> dict[str, Fraction]:
    weights = [Fraction(1)] * len(part)
    if all(entry.wire.gauge and entry.piece_mm for entry in part):
        ohms = (Fraction(str(catalogue.cables[str(e.wire.gauge)].ohm_per_km_20c)) for e in part)
        weights = [1 / (ohm * entry.piece_mm) for ohm, entry in zip(ohms, part, strict=True)]
    total = sum(w * entry.wire.qty for w, entry in zip(weights, part, strict=True))
    if total == 1:
        return {}
    return {entry.wire.label: w / total for w, entry in zip(weights, part, strict=True)}
