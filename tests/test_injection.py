"""Text that a spreadsheet would run: it reaches every file we write as text, and paper as typed."""

import csv
import io
import json
import shutil
import tomllib
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from openpyxl import load_workbook

from bom.files.headings import Column
from bom.files.sheet import read_book
from bom.files.spelling import Misspelt
from bom.read.all_columns import all_columns
from bom.trade.catalogue_files import load_catalogue
from bom.trade.house import WORD_KEYS
from tests.slow import one_in
from tests.test_hostile_laws import as_csv, as_xlsx
from tests.test_papers import text_of
from tests.within import bom

STARTS = ("=", "+", "-", "@")
MARK = "zq9"
"""Stands in every hostile text and in nothing else."""


def _text(start: str, field: str) -> str:
    return f"{start}{MARK}{field}"


def _saved(path: Path, **sheets: list[tuple[object, ...]]) -> None:
    """A workbook whose texts are text, whatever they begin with, as behind an apostrophe."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(as_xlsx(sheets))


def workshop(folder: Path, start: str) -> Path:
    """A workshop in which every field of text begins with that sign."""

    def text(field: str) -> str:
        return _text(start, field)

    words = ("name", "address", "number", "included", "not_included", "terms")
    rules = [f"{key} = {json.dumps(text(HOUSE.get(key, key)))}" for key in words]
    rules += ["hourly_rate = 30", 'end = "bare"', ""]
    (folder / "workshop.toml").write_text("\n".join(rules))
    _saved(
        folder / "stock.xlsx",
        Cable=[
            ("piece", "gauge", "colour", "length", "cost per m", "place", "note"),
            (text("reel"), "1.0", "red", 5, 0.4, text("shelf"), text("remark")),
        ],
        Drawer=[
            ("item", "unit", "on hand", "low", "full", "cost", "place", "note"),
            (text("drawer item"), "each", 1, 5, 10, 0.1, text("box"), text("remark")),
            (text("odd"), text("unit"), 1, None, None, None, None, None),
        ],
        Moves=[
            ("when", "job", "what", "item", "change", "unit", "left", "note"),
            (
                *(text("when"), text("old job"), text("what"), text("odd"), 1, text("unit"), 1),
                text("why"),
            ),
        ],
        Orders=[
            (
                *("number", "date", "supplier", "item", "sold as", "packs", "part no"),
                *("for", "came", "note"),
            ),
            (
                *(text("o1"), text("monday"), text("seller"), text("part"), "each", 2, text("p9")),
                *(text("other job"), 1, text("say")),
            ),
        ],
    )
    _saved(
        folder / "prices.xlsx",
        Prices=[
            ("supplier", "item", "gauge", "colour", "sold as", "pack", "price", "part no", "note"),
            (text("seller"), "cable", "1.0", None, "metre", None, 0.5, text("part"), text("say")),
            (text("seller"), text("extra"), None, None, "each", None, 2, text("p2"), None),
            (text("seller"), text("drawer item"), None, None, "pack", 10, 3, text("p3"), None),
        ],
    )
    _saved(
        folder / "suppliers.xlsx",
        Suppliers=[("supplier", "postage", "note"), (text("seller"), 3, text("rem"))],
    )
    sold = (text("number"), text("sold"), text("buyer"), text("trike"))
    _saved(
        folder / "register.xlsx",
        Register=[
            (
                "number",
                "job",
                "customer",
                "machine",
                "given",
                "valid until",
                "net",
                "total",
                "note",
            ),
            (*sold, "2026-01-05", "2026-02-05", 10, 12, text("said")),
        ],
    )
    _job(folder, text)
    return folder


HOUSE = {"name": "house"}
"""Where a field of ours is called otherwise than the house rule."""


BOX = ("30 x 30 x 30", None)
"""The size of what stands at the back, and no note."""


def _job(folder: Path, text: Callable[[str], str]) -> None:
    wire = ("wire", "circuit", "from", "from pin", "to", "to pin", "colour", "gauge")
    _saved(
        folder / "jobs" / "job.xlsx",
        Job=[
            ("item", "value", "note"),
            ("job", text("job"), text("n")),
            ("customer", text("customer"), None),
            ("machine", text("machine"), None),
            (text("item of the job"), text("value"), None),
        ],
        Circuits=[
            (*wire, "load", "fuse", "one of", "length", "note"),
            (
                *(text("wire"), text("circuit"), text("switch"), text("from pin"), text("lamp")),
                *(text("pin"), "blue", "1.0", "5 W", text("fuse"), text("turn"), 1, text("note")),
            ),
            (
                *(text("w2"), text("c2"), text("lamp"), None, "earth", None, "black", "1.0"),
                *(None, None, None, 1),
            ),
        ],
        Loom=[("from", "to", "length", "note"), (text("front"), text("back"), 1, text("n"))],
        Components=[
            ("component", "at", "load", "passes", "one of", "face", "size", "note"),
            (text("lamp"), text("front"), None, None, text("turn"), text("pin"), None, text("n")),
            (text("box"), text("back"), None, f"{text('p1')} > {text('p2')}", *(None, None), *BOX),
        ],
        Places=[
            ("place", "length", "width", "height", "note"),
            (text("back"), 100, 50, 50, text("n")),
        ],
        Fuses=[("fuse", "rating", "note"), (text("fuse"), 5, text("n"))],
        Extras=[
            ("item", "qty", "unit", "note"),
            (text("extra"), 1, "each", text("n")),
            (text("by the"), 1, text("bag"), None),
        ],
        Labour=[("task", "hours", "note"), (text("task"), 1, text("n"))],
    )


COMMANDS = (
    ("check", "job"),
    ("check", "job", "--columns"),
    ("takeoff", "job"),
    ("cut", "job"),
    ("order", "job", "--topup"),
    ("quote", "job"),
    ("quote", "job", "--customer", "--incomplete"),
    ("prices", "wanted", "job"),
    ("topup",),
    ("topup", "--learn"),
    ("stock", "show", "--rebuild"),
    ("prices", "show"),
)


def takes_any_text(column: Column) -> bool:
    """True for a column that reads whatever is typed in it."""
    try:
        return MARK in str(column.read(_text("=", "x"), ""))
    except Misspelt:
        return False


def test_every_column_that_takes_any_text_has_some(tmp_path: Path) -> None:
    """The workshop above leaves out no field of any book that a user may type words into."""
    shop, (catalogue, _) = workshop(tmp_path, "="), load_catalogue()
    found: dict[str, set[str]] = {}
    for path in (*shop.glob("*.xlsx"), *(shop / "jobs").glob("*.xlsx")):
        for sheet in load_workbook(path).worksheets:
            heads, *rows = sheet.iter_rows(values_only=True)
            marked = {str(heads[n]) for row in rows for n, v in enumerate(row) if MARK in str(v)}
            found[sheet.title] = marked
    for name, columns in all_columns(catalogue).items():
        wanted = {column.name for column in columns if takes_any_text(column)}
        assert wanted - found[name] <= set(NOT_THE_USERS_WORDS.get(name, ())), name


NOT_THE_USERS_WORDS = {"Fuses": ("holder",)}
"""Columns that take any text and check it later against the catalogues."""


def test_every_house_rule_that_takes_any_text_has_some(tmp_path: Path) -> None:
    """But for those that may only be certain words: heading, ends, locale, logo, currency."""
    rules = tomllib.loads((workshop(tmp_path, "=") / "workshop.toml").read_text())
    checked = {"heading", "end", "in_line_end", "floor_gauge", "locale", "logo", "currency"}
    covers = {key for key in WORD_KEYS if key.startswith("cover_")}
    assert {key for key in rules if MARK in str(rules[key])} == WORD_KEYS - checked - covers


def cells_of(path: Path) -> Iterator[tuple[str, str]]:
    """Each cell with the mark: its text, and what it would be taken for."""
    if path.suffix == ".csv":
        for row in csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"))):
            yield from ((value, "guarded") for value in row if MARK in value)
        return
    for sheet in load_workbook(path).worksheets:
        for cell in (cell for row in sheet.iter_rows() for cell in row):
            if MARK in str(cell.value):
                yield str(cell.value), str(cell.data_type)


def held_as_text(path: Path, start: str) -> set[str]:
    """The texts with the mark that a file holds, none of which a spreadsheet would run."""
    texts = set()
    for text, kind in cells_of(path):
        assert kind in ("s", "inlineStr", "guarded"), (path.name, text)
        assert kind != "guarded" or not text.startswith(start), (path.name, text)
        texts.add(text.removeprefix("'") if kind == "guarded" else text)
    return texts


@pytest.mark.parametrize("start", one_in(2, STARTS))
def test_tables_hold_it_as_text(start: str, tmp_path: Path) -> None:
    """In .xlsx as a text cell, in .csv behind a quote mark; both can be read back."""
    shop = workshop(tmp_path, start)
    seen = 0
    for number, command in enumerate(COMMANDS):
        out, listed = tmp_path / f"{number}.xlsx", tmp_path / f"{number}.csv"
        done = bom(*command, "--xlsx", out, "--csv", listed, cwd=shop)
        assert done.returncode == 0, done.stderr
        assert held_as_text(out, start) >= held_as_text(listed, start)
        seen += len(list(cells_of(out)))
        for path in (out, listed):
            book, problems = read_book(path)
            assert book and book.sheets[0].rows and not problems
    assert seen > 30


PRINTED = {
    "quotation": "house address included not_included terms customer machine job",
    "bench": "wire switch lamp w2",
    "cut": "wire circuit",
    "labels": "wire w2 circuit",
    "loom": "front back box",
    "order *": "part",
    "prices wanted": "house job",
}
CUSTOMERS = ("--pdf", "quotation.pdf", "--incomplete")


@pytest.mark.parametrize("start", one_in(2, STARTS))
def test_the_papers_print_it_as_typed_and_the_workbook_keeps_it(start: str, tmp_path: Path) -> None:
    """Letterhead, customer, machine, wires and ends; live formulas have none of it."""
    shop = workshop(tmp_path, start)
    papers = tmp_path / "papers"
    for command in (("pack", "job", "--out", papers), ("quote", "job", *CUSTOMERS)):
        done = bom(*command, cwd=shop)
        assert done.returncode == 0, done.stderr
    shutil.move(shop / "quotation.pdf", papers)
    for paper, fields in PRINTED.items():
        (pdf,) = papers.glob(f"{paper}.pdf")
        printed = text_of(pdf.read_bytes())
        assert [f for f in fields.split() if _text(start, f) not in printed] == [], paper
    (book,) = papers.glob("*.xlsx")
    assert held_as_text(book, start)


# ------------------------------------------------------------- books of the owner's, changed


def _as_folder(shop: Path) -> None:
    """The stock book as a folder of `.csv`, each text behind its guard."""
    (shop / "stock").mkdir()
    for sheet in load_workbook(shop / "stock.xlsx").worksheets:
        rows = [[f"'{v}" if MARK in str(v) else v for v in row] for row in sheet.values]
        (shop / "stock" / f"{sheet.title}.csv").write_bytes(as_csv(rows))
    (shop / "stock.xlsx").unlink()


def offer(shop: Path, text: Callable[[str], str]) -> None:
    """A supplier's list with a row that is doubtful, so that it comes into answers.csv."""
    rows = [("description", "part no", "price"), (text("bullet cover male odd"), text("no"), 1)]
    (shop / "offer.csv").write_bytes(as_csv(rows))


JOURNEY = (
    ("order", "job", "--topup", "--xlsx", "order.xlsx", "--csv", "order.csv"),
    ("stock", "receive", "ORDER", "--place", "PLACE", "--yes"),
    ("stock", "hold", "job", "--yes"),
    ("stock", "issue", "job", "--part", "--yes"),
    ("stock", "count", "--", "ODD", "3"),
    ("stock", "undo", "--yes"),
    ("done", "job"),
    ("done", "job", "--yes"),
    ("record", "job"),
    ("learn", "--xlsx", "learned.xlsx", "--csv", "learned.csv"),
    ("prices", "add", "offer.csv", "--supplier", "NEW"),
    ("new", "job", "next", "--like", "job"),
    ("new", "job", "later", "--record", "job"),
)
"""From an order to the next job; words in capitals stand for hostile ones, and for the paper."""


ON_THE_SHELF = (
    *("reel", "shelf", "remark", "drawer item", "box", "odd", "unit", "when", "old job", "what"),
    *("why", "job", "extra", "place"),
)
HELD = {
    "order.xlsx": ("seller", "extra", "drawer item", "part", "p2", "p3", "job", "by the", "bag"),
    "order.csv": ("seller", "extra", "drawer item", "part", "p2", "p3", "job"),
    "used": ("job", "extra", "by the", "bag", "task"),
    "done.csv": ("job", "bag"),
    "answers.csv": ("bullet cover male odd", "no", "new"),
}
"""By file or folder: fields whose text it has to hold, letter for letter."""


@pytest.mark.parametrize("kind", ["workbook", "folder"])
@pytest.mark.parametrize("start", one_in(4, STARTS))
def test_every_file_of_the_workshop_keeps_it_as_text(start: str, kind: str, tmp_path: Path) -> None:
    """Orders, moves, sheets of what was used, done.csv, answers.csv, and a job like another."""
    shop = workshop(tmp_path, start)
    offer(shop, lambda field: _text(start, field))
    if kind == "folder":
        _as_folder(shop)
    hostile = {word: _text(start, word.lower()) for word in ("PLACE", "NEW", "ODD")}
    hostile["ORDER"] = "order.xlsx" if kind == "workbook" else "order.csv"
    for command in JOURNEY if kind == "workbook" else JOURNEY[:6]:
        done = bom(*(hostile.get(word, word) for word in command), cwd=shop)
        assert done.returncode == 0, (command, done.stderr)
    books = [p for p in shop.rglob("*") if p.suffix in (".xlsx", ".csv") and p.name != "offer.csv"]
    held: dict[str, set[str]] = defaultdict(set)
    for path in books:
        held[path.relative_to(shop).parts[0]] |= held_as_text(path, start)
    stock = held["stock.xlsx" if kind == "workbook" else "stock"]
    assert {_text(start, field) for field in ON_THE_SHELF} <= stock
    if kind == "folder":
        return  # the rest of the way is the same
    for name, fields in HELD.items():
        assert {_text(start, field) for field in fields} <= held[name], name
    after = held_as_text(shop / "jobs" / "next.xlsx", start)
    before = held_as_text(shop / "jobs" / "job.xlsx", start)
    assert before - after == {_text(start, "job"), _text(start, "customer")}
