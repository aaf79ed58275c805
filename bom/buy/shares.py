"""Which job waits for how much of each line of an order."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import TypeAlias

from bom.trade.needs import ELSEWHERE, LineKey, Short
from bom.trade.orders import ForJobs, Purchase

_Asked: TypeAlias = tuple[LineKey, bool]
"""A line of the estimate, and whether it is bought at a price of its own."""


def shared_out(
    lines: Sequence[Purchase], short: Iterable[Short], trim_mm: int
) -> Iterator[ForJobs]:
    """Each line with what the jobs lack of it, those named first served first.

    Where several lines are bought for one need, the last has what the others do not hold.
    """
    waiting = {((s.key, s.unit), s.price is not None): _shares(s, trim_mm) for s in short}
    last = {_asked(line): line for line in lines}
    for line in lines:
        key = _asked(line)
        left = waiting.get(key, {})
        room = sum(left.values(), Decimal()) if line is last[key] else line.bought
        yield ForJobs(line, _served(left, room) or dict.fromkeys(line.jobs, Decimal()))


def _asked(line: Purchase) -> _Asked:
    return (line.key, line.unit), line.supplier == ELSEWHERE


def _shares(short: Short, trim_mm: int) -> dict[str, Decimal]:
    """What each job lacks; cable with its trims, and the spare with the job that lacks first."""
    if not short.gauge:
        return dict(zip(short.jobs, short.shares, strict=True))
    shares: dict[str, Decimal] = defaultdict(Decimal)
    for length, job, _ in short.pieces:
        shares[job] += length + trim_mm
    shares[next(iter(shares), short.jobs[0])] += short.spare_mm
    return dict(shares)


def _served(left: dict[str, Decimal], room: Decimal) -> dict[str, Decimal]:
    """What the jobs get of so much; it is taken off what is left for them."""
    served: dict[str, Decimal] = {}
    for job, amount in left.items():
        part = min(amount, room)
        if part:
            served[job], left[job] = part, amount - part
            room -= part
    return served
