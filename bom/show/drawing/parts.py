"""A loom too large for one sheet in parts that fit one, each told where it goes on.

A part is branches that hang together as far as that goes.  Two parts share no branch, but the
points where the loom was parted.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from math import ceil

from msgspec import Struct

from bom.show.drawing.tree import Node, Stretch, forest

MOST_BRANCHES = 16
"""So many have room for their words on A3, each beside its branch."""


class LoomPart(Struct, frozen=True):
    """What is drawn on one sheet: its title, branches, and lines of text for its points."""

    title: str
    stretches: tuple[Stretch, ...]
    at: Mapping[str, Sequence[str]]


def in_parts(
    title: str, stretches: Sequence[Stretch], at: Mapping[str, Sequence[str]]
) -> list[LoomPart]:
    """The loom as parts in the order of their drawings; a small one is a single part.

    What sits at a point where it was parted is told on each drawing, behind where it goes on.
    """
    groups = list(_groups(stretches))
    if len(groups) == 1:
        return [LoomPart(title, tuple(stretches), at)]
    shown_on: dict[str, list[int]] = defaultdict(list)
    points = [sorted({end for s in group for end in (s.start, s.finish)}) for group in groups]
    for number, names in enumerate(points, 1):
        for name in names:
            shown_on[name].append(number)
    return [
        LoomPart(
            f"{title}, drawing {number} of {len(groups)}",
            tuple(group),
            {name: [*_goes_on(shown_on[name], number), *at.get(name, ())] for name in names},
        )
        for number, (group, names) in enumerate(zip(groups, points, strict=True), 1)
    ]


def _groups(stretches: Sequence[Stretch]) -> Iterator[list[Stretch]]:
    """The branches of each part: neighbours together as long as they are not too many."""
    most = ceil(len(stretches) / ceil(len(stretches) / MOST_BRANCHES))
    woods = forest(stretches)
    group: list[Stretch] = []
    for piece in (*(p for root in woods.roots for p in _cut(root, most)), *zip(woods.rings)):
        if len(group) + len(piece) > most:
            yield group
            group = []
        group += piece
    yield group


def _cut(root: Node, most: int) -> Iterator[Sequence[Stretch]]:
    """A tree in pieces that hang together, from its ends to its root."""
    behind: dict[str, list[Stretch]] = {}
    for node in reversed([*root.walk()]):
        held: list[Stretch] = []
        for stretch, far in node.on:
            piece = [stretch, *behind.pop(far.name)]
            if len(held) + len(piece) > most:
                held, piece = sorted((held, piece), key=len)
                yield piece
            else:
                held += piece
        if len(held) == most:
            yield held
            held = []
        behind[node.name] = held
    yield behind[root.name]


def _goes_on(numbers: Sequence[int], here: int) -> Iterator[str]:
    """On which drawings a point is shown as well: those in a row as `2 to 5`."""
    others = [number for number in numbers if number != here]
    runs = []
    for _, steps in groupby(enumerate(others), lambda step: step[1] - step[0]):
        run = [str(number) for _, number in steps]
        runs.append(" to ".join(dict.fromkeys((run[0], run[-1]))))
    if others:
        yield f"goes on: drawing{'s' * (len(others) > 1)} {', '.join(runs)}"
