"""How much too dear orders are where a reel holds few pieces, against the best known.

    python -m tests.bench.short_reels --seconds 2

Forty random orders of six colours, 5 to 25 pieces each, on reels of 3 to 12 m.  The best
known of each stands in `short_reels.csv` with what any order must cost (`at_least`).  They
were found by a model of its own: every way to fill a length listed, then HiGHS for each
choice of suppliers.  Where the program is cheaper its line says so, and its own total counts
as the best known.
"""

import argparse
import csv
import random
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from statistics import mean

from msgspec.structs import replace
from tabulate import tabulate

from bom.buy.allot import allot
from bom.trade.job_book import Colour
from bom.trade.needs import Allotment
from bom.trade.orders import Order, Price, PriceBook, Supplier
from bom.trade.shelf import Stock
from tests.bench.published_sets import clocked
from tests.shopping import cable, offcut, price

COLOURS = ("black", "blue", "green", "red", "white", "yellow")
BEST_KNOWN = Path(__file__).with_suffix(".csv")


def an_order(seed: int) -> tuple[Allotment, PriceBook]:
    """Six colours on short reels, from two to four suppliers with terms of their own."""
    dice = random.Random(seed)
    names = "ABCD"[: dice.randint(2, 4)]
    step_mm, metres = dice.choice((1, 10)), dice.random() < 0.5
    needs, offcuts, rows = [], [], []
    for colour in COLOURS:
        sold = list(_rows(dice, names, colour, metres))
        longest_mm = min(6000, max(int(row.pack) * 1000 for row in sold))
        cut_mm = [dice.randrange(300, longest_mm + 1, step_mm) for _ in range(dice.randint(5, 25))]
        needs.append(("job", cable(colour, cut_mm)))
        lengths = (dice.randrange(300, 4000, step_mm) for _ in range(dice.randint(0, 3)))
        offcuts += [offcut(colour, n, mm) for n, mm in enumerate(lengths)]
        rows += sold
    stock = Stock(file="stock.xlsx", pieces=tuple(offcuts), drawer=())
    terms = {name: _terms(dice, name) for name in names}
    return allot(needs, stock), PriceBook(prices=tuple(rows), suppliers=terms)


def _rows(dice: random.Random, names: str, colour: str, metres: bool) -> Iterator[Price]:
    """A colour at one to three suppliers, each with one to three reels, some by the metre."""
    for name in dice.sample(names, dice.randint(1, min(3, len(names)))):
        pence = dice.randint(25, 45)
        for reel in sorted(dice.sample(range(3, 13), dice.randint(1, 3))):
            each = price(name, "cable", "reel", reel, reel * (pence + dice.randint(-6, 6)))
            yield replace(each, colour=Colour(colour))
        if metres and dice.random() < 0.5:
            each = price(name, "cable", "metre", 1, pence * dice.randint(12, 18) // 10)
            yield replace(each, colour=Colour(colour))


def _terms(dice: random.Random, name: str) -> Supplier:
    """Postage for most, free from some sum for some of them; a minimum for some."""
    postage = Decimal(dice.randint(300, 800)) / 100 if dice.random() < 0.8 else Decimal(0)
    free = Decimal(dice.randint(30, 120)) if dice.random() < 0.5 else None
    least = Decimal(dice.randint(5, 25)) if dice.random() < 0.5 else None
    return Supplier(name=name, postage=postage, free_over=free, minimum_order=least)


def best_known() -> dict[int, Decimal]:
    """The least total known of each order, by its seed."""
    rows = csv.DictReader(BEST_KNOWN.read_text().splitlines())
    return {int(row["seed"]): Decimal(row["least_known"]) for row in rows}


def table(seconds: Decimal) -> str:
    """A line for each order: its total, how much that is over the best known, its CPU."""
    rows, over, loads, proved = [], [], [], 0
    for seed, known in best_known().items():
        bought = clocked(*an_order(seed), seconds)
        total = bought.order.total
        least = min(total, known)
        over.append(float(100 * (total - least) / least))
        loads.append(bought.cpu_s / float(seconds))
        proved += bought.order.proved
        rows.append([seed, total, least, over[-1], _said(bought.order, known), loads[-1]])
    rows.append(["mean", None, None, mean(over), f"{proved} of {len(over)}", mean(loads)])
    rows.append(["worst", None, None, max(over), None, max(loads)])
    headings = ["order", "total", "best known", "% over", "proved", "CPU / limit"]
    return tabulate(rows, headings, floatfmt=".2f")


def _said(order: Order, known: Decimal) -> str:
    """What the order claims of itself, and where it and the best known do not agree."""
    if order.total < known:
        return f"cheaper than {known}"
    if order.bound > known:
        return "WRONG"
    return "proved" if order.proved else ""


def main() -> None:
    """Print the table."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--seconds", type=Decimal, default=Decimal(2))
    print(table(words.parse_args().seconds))


if __name__ == "__main__":
    main()
