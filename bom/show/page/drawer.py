"""The drawer on a page: what runs low, the rest of it, reels and offcuts; each can be changed."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from itertools import count
from typing import Any

from bom.files.spelling import fold, plain
from bom.files.units import PIECE_UNIT, ThingKey, key_of, per_unit, shown
from bom.shelf.moves import Shelf
from bom.show.page.lately import lately
from bom.show.page.told import NOT_SHOWN, sentences
from bom.show.paper import stripe_of
from bom.show.shelf_found import (
    Finder,
    Shown,
    everything,
    key_of_hold,
    key_of_item,
    key_of_piece,
    narrowed,
)
from bom.trade.catalogue import Catalogue
from bom.trade.problem import Problem, has_errors
from bom.trade.shelf import DrawerItem, ShelfPiece

WHATS = ("take", "put", "count")
"""What can be done to a thing; sent to `/drawer/take` and so on."""
MOST_NEW = 12
"""So many items that the drawer has not are shown; of more the number."""


def drawer_page(
    shelf: Shelf,
    catalogue: Catalogue,
    *,
    find: str = "",
    told: Mapping[str, Any] | None = None,
    problems: Iterable[Problem] = (),
    open_by: str = "",
) -> dict[str, Any]:
    """What the page shows: all of the shelf, or what has the words of `find`.

    What was just changed (`told`, of `told_of`) comes first; where it is not booked, what was
    typed stands in its field again.  Items that are not in the drawer are found too, to be put in.
    """
    problems = [*problems]
    finder = Finder(find.split(), catalogue)
    hidden = has_errors(problems)
    new = [] if hidden else _not_there(shelf, finder, catalogue)
    found, says = _found(shelf, finder, is_known=bool(new))
    low = narrowed(shelf, found, "low").drawer
    rest = (item for item in found.drawer if not shelf.runs_low(item))
    rows = _ThingRows(shelf, catalogue, told)
    parts = [
        ("low", "Runs low", [*map(rows.item, low)]),
        ("drawer", "The rest of the drawer" if low else "The drawer", [*map(rows.item, rest)]),
        ("cable", "Reels and offcuts", [*map(rows.piece, found.pieces)]),
        ("new", "Not in the drawer yet", [*map(rows.new, count(), new[:MOST_NEW])]),
    ]
    now = [row for _, _, own in parts for row in own if row["now"]]
    parts = [("now", "Just now", now)] + [
        (id_, title, [row for row in own if not row["now"]]) for id_, title, own in parts
    ]
    return {
        "find": find,
        "nothing": NOT_SHOWN if hidden else says,
        "sections": [
            {"id": id_, "heading": title, "rows": own} for id_, title, own in parts if own
        ],
        "more_new": max(len(new) - MOST_NEW, 0),
        "lately": lately(shelf.history),
        "told": told,
        "problems": sentences(problems),
        "open_by": open_by,
    }


def _found(shelf: Shelf, finder: Finder, *, is_known: bool) -> tuple[Shown, str]:
    """The rows with these words, and what to say where there is none.

    Where the catalogue has them (`is_known`) they are no slip.
    """
    whole = everything(shelf)
    if not finder.words:
        return whole, "" if whole.drawer or whole.pieces else "nothing is on the shelf"
    found = finder.found(whole)
    if found.pieces or found.drawer:
        return found, ""
    says, near = finder.nothing(whole)
    near = near.removeprefix("bom stock show").strip()
    return found, f"{says}; try: {near}" if near and not is_known else says


def _not_there(shelf: Shelf, finder: Finder, catalogue: Catalogue) -> list[str]:
    """The items of the catalogues that have all the words and no row in the drawer."""
    if not finder.words:
        return []
    items = dict.fromkeys(catalogue.items)
    return [item for item in items if finder.are_in(item) and not shelf.find(item)]


class _ThingRows:
    """Things as the page shows them, amounts in the unit that their row of the book counts in."""

    def __init__(self, shelf: Shelf, catalogue: Catalogue, told: Mapping[str, Any] | None) -> None:
        self._shelf, self._catalogue = shelf, catalogue
        self._now = {fold(name) for name in told["things"]} if told else set()
        self._sent = dict(told["again"]["fields"]) if told else {}
        self._kept = told["again"]["action"] if told and told["kind"] != "done" else ""

    def item(self, item: DrawerItem) -> dict[str, Any]:
        """An item of the drawer."""
        key, unit = key_of_item(item), item.counted_in
        return self._row(f"drawer-{item.row.number}", item.item, (key, item.on_hand, unit)) | {
            "low": "" if item.low is None else _amount(item.low, unit),
            "place": item.place,
        }

    def new(self, number: int, name: str) -> dict[str, Any]:
        """An item of the catalogues that the drawer has not: there is nothing to be taken."""
        unit = self._catalogue.unit_of(name)
        there = (key_of(name, unit), Decimal(), unit)
        return self._row(f"new-{number}", name, there) | {"acts": WHATS[1:]}

    def piece(self, piece: ShelfPiece) -> dict[str, Any]:
        """A reel or an offcut."""
        there = (key_of_piece(piece), Decimal(piece.length_mm), PIECE_UNIT)
        return self._row(f"cable-{piece.row.number}", piece.name, there) | {
            "place": piece.place,
            "cable": {"gauge": piece.gauge, **stripe_of(self._catalogue, piece.colour)},
        }

    def _row(self, id_: str, name: str, there: tuple[ThingKey, Decimal, str]) -> dict[str, Any]:
        """What there is of a thing, what of it is set aside, and what was typed."""
        key, on_hand, unit = there
        holds = [hold for hold in self._shelf.holds if key_of_hold(hold) == key]
        sent = fold(self._sent.get("item", "")) == fold(name)
        number = self._sent.get("number", "") if sent else ""
        return {
            "id": id_,
            "name": name,
            "low": "",
            "place": "",
            "cable": None,
            "acts": WHATS,
            "is_length": key[1] == "mm",
            "amount": _amount(on_hand, unit),
            "unit": unit,
            "aside": [{"job": h.job, "amount": _amount(h.quantity, unit)} for h in holds],
            "free": _amount(on_hand - self._shelf.held(key), unit) if holds else "",
            "now": fold(name) in self._now,
            "open": sent and bool(self._kept),
            "typed": {what: number * (self._kept == f"/drawer/{what}") for what in WHATS},
        }


def _amount(amount: Decimal, unit: str) -> str:
    return plain(shown(amount, per_unit(unit)))
