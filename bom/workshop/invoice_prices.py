"""The prices of an invoice into the owner's price book, as a supplier's list would change it.

invoiced -> the rows it was bought at -> prices and days changed, or rows added
"""

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from bom.estimate import read_shelf
from bom.files import clock
from bom.files.safely import NotWritten
from bom.files.spelling import fold, plain
from bom.job import Workshop, house_rules
from bom.read.books import find_book
from bom.read.matching import Goods
from bom.read.prices import read_prices
from bom.shelf.stockbook.edits import Unwritable
from bom.shelf.stockbook.keep import settle
from bom.trade.job_book import Colour
from bom.trade.money import round_price
from bom.trade.orders import Price, PriceBook
from bom.trade.placed import OrderLine, SoldAs
from bom.trade.problem import Problem, Where, as_typed, error, has_errors, in_file_order
from bom.trade.rows import Row
from bom.workshop.price_rows import InRow, NewPrice, same_part, write_prices
from bom.workshop.stockroom import How, no_stock_book


class Invoiced(Struct, frozen=True, kw_only=True):
    """What an invoice says: `price` bought one pack (or metre, or piece), net of tax.

    `packs` is how many were bought: at so many another row of the price book may hold.
    """

    supplier: str
    item: str
    gauge: str = ""
    colour: Colour | None = None
    sold_as: SoldAs
    pack: Decimal = Decimal(1)
    price: Decimal
    part_no: str = ""
    packs: int = 1


def invoiced_line(line: OrderLine, price: Decimal) -> Invoiced:
    """A line of an order at the price of its invoice."""
    return Invoiced(
        supplier=line.supplier,
        item=line.item,
        gauge=line.gauge,
        colour=line.colour,
        sold_as=line.sold_as,
        pack=line.pack,
        price=price,
        part_no=line.part_no,
        packs=line.packs,
    )


class Repriced(Struct, frozen=True, kw_only=True):
    """A price of an invoice; `was` is the price there before, net too, None where it is new."""

    invoiced: Invoiced
    was: Decimal | None

    def __str__(self) -> str:
        one = self.invoiced
        pack = "" if one.pack == 1 else f" of {plain(one.pack)}"
        size = " ".join(filter(None, (one.gauge, str(one.colour or ""))))
        goods = f"cable {size}" if one.gauge else one.item
        was = "new" if self.was is None else f"was {self.was}"
        return f"{one.supplier}, {goods}, {one.sold_as}{pack}: {round_price(one.price)} ({was})"


class BookedPrices(Struct, frozen=True, kw_only=True):
    """What came of the prices of an invoice, in the price book `file`."""

    file: str = ""
    prices: tuple[Repriced, ...] = ()
    written: bool = False
    problems: tuple[Problem, ...] = ()


def book_invoice(
    workshop: Workshop, invoiced: Sequence[Invoiced], day: date, how: How
) -> BookedPrices:
    """Put the prices of an invoice into the price book, dated, all of them or none.

    It locks the price book: not to be called while that is open already.
    """
    folder = workshop.folder
    if folder is None or not invoiced:
        return BookedPrices()
    own, suppliers = find_book(folder, "prices"), find_book(folder, "suppliers")
    name = own.name if own else "prices.xlsx"
    rules, faults = house_rules(workshop)
    try:
        if own:
            settle(own)
        prices, unread = read_prices(
            own, suppliers, rules.tax_percent, workshop.catalogue, workshop.own
        )
        problems = in_file_order((*faults, *unread))
        if has_errors(problems):
            return BookedPrices(file=name, problems=problems)
        told = tuple(_repriced(one, _row_of(one, prices)) for one in invoiced)
        if not how.dry_run:
            tax = 1 + rules.tax_percent / 100
            write_prices(workshop, folder, lambda now: _placed(invoiced, now, tax), day, how)
        return BookedPrices(file=name, prices=told, written=not how.dry_run, problems=problems)
    except Unwritable as refusal:
        return BookedPrices(file=name, problems=in_file_order(refusal.problems))
    except NotWritten as fault:
        return BookedPrices(file=name, problems=(error(Where(name), fault.says, fault.cure),))


def paid_on(workshop: Workshop, number: str, how: How) -> BookedPrices:
    """Put what the lines of an order cost into the price book, where that has another price."""
    path = find_book(workshop.folder, "stock") if workshop.folder else None
    if path is None:
        return BookedPrices(problems=no_stock_book(workshop))
    stock, unread = read_shelf(path, workshop.catalogue, workshop.own)
    lines = [line for line in stock.orders if fold(line.number) == fold(number)]
    if has_errors(unread) or not lines:
        none = error(Where(path.name), f"there is no order '{number}'", "bom stock orders")
        return BookedPrices(problems=unread if has_errors(unread) else (none,))
    came = [line for line in lines if line.came]
    invoiced = [invoiced_line(n, n.price) for n in came if n.price is not None]
    if not invoiced:
        where = (came or lines)[0].row.where("price" if came else "came")
        says, cure = f"nothing of order {number} has come", f"bom stock orders {as_typed(number)}"
        if came:
            says = f"no price for what came of order {number}"
            cure = "the price of a pack in its line"
        return BookedPrices(problems=(error(where, says, cure),))
    found = book_invoice(workshop, invoiced, clock.today(), replace(how, dry_run=True))
    others = [one.invoiced for one in found.prices if one.was != round_price(one.invoiced.price)]
    return (
        book_invoice(workshop, others, clock.today(), how) if others else replace(found, prices=())
    )


def _repriced(one: Invoiced, row: Price | None) -> Repriced:
    return Repriced(invoiced=one, was=None if row is None else round_price(row.price))


def _row_of(one: Invoiced, prices: PriceBook) -> Price | None:
    """The row that it was bought at: of its own colour before one of every plain colour."""
    is_plain = one.colour is not None and not one.colour.trace
    sold = (fold(one.supplier), one.sold_as, one.pack)
    rows = [
        row
        for row in prices.by_gauge.get(one.gauge, ())
        if (fold(row.supplier), row.sold_as, row.pack) == sold
        and (one.gauge or fold(row.item) == fold(one.item))
        and (row.colour == one.colour or (row.colour is None and is_plain))
        and row.from_qty <= one.packs
        and same_part(row.part_no, one.part_no)
    ]
    return max(rows, key=lambda row: (row.colour == one.colour, row.from_qty), default=None)


def _placed(invoiced: Sequence[Invoiced], prices: PriceBook, tax: Decimal) -> Iterator[InRow]:
    """Each with its row, priced as that supplier's list is: with tax, where it has tax in it.

    Where two of them were bought at one row and cost differently, the second gets its own.
    """
    listed = {fold(name): terms for name, terms in prices.suppliers.items()}
    spelled = {fold(row.supplier): row.supplier for row in prices.prices}
    changed: dict[Row | None, Decimal] = {}
    for one in invoiced:
        terms, row = listed.get(fold(one.supplier)), _row_of(one, prices)
        taxed = tax if terms and terms.with_tax else 1
        new = NewPrice(
            supplier=terms.name if terms else spelled.get(fold(one.supplier), one.supplier),
            goods=Goods("cable" if one.gauge else one.item, one.gauge, one.colour),
            sold_as=one.sold_as,
            pack=one.pack,
            price=round_price(one.price * taxed),
            part_no=one.part_no,
        )
        before = changed.get(row.row) if row else None
        if row and before is None:
            changed[row.row] = new.price
        if before != new.price:
            yield (row if before is None else None), new
