"""The command that sets two estimates side by side."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bom.cli import complete
from bom.cli.jobs import app
from bom.cli.progress import working
from bom.cli.screen import echo
from bom.cli.show import JobPath, Json, Sets, Show, Xlsx, emit, found, open_jobs
from bom.cli.tell import give_up, refuse, tell
from bom.trade.problem import Problem, as_typed, has_errors

if TYPE_CHECKING:
    from bom.estimate import Bought
    from bom.job import Job
    from bom.trade.quotes import GivenQuote

_Other = Annotated[
    Path | None,
    typer.Argument(
        metavar="[OTHER]",
        autocompletion=complete.jobs,
        help="The job to compare it with.",
    ),
]
_Given = Annotated[
    bool, typer.Option("--given", help="Compare it with its own book as it was given last.")
]


@app.command(epilog="Example: bom compare sample_projects/workshop/jobs/twin.xlsx --set volts=24")
def compare(
    job: JobPath,
    other: _Other = None,
    given: _Given = False,
    sets: Sets = None,
    json: Json = False,
    xlsx: Xlsx = None,
) -> None:
    """Show what another job, or the same under other rules, changes: wires, needs, hours, price.

    JOB OTHER: from the first to the second.  JOB --given: from what its last quotation was given
    for to what it is now.  With --set the second is worked out under that rule; alone it is the
    job itself.  Both at the prices, house rules and shelf of today.
    """
    from bom.show.comparison_json import comparison_out
    from bom.show.comparison_tables import as_given, comparison_tables, sides_line
    from bom.workshop.comparison import compare_jobs

    _refuse_unless_two(job, other, given=given, sets=sets)
    with working("working out both"):
        was, now, quoted = _opened(job, other, given=given, sets=sets)
        between, both = compare_jobs(was, now, quoted)
    if between and between.was.estimate and between.is_nothing and not json:
        given_for = as_given(between, quoted)
        what = "nothing in the job differs" if given_for else "nothing differs"
        echo(f"{what} ({sides_line(between)})", *filter(None, (given_for,)))
    typed = ((job, was), (other, now)) if other else ((job, now),)
    problems = tuple(_problems(both, [one for _, one in typed]))
    show = Show(
        problems,
        lambda: comparison_out(between, problems),
        lambda: comparison_tables(between, quoted) if between else (),
        currency=now.rules.currency,
        over=sides_line(between) if between else "",
        next_step="" if has_errors(problems) else _next(other or job, now, given=given),
        jobs=typed,
        aside=tuple(problem for bought in both for problem in bought.of_the_order),
        first=both[0].lacking,
        anyway=between is not None,
    )
    emit(show, json, xlsx)


def _refuse_unless_two(
    job: Path, other: Path | None, *, given: bool, sets: Sequence[str] | None
) -> None:
    typed = f"bom compare {as_typed(job)}"
    if other and given:
        says = "another job or --given: a job is compared with one of them"
        refuse(says, f"{typed} --given", code=2)
    if not (other or given or sets):
        says = "nothing is said that it is to be compared with"
        refuse(says, f"{typed} OTHER, {typed} --given, or {typed} --set volts=6", code=2)


def _opened(
    job: Path, other: Path | None, *, given: bool, sets: Sequence[str] | None
) -> "tuple[Job, Job, GivenQuote | None]":
    """The two jobs, and the quotation that the first was given for."""
    from bom.workshop.comparison import given_before, opened_together

    if other or not given:
        return *opened_together(found(job), found(other or job), sets or ()), None
    (now,) = open_jobs([job], sets)
    if now.book is None:
        tell(now.problems)
        give_up(now.problems)
    kept, quoted, problems = given_before(now)
    if kept is None:
        tell(problems)
        give_up(problems)
    return kept, now, quoted


def _problems(both: "Iterable[Bought]", typed: "Sequence[Job]") -> "Iterator[Problem]":
    """Of both, but the cautions in a book that was not named: they are of another day."""
    named = {problem for job in typed for problem in job.problems}
    found = dict.fromkeys(problem for bought in both for problem in bought.problems)
    for problem in found:
        of_a_book = any(problem in bought.jobs[0].problems for bought in both)
        if problem.level == "error" or problem in named or not of_a_book:
            yield problem


def _next(job: Path, now: "Job", *, given: bool) -> str:
    if now.sets:
        rules = now.variant.removeprefix("with ")
        return f"{rules} on the sheet Job, if it is to be so; then: bom quote {as_typed(job)}"
    return f"bom quote {as_typed(job)} --give" if given else f"bom quote {as_typed(job)}"
