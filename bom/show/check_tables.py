"""What `bom check` prints: the wires as sized, and what each heading of the book is taken for."""

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

from bom.files.headings import TakenFor
from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.trade.problem import counted
from bom.trade.wires import Currents, SizedWire

if TYPE_CHECKING:
    from bom.job import Job


def check_tables(job: "Job") -> tuple[Table, ...]:
    """Every wire as sized: what it carries, what protects it, what it drops."""
    volts = float(job.rules.volts)
    runs = partial(_runs, _by_runs(job.currents))
    return (
        Table.of(
            f"{job.name}: {len(job.wires)} wires",
            job.wires,
            Heading("wire", lambda w: w.wire.label),
            Heading("circuit", lambda w: w.wire.circuit, wide=24, gives_way=3),
            Heading("from", lambda w: str(w.wire.start), wide=22),
            Heading("to", lambda w: str(w.wire.finish), wide=22),
            Heading("colour", lambda w: str(w.wire.colour or "")),
            Heading("gauge", lambda w: w.cable.gauge),
            Heading("load", lambda w: float(w.loaded.amps), "amps", gives_way=6),
            Heading("rated", lambda w: float(w.cable.rated_amps), "amps", gives_way=1),
            Heading("fuse", lambda w: None if w.fuse_amps is None else float(w.fuse_amps), "amps"),
            Heading("length", lambda w: w.piece_mm, "mm", gives_way=4),
            Heading("drop", lambda w: w.drop_volts, "volts", gives_way=4),
            Heading("drop", lambda w: 100 * w.drop_volts / volts, "percent", gives_way=2),
            Heading("runs", runs, shown=any(map(runs, job.wires)), gives_way=2),
            notes=_check_notes(job),
        ),
    )


def columns_table(taken: Sequence[TakenFor]) -> Table:
    """What each heading of a job book is taken for."""
    return Table.of(
        "Columns",
        taken,
        Heading("sheet", lambda t: t.where.sheet),
        Heading("cell", lambda t: t.where.cell),
        Heading("heading", lambda t: t.heading, wide=30),
        Heading("taken for", lambda t: t.column or "-"),
        Heading("in", lambda t: t.unit),
        Heading("known by", lambda t: t.how),
        notes=('your own words: [columns] in workshop.toml, such as "Leitung" = "wire"',),
    )


def _by_runs(currents: Currents | None) -> Mapping[str, int]:
    """The loads, as bits, by how long they are on."""
    found: dict[str, int] = {}
    if currents is None:
        return found
    for number, name in enumerate(currents.names):
        runs = currents.runs[name]
        found[runs] = found.get(runs, 0) | 1 << number
    return found


def _runs(known: Mapping[str, int], entry: SizedWire) -> str:
    """How long all loads of a wire are on, where they agree and it is not always."""
    ways = [runs for runs, loads in known.items() if loads & entry.loaded.loads]
    return ways[0] if len(ways) == 1 and ways[0] != "always" else ""


def not_looked_at(job: "Job") -> str:
    """What the errors kept from being looked at; empty where all was."""
    if not job.wires or (job.ways_known and job.currents_known):
        return ""
    what = "currents, fuses and earths" if job.ways_known else "loads, fuses and ends"
    return f"not looked at yet: {what} of {counted(len(job.wires), 'wire')}"


def _check_notes(job: "Job") -> Iterator[str]:
    """What gauges were raised for, the warmest branch, and the charging balance."""
    for why in ("heat of a branch", "the voltage lost on a way", "one line less to order"):
        thicker = [f"{w.wire.label} ({w.cable.gauge})" for w in job.wires if w.decided == why]
        if thicker:
            yield f"thicker for {why}: {', '.join(thicker)}"
    yield from _warmest(job)
    if job.book and job.book.not_read:
        yield f"sheets that are not read: {', '.join(job.book.not_read)}"
    rules = job.rules
    given = (rules.alternator_idle_w, "at idle"), (rules.alternator_road_w, "at road speed")
    gives = [f"{plain(watts)} W {when}" for watts, when in given if watts]
    if job.balance and gives:
        continuous, likely = job.balance
        yield (
            f"charging: loads take {continuous:.0f} W continuous and {likely:.0f} W likely; the "
            f"alternator gives {', '.join(gives)}"
        )


def _warmest(job: "Job") -> Iterator[str]:
    """The branch that gets warmest, where one does."""
    heats = job.sized.heats if job.sized else {}
    warm = [index for index, heat in heats.items() if heat.rise_k]
    if warm and job.book:
        index = max(warm, key=lambda index: (heats[index].hottest_c, -index))
        heat = heats[index]
        yield (
            f"warmest branch: {job.book.branches[index]}, {heat.hottest_c:.0f} C of "
            f"{heat.most_c:.0f} C (all on, with the margin)"
        )
