"""Why wires have no length: the cause once, at its cell, and not a message a wire.

A point that is nowhere is told where it is typed; where many wires or components agree on a name
that the Loom or the Components sheet spells otherwise, that one cell is the cause.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from bom.trade.job_book import Branch, JobBook, Wire
from bom.trade.point_names import is_battery
from bom.trade.problem import Problem, Where, counted, error, nearest

SEVERAL = 3
"""From so many wires or components on, one cause is looked for behind them all."""
MOST_POINTS = 300
"""In a loom with more points no slip between two of its parts is looked for: it would take long."""

_NO_LOOM = "no sheet has the headings of Loom"
_NO_PARTS = "no sheet has the headings of Components"


def why_no_way(lost: Sequence[Wire], book: JobBook, parts: Mapping[str, str]) -> Iterator[Problem]:
    """What is in the way of wires without a length or a way; `parts` are the loom's, by point."""
    if not book.branches:
        yield from _no_loom(lost, book)
        return
    nowhere: dict[str, list[tuple[Wire, str]]] = defaultdict(list)
    apart = []
    for wire in lost:
        ends = (("from", wire.start.point), ("to", wire.finish.point))
        off = [(name, heading) for heading, name in ends if book.place(name) not in parts]
        for name, heading in off:
            nowhere[name].append((wire, heading))
        if not off:
            apart.append(wire)
    yield from _off_the_loom(nowhere, book, parts)
    yield from _in_parts(apart, book, parts)


def _no_loom(lost: Sequence[Wire], book: JobBook) -> Iterator[Problem]:
    if len(lost) < SEVERAL or 2 * len(lost) < len(book.wires):
        alike = "wires have no length, and there is no Loom sheet to work it out from"
        cure = "the measured length, such as 1.2 m"
        for wire in lost:
            says = (
                f"wire {wire.label} has no length, and there is no Loom sheet to work it out from"
            )
            yield error(wire.row.where("length"), says, cure, alike=alike)
        return
    lacks = "the sheet Loom has no branches" if "Loom" in book.lists else _NO_LOOM
    cure = "a row for each branch (from, to, length), or measured lengths on Circuits"
    says = f"{lacks}, and {len(lost)} wires have no length"
    yield error(Where(book.file), says, f"{cure}{_not_read(book)}", cause=True)


def _not_read(book: JobBook) -> str:
    return f" (not read: {_first_of(book.not_read)})" if book.not_read else ""


# ------------------------------------------------------------------- points that are nowhere


def _off_the_loom(
    nowhere: Mapping[str, Sequence[tuple[Wire, str]]], book: JobBook, points: Mapping[str, str]
) -> Iterator[Problem]:
    misplaced: dict[str, list[str]] = defaultdict(list)
    unlisted: dict[str, Sequence[tuple[Wire, str]]] = {}
    for name, ends in nowhere.items():
        if book.component(name).row is None:
            unlisted[name] = ends
        else:
            misplaced[book.place(name)].append(name)
    for place, names in misplaced.items():
        yield _misplaced(place, names, book, points)
    if len(unlisted) >= SEVERAL and not book.components:
        lacks = "the sheet Components has no rows" if "Components" in book.lists else _NO_PARTS
        says = f"{lacks}, and {len(unlisted)} points of Circuits are not on the Loom: "
        cure = "a sheet Components with the headings component and at"
        says, cure = f"{says}{_first_of(unlisted)}", f"{cure}{_not_read(book)}"
        yield error(Where(book.file), says, cure, cause=True)
        return
    for name, ends in unlisted.items():
        yield from _unlisted(name, ends, book, points)


def _misplaced(
    place: str, names: Sequence[str], book: JobBook, points: Mapping[str, str]
) -> Problem:
    """Components at a place that the Loom does not have, or has under another spelling."""
    close = nearest(place, points)
    cell = _only_cell(close, book) if len(names) > 1 else None
    if cell:
        says = f"nothing sits at '{close}', but {counted(len(names), 'component')} at '{place}'"
        return error(cell, f"{says}: {_first_of(names)}", place, cause=True)
    component = book.component(names[0])
    row = component.row
    others = f" and {len(names) - 1} more sit" if len(names) > 1 else " sits"
    says = f"{component.name}{others} at '{place}', which is no point of the loom"
    heading = "at" if component.at != component.name else "component"
    where = row.where(heading) if row else Where(book.file)
    alike = "components that sit at no point of the loom"
    return error(where, says, close or f"a branch to {place}", alike=alike, cause=True)


def _only_cell(point: str, book: JobBook) -> Where | None:
    """The one cell of the Loom that names a point at which nothing sits and no wire ends."""
    used = {component.at for component in book.components.values()}
    used |= {book.place(pin.point) for wire in book.wires for pin in (wire.start, wire.finish)}
    cells = list(_cells_of(point, book.branches)) if point and point not in used else []
    return cells[0] if len(cells) == 1 else None


def _cells_of(point: str, branches: Iterable[Branch]) -> Iterator[Where]:
    for branch in branches:
        for heading, end in (("from", branch.start), ("to", branch.finish)):
            if end == point:
                yield branch.row.where(heading)


def _unlisted(
    name: str, ends: Sequence[tuple[Wire, str]], book: JobBook, points: Iterable[str]
) -> Iterator[Problem]:
    """A point that is on no sheet: a slip in its cells, or in the row that is meant for it."""
    says = f"point '{name}' is neither on the Loom nor on the Components sheet"
    idle = _without_wires(book)
    meant = nearest(name, idle) if len(ends) >= SEVERAL else ""
    if is_battery(name) and len(idle) == 1:
        meant = idle[0]
    row = book.component(meant).row if meant else None
    if row is not None:
        says = f"component '{meant}' has no wires, but {len(ends)} end at '{name}', on no sheet"
        yield error(row.where("component"), says, name, cause=True)
        return
    spelled = {known.casefold(): known for known in (*points, *book.components)}
    close = "" if is_battery(name) else spelled.get(nearest(name, spelled), "")
    alike = "" if close else "points that are on no sheet"
    cure = close or "a length for this wire"
    if len(ends) >= SEVERAL and not close:
        cure = f"a row for it on the Components sheet, or lengths for the {len(ends)} wires at it"
        ends = ends[:1]
    for wire, heading in ends:
        yield error(wire.row.where(heading), says, cure, alike=alike, cause=True)


def _without_wires(book: JobBook) -> list[str]:
    met = {pin.point for wire in book.wires for pin in (wire.start, wire.finish)}
    return [name for name in book.components if name not in met]


# ------------------------------------------------------------------------ a loom in two parts


def _in_parts(apart: Sequence[Wire], book: JobBook, parts: Mapping[str, str]) -> Iterator[Problem]:
    """Wires from one part of the loom to another: a slip in a point, or a branch that lacks."""
    slip = _slip_between(book, parts) if apart else None
    if slip:
        cell, typed, meant = slip
        says = (
            f"'{typed}' is not joined to the loom, and {counted(len(apart), 'wire')} must pass it"
        )
        yield error(cell, says, meant, cause=True)
    elif len(apart) < SEVERAL:
        for wire in apart:
            says = f"no way through the loom from {wire.start.point} to {wire.finish.point}"
            cure = "a branch on the Loom sheet that joins the two parts, or a length here"
            yield error(wire.row.where("length"), says, cure, alike="wires have no way")
    else:
        yield _lacks_a_branch(apart, book, parts)


def _slip_between(book: JobBook, parts: Mapping[str, str]) -> tuple[Where, str, str] | None:
    """A point met in one cell of the Loom that is nearly a point of another part of it."""
    for point in parts if len(parts) <= MOST_POINTS else ():
        cell = _only_cell(point, book)
        others = [other for other in parts if parts[other] != parts[point]]
        if cell and (meant := nearest(point, others)):
            return cell, point, meant
    return None


def _lacks_a_branch(apart: Sequence[Wire], book: JobBook, parts: Mapping[str, str]) -> Problem:
    """Told at the first branch of the smallest part that wires come from or go to."""
    points: dict[str, list[str]] = defaultdict(list)
    for point, part in parts.items():
        points[part].append(point)
    ends = [pin.point for wire in apart for pin in (wire.start, wire.finish)]
    met = dict.fromkeys(parts[book.place(end)] for end in ends)
    small = min(met, key=lambda part: len(points[part]))
    branch = next(branch for branch in book.branches if parts[branch.start] == small)
    says = (
        f"the loom is in {len(points)} parts: no branch joins {_first_of(points[small])} to the "
        f"rest, and {len(apart)} wires have no way"
    )
    return error(branch.row.where("from"), says, "the missing branch, on this sheet", cause=True)


def _first_of(names: Iterable[str]) -> str:
    every = list(names)
    more = len(every) - SEVERAL
    return ", ".join(every[:SEVERAL]) + (f" and {more} more" if more > 0 else "")
