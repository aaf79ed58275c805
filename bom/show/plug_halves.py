"""The two halves of a plug in the loom: which wires go into which, and how each half is called.

Wires that lie in one branch, or hang together without the plug, go into the same half; two that
meet at one pin go into different ones.  Where that leaves a wire open, or does not go together,
nothing is said: a face that is drawn the wrong way round is worse than none.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise

from msgspec import Struct

from bom.job import Job
from bom.reckon.net import PIN_TO_PIN
from bom.trade.job_book import Pin
from bom.trade.point_names import is_earth
from bom.trade.wires import SizedWire, WireEnd

_Link = tuple[WireEnd, WireEnd, bool]
"""Two ends, and whether they are in different halves."""
_CONTACTS = {"socket": "sockets", "plug": "pins"}
_FEW = 3


class Half(Struct, frozen=True, kw_only=True):
    """One half: its wire ends, where they go, and what its contacts are where that is known."""

    ends: frozenset[WireEnd]
    towards: str
    contacts: str

    def __str__(self) -> str:
        return ", ".join(filter(None, (self.towards, self.contacts)))


def is_in_the_loom(job: Job, point: str) -> bool:
    """True for a plug that wires go into from both sides."""
    return job.net is not None and job.net.passing(point) == PIN_TO_PIN


def halves(job: Job, point: str) -> tuple[Half, ...]:
    """The half on the side of the battery and the other one; none where they cannot be told."""
    ends = [*_ends_at(job.wires, point)]
    wires = {id(wire.wire): wire for wire in job.wires}
    near = {end: _branch(wires[id(end.wire)], end) for end in ends}
    links = [*_by_branch(near), *_by_pin(ends)]
    sides = _sides(ends, links) or _sides(ends, [*links, *_hanging_together(job, point, ends)])
    if sides is None:
        return ()
    parts = [[end for end in ends if sides[end] == side] for side in (False, True)]
    battery = [_from_the_battery(part, wires) for part in parts]
    if not all(parts) or battery[0] == battery[1]:
        return ()
    told = [_half(job, point, part, near) for part in parts]
    return tuple(told if battery[0] > battery[1] else reversed(told))


def _ends_at(wires: Sequence[SizedWire], point: str) -> Iterator[WireEnd]:
    for wire in wires:
        both = (WireEnd(wire.wire, "from end"), WireEnd(wire.wire, "to end"))
        yield from (end for end in both if end.pin.point == point)


def _branch(wire: SizedWire, end: WireEnd) -> int | None:
    """The branch that a wire comes to the plug by; None for one that lies in none."""
    ways = wire.loaded.measured.branches
    return (ways[0] if end.heading == "from end" else ways[-1]) if ways else None


# --------------------------------------------------------------------- what goes together


def _by_branch(near: Mapping[WireEnd, int | None]) -> Iterator[_Link]:
    """Ends in one branch; where all come by two branches, one of each."""
    parts: dict[int | None, list[WireEnd]] = defaultdict(list)
    for end, branch in near.items():
        parts[branch].append(end)
    if len(parts) == 2 and None not in parts:
        one, other = parts.values()
        yield one[0], other[0], True
    for branch, ends in parts.items():
        yield from ((a, b, False) for a, b in pairwise(ends) if branch is not None)


def _by_pin(ends: Sequence[WireEnd]) -> Iterator[_Link]:
    """Two ends that are alone at their pin."""
    pins: dict[Pin, list[WireEnd]] = defaultdict(list)
    for end in ends:
        pins[end.pin].append(end)
    yield from ((a[0], a[1], True) for a in pins.values() if len(a) == 2)


def _hanging_together(job: Job, point: str, ends: Sequence[WireEnd]) -> Iterator[_Link]:
    """Ends whose wires are joined by others, not over an earth, the battery or another plug."""
    part = _parts(job)
    far = {end: (end.wire.finish if end.pin == end.wire.start else end.wire.start) for end in ends}
    for one, other in combinations(ends, 2):
        there = part.get(far[one].point)
        if there is not None and there == part.get(far[other].point):
            yield one, other, False


def _parts(job: Job) -> Mapping[str, str]:
    """For each thing one that stands for all that it is wired to."""
    parts: dict[str, str] = {}

    def first(point: str) -> str:
        while parts[point] != point:
            point = parts[point]
        return point

    def parts_here(pin: Pin) -> bool:
        return is_earth(Pin(pin.point)) or is_in_the_loom(job, pin.point)

    for wire in job.wires:
        ends = (wire.wire.start, wire.wire.finish)
        points = [pin.point for pin in ends if not parts_here(pin)]
        for each in points:
            parts.setdefault(each, each)
        if len(points) == 2:
            parts[first(points[0])] = first(points[1])
    return {point: first(point) for point in parts}


def _sides(ends: Sequence[WireEnd], links: Sequence[_Link]) -> dict[WireEnd, bool] | None:
    """Each end's side; None where an end hangs on no other, or the links contradict."""
    near: dict[WireEnd, list[tuple[WireEnd, bool]]] = defaultdict(list)
    for one, other, differ in links:
        near[one].append((other, differ))
        near[other].append((one, differ))
    sides, waiting = {ends[0]: False}, [ends[0]]
    for end in waiting:
        for other, differ in near[end]:
            if other not in sides:
                waiting.append(other)
            if sides.setdefault(other, sides[end] != differ) != (sides[end] != differ):
                return None
    return sides if len(sides) == len(ends) else None


# ------------------------------------------------------------------------ what it is called


def _from_the_battery(part: Sequence[WireEnd], wires: Mapping[int, SizedWire]) -> int:
    """How many of a half's wires come from the battery or lead back to it, less all others."""
    ending = ((end.heading == "to end", wires[id(end.wire)].loaded.is_return) for end in part)
    return sum(1 if ends != is_return else -1 for ends, is_return in ending)


def _half(
    job: Job, point: str, part: Sequence[WireEnd], near: Mapping[WireEnd, int | None]
) -> Half:
    branches = {near[end] for end in part} - {None}
    labels = list(dict.fromkeys(end.wire.label for end in part))
    more = " ..." if len(labels) > _FEW else ""
    towards = f"the side of {', '.join(labels[:_FEW])}{more}"
    if len(branches) == 1 and job.book:
        branch = job.book.branches[next(iter(branches)) or 0]
        away = branch.finish if branch.start == job.book.place(point) else branch.start
        towards = f"towards {away}"
    return Half(ends=frozenset(part), towards=towards, contacts=_contacts(job, part))


def _contacts(job: Job, part: Sequence[WireEnd]) -> str:
    """What the half has, where each of its wires has the same."""
    own = {(end.wire.label, end.heading) for end in part}
    found: dict[tuple[str, str], set[str]] = defaultdict(set)
    for joint in job.ends.joints if job.ends else ():
        for end in joint.ends:
            if (end.wire.label, end.heading) in own:
                found[end.wire.label, end.heading].add(joint.half)
    only = [next(iter(kinds)) for kinds in found.values() if len(kinds) == 1]
    return _CONTACTS.get(only[0], "") if only and len({*only}) == 1 else ""
