"""The commands of the shelf: what is on it, what comes and goes, and the drawer filled up."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bom.cli import complete
from bom.cli.jobs import Demanded, Without, app, buy, show_order
from bom.cli.progress import clear, working
from bom.cli.screen import echo, echo_table, width_of
from bom.cli.show import Csv, Force, JobPath, Json, Show, Xlsx, emit, found
from bom.cli.tell import give_up, refuse, tell
from bom.cli.usage import Commands
from bom.trade.problem import Problem, as_typed, has_errors

if TYPE_CHECKING:
    from bom.job import Workshop
    from bom.show.shelf_found import Shown
    from bom.workshop.stockroom import Booked, How, Request, Twice

stock_app = Commands(
    help="The shelf: what is on it, what comes and goes.\n\n"
    "Your book stays yours: only cells that change are written, each change is a row of the sheet "
    "Moves, and copies of the book as it was lie in .bom beside it.",
    no_args_is_help=True,
)

_WRITING = "writing the stock book"
_HOLD_AGAIN = "bom stock hold JOB, so that no other job takes what has come for it"
DryRun = Annotated[bool, typer.Option("--dry-run", help="Show it, and write nothing.")]
Yes = Annotated[bool, typer.Option("--yes", help="Take hand edits over as counts, unasked.")]
Again = Annotated[bool, typer.Option("--again", help="Do it although it was done before.")]


@app.command(epilog="Example: bom topup")
def topup(  # one parameter an option: that is how Typer learns them
    learn: Annotated[
        bool, typer.Option("--learn", help="Propose low and full marks from the moves.")
    ] = False,
    without: Without = None,
    demanded: Demanded = None,
    yes: Annotated[bool, typer.Option("--yes", help="With --learn: write the marks.")] = False,
    dry_run: DryRun = False,
    force: Force = False,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """List the drawer items under their low mark, in packs; or learn those marks from use.

    Learning takes eight weeks of moves.  House rules: `lead_days`, `service_percent`,
    `order_cost`, `holding_percent`.
    """
    if learn:
        _learn((yes, dry_run, force), json, xlsx, csv)
    bought = buy([], topping_up=True, without=without or (), demanded=demanded or ())
    show_order(bought, (), "bom stock show", json, (xlsx, csv))


def _learn(
    answers: tuple[bool, bool, bool], json: bool, xlsx: Path | None, csv: Path | None
) -> None:
    """Propose marks from the moves, and write them on the owner's yes."""
    from bom.job import find_workshop, house_rules
    from bom.show.shelf_json import learned_out
    from bom.show.shelf_tables import learned_tables
    from bom.workshop.stockroom import How, book, learned, mark

    yes, dry_run, force = answers
    workshop = find_workshop(Path.cwd())
    with working("learning from the moves"):
        found, problems = learned(workshop)
    if found is None:
        tell(problems)
        give_up(problems)
    changes = sum(mark.changed for mark in found.marks)
    booked = None
    if changes and yes:
        with working(_WRITING):
            booked = book(workshop, mark(found), How(dry_run=dry_run, force=force, yes=True))
        problems = booked.problems
    written = booked is not None and booked.written
    rules, _ = house_rules(workshop)
    then = "bom topup" if written else "bom topup --learn --yes writes these marks" * bool(changes)
    show = Show(
        problems,
        lambda: learned_out(found, written, problems),
        lambda: learned_tables(found, rules),
        currency=rules.currency,
        next_step=then,
        booked="the marks are written all the same" if written else "",
    )
    emit(show, json, xlsx, csv)


@stock_app.command("show", epilog="Example: bom stock show")
def stock_show(  # one parameter an option: that is how Typer learns them
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WORD...]", help="Only what has these words: an item, gauge, colour, job ..."
        ),
    ] = None,
    rebuild: Annotated[
        bool, typer.Option("--rebuild", help="Reckon the shelf from opening count and moves too.")
    ] = False,
    yes: Yes = False,
    force: Force = False,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Show what is on the shelf, what is set aside and runs low, and what was changed by hand.

    With words only the rows that have all of them: bom stock show 1.0 red.
    """
    from bom.show.shelf_found import everything
    from bom.show.shelf_json import stock_out
    from bom.show.shelf_tables import rebuilt_table, stock_tables
    from bom.workshop.stockroom import shelf_shown

    bought = buy([])
    shelf, by_hand = shelf_shown(bought.stock)
    if by_hand and not has_errors(bought.problems) and _to_be_taken_over(len(by_hand), yes, json):
        _take_over(force)
        bought = buy([])
        shelf, by_hand = shelf_shown(bought.stock)
    problems = (*bought.problems, *by_hand)
    shown = everything(shelf)
    if words and not has_errors(problems):
        shown = _with_words(words, shown, problems)
    show = Show(
        problems,
        lambda: stock_out(shelf, shown, problems, rebuild=rebuild),
        lambda: (*stock_tables(shelf, shown), *([rebuilt_table(shelf, shown)] if rebuild else [])),
        next_step="bom topup",
        first=bought.lacking,
    )
    emit(show, json, xlsx, csv)


def _with_words(words: list[str], shown: "Shown", problems: "Sequence[Problem]") -> "Shown":
    """The rows with these words; leaves with what comes nearest where there is none."""
    from bom.job import find_workshop
    from bom.show.shelf_found import Finder

    finder = Finder(words, find_workshop(Path.cwd()).catalogue)
    found = finder.found(shown)
    if found.is_empty:
        tell(problems)
        refuse(*finder.nothing(shown))
    return found


def _to_be_taken_over(number: int, yes: bool, json: bool) -> bool:
    things = "1 thing was" if number == 1 else f"{number} things were"
    asks = f"{things} changed by hand. Take the book's figures over as counts?"
    return yes or (not json and asked(asks))


def _take_over(force: bool) -> None:
    """Write counts for all hand edits, and say so beside the output."""
    from bom.job import find_workshop
    from bom.workshop.stockroom import How, book, take_over_all

    with working(_WRITING):
        booked = book(find_workshop(Path.cwd()), take_over_all, How(force=force))
    if has_errors(booked.problems):
        tell(booked.problems)
        give_up(booked.problems)
    echo(f"taken over as counts: {len(booked.entries)}", err=True)


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
    from bom.workshop.stockroom import How, hold

    book = found(job)
    how = How(dry_run=dry_run, force=force, yes=yes)
    _book(
        _workshop_of(book),
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
    from bom.workshop.stockroom import How, release

    book = found(job)
    how = How(dry_run=dry_run, force=force, yes=yes)
    _book(_workshop_of(book), release(book, str(job)), how, "set free", json=json)


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
    from bom.workshop.stockroom import How, issue

    book = found(job)
    plan = issue(book, again=again, in_part=in_part)
    how = How(dry_run=dry_run, force=force, yes=yes)
    then = f"bom done {as_typed(job)}, when the loom is made"
    _book(_workshop_of(book), plan, how, "issued", json=json, then=then)


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
    from bom.workshop.stockroom import How, receive

    workshop = find_workshop(Path.cwd())
    twice: Twice = "rest" if rest else "again" if again else ""
    plan = receive(workshop, order, suppliers=supplier or (), place=place, twice=twice)
    how = How(dry_run=dry_run, force=force, yes=yes)
    _book(workshop, plan, how, "received", json=json, then=_HOLD_AGAIN)


@stock_app.command("count", epilog="Example: bom stock count 'bullet cover, male' 118")
def stock_count(
    item: Annotated[
        str, typer.Argument(metavar="ITEM", help="An item of the drawer, or the name of a piece.")
    ],
    number: Annotated[
        str,
        typer.Argument(metavar="NUMBER", help="What was counted: 40, or a length such as 8.4 m."),
    ],
    dry_run: DryRun = False,
    force: Force = False,
    json: Json = False,
) -> None:
    """Set what is on hand to what was counted."""
    from bom.job import find_workshop
    from bom.workshop.stockroom import How, count

    workshop = find_workshop(Path.cwd())
    how = How(dry_run=dry_run, force=force)
    _book(workshop, count(workshop, item, number), how, "counted", json=json)


@stock_app.command("undo", epilog="Example: bom stock undo --dry-run")
def stock_undo(
    dry_run: DryRun = False, force: Force = False, yes: Yes = False, json: Json = False
) -> None:
    """Reverse the last command; once more, and the one before it is reversed.

    The reversal is written down too.
    """
    from bom.job import find_workshop
    from bom.workshop.stockroom import How, undo

    how = How(dry_run=dry_run, force=force, yes=yes)
    _book(find_workshop(Path.cwd()), undo(), how, "undone", json=json, then="bom stock show")


# ----------------------------------------------------------------------------- the doing


def _workshop_of(job: Path) -> "Workshop":
    from bom.job import find_workshop

    return find_workshop(job.parent)


def _book(
    workshop: "Workshop",
    plan: "Request",
    how: "How",
    done: str,
    *,
    json: bool,
    then: str = "",
) -> None:
    """Change the stock book, asking first where it was changed by hand, and show what was done."""
    from msgspec.structs import replace

    from bom.show.shelf_json import booked_out
    from bom.show.shelf_tables import booked_tables
    from bom.workshop.stockroom import book

    with working(_WRITING):
        booked = book(workshop, plan, how)
    if taken_over(booked, json):
        with working(_WRITING):
            booked = book(workshop, plan, replace(how, yes=True))
    show = Show(
        booked.problems,
        lambda: booked_out(booked),
        lambda: booked_tables(booked, done),
        next_step=then if booked.written else "",
    )
    emit(show, json)


def taken_over(booked: "Booked", json: bool) -> bool:
    """Show the hand edits that wait, beside the output; true on the owner's yes to them."""
    from bom.files.table import as_text
    from bom.show.shelf_tables import by_hand_table

    if not booked.waits or json:
        return False
    echo_table(as_text(by_hand_table(booked.by_hand), width_of(sys.stderr)), err=True)
    return asked("Take the book's figures over as counts, and go on?")


def asked(question: str) -> bool:
    """The owner's answer; no where nobody can be asked."""
    clear()
    return sys.stdin.isatty() and sys.stderr.isatty() and typer.confirm(question, err=True)
