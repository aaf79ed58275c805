"""Fuses as they were fitted, from the lines of the sheet Tests: `fuse headlamp fitted`, `10 A`."""

import re
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from bom.files import spelling
from bom.files.spelling import Misspelt, fold
from bom.job import Job
from bom.trade.job_book import NO_FUSE
from bom.trade.problem import Problem, Where, caution
from bom.trade.wires import ChosenFuse, SizedWire
from bom.workshop.finished import Tested, Used
from bom.workshop.made_over import made_wires_of
from bom.workshop.made_sheet import amps

_LINE = re.compile(r"fuse (?P<name>.+) fitted")
_AS_PLANNED = ("yes", "ok", "in order", "fitted", "as planned")


class FittedFuses(Struct, frozen=True, kw_only=True):
    """The ratings of the fuses that are fitted otherwise than planned, by their folded names."""

    ratings: Mapping[str, Fraction]
    problems: tuple[Problem, ...]


def fitted_fuses(job: Job, used: Used) -> FittedFuses:
    """What the tests say of each fuse; a caution for what cannot be read or is dangerous."""
    ratings: dict[str, Fraction] = {}
    problems: list[Problem] = []
    fuses = {fold(fuse.name): fuse for fuse in (job.sized.fuses if job.sized else ())}
    wires = made_wires_of(job, used)
    for test, name in _lines(used.tests) if fuses else ():
        where = test.row.where("measured") if test.row else Where()
        fuse = fuses.get(name)
        if fuse is None:
            says = f"'{test.what}': the job book has no fuse of this name, and none is shown"
            problems.append(caution(where, says, f"one of {', '.join(_names(fuses))}"))
            continue
        try:
            rating = spelling.amps(re.sub(r"\s*fitted$", "", fold(test.measured)))
        except Misspelt:
            says = f"'{test.measured}' is no rating, so that this fuse is shown as planned"
            problems.append(caution(where, says, f"10 A, or yes for {amps(fuse.rating)}"))
            continue
        if rating != fuse.rating:
            ratings[name] = rating
            problems += _too_large(fuse, rating, wires, where)
    return FittedFuses(ratings=ratings, problems=tuple(problems))


def _lines(tests: Sequence[Tested]) -> Iterator[tuple[Tested, str]]:
    """The lines about fuses that say more than that they are as planned, with the fuse's name."""
    for test in tests:
        line = _LINE.fullmatch(fold(test.what))
        if line and test.measured and fold(test.measured) not in _AS_PLANNED:
            yield test, line["name"]


def _names(fuses: Mapping[str, ChosenFuse]) -> list[str]:
    return [fuse.name for fuse in fuses.values()]


def _too_large(
    fuse: ChosenFuse, rating: Fraction, wires: Sequence[SizedWire], where: Where
) -> Iterator[Problem]:
    """A caution where the thinnest wire behind a fuse would burn before it blows."""
    behind = [wire for wire in wires if (wire.loaded.fuse or NO_FUSE) == fuse.name]
    thinnest = min(behind, key=lambda wire: wire.cable.rated_amps, default=None)
    if thinnest and rating > thinnest.cable.rated_amps:
        cable = thinnest.cable
        gauge = cable.gauge if cable.is_awg else f"{cable.gauge} mm2"
        says = (
            f"{amps(rating)} are fitted as fuse '{fuse.name}', and wire {thinnest.wire.label} "
            f"behind it is {gauge}, rated {amps(cable.rated_amps)}"
        )
        yield caution(where, says, f"a fuse of {amps(fuse.rating)}, as planned")
