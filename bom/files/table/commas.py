"""Tables as .csv: UTF-8 with a byte order mark, commas, plain numbers (RFC 4180)."""

import re

from bom.files.sheet.values import FORMULA_MARKS
from bom.files.spelling import plain
from bom.files.table.cells import OF_MONEY, Cell, Form, fit_for_files, number, words
from bom.files.table.headed import Table
from bom.trade.money import round_price


def guarded(text: str) -> str:
    """Text for a CSV cell: what a spreadsheet would take for a formula gets a quote.

    >>> guarded("=1+1"), guarded("red")
    ("'=1+1", 'red')
    """
    return f"'{text}" if text.startswith(FORMULA_MARKS) else text


def csv_bytes(table: Table, *, currency: str = "GBP") -> bytes:
    """A file with headings, their units, and the rows.

    Numbers are plain and not rounded, money has at least two decimals and a price four at most;
    no totals, footer or notes.
    """
    forms = [heading.form for heading in table.headings]
    lines = [[_csv_text(heading.titled(currency)) for heading in table.headings]]
    lines += [[_csv_cell(*cell) for cell in zip(row, forms, strict=True)] for row in table.rows]
    text = "".join((",".join(line) or '""') + "\r\n" for line in lines)
    return text.encode("utf-8-sig")


def _csv_cell(value: Cell, form: Form) -> str:
    exact = number(value)
    if exact is None:
        return _csv_text(words(value))
    if form == "price":
        exact = round_price(exact)  # a price net of tax may have no end
    whole, _, part = plain(exact).partition(".")
    if form in OF_MONEY:
        part = f"{part:0<2}"
    return f"{whole}.{part}" if part else whole


def _csv_text(text: str) -> str:
    """In quotes wherever a reader could take a mark in it for the end of the cell."""
    text = fit_for_files(text)
    text = guarded(text) if text.strip() else ""
    if re.search(r'[",;\t\n]', text):
        return '"' + text.replace('"', '""') + '"'
    return text
