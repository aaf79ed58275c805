"""The take-off: terminals by pin, plugs, coverings, fuses; each count by hand."""

import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from bom.job import open_job
from bom.reckon.bundle import laid
from bom.show.job_json import takeoff_out
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_files import load_catalogue
from bom.trade.figures import circle_ratio
from bom.trade.house import HouseRules
from tests.books import book, checked, says

HEAD = ("from", "to", "colour", "gauge", "length", "from end", "to end", "qty", "fuse")
NO_SPARES = [("terminal_spare_percent", 0)]


def needs(path: Path) -> dict[str, int]:
    """Quantities by item, cable left out; the job must have no errors."""
    job = open_job(path)
    assert job.takeoff, [str(problem) for problem in job.problems]
    answer = takeoff_out(job)
    return {need["item"]: need["quantity"] for need in answer["needs"] if need["kind"] != "cable"}


def ends(tmp_path: Path, *rows: tuple[Any, ...], **sheets: Any) -> dict[str, int]:
    """Parts of wires given as (from, to, from end, to end, gauge), without spares."""
    circuits = [
        (start, finish, "red", gauge, 1, first, last, None, None)
        for start, finish, first, last, gauge in rows
    ]
    return needs(book(tmp_path, Job=NO_SPARES, Circuits=[HEAD, *circuits], **sheets))


def test_a_pin_is_one_terminal_for_the_summed_area(tmp_path: Path) -> None:
    """1.0 + 1.0 mm2 at one pin: one ring for 2.0 mm2; at bare points one each."""
    found = ends(
        tmp_path,
        ("earth:1", "a", "ring M6", "bare", "1.0"),
        ("earth:1", "b", "ring M6", "bare", "1.0"),
        ("stud", "c", "ring M5", "bare", "1.0"),
        ("stud", "d", "ring M5", "bare", "1.0"),
    )
    assert found == {"ring terminal, M6, 1.5-2.5 mm2": 1, "ring terminal, M5, 0.5-1.5 mm2": 2}


def test_splices_at_one_bare_point_are_one(tmp_path: Path) -> None:
    """Three wires of 1.0 mm2 in one splice of 3.0 mm2, and its adhesive shrink of 40 mm.

    Three wires of 2.1 mm: D = 2.154701 x 2.1 = 4.52 mm (Birgin and Gentil 2009, table 1), so
    the 3:1 shrink of 6 mm.
    """
    found = ends(
        tmp_path,
        ("s", "a", "splice", "bare", "1.0"),
        ("s", "b", "splice", "bare", "1.0"),
        ("c", "s", "bare", "splice", "1.0"),
    )
    assert found == {"crimp splice, 2.5-6.0 mm2": 1, "heat-shrink, adhesive 3:1, 6 mm": 40}
    assert circle_ratio(3) * 2.1 == pytest.approx(4.52, abs=0.01)


def test_a_joint_makes_both_halves_with_their_covers(tmp_path: Path) -> None:
    """Two wires at its pin: the loom's half takes 2.0 + 1.0, the component's the thicker, 2.0."""
    found = ends(
        tmp_path,
        ("lamp:1", "a", "bullet joint", "bare", "2.0"),
        ("lamp:1", "b", "bullet joint", "bare", "1.0"),
    )
    assert found == {
        "bullet terminal, female, 2.0-3.0 mm2": 1,
        "bullet terminal, male, 1.0-2.0 mm2": 1,
        "bullet cover, female": 1,
        "bullet cover, male": 1,
    }


def test_without_joint_the_bought_part_brings_its_own_half(tmp_path: Path) -> None:
    """One male bullet and its cover."""
    found = ends(tmp_path, ("lamp:1", "a", "bullet", "bare", "1.0"))
    assert found == {"bullet terminal, male, 0.5-1.0 mm2": 1, "bullet cover, male": 1}


def test_british_bullets_join_in_sleeved_connectors(tmp_path: Path) -> None:
    """Two bullets and a connector of two ways; no cover."""
    found = ends(tmp_path, ("lamp:1", "a", "bullet joint 4.7", "bare", "1.0"))
    assert found == {
        "bullet terminal, 4.7 mm, male, 0.5-1.0 mm2": 2,
        "sleeved bullet connector, 4.7 mm, 2 way": 1,
    }


def test_a_plug_has_two_halves_and_two_housings(tmp_path: Path) -> None:
    """Pins 1 to 3 on the supply side, 1 and 2 beyond: pin 3 gets its terminal there too."""
    rows = [
        *[(f"box:{n}", f"plug:{n}", "bare", "multiway 2.8", "1.0") for n in (1, 2, 3)],
        *[(f"plug:{n}", f"lamp:{n}", "multiway 2.8", "bare", "1.0") for n in (1, 2)],
    ]
    components = [("component", "passes"), ("plug", "pin to pin")]
    found = ends(tmp_path, *rows, Components=components)
    assert found == {
        "contact for multi-way housing, 2.8 mm, female, 0.5-1.0 mm2": 3,
        "contact for multi-way housing, 2.8 mm, male, 0.5-1.0 mm2": 3,
        "multi-way housing, 2.8 mm, female, 3 way": 1,
        "multi-way housing, 2.8 mm, male, 3 way": 1,
    }


def test_sides_of_a_plug_go_by_its_two_branches(tmp_path: Path) -> None:
    """An earth that starts at the plug but lies on the supply's branch is on that half."""
    rows = [
        ("box:1", "plug:1", "red", "2.0", None, "bare", "multiway 6.3", None, None),
        ("plug:2", "box:2", "black", "1.0", None, "multiway 6.3", "bare", None, None),
        ("plug:1", "lamp:1", "red", "1.0", None, "multiway 6.3", "bare", None, None),
        ("lamp:2", "plug:2", "black", "1.0", None, "bare", "multiway 6.3", None, None),
    ]
    components = [("component", "passes"), ("plug", "pin to pin")]
    loom = [
        ("from", "to", "length", "covering"),
        ("box", "plug", 1, "none"),
        ("plug", "lamp", 1, "none"),
    ]
    found = needs(
        book(tmp_path, Job=NO_SPARES, Circuits=[HEAD, *rows], Components=components, Loom=loom)
    )
    # supply's half, female: 2.0 and 1.0; beyond it, male: 1.0 and 1.0
    assert found["contact for multi-way housing, 6.3 mm, male, 0.5-1.0 mm2"] == 2
    assert (
        sum(n for item, n in found.items() if "6.3 mm, female" in item and "contact" in item) == 2
    )


def test_seals_go_by_the_insulation(tmp_path: Path) -> None:
    """1.0 mm2 thin wall is 2.1 mm outside: the seal for 1.7-2.4 mm."""
    found = ends(tmp_path, ("sensor:1", "a", "sealed 1.5 socket", "bare", "1.0"))
    assert found["wire seal, 1.5 mm contact, 1.7-2.4 mm"] == 1
    assert sum(n for item, n in found.items() if item.endswith("way")) == 1


@pytest.mark.parametrize(("count", "total"), [(1, 3), (20, 22), (21, 24)])
def test_spares(tmp_path: Path, count: int, total: int) -> None:
    """10 % rounded up, and two at the least: 1 + 2, 20 + 2, 21 + 3."""
    row = ("a", "b", "red", "1.0", 1, "bullet", "bare", count, None)
    found = needs(book(tmp_path, Circuits=[HEAD, row]))
    assert found["bullet terminal, male, 0.5-1.0 mm2"] == total


def test_faults_at_a_pin(tmp_path: Path) -> None:
    """Two styles at one pin: the later cell; an area over the style's largest: a splice point."""
    rows = [
        ("a:1", "b", "red", "1.0", 1, "bullet", "bare", None, None),
        ("a:1", "c", "red", "1.0", 1, "ring M6", "bare", None, None),
        ("d:1", "e", "red", "2.0", 1, "bullet", "bare", None, None),
        ("d:1", "f", "red", "2.0", 1, "bullet", "bare", None, None),
    ]
    answer = checked(book(tmp_path, Circuits=[HEAD, *rows]))
    assert ("Circuits", "F3", "two end styles at a:1: 'bullet' and 'ring M6'") in says(
        answer, "error"
    )
    (cure,) = [p["try"] for p in answer["problems"] if "4 mm2 at d:1" in p["says"]]
    assert cure == "a splice point in front of it"


# ----------------------------------------------------------------------------- coverings


def _covered(tmp_path: Path, branch: tuple[Any, ...], wires: int = 1, **job: Any) -> dict[str, int]:
    rows = [
        (f"a:{n}", f"b:{n}", "red", "1.0", None, "bare", "bare", None, None) for n in range(wires)
    ]
    loom = [("from", "to", "length", "exposure", "slack", "covering"), branch]
    return needs(book(tmp_path, Job=list(job.items()), Circuits=[HEAD, *rows], Loom=loom))


def test_tape_is_a_helix_unrolled(tmp_path: Path) -> None:
    """One wire of 2.1 mm, 19 mm tape, half over: turns of pi x 2.23 round and 9.5 mm on.

    1000 mm and 50 mm slack, two turns at each end, 10 % waste, rounded up once.
    """
    turn = math.hypot(math.pi * 2.23, 9.5)
    length = (1050 * turn / 9.5 + 4 * math.pi * 2.23) * 1.10
    found = _covered(tmp_path, ("a", "b", 1.0, None, 50, None))
    assert found == {"loom tape, PVC, 19 mm": math.ceil(length)}


def test_tube_in_the_weather(tmp_path: Path) -> None:
    """Seven wires of 2.1 mm: D = 3 x 2.1 = 6.3, x 1.15 = 7.25: 8 mm bore; 1000 x 1.1 mm."""
    found = _covered(tmp_path, ("a", "b", 1.0, "weather", None, None), wires=7)
    assert found == {"PVC tube, 8 mm bore": 1100}


def test_braid_on_show_lies_over_tube_with_shrink_ends(tmp_path: Path) -> None:
    """Tube 8 mm bore is 9.0 outside; x 1.15 = 10.35: braid of 12 mm, 13.0 outside: shrink 19.1."""
    found = _covered(tmp_path, ("a", "b", 1.0, "show", None, None), wires=7)
    assert found == {
        "PVC tube, 8 mm bore": 1100,
        "braided sleeving, 12 mm bore": 1100,
        "heat-shrink, plain 2:1, 19.1 mm": 80,
    }


def test_a_covering_typed_wins_over_the_exposure(tmp_path: Path) -> None:
    """`none` on a branch in the weather."""
    assert _covered(tmp_path, ("a", "b", 1.0, "weather", None, "none")) == {}


# --------------------------------------------------------------------------------- fuses


def test_fuses_spares_and_boxes(tmp_path: Path) -> None:
    """Three fuses of 5 A in one box of four ways, one of 10 A in line, spares as asked."""
    rows = [
        (f"battery:{n}", f"load {n}", "red", "1.0", 1, "bare", "bare", None, name)
        for n, name in enumerate(("a", "b", "c", "d"))
    ]
    fuses = [
        ("fuse", "rating", "holder", "spares"),
        ("a", 5, "fuse box", 1),
        ("b", 5, "fuse box", 3),
        ("c", 5, "fuse box", None),
        ("d", 10, "in-line", None),
        ("idle", 10, "in-line", None),
    ]
    found = needs(book(tmp_path, Circuits=[HEAD, *rows], Fuses=fuses))
    assert found == {
        "blade fuse, 5 A": 3 + 3,
        # `idle` is named by no wire but has a rating: it is counted
        "blade fuse, 10 A": 2 + 1,
        "fuse box, blade, 4 way": 1,
        "in-line fuse holder, blade": 2,
        # the two sides of d, and two spares; `idle` lies in no wire
        "crimp splice, 0.5-1.5 mm2": 2 + 2,
        "heat-shrink, adhesive 3:1, 3 mm": 2 * 40,
    }


def fused(
    tmp_path: Path,
    *ends: tuple[str, str],
    gauge: str = "1.0",
    qty: int | None = None,
    **sheets: Any,
) -> dict[str, int]:
    """Parts of wires behind the fuse `main`, their ends bare, without spares."""
    rows = [(*pair, "red", gauge, 1, "bare", "bare", qty, "main") for pair in ends]
    sheets = {"Job": [*NO_SPARES, ("fuse_spares", 0)], "Components": LAMP, **sheets}
    found = needs(book(tmp_path, Circuits=[HEAD, *rows], **sheets))
    return {item: number for item, number in found.items() if "blade fuse" not in item}


LAMP = [("component", "load"), ("lamp", "5 W")]
HOLDER = {"in-line fuse holder, blade": 1}
IN_LINE = {
    **HOLDER,
    "crimp splice, 0.5-1.5 mm2": 2,
    "heat-shrink, adhesive 3:1, 3 mm": 2 * 40,  # 2.1 mm outside: 3 > 2.1 > 1
}


@pytest.mark.parametrize("holder", [None, "in-line"])
def test_a_fuse_in_line_is_joined_at_both_sides(tmp_path: Path, holder: str | None) -> None:
    """Two splices for 1.0 mm2 and their shrink; with a blank holder too, and without a row."""
    wire = ("battery:+", "lamp")
    assert fused(tmp_path, wire) == IN_LINE
    fuses = [("fuse", "rating", "holder"), ("main", 5, holder)]
    assert fused(tmp_path, wire, Fuses=fuses) == IN_LINE


def test_the_first_wire_of_a_fuse_gives_the_size_of_its_joints(tmp_path: Path) -> None:
    """Two wires typed: two joints, for the 2.5 mm2 of the first (3.0 mm outside: 6 > 3 > 2)."""
    rows = [
        ("battery:+", "switch", "red", "2.5", 1, "bare", "bare", None, "main"),
        ("switch", "lamp", "red", "1.0", 1, "bare", "bare", None, "main"),
    ]
    job = [*NO_SPARES, ("fuse_spares", 0)]
    found = needs(book(tmp_path, Job=job, Circuits=[HEAD, *rows], Components=LAMP))
    assert found["crimp splice, 1.5-2.5 mm2"] == 2
    assert found["heat-shrink, adhesive 3:1, 6 mm"] == 80


def test_identical_wires_of_one_fuse_lie_in_its_joints_together(tmp_path: Path) -> None:
    """Two wires of 1.0 mm2 are 2.0; side by side 2 x 2.1 = 4.2 mm: 6 > 4.2 > 2."""
    found = fused(tmp_path, ("battery:+", "lamp"), qty=2)
    splices = {"crimp splice, 1.5-2.5 mm2": 2, "heat-shrink, adhesive 3:1, 6 mm": 80}
    assert found == {**HOLDER, **splices}


@pytest.mark.parametrize(
    ("point", "in_line"),
    [
        ("fuse box:1", False),
        ("Fuses", False),
        ("fuse panel:main", False),
        ("main fuse:in", False),
        ("fusebox:1", False),
        ("refused bin", True),  # no word of its own
        ("switch:fuse", True),  # the point counts, not its pin
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_a_fuse_at_a_fuse_box_is_not_in_line(
    tmp_path: Path, point: str, in_line: bool, turned: bool
) -> None:
    """Wherever a wire with its typed name starts or ends; it need not be the first."""
    second = ("lamp", point) if turned else (point, "lamp")
    assert fused(tmp_path, ("battery:+", "switch"), second) == (IN_LINE if in_line else HOLDER)


def test_a_wire_behind_a_fuse_box_does_not_count_where_its_fuse_is_not_typed(
    tmp_path: Path,
) -> None:
    """The fuse `main` lies in the first wire; the box that it feeds has no name of it typed."""
    rows = [
        ("battery:+", "fuse box:in", "red", "1.0", 1, "bare", "bare", None, None),
        ("battery:2", "lamp", "red", "1.0", 1, "bare", "bare", None, "main"),
        ("fuse box:1", "horn", "red", "1.0", 1, "bare", "bare", None, None),
    ]
    found = needs(book(tmp_path, Job=NO_SPARES, Circuits=[HEAD, *rows], Components=LAMP))
    assert found["crimp splice, 0.5-1.5 mm2"] == 2


def test_a_box_holder_brings_no_joints(tmp_path: Path) -> None:
    """The typed holder is a box, whatever the wire's ends are called."""
    fuses = [("fuse", "rating", "holder"), ("main", 5, "fuse box")]
    assert fused(tmp_path, ("battery:+", "lamp"), Fuses=fuses) == {"fuse box, blade, 4 way": 1}


@pytest.mark.parametrize(
    ("style", "joints"),
    [
        (
            "bullet joint",  # both halves at each side, each with its cover
            {
                f"bullet {part}": 2
                for half in ("male", "female")
                for part in (f"terminal, {half}, 0.5-1.0 mm2", f"cover, {half}")
            },
        ),
        (
            "bullet joint 4.7",
            {
                "bullet terminal, 4.7 mm, male, 0.5-1.0 mm2": 4,
                "sleeved bullet connector, 4.7 mm, 2 way": 2,
            },
        ),
        ("solder", {}),
    ],
)
def test_the_house_may_join_its_holders_otherwise(
    tmp_path: Path, style: str, joints: dict[str, int]
) -> None:
    """House rule in_line_end."""
    job = [*NO_SPARES, ("fuse_spares", 0), ("in_line_end", style)]
    found = fused(tmp_path, ("battery:+", "lamp"), Job=job)
    assert found == {**HOLDER, **joints}


def test_a_wire_too_thick_for_the_joints_of_its_holder_is_told(tmp_path: Path) -> None:
    """16 mm2 in a splice that takes 10: its two ends are left out, the job goes on."""
    wire = ("battery:+", "lamp", "red", "16.0", 1, "bare", "bare", None, "main")
    path = book(tmp_path, Job=NO_SPARES, Circuits=[HEAD, wire], Components=LAMP)
    assert not any("splice" in item for item in needs(path))
    job = open_job(path)
    told = [(p.level, p.where.cell) for p in job.problems if "holder of fuse main" in p.says]
    assert told == [("caution", "I2")]  # the fuse's cell


@pytest.mark.parametrize(
    ("components", "box"),
    [
        ([("fuse box", 8)], "fuse box, blade, 8 way"),
        ([("Fuse  Box", 8)], "fuse box, blade, 8 way"),
        ([("rear fuse box", 10)], "fuse box, blade, 10 way"),  # it has the word in its name
        ([("rear fuse box", 10), ("fuse box", 6)], "fuse box, blade, 6 way"),  # its very name
        ([("fuse box", 2)], "fuse box, blade, 4 way"),  # fewer than there are fuses
        ([("battery box", 8)], "fuse box, blade, 4 way"),
    ],
)
def test_ways_of_a_fuse_box(tmp_path: Path, components: list[tuple[str, int]], box: str) -> None:
    """Three fuses; the smallest box is of 4 ways."""
    rows = [
        (f"battery:{n}", f"load {n}", "red", "1.0", 1, "bare", "bare", None, f"f{n}")
        for n in range(3)
    ]
    fuses = [("fuse", "rating", "holder"), *((f"f{n}", 5, "fuse box") for n in range(3))]
    sheets: dict[str, Any] = {"Fuses": fuses, "Components": [("component", "ways"), *components]}
    found = needs(book(tmp_path, Circuits=[HEAD, *rows], **sheets))
    assert {item: n for item, n in found.items() if "box" in item} == {box: 1}


def test_ways_of_a_fuse_box_are_not_those_of_its_plug(tmp_path: Path) -> None:
    """Eight fuses find room in the box; its plug has the two ways that are wired."""
    rows = [
        (f"fuse box:{n}", f"lamp {n}", "red", "1.0", 1, "multiway 6.3", "bare", None, f"f{n}")
        for n in range(2)
    ]
    fuses = [("fuse", "rating", "holder"), *((f"f{n}", 5, "fuse box") for n in range(2))]
    sheets: dict[str, Any] = {
        "Fuses": fuses,
        "Components": [("component", "ways"), ("fuse box", 8)],
    }
    found = needs(book(tmp_path, Circuits=[HEAD, *rows], **sheets))
    assert found["fuse box, blade, 8 way"] == found["multi-way housing, 6.3 mm, male, 2 way"] == 1


def test_boxes_with_names_of_their_own(tmp_path: Path) -> None:
    """`front fuse box` and `rear fuse box` are two boxes; fourteen ways are 12 + 4."""
    rows = [
        (f"battery:{n}", f"load {n}", "red", "1.0", 1, "bare", "bare", None, f"f{n}")
        for n in range(15)
    ]
    holders = ["front fuse box"] * 14 + ["rear fuse box"]
    fuses = [("fuse", "rating", "holder"), *((f"f{n}", 5, h) for n, h in enumerate(holders))]
    found = needs(book(tmp_path, Circuits=[HEAD, *rows], Fuses=fuses))
    assert found["fuse box, blade, 12 way"] == 1
    assert found["fuse box, blade, 4 way"] == 2


@pytest.mark.parametrize(
    ("holder", "load", "item"),
    [
        # DIN 72581-1: 5, 8, 16, 25 A; 5 A / 0.75 = 6.67 -> 8 A
        ("torpedo fuse box", "5 A", "torpedo fuse, 8 A"),
        ("in-line mini", "5 A", "mini blade fuse, 7.5 A"),
        # maxi fuses start at 20 A (from memory)
        ("maxi holder", "5 A", "maxi blade fuse, 20 A"),
        ("glass holder", "5 A", "glass fuse, 30 x 6.3 mm, 8 A"),
        ("in-line", "5 A", "blade fuse, 7.5 A"),
    ],
)
def test_the_holder_tells_the_kind_of_fuse(
    tmp_path: Path, holder: str, load: str, item: str
) -> None:
    """The smallest of its kind that the load fills to 75 %."""
    head = ("from", "to", "colour", "gauge", "load", "length", "fuse", "from end", "to end")
    row = ("battery", "lamp", "red", "2.0", load, 1, "main", "bare", "bare")
    fuses = [("fuse", "holder"), ("main", holder)]
    found = needs(book(tmp_path, Circuits=[head, row], Fuses=fuses))
    assert found[item] == 2, found


# --------------------------------------------------------------------------------- cable


def cables(path: Path) -> dict[str, tuple[list[int], int, int]]:
    """Pieces, spare and quantity by gauge and colour."""
    job = open_job(path)
    assert job.takeoff, [str(problem) for problem in job.problems]
    return {
        f"{need['gauge']} {need['colour']}": (
            sorted(need["pieces_mm"]),
            need["spare_mm"],
            need["quantity"],
        )
        for need in takeoff_out(job)["needs"]
        if need["kind"] == "cable"
    }


PIECES = ("from", "to", "colour", "gauge", "length", "qty")


def test_the_worked_example_of_the_design(tmp_path: Path) -> None:
    """1300 x 1.05 = 1365, + tail 150 + 2 x 40 = 1595: 1600; spare 80; needed 1680 mm."""
    found = cables(
        book(
            tmp_path,
            Circuits=[PIECES, ("battery", "tail lamp", "red", "1.0", None, None)],
            Loom=[
                ("from", "to", "length"),
                ("battery", "spine", 0.5),
                ("spine", "tail", 0.8),
            ],
            Components=[("component", "at", "tail"), ("tail lamp", "tail", 150)],
        )
    )
    assert found == {"1.0 red": ([1600], 80, 1680)}


def test_slack_and_tails_are_added_after_the_allowance(tmp_path: Path) -> None:
    """1000 x 1.05 = 1050, + slack 100 + tails 30 + 20 + 80 = 1280; a length of its own: neither.

    Its own 1.0 m: 1050 + 80 = 1130.  Together 2410, spare 120.5: 130.
    """
    found = cables(
        book(
            tmp_path,
            Circuits=[
                PIECES,
                ("a", "b", "red", "1.0", None, None),
                ("a", "b", "red", "1.0", 1.0, None),
            ],
            Loom=[("from", "to", "length", "slack"), ("a", "b", 1.0, 100)],
            Components=[("component", "tail"), ("a", 30), ("b", 20)],
        )
    )
    assert found == {"1.0 red": ([1130, 1280], 130, 2540)}


def test_pieces_are_rounded_up_and_the_spare_once_on_their_sum(tmp_path: Path) -> None:
    """100 x 1.05 + 80 = 185: three pieces of 190; 5 % of 570 = 28.5: 30, not three times 10.

    1143 x 1.05 + 80 = 1280.15: 1290, spare 64.5: 70.
    """
    found = cables(
        book(
            tmp_path,
            Circuits=[
                PIECES,
                ("a", "b", "red", "1.0", "100 mm", 3),
                ("c", "d", "red/blue", "1.0", "1143 mm", None),
                ("e", "f", "red", "1.5", "1143 mm", None),
            ],
        )
    )
    assert found == {
        "1.0 red": ([190, 190, 190], 30, 600),
        "1.0 red/blue": ([1290], 70, 1360),
        "1.5 red": ([1290], 70, 1360),
    }


def test_the_arithmetic_is_exact(tmp_path: Path) -> None:
    """400 mm x 1.05 + 80 = 500, and not 510 by the dust of a binary 1.05."""
    path = book(tmp_path, Circuits=[PIECES, ("a", "b", "red", "1.0", 0.4, None)])
    assert cables(path) == {"1.0 red": ([500], 30, 530)}  # spare 25: 30


def test_house_rules_of_the_job_count(tmp_path: Path) -> None:
    """1000 x 1.10 + 2 x 25 = 1150, in steps of 100: 1200; no spare."""
    rules = [("item", "value"), ("run_percent", 10), ("end_mm", 25), ("step_mm", 100)]
    rules.append(("cable_spare_percent", 0))
    path = book(tmp_path, Job=rules, Circuits=[PIECES, ("a", "b", "red", "1.0", 1, None)])
    assert cables(path) == {"1.0 red": ([1200], 0, 1200)}


# ------------------------------------------------------------- coverings, branch by branch


def test_tape_is_rounded_up_once_on_the_total(tmp_path: Path) -> None:
    """Ten branches of 100 mm with one wire of 2.1 mm: 1676 mm, not 10 x 168.

    Turns of pi x 2.23 = 7.006 round and 9.5 on are 11.804 long: 100 / 9.5 x 11.804 = 124.25,
    four turns 28.02; 152.275 x 1.10 = 167.502, times ten 1675.02.
    """
    each = (100 * math.hypot(math.pi * 2.23, 9.5) / 9.5 + 4 * math.pi * 2.23) * 1.10
    points = [f"p{n}" for n in range(11)]
    loom = [("from", "to", "length"), *((a, b, "100 mm") for a, b in pairwise(points))]
    row = ("p0", "p10", "red", "1.0", None, "bare", "bare", None, None)
    found = needs(book(tmp_path, Circuits=[HEAD, row], Loom=loom))
    assert found == {"loom tape, PVC, 19 mm": 1676}
    assert each == pytest.approx(167.502, abs=0.001)


def test_tape_by_the_house_rules(tmp_path: Path) -> None:
    """25 mm tape, a third over, 0.2 mm thick, no waste: 16.67 mm on, pi x 2.3 round."""
    pitch = 25 * 2 / 3
    expected = 500 * math.hypot(math.pi * 2.3, pitch) / pitch + 4 * math.pi * 2.3
    found = _covered(
        tmp_path,
        ("a", "b", 0.5, None, None, "tape"),
        tape_width_mm=25,
        tape_overlap_percent="33.3333333333",
        tape_thickness_mm=0.2,
        covering_waste_percent=0,
    )
    assert found == {"loom tape, PVC, 25 mm": math.ceil(round(expected, 3))}


def test_the_bundle_counts_identical_wires(tmp_path: Path) -> None:
    """A row of seven wires of 2.1 mm: D = 3 x 2.1 = 6.3 (Birgin and Gentil), x 1.15 = 7.245."""
    row = ("a", "b", "red", "1.0", None, "bare", "bare", 7, None)
    loom = [("from", "to", "length", "covering"), ("a", "b", 1, "tube")]
    found = needs(book(tmp_path, Circuits=[HEAD, row], Loom=loom))
    assert found == {"PVC tube, 8 mm bore": 1100}


@pytest.mark.parametrize(
    ("clearance", "bore"),
    [(0, 5), (19, 5), (20, 6), (42, 6), (43, 8)],
)
def test_the_bore_is_the_smallest_with_clearance(tmp_path: Path, clearance: int, bore: int) -> None:
    """Two wires of 2.1 mm: D = 4.2; x 1.19 = 4.998, x 1.20 = 5.04, x 1.42 = 5.964, 1.43: 6.006."""
    branch = ("a", "b", 1.0, None, None, "tube")
    found = _covered(tmp_path, branch, wires=2, tube_clearance_percent=clearance)
    assert found == {f"PVC tube, {bore} mm bore": 1100}


def test_slack_is_covered_too(tmp_path: Path) -> None:
    """1000 + 200 mm of branch in tube and in braid, x 1.10; the shrink is two ends and no waste.

    One wire of 2.1 mm: x 1.15 = 2.415: 3 mm bore, 4.0 outside; x 1.15 = 4.6: braid of 6 mm, 7.0
    outside: shrink of 9.5 mm (6.4 mm does not go over it).
    """
    found = _covered(tmp_path, ("a", "b", 1.0, "show", 200, None))
    assert found == {
        "PVC tube, 3 mm bore": 1320,
        "braided sleeving, 6 mm bore": 1320,
        "heat-shrink, plain 2:1, 9.5 mm": 80,
    }


def test_sleeves_of_one_size_are_summed_before_they_are_rounded(tmp_path: Path) -> None:
    """Two branches of 0.1234 m: 2 x 135.74 = 271.48: 272 mm."""
    row = ("a", "c", "red", "1.0", None, "bare", "bare", None, None)
    loom = [
        ("from", "to", "length", "covering"),
        *((*ends, 0.1234, "tube") for ends in ("ab", "bc")),
    ]
    found = needs(book(tmp_path, Circuits=[HEAD, row], Loom=loom))
    assert found == {"PVC tube, 3 mm bore": 272}


EXPANDABLE = (
    "item,covering,width_mm,bore_mm,outside_mm,least_mm,most_mm,shortening_percent,source,place\n"
    "expandable braid,braid,,10,11,6,9,20,invented,\n"
    "wide expandable braid,braid,,10,11,6,14,25,invented,\n"
)
"""Walls of 0.5 mm: 10 mm inside are 11 outside."""


def own_catalogue(folder: Path) -> Catalogue:
    """Our catalogues with two expandable braids of a workshop's own."""
    (folder / "catalogs").mkdir()
    (folder / "catalogs" / "coverings.csv").write_text(EXPANDABLE)
    (folder / "workshop.toml").write_text("")
    catalogue, problems = load_catalogue(folder / "catalogs")
    assert not problems
    return catalogue


@pytest.mark.parametrize(
    ("diameter_mm", "tube", "braid"),
    [
        (2.1, 3, ("braided sleeving, 6 mm bore", 7.0)),  # the tube is 4.0 outside: under 6
        (4.2, 5, ("expandable braid", 7.0)),  # x 1.15 = 4.83; 6.0 outside, + 2 x 0.5
        (6.9, 8, ("expandable braid", 10.0)),  # x 1.15 = 7.94; 9.0 outside: the most it takes
        (8.0, 10, ("wide expandable braid", 12.2)),  # x 1.15 = 9.2; 11.2 outside
        (12.0, 14, ("braided sleeving, 20 mm bore", 21.4)),  # 15.2 outside, x 1.15 = 17.48
    ],
)
def test_an_expandable_braid_is_taken_by_its_range(
    tmp_path: Path, diameter_mm: float, tube: int, braid: tuple[str, float]
) -> None:
    """The narrowest whose range holds the tube, else a fixed one; the wall stays."""
    over = laid(diameter_mm, "braid", HouseRules(), own_catalogue(tmp_path))
    found = [(one.goods and one.goods.item, round(one.outside_mm, 6)) for one in over]
    assert (found[0][0], found[1]) == (f"PVC tube, {tube} mm bore", braid)


def test_an_expandable_braid_shortens(tmp_path: Path) -> None:
    """1000 mm + 20 % for its shortening, x 1.10 waste; its ends are 7.0 mm: 9.5 > 7.0 > 4.8.

    Two wires of 2.1 mm are 4.2: x 1.15 = 4.83: tube of 5 mm, 6.0 outside.
    """
    own_catalogue(tmp_path)
    wire = ("a", "b", "red", "1.0", None, "bare", "bare", 2, None)
    loom = [("from", "to", "length", "covering"), ("a", "b", 1, "braid")]
    found = needs(book(tmp_path, Circuits=[HEAD, wire], Loom=loom))
    assert found == {
        "PVC tube, 5 mm bore": 1100,
        "expandable braid": 1320,
        "heat-shrink, plain 2:1, 9.5 mm": 80,
    }


def test_an_empty_branch_takes_nothing_and_is_doubtful(tmp_path: Path) -> None:
    """The second branch of the sheet holds no wire."""
    row = ("a", "b", "red", "1.0", None, "bare", "bare", None, None)
    loom = [("from", "to", "length", "covering"), ("a", "b", 1, "none"), ("b", "c", 1, "braid")]
    path = book(tmp_path, Circuits=[HEAD, row], Loom=loom)
    assert needs(path) == {}
    assert ("Loom", "A3") in [(sheet, cell) for sheet, cell, _ in says(checked(path), "caution")]


def test_a_wire_with_a_length_of_its_own_still_fills_its_branches(tmp_path: Path) -> None:
    """Its length is typed, yet it lies in the loom."""
    row = ("a", "b", "red", "1.0", 5, "bare", "bare", None, None)
    loom = [("from", "to", "length", "covering"), ("a", "b", 1, "tube")]
    assert needs(book(tmp_path, Circuits=[HEAD, row], Loom=loom)) == {"PVC tube, 3 mm bore": 1100}


@pytest.mark.parametrize(
    ("words", "item"),
    [({"cover_hidden": "tube"}, "PVC tube, 3 mm bore"), ({"cover_hidden": "none"}, "")],
)
def test_the_house_says_what_covers_a_hidden_branch(
    tmp_path: Path, words: dict[str, Any], item: str
) -> None:
    """Blank exposure is hidden."""
    found = _covered(tmp_path, ("a", "b", 1.0, None, None, None), **words)
    assert list(found) == ([item] if item else [])


@pytest.mark.parametrize(
    ("gauge", "shrink"),
    [
        # barrels by DIN 46235 (from memory): 10 mm2 6.0 mm, 16 8.5, 25 10.0, 35 12.5 outside
        ("6.0", 9),  # the lug for up to 10 mm2: 9 > 6.0 > 3, where the cable of 4.3 had 6 mm
        ("10.0", 9),
        ("16.0", 9),  # 9 > 8.5 > 3
        ("25.0", 12),  # 12 > 10.0 > 4
        ("35.0", 18),  # 18 > 12.5 > 6, where the cable of 11.2 had 12 mm
    ],
)
def test_lug_shrink_closes_on_the_barrel(tmp_path: Path, gauge: str, shrink: int) -> None:
    """Not on the cable; 40 mm of it."""
    row = ("battery:+", "starter:1", "red", gauge, 1, "lug M8", "bare", None, "none")
    found = needs(book(tmp_path, Job=NO_SPARES, Circuits=[HEAD, row]))
    assert found[f"heat-shrink, adhesive 3:1, {shrink} mm"] == 40


def test_lugs_are_closed_with_adhesive_shrink(tmp_path: Path) -> None:
    """The barrel for 16 mm2 is 8.5 mm outside (from memory): shrink of 9 mm, 40 mm a lug."""
    row = ("battery:+", "starter:1", "red", "16.0", 1, "lug M8", "lug M6", None, "none")
    found = needs(book(tmp_path, Job=NO_SPARES, Circuits=[HEAD, row]))
    assert found == {
        "cable lug, M8, 10.0-16.0 mm2": 1,
        "cable lug, M6, 10.0-16.0 mm2": 1,
        "heat-shrink, adhesive 3:1, 9 mm": 80,
    }


# -------------------------------------------------------------------------------- extras


def test_extras_stand_as_typed_with_lengths_in_mm(tmp_path: Path) -> None:
    """Three clips, and 2.5 m of edging."""
    path = book(
        tmp_path,
        Circuits=[HEAD, ("a", "b", "red", "1.0", 1, "bare", "bare", None, None)],
        Extras=[("item", "qty", "unit"), ("clip", 3, None), ("edging", 2.5, "m")],
    )
    found = takeoff_out(open_job(path))["needs"]
    extras = [(n["item"], n["quantity"], n["unit"]) for n in found if n["kind"] == "extra"]
    assert extras == [("clip", 3, "each"), ("edging", 2500, "mm")]


def test_more_fuses_than_the_largest_box_has_ways(tmp_path: Path) -> None:
    """24 fuses under one word: two boxes of 12 ways and nothing to spare."""
    rows = [
        (f"battery:{n}", f"load {n}", "red", "1.0", 1, "bare", "bare", None, f"f{n}")
        for n in range(24)
    ]
    fuses = [("fuse", "rating", "holder"), *((f"f{n}", 5, "fuse box") for n in range(24))]
    found = needs(book(tmp_path, Circuits=[HEAD, *rows], Fuses=fuses))
    assert found["fuse box, blade, 12 way"] == 2
    assert found["blade fuse, 5 A"] == 24 + 1


@pytest.mark.parametrize(
    ("cells", "house", "spares"),
    [((None, None), 1, 1), ((None, None), 0, 0), ((0, None), 3, 0), ((1, 4), 2, 4)],
)
def test_spares_of_a_rating(
    tmp_path: Path, cells: tuple[int | None, ...], house: int, spares: int
) -> None:
    """The largest `spares` cell among its fuses, else the house's `fuse_spares`."""
    rows = [
        (f"battery:{n}", f"load {n}", "red", "1.0", 1, "bare", "bare", None, f"f{n}")
        for n in range(2)
    ]
    fuses = [("fuse", "rating", "spares"), *((f"f{n}", 5, cell) for n, cell in enumerate(cells))]
    rules = [("item", "value"), ("fuse_spares", house)]
    found = needs(book(tmp_path, Job=rules, Circuits=[HEAD, *rows], Fuses=fuses))
    assert found["blade fuse, 5 A"] == 2 + spares
