"""A parcel typed line by line: a word for every line of an order that means it alone."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bom.job import find_workshop
from bom.shelf.moves import Refusal, word_of
from bom.shelf.moves.orders import lines_meant
from bom.trade.job_book import Colour
from bom.trade.placed import OrderLine, SoldAs
from bom.trade.rows import Row
from bom.workshop.orders import parcel_typed
from tests.books import book as write_book
from tests.shops import CABLE, DRAWER
from tests.stockrooms import ITEMS, MOVES, REELS, done, refused, rows, shelf, shop

GOODS = ("supplier", "item", "gauge", "colour", "sold as", "pack")
ORDERS = ("number", "date", *GOODS, "packs", "price", "part no", "for", "came", "note")
RED, COVERS, ODD = "cable, 1.0 mm2, red", "bullet cover, male", "clip, a = 5"
LINES: tuple[
    tuple[str, str | None, str | None, SoldAs, int | None, int, float, str | None], ...
] = (
    (RED, "1.0", "red", "metre", None, 4, 0.5, None),
    (RED, "1.0", "red", "reel", 50, 1, 20, None),
    (COVERS, None, None, "pack", 10, 2, 0.9, "OT-7"),
    (COVERS, None, None, "pack", 50, 2, 4.2, None),
    (COVERS, None, None, "pack", 50, 3, 4.2, None),
    (ODD, None, None, "each", None, 6, 0.1, None),
    ("blade fuse, 5 A", None, None, "each", None, 6, 0.1, None),
)
WORDS = (
    "cable, 1.0 mm2, red, metre",
    "cable, 1.0 mm2, red, reel of 50",
    "bullet cover, male, pack of 10",
    "bullet cover, male, pack of 50",
    "bullet cover, male, pack of 50",
    "clip, a = 5",
    "blade fuse, 5 A",
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A workshop that waits for all of it, as order 2026-001."""
    shop(tmp_path)
    on_order = [
        ("2026-001", "2026-11-02", "Abel", item, gauge, colour, sold, pack, packs, price, no)
        for item, gauge, colour, sold, pack, packs, price, no in LINES
    ]
    drawer = [DRAWER, *ITEMS, (ODD, "each", 0, None, None, None)]
    moves, cable = [MOVES], [CABLE, *REELS]
    orders = [ORDERS, *((*row, None, 0, None) for row in on_order)]
    write_book(tmp_path, "stock.xlsx", Cable=cable, Drawer=drawer, Moves=moves, Orders=orders)
    return tmp_path


Goods = tuple[str, str, str]
Drawn = tuple[Goods, SoldAs, int, str]


def line(number: int, goods: Goods, sold: SoldAs, pack: int, part_no: str) -> OrderLine:
    """A line of the order in its own row; goods are item, gauge and colour."""
    item, gauge, colour = goods
    return OrderLine(
        number="2026-001",
        date=date(2026, 11, 2),
        supplier="Abel",
        item=item,
        gauge=gauge,
        colour=Colour(colour) if colour else None,
        sold_as=sold,
        pack=Decimal(pack),
        packs=2,
        price=Decimal(1),
        part_no=part_no,
        jobs=(),
        needed=(),
        came=0,
        note="",
        measured=bool(gauge),
        row=Row("stock.xlsx", "Orders", number),
    )


def test_every_line_has_a_word() -> None:
    """The item where that will do, its form where it is sold in two; alike lines share one."""
    lines = [
        line(n, (item, gauge or "", colour or ""), sold, pack or 1, part_no or "")
        for n, (item, gauge, colour, sold, pack, _, _, part_no) in enumerate(LINES, 2)
    ]
    assert [word_of(lines, one) for one in lines] == list(WORDS)
    meant = [[one.row.number for one in lines_meant(lines, word)] for word in WORDS]
    assert meant == [[2], [3], [4], [5, 6], [5, 6], [7], [8]]


_PLAIN = (("fuse", "", ""), ("clip, a = 5", "", ""), (RED, "1.0", "red"), ("relay", "", ""))
_NAMED_LIKE_A_FORM = (("fuse, pack", "", ""), ("fuse, pack of 1", "", ""), ("fuse, each", "", ""))
_DRAWN = st.tuples(
    st.sampled_from((*_PLAIN, *_NAMED_LIKE_A_FORM)),
    st.sampled_from(("pack", "each")),
    st.sampled_from((1, 10, 50)),
    st.sampled_from(("", "OT-7", "fuse")),
)


@given(st.lists(_DRAWN, min_size=1, max_size=5))
def test_a_word_never_means_another_line(drawn: list[Drawn]) -> None:
    """It is refused only where an item, or a part number, is called like another line's form."""
    lines = [line(n, goods, sold, pack, no) for n, (goods, sold, pack, no) in enumerate(drawn, 2)]
    odd = {one[0] for one in drawn} & {*_NAMED_LIKE_A_FORM} or "fuse" in {one[3] for one in drawn}
    for one in lines:
        try:
            meant = lines_meant(lines, word_of(lines, one))
        except Refusal:
            assert odd
            continue
        goods = {(other.item, other.gauge, other.sold_as, other.pack) for other in meant}
        assert one in meant and len(goods) == 1


def test_just_the_lines_that_were_typed(folder: Path) -> None:
    """A reel and 4 of 5 packs of 50 come, in two lines alike: 2 and 2; and 3 clips at 0.12.

    The drawer has 20 + 4 x 50 = 220 covers; of a reel no end is lost (`reel_end_mm` is 0).
    """
    typed = [(word, "", "") for word in WORDS]
    typed[1], typed[5] = (WORDS[1], "1", ""), (ODD, "3", "0.12")
    typed[3], typed[4] = (WORDS[3], "1", " "), (WORDS[4], "3", "")
    done(folder, parcel_typed(find_workshop(folder), "2026-001", typed))
    assert [row[12] for row in rows(folder, "Orders")] == [0, 1, 0, 2, 2, 3, 0]
    there = shelf(folder)
    assert (there[COVERS], there[ODD], there["R04"]) == (220, 3, 50)
    assert rows(folder, "Orders")[5][9] == 0.12


def test_of_nothing_typed_nothing_came(folder: Path) -> None:
    """Not all that is to come, as where a command names no line."""
    plan = parcel_typed(find_workshop(folder), "2026-001", [(word, "", "") for word in WORDS])
    assert refused(folder, plan) == ["Orders M2 nothing came"]
