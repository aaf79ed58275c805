"""The shelf against the needs, through whole jobs; lengths typed so that nothing is added."""

import tempfile
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.buy.allot import allot, top_up
from bom.estimate import Bought, buy_for
from bom.show.job_json import cut_out
from bom.trade.needs import Short, Taken
from bom.trade.rows import Row
from bom.trade.shelf import DrawerItem, Stock
from tests.shopping import part
from tests.shops import RING, TUBE, job, workshop


def reds(*lengths: Any) -> list[tuple[Any, ...]]:
    """Wires 1, 2 ... of 1.0 red."""
    return [(f"{n}", "red", "1.0", length) for n, length in enumerate(lengths, start=1)]


def shelf(*lengths: Any) -> list[tuple[Any, ...]]:
    """Pieces P1, P2 ... of 1.0 red."""
    return [(f"P{n}", "1.0", "red", length) for n, length in enumerate(lengths, start=1)]


def cuts(bought: Bought) -> dict[str, str]:
    """The piece that each wire is cut from."""
    return {cut["wire"]: cut["piece"] for cut in cut_out(bought)["cuts"]}


def shorts(bought: Bought) -> dict[str, Decimal]:
    """What is short, by item."""
    return {missing.item: missing.quantity for missing in _short(bought)}


def _short(bought: Bought) -> tuple[Short, ...]:
    return (*bought.allotment.short, *bought.cut_list.short)


def _taken(bought: Bought) -> tuple[Taken, ...]:
    return (*bought.allotment.taken, *bought.cut_list.taken)


# -------------------------------------------------------------------------------- cable


@pytest.mark.parametrize(
    ("on_shelf", "short", "offcuts"),
    [
        ([1.2, 1.2], [2000], {}),  # 2.4 m in two lengths are no piece of 2.0 m
        ([2.4], [], {"P1": 400}),  # the same metres in one length are
        ([2.0], [], {"P1": 0}),  # and so is a length with nothing left
        ([1.999], [2000], {}),
    ],
)
def test_a_piece_is_one_length(
    tmp_path: Path, on_shelf: list[float], short: list[int], offcuts: dict[str, int]
) -> None:
    """A piece of 2.0 m, and 2.4 m of cable on the shelf."""
    path = job(workshop(tmp_path, cable=shelf(*on_shelf)), reds(2.0))
    answer = cut_out(buy_for([path]))
    assert [piece for line in answer["short"] for piece in line["pieces_mm"]] == short
    left = {o["piece"]: o["length_mm"] for o in answer["offcuts"] if not o["new"]}
    assert left == offcuts


@pytest.mark.parametrize(
    "piece",
    [
        ("P1", "1.5", "red", 5),  # another gauge
        ("P1", "1.0", "red/blue", 5),  # a trace
        ("P1", "1.0", "blue", 5),  # another colour
        ("P1", "18 AWG", "red", 5),  # another system
    ],
)
def test_only_the_same_gauge_and_colour_is_taken(tmp_path: Path, piece: tuple[Any, ...]) -> None:
    """Nobody swaps cable unasked."""
    bought = buy_for([job(workshop(tmp_path, cable=[piece]), reds(1))])
    assert _taken(bought) == ()
    assert shorts(bought) == {"cable, 1.0 mm2, red": 1000}


@pytest.mark.parametrize(
    ("on_shelf", "piece"),
    [
        ([50, 1.0, 1.3], "P2"),  # nothing left of it
        ([50, 1.1, 1.3], "P3"),  # 300 left are useful, 100 left of 1.1 m would be scrap
        ([50, 1.1, 1.2], "P1"),  # all else makes scrap of 100 mm and more
        ([50, 1.04, 40], "P2"),  # 40 left: scrap under 50 mm is none
        ([50, 40], "P2"),  # the longest length stays whole
    ],
)
def test_least_scrap_and_the_longest_length_left(
    tmp_path: Path, on_shelf: list[float], piece: str
) -> None:
    """A piece of 1.0 m; rests are useful from 300 mm up."""
    bought = buy_for([job(workshop(tmp_path, cable=shelf(*on_shelf)), reds(1.0))])
    assert cuts(bought) == {"1": piece}


@pytest.mark.parametrize(
    ("on_shelf", "short"),
    [
        ([1.1], 0),  # 100 left of the piece opened: the spare
        ([1.04], 60),  # 40 left
        ([1.0], 100),  # nothing left
        ([1.04, 0.06], 0),  # and 60 from an offcut
        ([0.9, 0.2], 1000),  # the piece is short, the spare is there
    ],
)
def test_what_is_left_counts_to_the_spare(
    tmp_path: Path, on_shelf: list[float], short: int
) -> None:
    """One piece of 1000 mm and 10 % spare: 100 mm, which need not be one piece."""
    shop = workshop(tmp_path, cable=shelf(*on_shelf))
    bought = buy_for([job(shop, reds(1.0), rules={"cable_spare_percent": 10})])
    assert sum(shorts(bought).values()) == short


def test_a_full_shelf_is_cut_up_whole(tmp_path: Path) -> None:
    """5 + 5 + 4 + 4 m from 10 and 8 m: best fit would put a 5 on the 8 and be one 4 short."""
    bought = buy_for([job(workshop(tmp_path, cable=shelf(10, 8)), reds(5, 5, 4, 4))])
    assert cuts(bought) == {"1": "P1", "2": "P1", "3": "P2", "4": "P2"}
    assert _short(bought) == ()


def test_two_jobs_share_one_shelf(tmp_path: Path) -> None:
    """3 m on the shelf and 2 m in each job: one of them is short."""
    shop = workshop(tmp_path, cable=shelf(3))
    paths = [job(shop, reds(2), name=name) for name in ("a", "b")]
    bought = buy_for(paths)
    assert [(cut.job, cut.piece) for cut in bought.cut_list.cuts if not cut.new] == [("a", "P1")]
    (missing,) = _short(bought)
    assert missing.pieces == ((2000, "b", "1"),)
    assert missing.jobs == ("a", "b")


# -------------------------------------------------------------------------------- drawer


def rings(*counts: int) -> list[tuple[Any, ...]]:
    """Extras of rings, as many as each count."""
    return [(RING, count) for count in counts]


@pytest.mark.parametrize(
    ("on_hand", "taken", "short"), [(0, 0, 7), (5, 5, 2), (7, 7, 0), (9, 7, 0)]
)
def test_the_drawer_gives_what_it_has(tmp_path: Path, on_hand: int, taken: int, short: int) -> None:
    """Seven rings, whatever the case of their name in the drawer."""
    shop = workshop(tmp_path, drawer=[(RING.upper(), "each", on_hand)])
    bought = buy_for([job(shop, reds(1), Extras=rings(7))])
    assert sum(part.quantity for part in _taken(bought)) == taken
    assert shorts(bought).get(RING, 0) == short


def test_an_item_in_two_drawers(tmp_path: Path) -> None:
    """4 in one and 2 in the other, of 7."""
    shop = workshop(tmp_path, drawer=[(RING, "each", 4), (RING, "each", 2)])
    bought = buy_for([job(shop, reds(1), Extras=rings(7))])
    assert [part.quantity for part in _taken(bought)] == [4, 2]
    assert shorts(bought)[RING] == 1


def test_lengths_in_the_drawer_are_lengths(tmp_path: Path) -> None:
    """Tube in a branch of 1 m: 1100 mm; 0.8 m are in the drawer."""
    shop = workshop(tmp_path, drawer=[(TUBE, "m", 0.8)])
    loom = [("from", "to", "length", "covering"), ("from 1", "to 1", 1, "tube")]
    bought = buy_for([job(shop, reds(1), Loom=loom)])
    assert shorts(bought)[TUBE] == 300


def test_an_extra_measured_in_metres_comes_off_the_drawer(tmp_path: Path) -> None:
    """2.5 m of edging, of which 1 m is in the drawer."""
    shop = workshop(tmp_path, drawer=[("edging", "m", 1)])
    bought = buy_for([job(shop, reds(1), Extras=[("edging", 2.5, "m")])])
    assert shorts(bought)["edging"] == 1500


def test_a_job_with_errors_takes_nothing(tmp_path: Path) -> None:
    """A length of 40 m is asked about."""
    bought = buy_for([job(workshop(tmp_path, cable=shelf(50)), reds(40))])
    assert _taken(bought) == ()
    assert _short(bought) == ()


# -------------------------------------------------------------------------------- top up


@pytest.mark.parametrize(
    ("on_hand", "low", "full", "used", "bought"),
    [
        (10, 10, 50, 0, 0),  # at the low mark
        (9, 10, 50, 0, 41),
        (20, 10, 50, 10, 0),  # 10 are left
        (20, 10, 50, 11, 41),  # 9 are left
        (20, 10, 50, 25, 5 + 50),  # five short, then from nothing to full
        (4, 10, None, 0, 6),  # no full mark: up to low
        (4, None, None, 0, 0),  # no low mark: never
    ],
)
def test_topping_up(
    tmp_path: Path, on_hand: int, low: int | None, full: int | None, used: int, bought: int
) -> None:
    """Under low, up to full, after what the job takes."""
    shop = workshop(tmp_path, drawer=[(RING, "each", on_hand, low, full)])
    path = job(shop, reds(1), Extras=rings(used) if used else [])
    found = buy_for([path], topping_up=True)
    assert shorts(found).get(RING, 0) == bought
    assert len([m for m in _short(found) if m.item == RING]) == (1 if bought else 0)


def test_without_topping_up_the_drawer_is_left_low(tmp_path: Path) -> None:
    """Nothing of the item is bought."""
    shop = workshop(tmp_path, drawer=[(RING, "each", 1, 10, 50)])
    assert RING not in shorts(buy_for([job(shop, reds(1))]))


def test_topping_up_needs_no_job(tmp_path: Path) -> None:
    """Every item under its mark, lengths in mm."""
    drawer = [(RING, "each", 1, 10, 50), (TUBE, "m", 1, 2, 10), ("clip", "each", 5)]
    shop = workshop(tmp_path, drawer=drawer)
    found = buy_for([], topping_up=True, start=shop)
    assert shorts(found) == {RING: 49, TUBE: 9000}


def test_rolls_are_not_added_to_millimetres(tmp_path: Path) -> None:
    """A drawer that counts rolls of tape tells nothing of the mm that the job needs."""
    tape = "loom tape, PVC, 19 mm"
    shop = workshop(tmp_path, drawer=[(tape, "roll", 1, 2, 6)])
    path = job(shop, reds(1), Extras=[(tape, 2, "m")])
    found = buy_for([path], topping_up=True)
    short = [(int(m.quantity), m.unit) for m in _short(found) if m.item == tape]
    assert short == [(2000, "mm"), (5, "roll")]


def test_two_drawers_of_an_item_are_topped_up_each(tmp_path: Path) -> None:
    """The job takes 12: 10 of the first, 2 of the second, of which 8 are left, over its low."""
    shop = workshop(tmp_path, drawer=[(RING, "each", 10, 5, 20), (RING, "each", 10, 5, 20)])
    found = buy_for([job(shop, reds(1), Extras=rings(12))], topping_up=True)
    assert shorts(found)[RING] == 20


# ---------------------------------------------------------------------------------- laws

lengths_m = st.lists(st.integers(50, 6000), min_size=1, max_size=10)
on_shelf_m = st.lists(st.integers(10, 9000), max_size=6)


def _run(wires: Sequence[int], on_shelf: Sequence[int], names: Sequence[str] = ("a",)) -> Bought:
    """Jobs of these wires (mm) with 5 % spare, against these pieces (mm)."""
    rows = reds(*(f"{mm} mm" for mm in wires))
    return _run_rows(rows, shelf(*(f"{mm} mm" for mm in on_shelf)), names)


def _run_rows(wires: Sequence[Any], pieces: Sequence[Any], names: Sequence[str] = ("a",)) -> Bought:
    rules = {"cable_spare_percent": 5}
    with tempfile.TemporaryDirectory() as folder:
        shop = workshop(Path(folder), cable=pieces)
        return buy_for([job(shop, wires, name=name, rules=rules) for name in names])


@settings(max_examples=25)
@given(wires=lengths_m, on_shelf=on_shelf_m)
def test_needed_is_taken_and_short(wires: list[int], on_shelf: list[int]) -> None:
    """Every wire is cut once, no piece is over-cut, and what is not taken is short."""
    bought = _run(wires, on_shelf)
    needed = sum(wires) + -(-sum(wires) * 5 // 100)
    taken = sum(part.quantity for part in _taken(bought))
    assert taken + sum(shorts(bought).values()) == needed
    found = cut_out(bought)["cuts"]
    assert Counter(c["wire"] for c in found) == Counter(str(n + 1) for n in range(len(wires)))
    assert all(c["length_mm"] == wires[int(c["wire"]) - 1] for c in found)
    used: Counter[str] = Counter()
    for cut in found:
        used[cut["piece"]] += 0 if cut["new"] else cut["length_mm"]
    assert all(used[f"P{n}"] <= mm for n, mm in enumerate(on_shelf, start=1))
    left = {o.piece: o.length_mm for o in bought.cut_list.offcuts if not o.new}
    assert left == {
        f"P{n}": mm - used[f"P{n}"] for n, mm in enumerate(on_shelf, 1) if used[f"P{n}"]
    }


@settings(max_examples=15)
@given(wires=lengths_m, on_shelf=on_shelf_m, data=st.data())
def test_the_order_of_rows_does_not_matter(
    wires: list[int], on_shelf: list[int], data: st.DataObject
) -> None:
    """The same wires and pieces, names and all, in another order: the same cuts."""
    rows = reds(*(f"{mm} mm" for mm in wires))
    pieces = shelf(*(f"{mm} mm" for mm in on_shelf))
    one = _run_rows(rows, pieces)
    other = _run_rows(data.draw(st.permutations(rows)), data.draw(st.permutations(pieces)))
    assert sorted(map(str, one.cut_list.cuts)) == sorted(map(str, other.cut_list.cuts))
    assert sorted(map(str, one.cut_list.offcuts)) == sorted(map(str, other.cut_list.offcuts))
    assert shorts(one) == shorts(other)


@settings(max_examples=15)
@given(wires=lengths_m)
def test_two_identical_jobs_need_twice_the_pieces(wires: list[int]) -> None:
    """Pieces and spare, from an empty shelf."""
    (one,) = _short(_run(wires, []))
    (two,) = _short(_run(wires, [], names=("a", "b")))
    once, twice = (Counter(mm for mm, _, _ in short.pieces) for short in (one, two))
    assert twice == once + once
    assert (two.spare_mm, two.quantity) == (2 * one.spare_mm, 2 * one.quantity)


counts = st.lists(
    st.tuples(st.sampled_from(("ring", "Ring", "bullet")), st.integers(1, 40)), max_size=6
)


@given(wanted=counts, drawers=counts, low=st.integers(0, 50))
def test_no_drawer_gives_more_than_it_holds(
    wanted: list[tuple[str, int]], drawers: list[tuple[str, int]], low: int
) -> None:
    """Needed = taken + short by item; topped up, each drawer under its mark is full again."""
    marks: dict[str, Any] = {"unit": "each", "low": Decimal(low), "full": Decimal(60)}
    marks |= {"cost": None, "place": "", "row": Row("stock.xlsx", "Drawer", 2)}
    items = (DrawerItem(item=item, on_hand=Decimal(count), **marks) for item, count in drawers)
    stock = Stock(file="stock.xlsx", pieces=(), drawer=tuple(items))
    needs = [("job", part(item, count)) for item, count in wanted]
    found = allot(needs, stock)
    topped = top_up(found, stock)
    for name in ("ring", "bullet"):
        needed = sum(count for item, count in wanted if item.lower() == name)
        on_hand = sum(count for item, count in drawers if item.lower() == name)
        taken = sum(p.quantity for p in found.taken if p.item.lower() == name)
        short = sum(m.quantity for m in found.short if m.item.lower() == name)
        assert taken == min(needed, on_hand)
        assert needed == taken + short
        bought = sum(m.quantity for m in topped.short if m.item.lower() == name)
        # what is over after the job is between all drawers at their mark and all of them full
        number = sum(item.lower() == name for item, _ in drawers)
        assert low * number <= on_hand + bought - needed <= 60 * number
