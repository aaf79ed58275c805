"""What the owner says of one thing by a number: so many were counted, taken off, put in.

A count sets what is there; what is taken or put in is reckoned from the shelf as it stands by then,
so that two who take at once both count.  All raise `Refusal` with every reason at once.
"""

from decimal import Decimal

from bom.files import spelling
from bom.files.spelling import fold, plain
from bom.files.units import PIECE_UNIT, ThingKey, key_of, shown
from bom.shelf.moves.account import Account, Shelf
from bom.shelf.moves.arrive import PieceNames
from bom.shelf.moves.booking import Booking, Draft, Refusal
from bom.shelf.moves.commands import NEW_ROW, set_aside
from bom.trade.catalogue import Catalogue
from bom.trade.problem import Problem, Where, as_typed, error, listed, near_names
from bom.trade.shelf import DrawerItem, ShelfPiece

PIECES = "each"
"""The unit of which there are whole ones alone; of pairs, packets, litres there are halves."""

SMALL, SMALL_MM = 50, 1000
"""Of fewer, and of shorter lengths, ten times as much is ordinary: a handful topped up."""


def count(shelf: Shelf, name: str, typed: str, catalogue: Catalogue) -> Booking:
    """Set what is on hand of an item or a piece to what was counted, `40` or `8.4 m`.

    A catalogue item that the drawer has not gets a row.  What was changed by hand before is
    taken over with it: the change is reckoned from what the moves say.  A count of ten times what
    the book said or more, or of a tenth or less, is a doubt: a figure too many or too few.  None
    is where either is 0 or both are small (`SMALL`, `SMALL_MM`): a first count, the last of them
    used up, a handful topped up.  What is set aside goes no higher than what was counted.
    """
    account = _one(shelf, name, catalogue)
    draft = Draft(shelf)
    if account is None:
        key, unit = _begun(draft, name, catalogue)
        draft.move(key, "count", _amount(name, typed, unit), note=NEW_ROW)
        return draft.booking()
    if len(account.spots) > 1:
        cells = " and ".join(s.row.where(s.heading).cell for s in account.spots)
        says = f"'{account.name}' stands in two places ({cells})"
        raise Refusal(error(account.where, says, "type there what was counted"))
    there = _amount(account.name, typed, account.unit)
    least, most = sorted((account.on_hand, there))
    if _is_far_more(least, most, account.key):
        draft.doubt(_doubt(account, there, "counted"))
    draft.move(account.key, "count", there - account.on_hand)
    _set_free(draft, shelf, account, "counted")
    return draft.booking()


def take(shelf: Shelf, name: str, typed: str, catalogue: Catalogue) -> Booking:
    """Take so many of an item, or so much of a piece, off the shelf; never more than there is.

    The book follows the hand: what was set aside and is gone is free again, and its job is named.
    """
    account = _one(shelf, name, catalogue)
    draft = Draft(shelf)
    key, unit = (account.key, account.unit) if account else _begun(draft, name, catalogue)
    draft.move(key, "take", -_something(name, typed, unit))
    if account:
        _set_free(draft, shelf, account, "left")
    return draft.booking()


def put_in(shelf: Shelf, name: str, typed: str, catalogue: Catalogue) -> Booking:
    """Put so many of an item into the drawer, back or new; one that it has not gets a row.

    A length does not join the piece that it was cut from: it is a piece of its own, but where
    nothing is left of that one and it comes back.  More than ten times what is there, or of a
    full drawer, is a doubt.
    """
    account = _one(shelf, name, catalogue)
    draft = Draft(shelf)
    key, unit = (account.key, account.unit) if account else _begun(draft, name, catalogue)
    amount, note = _something(name, typed, unit), "" if account else NEW_ROW
    if account and _is_far_more(_most(account), amount, key):
        draft.doubt(_doubt(account, amount, "put in"))
    if account and isinstance(account.item, ShelfPiece) and account.on_hand:
        key, note = _piece_of_its_own(draft, shelf, account.item)
    draft.move(key, "put", amount, note=note)
    return draft.booking()


def _piece_of_its_own(draft: Draft, shelf: Shelf, of: ShelfPiece) -> tuple[ThingKey, str]:
    """A new row for a length of the same cable, and what its move says."""
    name, cable = PieceNames(shelf).next(), f"{of.gauge} {of.colour}"
    values = {"gauge": of.gauge, "colour": str(of.colour), "cost per m": of.cost_per_m}
    draft.remark(f"write on the length: {name} {cable}")
    return draft.start(name, PIECE_UNIT, "Cable", values), f"{NEW_ROW}; {cable}"


def _begun(draft: Draft, name: str, catalogue: Catalogue) -> tuple[ThingKey, str]:
    """A new row for a catalogue item, and its unit."""
    item = {fold(known): known for known in catalogue.items}[fold(name)]
    unit = catalogue.unit_of(item)
    return draft.start(item, unit, "Drawer", {}), unit


def _is_far_more(known: Decimal, said: Decimal, key: ThingKey) -> bool:
    return 0 < 10 * known <= said and said >= (SMALL_MM if key[1] == "mm" else SMALL)


def _most(account: Account) -> Decimal:
    """What there is of a thing, or would be of a full drawer."""
    full = account.item.full if isinstance(account.item, DrawerItem) else None
    return max(account.on_hand, full or Decimal())


def _doubt(account: Account, said: Decimal, done: str) -> Problem:
    said_, was = (_shown(account, amount) for amount in (said, account.on_hand))
    says = f"'{account.name}': {said_} {done}, {was} in the book"
    return error(account.where, says, "--yes, if it is so")


def _set_free(draft: Draft, shelf: Shelf, account: Account, done: str) -> None:
    """What was set aside of a thing and is no longer there; its jobs are told."""
    there = draft.on_hand(account.key)
    lacking = shelf.lacking({account.key: there})
    for hold in lacking:
        set_aside(draft, shelf, account.key, -hold.quantity, hold.job)
    if not lacking:
        return
    jobs = [hold.job for hold in lacking]
    own = [h for h in shelf.history.holds if key_of(h.item, h.unit) == account.key]
    aside = listed(
        f"{_shown(account, h.quantity)} set aside for {h.job}" for h in own if h.job in jobs
    )
    again = " ".join(map(as_typed, jobs))
    draft.remark(
        f"'{account.name}': {_shown(account, there)} {done}, {aside}: bom stock hold {again}"
    )


def _shown(account: Account, amount: Decimal) -> str:
    """An amount of a thing in its unit, in words."""
    unit = "" if account.unit == "each" else f" {account.unit}"
    return f"{plain(shown(amount, account.per))}{unit}"


def _one(shelf: Shelf, name: str, catalogue: Catalogue) -> Account | None:
    """The one thing of that name; None for a catalogue item that the book has not."""
    found = shelf.find(name)
    if len(found) > 1:
        says = f"'{name}' is a piece of cable and an item of the drawer"
        raise Refusal(error(found[0].where, says, "another name for one of them"))
    known = [account.name for account in shelf.accounts.values()]
    if not found and fold(name) not in map(fold, catalogue.items):
        says = f"'{name}' is neither in the stock book nor in the catalogues"
        raise Refusal(
            error(Where(shelf.stock.file), says, near_names(name, known, [*catalogue.items]))
        )
    return found[0] if found else None


def _something(name: str, typed: str, unit: str) -> Decimal:
    """What was taken or put in: more than nothing."""
    amount = _amount(name, typed, unit)
    if not amount:
        says = f"'{typed}' is nothing to take or put in"
        raise Refusal(error(Where(), says, "how many, or how long: 4, or 1.2 m"))
    return amount


def _amount(name: str, typed: str, unit: str) -> Decimal:
    """What was typed, in millimetres or in the thing's own unit; of `each` there are no halves."""
    try:
        if key_of("", unit)[1] == "mm":
            length = spelling.length_mm(typed, "", unit)
            return Decimal(int(length))
        amount = spelling.quantity(typed)
    except spelling.Misspelt as fault:
        raise Refusal(error(Where(), fault.says, fault.cure)) from fault
    if fold(unit) == PIECES and amount % 1:
        says = f"'{name}' is counted one by one, and '{typed}' is no whole number"
        whole = (int(amount), int(amount) + 1)
        raise Refusal(error(Where(), says, " or ".join(f"{number}" for number in whole if number)))
    return amount
