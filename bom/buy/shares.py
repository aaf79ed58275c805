"""Which job waits for how much of each line of an order."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import TypeAlias

from bom.buy.cut import new_names
from bom.trade.needs import ELSEWHERE, CutList, LineKey, Short
from bom.trade.orders import ForJobs, Purchase

_Asked: TypeAlias = tuple[LineKey, bool]
"""A line of the estimate, and whether it is bought at a price of its own."""


def shared_out(
    lines: Sequence[Purchase], short: Iterable[Short], cut_list: CutList, trim_mm: int
) -> Iterator[ForJobs]:
    """Each line with what the jobs lack of it.

    Of cable what is cut from its own lengths, trims with it, and the spare with the line bought
    last; of all else those named first are served first, and where several lines are bought for
    one need the last has what the others do not hold.
    """
    waiting = {((s.key, s.unit), s.price is not None): _shares(s) for s in short}
    cut = _cut_from(lines, cut_list, trim_mm)
    last = {_asked(line): line for line in lines}
    for line in lines:
        key = _asked(line)
        left = waiting.get(key, {})
        if line.kind == "cable":
            needed = cut.get(id(line), {})
            left = left if line is last[key] else {}
            needed = {
                job: needed.get(job, Decimal()) + left.get(job, 0) for job in {**needed, **left}
            }
        else:
            room = sum(left.values(), Decimal()) if line is last[key] else line.bought
            needed = _served(left, room)
        yield ForJobs(line, needed or dict.fromkeys(line.jobs, Decimal()))


def _asked(line: Purchase) -> _Asked:
    return (line.key, line.unit), line.supplier == ELSEWHERE


def _shares(short: Short) -> dict[str, Decimal]:
    """What each job lacks; of cable the spare alone, with the job that lacks first."""
    if not short.gauge:
        return dict(zip(short.jobs, short.shares, strict=True))
    first = next((job for _, job, _ in short.pieces), short.jobs[0])
    return {first: Decimal(short.spare_mm)} if short.spare_mm else {}


def _cut_from(
    lines: Iterable[Purchase], cut_list: CutList, trim_mm: int
) -> Mapping[int, Mapping[str, Decimal]]:
    """What each job cuts from the lengths of each line of cable, by the line's identity."""
    by_cable: dict[tuple[str, str, str], list[Purchase]] = defaultdict(list)
    for line in lines:
        if line.kind == "cable":
            by_cable[line.key].append(line)
    owner: dict[str, int] = {}
    for own in by_cable.values():
        lengths = [line for line in own for _ in line.lengths_mm(0)]
        names = new_names(own[0].gauge, own[0].colour, len(lengths))
        owner |= {name: id(line) for name, line in zip(names, lengths, strict=True)}
    found: dict[int, dict[str, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for cut in cut_list.cuts:
        if cut.new and cut.piece in owner:
            found[owner[cut.piece]][cut.job] += cut.length_mm + trim_mm
    return found


def _served(left: dict[str, Decimal], room: Decimal) -> dict[str, Decimal]:
    """What the jobs get of so much; it is taken off what is left for them."""
    served: dict[str, Decimal] = {}
    for job, amount in left.items():
        part = min(amount, room)
        if part:
            served[job], left[job] = part, amount - part
            room -= part
    return served
