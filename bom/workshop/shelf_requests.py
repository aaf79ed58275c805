"""What can be asked of the stock book: each a plan, which `stockroom.book` runs inside the lock."""

import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from bom.estimate import buy_for, read_shelf
from bom.files import clock
from bom.files.spelling import fold
from bom.files.units import key_of
from bom.job import Workshop, house_rules, namesake, open_job
from bom.read.arrivals import read_order
from bom.read.books import find_book
from bom.shelf import moves
from bom.shelf.marks import Learned, learn
from bom.shelf.moves import Booking, Paper, Refusal, Shelf, Twice, shelf_of, taking
from bom.trade.orders import Arrived
from bom.trade.problem import Problem, Where, error, has_errors, in_file_order
from bom.trade.shelf import Stock
from bom.workshop.stockroom import Request, no_stock_book, told_by_hand


def hold(job: Path) -> Request:
    """Set aside what a job takes off the shelf."""

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        want, _, problems = _wanted(job)
        return moves.hold(shelf, want), problems

    return plan


def issue(job: Path, *, again: bool, in_part: bool) -> Request:
    """Take out what a job's cut list and take-off say."""

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        want, useful_mm, problems = _wanted(job)
        return moves.issue(shelf, want, useful_mm, again=again, in_part=in_part), problems

    return plan


def _wanted(job: Path) -> tuple[moves.Taking, int, tuple[Problem, ...]]:
    bought = buy_for([job], on_order=False)
    if has_errors(bought.problems):
        raise Refusal(*(p for p in bought.problems if p.level == "error"))
    want = taking(bought.jobs[0].name, bought.allotment, bought.cut_list)
    # what is doubtful in the job's own book is for bom check; here it would hide the answer
    others = {*bought.jobs[0].problems, *bought.lacking, *bought.of_the_order}
    of_the_shelf = tuple(
        p for p in bought.problems if p not in others - {*namesake(bought.jobs[0])}
    )
    return want, bought.jobs[0].rules.useful_offcut_mm, of_the_shelf


def release(job: Path, name: str) -> Request:
    """Set free what is set aside for a job, known by its book or by its name alone."""

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        held = {hold.job for hold in shelf.history.holds}
        if name in held or not os.path.exists(job):
            return moves.release(shelf, name), ()
        opened = open_job(job)
        return moves.release(shelf, opened.name), namesake(opened)

    return plan


def put_right(spent: moves.Spent) -> Request:
    """Book the difference between what a job was issued and what it used; none without an issue."""

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        issued = moves.was_issued(shelf, spent.job)
        return (moves.finish(shelf, spent) if issued else Booking()), ()

    return plan


def receive(
    workshop: Workshop, order: Path, *, suppliers: Sequence[str], place: str, twice: Twice
) -> Request:
    """Book a file in, or the lines of some suppliers, by their names or a part of them."""

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        lines, problems = read_order(order, workshop.catalogue)
        if has_errors(problems):
            raise Refusal(*problems)
        came = [line for line in lines if line.packs]
        chosen = [line for line in came if not suppliers or _is_from(line, suppliers)]
        if not chosen:
            there = ", ".join(sorted({line.supplier for line in came}))
            whose = f" from {', '.join(suppliers)}" if suppliers else ""
            says = f"no line of this order{whose} to book in"
            raise Refusal(error(Where(order.name), says, there and f"its suppliers are {there}"))
        paper = Paper(name=order.name, lines=lines)
        reel_end_mm = house_rules(workshop)[0].reel_end_mm
        setting = (workshop.catalogue, place, reel_end_mm)
        return moves.receive(shelf, paper, chosen, setting, twice), problems

    return plan


def _is_from(line: Arrived, suppliers: Iterable[str]) -> bool:
    return any(fold(name) in fold(line.supplier) for name in suppliers)


def count(workshop: Workshop, item: str, number: str) -> Request:
    """Set what is on hand to what was counted."""
    return lambda shelf: (moves.count(shelf, item, number, workshop.catalogue), ())


def learned(workshop: Workshop) -> tuple[Learned | None, tuple[Problem, ...]]:
    """What the moves say about low and full marks; None where they cannot be read."""
    path = find_book(workshop.folder, "stock") if workshop.folder else None
    if path is None:
        return None, no_stock_book(workshop)
    rules, faults = house_rules(workshop)
    stock, problems = read_shelf(path, workshop.catalogue, workshop.own)
    shelf, _ = shelf_of(stock)
    found = in_file_order((*faults, *problems))
    if has_errors(found):
        return None, found
    return learn(shelf.history.counting, stock.drawer, rules, clock.today()), found


def mark(found: Learned) -> Request:
    """Write the marks that were learned, where they are others than the drawer has."""
    marks = {key_of(m.item, m.unit): (m.low, m.full) for m in found.marks if m.changed}
    return lambda shelf: (moves.set_marks(shelf, marks), ())


def shelf_shown(stock: Stock) -> tuple[Shelf, tuple[Problem, ...]]:
    """The shelf to look at, and cautions: what was changed by hand, set aside and not there."""
    shelf, _ = shelf_of(stock)  # what is wrong in it has been told where the book was read
    return shelf, (*map(told_by_hand, shelf.differences()), *moves.overheld(shelf))


def take_over_all(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
    """Take over every hand edit as a count: a plan."""
    return moves.take_over_all(shelf), ()
