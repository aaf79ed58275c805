"""A second of ordinary work, by which CPU seconds are told on any machine and under any load.

The same work takes more CPU on a slower machine, and beside neighbours who share its caches and
clock.  This file, run as a process of its own, does a fixed piece of the kind that the program
does: XML read by expat into dicts, rows sorted, decimals summed.  None of the program's own code
is in it, so that a quicker or slower program is not measured by itself.  On the machine where the
limits of the tests were set, idle, it takes 1.0 s of CPU.
"""

import os
import sys
from collections import defaultdict
from decimal import Decimal
from operator import itemgetter
from pathlib import Path
from xml.parsers import expat

from tests.bench.alone import alone

ROWS, COLUMNS = 44_000, 8
RUNS = 3
"""Load comes and goes: the longest of so many counts."""


def too_long(cpu_s: float, most_s: float) -> str:
    """What is wrong where a command took longer than its limit by the yardstick; else nothing.

    The yardstick is laid on only where the limit as it stands was passed: it never makes a limit
    shorter.
    """
    if cpu_s <= most_s:
        return ""
    times = times_as_long()
    if cpu_s <= most_s * times:
        return ""
    return f"{cpu_s:.2f} s CPU: over {most_s} s, though all takes {times:.2f} times as long here"


def times_as_long() -> float:
    """How many seconds a second of work takes here and now; never less than one."""
    return max(1.0, *(_taken_s() for _ in range(RUNS)))


def _taken_s() -> float:
    done = alone(sys.executable, "-m", __name__, cwd=Path(__file__).parents[2], env=os.environ)
    if done.code:
        raise RuntimeError(done.err)
    return done.cpu_s


def work() -> Decimal:
    """The piece of work: a sheet read, its rows sorted by each column in turn, and summed."""
    rows = _read(_sheet())
    for column in range(COLUMNS):
        rows.sort(key=itemgetter(column))
    sums: defaultdict[str, Decimal] = defaultdict(Decimal)
    for row in rows:
        for text in row.values():
            sums[text[-2:]] += Decimal(text)
    return sum(sums.values(), Decimal())


def _sheet() -> bytes:
    """Numbers of six places that stand in no order."""
    cells = (
        "".join(
            f'<c at="{c}"><v>{(r * 7919 + c * 104729) % 999983 / 100}</v></c>'
            for c in range(COLUMNS)
        )
        for r in range(ROWS)
    )
    return ("<rows>" + "".join(f"<row>{row}</row>" for row in cells) + "</rows>").encode()


def _read(sheet: bytes) -> list[dict[int, str]]:
    rows: list[dict[int, str]] = []
    at = 0

    def begun(name: str, attributes: dict[str, str]) -> None:
        nonlocal at
        if name == "row":
            rows.append({})
        elif name == "c":
            at = int(attributes["at"])

    def said(text: str) -> None:
        rows[-1][at] = rows[-1].get(at, "") + text

    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.CharacterDataHandler = begun, said
    parser.Parse(sheet, True)
    return rows


if __name__ == "__main__":
    print(work())
