"""Why of labour, of a fuse and of a supplier: figures worked out by hand beside each line."""

import json
from pathlib import Path

import pytest

from bom.estimate import buy_for
from bom.show.why import why
from tests.books import Rows, book
from tests.shops import job, offers, workshop
from tests.within import bom

SHOPS = [("A", 2, None, None, None), ("B", 3, 20, 5, None)]


def lines(path: Path, what: str, name: str = "") -> tuple[str, ...]:
    """What `why` says, under its subject."""
    subject, said = why(buy_for([path]), what, name)
    assert subject.casefold() == f"{what} {name}".strip().casefold()
    return said


def test_labour_is_each_count_by_its_minutes(tmp_path: Path) -> None:
    """With the allowance in each price: 22 minutes and 3 h are 3.37 h, and 3.70 h with 10 %.

    At 40 an hour: 1.5 min 1.10, 0.5 min 0.37, 20 min 14.67, 3 h 132.00; in all 148.14.
    """
    labour = [("task", "qty", "hours"), ("strip old loom", 2, 1.5), ("test ride", None, 0)]
    rules = {"hourly_rate": 40, "labour_percent": 10}
    path = job(workshop(tmp_path), [("1", "red", "1.0", 1)], rules=rules, Labour=labour)
    assert lines(path, "labour") == (
        "labour 148.14: 3.37 h + 10 % (labour_percent) = 3.70 h, at 40.00 an hour (hourly_rate)",
        "cut and strip: 1 x 1.5 min per wire = 0.03 h, 1.10",
        "continuity test: 1 x 0.5 min per wire = 0.01 h, 0.37",
        "fit: 2 x 10 min per component = 0.33 h, 14.67",
        "strip old loom (Labour A2): 2 x 1.5 h = 3.00 h, 132.00",
        "test ride (Labour A3): 0.00 h, 0.00",
        "each with 10 % more hours in its price",
        "minutes: catalogs/labour.csv (invented, house default: time your own bench and override)",
    )


def lamps(
    tmp_path: Path, fuses: Rows = (("fuse", "rating"),), labour: Rows = (("task", "hours"),)
) -> Path:
    """Two beams that are never on together behind one fuse, and a horn behind another."""
    return book(
        tmp_path,
        Circuits=[
            ("wire", "circuit", "from", "to", "colour", "gauge", "fuse"),
            ("1", "lamps", "battery:+", "dip switch:in", "blue", "1.0", "lamps"),
            ("2", "dip", "dip switch:dip", "dip lamp:1", "blue/red", "0.5", None),
            ("3", "main", "dip switch:main", "main lamp:1", "blue/white", "1.0", None),
            ("4", "horn", "battery:+ 2", "horn:1", "purple", "1.0", "horn"),
            ("5", "earth", "dip lamp:2", "battery:-", "black", "1.0", None),
            ("6", "earth", "main lamp:2", "battery:- 2", "black", "1.0", None),
            ("7", "earth", "horn:2", "battery:- 3", "black", "1.0", None),
        ],
        Components=[
            ("component", "load", "passes", "one of"),
            ("dip switch", None, "in > dip main", None),
            ("dip lamp", "48 W", None, "beam:dip"),
            ("main lamp", "60 W", None, "beam:main"),
            ("horn", "3 A", None, None),
        ],
        Loom=[
            ("from", "to", "length m"),
            ("battery", "dip switch", 1),
            ("dip switch", "dip lamp", 1),
            ("dip lamp", "main lamp", 0.1),
            ("main lamp", "horn", 0.1),
        ],
        Fuses=fuses,
        Labour=labour,
    )


def test_a_fuse_by_the_loads_behind_it(tmp_path: Path) -> None:
    """At 12 V 48 W are 4 A and 60 W 5 A: 5 A at the most, 9 A together; 5 / 75 % = 6.67 A."""
    lundy = "L. Lundy, The fuse-selection checklist, EDN, 26 September 1996"
    assert lines(lamps(tmp_path), "fuse", "Lamps") == (
        "fuse lamps: 7.5 A chosen, blade fuse, in-line",
        "behind it: dip lamp, 4 A, always, one of beam:dip",
        "behind it: main lamp, 5 A, always, one of beam:main",
        "largest current: 5 A at the most; all that is behind it takes 9 A",
        f"size: 7.5 A, the smallest from 5 A / 75 % = 6.67 A ({lundy})",
        "thinnest of 3 wires behind it: 2, 0.5 blue/red, rated 11 A, which it protects",
    )


def test_a_fuse_that_is_typed_too_large(tmp_path: Path) -> None:
    """15 A over a wire that is rated for 11; a horn's 3 A is brief."""
    rows = [("fuse", "rating", "holder"), ("lamps", 15, "in-line"), ("horn", 5, "in-line")]
    path = lamps(tmp_path, fuses=rows)
    assert lines(path, "fuse", "lamps")[-1].endswith("rated 11 A, less than the fuse")
    assert lines(path, "fuse", "horn")[1:4] == (
        "behind it: horn, 3 A, brief",
        "largest current: 3 A",
        "size: its rating of 5 A is typed, its load is 3 A",
    )


def test_a_supplier_by_what_it_would_cost_without(tmp_path: Path) -> None:
    """4 m at 0.40 and postage 2.00 are 3.60; at B 4 x 0.50 and 3.00 are 5.00, but for the least.

    B takes no order under 5.00, so that 10 m are bought there: 5.00 + 3.00 = 8.00, 4.40 more.
    """
    shop = workshop(
        tmp_path, prices=offers("A cable 0.40 metre; B cable 0.50 metre"), suppliers=SHOPS
    )
    path = job(shop, [("1", "red", "1.0", 4)])
    assert lines(path, "supplier", "A") == (
        "A: 1 line, 1.60 + postage 2.00 = 3.60",
        "cable, 1.0 mm2, red: 4 x metre at 0.40, 1.60; at B 4 x metre, 2.00",
        "it is in the order as without it the whole would come to 8.00, not 3.60: 4.40 more",
    )
    assert lines(path, "supplier", "B") == (
        "B: nothing is bought there",
        "it sells 1 of the order's 1 line",
        "with it the order comes to 8.00, 4.40 more",
    )


def test_a_supplier_who_alone_sells_something(tmp_path: Path) -> None:
    """It has to be in the order; its terms stand beside it."""
    shop = workshop(tmp_path, prices=offers("B cable 2.00 metre"), suppliers=SHOPS)
    assert lines(job(shop, [("1", "red", "1.0", 4)]), "supplier", "B") == (
        "B: 1 line, 8.00 + postage 3.00 = 11.00; postage free over 20.00; minimum order 5.00",
        "cable, 1.0 mm2, red: 4 x metre at 2.00, 8.00",
        "it is in the order as nobody else sells cable, 1.0 mm2, red",
    )


@pytest.mark.parametrize(
    ("words", "says", "cure"),
    [
        (("labuor",), "'labuor' is neither a wire nor an item of this job", "labour"),
        (("fuse", "lamp"), "no fuse 'lamp' in this job", "lamps"),
        (("fuse", "zzz"), "no fuse 'zzz' in this job", "lamps or horn"),
        (("fuse",), "'fuse' wants a name behind it", "fuse lamps"),
        (("supplier", "Exampel"), "no supplier 'Exampel' on the price lists", "Example Co."),
    ],
)
def test_the_nearest_is_told(tmp_path: Path, words: tuple[str, ...], says: str, cure: str) -> None:
    """A name mistyped, or left out."""
    shop = workshop(tmp_path)
    book(
        shop,
        "prices.xlsx",
        Prices=[
            ("supplier", "item", "gauge", "sold as", "price"),
            ("Example Co.", "cable", "1.0", "metre", 0.4),
        ],
    )
    done = bom("why", lamps(shop / "jobs"), *words)
    assert done.returncode == 2
    assert done.stderr.startswith(f"error: {says}\n    try: {cure}\n")


def test_json_has_the_same_lines(tmp_path: Path) -> None:
    """Under the subject as the job spells it."""
    path = lamps(tmp_path)
    told = json.loads(bom("why", path, "fuse", "HORN", "--json").stdout)
    assert told["subject"] == "fuse horn"
    assert tuple(told["lines"]) == lines(path, "fuse", "horn")


def test_without_a_price_there_is_still_labour_but_not_with_errors(tmp_path: Path) -> None:
    """As the total: none where the job has errors, and the exit code is 1."""
    path = lamps(tmp_path, labour=[("task", "hours"), ("strip", "much")])
    done = bom("why", path, "labour")
    assert (done.returncode, done.stdout) == (1, "labour: none, there are errors\n")
