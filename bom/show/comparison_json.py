"""What `bom compare` answers as JSON: each part with `was`, `now`, `change` and its rows."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from bom.show.job_json import money, number, problems_out
from bom.trade.problem import Problem
from bom.trade.quotes import QuoteLine
from bom.trade.wires import ChosenFuse
from bom.workshop.comparison import Comparison, FuseChange, LineChange, WireChange, facts


def comparison_out(found: Comparison | None, problems: Iterable[Problem]) -> dict[str, Any]:
    """Where a side has errors, wires and fuses alone; nothing where it was not worked out so far.

    `wires` are summed in mm, `needs` as what they cost us, `costs` as the customer's price without
    tax.  Where something has no price a sum with it is null, and `so_far` is the price of what has
    one, with tax.  Of a wire `change` names the facts that differ.
    """
    told = {"problems": problems_out(problems)}
    if found is None:
        return told
    was, now = found.was, found.now
    wires, needs = map(_wire, found.wires), map(_need, found.needs)
    costs = ({"what": one.what, **_money(one.was, one.now)} for one in found.costs)
    hours = ({"task": one.item, **_hours(one)} for one in found.hours)
    return {
        "compared": {"was": was.called, "now": now.called},
        "wires": {**_numbers(was.length_mm, now.length_mm), "rows": [*wires]},
        "fuses": {"rows": [_fuse(one) for one in found.fuses]},
        "needs": {**_money(was.goods, now.goods), "rows": [*needs]},
        "costs": {**_money(was.net, now.net), "rows": [*costs]},
        "hours": {**_numbers(*found.all_hours), "rows": [*hours]},
        "total": _money(was.total, now.total),
        "so_far": _money(was.so_far, now.so_far),
        "complete": found.complete,
        **told,
    }


def _money(was: Decimal | None, now: Decimal | None) -> dict[str, Any]:
    change = None if was is None or now is None else now - was
    return {"was": money(was), "now": money(now), "change": money(change)}


def _numbers(was: Decimal | None, now: Decimal | None) -> dict[str, Any]:
    """What was not there is null, and none of it."""
    change = (now or Decimal()) - (was or Decimal())
    return {"was": number(was), "now": number(now), "change": number(change)}


def _wire(change: WireChange) -> dict[str, Any]:
    entry = change.now or change.was
    return {
        "wire": entry.wire.label if entry else "",
        "circuit": entry.wire.circuit if entry else "",
        "was": facts(change.was) if change.was else None,
        "now": facts(change.now) if change.now else None,
        "change": list(change.differs_in),
    }


def _fuse(change: FuseChange) -> dict[str, Any]:
    """Ratings in amps."""
    was, now = ((each and _fitted(each)) for each in (change.was, change.now))
    name = next(each.name for each in (change.now, change.was) if each)
    return {"fuse": name, "was": was, "now": now}


def _fitted(fuse: ChosenFuse) -> dict[str, Any]:
    return {
        "rating": number(Decimal(str(float(fuse.rating)))),
        "kind": fuse.kind,
        "holder": fuse.holder,
    }


def _need(change: LineChange) -> dict[str, Any]:
    """Quantities in its unit, lengths in mm; `cost` is that of all of it."""
    was, now = change.was, change.now
    amounts = _numbers(was.quantity if was else None, now.quantity if now else None)
    cost = _money(_cost(was), _cost(now))
    return {"item": change.item, "unit": change.unit, **amounts, "cost": cost}


def _cost(line: QuoteLine | None) -> Decimal | None:
    return line.cost if line else Decimal()


def _hours(change: LineChange) -> dict[str, Any]:
    was, now = change.was, change.now
    return _numbers(was.hours if was else None, now.hours if now else None)
