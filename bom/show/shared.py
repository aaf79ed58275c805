"""What tables, papers and sentences say alike."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from math import ceil
from typing import TypeAlias

from msgspec import Struct

from bom.estimate import Bought
from bom.files.table import Heading
from bom.trade.needs import Need, Offcut, Short, Taken
from bom.trade.problem import counted
from bom.trade.quotes import Quote, QuoteLine, Range

BENCH_CAUTIONS = (
    "Disconnect the battery first, earth side first, and put it on last.",
    "No heat gun, flame or soldering iron near petrol: tank off, doors open.",
    "A battery on charge gives off hydrogen: no sparks, no flame, and let air in.",
    "Pull on every crimp; make again the one that moves.",
    "No solder where it shakes: the strands break beside it.",
    "A fuse sits at the battery, before anything else on its feed.",
    "Test continuity and shorts to earth of every wire before first power.",
    "First power goes through a small fuse or a lamp in series.",
    "Measure the charging voltage after the first start, in the open air.",
    "Check lights, horn, brake lamp and kill switch; road test before handing over.",
    "Local rules come first; where the law asks for a licensed practitioner, use one.",
)
RECORD_CAUTIONS = (
    BENCH_CAUTIONS[0],
    "A fuse that blew has a cause: find it first, then fit one of the same amps.",
    "Look before you cut: the colour, then continuity from end to end; others may have "
    "worked on the machine since.",
    *BENCH_CAUTIONS[-1:],
)
ESTIMATE = "Estimate"
"""The heading of what may change; the other one is of a price that is fixed."""
_ROAD = (
    "Lights and brake lamp are tested before the machine goes back on the road; local rules "
    "apply, and work that the law keeps for licensed practitioners is theirs."
)


def quote_cautions(heading: str) -> tuple[str, str]:
    """What stands under a price, by the word that stands over it."""
    if heading == ESTIMATE:
        return "An estimate: what is found when the old loom comes out may change it.", _ROAD
    return "What is found when the old loom comes out is agreed before it is done.", _ROAD


Measured: TypeAlias = Need | Short | Taken | QuoteLine
"""What has a quantity in a unit: `mm` for lengths, but `m` on a line of labour."""

FEW = 5
"""So many names stand in a sentence; of more only the number."""


_FIRST = 3
"""So many of what has no price are named to the customer, and where a paper is refused."""


def few(items: Sequence[str]) -> str:
    """The items by name, or where they are many their number."""
    return ", ".join(items) if len(items) <= FEW else f"{len(items)} items"


def in_metres(amount: Measured) -> tuple[Decimal, str]:
    """Lengths in metres to the next centimetre up, for people; all else as it is."""
    if amount.unit == "m":
        return round(amount.quantity, 2), "m"
    if amount.unit == "mm":
        return (amount.quantity / 1000).quantize(Decimal("0.01"), "ROUND_CEILING"), "m"
    return amount.quantity, amount.unit


def quantity(name: str) -> tuple[Heading[Measured], Heading[Measured]]:
    """The columns of a quantity and its unit, lengths in metres."""
    return (
        Heading(name, lambda amount: in_metres(amount)[0], "quantity"),
        Heading("unit", lambda amount: in_metres(amount)[1]),
    )


class Unsold(Struct, frozen=True, kw_only=True):
    """What is to be bought and nobody sells, as a line of an order: its price is left blank."""

    item: str
    sold_as: str
    packs: int
    jobs: tuple[str, ...]
    pack: Decimal = Decimal(1)
    supplier: str = ""
    part_no: str = ""
    price: None = None
    cost: None = None


def unsold(missing: Short) -> Unsold:
    """By whole metres, pieces, or what the owner counts it in: how it is sold nobody knows yet."""
    whole = ceil(missing.quantity / 1000 if missing.unit == "mm" else missing.quantity)
    sold_as = "metre" if missing.unit == "mm" else missing.unit
    return Unsold(item=missing.item, sold_as=sold_as, packs=whole, jobs=missing.jobs)


def have_no_price(items: int) -> str:
    """So many items, in words."""
    return f"{counted(items, 'item')} {'has' if items == 1 else 'have'} no price"


def first_of(items: Sequence[str]) -> str:
    """The first items by name, and how many more there are: a customer is not read a list."""
    more = len(items) - _FIRST
    return "; ".join(items[:_FIRST]) + (f" and {more} more" if more > 0 else "")


def so_far(estimate: Quote, named: Callable[[Sequence[str]], str] = "; ".join) -> str | None:
    """What stands in place of the total while something has no price, and what that is."""
    if estimate.complete:
        return None
    without = estimate.unpriced
    return f"so far {estimate.total:.2f}; {have_no_price(len(without))}: {named(without)}"


def left_over(bought: Bought) -> list[tuple[Offcut, str]]:
    """What is left of each opened piece, and what becomes of it."""
    useful = bought.jobs[0].rules.useful_offcut_mm
    return [
        (offcut, "back on the shelf" if offcut.length_mm >= useful else "scrap")
        for offcut in bought.cut_list.offcuts
        if offcut.length_mm
    ]


def incomplete(heading: str) -> str:
    """What a customer is told where some parts have no price, by the word over the price."""
    return f"This {heading.casefold()} is incomplete: some parts have no price yet."


Money: TypeAlias = Callable[[Decimal], str]
"""How an amount is written."""


def likely(estimate: Quote, money: Money = "{:.2f}".format) -> str | None:
    """The range that finished jobs or the marked doubts leave; one figure where jobs are alike."""
    found = estimate.range
    if found is None or (found.low == found.high and not found.past):
        return None
    learned = f", as {found.past.hours.jobs} finished jobs came out" if found.past else ""
    return f"likely {ends_of(found, money)}{learned}"


def ends_of(found: Range, money: Money = "{:.2f}".format) -> str:
    """Both ends of a range, or the one figure that it is."""
    low, high = money(found.low), money(found.high)
    return low if low == high else f"between {low} and {high}"


def likely_for_customer(
    estimate: Quote, heading: str, money: Money = "{:.2f}".format
) -> str | None:
    """The same under an estimate whose total lies in it; a price that is fixed has none."""
    found = estimate.range
    has_one = heading == ESTIMATE and found is not None and not found.outside
    return likely(estimate, money) if has_one else None


def came_out(estimate: Quote) -> str | None:
    """How far hours and materials of finished jobs were off, for the workshop's own eyes."""
    found = estimate.range
    if found is None or found.past is None:
        return None
    told = (("hours", found.past.hours), ("materials", found.past.materials))
    off = ", ".join(
        f"{what} {one.more_percent:+.0f} % (spread {one.spread_percent:.0f} %, {one.jobs} jobs)"
        for what, one in told
        if one
    )
    return f"beside what is quoted now: {off}"
