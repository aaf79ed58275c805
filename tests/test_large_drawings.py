"""Looms too large for one sheet: drawn in parts that can be read, in time that grows as they do.

The seconds are those that issue 18 names for 300 branches: of CPU, and by the yardstick.
"""

import io
import random
import re
import sys
from collections import Counter
from functools import cache
from itertools import pairwise
from pathlib import Path

import pdfplumber
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bom.job import open_job
from bom.show.drawing import LoomPart, Picture, Stretch, drawn, full_size, in_parts, overview
from bom.show.drawing.boxes import Box, Stroke, Words
from bom.show.drawing.parts import MOST_BRANCHES
from bom.show.drawing.tree import forest
from bom.show.paper import loom as paper_loom
from bom.show.paper.loom import board_sheet, drawn_loom
from tests.bench.alone import Alone, alone
from tests.bench.growth import MOST, grown
from tests.bench.yardstick import too_long
from tests.books import book
from tests.shops import workshop
from tests.slow import one_in
from tests.test_drawing import COVERINGS, printed, stretch
from tests.test_papers import overlapping
from tests.within import ENVIRONMENT, JOBS, ROOT

KINDS = ("spine", "tree", "star", "both sides")
MOST_CPU_S = 5


def befores(kind: str, count: int) -> list[int]:
    """For each point from 1 on the point that its branch comes from; 0 is the first."""
    dice = random.Random(18)
    return {
        "spine": list(range(count)),
        "star": [0] * count,
        "tree": [dice.randrange(n) for n in range(1, count + 1)],
        # every third point is on the trunk and has one branch to each side
        "both sides": [3 * (n // 3) - (0 if n % 3 else 3) for n in range(count + 1)][1:],
    }[kind]


def loom(kind: str, count: int) -> list[Stretch]:
    """Branches of 150 to 600 mm."""
    dice = random.Random(count)
    return [
        stretch(f"p{max(before, 0)}", f"p{n}", dice.randint(150, 600))
        for n, before in enumerate(befores(kind, count), 1)
    ]


def job_of(folder: Path, kind: str, count: int) -> Path:
    """A job with a lamp of one watt at each point, fed from a box one branch before it."""
    branches = loom(kind, count)
    wires = [
        (str(n), "lamps", f"box {n}:out", f"lamp {n}:+", "red", "1.0") for n in range(1, count + 1)
    ]
    sits = [(f"lamp {n}", s.finish, "1 W") for n, s in enumerate(branches, 1)]
    sits += [(f"box {n}", s.start, "") for n, s in enumerate(branches, 1)]
    return book(
        workshop(folder) / "jobs",
        f"{kind} {count}.xlsx",
        Job=[("item", "value"), ("end", "bare")],
        Circuits=[("wire", "circuit", "from", "to", "colour", "gauge"), *wires],
        Loom=[
            ("from", "to", "length mm"),
            *((s.start, s.finish, s.length_mm) for s in branches),
        ],
        Components=[("component", "at", "load"), *sits],
    )


def packed(folder: Path, path: Path) -> Alone:
    """`bom pack` of a job in a process of its own."""
    command = (sys.executable, "-m", "bom.cli", "pack", path, "--out", folder / "papers")
    done = alone(*command, cwd=folder, env={"PYTHONPATH": str(ROOT), **ENVIRONMENT})
    assert done.code == 0, done.err
    return done


# --------------------------------------------------------------------- what it takes


@pytest.mark.parametrize("kind", one_in(2, KINDS))
def test_three_hundred_branches_are_packed_in_five_seconds(kind: str, tmp_path: Path) -> None:
    """All sheets of the job; before, they did not end."""
    done = packed(tmp_path, job_of(tmp_path, kind, 300))
    assert not too_long(done.cpu_s, MOST_CPU_S)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_a_thousand_branches_take_hardly_more_than_their_share(kind: str) -> None:
    """From 30 to 1000 CPU grows by no more than branches to the power of 1.2, start-up aside."""

    def made(shop: Path, count: int) -> tuple[object, ...]:
        return "pack", job_of(shop, kind, count), "--out", "papers"

    _, slope = grown(made, (30, 1000))
    assert slope <= MOST


@pytest.mark.slow
def test_two_thousand_wires_in_one_branch(tmp_path: Path) -> None:
    """They took 1020 MB, much of it for the rows of that branch on the bench sheet."""
    ends = [(f"box:{n}", f"lamp {n}:+") for n in range(2000)]
    path = book(
        workshop(tmp_path) / "jobs",
        "one.xlsx",
        Job=[("item", "value"), ("end", "bare")],
        Circuits=[
            ("wire", "from", "to", "colour", "gauge"),
            *((str(n), start, finish, "red", "1.0") for n, (start, finish) in enumerate(ends)),
        ],
        Loom=[("from", "to", "length"), ("front", "rear", 1.2)],
        Components=[
            ("component", "at", "load"),
            ("box", "front", ""),
            *((f"lamp {n}", "rear", "1 W") for n in range(2000)),
        ],
    )
    assert packed(tmp_path, path).peak_mb <= 800
    at = 2000 // 70  # no page of the making up takes so many
    with pdfplumber.open(tmp_path / "papers" / "bench.pdf", pages=[*range(at, at + 80)]) as bench:
        texts = [page.extract_text() for page in bench.pages]
    first = next(n for n, text in enumerate(texts) if "What runs where" in text)
    told = " ".join(" ".join(texts[first : first + 6]).split())
    assert "red, 2000 wires: 0, 1, 2 and 1997 more" in told


# --------------------------------------------------------------------- in parts


@settings(max_examples=50)
@given(st.integers(1, 400), st.integers(0, 10**9), st.floats(0, 1))
def test_every_branch_is_in_one_part_and_no_part_is_too_large(
    count: int, seed: int, near: float
) -> None:
    """Random trees, from stars to spines, with a ring now and then; and no sheets half empty."""
    dice = random.Random(seed)
    whole = [
        stretch(f"p{dice.randrange(int(near * (n - 1)), n)}", f"p{n}", dice.randint(20, 900))
        for n in range(1, count + 1)
    ]
    whole += [stretch(f"p{dice.randrange(count)}", f"p{count}", 50) for _ in range(count // 50)]
    parts = in_parts("t", whole, {})
    assert Counter(s for part in parts for s in part.stretches) == Counter(whole)
    assert all(len(part.stretches) <= MOST_BRANCHES for part in parts)
    assert all(
        len(one.stretches) + len(other.stretches) > MOST_BRANCHES / 2
        for one, other in pairwise(parts)
    )


def test_a_spine_is_cut_where_it_goes_on() -> None:
    """49 branches in a row: four drawings, of 13 at the most; the parts that meet name each other.

    It hangs in its middle, p24: of the 24 on one side 13 from the end and 11, of the 25 on the
    other 13 and 12.
    """
    whole = [stretch(f"p{n}", f"p{n + 1}", 100) for n in range(49)]
    parts = in_parts("t", whole, {"p13": ["a lamp"]})
    assert sorted(len(part.stretches) for part in parts) == [11, 12, 13, 13]
    assert [part.title for part in parts] == [f"t, drawing {n} of 4" for n in (1, 2, 3, 4)]
    assert all(len(forest(part.stretches).roots) == 1 for part in parts)
    found = {(n, at): part.at[at] for n, part in enumerate(parts, 1) for at in part.at}
    goes_on = {key: lines[0] for key, lines in found.items() if lines and "goes on" in lines[0]}
    (outer,) = (part for part in parts if "p0" in part.at)
    assert outer.at["p13"][1:] == ["a lamp"]
    assert len(goes_on) == 6 and {at for _, at in goes_on} == {"p13", "p24", "p36"}
    for (number, at), says in goes_on.items():
        (other,) = (n for n, name in goes_on if name == at and n != number)
        assert says == f"goes on: drawing {other}"


def test_the_hub_of_a_star_goes_on_on_all_its_drawings() -> None:
    """300 branches on 19 sheets; the ninth names those before and after it."""
    parts = in_parts("t", loom("star", 300), {})
    assert len(parts) == 19
    assert parts[8].at["p0"] == ["goes on: drawings 1 to 8, 10 to 19"]


def test_a_small_loom_is_one_drawing_as_it_was() -> None:
    """16 branches, with what was typed for them."""
    whole = loom("tree", MOST_BRANCHES)
    assert in_parts("t", whole, {"p1": ["x"]}) == [LoomPart("t", tuple(whole), {"p1": ["x"]})]


def test_looms_that_hang_apart_share_a_sheet() -> None:
    """60 looms of one branch: 15 on each of four sheets."""
    parts = in_parts("t", [stretch(f"a{n}", f"b{n}", 100) for n in range(60)], {})
    assert [len(part.stretches) for part in parts] == [15, 15, 15, 15]


# --------------------------------------------------------------------- on paper


@cache
def drawings(kind: str, count: int) -> tuple[Picture, ...]:
    """The drawings of a loom as they are packed, the one of all of it first."""
    whole = loom(kind, count)
    at = {s.finish: [f"lamp at {s.finish}", "a switch"] for s in whole}
    parts = in_parts("t", whole, at)
    each = (drawn(part.title, part.stretches, part.at, COVERINGS.values()) for part in parts)
    return (overview("t", parts, COVERINGS.values()), *each)


def boxes_of(picture: Picture, more: str = "") -> list[Box]:
    """The labels of a drawing, by the white behind them; with `more` those that have that."""
    rects = re.findall(
        r'<rect x="([-\d.]+)" y="([-\d.]+)" width="([\d.]+)" height="([\d.]+)" fill="white"' + more,
        picture.svg,
    )
    edges = [tuple(map(float, rect)) for rect in rects]
    return [Box(Words(lines=(), at=(x, y)), x, y, x + w, y + h) for x, y, w, h in edges]


def strokes_of(picture: Picture) -> list[Stroke]:
    """The branches of a drawing: its unbroken lines and those as wide as half a millimetre."""
    paths = re.findall(
        r'd="M([-\d.]+) ([-\d.]+) L([-\d.]+) ([-\d.]+)" stroke="#1a1a1a" stroke-width="([\d.]+)"',
        picture.svg,
    )
    ends = [tuple(map(float, path)) for path in paths]
    return [Stroke((a, b), (c, d), wide) for a, b, c, d, wide in ends if wide >= 0.5]


@pytest.mark.parametrize("kind", one_in(2, KINDS))
def test_no_label_of_a_large_loom_lies_on_another_or_on_a_branch(kind: str) -> None:
    """300 branches, all their drawings; a hair is left for figures printed with three decimals.

    A number in a frame may stand on a branch, one for each, where no words have room.
    """
    for picture in drawings(kind, 300):
        boxes, strokes = boxes_of(picture), strokes_of(picture)
        assert boxes and strokes
        small = [
            Box(b.words, b.left + 0.01, b.top + 0.01, b.right - 0.01, b.bottom - 0.01)
            for b in boxes
        ]
        for number, box in enumerate(small):
            assert not any(map(box.on, small[number + 1 :]))
        plain, framed = boxes_of(picture, "/"), boxes_of(picture, " stroke")
        assert len(plain) + len(framed) == len(boxes)
        for box in plain:
            smaller = box.grown(-0.01)
            assert not any(map(smaller.touched_by, strokes))
        assert all(sum(map(box.grown(-0.01).touched_by, strokes)) <= 1 for box in framed)


@pytest.mark.parametrize("kind", one_in(2, KINDS))
def test_every_name_and_length_of_a_large_loom_can_be_read(kind: str) -> None:
    """On A3 or A4, in letters of 3.9 mm, no word cut or on another; all drawings in the first."""
    whole, pictures = loom(kind, 300), drawings(kind, 300)
    assert all((p.width_mm, p.height_mm) in ((297, 210), (420, 297)) for p in pictures)
    assert all(set(re.findall(r'font-size="([\d.]+)"', p.svg)) == {"3.9"} for p in pictures)
    with pdfplumber.open(io.BytesIO(printed(pictures))) as paper:
        pages = [
            (page.width, page.height, page.extract_words(use_text_flow=True))
            for page in paper.pages
        ]
    for width, height, words in pages:
        assert all(w["x0"] >= 0 and w["x1"] <= width for w in words)
        assert all(w["top"] >= 0 and w["bottom"] <= height for w in words)
        assert not list(overlapping(words))
    said = Counter(word["text"].rstrip(",") for _, _, words in pages[1:] for word in words)
    assert all(said[f"p{n}"] >= 1 for n in range(301))
    assert said["tape"] >= len(whole)
    for length, count in Counter(f"{s.length_mm}" for s in whole).items():
        assert said[length] >= count
    first = " ".join(word["text"] for word in pages[0][2])
    assert all(f"drawing {n}" in first for n in range(1, len(pictures)))


def test_rings_of_a_large_loom_do_not_make_its_sheets_larger() -> None:
    """A ladder of 40 rungs, 118 branches: 79 hang together, 39 close a ring each."""
    rails = [stretch(f"{s}{n}", f"{s}{n + 1}", 300) for s in "ab" for n in range(39)]
    whole = [*rails, *(stretch(f"a{n}", f"b{n}", 300) for n in range(40))]
    parts = in_parts("t", whole, {})
    pictures = [drawn(p.title, p.stretches, p.at, COVERINGS.values()) for p in parts]
    pictures.append(overview("t", parts, COVERINGS.values()))
    assert all((p.width_mm, p.height_mm) in ((297, 210), (420, 297)) for p in pictures)


def test_the_same_loom_is_drawn_alike() -> None:
    """In another process too nothing hangs on the order of a set: here by drawing it anew."""
    first = drawings("tree", 100)
    drawings.cache_clear()
    assert drawings("tree", 100) == first


def test_pages_at_full_size_are_those_that_a_branch_comes_to() -> None:
    """2 m level and 2 m upright make pages along both, not the square between them.

    A page shows 277 x 190 mm and goes on 257 or 170 mm farther: about 8 and 12 of them.
    """
    corner = [stretch("a", "b", 2000), stretch("b", "c", 2000), stretch("b", "d", 2000)]
    pages = full_size("t", corner, {})
    assert len(pages) <= 2 * 9 + 14


def test_a_branch_of_many_wires_is_told_by_gauge_and_colour(tmp_path: Path) -> None:
    """60 wires, two in three red: each by its name once, 40 and 20 of them, no row for each."""
    wires = [
        (f"W{n}", f"box:{n}", f"lamp {n}:+", "red" if n % 3 else "blue", "1.0") for n in range(60)
    ]
    path = book(
        workshop(tmp_path) / "jobs",
        "many.xlsx",
        Job=[("item", "value"), ("end", "bare")],
        Circuits=[("wire", "from", "to", "colour", "gauge"), *wires],
        Loom=[("from", "to", "length"), ("front", "rear", 1.2)],
        Components=[
            ("component", "at", "load"),
            ("box", "front", ""),
            *((f"lamp {n}", "rear", "1 W") for n in range(60)),
        ],
    )
    packed(tmp_path, path)
    with pdfplumber.open(tmp_path / "papers" / "bench.pdf") as bench:
        (page,) = [p.extract_text() for p in bench.pages if "What runs where" in p.extract_text()]
    text = " ".join(page.split()).partition("What runs where")[2].partition("Test sheet")[0]
    assert "red, 40 wires: W1, W2, W4," in text and "blue, 20 wires: W0, W3," in text
    assert [len(re.findall(rf"\bW{n}\b", text)) for n in range(60)] == [1] * 60


def test_a_loom_of_hundreds_of_metres_has_no_pages_at_full_size(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Told on a sheet of its own; what is shorter is told nothing and has its pages."""
    job = open_job(JOBS / "single.xlsx")
    whole = drawn_loom(job)
    assert whole.full_size and board_sheet(job, whole)["cautions"] == []
    monkeypatch.setattr(paper_loom, "MOST_AT_FULL_SIZE_MM", 1000)
    bare = drawn_loom(job)
    assert not bare.full_size and bare.to_scale == whole.to_scale
    (told,) = board_sheet(job, bare)["cautions"]
    assert "drawn to scale alone" in told
