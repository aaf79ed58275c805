"""The cost sheet as a workbook that goes on reckoning: a changed rate changes the price."""

from collections.abc import Sequence
from decimal import Decimal

from bom.estimate import Bought
from bom.files.table import Heading, Table
from bom.job import Job
from bom.show.check_tables import check_tables
from bom.show.cut_tables import cut_tables
from bom.show.order_tables import order_tables
from bom.show.shared import have_no_price, quantity
from bom.show.takeoff_tables import takeoff_tables
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
    return (
        _price_table(job, estimate),
        _rates_table(job.rules),
        _materials_table([line for line in estimate.lines if line.group != LABOUR]),
        _labour_table([line for line in estimate.lines if line.group == LABOUR]),
    )


def _price_table(job: Job, estimate: Quote) -> Table:
    """Sums of the other sheets; only whole lines are rounded, and tax on the net sum."""
    rest = "" if estimate.complete else " so far"
    net, last = f"net{rest}", "TOTAL" if estimate.complete else "so far"
    tax = f"ROUND({{{net}}}*{_CELL['tax_percent']}/100,2)"
    without = f"{have_no_price(len(estimate.unpriced))}: {'; '.join(estimate.unpriced)}"
    return Table.of(
        "price",
        (job,),
        Heading("what", lambda job: job.name),
        Heading("price", lambda _: None, "money"),
        footer=(
            (f"materials{rest}", estimate.materials, "SUM(materials!F:F)"),
            ("labour", estimate.labour, "SUM(labour!E:E)"),
            (net, estimate.net, f"{{materials{rest}}}+{{labour}}"),
            (f"tax{rest}", estimate.tax, tax),
            (last, estimate.total, f"{{{net}}}+{{tax{rest}}}"),
        ),
        notes=(
            "Change a rate on the sheet 'rates', a cost or hours: the price follows.",
            None if estimate.complete else without,
        ),
    )


def _rates_table(rules: HouseRules) -> Table:
    return Table.of(
        RATES,
        _RULES,
        Heading("rate", str),
        Heading("value", lambda rule: getattr(rules, rule), "quantity"),
        Heading("what it is", lambda rule: RULES[rule].says, wide=60),
    )


def _materials_table(lines: Sequence[QuoteLine]) -> Table:
    formula = f"ROUND({{cost}}*(1+{_CELL['markup_percent']}/100),2)"
    return Table.of(
        "materials",
        lines,
        Heading("group", lambda line: line.group),
        Heading("item", lambda line: line.item, wide=48),
        *quantity("quantity"),
        Heading("cost", lambda line: line.cost, "money"),
        Heading("price", lambda line: line.priced, "money", formula=formula),
    )


def _labour_table(lines: Sequence[QuoteLine]) -> Table:
    formula = f"ROUND({{hours}}*{_CELL['hourly_rate']},2)"
    return Table.of(
        LABOUR,
        lines,
        Heading("task", lambda line: line.item, wide=48),
        *quantity("quantity"),
        Heading("hours", lambda line: line.hours or Decimal(), "hours"),
        Heading("price", lambda line: line.price, "money", formula=formula),
    )
