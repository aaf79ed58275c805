"""The price: materials at what they cost us, labour by counted operations, tax.

Each line is rounded to the penny first, tax is worked out on the total (EN 16931).
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from bom.trade.catalogue import Catalogue
from bom.trade.figures import allowed_hours, round_money, tax_on
from bom.trade.house import HouseRules
from bom.trade.job_book import LabourRow
from bom.trade.needs import LABOUR, Allotment, CutList, LineKey, Need, Taken, Takeoff
from bom.trade.orders import Order, PriceBook, Purchase
from bom.trade.quotes import Quote, QuoteLine

DELIVERY = "delivery"


def quote(
    takeoff: Takeoff,
    goods: tuple[Allotment, Order, CutList],
    labour: Sequence[LabourRow],
    setting: tuple[HouseRules, Catalogue, PriceBook],
) -> Quote:
    """The estimate in the currency of the house, all sums without tax but the total.

    A line is costed at what its purchase costs and, for what comes off the shelf, at
    its recorded cost (the lowest price in the lists where none is recorded).  A line
    that has neither is `unpriced`, and the quote not complete.
    """
    rules, catalogue, _ = setting
    pricer = _Pricer(goods, setting)
    lines = [pricer.line(needs) for needs in _alike(takeoff.needs)]
    lines += pricer.delivery()
    work = [_labour_line(task, rules) for task in tasks(takeoff.counts, labour, catalogue)]
    materials = sum((line.price for line in lines), Decimal("0.00"))
    worked = sum((line.price for line in work), Decimal("0.00"))
    net = materials + worked
    tax = tax_on(net, rules.tax_percent)
    unpriced = tuple(line.item for line in lines if line.cost is None)
    return Quote(
        lines=(*lines, *work),
        materials=materials,
        labour=worked,
        net=net,
        tax=tax,
        total=net + tax,
        complete=not unpriced,
        unpriced=unpriced,
    )


def _alike(needs: Iterable[Need]) -> Iterable[Sequence[Need]]:
    """Needs of one item together: an extra may be more of what is counted already."""
    groups: dict[LineKey, list[Need]] = defaultdict(list)
    for need in needs:
        groups[need.line_key].append(need)
    return groups.values()


class _Pricer:
    def __init__(
        self,
        goods: tuple[Allotment, Order, CutList],
        setting: tuple[HouseRules, Catalogue, PriceBook],
    ) -> None:
        allotment, order, cut_list = goods
        self.rules, catalogue, self.prices = setting
        self.groups = catalogue.kinds
        self.order = order
        self.taken: dict[LineKey, list[Taken]] = defaultdict(list)
        for part in (*allotment.taken, *cut_list.taken):
            key = (part.item, part.gauge, str(part.colour or ""))
            self.taken[key, part.unit].append(part)
        self.bought: dict[LineKey, list[Purchase]] = defaultdict(list)
        for line in order.lines:
            self.bought[line.key, line.unit].append(line)
        self.from_new = {missing.key: missing.quantity for missing in cut_list.short}
        self.unpriced = {(missing.key, missing.unit) for missing in order.unpriced}

    def line(self, needs: Sequence[Need]) -> QuoteLine:
        """Needs of one item with their cost to us and their price, each rounded."""
        need = needs[0]
        key = need.line_key
        costs = [self._off_the_shelf(need, part) for part in self.taken[key]]
        costs += self._purchases(self.bought[key])
        known = [cost for cost in costs if cost is not None]
        missing = key in self.unpriced or len(known) < len(costs)
        cost = None if missing else round_money(sum(known, Decimal()))
        return QuoteLine(
            group=self.groups[need.kind],
            item=need.item,
            quantity=sum((alike.quantity for alike in needs), Decimal()),
            unit=need.unit,
            cost=cost,
            price=self._marked_up(cost or Decimal()),
        )

    def _off_the_shelf(self, need: Need, part: Taken) -> Decimal | None:
        if part.cost is not None:
            return part.cost
        each = self.prices.unit_price(need.item, need.gauge, need.colour, need.unit)
        return None if each is None else each * part.quantity

    def _purchases(self, lines: Sequence[Purchase]) -> list[Decimal | None]:
        """What is bought of an item, less what its left-over cable is worth to the house."""
        if not lines or lines[0].kind != "cable":
            return [line.cost for line in lines]
        bought = sum((line.bought for line in lines), Decimal())
        left = 1 - min(Decimal(1), self.from_new.get(lines[0].key, Decimal()) / bought)
        return [line.cost * (1 - left * self.rules.leftover_worth) for line in lines]

    def delivery(self) -> Iterator[QuoteLine]:
        """Postage, one line a supplier that charges it."""
        for supplier, postage in self.order.postage.items():
            if postage:
                yield QuoteLine(
                    group=DELIVERY,
                    item=f"delivery, {supplier}",
                    quantity=Decimal(1),
                    unit="each",
                    cost=postage,
                    price=self._marked_up(postage),
                )

    def _marked_up(self, cost: Decimal) -> Decimal:
        return round_money(cost * (1 + self.rules.markup_percent / 100))


class Task(Struct, frozen=True, kw_only=True):
    """Work of one kind: counted operations or a row of the Labour sheet, with all its hours."""

    name: str
    quantity: Decimal
    unit: str
    hours: Fraction


def tasks(
    counts: Mapping[str, Fraction], rows: Iterable[LabourRow], catalogue: Catalogue
) -> Iterator[Task]:
    """Counted operations, then the rows of the Labour sheet; without `labour_percent`."""
    for name, count in counts.items():
        operation = catalogue.labour.get(name)
        if count and operation:
            unit = "m" if operation.per == "metre" else operation.per
            hours = count * operation.minutes / 60
            yield Task(name=name, quantity=_decimal(count), unit=unit, hours=hours)
    for row in rows:
        hours = Fraction(row.qty) * Fraction(row.hours)
        yield Task(name=row.task, quantity=row.qty, unit="each", hours=hours)


def _labour_line(task: Task, rules: HouseRules) -> QuoteLine:
    hours = allowed_hours(task.hours, rules.labour_percent)
    price = round_money(_decimal(hours * Fraction(rules.hourly_rate)))
    return QuoteLine(
        group=LABOUR,
        item=task.name,
        quantity=task.quantity,
        unit=task.unit,
        cost=price,
        price=price,
        hours=_decimal(hours),
    )


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)
