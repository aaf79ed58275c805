"""Thicker where heat or drop ask for it, no thicker than that, and no line more than pays.

Every step is settled by what a wire is, never by the row it stands in.
"""

import heapq
from collections import defaultdict
from collections.abc import Sequence

from bom.reckon.size.choice import DUST, Choice
from bom.reckon.size.drop import raise_for_drop

HEAT, LINE = "heat", "one line less"
"""What raised a wire."""


def raise_cables(choice: Choice, line_worth: float) -> dict[int, str]:
    """Raise the cables of a choice until all limits hold; what raised each task, by number.

    A branch that no cable keeps cool is made as cool as can be; a way that the largest fitting
    cables cannot keep is left out.
    """
    raised: dict[int, str] = {}
    if all(len(task.cables) == 1 for task in choice.tasks):
        return raised
    _for_heat(choice, raised)
    raise_for_drop(choice, raised)
    _for_heat(choice, raised)  # what is thicker now may hold a neighbour's heat back
    _undo(choice, raised)
    _join_lines(choice, raised, line_worth)
    _settle(choice, raised, line_worth)
    return {n: why for n, why in raised.items() if choice.at[n]}


# ----------------------------------------------------------------------------------- heat


def _for_heat(choice: Choice, raised: dict[int, str]) -> None:
    """While a branch is too warm, raise the wire in it that gives off most."""
    points = {b: (choice.branches[b].start, choice.branches[b].finish) for b in choice.inside}
    waiting = [b for b in sorted(points, key=points.__getitem__) if choice.is_too_warm(b)]
    while waiting:
        for branch in waiting:
            raised.update(dict.fromkeys(_cool(choice, branch), HEAT))
        for branch in waiting:
            if choice.is_too_warm(branch) and not _may_be_cooler(choice, branch):
                choice.give_up(branch)
        waiting = [branch for branch in waiting if choice.is_too_warm(branch)]


def _may_be_cooler(choice: Choice, branch: int) -> bool:
    return any(choice.warmth(n) and choice.can_rise(n) for n in choice.inside[branch])


def _cool(choice: Choice, branch: int) -> list[int]:
    """Raise the warmest wire of a branch until it is not too warm any more; the wires raised.

    It is looked at after one, two, four and so on, and then for the fewest that are enough.
    """
    warm = [(-choice.warmth(n), n) for n in choice.inside[branch]]
    heapq.heapify(warm)
    raised: list[int] = []
    few = 0
    while choice.is_too_warm(branch):
        few = len(raised)
        raised += _raise_warmest(choice, warm, few or 1)
        if len(raised) == few:
            return raised
    now = enough = len(raised)
    while enough - few > 1:
        middle = (few + enough) // 2
        now = _go_to(choice, raised, now, middle)
        few, enough = (middle, enough) if choice.is_too_warm(branch) else (few, middle)
    _go_to(choice, raised, now, enough)
    return raised[:enough]


def _raise_warmest(choice: Choice, warm: list[tuple[float, int]], count: int) -> list[int]:
    """Raise the warmest wire so many times; `warm` is a heap of those that may still rise."""
    raised: list[int] = []
    while warm and len(raised) < count:
        watts, number = heapq.heappop(warm)
        if watts and choice.can_rise(number):
            choice.put(number, choice.at[number] + 1)
            raised.append(number)
            heapq.heappush(warm, (-choice.warmth(number), number))
    return raised


def _go_to(choice: Choice, raised: list[int], now: int, count: int) -> int:
    """Leave the first of some raises as they were, and take back the others."""
    for number in raised[now:count]:
        choice.put(number, choice.at[number] + 1)
    for number in raised[count:now]:
        choice.put(number, choice.at[number] - 1)
    return count


# ----------------------------------------------------------------------- no more than that


def _undo(choice: Choice, raised: dict[int, str]) -> None:
    """Take back each raise that is no longer needed, where it saves most first.

    While that goes well, one, two, four and so on are taken back together.
    """

    def saves(number: int) -> tuple[float, tuple[object, ...]]:
        index = choice.at[number]
        return choice.cost(number, index - 1) - choice.cost(number, index), choice.tasks[number].key

    waiting = sorted((n for n in raised if choice.at[n]), key=saves, reverse=True)
    together = 1
    while waiting:
        if together == 1:
            number = waiting.pop()
            while choice.at[number] and choice.lower(number, choice.at[number] - 1):
                pass
            together += not choice.at[number]
        elif choice.lower_all(reversed(waiting[-together:])):
            del waiting[-together:]
            together *= 2
        else:
            together //= 2


# ---------------------------------------------------------------------------------- lines

_OrderLine = tuple[str, str]
"""Colour and gauge: a line to order."""


def _lines(choice: Choice) -> dict[_OrderLine, list[int]]:
    lines: dict[_OrderLine, list[int]] = defaultdict(list)
    for number, task in enumerate(choice.tasks):
        if task.wire.colour is not None:
            lines[str(task.wire.colour), choice.cable(number).gauge].append(number)
    return lines


def _join_lines(choice: Choice, raised: dict[int, str], line_worth: float) -> None:
    """Join two lines of one colour upwards while that costs less than a line is worth."""
    refused: set[tuple[_OrderLine, str]] = set()
    while True:
        joins = sorted(_joins(choice, _lines(choice), line_worth, refused))
        if not joins:
            return
        _, line, gauge = joins[0]
        if not _joined(choice, _lines(choice)[line], gauge, raised):
            refused.add((line, gauge))


def _joins(
    choice: Choice,
    lines: dict[_OrderLine, list[int]],
    line_worth: float,
    refused: set[tuple[_OrderLine, str]],
) -> list[tuple[float, _OrderLine, str]]:
    by_colour: dict[str, list[str]] = defaultdict(list)
    for colour, gauge in lines:
        by_colour[colour].append(gauge)
    found = []
    for line, numbers in lines.items():
        for gauge in by_colour[line[0]]:
            more = _costs_more(choice, numbers, gauge, line_worth)
            if more is not None and (line, gauge) not in refused:
                found.append((more, line, gauge))
    return found


def _costs_more(choice: Choice, numbers: Sequence[int], gauge: str, most: float) -> float | None:
    """What it costs to make tasks of a thicker gauge; None where it is too much, or cannot be."""
    costs = []
    for number in numbers:
        index = _index_of(choice, number, gauge)
        if index <= choice.at[number]:
            return None
        costs.append(choice.cost(number, index) - choice.cost(number, choice.at[number]))
        if costs[-1] >= most:
            return None
    more = sum(sorted(costs))
    return more if more < most else None


def _index_of(choice: Choice, number: int, gauge: str) -> int:
    cables = choice.tasks[number].cables
    return next((i for i, cable in enumerate(cables) if cable.gauge == gauge), -1)


def _joined(choice: Choice, numbers: Sequence[int], gauge: str, raised: dict[int, str]) -> bool:
    """Make a line thicker where the terminals take it and no branch gets too warm by it."""
    new = {number: _index_of(choice, number, gauge) for number in numbers}
    if not choice.has_room(new.items()):
        return False
    branches = {b for n in numbers for b in choice.tasks[n].loaded.measured.branches}
    cool = [branch for branch in branches if not choice.is_too_warm(branch)]
    before = {number: choice.at[number] for number in numbers}
    for number, index in new.items():
        choice.put(number, index)
    if any(choice.is_too_warm(branch) for branch in cool):
        for number, index in before.items():
            choice.put(number, index)
        return False
    raised.update(dict.fromkeys(numbers, LINE))
    return True


def _settle(choice: Choice, raised: dict[int, str], line_worth: float) -> None:
    """Lower what the joined lines made needless, where money and lines together are less."""
    changed = True
    while changed:
        changed = False
        for number in sorted(raised, key=lambda n: choice.tasks[n].key):
            for index in range(choice.at[number]):
                if _pays(choice, number, index, line_worth) and choice.lower(number, index):
                    changed = True
                    break


def _pays(choice: Choice, number: int, index: int, line_worth: float) -> bool:
    saves = choice.cost(number, choice.at[number]) - choice.cost(number, index)
    return saves - line_worth * choice.lines_more(number, index) > DUST
