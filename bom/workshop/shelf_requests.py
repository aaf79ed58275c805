"""What can be asked of the stock book: each a plan, which `stockroom.book` runs inside the lock."""

import os
from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from msgspec.structs import replace

from bom.estimate import Bought, buy_for, read_shelf
from bom.files import clock
from bom.files.spelling import Misspelt, fold
from bom.files.units import key_of
from bom.job import Workshop, house_rules, namesake, open_job
from bom.read.arrivals import read_order
from bom.read.books import books_in, find_book
from bom.read.supplier_names import one_called
from bom.shelf import moves
from bom.shelf.marks import Learned, learn
from bom.shelf.moves import Booking, Paper, Refusal, Shelf, Twice, shelf_of, takings
from bom.trade.orders import Arrived
from bom.trade.problem import Problem, Where, as_typed, error, has_errors, in_file_order
from bom.trade.shelf import Stock
from bom.workshop.stockroom import Request, no_stock_book, told_by_hand


def hold(*jobs: Path) -> Request:
    """Set aside what jobs take off the shelf together; of one that was issued, what was left."""

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        bought = _bought(jobs, rest=True)
        booking = moves.hold(shelf, _takings(bought))
        remarks = (*booking.remarks, *_better_together(shelf, jobs, bought))
        return replace(booking, remarks=remarks), _of_the_shelf(bought)

    return plan


def _better_together(shelf: Shelf, jobs: Sequence[Path], bought: Bought) -> Iterator[str]:
    """The command that sets aside for all what one by one is short, cut as if alone."""
    short = {(missing.gauge, missing.colour) for missing in bought.cut_list.short}
    names = {fold(p.name) for p in shelf.stock.pieces if (p.gauge, p.colour) in short}
    own = {fold(job.name) for job in bought.jobs}
    holding = {fold(h.job) for h in shelf.holds if fold(h.item) in names} - own
    books = sorted(b for b in books_in(jobs[0].parent) if fold(b.stem) in holding)
    if holding and len(books) == len(holding):
        together = buy_for((*books, *jobs), rest=True, on_order=False)
        if not has_errors(together.problems) and not together.cut_list.short:
            typed = " ".join(as_typed(job.name) for job in together.jobs)
            yield f"held together none is short of cable: bom stock hold {typed}"


def issue(*jobs: Path, again: bool = False, in_part: bool = False, rest: bool = False) -> Request:
    """Take out what the cut list and take-off of jobs say, which share the shelf.

    What was issued before is refused, but for all of it `again`, or the `rest` that was left.
    """

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        bought = _bought(jobs, rest=not again)
        useful_mm = bought.jobs[0].rules.useful_offcut_mm
        once = not (again or rest)
        booking = moves.issue(shelf, _takings(bought), useful_mm, once=once, in_part=in_part)
        return booking, _of_the_shelf(bought)

    return plan


def _bought(jobs: Sequence[Path], *, rest: bool) -> Bought:
    bought = buy_for(jobs, rest=rest, on_order=False)
    if has_errors(bought.problems):
        raise Refusal(*(p for p in bought.problems if p.level == "error"))
    return bought


def _takings(bought: Bought) -> tuple[moves.Taking, ...]:
    return takings(bought.needs, bought.allotment, bought.cut_list)


def _of_the_shelf(bought: Bought) -> tuple[Problem, ...]:
    """What is doubtful in the jobs' own books is for bom check; here it would hide the answer."""
    of_jobs = {problem for job in bought.jobs for problem in job.problems}
    told = {problem for job in bought.jobs for problem in namesake(job)}
    others = {*of_jobs, *bought.lacking, *bought.of_the_order} - told
    return tuple(p for p in bought.problems if p not in others)


def release(job: Path, name: str) -> Request:
    """Set free what is set aside for a job, known by its book or by its name alone."""

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        held = {hold.job for hold in shelf.history.holds}
        known, told = _known(job, name, held)
        return moves.release(shelf, known), told

    return plan


def take_back(
    workshop: Workshop, jobs: Sequence[tuple[Path, str]], cut: Collection[str] | None = None
) -> Request:
    """Put back what was issued for jobs, each known by its book or by its name alone.

    `cut` are the wires that have been cut, None all of them.
    """

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        rules, _ = house_rules(workshop)
        known = [_known(job, name, shelf.history.issues) for job, name in jobs]
        names = [name for name, _ in known]
        told = tuple(problem for _, problems in known for problem in problems)
        return moves.take_back(shelf, names, rules.useful_offcut_mm, cut), told

    return plan


def _known(job: Path, typed: str, names: Collection[str]) -> tuple[str, tuple[Problem, ...]]:
    """The name of a job in the moves, as it was typed or as its book has it, and what is amiss."""
    if fold(typed) in map(fold, names) or not os.path.exists(job):
        return typed, ()
    opened = open_job(job)
    return opened.name, namesake(opened)


def put_right(spent: moves.Spent) -> Request:
    """Book the difference between what a job was issued and what it used."""
    return lambda shelf: (moves.finish(shelf, spent), ())


def receive(
    workshop: Workshop, order: Path, *, suppliers: Sequence[str], place: str, twice: Twice
) -> Request:
    """Book a file in, or the lines of some suppliers, by their names or a part of them."""

    def plan(shelf: Shelf) -> tuple[Booking, tuple[Problem, ...]]:
        lines, problems = read_order(order, workshop.catalogue)
        if has_errors(problems):
            raise Refusal(*problems)
        came = [line for line in lines if line.packs]
        if not came:
            raise Refusal(error(Where(order.name), "no line of this order to book in"))
        chosen = [*_from(came, suppliers, order.name)]
        paper = Paper(name=order.name, lines=lines)
        reel_end_mm = house_rules(workshop)[0].reel_end_mm
        setting = (workshop.catalogue, place, reel_end_mm)
        return moves.receive(shelf, paper, chosen, setting, twice), problems

    return plan


def _from(came: Sequence[Arrived], suppliers: Sequence[str], file: str) -> Iterator[Arrived]:
    """The lines of these suppliers, all where none is named."""
    names = {line.supplier for line in came}
    try:
        own = {one_called(name, names, "in this order") for name in suppliers}
    except Misspelt as fault:
        raise Refusal(error(Where(file), fault.says, fault.cure)) from fault
    yield from (line for line in came if not own or line.supplier in own)


def count(workshop: Workshop, item: str, number: str) -> Request:
    """Set what is on hand to what was counted."""
    return lambda shelf: (moves.count(shelf, item, number, workshop.catalogue), ())


def take(workshop: Workshop, item: str, number: str) -> Request:
    """Take so many, or so much of a piece, off the shelf."""
    return lambda shelf: (moves.take(shelf, item, number, workshop.catalogue), ())


def put_in(workshop: Workshop, item: str, number: str) -> Request:
    """Put so many, or a length, on the shelf."""
    return lambda shelf: (moves.put_in(shelf, item, number, workshop.catalogue), ())


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
