"""The estimate as types, and how far its total may be off; money as `Decimal`."""

import re
from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Final, Literal, TypeAlias

from msgspec import Struct

from bom.trade.needs import LABOUR
from bom.trade.problem import Where
from bom.trade.rows import Listing, Row


class Effect(Struct, frozen=True, kw_only=True):
    """What one doubtful row does to the total, in the currency of the house, with tax.

    `effect` is the change of the total when the row is raised by its doubt (lowered, where
    `lowered` says so), not rounded; None where the job stops with errors either way.
    """

    what: str
    where: Where
    doubt_percent: Decimal
    effect: Decimal | None
    lowered: bool = False
    unpriced: tuple[str, ...] = ()
    """Items whose quantity changes but that have no price: they are not in the effect."""


class CameOut(Struct, frozen=True, kw_only=True):
    """How finished jobs came out beside what would be quoted for them now, in per cent."""

    more_percent: float
    """The mean: so much more was used."""
    spread_percent: float
    """One standard deviation between jobs."""
    jobs: int


class Past(Struct, frozen=True, kw_only=True):
    """What the finished jobs of a workshop say of a quotation.

    `factor` is of their spread; `held` are those of the jobs that it holds when each is left out
    in turn, None where they are too few for that.
    """

    hours: CameOut
    materials: CameOut | None
    factor: float
    held: int | None


class Range(Struct, frozen=True, kw_only=True):
    """The total as quoted, and what it may come to, all with tax.

    That is one standard deviation down and up, or, where finished jobs tell of it, what nine in
    ten would come to.
    """

    low: Decimal
    likely: Decimal
    high: Decimal
    parts: tuple[Effect, ...]
    past: Past | None = None

    @property
    def outside(self) -> Literal["", "under", "over"]:
        """Where the total as quoted lies, if finished jobs let expect another one altogether."""
        if self.low <= self.likely <= self.high:
            return ""
        return "under" if self.likely < self.low else "over"


class QuoteLine(Struct, frozen=True, kw_only=True):
    """One line of the estimate; `cost` is ours, `price` the customer's, both net of tax.

    Without a cost it has no price either, and its `price` of 0 is not one: `priced` says so.
    """

    group: str
    item: str
    quantity: Decimal
    unit: str
    cost: Decimal | None
    price: Decimal
    hours: Decimal | None = None
    """What labour takes, all of it."""

    @property
    def priced(self) -> Decimal | None:
        """Its price; None where nobody knows it."""
        return None if self.cost is None else self.price


class Quote(Struct, frozen=True, kw_only=True):
    """The estimate: sums of rounded lines, tax on the total.

    While something is `unpriced` all sums but labour are of what is priced so far, and are called
    that wherever they are shown.
    """

    lines: tuple[QuoteLine, ...]
    materials: Decimal
    labour: Decimal
    net: Decimal
    tax: Decimal
    total: Decimal
    complete: bool
    unpriced: tuple[str, ...]
    range: Range | None = None
    """How far the total may be off; None where no row of the job has a doubt."""

    @property
    def groups(self) -> dict[str, Decimal]:
        """The price of each group, which is all of the lines that a customer sees."""
        found: dict[str, Decimal] = defaultdict(Decimal)
        for line in self.lines:
            found[line.group] += line.price
        return dict(found)

    @property
    def shown_groups(self) -> dict[str, Decimal | None]:
        """The same by what the customer reads; a group of which nothing is priced has no price."""
        partly = {line.group for line in self.lines if line.cost is None}
        return {
            f"{group}, so far" if group in partly and price else group: price
            if price or group not in partly
            else None
            for group, price in self.groups.items()
        }

    @property
    def at_cost(self) -> Decimal:
        """What the job costs the house beside its hours: materials, and what their delivery is."""
        return sum(
            (line.cost or Decimal() for line in self.lines if line.group != LABOUR), Decimal()
        )

    @property
    def hours(self) -> Decimal:
        """What all its labour takes."""
        return sum((line.hours or Decimal() for line in self.lines), Decimal())


# ------------------------------------------------------------------ given to the customer

YES: Final = "yes"
"""What the owner writes where it is so, and no day or amount is known."""

DECLINED: Final = "no"
"""What the owner writes under `accepted` where the customer does not want it."""

Settled: TypeAlias = Decimal | date | Literal["yes"] | None
"""So much money, or all of it: on that day, or at any time; None: not yet."""

_REPLACED = re.compile(r"replaced by ([^;]+)")


class GivenQuote(Struct, frozen=True, kw_only=True):
    """A quotation as it was given, and what came of it: a row of the register.

    `total`, `deposit`, `billed` and `paid` are with tax, `net` and `at_cost` without; `at_cost`
    and `hours` are the plan's of that day.  One that was given though items had no price has
    neither net nor total, nor what its materials cost.  `accepted` is a day, `yes`, `no`, or
    nothing yet.  `unread` are the headings whose cells of this row are not understood.
    """

    number: str
    job: str
    given: date
    net: Decimal | None
    total: Decimal | None
    customer: str = ""
    machine: str = ""
    valid_until: date | None = None
    accepted: str = ""
    deposit: Decimal | None = None
    billed: Settled = None
    paid: Settled = None
    at_cost: Decimal | None = None
    hours: Decimal | None = None
    note: str = ""
    row: Row | None = None
    unread: frozenset[str] = frozenset()

    @property
    def is_declined(self) -> bool:
        """The customer does not want it."""
        return self.accepted == DECLINED

    @property
    def is_accepted(self) -> bool:
        """The customer said so, or pays for it, or is asked to."""
        settled = (self.deposit, self.billed, self.paid)
        return not self.is_declined and bool(self.accepted or any(settled))

    @property
    def replaced_by(self) -> str:
        """The number of the quotation that was given in its place, or ''."""
        found = _REPLACED.search(self.note)
        return found[1].strip() if found else ""

    @property
    def turn(self) -> tuple[date, bool, tuple[int, ...], str]:
        """When it was given: by its day, and of one day what was replaced first, then by number."""
        figures = tuple(map(int, re.findall("[0-9]+", self.number)))
        return self.given, not self.replaced_by, figures, self.number.casefold()

    @property
    def amount(self) -> Decimal:
        """What it comes to with tax: as billed, where that is another amount than was quoted."""
        return self.billed if isinstance(self.billed, Decimal) else self.total or Decimal()

    @property
    def has_amount(self) -> bool:
        """It was quoted whole, or an amount was billed."""
        return self.total is not None or isinstance(self.billed, Decimal)

    @property
    def received(self) -> Decimal:
        """What the customer has paid."""
        deposit = self.deposit or Decimal()
        if isinstance(self.paid, Decimal):
            return deposit + self.paid
        return deposit if self.paid is None else self.amount


class Register(Struct, frozen=True, kw_only=True):
    """The quotations in the order of their giving, and where their list stands."""

    rows: tuple[GivenQuote, ...] = ()
    listing: Listing | None = None


class Figures(Struct, frozen=True, kw_only=True):
    """What a quotation said, kept beside its paper: its groups without tax, and its sums.

    With `unpriced` items it was incomplete, and its sums are of what was priced so far.
    """

    number: str
    given: date
    groups: Mapping[str, Decimal]
    unpriced: tuple[str, ...] = ()
    net: Decimal
    tax: Decimal
    total: Decimal
