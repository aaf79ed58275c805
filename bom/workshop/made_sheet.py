"""What a loom was made of, wire by wire, and what its tests said: two sheets beside Used."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from bom.files import spelling
from bom.files.headings import Column, NewHead, Record, text
from bom.files.sheet import Value
from bom.files.spelling import Misspelt, fold, plain
from bom.read import cells
from bom.trade.catalogue import Catalogue
from bom.trade.handover import CHARGING, FIRST_POWER, OF_ALL_WIRES, ROAD_TEST
from bom.trade.problem import Problem, caution, error
from bom.trade.wires import Sized, SizedWire
from bom.workshop.finished import NOT_FITTED, MadeWire, Tested, UsedRow

MADE_SHEETS = ("Wires", "Tests")
"""A book from before they were made has neither, and is read all the same."""

LONGEST_MM = 50_000
"""A longer piece is no wire of a machine: other units were meant."""
_NO_LENGTH = ("none", "not fitted")
_PER_M = 1000


# ------------------------------------------------------------------------------- columns


def made_columns(catalogue: Catalogue) -> dict[str, tuple[Column, ...]]:
    """The columns of the two sheets, by their name."""
    return dict(zip(MADE_SHEETS, (_wire_columns(catalogue), _TEST_COLUMNS), strict=True))


def _given(name: str, note: str, width: int) -> Column:
    """What the plan says, to be found by."""
    return Column(name=name, read=cells.remark, new=NewHead(note, width, form="code", given=True))


def _typed(name: str, note: str, width: int) -> Column:
    """What was found, in the owner's own words: `0.2 V`, `13.9 V`, `works`."""
    return Column(name=name, read=text, new=NewHead(note, width, form="code"))


def _wire_columns(catalogue: Catalogue) -> tuple[Column, ...]:
    label = NewHead("as in the job book", 8, form="code", given=True)
    return (
        cells.key("wire", label, read=lambda value, _: spelling.name_of(value)),
        _given("circuit", "what it serves", 20),
        _given("from", "the end on the side of the supply", 22),
        _given("to", "the other end", 22),
        cells.gauge(catalogue, NewHead("as made", 9, form="code")),
        cells.colour(catalogue, NewHead("as made", 14)),
        Column(
            name="length",
            read=_length_mm,
            units=cells.LENGTH_UNITS,
            blank=None,
            new=NewHead(
                "of the piece as made; 0, none or not fitted: the wire is not there",
                10,
                unit="m",
                form="number",
            ),
        ),
        _given("expected", "the current with everything behind it on", 10),
        _typed("measured", "at the test: 0.2 V lost, 3.9 A, 0.1 ohm", 16),
        cells.note(),
    )


_TEST_COLUMNS = (
    cells.key("what", NewHead("as the test sheet of bom pack asks for it", 48, given=True)),
    _given("expected", "what it should be", 12),
    _typed("measured", "what was found: yes, in order, 13.9 V", 16),
    _typed("by", "who tested it", 14),
    Column(
        name="date", read=lambda value, _: cells.day(value), blank=None, new=NewHead("when", 12)
    ),
)


def _length_mm(value: Value, unit: str) -> int:
    if fold(spelling.text_of(value)) in _NO_LENGTH:
        return NOT_FITTED
    length = spelling.length_mm(value, unit, "m")
    if length > LONGEST_MM:
        metres = plain(Decimal(length.numerator) / length.denominator / _PER_M)
        raise Misspelt(f"a wire of {metres} m: were millimetres meant?", f"{metres} mm")
    return round(length)


# ------------------------------------------------------------------------------ the plan


def planned_wires(sized: Sized) -> list[dict[str, Any]]:
    """A row for each wire, by the names of the columns, as it was planned."""
    return [_wire_cells(wire) for wire in sized.wires]


def _wire_cells(wire: SizedWire) -> dict[str, Any]:
    amps = wire.loaded.amps
    return {
        "wire": wire.wire.label,
        "circuit": wire.wire.circuit or None,
        "from": str(wire.wire.start),
        "to": str(wire.wire.finish),
        "gauge": wire.cable.gauge,
        "colour": str(wire.wire.colour) if wire.wire.colour else None,
        "length": wire.piece_mm / _PER_M,
        "expected": f"{float(amps):.2f} A" if amps else None,
        "note": wire.wire.note or None,
    }


def planned_tests(sized: Sized) -> list[dict[str, Any]]:
    """A row for each line of the test sheet that is not a wire's own, and for each fuse."""
    expected = {
        **dict.fromkeys(OF_ALL_WIRES, "yes"),
        **{f"fuse {fuse.name} fitted": amps(fuse.rating) for fuse in sized.fuses},
        **dict.fromkeys((FIRST_POWER, *CHARGING)),
        **dict.fromkeys(ROAD_TEST, "in order"),
    }
    return [{"what": what, "expected": wanted} for what, wanted in expected.items()]


def amps(rating: Fraction) -> str:
    """A rating in words.

    >>> amps(Fraction(15)), amps(Fraction(15, 2))
    ('15 A', '7.5 A')
    """
    return f"{plain(Decimal(str(float(rating))))} A"


# ---------------------------------------------------------------------------- read back


def made_wires(records: Iterable[Record], problems: list[Problem]) -> tuple[MadeWire, ...]:
    """The wires as they were made; a label that stands twice is an error."""
    found: dict[str, MadeWire] = {}
    for record in records:
        if record.broken:
            continue
        made = _made_wire(record)
        first = found.setdefault(fold(made.wire), made)
        if first is not made and first.row is not None:
            says = f"'{record['wire']}' stands in {first.row.where('wire').cell} too"
            problems.append(error(record.row.where("wire"), says, "keep one of the two rows"))
    return tuple(found.values())


def _made_wire(record: Record) -> MadeWire:
    names = ("wire", "circuit", "gauge", "colour", "measured", "note")
    own = {name: record[name] for name in names}
    ends = (record["from"], record["to"])
    return MadeWire(**own, ends=ends, length_mm=record["length"], row=record.row)


def tests_made(records: Iterable[Record]) -> tuple[Tested, ...]:
    """The tests with what was found."""
    names = ("what", "expected", "measured", "by")
    whole = (record for record in records if not record.broken)
    return tuple(
        Tested(**{name: r[name] for name in names}, day=r["date"], row=r.row) for r in whole
    )


def not_on_used(wires: Iterable[MadeWire], rows: Iterable[UsedRow]) -> Iterator[Problem]:
    """A caution for each cable that the wires are made of and no row of Used has."""
    known = {(row.gauge, row.colour) for row in rows if row.kind == "cable"}
    for wire in wires:
        cable = (wire.gauge, wire.colour)
        if wire.is_fitted and all(cable) and cable not in known and wire.row is not None:
            known.add(cable)
            says = f"no row of Used is cable of {wire.gauge} {wire.colour}: it is not booked"
            cure = "on Used a row of kind cable for it, and less of the one that was planned"
            yield caution(wire.row.where("gauge"), says, cure)


def by_label(wires: Iterable[MadeWire]) -> Mapping[str, MadeWire]:
    """The wires by their folded labels."""
    return {fold(wire.wire): wire for wire in wires}
