"""CPU and memory of the commands, as ratios against something measured in the same run.

    python -m tests.bench.measure                  all of it (ten minutes)
    python -m tests.bench.measure --only start peer --wires 100 1000

Each figure is a whole process: CPU is user and system time, memory the largest resident size.  The
peer is the workbook that a careful person would make of the same list, loaded, recalculated and
saved by LibreOffice; totals are compared where both can answer.  Cutting and buying are measured
inside one process, by `tests.bench.buying`.
"""

import argparse
import json
import math
import os
import platform
import shutil
import statistics
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

from openpyxl import load_workbook
from tabulate import tabulate

from tests.bench import buying
from tests.bench.alone import Alone, alone
from tests.bench.lists import careful_spreadsheet, stock_book, workshop

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_projects" / "workshop" / "jobs" / "twin.xlsx"
BOM = (sys.executable, "-m", "bom.cli")
BARE_TYPER = "import typer\napp = typer.Typer()\n@app.command()\ndef one() -> None: ...\napp()"
READERS = {
    "our own reader": "from pathlib import Path; from bom.files.sheet import read_book; "
    "read_book(Path({path!r}))",
    "calamine alone": "import python_calamine as c; b = c.CalamineWorkbook.from_path({path!r}); "
    "[b.get_sheet_by_name(n).to_python() for n in b.sheet_names]",
    "openpyxl, read-only": "import openpyxl; b = openpyxl.load_workbook({path!r}, read_only=True); "
    "[list(s.iter_rows(values_only=True)) for s in b]",
}


def cost(*command: object, cwd: Path = ROOT) -> Alone:
    """What a command took; raises where it fails."""
    done = alone(*command, cwd=cwd, env={**os.environ, "PYTHONPATH": str(ROOT)})
    if done.code:
        raise RuntimeError(f"{command} ended with {done.code}: {done.err}")
    return done


def median(runs: int, *command: object, cwd: Path = ROOT) -> Alone:
    """The run of the median CPU."""
    found = sorted((cost(*command, cwd=cwd) for _ in range(runs)), key=lambda c: c.cpu_s)
    return found[len(found) // 2]


Rows = list[tuple[Any, ...]]


def _row(name: str, one: Alone, against: float | None = None) -> tuple[Any, ...]:
    ratio = "" if against is None else f"{one.cpu_s / against:.2f}"
    return (name, f"{one.cpu_s:.3f}", f"{one.peak_mb:.0f}", ratio)


def start(runs: int) -> tuple[str, Rows]:
    """Help against a bare Typer program."""
    bare = median(runs, sys.executable, "-c", BARE_TYPER, "--help")
    return "x bare Typer", [
        _row("a bare Typer program, --help", bare, bare.cpu_s),
        _row("bom --help", median(runs, *BOM, "--help"), bare.cpu_s),
    ]


def sample(runs: int) -> tuple[str, Rows]:
    """The take-off of a sample against Python reading the same book."""
    readers = {
        name: median(runs, sys.executable, "-c", code.format(path=str(SAMPLE)))
        for name, code in READERS.items()
    }
    against = readers["our own reader"].cpu_s
    rows = [_row(f"twin.xlsx, {name}", one, against) for name, one in readers.items()]
    for command in ("check", "takeoff", "quote"):
        rows.append(_row(f"bom {command} twin.xlsx", median(runs, *BOM, command, SAMPLE), against))
    return "x our own reader", rows


def growth(sizes: Sequence[int], folder: Path) -> tuple[str, Rows]:
    """The commands over lists of growing length; the exponent is over all sizes from 1,000."""
    rows: Rows = []
    found: dict[str, list[tuple[int, float]]] = {}
    for size in sizes:
        job = workshop(folder / f"long-{size}", size)
        reader = cost(sys.executable, "-c", READERS["our own reader"].format(path=str(job)))
        rows.append(_row(f"{size:,} wires: our own reader", reader, reader.cpu_s))
        for command in ("check", "takeoff", "order", "quote"):
            one = cost(*BOM, command, job)
            rows.append(_row(f"{size:,} wires: bom {command}", one, reader.cpu_s))
            found.setdefault(command, []).append((size, one.cpu_s))
    for command, points in found.items():
        exponent = _exponent([(n, cpu) for n, cpu in points if n >= 1000])
        if exponent is not None:
            rows.append((f"growth exponent of bom {command}", "", "", f"{exponent:.2f}"))
    return "x our own reader", rows


def _exponent(points: Sequence[tuple[int, float]]) -> float | None:
    """The slope of log CPU over log size; None for fewer than two sizes."""
    if len(points) < 2:
        return None
    logs = [(math.log(size), math.log(cpu)) for size, cpu in points]
    return statistics.linear_regression(*zip(*logs, strict=True)).slope


def peer(sizes: Sequence[int], folder: Path) -> tuple[str, Rows]:
    """The careful spreadsheet in LibreOffice beside take-off and quote, totals compared."""
    rows: Rows = []
    for size in sizes:
        job = workshop(folder / f"peer-{size}", size)
        theirs, sums = _recalculated(folder / f"careful-{size}.xlsx", size)
        rows.append(_row(f"{size:,} wires: the spreadsheet in LibreOffice", theirs, theirs.cpu_s))
        for command in ("takeoff", "quote"):
            one = cost(*BOM, command, job)
            same = _alike(command, job, sums)
            name = f"{size:,} wires: bom {command}, totals {'equal' if same else 'DIFFER'}"
            rows.append(_row(name, one, theirs.cpu_s))
    return "x LibreOffice", rows


def _recalculated(path: Path, size: int) -> tuple[Alone, tuple[float, float, float]]:
    careful_spreadsheet(path, size)
    out = path.parent / "recalculated"
    profile = f"-env:UserInstallation={(path.parent / 'profile').as_uri()}"
    command = ("soffice", profile, "--headless", "--convert-to", "xlsx", "--outdir", out, path)
    cost(*command)  # the first run makes the profile
    one = cost(*command)
    return one, _sums(out / path.name)


def _sums(path: Path) -> tuple[float, float, float]:
    """Cable, parts and price as LibreOffice has recalculated them."""
    total = load_workbook(path, data_only=True)["Total"]
    cable, parts, price = (float(str(total.cell(row, 1).value)) for row in (1, 2, 3))
    return cable, parts, price


def _alike(command: str, job: Path, sums: tuple[float, float, float]) -> bool:
    """True where a command answers what the spreadsheet says."""
    answer: dict[str, Any] = json.loads(cost(*BOM, command, job, "--json").out)
    if "total" in answer:
        return float(answer["total"]) == sums[2]
    cable = sum(need["quantity"] for need in answer["needs"] if need["kind"] == "cable")
    parts = sum(n["quantity"] for n in answer["needs"] if n["kind"] in ("terminal", "cover"))
    return (cable, parts) == sums[:2]


def moves(sizes: Sequence[int], folder: Path) -> tuple[str, Rows]:
    """One count booked into a stock book with so many moves, against reading that book."""
    rows: Rows = []
    for size in sizes:
        shop = folder / f"stock-{size}"
        shop.mkdir()
        (shop / "workshop.toml").write_text("", encoding="utf-8")
        stock_book(shop / "stock.xlsx", size)
        code = READERS["our own reader"].format(path=str(shop / "stock.xlsx"))
        reader = cost(sys.executable, "-c", code)
        count = cost(*BOM, "stock", "count", "bullet cover, male", "25", cwd=shop)
        rows.append(_row(f"{size:,} moves: our own reader", reader, reader.cpu_s))
        rows.append(_row(f"{size:,} moves: bom stock count", count, reader.cpu_s))
    return "x our own reader", rows


def papers(runs: int, folder: Path) -> tuple[str, Rows]:
    """All sheets of a sample, against its quote."""
    quote = median(runs, *BOM, "quote", SAMPLE)
    pack = median(runs, *BOM, "pack", SAMPLE, "--out", folder / "papers")
    return "x bom quote", [
        _row("bom quote twin.xlsx", quote, quote.cpu_s),
        _row("bom pack twin.xlsx", pack, quote.cpu_s),
    ]


def _parts(asked: argparse.Namespace, folder: Path) -> Iterator[tuple[str, Callable[[], str]]]:
    def table(part: str, ratio: str, rows: Rows) -> str:
        return tabulate(rows, (part, "CPU s", "peak MB", ratio), disable_numparse=True)

    yield "start", lambda: table("start", *start(asked.runs))
    yield "sample", lambda: table("sample", *sample(asked.runs))
    yield "growth", lambda: table("growth", *growth(asked.wires, folder))
    sizes = [n for n in asked.peer if shutil.which("soffice")]
    yield "peer", lambda: table("peer", *peer(sizes, folder))
    yield "moves", lambda: table("moves", *moves(asked.moves, folder))
    yield "papers", lambda: table("papers", *papers(min(asked.runs, 3), folder))
    yield "buying", lambda: buying.table(asked.jobs)


def main() -> None:
    """Measure what is asked for, and print a table for each part."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--only", nargs="+", default=[], help="start sample growth peer ...")
    options.add_argument("--runs", type=int, default=7)
    options.add_argument("--wires", type=int, nargs="+", default=[100, 1000, 10_000, 100_000])
    options.add_argument("--peer", type=int, nargs="+", default=[10_000, 30_000])
    options.add_argument("--jobs", type=int, default=50)
    options.add_argument("--moves", type=int, nargs="+", default=[1000, 10_000, 100_000])
    asked = options.parse_args()
    cores = os.cpu_count()
    print(f"{platform.system()}, {cores} cores, Python {platform.python_version()}\n")
    with tempfile.TemporaryDirectory() as name:
        for part, measured in _parts(asked, Path(name)):
            if not asked.only or part in asked.only:
                print(measured(), end="\n\n", flush=True)


if __name__ == "__main__":
    main()
