"""Books for the tests: packages typed by hand, and stock books with everything in them."""

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import openpyxl
import xlsxwriter

CABLE = "xl/worksheets/sheet1.xml"
DRAWER = "xl/worksheets/sheet2.xml"
TABLE = "xl/tables/table1.xml"
NS = "http://schemas.openxmlformats.org"
MS = "http://schemas.microsoft.com/office"

HEADINGS = ("piece", "gauge", "colour", "length", "cost per m", "place", "note")
PIECES = (
    ("R1", "1.0", "red", 42.5, 0.38, "rack", "reel"),
    ("R2", "1.0", "black", 17, 0.38, "rack", "reel"),
    ("K1", "2.0", "blue", 1.25, 0.61, "box", "offcut"),
)

Surgery = Callable[[bytes], bytes]


def png() -> bytes:
    """A picture of one red point (PNG specification, chunks IHDR, IDAT and IEND)."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">L", len(body)) + kind + body + struct.pack(">L", zlib.crc32(kind + body))
        )

    head = chunk(b"IHDR", struct.pack(">2L5B", 1, 1, 8, 2, 0, 0, 0))
    body = chunk(b"IDAT", zlib.compress(b"\0\xff\0\0"))
    return b"\x89PNG\r\n\x1a\n" + head + body + chunk(b"IEND", b"")


def members(data: bytes) -> dict[str, bytes]:
    """Name -> content of every member of a package."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {info.filename: archive.read(info) for info in archive.infolist()}


def raw_members(data: bytes) -> dict[str, tuple[Any, ...]]:
    """Name -> all that is stored of a member but where it stands: headers, bytes, attributes."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        infos = archive.infolist()
        starts = [*sorted(info.header_offset for info in infos), archive.start_dir]
    found: dict[str, tuple[Any, ...]] = {}
    for info in infos:
        end = starts[starts.index(info.header_offset) + 1]
        entry = (info.date_time, info.extra, info.comment, info.external_attr, info.internal_attr)
        more = (info.create_system, info.create_version, info.extract_version, info.flag_bits)
        found[info.filename] = (data[info.header_offset : end], *entry, *more)
    return found


def packed(parts: Mapping[str, bytes | str], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A package of these members."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()


def operated(
    data: bytes, changes: Mapping[str, Surgery], parts: Mapping[str, bytes] | None = None
) -> bytes:
    """The package with some members changed and parts added."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as old,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for info in old.infolist():
            new.writestr(info, changes.get(info.filename, bytes)(old.read(info)))
        for name, content in (parts or {}).items():
            new.writestr(name, content)
    return out.getvalue()


def before(mark: str, text: str) -> Surgery:
    """Put text in front of a mark that occurs in the member."""

    def change(xml: bytes) -> bytes:
        assert mark.encode() in xml
        return xml.replace(mark.encode(), text.encode() + mark.encode(), 1)

    return change


# Packages that are not what they say


def locked(data: bytes) -> bytes:
    """Flag bit 0 of a member, which is then encrypted (PKWARE APPNOTE 4.4.4)."""
    changed = bytearray(data)
    changed[changed.rfind(b"PK\x01\x02") + 8] |= 1
    return bytes(changed)


def zip64(data: bytes) -> bytes:
    """A directory written as for over 4 GB (PKWARE APPNOTE 4.3.14 and 4.5.3)."""
    at = data.rfind(b"PK\x05\x06")
    locator = struct.pack("<4sLQL", b"PK\x06\x07", 0, at, 1)
    size, start = struct.unpack_from("<2L", data, at + 12)
    (count,) = struct.unpack_from("<H", data, at + 10)
    wide = struct.pack("<4sQ2H2L4Q", b"PK\x06\x06", 44, 45, 45, 0, 0, count, count, size, start)
    return data[:at] + wide + locator + data[at:]


def counted(data: bytes) -> bytes:
    """The end of the directory says one member more than there are (PKWARE APPNOTE 4.3.16)."""
    changed = bytearray(data)
    at = changed.rfind(b"PK\x05\x06")
    (count,) = struct.unpack_from("<H", changed, at + 10)
    struct.pack_into("<2H", changed, at + 8, count + 1, count + 1)
    return bytes(changed)


def shifted(data: bytes, by: int) -> bytes:
    """The last entry of the directory points so many bytes before its member."""
    changed = bytearray(data)
    at = changed.rfind(b"PK\x01\x02")
    (offset,) = struct.unpack_from("<L", changed, at + 42)
    struct.pack_into("<L", changed, at + 42, offset - by)
    return bytes(changed)


# OpenDocument, typed by hand

_ODS_SPACES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for name in ("office", "table", "text", "draw", "calcext")
)
"""Prefixes tell what is what; the names behind them are not looked at."""


def ods_cell(text: str = "", about: str = "", times: int = 1) -> str:
    """A cell with its text in one paragraph, and what else it says of itself."""
    inner = f"<text:p>{text}</text:p>" if text else ""
    repeated = f'table:number-columns-repeated="{times}"'
    return f"<table:table-cell {about} {repeated}>{inner}</table:table-cell>"


def ods_row(*cells: str, times: int = 1) -> str:
    """A row of such cells, so often."""
    repeated = f'table:number-rows-repeated="{times}"'
    return f"<table:table-row {repeated}>{''.join(cells)}</table:table-row>"


def ods_book(*tables: tuple[str, Iterable[str]], head: str = "", manifest: str = "") -> bytes:
    """A package with these tables, each a name and its rows."""
    inside = "".join(
        f'<table:table table:name="{name}">{"".join(rows)}</table:table>' for name, rows in tables
    )
    body = f"<office:body><office:spreadsheet>{inside}</office:spreadsheet></office:body>"
    parts = {
        "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
        "content.xml": f"{head}<office:document-content {_ODS_SPACES}>{body}"
        "</office:document-content>",
    }
    return packed({**parts, "META-INF/manifest.xml": manifest} if manifest else parts)


# Workbooks


def plain_book(rows: Any = (HEADINGS, *PIECES), sheet: str = "Cable") -> bytes:
    """A book of one sheet with rows from A1 on, by XlsxWriter."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        made = book.add_worksheet(sheet)
        for number, row in enumerate(rows):
            made.write_row(number, 0, row)
    return out.getvalue()


def with_cells(cells: str, top: str = "", bottom: str = "") -> bytes:
    """A book whose sheet Cable has exactly this XML in, before and after `sheetData`."""
    xml = f'<worksheet xmlns="{NS}/spreadsheetml/2006/main">{top}{cells}{bottom}</worksheet>'
    return operated(plain_book(), {CABLE: lambda _: xml.encode()})


def table_book(**options: Any) -> bytes:
    """A book whose pieces are an Excel table at A1:G4."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet("Cable")
        columns = [{"header": heading} for heading in HEADINGS]
        last = 4 if options.get("total_row") else 3
        sheet.add_table(0, 0, last, 6, {"columns": columns, "data": PIECES, **options})
    return out.getvalue()


def openpyxl_book() -> bytes:
    """A book with a table, a filter, frozen panes, formats, a note and a validation."""
    from openpyxl.comments import Comment
    from openpyxl.formatting.rule import Rule
    from openpyxl.styles import Font
    from openpyxl.worksheet.datavalidation import DataValidation

    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = "Cable"
    for row in (HEADINGS, *PIECES):
        sheet.append(list(row))
    sheet["A2"].font = Font(bold=True)
    sheet["H2"] = "=D2*E2"
    sheet["B3"].comment = Comment("half used", "owner")
    sheet.freeze_panes = "A2"
    sheet.auto_filter.ref = "A1:G4"
    sheet.row_dimensions[3].hidden = True
    sheet.conditional_formatting.add(
        "D2:D4", Rule(type="cellIs", operator="lessThan", formula=["2"])
    )
    choice = DataValidation(type="list", formula1='"red,black,blue"')
    choice.add("C2:C4")
    sheet.add_data_validation(choice)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


# The book with everything in it


def rich_book(folder: Path) -> bytes:
    """A macro workbook with all of `FEATURES`; `folder` takes a file on the way."""
    macros = folder / "vbaProject.bin"
    macros.write_bytes(b"\xd0\xcf\x11\xe0 macros made up for a test")
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        book.add_vba_project(str(macros))
        _cable(book)
        _drawer(book)
        _owners_sheets(book)
        book.set_properties({"title": "Invented stock", "comments": "made up for a test"})
        book.set_custom_property("Shelf", "north wall")
        book.define_name("Rate", "=Rates!$A$1")
    return _with_parts(out.getvalue())


def _cable(book: Any) -> None:
    sheet = book.add_worksheet("Cable")
    red = book.add_format(
        {"bold": True, "bg_color": "#FFC7CE", "border": 1, "num_format": '0.00" m"'}
    )
    columns: list[dict[str, Any]] = [{"header": heading} for heading in HEADINGS]
    columns[3]["format"] = red
    sheet.add_table("A1:G4", {"columns": columns, "data": PIECES, "name": "Pieces"})
    sheet.set_column("A:A", 14)
    sheet.set_row(3, 24)
    sheet.set_row(2, None, None, {"hidden": True})
    sheet.freeze_panes(1, 0)
    sheet.conditional_format("D2:D4", {"type": "3_color_scale"})
    sheet.conditional_format("E2:E4", {"type": "data_bar", "data_bar_2010": True})
    sheet.data_validation("C2:C4", {"validate": "list", "source": "=Rates!$C$1:$C$3"})
    sheet.write_formula("I2", "=D2*E2", None, 16.15)
    sheet.write_formula("I3", "=38.5/100", None, 0.385)
    sheet.write_array_formula("J2:J4", "{=D2:D4*2}", None, 85)
    sheet.write_comment("A2", "bought at a jumble", {"author": "owner"})
    sheet.add_sparkline("K2", {"range": "Cable!D2:D4"})
    sheet.merge_range("L10:N10", "north wall", red)
    sheet.insert_textbox("M2", "Measure twice")
    sheet.insert_image("M9", "point.png", {"image_data": io.BytesIO(png())})
    chart = book.add_chart({"type": "column"})
    chart.add_series({"values": "=Cable!$D$2:$D$4"})
    sheet.insert_chart("M14", chart)
    sheet.insert_button("M30", {"macro": "Tidy", "caption": "Tidy"})
    sheet.write_url("L12", "https://example.org/", string="a firm that is invented")
    sheet.write_url("L13", "internal:Rates!A1")
    sheet.write_rich_string("L14", "half ", book.add_format({"italic": True}), "empty")
    sheet.ignore_errors({"number_stored_as_text": "B2:B4"})
    sheet.set_header("&L&G", {"image_left": "point.png", "image_data_left": io.BytesIO(png())})
    sheet.set_footer("&CPage &P")
    sheet.set_landscape()
    sheet.print_area("A1:G4")
    sheet.repeat_rows(0)
    sheet.set_h_pagebreaks([20])
    sheet.set_tab_color("#FF9900")
    sheet.set_zoom(90)


def _drawer(book: Any) -> None:
    sheet = book.add_worksheet("Drawer")
    sheet.write_row("A1", ["item", "unit", "on hand", "low", "full"])
    sheet.write_row("A2", ["terminal 6.3", "each", 120, 50, 200])
    sheet.write_row("A3", ["tape 19", "m", 33, 10, 50])
    sheet.autofilter("A1:E3")
    sheet.conditional_format("C2:C3", {"type": "icon_set", "icon_style": "3_traffic_lights"})
    sheet.set_row(5, None, None, {"level": 1})


def _owners_sheets(book: Any) -> None:
    rates = book.add_worksheet("Rates")
    rates.write_column("C1", ["red", "black", "blue"])
    rates.write_formula("A1", "=SUM(Cable!D2:D4)", None, 60.75)
    rates.write_dynamic_array_formula("E1:E3", "=_xlfn.SORT(C1:C3)", None, "black")
    rates.embed_image("G1", "point.png", {"image_data": io.BytesIO(png())})
    rates.insert_checkbox("H1", True)
    rates.set_background(io.BytesIO(png()))
    rates.protect("", {"sort": True})
    hidden = book.add_worksheet("Private")
    hidden.right_to_left()
    hidden.hide()
    board = book.add_chartsheet("Board")
    chart = book.add_chart({"type": "pie"})
    chart.add_series({"values": "=Drawer!$C$2:$C$3"})
    board.set_chart(chart)


_PERSON = "{00000000-0000-4000-8000-000000000001}"
_THREAD = "{00000000-0000-4000-8000-000000000002}"
_X14 = f"{MS}/spreadsheetml/2009/9/main"
_TC = f"{MS}/spreadsheetml/2018/threadedcomments"
_KINDS = f"{NS}/officeDocument/2006/relationships"
_OPEN, _EXCEL = "openxmlformats-officedocument", "application/vnd.ms-excel"
_ADDED = {
    "xl/calcChain.xml": (
        f"application/vnd.{_OPEN}.spreadsheetml.calcChain+xml",
        f'<calcChain xmlns="{NS}/spreadsheetml/2006/main"><c r="I2" i="1"/><c r="I3" i="1"/>'
        '<c r="J2" i="1" a="1"/><c r="A1" i="3"/></calcChain>',
    ),
    "xl/threadedComments/threadedComment1.xml": (
        f"{_EXCEL}.threadedcomments+xml",
        f'<ThreadedComments xmlns="{_TC}"><threadedComment ref="B2" dT="2024-01-02T03:04:05.00" '
        f'personId="{_PERSON}" id="{_THREAD}"><text>Is this tinned?</text></threadedComment>'
        "</ThreadedComments>",
    ),
    "xl/persons/person.xml": (
        f"{_EXCEL}.person+xml",
        f'<personList xmlns="{_TC}"><person displayName="Invented" id="{_PERSON}" '
        'userId="Invented" providerId="None"/></personList>',
    ),
    "xl/slicers/slicer1.xml": (
        f"{_EXCEL}.slicer+xml",
        f'<slicers xmlns="{_X14}"><slicer name="colour" cache="Slicer_colour" '
        'rowHeight="241300"/></slicers>',
    ),
    "xl/slicerCaches/slicerCache1.xml": (
        f"{_EXCEL}.slicerCache+xml",
        f'<slicerCacheDefinition xmlns="{_X14}" name="Slicer_colour" sourceName="colour"/>',
    ),
    "customXml/item1.xml": (
        "application/xml",
        '<shelf xmlns="urn:invented:shelf">north wall</shelf>',
    ),
    "customXml/itemProps1.xml": (
        f"application/vnd.{_OPEN}.customXmlProperties+xml",
        f'<ds:datastoreItem ds:itemID="{_THREAD}" xmlns:ds="{NS}/officeDocument/2006/customXml"/>',
    ),
    "xl/printerSettings/printerSettings1.bin": (
        f"application/vnd.{_OPEN}.spreadsheetml.printerSettings",
        "\0printer\0settings",
    ),
}
"""Parts that XlsxWriter does not write: content type and content, made up."""


def _with_parts(data: bytes) -> bytes:
    """The book with the parts of `_ADDED`, wired in as the programs do it."""
    sheet_rels = _relations(
        (
            "rId91",
            f"{MS}/2017/10/relationships/threadedComment",
            "../threadedComments/threadedComment1.xml",
        ),
        ("rId92", f"{MS}/2007/relationships/slicer", "../slicers/slicer1.xml"),
        ("rId93", f"{_KINDS}/printerSettings", "../printerSettings/printerSettings1.bin"),
    )
    book_rels = _relations(
        ("rId91", f"{_KINDS}/calcChain", "calcChain.xml"),
        ("rId92", f"{MS}/2017/10/relationships/person", "persons/person.xml"),
        ("rId93", f"{MS}/2007/relationships/slicerCache", "slicerCaches/slicerCache1.xml"),
        ("rId94", f"{_KINDS}/customXml", "../customXml/item1.xml"),
    )
    overrides = "".join(
        f'<Override PartName="/{part}" ContentType="{kind}"/>' for part, (kind, _) in _ADDED.items()
    )
    slicers = (
        f'<ext xmlns:x14="{_X14}" uri="{{A8765BA9-456A-4dab-B4F3-ACF838C121DE}}">'
        '<x14:slicerList><x14:slicer r:id="rId92"/></x14:slicerList></ext>'
    )
    changes = {
        "[Content_Types].xml": before("</Types>", overrides),
        "xl/worksheets/_rels/sheet1.xml.rels": before("</Relationships>", sheet_rels),
        "xl/_rels/workbook.xml.rels": before("</Relationships>", book_rels),
        CABLE: _after_last_ext(slicers),
    }
    parts = {name: text.encode() for name, (_, text) in _ADDED.items()}
    props = _relations(("rId1", f"{_KINDS}/customXmlProps", "itemProps1.xml"))
    rels = f'<Relationships xmlns="{NS}/package/2006/relationships">{props}</Relationships>'
    parts["customXml/_rels/item1.xml.rels"] = rels.encode()
    return operated(data, changes, parts)


def _relations(*relations: tuple[str, str, str]) -> str:
    return "".join(
        f'<Relationship Id="{key}" Type="{kind}" Target="{target}"/>'
        for key, kind, target in relations
    )


def _after_last_ext(text: str) -> Surgery:
    def change(xml: bytes) -> bytes:
        head, mark, tail = xml.rpartition(b"</ext></extLst>")
        assert mark
        page = b'<pageSetup orientation="landscape"'
        assert page in head
        head = head.replace(page, page + b' r:id="rId93"')
        return head + b"</ext>" + text.encode() + b"</extLst>" + tail

    return change


def has(data: Mapping[str, bytes], member: str, pattern: str) -> bool:
    """Whether a member, named by a pattern, holds what another pattern says."""
    return any(
        re.fullmatch(member, name) and re.search(pattern.encode(), content)
        for name, content in data.items()
    )


FEATURES = (
    ("number format", "xl/styles.xml", "0.00&quot; m&quot;"),
    ("bold", "xl/styles.xml", "<b/>"),
    ("fill", "xl/styles.xml", "FFFFC7CE"),
    ("border", "xl/styles.xml", '<left style="thin">'),
    ("theme", "xl/theme/theme1.xml", "<a:theme "),
    ("column width", CABLE, "<cols>"),
    ("row height", CABLE, 'customHeight="1"'),
    ("hidden row", CABLE, '<row r="3"[^>]* hidden="1"'),
    ("frozen panes", CABLE, '<pane [^>]*state="frozen"'),
    ("zoom", CABLE, 'zoomScale="90"'),
    ("tab colour", CABLE, "<tabColor "),
    ("merged cells", CABLE, '<mergeCell ref="L10:N10"/>'),
    ("colour scale", CABLE, "<colorScale>"),
    ("data bar of 2010", CABLE, "<x14:dataBar "),
    ("validation from another sheet", CABLE, r"<formula1>Rates!\$C\$1:\$C\$3</formula1>"),
    ("sparkline", CABLE, "<x14:sparkline>"),
    ("link outside", CABLE, '<hyperlink ref="L12" r:id'),
    ("link inside", CABLE, '<hyperlink ref="L13" location="Rates!A1"'),
    ("ignored errors", CABLE, "<ignoredErrors>"),
    ("page header", CABLE, "<oddHeader>"),
    ("page footer", CABLE, "<oddFooter>"),
    ("page setup", CABLE, 'orientation="landscape"'),
    ("page break", CABLE, "<rowBreaks "),
    ("header picture", CABLE, "<legacyDrawingHF "),
    ("note on a cell", "xl/comments1.xml", "bought at a jumble"),
    ("note's box", r"xl/drawings/vmlDrawing\d.vml", 'ObjectType="Note"'),
    ("button", r"xl/drawings/vmlDrawing\d.vml", 'ObjectType="Button"'),
    ("formula with a result to be worked out", CABLE, r"<f>D2\*E2</f>"),
    ("formula of numbers, with its result", CABLE, "<f>38.5/100</f><v>0.385</v>"),
    ("array formula", CABLE, '<f t="array" ref="J2:J4">'),
    ("table", TABLE, 'displayName="Pieces"'),
    ("table filter", TABLE, "<autoFilter "),
    ("table style", TABLE, "<tableStyleInfo "),
    ("rich text", "xl/sharedStrings.xml", "<r><rPr><i/>"),
    ("text box", "xl/drawings/drawing1.xml", "Measure twice"),
    ("picture", "xl/media/image1.png", "IHDR"),
    ("chart", "xl/charts/chart1.xml", "<c:barChart>"),
    ("chart sheet", "xl/chartsheets/sheet1.xml", "<chartsheet "),
    ("pie chart", "xl/charts/chart2.xml", "<c:pieChart>"),
    ("plain filter", DRAWER, '<autoFilter ref="A1:E3"/>'),
    ("icon set", DRAWER, "<iconSet"),
    ("outline", DRAWER, 'outlineLevel="1"'),
    ("name", "xl/workbook.xml", '<definedName name="Rate">'),
    ("print area", "xl/workbook.xml", "_xlnm.Print_Area"),
    ("print titles", "xl/workbook.xml", "_xlnm.Print_Titles"),
    ("filter's name", "xl/workbook.xml", "_xlnm._FilterDatabase"),
    ("hidden sheet", "xl/workbook.xml", 'state="hidden"'),
    ("result in another sheet", "xl/worksheets/sheet3.xml", "<f>SUM.*</f><v>60.75</v>"),
    ("dynamic array", "xl/metadata.xml", "XLDAPR"),
    ("picture in a cell", "xl/richData/rdrichvalue.xml", "<rv "),
    ("checkbox in a cell", "xl/featurePropertyBag/featurePropertyBag.xml", "Checkbox"),
    ("background", "xl/worksheets/sheet3.xml", "<picture r:id"),
    ("protected sheet", "xl/worksheets/sheet3.xml", "<sheetProtection "),
    ("right to left", "xl/worksheets/sheet4.xml", 'rightToLeft="1"'),
    ("macros", "xl/vbaProject.bin", "macros made up"),
    ("title", "docProps/core.xml", "Invented stock"),
    ("custom property", "docProps/custom.xml", "north wall"),
    ("order of calculation", "xl/calcChain.xml", "<calcChain "),
    ("threaded comment", "xl/threadedComments/threadedComment1.xml", "tinned"),
    ("person", "xl/persons/person.xml", "Invented"),
    ("slicer", "xl/slicers/slicer1.xml", "<slicer "),
    ("slicer's place", CABLE, "<x14:slicerList>"),
    ("slicer cache", "xl/slicerCaches/slicerCache1.xml", "Slicer_colour"),
    ("custom XML", "customXml/item1.xml", "north wall"),
    ("printer settings", "xl/printerSettings/printerSettings1.bin", "printer"),
)
"""What the rich book holds: name, pattern of the member, pattern within it."""
