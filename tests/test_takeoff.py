"""The take-off: terminals by pin, plugs, coverings, fuses; each count by hand."""

import math
from pathlib import Path
from typing import Any

import pytest

from bom.figures import circle_ratio
from bom.job import open_job
from bom.outcome import dumped, takeoff_out
from tests.books import book, checked, says

HEAD = ("from", "to", "colour", "gauge", "length", "from end", "to end", "qty", "fuse")
NO_SPARES = [("terminal_spare_percent", 0)]


def needs(path: Path) -> dict[str, int]:
    """Quantities by item, cable left out; the job must have no errors."""
    job = open_job(path)
    assert job.takeoff, [str(problem) for problem in job.problems]
    answer = dumped(takeoff_out(job))
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
    }


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
