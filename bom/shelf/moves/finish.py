"""After a job: the difference between what was issued for it and what it really took."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal

from msgspec import Struct

from bom.files.spelling import fold, plain
from bom.files.units import ThingKey, key_of, per_unit, shown
from bom.shelf.moves.account import Account, Shelf
from bom.shelf.moves.booking import Booking, Draft
from bom.trade.problem import Where, error
from bom.trade.shelf import Move, ShelfPiece

DONE = "done"
BACK, MORE = "came back", "more taken"
_WIRES = "; wires "
_PER_M = Decimal(1000)


class Spent(Struct, frozen=True, kw_only=True):
    """What a job took, used and spoilt: of the drawer by key, of cable by its words (`1.0 red`).

    Amounts in millimetres or the thing's own unit.  `pieces` is what the plan cuts of a cable;
    each cut may have lost `trim_mm` besides; under `useful_mm` a length is scrap.
    """

    job: str
    drawn: Mapping[ThingKey, Decimal]
    cable: Mapping[str, Decimal]
    pieces: Mapping[str, Decimal]
    trim_mm: int = 0
    useful_mm: int = 0


def was_issued(shelf: Shelf, job: str) -> bool:
    """True where an issue for the job stands."""
    return fold(job) in shelf.history.issues


def finish(shelf: Shelf, spent: Spent) -> Booking:
    """Book what came back and what was taken besides; `Refusal` where that falls below zero.

    What earlier moves of this kind booked for the job is reckoned in, so that a second time only
    what has changed since is booked.
    """
    return _Finish(shelf, spent).booking()


class _Finish:
    def __init__(self, shelf: Shelf, spent: Spent) -> None:
        self._shelf, self._spent = shelf, spent
        self._draft = Draft(shelf)
        self._took: dict[ThingKey, list[Move]] = _took(shelf, spent.job)
        self._elsewhere: list[str] = []

    def booking(self) -> Booking:
        """All of it; raises `Refusal`."""
        for key, amount in self._spent.drawn.items():
            self._drawer(key, _net(self._took.get(key, [])) - amount)
        for cable, amount in self._spent.cable.items():
            self._cable(cable, amount)
        if self._elsewhere:
            names = ", ".join(self._elsewhere)
            self._draft.remark(f"not on the shelf, so that nothing is booked of: {names}")
        return self._draft.booking()

    def _drawer(self, key: ThingKey, over: Decimal) -> None:
        if not over:
            return
        if self._draft.knows(key):
            self._move(key, over)
        elif key in self._took:
            says = f"'{self._took[key][0].item}' is no longer in the stock book"
            where = Where(self._shelf.stock.file)
            self._draft.refuse(error(where, says, "put its row back"))
        else:
            self._elsewhere.append(f"'{key[0]}'")

    def _cable(self, cable: str, spent: Decimal) -> None:
        """The pieces that were opened for a cable, of which the longest gets or gives."""
        own = {key: moves for key, moves in self._took.items() if self._is(key, moves, cable)}
        moves = [move for each in own.values() for move in each]
        over = _net(moves) - self._trims(cable, moves) - spent
        if not over:
            return
        if not own and not self._pieces(cable):
            self._elsewhere.append(cable)
            return
        there = [key for key in own if self._draft.knows(key)]
        longest = max(there, key=self._draft.on_hand, default=None)
        if over > 0:
            self._back(cable, longest, over)
        else:
            self._more(cable, longest, -over)

    def _is(self, key: ThingKey, moves: Sequence[Move], cable: str) -> bool:
        """By the book; by what its moves say where the piece is gone from it."""
        account = self._shelf.accounts.get(key)
        if account is None:
            return any(move.note.startswith(cable + _WIRES) for move in moves)
        return _words(account) == cable

    def _pieces(self, cable: str) -> Sequence[ThingKey]:
        known = self._shelf.accounts.items()
        return [key for key, a in known if _words(a) == cable and self._draft.on_hand(key)]

    def _trims(self, cable: str, moves: Sequence[Move]) -> Decimal:
        """What the cuts lost: issued beyond the pieces, and a trim for each cut at the most."""
        issued = [move for move in moves if move.what == "issue"]
        cuts = sum(len(move.note.partition(_WIRES)[2].split()) for move in issued)
        beyond = _net(issued) - self._spent.pieces.get(cable, Decimal())
        return min(max(beyond, Decimal()), Decimal(cuts * self._spent.trim_mm))

    def _back(self, cable: str, piece: ThingKey | None, over: Decimal) -> None:
        if piece is None or over > _net(self._took[piece]):
            self._ask(cable, over, BACK)
        elif self._draft.on_hand(piece) + over < self._spent.useful_mm:
            useful = self._spent.useful_mm
            self._draft.remark(f"{cable}: {_m(over)} m came back, under {useful} mm: scrap")
        else:
            self._move(piece, over, cable)

    def _more(self, cable: str, piece: ThingKey | None, lacking: Decimal) -> None:
        on_shelf = sum(map(self._draft.on_hand, self._pieces(cable)), Decimal())
        if piece is not None and on_shelf < lacking:
            says = f"{_m(lacking)} m of {cable} used beyond what was issued, {_m(on_shelf)} m there"
            cure = "bom stock receive ORDER, or bom stock count PIECE LENGTH; or mend the sheet"
            self._draft.refuse(error(Where(self._shelf.stock.file), says, cure))
        elif piece is None or self._draft.on_hand(piece) < lacking:
            self._ask(cable, lacking, MORE)
        else:
            self._move(piece, -lacking, cable)

    def _ask(self, cable: str, amount: Decimal, what: str) -> None:
        self._draft.remark(
            f"{cable}: {_m(amount)} m {what}, and of which length cannot be told, so that it is "
            "not booked: bom stock count PIECE LENGTH with what is on it now"
        )

    def _move(self, key: ThingKey, over: Decimal, cable: str = "") -> None:
        what = BACK if over > 0 else MORE
        note = f"{cable}; {what}" if cable else what
        self._draft.move(key, DONE, over, job=self._spent.job, note=note)
        held, left = self._shelf.held(key), self._draft.on_hand(key)
        if over < 0 and held > left:
            name = self._shelf.accounts[key].name
            self._draft.remark(f"'{name}': more is set aside than is left of it: hold again")


def _took(shelf: Shelf, job: str) -> dict[ThingKey, list[Move]]:
    """The moves that stand of what was issued for a job, and put right after it."""
    found: dict[ThingKey, list[Move]] = defaultdict(list)
    for command in shelf.history.standing:
        for move in command.moves:
            if fold(move.job) == fold(job) and move.what in ("issue", DONE):
                found[key_of(move.item, move.unit)].append(move)
    return dict(found)


def _net(moves: Sequence[Move]) -> Decimal:
    """What the job has of a thing, in millimetres or its own unit."""
    return -sum((move.change * per_unit(move.unit) for move in moves), Decimal())


def _words(account: Account) -> str:
    piece = account.item
    return f"{piece.gauge} {piece.colour}" if isinstance(piece, ShelfPiece) else ""


def _m(mm: Decimal) -> str:
    return plain(shown(mm, _PER_M))
