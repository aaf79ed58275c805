"""What the desk takes beside the commands: CPU of the same work, and memory as it goes on.

    python -m tests.bench.desk

Each figure stands beside that of the command that does the same in a process of its own, in one
run.  CPU of the desk is that of its process and its solvers'.
"""

import os
import re
import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import httpx2
from openpyxl import load_workbook
from tabulate import tabulate

from tests.bench.alone import alone
from tests.desks import Served, form_for, served

ROOT = Path(__file__).parents[2]
BOM = (sys.executable, "-m", "bom.cli")
ROUNDS = 20
PAGES = 1000


def spent(desk: Served) -> float:
    """CPU seconds of the desk until now."""
    fields = Path(f"/proc/{desk.process.pid}/stat").read_text(encoding="utf-8").rpartition(")")[2]
    return sum(map(int, fields.split()[11:15])) / os.sysconf("SC_CLK_TCK")


def resident_mb(desk: Served) -> float:
    """What the desk holds in memory now."""
    status = Path(f"/proc/{desk.process.pid}/status").read_text(encoding="utf-8")
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    return int(found[1]) / 1024 if found else 0.0


def command_s(folder: Path, *words: str) -> float:
    """CPU seconds of a command."""
    done = alone(*BOM, *words, cwd=folder, env={**os.environ, "PYTHONPATH": str(ROOT)})
    if done.code:
        raise RuntimeError(done.err)
    return done.cpu_s


def each(desk: Served, work: Callable[[int], None]) -> float:
    """CPU seconds of one of many rounds."""
    work(0)
    before = spent(desk)
    for number in range(1, ROUNDS + 1):
        work(number)
    return (spent(desk) - before) / ROUNDS


def measured(folder: Path) -> tuple[list[tuple[str, float, float | None]], list[float]]:
    """A job worked anew and shown, a count, a page as it was; and memory as pages go out."""
    book = folder / "jobs" / "twin.xlsx"
    with served(folder) as desk, httpx2.Client(base_url=desk.url, timeout=60) as client:

        def reworked(number: int) -> None:
            edition = client.get("/news").text
            opened = load_workbook(book)
            opened["Loom"]["C2"] = 0.2 + number / 1000
            opened.save(book)
            while client.get("/news").text == edition:
                pass
            client.get("/job/twin").raise_for_status()

        def counted(number: int) -> None:
            page = client.get("/drawer", params={"find": "bullet cover, male"}).text
            form = form_for(page, "/drawer/count", item="bullet cover, male")
            client.post("/drawer/count", data={**form.fields, "number": f"{100 + number % 9}"})

        def shown(_: int) -> None:
            client.get("/job/twin").raise_for_status()

        rows = [
            ("twin shown again", each(desk, shown), None),
            ("twin worked anew", each(desk, reworked), command_s(folder, "quote", "twin")),
            ("a count", each(desk, counted), command_s(folder, "stock", "count", "R01", "58 m")),
        ]
        held = [resident_mb(desk)]
        for _ in range(3):
            for _ in range(PAGES):
                client.get("/drawer")
            held.append(resident_mb(desk))
    return rows, held


def main() -> None:
    """Print both."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "workshop"
        shutil.copytree(ROOT / "sample_projects" / "workshop", folder)
        rows, held = measured(folder)
    table = [
        (
            what,
            f"{own:.3f}",
            "" if by is None else f"{by:.3f}",
            "" if by is None else f"{own / by:.2f}",
        )
        for what, own, by in rows
    ]
    print(tabulate(table, ("", "desk, CPU s", "command, CPU s", "ratio")))
    pages = ", ".join(f"{mb:.0f} MB after {n * PAGES}" for n, mb in enumerate(held))
    print(f"\nmemory as pages of the drawer go out: {pages}")


if __name__ == "__main__":
    main()
