"""Lists as people keep them: other headings, titles, totals, another list beside or below."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from tests.books import Rows, book
from tests.within import ROOT, bom

CLEAN = (
    ("wire", "circuit", "from", "to", "colour", "gauge", "load", "length"),
    ("1", "feed", "battery", "switch:in", "red", "2.0", None, "825 mm"),
    ("2", "dip beam", "switch:lights", "head lamp:dip", "blue/red", "1.0", "55 W", "1193.8 mm"),
    ("3", "earth", "head lamp:earth", "battery", "black", "1.0", None, "1193.8 mm"),
    ("4", "tail lamp", "switch:lights", "tail lamp:+", "red/black", "1.0", "5 W", "1.5 m"),
    ("5", "earth", "tail lamp:earth", "battery", "black", "1.0", None, "1.5 m"),
)
"""47 in are 47 x 25.4 = 1193.8 mm; 3 ft 11 in are 36 + 11 = 47 in."""

MESSY: Sequence[Sequence[Any]] = (
    ("The grey outfit, measured in the shed",),
    ("drawn up", "", "from", "a note", "to", "be trusted"),
    (),
    ("Cable", " Function", "From  Component", "To component", "COL ", "Size", "Load", "Run cm"),
    ("1", "feed", "battery", "switch:in", "RD", "2,0", None, "82,5"),
    (),
    ("2", "dip beam", "switch:lights", "head lamp:dip", "U/R", "1,0 mm2", "55 W", "47 in"),
    ("3", "earth", "head lamp:earth", "battery", "black", 1.0, None, "3 ft 11 in"),
    ("Cable", "Function", "From Component", "To Component", "COL", "Size", "Load", "Run cm"),
    (),
    ("4", "tail lamp", "switch:lights", "tail lamp:+", "red/black", 1, "5 W", "1,5 m"),
    ("5", "earth", "tail lamp:earth", "battery", "Black", "1.0", None, 150),
    ("TOTAL", None, None, None, None, None, "60 W", "6,2 m"),
)


def messy(folder: Path) -> Path:
    """The same list on a sheet of another name, with a merged title and a second list beside."""
    path = book(folder, "messy.xlsx", Wiring=MESSY, Thoughts=[("ask about the horn",)])
    made = load_workbook(path)
    sheet = made["Wiring"]
    sheet.merge_cells("A1:H1")
    beside: Rows = (("from", "to", "length"), ("frame", "spine", 0.5))
    for number, row in enumerate(beside, start=4):
        for letter, value in zip("KLM", row, strict=True):
            sheet[f"{letter}{number}"].value = value
    made.save(path)
    return path


def answer(*args: object, cwd: Path = ROOT) -> dict[str, Any]:
    """What a command says in JSON, whatever its exit code."""
    found: dict[str, Any] = json.loads(bom(*args, "--json", cwd=cwd).stdout)
    return found


def told(answer: dict[str, Any], level: str = "caution") -> set[tuple[str, str]]:
    """Cell and sentence of each problem of that level."""
    return {(p["cell"], p["says"]) for p in answer["problems"] if p["level"] == level}


def test_a_messy_list_gives_the_take_off_of_its_clean_twin(tmp_path: Path) -> None:
    """Header in row 4, other words, cm and inches, decimal commas, totals, blanks, a title."""
    clean = answer("takeoff", book(tmp_path, "clean.xlsx", Circuits=CLEAN))
    other = answer("takeoff", messy(tmp_path))
    assert not told(clean, "error") and not told(other, "error")
    assert other["needs"] == clean["needs"]
    assert {("A13", "a row of totals, which is not read")} < told(other)
    assert ("K4", "the list beside this one (from, to, length) is not read") in told(other)
    assert ("", "this sheet is read as Circuits") in told(other)


def test_pins_may_stand_in_columns_of_their_own(tmp_path: Path) -> None:
    """`lamp` and `+` in two cells are `lamp:+`; a pin in both is an error at the second."""
    apart = (
        ("wire", "from", "from pin", "to", "to pin", "colour", "gauge", "load", "length"),
        ("1", "switch", "out", "lamp", "+", "red", "1.0", "5 W", 1),
        ("2", "lamp", None, "battery", None, "black", "1.0", None, 1),
    )
    joined = (
        ("wire", "from", "to", "colour", "gauge", "load", "length"),
        ("1", "switch:out", "lamp:+", "red", "1.0", "5 W", 1),
        ("2", "lamp", "battery", "black", "1.0", None, 1),
    )
    wanted = answer("cut", book(tmp_path, "joined.xlsx", Circuits=joined))["cuts"]
    assert answer("cut", book(tmp_path, "apart.xlsx", Circuits=apart))["cuts"] == wanted
    twice = (apart[0], ("1", "switch:a", "out", "lamp", "+", "red", "1.0", "5 W", 1))
    faults = answer("check", book(tmp_path, "twice.xlsx", Circuits=twice))
    assert ("C2", "a second pin 'out': 'switch:a' names one already") in told(faults, "error")


OWN = (
    ("Leitung", "von", "nach", "Farbe", "Querschnitt mm2", "Strom", "Laenge cm", "Bemerkung"),
    ("1", "switch", "lamp", "red", "1.0", "0.5 A", 100, "hot"),
    ("2", "lamp", "battery", "black", "1.0", None, 100, None),
)
WORDS = """
[columns]
Leitung = "wire"
"von" = "from"
nach = "to"
[columns.Circuits]
Farbe = "colour"
Querschnitt = "gauge"
"Strom" = "load"
Laenge = "length"
"""


def test_the_owners_own_words_stand_in_the_house_rules(tmp_path: Path) -> None:
    """With the words every column is read, units in the headings too; without, none is."""
    path = book(tmp_path / "jobs", "own.xlsx", Circuits=OWN)
    (tmp_path / "workshop.toml").write_text("step_mm = 1\nend_mm = 0\nrun_percent = 0\n")
    without = answer("check", path)
    assert ("A1", "no row has the headings 'from' and 'to'") in told(without, "error")
    shown = answer("check", path, "--columns")["columns"]
    assert [(c["cell"], c["column"]) for c in shown][:2] == [("A1", ""), ("B1", "")]
    (tmp_path / "workshop.toml").write_text(f"step_mm = 1\nend_mm = 0\nrun_percent = 0\n{WORDS}")
    cuts = answer("cut", path)["cuts"]
    assert {(cut["wire"], cut["length_mm"]) for cut in cuts} == {("1", 1000), ("2", 1000)}
    shown = answer("check", path, "--columns")["columns"]
    columns = ("wire", "from", "to", "colour", "gauge", "load", "length", "")
    assert [(c["heading"], c["column"]) for c in shown] == [*zip(OWN[0], columns, strict=True)]
    assert [c["unit"] for c in shown] == [*[""] * 6, "cm", ""]
    assert [c["known_by"] for c in shown] == [*["workshop.toml"] * 7, "not read"]


@pytest.mark.parametrize(
    ("words", "key", "says"),
    [
        ('[columns]\nLtg = "wir"\n', "columns.Ltg", "no column 'wir'"),
        ('[columns.Circuts]\nLtg = "wire"\n', "columns.Circuts", "no sheet 'Circuts'"),
        ('[columns.Loom]\nLtg = "wire"\n', "columns.Loom.Ltg", "no column 'wire'"),
        ('columns = "wire"\n', "columns", "columns is a table of your headings"),
    ],
)
def test_words_for_no_column_are_told(words: str, key: str, says: str, tmp_path: Path) -> None:
    """By their key in workshop.toml."""
    (tmp_path / "workshop.toml").write_text(words)
    found = answer("check", book(tmp_path / "jobs", "job.xlsx", Circuits=CLEAN))
    assert ("workshop.toml", key, says) in {
        (p["file"], p["cell"], p["says"]) for p in found["problems"] if p["level"] == "error"
    }


def test_columns_are_shown_though_the_book_has_errors(tmp_path: Path) -> None:
    """The table goes with the error; exit 1."""
    path = book(tmp_path, "odd.xlsx", A=[("x", "y")], B=[("from", "to"), ("a", "b")])
    done = bom("check", path, "--columns")
    assert (
        done.returncode == 1
        and "no sheet has the headings of Circuits (sheets found: A, B)" in done.stderr
    )
    done = bom("check", book(tmp_path, "one.xlsx", Circuits=CLEAN), "--columns")
    assert done.returncode == 0
    assert "known by" in done.stdout and "its name" in done.stdout


TWICE = ("from", "to", "colour", "length", None, "colour", "gauge")


@pytest.mark.parametrize(
    ("rows", "cell", "says"),
    [
        # below a blank row other headings begin, and nothing of them is read
        (
            (*CLEAN, (), ("from", "to", "run"), ("a", "b", 1)),
            *("A8", "a second list begins here, under the first"),
        ),
        # behind a blank column one heading known already and a new one make no list beside
        (
            (TWICE, ("switch", "lamp", "red", 1, None, "blue", "1.0")),
            *("F1", "a second column for 'colour', which stands in C1 too"),
        ),
    ],
)
def test_a_second_list_is_refused(tmp_path: Path, rows: Rows, cell: str, says: str) -> None:
    """An error where it begins."""
    found = answer("check", book(tmp_path, "two.xlsx", Circuits=rows))
    assert (cell, says) in told(found, "error")


def test_what_the_owner_leaves_out_is_left_out(tmp_path: Path) -> None:
    """A heading of the owner's for nothing, and a heading inside the list: neither is a fault."""
    (tmp_path / "workshop.toml").write_text('[columns]\n"to do" = ""\n')
    head = (*CLEAN[0], "to do")
    rows = (head, ("LIGHTING",), *((*row, "ask") for row in CLEAN[1:]), (None, "The rest"))
    path = book(tmp_path / "jobs", "job.xlsx", Circuits=rows)
    found = answer("check", path)
    assert not told(found, "error") and len(found["wires"]) == 5
    assert told(found) >= {
        ("A2", "'LIGHTING' alone is no row of the list, and is not read"),
        ("B8", "'The rest' alone is no row of the list, and is not read"),
    }
    assert "to do" not in json.dumps(found["problems"])


def test_sums_without_a_word_are_totals_too(tmp_path: Path) -> None:
    """2 hours and 1.5 are 3.5: a row of it alone is none; one of 4 is a row without a task."""
    labour = (("task", "hours"), ("strip", 2), ("fit", 1.5))
    for total, errors in ((3.5, set()), (4, {("A4", "'task' is empty")})):
        path = book(tmp_path, f"{total}.xlsx", Circuits=CLEAN, Labour=(*labour, (None, total)))
        assert told(answer("check", path), "error") == errors
    path = book(tmp_path, "named.xlsx", Circuits=CLEAN, Labour=(*labour, ("Total", 3.5)))
    assert ("A4", "a row of totals, which is not read") in told(answer("check", path))
    path = book(tmp_path, "task.xlsx", Circuits=CLEAN, Labour=(*labour, ("Total loss", 4)))
    work = answer("quote", path)["lines"]
    assert "Total loss" in {line["item"] for line in work}


def test_a_stock_book_and_price_lists_with_other_words(tmp_path: Path) -> None:
    """Reels, what is left on them, what is in stock; the owner's own words too; written back."""
    (tmp_path / "workshop.toml").write_text(
        'end = "bare"\n[columns.Cable]\n"Rest" = "length"\n[columns.Prices]\n"Preis" = "price"\n'
    )
    book(
        tmp_path,
        "stock.xlsx",
        Cable=[("Reel no", "CSA", "Col", "Rest cm", "Where"), ("A1", "1.0", "red", 900, "rack")],
        Drawer=[
            ("Part", "Item", "In stock", "Min", "Max", "Bin"),
            ("ours", "blade fuse, 10 A", 3, 5, 10, "B2"),
        ],
    )
    book(
        tmp_path,
        "prices.xlsx",
        Prices=[("supplier", "item", "sold as", "Preis"), ("Abel", "blade fuse, 10 A", "each", 2)],
    )
    found = answer("stock", "show", cwd=tmp_path)
    assert not told(found, "error")
    assert [(piece["piece"], piece["length_mm"]) for piece in found["cable"]] == [("A1", 9000)]
    assert [(d["item"], d["on_hand"], d["low"]) for d in found["drawer"]] == [
        ("blade fuse, 10 A", 3, 5)
    ]
    (line,) = answer("topup", cwd=tmp_path)["lines"]
    assert (line["packs"], line["cost"]) == (7, "14.00")
    assert bom("stock", "count", "A1", "8.5 m", cwd=tmp_path).returncode == 0
    assert load_workbook(tmp_path / "stock.xlsx")["Cable"]["D2"].value == 850
