"""Books built cell by cell from anything at all: read without harm, whatever stands where.

The strategies draw a cell from all that a spreadsheet can hold: text of every kind of letter and
mark, numbers of any size, units, formulas, errors, dates, truths.  A book is one sheet of such
cells, under the headings that are read or under any, beside sheets that are in order.
"""

import csv
import datetime
import io
import re
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import odf.opendocument
import odf.table
import odf.text
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.files.sheet import column_number
from bom.job import find_workshop
from bom.read.all_columns import all_columns
from bom.read.answers import HEADS
from bom.trade.catalogue_files import load_catalogue
from bom.trade.problem import Problem
from bom.workshop.shelf_requests import count, hold, issue, receive, release
from bom.workshop.stockroom import How, Request, book, undo
from tests.bench import hostile
from tests.bench.yardstick import too_long
from tests.slow import examples
from tests.stockrooms import loom, shop
from tests.within import bom

DONE = ("job", "done", "kind", "base", "planned", "used", "spoilt", "unit")
CATALOGUE, _ = load_catalogue()
HEADINGS = {
    name: tuple(column.name for column in columns)
    for name, columns in all_columns(CATALOGUE).items()
}
USED = ("kind", "item", "gauge", "colour", "unit", "planned", "used", "spoilt", "counted", "path")
ORDER = ("supplier", "item", "sold as", "pack", "packs", "price")
OFFER = ("description", "part no", "price", "pack", "unit")

Grid = Mapping[str, Sequence[Sequence[Any]]]


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula with the result that is stored beside it; None: never calculated."""

    typed: str
    result: Any


@dataclass(frozen=True, slots=True)
class InPercent:
    """A number whose cell shows per cent."""

    number: float


# --------------------------------------------------------------------------------- cells

MARKS = ("\u202e", "\u200f", "\u2066", "\ufeff", "\u200b", "\x07", "\x1b[31m", "\t", "\r", "\n")
UNITS = ("", " ", "m", " mm", " W", " A", " AWG", " mm2", " furlong", '"', " ft 3 in", " %", " h")
WORDS = (
    *("red", "blue/white", "RDBU", "1.0", "18 AWG", "5 W", "none", "battery:+", "lamp:1", "earth"),
    *("each", "metre", "pack", "reel", "tape", "hidden", "total", "from", "yes", "cable", "turn:"),
    *("30 > 87, 87 > 30", "2026-11-25 10:00:00", "count", "1.5 m set aside", "job", "tax_percent"),
)
FORMULAS = ("=1+1", "=HYPERLINK(1)", "=A1", "=SUM(A:A)", '=CMD("x")')
ERRORS = ("#N/A", "#REF!", "#DIV/0!", "#NAME?")

any_text = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
typed_numbers = st.builds(
    lambda number, unit: f"{number}{unit}",
    st.integers() | st.floats() | st.decimals(),
    st.sampled_from(UNITS),
)
texts = st.one_of(
    st.sampled_from(WORDS),
    any_text,
    typed_numbers,
    st.builds(lambda mark, word: mark + word, st.sampled_from(MARKS), st.sampled_from(WORDS)),
    st.builds(lambda sign, word: sign + word, st.sampled_from("=+-@'"), any_text),
    st.sampled_from(("x" * 40_000, "9" * 400, "a:b:c", "/", "../../etc", "%s%n", "{0}")),
)
numbers = st.one_of(
    st.integers(-5, 50),
    st.floats(),
    st.sampled_from((1e308, -1e-308, 10**15, 0.1 + 0.2, float("nan"), float("-inf"))),
)
results = st.one_of(st.none(), numbers, st.sampled_from(WORDS), st.sampled_from(ERRORS))
anything = st.one_of(
    st.none(),
    texts,
    numbers,
    st.booleans(),
    st.datetimes() | st.dates() | st.times(),
    st.builds(InPercent, st.floats(-10, 1e9)),
    st.builds(Formula, st.sampled_from(FORMULAS), results),
    st.builds(Formula, st.just("=NA()"), st.sampled_from(ERRORS)),
)


@st.composite
def sheets(draw: st.DrawFn, headings: Sequence[str]) -> list[list[Any]]:
    """Rows of anything under the real headings, some of them, or any; at times under a title."""
    heads: list[Any] = list(headings)
    kind = draw(st.sampled_from(("real", "real", "shuffled", "some other", "any")))
    if kind == "shuffled":
        heads = draw(st.permutations(heads))
    elif kind == "some other":
        heads[draw(st.integers(0, len(heads) - 1))] = draw(anything)
        heads.insert(draw(st.integers(0, len(heads))), draw(st.sampled_from(headings)))
    elif kind == "any":
        heads = draw(st.lists(anything | st.sampled_from(headings), max_size=8))
    width = len(heads) + draw(st.integers(0, 1))
    rows = draw(st.lists(st.lists(anything, max_size=width), max_size=4))
    above: list[list[Any]] = draw(st.sampled_from(([], [["a list"]], [[], ["of", "2026"]])))
    return [*above, heads, *rows]


# ------------------------------------------------------------------------------- writers

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def shown(value: Any) -> str:
    """A cell as a text file has it."""
    if value is None:
        return ""
    if isinstance(value, Formula):
        return shown(value.result)
    if isinstance(value, InPercent):
        return f"{value.number * 100} %"
    return str(value)


def as_xlsx(grid: Grid) -> bytes:
    """By XlsxWriter; infinities become errors, as no spreadsheet stores them."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True, "nan_inf_to_errors": True}) as made:
        looks = {form: made.add_format({"num_format": form}) for form in ("0%", "yyyy-mm-dd")}
        for title, rows in grid.items():
            sheet = made.add_worksheet(title)
            for number, cells in enumerate(rows):
                for column, value in enumerate(cells):
                    _put(sheet, (number, column), value, looks)
    return out.getvalue()


def _put(sheet: Any, at: tuple[int, int], value: Any, looks: Mapping[str, Any]) -> None:
    if isinstance(value, Formula):
        sheet.write_formula(*at, value.typed, None, "" if value.result is None else value.result)
    elif isinstance(value, InPercent):
        sheet.write_number(*at, value.number, looks["0%"])
    elif isinstance(value, bool):
        sheet.write_boolean(*at, value)
    elif isinstance(value, str):
        sheet.write_string(*at, value[:32_767])
    elif isinstance(value, datetime.date | datetime.time):
        if not isinstance(value, datetime.date) or value.year >= 1900:  # no serial before that
            sheet.write_datetime(*at, value, looks["yyyy-mm-dd"])
    elif value is not None:
        sheet.write_number(*at, min(max(value, -1e308), 1e308))


def as_ods(grid: Grid) -> bytes:
    """By odfpy, which writes what XML cannot hold as it is: that is taken out."""
    made = odf.opendocument.OpenDocumentSpreadsheet()
    for title, rows in grid.items():
        table = odf.table.Table(name=title)
        for cells in rows:
            row = odf.table.TableRow()
            for value in cells:
                row.addElement(_ods_cell(value))
            table.addElement(row)
        made.spreadsheet.addElement(table)
    out = io.BytesIO()
    made.write(out)
    return out.getvalue()


def _ods_cell(value: Any) -> Any:
    about: dict[str, Any] = {}
    if isinstance(value, Formula):
        about["formula"], value = f"of:{value.typed}", value.result
    if isinstance(value, InPercent):
        about |= {"valuetype": "percentage", "value": value.number}
    elif isinstance(value, bool):
        about |= {"valuetype": "boolean", "booleanvalue": str(value).lower()}
    elif isinstance(value, datetime.date):
        about |= {"valuetype": "date", "datevalue": value.isoformat()}
    elif isinstance(value, datetime.time):
        about |= {"valuetype": "time", "timevalue": value.strftime("PT%HH%MM%SS")}
    elif isinstance(value, int | float):
        about |= {"valuetype": "float", "value": value}
    cell = odf.table.TableCell(**about)
    if value is not None:
        cell.addElement(odf.text.P(text=_NOT_XML.sub("", shown(value))))
    return cell


def as_csv(rows: Sequence[Sequence[Any]]) -> bytes:
    """As a program writes it; a zero byte would refuse the whole."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows([shown(cell).replace("\0", "") for cell in row] for row in rows)
    return out.getvalue().encode()


def written(folder: Path, ending: str, name: str, grid: Grid) -> Path:
    """The book in its folder; of a lone `.csv` the first sheet, of a folder one for each."""
    path = folder / f"{name}{ending}"
    if ending == "":
        path.mkdir()
        for title, rows in grid.items():
            (path / f"{title}.csv").write_bytes(as_csv(rows))
    elif ending == ".csv":
        path.write_bytes(as_csv(next(iter(grid.values()))))
    else:
        path.write_bytes((as_xlsx if ending == ".xlsx" else as_ods)(grid))
    return path


def contents(folder: Path) -> dict[str, bytes]:
    """Every file by its path, but the locks, which stay."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.suffix != ".lock"
    }


# ------------------------------------------------------------------------------- reading

CIRCUITS: Sequence[Sequence[Any]] = (
    HEADINGS["Circuits"],
    ("1", "lamps", "battery:+", None, "lamp:1", None, "red", "1.0"),
)
BOOKS: Mapping[str, tuple[Mapping[str, Sequence[str]], Callable[[Path], Sequence[Problem]]]] = {
    "job": (
        {n: HEADINGS[n] for n in ("Circuits", "Job", "Loom", "Components", "Fuses", "Extras")}
        | {"Labour": HEADINGS["Labour"]},
        hostile.as_job,
    ),
    "stock": ({n: HEADINGS[n] for n in ("Drawer", "Cable", "Moves")}, hostile.as_stock),
    "prices": ({"Prices": HEADINGS["Prices"]}, hostile.as_prices),
    "suppliers": ({"Suppliers": HEADINGS["Suppliers"]}, hostile.as_prices),
    "order": ({"Order": ORDER}, hostile.as_order),
    "list": ({"Sheet1": OFFER}, hostile.as_a_suppliers_list),
    "used": (
        {"Used": USED, "Labour": ("task", "hours"), "Job": ("item", "value")},
        hostile.as_used,
    ),
    "done": ({"Done": DONE}, hostile.as_done),
    "answers": ({"answers": HEADS}, hostile.as_answers),
}
"""By book: its sheets with their headings, and how it is read."""

ENDINGS = (".xlsx", ".ods", ".csv", "")


@st.composite
def grids(draw: st.DrawFn, which: str) -> dict[str, list[list[Any]]]:
    """A book of which one sheet holds anything, and the others their headings."""
    known = BOOKS[which][0]
    chosen = draw(st.sampled_from(list(known)))
    others = {title: [list(heads)] for title, heads in known.items()}
    if which == "job":
        others["Circuits"] = [list(row) for row in CIRCUITS]
    mine = {chosen: draw(sheets(known[chosen]))}
    return mine | {title: rows for title, rows in others.items() if title != chosen}


def is_left_alone(which: str, ending: str, grid: Grid) -> bool:
    """True where no file is changed; read in 2 s, each problem with its words and its place."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "workshop.toml").write_text("tax_percent = 20\n")
        path = written(folder, ending, "book", grid)
        if ending == ".csv":  # it is read as whichever sheet is looked for
            grid = dict([next(iter(grid.items()))])
        before = contents(folder)
        begun = time.process_time()
        problems = BOOKS[which][1](path)
        assert not too_long(time.process_time() - begun, hostile.MOST_CPU_S)
        hostile.told(problems, path.name)
        for problem in problems:
            lies_in(problem, grid, path.name)
        return contents(folder) == before


def lies_in(problem: Problem, grid: Grid, file: str) -> None:
    """The cell of a problem of that file is one of the sheet's own, or A1."""
    where = problem.where
    if where.file.partition("/")[0] != file or not where.cell or where.cell == "A1":
        return
    rows = next((rows for title, rows in grid.items() if title == where.sheet), None)
    rows = next(iter(grid.values())) if rows is None else rows
    found = re.fullmatch("([A-Z]+)([0-9]+)", where.cell)
    assert found, problem
    assert (
        1 <= int(found[2]) <= sum(shown(cell).count("\n") for r in rows for cell in r) + len(rows)
    )
    assert column_number(found[1]) < max(map(len, rows)), problem


def test_an_error_value_for_the_name_of_a_done_job_is_told(tmp_path: Path) -> None:
    """Found by the law below: the name that could not be read was compared with others."""
    (tmp_path / "workshop.toml").write_text("tax_percent = 20\n")
    rows = [DONE, ("#N/A", "2026-11-25", "cable", 1, 1, 1, 0, "m")]
    (tmp_path / "done.csv").write_bytes(as_csv(rows))
    done = bom("learn", cwd=tmp_path)
    assert done.returncode == 1
    assert "A2" in done.stderr and "Traceback" not in done.stderr


def assert_holds(count: int, which: str, law: Callable[[str, str, Grid], bool], *of: str) -> None:
    """A law for books of a kind: of that kind or command, and in that form."""
    what, ending = of

    @settings(max_examples=count)
    @given(grid=grids(which))
    def held(grid: Grid) -> None:
        assert law(what, ending, grid)

    held()


@examples(4, 100)
@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("which", BOOKS)
def test_a_book_of_anything_is_read(which: str, ending: str, count: int) -> None:
    """Of each kind in each form."""
    assert_holds(count, which, is_left_alone, which, ending)


def test_a_list_of_one_blank_cell_has_no_headings(tmp_path: Path) -> None:
    """Found by the law below: nothing is shown for its headings, and the check says why."""
    (tmp_path / "job.csv").write_text('""\n')
    assert bom("check", "job.csv", "--columns", cwd=tmp_path).returncode == 0
    done = bom("check", "job.csv", cwd=tmp_path)
    assert done.returncode == 1
    assert "error: job.csv" in done.stderr


# ------------------------------------------------------------------------------- writing


def plans(folder: Path) -> Mapping[str, Callable[[], Request]]:
    """The commands that change a stock book, each as it is asked for."""
    job, workshop = folder / "jobs" / "twin.xlsx", find_workshop(folder)
    order = folder / "order.csv"
    order.write_bytes(as_csv([ORDER, ("Example", "bullet cover, male", "pack", 10, 2, 0.9)]))
    return {
        "count": lambda: count(workshop, "bullet cover, male", "7"),
        "hold": lambda: hold(job),
        "issue": lambda: issue(job, again=True, in_part=True),
        "release": lambda: release(job, "twin"),
        "receive": lambda: receive(workshop, order, suppliers=(), place="=1", twice="again"),
        "undo": lambda: undo,
    }


def is_left_whole(command: str, ending: str, grid: Grid) -> bool:
    """True where it is done and the book is read again as well as before, or nothing is changed."""
    with TemporaryDirectory() as name:
        folder = shop(Path(name))
        loom(folder, "twin", 1.2)
        (folder / "stock.xlsx").unlink()
        path = written(folder, ending, "stock", grid)
        plan = plans(folder)[command]()
        before, worse = contents(folder), len(errors(hostile.as_stock(path)))
        done = book(find_workshop(folder), plan, How(yes=True))
        hostile.told(done.problems, path.name)
        if done.written:
            return len(errors(hostile.as_stock(path))) <= worse
        return contents(folder) == before


def test_a_folder_that_stays_as_it_is_is_not_copied(tmp_path: Path) -> None:
    """Found by the law below: each command that had nothing to do pushed an old copy out."""
    folder = shop(tmp_path)
    (folder / "stock.xlsx").unlink()
    written(folder, "", "stock", {n: [HEADINGS[n]] for n in ("Drawer", "Cable", "Moves")})
    before = contents(folder)
    nothing = loom(folder, "twin", 1.2)
    done = bom("stock", "hold", nothing, cwd=folder)
    assert "Traceback" not in done.stderr
    assert contents(folder) == before | {"jobs/twin.xlsx": nothing.read_bytes()}


def errors(problems: Sequence[Problem]) -> list[Problem]:
    """Those that stop the job."""
    return [problem for problem in problems if problem.level == "error"]


COMMANDS = ("count", "hold", "issue", "release", "receive", "undo")


@examples(4, 100)
@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("command", COMMANDS)
def test_a_stock_book_of_anything_is_changed_or_left(command: str, ending: str, count: int) -> None:
    """By each command in each form."""
    assert_holds(count, "stock", is_left_whole, command, ending)
