"""Every complaint of the program stands in a case, word for word.

`tests/messages.py` collects the text of each complaint from the source.  Each must be printed by
a case in `tests/cases`; where no folder of books provokes it, by a test of `PROVOKED` that
asserts it; and where it never reaches a user, `NEVER_SEEN` says why.  A new complaint without
any of these fails here, and so does one whose text cannot be told from the source.
"""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from tests.messages import Module, Template, Walk

TESTS = Path(__file__).parent

_PLACE = "(?:[^:]+: )?"
LINES = {
    "error": "error: " + _PLACE + "{}(?:; try: .*)?",
    "caution": "caution: " + _PLACE + "{}",
    "either": "(?:error|caution): " + _PLACE + "{}",
    "raise": r"error: (?:.*[:(] ?)?{}\)?",
    "cure": "(?:    try: |.*; try: ){}",
    "usage": "error: {}",
    "fault": "error: " + _PLACE + "the cell holds {}",
    "why": r"error: .*\({}\)",
}
"""How a text of each kind is printed."""

PROVOKED = {
    "test_again.py::test_a_book_that_is_only_read_is_copied_as_it_is": "a copy that is made",
    "test_told.py::test_what_the_system_refuses": "a disk that is full, broken or read-only",
    "test_told.py::test_what_may_not_be_written": "files that belong to somebody else",
    "test_told.py::test_a_file_that_never_rests": "a program that goes on writing the book",
    "test_told.py::test_a_race": "a book changed between reading and writing",
    "test_told.py::test_a_book_over_the_limit": "a file of 300 MB",
    "test_told.py::test_a_book_that_may_not_be_read": "a file that is closed to the reader",
    "test_told.py::test_a_lock_that_somebody_holds": "two of them at once",
    "test_told.py::test_a_disk_without_locks": "a shared disk of another system",
    "test_told.py::test_a_folder_half_written": "a disk that fills up between two files",
    "test_told.py::test_numbers_that_no_cell_holds": "amounts that no command comes to",
    "test_told.py::test_lists_that_no_reader_gives": "a place that no reader of lists gives",
    "test_told.py::test_a_heading_of_a_table": "an edit that no command asks for",
    "test_told.py::test_a_book_of_another_kind": "a kind that the room before keeps out",
    "test_told.py::test_a_sheet_that_is_not_there": "an edit that no command asks for",
    "test_told.py::test_letters_and_marks_that_would_be_read_as_others": "bytes made for it",
    "test_told.py::test_a_value_of_no_known_kind": "a reader of workbooks of another version",
    "test_told.py::test_no_room_to_print": "a disk that is full",
    "test_told.py::test_a_file_of_the_owners_in_the_way": "a file that is not of `bom`",
    "test_told.py::test_a_picture_that_cannot_be_printed": "the printer's own words",
}
"""Tests that provoke what no case can, with what it takes; each asserts the exact texts."""

_CALLER = "a caller's mistake: what users type is checked before it comes here"
_IN_WORDS = "`safely.told` puts the system's number in words before anybody sees it"
_CAUGHT = "caught in the same module: the user hears of the file, the cell or the row"
NEVER_SEEN = {
    ("catalogue", "{ways}"): _CAUGHT,
    ("cutting/tidy", "these pieces do not go on these lengths"): _CALLER,
    ("figures", "{name} must be exact (int, Decimal or Fraction), not the float {value}"): _CALLER,
    ("figures", "{name} must be a number, not {value}"): _CALLER,
    ("figures", "{name} must be above 0, not {value}"): _CALLER,
    ("figures", "{name} must be from {low} to {high}, not {value}"): _CALLER,
    ("figures", "{name} must be from {low}, not {value}"): _CALLER,
    ("figures", "{name} must be from 0, not {value}"): _CALLER,
    ("figures", "a deviation needs two values or more, not {len(values)}"): _CALLER,
    ("figures", "{len(values)} values with {len(weights)} weights"): _CALLER,
    ("pack", "a file"): _IN_WORDS,
    ("pricing", "no row has the headings 'supplier' and 'item'"): _CALLER,
    ("pricing", "the headings of a price list"): _CALLER,
    ("safely", "this is a folder"): _IN_WORDS,
    ("safely", "{os.strerror(errno.EACCES)}"): _IN_WORDS,
    ("safely", "{says}"): _IN_WORDS,
    ("sheet/ods", "{text}"): _CAUGHT,
    ("shelf_figures", "deviation {deviation} is below zero"): _CALLER,
    ("shelf_figures", "service {service} is not between 0 and 1"): _CALLER,
    ("shelf_figures", "{come} come to {there}"): _CALLER,
    ("stockbook/journal", "a path, where a name belongs"): _CAUGHT,
    ("stockbook/keep", "count() ends nowhere"): "`itertools.count` has no end",
    ("stockbook/keep", "{place}"): "caught by the caller, which takes the next number",
    ("stockbook/lines", "{edit.cell} is edited twice"): _CALLER,
    ("stockbook/newsheet", "no sheet can be called '{name}'"): _CALLER,
    ("stockbook/newsheet", "there is a sheet '{name}'"): _CALLER,
    ("stockbook/plan", "{edit.cell} is edited twice"): _CALLER,
    ("stockbook/plan", "a row without values"): _CALLER,
    ("stockbook/rawzip", "its directory is broken"): "zipfile has refused such a file before",
    ("stockbook/sheetxml", "a tag without an end"): "expat has refused such a file before",
    (
        "table",
        "'{self.title}': row {number} has {len(row)} cells under {len(self.headings)} headings",
    ): _CALLER,
    ("table", "'{self.table.title}' has no heading {sorted(unknown)}: {formula}"): _CALLER,
}
"""Texts that no user ever sees, by module, each with why."""


@cache
def found() -> tuple[list[Template], list[str]]:
    """All templates of the package, and the places of what cannot be followed."""
    return Walk().collected()


@cache
def printed() -> str:
    """What all cases print."""
    cases = sorted((TESTS / "cases").glob("*/expected.txt"))
    return "\n".join(case.read_text(encoding="utf-8") for case in cases)


@cache
def asserted(test: str) -> tuple[str, ...]:
    """The texts that stand in a test, its parameters included."""
    file, _, name = test.partition("::")
    tree = ast.parse((TESTS / file).read_text(encoding="utf-8"))
    own = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef) and n.name == name]
    parts = (part for one in own for part in (one, *one.decorator_list))
    nodes = (node for part in parts for node in ast.walk(part))
    return tuple(str(n.value) for n in nodes if isinstance(n, ast.Constant))


def stands(template: Template, lines: str) -> bool:
    """True when a line says the text of a template, whole."""
    line = LINES[template.kind].format(template.text.pattern)
    return re.search(f"^{line}$", lines, re.MULTILINE) is not None


def uncovered(templates: list[Template]) -> list[Template]:
    """The templates that no case prints."""
    return [template for template in templates if not stands(template, printed())]


def provoking(template: Template) -> Iterator[str]:
    """The tests of `PROVOKED` in which the text stands."""
    for test in PROVOKED:
        if any(re.fullmatch(template.text.pattern, text) for text in asserted(test)):
            yield test


def module_of(template: Template) -> str:
    """The module that a template stands in."""
    return template.place.partition(".py:")[0]


def test_every_text_can_be_followed() -> None:
    """Of every call that complains the texts can be told from the source."""
    assert found()[1] == []


def test_every_complaint_is_covered() -> None:
    """By a case, by a test that provokes it, or by a reason why nobody sees it."""
    bare = [
        f"bom/{one.place}: {one.kind}: {one.text.shown}"
        for one in uncovered(found()[0])
        if (module_of(one), one.text.shown) not in NEVER_SEEN and not any(provoking(one))
    ]
    assert bare == []


def test_every_complaint_has_words_of_its_own() -> None:
    """One of nothing but holes would be covered by any line; a library's words stand in ours."""
    bare = [
        one.place
        for one in found()[0]
        if one.kind in ("error", "caution", "either", "usage")
        and module_of(one) != "cli/usage"  # the library's sentence on a word it cannot take
        and not re.search("[a-z]{2}", re.sub("{[^{}]*}", "", one.text.shown))
    ]
    assert bare == []


def test_complaints_go_out_by_one_door() -> None:
    """No text is written to the screen as an error but where `refuse` and problems are."""
    doors = [
        module.name
        for module in Walk().modules.values()
        for node in ast.walk(module.tree)
        if (isinstance(node, ast.Constant) and re.match("(error|caution): ", str(node.value)))
        or (isinstance(node, ast.Name) and node.id in ("print", "exit"))
    ]
    assert doors == []


def test_every_exception_is_needed() -> None:
    """Neither list holds what a case prints, or what the program says no longer."""
    rest = uncovered(found()[0])
    needed = {test for template in rest for test in provoking(template)}
    kept = {(module_of(template), template.text.shown) for template in rest}
    assert ({*PROVOKED} - needed, {*NEVER_SEEN} - kept) == (set(), set())


NEW = """
from bom.problem import error as wrong
from bom.problem import caution, error

TABLE = {1: ("of a table", "cure of it"), 2: ("of its second row", "")}


def plain(where, name, bad):
    says = "first"
    if bad:
        says += f" and {name} more"
    yield error(where, says, "one cure" if bad else "")
    yield (caution if bad else wrong)(where, "at either level")
    yield wrong(where, "under another name")
    yield from map(error, where, says)
    level = caution if bad else error
    yield level(where, f"{name:.2f} A")


def pair(where, key):
    yield error(where, *TABLE[key])


def handed(where, says):
    return error(where, says)


def caller(where, text):
    yield handed(where, "handed on")
    yield handed(where, text.upper())
    raise ValueError(f"raised {text}")
"""


def test_the_walk_follows_what_is_said(tmp_path: Path) -> None:
    """Names, `+=`, choices, tables and functions that hand on; the rest is told, never dropped."""
    (tmp_path / "new.py").write_text(NEW, encoding="utf-8")
    templates, unfollowed = Walk(tmp_path).collected()
    assert sorted((one.kind, one.text.shown) for one in templates) == [
        ("cure", "cure of it"),
        ("cure", "one cure"),
        ("either", "at either level"),
        ("either", "{name} A"),
        ("error", "first"),
        ("error", "first and {name} more"),
        ("error", "handed on"),
        ("error", "of a table"),
        ("error", "of its second row"),
        ("error", "under another name"),
        ("raise", "raised {text}"),
    ]
    assert unfollowed == ["new.py:30: text.upper()", "new.py:15: error"]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("error: job.csv › A2: 5 of 7 are bad", True),
        ("error: job.csv › A2: 5 of 7 are bad, or worse", False),
        ("caution: job.csv › A2: 5 of 7 are bad", False),
        ("error: about 5 of 7 are bad", True),
        ("error: 5 are bad", False),
    ],
)
def test_a_line_has_to_say_the_whole_text(line: str, expected: bool) -> None:
    """From behind its place to its end, at its level."""
    template = next(one for one in _templates('error(1, f"{a} of {b} are bad")'))
    assert stands(template, line) is expected


def _templates(call: str) -> list[Template]:
    walk = Walk(TESTS / "none")
    walk.modules = {"new": Module(name="new", tree=ast.parse(call))}
    return walk.collected()[0]
