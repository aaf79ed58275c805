"""Orders as things: placed, on the way, come in parts, sent back, closed; each figure by hand.

Two wires and some covers a job; Abel sells covers by the piece at 0.30 and in packs of ten at 2.00,
red 1.0 cable by the metre at 0.50.
"""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from tests.stockrooms import ITEMS, REELS, loom, moves, rows, shelf, shop, typed
from tests.within import bom

COVER, FUSE = "bullet cover, female", "blade fuse, 7.5 A"
PRICES = (
    ("Abel", COVER, None, None, "each", 1, 0.30),
    ("Abel", FUSE, None, None, "each", 1, 0.25),
    ("Abel", "cable", "1.0", "red", "metre", None, 0.50),
    ("Baker", "loom tape, PVC, 19 mm", None, None, "reel", 20, 2.40),
)
YEAR = date.today().year
ONE, TWO = f"{YEAR}-001", f"{YEAR}-002"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A workshop with ten and two metres of red, and one fuse in the drawer."""
    return shop(tmp_path, REELS, (*ITEMS, (FUSE, "each", 1, None, None, 0.05)), prices=PRICES)


def fuses(folder: Path, name: str, number: int) -> Path:
    """A job of one short wire that the shelf has, and fuses."""
    from tests.shops import job

    return job(folder, [("W1", "red", "1.0", 0.5)], name, Extras=[(FUSE, number, "each", None)])


def run(folder: Path, *words: object, code: int = 0) -> str:
    """What a command prints; it must leave with this code."""
    done = bom(*map(str, words), cwd=folder)
    assert done.returncode == code, done.stdout + done.stderr
    return done.stdout if not code else done.stderr


def told(folder: Path, *words: object) -> dict[str, Any]:
    """What a command answers in JSON."""
    answer: dict[str, Any] = json.loads(run(folder, *words, "--json"))
    return answer


def orders(folder: Path) -> list[tuple[Any, ...]]:
    """Number, item, packs, price, for, needed and came of each line."""
    found = rows(folder, "Orders")
    return [(r[0], r[3], r[8], r[9], r[11], r[14], r[12]) for r in found]


def lines(folder: Path, *jobs: str) -> list[tuple[str, int]]:
    """What would be ordered for jobs: item and packs."""
    return [(line["item"], line["packs"]) for line in told(folder, "order", *jobs)["lines"]]


def held(folder: Path) -> list[tuple[str, str, str]]:
    """Who has how much of what set aside."""
    found = told(folder, "stock", "show")["held"]
    return [(h["job"], h["item"], str(h["quantity"])) for h in found]


def test_a_second_order_of_the_same_article_is_another_order(folder: Path) -> None:
    """Two jobs of five fuses, one on the shelf: four and five are ordered, and all nine come.

    The first job is promised the one on the shelf and what was ordered for it: nothing of that
    is free for the second.
    """
    fuses(folder, "j1", 5)
    fuses(folder, "j2", 5)
    run(folder, "stock", "hold", "j1")
    run(folder, "order", "j1", "--place")
    run(folder, "order", "j2", "--place")
    assert orders(folder) == [
        (ONE, FUSE, 4, 0.25, "j1", 4, 0),
        (TWO, FUSE, 5, 0.25, "j2", 5, 0),
    ]
    run(folder, "stock", "receive", ONE)
    run(folder, "stock", "receive", TWO)
    assert shelf(folder)[FUSE] == 10
    assert [line[-1] for line in orders(folder)] == [4, 5]
    fuse = [(job, n) for job, item, n in held(folder) if item == FUSE]
    assert sorted(fuse) == [("j1", "5"), ("j2", "5")]  # 1 and 4; 5


def test_a_parcel_in_parts_at_two_prices(folder: Path) -> None:
    """Two of four at 0.25, two more at 0.30: five are there, at 0.23 each.

    (1 x 0.05 + 2 x 0.25) / 3 = 0.1833; (3 x 0.1833 + 2 x 0.30) / 5 = 0.23.
    """
    fuses(folder, "j1", 5)
    run(folder, "order", "j1", "--place")
    said = run(folder, "stock", "receive", ONE, "--only", f"{FUSE}=2")
    assert f"still to come: 2 x each, {FUSE}" in said
    run(folder, "stock", "receive", ONE, "--price", f"{FUSE}=0.30")
    assert shelf(folder)[FUSE] == 5
    (drawer,) = [row for row in rows(folder, "Drawer") if row[0] == FUSE]
    assert drawer[5] == pytest.approx(0.23, abs=0.0001)
    assert orders(folder) == [(ONE, FUSE, 4, 0.30, "j1", 4, 4)]
    assert f"all of order {ONE} has come" in run(folder, "stock", "receive", ONE, code=1)


def test_what_is_on_order_is_not_ordered_again(folder: Path) -> None:
    """Nor for the job itself, nor by a top-up; what the job does not wait for is free.

    Five wires of 2.5 m are 12.5 m: R01 gives four, R02 none, so that 3 m are bought for the fifth.
    Nothing is left for another job of 2.5 m, which may have 1.5 m from the rest (3 - 2.5 = 0.5).
    """
    loom(folder, "long", 2.5, 2.5, 2.5, 2.5, 2.5, covers=0)
    assert lines(folder, "long") == [("cable, 1.0 mm2, red", 3)]
    run(folder, "order", "long", "--place")
    assert lines(folder, "long") == []
    (counted,) = told(folder, "order", "long")["on_order"]
    assert (counted["number"], counted["quantity"]) == (ONE, 2500)
    assert "nothing to order: the shelf and orders have it all" in run(folder, "order", "long")
    loom(folder, "other", 0.5, covers=0)
    run(folder, "stock", "hold", "long")  # 10 m of R01; 2 m of R02 are free
    assert lines(folder, "other") == []


def test_what_came_for_one_job_is_not_another_s(folder: Path) -> None:
    """Four fuses come for the first; the second job, held afterwards, is short of all its own."""
    fuses(folder, "j1", 5)
    fuses(folder, "j2", 3)
    run(folder, "order", "j1", "--place")
    run(folder, "stock", "receive", ONE)
    run(folder, "stock", "hold", "j2")
    assert [(job, n) for job, item, n in held(folder) if item == FUSE] == [
        ("j1", "4"),
        ("j2", "1"),  # the one that lay there, which nobody had set aside
    ]


def test_surplus_is_said_and_on_the_shelf(folder: Path) -> None:
    """Six came of four: seven are there, the line says six, and the job has the five it needs."""
    fuses(folder, "j1", 5)
    run(folder, "order", "j1", "--place")
    said = run(folder, "stock", "receive", ONE, "--only", f"{FUSE}=6")
    assert f"{FUSE}: 6 came, 4 were ordered" in said
    assert shelf(folder)[FUSE] == 7 and orders(folder)[0][-1] == 6
    assert ("j1", FUSE, "5") in held(folder)


def test_sent_back_it_is_open_again_or_closed(folder: Path) -> None:
    """Four came, one goes back: three stay, one is to come; another goes for good: two of three.

    The cost is as if they had never come: 1 x 0.05 and 4 x 0.25 are 1.05 / 5 = 0.21;
    without one (1.05 - 0.25) / 4 = 0.20, without two 0.55 / 3 = 0.1833.
    """
    fuses(folder, "j1", 5)
    run(folder, "order", "j1", "--place")
    run(folder, "stock", "receive", ONE)
    run(folder, "stock", "sendback", ONE, FUSE, 1)
    assert shelf(folder)[FUSE] == 4 and orders(folder)[0][2:] == (4, 0.25, "j1", 4, 3)
    assert ("j1", FUSE, "3") in held(folder)
    run(folder, "stock", "sendback", ONE, FUSE, 1, "--close")
    assert shelf(folder)[FUSE] == 3 and orders(folder)[0][2:] == (3, 0.25, "j1", 4, 2)
    (drawer,) = [row for row in rows(folder, "Drawer") if row[0] == FUSE]
    assert drawer[5] == pytest.approx(0.1833, abs=0.0001)
    assert told(folder, "stock", "orders")["lines"][0]["to_come"] == 1
    run(folder, "stock", "close", ONE)
    assert told(folder, "stock", "orders")["lines"] == []


def test_a_reel_goes_back_uncut_only(folder: Path) -> None:
    """Of two metres that came in one length half a metre is cut: one whole metre can go."""
    loom(folder, "long", 12, 1.5, covers=0)
    run(folder, "order", "long", "--place")  # 12 m; R02 gives 1.5
    run(folder, "stock", "receive", ONE)
    assert shelf(folder)["R04"] == 12
    run(folder, "stock", "count", "R04", "1.5 m", "--yes")
    fault = run(folder, "stock", "sendback", ONE, "1.0 red", 2, code=1)
    assert "1 of 'cable, 1.0 mm2, red' can go back, 2 are to" in fault
    run(folder, "stock", "sendback", ONE, "1.0 red", 1)
    assert shelf(folder)["R04"] == 0.5


@pytest.mark.parametrize(
    "words",
    [
        ("stock", "receive", ONE, "--only", f"{FUSE}=2", "--price", f"{FUSE}=0.31"),
        ("stock", "sendback", ONE, FUSE, 1),
        ("stock", "sendback", ONE, FUSE, 1, "--close"),
        ("stock", "close", ONE),
        ("order", "j2", "--place"),
    ],
)
def test_all_of_it_is_undone(words: tuple[object, ...], folder: Path) -> None:
    """Cable, Drawer and Orders are cell for cell what they were."""
    fuses(folder, "j1", 9)
    fuses(folder, "j2", 2)
    run(folder, "order", "j1", "--place")
    run(folder, "stock", "receive", ONE, "--only", f"{FUSE}=3")
    before = [rows(folder, sheet) for sheet in ("Cable", "Drawer", "Orders")]
    kept = held(folder)
    run(folder, *words)
    assert [rows(folder, sheet) for sheet in ("Cable", "Drawer", "Orders")] != before
    run(folder, "stock", "undo")
    assert [rows(folder, sheet) for sheet in ("Cable", "Drawer", "Orders")] == before
    assert held(folder) == kept


def test_an_order_that_came_is_not_undone_before_its_receipt(folder: Path) -> None:
    """Where the owner typed that some came, the order stays, and a number is not given twice."""
    fuses(folder, "j1", 5)
    run(folder, "order", "j1", "--place")
    typed(folder / "stock.xlsx", "Orders", M2=1)
    assert "1 x each of it came by the book" in run(folder, "stock", "undo", code=1)
    typed(folder / "stock.xlsx", "Orders", M2=0)
    run(folder, "stock", "undo")
    assert orders(folder) == []
    run(folder, "order", "j1", "--place")
    assert orders(folder)[0][0] == TWO
    assert [row[1] for row in moves(folder)] == ["order", "undo", "order"]


def test_a_top_up_on_its_way_is_not_topped_up_again(folder: Path) -> None:
    """Tape stands at 12 of low 5: used down to 4 m a reel of 20 is 24, under full 30: two reels."""
    typed(folder / "stock.xlsx", "Drawer", C3=4)
    assert told(folder, "topup")["lines"][0]["packs"] == 2  # 30 - 4 = 26 m
    run(folder, "topup", "--place")
    assert orders(folder) == [(ONE, "loom tape, PVC, 19 mm", 2, 2.4, "top-up", 26, 0)]
    assert told(folder, "topup")["lines"] == []
    run(folder, "stock", "receive", ONE, "--only", "loom tape, PVC, 19 mm=1")
    assert told(folder, "topup")["lines"] == []
    assert held(folder) == []


def test_a_job_called_off_gets_nothing_more(folder: Path) -> None:
    """What comes for a job that was issued and taken back is free."""
    fuses(folder, "j1", 5)
    run(folder, "order", "j1", "--place")
    run(folder, "stock", "issue", "j1", "--part")
    run(folder, "stock", "takeback", "j1")
    run(folder, "stock", "receive", ONE)
    assert held(folder) == []


def test_a_number_that_is_no_order_names_those_that_are_open(folder: Path) -> None:
    """Wrong before: of 004 the nearest by its letters, 009, which is another order."""
    for number in (1, 2, 3):
        fuses(folder, f"j{number}", 5)
        run(folder, "order", f"j{number}", "--place")
    run(folder, "stock", "receive", ONE)
    none = run(folder, "stock", "receive", f"{YEAR}-004", code=1)
    assert f"there is no order '{YEAR}-004'" in none and f"try: {YEAR}-002, {YEAR}-003\n" in none
    for other in ("3", f"{YEAR}-3", "1999-003"):
        assert f"try: {YEAR}-003\n" in run(folder, "stock", "receive", other, code=1)


def test_what_is_asked_wrongly_is_told_with_what_is_meant(folder: Path) -> None:
    """A number that is none, an item that is not on the order, an amount left out."""
    fuses(folder, "j1", 5)
    run(folder, "order", "j1", "--place")
    nearest = run(folder, "stock", "receive", f"{YEAR}-01", code=1)
    assert f"there is no order '{YEAR}-01'" in nearest and f"try: {ONE}" in nearest
    fault = run(folder, "stock", "receive", ONE, "--only", "blade fuse, 10 A=1", code=1)
    assert f"'blade fuse, 10 A' is not on order {ONE}" in fault and f"try: {FUSE}" in fault
    assert "does not say how much" in run(folder, "stock", "receive", ONE, "--only", FUSE, code=1)
    assert "can go back" not in run(folder, "stock", "sendback", ONE, FUSE, 1, code=1)


def test_a_wire_is_held_on_the_length_it_can_be_cut_from(tmp_path: Path) -> None:
    """2.5 and 0.2 m for a, 1.55 m for b; 3 m come, then 2 m: all of b's lies on the second."""
    folder = shop(tmp_path, (), (), prices=[("Abel", "cable", "1.0", "red", "metre", None, 0.5)])
    loom(folder, "a", 2.5, 0.2, covers=0)
    loom(folder, "b", 1.55, covers=0)
    run(folder, "order", "a", "b", "--place")
    run(folder, "stock", "receive", ONE, "--only", "1.0 red=3")
    assert held(folder) == [("a", "R01", "2700")]
    run(folder, "stock", "receive", ONE)
    assert held(folder) == [("a", "R01", "2700"), ("b", "R02", "1550")]


def test_no_job_gets_more_than_it_lacks(folder: Path) -> None:
    """j1 needs 7, and holds them all by a count before its parcel of 6 comes: j2 has those."""
    fuses(folder, "j1", 7)
    fuses(folder, "j2", 4)
    run(folder, "order", "j1", "--place")
    run(folder, "stock", "count", FUSE, 8)
    run(folder, "stock", "hold", "j1")
    run(folder, "stock", "receive", ONE)
    assert ("j1", FUSE, "7") in held(folder) and shelf(folder)[FUSE] == 14
    assert lines(folder, "j2") == []


def test_lengths_wait_for_the_jobs_that_are_cut_from_them(tmp_path: Path) -> None:
    """Wires of 4 and 4, 1.5 and 2 m: each line of the order says who cuts how much from it.

    A reel of 10 at 3.00 and 2 metres at 0.40 are the least: the reel gives 4 + 4 and 2 (or 1.5),
    and the 2 m the other; together they need 11.5.
    """
    prices = [
        ("Abel", "cable", "1.0", "red", "metre", None, 0.40),
        ("Abel", "cable", "1.0", "red", "reel", 10, 3.00),
    ]
    folder = shop(tmp_path, (), (), prices=prices)
    for name, metres in {"j1": (4, 4), "j2": (1.5,), "j3": (2,)}.items():
        loom(folder, name, *metres, covers=0)
    run(folder, "order", "j1", "j2", "j3", "--place")
    placed = {
        (row[6], job): float(amount)
        for row in rows(folder, "Orders")
        for job, amount in zip(row[11].split(", "), str(row[14]).split(", "), strict=True)
    }
    assert placed["reel", "j1"] == 8 and ("metre", "j1") not in placed
    assert sum(placed.values()) == 11.5
    assert [lines(folder, job) for job in ("j1", "j2", "j3")] == [[], [], []]


def test_the_list_of_an_order_that_was_placed_is_not_booked_in_beside_it(folder: Path) -> None:
    """Written with its number or before it had one: it comes in by that, once."""
    fuses(folder, "j1", 5)
    run(folder, "order", "j1", "--csv", "before.csv")
    run(folder, "order", "j1", "--place", "--csv", "placed.csv")
    for name in ("before.csv", "placed.csv"):
        fault = run(folder, "stock", "receive", name, code=1)
        assert f"'{FUSE}' is on order {ONE}" in fault
    assert shelf(folder)[FUSE] == 1


def test_two_files_of_the_same_goods_are_told_apart_by_their_names(folder: Path) -> None:
    """Two of four of a came, then all four of b, another order; then the rest of a: 1 + 8."""
    heads = "supplier,item,sold as,packs,price\n"
    for name, packs in (("a", 2), ("b", 4)):
        (folder / f"{name}.csv").write_text(f'{heads}Abel,"{FUSE}",each,{packs},0.25\n')
    run(folder, "stock", "receive", "a.csv")
    assert "booked in already" in run(folder, "stock", "receive", "b.csv", code=1)
    run(folder, "stock", "receive", "b.csv", "--again")
    (folder / "a.csv").write_text(f'{heads}Abel,"{FUSE}",each,4,0.30\n')
    run(folder, "stock", "receive", "a.csv", "--rest")
    assert shelf(folder)[FUSE] == 9


# -------------------------------------------------------- lines alike, and what the owner typed


def own_row(folder: Path, number: str, item: str, packs: int, **more: Any) -> None:
    """A line that the owner adds under an order: sold each at 0.25."""
    path = folder / "stock.xlsx"
    opened = load_workbook(path)
    values = {"number": number, "supplier": "Abel", "item": item, "sold as": "each", "pack": 1}
    values |= {"packs": packs, "price": 0.25, "came": 0, **more}
    sheet = opened["Orders"]
    sheet.append([values.get(str(cell.value)) for cell in sheet[1]])
    opened.save(path)


def packs_and_came(folder: Path) -> list[tuple[int, int]]:
    """Packs and came of each line."""
    return [(line[2], line[-1]) for line in orders(folder)]


@pytest.fixture
def four(folder: Path) -> Path:
    """Four fuses ordered for a job of five; one lies in the drawer."""
    fuses(folder, "j1", 5)
    run(folder, "order", "j1", "--place")
    return folder


@pytest.fixture
def four_and_six(four: Path) -> Path:
    """Six more of the same fuse, which the owner added under that number."""
    own_row(four, ONE, FUSE, 6)
    return four


def test_nothing_came_of_what_is_named_with_nought(folder: Path) -> None:
    """Nought of a fuse beside a length of cable: the cable comes; nought alone is no parcel."""
    from tests.shops import job

    job(folder, [("W1", "red", "1.0", 12)], "j1", Extras=[(FUSE, 5, "each", None)])
    run(folder, "order", "j1", "--place")  # 12 m, as R01 has 10; 4 fuses
    none = run(folder, "stock", "receive", ONE, "--only", f"{FUSE}=0", code=1)
    assert "nothing came" in none
    run(folder, "stock", "receive", ONE, "--only", f"{FUSE}=0", "--only", "1.0 red=12")
    assert shelf(folder)["R04"] == 12 and shelf(folder)[FUSE] == 1
    assert sorted(came for _, came in packs_and_came(folder)) == [0, 12]


def test_what_is_named_twice_came_twice(four: Path) -> None:
    """One and two are three, in two spellings too; two prices for one line are none."""
    prices = ("--price", f"{FUSE}=0.30", "--price", f"{FUSE.upper()}=0.31")
    assert "two prices for" in run(four, "stock", "receive", ONE, *prices, code=1)
    run(four, "stock", "receive", ONE, "--only", f"{FUSE}=1", "--only", f"{FUSE.upper()}=2")
    assert shelf(four)[FUSE] == 4 and packs_and_came(four) == [(4, 3)]


def test_lines_alike_are_filled_one_by_one_and_undone_so(four_and_six: Path) -> None:
    """Five: four on the first, one on the second.  Six more: five and one above.  Undone, both."""
    folder = four_and_six
    run(folder, "stock", "receive", ONE, "--only", f"{FUSE}=5")
    assert packs_and_came(folder) == [(4, 4), (6, 1)] and shelf(folder)[FUSE] == 6
    said = run(folder, "stock", "receive", ONE, "--only", f"{FUSE}=6")
    assert packs_and_came(folder) == [(4, 4), (6, 7)]
    assert f"{FUSE}: 11 came, 10 were ordered" in said
    run(folder, "stock", "undo")
    assert packs_and_came(folder) == [(4, 4), (6, 1)]
    run(folder, "stock", "undo")
    assert packs_and_came(folder) == [(4, 0), (6, 0)] and shelf(folder)[FUSE] == 1


@pytest.mark.parametrize(
    ("words", "then"),
    [
        (("receive", ONE), [(4, 4), (6, 6)]),
        (("close", ONE), [(2, 2), (2, 2)]),
        (("close", ONE, FUSE), [(2, 2), (2, 2)]),
        (("sendback", ONE, FUSE, 2), [(4, 2), (6, 0)]),
        (("sendback", ONE, FUSE, 2, "--close"), [(4, 2), (4, 0)]),
    ],
)
def test_each_line_alike_gets_back_its_own(
    words: tuple[object, ...], then: list[tuple[int, int]], four_and_six: Path
) -> None:
    """Two came on each line: what goes back is of the last on which so many came."""
    folder = four_and_six
    run(folder, "stock", "receive", ONE, "--only", f"{FUSE}=4")
    typed(folder / "stock.xlsx", "Orders", M2=2, M3=2)  # the owner shares them out otherwise
    before = [rows(folder, sheet) for sheet in ("Drawer", "Orders")]
    run(folder, "stock", *words)
    assert packs_and_came(folder) == then
    run(folder, "stock", "undo")
    assert [rows(folder, sheet) for sheet in ("Drawer", "Orders")] == before


def test_a_row_of_the_owner_s_stays_when_the_order_is_undone(four: Path) -> None:
    """One line was placed: that goes, and the tape that the owner wrote under it is kept."""
    own_row(four, ONE, "loom tape, PVC, 19 mm", 2)
    said = run(four, "stock", "undo")
    assert [line[1] for line in orders(four)] == ["loom tape, PVC, 19 mm"]
    assert "A3: kept, as you wrote it there yourself: loom tape, PVC, 19 mm" in said


def test_a_line_corrected_since_is_found_or_told(four: Path) -> None:
    """By its item, where pack or form are others now; else the cell to put right is told."""
    run(four, "stock", "receive", ONE)
    typed(four / "stock.xlsx", "Orders", G2="pack", H2=2)
    run(four, "stock", "undo")
    assert orders(four)[0][-1] == 0
    typed(four / "stock.xlsx", "Orders", G2="each", H2=1)
    run(four, "stock", "receive", ONE)
    typed(four / "stock.xlsx", "Orders", D2=COVER)
    said = run(four, "stock", "undo")
    assert shelf(four)[FUSE] == 1 and orders(four)[0][-1] == 4
    assert "stock.xlsx › Orders › M2: put 'came' right by hand" in said
    run(four, "stock", "receive", ONE, "--only", f"{COVER}=1")
    typed(four / "stock.xlsx", "Orders", A2="other")
    assert f"order {ONE} stands no longer in Orders" in run(four, "stock", "undo")


def test_a_surplus_sent_back_for_good_and_undone(four: Path) -> None:
    """Five of four came; one goes back for good: four of four.  Undone: five of four again."""
    run(four, "stock", "receive", ONE, "--only", f"{FUSE}=5")
    run(four, "stock", "sendback", ONE, FUSE, 1, "--close")
    assert packs_and_came(four) == [(4, 4)]
    run(four, "stock", "undo")
    assert packs_and_came(four) == [(4, 5)]
    run(four, "stock", "sendback", ONE, FUSE, 2, "--close")
    assert packs_and_came(four) == [(3, 3)]  # 5 - 2 stay, and no more will come
    run(four, "stock", "undo")
    assert packs_and_came(four) == [(4, 5)]


def test_a_number_of_the_owner_s_own_with_a_dot(folder: Path) -> None:
    """It is an order, not a file; where there is none of it either, it is a file not found."""
    fuses(folder, "j1", 2)
    run(folder, "order", "j1", "--place")
    typed(folder / "stock.xlsx", "Orders", A2="A.12")
    assert "no order" not in run(folder, "stock", "receive", "A.12")
    assert shelf(folder)[FUSE] == 2
    assert "A.13" in run(folder, "stock", "receive", "A.13", code=1)


def test_a_slip_at_the_receipt_is_asked(four: Path) -> None:
    """Ten times what is to come, and a hundred times the price; nine times is no slip."""
    many = ("stock", "receive", ONE, "--only", f"{FUSE}=40")
    assert f"'{FUSE}': 40 came, 4 to come" in run(four, *many, code=1)
    dear = ("stock", "receive", ONE, "--price", f"{FUSE}=25")
    assert f"'{FUSE}': 25 on the invoice, 0.25 in the order" in run(four, *dear, code=1)
    cheap = ("stock", "receive", ONE, "--price", f"{FUSE}=0.025")
    assert "0.025 on the invoice" in run(four, *cheap, code=1)
    assert shelf(four)[FUSE] == 1 and packs_and_came(four) == [(4, 0)]
    run(four, "stock", "receive", ONE, "--only", f"{FUSE}=39", "--price", f"{FUSE}=2.49")
    run(four, "stock", "undo")
    run(four, *many, "--yes")
    assert shelf(four)[FUSE] == 41


def test_a_price_of_what_did_not_come_is_refused(folder: Path) -> None:
    """Covers come, the price is of the fuses: it would be lost, and the cell is named."""
    from tests.shops import job

    job(folder, [("W1", "red", "1.0", 0.5)], "j1", Extras=[(FUSE, 5, "each", None)])
    run(folder, "order", "j1", "--place")
    own_row(folder, ONE, COVER, 3)
    words = ("--only", f"{COVER}=3", "--price", f"{FUSE}=0.30")
    fault = run(folder, "stock", "receive", ONE, *words, code=1)
    assert f"nothing of '{FUSE}' is in this parcel" in fault and "J2" in fault
    assert packs_and_came(folder) == [(4, 0), (3, 0)]


def test_what_more_came_is_said_in_all(four: Path) -> None:
    """Five of four, then another: six came, four were ordered."""
    run(four, "stock", "receive", ONE, "--only", f"{FUSE}=5")
    said = run(four, "stock", "receive", ONE, "--only", f"{FUSE}=1")
    assert f"{FUSE}: 6 came, 4 were ordered" in said


def test_who_waited_for_what_will_not_come_is_ordered_for_again(four: Path) -> None:
    """By close and by a sendback for good; the drawer alone is topped up."""
    run(four, "stock", "receive", ONE, "--only", f"{FUSE}=2")
    back = run(four, "stock", "sendback", ONE, FUSE, 1, "--close")
    assert f"j1 waited for it: {FUSE}" in back and "next: bom order j1\n" in back
    said = run(four, "stock", "close", ONE)
    assert f"j1 waited for it: {FUSE}" in said and "next: bom order j1\n" in said
    run(four, "stock", "undo")
    (four / "jobs" / "j1.xlsx").rename(four / "jobs" / "first.xlsx")
    assert "next: bom order JOB\n" in run(four, "stock", "close", ONE)
    (four / "jobs" / "first.xlsx").rename(four / "jobs" / "j1.xlsx")
    assert lines(four, "j1") == [(FUSE, 3)]  # five less the one there and the one that stayed
    typed(four / "stock.xlsx", "Drawer", C3=4)
    run(four, "topup", "--place")
    assert "next: bom topup\n" in run(four, "stock", "close", TWO)


def test_no_price_of_an_order_of_which_nothing_came(four: Path) -> None:
    """Nothing yet, and again when all went back; a line without a price has none either."""
    nothing = f"nothing of order {ONE} has come"
    assert nothing in run(four, "prices", "paid", ONE, code=1)
    run(four, "stock", "receive", ONE)
    run(four, "stock", "sendback", ONE, FUSE, 4)
    assert nothing in run(four, "prices", "paid", ONE, code=1)
    typed(four / "stock.xlsx", "Orders", J2=None, M2=4)
    assert f"no price for what came of order {ONE}" in run(four, "prices", "paid", ONE, code=1)


@pytest.mark.parametrize("words", [("order", "j1"), ("topup",)])
def test_an_order_is_placed_in_a_dry_run(words: tuple[str, ...], folder: Path) -> None:
    """The number that it would get is shown; the book stays byte for byte, no sheet is made."""
    fuses(folder, "j1", 5)
    typed(folder / "stock.xlsx", "Drawer", C3=4)
    before = (folder / "stock.xlsx").read_bytes()
    said = run(folder, *words, "--place", "--dry-run", "--pdf", "sheets")
    assert "to be written into Orders of stock.xlsx" in said and ONE in said
    assert "--place, when you send it off" in said
    assert (folder / "stock.xlsx").read_bytes() == before and not (folder / "sheets").exists()
    assert told(folder, *words, "--place", "--dry-run")["placed"] == []


def test_lines_without_a_price_are_not_nought(four: Path) -> None:
    """Four at 0.25 are 1.00; three covers without a price are told beside it, and cost nothing."""
    own_row(four, ONE, COVER, 3, price=None)
    own_row(four, "own", COVER, 3, price=None)
    said = run(four, "stock", "orders")
    assert "2 lines without a price, not in the total" in said and "0.00" not in said
    assert "1 line without a price, not in the total" in run(four, "stock", "orders", ONE)
