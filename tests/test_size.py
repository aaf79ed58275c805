"""Sizing against published tables, through the same stage that every job goes through."""

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.job import open_job
from bom.trade.catalogue_files import load_catalogue
from bom.trade.wires import SizedWire
from tests.books import book, checked, says, wire

BARE = ("floor_amps", 1000), ("conductor_c", 20)
EXACT = ("run_percent", 0), ("end_mm", 0), ("step_mm", 1), ("longest_run_m", 100)
AWG = (
    "gauges",
    "22 AWG, 20 AWG, 18 AWG, 16 AWG, 14 AWG, 12 AWG, 10 AWG, 8 AWG, 6 AWG, 4 AWG, 2 AWG",
)
HEAD = ("from", "to", "colour", "gauge", "load", "fuse", "length", "from end", "to end", "circuit")


def sized_wires(path: Path) -> tuple[SizedWire, ...]:
    """The wires of a sound job as sized."""
    sized = open_job(path).sized
    assert sized is not None
    return sized.wires


def one_wire(
    folder: Path, load: str, length: str, *rules: tuple[str, Any], gauge: str = "", fuse: str = ""
) -> dict[str, Any]:
    """Check a single wire with soldered ends; the first of `rules` is its drop allowed."""
    row = (
        "battery",
        "load",
        "red",
        gauge or None,
        load,
        fuse or "none",
        length,
        "solder",
        "solder",
        "x",
    )
    return checked(book(folder, Job=rules, Circuits=[HEAD, row]))


def of_100_volts(volts: float) -> tuple[tuple[str, Any], ...]:
    """A machine of 100 V, where so many per cent are so many volts."""
    return (("volts", 100), ("drop_percent_other", volts))


@pytest.mark.parametrize(
    ("feet", "allowed_volts", "gauge"),
    [
        # FAA AC 43.13-1B, table 11-7, 20 A: 1 V over 107 ft -> No. 6 (0.942 V)
        (107, 1, "6 AWG"),
        # the same: 0.5 V over 90 ft is printed as No. 4 with 0.504 V, over its own limit:
        # a strict comparison gives No. 2
        (90, 0.5, "2 AWG"),
        # AC 43.13-1B, example 1: 20 A continuous, 50 ft with the ground wire, 1 V -> No. 8
        (50, 1, "8 AWG"),
    ],
)
def test_faa_wire_sizes(tmp_path: Path, feet: int, allowed_volts: float, gauge: str) -> None:
    """The gauge chosen by drop and bundled rating is the one FAA AC 43.13-1B names."""
    rules = (*of_100_volts(allowed_volts), *BARE, *EXACT, AWG)
    assert wire(one_wire(tmp_path, "20 A", f"{feet} ft", *rules), "W1")["gauge"] == gauge


# ABYC E-11, SAE conductor areas in circular mils, and table IX (12 V, 3 %): gauge by amps
# and by feet there and back (10 15 20 25 30 40 50 60 70 80)
SAE = {18: 1537, 16: 2336, 14: 3702, 12: 5833, 10: 9343, 8: 14810, 6: 24538}
FEET = (10, 15, 20, 25, 30, 40, 50, 60, 70, 80)
TABLE_IX = {
    5: (18, 16, 14, 12, 12, 10, 10, 10, 8, 8),
    10: (14, 12, 10, 10, 10, 8, 6, 6, 6, 6),
}


@pytest.fixture(scope="module")
def sae_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workshop whose own catalogue has SAE cable: 10.75 ohm circular mil per foot (ABYC E-11)."""
    shop = tmp_path_factory.mktemp("boat")
    (shop / "catalogs").mkdir()
    (shop / "workshop.toml").write_text("")
    catalogue, _ = load_catalogue()
    columns = list(catalogue.tables["cables"][0])
    lines = [",".join(columns)]
    for size, mils in SAE.items():
        values = dict.fromkeys(columns, "")
        values |= {
            "gauge": f"{size} AWG",
            "area_mm2": str(round(mils * 0.0005067, 3)),
            "kind": "SAE",
            "rated_amps": "100",
            "outside_mm": "3",
            "ohm_per_km_20c": repr(10.75 / mils / 0.3048 * 1000),
            "max_c": "105",
            "colours": "all",
            "source": "ABYC E-11",
        }
        lines.append(",".join(values.values()))
    (shop / "catalogs" / "cables.csv").write_text("\n".join(lines) + "\n")
    return shop


@pytest.mark.parametrize("amps", TABLE_IX)
@pytest.mark.parametrize("column", range(len(FEET)))
def test_abyc_table_ix(sae_shop: Path, amps: int, column: int) -> None:
    """The gauge chosen is that of ABYC E-11 table IX, 12 V, 3 %, SAE sizes."""
    sizes = ("gauges", ", ".join(f"{size} AWG" for size in SAE))
    rules = (("volts", 12), ("drop_percent_other", 3), *BARE, *EXACT, sizes)
    answer = one_wire(sae_shop, f"{amps} A", f"{FEET[column]} ft", *rules)
    assert wire(answer, "W1")["gauge"] == f"{TABLE_IX[amps][column]} AWG"


@pytest.mark.parametrize(("percent", "gauge"), [(3, "10 AWG"), (10, "16 AWG")])
def test_abyc_worked_example(sae_shop: Path, percent: int, gauge: str) -> None:
    """10 A over 21 ft at 12 V: 10 SAE at 3 % (12 SAE has only 5 833 CM), 16 AWG at 10 %."""
    sizes = ("gauges", ", ".join(f"{size} AWG" for size in SAE))
    rules = (("volts", 12), ("drop_percent_other", percent), *BARE, *EXACT, sizes)
    assert wire(one_wire(sae_shop, "10 A", "21 ft", *rules), "W1")["gauge"] == gauge


KEEPS = ("gauges", "1.0, 2.0")


def test_sixty_watts_at_twelve_volts(tmp_path: Path) -> None:
    """60 W / 12 V = 5 A, and 1.0 mm2 thin wall (16.5 A) carries it (common practice)."""
    found = wire(one_wire(tmp_path, "60 W", "1 m", KEEPS), "W1")
    assert (found["amps"], found["gauge"], found["rated_amps"]) == (5, "1.0", 16.5)


def test_a_feed_of_twenty_amps(tmp_path: Path) -> None:
    """A 20 A feed asks for 2.0 mm2 (25 A) where the house keeps 1.0 and 2.0 (common practice)."""
    assert wire(one_wire(tmp_path, "20 A", "0.3 m", KEEPS), "W1")["gauge"] == "2.0"


@pytest.mark.parametrize(("volts", "amps"), [(6, 10), (12, 5), (24, 2.5)])
def test_watts_over_volts(tmp_path: Path, volts: int, amps: float) -> None:
    """60 W take 10 A at 6 V, 5 A at 12 V, 2.5 A at 24 V."""
    found = wire(one_wire(tmp_path, "60 W", "0.2 m", ("volts", volts)), "W1")
    assert found["amps"] == amps


# --------------------------------------------------------------------- ambient, bunching


# ------------------------------------------------------------------- cautions with a cure


def test_three_faults_have_three_messages(tmp_path: Path) -> None:
    """Too thin, a fuse too large, too much drop: each with its cell, its figure and a cure."""
    rows = [
        # 20 A over the 16.5 A of 1.0 mm2: an error
        ("battery:1", "pump", "red", "1.0", "20 A", "none", "0.2 m", None, None, "pump"),
        # 1.0 mm2 (16.5 A, 1.25 x 20.6 A) behind 30 A: an error
        ("battery:2", "horn", "blue", "1.0", "4 A", "big", "0.2 m", None, None, "horn"),
        # 5 A x 9.53 m (9 m + 5 % + 2 x 40 mm) x 19.5 ohm/km x 1.157 = 1.08 V of 0.9 V
        ("battery:3", "tail lamp", "white", "1.0", "5 A", "tail", "9 m", None, None, "tail lamp"),
    ]
    fuses = [("fuse", "rating"), ("big", 30)]
    answer = checked(book(tmp_path, Circuits=[HEAD, *rows], Fuses=fuses))
    errors = says(answer, "error")
    assert errors == [
        ("Circuits", "D2", "wire W1 carries 20 A, 1.0 is rated 16.5 A"),
        ("Circuits", "D3", "wire W2 is 1.0, rated 16.5 A, behind a fuse of 30 A (big)"),
    ]
    cautions = {cell: text for _, cell, text in says(answer, "caution")}
    assert cautions["D4"].startswith("1.08 V are lost on the way to tail lamp")
    cures = {p["cell"]: p["try"] for p in answer["problems"] if p["file"]}
    assert cures["D2"] == "gauge 1.5 (21 A)"
    assert cures["D3"] == "a fuse of 7.5 A"  # 4 A / 0.75 = 5.3 A
    assert cures["D4"].startswith("gauge ")


def test_a_starters_own_leads_are_not_held_to_the_rating(tmp_path: Path) -> None:
    """A starter cable is over its table rating for seconds: 150 A on 16 mm2 (110 A), no word.

    150 A x sqrt(30 s) / 100 = 8.2 mm2 at the least.
    """
    rows = [
        (
            "battery:+",
            "starter",
            "red",
            "16.0",
            "150 A",
            "none",
            "0.4 m",
            "lug M8",
            "lug M8",
            "starter",
        ),
        ("engine", "battery:-", "black", "16.0", None, None, "0.4 m", "lug M8", "lug M8", "earth"),
    ]
    answer = checked(book(tmp_path, Circuits=[HEAD, *rows]))
    assert not says(answer, "error")
    assert not [text for _, _, text in says(answer) if "rated" in text or "lost" in text]


def test_a_chosen_starter_cable_goes_by_drop(tmp_path: Path) -> None:
    """100 A over 0.5 m of 1 V allowed: 16 mm2 drops 100 x 0.605 m x 1.21 x 1.157 / 1000 = 0.085 V.

    10 mm2 (1.91 ohm/km) would drop 0.134 V: with 0.1 V allowed 16 mm2 is chosen, although
    its table says 110 A and a smaller fuse or rating rule would have said otherwise.
    """
    row = (
        "battery",
        "starter",
        "red",
        None,
        "100 A",
        "none",
        "0.5 m",
        "lug M8",
        "lug M8",
        "starter",
    )
    job = [("volts", 12), ("drop_percent_other", 0.1 / 12 * 100)]
    found = wire(checked(book(tmp_path, Job=job, Circuits=[HEAD, row])), "W1")
    assert found["gauge"] == "16.0"


def test_a_main_fuse_far_from_the_battery(tmp_path: Path) -> None:
    """More than 300 mm of wire before the main fuse is a caution (common practice)."""
    rows: list[tuple[Any, ...]] = [
        ("battery:+", "main fuse:in", "brown", "2.0", None, "main", length, None, None, "feed")
        for length in ("0.2 m",)
    ]
    rows.append(("main fuse:out", "lamp", "red", "1.0", "5 A", None, "1 m", None, None, "lamp"))
    near = says(checked(book(tmp_path, Circuits=[HEAD, *rows])))
    assert not [text for _, _, text in near if "no fuse before them" in text]
    far = [(*rows[0][:6], "0.5 m", *rows[0][7:]), rows[1]]
    found = says(checked(book(tmp_path, Circuits=[HEAD, *far])))
    # 500 mm along the machine, whatever is added for crimping
    assert any(cell == "F2" and text.startswith("500 mm of wire lie") for _, cell, text in found)


def test_charging_balance(tmp_path: Path) -> None:
    """60 W of lamp, 40 W of ignition, and 20 % of a 48 W horn: 109.6 W; 90 W at idle is short."""
    rows = [
        ("battery:1", "headlamp", "blue", "2.0", "60 W", "none", "1 m", None, None, "headlamp"),
        ("battery:2", "coil", "white", "1.0", "40 W", "none", "1 m", None, None, "ignition"),
        ("battery:3", "horn", "purple", "1.0", "horn", "none", "1 m", None, None, "horn"),
    ]
    job = [("alternator_idle_w", 90), ("alternator_road_w", 180)]
    answer = checked(book(tmp_path, Job=job, Circuits=[HEAD, *rows]))
    found = [text for sheet, _, text in says(answer, "caution") if sheet == "Job"]
    assert found == [
        "the alternator gives 90 W at idle, the loads take 110 W (100 W continuous, 10 W likely)"
    ]


def test_awg_shop_gets_awg_answers(tmp_path: Path) -> None:
    """18 A on a wire alone: 18 AWG is good for 15 A, 16 AWG for 20 A (33 CFR 183.425 table 5)."""
    rules = (("drop_percent_other", 50), ("ambient_c", 70), AWG)
    assert wire(one_wire(tmp_path, "18 A", "0.5 m", *rules), "W1")["gauge"] == "16 AWG"


@settings(max_examples=40, deadline=None)
@given(
    amps=st.integers(1, 40),
    metres=st.integers(1, 11),
    ambient=st.integers(20, 60),
    more=st.sampled_from(["amps", "metres", "ambient"]),
)
def test_more_never_gives_a_thinner_wire(
    tmp_path_factory: pytest.TempPathFactory, amps: int, metres: int, ambient: int, more: str
) -> None:
    """A longer run, a larger load or a hotter place never gives a thinner wire."""
    folder = tmp_path_factory.mktemp("more")
    areas = {name: cable.area_mm2 for name, cable in load_catalogue()[0].cables.items()}

    def area(a: int, m: int, c: int) -> Fraction:
        found = one_wire(folder, f"{a} A", f"{m} m", ("ambient_c", c))
        return areas[wire(found, "W1")["gauge"]]

    least = area(amps, metres, ambient)
    step = {"amps": 5, "metres": 1, "ambient": 5}[more]
    grown = area(
        amps + step * (more == "amps"),
        metres + step * (more == "metres"),
        ambient + step * (more == "ambient"),
    )
    assert grown >= least


def test_a_link_between_batteries_is_as_thick_as_what_it_joins_becomes(tmp_path: Path) -> None:
    """A feed of 5 m at 20 A: 6.0 of the kept sizes, and the plus link follows, first 2.0 (25 A).

    5 m x 1.05 + 2 x 40 mm are 5.33 m: 20 A x 5.33 m x 3.30 ohm/km x 1.157 = 0.41 V of 0.60 V (5 %),
    2.0 would lose 20 A x 5.33 m x 9.40 ohm/km x 1.157 = 1.16 V.
    """
    rows = [
        ("battery 1:+", "pump:1", "red", None, "20 A", "pump", "5 m", "solder", "solder", "pump"),
        ("pump:2", "battery 1:-", "black", "2.0", None, None, "0.3 m", "solder", "solder", "x"),
        ("battery 1:+", "battery 2:+", "red", None, None, "none", "0.3 m", "solder", "solder", "x"),
    ]
    rules = (("drop_percent_other", 5), ("gauges", "2.0; 6.0; 16.0"), ("step_mm", 1))
    answer = checked(book(tmp_path, Job=[*rules], Circuits=[HEAD, *rows]))
    assert [wire(answer, name)["gauge"] for name in ("W1", "W3")] == ["6.0", "6.0"]
    assert wire(answer, "W3")["amps"] == 20
