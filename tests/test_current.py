"""Currents, returns and fuses: each rule of the contract as a small machine, by hand."""

from collections import defaultdict
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.job import open_job
from tests.books import book, checked, says, wire
from tests.test_cli import JOBS

HEAD = (
    "wire",
    "circuit",
    "from",
    "to",
    "colour",
    "gauge",
    "load",
    "fuse",
    "one of",
    "length",
    "qty",
)
COMPONENTS = ("component", "load", "passes", "one of")


def machine(
    folder: Path,
    *rows: str,
    components: tuple[tuple[Any, ...], ...] = (),
    fuses: Any = (),
    **job: Any,
) -> dict[str, Any]:
    """Check a machine of rows such as `1: battery:+ > lamp:1 | 5 W | main | beam`."""
    circuits = []
    for row in rows:
        label, _, rest = row.partition(": ")
        ends, *cells = (part.strip() for part in rest.split("|"))
        start, _, finish = ends.partition(" > ")
        load, fuse, word, qty = (*cells, "", "", "", "")[:4]
        circuits.append(
            (
                label,
                f"c{label}",
                start,
                finish,
                "red",
                "2.0",
                load or None,
                fuse or None,
                word or None,
                1,
                qty or None,
            )
        )
    sheets: dict[str, Any] = {"Circuits": [HEAD, *circuits]}
    if components:
        sheets["Components"] = [COMPONENTS, *((*c, None, None, None)[:4] for c in components)]
    if fuses:
        sheets["Fuses"] = [("fuse", "rating"), *fuses]
    if job:
        sheets["Job"] = list(job.items())
    return checked(book(folder, **sheets))


def amps(answer: dict[str, Any]) -> dict[str, float]:
    """Amps by wire, to four decimals."""
    return {row["wire"]: round(row["amps"], 4) for row in answer["wires"]}


def fuses_of(answer: dict[str, Any]) -> dict[str, float | None]:
    """Fuse ratings by wire."""
    return {row["wire"]: row["fuse"] for row in answer["wires"]}


LAMP = (("lamp", "60 W"),)


def test_a_blank_load_is_the_components_and_the_return_carries_it(tmp_path: Path) -> None:
    """60 W / 12 V = 5 A from the battery through the switch to the lamp and back."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > lamp:1",
        "3: lamp:2 > earth",
        "4: earth > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5, "4": 5}
    # 5 A / 0.75 = 6.67 -> 7.5 A, inherited; returns have none
    assert fuses_of(answer) == {"1": 7.5, "2": 7.5, "3": None, "4": None}


def test_what_is_looped_on_from_the_same_pin_is_carried_too(tmp_path: Path) -> None:
    """Lamp and lamp: the first feed carries both, the second wire only the second lamp."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | | main",
        "2: lamp:1 > plate:1",
        "3: plate:2 > lamp:2",
        "4: lamp:2 > battery:-",
        components=(("lamp", "5 A"), ("plate", "1 A")),
    )
    # 3 is an earth chained from lamp to lamp: from its pin only returns start
    assert amps(answer) == {"1": 6, "2": 1, "3": 1, "4": 6}
    assert fuses_of(answer)["3"] is None


def test_a_ring_counts_each_load_once(tmp_path: Path) -> None:
    """Fuse box, switch, and back to the fuse box: the lamp behind it is reckoned once."""
    answer = machine(
        tmp_path,
        "1: battery:+ > fuse box:in | | main",
        "2: fuse box:a > switch:in",
        "3: switch:out > fuse box:b",
        "4: fuse box:c > lamp:1",
        "5: lamp:2 > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5, "4": 5, "5": 5}
    assert fuses_of(answer)["4"] == 7.5


def test_two_ways_to_one_lamp_count_once(tmp_path: Path) -> None:
    """Two switches in parallel: each may carry it all, the feed carries it once."""
    answer = machine(
        tmp_path,
        "1: battery:+ > splice | | main",
        "2: splice > front switch",
        "3: splice > rear switch",
        "4: front switch > lamp:1",
        "5: rear switch > lamp:1",
        "6: lamp:2 > battery:-",
        components=LAMP,
    )
    assert set(amps(answer).values()) == {5}


def test_parallel_earths_each_carry_all(tmp_path: Path) -> None:
    """The safe side: either earth may have to carry it alone."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | | main",
        "2: lamp:2 > earth",
        "3: lamp:3 > earth",
        "4: earth > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5, "4": 5}


def test_a_typed_load_replaces_the_components_for_feed_and_return(tmp_path: Path) -> None:
    """55 W on the Components sheet, 10 A typed on the row: 10 A there and back."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > lamp:1 | 10 A",
        "3: lamp:2 > battery:-",
        components=(("lamp", "55 W"),),
    )
    assert amps(answer) == {"1": 10, "2": 10, "3": 10}


def test_loads_typed_on_rows_need_no_components(tmp_path: Path) -> None:
    """Two filaments of a lamp without a row: the earth carries both."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > tail lamp:58 | 5 W",
        "3: switch > tail lamp:54 | 21 W",
        "4: tail lamp:31 > earth",
        "5: earth > battery:-",
    )
    assert amps(answer) == {
        "1": round(26 / 12, 4),
        "2": round(5 / 12, 4),
        "3": 1.75,
        "4": round(26 / 12, 4),
        "5": round(26 / 12, 4),
    }


def test_a_load_typed_on_an_earth_is_a_return(tmp_path: Path) -> None:
    """Someone who types the load in every row, the earths too, gets the same currents."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp | 60 W | main",
        "2: lamp > frame earth | 60 W",
        "3: frame earth > battery:- | 60 W",
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5}
    assert fuses_of(answer) == {"1": 7.5, "2": None, "3": None}


def test_a_lamp_fed_through_another_lamps_row_is_cautioned(tmp_path: Path) -> None:
    """A typed load stands for everything beyond it."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | 5 A | main",
        "2: lamp:1 > plate:1",
        "3: lamp:2 > battery:- 1",
        "4: plate:2 > battery:- 2",
        components=(("lamp", "5 A"), ("plate", "1 A")),
    )
    assert amps(answer)["1"] == 5
    assert any(
        cell == "G2" and "stands for all beyond it" in text for _, cell, text in says(answer)
    )


@pytest.mark.parametrize("battery", ["battery", "Battery", "battery +", "battery 2", "battery:- 1"])
def test_what_comes_to_a_battery_feeds_nothing(tmp_path: Path, battery: str) -> None:
    """A wire to the battery is a return, whatever else starts there."""
    answer = machine(
        tmp_path,
        "1: battery:out > lamp:1 | | main",
        f"2: lamp:2 > {battery}",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5}
    assert fuses_of(answer)["2"] is None


def test_a_battery_box_is_no_battery(tmp_path: Path) -> None:
    """After the first word only a pole or a number may follow: a box passes current on."""
    answer = machine(
        tmp_path,
        "1: battery:+ > battery box:in | | main",
        "2: battery box:out > lamp:1",
        "3: lamp:2 > battery:-",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5}
    assert fuses_of(answer)["2"] == 7.5


def test_a_machine_without_a_battery_starts_at_its_magneto(tmp_path: Path) -> None:
    """Magneto to lamp and back: what comes to the magneto feeds nothing further."""
    answer = machine(
        tmp_path,
        "1: magneto:lights > lamp:1 | | none",
        "2: lamp:2 > magneto:earth",
        components=LAMP,
    )
    assert amps(answer) == {"1": 5, "2": 5}


def test_coil_to_points_is_a_return(tmp_path: Path) -> None:
    """The coil's load comes back through the points, and through a switch that earths."""
    answer = machine(
        tmp_path,
        "1: battery:+ > coil:+ | | ignition",
        "2: coil:- > points",
        "3: points > kill switch",
        "4: kill switch > battery:-",
        components=(("coil", "4 A"),),
    )
    assert amps(answer) == {"1": 4, "2": 4, "3": 4, "4": 4}
    assert [fuses_of(answer)[label] for label in "234"] == [None, None, None]


RELAY = (("relay", "0.5 A", "30 > 87"), ("lamp", "60 W"))


def test_a_relay_passes_at_its_contacts_and_keeps_its_coil(tmp_path: Path) -> None:
    """`30 > 87`: the contacts carry the lamp, 86 and 85 the coil alone."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > relay:30 | | lamp",
        "2: relay:87 > lamp:1",
        "3: battery:+ 2 > relay:86 | | coil",
        "4: relay:85 > earth:1",
        "5: lamp:2 > earth:2",
        "6: earth:3 > battery:-",
        components=RELAY,
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 0.5, "4": 0.5, "5": 5, "6": 5.5}
    assert fuses_of(answer)["2"] == 7.5


def test_passes_with_names_that_hold_spaces_and_chains(tmp_path: Path) -> None:
    """`lights > dip main, turn in > left right`; `a > b, b > c` passes a to c."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > cluster:lights | | lights",
        "2: battery:+ 2 > cluster:turn in | | turn",
        "3: cluster:dip main > chain:a",
        "4: chain:c > head:1",
        "5: cluster:left > front left:1",
        "6: cluster:right > front right:1",
        "7: battery:+ 3 > cluster:spare | | spare",
        components=(
            ("cluster", None, "lights > dip main, turn in > left right"),
            ("chain", None, "a > b, b > c"),
            ("head", "5 A"),
            ("front left", "2 A"),
            ("front right", "2 A"),
        ),
    )
    found = amps(answer)
    # an unnamed pin of a component that passes something and has no load passes nothing
    assert (found["1"], found["2"], found["7"]) == (5, 4, 0)


def test_a_load_that_no_wire_comes_to_is_told(tmp_path: Path) -> None:
    """A flasher of two pins, both named: its own 0.05 A would be forgotten in silence."""
    answer = machine(
        tmp_path,
        "1: battery:+ > flasher:49 | | turn",
        "2: flasher:49a > lamp:1",
        components=(("flasher", "0.05 A", "49 > 49a"), ("lamp", "2 A")),
    )
    assert amps(answer) == {"1": 2, "2": 2}
    assert any("the load of flasher is in no current" in text for _, _, text in says(answer))


def test_a_plug_passes_pin_to_pin(tmp_path: Path) -> None:
    """Each pin of a plug goes on by itself."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > plug:1 | | a",
        "2: battery:+ 2 > plug:2 | | b",
        "3: plug:1 > lamp:1",
        "4: plug:2 > horn:1",
        components=(("plug", None, "pin to pin"), ("lamp", "5 A"), ("horn", "3 A")),
    )
    assert amps(answer) == {"1": 5, "2": 3, "3": 5, "4": 3}


# ------------------------------------------------------------------------------- one of


def test_never_on_together_counts_the_larger(tmp_path: Path) -> None:
    """Main 5 A and dip 4 A, each row a choice of its own: the feed and the earth carry 5 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > dip switch | | main",
        "2: dip switch > headlamp:56a | 5 A | | beam",
        "3: dip switch > headlamp:56b | 4 A | | beam",
        "4: headlamp:31 > battery:-",
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 4, "4": 5}


def test_choices_with_a_name_are_on_together(tmp_path: Path) -> None:
    """turn:left 2 + 2 A, turn:right 2 + 1 A: the feed carries the larger side, 4 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > flasher | | turn",
        "2: flasher > front left:1 | 2 A | | turn:left",
        "3: flasher > rear left:1 | 2 A | | turn:left",
        "4: flasher > front right:1 | 2 A | | turn:right",
        "5: flasher > rear right:1 | 1 A | | turn:right",
    )
    assert amps(answer)["1"] == 4


def test_the_same_word_further_on_does_not_count_again(tmp_path: Path) -> None:
    """A feed with the word covers all it feeds: both lamps are on together."""
    answer = machine(
        tmp_path,
        "1: battery:+ > switch | | main",
        "2: switch > splice | | | beam:main",
        "3: splice > lamp:1 | | | beam:other",
        "4: splice > tell-tale:1",
        components=(("lamp", "5 A"), ("tell-tale", "1 A")),
    )
    assert amps(answer)["1"] == 6


def test_one_way_without_a_word_can_always_be_on(tmp_path: Path) -> None:
    """The lamp is fed by dip and by a pass button without the word: 4 + 5 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > splice | | main",
        "2: splice > lamp:1 | | | beam",
        "3: splice > button",
        "4: button > lamp:1",
        "5: splice > other:1 | | | beam",
        components=(("lamp", "5 A"), ("other", "4 A")),
    )
    assert amps(answer)["1"] == 9


def test_a_components_word_does_not_cover_what_is_looped_on(tmp_path: Path) -> None:
    """`stop` is a choice of its own lamp; the plate lamp looped on from its pin is not."""
    answer = machine(
        tmp_path,
        "1: battery:+ > splice | | main",
        "2: splice > stop:1",
        "3: stop:1 > plate:1",
        "4: splice > reverse:1",
        components=(
            ("stop", "2 A", None, "gear"),
            ("plate", "1 A"),
            ("reverse", "5 A", None, "gear"),
        ),
    )
    # gear: the larger of 2 and 5 A; plate always
    assert amps(answer)["1"] == 6


def test_a_word_on_three_loads_belongs_on_the_feeds(tmp_path: Path) -> None:
    """Four indicators with `turn` and no choice: only one is reckoned on, so say so."""
    answer = machine(
        tmp_path,
        "1: battery:+ > flasher | | turn",
        *(f"{n}: flasher > lamp {n}:1 | 2 A | | turn" for n in "2345"),
    )
    assert any("only one is reckoned on" in text for _, _, text in says(answer, "caution"))


# -------------------------------------------------------------------------------- fuses


def test_feeds_behind_two_fuses_have_none(tmp_path: Path) -> None:
    """Two feeds that disagree, or one without a fuse: null, and a caution."""
    answer = machine(
        tmp_path,
        "1: battery:+ 1 > splice | | a",
        "2: battery:+ 2 > splice | | b",
        "3: splice > lamp:1",
        components=LAMP,
    )
    assert fuses_of(answer)["3"] is None
    assert any(
        cell == "H4" and "more than one fuse: a, b" in text for _, cell, text in says(answer)
    )


def test_a_feed_without_a_fuse_is_disagreement(tmp_path: Path) -> None:
    """A charging wire without a fuse comes to the same junction: null, and both are named."""
    answer = machine(
        tmp_path,
        "1: battery:+ > junction | | main",
        "2: regulator:out > junction | 15 A",
        "3: junction > lamp:1",
        components=(("regulator", None, "none"), ("lamp", "5 A")),
    )
    assert fuses_of(answer)["3"] is None
    cells = {cell: text for _, cell, text in says(answer) if cell.startswith("H")}
    assert cells["H3"] == "wire 2 is a feed with no fuse on it"
    assert cells["H4"] == "wire 3 is fed from behind main, and by a wire without a fuse"


def test_a_regulators_earth_is_a_return(tmp_path: Path) -> None:
    """A load typed on it says what it carries; it is no charging feed and wants no fuse."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp:1 | 5 A | main",
        "2: lamp:2 > battery:- 1",
        "3: regulator:earth > battery:- 2 | 8 A",
        components=(("regulator", None, "none"),),
    )
    assert amps(answer)["3"] == 8
    assert fuses_of(answer)["3"] is None
    assert not [cell for _, cell, _ in says(answer) if cell == "H4"]


def test_a_fuse_that_feeds_fuses_is_the_smallest_from_its_load(tmp_path: Path) -> None:
    """Main feeds two fuses of 5 A each: 10 A, and not 10 / 0.75 = 13.3 -> 15 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > fuse box | | main",
        "2: fuse box > lamp:1 | 5 A | left",
        "3: fuse box > lamp:2 | 5 A | right",
    )
    assert fuses_of(answer) == {"1": 10, "2": 7.5, "3": 7.5}


def test_ratings_compare_exactly(tmp_path: Path) -> None:
    """0.1 + 0.2 + 0.3 + 0.15 A are 0.75 A: a 1 A fuse at 75 %, not 2 A."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box | | small",
        "2: box > a:1 | 0.1 A",
        "3: box > b:1 | 0.2 A",
        "4: box > c:1 | 0.3 A",
        "5: box > d:1 | 0.15 A",
    )
    assert fuses_of(answer)["1"] == 1


@pytest.mark.parametrize(("rating", "level"), [(4, "error"), (5, "caution"), (7.5, None)])
def test_typed_ratings(tmp_path: Path, rating: float, level: str | None) -> None:
    """5 A: on 4 A an error, on 5 A over 75 %, on 7.5 A nothing."""
    answer = machine(
        tmp_path,
        "1: battery:+ > lamp | 5 A | main",
        "2: lamp > battery:-",
        fuses=[("main", rating)],
    )
    found = [p["level"] for p in answer["problems"] if p["sheet"] == "Fuses"]
    assert found == ([level] if level else [])


def test_a_load_over_the_largest_fuse_is_an_error(tmp_path: Path) -> None:
    """No blade fuse carries 45 A."""
    answer = machine(tmp_path, "1: battery:+ > lamp | 45 A | main")
    assert any("no rating is large enough" in text for _, _, text in says(answer, "error"))


def test_charging_is_left_out_of_a_fuses_load(tmp_path: Path) -> None:
    """The regulator's typed 15 A comes in behind the same fuse and is no load of it."""
    answer = machine(
        tmp_path,
        "1: battery:+ > junction | | main",
        "2: regulator:out > junction | 15 A | main",
        "3: junction > lamp:1",
        components=(("regulator", None, "none"), ("lamp", "5 A")),
    )
    assert fuses_of(answer) == {"1": 7.5, "2": 7.5, "3": 7.5}


def test_wires_in_quantity(tmp_path: Path) -> None:
    """Two wires of 3 A each: amps for one, the feed carries both."""
    answer = machine(
        tmp_path,
        "1: battery:+ > box | | main",
        "2: box > lamp | 3 A | | | 2",
    )
    assert amps(answer) == {"1": 6, "2": 3}


def test_no_load_either_way_is_cautioned_unless_the_gauge_is_typed(tmp_path: Path) -> None:
    """0 A keeps the smallest gauge and says so."""
    head = ("from", "to", "colour", "gauge", "length")
    rows = [("a:1", "b:1", "red", None, 1), ("a:2", "b:2", "blue", "1.0", 1)]
    answer = checked(book(tmp_path, Circuits=[head, *rows]))
    assert wire(answer, "W1")["gauge"] == "0.5"
    assert [cell for _, cell, text in says(answer) if "0 A" in text] == ["A2"]


# --------------------------------------------------------------------------------- laws


def test_kirchhoff_on_the_twin() -> None:
    """At each joint with one feed in, no word and no second way: amps in are amps out."""
    job = open_job(JOBS / "twin.xlsx")
    assert job.net
    assert job.sized
    assert job.currents
    always = {load for load, ways in job.currents.ways.items() if ways == {frozenset()}}
    entries = [entry.loaded for entry in job.sized.wires]
    seen = 0
    for point in job.net.pins:
        if job.net.passing(point) != "all" or point in job.net.sources:
            continue
        into = [e for e in entries if e.wire.finish.point == point and not e.is_return]
        out = [e for e in entries if e.wire.start.point == point and not e.is_return]
        loads = [load for e in out for load in e.loads]
        once = len(loads) == len(set(loads))
        if len(into) == 1 and out and once and always.issuperset(loads):
            assert into[0].amps == sum((e.amps for e in out), Fraction(0)), point
            seen += 1
    assert seen >= 2


@settings(max_examples=40, deadline=None)
@given(parents=st.lists(st.integers(0, 50), min_size=2, max_size=14), data=st.data())
def test_kirchhoff_on_random_feed_trees(
    tmp_path_factory: pytest.TempPathFactory, parents: list[int], data: st.DataObject
) -> None:
    """Battery, splices, lamps, earth: amps in are amps out, and row order is free."""
    folder = tmp_path_factory.mktemp("tree")
    rows: list[str] = []
    expected: dict[str, int] = defaultdict(int)
    nodes = [-1, *(min(p, n) for n, p in enumerate(parents))]
    children = set(nodes[1:])
    rows.append("w0: battery:+ > n0 | | main")
    for n, parent in enumerate(nodes[1:], start=1):
        rows.append(f"w{n}: n{parent} > n{n}" if n in children else f"w{n}: n{parent} > n{n}:1")
    loads = {n: data.draw(st.integers(1, 9)) for n in range(len(nodes)) if n not in children}
    for n, load in loads.items():
        rows.append(f"e{n}: n{n}:2 > earth")
        at = n
        while at >= 0:
            expected[f"w{at}"] += load
            at = nodes[at]
        expected[f"e{n}"] += load
    rows.append("back: earth > battery:-")
    expected["back"] = sum(loads.values())
    order = data.draw(st.permutations(rows))
    components = tuple((f"n{n}", f"{load} A") for n, load in loads.items())
    path = [row.split(": ", 1) for row in order]
    circuits = [
        (
            label,
            label,
            ends.split(" > ")[0],
            ends.split("|")[0].split(" > ")[1].strip(),
            "red",
            "35.0",
            None,
            "main" if label == "w0" else None,
            None,
            1,
            None,
        )
        for label, ends in path
    ]
    job = open_job(
        book(
            folder,
            Circuits=[HEAD, *circuits],
            Components=[COMPONENTS, *((*c, None, None) for c in components)],
        )
    )
    found = {entry.wire.label: int(entry.loaded.amps) for entry in job.sized.wires}  # type: ignore[union-attr] # sound
    assert found == dict(expected)
