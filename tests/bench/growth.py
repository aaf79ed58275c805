"""How the work grows with the book: CPU of a command over books of growing size.

    python -m tests.bench.growth                              all of it
    python -m tests.bench.growth --only count prices --moves 1000 10000

From each CPU that of the same command over a book of one is taken: what is left is the work that
grows.  Its exponent is the slope of log CPU over log size; over `MOST` the run fails.
"""

import argparse
import math
import os
import statistics
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TypeAlias

from tabulate import tabulate

from tests.bench.alone import Alone, alone
from tests.bench.lists import (
    chain_book,
    loom_book,
    price_list,
    spine,
    star,
    stock_book,
    tree,
)
from tests.bench.measure import BOM, ROOT

MOST = 1.2
_TRIES = 3
_SHORT_S = 1.0
"""What is over sooner is run three times: noise is the more of it."""
_LEAST_S = 0.02
"""What a smaller book takes beyond the least one is not told from the noise."""

Made: TypeAlias = Callable[[Path, int], tuple[object, ...]]
"""Writes a book of that size into a workshop; the words of the command over it."""


def _pack(branches: Callable[[int], Sequence[tuple[str, str]]]) -> Made:
    def made(shop: Path, size: int) -> tuple[object, ...]:
        loom_book(shop / "job.xlsx", branches(size))
        return ("pack", "job.xlsx", "--out", "papers")

    return made


def _check(shop: Path, size: int) -> tuple[object, ...]:
    chain_book(shop / "job.xlsx", size)
    return ("check", "job.xlsx")


def _count(shop: Path, size: int) -> tuple[object, ...]:
    stock_book(shop / "stock.xlsx", size)
    return ("stock", "count", "bullet cover, male", "25", "--yes")


def prices(shop: Path, size: int) -> tuple[object, ...]:
    """A supplier's list of so many rows, to be added."""
    price_list(shop / "list.csv", size)
    return ("prices", "add", "list.csv", "--supplier", "Example")


def measured(made: Made, size: int) -> Alone:
    """What the command took over a book of that size; of a short one the least of three runs."""
    first = _run(made, size)
    again = [_run(made, size) for _ in range(2)] if first.cpu_s < _SHORT_S else []
    return _least(first, *again)


def _least(*runs: Alone) -> Alone:
    return min(runs, key=lambda one: one.cpu_s)


def _run(made: Made, size: int) -> Alone:
    """One run, in a workshop of its own; faults found in the book are none of the command's."""
    with tempfile.TemporaryDirectory() as name:
        shop = Path(name)
        (shop / "workshop.toml").write_text("", encoding="utf-8")
        words = made(shop, size)
        done = alone(*BOM, *words, cwd=shop, env={**os.environ, "PYTHONPATH": str(ROOT)})
    if done.code not in (0, 1):
        raise RuntimeError(f"{words} ended with {done.code}: {done.err}")
    return done


def exponent(points: Sequence[tuple[int, float]]) -> float:
    """The slope of log CPU over log size.

    >>> round(exponent([(10, 1.0), (100, 10.0), (1000, 100.0)]), 6)
    1.0
    """
    logs = [(math.log(size), math.log(max(cpu_s, _LEAST_S))) for size, cpu_s in points]
    return statistics.linear_regression(*zip(*logs, strict=True)).slope


def grown(made: Made, sizes: Sequence[int], most: float = MOST) -> tuple[list[Alone], float]:
    """What each size took, and the exponent; measured again where that is over the most.

    Load beside a command adds to its CPU and takes nothing off: of all runs the least counts.
    """
    found: list[Alone] = []
    for _ in range(_TRIES):
        new = [measured(made, size) for size in (1, *sizes)]
        found = [_least(*pair) for pair in zip(found or new, new, strict=True)]
        start, *grown = found
        points = [(size, one.cpu_s - start.cpu_s) for size, one in zip(sizes, grown, strict=True)]
        if (slope := exponent(points)) <= most:
            break
    return grown, slope


def _asked(words: argparse.Namespace) -> Iterator[tuple[str, Made, Sequence[int]]]:
    looms = {"spine": spine, "star": star, "tree": tree}
    for name, branches in looms.items():
        yield f"pack {name}", _pack(branches), words.branches
    yield "check chain", _check, words.lamps
    yield "count", _count, words.moves
    yield "prices", prices, words.rows


def main() -> int:
    """Print a row for each book, and the exponents; 1 where one of them is over `MOST`."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--only", nargs="+", default=[], help="pack check count prices star ...")
    options.add_argument("--branches", type=int, nargs="+", default=[30, 100, 300, 1000])
    options.add_argument("--lamps", type=int, nargs="+", default=[100, 1000, 10_000])
    options.add_argument("--moves", type=int, nargs="+", default=[1000, 10_000, 100_000])
    options.add_argument("--rows", type=int, nargs="+", default=[2000, 20_000, 200_000])
    words = options.parse_args()
    over = 0
    for name, made, sizes in _asked(words):
        if words.only and not {*words.only} & {*name.split()}:
            continue
        found, slope = grown(made, sizes)
        over += slope > MOST
        rows = [
            (f"{size:,}", f"{one.cpu_s:.2f}", f"{one.peak_mb:.0f}")
            for size, one in zip(sizes, found, strict=True)
        ]
        rows.append(("exponent", f"{slope:.2f}", "OVER" if slope > MOST else ""))
        print(tabulate(rows, (name, "CPU s", "peak MB"), disable_numparse=True), flush=True)
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
