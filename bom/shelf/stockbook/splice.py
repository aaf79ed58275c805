"""Cells changed and rows put under lists in a book that somebody owns; nothing else touched.

A library that loads and saves a workbook loses what it does not know: text boxes, slicers,
threaded comments, stored results.  So the changed cells are spliced into the sheet's XML at
the byte offsets that expat tells, and every other member of the package is copied as the
compressed bytes it is.

What changes beside the cells asked for:

- the sheet's `dimension`, and the `spans` of a row that gets cells further out;
- conditional formats and validations of the same sheet that ended with the list: they end
  with it again.  The filter of a plain list, its hidden name `_xlnm._FilterDatabase` and the
  print area stay: a filter that is applied again takes in the rows directly under it;
- the part of an Excel table that a row was put under (its own and its filter's range);
- stored results of formulas in the changed sheets that may depend on a changed cell (`stale`):
  they are taken out, and a program that opens the book works them out again.  Until the owner
  has opened and saved the book, a reader of stored results finds none in those cells.

Formulas in other sheets keep their stored results, because their members are not touched.
Measured with LibreOffice 7.4: it works out what has no stored result, array formulas
included, and shows the stored results of all other sheets as they are, true or not, until
it is told to recalculate (Ctrl+Shift+F9); `fullCalcOnLoad` changes nothing about that.
Excel works everything out on opening when `calcPr` in `workbook.xml` says
`fullCalcOnLoad="1"`, or a `calcId` older than its own (ECMA-376 Part 1, 18.2.2); else it
works out the formulas without a stored result (from memory, as is that it then shows what
is stored in the other sheets; Excel was not at hand to measure it).
"""

import re
from collections.abc import Collection, Container, Mapping, Sequence
from pathlib import Path

from msgspec.structs import replace

from bom.files.sheet.package import Package, open_package
from bom.files.sheet.values import SAVE_AS_XLSX, Refused, refused
from bom.files.sheet.xlsx import relations, sheet_names
from bom.shelf.stockbook.build import built
from bom.shelf.stockbook.edits import Edit, NewRow, Unwritable
from bom.shelf.stockbook.plan import SheetPlan, planned
from bom.shelf.stockbook.rawzip import with_changed
from bom.shelf.stockbook.sheetxml import parse_sheet
from bom.shelf.stockbook.tables import lengthened, tables_of
from bom.trade.problem import Problem, Where, error, nearest
from bom.trade.rows import Written

_FORMULA = re.compile(rb"<(?:[\w.-]+:)?f[\s/>]")
_FORMULA_TEXT = re.compile(rb"<(?:[\w.-]+:)?f(?:\s[^>]*)?>([^<]*)<")

__all__ = ["Edit", "NewRow", "Unwritable", "Written", "readers", "spliced"]


def spliced(data: bytes, file: str, edits: Sequence[Edit], rows: Sequence[NewRow]) -> bytes:
    """The package with those cells changed and rows put under their lists.

    Edits come first, so a row goes into the place of one that was emptied at a list's end.
    Every member but the changed sheets, and the tables made longer, is byte for byte what it
    was.  Raises `Unwritable` with everything that is in the way, in file order, and
    ValueError for a cell that no sheet has or that is edited twice.
    """
    if not edits and not rows:
        return data
    try:
        package = opened_package(data, file)
        changed, problems = _changed_members(package, edits, rows)
        if problems:
            raise Unwritable(*problems)
        return with_changed(package, data, changed) if changed else data
    except Refused as refusal:
        raise Unwritable(*refusal.problems) from refusal


def opened_package(data: bytes, file: str) -> Package:
    """A package that may be written; raises `Refused` for one that may not."""
    kind = Path(file).suffix.casefold()
    if kind not in (".xlsx", ".xlsm"):
        raise refused(Where(file), "only .xlsx and .xlsm are written", SAVE_AS_XLSX)
    package = open_package(data, file, kind)
    if any(name.startswith("_xmlsignatures/") for name in package.members):
        says = "is digitally signed, and a change would make the signature void"
        raise refused(Where(file), says, "take the signature off")
    return package


def _changed_members(
    package: Package, edits: Sequence[Edit], rows: Sequence[NewRow]
) -> tuple[dict[str, bytes], list[Problem]]:
    """Member -> new content, and what is in the way."""
    members = _sheets(package)
    changed: dict[str, bytes] = {}
    problems: list[Problem] = []
    names = dict.fromkeys([*(edit.sheet for edit in edits), *(row.sheet for row in rows)])
    for name in names:
        if name not in members:
            says = f"there is no sheet '{name}' with cells"
            problems.append(error(Where(package.file, name), says, nearest(name, members)))
            continue
        plan = _plan(package, name, members, names)
        planned(
            plan,
            [edit for edit in edits if edit.sheet == name],
            [row for row in rows if row.sheet == name],
        )
        problems += plan.problems
        if not plan.problems:
            changed |= _changed_by(package, plan, members[name])
    return changed, problems


def readers(data: bytes, file: str, changed: Collection[str]) -> tuple[str, ...]:
    """The other sheets whose formulas name a changed sheet: their stored results may be untrue.

    A name in a text counts too: better told once too often.  Raises `Unwritable`.
    """
    either = "|".join(re.escape(name.replace("'", "''")) for name in changed)
    names = re.compile(rf"(?:'(?:{either})'|\b(?:{either}))!".encode())
    try:
        package = opened_package(data, file)
        others = ((n, package.part(m)) for n, m in _sheets(package).items() if n not in changed)
        return tuple(
            name
            for name, xml in others
            if any(
                names.search(found[1].replace(b"&apos;", b"'"))
                for found in _FORMULA_TEXT.finditer(xml)
            )
        )
    except Refused as refusal:
        raise Unwritable(*refusal.problems) from refusal


def _sheets(package: Package) -> dict[str, str]:
    """Sheet name -> member, of the sheets that have cells."""
    tops = dict(relations(package, "").values())
    workbook = tops.get("officeDocument", "")
    targets = relations(package, workbook)
    named = ((name, *targets.get(key, ("", ""))) for name, key in sheet_names(package, workbook))
    return {name: member for name, kind, member in named if kind == "worksheet"}


def _plan(
    package: Package, name: str, members: Mapping[str, str], changing: Container[str]
) -> SheetPlan:
    sheet = parse_sheet(package.part(members[name]), package.file)
    tables = tuple(tables_of(package, members[name]))
    folded = {other.casefold(): other for other in members}

    def steady(other: str) -> bool:
        own = folded.get(other.casefold(), "")
        return bool(own) and own not in changing and not _FORMULA.search(package.part(members[own]))

    return SheetPlan(where=Where(package.file, name), sheet=sheet, tables=tables, steady=steady)


def _changed_by(package: Package, plan: SheetPlan, member: str) -> dict[str, bytes]:
    """The sheet, and the tables that grew, where they are no longer what they were."""
    new = {member: built(plan)}
    tables = {table.member: table for table in plan.tables}
    for grown in plan.grown:
        table = tables[grown.table.member] if grown.table else None
        if table and grown.bottom > table.area.bottom:
            xml = new.get(table.member, package.part(table.member))
            new[table.member] = lengthened(xml, table, grown.bottom)
            tables[table.member] = replace(table, area=replace(table.area, bottom=grown.bottom))
    return {name: xml for name, xml in new.items() if xml != package.part(name)}
