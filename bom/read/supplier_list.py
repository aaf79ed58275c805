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
    KnownHeadings,
    OwnWords,
    Record,
    TakenFor,
    has_headings,
    listing,
    read_rows,
    taken_for,
    text,
    words,
)
from bom.files.sheet import Sheet, Value, read_book
from bom.read.matching import Listed, PriceFor
from bom.read.price_headings import LISTS, PRICE, TAXED, below, by_the_metre, priced_by, what_for
from bom.trade.problem import Problem, Where, caution, error

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


def price_told(value: Value, _unit: str) -> Decimal | None:
    """Reader of a supplier's price; None where he tells none."""
    typed = spelling.text_of(value)
    none = spelling.fold(typed).replace(".", "") in NO_PRICE  # P.O.A.
    return None if none else spelling.money(value) or None


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
        name=PRICE,
        read=price_told,
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
        name=TAXED,
        read=price_told,
        also=words(
            *("price inc vat", "inc vat", "price incl vat", "price inc tax", "price incl tax"),
            *("gross", "gross price", "retail", "retail price", "rrp"),
        ),
        units=dict.fromkeys(("gbp", "eur", "usd", "£", "€", "$"), ""),
        blank=None,
    ),
)


def list_columns() -> tuple[tuple[str, tuple[Column, ...]], ...]:
    """The columns of a supplier's list, by the name they go under in workshop.toml."""
    return ((LISTS, _COLUMNS),)


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
    columns = own.on(LISTS, _COLUMNS)
    sheets = [sheet for sheet in book.sheets if has_headings(sheet, columns)]
    if not sheets:
        says = "no sheet has a heading such as 'description' over a column"
        cure = "description, part no, size, colour, pack and price as headings"
        return PriceList(), (*problems, error(Where(book.file), says, cure))
    found = [*problems]
    read = PriceList()
    for sheet in sheets:
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
    sheet, beside = _as_one_list(sheet, columns)
    columns, price = priced_by(sheet, columns, with_tax=with_tax)
    if isinstance(price, Problem):
        return PriceList(), (*beside, price)
    headings = taken_for(sheet, columns)
    column, price_for = TAXED if price.with_tax else PRICE, what_for(price.taken.heading)
    records, faults = read_rows(sheet, columns, own_columns=True)
    form = "metre" if by_the_metre(price.taken.heading) else ""
    setting = (column, price_for, form)
    listed = [_listed(record, setting) for record in records if not record.broken]
    told = [one for one in listed if one.words]
    read = PriceList(
        rows=tuple(one for one in told if one.price is not None),
        left_out=sum(1 for one in told if one.price is None),
        taken=headings,
    )
    return read, (*beside, *faults, *_packs_unread(sheet, headings))


def _as_one_list(sheet: Sheet, columns: Sequence[Column]) -> tuple[Sheet, tuple[Problem, ...]]:
    """The sheet with blank headings as headings, since a blank column parts nothing here.

    A second list beside the first, with descriptions of its own, is told and left out.
    """
    place = listing(sheet, columns)
    header = place.header_row - 1 if place else 0
    heads, known = sheet.rows[header], KnownHeadings(columns)
    width, told = len(heads), tuple[Problem, ...]()
    lists = [i for i in range(width) if known.names(heads[i : i + 1]) & known.needed]
    if len(lists) > 1 and None in heads[lists[0] : lists[1]]:
        where, says = sheet.where(header, lists[1]), "the list beside this one is not read"
        told = (caution(where, says, "a sheet of its own for it"),)
        width = lists[1] - heads[lists[1] :: -1].index(None)
    joined = tuple(_NO_HEADING if head is None else head for head in heads[:width])
    rows = tuple(cells[:width] for cells in sheet.rows) if told else sheet.rows
    return replace(sheet, rows=(*rows[:header], joined, *rows[header + 1 :])), told


_NO_HEADING = " "
"""A heading that no column has."""

_NO_PACK = re.compile(
    r"\b(?:stock|available|availability|ean|barcode|gtin|vat|tax|duty|weight|page|line|row|bin"
    r"|shelf|lead|days|year|rating|rank|disc|discount)\b",
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
        told = below(sheet, one.where)
        if told and all(map(_is_count, told)) and any(text != "1" for text in told):
            says = f"'{one.heading}' is not read, and has whole numbers: is it the pack?"
            cure = f'under [columns.{LISTS}] in workshop.toml: "{one.heading}" = "pack", or = ""'
            yield error(one.where, says, cure)


def _is_count(text: str) -> bool:
    return text.isdecimal() and 1 <= int(text) <= MOST_IN_A_PACK


def _listed(record: Record, setting: tuple[str, PriceFor, str]) -> Listed:
    """A row; `setting` is the column of its price, and what that is for: one, or a metre."""
    price, price_for, form = setting
    unit, pack = record["unit"] or form, record["pack"]
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
