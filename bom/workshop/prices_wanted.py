"""What of some jobs has no price, as a list to ask suppliers with."""

from collections.abc import Iterable
from decimal import Decimal

from msgspec.structs import replace

from bom.estimate import Bought
from bom.trade.needs import LineKey, Short
from bom.trade.quotes import Quote


def prices_wanted(each: Iterable[tuple[Bought, Quote | None]]) -> tuple[Short, ...]:
    """What has no price, once each, with what all the jobs need of it.

    That it lies on the shelf does not help: what it cost stands nowhere.
    """
    found: dict[LineKey, Short] = {}
    for bought, estimate in each:
        (job,) = bought.jobs
        lines = estimate.lines if estimate else ()
        without = {(line.item, line.unit) for line in lines if line.cost is None}
        for need in job.takeoff.needs if job.takeoff else ():
            if (need.item, need.unit) not in without:
                continue
            known = found.get(need.line_key) or Short(
                kind=need.kind,
                item=need.item,
                gauge=need.gauge,
                colour=need.colour,
                quantity=Decimal(),
                unit=need.unit,
                jobs=(),
            )
            found[need.line_key] = replace(
                known,
                quantity=known.quantity + need.quantity,
                jobs=tuple(dict.fromkeys((*known.jobs, job.name))),
            )
    return tuple(found.values())
