"""Orders in the workshop: placed from what the jobs lack, called up by number when a parcel comes.

jobs -> bought (inside the lock) -> shared out to the jobs -> rows of Orders
parcel -> lines of Orders -> shelf, set aside for the jobs that wait
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

from msgspec.structs import replace

from bom.buy.order import Conditions
from bom.buy.shares import shared_out
from bom.estimate import Bought, buy_for, given_by, read_shelf
from bom.files import clock, spelling
from bom.files.spelling import Misspelt, fold
from bom.job import Workshop, house_rules, job_books, open_job
from bom.read.books import find_book
from bom.shelf import moves
from bom.shelf.moves import Booking, Parcel, Placed, Refusal, Shelf, Taking
from bom.trade.placed import OrderLine
from bom.trade.problem import Problem, Where, counted, error, has_errors
from bom.trade.shelf import Stock

_T = TypeVar("_T")


class OrderPlan:
    """A plan that buys for jobs, and writes what is bought into Orders; it keeps what it found."""

    def __init__(
        self, jobs: Sequence[Path], *, topping_up: bool, asked: Conditions | None = None
    ) -> None:
        self._jobs, self._topping_up, self._asked = jobs, topping_up, asked
        self.bought: Bought | None = None
        self.placed: tuple[Placed, ...] = ()

    def __call__(self, shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        """Place the order; a job with errors is not ordered for."""
        bought = buy_for(self._jobs, topping_up=self._topping_up, rest=True, asked=self._asked)
        self.bought = bought
        if has_errors(bought.problems):
            raise Refusal(*(p for p in bought.problems if p.level == "error"))
        rules, _ = house_rules(bought.jobs[0].workshop) if bought.jobs else (None, ())
        trim_mm = rules.trim_mm if rules else 0
        short = (*bought.allotment.short, *bought.cut_list.short)
        lines = [*shared_out(bought.order.lines, short, bought.cut_list, trim_mm)]
        booking, self.placed = moves.place(shelf, lines, clock.today())
        return booking, ()


def to_come(stock: Stock, number: str = "") -> list[OrderLine]:
    """The lines that are still to come, or all of one order."""
    if number:
        return [line for line in stock.orders if fold(line.number) == fold(number)]
    return [line for line in stock.orders if line.to_come]


class ParcelPlan:
    """A plan that books a parcel of an order in; it keeps the lines that have a new price.

    `only` are words ITEM=PACKS; None is all that is to come, and of nothing named nothing came.
    """

    _called = ("--only", "--price")
    """Where the packs and the prices are typed."""

    def __init__(
        self,
        workshop: Workshop,
        number: str,
        *,
        only: Iterable[str] | None = None,
        prices: Iterable[str] = (),
        place: str = "",
    ) -> None:
        self._workshop, self._number, self._place = workshop, number, place
        self._only = None if only is None else tuple(only)
        self._prices = tuple(prices)
        self.repriced: tuple[tuple[OrderLine, Decimal], ...] = ()

    def __call__(self, shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        """Book it in; what was typed wrongly is a `Refusal`."""
        only = None if self._only is None else _typed(self._called[0], self._only, _packs)
        parcel = Parcel(
            number=self._number,
            packs=None if only is None else tuple(only),
            prices=tuple(_typed(self._called[1], self._prices, spelling.money)),
        )
        reel_end_mm = house_rules(self._workshop)[0].reel_end_mm
        setting = (self._workshop.catalogue, self._place, reel_end_mm)
        received = moves.receive_order(shelf, parcel, setting)
        self.repriced = received.repriced
        later = moves.after(shelf, received.booking)
        wants = _wants(self._workshop, moves.waiting_jobs(shelf, received.arrivals), later.stock)
        return received.booking.then(moves.keep(later, received.arrivals, wants)), ()


class _TypedParcel(ParcelPlan):
    """A parcel of a page; where its order has moved since that was shown, the owner is asked."""

    _called = ("packs of", "price of")

    def __init__(
        self, workshop: Workshop, number: str, lines: Iterable[tuple[str, str, str]], seen: str
    ) -> None:
        lines = [*lines]
        only = [f"{word}={packs}" for word, packs, _ in lines if packs.strip()]
        prices = [f"{word}={price}" for word, _, price in lines if price.strip()]
        super().__init__(workshop, number, only=only, prices=prices)
        self._seen = seen

    def __call__(self, shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        """Book it in; what was typed wrongly is a `Refusal`."""
        booking, problems = super().__call__(shelf)
        return replace(booking, doubts=(*self._moved(shelf), *booking.doubts)), problems

    def _moved(self, shelf: Shelf) -> Iterator[Problem]:
        """What came of the order, or went back, since the page was shown."""
        if not self._seen:
            return
        lines = to_come(shelf.stock, self._number)
        came = sum(line.came for line in lines)
        for number, seen in _typed("seen of", [f"{self._number}={self._seen}"], _packs):
            more, verb = abs(came - seen), "was" if abs(came - seen) == 1 else "were"
            done, asks = "received", "another parcel?"
            if came < seen:
                done, asks = "taken out again", "did this parcel come all the same?"
            moved = f"{counted(more, 'pack')} of order {number} {verb} {done}"
            says = f"{moved} since this page was shown: {asks}"
            if more:
                yield error(lines[0].row.where("came"), says, "--yes, if it is so")


def parcel_typed(
    workshop: Workshop, number: str, lines: Iterable[tuple[str, str, str]], seen: str = ""
) -> ParcelPlan:
    """A parcel as it is typed line by line: its word (`word_of`), packs and price, or blanks.

    `seen` is what had come of its order when it was typed: packs, all its lines together.
    """
    return _TypedParcel(workshop, number, lines, seen)


def _wants(workshop: Workshop, names: Sequence[str], stock: Stock) -> Mapping[str, Taking]:
    """What jobs take together of a shelf, by folded name; those whose book tells it."""
    jobs = [open_job(path, workshop=workshop) for path in job_books(workshop, names)]
    jobs = [job for job in jobs if job.takeoff]
    if not jobs:
        return {}
    needs, allotment, cut_list = given_by(stock, jobs)
    return {fold(one.job): one for one in moves.takings(needs, allotment, cut_list)}


def _packs(value: str) -> int:
    """How many packs came, 0 for none."""
    return spelling.count(value, 0)


def _typed(
    option: str, words: Iterable[str], read: Callable[[str], _T]
) -> Iterator[tuple[str, _T]]:
    """ITEM and what stands behind =; `Refusal` where that is not to be read."""
    for word in words:
        item, equals, value = word.rpartition("=")
        if not equals:
            says = f"'{word}' does not say how much"
            raise Refusal(error(Where(), says, f"{option} '{word}=2'"))
        try:
            yield item.strip(), read(value.strip())
        except Misspelt as fault:
            raise Refusal(error(Where(), f"{option} {item}: {fault.says}", fault.cure)) from fault


class ClosePlan:
    """A plan that puts down what will not come; it keeps for whom that was."""

    def __init__(self, number: str, item: str) -> None:
        self._number, self._item = number, item
        self.lacking: tuple[str, ...] = ()

    def __call__(self, shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        """Close the lines."""
        booking, self.lacking = moves.close(shelf, self._number, self._item)
        return booking, ()


class SendBackPlan:
    """A plan that takes packs that came off the shelf again; it keeps for whom none will come."""

    def __init__(self, number: str, item: str, packs: str, *, closed: bool) -> None:
        self._number, self._item, self._packs, self._closed = number, item, packs, closed
        self.lacking: tuple[str, ...] = ()

    def __call__(self, shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        """Send them back; a number typed wrongly is a `Refusal`."""
        try:
            packs = spelling.count(self._packs)
        except Misspelt as fault:
            raise Refusal(error(Where(), fault.says, fault.cure)) from fault
        booking, self.lacking = moves.send_back(
            shelf, self._number, self._item, packs, closed=self._closed
        )
        return booking, ()


def is_placed(workshop: Workshop, number: str) -> bool:
    """Whether there is an order of this number, whatever is wrong in the stock book."""
    path = find_book(workshop.folder, "stock") if workshop.folder else None
    return path is not None and bool(
        to_come(read_shelf(path, workshop.catalogue, workshop.own)[0], number)
    )
