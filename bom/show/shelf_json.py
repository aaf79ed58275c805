"""JSON answers about the shelf: what is on it, and what was done to the stock book."""

from collections.abc import Iterable
from decimal import Decimal

from bom.shelf.marks import Learned
from bom.shelf.moves import Difference, Shelf
from bom.show.job_json import Answer, Money, Number, ProblemOut, UnitPrice, problems_out
from bom.trade.problem import Problem
from bom.trade.shelf import DrawerItem, ShelfPiece
from bom.workshop.stockroom import Booked


class PieceOut(Answer):
    """A reel or offcut on the shelf."""

    piece: str
    gauge: str
    colour: str
    length_mm: int
    cost_per_m: UnitPrice | None
    place: str


class DrawerOut(Answer):
    """An item of the drawer."""

    item: str
    unit: str
    on_hand: Number
    low: Number | None
    full: Number | None
    cost: UnitPrice | None
    place: str


class HeldOut(Answer):
    """So much of a thing is set aside for a job; mm for lengths."""

    job: str
    item: str
    quantity: Number
    unit: str


class ByHandOut(Answer):
    """A thing of which the book has not what the moves say; amounts in its unit."""

    item: str
    unit: str
    by_the_moves: Number
    in_the_book: Number


class ThreadOut(Answer):
    """All moves of a thing; mm for lengths: opening + come - gone = left."""

    item: str
    unit: str
    opening: Number
    come: Number
    gone: Number
    left: Number
    in_the_book: Number


class StockOut(Answer):
    """Answer of `bom stock show`; `rebuilt` is null unless it was asked for."""

    cable: list[PieceOut]
    drawer: list[DrawerOut]
    held: list[HeldOut]
    by_hand: list[ByHandOut]
    rebuilt: list[ThreadOut] | None
    problems: list[ProblemOut]


def stock_out(shelf: Shelf, problems: Iterable[Problem], *, rebuild: bool = False) -> StockOut:
    """The shelf, without what is used up."""
    return StockOut(
        cable=[_piece_out(piece) for piece in shelf.stock.pieces if piece.length_mm],
        drawer=[_drawer_out(item) for item in shelf.stock.drawer],
        held=[
            HeldOut(job=hold.job, item=hold.item, quantity=hold.quantity, unit=hold.unit)
            for hold in shelf.history.holds
        ],
        by_hand=_by_hand_out(shelf.differences()),
        rebuilt=_rebuilt_out(shelf) if rebuild else None,
        problems=problems_out(problems),
    )


def _rebuilt_out(shelf: Shelf) -> list[ThreadOut]:
    return [
        ThreadOut(
            item=thread.name,
            unit=key[1],
            opening=thread.opening,
            come=thread.come,
            gone=thread.gone,
            left=thread.left,
            in_the_book=shelf.accounts[key].on_hand if key in shelf.accounts else Decimal(),
        )
        for key, thread in shelf.history.threads.items()
    ]


def _piece_out(piece: ShelfPiece) -> PieceOut:
    return PieceOut(
        piece=piece.name,
        gauge=piece.gauge,
        colour=str(piece.colour),
        length_mm=piece.length_mm,
        cost_per_m=piece.cost_per_m,
        place=piece.place,
    )


def _drawer_out(item: DrawerItem) -> DrawerOut:
    return DrawerOut(
        item=item.item,
        unit=item.unit,
        on_hand=item.on_hand,
        low=item.low,
        full=item.full,
        cost=item.cost,
        place=item.place,
    )


def _by_hand_out(differences: Iterable[Difference]) -> list[ByHandOut]:
    return [
        ByHandOut(
            item=difference.name,
            unit=difference.unit,
            by_the_moves=difference.by_the_moves,
            in_the_book=difference.in_the_book,
        )
        for difference in differences
    ]


class MoveOut(Answer):
    """A row of Moves as it was, or would be, written; amounts in its unit."""

    what: str
    job: str
    item: str
    before: Number
    change: Number
    left: Number
    unit: str
    note: str


class BookedOut(Answer):
    """Answer of the `bom stock` commands that change the stock book."""

    written: bool
    when: str
    moves: list[MoveOut]
    by_hand: list[ByHandOut]
    remarks: list[str]
    problems: list[ProblemOut]


def booked_out(booked: Booked) -> BookedOut:
    """What was done to the stock book."""
    return BookedOut(
        written=booked.written,
        when=booked.when,
        moves=[
            MoveOut(
                what=entry.what,
                job=entry.job,
                item=entry.item,
                before=entry.before,
                change=entry.change,
                left=entry.left,
                unit=entry.unit,
                note=entry.note,
            )
            for entry in booked.entries
        ],
        by_hand=_by_hand_out(booked.by_hand),
        remarks=list(booked.remarks),
        problems=problems_out(booked.problems),
    )


class MarkOut(Answer):
    """Low and full marks proposed for an item; amounts in its unit."""

    item: str
    unit: str
    per_week: float
    deviation: float
    low: Number
    full: Number
    was_low: Number | None
    was_full: Number | None
    order_size: Number
    order_cost_per_year: Money | None
    remark: str


class LearnedOut(Answer):
    """Answer of `bom topup --learn`."""

    weeks: int
    marks: list[MarkOut]
    too_little: list[str]
    undated: int
    written: bool
    problems: list[ProblemOut]


def learned_out(found: Learned, written: bool, problems: Iterable[Problem]) -> LearnedOut:
    """The marks that use proposes."""
    return LearnedOut(
        weeks=found.weeks,
        marks=[
            MarkOut(
                item=mark.item,
                unit=mark.unit,
                per_week=mark.per_week,
                deviation=mark.deviation,
                low=mark.low,
                full=mark.full,
                was_low=mark.was_low,
                was_full=mark.was_full,
                order_size=mark.order_size,
                order_cost_per_year=mark.order_cost_per_year,
                remark=mark.remark,
            )
            for mark in found.marks
        ],
        too_little=list(found.too_little),
        undated=found.undated,
        written=written,
        problems=problems_out(problems),
    )
