"""What `bom takeoff` and `bom cut` print: all that the job needs, and what is cut from what."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from bom.files.table import Heading, Table
from bom.show.shared import BENCH_CAUTIONS, left_over, quantity
from bom.trade.needs import Cut, Need
from bom.trade.wires import SizedWire

if TYPE_CHECKING:
    from bom.estimate import Bought
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


# ------------------------------------------------------------------------------ cut list


def cut_tables(bought: "Bought") -> tuple[Table, ...]:
    """The cut list, and what is left of each opened piece."""
    wires = bought.wires

    def of(cut: Cut) -> SizedWire:
        return wires[cut.job, cut.wire]

    listing = Table.of(
        f"{', '.join(job.name for job in bought.jobs)}: cut list",
        bought.cuts,
        Heading("gauge", lambda cut: cut.gauge),
        Heading("colour", lambda cut: str(cut.colour)),
        Heading("cut from", lambda cut: cut.piece),
        Heading("length", lambda cut: cut.length_mm, "mm", total=True),
        Heading("job", lambda cut: cut.job, shown=len(bought.jobs) > 1),
        Heading("wire", lambda cut: cut.wire),
        Heading("from", lambda cut: str(of(cut).wire.start), wide=24),
        Heading("from end", lambda cut: of(cut).start_end),
        Heading("to", lambda cut: str(of(cut).wire.finish), wide=24),
        Heading("to end", lambda cut: of(cut).finish_end),
        Heading("circuit", lambda cut: of(cut).wire.circuit, wide=24),
        notes=(
            "Covers go on before terminals; crimp twice: conductor, then insulation.",
            *BENCH_CAUTIONS,
        ),
    )
    return (listing, _offcut_table(bought))


def _offcut_table(bought: "Bought") -> Table:
    useful = bought.jobs[0].rules.useful_offcut_mm
    return Table.of(
        "left over",
        left_over(bought),
        Heading("piece", lambda left: left[0].piece),
        Heading("gauge", lambda left: left[0].gauge),
        Heading("colour", lambda left: str(left[0].colour)),
        Heading("left", lambda left: left[0].length_mm, "mm"),
        Heading("then", lambda left: left[1]),
        notes=(f"useful from {useful} mm up (house rule useful_offcut_mm)",),
    )
