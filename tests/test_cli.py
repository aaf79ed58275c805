"""The command line: keys, exit codes, streams, and what help costs."""

import json
from decimal import Decimal
from pathlib import Path

import pytest
from openpyxl import load_workbook

from bom.files.sheet import read_book
from tests.office import converted
from tests.within import JOBS, SAMPLES, bom

# design section 4: the keys that outside readers depend on, and those of a row
KEYS = {
    "takeoff": "job needs problems",
    "cut": "cuts offcuts short proved problems",
    "order": "lines postage total proved bound unpriced on_order placed problems",
    "quote": "lines materials labour net tax total range complete problems given",
    "check": "problems wires",
}
TOP_KEYS = {command: set(keys.split()) for command, keys in KEYS.items()}
ROW_KEYS = {
    ("takeoff", "needs"): "kind item gauge colour quantity unit pieces_mm spare_mm for",
    ("cut", "cuts"): "wire gauge colour length_mm from to from_end to_end piece new",
    ("order", "lines"): "supplier item gauge colour sold_as pack packs price cost for",
    ("quote", "lines"): "group item quantity unit cost price",
    ("check", "wires"): "wire gauge amps rated_amps fuse drop_volts drop_percent",
}


@pytest.mark.parametrize("job", SAMPLES)
@pytest.mark.parametrize("command", TOP_KEYS)
def test_json_has_exactly_the_keys_of_the_contract(command: str, job: str) -> None:
    """Stdout is JSON alone, with the keys of the design and no others."""
    done = bom(command, JOBS / f"{job}.xlsx", "--json")
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    assert set(answer) == TOP_KEYS[command]
    for (owner, rows), keys in ROW_KEYS.items():
        if owner == command:
            assert answer[rows]
            assert all(set(row) == set(keys.split()) for row in answer[rows])


@pytest.mark.parametrize("job", SAMPLES)
def test_sums_of_a_sample_agree(job: str) -> None:
    """Quote lines sum to its total, order lines and postage to theirs."""
    quote = json.loads(bom("quote", JOBS / f"{job}.xlsx", "--json").stdout)
    prices = sum(Decimal(line["price"]) for line in quote["lines"])
    assert prices == Decimal(quote["net"])
    assert Decimal(quote["net"]) + Decimal(quote["tax"]) == Decimal(quote["total"])
    assert quote["complete"]
    order = json.loads(bom("order", JOBS / f"{job}.xlsx", "--json").stdout)
    costs = sum(Decimal(line["cost"]) for line in order["lines"])
    assert costs + Decimal(order["postage"]) == Decimal(order["total"])
    assert Decimal(order["bound"]) <= Decimal(order["total"])


def test_errors_go_to_stderr_and_into_the_json(tmp_path: Path) -> None:
    """Exit 1; nothing else on stdout, and with --json the answer keeps its keys."""
    book = tmp_path / "job.csv"
    book.write_text("from,to,colour,length,load\nbattery,lamp,gren,1,5 W\n")
    done = bom("takeoff", book)
    assert (done.returncode, done.stdout) == (1, "")
    assert "error: job.csv › Circuits › C2: colour 'gren' is not known\n" in done.stderr
    done = bom("quote", book, "--json")
    assert done.returncode == 1
    answer = json.loads(done.stdout)
    assert set(answer) == TOP_KEYS["quote"]
    found = [(p["level"], p["cell"], p["try"]) for p in answer["problems"]]
    assert ("error", "C2", "green") in found


@pytest.mark.parametrize("command", ["check", "takeoff", "cut", "order", "quote"])
def test_wrong_usage_is_exit_two(command: str) -> None:
    """No job book, or an option that does not exist, is wrong usage."""
    assert bom(command).returncode == 2
    assert bom(command, JOBS / "twin.xlsx", "--no-such-option").returncode == 2


def test_a_job_is_found_by_its_name_inside_a_workshop() -> None:
    done = bom("takeoff", "twin", "--json", cwd=JOBS.parent)
    assert done.returncode == 0
    assert json.loads(done.stdout)["needs"]


def test_several_jobs_share_one_order() -> None:
    """One order for three jobs pays each supplier's postage once at the most."""
    paths = [JOBS / f"{job}.xlsx" for job in SAMPLES]
    together = json.loads(bom("order", *paths, "--json").stdout)
    alone = [json.loads(bom("order", path, "--json").stdout) for path in paths]
    assert float(together["postage"]) <= sum(float(order["postage"]) for order in alone)
    assert {job for line in together["lines"] for job in line["for"]} > set()


MINE = ("workshop.toml", "stock/Drawer.csv", "catalogs/loads.csv")


@pytest.mark.parametrize("name", [*MINE, "jobs/old/Circuits.csv"])
def test_no_list_is_written_over_a_file_of_the_workshop(name: str, tmp_path: Path) -> None:
    """A book that is a folder of .csv is as safe as a workbook, and so are rules and catalogs."""
    circuits = "from,to,colour,load,length\nbattery:1,lamp:1,red,5 W,1\nlamp:2,battery:2,black,,1\n"
    texts = {**dict.fromkeys(MINE, ""), "jobs/old/Circuits.csv": circuits}
    for each, text in texts.items():
        (tmp_path / each).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / each).write_text(text)
    done = bom("takeoff", "old", "--csv", name, cwd=tmp_path)
    assert f"error: {name} is a book of the workshop and is left as it is" in done.stderr
    assert (tmp_path / name).read_text() == texts[name]


def test_why_answers_for_a_wire_and_for_an_item() -> None:
    """A label or an item gives sentences with figures; anything else is wrong usage."""
    answer = json.loads(bom("takeoff", JOBS / "twin.xlsx", "--json").stdout)
    need = answer["needs"][0]
    assert "piece" in bom("why", JOBS / "twin.xlsx", need["for"][0]).stdout
    assert "spare" in bom("why", JOBS / "twin.xlsx", need["item"]).stdout
    assert bom("why", JOBS / "twin.xlsx", "no such thing").returncode == 2


def test_stock_and_topup_work_in_a_workshop() -> None:
    """The shelf is shown and what is low is listed in packs."""
    shown = json.loads(bom("stock", "show", "--json", cwd=JOBS.parent).stdout)
    low = {
        row["item"]
        for row in shown["drawer"]
        if row["low"] is not None and row["on_hand"] < row["low"]
    }
    listed = json.loads(bom("topup", "--json", cwd=JOBS.parent).stdout)
    assert {line["item"] for line in listed["lines"]} == low


def test_the_customers_sheet_tells_no_cost() -> None:
    """No cost, no markup and no supplier stand on what the customer sees."""
    done = bom("quote", JOBS / "twin.xlsx", "--customer")
    assert done.returncode == 0
    for word in ("cost", "markup", "Example Cable", "Example Motor", "Example Terminal"):
        assert word not in done.stdout
    assert "TOTAL" in done.stdout


def test_new_workshop_then_quote(tmp_path: Path) -> None:
    """From nothing to a quote in two commands; nothing is overwritten."""
    shop = tmp_path / "shop"
    assert bom("new", "workshop", shop).returncode == 0
    done = bom("quote", shop / "jobs" / "example.xlsx", "--json")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["complete"]
    assert bom("new", "workshop", shop).returncode == 1
    assert bom("new", "job", "mine", cwd=shop).returncode == 0
    assert bom("new", "job", "mine", cwd=shop).returncode == 1
    assert (shop / "jobs" / "mine.xlsx").is_file()


@pytest.mark.libreoffice
@pytest.mark.slow
def test_the_estimate_recomputes_in_a_spreadsheet(tmp_path: Path) -> None:
    """Without stored results LibreOffice finds the same total, and follows a changed price."""
    made = tmp_path / "quote.xlsx"
    answer = json.loads(bom("quote", JOBS / "single.xlsx", "--json", "--xlsx", made).stdout)
    book = load_workbook(made)  # saving through openpyxl drops every stored result
    sheet = book.worksheets[0]
    for extra, name in ((0, "same.xlsx"), (100, "changed.xlsx")):
        sheet["F2"] = float(answer["lines"][0]["price"]) + extra
        book.save(made)
        found = _labelled(converted(made.read_bytes(), name, tmp_path, "ods"))
        net = float(answer["net"]) + extra
        assert found["net"] == pytest.approx(net)
        assert found["TOTAL"] == pytest.approx(net + round(net * 0.20 + 1e-9, 2))


def _labelled(path: Path) -> dict[str, float]:
    """The values under a table by their labels."""
    book, problems = read_book(path)
    assert book, problems
    found = {}
    for row in book.sheets[0].rows:
        filled = [cell for cell in row if cell is not None]
        if len(filled) == 2 and isinstance(filled[0], str) and isinstance(filled[1], Decimal):
            found[filled[0]] = float(filled[1])
    return found


def test_books_outside_a_workshop_are_not_written_over(tmp_path: Path) -> None:
    """Neither the job book itself nor what looks like a stock book beside it."""
    book, stock = tmp_path / "job.csv", tmp_path / "stock.xlsx"
    book.write_text("from,to,colour,length,load\nbattery,lamp,red,1,5 W\n")
    stock.write_bytes(b"mine")
    for option, path in (("--csv", book), ("--xlsx", stock)):
        before = path.read_bytes()
        assert bom("takeoff", book, option, path).returncode == 1
        assert path.read_bytes() == before


def test_a_folder_that_cannot_be_made_is_one_clear_line(tmp_path: Path) -> None:
    """A file where the folder belongs, a name beyond what a disk takes, no name at all."""
    (tmp_path / "file").write_bytes(b"mine")
    shop = tmp_path / "shop"
    assert bom("new", "workshop", shop).returncode == 0
    for words, cwd in (
        (("new", "workshop", tmp_path / "file" / "shop"), tmp_path),
        (("new", "job", "x" * 300), shop),
        (("new", "job", ""), shop),
    ):
        done = bom(*words, cwd=cwd)
        assert done.returncode == 1
        assert "error: " in done.stderr
        assert "Traceback" not in done.stderr
