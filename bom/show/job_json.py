"""What each command answers as JSON: stable keys, whole mm, money as decimal strings."""

import json
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from bom.files.headings import TakenFor
from bom.trade.figures import round_money
from bom.trade.money import round_price
from bom.trade.needs import Cut, Short
from bom.trade.problem import Problem
from bom.trade.quotes import CameOut, Past, Quote, Range
from bom.trade.wires import SizedWire

if TYPE_CHECKING:
    from bom.estimate import Bought
    from bom.job import Job

_NOTHING = Decimal()
_NO_QUOTE = Quote(
    lines=(),
    materials=_NOTHING,
    labour=_NOTHING,
    net=_NOTHING,
    tax=_NOTHING,
    total=_NOTHING,
    complete=False,
    unpriced=(),
)


def as_json(answer: dict[str, Any]) -> str:
    """The text of an answer."""
    try:
        return msgspec.json.format(msgspec.json.encode(answer), indent=2).decode()
    except UnicodeEncodeError:  # a path whose bytes are no UTF-8
        return json.dumps(msgspec.to_builtins(answer), indent=2)


def money(value: Decimal | None) -> str | None:
    """Two decimals."""
    return None if value is None else str(round_money(value))


def unit_price(value: Decimal | None) -> str | None:
    """Two decimals or more: a price net of tax may have more than pence.

    >>> unit_price(Decimal("0.4")), unit_price(Decimal("0.4125"))
    ('0.40', '0.4125')
    """
    return None if value is None else str(round_price(value))


def number(value: Decimal | Fraction | float | None) -> int | float | None:
    """A whole number without a point."""
    if value is None:
        return None
    return int(value) if value == int(value) else float(value)


def problems_out(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Problems, each with its place."""
    return [
        {
            "level": problem.level,
            "file": problem.where.file,
            "sheet": problem.where.sheet,
            "cell": problem.where.cell,
            "says": problem.says,
            "try": problem.cure,
            "accepted": bool(problem.accepted),
        }
        for problem in problems
    ]


def check_out(job: "Job") -> dict[str, Any]:
    """`bom check`: problems, and every wire that could be sized."""
    wires = job.sized.wires if job.sized else ()
    return {
        "problems": problems_out(job.problems),
        "wires": [_wire_out(wire, float(job.rules.volts)) for wire in wires],
    }


def _wire_out(entry: SizedWire, volts: float) -> dict[str, Any]:
    """Amps and volts are those of one wire of its row."""
    return {
        "wire": entry.wire.label,
        "gauge": entry.cable.gauge,
        "amps": number(entry.loaded.amps),
        "rated_amps": number(entry.cable.rated_amps),
        "fuse": number(entry.fuse_amps),
        "drop_volts": round(entry.drop_volts, 6),
        "drop_percent": round(100 * entry.drop_volts / volts, 6),
    }


def columns_out(taken: Iterable[TakenFor], problems: Iterable[Problem]) -> dict[str, Any]:
    """`bom check --columns`: every heading, and what stands in the way of reading more."""
    columns = [
        {
            "sheet": heading.where.sheet,
            "cell": heading.where.cell,
            "heading": heading.heading,
            "column": heading.column,
            "unit": heading.unit,
            "known_by": heading.how,
        }
        for heading in taken
    ]
    return {"columns": columns, "problems": problems_out(problems)}


def takeoff_out(job: "Job") -> dict[str, Any]:
    """`bom takeoff`: the bill of materials."""
    needs = [
        {
            "kind": need.kind,
            "item": need.item,
            "gauge": need.gauge,
            "colour": str(need.colour or ""),
            "quantity": number(need.quantity),
            "unit": need.unit,
            "pieces_mm": [length for length, _ in need.pieces],
            "spare_mm": need.spare_mm,
            "for": list(need.wires),
        }
        for need in (job.takeoff.needs if job.takeoff else ())
    ]
    return {"job": job.name, "needs": needs, "problems": problems_out(job.problems)}


def cut_out(bought: "Bought") -> dict[str, Any]:
    """`bom cut`: every wire with its piece.

    `proved`: no cheaper purchase would do for these pieces.
    """
    wires = bought.wires
    short = bought.cut_list.short
    return {
        "cuts": [_cut_out(cut, wires[cut.job, cut.wire]) for cut in bought.cuts],
        "offcuts": [
            {
                "piece": offcut.piece,
                "gauge": offcut.gauge,
                "colour": str(offcut.colour),
                "length_mm": offcut.length_mm,
                "new": offcut.new,
            }
            for offcut in bought.cut_list.offcuts
        ],
        "short": [_short_out(missing) for missing in short],
        "proved": not short or bought.order.proved,
        "problems": problems_out(bought.problems),
    }


def _cut_out(cut: Cut, wire: SizedWire) -> dict[str, Any]:
    return {
        "wire": cut.wire,
        "gauge": cut.gauge,
        "colour": str(cut.colour),
        "length_mm": cut.length_mm,
        "from": str(wire.wire.start),
        "to": str(wire.wire.finish),
        "from_end": wire.start_end,
        "to_end": wire.finish_end,
        "piece": cut.piece,
        "new": cut.new,
    }


def _short_out(missing: Short) -> dict[str, Any]:
    """Cable that the shelf does not have."""
    return {
        "item": missing.item,
        "gauge": missing.gauge,
        "colour": str(missing.colour or ""),
        "pieces_mm": [length for length, _, _ in missing.pieces],
        "spare_mm": missing.spare_mm,
        "wires": [wire for _, _, wire in missing.pieces],
    }


def unpriced_out(missing: Short) -> dict[str, Any]:
    """What nobody is known to sell, with how much of it is needed and for which jobs."""
    return {
        "item": missing.item,
        "gauge": missing.gauge,
        "colour": str(missing.colour or ""),
        "quantity": number(missing.quantity),
        "unit": missing.unit,
        "for": list(missing.jobs),
    }


def order_out(bought: "Bought") -> dict[str, Any]:
    """`bom order` and `bom topup`: `price` of one pack, `cost` of all, both without tax.

    While something is `unpriced` total and net are null, and one more key says what the rest comes
    to `so_far`.
    """
    order = bought.order
    complete = not order.unpriced
    lines = [
        {
            "supplier": line.supplier,
            "item": line.item,
            "gauge": line.gauge,
            "colour": str(line.colour or ""),
            "sold_as": line.sold_as,
            "pack": number(line.pack),
            "packs": line.packs,
            "price": unit_price(line.price),
            "cost": money(line.cost),
            "for": list(line.jobs),
        }
        for line in order.lines
    ]
    unpriced = [unpriced_out(missing) for missing in order.unpriced]
    return {
        "lines": lines,
        "postage": money(sum(order.postage.values(), Decimal())),
        "total": money(order.total) if complete else None,
        **({} if complete else {"so_far": money(order.total)}),
        "proved": order.proved,
        "bound": money(order.bound),
        **({"credit": money(order.credit), "net": money(order.net)} if order.credit else {}),
        "unpriced": unpriced,
        "on_order": [
            {
                "number": part.order,
                "item": part.item,
                "gauge": part.gauge,
                "colour": str(part.colour or ""),
                "quantity": number(part.quantity),
                "unit": part.unit,
            }
            for part in bought.on_order
        ],
        "problems": problems_out(bought.problems),
    }


def quote_out(bought: "Bought", found: Quote | None) -> dict[str, Any]:
    """`bom quote`: no lines and no total when the job has errors.

    While something has no price, materials, net, tax and total are null, and there are two more
    keys: what is `unpriced`, and what the rest comes to `so_far`, with tax.  `range` is null then,
    and where no row has a doubt and fewer than five jobs are done; else the total and what it may
    come to, all with tax; `past` in it is there only where finished jobs tell of it.
    """
    quote = found or _NO_QUOTE

    left_out = {"so_far": money(quote.total), "unpriced": list(quote.unpriced)}

    def whole(amount: Decimal) -> str | None:
        return money(amount) if quote.complete else None

    lines = [
        {
            "group": line.group,
            "item": line.item,
            "quantity": number(line.quantity),
            "unit": line.unit,
            "cost": money(line.cost),
            "price": money(line.priced),
        }
        for line in quote.lines
    ]
    return {
        "lines": lines,
        "materials": whole(quote.materials),
        "labour": money(quote.labour),
        "net": whole(quote.net),
        "tax": whole(quote.tax),
        "total": whole(quote.total),
        **(left_out if quote.unpriced else {}),
        "range": _range_out(quote.range) if quote.range else None,
        "complete": quote.complete,
        "problems": problems_out(bought.problems),
    }


def _range_out(found: Range) -> dict[str, Any]:
    ends = {"low": money(found.low), "likely": money(found.likely), "high": money(found.high)}
    return {**ends, **({"past": _past_out(found.past)} if found.past else {})}


def _past_out(past: Past) -> dict[str, Any]:
    return {
        "hours": _came_out(past.hours),
        "materials": _came_out(past.materials) if past.materials else None,
        "factor": round(past.factor, 3),
        "held": past.held,
    }


def _came_out(one: CameOut) -> dict[str, Any]:
    percents = {"more_percent": one.more_percent, "spread_percent": one.spread_percent}
    return {**{name: round(each, 1) for name, each in percents.items()}, "jobs": one.jobs}


def pack_out(bought: "Bought", files: Iterable[Path]) -> dict[str, Any]:
    """`bom pack`: the files that were written."""
    return {
        "job": ", ".join(job.name for job in bought.jobs),
        "files": [str(path) for path in files],
        "problems": problems_out(bought.problems),
    }


def why_out(job: "Job", subject: str, lines: Iterable[str]) -> dict[str, Any]:
    """`bom why`: the reasons, a sentence a line."""
    return {
        "job": job.name,
        "subject": subject,
        "lines": list(lines),
        "problems": problems_out(job.problems),
    }
