"""Orders that were placed, line by line, and the forms that goods are sold in."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Literal, get_args

from msgspec import Struct

from bom.trade.job_book import Colour
from bom.trade.rows import Row

SoldAs = Literal["metre", "reel", "pack", "each"]
SOLD_AS: tuple[SoldAs, ...] = get_args(SoldAs)
TOP_UP = "top-up"
"""Stands where the job's name would, for what is bought for the drawer itself."""


class OrderLine(Struct, frozen=True, kw_only=True):
    """One line of an order that was placed, as the stock book's sheet Orders has it.

    `packs` of `pack` (metres, or pieces) are ordered, `came` of them have come; `price` buys one
    pack, net of tax.  `needed` says how much of it each of `jobs` is waiting for, in mm or pieces,
    in their order; where it is empty the whole line is theirs.
    """

    number: str
    date: date | None
    supplier: str
    item: str
    gauge: str
    colour: Colour | None
    sold_as: SoldAs
    pack: Decimal
    packs: int
    price: Decimal | None
    part_no: str
    jobs: tuple[str, ...]
    needed: tuple[Decimal, ...]
    came: int
    note: str
    measured: bool
    """It is cable, or an item that is had by its length."""
    row: Row

    @property
    def each(self) -> Decimal:
        """What one pack holds, in mm or pieces."""
        return self.pack * (1000 if self.measured else 1)

    @property
    def to_come(self) -> int:
        """The packs that are still to come."""
        return max(self.packs - self.came, 0)

    def waited_for(self, before: int, packs: int) -> Iterator[tuple[str, Decimal]]:
        """How much each job waits for of the packs that follow those before, in mm or pieces.

        The jobs named first are served first.  Without amounts one job has all of it; several
        then have nothing that can be told.
        """
        return ((job, part) for job, part in self._shares(before, packs) if job != TOP_UP)

    @property
    def waiting(self) -> tuple[str, ...]:
        """For whom the packs are that are still to come; all, where that cannot be told."""
        return self.for_whom(self.came, self.to_come)

    def for_whom(self, before: int, packs: int) -> tuple[str, ...]:
        """For whom the packs are that follow those before; all, where that cannot be told."""
        if not self.needed:
            return self.jobs if packs else ()
        return tuple(job for job, _ in self._shares(before, packs))

    def _shares(self, before: int, packs: int) -> Iterator[tuple[str, Decimal]]:
        begin, end = self.each * before, self.each * (before + packs)
        needed = self.needed or ((self.each * self.packs,) if len(self.jobs) == 1 else ())
        at = Decimal()
        for job, amount in zip(self.jobs, needed, strict=False):
            part = min(end, at + amount) - max(begin, at)
            at += amount
            if part > 0:
                yield job, part
