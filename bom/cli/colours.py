"""The command that proposes colours."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bom.cli.jobs import app
from bom.cli.progress import working
from bom.cli.screen import echo
from bom.cli.show import (
    Csv,
    JobPath,
    Json,
    Sets,
    Show,
    Xlsx,
    as_asked,
    emit,
    found,
    refuse_to_write,
    then,
)
from bom.cli.tell import give_up, tell, writing
from bom.trade.problem import as_typed

if TYPE_CHECKING:
    from bom.job import Job
    from bom.workshop.colour_reasons import Reasons
    from bom.workshop.colours import Proposal


@app.command(epilog="Example: bom colours sample_projects/workshop/jobs/twin.xlsx --all")
def colours(
    job: JobPath,
    every: Annotated[
        bool, typer.Option("--all", help="For each wire, as if no colour were typed.")
    ] = False,
    fill: Annotated[
        Path | None,
        typer.Option(
            "--fill", metavar="FILE", help="Write a copy of the job book with the cells filled in."
        ),
    ] = None,
    sets: Sets = None,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Propose a colour for each wire without one, none for two circuits in a branch.

    A circuit keeps its body colour from end to end; a trace may come in.  First as many wires as
    can be are in their usual colour, then as much as can be comes from the shelf, then the rest
    costs least.  House rules: `line_worth`, `order_seconds`.
    """
    from bom.show.colour_json import colours_out
    from bom.show.colour_tables import colour_listing, colour_tables
    from bom.workshop.colours import propose

    step = f"bom colours {as_typed(job)}{' --all' if every else ''} --fill FILE"
    refuse_to_write(sets, fill is not None, step)
    book = found(job)
    with working("looking for colours"):
        opened = _opened(book, sets)
        proposal = propose(opened, all_wires=every)
        reasons = _reasons(proposal)
    if proposal.job and not json and not (reasons and reasons.given):
        if every:
            echo("no wire gets another colour than it has")
        else:
            echo("every wire has a colour", f"next: bom colours {as_asked(job, sets)} --all")
    show = Show(
        proposal.problems,
        lambda: colours_out(reasons, proposal.problems),
        lambda: colour_tables(reasons) if reasons and reasons.given else (),
        (lambda: colour_listing(reasons)) if reasons else None,
        currency=opened.rules.currency,
        next_step=f"bom check {as_typed(fill)}" if fill else then(step, job, sets),
        jobs=((job, opened),),
        first=proposal.lacking,
        files=_copy(book, reasons, fill) if fill and reasons else {},
        makes_folders=True,
    )
    emit(show, json, xlsx, csv)


def _opened(book: Path, sets: Sequence[str] | None) -> "Job":
    from bom.job import open_job

    return open_job(book, colours_to_come=True, sets=sets or ())


def _reasons(proposal: "Proposal") -> "Reasons | None":
    from bom.workshop.colour_reasons import Reasons

    if proposal.question is None or proposal.answer is None:
        return None
    return Reasons(proposal, proposal.question, proposal.answer)


def _copy(book: Path, reasons: "Reasons", copy: Path) -> dict[Path, bytes]:
    from bom.shelf.stockbook.edits import Unwritable
    from bom.workshop.colour_cells import filled_in

    with writing(copy):
        try:
            return filled_in(book, reasons.given, copy)
        except Unwritable as refusal:
            tell(refusal.problems)
            give_up(refusal.problems)
