"""JSON answers about price lists: what was booked, what is doubtful, and how old prices are."""

from collections.abc import Iterable
from typing import Any

from bom.show.job_json import number, problems_out, unit_price, unpriced_out
from bom.show.price_found import ShownPrices
from bom.trade.needs import Short
from bom.trade.orders import Price
from bom.trade.problem import Problem
from bom.workshop.invoice_prices import BookedPrices
from bom.workshop.price_history import Paid
from bom.workshop.price_lists import AddedList, Priced


def added_out(added: AddedList) -> dict[str, Any]:
    """`bom prices add`: what was booked, and what may be ours and why that is not sure."""
    doubtful = [
        {
            "cell": one.listed.row.where("description").cell,
            "words": one.listed.words,
            "part_no": one.listed.part_no,
            "price": unit_price(one.listed.price),
            "doubts": list(one.doubts),
            "nearest": [str(goods) for goods in one.nearest],
        }
        for one in added.doubtful
    ]
    return {
        "supplier": added.supplier,
        "booked": [_booked(one) for one in added.booked],
        "doubtful": doubtful,
        "not_ours": len(added.not_ours),
        "without_price": added.without_price,
        "written": added.written,
        "problems": problems_out(added.problems),
    }


def wanted_out(wanted: Iterable[Short], problems: Iterable[Problem]) -> dict[str, Any]:
    """`bom prices wanted`: what has no price, with how much of it all the jobs need."""
    items = [unpriced_out(missing) for missing in wanted]
    return {"wanted": items, "problems": problems_out(problems)}


def paid_out(booked: BookedPrices) -> dict[str, Any]:
    """`bom prices paid`: prices of an order that the price book had otherwise, or not at all."""
    return {
        "prices": [
            {
                "supplier": one.invoiced.supplier,
                "item": one.invoiced.item,
                "sold_as": one.invoiced.sold_as,
                "pack": number(one.invoiced.pack),
                "price": unit_price(one.invoiced.price),
                "was": unit_price(one.was),
            }
            for one in booked.prices
        ],
        "written": booked.written,
        "problems": problems_out(booked.problems),
    }


def _booked(one: Priced) -> dict[str, Any]:
    """`was` is the price there before."""
    matched, goods = one.matched, one.matched.goods
    return {
        "supplier": one.supplier,
        "item": goods.item if goods else "",
        "gauge": goods.gauge if goods else "",
        "colour": str(goods.colour or "") if goods else "",
        "sold_as": matched.sold_as,
        "pack": number(matched.pack),
        "price": unit_price(matched.price),
        "was": unit_price(one.was),
        "part_no": matched.listed.part_no,
        "cell": matched.listed.row.where("description").cell,
    }


def prices_out(shown: ShownPrices, problems: Iterable[Problem]) -> dict[str, Any]:
    """`bom prices show`: prices without tax; `date` is '' where none is told.

    `past`, which words ask for, is what the same goods cost before and elsewhere, the latest first.
    """
    prices = [
        {
            **_sold(row),
            "from_qty": row.from_qty,
            "part_no": row.part_no,
            "date": str(row.priced_on or ""),
        }
        for row in shown.prices
    ]
    past = [
        {**_sold(paid), "packs": paid.packs, "date": str(paid.day or ""), "from": paid.source}
        for paid in shown.past or ()
    ]
    asked = {} if shown.past is None else {"past": past}
    return {"prices": prices, **asked, "problems": problems_out(problems)}


def _sold(row: Price | Paid) -> dict[str, Any]:
    return {
        "supplier": row.supplier,
        "item": row.item,
        "gauge": row.gauge,
        "colour": str(row.colour or ""),
        "sold_as": row.sold_as,
        "pack": number(row.pack),
        "price": unit_price(row.price),
    }
