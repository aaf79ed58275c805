"""A covering that the program has never heard of, from a workshop's own `catalogs/` alone.

Cane is wound on with a pitch: on 8 mm, 26 mm on at each turn, it is sqrt((pi x 8)^2 + 26^2) / 26
= 1.39 times as long as what it covers (geometry), so 40 % more.  All its rows are made up.
"""

import json
import re
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from bom.job import find_workshop, open_job
from bom.reckon.bundle import laid
from bom.show.drawing import Stretch, drawn
from bom.trade.catalogue_files import load_catalogue
from bom.trade.house import HouseRules
from bom.workshop.allowances import propose
from bom.workshop.done_file import read_done
from bom.workshop.new_books import new_job
from tests.books import book
from tests.shops import workshop
from tests.test_catalogs_data import CATALOGS
from tests.within import bom

WRAP = "cane wrap, 8 mm bore"
SIZES = (
    "item,covering,width_mm,bore_mm,outside_mm,least_mm,most_mm,shortening_percent,source,place\n"
)
HEADS = (
    "covering,inside,length,waste_percent,group,labour,heat,ends,look,dashes,core,source,place\n"
)
ROW = 'cane wrap,,along,40,"tape, tube and braid",cane wrap,0.2,,dashes,4 2,,invented,\n'
TABLES = {
    "coverings": f'{SIZES}"cane wrap, 4 mm bore",cane wrap,,4,5.6,,,,invented,\n'
    f'"{WRAP}",cane wrap,,8,9.6,,,,invented,\n',
    "labour": "operation,per,minutes,source,place\ncane wrap,metre,4,invented,\n",
    "layers": f"{HEADS}{ROW}taped tube,tube|tape,,,,,,,dots,1 1,,invented,\n",
}


def covered(folder: Path, covering: str = "cane wrap", layers: str = TABLES["layers"]) -> Path:
    """A job of two wires of 1.0 mm2 in a branch of 1 m: 2 x 2.1 = 4.2 mm across."""
    shop = workshop(folder, prices=[("A", WRAP, None, None, "metre", 1, 0.5)])
    (shop / "catalogs").mkdir(exist_ok=True)
    for name, text in {**TABLES, "layers": layers}.items():
        (shop / "catalogs" / f"{name}.csv").write_text(text, encoding="utf-8")
    return book(
        shop / "jobs",
        Job=[("item", "value"), ("hourly_rate", 60)],
        Circuits=[
            ("from", "to", "colour", "gauge", "load", "fuse", "from end", "to end"),
            ("battery:+", "lamp:1", "red", "1.0", "60 W", "none", "bare", "bare"),
            ("lamp:2", "battery:-", "black", "1.0", None, None, "bare", "bare"),
        ],
        Loom=[("from", "to", "length", "covering"), ("battery", "lamp", 1, covering)],
    )


def answer(path: Path, command: str, *more: str) -> dict[str, Any]:
    """What a command says as JSON."""
    done = bom(command, path, *more, "--json", cwd=path.parent)
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def measured(path: Path) -> dict[tuple[str, str], int]:
    """What covers the branch in mm, by kind and item."""
    needs = answer(path, "takeoff")["needs"]
    return {(n["kind"], n["item"]): n["quantity"] for n in needs if n["kind"] != "cable"}


def test_it_is_taken_off_with_its_own_waste(tmp_path: Path) -> None:
    """4.2 x 1.15 = 4.83: the bore of 8; 1000 mm and 40 % are 1400 mm."""
    path = covered(tmp_path)
    assert measured(path) == {("cane wrap", WRAP): 1400}
    why = bom("why", path, WRAP, cwd=tmp_path).stdout
    assert "40 % waste" in why and "1000 mm over 4.2 mm of wires" in why


def test_it_is_bought_priced_and_its_labour_counted(tmp_path: Path) -> None:
    """2 m at 0.50; 1 m at 4 minutes, 60 an hour: 4.00."""
    path = covered(tmp_path)
    assert [(n["item"], n["cost"]) for n in answer(path, "order")["lines"]] == [(WRAP, "1.00")]
    lines = {line["item"]: line for line in answer(path, "quote")["lines"]}
    assert (lines[WRAP]["group"], lines[WRAP]["cost"]) == ("tape, tube and braid", "1.00")
    assert (lines["cane wrap"]["group"], lines["cane wrap"]["price"]) == ("labour", "4.00")
    assert len(answer(path, "cut")["cuts"]) == 2


def test_it_holds_back_heat(tmp_path: Path) -> None:
    """5 A, 19.5 ohm/km x (1 + 0.00393 x 80): 0.6408 W/m in two wires, x 0.2 K m/W: 0.2563 K."""
    path = covered(tmp_path)
    (wrap,) = laid(4.2, "cane wrap", HouseRules(), find_workshop(path.parent).catalogue)
    assert wrap.outside_mm == 9.6
    rises = [
        job.sized.heats[0].rise_k
        for layers in (TABLES["layers"], HEADS + ROW.replace(",0.2,", ",,"))
        if (job := open_job(covered(tmp_path, layers=layers))).sized
    ]
    assert rises[0] - rises[1] == pytest.approx(0.2563, abs=0.0001)


def test_it_has_its_look_on_paper(tmp_path: Path) -> None:
    """And a line at the foot; the drop-down list of a new book offers it."""
    path = covered(tmp_path)
    assert answer(path, "pack", "--out", str(tmp_path / "papers"))
    catalogue = find_workshop(tmp_path).catalogue
    layer = catalogue.layers["cane wrap"]
    branch = Stretch(start="a", finish="b", length_mm=1000, across_mm=5, covering=layer, wires=2)
    sheet = drawn("t", [branch], {}, catalogue.layers.values()).svg
    assert 'stroke-dasharray="4 2"' in sheet and "1000 mm, cane wrap" in sheet
    foot_up = re.findall(r">([^<]*)</text>", sheet)
    assert ", dashes cane wrap, dots taped tube" in " ".join(" ".join(reversed(foot_up)).split())
    made = load_workbook(new_job(tmp_path, "new", catalogue))
    assert "cane wrap" in {cell.value for row in made["Lists"].iter_rows() for cell in row}


def cable_is_spoilt(sheet: Path) -> None:
    """The owner puts the sheet right: a sheet left as it was filled in teaches nothing."""
    workbook = load_workbook(sheet)
    heads, *below = workbook["Used"].iter_rows()
    column = [cell.value for cell in heads].index("spoilt")
    for row in below:
        if row[0].value == "cable":
            row[column].value = 0.1
    workbook.save(sheet)


def test_it_is_learned_from_apart(tmp_path: Path) -> None:
    """`bom done` keeps it under its own word; the house's waste is none of its business."""
    path = covered(tmp_path)
    answer(path, "done")
    cable_is_spoilt(tmp_path / "used" / "job.xlsx")
    answer(path, "done")
    kept = (tmp_path / "done.csv").read_text(encoding="utf-8")
    assert f"job,{date.today()},cane wrap,1,1.4,1,0,m" in kept
    catalogue = find_workshop(tmp_path).catalogue
    records, problems = read_done(tmp_path / "done.csv", catalogue)
    learned = {rule.rule: rule.jobs for rule in propose(records, HouseRules(), catalogue)}
    assert (problems, learned["cable_spare_percent"], learned["covering_waste_percent"]) == (
        (),
        1,
        0,
    )


def test_layers_of_ours_lie_on_one_another(tmp_path: Path) -> None:
    """4.2 x 1.15 = 4.83: tube of 5, 6.0 outside; 19 mm tape at a pitch of 9.5 round 6.13 mm.

    sqrt((pi x 6.13)^2 + 9.5^2) / 9.5 = 2.260; x 1000, and four turns of 19.26, and 10 %: 2571.2.
    """
    path = covered(tmp_path, "taped tube")
    assert measured(path) == {
        ("tape", "loom tape, PVC, 19 mm"): 2572,
        ("tube", "PVC tube, 5 mm bore"): 1100,
    }
    done = {line["item"]: line["quantity"] for line in answer(path, "quote")["lines"]}
    assert (done["wrap"], done["tube"]) == (1, 1)


def test_the_house_may_ask_for_it(tmp_path: Path) -> None:
    """In the weather, as in a cell; a word that has no row is told with those that have."""
    path = covered(tmp_path, "")
    (tmp_path / "workshop.toml").write_text('cover_hidden = "cane wrap"\n', encoding="utf-8")
    assert measured(path) == {("cane wrap", WRAP): 1400}
    (tmp_path / "workshop.toml").write_text('cover_hidden = "leather"\n', encoding="utf-8")
    (told, *_) = open_job(path).problems
    assert told.says.startswith("cover_hidden = leather: must be 'tape', 'tube', 'braid', ")
    assert told.says.endswith(", 'cane wrap' or 'taped tube'")


def test_our_own_rows_say_what_other_tables_know(tmp_path: Path) -> None:
    """Laid over themselves they are looked at as a workshop's are."""
    shutil.copy(CATALOGS / "layers.csv", tmp_path)
    assert load_catalogue(tmp_path)[1] == ()


@pytest.mark.parametrize(
    ("was", "typed", "cell", "says"),
    [
        ("along", "round", "C2", "length 'round' is not known"),
        ("along", "", "C2", "length '' is not known"),
        (",along", "net,along", "B2", "inside 'net' is not known"),
        ("tube and braid", "and braid", "E2", "group 'tape, and braid' is not known"),
        ('",cane wrap', '",sing', "F2", "labour 'sing' is not known"),
        ('",cane wrap', '",crimp', "F2", "labour 'crimp' is not known"),  # not by the metre
        ("0.2,", "0.2,wax", "H2", "ends 'wax' is not known"),
        ("cane wrap,,", "net,,", "A2", "no row of coverings.csv is of 'net' and has a bore_mm"),
        ("along", "helix", "A2", "no row of coverings.csv is of 'cane wrap' and has a width_mm"),
        ("0.2", "warm", "A2", "a figure in this row is no number from 0 up"),
        ("4 2", "4 long", "A2", "a figure in this row is no number from 0 up"),
        ("40", "much", "A2", "a figure in this row is no number from 0 up"),
    ],
)
def test_a_faulty_row_is_told_and_is_no_covering(
    tmp_path: Path, was: str, typed: str, cell: str, says: str
) -> None:
    """With its cell, and the branch that asks for it too: never a KeyError, never another one."""
    assert was in ROW
    path = covered(tmp_path, layers=HEADS + ROW.replace(was, typed))
    done = bom("quote", path, cwd=tmp_path)
    assert done.returncode == 1
    assert f"error: catalogs/layers.csv › {cell}: {says}" in done.stderr
    assert "job.xlsx › Loom › D2: covering 'cane wrap' is not known" in done.stderr


@pytest.mark.parametrize("word", ["cable", "labour", "run", "shrink"])
def test_a_covering_is_called_like_no_other_goods(tmp_path: Path, word: str) -> None:
    """What is a kind of its own elsewhere would be counted as that."""
    path = covered(tmp_path, layers=HEADS + ROW.replace("cane wrap,,", f"{word},,"))
    assert f"'{word}' is a kind of other goods" in [p.says for p in open_job(path).problems]
