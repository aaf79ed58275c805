"""Colours for the wires of a job: ordinary wirings by hand, laws, the samples, the filled copy."""

import json
import shutil
import tempfile
import zipfile
from collections.abc import Mapping, Sequence
from decimal import Decimal
from itertools import combinations
from pathlib import Path
from random import Random
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.job import Job, open_job
from bom.workshop.colour_reasons import Reasons
from bom.workshop.colours import Proposal, propose
from tests.books import Rows, book
from tests.shops import offers, workshop
from tests.slow import examples, one_in
from tests.within import JOBS, ROOT, SAMPLES, bom

HEADS = ("wire", "circuit", "from", "to", "colour", "gauge", "load", "from end", "to end")
LOOM = (
    ("from", "to", "length"),
    ("battery box", "headstock", 1.0),
    ("battery box", "tail", 1.2),
)
"""All that runs to the bars lies in the first branch, what runs to the rear in the second."""
AT = {"battery": "battery box", "fuses": "battery box", "frame earth": "battery box"}


def machine(
    folder: Path, wires: Sequence[str], name: str = "job.xlsx", *, loom: Rows = LOOM
) -> Path:
    """A job of wires, as `W1 | horn | fuses:1 > horn:1 | red | 1.0 | 4 A`; what is blank is blank.

    A name that ends in `F` sits at the headstock, one that ends in `R` at the tail.
    """
    rows, names = list[Sequence[Any]](), set[str]()
    for line in wires:
        label, circuit, ends, *typed = (cell.strip() or None for cell in line.split("|"))
        start, finish = (ends or "").split(" > ")
        names |= {end.partition(":")[0] for end in (start, finish)}
        colour, gauge, load = [*typed, None, None, None][:3]
        lug = "lug M6" if gauge == "25.0" else None
        rows.append((label, circuit, start, finish, colour, gauge or "1.0", load, lug, lug))
    where = {"F": "headstock", "R": "tail"}
    places = [(name, AT.get(name) or where.get(name[-1], "battery box")) for name in sorted(names)]
    return book(
        folder,
        name,
        Circuits=[HEADS, *rows],
        Loom=[*loom],
        Components=[("component", "at"), *places],
    )


def proposed(path: Path, **how: bool) -> tuple[dict[str, str], Proposal]:
    """The colour of each wire that gets one, and the proposal."""
    found = propose(open_job(path, colours_to_come=True, taking_off=False), **how)
    assert found.job, [str(problem) for problem in found.problems]
    return {label: str(colour) for label, colour in found.colours.items()}, found


def reasons(found: Proposal) -> Reasons:
    """What is told of a proposal."""
    assert found.question
    assert found.answer
    return Reasons(found, found.question, found.answer)


# ------------------------------------------------------------------- as a tradesman would


def test_lamps_have_the_colours_that_everybody_knows(tmp_path: Path) -> None:
    """Indicators green with red and white, stop green with purple, tail red, earths black.

    They are the usual colours of BS AU 7, all different, so that nothing stands in their way; and
    an earth is black whatever its row calls it.
    """
    path = machine(
        tmp_path,
        (
            "L | indicator left | fuses:1 > indicator LR:1 | | | 10 W",
            "R | indicator right | fuses:2 > indicator RR:1 | | | 10 W",
            "S | stop lamp | fuses:3 > tail lamp R:stop | | | 21 W",
            "T | tail lamp | fuses:4 > tail lamp R:tail | | | 5 W",
            "E1 | ground | indicator LR:2 > battery:- 1",
            "E2 | indicator right | indicator RR:2 > battery:- 2",
            "E3 | | tail lamp R:31 > battery:- 3",
        ),
    )
    colours, found = proposed(path)
    assert colours == {
        **{"L": "green/red", "R": "green/white", "S": "green/purple", "T": "red"},
        **dict.fromkeys(("E1", "E2", "E3"), "black"),
    }
    assert {one.why for one in reasons(found).given} == {"usual"}


def test_circuits_without_a_name_are_told_apart_by_what_they_are_joined_to(
    tmp_path: Path,
) -> None:
    """Two unnamed feeds in one branch differ; what is joined at a splice is one wire to the eye.

    A1, A2 and A3 meet at one splice, so that they are one colour; B and C lie beside them, each
    with an end of its own at the fuses and at the heater.
    """
    path = machine(
        tmp_path,
        (
            "A1 | | fuses:1 > front splice F",
            "A2 | | front splice F > lamp F:1 | | | 5 W",
            "A3 | | front splice F > gauge F:1 | | | 2 W",
            "B | | fuses > heater F | | | 30 W",
            "C | | fuses > heater F | | | 30 W",
        ),
    )
    colours, _ = proposed(path)
    assert colours["A1"] == colours["A2"] == colours["A3"]
    assert len({colours[label] for label in ("A1", "B", "C")}) == 3


def test_a_circuit_keeps_its_body_behind_its_switch(tmp_path: Path) -> None:
    """Typed in front of the switch is orange: behind it comes orange, or orange with a trace."""
    path = machine(
        tmp_path,
        (
            "1 | heated grips | fuses:1 > grip switch F:in | orange",
            "2 | heated grips | grip switch F:out > grip F:1 | | | 30 W",
        ),
    )
    colours, _ = proposed(path)
    assert list(colours) == ["2"]
    assert colours["2"].partition("/")[0] == "orange"


def test_the_outputs_of_one_switch_are_told_apart(tmp_path: Path) -> None:
    """Left and right are both called `indicators`: one body, but not one colour to the rear."""
    path = machine(
        tmp_path,
        (
            "1 | indicators | fuses:1 > turn switch:in",
            "2 | indicators | turn switch:left > left lamp R:1 | | | 10 W",
            "3 | indicators | turn switch:right > right lamp R:1 | | | 10 W",
        ),
    )
    colours, _ = proposed(path)
    assert colours["2"] != colours["3"]
    assert len({colour.partition("/")[0] for colour in colours.values()}) == 1


def test_dip_and_main_are_told_apart_by_a_trace(tmp_path: Path) -> None:
    """All is called `headlamp`, usually blue: one of the two keeps it, one takes a trace."""
    path = machine(
        tmp_path,
        (
            "1 | headlamp | fuses:1 > dip switch:in",
            "2 | headlamp | dip switch:main > headlamp F:main | | | 30 W",
            "3 | headlamp | dip switch:dip > headlamp F:dip | | | 30 W",
        ),
    )
    colours, found = proposed(path)
    assert colours["1"] == "blue"
    assert {colours["2"], colours["3"]} > {"blue"}
    assert all(colour.startswith("blue") for colour in colours.values())
    assert [one.why for one in reasons(found).exceptions] == ["another output of its switch has it"]


def test_what_is_typed_is_kept_and_nothing_else_takes_it(tmp_path: Path) -> None:
    """The heater is typed red, the tail lamp's usual colour, and runs beside it to the rear.

    The tail lamp has to take another, and is told who has its red, and where.
    """
    path = machine(
        tmp_path,
        (
            "H | seat heater | fuses:1 > heater R:1 | red | | 30 W",
            "T | tail lamp | fuses:2 > tail lamp R:1 | | | 5 W",
        ),
    )
    colours, found = proposed(path)
    assert list(colours) == ["T"]
    assert colours["T"] not in ("red", "black")
    (told,) = reasons(found).exceptions
    assert (told.circuit, str(told.usual)) == ("tail lamp", "red")
    assert told.why == "'seat heater' has it in battery box-tail"


def test_a_part_that_cannot_keep_its_colour_is_told(tmp_path: Path) -> None:
    """The feed is typed orange in front; at the rear, where it goes on, the heater is orange.

    Two circuits in one branch are worse than a trace that comes in at a splice.
    """
    path = machine(
        tmp_path,
        (
            "A1 | grips | front splice F > grip F:1 | orange | | 30 W",
            "A2 | grips | fuses:1 > front splice F | orange",
            "A3 | grips | front splice F > cushion R:1 | | | 30 W",
            "H | seat heater | fuses:2 > heater R:1 | orange | | 30 W",
        ),
    )
    colours, found = proposed(path)
    assert list(colours) == ["A3"]
    assert colours["A3"].startswith("orange/")
    (told,) = reasons(found).exceptions
    assert (told.circuit, str(told.usual), told.typed) == ("grips", "orange", True)
    assert told.why == "'seat heater' has it in battery box-tail"


def test_battery_cable_is_red_and_its_earth_black(tmp_path: Path) -> None:
    """25 mm2 comes in red and black: the live one is red, and no second circuit minds."""
    path = machine(
        tmp_path,
        (
            "1 | starter cable | battery:+ 1 > relay:30 | | 25.0",
            "2 | starter | relay:87 > starter motor:1 | | 25.0 | 100 A",
            "3 | starter earth | starter motor:31 > battery:- 1 | | 25.0",
        ),
        loom=(*LOOM, ("battery box", "relay", 0.3), ("battery box", "starter motor", 0.5)),
    )
    colours, _ = proposed(path)
    assert colours == {"1": "red", "2": "red", "3": "black"}


def test_the_phases_of_an_alternator_are_alike(tmp_path: Path) -> None:
    """Nobody tells them apart, so that they are one colour and one line to buy."""
    path = machine(
        tmp_path,
        (
            *(f"G{n} | stator | alternator R:{n} > regulator:{n} | | 2.0 | 4 A" for n in (1, 2, 3)),
            "G4 | charging | regulator:plus > battery:+ 1 | | 2.0 | 8 A",
            "G5 | earth | regulator:minus > battery:- 1 | | 2.0",
        ),
    )
    colours, _ = proposed(path)
    assert colours["G1"] == colours["G2"] == colours["G3"]
    assert colours["G5"] == "black"


def test_front_and_rear_may_share_a_line(tmp_path: Path) -> None:
    """A heater in front and one behind never lie side by side: one colour, one reel to buy."""
    path = machine(
        tmp_path,
        (
            "F | grips | fuses:1 > grip F:1 | | | 30 W",
            "R | seat | fuses:2 > heater R:1 | | | 30 W",
        ),
    )
    colours, found = proposed(path)
    assert colours["F"] == colours["R"]
    assert len(reasons(found).bought_mm) == 1


def test_what_lies_on_the_shelf_is_used_before_anything_is_bought(tmp_path: Path) -> None:
    """Pink lies there, 5 m of it, and any plain colour is sold: nobody orders another."""
    shop = workshop(
        tmp_path,
        cable=[("R1", "1.0", "pink", 5.0, 0.3)],
        prices=offers("A cable 0.40 metre"),
    )
    path = machine(shop / "jobs", ("F | grips | fuses:1 > grip F:1 | | | 30 W",))
    colours, found = proposed(path)
    assert colours == {"F": "pink"}
    assert [one.why for one in reasons(found).given] == ["on the shelf: R1"]


def test_a_point_tells_nothing_of_what_an_unnamed_wire_is_for(tmp_path: Path) -> None:
    """The indicator's wire ends at a tail plug, and is no tail lamp's for that."""
    path = machine(
        tmp_path,
        ("A | | fuses:1 > tail plug R:4", "B | | tail plug R:4 > indicator R:1 | | | 10 W"),
    )
    _, found = proposed(path)
    assert found.question
    assert {part.usual for part in found.question.parts} == {None}


def test_what_nobody_sells_is_told_and_is_no_sum(tmp_path: Path) -> None:
    """Red alone is sold; of two circuits side by side one has to be in another colour."""
    shop = workshop(tmp_path, prices=offers("A cable 0.40 metre", "red"))
    wires = (
        "A | grips | fuses:1 > grip F:1 | | | 30 W",
        "B | heater | fuses:2 > heater F:1 | | | 30 W",
    )
    machine(shop / "jobs", wires)
    answer = json.loads(bom("colours", "job", "--json", cwd=shop).stdout)
    (unsold,) = answer["buy"]["unsold"]
    assert {wire["wire"]: wire["colour"] == "red" for wire in answer["wires"]} == {
        label: label != unsold for label in "AB"
    }
    assert answer["buy"]["cost"] is None
    assert f"neither sold nor on the shelf: {unsold}\n" in bom("colours", "job", cwd=shop).stdout


def test_nothing_live_has_the_body_of_the_earths(tmp_path: Path) -> None:
    """Black with a trace lies on the shelf; dirt on the trace would make an earth of it."""
    shop = workshop(
        tmp_path,
        cable=[("R1", "1.0", "black/white", 5.0, 0.3)],
        prices=offers("A cable 0.40 metre"),
    )
    path = machine(shop / "jobs", ("F | grips | fuses:1 > grip F:1 | | | 30 W",))
    colours, _ = proposed(path)
    assert not colours["F"].startswith("black")


# ------------------------------------------------------------------------------------ laws

NAMES = ("horn", "Horn", "stop lamp", "tail lamp", "grips", "dip beam", "")


@st.composite
def wirings(draw: st.DrawFn) -> list[str]:
    """Up to nine wires to loads in front and behind, of few names, a third of them typed."""
    return [
        " | ".join(
            (
                f"W{n}",
                draw(st.sampled_from(NAMES)),
                f"fuses:{n} > load {n} {draw(st.sampled_from('FR'))}:1",
                draw(st.sampled_from(("", "", "red", "green/purple"))),
                draw(st.sampled_from(("0.5", "1.0"))),
                "5 W",
            )
        )
        for n in range(draw(st.integers(2, 9)))
    ]


@examples(8, 300)
def test_no_two_circuits_share_a_colour_in_a_branch(count: int) -> None:
    """Whatever the loom, where one of the two was proposed; and the order of rows says nothing."""

    @settings(max_examples=count, deadline=None)
    @given(lines=wirings(), chance=st.randoms(use_true_random=False), priced=st.booleans())
    def law(lines: list[str], chance: Random, priced: bool) -> None:
        with tempfile.TemporaryDirectory() as folder:
            shelf = [("R1", "1.0", "pink", 2.0, 0.3)]
            sold = offers("A cable 0.40 metre") if priced else []
            jobs = workshop(Path(folder), shelf, (), sold) / "jobs"
            colours, _ = proposed(machine(jobs, lines))
            shuffled = chance.sample(lines, len(lines))
            again, _ = proposed(machine(jobs, shuffled, "again.xlsx"))
        assert again == colours
        for one, other in combinations(lines, 2):
            assert not _clash(one, other, colours), (one, other, colours)

    law()


def _clash(one: str, other: str, colours: Mapping[str, str]) -> bool:
    """True for two circuits with one colour to the same end of the machine, not both as typed."""
    (label, name, ends, typed, *_), (its, others, there, also, *_) = (
        [cell.strip() for cell in line.split("|")] for line in (one, other)
    )
    same = bool(name) and name.casefold() == others.casefold()
    apart = ends.removesuffix(":1")[-1] != there.removesuffix(":1")[-1]
    if same or apart or (typed and also):
        return False
    return colours.get(label, typed) == colours.get(its, also)


# --------------------------------------------------------------------------------- samples


def _cable(folder: Path, job: str) -> tuple[int, Decimal, Decimal]:
    """The lines of cable of an order, what they cost, and the whole order."""
    answer = json.loads(bom("order", f"jobs/{job}.xlsx", "--json", cwd=folder).stdout)
    lines = [line for line in answer["lines"] if line["item"].startswith("cable, ")]
    return (
        len(lines),
        sum((Decimal(line["cost"]) for line in lines), Decimal()),
        Decimal(answer["total"]),
    )


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample workshop, with a copy of each job in the colours that are proposed."""
    folder = tmp_path_factory.mktemp("samples") / "workshop"
    shutil.copytree(ROOT / "sample_projects" / "workshop", folder)
    for job in SAMPLES:
        done = bom(
            "colours", f"jobs/{job}.xlsx", "--all", "--fill", f"{job}-filled.xlsx", cwd=folder
        )
        assert done.returncode == 0, done.stderr
        (folder / f"{job}-filled.xlsx").rename(folder / "jobs" / f"{job}-filled.xlsx")
    return folder


@pytest.mark.parametrize("job", SAMPLES)
def test_the_samples_take_fewer_lines_and_less_money(shop: Path, job: str) -> None:
    """By real orders: the owners of the samples gave each circuit a colour of its own."""
    lines, cost, total = _cable(shop, job)
    new_lines, new_cost, new_total = _cable(shop, f"{job}-filled")
    assert new_lines < lines
    assert new_cost < cost
    assert new_total < total


@pytest.mark.parametrize("job", SAMPLES)
def test_a_filled_copy_has_no_new_caution_of_colours(shop: Path, job: str) -> None:
    """What `bom check` says of the cells of colours in the copy, it said of the owner's."""
    was, now = (open_job(shop / "jobs" / f"{name}.xlsx") for name in (job, f"{job}-filled"))
    assert now.takeoff
    assert _of_colours(now) <= _of_colours(was)


def _of_colours(job: Job) -> set[str]:
    """The cells of colours that something is said of."""
    cells = {entry.wire.row.where("colour").cell for entry in job.wires}
    return {p.where.cell for p in job.problems if p.where.sheet == "Circuits"} & cells


@pytest.mark.parametrize("job", one_in(3, SAMPLES))
def test_usual_colours_are_kept_where_they_were_free(shop: Path, job: str) -> None:
    """What is not in its usual colour has somebody in its way, or cable in few colours."""
    opened = open_job(JOBS / f"{job}.xlsx", sets=["order_seconds=60"])
    found = propose(opened, all_wires=True)
    for each in reasons(found).exceptions:
        assert not each.why or "has it" in each.why or "alone" in each.why, each


# -------------------------------------------------------------------------- the filled copy


@pytest.mark.parametrize("job", SAMPLES)
def test_the_copy_differs_in_the_filled_cells_alone(shop: Path, job: str) -> None:
    """Cell by cell with its format and comment, and the sheet's lists; all else byte for byte."""
    was, now = JOBS / f"{job}.xlsx", shop / "jobs" / f"{job}-filled.xlsx"
    wires = open_job(now).wires
    colours = {e.wire.row.where("colour").cell: str(e.wire.colour) for e in wires}
    before, after = (_cells(path) for path in (was, now))
    assert before.keys() == after.keys()
    changed = [place for place in before if before[place] != after[place]]
    assert changed
    for place in changed:
        assert place[0] == "Circuits"
        assert after[place] == (colours[place[1]], *before[place][1:])
    with zipfile.ZipFile(was) as one, zipfile.ZipFile(now) as other:
        assert one.namelist() == other.namelist()
        differ = [name for name in one.namelist() if one.read(name) != other.read(name)]
    assert len(differ) == 1
    assert differ[0].startswith("xl/worksheets/")


@pytest.mark.parametrize("kind", ["folder", "file"])
def test_a_book_of_csv_is_filled_too(tmp_path: Path, kind: str) -> None:
    """The cell of the colour alone, in a folder or in a single file; the book stays as it is."""
    text = (
        "wire,circuit,from,to,colour,gauge,load,fuse,length,note\n"
        "1,tail lamp,battery:+ 1,lamp:1,,1.0,5 W,lamps,1 m,as it was  \n"
        "2,earth,lamp:2,battery:- 1,black,1.0,,,1 m,\n"
    )
    (tmp_path / "job").mkdir()
    book, copy = ("job", "copy") if kind == "folder" else ("job.csv", "copy.csv")
    within = "Circuits.csv" if kind == "folder" else ""
    (tmp_path / book / within).write_text(text)
    done = bom("colours", book, "--fill", copy, cwd=tmp_path)
    assert done.stdout.endswith(f"next: bom check {copy}\n"), done.stderr
    assert (tmp_path / copy / within).read_text() == text.replace("lamp:1,,", "lamp:1,red,")
    assert (tmp_path / book / within).read_text() == text


def test_a_formula_is_not_written_over(tmp_path: Path) -> None:
    """A colour that a formula gives is told with its cell, and no copy is made."""
    row = ("1", "tail lamp", "battery:+ 1", "lamp:1", '="white"', "1.0", "5 W", "lamps", 1.0)
    heads = ("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse", "length")
    book(tmp_path, Circuits=[heads, row])
    done = bom("colours", "job.xlsx", "--all", "--fill", "copy.xlsx", cwd=tmp_path)
    assert done.returncode == 1
    assert "E2: holds a formula: a formula is not written over" in done.stderr
    assert not (tmp_path / "copy.xlsx").exists()


def test_a_file_that_is_not_ours_is_kept_beside_the_copy(tmp_path: Path) -> None:
    """As with every file that a command writes."""
    machine(tmp_path, ("F | grips | fuses:1 > grip F:1 | | | 30 W",))
    (tmp_path / "copy.xlsx").write_bytes(b"the owner's own")
    done = bom("colours", "job.xlsx", "--fill", "copy.xlsx", cwd=tmp_path)
    assert done.returncode == 0
    assert (tmp_path / "copy.kept.xlsx").read_bytes() == b"the owner's own"
    assert open_job(tmp_path / "copy.xlsx").wires[0].wire.colour


def _cells(path: Path) -> dict[tuple[str, str], tuple[Any, ...]]:
    """Each cell with its value, format and comment, and each sheet with its lists."""
    found: dict[tuple[str, str], tuple[Any, ...]] = {}
    for sheet in openpyxl.load_workbook(path):
        rules = sorted((str(v.sqref), v.formula1) for v in sheet.data_validations.dataValidation)
        found[sheet.title, ""] = (None, rules, str(sheet.dimensions), sheet.auto_filter.ref)
        for row in sheet.iter_rows():
            for cell in row:
                said = cell.comment and cell.comment.text
                found[sheet.title, cell.coordinate] = (cell.value, cell.style_id, said)
    return found
