"""What `bom colours` answers as JSON."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from bom.show.job_json import money, problems_out
from bom.trade.problem import Problem
from bom.workshop.colour_reasons import Exceptional, Given, Reasons


def colours_out(found: Reasons | None, problems: Iterable[Problem]) -> dict[str, Any]:
    """The problems alone where the job has errors; no `buy` where no wire wants a colour."""
    told = {"problems": problems_out(problems)}
    if found is None:
        return {"wires": [], "exceptions": [], **told}
    return {
        "wires": [_wire(one) for one in found.given],
        "buy": _buy(found),
        "exceptions": [_exception(one) for one in found.exceptions],
        **told,
    }


def _wire(one: Given) -> dict[str, Any]:
    wire = one.entry.wire
    return {
        "wire": wire.label,
        "circuit": wire.circuit,
        "gauge": one.entry.cable.gauge,
        "was": str(one.was) if one.was else None,
        "colour": str(one.colour),
        "why": one.why,
        "pieces": [name or None for name in one.shelf],
    }


def _buy(found: Reasons) -> dict[str, Any]:
    """By length, without postage; `at_least` is for the same with what a line is worth."""
    levels = found.answer.levels
    priced = found.question.priced
    least = Decimal(str(levels["cost"].bound)) - Decimal(str(levels["cost"].value)) + found.money
    return {
        "lines": [
            {"gauge": gauge, "colour": str(colour), "mm": mm}
            for (gauge, colour), mm in sorted(found.bought_mm.items())
        ],
        "shelf_mm": found.shelf_mm,
        "cost": money(found.money) if priced and not found.unsold else None,
        "so_far": money(found.money) if priced and found.unsold else None,
        "unsold": found.unsold,
        "at_least": money(max(least, Decimal())) if priced else None,
        "proved": found.answer.proved,
    }


def _exception(one: Exceptional) -> dict[str, Any]:
    return {
        "circuit": one.circuit,
        "usual": str(one.usual),
        "colour": str(one.colour),
        "why": one.why or None,
        "costs_more": money(one.costs) if one.costs > 0 else None,
    }
