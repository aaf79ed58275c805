"""What a job that begins from a record changes in its book: how the other one was really made."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from msgspec import Struct, field

from bom.files.headings import listing
from bom.files.sheet import Book
from bom.read.job_sheets import JobSheets
from bom.shelf.stockbook.edits import Edit, NewRow
from bom.trade.job_book import Pin, Wire
from bom.trade.problem import Problem, Where, caution
from bom.trade.rows import Listing, Row, Written
from bom.trade.wires import ChosenFuse, SizedWire
from bom.workshop.as_made import AsMade
from bom.workshop.made_over import is_added


class Changes(Struct, frozen=True, kw_only=True):
    """Cells, rows and sheets of the new book, and what could not be taken over.

    `emptied` are the rows of what was not fitted.
    """

    edits: list[Edit] = field(default_factory=list)
    emptied: list[Row] = field(default_factory=list)
    rows: list[NewRow] = field(default_factory=list)
    sheets: dict[str, tuple[str, ...]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


def changes(made: AsMade, book: Book, sheets: JobSheets) -> Changes:
    """Gauges, colours and fuses as they were used, wires that were added or left out."""
    found = Changes()
    if not (made.sheet or made.done):
        says, name = f"'{made.job.name}' is not made yet: as planned", made.job.path.stem
        found.problems.append(caution(Where(), says, f"bom done {name}, once it is made"))
    typed = {wire.label: wire for wire in made.plan.book.wires} if made.plan.book else {}
    for wire in made.job.wires:
        if not is_added(wire):
            _cable(found, typed[wire.wire.label], wire)
    found.emptied.extend(typed[label].row for label in made.left_out)
    _lengths(found, made)
    _fuses(found, made, book, sheets)
    _added(found, made, sheets)
    return found


def _cable(found: Changes, row: Wire, wire: SizedWire) -> None:
    gauge = wire.cable.gauge
    if gauge != row.gauge:
        _cell(found, row.row, "gauge", gauge if wire.cable.is_awg else f"{gauge} mm2")
    if wire.wire.colour != row.colour:
        _cell(found, row.row, "colour", str(wire.wire.colour))


def _cell(found: Changes, row: Row, heading: str, value: Written) -> None:
    where = row.where(heading)
    if heading in row.letters:
        found.edits.append(Edit(sheet=where.sheet, cell=where.cell, value=value))
    elif not any(f"no column {heading}" in problem.says for problem in found.problems):
        says = f"no column {heading}, so that those which were used are not taken over"
        cure = f"a column {heading} on {where.sheet} of {where.file} first"
        found.problems.append(caution(Where(where.file, where.sheet), says, cure))


def emptied(rows: Iterable[Row]) -> Iterator[Edit]:
    """Every cell of these rows, with nothing in it."""
    for row in rows:
        for letters in row.letters.values():
            yield Edit(sheet=row.sheet, cell=f"{letters}{row.number}", value=None)


def _lengths(found: Changes, made: AsMade) -> None:
    """Wires that came out longer or shorter than planned: the tape has to say where."""
    planned = {wire.wire.label: wire.piece_mm for wire in made.plan.wires}
    otherwise = [w for w in made.job.wires if w.piece_mm != planned.get(w.wire.label, w.piece_mm)]
    if otherwise:
        where = otherwise[0].wire.row.where("length")
        names = ", ".join(wire.wire.label for wire in otherwise)
        says = f"not as long as planned, which is not taken over: {names}"
        cure = "measure the branches that they lie in again"
        found.problems.append(caution(where, says, cure))


# ------------------------------------------------------------------------------ the fuses


def _fuses(found: Changes, made: AsMade, book: Book, sheets: JobSheets) -> None:
    """The ratings that were fitted, in their cells, or in rows and a sheet of their own."""
    planned = {f.name: f.rating for f in (made.plan.sized.fuses if made.plan.sized else ())}
    fitted = made.job.sized.fuses if made.job.sized else ()
    rows = {row.name: row.row for row in (made.plan.book.fuses if made.plan.book else ())}
    gone = planned.keys() - {fuse.name for fuse in fitted}
    found.emptied.extend(row for name, row in rows.items() if name in gone)
    for fuse in fitted:
        if fuse.rating == planned[fuse.name]:
            continue
        if fuse.name in rows:
            _cell(found, rows[fuse.name], "rating", _amps(fuse))
        else:
            _new_fuse(found, fuse, _list(sheets, "Fuses"), book)


def _new_fuse(found: Changes, fuse: ChosenFuse, there: Listing | None, book: Book) -> None:
    values: dict[str, Written] = {"fuse": fuse.name, "rating": _amps(fuse), "holder": fuse.holder}
    if there is None:
        found.sheets["Fuses"] = (*values,)
        letters: Mapping[str, str] = dict(zip(values, "ABC", strict=True))
        there = Listing(file=book.file, sheet="Fuses", header_row=1, letters=letters, units={})
    found.rows.append(_row(there, values))


def _amps(fuse: ChosenFuse) -> Decimal:
    return Decimal(str(float(fuse.rating)))


def _list(sheets: JobSheets, name: str) -> Listing | None:
    sheet = sheets.lists.sheets.get(name)
    return listing(sheet, sheets.columns[name]) if sheet else None


def _row(there: Listing, values: Mapping[str, Written]) -> NewRow:
    known = {there.letters[name]: v for name, v in values.items() if v and name in there.letters}
    return NewRow(sheet=there.sheet, header_row=there.header_row, values=known)


# ------------------------------------------------------------------------ wires put in


def _added(found: Changes, made: AsMade, sheets: JobSheets) -> None:
    """A row of Circuits for each wire that was added: without a length, which is not the tape's."""
    added = [wire for wire in made.job.wires if is_added(wire)]
    there = _list(sheets, "Circuits")
    if not added or there is None:
        return
    found.rows.extend(_row(there, _wire_cells(wire, there)) for wire in added)
    says = f"added when it was made, with neither fuse nor load: {', '.join(made.added)}"
    cure = "in their rows here fuse, load, and length where the loom has no way for them"
    found.problems.append(caution(Where(there.file, there.sheet), says, cure))


def _wire_cells(wire: SizedWire, there: Listing) -> Mapping[str, Written]:
    row, gauge = wire.wire, wire.cable.gauge
    return {
        "wire": row.label,
        "circuit": row.circuit,
        **_end("from", row.start, there),
        **_end("to", row.finish, there),
        "colour": str(row.colour) if row.colour else None,
        "gauge": gauge if wire.cable.is_awg or not gauge else f"{gauge} mm2",
        "note": row.note,
    }


def _end(heading: str, pin: Pin, there: Listing) -> Mapping[str, Written]:
    """An end in its cell, its pin in one of its own where the list has such a column."""
    own = f"{heading} pin"
    return {heading: pin.point, own: pin.pin} if own in there.letters else {heading: str(pin)}
