"""The commands of the shelf: what is on it, what comes and goes, and the drawer filled up."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bom.cli.booking import WRITING, DryRun, Yes, asked, book_it, stock_app
from bom.cli.jobs import Demanded, OrderSheets, Place, Without, app, buy
from bom.cli.ordering import ToPlace, Wish, ordered, show_order
from bom.cli.progress import working
from bom.cli.screen import echo
from bom.cli.show import Csv, Force, Json, Show, Xlsx, emit
from bom.cli.tell import give_up, refuse, tell
from bom.files import clock
from bom.trade.problem import Problem, has_errors

if TYPE_CHECKING:
    from bom.files.table import Table
    from bom.shelf.moves import Difference, Shelf
    from bom.show.shelf_found import Only, Shown


@app.command(epilog="Example: bom topup")
def topup(  # one parameter an option: that is how Typer learns them
    learn: Annotated[
        bool, typer.Option("--learn", help="Propose low and full marks from the moves.")
    ] = False,
    without: Without = None,
    demanded: Demanded = None,
    place: Place = False,
    yes: Annotated[bool, typer.Option("--yes", help="With --learn: write the marks.")] = False,
    dry_run: DryRun = False,
    force: Force = False,
    pdf: OrderSheets = None,
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
    wish = Wish(topup=True, without=without or (), demanded=demanded or ())
    then = "bom topup --place, when you send it off"
    placing = ToPlace(place=place, dry_run=dry_run, force=force)
    show_order(ordered(wish, placing), wish, then, json, (xlsx, csv, pdf))


def _learn(
    answers: tuple[bool, bool, bool], json: bool, xlsx: Path | None, csv: Path | None
) -> None:
    """Propose marks from the moves, and write them on the owner's yes."""
    from bom.job import find_workshop, house_rules
    from bom.show.shelf_json import learned_out
    from bom.show.shelf_tables import learned_tables
    from bom.workshop.shelf_requests import learned, mark
    from bom.workshop.stockroom import How, book

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
        with working(WRITING):
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
    held: Annotated[
        bool, typer.Option("--held", help="Only what is set aside: for whom, since when.")
    ] = False,
    low: Annotated[
        bool, typer.Option("--low", help="Only what is under its low mark, the lowest first.")
    ] = False,
    value: Annotated[
        bool, typer.Option("--value", help="What the shelf is worth at cost, for the year's end.")
    ] = False,
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
    from bom.show.shelf_found import everything, narrowed
    from bom.show.shelf_json import stock_out
    from bom.show.shelf_tables import rebuilt_table
    from bom.workshop.shelf_requests import shelf_shown

    only = _only(held, low, value)
    bought = buy([], on_order=False)
    shelf, by_hand = shelf_shown(bought.stock)
    edits = () if has_errors(bought.problems) else shelf.differences()
    if edits and _to_be_taken_over(edits, yes, json):
        _take_over(edits, force)
        bought = buy([], on_order=False)
        shelf, by_hand = shelf_shown(bought.stock)
    problems = (*bought.problems, *by_hand)
    shown = everything(shelf)
    if words and not has_errors(problems):
        shown = with_words(words, shown, problems)
    shown = narrowed(shelf, shown, only)

    def tables() -> "tuple[Table, ...]":
        rebuilt = (rebuilt_table(shelf, shown),) if rebuild else ()
        return (*_tables(only, shelf, shown), *rebuilt)

    show = Show(
        problems,
        lambda: stock_out(shelf, shown, problems, rebuild=rebuild, value=value),
        tables,
        currency=bought.rules.currency,
        next_step="" if only and shown.is_empty else _THEN[only],
        first=bought.lacking,
    )
    emit(show, json, xlsx, csv)


_THEN: "Mapping[Only, str]" = {
    "": "bom topup",
    "held": "bom stock issue JOB, or bom stock release JOB",
    "low": "bom topup",
    "value": "bom stock sheet --pdf FILE, to count what there is",
}


def _only(held: bool, low: bool, value: bool) -> "Only":
    """The one list that is asked for; leaves with 2 where it is more than one."""
    if held + low + value > 1:
        refuse("--held, --low and --value are three lists", "one of them", code=2)
    return "held" if held else "low" if low else "value" if value else ""


def _tables(only: "Only", shelf: "Shelf", shown: "Shown") -> "tuple[Table, ...]":
    from bom.show.shelf_tables import held_table, low_table, stock_tables
    from bom.show.shelf_worth import worth_tables

    if only == "held":
        return (held_table(shelf, shown.holds),)
    if only == "low":
        return (low_table(shelf, shown.drawer),)
    return worth_tables(shown, clock.today()) if only else stock_tables(shelf, shown)


def with_words(words: list[str], shown: "Shown", problems: "Sequence[Problem]") -> "Shown":
    """The rows with these words; leaves with what comes nearest where there is none."""
    from bom.job import find_workshop
    from bom.show.shelf_found import Finder

    finder = Finder(words, find_workshop(Path.cwd()).catalogue)
    found = finder.found(shown)
    if found.is_empty:
        tell(problems)
        refuse(*finder.nothing(shown))
    return found


def _to_be_taken_over(edits: "Sequence[Difference]", yes: bool, json: bool) -> bool:
    from bom.workshop.stockroom import largest

    things = "1 thing was" if len(edits) == 1 else f"{len(edits)} things were"
    asks = f"{things} changed by hand{largest(edits)}. Take over as counts?"
    return yes or (not json and asked(asks))


def _take_over(edits: "Sequence[Difference]", force: bool) -> None:
    """Write counts for all hand edits, and say so beside the output."""
    from bom.job import find_workshop
    from bom.workshop.shelf_requests import take_over_all
    from bom.workshop.stockroom import How, book, largest

    with working(WRITING):
        booked = book(find_workshop(Path.cwd()), take_over_all, How(force=force))
    if has_errors(booked.problems):
        tell(booked.problems)
        give_up(booked.problems)
    echo(f"taken over as counts: {len(edits)}{largest(edits)}", err=True)
    for remark in booked.remarks:
        echo(remark, err=True)


_OfAnItem = Annotated[
    str, typer.Argument(metavar="ITEM", help="An item of the drawer, or the name of a piece.")
]
_SoMuch = Annotated[
    str, typer.Argument(metavar="NUMBER", help="How many, or how long: 4, or 1.2 m.")
]


@stock_app.command("count", epilog="Example: bom stock count 'bullet cover, male' 118")
def stock_count(
    item: _OfAnItem,
    number: Annotated[
        str,
        typer.Argument(metavar="NUMBER", help="What was counted: 40, or a length such as 8.4 m."),
    ],
    yes: Annotated[
        bool, typer.Option("--yes", help="Though it is ten times what the book said, or a tenth.")
    ] = False,
    dry_run: DryRun = False,
    force: Force = False,
    json: Json = False,
) -> None:
    """Set what is on hand to what was counted.

    Ten times what the book said and more, or a tenth and less, is asked.
    """
    from bom.job import find_workshop
    from bom.workshop.shelf_requests import count
    from bom.workshop.stockroom import How

    workshop = find_workshop(Path.cwd())
    how = How(dry_run=dry_run, force=force, yes=yes)
    book_it(workshop, count(workshop, item, number), how, "counted", json=json)


@stock_app.command("take", epilog="Example: bom stock take 'bullet cover, male' 4")
def stock_take(  # one parameter an option: that is how Typer learns them
    item: _OfAnItem,
    number: _SoMuch,
    yes: Yes = False,
    dry_run: DryRun = False,
    force: Force = False,
    json: Json = False,
) -> None:
    """Take some of an item, or a length of a piece, off the shelf.

    What was set aside for a job and is taken is free again, and the job is named.  What a job
    uses is issued: bom stock issue JOB.
    """
    from bom.job import find_workshop
    from bom.workshop.shelf_requests import take
    from bom.workshop.stockroom import How

    workshop = find_workshop(Path.cwd())
    how = How(dry_run=dry_run, force=force, yes=yes)
    book_it(workshop, take(workshop, item, number), how, "taken", json=json)


@stock_app.command("putin", epilog="Example: bom stock putin 'bullet cover, male' 4")
def stock_putin(  # one parameter an option: that is how Typer learns them
    item: _OfAnItem,
    number: _SoMuch,
    yes: Annotated[
        bool, typer.Option("--yes", help="Though it is ten times what there was, or of a full one.")
    ] = False,
    dry_run: DryRun = False,
    force: Force = False,
    json: Json = False,
) -> None:
    """Put some of an item into the drawer, back or new; a length becomes a piece of its own.

    What was ordered is received: bom stock receive ORDER.
    """
    from bom.job import find_workshop
    from bom.workshop.shelf_requests import put_in
    from bom.workshop.stockroom import How

    workshop = find_workshop(Path.cwd())
    how = How(dry_run=dry_run, force=force, yes=yes)
    book_it(workshop, put_in(workshop, item, number), how, "put in", json=json)


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
    book_it(find_workshop(Path.cwd()), undo, how, "undone", json=json, then="bom stock show")
