"""Reading job books: every kind of file, every way of writing a cell, every fault with its cell."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from bom.job import open_job
from bom.show.job_json import takeoff_out
from bom.trade.house import HouseRules
from bom.trade.problem import Problem
from tests.books import book, checked, says
from tests.test_hostile_laws import InPercent, written

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


def test_every_kind_of_file_reads_the_same(tmp_path: Path) -> None:
    """.xlsx, .xlsm, .ods and a folder of .csv give one take-off."""
    paths = [written(tmp_path, ending, "job", SHEETS) for ending in (".xlsx", ".ods", "")]
    answers = [
        takeoff_out(open_job(path))["needs"]
        for path in (book(tmp_path, "job.xlsm", **SHEETS), *paths)
    ]
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


def errors(problems: Iterable[Problem]) -> list[str]:
    """The places of all errors."""
    return [str(problem.where) for problem in problems if problem.level == "error"]


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
        # the unit of a load: the cell's own, else that of the heading, or of its name
        ("load", "55 W", "load", (55, "W")),
        ("load W", 55, "load", (55, "W")),
        ("load (A)", 4, "load", (4, "A")),
        ("watts", 55, "load", (55, "W")),
        ("Amps", 4, "load", (4, "A")),
        ("amps", "48 W", "load", (48, "W")),
        ("watts", "horn", "load", (4, "A")),  # catalogs/loads.csv: 4 A (from memory)
        # the unit of a length: the cell's own, then that of the heading, then metres
        ("length", 1.2, "length_mm", 1200),
        ("length mm", 1200, "length_mm", 1200),
        ("run", 1.2, "length_mm", 1200),
        ("len", 1.2, "length_mm", 1200),
        ("Len (cm)", 120, "length_mm", 1200),
        ("length in", 50, "length_mm", 1270),  # 50 x 25.4
        ("length mm", "1,2 m", "length_mm", 1200),
        ("length", "3 ft 11 in", "length_mm", Fraction("1193.8")),  # 47 x 25.4
    ],
)
def test_circuit_headings(
    tmp_path: Path, heading: str, value: Any, field: str, result: Any
) -> None:
    """The column by any of its names, with the units of its cells."""
    length = () if field == "length_mm" else ("length",)
    head = ("from", "to", "colour", heading, *length)
    read = open_job(book(tmp_path, Circuits=[head, ("a", "b", "red", value, 1)[: len(head)]]))
    assert read.book and not errors(read.problems)
    (wire,) = read.book.wires
    found = getattr(wire, field)
    assert ((found.amount, found.unit) if field == "load" else found) == result


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
def test_sheet_names_match_whatever_their_case(tmp_path: Path, names: tuple[str, str]) -> None:
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


@pytest.mark.parametrize("ending", [".xlsx", ".csv"])
def test_a_number_as_a_label_has_no_decimals(tmp_path: Path, ending: str) -> None:
    """1.0 is `1`, from a workbook and from a .csv; 1.1 stays what it is."""
    head = ("wire", "from", "to", "colour", "length")
    rows = [head, (1.0, 2.0, "b", "red", 1.5), (1.1, 2.0, "c", "red", 1.5)]
    read = open_job(written(tmp_path, ending, "job", {"Circuits": rows})).book
    assert read
    assert [(wire.label, str(wire.start)) for wire in read.wires] == [("1", "2"), ("1.1", "2")]


def test_blank_labels_count_the_rows_of_wires(tmp_path: Path) -> None:
    """W and the number of the wire's row, counted from 1, without blank rows; one may be taken."""
    head = ("wire", "from", "to", "colour", "length")
    rows = [head, ("a", "p", "q:1", "red", 1), (), (None, "p", "q:2", "blue", 1)]
    job = open_job(book(tmp_path, Circuits=rows)).book
    assert job and [wire.label for wire in job.wires] == ["a", "W2"]
    rows[1] = ("W2", *rows[1][1:])
    found = says(checked(book(tmp_path, Circuits=rows)), "error")
    assert found == [("Circuits", "A4", "wire label 'W2' is taken: it stands in A2 too")]


@pytest.mark.parametrize(
    ("cells", "toml", "job", "coverings"),
    [
        # hidden -> tape; weather -> PVC tube; show -> braid over tube (common practice)
        ([None, "weather", "show"], "", (), ["tape", "tube", "braid"]),
        (["HIDDEN", " Weather", "Show"], "", (), ["tape", "tube", "braid"]),
        # the house rules say what a blank cell means
        ([None, "show"], 'cover_hidden = "tube"', ("cover_show", "none"), ["tube", "none"]),
    ],
)
def test_a_blank_covering_follows_the_exposure(
    tmp_path: Path, cells: list[str | None], toml: str, job: Any, coverings: list[str]
) -> None:
    """And a covering that is typed stays."""
    (tmp_path / "workshop.toml").write_text(toml, encoding="utf-8")
    loom: list[tuple[Any, ...]] = [("from", "to", "length", "exposure", "covering")]
    loom += [("a", f"p{n}", 1, cell, None) for n, cell in enumerate(cells)]
    loom.append(("a", "q", 1, "show", "none"))
    circuits = [("from", "to", "colour"), ("a", "q", "red")]
    read = open_job(book(tmp_path, Job=[job], Circuits=circuits, Loom=loom)).book
    assert read
    assert [branch.covering for branch in read.branches] == [*coverings, "none"]


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("job.xlsx", None),
        ("job.xlsx", b"from,to\na,b\n"),
        ("job.xlsx", bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600)),  # as a protected book begins
        ("job.pdf", b"%PDF"),
        ("job/note.txt", b"no list"),
    ],
)
def test_a_job_that_is_none_is_one_problem(tmp_path: Path, name: str, data: bytes | None) -> None:
    """The file and the reason, and nothing that follows from it."""
    path = tmp_path / name.partition("/")[0]
    if data is not None:
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(data)
    read = open_job(path)
    (problem,) = (p for p in read.problems if p.where.file)
    assert (problem.level, problem.where.file) == ("error", path.name)
    assert read.book is None


def test_a_book_without_circuits_is_told_which_sheets_it_has(tmp_path: Path) -> None:
    """Once, and at the file."""
    path = book(tmp_path, Lists=[("a",)], Diary=[("rain",)])
    answer = [(p["level"], p["cell"], p["says"]) for p in checked(path)["problems"] if p["file"]]
    assert answer == [
        ("error", "", "no sheet has the headings of Circuits (sheets found: Lists, Diary)")
    ]


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
    assert errors(read.problems) == ["catalogs/loads.csv › A3"]


def test_house_rules_from_file_and_job_sheet(tmp_path: Path) -> None:
    """workshop.toml is found by walking up; the Job sheet overrides it for one job."""
    (tmp_path / "workshop.toml").write_text("run_percent = 7.5\nambient_c = 50\n")
    job_sheet = [("job", "x"), ("Ambient_C", "35 C"), ("gauges", "1.0; 2,0"), ("end", "bullet")]
    rules = open_job(book(tmp_path / "jobs" / "deep", Job=job_sheet, Circuits=PLAIN)).rules
    assert (rules.run_percent, rules.ambient_c) == (Decimal("7.5"), Decimal(35))
    assert (rules.gauges, rules.end) == (("1.0", "2.0"), "bullet")


def test_a_per_cent_cell_is_the_per_cent(tmp_path: Path) -> None:
    """5 % typed into a spreadsheet is stored as 0.05, and means 5."""
    sheets: dict[str, Any] = {"Job": [("run_percent", InPercent(0.05))], "Circuits": PLAIN}
    assert open_job(written(tmp_path, ".xlsx", "job", sheets)).rules.run_percent == 5


@pytest.mark.parametrize(
    ("heading", "typed", "percent"),
    [
        ("doubt", None, "0"),
        ("doubt", 20, "20"),
        ("doubt", "20 %", "20"),
        ("doubt", "12,5%", "12.5"),
        ("Doubt", InPercent(0.2), "20"),
        ("doubt", InPercent(0.002), "0.2"),
        ("doubt %", 20, "20"),
        ("doubt %", 0.2, "0.2"),  # the heading says per cent: no second reading
        ("doubt per cent", "0.5", "0.5"),
        ("doubt (%)", 100, "100"),
        ("doubt percent", 0, "0"),
    ],
)
def test_a_doubt_is_in_per_cent(tmp_path: Path, heading: str, typed: Any, percent: str) -> None:
    """On Loom, Components and Labour, however it is typed; blank is none."""
    sheets: dict[str, Any] = {
        "Circuits": [("from", "to", "colour"), ("a", "b", "red")],
        "Loom": [("from", "to", "length", heading), ("a", "b", 1, typed)],
        "Components": [("component", "at", "tail", heading), ("lamp", "a", 100, typed)],
        "Labour": [("task", "qty", "hours", heading), ("strip", 1, 2, typed)],
    }
    job = open_job(written(tmp_path, ".xlsx", "job", sheets)).book
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
def test_job_sheet_figures(
    tmp_path: Path, key: str, value: Any, rule: str, result: int | str
) -> None:
    """Any house rule by its key, with a unit of its own kind or without one."""
    answer = open_job(book(tmp_path, Job=[("item", "value"), (key, value)], Circuits=PLAIN))
    assert getattr(answer.rules, rule) == Decimal(result)
    assert not errors(answer.problems)


FAULTY: dict[str, tuple[Any, ...]] = {
    "volts": ("35 C", 0, True, datetime(2026, 3, 4), "=6+RAND()"),
    "end_mm": ("40 kg", "1,200", -1),
    "step_mm": (2.5,),
    "run_percent": ("5 mm",),
    "ambient_c": ("40 V",),
    "hourly_rate": (-36,),
    "end": ("bulet", 5),
    "gauges": ("1.0; 9",),
    "floor_gauge": ("by eye",),
    "currency": ("pounds",),
    "cover_show": ("gold",),
    "leftover_worth": (2,),
}


@pytest.mark.parametrize(("key", "value"), [(key, v) for key in FAULTY for v in FAULTY[key]])
def test_faulty_figures_of_the_job_sheet(tmp_path: Path, key: str, value: Any) -> None:
    """One message at the cell of the value, and the rule stays what it was."""
    answer = open_job(book(tmp_path, Job=[("item", "value"), (key, value)], Circuits=PLAIN))
    assert errors(answer.problems) == ["job.xlsx › Job › B2"]
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
    ("toml", "keys"),
    [
        ("vlots = 6", "vlots"),
        ("[rules]\nvolts = 6", "rules"),
        ("volts = true", "volts"),
        ("volts = nan", "volts"),
        ("volts = inf", "volts"),
        ("volts = [6]", "volts"),
        ("volts = 2026-03-04", "volts"),
        ("run_percnt = 5\nvolts = -12", "run_percnt volts"),
        ("step_mm = 2.5", "step_mm"),
        ("gauges = [[1]]", "gauges"),
        ("gauges = [true]", "gauges"),
        ("gauges = {a = 1}", "gauges"),
        ("gauges = [9]", "gauges"),
        ('end = "bulet"', "end"),
        ("name = 5", "name"),
        # no TOML, and bytes that are no letters in UTF-8
        ("volts = ", ""),
        ("volts = 6\nvolts = 12", ""),
        ("\x00", ""),
        ('name = "\udcff"', ""),
    ],
)
def test_faults_of_the_house_rules(tmp_path: Path, toml: str, keys: str) -> None:
    """Each once, with its key where it has one; the rule stays at its default."""
    (tmp_path / "workshop.toml").write_text(toml, encoding="utf-8", errors="surrogateescape")
    answer = open_job(book(tmp_path, Circuits=PLAIN))
    places = [f"workshop.toml › {key}" for key in keys.split()] or ["workshop.toml"]
    assert sorted(errors(answer.problems)) == places
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
    assert not errors(answer.problems)


def test_faulty_rules_have_a_cure(tmp_path: Path) -> None:
    """The nearest key, and the default."""
    (tmp_path / "workshop.toml").write_text("run_percnt = 5\nvolts = -12\n")
    problems = checked(book(tmp_path, Circuits=PLAIN))["problems"]
    found = {p["cell"]: p["try"] for p in problems if p["level"] == "error"}
    assert found == {
        "run_percnt": "run_percent",
        "volts": "12, the default; above 0 to 120 is allowed",
    }


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


MISTAKES = (
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
    ("Circuits_I7", "=RAND()", "the cell holds a formula without a result"),
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
    ("Loom_C3", "1,800", "'1,800' can be read in two ways"),
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
)
"""A cell of the sound book, what is typed there, and what is said of it."""

TOGETHER: tuple[tuple[str, str, str, dict[str, Any]], ...] = (
    # things that may stand only once, and rows that lack what makes them one
    ("error", "Loom_A5", "'from' is empty", {"B5": "mid", "C5": 1}),
    ("error", "Loom_B5", "a second branch between", {"A5": "Front", "B5": "mid", "C5": 1}),
    ("error", "Loom_B5", "a branch from tip to itself", {"A5": "tip", "B5": "tip", "C5": 1}),
    ("error", "Components_A8", "component 'tail lamp' ", {"A8": "Tail  LAMP", "B8": "mid"}),
    ("error", "Job_A5", "'volts' stands in A3 too", {"A5": "volts", "B5": 6}),
    ("error", "Job_A5", "'item' is empty", {"B5": 6}),
    ("error", "Fuses_A3", "fuse 'MAIN' has a row already", {"A3": "MAIN", "B3": "20 A"}),
    # doubts are cautions, and the work goes on
    ("caution", "Loom_C4", "a branch of 3.5 m: is that right?", {"C4": 3.5}),
    ("caution", "Circuits_N1", "column 'my photo' is not", {"N1": "my photo", "N2": "17.jpg"}),
    ("caution", "Job_A5", "'frame colour' is not an item", {"A5": "frame colour", "B5": "red"}),
)
"""Level and cell of what is said, and the cells of that sheet that make it so."""


@pytest.mark.parametrize(
    ("level", "place", "says", "cells"),
    [*(("error", at, says, {at.split("_")[1]: v}) for at, v, says in MISTAKES), *TOGETHER],
)
def test_one_message(
    tmp_path: Path, level: str, place: str, says: str, cells: dict[str, Any]
) -> None:
    """At its own cell, and not a word of what follows from it, no caution either."""
    sheet, at = place.split("_")
    changed = with_cells(**{f"{sheet}_{cell}": value for cell, value in cells.items()})
    answer = checked(book(tmp_path, "job.xlsx", **changed))
    (problem,) = (p for p in answer["problems"] if p["file"])
    assert (problem["level"], problem["sheet"], problem["cell"]) == (level, sheet, at)
    assert problem["says"].startswith(says)


def test_a_faulty_wire_does_not_hide_that_another_has_no_way(tmp_path: Path) -> None:
    """One bad row never hides another: B2 cannot be read, and no way leads from a to d."""
    circuits = [("from", "to", "colour"), ("a", "#N/A", "red"), ("a", "d", "red")]
    loom = [("from", "to", "length"), ("a", "b", 1), ("c", "d", 1)]
    found = says(checked(book(tmp_path, Circuits=circuits, Loom=loom)), "error")
    assert [cell for _, cell, _ in found] == ["B2", "A3"]
    bare = says(checked(book(tmp_path, Circuits=circuits)), "error")
    assert [cell for _, cell, _ in bare] == ["B2", "A3"]


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
    assert not errors(job.problems)
