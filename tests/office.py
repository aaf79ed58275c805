"""LibreOffice headless, in a profile of its own."""

import os
import signal
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bom.shelf.stockbook.keep import open_elsewhere

PATIENCE_S = 300
"""For a machine that is busy; it takes two seconds on an idle one."""


def _command(folder: Path, *words: str) -> list[str]:
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    return ["soffice", profile, "--headless", *words]


def converted(data: bytes, name: str, folder: Path, kind: str = "xlsx", *options: str) -> Path:
    """The book opened and saved as that kind by LibreOffice."""
    (folder / name).write_bytes(data)
    words = (*options, "--convert-to", kind, "--outdir", str(folder / "out"), str(folder / name))
    command = _command(folder, *words)
    subprocess.run(command, check=True, capture_output=True, timeout=PATIENCE_S)
    return (folder / "out" / name).with_suffix(f".{kind}")


@contextmanager
def opened(book: Path, folder: Path) -> Iterator[str]:
    """While LibreOffice has the book open: who has it, by its mark; it is killed in the end."""
    command = _command(folder, "--norestore", str(book))
    with subprocess.Popen(command, start_new_session=True, stderr=subprocess.DEVNULL) as child:
        try:
            until = time.monotonic() + PATIENCE_S
            while (who := open_elsewhere(book)) in ("", "somebody") and time.monotonic() < until:
                time.sleep(0.2)
            yield who
        finally:
            os.killpg(child.pid, signal.SIGKILL)
