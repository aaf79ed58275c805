"""What `bom cut` prints: what is cut from what, and what is left."""

from typing import TYPE_CHECKING

from bom.files.table import Heading, Table
from bom.show.shared import BENCH_CAUTIONS, left_over
from bom.trade.needs import Cut
from bom.trade.wires import SizedWire

if TYPE_CHECKING:
    from bom.estimate import Bought


def cut_tables(bought: "Bought") -> tuple[Table, ...]:
    """The cut list, and what is left of each opened piece."""
    wires = bought.wires

    def of(cut: Cut) -> SizedWire:
        return wires[cut.job, cut.wire]

    listing = Table.of(
        f"{', '.join(job.name for job in bought.jobs)}: cut list",
        bought.cuts,
        Heading("gauge", lambda cut: cut.gauge, gives_way=9),
        Heading("colour", lambda cut: str(cut.colour)),
        Heading("cut from", lambda cut: cut.piece),
        Heading("length", lambda cut: cut.length_mm, "mm", total=True),
        Heading("job", lambda cut: cut.job, shown=len(bought.jobs) > 1),
        Heading("wire", lambda cut: cut.wire),
        Heading("from", lambda cut: str(of(cut).wire.start), wide=24, gives_way=8),
        Heading("from end", lambda cut: of(cut).start_end),
        Heading("to", lambda cut: str(of(cut).wire.finish), wide=24, gives_way=8),
        Heading("to end", lambda cut: of(cut).finish_end),
        Heading("circuit", lambda cut: of(cut).wire.circuit, wide=24, gives_way=1),
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
