"""What happens to the shelf, as moves: reckoned here, written by `stockbook`.

`history` reads what the moves say, `account` what lies on the shelf, `booking` puts a change and
its rows together, and `commands` holds what the owner can ask for.
"""

from bom.moves.account import Account, Shelf, shelf_of
from bom.moves.booking import Added, Booking, Emptied, Entry, Put, Refusal
from bom.moves.commands import count, hold, issue, release, set_marks, take_over, undo
from bom.moves.finish import Spent, finish, was_issued
from bom.moves.history import Difference, History, history
from bom.moves.receive import receive
from bom.moves.taking import Taking, taking

__all__ = [
    "Account",
    "Added",
    "Booking",
    "Difference",
    "Emptied",
    "Entry",
    "History",
    "Put",
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
