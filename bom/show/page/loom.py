"""The whole loom to scale on one drawing for a screen, as plain figures for its template.

The larger the loom the larger the drawing: of a small one names and lengths can be read on a phone
as it stands, of a large one where it has been enlarged.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from bom.show.drawing.boxes import FONT_MM, LINE_MM, Box, Words, in_lines, width_mm
from bom.show.drawing.labels import GAP_MM
from bom.show.drawing.layout import (
    DrawnTree,
    LoomLayout,
    SheetFoot,
    at_full_size,
    extent,
    laid_out,
    stroke,
    wordless,
)
from bom.show.drawing.lines import Point
from bom.show.drawing.place import DrawnBranch
from bom.show.drawing.svg import SCALES
from bom.show.drawing.tree import Stretch, forest
from bom.show.page.ids import PageIds
from bom.show.paper import Shown
from bom.show.paper.loom import stretches
from bom.trade.problem import counted

_SCALES = (*SCALES, 120, 150, 200, 250, 300, 400, 500, 700, 1000, 1500, 2000, 3000, 5000)
_LEAST_MM, _FOR_EACH_MM = 70, 7
"""The room for the loom without its words: so wide, and by so much wider for each branch."""
_HIGH = 0.7
"""Of its width: a phone shows the list under it, a tablet beside it."""
_EDGE_MM = 4
_OFF_MM = 1.8  # a name that ends at its point: boxes are broader than their words
_NAME_MM = 32
_SPREAD = 100  # branches: of more the breakouts stay in their wedges
_BY_IT_MM = 4  # farther off its branch a length is not told: touching it does
_BARS_MM = (100, 200, 500, 1000, 2000, 5000, 10000)
_BOW = 0.6  # of its length: what closes a ring lies beside the other branches, not on them
_BAR_MM = 15  # as long as this at the least, so that it is seen


def drawn_loom(ids: PageIds) -> Shown | None:
    """Branches, points and labels where they lie, in mm; None where no loom was measured."""
    found = stretches(ids.job)
    if not found:
        return None
    woods = forest(found)
    layout = _fitted([at_full_size(root, _SPREAD) for root in woods.roots], len(found))
    boxes = [box for box in layout.boxes if _is_by_it(box)]
    bows = {_ends(ring): _bow(layout.points, ring) for ring in woods.rings}
    left, top, right, bottom = extent((*layout.points.values(), *bows.values()), boxes)
    bar = next(bar for bar in _BARS_MM if bar / layout.scale >= _BAR_MM or bar == _BARS_MM[-1])
    return {
        "left": left - _EDGE_MM,
        "top": top - _EDGE_MM,
        "wide": max(right - left, bar / layout.scale) + 2 * _EDGE_MM,
        "high": bottom - top + 2 * _EDGE_MM + 2 * LINE_MM,
        "bar": {"y": bottom + LINE_MM, "x": left, "wide": bar / layout.scale},
        "bar_says": f"{bar} mm",
        "font": FONT_MM,
        "leads": [box.lead for box in boxes if box.lead],
        "labels": list(_labels(ids, layout, boxes)),
        "branches": [_branch(ids, line, layout.scale) for line in layout.lines],
        "points": [
            {"id": ids.points[name], "x": x, "y": y, "says": f"point: {name}"}
            for name, (x, y) in layout.points.items()
        ],
        "rings": [
            {
                "id": ids.branches[_ends(ring)],
                "says": branch_says(ring),
                "path": _bowed(layout.points, ring, bows[_ends(ring)]),
            }
            for ring in woods.rings
        ],
        "looks": [_look(stretch) for stretch in _each_covering(found)],
    }


def branch_says(stretch: Stretch) -> str:
    """A branch in one line: `headstock to bars, 400 mm, braid, 9.4 mm across, 17 wires`."""
    return (
        f"{stretch.start} to {stretch.finish}, {stretch.length_mm:.0f} mm, "
        f"{covering_says(stretch)}, {stretch.across_mm:.1f} mm across, "
        f"{counted(stretch.wires, 'wire')}"
    )


def covering_says(stretch: Stretch) -> str:
    """What covers it; of no layers it is bare."""
    layer = stretch.covering
    return layer.covering if layer.length or layer.inside else "bare"


def _fitted(trees: Sequence[DrawnTree], branches: int) -> LoomLayout:
    """As large as the room allows; the words are put down once, and may stand beyond it."""
    wide = _LEAST_MM + _FOR_EACH_MM * branches

    def has_room(scale: float) -> bool:
        bare = laid_out(trees, SheetFoot(), wordless, scale)
        return bare.wide <= wide and bare.high <= _HIGH * wide

    scale = next(filter(has_room, _SCALES), _SCALES[-1])
    return laid_out(trees, SheetFoot(), _says, scale)


def _says(tree: DrawnTree) -> Iterator[Words]:
    """The names of the points, those of ends first; lengths of branches that are long enough."""
    hubs = Counter(point for line in tree.lines for point in (line.start, line.finish))
    for name, point in sorted(tree.points.items(), key=lambda item: (hubs[item[1]], item[0])):
        lines = tuple(in_lines(name, _NAME_MM))
        yield Words(lines=lines, at=point, bold=len(lines))
    for line in sorted(tree.lines, key=lambda line: _ends(line.stretch)):
        said = f"{line.stretch.length_mm:.0f} mm"
        (x1, y1), (x2, y2) = line.line
        if max(abs(x2 - x1), abs(y2 - y1)) >= width_mm(said):
            yield Words(lines=(said,), at=line.start, to=line.finish)


def _is_by_it(box: Box) -> bool:
    """Whether it is a name, or a length that stands close beside its branch."""
    return not box.words.to or (not box.lead and box.apart_mm(*box.words.line) <= _BY_IT_MM)


def _labels(ids: PageIds, layout: LoomLayout, boxes: Iterable[Box]) -> Iterator[Shown]:
    """Each with the id of what it belongs to."""
    of: Mapping[tuple[Point, Point | None], str] = {
        **{(at, None): ids.points[name] for name, at in layout.points.items()},
        **{ln.line: ids.branches[_ends(ln.stretch)] for ln in layout.lines},
    }
    for box in boxes:
        yield {**_label(box), "of": of[box.words.at, box.words.to]}


def _label(box: Box) -> Shown:
    """Its lines begin, end or have their middle where they are nearest to what they belong to."""
    (x1, _), (x2, _) = box.words.line
    wide, aside = box.right - box.left, (x1 + x2 - box.left - box.right) / 2
    anchor, x = "middle", (box.left + box.right) / 2
    if not box.words.to and abs(aside) > wide / 4:
        anchor, x = ("end", box.right - _OFF_MM) if aside > 0 else ("start", box.left + GAP_MM)
    lines = [
        {"y": box.top + 0.4 + LINE_MM * n + FONT_MM, "text": text.strip("\u00a0")}
        for n, text in enumerate(box.words.lines)
    ]
    size = {"left": box.left, "top": box.top, "wide": wide, "high": box.bottom - box.top}
    return {"x": x, "anchor": anchor, **size, "lines": lines, "bold": bool(box.words.bold)}


def _branch(ids: PageIds, line: DrawnBranch, scale: float) -> Shown:
    (x1, y1), (x2, y2) = line.line
    return {
        "id": ids.branches[_ends(line.stretch)],
        "says": f"branch: {branch_says(line.stretch)}",
        "path": f"M{x1:.2f} {y1:.2f} L{x2:.2f} {y2:.2f}",
        **_line(line.stretch, stroke(line, scale).wide_mm),
    }


def _bow(points: Mapping[str, Point], ring: Stretch) -> Point:
    """Where what closes a ring is drawn by, off the straight line between its ends."""
    (x1, y1), (x2, y2) = points[ring.start], points[ring.finish]
    return (x1 + x2) / 2 + _BOW * (y1 - y2), (y1 + y2) / 2 + _BOW * (x2 - x1)


def _bowed(points: Mapping[str, Point], ring: Stretch, by: Point) -> str:
    (x1, y1), (x2, y2) = points[ring.start], points[ring.finish]
    return f"M{x1:.2f} {y1:.2f} Q{by[0]:.2f} {by[1]:.2f} {x2:.2f} {y2:.2f}"


def _look(stretch: Stretch) -> Shown:
    """How the line of a covering looks, and its name."""
    return {"says": covering_says(stretch), **_line(stretch, 2.4)}


def _line(stretch: Stretch, wide: float) -> Shown:
    look = stretch.covering
    return {"wide": wide, "dashes": look.dashes, "core": wide * look.core}


def _each_covering(found: Iterable[Stretch]) -> Iterable[Stretch]:
    """The first branch of each covering that the loom has."""
    return {stretch.covering.covering: stretch for stretch in reversed([*found])}.values()


def _ends(stretch: Stretch) -> tuple[str, str]:
    return stretch.start, stretch.finish
