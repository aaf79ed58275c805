"""A rating for each fuse: typed, or the smallest that its load and the fuses behind it allow."""

from collections.abc import Mapping, Sequence
from fractions import Fraction

from bom.reckon.settle import after_needs
from bom.trade.catalogue import IN_LINE, Catalogue
from bom.trade.house import HouseRules
from bom.trade.job_book import FuseRow, JobBook
from bom.trade.wires import ChosenFuse, FuseLoad


def choose_fuses(
    book: JobBook, loads: Sequence[FuseLoad], rules: HouseRules, catalogue: Catalogue
) -> tuple[ChosenFuse, ...]:
    """A rating for every fuse that a wire names, and for every row that has one typed.

    Blank: the smallest standard rating >= load / (`fuse_load_percent` / 100), >= `fuse_least_a`,
    and >= those of the fuses that it feeds; the largest there is if none will do.
    """
    chooser = _Chooser(book, rules, catalogue)
    named = {load.name for load in loads}
    idle = (
        FuseLoad(
            name=row.name,
            fed_amps=Fraction(0),
            charging_amps=Fraction(0),
            feeds=(),
            loads=0,
            wires=(),
        )
        for row in book.fuses
        if row.name not in named and row.rating is not None
    )
    every = {load.name: load for load in (*loads, *idle)}
    fed_first, _ = after_needs(every, lambda name: filter(every.get, reversed(every[name].feeds)))
    for name in fed_first:
        chooser.choose(every[name])
    return tuple(chooser.known[name] for name in every)


class _Chooser:
    def __init__(self, book: JobBook, rules: HouseRules, catalogue: Catalogue) -> None:
        self.rules = rules
        self.catalogue = catalogue
        self.rows: Mapping[str, FuseRow] = {row.name: row for row in book.fuses}
        self.known: dict[str, ChosenFuse] = {}

    def choose(self, load: FuseLoad) -> None:
        """One fuse, behind those that it feeds; of two that feed each other one is first."""
        floor = self._floor(load)
        row = self.rows.get(load.name)
        typed = row.rating if row else None
        holder = self.catalogue.holder(row.holder if row else "")
        kind = holder.kind if holder else "blade"
        ratings = [fuse.amps for fuse in self.catalogue.ratings(kind)]
        chosen = next((amps for amps in ratings if amps >= floor), ratings[-1])
        self.known[load.name] = ChosenFuse(
            name=load.name,
            rating=chosen if typed is None else typed,
            load_amps=load.amps,
            kind=kind,
            holder=(row.holder if row else "") or IN_LINE,
            spares=row.spares if row else None,
            typed=typed is not None,
        )

    def _floor(self, load: FuseLoad) -> Fraction:
        least = Fraction(self.rules.fuse_least_a)
        ratings = [self.known[name].rating for name in load.feeds if name in self.known]
        return max(load.least_rating(self.rules.fuse_load_percent), least, *ratings)
