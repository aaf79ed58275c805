"""What a workbook asks for, counted in its bytes before calamine makes cells of them.

For each cell calamine takes 24 bytes and a copy of its text, whether two cells share it or not: a
text of 30 kB, stored once and shown in every cell of a column, would fill the memory.
"""

import re
from array import array
from collections.abc import Iterable, Sequence

from bom.files.sheet.values import MAX_CELLS, refused
from bom.trade.problem import Where

MAX_FILLED = 2_500_000
"""Cells with something in them: a price list of 200,000 rows has 1,800,000."""
MAX_STRINGS = 2_000_000
MAX_TEXT_BYTES = 100_000_000
"""Of all cells with a shared text together; those of a long list have 40 million."""

_STRING = re.compile(rb"<(?:[\w.-]+:)?si[\s/>]")
_SHOWN = re.compile(rb""""s"[^>]*>\s*<(?:[\w.-]+:)?v>\s*([0-9]{1,7})""")
_LESS = "take out what is old, or what is not needed"


def check_cells(sheets: Iterable[tuple[Where, bytes]]) -> None:
    """Count cells; raises `Refused` where the sheets of a book have too many together."""
    filled = 0
    for where, xml in sheets:
        filled += xml.count(b"</c>") + xml.count(b":c>")
        if filled > MAX_FILLED or xml.count(b"<c ") > MAX_CELLS:
            says = f"has over {MAX_FILLED:,} cells, with the sheets before it: too large for a list"
            raise refused(where, says, _LESS)


def check_texts(file: str, strings: bytes, sheets: Sequence[bytes]) -> None:
    """Count shared texts and the cells that show them; raises `Refused` for too many."""
    sizes, last = array("L"), 0
    for found in _STRING.finditer(strings):
        sizes.append(found.start() - last)
        last = found.start()
        if len(sizes) > MAX_STRINGS:
            says = f"has over {MAX_STRINGS:,} texts: too large for a list"
            raise refused(Where(file), says, _LESS)
    sizes.append(len(strings) - last)
    longest = max(sizes)
    cells = [xml.count(b'"s"') + xml.count(b"'s'") for xml in sheets]
    if sum(cells) * longest > MAX_TEXT_BYTES:
        shown = sum(map(_shown, sheets, cells, [sizes] * len(cells)))
        if shown > MAX_TEXT_BYTES:
            says = f"has over {MAX_TEXT_BYTES // 1_000_000} MB of text in its cells"
            raise refused(Where(file), f"{says}: too large for a list", _LESS)


def _shown(xml: bytes, cells: int, sizes: "array[int]") -> int:
    """The bytes of text that so many cells show; what cannot be told counts as the longest."""
    numbers = [int(number) + 1 for number in _SHOWN.findall(xml)]
    longest = max(sizes) * (cells - len(numbers))
    return longest + sum(sizes[number] for number in numbers if number < len(sizes))
