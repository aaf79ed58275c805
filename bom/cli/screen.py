"""The screen, and the one way out to it: how wide it is, and nothing in a text that it obeys.

What goes to a file or a pipe goes this way too: it may be shown on a screen later.
"""

import os
import sys
from shutil import get_terminal_size
from typing import TextIO

import typer

from bom.cli.progress import clear
from bom.files import wrapping
from bom.trade.visible import escaped, visible


def width_of(stream: TextIO) -> int | None:
    """Columns of the terminal that a stream goes to; None where it goes to a file or a pipe."""
    if not stream.isatty():
        return None
    return get_terminal_size(os.get_terminal_size(stream.fileno())).columns or None


def wrapped(text: str, width: int | None, indent: int = 2) -> str:
    """Each line of a text wrapped between words, set in where it goes on; whole without a width.

    >>> print(wrapped("    try: dark green", 13))
        try: dark
          green
    """
    if width is None:
        return text
    return "\n".join(
        part
        for line in text.split("\n")
        for part in wrapping.wrapped(line, width, " " * (_lead(line) + indent))
    )


def _lead(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def gap() -> None:
    """Part messages and answer by a blank line where both go to the screen."""
    if sys.stdout.isatty() and sys.stderr.isatty():
        echo("", err=True)


def echo(*lines: str, err: bool = False, colour: str | None = None) -> None:
    """Print sentences, each a line, wrapped where they go to a screen.

    A `colour` is that of the first line's head, to its colon.
    """
    width = width_of(sys.stderr if err else sys.stdout)
    text = "\n".join(wrapped(visible(line), width) for line in lines)
    if colour:
        head, colon, rest = text.partition(":")
        text = typer.style(head, fg=colour) + colon + rest
    _out(text, err=err)


def echo_table(text: str, *, err: bool = False) -> None:
    """Print lines that are set out already, such as a table."""
    _out("\n".join(map(visible, text.split("\n"))), err=err)


def echo_json(json: str) -> None:
    """Print JSON, which means the same to a program with escapes for what a screen would obey."""
    _out(escaped(json))


def _out(text: str, *, err: bool = False) -> None:
    clear()
    typer.echo(text, err=err)
