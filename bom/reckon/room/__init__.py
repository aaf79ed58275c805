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
from bom.trade.point_names import is_battery
from bom.trade.stowing import Boxed, BoxKind, Filled, LeftOut, Stowed

MOST_STEPS = 2_000_000
"""So long it is looked which boxes have to stay outside a place, a few seconds; then those that
come last, the largest first, stay there."""
MOST_SORTED_OUT = 12
"""Of more boxes it is not looked at all."""

_AIR = re.compile(
    r"(?:\b(no|without)\s+)?(?<![\w-])air(?![\w-])(?:[\s:]*(\d{1,3})\s*(cm)?)?", re.IGNORECASE
)
_UPRIGHT = re.compile(r"(?<![\w-])upright(?![\w-])", re.IGNORECASE)
_ANY_WAY_UP = re.compile(r"\bany\s+way\s+up\b", re.IGNORECASE)
_NOT_BESIDE: Mapping[BoxKind, BoxKind] = {"hot": "battery", "battery": "hot"}


def filled_places(book: JobBook, rules: HouseRules, catalogue: Catalogue) -> tuple[Filled, ...]:
    """Each place of the book with what stands in it, told in the order of its components.

    What stands where does not depend on the order of rows.
    """
    boxes = _boxes(book, rules, catalogue)
    inside = {place: _inside(place, boxes[place.point]) for place in book.places}
    kinds_at: dict[str, set[BoxKind]] = defaultdict(set)
    for component in book.components.values():
        kinds_at[component.at].add(_kind(component, rules, catalogue))
    guests = _Guests(inside, kinds_at)
    left_out: dict[Place, list[LeftOut]] = defaultdict(list)
    for place in sorted(book.places, key=lambda place: place.point):
        for box in boxes[place.point]:
            if box not in inside[place]:
                left_out[place].append(_left_out(box, place, inside[place], guests))
    order = {name: number for number, name in enumerate(book.components)}
    return tuple(
        Filled(
            place,
            tuple(sorted(_stowed(place, kept), key=lambda each: order[each.box.name])),
            tuple(sorted(left_out[place], key=lambda each: order[each.box.name])),
        )
        for place, kept in inside.items()
    )


def _boxes(book: JobBook, rules: HouseRules, catalogue: Catalogue) -> Mapping[str, Sequence[Boxed]]:
    """What has a size by the point it sits at, the largest first."""
    found: dict[str, list[Boxed]] = defaultdict(list)
    for component in book.components.values():
        if component.size:
            box = Boxed(
                name=component.name,
                sides=component.size,
                air_mm=_air_mm(component, rules, catalogue),
                upright=_stands_upright(component),
                kind=_kind(component, rules, catalogue),
            )
            found[component.at].append(box)
    for boxes in found.values():
        boxes.sort(key=_largest_first)
    return found


def _air_mm(component: Component, rules: HouseRules, catalogue: Catalogue) -> int:
    """The free room round a component: what its note says, else by what it is."""
    said = _AIR.search(component.note)
    if said and said[2]:
        return int(said[2]) * (10 if said[3] else 1)
    wants_air = not said[1] if said else catalogue.gets_hot(component.name)
    return rules.air_mm if wants_air else rules.room_mm


def _kind(component: Component, rules: HouseRules, catalogue: Catalogue) -> BoxKind:
    """What gets hot does so by its name, or wants more room than others."""
    if is_battery(component.name):
        return "battery"
    airy = _air_mm(component, rules, catalogue) > rules.room_mm
    return "hot" if airy or catalogue.gets_hot(component.name) else ""


def _stands_upright(component: Component) -> bool:
    """True for a battery, and where the note asks for it; a sealed one may stand any way up."""
    if _ANY_WAY_UP.search(component.note):
        return False
    return is_battery(component.name) or _UPRIGHT.search(component.note) is not None


def _largest_first(box: Boxed) -> tuple[int, tuple[int, ...], bool, str]:
    return -volume(box.needs), box.needs, box.upright, box.name


def _together(place: Place, boxes: Iterable[Boxed]) -> Fit:
    boxes = sorted(boxes, key=_largest_first)
    upright = frozenset(number for number, box in enumerate(boxes) if box.upright)
    return fit(place.sides, tuple(box.needs for box in boxes), upright)


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


class _Guests:
    """What stands at each place, and beside it what found no room at its own."""

    def __init__(
        self, inside: Mapping[Place, Sequence[Boxed]], kinds_at: dict[str, set[BoxKind]]
    ) -> None:
        self._boxes = dict(inside)
        self._kinds_at = kinds_at

    def goes_to(self, box: Boxed, home: Place) -> tuple[str, tuple[str, ...]]:
        """The place with least room to spare, and what is there; the box becomes a guest there."""
        others = [place for place in self._boxes if place != home and self._goes(box, place)]
        if not others:
            return "", ()
        best = min(others, key=lambda p: (_to_spare_mm3(p, self._boxes[p]), p.point))
        beside = tuple(each.name for each in self._boxes[best])
        self._boxes[best] = [*self._boxes[best], box]
        self._kinds_at[best.point].add(box.kind)
        return best.point, beside

    def _goes(self, box: Boxed, place: Place) -> bool:
        if _NOT_BESIDE.get(box.kind) in self._kinds_at[place.point]:
            return False
        return _together(place, [*self._boxes[place], box]).stands is not None


def _left_out(box: Boxed, place: Place, stay: Sequence[Boxed], guests: _Guests) -> LeftOut:
    alone = not _together(place, [box]).stands
    goes_to, beside = guests.goes_to(box, place)
    return LeftOut(
        box=box,
        proved=_together(place, [*stay, box]).proved,
        alone=alone,
        lying=alone and fit(place.sides, (box.needs,)).stands is not None,
        goes_to=goes_to,
        beside=beside,
    )


def _to_spare_mm3(place: Place, boxes: Iterable[Boxed]) -> int:
    return volume(place.sides) - sum(volume(box.needs) for box in boxes)
