"""Checks of room: what has a size must go into the place it sits at."""

from collections.abc import Iterable, Iterator

from bom.reckon.check.findings import Findings
from bom.trade.job_book import Sides
from bom.trade.problem import Problem, caution, listed, nearest
from bom.trade.stowing import LeftOut

_MOST_NAMES = 3
"""Of more things beside a box, and of more points, nobody reads the names."""


def places_of_nothing(findings: Findings) -> Iterator[Problem]:
    """A place that is no point of the loom, and where no component sits."""
    book = findings.book
    points = {point: 0 for branch in book.branches for point in (branch.start, branch.finish)}
    points |= {component.at: 0 for component in book.components.values()}
    for place in book.places if book.whole else ():
        if place.point not in points:
            component = book.components.get(place.point)
            says = f"'{place.point}' is no point of the loom, and no component sits there"
            cure = component.at if component else nearest(place.point, points) or _first(points)
            alike = "places that are no point of the loom"
            yield caution(place.row.where("place"), says, cure, alike=alike)


def _first(points: Iterable[str]) -> str:
    """The first few points, in the order of the job book."""
    *few, more = [*points, ""][: _MOST_NAMES + 1]
    return f"one of {', '.join(few)}{' ...' if more else ''}"


def no_room(findings: Findings) -> Iterator[Problem]:
    """What does not go into its place beside the rest, and where it would."""
    for filled in findings.places:
        for left in filled.left_out:
            row = findings.book.components[left.box.name].row
            if row is not None:
                says = f"{_with_its_room(left)} {_why(left, filled.place.point)}"
                yield caution(row.where("size"), says, _where_to(left))


def _with_its_room(left: LeftOut) -> str:
    box = left.box
    return f"{box.name} ({in_words(box.sides)} with {box.air_mm} mm of air)"


def in_words(sides: Sides) -> str:
    """Three sides as they are typed."""
    return " x ".join(map(str, sides))


def _why(left: LeftOut, point: str) -> str:
    if left.lying:
        return f"goes into {point} only on its side"
    if left.alone:
        return f"does not go into {point}, however it is turned"
    if left.proved:
        return f"finds no room at {point}"
    return f"found no room at {point}: not every way was tried"


def _where_to(left: LeftOut) -> str:
    """What to type under `at`, and why; else the room that it needs."""
    if not left.goes_to:
        may_lie = "; if it is sealed, a note: any way up"
        sealed = may_lie if left.lying and left.box.kind == "battery" else ""
        return f"a place that has {in_words(left.box.needs)} for it{sealed}"
    few = 0 < len(left.beside) <= _MOST_NAMES
    what = listed(left.beside) if few else "what is there"
    return f"{left.goes_to}, where it goes in{f' beside {what}' if left.beside else ''}"
