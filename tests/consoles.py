"""What a document shows of the command line: each command with its output, run and compared.

A block is fenced as `console`; a line that begins with `$ ` is typed, the lines under it are
printed.  `...` stands for any text, as in doctests.
"""

import doctest
import re
import shlex
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from bom.files import clock
from tests.within import ROOT, bom

README, REFERENCE, DEVELOPERS = (
    (ROOT / name).read_text(encoding="utf-8")
    for name in ("README.md", "sample_projects/reference.md", "DEVELOPERS.md")
)
BLOCK = re.compile(r"^```console\n((?s:.*?))^```$", re.MULTILINE)
MORNING = datetime(2026, 11, 29, 9, 0)
_ONE = re.compile(r"^\$ (.+)\n((?:(?!\$ ).*\n)*)", re.MULTILINE)


def typed_and_printed(block: str) -> Iterator[tuple[list[str], str]]:
    """Each command of a block in words, with the output shown for it."""
    for command, output in _ONE.findall(block):
        yield shlex.split(command), output


def assert_console(block: str, folder: Path) -> Path:
    """Run the commands of a block one after the other and compare; the folder it ends in.

    It is always the same morning: orders and quotations have the year in their numbers.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clock, "now", lambda: MORNING)
        return _compared(block, folder)


def _compared(block: str, folder: Path) -> Path:
    for words, wanted in typed_and_printed(block):
        if words[0] == "cd":
            folder = folder / words[1]
            continue
        assert words[0] == "bom"
        done = bom(*words[1:], cwd=folder)
        printed = (done.stderr + done.stdout).rstrip("\n") + "\n"
        alike = doctest.OutputChecker().check_output(wanted, printed, doctest.ELLIPSIS)
        assert alike, f"$ {' '.join(words)}\n{printed}"
    return folder
