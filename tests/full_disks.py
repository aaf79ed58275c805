"""A disk that fails at one thing, or is full from there on; and all that lies in a folder."""

import builtins
import errno
import io
import os
import zipfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest import mock

TAKE_ROOM = ("mkdir", "link", "fsync")
MOVE = ("rename", "replace")


class Disk:
    """Fails at the `number`-th thing that is asked of it under a folder, counted from 1.

    Asked for are files and folders that are made, writes, flushes, links and moves.  Where it
    `stays_full` everything that takes room fails from there on; moves, which take none, do not.
    """

    def __init__(self, folder: Path, number: int, *, stays_full: bool) -> None:
        self.folder = str(folder.resolve())
        self.number = number
        self.stays_full = stays_full
        self.asked = 0

    @property
    def failed(self) -> bool:
        """Whether it was asked so often that it failed."""
        return self.asked >= self.number

    def ask(self, *, moves: bool = False) -> None:
        """Count what is asked for, or raise ENOSPC."""
        if self.stays_full and moves:
            return
        self.asked += 1
        if self.asked == self.number or (self.stays_full and self.failed):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def holds(self, path: Any) -> bool:
        """True for what lies on it; what is known by a number alone is taken for that."""
        return isinstance(path, int) or os.path.realpath(path).startswith(self.folder)


class _File(io.FileIO):
    """A file on the disk: of a write that fails half is written."""

    def __init__(self, disk: Disk, *args: Any) -> None:
        self._disk = disk
        super().__init__(*args)

    def write(self, data: Any) -> int:
        """As much as there is room for."""
        try:
            self._disk.ask()
        except OSError:
            super().write(bytes(data)[: len(data) // 2])
            raise
        return super().write(data)


@contextmanager
def failing(disk: Disk) -> Iterator[None]:
    """The disk in the place of the system's calls."""
    real_open, real_os_open = io.open, os.open

    def opened(file: Any, mode: str = "r", *args: Any, **how: Any) -> Any:
        if not set("wxa") & set(mode) or not disk.holds(file):
            return real_open(file, mode, *args, **how)
        opener = how.pop("opener", None)
        if opener is None:
            disk.ask()
        raw = _File(disk, file, mode.replace("b", "").replace("t", ""), True, opener)
        buffered = io.BufferedWriter(raw)
        return buffered if "b" in mode else io.TextIOWrapper(buffered, **how)

    def os_opened(path: Any, flags: int, *args: Any, **how: Any) -> int:
        if flags & os.O_CREAT and disk.holds(path):
            disk.ask()
        return real_os_open(path, flags, *args, **how)

    def asking(name: str) -> Callable[..., Any]:
        real = getattr(os, name)

        def asked(path: Any, *args: Any, **how: Any) -> Any:
            if disk.holds(path):
                disk.ask(moves=name in MOVE)
            return real(path, *args, **how)

        return asked

    calls = {name: asking(name) for name in (*TAKE_ROOM, *MOVE)}
    with (
        mock.patch.object(builtins, "open", opened),
        mock.patch.object(io, "open", opened),
        ExitStack() as patches,
    ):
        for name, call in {"open": os_opened, **calls}.items():
            patches.enter_context(mock.patch.object(os, name, call))
        yield


def tree(folder: Path, *, kept: bool = True) -> dict[str, object]:
    """All that lies in a folder; but for the lock, which stays, and `.bom` when it is empty.

    Without what is `kept` in `.bom` where that does not matter.  A workbook by its parts: openpyxl
    writes the time into one of them.
    """
    found: dict[str, object] = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if path.suffix == ".lock" or name == ".bom" or (not kept and name.startswith(".bom/")):
            continue
        found[name] = None if path.is_dir() else content(path.read_bytes())
    return found


def content(data: bytes) -> object:
    """What a file holds."""
    if not data.startswith(b"PK"):
        return data
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {n: archive.read(n) for n in archive.namelist() if n != "docProps/core.xml"}
