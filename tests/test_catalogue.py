"""Looking things up in the catalogues, and a workshop's own tables laid over them."""

from fractions import Fraction
from pathlib import Path

import pytest

from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_files import load_catalogue

OURS, NO_PROBLEMS = load_catalogue()


def own(folder: Path, **tables: str) -> tuple[Catalogue, list[tuple[str, str, str, str]]]:
    """A workshop's own tables laid over ours; problems as (level, file, cell, sentence)."""
    for name, content in tables.items():
        (folder / f"{name}.csv").write_text(content, encoding="utf-8")
    catalogue, problems = load_catalogue(folder)
    return catalogue, [(p.level, p.where.file, p.where.cell, p.says) for p in problems]


# ------------------------------------------------------------------------------ look-ups


def test_the_packages_tables_read_without_a_word() -> None:
    """And a workshop without a folder of its own has just these."""
    assert NO_PROBLEMS == ()
    assert load_catalogue(Path("no such folder"))[1] == ()


def test_cables_rise_by_their_area() -> None:
    """Thinnest first, AWG by its ASTM B258 area: 18 AWG, 0.823 mm2, is between 0.75 and 1.0."""
    names = list(OURS.cables)
    assert names.index("0.75") < names.index("18 AWG") < names.index("1.0")
    areas = [cable.area_mm2 for cable in OURS.cables.values()]
    assert areas == sorted(areas)
    # thin-wall cable data sheet: 1.0 mm2 carries 16.5 A and is 2.1 mm across at the most;
    # ISO 6722 class B (from memory): 100 C; a cost for every cable, of ours
    one = OURS.cables["1.0"]
    assert (one.rated_amps, one.outside_mm, one.max_c) == (Fraction("16.5"), 2.1, 100)
    assert all(cable.cost_per_m > 0 for cable in OURS.cables.values())
    # battery sizes in two colours (design section 3)
    assert set(OURS.cables["35.0"].colours) == {"red", "black"} and one.colours == ()


@pytest.mark.parametrize(
    ("family", "area", "size"),
    [
        # the terminal with the smallest upper limit >= the summed area
        *(("ring M6", "0.5", "0.5-1.5"), ("ring M6", "1.5", "0.5-1.5")),
        *(("ring M6", "1.501", "1.5-2.5"), ("ring M6", "10", "6.0-10.0")),
        # what does not fit is no part, and neither is a family unheard of
        *(("ring M6", "10.001", ""), ("ring M7", "1", "")),
    ],
)
def test_the_terminal_of_an_area(family: str, area: str, size: str) -> None:
    """On its limit a terminal still takes the wire; just over it the next does."""
    part = OURS.terminal(family, "", Fraction(area))
    assert (part.item if part else "") == (f"ring terminal, M6, {size} mm2" if size else "")


def test_covers_and_seals() -> None:
    """A cover by family and half; a seal by the insulation's diameter."""
    cover = OURS.cover("bullet 3.9", "socket")
    assert cover and cover.item == "bullet cover, female"
    assert OURS.cover("ring M6", "") is None
    # 1.0 mm2 is 2.1 mm across (data sheet): within 1.7-2.4
    seal = OURS.seal("sealed 1.5", 2.1)
    assert seal and seal.item == "wire seal, 1.5 mm contact, 1.7-2.4 mm"
    assert OURS.seal("sealed 1.5", 99.0) is None


@pytest.mark.parametrize(
    ("ways", "sizes"),
    [
        # housings of 2, 3, 4, 6, 8 and 9 ways: fewest parts, then fewest ways to spare
        *((0, []), (1, [2]), (2, [2]), (5, [6]), (7, [8]), (9, [9]), (10, [9, 2])),
        *((12, [9, 3]), (18, [9, 9]), (19, [9, 9, 2])),
    ],
)
def test_the_smallest_set_of_housings_with_enough_ways(ways: int, sizes: list[int]) -> None:
    """Counted by hand for each number of ways; a ring goes into no housing."""
    assert [h.ways for h in OURS.housing_set("multiway 2.8", "plug", ways)] == sizes
    assert OURS.housing_set("ring M6", "", ways) == ()


@pytest.mark.parametrize(
    ("word", "holder"),
    [
        ("", "in-line"),
        ("fuse box", "fuse box"),
        ("front fuse box", "fuse box"),
        ("mini fuse box", "mini fuse box"),
        ("in-line", "in-line"),
        ("cigar box", None),
    ],
)
def test_the_holder_a_word_means(word: str, holder: str | None) -> None:
    """The longest holder word in it; blank is in-line (common practice)."""
    found = OURS.holder(word)
    assert (found.holder if found else None) == holder


def test_fuse_boxes_by_ways() -> None:
    """Boxes of 4, 6, 8, 10 and 12 ways: five fuses take six ways, thirteen 12 and 4."""
    assert [box.ways for box in OURS.holder_set("fuse box", "blade", 5)] == [6]
    assert [box.ways for box in OURS.holder_set("fuse box", "blade", 13)] == [12, 4]


def test_sleeves_tape_and_shrink() -> None:
    """The smallest bore >= the one asked for; tape of just the width; shrink on both sides."""
    tubes = [OURS.sleeve("tube", bore) for bore in (6.0, 6.1, 33)]
    assert [tube and tube.bore_mm for tube in tubes] == [6, 8, None]
    tapes = [OURS.tape("tape", width) for width in (19, 20)]
    assert [tape and tape.item for tape in tapes] == ["loom tape, PVC, 19 mm", None]
    # supplied bore > D > recovered bore: 6.4 -> 3.2 takes 5, and 4.8 is too small as supplied;
    # an object of just the supplied bore does not go in: 6.4 needs the 9.5
    shrinks = [OURS.shrink("plain", across) for across in (5.0, 6.4, 99)]
    assert [shrink and shrink.supplied_mm for shrink in shrinks] == [6.4, 9.5, None]


def test_ratings_of_blade_fuses() -> None:
    """1 2 3 4 5 7.5 10 15 20 25 30 35 40 A (ISO 8820-3, from memory)."""
    amps = [float(fuse.amps) for fuse in OURS.ratings("blade")]
    assert amps == [1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40]


KINDS = {
    "headlamp": "dip beam; Dip  BEAM, left; head-lamp; headlamps; headlamp switch",
    "lamp": "taillight; taillights, rear; stoplight; brake lights; winkers; indicators; "
    # the longest phrase wins: a charge lamp is a lamp, though `charge` is charging
    "charge lamp; ignition warning light",
    "ignition": "ignition coil; engine stop",
    "starter": "starter motor",
    "starter control": "start button; starter relay coil",
    "charging": "alternator",
    "other": "phone charging socket; charger sockets; horn; horn relay coil; cold start valve",
    # words, not parts of words: `tail` is not in `tailor`, nor `lamp` in `clamp`
    "": "; tailor; clamp; heated grips",
}
RUNS = {
    "flashing": "winkers; left indicator; turn signals",
    # a lamp that shows oil does not flash, though `indicator` does
    "always": "oil indicator; cold start valve; starter generator",
    "brief": "horn; horns; horn relay coil",
    "starting": "starter motor; start button",
    "": "headlamp; brake lamp; clamp; ",  # these do not say
}


@pytest.mark.parametrize("kind", KINDS)
def test_the_words_of_a_name_tell_its_kind(kind: str) -> None:
    """The kinds of catalogs/drops.csv, by the longest phrase; empty for none (common practice)."""
    names = KINDS[kind].split("; ")
    assert {name: OURS.kind_of(name) for name in names} == dict.fromkeys(names, kind)


@pytest.mark.parametrize("runs", RUNS)
def test_the_words_of_a_name_tell_how_long_it_is_on(runs: str) -> None:
    """Always, flashing, brief or starting, by the longest phrase that says so (house figures)."""
    names = RUNS[runs].split("; ")
    assert {name: OURS.runs_of(name) for name in names} == dict.fromkeys(names, runs)


def test_drops_by_kind() -> None:
    """Headlamps 0.3 V in the plus lead, 0.6 V all the way (handbook, from memory); others."""
    headlamp, horn = OURS.drops["headlamp"], OURS.drops["other"]
    assert (headlamp.feed_volts, headlamp.volts) == (0.3, 0.6)
    assert (horn.feed_volts, horn.volts) == (None, 1.5)
    # TM 10-3930-671-24: 0.20 V for each 100 A on each side
    starter = OURS.drops["starter"]
    assert (starter.feed_volts, starter.volts) == (0.2, 0.4)


def test_a_lamp_has_its_watts_at_each_voltage() -> None:
    """H1: 55, 55 and 70 W at 6, 12 and 24 V (UN regulation 37); not made for 48 V."""
    lamp = OURS.loads["h1"]
    found = {volts: load.amount for volts in (6, 12, 24) if (load := lamp.at(Fraction(volts)))}
    assert found == {6: 55, 12: 55, 24: 70}
    assert lamp.at(Fraction(48)) is None
    assert (lamp.kind, lamp.runs) == ("headlamp", "always")


def test_a_lamp_of_no_known_voltage_has_the_watts_of_twelve() -> None:
    """H7 55 W, H4 60/55 W at 12 V (as marked); H8 is made for 12 V alone."""
    names = ("h7", "h4 main", "h4 dip", "h8")
    assert [OURS.loads[name].amount for name in names] == [55, 60, 55, 35]


def test_a_load_of_one_row_is_the_same_at_any_voltage() -> None:
    """R5W is 5 W by its name (UN regulation 37, 3.1.2), a typed horn 4 A at any voltage."""
    for name in ("r5w", "horn"):
        load = OURS.loads[name]
        assert load.by_volts == () and load.at(Fraction(6)) == load


@pytest.mark.parametrize(
    ("circuit", "colour"),
    [
        # BS AU 7 practice: U/W main beam, U/R dip, R side and tail, B earth, P horn
        ("main beam", "blue/white"),
        ("dip beam", "blue/red"),
        ("tail lamp", "red"),
        ("earth", "black"),
        ("left indicator", "green/red"),
        # the same by the trade's other words (common practice)
        *(("head lamp", "blue"), ("high beam", "blue/white"), ("low beam", "blue/red")),
        *(("taillight", "red"), ("brake light", "green/purple"), ("turn right", "green/white")),
        ("heated seat", ""),
    ],
)
def test_the_usual_colour_of_a_circuit(circuit: str, colour: str) -> None:
    """By the longest phrase, or none."""
    assert OURS.usual_colour(circuit) == colour


# ------------------------------------------------------------------------ own catalogues

LOADS = "load,watts,amps,duty,test_watts,test_volts,source,place\n"
CABLES = (
    "gauge,area_mm2,kind,strands,rated_amps,outside_mm,ohm_per_km_20c,max_c,ref_c,colours,"
    "source,place\n"
)


def test_own_rows_override_row_by_row(tmp_path: Path) -> None:
    """A row of the same key takes the place of ours, another is added, the rest stays."""
    catalogue, problems = own(
        tmp_path, loads=LOADS + "H4 dip,60,,continuous,,,invented,\nsidecar lamp,3,,,,,invented,\n"
    )
    assert problems == []
    assert catalogue.loads["h4 dip"].amount == 60
    assert catalogue.loads["sidecar lamp"].amount == 3
    ours = catalogue.loads["h4 main"].at(Fraction(12))
    assert ours and ours.amount == 60  # UN regulation 37 (from memory)
    assert len(catalogue.loads) == len(OURS.loads) + 1
    assert catalogue.cables == OURS.cables


@pytest.mark.parametrize(
    ("rows", "amounts"),
    [
        # a row for 12 V in the place of ours, and one for 48 V beside them
        ("H1,12,50,,,,invented,\nH1,48,90,,,,invented,\n", {6: 55, 12: 50, 24: 70, 48: 90}),
        # a row for any voltage in the place of all of ours
        ("H1,,65,,,,invented,\n", {6: 65, 12: 65, 24: 65, 48: 65}),
    ],
)
def test_own_rows_of_a_lamp_by_its_voltage(
    tmp_path: Path, rows: str, amounts: dict[int, int]
) -> None:
    """A row of the same lamp and voltage takes the place of ours."""
    heads = "load,volts,watts,amps,kind,runs,source,place\n"
    catalogue, problems = own(tmp_path, loads=heads + rows)
    assert problems == []
    lamp = catalogue.loads["h1"]
    found = {volts: load and load.amount for volts in amounts if (load := lamp.at(Fraction(volts)))}
    assert found == amounts
    assert lamp.amount == amounts[12]


def test_own_drops_and_kinds(tmp_path: Path) -> None:
    """A workshop's own limits and phrases; kinds of the first release have no `runs`."""
    catalogue, problems = own(
        tmp_path,
        drops="kind,feed_volts,volts,source,place\nheadlamp,0.2,0.4,invented,\n",
        kinds="word,kind,source,place\nsidecar,lamp,invented,\n",
    )
    assert problems == []
    assert (catalogue.drops["headlamp"].feed_volts, catalogue.drops["headlamp"].volts) == (0.2, 0.4)
    assert catalogue.drops["lamp"] == OURS.drops["lamp"]
    assert catalogue.kind_of("sidecar") == "lamp"
    assert catalogue.kind_of("headlamp") == "headlamp"
    assert catalogue.runs_of("sidecar") == ""


def test_own_rows_may_stand_in_any_order_and_their_columns_too(tmp_path: Path) -> None:
    """A column is known by its name; a mark at the start and blank rows do no harm."""
    table = (
        "\ufeffplace,source,test_volts,test_watts,duty,amps,watts,load\n"
        ",,,,,,,\n"
        ",invented,,,,2,,sidecar horn\n"
    )
    catalogue, problems = own(tmp_path, Loads=table)
    assert problems == []
    horn = catalogue.loads["sidecar horn"]
    assert (horn.amount, horn.unit) == (Fraction(2), "A")


NO_NUMBER = "a figure in this row is no number from 0 up"


@pytest.mark.parametrize(
    ("row", "says"),
    [
        *((f"sidecar lamp,{watts},,,,,invented,\n", NO_NUMBER) for watts in ("three", "", "-3")),
        *((f"sidecar lamp,{watts},,,,,invented,\n", NO_NUMBER) for watts in ("nan", "1/0")),
        ("sidecar lamp,3,,,,,invented,,more\n", "a surplus cell"),
        ("sidecar lamp,3\n", "cells missing at the end of this row"),
    ],
)
def test_a_faulty_own_row_is_named_and_ours_stays(tmp_path: Path, row: str, says: str) -> None:
    """Row 3 is at fault; row 2 before it and row 4 behind it are read."""
    good = "lamp a,1,,,,,invented,\n", "lamp b,2,,,,,invented,\n"
    catalogue, problems = own(tmp_path, loads=LOADS + good[0] + row + good[1])
    assert problems == [("error", "catalogs/loads.csv", "A3", says)]
    assert "sidecar lamp" not in catalogue.loads
    assert {"lamp a", "lamp b"} <= set(catalogue.loads)


@pytest.mark.parametrize(
    ("name", "table", "cell", "says"),
    [
        # a housing without ways, a cable without end
        ("housings", "item,family,half,ways,source,place\nbox,box,plug,0,x,\n", "A2", NO_NUMBER),
        (
            *("fuse_holders", "item,holder,kind,ways,source,place\nbox,box,blade,0,x,\n"),
            *("A2", NO_NUMBER),
        ),
        ("cables", CABLES + "9.9,9.9,x,1/1,50,inf,1,70,30,all,x,\n", "A2", NO_NUMBER),
        ("labour", "operation,per,minutes,source,place\nsing,wire,often,x,\n", "A2", NO_NUMBER),
        # headings that are not ours are told once, and not again for each row
        (
            *("loads", LOADS.replace("watts,amps", "wats,amps") + "a,1,,,,,x,\nb,2,,,,,x,\n"),
            *("B1", "column 'wats' is not known"),
        ),
        # in column F, behind three that the first release had and that are passed over
        (
            "loads",
            "load,duty,test_watts,test_volts,watts,lumens,amps,source,place\nlamp,,,,3,40,,x,\n",
            *("F1", "column 'lumens' is not known"),
        ),
        ("loads", "load,watts\na,1\nb,2\n", "A1", "columns missing: amps, source, place"),
    ],
)
def test_a_faulty_own_table_is_told_once_and_ours_stays(
    tmp_path: Path, name: str, table: str, cell: str, says: str
) -> None:
    """Figures that would break a reckoning, headings that are missing or not known."""
    catalogue, problems = own(tmp_path, **{name: table})
    assert problems == [("error", f"catalogs/{name}.csv", cell, says)]
    assert catalogue.loads == OURS.loads


def test_a_table_of_another_name_is_pointed_out(tmp_path: Path) -> None:
    """It would be dropped in silence otherwise."""
    _, problems = own(tmp_path, load=LOADS)
    assert [problem[:3] for problem in problems] == [("caution", "catalogs/load.csv", "")]


def test_a_table_that_is_no_text_is_an_error(tmp_path: Path) -> None:
    """And ours stays."""
    (tmp_path / "loads.csv").write_bytes(b"load,watts\n\xff\xfe,1\n")
    catalogue, problems = load_catalogue(tmp_path)
    assert [(p.level, p.where.file) for p in problems] == [("error", "catalogs/loads.csv")]
    assert catalogue.loads == OURS.loads


def test_tables_of_the_first_release_are_still_read(tmp_path: Path) -> None:
    """Columns that came later are blank; a column that went is passed over."""
    catalogue, problems = own(
        tmp_path,
        cables="gauge,area_mm2,kind,strands,rated_amps,outside_mm,ohm_per_km_20c,max_c,ref_c,"
        "colours,source,place\n5.0,5.0,thick,1/1,45,4.6,3.9,70,30,all,invented,\n",
        coverings="item,covering,width_mm,bore_mm,outside_mm,source,place\n"
        '"cloth tube, 7 mm bore",tube,,7,8.5,invented,\n',
        loads=LOADS + "sidecar lamp,3,,continuous,13,13.5,invented,\n",
        terminals="item,family,half,min_mm2,max_mm2,source,place\n"
        '"cable lug, M12, 6.0-35.0 mm2",lug M12,,6.0,35.0,invented,\n',
    )
    assert problems == []
    assert catalogue.cables["5.0"].outside_mm == 4.6
    assert catalogue.loads["sidecar lamp"].amount == 3
    lug = catalogue.terminal("lug M12", "", Fraction(10))
    assert lug and lug.barrel_mm == 0
    tube = catalogue.sleeve("tube", 6.5)
    assert tube and (tube.bore_mm, tube.most_mm) == (7, 0)
    assert catalogue.expandable("tube", 6.5) is None


def test_a_cavity_plug_is_no_seal_for_a_wire() -> None:
    """It has no range; every sealed family has one, no other."""
    for family in ("sealed 1.5", "sealed 2.8"):
        plug = OURS.cavity_plug(family)
        assert plug and plug.item == f"cavity plug, {family[-3:]} mm contact"
        assert OURS.seal(family, 1.3) != plug
    assert OURS.cavity_plug("multiway 2.8") is None


@pytest.mark.parametrize(
    ("word", "in_line"),
    [("", True), ("in-line mini", True), ("maxi holder", True), ("rear fuse box", False)],
)
def test_holders_that_lie_in_the_wire(word: str, in_line: bool) -> None:
    """Those that take one fuse."""
    assert OURS.is_in_line(word) is in_line


def test_an_own_table_of_kinds_may_say_what_they_were_called_at_first(tmp_path: Path) -> None:
    """`lighting` and `starting` are the lamps and starter controls of today."""
    rows = ("word,kind,source,place", "beacon,lighting,own,own", "crank,starting,own,own")
    (tmp_path / "kinds.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    catalogue, problems = load_catalogue(tmp_path)
    assert problems == ()
    kinds = [catalogue.kind_of(name) for name in ("beacon left", "crank")]
    assert kinds == ["lamp", "starter control"]
