"""A list of prices wanted that came back: the columns of a price list, some prices still blank."""

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from bom.files.headings import Column, OwnWords, Record, has_headings, read_rows, text
from bom.files.sheet import read_book
from bom.files.spelling import plain
from bom.read.matching import Goods, Listed, Matched
from bom.read.prices import price_row_columns
from bom.read.supplier_list import price_told
from bom.trade.catalogue import Catalogue
from bom.trade.problem import Problem, error

WANTED = "wanted"
"""The heading that only such a list has: how much of it is wanted."""


class FilledIn(Struct, frozen=True, kw_only=True):
    """A row of the list: the goods by their own names, and who sells them ('': not told here)."""

    supplier: str
    matched: Matched


def read_wanted(
    path: Path, catalogue: Catalogue, own: OwnWords
) -> tuple[tuple[FilledIn, ...] | None, tuple[Problem, ...]]:
    """The rows of the list; None where this is no list of prices wanted, but a supplier's own."""
    book, problems = read_book(path, single="Prices")
    columns = own.on("Prices", _columns(catalogue))
    sheet = next((one for one in book.sheets if has_headings(one, columns)), None) if book else None
    if sheet is None:
        return None, ()
    records, faults = read_rows(sheet, columns, own_columns=True)
    whole = [record for record in records if not record.broken]
    unclear = [problem for record in whole for problem in _unclear(record)]
    return tuple(map(_filled_in, whole)), (*problems, *faults, *unclear)


def _columns(catalogue: Catalogue) -> tuple[Column, ...]:
    """Those of a price list; a price may still be blank, and nobody is known to sell it."""
    own: dict[str, dict[str, Any]] = {
        "supplier": {"needed": False, "must": False},
        "price": {"needed": True, "must": False, "read": price_told},
    }
    columns = (replace(c, **own.get(c.name, {})) for c in price_row_columns(catalogue))
    return (*columns, Column(name=WANTED, read=text, needed=True))


def _unclear(record: Record) -> Iterator[Problem]:
    """A pack typed beside the word that stood there: nobody can tell what the price is for."""
    sold_as, pack = record["sold as"], record["pack"]
    if record["price"] is not None and sold_as in ("metre", "each") and pack != 1:
        says = f"sold as {sold_as}, and {plain(pack)} in a pack: is the price for one, or for all?"
        whole = "reel" if sold_as == "metre" else "pack"
        cure = f"{whole} under 'sold as' if it is for all, else no pack"
        yield error(record.row.where("pack"), says, cure)


def _filled_in(record: Record) -> FilledIn:
    price: Decimal | None = record["price"]
    listed = Listed(
        words=record["item"],
        part_no=record["part no"],
        gauge=record["gauge"],
        colour=str(record["colour"] or ""),
        form=record["sold as"],
        pack=plain(record["pack"]),
        price=price,
        row=record.row,
    )
    matched = Matched(
        listed=listed,
        goods=Goods(record["item"], record["gauge"], record["colour"]),
        sold_as=record["sold as"],
        pack=record["pack"],
        price=price or Decimal(),
    )
    return FilledIn(supplier=record["supplier"], matched=matched)
