"""All sheets of a job put into a folder: PDF for people, one workbook for the sums."""

import errno
from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path

from bom.estimate import Bought
from bom.files import safely
from bom.files.table import Heading, Table, write_xlsx
from bom.show.cost_sheet import job_workbook
from bom.show.papers import file_name, job_papers, quotation
from bom.trade.quotes import Quote


def workbook_of(bought: Bought, folder: Path) -> Path:
    """Where the workbook of a job comes to lie in a folder."""
    return folder / f"{file_name(bought.jobs[0].name)}.xlsx"


def packed(
    bought: Bought, estimate: Quote, folder: Path, before: Callable[[Path], None]
) -> list[Path]:
    """Write everything for a job into the folder, made if need be; the files.

    `before` is called for each file before it is written.
    Raises OSError for what cannot be written; what was there then stays.
    """
    if folder.is_file():
        raise NotADirectoryError(errno.ENOTDIR, "a file", str(folder))
    papers = job_papers(bought, estimate, date.today())
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in papers.items():
        before(folder / name)
        safely.put(folder / name, data)
    book = workbook_of(bought, folder)
    before(book)
    write_xlsx(book, job_workbook(bought, estimate), currency=bought.jobs[0].rules.currency)
    return [*(folder / name for name in papers), book]


def quotation_written(bought: Bought, estimate: Quote, path: Path) -> None:
    """Write the customer's quotation; raises OSError."""
    safely.put(path, quotation(bought, estimate, date.today()))


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
