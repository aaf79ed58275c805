"""Spreadsheets on the way in: `.xlsx`, `.xlsm`, `.ods`, a folder of `.csv`, one `.csv`.

The only file that knows how books are stored.  Whatever the kind, out comes a `Book` of
`Sheet`s of plain values, each findable by its cell.  What cannot be read is a `Problem`,
never an exception, and nothing is dropped in silence: an error value and a formula that
was never calculated come out as a `Fault`.

A file is taken for hostile until it is known better: it is read once into memory, its zip
directory is judged before anything is unpacked, and calamine (Rust, fast, but it allocates
the whole grid and ends the process when that fails) only ever sees a fresh copy of the
parts that passed.
"""

import codecs
import csv
import datetime
import io
import math
import posixpath
import re
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import islice
from pathlib import Path
from typing import TypeAlias
from xml.parsers import expat

from bom.problem import Problem, Where, caution, error, nearest

NEVER_CALCULATED = "a formula that was never calculated"
"""What a `Fault` says of a formula cell that holds no stored result."""

_KINDS = (".xlsx", ".xlsm", ".ods", ".csv")
_SAVE_AS_XLSX = "open it in the spreadsheet program and save it as .xlsx"
_MAX_BYTES = 300_000_000  # of a file, and of all it unpacks to
_BOMB_BYTES = 50_000_000  # from here on the packing ratio is looked at too
_BOMB_RATIO = 200  # sheets of a workshop pack about 10:1
_MAX_MEMBERS = 10_000
_MAX_CELLS = 5_000_000  # of one sheet's used area, blanks included
_MAX_ROWS, _MAX_COLUMNS = 1_048_576, 16_384  # no spreadsheet program goes further
_ERROR_WORD = re.compile(r"#(N/A|REF!|VALUE!|DIV/0!|NAME\?|NUM!|NULL!|SPILL!|CALC!)|Err:[0-9]{3}")


@dataclass(frozen=True, slots=True)
class Percent:
    """A number cell shown in per cent; `value` is the per cent: 5 for a cell that shows 5 %."""

    value: Decimal


@dataclass(frozen=True, slots=True)
class Fault:
    """A cell without a usable value; `says` is its own text (`#N/A`) or what is wrong."""

    says: str


Value: TypeAlias = (
    str
    | Decimal
    | bool
    | datetime.date
    | datetime.datetime
    | datetime.time
    | Percent
    | Fault
    | None
)
"""What a cell can hold; blank is `None`, and text is never empty."""

Row: TypeAlias = tuple[Value, ...]
"""One row from column A on, without the blanks at its end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet: `rows[0]` is row 1 and item 0 of a row is column A; blank ends are cut off."""

    file: str
    name: str
    rows: tuple[Row, ...]

    def where(self, row: int, column: int) -> Where:
        """The place of a cell, from zero-based row and column."""
        return Where(self.file, self.name, cell_name(row, column))


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """All sheets of a file or folder; `file` is its own name, for messages."""

    file: str
    path: Path
    sheets: tuple[Sheet, ...]

    def sheet(self, name: str) -> Sheet | None:
        """The first sheet of that name, without regard to case and spaces."""
        wanted = _key(name)
        return next((sheet for sheet in self.sheets if _key(sheet.name) == wanted), None)


def cell_name(row: int, column: int) -> str:
    """The spreadsheet's name of a cell, from zero-based row and column.

    >>> cell_name(6, 2), cell_name(0, 26), cell_name(1_048_575, 16_383)
    ('C7', 'AA1', 'XFD1048576')
    """
    letters = ""
    column += 1
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return f"{letters}{row + 1}"


def read_book(path: Path, *, single: str = "Circuits") -> tuple[Book | None, tuple[Problem, ...]]:
    """All sheets of a book, hidden ones too, or `None` and why it cannot be read.

    A lone `.csv` has one sheet, called `single`; a folder has one for each `.csv` in it.
    """
    file = path.name if path.name not in ("", "..") else path.resolve().name
    try:
        sheets = _read_folder(path, file) if path.is_dir() else _read_file(path, file, single)
    except _Refused as refusal:
        return None, refusal.problems
    except PermissionError:
        return None, (error(Where(file), "may not be read: permission denied"),)
    except OSError as trouble:
        return None, (error(Where(file), f"cannot be read: {trouble.strerror or trouble}"),)
    return Book(file=file, path=path, sheets=sheets), _twins(sheets)


def _key(name: str) -> str:
    return "".join(name.casefold().split())


def _twins(sheets: Iterable[Sheet]) -> tuple[Problem, ...]:
    first: dict[str, Sheet] = {}
    return tuple(
        caution(
            Where(sheet.file, sheet.name),
            f"answers to the same name as the sheet '{first[_key(sheet.name)].name}' "
            "before it: only that one is used",
            "give one of them another name",
        )
        for sheet in sheets
        if first.setdefault(_key(sheet.name), sheet) is not sheet
    )


class _Refused(Exception):
    """The book is not read; travels no further than `read_book`."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__(*problems)
        self.problems = problems


def _refused(where: Where, says: str, cure: str = "") -> _Refused:
    return _Refused(error(where, says, cure))


# Files and folders


def _read_folder(path: Path, file: str) -> tuple[Sheet, ...]:
    lists = sorted(
        item
        for item in path.iterdir()
        if item.suffix.casefold() == ".csv" and not item.name.startswith(".") and item.is_file()
    )
    if not lists:
        raise _refused(Where(file), "is a folder without any .csv in it", "name a workbook")
    sheets: list[Sheet] = []
    problems: list[Problem] = []
    for item in lists:
        book, wrong = read_book(item, single=item.stem)
        place = f"{file}/{item.name}"
        problems += [
            Problem(p.level, Where(place, p.where.sheet, p.where.cell), p.says, p.cure)
            for p in wrong
        ]
        if book:
            sheets += [Sheet(file=place, name=s.name, rows=s.rows) for s in book.sheets]
    if problems:
        raise _Refused(*problems)
    return tuple(sheets)


def _read_file(path: Path, file: str, single: str) -> tuple[Sheet, ...]:
    kind = path.suffix.casefold()
    if not path.exists():
        raise _missing(path, file)
    if not path.is_file():
        raise _refused(Where(file), "is not a file that can be read")
    if kind not in _KINDS:
        says = f"files ending in '{kind}' are not read" if kind else "has no ending such as .xlsx"
        raise _refused(Where(file), says, _SAVE_AS_XLSX)
    if path.stat().st_size > _MAX_BYTES:
        raise _refused(Where(file), f"is over {_MAX_BYTES // 1_000_000} MB: too large to be a list")
    data = path.read_bytes()
    if not data.strip():
        raise _refused(Where(file), "is empty")
    if kind == ".csv":
        return (Sheet(file=file, name=single, rows=_csv_rows(data, Where(file, single))),)
    package = _open_package(data, file, kind)
    return _read_ods(package) if kind == ".ods" else _read_xlsx(package)


def _missing(path: Path, file: str) -> _Refused:
    if not path.parent.is_dir():
        return _refused(Where(file), f"there is no folder '{path.parent}'")
    near = {
        item.name.casefold(): item.name
        for item in islice(path.parent.iterdir(), 1000)
        if item.suffix.casefold() in _KINDS or item.is_dir()
    }
    return _refused(Where(file), "there is no such file", near.get(nearest(file, near), ""))


# Values


def _text(raw: str) -> str | None:
    if not raw.isascii():  # no-break, figure and narrow no-break space
        raw = raw.replace("\xa0", " ").replace("\u2007", " ").replace("\u202f", " ")
    return raw.strip() or None


def _number(raw: float) -> Decimal | Fault:
    """To the 15 figures a spreadsheet keeps, so that 0.1 + 0.2 is 0.3; never an exponent.

    >>> _number(0.1 + 0.2), _number(1e20), _number(12.0)
    (Decimal('0.3'), Decimal('100000000000000000000'), Decimal('12'))
    """
    if raw.is_integer() and abs(raw) < 1e15:
        return Decimal(int(raw))
    if not math.isfinite(raw):
        return Fault("a number too large to read")
    text = f"{raw:.15g}"
    return _unscaled(Decimal(text)) if "e+" in text else Decimal(text)


def _unscaled(number: Decimal) -> Decimal:
    return Decimal(format(number, "f"))


def _percent(value: Value) -> Value:
    """A value whose cell is formatted in per cent; text and faults stay what they are."""
    if not isinstance(value, Decimal):
        return value
    return Percent(_unscaled((value * 100).normalize()))


def _duration(raw: datetime.timedelta) -> Value:
    if datetime.timedelta(0) <= raw < datetime.timedelta(days=1):
        return (datetime.datetime.min + raw).time()
    return Fault("a length of time")


def _plain(raw: object) -> Value:
    if isinstance(raw, str):
        return _text(raw)
    if isinstance(raw, float):
        return _number(raw)
    if isinstance(raw, datetime.timedelta):
        return _duration(raw)
    if isinstance(raw, datetime.date | datetime.time):
        return raw
    return Fault("a value of an unknown kind")


class _Values(dict[object, Value]):
    """Raw value -> value, worked out once each: lists repeat themselves.

    Not for booleans: True and 1.0 are the same key.
    """

    def __missing__(self, raw: object) -> Value:
        value = self[raw] = _plain(raw)
        return value


def _trimmed(rows: Iterable[Sequence[Value]]) -> tuple[Row, ...]:
    kept: list[Row] = []
    for row in rows:
        end = len(row)
        while end and row[end - 1] is None:
            end -= 1
        kept.append(tuple(row[:end]))
    while kept and not kept[-1]:
        kept.pop()
    return tuple(kept)


# .csv


def _csv_rows(data: bytes, where: Where) -> tuple[Row, ...]:
    text = _decoded(data, where)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    rows: list[list[Value]] = []
    cells = 0
    try:
        for row in reader:
            cells += len(row)
            if cells > _MAX_CELLS:
                raise _refused(where, f"has over {_MAX_CELLS:,} cells: too large to be a list")
            rows.append([_csv_value(item) for item in row])
    except csv.Error as trouble:
        raise _csv_trouble(where, len(rows), str(trouble)) from trouble
    return _trimmed(rows)


def _decoded(data: bytes, where: Where) -> str:
    if b"\0" in data:
        raise _refused(where, "is not plain text: it has zero bytes", "save it as CSV UTF-8")
    body = data.removeprefix(codecs.BOM_UTF8)
    try:
        return body.decode("utf-8")
    except UnicodeDecodeError as trouble:
        unknown = trouble
    try:
        if body is data:  # the mark at the start says UTF-8: anything else is damage
            return body.decode("cp1252")
    except UnicodeDecodeError as trouble:
        unknown = trouble
    line = body.count(b"\n", 0, unknown.start) + 1
    says = f"line {line}: byte 0x{body[unknown.start]:02X} is no letter in UTF-8 or Windows-1252"
    raise _refused(where, says, "save it as CSV UTF-8")


def _delimiter(text: str) -> str:
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


def _csv_value(raw: str) -> Value:
    text = _text(raw)
    if text and text[0] == "'" and text[1:2] in ("=", "+", "-", "@", "\t"):
        text = _text(text[1:])  # the guard that keeps a spreadsheet from running the text
    return Fault(text) if text and _ERROR_WORD.fullmatch(text) else text


def _csv_trouble(where: Where, row: int, says: str) -> _Refused:
    place = Where(where.file, where.sheet, cell_name(row, 0))
    if "unexpected end of data" in says or "field limit" in says:
        return _refused(place, f"row {row + 1}: a quote mark is opened and never closed")
    if "expected after" in says:
        says = "text goes on after a closing quote mark"
    return _refused(place, f"row {row + 1}: {says}", 'write a quote mark inside quotes twice: ""')


# Zip packages


@dataclass(frozen=True, slots=True, kw_only=True)
class _Package:
    """A zip whose directory has been judged; `parts` are the members read so far, by name."""

    file: str
    archive: zipfile.ZipFile
    members: dict[str, zipfile.ZipInfo]
    parts: dict[str, bytes] = field(default_factory=dict)

    def part(self, name: str) -> bytes:
        """The XML of one member, checked; empty when there is no such member.

        No more is unpacked than the size the directory gives, and the checksum compared: a
        member that says it is smaller than it is cannot flood the memory.
        """
        member = self.members.get(name.casefold())
        if member is None:
            return b""
        if name not in self.parts:
            try:
                with self.archive.open(member) as stream:
                    xml = stream.read(member.file_size)  # without a size it would unpack it all
            except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError) as bad:
                raise _damaged(self.file, str(bad)) from bad
            _check_xml(xml, self.file)
            self.parts[name] = xml
        return self.parts[name]

    def copy(self) -> io.BytesIO:
        """A fresh zip of the parts read, stored unpacked."""
        copy = io.BytesIO()
        with zipfile.ZipFile(copy, "w", zipfile.ZIP_STORED) as archive:
            for name, xml in self.parts.items():
                archive.writestr(name, xml)
        copy.seek(0)
        return copy


def _damaged(file: str, why: str) -> _Refused:
    says = f"is damaged, or only half of it was saved or sent ({why})"
    return _refused(Where(file), says, "take a fresh copy, or " + _SAVE_AS_XLSX)


def _check_xml(xml: bytes, file: str) -> None:
    head = re.search(rb"""<\?xml[^>]*encoding\s*=\s*["']([^"']*)""", xml[:200])
    if b"\0" in xml[:200] or (head and head[1].lower() not in (b"utf-8", b"us-ascii")):
        raise _refused(Where(file), "is not written in UTF-8", _SAVE_AS_XLSX)
    if b"<!DOCTYPE" in xml:  # without one there are no entities either
        says = "holds a document type declaration (DTD), which no spreadsheet program writes"
        raise _refused(Where(file), says, _SAVE_AS_XLSX)


def _open_package(data: bytes, file: str, kind: str) -> _Package:
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        says = "is protected with a password, or is an old .xls"
        raise _refused(Where(file), says, f"{_SAVE_AS_XLSX} without a password")
    if not data.startswith(b"PK\x03\x04"):
        raise _not_a_book(file, kind)
    if data.count(b"PK\x01\x02") > _MAX_MEMBERS:  # before zipfile spends a second on them
        raise _refused(Where(file), f"has over {_MAX_MEMBERS:,} parts: not a workbook")
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError) as bad:
        raise _damaged(file, str(bad)) from bad
    members = {i.filename.replace("\\", "/").casefold(): i for i in archive.infolist()}
    _check_directory(archive.infolist(), members, file)
    package = _Package(file=file, archive=archive, members=members)
    if b"encryption-data" in package.part("META-INF/manifest.xml"):  # an OpenDocument's own way
        raise _locked(file)
    if "mimetype" in members or "content.xml" in members:
        is_kind = kind == ".ods"
    else:
        is_kind = kind != ".ods" and "_rels/.rels" in members
    if not is_kind:
        raise _not_a_book(file, kind)
    return package


def _not_a_book(file: str, kind: str) -> _Refused:
    return _refused(Where(file), f"is not a {kind} workbook, whatever its name", _SAVE_AS_XLSX)


def _locked(file: str) -> _Refused:
    says = "is protected with a password"
    return _refused(Where(file), says, f"{_SAVE_AS_XLSX} without a password")


def _check_directory(
    infos: Sequence[zipfile.ZipInfo], members: dict[str, zipfile.ZipInfo], file: str
) -> None:
    unpacked = sum(info.file_size for info in infos)
    packed = sum(info.compress_size for info in infos)
    if unpacked > _MAX_BYTES or (unpacked > _BOMB_BYTES and unpacked > _BOMB_RATIO * packed):
        says = f"would unpack to {unpacked // 1_000_000:,} MB: too large to be a list"
        raise _refused(Where(file), says, "delete what is not needed and save it again")
    if len(members) != len(infos):
        raise _refused(Where(file), "holds two parts of one name", _SAVE_AS_XLSX)
    if any(info.flag_bits & 1 for info in infos):
        raise _locked(file)
    if any(info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for info in infos):
        raise _refused(Where(file), "is packed in a way that is not read", _SAVE_AS_XLSX)


_OnStart: TypeAlias = Callable[[str, dict[str, str]], None]
_OnEnd: TypeAlias = Callable[[str], None]


def _walk(
    xml: bytes, file: str, start: _OnStart, end: _OnEnd | None = None, text: _OnEnd | None = None
) -> None:
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    try:
        parser.Parse(xml, True)
    except expat.ExpatError as bad:
        raise _damaged(file, str(bad)) from bad


def _too_large(where: Where, rows: int, columns: int) -> _Refused:
    far = cell_name(rows - 1, columns - 1)
    says = f"the sheet reaches to {far}: over {_MAX_CELLS:,} cells, blanks included"
    cure = "delete the stray cells far below or to the right of the list"
    return _refused(Where(where.file, where.sheet, far), says, cure)


# .xlsx and .xlsm


def _read_xlsx(package: _Package) -> tuple[Sheet, ...]:
    top = dict(_relations(package, "").values())
    workbook = top.get("officeDocument", "")
    if not workbook.endswith(".xml"):
        raise _not_a_book(package.file, ".xlsx")
    targets = _relations(package, workbook)
    members = dict(targets.values())
    percents = _percent_styles(package, members.get("styles", ""))
    package.part(members.get("sharedStrings", ""))  # read here so that calamine is given it
    marks: dict[str, _Marks] = {}
    for name, relation in _sheet_names(package, workbook):
        kind, target = targets.get(relation, ("", ""))
        if kind == "worksheet":  # a chart sheet has no cells
            marks[name] = _marks(package, name, target, percents)
    if not marks:
        raise _refused(Where(package.file), "has no sheets")
    values = _Values()
    return tuple(
        Sheet(file=package.file, name=name, rows=_finished(grid, marks[name], values))
        for name, grid in _grids(package, marks)
    )


def _relations(package: _Package, part: str) -> dict[str, tuple[str, str]]:
    """Relation id -> (kind, member), from a part, or from the package itself (no part)."""
    folder, own = posixpath.split("/" + part)
    found: dict[str, tuple[str, str]] = {}

    def start(name: str, attributes: dict[str, str]) -> None:
        if name.endswith("Relationship") and attributes.get("TargetMode") != "External":
            target = attributes.get("Target", "")
            if part:  # some write the workbook's parts in full, without the first slash
                target = target.removeprefix("xl/")
            member = posixpath.normpath(posixpath.join(folder, target)).lstrip("/")
            kind = attributes.get("Type", "").rpartition("/")[2]
            found[attributes.get("Id", "")] = (kind, member)

    _walk(package.part(f"{folder}/_rels/{own}.rels".lstrip("/")), package.file, start)
    return found


def _sheet_names(package: _Package, workbook: str) -> tuple[tuple[str, str], ...]:
    """Sheet name and relation id, in the order of the workbook."""
    found: list[tuple[str, str]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        if name.rpartition(":")[2] == "sheet":
            relation = next((v for k, v in attributes.items() if k.endswith(":id")), "")
            found.append((attributes.get("name", ""), relation))

    _walk(package.part(workbook), package.file, start)
    return tuple(found)


def _percent_styles(package: _Package, member: str) -> frozenset[str]:
    """The style numbers of cells that are shown in per cent.

    Formats 9 and 10 are built in (ECMA-376 Part 1, 18.8.30); others say so in their code.
    """
    xml = package.part(member)
    formats = {"9", "10"}
    styles: list[str] = []
    inside = ""

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal inside
        name = name.rpartition(":")[2]
        if name in ("numFmts", "cellXfs", "cellStyleXfs", "dxfs"):
            inside = name
        elif name == "numFmt" and inside == "numFmts" and _shows_percent(attributes):
            formats.add(attributes.get("numFmtId", ""))
        elif name == "xf" and inside == "cellXfs":
            styles.append(attributes.get("numFmtId", ""))

    if xml:
        _walk(xml, package.file, start)
    return frozenset(str(n) for n, number_format in enumerate(styles) if number_format in formats)


def _shows_percent(number_format: dict[str, str]) -> bool:
    r"""True when a number format holds a per-cent sign that is not quoted.

    >>> [_shows_percent({"formatCode": code}) for code in ("0.0%", '0"%"', "0\\%")]
    [True, False, False]
    """
    code = number_format.get("formatCode", "")
    return "%" in re.sub(r'"[^"]*"|\\.|_.|\*.|\[[^\]]*\]', "", code)


@dataclass(slots=True)
class _Marks:
    """What calamine does not tell of a sheet: faults, cells in per cent, how far it reaches."""

    faults: dict[tuple[int, int], Fault] = field(default_factory=dict)
    percents: list[tuple[int, int]] = field(default_factory=list)
    rows: int = 0
    columns: int = 0


def _marks(package: _Package, name: str, member: str, percents: frozenset[str]) -> _Marks:
    xml = package.part(member)
    where = Where(package.file, name)
    if not xml:
        raise _damaged(package.file, f"the sheet '{name}' is missing")
    if _is_plain(xml, percents):
        return _Marks()
    scan = _CellScan(percents)
    try:
        _walk(xml, package.file, scan.start, scan.end, scan.text)
    except ValueError as bad:
        raise _refused(where, f"cannot be read: {bad}", _SAVE_AS_XLSX) from bad
    if scan.marks.rows > _MAX_ROWS or scan.marks.rows * scan.marks.columns > _MAX_CELLS:
        raise _too_large(where, scan.marks.rows, scan.marks.columns)
    return scan.marks


def _is_plain(xml: bytes, percents: frozenset[str]) -> bool:
    """True when the cells need no closer look: calamine's values will do as they are.

    Byte searches only, 3 ms a megabyte (one after the other: together in one pattern they
    take twice as long).  Any unusual way of writing (single quotes, prefixes, cells without
    address) counts as not plain.  Columns A to Z and rows up to 99,999 stay within the
    number of cells allowed.
    """
    styles = "|".join(sorted(percents))
    return (
        b't="e"' not in xml
        and (b"'" not in xml or b"='" not in xml)
        and not re.search(rb"<f[\s/>]", xml)
        and not re.search(rb'<c(?! r="[A-Z][0-9]{1,5}"|[a-zA-Z])', xml)
        and not re.search(rb":c[\s/>]", xml)
        and not (percents and re.search(rf' s="(?:{styles})"'.encode(), xml))
    )


class _CellScan:
    """Handlers for one pass over a sheet's XML that fill `marks`."""

    def __init__(self, percents: frozenset[str]) -> None:
        self.marks = _Marks()
        self._percents = percents
        self._row = self._column = -1
        self._cell: dict[str, str] = {}
        self._seen: set[str] = set()
        self._value: list[str] = []
        self._in_value = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """A row or cell opens, or something within a cell."""
        name = name.rpartition(":")[2]
        if name == "c":
            self._open_cell(attributes)
        elif name == "row":
            self._row = _position(f"A{attributes['r']}")[0] if "r" in attributes else self._row + 1
            self._column = -1
        elif name in ("v", "f", "is"):
            self._seen.add(name)
            self._in_value = name == "v"

    def text(self, data: str) -> None:
        """Text, which matters only inside a stored value."""
        if self._in_value:
            self._value.append(data)

    def end(self, name: str) -> None:
        """A cell is complete."""
        name = name.rpartition(":")[2]
        if name == "v":
            self._in_value = False
        elif name == "c" and self._seen:
            self._close_cell()

    def _open_cell(self, attributes: dict[str, str]) -> None:
        self._cell, self._value = attributes, []
        self._seen.clear()
        if "r" in attributes:
            self._row, self._column = _position(attributes["r"])
        else:
            self._column += 1

    def _close_cell(self) -> None:
        marks, place, kind = self.marks, (self._row, self._column), self._cell.get("t", "n")
        value = "".join(self._value)
        marks.rows = max(marks.rows, self._row + 1)
        marks.columns = max(marks.columns, self._column + 1)
        if kind == "e":
            marks.faults[place] = Fault(value or "an error value")
        elif "f" in self._seen and ("v" not in self._seen or not (value or kind == "str")):
            marks.faults[place] = Fault(NEVER_CALCULATED)
        elif self._cell.get("s", "0") in self._percents:
            marks.percents.append(place)


def _position(name: str) -> tuple[int, int]:
    """Zero-based row and column of a cell's name; ValueError when there is no such cell.

    >>> _position("C7"), _position("AA1")
    ((6, 2), (0, 26))
    """
    match = re.fullmatch(r"([A-Za-z]{1,3})([0-9]{1,7})", name)
    if match is None:
        raise ValueError(f"'{name}' is not a cell")
    column = 0
    for letter in match[1].upper():
        column = column * 26 + ord(letter) - ord("A") + 1
    row = int(match[2])
    if not (1 <= row <= _MAX_ROWS and column <= _MAX_COLUMNS):
        raise ValueError(f"'{name}' lies outside any sheet")
    return row - 1, column - 1


_Grid: TypeAlias = Sequence[Sequence[object]]


def _grids(package: _Package, names: Iterable[str]) -> Iterator[tuple[str, _Grid]]:
    """Each sheet's name and raw grid from A1 on, by calamine."""
    from python_calamine import CalamineWorkbook

    try:
        with CalamineWorkbook.from_filelike(package.copy()) as book:
            for name in names:
                yield name, book.get_sheet_by_name(name).to_python(skip_empty_area=False)
    except (KeyboardInterrupt, SystemExit, GeneratorExit):
        raise
    except BaseException as bad:  # a panic in Rust is no Exception
        raise _refused(Where(package.file), f"cannot be read: {bad}", _SAVE_AS_XLSX) from bad


def _finished(grid: _Grid, marks: _Marks, values: _Values) -> tuple[Row, ...]:
    rows: list[list[Value]] = [
        [raw if raw is True or raw is False else values[raw] for raw in row] for row in grid
    ]
    for row, column in marks.percents:
        if row < len(rows) and column < len(rows[row]):
            rows[row][column] = _percent(rows[row][column])
    for (row, column), fault in marks.faults.items():
        rows.extend([] for _ in range(row + 1 - len(rows)))
        rows[row].extend([None] * (column + 1 - len(rows[row])))
        rows[row][column] = fault
    return _trimmed(rows)


# .ods


def _read_ods(package: _Package) -> tuple[Sheet, ...]:
    scan = _TableScan(package.file)
    _walk(package.part("content.xml"), package.file, scan.start, scan.end, scan.text)
    if not scan.sheets:
        raise _refused(Where(package.file), "has no sheets")
    return tuple(scan.sheets)


class _TableScan:
    """Handlers for one pass over an OpenDocument `content.xml` that fill `sheets`.

    Runs of blank cells and rows (`repeated`, up to a million) are counted and only written
    out when something follows; a repeated row is one tuple however often it stands there.
    """

    def __init__(self, file: str) -> None:
        self.sheets: list[Sheet] = []
        self._file = file
        self._name: str | None = None
        self._rows: list[Row] = []
        self._row: list[Value] = []
        self._blank_rows = self._blank_cells = self._width = self._skip = self._paragraphs = 0
        self._row_repeat = 1
        self._cell: dict[str, str] | None = None
        self._text: list[str] = []
        self._in_text = False

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """An element opens; notes, drawings and tables within a table are passed over."""
        if self._skip:
            self._skip += 1
        elif name in _ODS_CELLS:
            self._cell, self._text, self._paragraphs = attributes, [], 0
        elif self._cell is not None and name in _ODS_TEXT:
            self._open_text(name, attributes)
        elif name == "table:table-row":
            self._row, self._blank_cells = [], 0
            self._row_repeat = _repeat(attributes, "table:number-rows-repeated", _MAX_ROWS)
        elif name == "table:table" and self._name is None:
            self._open_table(attributes)
        elif name == "table:table-source":
            self._name = None  # a stored copy of another file's sheet
        elif name in _ODS_SKIPPED or name.startswith("draw:"):
            self._skip = 1

    def text(self, data: str) -> None:
        """Text, which counts only within a paragraph of a cell."""
        if self._in_text and not self._skip:
            self._text.append(data)

    def end(self, name: str) -> None:
        """An element closes."""
        if self._skip:
            self._skip -= 1
        elif name in _ODS_CELLS:
            self._close_cell()
        elif name == "table:table-row":
            self._close_row()
        elif name == "text:p":
            self._in_text = False
        elif name == "table:table" and self._name is not None:
            self.sheets.append(Sheet(file=self._file, name=self._name, rows=tuple(self._rows)))
            self._name = None

    def _open_table(self, attributes: dict[str, str]) -> None:
        self._name = attributes.get("table:name", "")
        self._rows, self._blank_rows, self._width = [], 0, 0

    def _open_text(self, name: str, attributes: dict[str, str]) -> None:
        if name == "text:p":
            self._in_text = True
            self._text.append("\n" if self._paragraphs else "")
            self._paragraphs += 1
        elif name == "text:s":
            self._text.append(" " * _repeat(attributes, "text:c", 1000))
        elif name in ("text:tab", "text:line-break"):
            self._text.append("\t" if name == "text:tab" else "\n")

    def _close_cell(self) -> None:
        cell, self._cell = self._cell or {}, None
        value = _ods_value(cell, "".join(self._text) if self._paragraphs else None)
        repeat = _repeat(cell, "table:number-columns-repeated", _MAX_COLUMNS)
        if value is None:
            self._blank_cells += repeat
            return
        columns = len(self._row) + self._blank_cells + repeat
        if columns > _MAX_COLUMNS:
            raise _too_large(self._where(), len(self._rows) + self._blank_rows + 1, columns)
        self._row += [None] * self._blank_cells + [value] * repeat
        self._blank_cells = 0

    def _close_row(self) -> None:
        if not self._row:
            self._blank_rows += self._row_repeat
            return
        self._width = max(self._width, len(self._row))
        rows = len(self._rows) + self._blank_rows + self._row_repeat
        if rows > _MAX_ROWS or rows * self._width > _MAX_CELLS:
            raise _too_large(self._where(), rows, self._width)
        self._rows += [()] * self._blank_rows + [tuple(self._row)] * self._row_repeat
        self._blank_rows = 0

    def _where(self) -> Where:
        return Where(self._file, self._name or "")


_ODS_CELLS = ("table:table-cell", "table:covered-table-cell")
_ODS_TEXT = ("text:p", "text:s", "text:tab", "text:line-break")
_ODS_SKIPPED = (
    "table:table",  # within a cell
    "office:annotation",
    "table:shapes",
    "table:tracked-changes",
    "text:ruby-text",
)


def _repeat(attributes: dict[str, str], name: str, most: int) -> int:
    if name not in attributes:
        return 1
    match = re.fullmatch(r"[0-9]{1,9}", attributes[name])
    return max(1, min(int(match[0]), most)) if match else most


def _ods_value(cell: dict[str, str], paragraphs: str | None) -> Value:
    """The value of a cell from its attributes and text: OpenDocument, office:value-type.

    LibreOffice writes the result of `=""` as an empty paragraph without a kind; only a
    formula without even that was never calculated.
    """
    kind = cell.get("office:value-type")
    text = paragraphs or ""
    if "table:formula" in cell:
        if cell.get("calcext:value-type") == "error" or _ERROR_WORD.fullmatch(text.strip()):
            return Fault(text.strip() or "an error value")
        if kind is None and paragraphs is None:
            return Fault(NEVER_CALCULATED)
    try:
        match kind:
            case "float" | "currency":
                return _number(float(cell["office:value"]))
            case "percentage":
                return _percent(_number(float(cell["office:value"])))
            case "boolean":
                return cell["office:boolean-value"] == "true"
            case "date":
                return _iso_date(cell["office:date-value"])
            case "time":
                return _iso_time(cell["office:time-value"])
    except (KeyError, ValueError):
        return Fault(f"a stored {kind} that cannot be read")
    return _text(text or cell.get("office:string-value", ""))


def _iso_date(text: str) -> datetime.date:
    if "T" in text:
        return datetime.datetime.fromisoformat(text)
    return datetime.date.fromisoformat(text)


def _iso_time(text: str) -> Value:
    """A stored length of time: `PT01H30M00S` is half past one."""
    match = re.fullmatch(r"(-?)PT(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:\.\d+)?)S)?", text)
    if match is None or match[1]:
        raise ValueError(text)
    hours, minutes, seconds = (float(part or 0) for part in match.groups()[1:])
    return _duration(datetime.timedelta(hours=hours, minutes=minutes, seconds=seconds))
