"""Books of any length for the benchmark: jobs and prices, the careful spreadsheet, stock, looms.

The list of wires is one that a spreadsheet can answer too: typed lengths, gauges and colours, two
bullets at each end of each wire, cable by the metre and terminals by the hundred at one supplier.
"""

import random
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
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
            earth = (f"lamp {lamp}:earth", f"frame {lamp // 40}:{lamp % 40}", "black", size)
            yield (f"W{number + 1}", "earth", *earth, None, None, length)
        else:
            feed = (f"box {lamp // 40}:{lamp % 40}", f"lamp {lamp}:feed", tint, size)
            yield (f"W{number + 1}", what, *feed, "5 W", "none", length)


def workshop(folder: Path, count: int) -> Path:
    """A workshop with that job and one supplier; the job book's path."""
    (folder / "jobs").mkdir(parents=True)
    (folder / "workshop.toml").write_text("tax_percent = 20\n", encoding="utf-8")
    _sheets(folder / "jobs" / "long.xlsx", Circuits=(HEADINGS, *wires(count)))
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
    _sheets(folder / "prices.xlsx", Prices=prices)
    _sheets(folder / "suppliers.xlsx", Suppliers=(("supplier", "postage"), ("Example", 0)))
    return folder / "jobs" / "long.xlsx"


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


DRAWER = ("bullet cover, male", *(f"own part {number}" for number in range(1, 60)))


def stock_book(path: Path, moves: int) -> None:
    """A stock book whose items have been counted up and down so many times, one a minute."""
    began, pieces = datetime(2020, 1, 1, 8), 1_000
    left = dict.fromkeys(DRAWER, pieces)
    rows: list[tuple[Any, ...]] = []
    for number in range(moves):
        item, change = DRAWER[number % len(DRAWER)], 1 if number % 7 else -2
        left[item] += change
        when = f"{began + timedelta(minutes=number):%Y-%m-%d %H:%M:%S}"
        job = f"job {number // 90}"
        rows.append((when, job, "count", item, change, "each", left[item], f"counted {number}"))
    with xlsxwriter.Workbook(path) as book:
        drawer = book.add_worksheet("Drawer")
        drawer.write_row(0, 0, ("item", "unit", "on hand"))
        for number, (item, there) in enumerate(left.items(), start=1):
            drawer.write_row(number, 0, (item, "each", there))
        sheet = book.add_worksheet("Moves")
        sheet.write_row(0, 0, ("when", "job", "what", "item", "change", "unit", "left", "note"))
        for number, row in enumerate(rows, start=1):
            sheet.write_row(number, 0, row)


_GOODS = ("bullet terminal female 2.0 mm", "heat shrink 6 mm black", "blade fuse 15A", "tape 19 mm")
_OTHERS = ("oil seal", "spark plug", "brake shoe", "mirror stem", "hose clip", "chain link")


def price_list(path: Path, rows: int, seed: int = 1) -> None:
    """A factor's list: three rows in ten of cable and what belongs to it, the rest of all sorts."""
    dice = random.Random(seed)
    lines = ["part no;description;pack;price"]
    for number in range(rows):
        kind = dice.random()
        words = f"{dice.choice(_OTHERS)} type {dice.randrange(rows)}"
        if kind < 0.1:
            size, tint = dice.choice((*GAUGES,)), dice.choice(COLOURS)
            words = f"thinwall cable {size} mm2 {tint} {dice.choice((10, 25, 50))} m"
        elif kind < 0.3:
            words = f"{dice.choice(_GOODS)} model {dice.randrange(rows)}"
        pack, price = dice.choice((1, 10, 100)), dice.randrange(10, 5_000) / 100
        lines.append(f"P{number:06};{words};{pack};{price}")
    path.write_text("\n".join(lines), encoding="utf-8")


# ----------------------------------------------------------------------- looms of a shape


def spine(branches: int) -> list[tuple[str, str]]:
    """The branches of a loom, one behind the other."""
    return [(f"p{n}", f"p{n + 1}") for n in range(branches)]


def star(branches: int) -> list[tuple[str, str]]:
    """The branches of a loom, all from one point."""
    return [("p0", f"p{n + 1}") for n in range(branches)]


def tree(branches: int, seed: int = 1) -> list[tuple[str, str]]:
    """The branches of a loom, each from any point that is there by then."""
    dice = random.Random(seed)
    return [(f"p{dice.randint(0, n)}", f"p{n + 1}") for n in range(branches)]


def loom_book(path: Path, branches: Sequence[tuple[str, str]]) -> None:
    """A job with a lamp at the end of each branch, fed and earthed where the loom begins."""
    lamps = range(len(branches))
    wires = [(f"{n}", f"battery:{n}", f"lamp {n}:feed", "red", "5 W", "none") for n in lamps]
    wires += [(f"{n}e", f"lamp {n}:earth", f"frame:{n}", "black", "", "") for n in lamps]
    places = [(what, "p0", 100) for what in ("battery", "frame")]
    places += [(f"lamp {n}", end, 120) for n, (_, end) in enumerate(branches)]
    _sheets(
        path,
        Circuits=[("wire", "from", "to", "colour", "load", "fuse"), *wires],
        Loom=[("from", "to", "length m"), *((*branch, 0.3) for branch in branches)],
        Components=[("component", "at", "tail mm"), *places],
    )


def chain_book(path: Path, lamps: int) -> None:
    """A job of lamps of 1 mA, each fed from the one before, and earthed."""
    points = ["battery:+", *(f"lamp {n}:feed" for n in range(lamps))]
    wires = [
        (f"{n}", points[n], points[n + 1], "red", "0.001 A", "none", 0.1) for n in range(lamps)
    ]
    wires += [
        (f"{n}e", f"lamp {n}:earth", f"frame:{n}", "black", "", "", 0.1) for n in range(lamps)
    ]
    _sheets(path, Circuits=[("wire", "from", "to", "colour", "load", "fuse", "length"), *wires])


def _sheets(path: Path, **sheets: Sequence[Sequence[Any]]) -> None:
    with xlsxwriter.Workbook(path) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for number, row in enumerate(rows):
                sheet.write_row(number, 0, row)
