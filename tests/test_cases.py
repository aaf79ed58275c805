"""Cases: books, a command or several, and what is printed, word for word.

A case is a folder: `command`, a line for each command; the books as `.csv`; and `expected.txt`.
The commands run in the tests' own process, which is quicker and is seen by the coverage.
A fault that only a workbook can hold is made at run time: the file `books` names a recipe of
`tests/case_books.py`.  `BOM_WRITE_CASES=1` writes what is printed into the cases, to be read
before it is kept.
"""

import os
import re
import shlex
import shutil
from pathlib import Path

import pytest

from tests.case_books import RECIPES
from tests.places import listening
from tests.within import bom, bom_alone

CASES = Path(__file__).parent / "cases"
_TYPERS_OWN = re.compile(r"^Usage: .*\nTry '.*\n\n", re.MULTILINE)
"""How a command is used, in words that change with the version of Typer."""

RUN: set[Path] = set()
"""The cases that were run in this process: what they complain of is in `tests.places.HEARD`."""

WRITING = os.environ.get("BOM_WRITE_CASES") == "1"


@pytest.mark.parametrize("case", sorted(CASES.iterdir()), ids=lambda case: case.name)
def test_case(case: Path, tmp_path: Path) -> None:
    """The commands print what stands in the case, and leave the books as they are."""
    here = tmp_path / case.name
    shutil.copytree(case, here)
    if (case / "books").exists():
        RECIPES[(case / "books").read_text(encoding="utf-8").strip()](here)
    before = _contents(here)
    commands = (case / "command").read_text(encoding="utf-8").splitlines()
    with listening():
        said = [said_of(command, here, headed=len(commands) > 1) for command in commands]
    RUN.add(case)
    printed = "\n".join(said)
    assert _contents(here) == before
    if WRITING:
        (case / "expected.txt").write_text(printed, encoding="utf-8")
    assert printed == (case / "expected.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("command", ["check", "quote", "quoet"])
def test_within_the_tests_a_command_says_what_the_program_says(command: str) -> None:
    """Code and streams are those of a program of its own, wrong usage too."""
    words = (command, "sample_projects/workshop/jobs/single.xlsx")
    within, alone = bom(*words), bom_alone(*words)
    assert (within.returncode, within.stdout, within.stderr) == (
        alone.returncode,
        alone.stdout,
        alone.stderr,
    )


def said_of(command: str, here: Path, *, headed: bool) -> str:
    """Exit code and streams of one command, under the command where there are several."""
    words = shlex.split(command)
    if words[0] == "cd":  # cd FOLDER && bom ...
        here, words = here / words[1], words[3:]
    done = bom(*words[1:], cwd=here)
    head = f"$ {command}\n" if headed else ""
    errors = _TYPERS_OWN.sub("", done.stderr)
    return f"{head}exit {done.returncode}\n--- stdout\n{done.stdout}--- stderr\n{errors}"


def _contents(folder: Path) -> dict[str, bytes]:
    """Every file but what may stay in `.bom`: locks, and which cautions were told."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and path.suffix not in (".lock", ".told")
    }
