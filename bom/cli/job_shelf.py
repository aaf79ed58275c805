"""What comes off the shelf for a job, and goes back to it."""

from typing import Annotated

import typer

from bom.cli.booking import Again, DryRun, Yes, book_it, stock_app, workshop_of
from bom.cli.show import Force, JobPath, Json, found
from bom.trade.problem import as_typed


@stock_app.command("hold", epilog="Example: bom stock hold twin")
def stock_hold(
    job: JobPath,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Set pieces and counts aside for a job: other jobs no longer see them.

    Hold again after a change to the job, and when its order has come.
    """
    from bom.workshop.shelf_requests import hold
    from bom.workshop.stockroom import How

    book = found(job)
    how = How(dry_run=dry_run, force=force, yes=yes)
    book_it(
        workshop_of(book),
        hold(book),
        how,
        "set aside",
        json=json,
        then=f"bom stock issue {as_typed(job)}, or where something is short bom order",
    )


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
    job: JobPath,
    again: Again = False,
    in_part: Annotated[
        bool, typer.Option("--part", help="Take what there is, though something is short.")
    ] = False,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Take out what a job's cut list and take-off say; short rests are scrapped.

    What is short stops it.  A rest of `useful_offcut_mm` or more stays under its name.
    """
    from bom.workshop.shelf_requests import issue
    from bom.workshop.stockroom import How

    book = found(job)
    plan = issue(book, again=again, in_part=in_part)
    how = How(dry_run=dry_run, force=force, yes=yes)
    then = f"bom done {as_typed(job)}, when the loom is made"
    book_it(workshop_of(book), plan, how, "issued", json=json, then=then)
