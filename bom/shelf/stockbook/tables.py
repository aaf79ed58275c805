"""Excel tables: where they stand in a sheet, and one of them made longer.

Attributes: ECMA-376 Part 1, 18.5.1.2 (table) and 18.3.1.2 (autoFilter).
"""

import posixpath
import re
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from bom.files.sheet.package import Package, walk_xml
from bom.files.sheet.xlsx import relations
from bom.shelf.stockbook.markup import with_attribute
from bom.shelf.stockbook.sheetxml import Area, area, tag_at


class ExcelTable(Struct, frozen=True, kw_only=True):
    """A table: all its cells, and how many of its rows are headings and shown totals."""

    member: str
    name: str
    area: Area
    headings: int
    totals: int

    @property
    def first(self) -> int:
        """The row under the headings."""
        return self.area.top + self.headings

    @property
    def last(self) -> int:
        """The last row above the totals."""
        return self.area.bottom - self.totals


def tables_of(package: Package, member: str) -> Iterator[ExcelTable]:
    """The tables of the sheet in that member; raises `Refused`."""
    folder, own = posixpath.split(member)
    if not package.part(f"{folder}/_rels/{own}.rels"):  # a sheet that refers to nothing
        return
    for kind, target in relations(package, member).values():
        if kind == "table" and package.part(target):
            yield _table(package, target)


def _table(package: Package, member: str) -> ExcelTable:
    root: dict[str, str] = {}

    def start(name: str, attributes: dict[str, str]) -> None:
        if name.rpartition(":")[2] == "table" and not root:
            root.update(attributes)

    walk_xml(package.part(member), package.file, start)
    return ExcelTable(
        member=member,
        name=root.get("displayName", ""),
        area=area(root.get("ref", "")),
        headings=int(root.get("headerRowCount", "1")),
        totals=int(root.get("totalsRowCount", "0")),
    )


def lengthened(xml: bytes, table: ExcelTable, bottom: int) -> bytes:
    """The table's part with its last row, and its filter's, moved down to `bottom`."""
    new = str(replace(table.area, bottom=bottom))
    for element in (b"table", b"autoFilter"):
        found = re.search(rb"<(?:[\w.-]+:)?" + element + rb"(?=[\s/>])", xml)
        if found:
            tag = tag_at(xml, found.start())
            changed = with_attribute(xml[tag.start : tag.end], "ref", new)
            xml = xml[: tag.start] + changed + xml[tag.end :]
    return xml
