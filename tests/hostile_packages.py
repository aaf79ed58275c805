"""Small files that ask for much, or are not what they say: packages of .xlsx and .ods, and .csv.

Each is made from nothing, byte for byte, so that no library straightens it out.  `REFUSED` are
those of which nothing may be read; of `READ` something may be, in bounds.
"""

import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Mapping, Sequence

from bom.files.sheet import letters_of
from tests.fixture_books import ods_book, ods_cell, ods_row, packed

Sheets = Mapping[str, str]
Make = Callable[[], bytes]

HEADINGS = ("from", "to", "colour", "gauge", "load", "length")
WIRE = ("battery:1", "lamp:1", "red", "1.0", "5 W", "1.2")
CIRCUITS = "Circuits"
_MILLION = 1_000_000

_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_SPACES = f'xmlns="{_MAIN}" xmlns:r="{_OFFICE}"'
_LAUGHS = "<!DOCTYPE x [<!ENTITY a0 'ha'>{}]>".format(
    "".join(f"<!ENTITY a{n} '{f'&a{n - 1};' * 10}'>" for n in range(1, 10))
)
"""Ten to the power of nine times `ha`, where `&a9;` is asked for."""
_OUTSIDE = "<!DOCTYPE x [<!ENTITY a9 SYSTEM 'file:///etc/hostname'>]>"


# ------------------------------------------------------------------------------- makers


def xlsx_parts(sheets: Sheets, before: str = "") -> dict[str, bytes | str]:
    """The members of a workbook; `sheets` are the insides of each worksheet, by name."""
    names = list(sheets)
    listed = "".join(
        f'<sheet name="{name}" sheetId="{n}" r:id="rId{n}"/>' for n, name in enumerate(names, 1)
    )
    leads = "".join(
        f'<Relationship Id="rId{n}" Type="{_OFFICE}/worksheet" Target="worksheets/sheet{n}.xml"/>'
        for n in range(1, len(names) + 1)
    )
    top = f'<Relationship Id="r" Type="{_OFFICE}/officeDocument" Target="xl/workbook.xml"/>'
    relations = f'<Relationships xmlns="{_PACKAGE}/relationships">{{}}</Relationships>'
    parts: dict[str, bytes | str] = {
        "[Content_Types].xml": content_types("spreadsheetml.sheet.main+xml"),
        "_rels/.rels": relations.format(top),
        "xl/workbook.xml": f"<workbook {_SPACES}><sheets>{listed}</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": relations.format(leads),
    }
    for n, inside in enumerate(sheets.values(), 1):
        parts[f"xl/worksheets/sheet{n}.xml"] = f"{before}<worksheet {_SPACES}>{inside}</worksheet>"
    return parts


def content_types(workbook: str) -> str:
    """The list of content types of a package whose workbook is of that type."""
    kind = f"application/vnd.openxmlformats-officedocument.{workbook}"
    return (
        f'<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kind}"/></Types>'
    )


def xlsx(inside: str, before: str = "", **others: str) -> bytes:
    """A workbook whose sheet Circuits has this inside, with other sheets behind it."""
    return packed(xlsx_parts({CIRCUITS: inside, **others}, before))


def cells(*rows: str) -> str:
    """The cells of a worksheet."""
    return f"<sheetData>{''.join(rows)}</sheetData>"


def row(*texts: str) -> str:
    """A row without addresses."""
    parts = (f'<c t="str"><v>{text}</v></c>' for text in texts)
    return f"<row>{''.join(parts)}</row>"


LIST = row(*HEADINGS) + row(*WIRE)


def far(cell: str) -> str:
    """A row with one cell, at that address."""
    number = cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    return f'<row r="{number}"><c r="{cell}"><v>1</v></c></row>'


def ods(*rows: str, before: str = "", **others: str) -> bytes:
    """An OpenDocument whose table Circuits has these rows, with other tables behind it."""
    return ods_book((CIRCUITS, rows), *others.items(), head=before)


def texts(*row: str, times: int = 1) -> str:
    """A row of texts, repeated."""
    return ods_row(*map(ods_cell, row), times=times)


ODS_LIST = texts(*HEADINGS) + texts(*WIRE)


def csv_lines(*lines: str) -> bytes:
    """A .csv of these lines."""
    return "\n".join(lines).encode() + b"\n"


def _with(name: str, content: bytes | str | None) -> bytes:
    """A good workbook with one member replaced, or left out."""
    parts = xlsx_parts({CIRCUITS: cells(LIST)})
    if content is None:
        del parts[name]
    else:
        parts[name] = content
    return packed(parts)


def _nested(depth: int) -> bytes:
    """A workbook in a zip in a zip ..., each named as the sheet of the one around it."""
    inner = xlsx(cells(LIST))
    for _ in range(depth):
        inner = _with("xl/worksheets/sheet1.xml", inner)
    return inner


def _deep(levels: int) -> str:
    return "<x>" * levels + "</x>" * levels


def _inflated(parts: Mapping[str, bytes | str], member: str, claimed: int) -> bytes:
    """A package of which one member is 2 GB of blanks in 2 MB, and claims to be so large."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    head = packer.compress(b"<x>") + packer.flush(zlib.Z_FULL_FLUSH)
    megabyte = packer.compress(b" " * _MILLION) + packer.flush(zlib.Z_FULL_FLUSH)
    body = head + megabyte * 2_000 + packer.flush()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:  # stored, and then called deflated
        for name, content in {**parts, member: body}.items():
            archive.writestr(name, content)
        at, listed = archive.getinfo(member).header_offset, archive.start_dir
    data = bytearray(out.getvalue())
    for entry in (at, data.index(member.encode(), listed) - 46):
        shift = 0 if entry == at else 2  # the directory's entry has one field more in front
        struct.pack_into("<H", data, entry + 8 + shift, zipfile.ZIP_DEFLATED)
        struct.pack_into("<I", data, entry + 22 + shift, claimed)
    return bytes(data)


def _two_gigabytes(kind: str, claimed: int) -> bytes:
    if kind == "ods":
        about = {"mimetype": "application/vnd.oasis.opendocument.spreadsheet"}
        return _inflated(about, "content.xml", claimed)
    return _inflated(xlsx_parts({CIRCUITS: ""}), "xl/worksheets/sheet1.xml", claimed)


def _overlapping(times: int) -> bytes:
    """One member of 10 MB of blanks that the directory names so often: no byte is there twice."""
    one = packed({"xl/a0.xml": b" " * 10_000_000})
    start = one.index(b"PK\x01\x02")
    end = one.index(b"PK\x05\x06")
    entry = one[start:end]
    listed = b"".join(entry.replace(b"a0.xml", f"{n:02}.xml".encode()) for n in range(times))
    tail = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, times, times, len(listed), start, 0)
    return one[:start] + listed + tail


def _entries(count: int, parts: int) -> bytes:
    """A workbook that names so many sheets, of so many parts, in the one part that it has."""
    listed = (f'<sheet name="s{n}" sheetId="{n}" r:id="r{n % parts}"/>' for n in range(count))
    kind = f"{_OFFICE}/worksheet"
    target = "worksheets/sheet1.xml"
    leads = (f'<Relationship Id="r{n}" Type="{kind}" Target="{target}"/>' for n in range(parts))
    books = {
        "xl/workbook.xml": f"<workbook {_SPACES}><sheets>{''.join(listed)}</sheets></workbook>"
    }
    return packed({**xlsx_parts({CIRCUITS: cells(LIST)}), **books, **_related("".join(leads))})


def _related(leads: str) -> dict[str, str]:
    spaces = f'xmlns="{_PACKAGE}/relationships"'
    return {"xl/_rels/workbook.xml.rels": f"<Relationships {spaces}>{leads}</Relationships>"}


def _beside(part: str, inside: str, *rows: str) -> bytes:
    """A workbook of one sheet with `styles` or `sharedStrings` beside it."""
    leads = "".join(
        f'<Relationship Id="rId{n}" Type="{_OFFICE}/{kind}" Target="{target}"/>'
        for n, (kind, target) in enumerate(
            (("worksheet", "worksheets/sheet1.xml"), (part, f"{part}.xml")), start=1
        )
    )
    root = {"styles": "styleSheet", "sharedStrings": "sst"}[part]
    parts = {f"xl/{part}.xml": f"<{root}>{inside}</{root}>", **_related(leads)}
    return packed({**xlsx_parts({CIRCUITS: cells(*rows)}), **parts})


def addressed(number: int, *inside: str, more: str = "") -> str:
    """A row of cells with addresses, as most programs write them."""
    named = (f'<c r="{letters_of(n)}{number}"{more}>{text}</c>' for n, text in enumerate(inside))
    return f'<row r="{number}">{"".join(named)}</row>'


def _long(rows: int, inside: Sequence[str], more: str = "") -> list[str]:
    """A list of wires with so many rows more, all alike."""
    headed = [
        addressed(n, *(f"<v>{text}</v>" for text in texts), more=' t="str"')
        for n, texts in enumerate((HEADINGS, WIRE), start=1)
    ]
    return [*headed, *(addressed(n, *inside, more=more) for n in range(3, rows))]


def _formats(count: int, per_cent: str = "") -> str:
    """Number formats of a workbook, and the cells' formats that use them."""
    formats = (f'<numFmt numFmtId="{n}" formatCode="0.{n}{per_cent}"/>' for n in range(count))
    used = (f'<xf numFmtId="{n}"/>' for n in range(count))
    return f"<numFmts>{''.join(formats)}</numFmts><cellXfs>{''.join(used)}</cellXfs>"


def _named(count: int) -> bytes:
    """A workbook with so many defined names."""
    names = (f'<definedName name="n{n}">Circuits!$A${n}</definedName>' for n in range(1, count))
    parts = xlsx_parts({CIRCUITS: cells(LIST)})
    book = str(parts["xl/workbook.xml"])
    more = f"</sheets><definedNames>{''.join(names)}</definedNames>"
    return packed({**parts, "xl/workbook.xml": book.replace("</sheets>", more)})


# -------------------------------------------------------------------------------- books


_ONE = "<v>1</v>"
_MERGED = "".join(f'<mergeCell ref="A{n}:B{n}"/>' for n in range(5, 200_000))
_BLANKS = '<text:s text:c="1000"/>' * 30_000

REFUSED: Mapping[str, Make] = {
    "not-a-type.xlsx": lambda: _with("_rels/.rels", "<Types/>"),
    "no-workbook.xlsx": lambda: _with("xl/workbook.xml", None),
    "no-sheet.xlsx": lambda: _with("xl/worksheets/sheet1.xml", None),
    "zip-in-zip.xlsx": lambda: _nested(40),
    "laughs.xlsx": lambda: xlsx(cells(row("from", "to"), row("a", "&a9;")), _LAUGHS),
    "laughs.ods": lambda: ods(texts("from", "to"), texts("a", "&a9;"), before=_LAUGHS),
    "outside.xlsx": lambda: xlsx(cells(row("from", "to"), row("a", "&a9;")), _OUTSIDE),
    "outside.ods": lambda: ods(texts("from", "to"), texts("a", "&a9;"), before=_OUTSIDE),
    "far-corner.xlsx": lambda: xlsx(cells(far("A1"), far("XFD1048576"))),
    "million-columns.xlsx": lambda: xlsx(cells(f"<row>{'<c><v>1</v></c>' * 60_000}</row>")),
    "million-letters.xlsx": lambda: xlsx(cells(far("BDWGN1"))),
    "blank-areas.xlsx": lambda: xlsx(
        cells(LIST), **{f"s{n}": cells(far("A1"), far("XFA305")) for n in range(20)}
    ),
    "plain-areas.xlsx": lambda: xlsx(
        cells(LIST), **{f"s{n}": cells(far("A1"), far("Z99999")) for n in range(20)}
    ),
    "gigabytes.xlsx": lambda: _two_gigabytes("xlsx", 2_000_000_003),
    "gigabytes.ods": lambda: _two_gigabytes("ods", 2_000_000_003),
    "lying.xlsx": lambda: _two_gigabytes("xlsx", 900_000),
    "lying.ods": lambda: _two_gigabytes("ods", 900_000),
    "overlapping.xlsx": lambda: _overlapping(99),
    "sheet-entries.xlsx": lambda: _entries(100_000, 1),
    "many-cells.xlsx": lambda: xlsx(cells(LIST, ("<row>" + "<c/>" * 6 + "</row>") * 400_000)),
    "sheet-relations.xlsx": lambda: _entries(100_000, 100_000),
    "one-part-again.xlsx": lambda: _entries(900, 1),
    "many-sheets.xlsx": lambda: xlsx(cells(LIST), **{f"s{n}": cells() for n in range(1_500)}),
    "no-addresses.xlsx": lambda: xlsx(
        cells(LIST, *(row(*map(str, range(n, n + 6))) for n in range(90_000)))
    ),
    "long-packed.xlsx": lambda: xlsx(cells(*_long(43_000, [_ONE] * 60))),
    "per-cents.xlsx": lambda: _beside(
        "styles", '<cellXfs><xf numFmtId="9"/></cellXfs>', *_long(64_000, [_ONE] * 8, ' s="0"')
    ),
    "no-results.xlsx": lambda: xlsx(cells(*_long(64_000, ["<f>1</f>"] * 8))),
    "texts.xlsx": lambda: _beside(
        "sharedStrings", "".join(f"<si><t>{n:x}</t></si>" for n in range(2_000_010)), LIST
    ),
    "one-text-again.xlsx": lambda: _beside(
        "sharedStrings", f"<si><t>{'x' * 30_000}</t></si>", *_long(20_000, ["<v>0</v>"], ' t="s"')
    ),
    "styles.xlsx": lambda: _beside(
        "styles", "".join(f'<xf a="{n:x}"/>' for n in range(2_000_010)), LIST
    ),
    "deep.xlsx": lambda: xlsx(_deep(_MILLION) + cells(LIST)),
    "deep.ods": lambda: ods(_deep(_MILLION), ODS_LIST),
    "again-rows.ods": lambda: ods(ODS_LIST, texts(*WIRE, times=_MILLION)),
    "again-wide.ods": lambda: ods(ODS_LIST, ods_row(ods_cell("x", times=16_384), times=300)),
    "again-sheets.ods": lambda: ods(
        ODS_LIST, **{f"s{n}": texts("a", times=_MILLION) for n in range(100)}
    ),
    "spaces.ods": lambda: ods(ODS_LIST, texts(*[f"x{_BLANKS}x"] * 40)),
    "million-columns.csv": lambda: b"from,to,colour,gauge" + b",x" * _MILLION + b"\n",
    "quotes.csv": lambda: b"from,to\n" + b'"' * (_MILLION + 1),
    "quotes-and-commas.csv": lambda: b"from,to\n" + b'",' * 500_000,
    "open-quote.csv": lambda: b'from,to\n"' + b"a,b\n" * 300_000,
    "zero-bytes.csv": lambda: b"from,to\na,\0b\n",
    "utf-16.csv": lambda: "from,to\na,b\n".encode("utf-16"),
    "no-letters.csv": lambda: b"from,to\na,\x81\x8d\n",
    "half-utf-8.csv": lambda: b"\xef\xbb\xbffrom,to\na,\xc3\n",
}
"""By file name: nothing of these is read."""

READ: Mapping[str, Make] = {
    "plain.xlsx": lambda: xlsx(cells(LIST)),
    "plain.ods": lambda: ods(ODS_LIST),
    "other-type.xlsx": lambda: _with("[Content_Types].xml", content_types("wordprocessingml.x")),
    "no-types.xlsx": lambda: _with("[Content_Types].xml", None),
    "lying-dimension.xlsx": lambda: xlsx('<dimension ref="A1:XFD1048576"/>' + cells(LIST)),
    "wide-row.xlsx": lambda: xlsx(cells(LIST, row(*(["x"] * 16_000)))),
    "last-row.xlsx": lambda: xlsx(cells(LIST, far("A1048576"))),
    "last-column.xlsx": lambda: xlsx(cells(LIST, far("XFD3"))),
    "blank-area.xlsx": lambda: xlsx(cells(LIST, far("XFA305"))),
    "slips.xlsx": lambda: xlsx(cells(row(*HEADINGS), row(*"xxxxxx") * 6_000)),
    "long-text.xlsx": lambda: xlsx(cells(LIST, row("x" * 900_000, "y", "red " * 10_000))),
    "deep-enough.xlsx": lambda: xlsx(_deep(100_000) + cells(LIST)),
    "sheets.xlsx": lambda: xlsx(cells(LIST), **{f"s{n}": cells(row("x")) for n in range(900)}),
    "columns.xlsx": lambda: xlsx(cells(addressed(1, *[_ONE] * 16_384) * 50)),
    "formats.xlsx": lambda: _beside("styles", _formats(100_000, "%"), LIST),
    "names.xlsx": lambda: _named(100_000),
    "merged.xlsx": lambda: xlsx(f"{cells(LIST)}<mergeCells>{_MERGED}</mergeCells>"),
    "again.ods": lambda: ods(texts(*HEADINGS), texts(*"xxxxxx", times=8_300)),
    "blank-rows.ods": lambda: ods(
        *(ods_row(times=_MILLION), ODS_LIST),
        **{s: f"{texts(times=_MILLION)}{texts('x')}" for s in ("Job", "Loom", "Fuses")},
    ),
    "headings.csv": lambda: csv_lines(
        "from,to," + ",".join(f"col{n}" for n in range(16_000)), "a,b"
    ),
    "blank-columns.csv": lambda: csv_lines("from,to", "a,b" + "," * _MILLION),
    "even-quotes.csv": lambda: b"from,to\n" + b'"' * _MILLION,
    "slips.csv": lambda: csv_lines(",".join(HEADINGS), *(["x,x,x,x,x,x"] * 6_000)),
    "long-cells.csv": lambda: csv_lines(
        "from,to,colour,gauge,length,load,fuse",
        ",".join(("a" * 100_000, "b", "red " * 30_000, *("9" * 100_000, "1e" * 50_000) * 2)),
    ),
    "windows-1252.csv": lambda: "from,to,colour\na,b,\u00fcber\n".encode("cp1252"),
}
"""By file name: these are read, and whatever is wrong in them is told."""
