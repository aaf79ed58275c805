"""The sheets that leave the house: the quotation, and an order for each supplier.

The customer's sheet is made of the groups and sums of the estimate alone: no cost, no markup,
no supplier.  Money and dates are written as the house's locale has them.
"""

import os
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from functools import cache, partial
from typing import TYPE_CHECKING

from bom.estimate import Bought
from bom.files.table import Heading, Table
from bom.job import Job
from bom.show.for_customer import what_is_in_it
from bom.show.paper import Shown, about
from bom.show.shared import (
    Unsold,
    first_of,
    have_no_price,
    likely_for_customer,
    quote_cautions,
    unsold,
)
from bom.trade.figures import round_money
from bom.trade.house import HouseRules
from bom.trade.money import round_price
from bom.trade.needs import ELSEWHERE
from bom.trade.orders import Purchase
from bom.trade.quotes import GivenQuote, Quote

if TYPE_CHECKING:
    from babel import Locale

PRICES_WANTED = "prices wanted"
"""The file with what nobody sells."""
_PNG = b"\x89PNG\r\n\x1a\n"


def quotation_sheet(job: Job, estimate: Quote, today: date, given: GivenQuote | None) -> Shown:
    """What the customer sees: groups and sums; number and dates of the quotation `given`.

    One that was not given, or is no longer what was given, bears no number: under that stands one
    total for ever.
    """
    rules, money = job.rules, partial(_money, job.rules)
    day = given.given if given else today
    ends = given.valid_until if given else today + timedelta(days=rules.valid_days)
    without = len(estimate.unpriced)
    rest = " so far" if without else ""
    dates = (("date", day), ("valid until", ends))
    return {
        "title": f"{rules.heading} {given.number if given else job.name}",
        "heading": rules.heading,
        "incomplete": f"Incomplete: {have_no_price(without)} yet" if without else None,
        "workshop": _letterhead(job),
        "about": about(job),
        "dates": [
            *([("number", given.number)] if given else []),
            *((name, _day(rules, day)) for name, day in dates if day),
        ],
        "included": [*_parts(rules.included), *what_is_in_it(job)],
        "excluded": _parts(rules.not_included),
        "lines": [
            (group, "" if price is None else money(price))
            for group, price in estimate.shown_groups.items()
        ],
        "sums": [
            (f"net{rest}", money(estimate.net)),
            (f"tax {_number(rules, rules.tax_percent)} %{rest}", money(estimate.tax)),
        ],
        "total": ("Total" if estimate.complete else "So far", money(estimate.total)),
        "likely": likely_for_customer(estimate, rules.heading, money),
        "notes": list(_notes(rules, estimate)),
        "terms": _parts(rules.terms),
        "cautions": quote_cautions(rules.heading),
    }


def _notes(rules: HouseRules, estimate: Quote) -> Iterator[str]:
    if not estimate.complete:
        yield f"No price yet: {first_of(estimate.unpriced)}."
    if rules.deposit_percent:
        share = rules.deposit_percent
        amount = f", {_money(rules, round_money(estimate.total * share / 100))},"
        whole = amount if estimate.complete else ""
        yield f"A deposit of {_number(rules, share)} %{whole} is asked for before work begins."


def order_sheet(bought: Bought, supplier: str, number: str, today: date) -> Shown:
    """The order at one supplier; a number that it does not have yet is left to be written in."""
    rules, money = bought.rules, partial(_money, bought.rules)
    lines = [line for line in bought.order.lines if line.supplier == supplier]
    jobs = dict.fromkeys(job for line in lines for job in line.jobs)
    to_whom = ("Order", number, "to", supplier, rules.name and f"from {rules.name}")
    listed = _order_lines(rules, lines, " ".join(filter(None, to_whom)))
    postage = bought.order.postage.get(supplier, Decimal())
    goods = sum((line.cost for line in lines), Decimal())
    return {
        "title": listed.title,
        "heading": "Order",
        "workshop": _letterhead(bought),
        "about": [
            ("to", supplier),
            ("order no", number or None),
            ("date", _day(rules, today)),
            ("for", ", ".join(jobs)),
        ],
        "headings": [heading.name for heading in listed.headings],
        "lines": listed.rows,
        "sums": [("goods", money(goods)), ("postage", money(postage))],
        "total": ("Total without tax", money(goods + postage)),
        "notes": [],
        "cautions": [],
    }


def unpriced_sheet(bought: Bought, today: date) -> Shown:
    """What nobody sells: an order with the prices, and whom it goes to, left to be written in."""
    rules, lines = bought.rules, [unsold(missing) for missing in bought.order.unpriced]
    jobs = dict.fromkeys(job for line in lines for job in line.jobs)
    listed = _order_lines(rules, lines, "To buy, prices wanted")
    return {
        "title": listed.title,
        "heading": "To buy, prices wanted",
        "workshop": _letterhead(bought),
        "about": [("from", None), ("date", _day(rules, today)), ("for", ", ".join(jobs))],
        "headings": [heading.name for heading in listed.headings],
        "lines": listed.rows,
        "sums": [],
        "total": None,
        "notes": [],
        "cautions": [],
    }


def shopping_sheet(bought: Bought, today: date) -> Shown | None:
    """The workshop's own page where something is to be found elsewhere: it is ordered of nobody."""
    rules, money = bought.rules, partial(_money, bought.rules)
    order = bought.order
    find = [line for line in order.lines if line.supplier == ELSEWHERE]
    if not find:
        return None
    without = len(order.unpriced)
    costs = dict(order.postage)
    for line in order.lines:
        costs[line.supplier] = costs.get(line.supplier, Decimal()) + line.cost
    found = costs.pop(ELSEWHERE)
    jobs = dict.fromkeys(job for line in order.lines for job in line.jobs)
    return {
        "title": "Shopping list",
        "about": [("for", ", ".join(jobs)), ("date", _day(rules, today))],
        "cautions": [],
        "orders": [(name, money(cost)) for name, cost in costs.items()],
        "find": [
            (line.item, _how_many(rules, line), _price(rules, line.price), money(line.cost))
            for line in find
        ],
        "sums": [
            ("to find", money(found)),
            (
                f"{'so far' if without else 'all'}, with postage and without tax",
                money(order.total),
            ),
        ],
        "incomplete": f"{have_no_price(without)}: see {PRICES_WANTED}.pdf" if without else None,
    }


def _how_many(rules: HouseRules, line: Purchase) -> str:
    """`40`, `2 m`, `0.75 m`, or so many at the price that stands behind it: `2 x 0.75 m`."""
    count, pack = _number(rules, Decimal(line.packs)), _number(rules, line.pack)
    unit = " m" if line.unit == "mm" else ""
    if line.pack == 1:
        return count + unit
    return pack + unit if line.packs == 1 else f"{count} x {pack}{unit}"


def _order_lines(rules: HouseRules, lines: Sequence[Purchase | Unsold], title: str) -> Table:
    """The lines by the supplier's numbers for them, where there are any."""
    money = partial(_money, rules)
    return Table.of(
        title,
        lines,
        Heading("part no", lambda line: line.part_no, shown=any(line.part_no for line in lines)),
        Heading("item", lambda line: line.item),
        Heading("sold as", lambda line: line.sold_as),
        Heading("pack", lambda line: _number(rules, line.pack)),
        Heading("packs", lambda line: _number(rules, Decimal(line.packs))),
        Heading("price", lambda line: "" if line.price is None else _price(rules, line.price)),
        Heading("cost", lambda line: "" if line.cost is None else money(line.cost)),
    )


# -------------------------------------------------------------------------- the letterhead


def _letterhead(shop: Job | Bought) -> Shown:
    """The workshop as its paper says it."""
    name = shop.rules.name or "Workshop"
    return {"name": name, "address": _parts(shop.rules.address), "logo": _logo(shop)}


def _logo(shop: Job | Bought) -> Shown | None:
    logo, folder = shop.rules.logo, shop.workshop.folder
    if not logo or folder is None:
        return None
    path = folder / logo
    if not os.path.isfile(path):
        says = f"logo '{logo}': there is no such file"
        raise ValueError(f"{says}; try: a picture beside workshop.toml")
    data = path.read_bytes()
    if data.startswith(_PNG):
        return {"kind": "png", "png": list(data)}
    if path.suffix.casefold() == ".svg":
        return {"kind": "svg", "svg": data.decode("utf-8", "replace")}
    says = f"logo '{logo}': neither a .png nor an .svg"
    raise ValueError(f"{says}; try: save the picture as one")


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(";") if part.strip()]


# --------------------------------------------------------------------- as the locale has it


@cache
def _locale(name: str) -> "Locale":
    from babel import Locale, UnknownLocaleError

    try:
        return Locale.parse(name)
    except (UnknownLocaleError, ValueError) as fault:
        says = f"locale '{name}' is not known; try: en_GB, de_DE, fr_FR ..."
        raise ValueError(says) from fault


def _money(rules: HouseRules, amount: Decimal) -> str:
    """An amount with its currency."""
    from babel.numbers import format_currency

    return str(format_currency(amount, rules.currency, locale=_locale(rules.locale)))


def _price(rules: HouseRules, price: Decimal) -> str:
    """A price with its currency and all decimals it has, so that times the packs it is the cost."""
    from babel.numbers import format_currency

    exact = round_price(price).normalize()
    locale = _locale(rules.locale)
    return str(format_currency(exact, rules.currency, locale=locale, decimal_quantization=False))


def _number(rules: HouseRules, amount: Decimal) -> str:
    """A number with the locale's decimal sign."""
    from babel.numbers import format_decimal

    return str(format_decimal(amount, format="#,##0.####", locale=_locale(rules.locale)))


def _day(rules: HouseRules, day: date) -> str:
    """A date, its month in letters."""
    from babel.dates import format_date

    return str(format_date(day, format="long", locale=_locale(rules.locale)))
