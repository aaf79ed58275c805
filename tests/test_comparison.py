"""Two estimates side by side: five kinds of change, the sums, one shelf for both, and as given.

The machine is a switch and a lamp, on bare ends and without covering, so that all can be worked
out by hand.  Branches: rear to seat 1.0 m, seat to nose 0.8, nose to left 0.2, nose to right 0.5.

- 1: rear to left, 1.0 + 0.8 + 0.2 = 2.0 m; 2: left to nose, 0.2 m; 3: nose to rear, 1.8 m.
- red 2.2 m at 0.30 are 0.66, black 1.8 m at 0.30 are 0.54: goods 1.20.
- labour: three wires of 1.5 minutes for cutting and 0.5 for testing, 10 for fitting each of
  battery, switch and lamp: 36 minutes, at 30 an hour 18.00.
- net 19.20, tax at 20 % 3.84, total 23.04.  At 12 V the lamp of 24 W takes 2 A.
"""

import json
import re
import shutil
from collections.abc import Callable, Mapping
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.files import clock
from bom.job import open_job
from bom.show.comparison_json import comparison_out
from bom.workshop.comparison import compare_jobs
from bom.workshop.shelf_requests import hold
from tests.books import book
from tests.shops import PLAIN, workshop
from tests.slow import examples
from tests.stockrooms import done, loom, shop
from tests.within import bom

BRANCHES = {"rear": 1.0, "nose": 0.8, "left": 0.2, "right": 0.5}
"""The branch from each point to the next one inwards, in metres."""
WIRES = (
    (1, "feed", "battery:+", "switch:in", "red", "1.0", "none"),
    (2, "lamp", "switch:out", "lamp:+", "red", "1.0", None),
    (3, "earth", "lamp:earth", "battery:-", "black", "1.0", None),
)
HEADS = ("wire", "circuit", "from", "to", "colour", "gauge", "fuse", "from end", "to end")
REELS = (
    ("R1", "1.0", "red", 100, 0.30),
    ("R2", "1.0", "black", 100, 0.30),
    ("R3", "1.0", "blue", 100, 0.40),
    ("R4", "2.0", "red", 100, 0.50),
)
RATE = {**PLAIN, "hourly_rate": 30}


def machine(
    folder: Path,
    name: str,
    *,
    wires: Any = WIRES,
    branches: Mapping[str, float] = BRANCHES,
    switch: str = "left",
    lamp: str = "24 W",
    rules: Mapping[str, Any] = RATE,
    **sheets: Any,
) -> Path:
    """The job book of the machine, or of one that is changed."""
    inwards = {"rear": "seat", "nose": "seat", "left": "nose", "right": "nose"}
    runs = [(point, inwards[point], length, "none") for point, length in branches.items()]
    parts = [("battery", "rear", None, "none"), ("lamp", "nose", lamp, None)]
    return book(
        folder / "jobs",
        f"{name}.xlsx",
        Job=[("item", "value"), *rules.items()],
        Circuits=[HEADS, *((*wire, "bare", "bare") for wire in wires)],
        Loom=[("from", "to", "length", "covering"), *runs],
        Components=[("component", "at", "load", "passes"), *parts, ("switch", switch, None, None)],
        **sheets,
    )


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workshop with the job `was`, on a day of its own."""
    monkeypatch.setattr(clock, "now", lambda: datetime(2026, 11, 20, 9, 0))
    workshop(tmp_path, cable=REELS)
    machine(tmp_path, "was")
    return tmp_path


def answer(folder: Path, *words: str) -> dict[str, Any]:
    """What `bom compare` says as JSON."""
    run = bom("compare", *words, "--json", cwd=folder)
    assert run.returncode == 0, run.stderr
    found: dict[str, Any] = json.loads(run.stdout)
    return found


def wires(found: Mapping[str, Any]) -> dict[str, dict[str, tuple[Any, Any]]]:
    """What changed of each wire: the facts as they were and are."""
    return {
        row["wire"]: {name: (row["was"][name], row["now"][name]) for name in row["change"]}
        for row in found["wires"]["rows"]
    }


def needs(found: Mapping[str, Any]) -> dict[str, tuple[Any, Any, str]]:
    """Each item that changed: how much it was and is, and what that does to its cost."""
    rows = found["needs"]["rows"]
    return {row["item"]: (row["was"], row["now"], row["cost"]["change"]) for row in rows}


# ------------------------------------------------------------------------ five kinds of change


def another(number: int, **cells: str) -> list[tuple[Any, ...]]:
    """The wires with some cells of one of them changed."""
    places = {HEADS.index(name): value for name, value in cells.items()}
    return [
        tuple(places.get(i, c) if wire[0] == number else c for i, c in enumerate(wire))
        for wire in WIRES
    ]


RED, BLUE, THICK = "cable, 1.0 mm2, red", "cable, 1.0 mm2, blue", "cable, 2.0 mm2, red"
FIVE: dict[str, tuple[dict[str, Any], Any, Any, tuple[str, str]]] = {
    "lamps": (  # 48 W / 12 V = 4 A
        {"lamp": "48 W"},
        {label: {"amps": (2.0, 4.0)} for label in "123"},
        {},
        ("23.04", "0.00"),
    ),
    "a longer branch": (  # 0.5 m more on wires 1 and 2: 1.0 m of red, 0.30 and 0.06 tax
        {"branches": {**BRANCHES, "left": 0.7}},
        {"1": {"length_mm": (2000, 2500)}, "2": {"length_mm": (200, 700)}},
        {RED: (2200, 3200, "0.30")},
        ("23.40", "0.36"),
    ),
    "a switch on the other side": (  # 0.3 m more on both: 0.6 m, 0.18; net 19.38, tax 3.876
        {"switch": "right"},
        {"1": {"length_mm": (2000, 2300)}, "2": {"length_mm": (200, 500)}},
        {RED: (2200, 2800, "0.18")},
        ("23.26", "0.22"),
    ),
    "another colour": (  # 0.2 m at 0.40 for 0.2 m at 0.30: net 19.22, tax 3.844
        {"wires": another(2, colour="blue")},
        {"2": {"colour": ("red", "blue")}},
        {RED: (2200, 2000, "-0.06"), BLUE: (None, 200, "0.08")},
        ("23.06", "0.02"),
    ),
    "another gauge": (  # 0.2 m at 0.50 for 0.2 m at 0.30: net 19.24, tax 3.848
        {"wires": another(2, gauge="2.0")},
        {"2": {"gauge": ("1.0", "2.0")}},
        {RED: (2200, 2000, "-0.06"), THICK: (None, 200, "0.10")},
        ("23.09", "0.05"),
    ),
}


@pytest.mark.parametrize("kind", FIVE)
def test_each_kind_of_change_gives_its_lines_and_no_other(kind: str, folder: Path) -> None:
    """Wires, needs and total are those worked out by hand."""
    change, of_wires, of_needs, (total, more) = FIVE[kind]
    machine(folder, "now", **change)
    found = answer(folder, "was", "now")
    assert wires(found) == of_wires
    assert needs(found) == of_needs
    assert found["hours"] == {"was": 0.6, "now": 0.6, "change": 0, "rows": []}
    assert found["total"] == {"was": "23.04", "now": total, "change": more}


def test_a_wire_that_is_new_or_gone(folder: Path) -> None:
    """A second lamp wire: 0.2 m of blue is 0.08, 2 minutes of work 1.00, tax on both 0.22."""
    extra = (4, "lamp", "switch:out", "lamp:+ 2", "blue", "1.0", None)
    machine(folder, "now", wires=(*WIRES, extra))
    found = answer(folder, "was", "now")
    (row,) = (row for row in found["wires"]["rows"] if row["wire"] == "4")
    assert row["was"] is None
    assert (row["now"]["length_mm"], row["now"]["colour"]) == (200, "blue")
    assert found["wires"]["change"] == 200
    assert needs(found) == {BLUE: (None, 200, "0.08")}
    assert {r["task"]: round(r["change"] * 60, 6) for r in found["hours"]["rows"]} == {
        "cut and strip": 1.5,
        "continuity test": 0.5,
    }
    assert found["total"] == {"was": "23.04", "now": "24.34", "change": "1.30"}
    back = answer(folder, "now", "was")
    (row,) = (row for row in back["wires"]["rows"] if row["wire"] == "4")
    assert row["now"] is None and back["total"]["change"] == "-1.30"


def test_unlabelled_wires_are_known_by_where_they_lead(folder: Path) -> None:
    """A row put in above gives the others other numbers: they are the same wires all the same."""
    bare = [(None, *wire[1:]) for wire in WIRES]
    machine(folder, "was", wires=bare)
    extra = (None, "lamp", "switch:out", "lamp:+ 2", "blue", "1.0", None)
    machine(folder, "now", wires=[bare[0], extra, *bare[1:]])
    rows = answer(folder, "was", "now")["wires"]["rows"]
    assert [row["wire"] for row in rows if row["was"] is None] == ["W2"]
    assert not any("from" in row["change"] for row in rows if row["was"])


# ------------------------------------------------------------------------ nothing, and one shelf


def test_a_job_against_itself_says_that_nothing_differs(folder: Path) -> None:
    """One line, and nothing of what it needs; in JSON no rows."""
    run = bom("compare", "was", "was", cwd=folder)
    assert (run.returncode, run.stdout) == (0, "nothing differs (was: was; now: was)\n")
    found = answer(folder, "was", "was")
    assert not any(found[part]["rows"] for part in ("wires", "needs", "hours"))
    assert found["total"] == {"was": "23.04", "now": "23.04", "change": "0.00"}


def test_a_book_that_lies_elsewhere_is_compared_in_the_workshop(folder: Path) -> None:
    """By its shelf, prices and house rules, whichever of the two it is."""
    elsewhere = folder.parent / f"{folder.name} elsewhere"
    other = machine(elsewhere, "was")
    for words in (("was", other), (other, folder / "jobs" / "was.xlsx")):
        run = bom("compare", *words, cwd=folder)
        assert run.stdout.startswith("nothing differs (was: "), run.stdout
        assert "not in a workshop" not in run.stderr


@pytest.mark.parametrize("job", ["single", "twin", "carrier"])
def test_nothing_differs_in_a_copy_of_a_sample(job: str, tmp_path: Path) -> None:
    """A copy under another name comes to the same, to the last spare fuse."""
    shutil.copytree("sample_projects/workshop", tmp_path, dirs_exist_ok=True)
    jobs = tmp_path / "jobs"
    shutil.copy(jobs / f"{job}.xlsx", jobs / "copy.xlsx")
    run = bom("compare", job, "copy", cwd=tmp_path)
    assert run.stdout.startswith("nothing differs (was: "), run.stdout


def test_what_is_set_aside_for_one_is_there_for_both(tmp_path: Path) -> None:
    """2 m are all the red there is, and held for `twin`: its copy would have to buy at 1.00."""
    red = [("R01", "1.0", "red", 2, 0.30)]
    sold = [("Abel", "cable", "1.0", "red", "metre", None, 1.00, None)]
    shop(tmp_path, red, prices=sold)
    for name in ("twin", "copy"):
        loom(tmp_path, name, 2, covers=0, hourly_rate=30)
    done(tmp_path, hold(tmp_path / "jobs" / "twin.xlsx"))
    for words in (("twin", "copy"), ("copy", "twin")):
        assert "nothing differs" in bom("compare", *words, cwd=tmp_path).stdout
    # 2 m off the shelf are 0.60, bought 2.00; 22 minutes are 11.00; and 20 % tax
    assert answer(tmp_path, "copy", "twin")["total"]["was"] == "13.92"


def test_as_much_at_another_cost_says_why(tmp_path: Path) -> None:
    """Six covers either way, of a pack at 1.00 from Abel or at 0.80 from Cain, who asks 3.00 more.

    10 m: Abel 1.00 + 1.00, Cain 0.50 + 0.80 + 3.00.  100 m: Abel 10.00 + 1.00, Cain 5.00 + 0.80 +
    3.00.  So the larger job goes to Cain with all of it.
    """
    covers = ("bullet cover, male", None, None, "pack", 10)
    red = ("cable", "1.0", "red", "metre", None)
    prices = (("Abel", 0.10, 1.00), ("Cain", 0.05, 0.80))
    sold = [
        row
        for name, *each in prices
        for row in ((name, *red, each[0], None), (name, *covers, each[1], None))
    ]
    charged = [("Abel", 0, None, None, None), ("Cain", 3, None, None, None)]
    shop(tmp_path, (), (), prices=sold, suppliers=charged)
    loom(tmp_path, "short", 10, hourly_rate=30)
    loom(tmp_path, "long", *[10] * 10, hourly_rate=30)
    found = answer(tmp_path, "short", "long")
    assert needs(found)["bullet cover, male"] == (6, 6, "-0.20")
    note = "as much as it was, at another cost: "
    assert note in bom("compare", "short", "long", cwd=tmp_path).stdout
    assert (
        note not in bom("compare", "short", "short", "--set", "tax_percent=0", cwd=tmp_path).stdout
    )


# ------------------------------------------------------------------------------ as it was given


def test_a_job_against_its_last_quotation(folder: Path) -> None:
    """The book as it was given is set against the book as it is."""
    assert bom("quote", "was", "--give", cwd=folder).returncode == 0
    assert "nothing differs (was: was as given in Q2026-001 on 2026-11-20; now: was)" in (
        bom("compare", "was", "--given", cwd=folder).stdout
    )
    machine(folder, "was", **FIVE["a longer branch"][0])
    found = answer(folder, "was", "--given")
    assert needs(found) == FIVE["a longer branch"][2]
    assert found["total"] == {"was": "23.04", "now": "23.40", "change": "0.36"}
    said = bom("compare", "was", "--given", cwd=folder).stdout
    assert "TOTAL 23.04 → 23.40: 0.36 more\n\nnext: bom quote was --give\n" in said


def test_both_are_worked_out_by_the_rules_of_today(folder: Path) -> None:
    """A rule of the house that was changed since is no difference between the books, and is told.

    With 10 % tax it is 19.20 and 1.92.
    """
    assert bom("quote", "was", "--give", cwd=folder).returncode == 0
    (folder / "workshop.toml").write_text("tax_percent = 10\n")
    said = " ".join(bom("compare", "was", "--given", cwd=folder).stdout.split())
    assert said.startswith("nothing in the job differs")
    assert (
        "given as Q2026-001 on 2026-11-20 for 23.04; the same comes to 21.12 at the prices, house "
        "rules and shelf of today"
    ) in said


def test_what_is_wrong_in_the_book_that_was_given_is_named_with_its_place(folder: Path) -> None:
    """It is called as the job's own book is."""
    assert bom("quote", "was", "--give", cwd=folder).returncode == 0
    kept = folder / "given" / "Q2026-001" / "was.xlsx"
    machine(folder, "broken", wires=another(2, colour="rde"))
    shutil.copy(folder / "jobs" / "broken.xlsx", kept)
    run = bom("compare", "was", "--given", cwd=folder)
    assert run.returncode == 1
    assert (
        "error: given/Q2026-001/was.xlsx › Circuits › E3: colour 'rde' is not known" in run.stderr
    )


# ------------------------------------------------------------------------ rules for this run


def test_six_volts_against_twelve(folder: Path) -> None:
    """24 W at 6 V are 4 A; nothing is written, and the book stays at 12 V."""
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    run = bom("compare", "was", "--set", "volts=6", cwd=folder, COLUMNS="80")
    assert run.stdout == (
        "was: was; now: was with volts = 6\n"
        "\n"
        "wires: 3 changed\n"
        "\n"
        "wire  circuit  load A\n"
        "----  -------  ------\n"
        "1     feed     2 → 4\n"
        "2     lamp     2 → 4\n"
        "3     earth    2 → 4\n"
        "\n"
        "all wires: 4.00 m → 4.00 m (+0.00 m)\n"
        "\n"
        "price\n"
        "\n"
        "what    was GBP  now GBP  change GBP\n"
        "------  -------  -------  ----------\n"
        "cable      1.20     1.20\n"
        "labour    18.00    18.00\n"
        "tax        3.84     3.84\n"
        "------  -------  -------  ----------\n"
        " total    23.04    23.04        0.00\n"
        "\n"
        "TOTAL 23.04 → 23.04: the same\n"
        "\n"
        "next: volts = 6 on the sheet Job, if it is to be so; then: bom quote was\n"
    )
    after = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert after == before


def fused(folder: Path, name: str, rating: float, wire: str = "1.0", **more: Any) -> Path:
    """The machine with a fuse on its feed."""
    first, *others = WIRES
    wires = [(*first[:5], wire, "lamps"), *others]
    return machine(folder, name, wires=wires, Fuses=[("fuse", "rating"), ("lamps", rating)], **more)


def test_another_fuse_is_told_and_which_fuse_a_wire_is_behind(folder: Path) -> None:
    """From 5 to 7.5 A; and a fuse where there was none."""
    fused(folder, "five", 5)
    fused(folder, "seven", 7.5)
    (row,) = answer(folder, "five", "seven")["fuses"]["rows"]
    assert (row["fuse"], row["was"]["rating"], row["now"]["rating"]) == ("lamps", 5, 7.5)
    assert re.search(r"^lamps +5 → 7\.5 ", bom("compare", "five", "seven", cwd=folder).stdout, re.M)
    (new,) = answer(folder, "was", "five")["fuses"]["rows"]
    assert (new["was"], new["now"]["rating"]) == (None, 5)
    assert wires(answer(folder, "was", "five")) == {
        "1": {"fuse": ("none", "lamps")},
        "2": {"fuse": ("", "lamps")},
    }


def test_with_errors_the_wires_are_compared_and_no_total_is_told(folder: Path) -> None:
    """At 6 V the lamp of 24 W takes 4 A, too much for 3 A: nobody knows what it comes to."""
    fused(folder, "three", 3)
    run = bom("compare", "three", "--set", "volts=6", cwd=folder)
    assert run.returncode == 1
    assert "error: three.xlsx › Fuses › B2: fuse 'lamps' of 3 A carries 4 A" in run.stderr
    assert re.search(r"^1 +feed +2 → 4", run.stdout, re.M)
    assert "TOTAL" not in run.stdout and "price" not in run.stdout
    found = json.loads(bom("compare", "three", "--set", "volts=6", "--json", cwd=folder).stdout)
    assert (found["complete"], found["total"]["now"], found["needs"]["rows"]) == (False, None, [])
    assert wires(found)["1"] == {"amps": (2.0, 4.0)}


def test_what_the_change_makes_doubtful_stands_under_the_total(folder: Path) -> None:
    """A branch of 5 m is no usual one on a machine (common practice)."""
    machine(folder, "far", branches={**BRANCHES, "nose": 5})
    said = bom("compare", "was", "far", cwd=folder).stdout
    assert re.search(r"^TOTAL .* more\nbut: a branch of 5 m: is that right", said, re.M)
    assert "but:" not in bom("compare", "far", "was", cwd=folder).stdout


def test_an_item_in_two_rows_is_one_with_both_their_costs(folder: Path) -> None:
    """A bracket at 2.00, then one more at 3.00."""
    rows = [("item", "qty", "unit", "price"), ("bracket", 1, "each", 2), ("bracket", 1, "each", 3)]
    machine(folder, "one", Extras=rows[:2])
    machine(folder, "two", Extras=rows)
    assert needs(answer(folder, "one", "two")) == {"bracket": (1, 2, "3.00")}


def test_a_markup_is_no_change_of_what_is_needed(folder: Path) -> None:
    """10 % on 0.66 and 0.54, by the line, are 0.07 and 0.05: net 19.32, tax 3.864."""
    found = answer(folder, "was", "--set", "markup_percent=10")
    assert not found["needs"]["rows"]
    assert found["total"] == {"was": "23.04", "now": "23.18", "change": "0.14"}


def test_a_rule_goes_to_the_second_of_the_two(folder: Path) -> None:
    """40 an hour for 0.6 h are 24.00: with 1.20 net 25.20, tax 5.04."""
    machine(folder, "now")
    for words in (("was",), ("was", "now")):
        found = answer(folder, *words, "--set", "hourly_rate=40")
        assert found["total"] == {"was": "23.04", "now": "30.24", "change": "7.20"}
        assert not (found["wires"]["rows"] or found["needs"]["rows"])


READING = ("check", "takeoff", "cut", "order", "quote")


@pytest.mark.parametrize("command", READING)
def test_every_command_that_reads_a_job_takes_a_rule(command: str, folder: Path) -> None:
    """It is told on the first line and in JSON, and the next step is what it changes."""
    run = bom(command, "was", "--set", "volts=6", cwd=folder)
    assert run.stdout.startswith("with volts = 6\n\n"), run.stdout + run.stderr
    assert run.stdout.endswith("\nnext: bom compare was --set volts=6\n")
    told = json.loads(bom(command, "was", "--set", "volts=6", "--json", cwd=folder).stdout)
    assert told["set"] == ["volts=6"]
    assert "set" not in json.loads(bom(command, "was", "--json", cwd=folder).stdout)


def test_why_takes_a_rule_too(folder: Path) -> None:
    said = bom("why", "was", "2", "--set", "volts=6", cwd=folder).stdout
    assert said.startswith("with volts = 6\n2: lamp") and "current: 4 A" in said


def test_a_rule_for_one_run_is_what_the_sheet_says(folder: Path) -> None:
    """The workshop's figure, over it that of the sheet, over both that of the run."""
    (folder / "workshop.toml").write_text("volts = 48\ntax_percent = 20\n")
    path = machine(folder, "job", rules={**RATE, "volts": 24})
    assert open_job(path).rules.volts == 24
    assert open_job(path, sets=["volts = 6 V"]).rules.volts == 6
    book_read = open_job(path, sets=["customer=B. Nobody"]).book
    assert book_read and book_read.customer == "B. Nobody"


def test_looking_with_a_rule_is_no_look_at_the_job(folder: Path) -> None:
    """Which cautions were told is kept of the book as it is alone."""
    bom("check", "was", "--set", "volts=6", cwd=folder)
    assert not list(folder.rglob("*.told"))


# ------------------------------------------------------------------------------------ the sums

EDITED = st.fixed_dictionaries(
    {
        "wires": st.lists(
            st.tuples(
                st.sampled_from(["feed", "lamp", "horn"]),
                st.sampled_from(["battery:+", "switch:in", "switch:out"]),
                st.sampled_from(["lamp:+", "left", "right"]),
                st.sampled_from(["red", "red", "red", "black", "black", "blue", "blue", "green"]),
                st.sampled_from(["1.0", "2.0"]),
                st.sampled_from(["none"]),
            ),
            min_size=1,
            max_size=6,
        ),
        "branches": st.fixed_dictionaries(
            {point: st.integers(1, 30).map(lambda n: n / 10) for point in BRANCHES}
        ),
        "switch": st.sampled_from(["left", "right", "seat"]),
        "lamp": st.sampled_from(["24 W", "48 W"]),
        "rate": st.sampled_from([0, 30, 37]),
        "markup": st.sampled_from([0, 0, 15]),
        "covers": st.integers(0, 30),
    }
)
"""A machine as it might be after edits of every kind; nobody sells green cable."""
SOLD = (
    *(("Abel", "cable", "1.0", colour, "metre", None, 0.33, None) for colour in ("red", "blue")),
    ("Cain", "cable", "1.0", None, "reel", 25, 4.40, None),
    ("Cain", "cable", "2.0", "red", "metre", None, 0.71, None),
    ("Cain", "bullet cover, male", None, None, "pack", 10, 1.07, None),
    *(("Cain", "cable", "2.0", colour, "metre", None, 0.67, None) for colour in ("black", "blue")),
)
SMALL = (("R1", "1.0", "red", 3, 0.27), ("R2", "1.0", "black", 2.5, 0.31))


def edited(folder: Path, name: str, drawn: Mapping[str, Any]) -> Path:
    """The book of a machine that was drawn."""
    wires = [(number, *wire) for number, wire in enumerate(drawn["wires"], 1)]
    how = {key: drawn[key] for key in ("branches", "switch", "lamp")}
    rules = {**PLAIN, "end_mm": 20, "hourly_rate": drawn["rate"], "markup_percent": drawn["markup"]}
    extras = [("item", "qty"), ("bullet cover, male", drawn["covers"])]
    return machine(
        folder, name, wires=wires, **how, rules=rules, Extras=extras[: 1 + bool(drawn["covers"])]
    )


def between(was: Path, now: Path) -> dict[str, Any]:
    """The answer, worked out in this process."""
    found, both = compare_jobs(open_job(was), open_job(now))
    assert found, [str(p) for bought in both for p in bought.problems if p.level == "error"]
    return comparison_out(found, ())


def added(amounts: Any) -> Decimal:
    """The sum of amounts, those that are not known left out."""
    return sum((Decimal(str(amount)) for amount in amounts if amount is not None), Decimal())


@examples(8, 150)
def test_the_differences_add_up_and_turn_round(count: int, tmp_path_factory: Any) -> None:
    """Over books edited at random: what each line says is all of the change of its sum.

    The other way round each is the same with its sign turned.
    """
    folder = tmp_path_factory.mktemp("edited")
    suppliers = [("Abel", 3.5, 20, None, None), ("Cain", 2.95, None, None, None)]
    workshop(folder, cable=SMALL, prices=SOLD, suppliers=suppliers)

    @settings(max_examples=count, deadline=None, database=None, derandomize=True)
    @given(EDITED, EDITED)
    def holds(one: Mapping[str, Any], other: Mapping[str, Any]) -> None:
        was, now = edited(folder, "was", one), edited(folder, "now", other)
        there, back = between(was, now), between(now, was)
        at_cost = not (one["markup"] or other["markup"])
        _adds_up(there, at_cost=at_cost)
        _adds_up(back, at_cost=at_cost)
        for part in ("wires", "needs", "hours", "costs"):
            assert _turned(there[part]["rows"]) == _straight(back[part]["rows"]), part
            assert _opposite(there[part]) == _as_it_is(back[part])
        assert _opposite(there["total"]) == _as_it_is(back["total"])

    holds()


def _adds_up(found: Mapping[str, Any], *, at_cost: bool) -> None:
    lengths = (
        side * (row[name]["length_mm"] * row[name]["qty"])
        for row in found["wires"]["rows"]
        for name, side in (("now", 1), ("was", -1))
        if row[name]
    )
    assert sum(lengths) == found["wires"]["change"]
    assert added(r["change"] for r in found["hours"]["rows"]) == pytest.approx(
        Decimal(str(found["hours"]["change"])), abs=Decimal("0.000001")
    )
    if not found["complete"]:
        assert found["total"]["change"] is None
        return
    costs = {row["what"]: Decimal(row["change"]) for row in found["costs"]["rows"]}
    needed = added(row["cost"]["change"] for row in found["needs"]["rows"])
    beside = costs.get("labour", 0) + costs.get("delivery", 0)
    assert needed == Decimal(found["needs"]["change"])
    assert needed == sum(costs.values()) - beside or not at_cost
    net = [Decimal(found["costs"][side]) for side in ("was", "now")]
    assert sum(costs.values()) == net[1] - net[0]
    taxed = [(amount * Decimal("1.2")).quantize(Decimal("0.01"), "ROUND_HALF_UP") for amount in net]
    assert Decimal(found["total"]["change"]) == taxed[1] - taxed[0]


def _opposite(change: Mapping[str, Any]) -> tuple[Any, ...]:
    by = change["change"]
    return change["now"], change["was"], by if by is None else -Decimal(str(by))


def _as_it_is(change: Mapping[str, Any]) -> tuple[Any, ...]:
    by = change["change"]
    return change["was"], change["now"], by if by is None else Decimal(str(by))


def _rows(rows: Any, taken: Callable[[Mapping[str, Any]], tuple[Any, ...]]) -> list[str]:
    """Rows to be compared in any order: of a wire the facts, of all else the amounts."""
    found = []
    for row in rows:
        name = row.get("item") or row.get("task") or row.get("what") or ""
        of_a_wire = isinstance(row["change"], list)
        said = taken({**row, "change": None}) if of_a_wire else taken(row)
        cost = taken(row["cost"]) if "cost" in row else ()
        found.append(f"{name} {said} {cost} {sorted(row['change']) if of_a_wire else ''}")
    return sorted(found)


def _turned(rows: Any) -> list[str]:
    return _rows(rows, _opposite)


def _straight(rows: Any) -> list[str]:
    return _rows(rows, _as_it_is)


# ------------------------------------------------------------------------------ without a price


def test_no_total_where_something_has_no_price(folder: Path) -> None:
    """A colour that nobody sells makes the job no cheaper: 19.20 less 0.06 are what has a price.

    With 20 % tax that is 22.968.
    """
    machine(folder, "now", wires=another(2, colour="green"))
    found = answer(folder, "was", "now")
    assert found["total"] == {"was": "23.04", "now": None, "change": None}
    assert found["so_far"]["now"] == "22.97"
    assert {row["what"]: row["now"] for row in found["costs"]["rows"]} == {
        "cable": None,
        "labour": "18.00",
    }
    said = bom("compare", "was", "now", cwd=folder).stdout
    assert "\nwas: 23.04 with tax\n" in said
    assert "\nnow: so far 22.97 with tax; no price for cable, 1.0 mm2, green\n" in said
    assert "TOTAL" not in said and "total" not in said


def test_what_is_printed_by_a_rule_for_one_run_bears_no_number(folder: Path) -> None:
    """Under a number stands one quotation: its figures may be the same, its terms are not."""
    assert bom("quote", "was", "--give", cwd=folder).returncode == 0
    assert "given as Q2026-001" in bom("quote", "was", cwd=folder).stdout
    assert "Q2026-001" not in bom("quote", "was", "--set", "valid_days=5", cwd=folder).stdout
