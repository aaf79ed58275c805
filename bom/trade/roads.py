"""Roads of wires that share what they have in common: a chain of lamps has one for each lamp."""

from collections.abc import Callable, Iterator
from typing import Generic, TypeVar

from msgspec import Struct

Sum = TypeVar("Sum")


class Step(Struct, frozen=True, eq=False):
    """The last wire of a road, by its label, and the road to it; `length_mm` is that of both."""

    wire: str
    before: "Step | None"
    length_mm: int


Road = Step | None
"""A road by its last step; None has no wires."""


def backwards(road: Road) -> Iterator[str]:
    """The wires of a road, the last one first."""
    while road is not None:
        yield road.wire
        road = road.before


class Along(Generic[Sum]):
    """Something folded along roads, once for each step that they share.

    >>> first = Step("1", None, 10)
    >>> along = Along("", lambda so_far, wire: so_far + wire)
    >>> along(Step("2", first, 20)), along(Step("3", first, 30)), along(None)
    ('12', '13', '')
    """

    def __init__(self, start: Sum, further: Callable[[Sum, str], Sum]) -> None:
        self.start = start
        self.further = further
        self.known: dict[Step, Sum] = {}

    def __call__(self, road: Road) -> Sum:
        """What it comes to at the end of a road."""
        fresh = []
        while road is not None and road not in self.known:
            fresh.append(road)
            road = road.before
        so_far = self.start if road is None else self.known[road]
        for step in reversed(fresh):
            so_far = self.known[step] = self.further(so_far, step.wire)
        return so_far
