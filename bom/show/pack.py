"""All sheets of jobs put into a folder: PDF for people, a workbook a job for the sums."""

import errno
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from bom.estimate import Bought
from bom.files import clock
from bom.files.names import file_name
from bom.files.table import Heading, Table, xlsx_bytes
from bom.show.cost_sheet import job_workbook
from bom.show.page.job import job_file
from bom.show.papers import job_papers, order_papers
from bom.show.shared import have_no_price
from bom.trade.problem import Problem, Where, as_typed, caution
from bom.trade.quotes import GivenQuote, Quote


def workbooks_of(bought: Bought, folder: Path) -> tuple[Path, ...]:
    """Where the workbook of each job comes to lie: of several each in a folder of its own."""
    taken: set[str] = set()
    names = [file_name(job.name, "", taken) for job in bought.jobs]
    folders = [folder / name for name in names] if len(names) > 1 else [folder]
    return tuple(
        own / file_name(job.name, ".xlsx", set())
        for own, job in zip(folders, bought.jobs, strict=True)
    )


def packed(
    bought: Bought,
    estimates: Sequence[Quote],
    folder: Path,
    given: Sequence[GivenQuote | None] = (),
) -> dict[Path, bytes]:
    """Everything for jobs that is put into the folder: each file's place, and what it holds.

    The orders are those of all jobs together, and so is what is cut from where; `estimates` are
    each job's own.  Raises OSError where a file stands in a folder's place.
    """
    today, found = clock.today(), dict[Path, bytes]()
    books = workbooks_of(bought, folder)
    given = given or [None] * len(books)
    for job, estimate, book, known in zip(bought.jobs, estimates, books, given, strict=True):
        own = bought.part_of(job)
        page = job_file(own).encode(errors="replace")
        found |= in_folder(book.parent, job_papers(own, estimate, today, known))
        found[book] = xlsx_bytes(job_workbook(own, estimate), currency=job.rules.currency)
        found[book.with_suffix(".html")] = page
    return found | in_folder(folder, order_papers(bought, today))


def unmade(estimate: Quote, typed: Path) -> Iterator[Problem]:
    """Why there is no quotation among the papers of a job."""
    if not estimate.complete:
        says = f"no quotation.pdf of {as_typed(typed)}: {have_no_price(len(estimate.unpriced))}"
        yield caution(Where(), says, f"bom prices wanted {as_typed(typed)} --csv FILE")


def in_folder(folder: Path, papers: Mapping[str, bytes]) -> dict[Path, bytes]:
    """Papers by their names in a folder; raises OSError where a file stands in its place."""
    if os.path.isfile(folder):
        raise NotADirectoryError(errno.ENOTDIR, "a file", str(folder))
    return {folder / name: data for name, data in papers.items()}


def pack_tables(bought: Bought, files: Iterable[Path]) -> tuple[Table, ...]:
    """The files that were written, and whom each is for."""
    return (
        Table.of(
            f"{', '.join(job.name for job in bought.jobs)}: on paper",
            files,
            Heading("file", str, wide=60),
            Heading("for", _whom_for),
        ),
    )


def _whom_for(path: Path) -> str:
    known = {"quotation": "customer", "cut": "rack", "bench": "bench", "labels": "loom"}
    known |= {"loom": "board", "shopping": "shopping"}
    if path.suffix != ".pdf":
        return "the bench" if path.suffix == ".html" else "the office"
    return f"the {known[path.stem]}" if path.stem in known else "a supplier"
