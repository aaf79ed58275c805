"""What is printed after the job: the plan beside what was used, and the rules that jobs propose."""

from collections.abc import Iterable
from decimal import Decimal

from bom.files.table import Cell, Heading, Table
from bom.show.shelf_tables import FEW, booked_tables
from bom.workshop.after_job import DONE_FILE, FOLDER, After, Taught
from bom.workshop.allowances import FEWEST_JOBS, ONE_IN_TEN, Allowance, lines
from bom.workshop.finished import Finished

_NAMES = {"run": "cable along the loom", "cable": "cable, all pieces", "fuse_holder": "fuse holder"}
_TENTH = Decimal("0.1")


def done_tables(done: After) -> tuple[Table, ...]:
    """The sheet that was made; or what was used by kind, then what it changes on the shelf."""
    if done.booked is None:
        return (_kinds_table(done),)
    return (_kinds_table(done), *booked_tables(done.booked, "put right"))


def _kinds_table(done: After) -> Table:
    first = done.sheet is None or not any(record.done for record in done.records)
    title = f"{done.job}: the plan" if first else f"{done.job}: planned and used"
    amounts = ("planned",) if first else ("planned", "used", "spoilt", "difference")
    return Table(
        title=title,
        headings=(
            Heading(name="kind"),
            *(Heading(name=name, form="quantity") for name in amounts),
            Heading(name="unit"),
        ),
        rows=tuple(_kind_row(record, len(amounts)) for record in done.records),
        notes=_made_notes(done) if first else _done_notes(done),
    )


def _kind_row(record: Finished, amounts: int) -> tuple[Cell, ...]:
    difference = record.used + record.spoilt - record.planned
    figures = (record.planned, record.used, record.spoilt, difference)
    shown = (_short(figure) for figure in figures[:amounts])
    return (_NAMES.get(record.kind, record.kind), *shown, record.unit)


def _short(amount: Decimal) -> Decimal:
    """To the millimetre, or a few seconds."""
    return round(amount, 3)


def _made_notes(done: After) -> tuple[str, ...]:
    sheet = f"{FOLDER}/{done.sheet.name}" if done.sheet else FOLDER
    if not done.made:
        return (f"a dry run: {sheet} is not made",)
    return (f"made {sheet}, filled in with this plan",)


def _done_notes(done: After) -> tuple[str, ...]:
    told = ["difference: used and spoilt, less planned"]
    unknown = [row.item for row in done.used.rows if row.used is None] if done.used else []
    if unknown:
        names = ", ".join(unknown) if len(unknown) <= FEW else f"{len(unknown)} items"
        told.append(f"not measured, so neither booked nor learned from: {names}")
    told.append(f"stored in {DONE_FILE}" if done.stored else f"{DONE_FILE} is as it was")
    return tuple(told)


# ------------------------------------------------------------------------------ learning


def taught_tables(found: Taught) -> tuple[Table, ...]:
    """What the jobs propose for each rule, and under it the lines to copy."""
    many = any(allowance.most_jobs is not None for allowance in found.allowances)
    jobs = "1 finished job" if found.jobs == 1 else f"{found.jobs} finished jobs"
    return (
        Table(
            title=f"allowances from {jobs}",
            headings=(
                Heading(name="rule"),
                Heading(name="now", form="percent"),
                Heading(name="jobs", form="count"),
                Heading(name="mean", form="percent"),
                Heading(name="give or take", form="percent"),
                Heading(name="between jobs", form="percent"),
                *([Heading(name="9 in 10 jobs", form="percent")] if many else []),
                Heading(name="proposed", form="percent"),
                Heading(name=""),
            ),
            rows=tuple(_allowance_row(each, many) for each in found.allowances),
            notes=(*_lines_to_copy(found.allowances), *_taught_notes(many)),
        ),
    )


def _allowance_row(each: Allowance, many: bool) -> tuple[Cell, ...]:
    verdict = "keep" if each.keep else "change"
    if each.proposal is None:
        verdict = f"under {FEWEST_JOBS} jobs"
    figures = (each.mean, each.uncertainty, each.deviation)
    most = (each.most_jobs,) if many else ()
    return (each.rule, each.now, each.jobs, *figures, *most, each.proposal, verdict)


def _lines_to_copy(allowances: Iterable[Allowance]) -> tuple[str, ...]:
    changed = lines(allowances)
    if not changed:
        return ()
    copied = (f"{rule} = {figure.quantize(_TENTH)}" for rule, figure in changed.items())
    return ("for workshop.toml, in place of its own lines:", *copied)


def _taught_notes(many: bool) -> tuple[str, ...]:
    return (
        "mean: what was used beyond what is counted, summed over the jobs; give or take: how "
        "surely it is known; between jobs: one standard deviation of a single job (JCGM 100:2008, "
        "4.2)",
        *(
            [f"9 in 10 jobs: would have covered all but a tenth of them (from {ONE_IN_TEN} jobs)"]
            if many
            else []
        ),
        "keep: the rule of now lies within the mean, give or take",
    )
