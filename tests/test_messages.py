"""Every complaint of the program is heard while the cases and `tests/test_told.py` run.

Each place in `bom/` that complains must be come to by a case of `tests/cases`; where no folder of
books leads there, by a test of `test_told.py`; and `NEVER_HEARD` says why of what is left.
"""

import ast
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from tests import test_cases
from tests.places import listening, sources, unheard

NEVER_HEARD: Mapping[str, Sequence[str]] = {
    "a caller's mistake: what users type is checked before it comes here": (
        "buy/cutting/tidy.py: ValueError('these pieces do not go on these lengths')",
        "files/table/workbook.py: KeyError(",
        "shelf/stock_figures.py: ValueError(",
        "shelf/stockbook/lines.py: ValueError(",
        "shelf/stockbook/newsheet.py: ValueError(",
        "shelf/stockbook/plan.py: ValueError(",
        "trade/figures.py: ValueError(",
        "trade/means.py: ValueError(",
        "trade/ranges.py: TypeError(",
        "trade/ranges.py: ValueError(",
        "workshop/job_like.py: ValueError('not in a workshop folder')",
        "workshop/price_rows.py: error(Where(path.name), says, 'the headings of a price list')",
    ),
    "caught in the same module: the user hears of the file, the cell or the row": (
        "files/sheet/ods.py: ValueError(text)",
        "shelf/stockbook/journal.py: ValueError('a path, where a name belongs')",
        "shelf/stockbook/keep.py: FileExistsError(place)",
        "trade/catalogue_rows.py: ValueError(ways)",
    ),
    "`safely.told` puts the system's number in words before anybody sees it": (
        "files/safely.py: IsADirectoryError(",
        "files/safely.py: PermissionError(",
        "shelf/stockbook/keep.py: NotADirectoryError(",
    ),
    "test_owner_formulas.py asserts it: what formulas of the owner's come to": (
        "files/sheet/formula.py: Fault(",
        "files/sheet/values.py: Fault('a formula without a result')",
    ),
    "zipfile or expat has refused such a file before": (
        "shelf/stockbook/rawzip.py: damaged(package.file, str(bad))",
        "shelf/stockbook/rawzip.py: struct.error('its directory is broken')",
        "shelf/stockbook/sheetxml.py: ValueError('a tag without an end')",
    ),
    "`itertools.count` has no end": ("shelf/stockbook/keep.py: AssertionError(",),
    "an old typer beside a newer click": ("cli/usage.py: Missing(",),
    "test_told.py asserts it, in a program of its own or before it is told": (
        "cli/program.py: error(Where(), 'no room for what is to be printed'",
        "cli/program.py: refuse('the folder that this was begun in is gone'",
        "show/paper/__init__.py: ValueError(",
    ),
    "test_invoice_prices.py asserts it: the price book cannot be changed": (
        "workshop/invoice_prices.py: error(",
    ),
    "test_again.py or test_record.py asserts it: books and papers are written": (
        "workshop/as_made.py: caution(",
        "workshop/fuses_made.py: caution(",
        "workshop/job_as_made.py: caution(",
        "workshop/job_like.py: caution(",
    ),
    "test_together.py or test_full_disk.py asserts it: the disk is full, or others write": (
        "files/together.py: NotWritten(folder, 'another program is writing it'",
        "files/together.py: NotWritten(path, f'nothing was written: {says}'",
        "shelf/stockbook/keep.py: NotWritten(path, says, cure, fault.errno)",
        "workshop/after_job.py: error(Where(store.name), fault.says, fault.cure)",
        "workshop/price_lists.py: NotWritten(path, says, fault.cure, fault.errno)",
    ),
    "test_desk_guard.py asserts it: a request that no page sees": (
        "cli/desk/guard.py: TurnedAway(",
    ),
    "test_register.py asserts it: the job book is saved meanwhile": (
        "workshop/register.py: NotWritten(asked.job.path, 'not given: it was changed",
    ),
    "test_done.py asserts it: books are written, or the disk is full": (
        "shelf/moves/finish.py: error(where, says, 'put its row back')",
        "shelf/moves/finish.py: self._draft.refuse(",
        "workshop/after_job.py: error(Where(store.name), says, fault.cure)",
    ),
}
"""Beginnings of complaints that neither a case nor `test_told.py` comes to, under their reason."""


def test_every_complaint_is_heard(tmp_path: Path) -> None:
    """By a case or a test that provokes it; and no reason outlives what it is given for.

    The cases are those that this process has not run yet.
    """
    for case in {*test_cases.CASES.iterdir()} - test_cases.RUN:
        test_cases.test_case(case, tmp_path)
    told = Path(__file__).with_name("test_told.py")
    with listening():
        assert pytest.main([str(told), "-q", "-n0", "-p", "no:cacheprovider"]) == 0
    silent = {f"{file}: {call}": f"bom/{file}:{line}: {call}" for file, line, call in unheard()}
    starts = tuple(start for group in NEVER_HEARD.values() for start in group)
    bare = [place for reads, place in silent.items() if not reads.startswith(starts)]
    idle = [start for start in starts if not any(reads.startswith(start) for reads in silent)]
    assert not bare and not idle, "\n".join(("nobody hears:", *bare, "no longer needed:", *idle))


def test_complaints_go_out_by_one_door() -> None:
    """None is printed but by `tell`, and none is made under another name, by `map` or the like."""
    doors = []
    for file, nodes in sources().items():
        called = [node.func for node in nodes if isinstance(node, ast.Call)]
        fine = {part for func in called for part in ast.walk(func)}
        for node in nodes:
            match node:
                case ast.Constant(value=str(name)) if name.startswith(("error: ", "caution: ")):
                    doors.append((file, name))
                case ast.Name(id="print" | "exit" as name):
                    doors.append((file, name))
                case ast.Name(id="error" | "caution" as name) if node not in fine:
                    doors.append((file, name))
                case ast.alias(name="error" | "caution", asname=str(name)):
                    doors.append((file, name))
    assert doors == []
