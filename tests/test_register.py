"""Quotations given: a number each, a row of the register, what is kept; and how all jobs stand."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from bom.cli import jobs, quotes
from bom.files import clock
from bom.files.safely import NotWritten
from bom.job import find_workshop
from bom.read.register import read_register
from bom.shelf.moves import shelf_of
from bom.shelf.stockbook import keep
from bom.show import papers
from bom.trade.job_book import Colour
from bom.trade.placed import OrderLine
from bom.trade.quotes import GivenQuote, Register
from bom.trade.rows import Row
from bom.trade.shelf import Move, ShelfPiece, Stock
from bom.workshop.due import due
from bom.workshop.jobs import jobs_of
from bom.workshop.shelf_requests import hold, issue
from bom.workshop.standing import Known, standing
from tests.books import book
from tests.full_disks import tree
from tests.stockrooms import done, loom, shop, typed
from tests.test_full_disk import as_csv
from tests.test_papers import text_of
from tests.within import ROOT, bom

HEADS = (
    *("number", "job", "customer", "machine", "given", "valid until", "net", "total", "accepted"),
    *("deposit", "billed", "paid", "materials at cost", "hours", "note"),
)
RATE = {"hourly_rate": 30}
FIRST = ("Q2026-001", "twin", None, None, "2026-11-20", "2026-12-20", 11.90, 14.28)
"""2 m of red at 0.30 are 0.60, 6 covers at 0.05 are 0.30; a wire is 1.5 minutes of cutting, 0.5 of
testing and 10 for fitting what is at each of its ends, 22 in all: at 30 an hour 11.00.  Net 11.90,
with 20 % tax 2.28."""


@pytest.fixture
def today(monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """The day can be set, for the quotations and for what is due."""

    def is_now(day: str) -> None:
        monkeypatch.setattr(clock, "now", lambda: datetime.fromisoformat(f"{day} 14:03:07"))

    is_now("2026-11-20")
    return is_now


@pytest.fixture
def folder(tmp_path: Path, today: Callable[[str], None]) -> Path:
    """A workshop with the job `twin`, of one wire of 2 m and six covers."""
    shop(tmp_path)
    loom(tmp_path, "twin", 2, **RATE)
    return tmp_path


def given(folder: Path, *more: str, job: str = "twin") -> str:
    """What is printed of a quotation that is given."""
    done = bom("quote", job, "--give", *more, cwd=folder)
    assert done.returncode == 0, done.stderr
    return str(done.stdout)


def rows(folder: Path) -> list[tuple[Any, ...]]:
    """The rows of the register under its headings."""
    sheet = load_workbook(folder / "register.xlsx")["Register"]
    heads, *below = sheet.iter_rows(values_only=True)
    assert heads[: len(HEADS)] == HEADS
    return [row[: len(HEADS)] for row in below if any(row)]


def noted(folder: Path) -> list[tuple[str, float, str]]:
    """Number, total and note of each row."""
    return [(row[0], row[7], row[14] or "") for row in rows(folder)]


def swapped(folder: Path) -> None:
    """The owner sorts the register: its two rows change places, the newest on top."""
    path = folder / "register.xlsx"
    workbook = load_workbook(path)
    sheet = workbook["Register"]
    for first, second in zip(sheet[2], sheet[3], strict=True):
        first.value, second.value = second.value, first.value
    workbook.save(path)


SOLD = (
    ("Abel", "cable", "1.0", "red", "metre", None, 0.30, None),
    ("Abel", "bullet cover, male", None, None, "pack", 50, 2.50, None),
)


def test_what_is_ordered_for_a_job_costs_more_than_is_in_its_price(tmp_path: Path) -> None:
    """Wrong before: the price fell by the delivery and what is over of a pack, and nothing said so.

    Bought: 0.60, a pack of 50 covers at 2.50 and 4.00 of delivery, 7.10.  Ordered: 0.60 and six
    covers at 0.05, 0.90; and the same once they lie on the shelf.
    """
    shop(tmp_path, (), (), prices=SOLD, suppliers=[("Abel", 4, None, None, None)])
    loom(tmp_path, "twin", 2, **RATE)
    says = "ordered for it (2026-001): what their delivery costs, and what is over of their packs"
    assert says not in given(tmp_path)
    assert bom("order", "twin", "--place", cwd=tmp_path).returncode == 0
    now = " ".join(bom("quote", "twin", cwd=tmp_path).stdout.split())
    assert f"{says} and reels, is not in the price, nor in the materials at cost" in now
    assert bom("stock", "receive", "2026-001", cwd=tmp_path).returncode == 0
    assert says in " ".join(given(tmp_path).split())
    assert [row[12] for row in rows(tmp_path)] == [7.10, 0.90]
    assert says not in " ".join(bom("quote", "twin", cwd=tmp_path).stdout.split())  # told once
    assert bom("stock", "issue", "twin", cwd=tmp_path).returncode == 0
    assert says not in " ".join(bom("quote", "twin", cwd=tmp_path).stdout.split())


# ------------------------------------------------------------------- one number, one total


def test_a_quotation_that_is_given_has_a_number_a_row_and_a_folder(folder: Path) -> None:
    """The register is made; paper and job book lie under the number as they were."""
    told = given(folder)
    assert "given as Q2026-001 on 2026-11-20: 14.28, valid until 2026-12-20\n" in told
    assert "kept in given/Q2026-001: quotation.pdf, twin.xlsx, figures.json\n" in told
    assert "\nnext: print given/Q2026-001/quotation.pdf for the customer\n" in told
    # costs: 0.60 and 0.30; 22 minutes are 0.37 hours
    assert rows(folder) == [(*FIRST, None, None, None, None, 0.90, 0.37, None)]
    kept = folder / "given" / "Q2026-001"
    assert (kept / "twin.xlsx").read_bytes() == (folder / "jobs" / "twin.xlsx").read_bytes()
    paper = text_of((kept / "quotation.pdf").read_bytes())
    assert "number Q2026-001" in paper and "£14.28" in paper and "20 December 2026" in paper
    assert bom("check", kept / "twin.xlsx").returncode == 0


def test_no_number_shows_two_totals(folder: Path, today: Callable[[str], None]) -> None:
    """Wrong before: the paper of a job bore one number whatever it came to.

    Given, then 1 m and 4 covers more: 0.30 + 0.20 = 0.50 and tax 0.10.
    """
    given(folder)
    loom(folder, "twin", 3, covers=10, **RATE)
    told = bom("quote", "twin", "--pdf", "now.pdf", cwd=folder)
    wanted = "given as Q2026-001 on 2026-11-20: 14.28; now 14.88: "
    assert f"{wanted}cable +0.30, extras +0.20, tax +0.10\n" in told.stdout
    assert "caution: the paper bears no number: under Q2026-001 14.28 was given" in told.stderr
    assert bom("pack", "twin", "--out", "papers", cwd=folder).returncode == 0
    for path in ("now.pdf", "papers/quotation.pdf"):
        paper = text_of((folder / path).read_bytes())
        assert "£14.88" in paper and "Q2026-001" not in paper and "number" not in paper
    today("2026-11-25")
    assert "14.88, valid until 2026-12-25; it replaces Q2026-001\n" in given(folder)
    assert noted(folder) == [
        ("Q2026-001", 14.28, "replaced by Q2026-002"),
        ("Q2026-002", 14.88, ""),
    ]
    for number, total in (("Q2026-001", "£14.28"), ("Q2026-002", "£14.88")):
        paper = text_of((folder / "given" / number / "quotation.pdf").read_bytes())
        assert number in paper and total in paper


def test_two_of_one_day_stand_in_the_order_of_their_numbers(folder: Path) -> None:
    """Wrong before: of two rows of one day the lower one counted, however they were sorted.

    3 m are 0.30 more than 2 m, with tax 0.36; 4 m are 0.36 more than that.
    """
    given(folder)
    loom(folder, "twin", 3, **RATE)
    given(folder)
    swapped(folder)
    assert "given as Q2026-002 on 2026-11-20: 14.64; nothing has changed" in given(folder)
    (line,) = json.loads(bom("jobs", "--json", cwd=folder).stdout)["jobs"]
    assert [line[key] for key in ("number", "net", "at_cost")] == ["Q2026-002", "12.20", "1.20"]
    loom(folder, "twin", 4, **RATE)
    assert "it replaces Q2026-002\n" in given(folder)
    assert noted(folder) == [
        ("Q2026-002", 14.64, "replaced by Q2026-003"),
        ("Q2026-001", 14.28, "replaced by Q2026-002"),
        ("Q2026-003", 15.00, ""),
    ]


@pytest.mark.parametrize(
    ("numbers", "last"),
    [
        ({"Q2026-1000": "", "Q2026-999": ""}, "Q2026-1000"),  # by its count, not by letters
        ({"spring": "", "winter": "replaced by spring"}, "spring"),  # the owner's own numbers
        ({"winter": "replaced by spring", "spring": ""}, "spring"),
    ],
)
def test_the_last_of_one_day(numbers: Mapping[str, str], last: str, folder: Path) -> None:
    """By the count in its number; what was replaced comes first."""
    rest = ("", "", "2026-11-20", "2026-12-20", 10, 12, "", "", "", "", 1, 1)
    lines = [(number, "twin", *rest, note) for number, note in numbers.items()]
    as_csv(folder / "register.csv", [HEADS, *lines])
    (line,) = json.loads(bom("jobs", "--json", cwd=folder).stdout)["jobs"]
    assert line["number"] == last


def test_the_paper_of_what_is_given_is_the_same_later(
    folder: Path, today: Callable[[str], None]
) -> None:
    """With its number and the days of its giving, while it comes to what was given."""
    given(folder)
    today("2026-12-05")
    done = bom("quote", "twin", "--pdf", "again.pdf", cwd=folder)
    assert "given as Q2026-001 on 2026-11-20: 14.28, and is so still\n" in done.stdout
    assert done.stderr == ""
    kept = folder / "given" / "Q2026-001" / "quotation.pdf"
    assert (folder / "again.pdf").read_bytes() == kept.read_bytes()


@pytest.mark.parametrize(
    ("lengths", "totals"),
    [
        # 1 m is 0.30 less, with tax 0.36: 13.92; 3 m as much more, 14.64
        ((2, 2, 3, 3, 2), {"Q2026-001": "£14.28", "Q2026-002": "£14.64", "Q2026-003": "£14.28"}),
        ((1, 2, 1, 1, 1), {"Q2026-001": "£13.92", "Q2026-002": "£14.28", "Q2026-003": "£13.92"}),
    ],
)
def test_whatever_is_printed_a_number_has_one_total(
    lengths: Sequence[int],
    totals: Mapping[str, str],
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A job that is changed and changed back, with a paper printed before and after each giving."""
    seen: set[tuple[str, str]] = set()

    def printed(_: str, shown: Mapping[str, Any]) -> bytes:
        number = dict(shown.get("dates", ())).get("number")
        if number:
            seen.add((number, shown["total"][1]))
        return b"%PDF /Creator(Typst"

    monkeypatch.setattr(papers, "pdf", printed)
    for length in lengths:
        loom(folder, "twin", length, **RATE)
        for words in (("--pdf", "a.pdf"), ("--give", "--pdf", "b.pdf"), ("--pdf", "a.pdf")):
            assert bom("quote", "twin", *words, cwd=folder).returncode == 0
    assert seen == {*totals.items()}


def test_json_tells_what_was_given_and_what_changed(folder: Path) -> None:
    """Null before; the figures given, and the groups that are others now."""

    def answer() -> Any:
        return json.loads(bom("quote", "twin", "--json", cwd=folder).stdout)["given"]

    assert answer() is None
    given(folder)
    same = {"number": "Q2026-001", "day": "2026-11-20", "valid_until": "2026-12-20"}
    same |= {"net": "11.90", "total": "14.28"}
    assert answer() == {**same, "changed": []}
    loom(folder, "twin", 3, **RATE)
    cable = {"group": "cable", "was": "0.60", "now": "0.90"}
    tax = {"group": "tax", "was": "2.38", "now": "2.44"}
    assert answer() == {**same, "changed": [cable, tax]}
    (folder / "given" / "Q2026-001" / "figures.json").write_text("{}")
    net = {"group": "net", "was": "11.90", "now": "12.20"}
    assert answer() == {**same, "changed": [net, tax]}


# ------------------------------------------------------------------------ given once more


def test_what_is_given_is_not_given_again(folder: Path) -> None:
    """The number, the day and the total are said; nothing is written."""
    given(folder)
    before = tree(folder)
    told = given(folder)
    assert (
        "given as Q2026-001 on 2026-11-20: 14.28; nothing has changed, and it is not given again\n"
        in told
    )
    assert tree(folder) == before


@pytest.mark.parametrize(
    ("answer", "day", "number"),
    [
        ("", "2026-12-20", "Q2026-001"),  # the last day on which it is valid
        ("", "2026-12-21", "Q2026-002"),
        ("", "2027-01-04", "Q2027-001"),
        ("2026-11-28", "2027-01-04", "Q2026-001"),  # accepted in time: it stands
        ("yes", "2027-01-04", "Q2026-001"),
        ("no", "2026-11-22", "Q2026-002"),
    ],
)
def test_a_quotation_that_is_over_is_given_under_a_new_number(
    answer: str, day: str, number: str, folder: Path, today: Callable[[str], None]
) -> None:
    """Nobody answered in the time it was valid for, or the customer said no."""
    given(folder)
    typed(folder / "register.xlsx", "Register", I2=answer or None)
    today(day)
    assert f"given as {number} on " in given(folder)
    assert noted(folder)[-1][0] == number


def test_what_is_billed_is_not_replaced(folder: Path) -> None:
    """More work on the machine later is a quotation beside it."""
    given(folder)
    typed(folder / "register.xlsx", "Register", K2=14.28, O2="ring him on Monday")
    loom(folder, "twin", 3, **RATE)
    told = given(folder)
    assert "Q2026-002" in told and "replaces" not in told
    loom(folder, "twin", 4, **RATE)
    given(folder)
    assert [note for _, _, note in noted(folder)] == [
        "ring him on Monday",
        "replaced by Q2026-003",
        "",
    ]


def test_the_owners_own_number_on_the_job_sheet(folder: Path) -> None:
    """It is the number, once: a job that is changed wants another, or none."""
    loom(folder, "twin", 2, **RATE, number="2026/17")
    early = bom("quote", "twin", "--pdf", "early.pdf", cwd=folder)
    assert "'2026/17' is printed once it is given; try: bom quote twin --give" in early.stderr
    assert "2026/17" not in text_of((folder / "early.pdf").read_bytes())
    assert "given as 2026/17 on 2026-11-20: 14.28, " in given(folder)
    kept = folder / "given" / "2026 17" / "quotation.pdf"
    assert "2026/17" in text_of(kept.read_bytes())
    loom(folder, "twin", 3, **RATE, number="2026/17")
    again = bom("quote", "twin", "--give", cwd=folder)
    assert again.returncode == 1
    assert "twin.xlsx › Job: '2026/17' was given before" in again.stderr
    loom(folder, "twin", 3, **RATE)
    given(folder)
    assert noted(folder) == [("2026/17", 14.28, "replaced by Q2026-001"), ("Q2026-001", 14.64, "")]


def test_a_number_whose_row_was_deleted_is_not_given_again(folder: Path) -> None:
    """Its folder is there still, as it is after a run that was killed before the row stood."""
    (folder / "given" / "q2026-007").mkdir(parents=True)
    assert "given as Q2026-008 on " in given(folder)


# ---------------------------------------------------------------- the owner's own register


def test_the_row_comes_under_the_owners_list_and_all_else_stays(folder: Path) -> None:
    """Columns in the owner's order, columns and sheets of their own, sums under the list."""
    heads = ("job", "number", "colour of the tank", "given", "valid until", "net", "total", "note")
    old = ("single", "2025-9", "green", "2025-03-01", "2025-04-01", 100, 120, "mine")
    more = ("trike", "2025-10", None, "2025-04-01", "2025-05-01", 200, 240, None)
    sums = (None, None, None, None, None, 300, 360)
    blank: tuple[Any, ...] = ()
    own = [("A thought", "=1+1")]
    path = book(folder, "register.xlsx", Register=[heads, old, more, blank, blank, sums], Mine=own)
    given(folder)
    sheet = load_workbook(path)["Register"]
    found = [row for row in sheet.iter_rows(values_only=True) if any(row)]
    new = ("twin", "Q2026-001", None, "2026-11-20", "2026-12-20", 11.9, 14.28, None)
    assert found == [heads, old, more, new, (*sums, None)]
    assert load_workbook(path)["Mine"]["B1"].value == "=1+1"
    assert [copy.name[:9] for copy in keep.copies_of(path)] == ["register "]


@pytest.mark.parametrize("kind", ["register.csv", "Register/Register.csv"])
def test_a_register_that_is_a_list_of_text(kind: str, folder: Path) -> None:
    """A single .csv, or a folder of them, in any letters."""
    path = folder / kind
    as_csv(path, [HEADS])
    given(folder)
    heads, line = path.read_text().splitlines()
    assert line.split(",")[:8] == ["Q2026-001", "twin", "", "", *map(str, FIRST[4:])]
    assert heads == ",".join(HEADS)
    assert not (folder / "register.xlsx").exists()


@pytest.mark.skipif(os.name != "posix", reason="Windows keeps other rights")
def test_whoever_may_write_in_the_workshop_may_give_the_next(folder: Path) -> None:
    """Register and folder take over the rights of the workshop, which a group may share."""
    folder.chmod(0o2770)
    (folder / "workshop.toml").chmod(0o660)
    given(folder)
    loom(folder, "twin", 3, **RATE)
    given(folder)
    modes = {name: (folder / name).stat().st_mode & 0o7777 for name in MODES}
    assert modes == MODES


MODES = {"register.xlsx": 0o660, "given": 0o2770, "given/Q2026-002/quotation.pdf": 0o660}


def test_a_book_that_is_kept_is_a_folder_or_a_single_list(folder: Path) -> None:
    """A folder of .csv is copied whole."""
    wire = "wire,colour,gauge,length,from,to,from end,to end\nW1,red,1.0,2,a,b,bare,bare\n"
    cards = folder / "jobs" / "cards"
    cards.mkdir()
    (cards / "Circuits.csv").write_text(wire)
    (cards / "Job.csv").write_text("item,value\njob,cards\n")
    (folder / "jobs" / "line.csv").write_text(wire)
    assert "kept in given/Q2026-001: quotation.pdf, cards, figures.json" in given(
        folder, job="cards"
    )
    assert tree(folder / "given" / "Q2026-001" / "cards") == tree(cards)
    given(folder, job="line")
    assert (folder / "given" / "Q2026-002" / "line.csv").read_text() == wire


def test_what_is_kept_is_not_written_over(folder: Path) -> None:
    """Nor is the register."""
    given(folder)
    before = tree(folder)
    for path in ("given/Q2026-001/quotation.pdf", "register.xlsx"):
        done = bom("quote", "twin", "--pdf", path, cwd=folder)
        assert done.returncode == 1 and "is left as it is" in done.stderr
    assert bom("pack", "twin", "--out", "given/Q2026-001", cwd=folder).returncode == 1
    assert tree(folder) == before


# --------------------------------------------------------------------------- nothing given


def refused(folder: Path, says: str, *more: str) -> None:
    """Nothing is given and nothing written, and that is said."""
    before = tree(folder)
    done = bom("quote", "twin", "--give", *more, cwd=folder)
    assert done.returncode == 1
    assert says in done.stderr
    assert done.stdout == ""
    assert tree(folder) == before


def test_a_job_with_errors_or_without_a_price_is_not_given(folder: Path) -> None:
    """No half a price goes to a customer."""
    book(folder / "jobs", "twin.xlsx", Circuits=[("from", "to", "colour"), ("a", "b", "gren")])
    refused(folder, "colour 'gren' is not known")
    loom(folder, "twin", 2, 3, 4, 5, **RATE)
    refused(folder, "not for the customer: 1 item has no price: cable, 1.0 mm2, red\n")
    assert not (folder / "register.xlsx").exists()


def test_outside_a_workshop_nothing_is_given(folder: Path) -> None:
    """There is no register to write it into."""
    (folder / "workshop.toml").unlink()
    done = bom("quote", folder / "jobs" / "twin.xlsx", "--give", cwd=folder)
    assert done.returncode == 1
    assert "not in a workshop folder, where quotations given are kept" in done.stderr


def test_a_dry_run_says_what_it_would_be(folder: Path) -> None:
    """And writes nothing."""
    before = tree(folder)
    told = given(folder, "--dry-run")
    assert "would be given as Q2026-001 on 2026-11-20: 14.28, valid until 2026-12-20\n" in told
    assert "a dry run: nothing is written\n" in told
    assert tree(folder) == before


def test_a_register_that_is_open_or_wrong_is_left_as_it_is(folder: Path) -> None:
    """Who has it open is told, and a cell that cannot be read with its cure; a price is a price."""
    given(folder)
    loom(folder, "twin", 3, **RATE)
    mark = folder / "~$register.xlsx"
    mark.write_bytes(b"\x04Anna" + b" " * 50)
    refused(folder, "register.xlsx: not written: it is open, by Anna")
    assert "Q2026-002" in given(folder, "--force")
    mark.unlink()
    typed(folder / "register.xlsx", "Register", L2="later", G3="much")
    refused(folder, "register.xlsx › Register › G3: 'much' is not a number")
    told = bom("quote", "twin", cwd=folder)
    assert told.returncode == 0
    assert told.stderr == "caution: register.xlsx: has 1 error; try: bom jobs\n"


def test_a_kind_that_is_only_read_is_said(folder: Path) -> None:
    """.ods books are read, and not written."""
    from tests.fixture_books import ods_book, ods_cell, ods_row

    heads = ods_row(*map(ods_cell, HEADS))
    (folder / "register.ods").write_bytes(ods_book(("Register", [heads])))
    before = (folder / "register.ods").read_bytes()
    refused(folder, "a book that ends in '.ods' is read but not written")
    assert (folder / "register.ods").read_bytes() == before


def test_a_job_book_that_is_saved_meanwhile_is_not_given(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is kept would not be what was priced."""
    real = jobs.estimated

    def saved_meanwhile(job: Path, sets: Any) -> Any:
        found = real(job, sets)
        loom(folder, "twin", 3, **RATE)
        return found

    before = {*tree(folder)}
    monkeypatch.setattr(quotes, "estimated", saved_meanwhile)
    done = bom("quote", "twin", "--give", cwd=folder)
    assert done.returncode == 1
    assert "twin.xlsx: not given: it was changed after it was read" in done.stderr
    assert {*tree(folder)} == before


@pytest.mark.parametrize("trouble", [KeyboardInterrupt, OSError, NotWritten])
def test_what_is_stopped_before_the_row_stands_leaves_nothing(
    trouble: type[BaseException], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder that was kept goes away again; the next number is free."""
    given(folder)
    loom(folder, "twin", 3, **RATE)
    before = tree(folder)

    def stopped(*_: Any, **__: Any) -> None:
        raise trouble(folder, "not written: stopped", "later") if trouble is NotWritten else trouble

    with monkeypatch.context() as patched:
        patched.setattr("bom.shelf.stockbook.keep.save", stopped)
        try:
            done = bom("quote", "twin", "--give", cwd=folder)
        except KeyboardInterrupt:
            assert trouble is KeyboardInterrupt
        else:
            assert done.returncode != 0
    assert tree(folder) == before
    assert "Q2026-002" in given(folder)


KILLED = """
import os, sys
from datetime import datetime
from bom.cli import main
from bom.files import clock
from bom.shelf.stockbook import keep
clock.now = lambda: datetime(2026, 11, 20, 14)
keep.save = lambda *_, **__: os._exit(9)
sys.argv = ["bom", "quote", "twin", "--give"]
main()
"""


def test_a_run_that_is_killed_before_the_row_stands(folder: Path) -> None:
    """The register is whole, and the number of the folder that was left is passed over."""
    given(folder)
    loom(folder, "twin", 3, **RATE)
    old = (folder / "register.xlsx").read_bytes()
    killed = subprocess.run(
        [sys.executable, "-c", KILLED], cwd=folder, env={"PYTHONPATH": str(ROOT)}, check=False
    )
    assert killed.returncode == 9
    assert (folder / "register.xlsx").read_bytes() == old
    assert "given as Q2026-003 on " in given(folder)
    assert [number for number, _, _ in noted(folder)] == ["Q2026-001", "Q2026-003"]


# --------------------------------------------------------------------------- where jobs stand


MOMENT = "2026-11-{:02} 09:00:00"
ROW = Row("stock.xlsx", "Cable", 2, {})


def known(
    *events: str,
    register: Sequence[GivenQuote] = (),
    orders: Sequence[OrderLine] = (),
    done: Collection[str] = (),
) -> Known:
    """What is known of the jobs after some moves of R01, each `hold twin`, on a day of its own."""
    notes = {"hold": "500 mm set aside", "release": "500 mm free again"}
    moves = []
    for day, event in enumerate(events, 1):
        what, job = event.split()
        moves.append(
            Move(
                when=MOMENT.format(day),
                job=job,
                what=what,
                item="order 2026-001" if what == "order" else "R01",
                change=Decimal(),
                unit="mm",
                left=Decimal(1000),
                note=notes.get(what, ""),
                row=Row("stock.xlsx", "Moves", day + 1, {}),
            )
        )
    reel = ShelfPiece(
        name="R01",
        gauge="1.0",
        colour=Colour("red"),
        length_mm=1000,
        cost_per_m=None,
        place="",
        row=ROW,
    )
    stock = Stock(file="", pieces=(reel,), drawer=(), moves=tuple(moves), orders=tuple(orders))
    shelf, problems = shelf_of(stock)
    assert not problems
    return Known.of(shelf, Register(rows=tuple(register)), done)


def waits(job: str, packs: int = 1) -> OrderLine:
    """Rings on order since the 2nd, of which so many packs have not come."""
    return OrderLine(
        number="2026-001",
        date=date(2026, 11, 2),
        supplier="Abel",
        item="ring",
        gauge="",
        colour=None,
        sold_as="pack",
        pack=Decimal(10),
        packs=2,
        price=None,
        part_no="",
        jobs=("other", job),
        needed=(),
        came=2 - packs,
        note="",
        measured=False,
        row=Row("stock.xlsx", "Orders", 2, {}),
    )


def quoted(number: str, total: int, **cells: Any) -> GivenQuote:
    """A quotation for the twin."""
    known = {"given": date(2026, 11, 1), "net": total, "total": total, **cells}
    exact: dict[str, Any] = {
        name: Decimal(v) if isinstance(v, int) else v for name, v in known.items()
    }
    return GivenQuote(number=number, job="Twin", **exact)


LATER = date(2026, 11, 9)
CHANGED = quoted("1", 10, accepted="2026-11-04", note="replaced by 2")
PAID = quoted("1", 10, accepted="2026-11-04", billed=10, paid=10)


@pytest.mark.parametrize(
    ("events", "more", "state", "since"),
    [
        ((), {}, "", ""),
        ((), {"register": [quoted("1", 10)]}, "given", "2026-11-01"),
        ((), {"register": [quoted("1", 10, accepted="no")]}, "declined", ""),
        ((), {"register": [quoted("1", 10, accepted="2026-11-04")]}, "accepted", "2026-11-04"),
        ((), {"register": [quoted("1", 10, deposit=5)]}, "accepted", ""),  # who pays has accepted
        # accepted, and changed since: it is accepted all the same, unless that is billed
        ((), {"register": [CHANGED, quoted("2", 12, given=LATER)]}, "accepted", "2026-11-04"),
        ((), {"register": [CHANGED, quoted("2", 12, accepted="no")]}, "accepted", "2026-11-04"),
        ((), {"register": [PAID, quoted("2", 12, given=LATER)]}, "given", "2026-11-09"),
        (
            (),
            {"register": [quoted("1", 10, accepted="yes")], "orders": [waits("twin")]},
            "on order",
            "2026-11-02",
        ),
        (("hold twin",), {}, "set aside", "2026-11-01"),
        (("hold twin", "hold twin"), {}, "set aside", "2026-11-01"),
        (("hold twin", "release twin", "hold other"), {}, "", ""),
        (("hold twin", "release twin", "hold twin"), {}, "set aside", "2026-11-03"),
        (
            ("hold twin",),
            {"orders": [waits("Twin")]},
            "on order",
            "2026-11-02",
        ),  # it waits for the rest
        (("hold twin",), {"orders": [waits("twin", 0)]}, "set aside", "2026-11-01"),
        (("hold twin", "issue twin"), {}, "issued", "2026-11-02"),
        # what is still to come for it, or held for it since, is its rest
        (("issue twin",), {"orders": [waits("twin")]}, "issued in part", "2026-11-01"),
        (("issue twin",), {"orders": [waits("twin", 0)]}, "issued", "2026-11-01"),
        (("issue twin", "hold Twin"), {}, "issued in part", "2026-11-01"),
        (("hold Twin", "issue twin"), {}, "issued", "2026-11-02"),
        # called off, it is that, whatever was ordered for it before
        (
            ("issue twin", "takeback twin"),
            {"orders": [waits("twin")]},
            "taken back",
            "2026-11-02",
        ),
        (
            ("issue twin", "takeback twin", "order twin"),
            {"orders": [waits("twin")]},
            "on order",
            "2026-11-02",
        ),
        (
            ("hold twin",),
            {"register": [quoted("1", 10, accepted="no")], "orders": [waits("twin")]},
            "declined",
            "",
        ),
        (
            ("issue twin",),
            {"register": [quoted("1", 10, accepted="no")]},
            "issued",
            "2026-11-01",
        ),
        (("issue twin", "takeback twin"), {}, "taken back", "2026-11-02"),
        (("issue twin", "takeback twin", "issue twin"), {}, "issued", "2026-11-03"),
        (("issue twin", "takeback twin", "hold twin"), {}, "set aside", "2026-11-03"),
        (("issue twin",), {"done": {"twin"}}, "done", ""),
        (("issue twin",), {"done": {"t-1"}}, "done", ""),  # by the name of its file
    ],
)
def test_what_is_furthest_along_counts(
    events: Sequence[str], more: Mapping[str, Any], state: str, since: str
) -> None:
    """A job is known by the name on its Job sheet in any letters."""
    stands = standing(("twin", "t-1"), known(*events, **more))
    assert (stands.state, stands.since) == (state, since)


@pytest.mark.parametrize(
    ("rows", "unpaid"),
    [
        ([], None),
        ([quoted("1", 1000)], None),  # nobody owes what is not agreed
        ([quoted("1", 1000, accepted="2026-11-04")], 1000),
        ([quoted("1", 1000, accepted="2026-11-04", deposit=300)], 700),
        ([quoted("1", 1000, deposit=300)], 700),
        ([quoted("1", 1000, deposit=300, billed=date(2026, 12, 1), paid=200)], 500),
        ([quoted("1", 1000, deposit=300, billed=1100)], 800),  # something was found
        ([quoted("1", 1000, deposit=300, billed=1100, paid=date(2026, 12, 9))], 0),
        ([quoted("1", 1000, accepted="no", deposit=None)], None),
        # a changed job: the first counts until the second is accepted, its deposit always
        (
            [
                quoted("1", 1000, deposit=300, note="replaced by 2"),
                quoted("2", 1200, given=date(2026, 11, 9)),
            ],
            700,
        ),
        (
            [
                quoted("1", 1000, deposit=300, note="asks for more; replaced by 2"),
                quoted("2", 1200, given=date(2026, 11, 9), accepted="yes"),
            ],
            900,
        ),
        # a second piece of work beside one that is paid
        (
            [
                quoted("1", 1000, billed=1000, paid=1000),
                quoted("2", 100, given=date(2026, 11, 9), accepted="yes"),
            ],
            100,
        ),
    ],
)
def test_what_a_customer_owes(rows: Sequence[GivenQuote], unpaid: int | None) -> None:
    """Of what was accepted the amount billed, else quoted, less deposit and payments."""
    assert standing(("twin",), known(register=rows)).unpaid == unpaid


@pytest.mark.parametrize(
    ("rows", "numbers"),
    [
        ([CHANGED, quoted("2", 12, given=LATER)], ["2"]),
        ([CHANGED, quoted("2", 12, given=LATER, accepted="no")], ["1"]),  # the first, after all
        ([PAID, quoted("2", 12, given=LATER)], ["1", "2"]),  # more work, later
        ([quoted("1", 10, accepted="no")], []),
    ],
)
def test_what_a_job_was_quoted(rows: Sequence[GivenQuote], numbers: Sequence[str]) -> None:
    """What was declined is no price of it, nor what another took the place of."""
    assert [one.number for one in standing(("twin",), known(register=rows)).quoted] == numbers


def registered(folder: Path) -> None:
    """Four jobs' quotations, as an owner's register has them."""
    row = ("", "", "2026-10-01", "2026-10-31")
    as_csv(
        folder / "register.csv",
        [
            HEADS,
            ("Q2026-001", "twin", *row, 900, 1080, "2026-10-05", 300, 1080, 780, 150, 20, ""),
            ("Q2026-002", "single", *row, 500, 600, "2026-10-08", 200, "", "", 100, 12, ""),
            ("Q2026-003", "gone", *row, 800, 960, "yes", "", 480, "", 200, 16, ""),
            ("Q2026-004", "trike", *row, 700, 840, "no", "", "", "", 100, 10, ""),
        ],
    )
    heads = "job,done,kind,base,planned,used,spoilt,unit\n"
    twin, gone = (f"{job},{day},labour,20,20,{used},0,h\n" for job, day, used in DONE)
    (folder / "done.csv").write_text(heads + twin + gone)


DONE = (("twin", "2026-10-20", 25), ("gone", "2026-10-22", 10))


def test_all_jobs_with_their_figures(tmp_path: Path) -> None:
    """`gone` has no book: (800 x 480 / 960 - 200) / 10 = 20 an hour; twin (900 - 150) / 25 = 30."""
    shop(tmp_path)
    for name in ("twin", "single", "trike", "new"):
        loom(tmp_path, name, 1, covers=0)
    registered(tmp_path)
    done(tmp_path, hold(tmp_path / "jobs" / "single.xlsx"))
    answer = json.loads(bom("jobs", "--json", cwd=tmp_path).stdout)
    keys = ("job", "state", "number", "net", "at_cost", "hours_planned", "hours_used")
    found = [tuple(j[k] for k in (*keys, "earned_an_hour", "unpaid")) for j in answer["jobs"]]
    assert found == [
        ("new", "", "", None, None, None, None, None, None),
        ("trike", "declined", "Q2026-004", None, None, None, None, None, None),
        ("single", "set aside", "Q2026-002", "500.00", "100.00", 12, None, None, "400.00"),
        ("gone", "done", "Q2026-003", "800.00", "200.00", 16, 10, "20.00", "480.00"),
        ("twin", "done", "Q2026-001", "900.00", "150.00", 20, 25, "30.00", "0.00"),
    ]
    assert [j["book"] for j in answer["jobs"]] == ["new", "trike", "single", "", "twin"]
    assert [j["since"] for j in answer["jobs"]][3:] == ["2026-10-22", "2026-10-20"]


def test_bom_alone_and_bom_jobs_say_the_same(tmp_path: Path) -> None:
    """Both ask the one place that knows."""
    shop(tmp_path)
    for name in ("twin", "single", "trike", "new"):
        loom(tmp_path, name, 1, covers=0)
    registered(tmp_path)
    done(tmp_path, issue(tmp_path / "jobs" / "single.xlsx", again=False, in_part=False))
    lines = {line.job: line for line in jobs_of(find_workshop(tmp_path)).lines}
    told = {d.job: d.stands for d in due(find_workshop(tmp_path)) if d.job}
    words = {"": "nothing", "declined": "Q2026-004 was declined"}
    for name, stands in told.items():
        state = lines[name].standing.state
        assert stands.startswith(words.get(state, state)), name


@pytest.mark.parametrize(
    ("day", "line"),
    [
        ("2026-12-12", "given as Q2026-001 on 2026-11-20 | "),
        ("2026-12-13", "given as Q2026-001 on 2026-11-20, no answer, valid until 2026-12-20 | "),
        (
            "2026-12-21",
            "given as Q2026-001 on 2026-11-20, valid until 2026-12-20, no answer | "
            "bom quote twin --give",
        ),
    ],
)
def test_a_quotation_without_an_answer_is_due_when_its_days_are_numbered(
    day: str, line: str, folder: Path, today: Callable[[str], None]
) -> None:
    """Seven days before it ends, and once it has."""
    given(folder)
    today(day)
    assert [f"{d.stands} | {d.then}" for d in due(find_workshop(folder)) if d.job] == [line]


def test_what_is_declined_lets_go_of_what_is_kept_for_it(tmp_path: Path) -> None:
    """6 covers and 1 m are set aside: two things; `bom jobs` has the state alone."""
    folder = shop(tmp_path)
    trike = loom(folder, "trike", 1)
    registered(folder)
    done(folder, hold(trike))
    (line,) = (d for d in due(find_workshop(folder)) if d.job == "trike")
    assert line.stands == "Q2026-004 was declined, 2 things set aside"
    assert line.then == "bom stock release trike"
    assert " declined " in bom("jobs", cwd=folder).stdout


def test_a_stock_book_with_errors_hides_what_came_after(tmp_path: Path) -> None:
    """The single was accepted on 5 October and is issued: nobody is told to order it again."""
    folder = shop(tmp_path)
    single, new = loom(folder, "single", 1), loom(folder, "new", 1)
    assert new.exists()
    as_csv(folder / "register.csv", [HEADS, ACCEPTED])
    done(folder, issue(single))
    typed(folder / "stock.xlsx", "Drawer", C2="some")
    lines = {d.job: (d.stands, d.then) for d in due(find_workshop(folder))}
    assert lines["single"] == (
        "accepted 2026-10-08, no more is known while the stock book has errors",
        "",
    )
    assert lines["new"] == ("has no errors", "")
    told = bom("jobs", cwd=folder).stdout
    assert "accepted" in told and "not known" in told and "nothing yet" not in told


ACCEPTED = ("Q2026-002", "single", "", "", "2026-10-01", "2026-10-31", 500, 600, "2026-10-08")


def test_a_register_that_cannot_be_read_is_a_line(folder: Path) -> None:
    """Each of its cells is told by bom jobs."""
    given(folder)
    loom(folder, "twin", 3, **RATE)
    given(folder)
    typed(folder / "register.xlsx", "Register", I2="soon", G3="much", H3="more")
    lines = [f"{d.stands} | {d.then}" for d in due(find_workshop(folder)) if not d.job]
    assert lines == ["register.xlsx has 2 errors | bom jobs"]
    told = bom("jobs", cwd=folder)
    assert told.returncode == 1
    wanted = "I2: 'soon' is neither a day nor yes nor no; try: 2026-11-25, yes or no\n"
    assert wanted in told.stderr
    assert "twin" in told.stdout


def came_of_it(folder: Path, heading: str, cell: Any) -> GivenQuote:
    """The row of a quotation of 100 with tax, with this in a cell of the owner's."""
    row = {"number": "1", "job": "twin", "given": "2026-11-20", "net": 80, "total": 100}
    as_csv(folder / "register.csv", [HEADS, [({**row, heading: cell}).get(h, "") for h in HEADS]])
    (found,) = read_register(folder / "register.csv")[0].rows
    return found


@pytest.mark.parametrize(
    ("said", "means"),
    [
        *((word, "yes") for word in ("yes", "Yes", "y", "x", "X", "OK", "ok", "ja", "✓", "TRUE")),
        *((word, "no") for word in ("no", "No", "-", "declined", "✗")),
        *((day, "2026-12-03") for day in ("2026-12-03", "3.12.2026", "3/12/2026", "03/12/2026")),
        ("3/4/2026", "2026-04-03"),  # the day before the month
        ("yes 3.12.", ""),
        ("12/25/2026", ""),
    ],
)
def test_how_an_owner_says_that_it_is_accepted(said: str, means: str, tmp_path: Path) -> None:
    """A mark is a yes; wrong before: only a day as 2026-12-03, `yes` and `no` were known."""
    row = came_of_it(tmp_path, "accepted", said)
    assert row.accepted == means
    assert row.unread == (frozenset() if means else {"accepted"})


@pytest.mark.parametrize(
    ("heading", "said", "received"),
    [
        *(("paid", said, 100) for said in ("paid", "yes", "x", "cash", "in cash", "transfer")),
        *(("paid", said, 100) for said in ("paid by bank transfer", "5.12.2026", "5/12/2026")),
        *(("paid", said, 0) for said in ("no", "-", "0", "", "half", "not paid")),
        ("paid", "40", 40),
        ("deposit", "£40", 40),
        ("deposit", "no", 0),
        ("deposit", "40 cash", 0),
    ],
)
def test_how_an_owner_says_that_it_is_paid(
    heading: str, said: str, received: int, tmp_path: Path
) -> None:
    """All of it, unless an amount is said; what is not understood counts for nothing."""
    row = came_of_it(tmp_path, heading, said)
    assert row.received == received
    assert row.unread == ({heading} if said in ("half", "not paid", "40 cash") else frozenset())


@pytest.mark.parametrize(
    ("said", "billed"),
    [("yes", 100), ("x", 100), ("billed", 100), ("1.12.2026", 100), ("110", 110)],
)
def test_how_an_owner_says_that_it_is_billed(said: str, billed: int, tmp_path: Path) -> None:
    """As quoted, unless an amount is said."""
    row = came_of_it(tmp_path, "billed", said)
    assert row.billed and row.amount == billed and not row.unread


def test_a_word_in_one_row_does_not_stop_the_quotations_of_other_jobs(folder: Path) -> None:
    """Wrong before: it did.  What came of the job's own has to be known before another is given."""
    given(folder)
    typed(folder / "register.xlsx", "Register", L2="R-17")
    loom(folder, "single", 2, **RATE)
    done = bom("quote", "single", "--give", cwd=folder)
    assert done.returncode == 0 and "given as Q2026-002" in done.stdout
    says = "register.xlsx › Register › L2: 'R-17' is neither an amount nor a day nor yes"
    assert f"caution: {says}; try: an amount such as 935.44, 2026-11-25 or yes\n" in done.stderr
    assert bom("jobs", cwd=folder).returncode == 0
    loom(folder, "twin", 3, **RATE)
    refused(folder, f"error: {says}")
