"""The register: the quotations given, a row each, and what came of them."""

from decimal import Decimal
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
    has_headings,
    listing,
    read_rows,
    text,
    words,
)
from bom.files.sheet import Book, Sheet, Value, read_book
from bom.files.spelling import Misspelt, fold
from bom.read import cells
from bom.trade.problem import Problem
from bom.trade.quotes import DECLINED, GivenQuote, Register, Settled
from bom.trade.rows import Listing

_SHEET = "Register"


def read_register(path: Path, own: OwnWords = NO_OWN_WORDS) -> tuple[Register, tuple[Problem, ...]]:
    """The quotations given, from the owner's book; other columns and sheets are left alone."""
    book, problems = read_book(path, single=_SHEET)
    if book is None or not book.sheets:
        return Register(), problems
    columns = own.on(_SHEET, _COLUMNS)
    sheet = _sheet_of(book, columns)
    records, faults = read_rows(sheet, columns, own_columns=True)
    rows = tuple(_given(record) for record in records if not _LEAST & record.broken)
    place = _placed(listing(sheet, columns), sheet, records)
    return Register(rows=rows, listing=place), (*problems, *faults)


def _sheet_of(book: Book, columns: tuple[Column, ...]) -> Sheet:
    """By its name, else by its headings: a page to read may stand before it."""
    fitting = (sheet for sheet in book.sheets if has_headings(sheet, columns))
    return book.sheet(_SHEET) or next(fitting, book.sheets[0])


def _placed(place: Listing | None, sheet: Sheet, records: tuple[Record, ...]) -> Listing | None:
    """Where the list stands, and where it ends if free rows part it from what is below."""
    if place is None or not records:
        return place
    last = records[-1].row.number
    below = sheet.rows[last:]
    return replace(place, last_row=last) if below and not any(below[0]) else place


def _given(record: Record) -> GivenQuote:
    return GivenQuote(
        number=record["number"],
        job=record["job"],
        given=record["given"],
        net=record["net"],
        total=record["total"],
        customer=record["customer"],
        machine=record["machine"],
        valid_until=record["valid until"],
        accepted=record["accepted"],
        deposit=record["deposit"],
        billed=record["billed"],
        paid=record["paid"],
        at_cost=record["materials at cost"],
        hours=record["hours"],
        note=record["note"],
        row=record.row,
    )


# ----------------------------------------------------------------------------- columns


def _answer(value: Value) -> str:
    """The day on which the customer accepted, `yes`, or `no`."""
    said = fold(value) if isinstance(value, str) else ""
    if said in ("yes", DECLINED):
        return said
    try:
        return f"{cells.day(value)}"
    except Misspelt as fault:
        says = f"'{spelling.text_of(value)}' is neither a day nor yes nor no"
        raise Misspelt(says, fault.cure) from None


def _settled(value: Value) -> Settled:
    """So much, or the day on which it was all of it."""
    try:
        return cells.day(value)
    except Misspelt as no_day:
        try:
            return _amount(value)
        except Misspelt as fault:
            says = f"'{spelling.text_of(value)}' is neither an amount nor a day"
            raise Misspelt(says, f"{fault.cure}, or {no_day.cure}") from None


def _amount(value: Value) -> Decimal:
    try:
        return spelling.money(value)
    except Misspelt as fault:
        raise Misspelt(fault.says, "an amount such as 935.44") from None


def _day(name: str, note: str, **more: Any) -> Column:
    new = NewHead(note, 12, form="code")
    return Column(name=name, read=by(cells.day), blank=None, new=new, filled_by="program", **more)


def _sum(name: str, note: str, **more: Any) -> Column:
    new = NewHead(note, max(12, len(name) + 2), form="decimals")
    return Column(name=name, read=by(_amount), units=cells.PRICED, blank=None, new=new, **more)


def _once_done(name: str, note: str) -> Column:
    """What may be an amount or a day is stored as it is typed."""
    new = NewHead(note, 12, form="number")
    return Column(name=name, read=by(_settled), units=cells.PRICED, blank=None, new=new)


_COLUMNS = (
    cells.key(
        "number",
        NewHead(
            "of the quotation; what was given lies in the folder given under it", 14, form="code"
        ),
        also=words("no", "quotation", "quotation no"),
        filled_by="program",
    ),
    cells.key("job", NewHead("by the name on its Job sheet", 18), filled_by="program"),
    Column(name="customer", read=text, new=NewHead("whom it was given to", 24)),
    Column(name="machine", read=text, new=NewHead("as on the Job sheet", 24)),
    _day("given", "the day", must=True),
    _day("valid until", "the day, by the house rule valid_days"),
    _sum("net", "without tax", must=True, filled_by="program"),
    _sum("total", "with tax, as the customer has it", must=True, filled_by="program"),
    Column(
        name="accepted",
        read=by(_answer),
        new=NewHead("yours: the day when the customer said yes; no where it was declined", 12),
    ),
    _sum("deposit", "yours: what came in before work began, with tax"),
    _once_done("billed", "yours: the amount with tax, or the day if it was billed as quoted"),
    _once_done("paid", "yours: what was paid beside the deposit, or the day if that was the rest"),
    _sum("materials at cost", "what they cost the house by the plan of the day it was given"),
    Column(
        name="hours",
        read=by(spelling.quantity),
        blank=None,
        new=NewHead("of labour, by the plan of the day it was given", 8, form="decimals"),
    ),
    cells.note(),
)
_LEAST = frozenset(column.name for column in _COLUMNS if column.must)
"""Without these a row says nothing."""
WRITTEN = tuple(column.name for column in _COLUMNS if column.filled_by == "program")
"""What is written of every quotation given: the list has to have these headings."""


def register_columns() -> tuple[tuple[str, tuple[Column, ...]], ...]:
    """The columns of the register, by the name of its sheet."""
    return ((_SHEET, _COLUMNS),)
