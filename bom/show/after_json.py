"""JSON answers after the job: what was used, booked and stored, and what jobs have taught."""

from bom.show.job_json import Answer, Number, ProblemOut, problems_out
from bom.show.shelf_json import BookedOut, booked_out
from bom.workshop.after_job import After, Taught
from bom.workshop.finished import Finished


class KindOut(Answer):
    """One kind of a job; m for lengths, h for hours; `difference` is used + spoilt - planned."""

    kind: str
    unit: str
    base: Number
    planned: Number
    used: Number
    spoilt: Number
    difference: Number


class DoneOut(Answer):
    """Answer of `bom done`; `made` the first time, `booked` null where the shelf is left out."""

    job: str
    sheet: str
    made: bool
    kinds: list[KindOut]
    booked: BookedOut | None
    stored: bool
    problems: list[ProblemOut]


def done_out(done: After) -> DoneOut:
    """How far a job was finished."""
    return DoneOut(
        job=done.job,
        sheet=str(done.sheet or ""),
        made=done.made,
        kinds=[_kind_out(record) for record in done.records],
        booked=booked_out(done.booked) if done.booked else None,
        stored=done.stored,
        problems=problems_out(done.problems),
    )


def _kind_out(record: Finished) -> KindOut:
    return KindOut(
        kind=record.kind,
        unit=record.unit,
        base=record.base,
        planned=record.planned,
        used=record.used,
        spoilt=record.spoilt,
        difference=record.used + record.spoilt - record.planned,
    )


class AllowanceOut(Answer):
    """One house rule, in per cent; null where too few jobs tell."""

    rule: str
    now: Number
    jobs: int
    mean: float | None
    uncertainty: float | None
    deviation: float | None
    most_jobs: float | None
    proposal: Number | None
    keep: bool


class TaughtOut(Answer):
    """Answer of `bom learn`."""

    jobs: int
    allowances: list[AllowanceOut]
    problems: list[ProblemOut]


def taught_out(found: Taught) -> TaughtOut:
    """What the finished jobs say of the house rules."""
    return TaughtOut(
        jobs=found.jobs,
        allowances=[
            AllowanceOut(
                rule=each.rule,
                now=each.now,
                jobs=each.jobs,
                mean=each.mean,
                uncertainty=each.uncertainty,
                deviation=each.deviation,
                most_jobs=each.most_jobs,
                proposal=each.proposal,
                keep=each.keep,
            )
            for each in found.allowances
        ],
        problems=problems_out(found.problems),
    )
