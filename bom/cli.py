"""The command line: options in, one job of work, tables or JSON out, an exit code.

Nothing heavy is imported before a command runs, so that help comes at once.
"""

import os
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING, Annotated

import typer

from bom.problem import Problem, has_errors

if TYPE_CHECKING:
    from bom.job import Bought, Job
    from bom.outcome import Answer
    from bom.table import Table

app = typer.Typer(
    name="bom",
    help="From a list of circuits to cable, terminals, order, cut list and price.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
new_app = typer.Typer(help="Make a workshop folder, or a job book in it.", no_args_is_help=True)
stock_app = typer.Typer(help="The shelf.", no_args_is_help=True)
app.add_typer(new_app, name="new")
app.add_typer(stock_app, name="stock")

JobPath = Annotated[
    Path,
    typer.Argument(help="A job book: .xlsx, .xlsm, .ods, .csv, a folder of .csv, or its name."),
]
JobPaths = Annotated[list[Path], typer.Argument(help="One job book or more.")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON and nothing else.")]
Xlsx = Annotated[Path | None, typer.Option("--xlsx", help="Write the tables to this .xlsx too.")]
Without = Annotated[
    list[str] | None, typer.Option("--without", help="Buy nothing from this supplier.")
]
Demanded = Annotated[
    list[str] | None, typer.Option("--with", help="Buy something from this supplier.")
]
Csv = Annotated[Path | None, typer.Option("--csv", help="Write the list to this .csv too.")]


# ------------------------------------------------------------------------------ commands


@app.command(epilog="Example: bom check sample_projects/workshop/jobs/twin.xlsx")
def check(
    job: JobPath,
    suggest_colours: Annotated[
        bool,
        typer.Option("--suggest-colours", help="Fill blank colours in the printed table only."),
    ] = False,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Show everything wrong or doubtful in a job, at once, with cells."""
    from bom.outcome import check_out
    from bom.report import check_tables

    opened = _open(job, suggest_colours=suggest_colours)
    _emit(
        _Show(
            opened.problems,
            lambda: check_out(opened),
            lambda: check_tables(opened),
            next_step=f"bom takeoff {job}",
        ),
        json,
        xlsx,
        csv,
    )


@app.command(epilog="Example: bom takeoff sample_projects/workshop/jobs/twin.xlsx")
def takeoff(job: JobPath, json: Json = False, xlsx: Xlsx = None, csv: Csv = None) -> None:
    """List everything the job needs, with honest allowances."""
    from bom.outcome import takeoff_out
    from bom.report import takeoff_listing, takeoff_tables

    opened = _open(job)
    _emit(
        _Show(
            opened.problems,
            lambda: takeoff_out(opened),
            lambda: takeoff_tables(opened),
            lambda: takeoff_listing(opened),
            next_step=f"bom order {job}",
        ),
        json,
        xlsx,
        csv,
    )


@app.command(epilog="Example: bom cut sample_projects/workshop/jobs/twin.xlsx")
def cut(jobs: JobPaths, json: Json = False, xlsx: Xlsx = None, csv: Csv = None) -> None:
    """Print the cut list: every wire, its piece, and the reel or offcut it comes from.

    Jobs that are ordered together are cut together: they share the shelf and the new cable.
    """
    from bom.outcome import cut_out
    from bom.report import cut_tables

    bought = _buy(jobs)
    _emit(
        _Show(
            bought.problems,
            lambda: cut_out(bought),
            lambda: cut_tables(bought),
            next_step=f"bom quote {jobs[0]}",
        ),
        json,
        xlsx,
        csv,
    )


@app.command(epilog="Example: bom order sample_projects/workshop/jobs/twin.xlsx --topup")
def order(
    jobs: JobPaths,
    topup: Annotated[bool, typer.Option("--topup", help="Fill the drawer up as well.")] = False,
    without: Without = None,
    demanded: Demanded = None,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Print the shopping list for one job or several, less what is on the shelf."""
    bought = _buy(jobs, topping_up=topup, without=without or (), demanded=demanded or ())
    _order(bought, f"bom cut {' '.join(map(str, jobs))}", json, xlsx, csv)


@app.command(epilog="Example: bom topup")
def topup(
    without: Without = None,
    demanded: Demanded = None,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """List the drawer items under their low mark, in packs."""
    bought = _buy([], topping_up=True, without=without or (), demanded=demanded or ())
    _order(bought, "bom stock show", json, xlsx, csv)


@app.command(epilog="Example: bom quote sample_projects/workshop/jobs/twin.xlsx --customer")
def quote(
    job: JobPath,
    customer: Annotated[
        bool, typer.Option("--customer", help="The sheet the customer sees: no cost, no supplier.")
    ] = False,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Work out the estimate: materials, labour, tax."""
    from bom.job import quote_for
    from bom.outcome import quote_out
    from bom.report import customer_tables, quote_tables

    bought, estimate = quote_for(_found(job))
    first = bought.jobs[0]

    def tables() -> "tuple[Table, ...]":
        if estimate is None:
            return ()
        if customer:
            return customer_tables(first, estimate)
        return quote_tables(estimate, first.rules.tax_percent)

    _emit(
        _Show(
            bought.problems,
            lambda: quote_out(bought, estimate),
            tables,
            currency=first.rules.currency,
            next_step="" if customer else f"bom quote {job} --customer",
        ),
        json,
        xlsx,
        csv,
    )


@app.command(epilog="Example: bom why sample_projects/workshop/jobs/twin.xlsx P6")
def why(
    job: JobPath,
    what: Annotated[str, typer.Argument(help="A wire's label, or an item of the take-off.")],
    json: Json = False,
) -> None:
    """Show how the numbers of a wire or an item came about: rule, figures, source."""
    from bom.outcome import why_out
    from bom.reasons import why as reasons

    bought = _buy([job])
    opened = bought.jobs[0]
    _tell(bought.problems)
    subject, lines = reasons(bought, what)
    if json:
        typer.echo(why_out(opened, subject or what, lines).text())
    elif subject:
        typer.echo("\n".join(lines))
    if not subject and not has_errors(opened.problems):
        raise typer.BadParameter(lines[0] if lines else f"'{what}' is in no list of this job")
    raise typer.Exit(1 if has_errors(opened.problems) else 0)


@stock_app.command("show", epilog="Example: bom stock show")
def stock_show(json: Json = False, xlsx: Xlsx = None, csv: Csv = None) -> None:
    """Show what is on the shelf and what runs low."""
    from bom.outcome import stock_out
    from bom.report import stock_tables

    bought = _buy([])
    _emit(
        _Show(
            bought.problems,
            lambda: stock_out(bought.stock, bought.problems),
            lambda: stock_tables(bought.stock),
            next_step="bom topup",
        ),
        json,
        xlsx,
        csv,
    )


@new_app.command("workshop", epilog="Example: bom new workshop my-workshop")
def new_workshop(
    path: Annotated[Path, typer.Argument(help="A folder to make, or an empty one.")],
) -> None:
    """Make a workshop: house rules, blank books and one worked job."""
    from bom.catalogue import load_catalogue
    from bom.new import Exists
    from bom.new import new_workshop as make

    catalogue, _ = load_catalogue()
    try:
        made = make(path, catalogue)
    except (Exists, OSError, ValueError) as fault:
        _refuse(str(fault))
    for name in made:
        typer.echo(f"made {name}")
    typer.echo(f"next: bom quote {path / 'jobs' / 'example.xlsx'}")


@new_app.command("job", epilog="Example: bom new job old-twin")
def new_job(
    name: Annotated[str, typer.Argument(help="The job's name; its book is jobs/NAME.xlsx.")],
) -> None:
    """Make a blank job book inside a workshop."""
    from bom.job import find_workshop
    from bom.new import Exists
    from bom.new import new_job as make

    workshop = find_workshop(Path.cwd())
    if workshop.folder is None:
        _refuse("not in a workshop folder; try: bom new workshop PATH")
    else:
        try:
            made = make(workshop.folder, name, workshop.catalogue)
        except (Exists, OSError, ValueError) as fault:
            _refuse(str(fault))
        typer.echo(f"made {made}\nnext: fill in its Circuits sheet, then: bom check {made}")


# ----------------------------------------------------------------------------- the doing


class _Show:
    """What a command has to show: its problems, its JSON, its tables, and what comes next."""

    def __init__(
        self,
        problems: Sequence[Problem],
        answer: "Callable[[], Answer]",
        tables: "Callable[[], tuple[Table, ...]]",
        listing: "Callable[[], Table] | None" = None,
        *,
        currency: str = "GBP",
        next_step: str = "",
    ) -> None:
        self.problems = problems
        self.answer = answer
        self.tables = tables
        self.listing = listing
        self.currency = currency
        self.next_step = next_step


def _found(job: Path) -> Path:
    """The job book by its path, or by its bare name in the workshop's `jobs` folder."""
    from bom.job import find_job

    found = find_job(job, Path.cwd())
    _BOOKS_READ.add(found.resolve())
    return found


def _open(job: Path, *, suggest_colours: bool = False) -> "Job":
    from bom.job import open_job

    return open_job(_found(job), suggest_colours=suggest_colours)


def _buy(
    jobs: Iterable[Path],
    *,
    topping_up: bool = False,
    without: Iterable[str] | None = None,
    demanded: Iterable[str] = (),
) -> "Bought":
    """Buy for jobs; with `without` given, an order that is compared with other suppliers'."""
    from bom.buy import Asked
    from bom.job import buy_for

    compare = without is not None
    asked = Asked(without=tuple(without or ()), demanded=tuple(demanded), compare=compare)
    return buy_for([_found(job) for job in jobs], topping_up=topping_up, asked=asked)


def _order(
    bought: "Bought", next_step: str, json: bool, xlsx: Path | None, csv: Path | None
) -> None:
    from bom.outcome import order_out
    from bom.report import order_tables

    currency = bought.jobs[0].rules.currency if bought.jobs else "GBP"
    _emit(
        _Show(
            bought.problems,
            lambda: order_out(bought),
            lambda: order_tables(bought),
            currency=currency,
            next_step=next_step,
        ),
        json,
        xlsx,
        csv,
    )


def _emit(show: _Show, json: bool, xlsx: Path | None, csv: Path | None) -> None:
    """Print, write the files asked for, and leave with 1 where there are errors."""
    _tell(show.problems)
    wrong = has_errors(show.problems)
    tables = () if wrong else show.tables()
    if tables and (xlsx or csv):
        _write(show, tables, xlsx, csv)
    if json:
        typer.echo(show.answer().text())
    elif tables:
        from bom.table import as_text

        width = get_terminal_size().columns if sys.stdout.isatty() else None
        texts = (as_text(table, width, currency=show.currency) for table in tables)
        typer.echo("\n\n".join(texts))
        if show.next_step:
            typer.echo(f"\nnext: {show.next_step}")
    raise typer.Exit(1 if wrong else 0)


def _write(show: _Show, tables: "tuple[Table, ...]", xlsx: Path | None, csv: Path | None) -> None:
    from bom.table import write_csv, write_xlsx

    for path in filter(None, (xlsx, csv)):
        if _is_a_book(path):
            _refuse(f"{path} is a book of the workshop and is left as it is; try: another name")
    try:
        if xlsx:
            write_xlsx(xlsx, tables, currency=show.currency)
        if csv:
            listing = show.listing() if show.listing else tables[0]
            write_csv(csv, listing, currency=show.currency)
    except OSError as fault:
        _refuse(f"cannot write {fault.filename or xlsx or csv}: {fault.strerror or fault}")


def _is_a_book(path: Path) -> bool:
    """True for what must never be written over: a book that was read, or one of a workshop."""
    in_workshop = path.parent.name == "jobs" or path.stem in ("stock", "prices", "suppliers")
    return path.exists() and (in_workshop or path.resolve() in _BOOKS_READ)


_BOOKS_READ: set[Path] = set()
"""The job books of this run, by their whole paths."""


def _tell(problems: Iterable[Problem]) -> None:
    """Errors and cautions go to stderr, in file order, with a count of them at the end."""
    found = list(problems)
    plain = "NO_COLOR" in os.environ
    for problem in found:
        colour = None if plain else "red" if problem.level == "error" else "yellow"
        head, _, rest = str(problem).partition(":")
        typer.secho(head, fg=colour, nl=False, err=True)
        typer.echo(f":{rest}", err=True)
    if found:
        errors = sum(problem.level == "error" for problem in found)
        typer.echo(f"{_count(errors, 'error')}, {_count(len(found) - errors, 'caution')}", err=True)


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _refuse(says: str) -> None:
    typer.echo(f"error: {says}", err=True)
    raise typer.Exit(1)


def main() -> None:
    """Entry point of the `bom` command; output is UTF-8 wherever it goes."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    app()


if __name__ == "__main__":
    main()
