"""Which prices are shown: all of them, or those that have the owner's words in them."""

from collections.abc import Iterable, Sequence
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from bom.read.matching import Goods
from bom.show.shelf_found import Finder
from bom.trade.job_book import Colour
from bom.trade.orders import Price
from bom.workshop.price_history import Paid

PriceOrPaid = TypeVar("PriceOrPaid", Price, Paid)


class ShownPrices(Struct, frozen=True, kw_only=True):
    """Rows of the price lists, and what is known of what the same goods cost elsewhere and before.

    `past` is None where it was not asked for.
    """

    prices: tuple[Price, ...]
    past: tuple[Paid, ...] | None = None
    is_whole: bool = True
    """All that could tell of it was read."""

    @property
    def is_empty(self) -> bool:
        """True where there is nothing to show."""
        return not (self.prices or self.past)


def with_words(finder: Finder, shown: ShownPrices) -> ShownPrices:
    """The prices that have all the words; of cable in every plain colour in the one asked for."""
    prices, past = _found(finder, shown.prices), _found(finder, shown.past or ())
    return replace(shown, prices=prices, past=past)


def _found(finder: Finder, rows: Iterable[PriceOrPaid]) -> tuple[PriceOrPaid, ...]:
    return tuple(row for row in rows if finder.are_in(_text(row, finder.colour)))


def nothing(finder: Finder, shown: ShownPrices) -> tuple[str, str]:
    """What to say where no price has all the words, and what comes nearest."""
    rows: Sequence[Price | Paid] = (*shown.prices, *(shown.past or ()))
    texts = {str(goods_of(row)): _text(row) for row in rows}
    return finder.nothing_in(texts, "on the price lists", "bom prices show")


def _text(row: Price | Paid, colour: str = "") -> str:
    """The words by which a row is found."""
    return f"{goods_of(row, colour)} {row.supplier} {row.sold_as} {row.part_no}"


def goods_of(row: Price | Paid, colour: str = "") -> Goods:
    """What is sold; cable of every plain colour in the one asked for."""
    asked = Colour(colour) if colour and row.gauge else None
    return Goods(row.item, row.gauge, row.colour or asked)
