"""The order for whole jobs: metres, reels, packs, breaks, postage, tax; each sum by hand."""

import json
import subprocess
from datetime import date
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from bom.estimate import buy_for
from bom.files.table import csv_bytes, xlsx_bytes
from bom.show.job_json import cut_out, order_out
from bom.show.order_tables import order_tables
from bom.show.paper.letters import order_sheet
from tests.books import book
from tests.shops import PLAIN, RING, job, offers, workshop
from tests.within import bom


def ordered(
    folder: Path, prices: str, lengths: Any = (), terms: Any = (), **sheets: Any
) -> dict[str, Any]:
    """The order for wires of 1.0 red of these lengths (m) and for what else is on the sheets."""
    wires = [(f"{n}", "red", "1.0", length) for n, length in enumerate(lengths, start=1)]
    if not wires:  # a wire that the shelf has, so that only the extras are bought
        wires = [("1", "red", "1.0", 1)]
    shelf = () if lengths else [("R1", "1.0", "red", 1)]
    rules = sheets.pop("rules", None)
    shop = workshop(folder, prices=offers(prices), suppliers=terms, cable=shelf)
    return order_out(buy_for([job(shop, wires, rules=rules, **sheets)]))


def lines(answer: dict[str, Any]) -> str:
    """Supplier, packs, form and cost of each line; they and the postage are the total."""
    found = answer["lines"]
    costs = (Decimal(line["cost"]) for line in found)
    assert sum(costs, Decimal(answer["postage"])) == Decimal(answer["total"])
    told = (f"{n['supplier']} {n['packs']} x {n['sold_as']} {n['cost']}" for n in found)
    return "; ".join(sorted(told))


# -------------------------------------------------------------------------------- cable


@pytest.mark.parametrize(
    ("lengths", "spare", "prices", "expected"),
    [
        # metres are whole and in one length, at 0.40 a metre
        ([1.6, 0.9], 0, "A cable 0.40 metre", "A 3 x metre 1.20"),  # 2.5 m
        ([3.0], 0, "A cable 0.40 metre", "A 3 x metre 1.20"),  # whole metres already
        ([3.001], 0, "A cable 0.40 metre", "A 4 x metre 1.60"),
        ([0.2, 0.2, 0.2], 0, "A cable 0.40 metre", "A 1 x metre 0.40"),
        # the spare is bought with the pieces: 2100 mm, of which 0.9 m are left
        ([2.0], 5, "A cable 0.40 metre", "A 3 x metre 1.20"),
        # reels of 5 m at 1.50 hold whole pieces: 6 m do not come off them by halves
        ([5.0], 0, "A cable 1.50 reel 5", "A 1 x reel 1.50"),
        ([3.0, 3.0], 0, "A cable 1.50 reel 5", "A 2 x reel 3.00"),
        ([3.0, 3.0, 2.0, 2.0], 0, "A cable 1.50 reel 5", "A 2 x reel 3.00"),
        ([2.4, 2.4], 0, "A cable 1.50 reel 5", "A 1 x reel 1.50"),
        # 4.8 m, 0.2 left, 0.48 spare: a second reel; 4.4 m, 0.6 left, 0.44 spare
        ([2.4, 2.4], 10, "A cable 1.50 reel 5", "A 2 x reel 3.00"),
        ([2.2, 2.2], 10, "A cable 1.50 reel 5", "A 1 x reel 1.50"),
        # two reels of 5 m would be 2.00, yet only the metres at 0.90 hold a piece of 6 m
        ([6], 0, "A cable 1.00 reel 5; B cable 0.90 metre", "B 6 x metre 5.40"),
        # a reel of 25 m at 6.00: 15 m at 0.40 cost as much, 14 m 5.60, 16 m 6.40
        ([7, 7], 0, "A cable 0.40 metre; B cable 6.00 reel 25", "A 14 x metre 5.60"),
        ([8, 8], 0, "A cable 0.40 metre; B cable 6.00 reel 25", "B 1 x reel 6.00"),
    ],
)
def test_cable(tmp_path: Path, lengths: Any, spare: int, prices: str, expected: str) -> None:
    """Pieces of red cable, with so many per cent spare."""
    answer = ordered(tmp_path, prices, lengths, rules={"cable_spare_percent": spare})
    assert lines(answer) == expected


def test_a_reel_shorter_than_a_piece_is_not_offered(tmp_path: Path) -> None:
    """Where there is nothing else the piece is on no list."""
    alone = ordered(tmp_path, "A cable 1.00 reel 5", [6])
    unpriced = [(n["item"], n["quantity"]) for n in alone["unpriced"]]
    assert (alone["lines"], unpriced) == ([], [("cable, 1.0 mm2, red", 6000)])


@pytest.mark.parametrize(
    ("colour", "row_colour", "sold"),
    [
        *(("red", None, True), ("pink", None, True)),
        ("red/blue", None, False),  # a trace is not plain
        *(("red/blue", "red/blue", True), ("red", "red/blue", False)),
        *(("red", "blue", False), ("red", "red", True)),
    ],
)
def test_a_row_without_colour_covers_plain_colours_only(
    tmp_path: Path, colour: str, row_colour: str | None, sold: bool
) -> None:
    """One wire in a colour, one price row."""
    shop = workshop(tmp_path, prices=offers("A cable 0.40 metre", row_colour))
    answer = order_out(buy_for([job(shop, [("1", colour, "1.0", 1)])]))
    assert (len(answer["lines"]), len(answer["unpriced"])) == ((1, 0) if sold else (0, 1))


def test_a_gauge_is_only_bought_in_its_own_row(tmp_path: Path) -> None:
    """1.5 is not sold by the row for 1.0."""
    shop = workshop(tmp_path, prices=offers("A cable 0.40 metre"))
    answer = order_out(buy_for([job(shop, [("1", "red", "1.5", 1)])]))
    assert [n["gauge"] for n in answer["unpriced"]] == ["1.5"]


def test_new_cable_is_on_the_cut_list(tmp_path: Path) -> None:
    """Pieces of 3, 3 and 2 m from two reels of 5 m: 0 and 2 m are left."""
    shop = workshop(tmp_path, prices=offers("A cable 1.50 reel 5"))
    wires = [("1", "red", "1.0", 3), ("2", "red", "1.0", 3), ("3", "red", "1.0", 2)]
    answer = cut_out(buy_for([job(shop, wires)]))
    assert all(cut["new"] for cut in answer["cuts"])
    assert sorted(cut["wire"] for cut in answer["cuts"]) == ["1", "2", "3"]
    assert sorted(o["length_mm"] for o in answer["offcuts"]) == [0, 2000]


def test_two_jobs_are_bought_for_together(tmp_path: Path) -> None:
    """0.4 m in each: one metre for both."""
    shop = workshop(tmp_path, prices=offers("A cable 0.40 metre"))
    paths = [job(shop, [("1", "red", "1.0", 0.4)], name=name) for name in ("a", "b")]
    (line,) = order_out(buy_for(paths))["lines"]
    assert (line["packs"], line["for"]) == (1, ["a", "b"])


# ------------------------------------------------------------- counted things, and terms


IN_TENS = "A ring 1.10 pack 10"
BREAK = f"{IN_TENS}; A ring 0.70 pack 10 from 3"
SINGLY = "A ring 0.15 each; B ring 1.10 pack 10"
BOTH = "A ring 2.20 pack 10; A ring 1.90 pack 10 from 2"


@pytest.mark.parametrize(
    ("count", "prices", "terms", "expected"),
    [
        # packs of ten are whole
        *((count, IN_TENS, (), "A 1 x pack 1.10") for count in (1, 10)),
        *((count, IN_TENS, (), "A 2 x pack 2.20") for count in (11, 20)),
        (4, SINGLY, (), "A 4 x each 0.60"),
        (7, SINGLY, (), "A 7 x each 1.05"),
        (8, SINGLY, (), "B 1 x pack 1.10"),  # 8 x 0.15 = 1.20
        (12, SINGLY, (), "A 2 x each 0.30; B 1 x pack 1.10"),  # singly 1.80, two packs 2.20
        (10, BREAK, (), "A 1 x pack 1.10"),
        (12, BREAK, (), "A 3 x pack 2.10"),  # two packs are 2.20
        (30, BREAK, (), "A 3 x pack 2.10"),
        (31, BREAK, (), "A 4 x pack 2.80"),
        # postage 3.95, free from 10.00: 7 and postage are 10.95, three more are cheaper
        (6, "A ring 1.00 each", (3.95, 10), "A 6 x each 6.00 + 3.95"),
        (7, "A ring 1.00 each", (3.95, 10), "A 10 x each 10.00"),
        (10, "A ring 1.00 each", (3.95, 10), "A 10 x each 10.00"),
        (11, "A ring 1.00 each", (3.95, 10), "A 11 x each 11.00"),
        # a minimum of 5.00 is reached with more: an order of 4 would not be sent
        *((count, "A ring 1.00 each", (0, None, 5), "A 5 x each 5.00") for count in (4, 5)),
        (6, "A ring 1.00 each", (0, None, 5), "A 6 x each 6.00"),
        # all packs are charged at the price of their number: two are 1.90 each, and 2.20 + 2 x
        # 1.90 = 6.00 is no price of the shop's
        (8, BOTH, (0, None, None), "A 1 x pack 2.20"),
        (8, BOTH, (0, None, 3), "A 2 x pack 3.80"),
        (8, BOTH, (0, None, 5), "A 3 x pack 5.70"),
        (8, BOTH, (0, None, 5.8), "A 4 x pack 7.60"),
        # 1.20 each, 2.40 postage, free over 12.00, with 20 % tax in them: 1.00, 2.00, 10.00
        (3, "A ring 1.20 each", (2.40, 12, None, "yes"), "A 3 x each 3.00 + 2.00"),
        (7, "A ring 1.20 each", (2.40, 12, None, "yes"), "A 7 x each 7.00 + 2.00"),
        *(
            (count, "A ring 1.20 each", (2.40, 12, None, "yes"), "A 10 x each 10.00")
            for count in (9, 10)
        ),
        # the least it can cost, and with whole packs and postage
        (3, "A ring 0.20 each; B ring 0.30 each", (), "A 3 x each 0.60"),
        (3, IN_TENS, (2.00,), "A 1 x pack 1.10 + 2.00"),
    ],
)
def test_rings(tmp_path: Path, count: int, prices: str, terms: Any, expected: str) -> None:
    """The cheapest way to so many rings, proved; more than are needed is told."""
    suppliers = [("A", *terms)] if terms else ()
    answer = ordered(tmp_path, prices, terms=suppliers, Extras=[(RING, count)])
    goods, _, postage = expected.partition(" + ")
    assert (lines(answer), answer["postage"]) == (goods, postage or "0.00")
    assert (answer["bound"], answer["proved"]) == (answer["total"], True)
    told = [p for p in answer["problems"] if "more than is needed" in p["says"]]
    sizes = {"pack": 10, "each": 1}
    over = sum(n["packs"] * sizes[n["sold_as"]] for n in answer["lines"]) - count
    # of what comes in packs a part of one is over; a whole one is bought for the terms
    assert len(told) == (over >= max(sizes[n["sold_as"]] for n in answer["lines"]))


@pytest.mark.parametrize(
    ("prices", "lengths", "extras", "terms", "expected", "postage"),
    [
        # each line where it is cheapest
        (
            "A cable 0.40 metre; B cable 0.50 metre; A ring 0.20 each; B ring 0.15 each",
            *([2], [(RING, 2)], (), "A 2 x metre 0.80; B 2 x each 0.30", "0.00"),
        ),
        # postage once at each supplier ordered from: two lines at A, one at B, none at C
        (
            "A cable 0.40 metre; A ring 1.00 each; B clip 0.10 each; C ring 9.00 each",
            *([1], [(RING, 1), ("clip", 1)], [("A", 3.00), ("B", 2.00), ("C", 1.00)]),
            *("A 1 x each 1.00; A 1 x metre 0.40; B 1 x each 0.10", "5.00"),
        ),
        # 1.20 and 0.99 with 20 % tax in them are 1.00 and 0.825: two are 1.65
        (
            "A ring 1.20 each; A clip 0.99 each",
            *([], [(RING, 3), ("clip", 2)], [("A", None, None, None, "yes")]),
            *("A 2 x each 1.65; A 3 x each 3.00", "0.00"),
        ),
        # 0.05 with tax is 0.041667: rounded line by line, three of 0.04 are 0.12, not 0.125
        (
            "A clip 0.05 each; A clamp 0.05 each; A collar 0.05 each",
            *([], [("clip", 1), ("clamp", 1), ("collar", 1)], [("A", 0, None, None, "yes")]),
            *("A 1 x each 0.04; A 1 x each 0.04; A 1 x each 0.04", "0.00"),
        ),
        # an extra with a price is bought at it, though the list has it dearer
        (
            *("A clip 9.00 each", [], [("clip", 3, None, 2.50)], ()),
            *("elsewhere 3 x each 7.50", "0.00"),
        ),
        # 2.5 m by whole metres
        (*("A edging 0.50 metre", [], [("edging", 2.5, "m")], ()), "A 3 x metre 1.50", "0.00"),
    ],
)
def test_orders(
    tmp_path: Path, prices: str, lengths: Any, extras: Any, terms: Any, expected: str, postage: str
) -> None:
    """Cable and parts together, to the penny, and proved."""
    answer = ordered(tmp_path, prices, lengths, terms, Extras=extras)
    assert (lines(answer), answer["postage"]) == (expected, postage)
    assert (answer["bound"], answer["proved"]) == (answer["total"], True)


def test_measured_goods_come_by_their_metres(tmp_path: Path) -> None:
    """1.1 m of tube: 2 m at 0.50 each, or a roll of 10 m at 0.90."""
    loom = [("from", "to", "length", "covering"), ("from 1", "to 1", 1, "tube")]
    metres = "A tube 0.50 metre"
    assert lines(ordered(tmp_path / "a", metres, Loom=loom)) == "A 2 x metre 1.00"
    both = f"{metres}; B tube 0.90 reel 10"
    assert lines(ordered(tmp_path / "b", both, Loom=loom)) == "B 1 x reel 0.90"


def test_what_nobody_sells_is_listed_and_there_is_no_total(tmp_path: Path) -> None:
    """Rings are sold, clips are not; the cable to buy still has its cuts."""
    answer = ordered(tmp_path, "A ring 1.00 each", [2], Extras=[(RING, 2), ("clip", 3)])
    unpriced = [(n["item"], n["quantity"], n["unit"]) for n in answer["unpriced"]]
    assert unpriced == [("cable, 1.0 mm2, red", 2000, "mm"), ("clip", 3, "each")]
    assert (answer["total"], answer["so_far"], answer["proved"]) == (None, "2.00", False)
    assert len([p for p in answer["problems"] if "nobody sells" in p["says"]]) == 2


@pytest.mark.parametrize(
    ("extras", "total"),
    [
        # 2.5 m at 3.00, and two of one name that keep their prices: one at 2.00, two at 3.00
        ([("edging", 2.5, "m", 3.00)], "7.50"),
        ([("gauge glass", 1, None, 2.00), ("gauge glass", 2, None, 3.00)], "8.00"),
    ],
)
def test_extras_at_their_own_prices(tmp_path: Path, extras: Any, total: str) -> None:
    """What the row says is paid, by its unit."""
    assert ordered(tmp_path, "", Extras=extras)["total"] == total


def test_an_extra_of_a_counted_item_is_bought_with_it(tmp_path: Path) -> None:
    """One ring on the wire and four more: five from a pack of ten."""
    path = book(
        workshop(tmp_path, prices=offers(f"{IN_TENS}; A cable 0.40 metre")),
        "jobs/job.xlsx",
        Job=[("item", "value"), *PLAIN.items()],
        Circuits=[
            ("from", "to", "from end", "to end", "colour", "gauge", "length"),
            ("stud", "lamp", "ring M6", "bare", "red", "1.0", 1),
        ],
        Extras=[("item", "qty"), (RING, 4)],
    )
    answer = order_out(buy_for([path]))
    assert lines(answer) == "A 1 x metre 0.40; A 1 x pack 1.10"


def test_a_faulty_cell_of_a_supplier_is_told_once(tmp_path: Path) -> None:
    """Its row is there: nobody says that it is not."""
    answer = ordered(tmp_path, "A ring 1.00 each", terms=[("A", "lots")], Extras=[(RING, 1)])
    assert [(p["level"], p["cell"]) for p in answer["problems"]] == [("error", "B2")]


# ------------------------------------------------------------------------ on the screen


def shown(folder: Path, *options: str) -> "subprocess.CompletedProcess[str]":
    """`bom order` for 4 rings and 2 clips: A sells both, B sells rings for less."""
    prices = offers("A ring 0.50 each; A clip 1.00 each; B ring 0.40 each")
    terms = [("A", 2.00), ("B", 0.30)]
    shop = workshop(folder, cable=[("R1", "1.0", "red", 1)], prices=prices, suppliers=terms)
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
    assert "so far without tax; 1 item has no price" in without.stdout
    assert "nobody sells 'clip'" in without.stderr
    assert "total without tax      5.90" in shown(tmp_path / "w", "--with", "B").stdout


def test_a_supplier_that_there_is_not(tmp_path: Path) -> None:
    """A slip in the name, and one both left out and demanded: two errors, no order."""
    done = shown(tmp_path, "--without", "C", "--with", "A", "--without", "a")
    assert done.returncode == 1
    assert done.stdout == ""
    assert "error: no supplier 'C' on the price lists" in done.stderr
    assert "error: supplier 'A' is both left out and demanded" in done.stderr


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("cables", "total without tax  6.00"),  # Example Cables is left out
        ("ec", "total without tax  6.00"),
        ("example", "'example' may be any of 2 suppliers on the price lists"),
        ("exampel cables", "no supplier 'exampel cables' on the price lists"),
    ],
)
def test_a_short_name_is_the_one_supplier_that_it_means(
    tmp_path: Path, typed: str, told: str
) -> None:
    """Four rings at 1.50 of Example Tools, where Example Cables has them for 0.40."""
    tools, cables = ("Example Tools", 1.5), ("Example Cables Ltd", 0.4)
    rows = [(name, RING, None, None, "each", None, price) for name, price in (tools, cables)]
    shop = workshop(tmp_path, cable=[("R1", "1.0", "red", 1)], prices=rows)
    path = job(shop, [("1", "red", "1.0", 1)], Extras=[(RING, 4)])
    done = bom("order", str(path), "--without", typed)
    assert " ".join(told.split()) in " ".join((done.stdout + done.stderr).split())
    if done.returncode:
        assert "try: Example Cables Ltd" in done.stderr


def test_a_price_keeps_its_decimals_beside_its_cost(tmp_path: Path) -> None:
    """1 x 1.625 costs 1.63, and 3 x 1.625 = 4.875 costs 4.88; 2.00 / 1.2 is 1.6667 to four."""
    prices = offers("A ring 1.625 each; A clip 1.625 each; B clamp 2.00 each")
    shop = workshop(
        tmp_path,
        cable=[("R1", "1.0", "red", 1)],
        prices=prices,
        suppliers=[("A", 0), ("B", 0, None, None, "yes")],
    )
    path = job(shop, [("1", "red", "1.0", 1)], Extras=[(RING, 1), ("clip", 3), ("clamp", 3)])
    lines = [line.split() for line in bom("order", path).stdout.splitlines()]
    told = {tuple(line[-3:]) for line in lines if "each" in line}
    assert told == {("1", "1.625", "1.63"), ("3", "1.625", "4.88"), ("3", "1.6667", "5.00")}
    answer = json.loads(bom("order", path, "--json").stdout)
    said = {(line["price"], line["cost"]) for line in answer["lines"]}
    assert said == {("1.625", "1.63"), ("1.625", "4.88"), ("1.6667", "5.00")}
    bought = buy_for([path])
    papers = [order_sheet(bought, name, "", date(2026, 11, 27))["lines"] for name in ("A", "B")]
    on_paper = {tuple(line[-2:]) for lines in papers for line in lines}
    assert on_paper == {("£1.625", "£1.63"), ("£1.625", "£4.88"), ("£1.6667", "£5.00")}
    text = csv_bytes(order_tables(bought)[0]).decode()
    assert ",3,1.6667,5.00" in text and ",1,1.625,1.63" in text
    made = load_workbook(BytesIO(xlsx_bytes(order_tables(bought)))).worksheets[0]
    head = [cell.value for cell in made[1]]
    assert made.cell(2, head.index("price GBP") + 1).number_format == "#,##0.00## [$GBP]"


def test_jobs_ordered_together_are_cut_together(tmp_path: Path) -> None:
    """2 m in each job from one length of 4 m: a column names the job."""
    shop = workshop(tmp_path, prices=offers("A cable 0.40 metre"))
    paths = [str(job(shop, [("1", "red", "1.0", 2)], name=name)) for name in ("one", "two")]
    assert f"next: bom order {paths[0]} {paths[1]} --place" in bom("order", *paths).stdout
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
        prices=offers("A ring 1.00 each"),
        suppliers=[("A", 0, None, 5)],
    )
    path = job(shop, [("1", "red", "1.0", 1)], Extras=[(RING, 4)])
    words = " ".join(bom("order", str(path)).stdout.split())
    assert f"{RING}: 1 x each more than needed, as fewer would make the whole order dearer" in words
