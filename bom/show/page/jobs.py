"""All jobs on a page, as `bom jobs` has them."""

from typing import Any
from urllib.parse import quote

from bom.show.page.told import sentences
from bom.show.register_json import jobs_out
from bom.show.register_tables import NOTHING_YET
from bom.workshop.jobs import JobList


def jobs_page(jobs: JobList) -> dict[str, Any]:
    """Each with where it stands; those whose book is gone lead nowhere."""
    lines = [
        {
            "job": line["job"],
            "url": job_url(line["book"]) if line["book"] else "",
            "state": line["state"] or NOTHING_YET,
            "since": line["since"],
            "customer": line["customer"],
            "net": line["net"] or "",
        }
        for line in jobs_out(jobs)["jobs"]
    ]
    return {"jobs": lines, "problems": sentences(jobs.problems)}


def job_url(book: str) -> str:
    """Where the page of a job is, by the name that is typed for its book."""
    return f"/job/{quote(book, safe='', errors='surrogateescape')}"
