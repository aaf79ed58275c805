"""Orders: what is to come, what came of it, what went back and what will never come."""

import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bom.cli import complete
from bom.cli.booking import (
    Again,
    DryRun,
    Yes,
    asked,
    book_it,
    carried_out,
    show_booked,
    stock_app,
)
from bom.cli.screen import echo
from bom.cli.show import Csv, Force, Json, Show, Xlsx, emit
from bom.cli.tell import refuse, tell
from bom.trade.placed import TOP_UP
from bom.trade.problem import as_typed, counted

if TYPE_CHECKING:
    from bom.job import Workshop
    from bom.shelf.moves import Twice
    from bom.workshop.stockroom import How

_HOLD_AGAIN = "bom stock hold JOB, so that no other job takes what has come for it"
Number = Annotated[
    str,
    typer.Argument(
        metavar="NUMBER", autocompletion=complete.orders, help="The number of an order: 2026-014."
    ),
]


@stock_app.command("orders", epilog="Example: bom stock orders")
def stock_orders(
    number: Annotated[
        str,
        typer.Argument(
            metavar="[NUMBER]",
            autocompletion=complete.orders,
            help="All lines of this order, those that came as well.",
        ),
    ] = "",
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Show what is on order and still to come: since when, from whom, for which job."""
    from bom.cli.jobs import buy
    from bom.show.orders_placed import orders_out, orders_tables
    from bom.workshop.orders import to_come

    bought = buy([])
    lines = to_come(bought.stock, number)
    if number and not lines:
        refuse(f"there is no order '{number}'", "bom stock orders")
    open_numbers = [line.number for line in lines if line.to_come]
    show = Show(
        bought.problems,
        lambda: orders_out(lines, bought.problems),
        lambda: orders_tables(lines, number),
        next_step=f"bom stock receive {open_numbers[0]}" if open_numbers else "",
        first=bought.lacking,
    )
    emit(show, json, xlsx, csv)


@stock_app.command("receive", epilog="Example: bom stock receive 2026-001")
def stock_receive(  # one parameter an option: that is how Typer learns them
    order: Annotated[
        str,
        typer.Argument(
            metavar="ORDER",
            autocompletion=complete.orders,
            help="The number of an order that was placed, or a file with an order: .xlsx or .csv "
            "as bom order writes it, put right.",
        ),
    ],
    only: Annotated[
        list[str] | None,
        typer.Option(
            "--only",
            metavar="ITEM=PACKS",
            help="So many packs came of this item, and nothing that is not named.",
        ),
    ] = None,
    price: Annotated[
        list[str] | None,
        typer.Option(
            "--price", metavar="ITEM=PRICE", help="What the invoice says for one pack, without tax."
        ),
    ] = None,
    supplier: Annotated[
        list[str] | None,
        typer.Option(
            "--from",
            metavar="SUPPLIER",
            autocompletion=complete.suppliers,
            help="Of a file, only what came from this supplier.",
        ),
    ] = None,
    place: Annotated[
        str, typer.Option("--place", metavar="PLACE", help="Where what is new is put.")
    ] = "",
    rest: Annotated[
        bool, typer.Option("--rest", help="Of a file, only what has come since the last time.")
    ] = False,
    again: Again = False,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Annotated[
        bool,
        typer.Option(
            "--yes", help="Though it is ten times what was ordered, or the book changed by hand."
        ),
    ] = False,
    json: Json = False,
) -> None:
    """Book in what has come: new reels with names of their own, the drawer filled, costs recorded.

    With a number all that is still to come of that order, or the packs of --only; it is set aside
    for the jobs that wait for it; ten times what is to come, and such a price, is asked.  With a
    file its lines; put their packs right first, 0 for what has not come.
    """
    from bom.job import find_workshop
    from bom.workshop.orders import ParcelPlan, is_placed
    from bom.workshop.shelf_requests import receive
    from bom.workshop.stockroom import How

    workshop = find_workshop(Path.cwd())
    how = How(dry_run=dry_run, force=force, yes=yes)
    if os.path.exists(order) or (Path(order).suffix and not is_placed(workshop, order)):
        if only or price:
            refuse("--only and --price go with the number of an order", "the packs in the file")
        twice: Twice = "rest" if rest else "again" if again else ""
        file = receive(workshop, Path(order), suppliers=supplier or (), place=place, twice=twice)
        book_it(workshop, file, how, "received", json=json, then=_HOLD_AGAIN)
    if rest or again or supplier:
        refuse("--rest, --again and --from go with a file", "--only ITEM=PACKS")
    parcel = ParcelPlan(workshop, order, only=only, prices=price or (), place=place)
    booked = carried_out(workshop, parcel, how, json=json)
    is_offered = booked.written and bool(parcel.repriced)
    then = "bom stock orders"
    if is_offered and not _into_prices(workshop, order, how, json):
        then = f"bom prices paid {as_typed(order)}, for the price list too"
    show_booked(booked, "received", json=json, then=then)


def _into_prices(workshop: "Workshop", number: str, how: "How", json: bool) -> bool:
    """Put the invoice's prices into the price list on the owner's yes; false where it is left."""
    from bom.workshop.invoice_prices import paid_on

    if json or not asked("The invoice has other prices. Put them into the price list too?"):
        return False
    booked = paid_on(workshop, number, how)
    tell(booked.problems)
    if booked.written:
        echo(f"{booked.file}: {counted(len(booked.prices), 'price')} booked", err=True)
    return booked.written


@stock_app.command("sendback", epilog="Example: bom stock sendback 2026-003 'blade fuse, 25 A' 1")
def stock_sendback(  # one parameter an option: that is how Typer learns them
    number: Number,
    item: Annotated[
        str, typer.Argument(metavar="ITEM", help="An item of the order, or a cable: '1.0 red'.")
    ],
    packs: Annotated[str, typer.Argument(metavar="PACKS", help="How many packs go back.")],
    closed: Annotated[
        bool,
        typer.Option("--close", help="They will not come again."),
    ] = False,
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Take what came wrong or broken off the shelf again; the order is open for it."""
    from bom.job import find_workshop
    from bom.workshop.orders import SendBackPlan
    from bom.workshop.stockroom import How

    how = How(dry_run=dry_run, force=force, yes=yes)
    plan = SendBackPlan(number, item, packs, closed=closed)
    booked = carried_out(find_workshop(Path.cwd()), plan, how, json=json)
    then = _elsewhere(plan.lacking) if closed else "bom stock orders"
    show_booked(booked, "sent back", json=json, then=then)


@stock_app.command("close", epilog="Example: bom stock close 2026-003")
def stock_close(  # one parameter an option: that is how Typer learns them
    number: Number,
    item: Annotated[
        str, typer.Argument(metavar="[ITEM]", help="Only this item of the order.")
    ] = "",
    dry_run: DryRun = False,
    force: Force = False,
    yes: Yes = False,
    json: Json = False,
) -> None:
    """Put down that what is still to come of an order will not come."""
    from bom.job import find_workshop
    from bom.workshop.orders import ClosePlan
    from bom.workshop.stockroom import How

    how = How(dry_run=dry_run, force=force, yes=yes)
    plan = ClosePlan(number, item)
    booked = carried_out(find_workshop(Path.cwd()), plan, how, json=json)
    show_booked(booked, "closed", json=json, then=_elsewhere(plan.lacking))


def _elsewhere(lacking: Sequence[str]) -> str:
    """The command that orders again what the jobs and the drawer do not get.

    A job whose book has another name than the job is for the owner to name.
    """
    from bom.job import find_job

    names = [name for name in lacking if name != TOP_UP]
    jobs = [
        as_typed(name) if find_job(Path(name), Path.cwd()).exists() else "JOB" for name in names
    ]
    if not jobs:
        return "bom topup"
    return " ".join(dict.fromkeys(("bom order", *jobs, *["--topup"] * (TOP_UP in lacking))))
