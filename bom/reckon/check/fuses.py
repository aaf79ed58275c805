"""Checks of the Fuses sheet: ratings, holders, names."""

import re
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from bom.reckon.check.findings import Findings, in_amps
from bom.reckon.check.slips import slipped_points
from bom.trade.job_book import NO_FUSE
from bom.trade.problem import Problem, Where, caution, error, nearest
from bom.trade.wires import ChosenFuse, FuseLoad, SizedWire


def fuse_ratings(findings: Findings) -> Iterator[Problem]:
    """Ratings under the load or nearly so, and typed ones under a fuse that they feed."""
    if findings.unread:
        return
    loads = {load.name: load for load in findings.fuse_loads}
    rows = {row.name: row for row in findings.book.fuses}
    for fuse in findings.sized.fuses:
        load = loads.get(fuse.name)
        if load is None:
            continue
        if first := findings.starters_fuses.get(fuse.name):
            yield _fused_starter(findings, fuse, first)
            continue
        row = rows.get(fuse.name)
        wire = findings.by_label[load.wires[0]].wire
        where = row.row.where("rating") if row else wire.row.where("fuse")
        yield from _rating_problems(findings, fuse, load, where)


def _fused_starter(findings: Findings, fuse: ChosenFuse, entry: SizedWire) -> Problem:
    """A fuse in a starter's lead, which nobody fuses (common practice)."""
    says = (
        f"fuse '{fuse.name}' of {in_amps(fuse.rating)} carries the starter's "
        f"{in_amps(entry.loaded.starter_amps)}: starter leads are not fused"
    )
    alone = not entry.loaded.steady_amps
    cure = NO_FUSE if alone else "a lead of its own for the starter, with none as its fuse"
    return error(entry.wire.row.where("fuse"), says, cure, alike="fuses in starter leads")


def _rating_problems(
    findings: Findings, fuse: ChosenFuse, load: FuseLoad, where: Where
) -> Iterator[Problem]:
    floor = findings.least_rating(load)
    cure = _next_rating(findings, fuse, floor) or _larger_holder(findings, floor) or "two fuses"
    charging = " of charging current" * (load.charging_amps > load.fed_amps)
    carries = f"fuse '{fuse.name}' of {in_amps(fuse.rating)} carries {in_amps(load.amps)}{charging}"
    if fuse.rating < load.amps:
        says = carries if fuse.typed else f"{carries}: no rating is large enough"
        only_charging = fuse.typed and fuse.rating >= load.fed_amps
        alike = "fuses under their load"
        yield (caution if only_charging else error)(where, says, cure, alike=alike)
    elif fuse.rating < load.least_rating(findings.rules.fuse_load_percent):
        percent = round(float(load.amps / fuse.rating) * 100)
        says = f"{carries}: {percent} % of its rating"
        if charging and not fuse.typed:  # it runs for hours: no fuse of this kind is for it
            says, alike = (
                f"{says}, the largest that is made for its holder",
                "fuses under their load",
            )
            yield error(where, says, cure, alike=alike)
        else:
            yield caution(where, says, cure, alike="fuses that are too near to their load")
    fed = [findings.fuses[name] for name in load.feeds if name in findings.fuses]
    largest = max(fed, key=lambda other: other.rating, default=None)
    if fuse.typed and largest and fuse.rating < largest.rating:
        if fuse.name in _in_series(findings):
            return  # which is told, and cures this too
        says = (
            f"fuse '{fuse.name}' of {in_amps(fuse.rating)} feeds '{largest.name}' of "
            f"{in_amps(largest.rating)}: it blows first"
        )
        yield caution(
            where, says, in_amps(largest.rating), alike="fuses smaller than one they feed"
        )


def _larger_holder(findings: Findings, floor: Fraction) -> str:
    """A holder of one fuse in its wire that has a rating, for what no blade fuse carries."""
    for holder in ("maxi holder", "bolted strip holder"):
        known = findings.catalogue.holder(holder)
        ratings = findings.catalogue.ratings(known.kind) if known else ()
        rating = next((fuse.amps for fuse in ratings if fuse.amps >= floor), None)
        if rating is not None:
            return f"{in_amps(rating)}, with '{holder}' as its holder on the Fuses sheet"
    return ""


def _next_rating(findings: Findings, fuse: ChosenFuse, floor: Fraction) -> str:
    ratings = findings.catalogue.ratings(fuse.kind)
    return next((in_amps(r.amps) for r in ratings if r.amps >= floor), "")


def fuse_rows(findings: Findings) -> Iterator[Problem]:
    """Rows that no wire names, holders that are not known, ratings that are not made."""
    named = {load.name for load in findings.fuse_loads}
    meant = {problem.cure for problem in fuse_names(findings)}  # told at the wire, with its name
    for row in findings.book.fuses:
        if row.name not in named and row.name not in meant:
            says = f"fuse '{row.name}' is named by no wire"
            cure = f"'{row.name}' in the fuse cell of the first wire behind it"
            yield caution(row.row.where("fuse"), says, cure, alike="fuses that no wire names")
        holder = findings.catalogue.holder(row.holder)
        if holder is None:
            words = {known.holder for known in findings.catalogue.fuse_holders}
            cure = nearest(row.holder, words) or ", ".join(sorted(words))
            says = f"fuse holder '{row.holder}' is not known"
            yield error(
                row.row.where("holder"), says, cure, alike="fuse holders that are not known"
            )
            continue
        chosen = findings.fuses.get(row.name)
        kind = chosen.kind if chosen else holder.kind
        ratings = [fuse.amps for fuse in findings.catalogue.ratings(kind)]
        if row.rating is not None and row.rating not in ratings:
            over = next((amps for amps in ratings if amps > row.rating), ratings[-1])
            says = f"a {kind} fuse of {in_amps(row.rating)} is not made"
            alike = "fuse ratings that are not made"
            yield error(row.row.where("rating"), says, in_amps(over), alike=alike)


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
        alike = "figures taken for the names of fuses"
        yield caution(wire.row.where("fuse"), says, cure, alike=alike)


_FIGURE = re.compile(r"[\d.,]+\s*(?:a|amps?|[cm]?m)?", re.IGNORECASE)


def fuses_in_series(findings: Findings) -> Iterator[Problem]:
    """A fuse that feeds one other fuse and nothing else: two fuses on one feed."""
    slipped = slipped_points(findings)
    for name, only in _in_series(findings).items():
        wire = findings.by_label[only.wires[0]].wire
        if wire.start.point not in slipped:
            says = f"fuse '{name}' feeds fuse '{only.name}' and nothing else: two in series"
            cure = f"one of them, '{name}' at the battery"
            yield caution(wire.row.where("fuse"), says, cure, alike="fuses right behind another")


def _in_series(findings: Findings) -> dict[str, FuseLoad]:
    """The fuses that feed one other fuse and nothing else, each with that one."""
    loads = {load.name: load for load in findings.fuse_loads}
    found = {}
    for load in findings.fuse_loads if not findings.unread else ():
        only = loads.get(load.feeds[0]) if len(load.feeds) == 1 else None
        if only is None or only.name == load.name or not load.fed_amps:
            continue
        if _feeds_what_carries_nothing(findings, load):
            continue  # what is missing there is told, and may be another load of the fuse
        alone = sum(only.name in other.feeds for other in findings.fuse_loads) == 1
        if alone and load.loads == only.loads:
            found[load.name] = only
    return found


def _feeds_what_carries_nothing(findings: Findings, load: FuseLoad) -> bool:
    """True where a wire goes on from behind a fuse and no load is known for it."""
    ports = {findings.net.finish[label] for label in load.wires}
    onward = (wire for port in ports for wires in findings.net.beyond(port) for wire in wires)
    return any(not findings.by_label[wire.label].loaded.amps for wire in onward)


def fuse_names(findings: Findings) -> Iterator[Problem]:
    """A fuse on one wire whose name is nearly that of a row of the Fuses sheet, or of another."""
    rows = {row.name.casefold(): row.name for row in findings.book.fuses}
    used = Counter(wire.fuse for wire in findings.book.wires if wire.fuse not in (None, NO_FUSE))
    if len(used) > MOST_NAMES:
        return
    earlier: list[str] = []
    often = [name for name, count in used.items() if name and count > 1]
    for wire in findings.book.wires:
        name = wire.fuse or ""
        if used[name] != 1 or name.casefold() in rows:
            continue
        close = rows.get(nearest(name, rows), "")
        other = next((one for one in (*often, *rows.values(), *earlier) if _slip(name, one)), "")
        if close and close not in used:
            says = f"fuse '{name}' has no row on the Fuses sheet"
            alike = "fuses without a row of theirs"
            yield caution(wire.row.where("fuse"), says, close, alike=alike, cause=True)
        elif other and not _is_a_word(name, other, findings):
            says = f"fuse '{name}' stands on this wire alone, beside '{other}': are they one?"
            cure = other if other in often or other in rows.values() else "one name for both, if so"
            alike = "names of fuses that are nearly another"
            yield caution(wire.row.where("fuse"), says, cure, alike=alike, cause=True)
        else:
            earlier.append(name)


MOST_NAMES = 200
"""Among more names of fuses no slip is looked for: no vehicle has so many."""

_LONG = 4
"""A slip of one letter in a shorter word makes another word: dim and dip."""


def _slip(name: str, other: str) -> bool:
    """True where two names differ by a slip of the pen in one word, or by blanks and dashes.

    >>> [_slip("main fuze", other) for other in ("main fuse", "main-fuze", "main fuze 2", "fuze")]
    [True, True, False, False]
    >>> [_slip(*names.split()) for names in ("F1 F2", "left right", "break brake", "dip dim")]
    [False, False, True, False]
    >>> [_slip(*names.split()) for names in ("inj injj", "aux auxx", "fan fans")]
    [True, True, False]
    """
    first, second = (re.findall(r"[^\W\d_]+|\d+", text.casefold()) for text in (name, other))
    if "".join(first) == "".join(second):
        return re.findall(r"\d+", name) == re.findall(r"\d+", other)
    odd = [pair for pair in zip(first, second, strict=False) if pair[0] != pair[1]]
    return len(first) == len(second) and len(odd) == 1 and _is_misspelt(*odd[0])


def _is_misspelt(word: str, other: str) -> bool:
    """True for long words with one letter more, less or in another's place, or all misplaced.

    A letter doubled is a slip in a short word too.
    """
    if len(word) > 2 and len(other) > 2 and _undoubled(word) == _undoubled(other):
        return True
    if min(len(word), len(other)) < _LONG or not (word + other).isalpha():
        return False
    less, other_less = _less_one(word), _less_one(other)
    one_off = word in other_less or other in less or any(map(str.__eq__, less, other_less))
    return one_off or sorted(word) == sorted(other)


def _undoubled(word: str) -> str:
    """The word with each letter once where it is doubled."""
    return re.sub(r"([^\W\d_])\1", r"\1", word)


def _less_one(word: str) -> list[str]:
    """The word without each of its letters."""
    return [word[:n] + word[n + 1 :] for n in range(len(word))]


def _is_a_word(name: str, other: str, findings: Findings) -> bool:
    """True where the book has the word elsewhere that tells the two names apart."""
    odd = {*name.casefold().split()} - {*other.casefold().split()}
    wires = findings.book.wires
    texts = (t for w in wires for t in (w.circuit, *w.start, *w.finish))
    return any(odd & {*text.casefold().split()} for text in texts)
