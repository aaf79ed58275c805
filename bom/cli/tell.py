"""What a command has to tell beside its answer: errors, cautions, refusals, on stderr."""

import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

import typer

from bom.cli.screen import echo, echo_json
from bom.trade.problem import Problem, Where, error


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Leave with 1 and one line on stderr where a file, or what goes into it, is not to be had."""
    from bom.files.safely import told

    try:
        with told(path):
            yield
    except (OSError, ValueError) as fault:
        refuse(str(fault))


def tell(problems: Sequence[Problem], *, each: bool = False, headed: bool = False) -> None:
    """Errors and cautions go to stderr, the cause first; several, or `headed`, under their number.

    What is alike is told in one sentence, or with `each` one by one; what the owner accepts comes
    last, with the reason.
    """
    from bom.show.told import accepted, grouped, headline

    told = grouped(problems, each=each)
    if problems and (headed or len(told) > 1):
        echo(headline(problems), err=True)
    for problem in told:
        say(problem)
    if lines := accepted(problems):
        echo("accepted:", *(f"    {line}" for line in lines), err=True)


def note(problems: Sequence[Problem]) -> None:
    """Cautions under an answer, a line each, what is alike in one."""
    from bom.show.told import grouped

    for problem in grouped(problems):
        say(problem, between="; ")


def say(problem: Problem, *, between: str = "\n    ") -> None:
    """One error or caution on stderr, coloured where that is wanted; its cure behind `between`."""
    plain = "NO_COLOR" in os.environ
    colour = None if plain else "red" if problem.level == "error" else "yellow"
    echo(*problem.told(between).split("\n"), err=True, colour=colour)


def refuse(says: str, cure: str = "", *, more: str = "", code: int = 1) -> NoReturn:
    """Leave with a code, one error and its cure on stderr, and on stdout where JSON is wanted.

    A sentence may bring its cure along, after `; try: `.  `more` is a last line on stderr.
    """
    said, _, brought = says.partition("; try: ")
    problem = error(Where(), said, cure or brought)
    say(problem)
    if more:
        echo(f"    {more}", err=True)
    give_up((problem,), code)


def give_up(problems: Iterable[Problem], code: int = 1) -> NoReturn:
    """Leave with a code; where JSON is wanted, with the problems alone as the answer."""
    if _json_wanted():
        from bom.show.job_json import as_json, problems_out

        echo_json(as_json({"problems": problems_out(problems)}))
    raise typer.Exit(code)


def _json_wanted() -> bool:
    """Asked of the command line itself: usage may be wrong before its options are known."""
    words = sys.argv[1:]
    return "--json" in (words[: words.index("--")] if "--" in words else words)
