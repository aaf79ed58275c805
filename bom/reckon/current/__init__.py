"""Currents and fuses: what each wire leads to, what it carries, what protects it.

Loads are thought of in sets, each once however often it is reached, so that rings, two
ways to one lamp and parallel earths need no special case.  A load keeps the words
(`one of`) of every way to it, and a current is the largest sum over all settings of the
words.  All sums are exact fractions.
"""

from collections.abc import Sequence
from fractions import Fraction

from bom.reckon.current.fuses import fuse_loads
from bom.reckon.current.items import Items
from bom.reckon.current.parallel import shares
from bom.reckon.current.reckoner import Reckoner
from bom.reckon.net import Net
from bom.trade.catalogue import Catalogue
from bom.trade.house import HouseRules
from bom.trade.wires import Currents, LoadedWire, MeasuredWire

__all__ = ["reckon"]


def reckon(
    net: Net, measured: Sequence[MeasuredWire], rules: HouseRules, catalogue: Catalogue
) -> Currents:
    """Work out the current of every wire, exact, in amps at the machine's voltage.

    A wire that leads to no load is a return and has no fuse.  Nothing either way: 0 A.
    """
    items = Items(net, Fraction(rules.volts), catalogue)
    reckoner = Reckoner(net, measured, items)
    share = shares(reckoner, measured, catalogue)
    return Currents(
        wires=tuple(_loaded(reckoner, entry, share) for entry in measured),
        fuses=fuse_loads(reckoner),
        names=tuple(item.name for item in items.all),
        amps={item.name: item.amps for item in items.all},
        typed={label: items.all[number].name for label, number in items.of_wire.items()},
        runs={item.name: item.runs for item in items.all},
        kinds={item.name: item.kind for item in items.all},
        roads=reckoner.roads,
        worded={items.all[n].name: ways for n, ways in reckoner.ways_to.worded.items()},
    )


def _loaded(reckoner: Reckoner, entry: MeasuredWire, share: dict[str, Fraction]) -> LoadedWire:
    """One wire with its current, its fuse and its loads; amps of one of `qty`."""
    wire = entry.wire
    loads = reckoner.carried(wire)
    amps, heat_amps, starter_amps = reckoner.items.sums(loads)
    part = share.get(wire.label)
    if part is not None:
        amps, heat_amps, starter_amps = amps * part, heat_amps * float(part), starter_amps * part
    label = wire.label
    return LoadedWire(
        wire=wire,
        measured=entry,
        amps=amps,
        heat_amps=heat_amps,
        starter_amps=starter_amps,
        is_return=label in reckoner.returns,
        is_link=label in reckoner.links,
        charges=label in reckoner.charging,
        fuse=None if label in reckoner.returns else reckoner.fuse_of(wire),
        loads=loads.every,
    )
