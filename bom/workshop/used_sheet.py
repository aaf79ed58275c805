"""What a job really used: the plan to be put right, the sheet read back, the records made of it."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from bom.files import spelling
from bom.files.headings import Column, NewHead, Record, by, read_rows, text
from bom.files.sheet import Book, Value, read_book
from bom.files.spelling import MM_PER_UNIT, Misspelt, fold, plain
from bom.files.units import key_of
from bom.read import cells
from bom.read.job_columns import job_columns
from bom.shelf.moves.wires_cut import cable_of, gauge_and_colour, wires_cut
from bom.trade.catalogue import Catalogue
from bom.trade.figures import allowed_hours
from bom.trade.house import HouseRules
from bom.trade.job_book import Colour
from bom.trade.needs import Need, Takeoff
from bom.trade.problem import Problem, Where, error
from bom.trade.shelf import Move
from bom.trade.wires import Sized
from bom.workshop.finished import Finished, TaskRow, Used, UsedRow, record_kinds
from bom.workshop.made_sheet import MADE_SHEETS, made_columns, made_wires, not_on_used, tests_made

ALL_TOGETHER = "all together"
"""The row of Labour for the hours of the whole job, where tasks are not timed one by one."""

MUCH_MORE = 50
"""So many times the length that was planned is no length that was used: other units were meant."""

MOST_USED = 10**6
_MM = Decimal(1)
_PER_M = 1000
_HOUR = Decimal("0.000001")


# ------------------------------------------------------------------------------ the plan


def planned(
    job: str,
    takeoff: Takeoff,
    sized: Sized,
    rules: HouseRules,
    work: Iterable[tuple[str, Fraction]],
) -> Used:
    """The sheet as the plan has it: used is what is counted without spares, spoilt nothing.

    `work` are tasks with their counted hours.
    """
    ways = _ways(sized, rules)
    tasks = [_task(name, hours, rules) for name, hours in work]
    return Used(job=job, rows=[_row(need, ways) for need in takeoff.needs], tasks=tasks)


def _ways(sized: Sized, rules: HouseRules) -> Mapping[tuple[str, str], tuple[Fraction, Fraction]]:
    """Of each cable the way along the loom, and what tails, slack, ends and rounding add, in mm."""
    run = 1 + Fraction(rules.run_percent) / 100
    found: dict[tuple[str, str], tuple[Fraction, Fraction]] = {}
    for wire in sized.wires:
        key = (wire.cable.gauge, str(wire.wire.colour))
        path, fixed = found.get(key, (Fraction(0), Fraction(0)))
        way = wire.loaded.measured.path_mm
        rest = wire.piece_mm - way * run
        found[key] = (path + way * wire.wire.qty, fixed + rest * wire.wire.qty)
    return found


def _row(need: Need, ways: Mapping[tuple[str, str], tuple[Fraction, Fraction]]) -> UsedRow:
    per = Decimal(_PER_M if need.unit == "mm" else 1)
    counted = need.quantity if need.counted is None else need.counted
    cable = need.kind == "cable"
    path, fixed = ways[need.gauge, str(need.colour)] if cable else (Fraction(0), Fraction(0))
    return UsedRow(
        kind=need.kind,
        item=need.item,
        gauge=need.gauge,
        colour=need.colour,
        unit="m" if need.unit == "mm" else need.unit,
        planned=need.quantity / per,
        counted=counted / per,
        path=_metres(path),
        fixed=_metres(fixed),
        used=counted / per,
    )


def planned_no_longer(out: Iterable[Move], rows: Iterable[UsedRow]) -> list[UsedRow]:
    """A row for each thing that was issued and is not in the plan any more.

    Nobody knows what became of it, so that `used` is empty.
    """
    known = {_thing(row) for row in rows}
    issued = [_issued(move) for move in out if move.what == "issue"]
    return [row for key, row in {_thing(row): row for row in issued}.items() if key not in known]


def _thing(row: UsedRow) -> tuple[str, ...]:
    return (row.gauge, f"{row.colour}") if row.kind == "cable" else (fold(row.item), row.unit)


def _issued(move: Move) -> UsedRow:
    gauge = body = trace = ""
    item, unit = move.item, "m" if key_of(move.item, move.unit)[1] == "mm" else move.unit
    if wires_cut(move.note, 0):
        gauge, colour = gauge_and_colour(cable_of(move.note))
        body, _, trace = colour.partition("/")
        item = f"cable, {gauge if gauge.endswith('AWG') else f'{gauge} mm2'}, {colour}"
    return UsedRow(
        kind="cable" if gauge else "extra",
        item=item,
        gauge=gauge,
        colour=Colour(body, trace) if gauge else None,
        unit=unit,
        planned=Decimal(),
        counted=Decimal(),
    )


def _metres(mm: Fraction) -> Decimal:
    """Metres to the millimetre."""
    return (Decimal(mm.numerator) / mm.denominator).quantize(_MM) / _PER_M


def _task(name: str, hours: Fraction, rules: HouseRules) -> TaskRow:
    with_allowance = _hours(allowed_hours(hours, rules.labour_percent))
    return TaskRow(task=name, counted=_hours(hours), planned=with_allowance, hours=with_allowance)


def _hours(hours: Fraction) -> Decimal:
    """To a millionth, without zeros at the end: thirds of an hour go on for ever."""
    return Decimal(plain((Decimal(hours.numerator) / hours.denominator).quantize(_HOUR)))


# ---------------------------------------------------------------------- the sheet, read back


def _as_it_is(value: Value, _unit: str) -> Value:
    return value


def _plan(name: str, note: str, width: int, unit: str = "", **more: Any) -> Column:
    """A figure of the plan's."""
    return Column(
        name=name,
        units={unit: ""} if unit else {},
        new=NewHead(note, width, unit=unit, form="number", given=True),
        **more,
    )


def _measured(name: str, note: str, width: int, **more: Any) -> Column:
    """An amount, read with the unit of its row."""
    return Column(
        name=name, read=_as_it_is, blank=None, new=NewHead(note, width, form="number"), **more
    )


def used_columns(catalogue: Catalogue) -> dict[str, tuple[Column, ...]]:
    """The columns of each sheet of what was used, by its name."""
    about = dict(job_columns(catalogue))["Job"]
    return {
        "Used": _row_columns(catalogue),
        "Labour": _TASK_COLUMNS,
        **made_columns(catalogue),
        "Job": tuple(replace(column, read=text, blank="") for column in about),
    }


def _row_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    quantity = by(spelling.quantity)
    kinds = {kind.replace("_", " "): kind for kind in catalogue.kinds}
    return (
        Column(
            name="kind",
            read=lambda value, _: kinds[spelling.one_word_of(value, kinds, "kind")],
            needed=True,
            must=True,
            blank=None,
            new=NewHead("what the take-off calls it", 12, given=True),
        ),
        cells.key(
            "item",
            NewHead("by its name on the take-off", 44, given=True),
        ),
        cells.gauge(catalogue, NewHead("of cable", 8, form="code", given=True)),
        cells.colour(catalogue, NewHead("of cable", 14, given=True)),
        Column(
            name="unit",
            read=text,
            blank="each",
            new=NewHead("m for lengths, each for what is counted", 7, given=True),
        ),
        _plan(
            "planned",
            "what the take-off asks for, spares and waste included",
            10,
            read=_as_it_is,
            blank=None,
        ),
        _measured("used", "what is in the loom; empty where nobody measured it", 10, needed=True),
        _measured("spoilt", "cut wrong, crimped wrong, thrown away", 9),
        cells.note(),
        _plan("counted", "the plan without spares and waste", 10, read=_as_it_is, blank=None),
        _plan(
            "path",
            "of cable: the measured way along the loom",
            9,
            "m",
            read=quantity,
            blank=Decimal(0),
        ),
        _plan(
            "fixed",
            "of cable: tails, slack, ends and rounding",
            9,
            "m",
            read=cells.signed,
            blank=Decimal(0),
        ),
    )


def _counted_hours(name: str, note: str) -> Column:
    return Column(
        name=name,
        read=by(spelling.quantity),
        blank=Decimal(0),
        new=NewHead(note, 15, form="decimals", given=True),
    )


_TASK_COLUMNS = (
    cells.key(
        "task",
        NewHead("counted operations, and the rows of the job's Labour sheet", 34, given=True),
    ),
    _counted_hours("planned hours", "with the house's allowance on labour"),
    Column(
        name="hours",
        read=by(spelling.hours),
        needed=True,
        blank=None,
        new=NewHead("what it took; empty where nobody timed it", 10, form="number"),
    ),
    cells.note(),
    _counted_hours("counted hours", "without the house's allowance"),
)


def read_used(path: Path, catalogue: Catalogue) -> tuple[Used | None, tuple[Problem, ...]]:
    """The sheet as the owner has put it right, in m, h and pieces; every fault with its cell."""
    book, problems = read_book(path)
    if book is None:
        return None, problems
    found = list(problems)
    rows, tasks, wires, tests, about = (
        _records(book, name, columns, found) for name, columns in used_columns(catalogue).items()
    )
    names = [record["value"] for record in about if fold(record["item"]) == "job"]
    whole = [task["hours"] for task in tasks if fold(task["task"]) == ALL_TOGETHER]
    used = Used(
        job=names[0] if names else "",
        rows=[row for record in rows if (row := _used_row(record, found))],
        tasks=[_task_row(task) for task in tasks if fold(task["task"]) != ALL_TOGETHER],
        worked=whole[0] if whole else None,
        wires=made_wires(wires, found),
        tests=tests_made(tests),
    )
    return used, (*found, *not_on_used(used.wires, used.rows))


def _records(
    book: Book, name: str, columns: Sequence[Column], problems: list[Problem]
) -> Sequence[Record]:
    sheet = book.sheet(name)
    if sheet is None and name in MADE_SHEETS:
        return ()
    if sheet is None or not sheet.rows:
        says = "nothing stands on this sheet" if sheet else f"there is no sheet '{name}'"
        cure = "move this book away, and bom done makes a new one"
        problems.append(error(Where(book.file, name if sheet else ""), says, cure))
        return ()
    records, faults = read_rows(sheet, columns, own_columns=True)
    problems += faults
    return records


def _task_row(record: Record) -> TaskRow:
    return TaskRow(
        task=record["task"],
        counted=record["counted hours"],
        planned=record["planned hours"],
        hours=record["hours"],
    )


def _used_row(record: Record, problems: list[Problem]) -> UsedRow | None:
    if record.broken:
        return None
    before = len(problems)
    unit = record["unit"]
    amounts = {
        name: _amount(record, name, unit, problems)
        for name in ("planned", "counted", "used", "spoilt")
    }
    problems += _doubts(record, amounts)
    if len(problems) > before:
        return None
    return UsedRow(
        kind=record["kind"],
        item=record["item"],
        gauge=record["gauge"],
        colour=record["colour"],
        unit="m" if fold(unit) in MM_PER_UNIT else unit,
        planned=amounts["planned"] or Decimal(),
        counted=amounts["counted"] or Decimal(),
        path=record["path"],
        fixed=record["fixed"],
        used=amounts["used"],
        spoilt=amounts["spoilt"] or Decimal(),
        row=record.row,
    )


def _amount(record: Record, name: str, unit: str, problems: list[Problem]) -> Decimal | None:
    """A cell in the unit of its row, lengths in metres; None for an empty one and a faulty one."""
    value: Value = record[name]
    if value is None:
        return None
    try:
        if fold(unit) in MM_PER_UNIT:
            found = _metres(spelling.length_mm(value, "", fold(unit)))
        elif fold(unit) == "each":
            found = Decimal(spelling.count(value, 0))
        else:
            found = spelling.quantity(value)
        if found > MOST_USED:  # the sum of many rows must stay one that can be read again
            raise Misspelt(f"{plain(found)} is more than any job takes", "what is in the loom")
        return found
    except Misspelt as fault:
        problems.append(error(record.row.where(name), fault.says, fault.cure))
        return None


def _doubts(record: Record, amounts: Mapping[str, Decimal | None]) -> Iterable[Problem]:
    """What cannot be meant in a row whose cells can be read."""
    where = record.row.where
    if record["kind"] == "cable":
        if fold(record["unit"]) not in MM_PER_UNIT:
            says = f"cable is measured, not counted in '{record['unit']}'"
            yield error(where("unit"), says, "m")
        for heading in ("gauge", "colour"):
            if not record[heading]:
                yield error(where(heading), f"a cable without its {heading}")
    if amounts["spoilt"] and record["used"] is None:
        says = "some was spoilt, and how much was used is not said"
        cure = "what is in the loom here, 0 for nothing; or empty both cells"
        yield error(where("used"), says, cure)
    yield from _far_too_much(record, amounts)


def _far_too_much(record: Record, amounts: Mapping[str, Decimal | None]) -> Iterable[Problem]:
    most = (amounts["planned"] or Decimal()) * MUCH_MORE
    for name in ("used", "spoilt"):
        length = amounts[name]
        if length and most and length > most and fold(record["unit"]) in MM_PER_UNIT:
            planned = plain(amounts["planned"] or Decimal())
            says = f"{plain(length)} m, and {planned} m were planned: were millimetres meant?"
            yield error(record.row.where(name), says, f"{plain(length)} mm")


# ------------------------------------------------------------------------------- records


def records_of(used: Used, done: str, catalogue: Catalogue) -> tuple[Finished, ...]:
    """One record a kind and unit, of the rows that were measured; `done` is a day."""
    tally = _Tally(used.job, done)
    for row in used.rows:
        if row.used is None:
            continue
        if row.kind == "cable":
            along = (row.path, row.counted - row.fixed, row.used - row.fixed, Decimal())
            tally.add("run", row.unit, along)
        tally.add(row.kind, row.unit, (row.counted, row.planned, row.used, row.spoilt))
    for task in used.tasks:
        worked = task.hours if used.worked is None else Decimal()
        if worked is not None:
            tally.add("labour", "h", (task.counted, task.planned, worked, Decimal()))
    if used.worked is not None:
        tally.add("labour", "h", (Decimal(), Decimal(), used.worked, Decimal()))
    return tally.records(record_kinds(catalogue))


class _Tally:
    """Sums of base, planned, used and spoilt by kind and unit."""

    def __init__(self, job: str, done: str) -> None:
        self._job, self._done = job, done
        self._sums: dict[tuple[str, str], list[Decimal]] = {}

    def add(self, kind: str, unit: str, amounts: Sequence[Decimal]) -> None:
        """Add base, planned, used and spoilt of one row."""
        sums = self._sums.setdefault((kind, unit), [Decimal()] * len(amounts))
        self._sums[kind, unit] = [a + b for a, b in zip(sums, amounts, strict=True)]

    def records(self, kinds: Sequence[str]) -> tuple[Finished, ...]:
        """In the order of the kinds."""
        ordered = sorted(self._sums.items(), key=lambda each: kinds.index(each[0][0]))
        return tuple(
            Finished(
                job=self._job,
                done=self._done,
                kind=kind,
                unit=unit,
                base=base,
                planned=planned,
                used=used,
                spoilt=spoilt,
            )
            for (kind, unit), (base, planned, used, spoilt) in ordered
        )


# ----------------------------------------------------------------------------- the shelf


def measured_by(
    used: Used, key: Callable[[UsedRow], tuple[str, str]]
) -> Mapping[tuple[str, str], tuple[Decimal, Decimal]]:
    """(used and spoilt, counted) of what was measured in all its rows, in the rows' unit."""
    sums: dict[tuple[str, str], tuple[Decimal, Decimal]] = defaultdict(
        lambda: (Decimal(), Decimal())
    )
    unknown = {key(row) for row in used.rows if row.used is None}
    for row in used.rows:
        if key(row) not in unknown and row.used is not None:
            spent, counted = sums[key(row)]
            sums[key(row)] = (spent + row.used + row.spoilt, counted + row.counted)
    return dict(sums)
