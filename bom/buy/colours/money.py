"""What a length of cable costs at the least: reels whole, metres by the metre."""

from collections import defaultdict
from collections.abc import Sequence
from decimal import Decimal
from math import ceil

from bom.buy.colours.question import CableOffer


def worthwhile(offers: Sequence[CableOffer]) -> tuple[CableOffer, ...]:
    """The offers that no other of the same length undercuts, the longest first."""
    by_length: dict[int, list[CableOffer]] = defaultdict(list)
    for offer in sorted(offers, key=lambda o: (o.from_packs, o.price)):
        kept = by_length[offer.holds_mm]
        if offer.holds_mm > 0 and (not kept or offer.price < kept[-1].price):
            kept.append(offer)
    return tuple(offer for holds in sorted(by_length, reverse=True) for offer in by_length[holds])


def least_cost(offers: Sequence[CableOffer], mm: Decimal) -> Decimal | None:
    """The least that packs of so many mm in all cost; None where nobody sells it.

    >>> metre, reel = CableOffer(1000, Decimal("0.32")), CableOffer(50_000, Decimal("11.20"))
    >>> least_cost([metre, reel], Decimal(2500)), least_cost([metre, reel], Decimal(51_000))
    (Decimal('0.96'), Decimal('11.52'))
    """
    ladders: dict[int, list[CableOffer]] = defaultdict(list)
    for offer in worthwhile(offers):
        ladders[offer.holds_mm].append(offer)
    if mm <= 0:
        return Decimal()
    return _least([*ladders.values()], mm) if ladders else None


def _least(ladders: Sequence[Sequence[CableOffer]], mm: Decimal) -> Decimal:
    """Packs of the first ladder by trial, what is left over from the others."""
    first, rest = ladders[0], ladders[1:]
    most = max(ceil(mm / first[0].holds_mm), 0)
    alone = min(max(most, offer.from_packs) * offer.price for offer in first) if most else Decimal()
    if not rest or not most:
        return alone
    fewer = (
        _cost(first, packs) + _least(rest, mm - packs * first[0].holds_mm) for packs in range(most)
    )
    return min(alone, *fewer)


def _cost(ladder: Sequence[CableOffer], packs: int) -> Decimal:
    """So many packs, or more where that costs less."""
    costs = (max(packs, offer.from_packs) * offer.price for offer in ladder)
    return min(costs) if packs else Decimal()
