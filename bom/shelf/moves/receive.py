"""An order booked in: new reels with names of their own, the drawer filled, costs recorded."""

import hashlib
import re
from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from difflib import get_close_matches

from msgspec.structs import replace

from bom.files.spelling import fold, plain
from bom.files.units import PIECE_UNIT, ThingKey, key_of, per_unit
from bom.shelf.moves.account import Account, Shelf
from bom.shelf.moves.booking import Booking, Draft
from bom.shelf.moves.commands import NEW_ROW, was
from bom.shelf.stock_figures import mean_cost
from bom.trade.catalogue import Catalogue
from bom.trade.orders import Arrived
from bom.trade.problem import error
from bom.trade.rows import Written
from bom.trade.shelf import DrawerItem

LATELY_DAYS = 60
"""The same line again after so many days is another order."""

_ALIKE = 0.85
_PACKS = re.compile(r", (\d+) x ")
_COST = Decimal("0.0001")
"""Costs of one piece or metre are kept to a hundredth of a penny."""


def receive(
    shelf: Shelf,
    lines: Sequence[Arrived],
    catalogue: Catalogue,
    *,
    place: str = "",
    reel_end_mm: int = 0,
    twice: str = "",
) -> Booking:
    """Book lines of an order in; `Refusal` for what came in lately already.

    `twice` is `rest` to book what has not come in yet, or `again` for all of it once more.

    A reel or a length of cable becomes a piece of its own, less the end that is lost of a reel;
    what is in the drawer already gets the mean of its old and its new cost.
    """
    draft = Draft(shelf)
    names = _PieceNames(shelf)
    if twice == "rest":
        lines = [replace(line, packs=line.packs - _booked(shelf, line)) for line in lines]
        lines = [line for line in lines if line.packs > 0]
    elif twice != "again":
        _refuse_booked(draft, shelf, lines)
    for line in lines:
        note = _note(line)
        if line.gauge:
            _cable(draft, line, names, (place, note), reel_end_mm)
        else:
            _item(draft, shelf, line, catalogue, (place, note))
    return draft.booking()


def _refuse_booked(draft: Draft, shelf: Shelf, lines: Sequence[Arrived]) -> None:
    """Lines that came in lately already: a paper that is booked in twice, or in parts."""
    known = [line for line in lines if _booked(shelf, line)]
    if not known:
        return
    which = f"'{known[0].item}'" + (f" and {len(known) - 1} more" if len(known) > 1 else "")
    says = f"booked in already, from {known[0].supplier}: {which}"
    cure = "--rest for what has come since, --again if all of it came once more"
    draft.refuse(error(known[0].row.where("item"), says, cure))


def _booked(shelf: Shelf, line: Arrived) -> int:
    """So many packs of the very same line have come in within the last weeks."""
    since = f"{date.today() - timedelta(days=LATELY_DAYS)}"
    mark = f"({_mark(line)})"
    moves = (m for c in shelf.history.standing if c.when >= since for m in c.moves)
    packs = [int(found[1]) for m in moves if mark in m.note and (found := _PACKS.search(m.note))]
    reels = line.gauge and line.sold_as == "reel"
    return len(packs) if reels else sum(packs)


def _mark(line: Arrived) -> str:
    """Six digits that tell one line of an order from another."""
    price = "" if line.price is None else plain(line.price.quantize(_COST))
    said = f"{line.supplier}|{line.item}|{line.sold_as}|{plain(line.pack)}|{price}"
    return hashlib.sha256(said.casefold().encode()).hexdigest()[:6]


def _note(line: Arrived) -> str:
    pack = "" if line.pack == 1 else f" of {plain(line.pack)}"
    price = "" if line.price is None else f" at {plain(line.price.quantize(_COST))}"
    return f"{line.supplier}, {line.packs} x {line.sold_as}{pack}{price} ({_mark(line)})"


def _per_one(line: Arrived, pack: Decimal) -> Decimal | None:
    """What one metre or one piece cost, without tax."""
    return None if line.price is None else (line.price / pack).quantize(_COST)


# Cable


def _cable(
    draft: Draft, line: Arrived, names: "_PieceNames", said: tuple[str, str], reel_end_mm: int
) -> None:
    """Metres come in one length, reels one by one."""
    place, note = said
    whole = line.sold_as == "metre"
    length = line.pack * 1000 * (line.packs if whole else 1)
    for _ in range(1 if whole else line.packs):
        values: dict[str, Written] = {
            "gauge": line.gauge,
            "colour": str(line.colour),
            "cost per m": _per_one(line, line.pack),
            "place": place or None,
        }
        name = names.next()
        key = draft.start(name, PIECE_UNIT, "Cable", values)
        lost = 0 if whole else reel_end_mm
        cable = f"{line.gauge} {line.colour}"
        where = f"; {place}" if place else ""
        draft.move(key, "receive", length - lost, note=f"{NEW_ROW}; {cable}, {note}{where}")
        draft.remark(f"write on the reel or length: {name} {cable}")


class _PieceNames:
    """Names for new pieces: on from the owner's own (R36, R37 ...), none of them used before.

    Those of an order that was undone are free again: they are on its reels already.
    """

    def __init__(self, shelf: Shelf) -> None:
        names = [piece.name for piece in shelf.stock.pieces]
        past = [move.item for command in shelf.history.standing for move in command.moves]
        matches = [m for name in names if (m := re.fullmatch(r"(.*?)(\d+)", name))]
        self._start = Counter(m[1] for m in matches).most_common(1)[0][0] if matches else "R"
        taken = [
            m
            for name in (*names, *past)
            if (m := re.fullmatch(rf"{re.escape(self._start)}(\d+)", name))
        ]
        self._last = max((int(m[1]) for m in taken), default=0)
        self._digits = max((len(m[1]) for m in taken), default=2)

    def next(self) -> str:
        """The next name."""
        self._last += 1
        return f"{self._start}{self._last:0{self._digits}d}"


# The drawer


def _item(
    draft: Draft, shelf: Shelf, line: Arrived, catalogue: Catalogue, said: tuple[str, str]
) -> None:
    place, note = said
    account = next((a for a in shelf.find(line.item) if isinstance(a.item, DrawerItem)), None)
    slip = "" if account else _slip(line.item, shelf, catalogue)
    if slip:
        says = f"'{line.item}' is neither in the drawer nor in the catalogues"
        draft.refuse(error(line.row.where("item"), says, slip))
        return
    unit = account.unit if account else _unit(line, catalogue)
    key = key_of(line.item, unit)
    measured = key[1] == "mm"
    if line.sold_as == "metre" and not measured:
        says = f"'{line.item}' comes by the metre, but the drawer counts it in '{unit}'"
        draft.refuse(error(line.row.where("sold as"), says, "m as its unit on the Drawer sheet"))
        return
    come = line.pack * line.packs * (1000 if measured else 1)
    each = _per_one(line, line.pack)
    if each is not None and measured:
        each = (each * per_unit(unit) / 1000).quantize(_COST)  # of one of the drawer's own unit
    if not draft.knows(key):
        draft.start(line.item, unit, "Drawer", {"cost": each, "place": place or None})
        note = f"{NEW_ROW}; {note}" + (f"; {place}" if place else "")
    elif account and each is not None:
        note += _new_cost(draft, account, key, (come, each))
    draft.move(key, "receive", come, note=note)


def _slip(item: str, shelf: Shelf, catalogue: Catalogue) -> str:
    """The name that was surely meant, where this one is a slip of the pen."""
    known = {fold(name): name for name in (*catalogue.items, *(d.item for d in shelf.stock.drawer))}
    if fold(item) in known:
        return ""
    close = get_close_matches(fold(item), known, n=1, cutoff=_ALIKE)
    return known[close[0]] if close else ""


def _unit(line: Arrived, catalogue: Catalogue) -> str:
    return "m" if line.sold_as == "metre" else catalogue.unit_of(line.item)


def _new_cost(draft: Draft, account: Account, key: ThingKey, come: tuple[Decimal, Decimal]) -> str:
    """Put the mean cost of old and new in its cell; what to say of it in the move."""
    amount, each = come
    old = draft.cost(account)
    there = draft.on_hand(key) if old is not None else Decimal()
    new = mean_cost(there, old or Decimal(), amount, each).quantize(_COST)
    if new == old or not draft.put(account, "cost", new):
        return ""
    return f"; {was('cost', new, old)}"
