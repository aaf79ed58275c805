"""The lengths of wires and branches as far as they can be meant, and what unit was meant if not."""

import re
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from bom.files.headings import Column, Record, listing
from bom.files.sheet import Sheet
from bom.files.sheet.values import column_number
from bom.files.spelling import MM_PER_UNIT, number, plain, text_of
from bom.trade.house import HouseRules
from bom.trade.job_book import UNREAD_MM
from bom.trade.problem import Problem, Where, caution, error
from bom.trade.rows import Row

SHORT_MM = 10
"""A run below this is asked about: were metres meant?"""
LONG_BRANCH_MM = 3000
"""A branch longer than this is asked about: few vehicles have one (common practice)."""
FEWEST = 3
"""From so many figures on one slip is told of the whole column."""

LEAST_MM = 20
"""What a unit makes shorter than this was typed in another: 1.2 among centimetres is in metres."""

USUAL_MM = (100, 6000)
"""Nearly all runs of a loom lie in this (common practice): it tells millimetres and centimetres."""

_WORDS = {"cm": "centimetres", "mm": "millimetres"}
_FIGURE = re.compile(r"\+?\d*[.,]?\d+")


class Runs:
    """The lengths of a list; what cannot be meant goes to `problems` and starts no more alarms."""

    def __init__(
        self,
        sheet: Sheet,
        columns: Sequence[Column],
        records: Iterable[Record],
        rules: HouseRules,
        problems: list[Problem],
    ) -> None:
        self.sheet = sheet
        self.columns = columns
        self.longest_m = rules.longest_run_m
        self.longest_mm = Fraction(rules.longest_run_m) * 1000
        self.usual_mm = min(Fraction(LONG_BRANCH_MM), self.longest_mm)
        self.problems = problems
        self.in_another_unit = self._of_the_column([r for r in records if r["length"] is not None])

    def mm(self, record: Record) -> Fraction | None:
        """The length of a wire or branch; None where its cell is empty."""
        length: Fraction | None = record["length"]
        if "length" in record.broken or record.row in self.in_another_unit:
            return UNREAD_MM
        if length is None:
            return None
        where = record.row.where("length")
        if length.numerator < SHORT_MM * length.denominator:
            self._too_short(where, length)
        if length <= self.usual_mm:
            return length
        if length > self.longest_mm:
            says = f"{metres(length)} m is longer than the longest run of {plain(self.longest_m)} m"
            self.problems.append(error(where, says, self._shorter(record.row, length)))
            return UNREAD_MM
        return length

    def _too_short(self, where: Where, length: Fraction) -> None:
        figure = plain(Decimal(str(round(float(length), 4))))
        says = f"{figure} mm is shorter than any run of a loom: is that right?"
        self.problems.append(caution(where, says, f"{figure} m, if metres were meant"))

    def _shorter(self, row: Row, length: Fraction) -> str:
        """What was meant if so many metres were typed, and the rule that forbids them."""
        figure, _ = self._read_as_metres(row, length)
        meant = [] if figure is None else units_meant([figure], self.longest_m)
        units = [f"{plain(figure or Decimal())} {unit}" for unit in meant]
        allowed = "a larger longest_run_m among the house rules"
        return f"{' or '.join(units)}, or {allowed}" if units else allowed

    def _of_the_column(self, records: Sequence[Record]) -> frozenset[Row]:
        """The rows whose figures are told of at their heading: in another unit than metres."""
        if sum(record["length"] > self.longest_mm for record in records) < FEWEST:
            return frozenset()
        read = ((r.row, *self._read_as_metres(r.row, r["length"])) for r in records)
        bare = {row: figure for row, figure, alone in read if figure is not None and alone}
        over = sum(figure > self.longest_m for figure in bare.values())
        units = units_meant([*bare.values()], self.longest_m) if bare else ()
        place = listing(self.sheet, self.columns)
        if over < FEWEST or 2 * over <= len(bare) or not units or place is None:
            return frozenset()
        share = f"{over} of {len(bare)} over {plain(self.longest_m)} m"
        asks = " or ".join(_WORDS[unit] for unit in units)
        says = f"the lengths of this column, read as metres, are too long ({share}): {asks}?"
        cell = f"{place.letters['length']}{place.header_row}"
        cure = "the heading " + " or ".join(f"'length {unit}'" for unit in units)
        where = Where(self.sheet.file, self.sheet.name, cell)
        self.problems.append(error(where, says, cure, cause=True))
        return frozenset(bare)

    def _read_as_metres(self, row: Row, length: Fraction) -> tuple[Decimal | None, bool]:
        """The figure in the cell if it was read as metres, and whether it has no unit beside it."""
        cells = self.sheet.rows[row.number - 1]
        typed = text_of(cells[column_number(row.letters["length"])])
        match = _FIGURE.match(typed)
        figure = number(match[0]) if match else None
        if match is None or figure is None or Fraction(figure) * 1000 != length:
            return None, False
        return figure, match[0] == typed


def metres(length_mm: Fraction) -> str:
    """A length as it is told: metres, to the tenth of a millimetre."""
    return plain(Decimal(str(round(float(length_mm) / 1000, 4))))


def units_meant(figures: Sequence[Decimal], longest_m: Decimal) -> list[str]:
    """The units in which these figures are runs of a loom, usual ones if there are such.

    >>> [units_meant([Decimal(n)], Decimal(12)) for n in (75, 150, 1250, 99999)]
    [['cm'], ['cm', 'mm'], ['mm'], []]
    """

    def within(unit: str, least_mm: int, most_mm: Fraction) -> bool:
        sizes = [Fraction(figure) * MM_PER_UNIT[unit] for figure in (min(figures), max(figures))]
        return least_mm <= sizes[0] and sizes[1] <= most_mm

    possible = [unit for unit in _WORDS if within(unit, LEAST_MM, Fraction(longest_m) * 1000)]
    usual = [unit for unit in possible if within(unit, USUAL_MM[0], Fraction(USUAL_MM[1]))]
    return usual or possible[:1]
