"""Printed sheets as PDF, through typst and its own fonts: plain data in, bytes out.

What is printed comes as text that is shown as it is typed: the template reads it as data, and
nothing in it is taken for markup.  The same data gives the same bytes.
"""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

if TYPE_CHECKING:
    from bom.job import Job
    from bom.trade.job_book import Colour

Shown: TypeAlias = dict[str, Any]
"""Text, lists and maps of text, as the sheets are made from."""
PaperSheet = Literal[
    "quotation", "order", "shopping", "count", "cut", "bench", "labels", "loom", "record"
]

_TEMPLATE = Path(__file__).with_name("sheets.typ")


def pdf(sheet: PaperSheet, shown: Mapping[str, Any]) -> bytes:
    """The sheet of that kind as PDF; `shown` holds text, lists and maps of text, and null.

    Each kind tells in `sheets.typ` what it shows.  ValueError for a picture that is none.
    """
    import typst

    try:
        made = typst.compile(
            str(_TEMPLATE),
            format="pdf",
            ignore_system_fonts=True,
            sys_inputs={"sheet": sheet, "shown": json.dumps(shown)},
        )
    except typst.TypstError as fault:
        raise ValueError(f"cannot be printed: {fault}") from fault
    return bytes(made)


def about(job: "Job") -> list[tuple[str, str]]:
    """What stands on top of a sheet of a job: for whom, which machine, and its name."""
    book = job.book
    who, machine = (book.customer, book.machine) if book else ("", "")
    known = (("for", who), ("machine", machine), ("job", job.name))
    return [(name, value) for name, value in known if value]


def in_colour(job: "Job", colour: "Colour | None") -> Shown:
    """A colour in words, and for its stripe in RGB."""
    hexes = {row.word: row.hex for row in job.workshop.catalogue.colours}
    return {
        "colour": str(colour or "any colour"),
        "body": hexes.get(colour.body if colour else "", "#ffffff"),
        "trace": hexes.get(colour.trace) if colour and colour.trace else None,
    }
