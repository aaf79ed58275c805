"""The stock book changed by command: what stands in it afterwards, read by openpyxl.

Amounts are hand arithmetic on the rows of `tests/stockrooms.py`, written beside them.
"""

import errno
import getpass
import io
import json
import os
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
import python_calamine
import xlsxwriter
from openpyxl import load_workbook
from openpyxl.comments import Comment
from openpyxl.formatting.rule import Rule

from bom.estimate import buy_for
from bom.job import find_workshop
from bom.shelf.moves import Booking, Shelf, Twice, shelf_of
from bom.shelf.stockbook.keep import copies_of
from bom.trade.problem import Problem
from bom.workshop.shelf_requests import count, hold, issue, receive, release, take_over_all
from bom.workshop.stockroom import How, Request, book, undo
from tests.books import book as write_book
from tests.fixture_books import raw_members, rich_book
from tests.office import converted, opened
from tests.shops import job
from tests.stockrooms import MOVES, REELS, done, loom, moves, refused, rows, shelf, shop, typed
from tests.test_safely import failing
from tests.test_splice import grid, loaded
from tests.within import bom

ORDER = ("supplier", "item", "part no", "sold as", "pack", "packs", "price GBP", "cost GBP")
START = {"R01": 10, "R02": 2, "R03": 5, "bullet cover, male": 20, "loom tape, PVC, 19 mm": 12}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A workshop with reels and items."""
    return shop(tmp_path)


take = partial(issue, again=False, in_part=False)
"""The plan of issuing a job."""


def come(folder: Path, order: Path, *suppliers: str, place: str = "", twice: Twice = "") -> Request:
    """The plan of booking an order in."""
    return receive(find_workshop(folder), order, suppliers=suppliers, place=place, twice=twice)


def counted(folder: Path, item: str, number: str) -> Request:
    """The plan of a count."""
    return count(find_workshop(folder), item, number)


def order(folder: Path, *lines: tuple[object, ...]) -> Path:
    """An order that has come in: (supplier, item, sold as, pack, packs, price)."""
    listed = [
        (s, item, "", sold, pack, packs, price, None) for s, item, sold, pack, packs, price in lines
    ]
    return write_book(folder, "order.xlsx", Order=[ORDER, *listed])


def told(folder: Path, *words: str) -> dict[str, Any]:
    """What `bom stock show` answers."""
    done = bom("stock", "show", "--json", *words, cwd=folder)
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


# Set aside


def test_what_is_held_is_not_there_for_other_jobs(folder: Path) -> None:
    """The other job has to buy; the job itself finds it, and on hand nothing changes.

    20 covers, 18 of them for twin: 2 are left, and single, which takes 6, is short of 4.
    """
    twin, single = loom(folder, "twin", 1.5, covers=18), loom(folder, "single", 1.5)
    done(folder, hold(twin))
    assert shelf(folder) == START
    assert [str(s.quantity) for s in buy_for([single]).allotment.short] == ["4"]
    assert buy_for([twin]).allotment.short == ()
    assert moves(folder) == [
        ("twin", "hold", "R02", 0, "m", 2, "1.5 m set aside; 1.0 red"),
        ("twin", "hold", "bullet cover, male", 0, "each", 20, "18 each set aside"),
    ]


def test_holding_again_brings_it_into_line(folder: Path) -> None:
    """The job has changed: a longer wire from the other reel, two covers fewer."""
    done(folder, hold(loom(folder, "twin", 1.5)))
    done(folder, hold(loom(folder, "twin", 2.5, covers=4)))
    assert moves(folder)[2:] == [
        ("twin", "release", "R02", 0, "m", 2, "1.5 m free again; 1.0 red"),
        ("twin", "release", "bullet cover, male", 0, "each", 20, "2 each free again"),
        ("twin", "hold", "R01", 0, "m", 10, "2.5 m set aside; 1.0 red"),
    ]
    assert refused(folder, hold(folder / "jobs" / "twin.xlsx")) == []  # nothing to do


def test_release_sets_all_free(folder: Path) -> None:
    """By the job's name alone too, when its book is gone."""
    book = loom(folder, "twin", 1.5)
    single = loom(folder, "single", 1.5, covers=18)
    done(folder, hold(book))
    book.unlink()
    done(folder, release(book, "Twin"))
    assert buy_for([single]).allotment.short == ()
    assert refused(folder, release(book, "twin")) == ["nothing is set aside for 'twin'"]


def test_a_hold_that_does_not_say_how_much_is_told(tmp_path: Path) -> None:
    """The owner wrote over its note: what is set aside cannot be known."""
    row = ("2026-11-25 10:00:00", "twin", "hold", "R01", 0, "m", 10, "for Tuesday")
    folder = shop(tmp_path, moves=[row])
    (error,) = (p for p in told(folder)["problems"] if p["level"] == "error")
    assert (error["cell"], error["says"]) == ("H2", "this hold does not say how much")


# Taken out


def test_issue_takes_out_what_the_cut_list_says(folder: Path) -> None:
    """8.5 m of R01, 1.5 left; 1.8 m of R02, and 0.2 is under 300 mm: scrap."""
    done(folder, take(loom(folder, "twin", 8.5, 1.8)))
    left = {"R01": 1.5, "R03": 5, "bullet cover, male": 14, "loom tape, PVC, 19 mm": 12}
    assert shelf(folder) == left
    assert moves(folder) == [
        ("twin", "issue", "R01", -8.5, "m", 1.5, "1.0 red; wires W1 8.5 m"),
        ("twin", "issue", "R02", -1.8, "m", 0.2, "1.0 red; wires W2 1.8 m"),
        ("twin", "scrap", "R02", -0.2, "m", 0, "under 300 mm"),
        ("twin", "issue", "bullet cover, male", -6, "each", 14, None),
    ]


def test_a_useful_rest_stays_and_a_held_one_is_not_scrapped(tmp_path: Path) -> None:
    """R02 2 - 1.7 = 0.3 stays; of 2 - 1.5 - 0.4 set aside for another job nothing is scrapped."""
    folder = shop(tmp_path / "a")
    done(folder, take(loom(folder, "twin", 1.7, covers=0)))
    assert shelf(folder)["R02"] == 0.3
    folder = shop(tmp_path / "b", cable=[("R02", "1.0", "red", 2, 0.3)])
    done(folder, hold(loom(folder, "single", 0.4, covers=0)))
    done(folder, take(loom(folder, "twin", 1.4, covers=0, useful_offcut_mm=700)))
    assert shelf(folder)["R02"] == pytest.approx(0.6)


def test_a_job_that_is_issued_holds_nothing_more(folder: Path) -> None:
    twin = loom(folder, "twin", 1.5, covers=14)
    done(folder, hold(twin))
    done(folder, take(twin))
    single = loom(folder, "single", 1.5, covers=6)
    assert buy_for([single]).allotment.short == ()


def test_nothing_is_issued_while_something_is_short(folder: Path) -> None:
    """25 covers, and there are 20; what there is goes out where that is asked for."""
    twin = loom(folder, "twin", 1.5, covers=25)
    assert refused(folder, take(twin))[0] == "short of 5 of 'bullet cover, male'"
    booked = done(folder, take(twin, in_part=True))
    assert "bullet cover, male" not in shelf(folder)
    assert booked.remarks == ("1 line is short: bom order shows what to buy",)


def test_a_job_is_issued_once(folder: Path) -> None:
    """A second time it must be asked for; and whoever orders it again is told."""
    twin = loom(folder, "twin", 1.5)
    when = done(folder, take(twin)).when
    assert refused(folder, take(twin)) == [f"'twin' was issued on {when}"]
    assert any(p.says.startswith(f"'twin' was issued on {when}") for p in buy_for([twin]).problems)
    done(folder, take(twin, again=True))
    assert shelf(folder)["R01"] == 8.5
    done(folder, undo)
    done(folder, undo)
    done(folder, take(twin))


def test_trims_and_reel_ends(tmp_path: Path) -> None:
    """Two pieces of 1 m and 5 mm lost at each cut: 10 - 2.01; a reel of 5 m comes less 50 mm."""
    folder = shop(tmp_path, cable=[REELS[0]])
    done(folder, take(loom(folder, "twin", 1, 1, covers=0, trim_mm=5)))
    assert shelf(folder)["R01"] == 7.99
    (folder / "workshop.toml").write_text("reel_end_mm = 50\n")
    done(folder, come(folder, order(folder, ("Abel", "cable, 1.0 mm2, red", "reel", 5, 1, 2))))
    assert shelf(folder)["R02"] == 4.95


# Booked in

PARCEL = (
    ("Abel", "cable, 1.0 mm2, blue/white", "metre", 1, 3, 0.4),
    ("Abel", "cable, 18 AWG, red", "reel", 25, 2, 10),
    ("Abel", "bullet cover, male", "pack", 10, 3, 0.9),
    ("Baker", "loom tape, PVC, 19 mm", "reel", 20, 2, 3),
    ("Baker", "bullet cover, female", "pack", 50, 1, 2.5),
    ("elsewhere", "rubber grommet", "each", 1, 4, 0.35),
)


def test_an_order_is_booked_in(folder: Path) -> None:
    """Metres come in one length, reels one by one, each with what a metre cost.

    Covers: 20 at 0.05 and 30 at 0.09 are 50 at (1.00 + 2.70) / 50 = 0.074.  Tape: 12 m at 0.12
    and 40 m at 3 / 20 = 0.15 are 52 m at (1.44 + 6.00) / 52 = 0.1431.
    """
    done(folder, come(folder, order(folder, *PARCEL), place="rack B"))
    assert rows(folder, "Cable")[3:] == [
        ("R04", "1.0", "blue/white", 3, 0.4),
        ("R05", "18 AWG", "red", 25, 0.4),
        ("R06", "18 AWG", "red", 25, 0.4),
    ]
    assert [row[:3] + row[5:6] for row in rows(folder, "Drawer")] == [
        ("bullet cover, male", "each", 50, 0.074),
        ("loom tape, PVC, 19 mm", "m", 52, 0.1431),
        ("bullet cover, female", "each", 50, 0.05),
        ("rubber grommet", "each", 4, 0.35),
    ]
    assert [row[1:6] for row in moves(folder)] == [
        ("receive", "R04", 3, "m", 3),
        ("receive", "R05", 25, "m", 25),
        ("receive", "R06", 25, "m", 25),
        ("receive", "bullet cover, male", 30, "each", 50),
        ("receive", "loom tape, PVC, 19 mm", 40, "m", 52),
        ("receive", "bullet cover, female", 50, "each", 50),
        ("receive", "rubber grommet", 4, "each", 4),
    ]


def test_quantities_are_put_right_by_hand(folder: Path) -> None:
    """Two packs of three came, and one line not at all."""
    lines = [list(line) for line in PARCEL[2:5]]
    lines[0][4], lines[2][4] = 2, 0
    done(folder, come(folder, order(folder, *map(tuple, lines))))
    assert shelf(folder)["bullet cover, male"] == 40
    assert "bullet cover, female" not in shelf(folder)


def test_one_suppliers_parcel_at_a_time(folder: Path) -> None:
    """Each comes on its own day, and none is booked in twice unless it came twice."""
    paper = order(folder, *PARCEL)
    done(folder, come(folder, paper, "bak"))
    assert shelf(folder)["bullet cover, male"] == 20
    (fault,) = refused(folder, come(folder, paper))
    assert fault.startswith("Order B5 booked in already, from Baker: 'loom tape, PVC, 19 mm' and 1")
    done(folder, come(folder, paper, "Abel", "elsewhere"))
    assert shelf(folder)["bullet cover, male"] == 50
    assert "no supplier 'Carter'" in refused(folder, come(folder, paper, "Carter"))[0]
    done(folder, undo)
    done(folder, come(folder, paper, "Abel"))
    done(folder, come(folder, paper, "Abel", twice="again"))
    assert shelf(folder)["bullet cover, male"] == 80


def test_the_rest_of_an_order_is_what_has_not_come_yet(folder: Path) -> None:
    """1 of 2 reels and 2 of 3 packs came first; the paper as it was brings 1 reel and 1 pack."""
    reels, packs = (list(PARCEL[n]) for n in (1, 2))
    reels[4], packs[4] = 1, 2
    done(folder, come(folder, order(folder, tuple(reels), tuple(packs))))
    paper = order(folder, *PARCEL[:3])
    assert len(refused(folder, come(folder, paper))) == 1
    done(folder, come(folder, paper, twice="rest"))
    assert shelf(folder)["bullet cover, male"] == 50
    assert [row[3] for row in rows(folder, "Cable")[3:]] == [25, 3, 25]
    assert refused(folder, come(folder, paper, twice="rest")) == []  # it has all come


def test_what_bom_order_writes_is_what_comes_in(tmp_path: Path) -> None:
    """As .csv and as .xlsx, sums and sentences under the list and all.

    The job takes 12 m of red: 3 pieces of 4 m, of which R01 gives two (10 - 8), and 4 m come.
    """
    for kind in ("csv", "xlsx"):
        folder = shop(
            tmp_path / kind,
            prices=[("Abel", "cable", "1.0", None, "metre", None, 0.4, None)],
            suppliers=[("Abel", 4, None, None, "no")],
        )
        twin = loom(folder, "twin", 4, 4, 4, covers=0)
        made = bom("order", "twin", f"--{kind}", f"order.{kind}", cwd=folder)
        assert made.returncode == 0, made.stderr
        done(folder, come(folder, folder / f"order.{kind}"))
        assert rows(folder, "Cable")[-1] == ("R04", "1.0", "red", 4, 0.4)
        done(folder, take(twin))
        assert shelf(folder) == {k: v for k, v in START.items() if k != "R01"} | {"R01": 2}


def test_an_order_with_faults_is_refused_whole(folder: Path) -> None:
    paper = order(
        folder,
        ("Abel", "cable, 1.0 mm2, bleu", "metre", 1, 3, 0.4),
        ("Abel", "bullet cover, male", "pack", 10, 2.5, 0.9),
        ("Abel", "cable, 1.0 mm2, red", "each", 1, 2, 0.9),
        ("Abel", None, "pack", 10, 2, 0.9),
        ("Abel", "loom tape, PVC, 19 mm", "crate", 10, 2, 0.9),
    )
    assert refused(folder, come(folder, paper)) == [
        "Order B2 colour 'bleu' is not known",
        "Order F3 '2.5' is not a whole number from 0 up",
        "Order D4 cable comes by the metre or on a reel",
        "Order B5 'item' is empty",
        "Order D6 sold as 'crate' is not known",
    ]
    # one letter is missing; what is like nothing known is taken as it is
    slip = order(folder, ("Abel", "bullet cover, mle", "pack", 10, 1, 0.9))
    assert refused(folder, come(folder, slip))[0].startswith("Order B2 'bullet cover, mle' is nei")
    assert refused(folder, come(folder, folder / "none.csv")) == ["there is no such file"]
    nothing = write_book(folder, "notes.xlsx", Sheet=[("a", "b")])
    assert "no sheet has the headings" in refused(folder, come(folder, nothing))[0]


# Counted


def test_what_is_counted_stands(folder: Path) -> None:
    """An item, a piece in its own unit, tape in another; and what the drawer had not yet."""
    done(folder, counted(folder, "Bullet  cover, MALE", "17"))
    done(folder, counted(folder, "r01", "9.25"))
    done(folder, counted(folder, "loom tape, PVC, 19 mm", "850 cm"))
    done(folder, counted(folder, "bullet cover, female", "12"))
    assert shelf(folder) == {
        **{"R01": 9.25, "R02": 2, "R03": 5, "loom tape, PVC, 19 mm": 8.5},
        **{"bullet cover, male": 17, "bullet cover, female": 12},
    }
    assert [row[1:6] for row in moves(folder)] == [
        ("count", "bullet cover, male", -3, "each", 17),
        ("count", "R01", -0.75, "m", 9.25),
        ("count", "loom tape, PVC, 19 mm", -3.5, "m", 8.5),
        ("count", "bullet cover, female", 12, "each", 12),
    ]


OWNERS = ("2026-11-25 10:00", None, "count", "R01", 10, "m", 10, "opening count")
TWICE = [("bullet cover, male", "each", 4), ("bullet cover, male", "each", 9)]


@pytest.mark.parametrize(
    ("book", "item", "number", "says"),
    [
        ({}, "bullet cover, mael", "3", "'bullet cover, mael' is neither in the stock book nor"),
        ({}, "bullet cover, male", "-3", "-3 is below zero"),
        ({}, "bullet cover, male", "many", "'many' is not a number"),
        ({}, "R01", "3 kg", "'kg' is not a unit of length"),
        ({}, "R01", "1,250", "'1,250' can be read in two ways"),
        # it is taken from the first place that has some, but a count has to say which
        ({"drawer": TWICE}, TWICE[0][0], "3", "Drawer C2 'bullet cover, male' stands in two pl"),
        # the moves could not tell a piece from a tape of its name
        ({"drawer": [("R01", "m", 12)]}, "R02", "1", "Drawer A2 'R01' is the name of a piece"),
        # moves that the owner wrote, without seconds, are no command that could be undone
        ({"moves": [OWNERS]}, "", "", "there is no command left to undo"),
    ],
)  # fmt: skip
def test_refusals(tmp_path: Path, book: dict[str, Any], item: str, number: str, says: str) -> None:
    """A count, or an undo where no item is named: one clear sentence, and nothing is written."""
    folder = shop(tmp_path, **book)
    (fault,) = refused(folder, counted(folder, item, number) if item else undo)
    assert fault.startswith(says)


def test_an_item_in_two_places_is_taken_from_the_first(tmp_path: Path) -> None:
    """6 of 4 and 9: the first is empty, and 7 are left."""
    folder = shop(tmp_path, drawer=TWICE)
    done(folder, take(loom(folder, "twin", 1.5, covers=6)))
    assert [row[2] for row in rows(folder, "Drawer")] == [0, 7]
    assert moves(folder)[-1] == ("twin", "issue", "bullet cover, male", -6, "each", 7, None)


def test_columns_in_other_units(tmp_path: Path) -> None:
    """A length in millimetres or inches is written back in them: 47.2441 in are 1200 mm."""
    for heading, before, after in (("length mm", 2000, 800), ("length in", 78.7402, 31.4961)):
        folder = shop(tmp_path / heading[-2:], drawer=[("bullet cover, male", "each", 9)])
        head = ("piece", "gauge", "colour", heading, "cost per m")
        write_book(
            folder,
            "stock.xlsx",
            Cable=[head, ("R01", "1.0", "red", before, 0.3)],
            Drawer=[("item", "unit", "on hand"), ("bullet cover, male", "each", 9)],
            Moves=[("when", "job", "what", "item", "change", "unit", "left", "note")],
        )
        done(folder, take(loom(folder, "twin", 1.2, covers=0)))
        assert rows(folder, "Cable")[0][3] == pytest.approx(after, abs=0.04)
        assert moves(folder)[0][3:6] == (-1.2, "m", pytest.approx(0.8, abs=0.0011))


# Undone


def test_undo_after_each_command_gives_the_same_shelf(folder: Path) -> None:
    """Rows, costs and all; and one step after the other back to the start."""
    twin = loom(folder, "twin", 8.5, 1.8)
    steps: list[Request] = [
        hold(twin),
        release(twin, "twin"),
        hold(twin),
        counted(folder, "bullet cover, male", "17"),
        counted(folder, "bullet cover, female", "12"),
        come(folder, order(folder, *PARCEL)),
        take(twin),
    ]
    seen = [look(folder)]
    for plan in steps:
        done(folder, plan)
        after = look(folder)
        done(folder, undo)
        assert look(folder) == seen[-1]
        done(folder, plan)
        assert look(folder) == after
        seen.append(after)
    for before in reversed(seen[:-1]):
        done(folder, undo)
        assert look(folder) == before
    assert refused(folder, undo) == ["there is no command left to undo"]


def look(folder: Path) -> tuple[object, ...]:
    """The rows of Cable and Drawer but for used-up pieces, and what is set aside."""
    stock = buy_for([], start=folder).stock
    cable = [row for row in rows(folder, "Cable") if row[3]]
    held = sorted((h.job, h.item, h.quantity) for h in stock.holds)
    return cable, rows(folder, "Drawer"), held


def test_a_row_that_the_owner_wrote_in_stays(tmp_path: Path) -> None:
    """A new reel got a place and a note; the order is undone; the row is used up, not gone."""
    folder = shop(tmp_path, cable=[("R01", "1.0", "red", 10, 0.3, "rack", None)])
    done(folder, come(folder, order(folder, PARCEL[0])))
    typed(folder / "stock.xlsx", "Cable", H3="from the spring fair")
    done(folder, undo)
    note = (None, None, "from the spring fair")
    assert rows(folder, "Cable")[1] == ("R02", "1.0", "blue/white", 0, 0.4, *note)


# Changed by hand

TAKEN_OVER = (None, "count", "bullet cover, male", 13, "each", 30, "changed by hand")


def by_hand(folder: Path, sheet: str = "Drawer", **cells: float | str) -> None:
    """The owner types into cells of the stock book."""
    typed(folder / "stock.xlsx", sheet, **cells)


def test_hand_edits_are_taken_over_with_the_owners_yes(folder: Path) -> None:
    """17 by the moves, 30 in the book: asked first, then a count of +13 before the issue of 6."""
    done(folder, counted(folder, "bullet cover, male", "17"))
    by_hand(folder, C2=30)
    twin = loom(folder, "twin", 1.5)
    waiting = book(find_workshop(folder), take(twin), How())
    assert waiting.waits and not waiting.written
    assert shelf(folder)["bullet cover, male"] == 30
    assert [str(d.by_the_moves) for d in waiting.by_hand] == ["17"]
    unasked = bom("stock", "issue", twin, "--json", cwd=folder)
    answer = json.loads(unasked.stdout)
    assert unasked.returncode == 1 and answer["written"] is False
    assert [p["cell"] for p in answer["problems"] if p["level"] == "error"] == ["C2"]
    done(folder, take(twin), yes=True)
    assert moves(folder)[1] == TAKEN_OVER
    assert moves(folder)[-1] == ("twin", "issue", "bullet cover, male", -6, "each", 24, None)
    done(folder, undo)
    assert shelf(folder)["bullet cover, male"] == 30


def test_what_the_command_does_not_touch_waits(folder: Path) -> None:
    """A reel that was changed by hand does not stop a count of covers."""
    done(folder, counted(folder, "R01", "9"))
    by_hand(folder, "Cable", D2=8.5)
    done(folder, counted(folder, "bullet cover, male", "17"))
    answer = told(folder)
    (found,) = answer["by_hand"]
    assert found == {"item": "R01", "unit": "m", "by_the_moves": 9, "in_the_book": 8.5}
    assert [p["cell"] for p in answer["problems"]] == ["D2"]
    shown = bom("stock", "show", "--yes", cwd=folder)
    assert shown.returncode == 0 and "taken over as counts: 1" in shown.stderr
    assert moves(folder)[-1] == (None, "count", "R01", -0.5, "m", 8.5, "changed by hand")


@pytest.mark.parametrize("yes", [True, False])
def test_hand_edits_are_asked_about(
    yes: bool, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A yes at the terminal books both; a no leaves the book as it is."""
    loom(folder, "twin", 1.0)
    done(folder, counted(folder, "bullet cover, male", "17"))
    by_hand(folder, C2=30)
    before = (folder / "stock.xlsx").read_bytes()
    monkeypatch.setattr("bom.cli.booking.asked", lambda question: yes)
    answer = bom("stock", "issue", "twin", cwd=folder)
    assert answer.returncode == (0 if yes else 1), answer.stderr
    assert ((folder / "stock.xlsx").read_bytes() == before) is not yes
    assert (TAKEN_OVER in moves(folder)) is yes


def test_a_count_is_a_yes_in_itself(folder: Path) -> None:
    """Who counts has looked: nobody is asked, and the moves still add up."""
    done(folder, counted(folder, "bullet cover, male", "17"))
    by_hand(folder, C2=30)
    done(folder, counted(folder, "bullet cover, male", "29"))
    assert [row[3] for row in moves(folder)] == [-3, 13, -1]
    assert shelf_of(buy_for([], start=folder).stock)[0].differences() == ()


def test_a_reel_that_was_renamed_or_taken_away_stops_nothing(folder: Path) -> None:
    """It is taken over as gone, what is set aside of it set free; undo goes on behind it."""
    twin = loom(folder, "twin", 1.5)
    done(folder, counted(folder, "R02", "1.9"))
    done(folder, hold(twin))
    by_hand(folder, "Cable", A3="Red2")
    says = [p["says"] for p in told(folder)["problems"]]
    assert "'R02' is gone from the book: 1.9 m by the moves" in says
    done(folder, take_over_all)
    assert moves(folder)[-2:] == [
        (None, "count", "R02", -1.9, "m", 0, "changed by hand"),
        ("twin", "release", "R02", 0, "m", 0, "1.5 m free again; changed by hand"),
    ]
    done(folder, hold(twin))
    assert moves(folder)[-1] == ("twin", "hold", "Red2", 0, "m", 1.9, "1.5 m set aside; 1.0 red")
    done(folder, undo)
    done(folder, undo)
    assert refused(folder, undo) == ["'R02' is no longer in the stock book"]


def test_a_row_of_moves_that_was_changed_is_named(folder: Path) -> None:
    """Not the shelf but the moves were changed by hand, in row 2."""
    done(folder, counted(folder, "R01", "9"))
    done(folder, counted(folder, "R01", "8"))
    by_hand(folder, "Moves", E2=-4, G2=6)
    (said,) = [p["says"] for p in told(folder)["problems"]]
    assert said.startswith("'R01' was changed by hand: 8 m here, 5 m by the moves")
    assert said.endswith(", which do not add up from Moves G3 on")


def test_a_count_under_what_is_set_aside_is_told(folder: Path) -> None:
    """1.5 m are promised, and there is only one."""
    done(folder, hold(loom(folder, "twin", 1.5)))
    booked = done(folder, counted(folder, "R02", "1"))
    assert booked.remarks == ("'R02': 1 m counted, 1.5 m set aside for twin: bom stock hold twin",)


# Books of other kinds and shapes


def test_a_book_without_moves_gets_them(tmp_path: Path) -> None:
    """A sheet of its own is made for them, or its headings where it is blank."""
    for name in ("none", "blank"):
        folder = shop(tmp_path / name, moves=None)
        if name == "blank":
            book = load_workbook(folder / "stock.xlsx")
            book.create_sheet("Moves")
            book.save(folder / "stock.xlsx")
        done(folder, counted(folder, "R01", "9"))
        sheet = load_workbook(folder / "stock.xlsx")["Moves"]
        assert [cell.value for cell in sheet[1]] == list(MOVES)
        assert moves(folder) == [(None, "count", "R01", -1, "m", 9, None)]


def test_a_folder_of_csv_is_written(folder: Path) -> None:
    """As a spreadsheet with semicolons and decimal commas left it; Moves is made."""
    (folder / "stock.xlsx").unlink()
    (folder / "stock").mkdir()
    cable = folder / "stock" / "Cable.csv"
    cable.write_bytes(b"piece;gauge;colour;length\r\nR01;1,0;red;10,5\r\nR02;2,0;black;7,25\r\n")
    drawer = folder / "stock" / "Drawer.csv"
    drawer.write_bytes(b'item;unit;on hand\r\n"bullet cover, male";each;20\r\n')
    done(folder, take(loom(folder, "twin", 1.25)))
    assert cable.read_bytes().splitlines()[1:] == [b"R01;1,0;red;9,25", b"R02;2,0;black;7,25"]
    assert drawer.read_bytes().splitlines()[1].endswith(b";14")
    lines = (folder / "stock" / "Moves.csv").read_text().splitlines()
    assert lines[0] == "when,job,what,item,change,unit,left,note"
    assert lines[1].split(",", 1)[1] == 'twin,issue,R01,-1.25,m,9.25,"1.0 red; wires W1 1.25 m"'
    done(folder, undo)
    assert cable.read_bytes().splitlines()[1] == b"R01;1,0;red;10,5"


def test_kinds_that_are_only_read(folder: Path) -> None:
    """A single .csv has no room for moves, and .ods is not written: each with its cure."""
    (folder / "stock.xlsx").unlink()
    (folder / "stock.csv").write_text("item,unit,on hand\nR01,each,4\n")
    assert "no room for the moves" in refused(folder, counted(folder, "R01", "3"))[0]
    (folder / "stock.csv").unlink()
    (folder / "stock.ods").write_bytes(b"PK")
    assert "is read but not written" in refused(folder, counted(folder, "R01", "3"))[0]


def test_formulas_and_lacking_columns_are_refused(folder: Path) -> None:
    """Nothing is written over a formula, and a list has the columns that it needs."""
    book = xlsxwriter.Workbook(folder / "stock.xlsx")
    cable, drawer = book.add_worksheet("Cable"), book.add_worksheet("Drawer")
    cable.write_row("A1", ("piece", "gauge", "colour", "length"))
    cable.write_row("A2", ("R01", "1.0", "red"))
    cable.write_formula("D2", "=5*2", None, 10)
    drawer.write_row("A1", ("item", "on hand"))
    drawer.write_row("A2", ("bullet cover, male", 20))
    book.add_worksheet("Moves").write_row("A1", ("when", "item", "change"))
    book.close()
    assert refused(folder, counted(folder, "R01", "9")) == [
        f"Moves A1 no column '{name}'" for name in ("job", "what", "unit", "left")
    ]
    moved = load_workbook(folder / "stock.xlsx")
    moved["Moves"].delete_rows(1)
    moved.save(folder / "stock.xlsx")
    (fault,) = refused(folder, counted(folder, "R01", "9"))
    assert fault.startswith("Cable D2 ")


def test_no_stock_book_and_no_workshop(tmp_path: Path) -> None:
    booked = book(find_workshop(tmp_path), undo, How())
    assert "there is no workshop here" in [p.says for p in booked.problems if p.level == "error"]


# Kept safe


def test_a_dry_run_writes_nothing(folder: Path) -> None:
    """It tells the same and leaves no trace beside the book."""
    twin, old = loom(folder, "twin", 1.5), (folder / "stock.xlsx").read_bytes()
    booked = book(find_workshop(folder), take(twin), How(dry_run=True))
    assert not booked.written and len(booked.entries) == 2
    assert (folder / "stock.xlsx").read_bytes() == old
    assert not (folder / ".bom").exists()
    assert done(folder, take(twin)).entries == booked.entries


def test_copies_of_the_book_as_it_was(folder: Path) -> None:
    """All of today's; none where the house keeps none."""
    texts = []
    for number in (9, 8, 7):
        texts.append((folder / "stock.xlsx").read_bytes())
        done(folder, counted(folder, "R01", str(number)))
    copies = copies_of(folder / "stock.xlsx")  # by name the second of a second would come first
    assert [copy.read_bytes() for copy in copies] == texts
    (folder / "workshop.toml").write_text("keep_copies = 0\n")
    done(folder, counted(folder, "R01", "6"))
    assert copies_of(folder / "stock.xlsx") == []


def test_a_book_open_elsewhere_is_left(folder: Path) -> None:
    """Who has it is named; --force goes on, since the mark of a crash stays behind."""
    (folder / ".~lock.stock.xlsx#").write_bytes(b"Anna,anna,bench,25.11.2026 14:03,file:///p;")
    (fault,) = refused(folder, counted(folder, "R01", "9"))
    assert fault == "not written: it is open, by Anna on bench, since 25.11.2026 14:03"
    done(folder, counted(folder, "R01", "9"), force=True)


def test_a_book_changed_meanwhile_is_left(folder: Path) -> None:
    """The owner saved it while the command was reckoning: one line, and theirs stands."""

    def meanwhile(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        by_hand(folder, C2=99)
        return count(find_workshop(folder), "R01", "9")(shelf)

    (problem,) = book(find_workshop(folder), meanwhile, How()).problems
    assert problem.level == "error" and problem.says.endswith("it was changed after it was read")
    assert shelf(folder) == {**START, "bullet cover, male": 99}


def test_a_full_disk_leaves_the_book_whole(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", failing(errno.ENOSPC))
    assert refused(folder, counted(folder, "R01", "9")) == ["not written: the disk is full"]
    assert not list(folder.glob(".bom*.part")) and not list((folder / ".bom").glob("stock *"))


def test_sheets_of_the_owner_that_reckon_with_ours_are_named(folder: Path) -> None:
    """Their stored figures stay, byte for byte, until the spreadsheet program reckons anew."""
    owned = load_workbook(folder / "stock.xlsx")
    owned.create_sheet("Worth")["A1"] = "=SUM(Cable!D2:D9)"
    owned.create_sheet("Diary")["A1"] = "the Cable is on rack B"
    owned.save(folder / "stock.xlsx")
    booked = done(folder, counted(folder, "R01", "9"))
    assert booked.remarks == (
        "Worth: formulas there that reckon with Cable and Moves show old figures until you "
        "recalculate (LibreOffice: Ctrl+Shift+F9)",
    )
    assert done(folder, counted(folder, "bullet cover, male", "9")).remarks == ()


# A book with everything in it

RED = [("W1", "red", "1.0", 1.5), ("W2", "red", "1.0", 2.25)]
OURS = {"xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml", "xl/tables/table1.xml"}


@pytest.fixture
def rich(tmp_path: Path) -> Path:
    """A workshop whose stock book holds 65 features, and a job that takes 1.5 and 2.25 m of red.

    A count has made the sheet Moves already.
    """
    folder = shop(tmp_path / "shop")
    (folder / "stock.xlsx").unlink()
    (folder / "stock.xlsm").write_bytes(rich_book(tmp_path))
    job(folder, RED, "twin", Extras=[("terminal 6.3", 20, "each", None)])
    assert book(find_workshop(folder), counted(folder, "tape 19", "31"), How()).written
    return folder


def test_every_feature_of_the_book_stays_byte_for_byte(rich: Path, tmp_path: Path) -> None:
    """After hold, issue, receive, count and undo: all members but the lists and their table.

    By hand: R1 42.5 - 3.75 = 38.75; terminals 120 - 20 + 100 = 200, then counted 190; the new
    reel R3 of 25 m stands in the table, which ends in row 5 instead of row 4.
    """
    path = rich / "stock.xlsm"
    old = raw_members(path.read_bytes())
    listed = {f"xl/worksheets/sheet{number}.xml" for number in (1, 2, 3, 4)}
    (moves_of,) = {name for name in old if name.startswith("xl/worksheets/sheet")} - listed
    twin = rich / "jobs" / "twin.xlsx"
    reel = ("Abel", "cable, 1.0 mm2, red", "reel", 25, 1, 9.5)
    paper = order(rich, reel, ("Abel", "terminal 6.3", "pack", 100, 1, 8))
    plans = (hold(twin), take(twin), come(rich, paper), counted(rich, "terminal 6.3", "190"))
    for plan in (*plans, undo, counted(rich, "terminal 6.3", "190")):
        assert book(find_workshop(rich), plan, How()).written
        new = raw_members(path.read_bytes())
        assert list(new) == list(old)
        assert {name for name in old if new[name] != old[name]} <= {*OURS, moves_of}
    data = path.read_bytes()
    sheets = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
    cells, drawer = (
        sheets.get_sheet_by_name(name).to_python(skip_empty_area=False)
        for name in ("Cable", "Drawer")
    )
    for cable, terminals in ((grid(data), grid(data, "Drawer")[1]), (cells, drawer[1])):
        assert [row[:4] for row in cable[:5]] == [
            ["piece", "gauge", "colour", "length"],
            ["R1", "1.0", "red", 38.75],
            ["R2", "1.0", "black", 17],
            ["K1", "2.0", "blue", 1.25],
            ["R3", "1.0", "red", 25],
        ]
        assert terminals[:5] == ["terminal 6.3", "each", 190, 50, 200]
    frame = pd.read_excel(io.BytesIO(data), sheet_name="Cable", engine="openpyxl")
    assert frame["length"][:4].tolist() == [38.75, 17, 1.25, 25]
    assert loaded(data)["Cable"].tables["Pieces"].ref == "A1:G5"


@pytest.mark.libreoffice
@pytest.mark.slow
def test_libreoffice_reads_the_book_after_it_all(rich: Path, tmp_path: Path) -> None:
    """R1 42.5 - 3.75 = 38.75, worth 38.75 x 0.38 = 14.725 in the owner's own column."""
    assert book(find_workshop(rich), take(rich / "jobs" / "twin.xlsx"), How()).written
    made = converted((rich / "stock.xlsm").read_bytes(), "s.xlsm", tmp_path)
    seen = loaded(made.read_bytes(), results=True)
    assert seen["Cable"]["D2"].value == 38.75
    assert seen["Cable"]["I2"].value == pytest.approx(14.725)
    assert seen["Drawer"]["C2"].value == 100
    assert [row[4].value for row in seen["Moves"]["A2:H4"]] == [-2, -3.75, -20]


@pytest.mark.libreoffice
@pytest.mark.slow
def test_a_book_open_in_a_real_libreoffice_is_left(tmp_path: Path) -> None:
    """It has the book open, headless, with its own mark beside it: who has it is told."""
    folder = shop(tmp_path / "shop")
    with opened(folder / "stock.xlsx", tmp_path):
        (fault,) = refused(folder, counted(folder, "R01", "9"))
    assert fault.startswith(f"not written: it is open, by {getpass.getuser()} on ")


# Marks learned from use


def used(weeks: int, a_week: int) -> list[tuple[object, ...]]:
    """Rows that the owner wrote: so many covers issued a week, counted back from yesterday."""
    days = [date.today() - timedelta(days=7 * n + 3) for n in range(weeks)]
    what = ("old", "issue", "bullet cover, male", -a_week, "each", None, None)
    start = date.today() - timedelta(days=7 * weeks)
    return [
        (f"{start}", None, "count", "R03", 5, "m", 5, None),
        *((f"{day}", *what) for day in days),
    ]


def test_marks_are_learned_shown_and_written_on_a_yes(tmp_path: Path) -> None:
    """14 covers every week for 10 weeks, no deviation: 5 days are 10, and low is one over: 11.

    One order: sqrt(2 x 0.6 x 52 x 14 / (0.05 x 20 %)) = sqrt(87360) = 295.57, so 296; full 307.
    """
    folder = shop(tmp_path, moves=used(10, 14))
    shown = bom("topup", "--learn", cwd=folder)
    assert shown.returncode == 0, shown.stderr
    assert "low and full marks from the use of 10 weeks" in shown.stdout
    assert [row[3:5] for row in rows(folder, "Drawer")] == [(10, 50), (5, 30)]
    answer = json.loads(bom("topup", "--learn", "--yes", "--json", cwd=folder).stdout)
    (mark,) = answer["marks"]
    assert (mark["low"], mark["full"], mark["order_size"], mark["was_low"]) == (11, 307, 296, 10)
    assert answer["written"] and answer["too_little"] == ["loom tape, PVC, 19 mm"]
    assert [row[3:5] for row in rows(folder, "Drawer")] == [(11, 307), (5, 30)]
    assert moves(folder)[-1] == (
        *(None, "marks", "bullet cover, male", 0, "each", 20),
        "low 11 (was 10), full 307 (was 50)",
    )
    done(folder, undo)
    assert [row[3:5] for row in rows(folder, "Drawer")] == [(10, 50), (5, 30)]


def test_seven_weeks_teach_nothing(tmp_path: Path) -> None:
    """The number of weeks is told, and nothing is proposed or written."""
    folder = shop(tmp_path, moves=used(7, 14))
    shown = bom("topup", "--learn", "--yes", cwd=folder)
    assert shown.returncode == 0, shown.stderr
    assert "the moves go back 7 whole weeks; 8 are needed" in shown.stdout
    assert [row[3:5] for row in rows(folder, "Drawer")] == [(10, 50), (5, 30)]


# Books as others make them


def titled(sheet: Any) -> None:
    """A title, totals above the list, a blank row; then the list, filtered and frozen."""
    sheet.insert_rows(1, 3)
    sheet["A1"], sheet["A2"] = "Shelf of an invented workshop", "in all"
    sheet["D2"] = "=SUM(D5:D99)"
    last = sheet.max_row
    sheet.auto_filter.ref = f"A4:E{last}"
    sheet.freeze_panes = "A5"
    sheet.row_dimensions[last].hidden = True
    sheet.conditional_formatting.add(
        f"D5:D{last}", Rule(type="cellIs", operator="lessThan", formula=["2"])
    )
    sheet["A5"].comment = Comment("half used", "owner")


@pytest.mark.libreoffice
@pytest.mark.slow
@pytest.mark.parametrize("saved", [False, True], ids=["openpyxl", "LibreOffice"])
def test_titles_totals_filters_and_notes(saved: bool, tmp_path: Path) -> None:
    """R01 10 - 8.5 = 1.5, and the sum above the list follows: 1.5 + 0 + 5 + 3 of a new reel."""
    folder = shop(tmp_path / "shop")
    owned = load_workbook(folder / "stock.xlsx")
    titled(owned["Cable"])
    owned.save(folder / "stock.xlsx")
    if saved:
        made = converted((folder / "stock.xlsx").read_bytes(), "made.xlsx", tmp_path)
        (folder / "stock.xlsx").write_bytes(made.read_bytes())
    done(folder, take(loom(folder, "twin", 8.5, 1.8)))
    done(folder, come(folder, order(folder, PARCEL[0])))
    again = converted((folder / "stock.xlsx").read_bytes(), "again.xlsx", tmp_path)
    sheet = loaded(again.read_bytes(), results=True)["Cable"]
    assert sheet["D2"].value == pytest.approx(9.5)
    assert [sheet[f"A{row}"].value for row in range(4, 9)] == ["piece", "R01", "R02", "R03", "R04"]
    assert [sheet[f"D{row}"].value for row in range(5, 9)] == [1.5, 0, 5, 3]
    kept = load_workbook(folder / "stock.xlsx")["Cable"]
    assert kept.auto_filter.ref == "A4:E7" and kept["A5"].comment is not None
    assert kept.row_dimensions[7].hidden
    assert saved or kept.freeze_panes == "A5"  # headless, LibreOffice saves none


def test_the_shelf_is_rebuilt_from_opening_and_moves(tmp_path: Path) -> None:
    """R01 opened with 10 m, 0.5 m came to light, 1.5 m went: 9 m, as the book has."""
    folder = shop(tmp_path, cable=[REELS[0]])
    done(folder, counted(folder, "R01", "10.5"))
    done(folder, take(loom(folder, "twin", 1.5, covers=0)))
    shown = bom("stock", "show", "--rebuild", cwd=folder)
    assert "from opening count and moves" in shown.stdout
    (thread,) = told(folder, "--rebuild")["rebuilt"]
    assert thread == {
        **{"item": "R01", "unit": "mm", "opening": 10000, "come": 500, "gone": 1500},
        **{"left": 9000, "in_the_book": 9000},
    }
    assert told(folder)["rebuilt"] is None


def test_a_name_near_a_jobs_is_suggested(tmp_path: Path) -> None:
    """By its bare name in the workshop, as items and suppliers are."""
    loom(shop(tmp_path), "kestrel-250", 1.5)
    wrong = bom("stock", "hold", "kestrl-250", cwd=tmp_path)
    assert wrong.returncode == 1 and "    try: kestrel-250\n" in wrong.stderr
