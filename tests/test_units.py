"""One thing counted is one thing whatever its word; orders that the owner types; each by hand."""

from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from tests.shops import job
from tests.stockrooms import ITEMS, REELS, rows, shelf, shop, typed
from tests.test_orders import FUSE, ONE, PRICES, fuses, held, lines, orders, run, told

TAPE = "loom tape, PVC, 19 mm"
COUNTED = ("each", "pcs", "pc", "pieces", "Stk", "box", "set", "pair", "kg", "tube", "roll", "")
HAND = ("number", "date", "supplier", "item", "gauge", "colour", "sold as", "pack", "packs")


def counting(folder: Path, unit: str, there: float, *marks: float) -> Path:
    """A workshop that counts its fuses in a unit."""
    low, full = marks or (None, None)
    return shop(folder, REELS, ((FUSE, unit, there, low, full, 0.05),), prices=PRICES)


def ordered(folder: Path, **cells: Any) -> None:
    """Another line of Orders, typed by hand: its cells by their headings."""
    path = folder / "stock.xlsx"
    opened = load_workbook(path)
    sheet = opened["Orders"]
    heads = [cell.value for cell in sheet[1]]
    named = {name.replace("_", " ").strip(): value for name, value in cells.items()}
    sheet.append([named.get(str(head)) for head in heads])
    opened.save(path)


@pytest.fixture
def placed(tmp_path: Path) -> Path:
    """A workshop with one order on its way: four fuses for j1, which needs five."""
    folder = shop(tmp_path, REELS, (*ITEMS, (FUSE, "each", 1, None, None, 0.05)), prices=PRICES)
    fuses(folder, "j1", 5)
    run(folder, "order", "j1", "--place")
    return folder


# ----------------------------------------------------------------------------- one by one


@pytest.mark.parametrize("unit", COUNTED)
def test_what_is_counted_is_seen_whatever_its_word(tmp_path: Path, unit: str) -> None:
    """Three there and seven needed: four are bought, once, and all seven taken."""
    folder = counting(tmp_path, unit, 3)
    fuses(folder, "j1", 7)
    run(folder, "order", "j1", "--place")
    assert orders(folder) == [(ONE, FUSE, 4, 0.25, "j1", 4, 0)]
    assert lines(folder, "j1") == []
    run(folder, "stock", "hold", "j1")
    run(folder, "stock", "receive", ONE)
    assert [n for _, item, n in held(folder) if item == FUSE] == ["7"]
    assert lines(folder, "j1") == []
    (row,) = rows(folder, "Drawer")
    assert (row[1] or "", row[2]) == (unit, 7)  # the owner's word stays
    run(folder, "stock", "issue", "j1")
    assert FUSE not in shelf(folder)


def test_a_hold_says_the_word_of_the_drawer(tmp_path: Path) -> None:
    """On paper a pair stays a pair."""
    folder = counting(tmp_path, "pair", 3)
    fuses(folder, "j1", 2)
    run(folder, "stock", "hold", "j1")
    units = {h["item"]: h["unit"] for h in told(folder, "stock", "show")["held"]}
    assert units[FUSE] == "pair"
    fuses(folder, "j2", 2)
    assert lines(folder, "j2") == [(FUSE, 1)]  # of three, two are set aside


def test_extras_in_words_of_their_own_come_once(tmp_path: Path) -> None:
    """A set, two pairs, a tube and a fifth of a kilo: ordered, on order, there, taken."""
    folder = shop(tmp_path, prices=PRICES)
    words = (("decal", 1, "set"), ("gasket", 2, "pair"), ("sealant", 1, "tube"), ("fat", 0.2, "kg"))
    job(folder, [("W1", "red", "1.0", 0.5)], "j1", Extras=[(*extra, 8) for extra in words])
    run(folder, "order", "j1", "--place")
    assert [line[1] for line in orders(folder)] == [word[0] for word in words]
    assert lines(folder, "j1") == []
    run(folder, "stock", "receive", ONE)
    assert {name: shelf(folder)[name] for name, _, _ in words} == {n: q for n, q, _ in words}
    assert lines(folder, "j1") == []
    run(folder, "stock", "issue", "j1")
    assert not {name for name, _, _ in words} & {*shelf(folder)}


def test_rows_of_an_old_book_are_one_thing(tmp_path: Path) -> None:
    """Two sets typed by the owner and one that came as each are three."""
    folder = shop(tmp_path, REELS, (("decal", "set", 2), ("decal", "each", 1)), prices=PRICES)
    job(folder, [("W1", "red", "1.0", 0.5)], "j1", Extras=[("decal", 3, "set", 8)])
    assert lines(folder, "j1") == []
    run(folder, "stock", "issue", "j1")
    assert "decal" not in shelf(folder)


def test_a_top_up_is_bought_once(tmp_path: Path) -> None:
    """One there, low 2 and full 5: four are bought."""
    folder = counting(tmp_path, "pcs", 1, 2, 5)
    assert [(line["item"], line["packs"]) for line in told(folder, "topup")["lines"]] == [(FUSE, 4)]
    run(folder, "topup", "--place")
    assert told(folder, "topup")["lines"] == []


def test_two_jobs_with_two_words_share_a_pack(tmp_path: Path) -> None:
    """Two pairs and two pieces are four: one pack of five."""
    sold = (("Abel", "gasket", None, None, "pack", 5, 6),)
    folder = shop(tmp_path, prices=sold)
    for name, word in (("j1", "pair"), ("j2", "pcs")):
        job(folder, [("W1", "red", "1.0", 0.5)], name, Extras=[("gasket", 2, word, None)])
    assert lines(folder, "j1", "j2") == [("gasket", 1)]
    run(folder, "order", "j1", "j2", "--place")
    run(folder, "stock", "receive", ONE)
    assert held(folder) == [("j1", "gasket", "2"), ("j2", "gasket", "2")]
    extras = [("gasket", 2, "pair", None), ("gasket", 3, "pcs", None)]
    job(folder, [("W1", "red", "1.0", 0.5)], "j3", Extras=extras)
    # one of five is free, four are bought, in one pack for both words
    assert lines(folder, "j3") == [("gasket", 1)]


def test_a_length_is_no_count(tmp_path: Path) -> None:
    """Fifteen metres of hose are not fifteen hoses, nor the other way round."""
    folder = shop(tmp_path, REELS, (("hose", "m", 15), ("pipe", "pcs", 15)))
    extras = [("hose", 2, "each", 1), ("pipe", 2, "m", 1)]
    job(folder, [("W1", "red", "1.0", 0.5)], "j1", Extras=extras)
    assert lines(folder, "j1") == [("hose", 2), ("pipe", 2)]


def test_tape_that_is_counted_is_told_and_not_filled(tmp_path: Path) -> None:
    """Jobs need it in metres: a reel of 20 is not 20 rolls."""
    folder = shop(tmp_path, REELS, ((TAPE, "roll", 3, None, None, 2),), prices=PRICES)
    job(folder, [("W1", "red", "1.0", 0.5)], "j1", Extras=[(TAPE, 15, "m", None)])
    (said,) = [p for p in told(folder, "order", "j1", "--place")["problems"] if TAPE in p["says"]]
    assert (said["level"], said["cell"]) == ("caution", "B2")
    assert said["try"] == "m, and the metres that are there"
    assert "counts it in 'roll'" in run(folder, "stock", "receive", ONE, code=1)
    assert shelf(folder)[TAPE] == 3
    typed(folder / "stock.xlsx", "Drawer", B2="m", C2=50)  # the cure
    run(folder, "stock", "receive", ONE, "--yes")
    assert shelf(folder)[TAPE] == 70


# --------------------------------------------------------------------- lines typed by hand


def test_cable_of_no_colour_is_told_and_never_written(placed: Path) -> None:
    """The book stays whole: what has nothing to do with orders goes on."""
    ordered(placed, number="P1", item="cable", gauge=1.0, sold_as="reel", pack=25, packs=1)
    for words in (("stock", "receive", "P1"), ("stock", "orders"), ("order", "j1"), ("topup",)):
        assert "Orders › F3: cable is ordered, and of no colour" in run(placed, *words, code=1)
    run(placed, "stock", "hold", "j1")
    run(placed, "stock", "count", "R01", "9.5")
    run(placed, "stock", "issue", "j1", "--part")
    assert "R01" in run(placed, "stock", "show")
    typed(placed / "stock.xlsx", "Orders", F3="red")
    assert "R04 1.0 red" in run(placed, "stock", "receive", "P1")
    assert shelf(placed)["R04"] == 25


@pytest.mark.parametrize("gauge", [None, 1.0])
@pytest.mark.parametrize(("pack", "packs", "length"), [(25, 1, 25), (None, 4, 4)])
def test_an_item_says_its_cable(
    placed: Path, gauge: float | None, pack: int | None, packs: int, length: int
) -> None:
    """A reel of 25, or four metres in one length, on the shelf and not in the drawer."""
    item = "cable, 1.0 mm2, red"
    ordered(placed, number="P1", item=item, gauge=gauge, pack=pack, packs=packs)
    run(placed, "stock", "receive", "P1")
    assert [row[:4] for row in rows(placed, "Cable")][3:] == [("R04", "1.0", "red", length)]
    assert item not in shelf(placed)


def test_a_cable_tie_is_no_cable(placed: Path) -> None:
    """Nor is a cable lug: they need no gauge."""
    ordered(placed, number="P1", item="cable tie, 150 mm", pack=100, packs=1)
    run(placed, "stock", "receive", "P1")
    assert shelf(placed)["cable tie, 150 mm"] == 100


@pytest.mark.parametrize(
    ("day", "since", "doubted"),
    [
        ("29.11.2026", "2026-11-29", False),
        ("3.4.2026", "2026-04-03", False),
        ("29/11/2026", "2026-11-29", False),
        ("4/4/2026", "2026-04-04", False),
        ("3/4/2026", "", True),  # March or April
        ("31.2.2026", "", True),
        ("Monday", "", True),
    ],
)
def test_a_day_hinders_nothing(placed: Path, day: str, since: str, doubted: bool) -> None:
    """Read where it is one; else told at its cell, and the parcel is booked all the same."""
    ordered(placed, number="P1", date=day, item=FUSE, packs=5)
    found = told(placed, "stock", "orders", "P1")
    assert [p["cell"] for p in found["problems"] if p["level"] == "caution"] == ["B3"] * doubted
    assert since in run(placed, "stock", "orders")
    run(placed, "stock", "receive", "P1")
    assert shelf(placed)[FUSE] == 6


@pytest.mark.parametrize(
    ("item", "pack", "there"),
    [(FUSE, None, 1 + 3), (FUSE, 10, 1 + 30), (TAPE, None, 12 + 3), (TAPE, 20, 12 + 60)],
)
def test_three_in_no_form(placed: Path, item: str, pack: int | None, there: int) -> None:
    """Three pieces, packs of ten, metres, reels of twenty."""
    ordered(placed, number="P1", item=item, pack=pack, packs=3)
    run(placed, "stock", "receive", "P1")
    assert shelf(placed)[item] == there


def test_jobs_parted_by_semicolons(placed: Path) -> None:
    """Of five fuses two are for the one, three for the other."""
    ordered(placed, number="P1", item=FUSE, packs=5, **{"for": "twin; single", "needed": "2; 3"})
    run(placed, "stock", "receive", "P1")
    assert held(placed) == [("twin", FUSE, "2"), ("single", FUSE, "3")]


def test_a_job_with_a_semicolon_in_its_name(placed: Path) -> None:
    """It is one job, and what comes is set aside for it: one there, two of three ordered."""
    fuses(placed, "a; b", 3)
    run(placed, "stock", "hold", "j1")
    run(placed, "order", "a; b", "--place")
    assert orders(placed)[-1][4:6] == ('"a; b"', 3)
    assert lines(placed, "a; b") == []


# -------------------------------------------------------------------------- notes and loss


@pytest.mark.parametrize("cell", ["A3", "A4", "D4", "H4", "O4"])
def test_a_note_under_orders_is_a_note(placed: Path, cell: str) -> None:
    """Wherever it stands; the next order is written, and both are read."""
    typed(placed / "stock.xlsx", "Orders", **{cell: "ring Abel on Monday"})
    fuses(placed, "j2", 2)
    run(placed, "order", "j2", "--place")
    found = {line["number"] for line in told(placed, "stock", "orders")["lines"]}
    assert len(found) == 2
    run(placed, "stock", "receive", ONE)
    assert shelf(placed)[FUSE] == 5


def test_a_sum_under_orders_is_none_of_it(placed: Path) -> None:
    """`Summe` and what all of it costs."""
    typed(placed / "stock.xlsx", "Orders", H4="Summe", J4=1)
    assert "Summe" not in run(placed, "stock", "orders")


@pytest.mark.parametrize("cell", ["A5", "A7", "B7", "C7"])
def test_a_note_under_cable_is_a_note(placed: Path, cell: str) -> None:
    """And a piece with nothing but its name is still missed."""
    typed(placed / "stock.xlsx", "Cable", **{cell: "the rest is in the cellar"})
    run(placed, "stock", "hold", "j1")
    typed(placed / "stock.xlsx", "Cable", A8="R07")
    assert "Cable › B8: 'gauge' is empty" in run(placed, "stock", "hold", "j1", code=1)


def test_an_item_alone_in_the_drawer_is_an_item(placed: Path) -> None:
    """None of it is there."""
    typed(placed / "stock.xlsx", "Drawer", A6="a lamp of many words")
    items = [item["item"] for item in told(placed, "stock", "show")["drawer"]]
    assert "a lamp of many words" in items


def test_orders_thrown_away_are_missed(placed: Path) -> None:
    """Four fuses are on their way by the moves: they are not bought again."""
    run(placed, "stock", "hold", "j1")  # a copy of the book with its orders is kept before this
    opened = load_workbook(placed / "stock.xlsx")
    del opened["Orders"]
    opened.save(placed / "stock.xlsx")
    says = f"there is no sheet Orders, and {ONE} was placed: what is to come is not known"
    for words in (("order", "j1"), ("topup",), ("stock", "orders"), ("stock", "receive", ONE)):
        told_of = run(placed, *words, code=1)
        assert says in told_of and "try: the sheet 'Orders' from .bom/stock 20" in told_of
    run(placed, "stock", "count", "R01", "9")
    opened.create_sheet("Orders").append(
        [*HAND, "price", "part no", "for", "needed", "came", "note"]
    )
    opened.save(placed / "stock.xlsx")
    assert lines(placed, "j1") == [(FUSE, 4)]  # begun anew, on the owner's word


def test_an_order_taken_back_is_not_missed(placed: Path) -> None:
    """Undone, it was never placed."""
    run(placed, "stock", "undo")
    opened = load_workbook(placed / "stock.xlsx")
    del opened["Orders"]
    opened.save(placed / "stock.xlsx")
    assert lines(placed, "j1") == [(FUSE, 4)]
