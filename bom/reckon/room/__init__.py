"""What stands at each place of the sheet Places, and what finds no room there.

`setting_in` sets boxes in by hand, `relations` looks through every way, `fit` asks one after the
other.  Here it is settled which boxes stay outside, and where they would go.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations

from bom.reckon.room.fit import Fit, fit
from bom.reckon.room.relations import volume
from bom.trade.catalogue import Catalogue
from bom.trade.house import HouseRules
from bom.trade.job_book import Component, JobBook, Place
from bom.trade.stowing import Boxed, Filled, LeftOut, Stowed

MOST_STEPS = 2_000_000
"""So long it is looked which boxes have to stay outside a place, a few seconds; then those that
come last, the largest first, stay there."""
MOST_SORTED_OUT = 12
"""Of more boxes it is not looked at all."""

_AIR = re.compile(r"(?<![\w-])air(?![\w-])(?:[\s:]*(\d{1,3})\s*(cm)?)?", re.IGNORECASE)


def filled_places(book: JobBook, rules: HouseRules, catalogue: Catalogue) -> tuple[Filled, ...]:
    """Each place of the book with what stands in it; the order of rows is of no account."""
    boxes = _boxes(book, rules, catalogue)
    inside = {place: _inside(place, boxes[place.point]) for place in book.places}
    guests = dict(inside)
    left_out: dict[Place, list[LeftOut]] = defaultdict(list)
    for place in sorted(book.places, key=lambda place: place.point):
        for box in boxes[place.point]:
            if box not in inside[place]:
                left_out[place].append(_left_out(box, place, inside[place], guests))
    return tuple(
        Filled(place, _stowed(place, kept), tuple(left_out[place]))
        for place, kept in inside.items()
    )


def _boxes(book: JobBook, rules: HouseRules, catalogue: Catalogue) -> Mapping[str, Sequence[Boxed]]:
    """What has a size by the point it sits at, the largest first."""
    found: dict[str, list[Boxed]] = defaultdict(list)
    for component in book.components.values():
        if component.size:
            air_mm = _air_mm(component, rules, catalogue)
            found[component.at].append(Boxed(component.name, component.size, air_mm))
    for boxes in found.values():
        boxes.sort(key=_largest_first)
    return found


def _air_mm(component: Component, rules: HouseRules, catalogue: Catalogue) -> int:
    """The free room round a component: what its note says, else by what it is."""
    said = _AIR.search(component.note)
    if said and said[1]:
        return int(said[1]) * (10 if said[2] else 1)
    return rules.air_mm if said or catalogue.gets_hot(component.name) else rules.room_mm


def _largest_first(box: Boxed) -> tuple[int, tuple[int, ...], str]:
    return -volume(box.needs), box.needs, box.name


def _together(place: Place, boxes: Iterable[Boxed]) -> Fit:
    return fit(place.sides, tuple(box.needs for box in sorted(boxes, key=_largest_first)))


def _inside(place: Place, boxes: Sequence[Boxed]) -> Sequence[Boxed]:
    """What stays in a place: all but the fewest, of those the smallest, without which it goes."""
    boxes = [box for box in boxes if _together(place, [box]).stands]
    steps = 0
    for number in range(len(boxes) if len(boxes) <= MOST_SORTED_OUT else 0):
        for gone in sorted(combinations(boxes, number), key=_all_volume):
            rest = [box for box in boxes if box not in gone]
            found = _together(place, rest)
            if found.stands:
                return rest
            steps += found.steps
            if steps > MOST_STEPS:
                return _as_they_come(place, boxes)
    return _as_they_come(place, boxes)


def _all_volume(boxes: Sequence[Boxed]) -> tuple[int, tuple[str, ...]]:
    return sum(volume(box.needs) for box in boxes), tuple(box.name for box in boxes)


def _as_they_come(place: Place, boxes: Sequence[Boxed]) -> Sequence[Boxed]:
    """What goes in one after the other."""
    kept: list[Boxed] = []
    for box in boxes:
        if _together(place, [*kept, box]).stands:
            kept.append(box)
    return kept


def _stowed(place: Place, boxes: Sequence[Boxed]) -> tuple[Stowed, ...]:
    """The boxes where they stand, without the room round them."""
    stands = _together(place, boxes).stands or ()
    return tuple(
        Stowed(
            box,
            (x + box.air_mm, y + box.air_mm, z + box.air_mm),
            (long - 2 * box.air_mm, wide - 2 * box.air_mm, high - 2 * box.air_mm),
        )
        for box, ((x, y, z), (long, wide, high)) in zip(boxes, stands, strict=True)
    )


def _left_out(
    box: Boxed, place: Place, stay: Sequence[Boxed], guests: dict[Place, Sequence[Boxed]]
) -> LeftOut:
    """Where a box would go: to the place with least room to spare; it becomes a guest there."""
    others = [p for p in guests if p != place and _together(p, [*guests[p], box]).stands]
    best = min(others, key=lambda p: (_to_spare_mm3(p, guests[p]), p.point), default=None)
    beside = tuple(each.name for each in guests[best]) if best else ()
    if best:
        guests[best] = [*guests[best], box]
    return LeftOut(
        box=box,
        proved=_together(place, [*stay, box]).proved,
        alone=not _together(place, [box]).stands,
        goes_to=best.point if best else "",
        beside=beside,
    )


def _to_spare_mm3(place: Place, boxes: Iterable[Boxed]) -> int:
    return volume(place.sides) - sum(volume(box.needs) for box in boxes)
