"""A loom as SVG: on one sheet at a scale that fits, or at full size on pages to be pinned up.

Lengths in mm on paper.  Text is dark on white; what covers a branch is told by its line and in
words, and its width is the bundle's to scale.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, partial
from math import ceil
from typing import Self
from xml.sax.saxutils import escape, quoteattr

from msgspec import Struct
from msgspec.structs import replace

from bom.show.drawing.labels import FONT_MM, LINE_MM, Box, Words, set_out
from bom.show.drawing.layout import (
    DrawnTree,
    LoomLayout,
    Says,
    at_full_size,
    laid_out,
    stroke,
    wordless,
)
from bom.show.drawing.parts import LoomPart
from bom.show.drawing.place import DrawnBranch, Point
from bom.show.drawing.tree import Forest, Stretch, forest
from bom.trade.catalogue_rows import Layer
from bom.trade.problem import counted

SCALES = (1, 2, 2.5, 5, 10, 20, 25, 50, 100)
_USUAL = 10
_FEW = 16  # branches: so many with their words can be read on A4
SHEETS: tuple[tuple[float, float], ...] = ((297, 210), (420, 297))
"""A4 and A3 on their sides, ISO 216."""

_SMALLER = (200, 500, 1000, 2000, 5000)
"""For what shows the whole of a loom that is drawn in parts."""

EDGE_MM = 10
_OVERLAP_MM = 20
_INK = "#1a1a1a"
_FACES = "Libertinus Serif, serif"
_MOST_NAMES = 16  # at one point; of more only the number is told


class Picture(Struct, frozen=True):
    """A sheet of so many mm with its SVG."""

    svg: str
    width_mm: float
    height_mm: float


def drawn(
    title: str,
    stretches: Sequence[Stretch],
    at: Mapping[str, Sequence[str]],
    coverings: Iterable[Layer],
) -> Picture:
    """The loom on one sheet: A4 if it fits at a usual scale up to 1:10, else A3, else smaller.

    Of more than a dozen or so branches it is A3 wherever that shows it larger.
    `at` holds what sits at each point, a line of text each; the foot tells how `coverings` look.
    """
    loom = _Loom.of(forest(stretches), partial(_names_and_branches, at))
    usual = [scale for scale in SCALES if scale <= _USUAL]
    small = None if len(stretches) > _FEW else loom.fitted(SHEETS[0], usual)
    layout = small or loom.fitted(SHEETS[1], SCALES) or min(map(loom.at, SCALES), key=_paper_mm2)
    is_small = layout.scale <= _USUAL and _fits(layout, SHEETS[0])
    return _sheet(title, coverings, layout, SHEETS[0 if is_small else 1])


def overview(title: str, parts: Sequence[LoomPart], coverings: Iterable[Layer]) -> Picture:
    """The whole of a loom that is drawn in parts, with the number of each one's drawing.

    What closes a ring is left to that drawing.
    """
    numbers = {_longest(part.stretches): number for number, part in enumerate(parts, 1)}
    roots = forest(stretch for part in parts for stretch in part.stretches).roots
    loom = _Loom.of(Forest(roots, ()), partial(_drawing_numbers, numbers))
    layout = loom.fitted(SHEETS[1], (*SCALES, *_SMALLER)) or loom.at(_SMALLER[-1])
    return _sheet(f"{title}, all {len(parts)} drawings", coverings, layout, SHEETS[1])


class _Loom(Struct, frozen=True):
    """A loom to be drawn at some scale with its words."""

    trees: tuple[DrawnTree, ...]
    rings: tuple[Stretch, ...]
    at: Callable[[float], LoomLayout]
    """Laid out at 1:scale, once for each."""

    @classmethod
    def of(cls, woods: Forest, says: Says) -> Self:
        """From its trees and rings."""
        trees = tuple(map(at_full_size, woods.roots))
        return cls(trees, woods.rings, cache(partial(laid_out, trees, woods.rings, says)))

    def fitted(self, sheet: tuple[float, float], scales: Iterable[float]) -> LoomLayout | None:
        """At the first of the scales at which it fits the sheet; first without its words."""
        for scale in scales:
            bare = laid_out(self.trees, self.rings, wordless, scale)
            if _fits(bare, sheet) and _fits(self.at(scale), sheet):
                return self.at(scale)
        return None


def _paper_mm2(layout: LoomLayout) -> float:
    return layout.wide * layout.high


def _fits(layout: LoomLayout, sheet: tuple[float, float]) -> bool:
    width, height = _around(layout)
    return width <= sheet[0] and height <= sheet[1]


def _around(layout: LoomLayout) -> tuple[float, float]:
    """The size of the sheet that it needs, with edges, foot, and a line for each ring."""
    foot = 2 * EDGE_MM + LINE_MM * len(layout.rings)
    return layout.wide + 2 * EDGE_MM, layout.high + EDGE_MM + foot


def _names_and_branches(at: Mapping[str, Sequence[str]], tree: DrawnTree) -> Iterator[Words]:
    yield from _names(tree.points, at)
    yield from _said(tree.lines)


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
        yield Words(lines=said, at=line.middle)


def _longest(stretches: Sequence[Stretch]) -> tuple[str, str]:
    longest = max(stretches, key=lambda stretch: stretch.length_mm)
    return longest.start, longest.finish


def _drawing_numbers(numbers: Mapping[tuple[str, str], int], tree: DrawnTree) -> Iterator[Words]:
    for line in tree.lines:
        number = numbers.get((line.stretch.start, line.stretch.finish))
        if number:
            yield Words(lines=(f"drawing {number}",), at=line.finish, bold=True)


# SVG


def _sheet(
    title: str, coverings: Iterable[Layer], layout: LoomLayout, least: tuple[float, float]
) -> Picture:
    """The drawing in the middle of its sheet, larger if need be, title and scale at the foot."""
    wide, high = _around(layout)
    width, height = max(wide, least[0]), max(high, least[1])
    right = EDGE_MM - layout.left + (width - wide) / 2
    down = EDGE_MM - layout.top + (height - high) / 2
    body = [f'<g transform="translate({right:.3f} {down:.3f})">', *_body(layout), "</g>"]
    foot = height - EDGE_MM
    body += _foot(title, _looks(coverings), layout.scale, foot)
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


def _body(layout: LoomLayout) -> Iterator[str]:
    """Thin lines at the back, then words, then the loom itself."""
    yield from (_lead(*box.lead) for box in layout.boxes if box.lead)
    for box in layout.boxes:
        yield from _label(box)
    for line in layout.lines:
        yield from _branch(line, layout.scale)
    for x, y in layout.points.values():
        place = f'cx="{x:.3f}" cy="{y:.3f}" r="0.9"'
        yield f'<circle {place} fill="white" stroke="{_INK}" stroke-width="0.4"/>'


def _branch(line: DrawnBranch, scale: float) -> Iterator[str]:
    (x1, y1), (x2, y2) = line.start, line.finish
    wide = stroke(line, scale).wide_mm
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
    trees = [at_full_size(root) for root in forest(stretches).roots]
    whole = laid_out(trees, (), wordless, 1)
    wide, high = sheet[0] - 2 * EDGE_MM, sheet[1] - 2 * EDGE_MM
    step_x, step_y = wide - _OVERLAP_MM, high - _OVERLAP_MM
    left, top = whole.left - _OVERLAP_MM, whole.top - _OVERLAP_MM
    columns = max(1, ceil((whole.right - left) / step_x))
    rows = max(1, ceil((whole.bottom - top) / step_y))
    pages = []
    for row in range(rows):
        y = top + row * step_y
        band = _window(left, y, whole.right - left, high)
        here = replace(
            whole, lines=tuple(ln for ln in whole.lines if band.touched_by(stroke(ln, 1)))
        )
        for column in range(columns if here.lines else 0):
            window = _window(left + column * step_x, y, wide, high)
            name = f"{title}: full size, row {row + 1} of {rows}, page {column + 1} of {columns}"
            shown = _seen(here, window, at)
            if shown.lines:
                pages.append(_page(shown, window, sheet, name))
    return pages


def _window(x: float, y: float, wide: float, high: float) -> Box:
    return Box(Words(lines=(), at=(x, y)), x, y, x + wide, y + high)


def _seen(whole: LoomLayout, window: Box, at: Mapping[str, Sequence[str]]) -> LoomLayout:
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
    boxes = set_out(words, [stroke(line, 1) for line in lines], within=window)
    edges = (window.left, window.top, window.right, window.bottom)
    return LoomLayout(tuple(lines), (), points, tuple(boxes), 1, *edges)


def _page(shown: LoomLayout, window: Box, sheet: tuple[float, float], name: str) -> Picture:
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
