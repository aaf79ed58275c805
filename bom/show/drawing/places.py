"""A place of the machine with its boxes, from the front, the left and above; one sheet each.

First angle, as ISO 128 has it: what is seen from the left stands on the right, what is seen from
above stands below.  Edges that hide behind other boxes are dashed.  The key tells where each box
stands, in the order of the job book.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, islice, pairwise
from typing import TypeAlias

from msgspec import Struct

from bom.show.drawing.boxes import FONT_MM, LINE_MM, in_lines, width_mm
from bom.show.drawing.svg import EDGE_MM, INK, SCALES, SHEETS, Picture, as_svg, as_text
from bom.trade.job_book import Sides
from bom.trade.stowing import Filled, Stowed

Patch: TypeAlias = tuple[float, float, float, float]
"""Left, top, right and bottom on paper, in mm."""

_KEY_MM = 95
_GAP_MM = 14  # between two views: the words over one and the figure under another
_VIEWS_MM = (140, 146)  # left by edges, words and key; so much two views have beside each other
_BEFORE = f'fill="white" stroke="{INK}"'
_BEHIND = f'fill="none" stroke="{INK}" stroke-dasharray="1.5 1"'  # edges that other boxes hide
_MOST_HEADING = 3  # lines over the views
_MOST_LINES = 10  # between which the largest patch is sought; of more only neighbours are looked at


class _View(Struct, frozen=True):
    """How a place is looked at: along which axes, from where, and where it stands on paper."""

    title: str
    across: int
    down: int
    depth: int
    nearer: int
    """1 where what is farther along the axis is nearer to the eye, else -1."""
    left: float
    top: float


def drawn_place(title: str, filled: Filled) -> Picture:
    """The place at the largest scale that its three views allow, with its key."""
    sides = filled.place.sides
    scale = next((s for s in SCALES if _fits(sides, s)), SCALES[-1])
    width, height = SHEETS[0]
    heading = in_lines(f"{title}, {_by(sides)} mm inside", width - 2 * EDGE_MM)
    body = [
        as_text(EDGE_MM, EDGE_MM + row * LINE_MM, line, bold=True)
        for row, line in enumerate(heading[:_MOST_HEADING])
    ]
    for view in _views(sides, scale):
        body += _drawn(view, filled, scale)
    lines = list(_key(filled))
    for row, (line, bold) in enumerate(lines):
        y = EDGE_MM + FONT_MM + (row + 3) * LINE_MM
        body.append(as_text(width - EDGE_MM - _KEY_MM, y, line, bold=bold))
    height = max(height, 2 * EDGE_MM + (len(lines) + 5) * LINE_MM)
    behind = "; dashes and (1): behind others" if any(_BEHIND in line for line in body) else ""
    foot = f"scale 1:{scale:g}, first angle; lengths in mm, free room not drawn{behind}"
    body.append(as_text(EDGE_MM, height - EDGE_MM, foot, bold=False))
    return Picture(as_svg(width, height, body), width, height)


def _by(sides: Sides) -> str:
    return " x ".join(map(str, sides))


def _fits(sides: Sides, scale: float) -> bool:
    length, width, height = (side / scale for side in sides)
    return length + width <= _VIEWS_MM[0] and height + width <= _VIEWS_MM[1]


def _views(sides: Sides, scale: float) -> tuple[_View, _View, _View]:
    left, top = EDGE_MM + _GAP_MM, EDGE_MM + _GAP_MM + LINE_MM
    right, below = left + sides[0] / scale + _GAP_MM, top + sides[2] / scale + _GAP_MM
    return (
        _View("from the front", 0, 2, 1, 1, left, top),
        _View("from the left", 1, 2, 0, -1, right, top),
        _View("from above", 0, 1, 2, 1, left, below),
    )


def _patch(view: _View, corner: Sides, sides: Sides, whole: Sides, scale: float) -> Patch:
    """Where a box is seen; heights are counted from the floor, and the floor is below."""
    at, high = corner[view.down], sides[view.down]
    top = whole[2] - at - high if view.down == 2 else at
    left = view.left + corner[view.across] / scale
    up = view.top + top / scale
    return left, up, left + sides[view.across] / scale, up + high / scale


def _drawn(view: _View, filled: Filled, scale: float) -> Iterator[str]:
    """The walls with their lengths, the boxes, those behind first, and what they are."""
    whole = filled.place.sides
    left, top, right, bottom = walls = _patch(view, (0, 0, 0), whole, whole, scale)
    yield as_text(left, top - 1.5, view.title, bold=False)
    yield _outline(walls, 0.7)
    yield as_text(
        (left + right) / 2 - 3, bottom + FONT_MM + 0.5, str(whole[view.across]), bold=False
    )
    figure = str(whole[view.down])
    if view.across == 0:
        yield as_text(left - width_mm(figure) - 1.5, (top + bottom) / 2, figure, bold=False)
    boxes = sorted(enumerate(filled.stowed, 1), key=lambda each: _nearness(view, each[1]))
    patches = [_patch(view, box.corner, box.sides, whole, scale) for _, box in boxes]
    for patch in patches:
        yield _outline(patch, 0.4)
    for at, patch in enumerate(patches):
        if any(_meet(nearer, patch) for nearer in patches[at + 1 :]):
            yield _outline(patch, 0.2, _BEHIND)
    for words, (left, top, _, bottom) in _words(boxes, patches):
        yield as_text(left + 0.5, (top + bottom) / 2 + FONT_MM / 3, words, bold=False)


def _nearness(view: _View, box: Stowed) -> int:
    near, far = box.corner[view.depth], box.corner[view.depth] + box.sides[view.depth]
    return far if view.nearer > 0 else -near


def _outline(patch: Patch, line_mm: float, look: str = _BEFORE) -> str:
    left, top, right, bottom = patch
    return (
        f'<rect x="{left:.3f}" y="{top:.3f}" width="{right - left:.3f}" '
        f'height="{bottom - top:.3f}" {look} stroke-width="{line_mm}"/>'
    )


def _words(
    boxes: Sequence[tuple[int, Stowed]], patches: Sequence[Patch]
) -> Sequence[tuple[str, Patch]]:
    """Number and name where a box can be seen, or the number alone; in brackets where it hides."""
    words: list[tuple[str, Patch]] = []
    behind: list[tuple[int, Patch]] = []
    for at, (number, box) in enumerate(boxes):
        seen = _seen(patches[at], patches[at + 1 :])
        found = next(_spots((f"{number} {box.box.name}", str(number)), seen), None)
        if found:
            words.append(found)
        else:
            behind.append((number, patches[at]))
    for number, patch in behind:
        free = _seen(patch, [spot for _, spot in words])
        words += islice(_spots((f"({number})",), free), 1)
    return words


def _spots(texts: Sequence[str], free: Iterable[Patch]) -> Iterator[tuple[str, Patch]]:
    """Where the first of some texts may stand, in the middle of the largest patch; then others."""
    largest = sorted(free, key=_area_mm2, reverse=True)
    for text in texts:
        wide = width_mm(text) + 1
        for left, top, right, bottom in largest:
            if right - left >= wide and bottom - top >= LINE_MM:
                x, y = (left + right) / 2, (top + bottom) / 2
                yield text, (x - wide / 2, y - LINE_MM / 2, x + wide / 2, y + LINE_MM / 2)


def _seen(patch: Patch, nearer: Sequence[Patch]) -> Iterator[Patch]:
    """The patches of a box that nothing stands before."""
    before = [p for p in nearer if _meet(p, patch)]
    left, top, right, bottom = patch
    xs = sorted({left, right, *(x for p in before for x in (p[0], p[2]) if left < x < right)})
    ys = sorted({top, bottom, *(y for p in before for y in (p[1], p[3]) if top < y < bottom)})
    pairs = combinations if max(len(xs), len(ys)) <= _MOST_LINES else lambda ends, _: pairwise(ends)
    for x1, x2 in pairs(xs, 2):
        for y1, y2 in pairs(ys, 2):
            if not any(_meet(p, (x1, y1, x2, y2)) for p in before):
                yield x1, y1, x2, y2


def _meet(one: Patch, other: Patch) -> bool:
    across = one[0] < other[2] and other[0] < one[2]
    return across and one[1] < other[3] and other[1] < one[3]


def _area_mm2(patch: Patch) -> float:
    return (patch[2] - patch[0]) * (patch[3] - patch[1])


def _key(filled: Filled) -> Iterator[tuple[str, bool]]:
    """Each box by its number: how it is turned and where its corner is; then what has no room."""
    for number, box in enumerate(filled.stowed, 1):
        x, y, z = box.corner
        yield from ((line, True) for line in in_lines(f"{number} {box.box.name}", _KEY_MM))
        yield f"{_by(box.sides)} across, deep, high", False
        yield f"{x} from the left, {y} from the back, {z} up", False
    if filled.left_out:
        yield "", False
        yield "no room here for", True
    for left in filled.left_out:
        where = f": goes into {left.goes_to}" if left.goes_to else ""
        says = f"{left.box.name}, {_by(left.box.sides)}{where}"
        yield from ((line, False) for line in in_lines(says, _KEY_MM))
