"""Rows `accept` of the Job sheet: `Circuits E8: in tubes of their own`."""

import re
from collections.abc import Iterator, Mapping

from bom.files.spelling import Misspelt, fold
from bom.trade.accept import Accept
from bom.trade.problem import Where, nearest

EXAMPLE = "Circuits E8: in tubes of their own"
_CELL = r"[A-Z]{1,3}[0-9]+"
_RUN = rf"{_CELL}(?:\s*(?:to|-)\s*{_CELL})?"
_CELLS = re.compile(rf"(.+?)[\s!›]+({_RUN}(?:(?:\s*,\s*|\s+and\s+|\s+){_RUN})*)", re.IGNORECASE)
_RANGE = re.compile(rf"({_CELL})\s*:\s*({_CELL})", re.IGNORECASE)


def acceptance(text: str, sheets: Mapping[str, Where], where: Where) -> Accept:
    """A row's places and reason; `sheets` are the places by all their names, folded.

    Raises `Misspelt`.  Cells may be listed or run: `Circuits E8, E10 to E12; Loom A2: reason`.
    """
    plain = _RANGE.sub(r"\1 to \2", text.replace("$", "")).strip()
    told, colon, reason = plain.partition(":")
    if not colon and not _CELLS.fullmatch(told):
        raise Misspelt("a place and the reason belong here", EXAMPLE)
    places = frozenset(p for part in told.split(";") for p in _places(part.strip(), sheets))
    if not reason.strip():
        raise Misspelt("no reason why this is accepted", f"{told.strip()}: the reason")
    return Accept(places=places, reason=reason.strip(), where=where)


def _places(told: str, sheets: Mapping[str, Where]) -> Iterator[Where]:
    """The cells of a sheet, or the sheet as a whole."""
    found = _CELLS.fullmatch(told)
    name, cells = found.groups() if found else (told, "")
    name = name.rpartition("›")[2].strip()
    sheet = sheets.get(fold(name))
    if sheet is None and re.fullmatch(_RUN, name, re.IGNORECASE):
        raise Misspelt(f"no sheet stands before '{name}'", f"Circuits {name}: the reason")
    if sheet is None:
        close = nearest(fold(name), sheets)
        cure = sheets[close].sheet if close else EXAMPLE
        raise Misspelt(f"'{name}' is no sheet of this book", cure)
    for run in re.findall(_RUN, cells.upper(), re.IGNORECASE) if cells else ():
        ends = re.findall(r"([A-Z]+)([0-9]+)", run)
        for row in range(int(ends[0][1]), int(ends[-1][1]) + 1):
            yield Where(sheet.file, sheet.sheet, f"{ends[0][0]}{row}")
    if not cells:
        yield sheet
