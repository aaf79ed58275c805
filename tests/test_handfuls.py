"""Taken off the shelf and put in by the handful, and one command undone by its moment.

The shop: R01 10 m, R02 2 m of 1.0 red, R03 5 m of 2.0 black; 20 male covers (full 50), 12 m of tape
(full 30).
"""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from bom.job import find_workshop
from bom.workshop.shelf_requests import count, hold, put_in, take
from bom.workshop.stockroom import How, Request, book, undo, undo_of
from tests.stockrooms import done, loom, moves, refused, rows, shelf, shop, typed
from tests.test_stockroom_laws import started
from tests.within import bom

COVERS, FEMALE, TAPE = "bullet cover, male", "bullet cover, female", "loom tape, PVC, 19 mm"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A workshop with reels and items."""
    return shop(tmp_path)


def taken(folder: Path, item: str, number: str) -> Request:
    """The plan of taking some."""
    return take(find_workshop(folder), item, number)


def put(folder: Path, item: str, number: str) -> Request:
    """The plan of putting some in."""
    return put_in(find_workshop(folder), item, number)


def test_a_handful_goes_out_and_some_of_it_comes_back(folder: Path) -> None:
    """20 - 4 = 16, and 16 + 1 = 17; 12 m - 1.5 m = 10.5 m; 10 m - 1.2 m = 8.8 m."""
    done(folder, taken(folder, COVERS, "4"))
    done(folder, put(folder, COVERS, "1"))
    done(folder, taken(folder, TAPE, "150 cm"))
    done(folder, taken(folder, "R01", "1.2 m"))
    assert moves(folder) == [
        (None, "take", COVERS, -4, "each", 16, None),
        (None, "put", COVERS, 1, "each", 17, None),
        (None, "take", TAPE, -1.5, "m", 10.5, None),
        (None, "take", "R01", -1.2, "m", 8.8, None),
    ]
    assert shelf(folder) == {"R01": 8.8, "R02": 2, "R03": 5, COVERS: 17, TAPE: 10.5}


@pytest.mark.parametrize("plan", [count, take, put_in])
def test_there_is_no_half_of_a_cover(plan: Callable[..., Request], folder: Path) -> None:
    """Of what is counted in `each`; a catalogue item that the drawer has not is counted so too."""
    for item, number in ((COVERS, "1.5"), (FEMALE, "0,5"), (COVERS, "0.001")):
        asked = plan(find_workshop(folder), item, number)
        says = f"'{item}' is counted one by one, and '{number}' is no whole number"
        assert refused(folder, asked) == [says]


@pytest.mark.parametrize(
    ("number", "cure"), [("1.5", "1 or 2"), ("0.5", "1"), ("12,25", "12 or 13")]
)
def test_the_cure_is_what_can_be_counted(number: str, cure: str, folder: Path) -> None:
    """The whole numbers beside it; none is nothing to take."""
    booked = book(find_workshop(folder), taken(folder, COVERS, number), How())
    assert [problem.cure for problem in booked.problems] == [cure]


def test_there_is_half_a_pair_and_half_a_litre(tmp_path: Path) -> None:
    """20 pairs - 1.5 = 18.5; 2 litres + 0.5 = 2.5; and 3.0 covers are three."""
    drawer = (("boot", "pair", 20), ("grease", "litre", 2), (COVERS, "each", 20))
    folder = shop(tmp_path, drawer=[(*row, None, None, None) for row in drawer])
    done(folder, taken(folder, "boot", "1.5"))
    done(folder, put(folder, "grease", "0.5"))
    done(folder, taken(folder, COVERS, "3.0"))
    there = shelf(folder)
    assert (there["boot"], there["grease"], there[COVERS]) == (18.5, 2.5, 17)


def test_a_length_is_a_piece_of_its_own(folder: Path) -> None:
    """1.2 m of what R01 is, with the next name; undone, its row is gone, and R01 is as it was."""
    booked = done(folder, put(folder, "R01", "1.2 m"))
    assert booked.remarks == ("write on the length: R04 1.0 red",)
    assert rows(folder, "Cable")[-1][:5] == ("R04", "1.0", "red", 1.2, 0.3)
    assert moves(folder) == [(None, "put", "R04", 1.2, "m", 1.2, "new row; 1.0 red")]
    done(folder, undo)
    assert shelf(folder)["R01"] == 10 and len(rows(folder, "Cable")) == 3


def test_a_whole_length_comes_back_under_its_name(folder: Path) -> None:
    """Two metres of R02 are all of it."""
    done(folder, taken(folder, "R02", "2 m"))
    done(folder, put(folder, "R02", "2 m"))
    assert shelf(folder)["R02"] == 2 and len(rows(folder, "Cable")) == 3


def test_what_the_drawer_has_not_gets_a_row(folder: Path) -> None:
    """Twelve female covers from a bag; of none nothing is taken."""
    short = "0 each of 'bullet cover, female' on hand, 3 each to be taken"
    assert refused(folder, taken(folder, FEMALE, "3")) == [short]
    done(folder, put(folder, FEMALE, "12"))
    assert moves(folder) == [(None, "put", FEMALE, 12, "each", 12, "new row")]
    done(folder, taken(folder, FEMALE, "3"))
    assert shelf(folder)[FEMALE] == 9


@pytest.mark.parametrize(
    ("item", "number", "says"),
    [
        (COVERS, "21", "Drawer C2 20 each of 'bullet cover, male' on hand, 21 each to be taken"),
        ("R02", "2001 mm", "Cable D3 2 m of 'R02' on hand, 2.001 m to be taken"),
        (COVERS, "0", "'0' is nothing to take or put in"),
        ("R01", "0 m", "'0 m' is nothing to take or put in"),
        (COVERS, "-4", "-4 is below zero"),
        (COVERS, "a few", "'a few' is not a number"),
    ],
)
def test_what_is_not_taken(item: str, number: str, says: str, folder: Path) -> None:
    """More than there is, nothing, and what is no number."""
    assert refused(folder, taken(folder, item, number)) == [says]


def test_a_job_that_waits_is_told(folder: Path) -> None:
    """14 of 20 are set aside for two jobs; 10 go, so that who asked last has 4 of its 8 left."""
    for name, covers in {"twin": 6, "single": 8}.items():
        done(folder, hold(loom(folder, name, 1.0, covers=covers)))
    before = len(moves(folder))
    booked = done(folder, taken(folder, COVERS, "10"))
    told = f"'{COVERS}': 10 left, 8 set aside for single: bom stock hold single"
    assert booked.remarks == (told,)
    assert moves(folder)[before:] == [
        (None, "take", COVERS, -10, "each", 10, None),
        ("single", "release", COVERS, 0, "each", 10, "4 each free again"),
    ]
    done(folder, undo)
    held = json.loads(bom("stock", "show", "--json", cwd=folder).stdout)["held"]
    of_covers = {hold["job"]: hold["quantity"] for hold in held if hold["item"] == COVERS}
    assert of_covers == {"twin": 6, "single": 8}


def test_what_is_free_is_taken_without_a_word(folder: Path) -> None:
    """6 of 20 are set aside: the other 14 are free."""
    done(folder, hold(loom(folder, "twin", 1.0, covers=6)))
    assert done(folder, taken(folder, COVERS, "14")).remarks == ()


def test_hand_edits_are_asked_first(folder: Path) -> None:
    """19 by the moves, 30 in the book: with yes a count of 11, then 4 of 30."""
    done(folder, taken(folder, COVERS, "1"))
    typed(folder / "stock.xlsx", "Drawer", C2=30)
    waiting = book(find_workshop(folder), taken(folder, COVERS, "4"), How())
    assert waiting.waits and shelf(folder)[COVERS] == 30
    done(folder, taken(folder, COVERS, "4"), yes=True)
    assert [move[1:6] for move in moves(folder)[1:]] == [
        ("count", COVERS, 11, "each", 30),
        ("take", COVERS, -4, "each", 26),
    ]


@pytest.mark.parametrize(
    ("item", "number", "says"),
    [
        (COVERS, "499", ""),
        (COVERS, "500", "'bullet cover, male': 500 put in, 20 in the book"),
        (TAPE, "299 m", ""),
        (TAPE, "300000 mm", "'loom tape, PVC, 19 mm': 300 m put in, 12 m in the book"),
        ("R02", "19.9 m", ""),
        ("R02", "1200", "'R02': 1200 m put in, 2 m in the book"),
    ],
)
def test_far_too_much_is_asked(item: str, number: str, says: str, folder: Path) -> None:
    """Ten full drawers, or ten times a length: a nought too many, or millimetres."""
    booked = book(find_workshop(folder), put(folder, item, number), How())
    assert [doubt.says for doubt in booked.doubts] == [says] * bool(says)
    assert booked.waits == bool(says)
    assert says == "" or done(folder, put(folder, item, number), yes=True)


def test_two_who_take_at_once_both_count(folder: Path) -> None:
    """20 - 4 - 3 = 13, whoever came first."""
    both = [started(folder, "stock", "take", COVERS, number, "--json") for number in "43"]
    answers = [child.communicate() for child in both]
    assert all(json.loads(out)["written"] for out, _ in answers), answers
    assert shelf(folder)[COVERS] == 13
    assert sorted(move[3] for move in moves(folder)) == [-4, -3]


# One command undone


def test_undo_of_what_was_just_done(folder: Path) -> None:
    """18 counted, 4 taken: the take is undone, then the count; others are in `test_told.py`."""
    first = done(folder, count(find_workshop(folder), COVERS, "18"))
    second = done(folder, taken(folder, COVERS, "4"))
    done(folder, undo_of(second.when))
    assert shelf(folder)[COVERS] == 18
    done(folder, undo_of(first.when))
    assert shelf(folder)[COVERS] == 20


def test_undo_of_a_command_leaves_the_hand_edit_before_it(folder: Path) -> None:
    """The moment of the command is told, not that of the count it took over: back to 30."""
    done(folder, taken(folder, COVERS, "1"))
    typed(folder / "stock.xlsx", "Drawer", C2=30)
    booked = done(folder, taken(folder, COVERS, "4"), yes=True)
    done(folder, undo_of(booked.when))
    assert shelf(folder)[COVERS] == 30
