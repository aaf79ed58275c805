"""Long work shows that it goes on: a line on the terminal, gone before anything else is printed."""

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Timer
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.live import Live
    from rich.text import Text

AFTER_SECONDS = 1.0
"""What is done sooner says nothing, and loads nothing to say it with."""


class _Status:
    """What is being done, and for how many seconds, once it has taken long enough."""

    def __init__(self, doing: str) -> None:
        self._doing = doing
        self._began = monotonic()
        self._live: Live | None = None
        self._timer = Timer(AFTER_SECONDS, self._appear)
        self._timer.daemon = True
        self._timer.start()

    def _appear(self) -> None:
        from rich.console import Console
        from rich.live import Live

        self._live = Live(
            get_renderable=self._line,
            console=Console(stderr=True),
            transient=True,
            redirect_stdout=False,
            redirect_stderr=False,
        )
        self._live.start(refresh=True)

    def _line(self) -> "Text":
        from rich.text import Text

        seconds = int(monotonic() - self._began)
        return Text(f"{self._doing}, {seconds} s", no_wrap=True, overflow="ellipsis")

    def stop(self) -> None:
        """Clean the line away, for good."""
        self._timer.cancel()
        self._timer.join()
        if self._live:
            self._live.stop()


@contextmanager
def working(doing: str) -> Iterator[Callable[[], None]]:
    """Show on the terminal that something is being done.

    Nothing is printed inside it, unless what it gives was called, which ends it before its time.
    Nothing is shown where stderr is no terminal, or one that can take no line back.
    """
    if not sys.stderr.isatty() or os.environ.get("TERM") in ("dumb", "unknown"):
        yield lambda: None
        return
    status = _Status(doing)
    try:
        yield status.stop
    finally:
        status.stop()
