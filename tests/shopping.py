"""Needs, offcuts and prices in a line each, for the tests and measurements of buying."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from bom.trade.job_book import Colour
from bom.trade.needs import Need, Trace
from bom.trade.orders import Price, Supplier
from bom.trade.placed import SoldAs
from bom.trade.rows import Row
from bom.trade.shelf import ShelfPiece

ROW = Row("stock.xlsx", "Cable", 2)


def cable(colour: str, cut_mm: Sequence[int], spare_mm: int = 0) -> Need:
    """1.0 mm2 in one colour: wires `red 0`, `red 1` ... of these lengths."""
    return Need(
        kind="cable",
        item=f"cable, 1.0 mm2, {colour}",
        gauge="1.0",
        colour=Colour(colour),
        quantity=Decimal(sum(cut_mm) + spare_mm),
        unit="mm",
        wires=(),
        pieces=tuple((mm, f"{colour} {n}") for n, mm in enumerate(cut_mm)),
        spare_mm=spare_mm,
        trace=Trace(""),
    )


def part(item: str, count: int) -> Need:
    """So many of an item."""
    return Need(
        kind="terminal", item=item, quantity=Decimal(count), unit="each", wires=(), trace=Trace("")
    )


def offcut(colour: str, number: int, length_mm: int) -> ShelfPiece:
    """A length of 1.0 mm2 on the shelf, called `red 0`, `red 1` ..."""
    return ShelfPiece(
        name=f"{colour} {number}",
        gauge="1.0",
        colour=Colour(colour),
        length_mm=length_mm,
        cost_per_m=None,
        place="",
        row=ROW,
    )


def price(
    supplier: str, item: str, sold: SoldAs, pack: Decimal | int, pence: int, least: int = 1
) -> Price:
    """A price row; `cable` is 1.0 mm2 in every plain colour."""
    return Price(
        supplier=supplier,
        item=item,
        gauge="1.0" if item == "cable" else "",
        colour=None,
        sold_as=sold,
        pack=Decimal(pack),
        price=Decimal(pence) / 100,
        from_qty=least,
        part_no="",
        row=None,
    )


def terms(name: str, postage: str, free_over: Any = None, least: Any = None) -> Supplier:
    """A supplier by its terms."""
    limits = [None if limit is None else Decimal(limit) for limit in (free_over, least)]
    free, minimum = limits
    return Supplier(name=name, postage=Decimal(postage), free_over=free, minimum_order=minimum)
