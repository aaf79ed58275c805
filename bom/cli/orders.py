"""Orders: what was ordered, what has come of it."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bom.cli import complete
from bom.cli.booking import Again, DryRun, Yes, book_it, stock_app
from bom.cli.show import Force, Json

if TYPE_CHECKING:
    from bom.workshop.shelf_requests import Twice

_HOLD_AGAIN = "bom stock hold JOB, so that no other job takes what has come for it"


@stock_app.command("receive", epilog="Example: bom stock receive order.xlsx --dry-run")
def stock_receive(  # one parameter an option: that is how Typer learns them
    order: Annotated[
        Path,
        typer.Argument(
            metavar="ORDER", help="An order as bom order --xlsx or --csv wrote it, put right."
        ),
    ],
    supplier: Annotated[
        list[str] | None,
        typer.Option(
            "--from",
            metavar="SUPPLIER",
            autocompletion=complete.suppliers,
            help="Only what came from this supplier.",
        ),
    ] = None,
    place: Annotated[
        str, typer.Option("--place", metavar="PLACE", help="Where what is new is put.")
    ] = "",
    rest: Annotated[
        bool, typer.Option("--rest", help="Only what has not come in with an earlier parcel.")
    ] = False,
    again: Again = False,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Book an order in: new reels with names of their own, the drawer filled, costs recorded.

    Put the quantities right in the file first: 0 for what has not come.
    """
    from bom.job import find_workshop
    from bom.workshop.shelf_requests import receive
    from bom.workshop.stockroom import How

    workshop = find_workshop(Path.cwd())
    twice: Twice = "rest" if rest else "again" if again else ""
    plan = receive(workshop, order, suppliers=supplier or (), place=place, twice=twice)
    how = How(dry_run=dry_run, force=force, yes=yes)
    book_it(workshop, plan, how, "received", json=json, then=_HOLD_AGAIN)
