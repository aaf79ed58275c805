"""Complaints that no folder of books provokes: a full disk, a race, a lock held, a lying library.

`tests/test_messages.py` listens to these tests as it does to the cases.
"""

import errno
import json
import os
import shutil
import socket
import struct
import subprocess
import sys
from collections.abc import Callable
from contextlib import nullcontext
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace
from typing import NoReturn, TypeAlias

import filelock
import openpyxl
import pytest
import python_calamine
import typst
import xlsxwriter

from bom.files import safely, together
from bom.files.safely import ABSENT, HalfWritten, NotWritten, compare, holding, look, told
from bom.files.sheet import read_book, values
from bom.job import find_workshop
from bom.read.house_rules import read_rules_file
from bom.shelf.stockbook import journal, keep
from bom.shelf.stockbook.edits import Edit, NewRow, Unwritable
from bom.shelf.stockbook.lines import relined
from bom.shelf.stockbook.splice import spliced
from bom.show.paper import pdf
from bom.trade.problem import Where
from bom.trade.rows import Written
from bom.workshop.colour_cells import filled_in
from bom.workshop.orders import parcel_typed
from bom.workshop.shelf_requests import take
from bom.workshop.stockroom import undo, undo_of
from tests import shops, stockrooms
from tests.books import book as write_book
from tests.fixture_books import HEADINGS, PIECES, plain_book, table_book, with_cells
from tests.hostile_packages import REFUSED
from tests.test_colours import machine
from tests.within import ROOT, bom

SINGLE = ROOT / "sample_projects" / "workshop" / "jobs" / "single.xlsx"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A stock book in a workshop."""
    path = tmp_path / "stock.xlsx"
    path.write_bytes(b"old")
    return path


Caught: TypeAlias = pytest.ExceptionInfo[NotWritten]


def words(caught: Caught) -> tuple[str, str]:
    """The sentence of a `NotWritten`, and its cure."""
    return caught.value.says, caught.value.cure


# --------------------------------------------------------------------------------- the disk


@pytest.mark.parametrize(
    ("number", "says", "cure"),
    [
        (
            errno.ENOSPC,
            "not written: the disk is full",
            "free some space, then give the command again",
        ),
        (
            errno.EDQUOT,
            "not written: your share of the disk is used up",
            "free some space, then give the command again",
        ),
        (
            errno.EFBIG,
            "not written: the file is larger than is allowed here",
            "a disk that takes larger files",
        ),
        (
            errno.EROFS,
            "not written: the disk is read-only",
            "a disk that can be written, or unlock this one",
        ),
        (
            errno.EEXIST,
            "not written: another program has made one meanwhile",
            "give the command again",
        ),
        (errno.EISDIR, "not written: this is a folder", "move the folder away"),
        (
            errno.EIO,
            "not written: the disk has failed",
            "look after the disk; keep the copies in .bom elsewhere",
        ),
        (
            errno.ENOENT,
            "not written: its new text was taken away before it was in place",
            "give the command again",
        ),
    ],
)
def test_what_the_system_refuses(number: int, says: str, cure: str, book: Path) -> None:
    """Each in plain words, with a cure."""
    with pytest.raises(NotWritten) as caught, told(book):
        raise OSError(number, os.strerror(number), str(book))
    assert words(caught) == (says, cure)


def test_a_number_without_words_of_ours(book: Path) -> None:
    """The system's own words then: those for EMFILE in POSIX.1-2017, strerror."""
    with pytest.raises(NotWritten) as caught, told(book):
        raise OSError(errno.EMFILE, os.strerror(errno.EMFILE), str(book))
    assert words(caught) == ("not written: Too many open files", "give the command again")


@pytest.mark.parametrize(
    ("closed", "says", "cure"),
    [
        (
            "stock.xlsx",
            "not written: the file is read-only",
            "allow writing in its properties, or ask its owner",
        ),
        (
            "shop",
            "not written: nothing may be written in the folder shop",
            "allow writing in the folder's properties, or ask its owner",
        ),
        (
            "",
            "not written: another program has it open, or it is protected",
            "close it there, then give the command again",
        ),
    ],
)
def test_what_may_not_be_written(
    closed: str, says: str, cure: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file, its folder, or neither: then another program holds it."""
    path = tmp_path / "shop" / "stock.xlsx"
    path.parent.mkdir()
    path.write_bytes(b"old")
    monkeypatch.setattr(os, "access", lambda where, _: Path(where).name != closed)
    with pytest.raises(NotWritten) as caught, told(path):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
    assert words(caught) == (says, cure)


def test_a_file_that_never_rests(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its time of change is another at each look."""
    real, times = os.fstat, iter(range(100))

    def restless(handle: int) -> os.stat_result:
        return os.stat_result(list(real(handle)), {"st_mtime_ns": next(times)})

    monkeypatch.setattr(os, "fstat", restless)
    monkeypatch.setattr(safely, "_PAUSE_S", 0)
    with pytest.raises(NotWritten) as caught:
        look(book)
    assert words(caught) == ("another program is writing it", "give the command again")


@pytest.mark.parametrize(
    ("seen", "now", "says"),
    [
        (b"old", b"new", "not written: it was changed after it was read"),
        (None, b"new", "not written: another program has made one meanwhile"),
        (b"old", None, "not written: it was taken away after it was read"),
    ],
)
def test_a_race(seen: bytes | None, now: bytes | None, says: str, book: Path) -> None:
    """What was seen is there no longer."""
    assert holding(None) == ABSENT
    with pytest.raises(NotWritten) as caught:
        compare(book, holding(seen), holding(now))
    assert words(caught) == (says, "give the command again")


def test_a_book_over_the_limit(tmp_path: Path) -> None:
    """A hole of 300 MB and a byte costs no disk."""
    path = tmp_path / "job.csv"
    with path.open("wb") as stream:
        stream.truncate(300_000_001)
    _, (problem,) = read_book(path)
    assert problem.says == "is over 300 MB: too large to be a list"


def test_house_rules_that_are_gone(tmp_path: Path) -> None:
    """Between the look for them and the reading; ENOENT in the words of POSIX.1-2017, strerror."""
    _, _, (problem,) = read_rules_file(tmp_path / "workshop.toml", dict)
    assert problem.says == "the house rules cannot be read: No such file or directory"


def test_a_disk_that_is_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the sheet of what a job used is made."""

    def full(part: Path, *_: object) -> NoReturn:
        raise OSError(errno.ENOSPC, "No space left on device", str(part))

    (tmp_path / "jobs").mkdir()
    shutil.copy(SINGLE, tmp_path / "jobs")
    (tmp_path / "workshop.toml").touch()
    monkeypatch.setattr(together, "write_part", full)
    says, cure = "not written: the disk is full", "free some space, then give the command again"
    done = bom("done", "single", cwd=tmp_path)
    assert f"error: used/single.xlsx: {says}\n    try: {cure}\n" in done.stderr


def test_a_book_that_may_not_be_read(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The system's refusal, and any other trouble of a disk."""

    def refuse(_: Path) -> NoReturn:
        raise trouble

    monkeypatch.setattr(Path, "read_bytes", refuse)
    trouble: OSError = PermissionError(errno.EACCES, "Permission denied")
    _, (problem,) = read_book(book)
    assert problem.says == "may not be read: permission denied"
    trouble = OSError(errno.EIO, "Input/output error")
    _, (problem,) = read_book(book)
    assert problem.says == "cannot be read: Input/output error"


# ------------------------------------------------------------------------ locks and journals


def test_a_lock_that_somebody_holds(book: Path) -> None:
    """Without a note of who it is."""
    lock = filelock.FileLock(keep.room(book) / "stock.xlsx.lock")
    with lock, pytest.raises(NotWritten) as caught, keep.locked(book, wait_s=0):
        pass
    assert words(caught) == ("being written by another bom", "again soon")


def test_a_disk_without_locks(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As filelock says it, by its own class of exception."""

    def cannot(*_: object, **__: object) -> NoReturn:
        raise NotImplementedError  # the class that filelock itself raises there

    monkeypatch.setattr(filelock.FileLock, "acquire", cannot)
    with pytest.raises(NotWritten) as caught, keep.locked(book):
        pass
    says = "not written: the disk it is on cannot lock files"
    assert words(caught) == (says, "keep the workshop on a disk of this machine")


def test_a_folder_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second file is not written, and the first cannot go back."""
    folder = tmp_path / "stock"
    folder.mkdir()
    (tmp_path / ".bom").mkdir()
    names = ("Cable.csv", "Drawer.csv")
    for name in names:
        (folder / name).write_bytes(b"old")
    real, calls = safely._replace, iter(range(9))

    def full(part: Path, path: Path) -> None:
        if next(calls):
            raise OSError(errno.ENOSPC, "No space left on device", str(path))
        real(part, path)

    monkeypatch.setattr(safely, "_replace", full)
    with pytest.raises(HalfWritten) as caught:
        journal.carry_out(folder, dict.fromkeys(names, (b"old", b"new")))
    assert caught.value.says == "half written: the disk is full"
    assert caught.value.cure == "see to that; the next bom stock finishes it"


# ------------------------------------------- what the commands of today never ask of a book


def in_csv(data: bytes, *asked: Edit | NewRow) -> list[tuple[str, str]]:
    """Sentence and cure of everything in the way in a .csv."""
    edits = [one for one in asked if isinstance(one, Edit)]
    rows = [one for one in asked if isinstance(one, NewRow)]
    with pytest.raises(Unwritable) as caught:
        relined(data, Where("stock/Cable.csv"), edits, rows)
    return [(problem.says, problem.cure) for problem in caught.value.problems]


def in_book(data: bytes, *asked: Edit | NewRow, file: str = "stock.xlsx") -> list[tuple[str, str]]:
    """Sentence and cure of everything in the way in a workbook."""
    edits = [one for one in asked if isinstance(one, Edit)]
    rows = [one for one in asked if isinstance(one, NewRow)]
    with pytest.raises(Unwritable) as caught:
        spliced(data, file, edits, rows)
    return [(problem.says, problem.cure) for problem in caught.value.problems]


def test_a_total_that_would_leave_a_new_row_out() -> None:
    """It adds up three rows, free rows follow, and then it stands."""
    blank = ("",) * 7
    rows = (HEADINGS, *PIECES, blank, blank, ("Total", "", "", "=SUM(D2:D4)"))
    new = NewRow(sheet="Cable", header_row=1, values={"A": "new", "D": 1}, last_row=4)
    says = "adds up to row 4 alone, and would leave the new row 5 out"
    assert in_book(plain_book(rows), new) == [(says, "let it add up to D6, the row above it")]


def edit(cell: str, value: Written = 5, sheet: str = "Cable") -> Edit:
    """A change of a cell."""
    return Edit(sheet=sheet, cell=cell, value=value)


def row(header_row: int = 1, last_row: int | None = None, value: Written = 5) -> NewRow:
    """A row under a list, with one value in column A."""
    return NewRow(sheet="Cable", header_row=header_row, values={"A": value}, last_row=last_row)


@pytest.mark.parametrize(
    ("value", "says", "cure"),
    [
        (Decimal("NaN"), "'NaN' is not a number that a cell can hold", ""),
        (
            10**15 + 1,
            "'1000000000000001' has more than the 15 figures that a cell holds",
            "round it",
        ),
    ],
)
def test_numbers_that_no_cell_holds(value: Written, says: str, cure: str) -> None:
    """Amounts are rounded to ten-thousandths under a thousand million, long before."""
    expected = [(says, cure)]
    assert in_csv(b"a\n", edit("A2", value)) == in_csv(b"a\n", row(value=value)) == expected
    assert in_book(plain_book(), edit("A2", value)) == expected
    assert in_book(plain_book(), row(value=value)) == expected


def test_lists_that_no_reader_gives() -> None:
    """Headings that are not there, and a list down to the last row that a sheet can have."""
    for complaints in (in_csv(b"a\n", row(9)), in_book(plain_book(), row(9))):
        assert complaints == [("there are no headings in this row", "")]
    last = row(last_row=1_048_576)
    for complaints in (in_csv(b"a\n", last), in_book(plain_book(), last)):
        assert complaints == [("there is no row left under the list", "")]
    cure = "insert empty rows above it, or move it"
    expected = [("is in the way of a new row under the list", cure)]
    assert in_csv(b"a\n1\nnote\n", row(last_row=2)) == expected


def test_a_heading_of_a_table() -> None:
    """A command writes headings only into a sheet that is blank."""
    data = table_book(columns=[{"header": heading} for heading in HEADINGS])
    says = "is a heading of the table Table1: it is not changed"
    assert in_book(data, edit("C1")) == [(says, "")]


def test_a_row_that_belongs_to_a_formula() -> None:
    """Blank cells under a list, which a formula beside it fills."""
    rows = (
        '<row r="1"><c r="B1"><v>1</v></c></row><row r="2"><c r="B2"><v>2</v></c></row>'
        '<row r="3"><c r="A3"><f t="array" ref="A3:B3">2</f></c></row>'
    )
    asked = NewRow(sheet="Cable", header_row=1, values={"B": 5}, last_row=2)
    says = "belongs to one formula for A3:B3: a formula is not written over"
    cure = "put the value itself there in the spreadsheet program"
    assert in_book(with_cells(f"<sheetData>{rows}</sheetData>"), asked) == [(says, cure)]


def test_a_part_without_room_for_its_head() -> None:
    """The last entry of the directory points ten bytes behind the part before (APPNOTE 4.3.12)."""
    data = bytearray(plain_book())
    entry = data.rfind(b"PK\x01\x02")
    before = data.rfind(b"PK\x03\x04", 0, data.rfind(b"PK\x03\x04"))
    data[entry + 42 : entry + 46] = struct.pack("<L", before + 10)
    ((says, _),) = in_book(bytes(data), edit("A1"))
    assert says.endswith("(two of its parts overlap)")


def test_a_book_of_another_kind() -> None:
    """The room before this one lets none but .xlsx and .xlsm in."""
    cure = "open it in the spreadsheet program and save it as .xlsx"
    expected = [("only .xlsx and .xlsm are written", cure)]
    assert in_book(plain_book(), edit("A1"), file="stock.ods") == expected


def test_a_sheet_that_is_not_there() -> None:
    """A command edits the sheets that it has read."""
    expected = [("there is no sheet 'Cabel' with cells", "Cable")]
    assert in_book(plain_book(), edit("A1", sheet="Cabel")) == expected


def test_letters_and_marks_that_would_be_read_as_others() -> None:
    """A text that, written as asked, turns the file into another one for its reader."""
    assert in_csv(b"\xc3,b\n", edit("A1", "\xc3\xbc")) == [
        ("with this change the letters of the file would be read as others", "save it as CSV UTF-8")
    ]
    assert in_csv(b"t, u\nv, w\na;b\nc;d\n", edit("D3", "x")) == [
        (
            "with this change a comma would be taken for the separator of the file",
            "put the texts that have a comma in them in quotes",
        )
    ]


# --------------------------------------------------------------------- libraries that fail


def test_a_value_of_no_known_kind() -> None:
    """The reader of workbooks gives texts, numbers, dates and lengths of time, and no more."""
    assert values._plain(object()) == values.Fault("a value of an unknown kind")


def test_a_library_that_breaks_down(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The reader of workbooks, after our own look at the book."""

    def panic(_: object) -> NoReturn:
        raise BaseException("out of bounds")  # as a panic in Rust comes, which is no Exception

    monkeypatch.setattr(python_calamine, "CalamineWorkbook", SimpleNamespace(from_filelike=panic))
    path = tmp_path / "job.xlsx"
    path.write_bytes(plain_book())
    _, (problem,) = read_book(path)
    assert problem.says == "cannot be read: out of bounds"


class Unprintable(typst.TypstError):
    """What the printer says of a picture."""

    def __init__(self) -> None:
        super().__init__("failed to parse SVG", "")

    def __str__(self) -> str:
        return str(self.args[0])


def test_a_picture_that_cannot_be_printed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The printer's own words, which change with its version."""

    def failing(*_: object, **__: object) -> NoReturn:
        raise Unprintable

    monkeypatch.setattr(typst, "compile", failing)
    with pytest.raises(ValueError, match="printed") as caught:
        pdf("quotation", {})
    assert str(caught.value) == "cannot be printed: failed to parse SVG"


# ------------------------------------------------------------------------------- what is printed


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a device of Linux's")
def test_no_room_to_print() -> None:
    """One sentence, and no trace of where in the program it was."""
    command = [sys.executable, "-m", "bom.cli", "check", str(SINGLE)]
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(
            command, cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert done.returncode == 1
    says, cure = "no room for what is to be printed", "another disk, or a pipe"
    assert done.stderr.endswith(f"error: {says}\n    try: {cure}\n")
    assert "Traceback" not in done.stderr


@pytest.mark.skipif(os.name == "nt", reason="a folder in use stays there")
@pytest.mark.parametrize("words", [("check", "x"), ("check", "x", "--json"), ()])
def test_the_folder_that_one_stands_in_is_gone(words: tuple[str, ...], tmp_path: Path) -> None:
    """Taken away by somebody else, or on a disk that was pulled out."""
    code = f"import os, runpy; os.rmdir({str(tmp_path / 'gone')!r}); runpy.run_module('bom.cli')"
    (tmp_path / "gone").mkdir()
    done = subprocess.run(
        [sys.executable, "-c", code.replace("'bom.cli'", "'bom.cli', run_name='__main__'"), *words],
        cwd=tmp_path / "gone",
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    says = "error: the folder that this was begun in is gone\n    try: cd to one that is there\n"
    assert (done.returncode, done.stderr) == (1, says)
    assert ("--json" in words) == ('"problems"' in done.stdout)


def test_a_pack_without_a_price_has_no_quotation(tmp_path: Path) -> None:
    """No folder of books leads there without papers being written."""
    (tmp_path / "job.csv").write_text("from,to,colour,length\na,b,red,2\n", encoding="utf-8")
    told = bom("pack", "job.csv", "--out", "papers", cwd=tmp_path).stderr
    assert "no quotation.pdf of job.csv: " in told
    assert "bom prices wanted job.csv --csv FILE" in told


@pytest.mark.skipif(os.name == "nt", reason="links need a right of their own there")
def test_other_links_to_nothing_and_twins(tmp_path: Path) -> None:
    """As above."""
    shop = tmp_path / "shop"
    shutil.copytree(SINGLE.parents[1], shop)
    (shop / "answers.csv").symlink_to("/mnt/office/answers.csv")
    shutil.copy(shop / "stock.xlsx", shop / "stock.xlsm")
    told = bom("order", "single", cwd=shop).stderr
    assert "answers.csv: is a link to" in told and "stock.xlsx alone is read" in told


@pytest.mark.skipif(os.name == "nt", reason="links need a right of their own there")
@pytest.mark.parametrize("words", [("order", "single"), ("stock", "undo")])
def test_a_stock_book_that_is_a_link_to_nothing(words: tuple[str, ...], tmp_path: Path) -> None:
    """Read or written; `tests/test_missing_books.py` has the others."""
    shutil.copytree(SINGLE.parents[1], tmp_path / "shop")
    path = tmp_path / "shop" / "stock.xlsx"
    path.unlink()
    path.symlink_to("/mnt/office/stock.xlsx")
    says = "stock.xlsx: is a link to '/mnt/office/stock.xlsx', and there is nothing\n"
    assert says in bom(*words, cwd=path.parent).stderr


def test_a_name_that_is_no_utf8_is_told_by_its_number() -> None:
    """On the screen, and in JSON as an escape that is no letter (RFC 8259, 8.2)."""
    name = os.fsdecode(b"\xff.xlsx")
    assert "no job" in bom("check", name).stderr or "<U+DCFF>.xlsx" in bom("check", name).stderr
    told = json.loads(bom("check", name, "--json").stdout)
    assert "\udcff.xlsx" in json.dumps(told, ensure_ascii=False)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("list.csv", ("takeoff", "--csv")),
        ("list.xlsx", ("takeoff", "--xlsx")),
        ("letter.pdf", ("quote", "--pdf")),
    ],
)
def test_a_file_of_the_owners_in_the_way(name: str, words: tuple[str, str], tmp_path: Path) -> None:
    """It is kept beside what is written; what `bom` itself has written is replaced."""
    path = tmp_path / name
    kept = tmp_path / name.replace(".", ".kept.")
    command, option = words
    path.write_bytes(b"mine")
    first = bom(command, SINGLE, option, path, cwd=ROOT)
    says = "list.csv was not written by bom, or was changed since: what it held is in list.kept.csv"
    says = says.replace("list.csv", str(path)).replace("list.kept.csv", kept.name)
    assert f"caution: {says}" in first.stderr
    assert (first.returncode, kept.read_bytes()) == (0, b"mine")
    written = path.read_bytes()
    second = bom(command, SINGLE, option, path, cwd=ROOT)
    assert "was not written" not in second.stderr
    assert path.read_bytes() == written
    assert sorted(tmp_path.iterdir()) == sorted([path, kept])


def test_a_workbook_that_was_saved_again_is_the_owners(tmp_path: Path) -> None:
    """A list that was filled in is kept when it is written anew; so is the second of them."""
    path = tmp_path / "list.xlsx"
    for number in (1, 2):
        bom("takeoff", SINGLE, "--xlsx", path, cwd=ROOT)
        book = openpyxl.load_workbook(path)
        book.worksheets[0]["A20"] = f"seen {number}"
        book.save(path)
    bom("takeoff", SINGLE, "--xlsx", path, cwd=ROOT)
    kept = [tmp_path / "list.kept.xlsx", tmp_path / "list.kept 2.xlsx"]
    notes = [openpyxl.load_workbook(book).worksheets[0]["A20"].value for book in kept]
    assert notes == ["seen 1", "seen 2"]


# --------------------------------------------------------------------------------- workbooks


@pytest.mark.parametrize(
    ("limit", "most", "says"),
    [
        ("bounds.MAX_FILLED", 1, "has over 1 cells, with the sheets before it: too large"),
        ("bounds.MAX_STRINGS", 1, "has over 1 texts: too large for a list"),
        ("bounds.MAX_TEXT_BYTES", 0, "has over 0 MB of text in its cells: too large for a list"),
        ("values.MAX_VALUES", 1, "has over 1 different values: too large for a list"),
        ("package.MAX_READ", 1, "would unpack to 0 MB: too large to be a list"),
        ("package.MAX_TAGS", 1, "has over 1 XML tags that have to be read one by one"),
        ("xlsx.MAX_SHEETS", 0, "has over 0 sheets: not a workbook"),
        ("xlsx._MOST_ODD", 1, "has over 1 errors, per cents or formulas without a result"),
    ],
)
def test_a_workbook_that_asks_for_too_much(
    limit: str, most: int, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At a limit set so low that a small book is over it; tests.hostile_packages has large ones."""
    monkeypatch.setattr(f"bom.files.sheet.{limit}", most)
    path = tmp_path / "a.xlsx"
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Circuits")
        sheet.write_row(0, 0, ("from", "to"))
        for row in (1, 2):
            sheet.write_formula(row, 0, "=1/0", None, "#DIV/0!")
    _, problems = read_book(path)
    assert [problem.says[: len(says)] for problem in problems] == [says]


def test_two_sheets_of_one_part(tmp_path: Path) -> None:
    """What two names lead to would be read, and take room, twice."""
    path = tmp_path / "a.xlsx"
    path.write_bytes(REFUSED["one-part-again.xlsx"]())
    _, (problem,) = read_book(path)
    assert "two of its sheets are one part" in problem.says


# ------------------------------------------------------------- one command, by its moment


def test_a_command_that_is_not_the_last_is_not_undone(tmp_path: Path) -> None:
    """The page undoes what it did, and only that: after it came another command, or an undo."""
    shop = stockrooms.shop(tmp_path)
    workshop = find_workshop(shop)
    for number in ("1", "2"):
        stockrooms.done(shop, take(workshop, "R01", number))
    first, second = (row[0] for row in stockrooms.rows(shop, "Moves"))
    since = f"something else was booked since: take of 'R01' at {second}"
    assert stockrooms.refused(shop, undo_of(first)) == [since]
    stockrooms.done(shop, undo_of(second))
    gone = f"what was booked at {second} stands no longer"
    assert stockrooms.refused(shop, undo_of(second)) == [gone]


# ------------------------------------------------------------------------------- many wires


def test_more_circuits_than_colours(tmp_path: Path) -> None:
    """Plain cable comes in 14 bodies; 13 but black, plain or with a trace, are 182 for live wires.

    13 bodies are 13 plain colours, and each has the 13 other bodies as traces.
    """
    wires = [f"{n} | c{n} | fuses:{n} > load {n} F:1 | | | 1 W" for n in range(183)]
    machine(tmp_path, wires)
    done = bom("colours", "job.xlsx", "--set", "order_seconds=0", cwd=tmp_path)
    assert done.returncode == 1
    assert "they are too many" in done.stderr
    machine(tmp_path, wires[:-1])
    done = bom("colours", "job.xlsx", "--set", "order_seconds=0", cwd=tmp_path)
    assert done.returncode == 0
    assert "job: colours for 182 wires" in done.stdout


def test_a_copy_of_what_is_read_alone() -> None:
    """Before anything is looked for in it."""
    with pytest.raises(Unwritable) as caught:
        filled_in(Path("job.ods"), (), Path("copy.ods"))
    (problem,) = caught.value.problems
    assert (problem.says, problem.cure) == (
        "an .ods is read, and not written",
        "it saved as job.xlsx",
    )


# --------------------------------------------------------------------------------- the desk


def test_a_desk_of_no_workshop(tmp_path: Path) -> None:
    """With what makes one."""
    done = bom("desk", cwd=tmp_path)
    assert done.returncode == 1
    assert done.stderr == "error: there is no workshop here\n    try: bom new workshop PATH\n"


def test_a_desk_without_a_network(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody can be let in; said before anything is opened."""
    for fault in (OSError(errno.ENETUNREACH, "no way out"), None):  # or its only address is its own
        line = SimpleNamespace(connect=_failing(fault), getsockname=lambda: ("127.0.0.1", 1))
        with monkeypatch.context() as patch:
            patch.setattr(socket, "socket", lambda *_, own=line: nullcontext(own))
            done = bom("desk", "--lan", cwd=stockrooms.shop(tmp_path / "shop"))
        assert done.returncode == 1
        assert done.stderr == (
            "error: the desk cannot be opened: this machine is in no network\n    try: bom desk\n"
        )


def test_a_desk_without_a_port(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All are taken."""
    monkeypatch.setattr(socket, "create_server", _failing(OSError(errno.EADDRINUSE, "taken")))
    done = bom("desk", cwd=stockrooms.shop(tmp_path / "shop"))
    assert done.returncode == 1
    assert done.stderr == "error: the desk cannot be opened: no free port on this machine\n"


def test_an_order_that_has_moved_since_it_was_seen(tmp_path: Path) -> None:
    """One of three packs had come; then one more, by somebody else; then that was taken back."""
    folder = stockrooms.shop(tmp_path / "shop")
    item = "bullet cover, male"
    line = ("2026-001", None, "Abel", item, None, None, "pack", 50, 3, 4.2, None, None, 1, None)
    drawer, moves = [shops.DRAWER, *stockrooms.ITEMS], [stockrooms.MOVES]
    write_book(folder, "stock.xlsx", Drawer=drawer, Moves=moves, Orders=[ORDERS, line])

    def asked(seen: str) -> list[str]:
        plan = parcel_typed(find_workshop(folder), "2026-001", [(item, "1", "")], seen)
        return stockrooms.refused(folder, plan)

    since = "since this page was shown"
    stockrooms.done(folder, parcel_typed(find_workshop(folder), "2026-001", [(item, "1", "")], "1"))
    assert asked("1") == [
        f"Orders M2 1 pack of order 2026-001 was received {since}: another parcel?"
    ]
    stockrooms.done(folder, undo)
    assert asked("3") == [
        f"Orders M2 2 packs of order 2026-001 were taken out again {since}: "
        "did this parcel come all the same?"
    ]
    assert asked("one") == ["seen of 2026-001: 'one' is not a number"]


ORDERS = (
    *("number", "date", "supplier", "item", "gauge", "colour", "sold as", "pack"),
    *("packs", "price", "part no", "for", "came", "note"),
)


def _failing(fault: OSError | None) -> Callable[..., None]:
    """A call that fails so, or does nothing."""

    def call(*_: object) -> None:
        if fault:
            raise fault

    return call
