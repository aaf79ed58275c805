"""The command line: keys, exit codes, streams, and what help costs."""

import json
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
JOBS = ROOT / "sample_projects" / "workshop" / "jobs"
SAMPLES = ("single", "twin", "carrier")

# design section 4: the keys that outside readers depend on
TOP_KEYS = {
    "takeoff": {"job", "needs", "problems"},
    "cut": {"cuts", "offcuts", "short", "proved", "problems"},
    "order": {"lines", "postage", "total", "proved", "bound", "unpriced", "problems"},
    "quote": {
        "lines",
        "materials",
        "labour",
        "net",
        "tax",
        "total",
        "range",
        "complete",
        "problems",
    },
    "check": {"problems", "wires"},
}
ROW_KEYS = {
    ("takeoff", "needs"): {
        "kind", "item", "gauge", "colour", "quantity", "unit", "pieces_mm", "spare_mm", "for",
    },
    ("cut", "cuts"): {
        "wire", "gauge", "colour", "length_mm", "from", "to", "from_end", "to_end", "piece", "new",
    },
    ("order", "lines"): {
        "supplier", "item", "gauge", "colour", "sold_as", "pack", "packs", "price", "cost", "for",
    },
    ("quote", "lines"): {"group", "item", "quantity", "unit", "cost", "price"},
    ("check", "wires"): {
        "wire", "gauge", "amps", "rated_amps", "fuse", "drop_volts", "drop_percent",
    },
}  # fmt: skip


def bom(*args: object, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """Run the program as a user does."""
    return subprocess.run(
        [sys.executable, "-m", "bom.cli", *map(str, args)],
        cwd=cwd,
        capture_output=True,
        encoding="utf-8",
        check=False,
        env={"PYTHONPATH": str(ROOT), "PATH": "", "NO_COLOR": "1", "COLUMNS": "120"},
    )


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
            assert all(set(row) == keys for row in answer[rows])


@pytest.mark.parametrize("job", SAMPLES)
def test_sums_of_a_sample_agree(job: str) -> None:
    """Quote lines sum to its total, order lines and postage to theirs."""
    from decimal import Decimal

    quote = json.loads(bom("quote", JOBS / f"{job}.xlsx", "--json").stdout)
    prices = sum(Decimal(line["price"]) for line in quote["lines"])
    assert prices == Decimal(quote["net"])
    assert Decimal(quote["net"]) + Decimal(quote["tax"]) == Decimal(quote["total"])
    assert quote["complete"]
    order = json.loads(bom("order", JOBS / f"{job}.xlsx", "--json").stdout)
    costs = sum(Decimal(line["cost"]) for line in order["lines"])
    assert costs + Decimal(order["postage"]) == Decimal(order["total"])
    assert Decimal(order["bound"]) <= Decimal(order["total"])


def test_errors_go_to_stderr_with_exit_one(tmp_path: Path) -> None:
    """A wrong cell is named on stderr; nothing is printed on stdout."""
    book = tmp_path / "job.csv"
    book.write_text("from,to,colour,length,load\nbattery,lamp,gren,1,5 W\n")
    done = bom("takeoff", book)
    assert done.returncode == 1
    assert done.stdout == ""
    assert "job.csv › Circuits › C2: colour 'gren' is not known" in done.stderr
    assert "try: green" in done.stderr
    assert "Traceback" not in done.stderr


def test_errors_are_in_the_json_too(tmp_path: Path) -> None:
    """With --json the answer keeps its keys and holds the problems."""
    book = tmp_path / "job.csv"
    book.write_text("from,to,colour,length,load\nbattery,lamp,gren,1,5 W\n")
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


def _bomb(path: Path) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("[Content_Types].xml", "<Types/>")
        with book.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part:
            for _ in range(1024):
                part.write(b"\0" * 1024 * 1024)


@pytest.mark.parametrize("kind", ["missing", "not a workbook", "encrypted", "bomb"])
def test_a_file_that_cannot_be_read_is_one_clear_line(kind: str, tmp_path: Path) -> None:
    """One error, no traceback, nothing on stdout."""
    path = tmp_path / "job.xlsx"
    if kind == "not a workbook":
        path.write_bytes(b"this is no workbook")
    elif kind == "encrypted":
        path.write_bytes(bytes.fromhex("d0cf11e0a1b11ae1") + bytes(512))
    elif kind == "bomb":
        _bomb(path)
    done = bom("order", path)
    errors = [line for line in done.stderr.splitlines() if line.startswith("error: ")]
    assert done.returncode == 1
    assert len(errors) == 1
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


def test_a_job_is_found_by_its_name_inside_a_workshop() -> None:
    """In a workshop folder the book's bare name will do."""
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


def test_one_job_twice_cannot_share_an_order() -> None:
    """On the lists the two could not be told apart."""
    done = bom("order", JOBS / "twin.xlsx", JOBS / "twin.xlsx")
    assert done.returncode == 1
    assert "'twin' is named twice" in done.stderr


@pytest.mark.parametrize(
    "name", ["stock/Drawer.csv", "workshop.toml", "catalogs/loads.csv", "jobs/old/Circuits.csv"]
)
def test_no_list_is_written_over_a_file_of_the_workshop(name: str, tmp_path: Path) -> None:
    """A book that is a folder of .csv is as safe as a workbook, and so are rules and catalogs."""
    for each in ("workshop.toml", "stock/Drawer.csv", "catalogs/loads.csv"):
        (tmp_path / each).parent.mkdir(exist_ok=True)
        (tmp_path / each).touch()
    (tmp_path / "jobs" / "old").mkdir(parents=True)
    circuits = "from,to,colour,load,length\nbattery:1,lamp:1,red,5 W,1\nlamp:2,battery:2,black,,1\n"
    (tmp_path / "jobs" / "old" / "Circuits.csv").write_text(circuits)
    before = (tmp_path / name).read_text()
    done = bom("takeoff", "old", "--csv", name, cwd=tmp_path)
    assert f"error: {name} is a book of the workshop and is left as it is" in done.stderr
    assert (tmp_path / name).read_text() == before


@pytest.mark.parametrize("command", ["check", "takeoff", "cut", "order", "quote"])
def test_lists_are_written_to_xlsx_and_csv(command: str, tmp_path: Path) -> None:
    """The files asked for are there and can be read back."""
    from bom.files.sheet import read_book

    xlsx, csv = tmp_path / "out.xlsx", tmp_path / "out.csv"
    done = bom(command, JOBS / "twin.xlsx", "--xlsx", xlsx, "--csv", csv)
    assert done.returncode == 0, done.stderr
    for path in (xlsx, csv):
        book, problems = read_book(path)
        assert book is not None
        assert not problems
        assert len(book.sheets[0].rows) > 10


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
def test_the_estimate_recomputes_in_a_spreadsheet(tmp_path: Path) -> None:
    """Without stored results LibreOffice finds the same total, and follows a changed price."""
    from openpyxl import load_workbook

    made = tmp_path / "quote.xlsx"
    answer = json.loads(bom("quote", JOBS / "single.xlsx", "--json", "--xlsx", made).stdout)
    book = load_workbook(made)  # saving through openpyxl drops every stored result
    sheet = book.worksheets[0]
    for extra, name in ((0, "same.xlsx"), (100, "changed.xlsx")):
        sheet["F2"] = float(answer["lines"][0]["price"]) + extra
        book.save(tmp_path / name)
        subprocess.run(
            ["soffice", "--headless", "--convert-to", "ods", "--outdir", tmp_path, tmp_path / name],
            check=True,
            capture_output=True,
        )
        found = _labelled(tmp_path / name.replace("xlsx", "ods"))
        net = float(answer["net"]) + extra
        assert found["net"] == pytest.approx(net)
        assert found["TOTAL"] == pytest.approx(net + round(net * 0.20 + 1e-9, 2))


def _labelled(path: Path) -> dict[str, float]:
    """The values under a table by their labels."""
    from decimal import Decimal

    from bom.files.sheet import read_book

    book, problems = read_book(path)
    assert book, problems
    found = {}
    for row in book.sheets[0].rows:
        filled = [cell for cell in row if cell is not None]
        if len(filled) == 2 and isinstance(filled[0], str) and isinstance(filled[1], Decimal):
            found[filled[0]] = float(filled[1])
    return found


def test_books_are_never_written_over(tmp_path: Path) -> None:
    """Neither the job book itself nor a book of the workshop may be the file to write."""
    book = tmp_path / "job.csv"
    book.write_text("from,to,colour,length,load\nbattery,lamp,red,1,5 W\n")
    before = book.read_bytes()
    assert bom("takeoff", book, "--csv", book).returncode == 1
    assert book.read_bytes() == before
    stock = tmp_path / "stock.xlsx"
    stock.write_bytes(b"mine")
    assert bom("takeoff", book, "--xlsx", stock).returncode == 1
    assert stock.read_bytes() == b"mine"


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
