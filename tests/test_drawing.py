"""The loom drawn: true lengths, nothing crossing, no label on another or on a branch."""

import io
import random
import re
from collections.abc import Mapping, Sequence
from math import dist, hypot
from xml.parsers import expat

import pdfplumber
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.show.drawing import Picture, Stretch, drawn, full_size
from bom.show.drawing.boxes import Box, Stroke, Words, width_mm
from bom.show.drawing.labels import set_out
from bom.show.drawing.place import DrawnBranch, placed
from bom.show.drawing.tree import forest
from bom.show.paper import pdf
from bom.trade.catalogue_files import load_catalogue

Point = tuple[float, float]
_LAYERS = load_catalogue()[0].layers
COVERINGS = {word: _LAYERS[word] for word in ("tape", "tube", "braid", "none")}


def stretch(start: str, finish: str, length_mm: float, covering: str = "tape") -> Stretch:
    """A branch of three wires, 5 mm across."""
    return Stretch(
        start=start,
        finish=finish,
        length_mm=length_mm,
        across_mm=5,
        covering=COVERINGS[covering],
        wires=3,
    )


def sheet_of(title: str, loom: Sequence[Stretch], at: Mapping[str, Sequence[str]]) -> Picture:
    """The loom on one sheet, with our coverings at its foot."""
    return drawn(title, loom, at, COVERINGS.values())


@st.composite
def trees(draw: st.DrawFn) -> list[Stretch]:
    """Up to 40 branches of 20 to 3000 mm, each at a point that is there already."""
    count = draw(st.integers(1, 40))
    dice = random.Random(draw(st.integers(0, 10**9)))
    return [
        stretch(f"p{dice.randrange(n)}", f"p{n}", dice.randint(20, 3000), dice.choice([*COVERINGS]))
        for n in range(1, count + 1)
    ]


def side(a: Point, b: Point, c: Point) -> float:
    """Twice the area of a triangle: which side of the line a-b the point c is on; 0 on it.

    A millionth of a square millimetre is dust: the sine of pi is not quite 0 in a float.
    """
    twice = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return twice if abs(twice) > 1e-6 else 0.0


def apart_mm(one: DrawnBranch, other: DrawnBranch) -> float:
    """How far two lines are apart: 0 where they cross, else the nearest of their ends."""
    if (
        side(one.start, one.finish, other.start) * side(one.start, one.finish, other.finish) < 0
        and side(other.start, other.finish, one.start) * side(other.start, other.finish, one.finish)
        < 0
    ):
        return 0.0
    pairs = [(p, other) for p in (one.start, one.finish)]
    pairs += [(p, one) for p in (other.start, other.finish)]
    return min(_to_line(point, line) for point, line in pairs)


def _to_line(point: Point, line: DrawnBranch) -> float:
    (x1, y1), (x2, y2) = line.start, line.finish
    length = hypot(x2 - x1, y2 - y1)
    along = ((point[0] - x1) * (x2 - x1) + (point[1] - y1) * (y2 - y1)) / length**2
    at = min(1.0, max(0.0, along))
    return dist(point, (x1 + at * (x2 - x1), y1 + at * (y2 - y1)))


@given(trees())
def test_no_two_branches_cross_or_touch(loom: list[Stretch]) -> None:
    """But for a common point, which lies at an end of both; every length is true."""
    (root,) = forest(loom).roots
    lines, points = placed(root)
    assert len(lines) == len(loom) and len(points) == len(loom) + 1
    for number, line in enumerate(lines):
        assert dist(line.start, line.finish) == pytest.approx(line.stretch.length_mm)
        for other in lines[number + 1 :]:
            ends = {line.start, line.finish} & {other.start, other.finish}
            if not ends:
                assert apart_mm(line, other) > 0


@settings(max_examples=25)
@given(trees(), st.sampled_from((1, 5, 10)))
def test_no_label_lies_on_another_or_on_a_branch(loom: list[Stretch], scale: int) -> None:
    """Names with what sits there and each branch's words, at several scales."""
    (root,) = forest(loom).roots
    lines, points = placed(root)
    ends = [
        Stroke((a[0] / scale, a[1] / scale), (b[0] / scale, b[1] / scale), 12 / scale)
        for a, b in ((line.start, line.finish) for line in lines)
    ]
    words = [
        Words(lines=(name, "a lamp", "a switch"), at=(x / scale, y / scale))
        for name, (x, y) in points.items()
    ]
    words += [
        Words(lines=("1234 mm, tape", "12.3 mm, 12 wires"), at=stroke.start) for stroke in ends
    ]
    boxes = set_out(words, ends)
    assert [box.words for box in boxes] == words
    for number, box in enumerate(boxes):
        assert not any(map(box.on, boxes[number + 1 :]))
        assert not any(box.touched_by(stroke) for stroke in ends)
        assert box.right - box.left >= max(map(width_mm, box.words.lines))


@settings(max_examples=50)
@given(trees(), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(loom: list[Stretch], dice: random.Random) -> None:
    """Nor which end of a branch is called its start."""
    turned = [
        stretch(s.finish, s.start, s.length_mm, s.covering.covering) if dice.random() < 0.5 else s
        for s in loom
    ]
    dice.shuffle(turned)
    assert placed(forest(loom).roots[0])[1] == placed(forest(turned).roots[0])[1]


def test_the_trunk_lies_level_and_breakouts_turn_off_by_turns() -> None:
    """a-b-c-d is the longest way, 1500 mm; from b one up, one down."""
    loom = [stretch("a", "b", 500), stretch("b", "c", 500), stretch("c", "d", 500)]
    loom += [stretch("b", "x", 200), stretch("b", "y", 190)]
    _, points = placed(forest(loom).roots[0])
    assert all(abs(points[name][1]) < 1e-9 for name in "abcd")
    assert points["x"][1] * points["y"][1] < 0


def test_rings_and_pieces_apart() -> None:
    """A ring is cut open where its last row by name would close it; two looms are two trees."""
    loom = [stretch("a", "b", 100), stretch("b", "c", 100), stretch("a", "c", 100)]
    woods = forest([*loom, stretch("x", "y", 50)])
    assert [(s.start, s.finish) for s in woods.rings] == [("b", "c")]
    assert len(woods.roots) == 2
    said = sheet_of("t", [*loom, stretch("x", "y", 50)], {}).svg
    assert "closes a ring: b to c, 100 mm" in said


def test_a_sheet_at_a_usual_scale() -> None:
    """As large as it fits, with half a name of some 30 mm beside each end; words as typed.

    2 m at 1:7 are 286 mm, more than the 277 of A4, and at 1:8 250; 12 m at 1:28 are 429, more
    than the 400 of A3, and at 1:32 375.  Lines tell coverings apart.
    """
    small = sheet_of("bike <1> & co", [stretch("a", "b", 2000, "tube")], {"a": ["lamp <x> & y"]})
    assert (small.width_mm, small.height_mm) == (297, 210)
    assert "scale 1:8." in small.svg and "lamp &lt;x&gt; &amp; y" in small.svg
    large = sheet_of("t", [stretch("a", "b", 12_000, "braid")], {})
    assert (large.width_mm, large.height_mm) == (420, 297) and "scale 1:32." in large.svg
    assert 'stroke-dasharray="6 1.5 1 1.5"' in large.svg
    assert "lines: plain is tape, double tube, dash-dot braid, dots bare" in large.svg
    for picture in (small, large):
        expat.ParserCreate().Parse(picture.svg, True)


def test_very_many_things_at_one_point_are_counted() -> None:
    """Sixteen by name, and of the other four the number."""
    names = [f"lamp {n}" for n in range(20)]
    sheet = sheet_of("t", [stretch("a", "b", 500)], {"a": names})
    assert "lamp 15" in sheet.svg and "lamp 16" not in sheet.svg and "and 4 more" in sheet.svg


def test_a_loom_too_long_for_any_scale_gets_a_sheet_of_its_own() -> None:
    """100 m at 1:100 are a metre: wider than A3."""
    sheet = sheet_of("t", [stretch("a", "b", 100_000)], {})
    assert sheet.width_mm > 1000 and "scale 1:100" in sheet.svg


def printed(pictures: Sequence[Picture]) -> bytes:
    """The pages as `bom pack` prints them."""
    pages = [{"svg": p.svg, "width": p.width_mm, "height": p.height_mm} for p in pictures]
    return pdf("loom", {"title": "loom", "cautions": [], "pictures": pages})


def test_half_a_metre_is_half_a_metre_on_the_pages() -> None:
    """A branch of 500 mm, level, over A4 pages of 277 x 190 mm that overlap by 20 mm.

    Each page shows what is in its window; together, the overlaps taken once, they show 500 mm.
    """
    pages = full_size("t", [stretch("a", "b", 500)], {})
    assert len(pages) >= 2
    with pdfplumber.open(io.BytesIO(printed(pages))) as book:
        assert len(book.pages) == len(pages)
        level = [
            [s for s in (*page.lines, *page.curves) if s["linewidth"] > 5]  # 5 mm across
            for page in book.pages
        ]
    found = [(min(s["x0"] for s in own), max(s["x1"] for s in own)) for own in level]
    starts = [float(re.findall(r"translate\(([-\d.]+) ", p.svg)[0]) for p in pages]
    mm = 72 / 25.4
    begin = min(x0 / mm - start for (x0, _), start in zip(found, starts, strict=True))
    end = max(x1 / mm - start for (_, x1), start in zip(found, starts, strict=True))
    assert end - begin == pytest.approx(500, abs=1)


def test_a_stub_that_is_on_the_next_page_too_has_no_page() -> None:
    """Pages begin 20 mm before the loom and go on 257 mm farther: the second from 237 to 514.

    530 mm end at 530, on the third page, which begins at 494: 36 mm, 16 of them there alone, and
    the end.  510 mm reach 16 mm into it, all of them on the second page.
    """
    assert len(full_size("t", [stretch("a", "b", 530)], {})) == 3
    assert len(full_size("t", [stretch("a", "b", 510)], {})) == 2


def test_registration_marks_lie_on_each_other() -> None:
    """The cross at the right of a page and at the left of the next are one place of the loom."""
    first, second = full_size("t", [stretch("a", "b", 500)], {})[:2]

    def crosses(page: Picture) -> set[tuple[float, float]]:
        x, y = map(float, re.findall(r"translate\(([-\d.]+) ([-\d.]+)\)", page.svg)[0])
        marks = re.findall(r'd="M([-\d.]+) ([-\d.]+) h8', page.svg)
        return {(round(float(a) + 4 - x, 2), round(float(b) - y, 2)) for a, b in marks}

    assert len(crosses(first)) == 4
    assert len(crosses(first) & crosses(second)) == 2


def test_labels_at_full_size_stay_on_their_page() -> None:
    """Names, and the words of every branch that is seen for a while, wholly on the page."""
    pages = full_size("t", [stretch("a", "b", 900), stretch("b", "c", 300)], {"b": ["a lamp"]})
    said = [text for page in pages for text in re.findall(r">([^<]+)</text>", page.svg)]
    assert {"a", "b", "c", "a lamp", "900 mm, tape", "300 mm, tape"} <= set(said)
    with pdfplumber.open(io.BytesIO(printed(pages))) as book:
        for page in book.pages:
            for word in page.extract_words():
                assert word["x0"] >= 0 and word["x1"] <= page.width


def test_a_box_knows_what_crosses_it() -> None:
    """Through it, past it, ending in it."""
    box = Box(Words(lines=("x",), at=(0, 0)), 0, 0, 10, 5)
    assert box.crossed_by((-5, 2), (15, 2)) and box.crossed_by((5, -5), (5, 2))
    assert not box.crossed_by((-5, 6), (15, 6)) and not box.crossed_by((-5, 2), (-1, 2))
    assert box.crossed_by((2, 10), (2, -10))
