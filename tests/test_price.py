"""The estimate: cost off the shelf and from the order, markup, labour, tax; to the penny."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from bom.estimate import quote_for
from bom.job import open_job
from bom.show.job_json import quote_out
from tests.books import book, sketch
from tests.shops import RING, job, offers, workshop

CABLE = "cable, 1.0 mm2, red"
METRES = "A cable 0.40 metre"


def quoted(
    folder: Path, rules: dict[str, Any] | None = None, length: float = 1, **more: Any
) -> dict[str, Any]:
    """The estimate for one wire of 1.0 red and what else is on the sheets."""
    books = {key: more.pop(key, ()) for key in ("cable", "drawer", "suppliers")}
    shop = workshop(folder, prices=offers(more.pop("prices", "")), **books)
    path = job(shop, [("1", "red", "1.0", length)], rules=rules, **more)
    return quote_out(*quote_for(path))


def costs(answer: dict[str, Any]) -> dict[str, tuple[str | None, str | None]]:
    """Cost and price of each line of material."""
    return {n["item"]: (n["cost"], n["price"]) for n in answer["lines"] if n["group"] != "labour"}


def told_job(folder: Path, told: str) -> Path:
    """A job of some lines in a workshop, its ends bare but for those typed."""
    bare = {"gauge": "1.0", "from end": "bare", "to end": "bare"}
    sheets, _ = sketch(told, "from end, to end, length", **bare)
    return book(workshop(folder), "jobs/job.xlsx", **sheets)


def minutes(folder: Path, told: str) -> dict[str, str]:
    """Prices of the labour lines; at 60 an hour a minute is 1.00."""
    _, estimate = quote_for(told_job(folder, f"{told}\njob: hourly_rate | 60"))
    assert estimate
    return {line.item: str(line.price) for line in estimate.lines if line.group == "labour"}


# ---------------------------------------------------------------------------- materials


FREE = [("R1", "1.0", "red", 1, 0)]  # the one wire costs nothing
THREE = ("clip", "clamp", "collar")


def reel(cost_per_m: float | None) -> list[Any]:
    """A reel of 5 m that cost so much."""
    return [("R1", "1.0", "red", 5, cost_per_m)]


@pytest.mark.parametrize(
    ("rules", "sheets", "expected"),
    [
        # 2 m off a reel, at the cost recorded on the shelf, not the list's
        ({}, {"length": 2, "cable": reel(0.30), "prices": METRES}, {CABLE: "0.60 0.60"}),
        # recorded as having cost nothing; none recorded: the list's, 0.20 a metre off a reel of 50
        ({}, {"length": 2, "cable": reel(0), "prices": METRES}, {CABLE: "0.00 0.00"}),
        ({}, {"length": 2, "cable": reel(None), "prices": METRES}, {CABLE: "0.80 0.80"}),
        (
            *({}, {"length": 2, "cable": reel(None), "prices": f"{METRES}; B cable 10.00 reel 50"}),
            {CABLE: "0.40 0.40"},
        ),
        # seven rings: 4 of the drawer at 0.05 = 0.20, and a pack of ten at 1.10
        (
            {},
            {
                **{"cable": FREE, "drawer": [(RING, "each", 4, None, None, 0.05)]},
                **{"prices": "A ring 1.10 pack 10", "Extras": [(RING, 7)]},
            },
            {RING: "1.30 1.30"},
        ),
        # the spare is charged too: 1 m and 5 % off a reel that cost 2.00 a metre
        ({"cable_spare_percent": 5}, {"cable": reel(2)}, {CABLE: "2.10 2.10"}),
        # markup is on each line, rounded first: 0.25 x 1.5 = 0.375; three are 1.14, where 0.75 x
        # 1.5 would be 1.13
        (
            {"markup_percent": 50, "tax_percent": 0},
            {"cable": FREE, "Extras": [(item, 1, None, 0.25) for item in THREE]},
            {**dict.fromkeys(THREE, "0.25 0.38"), "materials": "1.14", "total": "1.14"},
        ),
        # tax is on the total: 100.02 at 19 % (EN 16931); line by line it would be 18.99
        (
            {"tax_percent": 19},
            {"cable": FREE, "Extras": [(item, 1, None, 33.34) for item in THREE]},
            {"net": "100.02", "tax": "19.00", "total": "119.02"},
        ),
        # 2.5 m of 3 m at 0.40: the half metre left is worth 0.20 at its full price
        ({"leftover_worth": 0}, {"length": 2.5, "prices": METRES}, {CABLE: "1.20 1.20"}),
        ({"leftover_worth": 0.5}, {"length": 2.5, "prices": METRES}, {CABLE: "1.10 1.10"}),
        ({"leftover_worth": 1}, {"length": 2.5, "prices": METRES}, {CABLE: "1.00 1.00"}),
        # left over parts are not credited: one ring of a pack of ten
        (
            {"leftover_worth": 1},
            {"prices": f"{METRES}; A ring 1.10 pack 10", "Extras": [(RING, 1)]},
            {RING: "1.10 1.10"},
        ),
        # delivery of 4.00 is a line with the markup; a supplier that posts free has none
        (
            {"markup_percent": 25},
            {
                **{"prices": f"{METRES}; B ring 1.00 each", "Extras": [(RING, 1)]},
                "suppliers": [("A", 4.00), ("B", 0)],
            },
            {"delivery, A": "4.00 5.00", "delivery, B": ""},
        ),
        # extras of one item are one line and paid once: 1 at 2.00 and 2 at 3.00
        (
            {"tax_percent": 0},
            {"cable": FREE, "Extras": [("glass", 1, None, 2.00), ("glass", 2, None, 3.00)]},
            {"glass": "8.00 8.00", "total": "8.00"},
        ),
    ],
)
def test_materials(
    tmp_path: Path, rules: dict[str, Any], sheets: dict[str, Any], expected: dict[str, str]
) -> None:
    """Cost and price of lines, and sums; all is priced."""
    answer = quoted(tmp_path, rules, **sheets)
    assert answer["complete"]
    lines = {item: f"{cost} {price}" for item, (cost, price) in costs(answer).items()}
    assert {of: lines.get(of) or answer.get(of, "") for of in expected} == expected
    assert len(lines) == len([n for n in answer["lines"] if n["group"] != "labour"])


def test_what_has_no_price_and_no_cost_is_not_priced(tmp_path: Path) -> None:
    """2 m off a reel whose cost is not recorded, and no list."""
    answer = quoted(tmp_path, length=2, cable=reel(None))
    assert (costs(answer)[CABLE], answer["complete"]) == ((None, None), False)


@pytest.mark.parametrize(
    ("price", "percent", "tax"),
    [
        # 0.025: half and above up (HMRC VATREC12030); 0.024: down; 13.38 x 0.2 = 2.676
        *((2.50, 1, "0.03"), (2.40, 1, "0.02"), (13.375, 20, "2.68")),
        *((10, 0, "0.00"), (10, 7.7, "0.77")),
    ],
)
def test_half_a_penny_goes_up(tmp_path: Path, price: float, percent: float, tax: str) -> None:
    """Tax to the penny."""
    extras = [("clip", 1, None, price)]
    assert quoted(tmp_path, {"tax_percent": percent}, cable=FREE, Extras=extras)["tax"] == tax


def test_an_extra_of_a_counted_item_is_paid_once(tmp_path: Path) -> None:
    """One fuse and its wire, five more fuses as an extra: six at 0.25."""
    fuse = "blade fuse, 5 A"
    sheets, _ = sketch("a fuse\njob: fuse_spares | 0\nfuses: main | 5\nbattery > lamp | fuse=main")
    path = book(
        workshop(tmp_path, prices=[("A", fuse, None, None, "each", None, 0.25)]),
        "jobs/job.xlsx",
        Extras=[("item", "qty"), (fuse, 5)],
        **sheets,
    )
    answer = quote_out(*quote_for(path))
    found = [(n["quantity"], n["cost"]) for n in answer["lines"] if n["item"] == fuse]
    assert found == [(6, "1.50")]


# --------------------------------------------------------------------------- incomplete


def test_an_unpriced_line_makes_the_quote_incomplete(tmp_path: Path) -> None:
    """The clip stands in the estimate without a cost, and a price of 0 is not said to be its."""
    answer = quoted(tmp_path, prices=METRES, Extras=[("clip", 1)])
    assert answer["complete"] is False
    assert costs(answer)["clip"] == (None, None)
    assert any("nobody sells 'clip'" in p["says"] for p in answer["problems"])


def test_a_job_outside_any_workshop_has_no_prices_and_says_so(tmp_path: Path) -> None:
    """Built-in rules, an empty shelf, an incomplete quote."""
    path = job(tmp_path, [("1", "red", "1.0", 1)])
    answer = quote_out(*quote_for(path))
    assert answer["complete"] is False
    assert any("not in a workshop folder" in p["says"] for p in answer["problems"])


def test_a_job_with_errors_has_no_quote(tmp_path: Path) -> None:
    """A run of 40 m is asked about."""
    path = job(workshop(tmp_path), [("1", "red", "1.0", 40)])
    assert quote_for(path)[1] is None


def test_without_an_hourly_rate_labour_is_free_and_said_to_be(tmp_path: Path) -> None:
    """No rate in the house rules."""
    answer = quoted(tmp_path, prices=METRES)
    assert answer["labour"] == "0.00"
    assert any("no hourly rate" in p["says"] for p in answer["problems"])


# ------------------------------------------------------------------------------- labour


def test_labour_rows_are_charged_by_the_hour(tmp_path: Path) -> None:
    """3 x 0.75 h at 42.00 = 94.50; 0.1 h = 4.20; no markup on labour."""
    rows = [("task", "qty", "hours"), ("strip out", 3, 0.75), ("photographs", None, 0.1)]
    rules = {"hourly_rate": 42, "markup_percent": 100}
    answer = quoted(tmp_path, rules, prices=METRES, Labour=rows)
    found = {n["item"]: n["price"] for n in answer["lines"] if n["group"] == "labour"}
    assert (found["strip out"], found["photographs"]) == ("94.50", "4.20")


def test_labour_percent_is_added_to_all_hours(tmp_path: Path) -> None:
    """25 % more: 4 h typed are 5 h, 210.00 at 42; 1 wire takes 1.5 min, 1.875 are 1.31.

    1.875 / 60 x 42 = 1.3125.
    """
    rows = [("task", "qty", "hours"), ("strip out", 2, 2)]
    rules = {"hourly_rate": 42, "labour_percent": 25}
    _, estimate = quote_for(
        job(workshop(tmp_path), [("1", "red", "1.0", 1)], rules=rules, Labour=rows)
    )
    assert estimate
    found = {line.item: (line.hours, str(line.price)) for line in estimate.lines if line.hours}
    assert found["strip out"] == (Decimal(5), "210.00")
    assert found["cut and strip"] == (Decimal("0.03125"), "1.31")


def test_operations_of_the_bench_are_counted(tmp_path: Path) -> None:
    """Minutes of catalogs/labour.csv at 1.00 each; spares are not crimped.

    Two wires and one row of two: four wires, 1.5 each to cut and strip, 0.5 to test.
    One joint (2 terminals, 2 covers), two rings, one sealed contact, a splice for two ends.
    """
    told = """a bench
    fuses: main | 5
    battery:+ > joint | ring M6 | splice | fuse=main
    joint > lamp:1 | splice | bullet joint
    lamp:2 > post:1 | sealed 1.5 | ring M6 | colour=black | qty=2"""
    assert minutes(tmp_path, told) == {
        "cut and strip": "6.00",  # 4 x 1.5
        "crimp": "5.00",  # 2 rings, 2 bullets, 1 sealed contact
        "cover": "1.00",  # 2 x 0.5
        "seal": "0.50",
        "splice": "12.00",  # 3 x 4: one for two ends, two at the fuse's in-line holder
        "shrink": "3.00",  # over each splice
        "housing": "2.00",
        "fuse": "1.00",
        "continuity test": "2.00",  # 4 x 0.5
        "fit": "30.00",  # battery, lamp, post; a splice is no fitting
    }


@pytest.mark.parametrize(("third", "breakouts"), [("c", "3.00"), ("b", None)])
def test_a_breakout_is_where_three_branches_with_wires_meet(
    tmp_path: Path, third: str, breakouts: str | None
) -> None:
    """Branches to a, b, c and d meet at m; no wire runs to d, nor to c in the second job."""
    told = f"""a loom
    loom: a > m | 1.0 | exposure=hidden; m > b | 0.5 | exposure=weather
    loom: m > c | 0.4 | exposure=show; m > d | 0.3 | exposure=hidden
    a:1 > b:1 | length=
    a:2 > {third}:2 | length="""
    found = minutes(tmp_path, told)
    assert found.get("breakout") == breakouts
    shows = third == "c"
    assert found["wrap"] == "6.00"  # 1.0 m x 6; nothing for the empty branch
    assert found["tube"] == ("2.70" if shows else "1.50")  # 0.5 m, and 0.4 m under the braid, x 3
    assert found.get("braid") == ("2.00" if shows else None)  # 0.4 m x 5
    assert found.get("shrink") == ("2.00" if shows else None)  # both ends of the braid


def test_a_plug_in_the_loom_is_assembled_and_not_fitted(tmp_path: Path) -> None:
    """Two housings at 2 minutes; the box and the lamp are fitted."""
    told = """a plug
    with: plug | | pin to pin
    box:1 > plug:1 | bare | multiway 2.8
    plug:1 > lamp:1 | multiway 2.8"""
    found = minutes(tmp_path, told)
    assert (found["housing"], found["crimp"], found["fit"]) == ("4.00", "2.00", "20.00")


def test_the_sum_of_the_lines_is_the_quote(tmp_path: Path) -> None:
    """Materials and labour are sums of rounded lines, and net their sum."""
    path = job(
        workshop(tmp_path, prices=offers(METRES), suppliers=[("A", 3.95)]),
        [("1", "red", "1.0", 1.3), ("2", "blue", "1.0", 0.7)],
        rules={"hourly_rate": 37, "markup_percent": "33.3"},
    )
    assert open_job(path).takeoff
    _, estimate = quote_for(path)
    assert estimate
    by_group = {True: Decimal(), False: Decimal()}
    for line in estimate.lines:
        by_group[line.group == "labour"] += line.price
    assert (estimate.materials, estimate.labour) == (by_group[False], by_group[True])
    assert estimate.net == estimate.materials + estimate.labour
    # 2 m and 1 m at 0.40, and 3.95, each x 1.333: 1.07 + 0.53 + 5.27
    assert estimate.materials == Decimal("6.87")
    # a minute is 0.61667: 2 x 1.5 = 1.85, 2 x 0.5 = 0.62, 4 x 10 = 24.67
    assert estimate.labour == Decimal("27.14")
