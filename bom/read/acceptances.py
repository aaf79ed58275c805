"""Rows `accept` of the Job sheet: `Circuits E8: in tubes of their own`."""

import re
from collections.abc import Mapping

from bom.files.spelling import Misspelt, fold
from bom.trade.accept import Accept
from bom.trade.problem import Where, nearest

EXAMPLE = "Circuits E8: in tubes of their own"
_CELL = r"[A-Z]{1,3}[0-9]+"
_RUN = rf"{_CELL}(?:\s*(?:to|-|:)\s*{_CELL})?"
_CELLS = re.compile(
    rf"(.+?)[\s!›]+({_RUN}(?:(?:\s*[,;]\s*|\s+and\s+|\s+){_RUN})*)\s*(?::(.*))?", re.I | re.S
)
_WHOLE = re.compile(r"([^:]+):(.*)", re.S)


def acceptance(text: str, sheets: Mapping[str, Where], where: Where) -> Accept:
    """A row's sheet, cells and reason; `sheets` are the places by all their names, folded.

    Raises `Misspelt`.  Cells may be listed or run: `Circuits E8, E10 to E12: reason`.
    """
    found = _CELLS.fullmatch(text.strip())
    name, cells, reason = found.groups("") if found else ("", "", "")
    if not found:
        whole = _WHOLE.fullmatch(text.strip())
        if whole is None:
            raise Misspelt("a place and the reason belong here", EXAMPLE)
        name, reason = whole.groups()
    name = name.rpartition("›")[2].strip()
    place = sheets.get(fold(name))
    if place is None:
        cure = sheets[close].sheet if (close := nearest(fold(name), sheets)) else EXAMPLE
        raise Misspelt(f"'{name}' is no sheet of this book", cure)
    if not reason.strip():
        raise Misspelt("no reason why this is accepted", f"{text.strip().rstrip(':')}: the reason")
    return Accept(
        file=place.file,
        sheet=place.sheet,
        cells=frozenset(_each_cell(cells.upper())),
        reason=reason.strip(),
        where=where,
    )


def _each_cell(cells: str) -> list[str]:
    """Every cell of a list of cells and runs down a column."""
    found = []
    for run in re.findall(_RUN, cells):
        ends = re.findall(r"([A-Z]+)([0-9]+)", run)
        rows = range(int(ends[0][1]), int(ends[-1][1]) + 1)
        found += [f"{ends[0][0]}{row}" for row in rows]
    return found
