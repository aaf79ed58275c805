"""Books of text: .csv in the encodings and with the separators that spreadsheets write."""

import codecs
import csv
import io
import re

from bom.files.sheet.values import (
    ERROR_WORD,
    FORMULA_MARKS,
    MAX_CELLS,
    MAX_COLUMNS,
    Cells,
    Fault,
    Refused,
    Value,
    cell_name,
    clean_text,
    refused,
    trimmed,
)
from bom.trade.problem import Where


def csv_rows(data: bytes, where: Where) -> tuple[Cells, ...]:
    """The rows of a .csv file; raises `Refused` with the row where a quote is left open."""
    text, _ = decoded(data, where)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter(text), strict=True)
    rows: list[list[Value]] = []
    cells = 0
    try:
        for row in reader:
            cells += len(row)
            if cells > MAX_CELLS:
                raise refused(where, f"has over {MAX_CELLS:,} cells: too large to be a list")
            rows.append([csv_value(item) for item in row])
            if any(cell is not None for cell in rows[-1][MAX_COLUMNS:]):
                place = Where(where.file, where.sheet, cell_name(len(rows) - 1, 0))
                says = f"a row of over {MAX_COLUMNS:,} cells: too large to be a list"
                raise refused(place, says, "check where its lines end, and its column marks")
    except csv.Error as trouble:
        raise _csv_trouble(where, len(rows), str(trouble)) from trouble
    return trimmed(rows)


def decoded(data: bytes, where: Where) -> tuple[str, str]:
    """The text without its mark at the start, and the encoding that gives the same bytes again.

    One of Python's `utf-8`, `utf-8-sig` (with the mark) and `cp1252`; raises `Refused`.
    """
    if b"\0" in data:
        raise refused(where, "is written in UTF-16, or is no text at all", "save it as CSV UTF-8")
    body = data.removeprefix(codecs.BOM_UTF8)
    try:
        return body.decode("utf-8"), "utf-8" if body is data else "utf-8-sig"
    except UnicodeDecodeError as trouble:
        unknown = trouble
    try:
        if body is data:  # the mark at the start says UTF-8: anything else is damage
            return body.decode("cp1252"), "cp1252"
    except UnicodeDecodeError as trouble:
        unknown = trouble
    line = body.count(b"\n", 0, unknown.start) + 1
    says = f"line {line}: byte 0x{body[unknown.start]:02X} is no letter in UTF-8 or Windows-1252"
    raise refused(where, says, "save it as CSV UTF-8")


def delimiter(text: str) -> str:
    """The mark that stands in most of the first lines, and most often equally often.

    Titles hold stray commas and decimal commas are no column marks, so a mark must be
    nearly everywhere; `;` and tab win a tie because both are rare in a list otherwise.
    """
    bare = re.sub(r'(?:^|(?<=[,;\t]))"(?:[^"]|"")*+"', "x", text[:65_536], flags=re.MULTILINE)
    lines = [line for line in bare.splitlines() if line.strip(' ,;\t"')][:20]

    def merit(mark: str) -> tuple[int, int, int]:
        counts = [line.count(mark) for line in lines if mark in line]
        usual = max(counts, key=counts.count, default=0)
        return len(counts), counts.count(usual), usual

    return max(";\t,", key=merit) if any(merit(mark)[0] for mark in ";\t,") else ","


def csv_value(raw: str) -> Value:
    """What a cell says: text without its guard, or the fault that it names."""
    text = clean_text(raw)
    if text and text[0] == "'" and text[1:2] in FORMULA_MARKS:
        text = clean_text(text[1:])  # the guard that keeps a spreadsheet from running the text
    return Fault(text) if text and ERROR_WORD.fullmatch(text) else text


def _csv_trouble(where: Where, row: int, trouble: str) -> Refused:
    """The refusal for what csv says of a row."""
    place = Where(where.file, where.sheet, cell_name(row, 0))
    if "unexpected end of data" in trouble or "field limit" in trouble:
        says = f"row {row + 1}: a quote mark is opened and never closed"
        return refused(place, says, "a quote mark at the end of the text too, or none")
    what = "text goes on after a closing quote mark" if "expected after" in trouble else trouble
    return refused(place, f"row {row + 1}: {what}", 'write a quote mark inside quotes twice: ""')
