"""Allowances learned from finished jobs: what was used beyond what is counted, job by job.

The proposal for a rule is the mean of the jobs' ratios, each weighted by its base (a long loom
tells more of lay and corners than a short one).  How far jobs lie apart is their sample standard
deviation, each job counting alike; how surely the mean is known is its standard uncertainty
(JCGM 100:2008, 4.2.2, 4.2.3; `figures`).
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct

from bom.files.spelling import fold
from bom.trade.catalogue import Catalogue
from bom.trade.house import HouseRules
from bom.trade.means import mean_uncertainty, sample_deviation, weighted_mean
from bom.workshop.finished import Finished

FEWEST_JOBS = 3
"""From fewer jobs nothing is proposed: two cannot tell a habit from an accident."""

ONE_IN_TEN = 10
"""From so many jobs on it is counted what would have covered all but one in ten of them."""

_STEP = Decimal("0.1")
_LEAST_LABOUR = Decimal(-90)


class _LearnedRule(Struct, frozen=True, kw_only=True):
    """A house rule in per cent: the kinds that tell of it, and whether only what spoilt does."""

    key: str
    kinds: frozenset[str]
    spoilt_only: bool = False
    least: Decimal = Decimal(0)


def _learned(catalogue: Catalogue) -> tuple[_LearnedRule, ...]:
    """Layers with a waste of their own say nothing of the house's."""
    layers = (layer for layer in catalogue.layers.values() if layer.waste_percent is None)
    house = frozenset(layer.covering for layer in layers)
    ends = frozenset({"terminal", "cover", "seal", "splice"})
    return (
        _LearnedRule(key="run_percent", kinds=frozenset({"run"})),
        _LearnedRule(key="cable_spare_percent", kinds=frozenset({"cable"}), spoilt_only=True),
        _LearnedRule(key="terminal_spare_percent", kinds=ends, spoilt_only=True),
        _LearnedRule(key="covering_waste_percent", kinds=house),
        _LearnedRule(key="labour_percent", kinds=frozenset({"labour"}), least=_LEAST_LABOUR),
    )


class Allowance(Struct, frozen=True, kw_only=True):
    """What the jobs say of one house rule, in per cent; None where too few jobs tell.

    `deviation` is between jobs, `uncertainty` of the mean.  `most_jobs` would have covered all
    but one in ten of the jobs there were, None under `ONE_IN_TEN` jobs: a count, no forecast.
    """

    rule: str
    now: Decimal
    jobs: int
    mean: float | None = None
    deviation: float | None = None
    uncertainty: float | None = None
    most_jobs: float | None = None
    proposal: Decimal | None = None
    keep: bool = False

    @property
    def changed(self) -> bool:
        """True where another figure than the present is proposed."""
        return self.proposal is not None and not self.keep


def propose(
    records: Iterable[Finished], rules: HouseRules, catalogue: Catalogue
) -> tuple[Allowance, ...]:
    """An allowance for each rule, from the records of finished jobs.

    A job without any base of a kind says nothing of it and is not counted; nor is one whose sheet
    was left as the plan filled it in.  That nothing spoilt is ordinary, and believed of a sheet in
    which something else of the loom was put right.
    """
    known = list(records)
    loom = (record for record in known if record.kind != "labour")
    put_right = {fold(record.job) for record in loom if not record.is_as_filled_in}

    def tells(rule: _LearnedRule, record: Finished) -> bool:
        believed = rule.spoilt_only and fold(record.job) in put_right
        return record.kind in rule.kinds and (believed or not record.is_as_filled_in)

    return tuple(
        _allowance(rule, _ratios(rule, [r for r in known if tells(rule, r)]), rules)
        for rule in _learned(catalogue)
    )


def _ratios(rule: _LearnedRule, records: Iterable[Finished]) -> Sequence[tuple[float, float]]:
    """(per cent beyond the base, base) of each job that has a base."""
    base: dict[str, Decimal] = defaultdict(Decimal)
    beyond: dict[str, Decimal] = defaultdict(Decimal)
    for record in records:
        job = fold(record.job)
        base[job] += record.base
        used = Decimal() if rule.spoilt_only else record.used - record.base
        beyond[job] += used + record.spoilt
    return [(float(100 * beyond[job] / b), float(b)) for job, b in base.items() if b > 0]


def _allowance(
    rule: _LearnedRule, ratios: Sequence[tuple[float, float]], rules: HouseRules
) -> Allowance:
    now: Decimal = getattr(rules, rule.key)
    if len(ratios) < FEWEST_JOBS:
        return Allowance(rule=rule.key, now=now, jobs=len(ratios))
    values, weights = [ratio for ratio, _ in ratios], [base for _, base in ratios]
    mean = weighted_mean(values, weights)
    deviation = sample_deviation(values)
    uncertainty = mean_uncertainty(deviation, weights)
    proposal = max(_rounded(mean), rule.least)
    return Allowance(
        rule=rule.key,
        now=now,
        jobs=len(ratios),
        mean=mean,
        deviation=deviation,
        uncertainty=uncertainty,
        most_jobs=_all_but_one_in_ten(values),
        proposal=proposal,
        keep=proposal == now or abs(mean - float(now)) <= uncertainty,
    )


def _rounded(percent: float) -> Decimal:
    """To 0.1 %, half away from nothing, after the dust of binary sums."""
    return Decimal(str(round(percent, 9))).quantize(_STEP, "ROUND_HALF_UP") + Decimal("0.0")


def _all_but_one_in_ten(values: Sequence[float]) -> float | None:
    """The highest ratio once the highest tenth of the jobs, rounded down, is left out."""
    if len(values) < ONE_IN_TEN:
        return None
    return sorted(values)[len(values) - len(values) // ONE_IN_TEN - 1]


def lines(found: Iterable[Allowance]) -> Mapping[str, Decimal]:
    """The rules that are to be changed, with their new figures."""
    return {a.rule: a.proposal for a in found if a.changed and a.proposal is not None}
