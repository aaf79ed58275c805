"""`bom` alone: what is due next in a workshop, and how to begin outside one."""

import os
import time
from pathlib import Path

import pytest
from openpyxl import load_workbook

from bom.job import find_workshop
from bom.workshop.due import due
from bom.workshop.jobs import jobs_of
from bom.workshop.shelf_requests import count, hold, issue, release, take_back
from bom.workshop.stockroom import undo
from tests.stockrooms import REELS, done, loom, shop
from tests.within import bom

TO_BEGIN = """\
bom reads your list of circuits and works out cable, terminals, order, cut list and price.

to begin:
  bom new workshop PATH   makes a folder with house rules, blank books and one worked job
  bom check JOB           looks through a list of circuits that you have, wherever it lies

bom --help lists all commands.
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A workshop without a job."""
    return shop(tmp_path)


def told(folder: Path) -> list[str]:
    """What is due, a line each: the job, where it stands, and what to type."""
    return [f"{d.job} | {d.stands} | {d.then}" for d in due(find_workshop(folder))]


def aged(path: Path, hours: int) -> Path:
    """The file, last written so many hours ago."""
    moment = time.time() - 3600 * hours
    os.utime(path, (moment, moment))
    return path


def misspelt(folder: Path, name: str, faults: int = 1) -> Path:
    """A job with so many colours that are none."""
    rows = "".join(f"battery,lamp {n},gren,1,5 W\n" for n in range(faults))
    path = folder / "jobs" / f"{name}.csv"
    path.parent.mkdir(exist_ok=True)
    path.write_text("from,to,colour,length,load\n" + rows)
    return path


def test_outside_a_workshop_two_ways_to_begin(tmp_path: Path) -> None:
    """Short, and no error."""
    alone = bom(cwd=tmp_path)
    assert (alone.returncode, alone.stdout, alone.stderr) == (0, TO_BEGIN, "")
    assert due(find_workshop(tmp_path)) == ()


def test_each_job_tells_where_it_stands(folder: Path) -> None:
    """Newest first; the moves say what is set aside and issued, done.csv what is done."""
    aged(loom(folder, "ends", 1.5), 5)
    aged(loom(folder, "old twin", 1.5), 4)
    aged(misspelt(folder, "carrier", 3), 3)
    aged(loom(folder, "single", 1.0), 2)
    aged(loom(folder, "twin", 1.0), 1)
    held = done(folder, hold(folder / "jobs" / "single.xlsx"))
    out = done(folder, issue(folder / "jobs" / "old twin.xlsx", again=False, in_part=False))
    (folder / "done.csv").write_text("date,job,planned\n2026-11-20,Ends,3\n")
    assert told(folder) == [
        "twin | nothing set aside yet | ",
        f"single | set aside since {held.when[:10]} | ",
        "carrier | has 3 errors | bom check carrier",
        f'old twin | issued {out.when[:10]} | bom done "old twin"',
        "ends | done | ",
        " | 1 thing runs low | bom topup",  # covers: 20 - 6 held - 6 issued = 8, low at 10
    ]


ORDER = ("2026-11-20", "Abel", "bullet cover, male", None, None, "each", 1)
"""Of a line of Orders what stands between its number and its packs."""
HEADS = ("number", "date", "supplier", "item", "gauge", "colour", "sold as", "pack", "packs")
MORE = ("price", "part no", "for", "needed", "came", "note")


def ordered(folder: Path, *lines: tuple[str, str]) -> None:
    """Two covers are on order for each job, under these numbers."""
    opened = load_workbook(folder / "stock.xlsx")
    if "Orders" not in opened.sheetnames:
        opened.create_sheet("Orders").append((*HEADS, *MORE))
    sheet = opened["Orders"]
    for number, job in lines:
        sheet.append((number, *ORDER, 2, 0.1, None, job, 2, 0, None))
    opened.save(folder / "stock.xlsx")


def test_what_is_kept_for_a_job_without_a_book_is_told(folder: Path) -> None:
    """Renamed, deleted or mistyped: 6 covers and 1 m are held, and an order is on the way."""
    twin = loom(folder, "twin", 1.0)
    done(folder, hold(twin))
    ordered(folder, ("2026-001", "twin"), ("2026-002", "Twinn"), ("2026-002", "top-up"))
    twin.rename(folder / "jobs" / "t-1.xlsx")
    assert [line for line in told(folder) if "no job book" in line] == [
        "Twinn | no job book of that name; 1 order to come | bom stock orders"
    ]
    loom(folder, "t-1", 1.0)
    lost = "twin | no job book of that name; 2 things set aside, 1 order to come | "
    assert f"{lost}bom stock release twin" in told(folder)
    names = [line.job for line in jobs_of(find_workshop(folder)).lines]
    assert sorted(names) == ["Twinn", "t-1", "twin"]
    listing = bom("jobs", cwd=folder).stdout
    assert f"{lost.replace(' | ', ': ', 1)[:-3]}: bom stock release twin" in " ".join(
        listing.split()
    )
    released = bom("stock", "release", "twin", cwd=folder)
    assert released.returncode == 0
    assert [line.partition(" | ")[2] for line in told(folder) if line.startswith("twin")] == [
        "no job book of that name; 1 order to come | bom stock orders"
    ]


def test_a_rest_that_waits_and_a_job_that_was_called_off(folder: Path) -> None:
    """What came of an order is held, and the rest of it waits; called off, the order is left."""
    twin = loom(folder, "twin", 1.0)
    day = done(folder, issue(twin)).when[:10]
    done(folder, hold(loom(folder, "twin", 1.0, 1.5)))
    rest = f"twin | issued in part {day}, the rest"
    assert told(folder)[0] == f"{rest} set aside | bom stock issue twin --rest"
    ordered(folder, ("2026-001", "twin"))
    assert told(folder)[0] == f"{rest} on order | bom stock orders"
    done(folder, take_back(find_workshop(folder), [(twin, "twin")]))
    off = f"twin | taken back {day}, 2026-001 still to come | "
    assert told(folder)[0] == f"{off}bom stock close 2026-001"
    ordered(folder, ("2026-001", "single"))
    assert told(folder)[0] == f"{off}bom stock orders"  # another waits for some of it


def test_some_of_what_is_on_order_is_set_aside(folder: Path) -> None:
    """It counts from the first that is still held: of one thing that is set free, the other."""
    twin = loom(folder, "twin", 1.0)
    day = done(folder, hold(twin)).when[:10]
    ordered(folder, ("2026-001", "Twin"))
    stands = f"twin | on order since 2026-11-20, some of it set aside since {day} | "
    assert told(folder)[0] == f"{stands}bom stock orders"
    done(folder, count(find_workshop(folder), COVERS, "3"), yes=True)  # sets 3 of 6 free
    assert told(folder)[0] == f"{stands}bom stock orders"


COVERS = "bullet cover, male"
HELD = ((20, 1500), (24, 500))


def test_a_job_goes_by_the_last_that_was_done_for_it(folder: Path) -> None:
    """Set free, it is as before; a second hold keeps the day of the first; undone is undone."""
    twin = loom(folder, "twin", 1.5)
    done(folder, hold(twin))
    done(folder, release(twin, "twin"))
    assert told(folder) == ["twin | nothing set aside yet | "]
    done(folder, issue(twin, again=False, in_part=False))
    done(folder, undo)
    assert told(folder) == ["twin | nothing set aside yet | "]
    held = ("twin", "hold", "R01", 0, "mm", 10000)
    days = [(f"2026-11-{day} 09:00:00", *held, f"{mm} mm set aside") for day, mm in HELD]
    shop(folder, moves=days)
    assert told(folder) == ["twin | set aside since 2026-11-20 | "]


def test_the_name_on_the_job_sheet_counts_in_the_moves(folder: Path) -> None:
    """The line has the name that one types: that of the file."""
    path = loom(folder, "twin", 1.0)
    named = path.rename(folder / "jobs" / "t-1.xlsx")
    held = done(folder, hold(named))
    assert told(folder) == [f"t-1 | set aside since {held.when[:10]} | "]
    for name in ("t-1", "Twin"):
        (folder / "done.csv").write_text(f"job\n{name}\n")
        assert told(folder) == ["t-1 | done | "]


def test_of_many_jobs_the_newest_eight(folder: Path) -> None:
    """Thirteen books: eight lines, and five more."""
    for number in range(13):
        aged(misspelt(folder, f"job-{number}"), number)
    lines = told(folder)
    assert lines[:8] == [f"job-{n} | has 1 error | bom check job-{n}" for n in range(8)]
    assert lines[8:] == [" | and 5 more | "]


def test_books_that_cannot_be_read_are_a_line_each(folder: Path) -> None:
    """No traceback: rubbish under a workbook's name, and an empty file; marks are no jobs."""
    jobs = folder / "jobs"
    jobs.mkdir()
    aged_names = ("rubbish.xlsx", "empty.csv", "~$rubbish.xlsx", ".~lock.rubbish.xlsx#", "note.txt")
    for hours, name in enumerate(aged_names):
        (jobs / name).write_bytes(b"" if "empty" in name else b"PK rubbish")
        aged(jobs / name, hours)
    alone = bom(cwd=jobs)
    assert (alone.returncode, alone.stderr) == (0, "")
    assert alone.stdout == (
        f"due next: {folder.name}\n"
        "\n"
        "job      where it stands\n"
        "-------  ---------------------------------\n"
        "rubbish  cannot be read: bom check rubbish\n"
        "empty    cannot be read: bom check empty\n"
    )


def test_a_workshop_without_a_job(folder: Path) -> None:
    """It says how to make one."""
    assert bom(cwd=folder).stdout == (
        f"due next: {folder.name}\n\n(nothing)\n\nno job yet: bom new job NAME\n"
    )


def test_what_runs_low_counts_what_is_set_aside(folder: Path) -> None:
    """20 covers, low at 10: 12 set aside for a job leave 8, and one thing runs low."""
    twin = loom(folder, "twin", 1.0, covers=12)
    assert told(folder)[1:] == []
    done(folder, hold(twin))
    assert told(folder)[1:] == [" | 1 thing runs low | bom topup"]


def test_a_thing_changed_by_hand_is_told(tmp_path: Path) -> None:
    """The book has 10 m of R01, the moves say 9."""
    counted = ("2026-11-20 09:00:00", None, "count", "R01", -1000, "mm", 9000, None)
    folder = shop(tmp_path, REELS, moves=(counted,))
    assert told(folder)[1:] == [" | 1 thing was changed by hand | bom stock show"]


def test_errors_of_the_workshop_are_a_line_for_each_book(tmp_path: Path) -> None:
    """Nothing is said of what is set aside then, and no job is charged with them."""
    folder = shop(tmp_path, (("R01", "1.0", "rde", 10, 0.3),))
    (folder / "workshop.toml").write_text('tax_percent = "much"\nspare_prcent = 5\n')
    loom(folder, "twin", 1.0)
    assert told(folder) == [
        "twin | has no errors | ",
        " | stock.xlsx has 1 error | bom stock show",
        " | workshop.toml has 2 errors | bom stock show",
    ]


@pytest.mark.parametrize("text", ["", "what,when\n1,2\n", "\n\n", "a,job\n1\n"])
def test_a_book_of_jobs_done_is_read_leniently(folder: Path, text: str) -> None:
    """Empty, without a column job, or with rows that end before it: nothing is done."""
    loom(folder, "twin", 1.0)
    (folder / "done.csv").write_text(text)
    assert told(folder) == ["twin | nothing set aside yet | "]


def test_nothing_is_written_or_taken_off(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Books are read and checked alone."""
    loom(folder, "twin", 1.0)
    before = {p: p.stat().st_mtime_ns for p in folder.rglob("*")}

    def never(*_: object) -> None:
        raise AssertionError("taken off")

    monkeypatch.setattr("bom.job.take_off", never)
    assert told(folder) == ["twin | nothing set aside yet | "]
    assert {p: p.stat().st_mtime_ns for p in folder.rglob("*")} == before
