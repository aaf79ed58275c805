"""The last command reversed, in all that it wrote."""

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal

from bom.files.units import ThingKey, key_of, per_unit
from bom.shelf.moves.account import Account, Shelf
from bom.shelf.moves.booking import Booking, Draft, Refusal
from bom.shelf.moves.commands import BLANK, BY_HAND, NEW_ROW
from bom.shelf.moves.history import DONE, Command, History, undoes
from bom.shelf.moves.sendback import undo_orders
from bom.trade.problem import Problem, Where, as_typed, error

_WAS = re.compile(r"(cost|low|full) \S+ \(was (\S+)\)")


def undo(shelf: Shelf, when: str = "") -> Booking:
    """Reverse the last command that stands, move by move, the last first.

    With a moment only the command of that moment, where none was booked since.  Hand edits that
    were taken over are the owner's own, and stay.
    """
    commands = undoable(shelf.history)
    if not commands:
        raise Refusal(error(Where(shelf.stock.file), "there is no command left to undo"))
    command = commands[-1]
    if when and command.when != when:
        raise Refusal(_not_the_last(shelf, commands, when))
    draft = Draft(shelf)
    for remark in _remarks(shelf, command):
        draft.remark(remark)
    for move in reversed(command.moves):
        key = key_of(move.item, move.unit)
        account = shelf.accounts.get(key)
        if account is None and shelf.history.threads[key].is_no_thing:
            draft.about("undo", move.item, job=move.job, note=undoes(command))
            continue
        if account is None and not move.change and key in shelf.history.threads:
            draft.note(key, "undo", job=move.job, note=undoes(command))
            continue
        if account is None:
            draft.refuse(_gone(shelf, key, move.item))
            continue
        draft.move(
            key, "undo", -move.change * per_unit(move.unit), job=move.job, note=undoes(command)
        )
        for heading, value in _WAS.findall(move.note):
            draft.put(account, heading, None if value == BLANK else Decimal(value))
        if NEW_ROW in move.note and not draft.on_hand(key) and _untouched(account, move.note):
            draft.drop(account.spots[0].row)
    undo_orders(draft, shelf, command)
    return draft.booking()


def undoable(past: History) -> list[Command]:
    """The commands that stand, but for hand edits taken over; the last of them can be undone."""
    return [c for c in past.standing if not all(m.note.endswith(BY_HAND) for m in c.moves)]


def _not_the_last(shelf: Shelf, commands: Sequence[Command], when: str) -> Problem:
    """Why the command of a moment is not reversed, when the last is another."""
    where, last = Where(shelf.stock.file), commands[-1]
    if all(command.when != when for command in commands):
        return error(where, f"what was booked at {when} stands no longer")
    says = f"something else was booked since: {last.what} of '{last.moves[0].item}' at {last.when}"
    return error(where, says, "bom stock undo, which reverses that first")


def _remarks(shelf: Shelf, command: Command) -> Iterator[str]:
    """What stays though it came later, and what is kept of a job beside the moves."""
    if command is not shelf.history.standing[-1]:
        names = [*dict.fromkeys(move.item for move in command.moves)]
        more = f" and {len(names) - 1} more" * (len(names) > 1)
        yield (
            "hand edits taken over since stay as they are; undone is the "
            f"{command.what} of {command.when}: {names[0]}{more}"
        )
    for job in dict.fromkeys(move.job for move in command.moves if move.what == DONE):
        yield f"'{job}' is not done any more: bom done {as_typed(job)} keeps it anew"


def _untouched(account: Account, note: str) -> bool:
    """Whether the owner has written nothing into a row that a command made."""
    place = account.item.place
    return not account.spots[0].annotated and (not place or note.endswith(f"; {place}"))


def _gone(shelf: Shelf, key: ThingKey, name: str = "") -> Problem:
    says = f"'{name or key[0]}' is no longer in the stock book"
    return error(Where(shelf.stock.file), says, "put its row back")
