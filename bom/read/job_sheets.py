"""Which sheet of a job book is which list, and what its Job sheet says."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from bom.files import spelling
from bom.files.headings import Column, OwnWords, Record, TakenFor, folded, read_rows, taken_for
from bom.files.sheet import Book, Sheet
from bom.files.spelling import Misspelt, fold
from bom.read.house_rules import figure, retired
from bom.read.job_columns import SHEETS, job_columns
from bom.trade.catalogue import Catalogue
from bom.trade.house import RULES
from bom.trade.problem import Problem, Where, caution, error, has_errors, nearest

MANY_SHEETS = 50
"""In a book with more sheets those that are not read are not looked at."""


class Details:
    """What the Job sheet says: names of the job, and house rules for this job alone."""

    def __init__(self, figures: dict[str, Any], job: str) -> None:
        self.figures = figures
        self.names = {"job": job, "customer": "", "machine": ""}


class JobSheets:
    """The sheets of a job book under their columns; `problems` gathers what is wrong."""

    def __init__(
        self, book: Book, catalogue: Catalogue, problems: list[Problem], own: OwnWords
    ) -> None:
        self.book = book
        self.problems = problems
        self.columns = {name: own.on(name, columns) for name, columns in job_columns(catalogue)}

    def details(self, figures: dict[str, Any], places: dict[str, Where]) -> Details:
        """Read the Job sheet: its names, and the figures that override the workshop's."""
        details = Details(figures, Path(self.book.file).stem)
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
        self, details: Details, record: Record, places: dict[str, Where], seen: dict[str, str]
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

    def name_unread(self) -> None:
        """Tell sheets that may be meant for one that is read."""
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

    def circuits(self) -> Sheet | None:
        """The list of wires; None, and told, where there is none."""
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
        circuits = self.circuits()
        sheets = {name: self.book.sheet(name) for name in SHEETS} | {"Circuits": circuits}
        return tuple(
            taken
            for name, sheet in sheets.items()
            if sheet
            for taken in taken_for(sheet, self.columns[name])
        )

    def rows(self, name: str) -> tuple[tuple[Record, ...], bool]:
        """The rows of a sheet, and whether its list could be read; none where it is blank."""
        sheet = self.book.sheet(name)
        if sheet is None or not any(any(c is not None for c in row) for row in sheet.rows):
            return (), True
        return self.rows_of(sheet, name)

    def rows_of(self, sheet: Sheet, name: str) -> tuple[tuple[Record, ...], bool]:
        """The rows of a sheet, as if it had this name."""
        records, problems = read_rows(sheet, self.columns[name])
        self.problems += problems
        return records, bool(records) or not has_errors(problems)


def _is_circuits(sheet: Sheet, columns: Sequence[Column]) -> bool:
    """True for a list with two ends and a colour or gauge: a list of branches has none."""
    names = {taken.column for taken in taken_for(sheet, columns)}
    return {"from", "to"} <= names and bool({"colour", "gauge"} & names)
