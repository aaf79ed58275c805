"""Plugs and sleeved connectors: where they sit and how many ways they have."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from msgspec import Struct

from bom.reckon.takeoff.work import Work, at_a_fuse
from bom.trade.catalogue_rows import BY_SLEEVE, Housing
from bom.trade.needs import Need, Trace
from bom.trade.problem import Problem, caution
from bom.trade.wires import Joint


class Housed(Struct, frozen=True, kw_only=True):
    """A place where joints lie in housings, and the smallest set of them: `sets` times."""

    place: str
    half: str
    joints: Sequence[Joint]
    sets: int
    wired: int
    wanted: int
    chosen: tuple[Housing, ...]

    @property
    def empty(self) -> int:
        """Ways without a wire, of all sets."""
        return (sum(housing.ways for housing in self.chosen) - self.wired) * self.sets


def housed(work: Work) -> Iterator[Housed]:
    """Each place with housings: by component and half, of sleeved bullets by pin."""
    found: dict[tuple[str, str, str], list[Joint]] = defaultdict(list)
    for joint in work.joints:
        if joint.style.family == BY_SLEEVE:
            found[_sleeve_place(joint), BY_SLEEVE, "socket"].append(joint)
        elif joint.style.housing:
            found[joint.pin.point, joint.style.housing, joint.half].append(joint)
    for (place, family, half), joints in found.items():
        if any(joint.style.housing for joint in joints):
            yield _housed(work, place, family, half, joints)


def _housed(work: Work, place: str, family: str, half: str, joints: Sequence[Joint]) -> Housed:
    first, sets, wanted = joints[0], 1, 0
    if family != BY_SLEEVE:
        wanted = _ways(work, first.pin.point)
    elif not first.pin.pin:
        sets = first.count
    wired = sum(joint.count for joint in joints) // sets
    wanted = max(wired, wanted)
    return Housed(
        place=place,
        half=half,
        joints=joints,
        sets=sets,
        wired=wired,
        wanted=wanted,
        chosen=work.catalogue.housing_set(family, half, wanted),
    )


def _ways(work: Work, point: str) -> int:
    """Ways typed for a plug, 0 where none are; those of a fuse box are for its fuses."""
    return 0 if at_a_fuse(point) else work.book.component(point).ways or 0


def housings(work: Work, places: Iterable[Housed]) -> Iterator[Need]:
    """Housings by component and half, ways counted by pins; no spares."""
    count: Counter[str] = Counter()
    wires: dict[str, dict[str, None]] = defaultdict(dict)
    figures: dict[str, list[str]] = defaultdict(list)
    for place in places:
        if len(place.chosen) > 1:
            work.problems.append(_two_housings(place))
        for housing in place.chosen:
            count[housing.item] += place.sets
            says = f"{place.place}: {place.wanted} ways, half {place.half}"
            figures[housing.item].append(says)
            labels = (end.wire.label for joint in place.joints for end in joint.ends)
            wires[housing.item].update(dict.fromkeys(labels))
    for item in sorted(count):
        yield Need(
            kind="housing",
            item=item,
            quantity=Decimal(count[item]),
            unit="each",
            wires=tuple(wires[item]),
            trace=Trace(
                "the smallest set of housings with enough ways at each place; no spares",
                tuple(figures[item]),
            ),
        )


def _two_housings(place: Housed) -> Problem:
    end, largest = place.joints[-1].ends[-1], place.chosen[0]
    where = end.wire.row.where("to" if end.heading == "to end" else "from")
    says = (
        f"{place.wanted} ways at {place.place} are more than the largest {largest.family} "
        f"housing has ({largest.ways}): reckoned with {len(place.chosen)} housings"
    )
    alike = "plugs with more ways than a housing has"
    return caution(where, says, "two components with a plug each", alike=alike)


def _sleeve_place(joint: Joint) -> str:
    """Bullets at a pin meet in one connector; at a bare point every wire has its own."""
    return str(joint.pin) if joint.pin.pin else f"{joint.pin}, wire {joint.ends[0].wire.label}"
