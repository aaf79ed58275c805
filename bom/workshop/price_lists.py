"""The order of work when a supplier's list is added to the workshop's prices, on one page.

    list -> rows -> matched -> answers -> asked -> prices changed and added -> answers kept

Nothing is booked that is not sure, or that the owner has not said yes to.  The answers are kept
in `answers.csv`, where they can be given and changed in a spreadsheet as well.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from datetime import date
from decimal import Decimal
from operator import itemgetter
from pathlib import Path
from typing import Literal, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from bom.files.headings import TakenFor
from bom.files.safely import ABSENT, NewFile, NotWritten, aside, followed, told
from bom.files.spelling import fold, plain, quantity
from bom.files.table import Heading, Table, csv_bytes
from bom.job import Workshop, house_rules
from bom.read.answers import ANSWERS, HEADS, Kept, answers_place, read_answers
from bom.read.books import find_book
from bom.read.matching import Goods, Matched, PriceFor, as_goods, match
from bom.read.prices import read_prices
from bom.read.supplier_list import read_price_list
from bom.read.supplier_names import called, slips_of
from bom.read.wanted_list import FilledIn, read_wanted
from bom.shelf.stockbook.edits import Edit, NewRow, Unwritable
from bom.shelf.stockbook.keep import settle
from bom.shelf.stockbook.owner import OwnersBook
from bom.trade.catalogue import Catalogue
from bom.trade.money import round_price
from bom.trade.orders import PriceBook
from bom.trade.placed import SOLD_AS, SoldAs
from bom.trade.problem import (
    Problem,
    Where,
    as_typed,
    caution,
    error,
    has_errors,
    in_file_order,
)
from bom.trade.rows import Listing
from bom.workshop.price_rows import InRow, NewPrice, OwnRows, write_prices
from bom.workshop.stockroom import How

SOLD: Mapping[str, SoldAs] = {word: word for word in SOLD_AS}

Ask: TypeAlias = Callable[[Matched], "Matched | Literal['no', 'later', 'stop']"]
"""Asks the owner about a doubtful row: the row settled, none of ours, ask again, or no more."""


class Priced(Struct, frozen=True, kw_only=True):
    """A row for the price book; `was` is the price there before, None where it is new."""

    supplier: str
    matched: Matched
    was: Decimal | None


class AddedList(Struct, frozen=True, kw_only=True):
    """What came of a list: prices booked, rows still doubtful, and what is nothing of ours."""

    supplier: str = ""
    booked: tuple[Priced, ...] = ()
    doubtful: tuple[Matched, ...] = ()
    not_ours: tuple[str, ...] = ()
    """The descriptions of the rows that say nothing to us."""
    without_price: int = 0
    taken: tuple[TakenFor, ...] = ()
    """What each heading of the list is taken for."""
    written: bool = False
    problems: tuple[Problem, ...] = ()


class ListAsked(Struct, frozen=True, kw_only=True):
    """The list, the supplier it is of, what its prices are for, and the day they are of."""

    path: Path
    supplier: str = ""
    """Whose list it is; '' where the rows of a list of prices wanted say that."""
    price_for: PriceFor = ""
    day: date
    is_new: bool = False
    """It is of a supplier that is on no list yet, however near its name is to one that is."""


def add_prices(workshop: Workshop, asked: ListAsked, how: How, ask: Ask | None = None) -> AddedList:
    """Add a supplier's list to the price book; without `ask` doubtful rows wait in answers.csv."""
    if workshop.folder is None:
        here = error(Where(), "there is no workshop here", "bom new workshop PATH")
        return AddedList(problems=(*workshop.problems, here))
    try:
        filled, faults = read_wanted(asked.path, workshop.catalogue, workshop.own)
        if filled is not None:
            return _filled_in(workshop, workshop.folder, asked, (filled, faults), how)
        return _added(workshop, workshop.folder, asked, how, ask)
    except Unwritable as refusal:
        return AddedList(problems=in_file_order(refusal.problems))
    except NotWritten as fault:
        return AddedList(problems=(error(Where(fault.path.name), fault.says, fault.cure),))


def _added(
    workshop: Workshop, folder: Path, asked: ListAsked, how: How, ask: Ask | None
) -> AddedList:
    rules, faults = house_rules(workshop)
    prices, unread = _own_prices(workshop, folder)
    supplier, unknown = _known_supplier(asked.supplier, asked, prices, Where())
    if has_errors(unknown):
        return AddedList(supplier=supplier, problems=unknown)
    asked = replace(asked, supplier=supplier)
    terms = prices.suppliers.get(supplier)
    taxed = bool(terms and terms.with_tax)
    listed, faulty = read_price_list(asked.path, workshop.own, with_tax=taxed)
    notes = _notes(folder / ANSWERS)
    kept, slips = read_answers(folder / ANSWERS, workshop.catalogue)
    problems = in_file_order((*faults, *unread, *faulty, *slips, *unknown))
    if has_errors(problems):
        return AddedList(supplier=supplier, problems=problems)
    net = 1 + rules.tax_percent / 100 if terms and terms.with_tax else Decimal(1)
    matched = match(listed.rows, workshop.catalogue, asked.price_for)
    settled, answers = _settled(matched, asked, kept, workshop.catalogue, ask)
    booked = tuple(_priced(settled, supplier, prices, net))
    problems = in_file_order((*problems, *_breaks_left(booked, supplier, prices)))
    answer = AddedList(
        supplier=supplier,
        booked=booked,
        doubtful=tuple(m for m in settled if m.doubts),
        not_ours=tuple(m.listed.words for m in settled if not m.sure and not m.doubts),
        without_price=listed.left_out,
        taken=listed.taken,
        problems=problems,
    )
    if how.dry_run:
        return answer
    new = _new_answers(folder / ANSWERS, notes, kept, answers)
    with told(folder / ANSWERS), ExitStack() as stack:
        move = stack.enter_context(aside(new)) if new else None
        if answer.booked:
            write_prices(workshop, folder, _placed(answer), asked.day, how)
        if move is not None:
            _keep(folder / ANSWERS, move, booked=bool(answer.booked))
    return replace(answer, written=bool(answer.booked))


def _own_prices(workshop: Workshop, folder: Path) -> tuple[PriceBook, tuple[Problem, ...]]:
    """The price book as it is, what a killed run left of a change finished first."""
    rules, _ = house_rules(workshop)
    own, suppliers = find_book(folder, "prices"), find_book(folder, "suppliers")
    if own:
        settle(own)
    return read_prices(own, suppliers, rules.tax_percent, workshop.catalogue, workshop.own)


def _filled_in(
    workshop: Workshop,
    folder: Path,
    asked: ListAsked,
    read: tuple[Sequence[FilledIn], Sequence[Problem]],
    how: How,
) -> AddedList:
    """A list of prices wanted that came back: its items are ours by their names, none is doubtful.

    A row that still has no price is left for the next time.
    """
    (rows, faults), (prices, unread) = read, _own_prices(workshop, folder)
    rules, _ = house_rules(workshop)
    priced = [row for row in rows if row.matched.listed.price is not None]
    names, unknown = _suppliers_of(priced, asked, prices)
    answer = AddedList(
        without_price=len(rows) - len(priced),
        problems=in_file_order((*unread, *faults, *unknown)),
    )
    if has_errors(answer.problems):
        return answer
    booked: list[Priced] = []
    sellers = tuple(dict.fromkeys(names.values()))
    for name in sellers:
        own = [row.matched for row in priced if names[row.supplier] == name]
        terms = prices.suppliers.get(name)
        net = 1 + rules.tax_percent / 100 if terms and terms.with_tax else Decimal(1)
        booked += _priced(own, name, prices, net)
    answer = replace(answer, supplier=" and ".join(sellers), booked=tuple(booked))
    if booked and not how.dry_run:
        write_prices(workshop, folder, _placed(answer), asked.day, how)
        return replace(answer, written=True)
    return answer


def _suppliers_of(
    rows: Iterable[FilledIn], asked: ListAsked, prices: PriceBook
) -> tuple[Mapping[str, str], list[Problem]]:
    """The suppliers of rows by the name that is typed there; where none is, the one asked for."""
    names, problems = dict[str, str](), list[Problem]()
    for row in rows:
        place = row.matched.listed.row.where("supplier")
        typed = row.supplier or asked.supplier
        if not typed:
            says = "a price, and not whose it is"
            problems.append(error(place, says, "who sells it, or --supplier NAME"))
        elif row.supplier not in names:
            where = place if row.supplier else Where()
            names[row.supplier], unknown = _known_supplier(typed, asked, prices, where)
            problems += unknown
    return names, problems


def _breaks_left(booked: Sequence[Priced], supplier: str, prices: PriceBook) -> Iterator[Problem]:
    """Rows of prices from more packs on, which a list without such prices leaves as they were."""
    goods = {one.matched.goods for one in booked}
    left = [
        price
        for price in prices.prices
        if price.from_qty > 1
        and fold(price.supplier) == fold(supplier)
        and Goods(price.item, price.gauge, price.colour) in goods
    ]
    if left and left[0].row:
        says = f"prices from more packs on ('from qty') are left as they were: {len(left)}"
        yield caution(left[0].row.where("from qty"), says, "put them right by hand")


def _known_supplier(
    name: str, asked: ListAsked, prices: PriceBook, where: Where
) -> tuple[str, tuple[Problem, ...]]:
    """The supplier as the lists spell it; a name that is nearly a known one is asked about.

    It would be a second supplier, without postage, beside the one that is meant.
    """
    names = (*(price.supplier for price in prices.prices), *prices.suppliers)
    known = {fold(n): n for n in names}
    if fold(name) in known:
        return known[fold(name)], ()
    close = called(name, known.values()) or slips_of(name, known.values())
    if close and not asked.is_new:
        says = f"no supplier is called '{name}': is it {' or '.join(close)}?"
        typed = "" if where.cell else "--supplier "
        options = " or ".join(f"{typed}{as_typed(n)}" for n in close)
        return name, (error(where, says, f"{options}, or --new-supplier if it is another"),)
    says = f"supplier '{name}' is not on the suppliers list: no postage is reckoned"
    return name, (caution(Where(), says, "a row for it in suppliers"),)


# -------------------------------------------------------------------------- the answers


def _notes(path: Path) -> OwnersBook | None:
    """The owner's file of answers as it is before it is read, so that no change to it is lost."""
    if not path.exists():
        return None
    with told(path):
        return OwnersBook.look(path, one_list=True)


def _new_answers(
    path: Path, notes: OwnersBook | None, before: Sequence[Kept], answers: Sequence[Kept]
) -> NewFile | None:
    """The owner's file with what is new of the answers, all else in it left as it is."""
    place = answers_place(path) if notes else None
    if notes and place:
        added = [_row(place, answer) for answer in answers if not answer.row]
        texts = notes.changed(list(_answered(before, answers)), added, {})
        seen = notes.files[path.name][1]
        return NewFile(path=followed(path), data=texts[path.name], seen=seen) if texts else None
    if not answers:
        return None
    heads = (Heading(name, itemgetter(name)) for name in HEADS)
    table = Table.of("answers", (answer.cells() for answer in answers), *heads)
    return NewFile(path=path, data=csv_bytes(table), seen=ABSENT)


def _keep(path: Path, move: Callable[[], object], *, booked: bool) -> None:
    """Put the answers in their place; where that fails, it is said that the prices are booked."""
    try:
        with told(path):
            move()
    except NotWritten as fault:
        says = f"{fault.says}; the prices are booked" if booked else fault.says
        raise NotWritten(path, says, fault.cure, fault.errno) from fault


def _answered(before: Sequence[Kept], answers: Sequence[Kept]) -> Iterator[Edit]:
    """The cells of rows that have got another answer."""
    known = {answer.row: answer.cells() for answer in before}
    for answer in answers:
        row = answer.row
        if row is None:
            continue
        for name, value in answer.cells().items():
            if name in row.letters and value != known[row][name]:
                cell = f"{row.letters[name]}{row.number}"
                yield Edit(sheet=row.sheet, cell=cell, value=value or None)


def _row(place: Listing, answer: Kept) -> NewRow:
    values = {
        place.letters[name]: value or None
        for name, value in answer.cells().items()
        if name in place.letters
    }
    return NewRow(sheet=place.sheet, header_row=place.header_row, values=values)


def _key(supplier: str, part_no: str, words: str) -> tuple[str, str]:
    """A row is known by its part number, and where it has none by its words."""
    return (fold(supplier), fold(part_no) or fold(words))


def _settled(
    matched: Iterable[Matched],
    asked: ListAsked,
    kept: Sequence[Kept],
    catalogue: Catalogue,
    ask: Ask | None,
) -> tuple[list[Matched], list[Kept]]:
    """Doubtful rows with the owner's answers, and all answers there are then."""
    answers = {_key(a.supplier, a.part_no, a.words): a for a in kept}
    settled = []
    for one in matched:
        if not one.doubts:
            settled.append(one)
            continue
        key = _key(asked.supplier, one.listed.part_no, one.listed.words)
        known = answers.get(key)
        if (known is None or not known.answer) and ask is not None:
            said = ask(one)
            ask = None if said == "stop" else ask
            known = replace(_kept(asked, one, said), row=known.row if known else None)
            answers[key] = known
        elif known is None:
            answers[key] = _kept(asked, one, "later")
        settled.append(_as_said(one, known, catalogue))
    return settled, list(answers.values())


def _kept(asked: ListAsked, one: Matched, said: Matched | str) -> Kept:
    settled = said if isinstance(said, Matched) else None
    shown = settled or replace(one, goods=one.nearest[0] if one.nearest else None)
    return Kept(
        supplier=asked.supplier,
        part_no=one.listed.part_no,
        words=one.listed.words,
        ours=str(shown.goods or ""),
        sold_as=shown.sold_as,
        pack=plain(shown.pack),
        answer="yes" if settled else "no" if said == "no" else "",
        when=f"{asked.day}",
    )


def _as_said(one: Matched, known: Kept | None, catalogue: Catalogue) -> Matched:
    """A doubtful row after the owner's answer: sure, none of ours, or doubtful still."""
    if known is None or not known.answer:
        return one
    if known.answer == "no":
        return Matched(listed=one.listed)
    pack = quantity(known.pack or "1") or Decimal(1)
    return one.settled(as_goods(known.ours, catalogue), SOLD.get(known.sold_as, "each"), pack)


# ------------------------------------------------------------------------ the price book


def _new_price(one: Matched, supplier: str) -> NewPrice:
    return NewPrice(
        supplier=supplier,
        goods=one.goods or Goods(""),
        sold_as=one.sold_as,
        pack=one.pack,
        price=one.price,
        part_no=one.listed.part_no,
    )


def _priced(
    settled: Iterable[Matched], supplier: str, prices: PriceBook, net: Decimal
) -> Iterator[Priced]:
    """What is sure, with the price there before, in the way in which the list keeps it."""
    own = OwnRows(prices)
    for one in settled:
        if one.sure:
            old = own.older(_new_price(one, supplier))
            yield Priced(
                supplier=supplier,
                matched=one,
                was=None if old is None else round_price(old.price * net),
            )


def _placed(answer: AddedList) -> Callable[[PriceBook], Iterator[InRow]]:
    """The rows that the prices go into, in the book as it is then."""

    def placed(prices: PriceBook) -> Iterator[InRow]:
        own = OwnRows(prices)
        for one in answer.booked:
            new = _new_price(one.matched, one.supplier)
            yield own.older(new), new

    return placed
