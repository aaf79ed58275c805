"""Cases: a job book, a command, and what is printed, word for word.

`BOM_WRITE_CASES=1` writes what is printed into the cases, to be read before it is kept.
"""

import os
import shlex
import shutil
from pathlib import Path

import pytest

from tests.test_cli import bom

CASES = Path(__file__).parent / "cases"
WRITING = os.environ.get("BOM_WRITE_CASES") == "1"


@pytest.mark.parametrize("case", sorted(CASES.iterdir()), ids=lambda case: case.name)
def test_case(case: Path, tmp_path: Path) -> None:
    """The command prints what stands in the case, and leaves the books as they are."""
    here = tmp_path / case.name
    shutil.copytree(case, here)
    before = _contents(here)
    command = shlex.split((case / "command").read_text(encoding="utf-8"))
    done = bom(*command[1:], cwd=here)
    printed = f"exit {done.returncode}\n--- stdout\n{done.stdout}--- stderr\n{done.stderr}"
    assert _contents(here) == before
    if WRITING:
        (case / "expected.txt").write_text(printed, encoding="utf-8")
    assert printed == (case / "expected.txt").read_text(encoding="utf-8")


def _contents(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }
