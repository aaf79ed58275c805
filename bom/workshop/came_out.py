"""How far jobs came out from what was quoted, and what that says of the next quotation.

A job's ratio is what it used by what would be quoted for it now: allowances learned since then
are in today's figures, and are not corrected twice.  Each finished job is taken as if this
estimate had come out as that job did, its hours and its materials at once, and the logarithms of
the totals give the range by Student's t (`means`).  A workshop's ratios have its usual doubts in
them already, so that the doubts marked in the job book widen the range only where they ask for
more than that.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from bom.buy.doubt import root_of_squares
from bom.estimate import Bought
from bom.files.spelling import fold
from bom.read.books import named
from bom.shelf.moves import history
from bom.trade.figures import round_money
from bom.trade.house import HouseRules
from bom.trade.means import (
    factor_that_holds,
    next_one,
    sample_deviation,
    t_nine_in_ten,
)
from bom.trade.needs import LABOUR, Need
from bom.trade.problem import Problem, Where, caution, has_errors
from bom.trade.quotes import CameOut, GivenQuote, Past, Quote, Range
from bom.workshop.done_file import read_done
from bom.workshop.finished import Finished
from bom.workshop.register import register_of
from bom.workshop.standing import DONE_BOOK, Standing

FEWEST_JOBS = 5
"""From fewer jobs nothing is foreseen: Student's t would make the range useless."""
LEFT_OUT_FROM = 10
"""From so many jobs on the range has to hold nine in ten of them, each left out in turn."""
_DEVIATIONS = 1.645
"""So many standard deviations hold nine in ten, if many small causes are at work: JCGM 100:2008,
table G.1."""

Ratios = Mapping[str, float]
"""By job, what was used by what would be quoted now."""


class Shares(Struct, frozen=True, kw_only=True):
    """Parts of an estimate's net: its hours, materials of which jobs tell, and all else."""

    labour: float
    materials: float
    rest: float


def with_past(bought: Bought, estimate: Quote) -> Quote:
    """The estimate with the range that finished jobs leave it, where there are enough of them."""
    found = _finished(bought)
    too_few = len({fold(record.job) for record in found}) < FEWEST_JOBS
    if too_few or not (estimate.complete and estimate.net):
        return estimate
    job = bought.jobs[0]
    register, _ = register_of(job.workshop)
    hours = hours_ratios(found, register.rows, job.rules)
    if len(hours) < FEWEST_JOBS:
        return estimate
    needs = job.takeoff.needs if job.takeoff else ()
    paid = _paid_by_kind(estimate, needs)
    materials = _materials_ratios(found, paid, needs, job.rules)
    known = float(sum(paid.values())) if materials else 0.0
    shares = Shares(
        labour=float(estimate.labour),
        materials=known,
        rest=float(estimate.materials) - known,
    )
    return replace(estimate, range=foreseen(estimate, hours, materials, shares))


def foreseen(estimate: Quote, hours: Ratios, materials: Ratios, shares: Shares) -> Range:
    """What nine in ten such estimates come to, from five jobs whose hours are known on."""
    totals = _totals(hours, materials, shares)
    factor = t_nine_in_ten(len(totals) - 1)
    held = None
    if len(totals) >= LEFT_OUT_FROM:
        factor = max(factor, factor_that_holds(totals))
        held = sum(_holds(totals, n, factor) for n in range(len(totals)))
    mean, off = next_one(totals, factor)
    total, parts = float(estimate.total), estimate.range.parts if estimate.range else ()
    doubt = _DEVIATIONS * float(root_of_squares(p.effect for p in parts if p.effect is not None))
    centre = total * math.exp(mean)
    low = min(total * math.exp(mean - off), centre - doubt)
    high = max(total * math.exp(mean + off), centre + doubt)
    return Range(
        low=max(Decimal("0.00"), round_money(Decimal(low))),
        likely=estimate.total,
        high=round_money(Decimal(high)),
        parts=parts,
        past=Past(
            hours=_came_out(hours),
            materials=_came_out(materials) if len(materials) > 1 else None,
            factor=factor,
            held=held,
        ),
    )


def outside_its_range(estimate: Quote, rules: HouseRules) -> Iterator[Problem]:
    """A caution where the total is what no finished job lets expect, with what brings it in."""
    found = estimate.range
    if found is None or found.past is None or not found.outside:
        return
    now = 100 + rules.labour_percent
    learned = round(now * (1 + Decimal(found.past.hours.more_percent) / 100))
    hours = estimate.labour * estimate.total / estimate.net
    is_one = found.low == found.high
    is_cured = is_one or found.low <= estimate.total + hours * (learned / now - 1) <= found.high
    if is_one and learned == now:  # no nearer than a whole per cent
        return
    lies = f"TOTAL {estimate.total:.2f} lies {found.outside} all that is likely"
    rule = f"labour_percent = {learned - 100} in workshop.toml, or on the sheet Job"
    says = f"{lies}: the customer sees no range"
    yield caution(Where(), says, rule if is_cured else "bom learn, and what it proposes")


def _holds(values: Sequence[float], left_out: int, factor: float) -> bool:
    mean, off = next_one([*values[:left_out], *values[left_out + 1 :]], factor)
    return abs(values[left_out] - mean) <= off * (1 + 1e-9)


def _totals(hours: Ratios, materials: Ratios, shares: Shares) -> list[float]:
    """By job the logarithm of what this estimate comes to, by what it says."""
    usual = math.exp(_mean_log(materials)) if materials else 1.0
    net = shares.labour + shares.materials + shares.rest
    return [
        math.log(
            (shares.labour * ratio + shares.materials * materials.get(job, usual) + shares.rest)
            / net
        )
        for job, ratio in hours.items()
    ]


def _mean_log(ratios: Ratios) -> float:
    return math.fsum(map(math.log, ratios.values())) / len(ratios)


def _came_out(ratios: Ratios) -> CameOut:
    spread = sample_deviation([math.log(ratio) for ratio in ratios.values()])
    return CameOut(
        more_percent=100 * math.expm1(_mean_log(ratios)),
        spread_percent=100 * math.expm1(spread),
        jobs=len(ratios),
    )


# ------------------------------------------------------------------------------- ratios


def _finished(bought: Bought) -> list[Finished]:
    """The records of jobs that are done and were not taken back; none that cannot be read."""
    workshop = bought.workshop
    if workshop.folder is None:
        return []
    records, problems = read_done(named(workshop.folder, DONE_BOOK), workshop.catalogue)
    gone = history(bought.stock.moves)[0].not_done
    own = {fold(job.name) for job in bought.jobs}
    left = [r for r in records if fold(r.job) not in gone | own]
    return [] if has_errors(problems) else left


def hours_ratios(
    records: Iterable[Finished], given: Sequence[GivenQuote], rules: HouseRules
) -> Ratios:
    """Hours worked by those that would be quoted now, of each job whose hours somebody told.

    Quoted are the hours of its quotations, or of its plan where none was given, with the
    allowance of today in place of that of its day.
    """
    ratios = {}
    for record in records:
        told = record.kind == "labour" and not record.is_as_filled_in
        if told and record.base > 0 and record.planned > 0 and record.used > 0:
            quoted = _hours_given(record.job, given) or record.planned
            counted = quoted * record.base / record.planned
            now = counted * (1 + rules.labour_percent / 100)
            ratios[fold(record.job)] = float(record.used / now)
    return ratios


def _hours_given(job: str, given: Sequence[GivenQuote]) -> Decimal:
    own = tuple(quote for quote in given if fold(quote.job) == fold(job))
    hours = (quote.hours for quote in Standing(quotes=own).quoted)
    return sum((each for each in hours if each is not None), Decimal())


def _paid_by_kind(estimate: Quote, needs: Iterable[Need]) -> Mapping[str, Decimal]:
    """What the customer pays for each kind of material."""
    kinds = {need.item: need.kind for need in needs}
    paid: dict[str, Decimal] = defaultdict(Decimal)
    for line in estimate.lines:
        if line.group != LABOUR and line.item in kinds:
            paid[kinds[line.item]] += line.price
    return paid


def _materials_ratios(
    records: Sequence[Finished],
    paid: Mapping[str, Decimal],
    needs: Iterable[Need],
    rules: HouseRules,
) -> Ratios:
    """Materials used by those that would be quoted now, each kind as it weighs in this estimate.

    Of a job whose sheet was left as the plan filled it in nothing is believed.
    """
    allowed = _allowed(needs)
    put_right = {
        fold(r.job) for r in records if r.kind not in ("run", LABOUR) and not r.is_as_filled_in
    }
    runs = {fold(record.job): record for record in records if record.kind == "run"}
    used: dict[str, float] = defaultdict(float)
    quoted: dict[str, float] = defaultdict(float)
    for record in records:
        job, worth = fold(record.job), float(paid.get(record.kind, 0))
        if job not in put_right or not worth or record.kind not in allowed:
            continue
        base = record.base + (_longer(runs.get(job), rules) if record.kind == "cable" else 0)
        if base > 0 and record.used + record.spoilt > 0:
            quoted[job] += worth
            used[job] += worth * float((record.used + record.spoilt) / base) / allowed[record.kind]
    return {job: used[job] / quoted[job] for job in used}


def _allowed(needs: Iterable[Need]) -> Mapping[str, float]:
    """Of each kind what is charged in this job by what is counted."""
    counted: dict[str, Decimal] = defaultdict(Decimal)
    charged: dict[str, Decimal] = defaultdict(Decimal)
    for need in needs:
        counted[need.kind] += need.quantity if need.counted is None else need.counted
        charged[need.kind] += need.quantity
    return {kind: float(charged[kind] / of) for kind, of in counted.items() if of}


def _longer(run: Finished | None, rules: HouseRules) -> Decimal:
    """Metres that a loom's cable is longer by the allowance of today than by that of its day."""
    return run.base * (1 + rules.run_percent / 100) - run.planned if run else Decimal()
