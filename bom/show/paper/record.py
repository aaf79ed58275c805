"""The machine's own paper: its tables with the colours drawn, its plugs, its loom."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import groupby

from bom.files.spelling import fold
from bom.show.paper import Shown
from bom.show.paper.loom import DrawnLoom
from bom.show.record_tables import (
    POINTS,
    Point,
    WireAtPin,
    by_heading,
    facts,
    fuses_table,
    gauge,
    loads_table,
    points,
    tests_table,
    wires_table,
)
from bom.show.shared import RECORD_CAUTIONS
from bom.workshop.as_made import AsMade


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
        "fuses": by_heading(fuses_table(job)),
        "wires": [
            {**row, **_stripe(row["colour"], hexes)} for row in by_heading(wires_table(made))
        ],
        "points": [{"title": title, "points": own} for title, own in kinds.items()],
        "loads": by_heading(loads_table(job)),
        "tests": by_heading(tests_table(made.tests)),
        "pictures": loom.to_scale,
    }


def _stripe(colour: str, hexes: Mapping[str, str]) -> Shown:
    body, _, trace = colour.partition("/")
    return {"body": hexes.get(body, "#ffffff"), "trace": hexes.get(trace)}


def _point(point: Point, hexes: Mapping[str, str]) -> Shown:
    groups = groupby(point.wires, key=lambda end: end.pin)
    pins = [[_end(end, hexes) for end in ends] for _, ends in groups]
    return {"name": point.name, "says": point.says, "pins": pins, "face": _face(point, pins)}


def _face(point: Point, pins: Sequence[Sequence[Shown]]) -> list[list[Shown | None]]:
    """The rows of a plug's pins, each with its wires; None where there is no pin."""
    wires = {fold(ends[0]["pin"]): ends for ends in pins}
    return [
        [{"pin": pin, "wires": wires.get(fold(pin), ())} if pin else None for pin in row]
        for row in point.face
    ]


def _end(end: WireAtPin, hexes: Mapping[str, str]) -> Shown:
    row = end.wire.wire
    colour = str(row.colour or "any colour")
    return {
        "pin": end.pin.pin,
        "wire": row.label,
        "gauge": gauge(end.wire),
        "colour": colour,
        **_stripe(colour, hexes),
        "circuit": row.circuit,
        "other": str(end.other),
    }
