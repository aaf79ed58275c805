"""Reading what the workshop has: the stock book, the price lists and the suppliers."""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

from msgspec.structs import replace

from bom.files import spelling
from bom.files.headings import (
    Column,
    OwnWords,
    Record,
    has_headings,
    listing,
    read_rows,
    text,
    words,
)
from bom.files.sheet import Book, Sheet, Value, column_number, read_book
from bom.files.spelling import Misspelt, fold
from bom.trade.catalogue import Catalogue
from bom.trade.orders import SOLD_AS, Arrived, Price, PriceBook, Supplier
from bom.trade.problem import Problem, Where, caution, error, nearest
from bom.trade.rows import Listing
from bom.trade.shelf import DrawerItem, Move, ShelfPiece, Stock

RULES_FILE = "workshop.toml"
"""The file by which the folder of a workshop is known."""

SUFFIXES = (".xlsx", ".xlsm", ".ods", ".csv", "")
"""Where a book of the workshop may be kept, in the order looked for; '' is a folder."""

NO_OWN_WORDS = OwnWords()
EMPTY_STOCK = Stock(file="", pieces=(), drawer=())
EMPTY_PRICES = PriceBook(prices=(), suppliers={})


def workshop_folder(start: Path) -> Path | None:
    """The folder of the workshop that `start` lies in, looking upwards; None outside one."""
    begin = start.resolve()
    return next((f for f in (begin, *begin.parents) if (f / RULES_FILE).is_file()), None)


def find_book(folder: Path, name: str) -> Path | None:
    """The workshop's book of this name in whichever kind it is kept."""
    paths = (folder / f"{name}{suffix}" for suffix in SUFFIXES)
    return next((path for path in paths if path.exists()), None)


def books_in(folder: Path) -> tuple[Path, ...]:
    """The books of a folder, one of each name as `find_book` has it, newest first."""
    try:
        names = [item.name if item.is_dir() else item.stem for item in folder.iterdir()]
        # what begins with a dot or a tilde is a mark of a program that has a book open
        found = {name: find_book(folder, name) for name in names if name[:1] not in ".~"}
        books = [(_changed_ns(book), book) for book in found.values() if book and _is_book(book)]
    except OSError:  # no such folder, or one that may not be looked into
        return ()
    return tuple(book for _, book in sorted(books, reverse=True))


def _is_book(path: Path) -> bool:
    return any(path.glob("*.csv")) if path.is_dir() else path.suffix in SUFFIXES[:-1]


def _changed_ns(book: Path) -> int:
    """When a book was last written, in nanoseconds; a folder of lists when the newest of them."""
    return max(file.stat().st_mtime_ns for file in (*book.glob("*.csv"), book))


# ------------------------------------------------------------------------------- stock


def read_stock(
    path: Path, catalogue: Catalogue, own: OwnWords = NO_OWN_WORDS
) -> tuple[Stock, tuple[Problem, ...]]:
    """The shelf from the owner's book: sheets Cable, Drawer and Moves, lengths in mm.

    Other sheets and columns are the owner's own and are left alone; `own` are the owner's words
    for ours.
    """
    columns = {name: own.on(name, known) for name, known in shop_columns(catalogue)}
    book, problems = read_book(path, single="Drawer")
    if book is None:
        return EMPTY_STOCK, problems
    cable, more = _own_rows(book, "Cable", columns["Cable"])
    drawer, again = _own_rows(book, "Drawer", columns["Drawer"])
    moves, last = _own_rows(book, "Moves", columns["Moves"])
    found = [*problems, *more, *again, *last]
    stock = Stock(
        file=book.file,
        pieces=_pieces(cable, found),
        drawer=tuple(_drawer_item(record, found) for record in drawer if not record.broken),
        moves=tuple(_move(record) for record in moves if not record.broken),
        lists=_lists(book, columns),
    )
    return stock, tuple(found)


def _lists(book: Book, columns: Mapping[str, Sequence[Column]]) -> dict[str, Listing]:
    names = ("Cable", "Drawer", "Moves")
    sheets = ((name, sheet) for name in names if (sheet := book.sheet(name)))
    found = ((name, listing(sheet, columns[name])) for name, sheet in sheets)
    return {name: place for name, place in found if place}


def shop_columns(catalogue: Catalogue) -> tuple[tuple[str, tuple[Column, ...]], ...]:
    """The columns of each sheet of stock book, price list and suppliers' list, by its name."""
    return (
        ("Cable", _cable_columns(catalogue)),
        ("Drawer", _DRAWER_COLUMNS),
        ("Moves", _MOVE_COLUMNS),
        ("Prices", _price_columns(catalogue)),
        ("Suppliers", _SUPPLIER_COLUMNS),
    )


def _own_rows(
    book: Book, name: str, columns: Sequence[Column]
) -> tuple[tuple[Record, ...], tuple[Problem, ...]]:
    sheet = book.sheet(name)
    if sheet is None or not sheet.rows:
        return (), ()
    return read_rows(sheet, columns, own_columns=True)


def _cable_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    return (
        Column(
            name="piece",
            read=text,
            also=words("reel", "reel no", "reel or offcut", "piece no", "label"),
            needed=True,
            must=True,
        ),
        Column(
            name="gauge",
            read=lambda value, unit: spelling.gauge(value, unit, catalogue),
            also={**words("size", "csa", "mm2", "cross section", "cable size"), "awg": "awg"},
            units={"mm2": "", "awg": "awg"},
            needed=True,
            must=True,
            blank=None,
        ),
        Column(
            name="colour",
            read=lambda value, _: spelling.colour(value, catalogue),
            also=words("color", "col", "cable colour"),
            must=True,
            blank=None,
        ),
        Column(
            name="length",
            read=lambda value, unit: spelling.length_mm(value, unit, "m"),
            also=words("left", "length left", "remaining", "on it"),
            units={unit: unit for unit in spelling.MM_PER_UNIT if unit.isalpha()},
            must=True,
            blank=None,
        ),
        Column(
            name="cost per m",
            read=_money,
            also=words("cost", "price per m", "cost per metre"),
            units=_PRICED,
            blank=None,
        ),
        _PLACE,
        _NOTE,
    )


def _money(value: Value, _unit: str) -> Decimal:
    return spelling.money(value)


def _quantity(value: Value, _unit: str) -> Decimal:
    return spelling.quantity(value)


_PRICED = dict.fromkeys(("gbp", "eur", "usd", "£", "€", "$"), "")
_PLACE = Column(name="place", read=text, also=words("location", "where", "bin", "shelf"))
_NOTE = Column(name="note", read=text, also=words("notes", "remark", "remarks", "comment"))
_DRAWER_COLUMNS = (
    Column(name="item", read=text, also=words("part"), needed=True, must=True),
    Column(name="unit", read=text, also=words("uom"), blank="each"),
    Column(
        name="on hand",
        read=_quantity,
        also=words("qty", "quantity", "in stock", "stock", "have", "number"),
        needed=True,
        blank=Decimal(0),
    ),
    Column(name="low", read=_quantity, also=words("min", "minimum", "low mark"), blank=None),
    Column(name="full", read=_quantity, also=words("max", "maximum", "full mark"), blank=None),
    Column(name="cost", read=_money, also=words("unit cost"), units=_PRICED, blank=None),
    _PLACE,
    _NOTE,
)


def _when(value: Value, _unit: str) -> str:
    """A moment as text; the spreadsheet program may have made a date of it."""
    if isinstance(value, datetime):
        return value.isoformat(" ", "seconds")
    return str(value) if isinstance(value, date) else spelling.text_of(value)


def _signed(value: Value, _unit: str) -> Decimal:
    return spelling.number(spelling.text_of(value))


_MOVE_COLUMNS = (
    Column(name="when", read=_when, needed=True),
    Column(name="job", read=text),
    Column(name="what", read=text),
    Column(name="item", read=text, needed=True),
    Column(name="change", read=_signed, blank=Decimal()),
    Column(name="unit", read=text, blank="each"),
    Column(name="left", read=_signed, blank=None),
    Column(name="note", read=text),
)


def _pieces(records: Iterable[Record], problems: list[Problem]) -> tuple[ShelfPiece, ...]:
    pieces: dict[str, ShelfPiece] = {}
    for record in records:
        if record.broken:
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
            annotated=record.annotated or bool(record["note"]),
        )
    return tuple(pieces.values())


def _drawer_item(record: Record, problems: list[Problem]) -> DrawerItem:
    scale = _millimetres(record["unit"])
    unit = "mm" if scale else record["unit"]
    low, full, cost = record["low"], record["full"], record["cost"]
    if low is not None and full is not None and full < low:
        says = f"full ({full}) is less than low ({low})"
        problems.append(error(record.row.where("full"), says))
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
        annotated=record.annotated
        or any(record[name] not in ("", None) for name in ("low", "full", "note")),
    )


def _millimetres(unit: str) -> Decimal | None:
    mm = spelling.MM_PER_UNIT.get(fold(unit))
    return None if mm is None else Decimal(mm.numerator) / mm.denominator


def _move(record: Record) -> Move:
    return Move(row=record.row, **record.values)


# ------------------------------------------------------------------------------ prices


def read_prices(
    prices: Path | None,
    suppliers: Path | None,
    tax_percent: Decimal,
    catalogue: Catalogue,
    own: OwnWords = NO_OWN_WORDS,
) -> tuple[PriceBook, tuple[Problem, ...]]:
    """Price lists and suppliers; money that includes tax comes out net of it.

    A supplier with prices but no row of its own has no postage; that is a caution.
    """
    terms, problems = _read_suppliers(suppliers, tax_percent, own)
    columns = own.on("Prices", _price_columns(catalogue))
    read = {name: supplier for name, (supplier, _) in terms.items() if supplier}
    if prices is None:
        return PriceBook(prices=(), suppliers=read), problems
    book, more = read_book(prices, single="Prices")
    found = [*problems, *more]
    rows: list[Price] = []
    place: Listing | None = None
    for sheet in _price_sheets(book, columns) if book else ():
        place = place or listing(sheet, columns)
        records, faults = read_rows(sheet, columns)
        found += faults
        rows += [p for r in records if (p := _price(r, terms, tax_percent, found))]
    return PriceBook(prices=tuple(rows), suppliers=read, listing=place), tuple(found)


def _price_sheets(book: Book, columns: Sequence[Column]) -> list[Sheet]:
    """The sheets that are price lists: one for all suppliers, or one each."""
    lists = [sheet for sheet in book.sheets if has_headings(sheet, columns)]
    return lists or list(book.sheets[:1])


def _price_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    return (
        Column(name="supplier", read=text, needed=True, must=True),
        Column(name="item", read=text, needed=True, must=True),
        Column(
            name="gauge",
            read=lambda value, unit: spelling.gauge(value, unit, catalogue),
            units={"mm2": "", "awg": "awg"},
            blank="",
        ),
        Column(
            name="colour",
            read=lambda value, _: spelling.colour(value, catalogue),
            also={"color": ""},
            blank=None,
        ),
        Column(
            name="sold as",
            read=lambda value, _: spelling.one_word_of(value, SOLD_AS, "sold as"),
            must=True,
        ),
        Column(name="pack", read=_pack, blank=Decimal(1)),
        Column(name="price", read=_money, units=_PRICED, must=True, blank=None),
        Column(name="from qty", read=lambda value, _: spelling.count(value), blank=1),
        Column(name="part no", read=text),
        Column(name="date", read=_day, also=words("priced", "priced on"), blank=None),
        Column(name="note", read=text),
    )


def _day(value: Value, _unit: str) -> date:
    if isinstance(value, date):
        return value.date() if isinstance(value, datetime) else value
    typed = spelling.text_of(value)
    try:
        return date.fromisoformat(typed)
    except ValueError:
        raise Misspelt(f"'{typed}' is not a date", "2026-11-25") from None


def _pack(value: Value, _unit: str) -> Decimal:
    pack = spelling.quantity(value)
    if pack == 0:
        raise Misspelt("a pack of 0", "how many there are in a pack, or metres on a reel")
    return pack


def _price(
    record: Record,
    terms: Mapping[str, tuple[Supplier | None, bool]],
    tax_percent: Decimal,
    problems: list[Problem],
) -> Price | None:
    if record.broken:
        return None
    name = record["supplier"]
    known = {fold(supplier): supplier for supplier in terms}
    if known and fold(name) not in known:
        close = nearest(name, known)
        says = f"supplier '{name}' has no row on the suppliers list: no postage is reckoned"
        if not any(problem.says == says for problem in problems):  # once for each supplier
            problems.append(caution(record.row.where("supplier"), says, known.get(close, "")))
    name = known.get(fold(name), name)
    if record["sold as"] in ("metre", "each") and record["pack"] != 1:
        says = f"sold as {record['sold as']}, so that the price is for one: the pack is not used"
        cure = f"pack or reel as 'sold as' where the price is for {spelling.plain(record['pack'])}"
        problems.append(caution(record.row.where("pack"), says, cure))
    taxed = name in terms and terms[name][1]
    price: Decimal = record["price"]
    return Price(
        supplier=name,
        item=record["item"],
        gauge=record["gauge"] or "",
        colour=record["colour"],
        sold_as=record["sold as"],
        pack=Decimal(1) if record["sold as"] in ("metre", "each") else record["pack"],
        price=price / (1 + tax_percent / 100) if taxed else price,
        from_qty=record["from qty"],
        part_no=record["part no"],
        row=record.row,
        priced_on=record["date"],
    )


def old_prices(prices: Iterable[Price], today: date, days: int) -> dict[str, tuple[int, date]]:
    """By supplier, how many of these prices are older than so many days, and the oldest."""
    found: dict[str, tuple[int, date]] = {}
    for price in prices:
        if price.priced_on is not None and (today - price.priced_on).days > days:
            count, oldest = found.get(price.supplier, (0, price.priced_on))
            found[price.supplier] = (count + 1, min(oldest, price.priced_on))
    return found


_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def _yes_or_no(value: Value, _unit: str) -> bool:
    return _YES[spelling.one_word_of(value, tuple(_YES), "answer")]


_SUPPLIER_COLUMNS = (
    Column(name="supplier", read=text, needed=True, must=True),
    Column(name="postage", read=_money, units=_PRICED, blank=Decimal(0)),
    Column(name="free over", read=_money, units=_PRICED, blank=None),
    Column(name="minimum order", read=_money, units=_PRICED, blank=None),
    Column(name="prices include tax", read=_yes_or_no, blank=False),
    Column(name="note", read=text),
)


def _read_suppliers(
    path: Path | None, tax_percent: Decimal, own: OwnWords = NO_OWN_WORDS
) -> tuple[dict[str, tuple[Supplier | None, bool]], tuple[Problem, ...]]:
    if path is None:
        return {}, ()
    book, problems = read_book(path, single="Suppliers")
    if book is None or not book.sheets:
        return {}, problems
    sheet = book.sheet("Suppliers") or book.sheets[0]
    records, more = read_rows(sheet, own.on("Suppliers", _SUPPLIER_COLUMNS))
    found = [*problems, *more]
    terms: dict[str, tuple[Supplier | None, bool]] = {}
    for record in records:
        name = record["supplier"]
        if "supplier" in record.broken:
            continue
        if fold(name) in map(fold, terms):
            says = f"supplier '{name}' stands twice"
            found.append(error(record.row.where("supplier"), says, "one row for it"))
            continue
        read = None if record.broken else _supplier(record, tax_percent)
        terms[name] = (read, record["prices include tax"])
    return terms, tuple(found)


def supplier_names(folder: Path) -> tuple[str, ...]:
    """The names on a workshop's list of suppliers, whatever else may be wrong in it."""
    path = find_book(folder, "suppliers")
    return tuple(_read_suppliers(path, Decimal())[0]) if path else ()


def _supplier(record: Record, tax_percent: Decimal) -> Supplier:
    """The terms of a supplier; where its prices include tax, so do postage and limits."""
    net = 1 + tax_percent / 100 if record["prices include tax"] else Decimal(1)
    free, least = record["free over"], record["minimum order"]
    return Supplier(
        name=record["supplier"],
        postage=record["postage"] / net,
        free_over=None if free is None else free / net,
        minimum_order=None if least is None else least / net,
        with_tax=record["prices include tax"],
    )


def items_unknown(
    stock: Stock, prices: PriceBook, catalogue: Catalogue, extras: Iterable[str]
) -> tuple[Problem, ...]:
    """Drawer items and price rows whose name is nearly, but not quite, a catalogue item's."""
    received = (move.item for move in stock.moves if move.what == "receive")
    known = {fold(name): name for name in (*catalogue.items, *extras, *received)}
    rows: list[tuple[str, Where]] = [(d.item, d.row.where("item")) for d in stock.drawer]
    rows += [(p.item, p.row.where("item")) for p in prices.prices if p.row and not p.gauge]
    found = []
    for item, where in rows:
        if fold(item) in known:
            continue
        close = nearest(item, known)
        if close:
            says = f"'{item}' is no item of the catalogues"
            found.append(caution(where, says, known[close]))
    return tuple(found)


# ------------------------------------------------------------------- an order come in


_ARRIVED_COLUMNS = (
    Column(name="supplier", read=text, blank="elsewhere"),
    Column(name="item", read=text, needed=True, must=True),
    Column(
        name="sold as",
        read=lambda value, _: spelling.one_word_of(value, SOLD_AS, "sold as"),
        must=True,
        blank="",
    ),
    Column(name="pack", read=_pack, blank=Decimal(1)),
    Column(
        name="packs",
        read=lambda value, _: spelling.count_or_zero(value),
        needed=True,
        must=True,
        blank=None,
    ),
    Column(name="price", read=_money, units=_PRICED, blank=None),
)


def read_order(path: Path, catalogue: Catalogue) -> tuple[tuple[Arrived, ...], tuple[Problem, ...]]:
    """The lines of an order that has come in, as `bom order` wrote it; packs of 0 are left out.

    The sums under the list have no item and no packs, and are no lines.
    """
    book, problems = read_book(path, single="Order")
    if book is None:
        return (), problems
    lists = [sheet for sheet in book.sheets if has_headings(sheet, _ARRIVED_COLUMNS)]
    if not lists:
        says = "no sheet has the headings 'item' and 'packs'"
        cure = "an order as bom order --xlsx or --csv writes it"
        return (), (*problems, error(Where(book.file), says, cure))
    records, faults = read_rows(_lines_alone(lists[0]), _ARRIVED_COLUMNS, own_columns=True)
    found = [*problems, *faults]
    lines = [line for r in records if (line := _arrived(r, catalogue, found)) and line.packs]
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


_CABLE_ITEM = re.compile(r"cable,\s*(.+?),\s*([^,]+)", re.IGNORECASE)


def _arrived(record: Record, catalogue: Catalogue, problems: list[Problem]) -> Arrived | None:
    if record.broken:
        return None
    cable = _CABLE_ITEM.fullmatch(record["item"])
    try:
        gauge = spelling.gauge(cable[1], "", catalogue) if cable else ""
        colour = spelling.colour(cable[2], catalogue) if cable else None
    except Misspelt as fault:
        problems.append(error(record.row.where("item"), fault.says, fault.cure))
        return None
    if cable and record["sold as"] not in ("metre", "reel"):
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
        row=record.row,
    )
