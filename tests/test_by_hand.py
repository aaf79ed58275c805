"""A job of three wires worked out by hand, from the tape measure to the last penny."""

import json
import math
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from bom.estimate import quote_for
from bom.show.job_json import cut_out, order_out, quote_out, takeoff_out
from tests.books import book

SUPPLIER = "Invented Supplies"


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Take-off, cut list, order and quote of the job."""
    shop = tmp_path_factory.mktemp("shop")
    (shop / "workshop.toml").write_text("hourly_rate = 36\nmarkup_percent = 25\ntax_percent = 20\n")
    path = _job(shop)
    _books(shop)
    bought, estimate = quote_for(path)
    return {
        "problems": {"says": [problem.says for problem in bought.problems]},
        "takeoff": takeoff_out(bought.jobs[0]),
        "cut": cut_out(bought),
        "order": order_out(bought),
        "quote": quote_out(bought, estimate),
    }


def _job(shop: Path) -> Path:
    return book(
        shop / "jobs",
        Job=[("job", "by hand"), ("end", "bullet")],
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "fuse", "from end"),
            ("1", "feed", "battery:+", "switch", "brown", "1.0", "main", "ring M6"),
            ("2", "lamp", "switch", "lamp:1", "red", "1.0", None, None),
            ("3", "earth", "lamp:2", "battery:-", "black", "1.0", None, None),
        ],
        Loom=[("from", "to", "length m"), ("battery", "mid", 0.5), ("mid", "nose", 0.8)],
        Components=[
            ("component", "at", "load", "tail mm", "end"),
            ("battery", None, None, None, "ring M6"),
            ("switch", "mid", None, None, None),
            ("lamp", "nose", "60 W", 150, None),
        ],
        Labour=[("task", "qty", "hours"), ("strip out", 1, 0.5)],
    )


def _books(shop: Path) -> None:
    book(
        shop,
        "stock.xlsx",
        Cable=[
            ("piece", "gauge", "colour", "length m", "cost per m"),
            ("R1", "1.0", "red", 5, 0.30),
        ],
    )
    head = ("supplier", "item", "gauge", "colour", "sold as", "pack", "price")
    parts = [
        ("ring terminal, M6, 0.5-1.5 mm2", "pack", 10, 1.10),
        ("bullet terminal, male, 0.5-1.0 mm2", "pack", 25, 2.10),
        ("bullet cover, male", "pack", 25, 1.20),
        ("loom tape, PVC, 19 mm", "reel", 33, 1.95),
        ("blade fuse, 7.5 A", "each", 1, 0.25),
        ("in-line fuse holder, blade", "each", 1, 1.80),
        ("crimp splice, 0.5-1.5 mm2", "pack", 25, 1.50),
        ("heat-shrink, adhesive 3:1, 3 mm", "metre", 1, 0.90),
    ]
    rows = [(SUPPLIER, item, None, None, sold, pack, price) for item, sold, pack, price in parts]
    cable = (SUPPLIER, "cable", "1.0", None, "metre", 1, 0.40)
    book(shop, "prices.xlsx", Prices=[head, cable, *rows])
    terms = [("supplier", "postage", "free over"), (SUPPLIER, 3.95, 60)]
    book(shop, "suppliers.xlsx", Suppliers=terms)


def test_no_doubt(answers: dict[str, Any]) -> None:
    """5 A x (0.61 + 1.07 + 1.60) m x 19.5 ohm/km, 40 K over 20 C: 0.370 V of 0.9 V for 60 W."""
    drop = 5 * 3.28 * 19.5 / 1000 * (1 + 0.00393 * 40)
    assert drop == pytest.approx(0.370, abs=0.0005)
    assert answers["problems"]["says"] == []


def test_pieces_and_spare(answers: dict[str, Any]) -> None:
    """Lengths in whole steps, and 5 % spare of each colour.

    1: 500 x 1.05 = 525, + 2 x 40 = 605 -> 610; spare 30.5 -> 40
    2: 800 x 1.05 = 840, + 150 tail + 80 = 1070; spare 53.5 -> 60
    3: 1300 x 1.05 = 1365, + 150 + 80 = 1595 -> 1600; spare 80
    """
    cables = {
        need["colour"]: (need["pieces_mm"], need["spare_mm"], need["quantity"])
        for need in answers["takeoff"]["needs"]
        if need["kind"] == "cable"
    }
    assert cables == {
        "brown": ([610], 40, 650),
        "red": ([1070], 60, 1130),
        "black": ([1600], 80, 1680),
    }


def test_parts(answers: dict[str, Any]) -> None:
    """Two rings and four bullets with covers, 10 % spare but at least two; tape; fuse.

    The fuse lies in wire 1: two splices, each with 40 mm of shrink on 2.1 mm (3 > 2.1 > 1).

    Both branches hold two wires of 2.1 mm: D = 4.2; with the tape's 0.13 mm a turn is
    pi x 4.33 round and 19 x 0.5 = 9.5 mm on.  60 W / 12 V = 5 A; 5 / 0.75 = 6.67 -> 7.5 A.
    """
    turn = math.hypot(math.pi * 4.33, 9.5)
    tape = (1300 * turn / 9.5 + 2 * 4 * math.pi * 4.33) * 1.10
    parts = {
        need["item"]: need["quantity"]
        for need in answers["takeoff"]["needs"]
        if need["kind"] != "cable"
    }
    assert parts == {
        "ring terminal, M6, 0.5-1.5 mm2": 2 + 2,
        "bullet terminal, male, 0.5-1.0 mm2": 4 + 2,
        "bullet cover, male": 4 + 2,
        "loom tape, PVC, 19 mm": math.ceil(tape),
        "blade fuse, 7.5 A": 1 + 1,
        "in-line fuse holder, blade": 1,
        "crimp splice, 0.5-1.5 mm2": 2 + 2,
        "heat-shrink, adhesive 3:1, 3 mm": 2 * 40,
    }
    assert math.ceil(tape) == 2618


def test_cuts(answers: dict[str, Any]) -> None:
    """Red comes off the reel, of which 5000 - 1070 mm are left; the others are bought."""
    cut = answers["cut"]
    found = {c["wire"]: (c["piece"], c["length_mm"], c["new"]) for c in cut["cuts"]}
    assert found == {
        "1": ("new 1.0 brown", 610, True),
        "2": ("R1", 1070, False),
        "3": ("new 1.0 black", 1600, True),
    }
    left = {o["piece"]: o["length_mm"] for o in cut["offcuts"]}
    assert left == {"R1": 3930, "new 1.0 brown": 390, "new 1.0 black": 400}


def test_order_to_the_penny(answers: dict[str, Any]) -> None:
    """Each line, and all of them with the postage.

    1 m + 2 m of cable 1.20; packs 1.10 + 2.10 + 1.20; tape 1.95; fuses 0.50; holder 1.80;
    splices 1.50; shrink 0.90.  Goods 12.25, postage 3.95: 16.20.
    """
    order = answers["order"]
    assert order["postage"] == "3.95"
    assert order["total"] == "16.20"
    assert order["unpriced"] == []


def test_quote_to_the_penny(answers: dict[str, Any]) -> None:
    """Each line is rounded, then summed; tax is on the total.

    Cost x 1.25, half a penny up: brown 0.40 -> 0.50, red 1.130 x 0.30 = 0.34 -> 0.43, black
    0.80 -> 1.00, rings 1.10 -> 1.38, bullets 2.10 -> 2.63, covers 1.20 -> 1.50, tape 1.95 ->
    2.44, fuses 0.50 -> 0.63, holder 1.80 -> 2.25, splices 1.50 -> 1.88, shrink 0.90 ->
    1.13, delivery 3.95 -> 4.94: 20.71.
    Labour at 0.60 a minute: 3 wires x 1.5 = 2.70, 6 terminals x 1 = 3.60, 4 covers x 0.5 =
    1.20, 2 splices x 4 = 4.80, 2 shrunk x 1 = 1.20, 1.3 m x 6 = 4.68, 1 fuse x 1 = 0.60, 3 tests
    x 0.5 = 0.90, 3 fitted x 10 = 18.00, half an hour = 18.00: 55.68.  Net 76.39, tax 15.278 ->
    15.28, total 91.67.
    """
    quote = answers["quote"]
    assert (quote["materials"], quote["labour"]) == ("20.71", "55.68")
    assert (quote["net"], quote["tax"], quote["total"]) == ("76.39", "15.28", "91.67")
    assert quote["complete"] is True
    prices = {line["item"]: line["price"] for line in quote["lines"]}
    assert prices["cable, 1.0 mm2, red"] == "0.43"
    assert Decimal(prices["wrap"]) == Decimal("4.68")
    assert json.dumps(quote)
