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
        "horn and stop 10 A fuse box B1 horn and stop feed, horn feed, horn, brake switches,",
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


def test_the_face_of_a_plug_is_drawn_as_its_pins_stand(shop: Path) -> None:
    """`1 2 / - 3`: 1 over nothing, 2 over 3, with the wires of each in its box."""
    assert bom("record", "lamp", cwd=shop).returncode == 0
    page = next(page for page in pages(paper(shop)) if "Plugs, pin by pin" in page.text)
    assert "Drawn as seen from the side where the wires go in." in page.text
    top = next(w for w in page.words if w["text"] == "multiway")["top"]
    under = [w for w in page.words if w["top"] > top + 5 and w["x0"] < WIDE_PT]
    at = {name: next(w for w in under if w["text"] == name) for name in ("1", "2", "3")}
    assert abs(at["1"]["top"] - at["2"]["top"]) < 1 < at["3"]["top"] - at["2"]["top"]
    assert abs(at["2"]["x0"] - at["3"]["x0"]) < 3 < at["2"]["x0"] - at["1"]["x0"]
    for pin, wires in (("1", ("P2", "P3")), ("2", ("E1", "E2"))):
        for label in wires:
            box = next(w for w in under if w["text"] == label)
            assert 0 < box["top"] - at[pin]["top"] < 40 and abs(box["x0"] - at[pin]["x0"]) < 40


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


def test_a_wire_that_nothing_is_said_of_is_as_planned(made: Path) -> None:
    """Its cells emptied, its row gone, or its label misspelt: which is told."""
    new = {"E3": None, "F3": None, "G3": None, "A5": "E9", "D6": "engine earth"}
    typed(made / "used" / "lamp.xlsx", "Wires", **new)
    done = bom("record", "lamp", "--json", cwd=made)
    wires = by_wire(json.loads(done.stdout)["tables"]["Wires"])
    assert wires["P2"]["colour"] == "red" and wires["E1"]["colour"] == "black"
    told = {problem["cell"]: problem["says"] for problem in json.loads(done.stdout)["problems"]}
    assert told["D5"] == "'E9' is no wire of the job book, so that nobody knows its ends"
    assert told["D6"] == "E2 has other ends in the job book, and those are shown"
    assert wires["E2"]["to"] == "frame earth"


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
