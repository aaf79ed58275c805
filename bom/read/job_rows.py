"""The rows of a job book's sheets as what they mean: wires, branches, components, fuses.

Names are matched without regard to case and spaces and come out in one spelling: that
of the Components sheet, else of the Loom, else the first one met.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Literal, TypeAlias

from msgspec.structs import replace

from bom.files import spelling
from bom.files.headings import Record
from bom.files.sheet import Sheet
from bom.files.spelling import fold
from bom.read.job_sheets import Details, JobSheets
from bom.read.runs import LONG_BRANCH_MM, Runs, metres
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Load
from bom.trade.house import HouseRules
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
    Place,
    Wire,
)
from bom.trade.point_names import is_earth
from bom.trade.problem import Where, caution, error
from bom.trade.rows import Row

ENDS = frozenset(("from", "to", "from pin", "to pin"))


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


BlankColours: TypeAlias = Literal["asked", "usual", "left"]
"""What becomes of a blank colour: an error, the usual one with a caution, or nothing."""


class JobRows:
    """Reads the rows under the rules of the job; faults go to the problems of its sheets."""

    def __init__(
        self,
        sheets: JobSheets,
        catalogue: Catalogue,
        rules: HouseRules,
        *,
        blank_colours: BlankColours,
    ) -> None:
        self.sheets = sheets
        self.problems = sheets.problems
        self.catalogue = catalogue
        self.rules = rules
        self.blank_colours = blank_colours
        self.points = _Spellings()
        self.fuse_names = _Spellings()
        self.pins: dict[str, _Spellings] = {}
        self.whole = True
        self.lost = False  # the name of a point or component could not be read
        self.lists_read = not sheets.asked

    def job_book(self, details: Details) -> JobBook | None:
        """Read every sheet; None when there are no circuits at all."""
        circuits = self.sheets.circuits()
        components = self._components()
        fuses = self._fuses()
        branches = self._branches()
        wires = self._wires(circuits) if circuits else ()
        if circuits is None:
            return None
        if self.lost:  # a way that is not found may lead over the point that was left out
            wires = tuple(replace(w, length_mm=w.length_mm or UNREAD_MM) for w in wires)
        if not self.whole:  # the wire that names a fuse may be the one left out
            named = {wire.fuse for wire in wires}
            fuses = tuple(fuse for fuse in fuses if fuse.name in named)
        return JobBook(
            file=self.sheets.book.file,
            job=details.names["job"],
            customer=details.names["customer"],
            machine=details.names["machine"],
            wires=wires,
            branches=branches,
            components=components,
            fuses=fuses,
            extras=self._extras(),
            labour=self._labour(),
            places=self._places(),
            whole=self.whole,
            lists_read=self.lists_read,
            lists=frozenset(self.sheets.lists.sheets),
            accepts=tuple(details.accepts),
            not_read=self.sheets.lists.not_read,
            named_at=details.named_at,
        )

    def _rows(self, name: str) -> tuple[Record, ...]:
        records, readable = self.sheets.rows(name)
        if not readable:
            self._lose()
            self.lists_read = False
        return records

    def _lose(self) -> None:
        self.whole, self.lost = False, True

    def _load(self, record: Record) -> Load | None:
        """The load of a row on this machine; a lamp that is not made for its voltage is asked."""
        load: Load | None = record["load"]
        if "load" in record.broken:
            return UNREAD
        here = load and load.at(Fraction(self.rules.volts))
        if load is None or here is not None:
            return here
        made = " and ".join(spelling.plain(Decimal(float(volts))) for volts, _ in load.by_volts)
        says = f"'{load.name}' is known for {made} V, this machine has {self.rules.volts} V"
        cure = "its watts, or volts on the Job sheet"
        self.problems.append(error(record.row.where("load"), says, cure))
        return UNREAD

    def _components(self) -> dict[str, Component]:
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
                load=self._load(record),
                tail_mm=record["tail"],
                end=record["end"],
                passes=record["passes"],
                one_of=record["one of"],
                runs=record["runs"],
                note=record["note"],
                row=record.row,
                ways=record["ways"],
                doubt_percent=record["doubt"],
                face=record["face"],
                size=record["size"],
            )
        # A loom point takes a component's spelling only where it names no component itself.
        return {
            name: replace(component, at=self.points.one(component.at))
            for name, component in found.items()
        }

    def _branches(self) -> tuple[Branch, ...]:
        branches: list[Branch] = []
        seen: dict[frozenset[str], str] = {}
        records, sheet = self._rows("Loom"), self.sheets.lists.sheets.get("Loom")
        if sheet is None:
            return ()
        runs = self._runs(sheet, "Loom", records)
        for record in records:
            self.whole &= "length" not in record.broken
            if record.broken & {"from", "to"}:
                self._lose()
                continue
            start, finish = self.points.one(record["from"]), self.points.one(record["to"])
            branch = _branch(record, start, finish, self.rules)
            length = runs.mm(record) or UNREAD_MM
            if length > LONG_BRANCH_MM:
                says = f"a branch of {metres(length)} m: is that right?"
                self.problems.append(caution(record.row.where("length"), says))
            branch = replace(branch, length_mm=length)
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

    def _places(self) -> tuple[Place, ...]:
        found: dict[str, Place] = {}
        for record in self._rows("Places"):
            if record.broken:
                continue
            point = self.points.one(record["place"])
            if point in found:
                says = f"place '{point}' stands in {found[point].row.where('place').cell} too"
                self.problems.append(error(record.row.where("place"), says, "one row for it"))
                continue
            sides = (record["length"], record["width"], record["height"])
            found[point] = Place(point=point, sides=sides, note=record["note"], row=record.row)
        return tuple(found.values())

    def _runs(self, sheet: Sheet, name: str, records: Sequence[Record]) -> Runs:
        """The lengths of a list; what is wrong with them goes to the problems of its sheets."""
        return Runs(sheet, self.sheets.columns[name], records, self.rules, self.problems)

    def _wires(self, sheet: Sheet) -> tuple[Wire, ...]:
        wires: list[Wire] = []
        labels: dict[str, Row] = {}
        records, readable = self.sheets.rows_of(sheet, "Circuits")
        if not readable:
            self._lose()
        if not records and not self.problems:
            self.problems.append(error(Where(sheet.file, sheet.name), "no wires on this sheet"))
        runs = self._runs(sheet, "Circuits", records)
        for number, record in enumerate(records, start=1):
            if record.broken:
                self.whole &= not record.broken & {*ENDS, "fuse", "load", "one of"}
                if record.broken & ENDS:
                    continue
            wire = self._wire(record, number, runs.mm(record))
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

    def _wire(self, record: Record, number: int, length_mm: Fraction | None) -> Wire:
        said = record.values
        fuse = NO_FUSE if "fuse" in record.broken else said["fuse"]
        return Wire(
            label=said["wire"] or f"W{number}",
            circuit=said["circuit"],
            start=self._pin(record, "from", "from pin"),
            finish=self._pin(record, "to", "to pin"),
            colour=said["colour"] or self._colour(record),
            gauge=said["gauge"],
            load=self._load(record),
            fuse=self._fuse_name(fuse),
            length_mm=length_mm,
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
        if "colour" in record.broken or self.blank_colours == "left":
            return None
        circuit = "earth" if is_earth(record["to"]) else record["circuit"]
        usual = self.catalogue.usual_colour(circuit)
        where = record.row.where("colour")
        if self.blank_colours == "usual" and usual:
            says = f"'colour' is empty: {usual} is taken for this table, and is not in the book"
            self.problems.append(caution(where, says))
            return spelling.colour(usual, self.catalogue)
        alike = "wires without a colour; bom colours proposes one for each"
        self.problems.append(error(where, "'colour' is empty", usual, alike=alike))
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
