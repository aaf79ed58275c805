"""Price lists and suppliers: their columns, and what is read from them."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

from bom.files import spelling
from bom.files.headings import (
    NO_OWN_WORDS,
    Column,
    NewHead,
    OwnWords,
    Record,
    by,
    has_headings,
    listing,
    read_rows,
    text,
    words,
)
from bom.files.sheet import Book, Sheet, Value, read_book
from bom.files.spelling import Misspelt, fold
from bom.read import cells
from bom.read.books import find_book
from bom.read.supplier_names import called, slips_of
from bom.trade.catalogue import Catalogue
from bom.trade.orders import Price, PriceBook, Supplier
from bom.trade.problem import Problem, Where, caution, error, nearest
from bom.trade.rows import Listing
from bom.trade.shelf import Stock

MOST_SLIPS = 2_000
"""In so many names that are not known a slip of the pen is looked for: more are the owner's own."""

EMPTY_PRICES = PriceBook(prices=(), suppliers={})


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
    columns = own.on("Prices", price_row_columns(catalogue))
    read = {name: supplier for name, (supplier, _) in terms.items() if supplier}
    if prices is None:
        return PriceBook(prices=(), suppliers=read), problems
    book, more = read_book(prices, single="Prices")
    found = [*problems, *more]
    rows: list[Price] = []
    names: dict[str, str] = {}
    place: Listing | None = None
    for sheet in _price_sheets(book, columns) if book else ():
        place = place or listing(sheet, columns)
        records, faults = read_rows(sheet, columns)
        found += faults
        rows += [p for r in records if (p := _price(r, terms, names, tax_percent, found))]
    return PriceBook(prices=tuple(rows), suppliers=read, listing=place), tuple(found)


def _price_sheets(book: Book, columns: Sequence[Column]) -> list[Sheet]:
    """The sheets that are price lists: one for all suppliers, or one each."""
    lists = [sheet for sheet in book.sheets if has_headings(sheet, columns)]
    return lists or list(book.sheets[:1])


def price_columns(catalogue: Catalogue) -> tuple[tuple[str, tuple[Column, ...]], ...]:
    """The columns of price list and suppliers' list, by the name of the sheet."""
    return (("Prices", price_row_columns(catalogue)), ("Suppliers", _SUPPLIER_COLUMNS))


def price_row_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    """The columns of a price list."""
    return (
        cells.key(
            "supplier",
            NewHead("as on the suppliers list", 30),
        ),
        cells.key(
            "item",
            NewHead("cable, or an item by its name in the catalogues", 46),
        ),
        cells.gauge(catalogue, NewHead("for cable", 10, "gauges", form="code")),
        cells.colour(
            catalogue,
            NewHead("for cable; blank: every plain colour", 15, "colours"),
            {"color": ""},
        ),
        cells.sold_as(NewHead("metre, reel, pack or each", 10, "sold")),
        cells.pack(NewHead("how many in a pack, or metres on a reel", 8, form="number")),
        cells.money(
            "price", NewHead("of one pack, metre, reel or piece", 10, form="decimals"), must=True
        ),
        Column(
            name="from qty",
            read=by(spelling.count),
            blank=1,
            new=NewHead("from so many packs on", 10, form="number"),
        ),
        Column(
            name="part no", read=text, new=NewHead("the supplier's own number", 14, form="code")
        ),
        Column(
            name="date",
            read=by(cells.day),
            also=words("priced", "priced on"),
            blank=None,
            new=NewHead(
                "when it was asked for, such as 2026-11-25; blank: not known", 12, form="code"
            ),
        ),
        cells.note(),
    )


def _price(
    record: Record,
    terms: Mapping[str, tuple[Supplier | None, bool]],
    names: dict[str, str],
    tax_percent: Decimal,
    problems: list[Problem],
) -> Price | None:
    """A row's price; `names` are the suppliers come to so far, as the list or their first row has.

    They stand there as they were typed, and folded.
    """
    if record.broken:
        return None
    name = record["supplier"]
    if name not in names:
        spelled = names.get(fold(name))
        names[name] = spelled or _as_listed(name, terms, record.row.where("supplier"), problems)
        names.setdefault(fold(name), names[name])
    name = names[name]
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


def _as_listed(name: str, terms: Iterable[str], where: Where, problems: list[Problem]) -> str:
    """A supplier as the suppliers list spells it; one that is not on it is told."""
    listed = {fold(supplier): supplier for supplier in terms}
    if listed and fold(name) not in listed:
        close = called(name, terms) or slips_of(name, terms) or ["a row for it in suppliers"]
        says = f"supplier '{name}' has no row on the suppliers list: no postage is reckoned"
        problems.append(caution(where, says, " or ".join(close)))
    return listed.get(fold(name), name)


def old_prices(prices: Iterable[Price], today: date, days: int) -> dict[str, tuple[int, date]]:
    """By supplier, how many of these prices are older than so many days, and the oldest."""
    found: dict[str, tuple[int, date]] = {}
    for price in prices:
        if price.priced_on is not None and (today - price.priced_on).days > days:
            count, oldest = found.get(price.supplier, (0, price.priced_on))
            found[price.supplier] = (count + 1, min(oldest, price.priced_on))
    return found


_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def _yes_or_no(value: Value) -> bool:
    return _YES[spelling.one_word_of(value, tuple(_YES), "answer")]


def _least_order(value: Value) -> Decimal:
    """The least that a supplier takes an order for."""
    found = spelling.money(value)
    if found > _MOST_LEAST:
        says = f"{spelling.plain(found)} is no minimum order: {_MOST_LEAST} is the most"
        raise Misspelt(says, "the least they take an order for, such as 25")
    return found


_MOST_LEAST = 1_000_000
"""No supplier to a workshop asks for more, in any currency."""
_SUPPLIER_COLUMNS = (
    cells.key(
        "supplier",
        NewHead("the name used on the price list", 30),
    ),
    cells.money("postage", NewHead("of one order", 10, form="decimals"), blank=Decimal(0)),
    cells.money("free over", NewHead("no postage from this value on", 10, form="decimals")),
    Column(
        name="minimum order",
        read=by(_least_order),
        units=cells.PRICED,
        blank=None,
        new=NewHead("the least they take an order for; blank: none", 15, form="decimals"),
    ),
    Column(
        name="prices include tax",
        read=by(_yes_or_no),
        blank=False,
        new=NewHead("yes or no", 20, "answers"),
    ),
    cells.note(),
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
    there: set[str] = set()
    for record in records:
        name = record["supplier"]
        if "supplier" in record.broken:
            continue
        if fold(name) in there:
            says = f"supplier '{name}' stands twice"
            found.append(error(record.row.where("supplier"), says, "one row for it"))
            continue
        there.add(fold(name))
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
    found, near = [], dict[str, str]()
    for item, where in rows:
        if fold(item) in known:
            continue
        if item not in near and len(near) < MOST_SLIPS:
            near[item] = nearest(item, known)
        close = near.get(item)
        if close:
            says = f"'{item}' is no item of the catalogues"
            found.append(caution(where, says, known[close]))
    return tuple(found)


# ------------------------------------------------------------------- an order come in
