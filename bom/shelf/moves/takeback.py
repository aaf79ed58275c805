"""A job called off after it was issued: what it took comes back to the shelf."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal

from bom.files.spelling import fold, plain
from bom.files.units import PIECE_UNIT, ThingKey, key_of, per_unit
from bom.shelf.moves.account import Shelf, cable_in_words
from bom.shelf.moves.arrive import PieceNames
from bom.shelf.moves.booking import Booking, Draft
from bom.shelf.moves.commands import NEW_ROW
from bom.shelf.moves.history import DONE, TAKEBACK, about_job
from bom.shelf.moves.wires_cut import CutWire, cable_of, gauge_and_colour, wires_cut
from bom.trade.problem import Problem, Where, counted, error, listed
from bom.trade.rows import Written
from bom.trade.shelf import Move, ShelfPiece

_AS_UNUSED = (
    "what comes out of the drawer comes back as if none of it was crimped or wrapped: bom stock "
    "count ITEM NUMBER where some was"
)


def take_back(
    shelf: Shelf, jobs: Sequence[str], useful_mm: int, cut: Collection[str] | None = None
) -> Booking:
    """Put back what was issued for jobs; `Refusal` for one of which nothing is out.

    Cut wires come back as offcuts with names of their own, but those under `useful_mm`, which are
    scrap, as the rests are that the issue scrapped.  `cut` says which wires have been cut, None all
    of them; what has not, and a length that went out whole, goes back on its piece.
    """
    back = _Back(shelf, useful_mm, cut)
    for job in jobs:
        back.of(job)
    return back.booking()


class _Back:
    def __init__(self, shelf: Shelf, useful_mm: int, cut: Collection[str] | None) -> None:
        self._shelf, self._useful_mm = shelf, useful_mm
        self._cut = None if cut is None else {fold(label): label for label in cut}
        self._unknown = dict(self._cut or {})
        self._draft = Draft(shelf)
        self._names = PieceNames(shelf)
        self._offcuts = self._scrap = 0
        self._from_drawer = False
        self._counted: list[str] = []

    def of(self, job: str) -> None:
        """All that one job has, thing by thing."""
        history = self._shelf.history
        if fold(job) not in history.issues:
            self._draft.refuse(self._never(job))
            return
        moves = history.out(job)
        job = moves[0].job  # as it is written there, in large letters or small
        self._draft.about(TAKEBACK, about_job(job), job=job)
        if any(move.what == DONE for move in moves):
            self._draft.remark(f"what is kept of '{job}' in done.csv teaches nothing any more")
        out: dict[ThingKey, list[Move]] = defaultdict(list)
        for move in moves:
            out[key_of(move.item, move.unit)].append(move)
        for key, own in out.items():
            cable = self._words(key, own)
            if cable:
                self._cable(job, key, (cable, own))
            elif not history.threads[key].is_no_thing:
                self._drawer(job, key, own)

    def _never(self, job: str) -> Problem:
        history = self._shelf.history
        moves = (move for command in history.standing for move in command.moves)
        issued = {move.job for move in moves if fold(move.job) in history.issues}
        cure = f"issued are: {', '.join(sorted(issued))}" if issued else ""
        says = f"nothing is out for '{job}'"
        when = history.taken_back.get(fold(job))
        says += f": it was taken back on {when}" if when else ""
        return error(Where(self._shelf.stock.file), says, cure)

    def _words(self, key: ThingKey, moves: Iterable[Move]) -> str:
        """The cable that was issued, such as `1.0 red`; '' for what comes from the drawer."""
        said = next((cable_of(m.note) for m in moves if wires_cut(m.note, 0)), "")
        return said or self._now(key)

    def _now(self, key: ThingKey) -> str:
        """The cable that a piece of this name is of by the book; another may have its name now."""
        account = self._shelf.accounts.get(key)
        return cable_in_words(account) if account else ""

    def _drawer(self, job: str, key: ThingKey, moves: Sequence[Move]) -> None:
        net = _net(moves)
        if net <= 0:
            return
        self._from_drawer = True
        note = ""
        if not self._draft.knows(key):
            self._draft.start(moves[0].item, moves[0].unit, "Drawer", {})
            note = NEW_ROW
        self._draft.move(key, TAKEBACK, net, job=job, note=note)

    # Cable

    def _cable(self, job: str, key: ThingKey, said: tuple[str, Sequence[Move]]) -> None:
        cable, moves = said
        net = _net(moves)
        wires = [w for m in moves if m.what == "issue" for w in wires_cut(m.note, _mm(m))]
        cut = [wire for wire in wires if self._is_cut(wire[0])]
        if not wires and self._cut is None:  # taken besides, for what was spoilt
            return
        if not cut or _is_whole(moves, wires):
            self._whole(job, key, net, said)
            return
        self._unmeasured(key, cut)
        for label, mm in sorted(cut, key=lambda wire: -wire[1]):
            if not mm or mm > net:  # what came back after the job is no wire any more
                continue
            net -= mm
            if mm < self._useful_mm:
                self._scrap += 1
            else:
                self._new(job, Decimal(mm), f"{cable}, {label} of {job}", (key, cable))
        if len(cut) < len(wires):
            issued = _net(move for move in moves if move.what == "issue")
            trims = int(issued - sum(mm for _, mm in wires)) * len(cut) // len(wires)
            self._whole(job, key, net - trims, said)

    def _is_cut(self, label: str) -> bool:
        if self._cut is None:
            return True
        self._unknown.pop(fold(label), None)
        return fold(label) in self._cut

    def _whole(
        self, job: str, key: ThingKey, net: Decimal, said: tuple[str, Sequence[Move]]
    ) -> None:
        """Back on its own piece; where that is not in the book any more, a piece of its own."""
        cable, moves = said
        if net <= 0:
            return
        if self._now(key) != cable:
            self._new(job, net, f"{cable}, {moves[0].item} of {job}", (key, cable))
            return
        self._draft.move(key, TAKEBACK, net, job=job, note=cable)
        since = (m for c in self._shelf.history.standing if c.when > moves[0].when for m in c.moves)
        if any(m.what == "count" and key_of(m.item, m.unit) == key for m in since):
            self._counted.append(moves[0].item)

    def _new(self, job: str, length: Decimal, note: str, of: tuple[ThingKey, str]) -> None:
        """A piece with a name of its own, at the cost of the one that it was cut from."""
        key, cable = of
        self._offcuts += 1
        account = self._shelf.accounts.get(key)
        gauge, colour = gauge_and_colour(cable)
        values: dict[str, Written] = {"gauge": gauge, "colour": colour}
        if account and isinstance(account.item, ShelfPiece) and self._now(key) == cable:
            values["cost per m"] = account.item.cost_per_m
        new = self._draft.start(self._names.next(), PIECE_UNIT, "Cable", values)
        self._draft.move(new, TAKEBACK, length, job=job, note=f"{NEW_ROW}; {note}")

    def _unmeasured(self, key: ThingKey, wires: Iterable[CutWire]) -> None:
        labels = [label for label, mm in wires if not mm]
        if labels:
            name = self._shelf.history.threads[key].name
            self._draft.remark(
                f"{name}: how long the wires {listed(labels)} are was not written down: measure "
                "them, and give each a row on the sheet Cable"
            )

    def booking(self) -> Booking:
        """All of it; raises `Refusal`."""
        draft, useful = self._draft, plain(Decimal(self._useful_mm))
        for label in self._unknown.values():
            says = f"no wire '{label}' was issued for it"
            draft.refuse(error(Where(self._shelf.stock.file), says, "bom cut JOB names them"))
        if self._offcuts:
            draft.remark("write its name on each offcut")
        if self._scrap:
            draft.remark(f"{counted(self._scrap, 'wire')} under {useful} mm: scrap")
        if self._from_drawer and self._cut != {}:
            draft.remark(_AS_UNUSED)
        if self._counted:
            draft.remark(f"counted since the issue, so count again: {listed(self._counted)}")
        return draft.booking()


def _is_whole(moves: Sequence[Move], wires: Sequence[CutWire]) -> bool:
    """True for a length that is one wire from end to end: it was never cut."""
    once = len(moves) == 1 and not moves[0].left
    return once and [mm for _, mm in wires] == [_mm(moves[0])]


def _mm(move: Move) -> int:
    """What a move took, in mm."""
    return int(-move.change * per_unit(move.unit))


def _net(moves: Iterable[Move]) -> Decimal:
    """What a job has of a thing, scrap with it, in millimetres or the thing's own unit."""
    return -sum((move.change * per_unit(move.unit) for move in moves), Decimal())
