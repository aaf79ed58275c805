"""A shelf can't be emptied by a rename, and no hold goes over what there is.

Amounts are hand arithmetic on the rows of `tests/stockrooms.py`, written beside them: 10 and 2 m
of red, 20 covers.  The owner's part is played with openpyxl, bom's on its command line.
"""

import json
import shutil
import subprocess
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from tests.books import book
from tests.fixture_books import ods_book, ods_cell, ods_row
from tests.stockrooms import MOVES, loom, moves, rows, shop, typed
from tests.within import bom

Done = subprocess.CompletedProcess[str]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A workshop in which twin has 1.5 m of R02 and 6 covers set aside, and a count was made."""
    folder = shop(tmp_path)
    loom(folder, "twin", 1.5)
    assert ran(folder, "stock hold twin").returncode == 0
    assert ran(folder, "stock count R01 9.5").returncode == 0
    return folder


def ran(folder: Path, command: str, *more: str) -> Done:
    """A command of bom in the workshop."""
    return bom(*command.split(), *more, cwd=folder)


def held(folder: Path) -> dict[str, float]:
    """What is set aside, job and thing in one word, in millimetres or its own unit."""
    answer = json.loads(ran(folder, "stock show --json").stdout)
    return {f"{h['job']} {h['item']}": h["quantity"] for h in answer["held"]}


def told(run: Done) -> list[str]:
    """Errors and cautions of an answer in JSON, with their cell."""
    found = json.loads(run.stdout)["problems"]
    return [f"{p['level']} {p['sheet']} {p['cell']}: {p['says']}; {p['try']}" for p in found]


def bought(folder: Path, job: str) -> dict[str, Any]:
    """What a job is short of, by item; nothing is on a price list here."""
    answer = json.loads(ran(folder, f"order {job} --json").stdout)
    return {short["item"]: short["quantity"] for short in answer["unpriced"]}


def called(folder: Path, **names: str | None) -> None:
    """The owner gives sheets other names, or throws them away."""
    path = folder / "stock.xlsx"
    opened = load_workbook(path)
    for name, other in names.items():
        if other is None:
            del opened[name]
        else:
            opened[name].title = other
    opened.save(path)


def same(folder: Path, commands: Iterable[str]) -> list[Done]:
    """Commands that leave the book byte for byte as it is."""
    before = (folder / "stock.xlsx").read_bytes()
    runs = [ran(folder, command) for command in commands]
    assert (folder / "stock.xlsx").read_bytes() == before
    return runs


# Found by their headings


def test_renamed_lists_are_found(folder: Path) -> None:
    """Cable, Drawer and Moves under names of the owner's: all is there, held and undone as before.

    12 covers are counted where 20 were; undo brings the 20 back, and no sheet is added.
    """
    called(folder, Cable="Reels", Drawer="Small parts", Moves="Journal")
    assert held(folder) == {"twin R02": 1500, "twin bullet cover, male": 6}
    assert ran(folder, "stock count", "bullet cover, male", "12").returncode == 0
    assert rows(folder, "Small parts")[0][:3] == ("bullet cover, male", "each", 12)
    assert rows(folder, "Journal")[-1][2:5] == ("count", "bullet cover, male", -8)
    assert ran(folder, "stock undo").returncode == 0
    assert rows(folder, "Small parts")[0][2] == 20
    assert load_workbook(folder / "stock.xlsx").sheetnames == ["Reels", "Small parts", "Journal"]
    assert told(ran(folder, "stock show --json")) == []


def test_a_list_under_other_words_is_said_to_be_read(tmp_path: Path) -> None:
    """It may be a shopping list."""
    (tmp_path / "workshop.toml").touch()
    book(tmp_path, "stock.xlsx", Parts=[("part", "qty", "min"), ("bullet cover, male", 5, 1)])
    read_as = ["caution Parts : this sheet is read as Drawer; "]
    assert told(ran(tmp_path, "stock show --json")) == read_as


def test_renamed_orders_are_found(folder: Path) -> None:
    """What is on order counts under another name of the sheet too: 30 covers, twin lacks 4."""
    heads: list[Any] = [
        *("number", "date", "supplier", "item", "gauge", "colour", "sold as", "pack", "packs")
    ]
    heads += ["price", "part no", "for", "needed", "came"]
    line: list[Any] = [
        "2026-001",
        "2026-11-20",
        "Abel",
        "bullet cover, male",
        None,
        None,
        "pack",
        10,
        3,
    ]
    line += [0.5, None, None, None, 0]
    opened = load_workbook(folder / "stock.xlsx")
    for row in (heads, line):
        (opened["Coming"] if "Coming" in opened else opened.create_sheet("Coming")).append(row)
    opened.save(folder / "stock.xlsx")
    loom(folder, "twin", 1.5, covers=24)
    assert bought(folder, "twin") == {}


def test_a_diary_is_not_taken_for_the_moves(tmp_path: Path) -> None:
    """It has some of their headings; the moves are begun beside it."""
    (tmp_path / "workshop.toml").touch()
    drawer = [("item", "unit", "on hand"), ("bullet cover, male", "each", 5)]
    diary = [("when", "what", "item", "job"), ("Monday", "lent", "crimping pliers", "twin")]
    book(tmp_path, "stock.xlsx", Drawer=drawer, Diary=diary)
    assert ran(tmp_path, "stock count", "bullet cover, male", "4").returncode == 0
    assert load_workbook(tmp_path / "stock.xlsx").sheetnames == ["Drawer", "Diary", "Moves"]


def test_a_renamed_drawer_is_not_bought_again(folder: Path) -> None:
    """Twin takes 6 of 20 covers; single 6 of the 14 that are left."""
    loom(folder, "single", 1.0)
    called(folder, Drawer="Small parts")
    assert bought(folder, "twin") == bought(folder, "single") == {}
    run = ran(folder, "stock show --yes")
    assert run.returncode == 0 and "taken over" not in run.stderr
    assert rows(folder, "Small parts")[0][2] == 20


@pytest.mark.parametrize("name", ["Cable", "Drawer"])
def test_a_list_that_is_lost_stops_all(folder: Path, name: str) -> None:
    """Thrown away, or with headings that nobody knows: nothing is bought, gone or written."""
    path = folder / "stock.xlsx"
    commands = ("order twin", "quote twin", "stock show --yes", "stock hold twin", "stock undo")
    whole = path.read_bytes()
    called(folder, **{name: None})
    for run in same(folder, commands):
        assert run.returncode == 1
        assert f"in {name} by the moves, and no sheet has its headings" in run.stderr
        assert f"try: the name {name} and the headings " in run.stderr
    path.write_bytes(whole)
    typed(path, name, A1="Nr", B1="art", C1="Bestand", D1="Lager")
    called(folder, **{name: "Regal"})
    assert [run.returncode for run in same(folder, commands)] == [1] * 5
    path.write_bytes(whole)
    assert [run.returncode for run in (ran(folder, c) for c in commands[2:])] == [0] * 3


def test_the_cure_cures(folder: Path) -> None:
    """A sheet Drawer with its headings alone: the drawer is empty because the owner says so."""
    called(folder, Drawer=None)
    opened = load_workbook(folder / "stock.xlsx")
    opened.create_sheet("Drawer").append(["item", "on hand"])
    opened.save(folder / "stock.xlsx")
    assert bought(folder, "twin") == {"bullet cover, male": 6}
    assert ran(folder, "stock show --yes").returncode == 0


def test_a_cleared_sheet_is_lost_too(folder: Path) -> None:
    """The sheet Drawer without a single cell."""
    opened = load_workbook(folder / "stock.xlsx")
    opened["Drawer"].delete_rows(1, 9)
    opened.save(folder / "stock.xlsx")
    (run,) = same(folder, ["stock show --yes"])
    assert "1 thing is in Drawer by the moves" in run.stderr  # tape never moved


@pytest.mark.parametrize(
    "lists",
    [
        {"Cable": [("piece", "gauge", "colour", "length"), ("R1", "1.0", "red", 3)]},
        {"Drawer": [("item", "on hand"), ("bullet cover, male", 5)]},
        {"Cable": [("piece", "gauge", "colour", "length")]},
    ],
)
def test_who_keeps_one_list_needs_no_other(tmp_path: Path, lists: dict[str, Any]) -> None:
    """Cable alone, Drawer alone, or nothing yet; a list of the owner's beside it stays theirs."""
    (tmp_path / "workshop.toml").touch()
    own = [("tool", "lent to", "since"), ("crimping pliers", "the neighbour", "May")]
    book(tmp_path, "stock.xlsx", **lists, Tools=own)
    for command in ("stock show", "stock count", "stock show --yes"):
        run = ran(tmp_path, command, *(["bullet cover, male", "2"] if "count" in command else []))
        assert (run.returncode, "Tools" in run.stderr) == (0, False), run.stderr


def test_two_that_fit_are_asked(folder: Path) -> None:
    """Neither has the name; with the name on one of them that one is read, and nothing is said."""
    called(folder, Drawer="Parts")
    opened = load_workbook(folder / "stock.xlsx")
    opened.copy_worksheet(opened["Parts"]).title = "Parts 2025"
    opened.save(folder / "stock.xlsx")
    (run,) = same(folder, ["stock show --yes"])
    says = "the sheets 'Parts' and 'Parts 2025' have the headings of Drawer: which is meant?"
    assert run.returncode == 1 and says in run.stderr
    called(folder, Parts="Drawer")
    assert told(ran(folder, "stock show --json")) == []


def test_a_heading_that_is_lacking_is_named(tmp_path: Path) -> None:
    """A new user's drawer under a name and a heading of their own."""
    (tmp_path / "workshop.toml").touch()
    parts = [("item", "have got", "low", "full"), ("bullet cover, male", 5, 1, 9)]
    book(tmp_path, "stock.xlsx", Parts=parts)
    (said,) = told(ran(tmp_path, "stock show --json"))
    assert said.startswith("caution Parts : this sheet is not read: as Drawer it lacks 'on hand'; ")


def test_folders_of_csv_and_ods(tmp_path: Path) -> None:
    """A renamed list is found in both, and written in the folder under its own name."""
    (tmp_path / "workshop.toml").touch()
    stock = tmp_path / "stock"
    stock.mkdir()
    (stock / "Teile.csv").write_text("item,unit,on hand,low\nsolder,each,4,1\n")
    assert ran(tmp_path, "stock count solder 3").returncode == 0
    assert (stock / "Teile.csv").read_text() == "item,unit,on hand,low\nsolder,each,3,1\n"
    (stock / "Moves.csv").rename(stock / "Was war.csv")
    assert ran(tmp_path, "stock count solder 2").returncode == 0
    assert sorted(path.name for path in stock.iterdir()) == ["Teile.csv", "Was war.csv"]
    (stock / "Teile.csv").unlink()
    run = ran(tmp_path, "stock show --yes")
    assert run.returncode == 1 and "1 thing is in Drawer by the moves" in run.stderr
    shutil.rmtree(stock)
    lines = (("item", "unit", "on hand"), ("solder", "each", "3"))
    cells = [ods_row(*map(ods_cell, line)) for line in lines]
    (tmp_path / "stock.ods").write_bytes(ods_book(("Teile", cells)))
    assert "solder" in ran(tmp_path, "stock show").stdout


# Neighbours: heading rows, filters, hidden sheets, one item in two rows


def test_neighbours_of_a_rename(folder: Path) -> None:
    """A heading row thrown away is an error; a hidden sheet, a filter and a sort change nothing."""
    path = folder / "stock.xlsx"
    whole = path.read_bytes()
    opened = load_workbook(path)
    opened["Cable"].delete_rows(1)
    opened.save(path)
    (run, _) = same(folder, ("stock show --yes", "stock hold twin"))
    assert run.returncode == 1 and "no row has the headings 'piece' and 'gauge'" in run.stderr
    path.write_bytes(whole)
    opened = load_workbook(path)
    opened["Drawer"].sheet_state = "hidden"
    sheet = opened["Moves"]
    sheet.auto_filter.ref = "A1:H4"
    sheet.auto_filter.add_filter_column(2, ["count"])
    lines = [[cell.value for cell in row] for row in sheet["A2:H4"]]
    for number, line in enumerate(sorted(lines, key=lambda line: str(line[3])), 2):
        for column, value in enumerate(line, 1):
            sheet.cell(number, column, value)
    sheet.row_dimensions[2].hidden = True
    opened["Drawer"].append(["bullet cover, male", "each", 5])
    opened.save(path)
    assert held(folder) == {"twin R02": 1500, "twin bullet cover, male": 6}
    assert ran(folder, "stock count R01 9").returncode == 0
    assert moves(folder)[-1][1:5] == ("count", "R01", -0.5, "m")
    differs = json.loads(ran(folder, "stock show --json").stdout)["by_hand"]
    assert [(d["item"], d["by_the_moves"], d["in_the_book"]) for d in differs] == [
        ("bullet cover, male", 20, 25)
    ]


# The moves


def test_moves_thrown_away_are_missed(folder: Path) -> None:
    """A copy in .bom has them: nothing is written until they are back, or begun anew."""
    whole = (folder / "stock.xlsx").read_bytes()
    assert ran(folder, "stock count R01 9").returncode == 0  # so that a copy holds what came before
    called(folder, Moves=None)
    commands = ("order twin", "stock show --yes", "stock hold twin", "stock undo")
    for run in same(folder, commands):
        assert run.returncode == 1
        assert "there is no sheet Moves any more: what is set aside, what came" in run.stderr
        assert "try: the sheet 'Moves' from .bom/stock 20" in run.stderr
    opened = load_workbook(folder / "stock.xlsx")
    opened.create_sheet("Moves").append(MOVES)
    opened.save(folder / "stock.xlsx")
    run = ran(folder, "stock hold twin")
    assert run.returncode == 0 and "no moves are left here: what is set aside" in run.stderr
    assert "no moves are left" not in ran(folder, "stock show").stderr
    (folder / "stock.xlsx").write_bytes(whole)
    assert held(folder) == {"twin R02": 1500, "twin bullet cover, male": 6}


def test_without_copies_nobody_can_know(folder: Path) -> None:
    """A book without moves is a new one then: they are begun."""
    shutil.rmtree(folder / ".bom")
    called(folder, Moves=None)
    assert ran(folder, "stock count R01 9").returncode == 0
    assert moves(folder) == [(None, "count", "R01", -0.5, "m", 9, None)]


def test_moves_that_stand_twice_count_once(folder: Path) -> None:
    """The rows of twin's hold pasted under the list: 1.5 m are set aside, not 3."""
    opened = load_workbook(folder / "stock.xlsx")
    sheet = opened["Moves"]
    for row in [[cell.value for cell in line] for line in sheet["A2:H3"]]:
        sheet.append(row)
    opened.save(folder / "stock.xlsx")
    assert held(folder) == {"twin R02": 1500, "twin bullet cover, male": 6}
    twice = [p for p in told(ran(folder, "stock show --json")) if "counted once" in p]
    assert [p[: len("caution Moves A5")] for p in twice] == ["caution Moves A5", "caution Moves A6"]


# Set aside, and there


def test_a_hold_is_no_more_than_there_is(folder: Path) -> None:
    """8 covers for single behind twin's 6; 9 are left: twin keeps 6, single has 3 and buys 5."""
    loom(folder, "single", 1.0, covers=8)
    loom(folder, "solo", 1.0, covers=2)
    assert ran(folder, "stock hold single").returncode == 0
    typed(folder / "stock.xlsx", "Drawer", C2=9)
    assert held(folder)["twin bullet cover, male"] == 6
    assert held(folder)["single bullet cover, male"] == 3
    assert bought(folder, "single") == {"bullet cover, male": 5}
    assert bought(folder, "twin") == {}
    assert bought(folder, "solo") == {"bullet cover, male": 2}
    run = ran(folder, "stock show --yes")
    says = "set aside for single: 5 of 'bullet cover, male' more than there is"
    assert f"{says}: bom stock hold single sets aside what there is" in run.stderr
    assert moves(folder)[-1] == (
        *("single", "release", "bullet cover, male", 0, "each", 9),
        "5 each free again; changed by hand",
    )
    assert "more than there is" not in ran(folder, "stock show").stderr


def test_a_count_below_what_is_held_names_the_job(folder: Path) -> None:
    """5 counted where twin has 6: one is set free, and undo gives it back."""
    run = ran(folder, "stock count", "bullet cover, male", "5")
    says = "'bullet cover, male': 5 counted, 6 set aside for twin: bom stock hold twin"
    assert says in " ".join(run.stdout.split())
    assert held(folder)["twin bullet cover, male"] == 5
    assert bought(folder, "twin") == {"bullet cover, male": 1}
    assert ran(folder, "stock undo").returncode == 0
    assert held(folder)["twin bullet cover, male"] == 6
    typed(folder / "stock.xlsx", "Drawer", C2=7)  # a count asks nothing of hand edits
    assert ran(folder, "stock count", "bullet cover, male", "4").returncode == 0


def test_a_hold_does_not_stay_on_a_renamed_piece(folder: Path) -> None:
    """R02 is called Red2 by hand: what twin has of it is gone, said, and set free with a yes."""
    typed(folder / "stock.xlsx", "Cable", A3="Red2")
    says = "set aside for twin: 1.5 m of 'R02', which is gone from the book"
    cure = "bom stock hold twin sets it aside anew"
    assert f"caution  : {says}; {cure}" in told(ran(folder, "stock show --json"))
    assert "twin R02" not in held(folder)
    assert f"{says}: {cure}" in ran(folder, "stock show --yes").stderr
    assert ran(folder, "stock show").stderr == ""
    assert ran(folder, "stock hold twin").returncode == 0
    assert held(folder) == {"twin Red2": 1500, "twin bullet cover, male": 6}


# Ten times too many


@pytest.mark.parametrize(
    ("there", "counted", "asked"),
    [
        ("141", "14100", True),  # the unit's two noughts typed along
        ("141", "1410", True),  # one nought too many: ten times
        ("141", "14", True),  # one figure too few
        ("118", "12", False),  # a loom took the others: over a tenth
        ("0", "500", False),  # the first count
        ("400", "0", False),  # used up
        ("2", "25", False),  # a handful topped up
        ("30", "2", False),  # nearly used up
        ("3", "103", True),  # a pack of 100 came, and was not received: a yes is soon said
        ("20", "199", False),  # not ten times as many
    ],
)
def test_ten_times_as_many_is_asked(tmp_path: Path, there: str, counted: str, asked: bool) -> None:
    """Refused without a terminal, with the cure, and written with --yes."""
    folder = shop(tmp_path, drawer=[("bullet cover, male", "each", int(there))])
    run = ran(folder, "stock count", "bullet cover, male", counted)
    assert (run.returncode == 1) == asked
    if asked:
        says = f"'bullet cover, male': {counted} counted, {there} in the book"
        assert f"stock.xlsx › Drawer › C2: {says}\n    try: --yes, if it is so" in run.stderr
        assert moves(folder) == []
        again = ran(folder, "stock count", "bullet cover, male", counted, "--yes")
        assert again.returncode == 0
    assert rows(folder, "Drawer")[0][2] == int(counted)


@pytest.mark.parametrize(
    ("counted", "asked"), [("84", True), ("8400 mm", False), ("0.8", True), ("84 cm", True)]
)
def test_ten_times_as_long_is_asked(tmp_path: Path, counted: str, asked: bool) -> None:
    """8.4 m are in the book; 84 cm are a tenth of it."""
    folder = shop(tmp_path, cable=[("R1", "1.0", "red", 8.4)])
    assert (ran(folder, "stock count R1", counted).returncode == 1) == asked


def test_the_largest_hand_edit_is_named_first(folder: Path) -> None:
    """14100 where 20 were is 705 times as many; 9 m where 9.5 were is ordinary."""
    typed(folder / "stock.xlsx", "Cable", D2=9)
    typed(folder / "stock.xlsx", "Drawer", C2=14100)
    run = ran(folder, "stock show --yes")
    says = "taken over as counts: 2, most of all 'bullet cover, male' from 20 to 14100 each"
    assert says in run.stderr


# A job book copied in the file manager


@pytest.mark.parametrize(
    "command",
    [
        "check two",
        "stock hold two --dry-run",
        "stock release two",
        "stock issue two --dry-run",
        "quote two --give",
        "done two",
    ],
)
def test_a_copied_job_book_is_told(folder: Path, command: str) -> None:
    """two.xlsx is a copy of twin.xlsx, with twin's name on its sheet Job, in B2."""
    jobs = folder / "jobs"
    shutil.copy(jobs / "twin.xlsx", jobs / "two.xlsx")
    says = "two.xlsx › Job › B2: 'twin' is the job of twin.xlsx too"
    assert says in ran(folder, command).stderr
    assert "is the job of" not in ran(folder, command.replace("two", "twin")).stderr


def test_a_longer_name_is_no_copy_until_it_stands_twice(folder: Path) -> None:
    """`the grey twin` in grey.xlsx is alone; copied to black.xlsx both are told."""
    loom(folder, "grey", 1.0, job="the grey twin")
    assert "is the job of" not in ran(folder, "check grey").stderr
    shutil.copy(folder / "jobs" / "grey.xlsx", folder / "jobs" / "black.xlsx")
    says = "'the grey twin' is the job of grey.xlsx too: what is booked for one counts for both"
    assert says in ran(folder, "check black").stderr
    assert "is the job of black.xlsx too" in ran(folder, "check grey").stderr
