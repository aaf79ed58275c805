"""Doubt: what the unknowns marked in a job book do to its total.

A doubt is taken as one standard deviation of what its row says, and the unknowns as
independent: the deviation of the total is the root of the sum of the squares of what each
does to it alone (JCGM 100:2008, 5.1.2, equation 10).  What each does is found by working
the job out again with that row changed by its doubt (5.1.3: the variation that the
deviation of one input makes).  Nothing is bought again: a changed quantity is priced at
what the estimate charges for one.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct
from msgspec.structs import replace

from bom.trade.catalogue import Catalogue
from bom.trade.figures import allowed_hours, round_money
from bom.trade.house import HouseRules
from bom.trade.job_book import Branch, Component, JobBook, LabourRow
from bom.trade.needs import LineKey, Need, Takeoff
from bom.trade.orders import PriceBook
from bom.trade.problem import Problem, Where, caution
from bom.trade.quotes import Effect, Quote, Range

Setting = tuple[HouseRules, Catalogue, PriceBook]


class Unknown(Struct, frozen=True, kw_only=True):
    """A doubtful row, and the job book with that row alone raised or lowered by its doubt."""

    what: str
    where: Where
    doubt_percent: Decimal
    raised: JobBook
    lowered: JobBook


class Worked(Struct, frozen=True, kw_only=True):
    """What a job book comes to before prices: its take-off and its own rows of labour."""

    takeoff: Takeoff
    labour: tuple[LabourRow, ...]


class Tried(Struct, frozen=True, kw_only=True):
    """An unknown with what its changed book comes to; None where that stops with errors."""

    unknown: Unknown
    worked: Worked | None
    lowered: bool = False


# ------------------------------------------------------------------------------ unknowns


def unknowns(book: JobBook) -> tuple[Unknown, ...]:
    """Every row with a doubt, sheet by sheet; empty where nothing is marked.

    On the Loom the length is unsure, on Components tail and load at once, on Labour the hours.
    """
    return (*_branches(book), *_components(book), *_labour(book))


def _branches(book: JobBook) -> Iterator[Unknown]:
    for index, branch in enumerate(book.branches):
        if branch.doubt_percent:

            def changed(factor: Fraction, at: int = index, branch: Branch = branch) -> JobBook:
                other = replace(branch, length_mm=branch.length_mm * factor)
                rows = (*book.branches[:at], other, *book.branches[at + 1 :])
                return replace(book, branches=rows)

            where = branch.row.where("doubt")
            yield _unknown(f"branch {branch}", where, branch.doubt_percent, changed)


def _components(book: JobBook) -> Iterator[Unknown]:
    for name, component in book.components.items():
        if component.doubt_percent and component.row:

            def changed(
                factor: Fraction, name: str = name, component: Component = component
            ) -> JobBook:
                return replace(
                    book, components={**book.components, name: _scaled(component, factor)}
                )

            where = component.row.where("doubt")
            yield _unknown(f"component {name}", where, component.doubt_percent, changed)


def _scaled(component: Component, factor: Fraction) -> Component:
    load = component.load
    if load:
        load = replace(load, amount=load.amount * factor)
    return replace(component, tail_mm=component.tail_mm * factor, load=load)


def _labour(book: JobBook) -> Iterator[Unknown]:
    for index, row in enumerate(book.labour):
        if row.doubt_percent:

            def changed(factor: Fraction, at: int = index, row: LabourRow = row) -> JobBook:
                hours = row.hours * factor.numerator / factor.denominator
                rows = (*book.labour[:at], replace(row, hours=hours), *book.labour[at + 1 :])
                return replace(book, labour=rows)

            yield _unknown(f"task {row.task}", row.row.where("doubt"), row.doubt_percent, changed)


def _unknown(
    what: str, where: Where, percent: Decimal, changed: Callable[[Fraction], JobBook]
) -> Unknown:
    share = Fraction(percent) / 100
    return Unknown(
        what=what,
        where=where,
        doubt_percent=percent,
        raised=changed(1 + share),
        lowered=changed(1 - share),
    )


# --------------------------------------------------------------------------------- range


def spread(estimate: Quote, base: Worked, tried: Sequence[Tried], setting: Setting) -> Range | None:
    """The total and one deviation down and up, with tax, to the penny; None without unknowns.

    `likely` is the total as quoted, and `low` never under 0.  Of an estimate that is not
    complete it is the range of what is priced.
    """
    if not tried:
        return None
    prices = _Prices(estimate, setting)
    parts = tuple(_part(each, base, prices, setting) for each in tried)
    deviation = root_of_squares(part.effect for part in parts if part.effect is not None)
    return Range(
        low=max(Decimal("0.00"), round_money(estimate.total - deviation)),
        likely=estimate.total,
        high=round_money(estimate.total + deviation),
        parts=parts,
    )


def root_of_squares(effects: Iterable[Decimal]) -> Decimal:
    """The deviation of a sum of independent effects (JCGM 100:2008, 5.1.2, equation 10).

    Squares are summed exactly, so that the order of the rows does not matter.

    >>> root_of_squares([Decimal(3), Decimal(-4)])
    Decimal('5')
    """
    square = sum((Fraction(effect) ** 2 for effect in effects), Fraction(0))
    return _decimal(square).sqrt()


def left_out(spread: Range, estimate: Quote) -> tuple[Problem, ...]:
    """Cautions for doubts that the range does not hold, or not whole.

    What has no price in the estimate itself is told there and not again.
    """
    return tuple(_left_out(spread.parts, frozenset(estimate.unpriced)))


def _left_out(parts: Iterable[Effect], known: frozenset[str]) -> Iterator[Problem]:
    for part in parts:
        percent = f"{part.doubt_percent.normalize():f} %"
        if part.effect is None:
            says = (
                f"{part.what}: the job has errors with {percent} more and with {percent} less, so "
                "that this doubt is left out of the range"
            )
            yield caution(part.where, says, "a smaller doubt")
        for item in part.unpriced:
            if item not in known:
                says = f"{part.what}: the range leaves out '{item}', which has no price"
                yield caution(part.where, says, "a row for it in prices")


def _part(tried: Tried, base: Worked, prices: "_Prices", setting: Setting) -> Effect:
    rules, catalogue, _ = setting
    effect: Decimal | None = None
    unpriced: tuple[str, ...] = ()
    if tried.worked:
        before, after = base, tried.worked
        materials, unpriced = prices.change(before.takeoff.needs, after.takeoff.needs)
        more = _hours(after, catalogue) - _hours(before, catalogue)
        worked = allowed_hours(more, rules.labour_percent)
        net = materials + worked * Fraction(rules.hourly_rate)
        effect = _decimal(net * (1 + Fraction(rules.tax_percent) / 100))
    return Effect(
        what=tried.unknown.what,
        where=tried.unknown.where,
        doubt_percent=tried.unknown.doubt_percent,
        effect=effect,
        lowered=tried.lowered,
        unpriced=unpriced,
    )


def _hours(worked: Worked, catalogue: Catalogue) -> Fraction:
    counted = sum(
        (
            count * catalogue.labour[name].minutes / 60
            for name, count in worked.takeoff.counts.items()
            if name in catalogue.labour
        ),
        Fraction(0),
    )
    return counted + sum(Fraction(row.qty) * Fraction(row.hours) for row in worked.labour)


class _Prices:
    """What one of anything is charged at: as on its line of the estimate, else by the lists."""

    def __init__(self, estimate: Quote, setting: Setting) -> None:
        rules, _, self.lists = setting
        self.markup = 1 + Fraction(rules.markup_percent) / 100
        self.charged: dict[tuple[str, str], Fraction | None] = {}
        for line in estimate.lines:  # materials come first: a task of that name is no price
            each = None
            if line.cost is not None and line.quantity:
                each = Fraction(line.price) / Fraction(line.quantity)
            self.charged.setdefault((line.item, line.unit), each)

    def change(
        self, before: Sequence[Need], after: Sequence[Need]
    ) -> tuple[Fraction, tuple[str, ...]]:
        """What the changes of the needs come to, net of tax, and the items without a price."""
        net, unpriced = Fraction(0), []
        was, now = _quantities(before), _quantities(after)
        for need in {need.line_key: need for need in (*before, *after)}.values():
            more = now.get(need.line_key, Fraction(0)) - was.get(need.line_key, Fraction(0))
            each = self._each(need) if more else Fraction(0)
            if each is None:
                unpriced.append(need.item)
            else:
                net += more * each
        return net, tuple(unpriced)

    def _each(self, need: Need) -> Fraction | None:
        each = self.charged.get((need.item, need.unit))
        if each is not None:
            return each
        listed = self.lists.unit_price(need.item, need.gauge, need.colour, need.unit)
        return None if listed is None else Fraction(listed) * self.markup


def _quantities(needs: Iterable[Need]) -> Mapping[LineKey, Fraction]:
    found: dict[LineKey, Fraction] = {}
    for need in needs:
        found[need.line_key] = found.get(need.line_key, Fraction(0)) + Fraction(need.quantity)
    return found


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)
