"""What the owner can ask of the shelf: each from the shelf as it stands to a booking.

All raise `Refusal` with every reason at once; nothing is booked then.
"""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from bom.files import spelling
from bom.files.spelling import fold, plain
from bom.files.units import ThingKey, key_of, per_unit, shown
from bom.shelf.moves.account import Account, Shelf
from bom.shelf.moves.booking import Booking, Draft, Entry, Refusal
from bom.shelf.moves.history import Difference, aside, free_again
from bom.shelf.moves.taking import Taking
from bom.trade.catalogue import Catalogue
from bom.trade.needs import Short
from bom.trade.problem import Problem, Where, error, nearest
from bom.trade.shelf import DrawerItem, ShelfPiece

BY_HAND = "changed by hand"
NEW_ROW = "new row"
BLANK = "blank"


# ------------------------------------------------------------------------- for a job


def hold(shelf: Shelf, want: Taking) -> Booking:
    """Set aside what a job takes; what was set aside for it before is brought into line."""
    before = {
        key_of(h.item, h.unit): h.quantity
        for h in shelf.history.holds
        if fold(h.job) == fold(want.job)
    }
    draft = Draft(shelf)
    for key in dict.fromkeys((*before, *want.aside)):
        more = want.aside.get(key, Decimal()) - before.get(key, Decimal())
        if more:
            _set_aside(draft, shelf, key, more, want.job)
    _remark_short(draft, want)
    return draft.booking()


def release(shelf: Shelf, job: str) -> Booking:
    """Set free what is set aside for a job; raises `Refusal` where nothing is."""
    own = [h for h in shelf.history.holds if fold(h.job) == fold(job)]
    if not own:
        jobs = sorted({h.job for h in shelf.history.holds})
        cure = "held are: " + ", ".join(jobs) if jobs else ""
        raise Refusal(error(Where(shelf.stock.file), f"nothing is set aside for '{job}'", cure))
    draft = Draft(shelf)
    for h in own:
        _set_aside(draft, shelf, key_of(h.item, h.unit), -h.quantity, h.job)
    return draft.booking()


def _set_aside(draft: Draft, shelf: Shelf, key: ThingKey, more: Decimal, job: str) -> None:
    """A hold, or with a negative amount a release; what is on hand stays as it is."""
    account = shelf.accounts.get(key)
    if account is None:  # a piece that was renamed or taken out by hand: nothing of it is held
        unit = shelf.history.threads[key].unit
        draft.note(key, "release", job=job, note=free_again(shown(-more, per_unit(unit)), unit))
        return
    amount, unit = shown(abs(more), account.per), account.unit
    what, says = ("hold", aside) if more > 0 else ("release", free_again)
    cable = f"; {_cable(account)}" if isinstance(account.item, ShelfPiece) else ""
    note = says(amount, unit) + cable
    draft.move(key, what, Decimal(), job=job, note=note)


def issue(
    shelf: Shelf, want: Taking, useful_mm: int, *, again: bool = False, in_part: bool = False
) -> Booking:
    """Take out what the job needs: pieces get shorter, and rests under `useful_mm` are scrapped.

    Refused where something is short, unless what there is shall do (`in_part`), and where the
    job has been issued before, unless `again`.
    """
    done = shelf.history.issues.get(fold(want.job))
    if done and not again:
        says = f"'{want.job}' was issued on {done}"
        raise Refusal(error(Where(shelf.stock.file), says, "bom stock undo, or --again"))
    if want.short and not in_part:
        raise Refusal(*_short(shelf, want))
    draft = Draft(shelf)
    for key, amount in want.cut.items():
        wires = " ".join(want.wires[key])
        note = f"{_cable(shelf.accounts[key])}; wires {wires}"
        draft.move(key, "issue", -amount, job=want.job, note=note)
        rest = draft.on_hand(key)
        if 0 < rest < useful_mm and not shelf.held(key, but_for=want.job):
            draft.move(key, "scrap", -rest, job=want.job, note=f"under {useful_mm} mm")
    for key, amount in want.drawn.items():
        draft.move(key, "issue", -amount, job=want.job)
    _remark_short(draft, want)
    return draft.booking()


def _short(shelf: Shelf, want: Taking) -> list[Problem]:
    """Each line that is short, and what to do about them all."""
    book = Where(shelf.stock.file)
    lines = [error(book, f"short of {_amount(m)} of '{m.item}'") for m in want.short]
    cure = "bom stock receive ORDER when it has come, or --part to take what there is"
    return [*lines, error(book, f"'{want.job}' is not issued while something is short", cure)]


def _cable(account: Account) -> str:
    piece = account.item
    return f"{piece.gauge} {piece.colour}" if isinstance(piece, ShelfPiece) else piece.item


def _amount(missing: Short) -> str:
    if missing.unit == "mm":
        return f"{plain(shown(missing.quantity, Decimal(1000)))} m"
    return f"{plain(missing.quantity)}"


def _remark_short(draft: Draft, want: Taking) -> None:
    if want.short:
        lines = "1 line is" if len(want.short) == 1 else f"{len(want.short)} lines are"
        draft.remark(f"{lines} short: bom order shows what to buy")


# -------------------------------------------------------------------------- by count


def count(shelf: Shelf, name: str, typed: str, catalogue: Catalogue) -> Booking:
    """Set what is on hand of an item or a piece to what was counted, `40` or `8.4 m`.

    A catalogue item that the drawer has not gets a row.  What was changed by hand before is
    taken over with it: the change is reckoned from what the moves say.
    """
    account = _one(shelf, name, catalogue)
    draft = Draft(shelf)
    if account is None:
        item = {fold(known): known for known in catalogue.items}[fold(name)]
        unit = catalogue.unit_of(item)
        key = draft.start(item, unit, "Drawer", {})
        draft.move(key, "count", _counted(typed, unit), note=NEW_ROW)
        return draft.booking()
    if len(account.spots) > 1:
        cells = " and ".join(s.row.where(s.heading).cell for s in account.spots)
        says = f"'{account.name}' stands in two places ({cells})"
        raise Refusal(error(account.where, says, "type there what was counted"))
    there = _counted(typed, account.unit)
    draft.move(account.key, "count", there - account.on_hand)
    held = shelf.held(account.key)
    if held > there:
        amount = plain(shown(held, account.per))
        draft.remark(f"{amount} {account.unit} of it are set aside, more than there is: hold again")
    return draft.booking()


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
            error(Where(shelf.stock.file), says, nearest(name, (*known, *catalogue.items)))
        )
    return found[0] if found else None


def _counted(typed: str, unit: str) -> Decimal:
    """What was counted, in millimetres or in the thing's own unit."""
    try:
        if key_of("", unit)[1] == "mm":
            length = spelling.length_mm(typed, "", unit)
            return Decimal(int(length))
        return spelling.quantity(typed)
    except spelling.Misspelt as fault:
        raise Refusal(error(Where(), fault.says, fault.cure)) from fault


def take_over(differences: Iterable[Difference]) -> Booking:
    """Counts that make the moves say what the book has; the book itself stays as it is."""
    return Booking(
        entries=tuple(
            Entry(
                what="count",
                job="",
                item=difference.name,
                before=difference.by_the_moves,
                change=difference.in_the_book - difference.by_the_moves,
                left=difference.in_the_book,
                unit=difference.unit,
                note=BY_HAND,
            )
            for difference in differences
        ),
        takes_over=True,
    )


def set_marks(shelf: Shelf, marks: Mapping[ThingKey, tuple[Decimal, Decimal]]) -> Booking:
    """Write low and full marks, in each item's own unit; the moves keep what they were."""
    draft = Draft(shelf)
    for key, (low, full) in marks.items():
        account = shelf.accounts[key]
        item = account.item
        if not isinstance(item, DrawerItem):
            continue
        was_low, was_full = (_own(mark, account) for mark in (item.low, item.full))
        draft.put(account, "low", low)
        draft.put(account, "full", full)
        note = f"low {plain(low)} (was {was_low}), full {plain(full)} (was {was_full})"
        draft.move(key, "marks", Decimal(), note=note)
    return draft.booking()


def _own(mark: Decimal | None, account: Account) -> str:
    return BLANK if mark is None else plain(shown(mark, account.per))


def was(heading: str, new: Decimal, old: Decimal | None) -> str:
    """What a move says of a cell beside the amount, so that `undo` can put it back."""
    return f"{heading} {plain(new)} (was {BLANK if old is None else plain(old)})"
