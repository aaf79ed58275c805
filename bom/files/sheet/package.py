"""The zip package around .xlsx and .ods: what is refused before any of it is unpacked."""

import io
import re
import zipfile
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeAlias
from xml.parsers import expat

from msgspec import Struct, field

from bom.files.sheet.values import (
    BOMB_BYTES,
    BOMB_RATIO,
    MAX_BYTES,
    MAX_CELLS,
    MAX_MEMBERS,
    MAX_READ,
    MAX_TAGS,
    SAVE_AS_XLSX,
    Refused,
    cell_name,
    refused,
)
from bom.trade.problem import Where

_UNREADABLE = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    ValueError,
    OSError,
    RuntimeError,  # zipfile's own word for a way of packing or locking that it does not know
)
"""All that the standard library raises over a zip that is damaged or hostile."""


class _UndatedZip(zipfile.ZipFile):
    """A new zip whose members bear no day, so that a clock before 1980, its first year, will do."""

    def writestr(
        self,
        zinfo_or_arcname: str | zipfile.ZipInfo,
        data: Any,
        compress_type: int | None = None,
        compresslevel: int | None = None,
    ) -> None:
        """As the library does, with the day that a bare `ZipInfo` has."""
        info = zinfo_or_arcname
        if isinstance(info, str):
            info = zipfile.ZipInfo(info)
            compress_type = self.compression if compress_type is None else compress_type
        super().writestr(info, data, compress_type, compresslevel)

    def write(self, filename: Any, arcname: Any = None, *how: Any) -> None:
        """As the library does; openpyxl makes its sheets in files."""
        self.writestr(str(arcname or filename), Path(filename).read_bytes(), *how)


def new_zip(stream: io.BytesIO) -> zipfile.ZipFile:
    """A zip for a workbook that is made new."""
    return _UndatedZip(stream, "w", zipfile.ZIP_DEFLATED)


class Package(Struct, frozen=True, kw_only=True):
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
            if sum(map(len, self.parts.values())) + member.file_size > MAX_READ:
                raise _too_much(self.file, MAX_READ)
            try:
                with self.archive.open(member) as stream:
                    xml = stream.read(member.file_size)  # without a size it would unpack it all
            except _UNREADABLE as bad:
                raise damaged(self.file, str(bad)) from bad
            _check_xml(xml, self.file)
            self.parts[name] = xml
        return self.parts[name]

    def copy(self) -> io.BytesIO:
        """A fresh zip of the parts read, stored unpacked; they are not kept twice."""
        copy = io.BytesIO()
        with _UndatedZip(copy, "w", zipfile.ZIP_STORED) as archive:
            while self.parts:
                archive.writestr(*self.parts.popitem())
        copy.seek(0)
        return copy


def damaged(file: str, why: str) -> Refused:
    """The refusal of a package that cannot be unpacked."""
    says = f"is damaged, or only half of it was saved or sent ({why})"
    return refused(Where(file), says, "take a fresh copy, or " + SAVE_AS_XLSX)


def _check_xml(xml: bytes, file: str) -> None:
    head = re.search(rb"""<\?xml[^>]*encoding\s*=\s*["']([^"']*)""", xml[:200])
    if b"\0" in xml[:200] or (head and head[1].lower() not in (b"utf-8", b"us-ascii")):
        raise refused(Where(file), "is not written in UTF-8", SAVE_AS_XLSX)
    if b"<!DOCTYPE" in xml:  # without one there are no entities either
        says = "holds a document type declaration (DTD), which no spreadsheet program writes"
        raise refused(Where(file), says, SAVE_AS_XLSX)


def open_package(data: bytes, file: str, kind: str) -> Package:
    """The package of a book, checked before anything is unpacked; raises `Refused`."""
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        says = "is protected with a password, or is an old .xls"
        raise refused(Where(file), says, f"{SAVE_AS_XLSX} without a password")
    if not data.startswith(b"PK\x03\x04"):
        raise not_a_book(file, kind)
    if data.count(b"PK\x01\x02") > MAX_MEMBERS:  # before zipfile spends a second on them
        raise refused(Where(file), f"has over {MAX_MEMBERS:,} parts: not a workbook")
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except _UNREADABLE as bad:
        raise damaged(file, str(bad)) from bad
    members = {i.filename.replace("\\", "/").casefold(): i for i in archive.infolist()}
    _check_directory(archive.infolist(), members, file)
    package = Package(file=file, archive=archive, members=members)
    if b"encryption-data" in package.part("META-INF/manifest.xml"):  # an OpenDocument's own way
        raise _locked(file)
    if "mimetype" in members or "content.xml" in members:
        is_kind = kind == ".ods"
    else:
        is_kind = kind != ".ods" and "_rels/.rels" in members
    if not is_kind:
        raise not_a_book(file, kind)
    return package


def not_a_book(file: str, kind: str) -> Refused:
    """The refusal of a file that is something else than its name says."""
    return refused(Where(file), f"is not a {kind} workbook, whatever its name", SAVE_AS_XLSX)


def _locked(file: str) -> Refused:
    says = "is protected with a password"
    return refused(Where(file), says, f"{SAVE_AS_XLSX} without a password")


def _too_much(file: str, unpacked: int) -> Refused:
    says = f"would unpack to {unpacked // 1_000_000:,} MB: too large to be a list"
    return refused(Where(file), says, "delete what is not needed and save it again")


def _is_bomb(info: zipfile.ZipInfo) -> bool:
    """Judged one by one: what is not packed beside it, such as a photo, makes none harmless."""
    return info.file_size > max(BOMB_BYTES, BOMB_RATIO * info.compress_size)


def _check_directory(
    infos: Sequence[zipfile.ZipInfo], members: dict[str, zipfile.ZipInfo], file: str
) -> None:
    unpacked = sum(info.file_size for info in infos)
    if unpacked > MAX_BYTES or any(map(_is_bomb, infos)):
        raise _too_much(file, unpacked)
    if len(members) != len(infos):
        raise refused(Where(file), "holds two parts of one name", SAVE_AS_XLSX)
    if any(info.flag_bits & 1 for info in infos):
        raise _locked(file)
    if any(info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for info in infos):
        raise refused(Where(file), "is packed in a way that is not read", SAVE_AS_XLSX)


_OnStart: TypeAlias = Callable[[str, dict[str, str]], None]
_OnEnd: TypeAlias = Callable[[str], None]


def walk_xml(
    xml: bytes,
    file: str,
    start: _OnStart,
    end: _OnEnd | None = None,
    text: _OnEnd | None = None,
    most: int = 0,
) -> None:
    """Run handlers over a part's XML; raises `Refused` where it is not well formed, or too long."""
    most = most or MAX_TAGS
    if xml.count(b"<") > most:
        says = f"has over {most:,} XML tags that have to be read one by one"
        raise refused(Where(file), says, SAVE_AS_XLSX)
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    try:
        parser.Parse(xml, True)
    except expat.ExpatError as bad:
        raise damaged(file, str(bad)) from bad


class Room:
    """How much room the sheets of a book take together, blanks included."""

    def __init__(self) -> None:
        self._cells = 0

    def take(self, where: Where, rows: int, columns: int) -> None:
        """Count a sheet of that size; raises `Refused` where it is one too many."""
        if self._cells + rows * columns > MAX_CELLS:
            raise too_large(where, rows, columns, first=not self._cells)
        self._cells += rows * columns


def too_large(where: Where, rows: int, columns: int, *, first: bool = True) -> Refused:
    """The refusal of a sheet whose used area, with those before it, is beyond reason."""
    far = cell_name(rows - 1, columns - 1)
    says = f"the sheet reaches to {far}: over {MAX_CELLS:,} cells, blanks included"
    if not first and rows * columns <= MAX_CELLS:
        says = f"the sheet reaches to {far}: with those before it over {MAX_CELLS:,} cells"
    cure = "delete the stray cells far below or to the right of the list"
    return refused(Where(where.file, where.sheet, far), says, cure)
