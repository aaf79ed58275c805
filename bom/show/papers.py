"""The printed sheets of a job as PDF: from the results of the stages to files."""

from datetime import date

from bom.estimate import Bought
from bom.files.names import file_name
from bom.show.paper import pdf
from bom.show.paper.bench import bench_sheet
from bom.show.paper.letters import order_sheet, quotation_sheet
from bom.show.paper.loom import board_sheet, drawn_loom, label_sheet
from bom.trade.quotes import GivenQuote, Quote


def order_papers(bought: Bought, today: date) -> dict[str, bytes]:
    """File name -> PDF: an order for each supplier."""
    taken: set[str] = set()
    return {
        file_name(f"order {supplier}", ".pdf", taken): pdf(
            "order", order_sheet(bought, supplier, today)
        )
        for supplier in dict.fromkeys(line.supplier for line in bought.order.lines)
    }


def job_papers(
    bought: Bought, estimate: Quote, today: date, given: GivenQuote | None = None
) -> dict[str, bytes]:
    """File name -> PDF: quotation, bench sheets and wire labels.

    `given` is the quotation as it was given, where it still is what the job comes to.
    """
    job = bought.jobs[0]
    loom = drawn_loom(job)
    return {
        "quotation.pdf": quotation(bought, estimate, today, given),
        "bench.pdf": pdf("bench", bench_sheet(bought, loom)),
        "labels.pdf": pdf("labels", label_sheet(job)),
        **({"loom.pdf": pdf("loom", board_sheet(job, loom))} if loom.to_scale else {}),
    }


def quotation(
    bought: Bought, estimate: Quote, today: date, given: GivenQuote | None = None
) -> bytes:
    """The sheet for the customer, as PDF; with a number where it is the one that was `given`."""
    return pdf("quotation", quotation_sheet(bought.jobs[0], estimate, today, given))
