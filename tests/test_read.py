"""Reading job books: every kind of file, every way of writing a cell, every fault with its cell."""

import csv
from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from bom.job import open_job
from bom.show.job_json import takeoff_out
from bom.trade.house import HouseRules
from tests.books import book, checked, says

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
    answers = [takeoff_out(open_job(path))["needs"] for path in paths]
    assert answers[0]
    assert all(answer == answers[0] for answer in answers)
    cables = {need["colour"]: need["pieces_mm"] for need in answers[0] if need["kind"] == "cable"}
    # 500 x 1.05 + 80 = 605; 800 x 1.05 + 150 + 80 = 1070; 1300 x 1.05 + 150 + 80 = 1595
    assert cables == {"brown": [610], "red": [1070], "black": [1600]}


def test_a_single_csv_is_the_circuits_sheet(tmp_path: Path) -> None:
    """With decimal commas and semicolons, as spreadsheets write it in many countries."""
    path = tmp_path / "job.csv"
    path.write_text("from;to;colour;length;load\nbattery;lamp;red;1,5;5 W\n", encoding="cp1252")
    sized = open_job(path).sized
    assert sized is not None
    (entry,) = sized.wires
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


def only_circuits(folder: Path, *rows: tuple[Any, ...]) -> list[Any]:
    """The wires of a book with one sheet, which must read without an error."""
    read = open_job(book(folder, Circuits=rows))
    assert not [problem for problem in read.problems if problem.level == "error"]
    assert read.book is not None
    return list(read.book.wires)


@pytest.mark.parametrize(
    ("heading", "value", "field", "result"),
    [
        # the other headings of design section 3
        ("no", 7, "label", "7"),
        ("label", "7", "label", "7"),
        ("function", "dip beam", "circuit", "dip beam"),
        ("name", "dip beam", "circuit", "dip beam"),
        ("size", 1.5, "gauge", "1.5"),
        ("csa", 1.5, "gauge", "1.5"),
        ("mm2", 1.5, "gauge", "1.5"),
        ("gauge mm2", 1.5, "gauge", "1.5"),
        ("gauge AWG", 18, "gauge", "18 AWG"),
        ("fuse", "None", "fuse", "none"),
        ("from end", "RING  m6", "start_end", "ring M6"),
        ("To End", "bullet", "finish_end", "bullet"),
        ("qty", 2, "qty", 2),
        ("note", "under the tank", "note", "under the tank"),
    ],
)
def test_headings_of_circuits(
    tmp_path: Path, heading: str, value: Any, field: str, result: Any
) -> None:
    """The column by any of its names."""
    head = ("from", "to", "colour", "length", heading)
    (wire,) = only_circuits(tmp_path, head, ("a", "b", "red", 1, value))
    assert getattr(wire, field) == result


@pytest.mark.parametrize(
    ("heading", "value", "amount", "unit"),
    [
        ("load", "55 W", 55, "W"),
        ("load W", 55, 55, "W"),
        ("load (A)", 4, 4, "A"),
        ("watts", 55, 55, "W"),
        ("Amps", 4, 4, "A"),
        ("amps", "48 W", 48, "W"),
        ("watts", "horn", 4, "A"),  # catalogs/loads.csv: 4 A (from memory)
    ],
)
def test_the_unit_of_a_load(
    tmp_path: Path, heading: str, value: Any, amount: int, unit: str
) -> None:
    """The cell's own, else that of the heading: watts and amps give it by their names."""
    head = ("from", "to", "colour", "length", heading)
    (wire,) = only_circuits(tmp_path, head, ("a", "b", "red", 1, value))
    assert (wire.load.amount, wire.load.unit) == (amount, unit)


@pytest.mark.parametrize(
    ("heading", "value", "mm"),
    [
        ("length", 1.2, 1200),
        ("length mm", 1200, 1200),
        ("run", 1.2, 1200),
        ("len", 1.2, 1200),
        ("Len (cm)", 120, 1200),
        ("length in", 50, 1270),  # 50 x 25.4
        ("length mm", "1,2 m", 1200),
        ("length", "3 ft 11 in", Fraction("1193.8")),  # 47 x 25.4
    ],
)
def test_the_unit_of_a_length(tmp_path: Path, heading: str, value: Any, mm: int | Fraction) -> None:
    """The cell's own, then that of the heading, then metres."""
    (wire,) = only_circuits(tmp_path, ("from", "to", "colour", heading), ("a", "b", "red", value))
    assert wire.length_mm == mm


def test_start_and_finish_are_from_and_to(tmp_path: Path) -> None:
    """In any order, on Circuits and on Loom."""
    circuits = [("color", "FINISH", "Start"), ("red", "lamp:1", "battery:+")]
    loom = [("Run", "finish", "start"), (0.5, "lamp", "battery")]
    read = open_job(book(tmp_path, Circuits=circuits, Loom=loom)).book
    assert read
    (wire,) = read.wires
    assert (str(wire.start), str(wire.finish)) == ("battery:+", "lamp:1")
    assert [str(branch) for branch in read.branches] == ["battery-lamp"]


@pytest.mark.parametrize(
    "names", [("CIRCUITS", "loom"), (" circ uits", "Lo om"), ("Circuits", "L oom ")]
)
def test_sheet_names_match_without_regard_to_case_and_spaces(
    tmp_path: Path, names: tuple[str, str]
) -> None:
    """And the owner's own sheets beside them are not spoken of."""
    sheets: dict[str, list[tuple[Any, ...]]] = {
        "Diary": [("rain",)],
        names[1]: [("from", "to", "length"), ("a", "b", 4)],
        names[0]: [("from", "to", "colour"), ("a", "b", "red")],
    }
    answer = checked(book(tmp_path, "job.xlsx", **sheets))
    told = {(p["level"], p["sheet"], p["cell"], p["says"]) for p in answer["problems"]}
    assert ("caution", names[1], "C2", "a branch of 4 m: is that right?") in told
    assert not [level for level, *_ in told if level == "error"]
    assert [wire["wire"] for wire in answer["wires"]] == ["W1"]


def test_names_are_one_without_regard_to_case_and_spaces(tmp_path: Path) -> None:
    """Points, pins and fuses come out in one spelling: that of the first met."""
    read = open_job(
        book(
            tmp_path,
            Circuits=[
                ("from", "to", "colour", "fuse"),
                ("battery:+", "Tail  lamp:Feed\u00a01", "red", "MAIN"),
                ("BATTERY:+", "tail lamp : feed 1", "red", "main"),
            ],
            Components=[("component", "at"), ("tail lamp", "battery")],
            Loom=[("from", "to", "length"), ("battery", "b", 1)],
            Fuses=[("fuse", "rating"), ("Main", "10 A")],
        )
    ).book
    assert read
    assert {(str(w.start), str(w.finish), w.fuse) for w in read.wires} == {
        ("battery:+", "tail lamp:Feed 1", "Main")
    }


@pytest.mark.parametrize("kind", ["job.xlsx", "job.csv"])
def test_a_number_as_a_label_has_no_decimals(tmp_path: Path, kind: str) -> None:
    """1.0 is `1`, from a workbook and from a .csv; 1.1 stays what it is."""
    rows = [("wire", "from", "to", "colour", "length"), (1.0, 2.0, "b", "red", 1.5)]
    rows.append((1.1, 2.0, "c", "red", 1.5))
    path = tmp_path / kind
    if kind == "job.xlsx":
        book(tmp_path, kind, Circuits=rows)
    else:
        with path.open("w", newline="", encoding="utf-8") as stream:
            csv.writer(stream).writerows(rows)
    read = open_job(path).book
    assert read
    assert [(wire.label, str(wire.start)) for wire in read.wires] == [("1", "2"), ("1.1", "2")]


def test_a_blank_label_may_meet_a_typed_one(tmp_path: Path) -> None:
    """W2 is typed on the first wire, and is the second one's by its row."""
    rows: list[tuple[Any, ...]] = [("wire", "from", "to", "colour", "length")]
    rows += [("W2", "p", "q:1", "red", 1), (None, "p", "q:2", "blue", 1)]
    found = says(checked(book(tmp_path, Circuits=rows)), "error")
    assert found == [("Circuits", "A3", "wire label 'W2' is taken: it stands in A2 too")]


@pytest.mark.parametrize(
    ("cells", "coverings"),
    [
        # hidden -> tape; weather -> PVC tube; show -> braid over tube (common practice)
        ([None, "weather", "show"], ["tape", "tube", "braid"]),
        (["HIDDEN", " Weather", "Show"], ["tape", "tube", "braid"]),
    ],
)
def test_a_blank_covering_follows_the_exposure(
    tmp_path: Path, cells: list[str | None], coverings: list[str]
) -> None:
    """And a covering that is typed stays."""
    loom: list[tuple[Any, ...]] = [("from", "to", "length", "exposure", "covering")]
    loom += [("a", f"p{n}", 1, cell, None) for n, cell in enumerate(cells)]
    loom.append(("a", "q", 1, "show", "none"))
    circuits = [("from", "to", "colour"), ("a", "q", "red")]
    read = open_job(book(tmp_path, Circuits=circuits, Loom=loom)).book
    assert read
    assert [branch.covering for branch in read.branches] == [*coverings, "none"]


def test_coverings_by_the_house_rules(tmp_path: Path) -> None:
    """cover_hidden and its sisters say what a blank cell means."""
    (tmp_path / "workshop.toml").write_text('cover_hidden = "tube"\n', encoding="utf-8")
    path = book(
        tmp_path,
        Job=[("cover_show", "none")],
        Circuits=[("from", "to", "colour"), ("a", "b", "red")],
        Loom=[("from", "to", "length", "exposure"), ("a", "b", 1), ("a", "c", 1, "show")],
    )
    read = open_job(path).book
    assert read
    assert [branch.covering for branch in read.branches] == ["tube", "none"]


def _missing(folder: Path) -> Path:
    return folder / "job.xlsx"


def _no_workbook(folder: Path) -> Path:
    path = folder / "job.xlsx"
    path.write_text("from,to\na,b\n", encoding="utf-8")
    return path


def _encrypted(folder: Path) -> Path:
    path = folder / "job.xlsx"
    path.write_bytes(
        bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600)
    )  # a protected book's first bytes
    return path


def _other_kind(folder: Path) -> Path:
    path = folder / "job.pdf"
    path.write_text("%PDF", encoding="utf-8")
    return path


def _no_lists(folder: Path) -> Path:
    (folder / "job").mkdir()
    return folder / "job"


@pytest.mark.parametrize("made", [_missing, _no_workbook, _encrypted, _other_kind, _no_lists])
def test_a_job_that_cannot_be_read_is_one_problem(
    tmp_path: Path, made: Callable[[Path], Path]
) -> None:
    """The file and the reason, and nothing that follows from it."""
    path = made(tmp_path)
    read = open_job(path)
    (problem,) = (p for p in read.problems if p.where.file)
    assert (problem.level, problem.where.file) == ("error", path.name)
    assert read.book is None


def test_a_book_without_circuits_is_told_which_sheets_it_has(tmp_path: Path) -> None:
    """Once, and at the file."""
    path = book(tmp_path, Lists=[("a",)], Diary=[("rain",)])
    answer = [(p["level"], p["cell"], p["says"]) for p in checked(path)["problems"] if p["file"]]
    assert answer == [("error", "", "no sheet Circuits (sheets found: Lists, Diary)")]


def test_blank_labels_count_the_rows_of_wires(tmp_path: Path) -> None:
    """W and the number of the wire's row, counted from 1; blank rows do not count."""
    head = ("wire", "from", "to", "colour", "length")
    rows = [head, ("a", "p", "q:1", "red", 1), (), (None, "p", "q:2", "blue", 1)]
    job = open_job(book(tmp_path, Circuits=rows))
    assert job.book
    assert [wire.label for wire in job.book.wires] == ["a", "W2"]


# ---------------------------------------------------------------------------- house rules


PLAIN = [("from", "to", "colour", "length"), ("a", "b", "red", 1)]


def test_outside_a_workshop_the_built_in_rules_hold_and_that_is_said(tmp_path: Path) -> None:
    """Empty shelf, no prices: a caution, not an error."""
    read = open_job(book(tmp_path, Circuits=PLAIN))
    assert read.rules == HouseRules()
    assert [p.level for p in read.problems if "not in a workshop" in p.says] == ["caution"]


def test_the_nearest_workshop_above_is_the_jobs(tmp_path: Path) -> None:
    """Found by walking up, as git does: one inside another goes before it."""
    (tmp_path / "workshop.toml").write_text("volts = 24\n", encoding="utf-8")
    inner = tmp_path / "inner"
    path = book(inner / "jobs" / "old", Circuits=PLAIN)
    assert open_job(path).rules.volts == 24
    (inner / "workshop.toml").write_text("volts = 6\n", encoding="utf-8")
    assert open_job(path).rules.volts == 6


def test_a_workshops_own_catalogues_are_used(tmp_path: Path) -> None:
    """A load of its own, from its catalogs folder; a fault in it is told with the job's."""
    (tmp_path / "workshop.toml").write_text("", encoding="utf-8")
    (tmp_path / "catalogs").mkdir()
    (tmp_path / "catalogs" / "loads.csv").write_text(
        "load,watts,amps,duty,test_watts,test_volts,source,place\n"
        "sidecar lamp,3,,continuous,,,invented,\n"
        "sidecar horn,loud,,continuous,,,invented,\n",
        encoding="utf-8",
    )
    rows = [("from", "to", "colour", "length", "load"), ("a", "b", "red", 1, "Sidecar Lamp")]
    read = open_job(book(tmp_path / "jobs", Circuits=rows))
    assert read.book and read.book.wires[0].load
    assert read.book.wires[0].load.amount == 3
    errors = [str(p.where) for p in read.problems if p.level == "error"]
    assert errors == ["catalogs/loads.csv › A3"]


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


@pytest.mark.parametrize(
    ("heading", "typed", "shown", "percent"),
    [
        ("doubt", None, "General", "0"),
        ("doubt", 20, "General", "20"),
        ("doubt", "20 %", "General", "20"),
        ("doubt", "12,5%", "General", "12.5"),
        ("Doubt", 0.2, "0%", "20"),  # shown as 20 %
        ("doubt", 0.002, "0.0%", "0.2"),
        ("doubt %", 20, "General", "20"),
        ("doubt %", 0.2, "General", "0.2"),  # the heading says per cent: no second reading
        ("doubt per cent", "0.5", "General", "0.5"),
        ("doubt (%)", 100, "General", "100"),
        ("doubt percent", 0, "General", "0"),
    ],
)
def test_a_doubt_is_in_per_cent(
    tmp_path: Path, heading: str, typed: Any, shown: str, percent: str
) -> None:
    """On Loom, Components and Labour, however it is typed; blank is none."""
    from openpyxl import load_workbook

    path = book(
        tmp_path,
        Circuits=[("from", "to", "colour"), ("a", "b", "red")],
        Loom=[("from", "to", "length", heading), ("a", "b", 1, typed)],
        Components=[("component", "at", "tail", heading), ("lamp", "a", 100, typed)],
        Labour=[("task", "qty", "hours", heading), ("strip", 1, 2, typed)],
    )
    made = load_workbook(path)
    for name in ("Loom", "Components", "Labour"):
        made[name]["D2"].number_format = shown
    made.save(path)
    job = open_job(path).book
    assert job
    rows = (job.branches[0], job.components["lamp"], job.labour[0])
    assert [row.doubt_percent for row in rows] == [Decimal(percent)] * 3


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("a lot", "'a lot' is not a share in per cent"),
        (-5, "-5 % is not between 0 and 100 %"),
        ("120 %", "120 % is not between 0 and 100 %"),
        (0.2, "'0.2' can be read in two ways"),
        ("20 mm", "'20 mm' is not a share in per cent"),
        ("#N/A", "the cell holds #N/A"),
    ],
)
def test_a_faulty_doubt_is_named_with_its_cell(tmp_path: Path, typed: Any, says: str) -> None:
    """One message for each of the three, and nothing else."""
    sheets = {name: [list(row) for row in SOUND[name]] for name in SOUND}
    for name, column in (("Loom", 6), ("Components", 6), ("Labour", 3)):
        sheets[name] = [[*row, *[None] * (column - len(row))] for row in sheets[name]]
        sheets[name][0].append("doubt")
        sheets[name][1].append(typed)
    answer = checked(book(tmp_path, "job.xlsx", **sheets))
    found = {(p["sheet"], p["cell"], p["says"]) for p in answer["problems"] if p["file"]}
    assert found == {("Loom", "G2", says), ("Components", "G2", says), ("Labour", "D2", says)}
    assert len([p for p in answer["problems"] if p["file"]]) == 3


@pytest.mark.parametrize(
    ("key", "value", "rule", "result"),
    [
        ("volts", 6, "volts", 6),
        ("VOLTS", "6 V", "volts", 6),
        ("ambient c", "35 °C", "ambient_c", 35),
        ("ambient_c", -5, "ambient_c", -5),
        ("run_percent", "7,5 %", "run_percent", "7.5"),
        ("run_percent", 5, "run_percent", 5),
        ("end_mm", "4 cm", "end_mm", 40),
        ("step_mm", "5 mm", "step_mm", 5),
        # 2 in x 25.4 = 50.8
        ("end_mm", "2 in", "end_mm", "50.8"),
        ("longest_run_m", "1500 cm", "longest_run_m", 15),
        ("longest_run_m", 15, "longest_run_m", 15),
        ("hourly_rate", "£36", "hourly_rate", 36),
        ("leftover_worth", "50 %", "leftover_worth", "0.5"),
        ("leftover_worth", 0.5, "leftover_worth", "0.5"),
        ("alternator_idle_w", "90 W", "alternator_idle_w", 90),
        ("terminal_spare_percent", 0, "terminal_spare_percent", 0),
    ],
)
def test_figures_of_the_job_sheet(
    tmp_path: Path, key: str, value: Any, rule: str, result: int | str
) -> None:
    """Any house rule by its key, with a unit of its own kind or without one."""
    path = book(tmp_path, Job=[("item", "value"), (key, value)], Circuits=PLAIN)
    answer = open_job(path)
    assert getattr(answer.rules, rule) == Decimal(result)
    assert not [problem for problem in answer.problems if problem.level == "error"]


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("volts", "35 C"),
        ("volts", 0),
        ("volts", True),
        ("end_mm", "40 kg"),
        ("end_mm", "1,200"),
        ("end_mm", -1),
        ("step_mm", 2.5),
        ("run_percent", "5 mm"),
        ("ambient_c", "40 V"),
        ("hourly_rate", -36),
        ("end", "bulet"),
        ("end", 5),
        ("gauges", "1.0; 9"),
        ("floor_gauge", "by eye"),
        ("currency", "pounds"),
        ("cover_show", "gold"),
        ("leftover_worth", 2),
        ("volts", datetime(2026, 3, 4)),
        ("volts", "=6+6"),
    ],
)
def test_faulty_figures_of_the_job_sheet(tmp_path: Path, key: str, value: Any) -> None:
    """One message at the cell of the value, and the rule stays what it was."""
    path = book(tmp_path, Job=[("item", "value"), (key, value)], Circuits=PLAIN)
    answer = open_job(path)
    errors = [str(p.where) for p in answer.problems if p.level == "error"]
    assert errors == ["job.xlsx › Job › B2"]
    assert getattr(answer.rules, key) == getattr(HouseRules(), key)


def test_the_job_sheet_names_the_job(tmp_path: Path) -> None:
    """Its columns in any order, titles above them, notes beside them; blanks say nothing."""
    job_sheet = [
        ("Twin of 1968",),
        ("note", "value", "item"),
        ("as on the frame", 650, "Machine"),
        (None, "twin", "JOB"),
        (None, "B. Sample (invented)", "customer"),
        (None, None, "volts"),
        ("not yet known", None, "hourly rate"),
        (None, "rings first", "note"),
        (None, "pays later", "note"),
    ]
    answer = open_job(book(tmp_path, Job=job_sheet, Circuits=PLAIN))
    assert answer.book
    names = (answer.book.job, answer.book.customer, answer.book.machine)
    assert names == ("twin", "B. Sample (invented)", "650")
    assert answer.rules == HouseRules()
    assert [p for p in answer.problems if p.where.sheet == "Job"] == []


def test_a_job_without_a_job_sheet_has_the_name_of_its_file(tmp_path: Path) -> None:
    """And an empty Job sheet is no Job sheet."""
    for sheets in ({"Circuits": PLAIN}, {"Job": [], "Circuits": PLAIN}):
        assert open_job(book(tmp_path, "twin.xlsx", **sheets)).name == "twin"


@pytest.mark.parametrize(
    ("toml", "place"),
    [
        ("vlots = 6", "workshop.toml › vlots"),
        ("[rules]\nvolts = 6", "workshop.toml › rules"),
        ("volts = true", "workshop.toml › volts"),
        ("volts = nan", "workshop.toml › volts"),
        ("volts = inf", "workshop.toml › volts"),
        ("volts = [6]", "workshop.toml › volts"),
        ("volts = 2026-03-04", "workshop.toml › volts"),
        ("step_mm = 2.5", "workshop.toml › step_mm"),
        ("gauges = [[1]]", "workshop.toml › gauges"),
        ("gauges = [true]", "workshop.toml › gauges"),
        ("gauges = {a = 1}", "workshop.toml › gauges"),
        ("gauges = [9]", "workshop.toml › gauges"),
        ('end = "bulet"', "workshop.toml › end"),
        ("name = 5", "workshop.toml › name"),
        ("volts = ", "workshop.toml"),
        ("volts = 6\nvolts = 12", "workshop.toml"),
        ("\x00", "workshop.toml"),
    ],
)
def test_faults_of_the_house_rules(tmp_path: Path, toml: str, place: str) -> None:
    """Each once, with its key where it has one; the rule stays at its default."""
    (tmp_path / "workshop.toml").write_text(toml, encoding="utf-8")
    answer = open_job(book(tmp_path, Circuits=PLAIN))
    assert [str(p.where) for p in answer.problems if p.level == "error"] == [place]
    assert answer.rules == HouseRules()


@pytest.mark.parametrize(
    ("toml", "gauges"),
    [
        ("gauges = []", ()),
        ('gauges = ["1.0", "18 AWG"]', ("1.0", "18 AWG")),
        ("gauges = [1, 2.5]", ("1.0", "2.5")),
        ("\ufeffgauges = [1]", ("1.0",)),  # saved with a mark at its start
    ],
)
def test_the_sizes_a_shop_keeps(tmp_path: Path, toml: str, gauges: tuple[str, ...]) -> None:
    """In mm2 or AWG, as words or as numbers."""
    (tmp_path / "workshop.toml").write_text(toml, encoding="utf-8")
    answer = open_job(book(tmp_path, Circuits=PLAIN))
    assert answer.rules.gauges == gauges
    assert not [problem for problem in answer.problems if problem.level == "error"]


def test_house_rules_that_are_no_text_are_told(tmp_path: Path) -> None:
    """Bytes that are no letters in UTF-8."""
    (tmp_path / "workshop.toml").write_bytes(b'name = "\xff"')
    answer = open_job(book(tmp_path, Circuits=PLAIN))
    assert [str(p.where) for p in answer.problems if p.level == "error"] == ["workshop.toml"]


def test_faulty_rules_are_named(tmp_path: Path) -> None:
    """An unknown key with its suggestion, a value that is not allowed; both with their place."""
    (tmp_path / "workshop.toml").write_text("run_percnt = 5\nvolts = -12\n")
    path = book(tmp_path, Circuits=[("from", "to", "colour", "length"), ("a", "b", "red", 1)])
    found = {p["cell"]: p["try"] for p in checked(path)["problems"] if p["level"] == "error"}
    assert found == {"run_percnt": "run_percent", "volts": "12, the default"}


# -------------------------------------------------------------------------------- faults


# A machine without a fault: the loom of a small twin, invented for these tests.
SOUND: dict[str, list[tuple[Any, ...]]] = {
    "Job": [("item", "value"), ("job", "twin"), ("volts", 12), ("run_percent", 5)],
    "Circuits": [
        (
            *("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse"),
            *("length", "from end", "to end", "one of", "qty"),
        ),
        (1, "feed", "battery:+", "switch:1", "brown", "2.0", None, "main", None, "ring M6"),
        (2, "tail", "switch:2", "tail lamp:1", "red", "1.0"),
        (3, "stop", "switch:3", "stop lamp:1", "G/P", "1.0"),
        (4, "horn", "switch:4", "horn:1", "purple", "1.0", "4 A"),
        (5, "number plate", "switch:5", "plate lamp:1", "R/B", "1.0"),
        (6, "side", "switch:6", "side lamp:1", "R/W", "1.0", None, None, 0.6),
        (7, "earth", "tail lamp:2", "battery:- 1", "B", "1.0", *(None,) * 4, "ring M6"),
        (8, "earth", "stop lamp:2", "battery:- 2", "B", "1.0", *(None,) * 4, "ring M6"),
        (9, "earth", "horn:2", "battery:- 3", "B", "1.0", *(None,) * 4, "ring M6"),
        (10, "earth", "plate lamp:2", "battery:- 4", "B", "1.0", *(None,) * 4, "ring M6"),
        (11, "earth", "side lamp:2", "battery:- 5", "B", "1.0", *(None,) * 4, "ring M6"),
    ],
    "Loom": [
        ("from", "to", "length m", "exposure", "slack mm", "covering"),
        ("battery", "mid", 0.5, None, None, None),
        ("mid", "tail", 0.8, "weather", 40, None),
        ("mid", "front", 0.6, "show", 60, None),
    ],
    "Components": [
        ("component", "at", "load", "tail mm", "passes", "one of"),
        ("switch", "mid", None, 100, None),
        ("tail lamp", "tail", "5 W", 150, None),
        ("stop lamp", "tail", "21 W", 150, None),
        ("plate lamp", "tail", "5 W", 100, None),
        ("horn", "front", None, 80, None),
        ("side lamp", "front", "4 W", 80, None),
    ],
    "Fuses": [("fuse", "rating", "holder", "spares"), ("main", "15 A", None, None)],
    "Extras": [("item", "qty", "unit", "price"), ("grommet", 4, None, 0.2)],
    "Labour": [("task", "qty", "hours"), ("strip the old loom", 1, 2)],
}


def with_cells(**cells: Any) -> dict[str, list[list[Any]]]:
    """The sound book with other cells: `Circuits_E2="gren"`."""
    made = {name: [list(row) for row in rows] for name, rows in SOUND.items()}
    for place, value in cells.items():
        sheet, cell = place.split("_")
        column, row = ord(cell[0]) - ord("A"), int(cell[1:]) - 1
        made[sheet] += [[] for _ in range(row + 1 - len(made[sheet]))]
        line = made[sheet][row]
        line += [None] * (column + 1 - len(line))
        line[column] = value
    return made


def all_of(path: Path) -> list[tuple[str, str, str]]:
    """Every problem of a book, cautions too, as (level, sheet, cell)."""
    problems = checked(path)["problems"]
    return [(p["level"], p["sheet"], p["cell"]) for p in problems if p["file"]]


def test_a_sound_book_is_silent(tmp_path: Path) -> None:
    """Not a word on a book without a fault, so that what the tests below find is the fault's."""
    assert all_of(book(tmp_path, "job.xlsx", **SOUND)) == []


def test_twelve_mistakes_give_twelve_messages(tmp_path: Path) -> None:
    """Each with its own cell, by file, sheet and cell, and none that follows from another."""
    mistakes = {
        "Circuits_E2": "gren",
        "Circuits_F3": "4 mm",
        "Circuits_A4": 2,
        "Circuits_G5": 4,
        "Circuits_D6": "plate lmp:1",
        "Circuits_I7": 600,
        "Circuits_I8": "1,200",
        "Circuits_K9": "ring M7",
        "Circuits_I10": datetime(2026, 2, 1),
        "Components_C7": "bright",
        "Fuses_B2": "big",
        "Loom_D2": "hiden",
    }
    found = all_of(book(tmp_path, "job.xlsx", **with_cells(**mistakes)))
    assert found == [("error", *place.split("_")) for place in mistakes]


NOT_AVAILABLE = "the cell holds #N/A"
DATE = datetime(2026, 3, 4)


@pytest.mark.parametrize(
    ("place", "value", "says"),
    [
        # cells of Circuits
        ("Circuits_A3", 1, "wire label '1' is taken: it stands in A2 too"),
        ("Circuits_A10", 1, "wire label '1' is taken: it stands in A2 too"),
        ("Circuits_C3", None, "'from' is empty"),
        ("Circuits_C3", "#REF!", "the cell holds #REF!"),
        ("Circuits_C3", ":2", "no point before the colon"),
        ("Circuits_D3", None, "'to' is empty"),
        ("Circuits_E3", None, "'colour' is empty"),
        ("Circuits_E3", "GR", "colour 'GR' may be a body and a trace run together"),
        ("Circuits_E3", "#N/A", NOT_AVAILABLE),
        ("Circuits_F3", "1.1", "gauge '1.1' is not known"),
        ("Circuits_F3", DATE, "the spreadsheet turned this cell into a date"),
        ("Circuits_G3", 5, "load '5' has no unit"),
        ("Circuits_G3", "#N/A", NOT_AVAILABLE),
        ("Circuits_H2", "#N/A", NOT_AVAILABLE),
        ("Circuits_I7", 0, "a length of 0"),
        ("Circuits_I7", -1, "a length of -1 is below zero"),
        ("Circuits_I7", "13 m", "13 m is longer than the longest run of 12 m"),
        ("Circuits_I7", "=0.5+0.1", "the cell holds a formula that was never calculated"),
        ("Circuits_J2", "ring M7", "end style 'ring M7' is not known"),
        ("Circuits_L3", "turn:", "'turn:' is not a word or word:choice"),
        ("Circuits_M3", 1.5, "'1.5' is not a whole number from 1 up"),
        ("Circuits_M3", 0, "'0' is not a whole number from 1 up"),
        ("Circuits_O3", "stray", "a surplus cell: 'stray' stands under no heading"),
        # headings of Circuits
        ("Circuits_I1", "lenght", "column 'lenght' is not known"),
        ("Circuits_E1", "colur", "column 'colur' is not known"),
        ("Circuits_G1", "laod", "column 'laod' is not known"),
        ("Circuits_L1", "gauge", "a second column for 'gauge', which stands in F1 too"),
        # cells of Loom
        ("Loom_C3", None, "'length' is empty"),
        ("Loom_C3", 0, "a length of 0"),
        ("Loom_C3", "0,800", "'0,800' can be read in two ways"),
        ("Loom_C3", 800, "800 m is longer than the longest run of 12 m"),
        ("Loom_C3", DATE, "the spreadsheet turned this cell into a date"),
        ("Loom_B3", None, "'to' is empty"),
        ("Loom_A3", "#N/A", NOT_AVAILABLE),
        ("Loom_D3", "wheather", "exposure 'wheather' is not known"),
        ("Loom_E3", -40, "a length of -40 is below zero"),
        ("Loom_F3", "tap", "covering 'tap' is not known"),
        ("Loom_C1", "lenght m", "column 'lenght m' is not known"),
        # cells of Components
        ("Components_A3", "#N/A", NOT_AVAILABLE),
        ("Components_B3", "tial", "tail lamp sits at 'tial', which is no point of the loom"),
        ("Components_B3", "#N/A", NOT_AVAILABLE),
        ("Components_C2", "bright", "load 'bright' is not known"),
        ("Components_C3", 5, "load '5' has no unit"),
        ("Components_D3", "1,500", "'1,500' can be read in two ways"),
        ("Components_E2", "#N/A", NOT_AVAILABLE),
        ("Components_F3", ":left", "':left' is not a word or word:choice"),
        ("Circuits_C2", "#N/A", NOT_AVAILABLE),
        ("Loom_A1", "form", "no row has the headings 'from' and 'to'"),
        ("Components_A1", "componnt", "no row has the headings 'component'"),
        # the other sheets
        ("Fuses_A2", "#N/A", NOT_AVAILABLE),
        ("Fuses_B2", 0, "a rating of 0 is not above zero"),
        ("Fuses_D2", 0.5, "'0.5' is not a whole number from 0 up"),
        ("Extras_A2", None, "'item' is empty"),
        ("Extras_B2", "some", "'some' is not a number"),
        ("Extras_D2", -1, "-1 is below zero"),
        ("Labour_C2", None, "'hours' is empty"),
        ("Labour_C2", "all day", "'all day' is not a number"),
        ("Job_A3", "vlots", "'vlots' is not an item of the Job sheet"),
        ("Job_A3", "#N/A", NOT_AVAILABLE),
        ("Job_B3", "#N/A", NOT_AVAILABLE),
        ("Job_B3", "twelve", "volts = twelve: must be a number"),
        ("Job_C3", "stray", "a surplus cell: 'stray' stands under no heading"),
    ],
)
def test_one_mistake_one_message(tmp_path: Path, place: str, value: Any, says: str) -> None:
    """At its own cell, and not a word of what follows from it, no caution either."""
    answer = checked(book(tmp_path, "job.xlsx", **with_cells(**{place: value})))
    (problem,) = (p for p in answer["problems"] if p["file"])
    assert (problem["level"], problem["sheet"], problem["cell"]) == ("error", *place.split("_"))
    assert problem["says"].startswith(says)


def test_a_faulty_wire_does_not_hide_that_another_has_no_way(tmp_path: Path) -> None:
    """One bad row never hides another: B2 cannot be read, and no way leads from a to d."""
    circuits = [("from", "to", "colour"), ("a", "#N/A", "red"), ("a", "d", "red")]
    loom = [("from", "to", "length"), ("a", "b", 1), ("c", "d", 1)]
    found = says(checked(book(tmp_path, Circuits=circuits, Loom=loom)), "error")
    assert [cell for _, cell, _ in found] == ["B2", "A3"]
    bare = says(checked(book(tmp_path, Circuits=circuits)), "error")
    assert [cell for _, cell, _ in bare] == ["B2", "A3"]


@pytest.mark.parametrize(
    ("cells", "sheet", "cell", "says"),
    [
        ({"Loom_B5": "mid", "Loom_C5": 1}, "Loom", "A5", "'from' is empty"),
        (
            {"Loom_A5": "Front", "Loom_B5": "mid", "Loom_C5": 1},
            *("Loom", "B5", "a second branch between front and mid"),
        ),
        (
            {"Loom_A5": "tip", "Loom_B5": "tip", "Loom_C5": 1},
            *("Loom", "B5", "a branch from tip to itself"),
        ),
        (
            {"Components_A8": "Tail  LAMP", "Components_B8": "mid"},
            *("Components", "A8", "component 'tail lamp' stands in A3 too"),
        ),
        ({"Job_A5": "volts", "Job_B5": 6}, "Job", "A5", "'volts' stands in A3 too"),
        ({"Job_B5": 6}, "Job", "A5", "'item' is empty"),
        (
            {"Fuses_A3": "MAIN", "Fuses_B3": "20 A"},
            *("Fuses", "A3", "fuse 'MAIN' has a row already"),
        ),
    ],
)
def test_one_row_too_many_one_message(
    tmp_path: Path, cells: dict[str, Any], sheet: str, cell: str, says: str
) -> None:
    """Things that may stand only once, and rows that lack what makes them one."""
    answer = checked(book(tmp_path, "job.xlsx", **with_cells(**cells)))
    (problem,) = (p for p in answer["problems"] if p["file"])
    assert (problem["level"], problem["sheet"], problem["cell"]) == ("error", sheet, cell)
    assert problem["says"] == says


@pytest.mark.parametrize(
    ("cells", "place", "says"),
    [
        ({"Loom_C4": 3.5}, ("Loom", "C4"), "a branch of 3.5 m: is that right?"),
        (
            {"Circuits_N1": "my photo", "Circuits_N2": "17.jpg"},
            *(("Circuits", "N1"), "column 'my photo' is not known and is not read"),
        ),
        (
            {"Job_A5": "frame colour", "Job_B5": "red"},
            *(("Job", "A5"), "'frame colour' is not an item of the Job sheet and is not read"),
        ),
    ],
)
def test_doubts_are_cautions(
    tmp_path: Path, cells: dict[str, Any], place: tuple[str, str], says: str
) -> None:
    """Told, and the work goes on."""
    answer = checked(book(tmp_path, "job.xlsx", **with_cells(**cells)))
    found = [(p["level"], p["sheet"], p["cell"], p["says"]) for p in answer["problems"]]
    assert ("caution", *place, says) in found
    assert not [level for level, *_ in found if level == "error"]


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
