"""Prices into the owner's price book: the row that sells the goods changed, or a new one added."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TypeAlias

from msgspec import Struct

from bom.files.safely import told
from bom.files.sheet import column_number, letters_of
from bom.files.spelling import fold
from bom.job import Workshop, house_rules
from bom.read.books import find_book
from bom.read.matching import Goods
from bom.read.prices import read_prices
from bom.shelf.stockbook.edits import Edit, NewRow, Unwritable
from bom.shelf.stockbook.owner import OwnersBook
from bom.trade.orders import Price, PriceBook
from bom.trade.placed import SoldAs
from bom.trade.problem import Where, error
from bom.trade.rows import Listing
from bom.workshop.new_books import new_prices
from bom.workshop.stockroom import How, opened


class NewPrice(Struct, frozen=True, kw_only=True):
    """What a row of the price book is to say; `price` in the way in which the list keeps it."""

    supplier: str
    goods: Goods
    sold_as: SoldAs
    pack: Decimal
    price: Decimal
    part_no: str

    @property
    def key(self) -> tuple[object, ...]:
        """What tells a row that sells this from any other, but for its part number."""
        goods = self.goods
        sold = (goods.gauge, goods.colour, self.sold_as, self.pack)
        return (fold(self.supplier), fold(goods.item), *sold)


InRow: TypeAlias = tuple[Price | None, NewPrice]
"""A price and the row that it goes into, None where it needs one of its own."""


class OwnRows:
    """The rows of the price book, by what they sell and in which pack."""

    def __init__(self, prices: PriceBook) -> None:
        self._rows: dict[tuple[object, ...], list[Price]] = {}
        for price in prices.prices:
            if price.from_qty == 1:
                self._rows.setdefault(key_of_row(price), []).append(price)

    def older(self, new: NewPrice) -> Price | None:
        """The row that this is a newer price of; each is taken once."""
        rows = self._rows.get(new.key, [])
        for number, price in enumerate(rows):
            if same_part(price.part_no, new.part_no):
                return rows.pop(number)
        return None


def key_of_row(price: Price) -> tuple[object, ...]:
    """As `NewPrice.key`."""
    sold = (price.gauge, price.colour, price.sold_as, price.pack)
    return (fold(price.supplier), fold(price.item), *sold)


def same_part(first: str, second: str) -> bool:
    """True where two part numbers may be of one thing: one of them is not told, or they agree."""
    parts = (fold(first), fold(second))
    return "" in parts or parts[0] == parts[1]


def write_prices(
    workshop: Workshop,
    folder: Path,
    placed: Callable[[PriceBook], Iterable[InRow]],
    day: date,
    how: How,
) -> None:
    """Put prices into the price book, all or none; one that is not there is made first.

    `placed` finds their rows in the book as it is once nobody else can change it.
    """
    own = find_book(folder, "prices")
    if own is not None:
        _write_into(own, workshop, placed, (day, how))
        return
    with told(folder / "prices.xlsx"):
        made = new_prices(folder, workshop.catalogue)
    try:
        _write_into(made, workshop, placed, (day, how))
    except BaseException:  # Ctrl-C too: a blank list is no answer to the command
        made.unlink()
        raise


def _write_into(
    path: Path,
    workshop: Workshop,
    placed: Callable[[PriceBook], Iterable[InRow]],
    when: tuple[date, How],
) -> None:
    rules, _ = house_rules(workshop)
    day, how = when
    with opened(path, how):
        with told(path):
            owned = OwnersBook.look(path, one_list=True)
        suppliers = find_book(path.parent, "suppliers")
        prices, _ = read_prices(
            path, suppliers, rules.tax_percent, workshop.catalogue, workshop.own
        )
        if prices.listing is None or not prices.listing.header_row:
            says = "no row has the headings 'supplier' and 'item'"
            raise Unwritable(error(Where(path.name), says, "the headings of a price list"))
        edits, rows = _changes(placed(prices), prices.listing, day)
        owned.save(owned.changed(edits, rows, {}), copies=rules.keep_copies)


def _changes(
    placed: Iterable[InRow], place: Listing, day: date
) -> tuple[Sequence[Edit], Sequence[NewRow]]:
    """Cells of the rows that are there, and new rows, which go into the first of the lists."""
    edits: list[Edit] = []
    rows: list[NewRow] = []
    letters = dict(place.letters)
    if "date" not in letters:
        letters["date"] = _next_letter(letters.values())
        cell = f"{letters['date']}{place.header_row}"
        edits.append(Edit(sheet=place.sheet, cell=cell, value="date"))
    for old, new in placed:
        if old is not None and old.row is not None:
            sheet, number = old.row.sheet, old.row.number
            heads = letters if sheet == place.sheet else old.row.letters
            edits += [
                Edit(sheet=sheet, cell=f"{heads[name]}{number}", value=value)
                for name, value in (("price", new.price), ("date", f"{day}"))
                if name in heads
            ]
        else:
            cells = {letters[h]: cell for h, cell in _cells(new, day).items() if h in letters}
            rows.append(NewRow(sheet=place.sheet, header_row=place.header_row, values=cells))
    return edits, rows


def _cells(new: NewPrice, day: date) -> Mapping[str, str | Decimal | None]:
    """What a new row says, by heading."""
    return {
        "supplier": new.supplier,
        "item": new.goods.item,
        "gauge": new.goods.gauge or None,
        "colour": str(new.goods.colour) if new.goods.colour else None,
        "sold as": new.sold_as,
        "pack": new.pack,
        "price": new.price,
        "part no": new.part_no or None,
        "date": f"{day}",
    }


def _next_letter(letters: Iterable[str]) -> str:
    """The column behind all of these."""
    return letters_of(max(map(column_number, letters)) + 1)
