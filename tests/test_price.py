"""The estimate: cost off the shelf and from the order, markup, labour, tax; to the penny."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from bom.estimate import quote_for
from bom.job import open_job
from bom.show.job_json import quote_out
from tests.books import book
from tests.shops import job, workshop

RING = "ring terminal, M6, 0.5-1.5 mm2"
CABLE = "cable, 1.0 mm2, red"
METRES = ("A", "cable", "1.0", None, "metre", None, 0.40)


def quoted(
    folder: Path, rules: dict[str, Any] | None = None, length: float = 1, **more: Any
) -> dict[str, Any]:
    """The estimate for one wire of 1.0 red and what else is on the sheets."""
    books = {
        key: more.pop(key) for key in ("cable", "drawer", "prices", "suppliers") if key in more
    }
    path = job(workshop(folder, **books), [("1", "red", "1.0", length)], rules=rules, **more)
    return quote_out(*quote_for(path))


def extras(folder: Path, *rows: Any, **rules: Any) -> dict[str, Any]:
    """The estimate for these extras; the one wire costs nothing."""
    shelf = [("R1", "1.0", "red", 1, 0)]
    return quoted(folder, {"hourly_rate": 0, **rules}, cable=shelf, Extras=list(rows))


def costs(answer: dict[str, Any]) -> dict[str, tuple[str | None, str]]:
    """Cost and price of each line of material."""
    return {n["item"]: (n["cost"], n["price"]) for n in answer["lines"] if n["group"] != "labour"}


def minutes(path: Path) -> dict[str, str]:
    """Prices of the labour lines; at 60 an hour a minute is 1.00."""
    _, estimate = quote_for(path)
    assert estimate
    return {line.item: str(line.price) for line in estimate.lines if line.group == "labour"}


# ---------------------------------------------------------------------------- materials


@pytest.mark.parametrize(
    ("cost_per_m", "prices", "cost"),
    [
        (0.30, [METRES], "0.60"),  # the cost recorded on the shelf, not the list's
        (0, [METRES], "0.00"),  # recorded as having cost nothing
        (None, [METRES], "0.80"),  # none recorded: the list's
        (None, [METRES, ("B", "cable", "1.0", None, "reel", 50, 10.00)], "0.40"),  # 0.20 a metre
        (None, [], None),  # neither: not priced
    ],
)
def test_what_comes_off_the_shelf_is_charged_at_its_cost(
    tmp_path: Path, cost_per_m: float | None, prices: list[Any], cost: str | None
) -> None:
    """2 m off a reel of 5 m."""
    shelf = [("R1", "1.0", "red", 5, cost_per_m)]
    answer = quoted(tmp_path, length=2, cable=shelf, prices=prices)
    assert costs(answer)[CABLE] == (cost, cost or "0.00")
    assert answer["complete"] is (cost is not None)


def test_half_off_the_shelf_and_half_bought(tmp_path: Path) -> None:
    """Seven rings: 4 of the drawer at 0.05 = 0.20, and a pack of ten at 1.10."""
    answer = quoted(
        tmp_path,
        cable=[("R1", "1.0", "red", 1, 0)],
        drawer=[(RING, "each", 4, None, None, 0.05)],
        prices=[("A", RING, None, None, "pack", 10, 1.10)],
        Extras=[(RING, 7)],
    )
    assert costs(answer)[RING] == ("1.30", "1.30")


def test_the_spare_is_charged_too(tmp_path: Path) -> None:
    """1 m and 5 % off a reel that cost 2.00 a metre: 2.10."""
    shelf = [("R1", "1.0", "red", 5, 2)]
    answer = quoted(tmp_path, {"cable_spare_percent": 5}, cable=shelf)
    assert costs(answer)[CABLE] == ("2.10", "2.10")


def test_markup_is_on_each_line_rounded_first(tmp_path: Path) -> None:
    """0.25 x 1.5 = 0.375: 0.38; three of them are 1.14, where 0.75 x 1.5 would be 1.13."""
    rows = [(item, 1, None, 0.25) for item in ("clip", "clamp", "collar")]
    answer = extras(tmp_path, *rows, markup_percent=50, tax_percent=0)
    assert [price for _, price in list(costs(answer).values())[1:]] == ["0.38", "0.38", "0.38"]
    assert (answer["materials"], answer["total"]) == ("1.14", "1.14")


def test_tax_is_on_the_total(tmp_path: Path) -> None:
    """3 x 33.34 = 100.02 at 19 %: 19.00 (EN 16931); line by line it would be 18.99."""
    rows = [(item, 1, None, 33.34) for item in ("clip", "clamp", "collar")]
    answer = extras(tmp_path, *rows, tax_percent=19)
    assert (answer["net"], answer["tax"], answer["total"]) == ("100.02", "19.00", "119.02")


@pytest.mark.parametrize(
    ("price", "percent", "tax"),
    [
        (2.50, 1, "0.03"),  # 0.025: half and above up (HMRC VATREC12030)
        (2.40, 1, "0.02"),  # 0.024: down
        (13.375, 20, "2.68"),  # 13.38 x 0.2 = 2.676
        (10, 0, "0.00"),
        (10, 7.7, "0.77"),
    ],
)
def test_half_a_penny_goes_up(tmp_path: Path, price: float, percent: float, tax: str) -> None:
    """Tax to the penny."""
    assert extras(tmp_path, ("clip", 1, None, price), tax_percent=percent)["tax"] == tax


@pytest.mark.parametrize(("worth", "cost"), [(0, "1.20"), (0.5, "1.10"), (1, "1.00")])
def test_left_over_cable_is_credited(tmp_path: Path, worth: float, cost: str) -> None:
    """2.5 m of 3 m at 0.40: the half metre left is worth 0.20 at its full price."""
    answer = quoted(tmp_path, {"leftover_worth": worth}, length=2.5, prices=[METRES])
    assert costs(answer)[CABLE] == (cost, cost)


def test_left_over_parts_are_not_credited(tmp_path: Path) -> None:
    """One ring of a pack of ten at 1.10."""
    answer = quoted(
        tmp_path,
        {"leftover_worth": 1},
        prices=[METRES, ("A", RING, None, None, "pack", 10, 1.10)],
        Extras=[(RING, 1)],
    )
    assert costs(answer)[RING] == ("1.10", "1.10")


def test_delivery_is_a_line_with_the_markup(tmp_path: Path) -> None:
    """Postage of 4.00 at 25 %: 5.00; a supplier that posts free has no line."""
    prices = [METRES, ("B", RING, None, None, "each", None, 1.00)]
    answer = quoted(
        tmp_path,
        {"markup_percent": 25},
        prices=prices,
        suppliers=[("A", 4.00), ("B", 0)],
        Extras=[(RING, 1)],
    )
    posted = {item: c for item, c in costs(answer).items() if item.startswith("delivery")}
    assert posted == {"delivery, A": ("4.00", "5.00")}


def test_extras_of_one_item_are_one_line_and_paid_once(tmp_path: Path) -> None:
    """1 at 2.00 and 2 at 3.00: three for 8.00."""
    answer = extras(tmp_path, ("glass", 1, None, 2.00), ("glass", 2, None, 3.00), tax_percent=0)
    found = [(n["quantity"], n["cost"]) for n in answer["lines"] if n["item"] == "glass"]
    assert found == [(3, "8.00")]
    assert answer["total"] == "8.00"


def test_an_extra_of_a_counted_item_is_paid_once(tmp_path: Path) -> None:
    """One fuse and its wire, five more fuses as an extra: six at 0.25."""
    fuse = "blade fuse, 5 A"
    path = book(
        workshop(tmp_path, prices=[("A", fuse, None, None, "each", None, 0.25)]),
        "jobs/job.xlsx",
        Job=[("item", "value"), ("fuse_spares", 0)],
        Circuits=[
            ("from", "to", "colour", "gauge", "length", "fuse", "from end", "to end"),
            ("battery", "lamp", "red", "1.0", 1, "main", "bare", "bare"),
        ],
        Fuses=[("fuse", "rating"), ("main", 5)],
        Extras=[("item", "qty"), (fuse, 5)],
    )
    answer = quote_out(*quote_for(path))
    found = [(n["quantity"], n["cost"]) for n in answer["lines"] if n["item"] == fuse]
    assert found == [(6, "1.50")]


# --------------------------------------------------------------------------- incomplete


def test_an_unpriced_line_makes_the_quote_incomplete(tmp_path: Path) -> None:
    """The clip stands in the estimate without a cost."""
    answer = quoted(tmp_path, prices=[METRES], Extras=[("clip", 1)])
    assert answer["complete"] is False
    assert costs(answer)["clip"] == (None, "0.00")
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
    answer = quoted(tmp_path, prices=[METRES])
    assert answer["labour"] == "0.00"
    assert any("no hourly rate" in p["says"] for p in answer["problems"])


# ------------------------------------------------------------------------------- labour


def test_labour_rows_are_charged_by_the_hour(tmp_path: Path) -> None:
    """3 x 0.75 h at 42.00 = 94.50; 0.1 h = 4.20; no markup on labour."""
    rows = [("task", "qty", "hours"), ("strip out", 3, 0.75), ("photographs", None, 0.1)]
    rules = {"hourly_rate": 42, "markup_percent": 100}
    answer = quoted(tmp_path, rules, prices=[METRES], Labour=rows)
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
    head = ("from", "to", "from end", "to end", "colour", "gauge", "length", "qty", "fuse")
    path = book(
        workshop(tmp_path),
        "jobs/job.xlsx",
        Job=[("item", "value"), ("hourly_rate", 60)],
        Circuits=[
            head,
            ("battery:+", "joint", "ring M6", "splice", "red", "1.0", 1, None, "main"),
            ("joint", "lamp:1", "splice", "bullet joint", "red", "1.0", 1, None, None),
            ("lamp:2", "post:1", "sealed 1.5", "ring M6", "black", "1.0", 1, 2, None),
        ],
        Fuses=[("fuse", "rating"), ("main", 5)],
    )
    assert minutes(path) == {
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


@pytest.mark.parametrize(
    ("third", "breakouts"),
    [("c", "3.00"), ("b", None)],
)
def test_a_breakout_is_where_three_branches_with_wires_meet(
    tmp_path: Path, third: str, breakouts: str | None
) -> None:
    """Branches to a, b, c and d meet at m; no wire runs to d, nor to c in the second job."""
    head = ("from", "to", "from end", "to end", "colour", "gauge")
    rows = [("a:1", "b:1"), ("a:2", f"{third}:2")]
    path = book(
        workshop(tmp_path),
        "jobs/job.xlsx",
        Job=[("item", "value"), ("hourly_rate", 60)],
        Circuits=[head, *((*row, "bare", "bare", "red", "1.0") for row in rows)],
        Loom=[
            ("from", "to", "length", "exposure"),
            ("a", "m", 1.0, "hidden"),
            ("m", "b", 0.5, "weather"),
            ("m", "c", 0.4, "show"),
            ("m", "d", 0.3, "hidden"),
        ],
    )
    found = minutes(path)
    assert found.get("breakout") == breakouts
    shows = third == "c"
    assert found["wrap"] == "6.00"  # 1.0 m x 6; nothing for the empty branch
    assert found["tube"] == ("2.70" if shows else "1.50")  # 0.5 m, and 0.4 m under the braid, x 3
    assert found.get("braid") == ("2.00" if shows else None)  # 0.4 m x 5
    assert found.get("shrink") == ("2.00" if shows else None)  # both ends of the braid


def test_a_plug_in_the_loom_is_assembled_and_not_fitted(tmp_path: Path) -> None:
    """Two housings at 2 minutes; the box and the lamp are fitted."""
    head = ("from", "to", "from end", "to end", "colour", "gauge", "length")
    path = book(
        workshop(tmp_path),
        "jobs/job.xlsx",
        Job=[("item", "value"), ("hourly_rate", 60)],
        Circuits=[
            head,
            ("box:1", "plug:1", "bare", "multiway 2.8", "red", "1.0", 1),
            ("plug:1", "lamp:1", "multiway 2.8", "bare", "red", "1.0", 1),
        ],
        Components=[("component", "passes"), ("plug", "pin to pin")],
    )
    found = minutes(path)
    assert (found["housing"], found["crimp"], found["fit"]) == ("4.00", "2.00", "20.00")


def test_the_sum_of_the_lines_is_the_quote(tmp_path: Path) -> None:
    """Materials and labour are sums of rounded lines, and net their sum."""
    path = job(
        workshop(tmp_path, prices=[METRES], suppliers=[("A", 3.95)]),
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
