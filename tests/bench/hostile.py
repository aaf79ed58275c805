"""Books that nobody means well with, and how the commands read them.

Mutates a job book, a stock book, a price list and a list of suppliers: single cells (types, units,
signs, huge numbers, control characters, marks of writing from right to left, formulas), and the
package itself (cut off, bytes turned, parts missing, entities, deep nesting, a million columns).
"""

import io
import random
import re
import zipfile
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import xlsxwriter

from bom.estimate import read_shelf
from bom.files.headings import OwnWords
from bom.files.sheet import column_number
from bom.files.sheet.values import MAX_COLUMNS, MAX_ROWS
from bom.files.table import as_text
from bom.job import columns_of, open_job
from bom.read.answers import read_answers
from bom.read.arrivals import read_order
from bom.read.matching import match
from bom.read.prices import read_prices
from bom.read.supplier_list import read_price_list
from bom.show.check_tables import check_tables
from bom.show.takeoff_tables import takeoff_tables
from bom.trade.catalogue_files import load_catalogue
from bom.trade.problem import Problem
from bom.workshop.done_file import read_done
from bom.workshop.used_sheet import read_used

MOST_CPU_S, MOST_MB = 10.0, 300
"""An idle machine reads each in two seconds; on a busy one each second does less."""
_SAMPLES = Path(__file__).parents[2] / "sample_projects" / "workshop"
_CATALOGUE, _ = load_catalogue()

NASTY: Sequence[Any] = (
    *("", " ", "\u00a0", "\u202e1.0 m", "\u200f", "\ufeffred", "a\u0007b", "x" * 40_000, "\ud7ff"),
    *(0, -1, 1e308, -1e-308, 10**15, 0.1, 1e400, 123456789012345678, True, False),
    *("1,234", "1.2.3", "--1", "1e5 m", "٣ m", "½ m", "1 furlong", "-3 m", "0 m", "12 mm", "4 mm"),
    *("=1+1", "+1", "@x", "-", "=HYPERLINK(1)", "'=1", "#N/A", "#REF!", "TRUE", "None", "nan"),
    *("inf", "-inf", "1e999999", "9" * 400, "red/", "/", "a/b/c", "RDBU", "GR", "\n\n", "\t", ":"),
    *("a:b:c", ">", "in > ", "a > b > a", "pin to pin", "none", "beam:", ":left", "total", "Sum"),
    *("55 W", "W", "5 kA", "0 W", "1e9 W", "fuse", "battery", "battery:+", "30 > 87, 87 > 30"),
    *("<script>", "]]>", "&amp;", "\\", "../../etc", "C:\\x", "%s%n", "{0}", "\U0001f50c", "漢字"),
)


Grid = dict[str, list[list[Any]]]


def grid_of(path: Path) -> Grid:
    """The cells of a workbook by sheet, as openpyxl has them."""
    book = openpyxl.load_workbook(path, data_only=True)
    return {s.title: [list(r) for r in s.iter_rows(values_only=True)] for s in book.worksheets}


def _written(grid: Grid) -> bytes:
    """A workbook of these cells; a text that looks like a formula is written as one at times."""
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True, "nan_inf_to_errors": True})
    for name, rows in grid.items():
        sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            for column, value in enumerate(row):
                _write(sheet, number, column, value)
    book.close()
    return stream.getvalue()


def _write(sheet: Any, row: int, column: int, value: Any) -> None:
    if isinstance(value, str) and value.startswith("=") and len(value) > 1:
        sheet.write_formula(row, column, value, None, "")
    elif isinstance(value, str):
        sheet.write_string(row, column, value[:32_767])
    elif isinstance(value, bool):
        sheet.write_boolean(row, column, value)
    elif isinstance(value, int | float | Decimal):
        sheet.write_number(row, column, float(value))


# ------------------------------------------------------------------------- mutations


def turned_cells(grid: Grid, dice: random.Random) -> bytes:
    """One to six cells get something nasty; at times a heading, a whole row or column."""
    turned = {name: [list(row) for row in rows] for name, rows in grid.items()}
    for _ in range(dice.randint(1, 6)):
        rows = turned[dice.choice([name for name, found in turned.items() if found])]
        number = dice.randrange(len(rows)) if dice.random() < 0.8 else 0
        if not rows[number]:
            continue
        rows[number][dice.randrange(len(rows[number]))] = dice.choice(NASTY)
        if dice.random() < 0.1:
            rows.insert(number, list(dice.choice(rows)))
        if dice.random() < 0.05:
            rows[number] = [dice.choice(NASTY) for _ in rows[number]]
    return _written(turned)


def cut_off(data: bytes, dice: random.Random) -> bytes:
    """The file ends too soon."""
    return data[: dice.randrange(len(data))]


def turned_bytes(data: bytes, dice: random.Random) -> bytes:
    """Some bytes are others."""
    turned = bytearray(data)
    for _ in range(dice.choice((1, 3, 30))):
        turned[dice.randrange(len(turned))] = dice.randrange(256)
    return bytes(turned)


def turned_parts(data: bytes, dice: random.Random) -> bytes:
    """A part is missing, emptied, doubled or swapped, or its XML is what no program writes."""
    old = zipfile.ZipFile(io.BytesIO(data))
    names = old.namelist()
    victim, change = dice.choice(names), dice.choice(_XML_CHANGES)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        for name in names:
            body = old.read(name)
            if name == victim:
                changed = change(body, dice)
                if changed is None:
                    continue
                body = changed
            new.writestr(name, body)
    return stream.getvalue()


def _dropped(_body: bytes, _dice: random.Random) -> bytes | None:
    return None


def _emptied(_body: bytes, _dice: random.Random) -> bytes:
    return b""


def _entities(body: bytes, _dice: random.Random) -> bytes:
    bomb = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    end = body.find(b"?>") + 2
    return body[:end] + bomb + body[end:]


def _deep(body: bytes, dice: random.Random) -> bytes:
    deep = dice.choice((50, 5_000, 200_000))
    return body.replace(b"<sheetData>", b"<x>" * deep + b"</x>" * deep + b"<sheetData>", 1)


def _far(body: bytes, dice: random.Random) -> bytes:
    cell = dice.choice((b"XFD1048576", b"ZZZZ1", b"A0", b"A99999999", b"AAAAAAAAAA1", b"1A"))
    return body.replace(b'r="A2"', b'r="' + cell + b'"', 1)


def _wide(body: bytes, _dice: random.Random) -> bytes:
    row = b'<row r="1">' + b"".join(b'<c t="str"><v>x</v></c>' for _ in range(20_000)) + b"</row>"
    return body.replace(b"<sheetData>", b"<sheetData>" + row, 1)


def _swapped_words(body: bytes, dice: random.Random) -> bytes:
    pairs = (
        (b"worksheet", b"chartsheet"),
        (b"sharedStrings", b"styles"),
        (b'r:id="rId1"', b'r:id="rId99"'),
        (b"UTF-8", b"UTF-7"),
        (b'encoding="UTF-8"', b'encoding="ebcdic-cp-us"'),
        (b"<v>", b"<v><v>"),
        (b't="s"', b't="e"'),
        (b't="s"', b't="b"'),
        (b't="s"', b't="d"'),
        (b"</row>", b""),
        (b'count="', b'count="-'),
    )
    old, new = dice.choice(pairs)
    return body.replace(old, new)


_XML_CHANGES: Sequence[Callable[[bytes, random.Random], bytes | None]] = (
    *(_dropped, _emptied, _entities, _deep, _far, _wide),
    *(_swapped_words, _swapped_words, _swapped_words),
    lambda body, dice: cut_off(body, dice) if body else body,
    lambda body, dice: turned_bytes(body, dice) if body else body,
)


# -------------------------------------------------------------------------- how read


Reader = Callable[[Path], Sequence[Problem]]


def as_job(path: Path) -> Sequence[Problem]:
    """As `bom check`, `bom check --columns` and `bom takeoff` read it."""
    job = open_job(path)
    tables = (*check_tables(job), *(takeoff_tables(job) if job.takeoff else ()))
    for table in tables:
        as_text(table)
    taken, problems = columns_of(path)
    assert taken or problems or job.problems  # a sheet of blanks has no headings to be told
    return (*job.problems, *problems)


def as_stock(path: Path) -> Sequence[Problem]:
    """As the commands of the shelf read it."""
    return read_shelf(path, _CATALOGUE)[1]


def as_prices(path: Path) -> Sequence[Problem]:
    """As a price list, and as a list of suppliers."""
    prices = read_prices(path, None, Decimal(20), _CATALOGUE)[1]
    return (*prices, *read_prices(None, path, Decimal(20), _CATALOGUE)[1])


def as_a_suppliers_list(path: Path) -> Sequence[Problem]:
    """As `bom prices add` reads it."""
    listed, problems = read_price_list(path, OwnWords(), with_tax=False)
    assert all(one.listed.words for one in match(listed.rows, _CATALOGUE))
    return problems


def as_order(path: Path) -> Sequence[Problem]:
    """As `bom stock receive` reads it."""
    return read_order(path, _CATALOGUE)[1]


def as_used(path: Path) -> Sequence[Problem]:
    """As `bom done` reads what was used."""
    return read_used(path, _CATALOGUE)[1]


def as_done(path: Path) -> Sequence[Problem]:
    """As `bom learn` reads the jobs that are done."""
    return read_done(path, _CATALOGUE)[1]


def as_answers(path: Path) -> Sequence[Problem]:
    """As `bom prices add` reads the owner's answers."""
    return read_answers(path, _CATALOGUE)[1]


_CELL = re.compile("([A-Z]{1,3})([1-9][0-9]{0,6})")


def told(problems: Sequence[Problem], file: str) -> None:
    """Each problem says something, and of this file it names no cell that no sheet has."""
    for problem in problems:
        assert problem.says.strip(), problem
        cell = problem.where.cell
        if not cell or problem.where.file.partition("/")[0] != file:
            continue
        found = _CELL.fullmatch(cell)
        assert found, problem
        row, column = int(found[2]), column_number(found[1])
        assert row <= MAX_ROWS and column < MAX_COLUMNS, problem


_READERS: Sequence[tuple[Path, Sequence[Reader]]] = (
    (_SAMPLES / "jobs" / "single.xlsx", (as_job,)),
    (_SAMPLES / "stock.xlsx", (as_stock,)),
    (_SAMPLES / "prices.xlsx", (as_prices, as_order, as_a_suppliers_list)),
    (_SAMPLES / "suppliers.xlsx", (as_prices,)),
)
_PACKAGES = (cut_off, turned_bytes, turned_parts, turned_parts, turned_parts)


def mutated(books: int, seed: int) -> Iterator[tuple[bytes, Sequence[Reader]]]:
    """So many books with whichever ways their kind is read."""
    dice = random.Random(seed)
    bases = [(grid_of(path), path.read_bytes(), readers) for path, readers in _READERS]
    for _ in range(books):
        grid, data, readers = bases[dice.choice((0, 0, 0, 1, 2, 3))]
        yield turned(grid, data, dice), readers


def turned(grid: Grid, data: bytes, dice: random.Random) -> bytes:
    """One book mutated, by its cells or as a package."""
    by_cell = dice.random() < 0.6
    return turned_cells(grid, dice) if by_cell else dice.choice(_PACKAGES)(data, dice)
