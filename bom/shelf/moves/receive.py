"""An order booked in from a file of the owner's, which is known by what stands in it.

Not by its name, nor by packs and prices: those are put right while parcels come.
"""

import hashlib
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Literal, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from bom.files.spelling import plain
from bom.shelf.moves.account import Shelf
from bom.shelf.moves.arrive import Arrival, source_of, words_of
from bom.shelf.moves.booking import Booking, Draft
from bom.shelf.moves.history import Command
from bom.trade.catalogue import Catalogue
from bom.trade.orders import Arrived
from bom.trade.problem import error

Twice: TypeAlias = Literal["", "again", "rest"]
"""What to do with lines that came already: refuse, book all once more, or what has come since."""

_NAME = re.compile(r"([0-9a-f]{6})(?:/(\d+))? ")
_Form: TypeAlias = tuple[str, str, Decimal]
"""Item or cable in folded words, as it is sold, and the pack."""


class Paper(Struct, frozen=True, kw_only=True):
    """A file with an order: all its lines, those that came and those that did not."""

    name: str
    lines: tuple[Arrived, ...]

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
    draft, content = Draft(shelf), paper.content
    earlier = [*_booked(shelf, content)]
    time = max((number for _, number, _, _ in earlier), default=0)
    came: Counter[_Form] = Counter()
    for _, number, form, packs in earlier:
        came[form] += packs if number == time else 0
    known = [line for line in chosen if came[_form(line)]]
    if twice == "rest":
        chosen = [replace(line, packs=line.packs - came[_form(line)]) for line in chosen]
        chosen = [line for line in chosen if line.packs > 0]
    elif known and twice == "again":
        time += 1
    elif known:
        items = f"'{known[0].item}'" + (f" and {len(known) - 1} more" if known[1:] else "")
        says = f"booked in already, from {known[0].supplier}: {items}"
        cure = "--rest for what has come since, --again if this is another order of the same"
        draft.refuse(error(known[0].row.where("item"), says, cure))
    source = f"file {content}/{time}" if time > 1 else f"file {content}"
    arrival = Arrival(draft, shelf, *setting)
    for line in chosen:
        arrival.come(line, f"{source} {paper.name.replace(';', ',')}")
    return draft.booking()


def _booked(shelf: Shelf, content: str) -> Iterator[tuple[Command, int, _Form, int]]:
    """The lines of a file that came: by which command, the how manieth time, and how many packs."""
    for command in shelf.history.standing:
        for move in command.moves:
            source = source_of(move) if move.what == "receive" else None
            known = _NAME.match(source.name) if source and source.what == "file" else None
            if source and known and known[1] == content:
                form = (source.words, source.form, source.pack)
                yield command, int(known[2] or 1), form, source.packs


def _form(line: Arrived) -> _Form:
    return words_of(line.item, line.gauge, line.colour), line.sold_as, line.pack
