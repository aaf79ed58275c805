"""The electrical judgement: nineteen points found wrong on small job books, each by hand."""

import re
from pathlib import Path
from typing import Any

import pytest

from bom.job import open_job
from bom.show.check_tables import check_tables
from bom.show.job_json import takeoff_out
from tests.books import COMPONENTS, FUSES, HEAD, amps, book, checked, fuses_of, says, wire

ENDS = ("from end", "to end")
RETURN = "battery:-"


def job_book(
    folder: Path,
    *rows: str,
    components: tuple[tuple[Any, ...], ...] = (),
    fuses: tuple[tuple[Any, ...], ...] = (),
    job: tuple[tuple[Any, ...], ...] = (),
) -> Path:
    """Make a book of rows such as `1 dip beam: battery:+ > lamp:1 | 1.0 | 55 W | main | 2 m`.

    The cells after the ends are gauge, load, fuse, length (blank: 1 m), one of, colour (blank:
    red), from end and to end; what follows the label is the circuit.
    """
    circuits = []
    for row in rows:
        name, _, rest = row.partition(": ")
        label, _, circuit = name.partition(" ")
        ends, *cells = (part.strip() for part in rest.split("|"))
        start, _, finish = ends.partition(" > ")
        gauge, load, fuse, length, word, colour, first, last = (*cells, *[""] * 8)[:8]
        places = (label, circuit, start, finish, colour or "red", gauge, load, fuse, word)
        circuits.append(tuple(c or None for c in (*places, length or "1 m", None, first, last)))
    sheets: dict[str, Any] = {"Circuits": [(*HEAD, *ENDS), *circuits]}
    if components:
        sheets["Components"] = [COMPONENTS, *((*c, None, None, None)[:4] for c in components)]
    if fuses:
        sheets["Fuses"] = [FUSES, *fuses]
    if job:
        sheets["Job"] = list(job)
    return book(folder, **sheets)


def check(folder: Path, *rows: str, **sheets: Any) -> dict[str, Any]:
    """What `bom check` says of such a book."""
    return checked(job_book(folder, *rows, **sheets))


def gauges(answer: dict[str, Any]) -> dict[str, str]:
    """Gauge by wire."""
    return {row["wire"]: row["gauge"] for row in answer["wires"]}


def levels(answer: dict[str, Any], cell: str) -> list[str]:
    """The levels of what is said at one cell of Circuits."""
    return [p["level"] for p in answer["problems"] if (p["sheet"], p["cell"]) == ("Circuits", cell)]


def texts(answer: dict[str, Any]) -> str:
    """All that is said, in one string."""
    return "\n".join(f"{text}; {p['try']}" for p in answer["problems"] for text in [p["says"]])


def parts(path: Path) -> dict[str, int]:
    """Quantities of the take-off by item, cable left out."""
    job = open_job(path)
    assert job.takeoff, [str(problem) for problem in job.problems]
    needs = takeoff_out(job)["needs"]
    return {need["item"]: need["quantity"] for need in needs if need["kind"] != "cable"}


# --------------------------------------------------------------------- 1, 2: starters


@pytest.mark.parametrize("end", ["", "lug M8"])
def test_1_starter_leads_are_battery_cable(tmp_path: Path, end: str) -> None:
    """100 A x sqrt(30) / 100 = 5.5 mm2 at the least, and the smallest battery cable is 16.

    Plus side 2 x 0.4 m (0.3 x 1.05 + 0.08 = 0.395): 0.8 x 1.21 mohm x 100 A = 0.10 of 0.20 V.
    """
    answer = check(
        tmp_path,
        f"1 starter: battery:+ > solenoid:in | | | none | 0.3 m | | | {end} | {end}",
        f"2 starter: solenoid:out > starter motor:1 | | | | 0.3 m | | | {end} | {end}",
        f"3 starter: starter motor:2 > engine earth | | | | 0.3 m | | black | {end} | {end}",
        f"4 starter: engine earth > {RETURN} | | | | 0.3 m | | black | {end} | {end}",
        components=(("solenoid", None, "in > out"), ("starter motor", "starter motor")),
    )
    assert gauges(answer) == dict.fromkeys("1234", "16.0")
    assert amps(answer) == dict.fromkeys("1234", 100)
    assert "0.5 would do" not in texts(answer)


@pytest.mark.parametrize(
    "circuit", ["cold start valve", "start button lamp", "fuel solenoid", "kick starter lamp"]
)
def test_2_no_circuit_is_spared_for_the_words_in_its_name(tmp_path: Path, circuit: str) -> None:
    """0.5 mm2 is rated 11 A; 30 A is over 1.25 x 11 = 13.75 A: an error, as is a load of 12 A."""
    rows = (
        f"1 {circuit}: battery:+ > unit:1 | 0.5 | 2 A | big",
        f"2 {circuit}: battery:+ > other unit:1 | 0.5 | 12 A | two",
        f"3 earth: unit:2 > {RETURN}",
        f"4 earth: other unit:2 > {RETURN} 2",
    )
    answer = check(tmp_path, *rows, fuses=(("big", 30), ("two", 15)))
    assert "error" in levels(answer, "F2")
    assert "error" in levels(answer, "F3")


# --------------------------------------------------------------------- 3 to 6: fuses


@pytest.mark.parametrize(
    ("load", "holder", "rating"),
    [("16 A", None, 25), ("35 A", "maxi holder", 50), ("35 A", "bolted strip holder", 50)],
)
def test_3_a_charging_wires_fuse(
    tmp_path: Path, load: str, holder: str | None, rating: float
) -> None:
    """16 / 0.75 = 21.3 -> 25 A; 35 / 0.75 = 46.7 -> 50 A where there is one."""
    answer = check(
        tmp_path,
        f"1 charging: regulator:+ > battery:+ | | {load} | charge",
        f"2 charging: regulator:- > {RETURN} | | | | | | black",
        components=(("regulator", None, "none"),),
        fuses=(("charge", None, holder),),
    )
    assert fuses_of(answer)["1"] == rating


def test_3_no_blade_fuse_is_large_enough(tmp_path: Path) -> None:
    """35 / 0.75 = 46.7 A, the largest blade fuse is 40 A: never 1 A, and it is an error."""
    answer = check(
        tmp_path,
        "1 charging: regulator:+ > battery:+ | | 35 A | charge",
        f"2 charging: regulator:- > {RETURN} | | | | | | black",
        components=(("regulator", None, "none"),),
    )
    assert fuses_of(answer)["1"] == 40
    assert levels(answer, "H2") == ["error"]


def test_4_a_charging_wire_into_the_main_fuse_block(tmp_path: Path) -> None:
    """Feeds of 8, 6 and 5 A are 19 A, more than 14 A of charging: 19 / 0.75 = 25.3 -> 30 A."""
    answer = check(
        tmp_path,
        "1 main: battery:+ > fuse block:in | | | main | 0.2 m",
        "2 charging: regulator:+ > fuse block:in | | 14 A | main",
        "3 lights: fuse block:a > light unit:1 | | 8 A | a",
        "4 ignition: fuse block:b > coil:1 | | 6 A | b",
        "5 rest: fuse block:c > other unit:1 | | 5 A | c",
        f"6 earth: light unit:2 > {RETURN} 1",
        f"7 earth: coil:2 > {RETURN} 2",
        f"8 earth: other unit:2 > {RETURN} 3",
        f"9 earth: regulator:- > {RETURN} 4",
        components=(("regulator", None, "none"),),
    )
    # a: 8 / 0.75 = 10.7 -> 15; b: 6 / 0.75 = 8 -> 10; c: 5 / 0.75 = 6.7 -> 7.5
    found = fuses_of(answer)
    assert [found[label] for label in "1345"] == [30, 15, 10, 7.5]
    assert amps(answer)["1"] == 19
    assert "0 A" not in re.findall(r"carries (\S+ A)", texts(answer))


def test_5_words_of_returns_behind_a_starter_relays_stud(tmp_path: Path) -> None:
    """Dip 55 W or main 60 W, never both: 60 / 12 = 5 A in the headlamp's earth."""
    answer = check(
        tmp_path,
        "1 starter cable: battery:+ > starter relay:B | | 110 A | none | 0.3 m",
        "2 main feed: starter relay:B > light switch:in | | | main | 0.2 m",
        "3 dip: light switch:d > headlamp:56b | | 55 W | | | beam:dip",
        "4 main beam: light switch:m > headlamp:56a | | 60 W | | | beam:main",
        f"5 earth: headlamp:31 > {RETURN} 1 | | | | | | black",
        "6 starter cable: starter relay:M > starter motor:1 | | 110 A | none | 0.3 m",
        f"7 starter cable: starter motor:2 > {RETURN} 2 | | | | 0.3 m | | black",
        components=(("starter relay", None, "B > M"),),
    )
    found = amps(answer)
    assert (found["2"], found["5"], found["7"]) == (5, 5, 110)


def test_6_a_main_fuse_over_a_larger_branch(tmp_path: Path) -> None:
    """5 + 1 A: 6 / 0.75 = 8 -> 10 A by its load, but the fuse of 15 A that it feeds blows first."""
    answer = check(
        tmp_path,
        "1 main: battery:+ > fuse box:in | | | main | 0.2 m",
        "2 one: fuse box:a > unit:1 | | 5 A | a",
        "3 two: fuse box:b > lamp:1 | | 1 A | b",
        f"4 earth: unit:2 > {RETURN} 1",
        f"5 earth: lamp:2 > {RETURN} 2",
        fuses=(("main", None), ("a", 15)),
    )
    assert fuses_of(answer)["1"] == 15


@pytest.mark.parametrize(
    ("first", "second", "ratings"),
    # 15 / 0.75 = 20, over 13.3 -> 15 and 6.7 -> 7.5; 6.3 / 0.75 = 8.4 -> 10, over 4.4 -> 5 and 4
    [("10 A", "5 A", (20, 15, 7.5)), ("3.3 A", "3 A", (10, 5, 4))],
)
def test_6_a_main_fuse_is_loaded_to_75_percent_too(
    tmp_path: Path, first: str, second: str, ratings: tuple[float, float, float]
) -> None:
    """A fuse that feeds fuses gets the same room as those behind it."""
    answer = check(
        tmp_path,
        "1 main: battery:+ > fuse box:in | | | main | 0.2 m",
        f"2 one: fuse box:a > unit:1 | | {first} | a",
        f"3 two: fuse box:b > lamp:1 | | {second} | b",
        f"4 earth: unit:2 > {RETURN} 1",
        f"5 earth: lamp:2 > {RETURN} 2",
    )
    found = fuses_of(answer)
    assert (found["1"], found["2"], found["3"]) == ratings


# --------------------------------------------------------------------- 7: two batteries


def test_7_batteries_in_parallel(tmp_path: Path) -> None:
    """The links are as thick as the starter's leads (110 A: 16 mm2), and red is no earth."""
    answer = check(
        tmp_path,
        "1 starter: battery 1:+ > starter motor:1 | | 110 A | none | 0.4 m",
        "2 starter: starter motor:2 > battery 1:- | | | | 0.4 m | | black",
        "3 link: battery 2:+ > battery 1:+ | | | none | 0.2 m",
        "4 link: battery 2:- > battery 1:- | | | none | 0.2 m | | black",
        "5 lights: battery 1:+ 2 > lamp:1 | | 21 W | lights",
        "6 earth: lamp:2 > battery 1:- 2 | | | | | | black",
    )
    found = gauges(answer)
    assert (found["1"], found["2"], found["3"], found["4"]) == ("16.0",) * 4
    assert amps(answer)["3"] == pytest.approx(110 + 1.75, abs=2)
    assert not [text for _, cell, text in says(answer) if cell == "E4"]


def test_7_batteries_in_series(tmp_path: Path) -> None:
    """120 W at 24 V are 5 A, in the link too; over 2.5 A it is 1.0 mm2 at the least."""
    answer = check(
        tmp_path,
        "1 lights: battery 2:+ > lamp:1 | | 120 W | lights",
        "2 earth: lamp:2 > battery 1:- | | | | | | black",
        "3 link: battery 1:+ > battery 2:- | | | none | 0.2 m",
        job=(("volts", 24),),
    )
    assert amps(answer) == {"1": 5, "2": 5, "3": 5}
    assert float(gauges(answer)["3"]) >= 1
    assert not [text for _, cell, text in says(answer) if cell == "E4"]


# --------------------------------------------------------------------- 8, 9: what burns


@pytest.mark.parametrize("cell", ["none", ""])
def test_8_a_main_fuse_far_from_the_battery(tmp_path: Path, cell: str) -> None:
    """2.7 m of wire lie before the fuse, 300 mm are the most."""
    answer = check(
        tmp_path,
        f"1 main: battery:+ > main fuse:in | 3.0 | | {cell} | 2.7 m",
        "2 main: main fuse:out > unit:1 | 3.0 | 10 A | main",
        f"3 earth: unit:2 > {RETURN} | 3.0 | | | | | black",
    )
    assert any("2700 mm" in text for _, at, text in says(answer, "caution") if at == "H2")


def test_9_thin_wire_behind_a_large_fuse(tmp_path: Path) -> None:
    """0.5 mm2 (11 A) behind 40 A, over 13.75 A: an error.  4.6 / 0.75 = 6.1 -> 7.5 A covers it."""
    answer = check(
        tmp_path,
        "1 lights: battery:+ > lamp:1 | 0.5 | 4.6 A | lights",
        f"2 earth: lamp:2 > {RETURN}",
        fuses=(("lights", 40),),
    )
    found = [(p["level"], p["try"]) for p in answer["problems"] if "behind a fuse" in p["says"]]
    assert found == [("error", "a fuse of 7.5 A")]


def test_9_no_smaller_fuse_would_do(tmp_path: Path) -> None:
    """9 / 0.75 = 12 -> 15 A, over the 11 A of 0.5 mm2: the thicker wire, 1.0 (16.5 A), is told."""
    answer = check(
        tmp_path,
        "1 rest: battery:+ > unit:1 | 0.5 | 9 A | rest",
        f"2 earth: unit:2 > {RETURN}",
        fuses=(("rest", 15),),
    )
    found = [(p["level"], p["try"]) for p in answer["problems"] if "behind a fuse" in p["says"]]
    assert [level for level, _ in found] == ["error"]
    assert found[0][1].startswith("gauge 1.0 ")


# --------------------------------------------------------------------- 10: what a load is


@pytest.mark.parametrize("at", ["component", "circuit"])
@pytest.mark.parametrize(
    ("name", "load", "volts"),
    # headlamps 0.3 in the plus lead; lamps to 15 W 0.6, over 15 W 0.9; all else 1.5
    [
        ("headlamps", "60 W", "0.30"),
        ("taillight", "15 W", "0.60"),
        ("stoplight", "21 W", "0.90"),
        ("winkers", "42 W", "0.90"),
        ("phone charging socket", "48 W", "1.50"),
        ("horn relay coil", "48 W", "1.50"),
    ],
)
def test_10_plurals_and_compounds(
    tmp_path: Path, name: str, load: str, volts: str, at: str
) -> None:
    """12 m of 0.5 mm2 lose more than any of the limits, which the caution names."""
    point, circuit = (name, "") if at == "component" else ("unit", name)
    answer = check(
        tmp_path,
        f"1 {circuit}: battery:+ > {point}:1 | 0.5 | {load} | f | 12 m",
        f"2 : {point}:2 > {RETURN} | 10.0 | | | 0.1 m",
        job=(("end", "bare"),),
    )
    assert re.findall(r"([\d.]+) V are allowed", texts(answer)) == [volts]


# --------------------------------------------------------------------- 11 to 14: currents


def test_11_two_typed_lamps_fed_on(tmp_path: Path) -> None:
    """30 / 12 = 2.5 A each: 5 A in the first feed and in the strap; 5 / 0.75 = 6.7 -> 7.5 A."""
    answer = check(
        tmp_path,
        "1 lamps: battery:+ > lamp a:1 | | 30 W | lamps",
        "2 lamps: lamp a:1 > lamp b:1 | | 30 W",
        "3 earth: lamp a:2 > frame earth:1",
        "4 earth: lamp b:2 > frame earth:1",
        f"5 earth: frame earth:1 > {RETURN}",
    )
    assert amps(answer) == {"1": 5, "2": 2.5, "3": 2.5, "4": 2.5, "5": 5}
    assert fuses_of(answer)["1"] == 7.5


def test_12_a_load_typed_twice_counts_once_for_charging(tmp_path: Path) -> None:
    """One lamp of 60 W, on Components and on its wire: 60 W of the 50 that there are."""
    answer = check(
        tmp_path,
        "1 headlamp: battery:+ > headlamp:1 | 1.0 | 60 W | f",
        f"2 earth: headlamp:2 > {RETURN} | 1.0",
        components=(("headlamp", "60 W"),),
        job=(("alternator_road_w", 50),),
    )
    (told,) = [text for sheet, _, text in says(answer) if sheet == "Job"]
    assert "the loads take 60 W" in told


def test_12_a_dynamos_earth_and_the_loads_in_one_strap(tmp_path: Path) -> None:
    """524 / 12 = 43.67 A of loads or 10 A of charging, never 53.67 A together."""
    answer = check(
        tmp_path,
        "1 lights: battery:+ > lamp:1 | | 524 W | f",
        "2 earth: lamp:2 > frame earth:1",
        "3 charging: dynamo:D > battery:+ 2 | | 10 A | charge",
        "4 earth: dynamo:E > frame earth:2",
        f"5 earth: frame earth:3 > {RETURN}",
        components=(("dynamo", None, "none"),),
    )
    assert amps(answer)["4"] == 10
    assert amps(answer)["5"] == round(524 / 12, 4)


@pytest.mark.parametrize(
    ("first", "second", "shares"),
    # blank: by halves; 1.0 and 2.0 mm2 (19.5 and 9.4 ohm/km): 10 x 9.4 / 28.9 = 3.2526 A
    [("", "", (5, 5)), ("1.0", "2.0", (3.2526, 6.7474)), ("2.0", "2.0", (5, 5))],
)
def test_13_earths_side_by_side(
    tmp_path: Path, first: str, second: str, shares: tuple[float, float]
) -> None:
    """10 A between the same two points share by 1 / (resistance x length)."""
    answer = check(
        tmp_path,
        "1 unit: battery:+ > unit:1 | | 10 A | f",
        f"2 earth: unit:2 > frame earth:1 | {first}",
        f"3 earth: unit:3 > frame earth:2 | {second}",
        f"4 earth: frame earth:3 > {RETURN}",
    )
    found = amps(answer)
    assert (found["2"], found["3"], found["4"]) == (*shares, 10)


def test_14_a_lamp_called_left_31(tmp_path: Path) -> None:
    """21 / 12 = 1.75 A in a feed; 1.75 / 0.75 = 2.3 -> 3 A."""
    answer = check(
        tmp_path,
        "1 indicators: battery:+ > left 31 | | 21 W | f",
        f"2 indicators: left 31 > {RETURN}",
    )
    assert amps(answer) == {"1": 1.75, "2": 1.75}
    assert fuses_of(answer) == {"1": 3, "2": None}


# --------------------------------------------------------------------- 15: lamps, charging


def test_15_a_24_volt_dip_lamp(tmp_path: Path) -> None:
    """An H4 of 24 V has 70 W in its dip filament: 70 / 24 = 2.9167 A."""
    answer = check(
        tmp_path,
        "1 dip: battery:+ > headlamp:1 | | H4 dip | f",
        f"2 earth: headlamp:2 > {RETURN}",
        job=(("volts", 24),),
    )
    assert amps(answer) == {"1": 2.9167, "2": 2.9167}


def test_15_a_blank_alternator_is_not_one_of_nothing(tmp_path: Path) -> None:
    """180 W on the road, at idle not known: nothing says 0 W."""
    path = job_book(
        tmp_path,
        "1 dip: battery:+ > headlamp:1 | | 55 W | f",
        f"2 earth: headlamp:2 > {RETURN}",
        job=(("alternator_road_w", 180),),
    )
    job = open_job(path)
    said = " ".join(note for table in check_tables(job) for note in table.notes)
    said += texts(checked(path))
    assert "180 W at road speed" in said
    assert "at idle" not in said


# --------------------------------------------------------------------- 16: cables


def test_16_awg_18_beside_0_75_mm2(tmp_path: Path) -> None:
    """33 CFR 183.425 table 5, 80 C: No. 18 is good for 15 A, so that 12 A are no fault."""
    answer = check(
        tmp_path,
        "1 unit: battery:+ > unit:1 | 18 AWG | 11 A | f | 0.3 m",
        f"2 earth: unit:2 > {RETURN} | 0.75 | | | 0.3 m",
    )
    # 11 / 0.75 = 14.7 -> 15 A
    assert wire(answer, "1")["rated_amps"] == 15
    assert wire(answer, "2")["rated_amps"] == 14
    assert says(answer, "error") == []
    assert fuses_of(answer)["1"] == 15
    assert levels(answer, "F2") == []


@pytest.mark.parametrize(
    ("gauge", "ohm_per_km"),
    # 3.0: ISO 6722.  4.5: copper 17.241 / 4.5 = 3.831 x 1.148, as 4.0 (4.95 x 4 / 17.241) and 6.0
    # are.  8.5: 2.028 x 1.128, between 1.148 of 6.0 and 1.108 of 10.0 (1.91 x 10 / 17.241)
    [("3.0", 6.15), ("4.5", 4.40), ("8.5", 2.288)],
)
def test_16_stranded_cable_is_not_solid(tmp_path: Path, gauge: str, ohm_per_km: float) -> None:
    """10 A through 1.0 x 1.05 + 0.08 = 1.13 m at 60 C (x 1.1572)."""
    answer = check(
        tmp_path,
        f"1 unit: battery:+ > unit:1 | {gauge} | 10 A | f",
        f"2 earth: unit:2 > {RETURN} | {gauge}",
        job=(("end", "bare"),),
    )
    expected = 10 * ohm_per_km / 1000 * 1.1572 * 1.13
    assert wire(answer, "1")["drop_volts"] == pytest.approx(expected, rel=0.01)


def test_16_a_hot_place(tmp_path: Path) -> None:
    """85 C around: 2 A in one 1.0 mm2 warm it by about 2 K, far below 100 C."""
    loom = [("from", "to", "length"), ("battery", "engine", "1 m")]
    circuits = [
        HEAD,
        ("1", "sensor", "battery:+", "engine:1", "red", "1.0", "2 A", "f"),
        ("2", "earth", "engine:2", RETURN, "black", "1.0"),
    ]
    job = [("ambient_c", 85)]
    answer = checked(book(tmp_path, Job=job, Circuits=circuits, Loom=loom))
    assert "0.0 A" not in texts(answer)
    assert [s for s in says(answer) if " C " in s[2]] == []
    assert wire(answer, "1")["rated_amps"] == 16.5


# --------------------------------------------------------------------- 17: parts

NO_SPARES = (("terminal_spare_percent", 0), ("fuse_spares", 0))


def test_17_three_bullets_at_a_pin(tmp_path: Path) -> None:
    """Three wires of 1.0 mm2: three bullets of 1.0, in one connector of four ways."""
    end = "bullet socket 4.7"
    path = job_book(
        tmp_path,
        f"1 a: battery:+ > lamp a:1 | 1.0 | 1 A | a | | | | bare | {end}",
        f"2 a: lamp a:1 > lamp b:1 | 1.0 | 1 A | | | | | {end} | bare",
        f"3 a: lamp a:1 > lamp c:1 | 1.0 | 1 A | | | | | {end} | bare",
        job=(*NO_SPARES, ("end", "bare"), ("in_line_end", "bare")),
    )
    found = parts(path)
    assert found["bullet terminal, 4.7 mm, male, 0.5-1.0 mm2"] == 3
    assert found["sleeved bullet connector, 4.7 mm, 4 way"] == 1
    assert not [item for item in found if "bullet" in item and "2.0-3.0" in item]


def test_17_a_bolted_strip_fuse(tmp_path: Path) -> None:
    """60 A typed is a rating that is made, and its holder is one."""
    path = job_book(
        tmp_path,
        "1 main: battery:+ > unit:1 | 10.0 | 40 A | main | 0.3 m",
        f"2 earth: unit:2 > {RETURN} | 10.0 | | | 0.3 m",
        fuses=(("main", 60, "bolted strip holder"),),
        job=(*NO_SPARES, ("end", "bare"), ("in_line_end", "bare")),
    )
    assert says(checked(path), "error") == []
    found = parts(path)
    assert found["strip fuse, 60 A"] == 1
    assert found["fuse holder, bolt-in strip"] == 1


def test_17_spare_ways_are_plugged(tmp_path: Path) -> None:
    """Four ways wanted, two of them wired: two plugs."""
    sheets: dict[str, Any] = {
        "Job": [*NO_SPARES, ("end", "bare")],
        "Circuits": [
            (*HEAD, *ENDS),
            ("1", "a", "battery:+", "horn:1", "red", "1.0", None, "none", None, 1, None, "bare"),
            ("2", "b", "horn:2", RETURN, "black", "1.0", None, None, None, 1),
        ],
        "Components": [("component", "load", "end", "ways"), ("horn", "4 A", "sealed 1.5", 4)],
    }
    found = parts(book(tmp_path, **sheets))
    assert found["cavity plug, 1.5 mm contact"] == 2


def test_17_an_in_line_holder_has_two_joints(tmp_path: Path) -> None:
    """One fuse in its wire: a splice at each side of the holder."""
    path = job_book(
        tmp_path,
        "1 main: battery:+ > unit:1 | 1.0 | 4 A | main",
        f"2 earth: unit:2 > {RETURN} | 1.0",
        job=(*NO_SPARES, ("end", "bare")),
    )
    found = parts(path)
    assert found["in-line fuse holder, blade"] == 1
    assert sum(count for item, count in found.items() if item.startswith("crimp splice")) == 2


def test_17_shrink_over_a_lugs_barrel(tmp_path: Path) -> None:
    """The barrel of a 35 mm2 lug is 12.5 mm: shrink of 18 (12 goes over the cable's 11.2 only)."""
    path = job_book(
        tmp_path,
        "1 starter: battery:+ > starter motor:1 | 35.0 | 150 A | none | | | | lug M8 | lug M8",
        f"2 starter: starter motor:2 > {RETURN} | 35.0 | | | | | black | bare | bare",
        job=NO_SPARES,
    )
    shrinks = {item for item in parts(path) if item.startswith("heat-shrink, adhesive")}
    assert shrinks == {"heat-shrink, adhesive 3:1, 18 mm"}


# --------------------------------------------------------------------- 18: cautions to drop


def test_18_phases_and_the_way_to_the_main_fuse_want_no_fuse(tmp_path: Path) -> None:
    """A stator, and the 200 mm from the battery to its main fuse: as on every machine."""
    answer = check(
        tmp_path,
        "1 main: battery:+ > main fuse:in | 3.0 | | | 0.2 m",
        "2 lights: main fuse:out > lamp:1 | 2.0 | 55 W | main",
        "3 stator: alternator:1 > regulator:1 | 2.0 | 10 A",
        "4 stator: alternator:2 > regulator:2 | 2.0 | 10 A",
        "5 charging: regulator:+ > main fuse:out | 2.0 | 10 A | main",
        f"6 earth: regulator:- > {RETURN} 1 | 2.0",
        f"7 earth: lamp:2 > {RETURN} 2 | 2.0",
        components=(("alternator", None, "none"), ("regulator", None, "none")),
    )
    assert [cell for _, cell, _ in says(answer) if cell.startswith("H")] == []


def test_18_a_short_feed_in_a_way_that_keeps_its_limit(tmp_path: Path) -> None:
    """17 A in 0.4 m of 3.0 mm2, the most its bullets take, lose 0.048 V: by length it is far more.

    At 60 C the headlamp's own 3.23 m of 1.5 lose 5 x 3.23 x 15.4 mohm = 0.249, and 0.3 V are
    allowed in the plus lead; the way back of 3.44 m loses 0.265, 0.6 are allowed in all.
    """
    answer = check(
        tmp_path,
        "1 main: battery:+ > fuse box:in | | | main | 0.3 m",
        "2 headlamp: fuse box:a > headlamp:1 | | 60 W | a | 3 m",
        "3 rest: fuse box:b > heated unit:1 | | 12 A | b | 0.5 m",
        f"4 earth: headlamp:2 > {RETURN} 1 | | | | 3.2 m",
        f"5 earth: heated unit:2 > {RETURN} 2 | | | | 0.5 m",
    )
    assert [text for _, cell, text in says(answer) if cell.startswith("F")] == []
    assert "share" not in texts(answer)


@pytest.mark.parametrize("flasher", ["flasher", "flasher unit", "flasher relay"])
def test_18_a_colour_turns_at_a_flasher(tmp_path: Path, flasher: str) -> None:
    """BS AU 7: green before the flasher, light green/brown behind it."""
    answer = check(
        tmp_path,
        f"1 indicators: battery:+ > {flasher}:49 | 1.0 | | f | | | green",
        f"2 indicators: {flasher}:49a > lamp:1 | 1.0 | 42 W | | | | light green/brown",
        f"3 earth: lamp:2 > {RETURN} | 1.0 | | | | | black",
    )
    assert [text for _, cell, text in says(answer) if cell.startswith("E")] == []


def test_18_two_fuses_where_a_charging_wire_comes_in(tmp_path: Path) -> None:
    """One in the charging wire, one at the battery: the lamp is behind the battery's.

    5 / 0.75 = 6.7 A, yet 10 A of charging run through it too: 10 / 0.75 = 13.3 -> 15 A.
    """
    answer = check(
        tmp_path,
        "1 main: battery:+ > joint splice | 2.0 | | main | 0.2 m",
        "2 charging: regulator:+ > joint splice | 2.0 | 10 A | charge",
        "3 lights: joint splice > lamp:1 | 2.0 | 60 W",
        f"4 earth: regulator:- > {RETURN} 1 | 2.0",
        f"5 earth: lamp:2 > {RETURN} 2 | 2.0",
        components=(("regulator", None, "none"),),
    )
    found = fuses_of(answer)
    assert (found["1"], found["2"], found["3"]) == (15, 15, 15)
    assert [cell for _, cell, _ in says(answer) if cell.startswith("H")] == []


def test_18_unlike_feeds_typed_row_by_row(tmp_path: Path) -> None:
    """Tail 5 W and stop 21 W in one lamp behind two fuses, and a plate lamp fed on from it."""
    answer = check(
        tmp_path,
        "1 tail: battery:+ 1 > rear lamp:58 | 1.0 | 5 W | tail",
        "2 stop: battery:+ 2 > rear lamp:54 | 1.0 | 21 W | stop",
        "3 tail: rear lamp:58 > plate lamp:1 | 1.0 | 5 W",
        f"4 earth: rear lamp:31 > {RETURN} 1 | 1.0",
        f"5 earth: plate lamp:2 > {RETURN} 2 | 1.0",
    )
    assert "unlike feeds" not in texts(answer)


def test_18_the_distance_to_the_main_fuse_is_along_the_machine(tmp_path: Path) -> None:
    """280 mm measured; the piece is 280 x 1.05 + 80 -> 380 mm, but the machine is what counts."""
    answer = check(
        tmp_path,
        "1 main: battery:+ > main fuse:in | 2.0 | | | 280 mm",
        "2 lights: main fuse:out > lamp:1 | 2.0 | 55 W | main",
        f"3 earth: lamp:2 > {RETURN} | 2.0",
    )
    assert [text for _, cell, text in says(answer) if cell in ("H2", "J2")] == []


# --------------------------------------------------------------------- 19: silent before


def test_19_the_earth_strap_left_out(tmp_path: Path) -> None:
    """Two lamps are earthed on the frame, and the frame on nothing."""
    answer = check(
        tmp_path,
        "1 dip: battery:+ > headlamp:1 | 1.0 | 55 W | f",
        "2 tail: battery:+ 2 > tail lamp:1 | 1.0 | 5 W | g",
        "3 earth: headlamp:2 > frame earth:1 | 1.0 | | | | | black",
        "4 earth: tail lamp:2 > frame earth:2 | 1.0 | | | | | black",
    )
    found = [p for p in answer["problems"] if "battery" in p["says"] and p["cell"][:1] == "D"]
    assert len(found) == 1
    assert "strap" in found[0]["try"]


def test_19_a_typed_load_against_its_components(tmp_path: Path) -> None:
    """55 W (4.58 A) on Components, 5 W (0.42 A) on the wire."""
    answer = check(
        tmp_path,
        "1 dip: battery:+ > headlamp:1 | 1.0 | 5 W | f",
        f"2 earth: headlamp:2 > {RETURN} | 1.0",
        components=(("headlamp", "55 W"),),
    )
    (told,) = [text for _, cell, text in says(answer) if cell == "G2"]
    assert "0.42 A" in told
    assert "4.58 A" in told


def test_19_two_fuses_in_series(tmp_path: Path) -> None:
    """One feed behind two fuses, and nothing else behind the first."""
    answer = check(
        tmp_path,
        "1 main: battery:+ > main fuse:in | 1.0 | | | 0.2 m",
        "2 main: main fuse:out > light fuse:in | 1.0 | | main",
        "3 dip: light fuse:out > headlamp:1 | 1.0 | 55 W | lights",
        f"4 earth: headlamp:2 > {RETURN} | 1.0",
    )
    found = [text for _, _, text in says(answer, "caution") if "series" in text]
    assert len(found) == 1
    assert "main" in found[0]
    assert "lights" in found[0]


@pytest.mark.parametrize("where", ["wire", "component"])
def test_19_a_load_of_nothing(tmp_path: Path, where: str) -> None:
    """0 W is told at its cell, and once."""
    typed = where == "wire"
    answer = check(
        tmp_path,
        f"1 dip: battery:+ > headlamp:1 | 1.0 | {'0 W' if typed else ''} | f",
        f"2 earth: headlamp:2 > {RETURN} | 1.0",
        components=(("headlamp", None if typed else "0 W"),),
        fuses=(("f", 5),),
    )
    cell = ("Circuits", "G2") if typed else ("Components", "B2")
    assert [s[:2] for s in says(answer) if "0 W" in s[2]] == [cell]


@pytest.mark.parametrize("gauge", ["", "1.0"])
@pytest.mark.parametrize("finish", ["battery:-", "battery:- 2"])
def test_19_a_short(tmp_path: Path, finish: str, gauge: str) -> None:
    """A feed whose far end was put on the battery's other pole: an error of its own."""
    answer = check(
        tmp_path,
        f"1 lights: battery:+ > light switch:1 | {gauge} | | f",
        f"2 lights: light switch:1 > {finish} | {gauge}",
        f"3 dip: light switch:1 > headlamp:1 | {gauge} | 55 W",
        f"4 earth: headlamp:2 > battery:- | {gauge}",
    )
    assert [text for _, _, text in says(answer, "error") if "short" in text]


def test_19_a_short_over_a_plug(tmp_path: Path) -> None:
    """A feed and an earth on one pin of a plug."""
    answer = check(
        tmp_path,
        "1 lights: battery:+ > plug:1 | 1.0 | | f",
        "2 earth: plug:1 > battery:- | 1.0",
        "3 dip: plug:1 > headlamp:1 | 1.0 | 55 W",
        "4 earth: headlamp:2 > plug:1 | 1.0",
        components=(("plug", None, "pin to pin"),),
    )
    assert [text for _, _, text in says(answer, "error") if "short" in text]
