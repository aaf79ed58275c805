"""Goods that have come: new reels with names of their own, the drawer filled, costs recorded."""

import re
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from difflib import get_close_matches

from msgspec import Struct

from bom.files.spelling import fold, plain
from bom.files.units import PIECE_UNIT, ThingKey, key_of, per_unit
from bom.shelf.moves.account import Account, Shelf
from bom.shelf.moves.booking import Draft
from bom.shelf.moves.commands import NEW_ROW, was
from bom.shelf.stock_figures import mean_cost
from bom.trade.catalogue import Catalogue
from bom.trade.job_book import Colour
from bom.trade.orders import Arrived
from bom.trade.problem import error
from bom.trade.rows import Written
from bom.trade.shelf import DrawerItem, Move

_ALIKE = 0.85
COST = Decimal("0.0001")
"""Costs of one piece or metre are kept to a hundredth of a penny."""


_SOURCE = re.compile(
    r"(?P<what>order|file) (?P<name>.+?)(?:, line (?P<line>\d+))?: (?P<packs>\d+) x (?P<form>\w+)"
    r"(?: of (?P<pack>[0-9.]+))?"
    r"(?: at (?P<price>[0-9.]+))?(?:, (?P<supplier>.*))?"
)


class Source(Struct, frozen=True, kw_only=True):
    """What a move says of where goods came from: packs of an order or of a file.

    `words` are the item, or gauge and colour of a cable, folded; `line` says which line of the
    order, where several are alike, and is 0 otherwise.
    """

    what: str
    name: str
    line: int
    words: str
    form: str
    pack: Decimal
    packs: int
    price: Decimal | None
    supplier: str


def source_of(move: Move) -> Source | None:
    """Where the goods of a move came from, as `Arrival` wrote it; None where it does not say."""
    before = ""
    for part in move.note.split("; "):
        found = _SOURCE.fullmatch(part)
        if found:
            return Source(
                what=found["what"],
                name=found["name"],
                line=int(found["line"] or 0),
                words=fold(before or move.item),
                form=found["form"],
                pack=Decimal(found["pack"] or 1),
                packs=int(found["packs"]),
                price=Decimal(found["price"]) if found["price"] else None,
                supplier=found["supplier"] or "",
            )
        before = "" if part == NEW_ROW else part
    return None


def words_of(item: str, gauge: str, colour: Colour | None) -> str:
    """What goods are known by: cable by gauge and colour, all else by its name."""
    return fold(f"{gauge} {colour}" if gauge else item)


class Come(Struct, frozen=True):
    """What came of a line: so much of a thing, in mm or its own unit."""

    key: ThingKey
    amount: Decimal


class Arrival:
    """Lines put on the shelf one after the other.

    A reel or a length of cable becomes a piece of its own, less the end that is lost of a reel;
    what is in the drawer already gets the mean of its old and its new cost.
    """

    def __init__(
        self, draft: Draft, shelf: Shelf, catalogue: Catalogue, place: str, reel_end_mm: int
    ) -> None:
        self._draft, self._shelf, self._catalogue = draft, shelf, catalogue
        self._place, self._reel_end_mm = place, reel_end_mm
        self._names = PieceNames(shelf)

    def come(self, line: Arrived, source: str, told: str = "") -> list[Come]:
        """Book a line; `source` is the order or file it is of, `told` what its moves say too."""
        return [*(self._cable if line.gauge else self._item)(line, source, told)]

    def _cable(self, line: Arrived, source: str, told: str) -> Iterator[Come]:
        """Metres come in one length, reels one by one."""
        whole = line.sold_as == "metre"
        length = line.pack * 1000 * (line.packs if whole else 1)
        length -= 0 if whole else self._reel_end_mm
        cable = f"{line.gauge} {line.colour}"
        note = f"{NEW_ROW}; {cable}; {source}: {said(line, line.packs if whole else 1)}"
        for _ in range(1 if whole else line.packs):
            values: dict[str, Written] = {
                "gauge": line.gauge,
                "colour": str(line.colour),
                "cost per m": per_one(line, line.pack),
                "place": self._place or None,
            }
            name = self._names.next()
            key = self._draft.start(name, PIECE_UNIT, "Cable", values)
            self._draft.move(key, "receive", length, note=note + told + self._put())
            self._draft.remark(f"write on the reel or length: {name} {cable}")
            yield Come(key, length)

    def _put(self) -> str:
        return f"; {self._place}" if self._place else ""

    def _item(self, line: Arrived, source: str, told: str) -> Iterator[Come]:
        found = self._shelf.find(line.item)
        account = next((a for a in found if isinstance(a.item, DrawerItem)), None)
        slip = "" if account else _slip(line.item, self._shelf, self._catalogue)
        if slip:
            says = f"'{line.item}' is neither in the drawer nor in the catalogues"
            self._draft.refuse(error(line.row.where("item"), says, slip))
            return
        unit = account.unit if account else _unit(line, self._catalogue)
        key = key_of(line.item, unit)
        measured = key[1] == "mm"
        in_metres = line.sold_as == "metre" or (line.pack != 1 and self._is_measured(line.item))
        if in_metres and not measured:
            says = f"'{line.item}' comes by the metre, but the drawer counts it in '{unit}'"
            cure = "m as its unit on the Drawer sheet, and the metres that are there"
            self._draft.refuse(error(line.row.where("sold as"), says, cure))
            return
        amount = line.pack * line.packs * (1000 if measured else 1)
        each = per_one(line, line.pack)
        if each is not None and measured:
            each = (each * per_unit(unit) / 1000).quantize(COST)  # of one of the drawer's own unit
        note = f"{source}: {said(line, line.packs)}{told}"
        if not self._draft.knows(key):
            place = self._place or None
            self._draft.start(line.item, unit, "Drawer", {"cost": each, "place": place})
            note = f"{NEW_ROW}; {note}{self._put()}"
        elif account and each is not None:
            note += self._new_cost(account, (amount, each))
        self._draft.move(key, "receive", amount, note=note)
        yield Come(key, amount)

    def _is_measured(self, item: str) -> bool:
        return self._catalogue.unit_of(item) == "m"

    def _new_cost(self, account: Account, come: tuple[Decimal, Decimal]) -> str:
        """Put the mean cost of old and new in its cell; what to say of it in the move."""
        amount, each = come
        old = self._draft.cost(account)
        there = self._draft.on_hand(account.key) if old is not None else Decimal()
        new = mean_cost(there, old or Decimal(), amount, each).quantize(COST)
        if new == old or not self._draft.put(account, "cost", new):
            return ""
        return f"; {was('cost', new, old)}"


def said(line: Arrived, packs: int) -> str:
    """What a move says of the goods: `2 x pack of 50 at 4.20, Example Cables`."""
    pack = "" if line.pack == 1 else f" of {plain(line.pack)}"
    price = "" if line.price is None else f" at {plain(line.price.quantize(COST))}"
    return f"{packs} x {line.sold_as}{pack}{price}, {line.supplier}"


def per_one(line: Arrived, pack: Decimal) -> Decimal | None:
    """What one metre or one piece cost, without tax."""
    return None if line.price is None else (line.price / pack).quantize(COST)


class PieceNames:
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


def _slip(item: str, shelf: Shelf, catalogue: Catalogue) -> str:
    """The name that was surely meant, where this one is a slip of the pen."""
    known = {fold(name): name for name in (*catalogue.items, *(d.item for d in shelf.stock.drawer))}
    if fold(item) in known:
        return ""
    close = get_close_matches(fold(item), known, n=1, cutoff=_ALIKE)
    return known[close[0]] if close else ""


def _unit(line: Arrived, catalogue: Catalogue) -> str:
    return "m" if line.sold_as == "metre" else catalogue.unit_of(line.item)
