"""The order for whole jobs: metres, reels, packs, breaks, postage, tax; each sum by hand."""

import subprocess
from pathlib import Path
from typing import Any

import pytest

from bom.estimate import buy_for
from bom.show.job_json import cut_out, order_out
from tests.books import book
from tests.shops import PLAIN, job, workshop
from tests.test_cli import bom

RING = "ring terminal, M6, 0.5-1.5 mm2"
TUBE = "PVC tube, 3 mm bore"


def cable(supplier: str, price: Any, sold: str = "metre", pack: Any = None, **more: Any) -> Any:
    """A price row of 1.0 cable in every plain colour, or in the one given."""
    colour = more.get("colour")
    return (supplier, "cable", "1.0", colour, sold, pack, price, more.get("from_qty"))


def part(supplier: str, price: Any, sold: str = "each", pack: Any = None, **more: Any) -> Any:
    """A price row of rings, or of the item given."""
    item = more.get("item", RING)
    return (supplier, item, None, None, sold, pack, price, more.get("from_qty"))


def ordered(
    folder: Path, prices: list[Any], lengths: Any = (), suppliers: Any = (), **sheets: Any
) -> dict[str, Any]:
    """The order for wires of 1.0 red of these lengths (m) and for what else is on the sheets."""
    wires = [(f"{n}", "red", "1.0", length) for n, length in enumerate(lengths, start=1)]
    if not wires:  # a wire that the shelf has, so that only the extras are bought
        wires = [("1", "red", "1.0", 1)]
    shelf = () if lengths else [("R1", "1.0", "red", 1)]
    rules = sheets.pop("rules", None)
    shop = workshop(folder, prices=prices, suppliers=suppliers, cable=shelf)
    return order_out(buy_for([job(shop, wires, rules=rules, **sheets)]))


def rings(folder: Path, count: int, *prices: Any, **more: Any) -> dict[str, Any]:
    """The order for so many rings."""
    return ordered(folder, list(prices), Extras=[(RING, count)], **more)


def lines(answer: dict[str, Any]) -> list[tuple[str, str, int, str]]:
    """Supplier, form, packs and cost of each line."""
    return [(n["supplier"], n["sold_as"], n["packs"], n["cost"]) for n in answer["lines"]]


# -------------------------------------------------------------------------------- cable


@pytest.mark.parametrize(
    ("lengths", "metres", "cost"),
    [
        ([1.6, 0.9], 3, "1.20"),  # 2.5 m
        ([3.0], 3, "1.20"),  # whole metres already
        ([3.001], 4, "1.60"),
        ([0.2, 0.2, 0.2], 1, "0.40"),
    ],
)
def test_metres_are_whole_and_in_one_length(
    tmp_path: Path, lengths: list[float], metres: int, cost: str
) -> None:
    """At 0.40 a metre, every piece cut from the one length."""
    answer = ordered(tmp_path, [cable("A", 0.40)], lengths)
    assert lines(answer) == [("A", "metre", metres, cost)]
    assert answer["total"] == cost


def test_the_spare_is_bought_with_the_pieces(tmp_path: Path) -> None:
    """2.0 m and 5 % spare: 2100 mm, so 3 m; 0.9 m are left of it."""
    path_rules = {"cable_spare_percent": 5}
    answer = ordered(tmp_path, [cable("A", 0.40)], [2.0], rules=path_rules)
    assert lines(answer) == [("A", "metre", 3, "1.20")]


@pytest.mark.parametrize(
    ("lengths", "spare", "reels"),
    [
        ([5.0], 0, 1),
        ([3.0, 3.0], 0, 2),  # 6 m do not come off reels of 5 m by halves
        ([3.0, 3.0, 2.0, 2.0], 0, 2),
        ([2.4, 2.4], 0, 1),
        ([2.4, 2.4], 10, 2),  # 4.8 m, 0.2 left, 0.48 spare: a second reel
        ([2.2, 2.2], 10, 1),  # 4.4 m, 0.6 left, 0.44 spare
    ],
)
def test_reels_hold_whole_pieces(
    tmp_path: Path, lengths: list[float], spare: int, reels: int
) -> None:
    """Reels of 5 m at 1.50."""
    rules = {"cable_spare_percent": spare}
    answer = ordered(tmp_path, [cable("A", 1.50, "reel", 5)], lengths, rules=rules)
    assert lines(answer) == [("A", "reel", reels, f"{reels * 1.5:.2f}")]


def test_a_reel_shorter_than_a_piece_is_not_offered(tmp_path: Path) -> None:
    """Two reels of 5 m would be 2.00, yet only the metres at 0.90 hold a piece of 6 m."""
    offers = [cable("A", 1.00, "reel", 5), cable("B", 0.90)]
    assert lines(ordered(tmp_path / "both", offers, [6])) == [("B", "metre", 6, "5.40")]
    alone = ordered(tmp_path / "reel", offers[:1], [6])
    assert alone["lines"] == []
    assert [(n["item"], n["quantity"]) for n in alone["unpriced"]] == [
        ("cable, 1.0 mm2, red", 6000)
    ]


def test_reel_or_metres_whichever_is_cheaper(tmp_path: Path) -> None:
    """A reel of 25 m at 6.00: 15 m at 0.40 cost as much, 14 m 5.60, 16 m 6.40."""
    offers = [cable("A", 0.40), cable("B", 6.00, "reel", 25)]
    assert lines(ordered(tmp_path / "14", offers, [7, 7])) == [("A", "metre", 14, "5.60")]
    assert lines(ordered(tmp_path / "16", offers, [8, 8])) == [("B", "reel", 1, "6.00")]


@pytest.mark.parametrize(
    ("colour", "row_colour", "sold"),
    [
        ("red", None, True),
        ("pink", None, True),
        ("red/blue", None, False),  # a trace is not plain
        ("red/blue", "red/blue", True),
        ("red", "red/blue", False),
        ("red", "blue", False),
        ("red", "red", True),
    ],
)
def test_a_row_without_colour_covers_plain_colours_only(
    tmp_path: Path, colour: str, row_colour: str | None, sold: bool
) -> None:
    """One wire in a colour, one price row."""
    shop = workshop(tmp_path, prices=[cable("A", 0.40, colour=row_colour)])
    answer = order_out(buy_for([job(shop, [("1", colour, "1.0", 1)])]))
    assert (len(answer["lines"]), len(answer["unpriced"])) == ((1, 0) if sold else (0, 1))


def test_a_gauge_is_only_bought_in_its_own_row(tmp_path: Path) -> None:
    """1.5 is not sold by the row for 1.0."""
    shop = workshop(tmp_path, prices=[cable("A", 0.40)])
    answer = order_out(buy_for([job(shop, [("1", "red", "1.5", 1)])]))
    assert [n["gauge"] for n in answer["unpriced"]] == ["1.5"]


def test_new_cable_is_on_the_cut_list(tmp_path: Path) -> None:
    """Pieces of 3, 3 and 2 m from two reels of 5 m: 0 and 2 m are left."""
    shop = workshop(tmp_path, prices=[cable("A", 1.50, "reel", 5)])
    wires = [("1", "red", "1.0", 3), ("2", "red", "1.0", 3), ("3", "red", "1.0", 2)]
    answer = cut_out(buy_for([job(shop, wires)]))
    assert all(cut["new"] for cut in answer["cuts"])
    assert sorted(cut["wire"] for cut in answer["cuts"]) == ["1", "2", "3"]
    assert sorted(o["length_mm"] for o in answer["offcuts"]) == [0, 2000]


def test_two_jobs_are_bought_for_together(tmp_path: Path) -> None:
    """0.4 m in each: one metre for both."""
    shop = workshop(tmp_path, prices=[cable("A", 0.40)])
    paths = [job(shop, [("1", "red", "1.0", 0.4)], name=name) for name in ("a", "b")]
    answer = order_out(buy_for(paths))
    (line,) = answer["lines"]
    assert (line["packs"], line["for"]) == (1, ["a", "b"])


# ------------------------------------------------------------------------ counted things


@pytest.mark.parametrize(("count", "packs"), [(1, 1), (10, 1), (11, 2), (20, 2)])
def test_packs_are_whole(tmp_path: Path, count: int, packs: int) -> None:
    """Packs of ten at 1.10."""
    answer = rings(tmp_path, count, part("A", 1.10, "pack", 10))
    assert lines(answer) == [("A", "pack", packs, f"{packs * 1.1:.2f}")]


@pytest.mark.parametrize(
    ("count", "expected"),
    [
        (4, ("A", "each", 4, "0.60")),
        (7, ("A", "each", 7, "1.05")),
        (8, ("B", "pack", 1, "1.10")),  # 8 x 0.15 = 1.20
    ],
)
def test_each_or_in_packs(tmp_path: Path, count: int, expected: tuple[Any, ...]) -> None:
    """Singly at 0.15, packs of ten at 1.10."""
    answer = rings(tmp_path, count, part("A", 0.15), part("B", 1.10, "pack", 10))
    assert lines(answer) == [expected]


def test_a_pack_and_some_singly(tmp_path: Path) -> None:
    """12: singly 1.80, two packs 2.20, a pack and two singly 1.40."""
    answer = rings(tmp_path, 12, part("A", 0.15), part("B", 1.10, "pack", 10))
    assert lines(answer) == [("A", "each", 2, "0.30"), ("B", "pack", 1, "1.10")]
    assert (answer["total"], answer["proved"]) == ("1.40", True)


@pytest.mark.parametrize(
    ("count", "packs", "cost"),
    [
        (10, 1, "1.10"),
        (12, 3, "2.10"),  # two packs are 2.20, three at the break 2.10
        (30, 3, "2.10"),
        (31, 4, "2.80"),
    ],
)
def test_price_breaks_begin_at_so_many_packs(
    tmp_path: Path, count: int, packs: int, cost: str
) -> None:
    """Packs of ten at 1.10, from three packs on at 0.70."""
    rows = (part("A", 1.10, "pack", 10), part("A", 0.70, "pack", 10, from_qty=3))
    assert lines(rings(tmp_path, count, *rows)) == [("A", "pack", packs, cost)]


def test_each_line_where_it_is_cheapest(tmp_path: Path) -> None:
    """Rings at B, cable at A."""
    offers = [cable("A", 0.40), cable("B", 0.50), part("A", 0.20), part("B", 0.15)]
    answer = ordered(tmp_path, offers, [2], Extras=[(RING, 2)])
    assert sorted(lines(answer)) == [("A", "metre", 2, "0.80"), ("B", "each", 2, "0.30")]
    assert answer["total"] == "1.10"


def test_measured_goods_come_by_their_metres(tmp_path: Path) -> None:
    """1.1 m of tube: 2 m at 0.50 each, or a roll of 10 m at 0.90."""
    loom = [("from", "to", "length", "covering"), ("from 1", "to 1", 1, "tube")]
    offers = [part("A", 0.50, "metre", item=TUBE), part("B", 0.90, "reel", 10, item=TUBE)]
    assert lines(ordered(tmp_path / "a", offers[:1], Loom=loom)) == [("A", "metre", 2, "1.00")]
    assert lines(ordered(tmp_path / "b", offers, Loom=loom)) == [("B", "reel", 1, "0.90")]


# ---------------------------------------------------------------------- postage and terms


@pytest.mark.parametrize(
    ("count", "postage", "total"),
    [
        (6, "3.95", "9.95"),
        (7, "0.00", "10.00"),  # 7 and postage are 10.95: three more are cheaper
        (10, "0.00", "10.00"),
        (11, "0.00", "11.00"),
    ],
)
def test_postage_is_free_from_its_value_on(
    tmp_path: Path, count: int, postage: str, total: str
) -> None:
    """Rings at 1.00, postage 3.95, free from 10.00."""
    answer = rings(tmp_path, count, part("A", 1.00), suppliers=[("A", 3.95, 10)])
    assert (answer["postage"], answer["total"]) == (postage, total)


def test_postage_is_paid_once_at_each_supplier_ordered_from(tmp_path: Path) -> None:
    """Two lines at A, one at B, none at C: 3.00 + 2.00; goods 0.40 + 1.00 + 0.10."""
    offers = [cable("A", 0.40), part("A", 1.00), part("B", 0.10, item="clip"), part("C", 9.00)]
    terms = [("A", 3.00), ("B", 2.00), ("C", 1.00)]
    answer = ordered(tmp_path, offers, [1], suppliers=terms, Extras=[(RING, 1), ("clip", 1)])
    assert (answer["postage"], answer["total"]) == ("5.00", "6.50")


@pytest.mark.parametrize(("count", "packs"), [(4, 5), (5, 5), (6, 6)])
def test_a_minimum_is_reached_with_more_of_something(
    tmp_path: Path, count: int, packs: int
) -> None:
    """Rings at 1.00, a minimum order of 5.00: an order of 4 would not be sent."""
    answer = rings(tmp_path, count, part("A", 1.00), suppliers=[("A", 0, None, 5)])
    assert lines(answer) == [("A", "each", packs, f"{packs}.00")]


@pytest.mark.parametrize(
    ("minimum", "packs", "total"),
    [
        (0, 1, "2.20"),
        (3, 2, "3.80"),  # two packs are 1.90 each, not 2.20 and 1.90 beside one another
        (5, 3, "5.70"),
        (5.8, 4, "7.60"),  # 2.20 + 2 x 1.90 = 6.00 is no price of the shop's
    ],
)
def test_all_packs_are_charged_at_the_price_of_their_number(
    tmp_path: Path, minimum: float, packs: int, total: str
) -> None:
    """Packs of ten at 2.20, from two on at 1.90, and a minimum order."""
    rows = (part("A", 2.20, "pack", 10), part("A", 1.90, "pack", 10, from_qty=2))
    answer = rings(tmp_path, 8, *rows, suppliers=[("A", 0, None, minimum or None)])
    (line,) = answer["lines"]
    assert (line["packs"], answer["total"], answer["proved"]) == (packs, total, True)
    told = [p["says"] for p in answer["problems"] if "more than is needed" in p["says"]]
    assert len(told) == (packs > 1)


def test_prices_that_include_tax_come_out_without_it(tmp_path: Path) -> None:
    """1.20 and 0.99 with 20 % tax in them are 1.00 and 0.825: two are 1.65."""
    offers = [part("A", 1.20), part("A", 0.99, item="clip")]
    terms = [("A", None, None, None, "yes")]
    answer = ordered(tmp_path, offers, suppliers=terms, Extras=[(RING, 3), ("clip", 2)])
    assert [line["cost"] for line in answer["lines"]] == ["3.00", "1.65"]
    assert answer["total"] == "4.65"


@pytest.mark.parametrize(
    ("count", "postage", "total"),
    [(3, "2.00", "5.00"), (7, "2.00", "9.00"), (9, "0.00", "10.00"), (10, "0.00", "10.00")],
)
def test_postage_and_limits_include_tax_where_prices_do(
    tmp_path: Path, count: int, postage: str, total: str
) -> None:
    """1.20 each, 2.40 postage, free over 12.00, all with 20 % tax in them: 1.00, 2.00, 10.00."""
    terms = [("A", 2.40, 12, None, "yes")]
    answer = rings(tmp_path, count, part("A", 1.20), suppliers=terms)
    assert (answer["postage"], answer["total"]) == (postage, total)


def test_what_nobody_sells_is_listed_and_not_in_the_total(tmp_path: Path) -> None:
    """Rings are sold, clips are not; the cable to buy still has its cuts."""
    answer = ordered(tmp_path, [part("A", 1.00)], [2], Extras=[(RING, 2), ("clip", 3)])
    unpriced = [(n["item"], n["quantity"], n["unit"]) for n in answer["unpriced"]]
    assert unpriced == [("cable, 1.0 mm2, red", 2000, "mm"), ("clip", 3, "each")]
    assert (answer["total"], answer["proved"]) == ("2.00", False)
    told = [p["says"] for p in answer["problems"] if "nobody sells" in p["says"]]
    assert len(told) == 2


# -------------------------------------------------------------------------------- extras


def test_an_extra_with_a_price_is_bought_at_it(tmp_path: Path) -> None:
    """Three at 2.50; the price list has the item dearer, and another extra not at all."""
    answer = ordered(tmp_path, [part("A", 9.00, item="clip")], Extras=[("clip", 3, None, 2.50)])
    assert lines(answer) == [("elsewhere", "each", 3, "7.50")]


def test_an_extra_in_metres_is_priced_by_the_metre(tmp_path: Path) -> None:
    """2.5 m at 3.00 on its own row, or by whole metres at 0.50 from the list."""
    own = ordered(tmp_path / "own", [], Extras=[("edging", 2.5, "m", 3.00)])
    assert own["total"] == "7.50"
    row = part("A", 0.50, "metre", item="edging")
    listed = ordered(tmp_path / "list", [row], Extras=[("edging", 2.5, "m")])
    assert lines(listed) == [("A", "metre", 3, "1.50")]


def test_two_extras_of_one_name_keep_their_prices(tmp_path: Path) -> None:
    """One at 2.00 and two at 3.00: 8.00."""
    rows = [("gauge glass", 1, None, 2.00), ("gauge glass", 2, None, 3.00)]
    assert ordered(tmp_path, [], Extras=rows)["total"] == "8.00"


def test_an_extra_of_a_counted_item_is_bought_with_it(tmp_path: Path) -> None:
    """One ring on the wire and four more: five from a pack of ten."""
    path = book(
        workshop(tmp_path, prices=[part("A", 1.10, "pack", 10), cable("A", 0.40)]),
        "jobs/job.xlsx",
        Job=[("item", "value"), *PLAIN.items()],
        Circuits=[
            ("from", "to", "from end", "to end", "colour", "gauge", "length"),
            ("stud", "lamp", "ring M6", "bare", "red", "1.0", 1),
        ],
        Extras=[("item", "qty"), (RING, 4)],
    )
    answer = order_out(buy_for([path]))
    assert lines(answer) == [("A", "metre", 1, "0.40"), ("A", "pack", 1, "1.10")]


# --------------------------------------------------------------------------------- bound


def test_an_order_that_cannot_be_cheaper_is_proved(tmp_path: Path) -> None:
    """Three rings at 0.20 and nothing else: 0.60 is the least it can cost."""
    answer = rings(tmp_path, 3, part("A", 0.20), part("B", 0.30))
    assert (answer["total"], answer["bound"], answer["proved"]) == ("0.60", "0.60", True)


def test_postage_and_whole_packs_are_in_the_proof(tmp_path: Path) -> None:
    """Three rings are a pack of ten at 1.10, and postage of 2.00 comes with any order."""
    answer = rings(tmp_path, 3, part("A", 1.10, "pack", 10), suppliers=[("A", 2.00)])
    assert (answer["total"], answer["bound"], answer["proved"]) == ("3.10", "3.10", True)


def test_the_bound_is_rounded_line_by_line_as_the_order_is(tmp_path: Path) -> None:
    """0.05 with 20 % tax in it is 0.041667: three lines of 0.04 are 0.12, not 0.125."""
    offers = [part("A", 0.05, item=item) for item in ("clip", "clamp", "collar")]
    rows = [(item, 1) for item in ("clip", "clamp", "collar")]
    answer = ordered(tmp_path, offers, suppliers=[("A", 0, None, None, "yes")], Extras=rows)
    assert (answer["total"], answer["bound"], answer["proved"]) == ("0.12", "0.12", True)


def test_a_faulty_cell_of_a_supplier_is_told_once(tmp_path: Path) -> None:
    """Its row is there: nobody says that it is not."""
    answer = rings(tmp_path, 1, part("A", 1.00), suppliers=[("A", "lots")])
    assert [(p["level"], p["cell"]) for p in answer["problems"]] == [("error", "B2")]


# ------------------------------------------------------------------------ on the screen


def shown(folder: Path, *options: str) -> "subprocess.CompletedProcess[str]":
    """`bom order` for 4 rings and 2 clips: A sells both, B sells rings for less."""
    offers = [part("A", 0.50), part("A", 1.00, item="clip"), part("B", 0.40)]
    terms = [("A", 2.00), ("B", 0.30)]
    shop = workshop(folder, cable=[("R1", "1.0", "red", 1)], prices=offers, suppliers=terms)
    path = job(shop, [("1", "red", "1.0", 1)], Extras=[(RING, 4), ("clip", 2)])
    return bom("order", str(path), *options)


def test_the_order_says_what_it_is_better_than(tmp_path: Path) -> None:
    """4 x 0.40 + 2 x 1.00 + 2.00 + 0.30 = 5.90; all from A 4 x 0.50 + 2 x 1.00 + 2.00 = 6.00."""
    out = shown(tmp_path).stdout
    assert "total without tax      5.90" in out
    assert "proved: no other choice of reels, metres, packs and suppliers is cheaper" in out
    words = " ".join(out.split())
    assert "from one supplier alone: A 6.00, 0.10 more; B sells 1 of the 2 lines" in words
    assert "next cheapest choice of suppliers: A, 6.00 (0.10, 1.7 % more)" in words


def test_suppliers_left_out_and_demanded(tmp_path: Path) -> None:
    """Without B 6.00; without A the clips are on no list; names in any case."""
    assert "total without tax      6.00" in shown(tmp_path / "b", "--without", "b").stdout
    without = shown(tmp_path / "a", "--without", "A")
    assert "on no price list" in without.stdout
    assert "nobody sells 'clip'" in without.stderr
    assert "total without tax      5.90" in shown(tmp_path / "w", "--with", "B").stdout


def test_a_supplier_that_there_is_not(tmp_path: Path) -> None:
    """A slip in the name, and one both left out and demanded: two errors, no order."""
    done = shown(tmp_path, "--without", "C", "--with", "A", "--without", "a")
    assert done.returncode == 1
    assert done.stdout == ""
    assert "error: no supplier 'C' on the price lists" in done.stderr
    assert "error: supplier 'A' is both left out and demanded" in done.stderr


def test_jobs_ordered_together_are_cut_together(tmp_path: Path) -> None:
    """2 m in each job from one length of 4 m: a column names the job."""
    shop = workshop(tmp_path, prices=[cable("A", 0.40)])
    paths = [str(job(shop, [("1", "red", "1.0", 2)], name=name)) for name in ("one", "two")]
    assert f"next: bom cut {paths[0]} {paths[1]}" in bom("order", *paths).stdout
    out = [line.split() for line in bom("cut", *paths).stdout.splitlines()]
    head = next(line for line in out if line[:2] == ["gauge", "colour"])
    assert "job" in head
    cut_from = [line for line in out if line[:2] == ["1.0", "red"]]
    assert [("one" in line, "two" in line) for line in cut_from] == [(True, False), (False, True)]


def test_more_than_needed_is_told(tmp_path: Path) -> None:
    """Four rings at 1.00 and a minimum of 5.00: one more than needed."""
    shop = workshop(
        tmp_path,
        cable=[("R1", "1.0", "red", 1)],
        prices=[part("A", 1.00)],
        suppliers=[("A", 0, None, 5)],
    )
    path = job(shop, [("1", "red", "1.0", 1)], Extras=[(RING, 4)])
    words = " ".join(bom("order", str(path)).stdout.split())
    assert f"{RING}: 1 x each more than needed, as fewer would make the whole order dearer" in words
