"""What lies on the shelf, thing by thing, each with the cells that say how much."""

from collections.abc import Collection, Iterator, Mapping
from decimal import Decimal
from functools import cached_property

from msgspec import Struct
from msgspec.structs import replace

from bom.files.spelling import fold
from bom.files.units import PIECE_UNIT, ThingKey, key_of, per_unit, shown
from bom.shelf.moves.history import Difference, History, history
from bom.trade.problem import Problem, Where, error
from bom.trade.rows import Row
from bom.trade.shelf import DrawerItem, Hold, ShelfPiece, Stock


class Spot(Struct, frozen=True, kw_only=True):
    """One row that holds some of a thing: how much, and the unit of its cell in `per`."""

    row: Row
    heading: str
    amount: Decimal
    per: Decimal
    annotated: bool


class Account(Struct, frozen=True, kw_only=True):
    """A reel, an offcut or an item of the drawer, in all the rows it stands in."""

    key: ThingKey
    name: str
    unit: str
    spots: tuple[Spot, ...]
    item: DrawerItem | ShelfPiece

    @property
    def per(self) -> Decimal:
        """Millimetres in its unit; 1 where it is counted."""
        return per_unit(self.unit)

    @property
    def on_hand(self) -> Decimal:
        """How much there is, in millimetres or its own unit."""
        return sum((spot.amount for spot in self.spots), Decimal())

    @property
    def where(self) -> Where:
        """The cell that says how much."""
        return self.spots[0].row.where(self.spots[0].heading)


def cable_in_words(account: Account) -> str:
    """Gauge and colour of a piece, such as `1.0 red`; '' for an item of the drawer."""
    piece = account.item
    return f"{piece.gauge} {piece.colour}" if isinstance(piece, ShelfPiece) else ""


class Shelf(Struct, frozen=True, kw_only=True, dict=True):
    """The stock book as it stands, and what its moves say."""

    stock: Stock
    accounts: Mapping[ThingKey, Account]
    history: History

    def find(self, name: str) -> list[Account]:
        """The things of that name: one, or none, or a piece and a counted item."""
        return [account for key, account in self.accounts.items() if key[0] == fold(name)]

    @cached_property
    def holds(self) -> tuple[Hold, ...]:
        """What is set aside and there: of too little, who asked first has it."""
        return tuple(self._within({key: a.on_hand for key, a in self.accounts.items()}))

    def _within(self, there: Mapping[ThingKey, Decimal]) -> Iterator[Hold]:
        left = dict(there)
        for hold in self.history.holds:
            key = key_of(hold.item, hold.unit)
            part = min(hold.quantity, left.get(key, Decimal()))
            if part > 0:
                left[key] -= part
                yield replace(hold, quantity=part)

    def lacking(self, there: Mapping[ThingKey, Decimal]) -> tuple[Hold, ...]:
        """What is set aside of these things and not there, were there so much of each."""
        kept = {(fold(h.job), key_of(h.item, h.unit)): h.quantity for h in self._within(there)}
        own = [(h, key_of(h.item, h.unit)) for h in self.history.holds]
        over = [(h, h.quantity - kept.get((fold(h.job), key), 0)) for h, key in own if key in there]
        return tuple(replace(hold, quantity=more) for hold, more in over if more)

    def held(self, key: ThingKey, but_for: Collection[str] = ()) -> Decimal:
        """How much of a thing is set aside for jobs, those named left out."""
        own = {fold(job) for job in but_for}
        holds = (h for h in self.holds if key_of(h.item, h.unit) == key)
        return sum((h.quantity for h in holds if fold(h.job) not in own), Decimal())

    def held_of(self, name: str, unit: str) -> Decimal:
        """How much of a thing is set aside, by its name and unit."""
        return self.held(key_of(name, unit))

    def runs_low(self, item: DrawerItem) -> bool:
        """True where less of it than its low mark is left once that is left out which is held."""
        held = self.held_of(item.item, item.unit)
        return item.low is not None and item.on_hand - held < item.low

    def differences(self) -> tuple[Difference, ...]:
        """Where the book has not what the moves say, in the order of the moves."""
        found = []
        for key, thread in self.history.threads.items():
            account = self.accounts.get(key)
            there = account.on_hand if account else Decimal()
            if there == thread.left:
                continue
            unit = account.unit if account else thread.unit
            per = per_unit(unit)
            found.append(
                Difference(
                    key=key,
                    name=account.name if account else thread.name,
                    unit=unit,
                    by_the_moves=shown(thread.left, per),
                    in_the_book=shown(there, per),
                    where=account.where if account else Where(self.stock.file),
                    broken=thread.broken,
                )
            )
        return tuple(found)


def shelf_of(stock: Stock) -> tuple[Shelf, tuple[Problem, ...]]:
    """The shelf of a stock book.

    A piece called as a measured item of the drawer could not be told from it in the moves, and
    moves that cannot be understood hide what is set aside: both are errors.
    """
    past, problems = history(stock.moves)
    problems = (*problems, *_lacking(stock))
    accounts: dict[ThingKey, Account] = {}
    for piece in stock.pieces:
        account = _piece(piece, stock)
        accounts[account.key] = account
    pieces = set(accounts)
    clashes = []
    for item in stock.drawer:
        account = _item(item)
        known = accounts.get(account.key)
        if account.key in pieces:
            says = f"'{item.item}' is the name of a piece of cable too"
            clashes.append(error(item.row.where("item"), says, "another name for the piece"))
            continue
        if known:
            account = Account(
                key=known.key,
                name=known.name,
                unit=known.unit,
                spots=(*known.spots, *account.spots),
                item=known.item,
            )
        accounts[account.key] = account
    return Shelf(stock=stock, accounts=accounts, history=past), (*problems, *clashes)


def _lacking(stock: Stock) -> Iterator[Problem]:
    """Columns without which the moves there are say nothing."""
    place = stock.lists.get("Moves")
    if place is None or not stock.moves:
        return
    where = Where(place.file, place.sheet, f"A{place.header_row}")
    for heading in ("what", "change", "left"):
        if heading not in place.letters:
            yield error(where, f"no column '{heading}'", f"the heading '{heading}'")


def _piece(piece: ShelfPiece, stock: Stock) -> Account:
    place = stock.lists.get("Cable")
    unit = (place.units.get("length") if place else None) or PIECE_UNIT
    spot = Spot(
        row=piece.row,
        heading="length",
        amount=Decimal(piece.length_mm),
        per=per_unit(unit),
        annotated=piece.annotated,
    )
    key = key_of(piece.name, PIECE_UNIT)
    return Account(key=key, name=piece.name, unit=PIECE_UNIT, spots=(spot,), item=piece)


def _item(item: DrawerItem) -> Account:
    unit = item.counted_in
    spot = Spot(
        row=item.row,
        heading="on hand",
        amount=item.on_hand,
        per=per_unit(unit),
        annotated=item.annotated,
    )
    key = key_of(item.item, unit)
    return Account(key=key, name=item.item, unit=unit, spots=(spot,), item=item)
