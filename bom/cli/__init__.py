"""The command line: options in, one job of work, tables or JSON out, an exit code.

Nothing heavy is imported before a command runs, so that help comes at once.
"""

import gc
import sys

from bom.cli import after
from bom.cli.jobs import app
from bom.cli.prices import prices_app
from bom.cli.stock import stock_app

__all__ = ["after", "app", "main"]

app.add_typer(stock_app, name="stock")
app.add_typer(prices_app, name="prices")


def main() -> None:
    """Entry point of the `bom` command; output is UTF-8 wherever it goes."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    gc.disable()  # a run is short, and what it makes holds no rings worth looking for
    app()
