"""Orders that were placed, as the sheet Orders of the stock book has them, one row a line."""

import re
from collections.abc import Container
from decimal import Decimal

from bom.files import spelling
from bom.files.headings import Column, NewHead, Record, by, text, words
from bom.files.sheet import Value
from bom.files.spelling import fold
from bom.read import cells
from bom.trade.catalogue import Catalogue
from bom.trade.placed import OrderLine
from bom.trade.problem import Problem, caution, counted


def _names(value: Value, _unit: str = "") -> tuple[str, ...]:
    """Reader of names parted by commas; one with a comma in it stands in quotes."""
    parts = re.findall(r'"[^"]+"|[^,]+', spelling.text_of(value))
    return tuple(name for part in parts if (name := part.strip().strip('"')))


def _amounts(value: Value, _unit: str = "") -> tuple[Decimal, ...]:
    """Reader of figures parted by a comma and a space, since `1,5` is one; one may be a number."""
    parts = re.split(r",\s+|;", spelling.text_of(value))
    return tuple(spelling.quantity(part) for part in parts if part)


def _whole(value: Value, _unit: str = "") -> int:
    return spelling.count(value, 0)


def order_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    """The columns of the sheet Orders."""
    return (*_what(catalogue), *_HOW_MANY, cells.note(), _NEEDED)


def _what(catalogue: Catalogue) -> tuple[Column, ...]:
    """Which order, and which goods."""
    return (
        cells.key(
            "number",
            NewHead("of the order: the year and a count, one a supplier", 12, form="code"),
            also=words("order", "order no", "order number"),
            filled_by="program",
        ),
        Column(
            name="date",
            read=by(cells.day),
            blank=None,
            new=NewHead("when it was placed", 12, form="code"),
            filled_by="program",
        ),
        Column(
            name="supplier",
            read=text,
            new=NewHead("as on the suppliers list", 26),
            filled_by="program",
        ),
        cells.key("item", NewHead("as on the price list", 40), filled_by="program"),
        cells.gauge(
            catalogue, NewHead("of cable", 8, "gauges", form="code"), blank="", filled_by="program"
        ),
        cells.colour(catalogue, NewHead("of cable", 14, "colours"), filled_by="program"),
    )


_HOW_MANY = (
    cells.sold_as(NewHead("metre, reel, pack or each", 10, "sold"), filled_by="program"),
    cells.pack(
        NewHead("how many in a pack, or metres on a reel", 8, form="number"),
        filled_by="program",
    ),
    Column(
        name="packs",
        read=_whole,
        needed=True,
        must=True,
        blank=None,
        new=NewHead("how many are ordered", 8, form="number"),
        filled_by="program",
    ),
    cells.money(
        "price",
        NewHead("of one pack, without tax", 10, form="decimals"),
        filled_by="program",
    ),
    Column(
        name="part no",
        read=text,
        new=NewHead("the supplier's own number", 14, form="code"),
        filled_by="program",
    ),
    Column(
        name="for",
        read=_names,
        blank=(),
        new=NewHead("the jobs, parted by commas", 22),
        filled_by="program",
    ),
    Column(
        name="came",
        read=_whole,
        needed=True,
        blank=0,
        new=NewHead("packs that came so far", 8, form="number"),
        filled_by="program",
    ),
)


_NEEDED = Column(
    name="needed",
    read=_amounts,
    blank=(),
    new=NewHead("how much of it each of them waits for, parted by commas", 12),
    filled_by="program",
)


def order_line(
    record: Record, catalogue: Catalogue, measured: Container[str], problems: list[Problem]
) -> OrderLine | None:
    """A line of an order; None where a cell of it cannot be read.

    `measured` are the items, by folded name, that the drawer has by length.
    """
    if record.broken:
        return None
    jobs, needed, item = record["for"], record["needed"], record["item"]
    if needed and len(needed) != len(jobs):
        says = f"{counted(len(needed), 'amount')} for {counted(len(jobs), 'job')}"
        cure = "one amount for each job under 'for', or none"
        problems.append(caution(record.row.where("needed"), f"{says}: they are not read", cure))
        needed = ()
    by_length = bool(record["gauge"]) or record["sold as"] == "metre"
    by_length |= fold(item) in measured or catalogue.unit_of(item) == "m"
    return OrderLine(
        number=record["number"],
        date=record["date"],
        supplier=record["supplier"],
        item=item,
        gauge=record["gauge"],
        colour=record["colour"],
        sold_as=record["sold as"],
        pack=record["pack"],
        packs=record["packs"],
        price=record["price"],
        part_no=record["part no"],
        jobs=jobs,
        needed=tuple(amount * (1000 if by_length else 1) for amount in needed),
        came=record["came"],
        note=record["note"],
        measured=by_length,
        row=record.row,
    )
