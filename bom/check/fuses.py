"""Checks of the Fuses sheet: ratings, holders, names."""

import re
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from bom.check.findings import Findings, in_amps
from bom.problem import Problem, caution, error, nearest
from bom.trade import NO_FUSE, ChosenFuse


def fuse_ratings(findings: Findings) -> Iterator[Problem]:
    """Typed ratings under the load or nearly so, and loads over the largest rating."""
    if findings.unread:
        return
    loads = {load.name: load for load in findings.fuse_loads}
    rows = {row.name: row for row in findings.book.fuses}
    for fuse in findings.sized.fuses:
        load = loads.get(fuse.name)
        if load is None:
            continue
        row = rows.get(fuse.name)
        wire = findings.by_label[load.wires[0]].wire
        where = row.row.where("rating") if row else wire.row.where("fuse")
        floor = load.least_rating(findings.rules.fuse_load_percent)
        carries = f"fuse '{fuse.name}' of {in_amps(fuse.rating)} carries {in_amps(load.amps)}"
        if fuse.rating < load.amps:
            says = carries if fuse.typed else f"{carries}: no rating is large enough"
            yield error(where, says, _next_rating(findings, fuse, floor) or "two fuses")
        elif fuse.rating < floor:
            percent = round(float(load.amps / fuse.rating) * 100)
            cure = _next_rating(findings, fuse, floor) or "two fuses"
            yield caution(where, f"{carries}: {percent} % of its rating", cure)


def _next_rating(findings: Findings, fuse: ChosenFuse, floor: Fraction) -> str:
    ratings = findings.catalogue.ratings(fuse.kind)
    return next((in_amps(r.amps) for r in ratings if r.amps >= floor), "")


def fuse_rows(findings: Findings) -> Iterator[Problem]:
    """Rows that no wire names, holders that are not known, ratings that are not made."""
    named = {load.name for load in findings.fuse_loads}
    for row in findings.book.fuses:
        if row.name not in named:
            says = f"fuse '{row.name}' is named by no wire"
            cure = f"'{row.name}' in the fuse cell of the first wire behind it"
            yield caution(row.row.where("fuse"), says, cure)
        holder = findings.catalogue.holder(row.holder)
        if holder is None:
            words = {known.holder for known in findings.catalogue.fuse_holders}
            cure = nearest(row.holder, words) or ", ".join(sorted(words))
            yield error(row.row.where("holder"), f"fuse holder '{row.holder}' is not known", cure)
            continue
        ratings = [fuse.amps for fuse in findings.catalogue.ratings(holder.kind)]
        if row.rating is not None and row.rating not in ratings:
            over = next((amps for amps in ratings if amps > row.rating), ratings[-1])
            says = f"a {holder.kind} fuse of {in_amps(row.rating)} is not made"
            yield error(row.row.where("rating"), says, in_amps(over))


def ratings_for_names(findings: Findings) -> Iterator[Problem]:
    """A figure in the fuse cell of a wire: taken for the fuse's name, it may be its rating."""
    rows = {row.name for row in findings.book.fuses}
    told: set[str] = set()
    for wire in findings.book.wires:
        name = str(wire.fuse or "")
        if name in rows or name in told or not _FIGURE.fullmatch(name):
            continue
        told.add(name)
        says = f"'{name}' is taken for the name of a fuse, not for its rating"
        cure = "a name here, and its rating on the Fuses sheet"
        yield caution(wire.row.where("fuse"), says, cure)


_FIGURE = re.compile(r"[\d.,]+\s*(?:a|amps?|[cm]?m)?", re.IGNORECASE)


def fuses_without_load(findings: Findings) -> Iterator[Problem]:
    """A rating that nobody typed, chosen for a load that is not known: the smallest there is."""
    if findings.unread:
        return
    loads = {load.name: load for load in findings.fuse_loads}
    for fuse in findings.sized.fuses:
        load = loads.get(fuse.name)
        if load is None or fuse.typed or fuse.load_amps:
            continue
        wire = findings.by_label[load.wires[0]].wire
        says = f"no load is known behind fuse '{fuse.name}': {in_amps(fuse.rating)} is the smallest"
        yield caution(wire.row.where("fuse"), says, "its rating on the Fuses sheet")


def fuse_names(findings: Findings) -> Iterator[Problem]:
    """A fuse on a wire whose name is nearly that of a row of the Fuses sheet."""
    rows = {row.name.casefold(): row.name for row in findings.book.fuses}
    used = Counter(wire.fuse for wire in findings.book.wires)
    for wire in findings.book.wires:
        name = wire.fuse
        if name in (None, NO_FUSE) or str(name).casefold() in rows or not rows:
            continue
        close = nearest(str(name), rows)
        if close and used[name] == 1 and rows[close] not in used:
            says = f"fuse '{name}' has no row on the Fuses sheet"
            yield caution(wire.row.where("fuse"), says, rows[close])
