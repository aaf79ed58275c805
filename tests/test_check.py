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


def found(answer: dict[str, Any]) -> list[str]:
    """The problems of a job as level, sheet and cell, `error Circuits!D3`, in their order."""
    return [f"{p['level']} {p['sheet']}!{p['cell']}" for p in answer["problems"] if p["file"]]


def test_a_sound_machine_is_passed_in_silence(tmp_path: Path) -> None:
    """No check has anything to say, and every wire is answered."""
    answer = answer_of(tmp_path, {})
    assert found(answer) == []
    assert fuses_of(answer) == dict(zip("123456", (7.5, 7.5, 7.5, None, None, None), strict=True))


def test_every_check_says_why_it_is_there() -> None:
    """The list of checks is plain functions, each with its sentence, none twice."""
    assert len(set(CHECKS)) == len(CHECKS) > 20
    assert all((check.__doc__ or "").strip() for check in CHECKS)


ONE_CELL: dict[str, tuple[str, Any, str]] = {
    "a point that is nowhere": ("Circuits!D3", "headlmp:1", "error"),
    "a point that is nowhere, at a start": ("Circuits!C6", "tail lmp:2", "error"),
    "a component at no point": ("Components!B3", "nsoe", "error"),
    "a label twice": ("Circuits!A4", "2", "error"),
    "a run of 13 m": ("Circuits!J3", 13, "error"),
    "a run of 900, in metres": ("Circuits!J3", 900, "error"),
    "a branch of 13 m": ("Loom!C4", 13, "error"),
    "a branch of 3.5 m": ("Loom!C4", 3.5, "caution"),
    "a colour that is none": ("Circuits!E3", "bleu-ish", "error"),
    "a load without a unit": ("Circuits!G3", 55, "error"),
    "a load that is none": ("Components!C3", "bright", "error"),
    "a gauge that is not made": ("Circuits!F3", "1.1", "error"),
    "passes that cannot be read": ("Components!F2", "in >", "error"),
    "a pin in passes that no wire uses": ("Components!F2", "in > a b c", "caution"),
    "a fuse on a return": ("Circuits!H5", "main", "caution"),
    # 5 A on 4 A; on 5 A (100 %); a rating that is not made
    "a fuse under its load": ("Fuses!B2", 4, "error"),
    "a fuse over three quarters": ("Fuses!B2", 5, "caution"),
    "a fuse that is not made": ("Fuses!B2", 12, "error"),
    # 20 A over the 16.5 A of 1.0 mm2, not over the 25 A of 2.0 mm2
    "a fuse over two wires": ("Fuses!B2", 20, "caution Circuits!F3, caution Circuits!F4"),
    # 'feed' is brown in the branch spine-nose too
    "one colour twice in a branch": ("Circuits!E4", "brown", "caution"),
    "an odd earth": ("Circuits!E6", "brown", "caution"),
    "a circuit that changes colour": ("Circuits!B2", "headlamp", "caution Circuits!E3"),
}
"""A cell of the sound machine, what is wrong in it, and all that is to be said: of that cell."""


def one_fault(name: str) -> tuple[dict[str, Any], list[str]]:
    """The changed cell of a fault, and the problems."""
    place, value, told = ONE_CELL[name]
    return {place: value}, told.split(", ") if "!" in told else [f"{told} {place}"]


@pytest.mark.parametrize("name", ONE_CELL)
def test_one_fault_is_told_once_at_its_cell(tmp_path: Path, name: str) -> None:
    """Exactly these problems, with no follow-on of any kind."""
    changes, expected = one_fault(name)
    assert found(answer_of(tmp_path, changes)) == expected


def wires(*told: str) -> list[list[Any]]:
    """Wires 7, 8 ... from `horn: battery:+ 2 > horn:1 | purple | 1.0 | 4 A`."""
    rows = []
    for label, (circuit, _, rest) in enumerate((row.partition(": ") for row in told), 7):
        ends, *cells = map(str.strip, rest.split("|"))
        rows.append([str(label), circuit, *ends.split(" > "), *(cell or None for cell in cells)])
    return rows


HORN = "horn: battery:+ 2 > horn:1 | purple | 1.0 | 4 A | horn | | 0.8"
HORN_BACK = "horn: horn:2 > frame earth:4 | black | 1.0 | | | | 0.4"
AT_ONE_PIN = {"Circuits!C3": "switch:a", "Circuits!C4": "switch:a"}
PILOT = (
    "pilot: switch:a > pilot:1 | white | 0.5 | 2 W | | | 0.3",
    "pilot: pilot:2 > frame earth:4 | black | 0.5 | | | | 0.3",
)
LONGER = {"Job!A1": "longest_run_m", "Job!B1": 20, "Circuits!F6": "2.0"}
GRIPS = (
    "grips: battery:+ 2 > grips:1 | white | 1.0 | {} | none | | 0.3",
    "grips: grips:2 > battery:- 2 | black | 1.0 | | | | 0.3",
)
COLD = {"Job!A1": "ambient_c", "Job!B1": 30}
PLUG = ["plug", "spine", None, None, None, "pin to pin"]
BEHIND_PLUG = "tail lamp: plug:1 > tail lamp:1 | red | 1.0"
UNLIKE = "accessory: battery:+ 2 > switch:acc | green | 1.0 | | acc"
ALL_RED = {f"Circuits!E{row}": "red" for row in range(2, 8)}


def gauges(pins: int) -> dict[str, Any]:
    """A sealed plug of so many pins."""
    rows = (f"gauges: frame earth:g{n} > cluster:{n} | black | 1.0" for n in range(pins))
    return {"Circuits": wires(*rows), "Components": [["cluster", "nose", None, None, "sealed 1.5"]]}


CHANGED: dict[str, tuple[dict[str, Any], dict[str, Any], str]] = {
    # the other side of the limits above
    "a run of just 12 m": ({"Circuits!J6": "12 m"}, {}, ""),
    "a branch of just 3 m, thick enough": ({"Loom!C4": "3 m", "Circuits!F4": "2.0"}, {}, ""),
    "a fuse at 67 %": ({"Fuses!B2": 7.5}, {}, ""),
    "a fuse of just what the wires are good for": ({"Fuses!B2": 15}, {}, ""),
    "one circuit twice in a branch": ({"Circuits!B4": "feed", "Circuits!E4": "brown"}, {}, ""),
    "the same colour with a trace": ({"Circuits!E4": "brown/red"}, {}, ""),
    "an earth in other letters": ({"Components!A5": "Frame  EARTH"}, {}, ""),
    "passes that say what is so": ({"Components!F2": "in > a b"}, {}, ""),
    "a plain word for the same colour": ({"Circuits!E5": "BK"}, {}, ""),
    # wires 1, 3 and 4 run to the nose or from it, wire 2 stays there
    "no way through the loom": (
        {"Loom!A3": "yoke"},
        {},
        "errors: error Loom!A3",
    ),
    "longer runs as the house allows": ({**LONGER, "Circuits!J6": 13}, {}, ""),
    "shorter ones": ({**LONGER, "Job!B1": 4, "Circuits!J6": 5}, {}, "error Circuits!J6"),
    "a component, a branch and a fuse unused": (
        {},
        {
            "Components": [["horn", "nose", "4 A"]],
            "Loom": [["tail", "mudguard", 0.3]],
            "Fuses": [["horn", 7.5]],
        },
        "caution Components!A6, caution Fuses!A3, caution Loom!A5",
    ),
    # sealed housings of 1.5 mm have 6 ways at the most (from memory): a seventh wants two
    "as many ways as a housing has": ({}, gauges(6), ""),
    "more ways than a housing has": ({}, gauges(7), "caution Circuits!D14"),
    "two wires in one bullet": (AT_ONE_PIN, {}, ""),
    "three wires in one bullet": (AT_ONE_PIN, {"Circuits": wires(*PILOT)}, "caution Circuits!C8"),
    "a pin at a plug": (
        {"Circuits!D4": "plug:1"},
        {"Circuits": wires(BEHIND_PLUG), "Components": [PLUG]},
        "",
    ),
    # which pin meets which cannot be told
    "a bare end at a plug": (
        {"Circuits!D4": "plug"},
        {"Circuits": wires(BEHIND_PLUG), "Components": [PLUG]},
        "among others: error Circuits!D4",
    ),
    # 2 and 3 behind it are not told of again
    "an unfused feed": ({"Circuits!H2": None}, {}, "caution Circuits!H2, caution Fuses!A2"),
    "feeds unfused on purpose": (
        {f"Circuits!H{row}": "none" for row in (2, 3, 4)},
        {},
        "caution Fuses!A2",
    ),
    "fed but no return": ({}, {"Circuits": wires(HORN)}, "caution Circuits!D8"),
    "fed with a return": ({}, {"Circuits": wires(HORN, HORN_BACK)}, ""),
    "a load of the Components sheet without a return": (
        {"Circuits!C5": "tail lamp:3", "Circuits!B5": "tail lamp"},
        {},
        "caution Circuits!D3",
    ),
    "two feeds of one circuit behind one fuse": (
        {},
        {"Circuits": wires("feed: battery:+ 2 > switch:in 2 | brown | 2.0 | | main")},
        "",
    ),
    # there is no `passes` to fill in yet: the cell of the feed that comes second
    "unlike feeds at a point without a row": (
        {},
        {
            "Circuits": wires(
                "a: battery:+ 2 > box:1 | white | 1.0 | | a | | 0.3",
                "b: battery:+ 3 > box:2 | orange | 1.0 | | b | | 0.3",
                "c: box:3 > horn:1 | purple | 1.0 | 4 A | c | | 0.3",
                "c: horn:2 > frame earth:4 | black | 1.0 | | | | 0.3",
            )
        },
        "caution Circuits!D9",
    ),
    # 16.5 A on 1.0 mm2, on a cold day and alone
    "just the rating": (COLD, {"Circuits": wires(GRIPS[0].format("16.5 A"), GRIPS[1])}, ""),
    "over the rating": (
        COLD,
        {"Circuits": wires(GRIPS[0].format("16.6 A"), GRIPS[1])},
        "errors: error Circuits!F8, error Circuits!F9",
    ),
    # 20 A of a solenoid in 1.0 mm2, there and back
    "a name with a starter in it spares no check": (
        {"Circuits!G4": "20 A", "Circuits!B4": "starter", "Circuits!B6": "starter"},
        {},
        "among others: error Circuits!F4, error Circuits!F6",
    ),
    # 12 A through a 2.8 mm blade (10 A, from memory): the cell of that end
    "a small contact": ({"Circuits!M4": "blade joint 2.8"}, {}, ""),
    "a contact over its amps": (
        {"Circuits!M4": "blade joint 2.8", "Circuits!G4": "12 A"},
        {},
        "among others: caution Circuits!M4",
    ),
    # 45 A behind a fuse without a row: the cell of the wire that names it first
    "a load over the largest fuse": (
        {"Circuits!G4": "45 A", "Circuits!H4": "heater"},
        {},
        "among others: error Circuits!H4",
    ),
    "all one colour (common practice)": (ALL_RED, {}, "among others: caution Circuits!E2"),
}
"""Cells that are changed, rows that are added, and all that is to be said of it, or of errors."""


@pytest.mark.parametrize("name", CHANGED)
def test_what_is_told_of_a_change(tmp_path: Path, name: str) -> None:
    """The two sides of each limit."""
    changes, more, told = CHANGED[name]
    places = found(answer_of(tmp_path, changes, **more))
    of, _, expected = told.rpartition(": ")
    if of == "errors":
        places = [place for place in places if place.startswith("error")]
    wanted = expected.split(", ") if expected else []
    assert set(wanted) <= set(places) if of == "among others" else places == wanted


# ------------------------------------------------------------------------------ the loom


@pytest.mark.parametrize(
    ("place", "typed", "cure"),
    [
        ("Circuits!D3", "headlmp:1", "headlamp"),
        ("Components!B3", "nsoe", "nose"),
        ("Fuses!B2", 12, "15 A"),  # the next blade fuse up
        ("Fuses!B2", 300, "40 A"),  # over all of them the largest (ISO 8820-3)
    ],
)
def test_a_slip_of_the_pen_is_answered_with_what_is_meant(
    tmp_path: Path, place: str, typed: Any, cure: str
) -> None:
    """The nearest name or rating there is stands under the problem."""
    answer = answer_of(tmp_path, {place: typed})
    assert {p["cell"]: p["try"] for p in answer["problems"]}[place[-2:]] == cure


def test_a_long_run_asks_whether_millimetres_were_meant(tmp_path: Path) -> None:
    """900 in a cell without a unit is 900 m."""
    (problem,) = (p for p in answer_of(tmp_path, {"Circuits!J3": 900})["problems"] if p["file"])
    assert "mm" in problem["says"] + problem["try"] or "millimetres" in problem["says"]


def test_the_same_two_points_twice(tmp_path: Path) -> None:
    """An error on the later row, whichever way round it is written."""
    (place,) = found(answer_of(tmp_path, {}, Loom=[["tail", "spine", 0.7]]))
    assert place.startswith("error Loom!") and place.endswith("5")


def test_one_wire_in_another_colour(tmp_path: Path) -> None:
    """It is not a loom of one colour any more."""
    two_colours = {**ALL_RED, "Circuits!E7": "black"}
    assert "caution Circuits!E2" not in found(answer_of(tmp_path, two_colours))


# -------------------------------------------------------------------- feeds and returns


def test_an_unfused_feed_is_behind_no_fuse(tmp_path: Path) -> None:
    """Nor is what it feeds."""
    assert fuses_of(answer_of(tmp_path, {"Circuits!H2": None}))["2"] is None


def test_unlike_feeds_with_blank_passes(tmp_path: Path) -> None:
    """Two fuses come to two pins of a switch: the cell of its `passes`."""
    answer = answer_of(tmp_path, {}, Circuits=wires(UNLIKE))
    assert "caution Components!F2" in found(answer)
    # and what it feeds is behind no one fuse: null
    assert fuses_of(answer)["2"] is None


def test_unlike_feeds_once_passes_are_filled_in(tmp_path: Path) -> None:
    """`in > a b, acc > c`: nothing more to say, and a and b are behind their fuse."""
    load = "accessory: switch:c > socket:1 | green | 1.0 | 5 A | | | 0.3"
    back = "accessory: socket:2 > frame earth:4 | black | 1.0 | | | | 0.3"
    changes = {"Components!F2": "in > a b, acc > c"}
    answer = answer_of(tmp_path, changes, Circuits=wires(UNLIKE, load, back))
    assert found(answer) == []
    # 5 / 0.75 = 6.67 -> 7.5 A each
    assert fuses_of(answer) == dict.fromkeys("12378", 7.5) | dict.fromkeys("4569")


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


def test_a_chosen_gauge_stands_up_to_its_fuse(tmp_path: Path) -> None:
    """20 A fuse: wire 2 blank takes 1.5 mm2 (21 A) without a word; wire 3, typed, is told of."""
    answer = answer_of(tmp_path, {"Fuses!B2": 20, "Circuits!F3": None})
    assert wire(answer, "2")["gauge"] == "1.5"
    assert found(answer) == ["caution Circuits!F4"]


def test_nothing_either_way(tmp_path: Path) -> None:
    """0 A: the smallest gauge and the cell of its load; a typed gauge is enough said."""
    (row,) = wires("sensor: clip > sensor | grey | | | | | 0.3")
    answer = answer_of(tmp_path, {}, Circuits=[row])
    assert found(answer) == ["caution Circuits!G8"]
    assert (wire(answer, "7")["gauge"], wire(answer, "7")["amps"]) == ("0.5", 0)
    row[5] = "0.5"
    assert found(answer_of(tmp_path, {}, Circuits=[row])) == []


# ------------------------------------------------------------------------------------ laws


@settings(max_examples=25)
@given(order=st.permutations(range(7)))
def test_row_order_does_not_matter(
    tmp_path_factory: pytest.TempPathFactory, order: list[int]
) -> None:
    """The same wires in another order: the same answers and the same sentences."""
    folder = tmp_path_factory.mktemp("rows")
    sheets = deepcopy(SOUND)
    head, *rows = sheets["Circuits"]
    rows = [*rows, *wires(HORN)]
    rows[1] = [*rows[1][:5], None]

    def told(circuits: list[list[Any]]) -> tuple[Any, ...]:
        answer = checked(book(folder, **{**sheets, "Circuits": [head, *circuits]}))
        sentences = sorted(problem["says"] for problem in answer["problems"])
        return sentences, sorted(answer["wires"], key=lambda entry: str(entry["wire"]))

    assert told([rows[n] for n in order]) == told(rows)


@settings(max_examples=25)
@given(names=st.lists(st.sampled_from(sorted(ONE_CELL)), min_size=2, max_size=2, unique=True))
def test_one_fault_does_not_hide_another(
    tmp_path_factory: pytest.TempPathFactory, names: list[str]
) -> None:
    """Errors of reading are all told at once, whatever stands in the next cell."""
    of_reading = {"colour", "unit", "none", "made", "twice", "run"}
    changes: dict[str, Any] = {}
    expected: set[str] = set()
    for name in names:
        change, places = one_fault(name)
        if set(name.replace(",", "").split()) & of_reading and not set(change) & set(changes):
            changes |= change
            expected |= {place for place in places if place.startswith("error")}
    answer = answer_of(tmp_path_factory.mktemp("two"), changes)
    assert expected <= set(found(answer))
