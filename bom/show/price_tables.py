"""What the commands of the price lists print."""

from collections.abc import Iterator, Sequence
from datetime import date

from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.read.answers import ANSWERS
from bom.read.matching import Matched
from bom.read.price_headings import as_read
from bom.read.wanted_list import WANTED
from bom.show.price_found import ShownPrices, goods_of
from bom.show.shared import have_no_price, in_metres
from bom.trade.needs import Short
from bom.trade.orders import Price
from bom.trade.problem import counted
from bom.workshop.invoice_prices import BookedPrices
from bom.workshop.price_history import Paid
from bom.workshop.price_lists import AddedList

MOST_NAMED = 5
"""So many rows that are nothing of ours are named."""

MOST_SHOWN = 20
"""So many doubtful rows are printed; the others stand in answers.csv."""


def added_tables(added: AddedList) -> tuple[Table, ...]:
    """What was booked, then what is doubtful."""
    tables = [_booked_table(added)] if added.booked else []
    if added.doubtful:
        tables.append(_doubtful_table(added))
    return tuple(tables) or (_nothing(added),)


def _nothing(added: AddedList) -> Table:
    title = f"{added.supplier}: no price booked" if added.supplier else "no price booked"
    headings = Heading("item", str), Heading("price", str, "money")
    return Table.of(title, (), *headings, notes=_left(added))


def _booked_table(added: AddedList) -> Table:
    new = sum(1 for one in added.booked if one.was is None)
    several = len({one.supplier for one in added.booked}) > 1
    is_theirs = bool(added.taken)  # a list of prices wanted has our own words
    done = "booked" if added.written else "to be booked"
    return Table.of(
        f"{added.supplier}: {counted(len(added.booked), 'price')} {done}, {new} new",
        added.booked,
        Heading("supplier", lambda one: one.supplier, wide=28, shown=several),
        Heading("item", lambda one: str(one.matched.goods), wide=48),
        Heading("sold as", lambda one: one.matched.sold_as),
        Heading("pack", lambda one: one.matched.pack, "count"),
        Heading("price", lambda one: one.matched.price, "price"),
        Heading("was", lambda one: one.was, "price"),
        Heading("part no", lambda one: one.matched.listed.part_no, wide=16, gives_way=1),
        Heading("their words", lambda one: one.matched.listed.words, wide=48, shown=is_theirs),
        notes=_left(added),
    )


def wanted_table(wanted: Sequence[Short], jobs: Sequence[str]) -> Table:
    """What has no price, as a price list to fill in: who sells it, in which pack, for how much."""
    title = (
        f"{', '.join(jobs)}: {have_no_price(len(wanted))}" if wanted else "everything has a price"
    )
    return Table.of(
        title,
        wanted,
        Heading("supplier", lambda _: None, gives_way=3),
        Heading("item", lambda one: "cable" if one.gauge else one.item, wide=48),
        Heading("gauge", lambda one: one.gauge),
        Heading("colour", lambda one: str(one.colour or "")),
        Heading(WANTED, _amount),
        Heading("sold as", lambda one: "metre" if one.unit == "mm" else "each"),
        Heading("pack", lambda _: None, "quantity", gives_way=2),
        Heading("price", lambda _: None, "price"),
        Heading("part no", lambda _: None, gives_way=1),
        Heading("for", lambda one: ", ".join(one.jobs), shown=len(jobs) > 1, gives_way=4),
    )


def _amount(missing: Short) -> str:
    quantity, unit = in_metres(missing)
    return f"{plain(quantity)} {unit}"


def paid_table(booked: BookedPrices, number: str) -> Table:
    """The prices of an order beside those that the price book had."""
    done = "booked" if booked.written else "to be booked"
    nothing = f"{booked.file} has the prices of order {number} already"
    title = f"{booked.file}: {counted(len(booked.prices), 'price')} of order {number} {done}"
    return Table.of(
        title if booked.prices else nothing,
        booked.prices,
        Heading("item", lambda one: one.invoiced.item, wide=44),
        Heading("sold as", lambda one: one.invoiced.sold_as),
        Heading("pack", lambda one: one.invoiced.pack, "quantity"),
        Heading("price", lambda one: one.invoiced.price, "price"),
        Heading("was", lambda one: one.was, "price"),
    )


def _left(added: AddedList) -> Iterator[str]:
    """What was read as what, and what of the list is in neither table."""
    if added.taken:
        yield from as_read(added.taken)
    if added.not_ours:
        names = "; ".join(dict.fromkeys(added.not_ours[:MOST_NAMED]))
        more = "; ..." if len(added.not_ours) > MOST_NAMED else ""
        yield f"nothing that the catalogues hold: {len(added.not_ours)} ({names}{more})"
    if added.without_price:
        yield f"without a price: {added.without_price}"


def _doubtful_table(added: AddedList) -> Table:
    shown = added.doubtful[:MOST_SHOWN]
    more = len(added.doubtful) - len(shown)
    others = f"and {more} more; " if more else ""
    return Table.of(
        f"{added.supplier}: doubtful and not booked: {len(added.doubtful)}",
        shown,
        Heading("cell", lambda one: one.listed.row.where("description").cell),
        Heading("their words", lambda one: one.listed.words, wide=44),
        Heading("price", lambda one: one.listed.price, "price"),
        Heading("why", lambda one: "; ".join(one.doubts), wide=36),
        Heading("nearest", _nearest, wide=44),
        notes=(f"{others}yes or no to each goes into {ANSWERS}, or is asked on a terminal",),
    )


def _nearest(one: Matched) -> str:
    first = str(one.nearest[0]) if one.nearest else ""
    return first if one.sold_as in ("each", "metre") else f"{first}, {form_of(one)}"


def form_of(one: Matched | Price | Paid) -> str:
    """What its price buys: `by the metre`, `each`, `pack of 50`."""
    singly = {"metre": "by the metre", "each": "each"}
    return singly.get(one.sold_as, f"{one.sold_as} of {plain(one.pack)}")


def prices_tables(shown: ShownPrices, today: date) -> tuple[Table, ...]:
    """The price book by supplier, with the age of each price; of what was asked for, its past."""
    if shown.past is None:
        return (_prices_table(shown.prices, today),)
    found = _found_table(shown)
    return (found, _past_table(shown.past)) if shown.past else (found,)


def _prices_table(rows: Sequence[Price], today: date) -> Table:
    def days_old(row: Price) -> int | None:
        return (today - row.priced_on).days if row.priced_on else None

    return Table.of(
        f"{counted(len(rows), 'price')}, without tax",
        sorted(rows, key=lambda row: row.supplier),
        Heading("supplier", lambda row: row.supplier, wide=28),
        Heading("item", lambda row: row.item, wide=48),
        Heading("gauge", lambda row: row.gauge),
        Heading("colour", lambda row: str(row.colour or "")),
        Heading("sold as", lambda row: row.sold_as, gives_way=1),
        Heading("pack", lambda row: row.pack, "count"),
        _from_qty(rows),
        Heading("price", lambda row: row.price, "price"),
        Heading("days old", days_old, "count", gives_way=2),
    )


def _from_qty(rows: Sequence[Price]) -> Heading[Price]:
    several = any(row.from_qty > 1 for row in rows)
    return Heading(
        "from qty", lambda row: row.from_qty if row.from_qty > 1 else None, "count", shown=several
    )


def _found_table(shown: ShownPrices) -> Table:
    rows = shown.prices
    nothing = "no order, nothing that came in and no list before tells another price"
    return Table.of(
        f"{counted(len(rows), 'price')}, without tax",
        sorted(rows, key=lambda row: row.supplier),
        Heading("supplier", lambda row: row.supplier, wide=28),
        Heading("item", lambda row: str(goods_of(row)), wide=44),
        Heading("part no", lambda row: row.part_no, wide=16, gives_way=1),
        Heading("sold as", form_of),
        _from_qty(rows),
        Heading("price", lambda row: row.price, "price"),
        Heading("one costs", lambda row: row.price / row.pack, "price"),
        Heading("date", lambda row: str(row.priced_on or "")),
        notes=(nothing if shown.is_whole and not shown.past else None,),
    )


def _past_table(past: Sequence[Paid]) -> Table:
    return Table.of(
        "what they cost before, and what was paid",
        past,
        Heading("day", lambda paid: str(paid.day or "")),
        Heading("supplier", lambda paid: paid.supplier, wide=28),
        Heading("item", lambda paid: str(goods_of(paid)), wide=44),
        Heading("sold as", form_of),
        Heading("price", lambda paid: paid.price, "price"),
        Heading("one costs", lambda paid: paid.each, "price"),
        Heading("packs", lambda paid: paid.packs or None, "count"),
        Heading("from", lambda paid: paid.source, wide=30),
    )
