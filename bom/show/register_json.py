"""JSON answers about quotations given, and how all jobs stand."""

from typing import Any

from bom.show.job_json import money, number, problems_out
from bom.workshop.jobs import JobLine, JobList
from bom.workshop.register import SinceGiven


def given_out(since: SinceGiven) -> dict[str, Any] | None:
    """The quotation given last, and what has changed since; null where none was."""
    last = since.last
    if last is None:
        return None
    return {
        "number": last.number,
        "day": str(last.given),
        "valid_until": str(last.valid_until or ""),
        "net": money(last.net),
        "total": money(last.total),
        "changed": [
            {"group": change.what, "was": money(change.was), "now": money(change.now)}
            for change in since.changes
        ],
    }


def jobs_out(jobs: JobList) -> dict[str, Any]:
    """`bom jobs`: money as decimal strings, null where it is not known; a state of '' is none."""
    return {
        "jobs": [_job_out(line) for line in jobs.lines],
        "problems": problems_out(jobs.problems),
    }


def _job_out(line: JobLine) -> dict[str, Any]:
    """Without tax but for what is unpaid."""
    last = line.standing.last
    return {
        "job": line.job,
        "book": line.typed,
        "state": line.standing.state,
        "since": line.since,
        "number": last.number if last else "",
        "customer": last.customer if last else "",
        "net": money(line.net),
        "at_cost": money(line.at_cost),
        "hours_planned": number(line.planned_hours),
        "hours_used": number(line.used_hours),
        "earned_an_hour": money(line.earned_an_hour),
        "unpaid": money(line.standing.unpaid),
    }
