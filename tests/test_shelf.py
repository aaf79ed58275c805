"""The shelf, the order and the drawer: laws that hold for any job, and prices by hand."""

from collections import Counter
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from bom.buy.allot import allot, top_up, unheld
from bom.buy.cut import cut, substitutes
from bom.buy.order import Conditions, buy
from bom.read.prices import EMPTY_PRICES
from bom.trade.house import HouseRules
from bom.trade.job_book import Colour
from bom.trade.needs import CutList, Need, Trace
from bom.trade.orders import Order, Price, PriceBook, Supplier
from bom.trade.placed import SoldAs
from bom.trade.rows import Row
from bom.trade.shelf import DrawerItem, Hold, ShelfPiece, Stock

RED = Colour("red")
ROW = Row("stock.xlsx", "Cable", 2)


def cable(pieces: list[int], spare: int = 0) -> Need:
    """A need of 1.0 red in these pieces."""
    return Need(
        kind="cable",
        item="cable, 1.0 mm2, red",
        gauge="1.0",
        colour=RED,
        quantity=Decimal(sum(pieces) + spare),
        unit="mm",
        wires=tuple(f"W{n}" for n in range(len(pieces))),
        pieces=tuple((length, f"W{n}") for n, length in enumerate(pieces)),
        spare_mm=spare,
        trace=Trace(""),
    )


def rings(quantity: int, **more: Any) -> Need:
    """A need of so many rings."""
    usual: dict[str, Any] = {"kind": "terminal", "unit": "each", "wires": (), "trace": Trace("")}
    return Need(item="ring", quantity=Decimal(quantity), **(usual | more))


def shelf(*lengths: int, colour: Colour = RED, gauge: str = "1.0") -> Stock:
    """Pieces P0, P1 ... of these lengths."""
    pieces = tuple(
        ShelfPiece(
            name=f"P{n}",
            gauge=gauge,
            colour=colour,
            length_mm=length,
            cost_per_m=Decimal("0.30"),
            place="",
            row=ROW,
        )
        for n, length in enumerate(lengths)
    )
    return Stock(file="stock.xlsx", pieces=pieces, drawer=())


def cut_up(
    need: Need, stock: Stock, prices: PriceBook = EMPTY_PRICES, **rules: Any
) -> tuple[Order, CutList]:
    """The need against the shelf, and what is bought for it."""
    house = HouseRules(**rules)
    allotment = allot([("job", need)], stock)
    order = buy(allotment, prices, house)
    return order, cut(allotment.cables, order, house)


def test_two_short_offcuts_are_not_one_long_piece() -> None:
    """Two offcuts of 1.2 m are not taken for a piece of 2.0 m; 2.4 m in one length are."""
    _, two = cut_up(cable([2000]), shelf(1200, 1200))
    assert [piece.new for piece in two.cuts] == [True]
    assert two.short[0].pieces == ((2000, "job", "W0"),)
    _, one = cut_up(cable([2000]), shelf(2400))
    assert [(piece.piece, piece.length_mm) for piece in one.cuts] == [("P0", 2000)]
    assert [piece.new for piece in one.cuts] == [False]
    assert one.short == ()
    assert one.offcuts[0].length_mm == 400


def test_a_length_that_stays_whole_is_not_taken() -> None:
    """2 m go on the second length alone: 2 m of it are taken, and of the first one nothing."""
    _, found = cut_up(cable([2000]), shelf(400, 2400, 300))
    assert [(part.piece, int(part.quantity)) for part in found.taken] == [("P1", 2000)]
    assert [(offcut.piece, offcut.length_mm) for offcut in found.offcuts] == [("P1", 400)]


def test_left_overs_of_opened_pieces_are_the_spare() -> None:
    """1000 of 1100 mm used, 100 left: of 150 mm spare 50 are short."""
    _, found = cut_up(cable([1000], spare=150), shelf(1100))
    assert found.short[0].quantity == 50
    assert found.short[0].pieces == ()


lengths = st.lists(st.integers(50, 4000), min_size=1, max_size=12)


@settings(max_examples=25)
@given(
    pieces=lengths, on_shelf=st.lists(st.integers(10, 9000), max_size=8), spare=st.integers(0, 500)
)
def test_needed_is_taken_plus_short(pieces: list[int], on_shelf: list[int], spare: int) -> None:
    """Nothing is lost, nothing is cut twice, and no piece is cut longer than it is."""
    need = cable(pieces, spare)
    _, found = cut_up(need, shelf(*on_shelf))
    taken = sum((part.quantity for part in found.taken), Decimal())
    short = sum((missing.quantity for missing in found.short), Decimal())
    assert need.quantity == taken + short
    assert Counter(pieces) == Counter(piece.length_mm for piece in found.cuts)
    used: Counter[str] = Counter()
    for piece in found.cuts:
        used[piece.piece] += piece.length_mm
    left = {offcut.piece: offcut.length_mm for offcut in found.offcuts}
    for on in shelf(*on_shelf).pieces:
        if on.name in used:
            assert used[on.name] + left[on.name] == on.length_mm
            assert left[on.name] >= 0


# --------------------------------------------------------------------------------- order


def price(supplier: str, each: str, sold: SoldAs = "metre", pack: int = 1, **more: object) -> Price:
    """A price row of 1.0 cable in every plain colour, or of an item."""
    item = str(more.get("item", "cable"))
    return Price(
        supplier=supplier,
        item=item,
        gauge="1.0" if item == "cable" else "",
        colour=None,
        sold_as=sold,
        pack=Decimal(pack),
        price=Decimal(each),
        from_qty=int(str(more.get("from_qty", 1))),
        part_no="",
        row=None,
    )


def prices(*rows: Price, **terms: tuple[str, str | None, str | None]) -> PriceBook:
    """Rows, and by supplier the postage, the value it is free from, the minimum order."""
    suppliers = {
        name: Supplier(
            name=name,
            postage=Decimal(postage),
            free_over=Decimal(free) if free else None,
            minimum_order=Decimal(least) if least else None,
        )
        for name, (postage, free, least) in terms.items()
    }
    return PriceBook(prices=rows, suppliers=suppliers)


def test_metres_come_as_one_continuous_length() -> None:
    """1.6 + 0.9 m and 0.13 m spare are 2.63 m: 3 m at 0.40."""
    order, found = cut_up(cable([1600, 900], 130), shelf(), prices(price("A", "0.40")))
    (line,) = order.lines
    assert (line.packs, line.cost) == (3, Decimal("1.20"))
    assert {piece.piece for piece in found.cuts} == {"new 1.0 red"}
    assert found.offcuts[0].length_mm == 3000 - 2500


def test_reels_hold_whole_pieces() -> None:
    """Three pieces of 3 m want two reels of 5 m and not 9/5: one piece a reel ... three reels."""
    reels = prices(price("A", "2.00", "reel", 5))
    order, _ = cut_up(cable([3000, 3000, 3000]), shelf(), reels)
    assert order.lines[0].packs == 3
    too_long, _ = cut_up(cable([6000]), shelf(), reels)
    assert too_long.lines == ()
    assert too_long.unpriced[0].pieces == ((6000, "job", "W0"),)


@pytest.mark.parametrize(
    ("trim", "end", "metres", "reels"),
    [
        (0, 0, 3, 1),
        (5, 0, 4, 1),  # two cuts cost 10 mm: a piece that ends where the length does needs none
        (0, 100, 3, 1),
        (0, 2001, 3, 2),  # 2999 mm of a reel are of use
    ],
)
def test_trims_and_reel_ends(trim: int, end: int, metres: int, reels: int) -> None:
    """Pieces of 1, 1 and 1 m: 3 m by the metre, or reels of 5 m."""
    need, rules = cable([1000, 1000, 1000]), {"trim_mm": trim, "reel_end_mm": end}
    order, found = cut_up(need, shelf(), prices(price("A", "0.40")), **rules)
    assert order.lines[0].packs == metres
    assert found.offcuts[0].length_mm == metres * 1000 - 3000 - (3 * trim if trim else 0)
    order, _ = cut_up(need, shelf(), prices(price("A", "2.00", "reel", 5)), **rules)
    assert order.lines[0].packs == reels


@pytest.mark.parametrize(
    ("worth", "sold", "credit"),
    [
        ("0", "metre", "0"),  # 3 m are 3.00, the reel is 3.50
        ("0.5", "reel", "1.23"),  # 7 m of the reel are left: 7 x 0.35 x 0.5 = 1.225, and 2.275
    ],
)
def test_what_is_left_over_may_decide_for_a_reel(worth: str, sold: SoldAs, credit: str) -> None:
    """3 m by the metre at 1.00, or a reel of 10 m at 3.50, by what a left-over metre is worth."""
    offers = prices(price("A", "1.00"), price("A", "3.50", "reel", 10))
    order, _ = cut_up(cable([1000, 1000, 1000]), shelf(), offers, leftover_worth=Decimal(worth))
    assert [line.sold_as for line in order.lines] == [sold]
    assert order.credit == Decimal(credit)


def test_a_minimum_that_is_just_reached_is_reached() -> None:
    """3 m at 1.00 are 3.00, and 3.00 is the least that A takes: no metre more is bought."""
    order, _ = cut_up(cable([3000]), shelf(), prices(price("A", "1.00"), A=("0", None, "3.00")))
    assert order.lines[0].packs == 3
    assert order.total == 3


def test_a_pack_that_is_sold_from_two_on_is_bought_twice() -> None:
    """5 rings want one pack of 10, but at 1.00 there are two at the least: 2.00."""
    offers = prices(price("A", "1.00", "pack", 10, item="ring", from_qty=2))
    order = buy(allot([("job", rings(5))], shelf()), offers, HouseRules())
    assert [(line.packs, line.cost) for line in order.lines] == [(2, Decimal(2))]


def compared(needs: list[Need], offers: PriceBook) -> Order:
    """What is bought, and what other choices of suppliers would cost."""
    allotment = allot([("job", need) for need in needs], shelf())
    return buy(allotment, offers, HouseRules(), Conditions(compare=True))


def test_the_next_best_choice_of_suppliers() -> None:
    """A sells 3 m for 3.00, B for 3.60."""
    order = compared([cable([3000])], prices(price("A", "1.00"), price("B", "1.20")))
    assert order.next_best is not None and order.next_best.suppliers == ("B",)
    assert order.next_best.total == Decimal("3.60")
    assert [one.total for one in order.alone] == [Decimal(3), Decimal("3.60")]


def test_where_each_supplier_is_needed_there_is_no_other_choice() -> None:
    """A has the cable alone, B the rings alone."""
    offers = prices(price("A", "1.00"), price("B", "0.10", "each", item="ring"))
    order = compared([cable([3000]), rings(2)], offers)
    assert order.next_best is None
    assert [(one.total, one.sells) for one in order.alone] == [(None, 1), (None, 1)]


def test_of_pieces_that_nobody_sells_the_first_jobs_lack_the_first() -> None:
    """Two of 1 m and one length of 1 m: what lacks is in order by job, whatever its wire."""
    need, other = cable([1000]), replace(cable([1000]), pieces=((1000, "A1"),))
    order = buy(allot([("1", need), ("2", other)], shelf(1000)), EMPTY_PRICES, HouseRules())
    assert order.unpriced[0].pieces == ((1000, "1", "W0"),)


def test_of_cable_that_nobody_sells_what_the_lengths_have_left_is_spare() -> None:
    """1000 + 1000 of 2500 mm leave 500: of 800 mm of spare 300 are lacking, and no piece."""
    order, _ = cut_up(cable([1000, 1000, 3000], 800), shelf(2500), trim_mm=0)
    assert order.unpriced[0].pieces == ((3000, "job", "W2"),)
    assert order.unpriced[0].spare_mm == 300


# -------------------------------------------------------------------- drawer, substitutes


def drawer(on_hand: int, low: int | None = 10, full: int | None = 50) -> Stock:
    """A drawer with one item."""
    item = DrawerItem(
        item="ring",
        unit="each",
        on_hand=Decimal(on_hand),
        low=None if low is None else Decimal(low),
        full=None if full is None else Decimal(full),
        cost=Decimal("0.05"),
        place="drawer 1",
        row=ROW,
    )
    return Stock(file="stock.xlsx", pieces=(), drawer=(item,))


@pytest.mark.parametrize(("on_hand", "bought"), [(10, None), (9, 41), (0, 50)])
def test_top_up_below_low_up_to_full(on_hand: int, bought: int | None) -> None:
    """At the low mark nothing is bought; below it, up to full."""
    stock = drawer(on_hand)
    short = top_up(allot([], stock), stock).short
    assert [missing.quantity for missing in short] == ([] if bought is None else [bought])


def test_top_up_counts_what_the_job_takes() -> None:
    """20 on hand, the job takes 15: 5 are left, under 10, so 45 more are bought."""
    stock = drawer(20)
    found = top_up(allot([("job", rings(15, wires=("W1",)))], stock), stock)
    assert [part.quantity for part in found.taken] == [15]
    assert [missing.quantity for missing in found.short] == [45]


def test_top_up_is_not_laid_on_an_extra_with_its_own_price() -> None:
    """3 wanted, 1 there: 2 come from elsewhere at their own price, and 50 fill the drawer."""
    extra = rings(3, kind="extra", price=Decimal("2.50"))
    stock = drawer(1)
    elsewhere, filled = top_up(allot([("job", extra)], stock), stock).short
    assert elsewhere.quantity == 2 and elsewhere.price == Decimal("2.50")
    assert filled.quantity == 50 and filled.price is None


def test_substitutes_are_named() -> None:
    """No 1.0 red on the shelf, but 1.5 red: the next gauge up would do where the ends take it."""
    stock = shelf(5000, gauge="1.5")
    _, lacking = cut_up(cable([1000, 900], 100), stock)
    yes = substitutes(lacking, stock, {"1.0": "1.5"}, lambda _job, _wire, _gauge: True)
    assert [(found.gauge, found.colour) for found in yes] == [("1.5", RED)]
    assert substitutes(lacking, stock, {"1.0": "1.5"}, lambda _job, _wire, _gauge: False) == ()
    short = shelf(1500, gauge="1.5")
    assert substitutes(lacking, short, {"1.0": "1.5"}, lambda _job, _wire, _gauge: True) == ()


# --------------------------------------------------------------------------------- holds


def held(*holds: tuple[str, str, int], stock: Stock) -> Stock:
    """The stock with these holds: job, piece or item, quantity."""
    unit = "mm" if stock.pieces else "each"
    return replace(
        stock,
        holds=tuple(
            Hold(job=job, item=item, quantity=Decimal(quantity), unit=unit)
            for job, item, quantity in holds
        ),
    )


@pytest.mark.parametrize(
    ("job", "left"), [("ours", [5000, 3000]), ("theirs", [2000]), ("another", [])]
)
def test_what_is_held_for_other_jobs_is_not_there(job: str, left: list[int]) -> None:
    """Of P0 3 m and of P1 all are held for ours, 5 m of P0 and the whole of P1 are there."""
    theirs = [("theirs", "P0", 5000)] if job == "another" else []
    stock = held(("ours", "p0", 3000), ("ours", "P1", 3000), *theirs, stock=shelf(5000, 3000))
    assert [piece.length_mm for piece in unheld(stock, {job}).pieces] == left


def test_counts_held_for_other_jobs_are_not_there() -> None:
    """20 rings, 15 held for another job: 5 for ours, and the low mark looks at those."""
    stock = unheld(held(("theirs", "RING", 15), stock=drawer(20)), {"ours"})
    assert [item.on_hand for item in stock.drawer] == [5]
    assert [missing.quantity for missing in top_up(allot([], stock), stock).short] == [45]
