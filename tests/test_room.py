"""Room: what is cut from a place goes back into it, what is more does not, and nothing is claimed.

Every answer is checked by arithmetic of its own: inside the walls, apart from each other, with the
room that each wants.
"""

import os
import random
import sys
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations, permutations, product
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from bom.job import open_job
from bom.reckon.room import filled_places
from bom.reckon.room.fit import fit
from bom.reckon.room.relations import Relations, Stands, volume
from bom.trade.catalogue_files import load_catalogue
from bom.trade.house import HouseRules
from bom.trade.job_book import Component, JobBook, Place, Sides
from bom.trade.rows import Row
from bom.trade.stowing import Filled
from tests.bench.alone import alone
from tests.bench.yardstick import too_long
from tests.books import book, job_book

CATALOGUE = load_catalogue()[0]
WIRES = [("from", "to", "colour", "length"), ("battery:+", "horn:+", "red", 1)]
LOOM = [("from", "to", "length"), ("tray", "post", 0.5), ("post", "panel", 0.5)]


def place(sides: Sides, point: str = "tray", number: int = 2) -> Place:
    return Place(point=point, sides=sides, note="", row=Row("job.xlsx", "Places", number))


def component(name: str, size: Sides | None, at: str = "tray", note: str = "") -> Component:
    return Component(
        name=name,
        at=at,
        load=None,
        tail_mm=Fraction(0),
        end=None,
        passes="",
        one_of=None,
        note=note,
        row=None,
        size=size,
    )


def job(places: Sequence[Place], components: Sequence[Component]) -> JobBook:
    return job_book(places=tuple(places), components={each.name: each for each in components})


def filled(places: Sequence[Place], components: Sequence[Component], **rules: Any) -> list[Filled]:
    """What stands where, each answer looked through."""
    found = filled_places(job(places, components), HouseRules(**rules), CATALOGUE)
    for each in found:
        _is_sound(each)
    return [*found]


def _is_sound(found: Filled) -> None:
    """Boxes of the sizes they have, with the room they want, inside and apart from each other."""
    rooms = []
    for box in found.stowed:
        assert sorted(box.sides) == sorted(box.box.sides)
        air = box.box.air_mm
        rooms.append([(c - air, c + s + air) for c, s in zip(box.corner, box.sides, strict=True)])
    for room in rooms:
        assert all(a >= 0 and b <= w for (a, b), w in zip(room, found.place.sides, strict=True))
    for one, other in combinations(rooms, 2):
        assert any(b <= c or d <= a for (a, b), (c, d) in zip(one, other, strict=True))


def by_name(found: Filled) -> Filled:
    """What stands there and what does not, told in an order of its own."""
    stowed = tuple(sorted(found.stowed, key=lambda each: each.box.name))
    left_out = tuple(sorted(found.left_out, key=lambda each: each.box.name))
    return replace(found, stowed=stowed, left_out=left_out)


def names(found: Filled) -> set[str]:
    return {box.box.name for box in found.stowed}


# ------------------------------------------------------------------- cut from a place


def cut(dice: random.Random, whole: Sides, number: int, least_mm: int) -> list[Sides]:
    """A box cut through and through, again and again."""
    pieces = [whole]
    while len(pieces) < number:
        piece = dice.choice([piece for piece in pieces if max(piece) >= 2 * least_mm])
        pieces.remove(piece)
        axis = dice.choice([a for a in range(3) if piece[a] == max(piece)])
        at = dice.randint(least_mm, piece[axis] - least_mm)
        pieces += [_with(piece, axis, at), _with(piece, axis, piece[axis] - at)]
    return pieces


def _with(sides: Sides, axis: int, side: int) -> Sides:
    changed = [side if a == axis else each for a, each in enumerate(sides)]
    return changed[0], changed[1], changed[2]


def pinwheel(dice: random.Random, whole: Sides) -> list[Sides]:
    """Three bars round a diagonal and two boxes at its ends: no cut goes through it all.

    With cuts at a, b, c: the bar along y is right and low, that along z is in front and left,
    that along x is high and behind; what is left, behind low and in front high, is two boxes.
    """
    (a, b, c), (x, y, z) = (dice.randint(60, side - 60) for side in whole), whole
    return [(x - a, y, c), (a, y - b, z), (x, b, z - c), (a, b, c), (x - a, y - b, z - c)]


def windmill(dice: random.Random, whole: Sides) -> list[Sides]:
    """Four boxes round a fifth, as high as the place: no cut goes through it all."""
    x, y, z = whole
    a, b = dice.randint(60, x // 2 - 30), dice.randint(60, y // 2 - 30)
    return [(x - a, b, z), (a, y - b, z), (x - a, b, z), (a, y - b, z), (x - 2 * a, y - 2 * b, z)]


def cut_places() -> Iterator[tuple[int, Sides, list[Sides]]]:
    for seed in range(200):
        dice = random.Random(seed)
        whole = (dice.randint(220, 400), dice.randint(220, 400), dice.randint(220, 400))
        if seed % 5 == 0:
            pieces = (pinwheel, windmill)[seed % 2](dice, whole)
        else:
            pieces = cut(dice, whole, dice.randint(2, 8), 50)
        yield seed, whole, pieces


def test_cut_pieces_fill_their_place() -> None:
    """The five of a pinwheel and of a windmill have together what the place has."""
    dice, whole = random.Random(1), (300, 250, 280)
    for made in (pinwheel, windmill):
        assert sum(map(volume, made(dice, whole))) == 300 * 250 * 280


@pytest.mark.parametrize("part", range(4))
def test_what_is_cut_from_a_place_goes_in_again(part: int) -> None:
    """Each piece less its own room on all sides, turned: all are found; one more is not claimed.

    The pieces fill the place to the last cubic millimetre: there is no volume left for one more.
    """
    for seed, whole, pieces in [*cut_places()][part::4]:
        dice = random.Random(seed)
        boxes = []
        for number, piece in enumerate(pieces):
            room = dice.choice((5, 20))
            size = dice.sample([side - 2 * room for side in piece], 3)
            boxes.append(component(f"b{number}", (size[0], size[1], size[2]), note=f"air {room}"))
        (found,) = filled([place(whole)], boxes)
        assert len(found.stowed) == len(pieces) and not found.left_out, seed
        (more,) = filled([place(whole)], [*boxes, component("one more", (10, 10, 10))])
        assert len(more.stowed) == len(pieces) and more.left_out[0].box.name == "one more"


# ------------------------------------------------------------------- every way, for small ones


def goes_in(whole: Sides, boxes: Sequence[Sides], upright: frozenset[int] = frozenset()) -> bool:
    """Every box in every way at every whole millimetre, by the cells that it takes."""
    cells = {cell: 1 << n for n, cell in enumerate(product(*map(range, whole)))}
    each = []
    for number, box in sorted(enumerate(boxes), key=lambda each: -volume(each[1])):
        masks = set()
        for way in {w for w in permutations(box) if number not in upright or w[2] == box[2]}:
            for corner in product(*(range(w - s + 1) for w, s in zip(whole, way, strict=True))):
                reach = (range(c, c + s) for c, s in zip(corner, way, strict=True))
                masks.add(sum(cells[cell] for cell in product(*reach)))
        each.append(masks)
    return _filled(each, 0)


def _filled(each: Sequence[set[int]], taken: int) -> bool:
    return not each or any(_filled(each[1:], taken | m) for m in each[0] if not m & taken)


def test_small_places_agree_with_every_way_looked_through() -> None:
    """300 places of 3 to 5 mm a side and 2 to 4 boxes: the same answer, both ways often."""
    dice = random.Random(22)
    said: list[bool] = []
    while len(said) < 300:
        whole = (dice.randint(3, 5), dice.randint(3, 5), dice.randint(3, 5))
        boxes = [
            (dice.randint(1, 4), dice.randint(1, 3), dice.randint(1, 4))
            for _ in range(dice.randint(2, 4))
        ]
        if 0.8 < sum(map(volume, boxes)) / volume(whole) <= 1:
            found = fit(whole, tuple(boxes))
            said.append(goes_in(whole, boxes))
            assert found.proved and bool(found.stands) == said[-1], (whole, boxes)
    assert 75 < sum(said) < 225


def test_six_blocks_of_slothouber_and_graatsma() -> None:
    """Six of 1 x 2 x 2 go into 3 x 3 x 3: Berlekamp, Conway and Guy, Winning Ways, volume 4.

    Each layer of nine cells has one that is free, in all three directions, since a block takes an
    even number of each: so no 1 x 1 x 2, which lies in one layer of two directions, goes in as
    well, although three cells are free.
    """
    blocks = ((1, 2, 2),) * 6
    assert fit((3, 3, 3), blocks).stands
    assert fit((3, 3, 3), (*blocks, (1, 1, 2))).stands is None
    assert fit((3, 3, 3), (*blocks, (1, 1, 1))).stands


# ------------------------------------------------------------------- ordinary situations


def test_battery_and_starter_relay_in_the_battery_box() -> None:
    """134 + 10 and 35 + 10 are 189 of 190 mm; 161 + 10 of 175 in height."""
    (found,) = filled(
        [place((190, 100, 175))],
        [component("battery", (134, 80, 161)), component("starter relay", (45, 35, 40))],
    )
    assert names(found) == {"battery", "starter relay"}
    battery = next(box for box in found.stowed if box.box.name == "battery")
    assert battery.sides == (134, 80, 161)  # upright, as it is typed: it need not be turned


@pytest.mark.parametrize(
    ("name", "note", "goes"),
    [
        ("battery", "", False),
        ("battery 2", "on the left", False),
        ("battery", "AGM, sealed: any way up", True),
        ("battery", "upright", False),
        ("main relay", "", True),
        ("main relay", "Upright, plug below", False),
        ("main relay", "upright-mounted lamp beside it", True),
    ],
)
def test_a_battery_is_not_laid_on_its_side(name: str, note: str, goes: bool) -> None:
    """161 + 10 mm are more than 100 in height: it goes in lying, or not at all."""
    boxes = [component(name, (134, 80, 161), note=note)]
    (found,) = filled([place((190, 180, 100))], boxes)
    assert bool(found.stowed) == goes
    assert [left.lying for left in found.left_out] == [True] * (not goes)
    (found,) = filled([place((90, 144, 171))], boxes)  # the long side across: it stands upright
    assert found.stowed[0].sides[2] == 161


def test_what_does_not_go_in_lying_either_is_not_told_so() -> None:
    (found,) = filled([place((100, 180, 100))], [component("battery", (134, 110, 161))])
    assert found.left_out[0].alone and not found.left_out[0].lying


@pytest.mark.parametrize("bound", ["a", "b"])
def test_of_two_alike_the_one_that_may_does_not_stand_as_typed(bound: str) -> None:
    """80 x 40 x 50 with their room, in 120 x 50 x 80: beside each other as typed they are 160 long.

    Above each other they are 100 high. So one stands on its end, 40 long and 80 high.
    """
    boxes = [component(n, (70, 30, 40), note="upright" * (n == bound)) for n in "ab"]
    (found,) = filled([place((120, 50, 80))], boxes)
    assert {box.box.name: box.sides[2] for box in found.stowed} == {
        n: 40 if n == bound else 70 for n in "ab"
    }


def _searched_alone(whole: Sides, boxes: Sequence[Sides], upright: frozenset[int]) -> Stands | None:
    ways = [
        [(a, b, c) for a, b, c in {*permutations(box)} if n not in upright or c == box[2]]
        for n, box in enumerate(boxes)
    ]
    return Relations(whole, ways, 1_000_000).stands()


def test_upright_boxes_agree_with_every_way_looked_through() -> None:
    """200 small places; some boxes may only be turned about the axis that stands."""
    dice = random.Random(23)
    said: list[bool] = []
    for _ in range(200):
        whole = (dice.randint(3, 5), dice.randint(3, 5), dice.randint(3, 5))
        boxes = tuple((dice.randint(1, 4), dice.randint(1, 2), dice.randint(1, 4)) for _ in "four")
        boxes = (*boxes[:3], boxes[2])  # two alike, of which one may be bound to stand
        upright = frozenset(n for n in range(4) if dice.random() < 0.5)
        found = fit(whole, boxes, upright)
        stands = goes_in(whole, boxes, upright)
        assert found.proved and (found.stands is not None) == stands, (whole, boxes, upright)
        searched = _searched_alone(whole, boxes, upright)  # what proves, without the first try
        assert (searched is not None) == stands, (whole, boxes, upright)
        for number, (_, sides) in enumerate(found.stands or ()):
            assert number not in upright or sides[2] == boxes[number][2]
        said.append(stands)
    assert 30 < sum(said) < 170


def test_full_to_the_millimetre_and_one_less() -> None:
    """Two of 45 mm with 5 round each take 110 of 110 mm, and not 109."""
    boxes = [component("main relay", (45, 30, 30)), component("dip relay", (45, 30, 30))]
    assert len(filled([place((110, 40, 40))], boxes)[0].stowed) == 2
    (found,) = filled([place((109, 40, 40))], boxes)
    assert len(found.stowed) == 1
    assert found.left_out[0].proved and not found.left_out[0].alone
    assert len(filled([place((109, 40, 40))], boxes, room_mm=4)[0].stowed) == 2


def test_a_long_box_is_turned_across() -> None:
    """210 + 10 mm is more than the 200 along, and goes in upright in 220."""
    (found,) = filled([place((200, 80, 220))], [component("fuse box", (210, 60, 40))])
    assert found.stowed[0].sides[2] == 210


def test_volumes_that_fit_and_shapes_that_do_not() -> None:
    """Two cubes of 60 with their room have 2 x 343 of 1,000 cubic cm, and 140 of 100 mm."""
    (found,) = filled([place((100, 100, 100))], [component(n, (60, 60, 60)) for n in "ab"])
    assert len(found.stowed) == 1 and found.left_out[0].proved


@pytest.mark.parametrize(
    ("name", "note", "air_mm"),
    [
        ("horn relay", "", 5),
        ("horn relay", "behind the air filter: air", 20),
        ("LED ballast", "air 30", 30),
        ("LED ballast", "mounted on rubber; Air: 30 mm", 30),
        ("LED ballast", "air 3 cm", 30),
        ("horn relay", "repaired, fair, air-cooled", 5),
        ("regulator", "", 20),
        ("voltage regulators", "on the frame", 20),
        ("rectifier", "air 12, the plate cools it", 12),
        ("regulator", "on the fork in the wind: no air", 5),
        ("LED ballast", "needs no air", 5),
        ("LED ballast", "goes without air", 5),
        ("LED ballast", "no fan, air 30", 30),
    ],
)
def test_what_gets_hot_wants_air(name: str, note: str, air_mm: int) -> None:
    """The house's 5 mm; 20 of a regulator, and where the word is in the note, or its figure."""
    side = 30 + 2 * air_mm
    box = component(name, (30, 30, 30), note=note)
    assert filled([place((side, side, side))], [box])[0].stowed[0].box.air_mm == air_mm
    assert filled([place((side - 1, side, side))], [box])[0].left_out[0].alone


def test_air_of_the_house() -> None:
    box = component("regulator", (50, 50, 50))
    assert filled([place((70, 70, 70))], [box], air_mm=10)[0].stowed


def test_the_smallest_goes_elsewhere_and_where() -> None:
    """The battery stands below the relay, 160 + 70 of 230 mm; beside each there are 5 mm.

    The flasher is 45 mm with its room and the post 40 deep; of panel and boot the panel is fuller.
    """
    boxes = [
        component("battery", (130, 80, 150)),
        component("relay", (125, 75, 60)),
        component("flasher", (45, 35, 30)),
        component("fuse box", (85, 60, 40), at="panel"),
    ]
    places = [
        place((140, 90, 230)),
        place((60, 40, 30), "post", 3),
        place((200, 100, 60), "panel", 4),
        place((300, 300, 300), "boot", 5),
    ]
    tray, *_ = filled(places, boxes)
    assert names(tray) == {"battery", "relay"}
    (left,) = tray.left_out
    assert (left.box.name, left.goes_to, left.beside) == ("flasher", "panel", ("fuse box",))


@pytest.mark.parametrize(
    ("name", "note", "sits", "size", "goes_to"),
    [
        ("regulator", "", "battery", (50, 40, 30), "boot"),
        ("regulator", "", "battery", None, "boot"),
        ("regulator", "no air", "battery", None, "boot"),
        ("LED ballast", "air", "battery", None, "boot"),
        ("flasher", "", "battery", (50, 40, 30), "box"),
        ("battery 2", "", "rectifier", None, "boot"),
        ("battery 2", "", "battery", (50, 40, 30), "box"),
    ],
)
def test_what_gets_hot_is_not_sent_to_a_battery(
    name: str, note: str, sits: str, size: Sides | None, goes_to: str
) -> None:
    """Both places take it; the box has less room to spare. What sits there may have no size."""
    boxes = [component(name, (60, 60, 60), note=note), component(sits, size, "box")]
    places = [
        place((50, 50, 50)),
        place((200, 150, 150), "box", 3),
        place((300, 300, 300), "boot", 4),
    ]
    tray, *_ = filled(places, boxes)
    assert [left.goes_to for left in tray.left_out] == [goes_to]


def test_a_battery_on_its_way_keeps_what_is_hot_away() -> None:
    """Neither goes into the tray; the box, the smaller, takes the battery, which is larger."""
    boxes = [component("battery", (100, 80, 90)), component("regulator", (60, 40, 30))]
    places = [
        place((50, 50, 50)),
        place((250, 150, 150), "box", 3),
        place((300, 300, 300), "boot", 4),
    ]
    tray, *_ = filled(places, boxes)
    assert {left.box.name: left.goes_to for left in tray.left_out} == {
        "battery": "box",
        "regulator": "boot",
    }


def test_boxes_are_told_in_the_order_of_the_job_book() -> None:
    """The smallest first, as they are typed; the two that are too large as well."""
    sizes = (20, 40, 30, 200, 300)
    boxes = [component(f"c{side}", (side, side, side)) for side in sizes]
    (found,) = filled([place((150, 150, 150))], boxes)
    assert [box.box.name for box in found.stowed] == ["c20", "c40", "c30"]
    assert [left.box.name for left in found.left_out] == ["c200", "c300"]


def test_two_that_find_no_room_are_not_sent_to_one_hole() -> None:
    """The hole takes one of them."""
    boxes = [component(n, (40, 40, 40)) for n in ("a", "b")]
    tray, _ = filled([place((30, 30, 30)), place((50, 50, 50), "hole", 3)], boxes)
    assert [left.goes_to for left in tray.left_out] == ["hole", ""]


def test_where_it_takes_too_long_the_largest_stay(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two of 60 mm with their room fill 140 x 70 x 70, and the third, of 50, stays outside."""
    monkeypatch.setattr("bom.reckon.room.MOST_STEPS", -1)
    boxes = [component(n, (60, 60, 60)) for n in "ab"] + [component("c", (50, 50, 50))]
    (found,) = filled([place((140, 70, 70))], boxes)
    assert names(found) == {"a", "b"}


def test_nothing_is_said_without_a_size_or_a_place() -> None:
    boxes = [component("relay", None), component("horn", (90, 90, 90), at="nose")]
    (found,) = filled([place((50, 50, 50))], boxes)
    assert not found.stowed and not found.left_out
    assert filled([], boxes) == []


def test_more_than_eight_are_found_or_not_found() -> None:
    """Twelve of 40 mm in rows of three by two by two; with a thirteenth nothing is proved.

    Thirteen cubes of 50 mm have 1.625 of 1.632 dm3, and rows of 3 x 2 x 2 take twelve.
    """
    boxes = [component(f"b{n:02}", (40, 40, 40)) for n in range(13)]
    (found,) = filled([place((160, 102, 100))], boxes[:12])
    assert len(found.stowed) == 12
    (found,) = filled([place((160, 102, 100))], boxes)
    assert len(found.stowed) == 12 and not found.left_out[0].proved


def test_fifty_boxes_are_set_in_by_hand() -> None:
    """5 x 5 x 2 of 50 mm."""
    boxes = [component(f"b{n:02}", (40, 40, 40)) for n in range(50)]
    (found,) = filled([place((250, 250, 100))], boxes)
    assert len(found.stowed) == 50


def test_the_order_of_rows_is_of_no_account() -> None:
    """Ten machines with six boxes at two places of three; in some of them one stays outside."""
    outside = 0
    for seed in range(10):
        dice = random.Random(seed)
        places = [
            place((dice.randint(80, 150), dice.randint(80, 150), 90), point, number)
            for number, point in enumerate(("tray", "post", "panel"))
        ]
        sizes = [
            (dice.randint(20, 90), dice.randint(20, 90), dice.choice((40, 60))) for _ in "6boxes"
        ]
        boxes = [component(f"b{n}", size, ("tray", "post")[n % 2]) for n, size in enumerate(sizes)]
        first = {each.place.point: by_name(each) for each in filled(places, boxes)}
        again = filled(dice.sample(places, 3), dice.sample(boxes, 6))
        assert {each.place.point: by_name(each) for each in again} == first
        outside += any(each.left_out for each in again)
    assert 2 < outside < 10


# ------------------------------------------------------------------- in the job book


def cautions(folder: Path, components: Sequence[Sequence[Any]], places: Any) -> list[str]:
    path = book(folder, Circuits=WIRES, Loom=LOOM, Components=components, Places=places)
    return [
        problem.told(" | ")
        for problem in open_job(path).problems
        if problem.where.sheet == "Places"
    ]


def test_what_is_typed_is_what_is_reckoned(tmp_path: Path) -> None:
    """Sizes in mm, cm and inches are rounded up: 3.5 in are 88.9 mm; places are rounded down."""
    components = [
        ("component", "at", "size"),
        ("battery", "tray", "8.5 x 7 x 3.5 cm"),
        ("horn", "post", "3.5 in x 70mm X 35"),
    ]
    places = [("place", "length", "width", "height mm"), ("Tray", "4 in", "9 cm", 100.7)]
    path = book(tmp_path, Circuits=WIRES, Loom=LOOM, Components=components, Places=places)
    read = open_job(path).book
    assert read is not None
    sizes = {each.name: each.size for each in read.components.values()}
    assert sizes == {"battery": (85, 70, 35), "horn": (89, 70, 35)}
    assert [(each.point, each.sides) for each in read.places] == [("tray", (101, 90, 100))]


@pytest.mark.parametrize(
    ("size", "told"),
    [
        ("85 x 70", "'85 x 70' is not the three sides of a box"),
        ("85 x 70 x 350 m", "no box on a machine has a side of 350 m"),
        ("85 x 0 x 35", "a side of 0"),
        ("85 x -7 x 35", "a length of -7 is below zero"),
        ("85 x 70 x thick", "'thick' is not a length"),
        ("3001 x 70 x 35", "no box on a machine has a side of 3.001 m"),
    ],
)
def test_sizes_that_cannot_be_meant(tmp_path: Path, size: str, told: str) -> None:
    components = [("component", "at", "size"), ("battery", "tray", size), ("horn", "post", None)]
    path = book(tmp_path, Circuits=WIRES, Loom=LOOM, Components=components)
    (problem,) = (p for p in open_job(path).problems if p.level == "error")
    assert (problem.where.cell, problem.says) == ("C2", told) and problem.cure


@pytest.mark.parametrize(
    ("size", "cure"),
    [
        ("0.085 x 0.07 x 0.035", "0.085 x 0.07 x 0.035 m or 85 x 70 x 35 mm"),
        ("4.5 x 3.5 x 3", "4.5 x 3.5 x 3 cm or 45 x 35 x 30 mm"),
        ("60 x 40 x 4", "5 mm at the least"),
        ("0.4 x 0.3 x 0.2 mm", "5 mm at the least"),
    ],
)
def test_a_size_in_metres_or_centimetres_by_slip(tmp_path: Path, size: str, cure: str) -> None:
    components = [("component", "at", "size"), ("battery", "tray", size), ("horn", "post", None)]
    path = book(tmp_path, Circuits=WIRES, Loom=LOOM, Components=components)
    (problem,) = (p for p in open_job(path).problems if p.level == "error")
    assert (problem.where.cell, problem.cure) == ("C2", cure)


@pytest.mark.parametrize(
    ("head", "typed", "told"),
    [
        ("length", 0.4, "no box on a machine has a side of 0.4 mm | try: 0.4 m or 400 mm"),
        ("length mm", 0.4, "no box on a machine has a side of 0.4 mm | try: 0.4 m or 400 mm"),
        ("length", "4 mm", "no box on a machine has a side of 4 mm | try: 5 mm at the least"),
        ("length", 12, ""),
        ("length", 4, "no box on a machine has a side of 4 mm | try: 4 cm or 40 mm"),
        ("length cm", 0.4, "no box on a machine has a side of 4 mm | try: 5 mm at the least"),
        ("length m", 0.4, ""),
        ("length", None, "'length' is empty | try: what it measures inside, in mm"),
        ("length", -80, "a length of -80 is below zero | try: 80"),
    ],
)
def test_a_side_of_a_place_that_cannot_be_meant(
    tmp_path: Path, head: str, typed: float | str | None, told: str
) -> None:
    """A side under 5 mm was typed in metres, as wires are, or in centimetres."""
    places = [("place", head, "width", "height"), ("tray", typed, 90, 90)]
    said = cautions(tmp_path, [("component", "at"), ("horn", "tray")], places)
    assert said == [f"error: job.xlsx › Places › B2: {told}"] * bool(told)


def test_a_place_without_a_near_name_is_told_the_first_points(tmp_path: Path) -> None:
    """Of four points three are named."""
    places = [("place", "length", "width", "height"), ("tool box", 90, 90, 90)]
    components = [("component", "at"), ("battery", "tray"), ("horn", "nose")]
    (told,) = cautions(tmp_path, components, places)
    assert told.endswith("| try: one of tray, post, panel ...")


@pytest.mark.parametrize(
    ("name", "note", "boot_mm", "told"),
    [
        (
            *("battery", "", 90),
            "a place that has 144 x 90 x 171 for it; if it is sealed, a note: any way up",
        ),
        ("relay", "upright", 90, "a place that has 144 x 90 x 171 for it"),
        ("battery", "", 180, "boot, where it goes in"),
    ],
)
def test_what_would_have_to_lie(
    tmp_path: Path, name: str, note: str, boot_mm: int, told: str
) -> None:
    """161 + 10 of 100 mm; of a battery it is told how it may lie, where nothing else takes it."""
    components = [
        ("component", "at", "size", "note"),
        (name, "tray", "134 x 80 x 161", note),
        ("horn", "boot", None, ""),
    ]
    heads = ("place", "length", "width", "height")
    places = [heads, ("tray", 190, 180, 100), ("boot", boot_mm, boot_mm, 180)]
    path = book(tmp_path, Circuits=WIRES, Loom=LOOM, Components=components, Places=places)
    (problem,) = (p for p in open_job(path).problems if "goes into" in p.says)
    says = f"{name} (134 x 80 x 161 with 5 mm of air) goes into tray only on its side"
    assert (problem.says, problem.cure) == (says, told)


def test_a_place_that_is_no_point(tmp_path: Path) -> None:
    """A place may be a point of the loom or where a component sits; another is told."""
    components = [("component", "at"), ("battery", "tray"), ("horn", "nose")]
    heads = ("place", "length", "width", "height")
    every = [(point, 90, 90, 90) for point in ("tray", "nose", "pannel", "horn")]
    assert cautions(tmp_path, components, [heads, *every]) == [
        "caution: job.xlsx › Places › A4: 'pannel' is no point of the loom, and no component sits "
        "there | try: panel",
        "caution: job.xlsx › Places › A5: 'horn' is no point of the loom, and no component sits "
        "there | try: nose",
    ]


# ------------------------------------------------------------------- seconds

HARD = """
from bom.reckon.room.fit import fit
boxes = (
    ((96, 160, 162), (52, 169, 262), (71, 155, 206), (37, 165, 182))
    + ((63, 77, 229), (55, 119, 166), (83, 102, 112), (29, 63, 182))
)
print(fit((380, 138, 277), boxes).proved)
"""
"""They have four fifths of the place, and none knows whether they go in."""


def test_eight_that_resist_take_seconds() -> None:
    """All steps that may be taken, 50 x 10,000 and 800,000, and then it is not claimed."""
    done = alone(sys.executable, "-c", HARD, cwd=Path(__file__).parents[1], env=os.environ)
    assert done.out == "False\n" and not too_long(done.cpu_s, 8)
