"""Thicker where heat or drop ask for it, no thicker than that, and no line more than pays.

Every step is settled by what a wire is, never by the row it stands in.
"""

import heapq
from collections import defaultdict
from collections.abc import Callable, Sequence

from bom.reckon.size.choice import DUST, Choice

Score = Callable[[Choice, int, dict[int, float]], float]
"""What raising a task is worth, by its number, with the ways that are over and by how much."""
HEAT, WAY, LINE = "heat", "way", "one line less"
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
    _for_drop(choice, raised)
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
            while choice.is_too_warm(branch) and _raise_warmest(choice, branch, raised):
                pass
        for branch in waiting:
            if choice.is_too_warm(branch) and _next_warmest(choice, branch) is None:
                choice.give_up(branch)
        waiting = [branch for branch in waiting if choice.is_too_warm(branch)]


def _next_warmest(choice: Choice, branch: int) -> int | None:
    warm = sorted(
        (n for n in choice.inside[branch] if choice.warmth[n].w_per_m),
        key=lambda n: (-choice.warmth[n].w_per_m, choice.tasks[n].key),
    )
    return next((n for n in warm if _can_rise(choice, n)), None)


def _raise_warmest(choice: Choice, branch: int, raised: dict[int, str]) -> bool:
    number = _next_warmest(choice, branch)
    if number is None:
        return False
    choice.put(number, choice.at[number] + 1)
    raised[number] = HEAT
    return True


def _can_rise(choice: Choice, number: int) -> bool:
    index = choice.at[number] + 1
    return index < len(choice.tasks[number].cables) and choice.has_room([(number, index)])


# ----------------------------------------------------------------------------------- drop


def _for_drop(choice: Choice, raised: dict[int, str]) -> None:
    """While a way is over its limit, raise the wire that gains most for its money."""
    over: dict[int, float] = {}
    for way, (numbers, volts, _) in enumerate(choice.ways):
        excess = choice.excess(way)
        least = sum(choice.lost(n, way, len(choice.tasks[n].cables) - 1) for n in numbers)
        if least > volts + DUST:
            choice.lost_ways.add(way)
        elif excess > DUST:
            over[way] = excess
    _raise_by(choice, raised, over, _gain)
    for way in sorted(
        over, key=lambda way: [choice.tasks[n].key for n in choice.ways[way].numbers]
    ):
        if not _once_more(choice, raised, way):
            choice.lost_ways.add(way)


def _raise_by(choice: Choice, raised: dict[int, str], over: dict[int, float], score: Score) -> None:
    """Raise the wire with the highest score until no way is over, or none can rise."""
    asked = {n for way in over for n in choice.ways[way].numbers}
    heap = [(-best, choice.tasks[n].key, n) for n in asked if (best := score(choice, n, over))]
    heapq.heapify(heap)
    while over and heap:
        _, key, number = heapq.heappop(heap)
        best = score(choice, number, over)  # what others gained meanwhile only makes it less
        if not best:
            continue
        if heap and (-best, key) > heap[0][:2]:
            heapq.heappush(heap, (-best, key, number))
            continue
        choice.put(number, choice.at[number] + 1)
        raised[number] = WAY
        _look_again(choice, number, over)
        heapq.heappush(heap, (-score(choice, number, over), key, number))


def _once_more(choice: Choice, raised: dict[int, str], way: int) -> bool:
    """Begin a way anew, the longest wires first: short cheap ones had filled its terminals."""
    numbers = choice.ways[way].numbers
    before = {n: choice.at[n] for n in numbers}
    for n in numbers:
        choice.put(n, 0)
    _raise_by(choice, raised, {way: choice.excess(way)}, _volts_gained)
    if all(choice.keeps(n) for n in numbers):
        return True
    for n, index in before.items():
        choice.put(n, index)
    return False


def _volts_gained(choice: Choice, number: int, over: dict[int, float]) -> float:
    """What the next cable of a task gains in volts, where some way is over."""
    if not over or not _can_rise(choice, number):
        return 0.0
    return choice.drop(number) - choice.drop(number, choice.at[number] + 1)


def _gain(choice: Choice, number: int, over: dict[int, float]) -> float:
    """What the next cable of a task gains on all ways that are over, for its money."""
    ways = [way for way in choice.through.get(number, ()) if way in over]
    if not ways or not _can_rise(choice, number):
        return 0.0
    index = choice.at[number]
    each = []
    for way in ways:
        gain = choice.lost(number, way) - choice.lost(number, way, index + 1)
        each.append(min(over[way], gain) / choice.ways[way].volts)
    more = choice.cost(number, index + 1) - choice.cost(number, index)
    more += float(choice.rules.line_worth) * max(choice.lines_more(number, index + 1), 0)
    return sum(sorted(each)) / max(more, 1e-6)


def _look_again(choice: Choice, number: int, over: dict[int, float]) -> None:
    for way in choice.through.get(number, ()):
        if way in over:
            over[way] = choice.excess(way)
            if over[way] <= DUST:
                del over[way]


# ----------------------------------------------------------------------- no more than that


def _undo(choice: Choice, raised: dict[int, str]) -> None:
    """Take back each raise that is no longer needed, where it saves most first."""

    def saves(number: int) -> tuple[float, tuple[object, ...]]:
        index = choice.at[number]
        return choice.cost(number, index - 1) - choice.cost(number, index), choice.tasks[number].key

    for number in sorted((n for n in raised if choice.at[n]), key=saves):
        while choice.at[number] and choice.lower(number, choice.at[number] - 1):
            pass


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
