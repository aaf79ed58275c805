"""All sheets of a job put into a folder: PDF for people, one workbook for the sums."""

import errno
import os
from collections.abc import Iterable
from pathlib import Path

from bom.estimate import Bought
from bom.files import clock
from bom.files.names import file_name
from bom.files.table import Heading, Table, xlsx_bytes
from bom.show.cost_sheet import job_workbook
from bom.show.papers import job_papers
from bom.trade.quotes import Quote


def workbook_of(bought: Bought, folder: Path) -> Path:
    """Where the workbook of a job comes to lie in a folder."""
    return folder / file_name(bought.jobs[0].name, ".xlsx", set())


def packed(bought: Bought, estimate: Quote, folder: Path) -> dict[Path, bytes]:
    """Everything for a job that is put into the folder: each file's place, and what it holds.

    Raises OSError where a file stands in the folder's place.
    """
    if os.path.isfile(folder):
        raise NotADirectoryError(errno.ENOTDIR, "a file", str(folder))
    papers = job_papers(bought, estimate, clock.today())
    book = xlsx_bytes(job_workbook(bought, estimate), currency=bought.jobs[0].rules.currency)
    return {folder / name: data for name, data in papers.items()} | {
        workbook_of(bought, folder): book
    }


def pack_tables(bought: Bought, files: Iterable[Path]) -> tuple[Table, ...]:
    """The files that were written, and whom each is for."""
    return (
        Table.of(
            f"{bought.jobs[0].name}: on paper",
            files,
            Heading("file", str, wide=60),
            Heading("for", _whom_for),
        ),
    )


def _whom_for(path: Path) -> str:
    known = {"quotation": "customer", "bench": "bench", "labels": "loom", "loom": "board"}
    if path.suffix != ".pdf":
        return "the office"
    return f"the {known[path.stem]}" if path.stem in known else "a supplier"
