"""The command line: options in, one job of work, tables or JSON out, an exit code.

Nothing heavy is imported before a command runs, so that help comes at once.
"""

import errno
import gc
import os
import sys

import typer

from bom.cli import after
from bom.cli.jobs import app
from bom.cli.new import new_app
from bom.cli.prices import prices_app
from bom.cli.stock import stock_app
from bom.cli.tell import say
from bom.cli.usage import USAGE, refuse_usage
from bom.trade.problem import Where, error

__all__ = ["after", "app", "main"]

app.add_typer(new_app, name="new")
app.add_typer(stock_app, name="stock")
app.add_typer(prices_app, name="prices")


def main() -> None:
    """Entry point of the `bom` command; output is UTF-8 wherever it goes."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    gc.disable()  # a run is short, and what it makes holds no rings worth looking for
    try:
        code = _run()
        sys.stdout.flush()
        gc.freeze()  # nor is it looked through at the end
        sys.exit(code)
    except OSError as fault:
        if fault.errno != errno.ENOSPC:
            raise
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nor is it tried again
        say(error(Where(), "no room for what is to be printed", "another disk, or a pipe"))
        sys.exit(1)
    except Exception:
        if "_BOM_COMPLETE" not in os.environ:
            raise
        sys.exit(1)  # a shell asks for completions: it is told nothing rather than a fault


def _run() -> int:
    """The exit code of the command; usage is 2, and 130 where the owner stopped it."""
    try:
        code = app(prog_name="bom", standalone_mode=False)
    except USAGE as fault:
        try:
            refuse_usage(fault)
        except typer.Exit as left:
            return left.exit_code
        return 0
    except typer.Abort:
        typer.echo("stopped", err=True)
        return 130
    return code if isinstance(code, int) else 0
