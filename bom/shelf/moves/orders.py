"""Orders as the shelf sees them: placed, come in, sent back, closed; each undone line by line.

Nothing of an order is kept in the moves but what each command did to its lines.  A receipt goes by
number and line, never by article and price.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct

from bom.files.spelling import fold, plain
from bom.files.units import shown
from bom.shelf.moves.account import Shelf
from bom.shelf.moves.arrive import COST, Arrival, words_of
from bom.shelf.moves.booking import Booking, Draft, Refusal
from bom.shelf.moves.commands import was
from bom.shelf.moves.kept import Came
from bom.trade.catalogue import Catalogue
from bom.trade.orders import Arrived, ForJobs
from bom.trade.placed import OrderLine
from bom.trade.problem import Where, as_typed, counted, error, nearest
from bom.trade.rows import Row, Written

_FEW = 5
"""So many lines that are still to come are named; of more only the number."""
_TIMES = 10
"""So many times more than what was ordered, or dearer, is a slip of the finger."""
_SUBJECT = re.compile(r"order (.+)")


class Placed(Struct, frozen=True):
    """An order that was placed with a supplier: its number, lines and goods without postage."""

    number: str
    supplier: str
    lines: int
    goods: Decimal


def subject(number: str) -> str:
    """What the moves call an order."""
    return f"order {number}"


# ----------------------------------------------------------------------------- placing


def place(shelf: Shelf, lines: Sequence[ForJobs], day: date) -> tuple[Booking, tuple[Placed, ...]]:
    """Write the lines into Orders, one number a supplier."""
    draft = Draft(shelf)
    numbers = _numbers(shelf, day.year)
    placed = []
    by_supplier: dict[str, list[ForJobs]] = defaultdict(list)
    for one in lines:
        by_supplier[one.line.supplier].append(one)
    for supplier, own in by_supplier.items():
        number = next(numbers)
        for one in own:
            draft.order(_row(number, day, one))
        order = Placed(number, supplier, len(own), sum((o.line.cost for o in own), Decimal()))
        draft.about("order", subject(number), note=f"{supplier}, {counted(order.lines, 'line')}")
        placed.append(order)
    return draft.booking(), tuple(placed)


def _numbers(shelf: Shelf, year: int) -> Iterator[str]:
    """Numbers of a year that no order has had, not even one that was undone."""
    named = (found[1] for m in shelf.stock.moves if (found := _SUBJECT.fullmatch(m.item)))
    known = (*(line.number for line in shelf.stock.orders), *named)
    counts = [int(found[1]) for n in known if (found := re.fullmatch(rf"{year}-(\d+)", n))]
    count = max(counts, default=0)
    while True:
        count += 1
        yield f"{year}-{count:03d}"


def _row(number: str, day: date, one: ForJobs) -> dict[str, Written]:
    line, per = one.line, 1000 if one.line.unit == "mm" else 1
    needed = [shown(amount, Decimal(per)) for amount in one.needed.values()]
    return {
        "number": number,
        "date": f"{day}",
        "supplier": line.supplier,
        "item": line.item,
        "gauge": line.gauge or None,
        "colour": str(line.colour) if line.colour else None,
        "sold as": line.sold_as,
        "pack": line.pack,
        "packs": line.packs,
        "price": line.price.quantize(COST).normalize(),
        "part no": line.part_no or None,
        "for": ", ".join(f'"{job}"' if re.search("[,;]", job) else job for job in one.needed),
        "needed": needed[0] if len(needed) == 1 else ", ".join(map(plain, needed)),
        "came": 0,
    }


# ------------------------------------------------------------------------------- lines


def lines_of(shelf: Shelf, number: str) -> list[OrderLine]:
    """The lines of an order; `Refusal` where there is none, or not all of Orders can be read.

    One of the same count is meant, `2026-04` or `4`; else any that is open may be.
    """
    if shelf.stock.unread:
        raise Refusal(*shelf.stock.unread)
    lines = [line for line in shelf.stock.orders if fold(line.number) == fold(number)]
    if not lines:
        numbers = list(dict.fromkeys(line.number for line in shelf.stock.orders if line.to_come))
        count = number.rpartition("-")[2].lstrip("0")
        meant = [one for one in numbers if one.rpartition("-")[2].lstrip("0") == count]
        cure = ", ".join(meant or numbers)
        says = f"there is no order '{number}'"
        raise Refusal(error(Where(shelf.stock.file), says, cure or "bom stock orders"))
    return lines


def lines_meant(lines: Iterable[OrderLine], item: str) -> list[OrderLine]:
    """The lines of an order that an item means: by its name, its cable, or its part number.

    What is sold in two forms takes the form as well: `1.0 red, reel`.  Several lines are only
    those of one article in one form, which nothing tells apart.
    """
    lines = tuple(lines)
    found = [line for line in lines if fold(item) in _names(line)]
    if found and len(_alike(found, found[0])) == len(found):
        return found
    where = Where(lines[0].row.file, lines[0].row.sheet)
    if found:
        cure = " or ".join(dict.fromkeys(f"'{word_of(lines, one)}'" for one in found))
        raise Refusal(error(where, f"'{item}' is more than one line of the order", cure))
    cure = nearest(item, [line.item for line in lines]) or lines[0].item
    raise Refusal(error(where, f"'{item}' is not on order {lines[0].number}", cure))


def word_of(lines: Iterable[OrderLine], line: OrderLine) -> str:
    """What a line of an order is called so that it alone is meant, or one wholly like it.

    Where other lines are called like its forms there is none: its item then, which is refused.
    """
    lines = tuple(lines)
    words = (line.item, *(f"{line.item}, {form}" for form in _forms(line)[1:]))
    own = {one.row for one in _alike(lines, line)}
    meant = ((word, {one.row for one in lines if fold(word) in _names(one)}) for word in words)
    return next((word for word, rows in meant if rows <= own), line.item)


def called(shelf: Shelf, line: OrderLine) -> str:
    """What the moves call a line: its order, and which line of it where others are alike."""
    lines = lines_of(shelf, line.number)
    which = f", line {lines.index(line) + 1}" if len(_alike(lines, line)) > 1 else ""
    return f"{subject(line.number)}{which}"


def _alike(lines: Iterable[OrderLine], line: OrderLine) -> list[OrderLine]:
    """The lines of the same article in the same form."""
    return [one for one in lines if _goods(one) == _goods(line)]


def _goods(line: OrderLine) -> tuple[str, str, Decimal]:
    return words_of(line.item, line.gauge, line.colour), line.sold_as, line.pack


def _names(line: OrderLine) -> set[str]:
    words = {fold(line.item), words_of(line.item, line.gauge, line.colour)}
    forms = {f"{word}, {form}" for word in words for form in _forms(line)}
    return words | forms | ({fold(line.part_no)} if line.part_no else set())


def _form(line: OrderLine) -> str:
    return line.sold_as if line.pack == 1 else f"{line.sold_as} of {plain(line.pack)}"


def _forms(line: OrderLine) -> tuple[str, ...]:
    """The words for how a line is sold; the last of them is no other line's of the article."""
    return line.sold_as, _form(line), f"{line.sold_as} of {plain(line.pack)}"


def packs_of(line: OrderLine, number: int) -> str:
    """So many packs of a line, as the moves say it: `2 x pack of 50`."""
    return f"{number} x {_form(line)}"


# ----------------------------------------------------------------------------- receipt


class Parcel(Struct, frozen=True, kw_only=True):
    """What came of an order: packs of each item; None is all that is to come.

    `prices` are those of the invoice, of one pack without tax.
    """

    number: str
    packs: Sequence[tuple[str, int]] | None
    prices: Sequence[tuple[str, Decimal]]


class Received(Struct, frozen=True):
    """A parcel as a booking, what came line by line, and the lines that have a new price."""

    booking: Booking
    arrivals: tuple[Came, ...]
    repriced: tuple[tuple[OrderLine, Decimal], ...]


def receive_order(shelf: Shelf, parcel: Parcel, setting: tuple[Catalogue, str, int]) -> Received:
    """Book a parcel in; nothing of it is set aside yet.

    `setting` is the catalogue, the place for what is new, and the end that is lost of a reel.
    """
    lines = lines_of(shelf, parcel.number)
    come = _come(lines, parcel.packs)
    draft = Draft(shelf)
    if not come:
        number = lines[0].number
        says = f"all of order {number} has come"
        cure = "--only ITEM=PACKS where more came than was ordered"
        if any(line.to_come for line in lines):
            says, cure = "nothing came", f"bom stock close {as_typed(number)}, if none will"
        draft.refuse(error(lines[0].row.where("came"), says, cure))
    prices = _invoiced(draft, lines, come, parcel.prices)
    receipt = _Receipt(draft, shelf, Arrival(draft, shelf, *setting), prices)
    for line, packs in come:
        _doubt(draft, line, packs, prices.get(line.row))
    arrivals = tuple(receipt.take(line, packs) for line, packs in come)
    receipt.tell(lines)
    new = [line for line, _ in come if prices.get(line.row, line.price) != line.price]
    return Received(draft.booking(), arrivals, tuple((line, prices[line.row]) for line in new))


def _come(
    lines: Sequence[OrderLine], named: Iterable[tuple[str, int]] | None
) -> list[tuple[OrderLine, int]]:
    """The packs that came of each line; lines alike are filled one by one, the last has the rest.

    What is named twice came twice.
    """
    if named is None:
        return [(line, line.to_come) for line in lines if line.to_come]
    come: Counter[Row] = Counter()
    for item, packs in named:
        *first, last = lines_meant(lines, item)
        for line in first:
            part = min(packs, max(line.to_come - come[line.row], 0))
            come[line.row] += part
            packs -= part
        come[last.row] += packs
    return [(line, come[line.row]) for line in lines if come[line.row]]


def _invoiced(
    draft: Draft,
    lines: Sequence[OrderLine],
    come: Iterable[tuple[OrderLine, int]],
    named: Iterable[tuple[str, Decimal]],
) -> dict[Row, Decimal]:
    """The price of each line that came with one; of what did not come none is taken."""
    here = {line.row for line, _ in come}
    prices: dict[Row, Decimal] = {}
    for item, price in named:
        meant = lines_meant(lines, item)
        rows = [line.row for line in meant if line.row in here]
        where = (rows or [meant[0].row])[0].where("price")
        if not rows and here:
            says = f"nothing of '{item}' is in this parcel, but a price is named for it"
            draft.refuse(error(where, says, "the price in its line, by hand"))
        if any(prices.setdefault(row, price) != price for row in rows):
            draft.refuse(error(where, f"two prices for '{item}'", "the one of the invoice"))
    return prices


def _doubt(draft: Draft, line: OrderLine, packs: int, price: Decimal | None) -> None:
    """Ask of ten times what is to come, and of a price ten times up or down to a tenth."""
    most, old = line.to_come or line.packs, line.price
    if 0 < _TIMES * most <= packs:
        says = f"'{line.item}': {packs} came, {most} {'to come' if line.to_come else 'ordered'}"
        draft.doubt(error(line.row.where("packs"), says, "--yes, if it is so"))
    if price is not None and old and not old / _TIMES < price < old * _TIMES:
        says = f"'{line.item}': {plain(price)} on the invoice, {plain(old)} in the order"
        draft.doubt(error(line.row.where("price"), says, "--yes, if it is so"))


class _Receipt:
    """A parcel in the making."""

    def __init__(
        self, draft: Draft, shelf: Shelf, arrival: Arrival, prices: Mapping[Row, Decimal]
    ) -> None:
        self._draft, self._arrival, self._prices = draft, arrival, prices
        self._shelf = shelf

    def take(self, line: OrderLine, packs: int) -> Came:
        """Book so many packs of a line."""
        price = self._prices.get(line.row, line.price)
        told = ""
        if price != line.price and price is not None:
            self._draft.set_on(line, "price", price)
            told = f"; {was('price', price, line.price)}"
        arrived = Arrived(
            supplier=line.supplier,
            item=line.item,
            gauge=line.gauge,
            colour=line.colour,
            sold_as=line.sold_as,
            pack=line.pack,
            packs=packs,
            price=price,
            row=line.row,
        )
        before = self._draft.packs(line, "came")
        come = self._arrival.come(arrived, called(self._shelf, line), told)
        self._draft.set_on(line, "came", before + packs)
        return Came(line=line, before=before, packs=packs, come=tuple(come))

    def _in_all(self, alike: Sequence[OrderLine]) -> str:
        ordered = sum(line.packs for line in alike)
        came = sum(self._draft.packs(line, "came") for line in alike)
        return f"{came} came, {ordered} {'was' if ordered == 1 else 'were'} ordered"

    def tell(self, lines: Sequence[OrderLine]) -> None:
        """What came beyond the order, and what is still to come of it."""
        for line in lines:
            more = self._draft.packs(line, "came") - max(line.packs, line.came)
            if more > 0:
                self._draft.remark(f"{line.item}: {self._in_all(_alike(lines, line))}")
        wanting = [line for line in lines if self._draft.packs(line, "came") < line.packs]
        if len(wanting) > _FEW:
            self._draft.remark(f"still to come of it: {len(wanting)} lines")
            return
        for line in wanting:
            rest = packs_of(line, line.packs - self._draft.packs(line, "came"))
            self._draft.remark(f"still to come: {rest}, {line.item}")
