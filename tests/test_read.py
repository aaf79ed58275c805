"""Reading job books: every kind of file, every way of writing a cell, every fault with its cell."""

import csv
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from bom.catalogue import load_catalogue
from bom.job import open_job
from bom.outcome import dumped, takeoff_out
from bom.spelling import Misspelt, colour, count, gauge, length_mm, load, money, one_of, pin
from bom.trade import OneOf, Pin
from tests.books import book, checked, says

CATALOGUE, _ = load_catalogue()


# ------------------------------------------------------------------------------ spellings


@pytest.mark.parametrize(
    ("text", "unit", "mm"),
    [
        ("1.2 m", "", "1200"),
        ("120 cm", "", "1200"),
        ("1200 mm", "", "1200"),
        ("1,2 m", "", "1200"),
        # 1 in = 25.4 mm exactly (ISO 80000-3, from memory); 47 x 25.4 = 1193.8
        ("47 in", "", "1193.8"),
        ('47"', "", "1193.8"),
        ("3 ft 11 in", "", "1193.8"),
        ("3' 11\"", "", "1193.8"),
        ("1.2", "", "1200"),
        ("1200", "mm", "1200"),
        ("1.2 m", "mm", "1200"),
        (Decimal("0.5"), "", "500"),
    ],
)
def test_lengths(text: Any, unit: str, mm: str) -> None:
    """The cell's own unit wins, then the heading's, then metres; all exact."""
    assert length_mm(text, unit, "m") == Fraction(mm)


@pytest.mark.parametrize("text", ["1,200", "1,200 m", "a metre", "-1", "1.2 furlongs", "1.2.3"])
def test_lengths_refused(text: str) -> None:
    """A comma with three digits may mean either; a unit must be known; nothing below zero."""
    with pytest.raises(Misspelt):
        length_mm(text, "", "m")


def test_a_comma_with_three_digits_asks_which_is_meant() -> None:
    """1,200 is 1200 or 1.200."""
    with pytest.raises(Misspelt) as fault:
        length_mm("1,200", "", "m")
    assert fault.value.cure == "1200 for thousands, 1.200 for a decimal"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        # words, IEC 60757 codes and BS AU 7 letters, body first
        ("blue/white", "blue/white"),
        ("BU/WH", "blue/white"),
        ("U/W", "blue/white"),
        ("P", "purple"),
        ("VT", "purple"),
        ("violet", "purple"),
        ("S", "grey"),
        ("gray", "grey"),
        ("slate", "grey"),
        ("GY", "grey"),
        ("LG", "light green"),
        ("LG/BK", "light green/black"),
        ("Light  Green", "light green"),
        ("GNYE", "green/yellow"),
        # the trap: BN is brown in IEC 60757 and black/brown in BS AU 7
        ("BN", "brown"),
        ("N", "brown"),
        ("K", "pink"),
    ],
)
def test_colours(text: str, words: str) -> None:
    """One spelling comes out, in words."""
    assert str(colour(text, CATALOGUE)) == words


@pytest.mark.parametrize(
    ("text", "cure"),
    [
        ("RDBU", "red/blue"),
        ("GR", "green/red"),
        ("gren", "green"),
        ("blue/white/red", "blue/white"),
    ],
)
def test_colours_refused(text: str, cure: str) -> None:
    """Run-together letters are an error with their readings; a slip has its suggestion."""
    with pytest.raises(Misspelt) as fault:
        colour(text, CATALOGUE)
    assert cure in fault.value.cure


@pytest.mark.parametrize(
    ("text", "unit", "name"),
    [
        ("1.0", "", "1.0"),
        ("1", "", "1.0"),
        (Decimal(1), "", "1.0"),
        ("1,0 mm2", "", "1.0"),
        ("1.0 mm²", "", "1.0"),
        ("18 AWG", "", "18 AWG"),
        ("18AWG", "", "18 AWG"),
        ("18", "awg", "18 AWG"),
        ("0.75", "", "0.75"),
    ],
)
def test_gauges(text: Any, unit: str, name: str) -> None:
    """mm2 unless the cell or the heading says AWG."""
    assert gauge(text, unit, CATALOGUE) == name


@pytest.mark.parametrize("text", ["4 mm", "1.1", "18", "19 AWG", "thick"])
def test_gauges_refused(text: str) -> None:
    """A bare mm may be a diameter; a size that is not made is not known."""
    with pytest.raises(Misspelt):
        gauge(text, "", CATALOGUE)


@pytest.mark.parametrize(
    ("text", "unit", "amount", "kind"),
    [
        ("55 W", "", "55", "W"),
        ("55W", "", "55", "W"),
        ("4.2 A", "", "4.2", "A"),
        ("4,2 A", "", "4.2", "A"),
        ("150 mA", "", "0.15", "A"),
        ("H4 dip", "", "55", "W"),  # UN regulation 37, from memory
        ("h4  DIP", "", "55", "W"),
        ("55", "w", "55", "W"),
        ("55 W", "a", "55", "W"),
    ],
)
def test_loads(text: str, unit: str, amount: str, kind: str) -> None:
    """Watts, amps, or a name from the catalogue."""
    found = load(text, unit, CATALOGUE)
    assert (found.amount, found.unit) == (Fraction(amount), kind)


@pytest.mark.parametrize("text", ["55", "21/5 W", "-5 W", "bright"])
def test_loads_refused(text: str) -> None:
    """A bare number has no unit; two filaments are two rows."""
    with pytest.raises(Misspelt):
        load(text, "", CATALOGUE)


def test_pins_words_counts_and_money() -> None:
    """A pin follows the first colon; words are in small letters; money may have its sign."""
    assert pin("relay: 30: a") == Pin("relay", "30: a")
    assert pin(Decimal(1)) == Pin("1")
    assert one_of("Turn: Left") == OneOf("turn", "left")
    assert count(Decimal(3)) == 3
    assert money("£ 1.20") == Decimal("1.20")
    for bad in (":30", "turn:", "1.5"):
        with pytest.raises(Misspelt):
            {":30": pin, "turn:": one_of, "1.5": count}[bad](bad)


# ------------------------------------------------------------------------ kinds of files

SHEETS: dict[str, list[tuple[Any, ...]]] = {
    "Circuits": [
        ("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse"),
        (1, "feed", "battery:+", "switch", "N", 1, None, "main"),
        ("", "lamp", "switch", "tail lamp", "red", "1.0", "5 W", None),
        ("3", "earth", "tail lamp", "battery:-", "black", "1.0 mm2", None, None),
    ],
    "Loom": [("from", "to", "length m"), ("battery", "spine", 0.5), ("spine", "tail", 0.8)],
    "Components": [
        ("component", "at", "tail mm"),
        ("tail lamp", "tail", 150),
        ("switch", "spine", None),
    ],
}


def _csv_folder(folder: Path) -> Path:
    folder.mkdir()
    for name, rows in SHEETS.items():
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as stream:
            csv.writer(stream).writerows(rows)
    return folder


def _ods(path: Path) -> Path:
    from odf.opendocument import OpenDocumentSpreadsheet
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    made = OpenDocumentSpreadsheet()
    for name, rows in SHEETS.items():
        table = Table(name=name)
        for row in rows:
            line = TableRow()
            for value in row:
                numeric = isinstance(value, int | float)
                kind = (
                    {"valuetype": "float", "value": value} if numeric else {"valuetype": "string"}
                )
                cell = TableCell(**(kind if value is not None else {}))
                if value is not None:
                    cell.addElement(P(text=str(value)))
                line.addElement(cell)
            table.addElement(line)
        made.spreadsheet.addElement(table)
    made.save(str(path))
    return path


def test_every_kind_of_file_reads_the_same(tmp_path: Path) -> None:
    """.xlsx, .xlsm, .ods and a folder of .csv give one take-off."""
    paths = [
        book(tmp_path, "job.xlsx", **SHEETS),
        book(tmp_path, "job.xlsm", **SHEETS),
        _ods(tmp_path / "job.ods"),
        _csv_folder(tmp_path / "job"),
    ]
    answers = [dumped(takeoff_out(open_job(path)))["needs"] for path in paths]
    assert answers[0]
    assert all(answer == answers[0] for answer in answers)
    cables = {need["colour"]: need["pieces_mm"] for need in answers[0] if need["kind"] == "cable"}
    # 500 x 1.05 + 80 = 605; 800 x 1.05 + 150 + 80 = 1070; 1300 x 1.05 + 150 + 80 = 1595
    assert cables == {"brown": [610], "red": [1070], "black": [1600]}


def test_a_single_csv_is_the_circuits_sheet(tmp_path: Path) -> None:
    """With decimal commas and semicolons, as spreadsheets write it in many countries."""
    path = tmp_path / "job.csv"
    path.write_text("from;to;colour;length;load\nbattery;lamp;red;1,5;5 W\n", encoding="cp1252")
    (entry,) = open_job(path).sized.wires  # type: ignore[union-attr] # the book is sound
    # 1500 x 1.05 + 2 x 40 = 1655 -> 1660
    assert entry.piece_mm == 1660


def test_titles_blank_rows_and_other_headings(tmp_path: Path) -> None:
    """The header row is the first with the headings; names are those of the trade."""
    rows = [
        ("Wiring of the old twin",),
        (),
        ("No", "Function", "START", " finish ", "Col", "CSA", "Watts", "Run (cm)"),
        (),
        (1.0, "tail", "battery", "lamp", "red", "1.0", 5, 120),
    ]
    job = open_job(book(tmp_path, circuits=rows))
    assert job.book
    (only,) = job.book.wires
    assert (only.label, only.circuit, str(only.colour), only.gauge) == ("1", "tail", "red", "1.0")
    assert only.length_mm == 1200
    assert only.load
    assert only.load.amount == 5
    assert only.load.unit == "W"


def test_blank_labels_count_the_rows_of_wires(tmp_path: Path) -> None:
    """W and the number of the wire's row, counted from 1; blank rows do not count."""
    head = ("wire", "from", "to", "colour", "length")
    rows = [head, ("a", "p", "q:1", "red", 1), (), (None, "p", "q:2", "blue", 1)]
    job = open_job(book(tmp_path, Circuits=rows))
    assert job.book
    assert [wire.label for wire in job.book.wires] == ["a", "W2"]


# ---------------------------------------------------------------------------- house rules


def test_house_rules_from_file_and_job_sheet(tmp_path: Path) -> None:
    """workshop.toml is found by walking up; the Job sheet overrides it for one job."""
    (tmp_path / "workshop.toml").write_text("run_percent = 7.5\nambient_c = 50\n")
    job_sheet = [("job", "x"), ("Ambient_C", "35 C"), ("gauges", "1.0; 2,0"), ("end", "bullet")]
    rows = [("from", "to", "colour", "length"), ("a", "b", "red", 1)]
    path = book(tmp_path / "jobs" / "deep", Job=job_sheet, Circuits=rows)
    rules = open_job(path).rules
    assert rules.run_percent == Decimal("7.5")
    assert rules.ambient_c == 35
    assert (rules.gauges, rules.end) == (("1.0", "2.0"), "bullet")


def test_a_per_cent_cell_is_the_per_cent(tmp_path: Path) -> None:
    """5 % typed into a spreadsheet is stored as 0.05, and means 5."""
    from openpyxl import load_workbook

    path = book(
        tmp_path,
        Job=[("run_percent", 0.05)],
        Circuits=[("from", "to", "colour", "length"), ("a", "b", "red", 1)],
    )
    made = load_workbook(path)
    made["Job"]["B1"].number_format = "0%"
    made.save(path)
    assert open_job(path).rules.run_percent == 5


def test_faulty_rules_are_named(tmp_path: Path) -> None:
    """An unknown key with its suggestion, a value that is not allowed; both with their place."""
    (tmp_path / "workshop.toml").write_text("run_percnt = 5\nvolts = -12\n")
    path = book(tmp_path, Circuits=[("from", "to", "colour", "length"), ("a", "b", "red", 1)])
    found = {p["cell"]: p["try"] for p in checked(path)["problems"] if p["level"] == "error"}
    assert found == {"run_percnt": "run_percent", "volts": ""}


# -------------------------------------------------------------------------------- faults


def test_twelve_mistakes_give_twelve_messages(tmp_path: Path) -> None:
    """Each with its own cell, in file order, and none that follows from another."""
    circuits = [
        ("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse", "length", "from end"),
        ("1", "feed", "battery:+", "switch", "gren", "1.0", None, "main", None, None),  # E2
        ("2", "tail", "switch", "tail lamp:1", "red", "1.1", None, None, None, None),  # F3
        ("2", "stop", "switch", "stop lamp:1", "blue", "1.0", None, None, None, None),  # A4
        ("4", "horn", "switch", "horn:1", "purple", "1.0", 4, None, None, None),  # G5
        ("5", "plate", "switch", "plate lmp:1", "pink", "1.0", None, None, None, None),  # D6
        ("6", "side", "switch", "side lamp:1", "white", "1.0", None, None, 1200, None),  # I7
        (
            "7",
            "earth",
            "tail lamp:2",
            "battery:- 1",
            "black",
            "1.0",
            None,
            None,
            "1,200",
            None,
        ),  # I8
        (
            "8",
            "earth",
            "stop lamp:2",
            "battery:- 2",
            "black",
            "1.0",
            None,
            None,
            None,
            "ring M7",
        ),  # J9
        (
            "9",
            "earth",
            "horn:2",
            "battery:- 3",
            "black",
            "1.0",
            None,
            None,
            datetime(2026, 2, 1),
            None,
        ),
        ("10", "earth", "plate lamp:2", "battery:- 4", "black", "1.0", None, None, None, None),
        ("11", "earth", "side lamp:2", "battery:- 5", "black", "1.0", None, None, "1 m", None),
    ]
    loom = [
        ("from", "to", "length m", "exposure"),
        ("battery", "mid", 0.5, "hiden"),  # D2
        ("mid", "tail", 0.8, None),
        ("tail", "mid", 0.8, None),  # B4
    ]
    components = [
        ("component", "at", "load"),
        ("switch", "mid", None),
        ("tail lamp", "tail", "5 W"),
        ("stop lamp", "tail", "21 W"),
        ("plate lamp", "tail", "5 W"),
        ("horn", "mid", None),
        ("side lamp", "mid", "bright"),  # C7
    ]
    answer = checked(book(tmp_path, Circuits=circuits, Loom=loom, Components=components))
    errors = [(sheet, cell) for sheet, cell, _ in says(answer, "error")]
    assert errors == [
        ("Components", "C7"),
        ("Loom", "D2"),
        ("Loom", "B4"),
        ("Circuits", "E2"),
        ("Circuits", "F3"),
        ("Circuits", "A4"),
        ("Circuits", "G5"),
        ("Circuits", "D6"),
        ("Circuits", "I7"),
        ("Circuits", "I8"),
        ("Circuits", "J9"),
        ("Circuits", "I10"),
    ]


@pytest.mark.parametrize(
    ("rows", "cell", "text", "level"),
    [
        ([("from", "to", "lenght"), ("a", "b", 1)], "C1", "column 'lenght' is not known", "error"),
        ([("from", "to", "my photo"), ("a", "b", 1)], "C1", "is not read", "caution"),
        ([("from", "to", "run", "length"), ("a", "b", 1, 1)], "D1", "a second column", "error"),
        ([("from", "to"), ("a", "b", "stray")], "C2", "a surplus cell", "error"),
        ([("from", "to", "length"), ("a", "b", 13)], "C2", "13 m is longer than", "error"),
        ([("from", "to", "length"), ("a", None, 1)], "B2", "'to' is empty", "error"),
        ([("from", "to", "qty"), ("a", "b", 1.5)], "C2", "not a whole number", "error"),
    ],
)
def test_faults_of_a_sheet(
    tmp_path: Path, rows: list[tuple[Any, ...]], cell: str, text: str, level: str
) -> None:
    """Nothing is dropped in silence."""
    found = [(c, t) for _, c, t in says(checked(book(tmp_path, Circuits=rows)), level)]
    assert any(c == cell and text in t for c, t in found), found


def test_a_long_branch_is_a_caution(tmp_path: Path) -> None:
    """A branch over 3 m is asked about."""
    rows = [("from", "to", "colour"), ("a", "b", "red")]
    loom = [("from", "to", "length"), ("a", "b", 4)]
    found = says(checked(book(tmp_path, Circuits=rows, Loom=loom)), "caution")
    assert ("Loom", "C2", "a branch of 4 m: is that right?") in found


def test_formulas_without_a_result_and_error_values(tmp_path: Path) -> None:
    """Neither is taken for nothing."""
    rows = [
        ("from", "to", "colour", "length"),
        ("a", "b", "red", "=1+1"),
        ("a", "c", "blue", "#N/A"),
    ]
    found = {cell: text for _, cell, text in says(checked(book(tmp_path, Circuits=rows)), "error")}
    assert "never calculated" in found["D2"]
    assert "#N/A" in found["D3"]


def test_an_empty_colour_suggests_the_usual_one(tmp_path: Path) -> None:
    """BS AU 7, practice: dip beam is blue/red, an earth is black."""
    rows = [
        ("circuit", "from", "to", "colour", "length", "load"),
        ("dip beam", "switch", "lamp:1", None, 1, "55 W"),
        ("dip beam", "lamp:2", "frame earth", None, 1, None),
    ]
    path = book(tmp_path, Circuits=rows)
    cures = {p["cell"]: p["try"] for p in checked(path)["problems"] if p["level"] == "error"}
    assert cures == {"D2": "blue/red", "D3": "black"}
    job = open_job(path, suggest_colours=True)
    assert job.sized
    assert [str(entry.wire.colour) for entry in job.sized.wires] == ["blue/red", "black"]
    assert not [problem for problem in job.problems if problem.level == "error"]


# -------------------------------------------------------------------------------- routes


def _way(
    tmp_path: Path, loom: list[tuple[Any, ...]], start: str = "a", finish: str = "d"
) -> list[str]:
    head = ("from", "to", "length", "slack")
    rows = [("from", "to", "colour"), (start, finish, "red")]
    job = open_job(book(tmp_path, Circuits=rows, Loom=[head, *loom]))
    assert job.book
    assert job.sized
    (entry,) = job.sized.wires
    return [str(job.book.branches[index]) for index in entry.loaded.measured.branches]


def test_the_shortest_way(tmp_path: Path) -> None:
    """By measured length, whatever the number of branches."""
    loom = [("a", "d", 1.0, 0), ("a", "b", 0.3, 0), ("b", "d", 0.3, 0)]
    assert _way(tmp_path, loom) == ["a-b", "b-d"]


def test_of_equal_ways_the_one_with_less_slack(tmp_path: Path) -> None:
    """Then the one with fewer branches, then the one that stands first on the sheet."""
    slack = [("a", "b", 0.5, 50), ("b", "d", 0.5, 0), ("a", "c", 0.5, 0), ("c", "d", 0.5, 0)]
    assert _way(tmp_path, slack) == ["a-c", "c-d"]
    fewer = [("a", "b", 0.5, 0), ("b", "d", 0.5, 0), ("a", "d", 1.0, 0)]
    assert _way(tmp_path, fewer) == ["a-d"]
    first = [("c", "d", 0.5, 0), ("a", "c", 0.5, 0), ("b", "d", 0.5, 0), ("a", "b", 0.5, 0)]
    assert _way(tmp_path, first) == ["a-c", "c-d"]


def test_an_own_length_takes_neither_tails_nor_slack(tmp_path: Path) -> None:
    """It still lies in the branches between its ends: 1000 x 1.05 + 2 x 40 = 1130."""
    rows = [("from", "to", "colour", "length"), ("a", "lamp", "red", 1.0)]
    loom = [("from", "to", "length", "slack"), ("a", "b", 0.3, 100)]
    components = [("component", "at", "tail"), ("lamp", "b", 150)]
    job = open_job(book(tmp_path, Circuits=rows, Loom=loom, Components=components))
    assert job.sized
    (entry,) = job.sized.wires
    assert entry.piece_mm == 1130
    assert entry.loaded.measured.branches == (0,)


def test_slack_and_tails_are_added(tmp_path: Path) -> None:
    """300 x 1.05 + 100 slack + 150 tail + 80 = 645 -> 650; at one point the path is 0."""
    rows = [("from", "to", "colour"), ("a", "lamp", "red"), ("lamp:2", "switch", "blue")]
    loom = [("from", "to", "length", "slack"), ("a", "b", 0.3, 100)]
    components = [("component", "at", "tail"), ("lamp", "b", 150), ("switch", "b", 60)]
    job = open_job(book(tmp_path, Circuits=rows, Loom=loom, Components=components))
    assert job.sized
    # 0 + 150 + 60 + 80 = 290
    assert [entry.piece_mm for entry in job.sized.wires] == [650, 290]


def test_a_loom_in_two_parts_and_a_point_that_is_nowhere(tmp_path: Path) -> None:
    """No way and no length is an error at the length; an unknown point at its own cell."""
    rows = [("from", "to", "colour", "length"), ("a", "d", "red", None), ("a", "bb", "blue", None)]
    loom = [("from", "to", "length"), ("a", "b", 0.3), ("c", "d", 0.3)]
    found = says(checked(book(tmp_path, Circuits=rows, Loom=loom)), "error")
    assert ("Circuits", "D2", "no way through the loom from a to d") in found
    assert any(cell == "B3" and "point 'bb'" in text for _, cell, text in found)
