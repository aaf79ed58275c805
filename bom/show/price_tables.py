"""What the commands of the price lists print."""

from datetime import date

from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.read.answers import ANSWERS
from bom.read.matching import Matched
from bom.trade.orders import Price
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
    headings = (Heading(name="item"), Heading(name="price", form="money"))
    title = f"{added.supplier}: no price booked"
    return Table(title=title, headings=headings, rows=(), notes=_left(added))


def _booked_table(added: AddedList) -> Table:
    new = sum(1 for one in added.booked if one.was is None)
    done = "booked" if added.written else "to be booked"
    prices = "1 price" if len(added.booked) == 1 else f"{len(added.booked)} prices"
    return Table(
        title=f"{added.supplier}: {prices} {done}, {new} new",
        headings=(
            Heading(name="item", wide=48),
            Heading(name="sold as"),
            Heading(name="pack", form="count"),
            Heading(name="price", form="money"),
            Heading(name="was", form="money"),
            Heading(name="part no", wide=16),
            Heading(name="their words", wide=48),
        ),
        rows=tuple(
            (
                str(one.matched.goods),
                one.matched.sold_as,
                one.matched.pack,
                one.matched.price,
                one.was,
                one.matched.listed.part_no,
                one.matched.listed.words,
            )
            for one in added.booked
        ),
        notes=_left(added),
    )


def _left(added: AddedList) -> tuple[str, ...]:
    """What was read as what, and what of the list is in neither table."""
    read = [f"{one.column} from {one.heading}" for one in added.taken if one.column]
    unread = [one.heading for one in added.taken if not one.column]
    said = [f"read: {', '.join(read)}"]
    said += [f"columns that are not read: {', '.join(unread)}"] if unread else []
    if added.not_ours:
        names = "; ".join(dict.fromkeys(added.not_ours[:MOST_NAMED]))
        more = "; ..." if len(added.not_ours) > MOST_NAMED else ""
        said.append(f"nothing that the catalogues hold: {len(added.not_ours)} ({names}{more})")
    if added.without_price:
        said.append(f"without a price: {added.without_price}")
    return tuple(said)


def _doubtful_table(added: AddedList) -> Table:
    shown = added.doubtful[:MOST_SHOWN]
    more = len(added.doubtful) - len(shown)
    others = f"and {more} more; " if more else ""
    return Table(
        title=f"{added.supplier}: doubtful and not booked: {len(added.doubtful)}",
        headings=(
            Heading(name="cell"),
            Heading(name="their words", wide=44),
            Heading(name="price", form="money"),
            Heading(name="why", wide=36),
            Heading(name="nearest", wide=44),
        ),
        rows=tuple(
            (
                one.listed.row.where("description").cell,
                one.listed.words,
                one.listed.price,
                "; ".join(one.doubts),
                _nearest(one),
            )
            for one in shown
        ),
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
    return Table(
        title=f"{len(rows)} prices, without tax",
        headings=(
            Heading(name="supplier", wide=28),
            Heading(name="item", wide=48),
            Heading(name="gauge"),
            Heading(name="colour"),
            Heading(name="sold as"),
            Heading(name="pack", form="count"),
            Heading(name="price", form="money"),
            Heading(name="days old", form="count"),
        ),
        rows=tuple(
            (
                row.supplier,
                row.item,
                row.gauge,
                str(row.colour or ""),
                row.sold_as,
                row.pack,
                row.price,
                (today - row.priced_on).days if row.priced_on else None,
            )
            for row in sorted(rows, key=lambda row: row.supplier)
        ),
    )
