"""Nothing in a book, a name or a word of the command line is obeyed by the screen it is shown on.

What a terminal obeys: ECMA-48, 5th edition, C0 and C1 and what is introduced by them; Unicode 15.0,
annex 9 (marks of direction) and section 23.2 (characters without a width).
"""

import ast
import csv
import io
import json
import random
import shutil
import unicodedata
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from bom.trade.problem import Where, as_typed, error
from bom.trade.visible import escaped, visible
from tests.case_books import RECIPES
from tests.slow import one_in
from tests.test_cases import CASES, said_of
from tests.test_hostile_laws import as_csv
from tests.test_injection import COMMANDS, JOURNEY, MARK, offer, workshop
from tests.within import ROOT, bom

HOSTILE = ("\x1b[2J", "\x1b]0;mine\x07", "\x9b31m", "\u202e", "\u200b\ufeff", "\x7f\x08", "\r\x85")
"""Clears the screen, names its window, colours, turns a line, hides, takes letters back."""


def obeyed(text: str) -> set[str]:
    """What a screen would not show but do; breaks of lines are the program's own."""
    kinds = ("Cc", "Cf", "Cs", "Zl", "Zp")
    return {letter for letter in text if unicodedata.category(letter) in kinds} - {"\n"}


@given(st.text())
def test_a_message_is_shown_in_one_line_whatever_it_says(text: str) -> None:
    """Its cure is the second; the place, the sentence and the cure may all be somebody's words."""
    told = error(Where(text, text, text), text, text or "x").told()
    assert told.count("\n") == 1
    assert not obeyed(told)
    assert visible(visible(text)) == visible(text)
    assert not obeyed(escaped(json.dumps([text], ensure_ascii=False)))
    assert json.loads(escaped(json.dumps([text], ensure_ascii=False))) == [text]


# ----------------------------------------------------------------------- every command


@pytest.mark.parametrize("kind", ["workbook", "folder"])
@pytest.mark.parametrize("start", one_in(4, HOSTILE))
def test_no_command_hands_it_on(start: str, kind: str, tmp_path: Path) -> None:
    """Tables, reasons, messages, what was made, what comes next, and JSON, from both kinds."""
    shop = workshop(tmp_path, start)
    offer(shop, lambda field: f"{start}{MARK}{field}")
    if kind == "folder":
        as_folders(shop)
    hostile = {word: f"{start}{MARK}{word}" for word in ("PLACE", "NEW", "ODD")}
    hostile["ORDER"] = "order.xlsx"
    whys = [("why", "job", what) for what in (f"{start}{MARK}wire", "w2", "red", "total")]
    seen = 0
    for command in (*COMMANDS, *whys, ("why", "job", start), (start,), ("check", start), *JOURNEY):
        words = [hostile.get(word, word) for word in command]
        if "--" not in words:
            answer = bom(*words, "--json", cwd=shop)
            assert not obeyed(answer.stdout + answer.stderr), words
        done = bom(*words, cwd=shop)
        assert not obeyed(done.stdout + done.stderr), words
        seen += (done.stdout + done.stderr).count(MARK)
    assert seen > 60


def as_folders(shop: Path) -> None:
    """Its books as folders of `.csv`."""
    for book in (*shop.glob("*.xlsx"), *(shop / "jobs").glob("*.xlsx")):
        book.with_suffix("").mkdir()
        for sheet in load_workbook(book).worksheets:
            rows = [[_unescaped(value) for value in row] for row in sheet.values]
            (book.with_suffix("") / f"{sheet.title}.csv").write_bytes(as_csv(rows))
        book.unlink()


def _unescaped(value: object) -> object:
    from openpyxl.utils.escape import unescape

    return unescape(value) if isinstance(value, str) else value


# ----------------------------------------------------------------------- every message


SPOILT = [
    (case, HOSTILE[(number + turn) % len(HOSTILE)])
    for number, case in enumerate(sorted(CASES.iterdir()))
    for turn in range(len(HOSTILE))
]


@pytest.mark.parametrize("spoilt", one_in(len(HOSTILE), SPOILT), ids=lambda pair: pair[0].name)
def test_no_message_hands_it_on(spoilt: tuple[Path, str], tmp_path: Path) -> None:
    """The books of a case, which come to every message there is, with such signs in some cells."""
    case, start = spoilt
    folder = tmp_path / case.name
    shutil.copytree(case, folder)
    if (case / "books").exists():
        RECIPES[(case / "books").read_text(encoding="utf-8").strip()](folder)
    dice = random.Random(case.name)
    for path in filter(Path.is_file, folder.rglob("*.csv")):
        path.write_bytes(_spoilt(path.read_bytes(), start, dice))
    for command in (folder / "command").read_text(encoding="utf-8").splitlines():
        assert not obeyed(said_of(command, folder, headed=False)), command


def _spoilt(data: bytes, start: str, dice: random.Random) -> bytes:
    """One cell in six of a list with something in it that a screen obeys."""
    try:
        rows = list(csv.reader(io.StringIO(data.decode(), newline="")))
    except (UnicodeDecodeError, csv.Error):
        return data  # a case of such files
    return as_csv([[_cell(cell, start, dice) for cell in row] for row in rows])


def _cell(cell: str, start: str, dice: random.Random) -> str:
    return f"{cell}{start}" if cell and not dice.randrange(6) else cell


# ----------------------------------------------------------------------- one way out


def test_what_is_printed_goes_one_way() -> None:
    """Through `cli/screen`; questions are typer's own, with a sentence of ours."""
    cli = ROOT / "bom" / "cli"
    others = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in (ROOT / "bom").rglob("*.py")
        if path not in (cli / "screen.py", cli / "__init__.py")  # which says one word of its own
        for node in _calls(ast.parse(path.read_text()))
    ]
    assert others == []


def _calls(tree: ast.AST) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            if called in ("print", "typer.echo", "typer.secho") or called.endswith(
                ("stdout.write", "stderr.write")
            ):
                yield node


def test_a_name_can_be_typed_again_and_does_nothing() -> None:
    """POSIX.1-2017, Shell Command Language, 2.2: what stands in single quotes is left alone."""
    assert as_typed("$(reboot)") == "'$(reboot)'"
    assert as_typed("a`b`") == "'a`b`'"
