"""The way of each load, wire by wire from the supply to it and back: for finding faults."""

from bom.show.page.ids import PageIds
from bom.show.paper import Shown
from bom.trade.wires import Supply

MOST_WIRES = 20_000
"""So many lines of ways: of a job with more they are left out, `bom why` has each."""
_CHARGING = "charging"
"""The way of a charging current: it leads to no load."""


def shown_ways(ids: PageIds) -> list[Shown]:
    """Each load with the component that it is, the wires there and back, and what they run in."""
    supplies = [one for one in ids.job.supplies if one.kind != _CHARGING]
    wires = {wire.wire.label: wire for wire in ids.job.wires}
    if sum(len(one.wires) for one in supplies) > MOST_WIRES:
        return []
    return [
        {
            "id": f"l{number}",
            "load": one.load,
            "of": _component(ids, one),
            "circuit": wires[one.feed.wire].wire.circuit if one.feed else "",
            "wires": list(one.wires),
            "marks": " ".join(
                dict.fromkeys(
                    ids.branch(each) for label in one.wires for each in ids.way(wires[label])
                )
            ),
        }
        for number, one in enumerate(supplies, 1)
    ]


def _component(ids: PageIds, supply: Supply) -> str:
    """Of two loads of one component each bears the wire behind its name: `tail lamp (B10)`."""
    whole = supply.load
    return whole if whole in ids.sits else whole.rpartition(" (")[0]
