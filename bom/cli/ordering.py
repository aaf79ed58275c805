"""How an order is worked out, placed where that is asked, and shown."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer
from msgspec import Struct

from bom.cli.progress import working
from bom.cli.screen import echo
from bom.cli.show import Show, emit, found, leave_books_alone, open_jobs
from bom.cli.tell import give_up, tell, writing
from bom.files import clock
from bom.files.spelling import fold
from bom.trade.problem import as_typed, has_errors

if TYPE_CHECKING:
    from bom.buy.order import Conditions
    from bom.estimate import Bought
    from bom.job import Job
    from bom.shelf.moves import Placed
    from bom.trade.problem import Problem

LOOKING = "looking for the cheapest order"
_PLACED = "the order is placed all the same"


class Wish(Struct, frozen=True, kw_only=True):
    """What is asked of an order: jobs, the drawer, suppliers left out and demanded."""

    jobs: Sequence[Path] = ()
    topup: bool = False
    without: Sequence[str] = ()
    demanded: Sequence[str] = ()
    sets: Sequence[str] = ()
    """House rules for this run alone."""

    @property
    def conditions(self) -> "Conditions":
        """The suppliers, each compared with the others."""
        from bom.buy.order import Conditions

        return Conditions(without=tuple(self.without), demanded=tuple(self.demanded), compare=True)


class ToPlace(Struct, frozen=True, kw_only=True):
    """Whether an order is written into Orders, and how."""

    place: bool
    dry_run: bool
    force: bool


class Ordered(Struct, frozen=True):
    """An order as it was worked out, and the numbers that it got or in a dry run would get."""

    bought: "Bought"
    problems: "tuple[Problem, ...]"
    placed: "tuple[Placed, ...]" = ()
    file: str = ""
    written: bool = False


def ordered(wish: Wish, placing: ToPlace) -> Ordered:
    """Work an order out; written into Orders where it is to be placed."""
    from bom.estimate import buy_for

    if placing.place:
        return _placed([found(job) for job in wish.jobs], wish, placing)
    with working(LOOKING):
        jobs = open_jobs(wish.jobs, wish.sets)
        bought = buy_for(jobs, topping_up=wish.topup, rest=True, asked=wish.conditions)
    return Ordered(bought, bought.problems)


def _placed(books: Sequence[Path], wish: Wish, placing: ToPlace) -> Ordered:
    from bom.job import find_workshop
    from bom.workshop.orders import OrderPlan
    from bom.workshop.stockroom import How, book

    plan = OrderPlan(books, topping_up=wish.topup, asked=wish.conditions)
    workshop = find_workshop(books[0].parent if books else Path.cwd())
    with working(LOOKING):
        booked = book(workshop, plan, How(dry_run=placing.dry_run, force=placing.force))
    if plan.bought is None:
        tell(booked.problems)
        give_up(booked.problems)
    problems = tuple(dict.fromkeys((*plan.bought.problems, *booked.problems)))
    placed = plan.placed if booked.written or placing.dry_run else ()
    return Ordered(plan.bought, problems, placed, booked.file, booked.written)


def show_order(
    order: Ordered,
    wish: Wish,
    next_step: str,
    json: bool,
    files: tuple[Path | None, Path | None, Path | None],
) -> None:
    """Show the shopping list, and the numbers it got.

    `files` are an .xlsx, a .csv, and a folder for the suppliers' sheets.
    """
    from bom.show.job_json import order_out
    from bom.show.order_tables import order_tables
    from bom.show.orders_placed import placed_out, placed_table
    from bom.show.shared import few

    bought, placed = order.bought, order.placed
    xlsx, csv, folder = files
    sheets = _sheets(order, folder)
    if not (bought.order.lines or wish.sets):
        next_step = (
            f"bom cut {' '.join(map(as_typed, wish.jobs))}" if wish.jobs else "bom stock show"
        )
    if order.written:
        next_step = _after_placing(order, wish)
    if folder and sheets:
        names = few([path.name for path in sheets])
        next_step = f"print or send, in {as_typed(folder)}: {names}"
    table = (placed_table(placed, order.file, written=order.written),) if placed else ()
    show = Show(
        order.problems,
        lambda: {**order_out(bought), "placed": placed_out(placed if order.written else ())},
        lambda: (*order_tables(bought, _numbers(order)), *table),
        currency=bought.rules.currency,
        next_step=next_step,
        jobs=tuple(zip(wish.jobs, bought.jobs, strict=True)),
        first=(*bought.lacking, *(copied(bought.jobs) if placed else ())),
        files=sheets,
        makes_folders=bool(sheets),
        booked=_PLACED if order.written else "",
    )
    emit(show, json, xlsx, csv)


def _numbers(order: Ordered) -> dict[str, str]:
    """The numbers that were given, by supplier."""
    return {one.supplier: one.number for one in order.placed if order.written}


def _after_placing(order: Ordered, wish: Wish) -> str:
    """What the jobs have on the shelf is set aside too, unless it is; then the parcel comes."""
    then = f"bom stock receive {order.placed[0].number}, when it has come"
    held = {fold(hold.job) for hold in order.bought.stock.holds}
    if all(fold(job.name) in held for job in order.bought.jobs):
        return then
    typed = " ".join(map(as_typed, wish.jobs))
    return f"bom stock hold {typed}, for what of it is on the shelf; {then}"


def copied(jobs: "Iterable[Job]") -> "Iterator[Problem]":
    """Which of the jobs bear the name of another: what is written is written for that one."""
    from bom.job import namesake

    for job in jobs:
        yield from namesake(job)


def _sheets(order: Ordered, folder: Path | None) -> dict[Path, bytes]:
    """A sheet for each supplier, with its number where it was placed.

    None of what has errors, nor in a dry run.
    """
    from bom.show.pack import in_folder
    from bom.show.papers import order_papers

    if folder is None or has_errors(order.problems) or (order.placed and not order.written):
        return {}
    numbers = {placed.supplier: placed.number for placed in order.placed}
    try:
        leave_books_alone(folder)
        with writing(folder), working("setting the orders"):
            return in_folder(folder, order_papers(order.bought, clock.today(), numbers))
    except typer.Exit:
        if order.written:
            echo(f"    {_PLACED}", err=True)
        raise


def to_place(jobs: Iterable[Path]) -> str:
    """The command that places an order for these jobs."""
    return f"bom order {' '.join(map(as_typed, jobs))} --place, when you send it off"
