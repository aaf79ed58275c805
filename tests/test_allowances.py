"""Allowances learned from finished jobs; the jobs are made up, their figures stand here.

Statistics: JCGM 100:2008, 4.2.2 and 4.2.3.
"""

from decimal import Decimal
from random import Random
from typing import Any

import pytest
from msgspec.structs import replace

from bom.trade.catalogue_files import load_catalogue
from bom.trade.house import HouseRules
from bom.workshop.allowances import Allowance, lines
from bom.workshop.allowances import propose as proposed_by
from bom.workshop.finished import Finished

BIAS = {
    "run_percent": 8.0,
    "cable_spare_percent": 6.0,
    "terminal_spare_percent": 14.0,
    "covering_waste_percent": 17.0,
    "labour_percent": 25.0,
}
"""What the made-up jobs take more than is counted, in per cent."""


def propose(records: list[Finished], rules: HouseRules) -> tuple[Allowance, ...]:
    """What the records say, our catalogues at hand."""
    return proposed_by(records, rules, load_catalogue()[0])


def record(
    job: str, kind: str, base: float, used: float | None = None, spoilt: float = 0
) -> Finished:
    """One kind of one job; what is not told was used as counted."""
    amounts = (base, base if used is None else used, spoilt)
    counted, took, lost = (Decimal(str(round(amount, 6))) for amount in amounts)
    return Finished(
        job=job,
        done="2026-11-25",
        kind=kind,
        base=counted,
        planned=counted,
        used=took,
        spoilt=lost,
        unit="m",
    )


def of(rule: str, *records: Finished, rules: HouseRules | None = None) -> Allowance:
    """What is proposed for one rule."""
    found = propose([*records], rules or HouseRules())
    return next(allowance for allowance in found if allowance.rule == rule)


def made_up(number: int, seed: int) -> list[Finished]:
    """So many jobs of all sizes that are off by `BIAS`, each a fifth of it more or less."""
    dice = Random(seed)
    found: list[Finished] = []
    for each in range(number):
        job, size = f"made-up-{each}", dice.uniform(0.4, 2.5)
        share = {rule: bias * dice.gauss(1, 0.2) / 100 for rule, bias in BIAS.items()}
        path, pieces, tape, hours = 60 * size, 75 * size, 40 * size, 22 * size
        terminals, covers = round(70 * size), round(30 * size)
        spare = share["terminal_spare_percent"]
        found += [
            record(job, "run", path, path * (1 + share["run_percent"])),
            record(job, "cable", pieces, None, pieces * share["cable_spare_percent"]),
            record(job, "terminal", terminals, None, terminals * spare),
            record(job, "cover", covers, None, covers * spare),
            record(job, "tape", tape, tape * (1 + share["covering_waste_percent"])),
            record(job, "labour", hours, hours * (1 + share["labour_percent"])),
        ]
    return found


def _off(allowance: Allowance) -> float:
    """How far the proposal is from the bias of the made-up jobs, in per cent."""
    assert allowance.proposal is not None
    return abs(float(allowance.proposal) - BIAS[allowance.rule])


def test_twelve_jobs_show_their_bias() -> None:
    """Each bias is found within the spread between jobs."""
    found = propose(made_up(12, seed=7), HouseRules())
    assert [a.rule for a in found] == list(BIAS)
    for allowance in found:
        assert allowance.deviation is not None and allowance.uncertainty is not None
        assert allowance.jobs == 12
        assert _off(allowance) <= allowance.deviation
        assert 0 < allowance.uncertainty < allowance.deviation


def test_the_spread_is_as_wide_as_it_says() -> None:
    """Five rules from 12 jobs, forty times over: Student's t with 11 degrees of freedom.

    Within one uncertainty of the mean 66 of 100 are expected, 132 of 200 give or take
    root of (200 x 0.66 x 0.34) = 7; within one deviation, root of 12 uncertainties, 199 of 200.
    """
    found = [a for seed in range(40) for a in propose(made_up(12, seed), HouseRules())]
    near = sum(_off(a) <= (a.uncertainty or 0) for a in found)
    within = sum(_off(a) <= (a.deviation or 0) for a in found)
    assert len(found) == 200
    assert 132 - 3 * 7 <= near <= 132 + 3 * 7
    assert within >= 196


def test_two_jobs_propose_nothing() -> None:
    """For no rule; three propose for every one."""
    two = propose(made_up(2, 1), HouseRules())
    assert [(a.jobs, a.proposal, a.mean, a.changed) for a in two] == [(2, None, None, False)] * 5
    assert lines(two) == {}
    assert all(a.proposal is not None for a in propose(made_up(3, 1), HouseRules()))


THREE = (record("a", "run", 20, 21), record("b", "run", 30, 33), record("c", "run", 50, 54))


def test_three_jobs_by_hand() -> None:
    """5, 10 and 8 % of 20, 30 and 50 m.

    Mean (1 + 3 + 4) / 100 = 8 %.  The ratios' own mean is 23/3, their squares about it
    (64 + 49 + 1) / 9, so that s2 = 114/9 / 2 = 19/3 and s = 2.5166.  Uncertainty s x
    root of (400 + 900 + 2500) / 100 = 2.5166 x 0.61644 = 1.5513.
    """
    found = of("run_percent", *THREE)
    assert found.mean == pytest.approx(8)
    assert found.deviation == pytest.approx(2.5166, abs=1e-4)
    assert found.uncertainty == pytest.approx(1.5513, abs=1e-4)
    assert (found.now, found.proposal) == (Decimal(5), Decimal(8))
    assert (found.keep, found.jobs) == (False, 3)
    assert lines([found]) == {"run_percent": Decimal("8.0")}


@pytest.mark.parametrize(
    ("now", "keep"), [("6.4", False), ("6.5", True), ("9.5", True), (10, False)]
)
def test_what_is_within_its_uncertainty_is_kept(now: object, keep: bool) -> None:
    """8 % give or take 1.55: from 6.45 to 9.55 nothing is to be changed."""
    rules = HouseRules(run_percent=Decimal(str(now)))
    found = of("run_percent", *THREE, rules=rules)
    assert (found.keep, found.changed) == (keep, not keep)
    assert found.proposal == 8


def test_each_kind_tells_of_its_own_rule() -> None:
    """Spoilt of cable and terminals; used and spoilt of coverings; hours of labour.

    Cable 5 of 100.  Terminals and covers 4 + 1 of 30 + 20 = 10 %.  Tape and tube
    (11 + 1 + 22) / 30 = 13.3 %.  Labour 9 of 10 hours: -10 %.
    """
    rows: list[tuple[Any, ...]] = [("cable", 100, 130, 5), ("terminal", 30, 30, 4)]
    rows += [("cover", 20, 17, 1), ("tape", 10, 11, 1), ("tube", 20, 22), ("labour", 10, 9)]
    rows += [("fuse", 10, 99, 99)]
    records = [record(job, *row) for job in "abc" for row in rows]
    found = {a.rule: a.proposal for a in propose(records, HouseRules())}
    assert found == {
        "run_percent": None,
        "cable_spare_percent": 5,
        "terminal_spare_percent": 10,
        "covering_waste_percent": Decimal("13.3"),
        "labour_percent": -10,
    }


def test_a_job_without_a_base_is_harmless() -> None:
    """It is not counted, whatever was used in it."""
    weird = record("weird", "run", 0, 12)
    assert of("run_percent", *THREE, weird) == of("run_percent", *THREE)
    assert of("run_percent", *THREE[:2], weird).proposal is None


def test_no_rule_is_proposed_below_what_it_may_be() -> None:
    """Less cable used than the path is long: 0 % run; work in no time: -90 % labour."""
    short = [replace(row, used=row.base - 1) for row in THREE]
    assert of("run_percent", *short).proposal == 0
    quick = [replace(row, kind="labour", used=Decimal("0.1")) for row in THREE]
    assert of("labour_percent", *quick).proposal == -90
    assert HouseRules(labour_percent=Decimal(-90)).labour_percent == -90


def test_the_same_job_under_other_letters_is_one() -> None:
    """Two rows of one job are added up, not counted as two."""
    found = of("run_percent", record("A", "run", 10, 11), record("a", "run", 10, 11))
    assert found.jobs == 1


def as_filled_in(job: str) -> list[Finished]:
    """What is kept of a sheet that nobody has put right; 8 % run and 10 % labour were planned."""
    run, labour = record(job, "run", 10, 10.8), record(job, "labour", 20, 22)
    return [
        replace(run, planned=run.used),
        record(job, "cable", 12),
        record(job, "terminal", 40),
        record(job, "tape", 6),
        replace(labour, planned=labour.used),
    ]


def test_a_sheet_left_as_it_was_filled_in_teaches_nothing() -> None:
    """Wrong before: three of them taught that no tape is wasted and no terminal spoilt."""
    untouched = [row for job in "abc" for row in as_filled_in(job)]
    assert [a.jobs for a in propose(untouched, HouseRules())] == [0] * 5


def test_what_was_measured_is_not_watered_down_by_what_was_not() -> None:
    """Tape at 6 for 5 in three jobs is 20 %, whatever three untouched sheets say."""
    measured = [record(job, "tape", 5, 6) for job in ("d", "e", "f")]
    untouched = [row for job in "abc" for row in as_filled_in(job)]
    found = of("covering_waste_percent", *measured, *untouched)
    assert (found.jobs, found.proposal) == (3, Decimal(20))


def test_nothing_spoilt_is_believed_of_a_sheet_that_was_put_right() -> None:
    """Tape was measured in all four; 4 of 160 terminals spoilt are 2.5 %, as most jobs spoil none.

    Hours alone tell nothing of the loom.
    """
    four = [row for job in "abcd" for row in as_filled_in(job)]
    four = [replace(row, used=Decimal(7)) if row.kind == "tape" else row for row in four]
    four[2] = replace(four[2], spoilt=Decimal(4))
    timed = [replace(row, used=Decimal(25)) for row in as_filled_in("e") if row.kind == "labour"]
    found = of("terminal_spare_percent", *four, *as_filled_in("e")[:4], *timed)
    assert (found.jobs, found.proposal) == (4, Decimal("2.5"))


def test_all_but_one_in_ten_is_a_count() -> None:
    """Of 1, 2 ... 12 % the highest one (a tenth of 12, rounded down) is left out: 11 %."""
    twelve = [record(f"j{n}", "run", 100, 100 + n) for n in range(1, 13)]
    assert of("run_percent", *twelve).most_jobs == pytest.approx(11)
    assert of("run_percent", *twelve[:9]).most_jobs is None
