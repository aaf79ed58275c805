"""How long the cheapest order takes, how often it is proved, and what it saves.

    python -m tests.bench.buying --jobs 500

Random jobs of 20 colours with 5 to 80 pieces each, offcuts on the shelf, 60 counted items,
four suppliers with reels, metres, packs and terms; and orders for 200 looms (16,000 pieces
of a colour).  `bought in one row` is the order that stands ready before the search (a limit
of 0 s): times and totals are set against it in the same run.
"""

import argparse
import random
import resource
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from tabulate import tabulate

from bom.buy.allot import allot
from bom.buy.cut import cut
from bom.buy.order import buy
from bom.trade.house import HouseRules
from bom.trade.needs import Allotment, Need
from bom.trade.orders import Order, PriceBook, Supplier
from bom.trade.shelf import Stock
from tests.shopping import cable, offcut, part, price

COLOURS = 20
ITEMS = 60
SUPPLIERS = ("A", "B", "C", "D")
RULES = HouseRules()
AT_ONCE = HouseRules(order_seconds=Decimal(0))


@dataclass(frozen=True)
class Run:
    """One order: what it took and what came of it."""

    seconds: float
    first_seconds: float
    order: Order
    first: Order


def measured(allotment: Allotment, prices: PriceBook) -> Run:
    """The order and its cut list, timed, and the one that stands ready before the search."""
    began = time.perf_counter()
    first = buy(allotment, prices, AT_ONCE)
    cut(allotment.cables, first, AT_ONCE)
    between = time.perf_counter()
    order = buy(allotment, prices, RULES)
    cut(allotment.cables, order, RULES)
    return Run(time.perf_counter() - between, between - began, order, first)


def a_job(seed: int) -> tuple[Allotment, PriceBook]:
    """A job of 20 colours and 60 counted items, and four suppliers."""
    dice = random.Random(seed)
    needs, pieces = [], []
    for number in range(COLOURS):
        colour = f"colour {number:02}"
        cut_mm = [dice.randint(20, 350) * 10 for _ in range(dice.randint(5, 80))]
        needs.append(("job", _cable(colour, cut_mm)))
        lengths = (dice.randint(30, 800) * 10 for _ in range(dice.randint(0, 10)))
        pieces += [offcut(colour, n, mm) for n, mm in enumerate(lengths)]
    needs += [("job", part(f"part {n}", dice.randint(1, 200))) for n in range(ITEMS)]
    stock = Stock(file="stock.xlsx", pieces=tuple(pieces), drawer=())
    return allot(needs, stock), _prices(dice)


def looms(seed: int, count: int, reel_m: int) -> tuple[Allotment, PriceBook]:
    """A colour in 80 pieces for each of so many looms, off reels alone."""
    dice = random.Random(seed)
    cut_mm = [dice.randint(20, 350) * 10 for _ in range(80)] * count
    pieces = tuple(offcut("red", n, dice.randint(30, 800) * 10) for n in range(6))
    allotment = allot([("job", _cable("red", cut_mm))], Stock(file="", pieces=pieces, drawer=()))
    rows = (price("A", "cable", "reel", reel_m, reel_m * 22), price("B", "cable", "metre", 1, 40))
    return allotment, PriceBook(prices=rows, suppliers=_terms(dice))


def _cable(colour: str, cut_mm: Sequence[int]) -> Need:
    return cable(colour, cut_mm, spare_mm=-(-sum(cut_mm) // 200) * 10)


def _prices(dice: random.Random) -> PriceBook:
    rows = []
    for name in SUPPLIERS:
        rows.append(price(name, "cable", "metre", 1, dice.randint(35, 60)))
        for reel in (10, 25, 50):
            rows.append(price(name, "cable", "reel", reel, reel * dice.randint(18, 40)))
        for n in range(ITEMS):
            if dice.random() < 0.8 or name == "A":
                pack = dice.choice((10, 25, 50))
                rows.append(price(name, f"part {n}", "pack", pack, pack * dice.randint(4, 12)))
    return PriceBook(prices=tuple(rows), suppliers=_terms(dice))


def _terms(dice: random.Random) -> dict[str, Supplier]:
    return {
        name: Supplier(
            name=name,
            postage=Decimal(dice.randint(300, 800)) / 100,
            free_over=Decimal(dice.randint(40, 150)),
            minimum_order=Decimal(dice.randint(5, 25)),
        )
        for name in SUPPLIERS
    }


def _line(name: str, make: Callable[[int], tuple[Allotment, PriceBook]], runs: int) -> list[object]:
    found = [measured(*make(seed)) for seed in range(runs)]
    gaps = [run.order.total - run.order.bound for run in found]
    saved = [100 * (run.first.total - run.order.total) / run.first.total for run in found]
    ratios = [run.seconds / run.first_seconds for run in found]
    return [
        name,
        runs,
        statistics.median(run.seconds for run in found),
        max(run.seconds for run in found),
        statistics.median(ratios),
        f"{sum(run.order.proved for run in found)} of {runs}",
        f"{max(gaps):.2f}",
        f"{statistics.median(saved):.1f} %",
        resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    ]


def table(jobs: int) -> str:
    """Time, proof and saving of so many random jobs, and of orders for many looms."""
    rows = [
        _line("20 colours x 5-80 pieces", a_job, jobs),
        _line("200 looms, reels of 10 m", lambda seed: looms(seed, 200, 10), 5),
        _line("200 looms, reels of 100 m", lambda seed: looms(seed, 200, 100), 5),
    ]
    headings = [
        *("order", "runs", "median s", "worst s", "x bought in one row"),
        *("proved", "worst gap", "saves", "peak MB"),
    ]
    return tabulate(rows, headings, floatfmt=".2f")


def main() -> None:
    """Print the table."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--jobs", type=int, default=50)
    print(table(words.parse_args().jobs))


if __name__ == "__main__":
    main()
