"""The ends on the bench sheets: what is fitted there is what is counted, bought and charged."""

from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from bom.estimate import Bought, quote_for
from bom.show.paper import pdf
from bom.show.paper.bench import bench_sheet
from bom.show.paper.loom import DrawnLoom
from tests.books import book
from tests.shops import workshop
from tests.test_papers import assert_whole, text_of, ticks
from tests.within import JOBS, SAMPLES

HEAD = ("wire", "from", "to", "colour", "gauge", "fuse", "length")


def bought_for(folder: Path, rows: list[tuple[Any, ...]], **sheets: Any) -> Bought:
    """A job with bare ends but for those that its components say."""
    path = book(
        workshop(folder) / "jobs",
        "ends.xlsx",
        Job=[("item", "value"), ("end", "bare"), ("hourly_rate", 0)],
        Circuits=[HEAD, *rows],
        **sheets,
    )
    bought, estimate = quote_for(path)
    assert estimate is not None, [str(problem) for problem in bought.problems]
    return bought


def sheet(bought: Bought) -> dict[str, Any]:
    """The bench sheet as data, without the loom."""
    return bench_sheet(bought, DrawnLoom([], [], []))


def in_key(shown: dict[str, Any], *parts: str) -> Counter[str]:
    """How many of each item the key comes to."""
    found = Counter[str]()
    for row in (row for part in parts for row in shown[part]):
        for item in filter(None, (row["terminal"], row["first-on"])):
            found[item] += int(row["count"]) * (not is_shrink(item))
    return +found


def is_shrink(item: str) -> bool:
    """Bought by its length, not one by one."""
    return "shrink" in item


def shrink_in_key(shown: dict[str, Any]) -> Counter[str]:
    """How many pieces of each shrink the key comes to."""
    found = Counter[str]()
    for row in (*shown["ends"], *shown["leads"]):
        found[row["first-on"]] += int(row["count"]) * is_shrink(row["first-on"])
    return found


def in_takeoff(bought: Bought) -> Counter[str]:
    """How many of each are counted, without spares; plugs for ways without a wire are no ends."""
    takeoff = bought.jobs[0].takeoff
    assert takeoff
    kinds = ("terminal", "cover", "seal", "splice")
    return Counter(
        {
            need.item: int(need.counted or 0)
            for need in takeoff.needs
            if need.kind in kinds and "cavity" not in need.item
        }
    )


def one_fuse(folder: Path, end: str) -> Bought:
    """A lamp of 60 W behind a fuse that is named at its wire, and hangs in it."""
    rows = [
        ("F1", "battery:+", "switch:in", "red", "1.0", "main", 1),
        ("F2", "switch:out", "lamp:feed", "red", "1.0", None, 1),
        ("E1", "lamp:earth", "battery:-", "black", "1.0", None, 1),
    ]
    parts = [
        ("component", "load", "passes", "end"),
        ("lamp", "60 W", None, end),
        ("switch", None, "in > out", None),
    ]
    return bought_for(folder, rows, Components=parts, Fuses=[("fuse", "rating"), ("main", 10)])


@pytest.mark.parametrize("name", SAMPLES)
def test_the_key_of_a_sample_adds_up_to_what_is_counted(name: str) -> None:
    """Terminals, covers, seals and splices: each item as often as take-off and labour have it."""
    bought, _ = quote_for(JOBS / f"{name}.xlsx")
    shown, takeoff = sheet(bought), bought.jobs[0].takeoff
    counted = in_takeoff(bought)
    assert in_key(shown, "ends", "leads") == counted
    assert takeoff
    done = {what: takeoff.counts[what] for what in ("crimp", "cover", "splice")}
    assert sum(done.values()) == sum(n for item, n in counted.items() if "seal," not in item)


def test_what_goes_on_the_leads_of_a_lamp_stands_in_the_key(tmp_path: Path) -> None:
    """Two wires at a lamp with bullet joints: two sockets of ours, two bullets on its leads."""
    bought = one_fuse(tmp_path, "bullet joint")
    shown = sheet(bought)
    own = {"bullet terminal, female, 0.5-1.0 mm2": 2, "bullet cover, female": 2}
    leads = {"bullet terminal, male, 0.5-1.0 mm2": 2, "bullet cover, male": 2}
    (splice,) = in_takeoff(bought).keys() - {*own, *leads}
    assert in_key(shown, "ends") == {**own, splice: 2}
    assert in_key(shown, "leads") == leads
    assert {row["letter"] for row in shown["leads"]} == {""}


def test_a_plug_half_without_wires_of_ours_is_on_the_leads(tmp_path: Path) -> None:
    """Two wires come to a plug and none goes on: its other half is what is fitted's."""
    rows = [
        ("F1", "battery:+", "plug:1", "red", "1.0", None, 1),
        ("F2", "battery:+", "plug:2", "red", "1.0", None, 1),
    ]
    parts = [("component", "load", "passes", "end"), ("plug", None, "pin to pin", "multiway 2.8")]
    bought = bought_for(tmp_path, rows, Components=parts)
    shown, item = sheet(bought), "contact for multi-way housing, 2.8 mm, {}, 0.5-1.0 mm2"
    assert in_key(shown, "ends") == {item.format("female"): 2}
    assert in_key(shown, "leads") == {item.format("male"): 2}


def test_a_fuse_holder_stands_at_its_wire(tmp_path: Path) -> None:
    """With the two splices it is cut in by; at a point of its own its wires have them already."""
    bought = one_fuse(tmp_path, "ring M4")
    shown = sheet(bought)
    (letter,) = (row["letter"] for row in shown["ends"] if "splice" in row["terminal"])
    says = "fuse main, 10 A: in-line fuse holder, blade, cut into this wire within 300 mm of the "
    says += f"battery: 2 x {letter} splice, shrink first, strip 8 mm"  # main_fuse_mm; ends.csv
    assert [wire["holder"] for wire in shown["wires"]] == [says, None, None]
    bench = pdf("bench", shown)
    assert says in text_of(bench)
    assert_whole({"bench": bench})
    assert in_key(shown, "ends", "leads") == in_takeoff(bought)
    # each splice under a piece of its own, which is on the wire before the splice is
    takeoff, each_mm = bought.jobs[0].takeoff, bought.jobs[0].rules.shrink_end_mm
    shrink = {n.item: n.quantity for n in (takeoff.needs if takeoff else ()) if n.kind == "shrink"}
    (item,) = shrink
    assert shrink_in_key(shown)[item] == 2 and shrink[item] == 2 * each_mm


def test_a_fuse_is_ticked_off_once(tmp_path: Path) -> None:
    """At the first wire behind it, by its name, and not at the second."""
    bench = pdf("bench", sheet(one_fuse(tmp_path, "ring M4")))
    boxed = {wire: has[3] for wire, has in ticks(bench).items()}
    assert boxed == {"F1": True, "F2": False, "E1": False}
    assert "main, 10 A" in text_of(bench)


def test_nothing_is_expected_that_nobody_can_measure(tmp_path: Path) -> None:
    """0.6 W at 12 V are 0.05 A, 1.2 W are 0.1 A."""
    rows = [
        ("F1", "battery:+", "small:feed", "red", "1.0", None, 1),
        ("F2", "battery:+", "large:feed", "red", "1.0", None, 1),
    ]
    parts = [("component", "load"), ("small", "0.6 W"), ("large", "1.2 W")]
    tests = sheet(bought_for(tmp_path, rows, Components=parts))["tests"]
    assert [test["amps"] for test in tests] == ["", "0.10 A"]
