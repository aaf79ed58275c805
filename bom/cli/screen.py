"""The screen: how wide it is, and sentences that it does not cut in the middle of a word."""

import os
import sys
from shutil import get_terminal_size
from typing import TextIO

import typer

from bom.files import wrapping


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
        typer.echo(err=True)


def echo(text: str, *, err: bool = False) -> None:
    """Print sentences, wrapped where they go to a screen."""
    typer.echo(wrapped(text, width_of(sys.stderr if err else sys.stdout)), err=err)
