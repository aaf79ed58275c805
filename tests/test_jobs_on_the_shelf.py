"""Jobs that share the shelf, are issued in parts, and are called off again.

Amounts are hand arithmetic on the rows that stand in each test.
"""

import json
from collections.abc import Sequence
from pathlib import Path

import pytest
from openpyxl import load_workbook

from bom.estimate import buy_for
from bom.job import find_workshop
from bom.workshop.after_job import taught
from bom.workshop.due import due as due_in
from bom.workshop.shelf_requests import count, hold, issue, take_back
from bom.workshop.stockroom import Request, undo
from tests.shops import PLAIN, job
from tests.stockrooms import done, loom, moves, refused, rows, shelf, shop, typed
from tests.test_done import (
    DRAWER,
    HEADS,
    RING,
    errors,
    gone,
    issued,
    rewired,
    run,
    used,
    worked,
)
from tests.within import bom

TWO = [("R1", "1.0", "red", 5, 0.3), ("R2", "1.0", "red", 4, 0.3)]
COVERS = "bullet cover, male"


def three(folder: Path) -> tuple[Path, Path, Path]:
    """9 m of red in 5 and 4 for wires of 2, 3 and 4 m: 2 and 3 off the one, 4 off the other.

    Alone j4 is cut from the shorter length, so that the longest is left; then j6 finds none.
    """
    shop(folder, cable=TWO, drawer=[(COVERS, "each", 6, None, None, 0.05)])
    j4, j5, j6 = (
        loom(folder, f"j{number}", length, covers=2) for number, length in ((4, 2), (5, 3), (6, 4))
    )
    return j4, j5, j6


def taken_back(
    folder: Path, *jobs: str, uncut: bool = False, cut: Sequence[str] | None = None
) -> Request:
    """The plan of taking jobs back."""
    named = [(folder / "jobs" / f"{job}.xlsx", job) for job in jobs]
    return take_back(find_workshop(folder), named, () if uncut else cut)


# One plan for several jobs


def test_what_an_order_promised_together_is_held_together(tmp_path: Path) -> None:
    """One by one the last is short; together each has what the joint plan gave it."""
    jobs = three(tmp_path)
    bought = buy_for(jobs)
    assert (bought.order.lines, bought.allotment.short, bought.cut_list.short) == ((), (), ())
    done(tmp_path, hold(*jobs))
    assert [move[:3] + move[6:] for move in moves(tmp_path)] == [
        ("j4", "hold", "R1", "2 m set aside; 1.0 red"),
        ("j4", "hold", COVERS, "2 each set aside"),
        ("j5", "hold", "R1", "3 m set aside; 1.0 red"),
        ("j5", "hold", COVERS, "2 each set aside"),
        ("j6", "hold", "R2", "4 m set aside; 1.0 red"),
        ("j6", "hold", COVERS, "2 each set aside"),
    ]
    for path in reversed(jobs):  # none of them takes what is held for another
        done(tmp_path, issue(path))
    assert shelf(tmp_path) == {}


def test_one_by_one_it_is_said_what_helps(tmp_path: Path) -> None:
    """Each cut as if alone: j4 off R2, j5 off R1, and j6 finds no 4 m.  The cure is tried here."""
    jobs = three(tmp_path)
    done(tmp_path, hold(jobs[0]))
    done(tmp_path, hold(jobs[1]))
    short, cure = done(tmp_path, hold(jobs[2])).remarks
    assert short == "1 line is short: bom order shows what to buy"
    assert cure == "held together none is short of cable: bom stock hold j4 j5 j6"
    assert done(tmp_path, hold(*jobs)).remarks == ()


def test_one_command_for_several_jobs_is_undone_as_one(tmp_path: Path) -> None:
    """A hold of three, brought into line from one that was held alone; an issue of three."""
    jobs = three(tmp_path)
    before = shelf(tmp_path)
    done(tmp_path, hold(jobs[0]))
    booked = done(tmp_path, hold(*jobs))
    assert booked.entries[0].what == "release" and booked.entries[0].item == "R2"
    assert refused(tmp_path, hold(jobs[1])) == []  # as it is already: j4's is left alone
    done(tmp_path, issue(*jobs))
    assert shelf(tmp_path) == {}
    done(tmp_path, undo)
    assert shelf(tmp_path) == before
    assert refused(tmp_path, hold(*jobs)) == []
    done(tmp_path, undo)
    done(tmp_path, undo)
    assert refused(tmp_path, undo) == ["there is no command left to undo"]


def test_a_rest_is_scrapped_once_the_last_job_has_cut(tmp_path: Path) -> None:
    """5 m less 2 and 2.9: 0.1 m is under 300 mm, and goes with the job that cut last."""
    shop(tmp_path, cable=TWO[:1])
    jobs = (loom(tmp_path, "a", 2, covers=0), loom(tmp_path, "b", 2.9, covers=0))
    done(tmp_path, issue(*jobs))
    assert [move[:4] for move in moves(tmp_path)] == [
        ("a", "issue", "R1", -2),
        ("b", "issue", "R1", -2.9),
        ("b", "scrap", "R1", pytest.approx(-0.1)),
    ]


def test_trims_are_each_jobs_own(tmp_path: Path) -> None:
    """Cuts of 1 m lose 5 mm each: two of a take 2.01 m, one of b 1.005 m, of 5 m."""
    shop(tmp_path, cable=TWO[:1])
    a = loom(tmp_path, "a", 1, 1, covers=0, trim_mm=5)
    b = loom(tmp_path, "b", 1, covers=0, trim_mm=5)
    done(tmp_path, issue(a, b))
    assert [move[3] for move in moves(tmp_path)] == [-2.01, -1.005]


def test_what_is_short_is_told_job_by_job(tmp_path: Path) -> None:
    """6 covers for 2, 2 and 5: the last typed lacks 3; nothing is issued, or what there is."""
    jobs = three(tmp_path)
    loom(tmp_path, "j6", 4, covers=5)
    assert refused(tmp_path, issue(*jobs)) == [
        f"short of 3 of '{COVERS}' for 'j6'",
        "'j4', 'j5' and 'j6' are not issued while something is short",
    ]
    done(tmp_path, issue(*jobs, in_part=True))
    assert shelf(tmp_path) == {}


def test_papers_of_several_jobs(tmp_path: Path) -> None:
    """A folder for each, and what is cut from where is the joint plan: alone j4 is cut from R2."""
    jobs = three(tmp_path)
    answer = bom("pack", "j4", "j5", "j6", "--out", "papers", "--json", cwd=tmp_path)
    assert answer.returncode == 0, answer.stderr
    made = {str(path.relative_to(tmp_path / "papers")) for path in tmp_path.rglob("papers/*/*")}
    each = ("quotation.pdf", "cut.pdf", "bench.pdf", "labels.pdf")
    own = (".xlsx", ".html")
    names = {f"{j.stem}/{name}" for j in jobs for name in (*each, *(j.stem + end for end in own))}
    assert made == names
    found = load_workbook(tmp_path / "papers" / "j4" / "j4.xlsx")
    cuts = next(sheet for sheet in found if "cut list" in sheet.title)
    assert [row[2].value for row in cuts.iter_rows(min_row=2, max_row=2)] == ["R1"]
    whole = buy_for(jobs)
    left = [[o.piece for o in whole.part_of(job).cut_list.offcuts] for job in whole.jobs]
    assert left == [[], ["R1"], ["R2"]]


# In parts


def test_what_was_left_is_issued_when_it_has_come(tmp_path: Path) -> None:
    """A 3 m wire finds no length of 1.5 and 1 m, and 2 of 5 covers lack; a reel and covers come.

    First wires of 1.2 and 0.8 m, and 3 covers; then 3 of 10 m and 2 of 4 covers: nothing twice.
    """
    folder = shop(
        tmp_path,
        cable=[("R1", "1.0", "red", 1.5, 0.3), ("R2", "1.0", "red", 1, 0.3)],
        drawer=[(COVERS, "each", 3, None, None, 0.05)],
    )
    twin = loom(folder, "twin", 1.2, 3, 0.8, covers=5)
    when = done(folder, issue(twin, in_part=True)).when
    assert shelf(folder) == {"R1": 0.3}  # R2: 0.2 m is scrap
    typed(folder / "stock.xlsx", "Cable", A4="R3", B4="1.0", C4="red", D4=10, E4=0.3)
    typed(folder / "stock.xlsx", "Drawer", C2=4)
    assert refused(folder, issue(twin)) == [f"'twin' was issued on {when}"]
    done(folder, issue(twin, rest=True), yes=True)
    assert shelf(folder) == {"R1": 0.3, "R3": 7, COVERS: 2}
    assert moves(folder)[-2:] == [
        ("twin", "issue", "R3", -3, "m", 7, "1.0 red; wires W2 3 m"),
        ("twin", "issue", COVERS, -2, "each", 2, None),
    ]
    assert refused(folder, issue(twin, rest=True)) == []  # nothing is left
    done(folder, undo)
    assert shelf(folder) == {"R1": 0.3, "R3": 10, COVERS: 4}
    done(folder, hold(twin))  # what was left is what is held
    assert [move[6] for move in moves(folder)[-2:]] == [
        "3 m set aside; 1.0 red",
        "2 each set aside",
    ]
    done(folder, issue(twin, rest=True))
    assert shelf(folder) == {"R1": 0.3, "R3": 7, COVERS: 2}


def test_the_cure_after_a_part_is_the_rest(tmp_path: Path) -> None:
    """And where nothing was left, undo."""
    shop(tmp_path)
    loom(tmp_path, "twin", 1.5, covers=25)
    assert bom("stock", "issue", "twin", "--part", cwd=tmp_path).returncode == 0
    answer = bom("stock", "issue", "twin", cwd=tmp_path)
    assert "try: --rest takes what was left, --again all of it once more" in answer.stderr
    bom("stock", "count", COVERS, "5", cwd=tmp_path)
    rest = bom("stock", "issue", "twin", "--rest", cwd=tmp_path)
    assert rest.returncode == 0 and COVERS not in shelf(tmp_path)
    answer = bom("stock", "issue", "twin", cwd=tmp_path)
    assert "try: bom stock undo, or --again" in answer.stderr


def test_a_wire_that_changed_its_colour_after_the_issue_is_cut_anew(tmp_path: Path) -> None:
    """Red W1 was cut; now it is black, of 2.0: the rest is that wire alone, of R03."""
    folder = shop(tmp_path)
    twin = loom(folder, "twin", 1.5, 1.2, covers=6)
    done(folder, issue(twin))
    typed(twin, "Circuits", B2="black", C2="2.0")
    done(folder, issue(twin, rest=True))
    last = ("twin", "issue", "R03", -1.5, "m", 3.5, "2.0 black; wires W1 1.5 m")
    assert moves(folder)[-1] == last


def test_a_wire_that_is_longer_now_is_cut_anew(tmp_path: Path) -> None:
    """W1 of 1.5 m is wanted in 1.8, W2 of 1.2 in 1.1: that one will do.  And 2 covers more."""
    folder = shop(tmp_path)
    done(folder, issue(loom(folder, "twin", 1.5, 1.2, covers=6)))
    assert not buy_for([folder / "jobs" / "twin.xlsx"], rest=True).needs["twin"]
    done(folder, issue(loom(folder, "twin", 1.8, 1.1, covers=8), rest=True))
    assert [move[2:4] + move[6:] for move in moves(folder)[-2:]] == [
        ("R01", -1.8, "1.0 red; wires W1 1.8 m"),
        (COVERS, -2, None),
    ]


def test_what_is_issued_is_not_ordered_again(tmp_path: Path) -> None:
    """Of 25 covers 20 were issued: 5 are ordered, and no cable."""
    folder = shop(tmp_path, prices=[("Abel", COVERS, None, None, "each", None, 0.1, None)])
    done(folder, issue(loom(folder, "twin", 1.5, covers=25), in_part=True))
    answer = json.loads(bom("order", "twin", "--json", cwd=folder).stdout)
    assert [(line["item"], line["packs"]) for line in answer["lines"]] == [(COVERS, 5)]


def test_wires_of_notes_without_lengths_are_known(tmp_path: Path) -> None:
    """As they were written at first: W1 and W2 are cut, W3 of 0.5 m is not."""
    row = ("2026-11-25 10:00:00", "twin", "issue", "R01", -2.7, "m", 10, "1.0 red; wires W1 W2")
    folder = shop(tmp_path, moves=[row])
    done(folder, issue(loom(folder, "twin", 1.5, 1.2, 0.5, covers=0), rest=True))
    assert moves(folder)[-1][6] == "1.0 red; wires W3 0.5 m"


# Spares


@pytest.mark.parametrize(
    ("rings", "says"),
    [
        # two ends need two rings, and two more are spares: 2 of 3 lack none that the ends need
        (3, f"spares that are not there: 1 of '{RING}'"),
        (1, ""),
    ],
)
def test_a_lacking_spare_stops_nothing(rings: int, says: str, tmp_path: Path) -> None:
    """It is told in one line; an end without its ring stops the issue."""
    drawer = ((RING, "each", rings, None, None, 0.1), DRAWER[1])
    path = rewired(tmp_path, drawer=drawer)
    if says:
        assert done(tmp_path, issue(path)).remarks == (says,)
        assert RING not in shelf(tmp_path)
    else:
        assert refused(tmp_path, issue(path))[0] == f"short of 3 of '{RING}'"


def test_a_lacking_spare_of_cable_stops_nothing(tmp_path: Path) -> None:
    """The piece of 1.6 m is all there is, its spare of 80 mm is not."""
    path = rewired(tmp_path)
    for cell in ("D2", "D3"):
        typed(tmp_path / "stock.xlsx", "Cable", **{cell: 1.6 if cell == "D2" else 0})
    booked = done(tmp_path, issue(path))
    assert booked.remarks == ("spares that are not there: 0.08 m of 'cable, 1.0 mm2, red'",)


# Called off


def test_cut_wires_come_back_as_offcuts(tmp_path: Path) -> None:
    """R01 10 m: 4.4, 3.7 and 0.2 m were cut, 1.7 are left; R02 2 m was one wire, never cut.

    4.4 and 3.7 m come back under names of their own at R01's cost; 0.2 m is scrap.  6 covers.
    """
    folder = shop(tmp_path)
    twin = loom(folder, "twin", 4.4, 3.7, 2, 0.2)
    done(folder, issue(twin))
    assert shelf(folder)["R01"] == pytest.approx(1.7)
    booked = done(folder, taken_back(folder, "twin"))
    assert shelf(folder) == {
        **{"R01": pytest.approx(1.7), "R02": 2, "R03": 5, "R04": 4.4, "R05": 3.7},
        **{COVERS: 20, "loom tape, PVC, 19 mm": 12},
    }
    assert rows(folder, "Cable")[3:] == [
        ("R04", "1.0", "red", 4.4, 0.3),
        ("R05", "1.0", "red", 3.7, 0.3),
    ]
    assert moves(folder)[-5:] == [
        ("twin", "takeback", "job twin", 0, "each", 0, None),
        ("twin", "takeback", "R04", 4.4, "m", 4.4, "new row; 1.0 red, W1 of twin"),
        ("twin", "takeback", "R05", 3.7, "m", 3.7, "new row; 1.0 red, W2 of twin"),
        ("twin", "takeback", "R02", 2, "m", 2, "1.0 red"),
        ("twin", "takeback", COVERS, 6, "each", 20, None),
    ]
    assert booked.remarks[:2] == ("write its name on each offcut", "1 wire under 300 mm: scrap")
    assert booked.remarks[2].startswith("what comes out of the drawer comes back as if none of it")
    done(folder, undo)
    assert [row[0] for row in rows(folder, "Cable")] == ["R01", "R02", "R03"]
    assert shelf(folder)["R01"] == pytest.approx(1.7) and "R02" not in shelf(folder)
    assert refused(folder, issue(twin))[0].startswith("'twin' was issued on")


def test_uncut_lengths_come_back_whole(tmp_path: Path) -> None:
    """As an undo, but with other commands between: 1.5 m of R01 went to another job, R02 is gone.

    R01 10 - 8.5 - 1.5 = 0, + 8.5; R02 1.8 and its scrap of 0.2 are 2 m, of a piece of its own.
    """
    folder = shop(tmp_path)
    done(folder, issue(loom(folder, "twin", 8.5, 1.8)))
    done(folder, issue(loom(folder, "single", 1.5, covers=0)))
    gone(folder, "Cable", "R02")
    booked = done(folder, taken_back(folder, "twin", uncut=True))
    assert shelf(folder) == {
        **{"R01": 8.5, "R03": 5, "R04": 2, COVERS: 20, "loom tape, PVC, 19 mm": 12},
    }
    assert booked.remarks == ("write its name on each offcut",)
    assert moves(folder)[-2][-1] == "new row; 1.0 red, R02 of twin"


def test_what_was_spoilt_does_not_come_back(tmp_path: Path) -> None:
    """1.5 of 2 m of R02 were issued, 9 m more taken by done, off R01 that has them.  1.5 come back.

    Uncut all of it does.
    """
    folder = shop(tmp_path, drawer=())
    path = loom(folder, "twin", 1.5, covers=0)
    done(folder, issue(path))
    run(path)
    used(path, G2=1.5, H2=9)
    run(path)
    assert shelf(folder) == {"R01": 1, "R02": 0.5, "R03": 5}
    done(folder, taken_back(folder, "twin"))
    assert shelf(folder) == {"R01": 1, "R02": 0.5, "R03": 5, "R04": 1.5}
    done(folder, undo)
    done(folder, taken_back(folder, "twin", uncut=True))
    assert shelf(folder) == {"R01": 10, "R02": 2, "R03": 5}


def test_what_is_not_cut_yet_goes_back_on_its_piece(tmp_path: Path) -> None:
    """Of 5 m 2, 1.5 and 1.2 m were issued, 10 mm lost at each cut, and 0.27 m scrapped.

    W1 is cut, 2.01 m: 2.99 m are still on the reel.  A wire that is none of them is refused.
    """
    folder = shop(tmp_path, cable=[("R1", "1.0", "red", 5, 0.3)], drawer=())
    done(folder, issue(loom(folder, "twin", 2, 1.5, 1.2, covers=0, trim_mm=10)))
    assert shelf(folder) == {}
    says = "no wire 'W9' was issued for it"
    assert refused(folder, taken_back(folder, "twin", cut=["w1", "W9"])) == [says]
    done(folder, taken_back(folder, "twin", cut=["w1"]))
    assert shelf(folder) == {"R1": 2.99, "R2": 2}


def test_what_was_counted_since_is_to_be_counted_again(tmp_path: Path) -> None:
    """The owner counted R01 while the uncut 8.5 m were still on it."""
    folder = shop(tmp_path)
    done(folder, issue(loom(folder, "twin", 8.5, covers=0)))
    done(folder, count(find_workshop(folder), "R01", "10 m"))
    booked = done(folder, taken_back(folder, "twin", uncut=True))
    assert booked.remarks == ("counted since the issue, so count again: R01",)


def test_a_job_that_was_taken_back_begins_anew(tmp_path: Path) -> None:
    """It holds nothing, is not out, and can be held and issued; a second takeback finds nothing."""
    folder = shop(tmp_path)
    twin = loom(folder, "twin", 1.5, covers=25)
    done(folder, issue(twin, in_part=True))
    done(folder, count(find_workshop(folder), COVERS, "10"))
    done(folder, hold(twin))
    when = done(folder, taken_back(folder, "Twin")).when
    assert shelf(folder)[COVERS] == 30  # 10 and the 20 that were issued
    says = f"nothing is out for 'twin': it was taken back on {when}"
    assert refused(folder, taken_back(folder, "twin")) == [says]
    assert buy_for([loom(folder, "single", 1.5, covers=30)]).allotment.short == ()
    done(folder, hold(twin))
    done(folder, issue(twin))
    assert shelf(folder)[COVERS] == 5


def test_lengths_that_were_never_written_down_are_to_be_measured(tmp_path: Path) -> None:
    """Of one wire it is what was taken; of two nobody knows."""
    when = "2026-11-25 10:00:00"
    one = (when, "twin", "issue", "R01", -1.2, "m", 10, "1.0 red; wires W1")
    two = (when, "twin", "issue", "R03", -2.7, "m", 5, "2.0 black; wires W2 W3")
    folder = shop(tmp_path, moves=[one, two])
    booked = done(folder, taken_back(folder, "twin"))
    assert rows(folder, "Cable")[3:] == [("R04", "1.0", "red", 1.2, 0.3)]
    assert booked.remarks[0].startswith("R03: how long the wires W2 and W3 are was not written")


def test_several_jobs_come_back_in_one_command(tmp_path: Path) -> None:
    """And one that was never issued stops them all."""
    jobs = three(tmp_path)
    before = shelf(tmp_path)
    done(tmp_path, issue(*jobs[:2]))
    assert refused(tmp_path, taken_back(tmp_path, "j4", "j6")) == ["nothing is out for 'j6'"]
    done(tmp_path, taken_back(tmp_path, "j4", "j5", uncut=True))
    assert shelf(tmp_path) == before
    done(tmp_path, undo)
    done(tmp_path, undo)
    assert shelf(tmp_path) == before


# Called off: what is learned, and where the job stands


def standing(folder: Path, job: str) -> str:
    """Where a job stands, as `bom` alone has it."""
    return next(due.stands for due in due_in(find_workshop(folder)) if due.job == job)


def test_a_job_that_was_called_off_teaches_nothing(tmp_path: Path) -> None:
    """Three jobs of 10 h worked 20 % longer; of the one called off, of 4.44 h, nothing was worked.

    With it the mean would be (3 x 10 x 20 - 4.44 x 100) / 34.44 = 4.53 %.  Its rows stay.
    """
    path = issued(tmp_path)
    kept = "".join(f"j{n},,labour,10,10,12,0,h\n" for n in range(3))
    (tmp_path / "done.csv").write_text(f"{HEADS}\n{kept}")
    run(path)
    used(path, G2=0, G3=0, G4=0)
    worked(path, {"all together": 0})
    assert run(path).stored
    assert learned(tmp_path)[1] == pytest.approx(4.53, abs=0.01)
    done(tmp_path, taken_back(tmp_path, "twin"))
    assert learned(tmp_path) == (3, 20)
    assert standing(tmp_path, "twin").startswith("taken back")
    answer = bom("learn", cwd=tmp_path)
    assert "left out, as undone or taken back: twin" in answer.stdout
    (told,) = errors(run(path))
    assert told.startswith("'twin' was taken back on") and "nothing of it is out" in told
    done(tmp_path, undo)
    assert learned(tmp_path)[0] == 4 and standing(tmp_path, "twin") == "done"


def learned(folder: Path) -> tuple[int, float | None]:
    """The number of jobs that teach, and what they say of labour in per cent."""
    found = taught(find_workshop(folder))
    return found.jobs, found.allowances[-1].mean


def test_what_is_undone_is_not_done(tmp_path: Path) -> None:
    """Where nothing differed too: it is issued again, teaches nothing, and is done unasked."""
    folder = shop(tmp_path)
    path = loom(folder, "twin", 1.5, covers=2)
    done(folder, issue(path))
    run(path)
    assert run(path).stored and standing(folder, "twin") == "done"
    assert moves(folder)[-1] == ("twin", "done", "job twin", 0, "each", 0, None)
    done(folder, undo)
    assert standing(folder, "twin").startswith("issued")
    assert learned(folder)[0] == 0
    assert run(path).stored and standing(folder, "twin") == "done"
    assert learned(folder)[0] == 1
    rebuilt = bom("stock", "show", "--rebuild", cwd=folder)
    assert "job twin" not in rebuilt.stdout and "changed by hand" not in rebuilt.stdout


def test_done_again_that_is_undone_is_not_done(tmp_path: Path) -> None:
    """What is kept is the second time's: 9 h and 3 covers; the first says nothing of it.

    2 covers were issued, 3 used the second time: one more comes off the shelf and back.
    """
    folder = shop(tmp_path)
    path = loom(folder, "twin", 1.5, covers=2)
    done(folder, issue(path))
    run(path)
    assert run(path).stored
    used(path, G3=3)
    worked(path, {"all together": 9})
    assert run(path, again=True).stored and shelf(folder)[COVERS] == 17
    undone = done(folder, undo)
    assert undone.remarks == ("'twin' is not done any more: bom done twin keeps it anew",)
    assert shelf(folder)[COVERS] == 18 and standing(folder, "twin").startswith("issued")
    assert learned(folder)[0] == 0
    used(path, G3=2)  # as it was the first time: nothing is to be booked
    assert run(path).stored and standing(folder, "twin") == "done"
    assert shelf(folder)[COVERS] == 18


def test_done_lets_go_of_what_is_held(tmp_path: Path) -> None:
    """Issued or not: for the twin 1.5 m and 2 covers were held, and it was made of other goods."""
    folder = shop(tmp_path)
    path = loom(folder, "twin", 1.5, covers=2)
    done(folder, hold(path))
    run(path)
    answer = run(path)
    assert answer.stored and answer.booked
    assert answer.booked.remarks == ("what was set aside for 'twin' is free again",)
    assert moves(folder)[-1] == ("twin", "done", "job twin", 0, "each", 0, None)
    held = bom("stock", "show", "--held", cwd=folder).stdout
    assert "(nothing)" in held
    number = len(moves(folder))
    assert run(path, again=True).stored
    assert len(moves(folder)) == number


def test_a_job_is_the_same_in_any_letters(tmp_path: Path) -> None:
    """Held for the twin, issued for the TWIN: nothing is held any more.

    R1 has 5 m: a wire of 4.8 leaves 0.2 m, scrap, as nobody else holds any of it.
    """
    folder = shop(tmp_path, cable=TWO[:1], drawer=[(COVERS, "each", 6, None, None, 0.05)])
    done(folder, hold(loom(folder, "twin", 4.9, covers=2)))
    loom(folder, "twin", 4.8, covers=2)
    typed(folder / "jobs" / "twin.xlsx", "Job", B2="TWIN")
    done(folder, issue(folder / "jobs" / "twin.xlsx"))
    assert shelf(folder) == {COVERS: 4}
    assert "(nothing)" in bom("stock", "show", "--held", cwd=folder).stdout


def test_what_is_held_and_not_there_is_not_shown_as_held(tmp_path: Path) -> None:
    """5 covers: j4 was issued 2, and used 4: of the 3 that are held for j5 one is left."""
    folder = shop(tmp_path, cable=TWO, drawer=[(COVERS, "each", 5, None, None, 0.05)])
    j4, j5 = loom(folder, "j4", 1, covers=2), loom(folder, "j5", 1, covers=3)
    done(folder, issue(j4))
    done(folder, hold(j5))
    run(j4)
    used(j4, G3=4)
    assert run(j4).stored and shelf(folder)[COVERS] == 1
    answer = json.loads(bom("stock", "show", "--held", "--json", cwd=folder).stdout)
    assert [h["quantity"] for h in answer["held"] if h["item"] == COVERS] == [1]


def test_undo_says_what_it_reverses_behind_hand_edits(tmp_path: Path) -> None:
    """10 m counted to be 9, then 9.5 typed and taken over: undone is the count, a metre less."""
    folder = shop(tmp_path)
    counted = done(folder, count(find_workshop(folder), "R01", "9 m"))
    typed(folder / "stock.xlsx", "Cable", D2=9.5)
    bom("stock", "show", "--yes", cwd=folder)
    (told,) = done(folder, undo).remarks
    says = "hand edits taken over since stay as they are; undone is the count of"
    assert told == f"{says} {counted.when}: R01"
    assert shelf(folder)["R01"] == 10.5


def test_what_is_on_order_is_no_more_to_buy(tmp_path: Path) -> None:
    """3 of 7 fuses are there for a, none of 2 tapes for b: held, each lacks one, both on order.

    A fuse more lacks 5 where 4 are to come for a; what is to come for b helps only b.
    """
    fuse, tape = "blade fuse, 15 A", "loom tape, PVC, 19 mm"
    prices = [
        ("Abel", fuse, None, None, "each", None, 0.25, None),
        ("Abel", tape, None, None, "reel", 20, 3, None),
    ]
    folder = shop(tmp_path, drawer=[(fuse, "each", 3, None, None, 0.2)], prices=prices)
    wire = [("W1", "red", "1.0", 1)]
    job(folder, wire, "a", PLAIN, Extras=[(fuse, 7, "each", None)])
    job(folder, wire, "b", PLAIN, Extras=[(tape, 2, "m", None)])
    assert bom("order", "a", "b", "--place", cwd=folder).returncode == 0
    held = bom("stock", "hold", "a", "b", cwd=folder).stdout
    assert "2 lines are on order: bom stock orders" in held and "short:" not in held
    table = [line.split() for line in held.splitlines()]
    assert [line[2] for line in table if line[:2] == ["hold", "R02"]] == ["a", "b"]
    assert next(line for line in table if line[:1] == ["what"])[4] == "for"
    job(folder, wire, "a", PLAIN, Extras=[(fuse, 8, "each", None)])
    more = bom("stock", "hold", "a", "b", cwd=folder).stdout
    assert "1 line is on order" in more and "1 line is short: bom order" in more
    alone = bom("stock", "release", "b", cwd=folder).stdout.splitlines()
    assert "for" not in next(line.split() for line in alone if line.startswith("what"))


def test_an_order_placed_for_a_copied_book_tells_whose_it_is(tmp_path: Path) -> None:
    """Of a book b with a's name in it: what is ordered is written down as a's."""
    prices = [("Abel", RING, None, None, "each", None, 0.25, None)]
    folder = shop(tmp_path, drawer=(), prices=prices)
    book = job(folder, [("W1", "red", "1.0", 1)], "a", PLAIN, Extras=[(RING, 7, "each", None)])
    (folder / "jobs" / "b.xlsx").write_bytes(book.read_bytes())
    answer = bom("order", "b", "--place", cwd=folder)
    assert "'a' is the job of a.xlsx too: what is booked for one counts for both" in answer.stderr
    assert [row[11] for row in rows(folder, "Orders")] == ["a"]
