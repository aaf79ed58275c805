"""The least that a small order can cost, by one plain programme for scipy.

Every way to fill a length is an unknown of its own, and so are the packs of every row of the
price list: what is bought and how it is cut are settled together, once.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace
from scipy.optimize import Bounds, LinearConstraint, milp

from bom.buy.allot import allot, top_up
from bom.buy.cut import cut, new_names
from bom.buy.order import Conditions, buy
from bom.trade.house import HouseRules
from bom.trade.job_book import Colour
from bom.trade.needs import Allotment, CutList, Need
from bom.trade.orders import Order, Price, PriceBook, Supplier
from bom.trade.shelf import DrawerItem, Stock
from tests.shopping import ROW, cable, offcut, part


class Shop(Struct, frozen=True, kw_only=True):
    """The whole question of an order; tube is measured in mm, other items are counted."""

    pieces: dict[str, list[int]] = field(default_factory=dict)
    """Pieces in mm by colour; the jobs take them in turn."""
    spare_mm: int = 100
    """Of each colour of each job."""
    shelf: dict[str, list[int]] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    """What each job needs of an item."""
    drawer: dict[str, tuple[int, int, int]] = field(default_factory=dict)
    """On hand, low, full."""
    prices: tuple[Price, ...] = ()
    suppliers: dict[str, Supplier] = field(default_factory=dict)
    jobs: int = 1
    rules: HouseRules = HouseRules()

    @property
    def needs(self) -> list[tuple[str, Need]]:
        """The needs of all jobs."""
        found = []
        for job in range(self.jobs):
            shares = {colour: pieces[job :: self.jobs] for colour, pieces in self.pieces.items()}
            needs = [cable(c, own, self.spare_mm) for c, own in shares.items() if own]
            needs += [replace(part(i, n), unit=_unit(i)) for i, n in self.counts.items()]
            found += [(f"job {job}", need) for need in needs]
        return found

    @property
    def stock(self) -> Stock:
        """The offcuts and the drawer."""
        pieces = [offcut(c, n, mm) for c, own in self.shelf.items() for n, mm in enumerate(own)]
        items = [_in_drawer(item, *marks) for item, marks in self.drawer.items()]
        return Stock(file="stock.xlsx", pieces=tuple(pieces), drawer=tuple(items))

    @property
    def allotment(self) -> Allotment:
        """What the shelf gives and what is short, with the drawer to be filled up."""
        return top_up(allot(self.needs, self.stock), self.stock)

    def under(self, **rules: Any) -> "Shop":
        """The same under other house rules."""
        return replace(self, rules=replace(self.rules, **rules))

    def order(self, asked: Conditions | None = None) -> Order:
        """What `buy` makes of it."""
        book = PriceBook(prices=self.prices, suppliers=self.suppliers)
        return buy(self.allotment, book, self.rules, asked)

    def cut_list(self, order: Order) -> CutList:
        """The cut list of an order."""
        return cut(self.allotment.cables, order, self.rules)

    # -------------------------------------------------------------------- what is wanted

    def sizes(self, colour: str) -> Counter[int]:
        """The pieces of a colour, each with the trim of its cut."""
        return Counter(mm + self.rules.trim_mm for mm in self.pieces[colour])

    def wanted_mm(self, colour: str) -> int:
        """All pieces of a colour with their trims, and the spare of each job."""
        shares = min(self.jobs, len(self.pieces[colour]))
        return sum(self.sizes(colour).elements()) + self.spare_mm * shares

    def lacking(self, item: str) -> int:
        """What the drawer cannot give, and what fills it up from under its low mark."""
        on_hand, low, full = self.drawer.get(item, (0, 0, 0))
        left = on_hand - self.counts.get(item, 0) * self.jobs
        return max(0, -left) + (full - max(0, left) if max(0, left) < low else 0)

    def rows(self, wanted: str) -> list[Price]:
        """The rows for an item, or for a colour of cable."""
        if wanted in self.pieces:
            return [r for r in self.prices if r.gauge and r.colour in (None, Colour(wanted))]
        return [row for row in self.prices if row.item == wanted]


def sound(shop: Shop, order: Order) -> None:
    """Sums true, items as wanted, pieces cut once, none over-cut, taken + short = needed."""
    assert order.total == sum(n.cost for n in order.lines) + sum(order.postage.values())
    for item in {**shop.counts, **shop.drawer}:
        assert sum(n.bought for n in order.lines if n.item == item) >= shop.lacking(item)
    found, trim, cables = shop.cut_list(order), shop.rules.trim_mm, shop.allotment.cables
    wanted = [(job, wire, mm) for need in cables for mm, job, wire in need.pieces]
    assert sorted((c.job, c.wire, c.length_mm) for c in found.cuts) == sorted(wanted)
    rooms = {piece.name: piece.length_mm for piece in shop.stock.pieces}
    for need in cables:
        own = [line for line in order.lines if line.key == need.key]
        new = [mm for line in own for mm in line.lengths_mm(shop.rules.reel_end_mm)]
        rooms |= dict(zip(new_names(need.gauge, need.colour, len(new)), new, strict=True))
        on_shelf = sum(piece.length_mm for piece in need.shelf)
        assert not need.spare_mm or sum(new) + on_shelf >= shop.wanted_mm(str(need.colour))
        taken = sum(part.quantity for part in found.taken if part.item == need.item)
        short = sum(part.quantity for part in found.short if part.item == need.item)
        assert taken + short == sum(mm for mm, _, _ in need.pieces) + need.spare_mm
    cut_from: dict[str, list[int]] = defaultdict(list)
    for piece in found.cuts:
        cut_from[piece.piece].append(piece.length_mm)
    for name, sizes in cut_from.items():
        assert sum(sizes) + trim * (len(sizes) - 1) <= rooms[name]
        (left,) = (o.length_mm for o in found.offcuts if o.piece == name)
        assert left == max(0, rooms[name] - sum(sizes) - trim * len(sizes))


def _unit(item: str) -> str:
    return "mm" if item == "tube" else "each"


def _in_drawer(item: str, *marks: int) -> DrawerItem:
    hand, low, full = map(Decimal, marks)
    return DrawerItem(
        item=item, unit=_unit(item), place="", on_hand=hand, low=low, full=full, cost=None, row=ROW
    )


# ------------------------------------------------------------------------- the programme


class Plain(Struct):
    """A programme for scipy, costs in pence."""

    costs: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[Mapping[int, float], float]] = field(default_factory=list)

    def unknown(self, cost: float = 0, most: float = 1, *, whole: bool = True) -> int:
        """A new unknown from 0 up to `most`."""
        self.costs.append(cost)
        self.most.append(most)
        self.whole.append(whole)
        return len(self.costs) - 1

    def at_least(self, least: float, terms: Mapping[int, float]) -> None:
        """A sum that is at least so much."""
        self.rows.append((terms, least))

    def least(self) -> float | None:
        """The least cost; None where nothing will do."""
        matrix = np.zeros((len(self.rows), len(self.costs)))
        for number, (terms, _) in enumerate(self.rows):
            for column, factor in terms.items():
                matrix[number, column] = factor
        found = milp(
            self.costs,
            constraints=LinearConstraint(matrix, lb=[least for _, least in self.rows]),
            integrality=np.array(self.whole, dtype=int),
            bounds=Bounds(0, self.most),
            options={"mip_rel_gap": 0},
        )
        assert found.status in (0, 2), found.message
        return float(found.fun) if found.success else None


def least(shop: Shop) -> Decimal:
    """The least that an order can cost, what is left over of cable taken off; unrounded."""
    model = _Model(shop)
    for item in {**shop.counts, **shop.drawer}:
        if lacking := shop.lacking(item):
            model.item(item, lacking)
    for colour in shop.pieces:
        if not _shelf_does(shop, colour):
            model.left_over(colour, model.cable(colour))
    model.limits()
    pence = model.plain.least()
    assert pence is not None
    return Decimal(f"{pence:.3f}") / 100


def _shelf_does(shop: Shop, colour: str) -> bool:
    """What the shelf has is not bought, not even to reach a limit of a supplier's."""
    model = _Model(replace(shop, prices=()))
    model.cable(colour)
    return model.plain.least() is not None


class _Model:
    """The unknowns of a shop: who is ordered from, packs, and lengths filled in each way."""

    def __init__(self, shop: Shop) -> None:
        self.shop, self.plain = shop, Plain()
        postage = {name: _pence(at.postage) for name, at in shop.suppliers.items()}
        self.ordered = {name: self.plain.unknown(pence) for name, pence in postage.items()}
        self.goods: dict[str, dict[int, float]] = {name: {} for name in shop.suppliers}

    def bought(self, wanted: str, enough: int) -> dict[Price, tuple[int, int]]:
        """Packs of each row, and whether any are bought at its price.

        None are, or from its number up to the next one's: the same goods at one price.
        """
        plain, found = self.plain, {}
        ladders: dict[object, list[Price]] = defaultdict(list)
        for row in sorted(self.shop.rows(wanted), key=lambda r: -r.from_qty):
            goods = (row.supplier, row.sold_as, row.pack, row.part_no, row.colour)
            at, pence, higher = self.shop.suppliers[row.supplier], _pence(row.price), ladders[goods]
            limit = max(at.free_over or 0, at.minimum_order or 0)
            most = row.from_qty + enough + math.ceil(limit / row.price)
            most = higher[-1].from_qty - 1 if higher else most
            packs, tie = found[row] = plain.unknown(pence, most), plain.unknown()
            plain.at_least(0, {packs: 1, tie: -row.from_qty})
            plain.at_least(0, {packs: -1, tie: most})
            plain.at_least(0, {self.ordered[row.supplier]: 1, tie: -1})
            self.goods[row.supplier][packs] = pence
            higher.append(row)
        for ladder in ladders.values():
            plain.at_least(-1, {found[row][1]: -1 for row in ladder})
        return found

    def item(self, item: str, lacking: int) -> None:
        """An item in packs, or by its length."""
        scale = 1000 if _unit(item) == "mm" else 1
        bought = self.bought(item, lacking // scale + 1)
        self.plain.at_least(lacking, {n: float(r.pack) * scale for r, (n, _) in bought.items()})

    def cable(self, colour: str) -> dict[int, tuple[Price, int]]:
        """Every piece on some length, and the spare on all together; rows and mm of the packs."""
        shop, plain, sizes = self.shop, self.plain, self.shop.sizes(colour)
        trim, on_shelf = shop.rules.trim_mm, shop.shelf.get(colour, [])
        on: dict[int, dict[int, float]] = {size: {} for size in sizes}
        reels: dict[int, dict[int, float]] = {mm: {} for mm in on_shelf}
        metres: dict[object, dict[int, float]] = defaultdict(dict)
        holds = {}
        enough = sizes.total() + shop.wanted_mm(colour) // 1000 + 1
        for row, (packs, tie) in self.bought(colour, enough).items():
            mm = int(row.pack * 1000) - (shop.rules.reel_end_mm if row.sold_as == "reel" else 0)
            holds[packs] = row, mm
            if row.sold_as == "metre":
                metres[row.supplier, row.part_no, row.colour] |= {packs: mm, tie: trim}
            else:
                reels.setdefault(mm, {})[packs] = 1
        for mm, bought in reels.items():
            ways = patterns(sorted(sizes.items(), reverse=True), mm + trim)
            filled = {plain.unknown(most=sizes.total()): way for way in ways}
            plain.at_least(-on_shelf.count(mm), {**bought, **dict.fromkeys(filled, -1.0)})
            for column, way in filled.items():
                for size, number in way.items():
                    on[size][column] = number
        for bought in metres.values():  # what is cut off at the shop comes in one length
            cut_off = {plain.unknown(most=count): size for size, count in sizes.items()}
            plain.at_least(0, {**bought, **{column: -size for column, size in cut_off.items()}})
            for column, size in cut_off.items():
                on[size][column] = 1
        for size, count in sizes.items():
            plain.at_least(count, on[size])
        if shop.spare_mm:
            lacking = shop.wanted_mm(colour) - sum(on_shelf)
            plain.at_least(lacking, {packs: mm for packs, (_, mm) in holds.items()})
        return holds

    def left_over(self, colour: str, holds: Mapping[int, tuple[Price, int]]) -> None:
        """Each pack is credited, and each mm used up costs its share of that back.

        Used is what the shelf cannot give; the trims that last cuts may spare themselves are not,
        where no spare is left over in any case.
        """
        shop, used = self.shop, {}
        worth, on_shelf = float(shop.rules.leftover_worth), shop.shelf.get(colour, [])
        trim = 0 if shop.spare_mm else shop.rules.trim_mm
        spared = trim * len(on_shelf)
        for packs, (row, mm) in holds.items():
            reel = row.sold_as == "reel"
            pence, length = worth * _pence(row.price), mm + trim * reel
            column = self.plain.unknown(pence / length, math.inf, whole=False)
            self.plain.costs[packs] -= pence
            self.plain.at_least(0, {packs: length, column: -1})
            used[column], spared = 1.0, spared + trim * (not reel)
        self.plain.at_least(shop.wanted_mm(colour) - sum(on_shelf) - spared, used)

    def limits(self) -> None:
        """The minimum of each supplier, and from where on its postage is free."""
        for name, at in self.shop.suppliers.items():
            ordered, goods = self.ordered[name], self.goods[name]
            self.plain.at_least(0, {**goods, ordered: -_pence(at.minimum_order or Decimal())})
            if at.free_over is not None:
                free = self.plain.unknown(-_pence(at.postage))
                self.plain.at_least(0, {ordered: 1, free: -1})
                self.plain.at_least(0, {**goods, free: -_pence(at.free_over)})


def _pence(money: Decimal) -> float:
    return float(money * 100)


def patterns(sizes: Sequence[tuple[int, int]], room: int) -> Iterator[dict[int, int]]:
    """Every way to fill a room so that nothing more goes in; sizes with their numbers, falling."""
    if not sizes:
        yield {}
        return
    (size, count), *smaller = sizes
    for number in range(min(count, room // size), -1, -1):
        left = room - number * size
        for way in patterns(smaller, left):
            rest = left - sum(other * n for other, n in way.items())
            if number == count or rest < size:
                yield {size: number, **way}
