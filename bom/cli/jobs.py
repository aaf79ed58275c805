"""The commands of a job."""

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from msgspec.structs import replace

from bom.cli import complete
from bom.cli.ordering import LOOKING, ToPlace, Wish, ordered, show_order, to_place
from bom.cli.progress import working
from bom.cli.screen import echo, echo_json, echo_table, width_of
from bom.cli.show import (
    Csv,
    Force,
    JobPath,
    Json,
    Sets,
    Show,
    Xlsx,
    emit,
    found,
    leave_books_alone,
    open_jobs,
    refuse_to_write,
    tell_the_rest,
    then,
    told_in_json,
)
from bom.cli.tell import refuse, tell, writing
from bom.cli.usage import NAMED, Commands, one_too_many
from bom.files.spelling import fold
from bom.trade.problem import as_typed, has_errors

if TYPE_CHECKING:
    from bom.estimate import Bought
    from bom.job import Job
    from bom.trade.quotes import Quote

app = Commands(
    name="bom",
    help="From a list of circuits to cable, terminals, order, cut list and price.\n\n"
    "Alone, inside a workshop: what is due next.  Every command names the one that comes next.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

JobPaths = Annotated[
    list[Path],
    typer.Argument(
        metavar="JOB...",
        autocompletion=complete.jobs,
        help="One job book or more, by path or name.",
    ),
]
Without = Annotated[
    list[str] | None,
    typer.Option(
        "--without",
        metavar="SUPPLIER",
        autocompletion=complete.suppliers,
        help="Buy nothing from this supplier.",
    ),
]
Demanded = Annotated[
    list[str] | None,
    typer.Option(
        "--with",
        metavar="SUPPLIER",
        autocompletion=complete.suppliers,
        help="Buy something from this supplier.",
    ),
]
OrderSheets = Annotated[
    Path | None,
    typer.Option(
        "--pdf", metavar="FOLDER", help="Write an order for each supplier, as .pdf, into it."
    ),
]
Place = Annotated[
    bool, typer.Option("--place", help="Write it into Orders of the stock book: it is sent off.")
]
DryPlace = Annotated[
    bool, typer.Option("--dry-run", help="With --place: show it, and write nothing.")
]

_TO_BEGIN = """\
bom reads your list of circuits and works out cable, terminals, order, cut list and price.

to begin:
  bom new workshop PATH   makes a folder with house rules, blank books and one worked job
  bom check JOB           looks through a list of circuits that you have, wherever it lies

bom --help lists all commands."""


# ------------------------------------------------------------------------------ commands


@app.callback(invoke_without_command=True)
def alone(context: typer.Context) -> None:
    """Say what is due next in this workshop, or outside one how to begin."""
    if context.invoked_subcommand is not None:
        return
    from bom.files.table import as_text
    from bom.job import find_workshop
    from bom.show.shelf_tables import due_table
    from bom.workshop.due import due

    workshop = find_workshop(Path.cwd())
    if workshop.folder is None:
        echo(*_TO_BEGIN.split("\n"))
        return
    with working("looking through the jobs"):
        next_due = due(workshop)
    echo_table(as_text(due_table(next_due, workshop.folder.name), width_of(sys.stdout)))


@app.command(epilog="Example: bom check sample_projects/workshop/jobs/twin.xlsx")
def check(
    job: JobPath,
    suggest_colours: Annotated[
        bool,
        typer.Option("--suggest-colours", help="Fill blank colours with the usual ones, in print."),
    ] = False,
    columns: Annotated[
        bool, typer.Option("--columns", help="Show what each heading of the book is taken for.")
    ] = False,
    each: Annotated[
        bool, typer.Option("--all", help="Tell what is alike one by one, not in one sentence.")
    ] = False,
    sets: Sets = None,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Show everything wrong or doubtful in a job, at once, with cells.

    An error stops the job, a caution does not; the cause comes first, and what is alike is one
    sentence.  A row `accept` on the sheet Job (`Circuits E8: why`) takes a caution out of the
    count.  Then every wire with its load, fuse, volts lost and time on; what made a wire thicker
    than load and fuse ask for; the warmest branch.
    """
    from bom.show.check_tables import check_tables, not_looked_at
    from bom.show.job_json import check_out
    from bom.workshop.looked_at import look_at

    if columns:
        _show_columns(job, json, xlsx, csv)
    opened = _open(job, sets, suggest_colours=suggest_colours)
    if not json and not sets:
        look_at(opened)
    show = Show(
        opened.problems,
        lambda: check_out(opened),
        lambda: check_tables(opened),
        next_step=then(f"bom takeoff {as_typed(job)}", job, sets),
        jobs=((job, opened),),
        looking="each" if each else "alike",
        not_looked_at=not_looked_at(opened),
    )
    emit(show, json, xlsx, csv)


@app.command(epilog="Example: bom takeoff sample_projects/workshop/jobs/twin.xlsx")
def takeoff(
    job: JobPath, sets: Sets = None, json: Json = False, xlsx: Xlsx = None, csv: Csv = None
) -> None:
    """List everything the job needs, with honest allowances."""
    from bom.show.job_json import takeoff_out
    from bom.show.takeoff_tables import takeoff_listing, takeoff_tables

    opened = _open(job, sets)
    show = Show(
        opened.problems,
        lambda: takeoff_out(opened),
        lambda: takeoff_tables(opened),
        lambda: takeoff_listing(opened),
        next_step=then(f"bom order {as_typed(job)}", job, sets),
        jobs=((job, opened),),
    )
    emit(show, json, xlsx, csv)


@app.command(epilog="Example: bom cut sample_projects/workshop/jobs/twin.xlsx")
def cut(
    jobs: JobPaths, sets: Sets = None, json: Json = False, xlsx: Xlsx = None, csv: Csv = None
) -> None:
    """Print the cut list: every wire, its piece, and the reel or offcut it comes from.

    Jobs that are ordered together are cut together: they share the shelf and the new cable.
    """
    from bom.show.cut_tables import cut_tables
    from bom.show.job_json import cut_out

    bought = buy(jobs, sets)
    step = f"bom pack {' '.join(map(as_typed, jobs))} --out FOLDER"
    step = f"bom quote {as_typed(jobs[0])}" if len(jobs) == 1 else step
    show = Show(
        bought.problems,
        lambda: cut_out(bought),
        lambda: cut_tables(bought),
        next_step=then(step, jobs[0], sets),
        jobs=tuple(zip(jobs, bought.jobs, strict=True)),
        aside=bought.of_the_order,
        first=bought.lacking,
    )
    emit(show, json, xlsx, csv)


@app.command(epilog="Example: bom order sample_projects/workshop/jobs/twin.xlsx --topup")
def order(  # one parameter an option: that is how Typer learns them
    jobs: JobPaths,
    topup: Annotated[bool, typer.Option("--topup", help="Fill the drawer up as well.")] = False,
    place: Place = False,
    without: Without = None,
    demanded: Demanded = None,
    sets: Sets = None,
    dry_run: DryPlace = False,
    force: Force = False,
    pdf: OrderSheets = None,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Print the shopping list for one job or several, less what is on the shelf.

    It is the order that costs least in all, over reels, metres, packs, postage and minimum orders;
    under it stands whether that is proved.  House rules: `trim_mm`, `reel_end_mm`,
    `leftover_worth`, `order_seconds`.  What is on order already is not bought again.
    """
    step = to_place(jobs)
    refuse_to_write(sets, place, step.partition(",")[0])
    sold = {"without": without or (), "demanded": demanded or ()}
    wish = Wish(jobs=jobs, topup=topup, **sold, sets=sets or ())
    placing = ToPlace(place=place, dry_run=dry_run, force=force)
    show_order(ordered(wish, placing), wish, then(step, jobs[0], sets), json, (xlsx, csv, pdf))


@app.command(epilog="Example: bom pack sample_projects/workshop/jobs/twin.xlsx --out twin-papers")
def pack(
    jobs: JobPaths,
    out: Annotated[
        Path,
        typer.Option("--out", metavar="FOLDER", help="The folder that the sheets are put into."),
    ],
    json: Json = False,
) -> None:
    """Print the job: quotation, bench sheets, labels, orders as PDF, and all of it as .xlsx.

    NAME.html is the job on a tablet or phone at the bench: it needs no network.
    Of several jobs each has a folder of its own, and they share shelf and orders.
    Print loom.pdf and labels.pdf at 100 %, not fitted to the page.  Name, address, logo and terms
    are house rules, in workshop.toml or on the sheet Job.
    """
    from bom.cli.existing_files import put_together
    from bom.show.job_json import pack_out
    from bom.show.pack import pack_tables, packed, unmade, workbooks_of
    from bom.workshop.register import since_given, unnumbered

    bought, estimates = _quoted(jobs)
    since = [since_given(job, own) for job, own in zip(bought.jobs, estimates, strict=False)]
    made: dict[Path, bytes] = {}
    if estimates:
        for path in (out, *workbooks_of(bought, out)):
            leave_books_alone(path)
        with writing(out), working("setting the sheets"):
            made = packed(bought, estimates, out, [own.holds for own in since])
        put_together(made, folders=True)
        each = zip(since, bought.jobs, jobs, strict=True)
        told = (p for own, job, typed in each for p in unnumbered(own, job, as_typed(typed)))
        lacking = (
            p for own, typed in zip(estimates, jobs, strict=True) for p in unmade(own, typed)
        )
        bought = replace(bought, problems=(*bought.problems, *told, *lacking))
    customers = "quotation.pdf for the customer, " * all(own.complete for own in estimates)
    show = Show(
        bought.problems,
        lambda: pack_out(bought, made),
        lambda: pack_tables(bought, made),
        next_step=f"print {customers}bench.pdf for the bench",
        jobs=tuple(zip(jobs, bought.jobs, strict=True)),
        first=bought.lacking,
    )
    emit(show, json)


@app.command(epilog="Example: bom why sample_projects/workshop/jobs/twin.xlsx P6")
def why(
    context: typer.Context,
    job: JobPath,
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT",
            autocompletion=complete.wires,
            help="A wire's label, an item of the take-off, or: total, labour, fuse, supplier.",
        ),
    ],
    name: Annotated[
        str,
        typer.Argument(
            metavar="[NAME]",
            autocompletion=complete.named,
            help="Behind fuse or supplier: which one.",
        ),
    ] = "",
    sets: Sets = None,
    json: Json = False,
) -> None:
    """Show how the numbers of a wire or an item came about: rule, figures, source.

    `bom why JOB labour` tells each operation, `bom why JOB fuse NAME` the loads and wires behind
    a fuse, `bom why JOB supplier NAME` what the order would cost without.
    """
    from bom.show.job_json import as_json, why_out
    from bom.show.why import TOTAL, WORK
    from bom.show.why import why as reasons

    if name and fold(what) not in NAMED:
        one_too_many(context, "name")
    bought = buy([job], sets)
    opened = bought.jobs[0]
    tell([problem for problem in bought.problems if problem.level == "error"])
    with working(LOOKING):
        subject, lines = reasons(bought, what, name)
    if not subject and not has_errors(opened.problems):
        cure = f"a wire or an item of: bom takeoff {as_typed(job)}"
        refuse(lines[0], "" if "; try: " in lines[0] else cure, code=2)
    tell(bought.lacking)
    if json:
        echo_json(as_json(why_out(opened, subject or what, lines) | told_in_json(opened.sets)))
    elif subject:
        echo(*filter(None, (opened.variant,)), *lines)
    priced = subject in (TOTAL, WORK) or subject.startswith("supplier ")
    told = (*bought.lacking, *(() if priced else bought.of_the_order))
    tell_the_rest([p for p in bought.problems if p not in told], ((job, opened),))
    wrong = bought.problems if priced else opened.problems
    raise typer.Exit(1 if has_errors(wrong) else 0)


# ----------------------------------------------------------------------------- the doing


def _show_columns(job: Path, json: bool, xlsx: Path | None, csv: Path | None) -> None:
    from bom.job import columns_of
    from bom.show.check_tables import columns_table
    from bom.show.job_json import columns_out

    taken, problems = columns_of(found(job))
    show = Show(
        problems,
        lambda: columns_out(taken, problems),
        lambda: (columns_table(taken),) if taken else (),
        next_step=f"bom check {as_typed(job)}",
        anyway=True,
    )
    emit(show, json, xlsx, csv)


def _open(job: Path, sets: Sequence[str] | None, *, suggest_colours: bool = False) -> "Job":
    from bom.job import open_job

    book = found(job)
    with working("working out the loom"):
        return open_job(book, suggest_colours=suggest_colours, sets=sets or ())


def _quoted(jobs: Sequence[Path]) -> "tuple[Bought, list[Quote]]":
    """The jobs bought for together, and each one's own estimate; none where there are errors."""
    from msgspec.structs import replace

    each = [estimated(job) for job in jobs]
    bought = each[0][0] if len(each) == 1 else buy(jobs)
    of_one = (p for own, _ in each for p in own.problems if p not in own.of_the_order)
    problems = dict.fromkeys((*bought.problems, *of_one))
    estimates = [estimate for _, estimate in each if estimate is not None]
    bought = replace(bought, problems=tuple(problems))
    return bought, [] if has_errors(bought.problems) else estimates


def estimated(job: Path, sets: Sequence[str] | None = None) -> "tuple[Bought, Quote | None]":
    """What a job takes, and its price; None where it has errors."""
    from bom.estimate import quote_for
    from bom.workshop.came_out import with_past

    with working("looking for the cheapest order, and the price"):
        bought, estimate = quote_for(open_jobs([job], sets)[0])
        return bought, with_past(bought, estimate) if estimate else None


def buy(
    jobs: Iterable[Path], sets: Sequence[str] | None = None, *, on_order: bool = True
) -> "Bought":
    """Buy for jobs what the shelf does not have, nor what is on order unless that is left out."""
    from bom.estimate import buy_for

    with working(LOOKING):
        return buy_for(open_jobs(jobs, sets), on_order=on_order)
