"""A supplier's own list: its columns known by the words that suppliers use, its rows as text."""

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from bom.files import spelling
from bom.files.headings import (
    Column,
    OwnWords,
    Record,
    TakenFor,
    as_shown,
    has_headings,
    read_rows,
    taken_for,
    text,
    words,
)
from bom.files.sheet import Sheet, Value, column_number, read_book
from bom.read.matching import Listed, PriceFor
from bom.trade.problem import Problem, Where, error

MOST_IN_A_PACK = 10_000
"""A whole number above this is a code, not a pack."""

NO_PRICE = frozenset(("poa", "on request", "n/a", "na", "tba", "tbc", "call", "-", "–", "0"))
"""What stands in a price cell where there is none."""


class PriceList(Struct, frozen=True, kw_only=True):
    """The rows of a list, and how many rows tell no price."""

    rows: tuple[Listed, ...] = ()
    left_out: int = 0
    taken: tuple[TakenFor, ...] = ()
    """What each heading of its sheets is taken for."""


def _price(value: Value, _unit: str) -> Decimal | None:
    typed = spelling.text_of(value)
    none = spelling.fold(typed).replace(".", "") in NO_PRICE  # P.O.A.
    return None if none else spelling.money(value) or None


_TAXED = "price with tax"
_NEAR_TOP = 30
_WITH_TAX = re.compile(r"\b(?:inc|incl|including|with|gross)\b.*\b(?:vat|tax)\b", re.IGNORECASE)
_WITHOUT_TAX = re.compile(r"\b(?:ex|exc|excl|net|nett|without)\b", re.IGNORECASE)
_COLUMNS = (
    Column(
        name="description",
        read=text,
        also=words(
            *("item", "article", "product", "product description", "item description", "title"),
            *("product name", "name", "details", "goods", "what", "item name", "product title"),
        ),
        needed=True,
    ),
    Column(
        name="part no",
        read=text,
        also=words(
            *("part number", "part", "code", "product code", "item code", "order code", "ref"),
            *("reference", "stock code", "cat no", "catalogue no", "article no", "item no", "no"),
        ),
    ),
    Column(name="size", read=text, also=words("gauge", "csa", "section", "cross section", "mm2")),
    Column(name="colour", read=text, also=words("color", "col", "colour code", "tint")),
    Column(
        name="unit",
        read=text,
        also=words(
            "uom", "unit of sale", "sold as", "sold by", "sold in", "unit of measure", "per"
        ),
    ),
    Column(
        name="pack",
        read=text,
        also=words(
            *(
                "pk",
                "pkt",
                "packet",
                "pack of",
                "per pack",
                "pcs",
                "pieces",
                "no in pack",
                "number",
            ),
            *("pack size", "pack qty", "pack quantity", "qty", "quantity", "qty per pack"),
            *("box qty", "bag qty", "packing", "contents", "moq"),
        ),
    ),
    Column(
        name="price",
        read=_price,
        also=words(
            *(
                "net price",
                "nett price",
                "net",
                "nett",
                "unit price",
                "price each",
                "each",
                "trade",
            ),
            *("trade price", "price ex vat", "ex vat", "price excl vat", "your price", "cost"),
            *("price per pack", "pack price", "price per unit", "net unit price", "list price"),
            *("price ex tax", "price excl tax", "price without tax", "unit cost", "rate"),
        ),
        units=dict.fromkeys(("gbp", "eur", "usd", "£", "€", "$"), ""),
        blank=None,
    ),
    Column(
        name=_TAXED,
        read=_price,
        also=words(
            *("price inc vat", "inc vat", "price incl vat", "price inc tax", "price incl tax"),
            *("gross", "gross price", "retail", "retail price", "rrp"),
        ),
        units=dict.fromkeys(("gbp", "eur", "usd", "£", "€", "$"), ""),
        blank=None,
    ),
)

LISTS = "Lists"
"""The name under which `[columns]` in workshop.toml has the owner's words for these columns."""


def list_columns() -> tuple[tuple[str, tuple[Column, ...]], ...]:
    """The columns of a supplier's list, by the name they go under in workshop.toml."""
    return ((LISTS, _COLUMNS),)


def _columns_for(sheet: Sheet, own: OwnWords) -> tuple[Column, ...]:
    """The columns, with what this sheet's headings say of tax in whichever words."""
    texts = {cell for row in sheet.rows[:_NEAR_TOP] for cell in row if isinstance(cell, str)}
    taxed = tuple(text for text in texts if _WITH_TAX.search(text))
    return tuple(
        replace(column, own=(*column.own, *taxed)) if column.name == _TAXED else column
        for column in own.on(LISTS, _COLUMNS)
    )


def read_price_list(
    path: Path, own: OwnWords, *, with_tax: bool
) -> tuple[PriceList, tuple[Problem, ...]]:
    """The rows of every sheet that has a description and a price.

    `own` are the owner's words for columns; `with_tax` says that the supplier's prices are kept
    with tax in them.
    """
    book, problems = read_book(path, single="Prices")
    if book is None:
        return PriceList(), problems
    by_sheet = [(sheet, _columns_for(sheet, own)) for sheet in book.sheets]
    sheets = [(sheet, columns) for sheet, columns in by_sheet if has_headings(sheet, columns)]
    if not sheets:
        says = "no sheet has a heading such as 'description' over a column"
        cure = "description, part no, size, colour, pack and price as headings"
        return PriceList(), (*problems, error(Where(book.file), says, cure))
    found = [*problems]
    read = PriceList()
    for sheet, columns in sheets:
        one, faults = _read_sheet(sheet, columns, with_tax=with_tax)
        found += faults
        read = PriceList(
            rows=(*read.rows, *one.rows),
            left_out=read.left_out + one.left_out,
            taken=(*read.taken, *one.taken),
        )
    return read, tuple(found)


def _read_sheet(
    sheet: Sheet, columns: Sequence[Column], *, with_tax: bool
) -> tuple[PriceList, tuple[Problem, ...]]:
    headings = taken_for(sheet, columns)
    column, taken, missing = _price_column(sheet, columns, with_tax=with_tax)
    if missing:
        return PriceList(), (missing,)
    price_for = _what_for(taken.heading if taken else "")
    records, faults = read_rows(sheet, columns, own_columns=True)
    listed = [_listed(record, column, price_for) for record in records if not record.broken]
    told = [one for one in listed if one.words]
    read = PriceList(
        rows=tuple(one for one in told if one.price is not None),
        left_out=sum(1 for one in told if one.price is None),
        taken=headings,
    )
    return read, (*faults, *_packs_unread(sheet, headings))


_NO_PACK = re.compile(
    r"\b(?:stock|available|availability|ean|barcode|gtin|vat|tax|duty|weight|page|line|row|bin"
    r"|shelf|lead|days|year|rating|rank)\b",
    re.IGNORECASE,
)
"""Words in the headings of whole numbers that are no packs."""


def _packs_unread(sheet: Sheet, headings: Sequence[TakenFor]) -> Iterator[Problem]:
    """Columns of whole numbers that nobody reads, where no other says how many a price buys.

    One of them may be the pack: a price of ten would be booked as the price of one.
    """
    if {"pack", "unit"} & {one.column for one in headings}:
        return
    for one in headings:
        if one.column or one.how != "not read" or _NO_PACK.search(one.heading):
            continue
        below = _below(sheet, one.where)
        if below and all(map(_is_count, below)) and any(text != "1" for text in below):
            says = f"'{one.heading}' is not read, and has whole numbers: is it the pack?"
            cure = f'under [columns.{LISTS}] in workshop.toml: "{one.heading}" = "pack", or = ""'
            yield error(one.where, says, cure)


def _below(sheet: Sheet, where: Where) -> list[str]:
    """What stands in the column under a heading."""
    letters = where.cell.rstrip("0123456789")
    column, header = column_number(letters), int(where.cell.removeprefix(letters))
    cells = (row[column] for row in sheet.rows[header:] if column < len(row))
    return [as_shown(cell) for cell in cells if cell is not None]


def _is_count(text: str) -> bool:
    return text.isdecimal() and 1 <= int(text) <= MOST_IN_A_PACK


def _price_column(
    sheet: Sheet, columns: Sequence[Column], *, with_tax: bool
) -> tuple[str, TakenFor | None, Problem | None]:
    """The column of prices with or without tax as asked; the other kind is not taken for it."""
    taken = {one.column: one for one in taken_for(sheet, columns)}
    wanted, other = (_TAXED, "price") if with_tax else ("price", _TAXED)
    if wanted in taken:
        return wanted, taken[wanted], None
    if other not in taken:
        where = Where(sheet.file, sheet.name)
        return "", None, error(where, "no column has a price", "the heading 'price'")
    heading = taken[other].heading
    if with_tax and not _WITHOUT_TAX.search(heading):
        return "price", taken["price"], None  # a plain 'price' may be either: the supplier says
    says = f"'{heading}' is with tax, and this supplier's prices are kept without it"
    if with_tax:
        says = f"'{heading}' is without tax, and this supplier's prices are kept with it"
    cure = "the other answer under 'prices include tax' on the suppliers list, or another column"
    return "", None, error(taken[other].where, says, cure)


def _what_for(heading: str) -> PriceFor:
    said = spelling.fold(heading)
    if re.search(r"\b(?:each|unit|piece)\b", said):
        return "each"
    return "pack" if re.search(r"\b(?:pack|bag|box)\b", said) else ""


def _listed(record: Record, price: str, price_for: PriceFor) -> Listed:
    unit, pack = record["unit"], record["pack"]
    if unit.isdecimal() and not pack:  # a price per 100
        unit, pack = "pack", unit
    return Listed(
        words=record["description"],
        part_no=record["part no"],
        gauge=record["size"],
        colour=record["colour"],
        form=unit,
        pack=pack,
        price=record[price],
        price_for=price_for,
        row=record.row,
    )
