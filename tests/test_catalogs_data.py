"""The tables in catalogs/ against published figures typed here by hand.

Only the csv module reads them here, so a fault in the program cannot hide a fault in the data.
An expected value is the document's own, or arithmetic written out beside it. "From memory"
marks a value whose document was not at hand.
"""

import csv
import math
from collections import defaultdict
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest

CATALOGS = Path(__file__).parent.parent / "catalogs"
Row = dict[str, str]

# Columns (without source and place), the columns that name a row, and the number of rows.
TABLES: dict[str, tuple[str, str, int]] = {
    # 12 thin wall + 3 battery + 12 AWG
    "cables": (
        "gauge area_mm2 kind strands rated_amps outside_mm ohm_per_km_20c max_c ref_c colours",
        "gauge",
        27,
    ),
    "colour_uses": ("word colour", "word", 28),
    "colours": ("colour iec60757 bs_au_7 also hex plain", "colour", 16),
    # 6 bullets, 12 blades, 5 rings, 1 fork, 3 lugs, splice, solder, bare, 12 in housings
    "ends": ("end family half mates min_mm2 max_mm2 strip_mm closure amps housing", "end", 42),
    # bullets 6 + 4, blades 2 x (2 + 2 + 3 + 2), rings 3 + 4 x 4, fork 3, lugs 3 x 4, splice 4,
    # housing contacts 2 x (2 + 3 + 3 + 3)
    "terminals": ("item family half min_mm2 max_mm2", "item", 88),
    "covers": ("item family half", "item", 10),
    "seals": ("item family min_mm max_mm", "item", 6),
    # 2 sleeved connectors + 2 halves x (6 + 6 + 6 + 4)
    "housings": ("item family half ways", "item", 46),
    # 4 tapes + 13 tubes + 11 braids
    "coverings": ("item covering width_mm bore_mm outside_mm", "item", 28),
    # 11 plain + 7 adhesive
    "shrink": ("item kind supplied_mm recovered_mm", "item", 18),
    # 13 blade + 10 mini + 7 maxi + 8 glass + 4 torpedo
    "fuses": ("item kind amps colour", "item", 42),
    # 4 in-line sorts + boxes 5 + 3 + 2 + 3
    "fuse_holders": ("item holder kind ways", "item", 17),
    "loads": ("load watts amps duty test_watts test_volts", "load", 57),
    # 12 + 5
    "grouping": ("table wires factor", "table wires", 17),
    "kinds": ("word kind", "word", 90),
    "labour": ("operation per minutes", "operation", 14),
    "words": ("word means", "word", 258),
}

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
    "0.5": 39.0,
    "0.75": 26.0,
    "1.0": 19.5,
    "1.5": 13.3,
    "2.5": 7.98,
    "4.0": 4.95,
    "6.0": 3.30,
    "10.0": 1.91,
    "16.0": 1.21,
    "25.0": 0.780,
    "35.0": 0.554,
}

# FAA AC 43.13-1B CHG 1, table 11-9, page 11-23: size, A in a bundle at 105 C rating and 70 C
# ambient, ohm per 1000 ft at 20 C, tin-plated.
FAA_11_9 = [
    (24, 2.5, 28.40),
    (22, 3, 16.20),
    (20, 4, 9.88),
    (18, 6, 6.23),
    (16, 7, 4.81),
    (14, 10, 3.06),
    (12, 13, 2.02),
    (10, 17, 1.26),
    (8, 38, 0.70),
    (6, 50, 0.44),
    (4, 68, 0.28),
    (2, 95, 0.18),
]

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


def total(name: str, column: str, **only: str) -> Decimal:
    """The sum of a column's filled cells, over the rows whose columns are as in `only`."""
    rows = [row for row in table(name) if all(row[key] == word for key, word in only.items())]
    return sum((Decimal(row[column]) for row in rows if row[column]), Decimal(0))


def test_folder_holds_these_tables_and_no_other() -> None:
    """Every table of the catalogue is tested here."""
    assert {path.stem for path in CATALOGS.glob("*.csv")} == set(TABLES)


@pytest.mark.parametrize("name", TABLES)
def test_columns_end_in_source_and_place(name: str) -> None:
    """A table has its columns in order, and every row has one cell for each."""
    with (CATALOGS / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        head, *rows = list(csv.reader(lines, strict=True))
    assert head == [*TABLES[name][0].split(), "source", "place"]
    assert [row for row in rows if len(row) != len(head)] == []


@pytest.mark.parametrize("name", TABLES)
def test_files_are_plain_utf8_without_stray_spaces(name: str) -> None:
    """A table is UTF-8 with no mark at its start, Unix line ends and no padded cells."""
    raw = (CATALOGS / f"{name}.csv").read_bytes()
    assert not raw.startswith(b"\xef\xbb\xbf") and b"\r" not in raw and raw.endswith(b"\n")
    cells = [cell for row in table(name) for cell in row.values()]
    assert [cell for cell in cells if cell != " ".join(cell.split())] == []


@pytest.mark.parametrize("name", TABLES)
def test_every_row_says_where_it_comes_from(name: str) -> None:
    """A row has a source, and a place in it unless no document stands behind the row."""
    no_document = {"common practice", "from memory", "invented"}
    bare = [row for row in table(name) if not row["source"]]
    lost = [row for row in table(name) if not row["place"] and row["source"] not in no_document]
    assert (bare, lost) == ([], [])


@pytest.mark.parametrize("name", TABLES)
def test_keys_are_unique_without_regard_to_case(name: str) -> None:
    """No two rows of a table answer to the same name."""
    columns = TABLES[name][1].split()
    keys = [tuple(row[column].casefold() for column in columns) for row in table(name)]
    assert all("" not in key for key in keys)
    assert len(set(keys)) == len(keys)


@pytest.mark.parametrize("name", TABLES)
def test_row_counts(name: str) -> None:
    """No row was lost or doubled: the counts are added up beside TABLES."""
    assert len(table(name)) == TABLES[name][2]


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


@pytest.mark.parametrize(("gauge", "ohm_per_km"), IEC_60228.items())
def test_resistance_is_iec_60228_class_5(gauge: str, ohm_per_km: float) -> None:
    """A size that IEC 60228 lists has its class 5 resistance."""
    assert float(keyed("cables", "gauge")[gauge]["ohm_per_km_20c"]) == ohm_per_km


def test_resistance_of_sizes_outside_iec_60228() -> None:
    """The other metric sizes: 28/0.30 as published, the rest from 1/58 ohm mm2/m."""
    rows = keyed("cables", "gauge")
    # Standard-wall data sheet: 28/0.30 has 0.0094 ohm/m; 0.0094 x 1000 = 9.4 ohm/km.
    assert rows["2.0"]["strands"] == "28/0.30"
    assert float(rows["2.0"]["ohm_per_km_20c"]) == 9.4
    # IEC 60028 (from memory), 1/58: 1000 / 174 = 5.747; 1000 / 261 = 3.831; 1000 / 493 = 2.028
    expected = {"3.0": "5.75", "4.5": "3.83", "8.5": "2.03"}
    assert {gauge: rows[gauge]["ohm_per_km_20c"] for gauge in expected} == expected
    assert all("1/58 ohm mm2/m" in rows[gauge]["place"] for gauge in expected)


def test_battery_cable_is_red_or_black_and_from_memory() -> None:
    """The three battery sizes carry 110, 170 and 240 A (from memory), red and black only."""
    rows = [row for row in table("cables") if row["kind"] == "battery"]
    assert [(row["gauge"], row["rated_amps"]) for row in rows] == [
        ("16.0", "110"),
        ("25.0", "170"),
        ("35.0", "240"),
    ]
    assert {row["colours"] for row in rows} == {"red black"}
    assert all(row["source"].startswith("from memory") for row in rows)


@pytest.mark.parametrize(("size", "amps", "ohm_per_kft"), FAA_11_9)
def test_awg_rows_are_faa_table_11_9(size: int, amps: float, ohm_per_kft: float) -> None:
    """An AWG row has the table's bundled current and its resistance per km."""
    row = keyed("cables", "gauge")[f"{size} AWG"]
    assert float(row["rated_amps"]) == amps
    # 1000 ft = 0.3048 km; two decimals are within 0.005 ohm/km.
    assert abs(float(row["ohm_per_km_20c"]) - ohm_per_kft / 0.3048) <= 0.005
    assert (row["kind"], row["max_c"], row["ref_c"]) == ("AWG", "105", "70")
    assert "bundled rating" in row["place"] and f"{ohm_per_kft:.2f} ohm" in row["place"]


@pytest.mark.parametrize("size", [size for size, _, _ in FAA_11_9])
def test_awg_area_follows_astm_b258(size: int) -> None:
    """An AWG area is that of d = 0.127 mm x 92^((36-n)/39), to three figures."""
    diameter_mm = 0.127 * 92 ** ((36 - size) / 39)
    exact_mm2 = math.pi / 4 * diameter_mm**2
    area_mm2 = float(keyed("cables", "gauge")[f"{size} AWG"]["area_mm2"])
    assert area_mm2 == pytest.approx(exact_mm2, rel=0.005)
    assert area_mm2 == float(f"{exact_mm2:.3g}")


def test_awg_areas_as_printed_in_astm_b258() -> None:
    """The areas agree with the standard's printed table where it was at hand."""
    rows = keyed("cables", "gauge")
    assert {size: float(rows[f"{size} AWG"]["area_mm2"]) for size in AWG_MM2} == AWG_MM2


def test_cable_columns_add_up() -> None:
    """The metric columns add up to the published lists, so a slipped digit shows."""
    # 11 + 14 + 16.5 + 21 + 25 + 29 + 33 + 39 + 42 + 50 + 63 + 70 = 413.5
    assert total("cables", "rated_amps", kind="thin wall") == Decimal("413.5")
    # 1.7 + 1.9 + 2.1 + 2.4 + 2.8 + 3.0 + 3.4 + 3.7 + 4.1 + 4.3 + 5.6 + 6.0 = 41.0
    assert total("cables", "outside_mm", kind="thin wall") == Decimal("41.0")
    # 0.5 + 0.75 + 1 + 1.5 + 2 + 2.5 + 3 + 4 + 4.5 + 6 + 8.5 + 10 = 44.25
    assert total("cables", "area_mm2", kind="thin wall") == Decimal("44.25")
    # 2.5 + 3 + 4 + 6 + 7 + 10 + 13 + 17 + 38 + 50 + 68 + 95 = 313.5
    assert total("cables", "rated_amps", kind="AWG") == Decimal("313.5")


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


def test_no_metric_cable_beats_pure_copper() -> None:
    """No resistance is below 1/58 ohm mm2/m over the nominal area (IEC 60028, from memory)."""
    for row in table("cables"):
        if row["kind"] != "AWG":
            least = 1000 / 58 / float(row["area_mm2"])
            assert float(row["ohm_per_km_20c"]) >= least - 0.005, row["gauge"]


def test_no_awg_cable_beats_pure_copper() -> None:
    """An AWG resistance is above 1/58 ohm mm2/m over the circular mils its own table gives."""
    # FAA AC 43.13-1B CHG 1, table 11-9, last column. The strands of this wire make more than the
    # solid area of ASTM B258: No. 20 has 1216, solid 1022. 1 CM = pi/4 x (0.0254 mm)^2.
    circular_mils = [475, 755, 1216, 1900, 2426, 3831, 5874, 9354, 16983, 26818, 42615, 66500]
    rows = keyed("cables", "gauge")
    for (size, _, _), mils in zip(FAA_11_9, circular_mils, strict=True):
        least = 1000 / 58 / (mils * math.pi / 4 * 0.0254**2)
        assert float(rows[f"{size} AWG"]["ohm_per_km_20c"]) >= least, size


# --------------------------------------------------------------------------- colours


def test_colour_codes_are_the_standards() -> None:
    """The two-letter codes are IEC 60757's (GD and TQ from memory)."""
    codes = {row["iec60757"]: row["colour"] for row in table("colours") if row["iec60757"]}
    assert codes == {
        "BK": "black",
        "BN": "brown",
        "RD": "red",
        "OG": "orange",
        "YE": "yellow",
        "GN": "green",
        "BU": "blue",
        "VT": "purple",
        "GY": "grey",
        "WH": "white",
        "PK": "pink",
        "GD": "gold",
        "TQ": "turquoise",
        "SR": "silver",
    }


def test_colour_letters_are_bs_au_7() -> None:
    """The letters are BS AU 7's, twelve of them."""
    letters = {row["bs_au_7"]: row["colour"] for row in table("colours") if row["bs_au_7"]}
    assert letters == {
        "B": "black",
        "U": "blue",
        "N": "brown",
        "R": "red",
        "P": "purple",
        "G": "green",
        "S": "grey",
        "W": "white",
        "LG": "light green",
        "Y": "yellow",
        "O": "orange",
        "K": "pink",
    }


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


@pytest.mark.parametrize(
    ("end", "low", "high"),
    [
        ("bullet joint", "0.5", "3.0"),
        ("bullet joint 4.7", "0.5", "4.5"),
        ("blade 2.8", "0.5", "1.5"),
        ("blade 4.8", "0.5", "2.5"),
        ("blade 6.3", "0.5", "6.0"),
        ("blade 9.5", "4.0", "10.0"),
        ("ring M4", "0.5", "6.0"),
        ("ring M8", "0.5", "10.0"),
        ("lug M8", "6.0", "35.0"),
        ("splice", "0.5", "10.0"),
        ("multiway 2.8", "0.5", "2.5"),
        ("multiway 6.3", "0.5", "6.0"),
        ("sealed 1.5", "0.5", "2.5"),
        ("sealed 2.8", "0.5", "6.0"),
    ],
)
def test_ranges_of_the_end_styles(end: str, low: str, high: str) -> None:
    """The styles take the summed areas that are usual for them (from memory)."""
    row = keyed("ends", "end")[end]
    assert (row["min_mm2"], row["max_mm2"]) == (low, high)


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
    rows = [row for row in table("seals") if row["family"] == family]
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
    for row in table("seals"):
        assert row["item"].endswith(f", {row['min_mm']}-{row['max_mm']} mm"), row["item"]
    assert (seal_ranges("sealed 2.8")[0][0], seal_ranges("sealed 2.8")[-1][1]) == (
        Decimal("1.2"),
        Decimal("4.4"),
    )


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
    """Tape widths, tube and braid bores are the usual ones (from memory)."""
    rows = [row for row in table("coverings") if row["covering"] == covering]
    assert [row[column] for row in rows] == sizes.split()
    assert all(f" {row[column]} mm" in row["item"] for row in rows)


def test_tape_has_a_width_only_and_sleeving_a_bore_and_an_outside() -> None:
    """Tape is bought by width; tube and braid have walls of 0.5 to 0.8 mm (from memory)."""
    for row in table("coverings"):
        if row["covering"] == "tape":
            assert row["width_mm"] and not row["bore_mm"] + row["outside_mm"]
            continue
        wall_mm = (Decimal(row["outside_mm"]) - Decimal(row["bore_mm"])) / 2
        assert not row["width_mm"] and Decimal("0.5") <= wall_mm <= Decimal("0.8"), row["item"]


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
        fits = [
            row
            for row in shrink
            if Decimal(row["supplied_mm"]) > outside > Decimal(row["recovered_mm"])
        ]
        assert fits, braid["item"]


@pytest.mark.parametrize(("kind", "ratio"), [("plain", 2), ("adhesive", 3)])
def test_shrink_recovers_by_its_ratio(kind: str, ratio: int) -> None:
    """Recovered bore is the supplied bore over 2 or 3, within 0.4 mm of trade rounding."""
    rows = [row for row in table("shrink") if row["kind"] == kind]
    assert rows
    for row in rows:
        recovered = Decimal(row["supplied_mm"]) / ratio
        assert abs(recovered - Decimal(row["recovered_mm"])) < Decimal("0.4"), row["item"]
        assert f" {row['supplied_mm']} mm" in row["item"]


def test_shrink_columns_add_up() -> None:
    """The supplied bores add up to the inch and the metric series (from memory)."""
    # 1.6 + 2.4 + 3.2 + 4.8 + 6.4 + 9.5 + 12.7 + 19.1 + 25.4 + 38.1 + 50.8 = 174.0
    assert total("shrink", "supplied_mm", kind="plain") == Decimal("174.0")
    # 3 + 6 + 9 + 12 + 18 + 24 + 40 = 112
    assert total("shrink", "supplied_mm", kind="adhesive") == 112


# --------------------------------------------------------------------------- fuses


def colours_by_rating(kind: str) -> dict[str, str]:
    """The fuse colours of a kind by rating."""
    return {row["amps"]: row["colour"] for row in table("fuses") if row["kind"] == kind}


def test_blade_fuses_are_iso_8820_3() -> None:
    """Thirteen ratings with their colours, ISO 8820-3 (from memory); violet is spelt purple."""
    assert colours_by_rating("blade") == {
        "1": "black",
        "2": "grey",
        "3": "purple",
        "4": "pink",
        "5": "tan",
        "7.5": "brown",
        "10": "red",
        "15": "blue",
        "20": "yellow",
        "25": "clear",
        "30": "green",
        "35": "blue-green",
        "40": "amber",
    }


def test_mini_fuses_wear_the_colours_of_the_blade_fuses() -> None:
    """Mini fuses run from 2 to 30 A in the same colours, ISO 8820-3 (from memory)."""
    mini, blade = colours_by_rating("mini"), colours_by_rating("blade")
    assert list(mini) == ["2", "3", "4", "5", "7.5", "10", "15", "20", "25", "30"]
    assert mini == {amps: blade[amps] for amps in mini}


def test_torpedo_fuses_are_din_72581_1() -> None:
    """Four ratings with their colours, DIN 72581-1."""
    assert colours_by_rating("torpedo") == {"5": "yellow", "8": "white", "16": "red", "25": "blue"}


def test_fuse_ratings_add_up() -> None:
    """The ratings of each kind add up, so a slipped digit shows."""
    # 1+2+3+4+5+7.5+10+15+20+25+30+35+40
    assert total("fuses", "amps", kind="blade") == Decimal("197.5")
    # 2+3+4+5+7.5+10+15+20+25+30
    assert total("fuses", "amps", kind="mini") == Decimal("121.5")
    # 20+30+40+50+60+70+80 (from memory)
    assert total("fuses", "amps", kind="maxi") == 350
    # 5+8+10+15+20+25+30+35 (from memory)
    assert total("fuses", "amps", kind="glass") == 148


def test_fuse_names_carry_the_rating() -> None:
    """A fuse is called by its kind and its rating, as in `blade fuse, 7.5 A`."""
    rows = keyed("fuses", "item")
    assert {"blade fuse, 7.5 A", "mini blade fuse, 5 A"} <= set(rows)
    assert all(item.endswith(f", {row['amps']} A") for item, row in rows.items())


@pytest.mark.parametrize(
    ("holder", "kind", "ways"),
    [
        ("in-line", "blade", "1"),
        ("in-line mini", "mini", "1"),
        ("maxi holder", "maxi", "1"),
        ("glass holder", "glass", "1"),
        ("fuse box", "blade", "4 6 8 10 12"),
        ("mini fuse box", "mini", "4 6 8"),
        ("glass fuse box", "glass", "4 8"),
        ("torpedo fuse box", "torpedo", "4 6 8"),
    ],
)
def test_fuse_holders(holder: str, kind: str, ways: str) -> None:
    """A holder word stands for one kind of fuse, in these numbers of ways (from memory)."""
    rows = [row for row in table("fuse_holders") if row["holder"] == holder]
    assert {row["kind"] for row in rows} == {kind}
    assert [row["ways"] for row in rows] == ways.split()


def test_every_fuse_kind_has_a_holder() -> None:
    """No fuse is without a holder and no holder without a fuse."""
    assert {row["kind"] for row in table("fuses")} == {row["kind"] for row in table("fuse_holders")}


# --------------------------------------------------------------------------- loads


def test_a_load_has_watts_or_amps_not_both() -> None:
    """A row gives watts or amps, and a duty of three."""
    for row in table("loads"):
        assert bool(row["watts"]) != bool(row["amps"]), row["load"]
        assert Decimal(row["watts"] or row["amps"]) > 0, row["load"]
        assert row["duty"] in {"continuous", "intermittent", "motor"}, row["load"]
        assert bool(row["test_watts"]) == bool(row["test_volts"]), row["load"]


@pytest.mark.parametrize(
    ("load", "watts"),
    [
        ("H4 main", 60),
        ("H4 dip", 55),
        ("HS1 main", 35),
        ("HS1 dip", 35),
        ("P21W", 21),
        ("P21/5W stop", 21),
        ("P21/5W tail", 5),
        ("PY21W", 21),
        ("R5W", 5),
        ("R10W", 10),
        ("T4W", 4),
        ("W3W", 3),
        ("W5W", 5),
        ("H1", 55),
        ("H7", 55),
    ],
)
def test_bulbs_are_rated_as_in_un_r37(load: str, watts: int) -> None:
    """A filament has its rated watts at 12 V, UN regulation 37 (from memory)."""
    assert Decimal(keyed("loads", "load")[load]["watts"]) == watts


@pytest.mark.parametrize(
    ("load", "watts", "test_watts"),
    [("PY21/5W indicator", "21", "26.5"), ("PY21/5W side", "5", "6.6")],
)
def test_py21_5w_is_its_sheet_of_un_r37(load: str, watts: str, test_watts: str) -> None:
    """Rated 21/5 W, at 13.5 V at most 26.5 / 6.6 W: UN regulation 37, sheet PY21/5W."""
    row = keyed("loads", "load")[load]
    assert (row["watts"], row["test_watts"], row["test_volts"]) == (watts, test_watts, "13.5")
    assert (row["source"], row["place"].split(";")[0]) == ("UN regulation 37", "sheet PY21/5W")


def test_headlamp_is_reckoned_as_five_amps() -> None:
    """A 55 W headlamp bulb is reckoned as 60 W; 60 / 12 = 5 A (common practice)."""
    row = keyed("loads", "load")["55 W headlamp as reckoned"]
    assert row["source"] == "common practice"
    assert Decimal(row["watts"]) / 12 == 5


def test_test_figures_are_over_the_rated_watts() -> None:
    """The watts allowed at the test voltage are above the rated ones, by less than a third."""
    for row in table("loads"):
        if row["test_watts"]:
            share = Decimal(row["test_watts"]) / Decimal(row["watts"])
            assert 1 < share < Decimal("1.34"), row["load"]
            assert row["test_volts"] in {"13.2", "13.5"}, row["load"]


# --------------------------------------------------------------------------- the rest


@pytest.mark.parametrize(
    ("name", "factors"),
    [
        # IEC 60364-5-52 table B.52.17 row 1 (from memory)
        (
            "IEC 60364-5-52 row 1",
            "1 1.00,2 0.80,3 0.70,4 0.65,5 0.60,6 0.57,7 0.54,8 0.52,9 0.50,"
            "12 0.45,16 0.41,20 0.38",
        ),
        # As quoted in an instrument manual; one wire alone is 1 by definition.
        ("MIL-W-5088B", "1 1.00,2 0.94,3 0.89,4 0.83,5 0.76"),
    ],
)
def test_grouping_factors(name: str, factors: str) -> None:
    """The factors are the document's, and they fall as wires are added."""
    rows = [row for row in table("grouping") if row["table"] == name]
    assert ",".join(f"{row['wires']} {row['factor']}" for row in rows) == factors
    values = [Decimal(row["factor"]) for row in rows]
    assert values == sorted(values, reverse=True)


@pytest.mark.parametrize(
    ("circuit", "kind"),
    [
        ("dip beam", "lighting"),
        ("left indicator", "lighting"),
        ("rear number plate", "lighting"),
        ("stop lamp", "lighting"),
        ("engine stop", "ignition"),
        ("ignition coil feed", "ignition"),
        ("points", "ignition"),
        ("charge lamp", "charging"),
        ("regulator to battery", "charging"),
        ("starter relay coil", "starting"),
        ("starter cable", "starting"),
        ("horn", "other"),
        ("battery feed", "other"),
    ],
)
def test_longest_phrase_tells_the_kind(circuit: str, kind: str) -> None:
    """The longest phrase found in a circuit's name, whole words only, tells its kind."""
    kinds = {row["word"]: row["kind"] for row in table("kinds")}
    found = [word for word in kinds if f" {word} " in f" {circuit} "]
    assert (kinds[max(found, key=len)] if found else "other") == kind


def test_kinds_are_four_and_words_are_lower_case() -> None:
    """The words are in lower case and stand for one of four kinds."""
    rows = table("kinds")
    assert {row["kind"] for row in rows} == {"lighting", "ignition", "charging", "starting"}
    assert all(row["word"] == row["word"].lower() for row in rows)


def test_labour_names_every_operation_once() -> None:
    """Each operation has its unit and a time above nothing, marked as invented."""
    rows = table("labour")
    assert {row["operation"]: row["per"] for row in rows} == {
        "cut and strip": "wire",
        "crimp": "terminal",
        "cover": "cover",
        "seal": "seal",
        "splice": "splice",
        "wrap": "metre",
        "tube": "metre",
        "braid": "metre",
        "shrink": "end",
        "breakout": "breakout",
        "housing": "housing",
        "fuse": "fuse",
        "continuity test": "wire",
        "fit": "component",
    }
    assert all(0 < Decimal(row["minutes"]) <= 30 for row in rows)
    assert {row["source"] for row in rows} == {"invented"}
