"""What goes back from an order or will never come, and orders in an undo."""

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal

from msgspec import Struct

from bom.files.spelling import fold, plain
from bom.files.units import key_of, per_unit, shown
from bom.shelf.moves.account import Account, Shelf
from bom.shelf.moves.arrive import COST, Source, source_of, words_of
from bom.shelf.moves.booking import Booking, Draft, Refusal
from bom.shelf.moves.commands import BLANK, was
from bom.shelf.moves.history import Command, free_again
from bom.shelf.moves.orders import called, lines_meant, lines_of, packs_of, subject
from bom.trade.placed import OrderLine
from bom.trade.problem import error, listed
from bom.trade.shelf import DrawerItem, Move

_CLOSED = re.compile(r"(\d+) x (\w+)(?: of ([0-9.]+))? will not come: (.+)")
_OF_LINE = re.compile(r"order (.+?)(?:, line (\d+))?")
_LINES = re.compile(r", (\d+) lines?$")
_PACKS_WERE = re.compile(r"; packs \d+ \(was (\d+)\)")
_PRICE_WAS = re.compile(r"(?:^|; )price \S+ \(was (\S+)\)")


class _Going(Struct, frozen=True):
    """So many packs that lie in one place, what they hold there, and what was paid for each."""

    account: Account
    packs: int
    amount: Decimal
    price: Decimal | None


def send_back(
    shelf: Shelf, number: str, item: str, packs: int, *, closed: bool = False
) -> tuple[Booking, tuple[str, ...]]:
    """Take packs that came off the shelf again; the line is open for them, or `closed`.

    A reel goes back uncut, of cable by the metre what is left; the last that came goes first.
    Of lines alike it is the last on which so many came.  For whom none will come is told too.
    """
    alike = lines_meant(lines_of(shelf, number), item)
    most = max(alike, key=lambda line: line.came)
    line = next((line for line in reversed(alike) if line.came >= packs), most)
    if packs > line.came:
        came = f"{line.came} came" if line.came else "nothing came"
        on = " on this line" if len(alike) > 1 else ""
        says = f"{came} of '{line.item}'{on}, so that {packs} cannot go back"
        raise Refusal(error(line.row.where("came"), says, f"{line.came}" if line.came else ""))
    draft = Draft(shelf)
    shares = {fold(job): part for job, part in line.waited_for(line.came - packs, packs)}
    going = [*(_lengths if line.gauge else _counted)(shelf, line, packs)]
    there = sum(one.packs for one in going)
    if there < packs:
        says = f"{there} of '{line.item}' can go back, {packs} are to: the rest is cut or gone"
        draft.refuse(error(line.row.where("item"), says, f"{there}" if there else ""))
    left = max(line.packs, line.came) - packs if closed else line.packs
    told = "; will not come again" if closed else ""
    told += f"; {was('packs', Decimal(left), Decimal(line.packs))}" if left != line.packs else ""
    for one in going:
        note = f"{called(shelf, line)}: {packs_of(line, one.packs)}"
        note += "" if one.price is None else f" at {plain(one.price)}"
        note += f", {line.supplier}{told}"
        note = f"{line.gauge} {line.colour}; {note}" if line.gauge else note
        note += _cost_without(draft, one)
        draft.move(one.account.key, "sendback", -one.amount, note=note)
        _let_go(draft, shelf, one.account, shares)
    draft.set_on(line, "came", line.came - packs)
    if left == line.packs:
        return draft.booking(), ()
    draft.set_on(line, "packs", left)
    waiting = _waited(draft, shelf, line, line.for_whom(left, line.packs - left))
    return draft.booking(), waiting


def _waited(draft: Draft, shelf: Shelf, line: OrderLine, names: tuple[str, ...]) -> tuple[str, ...]:
    """For whom packs were that will not come, told; no job that is over."""
    waiting = tuple(name for name in names if fold(name) not in shelf.history.over)
    if waiting:
        draft.remark(f"{listed(waiting)} waited for it: {line.item}")
    return waiting


def _counted(shelf: Shelf, line: OrderLine, packs: int) -> Iterator[_Going]:
    """What is in the drawer, at the price of the last parcel."""
    price = next((source.price for _, source in _receipts(shelf, line)), line.price)
    for account in shelf.find(line.item):
        if isinstance(account.item, DrawerItem):
            yield _Going(account, packs, line.each * packs, price)


def _lengths(shelf: Shelf, line: OrderLine, packs: int) -> Iterator[_Going]:
    for move, source in _receipts(shelf, line):
        account = shelf.accounts.get(key_of(move.item, move.unit))
        if account is None or not packs:
            continue
        count, amount = 1, account.on_hand
        if line.sold_as == "metre":
            count = min(packs, int(account.on_hand // line.each))
            amount = line.each * count
        elif account.on_hand < move.change * per_unit(move.unit):
            continue
        packs -= count
        if count:
            yield _Going(account, count, amount, source.price)


def _receipts(shelf: Shelf, line: OrderLine) -> Iterator[tuple[Move, Source]]:
    """The moves by which packs of a line came, the last first."""
    for command in reversed(shelf.history.standing):
        for move in reversed(command.moves):
            source = source_of(move) if move.what == "receive" else None
            if source and _is_of(source, line):
                yield move, source


def _is_of(source: Source, line: OrderLine) -> bool:
    words = words_of(line.item, line.gauge, line.colour)
    of_line = (subject(line.number), words, line.sold_as, line.pack)
    return (f"{source.what} {source.name}", source.words, source.form, source.pack) == of_line


def _cost_without(draft: Draft, going: _Going) -> str:
    """The mean cost of what stays, as if these had never come; what to say of it in the move."""
    account, price = going.account, going.price
    old = draft.cost(account)
    if old is None or price is None:
        return ""
    stays = (draft.on_hand(account.key) - going.amount) / account.per
    worth = draft.on_hand(account.key) / account.per * old - price * going.packs
    if stays <= 0 or worth < 0:
        return ""
    new = (worth / stays).quantize(COST)
    return f"; {was('cost', new, old)}" if new != old and draft.put(account, "cost", new) else ""


def _let_go(draft: Draft, shelf: Shelf, account: Account, shares: Mapping[str, Decimal]) -> None:
    """Set free what the jobs waited for of these goods, and what is set aside beyond the rest."""
    holds = [h for h in shelf.history.holds if key_of(h.item, h.unit) == account.key]
    over = sum((h.quantity for h in holds), Decimal()) - draft.on_hand(account.key)
    for hold in reversed(holds):
        part = min(hold.quantity, max(over, shares.get(fold(hold.job), Decimal())))
        over -= part
        if part > 0:
            note = free_again(shown(part, account.per), account.unit)
            draft.move(account.key, "release", Decimal(), job=hold.job, note=note)


def close(shelf: Shelf, number: str, item: str = "") -> tuple[Booking, tuple[str, ...]]:
    """Put down that what is still to come of an order, or of an item of it, will not come.

    For whom it was is told too.
    """
    lines = lines_of(shelf, number)
    lines = lines_meant(lines, item) if item else lines
    chosen = [line for line in lines if line.to_come]
    draft = Draft(shelf)
    waiting: list[str] = []
    for line in chosen:
        note = f"{packs_of(line, line.to_come)} will not come: {line.item}"
        draft.about("close", called(shelf, line), note=note)
        draft.set_on(line, "packs", line.came)
        waiting += _waited(draft, shelf, line, line.waiting)
    if not chosen:
        what = f"'{item}'" if item else f"order {lines[0].number}"
        draft.refuse(error(lines[0].row.where("came"), f"nothing of {what} is to come"))
    return draft.booking(), tuple(dict.fromkeys(waiting))


def undo_orders(draft: Draft, shelf: Shelf, command: Command) -> None:
    """Put the lines of Orders back as they were before a command."""
    for move in reversed(command.moves):
        if move.what == "order":
            _unplace(draft, shelf, move)
        elif move.what == "close":
            _reopen(draft, shelf, move)
        elif move.what in ("receive", "sendback"):
            _unmove(draft, shelf, move)


def _unplace(draft: Draft, shelf: Shelf, move: Move) -> None:
    """The lines that were placed go, unless something of them has come; the owner's own stay."""
    lines = [line for line in shelf.stock.orders if subject(line.number) == move.item]
    lines.sort(key=lambda line: f"{line.date}" != move.when[:10])  # the owner's own come last
    found = _LINES.search(move.note)
    placed = int(found[1]) if found else len(lines)
    for line in lines[:placed]:
        if line.came:
            says = f"{packs_of(line, line.came)} of it came by the book: the order stays"
            draft.refuse(error(line.row.where("came"), says, "0 in this cell if it did not"))
        draft.drop(line.row)
    for line in lines[placed:]:
        where = line.row.where("number")
        draft.remark(f"{where}: kept, as you wrote it there yourself: {line.item}")


def _reopen(draft: Draft, shelf: Shelf, move: Move) -> None:
    closed, order = _CLOSED.fullmatch(move.note), _OF_LINE.fullmatch(move.item)
    if closed is None or order is None:
        return
    source = Source(
        what="order",
        name=order[1],
        line=int(order[2] or 0),
        words=fold(closed[4]),
        form=closed[2],
        pack=Decimal(closed[3] or 1),
        packs=int(closed[1]),
        price=None,
        supplier="",
    )
    if line := _line(draft, shelf, source, "packs"):
        draft.set_on(line, "packs", draft.packs(line, "packs") + source.packs)


def _unmove(draft: Draft, shelf: Shelf, move: Move) -> None:
    source = source_of(move)
    if source is None or source.what != "order":
        return
    line = _line(draft, shelf, source, "came")
    if line is None:
        return
    packs = source.packs if move.what == "sendback" else -source.packs
    draft.set_on(line, "came", max(draft.packs(line, "came") + packs, 0))
    if before := _PACKS_WERE.search(move.note):
        draft.set_on(line, "packs", int(before[1]))
    if before := _PRICE_WAS.search(move.note):
        draft.set_on(line, "price", None if before[1] == BLANK else Decimal(before[1]))


def _line(draft: Draft, shelf: Shelf, source: Source, heading: str) -> OrderLine | None:
    """The line that a move is about; by its item alone where the owner changed the rest since.

    Where none is left, what is to be put right in `heading` by hand is told.
    """
    lines = [line for line in shelf.stock.orders if fold(line.number) == fold(source.name)]
    named = [line for line in lines if source.words in _words(line)]
    exact = [n for n in named if (n.sold_as, n.pack) == (source.form, source.pack)]
    if source.line and (itself := [n for n in lines[source.line - 1 : source.line] if n in exact]):
        return itself[0]
    if exact or len(named) == 1:
        return (exact or named)[0]
    cells = ", ".join(f"{line.row.where(heading)}" for line in lines)
    by_hand = f"{cells}: put '{heading}' right by hand, as the line was changed since"
    draft.remark(by_hand if lines else f"order {source.name} stands no longer in Orders")
    return None


def _words(line: OrderLine) -> set[str]:
    return {fold(line.item), words_of(line.item, line.gauge, line.colour)}
