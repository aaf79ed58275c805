"""All commands under one name, and how a run begins and ends."""

import errno
import gc
import os
import sys
from contextlib import suppress

import typer

from bom.cli import colours, compare, desk, job_shelf, orders, quotes, stock, stocktake
from bom.cli.after import learn
from bom.cli.booking import stock_app
from bom.cli.jobs import app
from bom.cli.new import new_app
from bom.cli.prices import prices_app
from bom.cli.progress import working
from bom.cli.tell import refuse, say
from bom.cli.usage import USAGE, refuse_usage
from bom.trade.problem import Where, error

__all__ = [
    "app",
    "colours",
    "compare",
    "desk",
    "job_shelf",
    "learn",
    "orders",
    "quotes",
    "run",
    "stock",
    "stocktake",
]

_STOPPED = 130
"""What newer typers make of the owner's Ctrl-C."""

app.add_typer(new_app, name="new")
app.add_typer(stock_app, name="stock")
app.add_typer(prices_app, name="prices")


def run() -> None:
    """Run the command that was typed and leave with its code; output is UTF-8 wherever it goes."""
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
        if fault.errno == errno.ENOENT and not _is_somewhere():
            with suppress(typer.Exit):
                refuse("the folder that this was begun in is gone", "cd to one that is there")
            sys.exit(1)
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
    """The exit code of the command; usage is 2.  Raises KeyboardInterrupt where it is stopped."""
    with working("working"):
        try:
            code = app(prog_name="bom", standalone_mode=False)
        except USAGE as fault:
            return _code_of_usage(fault)
        except typer.Abort:
            raise KeyboardInterrupt from None
    if code == _STOPPED:
        raise KeyboardInterrupt
    return code if isinstance(code, int) else 0


def _code_of_usage(fault: Exception) -> int:
    try:
        refuse_usage(fault)
    except typer.Exit as left:
        return left.exit_code
    return 0


def _is_somewhere() -> bool:
    """False where the current folder was taken away."""
    try:
        return bool(os.getcwd())
    except FileNotFoundError:
        return False
