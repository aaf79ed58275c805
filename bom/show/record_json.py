"""`bom record` as JSON: the files, and every table of the paper with its rows."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from bom.show.job_json import problems_out
from bom.show.record_tables import by_heading, record_tables, untested
from bom.trade.problem import has_errors
from bom.workshop.as_made import AsMade


def record_out(made: AsMade, files: Iterable[Path]) -> dict[str, Any]:
    """Each table by its title, its rows by the names of their columns."""
    tables = () if has_errors(made.problems) else record_tables(made)
    return {
        "job": made.job.name,
        "as_made": bool(made.sheet),
        "files": [str(path) for path in files],
        "tables": {table.title: by_heading(table) for table in tables},
        "not_fitted": list(made.left_out),
        "added": list(made.added),
        "not_written_down": untested(made.tests),
        "problems": problems_out(made.problems),
    }
