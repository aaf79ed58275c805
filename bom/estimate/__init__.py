"""The order of work behind the take-off, on one page.

    take-offs of the jobs -> allot -> buy -> cut -> price -> doubt

The stages are those of `job`: plain functions that do not know each other.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from bom.buy.allot import allot, top_up, unheld
from bom.buy.cut import cut, substitutes
from bom.buy.doubt import Tried, Unknown, Worked, left_out, spread, unknowns
from bom.buy.on_order import with_orders
from bom.buy.order import Conditions, buy
from bom.buy.price import quote
from bom.estimate.books import price_book, read_shelf, read_shop, stock_at
from bom.files import clock
from bom.files.safely import followed
from bom.files.spelling import Misspelt, fold
from bom.job import Job, Workshop, find_workshop, house_rules, open_job, worked_out
from bom.read.books import BOOKS, PRICED, RULES_FILE, missing
from bom.read.prices import EMPTY_PRICES, old_prices
from bom.read.stock import EMPTY_STOCK
from bom.read.supplier_names import one_called
from bom.shelf.moves import history, left_to_issue
from bom.trade.catalogue_rows import takes
from bom.trade.house import HouseRules
from bom.trade.job_book import Colour
from bom.trade.needs import Allotment, Cut, CutList, Need, Taken
from bom.trade.orders import Order, Price, PriceBook, Purchase, Substitute
from bom.trade.problem import Problem, Where, caution, error, has_errors, in_file_order
from bom.trade.quotes import Quote
from bom.trade.shelf import Stock
from bom.trade.wires import SizedWire

__all__ = [
    "NOT_SOLD",
    "Bought",
    "buy_for",
    "given_by",
    "lacking_books",
    "price_book",
    "quote_for",
    "quote_of",
    "read_shelf",
    "stock_at",
]

NOT_SOLD = "items are on no price list"
"""What is told of several that have no price."""


class Bought(Struct, frozen=True, kw_only=True):
    """Jobs set against the shelf and the price lists of a workshop, by its rules or the first's."""

    jobs: tuple[Job, ...]
    workshop: Workshop
    rules: HouseRules
    needs: Mapping[str, tuple[Need, ...]]
    """What the jobs need, by their names."""
    stock: Stock
    prices: PriceBook
    allotment: Allotment
    order: Order
    cut_list: CutList
    substitutes: tuple[Substitute, ...]
    problems: tuple[Problem, ...]
    lacking: tuple[Problem, ...] = ()
    """Those of the problems that say what is not there, so that the whole answer rests on less."""
    of_the_order: tuple[Problem, ...] = ()
    """Those of the problems that are about what is bought, and where."""

    @property
    def wires(self) -> dict[tuple[str, str], SizedWire]:
        """Sized wires of all jobs, by job and label."""
        return _wires_of(self.jobs)

    @property
    def cuts(self) -> list[Cut]:
        """Cuts from the shelf and from what is bought: by gauge, colour, and falling length."""
        gauges = list(self.jobs[0].workshop.catalogue.cables) if self.jobs else []
        return sorted(
            self.cut_list.cuts,
            key=lambda c: (gauges.index(c.gauge), str(c.colour), -c.length_mm, c.wire, c.piece),
        )

    def part_of(self, job: Job) -> "Bought":
        """One of the jobs with its cuts; a piece is left over for the last that cuts from it."""
        last = {cut.piece: cut.job for j in self.jobs for cut in self.cuts if cut.job == j.name}
        own = replace(
            self.cut_list,
            cuts=tuple(cut for cut in self.cut_list.cuts if cut.job == job.name),
            offcuts=tuple(o for o in self.cut_list.offcuts if last.get(o.piece) == job.name),
        )
        return replace(self, jobs=(job,), cut_list=own)

    @property
    def on_order(self) -> list[Taken]:
        """What is counted on that is ordered and has not come, by item."""
        taken = (*self.cut_list.taken, *self.allotment.taken)
        return [part for part in taken if part.order]


def _wires_of(jobs: Iterable[Job]) -> dict[tuple[str, str], SizedWire]:
    return {(j.name, w.wire.label): w for j in jobs for w in j.wires}


def buy_for(
    asked_for: Sequence[Path | Job],
    *,
    topping_up: bool = False,
    on_order: bool = True,
    rest: bool = False,
    asked: Conditions | None = None,
    start: Path | None = None,
) -> Bought:
    """Open the jobs, set them against the shelf, order what is short and cut the cable.

    A job may be open already, as with rules that are set for one run.
    With `topping_up` the drawer items that fall under their low mark are bought as well; with
    `on_order` what has been ordered counts before it has come, and with `rest` a job that was
    issued needs only what was left then.
    Jobs of several workshops share the shelf and the prices of the first.
    """
    jobs = tuple(one if isinstance(one, Job) else open_job(one) for one in asked_for)
    workshop = jobs[0].workshop if jobs else find_workshop(start or Path.cwd())
    rules, faults = (jobs[0].rules, ()) if jobs else house_rules(workshop)
    stock, prices, unread = read_shop(workshop, rules, jobs)
    unread = unread if on_order else stock.beside_orders(unread)
    lacking = lacking_books(workshop, BOOKS if jobs else PRICED if topping_up else ())
    problems = (*(p for job in jobs for p in job.problems), *faults, *lacking, *unread)
    problems = (*problems, *(_same_names(jobs) if jobs else workshop.problems))
    problems = (*problems, *_issued_before(jobs, stock, rest=rest))
    asked, unknown = _known_suppliers(asked or Conditions(), prices)
    problems = (*problems, *unknown)
    needs = {job.name: job.takeoff.needs for job in jobs if job.takeoff}
    if has_errors(problems):
        needs, stock = {}, EMPTY_STOCK
    if rest:
        past = history(stock.moves)[0]
        needs = {job: left_to_issue(own, job, past) for job, own in needs.items()}
    names = {name for job in jobs for name in (job.name, *job.shares)}
    free = unheld(stock, names)
    coming = with_orders(free, names, rules.reel_end_mm) if on_order else free
    allotment = allot([(job, need) for job, own in needs.items() for need in own], coming)
    if topping_up and not has_errors(problems):
        allotment = top_up(allotment, coming)
    order = buy(allotment, prices, rules, asked)
    cut_list = cut(allotment.cables, order, rules)
    instead = _substitutes(cut_list, free, order, jobs)
    of_the_order = (*_doubts(order), *_aged(order, prices, rules))
    return Bought(
        jobs=jobs,
        workshop=workshop,
        rules=rules,
        needs=needs,
        stock=stock,
        prices=prices,
        allotment=allotment,
        order=order,
        cut_list=cut_list,
        substitutes=instead,
        problems=in_file_order((*problems, *of_the_order)),
        lacking=lacking,
        of_the_order=of_the_order,
    )


def given_by(
    stock: Stock, jobs: Sequence[Job]
) -> tuple[Mapping[str, tuple[Need, ...]], Allotment, CutList]:
    """What jobs need, and get together of a shelf as it stands: nothing is bought."""
    past = history(stock.moves)[0]
    found = {job.name: job.takeoff.needs for job in jobs if job.takeoff}
    needs = {job: left_to_issue(own, job, past) for job, own in found.items()}
    every = [(job, need) for job, own in needs.items() for need in own]
    allotment = allot(every, unheld(stock, {*needs}))
    rules = jobs[0].rules
    order = buy(allotment, EMPTY_PRICES, rules)
    return needs, allotment, cut(allotment.cables, order, rules)


def _aged(order: Order, prices: PriceBook, rules: HouseRules) -> Iterable[Problem]:
    """Suppliers of whose prices some that are used here are old, one caution each."""
    used = [row for line in order.lines if (row := _price_of(line, prices))]
    counts = Counter(row.supplier for row in used)
    old = old_prices(used, clock.today(), rules.price_age_days)
    for name, (count, oldest) in old.items():
        says = (
            f"{count} of {counts[name]} prices of '{name}' used here are older than "
            f"{rules.price_age_days} days (the oldest of {oldest})"
        )
        cure = f"bom prices add FILE --supplier '{name}'"
        yield caution(Where(), says, cure, alike="suppliers have prices that are old")


def _price_of(line: Purchase, prices: PriceBook) -> Price | None:
    """The row of the price lists that a line of the order is bought at."""
    rows = prices.offers(line.item, line.gauge, line.colour, line.unit)
    form = (line.supplier, line.sold_as, line.pack, line.price)
    alike = (r for r in rows if (r.supplier, r.sold_as, r.pack, r.price) == form)
    return next(alike, None)


def _substitutes(
    cut_list: CutList, stock: Stock, order: Order, jobs: Sequence[Job]
) -> tuple[Substitute, ...]:
    """What the shelf has that would do for cable that is bought, and what that saves."""
    if not jobs or not stock.pieces:
        return ()
    catalogue = jobs[0].workshop.catalogue
    metric = [gauge for gauge, cable in catalogue.cables.items() if not cable.is_awg]
    awg = [gauge for gauge, cable in catalogue.cables.items() if cable.is_awg]
    next_up = dict((*pairwise(metric), *pairwise(awg)))
    wires = _wires_of(jobs)

    def both_ends_take(job: str, wire: str, gauge: str) -> bool:
        entry, area = wires[job, wire], catalogue.cables[gauge].area_mm2
        return all(takes(catalogue.ends[e], area) for e in (entry.start_end, entry.finish_end))

    costs: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for line in order.lines:
        costs[line.item, line.gauge] += line.cost
    own = {missing.item: missing for missing in cut_list.short}
    return tuple(
        Substitute(
            item=found.item,
            gauge=own[found.item].gauge,
            colour=own[found.item].colour or Colour(""),
            instead=f"{found.gauge} {found.colour}",
            pieces=tuple(
                piece.name
                for piece in stock.pieces
                if (piece.gauge, piece.colour) == (found.gauge, found.colour)
            ),
            saves=costs.get((found.item, own[found.item].gauge)),
        )
        for found in substitutes(cut_list, stock, next_up, both_ends_take)
    )


def _same_names(jobs: Sequence[Job]) -> Iterable[Problem]:
    """Two jobs of one order under one name could not be told apart on the lists."""
    seen: dict[str, Path] = {}
    for job in jobs:
        first = seen.setdefault(job.name, job.path)
        if first is job.path:
            continue
        if followed(first) == followed(job.path):
            says = f"'{job.name}' is named twice"
            yield error(Where(job.path.name), says, "each job once")
        else:
            where = Where(job.path.name, "Job" if first.name != job.path.name else "")
            says = f"a second job called '{job.name}' (the other is {first})"
            yield error(where, says, "another name on its Job sheet")


def _issued_before(jobs: Sequence[Job], stock: Stock, *, rest: bool) -> Iterable[Problem]:
    for job in jobs:
        when = stock.issued.get(fold(job.name))
        if when and rest:
            says = f"'{job.name}' was issued on {when}: only what was left then counts here"
            yield caution(Where(stock.file), says)
        elif when:
            says = f"'{job.name}' was issued on {when}: what it took is off the shelf by now"
            yield caution(
                Where(stock.file), says, "lists and price as they were printed before that"
            )


def lacking_books(workshop: Workshop, books: Iterable[str]) -> tuple[Problem, ...]:
    """What has to be done without: the whole workshop, or some of these books."""
    if workshop.folder is None:
        return tuple(p for p in workshop.problems if p.level == "caution" and not p.where.file)
    return tuple(missing(workshop.folder, *books))


def _known_suppliers(asked: Conditions, prices: PriceBook) -> tuple[Conditions, list[Problem]]:
    """The suppliers asked for as the price lists spell them, and those that are on none."""
    known = {row.supplier for row in prices.prices}
    problems = list[Problem]()

    def spelled(names: Iterable[str]) -> Iterator[str]:
        for name in names:
            try:
                yield one_called(name, known, "on the price lists")
            except Misspelt as fault:
                problems.append(error(Where(), fault.says, fault.cure))

    without, demanded = tuple(spelled(asked.without)), tuple(spelled(asked.demanded))
    problems += [
        error(Where(), f"supplier '{name}' is both left out and demanded")
        for name in sorted({*without} & {*demanded})
    ]
    return Conditions(without=without, demanded=demanded, compare=asked.compare), problems


def _doubts(order: Order) -> Iterable[Problem]:
    """What nobody sells, and what is spent on more than is needed at a supplier."""
    over: dict[str, Decimal] = defaultdict(Decimal)
    for line in order.lines:
        over[line.supplier] += line.more * line.price
    for name, cost in over.items():
        if cost:
            says = f"{cost:.2f} of the order at '{name}' is for more than is needed"
            cure = f"--without '{name}', or put the order off until more is needed"
            yield caution(Where(), says, cure, alike="orders are for more than is needed")
    for unsold in order.unpriced:
        says = f"nobody sells '{unsold.item}' on the price lists"
        yield caution(Where(), says, "a row for it in prices", alike=NOT_SOLD)


def quote_for(job: Path | Job) -> tuple[Bought, Quote | None]:
    """The estimate for one job, or None when it has errors."""
    return quote_of(buy_for([job]))


def quote_of(bought: Bought) -> tuple[Bought, Quote | None]:
    """The estimate for the first of the jobs, with its range where rows are marked doubtful.

    Half a price has no range: it is sure to come out higher.
    """
    job = bought.jobs[0]
    if job.takeoff is None or job.book is None or has_errors(bought.problems):
        return bought, None
    setting = (job.rules, job.workshop.catalogue, bought.prices)
    estimate = quote(
        job.takeoff, (bought.allotment, bought.order, bought.cut_list), job.book.labour, setting
    )
    if not job.rules.hourly_rate:
        free = caution(Where(RULES_FILE, "", "hourly_rate"), "no hourly rate: labour is free")
        bought = replace(bought, problems=(*bought.problems, free))
    if not estimate.complete:
        return bought, estimate
    base = Worked(takeoff=job.takeoff, labour=job.book.labour)
    tried = tuple(_tried(job, base, unknown) for unknown in unknowns(job.book))
    estimate = replace(estimate, range=spread(estimate, base, tried, setting))
    doubts = left_out(estimate.range, estimate) if estimate.range else ()
    return replace(bought, problems=(*bought.problems, *doubts)), estimate


def _tried(job: Job, base: Worked, unknown: Unknown) -> Tried:
    """The job once more with one row raised by its doubt, or lowered where that has errors."""
    for book in (unknown.raised, unknown.lowered):
        labour_only = job.book is not None and book.labour != job.book.labour
        takeoff = base.takeoff if labour_only else worked_out(job, book).takeoff
        if takeoff:
            worked = Worked(takeoff=takeoff, labour=book.labour)
            return Tried(unknown=unknown, worked=worked, lowered=book is unknown.lowered)
    return Tried(unknown=unknown, worked=None)
