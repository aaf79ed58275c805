"""What `bom quote` prints: the estimate for the workshop's own eyes, and the customer's sheet."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from bom.files.spelling import fold, plain
from bom.files.table import FootLine, Heading, Table
from bom.show.for_customer import what_is_in_it
from bom.show.shared import (
    ESTIMATE,
    came_out,
    first_of,
    likely,
    likely_for_customer,
    quantity,
    quote_cautions,
    so_far,
)
from bom.trade.needs import LABOUR, Taken
from bom.trade.problem import counted
from bom.trade.quotes import Quote
from bom.trade.shelf import Stock

if TYPE_CHECKING:
    from bom.job import Job


def quote_tables(quote: Quote, tax_percent: Decimal, said: Sequence[str] = ()) -> tuple[Table, ...]:
    """Cost and price of every line; in .xlsx the sums follow a changed price.

    `said` are sentences on the quotation as it was given, and on what is still on order.
    """
    labour = f'SUMIF({{group}},"{LABOUR}",{{price}})'
    materials = "materials" if quote.complete else "materials so far"
    return (
        Table.of(
            "estimate",
            quote.lines,
            Heading("group", lambda line: line.group, gives_way=1),
            Heading("item", lambda line: line.item, wide=48),
            *quantity("quantity"),
            Heading("cost", lambda line: line.cost, "money"),
            Heading("price", lambda line: line.priced, "money"),
            footer=(
                (materials, quote.materials, f"SUM({{price}})-{labour}"),
                ("labour", quote.labour, labour),
                *_taxed(quote, tax_percent),
            ),
            notes=(
                likely(quote),
                came_out(quote),
                so_far(quote),
                *said,
                *quote_cautions(ESTIMATE),
            ),
        ),
    )


def on_order_lines(parts: Sequence[Taken]) -> Iterator[str]:
    """What of the materials is still on order, at the price that it was ordered at."""
    if parts:
        items = counted(len({part.item for part in parts}), "item")
        numbers = ", ".join(dict.fromkeys(part.order for part in parts))
        yield f"still on order, at the price ordered: {items} ({numbers})"


def ordered_lines(job: str, stock: Stock) -> Iterator[str]:
    """What a job's goods cost that is no part of its price once they are ordered for it."""
    if fold(job) in stock.issued:
        return
    own = [line for line in stock.orders if line.packs and fold(job) in map(fold, line.jobs)]
    if numbers := ", ".join(dict.fromkeys(line.number for line in own)):
        beside = "what their delivery costs, and what is over of their packs and reels"
        registered = "nor in the materials at cost that --give registers"
        yield f"ordered for it ({numbers}): {beside}, is not in the price, {registered}"


def customer_tables(job: "Job", quote: Quote, given: Sequence[str] = ()) -> tuple[Table, ...]:
    """The sheet the customer sees: groups and sums, no cost, no markup, no supplier.

    It has a range only where its total lies in that; a price that is fixed has none.
    """
    heading = job.rules.heading
    who = " for ".join(filter(None, (job.book.machine, job.book.customer))) if job.book else ""
    incomplete = "" if quote.complete else " (incomplete)"
    return (
        Table.of(
            f"{heading}: {job.name}" + (f", {who}" if who else "") + incomplete,
            quote.shown_groups.items(),
            Heading("what", lambda group: group[0], wide=48),
            Heading("price", lambda group: group[1], "money"),
            footer=_taxed(quote, job.rules.tax_percent),
            notes=(
                likely_for_customer(quote, heading),
                so_far(quote, first_of),
                *what_is_in_it(job),
                *given,
                *quote_cautions(heading),
            ),
        ),
    )


def _taxed(quote: Quote, tax_percent: Decimal) -> tuple[FootLine, ...]:
    """Net, tax and total; while something has no price there is no such thing as the total."""
    percent, rest = plain(tax_percent), "" if quote.complete else " so far"
    net, tax = f"net{rest}", f"tax {percent} %{rest}"
    sums = (
        (net, quote.net, "SUM({price})"),
        (tax, quote.tax, f"ROUND({{{net}}}*{percent}/100,2)"),
    )
    return (*sums, ("TOTAL", quote.total, f"{{net}}+{{{tax}}}")) if quote.complete else sums
