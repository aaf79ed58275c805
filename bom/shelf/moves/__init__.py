"""What happens to the shelf, as moves: reckoned here, written by `stockbook`.

`history` reads what the moves say, `account` what lies on the shelf, `booking` puts a change and
its rows together, and `commands` holds what the owner can ask for.
"""

from bom.shelf.moves.account import Account, Shelf, shelf_of
from bom.shelf.moves.booking import Booking, Emptied, Entry, NewListRow, NewValue, Refusal
from bom.shelf.moves.commands import count, hold, issue, release, set_marks, take_over, undo
from bom.shelf.moves.finish import Spent, finish, was_issued
from bom.shelf.moves.history import Difference, History, history
from bom.shelf.moves.receive import receive
from bom.shelf.moves.taking import Taking, taking

__all__ = [
    "Account",
    "Booking",
    "Difference",
    "Emptied",
    "Entry",
    "History",
    "NewListRow",
    "NewValue",
    "Refusal",
    "Shelf",
    "Spent",
    "Taking",
    "count",
    "finish",
    "history",
    "hold",
    "issue",
    "receive",
    "release",
    "set_marks",
    "shelf_of",
    "take_over",
    "taking",
    "undo",
    "was_issued",
]
