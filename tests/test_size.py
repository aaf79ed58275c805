"""Sizing against published tables, through the same stage that every job goes through."""

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.trade.catalogue_files import load_catalogue
from tests.books import assert_told, book, checked, machines, sketch, wire

BARE = ("floor_amps", 1000), ("conductor_c", 20)
EXACT = ("run_percent", 0), ("end_mm", 0), ("step_mm", 1), ("longest_run_m", 100)
AWG = ("gauges", ", ".join(f"{size} AWG" for size in range(22, 0, -2)))
CELLS = "gauge, load, fuse, length, from end, to end"


def one_wire(folder: Path, load: str, length: str, *rules: tuple[str, Any]) -> dict[str, Any]:
    """The entry of a single wire with soldered ends and no fuse, under these house rules."""
    row = f"x: battery > load | | {load} | none | {length} | solder | solder"
    sheets, _ = sketch(f"a wire\n{row}", CELLS)
    return wire(checked(book(folder, Job=rules, **sheets)), "1")


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
    assert one_wire(tmp_path, "20 A", f"{feet} ft", *rules)["gauge"] == gauge


# ABYC E-11, SAE conductor areas in circular mils, and table IX (12 V, 3 %): gauge by amps
# and by feet there and back (10 15 20 25 30 40 50 60 70 80)
SAE = {18: 1537, 16: 2336, 14: 3702, 12: 5833, 10: 9343, 8: 14810, 6: 24538}
FEET = (10, 15, 20, 25, 30, 40, 50, 60, 70, 80)
TABLE_IX = {5: (18, 16, 14, 12, 12, 10, 10, 10, 8, 8), 10: (14, 12, 10, 10, 10, 8, 6, 6, 6, 6)}


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
    found = one_wire(sae_shop, f"{amps} A", f"{FEET[column]} ft", *rules)
    assert found["gauge"] == f"{TABLE_IX[amps][column]} AWG"


@pytest.mark.parametrize(("percent", "gauge"), [(3, "10 AWG"), (10, "16 AWG")])
def test_abyc_worked_example(sae_shop: Path, percent: int, gauge: str) -> None:
    """10 A over 21 ft at 12 V: 10 SAE at 3 % (12 SAE has only 5 833 CM), 16 AWG at 10 %."""
    sizes = ("gauges", ", ".join(f"{size} AWG" for size in SAE))
    rules = (("volts", 12), ("drop_percent_other", percent), *BARE, *EXACT, sizes)
    assert one_wire(sae_shop, "10 A", "21 ft", *rules)["gauge"] == gauge


KEEPS = ("gauges", "1.0, 2.0")


def test_what_the_trade_takes(tmp_path: Path) -> None:
    """60 W / 12 V = 5 A is 1.0 mm2 thin wall (16.5 A), a feed of 20 A is 2.0 (common practice)."""
    found = one_wire(tmp_path, "60 W", "1 m", KEEPS)
    assert (found["amps"], found["gauge"], found["rated_amps"]) == (5, "1.0", 16.5)
    assert one_wire(tmp_path, "20 A", "0.3 m", KEEPS)["gauge"] == "2.0"


@pytest.mark.parametrize(("volts", "amps"), [(6, 10), (12, 5), (24, 2.5)])
def test_watts_over_volts(tmp_path: Path, volts: int, amps: float) -> None:
    """60 W take 10 A at 6 V, 5 A at 12 V, 2.5 A at 24 V."""
    assert one_wire(tmp_path, "60 W", "0.2 m", ("volts", volts))["amps"] == amps


@machines("""
Too thin, a fuse too large, too much drop: each with its cell, its figure and a cure
  fuses: big | 30
  # 20 A over the 16.5 A of 1.0 mm2: an error
  pump: battery:1 > pump | 1.0 | 20 A | none | 0.2 m
  says: error F2: 1 carries 20 A, 1.0 is rated 16.5 A; gauge 1.5 (21 A)
  # 1.0 mm2 (16.5 A, 1.25 x 20.6 A) behind 30 A: an error; 4 A / 0.75 = 5.3 A
  horn: battery:2 > horn | 1.0 | 4 A | big | 0.2 m | colour=blue
  says: error F3: 2 is 1.0, rated 16.5 A, behind a fuse of 30 A (big); a fuse of 7.5 A
  # 5 A x 9.53 m (9 m + 5 % + 2 x 40 mm) x 19.5 ohm/km x 1.157 = 1.08 V of 0.9 V;
  # in 1.5 mm2, 13.3 ohm/km, it is 0.73 V
  tail lamp: battery:3 > tail lamp | 1.0 | 5 A | tail | 9 m | colour=white
  says: caution F4: 1.08 V are lost on the way to tail lamp
  says: F4: loses 1.08 V; gauge 1.5

A starter cable is over its rating for seconds: 150 A on 16 mm2 (110 A), and not a word
  # 150 A x sqrt(30 s) / 100 = 8.2 mm2 at the least
  starter: battery:+ > starter | 16.0 | 150 A | none | 0.4 m | lug M8 | lug M8
  earth: engine > battery:- | 16.0 | | | 0.4 m | lug M8 | lug M8 | colour=black
  silent on: error:; rated; lost

A chosen starter cable goes by drop, with 0.1 of 12 V allowed, although its table says 110 A
  # 16 mm2 drops 100 x 0.605 m x 1.21 x 1.157 / 1000 = 0.085 V, 10 mm2 (1.91 ohm/km) 0.134 V
  job: drop_percent_other | 0.83333333
  starter: battery > starter | | 100 A | none | 0.5 m | lug M8 | lug M8 = 16.0 mm2

A main fuse near the battery: 300 mm of wire before it are the most (common practice)
  feed: battery:+ > main fuse:in | 2.0 | | main | 0.2 m | colour=brown
  lamp: main fuse:out > lamp | 1.0 | 5 A
  silent on: no fuse before them

A main fuse far from it: 500 mm along the machine, whatever is added for crimping
  feed: battery:+ > main fuse:in | 2.0 | | main | 0.5 m | colour=brown
  lamp: main fuse:out > lamp | 1.0 | 5 A
  says: H2: 500 mm of wire lie

60 W of lamp, 40 W of ignition, 20 % of a 48 W horn: 109.6 W, and 90 W at idle are short
  job: alternator_idle_w | 90; alternator_road_w | 180
  headlamp: battery:1 > headlamp | 2.0 | 60 W | none | colour=blue
  ignition: battery:2 > coil | 1.0 | 40 W | none | colour=white
  horn: battery:3 > horn | 1.0 | horn | none | colour=purple
  says: caution Job!: 90 W at idle, the loads take 110 W (100 W continuous, 10 W likely)

At 6 V no cable of the shop keeps 0.15 V (2.5 %): half as much again is held, not the thinnest
  # 10 A x 2.18 m (2 m + 5 % + 2 x 40 mm) x 1.157: 2.5 mm2 (7.98 ohm/km) loses 0.20 V,
  # 1.5 (13.3 ohm/km) 0.34 V; 0.225 V is held
  job: volts | 6; drop_percent_other | 2.5; gauges | 1.0, 1.5, 2.5
  pump: battery:+ > pump | | 60 W | none | 2 m | solder | solder = 2.5 mm2
  says: F2: 0.15 V are allowed

Where a typed wire alone is over it the others are not thin for that: eight times 0.15 V is held
  # the feed of 0.5 mm2 (39.0 ohm/km) loses 10 A x 2.18 m x 39.0 x 1.157 / 1000 = 0.98 V, and
  # 1.13 m more 0.25 V in 1.0 (19.5 ohm/km), 0.17 V in 1.5: together 1.24 and 1.16 V of 1.20 V
  job: volts | 6; drop_percent_other | 2.5; gauges | 1.0, 1.5, 2.5
  feed: battery:+ > switch:in | 0.5 | | none | 2 m | solder | solder
  pump: switch:out > pump | | 60 W | | 1 m | solder | solder = 1.5 mm2

A link between batteries is as thick as what it joins becomes: a feed of 5 m at 20 A, so 6.0
  # 5 m x 1.05 + 2 x 40 mm are 5.33 m: 20 A x 5.33 m x 3.30 ohm/km x 1.157 = 0.41 V of 0.60 V
  # (5 %); 2.0, which carries 25 A, would lose 20 A x 5.33 m x 9.40 ohm/km x 1.157 = 1.16 V
  job: drop_percent_other | 5; gauges | 2.0, 6.0, 16.0; step_mm | 1
  pump: battery 1:+ > pump:1 | | 20 A | pump | 5 m | solder | solder = 6.0 mm2
  x: pump:2 > battery 1:- | 2.0 | | | 0.3 m | solder | solder | colour=black
  x: battery 1:+ > battery 2:+ | | | none | 0.3 m | solder | solder = 6.0 mm2, 20 A
""")
def test_faults_have_a_cell_a_figure_and_a_cure(tmp_path: Path, told: str) -> None:
    """What is over a limit is told where it was typed, and what is chosen is not over."""
    assert_told(tmp_path, told, CELLS)


def test_awg_shop_gets_awg_answers(tmp_path: Path) -> None:
    """18 A on a wire alone: 18 AWG is good for 15 A, 16 AWG for 20 A (33 CFR 183.425 table 5)."""
    rules = (("drop_percent_other", 50), ("ambient_c", 70), AWG)
    assert one_wire(tmp_path, "18 A", "0.5 m", *rules)["gauge"] == "16 AWG"


@settings(max_examples=40)
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
        return areas[one_wire(folder, f"{a} A", f"{m} m", ("ambient_c", c))["gauge"]]

    least = area(amps, metres, ambient)
    step = {"amps": 5, "metres": 1, "ambient": 5}[more]
    grown = area(
        amps + step * (more == "amps"),
        metres + step * (more == "metres"),
        ambient + step * (more == "ambient"),
    )
    assert grown >= least
