"""The commands that make a workshop or a job book."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bom.cli.screen import echo
from bom.cli.show import found
from bom.cli.tell import refuse, tell, writing
from bom.cli.usage import Commands
from bom.trade.problem import as_typed, has_errors

if TYPE_CHECKING:
    from bom.workshop.as_made import AsMade

new_app = Commands(help="Make a workshop folder, or a job book in it.", no_args_is_help=True)


@new_app.command("workshop", epilog="Example: bom new workshop my-workshop")
def new_workshop(
    path: Annotated[
        Path, typer.Argument(metavar="PATH", help="A folder to make, or an empty one.")
    ],
) -> None:
    """Make a workshop: house rules, blank books and one worked job.

    workshop.toml, stock.xlsx, prices.xlsx, suppliers.xlsx and jobs/example.xlsx, each explained in
    itself.  Prices and stock are the example's: put your own in their place.
    """
    from bom.trade.catalogue_files import load_catalogue
    from bom.workshop.new_books import Exists
    from bom.workshop.new_books import new_workshop as make

    catalogue, _ = load_catalogue()
    with writing(path):
        try:
            made = make(path, catalogue)
        except Exists as fault:
            refuse(str(fault))
    for name in made:
        echo(f"made {name}")
    echo(f"next: bom quote {as_typed(path / 'jobs' / 'example.xlsx')}")


@new_app.command("job", epilog="Example: bom new job old-twin")
def new_job(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="The job's name; its book is jobs/NAME.xlsx.")
    ],
    like: Annotated[
        Path | None,
        typer.Option("--like", metavar="JOB", help="Begin as this job's book, with no customer."),
    ] = None,
    record: Annotated[
        Path | None,
        typer.Option(
            "--record",
            metavar="JOB",
            help="Begin as this job was made: gauges, colours, fuses and wires of its record.",
        ),
    ] = None,
) -> None:
    """Make a job book inside a workshop: a blank one, one like another, or as one was made."""
    from bom.job import find_workshop
    from bom.workshop.job_like import job_like
    from bom.workshop.new_books import Exists
    from bom.workshop.new_books import new_job as make

    if like and record:
        refuse("--like and --record: one book to begin from", "one of the two", code=2)
    workshop = find_workshop(Path.cwd())
    if workshop.folder is None:
        refuse("not in a workshop folder; try: bom new workshop PATH")
    made: Path | None
    other, recorded = like or record, _recorded(record)
    with writing(workshop.folder / "jobs"):
        try:
            if other is None:
                made = make(workshop.folder, name, workshop.catalogue)
                then = "fill in its Circuits sheet"
            else:
                made, problems = job_like(workshop, name, found(other), recorded)
                tell(problems)
                then = _still_of_the_other(recorded) or "change in it what is different"
        except Exists as fault:
            refuse(str(fault))
    if made is None:
        raise typer.Exit(1)
    echo(f"made {made}", f"next: {then}, then: bom check {as_typed(made.stem)}")


def _still_of_the_other(recorded: "AsMade | None") -> str:
    """What of a book as one was made is that job's own, and done once perhaps."""
    book = recorded.plan.book if recorded else None
    lists = (("Labour", book.labour), ("Extras", book.extras)) if book else ()
    names = " and ".join(name for name, rows in lists if rows)
    return f"look over {names}, still those of '{book.job}'" if book and names else ""


def _recorded(job: Path | None) -> "AsMade | None":
    """How a job was made; leaves with 1 where its book or its sheet has errors."""
    if job is None:
        return None
    from bom.workshop.as_made import as_made

    made = as_made(found(job))
    if has_errors(made.problems):
        tell([problem for problem in made.problems if problem.level == "error"])
        raise typer.Exit(1)
    tell([problem for problem in made.problems if problem not in made.plan.problems])
    return made
