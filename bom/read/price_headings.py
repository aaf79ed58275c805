"""Which of a supplier's columns is the price: what each heading says of it, and which one wins."""

import re
from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from bom.files.headings import (
    NOT_READ,
    Column,
    KnownHeadings,
    TakenFor,
    as_shown,
    taken_for,
    text,
)
from bom.files.sheet import Sheet, column_number
from bom.files.spelling import fold
from bom.read.matching import PriceFor
from bom.trade.problem import Problem, Where, error, listed

LISTS = "Lists"
"""The name under which `[columns]` in workshop.toml has the owner's words for these columns."""

PRICE, TAXED = "price", "price with tax"
"""The columns of prices without tax, or of which nothing is said, and of those with it."""

_WITH_TAX = re.compile(r"\b(?:inc|incl|including|with|gross)\b.*\b(?:vat|tax)\b")
_WITHOUT_TAX = re.compile(r"\b(?:ex|exc|excl|excluding|net|nett|without)\b")
_OF_SHOPS = frozenset(("rrp", "msrp", "retail", "gross"))
"""Words for prices that have tax in them, unless they say that they have not."""

_KINDS = (
    frozenset(("your", "special", "customer", "account")),
    frozenset(("net", "nett", "trade", "cost", "discounted")),
    frozenset(("price", "prices")),
    frozenset(("list", "recommended", "catalogue", "normal", *_OF_SHOPS)),
)
"""The price that is ours, the trade's, anybody's, and the one before any discount."""
_PLAIN, _LISTED = 2, 3
_TELLING = frozenset(("price", "prices", "net", "nett", "trade", "cost", "rrp", "msrp", "list"))
"""Words of which one makes a heading a price's: an account may be the customer's number."""

_METRE = frozenset(("m", "mtr", "metre", "meter"))
_OF_PACKS = frozenset(("pack", "qty", "quantity", "pcs"))
_FILLING = frozenset(
    (
        *("each", "ea", "unit", "per", "gbp", "eur", "usd", "£", "€", "$", "our", "for", "in"),
        *("ex", "exc", "excl", "excluding", "inc", "incl", "including", "with", "without"),
        *("vat", "tax", "before", "after", "from", "discount", *_OF_PACKS, *_METRE),
    )
)
"""Words that may stand beside those."""
_UNTOLD = re.compile(r"\b\d+(?:[.,]\d+)?\s*%|\b20\d\d\b")
"""The rate of the tax, and the year of the list."""

_FROM_ON = re.compile(r"(?<![\d.])(\d+)\s*(?:\+|(?:-|–|to)\s*\d+|(?:off|up|upwards|and over)\b)")
"""From how many on a price holds: `10+`, `10-99`, `1 off`."""

_CURE = f"under [columns.{LISTS}] in workshop.toml:"


class PriceHead(Struct, frozen=True, kw_only=True):
    """A heading over prices, and what it says of them; of its `kind` the lowest wins."""

    taken: TakenFor
    kind: int
    with_tax: bool
    without_tax: bool
    least: int
    """From how many on they hold."""

    def rank(self, *, with_tax: bool) -> tuple[int, ...]:
        """The lowest is the price: ours before the list's, the tax told before nothing told."""
        is_told = self.with_tax if with_tax else self.without_tax
        whose = {"pack": 0, "each": 1, "": 2}[what_for(self.taken.heading)]
        return self.kind, not is_told, whose


def what_for(heading: str) -> PriceFor:
    """What a heading says that its prices are for: `each`, `pack`, or nothing."""
    said = fold(heading)
    if re.search(r"\b(?:each|unit|piece)\b", said):
        return "each"
    return "pack" if re.search(r"\b(?:pack|bag|box)\b", said) else ""


def by_the_metre(heading: str) -> bool:
    """True where a heading says that its prices are for a metre."""
    return bool({*re.split(r"[^a-z]+", fold(heading))} & _METRE)


def priced_by(
    sheet: Sheet, columns: Sequence[Column], *, with_tax: bool
) -> tuple[Sequence[Column], PriceHead | Problem]:
    """The columns with one price among them, and its heading, or what is in the way.

    The other prices are columns that are not read.
    """
    headings, known = taken_for(sheet, columns), KnownHeadings(columns)
    heads = [head for one in headings if (head := _price_head(one, known))]
    of_one = [head for head in heads if head.least <= 1]
    fit = [head for head in of_one if not (head.without_tax if with_tax else head.with_tax)]
    best = min((head.rank(with_tax=with_tax) for head in fit), default=())
    chosen = [head for head in fit if head.rank(with_tax=with_tax) == best]
    if len(chosen) != 1:
        amiss = _several(chosen) if chosen else _other_tax(of_one, with_tax) if of_one else None
        return columns, amiss or _none(sheet, headings)
    column = TAXED if chosen[0].with_tax else PRICE
    others = tuple(head.taken.heading for head in heads if head is not chosen[0])
    own = (
        replace(c, own=(*c.own, chosen[0].taken.heading)) if c.name == column else c
        for c in columns
    )
    return (*own, Column(name=NOT_READ, read=text, own=others)), chosen[0]


def _price_head(one: TakenFor, known: KnownHeadings) -> PriceHead | None:
    """What a heading says of the prices under it; None where it is no price's."""
    said, match = _UNTOLD.sub(" ", fold(one.heading)), known.find(one.heading)
    name = match.column.name if match else None
    from_on = _FROM_ON.search(said)
    words = {*re.findall(r"[^\W\d_]+|\d+|[£€$]", _FROM_ON.sub(" ", said))}
    found = [kind for kind, of_it in enumerate(_KINDS) if of_it & words]
    is_pack = words & _OF_PACKS and not words & {"price", "prices", "cost", "per"}
    tells = bool(from_on or (words & _TELLING | words & _OF_SHOPS and not is_pack))
    reads = tells and words <= _FILLING.union(*_KINDS)
    if name not in (PRICE, TAXED) and (match or not reads):
        return None
    is_own = match is not None and match.how == "own"
    taxed = bool(_WITH_TAX.search(said) or (words & _OF_SHOPS and not _WITHOUT_TAX.search(said)))
    kind = _LISTED if _LISTED in found else min(found, default=_PLAIN)
    return PriceHead(
        taken=one,
        kind=-1 if is_own else kind,
        with_tax=name == TAXED if is_own else taxed,
        without_tax=not (is_own or taxed) and bool(_WITHOUT_TAX.search(said)),
        least=int(from_on[1]) if from_on and not is_own else 1,
    )


# ------------------------------------------------------------------- what is in the way


def _several(heads: Sequence[PriceHead]) -> Problem:
    names = [f"'{head.taken.heading}' ({head.taken.where.cell})" for head in heads]
    says = f"each of {listed(names)} may be the price"
    last = heads[-1].taken
    if len({fold(head.taken.heading) for head in heads}) < len(heads):
        return error(last.where, says, "another heading over those that are not to be read")
    return error(last.where, says, f'{_CURE} "{last.heading}" = "", if it is not to be read')


def _other_tax(heads: Sequence[PriceHead], with_tax: bool) -> Problem:
    taken = heads[0].taken
    told, kept = ("without", "with") if with_tax else ("with", "without")
    says = f"'{taken.heading}' is {told} tax, and this supplier's prices are kept {kept} it"
    cure = "the other answer under 'prices include tax' on the suppliers list, or another column"
    return error(taken.where, says, cure)


def _none(sheet: Sheet, headings: Sequence[TakenFor]) -> Problem:
    says = f"no column has a price; {'; '.join(as_read(headings))}"
    unread = (one for one in headings if not one.column and _may_be_price(sheet, one))
    likely = next(unread, None)
    of_one = "the heading 'price' over what one costs, or one pack"
    cure = f'{_CURE} "{likely.heading}" = "price"' if likely else of_one
    return error(Where(sheet.file, sheet.name), says, cure)


def as_read(headings: Iterable[TakenFor]) -> tuple[str, ...]:
    """What each column is read from, and what is not read, in words."""
    told = [one for one in headings if one.heading.strip()]
    read = [f"{one.column} from {one.heading}" for one in told if one.column]
    unread = [one.heading for one in told if not one.column]
    rest = (f"columns that are not read: {', '.join(unread)}",) if unread else ()
    return (f"read: {', '.join(read)}", *rest)


def _may_be_price(sheet: Sheet, one: TakenFor) -> bool:
    """True for numbers with decimals under a heading that does not say they are for many."""
    of_many = _FROM_ON.search(fold(one.heading)) or re.search(r"\bper \d", fold(one.heading))
    numbers = (re.search(r"\d[.,]\d", cell) for cell in below(sheet, one.where))
    return any(numbers) and not of_many


def below(sheet: Sheet, where: Where) -> list[str]:
    """What stands in the column under a heading."""
    letters = where.cell.rstrip("0123456789")
    column, header = column_number(letters), int(where.cell.removeprefix(letters))
    cells = (row[column] for row in sheet.rows[header:] if column < len(row))
    return [as_shown(cell) for cell in cells if cell is not None]
