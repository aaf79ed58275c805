"""What the commands of the price lists print."""

from collections.abc import Iterator
from datetime import date

from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.read.answers import ANSWERS
from bom.read.matching import Matched
from bom.trade.orders import Price
from bom.trade.problem import counted
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
    title = f"{added.supplier}: no price booked"
    headings = Heading("item", str), Heading("price", str, "money")
    return Table.of(title, (), *headings, notes=_left(added))


def _booked_table(added: AddedList) -> Table:
    new = sum(1 for one in added.booked if one.was is None)
    done = "booked" if added.written else "to be booked"
    return Table.of(
        f"{added.supplier}: {counted(len(added.booked), 'price')} {done}, {new} new",
        added.booked,
        Heading("item", lambda one: str(one.matched.goods), wide=48),
        Heading("sold as", lambda one: one.matched.sold_as),
        Heading("pack", lambda one: one.matched.pack, "count"),
        Heading("price", lambda one: one.matched.price, "money"),
        Heading("was", lambda one: one.was, "money"),
        Heading("part no", lambda one: one.matched.listed.part_no, wide=16, gives_way=1),
        Heading("their words", lambda one: one.matched.listed.words, wide=48),
        notes=_left(added),
    )


def _left(added: AddedList) -> Iterator[str]:
    """What was read as what, and what of the list is in neither table."""
    read = [f"{one.column} from {one.heading}" for one in added.taken if one.column]
    unread = [one.heading for one in added.taken if not one.column]
    yield f"read: {', '.join(read)}"
    if unread:
        yield f"columns that are not read: {', '.join(unread)}"
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
        Heading("price", lambda one: one.listed.price, "money"),
        Heading("why", lambda one: "; ".join(one.doubts), wide=36),
        Heading("nearest", _nearest, wide=44),
        notes=(f"{others}yes or no to each goes into {ANSWERS}, or is asked on a terminal",),
    )


def _nearest(one: Matched) -> str:
    first = str(one.nearest[0]) if one.nearest else ""
    return first if one.sold_as in ("each", "metre") else f"{first}, {form_of(one)}"


def form_of(one: Matched) -> str:
    """What its price buys: `by the metre`, `each`, `pack of 50`."""
    singly = {"metre": "by the metre", "each": "each"}
    return singly.get(one.sold_as, f"{one.sold_as} of {plain(one.pack)}")


def prices_table(rows: tuple[Price, ...], today: date) -> Table:
    """The price book by supplier, with the age of each price."""

    def days_old(row: Price) -> int | None:
        return (today - row.priced_on).days if row.priced_on else None

    return Table.of(
        f"{len(rows)} prices, without tax",
        sorted(rows, key=lambda row: row.supplier),
        Heading("supplier", lambda row: row.supplier, wide=28),
        Heading("item", lambda row: row.item, wide=48),
        Heading("gauge", lambda row: row.gauge),
        Heading("colour", lambda row: str(row.colour or "")),
        Heading("sold as", lambda row: row.sold_as, gives_way=1),
        Heading("pack", lambda row: row.pack, "count"),
        Heading("price", lambda row: row.price, "money"),
        Heading("days old", days_old, "count"),
    )
