"""What the commands of orders print: what is still to come, line by line."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.shelf.moves import Placed
from bom.show.job_json import money, number, problems_out, unit_price
from bom.trade.placed import OrderLine
from bom.trade.problem import Problem, counted

FEW_LINES = 20
"""So many lines are shown together with their orders."""


class _Open(NamedTuple):
    """What is still to come of one order."""

    first: OrderLine
    jobs: tuple[str, ...]
    lines: int
    cost: Decimal | None


def orders_tables(lines: Sequence[OrderLine], asked: str = "") -> tuple[Table, ...]:
    """The orders that are still to come, with their lines where those are few; or one whole."""
    if asked:
        return (_lines_table(f"order {lines[0].number} at {lines[0].supplier}", lines, whole=True),)
    few = len(lines) <= FEW_LINES
    table = _open_table(lines, few)
    return (table, _lines_table("still to come", lines, whole=False)) if few and lines else (table,)


def _open_table(lines: Sequence[OrderLine], few: bool) -> Table:
    by_number: dict[str, list[OrderLine]] = defaultdict(list)
    for line in lines:
        by_number[line.number].append(line)
    more = None if few else "bom stock orders NUMBER shows the lines of an order"
    return Table.of(
        "on order",
        [
            _Open(
                own[0],
                tuple(dict.fromkeys(job for line in own for job in line.waiting)),
                len(own),
                _goods(own),
            )
            for own in by_number.values()
        ],
        Heading("number", lambda order: order.first.number),
        Heading("supplier", lambda order: order.first.supplier),
        Heading("since", lambda order: f"{order.first.date or ''}"),
        Heading("for", lambda order: ", ".join(order.jobs), wide=24),
        Heading("lines", lambda order: order.lines, "count"),
        Heading("goods", lambda order: order.cost, "money", total=True),
        notes=(more, _unpriced(lines)) if lines else ("nothing is on order",),
    )


def _goods(lines: Iterable[OrderLine]) -> Decimal | None:
    """What is still to be paid for the lines that have a price; None where none has."""
    known = [cost for line in lines if (cost := _still_to_pay(line)) is not None]
    return sum(known, Decimal()) if known else None


def _unpriced(lines: Iterable[OrderLine]) -> str | None:
    """How many lines the total is without."""
    without = sum(1 for line in lines if line.price is None and line.to_come)
    return f"{counted(without, 'line')} without a price, not in the total" if without else None


def _lines_table(title: str, lines: Sequence[OrderLine], *, whole: bool) -> Table:
    return Table.of(
        title,
        lines,
        Heading("number", lambda line: line.number, shown=not whole),
        Heading("item", lambda line: line.item, wide=44),
        Heading("part no", lambda line: line.part_no, shown=whole, gives_way=4),
        Heading("sold as", sold),
        Heading("ordered", lambda line: line.packs, "count", shown=whole),
        Heading("came", lambda line: line.came, "count", shown=whole),
        Heading("to come", lambda line: line.to_come, "count"),
        Heading("price", lambda line: line.price, "price", gives_way=3),
        Heading("cost", _still_to_pay, "money", total=whole),
        Heading(
            "for",
            lambda line: ", ".join(line.jobs if whole else line.waiting),
            wide=24,
            gives_way=2,
        ),
        notes=(_unpriced(lines) if whole else None,),
    )


def sold(line: OrderLine) -> str:
    """How a line is sold: `reel of 50`."""
    return line.sold_as if line.pack == 1 else f"{line.sold_as} of {plain(line.pack)}"


def _still_to_pay(line: OrderLine) -> Decimal | None:
    return None if line.price is None else line.price * line.to_come


def orders_out(lines: Iterable[OrderLine], problems: Iterable[Problem]) -> dict[str, Any]:
    """`bom stock orders`: each line, `needed` in mm or pieces beside the jobs of `for`."""
    return {
        "lines": [
            {
                "number": line.number,
                "date": None if line.date is None else f"{line.date}",
                "supplier": line.supplier,
                "item": line.item,
                "gauge": line.gauge,
                "colour": str(line.colour or ""),
                "sold_as": line.sold_as,
                "pack": number(line.pack),
                "packs": line.packs,
                "came": line.came,
                "to_come": line.to_come,
                "price": None if line.price is None else unit_price(line.price),
                "part_no": line.part_no,
                "for": list(line.jobs),
                "needed": [number(amount) for amount in line.needed],
                "note": line.note,
            }
            for line in lines
        ],
        "problems": problems_out(problems),
    }


def placed_out(placed: Iterable[Placed]) -> list[dict[str, Any]]:
    """The orders that were placed, `goods` without postage and tax."""
    return [
        {
            "number": order.number,
            "supplier": order.supplier,
            "lines": order.lines,
            "goods": money(order.goods),
        }
        for order in placed
    ]


def placed_table(placed: Iterable[Placed], file: str, *, written: bool) -> Table:
    """The numbers of the orders that were placed, or would be; one a supplier."""
    undo = "bom stock undo takes it back, while nothing of it has come"
    return Table.of(
        f"{'written' if written else 'to be written'} into Orders of {file}",
        placed,
        Heading("number", lambda order: order.number),
        Heading("supplier", lambda order: order.supplier),
        Heading("lines", lambda order: order.lines, "count"),
        Heading("goods", lambda order: order.goods, "money", total=True),
        notes=(undo if written else None,),
    )
