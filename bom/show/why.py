"""Why: how the numbers of a wire or an item came about, in sentences with figures and sources."""

import re
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from bom.buy.doubt import root_of_squares
from bom.buy.price import Task, tasks
from bom.estimate import Bought, quote_of
from bom.files.spelling import fold, plain
from bom.job import Job
from bom.show.shared import came_out, ends_of, in_metres, so_far
from bom.show.why_fuse import rating, why_fuse
from bom.show.why_supplier import why_supplier
from bom.trade.catalogue_rows import Operation
from bom.trade.figures import HEAT_MARGIN, allowed_hours, round_money
from bom.trade.job_book import NO_FUSE, LabourRow
from bom.trade.needs import Need
from bom.trade.problem import as_typed, nearest
from bom.trade.quotes import Effect, Past, Quote, Range
from bom.trade.roads import Along, backwards
from bom.trade.rows import Row
from bom.trade.wires import SizedWire, Supply
from bom.workshop.came_out import FEWEST_JOBS, with_past

RANGE_SOURCE = "JCGM 100:2008, 5.1.2, equation 10"
TOTAL = "total"
"""What the price as a whole is asked for by, where no wire and no item has that name."""
WORK = "labour"
"""What the hours are asked for by, in the same way."""
FUSE, SUPPLIER = NAMES = ("fuse", "supplier")
"""What is asked for by this word and a name."""
HEAT_SOURCE = "a formula checked against FAA AC 43.13-1B, figure 11-5; ISO 6722, class B"


def why(bought: Bought, what: str, name: str = "") -> tuple[str, tuple[str, ...]]:
    """The wire, item, `total` or `labour` meant, and how its numbers came about, a sentence a line.

    With a name it is the fuse or the supplier of that name.  The subject is empty when nothing is
    meant; the line then says what comes nearest.
    """
    job = bought.jobs[0]
    wanted = fold(what)
    if name:
        return why_fuse(job, name) if wanted == FUSE else why_supplier(bought, name)
    wires = {fold(w.wire.label): w for w in job.wires}
    if wanted in wires:
        return wires[wanted].wire.label, tuple(_wire(job, wires[wanted]))
    needs = {fold(need.item): need for need in (job.takeoff.needs if job.takeoff else ())}
    if wanted == TOTAL and wanted not in needs:
        return TOTAL, tuple(_total(bought))
    if wanted in NAMES and wanted not in needs:
        return "", (f"'{what}' wants a name behind it{_for_example(bought, wanted)}",)
    if wanted == WORK and wanted not in needs:
        return WORK, tuple(_labour(bought))
    partly = [item for item in needs if wanted in item]
    if wanted in needs or len(partly) == 1:
        need = needs[wanted if wanted in needs else partly[0]]
        return need.item, tuple(_need(bought, need))
    if partly:
        return "", (f"'{what}' may mean {' or '.join(needs[item].item for item in partly)}",)
    close = nearest(what, [*wires, *needs, WORK])
    names = {name: need.item for name, need in needs.items()}
    names |= {name: wire.wire.label for name, wire in wires.items()}
    hint = f"; try: {names.get(close, close)}" if close else ""
    return "", (f"'{what}' is neither a wire nor an item of this job{hint}",)


def _for_example(bought: Bought, wanted: str) -> str:
    """A fuse of the job, or a supplier of the order."""
    sized = bought.jobs[0].sized
    fuses = [fuse.name for fuse in (sized.fuses if sized else ())]
    known = fuses if wanted == FUSE else [line.supplier for line in bought.order.lines]
    return f"; try: {wanted} {as_typed(known[0])}" if known else ""


# ---------------------------------------------------------------------------------- wire


def _wire(job: Job, entry: SizedWire) -> Iterator[str]:
    wire = entry.wire
    yield (
        f"{wire.label}: {wire.circuit}, {wire.start} to {wire.finish}, "
        f"{wire.colour}, {entry.cable.gauge}"
    )
    yield from _length(job, entry)
    yield from _current(job, entry)
    yield _fuse(job, entry)
    yield from _gauge(job, entry)
    yield from _drop(job, entry)
    yield f"ends: {entry.start_end} at {wire.start}, {entry.finish_end} at {wire.finish}"
    yield from _doubtful(job, wire.row)


def _doubtful(job: Job, row: Row) -> Iterator[str]:
    """What is doubtful in this row, or was and is accepted."""
    cell = re.compile(rf"[A-Z]+{row.number}")
    for problem in job.problems:
        place = problem.where
        here = (place.file, place.sheet) == (row.file, row.sheet) and cell.fullmatch(place.cell)
        if here and problem.level == "caution":
            then = f"accepted: {problem.accepted}" if problem.accepted else f"try: {problem.cure}"
            yield f"doubtful: {problem.says}; {then}"


def _length(job: Job, entry: SizedWire) -> Iterator[str]:
    wire, measured, rules = entry.wire, entry.loaded.measured, job.rules
    path, slack, tails = (
        plain(Decimal(str(round(float(mm), 2))))
        for mm in (measured.path_mm, measured.slack_mm, measured.tails_mm)
    )
    if wire.length_mm is not None:
        yield f"length: {path} mm typed on the sheet (neither tails nor slack are added)"
    else:
        branches = job.book.branches if job.book else ()
        way = ", ".join(str(branches[index]) for index in measured.branches)
        yield f"way: {way or 'both ends at one point of the loom'}; path {path} mm"
    yield (
        f"piece: {path} x (1 + {plain(rules.run_percent)} %) + slack {slack} + tails {tails} + "
        f"2 x {plain(rules.end_mm)} mm, up to the next {rules.step_mm} mm: {measured.piece_mm} mm"
    )


def _current(job: Job, entry: SizedWire) -> Iterator[str]:
    loaded = entry.loaded
    amps = f"{round(float(loaded.amps), 3):g} A"
    if entry.wire.load is not None:
        yield f"current: {amps}, typed in this row"
    elif not loaded.loads or job.currents is None:
        yield "current: 0 A, no load either way"
    else:
        loads = job.currents.of(loaded.loads)
        way = "comes from" if loaded.is_return else "leads to"
        yield f"current: {amps} (watts / volts); it {way} {', '.join(loads)}"


def _fuse(job: Job, entry: SizedWire) -> str:
    if entry.loaded.is_return:
        return "fuse: none, it leads to no load"
    if entry.loaded.fuse == NO_FUSE:
        return "fuse: none on purpose"
    if entry.fuse_amps is None and entry.loaded.starter_amps:
        return "fuse: none, as is usual on a starter's leads"
    if entry.fuse_amps is None:
        return "fuse: none, the feeds do not agree on one"
    fuses = {fuse.name: fuse for fuse in (job.sized.fuses if job.sized else ())}
    whose = "typed here" if entry.wire.fuse else "that of the wires that feed it"
    return f"fuse: {entry.loaded.fuse} ({whose}); {rating(job, fuses[str(entry.loaded.fuse)])}"


def _gauge(job: Job, entry: SizedWire) -> Iterator[str]:
    cable = entry.cable
    for rejected in entry.rejected:
        yield f"not {rejected}"
    why = f"decided by {entry.decided}" if entry.decided else "nothing asks for more"
    how = "typed" if entry.wire.gauge else f"chosen, {why}"
    yield f"gauge: {cable.gauge} {how}, rated {float(cable.rated_amps):g} A ({cable.source})"
    for lack in entry.lacks:
        yield f"it falls short: {lack}"
    yield from _heat(job, entry)


def _heat(job: Job, entry: SizedWire) -> Iterator[str]:
    """The warmest branch on the way of a wire."""
    heats = job.sized.heats if job.sized else {}
    branches = job.book.branches if job.book else ()
    lain = [index for index in entry.loaded.measured.branches if index in heats]
    if entry.loaded.heat_amps < float(entry.loaded.amps):
        yield (
            f"it warms like {entry.loaded.heat_amps:.3g} A all the time (root mean square over "
            "minutes; catalogs/loads.csv and kinds.csv say how long loads are on)"
        )
    if lain:
        warmest = max(lain, key=lambda index: heats[index].hottest_c)
        heat, branch = heats[warmest], branches[warmest]
        ambient = job.rules.ambient_c if branch.ambient_c is None else branch.ambient_c
        yield (
            f"heat: the warmest branch on its way, {branch}, gets to {plain(ambient)} + "
            f"{HEAT_MARGIN} x {heat.rise_k:.1f} = {heat.hottest_c:.0f} C, {heat.most_c:.0f} C is "
            f"the most ({HEAT_SOURCE})"
        )


def _drop(job: Job, entry: SizedWire) -> Iterator[str]:
    yield (
        f"drop: {float(entry.loaded.amps):.3g} A x {entry.piece_mm} mm x "
        f"{entry.cable.ohm_per_km_20c:g} ohm/km at 20 C, conductor at "
        f"{plain(job.rules.conductor_c)} C: {entry.drop_volts:.3f} V"
    )
    lost = {w.wire.label: w.drop_volts for w in job.wires}
    lost_on = Along(0.0, lambda volts, label: volts + lost[label])
    through = Along(False, lambda met, label: met or label == entry.wire.label)
    ways = [
        ((lost_on(stretch.feed) + lost_on(stretch.back)) / stretch.volts, supply.load, supply)
        for supply in job.supplies
        for stretch in supply.limits
        if through(stretch.feed) or through(stretch.back)
    ]
    if ways:
        yield _whole_way(job, max(ways, key=lambda way: way[:2])[2])


def _whole_way(job: Job, supply: Supply) -> str:
    drops = {w.wire.label: w.drop_volts for w in job.wires}
    total = sum(drops[label] for label in supply.wires)
    there = ""
    if supply.feed_volts is not None:
        lost = sum(drops[label] for label in backwards(supply.feed))
        there = f", of it there {lost:.3f} V of {supply.feed_volts:.2f} V"
    return (
        f"tightest way: to {supply.load} and back, {' '.join(supply.wires)}, "
        f"{supply.length_mm} mm: {total:.3f} V of {supply.allowed_volts:.2f} V "
        f"allowed{there} ({supply.kind}; catalogs/drops.csv)"
    )


# ---------------------------------------------------------------------------------- item


def _need(bought: Bought, need: Need) -> Iterator[str]:
    quantity, unit = in_metres(need)
    yield f"{need.item}: {plain(quantity)} {unit}"
    yield f"rule: {need.trace.rule}"
    yield from need.trace.figures
    for part in (*bought.allotment.taken, *bought.cut_list.taken):
        if (part.item, part.gauge) == (need.item, need.gauge):
            amount, unit = in_metres(part)
            yield f"off the shelf: {plain(amount)} {unit} from {part.piece or 'the drawer'}"
    for line in bought.order.lines:
        if (line.item, line.gauge) == (need.item, need.gauge):
            yield (
                f"to buy: {line.packs} x {line.sold_as} of {plain(line.pack)} at {line.supplier}, "
                f"{line.cost:.2f}; {line.trace.rule}"
            )
            yield from line.trace.figures


# --------------------------------------------------------------------------------- total


def _total(bought: Bought) -> Iterator[str]:
    _, estimate = quote_of(bought)
    if estimate is None:
        yield "TOTAL: none, there are errors"
        return
    estimate = with_past(bought, estimate)
    percent = plain(bought.jobs[0].rules.tax_percent)
    sums = (
        f"{estimate.total:.2f}: materials {estimate.materials:.2f} + labour "
        f"{estimate.labour:.2f} = net {estimate.net:.2f}, and tax {percent} % {estimate.tax:.2f}"
    )
    if without := so_far(estimate):
        yield from (without, f"so far {sums}", "range: none while something has no price")
        return
    yield f"TOTAL {sums}"
    if estimate.range is None:
        yield (
            "range: none, no row of Loom, Components or Labour has a doubt, and fewer than "
            f"{FEWEST_JOBS} jobs are done whose hours were told"
        )
    else:
        yield from _range(estimate, estimate.range)


def _range(estimate: Quote, found: Range) -> Iterator[str]:
    """The range, its method, and what each doubtful row adds to it."""
    if found.past:
        yield from _learned(estimate, found, found.past)
    else:
        yield from _guessed(estimate, found)
    for part in found.parts:
        yield _part(part)


def _learned(estimate: Quote, found: Range, past: Past) -> Iterator[str]:
    """The range as finished jobs came out."""
    yield f"likely {ends_of(found)}: nine in ten, as jobs came out"
    if said := came_out(estimate):
        yield said
    yield (
        "method: each finished job is taken as if this estimate had come out as that job did; of "
        "the logarithms the mean, and so many deviations that one more job is held: "
        f"{past.factor:.2f} x root of (1 + 1/{past.hours.jobs}) (Student's t; JCGM 100:2008, "
        "G.3.2 and 5.1.2)"
    )
    if past.held is not None:
        yield f"each left out in turn, {past.held} of the {past.hours.jobs} jobs are held"
    yield (
        "allowances are today's, so that nothing learned is corrected twice; the doubts below "
        "widen it only where they ask for more than that, as jobs have had theirs"
    )


def _guessed(estimate: Quote, found: Range) -> Iterator[str]:
    """The range as the marked doubts leave it."""
    off = round_money(root_of_squares(p.effect for p in found.parts if p.effect is not None))
    yield f"likely between {found.low:.2f} and {found.high:.2f}: {estimate.total:.2f} -/+ {off:.2f}"
    yield (
        "method: each doubt is taken as one standard deviation of what its row says, and no row as "
        "depending on another; the deviation of the total is the root of the sum of the squares of "
        f"what each row does to it ({RANGE_SOURCE})"
    )
    yield (
        "each row: the job worked out again with that row raised by its doubt, at the prices of "
        "the estimate, with tax; nothing is bought again for it"
    )
    yield (
        "if many small causes are at work (normal distribution), about 68 of 100 such jobs end "
        "between the two"
    )


def _part(part: Effect) -> str:
    percent = plain(part.doubt_percent)
    row = f"{part.where.sheet} {part.where.cell}, {part.what}"
    if part.effect is None:
        return (
            f"{row}: left out, the job has errors with {percent} % more and with {percent} % less"
        )
    how = "lowered" if part.lowered else "raised"
    why_lowered = ", as the job has errors when it is raised" if part.lowered else ""
    without = f"; without a price and left out: {', '.join(part.unpriced)}"
    return (
        f"{row}: {how} by {percent} %{why_lowered}: {round_money(part.effect):+.2f}"
        f"{without * bool(part.unpriced)}"
    )


# -------------------------------------------------------------------------------- labour


def _labour(bought: Bought) -> Iterator[str]:
    """Each operation with count x minutes, each task with its hours, and what they come to."""
    _, estimate = quote_of(bought)
    job = bought.jobs[0]
    if estimate is None or job.takeoff is None or job.book is None:
        yield "labour: none, there are errors"
        return
    rules, catalogue = job.rules, job.workshop.catalogue
    counted = tuple(tasks(job.takeoff.counts, (), catalogue))
    work = tuple(tasks(job.takeoff.counts, job.book.labour, catalogue))
    hours = sum((task.hours for task in work), Fraction(0))
    more = f" + {plain(rules.labour_percent)} % (labour_percent)" if rules.labour_percent else ""
    allowed = f"{more} = {_hours(allowed_hours(hours, rules.labour_percent))}" if more else ""
    yield (
        f"labour {estimate.labour:.2f}: {_hours(hours)}{allowed}, at {rules.hourly_rate:.2f} an "
        "hour (hourly_rate)"
    )
    counts = [_counted(task, catalogue.labour[task.name]) for task in counted]
    own = [_own(row) for row in job.book.labour]
    lines = [line for line in estimate.lines if line.hours is not None]
    for says, task, line in zip((*counts, *own), work, lines, strict=True):
        yield f"{says} {_hours(task.hours)}, {line.price:.2f}"
    if more:
        yield f"each with {plain(rules.labour_percent)} % more hours in its price"
    if counted:
        sources = dict.fromkeys(catalogue.labour[task.name].source for task in counted)
        yield f"minutes: catalogs/labour.csv ({'; '.join(sources)})"


def _counted(task: Task, operation: Operation) -> str:
    count, minutes = plain(round(task.quantity, 2)), f"{float(operation.minutes):g}"
    return f"{task.name}: {count} x {minutes} min per {operation.per} ="


def _own(row: LabourRow) -> str:
    where = row.row.where("task")
    times = f" {plain(row.qty)} x {plain(row.hours)} h =" if row.qty != 1 else ""
    return f"{row.task} ({where.sheet} {where.cell}):{times}"


def _hours(hours: Fraction) -> str:
    return f"{float(hours):.2f} h"
