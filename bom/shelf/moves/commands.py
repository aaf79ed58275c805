"""What the owner can ask of the shelf: each from the shelf as it stands to a booking.

All raise `Refusal` with every reason at once; nothing is booked then.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec.structs import replace

from bom.files.spelling import fold, plain
from bom.files.units import ThingKey, key_of, per_unit, shown
from bom.shelf.moves.account import Account, Shelf, cable_in_words
from bom.shelf.moves.booking import Booking, Draft, Entry, Refusal
from bom.shelf.moves.history import Difference, aside, free_again
from bom.shelf.moves.taking import Taking
from bom.shelf.moves.wires_cut import cut_note
from bom.trade.needs import Short
from bom.trade.problem import Problem, Where, as_typed, caution, error, listed
from bom.trade.shelf import DrawerItem

BY_HAND = "changed by hand"
NEW_ROW = "new row"
BLANK = "blank"
_MOST_NAMED = 3
"""So many spares that lack are named; of more only the number."""


# ------------------------------------------------------------------------- for a job


def hold(shelf: Shelf, wants: Sequence[Taking]) -> Booking:
    """Set aside what jobs take; what was set aside for them before is brought into line.

    First all that is set free, so that one job may get what another has held.
    """
    changes = [(want.job, key, more) for want in wants for key, more in _changes(shelf, want)]
    draft = Draft(shelf)
    for job, key, more in sorted(changes, key=lambda change: change[2] > 0):
        set_aside(draft, shelf, key, more, job)
    _remark_short(draft, shelf, [m for want in wants for m in (*want.short, *want.spare_short)])
    return draft.booking()


def _changes(shelf: Shelf, want: Taking) -> Iterator[tuple[ThingKey, Decimal]]:
    """How much more of each thing is to be held for a job, or how much less."""
    before = {
        key_of(h.item, h.unit): h.quantity
        for h in shelf.history.holds
        if fold(h.job) == fold(want.job)
    }
    for key in dict.fromkeys((*before, *want.aside)):
        more = want.aside.get(key, Decimal()) - before.get(key, Decimal())
        if more:
            yield key, more


def release(shelf: Shelf, job: str) -> Booking:
    """Set free what is set aside for a job; raises `Refusal` where nothing is."""
    own = [h for h in shelf.history.holds if fold(h.job) == fold(job)]
    if not own:
        jobs = sorted({h.job for h in shelf.history.holds})
        cure = "held are: " + ", ".join(jobs) if jobs else ""
        raise Refusal(error(Where(shelf.stock.file), f"nothing is set aside for '{job}'", cure))
    draft = Draft(shelf)
    for h in own:
        set_aside(draft, shelf, key_of(h.item, h.unit), -h.quantity, h.job)
    return draft.booking()


def set_aside(draft: Draft, shelf: Shelf, key: ThingKey, more: Decimal, job: str) -> None:
    """A hold, or with a negative amount a release; what is on hand stays as it is."""
    account = shelf.accounts.get(key)
    if account is None:  # a piece that was renamed or taken out by hand: nothing of it is held
        unit = shelf.history.threads[key].unit
        draft.note(key, "release", job=job, note=free_again(shown(-more, per_unit(unit)), unit))
        return
    amount, unit = shown(abs(more), account.per), account.unit
    what, says = ("hold", aside) if more > 0 else ("release", free_again)
    note = "; ".join(filter(None, (says(amount, unit), cable_in_words(account))))
    draft.move(key, what, Decimal(), job=job, note=note)


def issue(
    shelf: Shelf,
    wants: Sequence[Taking],
    useful_mm: int,
    *,
    once: bool = True,
    in_part: bool = False,
) -> Booking:
    """Take out what jobs need: pieces get shorter, and rests under `useful_mm` are scrapped.

    Refused where something is short that is no spare, unless what there is shall do (`in_part`),
    and where a job has been issued before and that is to be done `once`.
    """
    if once:
        _refuse_issued(shelf, wants)
    if not in_part and any(want.short for want in wants):
        raise Refusal(*_short(shelf, wants))
    draft = Draft(shelf)
    jobs = [want.job for want in wants]
    last = {key: want.job for want in wants for key in want.cut}
    for want in wants:
        for key, amount in want.cut.items():
            note = cut_note(cable_in_words(shelf.accounts[key]), want.wires[key])
            draft.move(key, "issue", -amount, job=want.job, note=note)
            rest = draft.on_hand(key)
            if last[key] == want.job and 0 < rest < useful_mm and not shelf.held(key, but_for=jobs):
                draft.move(key, "scrap", -rest, job=want.job, note=f"under {useful_mm} mm")
        for key, amount in want.drawn.items():
            draft.move(key, "issue", -amount, job=want.job)
    _remark_short(draft, shelf, [lacking for want in wants for lacking in want.short])
    _remark_spare(draft, [lacking for want in wants for lacking in want.spare_short])
    return draft.booking()


def _refuse_issued(shelf: Shelf, wants: Iterable[Taking]) -> None:
    """Raise `Refusal` for jobs that were issued before; what is wanted is what was left then."""
    issues = shelf.history.issues
    known = [(want, issues[fold(want.job)]) for want in wants if fold(want.job) in issues]
    if known:
        raise Refusal(*(_issued(shelf, want, when) for want, when in known))


def _issued(shelf: Shelf, want: Taking, when: str) -> Problem:
    cure = "--rest takes what was left, --again all of it once more"
    if want.is_nothing:
        cure = "bom stock undo, or --again"
    return error(Where(shelf.stock.file), f"'{want.job}' was issued on {when}", cure)


def _short(shelf: Shelf, wants: Sequence[Taking]) -> list[Problem]:
    """Each line that is short, and what to do about them all."""
    book, together = Where(shelf.stock.file), len(wants) > 1
    lines = [
        error(book, f"short of {_amount(m)} of '{m.item}'" + f" for '{want.job}'" * together)
        for want in wants
        for m in want.short
    ]
    cure = "bom stock receive ORDER when it has come, or --part to take what there is"
    jobs, verb = listed(f"'{want.job}'" for want in wants), "are" if together else "is"
    return [*lines, error(book, f"{jobs} {verb} not issued while something is short", cure)]


def _amount(missing: Short) -> str:
    if missing.unit == "mm":
        return f"{plain(shown(missing.quantity, Decimal(1000)))} m"
    return f"{plain(missing.quantity)}"


def _remark_short(draft: Draft, shelf: Shelf, lacking: Sequence[Short]) -> None:
    """How many lines wait for an order that was placed, and how many for one that was not."""
    ordered = sum(_is_on_order(shelf, missing) for missing in lacking)
    if ordered:
        draft.remark(f"{_lines(ordered)} on order: bom stock orders shows what is to come")
    if len(lacking) > ordered:
        draft.remark(f"{_lines(len(lacking) - ordered)} short: bom order shows what to buy")


def _lines(number: int) -> str:
    return "1 line is" if number == 1 else f"{number} lines are"


def _is_on_order(shelf: Shelf, missing: Short) -> bool:
    """As much as a job lacks is still to come for it; all of it, where no amount is said."""
    goods, own = (missing.gauge, missing.colour), {*map(fold, missing.jobs)}
    to_come = Decimal()
    for line in shelf.stock.orders:
        alike = (
            goods == (line.gauge, line.colour)
            if line.gauge
            else fold(line.item) == fold(missing.item)
        )
        if not alike or not own & {*map(fold, line.waiting)}:
            continue
        if not line.needed:
            return True
        waiting = line.waited_for(line.came, line.to_come)
        to_come += sum((part for job, part in waiting if fold(job) in own), Decimal())
    return 0 < missing.quantity <= to_come


def _remark_spare(draft: Draft, lacking: Sequence[Short]) -> None:
    """One line for all spares that are not there: the loom is made without."""
    if lacking:
        names = [f"{_amount(missing)} of '{missing.item}'" for missing in lacking[:_MOST_NAMED]]
        more = len(lacking) - len(names)
        names += [f"{more} more"] * bool(more)
        draft.remark(f"spares that are not there: {listed(names)}")


# --------------------------------------------------------------------------- by hand


def take_over(differences: Iterable[Difference]) -> Booking:
    """Counts that make the moves say what the book has; the book itself stays as it is."""
    return Booking(
        entries=tuple(_by_hand(d, "count", d.by_the_moves, BY_HAND) for d in differences),
        takes_over=True,
    )


def take_over_all(shelf: Shelf) -> Booking:
    """All hand edits as counts; what is set aside and no longer there is set free, and told."""
    differences = shelf.differences()
    counted = take_over(differences)
    entries = list(counted.entries)
    for difference in differences:
        account = shelf.accounts.get(difference.key)
        for hold in shelf.lacking({difference.key: account.on_hand if account else Decimal()}):
            amount = shown(hold.quantity, per_unit(difference.unit))
            note = f"{free_again(amount, difference.unit)}; {BY_HAND}"
            free = _by_hand(difference, "release", difference.in_the_book, note)
            entries.append(replace(free, job=hold.job))
    return replace(
        counted,
        entries=tuple(entries),
        remarks=tuple(f"{p.says}: {p.cure}" for p in overheld(shelf)),
    )


def _by_hand(difference: Difference, what: str, before: Decimal, note: str) -> Entry:
    """A row of the moves about a thing that was changed by hand, and stays as it is."""
    return Entry(
        what=what,
        job="",
        item=difference.name,
        before=before,
        change=difference.in_the_book - before,
        left=difference.in_the_book,
        unit=difference.unit,
        note=note,
    )


def overheld(shelf: Shelf) -> Iterator[Problem]:
    """What is set aside and is not there, a caution for each job and thing."""
    there = {key_of(h.item, h.unit): Decimal() for h in shelf.history.holds}
    there |= {key: account.on_hand for key, account in shelf.accounts.items()}
    for hold in shelf.lacking(there):
        account = shelf.accounts.get(key_of(hold.item, hold.unit))
        amount = f"{plain(shown(hold.quantity, Decimal(1000)))} m" if hold.unit == "mm" else ""
        says = f"set aside for {hold.job}: {amount or plain(hold.quantity)} of '{hold.item}'"
        again = f"bom stock hold {as_typed(hold.job)}"
        if account:
            says, again = f"{says} more than there is", f"{again} sets aside what there is"
        else:
            says, again = f"{says}, which is gone from the book", f"{again} sets it aside anew"
        yield caution(account.where if account else Where(shelf.stock.file), says, again)


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
