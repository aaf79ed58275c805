"""The order: what the search found, as lines, with postage, bound and what others would cost."""

from collections import Counter
from collections.abc import Collection, Iterator
from decimal import ROUND_CEILING, Decimal

from msgspec import Struct, field
from msgspec.structs import replace

from bom.buy.cutting import Patterns, pack_most
from bom.buy.lengths import Lengths
from bom.buy.search import Cheapest, Search
from bom.buy.solver import Solver
from bom.buy.wants import Basket, Shopping, Want, by_want, cable, counted
from bom.files.spelling import plain
from bom.trade.figures import round_money
from bom.trade.house import HouseRules
from bom.trade.needs import ELSEWHERE, Allotment, CableNeed, Short, Trace
from bom.trade.orders import Order, Price, PriceBook, Purchase


class Conditions(Struct, frozen=True, kw_only=True):
    """What is asked of an order: suppliers left out, suppliers demanded, all of them compared."""

    without: Collection[str] = ()
    demanded: Collection[str] = ()
    compare: bool = False


def buy(
    allotment: Allotment, prices: PriceBook, rules: HouseRules, asked: Conditions | None = None
) -> Order:
    """Order what is short for the least money; net of tax, lines rounded to the penny.

    A line that nobody sells stays in `unpriced`.  `proved` says that no other choice of
    reels, metres, packs and suppliers is cheaper; `bound` is what any must cost.
    """
    asked = asked or Conditions()
    idle = not allotment.cables and not allotment.short
    with Solver(0 if idle else float(rules.order_seconds)) as solver:
        task = _Ordering(prices, rules, asked, solver)
        for need in allotment.cables:
            task.add_cable(need)
        for short in allotment.short:
            task.add(short)
        return task.order()


class _Ordering(Struct):
    """What is to be bought, sorted into what is sold, what nobody sells and what has a price."""

    prices: PriceBook
    rules: HouseRules
    asked: Conditions
    solver: Solver
    wants: list[tuple[Want, Lengths | None]] = field(default_factory=list)
    own: list[Purchase] = field(default_factory=list)
    unpriced: list[Short] = field(default_factory=list)
    ways: dict[tuple[str, str, str], Patterns] = field(default_factory=dict)

    def add(self, short: Short) -> None:
        """What the drawer lacks."""
        if short.price is not None:
            self.own.append(_own_price(short, short.price))
            return
        want = counted(short, self.prices, self.asked.without)
        if want.rows:
            self.wants.append((want, None))
        else:
            self.unpriced.append(short)

    def add_cable(self, need: CableNeed) -> None:
        """A cable, as far as the shelf does not have it all."""
        trim, end = self.rules.trim_mm, self.rules.reel_end_mm
        want = cable(need, self.prices, self.asked.without, trim, end)
        lengths = Lengths(want, need, trim, self.solver)
        loads = lengths.settle({}, self.solver.seconds_left).loads
        if loads is not None:
            self.ways[need.key] = loads
        elif any(packs is not None for packs in lengths.alone):
            self.wants.append((want, lengths))
        else:
            self._unsold(need)

    def _unsold(self, need: CableNeed) -> None:
        """Cable that nobody sells: as much of it as may be comes from the shelf."""
        trim = self.rules.trim_mm
        rooms = [piece.length_mm + trim for piece in need.shelf]
        loads, over = pack_most(need.sizes_mm(trim), rooms)
        left = sum(room - sum(load) for room, load in zip(rooms, loads, strict=True))
        unplaced = Counter(over)
        pieces = []
        for piece in sorted(need.pieces, key=lambda p: (-p[0], p[1], p[2])):
            if unplaced[piece[0] + trim]:
                unplaced[piece[0] + trim] -= 1
                pieces.append(piece)
        self.unpriced.append(need.lacking(pieces, max(0, need.spare_mm - left)))
        self.ways[need.key] = (*loads, over)

    def order(self) -> Order:
        """What is bought, and how good that is known to be."""
        wants = sorted(self.wants, key=lambda w: (w[0].short.key, w[0].measured))
        shopping = Shopping(
            wants=tuple(want for want, _ in wants),
            terms=self.prices.suppliers,
            leftover_worth=self.rules.leftover_worth,
            demanded=frozenset(self.asked.demanded),
        )
        lengths = {number: known for number, (_, known) in enumerate(wants) if known}
        search = Search(shopping, lengths, self.solver)
        answer = search.best(shopping)
        self._note(shopping, lengths, answer.basket)
        order = self._order(search, answer)
        if not self.asked.compare or not answer.basket or len(shopping.suppliers) < 2:
            return order
        own = sum((line.cost for line in self.own), Decimal())
        return replace(
            order,
            alone=tuple(search.alone_at(name, own) for name in shopping.suppliers),
            next_best=search.next_best(shopping.used(answer.basket), own),
        )

    def _note(self, shopping: Shopping, lengths: dict[int, Lengths], basket: Basket | None) -> None:
        """The ways to cut what is bought; what cannot be bought after all joins the unpriced."""
        packs = by_want(basket or {})
        for number, want in enumerate(shopping.wants):
            known = lengths.get(number)
            if known and basket is not None:
                loads = known.packed(packs[number]).loads
                if loads is not None:
                    self.ways[known.need.key] = loads
            elif known:
                self._unsold(known.need)
            elif basket is None and isinstance(want.short, Short):
                self.unpriced.append(want.short)

    def _order(self, search: Search, answer: Cheapest) -> Order:
        basket = answer.basket or {}
        bill = search.shopping.bill(basket)
        asked = {want.short.key: number for number, (want, _) in enumerate(self.wants)}
        lines = sorted(_lines(search, basket), key=lambda n: (n.supplier, asked[n.key]))
        lines += self.own
        postage = {name: round_money(cost) for name, cost in bill.postage.items()}
        costs = [*(line.cost for line in lines), *postage.values()]
        credit = round_money(bill.credit)
        net = sum(costs, Decimal("0.00")) - credit
        least = round_money(net - bill.weight + answer.bound)
        return Order(
            lines=tuple(lines),
            postage=postage,
            unpriced=tuple(self.unpriced),
            bound=net if answer.proved else min(net, least),
            proved=answer.proved and not self.unpriced,
            credit=credit,
            ways=self.ways,
        )


def _lines(search: Search, basket: Basket) -> Iterator[Purchase]:
    bought = by_want(basket)
    for (number, place), packs in sorted(basket.items()):
        want = search.shopping.wants[number]
        row = want.rows[place]
        more = search.too_many(number, bought[number], place)
        yield _purchase(want, row, packs, more)


def _purchase(want: Want, row: Price, packs: int, more: int) -> Purchase:
    short = want.short
    kind = "cable" if isinstance(short, CableNeed) else short.kind
    return Purchase(
        supplier=row.supplier,
        item=short.item,
        kind=kind,
        gauge=short.gauge,
        colour=short.colour,
        sold_as=row.sold_as,
        pack=row.pack,
        packs=packs,
        price=row.price,
        cost=round_money(row.price * packs),
        jobs=short.jobs,
        part_no=row.part_no,
        bought=row.pack * packs * (1000 if want.measured else 1),
        unit="mm" if want.measured else "each" if isinstance(short, CableNeed) else short.unit,
        trace=Trace("bought so that the whole order costs least", _figures(want, row, packs, more)),
        more=more,
    )


def _figures(want: Want, row: Price, packs: int, more: int) -> tuple[str, ...]:
    bought = plain(row.pack * packs * (1000 if want.measured else 1))
    if want.cable:
        shelf = sum(piece.length_mm for piece in want.cable.shelf)
        pieces = sum(length for length, _, _ in want.cable.pieces)
        says = (
            f"{pieces} mm in {len(want.cable.pieces)} pieces and {want.cable.spare_mm} mm spare, "
            f"beside trims; {shelf} mm in {len(want.cable.shelf)} lengths on the shelf; "
            f"{bought} mm bought"
        )
    else:
        unit = "mm" if want.measured else "pieces"
        says = f"{plain(want.quantity)} {unit} short, {bought} {unit} bought"
    over = f"{more} x {row.sold_as} more than needed: fewer would make the whole order dearer"
    return (says, over) if more else (says,)


def _own_price(short: Short, price: Decimal) -> Purchase:
    """An extra at the price on its own row, in whole units of it."""
    scale = 1000 if short.unit == "mm" else 1
    units = short.quantity / scale
    packs = int(units.to_integral_value(ROUND_CEILING))
    return Purchase(
        supplier=ELSEWHERE,
        item=short.item,
        kind=short.kind,
        gauge="",
        colour=None,
        sold_as="metre" if short.unit == "mm" else "each",
        pack=units / packs,
        packs=packs,
        price=price * short.quantity / packs,
        cost=round_money(price * short.quantity),
        jobs=short.jobs,
        part_no="",
        bought=short.quantity,
        unit=short.unit,
        trace=Trace("bought at the price on its row of Extras"),
    )
