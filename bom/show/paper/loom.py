"""The sheets that lie on the loom: its drawing, at full size for the board, and wire labels."""

from collections import defaultdict
from collections.abc import Mapping

from msgspec import Struct

from bom.job import Job
from bom.show.drawing import (
    Picture,
    Stretch,
    drawn,
    drawn_place,
    full_size,
    in_parts,
    overview,
)
from bom.show.paper import Shown, in_colour
from bom.trade.stowing import Filled

MOST_AT_FULL_SIZE_MM = 200_000
"""Of a longer loom there are no pages at full size: some 800, which nobody pins up."""


_TOO_LONG = (
    f"A loom of more than {MOST_AT_FULL_SIZE_MM // 1000} m is drawn to scale alone: it would take "
    "many hundred pages at full size."
)


def stretches(job: Job) -> tuple[Stretch, ...]:
    """The branches as they are drawn; none where no loom was measured."""
    coverings = job.workshop.catalogue.layers
    return tuple(
        Stretch(
            start=bundle.branch.start,
            finish=bundle.branch.finish,
            length_mm=float(bundle.branch.length_mm),
            across_mm=bundle.diameter_mm,
            covering=coverings[bundle.branch.covering],
            wires=sum(wire.wire.qty for wire in bundle.wires),
            labels=tuple(wire.wire.label for wire in bundle.wires),
        )
        for bundle in (job.takeoff.bundles if job.takeoff else ())
    )


def sits_at(job: Job) -> Mapping[str, list[str]]:
    """What sits at each point of the loom: components, and splices by their name."""
    places: dict[str, list[str]] = defaultdict(list)
    for part in job.book.components.values() if job.book else ():
        places[part.at or part.name].append(part.name)
    for wire in job.wires:
        for pin, style in (
            (wire.wire.start, wire.start_end),
            (wire.wire.finish, wire.finish_end),
        ):
            if style == "splice" and "splice" not in places[pin.point]:
                places[pin.point].append("splice")
    return places


class DrawnLoom(Struct, frozen=True):
    """The loom to scale and at full size on pages, and the places with their boxes."""

    to_scale: list[Shown]
    places: list[Shown]
    full_size: list[Shown]


def drawn_loom(job: Job) -> DrawnLoom:
    """A large loom in parts, behind a drawing of all of it; nothing where none was measured."""
    coverings = job.workshop.catalogue.layers.values()
    loom = stretches(job)
    places = [_shown(drawn_place(f"{job.name}: {p.place.point}", p)) for p in _in_use(job)]
    if not loom:
        return DrawnLoom([], places, [])
    parts = in_parts(job.name, loom, sits_at(job))
    first = [overview(job.name, parts, coverings)] if len(parts) > 1 else []
    drawings = (drawn(part.title, part.stretches, part.at, coverings) for part in parts)
    is_long = sum(each.length_mm for each in loom) > MOST_AT_FULL_SIZE_MM
    on_pages = () if is_long else parts
    pages = (page for part in on_pages for page in full_size(part.title, part.stretches, part.at))
    return DrawnLoom([*map(_shown, [*first, *drawings])], places, [*map(_shown, pages)])


def _in_use(job: Job) -> list[Filled]:
    """The places at which something has a size."""
    return [filled for filled in job.places if filled.stowed or filled.left_out]


def _shown(drawing: Picture) -> Shown:
    return {"svg": drawing.svg, "width": drawing.width_mm, "height": drawing.height_mm}


def board_sheet(job: Job, loom: DrawnLoom) -> Shown:
    """The loom to scale, the places, then at full size on pages to be pinned on a board."""
    return {
        "title": f"{job.name}: loom",
        "cautions": [] if loom.full_size or not loom.to_scale else [_TOO_LONG],
        "pictures": [*loom.to_scale, *loom.places, *loom.full_size],
    }


def label_sheet(job: Job) -> Shown:
    """Two labels a wire, one for each end, with its colour as a stripe and in words."""
    rules = job.rules
    return {
        "title": f"{job.name}: wire labels",
        "cautions": [],
        "columns": rules.label_columns,
        "rows": rules.label_rows,
        "margin": float(rules.label_margin_mm),
        "gap": float(rules.label_gap_mm),
        "labels": [
            {
                "wire": wire.wire.label,
                **in_colour(job, wire.wire.colour),
                "circuit": wire.wire.circuit,
                "ends": f"{wire.wire.start} → {wire.wire.finish}",
            }
            for wire in job.wires
            for _ in range(2 * wire.wire.qty)
        ],
    }
