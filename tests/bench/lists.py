"""Long lists for the benchmark: a job of n wires, its prices, and the careful spreadsheet of it.

The list is one that a spreadsheet can answer too: typed lengths, gauges and colours, two bullets
at each end of each wire, cable by the metre and terminals by the hundred at one supplier.
"""

import random
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import xlsxwriter

HEADINGS = ("wire", "circuit", "from", "to", "colour", "gauge", "load", "fuse", "length")
GAUGES = {"0.5": 0.21, "1.0": 0.33, "2.0": 0.52, "3.0": 0.88}
"""Sizes, and the price of a metre."""
RANGES = {"0.5-1.0 mm2": ("0.5", "1.0"), "1.0-2.0 mm2": ("2.0",), "2.0-3.0 mm2": ("3.0",)}
PACK, PACK_PRICE = 100, 7.5
COLOURS = (
    *("red", "blue", "green", "black", "white", "yellow", "brown", "purple", "orange", "grey"),
    *("blue/white", "blue/red", "green/red", "red/black", "white/green", "brown/blue"),
    *("black/red", "yellow/green", "purple/black", "orange/blue"),
)
_CIRCUITS = ("dip beam", "main beam", "tail lamp", "horn", "left turn", "right turn", "brake lamp")


def wires(count: int, seed: int = 1) -> Iterator[tuple[Any, ...]]:
    """Rows of a Circuits sheet: a feed to a lamp and its earth, and again."""
    dice = random.Random(seed)
    for number in range(count):
        lamp = number // 2
        size, length = dice.choice((*GAUGES, "1.0", "1.0")), round(dice.uniform(0.2, 2.5), 3)
        what, tint = dice.choice(_CIRCUITS), dice.choice(COLOURS)
        if number % 2:
            earth = (f"lamp {lamp}:-", f"frame {lamp // 40}:{lamp % 40}", "black", size)
            yield (f"W{number + 1}", "earth", *earth, None, None, length)
        else:
            feed = (f"box {lamp // 40}:{lamp % 40}", f"lamp {lamp}:+", tint, size)
            yield (f"W{number + 1}", what, *feed, "5 W", "none", length)


def workshop(folder: Path, count: int) -> Path:
    """A workshop with that job and one supplier; the job book's path."""
    (folder / "jobs").mkdir(parents=True)
    (folder / "workshop.toml").write_text("tax_percent = 20\n", encoding="utf-8")
    _book(folder / "jobs" / "long.xlsx", "Circuits", (HEADINGS, *wires(count)))
    prices: list[tuple[Any, ...]] = [
        ("supplier", "item", "gauge", "colour", "sold as", "pack", "price")
    ]
    prices += [
        ("Example", "cable", gauge, tint, "metre", None, price)
        for gauge, price in GAUGES.items()
        for tint in COLOURS
    ]
    prices += [
        ("Example", item, None, None, "pack", PACK, PACK_PRICE)
        for item in (
            *(f"bullet terminal, {half}, {size}" for half in ("male", "female") for size in RANGES),
            *("bullet cover, male", "bullet cover, female"),
        )
    ]
    _book(folder / "prices.xlsx", "Prices", prices)
    _book(folder / "suppliers.xlsx", "Suppliers", (("supplier", "postage"), ("Example", 0)))
    return folder / "jobs" / "long.xlsx"


def _book(path: Path, name: str, rows: Sequence[Sequence[Any]]) -> None:
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)


def careful_spreadsheet(path: Path, count: int) -> None:
    """What a careful person would make of the same list; no results are stored.

    Sheet Circuits with a piece length for each wire, Order with needs, packs and costs, and
    Total: A1 the cable needed in mm, A2 the terminals and covers, A3 the total with tax.
    """
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Circuits")
        sheet.write_row(0, 0, (*HEADINGS, "piece"))
        for number, row in enumerate(wires(count), start=1):
            sheet.write_row(number, 0, row)
            piece = f"=CEILING(ROUND(I{number + 1}*1000*1.05+80,6),10)"
            sheet.write_formula(number, 9, piece, None, "")
        last = count + 1
        prices = book.add_worksheet("Prices")
        for number, (gauge, price) in enumerate(GAUGES.items()):
            prices.write_row(number, 0, (gauge, price))
        order = book.add_worksheet("Order")
        cables = [(gauge, tint) for gauge in GAUGES for tint in COLOURS]
        for number, (gauge, tint) in enumerate(cables, start=1):
            order.write_row(number - 1, 0, (gauge, tint))
            for column, formula in enumerate(_cable_formulas(number, last), start=2):
                order.write_formula(number - 1, column, formula, None, "")
        parts = book.add_worksheet("Parts")
        for number, sizes in enumerate((*RANGES.values(), tuple(GAUGES)), start=1):
            counted = "+".join(f'COUNTIF(Circuits!F$2:F${last},"{size}")' for size in sizes)
            parts.write_formula(number - 1, 0, f"=2*({counted})", None, "")
            spare = f"=A{number}+IF(A{number}=0,0,MAX(ROUNDUP(A{number}*0.1,0),2))"
            parts.write_formula(number - 1, 1, spare, None, "")
            cost = f"=2*ROUNDUP(B{number}/{PACK},0)*{PACK_PRICE}"
            parts.write_formula(number - 1, 2, cost, None, "")
        total = book.add_worksheet("Total")
        rows = len(cables)
        total.write_formula(0, 0, f"=SUM(Order!D1:D{rows})", None, "")
        total.write_formula(1, 0, f"=2*SUM(Parts!B1:B{len(RANGES) + 1})", None, "")
        net = f"SUM(Order!G1:G{rows})+SUM(Parts!C1:C{len(RANGES) + 1})"
        total.write_formula(2, 0, f"=ROUND(({net})*1.2,2)", None, "")


def _cable_formulas(number: int, last: int) -> tuple[str, ...]:
    """Sum of the pieces, need with its spare, metres, price and cost of one gauge and colour."""
    pieces = f"Circuits!$J$2:$J${last}"
    where = f"Circuits!$F$2:$F${last},A{number},Circuits!$E$2:$E${last},B{number}"
    return (
        f"=SUMIFS({pieces},{where})",
        f"=C{number}+CEILING(ROUND(C{number}*0.05,6),10)",
        f"=ROUNDUP(D{number}/1000,0)",
        f"=VLOOKUP(A{number},Prices!$A$1:$B${len(GAUGES)},2,FALSE)",
        f"=ROUND(E{number}*F{number},2)",
    )


def stock_book(path: Path, moves: int) -> None:
    """A stock book whose covers have been counted up and down so many times."""
    with xlsxwriter.Workbook(path) as book:
        drawer = book.add_worksheet("Drawer")
        drawer.write_row(0, 0, ("item", "unit", "on hand"))
        drawer.write_row(1, 0, ("bullet cover, male", "each", 10 + moves % 2))
        sheet = book.add_worksheet("Moves")
        heads = ("when", "job", "what", "item", "change", "unit", "left", "note")
        sheet.write_row(0, 0, heads)
        for number in range(1, moves + 1):
            change = 1 if number % 2 else -1
            row = ("2026-01-01", None, "count", "bullet cover, male", change, "each")
            sheet.write_row(number, 0, (*row, 10 + number % 2, None))
