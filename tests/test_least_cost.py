"""The least cost: random small orders against a model with every way to cut, and cases by hand."""

import random
import resource
import time
from collections.abc import Iterator
from decimal import Decimal

import pytest
from msgspec.structs import replace

from bom.buy.order import Conditions
from bom.buy.solver import Solver
from bom.trade.house import HouseRules
from bom.trade.job_book import Colour
from bom.trade.orders import Order, Price, Supplier
from tests.bench.yardstick import too_long
from tests.full_model import Shop, least, sound
from tests.shopping import price, terms
from tests.slow import one_in

PENNY, HAIR = Decimal("0.01"), Decimal("0.00001")
FEW = 30
"""Of so many pieces the least must be proved."""


# ---------------------------------------------------------------------------- random shops


def random_shop(seed: int) -> Shop:
    """One to three colours, jobs and suppliers, terms of every kind; half are hard to cut."""
    dice = random.Random(seed)
    names = ("North", "South", "West")[: dice.randint(1, 3)]
    net = {name: Decimal("1.2" if dice.random() < 0.07 else 1) for name in names}
    reels = dice.sample((3, 4, 5, 6, 7, 8, 9, 10, 12), dice.randint(1, 3))
    few, most = dice.choice((1, 6)), 20 if dice.random() < 0.08 else 12
    colours = ("red", "blue", "black")[: dice.randint(1, 3)]
    counts = {"ring": (1, 40), "cover": (1, 40), "tube": (100, 5000)}
    pieces = {colour: _pieces(dice, reels, dice.randint(few, most)) for colour in colours}
    prices = _prices(dice, names, [*reels, *[25] * (dice.random() < 0.15)])
    return Shop(
        pieces=pieces,
        spare_mm=dice.choice((0, 0, 100, 250)),
        shelf={c: [dice.randint(200, 4000) for _ in range(dice.randint(0, 2))] for c in colours},
        counts={i: dice.randint(*ends) for i, ends in counts.items() if dice.random() < 0.4},
        drawer={"ring": (dice.randint(0, 30), 10, 40)} if dice.random() < 0.3 else {},
        prices=tuple(replace(row, price=row.price / net[row.supplier]) for row in prices),
        suppliers={name: _terms(dice, name, net[name]) for name in names},
        jobs=dice.randint(1, 3),
        rules=HouseRules(
            trim_mm=dice.choice((0, 0, 1, 3, 5)),
            reel_end_mm=dice.choice((0, 0, 50, 150, 200)),
            leftover_worth=Decimal(dice.choice(("0", "0", "0.3", "0.5", "0.8", "1"))),
        ),
    )


def _pieces(dice: random.Random, reels: list[int], count: int) -> list[int]:
    """Of a third to a half of a reel, or of any length; all different, or of a few sizes."""
    reel_mm = 1000 * dice.choice(reels)
    ends = (reel_mm // 3 - 150, reel_mm // 2 + 50) if dice.random() < 0.6 else (300, 2700)
    sizes = [dice.randint(*ends) for _ in range(count)]
    return dice.choices(sizes[:4], k=count) if count > 12 or dice.random() < 0.4 else sizes


def _prices(dice: random.Random, names: tuple[str, ...], reels: list[int]) -> Iterator[Price]:
    """Everything is sold by somebody; red has, now and then, a reel of its own."""
    for reel in reels:
        for name in dice.sample(names, dice.randint(1, len(names))):
            pence = reel * dice.randint(20, 60) + dice.randint(-9, 9)
            yield from _ladder(dice, price(name, "cable", "reel", reel, pence))
    if dice.random() < 0.2:
        row = price(names[-1], "cable", "reel", reels[0], reels[0] * dice.randint(18, 50))
        yield replace(row, colour=Colour("red"), part_no="R")
    for name in names:
        if dice.random() < 0.25:
            yield from _ladder(dice, price(name, "cable", "metre", 1, dice.randint(35, 90)))
        for item in ("ring", "cover"):
            if name == "North" or dice.random() < 0.6:
                pack, pence = dice.choice((5, 10, 25)), dice.randint(4, 30)
                yield from _ladder(dice, price(name, item, "pack", pack, pack * pence))
    yield price("North", "tube", "metre", 1, dice.randint(20, 80))
    yield price(names[-1], "tube", "reel", 5, dice.randint(100, 300))


def _ladder(dice: random.Random, row: Price) -> Iterator[Price]:
    """The row, some of them not sold singly, and now and then a lower price from a number on."""
    first = replace(row, from_qty=dice.choice((1, 1, 1, 1, 2, 3)))
    yield first
    if dice.random() < 0.3:
        lower = (row.price * dice.randint(70, 99) / 100).quantize(PENNY)
        yield replace(first, from_qty=first.from_qty + dice.randint(1, 4), price=lower)


def _terms(dice: random.Random, name: str, net: Decimal) -> Supplier:
    """Its terms; where its prices have tax in them, so have these."""
    postage = Decimal(dice.choice(("0", "1.99", "3.50", "5.95"))) / net
    free_over = dice.randint(5, 40) / net if dice.random() < 0.5 else None
    minimum = dice.randint(2, 25) / net if dice.random() < 0.4 else None
    return terms(name, str(postage), free_over, minimum)


def _check(shop: Shop, order: Order) -> None:
    """It can be cut, costs no less than the least, its bound no more; proved: the least.

    Where prices are whole pennies and nothing is credited, all costs are whole pennies: less than
    a penny apart is equal.  Else a penny is what the program does not look into, and each line,
    each postage, the credit and the bound may be rounded by half of one.
    """
    sound(shop, order)
    whole = all(row.price == row.price.quantize(PENNY) for row in shop.prices)
    rounded = 0 if whole else len(order.lines) + len(order.postage)
    rounded += bool(shop.rules.leftover_worth)
    off = (rounded + bool(rounded)) * (PENNY / 2 + HAIR)
    net, best = order.total - order.credit, least(shop)
    assert best - off <= net
    if order.proved:
        assert (net - off < best + PENNY, order.bound) == (True, net)
    else:
        assert order.bound <= best + off


# 1619: a start for the solver once made it call another answer the least; 1561: no price for one;
# 2449: a penny more, said to be the least
@pytest.mark.parametrize("seed", [*one_in(25, range(300)), 1561, 1619, 2449])
def test_small_orders_cost_the_least(seed: int) -> None:
    """Of at most 30 pieces proved, of more never said to be proved where it is not the least."""
    shop = random_shop(seed)
    order = shop.order()
    _check(shop, order)
    assert order.proved or sum(map(len, shop.pieces.values())) > FEW


@pytest.mark.parametrize("seconds", ["0", "0.3"])
@pytest.mark.parametrize("seed", one_in(10, range(300, 330)))
def test_what_is_cut_short_is_not_said_to_be_proved(
    monkeypatch: pytest.MonkeyPatch, seed: int, seconds: str
) -> None:
    """Without time, or with little of it: an order that does, and a bound that is one."""
    monkeypatch.setattr("bom.buy.order.Solver", Solver)  # not the patient one of all tests
    shop = random_shop(seed).under(order_seconds=Decimal(seconds))
    order = shop.order()
    _check(shop, order)
    assert order.bound <= order.net


# ------------------------------------------------------------------------------ by hand


def _reels(supplier: str, *rows: tuple[int, int]) -> tuple[Price, ...]:
    """Reels of (mm, pence)."""
    return tuple(price(supplier, "cable", "reel", Decimal(mm) / 1000, pence) for mm, pence in rows)


def test_what_one_supplier_alone_would_cost_where_another_sells_metres() -> None:
    """Four pieces of 3 m: 12 m at 1.00 make 12.00.

    A reel of 5 m holds one of them: four at 10.00 make 40.00.  The next best has one piece on a
    reel and three on 9 m: 19.00.
    """
    shop = Shop(
        pieces={"red": [3000] * 4},
        spare_mm=0,
        prices=(price("North", "cable", "metre", 1, 100), *_reels("South", (5000, 1000))),
        suppliers={name: terms(name, "0") for name in ("North", "South")},
    )
    order = shop.order(Conditions(compare=True))
    assert (order.total, order.proved) == (Decimal("12.00"), True)
    assert [(r.suppliers, r.total) for r in order.alone] == [
        (("North",), Decimal("12.00")),
        (("South",), Decimal("40.00")),
    ]
    assert order.next_best is not None
    assert order.next_best.suppliers == ("North", "South")
    assert order.next_best.total == Decimal("19.00")


# Reels of 9, 14 and 16 m at 5, 9 and 10: least 305, worked by two solvers.  Widths from a roll of
# 1 m: 453 rolls (Gilmore and Gomory's example).  Both from the house's sheet of published values.
SHORT_REELS = {4000: 30, 5000: 20, 7000: 40}, ((9000, 500), (14000, 900), (16000, 1000)), "305.00"
ROLLS = {450: 97, 360: 610, 310: 395, 140: 211}, ((1000, 100),), "453.00"


def _textbook(sizes: dict[int, int], reels: tuple[tuple[int, int], ...]) -> Shop:
    pieces = [mm for mm, count in sizes.items() for _ in range(count)]
    rows, at = _reels("North", *reels), {"North": terms("North", "0")}
    return Shop(pieces={"red": pieces}, spare_mm=0, prices=rows, suppliers=at)


@pytest.mark.parametrize(("sizes", "reels", "total"), [SHORT_REELS, ROLLS])
def test_published_cases_are_proved_in_two_seconds(
    monkeypatch: pytest.MonkeyPatch,
    sizes: dict[int, int],
    reels: tuple[tuple[int, int], ...],
    total: str,
) -> None:
    """The least cost, known to be the least: two seconds of computing, however busy the machine."""
    shop = _textbook(sizes, reels).under(order_seconds=Decimal(20))
    order, seconds = _computed(monkeypatch, shop)
    assert (order.total, order.bound, order.proved) == (Decimal(total), Decimal(total), True)
    assert least(shop) == Decimal(total)
    assert not too_long(seconds, 2)


def test_a_second_reel_that_makes_postage_free_is_worth_more_than_it_costs() -> None:
    """A piece of 4 m from reels of 10 m at 10.00; postage 5.00, free over 18; left-overs at 0.8.

    One reel: 15.00 less 0.8 x 6.00 is 10.20.  Two: 20.00 less 0.8 x 16.00 is 7.20.  Three:
    30.00 less 0.8 x 26.00 is 9.20.
    """
    shop = Shop(
        pieces={"red": [4000]},
        spare_mm=0,
        prices=_reels("North", (10_000, 1000)),
        suppliers={"North": terms("North", "5.00", 18)},
        rules=HouseRules(leftover_worth=Decimal("0.8")),
    )
    order = shop.order()
    assert [line.packs for line in order.lines] == [2]
    assert (order.total, order.credit) == (Decimal("20.00"), Decimal("12.80"))
    assert (order.bound, order.proved, least(shop)) == (Decimal("7.20"), True, Decimal("7.20"))


def test_no_less_is_bought_than_a_row_is_sold_from() -> None:
    """Metres at 0.50 are sold from 2 on; pieces of 2.1, 2.1, 0.95 and 0.85 m make 6 m: 3.00.

    A reel of 3 m at 1.10 takes 2.95 m of them, so that it and 4 m cost 3.10.  Two reels leave the
    piece of 0.95 m, and 1 m is not sold: with 2 m they cost 3.20.  Three reels cost 3.30.
    """
    metres = price("North", "cable", "metre", 1, 50, 2)
    shop = Shop(
        pieces={"red": [2100, 2100, 950, 850]},
        spare_mm=0,
        prices=(metres, *_reels("North", (3000, 110))),
        suppliers={"North": terms("North", "0")},
    )
    order = shop.order()
    assert [(line.sold_as, line.packs) for line in order.lines] == [("metre", 6)]
    assert (order.total, order.proved, least(shop)) == (Decimal("3.00"), True, Decimal("3.00"))


def _large() -> Shop:
    """Eight colours in forty pieces each, from four reels that hold two to ten of them."""
    dice = random.Random(20)
    colours = ("red", "blue", "black", "green", "white", "brown", "yellow", "pink")
    rows = _reels("North", (9000, 500), (14_000, 900)) + _reels(
        "South", (7000, 385), (16_000, 1000)
    )
    return Shop(
        pieces={colour: [dice.randint(1500, 4900) for _ in range(40)] for colour in colours},
        prices=rows,
        suppliers={"North": terms("North", "3.50", 60), "South": terms("South", "5.95", 90)},
    )


@pytest.mark.parametrize("shop", [_textbook(*ROLLS[:2]), _large()], ids=["rolls", "large"])
def test_time_is_kept(monkeypatch: pytest.MonkeyPatch, shop: Shop) -> None:
    """Order and cut list compute for a fifth longer than `order_seconds` at most."""
    _, seconds = _computed(monkeypatch, shop)
    assert not too_long(seconds, 1.2 * float(shop.rules.order_seconds))


def _computed(monkeypatch: pytest.MonkeyPatch, shop: Shop) -> tuple[Order, float]:
    """The order, and the seconds that it and its cut list keep a processor busy, child included."""
    monkeypatch.setattr("bom.buy.order.Solver", Solver)  # not the patient one of all tests
    before = _cpu_seconds()
    order = shop.order()
    shop.cut_list(order)
    return order, _cpu_seconds() - before


def _cpu_seconds() -> float:
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime
