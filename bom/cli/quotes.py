"""The commands of a job's price: what it comes to, given to the customer, and how jobs stand."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from msgspec.structs import replace

from bom.cli.jobs import app, estimated
from bom.cli.ordering import copied
from bom.cli.progress import working
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
    refuse_to_write,
    then,
)
from bom.cli.tell import writing
from bom.files import clock
from bom.trade.problem import Problem, Where, as_typed, caution, counted, error

if TYPE_CHECKING:
    from bom.estimate import Bought
    from bom.files.table import Table
    from bom.trade.quotes import Quote
    from bom.workshop.register import Giving, SinceGiven, Texts
    from bom.workshop.stockroom import How

_DryRun = Annotated[
    bool, typer.Option("--dry-run", help="With --give: show what it would be, and write nothing.")
]


@app.command(epilog="Example: bom quote sample_projects/workshop/jobs/twin.xlsx --customer")
def quote(  # one parameter an option: that is how Typer learns them
    job: JobPath,
    customer: Annotated[
        bool, typer.Option("--customer", help="The sheet the customer sees: no cost, no supplier.")
    ] = False,
    give: Annotated[
        bool,
        typer.Option("--give", help="Give it to the customer: a number, a row of register.xlsx."),
    ] = False,
    sets: Sets = None,
    pdf: Annotated[
        Path | None,
        typer.Option("--pdf", metavar="FILE", help="Write the customer's quotation to this .pdf."),
    ] = None,
    incomplete: Annotated[
        bool,
        typer.Option("--incomplete", help="For the customer though something has no price yet."),
    ] = False,
    dry_run: _DryRun = False,
    force: Force = False,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Work out the estimate: materials, labour, tax.

    Without --customer every line stands with its cost.  Where rows of the job book have a doubt,
    the likely range of the total is told as well.  While something has no price there is no total,
    only what it comes to so far, and nothing for the customer but with --incomplete.

    --give takes the next number, writes the quotation into register.xlsx, and keeps its PDF and
    the job book as they are in given/NUMBER.  From then on what changed since is told.  A paper
    bears the number only while the job comes to what was given under it.
    """
    from bom.show.job_json import quote_out
    from bom.show.register_json import given_out
    from bom.workshop.came_out import outside_its_range
    from bom.workshop.register import SinceGiven, as_read, since_given
    from bom.workshop.stockroom import How

    refuse_to_write(sets, give, f"bom quote {as_typed(job)} --give")
    book = as_read(found(job)) if give else {}
    bought, estimate = estimated(job, sets)
    first = bought.jobs[0]
    how = How(dry_run=dry_run, force=force)
    can_be_given = give and first.workshop.folder is not None
    outward = (customer or can_be_given or pdf is not None) and not incomplete
    if outward and estimate and not estimate.complete:
        bought, give, pdf = _unfinished(bought, estimate, job), False, None
    giving = _give(bought, estimate, book, how) if give and estimate else None
    since = SinceGiven() if sets else since_given(first, estimate)
    told = _told(job, bought, giving, since, on_paper=pdf is not None)
    off = outside_its_range(estimate, first.rules) if estimate else ()
    bought = replace(bought, problems=(*bought.problems, *told, *off))
    show = Show(
        bought.problems,
        lambda: {**quote_out(bought, estimate), "given": given_out(since)},
        lambda: _tables(bought, estimate, giving, since, customer=customer),
        currency=first.rules.currency,
        next_step=then(_next(job, estimate, giving, since, customer=customer), job, sets),
        jobs=((job, first),),
        first=(*bought.lacking, *(copied(bought.jobs) if give else ())),
        files=_quotation(bought, estimate, since, pdf),
        booked="the quotation is given all the same" if giving and giving.written else "",
    )
    emit(show, json, xlsx, csv)


def _told(
    typed: Path, bought: "Bought", giving: "Giving | None", since: "SinceGiven", *, on_paper: bool
) -> "Iterator[Problem]":
    """What is wrong with the register, which stops nothing but giving, and with the paper."""
    from bom.workshop.register import unnumbered

    if giving:
        yield from giving.problems
    elif wrong := sum(problem.level == "error" for problem in since.problems):
        file = since.problems[0].where.file
        yield caution(Where(file), f"has {counted(wrong, 'error')}", "bom jobs")
    if on_paper:
        yield from unnumbered(since, bought.jobs[0], as_typed(typed))


def _tables(
    bought: "Bought",
    estimate: "Quote | None",
    giving: "Giving | None",
    since: "SinceGiven",
    *,
    customer: bool,
) -> "tuple[Table, ...]":
    from bom.show.quote_tables import (
        customer_tables,
        on_order_lines,
        ordered_lines,
        quote_tables,
    )
    from bom.show.register_tables import giving_lines, since_lines

    if estimate is None:
        return ()
    job = bought.jobs[0]
    given = (*giving_lines(giving),) if giving else ()
    if customer:  # where it is kept is not for the customer
        return customer_tables(job, estimate, given[:1])
    differs = not since.holds or (giving and giving.new)
    ordered = ordered_lines(job.name, bought.stock) if differs else ()
    said = (*on_order_lines(bought.on_order), *ordered, *(given or since_lines(since, estimate)))
    return quote_tables(estimate, job.rules.tax_percent, said)


def _unfinished(bought: "Bought", estimate: "Quote", job: Path) -> "Bought":
    """With an error: half a price is not for the customer unless that is asked for.

    That nobody sells what has no price is not told a second time.
    """
    from bom.estimate import NOT_SOLD
    from bom.show.shared import first_of, have_no_price

    without = estimate.unpriced
    says = f"not for the customer: {have_no_price(len(without))}: {first_of(without)}"
    cure = f"bom prices wanted {as_typed(job)} --csv FILE, or the same with --incomplete"
    others = (problem for problem in bought.problems if problem.alike != NOT_SOLD)
    return replace(bought, problems=(*others, error(Where(), says, cure)))


def _next(
    job: Path,
    estimate: "Quote | None",
    giving: "Giving | None",
    since: "SinceGiven",
    *,
    customer: bool,
) -> str:
    from bom.workshop.register import PAPER

    if giving and giving.written:
        return f"print {giving.place}/{PAPER} for the customer"
    if estimate and not estimate.complete:
        return f"bom prices wanted {as_typed(job)} --csv FILE"
    if not customer:
        return f"bom quote {as_typed(job)} --customer"
    return f"bom quote {as_typed(job)} {'--pdf FILE' if since.holds else '--give'}"


def _give(bought: "Bought", estimate: "Quote", book: "Texts", how: "How") -> "Giving":
    from bom.show.papers import quotation
    from bom.workshop.register import ToGive, give

    today = clock.today()
    asked = ToGive(
        job=bought.jobs[0],
        estimate=estimate,
        book=book,
        today=today,
        paper=lambda given: quotation(bought, estimate, today, given),
    )
    with writing(Path(bought.jobs[0].name)), working("setting the quotation"):
        return give(asked, how)


def _quotation(
    bought: "Bought", estimate: "Quote | None", since: "SinceGiven", path: Path | None
) -> dict[Path, bytes]:
    from bom.show.papers import quotation

    if path is None or estimate is None:
        return {}
    with writing(path), working("setting the quotation"):
        return {path: quotation(bought, estimate, clock.today(), since.holds)}


@app.command(epilog="Example: bom jobs")
def jobs(json: Json = False, xlsx: Xlsx = None, csv: Csv = None) -> None:
    """Show every job: where it stands, what was quoted, its cost and hours, what is unpaid.

    Quotations are those given (bom quote JOB --give); what came of them you fill in under
    accepted, deposit, billed and paid in register.xlsx.  Hours used are those of bom done.
    """
    from bom.job import find_workshop, house_rules
    from bom.show.register_json import jobs_out
    from bom.show.register_tables import jobs_tables
    from bom.workshop.jobs import jobs_of

    workshop = find_workshop(Path.cwd())
    with working("looking through the jobs"):
        listed = jobs_of(workshop)
    rules, _ = house_rules(workshop)
    mine = f"fill in accepted, deposit, billed and paid in {listed.register}"
    show = Show(
        listed.problems,
        lambda: jobs_out(listed),
        lambda: jobs_tables(listed) if workshop.folder else (),
        currency=rules.currency,
        next_step=mine if listed.register else "bom quote JOB --give",
        anyway=True,
    )
    emit(show, json, xlsx, csv)
