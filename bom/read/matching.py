"""A supplier's list set against the catalogues: which of its rows is which of our goods.

Sure is only what says all that tells the goods from any other, and nothing that speaks against
it.  Everything else is doubtful, with the nearest and what is amiss in words, and left to the
owner.  Words and their meanings are catalogs/words.csv, so that a workshop can teach its own.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from bom.files.spelling import Misspelt, colour, fold, gauge, plain
from bom.read.wordings import NUMBER, Figure, Said, SizeRange, TextReader
from bom.trade.catalogue import Catalogue
from bom.trade.job_book import Colour
from bom.trade.placed import SoldAs
from bom.trade.rows import Row

NEAREST = 3
"""So many candidates are shown for a doubtful row."""

COMMON_SHARE, COMMON_ROWS = 0.05, 20
"""A strange word in so many of a list's rows is the maker's or the seller's, and says nothing."""

TAB_THICKNESS_MM = frozenset(map(Decimal, ("0.5", "0.8", "1.2")))
"""Thickness of the tabs of blade terminals, often told beside their width (from memory)."""

PriceFor = Literal["", "each", "pack"]
"""What the prices of a list are for; empty where only the row can tell."""


class Listed(Struct, frozen=True, kw_only=True):
    """A row of a supplier's list, its cells as text; `price` is None where it tells none."""

    words: str
    part_no: str
    gauge: str
    colour: str
    form: str
    pack: str
    price: Decimal | None
    row: Row
    price_for: PriceFor = ""
    """What the heading over its price says that it is for."""


class Goods(Struct, frozen=True):
    """Something that a workshop buys: an item by its name, or cable by gauge and colour."""

    item: str
    gauge: str = ""
    colour: Colour | None = None

    def __str__(self) -> str:
        if not self.gauge:
            return self.item
        size = self.gauge if self.gauge.endswith("AWG") else f"{self.gauge} mm2"
        return f"cable, {size}, {self.colour or 'every plain colour'}"


class Matched(Struct, frozen=True, kw_only=True):
    """A row with the goods it is for; `doubts` say in words why that is not sure.

    Without goods and without `nearest` it is nothing that the workshop uses.  `price` buys one
    metre, reel, pack or piece, as `sold_as` and `pack` say.
    """

    listed: Listed
    goods: Goods | None = None
    sold_as: SoldAs = "each"
    pack: Decimal = Decimal(1)
    price: Decimal = Decimal()
    doubts: tuple[str, ...] = ()
    nearest: tuple[Goods, ...] = ()

    @property
    def sure(self) -> bool:
        """True where nothing speaks against it."""
        return self.goods is not None and not self.doubts

    def settled(self, goods: Goods | None, sold_as: SoldAs, pack: Decimal) -> "Matched":
        """The row as its owner says it is, sure from then on."""
        read = (sold_as, pack) == (self.sold_as, self.pack)
        price = (self.price if read else self.listed.price) or Decimal()
        return replace(
            self, goods=goods, sold_as=sold_as, pack=pack, price=price, doubts=(), nearest=()
        )

    def buying(self, number: Decimal) -> tuple[SoldAs, Decimal]:
        """How it is sold where the price buys so many pieces, or metres of what is measured."""
        by_length = self.sold_as in ("metre", "reel")
        if number == 1:
            return ("metre" if by_length else "each"), number
        return ("reel" if by_length else "pack"), number


# ---------------------------------------------------------------------- what a text says


# ------------------------------------------------------------------------------ matching


class _KnownGoods(Struct, frozen=True):
    """Goods of the catalogues, what their name says, and figures that may go with it."""

    goods: Goods
    said: Said
    figures: frozenset[Decimal]
    allowed: frozenset[Figure]
    ranges: frozenset[SizeRange]
    """Of the cables that it takes, in mm2."""


def match(
    rows: Sequence[Listed], catalogue: Catalogue, price_for: PriceFor = ""
) -> tuple[Matched, ...]:
    """Each row with the goods it is for, in the order of the list."""
    matcher = _Matcher(catalogue, price_for)
    texts = [_all_words(row) for row in rows]
    read = {text: matcher.reader.read(text) for text in dict.fromkeys(texts)}
    said = [read[text] for text in texts]
    counts = Counter(word for one in said for word in set(one.strange))
    least = max(COMMON_ROWS, COMMON_SHARE * len(rows))
    common = {word for word, count in counts.items() if count >= least}
    return tuple(matcher.one(row, text, common) for row, text in zip(rows, said, strict=True))


def as_goods(text: str, catalogue: Catalogue) -> Goods | None:
    """The goods of this name: an item's, or `cable, 1.0 mm2, red`; None where there are none."""
    items = {fold(item): item for item in catalogue.items}
    if fold(text) in items:
        return Goods(items[fold(text)])
    cable = re.fullmatch(r"cable,\s*(.+?),\s*([^,]+)", text.strip(), re.IGNORECASE)
    if cable is None:
        return None
    try:
        every = fold(cable[2]) == "every plain colour"
        tint = None if every else colour(cable[2], catalogue)
        return Goods("cable", gauge(cable[1], "", catalogue), tint)
    except Misspelt:
        return None


def _all_words(row: Listed) -> str:
    """Description and size, without the part number where that is told again."""
    words = row.words
    if row.part_no and row.part_no.casefold() in words.casefold():  # a pattern of its own for each
        words = re.sub(re.escape(row.part_no), " ", words, flags=re.IGNORECASE)
    size = row.gauge if re.search("[a-z²]", row.gauge, re.IGNORECASE) else ""
    pack = row.form if re.search(r"\d", row.form) else ""
    return f"{words} {size} {pack}"


class _Matcher:
    def __init__(self, catalogue: Catalogue, price_for: PriceFor) -> None:
        self.catalogue = catalogue
        self.price_for = price_for
        self.reader = TextReader(catalogue)
        self.measured = {item for item in catalogue.items if catalogue.unit_of(item) == "m"}
        self.known = [self._known(name, row) for name, row in _rows_of(catalogue)]
        self.by_words: dict[frozenset[str], list[_KnownGoods]] = defaultdict(list)
        for known in self.known:
            self.by_words[known.said.words].append(known)
        self.by_word: dict[str, set[int]] = defaultdict(set)
        for number, known in enumerate(self.known):
            for word in known.said.words:
                self.by_word[word].add(number)
        self.vocabulary = self.by_word.keys() | {"cable"}

    def _known(self, item: str, row: Mapping[str, str]) -> _KnownGoods:
        said = self.reader.read(item)
        sizes = re.findall(r"\d+(?:\.\d+)?", row.get("family", ""))
        allowed = {("mm", Decimal(size), Decimal(size)) for size in sizes}
        if "blade" in said.words:
            allowed |= {("mm", thick, thick) for thick in TAB_THICKNESS_MM}
        ranges = frozenset((a, b) for role, a, b in said.numbers if role == "mm2")
        return _KnownGoods(Goods(item), said, _figures_in(said), frozenset(allowed), ranges)

    def one(self, row: Listed, said: Said, common: set[str]) -> Matched:
        """One row: sure, doubtful, or nothing of ours."""
        words = said.words & self.vocabulary
        strange = [word for word in said.strange if word not in common]
        if row.price is None:
            return Matched(listed=row)
        if words == {"cable"} or (not words and row.gauge and row.colour):
            return self._cable(row, said, strange)
        candidates = self.by_words.get(words, [])
        fitting = [known for known in candidates if not any(_against(known, said))]
        if len(fitting) == 1:
            known = fitting[0]
            doubts = [*_strange(strange), *self._tints(row, said)]
            return self._sold(row, said, known.goods, doubts, (known.goods,))
        return self._doubtful(row, said, words, strange)

    def _tints(self, row: Listed, said: Said) -> Iterable[str]:
        """Terminals and coverings are not told apart by colour in the catalogues."""
        tints = {*said.colours, *([fold(row.colour)] if row.colour else [])} - {"black"}
        if tints and not said.words & {"fuse", "fusebox"}:
            yield f"is {' or '.join(sorted(tints))}"

    def _doubtful(
        self, row: Listed, said: Said, words: frozenset[str], strange: Sequence[str]
    ) -> Matched:
        told = _figures_in(said), _sizes_in(said)
        sharing = set[int]().union(*(self.by_word[word] for word in words if word in self.by_word))
        scores = ((_score(self.known[n], words, said, told), n) for n in sharing)
        ranked = sorted((-score, n) for score, n in scores if score > 0)[:NEAREST]
        if not ranked:
            return Matched(listed=row)
        nearest = tuple(self.known[n].goods for _, n in ranked)
        best = self.known[ranked[0][1]]
        doubts = [*_lacking(best, words), *_against(best, said), *_strange(strange)]
        return self._sold(row, said, None, doubts or ["fits more than one"], nearest)

    # ------------------------------------------------------------------- cable

    def _cable(self, row: Listed, said: Said, strange: Sequence[str]) -> Matched:
        doubts = [*_strange(strange)]
        size = self._gauge(row, said, doubts)
        tints = self._colours(row, said, doubts)
        if any(role == "core" and most > 1 for role, _, most in said.numbers):
            doubts.append("has more than one core")
        if not size:
            return Matched(listed=row)
        nearest = tuple(Goods("cable", size, tint) for tint in tints[:NEAREST] or (None,))
        goods = nearest[0] if len(tints) == 1 else None
        if goods is None and not doubts:
            doubts.append("no colour is told" if not tints else "more than one colour is told")
        return self._sold(row, said, goods, doubts, nearest)

    def _gauge(self, row: Listed, said: Said, doubts: list[str]) -> str:
        typed = [row.gauge] if row.gauge else []
        typed += [plain(a) for role, a, b in sorted(said.numbers) if role == "mm2" and a == b]
        typed += [f"{a} AWG" for role, a, b in sorted(said.numbers) if role == "awg" and a == b]
        try:
            sizes = dict.fromkeys(gauge(text, "", self.catalogue) for text in typed)
        except Misspelt as fault:
            doubts.append(fault.says)
            return ""
        if len(sizes) != 1:
            doubts.append("more than one size is told" if sizes else "no size is told")
            return ""
        return next(iter(sizes))

    def _colours(self, row: Listed, said: Said, doubts: list[str]) -> list[Colour]:
        typed = [row.colour] if row.colour else list(said.colours)
        found: dict[Colour, None] = {}
        for text in typed:
            try:
                found[colour(text, self.catalogue)] = None
            except Misspelt as fault:
                doubts.append(fault.says)
                found.update(dict.fromkeys(self._readings(fault.cure)))
        return list(found)

    def _readings(self, cure: str) -> Iterable[Colour]:
        for text in cure.split(" or "):
            try:
                yield colour(text, self.catalogue)
            except Misspelt:
                continue

    # ---------------------------------------------------------------- how it is sold

    def _sold(
        self,
        row: Listed,
        said: Said,
        goods: Goods | None,
        doubts: list[str],
        nearest: tuple[Goods, ...],
    ) -> Matched:
        """The row with its goods, and the pack that its price is for."""
        measured = bool(nearest) and (bool(nearest[0].gauge) or nearest[0].item in self.measured)
        if measured:
            sold, doubt = _by_length(row, said)
        else:
            sold, doubt = _by_count(row, said, self.price_for or row.price_for)
        doubts += [doubt] if doubt else []
        sold_as, pack, times = sold
        return Matched(
            listed=row,
            goods=goods,
            sold_as=sold_as,
            pack=pack,
            price=(row.price or Decimal()) * times,
            doubts=tuple(doubts),
            nearest=nearest,
        )


def _rows_of(catalogue: Catalogue) -> Iterable[tuple[str, Mapping[str, str]]]:
    for rows in catalogue.tables.values():
        yield from ((row["item"], row) for row in rows if "item" in row)


_OF_THE_PACK = frozenset(("metres", "count"))
"""Figures that tell how it is sold, not what it is."""


def _against(known: _KnownGoods, said: Said) -> Iterator[str]:
    """What the figures lack of the goods' own, and what they say that the goods are not.

    The range of the cables is told without its unit too, or as mm: `2.5-6`, `2.5-6mm`.
    """
    spans = said.spans | {(a, b) for role, a, b in said.numbers if role == "mm" and a < b}
    for number in sorted(known.said.numbers - said.numbers):
        if number[0] != "mm2" or number[1:] not in spans:
            yield f"no {_told(number)}"
    harmless = {"A"} if known.said.words & {"holder", "inline"} else set()
    for number in sorted(said.numbers - known.said.numbers - known.allowed):
        is_range = number[0] == "mm" and number[1:] in known.ranges
        if number[0] not in _OF_THE_PACK | harmless and not is_range:
            yield f"says {_told(number)}"
    for least, most in sorted(said.spans - known.ranges):
        yield f"says '{plain(least)}-{plain(most)}'"


def _lacking(known: _KnownGoods, words: frozenset[str]) -> list[str]:
    lacks = [f"does not say '{word}'" for word in sorted(known.said.words - words)]
    return lacks + [f"says '{word}'" for word in sorted(words - known.said.words)]


def _strange(words: Iterable[str]) -> list[str]:
    return [f"says '{word}'" for word in dict.fromkeys(words)]


def _told(number: Figure) -> str:
    role, least, most = number
    if role == "m":
        return f"M{plain(least)}"
    figures = plain(least) if least == most else f"{plain(least)}-{plain(most)}"
    return f"{figures}{role}" if role == ":1" else f"{figures} {role}"


def _score(
    known: _KnownGoods,
    words: frozenset[str],
    said: Said,
    told: tuple[frozenset[Decimal], frozenset[SizeRange]],
) -> int:
    """How near the goods come: shared words most, then shared figures, less what is amiss.

    Of a row of terminals those come first that are for the very range that is told, then those
    that take the cable.
    """
    figures, sizes = told
    amiss = len(known.said.words ^ words) + len(known.said.numbers - said.numbers)
    alike = len(known.figures & figures)  # M6 for 6 mm, or without a unit
    shared = len(known.said.words & words)
    takes = (any(a <= x and y <= b for x, y in sizes) for a, b in known.ranges)
    fits = 4 * len(known.ranges & sizes) + 2 * sum(takes)
    return 4 * shared + 2 * len(known.said.numbers & said.numbers) + alike + fits - amiss


def _figures_in(said: Said) -> frozenset[Decimal]:
    """All figures, those without a unit too."""
    spans = (*_sizes_in(said), *((least, most) for _, least, most in said.numbers))
    return frozenset(figure for span in spans for figure in span)


def _sizes_in(said: Said) -> frozenset[SizeRange]:
    """What may be the size of a cable, or the range of sizes that a terminal takes."""
    bare = [Decimal(word) for word in said.strange if re.fullmatch(NUMBER, word)]
    measured = {(a, b) for role, a, b in said.numbers if role in ("mm2", "mm")}
    return said.spans | measured | {(figure, figure) for figure in bare}


Sold = tuple[SoldAs, Decimal, Decimal]
"""Sold as, the pack, and how many times the row's price that is."""

_SEVERAL = re.compile(r"\b(?:packs?|pk|pkt|packet|bag|pairs?|kit|set|assorted|dozen)\b")
"""Words for more than one, which without their number leave open what the price buys."""
_METRE = frozenset(("m", "metre", "metres", "meter", "meters", "mtr", "mtrs", "lm", "per metre"))
_EACH = frozenset(("each", "ea", "pc", "pcs", "piece", "one", "single", "unit", "per piece"))
_ONE = Decimal(1)


def _by_length(row: Listed, said: Said) -> tuple[Sold, str]:
    """By the metre, or a reel of so many metres; and what is doubtful about it."""
    lengths = {least for role, least, _ in said.numbers if role == "metres"}
    cell = re.fullmatch(rf"(?:{NUMBER})?\s*(m|mtrs?|metres?|meters?)?", fold(row.pack))
    if row.pack and cell and cell[1] and (cell[2] or Decimal(cell[1]) != _ONE):
        lengths.add(Decimal(cell[1]))  # one reel is not one metre
    form = fold(row.form)
    if form in _METRE or re.search(r"\bper (?:m|mtr|metre|meter)\b|/m\b", fold(row.words)):
        by_metre: Sold = ("metre", _ONE, _ONE)
        return by_metre, "" if lengths <= {_ONE} else "by the metre, or a reel?"
    if len(lengths) == 1:
        return ("reel", lengths.pop(), _ONE), ""
    return ("metre", _ONE, _ONE), "how many metres does the price buy?"


def _by_count(row: Listed, said: Said, price_for: PriceFor) -> tuple[Sold, str]:
    """One piece, or a pack of so many; and what is doubtful about it."""
    told = {least for role, least, _ in said.numbers if role == "count"}
    cell = re.search(r"\d+", row.pack)
    counts = (told | ({Decimal(cell[0])} if cell else set())) - {_ONE}
    if not counts:
        several = fold(row.form) not in ("", *_EACH) or _SEVERAL.search(fold(row.words))
        return ("each", _ONE, _ONE), "how many are in a pack?" if several else ""
    count = max(counts)
    pack: Sold = ("pack", count, _ONE)
    if len(counts) > 1:
        return pack, "how many are in a pack?"
    if price_for == "each" or (fold(row.form) in _EACH and not told):
        return ("pack", count, count), ""
    if price_for == "pack" or told or fold(row.form) not in ("", *_EACH):
        return pack, ""
    return pack, f"is the price for one, or for {plain(count)}?"
