"""The printed sheets as PDF: from the results of the stages to files."""

from collections.abc import Iterable, Mapping
from datetime import date

from bom.estimate import Bought
from bom.files.names import file_name
from bom.show.count_sheet import CountLine
from bom.show.paper import pdf
from bom.show.paper.bench import bench_sheet
from bom.show.paper.counting import counting_sheet
from bom.show.paper.cutting import cut_sheet
from bom.show.paper.letters import (
    PRICES_WANTED,
    order_sheet,
    quotation_sheet,
    shopping_sheet,
    unpriced_sheet,
)
from bom.show.paper.loom import board_sheet, drawn_loom, label_sheet
from bom.show.paper.record import record_sheet
from bom.trade.needs import ELSEWHERE
from bom.trade.quotes import GivenQuote, Quote
from bom.workshop.as_made import AsMade


def job_papers(
    bought: Bought, estimate: Quote, today: date, given: GivenQuote | None = None
) -> dict[str, bytes]:
    """File name -> PDF: quotation, cut list, bench sheets and wire labels.

    While something has no price there is no quotation: that has to be asked for by itself.
    `given` is the quotation as it was given, where it still is what the job comes to.
    """
    job = bought.jobs[0]
    loom, whole = drawn_loom(job), estimate.complete
    has_drawing = loom.to_scale or loom.places
    return {
        **({"quotation.pdf": quotation(bought, estimate, today, given)} if whole else {}),
        "cut.pdf": pdf("cut", cut_sheet(bought)),
        "bench.pdf": pdf("bench", bench_sheet(bought, loom)),
        "labels.pdf": pdf("labels", label_sheet(job)),
        **({"loom.pdf": pdf("loom", board_sheet(job, loom))} if has_drawing else {}),
    }


def order_papers(
    bought: Bought, today: date, numbers: Mapping[str, str] | None = None
) -> dict[str, bytes]:
    """File name -> PDF: an order for each supplier, under its number where it has one.

    What nobody sells has a sheet of its own, to ask for prices with; what is to be found elsewhere
    is on a page of the workshop's own.
    """
    taken: set[str] = set()
    papers = {}
    suppliers = dict.fromkeys(line.supplier for line in bought.order.lines)
    for supplier in (name for name in suppliers if name != ELSEWHERE):
        number = (numbers or {}).get(supplier, "")
        name = file_name(" ".join(filter(None, ("order", number, supplier))), ".pdf", taken)
        papers[name] = pdf("order", order_sheet(bought, supplier, number, today))
    if bought.order.unpriced:
        name = file_name(PRICES_WANTED, ".pdf", taken)
        papers[name] = pdf("order", unpriced_sheet(bought, today))
    shopping = shopping_sheet(bought, today)
    return papers | ({"shopping.pdf": pdf("shopping", shopping)} if shopping else {})


def quotation(
    bought: Bought, estimate: Quote, today: date, given: GivenQuote | None = None
) -> bytes:
    """The sheet for the customer, as PDF; with a number where it is the one that was `given`."""
    return pdf("quotation", quotation_sheet(bought.jobs[0], estimate, today, given))


def record(made: AsMade) -> bytes:
    """The machine's own paper, as PDF."""
    return pdf("record", record_sheet(made, drawn_loom(made.job)))


def count_paper(
    lines: Iterable[CountLine], bought: Bought, words: Iterable[str], today: date
) -> bytes:
    """The sheet to count the shelf on, as PDF; `words` are those that the rows were found by."""
    about = (
        ("workshop", bought.rules.name),
        ("book", bought.stock.file),
        ("printed", str(today)),
        ("only", " ".join(words)),
    )
    hexes = {row.word: row.hex for row in bought.workshop.catalogue.colours}
    return pdf("count", counting_sheet(lines, [fact for fact in about if fact[1]], hexes))
