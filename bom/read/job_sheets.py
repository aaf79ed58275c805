"""Reading a job book: sheets of cells in, a `JobBook` out.

Every cell is read, whatever stands in its neighbours, and every fault carries its cell.
Names are matched without regard to case and spaces and come out in one spelling: that
of the Components sheet, else of the Loom, else the first one met.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from bom.files import spelling
from bom.files.headings import (
    NO_OWN_WORDS,
    Column,
    OwnWords,
    Record,
    TakenFor,
    folded,
    read_rows,
    taken_for,
)
from bom.files.sheet import Book, Sheet, read_book
from bom.files.spelling import Misspelt, fold
from bom.read.house_rules import figure, make_rules, retired
from bom.read.job_columns import SHEETS, job_columns
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Load
from bom.trade.house import RULES, HouseRules
from bom.trade.job_book import (
    NO_FUSE,
    UNREAD,
    UNREAD_MM,
    Branch,
    Colour,
    Component,
    Extra,
    FuseRow,
    JobBook,
    LabourRow,
    Pin,
    Wire,
)
from bom.trade.point_names import is_earth
from bom.trade.problem import Problem, Where, caution, error, has_errors, nearest
from bom.trade.rows import Row

MANY_SHEETS = 50
"""In a book with more sheets those that are not read are not looked at."""
SHORT_MM = 10
"""A run below this is asked about: were metres meant?"""
LONG_BRANCH_MM = 3000
"""A branch longer than this is asked about: few vehicles have one (common practice)."""
ENDS = frozenset(("from", "to", "from pin", "to pin"))


def read_job(
    path: Path,
    base: Mapping[str, Any],
    base_file: str,
    catalogue: Catalogue,
    *,
    own: OwnWords = NO_OWN_WORDS,
    suggest_colours: bool = False,
) -> tuple[JobBook | None, HouseRules, tuple[Problem, ...]]:
    """Read a job book; `base` are the workshop's figures, which its Job sheet overrides.

    `own` are the workshop's words for columns.  `suggest_colours` takes the usual colour of the
    circuit for a blank one, with a caution instead of an error.  The book is None when the file
    cannot be opened or has no circuits.
    """
    places = {key: Where(base_file, "", key) for key in base}
    book, problems = read_book(path)
    if book is None:
        rules, more = make_rules(base, places, catalogue)
        return None, rules, (*problems, *more)
    reader = _JobReader(book, catalogue, list(problems), own)
    reader.suggest_colours = suggest_colours
    details = reader.details(dict(base), places)
    rules, more = make_rules(details.figures, places, catalogue)
    reader.problems += more
    return reader.job_book(details, rules), rules, tuple(reader.problems)


def columns_taken(
    path: Path, catalogue: Catalogue, own: OwnWords
) -> tuple[tuple[TakenFor, ...], tuple[Problem, ...]]:
    """What each heading of a job book is taken for."""
    book, problems = read_book(path)
    if book is None:
        return (), problems
    reader = _JobReader(book, catalogue, list(problems), own)
    return reader.taken_for(), tuple(reader.problems)


class _Details:
    """What the Job sheet says: names of the job, and house rules for this job alone."""

    def __init__(self, figures: dict[str, Any], job: str) -> None:
        self.figures = figures
        self.names = {"job": job, "customer": "", "machine": ""}


class _Spellings:
    """One spelling for each name, the first one met."""

    def __init__(self) -> None:
        self._spelling: dict[str, str] = {}
        self._typed: dict[str, str] = {}

    def one(self, name: str) -> str:
        """The spelling under which this name goes from now on."""
        known = self._typed.get(name)
        if known is None:
            known = self._typed[name] = self._spelling.setdefault(fold(name), name)
        return known


class _JobReader:
    def __init__(
        self, book: Book, catalogue: Catalogue, problems: list[Problem], own: OwnWords
    ) -> None:
        self.book = book
        self.catalogue = catalogue
        self.problems = problems
        self.columns = {name: own.on(name, columns) for name, columns in job_columns(catalogue)}
        self.points = _Spellings()
        self.fuse_names = _Spellings()
        self.pins: dict[str, _Spellings] = {}
        self.whole = True
        self.lost = False  # the name of a point or component could not be read
        self.suggest_colours = False

    def details(self, figures: dict[str, Any], places: dict[str, Where]) -> _Details:
        """Read the Job sheet: its names, and the figures that override the workshop's."""
        details = _Details(figures, Path(self.book.file).stem)
        sheet = self.book.sheet("Job")
        if sheet is None:
            return details
        records, problems = read_rows(sheet, self.columns["Job"], headless=True)
        self.problems += problems
        seen: dict[str, str] = {}
        for record in records:
            if not record.broken and record["value"] is not None:
                self._detail(details, record, places, seen)
        return details

    def _detail(
        self, details: _Details, record: Record, places: dict[str, Where], seen: dict[str, str]
    ) -> None:
        key = fold(record["item"]).replace(" ", "_")
        label, where = record.row.where("item"), record.row.where("value")
        if key not in (*details.names, *RULES):
            self._no_item(record["item"], key, label)
        elif key in seen:
            says = f"'{key}' stands in {seen[key]} too"
            self.problems.append(error(label, says, "one row for it"))
        else:
            seen[key] = label.cell
            try:
                if key in details.names:
                    details.names[key] = spelling.text_of(record["value"])
                else:
                    details.figures[key] = figure(key, record["value"])
                    places[key] = where
            except Misspelt as fault:
                self.problems.append(error(where, fault.says, fault.cure))

    def _no_item(self, item: str, key: str, label: Where) -> None:
        if old := retired(key, label):
            self.problems.append(old)
            return
        close = nearest(key, ("job", "customer", "machine", *RULES))
        says = f"'{item}' is not an item of the Job sheet"
        if key == "note":
            return
        if close:
            self.problems.append(error(label, says, close))
        else:
            self.problems.append(caution(label, says + " and is not read"))

    def job_book(self, details: _Details, rules: HouseRules) -> JobBook | None:
        """Read every sheet; None when there are no circuits at all."""
        self._name_sheets()
        circuits = self._circuits_sheet()
        components = self._components(rules)
        fuses = self._fuses()
        branches = self._branches(rules)
        wires = self._wires(circuits, rules) if circuits else ()
        if circuits is None:
            return None
        if self.lost:  # a way that is not found may lead over the point that was left out
            wires = tuple(replace(w, length_mm=w.length_mm or UNREAD_MM) for w in wires)
        if not self.whole:  # the wire that names a fuse may be the one left out
            named = {wire.fuse for wire in wires}
            fuses = tuple(fuse for fuse in fuses if fuse.name in named)
        return JobBook(
            file=self.book.file,
            job=details.names["job"],
            customer=details.names["customer"],
            machine=details.names["machine"],
            wires=wires,
            branches=branches,
            components=components,
            fuses=fuses,
            extras=self._extras(),
            labour=self._labour(),
            whole=self.whole,
        )

    def _name_sheets(self) -> None:
        for sheet in self.book.sheets:
            known = {folded(name): name for name in SHEETS}
            close = nearest(folded(sheet.name), known)
            if folded(sheet.name) not in known and close and len(self.book.sheets) > 1:
                where = Where(sheet.file, sheet.name)
                says = f"sheet '{sheet.name}' is not read"
                self.problems.append(caution(where, says, f"the name '{known[close]}'"))
            elif folded(sheet.name) not in known and (meant := self._meant(sheet)):
                where = Where(sheet.file, sheet.name)
                says = f"this sheet has the headings of {meant} and is not read"
                self.problems.append(caution(where, says, f"the name {meant}"))

    def _meant(self, sheet: Sheet) -> str:
        """The list that a sheet under another name holds, by more headings than it must have."""
        if not 1 < len(self.book.sheets) <= MANY_SHEETS:
            return ""
        if _is_circuits(sheet, self.columns["Circuits"]):
            return ""
        found = {}
        for name in SHEETS:
            columns = self.columns[name]
            needed = {column.name for column in columns if column.needed}
            names = {taken.column for taken in taken_for(sheet, columns)} - {""}
            if self.book.sheet(name) is None and needed <= names and len(names) > len(needed):
                found[name] = len(names)
        return max(found, key=found.__getitem__, default="")

    def _circuits_sheet(self) -> Sheet | None:
        sheet = self.book.sheet("Circuits")
        if sheet is None and len(self.book.sheets) == 1:
            return self.book.sheets[0]
        if sheet is None:
            sheet = self._by_its_headings()
        if sheet is None:
            names = ", ".join(sheet.name for sheet in self.book.sheets) or "none"
            self.problems.append(
                error(
                    Where(self.book.file),
                    f"no sheet Circuits (sheets found: {names})",
                    "a sheet named Circuits with the headings from and to",
                )
            )
        return sheet

    def _by_its_headings(self) -> Sheet | None:
        """The one sheet that has the headings of a list of circuits, whatever its name."""
        columns = self.columns["Circuits"]
        lists = [sheet for sheet in self.book.sheets if _is_circuits(sheet, columns)]
        if len(lists) != 1:
            return None
        where = Where(self.book.file, lists[0].name)
        self.problems.append(caution(where, "this sheet is read as Circuits", "the name Circuits"))
        return lists[0]

    def taken_for(self) -> tuple[TakenFor, ...]:
        """Every heading of every sheet that is read, and the column it is taken for."""
        circuits = self._circuits_sheet()
        sheets = {name: self.book.sheet(name) for name in SHEETS} | {"Circuits": circuits}
        return tuple(
            taken
            for name, sheet in sheets.items()
            if sheet
            for taken in taken_for(sheet, self.columns[name])
        )

    def _rows(self, name: str) -> tuple[Record, ...]:
        sheet = self.book.sheet(name)
        if sheet is None or not any(any(c is not None for c in row) for row in sheet.rows):
            return ()
        return self._sheet_rows(sheet, name)

    def _sheet_rows(self, sheet: Sheet, name: str) -> tuple[Record, ...]:
        records, problems = read_rows(sheet, self.columns[name])
        self.problems += problems
        if not records and has_errors(problems):
            self._lose()
        return records

    def _lose(self) -> None:
        self.whole, self.lost = False, True

    # ------------------------------------------------------------------ sheets

    def _load(self, record: Record, rules: HouseRules) -> Load | None:
        """The load of a row on this machine; a lamp that is not made for its voltage is asked."""
        load: Load | None = record["load"]
        if "load" in record.broken:
            return UNREAD
        here = load and load.at(Fraction(rules.volts))
        if load is None or here is not None:
            return here
        made = " and ".join(spelling.plain(Decimal(float(volts))) for volts, _ in load.by_volts)
        says = f"'{load.name}' is known for {made} V, this machine has {rules.volts} V"
        cure = "its watts, or volts on the Job sheet"
        self.problems.append(error(record.row.where("load"), says, cure))
        return UNREAD

    def _components(self, rules: HouseRules) -> dict[str, Component]:
        found: dict[str, Component] = {}
        for record in self._rows("Components"):
            self.whole &= not record.broken & {"load", "passes", "one of"}
            if record.broken & {"component", "at"}:
                self._lose()
            if "component" in record.broken:
                continue
            name = self.points.one(record["component"])
            if name in found:
                first = found[name].row
                cell = first.where("component").cell if first else ""
                says = f"component '{name}' stands in {cell} too"
                self.problems.append(error(record.row.where("component"), says, "one row for it"))
                continue
            found[name] = Component(
                name=name,
                at=record["at"] or name,
                load=self._load(record, rules),
                tail_mm=record["tail"],
                end=record["end"],
                passes=record["passes"],
                one_of=record["one of"],
                runs=record["runs"],
                note=record["note"],
                row=record.row,
                ways=record["ways"],
                doubt_percent=record["doubt"],
            )
        # A loom point takes a component's spelling only where it names no component itself.
        return {
            name: replace(component, at=self.points.one(component.at))
            for name, component in found.items()
        }

    def _branches(self, rules: HouseRules) -> tuple[Branch, ...]:
        branches: list[Branch] = []
        seen: dict[frozenset[str], str] = {}
        for record in self._rows("Loom"):
            self.whole &= "length" not in record.broken
            if record.broken & {"from", "to"}:
                self._lose()
                continue
            start, finish = self.points.one(record["from"]), self.points.one(record["to"])
            branch = _branch(record, start, finish, rules)
            branch = replace(branch, length_mm=self._read_mm(record, rules) or UNREAD_MM)
            if self._is_new(branch, seen):
                branches.append(branch)
        return tuple(branches)

    def _is_new(self, branch: Branch, seen: dict[frozenset[str], str]) -> bool:
        where = branch.row.where("to")
        pair = frozenset((branch.start, branch.finish))
        if len(pair) == 1:
            self._lose()
            self.problems.append(error(where, f"a branch from {branch.start} to itself"))
        elif pair in seen:
            says = f"a second branch between {branch.start} and {branch.finish}"
            cure = f"one row for the two points (the other stands in {seen[pair]})"
            self.problems.append(error(where, says, cure))
        return len(pair) == 2 and seen.setdefault(pair, where.cell) == where.cell

    def _read_mm(self, record: Record, rules: HouseRules) -> Fraction | None:
        """The length of a wire or branch; what cannot be meant or read starts no more alarms."""
        length: Fraction | None = record["length"]
        if "length" in record.broken:
            return UNREAD_MM
        if length is None:
            return None
        if length.numerator < SHORT_MM * length.denominator:
            self._too_short(record.row.where("length"), length)
        if length <= LONG_BRANCH_MM and rules.longest_run_m * 1000 >= LONG_BRANCH_MM:
            return length
        where = record.row.where("length")
        metres = spelling.plain(Decimal(str(round(float(length) / 1000, 4))))
        longest = spelling.plain(rules.longest_run_m)
        if length > Fraction(rules.longest_run_m) * 1000:
            says = f"{metres} m is longer than the longest run of {longest} m"
            bare = f"{metres} mm, if millimetres were meant (house rule longest_run_m)"
            self.problems.append(error(where, says, bare))
            return UNREAD_MM
        if folded(record.row.sheet) == "loom" and length > LONG_BRANCH_MM:
            self.problems.append(caution(where, f"a branch of {metres} m: is that right?"))
        return length

    def _too_short(self, where: Where, length: Fraction) -> None:
        figure = spelling.plain(Decimal(str(round(float(length), 4))))
        says = f"{figure} mm is shorter than any run of a loom: is that right?"
        self.problems.append(caution(where, says, f"{figure} m, if metres were meant"))

    def _wires(self, sheet: Sheet, rules: HouseRules) -> tuple[Wire, ...]:
        wires: list[Wire] = []
        labels: dict[str, Row] = {}
        records = self._sheet_rows(sheet, "Circuits")
        if not records and not self.problems:
            self.problems.append(error(Where(sheet.file, sheet.name), "no wires on this sheet"))
        for number, record in enumerate(records, start=1):
            if record.broken:
                self.whole &= not record.broken & {*ENDS, "fuse", "load", "one of"}
                if record.broken & ENDS:
                    continue
            wire = self._wire(record, number, rules)
            wires.append(self._labelled(wire, labels))
        return tuple(wires)

    def _labelled(self, wire: Wire, labels: dict[str, Row]) -> Wire:
        """The wire under a label of its own, so that a label told twice confuses nothing."""
        key = fold(wire.label)
        if wire.start == wire.finish and wire.start.pin:
            says = f"both ends of this wire are at {wire.start}"
            self.problems.append(error(wire.row.where("to"), says))
        first = labels.setdefault(key, wire.row)
        if first is wire.row:
            return wire
        where = wire.row.where("wire")
        says = f"wire label '{wire.label}' is taken: it stands in {first.where('wire').cell} too"
        self.problems.append(error(where, says, f"{wire.label}a"))
        return replace(wire, label=f"{wire.label} ({where.cell})")

    def _wire(self, record: Record, number: int, rules: HouseRules) -> Wire:
        said = record.values
        fuse = NO_FUSE if "fuse" in record.broken else said["fuse"]
        return Wire(
            label=said["wire"] or f"W{number}",
            circuit=said["circuit"],
            start=self._pin(record, "from", "from pin"),
            finish=self._pin(record, "to", "to pin"),
            colour=said["colour"] or self._colour(record),
            gauge=said["gauge"],
            load=self._load(record, rules),
            fuse=self._fuse_name(fuse),
            length_mm=self._read_mm(record, rules),
            start_end=said["from end"],
            finish_end=said["to end"],
            one_of=said["one of"],
            qty=said["qty"],
            runs=said["runs"],
            note=said["note"],
            row=record.row,
        )

    def _fuse_name(self, typed: str) -> str | None:
        if not typed:
            return None
        return NO_FUSE if fold(typed) == NO_FUSE else self.fuse_names.one(typed)

    def _colour(self, record: Record) -> Colour | None:
        """What stands in for a colour that is not typed: a blank is told with the usual one."""
        if "colour" in record.broken:
            return None
        circuit = "earth" if is_earth(record["to"]) else record["circuit"]
        usual = self.catalogue.usual_colour(circuit)
        where = record.row.where("colour")
        if self.suggest_colours and usual:
            says = f"'colour' is empty: {usual} is taken for this table, and is not in the book"
            self.problems.append(caution(where, says))
            return spelling.colour(usual, self.catalogue)
        self.problems.append(error(where, "'colour' is empty", usual))
        return None

    def _pin(self, record: Record, side: str, beside: str) -> Pin:
        """The end of a wire, its pin behind a colon or in a column of its own, `beside`."""
        pin: Pin = record.values[side]
        apart = record.values[beside]
        if apart and pin.pin:
            where = record.row.where(beside)
            says = f"a second pin '{apart}': '{pin}' names one already"
            self.problems.append(error(where, says, "one of the two"))
        point, name = self.points.one(pin.point), pin.pin or apart
        names = self.pins.get(point)
        if names is None:
            names = self.pins[point] = _Spellings()
        name = names.one(name) if name else ""
        return pin if point is pin.point and name is pin.pin else Pin(point, name)

    def _fuses(self) -> tuple[FuseRow, ...]:
        rows: dict[str, FuseRow] = {}
        for record in self._rows("Fuses"):
            if "fuse" in record.broken:
                continue
            name = fold(record["fuse"])
            if name in rows:
                says = f"fuse '{record['fuse']}' has a row already"
                cure = f"one row a fuse (the other is {rows[name].row.where('fuse').cell})"
                self.problems.append(error(record.row.where("fuse"), says, cure))
                continue
            rows[name] = FuseRow(
                name=self.fuse_names.one(record["fuse"]),
                rating=record["rating"],
                holder=fold(record["holder"]),
                spares=record["spares"],
                row=record.row,
            )
        return tuple(rows.values())

    def _extras(self) -> tuple[Extra, ...]:
        return tuple(
            Extra(
                item=record["item"],
                qty=record["qty"],
                unit=record["unit"],
                price=record["price"],
                row=record.row,
            )
            for record in self._rows("Extras")
            if "item" not in record.broken
        )

    def _labour(self) -> tuple[LabourRow, ...]:
        return tuple(
            LabourRow(
                task=record["task"],
                qty=record["qty"],
                hours=record["hours"],
                row=record.row,
                doubt_percent=record["doubt"],
            )
            for record in self._rows("Labour")
            if "task" not in record.broken
        )


def _is_circuits(sheet: Sheet, columns: Sequence[Column]) -> bool:
    """True for a list with two ends and a colour or gauge: a list of branches has none."""
    names = {taken.column for taken in taken_for(sheet, columns)}
    return {"from", "to"} <= names and bool({"colour", "gauge"} & names)


def _branch(record: Record, start: str, finish: str, rules: HouseRules) -> Branch:
    by_exposure = {
        "hidden": rules.cover_hidden,
        "weather": rules.cover_weather,
        "show": rules.cover_show,
    }
    return Branch(
        start=start,
        finish=finish,
        length_mm=record["length"],
        exposure=record["exposure"],
        slack_mm=record["slack"],
        covering=record["covering"] or by_exposure[record["exposure"]],
        row=record.row,
        doubt_percent=record["doubt"],
        ambient_c=record["ambient"],
    )
