"""The sheet that somebody walks along the drawers with, and counts: by place, what is low first."""

import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import groupby
from typing import Any, TypeAlias

from msgspec import Struct

from bom.files.spelling import fold
from bom.files.table import Heading, Table
from bom.shelf.moves import Shelf
from bom.show.job_json import number, problems_out
from bom.show.shelf_found import Shown
from bom.show.shelf_tables import in_m, m_for, piece_in_words
from bom.trade.job_book import Colour
from bom.trade.problem import Problem

NO_PLACE = "no place in the book"


class CountLine(Struct, frozen=True, kw_only=True):
    """A row of the stock book to be counted, lengths in metres."""

    place: str
    name: str
    words: str
    colour: Colour | None
    in_the_book: Decimal
    unit: str
    held: Decimal | None
    is_low: bool


def count_lines(shelf: Shelf, shown: Shown) -> list[CountLine]:
    """The rows shown in the order of a walk: places as one counts, 2 before 10, none at the end.

    At each place what runs low comes first, then the rows as they stand in the book.
    """
    lines = (*_pieces(shelf, shown), *_items(shelf, shown))
    return sorted(
        lines, key=lambda line: (not line.place, _as_counted(line.place), not line.is_low)
    )


def by_place(lines: Iterable[CountLine]) -> list[tuple[str, list[CountLine]]]:
    """The lines under their places, each spelled as its first line spells it."""
    groups = [[*group] for _, group in groupby(lines, key=lambda line: fold(line.place))]
    return [(group[0].place or NO_PLACE, group) for group in groups]


def _pieces(shelf: Shelf, shown: Shown) -> Iterator[CountLine]:
    for piece in shown.pieces:
        yield CountLine(
            place=piece.place,
            name=piece.name,
            words=piece_in_words(piece),
            colour=piece.colour,
            in_the_book=Decimal(piece.length_mm) / 1000,
            unit="m",
            held=in_m(shelf.held_of(piece.name, "mm") or None, "mm"),
            is_low=False,
        )


def _items(shelf: Shelf, shown: Shown) -> Iterator[CountLine]:
    for item in shown.drawer:
        yield CountLine(
            place=item.place,
            name=item.item,
            words=item.item,
            colour=None,
            in_the_book=in_m(item.on_hand, item.unit) or Decimal(),
            unit=m_for(item.unit),
            held=in_m(shelf.held_of(item.item, item.unit) or None, item.unit),
            is_low=shelf.runs_low(item),
        )


_Counted: TypeAlias = list[str | tuple[int, str]]


def _as_counted(place: str) -> _Counted:
    """A place by its words and numbers in turn: `A2` before `A10`, in any letters.

    >>> sorted(["rack 10", "Rack 2", "rack", "A10", "a2"], key=_as_counted)
    ['a2', 'A10', 'rack', 'Rack 2', 'rack 10']
    """
    words_and_numbers = re.split(r"(\d+)", fold(place))
    return [
        (len(part.lstrip("0")), part.lstrip("0")) if at % 2 else part
        for at, part in enumerate(words_and_numbers)
    ]


def count_table(lines: Sequence[CountLine], *, to_fill: bool) -> Table:
    """The lines in their order; with a blank column where the file is to be filled in."""
    held = any(line.held for line in lines)
    return Table.of(
        "the shelf by place",
        lines,
        Heading("place", lambda line: line.place, wide=24),
        Heading("piece or item", lambda line: line.words, wide=48),
        Heading("in the book", lambda line: line.in_the_book, "quantity"),
        Heading("counted", lambda _: None, "quantity", shown=to_fill),
        Heading("unit", lambda line: line.unit),
        Heading("set aside", lambda line: line.held, "quantity", shown=held, gives_way=3),
        Heading("", lambda line: "low" if line.is_low else "", gives_way=2),
    )


def count_out(lines: Iterable[CountLine], problems: Iterable[Problem]) -> dict[str, Any]:
    """`bom stock sheet` as JSON, in the order of the walk; lengths in metres."""
    return {
        "lines": [
            {
                "place": line.place,
                "item": line.name,
                "in_the_book": number(line.in_the_book),
                "unit": line.unit,
                "held": number(line.held or Decimal()),
                "low": line.is_low,
            }
            for line in lines
        ],
        "problems": problems_out(problems),
    }
