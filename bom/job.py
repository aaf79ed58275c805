"""The order of work of one job, on one page.

    files -> read -> measure -> current -> supply -> ends -> size -> check -> take off

What follows the take-off stands in `estimate`.  Each stage is a plain function from frozen data to
frozen data and problems; only these two pages know their order.  Where a stage finds errors the
work stops behind the checks, so that one fault is not told twice.
"""

import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from bom.files.headings import NO_OWN_WORDS, OwnWords, TakenFor
from bom.files.safely import followed
from bom.files.sheet import link_to_nothing
from bom.files.spelling import fold
from bom.read import columns_taken, job_named_in, make_rules, read_job, read_rules_file
from bom.read.all_columns import all_columns
from bom.read.books import (
    RULES_FILE,
    SUFFIXES,
    books_in,
    find_book,
    misplaced,
    named,
    workshop_folder,
)
from bom.reckon.check import Findings, check, lights_on_watts
from bom.reckon.current import reckon
from bom.reckon.ends import join_ends
from bom.reckon.measure import measure
from bom.reckon.net import Net
from bom.reckon.size import size
from bom.reckon.supply import supplies
from bom.reckon.takeoff import take_off
from bom.trade.accept import accepted, idle
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_files import load_catalogue
from bom.trade.house import HouseRules
from bom.trade.job_book import JobBook
from bom.trade.needs import Takeoff
from bom.trade.problem import Problem, Where, caution, has_errors, in_file_order
from bom.trade.stowing import Filled
from bom.trade.wires import Currents, Ends, Sized, SizedWire, Supply

MOST_BESIDE = 40
"""So many books beside a job, the newest, are looked into for its name."""


class Workshop(Struct, frozen=True, kw_only=True):
    """The folder of a workshop, its figures and its catalogues; `folder` is None outside one."""

    folder: Path | None
    figures: dict[str, Any]
    catalogue: Catalogue
    problems: tuple[Problem, ...]
    own: OwnWords = NO_OWN_WORDS
    """The owner's words for columns."""


class Job(Struct, frozen=True, kw_only=True):
    """One job as far as the work went; what is None was not reached, and `problems` say why."""

    path: Path
    workshop: Workshop
    rules: HouseRules
    sets: tuple[str, ...] = ()
    """The rules that were set for this run alone, as typed: `volts=12`."""
    shares: frozenset[str] = frozenset()
    """Other jobs for which goods are set aside that count as its own: those it is compared with."""
    book: JobBook | None = None
    net: Net | None = None
    currents: Currents | None = None
    supplies: tuple[Supply, ...] = ()
    places: tuple[Filled, ...] = ()
    """What stands at each place of the sheet Places."""
    balance: tuple[float, float] | None = None
    """Continuous and likely load with the lights on, in watts."""
    ends: Ends | None = None
    sized: Sized | None = None
    takeoff: Takeoff | None = None
    ways_known: bool = True
    """False where a list is not read, a way not found or the battery unknown: nothing is said of
    loads, fuses and ends that hang on it."""
    currents_known: bool = True
    """False where a fault left open what leads where, so that nothing is said of currents."""
    problems: tuple[Problem, ...] = ()

    @property
    def name(self) -> str:
        """The job's name on every sheet."""
        return self.book.job if self.book else self.path.stem

    @property
    def variant(self) -> str:
        """The rules that were set for this run, in words; empty where it is as in its book."""
        rules = (typed.partition("=") for typed in self.sets)
        said = ", ".join(f"{rule.strip()} = {value.strip()}" for rule, _, value in rules)
        return f"with {said}" if said else ""

    @property
    def wires(self) -> tuple[SizedWire, ...]:
        """Every wire as sized; none where the work did not come so far."""
        return self.sized.wires if self.sized else ()


def find_workshop(start: Path) -> Workshop:
    """The workshop that `start` lies in, looking upwards for its `workshop.toml`."""
    folder = workshop_folder(start)
    if folder is None:
        catalogue, problems = load_catalogue()
        says = "not in a workshop folder: built-in house rules, nothing on the shelf, no prices"
        outside = caution(Where(), says, "bom new workshop PATH")
        return Workshop(folder=None, figures={}, catalogue=catalogue, problems=(*problems, outside))
    catalogue, problems = load_catalogue(named(folder, "catalogs"))
    rules = named(folder, RULES_FILE)
    figures, own, faults = read_rules_file(rules, lambda: _known_columns(catalogue))
    found = (*problems, *faults, *misplaced(folder))
    return Workshop(folder=folder, figures=figures, catalogue=catalogue, problems=found, own=own)


def _known_columns(catalogue: Catalogue) -> dict[str, list[str]]:
    """The names of all columns that are read, by sheet."""
    from bom.read.supplier_list import list_columns

    sheets = {**all_columns(catalogue), **dict(list_columns())}
    return {name: [column.name for column in columns] for name, columns in sheets.items()}


def find_job(job: Path, start: Path) -> Path:
    """The job book by its path, or by its bare name in the workshop's `jobs` folder."""
    if os.path.exists(job) or job.parent != Path():
        return job
    folder = find_workshop(start).folder
    if folder is None:
        return job
    # a name that is none: looked for there, so that the nearest is suggested
    jobs = named(folder, "jobs")
    if link_to_nothing(jobs):
        return jobs  # which cannot be read: that is told
    there = find_book(jobs, job.name) or find_book(jobs, job.stem)
    return there or jobs / (
        job.name if job.suffix.casefold() in SUFFIXES[:-1] else f"{job.name}.xlsx"
    )


def wire_labels(path: Path) -> tuple[str, ...]:
    """The labels of a job's wires, whatever else may be wrong in its book; nothing is checked."""
    workshop = find_workshop(path.parent)
    book, _, _ = read_job(path, workshop.figures, workshop.catalogue, own=workshop.own)
    return tuple(wire.label for wire in book.wires) if book else ()


def open_job(
    path: Path,
    *,
    suggest_colours: bool = False,
    colours_to_come: bool = False,
    workshop: Workshop | None = None,
    taking_off: bool = True,
    sets: Sequence[str] = (),
) -> Job:
    """Read, measure, reckon, size and check one job, and take it off if it has no errors.

    `workshop` is the one that it lies in, where that is known already; `sets` are rules for this
    run alone, as `volts=12`.  Where `colours_to_come` a wire may have none.
    """
    workshop = workshop or find_workshop(path.parent)
    book, rules, found = read_job(
        path,
        workshop.figures,
        workshop.catalogue,
        own=workshop.own,
        blank_colours="left" if colours_to_come else "usual" if suggest_colours else "asked",
        sets=sets,
    )
    job = Job(path=path, workshop=workshop, rules=rules, sets=tuple(sets), book=book)
    if book is None:
        return _with(job, (*found, *workshop.problems))
    if not taking_off:
        return _told_of_idle_rows(_looked_through(job, book, found))
    return _told_of_idle_rows(worked_out(job, book, (*found, *namesake(job))))


def namesake(job: Job) -> tuple[Problem, ...]:
    """A caution where the name typed in a job's book is that of another book beside it.

    A book that was copied in the file manager is booked under the old name.  Where the name is
    the file's own, the other one is told of it.
    """
    book, where = job.book, job.book.named_at if job.book else None
    if book is None or where is None or fold(book.job) == fold(job.path.stem):
        return ()
    own = followed(job.path)
    there = [path for path in books_in(job.path.parent)[:MOST_BESIDE] if followed(path) != own]
    other = next((path for path in there if fold(path.stem) == fold(book.job)), None)
    other = other or next((p for p in there if fold(job_named_in(p)) == fold(book.job)), None)
    if other is None:
        return ()
    says = f"'{book.job}' is the job of {other.name} too: what is booked for one counts for both"
    return (caution(where, says, f"a name of its own, such as {job.path.stem}"),)


def job_books(workshop: Workshop, names: Sequence[str]) -> list[Path]:
    """The books of jobs by their names: by the file's own name, else by the Job sheet's."""
    books = books_in(named(workshop.folder, "jobs")) if workshop.folder else ()
    found = {fold(path.stem): path for path in reversed(books)}
    if any(fold(name) not in found for name in names):
        found |= {fold(job_named_in(path)): path for path in reversed(books[:MOST_BESIDE])}
    return [found[fold(name)] for name in names if fold(name) in found]


def columns_of(path: Path) -> tuple[tuple[TakenFor, ...], tuple[Problem, ...]]:
    """What each heading of a job book is taken for, and what stands in the way of knowing it."""
    workshop = find_workshop(path.parent)
    taken, problems = columns_taken(path, workshop.catalogue, workshop.own)
    return taken, in_file_order((*problems, *workshop.problems))


def worked_out(job: Job, book: JobBook, found: Iterable[Problem] = ()) -> Job:
    """The job with everything that is reckoned from its book; `found` is what reading found."""
    job = _looked_through(job, book, found)
    if not (job.net and job.sized and job.ends):
        return job
    if not job.ways_known:
        return job
    setting = (job.ends, job.rules, job.workshop.catalogue)
    takeoff, lacking = take_off(job.net, job.sized, *setting)
    problems = (*job.problems, *lacking)
    return _with(job if has_errors(problems) else replace(job, takeoff=takeoff), problems)


def _looked_through(job: Job, book: JobBook, found: Iterable[Problem] = ()) -> Job:
    """The job measured, reckoned, sized and checked, not taken off."""
    workshop, rules = job.workshop, job.rules
    measured, unmeasured = measure(book, rules)
    # a misspelt point leaves its feeds and returns open: nothing is to be said of those
    net = Net(replace(book, whole=book.whole and not has_errors(unmeasured)))
    currents = reckon(net, measured, rules, workshop.catalogue)
    ends, unlike = join_ends(net, measured, rules, workshop.catalogue)
    ways = supplies(net, currents, rules, workshop.catalogue)
    sized = size(net, currents, ways, ends, (rules, workshop.catalogue))
    findings = Findings(net, ends, sized, currents, ways, (rules, workshop.catalogue))
    lists_read = book.lists_read and all(problem.where.sheet for problem in unmeasured)
    told = {problem.where for problem in unmeasured}
    ways_known = not (has_errors(unmeasured) or findings.battery_by_another_name)
    checked = (*unlike, *check(findings, ways_known=ways_known)) if lists_read else ()
    doubts = [problem for problem in checked if problem.where not in told]
    problems = (*found, *unmeasured, *doubts, *workshop.problems)
    job = replace(job, book=book, net=net, currents=currents, supplies=ways)
    job = replace(job, ends=ends, sized=sized, takeoff=None, places=findings.places)
    job = replace(job, ways_known=ways_known and lists_read)
    job = replace(job, balance=lights_on_watts(findings), currents_known=not findings.unread)
    return _with(job, problems)


def _with(job: Job, problems: Iterable[Problem]) -> Job:
    rows = job.book.accepts if job.book else ()
    return replace(job, problems=in_file_order(accepted(problems, rows)))


def _told_of_idle_rows(job: Job) -> Job:
    """With a caution for each row that accepts nothing, where all was looked through."""
    rows = job.book.accepts if job.book else ()
    return _with(job, (*job.problems, *idle(job.problems, rows))) if rows else job


def house_rules(workshop: Workshop) -> tuple[HouseRules, tuple[Problem, ...]]:
    """The rules of a workshop, whatever its jobs say."""
    places = {key: Where(RULES_FILE, "", key) for key in workshop.figures}
    return make_rules(workshop.figures, places, workshop.catalogue)
