"""Job books and workshops for the tests, made from rows."""

import io
import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from xlsxwriter import Workbook

from bom.job import Job, open_job
from bom.show.job_json import check_out, takeoff_out
from bom.trade.job_book import JobBook

Rows = Sequence[Sequence[Any]]

WIRES = (
    *("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse", "one of", "length"),
    *("qty", "from end", "to end"),
)
"""Headings of the Circuits sheet of a machine that is told in lines, from column A on."""

LISTS = {
    "with": ("Components", ("component", "load", "passes", "one of", "end", "ways", "at", "tail")),
    "fuses": ("Fuses", ("fuse", "rating", "holder", "spares")),
    "loom": ("Loom", ("from", "to", "length", "covering", "exposure", "slack")),
    "job": ("Job", ("item", "value")),
}
"""Its other sheets with their headings, by the word that begins their lines."""


def book(folder: Path, name: str = "job.xlsx", **sheets: Rows) -> Path:
    """Write a book with one sheet for each keyword, in order, and return its path."""
    path, told = folder / name, repr(sheets)
    path.parent.mkdir(parents=True, exist_ok=True)
    if told not in _WRITTEN:
        _WRITTEN[told] = _bytes(sheets)
    path.write_bytes(_WRITTEN[told])
    return path


_WRITTEN: dict[str, bytes] = {}
"""By what is in them: the same few books are asked for again and again."""


def _bytes(sheets: Mapping[str, Rows]) -> bytes:
    stream = io.BytesIO()
    made = Workbook(stream, {"in_memory": True, "default_date_format": "yyyy-mm-dd"})
    for title, rows in sheets.items():
        sheet = made.add_worksheet(title)
        sheet.add_write_handler(str, _text)
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
    made.close()
    return stream.getvalue()


def _text(sheet: Any, row: int, column: int, text: str, *_: object) -> int | None:
    """An error is the result of a formula; a formula of the owner's was never calculated."""
    if text.startswith("#"):
        return int(sheet.write_formula(row, column, "=NA()", None, text))
    if text.startswith("="):
        return int(sheet.write_formula(row, column, text, None, ""))
    return None  # written as it is


def checked(path: Path) -> dict[str, Any]:
    """The answer of `bom check` as data."""
    return check_out(open_job(path))


def job_book(**given: Any) -> JobBook:
    """A book that was read, with nothing in it but what is given."""
    blank: dict[str, Any] = {"file": "job.xlsx", "job": "job", "customer": "", "machine": ""}
    blank |= dict.fromkeys(("wires", "branches", "fuses", "extras", "labour"), ())
    return JobBook(**blank | {"components": {}, "whole": True} | given)


def parts(job: Job) -> dict[str, int]:
    """Quantities of the take-off by item, cable left out; the job must have no errors."""
    assert job.takeoff, [str(problem) for problem in job.problems]
    needs = takeoff_out(job)["needs"]
    return {need["item"]: need["quantity"] for need in needs if need["kind"] != "cable"}


def wire(answer: Mapping[str, Any], label: str) -> dict[str, Any]:
    """The entry of one wire."""
    found: dict[str, Any] = next(row for row in answer["wires"] if row["wire"] == label)
    return found


def says(answer: Mapping[str, Any], level: str = "") -> list[tuple[str, str, str]]:
    """Problems as (sheet, cell, sentence), of one level or of both."""
    return [
        (p["sheet"], p["cell"], p["says"])
        for p in answer["problems"]
        if p["file"] and (not level or p["level"] == level)
    ]


def amps(answer: dict[str, Any]) -> dict[str, float]:
    """Amps by wire, to four decimals."""
    return {row["wire"]: round(row["amps"], 4) for row in answer["wires"]}


def fuses_of(answer: dict[str, Any]) -> dict[str, float | None]:
    """Fuse ratings by wire."""
    return {row["wire"]: row["fuse"] for row in answer["wires"]}


# --------------------------------------------------------------- a machine told in lines


def machines(text: str) -> pytest.MarkDecorator:
    """One test for each machine of a text, called by its first line; blank lines part them."""
    told = [block.strip() for block in re.split(r"\n\s*\n", text)]
    return pytest.mark.parametrize("told", told, ids=lambda block: block.partition("\n")[0])


def assert_told(
    folder: Path, told: str, columns: str = "load, fuse, one of, qty", **cells: Any
) -> None:
    """Make the machine of some lines, and find in its job what the lines say of it.

    The first line is a sentence.  `horn: battery:+ > horn:1 | 5 A | main = 5 A, fuse 7.5` is the
    next wire, red and 1 m long, of the circuit `horn`, with cells under `columns` or under a
    heading (`qty=2`), and its amps, fuse (`no fuse`), `rated 15` or `1.0 mm2`.  `with`, `fuses`,
    `loom` and `job` list what is on those sheets; `parts` all that is taken off but cable (or
    `nothing`), `some parts` some of it; `says` where alone some words are said; `silent at` and
    `silent on` are cells and words without a problem.  What follows a # is for the reader.
    """
    sheets, found = sketch(told, columns, **cells)
    job = open_job(book(folder, **sheets))
    answer = check_out(job)
    assert found
    for of, what in found:
        if of.isdigit():
            _wire_is(wire(answer, of), what.split(", "))
        elif of.endswith("parts"):
            counts = {item: int(n) for n, item in re.findall(r"(\d+) ([^;]+)", what)}
            there = parts(job)
            assert counts == (there if of == "parts" else {i: there.get(i, 0) for i in counts})
        else:
            _problems_are(answer["problems"], of, what)


def sketch(
    told: str, columns: str = "load, fuse, one of, qty", **cells: Any
) -> tuple[dict[str, Any], list[tuple[str, str]]]:
    """The sheets of a machine told in lines, and of what the lines say what."""
    sheets: dict[str, Any] = {"Circuits": [WIRES]}
    found = []
    for line in (line.partition("#")[0].strip() for line in told.splitlines()[1:]):
        of, _, rest = line.partition(": ")
        if of in LISTS:
            title, heads = LISTS[of]
            between = "[|>]" if of == "loom" else "[|]"
            rows = [_row(heads, re.split(between, row), {}) for row in rest.split(";")]
            sheets.setdefault(title, [heads]).extend(rows)
        elif of in ("parts", "some parts", "says", "silent at", "silent on"):
            found.append((of, rest))
        elif line:
            row, _, is_so = line.partition(" = ")
            label = str(len(sheets["Circuits"]))
            sheets["Circuits"].append(_wire_row(label, row, columns, cells))
            found += [(label, is_so)] if is_so else []
    return sheets, found


def _wire_row(label: str, row: str, columns: str, cells: Mapping[str, Any]) -> list[Any]:
    circuit, colon, rest = row.partition(": ")
    ends, *typed = (rest if colon else row).split("|")
    known = {"wire": label, "circuit": circuit if colon else None, "colour": "red", "length": 1}
    start, finish = ends.split(" > ")
    return _row(("from", "to", *columns.split(", ")), [start, finish, *typed], {**known, **cells})


def _row(heads: Sequence[str], typed: Sequence[str], known: Mapping[str, Any]) -> list[Any]:
    """A row of a sheet: each cell under the next heading, or under the one that it names."""
    cells, order = dict(known), iter(heads)
    for cell in map(str.strip, typed):
        head, named, value = cell.partition("=")
        if not named:
            head, value = next(order), cell
        if named or cell:
            cells[head] = value
    sheet = WIRES if "wire" in known else heads
    assert set(cells) <= set(sheet)
    return [cells.get(head) for head in sheet]


def _wire_is(entry: Mapping[str, Any], found: Sequence[str]) -> None:
    for what in found:
        figure, _, unit = what.rpartition(" ")
        if unit == "A":
            assert round(entry["amps"], 4) == round(float(Fraction(figure)), 4), entry
        elif unit == "mm2":
            assert entry["gauge"] == figure, entry
        elif figure == "rated":
            assert entry["rated_amps"] == float(unit), entry
        else:
            assert entry["fuse"] == (None if what == "no fuse" else float(unit)), entry


def _problems_are(problems: Sequence[Mapping[str, Any]], of: str, what: str) -> None:
    """What is said: `error H2: words`, at `Sheet!cell`; and what is not."""
    told = [
        (p["level"], f"{p['sheet']}!{p['cell']}", f"{p['level']}: {p['says']}; {p['try']}")
        for p in problems
    ]
    if of == "silent on":
        assert not [text for _, _, text in told if any(w in text for w in what.split("; "))]
    elif of == "silent at":
        places = [at if "!" in at else f"Circuits!{at}" for at in what.split()]
        at = "|".join(place + r"\d*" * place[-1].isalpha() for place in places)
        assert not [cell for _, cell, _ in told if re.fullmatch(at, cell)]
    else:
        place, _, words = what.partition(": ")
        *level, cell = place.split()
        cell = cell if "!" in cell else f"Circuits!{cell}"
        where = [(lv, at) for lv, at, text in told if words in text and (words or at == cell)]
        assert where and {at for _, at in where} == {cell} and {lv for lv, _ in where} >= set(level)
