"""How every command of the shelf changes the stock book: asked where it must be, shown as done."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bom.cli.progress import clear, working
from bom.cli.screen import echo_table, width_of
from bom.cli.show import Show, emit
from bom.cli.usage import Commands

if TYPE_CHECKING:
    from bom.job import Workshop
    from bom.workshop.stockroom import Booked, How, Request

stock_app = Commands(
    help="The shelf: what is on it, what comes and goes.\n\n"
    "Your book stays yours: only cells that change are written, each change is a row of the sheet "
    "Moves, and copies of the book as it was lie in .bom beside it.",
    no_args_is_help=True,
)

WRITING = "writing the stock book"
DryRun = Annotated[bool, typer.Option("--dry-run", help="Show it, and write nothing.")]
Yes = Annotated[bool, typer.Option("--yes", help="Take hand edits over as counts, unasked.")]
Again = Annotated[bool, typer.Option("--again", help="Do it although it was done before.")]


def workshop_of(job: Path) -> "Workshop":
    """The workshop that a job lies in."""
    from bom.job import find_workshop

    return find_workshop(job.parent)


def book_it(
    workshop: "Workshop",
    plan: "Request",
    how: "How",
    done: str,
    *,
    json: bool,
    then: str = "",
) -> None:
    """Change the stock book, asking first where it was changed by hand, and show what was done."""
    show_booked(carried_out(workshop, plan, how, json=json), done, json=json, then=then)


def carried_out(workshop: "Workshop", plan: "Request", how: "How", *, json: bool) -> "Booked":
    """Change the stock book, asking first where it was changed by hand."""
    from msgspec.structs import replace

    from bom.workshop.stockroom import book

    with working(WRITING):
        booked = book(workshop, plan, how)
    if taken_over(booked, json):
        with working(WRITING):
            booked = book(workshop, plan, replace(how, yes=True))
    return booked


def show_booked(booked: "Booked", done: str, *, json: bool, then: str = "") -> None:
    """Show what was done, and leave."""
    from bom.show.shelf_json import booked_out
    from bom.show.shelf_tables import booked_tables

    show = Show(
        booked.problems,
        lambda: booked_out(booked),
        lambda: booked_tables(booked, done),
        next_step=then if booked.written else "",
    )
    emit(show, json)


def taken_over(booked: "Booked", json: bool) -> bool:
    """Show what waits for the owner's yes, beside the output; true on that yes."""
    from bom.files.table import as_text
    from bom.show.shelf_tables import by_hand_table

    if not booked.waits or json:
        return False
    doubts = "; ".join(doubt.says for doubt in booked.doubts)
    if doubts and not asked(f"{doubts}: is it so?"):
        return False
    if not booked.by_hand:
        return True
    echo_table(as_text(by_hand_table(booked.by_hand), width_of(sys.stderr)), err=True)
    return asked("Take the book's figures over as counts, and go on?")


def asked(question: str) -> bool:
    """The owner's answer; no where nobody can be asked."""
    clear()
    return sys.stdin.isatty() and sys.stderr.isatty() and typer.confirm(question, err=True)
