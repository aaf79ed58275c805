"""What happens to the shelf, as moves: reckoned here, written by `stockbook`.

`history` reads what the moves say, `account` what lies on the shelf, `booking` puts a change and
its rows together, and `commands` holds what the owner can ask for, but for what has a page of its
own: `by_number`, `receive`, `finish`, `takeback`.  `taking` says what jobs take, `left_to_issue`
what of it is still to be taken.

- Opening + changes = left.  What a thing opened with is `left` less `change` of its first row; a
  book may begin at any time.  Where the book has not what the moves say, the owner has typed in it:
  a `Difference`, taken over by a count with the owner's yes.
- The rows of one command carry the same moment, to the second, later than any before.  Rows
  without seconds are the owner's own: they count, but are no command and cannot be undone.
- A hold changes nothing on hand: its row has change 0 and says how much is set aside.  The shelf's
  `holds` go no higher than what is there; a count, a take, and hand edits taken over free what is
  over.
- Notes that are read again: what is set aside, `cost 0.07 (was 0.05)`, `low 40 (was 20)`, `packs 3
  (was 4)`, `new row`, `undoes issue of ...`, `changed by hand`, `order 2026-001, line 2` where an
  order has several lines alike, and six digits in brackets that tell one order from another.
- `undo` writes rows that reverse; the command and its reversal are then left out of `standing`.
- The row of an issue says what wires were cut and how long: what was issued in part is known by
  it, and what a takeback makes offcuts of.
- A row about a job or an order is about no thing: change 0, left 0, and no such name in the lists.
- A row that a command made goes away with it, unless the owner has written more into it.  A used-up
  piece keeps its row with length 0: its name is not given again.
"""

from bom.shelf.moves.account import Account, Shelf, shelf_of
from bom.shelf.moves.booking import Booking, Emptied, Entry, NewListRow, NewValue, Refusal
from bom.shelf.moves.by_number import count, put_in, take
from bom.shelf.moves.commands import (
    hold,
    issue,
    overheld,
    release,
    set_marks,
    take_over,
    take_over_all,
)
from bom.shelf.moves.finish import Spent, finish, is_kept_for, was_issued
from bom.shelf.moves.history import Difference, History, history
from bom.shelf.moves.kept import after, keep, waiting_jobs
from bom.shelf.moves.left_to_issue import left_to_issue
from bom.shelf.moves.orders import (
    Parcel,
    Placed,
    place,
    receive_order,
    word_of,
)
from bom.shelf.moves.receive import Paper, Twice, receive
from bom.shelf.moves.sendback import close, send_back
from bom.shelf.moves.takeback import take_back
from bom.shelf.moves.taking import Taking, takings
from bom.shelf.moves.undo import undo

__all__ = [
    "Account",
    "Booking",
    "Difference",
    "Emptied",
    "Entry",
    "History",
    "NewListRow",
    "NewValue",
    "Paper",
    "Parcel",
    "Placed",
    "Refusal",
    "Shelf",
    "Spent",
    "Taking",
    "Twice",
    "after",
    "close",
    "count",
    "finish",
    "history",
    "hold",
    "is_kept_for",
    "issue",
    "keep",
    "left_to_issue",
    "overheld",
    "place",
    "put_in",
    "receive",
    "receive_order",
    "release",
    "send_back",
    "set_marks",
    "shelf_of",
    "take",
    "take_back",
    "take_over",
    "take_over_all",
    "takings",
    "undo",
    "waiting_jobs",
    "was_issued",
    "word_of",
]
