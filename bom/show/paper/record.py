"""The machine's own paper: its tables with the colours drawn, its plugs, its loom."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from bom.files.spelling import fold
from bom.show.paper import Shown
from bom.show.paper.loom import DrawnLoom
from bom.show.record_tables import (
    POINTS,
    Point,
    WireAtPin,
    by_heading,
    colour,
    facts,
    fuses_table,
    gauge,
    loads_table,
    not_drawn,
    not_written_down,
    points,
    tests_table,
    wires_table,
)
from bom.show.shared import RECORD_CAUTIONS
from bom.workshop.as_made import AsMade

_UNTOLD = "pins as they are typed: which wires go into which half cannot be told"


def record_sheet(made: AsMade, loom: DrawnLoom) -> Shown:
    """Fuses, wires, every point with its wires, loads, tests, and the loom to scale."""
    job = made.job
    hexes = {row.word: row.hex for row in job.workshop.catalogue.colours}
    by_kind: dict[str, list[Shown]] = defaultdict(list)
    for point in points(job):
        by_kind[point.kind].append(_point(point, hexes))
    kinds = {POINTS[kind]: by_kind[kind] for kind in POINTS if by_kind[kind]}
    return {
        "title": f"{job.name}: wiring as {'made' if made.sheet else 'planned'}",
        "about": facts(made),
        "cautions": RECORD_CAUTIONS,
        "fuses": by_heading(fuses_table(made)),
        "wires": [
            {**row, **_stripe(row["colour"], hexes)} for row in by_heading(wires_table(made))
        ],
        "not_drawn": not_drawn(made),
        "points": [
            {"title": title, "seen": _seen(own), "points": own} for title, own in kinds.items()
        ],
        "loads": by_heading(loads_table(job)),
        "tests": by_heading(tests_table(made.tests)),
        "untested": not_written_down(made.tests),
        "pictures": loom.to_scale,
    }


def _stripe(colour: str, hexes: Mapping[str, str]) -> Shown:
    body, _, trace = colour.partition("/")
    return {"body": hexes.get(body, "#ffffff"), "trace": hexes.get(trace)}


def _point(point: Point, hexes: Mapping[str, str]) -> Shown:
    groups = groupby(point.wires, key=lambda end: end.pin)
    pins = [[_end(end, hexes) for end in ends] for _, ends in groups]
    faces = [*_faces(point, hexes)] if point.face else []
    return {"name": point.name, "says": point.says, "pins": pins, "faces": faces}


def _seen(points: Sequence[Shown]) -> str:
    """From where the faces are drawn; empty where there are none."""
    titles = [face["title"] for point in points for face in point["faces"]]
    otherwise = ", unless it says otherwise" if _UNTOLD in titles else ""
    return f"Drawn as seen from the side where the wires go in{otherwise}." if titles else ""


def _faces(point: Point, hexes: Mapping[str, str]) -> Iterator[Shown]:
    """A face for each half of a plug in the loom; the second is the first in a mirror."""
    across = max(map(len, point.face))
    rows = [[*row, *[""] * (across - len(row))] for row in point.face]
    if not point.halves:
        yield {"title": _UNTOLD * point.in_loom, "rows": _pins(rows, point.wires, hexes)}
    for half in point.halves:
        own = [end for end in point.wires if end.half == str(half)]
        yield {"title": str(half), "rows": _pins(rows, own, hexes)}
        rows = [row[::-1] for row in rows]


def _pins(
    rows: Sequence[Sequence[str]], ends: Sequence[WireAtPin], hexes: Mapping[str, str]
) -> list[list[Shown | None]]:
    """The rows of a face, each pin with its wires; None where there is no pin."""
    wires: dict[str, list[Shown]] = defaultdict(list)
    for end in ends:
        wires[fold(end.pin.pin)].append(_end(end, hexes))
    return [
        [{"pin": pin, "wires": wires.get(fold(pin), ())} if pin else None for pin in row]
        for row in rows
    ]


def _end(end: WireAtPin, hexes: Mapping[str, str]) -> Shown:
    row = end.wire.wire
    words = colour(end.wire)
    return {
        "pin": end.pin.pin,
        "wire": row.label,
        "gauge": gauge(end.wire),
        "colour": words,
        **_stripe(words, hexes),
        "circuit": row.circuit,
        "other": str(end.other),
    }
