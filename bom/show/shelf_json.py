"""JSON answers about the shelf: what is on it, and what was done to the stock book.

Amounts are in the thing's own unit, mm for lengths.
"""

from collections.abc import Iterable
from typing import Any

from bom.files.units import reckoned_in
from bom.shelf.marks import Learned
from bom.shelf.moves import Difference, Shelf
from bom.show.job_json import money, number, problems_out, unit_price
from bom.show.shelf_found import Shown
from bom.show.shelf_worth import worth_out
from bom.trade.problem import Problem
from bom.trade.shelf import DrawerItem, ShelfPiece
from bom.workshop.stockroom import Booked


def stock_out(
    shelf: Shelf,
    shown: Shown,
    problems: Iterable[Problem],
    *,
    rebuild: bool = False,
    value: bool = False,
) -> dict[str, Any]:
    """`bom stock show`: the shelf, without what is used up.

    `rebuilt` and `value` (lengths in metres there) are null unless they are asked for.
    """
    held = [
        {
            "job": hold.job,
            "item": hold.item,
            "quantity": number(hold.quantity),
            "unit": hold.unit,
            "since": hold.since,
        }
        for hold in shown.holds
    ]
    return {
        "cable": [_piece_out(piece) for piece in shown.pieces],
        "drawer": [_drawer_out(item) for item in shown.drawer],
        "held": held,
        "by_hand": _by_hand_out(shown.differences),
        "rebuilt": _rebuilt_out(shelf, shown) if rebuild else None,
        "value": worth_out(shown) if value else None,
        "problems": problems_out(problems),
    }


def _rebuilt_out(shelf: Shelf, shown: Shown) -> list[dict[str, Any]]:
    """All moves of each thing: opening + come - gone = left."""
    return [
        {
            "item": thread.name,
            "unit": reckoned_in(thread.unit),
            "opening": number(thread.opening),
            "come": number(thread.come),
            "gone": number(thread.gone),
            "left": number(thread.left),
            "in_the_book": number(shelf.accounts[key].on_hand) if key in shelf.accounts else 0,
        }
        for key, thread in shown.threads.items()
        if not thread.is_no_thing or key in shelf.accounts
    ]


def _piece_out(piece: ShelfPiece) -> dict[str, Any]:
    return {
        "piece": piece.name,
        "gauge": piece.gauge,
        "colour": str(piece.colour),
        "length_mm": piece.length_mm,
        "cost_per_m": unit_price(piece.cost_per_m),
        "place": piece.place,
    }


def _drawer_out(item: DrawerItem) -> dict[str, Any]:
    return {
        "item": item.item,
        "unit": item.unit,
        "on_hand": number(item.on_hand),
        "low": number(item.low),
        "full": number(item.full),
        "cost": unit_price(item.cost),
        "place": item.place,
    }


def _by_hand_out(differences: Iterable[Difference]) -> list[dict[str, Any]]:
    return [
        {
            "item": difference.name,
            "unit": difference.unit,
            "by_the_moves": number(difference.by_the_moves),
            "in_the_book": number(difference.in_the_book),
        }
        for difference in differences
    ]


def booked_out(booked: Booked) -> dict[str, Any]:
    """A command that changes the stock book: the rows of Moves that are, or would be, written."""
    moves = [
        {
            "what": entry.what,
            "job": entry.job,
            "item": entry.item,
            "before": number(entry.before),
            "change": number(entry.change),
            "left": number(entry.left),
            "unit": entry.unit,
            "note": entry.note,
        }
        for entry in booked.entries
    ]
    return {
        "written": booked.written,
        "when": booked.when,
        "moves": moves,
        "by_hand": _by_hand_out(booked.by_hand),
        "remarks": list(booked.remarks),
        "problems": problems_out(booked.problems),
    }


def learned_out(found: Learned, written: bool, problems: Iterable[Problem]) -> dict[str, Any]:
    """`bom topup --learn`: the marks that use proposes."""
    marks = [
        {
            "item": mark.item,
            "unit": mark.unit,
            "per_week": mark.per_week,
            "deviation": mark.deviation,
            "low": number(mark.low),
            "full": number(mark.full),
            "was_low": number(mark.was_low),
            "was_full": number(mark.was_full),
            "order_size": number(mark.order_size),
            "order_cost_per_year": money(mark.order_cost_per_year),
            "remark": mark.remark,
        }
        for mark in found.marks
    ]
    return {
        "weeks": found.weeks,
        "marks": marks,
        "too_little": list(found.too_little),
        "undated": found.undated,
        "written": written,
        "problems": problems_out(problems),
    }
