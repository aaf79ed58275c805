"""Which cautions of a job were told when it was last looked through, so that new ones stand out."""

import json
from contextlib import suppress
from pathlib import Path

from bom.files.safely import jot
from bom.job import Job
from bom.read.books import RULES_FILE
from bom.shelf.stockbook.keep import room
from bom.trade.problem import counted


def counted_cautions(job: Job) -> str:
    """How many cautions a job has, and how many of them are new since it was looked at."""
    there = _cautions(job)
    if not there:
        return ""
    seen = _seen(job)
    line = f"{counted(len(there), 'caution')} in the job"
    new = sum(one not in seen for one in there) if seen is not None else 0
    return f"{line}, {new} of them new" if new else line


def look_at(job: Job) -> None:
    """Keep which cautions were told; a workshop that cannot be written to forgets them."""
    there = _cautions(job)
    if job.book and job.workshop.folder is not None and there != _seen(job):
        with suppress(OSError):
            room(job.workshop.folder / RULES_FILE)
            jot(_place(job, job.workshop.folder), json.dumps(there).encode())


def _cautions(job: Job) -> list[list[str]]:
    """Each by its sheet and its words: a row that is inserted above it makes it no other."""
    told = (p for p in job.problems if p.level == "caution" and not p.accepted)
    return [[p.where.sheet, p.says] for p in told if p not in job.workshop.problems]


def _seen(job: Job) -> list[list[str]] | None:
    """None where it was never looked at, or what was kept cannot be read."""
    if job.workshop.folder is None:
        return None
    with suppress(OSError, ValueError):
        seen = json.loads(_place(job, job.workshop.folder).read_text(encoding="utf-8"))
        return seen if isinstance(seen, list) else None
    return None


def _place(job: Job, folder: Path) -> Path:
    return folder / ".bom" / f"{job.path.name}.told"
