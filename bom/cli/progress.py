"""Long work shows that it goes on: a line on the terminal, gone before anything else is printed."""

import os
import sys
from collections.abc import Iterator
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
        self.doing = doing
        self._began = monotonic()
        self._live: Live | None = None
        self._timer = Timer(AFTER_SECONDS, self._appear)
        self._timer.daemon = True
        self._timer.start()

    def _appear(self) -> None:
        from rich.console import Console
        from rich.live import Live

        console = Console(stderr=True)
        self._live = Live(
            get_renderable=self._line,
            console=console,
            transient=True,
            redirect_stdout=False,
            redirect_stderr=False,
        )
        self._live.start(refresh=True)
        console.show_cursor()  # a run that is killed would leave none

    def _line(self) -> "Text":
        from rich.text import Text

        seconds = int(monotonic() - self._began)
        return Text(f"{self.doing}, {seconds} s", no_wrap=True, overflow="ellipsis")

    def stop(self) -> None:
        """Clean the line away, for good."""
        self._timer.cancel()
        self._timer.join()
        if self._live:
            self._live.stop()


_status: _Status | None = None
"""What stands on the terminal, or will when it has taken long enough."""


@contextmanager
def working(doing: str) -> Iterator[None]:
    """Show on the terminal that something is being done, until it is or something is printed.

    Inside another it says for a while what is done there.  Nothing is shown where stderr is no
    terminal, or one that can take no line back.
    """
    global _status
    if _status:
        _status.doing, before = doing, _status.doing
        try:
            yield
        finally:
            if _status:
                _status.doing = before
        return
    if sys.stderr.isatty() and os.environ.get("TERM") not in ("dumb", "unknown"):
        _status = _Status(doing)
    try:
        yield
    finally:
        clear()


def clear() -> None:
    """Take the line away: something is about to be printed, or asked."""
    global _status
    if _status:
        status, _status = _status, None
        status.stop()
