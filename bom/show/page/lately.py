"""What was done lately, on a page: the last commands of the shelf, the very last with an undo."""

from collections.abc import Sequence
from typing import Any

from bom.files.spelling import plain
from bom.shelf.moves import History
from bom.shelf.moves.history import ORDER, Command
from bom.shelf.moves.undo import undoable
from bom.trade.shelf import Move

MOST_LATELY, MOST_MOVES = 5, 3
"""So many commands are shown, and of each so many things; of more the number."""


def lately(past: History) -> list[dict[str, Any]]:
    """The last commands that stand, the newest first; `undo` is the moment of the last.

    Hand edits that were taken over are the owner's own, and cannot be undone.
    """
    commands = undoable(past)[: -MOST_LATELY - 1 : -1]
    return [_command(command, is_last=command is commands[0]) for command in commands]


def _command(command: Command, *, is_last: bool) -> dict[str, Any]:
    moves = command.moves
    shown = moves if len(moves) <= MOST_MOVES else moves[:MOST_MOVES]
    return {
        "when": command.when.rpartition(":")[0],
        "what": command.what,
        "changes": [_change(move) for move in shown],
        "more": len(moves) - len(shown),
        "jobs": _jobs(moves),
        "undo": command.when if is_last else "",
    }


def _jobs(moves: Sequence[Move]) -> list[str]:
    return [*dict.fromkeys(move.job for move in moves if move.job)]


def _change(move: Move) -> str:
    """What it was about, and how much of it came or went; of a job or an order nothing did."""
    if move.what == "order":
        return move.item.removeprefix(ORDER)
    unit = "" if move.unit == "each" else f" {move.unit}"
    sign = "+" if move.change > 0 else ""
    return f"{move.item} {sign}{plain(move.change)}{unit}" if move.change else move.item
