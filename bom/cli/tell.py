"""What a command has to tell beside its answer: errors, cautions, refusals, on stderr."""

import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

import typer

from bom.trade.problem import Problem, Where, counted, error, told_once


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Leave with 1 and one line on stderr where a file, or what goes into it, is not to be had."""
    from bom.files.safely import told

    try:
        with told(path):
            yield
    except (OSError, ValueError) as fault:
        refuse(str(fault))


def tell(problems: Iterable[Problem]) -> None:
    """Errors and cautions go to stderr, in file order, with a count of them at the end."""
    found = list(problems)
    for problem in told_once(found):
        say(problem)
    if found:
        errors = sum(problem.level == "error" for problem in found)
        typer.echo(
            f"{counted(errors, 'error')}, {counted(len(found) - errors, 'caution')}", err=True
        )


def say(problem: Problem) -> None:
    """One error or caution on stderr, coloured where that is wanted."""
    plain = "NO_COLOR" in os.environ
    colour = None if plain else "red" if problem.level == "error" else "yellow"
    head, _, rest = str(problem).partition(":")
    typer.secho(head, fg=colour, nl=False, err=True)
    typer.echo(f":{rest}", err=True)


def refuse(says: str, cure: str = "", *, more: str = "", code: int = 1) -> NoReturn:
    """Leave with a code, one error and its cure on stderr, and on stdout where JSON is wanted.

    A sentence may bring its cure along, after `; try: `.  `more` is a last line on stderr.
    """
    said, _, brought = says.partition("; try: ")
    problem = error(Where(), said, cure or brought)
    say(problem)
    if more:
        typer.echo(f"    {more}", err=True)
    give_up((problem,), code)


def give_up(problems: Iterable[Problem], code: int = 1) -> NoReturn:
    """Leave with a code; where JSON is wanted, with the problems alone as the answer."""
    if _json_wanted():
        from bom.show.job_json import as_json, problems_out

        typer.echo(as_json({"problems": problems_out(problems)}))
    raise typer.Exit(code)


def _json_wanted() -> bool:
    """Asked of the command line itself: usage may be wrong before its options are known."""
    words = sys.argv[1:]
    return "--json" in (words[: words.index("--")] if "--" in words else words)
