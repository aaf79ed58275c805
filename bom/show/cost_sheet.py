"""The cost sheet as a workbook that goes on reckoning: a changed rate changes the price."""

from collections.abc import Sequence
from decimal import Decimal

from bom.estimate import Bought
from bom.files.table import Cell, Heading, Table
from bom.job import Job
from bom.show.job_tables import check_tables, cut_tables, in_metres, order_tables, takeoff_tables
from bom.trade.house import RULES, HouseRules
from bom.trade.needs import LABOUR
from bom.trade.quotes import Quote, QuoteLine

RATES = "rates"
_RULES = ("hourly_rate", "markup_percent", "tax_percent")
_CELL = {rule: f"{RATES}!$B${row}" for row, rule in enumerate(_RULES, start=2)}
"""Where each rate stands on its sheet, under the headings."""


def job_workbook(bought: Bought, estimate: Quote) -> tuple[Table, ...]:
    """All of a job, a sheet each: price, rates and costs, take-off, cut list, order, checks."""
    job = bought.jobs[0]
    return (
        *cost_tables(job, estimate),
        *takeoff_tables(job),
        *cut_tables(bought),
        *order_tables(bought),
        *check_tables(job),
    )


def cost_tables(job: Job, estimate: Quote) -> tuple[Table, ...]:
    """The price, the rates it follows from, and the lines of materials and labour."""
    materials = [line for line in estimate.lines if line.group != LABOUR]
    labour = [line for line in estimate.lines if line.group == LABOUR]
    return (
        _price_table(job, estimate),
        _rates_table(job.rules),
        _materials_table(materials),
        _labour_table(labour),
    )


def _price_table(job: Job, estimate: Quote) -> Table:
    """Sums of the other sheets; only whole lines are rounded, and tax on the total."""
    tax = f"ROUND({{net}}*{_CELL['tax_percent']}/100,2)"
    return Table(
        title="price",
        headings=(Heading(name="what", wide=40), Heading(name="price", form="money")),
        rows=((job.name, None),),
        footer=(
            ("materials", estimate.materials, "SUM(materials!F:F)"),
            ("labour", estimate.labour, "SUM(labour!E:E)"),
            ("net", estimate.net, "{materials}+{labour}"),
            ("tax", estimate.tax, tax),
            ("TOTAL", estimate.total, "{net}+{tax}"),
        ),
        notes=(
            "Change a rate on the sheet 'rates', a cost or hours: the price follows.",
            *(() if estimate.complete else (f"without a price: {', '.join(estimate.unpriced)}",)),
        ),
    )


def _rates_table(rules: HouseRules) -> Table:
    return Table(
        title=RATES,
        headings=(
            Heading(name="rate"),
            Heading(name="value", form="quantity"),
            Heading(name="what it is", wide=60),
        ),
        rows=tuple((rule, getattr(rules, rule), RULES[rule].says) for rule in _RULES),
    )


def _materials_table(lines: Sequence[QuoteLine]) -> Table:
    return Table(
        title="materials",
        headings=(
            Heading(name="group"),
            Heading(name="item", wide=48),
            Heading(name="quantity", form="quantity"),
            Heading(name="unit"),
            Heading(name="cost", form="money"),
            Heading(
                name="price",
                form="money",
                formula=f"ROUND({{cost}}*(1+{_CELL['markup_percent']}/100),2)",
            ),
        ),
        rows=tuple(
            (line.group, line.item, *in_metres(line.quantity, line.unit), line.cost, line.price)
            for line in lines
        ),
    )


def _labour_table(lines: Sequence[QuoteLine]) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for line in lines:
        quantity, unit = in_metres(line.quantity, line.unit, already=True)
        rows.append((line.item, quantity, unit, line.hours or Decimal(), line.price))
    return Table(
        title=LABOUR,
        headings=(
            Heading(name="task", wide=48),
            Heading(name="quantity", form="quantity"),
            Heading(name="unit"),
            Heading(name="hours", form="hours"),
            Heading(
                name="price",
                form="money",
                formula=f"ROUND({{hours}}*{_CELL['hourly_rate']},2)",
            ),
        ),
        rows=tuple(rows),
    )
