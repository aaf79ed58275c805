"""The ends of the wires: their styles, the terminals they share, plugs; each count by hand.

Sizes of terminals, housings and seals are those of `catalogs/` (trade ranges, from memory);
outside diameters are the thin-wall data sheet's: 0.5 mm2 1.7 mm, 1.0 2.1, 2.0 2.8, 2.5 3.0.
"""

from pathlib import Path
from typing import Any

import pytest

from bom.estimate import buy_for
from bom.job import Job, open_job
from bom.show.job_json import cut_out, takeoff_out
from tests.books import book, checked, says

HEAD = ("from", "to", "from end", "to end", "gauge", "qty", "colour", "length")
NO_SPARES = [("item", "value"), ("terminal_spare_percent", 0)]
PLUG = [("component", "passes", "end"), ("plug", "pin to pin", None)]


def circuits(*rows: tuple[Any, ...]) -> list[tuple[Any, ...]]:
    """Circuits from (from, to, from end, to end[, gauge[, qty]]), each 1 m of red, 1.0 mm2."""
    padded = [(*row, *("1.0", 1)[len(row) - 4 :], "red", 1) for row in rows]
    return [HEAD, *padded]


def opened(tmp_path: Path, *rows: tuple[Any, ...], **sheets: Any) -> Job:
    """The job of these wires, without spares."""
    sheets = {"Job": NO_SPARES, **sheets}
    return open_job(book(tmp_path, Circuits=circuits(*rows), **sheets))


def parts(tmp_path: Path, *rows: tuple[Any, ...], **sheets: Any) -> dict[str, int]:
    """Quantities by item, cable left out; the job must have no errors."""
    job = opened(tmp_path, *rows, **sheets)
    assert job.takeoff, [str(problem) for problem in job.problems]
    found = takeoff_out(job)["needs"]
    return {need["item"]: need["quantity"] for need in found if need["kind"] != "cable"}


def styles(tmp_path: Path, *rows: tuple[Any, ...], **sheets: Any) -> dict[tuple[str, str], str]:
    """End styles by (label, heading)."""
    job = opened(tmp_path, *rows, **sheets)
    assert job.ends
    return dict(job.ends.styles)


def errors(tmp_path: Path, *rows: tuple[Any, ...], **sheets: Any) -> list[tuple[str, str, str]]:
    """Cells and sentences of the errors on Circuits, with what is proposed."""
    path = book(tmp_path, Circuits=circuits(*rows), **sheets)
    found = [p for p in checked(path)["problems"] if p["level"] == "error"]
    return [(p["cell"], p["says"], p["try"]) for p in found]


# ------------------------------------------------------------------------------- styles


def test_a_typed_style_goes_before_the_components_and_that_before_the_houses(
    tmp_path: Path,
) -> None:
    """Three wires to a lamp with rings: one typed as a blade, one end at no component."""
    found = styles(
        tmp_path,
        ("switch:1", "lamp:1", None, None),
        ("switch:2", "lamp:2", None, "blade 6.3"),
        Job=[*NO_SPARES, ("end", "bullet")],
        Components=[("component", "end"), ("lamp", "ring M6")],
    )
    assert found["W1", "to end"] == "ring M6"
    assert found["W2", "to end"] == "blade 6.3"
    assert found["W1", "from end"] == "bullet"


def test_the_house_default_is_a_bullet_joint(tmp_path: Path) -> None:
    """Nothing typed anywhere."""
    assert set(styles(tmp_path, ("a:1", "b:1", None, None)).values()) == {"bullet joint"}


@pytest.mark.parametrize("first", [True, False])
def test_a_blank_style_takes_the_others_at_its_pin(tmp_path: Path, first: bool) -> None:
    """Whichever of the two rows is typed, one ring for both wires."""
    typed = ("ring M6", None) if first else (None, "ring M6")
    rows = [("stud:1", "a", typed[0], "bare"), ("stud:1", "b", typed[1], "bare")]
    components = [("component", "end"), ("stud", "ring M8")]
    found = styles(tmp_path, *rows, Components=components)
    assert found["W1", "from end"] == found["W2", "from end"] == "ring M6"
    assert parts(tmp_path, *rows, Components=components) == {"ring terminal, M6, 1.5-2.5 mm2": 1}


def test_two_styles_at_a_pin_are_told_at_the_later_cell(tmp_path: Path) -> None:
    """Row 2 ends there in column D, row 4 starts there in column C: C4; the blank is innocent."""
    found = errors(
        tmp_path,
        ("a", "stud:1", "bare", "ring M6"),
        ("stud:1", "b", None, "bare"),
        ("stud:1", "c", "ring M8", "bare"),
    )
    assert [(cell, text) for cell, text, _ in found] == [
        ("C4", "two end styles at stud:1: 'ring M6' and 'ring M8'")
    ]


def test_a_typed_style_beside_the_components_own_is_no_fault(tmp_path: Path) -> None:
    """One is typed, one blank at a component with another style: the typed one for both."""
    rows = [("stud:1", "a", None, "bare"), ("stud:1", "b", "ring M6", "bare")]
    assert errors(tmp_path, *rows, Components=[("component", "end"), ("stud", "ring M8")]) == []


def test_at_a_bare_point_each_wire_keeps_its_own_style(tmp_path: Path) -> None:
    """A ring and a fork on one stud without pins: no fault, one of each."""
    found = parts(tmp_path, ("stud", "a", "ring M4", "bare"), ("stud", "b", "fork M4", "bare"))
    assert found == {"ring terminal, M4, 0.5-1.5 mm2": 1, "fork terminal, M4, 0.5-1.5 mm2": 1}


# -------------------------------------------------------------------------- shared areas


@pytest.mark.parametrize(
    ("gauges", "item"),
    [
        (["1.5"], "ring terminal, M6, 0.5-1.5 mm2"),  # at its upper limit
        (["0.75", "0.75"], "ring terminal, M6, 0.5-1.5 mm2"),  # 1.5
        (["1.0", "0.75"], "ring terminal, M6, 1.5-2.5 mm2"),  # 1.75
        (["1.0", "1.0", "1.0"], "ring terminal, M6, 2.5-6.0 mm2"),  # 3.0
        (["6.0", "4.0"], "ring terminal, M6, 6.0-10.0 mm2"),  # 10.0, the most there is
        # ASTM B258: 18 AWG is 0.823 mm2, two are 1.646
        (["18 AWG", "18 AWG"], "ring terminal, M6, 1.5-2.5 mm2"),
        # 16 AWG is 1.31 mm2: with 1.0 mm2 beside it 2.31
        (["16 AWG", "1.0"], "ring terminal, M6, 1.5-2.5 mm2"),
    ],
)
def test_the_terminal_goes_by_the_summed_area(tmp_path: Path, gauges: list[str], item: str) -> None:
    """The smallest upper limit that is not under the sum; one terminal for all of them."""
    rows = [("stud:1", f"x{n}", "ring M6", "bare", gauge) for n, gauge in enumerate(gauges)]
    assert parts(tmp_path, *rows) == {item: 1}


def test_identical_wires_share_a_pin_and_not_a_bare_point(tmp_path: Path) -> None:
    """Two wires of 1.0 mm2 in one row: at a pin one ring for 2.0, at a bare point two."""
    found = parts(
        tmp_path,
        ("stud:1", "a", "ring M6", "bare", "1.0", 2),
        ("post", "b", "ring M5", "bare", "1.0", 2),
    )
    assert found == {"ring terminal, M6, 1.5-2.5 mm2": 1, "ring terminal, M5, 0.5-1.5 mm2": 2}


def test_two_rings_on_one_stud_are_two_pins(tmp_path: Path) -> None:
    """`battery:- 1` and `battery:- 2`: a ring each."""
    found = parts(
        tmp_path, ("a", "battery:- 1", "bare", "ring M6"), ("b", "battery:- 2", "bare", "ring M6")
    )
    assert found == {"ring terminal, M6, 0.5-1.5 mm2": 2}


@pytest.mark.parametrize(
    ("gauges", "cell", "cure"),
    [
        (["2.0", "1.5"], "C3", "a splice point in front of it"),  # 3.5 over a bullet's 3.0
        (["1.0", "1.0", "1.5"], "C4", "a splice point in front of it"),
        (["4.0"], "C2", "another end style"),  # one wire too thick: no splice helps
    ],
)
def test_an_area_over_the_largest_terminal_is_an_error(
    tmp_path: Path, gauges: list[str], cell: str, cure: str
) -> None:
    """A bullet takes 3 mm2 at most; the error stands once, at the last of the wires."""
    rows = [("lamp:1", f"x{n}", "bullet joint", "bare", g) for n, g in enumerate(gauges)]
    total = sum(map(float, gauges))
    expected = (cell, f"{total:g} mm2 at lamp:1: 'bullet joint' takes 3 mm2 at most", cure)
    assert errors(tmp_path, *rows) == [expected]


def test_an_area_of_just_the_largest_terminal_is_none(tmp_path: Path) -> None:
    """2.0 + 1.0 mm2 in a bullet for 2.0 to 3.0."""
    rows = [("lamp:1", "a", "bullet", "bare", "2.0"), ("lamp:1", "b", "bullet", "bare", "1.0")]
    assert parts(tmp_path, *rows)["bullet terminal, male, 2.0-3.0 mm2"] == 1


# ------------------------------------------------------------------------------- splices


def test_splices_are_one_at_each_point_and_pin(tmp_path: Path) -> None:
    """Two points with two wires each, a pin with two more, and a ring that is no splice."""
    found = parts(
        tmp_path,
        ("a", "s", "bare", "splice"),
        ("s", "b", "splice", "bare"),
        ("s", "c", "ring M4", "bare"),
        ("d", "t", "bare", "splice"),
        ("t", "e", "splice", "bare"),
        ("f", "u:1", "bare", "splice"),
        ("u:1", "g", "splice", "bare"),
    )
    assert found["crimp splice, 1.5-2.5 mm2"] == 3
    assert found["ring terminal, M4, 0.5-1.5 mm2"] == 1


def test_a_splice_counts_every_wire_of_a_row(tmp_path: Path) -> None:
    """Three wires of 2.0 mm2 in a splice for 6.0; 3 x 2.8 mm are 6.03 mm across: 9 mm shrink.

    2.154701 x 2.8 = 6.033 (Birgin and Gentil 2009, table 1); 6 mm shrink is too narrow.
    """
    found = parts(
        tmp_path,
        ("a", "s", "bare", "splice", "2.0", 2),
        ("s", "b", "splice", "bare", "2.0"),
    )
    assert found == {"crimp splice, 2.5-6.0 mm2": 1, "heat-shrink, adhesive 3:1, 9 mm": 40}


# -------------------------------------------------------------------------------- joints


def test_each_wire_at_a_bare_point_has_a_joint_of_its_own(tmp_path: Path) -> None:
    """Two wires: two bullets of each half, two covers of each half."""
    found = parts(
        tmp_path, ("a", "lamp", "bare", "bullet joint"), ("lamp", "b", "bullet joint", "bare")
    )
    assert found == {
        "bullet terminal, female, 0.5-1.0 mm2": 2,
        "bullet terminal, male, 0.5-1.0 mm2": 2,
        "bullet cover, female": 2,
        "bullet cover, male": 2,
    }


@pytest.mark.parametrize(
    ("style", "items"),
    [
        ("bullet", ["bullet terminal, male, 0.5-1.0 mm2", "bullet cover, male"]),
        ("bullet socket", ["bullet terminal, female, 0.5-1.0 mm2", "bullet cover, female"]),
        ("blade 4.8", ["blade terminal, 4.8 mm, male, 0.5-1.0 mm2", "blade cover, 4.8 mm, male"]),
        (
            "blade socket 4.8",
            ["blade terminal, 4.8 mm, female, 0.5-1.0 mm2", "blade cover, 4.8 mm, female"],
        ),
        (
            "blade joint 4.8",
            [
                "blade terminal, 4.8 mm, male, 0.5-1.0 mm2",
                "blade terminal, 4.8 mm, female, 0.5-1.0 mm2",
                "blade cover, 4.8 mm, male",
                "blade cover, 4.8 mm, female",
            ],
        ),
        (
            "multiway 6.3 socket",
            [
                "contact for multi-way housing, 6.3 mm, female, 0.5-1.0 mm2",
                "multi-way housing, 6.3 mm, female, 1 way",
            ],
        ),
        (
            "multiway 6.3 joint",
            [
                "contact for multi-way housing, 6.3 mm, male, 0.5-1.0 mm2",
                "contact for multi-way housing, 6.3 mm, female, 0.5-1.0 mm2",
                "multi-way housing, 6.3 mm, male, 1 way",
                "multi-way housing, 6.3 mm, female, 1 way",
            ],
        ),
        ("solder", []),
        ("bare", []),
    ],
)
def test_what_one_end_of_a_style_takes(tmp_path: Path, style: str, items: list[str]) -> None:
    """One half with its cover; both with `joint`; nothing for solder and bare ends."""
    assert parts(tmp_path, ("lamp:1", "a", style, "bare")) == dict.fromkeys(items, 1)


def test_the_components_half_of_a_blade_joint_takes_the_thicker_wire(tmp_path: Path) -> None:
    """1.0 + 1.5 mm2: the loom's half for 2.5, the component's for 1.5; both are 1.0-2.5.

    2.0 + 2.0: the loom's for 4.0, the component's for 2.0.
    """
    found = parts(
        tmp_path,
        ("lamp:1", "a", "blade joint 6.3", "bare", "2.0"),
        ("lamp:1", "b", "blade joint 6.3", "bare", "2.0"),
    )
    assert found["blade terminal, 6.3 mm, female, 2.5-6.0 mm2"] == 1
    assert found["blade terminal, 6.3 mm, male, 1.0-2.5 mm2"] == 1


# --------------------------------------------------------------------- British bullets

BULLET = "bullet terminal, 4.7 mm, male, 0.5-1.0 mm2"
SLEEVE = "sleeved bullet connector, 4.7 mm, 2 way"
DOUBLE = "sleeved bullet connector, 4.7 mm, 4 way"


@pytest.mark.parametrize(
    ("style", "expected"),
    [
        ("bullet 4.7", {BULLET: 1}),  # the bought part brings the connector
        ("bullet socket 4.7", {BULLET: 1, SLEEVE: 1}),  # a bullet is all that is crimped
        ("bullet joint 4.7", {BULLET: 2, SLEEVE: 1}),
    ],
)
def test_british_bullets_and_their_sleeved_connector(
    tmp_path: Path, style: str, expected: dict[str, int]
) -> None:
    """Sockets are connectors that take two bullets."""
    assert parts(tmp_path, ("lamp:1", "a", style, "bare")) == expected


def test_british_bullets_at_a_bare_point_are_not_joined_to_each_other(tmp_path: Path) -> None:
    """Feed and earth of one lamp: a connector of four ways would be a dead short."""
    style = "bullet joint 4.7"
    found = parts(tmp_path, ("a", "lamp", "bare", style), ("lamp", "b", style, "bare"))
    assert found == {BULLET: 4, SLEEVE: 2}


def test_identical_wires_at_a_bare_point_have_a_connector_each(tmp_path: Path) -> None:
    """Three wires in one row: six bullets, three connectors."""
    found = parts(tmp_path, ("lamp", "a", "bullet joint 4.7", "bare", "1.0", 3))
    assert found == {BULLET: 6, SLEEVE: 3}


def test_british_bullets_for_two_wires_at_a_pin(tmp_path: Path) -> None:
    """A bullet for each wire of 2.0 mm2 and one for the component's: three in a 4 way."""
    style = "bullet joint 4.7"
    rows = [("lamp:1", n, style, "bare", "2.0") for n in ("a", "b")]
    assert parts(tmp_path, *rows) == {
        "bullet terminal, 4.7 mm, male, 1.0-2.0 mm2": 3,
        DOUBLE: 1,
    }


@pytest.mark.parametrize(
    ("wires", "connectors"),
    [
        (1, {SLEEVE: 1}),
        (2, {SLEEVE: 1}),
        (3, {DOUBLE: 1}),
        (4, {DOUBLE: 1}),
        (5, {DOUBLE: 1, SLEEVE: 1}),  # 4 + 1
    ],
)
@pytest.mark.parametrize("in_one_row", [True, False])
def test_each_wire_at_a_pin_has_a_bullet_in_the_connector(
    tmp_path: Path, wires: int, connectors: dict[str, int], in_one_row: bool
) -> None:
    """Two in a 2 way, three or four in a 4 way, identical wires of one row too."""
    each = [("lamp:1", f"a{n}", "bullet socket 4.7", "bare") for n in range(wires)]
    rows = [(*each[0], "1.0", wires)] if in_one_row else each
    assert parts(tmp_path, *rows) == {BULLET: wires, **connectors}


def test_bullets_of_one_plug_pin_meet_in_one_connector(tmp_path: Path) -> None:
    """One wire to the plug's pin and two from it: three bullets in a 4 way."""
    style = "bullet socket 4.7"
    rows = [("box:1", "plug:1", "bare", style)]
    rows += [("plug:1", n, style, "bare") for n in ("a", "b")]
    assert parts(tmp_path, *rows, Components=PLUG) == {BULLET: 3, DOUBLE: 1}


@pytest.mark.parametrize("wires", [2, 3, 4])
def test_three_british_bullets_at_a_bare_point_join_nothing(tmp_path: Path, wires: int) -> None:
    """Each is a single end with its connector; from three on that is told, at the third's cell."""
    rows = [("lamp", f"a{n}", "bullet socket 4.7", "bare") for n in range(wires)]
    assert parts(tmp_path, *rows) == {BULLET: wires, SLEEVE: wires}
    found = says(checked(book(tmp_path, Circuits=circuits(*rows))), "caution")
    told = [(cell, text) for _, cell, text in found if "bullets" in text]
    text = f"{wires} bullets at lamp join nothing: without a pin each is a single end"
    assert told == ([("A4", text)] if wires > 2 else [])


# --------------------------------------------------------------------- seals, housings


@pytest.mark.parametrize(
    ("style", "gauge", "seal"),
    [
        ("sealed 1.5", "0.5", "wire seal, 1.5 mm contact, 1.2-1.7 mm"),  # 1.7 mm: just in it
        ("sealed 1.5", "0.75", "wire seal, 1.5 mm contact, 1.7-2.4 mm"),  # 1.9 mm
        ("sealed 1.5 socket", "2.0", "wire seal, 1.5 mm contact, 2.4-3.4 mm"),  # 2.8 mm
        ("sealed 2.8", "1.0", "wire seal, 2.8 mm contact, 1.2-2.1 mm"),  # 2.1 mm
        ("sealed 2.8 socket", "2.5", "wire seal, 2.8 mm contact, 2.1-3.0 mm"),  # 3.0 mm
    ],
)
def test_seals_go_by_the_insulation_not_by_the_conductor(
    tmp_path: Path, style: str, gauge: str, seal: str
) -> None:
    """The smallest whose upper limit the insulation does not pass."""
    assert parts(tmp_path, ("lamp:1", "a", style, "bare", gauge))[seal] == 1


def test_a_sealed_joint_has_a_seal_in_each_half(tmp_path: Path) -> None:
    """Two contacts, two seals, two housings."""
    found = parts(tmp_path, ("lamp:1", "a", "sealed 2.8 joint", "bare"))
    assert found["wire seal, 2.8 mm contact, 1.2-2.1 mm"] == 2
    assert len([item for item in found if item.startswith("sealed housing")]) == 2


@pytest.mark.parametrize("rows", [[("", 2)], [("", 1), ("", 1)]])
def test_two_wires_through_one_seal_are_doubtful(tmp_path: Path, rows: list[Any]) -> None:
    """As two rows, or as one row of two."""
    circuit = [("lamp:1", f"a{n}", "sealed 1.5", "bare", "1.0", q) for n, (_, q) in enumerate(rows)]
    answer = checked(book(tmp_path, Circuits=circuits(*circuit)))
    doubts = [text for _, _, text in says(answer, "caution")]
    assert "2 wires through one seal at lamp:1 will not be tight" in doubts


@pytest.mark.parametrize(
    ("pins", "ways"),
    [
        (1, [2]),  # the smallest there is
        (5, [6]),
        (7, [8]),
        (9, [9]),
        (17, [8, 9]),  # two at the least, and only these hold 17 and no more
        (18, [9, 9]),
    ],
)
def test_housings_are_the_smallest_set_with_enough_ways(
    tmp_path: Path, pins: int, ways: list[int]
) -> None:
    """Of 2, 3, 4, 6, 8 and 9 ways; two wires at one pin take one way."""
    rows = [(f"box:{n}", f"x{n}", "multiway 2.8", "bare", "0.5") for n in range(pins)]
    rows += [("box:0", "y", "multiway 2.8", "bare", "0.5")]
    found = parts(tmp_path, *rows)
    expected: dict[str, int] = {}
    for way in ways:
        item = f"multi-way housing, 2.8 mm, male, {way} way"
        expected[item] = expected.get(item, 0) + 1
    assert {
        item: n
        for item, n in found.items()
        if "multi-way housing, 2.8 mm, m" in item and item.endswith("way")
    } == expected


def test_housings_have_no_spares_and_all_else_has(tmp_path: Path) -> None:
    """At least two spares of contact and seal, none of the housing."""
    found = parts(tmp_path, ("lamp:1", "a", "sealed 1.5", "bare"), Job=[("item", "value")])
    assert found == {
        "contact for sealed housing, 1.5 mm, male, 0.5-1.0 mm2": 1 + 2,
        "wire seal, 1.5 mm contact, 1.7-2.4 mm": 1 + 2,
        "sealed housing, 1.5 mm, male, 1 way": 1,
    }


@pytest.mark.parametrize(
    ("percent", "least", "spare"), [(0, 2, 0), (10, 2, 2), (30, 2, 4), (10, 0, 2), (10, 5, 5)]
)
def test_spares_of_what_is_crimped(tmp_path: Path, percent: int, least: int, spare: int) -> None:
    """Of 11: 10 % are 1.1, so 2; 30 % are 3.3, so 4; at least the minimum; 0 % are none."""
    rules = [("item", "value"), ("terminal_spare_percent", percent), ("terminal_spare_min", least)]
    found = parts(tmp_path, ("a", "b", "ring M6", "bare", "1.0", 11), Job=rules)
    assert found == {"ring terminal, M6, 0.5-1.5 mm2": 11 + spare}


def ways_of(point: str, ways: int, passes: str | None = None) -> list[tuple[Any, ...]]:
    """A Components sheet with a component of so many ways."""
    return [("component", "passes", "ways"), (point, passes, ways)]


def test_spare_ways_of_a_sealed_housing_get_a_cavity_plug_each(tmp_path: Path) -> None:
    """Five ways wanted, three wired: 5 way, two plugs; with spares two more of them."""
    rows = [(f"lamp:{n}", f"a{n}", "sealed 1.5", "bare") for n in range(3)]
    components = ways_of("lamp", 5)
    found = parts(tmp_path, *rows, Components=components)
    assert found["sealed housing, 1.5 mm, male, 5 way"] == 1
    assert found["cavity plug, 1.5 mm contact"] == 2
    assert found["wire seal, 1.5 mm contact, 1.7-2.4 mm"] == 3
    with_spares = parts(tmp_path, *rows, Components=components, Job=[("item", "value")])
    assert with_spares["cavity plug, 1.5 mm contact"] == 2 + 2


@pytest.mark.parametrize(
    ("style", "ways", "housing", "plugs"),
    [
        ("sealed 2.8", 2, "sealed housing, 2.8 mm, male, 3 way", 0),  # fewer than are wired
        ("sealed 2.8", 4, "sealed housing, 2.8 mm, male, 4 way", 1),
        ("multiway 2.8", 5, "multi-way housing, 2.8 mm, male, 6 way", 0),  # it is not sealed
    ],
)
def test_ways_are_those_wanted_where_they_are_more(
    tmp_path: Path, style: str, ways: int, housing: str, plugs: int
) -> None:
    """Three pins wired."""
    rows = [(f"lamp:{n}", f"a{n}", style, "bare") for n in range(3)]
    found = parts(tmp_path, *rows, Components=ways_of("lamp", ways))
    assert found[housing] == 1
    assert found.get("cavity plug, 2.8 mm contact", 0) == plugs


def test_empty_ways_of_a_set_of_housings_are_closed(tmp_path: Path) -> None:
    """Seven ways wanted of housings with six at the most: 6 + 1; six wired leave one."""
    rows = [(f"lamp:{n}", f"a{n}", "sealed 1.5", "bare") for n in range(6)]
    found = parts(tmp_path, *rows, Components=ways_of("lamp", 7))
    assert [found[f"sealed housing, 1.5 mm, male, {n} way"] for n in (6, 1)] == [1, 1]
    assert found["cavity plug, 1.5 mm contact"] == 1


def test_both_halves_of_a_plug_have_their_ways_closed(tmp_path: Path) -> None:
    """One pin through a plug of two ways: a plug in each half."""
    rows = [("box:1", "plug:1", "bare", "sealed 1.5"), ("plug:1", "a", "sealed 1.5", "bare")]
    found = parts(tmp_path, *rows, Components=ways_of("plug", 2, "pin to pin"))
    assert [found[f"sealed housing, 1.5 mm, {half}, 2 way"] for half in ("male", "female")] == [
        1,
        1,
    ]
    assert found["cavity plug, 1.5 mm contact"] == 2


# --------------------------------------------------------------------------------- plugs

MALE, FEMALE = (f"contact for multi-way housing, 2.8 mm, {half}" for half in ("male", "female"))
THIN, THICK = "0.5-1.0 mm2", "1.0-2.5 mm2"
HOUSINGS = {
    "multi-way housing, 2.8 mm, male, 2 way": 1,
    "multi-way housing, 2.8 mm, female, 2 way": 1,
}


def plug(tmp_path: Path, *rows: tuple[Any, ...], **sheets: Any) -> dict[str, int]:
    """Parts of wires at a plug in the loom whose style is `multiway 2.8`."""
    sheets = {"Components": [PLUG[0], ("plug", "pin to pin", "multiway 2.8")], **sheets}
    return parts(tmp_path, *rows, **sheets)


def test_a_plug_goes_by_from_and_to_without_a_loom(tmp_path: Path) -> None:
    """What ends there is on the supply's half, female; what starts there on the other."""
    found = plug(
        tmp_path,
        ("box:1", "plug:1", "bare", None, "2.0"),
        ("plug:1", "lamp:1", None, "bare", "1.0"),
    )
    assert found == {f"{FEMALE}, {THICK}": 1, f"{MALE}, {THIN}": 1, **HOUSINGS}


def test_the_supplys_half_is_where_wires_end_whichever_row_comes_first(tmp_path: Path) -> None:
    """The lamp's branch is met first, the box's is the supply's all the same."""
    found = plug(
        tmp_path,
        ("plug:1", "lamp:1", None, "bare", "1.0"),
        ("box:1", "plug:1", "bare", None, "2.0"),
        Loom=_loom("box", "lamp"),
    )
    assert found == {f"{FEMALE}, {THICK}": 1, f"{MALE}, {THIN}": 1, **HOUSINGS}


def test_wires_at_one_half_of_a_pin_share_its_terminal(tmp_path: Path) -> None:
    """1.0 + 1.0 mm2 beyond the plug: one male contact for 2.0."""
    found = plug(
        tmp_path,
        ("box:1", "plug:1", "bare", None),
        ("plug:1", "lamp:1", None, "bare"),
        ("plug:1", "lamp:2", None, "bare"),
    )
    assert found == {f"{FEMALE}, {THIN}": 1, f"{MALE}, {THICK}": 1, **HOUSINGS}


def test_a_pin_wired_on_one_side_gets_the_same_terminal_on_the_other(tmp_path: Path) -> None:
    """2.0 mm2 arrives at pin 1 and nothing leaves; pin 2 only leaves."""
    found = plug(
        tmp_path,
        ("box:1", "plug:1", "bare", None, "2.0"),
        ("plug:2", "lamp:1", None, "bare", "1.0"),
    )
    assert found == {
        f"{FEMALE}, {THICK}": 1,
        f"{MALE}, {THICK}": 1,
        f"{FEMALE}, {THIN}": 1,
        f"{MALE}, {THIN}": 1,
        **HOUSINGS,
    }


def _loom(*ends: str) -> list[tuple[Any, ...]]:
    return [("from", "to", "length", "covering"), *((end, "plug", 1, "none") for end in ends)]


def test_two_branches_tell_the_halves_of_a_plug(tmp_path: Path) -> None:
    """A feed of 2.0 and an earth of 1.0 on the box's branch; beyond them 1.0 and 2.0.

    By from and to the earth that goes back to the box would be on the lamp's half.
    """
    found = plug(
        tmp_path,
        ("box:1", "plug:1", "bare", None, "2.0"),
        ("plug:1", "lamp:1", None, "bare", "1.0"),
        ("plug:2", "box:2", None, "bare", "1.0"),
        ("lamp:2", "plug:2", "bare", None, "2.0"),
        ("plug:3", "box:3", None, "bare", "1.0"),
        ("lamp:3", "plug:3", "bare", None, "2.0"),
        ("box:4", "plug:4", "bare", None, "1.0"),
        ("box:5", "plug:5", "bare", None, "1.0"),
        Loom=_loom("box", "lamp"),
    )
    # box's half, female: 2.0, and 1.0 at pins 2 to 5; lamp's, male: 1.0 at pin 1, 2.0 at
    # 2 and 3, and the same as opposite, 1.0, at 4 and 5
    assert found == {
        f"{FEMALE}, {THICK}": 1,
        f"{FEMALE}, {THIN}": 4,
        f"{MALE}, {THICK}": 2,
        f"{MALE}, {THIN}": 3,
        "multi-way housing, 2.8 mm, female, 6 way": 1,
        "multi-way housing, 2.8 mm, male, 6 way": 1,
    }


def test_three_branches_do_not_tell_so_from_and_to_do(tmp_path: Path) -> None:
    """Wires from box and horn arrive by two branches, and leave by a third."""
    found = plug(
        tmp_path,
        ("box:1", "plug:1", "bare", None, "2.0"),
        ("horn:1", "plug:2", "bare", None, "2.0"),
        ("plug:1", "lamp:1", None, "bare", "1.0"),
        ("plug:2", "lamp:2", None, "bare", "1.0"),
        Loom=_loom("box", "horn", "lamp"),
    )
    assert found == {f"{FEMALE}, {THICK}": 2, f"{MALE}, {THIN}": 2, **HOUSINGS}


def test_halves_typed_on_a_plug_turn_it_round(tmp_path: Path) -> None:
    """The plain style is the male contact, here typed on the supply's half."""
    rows = [
        ("box:1", "plug:1", "bare", "multiway 2.8", "2.0"),
        ("plug:1", "lamp:1", "multiway 2.8 socket", "bare", "1.0"),
    ]
    found = plug(tmp_path, *rows)
    assert found == {f"{MALE}, {THICK}": 1, f"{FEMALE}, {THIN}": 1, **HOUSINGS}
    names = styles(tmp_path, *rows, Components=PLUG)
    assert names["W1", "to end"] == "multiway 2.8"
    assert names["W2", "from end"] == "multiway 2.8 socket"


@pytest.mark.parametrize(
    ("first", "second", "third", "cell"),
    [
        ("multiway 2.8", "multiway 2.8", "sealed 1.5", "C4"),  # halves that do not mate
        ("multiway 2.8 socket", "multiway 2.8", None, "D3"),  # two contacts on one half
        ("multiway 2.8", None, "multiway 6.3 socket", "C4"),
        ("multiway 2.8 socket", "multiway 2.8 socket", "multiway 2.8", None),
    ],
)
def test_styles_at_a_pin_of_a_plug_must_go_together(
    tmp_path: Path, first: str, second: str | None, third: str | None, cell: str | None
) -> None:
    """One family at the pin, one style on each half; told at the later cell."""
    found = errors(
        tmp_path,
        ("box:1", "plug:1", "bare", first),
        ("box:2", "plug:1", "bare", second),
        ("plug:1", "lamp:1", third, "bare"),
        Components=PLUG,
    )
    assert [place for place, text, _ in found if "two end styles" in text] == (
        [cell] if cell else []
    )


def test_a_bare_end_at_a_plug_is_an_error(tmp_path: Path) -> None:
    """Which pin meets which cannot be told."""
    found = errors(tmp_path, ("box:1", "plug", "bare", "multiway 2.8"), Components=PLUG)
    assert found[0][0] == "B2"


def test_the_cut_list_names_the_style_of_each_end(tmp_path: Path) -> None:
    """A component's style and a typed one."""
    path = book(
        tmp_path,
        Circuits=circuits(("a:1", "lamp:1", "blade 6.3", None)),
        Components=[("component", "end"), ("lamp", "ring M6")],
    )
    (cut,) = cut_out(buy_for([path]))["cuts"]
    assert (cut["from_end"], cut["to_end"]) == ("blade 6.3", "ring M6")
