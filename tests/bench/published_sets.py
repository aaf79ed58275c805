"""How many published cutting-stock sets are proved at their least, and in what time.

    python -m tests.bench.published_sets FOLDER --seconds 10

FOLDER holds a folder for each family (Scholl 1 to 3, Falkenauer, Waescher and Gau,
Schwerin, hard28), in it a file for each set: the number of sizes, the length of a reel,
then a size and its count on each line.  `optima.csv` beside the families says the least
number of reels (family, name, optimum).  The sets belong to others and are not kept here.
"""

import argparse
import csv
import resource
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from tabulate import tabulate

from bom.buy.allot import allot
from bom.buy.order import buy
from bom.trade.house import HouseRules
from bom.trade.needs import Allotment
from bom.trade.orders import Order, PriceBook
from bom.trade.shelf import Stock
from tests.shopping import cable, price


@dataclass(frozen=True)
class Clocked:
    """An order, and what it took of the processor, its children counted."""

    order: Order
    cpu_s: float


@dataclass(frozen=True)
class Run:
    """What came of one set."""

    family: str
    name: str
    optimum: int
    bought: Clocked

    @property
    def reels(self) -> int:
        """How many were bought."""
        return sum(line.packs for line in self.bought.order.lines)

    @property
    def proved(self) -> bool:
        """Said to be the least, and it is."""
        return self.bought.order.proved and not self.wrong

    @property
    def wrong(self) -> bool:
        """Said to be the least or bounded, and it is not so."""
        order = self.bought.order
        return self.reels != self.optimum if order.proved else order.bound > self.optimum


def clocked(allotment: Allotment, prices: PriceBook, seconds: Decimal) -> Clocked:
    """The order within a limit of so many seconds."""
    rules = HouseRules(order_seconds=seconds)
    before_s = _cpu_s()
    order = buy(allotment, prices, rules)
    return Clocked(order, _cpu_s() - before_s)


def _cpu_s() -> float:
    used = (resource.getrusage(w) for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in used)


def a_set(path: Path) -> tuple[Allotment, PriceBook]:
    """A set as an order: one colour, one length of reel at one price, an empty shelf."""
    _, reel_mm, *rest = map(int, path.read_text().split())
    counts = zip(rest[::2], rest[1::2], strict=True)
    cut_mm = [size for size, count in counts for _ in range(count)]
    row = price("A", "cable", "reel", Decimal(reel_mm) / 1000, 100)
    stock = Stock(file="", pieces=(), drawer=())
    return allot([("set", cable("red", cut_mm))], stock), PriceBook(prices=(row,), suppliers={})


def runs(folder: Path, seconds: Decimal) -> list[Run]:
    """All sets, one after another; a line for each as it is done."""
    _, *rows = csv.reader((folder / "optima.csv").read_text().splitlines())
    found = []
    for family, name, optimum in rows:
        bought = clocked(*a_set(folder / family / f"{name}.txt"), seconds)
        found.append(Run(family, name, int(optimum), bought))
        print(_said(found[-1]), flush=True)
    return found


def _said(run: Run) -> str:
    order = run.bought.order
    proved = "WRONG" if run.wrong else "proved" if run.proved else f"at least {order.bound}"
    least = f"{run.reels} reels (least {run.optimum})"
    return f"{run.name:22} {least:24} {proved:14} {run.bought.cpu_s:6.2f} s of CPU"


def table(found: list[Run], seconds: Decimal) -> str:
    """A line for each family, and one for all."""
    families = dict.fromkeys(run.family for run in found)
    rows = [_line(name, [r for r in found if r.family == name], seconds) for name in families]
    rows.append(_line("all", found, seconds))
    headings = ["family", "proved", "at the least", "wrong", "median CPU s", "worst CPU / limit"]
    return tabulate(rows, headings, floatfmt=".2f")


def _line(name: str, found: list[Run], seconds: Decimal) -> list[object]:
    cpu = sorted(run.bought.cpu_s for run in found)
    return [
        name,
        f"{sum(run.proved for run in found)} of {len(found)}",
        sum(run.reels == run.optimum for run in found),
        sum(run.wrong for run in found),
        cpu[len(cpu) // 2],
        cpu[-1] / float(seconds),
    ]


def main() -> None:
    """Run the sets and print the tables."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("folder", type=Path)
    words.add_argument("--seconds", type=Decimal, default=Decimal(10))
    asked = words.parse_args()
    print("\n" + table(runs(asked.folder, asked.seconds), asked.seconds))


if __name__ == "__main__":
    main()
