"""The places drawn: three views to one scale, letters that can be read, nothing off the sheet."""

import io
import random
import re
from itertools import combinations

import pdfplumber
import pytest

from bom.show.drawing import Picture, drawn_place
from bom.show.drawing.boxes import FONT_MM, width_mm
from bom.show.paper import pdf
from bom.trade.job_book import Place, Sides
from bom.trade.rows import Row
from bom.trade.stowing import Boxed, Filled, LeftOut, Stowed

Rectangle = tuple[float, float, float, float]


def box(name: str, sides: Sides, corner: Sides) -> Stowed:
    return Stowed(Boxed(name, sides, 5), corner, sides)


def filled(sides: Sides, *stowed: Stowed, out: tuple[str, ...] = (), goes_to: str = "") -> Filled:
    place = Place(point="tray", sides=sides, note="", row=Row("job.xlsx", "Places", 2))
    boxes = [Boxed(name, (90, 90, 90), 20) for name in out]
    left = [LeftOut(box=each, proved=True, alone=True, goes_to=goes_to) for each in boxes]
    return Filled(place, stowed, tuple(left))


def rectangles(picture: Picture) -> list[Rectangle]:
    """Left, top, width and height of each, in mm."""
    pattern = r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"'
    found = re.findall(pattern, picture.svg)
    return [(float(x), float(y), float(w), float(h)) for x, y, w, h in found]


def words(picture: Picture) -> list[tuple[float, float, str]]:
    found = re.findall(r'<text x="([\d.]+)" y="([\d.]+)"[^>]*>([^<]*)</text>', picture.svg)
    return [(float(x), float(y), text) for x, y, text in found]


TRAY = filled(
    (160, 120, 80),
    box("battery", (80, 60, 70), (5, 5, 5)),
    box("relay", (30, 40, 20), (95, 65, 5)),
)


def test_three_views_to_one_scale() -> None:
    """At 1:2 the place is 80 x 40 mm from the front, 60 x 40 from the left, 80 x 60 from above.

    The battery, 80 x 60 x 70, is half of that as well. The relay stands 95 from the left, 65 from
    the back and 5 up: from the front 47.5 mm right of the wall and (80 - 5 - 20) / 2 = 27.5 under
    the top; from the left 32.5 right of the back wall; from above 47.5 right and 32.5 down.
    At 1:1.5 the two side by side would take 280 / 1.5 = 187 mm, and the key begins at 192.
    """
    picture = drawn_place("twin: tray", TRAY)
    assert "scale 1:2," in picture.svg
    seen = rectangles(picture)
    walls = [each for each in seen if each[2:] in [(80, 40), (60, 40), (80, 60)]]
    front, left, above = walls
    assert [each[2:] for each in walls] == [(80, 40), (60, 40), (80, 60)]
    assert left[0] > front[0] + 80 and left[1] == front[1]  # first angle
    assert above[1] > front[1] + 40 and above[0] == front[0]
    battery = [(front[0] + 2.5, front[1] + 2.5, 40, 35), (left[0] + 2.5, left[1] + 2.5, 30, 35)]
    relay = [
        (front[0] + 47.5, front[1] + 27.5, 15, 10),
        (left[0] + 32.5, left[1] + 27.5, 20, 10),
        (above[0] + 47.5, above[1] + 32.5, 15, 20),
    ]
    for each in (*battery, (above[0] + 2.5, above[1] + 2.5, 40, 30), *relay):
        assert each in [pytest.approx(one) for one in seen]


def test_what_is_told_of_each_box() -> None:
    """Its number and name, its sides as it stands, and how far it is from the walls."""
    text = [line for _, _, line in words(drawn_place("twin: tray", TRAY))]
    assert text[0] == "twin: tray, 160 x 120 x 80 mm inside"
    assert {"160", "120", "80", "from the front", "from the left", "from above"} <= {*text}
    assert text.count("1 battery") == 4 and "2 relay" in text
    assert "30 x 40 x 20 across, deep, high" in text
    assert "95 from the left, 65 from the back, 5 up" in text


def test_what_found_no_room_is_listed() -> None:
    """Under the boxes, with its size."""
    text = [
        line for _, _, line in words(drawn_place("t", filled((90, 90, 90), out=("regulator",))))
    ]
    assert text.index("no room here for") + 1 == text.index("regulator, 90 x 90 x 90")


def test_a_box_behind_another_has_its_number_where_it_is_seen() -> None:
    """From the front the second stands before the lower half of the first."""
    behind = box("fuse box", (150, 40, 70), (5, 5, 5))
    before = box("relay", (150, 40, 35), (5, 60, 5))
    picture = drawn_place("tray", filled((160, 120, 80), behind, before))
    top = rectangles(picture)[0][1]
    names = [(y, text) for _, y, text in words(picture) if text.endswith(("fuse box", "relay"))]
    (y_behind, _), (y_before, _) = names[:2]
    assert top + 2.5 < y_behind < top + 20 < y_before < top + 37.5


def test_the_foot_tells_of_dashes_where_there_are_some() -> None:
    """A relay before a fuse box hides some of it; a box alone hides nothing."""
    hidden = box("fuse box", (150, 40, 70), (5, 5, 5)), box("relay", (150, 40, 35), (5, 60, 5))
    feet = [
        words(drawn_place("t", filled((160, 120, 80), *own)))[-1][2] for own in (hidden, hidden[:1])
    ]
    assert ["behind others" in foot for foot in feet] == [True, False]


def test_what_found_no_room_is_told_where_it_would_go() -> None:
    """Behind its size."""
    picture = drawn_place("t", filled((90, 90, 90), out=("regulator",), goes_to="tool box"))
    told = " ".join(" ".join(line for _, _, line in words(picture)).split())
    assert "regulator, 90 x 90 x 90: goes into tool box" in told


def dashed(picture: Picture) -> list[Rectangle]:
    lines = [line for line in picture.svg.splitlines() if "stroke-dasharray" in line]
    return rectangles(Picture("\n".join(lines), 0, 0))


def test_what_hides_is_dashed_and_has_its_number_in_brackets() -> None:
    """At 1:2; the fuse box, before the relay, is drawn over it from the front alone.

    The relay, 30 x 30 x 30 and 10 from the left, has its top 40 mm under that of the place.
    """
    behind = box("relay", (30, 30, 30), (10, 5, 10))
    before = box("fuse box", (100, 40, 60), (5, 60, 5))
    picture = drawn_place("tray", filled((160, 120, 80), behind, before))
    left, top, *_ = rectangles(picture)[0]
    assert dashed(picture) == [pytest.approx((left + 5, top + 20, 15, 15))]
    (x, y), *more = [(x, y) for x, y, text in words(picture) if text == "(1)"]
    assert left + 5 < x < left + 20 and top + 20 < y < top + 35 and not more
    assert not dashed(drawn_place("twin: tray", filled((160, 120, 80), before)))


def test_words_do_not_stand_on_each_other() -> None:
    """Four relays in a row, one behind the other as they are seen from the left."""
    relays = [box(f"relay {n}", (30, 30, 40), (5 + 40 * n, 5, 5)) for n in range(4)]
    picture = drawn_place("tray", filled((170, 40, 50), *relays))
    left = rectangles(picture)[5][0]  # the walls, four relays, the walls from the left
    spots = [
        (x, y, text)
        for x, y, text in words(picture)
        if left <= x < 190 and re.match(r"\(?\d\)?($| relay)", text)
    ]
    assert {text for *_, text in spots} >= {"(2)", "(3)", "(4)"}
    for one, other in combinations(spots, 2):
        (x1, y1, text1), (x2, y2, _) = sorted((one, other))
        assert x1 + width_mm(text1) <= x2 or abs(y1 - y2) >= FONT_MM


@pytest.mark.parametrize("seed", range(12))
def test_nothing_lies_off_the_sheet(seed: int) -> None:
    """Letters of 2.5 mm or more, all words and boxes on the sheet, whatever the place and names."""
    dice = random.Random(seed)
    sides = (dice.randint(20, 3000), dice.randint(20, 3000), dice.randint(20, 3000))
    boxes = [
        box(f"relay {n}, which has a long name & more", (10, 10, 10), (n, 2 * n, 5))
        for n in range(dice.choice((0, 3, 20)))
    ]
    picture = drawn_place("job: place", filled(sides, *boxes, out=("regulator",) * (seed % 3)))
    assert {*re.findall(r'font-size="([\d.]+)"', picture.svg)} == {f"{FONT_MM}"}
    assert FONT_MM * 0.645 >= 2.5  # capitals of our face, as `labels` has it
    for x, y, text in words(picture):
        assert x >= 0 and x + width_mm(text.replace("&amp;", "&")) <= picture.width_mm
        assert FONT_MM <= y <= picture.height_mm - 5
    for left, top, wide, high in rectangles(picture):
        assert left + wide < 185 and top + high < picture.height_mm - 10  # the key is on the right


def test_it_is_printed() -> None:
    """The page has the sheet's size, and its words can be found on it."""
    picture = drawn_place("twin: tray", TRAY)
    drawn = {"svg": picture.svg, "width": picture.width_mm, "height": picture.height_mm}
    paper = pdf("loom", {"title": "twin: loom", "cautions": [], "pictures": [drawn]})
    with pdfplumber.open(io.BytesIO(paper)) as opened:
        (page,) = opened.pages
        assert (round(float(page.width)), round(float(page.height))) == (842, 595)  # A4, in points
        assert "95 from the left, 65 from the back, 5 up" in page.extract_text()
