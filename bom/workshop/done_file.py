"""`done.csv`: the records of finished jobs, read and written."""

from collections.abc import Callable, Iterable
from decimal import Decimal
from operator import attrgetter
from pathlib import Path
from typing import Any

from bom.files import spelling
from bom.files.headings import Column, Record, by, read_rows, text
from bom.files.sheet import Value, read_book
from bom.files.spelling import fold
from bom.files.table import Heading, Table
from bom.read import cells
from bom.trade.catalogue import Catalogue
from bom.trade.problem import Problem, error
from bom.workshop.finished import Finished, record_kinds


def _done_column(name: str, read: Callable[[Value, str], Any]) -> Column:
    return Column(name=name, read=read, needed=True, must=True, blank=None)


def _columns(kinds: tuple[str, ...] = ()) -> tuple[Column, ...]:
    return (
        _done_column("job", text),
        Column(name="done", read=text),
        _done_column("kind", cells.one_of(kinds, "kind")),
        _done_column("base", by(spelling.quantity)),
        Column(name="planned", read=cells.signed, blank=Decimal()),
        _done_column("used", cells.signed),
        Column(name="spoilt", read=by(spelling.quantity), blank=Decimal()),
        Column(name="unit", read=text),
    )


def read_done(path: Path, catalogue: Catalogue) -> tuple[tuple[Finished, ...], tuple[Problem, ...]]:
    """The records of finished jobs; none where there is no file yet."""
    if not path.exists():
        return (), ()
    book, problems = read_book(path, single="Done")
    if book is None:
        return (), problems
    records, faults = read_rows(book.sheets[0], _columns(record_kinds(catalogue)))
    found, seen = [*problems, *faults], dict[tuple[str, str, str], Record]()
    for record in records:
        if record.broken:
            continue
        key = (fold(record["job"]), str(record["kind"]), record["unit"])
        first = seen.setdefault(key, record)
        if first is not record:
            cell = first.row.where("kind").cell
            says = f"'{record['kind']}' of '{record['job']}' stands in {cell} too"
            found.append(error(record.row.where("kind"), says, "keep one of the two rows"))
    return tuple(Finished(**r.values) for r in records if not r.broken), tuple(found)


def done_table(records: Iterable[Finished]) -> Table:
    """The records as `done.csv` keeps them."""
    numbers = ("base", "planned", "used", "spoilt")
    names = (column.name for column in _columns())
    return Table.of(
        "done",
        records,
        *(
            Heading(name, attrgetter(name), "quantity" if name in numbers else "text")
            for name in names
        ),
    )
