"""After the job: the sheet of what was used, what it books, what is kept, what is learned.

Figures are hand arithmetic on the job of `rewired`, written beside them.
"""

import errno
import json
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from bom.files import safely
from bom.files.table import as_text
from bom.job import find_workshop
from bom.show.after_json import done_out, taught_out
from bom.show.after_tables import done_tables, taught_tables
from bom.trade.catalogue_files import load_catalogue
from bom.workshop import after_job as after_job
from bom.workshop.after_job import After, after, taught
from bom.workshop.done_file import read_done
from bom.workshop.shelf_requests import hold, issue, take_back
from bom.workshop.stockroom import Booked, How, undo
from bom.workshop.stockroom import book as book_shelf
from tests.books import book
from tests.shops import PLAIN, job
from tests.stockrooms import done as carried_out
from tests.stockrooms import loom, moves, shelf, shop, typed
from tests.within import ROOT, bom

OURS, _ = load_catalogue()
RING = "ring terminal, M6, 0.5-1.5 mm2"
TUBE = "PVC tube, 3 mm bore"
DRAWER = ((RING, "each", 20, None, None, 0.1), (TUBE, "m", 3, None, None, 0.5))
CIRCUITS = ("wire", "from", "to", "colour", "gauge", "fuse", "from end", "to end")
TODAY = f"{date.today()}"
HEADS = "job,done,kind,base,planned,used,spoilt,unit"


def rewired(folder: Path, name: str = "twin", *, drawer: Any = DRAWER) -> Path:
    """One wire of 1.0 red through a loom, the house's own rules; the job as the design has it.

    Path 500 + 800 = 1300 mm, x 1.05 = 1365; tail 150 and 2 x 40 at the ends: 1595, piece 1600.
    Spare 5 % of 1600: 80.  Two rings and two spares.  Tube over 800 mm, and 10 %: 880.
    """
    shop(folder, drawer=drawer)
    return book(
        folder / "jobs",
        f"{name}.xlsx",
        Circuits=[CIRCUITS, ("P1", "battery", "lamp", "red", "1.0", "none", "ring M6", "ring M6")],
        Loom=[
            ("from", "to", "length m", "covering"),
            ("battery", "spine", 0.5, "none"),
            ("spine", "tail", 0.8, "tube"),
        ],
        Components=[("component", "at", "load", "tail mm"), ("lamp", "tail", "5 W", 150)],
        Labour=[("task", "qty", "hours"), ("strip out", 2, 2)],
    )


def issued(folder: Path, **more: Any) -> Path:
    """The job held and issued: R02 2 - 1.6 = 0.4 m, rings 20 - 4, tube 3 - 0.88 m."""
    path = rewired(folder, **more)
    carried_out(folder, hold(path))
    carried_out(folder, issue(path, again=False, in_part=False))
    return path


def begun(folder: Path, make: Callable[..., Path] = issued, **more: Any) -> Path:
    """The job issued, unless it is made otherwise, and its sheet."""
    path = make(folder, **more)
    run(path)
    return path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Such a job, in the tests' own folder."""
    return begun(tmp_path)


def run(path: Path, *, again: bool = False, **how: bool) -> After:
    """`bom done` on a job."""
    return after(path, How(**how), again=again)


def errors(answer: After) -> list[str]:
    """Sheet, cell and sentence of each error of an answer."""
    wrong = (p for p in answer.problems if p.level == "error")
    return [" ".join(filter(None, (p.where.sheet, p.where.cell, p.says))) for p in wrong]


def sheet_of(path: Path) -> Path:
    """Where the job's sheet is."""
    return path.parent.parent / "used" / f"{path.stem}.xlsx"


def used(path: Path, **cells: Any) -> None:
    """Set cells of the sheet Used; row 2 is cable, 3 rings, 4 tube; G used, H spoilt."""
    typed(sheet_of(path), "Used", **cells)


def worked(path: Path, hours: Mapping[str, float | None], rest: Any = ...) -> None:
    """Type the hours of these tasks, and of all the rest."""
    tasks = load_workbook(sheet_of(path))["Labour"].iter_rows(min_row=2, max_col=1)
    new = {f"C{cell.row}": hours.get(str(cell.value), rest) for (cell,) in tasks}
    typed(sheet_of(path), "Labour", **{at: value for at, value in new.items() if value is not ...})


def rows(folder: Path) -> dict[str, tuple[str, ...]]:
    """The rows of done.csv by kind: base, planned, used, spoilt, unit."""
    text = (folder / "done.csv").read_bytes().decode("utf-8-sig")
    head, *lines = text.split("\r\n")
    assert head == HEADS
    return {cells[2]: tuple(cells[3:]) for line in lines if (cells := line.split(","))[2:]}


# ----------------------------------------------------------------------------- the sheet


def test_the_first_time_makes_the_sheet(tmp_path: Path) -> None:
    """Filled in with the plan; fixed is 1600 - 1365 = 235 mm; nothing is booked or kept."""
    path = issued(tmp_path)
    before = shelf(tmp_path)
    answer = run(path)
    assert (answer.made, answer.stored, answer.problems) == (True, False, answer.problems)
    assert errors(answer) == []
    opened = load_workbook(sheet_of(path))
    assert opened.sheetnames == ["Read me", "Used", "Labour", "Wires", "Tests", "Job"]
    found = [
        row for row in opened["Used"].iter_rows(min_row=2, values_only=True) if row[0] is not None
    ]
    assert found == [
        (
            *("cable", "cable, 1.0 mm2, red", "1.0", "red", "m"),
            *(1.68, 1.6, 0, None, 1.6, 1.3, 0.235),
        ),
        ("terminal", RING, None, None, "each", 4, 2, 0, None, 2, None, None),
        ("tube", TUBE, None, None, "m", 0.88, 0.8, 0, None, 0.8, None, None),
    ]
    assert shelf(tmp_path) == before
    assert not (tmp_path / "done.csv").exists()


def test_the_hours_are_those_of_the_quote(tmp_path: Path) -> None:
    """Minutes of catalogs/labour.csv: 1.5 cut, 2 crimps, 0.8 x 3 tube, 0.5 test, 2 x 10 fit.

    26.4 min are 0.44 h; with 2 x 2 h typed 4.44 h.
    """
    path = begun(tmp_path, rewired)
    hours = {
        row[0]: row[1:]
        for row in load_workbook(sheet_of(path))["Labour"].iter_rows(min_row=2, values_only=True)
        if row[0]
    }
    assert hours["strip out"] == (4, 4, None, 4)
    assert hours["cut and strip"] == (0.025, 0.025, None, 0.025)
    planned, worked, note, counted = hours["all together"]
    assert [planned, counted] == [pytest.approx(4.44, abs=1e-5)] * 2
    assert (worked, note) == (None, None)


def test_the_sheet_can_be_read_and_printed(tmp_path: Path) -> None:
    """Ten lines to read first at the most, a note on each heading, frozen, A4 across, widths."""
    path = begun(tmp_path, rewired)
    opened = load_workbook(sheet_of(path))
    assert 1 < opened["Read me"].max_row <= 10
    for name in ("Used", "Labour", "Wires", "Tests", "Job"):
        sheet = opened[name]
        assert sheet.freeze_panes == "A2"
        assert (sheet.page_setup.orientation, str(sheet.page_setup.paperSize)) == ("landscape", "9")
        for index, head in enumerate(sheet[1]):
            assert head.comment and head.comment.text
            assert sheet.column_dimensions["ABCDEFGHIJKL"[index]].width >= len(str(head.value))


def test_a_job_with_errors_makes_no_sheet(tmp_path: Path) -> None:
    """The errors are those of bom check."""
    path = loom(shop(tmp_path), "twin", 1.5)
    typed(path, "Circuits", B2="gren")
    assert errors(run(path)) == ["Circuits B2 colour 'gren' is not known"]
    assert not sheet_of(path).parent.exists()


def test_a_file_where_the_folder_belongs_is_left(tmp_path: Path) -> None:
    """It is the owner's."""
    path = rewired(tmp_path)
    (tmp_path / "used").write_text("mine")
    assert errors(run(path)) == [f"{tmp_path / 'used'} is there already and is left as it is"]


# ------------------------------------------------------------------------ booked and kept


def test_what_was_used_is_booked_and_kept(path: Path, tmp_path: Path) -> None:
    """There and back, each figure by hand.

    Cable: 1.65 used and 0.25 spoilt are 1.9; 1.6 were issued: 0.3 more, R02 0.4 - 0.3 = 0.1 m.
    Rings: 2 and 1 of 4: 1 back, 16 + 1 = 17.  Tube: 0.86 of 0.88: 2.12 + 0.02 = 2.14 m.
    Along the loom: 1.65 - 0.235 = 1.415 of 1.3 m.  Labour: 6 h of 4.44.
    """
    used(path, G2=1.65, H2=0.25, H3=1, G4="86 cm")
    worked(path, {"all together": 6})
    answer = run(path)
    assert errors(answer) == [] and answer.stored
    after_it = {"R01": 10, "R02": 0.1, "R03": 5, RING: 17, TUBE: 2.14}
    assert shelf(tmp_path) == after_it
    assert moves(tmp_path)[-3:] == [
        ("twin", "done", RING, 1, "each", 17, "came back"),
        ("twin", "done", TUBE, 0.02, "m", 2.14, "came back"),
        ("twin", "done", "R02", -0.3, "m", 0.1, "1.0 red; more taken"),
    ]
    labour = rows(tmp_path).pop("labour")
    assert [float(figure) for figure in labour[:4]] == pytest.approx([4.44, 4.44, 6, 0], abs=1e-5)
    assert {kind: row for kind, row in rows(tmp_path).items() if kind != "labour"} == {
        "run": ("1.3", "1.365", "1.415", "0", "m"),
        "cable": ("1.6", "1.68", "1.65", "0.25", "m"),
        "terminal": ("2", "4", "2", "1", "each"),
        "tube": ("0.8", "0.88", "0.86", "0", "m"),
    }
    assert {record.done for record in read_done(tmp_path / "done.csv", OURS)[0]} == {TODAY}
    carried_out(tmp_path, undo)
    assert shelf(tmp_path) == {"R01": 10, "R02": 0.4, "R03": 5, RING: 16, TUBE: 2.12}
    run(path, again=True)
    assert shelf(tmp_path) == after_it


def test_nothing_is_booked_twice(path: Path, tmp_path: Path) -> None:
    """Again as it is: nothing.  Again with one ring more: that ring; kept rows are replaced.

    A second time it must be asked for.
    """
    run(path)
    assert shelf(tmp_path)[RING] == 18  # 2 of 4 came back
    number, kept = len(moves(tmp_path)), (tmp_path / "done.csv").read_bytes()
    assert errors(run(path)) == [f"'twin' was done on {TODAY}"]
    assert (tmp_path / "done.csv").read_bytes() == kept
    assert run(path, again=True).stored
    assert len(moves(tmp_path)) == number
    used(path, H3=1)
    run(path, again=True)
    assert moves(tmp_path)[number:] == [("twin", "done", RING, -1, "each", 17, "more taken")]
    assert rows(tmp_path)["terminal"] == ("2", "4", "2", "1", "each")
    assert len([r for r in read_done(tmp_path / "done.csv", OURS)[0] if r.kind == "run"]) == 1


def test_a_job_that_was_never_issued_is_kept_and_not_booked(tmp_path: Path) -> None:
    """The shelf is as it was, and a caution says so; without a stock book as well."""
    path = begun(tmp_path, rewired)
    old = (tmp_path / "stock.xlsx").read_bytes()
    answer = run(path)
    (told,) = answer.problems
    assert told.level == "caution" and told.says.startswith("'twin' was never issued")
    assert answer.stored and answer.booked is None
    assert (tmp_path / "stock.xlsx").read_bytes() == old
    (tmp_path / "stock.xlsx").unlink()
    answer = run(path, again=True)
    assert answer.stored and "there is no stock book" in answer.problems[0].says


NOWHERE = "{} used that the book has not, so that it is not booked: bom stock count {} with "


def test_what_is_nowhere_is_told_and_the_job_kept(path: Path, tmp_path: Path) -> None:
    """Nothing falls below zero: 18 more rings than the 16 there, 20.6 m of the 10.4 m of red.

    Used 2, spoilt 20 are 22 rings; 4 were issued.  Rings 18 - 16 = 2, cable 20.6 - 10.4 = 10.2 m.
    """
    used(path, H3=20, H2=20.6)
    answer = run(path)
    assert errors(answer) == [] and answer.stored
    assert shelf(tmp_path) == {"R03": 5, TUBE: 2.2}
    told = remarks(answer)
    assert told[0].startswith(NOWHERE.format(f"2 each of '{RING}'", "ITEM NUMBER"))
    assert told[1] == "1.0 red: 20.6 m more than was issued: 0.4 m off R02 and 10 m off R01"
    assert told[2].startswith(NOWHERE.format("10.2 m of 1.0 red", "PIECE LENGTH"))
    number = len(moves(tmp_path))
    assert run(path, again=True).stored and len(moves(tmp_path)) == number


def test_a_dry_run_writes_nothing(path: Path, tmp_path: Path) -> None:
    """It shows what would be booked, and before that the plan."""
    old = (tmp_path / "stock.xlsx").read_bytes()
    answer = run(path, dry_run=True)
    assert answer.booked and [e.item for e in answer.booked.entries] == ["job twin", RING, TUBE]
    assert not answer.stored and not (tmp_path / "done.csv").exists()
    assert (tmp_path / "stock.xlsx").read_bytes() == old
    sheet_of(path).unlink()
    answer = run(path, dry_run=True)
    assert not answer.made and not sheet_of(path).exists()
    assert "a dry run: used/twin.xlsx is not made" in as_text(done_tables(answer)[0])


def test_what_nobody_measured_is_neither_booked_nor_kept(path: Path, tmp_path: Path) -> None:
    """An empty cell under used; the rest is booked."""
    used(path, G2=None, G4=None)
    answer = run(path)
    assert set(rows(tmp_path)) == {"terminal", "labour"}
    assert shelf(tmp_path)[TUBE] == 2.12 and shelf(tmp_path)[RING] == 18
    text = as_text(done_tables(answer)[0])
    assert "not measured, so neither booked nor learned from: cable, 1.0 mm2, red" in text


def test_hours_by_task_are_added_up(tmp_path: Path) -> None:
    """4 h typed were 5, and the rest was not timed: 5 of 4 h."""
    path = begun(tmp_path, rewired)
    worked(path, {"strip out": 5}, rest=None)
    run(path)
    assert rows(tmp_path)["labour"] == ("4", "4", "5", "0", "h")


def test_something_unplanned_is_a_row_of_its_own(tmp_path: Path) -> None:
    """2 fuses out of the drawer, 6 in it: 4; what is not on the shelf is told and not booked."""
    fuse = ("blade fuse, 10 A", "each", 6, None, None, 0.2)
    path = issued(tmp_path, drawer=(*DRAWER, fuse))
    run(path)
    used(path, A5="fuse", B5="blade fuse, 10 A", E5="each", G5=2)
    used(path, A6="fuse holder", B6="own holder", E6="each", G6=1)
    answer = run(path)
    assert errors(answer) == []
    assert shelf(tmp_path)["blade fuse, 10 A"] == 4
    assert rows(tmp_path)["fuse"] == ("0", "0", "2", "0", "each")
    assert rows(tmp_path)["fuse_holder"] == ("0", "0", "1", "0", "each")
    assert remarks(answer) == ("not on the shelf, so that nothing is booked of: 'own holder'",)


def test_what_is_not_on_the_shelf_is_called_as_it_is_typed(tmp_path: Path) -> None:
    """Things are matched whatever their case; people are told their own words."""
    path = issued(tmp_path)
    run(path)
    used(path, A5="fuse", B5="Blade fuse, 10 A", E5="each", G5=1)
    says = "not on the shelf, so that nothing is booked of: 'Blade fuse, 10 A'"
    assert remarks(run(path)) == (says,)


def test_what_was_issued_and_is_planned_no_more_is_asked_about(tmp_path: Path) -> None:
    """2 m of red, 6 covers of 20 were issued, and both are out of the job since.

    Nothing is known of them until their rows say so: 0 of both, and they are back.
    """
    folder = shop(tmp_path)
    path = loom(folder, "twin", 2)
    carried_out(folder, issue(path))
    job(folder, [("W1", "black", "2.0", 1)], "twin", PLAIN)
    assert run(path).made
    read = load_workbook(sheet_of(path))["Used"].iter_rows(min_row=2, values_only=True)
    asked = [row[1:8] for row in read if row[0] and row[6] is None]
    assert asked == [
        ("cable, 1.0 mm2, red", "1.0", "red", "m", 0, None, 0),
        ("bullet cover, male", None, None, "each", 0, None, 0),
    ]
    assert run(path).stored
    assert shelf(folder)["bullet cover, male"] == 14
    used(path, G3=0, G4=0)
    assert run(path, again=True).stored
    assert shelf(folder)["bullet cover, male"] == 20 and shelf(folder)["R02"] == 2


def test_hand_edits_wait_for_the_owners_yes(path: Path, tmp_path: Path) -> None:
    """Nothing is booked or kept without; with it both."""
    typed(tmp_path / "stock.xlsx", "Drawer", C2=15)
    answer = run(path)
    assert answer.booked and answer.booked.waits and not answer.stored
    assert not (tmp_path / "done.csv").exists()
    assert run(path, yes=True).stored
    assert shelf(tmp_path)[RING] == 17  # 15 by hand, and 2 back


def test_booked_and_not_kept_is_told(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is full at the last step: said plainly, and a second time books nothing more."""
    real = safely._place_new

    def full(part: Path, store: Path) -> None:
        if store.name == "done.csv":
            raise OSError(errno.ENOSPC, "No space left on device", str(store))
        real(part, store)

    with monkeypatch.context() as patch:
        patch.setattr(safely, "_place_new", full)
        assert "the disk is full; the shelf is booked" in errors(run(path))[0]
    number = len(moves(tmp_path))
    assert run(path).stored
    assert len(moves(tmp_path)) == number


def test_what_others_wrote_is_kept(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """done.csv is changed while the shelf is booked: it stays, and the next time all is kept."""
    text = f"{HEADS}\nold,2026-01-02,run,1,1,1.1,0,m\n"

    def booked(*args: Any) -> Booked:
        (tmp_path / "done.csv").write_text(text)
        return book_shelf(*args)

    with monkeypatch.context() as patch:
        patch.setattr(after_job, "book", booked)
        assert "another program has made one meanwhile" in errors(run(path))[0]
    assert (tmp_path / "done.csv").read_text() == text
    assert run(path).stored
    assert {record.job for record in read_done(tmp_path / "done.csv", OURS)[0]} == {"old", "twin"}


# --------------------------------------------------------------------------------- cable


def cables(folder: Path, *metres: float, spent: float, **rules: Any) -> After:
    """Red wires issued from 10 m (R01) and 2 m (R02), then put right to what was spent in all."""
    path = loom(shop(folder), "twin", *metres, covers=0, **rules)
    carried_out(folder, issue(path, again=False, in_part=False))
    run(path)
    used(path, G2=spent)
    return run(path)


def remarks(answer: After) -> tuple[str, ...]:
    """What is told of the booking."""
    assert answer.booked
    return answer.booked.remarks


UNTOLD = "1.0 red: {} m came back, and of which length cannot be told, so that it is not booked"


@pytest.mark.parametrize(
    ("metres", "spent", "trim_mm", "booked", "remark"),
    [
        # 8.5 of R01 and 1.8 of R02 (0.2 scrap) were issued: 0.3 back to the longest, R01 1.5 + 0.3
        ((8.5, 1.8), 10, 0, ("R01", 0.3, "m", 1.8, "1.0 red; came back"), ""),
        # all 2 m of R02 were issued, 1.9 used: 0.1 m is under 300 mm
        ((2,), 1.9, 0, None, "1.0 red: 0.1 m came back, under 300 mm: scrap"),
        # all of R01 and 1.8 of R02 were issued, 0.2 scrapped; 50 mm more are of that scrap
        (
            (10, 1.8),
            11.85,
            0,
            None,
            "1.0 red: 0.05 m more than was issued: 0.05 m of its own scrap",
        ),
        # R02 0.5 m left, 0.4 m more used
        ((1.5,), 1.9, 0, ("R02", -0.4, "m", 0.1, "1.0 red; more taken"), ""),
        # two cuts of 0.8 m lose 20 mm each and have not come back: 1.64 m issued, 1.6 used
        ((0.8, 0.8), 1.6, 20, None, ""),
        # with 1.5 m used 0.1 m is back: R02 2 - 1.64 + 0.1 = 0.46 m
        ((0.8, 0.8), 1.5, 20, ("R02", 0.1, "m", 0.46, "1.0 red; came back"), ""),
    ],
)
def test_cable_that_came_back_or_was_taken(
    tmp_path: Path, metres: tuple[float, ...], spent: float, trim_mm: int, booked: Any, remark: str
) -> None:
    """It goes to the longest of the job's pieces, where that can be told; trims are gone."""
    answer = cables(tmp_path, *metres, spent=spent, trim_mm=trim_mm)
    assert errors(answer) == [] and answer.stored
    assert [told.startswith(remark) for told in remarks(answer)] == [True] * bool(remark)
    about, *rows_of = [move for move in moves(tmp_path) if move[1] == "done"]
    assert about == ("twin", "done", "job twin", 0, "each", 0, None)
    assert rows_of == ([("twin", "done", *booked)] if booked else [])
    number = len(moves(tmp_path))
    assert run(tmp_path / "jobs" / "twin.xlsx", again=True).stored
    assert len(moves(tmp_path)) == number  # nothing is booked twice


def anew(folder: Path, metres: float, *lengths: float) -> tuple[Path, After]:
    """1.8 of 2 m were issued, 0.2 scrapped, and so much more used; more lengths lie there, A2 on.

    Of A2 3 m are set aside for another job.
    """
    shop(folder, cable=[("A1", "1.0", "red", 2, 0.3)], drawer=())
    path = loom(folder, "twin", 1.8, covers=0)
    carried_out(folder, issue(path))
    for number, length in enumerate(lengths, 2):
        row = (f"A{number}", "1.0", "red", length)
        cells = dict(zip("ABCD", row, strict=True))
        typed(folder / "stock.xlsx", "Cable", **{f"{c}{number + 1}": v for c, v in cells.items()})
        if number == 2:
            carried_out(folder, hold(loom(folder, "other", 3, covers=0)))
    run(path)
    used(path, G2=1.8 + metres)
    return path, run(path)


HELD = "'A2': more is set aside than is left of it: hold again"


@pytest.mark.parametrize(
    ("metres", "lengths", "off"),
    [
        # a wire is one length: of 1, 0.9 and 0.7 m free the shortest that has 0.61 m
        (0.61, (4, 0.9, 0.7), "0.61 m off A4"),
        (0.8, (4, 0.9, 0.7), "0.8 m off A3"),
        # 1 of the 4 m is free: 1 m off it, though the others have 1.6 m together
        (1, (4, 0.9, 0.7), "1 m off A2"),
        # nothing that is free has 1.5 m: off what is set aside
        (1.5, (4, 0.9, 0.7), "1.5 m off A2"),
        (0.15, (4, 0.9, 0.7), "0.15 m of its own scrap"),
    ],
)
def test_a_wire_that_is_cut_anew_comes_off_one_length(
    tmp_path: Path, metres: float, lengths: Sequence[float], off: str
) -> None:
    """No rest of its own is there, and its scrap has 0.2 m."""
    path, answer = anew(tmp_path, metres, *lengths)
    told = f"1.0 red: {metres} m more than was issued: {off}"
    assert {*remarks(answer)} == {told, *[HELD] * (metres > 1)}
    number = len(moves(tmp_path))
    run(path, again=True)
    assert len(moves(tmp_path)) == number


def test_what_no_length_has_comes_off_several(tmp_path: Path) -> None:
    """5 m more, of 0.2 m scrap, 4 m of which 1 is free, and 1 m: 0.2 + 1 + 1 + 2.8 of what is held.

    That is a guess, and is said to be one.
    """
    path, answer = anew(tmp_path, 5, 4, 1)
    assert shelf(tmp_path) == {"A2": pytest.approx(0.2)}
    parts = "0.2 m of its own scrap, 1 m off A2, 1 m off A3 and 2.8 m off A2"
    guess = f"by guess {parts}; bom stock count PIECE LENGTH where it is otherwise"
    assert {*remarks(answer)} == {f"1.0 red: 5 m more than was issued: {guess}", HELD}
    number = len(moves(tmp_path))
    run(path, again=True)
    assert len(moves(tmp_path)) == number


def test_what_was_issued_of_a_piece_that_is_another_cable_now(tmp_path: Path) -> None:
    """R02, 2 m of red, was one wire; used up, its name was given to 4 m of blue.

    Of 1.4 m that came back nobody can tell on which length; called off, 2 m of red come back.
    """
    folder = shop(tmp_path)
    path = loom(folder, "twin", 2, covers=0)
    carried_out(folder, issue(path))
    typed(folder / "stock.xlsx", "Cable", C3="blue", D3=4, E3=0.5)
    run(path)
    used(path, G2=0.6)
    (told,) = remarks(run(path))
    assert told.startswith(UNTOLD.format(1.4))
    plan = take_back(find_workshop(folder), [(path, "twin")], ())
    carried_out(folder, plan, yes=True)
    assert shelf(folder)["R02"] == 4 and shelf(folder)["R04"] == 2
    assert rows_of_cable(folder)[-1] == ("R04", "1.0", "red", 2, None)


def rows_of_cable(folder: Path) -> list[tuple[Any, ...]]:
    """The rows of Cable under its headings."""
    return [*load_workbook(folder / "stock.xlsx")["Cable"].iter_rows(min_row=2, values_only=True)]


def gone(folder: Path, sheet: str, name: str) -> None:
    """The owner deletes the row of a thing in the stock book."""
    opened = load_workbook(folder / "stock.xlsx")
    row = next(row[0].row for row in opened[sheet].iter_rows() if row[0].value == name)
    opened[sheet].delete_rows(row)
    opened.save(folder / "stock.xlsx")


def test_an_item_that_was_issued_and_is_gone_is_not_booked(path: Path, tmp_path: Path) -> None:
    """4 rings were issued, 3 used; the row of the rings is no longer there to give 1 back to."""
    used(path, G3=3)
    gone(tmp_path, "Drawer", RING)
    assert errors(run(path, yes=True)) == [f"'{RING}' is no longer in the stock book"]


def test_cable_of_a_piece_that_is_gone_is_asked_about(tmp_path: Path) -> None:
    """2 m of R02 were issued, 1.5 used, R02 is gone from the book: 0.5 m has no row to go to."""
    folder = shop(tmp_path)
    path = loom(folder, "twin", 2, covers=0)
    carried_out(folder, issue(path, again=False, in_part=False))
    run(path)
    used(path, G2=1.5)
    gone(folder, "Cable", "R02")
    (told,) = remarks(run(path, yes=True))
    assert told.startswith(UNTOLD.format(0.5))


def test_more_taken_than_is_not_set_aside_is_told(tmp_path: Path) -> None:
    """Rings 20 - 4 = 16, all held for another job; 5 used of 4 issued: 15 are left for the 16."""
    path = issued(tmp_path)
    other = job(tmp_path, [("X", "black", "2.0", 0.5)], "other", Extras=[(RING, 16, "each", None)])
    carried_out(tmp_path, hold(other))
    run(path)
    used(path, G3=5)
    assert remarks(run(path)) == (f"'{RING}': more is set aside than is left of it: hold again",)
    assert shelf(tmp_path)[RING] == 15


def test_cable_bought_for_the_job_alone_is_not_on_the_shelf(tmp_path: Path) -> None:
    """Blue was short at the issue and never received: nothing of it is booked."""
    path = loom(shop(tmp_path), "twin", 1.5, covers=2)
    typed(path, "Circuits", B2="blue")
    carried_out(tmp_path, issue(path, again=False, in_part=True))
    run(path)
    answer = run(path)
    assert answer.stored
    assert remarks(answer) == ("not on the shelf, so that nothing is booked of: 1.0 blue",)


# --------------------------------------------------------------------------------- faults


def test_every_fault_of_the_sheet_is_named_with_its_cell(path: Path, tmp_path: Path) -> None:
    """All at once, and nothing is booked or kept."""
    used(path, C2="1.1", G3=2.5, H4="-1 m", E4="m", A5="tubes", B5="x", G5=1)
    used(path, A6="cable", B6="own", E6="each", G6=2, A7="tube", B7="y", E7="m", F7=1, G7=1600)
    used(path, A8="seal", B8="z", H8=2)
    worked(path, {"all together": -1})
    old = (tmp_path / "stock.xlsx").read_bytes()
    found = sorted(errors(run(path)))
    starts = (
        *("Labour C", "Used A5 kind 'tubes'", "Used C2 gauge '1.1'", "Used C6 a cable without its"),
        *("Used D6 a cable without its colour", "Used E6 cable is measured, not counted in 'each'"),
        *("Used G3 '2.5' is not a whole number", "Used G7 1600 m, and 1 m were planned: were mill"),
        *("Used G8 some was spoilt, and how much was used is not said", "Used H4 "),
    )
    assert [s for s, fault in zip(starts, found, strict=True) if not fault.startswith(s)] == []
    assert found[0].endswith("-1 is below zero")
    assert (tmp_path / "stock.xlsx").read_bytes() == old
    assert not (tmp_path / "done.csv").exists()


def test_a_sheet_without_its_lists_is_told(tmp_path: Path) -> None:
    path = rewired(tmp_path)
    book(tmp_path / "used", "twin.xlsx", Job=[("item", "value"), ("job", "twin")])
    assert errors(run(path)) == [f"there is no sheet '{name}'" for name in ("Used", "Labour")]


def test_the_sheet_of_another_job_is_not_taken(tmp_path: Path) -> None:
    """A sheet that was copied, or a job that has got another name."""
    path = begun(tmp_path, rewired)
    typed(sheet_of(path), "Job", B2="single")
    (fault,) = errors(run(path))
    assert fault == "Job B2 this is the sheet of 'single', and the job is called 'twin'"


def test_what_is_not_understood_in_done_csv_is_not_lost(path: Path, tmp_path: Path) -> None:
    """It would be written anew: a column of the owner's and a slip stop the job before."""
    text = f"{HEADS},mood\nold,,rum,1,1,1,0,m,good\n"
    (tmp_path / "done.csv").write_text(text)
    assert errors(run(path)) == [
        "Done I1 column 'mood' is not known and is not read",
        "Done C2 kind 'rum' is not known",
    ]
    assert (tmp_path / "done.csv").read_text() == text
    assert moves(tmp_path)[-1][1] == "issue"


def test_one_kind_of_a_job_stands_once(tmp_path: Path) -> None:
    """Twice it would count double."""
    rows_of = "old,,run,1,1,1,0,m\nOld,,run,1,1,1,0,m\n"
    (tmp_path / "done.csv").write_text(f"{HEADS}\n{rows_of}")
    ((problem,),) = read_done(tmp_path / "done.csv", OURS)[1:]
    assert (problem.where.cell, problem.says) == ("C3", "'run' of 'Old' stands in C2 too")


def test_a_name_that_looks_like_a_formula_is_text(tmp_path: Path) -> None:
    """Guarded in the file, the job's own name when it is read: the other jobs' rows stay."""
    path = loom(shop(tmp_path), "twin", 1.5)
    opened = load_workbook(path)
    (cell,) = (row[1] for row in opened["Job"].iter_rows() if row[0].value == "job")
    cell.value, cell.data_type = "=1+1", "s"
    opened.save(path)
    (tmp_path / "done.csv").write_text(f"{HEADS}\nold,2026-01-02,run,1,1,1.1,0,m\n")
    assert run(path).made
    assert run(path).stored
    assert f"'=1+1,{TODAY},run," in (tmp_path / "done.csv").read_text(encoding="utf-8-sig")
    assert "was done on" in errors(run(path))[0]
    assert run(path, again=True).stored
    jobs = [record.job for record in read_done(tmp_path / "done.csv", OURS)[0]]
    assert jobs[0] == "old" and set(jobs) == {"old", "=1+1"}


def test_outside_a_workshop_nothing_is_kept(tmp_path: Path) -> None:
    path = loom(tmp_path, "twin", 1.5)
    says = "not in a workshop folder, where finished jobs are kept"
    assert errors(run(path)) == [says]
    answer = bom("learn", cwd=tmp_path)
    assert answer.returncode == 1 and f"error: {says}" in answer.stderr


# --------------------------------------------------------------------- the commands, learning


def test_the_command_ends_with_what_comes_next(tmp_path: Path) -> None:
    """Sheet, dry run, booked, refused: stdout, exit code."""
    issued(tmp_path)
    made = bom("done", "twin", cwd=tmp_path)
    assert made.stdout.endswith("next: put right what was used, then: bom done twin\n")
    assert bom("done", "twin", "--dry-run", cwd=tmp_path).stdout.endswith("next: bom done twin\n")
    booked = bom("done", "twin", cwd=tmp_path)
    assert "stock.xlsx: 2 things put right for twin" in booked.stdout
    assert booked.stdout.endswith("next: bom learn\n")
    again = bom("done", "twin", "--json", cwd=tmp_path)
    assert again.returncode == 1
    assert [p["file"] for p in json.loads(again.stdout)["problems"]] == ["done.csv"]


def test_done_as_json(path: Path) -> None:
    """The kinds with their difference, and what was booked."""
    answer = done_out(run(path))
    assert set(answer) == {"job", "sheet", "made", "kinds", "booked", "stored", "problems"}
    assert answer["kinds"][2] == {
        **{"kind": "terminal", "unit": "each", "base": 2, "planned": 4, "used": 2, "spoilt": 0},
        "difference": -2,
    }
    assert [move["change"] for move in answer["booked"]["moves"]] == [0, 2, 0.08]


def test_a_sheet_that_nobody_changed_teaches_the_present_rule(tmp_path: Path) -> None:
    """The piece is rounded up to 10 mm, and that is not learned as run: 1.365 of 1.3 is 5 %."""
    path = begun(tmp_path, rewired)
    run(path)
    base, _, along, *_ = rows(tmp_path)["run"]
    assert (Decimal(along) / Decimal(base) - 1) * 100 == 5


def test_learn_with_two_jobs_says_so(tmp_path: Path) -> None:
    """And with none."""
    shop(tmp_path)
    none = bom("learn", cwd=tmp_path)
    assert none.returncode == 0 and "allowances from 0 finished jobs" in none.stdout
    lines = "".join(f"job{n},,run,10,10,12,0,m\n" for n in range(2))
    (tmp_path / "done.csv").write_text(f"{HEADS}\n{lines}")
    text = "\n".join(map(as_text, taught_tables(taught(find_workshop(tmp_path)))))
    assert "allowances from 2 finished jobs" in text
    assert text.count("under 3 jobs") == 5 and "workshop.toml" not in text


def test_learn_prints_the_lines_to_copy(tmp_path: Path) -> None:
    """Three jobs with 20, 22 and 24 % of 10 m each: mean 22, deviation 2, 2 / root of 3 = 1.15."""
    shop(tmp_path)
    lines = "".join(f"job{n},,run,10,10,{used},0,m\n" for n, used in enumerate((12, 12.2, 12.4)))
    (tmp_path / "done.csv").write_text(f"{HEADS}\n{lines}")
    rules = (tmp_path / "workshop.toml").read_bytes()
    done = bom("learn", cwd=tmp_path)
    row = next(line.split() for line in done.stdout.splitlines() if line.startswith("run_percent "))
    assert row == ["run_percent", "5.0", "3", "22.0", "1.2", "2.0", "22.0", "change"]
    assert "\nrun_percent = 22.0\n" in done.stdout
    assert (tmp_path / "workshop.toml").read_bytes() == rules
    answer = taught_out(taught(find_workshop(tmp_path)))
    assert answer["allowances"][0]["deviation"] == pytest.approx(2)
    assert answer["allowances"][0]["uncertainty"] == pytest.approx(1.1547, abs=1e-4)
    assert answer["allowances"][1]["proposal"] is None


def test_faults_of_done_csv_stop_learning(tmp_path: Path) -> None:
    shop(tmp_path)
    (tmp_path / "done.csv").write_text(f"{HEADS}\nold,,run,ten,1,1,0,m\n")
    done = bom("learn", cwd=tmp_path)
    assert done.returncode == 1 and done.stdout == ""
    assert "done.csv › Done › D2: 'ten' is not a number" in done.stderr


def test_the_sample_has_four_invented_jobs() -> None:
    """So that bom learn shows something, of which nothing is real."""
    found, problems = read_done(ROOT / "sample_projects" / "workshop" / "done.csv", OURS)
    assert problems == ()
    assert {record.job for record in found} == {f"invented-{n}" for n in range(1, 5)}


def test_books_of_after_the_job_are_not_written_over(tmp_path: Path) -> None:
    """--csv and --xlsx leave done.csv and the sheets in used/ as they are."""
    path = begun(tmp_path, rewired)
    run(path)
    for option, name in (("--csv", "done.csv"), ("--xlsx", "used/twin.xlsx")):
        old = (tmp_path / name).read_bytes()
        answer = bom("learn", option, name, cwd=tmp_path)
        assert answer.returncode == 1 and "is a book of the workshop" in answer.stderr
        assert (tmp_path / name).read_bytes() == old
