"""Finished jobs as types: what was planned and what was really used; frozen data."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct

from bom.trade.catalogue import Catalogue
from bom.trade.job_book import Colour
from bom.trade.rows import Row

NOT_FITTED = 0
"""The length of a wire that was planned and is not in the loom."""


def record_kinds(catalogue: Catalogue) -> tuple[str, ...]:
    """The kinds of records in their order: the loom's run, the take-off's kinds, labour."""
    return ("run", *catalogue.kinds, "labour")


class Finished(Struct, frozen=True, kw_only=True):
    """One kind of one finished job, in `unit`: m for lengths, h for hours, else as counted.

    `kind` is one of the take-off, `run` for the cable that lies in the loom itself, or `labour`.
    `base` is what allowances are added to: of `run` the path along the loom, of `cable` the
    pieces, of all else what is counted or needed without spares and waste.  `planned` has the
    allowances in it.  `done` is a day, 2026-11-25.
    """

    job: str
    done: str
    kind: str
    base: Decimal
    planned: Decimal
    used: Decimal
    spoilt: Decimal
    unit: str

    @property
    def is_as_filled_in(self) -> bool:
        """It stands as the plan filled in the sheet: nobody need have measured it."""
        filled_in = self.planned if self.kind in ("run", "labour") else self.base
        return self.used == filled_in and not self.spoilt


class UsedRow(Struct, frozen=True, kw_only=True):
    """One item of the sheet of what was used, in `unit`; `used` is None where nobody measured.

    Of cable `path` is the measured way along the loom and `fixed` what tails, slack, ends and
    rounding add to it; both are 0 for everything else.
    """

    kind: str
    item: str
    gauge: str
    colour: Colour | None
    unit: str
    planned: Decimal
    counted: Decimal
    path: Decimal = Decimal()
    fixed: Decimal = Decimal()
    used: Decimal | None = None
    spoilt: Decimal = Decimal()
    row: Row | None = None


class TaskRow(Struct, frozen=True, kw_only=True):
    """Work of one kind: hours counted, planned with the house's allowance, and worked if timed."""

    task: str
    counted: Decimal
    planned: Decimal
    hours: Decimal | None = None


class MadeWire(Struct, frozen=True, kw_only=True):
    """One wire as it lies in the loom; what is empty is as it was planned.

    Of one that is not fitted the length is 0.
    """

    wire: str
    circuit: str = ""
    ends: tuple[str, str] = ("", "")
    gauge: str = ""
    colour: Colour | None = None
    length_mm: int | None = None
    measured: str = ""
    note: str = ""
    row: Row | None = None

    @property
    def is_fitted(self) -> bool:
        """False for one that was planned and is not there."""
        return self.length_mm != NOT_FITTED


class Tested(Struct, frozen=True, kw_only=True):
    """One line of the tests: what was expected and what was found."""

    what: str
    expected: str = ""
    measured: str = ""
    by: str = ""
    day: date | None = None
    row: Row | None = None

    @property
    def is_blank(self) -> bool:
        """Nobody wrote anything behind it."""
        return not (self.measured or self.by or self.day)


class Used(Struct, frozen=True, kw_only=True):
    """All of a job's sheet; `worked` are its hours as a whole, None where tasks are timed."""

    job: str
    rows: Sequence[UsedRow]
    tasks: Sequence[TaskRow]
    worked: Decimal | None = None
    wires: Sequence[MadeWire] = ()
    tests: Sequence[Tested] = ()
