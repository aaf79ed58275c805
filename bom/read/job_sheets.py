"""Which sheet of a job book is which list, and what its Job sheet says."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from bom.files import spelling
from bom.files.headings import OwnWords, Record, TakenFor, read_rows, taken_for
from bom.files.sheet import Book, Sheet, Value
from bom.files.spelling import Misspelt, fold
from bom.read.acceptances import acceptance
from bom.read.house_rules import figure, retired
from bom.read.job_columns import SHEETS, job_columns
from bom.read.which_sheet import NAMES, which_sheets
from bom.trade.accept import Accept
from bom.trade.catalogue import Catalogue
from bom.trade.house import RULES
from bom.trade.problem import Problem, Where, caution, error, has_errors, nearest


class _JobItem(NamedTuple):
    """What a row of the Job sheet says, or a rule that is set for one run; with its places."""

    name: str
    value: Value
    label: Where
    where: Where

    @property
    def key(self) -> str:
        """As house rules are called."""
        return _key(self.name)


class Details:
    """What the Job sheet says: names of the job, and house rules for this job alone."""

    def __init__(self, figures: dict[str, Any], job: str) -> None:
        self.figures = figures
        self.names = dict.fromkeys(NAMES, "") | {"job": job}
        self.named_at: Where | None = None
        self.accepts: list[Accept] = []


class JobSheets:
    """The sheets of a job book under their columns; `problems` gathers what is wrong."""

    def __init__(
        self, book: Book, catalogue: Catalogue, problems: list[Problem], own: OwnWords
    ) -> None:
        self.book = book
        self.problems = problems
        self.columns = {name: own.on(name, columns) for name, columns in job_columns(catalogue)}
        self.lists, found = which_sheets(book, self.columns)
        self.problems += found
        self.asked = has_errors(found)

    def details(
        self, figures: dict[str, Any], places: dict[str, Where], sets: Sequence[str] = ()
    ) -> Details:
        """Read the Job sheet: its names, and the figures that override the workshop's.

        `sets`, as `volts=12`, override both for this run.
        """
        details = Details(figures, Path(self.book.file).stem)
        for items in (self._job_rows(), self._set_for_this_run(sets)):
            seen: dict[str, Where] = {}
            for item in items:
                self._detail(details, item, places, seen)
        return details

    def _job_rows(self) -> list[_JobItem]:
        sheet = self.lists.sheets.get("Job")
        if sheet is None:
            return []
        records, problems = read_rows(sheet, self.columns["Job"], headless=True)
        self.problems += (*problems, *_empty_twins(records))
        return [
            _JobItem(r["item"], r["value"], r.row.where("item"), r.row.where("value"))
            for r in records
            if not r.broken and r["value"] is not None
        ]

    def _set_for_this_run(self, sets: Sequence[str]) -> Iterator[_JobItem]:
        for typed in sets:
            name, equals, value = typed.partition("=")
            where = Where(f"--set {typed}")
            if equals:
                yield _JobItem(name.strip(), value.strip(), where, where)
            else:
                says = "a rule and its value are wanted, with = between them"
                self.problems.append(error(where, says, f"--set {name.strip() or 'volts'}=VALUE"))

    def _detail(
        self, details: Details, item: _JobItem, places: dict[str, Where], seen: dict[str, Where]
    ) -> None:
        key = item.key
        if key == "accept":
            self._accept(details, item)
        elif key not in (*details.names, *RULES):
            self._no_item(item)
        elif key in seen:
            says = f"'{key}' stands in {seen[key].cell or seen[key]} too"
            cure = "one row for it" if item.label.sheet else "one of the two"
            self.problems.append(error(item.label, says, cure))
        else:
            seen[key] = item.label
            try:
                if key in details.names:
                    details.names[key] = spelling.text_of(item.value)
                    details.named_at = item.where if key == "job" else details.named_at
                else:
                    details.figures[key] = figure(key, item.value)
                    places[key] = item.where
            except Misspelt as fault:
                self.problems.append(error(item.where, fault.says, fault.cure))

    def _accept(self, details: Details, item: _JobItem) -> None:
        """A row that accepts what is told of some cells; sheets answer to the list's name too."""
        every = [(name, Where(s.file, s.name)) for name, s in self.lists.sheets.items()]
        every += [(s.name, Where(s.file, s.name)) for s in self.book.sheets]
        places = {fold(word): place for name, place in every for word in (name, str(place))}
        try:
            text = spelling.text_of(item.value)
            details.accepts.append(acceptance(text, places, item.where))
        except Misspelt as fault:
            self.problems.append(error(item.where, fault.says, fault.cure))

    def _no_item(self, item: _JobItem) -> None:
        if old := retired(item.key, item.label):
            self.problems.append(old)
            return
        on_the_sheet = bool(item.label.sheet)
        if on_the_sheet and item.key == "note":
            return
        close = nearest(item.key, (*NAMES, "accept", *RULES))
        says = f"'{item.name}' is not an item of the Job sheet"
        if close or not on_the_sheet:
            self.problems.append(error(item.label, says, close or _SUCH_AS))
        else:
            self.problems.append(caution(item.label, says + " and is not read"))

    def circuits(self) -> Sheet | None:
        """The list of wires; None, and told, where there is none."""
        sheet = self.lists.sheets.get("Circuits")
        if sheet is None and not self.asked:
            names = ", ".join(sheet.name for sheet in self.book.sheets) or "none"
            self.problems.append(
                error(
                    Where(self.book.file),
                    f"no sheet has the headings of Circuits (sheets found: {names})",
                    "a sheet named Circuits with the headings from and to",
                    cause=True,
                )
            )
        return sheet

    def taken_for(self) -> tuple[TakenFor, ...]:
        """Every heading of every sheet that is read, and the column it is taken for."""
        self.circuits()
        return tuple(
            taken
            for name in SHEETS
            if (sheet := self.lists.sheets.get(name))
            for taken in taken_for(sheet, self.columns[name])
        )

    def rows(self, name: str) -> tuple[tuple[Record, ...], bool]:
        """The rows of a sheet, and whether its list could be read; none where it is blank."""
        sheet = self.lists.sheets.get(name)
        if sheet is None or not any(any(c is not None for c in row) for row in sheet.rows):
            return (), True
        return self.rows_of(sheet, name)

    def rows_of(self, sheet: Sheet, name: str) -> tuple[tuple[Record, ...], bool]:
        """The rows of a sheet, as if it had this name."""
        records, problems = read_rows(sheet, self.columns[name])
        self.problems += problems
        return records, bool(records) or not has_errors(problems)


_SUCH_AS = "--set volts=6, or another rule of workshop.toml"


def _key(name: str) -> str:
    return fold(name).replace(" ", "_")


def _empty_twins(records: Sequence[Record]) -> Iterator[Problem]:
    """Empty rows of what stands in another row too: one of the two is overlooked some day."""
    read = [r for r in records if not r.broken and _key(r["item"]) in (*NAMES, *RULES)]
    the_other = {_key(r["item"]): r for r in sorted(read, key=lambda r: r["value"] is not None)}
    for record in read:
        key = _key(record["item"])
        other = the_other[key]
        if record["value"] is None and record is not other:
            says = f"'{key}' stands in {other.row.where('item').cell} too, and is empty here"
            yield caution(record.row.where("item"), says, "one row for it")
