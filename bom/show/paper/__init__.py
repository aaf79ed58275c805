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
    from bom.trade.catalogue import Catalogue
    from bom.trade.job_book import Colour

Shown: TypeAlias = dict[str, Any]
"""Text, lists and maps of text, as the sheets are made from."""
PaperSheet = Literal[
    "quotation", "order", "shopping", "count", "cut", "bench", "labels", "loom", "record"
]

_LARGE = 400_000
"""Letters: of so many on a sheet typst keeps more in memory than the next sheet takes."""
_KEPT_FOR = 10
"""So many sheets more it keeps what it worked out for one (typst 0.15, measured)."""

_TEMPLATE = Path(__file__).with_name("sheets.typ")


def pdf(sheet: PaperSheet, shown: Mapping[str, Any]) -> bytes:
    """The sheet of that kind as PDF; `shown` holds text, lists and maps of text, and null.

    Each kind tells in `sheets.typ` what it shows.  ValueError for a picture that is none.
    """
    import typst

    told = json.dumps(shown)
    try:
        made = typst.compile(
            str(_TEMPLATE),
            format="pdf",
            ignore_system_fonts=True,
            sys_inputs={"sheet": sheet, "shown": told},
        )
        for _ in range(_KEPT_FOR if len(told) > _LARGE else 0):
            typst.compile(b"", ignore_system_fonts=True)  # nothing: so that it lets go of it
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
    return stripe_of(job.workshop.catalogue, colour)


def stripe_of(catalogue: "Catalogue", colour: "Colour | None") -> Shown:
    """The same, where no job is at hand."""
    hexes = {row.word: row.hex for row in catalogue.colours}
    return {
        "colour": str(colour or "any colour"),
        "body": hexes.get(colour.body if colour else "", "#ffffff"),
        "trace": hexes.get(colour.trace) if colour and colour.trace else None,
    }
