"""The estimate as types, and how far its total may be off; money as `Decimal`."""

from decimal import Decimal

from msgspec import Struct

from bom.trade.problem import Where


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


class Range(Struct, frozen=True, kw_only=True):
    """The total as quoted, and one standard deviation down and up from it, all with tax."""

    low: Decimal
    likely: Decimal
    high: Decimal
    parts: tuple[Effect, ...]


class QuoteLine(Struct, frozen=True, kw_only=True):
    """One line of the estimate; `cost` is ours, `price` the customer's, both net of tax."""

    group: str
    item: str
    quantity: Decimal
    unit: str
    cost: Decimal | None
    price: Decimal
    hours: Decimal | None = None
    """What labour takes, all of it."""


class Quote(Struct, frozen=True, kw_only=True):
    """The estimate: sums of rounded lines, tax on the total."""

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
