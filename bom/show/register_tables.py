"""What is printed of quotations given: one that is, what changed since, and how all jobs stand."""

from collections.abc import Callable, Iterator
from decimal import Decimal

from bom.files.table import Form, Heading, Table
from bom.trade.quotes import GivenQuote, Quote
from bom.workshop.due import without_book
from bom.workshop.jobs import JobLine, JobList
from bom.workshop.register import Giving, SinceGiven

NOTHING_YET = "nothing yet"


def since_lines(since: SinceGiven, estimate: Quote) -> Iterator[str]:
    """What was given, and what it would be now with what changed most first."""
    if since.last is None:
        return
    if since.is_half:
        half = "it has changed since" if since.last.total is None else "now something has no price"
        now = f"now {estimate.total:.2f}" if estimate.complete else half
        yield f"{_as_given(since.last)}; {now}"
        return
    if not since.changes:
        yield f"{_as_given(since.last)}, and is so still"
        return
    changes = ", ".join(f"{change.what} {change.by:+.2f}" for change in since.changes)
    yield f"{_as_given(since.last)}; now {estimate.total:.2f}: {changes}"


def giving_lines(giving: Giving) -> Iterator[str]:
    """What was given, where it is kept, and what it replaces."""
    quote = giving.quote
    if quote is None:
        return
    if not giving.new:
        yield f"{_as_given(quote)}; nothing has changed, and it is not given again"
        return
    valid = f", valid until {quote.valid_until}"
    instead = f"; it replaces {giving.replaces}" if giving.replaces else ""
    if not giving.written:
        yield f"would be {_as_given(quote)}{valid}{instead}"
        yield "a dry run: nothing is written"
        return
    yield f"{_as_given(quote)}{valid}{instead}"
    kept = dict.fromkeys(name.partition("/")[0] for name in giving.kept)
    yield f"written to {giving.file}; kept in {giving.place}: {', '.join(kept)}"


def _as_given(quote: GivenQuote) -> str:
    total = ", incomplete" if quote.total is None else f": {quote.total:.2f}"
    return f"given as {quote.number} on {quote.given}{total}"


def jobs_tables(jobs: JobList) -> tuple[Table, ...]:
    """Each job with its state, what it was quoted and cost, its hours, and what is unpaid."""

    def summed(
        name: str, value: Callable[[JobLine], Decimal | None], form: Form
    ) -> Heading[JobLine]:
        return Heading(name, value, form, total=any(value(line) is not None for line in jobs.lines))

    return (
        Table.of(
            "jobs",
            jobs.lines,
            Heading("job", lambda line: line.job, wide=24),
            Heading("state", _state, wide=24),
            Heading("since", lambda line: line.since, gives_way=2),
            Heading("number", _number, gives_way=1),
            summed("quoted net", lambda line: line.net, "money"),
            summed("at cost", lambda line: line.at_cost, "money"),
            summed("hours planned", lambda line: line.planned_hours, "hours"),
            summed("hours used", lambda line: line.used_hours, "hours"),
            Heading("earned an hour", lambda line: line.earned_an_hour, "money"),
            summed("unpaid", lambda line: line.standing.unpaid, "money"),
            notes=_jobs_notes(jobs),
        ),
    )


def _state(line: JobLine) -> str:
    """What the stock book would say is not known while it has errors."""
    return line.standing.state or ("not known" if line.standing.unread else NOTHING_YET)


def _number(line: JobLine) -> str:
    return line.standing.last.number if line.standing.last else ""


def _jobs_notes(jobs: JobList) -> Iterator[str]:
    for line in jobs.lines:
        if line.is_lost:
            told = without_book(line.standing.kept)
            yield f"{told.job}: {told.stands}: {told.then}"
    if any(line.standing.quotes for line in jobs.lines):
        yield "quoted net, at cost: without tax, as the register has them; unpaid: with tax"
    if any(line.earned_an_hour is not None for line in jobs.lines):
        yield "earned an hour: the price without tax, less materials at cost, by the hours used"
