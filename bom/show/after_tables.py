"""What is printed after the job: the plan beside what was used, and the rules that jobs propose."""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from bom.files.table import Heading, Table
from bom.show.shared import few
from bom.show.shelf_tables import booked_tables
from bom.trade.problem import counted
from bom.workshop.after_job import DONE_FILE, FOLDER, After, Taught
from bom.workshop.allowances import FEWEST_JOBS, ONE_IN_TEN, Allowance, lines
from bom.workshop.finished import Finished

_NAMES = {"run": "cable along the loom", "cable": "cable, all pieces"}
_TENTH = Decimal("0.1")


def done_tables(done: After) -> tuple[Table, ...]:
    """The sheet that was made; or what was used by kind, then what it changes on the shelf."""
    if done.booked is None:
        return (_kinds_table(done),)
    return (_kinds_table(done), *booked_tables(done.booked, "put right"))


def _kinds_table(done: After) -> Table:
    used = done.sheet is not None and any(record.done for record in done.records)
    return Table.of(
        f"{done.job}: planned and used" if used else f"{done.job}: the plan",
        done.records,
        Heading("kind", lambda record: _NAMES.get(record.kind, record.kind.replace("_", " "))),
        Heading("planned", lambda record: _short(record.planned), "quantity"),
        Heading("used", lambda record: _short(record.used), "quantity", shown=used),
        Heading("spoilt", lambda record: _short(record.spoilt), "quantity", shown=used),
        Heading("difference", _difference, "quantity", shown=used),
        Heading("unit", lambda record: record.unit),
        notes=_done_notes(done) if used else _made_notes(done),
    )


def _difference(record: Finished) -> Decimal:
    return _short(record.used + record.spoilt - record.planned)


def _short(amount: Decimal) -> Decimal:
    """To the millimetre, or a few seconds."""
    return round(amount, 3)


def _made_notes(done: After) -> Iterator[str]:
    sheet = f"{FOLDER}/{done.sheet.name}" if done.sheet else FOLDER
    gone = [row.item for row in done.used.rows if row.used is None] if done.used else []
    if gone:
        yield f"issued, and planned no more: {few(gone)}; say there what is in the loom, or 0"
    made = f"made {sheet}, filled in with this plan"
    yield made if done.made else f"a dry run: {sheet} is not made"


def _done_notes(done: After) -> Iterator[str]:
    yield "difference: used and spoilt, less planned"
    unknown = [row.item for row in done.used.rows if row.used is None] if done.used else []
    if unknown:
        yield f"not measured, so neither booked nor learned from: {few(unknown)}"
    yield f"stored in {DONE_FILE}" if done.stored else f"{DONE_FILE} is as it was"


# ------------------------------------------------------------------------------ learning


def taught_tables(found: Taught) -> tuple[Table, ...]:
    """What the jobs propose for each rule, and under it the lines to copy."""
    many = any(allowance.most_jobs is not None for allowance in found.allowances)
    return (
        Table.of(
            f"allowances from {counted(found.jobs, 'finished job')}",
            found.allowances,
            Heading("rule", lambda each: each.rule),
            Heading("now", lambda each: each.now, "percent"),
            Heading("jobs", lambda each: each.jobs, "count", gives_way=1),
            Heading("mean", lambda each: each.mean, "percent"),
            Heading("give or take", lambda each: each.uncertainty, "percent", gives_way=3),
            Heading("between jobs", lambda each: each.deviation, "percent", gives_way=2),
            Heading("9 in 10 jobs", lambda each: each.most_jobs, "percent", shown=many),
            Heading("proposed", lambda each: each.proposal, "percent"),
            Heading("", _verdict),
            notes=(*_lines_to_copy(found.allowances), *_left_out(found), *_taught_notes(many)),
        ),
    )


def _verdict(each: Allowance) -> str:
    if each.proposal is None:
        return f"under {FEWEST_JOBS} jobs"
    return "keep" if each.keep else "change"


def _lines_to_copy(allowances: Iterable[Allowance]) -> tuple[str, ...]:
    changed = lines(allowances)
    if not changed:
        return ()
    copied = (f"{rule} = {figure.quantize(_TENTH)}" for rule, figure in changed.items())
    return ("for workshop.toml, in place of its own lines:", *copied)


def _left_out(found: Taught) -> Iterator[str]:
    if found.left_out:
        yield f"left out, as undone or taken back: {few(found.left_out)}"


def _taught_notes(many: bool) -> tuple[str | None, ...]:
    covered = f"9 in 10 jobs: would have covered all but a tenth of them (from {ONE_IN_TEN} jobs)"
    return (
        "mean: what was used beyond what is counted, summed over the jobs; give or take: how "
        "surely it is known; between jobs: one standard deviation of a single job (JCGM 100:2008, "
        "4.2)",
        covered if many else None,
        "jobs: those in which it was measured; a sheet left as it was filled in measures nothing",
        "keep: the rule of now lies within the mean, give or take",
    )
