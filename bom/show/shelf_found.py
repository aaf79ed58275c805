"""What of the shelf is shown: all of it, or the rows that have the owner's words in them."""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace

from bom.files.units import PIECE_UNIT, ThingKey, key_of
from bom.shelf.moves import Difference, Shelf
from bom.shelf.moves.history import Thread
from bom.trade.catalogue import Catalogue
from bom.trade.problem import as_typed, nearest
from bom.trade.shelf import DrawerItem, Hold, ShelfPiece

Only = Literal["", "held", "low", "value"]
"""The lists of the shelf: all of it, what is set aside, what runs low, what it is worth."""

MOST_NEAR = 3
"""So many of the nearest rows are named where none has all the words."""

_TOKEN = re.compile(r"\d+(?:[.,]\d+)?|[^\W\d_]\w*")


class Shown(Struct, frozen=True, kw_only=True):
    """The rows of the shelf that are shown, pieces that are used up not among them."""

    pieces: tuple[ShelfPiece, ...]
    drawer: tuple[DrawerItem, ...]
    holds: tuple[Hold, ...]
    differences: tuple[Difference, ...]
    threads: Mapping[ThingKey, Thread]
    is_partial: bool = False
    """Some rows are left out."""

    @property
    def is_empty(self) -> bool:
        """True where there is nothing to show but what the moves say."""
        return not (self.pieces or self.drawer or self.holds)


def everything(shelf: Shelf) -> Shown:
    """All rows of the shelf."""
    return Shown(
        pieces=tuple(piece for piece in shelf.stock.pieces if piece.length_mm),
        drawer=shelf.stock.drawer,
        holds=shelf.holds,
        differences=shelf.differences(),
        threads=shelf.history.threads,
    )


def narrowed(shelf: Shelf, shown: Shown, only: Only) -> Shown:
    """Of the rows shown those that belong on a list."""
    if only == "held":
        return _set_aside(shelf, shown)
    if only == "low":
        low = sorted(
            filter(shelf.runs_low, shown.drawer), key=lambda item: share_of_low(shelf, item)
        )
        return _of_things({*map(key_of_item, low)}, shown, pieces=(), drawer=tuple(low), holds=())
    return shown


def _set_aside(shelf: Shelf, shown: Shown) -> Shown:
    """What is set aside of the things shown, or for the jobs that were looked for."""
    things = {*map(key_of_piece, shown.pieces), *map(key_of_item, shown.drawer)}
    found = {*shown.holds}
    holds = tuple(h for h in shelf.holds if h in found or key_of_hold(h) in things)
    held = {*map(key_of_hold, holds)}
    return _of_things(
        held,
        everything(shelf),
        pieces=tuple(p for p in shelf.stock.pieces if key_of_piece(p) in held),
        drawer=tuple(d for d in shelf.stock.drawer if key_of_item(d) in held),
        holds=tuple(sorted(holds, key=lambda hold: hold.job)),
    )


def _of_things(keys: Collection[ThingKey], shown: Shown, **rows: Any) -> Shown:
    """These rows, and of what is shown that which the moves say of these things."""
    return replace(
        shown,
        differences=tuple(d for d in shown.differences if d.key in keys),
        threads={key: thread for key, thread in shown.threads.items() if key in keys},
        is_partial=True,
        **rows,
    )


def share_of_low(shelf: Shelf, item: DrawerItem) -> Decimal:
    """What is free of an item, as a share of its low mark; it has one, perhaps of 0."""
    free = item.on_hand - shelf.held_of(item.item, item.unit)
    return free / item.low if item.low else free


def key_of_piece(piece: ShelfPiece) -> ThingKey:
    """What a piece of cable is known by."""
    return key_of(piece.name, PIECE_UNIT)


def key_of_item(item: DrawerItem) -> ThingKey:
    """What an item of the drawer is known by."""
    return key_of(item.item, item.unit)


def key_of_hold(hold: Hold) -> ThingKey:
    """What the thing that is set aside is known by."""
    return key_of(hold.item, hold.unit)


class Finder:
    """Finds rows by words, in any order and case: a word, its beginning, a number by its value.

    Colours are found by their other names too.
    """

    def __init__(self, words: Iterable[str], catalogue: Catalogue) -> None:
        self.colours = {name: c.word for c in catalogue.colours for name in (c.word, *c.also)}
        self.typed = {self._plain(typed): typed for word in words for typed in _typed(word)}
        self.words = tuple(self.typed)

    def found(self, shown: Shown) -> Shown:
        """The rows that have all the words, and what the moves say of those."""
        pieces = tuple(p for p in shown.pieces if self._all_in(_piece_text(p), p.place))
        drawer = tuple(d for d in shown.drawer if self._all_in(d.item, d.place))
        keys = {*map(key_of_piece, pieces), *map(key_of_item, drawer)}
        texts = {key_of_piece(piece): _piece_text(piece) for piece in shown.pieces}
        holds = (h for h in shown.holds if self._finds(h, texts.get(key_of_hold(h), "")))
        return _of_things(keys, shown, pieces=pieces, drawer=drawer, holds=tuple(holds))

    def are_in(self, text: str) -> bool:
        """True where a text has all the words."""
        return _all_of(self.words, self._tokens(text))

    @property
    def colour(self) -> str:
        """The colour among the words, where there is just one."""
        colours = [word for word in self.words if word in self.colours.values()]
        return colours[0] if len(colours) == 1 else ""

    def nothing(self, shown: Shown) -> tuple[str, str]:
        """What to say where no row has all the words, and what comes nearest."""
        texts = {
            **{f"{p.name} ({p.gauge} {p.colour})": _piece_text(p) for p in shown.pieces},
            **{item.item: item.item for item in shown.drawer},
            **{hold.job: f"{hold.job} {hold.item}" for hold in shown.holds},
        }
        return self.nothing_in(texts, "on the shelf", "bom stock show")

    def nothing_in(self, texts: Mapping[str, str], place: str, command: str) -> tuple[str, str]:
        """The same of other rows, by their names; `command` shows all of them."""
        rows = {name: self._tokens(text) for name, text in texts.items()}
        known = {token for tokens in rows.values() for token in tokens}
        strange = [word for word in self.words if not _is_in(word, known)]
        typed = " ".join(self.typed[word] for word in strange or self.words)
        says = f"nothing {place} has '{typed}'"
        meant = [self._meant(word, known) if word in strange else word for word in self.words]
        if any(_all_of(meant, tokens) for tokens in rows.values()):
            return says, " ".join((command, *map(as_typed, meant)))
        return says, self._nearest_rows(rows) or command

    def _meant(self, word: str, known: Collection[str]) -> str:
        """The word that this may be a slip of: a colour or a number is none."""
        right = word in self.colours.values() or word[0].isdigit()
        return word if right else nearest(word, known) or word

    def _nearest_rows(self, rows: Mapping[str, Sequence[str]]) -> str:
        """The rows with the most of the words."""
        counts = {name: sum(_is_in(w, tokens) for w in self.words) for name, tokens in rows.items()}
        most = max(counts.values(), default=0)
        best = [name for name, count in counts.items() if count == most]
        return " or ".join(best[:MOST_NEAR]) if most else ""

    def _all_in(self, text: str, place: str = "") -> bool:
        """True where the text has all words; the place counts where a word of it is named.

        The red cable of offcuts 1 is not found as `red 1`.
        """
        tokens, there = self._tokens(text), self._tokens(place)
        named = any(_is_in(word, there) for word in self.words if not word[0].isdigit())
        return _all_of(self.words, [*tokens, *there] if named else tokens)

    def _finds(self, hold: Hold, piece: str) -> bool:
        """True where job and item have all words, or have one and the piece's text the others."""
        own = self._tokens(f"{hold.job} {hold.item}")
        named = any(_is_in(word, own) for word in self.words if not word[0].isdigit())
        return _all_of(self.words, [*own, *self._tokens(piece)] if named else own)

    def _tokens(self, text: str) -> list[str]:
        return [self._plain(token) for token in _typed(text)]

    def _plain(self, token: str) -> str:
        """A word in small letters, a colour by the name that the catalogue has for it."""
        return self.colours.get(token.casefold(), token.casefold().replace(",", "."))


def _typed(text: str) -> list[str]:
    """The words and numbers of a text, as they stand there."""
    return _TOKEN.findall(text.replace("²", "2"))


def _piece_text(piece: ShelfPiece) -> str:
    unit = "" if piece.gauge.endswith("AWG") else "mm2"
    return f"cable {piece.name} {piece.gauge} {unit} {piece.colour}"


def _all_of(words: Iterable[str], tokens: Collection[str]) -> bool:
    return all(_is_in(word, tokens) for word in words)


def _is_in(word: str, tokens: Collection[str]) -> bool:
    """True where the word, the beginning of one, its plural, or a number of its value is there.

    >>> _is_in("1", ["1.0"]), _is_in("1.0", ["11.0"]), _is_in("bul", ["bullet"])
    (True, False, True)
    >>> _is_in("fuses", ["fuse"]), _is_in("male", ["female"]), _is_in("a", ["adhesive"])
    (True, False, False)
    """
    if word[0].isdigit():
        return any(token[0].isdigit() and Decimal(token) == Decimal(word) for token in tokens)
    if len(word) == 1:
        return word in tokens
    return any(token.startswith(word) or word in (f"{token}s", f"{token}es") for token in tokens)
