"""An order booked in from a file of the owner's, which is known by what stands in it.

Not by its name, nor by packs and prices: those are put right while parcels come.
"""

import hashlib
import re
from collections import Counter, defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import count
from typing import Literal, TypeAlias

from msgspec import Struct, field
from msgspec.structs import replace

from bom.files.spelling import fold, plain
from bom.shelf.moves.account import Shelf
from bom.shelf.moves.arrive import Arrival, source_of, words_of
from bom.shelf.moves.booking import Booking, Draft
from bom.trade.catalogue import Catalogue
from bom.trade.orders import Arrived
from bom.trade.placed import OrderLine
from bom.trade.problem import error

Twice: TypeAlias = Literal["", "again", "rest"]
"""What to do with lines that came already: refuse, book all once more, or what has come since."""

_NAME = re.compile(r"([0-9a-f]{6}(?:/\d+)?) (.*)")
_Form: TypeAlias = tuple[str, str, str, Decimal]
"""Supplier, item or cable in folded words, as it is sold, and the pack."""


class Paper(Struct, frozen=True, kw_only=True):
    """A file with an order: all its lines, those that came and those that did not."""

    name: str
    lines: tuple[Arrived, ...]

    @property
    def plain_name(self) -> str:
        """Its name as the moves have it, in which a semicolon would part what they say."""
        return self.name.replace(";", ",")

    @property
    def content(self) -> str:
        """Six digits that tell one order from another, whatever has come of it at what price."""
        lines = {f"{a.supplier}|{a.item}|{a.sold_as}|{plain(a.pack)}" for a in self.lines}
        return hashlib.sha256("\n".join(sorted(lines)).casefold().encode()).hexdigest()[:6]


def receive(
    shelf: Shelf,
    paper: Paper,
    chosen: Sequence[Arrived],
    setting: tuple[Catalogue, str, int],
    twice: Twice = "",
) -> Booking:
    """Book the chosen lines of a file in; `Refusal` where some of them came already.

    `setting` is the catalogue, the place for what is new, and the end that is lost of a reel.
    With `rest` the packs of the file are all that have come so far.
    """
    draft, booked = Draft(shelf), _booked(shelf)
    if twice != "again":
        _refuse_placed(draft, shelf, chosen)
    mark = _last_of(paper, booked)
    came = booked[mark].packs if mark in booked else Counter[_Form]()
    known = [line for line in chosen if came[_form(line)]]
    if twice == "rest":
        chosen = [*_since(chosen, came)]
    elif known and twice == "again":
        mark = _next(paper.content, booked)
    elif known:
        items = f"'{known[0].item}'" + (f" and {len(known) - 1} more" if known[1:] else "")
        says = f"booked in already, from {known[0].supplier}: {items}"
        cure = "--rest for what has come since, --again if this is another order of the same"
        draft.refuse(error(known[0].row.where("item"), says, cure))
    arrival = Arrival(draft, shelf, *setting)
    for line in chosen:
        arrival.come(line, f"file {mark} {paper.plain_name}")
    return draft.booking()


def _refuse_placed(draft: Draft, shelf: Shelf, chosen: Iterable[Arrived]) -> None:
    """What was placed comes in by its number: by a file it would come twice."""
    still = {_ordered(line): line.number for line in reversed(shelf.stock.orders) if line.to_come}
    numbers = [(line, line.number or still.get(_form(line), "")) for line in chosen]
    known = [(line, number) for line, number in numbers if number]
    if known:
        line, number = known[0]
        says = f"'{line.item}' is on order {number}, and comes in by that"
        cure = f"bom stock receive {number}; --again if this is another order"
        draft.refuse(error(line.row.where("item"), says, cure))


def _ordered(line: OrderLine) -> _Form:
    words = words_of(line.item, line.gauge, line.colour)
    return fold(line.supplier), words, line.sold_as, line.pack


class _Earlier(Struct):
    """The packs that came of a file, and the names that it had."""

    packs: Counter[_Form] = field(default_factory=Counter)
    names: set[str] = field(default_factory=set)


def _booked(shelf: Shelf) -> dict[str, _Earlier]:
    """What came of each file, by its mark: its content, and which time that came."""
    found: dict[str, _Earlier] = defaultdict(_Earlier)
    for command in shelf.history.standing:
        for move in command.moves:
            source = source_of(move) if move.what == "receive" else None
            known = _NAME.fullmatch(source.name) if source and source.what == "file" else None
            if source and known:
                form = (fold(source.supplier), source.words, source.form, source.pack)
                found[known[1]].packs[form] += source.packs
                found[known[1]].names.add(known[2])
    return found


def _last_of(paper: Paper, booked: Mapping[str, _Earlier]) -> str:
    """The mark under which a file came last; that of its content where it never did.

    A file whose lines were struck out, or put in again, is known by those that it has left; of
    several with one content that of its name is meant.
    """
    lines = {_form(line) for line in paper.lines}
    alike = [m for m, one in booked.items() if lines <= {*one.packs} or {*one.packs} <= lines]
    same = [mark for mark in booked if mark.partition("/")[0] == paper.content]
    own = [mark for mark in same if paper.plain_name in booked[mark].names]
    return (own or same or alike or [paper.content])[-1]


def _next(content: str, booked: Container[str]) -> str:
    """The mark of a content that came before, as another order."""
    marks = (f"{content}/{time}" if time > 1 else content for time in count(1))
    return next(mark for mark in marks if mark not in booked)


def _since(chosen: Iterable[Arrived], came: Counter[_Form]) -> Iterator[Arrived]:
    """The lines less what came of them before."""
    left = came.copy()
    for line in chosen:
        before = min(line.packs, left[_form(line)])
        left[_form(line)] -= before
        if line.packs > before:
            yield replace(line, packs=line.packs - before)


def _form(line: Arrived) -> _Form:
    words = words_of(line.item, line.gauge, line.colour)
    return fold(line.supplier), words, line.sold_as, line.pack
