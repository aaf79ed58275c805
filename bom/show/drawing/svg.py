"""A loom as SVG: on one sheet at a scale that fits, or at full size on pages to be pinned up.

Lengths in mm on paper.  Text is dark on white; what covers a branch is told by its line and in
words, and its width is the bundle's to scale.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import ceil
from xml.sax.saxutils import escape, quoteattr

from msgspec import Struct
from msgspec.structs import replace

from bom.show.drawing.labels import FONT_MM, LINE_MM, Box, Stroke, Words, set_out
from bom.show.drawing.place import DrawnBranch, Point, placed
from bom.show.drawing.tree import Stretch, forest
from bom.trade.catalogue_rows import Layer
from bom.trade.problem import counted

SCALES = (1, 2, 2.5, 5, 10, 20, 25, 50, 100)
SHEETS: tuple[tuple[float, float], ...] = ((297, 210), (420, 297))
"""A4 and A3 on their sides, ISO 216."""

EDGE_MM = 10
_OVERLAP_MM = 20
_LEAST_LINE_MM = 0.5
_INK = "#1a1a1a"
_FACES = "Libertinus Serif, serif"
_BETWEEN_MM = 15
_MOST_NAMES = 16  # at one point; of more only the number is told


class Picture(Struct, frozen=True):
    """A sheet of so many mm with its SVG."""

    svg: str
    width_mm: float
    height_mm: float


class _Arrangement(Struct, frozen=True):
    """All that is drawn, at 1:scale, in mm on paper; `left` to `bottom` take it all in."""

    lines: tuple[DrawnBranch, ...]
    rings: tuple[Stretch, ...]
    points: Mapping[str, Point]
    boxes: tuple[Box, ...]
    scale: float
    left: float
    top: float
    right: float
    bottom: float


def drawn(
    title: str,
    stretches: Sequence[Stretch],
    at: Mapping[str, Sequence[str]],
    coverings: Iterable[Layer],
) -> Picture:
    """The loom on one sheet: A4 if it fits at a usual scale up to 1:10, else A3, else smaller.

    `at` holds what sits at each point, a line of text each; the foot tells how `coverings` look.
    """
    says = (title, _looks(coverings))
    tries = [(scale, sheet) for sheet in SHEETS for scale in SCALES if scale <= SCALES[4]]
    tries += [(scale, SHEETS[1]) for scale in SCALES]
    for scale, (width, height) in tries:
        layout = _laid_out(stretches, at, scale)
        room = (width - 2 * EDGE_MM, height - 3 * EDGE_MM)
        if layout.right - layout.left <= room[0] and layout.bottom - layout.top <= room[1]:
            return _sheet(says, layout, width, height)
    wide, high = layout.right - layout.left, layout.bottom - layout.top
    width = max(SHEETS[1][0], wide + 2 * EDGE_MM)
    return _sheet(says, layout, width, max(SHEETS[1][1], high + 3 * EDGE_MM))


def _laid_out(
    stretches: Sequence[Stretch],
    at: Mapping[str, Sequence[str]],
    scale: float,
    *,
    labelled: bool = True,
) -> _Arrangement:
    """Trees one under the other, with their labels; the rings in words under them."""
    woods = forest(stretches)
    lines: list[DrawnBranch] = []
    points: dict[str, Point] = {}
    boxes: list[Box] = []
    floor = 0.0
    for root in woods.roots:
        whole, places = placed(root)
        own = [_redrawn(line, _scaled, scale) for line in whole]
        spots = {name: _scaled(point, scale) for name, point in places.items()}
        words = [*_names(spots, at), *_said(own)] if labelled else []
        set_boxes = set_out(words, [_stroke(line, scale) for line in own])
        _, top, _, bottom = _extent(spots.values(), set_boxes)
        drop = floor - top if lines else 0.0
        lines += [_redrawn(line, _dropped, drop) for line in own]
        points |= {name: _dropped(point, drop) for name, point in spots.items()}
        boxes += [_dropped_box(box, drop) for box in set_boxes]
        floor = bottom + drop + _BETWEEN_MM
    return _Arrangement(
        tuple(lines), woods.rings, points, tuple(boxes), scale, *_extent(points.values(), boxes)
    )


def _scaled(point: Point, scale: float) -> Point:
    return (point[0] / scale, point[1] / scale)


def _dropped(point: Point, drop: float) -> Point:
    return (point[0], point[1] + drop)


def _redrawn(line: DrawnBranch, to: Callable[[Point, float], Point], by: float) -> DrawnBranch:
    return replace(line, start=to(line.start, by), finish=to(line.finish, by))


def _dropped_box(box: Box, drop: float) -> Box:
    words = replace(box.words, at=_dropped(box.words.at, drop))
    return replace(box, words=words, top=box.top + drop, bottom=box.bottom + drop)


def _names(points: Mapping[str, Point], at: Mapping[str, Sequence[str]]) -> Iterator[Words]:
    for name, point in sorted(points.items()):
        others = [line for line in at.get(name, ()) if line != name]
        if len(others) > _MOST_NAMES:
            others = [*others[:_MOST_NAMES], f"and {len(others) - _MOST_NAMES} more"]
        yield Words(lines=(name, *others), at=point, bold=True)


def _said(lines: Iterable[DrawnBranch]) -> Iterator[Words]:
    for line in sorted(lines, key=lambda ln: (ln.stretch.start, ln.stretch.finish)):
        stretch = line.stretch
        said = (
            f"{stretch.length_mm:.0f} mm, {stretch.covering.covering}",
            f"{stretch.across_mm:.1f} mm, {counted(stretch.wires, 'wire')}",
        )
        middle = tuple((a + b) / 2 for a, b in zip(line.start, line.finish, strict=True))
        yield Words(lines=said, at=(middle[0], middle[1]))


def _extent(points: Iterable[Point], boxes: Iterable[Box]) -> tuple[float, float, float, float]:
    spots, rooms = list(points), list(boxes)
    xs = [x for x, _ in spots] + [b.left for b in rooms] + [b.right for b in rooms]
    ys = [y for _, y in spots] + [b.top for b in rooms] + [b.bottom for b in rooms]
    return min(xs, default=0.0), min(ys, default=0.0), max(xs, default=0.0), max(ys, default=0.0)


# SVG


def _sheet(says: tuple[str, str], layout: _Arrangement, width: float, height: float) -> Picture:
    """The drawing in the middle of its sheet, its title and scale at the foot."""
    right = EDGE_MM - layout.left + (width - 2 * EDGE_MM - (layout.right - layout.left)) / 2
    down = EDGE_MM - layout.top + (height - 3 * EDGE_MM - (layout.bottom - layout.top)) / 2
    body = [f'<g transform="translate({right:.3f} {down:.3f})">', *_body(layout), "</g>"]
    foot = height - EDGE_MM
    body += _foot(*says, layout.scale, foot)
    for number, ring in enumerate(layout.rings, 1):
        closes = f"closes a ring: {ring.start} to {ring.finish}, {ring.length_mm:.0f} mm"
        body.append(_text(EDGE_MM, foot - number * LINE_MM - 1, closes, bold=False))
    return Picture(_svg(width, height, body), width, height)


def _svg(width: float, height: float, body: Iterable[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}">\n' + "\n".join(body) + "\n</svg>\n"
    )


def _looks(coverings: Iterable[Layer]) -> str:
    """How the line of each covering looks; one of no layers is bare."""
    first, *others = (
        (each.look, each.covering if each.length or each.inside else "bare") for each in coverings
    )
    return ", ".join((" is ".join(first), *map(" ".join, others)))


def _foot(title: str, looks: str, scale: float, y: float) -> list[str]:
    """Title, scale, and a bar of 100 mm of loom where it is not at full size."""
    bar = 100 / scale
    x = EDGE_MM + bar + 3
    return [
        f'<path d="M{EDGE_MM} {y - 1:.3f} h{bar:.3f}" stroke="{_INK}" stroke-width="1"/>',
        _text(x, y, f"100 mm.  {title}: scale 1:{scale:g}; lines: {looks}", bold=False),
    ]


def _body(layout: _Arrangement) -> Iterator[str]:
    """Thin lines at the back, then words, then the loom itself."""
    yield from (_lead(*box.lead) for box in layout.boxes if box.lead)
    for box in layout.boxes:
        yield from _label(box)
    for line in layout.lines:
        yield from _branch(line, layout.scale)
    for x, y in layout.points.values():
        place = f'cx="{x:.3f}" cy="{y:.3f}" r="0.9"'
        yield f'<circle {place} fill="white" stroke="{_INK}" stroke-width="0.4"/>'


def _stroke(line: DrawnBranch, scale: float) -> Stroke:
    """A branch as wide as its bundle, but never so thin that it is not seen."""
    wide = max(_LEAST_LINE_MM, line.stretch.across_mm / scale)
    return Stroke(line.start, line.finish, wide)


def _branch(line: DrawnBranch, scale: float) -> Iterator[str]:
    (x1, y1), (x2, y2) = line.start, line.finish
    wide = _stroke(line, scale).wide_mm
    look = line.stretch.covering
    dashed = f' stroke-dasharray="{look.dashes}"' if look.dashes else ""
    path = f'd="M{x1:.3f} {y1:.3f} L{x2:.3f} {y2:.3f}"'
    yield f'<path {path} stroke="{_INK}" stroke-width="{wide:.3f}"{dashed}/>'
    if look.core:
        yield f'<path {path} stroke="white" stroke-width="{wide * look.core:.3f}"/>'


def _lead(start: Point, finish: Point) -> str:
    """A thin line from a place to its label."""
    path = f"M{start[0]:.3f} {start[1]:.3f} L{finish[0]:.3f} {finish[1]:.3f}"
    return f'<path d="{path}" stroke="{_INK}" stroke-width="0.12" stroke-dasharray="0.6 0.6"/>'


def _label(box: Box) -> Iterator[str]:
    """The words on white, so that thin lines pass behind them."""
    wide, high = box.right - box.left, box.bottom - box.top
    corner = f'x="{box.left:.3f}" y="{box.top:.3f}"'
    yield f'<rect {corner} width="{wide:.3f}" height="{high:.3f}" fill="white"/>'
    for number, text in enumerate(box.words.lines):
        bold = box.words.bold and not number
        yield _text(box.left + 0.6, box.top + 0.4 + LINE_MM * number + FONT_MM, text, bold=bold)


def _text(x: float, y: float, text: str, *, bold: bool) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.3f}" y="{y:.3f}" font-family={quoteattr(_FACES)} font-size="{FONT_MM}" '
        f'fill="{_INK}"{weight}>{escape(text)}</text>'
    )


# At full size


def full_size(
    title: str,
    stretches: Sequence[Stretch],
    at: Mapping[str, Sequence[str]],
    sheet: tuple[float, float] = SHEETS[0],
) -> list[Picture]:
    """The loom at 1:1 on pages that overlap, with crosses to lay them on each other by.

    Pages that no branch comes to are left out; row and number stand on each.
    """
    whole = _laid_out(stretches, at, 1, labelled=False)
    wide, high = sheet[0] - 2 * EDGE_MM, sheet[1] - 2 * EDGE_MM
    step_x, step_y = wide - _OVERLAP_MM, high - _OVERLAP_MM
    left, top = whole.left - _OVERLAP_MM, whole.top - _OVERLAP_MM
    columns = max(1, ceil((whole.right - left) / step_x))
    rows = max(1, ceil((whole.bottom - top) / step_y))
    pages = []
    for row in range(rows):
        for column in range(columns):
            x, y = left + column * step_x, top + row * step_y
            window = Box(Words(lines=(), at=(x, y)), x, y, x + wide, y + high)
            name = f"{title}: full size, row {row + 1} of {rows}, page {column + 1} of {columns}"
            shown = _seen(whole, window, at)
            if shown.lines:
                pages.append(_page(shown, window, sheet, name))
    return pages


def _seen(whole: _Arrangement, window: Box, at: Mapping[str, Sequence[str]]) -> _Arrangement:
    """What of the loom lies in a window, with labels that lie in it too."""
    lines = []
    for line in whole.lines:
        part = window.clipped(line.start, line.finish)
        if part:
            lines.append(DrawnBranch(line.stretch, *part, line.finish_name))
    points = {
        name: (x, y)
        for name, (x, y) in whole.points.items()
        if window.left <= x <= window.right and window.top <= y <= window.bottom
    }
    words = [*_names(points, at), *_said(lines)]
    boxes = set_out(words, [_stroke(line, 1) for line in lines], within=window)
    edges = (window.left, window.top, window.right, window.bottom)
    return _Arrangement(tuple(lines), (), points, tuple(boxes), 1, *edges)


def _page(shown: _Arrangement, window: Box, sheet: tuple[float, float], name: str) -> Picture:
    wide, high = window.right - window.left, window.bottom - window.top
    marks = [
        _cross(x, y)
        for x in (EDGE_MM + _OVERLAP_MM / 2, EDGE_MM + wide - _OVERLAP_MM / 2)
        for y in (EDGE_MM + _OVERLAP_MM / 2, EDGE_MM + high - _OVERLAP_MM / 2)
    ]
    inside = [
        f'<g transform="translate({EDGE_MM - window.left:.3f} {EDGE_MM - window.top:.3f})">',
        *_body(shown),
        "</g>",
        *marks,
        _text(EDGE_MM, sheet[1] - EDGE_MM / 2, name, bold=False),
    ]
    return Picture(_svg(*sheet, inside), *sheet)


def _cross(x: float, y: float) -> str:
    """A mark that lies at the same place of the loom on neighbouring pages."""
    path = f"M{x - 4:.3f} {y:.3f} h8 M{x:.3f} {y - 4:.3f} v8"
    return f'<path d="{path}" stroke="{_INK}" stroke-width="0.2"/>'
