"""Thicker where heat or drop ask for it, no thicker than that, and no line more than pays.

Every step is settled by what a wire is, never by the row it stands in.
"""

import heapq
from collections import defaultdict
from collections.abc import Sequence

from bom.size.choice import DUST, Choice

HEAT, WAY, LINE = "heat", "way", "one line less"
"""What raised a wire."""


def raise_cables(choice: Choice, line_worth: float) -> dict[int, str]:
    """Raise the cables of a choice until all limits hold; what raised each task, by number.

    Branches and ways that the largest fitting cables cannot keep are left out.
    """
    raised: dict[int, str] = {}
    if all(len(task.cables) == 1 for task in choice.tasks):
        return raised
    _for_heat(choice, raised)
    left_out = _for_drop(choice, raised)
    _undo(choice, raised, left_out)
    _join_lines(choice, raised, left_out, line_worth)
    _settle(choice, raised, left_out, line_worth)
    return {n: why for n, why in raised.items() if choice.at[n]}


# ----------------------------------------------------------------------------------- heat


def _for_heat(choice: Choice, raised: dict[int, str]) -> None:
    """While a branch is too warm, raise the wire in it that gives off most."""
    points = {b: (choice.branches[b].start, choice.branches[b].finish) for b in choice.inside}
    branches = sorted(points, key=points.__getitem__)
    waiting = [b for b in branches if choice.is_too_warm(b) and not _is_hopeless(choice, b)]
    while waiting:
        for branch in waiting:
            while choice.is_too_warm(branch) and _raise_warmest(choice, branch, raised):
                pass
        warm = [branch for branch in waiting if choice.is_too_warm(branch)]
        waiting = [branch for branch in warm if _next_warmest(choice, branch) is not None]


def _is_hopeless(choice: Choice, branch: int) -> bool:
    """True for a branch that the largest cables of all its wires do not keep cool."""
    before = {n: choice.at[n] for n in choice.inside[branch]}
    for n in before:
        choice.put(n, len(choice.tasks[n].cables) - 1)
    hopeless = choice.is_too_warm(branch)
    for n, index in before.items():
        choice.put(n, index)
    return hopeless


def _next_warmest(choice: Choice, branch: int) -> int | None:
    warm = sorted(
        (n for n in choice.inside[branch] if choice.warmth(n).w_per_m),
        key=lambda n: (-choice.warmth(n).w_per_m, choice.tasks[n].key),
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


def _for_drop(choice: Choice, raised: dict[int, str]) -> set[int]:
    """While a way is over its limit, raise the wire that gains most for its money."""
    over: dict[int, float] = {}
    left_out: set[int] = set()
    for way, (numbers, volts) in enumerate(choice.ways):
        excess = choice.excess(way)
        if excess > DUST:
            least = sum(choice.drop(n, len(choice.tasks[n].cables) - 1) for n in numbers)
            left_out.add(way) if least > volts + DUST else over.update({way: excess})
    asked = {n for way in over for n in choice.ways[way][0]}
    heap = [(-score, choice.tasks[n].key, n) for n in asked if (score := _gain(choice, n, over))]
    heapq.heapify(heap)
    while over and heap:
        _, key, number = heapq.heappop(heap)
        score = _gain(choice, number, over)  # what others gained meanwhile only makes it less
        if not score:
            continue
        if heap and (-score, key) > heap[0][:2]:
            heapq.heappush(heap, (-score, key, number))
            continue
        choice.put(number, choice.at[number] + 1)
        raised[number] = WAY
        _look_again(choice, number, over)
        heapq.heappush(heap, (-_gain(choice, number, over), key, number))
    return left_out | over.keys()


def _gain(choice: Choice, number: int, over: dict[int, float]) -> float:
    """What the next cable of a task gains on all ways that are over, for its money."""
    ways = [way for way in choice.through.get(number, ()) if way in over]
    if not ways or not _can_rise(choice, number):
        return 0.0
    index = choice.at[number]
    gain = choice.drop(number) - choice.drop(number, index + 1)
    each = sorted(min(over[way], gain) / choice.ways[way][1] for way in ways)
    more = choice.cost(number, index + 1) - choice.cost(number, index)
    return sum(each) / max(more, 1e-6)


def _look_again(choice: Choice, number: int, over: dict[int, float]) -> None:
    for way in choice.through.get(number, ()):
        if way in over:
            over[way] = choice.excess(way)
            if over[way] <= DUST:
                del over[way]


# ----------------------------------------------------------------------- no more than that


def _keeps(choice: Choice, number: int, left_out: set[int]) -> bool:
    """True where a task breaks no limit but those that nothing keeps."""
    branches = choice.tasks[number].loaded.measured.branches
    return not any(choice.is_too_warm(b) for b in branches) and all(
        choice.excess(way) <= DUST for way in choice.through.get(number, ()) if way not in left_out
    )


def _by_key(choice: Choice, numbers: Sequence[int] | dict[int, str]) -> list[int]:
    return sorted(numbers, key=lambda n: choice.tasks[n].key)


def _undo(choice: Choice, raised: dict[int, str], left_out: set[int]) -> None:
    """Take back each raise that is no longer needed, where it saves most first."""

    def saves(number: int) -> tuple[float, tuple[object, ...]]:
        index = choice.at[number]
        return choice.cost(number, index - 1) - choice.cost(number, index), choice.tasks[number].key

    for number in sorted(raised, key=saves):
        while choice.at[number] and _lowered(choice, number, choice.at[number] - 1, left_out):
            pass


def _lowered(choice: Choice, number: int, index: int, left_out: set[int]) -> bool:
    """Lower a task where all that held goes on to hold."""
    before = choice.at[number]
    if not _keeps(choice, number, left_out):
        return False
    choice.put(number, index)
    if _keeps(choice, number, left_out):
        return True
    choice.put(number, before)
    return False


# ---------------------------------------------------------------------------------- lines

_Line = tuple[str, str]
"""Colour and gauge: a line to order."""


def _lines(choice: Choice) -> dict[_Line, list[int]]:
    lines: dict[_Line, list[int]] = defaultdict(list)
    for number, task in enumerate(choice.tasks):
        if task.wire.colour is not None:
            lines[str(task.wire.colour), choice.cable(number).gauge].append(number)
    return lines


def _join_lines(
    choice: Choice, raised: dict[int, str], left_out: set[int], line_worth: float
) -> None:
    """Join two lines of one colour upwards while that costs less than a line is worth."""
    refused: set[tuple[_Line, str]] = set()
    while True:
        joins = sorted(_joins(choice, _lines(choice), line_worth, refused))
        if not joins:
            return
        _, line, gauge = joins[0]
        if not _joined(choice, _lines(choice)[line], gauge, raised):
            refused.add((line, gauge))


def _joins(
    choice: Choice,
    lines: dict[_Line, list[int]],
    line_worth: float,
    refused: set[tuple[_Line, str]],
) -> list[tuple[float, _Line, str]]:
    by_colour: dict[str, list[str]] = defaultdict(list)
    for colour, gauge in lines:
        by_colour[colour].append(gauge)
    found = []
    for line, numbers in lines.items():
        for gauge in by_colour[line[0]]:
            if (line, gauge) not in refused and (more := _costs_more(choice, numbers, gauge)):
                found += [(more, line, gauge)] if more < line_worth else []
    return found


def _costs_more(choice: Choice, numbers: Sequence[int], gauge: str) -> float:
    """What it costs to make tasks of a thicker gauge; 0 where one of them cannot be."""
    costs = []
    for number in numbers:
        index = _index_of(choice, number, gauge)
        if index <= choice.at[number]:
            return 0.0
        costs.append(choice.cost(number, index) - choice.cost(number, choice.at[number]))
    return sum(sorted(costs))


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


def _settle(choice: Choice, raised: dict[int, str], left_out: set[int], line_worth: float) -> None:
    """Lower what the joined lines made needless, where money and lines together are less."""
    lines = {line: len(numbers) for line, numbers in _lines(choice).items()}
    changed = True
    while changed:
        changed = False
        for number in _by_key(choice, raised):
            for index in range(choice.at[number]):
                if _pays(choice, number, index, lines, line_worth):
                    old = choice.cable(number).gauge
                    if _lowered(choice, number, index, left_out):
                        _count(choice, number, old, lines)
                        changed = True
                        break


def _pays(
    choice: Choice, number: int, index: int, lines: dict[_Line, int], line_worth: float
) -> bool:
    task = choice.tasks[number]
    colour = str(task.wire.colour)
    saves = choice.cost(number, choice.at[number]) - choice.cost(number, index)
    if not lines.get((colour, task.cables[index].gauge)):
        saves -= line_worth
    if lines.get((colour, choice.cable(number).gauge)) == 1:
        saves += line_worth
    return saves > DUST


def _count(choice: Choice, number: int, old: str, lines: dict[_Line, int]) -> None:
    colour = str(choice.tasks[number].wire.colour)
    lines[colour, old] -= 1
    new = (colour, choice.cable(number).gauge)
    lines[new] = lines.get(new, 0) + 1
