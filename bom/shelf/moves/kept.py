"""What came of an order, set aside for the jobs that wait for it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from bom.files.spelling import fold
from bom.files.units import PIECE_UNIT, ThingKey, key_of, per_unit
from bom.shelf.moves.account import Account, Shelf, cable_in_words, shelf_of
from bom.shelf.moves.arrive import Come
from bom.shelf.moves.booking import Booking, Draft, NewListRow
from bom.shelf.moves.commands import set_aside
from bom.shelf.moves.taking import Taking
from bom.trade.job_book import Colour
from bom.trade.placed import OrderLine
from bom.trade.rows import Row
from bom.trade.shelf import DrawerItem, ShelfPiece


class Came(Struct, frozen=True, kw_only=True):
    """So many packs of a line that follow those before, and what they hold, length by length."""

    line: OrderLine
    before: int
    packs: int
    come: tuple[Come, ...]

    @property
    def waited_for(self) -> dict[str, Decimal]:
        """How much each job waits for of it by the order, by folded name."""
        return {fold(job): part for job, part in self.line.waited_for(self.before, self.packs)}


def after(shelf: Shelf, booking: Booking) -> Shelf:
    """The shelf as a booking leaves it, where it only adds; what the moves say stays as it was."""
    more: dict[ThingKey, Decimal] = defaultdict(Decimal)
    for entry in booking.entries:
        more[key_of(entry.item, entry.unit)] += entry.change * per_unit(entry.unit)
    stock = shelf.stock
    pieces = [p for row in booking.added if row.listing == "Cable" if (p := _piece(row, more))]
    items = [_item(row, more) for row in booking.added if row.listing == "Drawer"]
    drawer = []
    for item in stock.drawer:
        key = key_of(item.item, item.counted_in)
        drawer.append(replace(item, on_hand=item.on_hand + more.pop(key, Decimal())))
    later = replace(stock, pieces=(*stock.pieces, *pieces), drawer=(*drawer, *items))
    return shelf_of(later)[0]


def _piece(row: NewListRow, more: Mapping[ThingKey, Decimal]) -> ShelfPiece:
    name, colour = str(row.values["piece"]), str(row.values["colour"])
    body, _, trace = colour.partition("/")
    return ShelfPiece(
        name=name,
        gauge=str(row.values["gauge"]),
        colour=Colour(body, trace),
        length_mm=int(more[key_of(name, PIECE_UNIT)]),
        cost_per_m=None,
        place="",
        row=Row("", "", 0),
    )


def _item(row: NewListRow, more: Mapping[ThingKey, Decimal]) -> DrawerItem:
    name, unit = str(row.values["item"]), str(row.values["unit"])
    key = key_of(name, unit)
    return DrawerItem(
        item=name,
        unit="mm" if key[1] == "mm" else unit,
        on_hand=more[key],
        low=None,
        full=None,
        cost=None,
        place="",
        row=Row("", "", 0),
        counted_in=unit,
    )


def waiting_jobs(shelf: Shelf, arrivals: Iterable[Came]) -> list[str]:
    """The jobs that an order was for and that are not over, as the order has them."""
    named = (job for came in arrivals for job, _ in came.line.waited_for(0, came.line.packs))
    jobs = {fold(job): job for job in named}
    return [job for key, job in jobs.items() if key not in shelf.history.over]


def keep(shelf: Shelf, arrivals: Sequence[Came], wants: Mapping[str, Taking]) -> Booking:
    """Set aside what came for the jobs that wait, on the shelf as it is with it.

    `wants` is what jobs take of that shelf, by folded name: no job gets more of it than it still
    lacks, and what it has of a cable is brought into line, since a wire is cut from one length.
    Of a job without, as its book is gone or has errors, by the amounts of the order.
    """
    draft = Draft(shelf)
    left = {one.key: one.amount for came in arrivals for one in came.come}
    changes = [
        (job, key, more)
        for job in waiting_jobs(shelf, arrivals)
        for key, more in _Waiting(shelf, job, wants.get(fold(job))).changes(arrivals, left)
    ]
    for job, key, more in sorted(changes, key=lambda change: change[2] > 0):
        set_aside(draft, shelf, key, more, job)
    return draft.booking()


class _Waiting:
    """One job: what it has set aside, and what it takes."""

    def __init__(self, shelf: Shelf, job: str, want: Taking | None) -> None:
        self._shelf, self._job, self._want = shelf, fold(job), want
        self._held = {
            key_of(h.item, h.unit): h.quantity
            for h in shelf.history.holds
            if fold(h.job) == self._job
        }

    def changes(
        self, arrivals: Sequence[Came], left: dict[ThingKey, Decimal]
    ) -> Iterator[tuple[ThingKey, Decimal]]:
        """How much more, or less, is held of each thing; what is taken goes off what is left."""
        cables: dict[str, list[ThingKey]] = defaultdict(list)
        for came in arrivals:
            if self._want is None:
                yield from self._by_the_order(came, left)
            elif came.line.gauge:
                words = f"{came.line.gauge} {came.line.colour}"
                cables[words] += [one.key for one in came.come]
            else:
                yield from self._of_the_drawer(came, self._want, left)
        for words, keys in cables.items():
            if self._want:
                yield from self._of_cable(words, keys, self._want)

    def _by_the_order(
        self, came: Came, left: dict[ThingKey, Decimal]
    ) -> Iterator[tuple[ThingKey, Decimal]]:
        wanting = came.waited_for.get(self._job, Decimal())
        for one in came.come:
            part = min(wanting, left[one.key])
            if part > 0:
                wanting -= part
                left[one.key] -= part
                yield one.key, part

    def _of_the_drawer(
        self, came: Came, want: Taking, left: dict[ThingKey, Decimal]
    ) -> Iterator[tuple[ThingKey, Decimal]]:
        for key in dict.fromkeys(one.key for one in came.come):
            lacking = want.aside.get(key, Decimal()) - self._held.get(key, Decimal())
            part = min(lacking, left[key])
            if part > 0:
                left[key] -= part
                self._held[key] = self._held.get(key, Decimal()) + part
                yield key, part

    def _of_cable(
        self, words: str, came: Iterable[ThingKey], want: Taking
    ) -> Iterator[tuple[ThingKey, Decimal]]:
        before = [key for key in self._held if self._is(self._shelf.accounts.get(key), words)]
        for key in dict.fromkeys((*before, *came)):
            more = want.aside.get(key, Decimal()) - self._held.get(key, Decimal())
            if more:
                yield key, more

    def _is(self, account: Account | None, words: str) -> bool:
        return account is not None and fold(cable_in_words(account)) == fold(words)
