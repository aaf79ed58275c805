"""What is to be bought, as the search sees it: a want and the rows that may serve it.

A `Basket` is a choice: how many packs (metres, reels, pieces) of which row for which want.
Money here is exact; lines are rounded when the order is written.
"""

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from functools import cached_property

from msgspec import Struct

from bom.trade.needs import CableNeed, Short
from bom.trade.orders import Price, PriceBook, Supplier

Basket = Mapping[tuple[int, int], int]
"""Packs by want and row, both by number; what is not bought is not in it."""

A_HAIR = Decimal("0.000001")
"""Prices net of tax are fractions: a sum may miss a limit by less than this."""


class Want(Struct, frozen=True, dict=True):
    """One line to be bought: counted or measured, or a cable with its pieces."""

    short: Short | CableNeed
    quantity: Decimal
    """What is wanted, in units or mm; of a cable the least that the shelf cannot give."""
    rows: tuple[Price, ...]
    reel_end_mm: int = 0
    last_trim_mm: int = 0
    """The trim that a length may spare itself when its last piece ends where it does."""

    @property
    def cable(self) -> CableNeed | None:
        """The pieces, where it is a cable."""
        return self.short if isinstance(self.short, CableNeed) else None

    @property
    def measured(self) -> bool:
        """True for what is bought by its length."""
        return isinstance(self.short, CableNeed) or self.short.unit == "mm"

    def holds(self, row: Price) -> Decimal:
        """What one pack of a row gives, in units or mm."""
        whole = row.pack * (1000 if self.measured else 1)
        if self.cable is None or row.sold_as == "metre":
            return whole
        return whole - self.reel_end_mm + self.last_trim_mm

    def next_break(self, place: int) -> int | None:
        """The packs from which the next price holds for what a row sells; None for the last.

        A shop charges all packs of a line at the price that their number gives.
        """
        own = self.rows[place].from_qty
        higher = (self.rows[tier].from_qty for tier in self._tiers[place])
        return min((number for number in higher if number > own), default=None)

    def in_tiers(self, place: int) -> bool:
        """True for a row whose goods have another price by their number."""
        return len(self._tiers[place]) > 1 or self.rows[place].from_qty > 1

    @property
    def any_tiers(self) -> bool:
        """True where a price of some goods goes by their number."""
        return any(map(self.in_tiers, range(len(self.rows))))

    def tier_of(self, place: int, packs: int) -> int:
        """The row that so many packs are charged at."""
        tiers = self._tiers[place]
        return next((t for t in reversed(tiers) if self.rows[t].from_qty <= packs), tiers[0])

    @cached_property
    def _tiers(self) -> tuple[tuple[int, ...], ...]:
        """For each row the rows that are prices of the same goods by their number, rising."""
        ladders: dict[tuple[object, ...], dict[int, int]] = defaultdict(dict)
        goods = [(r.supplier, r.sold_as, r.pack, r.part_no, r.colour) for r in self.rows]
        for place, row in enumerate(
            self.rows
        ):  # of two prices for one number the lower comes first
            ladders[goods[place]].setdefault(row.from_qty, place)
        found = []
        for place, row in enumerate(self.rows):
            ladder = ladders[goods[place]]
            own = ladder[row.from_qty] == place
            found.append(tuple(ladder[n] for n in sorted(ladder)) if own else (place,))
        return tuple(found)

    def by_number(self, packs: Mapping[int, int]) -> dict[int, int]:
        """The packs by row, those of the same goods at the one price that their number gives.

        Fewer than a row is sold from become as many.
        """
        sums: dict[int, int] = defaultdict(int)
        for place, count in packs.items():
            sums[self.tier_of(place, 1)] += count
        charged = {self.tier_of(place, count): count for place, count in sums.items() if count}
        return {place: max(count, self.rows[place].from_qty) for place, count in charged.items()}

    def packs(self, row: Price) -> int:
        """Packs of this row that the quantity takes when nothing else is bought for it."""
        return math.ceil(self.quantity / self.holds(row))


class Bill(Struct, frozen=True):
    """What a basket costs: goods and postage by supplier, and what its left-overs are worth."""

    goods: Mapping[str, Decimal]
    postage: Mapping[str, Decimal]
    credit: Decimal
    under: tuple[str, ...]
    """Suppliers whose minimum is not reached."""

    @property
    def total(self) -> Decimal:
        """Goods and postage."""
        return sum(self.goods.values(), Decimal()) + sum(self.postage.values(), Decimal())

    @property
    def weight(self) -> Decimal:
        """What is to be the least: the total, less what left-overs are worth."""
        return self.total - self.credit


class Shopping(Struct, frozen=True, dict=True):
    """The whole task: wants, the terms of the suppliers, and what the house makes of left-overs."""

    wants: tuple[Want, ...]
    terms: Mapping[str, Supplier]
    leftover_worth: Decimal = Decimal(0)
    demanded: frozenset[str] = frozenset()
    """Suppliers that must be ordered from."""
    only: frozenset[str] | None = None
    """Suppliers that may be ordered from; None for all."""
    other_than: frozenset[str] = frozenset()
    """The very set of suppliers that the order must not be; empty for none."""

    @cached_property
    def suppliers(self) -> tuple[str, ...]:
        """Everyone who sells any of it, by name."""
        return tuple(sorted({row.supplier for want in self.wants for row in want.rows}))

    def used(self, basket: Basket) -> frozenset[str]:
        """The suppliers that a basket is bought from."""
        return frozenset(
            self.wants[number].rows[place].supplier
            for (number, place), packs in basket.items()
            if packs
        )

    def bill(self, basket: Basket) -> Bill:
        """What a basket costs."""
        goods: dict[str, Decimal] = defaultdict(Decimal)
        for (number, place), packs in basket.items():
            row = self.wants[number].rows[place]
            goods[row.supplier] += row.price * packs
        known = [self.terms[name] for name in sorted(goods) if name in self.terms]
        return Bill(
            goods=goods,
            postage={at.name: postage_at(at, goods[at.name]) for at in known},
            credit=self._credit(basket) if self.leftover_worth else Decimal(0),
            under=tuple(
                at.name for at in known if goods[at.name] + A_HAIR < (at.minimum_order or 0)
            ),
        )

    def allowed(self, basket: Basket) -> bool:
        """True when no minimum is missed and the suppliers are as demanded."""
        used = self.used(basket)
        asked = self.demanded <= used and (not self.other_than or used != self.other_than)
        asked = asked and (self.only is None or used <= self.only)
        return asked and basket == self.by_number(basket) and not self.bill(basket).under

    def by_number(self, basket: Basket) -> Basket:
        """The basket with packs of the same goods at the one price that their number gives."""
        return {
            (number, place): count
            for number, packs in by_want(basket).items()
            for place, count in self.wants[number].by_number(packs).items()
        }

    def _credit(self, basket: Basket) -> Decimal:
        """What is left over of bought cable at its share of the price; the cheapest is used up."""
        left = Decimal(0)
        packs_of = by_want(basket)
        for number, want in enumerate(self.wants):
            if want.cable is None:
                continue
            used = max(Decimal(0), want.quantity)
            bought = [(want.rows[place], n) for place, n in packs_of[number].items()]
            for row, packs in sorted(bought, key=lambda b: b[0].price / want.holds(b[0])):
                length = want.holds(row) * packs
                part = min(used, length)
                used -= part
                left += row.price / want.holds(row) * (length - part)
        return left * self.leftover_worth


def by_want(basket: Basket) -> Mapping[int, Mapping[int, int]]:
    """The packs by row, of each want; an empty mapping for one that nothing is bought for."""
    found: dict[int, dict[int, int]] = defaultdict(dict)
    for (number, place), packs in basket.items():
        found[number][place] = packs
    return found


def postage_at(terms: Supplier, goods: Decimal) -> Decimal:
    """Postage for goods of this value, nothing where it is free."""
    free = terms.free_over is not None and goods + A_HAIR >= terms.free_over
    return Decimal(0) if free else terms.postage


def counted(short: Short, prices: PriceBook, without: Collection[str]) -> Want:
    """The want of a counted or measured line."""
    rows = prices.offers(short.item, short.gauge, short.colour, short.unit)
    return Want(short, short.quantity, _sorted(row for row in rows if row.supplier not in without))


def cable(
    need: CableNeed, prices: PriceBook, without: Collection[str], trim_mm: int, reel_end_mm: int
) -> Want:
    """The want of a cable: all its pieces and the spare, less all that the shelf has of it.

    Pieces may spare themselves the trim of their last cut on a length; the spare is reckoned
    as if none did.
    """
    rows = _sorted(
        row
        for row in prices.offers(need.item, need.gauge, need.colour, "mm")
        if row.supplier not in without and (row.sold_as == "metre" or row.pack * 1000 > reel_end_mm)
    )
    last = 0 if need.spare_mm else trim_mm
    asked = sum(need.sizes_mm(trim_mm).elements()) + need.spare_mm
    shelf = sum(piece.length_mm + last for piece in need.shelf)
    spared = last * sum(row.sold_as == "metre" for row in rows)
    return Want(need, Decimal(asked - shelf - spared), rows, reel_end_mm, last)


def _sorted(rows: Iterable[Price]) -> tuple[Price, ...]:
    """Rows in an order of their own, so that the order of the list does not matter."""
    return tuple(
        sorted(rows, key=lambda r: (r.supplier, r.sold_as, r.pack, r.from_qty, r.price, r.part_no))
    )
