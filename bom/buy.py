"""Buying what is short: each line where it is cheapest, then postage.

Pieces of cable are cut from what is bought: metres come as one continuous length a
line, reels hold the metres of their pack.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from bom.figures import round_money
from bom.goods import (
    Cut,
    Offcut,
    Order,
    Price,
    PriceBook,
    Purchase,
    Short,
    Supplier,
    Trace,
)
from bom.trade import Colour

ELSEWHERE = "elsewhere"
"""The supplier of an extra that has a price of its own on the Extras sheet."""

Wanted = tuple[int, str, str]
Fit = Callable[
    [Iterable[Wanted], Sequence[tuple[int, str]]],
    tuple[list[tuple[Wanted, str]], list[Wanted], dict[str, int]],
]
"""Places pieces (mm, job, wire) on lengths (mm, name); the cutting stage's own."""


@dataclass(frozen=True, slots=True)
class _Offer:
    """One way to buy a line: `packs` of a price row; reels as lengths of new cable."""

    price: Price
    packs: int
    cost: Decimal
    lengths_mm: tuple[int, ...] = ()


def buy(short: Sequence[Short], prices: PriceBook, fit: Fit) -> Order:
    """Order what is short; money net of tax, lines rounded to the penny.

    A line that nobody sells stays in `unpriced`.  `bound` is what the order must cost at
    the very least (each line at its lowest unit price, without postage and without whole
    packs); `proved` says that no other order is cheaper.
    """
    lines: list[Purchase] = []
    unpriced: list[Short] = []
    cuts: list[Cut] = []
    offcuts: list[Offcut] = []
    bound = Decimal("0.00")
    for missing in short:
        offer = _cheapest(missing, prices, fit)
        if offer is None:
            unpriced.append(missing)
            _cut_new(missing, (), fit, cuts, offcuts)
            continue
        lines.append(_purchase(missing, offer))
        bound += _least(missing, prices)
        if missing.pieces:
            _cut_new(missing, offer.lengths_mm, fit, cuts, offcuts)
    lines.sort(key=lambda line: (line.supplier == ELSEWHERE, line.supplier))
    postage, below = _postage(lines, prices)
    total = sum((line.cost for line in lines), Decimal()) + sum(postage.values(), Decimal())
    return Order(
        lines=tuple(lines),
        postage=postage,
        unpriced=tuple(unpriced),
        bound=bound,
        proved=not unpriced and total <= bound,
        below_minimum=below,
        cuts=tuple(cuts),
        offcuts=tuple(offcuts),
    )


def _cheapest(missing: Short, prices: PriceBook, fit: Fit) -> _Offer | None:
    if missing.price is not None:
        return _own_price(missing, missing.price)
    rows = prices.offers(missing.item, missing.gauge, missing.colour, missing.unit)
    offers = [offer for row in rows if (offer := _offer(missing, row, fit))]
    return min(offers, key=lambda o: (o.cost, o.price.supplier, o.price.pack), default=None)


def _own_price(missing: Short, price: Decimal) -> _Offer:
    measured = missing.unit == "mm"
    units = missing.quantity / (1000 if measured else 1)
    packs = _ceiling(units)
    row = Price(
        supplier=ELSEWHERE,
        item=missing.item,
        gauge="",
        colour=None,
        sold_as="metre" if measured else "each",
        pack=units / packs,
        price=price * missing.quantity / packs,
        from_qty=1,
        part_no="",
        row=None,
    )
    return _Offer(row, packs, round_money(price * missing.quantity))


def _offer(missing: Short, row: Price, fit: Fit) -> _Offer | None:
    """What a line costs from one row: as many packs as it takes, `from qty` at the least."""
    each = row.pack * (1000 if missing.unit == "mm" else 1)
    packs = max(_ceiling(missing.quantity / each), row.from_qty)
    lengths: tuple[int, ...] = ()
    if missing.pieces and row.sold_as == "metre":
        lengths = (packs * 1000,)
    elif missing.pieces:
        found = _reels(missing, int(each), packs, fit)
        if found is None:
            return None
        lengths = (int(each),) * found
        packs = found
    return _Offer(row, packs, round_money(row.price * packs), lengths)


def _reels(missing: Short, reel_mm: int, least: int, fit: Fit) -> int | None:
    """How many reels hold the pieces and the spare; None when a piece is longer than a reel."""
    if max(length for length, _, _ in missing.pieces) > reel_mm:
        return None
    reels = least
    while True:
        lengths = [(reel_mm, f"{number:06}") for number in range(reels)]
        _, unplaced, rests = fit(missing.pieces, lengths)
        if not unplaced and sum(rests.values()) >= missing.spare_mm:
            return reels
        reels += max(1, _ceiling(Decimal(sum(p[0] for p in unplaced)) / reel_mm))


def _ceiling(value: Decimal) -> int:
    return int(value.to_integral_value(ROUND_CEILING))


def _least(missing: Short, prices: PriceBook) -> Decimal:
    """The least this line can cost: its quantity at the lowest price of a unit, to the penny."""
    if missing.price is not None:
        return round_money(missing.price * missing.quantity)
    rows = prices.offers(missing.item, missing.gauge, missing.colour, missing.unit)
    scale = 1000 if missing.unit == "mm" else 1
    least = min(row.price / (row.pack * scale) for row in rows) * missing.quantity
    return round_money(least)  # as each line is: a sum rounded once could be over the total


def _purchase(missing: Short, offer: _Offer) -> Purchase:
    row = offer.price
    scale = 1000 if missing.unit == "mm" else 1
    bought = row.pack * scale * offer.packs
    return Purchase(
        supplier=row.supplier,
        item=missing.item,
        kind=missing.kind,
        gauge=missing.gauge,
        colour=missing.colour,
        sold_as=row.sold_as,
        pack=row.pack,
        packs=offer.packs,
        price=row.price,
        cost=offer.cost,
        jobs=missing.jobs,
        part_no=row.part_no,
        needed=missing.quantity,
        bought=bought,
        unit=missing.unit,
        trace=Trace(
            "bought where this line is cheapest, in whole packs",
            (f"{missing.quantity} {missing.unit} short, {bought} {missing.unit} bought",),
        ),
    )


def _cut_new(
    missing: Short,
    lengths_mm: Sequence[int],
    fit: Fit,
    cuts: list[Cut],
    offcuts: list[Offcut],
) -> None:
    """Cut the pieces from what is bought; unpriced cable is taken as one length to buy."""
    if not missing.pieces:
        return
    lengths = list(lengths_mm) or [int(missing.quantity)]
    names = list(_new_names(missing, len(lengths)))
    colour = missing.colour or Colour("")
    placed, _, rests = fit(missing.pieces, list(zip(lengths, names, strict=True)))
    cuts += [
        Cut(
            job=job,
            wire=wire,
            gauge=missing.gauge,
            colour=colour,
            length_mm=length,
            piece=name,
            new=True,
        )
        for (length, job, wire), name in placed
    ]
    offcuts += [
        Offcut(piece=name, gauge=missing.gauge, colour=colour, length_mm=rests[name], new=True)
        for name in names
    ]


def _new_names(missing: Short, count: int) -> Iterator[str]:
    name = f"new {missing.gauge} {missing.colour}"
    yield from (name if count == 1 else f"{name} {number}" for number in range(1, count + 1))


def _postage(
    lines: Iterable[Purchase], prices: PriceBook
) -> tuple[dict[str, Decimal], tuple[str, ...]]:
    """Postage by supplier ordered from, and the suppliers whose minimum is not reached."""
    goods: dict[str, Decimal] = defaultdict(Decimal)
    for line in lines:
        goods[line.supplier] += line.cost
    postage: dict[str, Decimal] = {}
    below = []
    for name, value in sorted(goods.items()):
        terms = prices.suppliers.get(name)
        if terms is None:
            continue
        postage[name] = _postage_at(terms, value)
        if terms.minimum_order is not None and value < terms.minimum_order:
            below.append(name)
    return postage, tuple(below)


def _postage_at(terms: Supplier, value: Decimal) -> Decimal:
    free = terms.free_over is not None and value >= terms.free_over
    return Decimal("0.00") if free else round_money(terms.postage)
