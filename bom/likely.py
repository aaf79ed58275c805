"""How far the total of an estimate may be off, as types; `bom.doubt` works it out."""

from decimal import Decimal

from msgspec import Struct

from bom.problem import Where


class Part(Struct, frozen=True, kw_only=True):
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
    parts: tuple[Part, ...]
