"""After the job, on one page: the sheet of what was used, what it books, what is kept of it.

    first time:   job book -> plan -> sheet in `used/`
    second time:  sheet -> read -> records -> booking (`stockroom`) -> `done.csv`

All that can be checked is checked before anything is booked; what is kept is made aside then, and
put in its place last.  If that fails nothing has to be undone: used and spoilt are set against the
standing moves of the job, so that what is booked already is not booked twice.  The sheet is whole
in itself: what is counted, the way along the loom and what is fixed beside it stand in its grey
columns, so that job book, house rules and catalogues may change before the job is finished.
`fixed` holds the rounding to `step_mm` too, so that rounding is not learned as run again and again.
"""

import os
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from bom.buy.price import tasks
from bom.estimate import read_shelf
from bom.files import clock
from bom.files.safely import ABSENT, NewFile, NotWritten, Seen, aside, followed, look, told
from bom.files.spelling import fold, plain
from bom.files.table import csv_bytes, fit_for_a_cell
from bom.files.units import key_of, per_unit
from bom.job import Job, Workshop, house_rules, namesake, open_job
from bom.read.books import find_book
from bom.shelf.moves import History, Spent, history, is_kept_for, shelf_of
from bom.trade.house import HouseRules
from bom.trade.problem import (
    Problem,
    Where,
    as_typed,
    caution,
    error,
    has_errors,
    in_file_order,
)
from bom.trade.wires import Sized
from bom.workshop.allowances import Allowance, propose
from bom.workshop.done_file import done_table, read_done
from bom.workshop.finished import Finished, TaskRow, Used, UsedRow
from bom.workshop.fuses_made import fitted_fuses
from bom.workshop.made_sheet import planned_tests, planned_wires
from bom.workshop.new_books import CellsByColumn, Exists, used_sheet
from bom.workshop.shelf_requests import put_right
from bom.workshop.stockroom import Booked, How, book
from bom.workshop.used_sheet import (
    ALL_TOGETHER,
    measured_by,
    planned,
    planned_no_longer,
    read_used,
    records_of,
    used_columns,
)

DONE_FILE = "done.csv"
FOLDER = "used"
_MM = Decimal(1000)
_NOWHERE = Where()


class After(Struct, frozen=True, kw_only=True):
    """How far a job was finished: its sheet made, or read, booked and stored.

    `booked` is None where the shelf is left out: nothing was issued, or errors came before.
    """

    job: str
    sheet: Path | None = None
    made: bool = False
    used: Used | None = None
    records: tuple[Finished, ...] = ()
    booked: Booked | None = None
    stored: bool = False
    problems: tuple[Problem, ...] = ()


class Taught(Struct, frozen=True, kw_only=True):
    """What the finished jobs of a workshop say of its house rules.

    `left_out` are jobs with rows in done.csv that are done no longer.
    """

    jobs: int
    left_out: tuple[str, ...] = ()
    allowances: tuple[Allowance, ...]
    rules: HouseRules
    problems: tuple[Problem, ...]


def after(path: Path, how: How, *, again: bool) -> After:
    """Make the sheet of a job where there is none yet; else read it, book it and store it."""
    job = open_job(path)
    folder = job.workshop.folder
    if folder is None:
        says = "not in a workshop folder, where finished jobs are kept"
        return After(job=job.name, problems=(error(Where(), says, "bom new workshop PATH"),))
    if job.book is None:
        return After(job=job.name, problems=job.problems)
    sheet = folder / FOLDER / f"{job.path.stem}.xlsx"
    begun = After(job=job.name, sheet=sheet, problems=namesake(job))
    if os.path.exists(sheet):
        return _finished(job, begun, folder, how, again)
    return _made(job, begun, how)


# ----------------------------------------------------------------------- the first time


def _made(job: Job, begun: After, how: How) -> After:
    """The sheet, filled in with the plan."""
    wrong = tuple(problem for problem in job.problems if problem.level == "error")
    sheet = begun.sheet
    if job.takeoff is None or job.sized is None or job.book is None or sheet is None:
        return replace(begun, problems=wrong)
    counted = tasks(job.takeoff.counts, job.book.labour, job.workshop.catalogue)
    work = [(task.name, task.hours) for task in counted]
    plan = planned(job.name, job.takeoff, job.sized, job.rules, work)
    past, _ = _history(job.workshop)
    more = planned_no_longer(past.out(job.name) if past else (), plan.rows)
    plan = replace(plan, rows=[*plan.rows, *more])
    begun = replace(begun, used=plan, records=records_of(plan, "", job.workshop.catalogue))
    if how.dry_run:
        return begun
    try:
        with told(sheet):
            used_sheet(sheet, used_columns(job.workshop.catalogue), _rows(plan, job.sized))
    except NotWritten as fault:
        return replace(begun, problems=(error(in_used(sheet), fault.says, fault.cure),))
    except Exists as fault:
        return replace(begun, problems=(error(Where(), str(fault)),))
    return replace(begun, made=True)


def _rows(plan: Used, sized: Sized) -> CellsByColumn:
    """The sheets of what was used, as the plan fills them in."""
    planned_hours = sum((task.planned for task in plan.tasks), Decimal())
    counted = sum((task.counted for task in plan.tasks), Decimal())
    every = (*plan.tasks, TaskRow(task=ALL_TOGETHER, planned=planned_hours, counted=counted))
    return {
        "Used": [_used_cells(row) for row in plan.rows],
        "Labour": [_task_cells(task) for task in every],
        "Wires": planned_wires(sized),
        "Tests": planned_tests(sized),
        "Job": [{"item": "job", "value": plan.job}],
    }


def _used_cells(row: UsedRow) -> dict[str, Any]:
    way = {"path": row.path, "fixed": row.fixed} if row.kind == "cable" else {}
    amounts = {"planned": row.planned, "spoilt": row.spoilt, "counted": row.counted}
    return {
        "kind": row.kind.replace("_", " "),
        "item": row.item,
        "gauge": row.gauge or None,
        "colour": str(row.colour) if row.colour else None,
        "unit": row.unit,
        "used": None if row.used is None else _figure(row.used),
        **{name: _figure(amount) for name, amount in (amounts | way).items()},
    }


def _task_cells(task: TaskRow) -> dict[str, Any]:
    return {
        "task": task.task,
        "planned hours": _figure(task.planned),
        "hours": None if task.hours is None else _figure(task.hours),
        "counted hours": _figure(task.counted),
    }


def _figure(amount: Decimal) -> int | float:
    """A cell's number: whole ones without a decimal point."""
    return int(amount) if amount == int(amount) else float(plain(amount))


# ---------------------------------------------------------------------- the second time


def _finished(job: Job, begun: After, folder: Path, how: How, again: bool) -> After:
    """The sheet read, booked and stored; with any error before that nothing is done."""
    store = folder / DONE_FILE
    seen = _seen(store)
    catalogue, name = job.workshop.catalogue, fit_for_a_cell(job.name)
    before, unread = read_done(store, catalogue)
    past, _ = _history(job.workshop)
    problems = [*begun.problems, *map(_as_error, unread), *_done_before(before, name, past, again)]
    if has_errors(problems) or begun.sheet is None:
        return replace(begun, problems=in_file_order(problems))
    used, faults = read_used(begun.sheet, catalogue)
    of_fuses = fitted_fuses(job, used).problems if used else ()
    problems += [replace(p, where=in_used(begun.sheet, p.where)) for p in (*faults, *of_fuses)]
    if used is None or has_errors(problems):
        return replace(begun, problems=in_file_order(problems))
    if fold(used.job) != fold(name):
        return replace(begun, problems=(of_another(begun.sheet, used.job, name),))
    used = replace(used, job=name)
    records = records_of(used, f"{clock.today()}", catalogue)
    read = replace(begun, used=used, records=records)
    kept = tuple(record for record in before if fold(record.job) != fold(name))
    data = csv_bytes(done_table((*kept, *records)))

    def booked() -> After:
        done = _on_the_shelf(read, job, used, how)
        return replace(done, problems=(*problems, *done.problems))

    if how.dry_run:
        return booked()
    try:  # what is kept is made before the shelf is booked: on a full disk neither is written
        with told(store), aside(NewFile(path=followed(store), data=data, seen=seen)) as move:
            done = booked()
            waits = done.booked is not None and done.booked.waits
            return done if waits or has_errors(done.problems) else _stored(done, store, move)
    except NotWritten as fault:
        trouble = error(Where(store.name), fault.says, fault.cure)
        return replace(read, problems=(*problems, trouble))


def in_used(sheet: Path, where: Where = _NOWHERE) -> Where:
    """With its folder: the job's own book may have the same name."""
    return replace(where, file=f"{FOLDER}/{sheet.name}")


def of_another(sheet: Path, said: str, job: str) -> Problem:
    """The error that a sheet is that of a job called otherwise, or of none."""
    says = "it is not said which job this is the sheet of"
    if said:
        says = f"this is the sheet of '{said}', and the job is called '{job}'"
    cure = f"{job} in this cell, if its figures are that job's; else move the book away"
    return error(in_used(sheet, Where(sheet="Job", cell="B2")), says, cure)


def _seen(store: Path) -> Seen:
    try:
        return look(store)[1]
    except OSError:  # none yet; what cannot be read is told by its reader
        return ABSENT


def _as_error(problem: Problem) -> Problem:
    """The file is written anew: what is not understood in it would be lost."""
    return replace(problem, level="error")


def _history(workshop: Workshop) -> tuple[History | None, tuple[Problem, ...]]:
    """What the moves of a workshop say; None without a stock book, or where it is not readable."""
    path = find_book(workshop.folder, "stock") if workshop.folder else None
    if path is None:
        return None, ()
    stock, problems = read_shelf(path, workshop.catalogue, workshop.own)
    problems = stock.beside_orders(problems)
    return (None if has_errors(problems) else history(stock.moves)[0]), problems


def _done_before(
    records: Sequence[Finished], job: str, past: History | None, again: bool
) -> Sequence[Problem]:
    """A job that is done already, or of which nothing is out as it was taken back."""
    when = past.taken_back.get(fold(job)) if past else None
    if when:
        says = f"'{job}' was taken back on {when}: nothing of it is out"
        cure = f"bom stock issue {as_typed(job)}, if it is made after all"
        return (error(Where(), says, cure),)
    days = [record.done for record in records if fold(record.job) == fold(job)]
    if not days or again or (past and fold(job) in past.not_done):
        return ()
    says = f"'{job}' was done on {days[0]}" if days[0] else f"'{job}' was done before"
    return (error(Where(DONE_FILE), says, "--again replaces what is kept of it"),)


def _on_the_shelf(read: After, job: Job, used: Used, how: How) -> After:
    """What was used set against what was issued, and the difference booked."""
    workshop = job.workshop
    path = find_book(workshop.folder, "stock") if workshop.folder else None
    if path is None:
        says = "there is no stock book, so that nothing is booked on the shelf"
        return replace(read, problems=(caution(Where(), says),))
    stock, problems = read_shelf(path, workshop.catalogue, workshop.own)
    if has_errors(stock.beside_orders(problems)):
        return replace(read, problems=problems)
    never_issued: tuple[Problem, ...] = ()
    if fold(job.name) not in stock.issued:
        never = f"'{job.name}' was never issued, so that nothing is booked on the shelf"
        cure = "bom stock issue JOB when its parts are taken, the next time"
        never_issued = (caution(Where(stock.file), never, cure),)
        if not is_kept_for(shelf_of(stock)[0], job.name):
            return replace(read, problems=never_issued)
    booked = book(workshop, put_right(_spent(used, job.rules)), how)
    return replace(read, booked=booked, problems=(*never_issued, *booked.problems))


def _spent(used: Used, rules: HouseRules) -> Spent:
    """What was measured, in the shelf's own units; cable by gauge and colour in words."""
    drawn = measured_by(used, lambda row: key_of(row.item, row.unit))
    cable = measured_by(used, lambda row: (f"{row.gauge} {row.colour}" * bool(row.gauge), ""))
    of_cable = {key_of(row.item, row.unit) for row in used.rows if row.kind == "cable"}
    return Spent(
        job=used.job,
        names={key_of(row.item, row.unit): row.item for row in used.rows},
        drawn={
            key: amount * (per_unit("m") if key[1] == "mm" else 1)
            for key, (amount, _) in drawn.items()
            if key not in of_cable
        },
        cable={words: amount * _MM for (words, _), (amount, _) in cable.items() if words},
        pieces={words: counted * _MM for (words, _), (_, counted) in cable.items() if words},
        trim_mm=rules.trim_mm,
        useful_mm=rules.useful_offcut_mm,
    )


def _stored(done: After, store: Path, move: Callable[[], object]) -> After:
    """The records put in their place; where that fails, what is booked is said."""
    try:
        with told(store):
            move()
    except NotWritten as fault:
        says = fault.says
        if done.booked and done.booked.written:
            says += "; the shelf is booked, and a second time nothing is booked twice"
        trouble = error(Where(store.name), says, fault.cure)
        return replace(done, problems=(*done.problems, trouble))
    return replace(done, stored=True)


# ------------------------------------------------------------------------------ learning


def taught(workshop: Workshop) -> Taught:
    """What the finished jobs say; without a workshop that is an error."""
    rules, faults = house_rules(workshop)
    if workshop.folder is None:
        says = "not in a workshop folder, where finished jobs are kept"
        faults = (*faults, error(Where(), says, "bom new workshop PATH"))
        return Taught(jobs=0, allowances=(), rules=rules, problems=faults)
    records, problems = read_done(workshop.folder / DONE_FILE, workshop.catalogue)
    past, amiss = _history(workshop)
    gone = past.not_done if past else frozenset[str]()
    teaching = [record for record in records if fold(record.job) not in gone]
    if has_errors(amiss):
        says = "not read, so that jobs that were undone or taken back teach as well"
        unread = next(p for p in amiss if p.level == "error")
        problems = (*problems, caution(Where(unread.where.file), says, "bom stock show"))
    return Taught(
        jobs=len({fold(record.job) for record in teaching}),
        left_out=tuple(dict.fromkeys(r.job for r in records if fold(r.job) in gone)),
        allowances=propose(teaching, rules, workshop.catalogue),
        rules=rules,
        problems=in_file_order((*workshop.problems, *faults, *problems)),
    )
