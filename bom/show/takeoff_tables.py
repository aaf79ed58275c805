"""What `bom takeoff` prints: all that the job needs, and how much."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bom.files.table import Heading, Table
from bom.show.shared import quantity
from bom.trade.needs import Need

if TYPE_CHECKING:
    from bom.job import Job


def takeoff_tables(job: "Job") -> tuple[Table, ...]:
    """Cable by gauge and colour, then everything that is counted or measured."""
    needs = job.takeoff.needs if job.takeoff else ()
    cables = [need for need in needs if need.kind == "cable"]
    others = [need for need in needs if need.kind != "cable"]
    return (_cable_table(job, cables), _parts_table(job, others))


def takeoff_listing(job: "Job") -> Table:
    """The whole bill of materials in one table, for a spreadsheet."""
    return Table.of(
        f"take-off {job.name}",
        job.takeoff.needs if job.takeoff else (),
        Heading("kind", lambda need: need.kind),
        Heading("item", lambda need: need.item),
        Heading("gauge", lambda need: need.gauge),
        Heading("colour", lambda need: str(need.colour or "")),
        Heading("quantity", lambda need: need.quantity, "quantity"),
        Heading("unit", lambda need: need.unit),
        Heading("for", lambda need: " ".join(need.wires)),
    )


def _cable_table(job: "Job", needs: Sequence[Need]) -> Table:
    return Table.of(
        f"{job.name}: cable",
        needs,
        Heading("gauge", lambda need: need.gauge),
        Heading("colour", lambda need: str(need.colour or "")),
        Heading("pieces", lambda need: len(need.pieces), "count", total=True),
        Heading("longest", lambda need: max(length for length, _ in need.pieces), "mm"),
        Heading("spare", lambda need: need.spare_mm, "mm"),
        Heading("needed", lambda need: need.quantity / 1000, "m", total=True),
        Heading("for wires", lambda need: " ".join(need.wires), wide=44),
    )


def _parts_table(job: "Job", needs: Sequence[Need]) -> Table:
    return Table.of(
        f"{job.name}: everything else",
        needs,
        Heading("kind", lambda need: need.kind.replace("_", " ")),
        Heading("item", lambda need: need.item, wide=60),
        *quantity("needed"),
        Heading("wires", lambda need: len(need.wires) or None, "count"),
        notes=("allowances for waste and spares are in these figures: 'bom why' shows each",),
    )
