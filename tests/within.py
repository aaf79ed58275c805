"""The program as the tests run it: inside their own process, or alone where that matters.

A program of its own costs a third of a second to start, and what it reaches is not measured.
"""

import contextlib
import gc
import io
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from unittest import mock

from bom.cli import main, show

ROOT = Path(__file__).parent.parent
JOBS = ROOT / "sample_projects" / "workshop" / "jobs"
SAMPLES = ("single", "twin", "carrier")
ENVIRONMENT = {"PATH": "", "NO_COLOR": "1", "COLUMNS": "120"}


def bom_alone(*args: object, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """Run the program as a user does, in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "bom.cli", *map(str, args)],
        cwd=cwd,
        capture_output=True,
        encoding="utf-8",
        check=False,
        env={"PYTHONPATH": str(ROOT), **ENVIRONMENT},
    )


def bom(*args: object, cwd: Path = ROOT, **environment: str) -> subprocess.CompletedProcess[str]:
    """What `bom_alone` gives, without a new process."""
    words = ["bom", *map(str, args)]
    out, err = _stream(), _stream()
    with (
        _as_started(words, cwd, {**ENVIRONMENT, **environment}),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        code = _code_of_main()
    return subprocess.CompletedProcess(words, code, _text(out), _text(err))


def _code_of_main() -> int:
    """The code that `main` leaves with; a traceback that it lets through fails the test."""
    try:
        main()
    except SystemExit as left:
        return left.code if isinstance(left.code, int) else 0
    return 0


@contextlib.contextmanager
def _as_started(words: list[str], cwd: Path, environment: dict[str, str]) -> Iterator[None]:
    """Words, folder, environment and memory as a program finds them that has just started."""
    with (
        mock.patch.object(sys, "argv", words),
        mock.patch.object(gc, "freeze"),  # `main` is at its end then, but the tests are not
        mock.patch.object(show, "_BOOKS_READ", set()),
        mock.patch.dict(os.environ, environment, clear=True),
        contextlib.chdir(cwd),
        _closed_at_once(words),
    ):
        try:
            yield
        finally:
            gc.enable()  # `main` puts it off, since a program is short


def _closed_at_once(words: list[str]) -> contextlib.AbstractContextManager[object]:
    """A desk that is opened here is closed by nobody's Ctrl-C: it answers to no one."""
    if words[1:2] != ["desk"]:
        return contextlib.nullcontext()
    return mock.patch("bom.cli.desk.server.Desk.run")


def _stream() -> io.TextIOWrapper:
    return io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="")


def _text(stream: io.TextIOWrapper) -> str:
    stream.flush()
    buffer = stream.buffer
    assert isinstance(buffer, io.BytesIO)
    # a program's output is read with universal newlines; Windows writes others
    return buffer.getvalue().decode("utf-8").replace(os.linesep, "\n")
