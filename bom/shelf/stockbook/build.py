"""The XML of a sheet with what is planned spliced in; every byte beside it stays."""

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import groupby
from xml.sax.saxutils import quoteattr

from msgspec.structs import replace

from bom.files.sheet.values import cell_name
from bom.shelf.stockbook.markup import cell_xml, opened, with_attribute
from bom.shelf.stockbook.plan import Grown, NewCell, Place, SheetPlan
from bom.shelf.stockbook.sheetxml import TRUE, Area, RowXml, SheetXml, StartTag, area
from bom.shelf.stockbook.stale import out_of_date

Splice = tuple[int, int, bytes]
"""Start and end of the bytes that go, and what comes instead."""

_OF_THE_ROW_ABOVE = ("s", "customFormat", "ht", "customHeight", "thickTop", "thickBot")


def built(plan: SheetPlan) -> bytes:
    """The sheet's XML after the plan; the same bytes when the plan changes nothing."""
    xml = plan.sheet.xml
    splices = list(_cells(plan))
    if not splices:
        return xml
    splices += _stale_results(plan)
    splices += _dimension(plan)
    for grown in plan.grown:
        splices += _ranges(plan.sheet, grown)
    out, at, rest = list[bytes | memoryview](), 0, memoryview(xml)
    for start, end, new in sorted(splices, key=lambda splice: splice[:2]):
        out += [rest[at:start], _as_declared(xml, new)]
        at = end
    return b"".join([*out, rest[at:]])


def _as_declared(xml: bytes, new: bytes) -> bytes:
    """The new bytes in the encoding that the XML declares: UTF-8, or ASCII with references."""
    if re.match(rb"""<\?xml[^>]*encoding\s*=\s*["']us-ascii""", xml, re.IGNORECASE):
        return new.decode().encode("ascii", "xmlcharrefreplace")
    return new


def _cells(plan: SheetPlan) -> Iterator[Splice]:
    """What is put where, in rows that are there and in new ones between them."""
    sheet, new = plan.sheet, defaultdict[int, list[bytes]](list)
    for number, group in groupby(sorted(plan.puts.items()), key=lambda item: item[0][0]):
        puts = {place: put for place, put in group if _matters(sheet, place, put)}
        row = sheet.row(number)
        if row is not None and (puts or number in plan.models):
            yield from _in_row(plan, row, puts)
        elif puts:
            at = sheet.start_behind(number)
            new[at].append(_new_row(plan, number, puts))
    data = sheet.data
    if new and data and sheet.empty(data.tag):
        tag = opened(sheet.xml[data.tag.start : data.tag.end])
        rows = b"".join(*new.values())
        yield data.tag.start, data.tag.end, tag + rows + _end(sheet, "sheetData")
        return
    for at, more in new.items():
        yield at, at, b"".join(more)


def _matters(sheet: SheetXml, place: Place, put: NewCell) -> bool:
    """False for emptying what is empty already, unless a style has to be set."""
    cell = sheet.cell(*place)
    if put.value not in (None, ""):
        return True
    if cell is None:
        return put.style is not None
    return not cell.blank or (put.style is not None and "s" not in cell.attributes)


def _in_row(plan: SheetPlan, row: RowXml, puts: dict[Place, NewCell]) -> Iterator[Splice]:
    """Changed and new cells of a row that the sheet has."""
    sheet, xml = plan.sheet, plan.sheet.xml
    new: dict[int, bytes] = {}
    for place, put in puts.items():
        cell = row.cells.get(place[1])
        if cell is not None:
            style = cell.attributes.get("s", put.style)
            yield (
                cell.tag.start,
                cell.end,
                cell_xml(sheet.prefix, cell_name(*place), style, put.value),
            )
            continue
        after = next((c for n, c in sorted(row.cells.items()) if n > place[1]), None)
        at = row.close if after is None else after.tag.start
        new[at] = new.get(at, b"") + _new_cell(sheet, row.attributes, place, put)
    tag = old = xml[row.tag.start : row.tag.end]
    tag = _wider(tag, row, [column for _, column in puts])
    if row.number in plan.models and row.attributes.get("hidden") in TRUE:
        tag = with_attribute(tag, "hidden", None)
    if new and sheet.empty(row.tag):
        tag = opened(tag) + b"".join(new.values()) + _end(sheet, "row")
        new = {}
    if tag != old:
        yield row.tag.start, row.tag.end, tag
    for at, cells in new.items():
        yield at, at, cells


def _new_cell(sheet: SheetXml, row: dict[str, str], place: Place, put: NewCell) -> bytes:
    style = put.style
    if style is None:
        own = row.get("s") if row.get("customFormat") in TRUE else None
        style = own or sheet.column_style(place[1])
    return cell_xml(sheet.prefix, cell_name(*place), style, put.value)


def _new_row(plan: SheetPlan, number: int, puts: dict[Place, NewCell]) -> bytes:
    """A row that the sheet did not have, as high as the one it is modelled on."""
    prefix, model = plan.sheet.prefix, plan.models.get(number)
    attributes = {
        name: value
        for name, value in (model.attributes if model else {}).items()
        if name in _OF_THE_ROW_ABOVE or name.endswith(":dyDescent")
    }
    said = "".join(f" {name}={quoteattr(value)}" for name, value in attributes.items())
    cells = b"".join(_new_cell(plan.sheet, attributes, *item) for item in puts.items())
    head = f'<{prefix}row r="{number + 1}"{said}>'.encode()
    return head + cells + _end(plan.sheet, "row")


def _wider(tag: bytes, row: RowXml, columns: Sequence[int]) -> bytes:
    """A row's tag whose `spans`, a hint for the reader, take in the columns."""
    match = re.fullmatch(r"([0-9]+):([0-9]+)", row.attributes.get("spans", ""))
    if match is None or not columns:
        return tag
    first = min(int(match[1]), min(columns) + 1)
    last = max(int(match[2]), max(columns) + 1)
    wide = f"{first}:{last}"
    return tag if wide == match[0] else with_attribute(tag, "spans", wide)


def _end(sheet: SheetXml, name: str) -> bytes:
    return f"</{sheet.prefix}{name}>".encode()


def _stale_results(plan: SheetPlan) -> Iterator[Splice]:
    """Take out stored results that may no longer be true.

    One that shows a picture or linked data stays: it cannot be worked out from the file.
    """
    sheet = plan.sheet
    changed = [place for place, put in plan.puts.items() if _matters(sheet, place, put)]
    for cell in out_of_date(sheet, plan.where.sheet, changed, plan.steady):
        if cell.value is None or "vm" in cell.attributes:
            continue
        yield cell.value.start, cell.value.end, b""
        if "t" in cell.attributes:
            tag = sheet.xml[cell.tag.start : cell.tag.end]
            yield cell.tag.start, cell.tag.end, with_attribute(tag, "t", None)


def _dimension(plan: SheetPlan) -> Iterator[Splice]:
    """The sheet's used area, which takes in the new cells."""
    mark = plan.sheet.dimension
    places = [place for place, put in plan.puts.items() if _matters(plan.sheet, place, put)]
    if mark is None or not places or "ref" not in mark.attributes:
        return
    old = area(mark.attributes["ref"])
    new = Area(
        top=min(old.top, *(row for row, _ in places)),
        left=min(old.left, *(column for _, column in places)),
        bottom=max(old.bottom, *(row for row, _ in places)),
        right=max(old.right, *(column for _, column in places)),
    )
    if new != old:
        yield _changed(plan.sheet, mark, "ref", str(new))


def _changed(sheet: SheetXml, mark: StartTag, name: str, value: str) -> Splice:
    tag = sheet.xml[mark.tag.start : mark.tag.end]
    return mark.tag.start, mark.tag.end, with_attribute(tag, name, value)


def _ranges(sheet: SheetXml, grown: Grown) -> Iterator[Splice]:
    """Conditional formats and validations that ended with the list end with it again."""
    for mark in sheet.ranges:
        old = mark.attributes.get("sqref", "")
        new = _longer(old, grown)
        if new != old:
            yield _changed(sheet, mark, "sqref", new)
    for span, old in sheet.far_ranges:
        new = _longer(old, grown)
        if new != old:
            yield span.start, span.end, new.encode()


def _longer(sqref: str, grown: Grown) -> str:
    return " ".join(str(_longer_area(ref, grown)) for ref in sqref.split())


def _longer_area(ref: str, grown: Grown) -> str:
    try:
        old = area(ref)
    except ValueError:  # whole columns, `A:C`, reach down anyway
        return ref
    columns = range(old.left, old.right + 1)
    over = any(column in columns for column in grown.columns)
    if over and grown.last <= old.bottom < grown.bottom:
        return str(replace(old, bottom=grown.bottom))
    return ref
