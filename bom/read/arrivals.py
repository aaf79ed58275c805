"""An order that has come in, as `bom order` wrote it and the owner filled it in."""

from pathlib import Path

from msgspec.structs import replace

from bom.files import spelling
from bom.files.headings import Column, Record, has_headings, listing, read_rows, text
from bom.files.sheet import Sheet, column_number, read_book
from bom.files.spelling import Misspelt
from bom.read import cells
from bom.read.cable_item import cable_in
from bom.trade.catalogue import Catalogue
from bom.trade.orders import Arrived
from bom.trade.problem import Problem, Where, caution, error

_ARRIVED_COLUMNS = (
    Column(name="supplier", read=text, blank="elsewhere"),
    Column(name="item", read=text, needed=True, must=True),
    cells.sold_as(blank=""),
    cells.pack(),
    Column(
        name="packs",
        read=lambda value, _: spelling.count(value, 0),
        needed=True,
        must=True,
        blank=None,
    ),
    cells.money("price"),
    Column(name="number", read=text),
)


def read_order(path: Path, catalogue: Catalogue) -> tuple[tuple[Arrived, ...], tuple[Problem, ...]]:
    """The lines of an order that has come in, as `bom order` wrote it; 0 packs: has not come.

    The sums under the list have no item and no packs, and are no lines.  What nobody sells stands
    there as a line with neither supplier nor price: it comes once one of them is typed.
    """
    book, problems = read_book(path, single="Order")
    if book is None:
        return (), problems
    lists = [sheet for sheet in book.sheets if has_headings(sheet, _ARRIVED_COLUMNS)]
    if not lists:
        says = "no sheet has the headings 'item' and 'packs'"
        cure = "an order as bom order --xlsx or --csv writes it"
        return (), (*problems, error(Where(book.file), says, cure))
    sheet, unsold = _bought_alone(_lines_alone(lists[0]))
    records, faults = read_rows(sheet, _ARRIVED_COLUMNS, own_columns=True)
    found = [*problems, *unsold, *faults]
    lines = [line for r in records if (line := _arrived(r, catalogue, found))]
    return tuple(lines), tuple(found)


def _lines_alone(sheet: Sheet) -> Sheet:
    """The sheet without the sums and sentences under its list."""
    place = listing(sheet, _ARRIVED_COLUMNS)
    if place is None:
        return sheet
    own = [column_number(place.letters[name]) for name in ("item", "packs")]
    rows = (
        row if n < place.header_row or any(row[c : c + 1] not in ((), (None,)) for c in own) else ()
        for n, row in enumerate(sheet.rows)
    )
    return replace(sheet, rows=tuple(rows))


def _bought_alone(sheet: Sheet) -> tuple[Sheet, tuple[Problem, ...]]:
    """The sheet without the lines that nobody sells, and where they stand."""
    place = listing(sheet, _ARRIVED_COLUMNS)
    if place is None or not {"supplier", "price"} <= {*place.letters}:
        return sheet, ()
    item, *told = (column_number(place.letters[name]) for name in ("item", "supplier", "price"))
    unsold = {
        n
        for n, row in enumerate(sheet.rows)
        if n >= place.header_row and any(row[item : item + 1])
        if not any(cell is not None for column in told for cell in row[column : column + 1])
    }
    says, alike = (
        "neither supplier nor price: not booked in",
        "lines have neither supplier nor price",
    )
    cure = "who sold it, or its price, if it has come"
    problems = (caution(sheet.where(n, told[0]), says, cure, alike=alike) for n in sorted(unsold))
    rows = (() if n in unsold else row for n, row in enumerate(sheet.rows))
    return replace(sheet, rows=tuple(rows)), tuple(problems)


def _arrived(record: Record, catalogue: Catalogue, problems: list[Problem]) -> Arrived | None:
    if record.broken:
        return None
    try:
        gauge, colour = cable_in(record["item"], catalogue)
    except Misspelt as fault:
        problems.append(error(record.row.where("item"), fault.says, fault.cure))
        return None
    if gauge and record["sold as"] not in ("metre", "reel"):
        says = "cable comes by the metre or on a reel"
        problems.append(error(record.row.where("sold as"), says, "metre or reel"))
        return None
    return Arrived(
        supplier=record["supplier"],
        item=record["item"],
        gauge=gauge,
        colour=colour,
        sold_as=record["sold as"],
        pack=record["pack"],
        packs=record["packs"],
        price=record["price"],
        number=record["number"],
        row=record.row,
    )
