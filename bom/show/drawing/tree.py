"""From the branches of a loom to trees: a trunk, its breakouts, and what closes a ring."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field

from bom.trade.catalogue_rows import Layer


class Stretch(Struct, frozen=True, kw_only=True):
    """A branch of the loom as it is drawn, and what covers it: lengths in mm."""

    start: str
    finish: str
    length_mm: float
    across_mm: float
    covering: Layer
    wires: int
    labels: tuple[str, ...] = ()
    """The names of its wires."""


class Node(Struct):
    """A point of a tree with the branches that go on from it, the one to go straight on first."""

    name: str
    on: list[tuple[Stretch, "Node"]] = field(default_factory=list)
    reach_mm: float = 0.0
    """The longest way on from here."""
    leaves: int = 1

    def walk(self) -> Iterator["Node"]:
        """The point and all behind it."""
        stack = [self]
        while stack:
            node = stack.pop()
            yield node
            stack += [far for _, far in node.on]


class Forest(Struct, frozen=True):
    """Trees in the order of their first names, and the branches that would close a ring."""

    roots: tuple[Node, ...]
    rings: tuple[Stretch, ...]


def forest(stretches: Iterable[Stretch]) -> Forest:
    """The loom as trees, each hung up in the middle of its longest way; rows in any order."""
    ordered = sorted(stretches, key=lambda s: (*sorted((s.start, s.finish)), s.length_mm))
    kept, rings = _spanning(ordered)
    beside: dict[str, list[tuple[Stretch, str]]] = defaultdict(list)
    for stretch in kept:
        beside[stretch.start].append((stretch, stretch.finish))
        beside[stretch.finish].append((stretch, stretch.start))
    roots, seen = [], set[str]()
    for name in sorted(beside):
        if name not in seen:
            root = _hung_up(_middle(name, beside), beside)
            seen.update(node.name for node in root.walk())
            roots.append(root)
    return Forest(tuple(roots), rings)


def _spanning(stretches: Sequence[Stretch]) -> tuple[list[Stretch], tuple[Stretch, ...]]:
    """Branches that join what was apart, and those whose ends are joined already."""
    of: dict[str, str] = {}

    def top(name: str) -> str:
        while of.setdefault(name, name) != name:
            of[name] = name = of[of[name]]  # the way is halved for the next
        return name

    kept, rings = [], []
    for stretch in stretches:
        first, last = top(stretch.start), top(stretch.finish)
        if first == last:
            rings.append(stretch)
        else:
            of[first] = last
            kept.append(stretch)
    return kept, tuple(rings)


def _farthest(
    name: str, beside: Mapping[str, list[tuple[Stretch, str]]]
) -> tuple[str, dict[str, tuple[float, str]]]:
    """The point farthest from one by length, and for each point how far, and from where."""
    found = {name: (0.0, "")}
    stack = [name]
    while stack:
        here = stack.pop()
        for stretch, there in beside[here]:
            if there not in found:
                found[there] = (found[here][0] + stretch.length_mm, here)
                stack.append(there)
    return min(found, key=lambda n: (-found[n][0], n)), found


def _middle(name: str, beside: Mapping[str, list[tuple[Stretch, str]]]) -> str:
    """The point of the longest way of a tree that is nearest to its middle."""
    end, _ = _farthest(name, beside)
    other, found = _farthest(end, beside)
    whole, here, way = found[other][0], other, []
    while here:
        way.append(here)
        here = found[here][1]
    return min(way, key=lambda n: (abs(found[n][0] - whole / 2), n))


def _hung_up(name: str, beside: Mapping[str, list[tuple[Stretch, str]]]) -> Node:
    """The tree from that point on, each point with its longest way first."""
    root = Node(name)
    order, stack = [], [(root, "")]
    while stack:
        node, before = stack.pop()
        order.append(node)
        for stretch, there in beside[node.name]:
            if there != before:
                far = Node(there)
                node.on.append((stretch, far))
                stack.append((far, node.name))
    for node in reversed(order):
        node.on.sort(key=lambda on: (-(on[0].length_mm + on[1].reach_mm), on[1].name))
        node.reach_mm = max((s.length_mm + far.reach_mm for s, far in node.on), default=0.0)
        node.leaves = sum(far.leaves for _, far in node.on) or 1
    return root
