"""The tables in catalogs/ against published figures typed here by hand.

Only the csv module reads them here, so a fault in the program cannot hide a fault in the data.
An expected value is the document's own, or arithmetic written out beside it. "From memory"
marks a value whose document was not at hand.
"""

import csv
import math
import re
from collections import defaultdict
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

CATALOGS = Path(__file__).parent.parent / "catalogs"
Row = dict[str, str]

TABLES: dict[str, tuple[str, str, int]] = {
    # 12 thin wall + 3 battery + 12 AWG
    "cables": (
        "gauge area_mm2 kind strands rated_amps outside_mm ohm_per_km_20c max_c cost_per_m colours",
        *("gauge", 27),
    ),
    "colour_uses": ("word colour", "word", 46),
    "colours": ("colour iec60757 bs_au_7 also hex plain", "colour", 16),
    # 6 bullets, 12 blades, 5 rings, 1 fork, 3 lugs, splice, solder, bare, 12 in housings
    "ends": ("end family half mates min_mm2 max_mm2 strip_mm closure amps housing", "end", 42),
    # bullets 6 + 4, blades 2 x (2 + 2 + 3 + 2), rings 3 + 4 x 4, fork 3, lugs 3 x 4, splice 4,
    # housing contacts 2 x (2 + 3 + 3 + 3)
    "terminals": ("item family half min_mm2 max_mm2 barrel_mm", "item", 88),
    "covers": ("item family half", "item", 10),
    "seals": ("item family min_mm max_mm", "item", 8),  # 2 x 3 wire seals + 2 cavity plugs
    # 2 sleeved connectors + 2 halves x (6 + 6 + 6 + 4)
    "housings": ("item family half ways", "item", 46),
    # 4 tapes + 13 tubes + 11 braids
    "coverings": (
        "item covering width_mm bore_mm outside_mm least_mm most_mm shortening_percent",
        *("item", 28),
    ),
    # tape, tube, braid over tube, none
    "layers": (
        "covering inside length waste_percent group labour heat ends look dashes core",
        *("covering", 4),
    ),
    "shrink": ("item kind supplied_mm recovered_mm", "item", 18),  # 11 plain + 7 adhesive
    # 13 blade + 10 mini + 7 maxi + 8 glass + 4 torpedo + 7 strip
    "fuses": ("item kind amps colour", "item", 49),
    # 5 one-way sorts + boxes 5 + 3 + 2 + 3
    "fuse_holders": ("item holder kind ways", "item", 18),
    # 37 rows of headlamps at a voltage, 14 lamps of UN regulation 37 for signs, W1.2W, 33 others
    "loads": ("load volts watts amps kind runs", "load volts", 85),
    "drops": ("kind feed_volts volts", "kind", 8),
    # 18 headlamps, 45 lamps, 7 that flash and 6 that do not, 16 ignition, 8 charging and 2
    # starters that charge, 8 + 3 + 2 others, 5 of the starter and 17 of its control
    "kinds": ("word kind runs hot", "word", 144),
    "labour": ("operation per minutes", "operation", 14),
    # 9 operations with two sets of words, crimp with three, 4 with one, and the loom as a whole
    "tasks": ("operation called does things beside", "operation does", 26),
    "words": ("word means", "word", 265),
}
"""Columns (without source and place), the columns that name a row, and the number of rows."""

# Cable data sheet, common UK thin-wall range, conductors to ISO 6722:
# mm2, strands/mm, rated A, largest outside mm.
THIN_WALL = [
    ("0.5", "16/0.20", "11", "1.7"),
    ("0.75", "24/0.20", "14", "1.9"),
    ("1.0", "32/0.20", "16.5", "2.1"),
    ("1.5", "21/0.30", "21", "2.4"),
    ("2.0", "28/0.30", "25", "2.8"),
    ("2.5", "35/0.30", "29", "3.0"),
    ("3.0", "44/0.30", "33", "3.4"),
    ("4.0", "56/0.30", "39", "3.7"),
    ("4.5", "65/0.30", "42", "4.1"),
    ("6.0", "84/0.30", "50", "4.3"),
    ("8.5", "120/0.30", "63", "5.6"),
    ("10.0", "80/0.40", "70", "6.0"),
]

# IEC 60228 class 5, plain copper, largest ohm/km at 20 C.
IEC_60228 = {
    **{"0.5": 39.0, "0.75": 26.0, "1.0": 19.5, "1.5": 13.3, "2.5": 7.98, "4.0": 4.95},
    **{"6.0": 3.30, "10.0": 1.91, "16.0": 1.21, "25.0": 0.780, "35.0": 0.554},
}

# 33 CFR 183.425, table 5: AWG size and allowable amperes, 80 C column.
CFR_80_C = {18: 15, 16: 20, 14: 25, 12: 35, 10: 50, 8: 70, 6: 100, 4: 130, 2: 175}

# Sizes too thin for that table: their rating is reckoned, see below.
THIN_AWG = (24, 22, 20)
AWG = (*THIN_AWG, *CFR_80_C)

# Areas as ASTM B258 prints them, mm2, three figures.
AWG_MM2 = {10: 5.26, 12: 3.31, 14: 2.08, 16: 1.31, 18: 0.823, 20: 0.518, 22: 0.326}

# The end styles of the design: first words of those with two halves, and the others.
FAMILIES_WITH_MATES = ["bullet", "blade", "multiway", "sealed"]
PLAIN_ENDS = {
    *("ring M4", "ring M5", "ring M6", "ring M8", "ring M10", "fork M4"),
    *("lug M6", "lug M8", "lug M10", "splice", "solder", "bare"),
}


def table(name: str) -> list[Row]:
    """All rows of catalogs/<name>.csv as words."""
    with (CATALOGS / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines, strict=True))


def keyed(name: str, key: str) -> dict[str, Row]:
    """The rows of a table by one column."""
    return {row[key]: row for row in table(name)}


def pairs(text: str) -> dict[str, str]:
    """A list of names and what they stand for: `BK black, BN brown`."""
    return dict(pair.split(" ", 1) for pair in text.split(", "))


def total(name: str, column: str, **only: str) -> Decimal:
    """The sum of a column's filled cells, over the rows whose columns are as in `only`."""
    rows = [row for row in table(name) if all(row[key] == word for key, word in only.items())]
    return sum((Decimal(row[column]) for row in rows if row[column]), Decimal(0))


def test_folder_holds_these_tables_and_no_other() -> None:
    """Every table of the catalogue is tested here."""
    assert {path.stem for path in CATALOGS.glob("*.csv")} == set(TABLES)


@pytest.mark.parametrize("name", TABLES)
def test_a_table_is_whole_and_plain(name: str) -> None:
    """Its columns in order and a cell for each, UTF-8, Unix line ends, no padded cells.

    No row was lost or doubled, and no two answer to the same name, whatever its case; each has
    a source, and a place in it unless no document stands behind the row.
    """
    columns, keys, count = TABLES[name]
    raw = (CATALOGS / f"{name}.csv").read_bytes()
    assert not raw.startswith(b"\xef\xbb\xbf") and b"\r" not in raw and raw.endswith(b"\n")
    head, *lines = list(csv.reader(raw.decode().splitlines(), strict=True))
    assert head == [*columns.split(), "source", "place"]
    assert [line for line in lines if len(line) != len(head)] == []
    assert [cell for line in lines for cell in line if cell != " ".join(cell.split())] == []
    rows = table(name)
    names = [tuple(row[column].casefold() for column in keys.split()) for row in rows]
    assert all(first for first, *_ in names)  # only a second column, as the volts, may be blank
    assert len(rows) == len(set(names)) == count
    no_document = {"common practice", "from memory", "invented"}
    assert all(row["source"] and (row["place"] or row["source"] in no_document) for row in rows)


def test_half_of_what_was_from_memory_has_a_source_now() -> None:
    """376 rows of these tables said `from memory` once; at most half as many may."""
    rows = [row for path in CATALOGS.glob("*.csv") for row in table(path.stem)]
    unsure = [row for row in rows if any("from memory" in cell for cell in row.values())]
    assert len(unsure) <= 376 // 2


# --------------------------------------------------------------------------- cables


@pytest.mark.parametrize(("gauge", "strands", "amps", "outside"), THIN_WALL)
def test_thin_wall_rows_are_the_data_sheets(
    gauge: str, strands: str, amps: str, outside: str
) -> None:
    """A thin-wall row repeats the data sheet's row figure for figure."""
    row = keyed("cables", "gauge")[gauge]
    assert row["kind"] == "thin wall" and row["colours"] == "all"
    assert Decimal(row["area_mm2"]) == Decimal(gauge)
    assert (row["strands"], row["rated_amps"], row["outside_mm"]) == (strands, amps, outside)


def test_resistance_is_iec_60228_class_5() -> None:
    """A size that IEC 60228 lists has its class 5 resistance."""
    rows = keyed("cables", "gauge")
    assert {gauge: float(rows[gauge]["ohm_per_km_20c"]) for gauge in IEC_60228} == IEC_60228


def published_ohms() -> dict[float, float]:
    """Ohm per km at 20 C by area: IEC 60228 class 5, and the two sizes published elsewhere."""
    # Standard-wall data sheet: 28/0.30 has 0.0094 ohm/m; 0.0094 x 1000 = 9.4 ohm/km.
    # ISO 6722 (from memory): 3.0 mm2 has 6.15 ohm/km.
    return {float(gauge): ohm for gauge, ohm in IEC_60228.items()} | {2.0: 9.4, 3.0: 6.15}


def over_solid(area_mm2: float) -> float:
    """Resistance over that of solid copper, 1/58 ohm mm2/m (IEC 60028, from memory).

    That of the published neighbours, on the straight line between them by area; of the
    thinnest where an area is thinner.
    """
    ratios = {area: ohm * area * 58 / 1000 for area, ohm in published_ohms().items()}
    low = max((area for area in ratios if area <= area_mm2), default=min(ratios))
    high = min(area for area in ratios if area >= area_mm2)
    share = (max(area_mm2, low) - low) / (high - low) if high > low else 0.0
    return ratios[low] + share * (ratios[high] - ratios[low])


def test_the_line_between_neighbours_by_hand() -> None:
    """8.5 mm2: 6.0 has 3.30 x 6 x 0.058 = 1.1484, 10.0 has 1.91 x 10 x 0.058 = 1.1078.

    1.1484 - 2.5/4 x 0.0406 = 1.123025; x 1000/58/8.5 = 2.2779 ohm/km.
    """
    assert over_solid(8.5) == pytest.approx(1.123025, abs=1e-6)
    assert over_solid(8.5) * 1000 / 58 / 8.5 == pytest.approx(2.2779, abs=1e-4)
    assert over_solid(0.2) == over_solid(0.5) == pytest.approx(39.0 * 0.5 * 0.058)


def test_sizes_published_elsewhere() -> None:
    """28/0.30 as the standard-wall data sheet, 3.0 mm2 as ISO 6722 (from memory)."""
    rows = keyed("cables", "gauge")
    assert rows["2.0"]["strands"] == "28/0.30"
    assert float(rows["2.0"]["ohm_per_km_20c"]) == 9.4
    assert float(rows["3.0"]["ohm_per_km_20c"]) == 6.15


@pytest.mark.parametrize("gauge", ["4.5", "8.5", *(f"{size} AWG" for size in AWG)])
def test_resistance_of_sizes_that_nobody_lists(gauge: str) -> None:
    """Solid copper times the ratio of the published neighbours, to the places printed."""
    row = keyed("cables", "gauge")[gauge]
    area_mm2 = float(row["area_mm2"])
    assert area_mm2 not in published_ohms()
    expected = 1000 / 58 / area_mm2 * over_solid(area_mm2)
    places = 2 if expected >= 1 else 3
    assert abs(float(row["ohm_per_km_20c"]) - expected) <= 0.5 * 10**-places
    assert "the ratio of the neighbouring mm2 sizes" in row["place"]


def test_battery_cable_is_red_or_black() -> None:
    """The three battery sizes carry 110, 170 and 240 A (common practice), red and black only."""
    rows = [row for row in table("cables") if row["kind"] == "battery"]
    rated = {row["gauge"]: row["rated_amps"] for row in rows}
    assert rated == {"16.0": "110", "25.0": "170", "35.0": "240"}
    assert {row["colours"] for row in rows} == {"red black"}


@pytest.mark.parametrize(("size", "amps"), CFR_80_C.items())
def test_awg_ratings_are_33_cfr_183_425(size: int, amps: int) -> None:
    """An AWG row has the allowable amperes of table 5, 80 C column."""
    row = keyed("cables", "gauge")[f"{size} AWG"]
    assert Decimal(row["rated_amps"]) == amps
    assert (row["kind"], row["colours"]) == ("AWG", "all")
    assert row["source"].startswith("33 CFR 183.425")
    assert "table 5, 80 C column" in row["place"]


def rise_k(row: Row, amps: float, conductor_c: float) -> float:
    """How much warmer than the air one bare wire gets: the formula of the design, written out.

    13 q^0.88 / d^0.66 + q ln(d / (1.243 sqrt(mm2))) / (2 pi 0.1), q = I^2 r at the conductor.
    """
    ohm_per_m = float(row["ohm_per_km_20c"]) / 1000 * (1 + 0.00393 * (conductor_c - 20))
    q, across_mm = amps**2 * ohm_per_m, float(row["outside_mm"])
    bare_mm = 1.243 * math.sqrt(float(row["area_mm2"]))
    skin = q * math.log(across_mm / bare_mm) / (2 * math.pi * 0.1)
    return float(13 * q**0.88 / across_mm**0.66 + skin)


@pytest.mark.parametrize("size", THIN_AWG)
@pytest.mark.parametrize("conductor_c", [70, 80, 100])
def test_thin_awg_ratings_warm_as_number_18(size: int, conductor_c: float) -> None:
    """The current that warms one bare wire as 15 A warm No. 18, to 0.1 A, rounded down."""
    rows = keyed("cables", "gauge")
    most = rise_k(rows["18 AWG"], 15, conductor_c)
    amps = Decimal(rows[f"{size} AWG"]["rated_amps"])
    assert amps == round(amps, 1)
    row = rows[f"{size} AWG"]
    assert rise_k(row, float(amps), conductor_c) <= most
    assert most < rise_k(row, float(amps) + 0.1, conductor_c)


@pytest.mark.parametrize("gauge", [row[0] for row in THIN_WALL])
@pytest.mark.parametrize("conductor_c", [70, 100])
def test_thin_wall_ratings_rise_35_to_55_kelvin(gauge: str, conductor_c: float) -> None:
    """At its rating one bare thin-wall wire gets 35 to 55 K warmer than the air."""
    row = keyed("cables", "gauge")[gauge]
    assert 35 <= rise_k(row, float(row["rated_amps"]), conductor_c) <= 55


def test_insulation_temperatures() -> None:
    """Metric: ISO 6722 class B, 100 C (from memory); AWG: AC 43.13-1B table 11-9, 105 C column."""
    assert {row["max_c"] for row in table("cables") if row["kind"] != "AWG"} == {"100"}
    assert {row["max_c"] for row in table("cables") if row["kind"] == "AWG"} == {"105"}


def test_costs_rise_with_area_and_are_invented() -> None:
    """Along a range a thicker cable costs more a metre; every row says that it is invented."""
    for kind in ("thin wall", "battery", "AWG"):
        rows = [row for row in table("cables") if row["kind"] == kind]
        rows.sort(key=lambda row: float(row["area_mm2"]))
        costs = [Decimal(row["cost_per_m"]) for row in rows]
        assert all(0 < thin < thick for thin, thick in pairwise(costs)), kind
        assert all(row["place"].endswith("cost: invented") for row in rows)


def test_metric_and_awg_sizes_on_one_basis() -> None:
    """In one list by area a thicker cable conducts better, and its rating drops 12 % at most."""
    rows = sorted(table("cables"), key=lambda row: float(row["area_mm2"]))
    most = 0.0
    for thin, thick in pairwise(rows):
        assert float(thick["ohm_per_km_20c"]) < float(thin["ohm_per_km_20c"]), thick["gauge"]
        most = max(most, float(thin["rated_amps"]))
        assert float(thick["rated_amps"]) >= 0.88 * most, thick["gauge"]


def test_awg_areas_follow_astm_b258() -> None:
    """That of d = 0.127 mm x 92^((36-n)/39), to three figures; as printed where it was at hand."""
    rows = keyed("cables", "gauge")
    areas = {size: float(rows[f"{size} AWG"]["area_mm2"]) for size in AWG}
    for size, area_mm2 in areas.items():
        exact_mm2 = math.pi / 4 * (0.127 * 92 ** ((36 - size) / 39)) ** 2
        assert area_mm2 == pytest.approx(exact_mm2, rel=0.005)
        assert area_mm2 == float(f"{exact_mm2:.3g}")
    assert areas.items() >= AWG_MM2.items()


def test_cable_columns_add_up() -> None:
    """The metric columns add up to the published lists, so a slipped digit shows."""
    # 11 + 14 + 16.5 + 21 + 25 + 29 + 33 + 39 + 42 + 50 + 63 + 70 = 413.5
    assert total("cables", "rated_amps", kind="thin wall") == Decimal("413.5")
    # 1.7 + 1.9 + 2.1 + 2.4 + 2.8 + 3.0 + 3.4 + 3.7 + 4.1 + 4.3 + 5.6 + 6.0 = 41.0
    assert total("cables", "outside_mm", kind="thin wall") == Decimal("41.0")
    # 0.5 + 0.75 + 1 + 1.5 + 2 + 2.5 + 3 + 4 + 4.5 + 6 + 8.5 + 10 = 44.25
    assert total("cables", "area_mm2", kind="thin wall") == Decimal("44.25")
    # 6.4 + 8.5 + 11.3 + 15 + 20 + 25 + 35 + 50 + 70 + 100 + 130 + 175 = 646.2
    assert total("cables", "rated_amps", kind="AWG") == Decimal("646.2")


@pytest.mark.parametrize("kinds", [{"thin wall", "battery"}, {"AWG"}])
def test_thicker_cable_carries_more_and_resists_less(kinds: set[str]) -> None:
    """Along a range area, current and diameter rise and resistance falls."""
    rows = sorted(
        (row for row in table("cables") if row["kind"] in kinds),
        key=lambda row: float(row["area_mm2"]),
    )
    for thin, thick in pairwise(rows):
        for column in ("area_mm2", "rated_amps", "outside_mm"):
            assert float(thin[column]) < float(thick[column]), (thick["gauge"], column)
        assert float(thin["ohm_per_km_20c"]) > float(thick["ohm_per_km_20c"]), thick["gauge"]


def test_no_cable_beats_pure_copper() -> None:
    """Every resistance is 7 to 16 % over 1/58 ohm mm2/m: strands, and the maker's tolerance.

    IEC 60028 (from memory); the largest of the IEC 60228 class 5 limits is that of 1.5 mm2,
    13.3 x 1.5 x 0.058 = 1.157; ISO 6722's 3.0 mm2 (from memory) 6.15 x 3 x 0.058 = 1.070.
    """
    for row in table("cables"):
        ratio = float(row["ohm_per_km_20c"]) * float(row["area_mm2"]) * 58 / 1000
        assert 1.07 <= round(ratio, 3) <= 1.158, row["gauge"]


# --------------------------------------------------------------------------- colours


def test_colour_codes_are_the_standards() -> None:
    """The two-letter codes are IEC 60757's (GD and TQ from memory)."""
    codes = {row["iec60757"]: row["colour"] for row in table("colours") if row["iec60757"]}
    assert codes == pairs(
        "BK black, BN brown, RD red, OG orange, YE yellow, GN green, BU blue, VT purple, GY grey, "
        "WH white, PK pink, GD gold, TQ turquoise, SR silver"
    )


def test_colour_letters_are_bs_au_7() -> None:
    """The letters are BS AU 7's, twelve of them."""
    letters = {row["bs_au_7"]: row["colour"] for row in table("colours") if row["bs_au_7"]}
    assert letters == pairs(
        "B black, U blue, N brown, R red, P purple, G green, S grey, W white, LG light green, "
        "Y yellow, O orange, K pink"
    )


def test_no_word_names_two_colours() -> None:
    """Every word, code and other word of the table leads to one colour only."""
    words: dict[str, set[str]] = defaultdict(set)
    for row in table("colours"):
        others = row["also"].split("|") if row["also"] else []
        for word in (row["colour"], row["iec60757"], row["bs_au_7"], *others):
            words[word.casefold()].add(row["colour"])
    del words[""]
    assert {word: to for word, to in words.items() if len(to) > 1} == {}
    assert words["violet"] == {"purple"} and words["gray"] == words["slate"] == {"grey"}


def test_fourteen_or_fifteen_colours_can_be_had_plain() -> None:
    """About 14-15 plain colours can be had (common practice)."""
    plain = [row["plain"] for row in table("colours")]
    assert set(plain) == {"yes", "no"} and plain.count("yes") in (14, 15)


def test_hex_colours_are_well_formed_and_distinct() -> None:
    """Every colour has its own six-figure screen colour."""
    shades = [row["hex"] for row in table("colours")]
    assert all(shade[0] == "#" and len(bytes.fromhex(shade[1:])) == 3 for shade in shades)
    assert len(set(shades)) == len(shades)


# --------------------------------------------------------------------------- ends and terminals


def designed_ends() -> set[str]:
    """The names of end styles the design asks for."""
    names = set(PLAIN_ENDS)
    for half in ("", " socket", " joint"):
        names |= {f"bullet{half}", f"bullet{half} 4.7"}
        names |= {f"blade{half} {size}" for size in ("2.8", "4.8", "6.3", "9.5")}
        names |= {f"multiway {size}{half}" for size in ("2.8", "6.3")}
        names |= {f"sealed {size}{half}" for size in ("1.5", "2.8")}
    return names


def test_every_end_style_of_the_design_exists() -> None:
    """The ends table has the design's styles and no other."""
    assert {row["end"] for row in table("ends")} == designed_ends()


def test_halves_say_what_the_name_says() -> None:
    """An end called socket is a socket, one called joint a joint, the others plugs or neither."""
    for row in table("ends"):
        words = row["end"].split()
        mating = words[0] in FAMILIES_WITH_MATES
        half = next((word for word in ("socket", "joint") if word in words), "plug")
        assert row["half"] == (half if mating else ""), row["end"]


def test_plug_and_socket_name_each_other() -> None:
    """A plug's mate is the socket of its family and the other way about; a joint needs none."""
    ends = keyed("ends", "end")
    opposite = {"plug": "socket", "socket": "plug"}
    for row in ends.values():
        if row["half"] not in opposite:
            assert row["mates"] == "", row["end"]
            continue
        mate = ends[row["mates"]]
        assert mate["mates"] == row["end"] and mate["family"] == row["family"]
        assert mate["half"] == opposite[row["half"]], row["end"]


def limits() -> dict[tuple[str, str], list[tuple[Decimal, Decimal]]]:
    """The size ranges of the terminals by family and half, smallest first."""
    ranges: dict[tuple[str, str], list[tuple[Decimal, Decimal]]] = defaultdict(list)
    for row in table("terminals"):
        size = Decimal(row["min_mm2"]), Decimal(row["max_mm2"])
        ranges[row["family"], row["half"]].append(size)
    return {key: sorted(sizes) for key, sizes in ranges.items()}


@pytest.mark.parametrize(("family", "half"), limits())
def test_terminal_ranges_are_contiguous(family: str, half: str) -> None:
    """Each terminal of a family starts where the one before it stops."""
    sizes = limits()[family, half]
    assert all(low < high for low, high in sizes)
    assert [low for low, _ in sizes[1:]] == [high for _, high in sizes[:-1]]


def test_terminal_names_carry_their_range() -> None:
    """A terminal's name ends in its size range as the columns give it."""
    for row in table("terminals"):
        assert row["item"].endswith(f", {row['min_mm2']}-{row['max_mm2']} mm2"), row["item"]


def terminal_halves(end: Row) -> list[str]:
    """The terminal halves an end style takes; a 4.7 mm bullet is a plug in every style."""
    if end["family"] == "bullet 4.7":
        return ["plug"]
    return ["plug", "socket"] if end["half"] == "joint" else [end["half"]]


def test_end_ranges_are_those_of_their_terminals() -> None:
    """An end takes what its terminals take; solder and bare ends have no limit."""
    sizes = limits()
    for row in table("ends"):
        if not row["family"]:
            assert (row["end"] in {"solder", "bare"}, row["min_mm2"], row["max_mm2"]) == (
                True,
                "",
                "",
            )
            continue
        for half in terminal_halves(row):
            ranges = sizes[row["family"], half]
            assert Decimal(row["min_mm2"]) == ranges[0][0], row["end"]
            assert Decimal(row["max_mm2"]) == ranges[-1][1], row["end"]


def test_no_terminal_is_without_an_end_style() -> None:
    """Every terminal family and half is used by some end style."""
    used = {(row["family"], half) for row in table("ends") for half in terminal_halves(row)}
    assert set(limits()) == used - {("", "")}


def test_ranges_of_the_end_styles() -> None:
    """The styles take the summed areas that are usual for them."""
    ranges = {row["end"]: f"{row['min_mm2']}-{row['max_mm2']}" for row in table("ends")}
    expected = {
        **{"bullet joint": "0.5-3.0", "bullet joint 4.7": "0.5-4.5", "blade 2.8": "0.5-1.5"},
        **{"blade 4.8": "0.5-2.5", "blade 6.3": "0.5-6.0", "blade 9.5": "4.0-10.0"},
        **{"ring M4": "0.5-6.0", "ring M8": "0.5-10.0", "lug M8": "6.0-35.0"},
        **{"splice": "0.5-10.0", "multiway 2.8": "0.5-2.5", "multiway 6.3": "0.5-6.0"},
        **{"sealed 1.5": "0.5-2.5", "sealed 2.8": "0.5-6.0"},
    }
    assert expected.items() <= ranges.items()


def test_closures_by_family() -> None:
    """Open bullets and blades take covers, lugs and splices shrink, sealed contacts seals."""
    expected = {"bullet": "cover", "blade": "cover", "lug": "shrink", "splice": "shrink"}
    expected["sealed"] = "seal"
    for row in table("ends"):
        word = row["end"].split()[0]
        closure = "" if row["family"] == "bullet 4.7" else expected.get(word, "")
        assert row["closure"] == closure, row["end"]


def test_every_covered_half_has_one_cover() -> None:
    """A family closed with covers has exactly one cover for each half, and no cover is idle."""
    wanted = {
        (row["family"], half)
        for row in table("ends")
        if row["closure"] == "cover"
        for half in terminal_halves(row)
    }
    covers = [(row["family"], row["half"]) for row in table("covers")]
    assert sorted(covers) == sorted(wanted)


def test_ends_name_housings_that_exist() -> None:
    """A housing family named by an end has parts for the half, and no housing is idle."""
    parts = {(row["family"], row["half"]) for row in table("housings")}
    wanted = set()
    for row in table("ends"):
        if row["housing"]:
            halves = ["socket"] if row["housing"] == "bullet 4.7" else terminal_halves(row)
            wanted |= {(row["housing"], half) for half in halves}
    assert parts == wanted


def test_british_bullets_share_a_sleeved_connector_of_two_or_four_ways() -> None:
    """A 4.7 mm socket is a sleeved part, not a crimp, so it has no terminal and no cover."""
    ways = [row["ways"] for row in table("housings") if row["family"] == "bullet 4.7"]
    assert ways == ["2", "4"]
    assert ("bullet 4.7", "socket") not in limits()
    ends = keyed("ends", "end")
    assert ends["bullet 4.7"]["housing"] == ""
    assert ends["bullet socket 4.7"]["housing"] == ends["bullet joint 4.7"]["housing"] != ""


def test_contact_ratings_and_strip_lengths_are_sound() -> None:
    """Mating contacts have a current rating, the others none, and every end a strip length."""
    for row in table("ends"):
        assert bool(row["amps"]) == bool(row["half"]), row["end"]
        assert 4 <= int(row["strip_mm"]) <= 15, row["end"]


def test_both_halves_of_a_family_are_rated_alike() -> None:
    """Plug, socket and joint of one family share amps, strip, closure and range."""
    columns = ("amps", "strip_mm", "closure", "min_mm2", "max_mm2")
    kinds: dict[str, set[tuple[str, ...]]] = defaultdict(set)
    for row in table("ends"):
        kinds[row["family"]].add(tuple(row[column] for column in columns))
    assert [family for family, kind in kinds.items() if family and len(kind) > 1] == []


def seal_ranges(family: str) -> list[tuple[Decimal, Decimal]]:
    """The insulation diameters that a family's seals take, smallest first."""
    rows = [row for row in table("seals") if row["family"] == family and row["max_mm"]]
    return sorted((Decimal(row["min_mm"]), Decimal(row["max_mm"])) for row in rows)


@pytest.mark.parametrize("family", ["sealed 1.5", "sealed 2.8"])
def test_seals_cover_every_cable_their_contacts_take(family: str) -> None:
    """Seal ranges are contiguous and hold every cable whose area the contact takes."""
    seals = seal_ranges(family)
    assert [low for low, _ in seals[1:]] == [high for _, high in seals[:-1]]
    end = keyed("ends", "end")[family]
    for row in table("cables"):
        if Decimal(end["min_mm2"]) <= Decimal(row["area_mm2"]) <= Decimal(end["max_mm2"]):
            assert seals[0][0] <= Decimal(row["outside_mm"]) <= seals[-1][1], row["gauge"]


def test_seal_names_carry_their_range() -> None:
    """A seal's name ends in its range as the columns give it, 1.2 mm to 4.4 mm over all."""
    for row in (row for row in table("seals") if row["max_mm"]):
        assert row["item"].endswith(f", {row['min_mm']}-{row['max_mm']} mm"), row["item"]
    ranges = seal_ranges("sealed 2.8")
    assert (ranges[0][0], ranges[-1][1]) == (Decimal("1.2"), Decimal("4.4"))


def test_cavity_plugs_have_no_range() -> None:
    """One for the contacts of each sealed family, found by that."""
    plugs = {row["family"]: row["item"] for row in table("seals") if not row["max_mm"]}
    assert plugs == {f"sealed {mm}": f"cavity plug, {mm} mm contact" for mm in ("1.5", "2.8")}


def test_lugs_alone_have_a_barrel() -> None:
    """Outside of the barrel for 10, 16, 25 and 35 mm2, DIN 46235 (from memory)."""
    barrels = {"10.0": "6.0", "16.0": "8.5", "25.0": "10.0", "35.0": "12.5"}
    for row in table("terminals"):
        lug = row["family"].startswith("lug ")
        assert row["barrel_mm"] == (barrels[row["max_mm2"]] if lug else ""), row["item"]


@pytest.mark.parametrize(
    ("family", "ways"),
    [
        ("multiway 2.8", "2 3 4 6 8 9"),
        ("multiway 6.3", "1 2 3 4 6 8"),
        ("sealed 1.5", "1 2 3 4 5 6"),
        ("sealed 2.8", "1 2 3 4"),
    ],
)
def test_housings_come_in_both_halves(family: str, ways: str) -> None:
    """Each half of a family has the same numbers of ways, and its name says which."""
    rows = [row for row in table("housings") if row["family"] == family]
    for half in ("plug", "socket"):
        assert [row["ways"] for row in rows if row["half"] == half] == ways.split()
    assert all(row["item"].endswith(f", {row['ways']} way") for row in rows)


# --------------------------------------------------------------------------- coverings and shrink


@pytest.mark.parametrize(
    ("covering", "column", "sizes"),
    [
        ("tape", "width_mm", "12 15 19 25"),
        ("tube", "bore_mm", "2 3 4 5 6 8 10 12 14 16 20 25 32"),
        ("braid", "bore_mm", "3 4 6 8 10 12 15 20 25 30 40"),
    ],
)
def test_covering_sizes(covering: str, column: str, sizes: str) -> None:
    """Tape widths are the usual ones (common practice), tube and braid bores from memory."""
    rows = [row for row in table("coverings") if row["covering"] == covering]
    assert [row[column] for row in rows] == sizes.split()
    assert all(f" {row[column]} mm" in row["item"] for row in rows)


def test_tape_has_a_width_only_and_sleeving_a_bore_and_an_outside() -> None:
    """Tape is bought by width; tube and braid have walls of 0.5 to 0.8 mm (from memory)."""
    for row in table("coverings"):
        if row["covering"] == "tape":
            assert row["width_mm"] and not row["bore_mm"] + row["outside_mm"]
        elif row["covering"] in ("tube", "braid"):
            wall_mm = (Decimal(row["outside_mm"]) - Decimal(row["bore_mm"])) / 2
            assert not row["width_mm"] and Decimal("0.5") <= wall_mm <= Decimal("0.8"), row["item"]


def test_every_covering_of_ours_is_of_a_fixed_size() -> None:
    """Expandable ones are for a workshop's own catalogue, where they go before ours."""
    columns = ("least_mm", "most_mm", "shortening_percent")
    assert not any(row[column] for row in table("coverings") for column in columns)


def test_every_tube_has_a_braid_that_goes_over_it() -> None:
    """The largest braid clears the largest tube by the house rule's 15 per cent."""
    rows = table("coverings")
    tubes = [Decimal(row["outside_mm"]) for row in rows if row["covering"] == "tube"]
    braids = [Decimal(row["bore_mm"]) for row in rows if row["covering"] == "braid"]
    # 32 + 2 x 0.8 = 33.6; 33.6 x 1.15 = 38.64, and 38.64 <= 40
    assert max(tubes) == Decimal("33.6")
    assert max(tubes) * Decimal("1.15") <= max(braids)


def test_every_braid_has_plain_shrink_for_its_ends() -> None:
    """For each braid one plain shrink is wider as supplied and narrower when recovered."""
    shrink = [row for row in table("shrink") if row["kind"] == "plain"]
    for braid in (row for row in table("coverings") if row["covering"] == "braid"):
        outside = Decimal(braid["outside_mm"])
        sizes = ((Decimal(row["supplied_mm"]), Decimal(row["recovered_mm"])) for row in shrink)
        assert any(supplied > outside > recovered for supplied, recovered in sizes), braid["item"]


@pytest.mark.parametrize(("kind", "ratio"), [("plain", 2), ("adhesive", 3)])
def test_shrink_recovers_by_its_ratio(kind: str, ratio: int) -> None:
    """Recovered bore is the supplied bore over 2 or 3, within 0.4 mm of trade rounding."""
    rows = [row for row in table("shrink") if row["kind"] == kind]
    assert rows
    for row in rows:
        recovered = Decimal(row["supplied_mm"]) / ratio
        assert abs(recovered - Decimal(row["recovered_mm"])) < Decimal("0.4"), row["item"]
        assert f" {row['supplied_mm']} mm" in row["item"]


def test_plain_shrink_is_an_inch_series() -> None:
    """As supplied 1/16 to 2 in, recovered to half of that; x 25.4 mm, to 0.1 mm."""
    inches = ["1/16", "3/32", "1/8", "3/16", "1/4", "3/8", "1/2", "3/4", "1", "3/2", "2"]
    rows = [row for row in table("shrink") if row["kind"] == "plain"]
    for inch, row in zip(inches, rows, strict=True):
        supplied = Fraction(inch) * Fraction("25.4")
        assert abs(Fraction(row["supplied_mm"]) - supplied) <= Fraction("0.05"), row["item"]
        assert abs(Fraction(row["recovered_mm"]) - supplied / 2) <= Fraction("0.05"), row["item"]


def test_shrink_columns_add_up() -> None:
    """The supplied bores add up to the inch and the metric series (common practice)."""
    # 1.6 + 2.4 + 3.2 + 4.8 + 6.4 + 9.5 + 12.7 + 19.1 + 25.4 + 38.1 + 50.8 = 174.0
    assert total("shrink", "supplied_mm", kind="plain") == Decimal("174.0")
    # 3 + 6 + 9 + 12 + 18 + 24 + 40 = 112
    assert total("shrink", "supplied_mm", kind="adhesive") == 112


# --------------------------------------------------------------------------- fuses


def colours_by_rating(kind: str) -> dict[str, str]:
    """The fuse colours of a kind by rating."""
    return {row["amps"]: row["colour"] for row in table("fuses") if row["kind"] == kind}


def test_blade_fuses_are_iso_8820_3() -> None:
    """Thirteen ratings with their colours, as marked (common practice); violet is purple here."""
    assert colours_by_rating("blade") == pairs(
        "1 black, 2 grey, 3 purple, 4 pink, 5 tan, 7.5 brown, 10 red, 15 blue, 20 yellow, "
        "25 clear, 30 green, 35 blue-green, 40 amber"
    )


def test_mini_fuses_wear_the_colours_of_the_blade_fuses() -> None:
    """Mini fuses run from 2 to 30 A in the same colours (common practice)."""
    mini, blade = colours_by_rating("mini"), colours_by_rating("blade")
    assert list(mini) == ["2", "3", "4", "5", "7.5", "10", "15", "20", "25", "30"]
    assert mini == {amps: blade[amps] for amps in mini}


def test_maxi_fuses_have_colours_of_their_own() -> None:
    """Seven ratings, 20 to 80 A, as marked (common practice); orange is called amber here."""
    assert colours_by_rating("maxi") == pairs(
        "20 yellow, 30 green, 40 amber, 50 red, 60 blue, 70 tan, 80 clear"
    )


def test_torpedo_fuses_are_din_72581_1() -> None:
    """Four ratings with their colours, DIN 72581-1."""
    assert colours_by_rating("torpedo") == pairs("5 yellow, 8 white, 16 red, 25 blue")


def test_fuse_ratings_add_up() -> None:
    """The ratings of each kind add up, so a slipped digit shows."""
    # 1+2+3+4+5+7.5+10+15+20+25+30+35+40
    assert total("fuses", "amps", kind="blade") == Decimal("197.5")
    # 2+3+4+5+7.5+10+15+20+25+30
    assert total("fuses", "amps", kind="mini") == Decimal("121.5")
    # 20+30+40+50+60+70+80
    assert total("fuses", "amps", kind="maxi") == 350
    # 5+8+10+15+20+25+30+35 (from memory)
    assert total("fuses", "amps", kind="glass") == 148
    # 30+40+50+60+70+80+100 (from memory; ISO 8820-5 goes from 30 to 500 A)
    assert total("fuses", "amps", kind="strip") == 430


def test_fuse_names_carry_the_rating() -> None:
    """A fuse is called by its kind and its rating, as in `blade fuse, 7.5 A`."""
    rows = keyed("fuses", "item")
    assert {"blade fuse, 7.5 A", "mini blade fuse, 5 A"} <= set(rows)
    assert all(item.endswith(f", {row['amps']} A") for item, row in rows.items())


def test_fuse_holders() -> None:
    """A holder word stands for one kind of fuse, in these numbers of ways."""
    found: dict[str, str] = defaultdict(str)
    for row in table("fuse_holders"):
        found[f"{row['holder']}, {row['kind']}"] += f" {row['ways']}"
    assert found == {
        **{"in-line, blade": " 1", "in-line mini, mini": " 1", "maxi holder, maxi": " 1"},
        **{"glass holder, glass": " 1", "bolted strip holder, strip": " 1"},
        **{"fuse box, blade": " 4 6 8 10 12", "mini fuse box, mini": " 4 6 8"},
        **{"glass fuse box, glass": " 4 8", "torpedo fuse box, torpedo": " 4 6 8"},
    }


def test_every_fuse_kind_has_a_holder() -> None:
    """No fuse is without a holder and no holder without a fuse."""
    assert {row["kind"] for row in table("fuses")} == {row["kind"] for row in table("fuse_holders")}


# --------------------------------------------------------------------------- loads


KINDS = {"headlamp", "lamp", "ignition", "charging", "starter", "starter control", "other"}
RUNS = {"always", "flashing", "brief", "starting"}


def test_a_load_has_watts_or_amps_not_both() -> None:
    """A row gives watts or amps, its kind, and when it runs."""
    for row in table("loads"):
        assert bool(row["watts"]) != bool(row["amps"]), row["load"]
        assert Decimal(row["watts"] or row["amps"]) > 0, row["load"]
        assert row["kind"] in KINDS, row["load"]
        assert row["runs"] in RUNS, row["load"]
        assert row["volts"] in {"", "6", "12", "24"}, row["load"]


def test_a_load_is_for_any_voltage_or_for_the_ones_it_names() -> None:
    """A load with a row for any voltage has no other row, and all its rows are of one kind."""
    rows: dict[str, list[Row]] = defaultdict(list)
    for row in table("loads"):
        rows[row["load"]].append(row)
    for load, found in rows.items():
        volts = [row["volts"] for row in found]
        assert volts == [""] or volts == sorted(volts, key=int), load
        assert len({(row["kind"], row["runs"]) for row in found}) == 1, load


# Rated watts at 6, 12 and 24 V, `-` where the lamp is not made. H1, H3 and the 60 W of H4 as a
# public list of the categories of UN regulation 37 has them, S3 as its sheet (revision 2); H7,
# H8, H11 and the others at 12 V as marked; the rest from memory. Made for: IEC 60810 table 3.
HEADLAMPS = {
    **dict.fromkeys(("H1", "H3", "H4 dip"), "55 55 70"),
    **{"H4 main": "60 60 75", "H8": "- 35 -", "S3": "15 15 -"},
    **dict.fromkeys(("H7", "H11"), "- 55 70"),
    **dict.fromkeys(("HS1 main", "HS1 dip", "S2 main", "S2 dip"), "35 35 -"),
    **{"R2 main": "45 45 55", "R2 dip": "40 40 50"},
    **dict.fromkeys(("S1 main", "S1 dip"), "25 25 -"),
}


def test_headlamps_have_their_watts_at_each_voltage() -> None:
    """A headlamp filament has its rated watts at 6, 12 and 24 V, and no other row."""
    found: dict[str, dict[str, str]] = defaultdict(dict)
    for row in table("loads"):
        if row["kind"] == "headlamp" and row["volts"]:
            found[row["load"]][row["volts"]] = row["watts"]
    volts = ("6", "12", "24")
    assert found == {
        load: {v: rated for v, rated in zip(volts, watts.split(), strict=True) if rated != "-"}
        for load, watts in HEADLAMPS.items()
    }


def test_other_bulbs_are_called_by_their_watts() -> None:
    """The designation carries the rated watts (UN regulation 37, 3.1.2), at any voltage."""
    rows = keyed("loads", "load")
    names = ["P21W", "PY21W", "R5W", "R10W", "RY10W", "C5W", "T4W", "W1.2W", "W3W", "W5W", "WY5W"]
    for name in names:
        rated = re.sub("[A-Z]", "", name)
        assert (rows[name]["volts"], rows[name]["watts"]) == ("", rated), name
    for name, rated in (("P21/5W stop", "21"), ("P21/5W tail", "5")):
        assert (rows[name]["volts"], rows[name]["watts"]) == ("", rated), name


@pytest.mark.parametrize(("load", "watts"), [("PY21/5W indicator", "21"), ("PY21/5W side", "5")])
def test_py21_5w_is_its_sheet_of_un_r37(load: str, watts: str) -> None:
    """Rated 21/5 W, at 12 V only: UN regulation 37, sheet PY21/5W."""
    row = keyed("loads", "load")[load]
    assert (row["volts"], row["watts"]) == ("12", watts)
    assert (row["source"], row["place"].split(";")[0]) == ("UN regulation 37", "sheet PY21/5W")


def test_headlamp_is_reckoned_as_five_amps() -> None:
    """A 55 W headlamp bulb is reckoned as 60 W; 60 / 12 = 5 A (common practice)."""
    row = keyed("loads", "load")["55 W headlamp as reckoned"]
    assert row["source"] == "common practice"
    assert Decimal(row["watts"]) / 12 == 5


# --------------------------------------------------------------------------- the rest


@pytest.mark.parametrize(
    ("circuit", "kind"),
    [
        ("dip beam", "headlamp"),
        ("left indicator", "lamp"),
        ("rear number plate", "lamp"),
        ("stop lamp", "lamp"),
        ("engine stop", "ignition"),
        ("ignition coil feed", "ignition"),
        ("points", "ignition"),
        # a charge lamp is a lamp: it is no part of what charges
        ("charge lamp", "lamp"),
        ("regulator to battery", "charging"),
        ("starter relay coil", "starter control"),
        ("starter cable", "starter"),
        ("horn", "other"),
        ("battery feed", ""),
    ],
)
def test_longest_phrase_tells_the_kind(circuit: str, kind: str) -> None:
    """The longest phrase found in a circuit's name, whole words only, tells its kind."""
    kinds = {row["word"]: row["kind"] for row in table("kinds")}
    found = [word for word in kinds if f" {word} " in f" {circuit} "]
    assert (kinds[max(found, key=len)] if found else "") == kind


def test_kinds_are_seven_and_words_are_lower_case() -> None:
    """The words are in lower case, stand for one of seven kinds, and may say how long."""
    rows = table("kinds")
    assert {row["kind"] for row in rows} == KINDS
    assert {row["runs"] for row in rows} == RUNS | {""}
    assert all(row["word"] == row["word"].lower() for row in rows)


def test_what_charges_the_battery_from_alternating_current_gets_hot() -> None:
    """It turns what the battery does not take into heat (common practice); nothing else does."""
    assert {row["word"] for row in table("kinds") if row["hot"]} == {"regulator", "rectifier"}
    assert {row["hot"] for row in table("kinds")} == {"yes", ""}


def test_what_starts_the_engine_is_on_only_then() -> None:
    """A row of a starter's kinds runs while starting, and no other row does."""
    for row in table("kinds") + table("loads"):
        starts = row["kind"] in {"starter", "starter control"}
        assert (row["runs"] == "starting") == starts, row


# Permissible drops at 12 V, plus lead and whole way: an automotive handbook (from memory), for
# ignition as for lamps; starter control and all else 1.5 (1.9 V in the handbook for the control).
# Starter's leads: TM 10-3930-671-24, volt drop tests, 0.20 V per 100 A on each side, so 0.4.
DROPS = {
    "headlamp": ("0.3", "0.6"),
    "lamp over 15 W": ("", "0.9"),
    "lamp": ("", "0.6"),
    "charging": ("", "0.4"),
    "ignition": ("", "0.6"),
    "starter control": ("", "1.5"),
    "other": ("", "1.5"),
    "starter": ("0.2", "0.4"),
}


def test_permissible_drops() -> None:
    """Volts of the plus lead and of the whole way, by kind of load."""
    rows = {row["kind"]: (row["feed_volts"], row["volts"]) for row in table("drops")}
    assert rows == DROPS
    for row in table("drops"):
        seen = row["source"].startswith(("TM 10-3930", "Swiss trade journal"))
        assert seen or "from memory" in row["place"], row


def test_every_kind_has_a_drop() -> None:
    """What kinds.csv and loads.csv call a kind has a row, and so has a lamp over 15 W."""
    used = {row["kind"] for name in ("kinds", "loads") for row in table(name)}
    assert used | {"lamp over 15 W"} == {row["kind"] for row in table("drops")}


def test_labour_names_every_operation_once() -> None:
    """Each operation has its unit and a time above nothing, marked as invented."""
    rows = table("labour")
    found = ", ".join(f"{row['operation']}: {row['per']}" for row in rows)
    assert found == (
        "cut and strip: wire, crimp: terminal, cover: cover, seal: seal, splice: splice, "
        "wrap: metre, tube: metre, braid: metre, shrink: end, breakout: breakout, "
        "housing: housing, fuse: fuse, continuity test: wire, fit: component"
    )
    assert all(0 < Decimal(row["minutes"]) <= 30 for row in rows)
    assert {row["source"] for row in rows} == {"invented"}
