"""Checks: one sound machine on which all are silent, and each fault in it with its cell."""

from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.reckon.check import CHECKS
from tests.books import book, checked, fuses_of, wire

# 55 + 5 W / 12 V = 5 A; 5 / 0.75 = 6.67 -> 7.5 A.  Wire n stands in row n + 1.
SOUND: dict[str, Any] = {
    "Job": [["volts", 12]],
    "Circuits": [
        [
            *("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse"),
            *("one of", "length", "qty", "from end", "to end"),
        ],
        ["1", "feed", "battery:+", "switch:in", "brown", "2.0", None, "main"],
        ["2", "headlamp", "switch:a", "headlamp:1", "blue", "1.0"],
        ["3", "tail lamp", "switch:b", "tail lamp:1", "red", "1.0"],
        ["4", "headlamp", "headlamp:2", "frame earth:1", "black", "1.0"],
        ["5", "tail lamp", "tail lamp:2", "frame earth:2", "black", "1.0"],
        ["6", "earth", "frame earth:3", "battery:-", "black", "2.0"],
    ],
    "Loom": [
        ["from", "to", "length"],
        ["battery", "spine", 0.2],
        ["spine", "nose", 0.4],
        ["spine", "tail", 0.6],
    ],
    "Components": [
        ["component", "at", "load", "tail", "end", "passes", "one of"],
        ["switch", "nose"],
        ["headlamp", "nose", "55 W"],
        ["tail lamp", "tail", "5 W"],
        ["frame earth", "spine"],
    ],
    "Fuses": [["fuse", "rating"], ["main"]],
}

Found = tuple[str, str, str]
"""A problem as level, sheet and cell."""


def answer_of(folder: Path, changes: dict[str, Any], **more: list[list[Any]]) -> dict[str, Any]:
    """Check the sound machine with some cells changed (`Circuits!D3`) and some rows added."""
    sheets = deepcopy(SOUND)
    for title, rows in more.items():
        sheets[title] += rows
    for place, value in changes.items():
        title, _, cell = place.partition("!")
        row, column = sheets[title][int(cell[1:]) - 1], ord(cell[0]) - ord("A")
        row += [None] * (column + 1 - len(row))
        row[column] = value
    return checked(book(folder, **sheets))


def found(answer: dict[str, Any]) -> list[Found]:
    """The problems of a job as level, sheet and cell, in their order."""
    return [(p["level"], p["sheet"], p["cell"]) for p in answer["problems"] if p["file"]]


def cures(answer: dict[str, Any]) -> dict[str, str]:
    """What to try, by cell."""
    return {p["cell"]: p["try"] for p in answer["problems"]}


def test_a_sound_machine_is_passed_in_silence(tmp_path: Path) -> None:
    """No check has anything to say, and every wire is answered."""
    answer = answer_of(tmp_path, {})
    assert found(answer) == []
    assert fuses_of(answer) == dict(zip("123456", (7.5, 7.5, 7.5, None, None, None), strict=True))


def test_every_check_says_why_it_is_there() -> None:
    """The list of checks is plain functions, each with its sentence, none twice."""
    assert len(set(CHECKS)) == len(CHECKS) > 20
    assert all((check.__doc__ or "").strip() for check in CHECKS)


# A fault in one cell of the sound machine, and all that is to be said of it.
ONE_CELL: dict[str, tuple[dict[str, Any], list[Found]]] = {
    "a point that is nowhere": ({"Circuits!D3": "headlmp:1"}, [("error", "Circuits", "D3")]),
    "a point that is nowhere, at a start": (
        {"Circuits!C6": "tail lmp:2"},
        [("error", "Circuits", "C6")],
    ),
    "a component at no point": ({"Components!B3": "nsoe"}, [("error", "Components", "B3")]),
    "a label twice": ({"Circuits!A4": "2"}, [("error", "Circuits", "A4")]),
    "a run of 13 m": ({"Circuits!J3": 13}, [("error", "Circuits", "J3")]),
    "a run of 900, in metres": ({"Circuits!J3": 900}, [("error", "Circuits", "J3")]),
    "a branch of 13 m": ({"Loom!C4": 13}, [("error", "Loom", "C4")]),
    "a branch of 3.5 m": ({"Loom!C4": 3.5}, [("caution", "Loom", "C4")]),
    "a colour that is none": ({"Circuits!E3": "bleu-ish"}, [("error", "Circuits", "E3")]),
    "a load without a unit": ({"Circuits!G3": 55}, [("error", "Circuits", "G3")]),
    "a load that is none": ({"Components!C3": "bright"}, [("error", "Components", "C3")]),
    "a gauge that is not made": ({"Circuits!F3": "1.1"}, [("error", "Circuits", "F3")]),
    "passes that cannot be read": ({"Components!F2": "in >"}, [("error", "Components", "F2")]),
    "a pin in passes that no wire uses": (
        {"Components!F2": "in > a b c"},
        [("caution", "Components", "F2")],
    ),
    "a fuse on a return": ({"Circuits!H5": "main"}, [("caution", "Circuits", "H5")]),
    # 5 A on 4 A; on 5 A (100 %); a rating that is not made
    "a fuse under its load": ({"Fuses!B2": 4}, [("error", "Fuses", "B2")]),
    "a fuse over three quarters": ({"Fuses!B2": 5}, [("caution", "Fuses", "B2")]),
    "a fuse that is not made": ({"Fuses!B2": 12}, [("error", "Fuses", "B2")]),
    # 20 A over the 16.5 A of 1.0 mm2, not over the 25 A of 2.0 mm2
    "a fuse over two wires": (
        {"Fuses!B2": 20},
        [("caution", "Circuits", "F3"), ("caution", "Circuits", "F4")],
    ),
    # 'feed' is brown in the branch spine-nose too
    "one colour twice in a branch": ({"Circuits!E4": "brown"}, [("caution", "Circuits", "E4")]),
    "an odd earth": ({"Circuits!E6": "brown"}, [("caution", "Circuits", "E6")]),
    "a circuit that changes colour": ({"Circuits!B2": "headlamp"}, [("caution", "Circuits", "E3")]),
}


@pytest.mark.parametrize("name", ONE_CELL)
def test_one_fault_is_told_once_at_its_cell(tmp_path: Path, name: str) -> None:
    """Exactly these problems, with no follow-on of any kind."""
    changes, expected = ONE_CELL[name]
    assert found(answer_of(tmp_path, changes)) == expected


SILENT: dict[str, dict[str, Any]] = {
    "a run of just 12 m": {"Circuits!J6": "12 m"},
    "a branch of just 3 m, thick enough": {"Loom!C4": "3 m", "Circuits!F4": "2.0"},
    "a fuse at 67 %": {"Fuses!B2": 7.5},
    "a fuse of just what the wires are good for": {"Fuses!B2": 15},
    "one circuit twice in a branch": {"Circuits!B4": "feed", "Circuits!E4": "brown"},
    "the same colour with a trace": {"Circuits!E4": "brown/red"},
    "a lamp earthed without a wire row of its own name": {"Components!A5": "Frame  EARTH"},
    "passes that say what is so": {"Components!F2": "in > a b"},
    "a plain word for the same colour": {"Circuits!E5": "BK"},
}


@pytest.mark.parametrize("name", SILENT)
def test_what_is_no_fault_is_passed_in_silence(tmp_path: Path, name: str) -> None:
    """The other side of each limit."""
    assert found(answer_of(tmp_path, SILENT[name])) == []


# ------------------------------------------------------------------------------ the loom


@pytest.mark.parametrize(
    ("change", "cell", "cure"),
    [
        ({"Circuits!D3": "headlmp:1"}, "D3", "headlamp"),
        ({"Components!B3": "nsoe"}, "B3", "nose"),
    ],
)
def test_a_slip_of_the_pen_is_answered_with_the_right_name(
    tmp_path: Path, change: dict[str, Any], cell: str, cure: str
) -> None:
    """The nearest name there is stands under the problem."""
    assert cures(answer_of(tmp_path, change))[cell] == cure


@pytest.mark.parametrize(("rating", "next_up"), [(12, "15 A"), (300, "40 A")])
def test_a_rating_that_is_not_made_is_answered_with_one_that_is(
    tmp_path: Path, rating: int, next_up: str
) -> None:
    """The next blade fuse up; over all of them the largest, 40 A amber (ISO 8820-3)."""
    assert cures(answer_of(tmp_path, {"Fuses!B2": rating}))["B2"] == next_up


def test_no_way_through_the_loom(tmp_path: Path) -> None:
    """The nose hangs on nothing: wires 1, 3 and 4 run to it or from it, wire 2 stays there."""
    answer = answer_of(tmp_path, {"Loom!A3": "yoke"})
    errors = [place for place in found(answer) if place[0] == "error"]
    assert errors == [("error", "Circuits", f"J{row}") for row in (2, 4, 5)]


def test_a_long_run_asks_whether_millimetres_were_meant(tmp_path: Path) -> None:
    """900 in a cell without a unit is 900 m; the house may allow longer ones."""
    (problem,) = (p for p in answer_of(tmp_path, {"Circuits!J3": 900})["problems"] if p["file"])
    assert "mm" in problem["says"] + problem["try"] or "millimetres" in problem["says"]
    rules: dict[str, Any] = {"Job!A1": "longest_run_m", "Job!B1": 20}
    allowed = {**rules, "Circuits!J6": 13, "Circuits!F6": "2.0"}
    assert found(answer_of(tmp_path, allowed)) == []
    strict = {**rules, "Job!B1": 4, "Circuits!J6": 5}
    assert found(answer_of(tmp_path, strict)) == [("error", "Circuits", "J6")]


def test_the_same_two_points_twice(tmp_path: Path) -> None:
    """An error on the later row, whichever way round it is written."""
    answer = answer_of(tmp_path, {}, Loom=[["tail", "spine", 0.7]])
    assert [(level, sheet, cell[1:]) for level, sheet, cell in found(answer)] == [
        ("error", "Loom", "5")
    ]


def test_nothing_unused_goes_unsaid(tmp_path: Path) -> None:
    """A component, a branch and a fuse that no wire has to do with: each at its first cell."""
    answer = answer_of(
        tmp_path,
        {},
        Components=[["horn", "nose", "4 A"]],
        Loom=[["tail", "mudguard", 0.3]],
        Fuses=[["horn", 7.5]],
    )
    assert found(answer) == [
        ("caution", "Components", "A6"),
        ("caution", "Fuses", "A3"),
        ("caution", "Loom", "A5"),
    ]


def test_all_one_colour(tmp_path: Path) -> None:
    """A loom all in one colour is a fault in itself (common practice)."""
    red = {f"Circuits!E{row}": "red" for row in range(2, 8)}
    assert ("caution", "Circuits", "E2") in found(answer_of(tmp_path, red))
    red["Circuits!E7"] = "black"
    assert ("caution", "Circuits", "E2") not in found(answer_of(tmp_path, red))


@pytest.mark.parametrize(("pins", "doubted"), [(6, False), (7, True)])
def test_more_ways_than_a_housing_has(tmp_path: Path, pins: int, doubted: bool) -> None:
    """Sealed housings of 1.5 mm have 6 ways at the most (from memory): a seventh wants two."""
    rows: list[list[Any]] = [
        [f"p{n}", "gauges", f"frame earth:g{n}", f"cluster:{n}", "black", "1.0"]
        for n in range(1, pins + 1)
    ]
    cluster = ["cluster", "nose", None, None, "sealed 1.5"]
    answer = answer_of(tmp_path, {}, Circuits=rows, Components=[cluster])
    expected = [("caution", "Circuits", f"D{7 + pins}")] if doubted else []
    assert found(answer) == expected


def test_three_wires_in_one_bullet(tmp_path: Path) -> None:
    """More than two wires in one bullet: the third one's cell; two are silent."""
    at_one_pin: dict[str, Any] = {f"Circuits!C{row}": "switch:a" for row in (3, 4)}
    assert found(answer_of(tmp_path, at_one_pin)) == []
    third = ["7", "pilot", "switch:a", "pilot:1", "white", "0.5", "2 W", None, None, 0.3]
    back = ["8", "pilot", "pilot:2", "frame earth:4", "black", "0.5", None, None, None, 0.3]
    answer = answer_of(tmp_path, at_one_pin, Circuits=[third, back])
    assert found(answer) == [("caution", "Circuits", "C8")]


def test_a_plug_wants_pins(tmp_path: Path) -> None:
    """A bare end at a plug in the loom: which pin meets which cannot be told."""
    plug = ["plug", "spine", None, None, None, "pin to pin"]
    through = {"Circuits!D4": "plug:1"}
    on = ["7", "tail lamp", "plug:1", "tail lamp:1", "red", "1.0"]
    assert found(answer_of(tmp_path, through, Circuits=[on], Components=[plug])) == []
    bare = {"Circuits!D4": "plug"}
    answer = answer_of(tmp_path, bare, Circuits=[on], Components=[plug])
    assert ("error", "Circuits", "D4") in found(answer)


# -------------------------------------------------------------------- feeds and returns


def test_an_unfused_feed_is_told_at_its_first_wire(tmp_path: Path) -> None:
    """Wire 1 has no fuse; 2 and 3 behind it are not told of again.  `none` is on purpose."""
    answer = answer_of(tmp_path, {"Circuits!H2": None})
    assert found(answer) == [("caution", "Circuits", "H2"), ("caution", "Fuses", "A2")]
    assert fuses_of(answer)["2"] is None
    on_purpose = {f"Circuits!H{row}": "none" for row in (2, 3, 4)}
    assert found(answer_of(tmp_path, on_purpose)) == [("caution", "Fuses", "A2")]


HORN = ["7", "horn", "battery:+ 2", "horn:1", "purple", "1.0", "4 A", "horn", None, 0.8]


def test_fed_but_no_return(tmp_path: Path) -> None:
    """The horn's feed is there and no wire back: at the cell where the feed ends."""
    assert found(answer_of(tmp_path, {}, Circuits=[HORN])) == [("caution", "Circuits", "D8")]
    back = ["8", "horn", "horn:2", "frame earth:4", "black", "1.0", None, None, None, 0.4]
    assert found(answer_of(tmp_path, {}, Circuits=[HORN, back])) == []


def test_a_load_of_the_components_sheet_wants_a_return_too(tmp_path: Path) -> None:
    """The headlamp's earth taken away: at the cell where its feed ends."""
    gone = {"Circuits!C5": "tail lamp:3", "Circuits!B5": "tail lamp"}
    assert found(answer_of(tmp_path, gone)) == [("caution", "Circuits", "D3")]


UNLIKE = ["7", "accessory", "battery:+ 2", "switch:acc", "green", "1.0", None, "acc"]


def test_unlike_feeds_with_blank_passes(tmp_path: Path) -> None:
    """Two fuses come to two pins of a switch: the cell of its `passes`."""
    answer = answer_of(tmp_path, {}, Circuits=[UNLIKE])
    assert ("caution", "Components", "F2") in found(answer)
    # and what it feeds is behind no one fuse: null
    assert fuses_of(answer)["2"] is None


def test_unlike_feeds_once_passes_are_filled_in(tmp_path: Path) -> None:
    """`in > a b, acc > c`: nothing more to say, and a and b are behind their fuse."""
    load = ["8", "accessory", "switch:c", "socket:1", "green", "1.0", "5 A", None, None, 0.3]
    back = ["9", "accessory", "socket:2", "frame earth:4", "black", "1.0", None, None, None, 0.3]
    changes = {"Components!F2": "in > a b, acc > c"}
    answer = answer_of(tmp_path, changes, Circuits=[UNLIKE, load, back])
    assert found(answer) == []
    # 5 / 0.75 = 6.67 -> 7.5 A each
    assert fuses_of(answer) | {"4": None} == {
        **dict.fromkeys("12378", 7.5),
        **dict.fromkeys("4569"),
    }


def test_like_feeds_are_no_doubt(tmp_path: Path) -> None:
    """Two wires of one circuit behind one fuse may meet in a switch."""
    second = ["7", "feed", "battery:+ 2", "switch:in 2", "brown", "2.0", None, "main"]
    assert found(answer_of(tmp_path, {}, Circuits=[second])) == []


def test_unlike_feeds_at_a_point_without_a_row(tmp_path: Path) -> None:
    """There is no `passes` to fill in yet: the cell of the feed that comes second."""
    rows: list[list[Any]] = [
        ["7", "a", "battery:+ 2", "box:1", "white", "1.0", None, "a", None, 0.3],
        ["8", "b", "battery:+ 3", "box:2", "orange", "1.0", None, "b", None, 0.3],
        ["9", "c", "box:3", "horn:1", "purple", "1.0", "4 A", "c", None, 0.3],
        ["10", "c", "horn:2", "frame earth:4", "black", "1.0", None, None, None, 0.3],
    ]
    assert found(answer_of(tmp_path, {}, Circuits=rows)) == [("caution", "Circuits", "D9")]


# ------------------------------------------------------------------------------- currents


def test_a_load_over_the_rating_is_an_error(tmp_path: Path) -> None:
    """20 A on wire 3, and back on wire 5: both 1.0 mm2, rated 16.5 A.

    The feeds 1 and 2 in front of it are over too (20 A and the lamps'), and over their fuse.
    """
    answer = answer_of(tmp_path, {"Circuits!G4": "20 A"})
    over = {
        (p["cell"], p["says"].split(",")[0])
        for p in answer["problems"]
        if p["level"] == "error" and "carries" in p["says"]
    }
    assert {("F4", "wire 3 carries 20 A"), ("F6", "wire 5 carries 20 A")} <= over


def test_no_circuit_is_spared_for_the_words_in_its_name(tmp_path: Path) -> None:
    """A name with a starter in it spares no check: 20 A of a solenoid in 1.0 mm2 are an error."""
    starting = {"Circuits!G4": "20 A", "Circuits!B4": "starter", "Circuits!B6": "starter"}
    places = found(answer_of(tmp_path, starting))
    assert {("error", "Circuits", "F4"), ("error", "Circuits", "F6")} <= set(places)


def test_just_the_rating_is_no_error(tmp_path: Path) -> None:
    """16.5 A on 1.0 mm2, on a cold day and alone: neither error nor caution of its rating."""
    rules = {"Job!A1": "ambient_c", "Job!B1": 30}
    one = ["7", "grips", "battery:+ 2", "grips:1", "white", "1.0", "16.5 A", "none", None, 0.3]
    back = ["8", "grips", "grips:2", "battery:- 2", "black", "1.0", None, None, None, 0.3]
    assert found(answer_of(tmp_path, rules, Circuits=[one, back])) == []
    one[6] = "16.6 A"
    answer = answer_of(tmp_path, rules, Circuits=[one, back])
    assert [place for place in found(answer) if place[0] == "error"] == [
        ("error", "Circuits", "F8"),
        ("error", "Circuits", "F9"),
    ]


def test_a_chosen_gauge_stands_up_to_its_fuse(tmp_path: Path) -> None:
    """20 A fuse: wire 2 blank takes 1.5 mm2 (21 A) without a word; wire 3, typed, is told of."""
    answer = answer_of(tmp_path, {"Fuses!B2": 20, "Circuits!F3": None})
    assert wire(answer, "2")["gauge"] == "1.5"
    assert found(answer) == [("caution", "Circuits", "F4")]


def test_a_contact_over_its_amps(tmp_path: Path) -> None:
    """12 A through a 2.8 mm blade (10 A, from memory): the cell of that end."""
    blade = {"Circuits!M4": "blade joint 2.8"}
    assert found(answer_of(tmp_path, blade)) == []
    answer = answer_of(tmp_path, {**blade, "Circuits!G4": "12 A"})
    assert ("caution", "Circuits", "M4") in found(answer)


def test_nothing_either_way(tmp_path: Path) -> None:
    """0 A: the smallest gauge and the cell of its load; a typed gauge is enough said."""
    row = ["7", "sensor", "clip", "sensor", "grey", None, None, None, None, 0.3]
    answer = answer_of(tmp_path, {}, Circuits=[row])
    assert found(answer) == [("caution", "Circuits", "G8")]
    assert (wire(answer, "7")["gauge"], wire(answer, "7")["amps"]) == ("0.5", 0)
    row[5] = "0.5"
    assert found(answer_of(tmp_path, {}, Circuits=[row])) == []


def test_a_load_over_the_largest_fuse(tmp_path: Path) -> None:
    """45 A behind a fuse without a row: the cell of the wire that names it first."""
    heavy = {"Circuits!G4": "45 A", "Circuits!H4": "heater"}
    assert ("error", "Circuits", "H4") in found(answer_of(tmp_path, heavy))


# ------------------------------------------------------------------------------------ laws


@settings(max_examples=25, deadline=None)
@given(order=st.permutations(range(7)))
def test_row_order_does_not_matter(
    tmp_path_factory: pytest.TempPathFactory, order: list[int]
) -> None:
    """The same wires in another order: the same answers and the same sentences."""
    folder = tmp_path_factory.mktemp("rows")
    sheets = deepcopy(SOUND)
    head, *rows = sheets["Circuits"]
    rows = [*rows, HORN]
    rows[1] = [*rows[1][:5], None]

    def told(circuits: list[list[Any]]) -> tuple[Any, ...]:
        answer = checked(book(folder, **{**sheets, "Circuits": [head, *circuits]}))
        sentences = sorted(problem["says"] for problem in answer["problems"])
        return sentences, sorted(answer["wires"], key=lambda entry: str(entry["wire"]))

    assert told([rows[n] for n in order]) == told(rows)


@settings(max_examples=25, deadline=None)
@given(names=st.lists(st.sampled_from(sorted(ONE_CELL)), min_size=2, max_size=2, unique=True))
def test_one_fault_does_not_hide_another(
    tmp_path_factory: pytest.TempPathFactory, names: list[str]
) -> None:
    """Errors of reading are all told at once, whatever stands in the next cell."""
    of_reading = {"colour", "unit", "none", "made", "twice", "run"}
    changes: dict[str, Any] = {}
    expected: set[Found] = set()
    for name in names:
        change, places = ONE_CELL[name]
        if set(name.replace(",", "").split()) & of_reading and not set(change) & set(changes):
            changes |= change
            expected |= {place for place in places if place[0] == "error"}
    answer = answer_of(tmp_path_factory.mktemp("two"), changes)
    assert expected <= set(found(answer))
