"""What comes off the shelf for a job, and goes back to it."""

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import typer

from bom.cli.booking import Again, DryRun, Yes, book_it, stock_app, workshop_of
from bom.cli.jobs import JobPaths
from bom.cli.show import Force, JobPath, Json, found
from bom.trade.problem import as_typed


@stock_app.command("hold", epilog="Example: bom stock hold twin single")
def stock_hold(
    jobs: JobPaths,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Set pieces and counts aside for jobs: other jobs no longer see them.

    Jobs that are named together share the shelf, as in their order.  Hold again after a change to
    a job, and when its order has come.
    """
    from bom.workshop.shelf_requests import hold
    from bom.workshop.stockroom import How

    books = [found(job) for job in jobs]
    how = How(dry_run=dry_run, force=force, yes=yes)
    then = f"bom stock issue {_typed(jobs)}, or where something is short bom order"
    book_it(workshop_of(books[0]), hold(*books), how, "set aside", json=json, then=then)


def _typed(jobs: Iterable[Path]) -> str:
    return " ".join(map(as_typed, jobs))


@stock_app.command("release", epilog="Example: bom stock release twin")
def stock_release(
    job: JobPath,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Set free what is set aside for a job."""
    from bom.workshop.shelf_requests import release
    from bom.workshop.stockroom import How

    book = found(job)
    how = How(dry_run=dry_run, force=force, yes=yes)
    book_it(workshop_of(book), release(book, str(job)), how, "set free", json=json)


@stock_app.command("issue", epilog="Example: bom stock issue twin --part --dry-run")
def stock_issue(  # one parameter an option: that is how Typer learns them
    jobs: JobPaths,
    again: Again = False,
    in_part: Annotated[
        bool, typer.Option("--part", help="Take what there is, though something is short.")
    ] = False,
    rest: Annotated[
        bool, typer.Option("--rest", help="Take what was left when the job was issued before.")
    ] = False,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Take out what the cut list and take-off of jobs say; short rests are scrapped.

    What is short stops it, but for spares; --part takes what there is, and --rest later what was
    left.  A rest of `useful_offcut_mm` or more stays under its name.
    """
    from bom.workshop.shelf_requests import issue
    from bom.workshop.stockroom import How

    books = [found(job) for job in jobs]
    plan = issue(*books, again=again, in_part=in_part, rest=rest)
    how = How(dry_run=dry_run, force=force, yes=yes)
    then = f"bom done {as_typed(jobs[0])}, when the loom is made"
    if in_part:
        then = f"bom stock issue {_typed(jobs)} --rest, when what is short has come; or {then}"
    book_it(workshop_of(books[0]), plan, how, "issued", json=json, then=then)


@stock_app.command("takeback", epilog="Example: bom stock takeback twin --dry-run")
def stock_takeback(
    jobs: JobPaths,
    uncut: Annotated[
        bool, typer.Option("--uncut", help="Nothing has been cut yet: all lengths are whole.")
    ] = False,
    cut: Annotated[
        list[str] | None,
        typer.Option("--cut", metavar="WIRE", help="This wire is cut, none but those named."),
    ] = None,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Put back what was issued for a job that was called off.

    Cut wires come back as offcuts with names of their own, short ones are scrap; parts go back to
    the drawer.  With --uncut, or --cut for each wire that is cut, the rest goes back on its piece.
    The job teaches `bom learn` nothing, and can be held and issued anew.
    """
    from bom.workshop.shelf_requests import take_back
    from bom.workshop.stockroom import How

    books = [(found(job), str(job)) for job in jobs]
    workshop = workshop_of(books[0][0])
    how = How(dry_run=dry_run, force=force, yes=yes)
    plan = take_back(workshop, books, cut or (() if uncut else None))
    book_it(workshop, plan, how, "taken back", json=json, then="bom stock show")
