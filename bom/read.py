"""Reading a job book and the house rules: sheets of cells in, a `JobBook` out.

Every cell is read, whatever stands in its neighbours, and every fault carries its cell.
Names are matched without regard to case and spaces and come out in one spelling: that
of the Components sheet, else of the Loom, else the first one met.
"""

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from bom import spelling
from bom.catalogue import Catalogue
from bom.headings import Column, Record, folded, read_rows, text
from bom.house import PERCENT_KEYS, WORD_KEYS, HouseRules
from bom.net import is_earth
from bom.problem import Problem, Where, caution, error, has_errors, nearest
from bom.sheet import Book, Percent, Sheet, Value, read_book
from bom.spelling import Misspelt, fold
from bom.trade import (
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

LONG_BRANCH_MM = 3000
"""A branch longer than this is asked about: few vehicles have one (common practice)."""

COVERINGS = ("tape", "tube", "braid", "none")
EXPOSURES = ("hidden", "weather", "show")
LENGTH_UNITS = {unit: unit for unit in spelling.MM_PER_UNIT if unit.isalpha()}
LOAD_UNITS = {"w": "w", "watt": "w", "watts": "w", "a": "a", "amp": "a", "amps": "a"}
SHEETS = ("Job", "Circuits", "Loom", "Components", "Fuses", "Extras", "Labour")


def read_rules_file(path: Path) -> tuple[dict[str, Any], tuple[Problem, ...]]:
    """The figures of a `workshop.toml` as written, numbers exact; faults name their key."""
    where = Where(path.name)
    try:
        with path.open(encoding="utf-8-sig") as stream:  # Windows may put a mark before it
            figures = tomllib.loads(stream.read(), parse_float=Decimal)
    except OSError as fault:
        return {}, (error(where, f"the house rules cannot be read: {fault.strerror}"),)
    except UnicodeDecodeError:
        return {}, (error(where, "is not written in UTF-8", "save it as UTF-8"),)
    except tomllib.TOMLDecodeError as fault:
        cure = 'a rule a line, words in quotes, numbers bare: name = "Bench", volts = 12'
        return {}, (error(where, f"the house rules cannot be read: {fault}", cure),)
    problems = [
        error(
            Where(path.name, "", key), "no such house rule", nearest(key, HouseRules.model_fields)
        )
        for key in figures
        if key not in HouseRules.model_fields
    ]
    known = {key: value for key, value in figures.items() if key in HouseRules.model_fields}
    return known, tuple(problems)


def make_rules(
    figures: Mapping[str, Any], places: Mapping[str, Where], catalogue: Catalogue
) -> tuple[HouseRules, tuple[Problem, ...]]:
    """House rules from figures by key; what is not allowed is named and left at its default."""
    # yes and no are no figures, though pydantic counts them as 1 and 0
    good = {
        k: _typed(v) if isinstance(v, bool) and k not in WORD_KEYS else v
        for k, v in figures.items()
    }
    problems: list[Problem] = []
    if "gauges" in good:
        good["gauges"] = _gauge_list(good["gauges"], places["gauges"], catalogue, problems)
        if problems:
            del good["gauges"]
    words = {"end": tuple(catalogue.ends), "grouping": (*catalogue.grouping_tables, "none")}
    for key, known in words.items():
        try:
            if key in good:
                good[key] = spelling.one_word_of(str(good[key]), known, f"{key} =")
        except Misspelt as fault:
            problems.append(error(places[key], fault.says, fault.cure))
            del good[key]
    try:
        return HouseRules.model_validate(good), tuple(problems)
    except ValidationError as faults:
        for detail in faults.errors():
            key = str(detail["loc"][0])
            if good.pop(key, None) is not None:
                problems.append(_not_allowed(key, detail, places[key]))
    return HouseRules.model_validate(good), tuple(problems)


def _not_allowed(key: str, detail: Mapping[str, Any], where: Where) -> Problem:
    """What is wrong with a figure, in plain words, and what to try: a new workshop's, at least."""
    must = _must(key, detail["type"], detail.get("ctx", {}))
    typed = _typed(detail["input"])
    default = HouseRules.model_fields[key].default
    cure = f"{default}, the default" if str(default) else f'"{typed}"'
    bare = re.match(r"\d+(?:\.\d+)?(?=[^\d.,])", typed)
    if bare and "number" in must:  # `35 an hour`
        cure = bare[0]
    return error(where, f"{key} = {typed}: {must}", cure)


def _typed(value: Any) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _must(key: str, kind: str, limits: Mapping[str, Any]) -> str:
    """What a figure of the house must be; `kind` is pydantic's name of the fault."""
    match kind:
        case "greater_than":
            return f"must be above {limits['gt']}"
        case "greater_than_equal":
            return f"must be {limits['ge']} or more"
        case "less_than":
            return f"must be below {limits['lt']}"
        case "less_than_equal":
            return f"must be {limits['le']} or less"
        case "literal_error":
            return f"must be {limits['expected']}"
        case "string_type":
            return "must be words in quotes"
        case "string_pattern_mismatch" if key == "currency":
            return "must be three capital letters"
        case "string_pattern_mismatch":
            return "must be a language and a country"
    return "must be a whole number" if kind.startswith("int") else "must be a number"


def _gauge_list(
    value: Any, where: Where, catalogue: Catalogue, problems: list[Problem]
) -> tuple[str, ...]:
    """The sizes that can be read, each fault told."""
    if isinstance(value, str):
        value = re.split(r"\s*;\s*" if ";" in value else r",\s*", value)
    found = []
    for item in value if isinstance(value, list | tuple) else [value]:
        try:
            if str(item).strip():
                found.append(_house_gauge(item, catalogue))
        except Misspelt as fault:
            problems.append(error(where, fault.says, fault.cure))
    return tuple(found)


def _house_gauge(item: Any, catalogue: Catalogue) -> str:
    if isinstance(item, bool) or not isinstance(item, str | int | Decimal):
        raise Misspelt(f"'{_typed(item)}' is no cable size", 'gauges = ["1.0", "2.0"]')
    return spelling.gauge(Decimal(item) if isinstance(item, int) else item, "", catalogue)


def read_job(
    path: Path,
    base: Mapping[str, Any],
    base_file: str,
    catalogue: Catalogue,
    *,
    suggest_colours: bool = False,
) -> tuple[JobBook | None, HouseRules, tuple[Problem, ...]]:
    """Read a job book; `base` are the workshop's figures, which its Job sheet overrides.

    `suggest_colours` takes the usual colour of the circuit for a blank one, with a caution
    instead of an error.  The book is None when the file cannot be opened or has no circuits.
    """
    places = {key: Where(base_file, "", key) for key in base}
    book, problems = read_book(path)
    if book is None:
        rules, more = make_rules(base, places, catalogue)
        return None, rules, (*problems, *more)
    reader = _JobReader(book, catalogue, list(problems))
    reader.suggest_colours = suggest_colours
    details = reader.details(dict(base), places)
    rules, more = make_rules(details.figures, places, catalogue)
    reader.problems += more
    return reader.job_book(details, rules), rules, tuple(reader.problems)


class _Details:
    """What the Job sheet says: names of the job, and house rules for this job alone."""

    def __init__(self, figures: dict[str, Any], job: str) -> None:
        self.figures = figures
        self.names = {"job": job, "customer": "", "machine": ""}


class _Names:
    """One spelling for each name, the first one met."""

    def __init__(self) -> None:
        self._spelling: dict[str, str] = {}

    def one(self, name: str) -> str:
        """The spelling under which this name goes from now on."""
        return self._spelling.setdefault(fold(name), name)


class _JobReader:
    def __init__(self, book: Book, catalogue: Catalogue, problems: list[Problem]) -> None:
        self.book = book
        self.catalogue = catalogue
        self.problems = problems
        self.points = _Names()
        self.fuse_names = _Names()
        self.pins: dict[str, _Names] = {}
        self.whole = True
        self.lost = False  # the name of a point or component could not be read
        self.suggest_colours = False

    def details(self, figures: dict[str, Any], places: dict[str, Where]) -> _Details:
        """Read the Job sheet: its names, and the figures that override the workshop's."""
        details = _Details(figures, Path(self.book.file).stem)
        sheet = self.book.sheet("Job")
        if sheet is None:
            return details
        records, problems = read_rows(sheet, _JOB_COLUMNS, headless=True)
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
        if key not in (*details.names, *HouseRules.model_fields):
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
                    details.figures[key] = _figure(key, record["value"])
                    places[key] = where
            except Misspelt as fault:
                self.problems.append(error(where, fault.says, fault.cure))

    def _no_item(self, item: str, key: str, label: Where) -> None:
        close = nearest(key, ("job", "customer", "machine", *HouseRules.model_fields))
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
        components = self._components()
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

    def _circuits_sheet(self) -> Sheet | None:
        sheet = self.book.sheet("Circuits")
        if sheet is None and len(self.book.sheets) == 1:
            sheet = self.book.sheets[0]
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

    def _rows(self, name: str, columns: Sequence[Column]) -> tuple[Record, ...]:
        sheet = self.book.sheet(name)
        if sheet is None or not any(any(c is not None for c in row) for row in sheet.rows):
            return ()
        return self._sheet_rows(sheet, columns)

    def _sheet_rows(self, sheet: Sheet, columns: Sequence[Column]) -> tuple[Record, ...]:
        records, problems = read_rows(sheet, columns)
        self.problems += problems
        if not records and has_errors(problems):
            self._lose()
        return records

    def _lose(self) -> None:
        self.whole, self.lost = False, True

    # ------------------------------------------------------------------ sheets

    def _components(self) -> dict[str, Component]:
        found: dict[str, Component] = {}
        for record in self._rows("Components", self._component_columns()):
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
                load=UNREAD if "load" in record.broken else record["load"],
                tail_mm=record["tail"],
                end=record["end"],
                passes=record["passes"],
                one_of=record["one of"],
                note=record["note"],
                row=record.row,
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
        for record in self._rows("Loom", self._branch_columns()):
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

    def _wires(self, sheet: Sheet, rules: HouseRules) -> tuple[Wire, ...]:
        wires: list[Wire] = []
        labels: dict[str, str] = {}
        records = self._sheet_rows(sheet, self._wire_columns())
        if not records and not self.problems:
            self.problems.append(error(Where(sheet.file, sheet.name), "no wires on this sheet"))
        for number, record in enumerate(records, start=1):
            self.whole &= not record.broken & {"from", "to", "fuse", "load", "one of"}
            if record.broken & {"from", "to"}:
                continue
            wire = self._wire(record, number, self._read_mm(record, rules))
            wires.append(self._labelled(wire, labels))
        return tuple(wires)

    def _labelled(self, wire: Wire, labels: dict[str, str]) -> Wire:
        """The wire under a label of its own, so that a label told twice confuses nothing."""
        where = wire.row.where("wire")
        key = fold(wire.label)
        if wire.start == wire.finish and wire.start.pin:
            says = f"both ends of this wire are at {wire.start}"
            self.problems.append(error(wire.row.where("to"), says))
        if labels.setdefault(key, where.cell) == where.cell:
            return wire
        says = f"wire label '{wire.label}' is taken: it stands in {labels[key]} too"
        self.problems.append(error(where, says, f"{wire.label}a"))
        return replace(wire, label=f"{wire.label} ({where.cell})")

    def _wire(self, record: Record, number: int, length_mm: Fraction | None) -> Wire:
        fuse = NO_FUSE if "fuse" in record.broken else record["fuse"]
        return Wire(
            label=record["wire"] or f"W{number}",
            circuit=record["circuit"],
            start=self._pin(record["from"]),
            finish=self._pin(record["to"]),
            colour=self._colour(record),
            gauge=record["gauge"],
            load=UNREAD if "load" in record.broken else record["load"],
            fuse=NO_FUSE if fold(fuse) == NO_FUSE else self.fuse_names.one(fuse) or None,
            length_mm=length_mm,
            start_end=record["from end"],
            finish_end=record["to end"],
            one_of=record["one of"],
            qty=record["qty"],
            note=record["note"],
            row=record.row,
        )

    def _colour(self, record: Record) -> Colour | None:
        """The colour typed; a blank one is an error that names the usual colour."""
        if record["colour"] is not None or "colour" in record.broken:
            typed: Colour | None = record["colour"]
            return typed
        circuit = "earth" if is_earth(record["to"]) else record["circuit"]
        usual = self.catalogue.usual_colour(circuit)
        where = record.row.where("colour")
        if self.suggest_colours and usual:
            says = f"'colour' is empty: {usual} is taken for this table, and is not in the book"
            self.problems.append(caution(where, says))
            return spelling.colour(usual, self.catalogue)
        self.problems.append(error(where, "'colour' is empty", usual))
        return None

    def _pin(self, pin: Pin) -> Pin:
        point = self.points.one(pin.point)
        names = self.pins.setdefault(point, _Names())
        return Pin(point, names.one(pin.pin) if pin.pin else "")

    def _fuses(self) -> tuple[FuseRow, ...]:
        rows: dict[str, FuseRow] = {}
        for record in self._rows("Fuses", _FUSE_COLUMNS):
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
            for record in self._rows("Extras", _EXTRA_COLUMNS)
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
            for record in self._rows("Labour", _LABOUR_COLUMNS)
            if "task" not in record.broken
        )

    # ----------------------------------------------------------------- columns

    def _wire_columns(self) -> tuple[Column, ...]:
        catalogue = self.catalogue
        return (
            Column(name="wire", read=_name, also={"no": "", "label": ""}),
            Column(name="circuit", read=text, also={"function": "", "name": ""}),
            Column(name="from", read=_pin, also={"start": ""}, needed=True, must=True, blank=None),
            Column(name="to", read=_pin, also={"finish": ""}, needed=True, must=True, blank=None),
            Column(
                name="colour",
                read=lambda value, _: spelling.colour(value, catalogue),
                also={"color": "", "col": ""},
                blank=None,
            ),
            Column(
                name="gauge",
                read=lambda value, unit: spelling.gauge(value, unit, catalogue),
                also={"size": "", "csa": "", "mm2": "", "mm²": "", "awg": "awg"},
                units={"mm2": "", "awg": "awg"},
                blank=None,
            ),
            self._load_column(),
            Column(name="fuse", read=_name),
            _length_column("length", {"run": "", "len": ""}, must=False),
            self._end_column("from end"),
            self._end_column("to end"),
            _ONE_OF,
            Column(name="qty", read=lambda value, _: spelling.count(value), blank=1, also=_QTY),
            _NOTE,
        )

    def _component_columns(self) -> tuple[Column, ...]:
        return (
            Column(name="component", read=_name, also={"name": ""}, needed=True, must=True),
            Column(name="at", read=_name),
            self._load_column(),
            Column(name="tail", read=_slack, units=LENGTH_UNITS, blank=Fraction(0)),
            self._end_column("end"),
            Column(name="passes", read=text),
            _ONE_OF,
            _DOUBT,
            _NOTE,
        )

    def _branch_columns(self) -> tuple[Column, ...]:
        return (
            Column(name="from", read=_name, also={"start": ""}, needed=True, must=True),
            Column(name="to", read=_name, also={"finish": ""}, needed=True, must=True),
            _length_column("length", {"run": "", "len": ""}, must=True),
            Column(name="exposure", read=_word(EXPOSURES, "exposure"), blank="hidden"),
            Column(name="slack", read=_slack, units=LENGTH_UNITS, blank=Fraction(0)),
            Column(name="covering", read=_word(COVERINGS, "covering")),
            _DOUBT,
            _NOTE,
        )

    def _load_column(self) -> Column:
        return Column(
            name="load",
            read=lambda value, unit: spelling.load(value, unit, self.catalogue),
            also={"watts": "w", "amps": "a"},
            units=LOAD_UNITS,
            blank=None,
        )

    def _end_column(self, name: str) -> Column:
        ends = tuple(self.catalogue.ends)
        return Column(name=name, read=_word(ends, "end style"), blank=None)


def _word(words: tuple[str, ...], what: str) -> Any:
    return lambda value, _unit: spelling.one_word_of(value, words, what)


def _name(value: Value, _unit: str) -> str:
    return spelling.name_of(value)


def _pin(value: Value, _unit: str) -> Pin:
    return spelling.pin(value)


def _slack(value: Value, unit: str) -> Fraction:
    return spelling.slack_mm(value, unit)


def _length_column(name: str, also: Mapping[str, str], *, must: bool) -> Column:
    return Column(
        name=name, read=spelling.run_mm, also=also, units=LENGTH_UNITS, blank=None, must=must
    )


_JOB_COLUMNS = (
    Column(name="item", read=text, needed=True, must=True),
    Column(name="value", read=lambda value, _: value, needed=True, blank=None),
    Column(name="note", read=text, also={"notes": "", "remark": "", "remarks": ""}),
)
_QTY = {"quantity": ""}
_NOTE = Column(name="note", read=text, also={"notes": "", "remark": "", "remarks": ""})
_DOUBT = Column(
    name="doubt",
    read=spelling.percent,
    also={"doubt per cent": "%"},
    units={"%": "%", "percent": "%"},
    blank=Decimal(),
)
_ONE_OF = Column(name="one of", read=lambda value, _: spelling.one_of(value), blank=None)
_FUSE_COLUMNS = (
    Column(name="fuse", read=_name, also={"name": ""}, needed=True, must=True),
    Column(
        name="rating",
        read=lambda value, _: spelling.amps(value),
        also={"amps": ""},
        units={"a": "", "amps": ""},
        blank=None,
    ),
    Column(name="holder", read=text),
    Column(name="spares", read=lambda value, _: spelling.count_or_zero(value), blank=None),
    _NOTE,
)
_EXTRA_COLUMNS = (
    Column(name="item", read=text, needed=True, must=True),
    Column(name="qty", read=lambda value, _: spelling.quantity(value), blank=Decimal(1), also=_QTY),
    Column(name="unit", read=text, blank="each"),
    Column(
        name="price",
        read=lambda value, _: spelling.money(value),
        units=dict.fromkeys(("gbp", "eur", "usd", "£", "€", "$"), ""),
        blank=None,
    ),
    _NOTE,
)
_LABOUR_COLUMNS = (
    Column(name="task", read=text, needed=True, must=True),
    Column(name="qty", read=lambda value, _: spelling.quantity(value), blank=Decimal(1), also=_QTY),
    Column(
        name="hours",
        read=lambda value, _: spelling.quantity(value),
        units={"h": "", "each": ""},
        must=True,
        blank=None,
    ),
    _DOUBT,
    _NOTE,
)


_RULE_UNITS = {"c": "°?c", "w": "w", "volts": "v", "percent": "%", "other": "%"}
"""What may follow a figure, by the last word of its rule's key."""


def _figure(key: str, value: Value) -> Any:
    """A house rule's value as typed on the Job sheet: the bare number, or the word.

    A unit must be one of the rule's own kind; lengths are turned into the unit of the key.
    """
    if isinstance(value, Percent):
        return value.value if key in PERCENT_KEYS else value.value / 100
    typed = spelling.text_of(value)
    if isinstance(value, Decimal) and key not in WORD_KEYS:
        return value
    kind = key.rpartition("_")[2]
    if key in WORD_KEYS or key == "gauges":
        return typed
    if kind in ("mm", "m"):
        length = spelling.length_mm(typed, "", kind) / spelling.MM_PER_UNIT[kind]
        return Decimal(length.numerator) / length.denominator
    if key == "hourly_rate":
        return spelling.money(value)
    if key == "leftover_worth" and typed.endswith("%"):
        return spelling.number(typed.removesuffix("%").rstrip()) / 100
    unit = _RULE_UNITS.get(kind, "")
    match = re.fullmatch(rf"([+-]?\d+(?:[.,]\d+)?)\s*(?:{unit})?", typed.casefold())
    return spelling.number(match[1]) if match else typed


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
    )
