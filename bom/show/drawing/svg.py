"""A loom as SVG: on one sheet at a scale that fits, or at full size on pages to be pinned up.

Lengths in mm on paper.  Text is dark on white; what covers a branch is told by its line and in
words, and its width is the bundle's to scale.
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, partial
from itertools import product
from math import ceil, hypot
from textwrap import shorten
from typing import Self
from xml.sax.saxutils import escape, quoteattr

from msgspec import Struct
from msgspec.structs import replace

from bom.show.drawing.boxes import FONT_MM, LINE_MM, Box, Words, in_columns, in_lines
from bom.show.drawing.labels import set_out
from bom.show.drawing.layout import (
    DrawnTree,
    LoomLayout,
    Says,
    SheetFoot,
    at_full_size,
    laid_out,
    stroke,
    wordless,
)
from bom.show.drawing.lines import Point
from bom.show.drawing.parts import LoomPart
from bom.show.drawing.place import DrawnBranch
from bom.show.drawing.tree import Forest, Stretch, forest
from bom.trade.catalogue_rows import Layer
from bom.trade.problem import counted

SCALES = (
    *(1, 1.2, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 6, 7, 8, 9, 10),
    *(11, 12, 13, 14, 15, 16, 18, 20, 22, 25, 28, 32, 36, 40, 45, 50, 60, 70, 80, 100),
)
"""So close on each other that a drawing fills its sheet: lengths stand on it as figures."""
_USUAL = 10
_FEW = 12  # branches: so many with their words can be read on A4
SHEETS: tuple[tuple[float, float], ...] = ((297, 210), (420, 297))
"""A4 and A3 on their sides, ISO 216."""

_SMALLER = (200, 500, 1000, 2000, 5000)
"""For what shows the whole of a loom that is drawn in parts."""

EDGE_MM = 10
_OVERLAP_MM = 20
_STUB_MM = 15
_EVERY_MM = 3
INK = "#1a1a1a"
_FACES = "Libertinus Serif, serif"
_MOST_NAMES = 16  # at one point; of two or more beyond them only the number is told
_MANY = 8  # lines of names, which have to be put down before all else
_NAME_MM = 60  # lines beside a point or a branch are no wider
_FEW_LINES = 4  # of wires' names beside a branch; more stand at the foot
_MOST_LINES = 8  # at full size, where there is room but no foot
_MOST_IN_KEY = 300  # letters
_COLUMN_MM = 125  # at the foot: two on A4, three on A3
_GUTTER_MM = 5


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
    """The loom on one sheet: A4 if it fits at a scale up to 1:10, else A3, else smaller.

    Of more than a dozen or so branches it is A3 wherever that shows it larger.
    `at` holds what sits at each point, a line of text each; the foot tells how `coverings` look,
    and which wires run in a branch that has no room for their names beside it.
    """
    woods = forest(stretches)
    foot = SheetFoot(_title(title, coverings), (*map(_ring_note, woods.rings),))
    loom = _Loom.of(woods, partial(_names_and_branches, at), foot)
    usual = [scale for scale in SCALES if scale <= _USUAL]
    small = None if len(stretches) > _FEW else loom.fitted(SHEETS[0], usual)
    layout = small or loom.fitted(SHEETS[1], SCALES) or min(map(loom.at, SCALES), key=_paper_mm2)
    is_small = layout.scale <= _USUAL and _fits(layout, SHEETS[0])
    return _sheet(layout, SHEETS[0 if is_small else 1])


def overview(title: str, parts: Sequence[LoomPart], coverings: Iterable[Layer]) -> Picture:
    """The whole of a loom that is drawn in parts, with the number of each one's drawing.

    What closes a ring is left to that drawing.
    """
    numbers = {_longest(part.stretches): number for number, part in enumerate(parts, 1)}
    roots = forest(stretch for part in parts for stretch in part.stretches).roots
    foot = SheetFoot(_title(f"{title}, all {len(parts)} drawings", coverings))
    loom = _Loom.of(Forest(roots, ()), partial(_drawing_numbers, numbers), foot)
    layout = loom.fitted(SHEETS[1], (*SCALES, *_SMALLER)) or loom.at(_SMALLER[-1])
    return _sheet(layout, SHEETS[1])


class _Loom(Struct, frozen=True):
    """A loom to be drawn at some scale with its words."""

    trees: tuple[DrawnTree, ...]
    foot: SheetFoot
    at: Callable[[float], LoomLayout]
    """Laid out at 1:scale, once for each."""

    @classmethod
    def of(cls, woods: Forest, says: Says, foot: SheetFoot) -> Self:
        """From its trees, what is said beside them and what at the foot."""
        trees = tuple(map(at_full_size, woods.roots))
        return cls(trees, foot, cache(partial(laid_out, trees, foot, says)))

    def fitted(self, sheet: tuple[float, float], scales: Sequence[float]) -> LoomLayout | None:
        """At the first of the scales at which it fits the sheet, but for a step where it may skip.

        First without its words; then what the words are too much by has to come off the loom.
        """
        at = 0
        while at < len(scales):
            bare = laid_out(self.trees, self.foot, wordless, scales[at])
            layout = self.at(scales[at]) if _fits(bare, sheet) else bare
            if layout is not bare and _fits(layout, sheet):
                return layout
            at = max(at + 1, bisect_left(scales, scales[at] * _smaller_by(bare, layout, sheet)))
        return None


def _smaller_by(bare: LoomLayout, layout: LoomLayout, sheet: tuple[float, float]) -> float:
    """By how much the loom has to be smaller at the least, if its words stay as they are."""
    width, height = _around(layout, sheet[0])
    sides = ((bare.wide, width - sheet[0]), (bare.high, height - sheet[1]))
    return max((long / (long - over) for long, over in sides if over < long), default=1.0)


def _paper_mm2(layout: LoomLayout) -> float:
    return layout.wide * layout.high


def _fits(layout: LoomLayout, sheet: tuple[float, float]) -> bool:
    width, height = _around(layout, sheet[0])
    return width <= sheet[0] and height <= sheet[1]


def _around(layout: LoomLayout, at_least_mm: float) -> tuple[float, float]:
    """The size of the sheet that it needs, with edges and foot."""
    width = max(layout.wide + 2 * EDGE_MM, at_least_mm)
    foot = max(row for row, *_ in _foot(layout, width)) * LINE_MM
    return layout.wide + 2 * EDGE_MM, layout.high + 2.5 * EDGE_MM + foot


def _foot(layout: LoomLayout, width: float) -> Iterator[tuple[int, float, str]]:
    """The lines at the foot: in which row, counted from the lowest, how far right, and what."""
    room = width - 2 * EDGE_MM
    title = in_lines(
        f"100 mm, scale 1:{layout.scale:g}. {layout.foot.title}",
        room - 100 / layout.scale - _GUTTER_MM,
    )
    for row, line in enumerate(reversed(title)):
        yield row, EDGE_MM + 100 / layout.scale + _GUTTER_MM, line
    across = max(1, int(room / _COLUMN_MM))
    notes = [in_lines(note, room / across - _GUTTER_MM) for note in layout.foot.notes]
    columns = in_columns(notes, across)
    rows = max(map(len, columns), default=0)
    for number, column in enumerate(columns):
        for row, line in enumerate(column):
            yield len(title) + rows - row, EDGE_MM + number * room / across, line


def _names_and_branches(at: Mapping[str, Sequence[str]], tree: DrawnTree) -> Iterator[Words]:
    """Names first, the longest and those of ends before those of hubs; then short branches."""
    hubs = Counter(point for line in tree.lines for point in (line.start, line.finish))
    yield from sorted(_names(tree.points, at), key=lambda w: (len(w.lines) <= _MANY, hubs[w.at]))
    lines = sorted(_in_order(tree.lines), key=lambda line: line.stretch.length_mm)
    yield from map(_with_key, _said(lines, _FEW_LINES), lines)


def _names(points: Mapping[str, Point], at: Mapping[str, Sequence[str]]) -> Iterator[Words]:
    for name, point in sorted(points.items()):
        others = [line for line in at.get(name, ()) if line != name]
        if len(others) > _MOST_NAMES + 1:
            others = [*others[:_MOST_NAMES], f"and {len(others) - _MOST_NAMES} more"]
        heading = in_lines(name, _NAME_MM)
        lines = (*heading, *(line for other in others for line in in_lines(other, _NAME_MM)))
        yield Words(lines=lines, at=point, bold=len(heading))


def _in_order(lines: Iterable[DrawnBranch]) -> list[DrawnBranch]:
    return sorted(lines, key=lambda line: _ends(line.stretch))


def _said(lines: Iterable[DrawnBranch], most: int) -> Iterator[Words]:
    """Length, covering, thickness, and the names of the wires where they are few."""
    for line in lines:
        names = in_lines(_wires_in(line.stretch), _NAME_MM)
        said = (*_measures(line.stretch), *(names if len(names) <= most else ()))
        yield Words(lines=said, at=line.start, to=line.finish)


def _measures(stretch: Stretch) -> tuple[str, str]:
    return (
        f"{stretch.length_mm:.0f} mm, {stretch.covering.covering}",
        f"{stretch.across_mm:.1f} mm, {counted(stretch.wires, 'wire')}",
    )


def _wires_in(stretch: Stretch) -> str:
    """The names of the wires; with commas where a name is of several words."""
    return (", " if any(" " in name for name in stretch.labels) else " ").join(stretch.labels)


def _with_key(words: Words, line: DrawnBranch) -> Words:
    """The same with its length alone, where there is no room for the rest or for all its wires."""
    stretch = line.stretch
    names = _wires_in(stretch)
    told = shorten(names, _MOST_IN_KEY, placeholder=" ... as on the bench sheets")
    return replace(
        words,
        lines=words.lines if len(in_lines(names, _NAME_MM)) <= _FEW_LINES else (),
        short=(f"{stretch.length_mm:.0f} mm", "key"),
        key=": ".join(filter(None, (", ".join(_measures(stretch)), told))),
    )


def _ring_note(ring: Stretch) -> str:
    return f"closes a ring: {ring.start} to {ring.finish}, {ring.length_mm:.0f} mm"


def _ends(stretch: Stretch) -> tuple[str, str]:
    return stretch.start, stretch.finish


def _longest(stretches: Sequence[Stretch]) -> tuple[str, str]:
    return _ends(max(stretches, key=lambda stretch: stretch.length_mm))


def _drawing_numbers(numbers: Mapping[tuple[str, str], int], tree: DrawnTree) -> Iterator[Words]:
    for line in tree.lines:
        number = numbers.get(_ends(line.stretch))
        if number:
            yield Words(lines=(f"drawing {number}",), at=line.finish, bold=1)


# SVG


def _sheet(layout: LoomLayout, least: tuple[float, float]) -> Picture:
    """The drawing in the middle of its sheet, larger if need be, over its foot."""
    wide, high = _around(layout, least[0])
    width, height = max(wide, least[0]), max(high, least[1])
    right = EDGE_MM - layout.left + (width - wide) / 2
    down = EDGE_MM - layout.top + (height - high) / 2
    body = [f'<g transform="translate({right:.3f} {down:.3f})">', *_body(layout), "</g>"]
    bottom = height - EDGE_MM
    bar = f"M{EDGE_MM} {bottom - 1:.3f} h{100 / layout.scale:.3f}"
    body.append(f'<path d="{bar}" stroke="{INK}" stroke-width="1"/>')
    for row, x, line in _foot(layout, width):
        body.append(as_text(x, bottom - row * LINE_MM, line, bold=False))
    return Picture(as_svg(width, height, body), width, height)


def as_svg(width: float, height: float, body: Iterable[str]) -> str:
    """A sheet of so many mm."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}">\n' + "\n".join(body) + "\n</svg>\n"
    )


def _title(title: str, coverings: Iterable[Layer]) -> str:
    return f"{title}; lines: {_looks(coverings)}"


def _looks(coverings: Iterable[Layer]) -> str:
    """How the line of each covering looks; one of no layers is bare."""
    first, *others = (
        (each.look, each.covering if each.length or each.inside else "bare") for each in coverings
    )
    return ", ".join((" is ".join(first), *map(" ".join, others)))


def _body(layout: LoomLayout) -> Iterator[str]:
    """Thin lines at the back, then words, then the loom itself."""
    yield from (_lead(*box.lead) for box in layout.boxes if box.lead)
    for box in (box for box in layout.boxes if not box.words.is_on):
        yield from _label(box)
    for line in layout.lines:
        yield from _branch(line, layout.scale)
    for box in (box for box in layout.boxes if box.words.is_on):
        yield from _label(box)
    for x, y in layout.points.values():
        place = f'cx="{x:.3f}" cy="{y:.3f}" r="0.9"'
        yield f'<circle {place} fill="white" stroke="{INK}" stroke-width="0.4"/>'


def _branch(line: DrawnBranch, scale: float) -> Iterator[str]:
    (x1, y1), (x2, y2) = line.start, line.finish
    wide = stroke(line, scale).wide_mm
    look = line.stretch.covering
    dashed = f' stroke-dasharray="{look.dashes}"' if look.dashes else ""
    path = f'd="M{x1:.3f} {y1:.3f} L{x2:.3f} {y2:.3f}"'
    yield f'<path {path} stroke="{INK}" stroke-width="{wide:.3f}"{dashed}/>'
    if look.core:
        yield f'<path {path} stroke="white" stroke-width="{wide * look.core:.3f}"/>'


def _lead(start: Point, finish: Point) -> str:
    """A thin line from a place to its label."""
    path = f"M{start[0]:.3f} {start[1]:.3f} L{finish[0]:.3f} {finish[1]:.3f}"
    return f'<path d="{path}" stroke="{INK}" stroke-width="0.2"/>'


def _label(box: Box) -> Iterator[str]:
    """The words on white, so that thin lines pass behind them; a number on its branch is framed."""
    wide, high = box.right - box.left, box.bottom - box.top
    corner = f'x="{box.left:.3f}" y="{box.top:.3f}"'
    frame = f' stroke="{INK}" stroke-width="0.3"' if box.words.is_on else ""
    yield f'<rect {corner} width="{wide:.3f}" height="{high:.3f}" fill="white"{frame}/>'
    for number, text in enumerate(box.words.lines):
        bold = number < box.words.bold
        yield as_text(box.left + 0.6, box.top + 0.4 + LINE_MM * number + FONT_MM, text, bold=bold)


def as_text(x: float, y: float, text: str, *, bold: bool) -> str:
    """Words in letters that can be read, from x on the line y."""
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.3f}" y="{y:.3f}" font-family={quoteattr(_FACES)} font-size="{FONT_MM}" '
        f'fill="{INK}"{weight}>{escape(text)}</text>'
    )


# At full size


def full_size(
    title: str,
    stretches: Sequence[Stretch],
    at: Mapping[str, Sequence[str]],
    sheet: tuple[float, float] = SHEETS[0],
) -> list[Picture]:
    """The loom at 1:1 on pages that overlap, with crosses to lay them on each other by.

    Pages that no branch comes to are left out, and those with a stub that a neighbour shows too;
    row and number stand on each.
    """
    trees = [at_full_size(root) for root in forest(stretches).roots]
    whole = laid_out(trees, SheetFoot(), wordless, 1)
    wide, high = sheet[0] - 2 * EDGE_MM, sheet[1] - 2 * EDGE_MM
    step_x, step_y = wide - _OVERLAP_MM, high - _OVERLAP_MM
    left, top = whole.left - _OVERLAP_MM, whole.top - _OVERLAP_MM
    columns = max(1, ceil((whole.right - left) / step_x))
    rows = max(1, ceil((whole.bottom - top) / step_y))
    pages: dict[tuple[int, int], tuple[LoomLayout, Box, str]] = {}
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
                pages[row, column] = shown, window, name
    for at_page in [*pages]:
        if _is_stub(at_page, pages):
            del pages[at_page]
    return [_page(shown, window, sheet, name) for shown, window, name in pages.values()]


def _is_stub(
    at_page: tuple[int, int], pages: Mapping[tuple[int, int], tuple[LoomLayout, Box, str]]
) -> bool:
    """Whether a page has no end of a branch and hardly any of it that its neighbours have not."""
    (row, column), (shown, *_) = at_page, pages[at_page]
    around = product((row - 1, row, row + 1), (column - 1, column, column + 1))
    others = [pages[near][1] for near in around if near != at_page and near in pages]

    def is_alone(point: Point) -> bool:
        x, y = point
        return not any(o.left <= x <= o.right and o.top <= y <= o.bottom for o in others)

    if any(map(is_alone, shown.points.values())):
        return False
    seen = (point for line in shown.lines for point in _along(line))
    return sum(map(is_alone, seen)) * _EVERY_MM < _STUB_MM


def _along(line: DrawnBranch) -> Iterator[Point]:
    """Points of a branch, one every few mm."""
    (x1, y1), (x2, y2) = line.line
    count = ceil(hypot(x2 - x1, y2 - y1) / _EVERY_MM)
    return ((x1 + (x2 - x1) * n / count, y1 + (y2 - y1) * n / count) for n in range(count))


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
    words = [*_names(points, at), *_said(_in_order(lines), _MOST_LINES)]
    boxes = set_out(words, [stroke(line, 1) for line in lines], within=window)
    edges = (window.left, window.top, window.right, window.bottom)
    return LoomLayout(tuple(lines), SheetFoot(), points, tuple(boxes), 1, *edges)


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
        as_text(EDGE_MM, sheet[1] - EDGE_MM / 2, name, bold=False),
    ]
    return Picture(as_svg(*sheet, inside), *sheet)


def _cross(x: float, y: float) -> str:
    """A mark that lies at the same place of the loom on neighbouring pages."""
    path = f"M{x - 4:.3f} {y:.3f} h8 M{x:.3f} {y - 4:.3f} v8"
    return f'<path d="{path}" stroke="{INK}" stroke-width="0.2"/>'
