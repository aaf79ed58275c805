"""A sheet put behind the others of a workbook that somebody owns; nothing else touched.

A part is added to the package and named in three others: the workbook's list of sheets, its
relations, and the content types (ECMA-376 Part 2, 9.2 and 9.3; Part 1, 12.3.23 and 18.2.20).
The list of titles in `docProps/app.xml` is left: it is for show, and no program goes by it.
"""

import posixpath
import re
from collections.abc import Sequence
from itertools import count
from xml.sax.saxutils import quoteattr

from msgspec import Struct

from bom.files.sheet.package import Package, walk_xml
from bom.files.sheet.values import SAVE_AS_XLSX, Refused, cell_name, refused, sheet_key
from bom.files.sheet.xlsx import relations, sheet_names
from bom.shelf.stockbook.edits import Unwritable
from bom.shelf.stockbook.markup import cell_xml
from bom.shelf.stockbook.rawzip import with_changed
from bom.shelf.stockbook.sheetxml import TRUE
from bom.shelf.stockbook.splice import opened_package
from bom.trade.problem import Where, error

_CONTENT = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
_MAIN = {
    False: "http://schemas.openxmlformats.org/spreadsheetml/2006/main",
    True: "http://purl.oclc.org/ooxml/spreadsheetml/main",
}
_RELATED = {
    False: "http://schemas.openxmlformats.org/officeDocument/2006/relationships",
    True: "http://purl.oclc.org/ooxml/officeDocument/relationships",
}
_LONGEST_NAME = 31
_NOT_IN_NAMES = re.compile(r"[:\\/?*\[\]\x00-\x1f]|^'|'$")
_WIDTH = 18
_WIDE = {"item": 44, "note": 44}


def with_sheet(data: bytes, file: str, name: str, headings: Sequence[str]) -> bytes:
    """The package with one more sheet, last of all, with the headings in row 1.

    Raises `Unwritable` as `spliced` does, and where the order of the sheets is protected;
    ValueError for a name that no sheet can have, or that one has.
    """
    if not 0 < len(name) <= _LONGEST_NAME or _NOT_IN_NAMES.search(name):
        raise ValueError(f"no sheet can be called '{name}'")
    try:
        package = opened_package(data, file)
        book = _Workbook.of(package)
        if book.locked:
            says = "the order of its sheets is protected, so that none is added"
            cure = f"take the protection off, or add a sheet {name} there"
            raise Unwritable(error(Where(file), says, cure))
        if sheet_key(name) in map(sheet_key, book.names):
            raise ValueError(f"there is a sheet '{name}'")
        return with_changed(package, data, book.naming(package, name), book.sheet(headings))
    except Refused as refusal:
        raise Unwritable(*refusal.problems) from refusal


class _Workbook(Struct, frozen=True, kw_only=True):
    """What has to be known to name one more sheet; `strict` is the stricter of the two forms."""

    member: str
    names: tuple[str, ...]
    locked: bool
    strict: bool
    sheet_id: int
    relation_id: str
    part: str

    @classmethod
    def of(cls, package: Package) -> "_Workbook":
        """The workbook of a package."""
        member = dict(relations(package, "").values()).get("officeDocument", "")
        ids, locked = [0], False

        def start(name: str, attributes: dict[str, str]) -> None:
            nonlocal locked
            bare = name.rpartition(":")[2]
            if bare == "sheet":
                ids.append(int(attributes.get("sheetId", "0")))
            elif bare == "workbookProtection":
                locked = attributes.get("lockStructure") in TRUE

        walk_xml(package.part(member), package.file, start)
        used = set(relations(package, member))
        folder = posixpath.dirname(member)
        return cls(
            member=member,
            names=tuple(name for name, _ in sheet_names(package, member)),
            locked=locked,
            strict=b"purl.oclc.org/ooxml" in package.part(_relations_of(member)),
            sheet_id=max(ids) + 1,
            relation_id=next(f"rId{n}" for n in count(1) if f"rId{n}" not in used),
            part=next(
                part
                for n in count(len(ids))
                if (part := f"{folder}/worksheets/sheet{n}.xml").lstrip("/").casefold()
                not in package.members
            ).lstrip("/"),
        )

    def naming(self, package: Package, name: str) -> dict[str, bytes]:
        """The three parts that name the new one, each with an element more at its end."""
        target = posixpath.relpath(f"/{self.part}", f"/{posixpath.dirname(self.member)}")
        related = _RELATED[self.strict]
        elements = {
            self.member: (
                "sheets",
                f"sheet name={quoteattr(name)} sheetId={quoteattr(str(self.sheet_id))} "
                f"xmlns:r={quoteattr(related)} r:id={quoteattr(self.relation_id)}",
            ),
            _relations_of(self.member): (
                "Relationships",
                f"Relationship Id={quoteattr(self.relation_id)} "
                f"Type={quoteattr(f'{related}/worksheet')} Target={quoteattr(target)}",
            ),
            "[Content_Types].xml": (
                "Types",
                f"Override PartName={quoteattr(f'/{self.part}')} ContentType={quoteattr(_CONTENT)}",
            ),
        }
        return {
            member: _with_last(package, member, *element) for member, element in elements.items()
        }

    def sheet(self, headings: Sequence[str]) -> dict[str, bytes]:
        """The new part: headings in row 1, which stays in sight."""
        columns = "".join(
            f'<col min="{n}" max="{n}" width="{_WIDE.get(heading, _WIDTH)}" customWidth="1"/>'
            for n, heading in enumerate(headings, 1)
        )
        cells = b"".join(
            cell_xml("", cell_name(0, n), None, heading) for n, heading in enumerate(headings)
        )
        head = (
            '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
            f'<worksheet xmlns="{_MAIN[self.strict]}">'
            '<sheetViews><sheetView workbookViewId="0"><pane ySplit="1" topLeftCell="A2" '
            'activePane="bottomLeft" state="frozen"/></sheetView></sheetViews>'
            f'<cols>{columns}</cols><sheetData><row r="1">'
        )
        return {self.part: head.encode() + cells + b"</row></sheetData></worksheet>"}


def _relations_of(member: str) -> str:
    folder, own = posixpath.split(member)
    return f"{folder}/_rels/{own}.rels".lstrip("/")


def _with_last(package: Package, member: str, parent: str, element: str) -> bytes:
    """The part with one more element in front of its parent's end tag, in the same namespace."""
    xml = package.part(member)
    ends = list(re.finditer(rb"</(?:([\w.-]+):)?" + parent.encode() + rb"\s*>", xml))
    if not ends:
        says = f"its part {member} has no list of {parent}"
        raise refused(Where(package.file), says, SAVE_AS_XLSX)
    prefix = (ends[-1][1] or b"").decode()
    start = ends[-1].start()
    tag = f"<{prefix + ':' if prefix else ''}{element}/>"
    return xml[:start] + tag.encode("ascii", "xmlcharrefreplace") + xml[start:]
