"""The commands of the price lists."""

import re
import sys
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from bom.cli import complete
from bom.cli.jobs import JobPaths, estimated
from bom.cli.progress import working
from bom.cli.screen import echo, width_of, wrapped
from bom.cli.show import Csv, Force, Json, Show, Xlsx, emit
from bom.cli.tell import refuse, writing
from bom.cli.usage import Commands
from bom.files import clock
from bom.trade.problem import as_typed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bom.job import Workshop
    from bom.read.matching import Matched
    from bom.show.price_found import ShownPrices
    from bom.trade.orders import Price
    from bom.trade.problem import Problem
    from bom.workshop.price_history import Paid

prices_app = Commands(help="The price lists: add a supplier's, show them.", no_args_is_help=True)

_ANSWERS = (
    "    a number (2, or 2 x 50 where the price buys 50), n for none of these,"
    " Enter to be asked again, q to stop asking"
)


@prices_app.command(
    "add",
    epilog='Example: bom prices add lists/factors.csv --supplier "Example Motor Factors"',
)
def prices_add(  # one parameter an option: that is how Typer learns them
    list_: Annotated[
        Path, typer.Argument(metavar="FILE", help="The supplier's list: .xlsx, .ods or .csv.")
    ],
    supplier: Annotated[
        str | None,
        typer.Option(
            "--supplier",
            metavar="NAME",
            help="Whose list it is.",
            autocompletion=complete.suppliers,
        ),
    ] = None,
    price_for: Annotated[
        str,
        typer.Option("--price-for", metavar="WORD", help="What its prices are for: each or pack."),
    ] = "",
    new_supplier: Annotated[
        bool,
        typer.Option(
            "--new-supplier", help="It is on no list yet, though its name is like one that is."
        ),
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Show it, ask nothing, write nothing.")
    ] = False,
    force: Force = False,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Add a supplier's own list: what is sure is booked, what is doubtful is asked.

    The list may have columns of its own.  Answers are kept in answers.csv, and may be given there:
    yes or no under `answer`, the right item under `ours`.  Your suppliers' own words go into
    catalogs/words.csv, their headings into [columns.Lists] in workshop.toml.

    A list of bom prices wanted is taken as it is: its rows may say under `supplier` who sells it,
    and what has no price yet is left out.
    """
    from bom.job import find_workshop, house_rules
    from bom.show.price_json import added_out
    from bom.show.price_tables import added_tables
    from bom.workshop.price_lists import ListAsked, add_prices
    from bom.workshop.stockroom import How

    if price_for not in ("", "each", "pack"):
        raise typer.BadParameter(f"'{price_for}' is neither each nor pack")
    if supplier is None and not _is_wanted(list_):
        raise typer.BadParameter("bom prices add needs --supplier (whose list it is)")
    if supplier is not None and not supplier.strip():
        raise typer.BadParameter("a supplier needs a name")
    kinds: dict[str, Literal["", "each", "pack"]] = {"each": "each", "pack": "pack"}
    asked = ListAsked(
        path=list_,
        supplier=(supplier or "").strip(),
        price_for=kinds.get(price_for, ""),
        day=clock.today(),
        is_new=new_supplier,
    )
    workshop = find_workshop(Path.cwd())
    on_a_terminal = sys.stdin.isatty() and not (json or dry_run)
    how = How(dry_run=dry_run, force=force)
    with writing(list_), working("setting the list beside the catalogues"):
        added = add_prices(workshop, asked, how, _ask if on_a_terminal else None)
    rules, _ = house_rules(workshop)
    show = Show(
        added.problems,
        lambda: added_out(added),
        lambda: added_tables(added),
        currency=rules.currency,
        next_step="the same without --dry-run" if dry_run else "bom order JOB",
        booked="the prices are booked all the same" if added.written else "",
    )
    emit(show, json, xlsx, csv)


def _is_wanted(path: Path) -> bool:
    """True for a list of prices wanted, whose rows may say who sells it."""
    from bom.job import find_workshop
    from bom.read.wanted_list import read_wanted

    workshop = find_workshop(Path.cwd())
    return read_wanted(path, workshop.catalogue, workshop.own)[0] is not None


def _ask(one: "Matched") -> "Matched | Literal['no', 'later', 'stop']":
    """Show a doubtful row with its candidates, and take the owner's word for it."""
    from bom.show.price_tables import form_of

    listed = one.listed
    echo("", f"{listed.words}  {listed.part_no}  {listed.price}", err=True)
    echo(f"    {'; '.join(one.doubts)}", err=True)
    for number, goods in enumerate(one.nearest, start=1):
        echo(f"    {number}  {goods}, {form_of(one)}", err=True)
    while True:
        said = typer.prompt(
            wrapped(_ANSWERS, width_of(sys.stderr)),
            default="",
            show_default=False,
            err=True,
        )
        answer = understood(one, str(said).strip().casefold())
        if answer:
            return answer


def understood(one: "Matched", said: str) -> "Matched | Literal['no', 'later', 'stop'] | None":
    """What the owner's word means; None where it means nothing, and is asked for again."""
    words: dict[str, Literal["no", "later", "stop"]] = {
        **{"": "later", "n": "no", "no": "no", "q": "stop", "quit": "stop"}
    }
    if said in words:
        return words[said]
    found = re.fullmatch(r"(\d+)(?:\s*x\s*(\d+))?", said)
    if not found or not 1 <= int(found[1]) <= len(one.nearest) or (found[2] and not int(found[2])):
        return None
    sold = one.buying(Decimal(found[2])) if found[2] else (one.sold_as, one.pack)
    return one.settled(one.nearest[int(found[1]) - 1], *sold)


@prices_app.command(
    "wanted", epilog="Example: bom prices wanted twin single --csv prices-wanted.csv"
)
def prices_wanted(jobs: JobPaths, json: Json = False, xlsx: Xlsx = None, csv: Csv = None) -> None:
    """List what of these jobs has no price, as a list to fill in and to add.

    Type the price beside it, who sells it under `supplier`, and the pack where the price is for
    more than one, or send the list to a supplier; then: bom prices add FILE.
    """
    from bom.show.price_json import wanted_out
    from bom.show.price_tables import wanted_table
    from bom.workshop.prices_wanted import prices_wanted as wanted_for

    each = [estimated(job) for job in jobs]
    names = [bought.jobs[0].name for bought, _ in each]
    problems = tuple(dict.fromkeys(problem for bought, _ in each for problem in bought.problems))
    about = {problem for bought, _ in each for problem in bought.of_the_order}
    wanted = wanted_for(each)
    to_fill = xlsx or csv
    again = " ".join(map(as_typed, jobs))
    show = Show(
        problems,
        lambda: wanted_out(wanted, problems),
        lambda: (wanted_table(wanted, names),),
        currency=each[0][0].rules.currency,
        next_step=_after_wanting(bool(wanted), to_fill, again),
        jobs=tuple((job, bought.jobs[0]) for job, (bought, _) in zip(jobs, each, strict=True)),
        aside=tuple(about),
    )
    emit(show, json, xlsx, csv)


def _after_wanting(any_wanted: bool, to_fill: Path | None, jobs: str) -> str:
    if not any_wanted:
        return f"bom order {jobs}"
    if to_fill:
        return f"type the prices, then: bom prices add {as_typed(to_fill)}"
    return f"bom prices wanted {jobs} --csv FILE"


@prices_app.command("paid", epilog="Example: bom prices paid 2026-002")
def prices_paid(
    number: Annotated[
        str,
        typer.Argument(
            metavar="NUMBER",
            autocompletion=complete.orders,
            help="An order of which something came.",
        ),
    ],
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show it, and write nothing.")] = False,
    force: Force = False,
    json: Json = False,
) -> None:
    """Put what an order cost into the price list, where that has other prices, with the day."""
    from bom.job import find_workshop
    from bom.show.price_json import paid_out
    from bom.show.price_tables import paid_table
    from bom.workshop.invoice_prices import paid_on
    from bom.workshop.stockroom import How

    with working("writing the price book"):
        booked = paid_on(find_workshop(Path.cwd()), number, How(dry_run=dry_run, force=force))
    show = Show(
        booked.problems,
        lambda: paid_out(booked),
        lambda: (paid_table(booked, number),),
        next_step="bom prices show ITEM" if booked.written else "",
    )
    emit(show, json)


@prices_app.command("show", epilog="Example: bom prices show 1.0 red")
def prices_show(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WORD...]",
            help="Only what has these words: an item, gauge, colour, supplier, part number ...",
        ),
    ] = None,
    supplier: Annotated[
        str,
        typer.Option(
            "--supplier",
            metavar="NAME",
            help="Only this supplier's, by a part of the name.",
            autocompletion=complete.suppliers,
        ),
    ] = "",
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Show the price lists, and how old each price is; with words, what was paid before too.

    What was paid stands in your orders and in what came in, what a list said before in the copies
    of it.  An order at prices older than `price_age_days` says so.
    """
    from bom.estimate import price_book
    from bom.job import find_workshop, house_rules
    from bom.show.price_json import prices_out
    from bom.show.price_tables import prices_tables

    workshop = find_workshop(Path.cwd())
    with working("reading the price lists"):
        book, problems = price_book(workshop)
        shown, more = _shown(workshop, book.prices, words or (), supplier)
    problems = (*problems, *more)
    rules, _ = house_rules(workshop)
    show = Show(
        problems,
        lambda: prices_out(shown, problems),
        lambda: prices_tables(shown, clock.today()),
        currency=rules.currency,
        next_step="bom prices add FILE --supplier NAME",
        first=[p for p in problems if p.level == "caution" and not p.where.file],
    )
    emit(show, json, xlsx, csv)


def _shown(
    workshop: "Workshop", prices: "Sequence[Price]", words: "Sequence[str]", supplier: str
) -> "tuple[ShownPrices, tuple[Problem, ...]]":
    """The prices of a supplier; those with the words, and what is known beside them.

    Leaves with what comes nearest where nothing has the words.
    """
    from bom.files.spelling import fold
    from bom.show.price_found import ShownPrices, nothing, with_words
    from bom.show.shelf_found import Finder
    from bom.workshop.price_history import past_prices

    def of_the_supplier(row: "Price | Paid") -> bool:
        return fold(supplier) in fold(row.supplier)

    own = tuple(filter(of_the_supplier, prices))
    if not words:
        return ShownPrices(prices=own), ()
    past, problems = past_prices(workshop, prices)
    its_past = tuple(filter(of_the_supplier, past))
    shown = ShownPrices(prices=own, past=its_past, is_whole=not problems)
    finder = Finder(words, workshop.catalogue)
    found = with_words(finder, shown)
    if found.is_empty:
        refuse(*nothing(finder, shown))
    return found, problems
