"""Programs that are killed: at the n-th thing that they ask of the disk, wherever that is.

Each is a process of its own, forked from one that has loaded everything, and really killed (-9).
"""

import multiprocessing
import os
import pkgutil
import signal
import sys
from datetime import datetime
from pathlib import Path
from unittest import mock

import bom as bom_package
from bom.files import clock
from bom.show import papers
from tests.full_disks import Disk, failing
from tests.within import bom

DAY = datetime(2026, 11, 25, 14, 3, 7)
"""The clock stands, so that what was not killed writes the same each time."""

_LOADED = multiprocessing.get_context("forkserver")
_MODULES = (found.name for found in pkgutil.walk_packages(bom_package.__path__, "bom."))
_LOADED.set_forkserver_preload(
    [__name__, *(name for name in _MODULES if not name.endswith("__main__"))]
)


class _LastCall(Disk):
    """A disk at whose `number`-th call the program is killed, before that is done."""

    def ask(self, *, moves: bool = False) -> None:
        """Count what is asked for, and die at the last."""
        del moves
        self.asked += 1
        if self.asked == self.number:
            os.kill(os.getpid(), signal.SIGKILL)


def _run(folder: Path, words: tuple[str, ...], number: int) -> None:
    with (
        mock.patch.object(clock, "now", return_value=DAY),
        mock.patch.object(papers, "pdf", return_value=b"%PDF"),
        failing(_LastCall(folder, number, stays_full=False)),
    ):
        done = bom(*words, cwd=folder)
    sys.exit(done.stderr if done.returncode else 0)


def is_killed(folder: Path, words: tuple[str, ...], number: int) -> bool:
    """Run a command and kill it at the n-th call; false where it came to its end before that."""
    child = _LOADED.Process(target=_run, args=(folder, words, number))
    child.start()
    child.join()
    assert child.exitcode in (0, -signal.SIGKILL), words
    return child.exitcode != 0
