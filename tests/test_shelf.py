"""The shelf, the order and the drawer: laws that hold for any job, and prices by hand."""

from collections import Counter
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.allot import allot, best_fit, substitutes, top_up
from bom.buy import buy
from bom.goods import (
    DrawerItem,
    Need,
    Price,
    PriceBook,
    ShelfPiece,
    Short,
    Stock,
    Supplier,
    Trace,
)
from bom.trade import Colour, Row

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


def test_two_short_offcuts_are_not_one_long_piece() -> None:
    """Two offcuts of 1.2 m are not taken for a piece of 2.0 m; 2.4 m in one length are."""
    two = allot([("job", cable([2000]))], shelf(1200, 1200))
    assert two.cuts == ()
    assert two.short[0].pieces == ((2000, "job", "W0"),)
    one = allot([("job", cable([2000]))], shelf(2400))
    assert [(cut.piece, cut.length_mm) for cut in one.cuts] == [("P0", 2000)]
    assert one.short == ()
    assert one.offcuts[0].length_mm == 400


def test_the_best_fit_is_taken() -> None:
    """The shortest rest that takes the piece: the long reel stays whole."""
    found = allot([("job", cable([900]))], shelf(5000, 950, 1000))
    assert found.cuts[0].piece == "P1"


def test_left_overs_of_opened_pieces_are_the_spare() -> None:
    """1000 of 1100 mm used, 100 left: of 150 mm spare 50 are short."""
    found = allot([("job", cable([1000], spare=150))], shelf(1100))
    assert found.short[0].quantity == 50
    assert found.short[0].pieces == ()


lengths = st.lists(st.integers(50, 4000), min_size=1, max_size=12)


@given(
    pieces=lengths, on_shelf=st.lists(st.integers(10, 9000), max_size=8), spare=st.integers(0, 500)
)
def test_needed_is_taken_plus_short(pieces: list[int], on_shelf: list[int], spare: int) -> None:
    """Nothing is lost, nothing is cut twice, and no piece is cut longer than it is."""
    need = cable(pieces, spare)
    found = allot([("job", need)], shelf(*on_shelf))
    taken = sum((part.quantity for part in found.taken), Decimal())
    short = sum((missing.quantity for missing in found.short), Decimal())
    assert need.quantity == taken + short
    missing = [length for line in found.short for length, _, _ in line.pieces]
    assert Counter(pieces) == Counter([cut.length_mm for cut in found.cuts] + missing)
    used: Counter[str] = Counter()
    for cut in found.cuts:
        used[cut.piece] += cut.length_mm
    left = {offcut.piece: offcut.length_mm for offcut in found.offcuts}
    for piece in shelf(*on_shelf).pieces:
        if piece.name in used:
            assert used[piece.name] + left[piece.name] == piece.length_mm
            assert left[piece.name] >= 0


@given(pieces=lengths, on_shelf=st.lists(st.integers(10, 9000), max_size=8), data=st.data())
def test_row_order_does_not_matter(
    pieces: list[int], on_shelf: list[int], data: st.DataObject
) -> None:
    """The same pieces in another order are placed on the same lengths."""
    wanted = [(length, "job", f"W{n:02}") for n, length in enumerate(pieces)]
    names = [(length, f"P{n}") for n, length in enumerate(on_shelf)]
    mixed = best_fit(data.draw(st.permutations(wanted)), data.draw(st.permutations(names)))
    assert mixed == best_fit(wanted, names)


@given(pieces=lengths)
def test_two_identical_jobs_need_twice_the_pieces(pieces: list[int]) -> None:
    """With an empty shelf, exactly."""
    one = allot([("a", cable(pieces))], shelf())
    two = allot([("a", cable(pieces)), ("b", cable(pieces))], shelf())
    assert len(two.short[0].pieces) == 2 * len(one.short[0].pieces)
    assert two.short[0].quantity == 2 * one.short[0].quantity


# --------------------------------------------------------------------------------- order


def price(supplier: str, each: str, sold: str = "metre", pack: int = 1, **more: object) -> Price:
    """A price row of 1.0 cable in every plain colour, or of an item."""
    item = str(more.get("item", "cable"))
    return Price(
        supplier=supplier,
        item=item,
        gauge="1.0" if item == "cable" else "",
        colour=None,
        sold_as=sold,  # type: ignore[arg-type] # the words of the test
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


def missing(pieces: list[int], spare: int = 0) -> list[Short]:
    """What is short of these pieces with nothing on the shelf."""
    return list(allot([("job", cable(pieces, spare))], shelf()).short)


def parts(count: int, item: str = "ring") -> list[Short]:
    """So many of an item short."""
    return [
        Short(
            kind="terminal",
            item=item,
            gauge="",
            colour=None,
            quantity=Decimal(count),
            unit="each",
            jobs=("job",),
        )
    ]


def test_metres_come_as_one_continuous_length() -> None:
    """1.6 + 0.9 m and 0.13 m spare are 2.63 m: 3 m at 0.40."""
    order = buy(missing([1600, 900], 130), prices(price("A", "0.40")), best_fit)
    (line,) = order.lines
    assert (line.packs, line.cost) == (3, Decimal("1.20"))
    assert {cut.piece for cut in order.cuts} == {"new 1.0 red"}
    assert order.offcuts[0].length_mm == 3000 - 2500


def test_reels_hold_whole_pieces() -> None:
    """Three pieces of 3 m want two reels of 5 m and not 9/5: one piece a reel ... three reels."""
    order = buy(missing([3000, 3000, 3000]), prices(price("A", "2.00", "reel", 5)), best_fit)
    assert order.lines[0].packs == 3
    too_long = buy(missing([6000]), prices(price("A", "2.00", "reel", 5)), best_fit)
    assert too_long.lines == ()
    assert too_long.unpriced[0].pieces == ((6000, "job", "W0"),)


def test_each_line_is_bought_where_it_is_cheapest() -> None:
    """3 m at 0.40 are 1.20, a reel of 5 m is 1.10."""
    offers = prices(price("A", "0.40"), price("B", "1.10", "reel", 5))
    order = buy(missing([2500]), offers, best_fit)
    assert (order.lines[0].supplier, order.total) == ("B", Decimal("1.10"))


def test_price_breaks() -> None:
    """12 rings: two packs of 10 at 1.10 = 2.20; from three packs on 0.70 each = 2.10."""
    rows = [
        price("A", "1.10", "pack", 10, item="ring"),
        price("A", "0.70", "pack", 10, item="ring", from_qty=3),
    ]
    order = buy(parts(12), prices(*rows), best_fit)
    assert (order.lines[0].packs, order.total) == (3, Decimal("2.10"))


@pytest.mark.parametrize(("count", "postage"), [(10, "4.00"), (100, "0.00")])
def test_postage_is_free_from_a_value_on(count: int, postage: str) -> None:
    """10 rings are 1.00 and pay 4.00; 100 are 10.00, from where it is free."""
    row = price("A", "1.00", "pack", 10, item="ring")
    order = buy(parts(count), prices(row, A=("4.00", "10.00", "5.00")), best_fit)
    assert order.postage == {"A": Decimal(postage)}
    assert order.below_minimum == (("A",) if count == 10 else ())


def test_what_nobody_sells_stays_unpriced() -> None:
    """The line is there, without a price; a trace is not covered by a row for plain colours."""
    order = buy(parts(3, "odd thing"), prices(price("A", "0.40")), best_fit)
    assert [line.item for line in order.unpriced] == ["odd thing"]
    assert prices(price("A", "0.40")).offers("cable", "1.0", Colour("red", "blue"), "mm") == []


@given(
    pieces=lengths,
    reel=st.integers(5, 50),
    metre=st.integers(10, 90),
    reel_price=st.integers(100, 900),
)
def test_the_bound_is_never_over_the_total(
    pieces: list[int], reel: int, metre: int, reel_price: int
) -> None:
    """And every piece is cut exactly once from what is bought."""
    rows = [
        price("A", f"{metre / 100:.2f}"),
        price("B", f"{reel_price / 100:.2f}", "reel", reel),
    ]
    order = buy(missing(pieces, 100), prices(*rows, A=("3.95", None, None)), best_fit)
    assert order.bound <= order.total
    assert Counter(cut.length_mm for cut in order.cuts) == Counter(pieces)
    assert sum(cut.length_mm for cut in order.cuts) + sum(
        o.length_mm for o in order.offcuts
    ) == sum(line.bought for line in order.lines)


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
    need = Need(
        kind="terminal",
        item="ring",
        quantity=Decimal(15),
        unit="each",
        wires=("W1",),
        trace=Trace(""),
    )
    stock = drawer(20)
    found = top_up(allot([("job", need)], stock), stock)
    assert [part.quantity for part in found.taken] == [15]
    assert [missing.quantity for missing in found.short] == [45]


def test_substitutes_are_named() -> None:
    """No 1.0 red on the shelf, but 1.5 red: the next gauge up would do where the ends take it."""
    stock = shelf(5000, gauge="1.5")
    lacking = allot([("job", cable([1000, 900], 100))], stock)
    yes = substitutes(lacking, stock, {"1.0": "1.5"}, lambda _job, _wire, _gauge: True)
    assert [(found.gauge, found.colour) for found in yes] == [("1.5", RED)]
    assert substitutes(lacking, stock, {"1.0": "1.5"}, lambda _job, _wire, _gauge: False) == ()
    short = shelf(1500, gauge="1.5")
    assert substitutes(lacking, short, {"1.0": "1.5"}, lambda _job, _wire, _gauge: True) == ()
