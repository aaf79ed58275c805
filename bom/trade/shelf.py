"""The shelf as types: reels and offcuts, the drawer, its moves and what is set aside."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from msgspec import Struct, field
from msgspec.structs import replace

from bom.trade.job_book import Colour
from bom.trade.placed import OrderLine
from bom.trade.problem import Problem
from bom.trade.rows import Listing, Row


class ShelfPiece(Struct, frozen=True, kw_only=True):
    """A reel or an offcut on the shelf: one continuous length, 0 for one that is used up."""

    name: str
    gauge: str
    colour: Colour
    length_mm: int
    cost_per_m: Decimal | None
    place: str
    row: Row
    annotated: bool = False
    """The owner has written more into its row than the columns that the program fills."""
    order: str = ""
    """The number of the order that it is on; '' for what lies on the shelf."""


class DrawerItem(Struct, frozen=True, kw_only=True):
    """A counted or measured item of the drawer; lengths are in millimetres."""

    item: str
    unit: str
    on_hand: Decimal
    low: Decimal | None
    full: Decimal | None
    cost: Decimal | None
    place: str
    row: Row
    counted_in: str = "each"
    """The unit in which its row counts: `m` for what is measured in metres."""
    annotated: bool = False
    """The owner has written more into its row than the columns that the program fills."""
    order: str = ""
    """The number of the order that it is on; '' for what lies on the shelf."""


class Move(Struct, frozen=True, kw_only=True):
    """One line of the book's history; `change` and `left` are in `unit`.

    `when` is text, `2026-11-25 14:03:07` where the program wrote it.
    """

    when: str
    job: str
    what: str
    item: str
    change: Decimal
    unit: str
    left: Decimal | None
    note: str
    row: Row


class Hold(Struct, frozen=True, kw_only=True):
    """So much of a piece (mm) or of an item of the drawer is set aside for a job."""

    job: str
    item: str
    quantity: Decimal
    unit: str
    since: str = ""
    """The moment of the move that set the first of it aside."""


class Stock(Struct, frozen=True, kw_only=True):
    """The shelf as read from the owner's book."""

    file: str
    pieces: tuple[ShelfPiece, ...]
    drawer: tuple[DrawerItem, ...]
    moves: tuple[Move, ...] = ()
    holds: tuple[Hold, ...] = ()
    issued: Mapping[str, str] = field(default_factory=dict)
    """The jobs whose parts are off the shelf already, by their folded names, and since when."""
    over: frozenset[str] = frozenset()
    """The jobs, by folded names, that are done or called off: nothing is kept for them."""
    orders: tuple[OrderLine, ...] = ()
    """The lines of the orders that were placed, in the order of their rows."""
    unread: tuple[Problem, ...] = ()
    """What is wrong in Orders: not all of its lines are known then."""
    lists: Mapping[str, Listing] = field(default_factory=dict)
    """Cable, Drawer, Moves and Orders as far as the book has them, by these names."""

    def beside_orders(self, problems: Iterable[Problem]) -> tuple[Problem, ...]:
        """The problems, cautions where what is asked has nothing to do with orders."""
        return tuple(replace(p, level="caution") if p in self.unread else p for p in problems)
