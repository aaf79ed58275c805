"""What is due next, on a page: each job leads to its own, the rest to drawer and orders."""

from collections.abc import Iterable, Mapping
from typing import Any

from bom.show.page.jobs import job_url
from bom.workshop.due import Due

PAGES: Mapping[str, tuple[str, str]] = {
    "bom topup": ("/drawer", "the drawer"),
    "bom stock show": ("/drawer", "the drawer"),
    "bom stock orders": ("/orders", "the orders"),
}
"""Where the page goes on for a command, and how that is called."""


def due_page(found: Iterable[Due], workshop: str) -> dict[str, Any]:
    """What the page shows of what is due in a workshop of this name."""
    outs = [_out(due) for due in found]
    return {
        "workshop": workshop,
        "jobs": [out for out in outs if out["job"]],
        "rest": [out for out in outs if not out["job"]],
    }


def _out(due: Due) -> dict[str, Any]:
    """Where it stands, and what comes next: a page, or a command to type."""
    url, called = PAGES.get(due.then, ("", ""))
    return {
        "job": due.job,
        "url": job_url(due.job),
        "stands": due.stands,
        "then": "" if url else due.then,
        "page": url,
        "called": called,
    }
