"""The register: the quotations given, a row each, and what came of them."""

from collections.abc import Callable, Iterable, Iterator
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
from bom.trade.quotes import DECLINED, YES, GivenQuote, Register, Settled
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
    given = (_given(record) for record in records if not _LEAST & record.broken)
    rows = tuple(sorted(given, key=lambda quote: quote.turn))
    place = _placed(listing(sheet, columns), sheet, records)
    return Register(rows=rows, listing=place), (*problems, *_milder(faults, records))


def _milder(faults: Iterable[Problem], records: Iterable[Record]) -> Iterator[Problem]:
    """What is not understood of what came of a quotation leaves the quotation as it was given."""
    yours = {record.row.where(name) for record in records for name in _YOURS & record.broken}
    return (replace(p, level="caution") if p.where in yours else p for p in faults)


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
        net=_known(record["net"]),
        total=_known(record["total"]),
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
        unread=_YOURS & record.broken,
    )


# ----------------------------------------------------------------------------- columns


_YES = frozenset(("yes", "y", "ja", "ok", "x", "✓", "✔", "true", "accepted"))
_NO = frozenset(("no", "n", "nein", "-", "–", "✗", "✘", "false", "declined"))
_HOW = (
    "in",
    "by",
    "full",
    "paid",
    "billed",
    "invoiced",
    "cash",
    "bank",
    "transfer",
    "card",
    "cheque",
)
HALF = "incomplete"
"""What stands where the sum would, of a quotation that was given while something had no price."""
_ALL_OF_IT = _YES | {*_HOW}
"""What is told in these words alone is all of it: `paid in cash`."""


def _answer(value: Value) -> str:
    """The day on which the customer accepted, `yes` or a mark, or `no`."""
    if (said := _said(value)) in _YES | _NO:
        return YES if said in _YES else DECLINED
    try:
        return f"{cells.day(value)}"
    except Misspelt as fault:
        says = f"'{spelling.text_of(value)}' is neither a day nor yes nor no"
        raise Misspelt(says, f"{fault.cure}, yes or no") from None


def _said(value: Value) -> str:
    return fold(spelling.text_of(value)) if isinstance(value, str | bool) else ""


def _settled(value: Value) -> Settled:
    """So much, or all of it: the day, `yes`, a mark, or how it was paid."""
    said = _said(value)
    if said in _NO:
        return None
    if said and _ALL_OF_IT.issuperset(said.split()):
        return YES
    try:
        return cells.day(value)
    except Misspelt as no_day:
        try:
            return _amount(value)
        except Misspelt as fault:
            says = f"'{spelling.text_of(value)}' is neither an amount nor a day nor yes"
            raise Misspelt(says, f"{fault.cure}, {no_day.cure} or yes") from None


def _quoted(value: Value) -> Decimal | str:
    """A sum as it was given, or the word for half a price."""
    return HALF if _said(value) == HALF else _amount(value)


def _known(quoted: Decimal | str) -> Decimal | None:
    return None if isinstance(quoted, str) else quoted


def _deposit(value: Value) -> Decimal | None:
    return None if _said(value) in _NO else _amount(value)


def _amount(value: Value) -> Decimal:
    try:
        return spelling.money(value)
    except Misspelt as fault:
        raise Misspelt(fault.says, "an amount such as 935.44") from None


def _day(name: str, note: str, **more: Any) -> Column:
    new = NewHead(note, 12, form="code")
    return Column(name=name, read=by(cells.day), blank=None, new=new, filled_by="program", **more)


def _sum(
    name: str, note: str, read: Callable[[Value], Decimal | str | None] = _amount, **more: Any
) -> Column:
    new = NewHead(note, max(12, len(name) + 2), form="decimals")
    return Column(name=name, read=by(read), units=cells.PRICED, blank=None, new=new, **more)


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
    _sum("net", "without tax", _quoted, must=True, filled_by="program"),
    _sum("total", "with tax, as the customer has it", _quoted, must=True, filled_by="program"),
    Column(
        name="accepted",
        read=by(_answer),
        new=NewHead(
            "yours: the day when the customer said yes, or yes; no where it was declined", 12
        ),
    ),
    _sum("deposit", "yours: what came in before work began, with tax", _deposit),
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
_YOURS = frozenset(("accepted", "deposit", "billed", "paid"))
"""What the owner fills in, as it comes."""
WRITTEN = tuple(column.name for column in _COLUMNS if column.filled_by == "program")
"""What is written of every quotation given: the list has to have these headings."""


def register_columns() -> tuple[tuple[str, tuple[Column, ...]], ...]:
    """The columns of the register, by the name of its sheet."""
    return ((_SHEET, _COLUMNS),)
