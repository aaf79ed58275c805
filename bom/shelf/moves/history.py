"""What the moves say: how much there should be of everything, what is set aside for whom.

The moves of one command carry the same moment.  An undone command is as if it had never been,
but for its rows, which go on counting together with those that reversed them.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import TypeAlias

from msgspec import Struct

from bom.files.spelling import fold, plain
from bom.files.units import ThingKey, key_of, per_unit, reckoned_in
from bom.trade.problem import Problem, Where, caution, error
from bom.trade.rows import Row
from bom.trade.shelf import Hold, Move

_BY_THE_PROGRAM = re.compile(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d")
_ASIDE = re.compile(r"([0-9.]+) (.+?) (set aside|free again)(; .*)?")
_UNDOES = re.compile(r"undoes \w+ of (\d{4}-\d\d-\d\d \d\d:\d\d:\d\d)")

_Words: TypeAlias = tuple[str, str, str, str, str, str, Decimal, Decimal | None]
"""A move as it stands in its row, the moment first."""


DONE, TAKEBACK = "done", "takeback"
ORDER = "order "
"""Stands before the number where a row is about an order."""
_OUT = ("issue", "scrap", DONE)


class Command(Struct, frozen=True):
    """The moves of one command, in their order."""

    when: str
    moves: tuple[Move, ...]

    @property
    def what(self) -> str:
        """What was done: its first move says it."""
        return self.moves[0].what

    def what_for(self, job: str) -> str:
        """What was done for a job, of those that it was done for; '' where nothing was."""
        return next((move.what for move in self.moves if fold(move.job) == fold(job)), "")


class Thread(Struct, frozen=True, kw_only=True):
    """All moves of one thing: opening + changes = left, in millimetres or its own unit."""

    name: str
    unit: str
    opening: Decimal
    come: Decimal
    gone: Decimal
    broken: str
    """The cell of Moves from which on what is left does not follow from what was; else ''."""

    @property
    def left(self) -> Decimal:
        """How much there should be."""
        return self.opening + self.come - self.gone

    @property
    def is_no_thing(self) -> bool:
        """True for what there never was any of: a job or an order that rows are about."""
        return not (self.opening or self.come or self.gone)


class Difference(Struct, frozen=True, kw_only=True):
    """A thing of which the book has not what the moves say; amounts in its `unit`."""

    key: ThingKey
    name: str
    unit: str
    by_the_moves: Decimal
    in_the_book: Decimal
    where: Where
    broken: str = ""
    """The cell of Moves from which on the moves themselves do not add up."""


class History(Struct, frozen=True, kw_only=True):
    """The moves, understood."""

    threads: Mapping[ThingKey, Thread]
    standing: tuple[Command, ...]
    """The program's own commands that nobody has undone, oldest first."""
    undone: tuple[Command, ...]
    """Those that were undone."""
    holds: tuple[Hold, ...]
    counting: tuple[Move, ...]
    """The moves of standing commands, and those that the owner wrote."""
    last: str
    """The latest moment that the program wrote; '' where it has written none."""

    @property
    def issues(self) -> dict[str, str]:
        """The jobs that were issued and not taken back, by their folded names, and when."""
        return self._last("issue", TAKEBACK)

    @property
    def taken_back(self) -> dict[str, str]:
        """The jobs that were taken back and not issued anew, by their folded names, and when."""
        return self._last(TAKEBACK, "issue")

    def _last(self, what: str, unless: str) -> dict[str, str]:
        """When this was last done for each job, unless the other came after it."""
        found: dict[str, str] = {}
        for command in self.standing:
            for move in command.moves:
                if move.what == what:
                    found[fold(move.job)] = command.when
                elif move.what == unless:
                    found.pop(fold(move.job), None)
        return found

    @property
    def not_done(self) -> frozenset[str]:
        """Jobs, by their folded names, that are done no longer, whatever is kept of them.

        Their last `done` was undone, or what they took was taken back, and no `done` came after it.
        What is kept is of the last `done`, so that an earlier one that stands says nothing of it.
        """
        stands = {command.when for command in self.standing}
        last: dict[str, bool] = {}
        for command in sorted((*self.standing, *self.undone), key=lambda command: command.when):
            for move in command.moves:
                if move.what == DONE:
                    last[fold(move.job)] = command.when in stands
                elif move.what == TAKEBACK and command.when in stands:
                    last[fold(move.job)] = False
        return frozenset(job for job, is_done in last.items() if not is_done)

    @property
    def placed(self) -> dict[str, str]:
        """When the program placed each order, by its folded number."""
        moves = (move for command in self.standing for move in command.moves)
        return {
            fold(move.item.removeprefix(ORDER)): move.when for move in moves if move.what == "order"
        }

    def out(self, job: str) -> tuple[Move, ...]:
        """The moves that say what a job has: issued, scrapped and put right since a takeback."""
        found: list[Move] = []
        for move in (move for command in self.standing for move in command.moves):
            if fold(move.job) != fold(job):
                continue
            if move.what == TAKEBACK:
                found.clear()
            elif move.what in _OUT:
                found.append(move)
        return tuple(found)

    @property
    def over(self) -> frozenset[str]:
        """The jobs, by folded names, that are done or called off: nothing is kept for them."""
        last: dict[str, str] = {}
        for move in (move for command in self.standing for move in command.moves):
            if move.what in ("hold", "issue", DONE, TAKEBACK):
                last[fold(move.job)] = move.what
        return frozenset(job for job, what in last.items() if what in (DONE, TAKEBACK))


def history(moves: Iterable[Move]) -> tuple[History, tuple[Problem, ...]]:
    """Understand the moves, in the order of their moments; what cannot be is a problem.

    A thing's opening is what it had before its first move, `left` less `change`.
    """
    ordered, twice = _once(sorted((move for move in moves if move.item), key=lambda m: m.when))
    commands = _commands(ordered)
    standing = _standing(commands)
    holds, problems = _holds(standing)
    found = History(
        threads=_threads(ordered),
        standing=standing,
        undone=_undone(commands, standing),
        holds=holds,
        counting=(
            *(move for move in ordered if move.when not in commands),
            *(move for command in standing for move in command.moves),
        ),
        last=max(commands, default=""),
    )
    return found, (*twice, *problems)


def _words(move: Move) -> _Words:
    amounts = (move.change, move.left)
    return (move.when, move.job, move.what, move.item, move.unit, move.note, *amounts)


def _once(moves: list[Move]) -> tuple[list[Move], list[Problem]]:
    """The moves without the program's commands that were copied: those would be reckoned twice.

    A command is a copy where every row of it stands twice, word for word.
    """
    words = [_words(move) for move in moves]
    if len({*words}) == len(words):
        return moves, []
    rows: dict[str, list[_Words]] = defaultdict(list)
    for said in words:
        if _BY_THE_PROGRAM.fullmatch(said[0]):
            rows[said[0]].append(said)
    again = {when for when, own in rows.items() if min(Counter(own).values()) > 1}
    kept: list[Move] = []
    first: dict[_Words, Row] = {}
    problems = []
    for move, said in zip(moves, words, strict=True):
        row = first.setdefault(said, move.row)
        if move.when not in again or row is move.row:
            kept.append(move)
            continue
        says = f"this row stands in row {row.number} too, and is counted once"
        alike = "rows of the moves stand twice, and are counted once"
        problems.append(caution(move.row.where("when"), says, "one of the two away", alike=alike))
    return kept, problems


def _threads(moves: Sequence[Move]) -> dict[ThingKey, Thread]:
    by_key: dict[ThingKey, list[Move]] = defaultdict(list)
    for move in moves:
        by_key[key_of(move.item, move.unit)].append(move)
    return {key: _thread(own) for key, own in by_key.items()}


def _thread(moves: Sequence[Move]) -> Thread:
    first, last = moves[0], moves[-1]
    scaled = [move.change * per_unit(move.unit) for move in moves]
    opening = Decimal() if first.left is None else first.left - first.change
    return Thread(
        name=last.item,
        unit=last.unit,
        opening=opening * per_unit(first.unit),
        come=sum((change for change in scaled if change > 0), Decimal()),
        gone=-sum((change for change in scaled if change < 0), Decimal()),
        broken=next(_breaks(moves), ""),
    )


def _breaks(moves: Sequence[Move]) -> Iterator[str]:
    """Cells in which what is left is not what was left before and the change."""
    for before, move in pairwise(moves):
        if before.left is None or move.left is None or before.unit != move.unit:
            continue
        if before.left + move.change != move.left:
            where = move.row.where("left")
            yield f"{where.sheet} {where.cell}"


def _commands(moves: Sequence[Move]) -> Mapping[str, Command]:
    """All commands of the program, by their moments."""
    by_moment: dict[str, list[Move]] = defaultdict(list)
    for move in moves:
        if _BY_THE_PROGRAM.fullmatch(move.when):
            by_moment[move.when].append(move)
    return {when: Command(when, tuple(own)) for when, own in by_moment.items()}


def _standing(commands: Mapping[str, Command]) -> tuple[Command, ...]:
    """Those that nobody has undone."""
    left = dict(commands)
    for command in commands.values():
        if command.what == "undo":
            left.pop(command.when, None)
            undone = _UNDOES.search(command.moves[0].note)
            if undone:
                left.pop(undone[1], None)
    return tuple(left.values())


def _undone(commands: Mapping[str, Command], standing: Iterable[Command]) -> tuple[Command, ...]:
    kept = {command.when for command in standing}
    return tuple(c for c in commands.values() if c.what != "undo" and c.when not in kept)


def about_job(job: str) -> str:
    """What stands as the item of a row that is about a job, and about no thing."""
    return f"job {job}"


def undoes(command: Command) -> str:
    """What a move says that reverses one of this command."""
    return f"undoes {command.what} of {command.when}"


# Set aside


def aside(amount: Decimal, unit: str) -> str:
    """What a move says that sets so much aside."""
    return f"{plain(amount)} {unit} set aside"


def free_again(amount: Decimal, unit: str) -> str:
    """What a move says that sets so much free."""
    return f"{plain(amount)} {unit} free again"


def _holds(commands: Iterable[Command]) -> tuple[tuple[Hold, ...], tuple[Problem, ...]]:
    """What is set aside now, by job and thing; issued, taken back or done, a job holds nothing."""
    held: dict[str, dict[ThingKey, Hold]] = defaultdict(dict)
    problems = []
    for command in commands:
        for move in command.moves:
            if move.what in ("issue", TAKEBACK, DONE):
                held.pop(fold(move.job), None)
            elif move.what in ("hold", "release"):
                problems += _set_aside(held[fold(move.job)], move)
    holds = (hold for things in held.values() for hold in things.values() if hold.quantity > 0)
    return tuple(holds), tuple(problems)


def _set_aside(things: dict[ThingKey, Hold], move: Move) -> list[Problem]:
    said = _ASIDE.fullmatch(move.note)
    if said is None:
        says = f"this {move.what} does not say how much"
        return [error(move.row.where("note"), says, aside(Decimal("1.5"), move.unit))]
    sign = 1 if said[3] == "set aside" else -1
    key = key_of(move.item, move.unit)
    before = things.get(key)
    held = before.quantity if before else Decimal()
    # what was freed when it was gone stays free where the hold itself is undone behind it
    after = max(Decimal(), held + sign * Decimal(said[1]) * per_unit(said[2]))
    since = before.since if before and held > 0 else move.when
    things[key] = Hold(
        job=move.job, item=move.item, quantity=after, unit=reckoned_in(move.unit), since=since
    )
    return []
