"""The machine's own paper: as made, found by a stranger, and a job that begins from it.

The wires of the sample `twin` are read off its job book: the brake lamp hangs on B9 and B10.
"""

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from shutil import copytree
from typing import Any

import openpyxl
import pytest

from tests.books import book
from tests.fixture_books import ods_book, ods_cell, ods_row
from tests.stockrooms import typed
from tests.test_papers import assert_whole, pages, text_of
from tests.within import JOBS, bom

CIRCUITS = ("wire", "circuit", "from", "to", "colour", "gauge", "fuse", "length")
WIRES = (
    CIRCUITS,
    ("P1", "lamp feed", "battery:+", "main fuse", "red", "1.0", "main", 0.3),
    ("P2", "lamp feed", "main fuse", "plug:1", "red", "1.0", None, 1),
    ("P3", "lamp", "plug:1", "lamp:feed", "green/purple", None, None, 0.5),
    ("E1", "earth", "lamp:earth", "plug:2", "black", "1.0", None, 0.5),
    ("E2", "earth", "plug:2", "frame earth", "black", "1.0", None, 1),
    ("E3", "earth", "frame earth", "battery:-", "black", "1.0", None, 0.3),
)
PARTS = (
    ("component", "load", "end", "passes", "face"),
    ("plug", None, "multiway 2.8 joint", "pin to pin", "1 2 / - 3"),
    ("lamp", "P21W", None, None, None),
)
WIDE_PT = 400
"""An A4 page on its side is 842 pt wide: left of this a word stands in its left half."""


def small(folder: Path, **sheets: Any) -> Path:
    """A workshop with one job of six wires: a lamp behind a plug."""
    (folder / "workshop.toml").write_text("")
    about = (("item", "value"), ("job", "lamp"), ("machine", "a single (invented)"))
    return book(folder / "jobs", "lamp.xlsx", Job=about, Circuits=WIRES, Components=PARTS, **sheets)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """That workshop."""
    return small(tmp_path).parent.parent


@pytest.fixture
def made(shop: Path) -> Path:
    """The job done otherwise than planned: P3 is 2.0 pink, 700 mm, with 0.1 V measured on it.

    On Wires row 4 is P3; on Tests row 6 is a line behind three for all wires and one for a fuse.
    """
    assert bom("done", "lamp", cwd=shop).returncode == 0
    used = shop / "used" / "lamp.xlsx"
    typed(used, "Wires", E4="2.0", F4="pink", G4="700 mm", I4="0.1 V lost", J4="from the old reel")
    typed(used, "Tests", C8="14.2 V", D8="A. Sample", E8="28.11.2026")
    return shop


@pytest.fixture(scope="module")
def twin(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample workshop with the record of the twin as planned."""
    shop = copytree(JOBS.parent, tmp_path_factory.mktemp("record") / "shop")
    assert bom("record", "twin", cwd=shop).returncode == 0
    return shop


def paper(shop: Path, name: str = "lamp") -> bytes:
    """The record as it was printed."""
    return (shop / "records" / f"{name}.pdf").read_bytes()


def answer(shop: Path, *words: str) -> dict[str, Any]:
    """What a command says as JSON."""
    done = bom(*words, "--json", cwd=shop)
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def by_wire(rows: Iterable[Mapping[str, str]]) -> dict[str, Mapping[str, str]]:
    """The rows of Wires by their labels."""
    return {row["wire"]: row for row in rows}


# ----------------------------------------------------------------------------- the paper


def test_a_stranger_finds_the_brake_lamp_s_wire(twin: Path) -> None:
    """From tail lamp to fuse by what stands at each place: plug, splice, switch, fuse."""
    text = text_of(paper(twin, "twin"))
    for found in (
        "B10 stop lamp 0.5 mm2 green/purple tail plug:2 tail lamp:stop horn and stop, 10 A 690 mm",
        "stop B10 0.5 mm2 green/purple stop lamp tail plug:2",  # at the tail lamp
        "horn and stop 10 A fuse box:6 fuse box B1 horn and stop feed, horn feed, horn, brake",
        "tail plug at seat rear; sealed 1.5 joint; mudguard comes away whole",
        "stop splice at electrics tray; splice",
        "headlamp:dip H4 dip 55 W",
        "neck earth at headstock; ring M6; stud on the headstock gusset, four rings",
        "volts 12 V, minus to earth",
        "as planned no sheet in used/ says how it was made",
        "Disconnect the battery first",
        "Local rules come first",
    ):
        assert found in text, found


def test_no_word_is_cut_and_no_page_has_two_rows(twin: Path) -> None:
    """Every page but the drawings has ten lines at the least; every wire stands on it whole."""
    assert_whole({"twin.pdf": paper(twin, "twin")})
    sheets = [page for page in pages(paper(twin, "twin")) if "page" in page.text]
    assert len(sheets) == len(pages(paper(twin, "twin"))) - 1
    for page in sheets:
        assert len(page.text.splitlines()) >= 10
    words = {word["text"] for page in sheets for word in page.words}
    for wire in by_wire(answer(twin, "record", "twin")["tables"]["Wires"]).values():
        assert {wire["wire"], *wire["colour"].split()} <= words


def test_the_workbook_has_the_same_rows(twin: Path) -> None:
    """A sheet a table, its cells as in the JSON."""
    tables = answer(twin, "record", "twin")["tables"]
    opened = openpyxl.load_workbook(twin / "records" / "twin.xlsx")
    assert [sheet.title for sheet in opened] == [title[:31] for title in tables]
    for sheet, rows in zip(opened, tables.values(), strict=True):
        names, *lines = [[cell or "" for cell in row] for row in sheet.iter_rows(values_only=True)]
        assert [dict(zip(names, line, strict=True)) for line in lines] == rows
    assert len(tables["Wires"]) == 84  # rows 2 to 85 of its Circuits sheet


def in_columns(shop: Path) -> str:
    """The words of the paper's pages, those on the left of each and then those on the right."""
    halves = [
        sorted(
            (round(word["top"]), word["x0"], word["text"])
            for word in page.words
            if (word["x0"] > WIDE_PT) is right
        )
        for page in pages(paper(shop))
        for right in (False, True)
    ]
    return " ".join(word for half in halves for _, _, word in half)


def test_each_half_of_a_plug_is_drawn_with_its_own_wires(shop: Path) -> None:
    """`1 2 / - 3` towards the battery: P2 and E2; the lamp's half is its mirror: `2 1 / 3 -`.

    P2 comes from the fuse, E2 leads back to the battery; P3 and E1 hang at the lamp.  No loom was
    measured, so that a half is known by its wires.
    """
    assert bom("record", "lamp", cwd=shop).returncode == 0
    page = next(page for page in pages(paper(shop)) if "Plugs, pin by pin" in page.text)
    assert "Drawn as seen from the side where the wires go in." in page.text
    titles = "the side of P2, E2 the side of P3, E1"
    assert f"{titles} 1 2 2 1 P2 E2 E1 P3 3 3" in in_columns(shop)
    title = next(w for w in page.words if w["text"] == "P2,")
    under = [w for w in page.words if title["top"] + 5 < w["top"] < title["top"] + 45]
    one, two, three = ([w for w in under if w["text"] == pin] for pin in "123")
    left, right = (sorted(word["x0"] for word in found) for found in (one, two))
    assert left[0] < right[0] < right[1] < left[1] < WIDE_PT
    # 3 under 2 on the first, and on the second, whose left it is in the mirror
    assert [round(word["x0"] - x) for word, x in zip(three, right, strict=True)] == [0, 0]


def test_a_half_is_called_by_where_its_wires_go(twin: Path) -> None:
    """The loom of the twin goes on from the tail plug at the seat's rear to the tail.

    B9 comes from the electrics tray on the side of the battery, which has the sockets; B10 goes
    on.  Of the headstock plug E7 lies in no branch: it meets E6 at pin 8, which lies in one.
    """
    rows = answer(twin, "record", "twin")["tables"]["Plugs, pin by pin"]
    half = {(row["what"], row["wire"]): row["half"] for row in rows}
    assert half["tail plug", "B9"] == "towards electrics tray, sockets"
    assert half["tail plug", "B10"] == "towards tail, pins"
    headstock = {wire: half["headstock plug", wire] for wire in ("H3", "E7", "E6", "H4", "H7")}
    front = "towards lamp bracket"
    assert [headstock[wire] == front for wire in headstock] == [False, False, True, True, True]
    assert half["left switch", "L2"] == ""


def test_a_plug_whose_halves_cannot_be_told_has_one_face(tmp_path: Path) -> None:
    """P3 and E1 go to two lamps: which of them is on which side nobody says."""
    (tmp_path / "workshop.toml").write_text("")
    wires = [*WIRES[:4], ("E1", "earth", "horn:earth", "plug:2", "black", "1.0", None, 0.5)]
    wires += [*WIRES[5:], ("P4", "horn", "main fuse", "horn:feed", "red", "1.0", None, 1)]
    wires += [("E4", "earth", "lamp:earth", "frame earth", "black", "1.0", None, 1)]
    parts = (*PARTS, ("horn", "4 A", None, None, None))
    book(tmp_path / "jobs", "lamp.xlsx", Circuits=wires, Components=parts)
    found = answer(tmp_path, "record", "lamp")["tables"]["Plugs, pin by pin"]
    assert "half" not in found[0]
    text = in_columns(tmp_path)
    assert "the side where the wires go in, unless it says otherwise." in text
    untold = "pins as they are typed: which wires go into which half cannot be told"
    assert f"{untold} 1 2 P2 E1 P3 E2 3" in text


def test_a_plug_has_each_of_its_pins_with_all_wires(shop: Path) -> None:
    """Two at each pin; the other ends are those on Circuits."""
    rows = answer(shop, "record", "lamp")["tables"]["Plugs, pin by pin"]
    assert [(row["pin"], row["wire"], row["other end"]) for row in rows] == [
        ("1", "P2", "main fuse"),
        ("1", "P3", "lamp:feed"),
        ("2", "E1", "lamp:earth"),
        ("2", "E2", "frame earth"),
    ]


def test_bullets_in_sleeves_are_no_plug_and_joined_earths_are_earths(twin: Path) -> None:
    """The single has no plug at all, a frame earth, and two earths joined in connectors."""
    tables = answer(twin, "record", "single")["tables"]
    assert "Plugs, pin by pin" not in tables
    earths = {row["what"] for row in tables["Earths"]}
    assert earths == {"frame earth", "shell earth joint", "steering earth joint"}


# -------------------------------------------------------------------- made, not planned


def test_what_was_made_stands_on_the_paper(made: Path) -> None:
    """Colour, gauge and length of P3, what was measured on it, and the test that was made."""
    assert bom("done", "lamp", cwd=made).returncode == 0
    tables = answer(made, "record", "lamp")["tables"]
    wire = by_wire(tables["Wires"])["P3"]
    names = ("gauge", "colour", "length", "measured", "note")
    found = [wire[name] for name in names]
    assert found == ["2.0 mm2", "pink", "700 mm", "0.1 V lost", "from the old reel"]
    at_lamp = by_wire(tables["All else, pin by pin"])["P3"]
    assert (at_lamp["gauge"], at_lamp["colour"]) == ("2.0 mm2", "pink")
    tested = ("A. Sample", "14.2 V", "2026-11-28")
    assert [(t["by"], t["measured"], t["date"]) for t in tables["Tests"]] == [tested]
    text = text_of(paper(made))
    assert "lamp: wiring as made" in text and "green/purple" not in text
    for words in ("2.0 mm2 pink", "700 mm 0.1 V lost from the old reel", "14.2 V A. Sample"):
        assert words in text


def cautions(told: Mapping[str, Any]) -> dict[str, str]:
    """What is told at each cell."""
    return {problem["cell"]: problem["says"] for problem in told["problems"]}


def test_a_wire_that_nothing_is_said_of_is_as_planned(made: Path) -> None:
    """Its cells emptied; ends that differ from the job book's are told, and those of nobody."""
    new = {"E3": None, "F3": None, "G3": None, "D6": "engine earth", "A8": "X1", "C8": "battery:+"}
    typed(made / "used" / "lamp.xlsx", "Wires", **new)
    found = answer(made, "record", "lamp")
    wires = by_wire(found["tables"]["Wires"])
    assert wires["P2"]["colour"] == "red" and "X1" not in wires
    told = cautions(found)
    assert told["D8"] == "'X1' is no wire of the job book, so that nobody knows its ends"
    assert told["D6"] == "E2 has other ends in the job book, and those are shown"
    assert wires["E2"]["to"] == "frame earth"


@pytest.mark.parametrize("length", [0, "none", "not fitted", "0 mm"])
def test_a_wire_that_is_not_fitted_is_left_out(made: Path, length: object) -> None:
    """P3 in no list and at no pin; five wires of six are left, and E1 still holds the lamp."""
    typed(made / "used" / "lamp.xlsx", "Wires", G4=length)
    assert bom("done", "lamp", cwd=made).returncode == 0
    found = answer(made, "record", "lamp")
    assert found["not_fitted"] == ["P3"] and found["problems"] == []
    pins = [
        row["wire"]
        for title in ("Plugs, pin by pin", "All else, pin by pin")
        for row in found["tables"][title]
    ]
    assert set(by_wire(found["tables"]["Wires"])) == {"P1", "P2", "E1", "E2", "E3"}
    assert "P3" not in pins and "E1" in pins
    assert [load["where"] for load in found["tables"]["Lamps and other loads"]] == ["lamp"]
    printed = bom("record", "lamp", cwd=made).stdout
    assert "5 wires" in printed and "not fitted: P3" in printed
    assert "P3" not in text_of(paper(made)).replace("the side of P3", "")


def test_a_lamp_whose_wires_are_not_fitted_is_not_there(made: Path) -> None:
    """P3 by its length, E1 by its row: nothing of the lamp is left, and of E1 it is told."""
    typed(
        made / "used" / "lamp.xlsx", "Wires", G4=0, **dict.fromkeys(f"{c}5" for c in "ABCDEFGHIJ")
    )
    found = answer(made, "record", "lamp")
    told = [problem["says"] for problem in found["problems"]]
    assert "no row on this sheet, and taken as not fitted: E1" in told
    assert found["not_fitted"] == ["P3", "E1"]
    assert "Lamps and other loads" not in found["tables"]
    done = bom("new", "job", "next", "--record", "lamp", cwd=made)
    assert done.returncode == 0
    assert set(cells(made, "next")) - {"None"} == {"P1", "P2", "E2", "E3"}


def test_a_row_that_is_not_written_over_is_told(made: Path) -> None:
    """A formula in the row of P3, row 4 of Circuits: the wire stays, and somebody has to look."""
    typed(made / "jobs" / "lamp.xlsx", "Circuits", H4="=0.25+0.25")
    typed(made / "used" / "lamp.xlsx", "Wires", G4="none")
    done = bom("new", "job", "next", "--record", "lamp", cwd=made)
    assert done.returncode == 0 and "P3" in cells(made, "next")
    says = "not fitted, and still in the new book, as these rows cannot be emptied: Circuits 4"
    assert says in done.stderr


def test_a_fuse_without_a_wire_is_not_there_either(made: Path) -> None:
    """Without P1 and P2 nothing is behind it, in the record and in a job that begins there."""
    opened = openpyxl.load_workbook(made / "jobs" / "lamp.xlsx")
    opened.create_sheet("Fuses").append(("fuse", "rating", "note"))
    opened["Fuses"].append(("main", 3, "glass"))
    opened.save(made / "jobs" / "lamp.xlsx")
    typed(made / "used" / "lamp.xlsx", "Wires", G2="none", G3="none", G4="none")
    assert "Fuses" not in answer(made, "record", "lamp")["tables"]
    assert bom("new", "job", "next", "--record", "lamp", cwd=made).returncode == 0
    fuses = openpyxl.load_workbook(made / "jobs" / "next.xlsx")["Fuses"]
    assert [cell.value for cell in fuses[2]] == [None, None, None]


LOOM = (
    ("from", "to", "length m"),
    ("main fuse", "plug", 1),
    ("plug", "lamp", 0.5),
)


def test_the_drawing_has_no_branch_of_what_is_not_fitted(tmp_path: Path) -> None:
    """P3 and E1 are all that lies between plug and lamp."""
    shop = small(tmp_path, Loom=LOOM).parent.parent
    assert bom("record", "lamp", cwd=shop).returncode == 0
    assert "500 mm" in pages(paper(shop))[-1].text and "P3" in pages(paper(shop))[-1].text
    assert bom("done", "lamp", cwd=shop).returncode == 0
    typed(shop / "used" / "lamp.xlsx", "Wires", G4="none", G5="none")
    assert bom("record", "lamp", cwd=shop).returncode == 0
    drawing = pages(paper(shop))[-1].text
    assert "1000 mm" in drawing and "500 mm" not in drawing and "P3" not in drawing


ADDED = {"A8": "X1", "B8": "horn", "C8": "Main Fuse", "D8": "horn:feed", "E8": "1.0", "F8": "brown"}


def test_a_wire_that_was_added_stands_on_the_paper(made: Path) -> None:
    """In the list and at both of its ends, with what is typed of it; no drawing has it."""
    typed(made / "used" / "lamp.xlsx", "Wires", **ADDED, G8="300 mm", J8="from the reel")
    typed(made / "used" / "lamp.xlsx", "Wires", A9="X2", C9="battery:-", D9="horn:earth")
    found = answer(made, "record", "lamp")
    wires = by_wire(found["tables"]["Wires"])
    names = ("gauge", "colour", "from", "to", "length", "note")
    x1 = ["1.0 mm2", "brown", "main fuse", "horn:feed", "300 mm", "from the reel"]
    assert [wires["X1"][name] for name in names] == x1
    assert [wires["X2"][name] for name in names] == ["", "", "battery:-", "horn:earth", "", ""]
    else_ = found["tables"]["All else, pin by pin"]
    assert [(row["pin"], row["wire"]) for row in else_ if row["what"] == "horn"] == [
        ("feed", "X1"),
        ("earth", "X2"),
    ]
    assert found["added"] == ["X1", "X2"]
    assert "not in the drawing: X1, X2" in text_of(paper(made))
    assert_whole({"lamp.pdf": paper(made)})


def test_a_wire_that_was_added_is_in_a_job_that_begins_there(made: Path) -> None:
    """A row of Circuits, and that fuse and load are to be said; the new job is read with it."""
    typed(made / "used" / "lamp.xlsx", "Wires", **ADDED, G8="300 mm")
    done = bom("new", "job", "next", "--record", "lamp", cwd=made)
    assert "added when it was made, with neither fuse nor load: X1" in done.stderr
    row = next(openpyxl.load_workbook(made / "jobs" / "next.xlsx")["Circuits"].iter_rows(min_row=8))
    assert [cell.value for cell in row][:6] == [
        "X1",
        "horn",
        "main fuse",
        "horn:feed",
        "brown",
        "1.0 mm2",
    ]


# ---------------------------------------------------------------------- fuses as fitted


@pytest.mark.parametrize("fitted", ["10 A", "10", 10, "10 A fitted"])
def test_a_fuse_that_is_fitted_otherwise_is_told(made: Path, fitted: object) -> None:
    """3 A planned.  10 A protect a wire of 1.0, rated 16.5 A: nobody is warned."""
    typed(made / "used" / "lamp.xlsx", "Tests", C5=fitted)
    assert bom("done", "lamp", cwd=made).returncode == 0
    found = answer(made, "record", "lamp")
    assert "C5" not in cautions(found)
    assert [fuse["rating"] for fuse in found["tables"]["Fuses"]] == ["10 A fitted, 3 A planned"]
    wire = by_wire(found["tables"]["Wires"])["P2"]
    assert wire["fuse"] == "main, 10 A fitted, 3 A planned"
    assert "other fuses than planned: main 10 A fitted" in bom("record", "lamp", cwd=made).stdout
    assert "main 10 A fitted, 3 A planned" in text_of(paper(made))


@pytest.mark.parametrize("fitted", ["yes", "In order", None])
def test_a_fuse_as_planned_is_as_planned(made: Path, fitted: object) -> None:
    """Ticked, or nothing said."""
    typed(made / "used" / "lamp.xlsx", "Tests", C5=fitted)
    assert [f["rating"] for f in answer(made, "record", "lamp")["tables"]["Fuses"]] == ["3 A"]


def test_a_fuse_that_no_wire_stands_is_a_caution(made: Path) -> None:
    """20 A before P1 of 1.0, rated 16.5 A; and a word that is no rating."""
    sheet = made / "used" / "lamp.xlsx"
    typed(sheet, "Tests", C5="20 A")
    says = (
        "used/lamp.xlsx › Tests › C5: 20 A are fitted as fuse 'main', and wire P1 behind it is "
        "1.0 mm2, rated 16.5 A"
    )
    for command in ("done", "record"):
        assert says in bom(command, "lamp", cwd=made).stderr
    typed(sheet, "Tests", C5="red one", A6="fuse horn fitted", C6="5 A")
    told = cautions(answer(made, "record", "lamp"))
    assert told["C5"] == "'red one' is no rating, so that this fuse is shown as planned"
    assert (
        told["C6"] == "'fuse horn fitted': the job book has no fuse of this name, and none is shown"
    )


def test_a_job_that_begins_there_has_the_fuses_that_were_fitted(made: Path) -> None:
    """On a sheet Fuses of its own, in a new row, or in the cell of its rating."""
    typed(made / "used" / "lamp.xlsx", "Tests", C5="10 A")
    for row in (None, ("spare", 5), ("main", 3)):
        if row:
            opened = openpyxl.load_workbook(made / "jobs" / "lamp.xlsx")
            if "Fuses" not in opened:
                opened.create_sheet("Fuses").append(("fuse", "rating"))
            opened["Fuses"].delete_rows(2)
            opened["Fuses"].append(row)
            opened.save(made / "jobs" / "lamp.xlsx")
        (made / "jobs" / "next.xlsx").unlink(missing_ok=True)
        assert bom("new", "job", "next", "--record", "lamp", cwd=made).returncode == 0
        fuses = openpyxl.load_workbook(made / "jobs" / "next.xlsx")["Fuses"]
        told = {row[0]: row[1] for row in fuses.iter_rows(min_row=2, values_only=True)}
        assert told["main"] == 10
        wires = {wire["wire"]: wire for wire in answer(made, "check", "next")["wires"]}
        assert wires["P2"]["fuse"] == 10


def test_a_blown_fuse_is_found_by_its_way(twin: Path) -> None:
    """As P5, G4 and the first wires of the fuse box stand on Circuits."""
    fuses = answer(twin, "record", "twin")["tables"]["Fuses"]
    assert {fuse["fuse"]: fuse["at"] for fuse in fuses} == {
        "main": "main fuse:out",
        "charge": "charge fuse",
        "ignition": "fuse box:3",
        "headlamp": "fuse box:2",
        "lamps": "fuse box:5",
        "indicators": "fuse box:4",
        "horn and stop": "fuse box:6",
        "USB": "fuse box:1",
    }


def test_what_nobody_tested_is_said(made: Path) -> None:
    """Of thirteen lines for the whole machine one is filled in, the second voltage."""
    found = answer(made, "record", "lamp")
    assert len(found["not_written_down"]) == 11
    says = (
        "not written down: every wire goes through, no wire is short to earth, insulation is "
        "whole, first power through a small fuse or a lamp in series, charging voltage at idle, "
        "lights, indicators, horn, brake lamp, front brake, brake lamp, rear brake, kill switch"
    )
    assert says in in_columns(made)
    rest = {f"C{row}": "yes" for row in (2, 3, 4, 6, 7, *range(9, 15))}
    typed(made / "used" / "lamp.xlsx", "Tests", **rest)
    assert answer(made, "record", "lamp")["not_written_down"] == []


def test_a_sheet_that_is_not_done_yet_is_told(made: Path) -> None:
    """It may still say what was planned; done, it is silent."""
    says = "'lamp' is not done yet, and the sheet may still say what was planned"
    assert says in bom("record", "lamp", cwd=made).stderr
    assert bom("done", "lamp", cwd=made).returncode == 0
    assert says not in bom("record", "lamp", cwd=made).stderr


def test_a_sheet_from_before_is_read_and_its_wires_are_as_planned(made: Path) -> None:
    """Without Wires and Tests: `done` and `record` go on, and the paper does not claim more."""
    used = made / "used" / "lamp.xlsx"
    old = openpyxl.load_workbook(used)
    del old["Wires"], old["Tests"]
    old.save(used)
    assert bom("done", "lamp", cwd=made).returncode == 0
    found = answer(made, "record", "lamp")
    assert found["as_made"] is False
    assert by_wire(found["tables"]["Wires"])["P3"]["colour"] == "green/purple"
    told = [problem["says"] for problem in found["problems"]]
    assert "no sheet Wires, so that each wire is shown as it was planned" in told


def test_the_sheet_has_the_lines_of_the_test_sheet(made: Path) -> None:
    """What the bench ticks and fills in, and each fuse with its rating: 3 A, the least."""
    assert bom("pack", "lamp", "--out", "papers", cwd=made).returncode == 0
    bench = " ".join(text_of((made / "papers" / "bench.pdf").read_bytes()).split())
    rows = openpyxl.load_workbook(made / "used" / "lamp.xlsx")["Tests"].iter_rows(min_row=2)
    lines = [(f"{row[0].value}", row[1].value) for row in rows if row[0].value]
    assert ("fuse main fitted", "3 A") in lines
    road = [what for what, _ in lines[-6:]]
    asked = bench.partition("Road test")[2].partition("tested by")[0]
    for what in road:
        assert what in asked
        asked = asked.replace(what, "", 1)
    assert asked.strip() == "(strike out what is not fitted):"


# ------------------------------------------------------------------- what it writes over


def held(shop: Path) -> dict[str, bytes]:
    """Every file of a workshop."""
    files = (path for path in shop.rglob("*") if path.is_file())
    return {path.relative_to(shop).as_posix(): path.read_bytes() for path in files}


def test_twice_replaces_its_own_files_and_nothing_of_the_owner_s(made: Path) -> None:
    """Two files in records; a workbook that the owner saved there again is kept beside it."""
    before = held(made)
    assert bom("record", "lamp", cwd=made).returncode == 0
    first = held(made)
    assert first.keys() - before.keys() == {"records/lamp.pdf", "records/lamp.xlsx"}
    assert {name: first[name] for name in before} == before
    assert bom("record", "lamp", cwd=made).returncode == 0
    assert held(made) == first
    own = openpyxl.load_workbook(made / "records" / "lamp.xlsx")
    own["Wires"]["A2"] = "mine"
    own.save(made / "records" / "lamp.xlsx")
    saved = (made / "records" / "lamp.xlsx").read_bytes()
    (made / "records" / "notes.txt").write_text("mine")
    done = bom("record", "lamp", cwd=made)
    assert "what it held is in lamp.kept.xlsx" in done.stderr
    kept = {"records/lamp.kept.xlsx": saved, "records/notes.txt": b"mine"}
    assert held(made) == first | kept


# ----------------------------------------------------------------- a job that begins there


def cells(shop: Path, name: str) -> dict[str, tuple[Any, ...]]:
    """Colour and gauge on Circuits by the wire's label."""
    rows = openpyxl.load_workbook(shop / "jobs" / f"{name}.xlsx")["Circuits"].iter_rows(min_row=2)
    return {f"{row[0].value}": (row[4].value, row[5].value) for row in rows}


def test_a_job_begins_as_another_was_made(made: Path) -> None:
    """P3 as made; all else as typed; the length that came out otherwise is told, not taken."""
    done = bom("new", "job", "next", "--record", "lamp", cwd=made)
    assert done.returncode == 0
    assert cells(made, "next") == {**cells(made, "lamp"), "P3": ("pink", "2.0 mm2")}
    says = "lamp.xlsx › Circuits › H4: not as long as planned, which is not taken over: P3"
    assert says in done.stderr
    job = openpyxl.load_workbook(made / "jobs" / "next.xlsx")["Job"]
    assert [job["B2"].value, job["B3"].value] == ["next", "a single (invented)"]


def test_a_job_that_was_never_made_is_said_to_be_planned(twin: Path) -> None:
    """And what is done once, and of the other job, is to be looked over."""
    done = bom("new", "job", "s2", "--record", "single", cwd=twin)
    assert "'single' is not made yet: as planned" in done.stderr
    assert (
        "next: look over Labour and Extras, still those of 'single', then: bom check s2"
        in done.stdout
    )


def test_a_gauge_that_was_chosen_is_typed_in_the_new_job(twin: Path) -> None:
    """Without a used sheet as planned; `check` has no error, and no caution, that twin has not."""
    assert bom("new", "job", "second", "--record", "twin", cwd=twin).returncode == 0
    chosen = by_wire(answer(twin, "record", "twin")["tables"]["Wires"])
    for label, (_, gauge) in cells(twin, "second").items():
        assert gauge is not None
        assert float(str(gauge).split()[0]) == float(chosen[label]["gauge"].split()[0])
    told = [answer(twin, "check", name)["problems"] for name in ("twin", "second")]
    assert told[0] == told[1] == []


def test_a_book_without_a_column_for_gauges_says_so(tmp_path: Path) -> None:
    """Colours are taken over; nobody is told that gauges are."""
    (tmp_path / "workshop.toml").write_text("")
    rows = [(*row[:5], *row[6:]) for row in WIRES]
    book(tmp_path / "jobs", "bare.xlsx", Circuits=rows, Components=PARTS)
    done = bom("new", "job", "next", "--record", "bare", cwd=tmp_path)
    assert "no column gauge, so that those which were used are not taken over" in done.stderr
    assert done.stderr.count("no column gauge") == 1 and done.returncode == 0


def test_a_book_that_is_only_read_is_copied_and_told(tmp_path: Path) -> None:
    """An .ods: what is to be typed by hand is the gauge that was chosen, of P3."""
    (tmp_path / "workshop.toml").write_text("")
    (tmp_path / "jobs").mkdir()
    sheets = (("Circuits", WIRES), ("Components", PARTS))
    rows = ((n, [ods_row(*(ods_cell(str(c or "")) for c in r)) for r in s]) for n, s in sheets)
    (tmp_path / "jobs" / "lamp.ods").write_bytes(ods_book(*rows))
    done = bom("new", "job", "next", "--record", "lamp", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "lamp.ods › Circuits: copied as it is" in done.stderr
    assert "try: the gauges and colours that bom record prints" in done.stderr
