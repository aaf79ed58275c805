"""The stock book: its columns, and the shelf read from it."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from bom.files import spelling
from bom.files.headings import (
    NO_OWN_WORDS,
    Column,
    NewHead,
    OwnWords,
    Record,
    by,
    listing,
    read_rows,
    text,
    without_notes,
    words,
)
from bom.files.headings.columns import CellForm, CellReader, Filler
from bom.files.sheet import Book, Sheet, Value, read_book
from bom.files.spelling import Misspelt, fold
from bom.files.units import PIECE_UNIT, key_of
from bom.read import cells
from bom.read.cells import LENGTH_UNITS, PLACE
from bom.read.placed import order_columns, order_line
from bom.read.which_sheet import own_sheets
from bom.trade.catalogue import Catalogue
from bom.trade.problem import Problem, Where, caution, error, has_errors, listed
from bom.trade.rows import Listing
from bom.trade.shelf import DrawerItem, Move, ShelfPiece, Stock

EMPTY_STOCK = Stock(file="", pieces=(), drawer=())

_ON_THE_SHELF = ("Cable", "Drawer")
"""The lists of what there is: without them the shelf looks empty."""


def read_stock(
    path: Path, catalogue: Catalogue, own: OwnWords = NO_OWN_WORDS
) -> tuple[Stock, tuple[Problem, ...]]:
    """The shelf from the owner's book: sheets Cable, Drawer, Moves and Orders, lengths in mm.

    Each is known by its name, else by its headings.  Other sheets and columns are the owner's own
    and are left alone; `own` are the owner's words for ours.
    """
    columns = {name: own.on(name, known) for name, known in stock_columns(catalogue)}
    book, problems = read_book(path, single="Drawer")
    if book is None:
        return EMPTY_STOCK, problems
    sheets, unsure = own_sheets(book, columns, _ON_THE_SHELF)
    cable, more = _own_rows(sheets, "Cable", columns["Cable"])
    drawer, again = _own_rows(sheets, "Drawer", columns["Drawer"])
    moves, last = _own_rows(sheets, "Moves", columns["Moves"])
    orders, others = _own_rows(sheets, "Orders", columns["Orders"])
    found = [*problems, *unsure, *more, *again, *last]
    of_orders = [*others]
    lists = _lists(sheets, columns)
    for name, records in (("Cable", cable), ("Drawer", drawer)):
        if name in lists and records:
            lists[name] = replace(lists[name], last_row=_last_row(sheets[name], records[-1]))
    items = tuple(_drawer_item(record, catalogue, found) for record in drawer if _counts(record))
    measured = {fold(item.item) for item in items if item.unit == "mm"}
    stock = Stock(
        file=book.file,
        pieces=_pieces(cable, found),
        drawer=items,
        orders=tuple(
            line for r in orders if (line := order_line(r, catalogue, measured, of_orders))
        ),
        moves=tuple(_move(record) for record in moves if not record.broken),
        lists=lists,
    )
    stock = replace(stock, unread=tuple(p for p in of_orders if p.level == "error"))
    lost = () if has_errors(unsure) else _lost(stock, book, columns, catalogue)
    return stock, (*found, *of_orders, *lost)


def _lists(
    sheets: Mapping[str, Sheet], columns: Mapping[str, Sequence[Column]]
) -> dict[str, Listing]:
    found = ((name, listing(sheet, columns[name])) for name, sheet in sheets.items())
    return {name: place for name, place in found if place}


def _lost(
    stock: Stock, book: Book, columns: Mapping[str, Sequence[Column]], catalogue: Catalogue
) -> Iterator[Problem]:
    """Lists that no sheet has, though by the moves things lay in them: the shelf is not empty.

    A length that is no item of the catalogues is taken for a piece of cable.
    """
    last = {key_of(m.item, m.unit): m for m in sorted(stock.moves, key=lambda move: move.when)}
    here = {key_of(piece.name, PIECE_UNIT) for piece in stock.pieces}
    here |= {key_of(item.item, item.unit) for item in stock.drawer}
    left = {key for key, move in last.items() if move.item and move.left} - here
    items = {fold(item) for item in catalogue.items}
    cable = {(name, unit) for name, unit in left if unit == "mm" and name not in items}
    for name, things in (("Cable", cable), ("Drawer", left - cable)):
        sheet, place = book.sheet(name), stock.lists.get(name)
        if not things or (place and place.header_row) or (sheet and sheet.rows):
            continue
        needed = listed(column.name for column in columns[name] if column.must or column.needed)
        others = ", ".join(other.name for other in book.sheets if other is not sheet)
        are = "1 thing is" if len(things) == 1 else f"{len(things)} things are"
        says = f"{are} in {name} by the moves, and no sheet has its headings (there are: {others})"
        cure = f"the name {name} and the headings {needed} for its sheet; copies lie in .bom"
        yield error(Where(book.file), says, cure, cause=True)


def _last_row(sheet: Sheet, last: Record) -> int | None:
    """The last row of a list that free rows part from what stands below."""
    below = sheet.rows[last.row.number :]
    return last.row.number if below and not any(below[0]) else None


def _own_rows(
    sheets: Mapping[str, Sheet], name: str, columns: Sequence[Column]
) -> tuple[tuple[Record, ...], tuple[Problem, ...]]:
    sheet = sheets.get(name)
    if sheet is None or not sheet.rows:
        return (), ()
    return read_rows(without_notes(sheet, columns), columns, own_columns=True)


def stock_columns(catalogue: Catalogue) -> tuple[tuple[str, tuple[Column, ...]], ...]:
    """The columns of each sheet of the stock book, by its name."""
    return (
        ("Cable", _cable_columns(catalogue)),
        ("Drawer", _DRAWER_COLUMNS),
        ("Moves", _MOVES),
        ("Orders", order_columns(catalogue)),
    )


def _cable_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    return (
        cells.key(
            "piece",
            NewHead("a name of its own for each reel and offcut", 10, form="code"),
            also=words("reel", "reel no", "reel or offcut", "piece no", "label"),
            filled_by="program",
        ),
        cells.gauge(
            catalogue,
            NewHead("1.0 for mm2, or 18 AWG", 10, "gauges", form="code"),
            {**words("size", "csa", "mm2", "cross section", "cable size"), "awg": "awg"},
            needed=True,
            must=True,
            blank=None,
            filled_by="program",
        ),
        cells.colour(
            catalogue,
            NewHead("body, or body/trace", 15, "colours"),
            words("color", "col", "cable colour"),
            must=True,
            filled_by="program",
        ),
        Column(
            name="length",
            read=lambda value, unit: spelling.length_mm(value, unit, "m"),
            also=words("left", "length left", "remaining", "on it"),
            units=LENGTH_UNITS,
            must=True,
            blank=None,
            filled_by="program",
            new=NewHead("what is left on it", 11, unit="m", form="decimals"),
        ),
        cells.money(
            "cost per m",
            NewHead("what you paid, without tax", 12, form="decimals"),
            also=words("cost", "price per m", "cost per metre"),
        ),
        PLACE,
        cells.note(),
    )


_DRAWER_COLUMNS = (
    cells.key(
        "item",
        NewHead("by its name in the catalogues", 44, "items"),
        also=words("part"),
        filled_by="program",
    ),
    Column(
        name="unit",
        read=text,
        also=words("uom"),
        blank="each",
        filled_by="program",
        new=NewHead("each, or m for tape, tube and braid", 8, "units"),
    ),
    Column(
        name="on hand",
        read=by(spelling.quantity),
        also=words("qty", "quantity", "in stock", "stock", "have", "number"),
        needed=True,
        blank=Decimal(0),
        filled_by="program",
        new=NewHead("how many, or how much", 10, form="number"),
    ),
    Column(
        name="low",
        read=by(spelling.quantity),
        also=words("min", "minimum", "low mark"),
        blank=None,
        filled_by="owner",
        new=NewHead("under this it is bought again", 8, form="number"),
    ),
    Column(
        name="full",
        read=by(spelling.quantity),
        also=words("max", "maximum", "full mark"),
        blank=None,
        filled_by="owner",
        new=NewHead("up to this", 8, form="number"),
    ),
    cells.money(
        "cost", NewHead("for one, without tax", 9, form="decimals"), also=words("unit cost")
    ),
    PLACE,
    cells.note(),
)


def _when(value: Value) -> str:
    """A moment as text; the spreadsheet program may have made a date of it."""
    if isinstance(value, datetime):
        when = value.isoformat(" ", "seconds")
    else:
        when = str(value) if isinstance(value, date) else spelling.text_of(value)
    if re.match(r"[3-9]\d\d\d-", when):
        raise Misspelt(f"{when} has not come yet", "the day that it was, such as 2026-11-25")
    return when


def _move_column(name: str, read: CellReader = text, **more: Any) -> Column:
    filler: Filler = "either" if name == "note" else "program"
    form: CellForm = "number" if read is cells.signed else ""
    new = NewHead("written by the program", 16, form=form)
    return Column(name=name, read=read, filled_by=filler, new=new, **more)


_MOVES = (
    _move_column("when", by(_when), needed=True),
    _move_column("job"),
    _move_column("what"),
    _move_column("item", needed=True),
    _move_column("change", cells.signed, blank=Decimal()),
    _move_column("unit", blank="each"),
    _move_column("left", cells.signed, blank=None),
    _move_column("note"),
)


_BESIDE_THE_COUNT = {"cost", "cost per m", "low", "full", "place", "note"}
"""Columns that do not say what there is, nor how much: `undo` puts a row right without them."""


def _counts(record: Record) -> bool:
    return record.broken <= _BESIDE_THE_COUNT


def _pieces(records: Iterable[Record], problems: list[Problem]) -> tuple[ShelfPiece, ...]:
    pieces: dict[str, ShelfPiece] = {}
    for record in records:
        if not _counts(record):
            continue
        name = record["piece"]
        if fold(name) in pieces:
            cell = pieces[fold(name)].row.where("piece").cell
            says = f"piece '{name}' stands in {cell} too"
            problems.append(error(record.row.where("piece"), says, f"{name}a"))
            continue
        length: Fraction = record["length"]
        pieces[fold(name)] = ShelfPiece(
            name=name,
            gauge=record["gauge"],
            colour=record["colour"],
            length_mm=int(length),  # a part of a millimetre on the shelf is not there
            cost_per_m=record["cost per m"],
            place=record["place"],
            row=record.row,
            annotated=record.annotated,
        )
    return tuple(pieces.values())


def _drawer_item(record: Record, catalogue: Catalogue, problems: list[Problem]) -> DrawerItem:
    scale = _millimetres(record["unit"])
    unit = "mm" if scale else record["unit"]
    low, full, cost = record["low"], record["full"], record["cost"]
    if low is not None and full is not None and full < low:
        says = f"full ({full}) is less than low ({low})"
        problems.append(error(record.row.where("full"), says))
    if not scale and catalogue.unit_of(record["item"]) == "m":
        says = f"'{record['item']}' is counted in '{unit}', but the jobs need it in metres"
        cure = "m, and the metres that are there"
        problems.append(caution(record.row.where("unit"), says, cure))
    return DrawerItem(
        item=record["item"],
        unit=unit,
        on_hand=record["on hand"] * (scale or 1),
        low=None if low is None else low * (scale or 1),
        full=None if full is None else full * (scale or 1),
        cost=cost / scale if scale and cost is not None else cost,
        place=record["place"],
        row=record.row,
        counted_in=record["unit"],
        annotated=record.annotated,
    )


def _millimetres(unit: str) -> Decimal | None:
    mm = spelling.MM_PER_UNIT.get(fold(unit))
    return None if mm is None else Decimal(mm.numerator) / mm.denominator


def _move(record: Record) -> Move:
    return Move(row=record.row, **record.values)
