"""Orders that were placed, as the sheet Orders of the stock book has them, one row a line."""

import re
from collections.abc import Container
from datetime import date
from decimal import Decimal

from msgspec.structs import replace

from bom.files import spelling
from bom.files.headings import Column, NewHead, Record, text, words
from bom.files.sheet import Value
from bom.files.spelling import Misspelt, fold
from bom.read import cells
from bom.read.cable_item import cable_in, is_cable
from bom.trade.catalogue import Catalogue
from bom.trade.job_book import Colour
from bom.trade.placed import OrderLine, SoldAs
from bom.trade.problem import Problem, caution, counted, error


def _names(value: Value, _unit: str = "") -> tuple[str, ...]:
    """Reader of names parted by commas or semicolons; one with such in it stands in quotes."""
    parts = re.findall(r'"[^"]+"|[^,;]+', spelling.text_of(value))
    return tuple(name for part in parts if (name := part.strip().strip('"')))


def _amounts(value: Value, _unit: str = "") -> tuple[Decimal, ...]:
    """Reader of figures parted by a comma and a space, since `1,5` is one; one may be a number."""
    parts = re.split(r",\s+|;", spelling.text_of(value))
    return tuple(spelling.quantity(part) for part in parts if part)


def _whole(value: Value, _unit: str = "") -> int:
    return spelling.count(value, 0)


_DAY_FIRST = re.compile(r"(\d\d?)([./-])(\d\d?)\2(20\d\d)")


def _day(value: Value, _unit: str = "") -> date | str:
    """Reader of a date, with the day first too; as it stands where it is none, or one of two.

    >>> _day("29.11.2026"), _day("29/11/2026"), _day("3/4/2026")
    (datetime.date(2026, 11, 29), datetime.date(2026, 11, 29), '3/4/2026')
    """
    typed = value if isinstance(value, date) else spelling.text_of(value)
    found = _DAY_FIRST.fullmatch(typed) if isinstance(typed, str) else None
    try:
        if found is None:
            return cells.day(value)
        day, month = int(found[1]), int(found[3])
        two_ways = found[2] != "." and day != month and day <= 12
        return str(typed) if two_ways else date(int(found[4]), month, day)
    except (Misspelt, ValueError):
        return str(typed)


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
            read=_day,
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
    replace(
        cells.sold_as(NewHead("metre, reel, pack or each", 10, "sold"), filled_by="program"),
        must=False,
    ),
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
    cable = _cable(record, catalogue, problems)
    if cable is None:
        return None
    gauge, colour = cable
    jobs, needed, item = record["for"], record["needed"], record["item"]
    if needed and len(needed) != len(jobs):
        says = f"{counted(len(needed), 'amount')} for {counted(len(jobs), 'job')}"
        cure = "one amount for each job under 'for', or none"
        problems.append(caution(record.row.where("needed"), f"{says}: they are not read", cure))
        needed = ()
    by_length = bool(gauge) or record["sold as"] == "metre"
    by_length |= fold(item) in measured or catalogue.unit_of(item) == "m"
    return OrderLine(
        number=record["number"],
        date=_dated(record, problems),
        supplier=record["supplier"],
        item=item,
        gauge=gauge,
        colour=colour,
        sold_as=record["sold as"] or _form(record["pack"], by_length=by_length),
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


def _cable(
    record: Record, catalogue: Catalogue, problems: list[Problem]
) -> tuple[str, Colour | None] | None:
    """Gauge and colour of a line, from its item where their own cells are blank.

    On a price list a blank colour is every plain one; what is ordered has one.
    """
    where, item, lacks = record.row.where, record["item"], "cable is ordered, and of no "
    try:
        named = cable_in(item, catalogue)
    except Misspelt as fault:
        problems.append(error(where("item"), fault.says, fault.cure))
        return None
    gauge, colour = record["gauge"] or named[0], record["colour"] or named[1]
    if is_cable(item) and not gauge:
        problems.append(error(where("gauge"), f"{lacks}gauge", "its gauge, such as 1.0"))
    elif gauge and not colour:
        problems.append(error(where("colour"), f"{lacks}colour", "its colour, such as red"))
    else:
        return gauge, colour
    return None


def _form(pack: Decimal, *, by_length: bool) -> SoldAs:
    """How goods come where nobody wrote it: metres and pieces, and more of them together."""
    if by_length:
        return "metre" if pack == 1 else "reel"
    return "each" if pack == 1 else "pack"


def _dated(record: Record, problems: list[Problem]) -> date | None:
    """The day of a line; what is none hinders nothing."""
    day: date | str | None = record["date"]
    if isinstance(day, str):
        says = f"'{day}' is not a date, or one that can be read in two ways"
        problems.append(caution(record.row.where("date"), says, "2026-11-25"))
        return None
    return day
