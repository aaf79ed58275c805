"""After a job: the difference between what was issued for it and what it really took."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct

from bom.files.spelling import fold, plain
from bom.files.units import ThingKey, key_of, per_unit, shown
from bom.shelf.moves.account import Shelf, cable_in_words
from bom.shelf.moves.booking import Booking, Draft
from bom.shelf.moves.history import DONE, about_job
from bom.shelf.moves.wires_cut import cable_of, wires_cut
from bom.trade.problem import Where, error, listed
from bom.trade.shelf import Move

BACK, MORE = "came back", "more taken"
_PER_M = Decimal(1000)
_COUNT = "bom stock count PIECE LENGTH"


class Spent(Struct, frozen=True, kw_only=True):
    """What a job took, used and spoilt: of the drawer by key, of cable by its words (`1.0 red`).

    Amounts in millimetres or the thing's own unit.  `names` are the drawer's things as typed.
    `pieces` is what the plan cuts of a cable; each cut may have lost `trim_mm` besides; under
    `useful_mm` a length is scrap.
    """

    job: str
    drawn: Mapping[ThingKey, Decimal]
    cable: Mapping[str, Decimal]
    pieces: Mapping[str, Decimal]
    names: Mapping[ThingKey, str] = {}
    trim_mm: int = 0
    useful_mm: int = 0


def was_issued(shelf: Shelf, job: str) -> bool:
    """True where an issue for the job stands."""
    return fold(job) in shelf.history.issues


def is_kept_for(shelf: Shelf, job: str) -> bool:
    """True where something is set aside for the job, or on order for it."""
    waiting = (name for line in shelf.stock.orders for name in line.waiting)
    return _holds(shelf, job) or fold(job) in map(fold, waiting)


def _holds(shelf: Shelf, job: str) -> bool:
    return fold(job) in (fold(hold.job) for hold in shelf.history.holds)


def finish(shelf: Shelf, spent: Spent) -> Booking:
    """Book what came back and what was taken besides; of what is nowhere only a remark is made.

    What earlier moves of this kind booked for the job is reckoned in, so that a second time only
    what has changed since is booked.  A row about the job stands first: what is set aside for it is
    free from there on, and what comes for it later.  Of a job that was never issued it is all.
    """
    return _Finish(shelf, spent).booking()


class _Finish:
    def __init__(self, shelf: Shelf, spent: Spent) -> None:
        self._shelf, self._spent = shelf, spent
        self._draft = Draft(shelf)
        out = shelf.history.out(spent.job)
        self._scraps = _by_thing(move for move in out if move.what == "scrap")
        self._took = _by_thing(move for move in out if move.what != "scrap")
        self._elsewhere: list[str] = []

    def booking(self) -> Booking:
        """All of it; raises `Refusal`."""
        self._about()
        if not was_issued(self._shelf, self._spent.job):
            return self._draft.booking()
        for key, amount in self._spent.drawn.items():
            self._drawer(key, _net(self._took.get(key, [])) - amount)
        for cable, amount in self._spent.cable.items():
            self._cable(cable, amount)
        if self._elsewhere:
            names = ", ".join(self._elsewhere)
            self._draft.remark(f"not on the shelf, so that nothing is booked of: {names}")
        return self._draft.booking()

    def _about(self) -> None:
        shelf, job = self._shelf, self._spent.job
        about, held = about_job(job), _holds(shelf, job)
        concerned = was_issued(shelf, job) or is_kept_for(shelf, job)
        told = key_of(about, "each") in self._took and fold(job) not in shelf.history.not_done
        if held or (concerned and not told):
            self._draft.about(DONE, about, job=job)
        if held:
            self._draft.remark(f"what was set aside for '{job}' is free again")

    def _drawer(self, key: ThingKey, over: Decimal) -> None:
        if not over:
            return
        if self._draft.knows(key):
            lacking = max(Decimal(), -over - self._draft.on_hand(key))
            if over + lacking:
                self._move(key, over + lacking)
            if lacking:
                account = self._shelf.accounts[key]
                amount = f"{plain(shown(lacking, account.per))} {account.unit}"
                self._nowhere(f"{amount} of '{account.name}'", "ITEM NUMBER")
        elif key in self._took:
            says = f"'{self._took[key][0].item}' is no longer in the stock book"
            where = Where(self._shelf.stock.file)
            self._draft.refuse(error(where, says, "put its row back"))
        else:
            self._elsewhere.append(f"'{self._spent.names.get(key, key[0])}'")

    def _cable(self, cable: str, spent: Decimal) -> None:
        """The pieces that were opened for a cable, of which the longest gets or gives first."""
        own = {key: moves for key, moves in self._took.items() if self._is(key, moves, cable)}
        moves = [move for each in own.values() for move in each]
        over = _net(moves) - self._trims(cable, moves) - spent
        if not over:
            return
        known = (key for key in own if self._now(key) == cable)
        there = sorted(known, key=self._draft.on_hand, reverse=True)
        if over > 0:
            self._back(cable, there, over)
        elif own or self._pieces(cable):
            self._more(cable, there, -over)
        else:
            self._elsewhere.append(cable)

    def _is(self, key: ThingKey, moves: Sequence[Move], cable: str) -> bool:
        """By what was issued; by the book where the moves do not say."""
        said = next((words for move in moves if (words := cable_of(move.note))), "")
        return (said or self._now(key)) == cable

    def _now(self, key: ThingKey) -> str:
        """The cable that a piece of this name is of by the book; another may have its name now."""
        account = self._shelf.accounts.get(key)
        return cable_in_words(account) if account else ""

    def _pieces(self, cable: str) -> Sequence[ThingKey]:
        known = self._shelf.accounts.items()
        return [k for k, a in known if cable_in_words(a) == cable and self._draft.on_hand(k)]

    def _trims(self, cable: str, moves: Sequence[Move]) -> Decimal:
        """What the cuts lost: issued beyond the pieces, and a trim for each cut at the most."""
        issued = [move for move in moves if move.what == "issue"]
        cuts = sum(len(wires_cut(move.note, 0)) for move in issued)
        beyond = _net(issued) - self._spent.pieces.get(cable, Decimal())
        return min(max(beyond, Decimal()), Decimal(cuts * self._spent.trim_mm))

    def _back(self, cable: str, there: Sequence[ThingKey], over: Decimal) -> None:
        if not there or over > _net(self._took[there[0]]):
            self._draft.remark(
                f"{cable}: {_m(over)} m {BACK}, and of which length cannot be told, so that it is "
                "not booked: bom stock count PIECE LENGTH with what is on it now"
            )
        elif self._draft.on_hand(there[0]) + over < self._spent.useful_mm:
            useful = self._spent.useful_mm
            self._draft.remark(f"{cable}: {_m(over)} m {BACK}, under {useful} mm: scrap")
        else:
            self._move(there[0], over, cable)

    def _more(self, cable: str, there: Sequence[ThingKey], lacking: Decimal) -> None:
        """Off one length, as a wire is cut from one: a rest of the job's own, its scrap, another.

        Where none has it all, off several.
        """
        issued = [key for key in there if any(move.what == "issue" for move in self._took[key])]
        own = next((key for key in issued if self._free(key) >= lacking), None)
        if own:
            self._move(own, -lacking, cable)
            return
        says = f"{cable}: {_m(lacking)} m more than was issued"
        if max(self._scraps_of(cable), default=0) >= lacking:
            self._draft.remark(f"{says}: {_m(lacking)} m of its own scrap")
            return
        for there_is in (self._free, self._draft.on_hand):
            whole = [key for key in self._pieces(cable) if there_is(key) >= lacking]
            if whole:
                off = self._off(min(whole, key=there_is), lacking, cable)
                self._draft.remark(f"{says}: {off}")
                return
        self._split(cable, issued, lacking)

    def _split(self, cable: str, issued: Sequence[ThingKey], lacking: Decimal) -> None:
        """Off the rests of the job's own lengths, its scraps, other lengths, what is set aside."""
        says, told = f"{cable}: {_m(lacking)} m more than was issued", []
        for key, part in self._given(lacking, issued, self._free):
            lacking -= part
            told.append(self._off(key, part, cable))
        scrap = min(lacking, sum(self._scraps_of(cable), Decimal()))
        lacking -= scrap
        told += [f"{_m(scrap)} m of its own scrap"] * bool(scrap)
        for there_is in (self._free, self._draft.on_hand):
            for key, part in self._given(lacking, self._longest_first(cable), there_is):
                lacking -= part
                told.append(self._off(key, part, cable))
        if not lacking:
            self._draft.remark(f"{says}: by guess {listed(told)}; {_COUNT} where it is otherwise")
            return
        if told:
            self._draft.remark(f"{says}: {listed(told)}")
        self._nowhere(f"{_m(lacking)} m of {cable}", "PIECE LENGTH")

    def _scraps_of(self, cable: str) -> Sequence[Decimal]:
        """The lengths of a cable that the issue scrapped."""
        own = ((k, moves) for k, moves in self._scraps.items() if self._is(k, self._took[k], cable))
        return [_net([move]) for _, moves in own for move in moves]

    def _free(self, key: ThingKey) -> Decimal:
        """What there is of a piece that is not set aside for others."""
        return max(self._draft.on_hand(key) - self._shelf.held(key), Decimal())

    def _longest_first(self, cable: str) -> Sequence[ThingKey]:
        return sorted(self._pieces(cable), key=self._free, reverse=True)

    def _given(
        self, lacking: Decimal, keys: Iterable[ThingKey], there: Callable[[ThingKey], Decimal]
    ) -> Iterator[tuple[ThingKey, Decimal]]:
        """What each length gives, one after the other, until nothing is lacking."""
        for key in keys:
            part = min(lacking, there(key))
            if part:
                lacking -= part
                yield key, part

    def _off(self, key: ThingKey, part: Decimal, cable: str) -> str:
        self._move(key, -part, cable)
        return f"{_m(part)} m off {self._shelf.accounts[key].name}"

    def _nowhere(self, what: str, counting: str) -> None:
        self._draft.remark(
            f"{what} used that the book has not, so that it is not booked: bom stock count "
            f"{counting} with what is there now"
        )

    def _move(self, key: ThingKey, over: Decimal, cable: str = "") -> None:
        what = BACK if over > 0 else MORE
        note = f"{cable}; {what}" if cable else what
        self._draft.move(key, DONE, over, job=self._spent.job, note=note)
        held, left = self._shelf.held(key), self._draft.on_hand(key)
        if over < 0 and held > left:
            name = self._shelf.accounts[key].name
            self._draft.remark(f"'{name}': more is set aside than is left of it: hold again")


def _by_thing(moves: Iterable[Move]) -> dict[ThingKey, list[Move]]:
    found: dict[ThingKey, list[Move]] = defaultdict(list)
    for move in moves:
        found[key_of(move.item, move.unit)].append(move)
    return dict(found)


def _net(moves: Sequence[Move]) -> Decimal:
    """What the job has of a thing, in millimetres or its own unit."""
    return -sum((move.change * per_unit(move.unit) for move in moves), Decimal())


def _m(mm: Decimal) -> str:
    return plain(shown(mm, _PER_M))
