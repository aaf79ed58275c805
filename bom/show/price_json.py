"""JSON answers about price lists: what was booked, what is doubtful, and how old prices are."""

from bom.read.matching import Matched
from bom.show.job_json import Answer, Number, ProblemOut, UnitPrice, problems_out
from bom.trade.orders import Price
from bom.trade.problem import Problem
from bom.workshop.price_lists import AddedList


class PriceOut(Answer):
    """A price that was booked; `was` is the one there before."""

    item: str
    gauge: str
    colour: str
    sold_as: str
    pack: Number
    price: UnitPrice
    was: UnitPrice | None
    part_no: str
    cell: str


class DoubtfulOut(Answer):
    """A row that may be one of ours, and why that is not sure."""

    cell: str
    words: str
    part_no: str
    price: UnitPrice | None
    doubts: list[str]
    nearest: list[str]


class AddedOut(Answer):
    """Answer of `bom prices add`."""

    supplier: str
    booked: list[PriceOut]
    doubtful: list[DoubtfulOut]
    not_ours: int
    without_price: int
    written: bool
    problems: list[ProblemOut]


def added_out(added: AddedList) -> AddedOut:
    """All of it."""
    return AddedOut(
        supplier=added.supplier,
        booked=[_booked(one.matched, one.was) for one in added.booked],
        doubtful=[
            DoubtfulOut(
                cell=one.listed.row.where("description").cell,
                words=one.listed.words,
                part_no=one.listed.part_no,
                price=one.listed.price,
                doubts=list(one.doubts),
                nearest=[str(goods) for goods in one.nearest],
            )
            for one in added.doubtful
        ],
        not_ours=len(added.not_ours),
        without_price=added.without_price,
        written=added.written,
        problems=problems_out(added.problems),
    )


def _booked(one: Matched, was: UnitPrice | None) -> PriceOut:
    goods = one.goods
    return PriceOut(
        item=goods.item if goods else "",
        gauge=goods.gauge if goods else "",
        colour=str(goods.colour or "") if goods else "",
        sold_as=one.sold_as,
        pack=one.pack,
        price=one.price,
        was=was,
        part_no=one.listed.part_no,
        cell=one.listed.row.where("description").cell,
    )


class KnownPriceOut(Answer):
    """A row of the price book; `date` is '' where none is told."""

    supplier: str
    item: str
    gauge: str
    colour: str
    sold_as: str
    pack: Number
    price: UnitPrice
    date: str


class PricesOut(Answer):
    """Answer of `bom prices show`; prices without tax."""

    prices: list[KnownPriceOut]
    problems: list[ProblemOut]


def prices_out(rows: tuple[Price, ...], problems: tuple[Problem, ...]) -> PricesOut:
    """Every price."""
    return PricesOut(prices=[_known(row) for row in rows], problems=problems_out(problems))


def _known(row: Price) -> KnownPriceOut:
    return KnownPriceOut(
        supplier=row.supplier,
        item=row.item,
        gauge=row.gauge,
        colour=str(row.colour or ""),
        sold_as=row.sold_as,
        pack=row.pack,
        price=row.price,
        date=f"{row.priced_on or ''}",
    )
