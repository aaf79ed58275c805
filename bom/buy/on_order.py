"""What is on order, as goods that a job may count on before they have come."""

from collections import Counter
from collections.abc import Collection, Iterator
from decimal import Decimal

from msgspec.structs import replace

from bom.files.spelling import fold
from bom.trade.job_book import Colour
from bom.trade.placed import TOP_UP, OrderLine
from bom.trade.shelf import DrawerItem, ShelfPiece, Stock


def with_orders(stock: Stock, jobs: Collection[str], reel_end_mm: int) -> Stock:
    """The stock with what these jobs may take of what is still to come.

    A line is first for the jobs that it was ordered for, and what they do not wait for is free;
    those that are over wait for nothing.
    """
    own = {*map(fold, jobs), *stock.over}
    named: Counter[str] = Counter()
    pieces: list[ShelfPiece] = []
    drawer: list[DrawerItem] = []
    for line in stock.orders:
        free = _free(line, own)
        if free <= 0:
            continue
        if line.gauge:
            lengths = [*_lengths(line, free, reel_end_mm, named[line.number])]
            named[line.number] += len(lengths)
            pieces += lengths
        else:
            drawer.append(_item(line, free, "mm" if line.measured else "each"))
    return replace(stock, pieces=(*stock.pieces, *pieces), drawer=(*stock.drawer, *drawer))


def _free(line: OrderLine, own: Collection[str]) -> Decimal:
    """What of a line is still to come, less what other jobs wait for, in mm or pieces."""
    coming = line.each * line.to_come
    theirs = {fold(job) for job in line.jobs if job != TOP_UP}
    if not line.needed and len(theirs) > 1:
        return coming if theirs & {*own} else Decimal()
    waiting = line.waited_for(line.came, line.to_come)
    return coming - sum((part for job, part in waiting if fold(job) not in own), Decimal())


def _lengths(line: OrderLine, free: Decimal, reel_end_mm: int, before: int) -> Iterator[ShelfPiece]:
    """Metres come in one length, reels one by one: the last of them are the free ones."""
    whole = line.sold_as == "metre"
    for number in range(1 if whole else line.to_come):
        length = free if whole else min(free, line.each)
        free -= length
        if length <= 0:
            return
        yield ShelfPiece(
            name=f"order {line.number}/{before + number + 1}",
            gauge=line.gauge,
            colour=line.colour or Colour(""),
            length_mm=max(int(length) - (0 if whole else reel_end_mm), 0),
            cost_per_m=None if line.price is None else line.price / line.pack,
            place="on order",
            row=line.row,
            order=line.number,
        )


def _item(line: OrderLine, free: Decimal, unit: str) -> DrawerItem:
    return DrawerItem(
        item=line.item,
        unit=unit,
        on_hand=free,
        low=None,
        full=None,
        cost=None if line.price is None else line.price / line.each,
        place=f"order {line.number}",
        row=line.row,
        order=line.number,
    )
