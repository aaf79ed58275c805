"""JSON answers after the job: what was used, booked and stored, and what jobs have taught."""

from typing import Any

from bom.show.job_json import number, problems_out
from bom.show.shelf_json import booked_out
from bom.workshop.after_job import After, Taught


def done_out(done: After) -> dict[str, Any]:
    """`bom done`: `made` the first time, `booked` null where the shelf is left out.

    Of each kind m for lengths, h for hours; `difference` is used + spoilt - planned.
    """
    kinds = [
        {
            "kind": record.kind,
            "unit": record.unit,
            "base": number(record.base),
            "planned": number(record.planned),
            "used": number(record.used),
            "spoilt": number(record.spoilt),
            "difference": number(record.used + record.spoilt - record.planned),
        }
        for record in done.records
    ]
    return {
        "job": done.job,
        "sheet": str(done.sheet or ""),
        "made": done.made,
        "kinds": kinds,
        "booked": booked_out(done.booked) if done.booked else None,
        "stored": done.stored,
        "problems": problems_out(done.problems),
    }


def taught_out(found: Taught) -> dict[str, Any]:
    """`bom learn`: what the finished jobs say of the house rules.

    In per cent; null where too few jobs tell.
    """
    allowances = [
        {
            "rule": each.rule,
            "now": number(each.now),
            "jobs": each.jobs,
            "mean": each.mean,
            "uncertainty": each.uncertainty,
            "deviation": each.deviation,
            "most_jobs": each.most_jobs,
            "proposal": number(each.proposal),
            "keep": each.keep,
        }
        for each in found.allowances
    ]
    return {
        "jobs": found.jobs,
        "left_out": list(found.left_out),
        "allowances": allowances,
        "problems": problems_out(found.problems),
    }
