"""The tables of the catalogues as files: the package's, and over them a workshop's own."""

import csv
import io
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from importlib.resources import files
from importlib.resources.abc import Traversable
from math import isfinite
from pathlib import Path

from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import (
    Raw,
    read_cable,
    read_covering,
    read_drop,
    read_end,
    read_load,
    read_part,
    read_ways,
)
from bom.trade.figures import DUTIES
from bom.trade.layers import layer_faults, read_layer
from bom.trade.problem import Problem, Where, caution, error, nearest

KEYS: Mapping[str, tuple[str, ...]] = {
    "cables": ("gauge",),
    "colours": ("colour",),
    "ends": ("end",),
    "terminals": ("item",),
    "covers": ("item",),
    "seals": ("item",),
    "housings": ("item",),
    "coverings": ("item",),
    "layers": ("covering",),
    "shrink": ("item",),
    "fuses": ("item",),
    "fuse_holders": ("item",),
    "loads": ("load", "volts"),
    "drops": ("kind",),
    "labour": ("operation",),
    "tasks": ("operation", "does"),
    "kinds": ("word",),
    "colour_uses": ("word",),
    "words": ("word",),
}
"""Every table with the columns that make a row unique."""


NEWER: Mapping[str, tuple[str, ...]] = {
    "cables": ("cost_per_m",),
    "coverings": ("least_mm", "most_mm", "shortening_percent"),
    "kinds": ("runs", "hot"),
    "loads": ("volts", "kind", "runs"),
    "terminals": ("barrel_mm",),
}
"""Columns that came after the first release: a workshop's own table may lack them."""


DROPPED: Mapping[str, tuple[str, ...]] = {
    "cables": ("ref_c",),
    "loads": ("duty", "test_watts", "test_volts"),
}
"""Columns of the first release that are no longer read: an own table may still have them."""


FORMER_KINDS = {"lighting": "lamp", "starting": "starter control"}
"""Kinds that kinds.csv had at first, and what they are called now."""


def load_catalogue(own: Path | None = None) -> tuple[Catalogue, tuple[Problem, ...]]:
    """Read the package's tables and lay a workshop's own over them, row by row.

    `own` is the workshop's `catalogs` folder, or None.  Other columns than
    ours, a row with too few or too many cells, and figures that are not numbers are errors
    with their file and row, and ours stays; a file whose name no table has is a caution.
    """
    base = {name: _read(_packaged() / f"{name}.csv") for name in KEYS}
    problems: list[Problem] = []
    if own is not None and own.is_dir():
        # the words of layers stand in other tables, which are read before
        tables = (path for path in own.iterdir() if path.suffix.casefold() == ".csv")
        for path in sorted(tables, key=lambda p: (p.stem.casefold() == "layers", p)):
            name = path.stem.casefold()
            if name in KEYS:
                base[name] = _override(name, base, path, problems)
            else:
                says = "no catalogue has this name: it is not read"
                cure = nearest(name, KEYS)
                where = Where(f"catalogs/{path.name}")
                problems.append(caution(where, says, f"the name {cure}.csv" if cure else ""))
    return Catalogue(base), tuple(problems)


def _packaged() -> Traversable:
    """`catalogs/` inside the installed package, or beside it in a checkout."""
    inside = files("bom") / "catalogs"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "catalogs"


def _read(path: Traversable) -> tuple[Raw, ...]:
    return tuple(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))


PARSERS: Mapping[str, Callable[[Raw], object]] = {
    "cables": read_cable,
    "ends": read_end,
    "terminals": read_part,
    "covers": read_part,
    "seals": read_part,
    "loads": read_load,
    "housings": read_ways,
    "fuse_holders": read_ways,
    "coverings": read_covering,
    "layers": read_layer,
    "shrink": lambda row: [float(row[c]) for c in ("supplied_mm", "recovered_mm")],
    "fuses": lambda row: Fraction(row["amps"]),
    "labour": lambda row: Fraction(row["minutes"]),
    "drops": read_drop,
}


def _is_sound(name: str, row: Raw) -> bool:
    """True when all figures of a row are numbers, finite and not below zero."""
    try:
        PARSERS.get(name, dict)(row)
    except (ValueError, ArithmeticError):
        return False
    return not any(_is_odd(text) for column, text in row.items() if column not in KEYS[name])


def _is_odd(text: str) -> bool:
    try:
        figure = float(text)
    except ValueError:
        return False
    return not isfinite(figure) or figure < 0


def _override(
    name: str, tables: Mapping[str, tuple[Raw, ...]], path: Path, problems: list[Problem]
) -> tuple[Raw, ...]:
    file, ours = f"catalogs/{path.name}", tables[name]
    try:
        rows = _read(path)
    except UnicodeDecodeError:
        problems.append(error(Where(file), "is not written in UTF-8", "save it as CSV UTF-8"))
        return ours
    except (OSError, csv.Error) as fault:
        why = fault.strerror if isinstance(fault, OSError) else fault
        problems.append(error(Where(file), f"this catalogue cannot be read: {why}"))
        return ours
    unlike = _unlike_heads(name, ours[0], rows[0], file) if rows else []
    problems += unlike
    rows = tuple(_as_today(name, ours[0], row) for row in rows)
    merged = {tuple(row[k] for k in KEYS[name]): row for row in ours}
    for number, row in enumerate(() if unlike else rows, start=2):
        if not any(row.values()):
            continue
        where = Where(file, "", f"A{number}")
        if None in row or None in row.values():
            says = "a surplus cell" if None in row else "cells missing at the end of this row"
            problems.append(error(where, says, f"the columns {', '.join(ours[0])}"))
        elif not _is_sound(name, row):
            problems.append(error(where, "a figure in this row is no number from 0 up"))
        elif name == "layers" and (
            faults := [*layer_faults(row, {**tables, name: [*merged.values()]}, where)]
        ):
            problems += faults
        else:
            problems += _unknown_words(name, row, where, tables)
            merged[tuple(row[k] for k in KEYS[name])] = row
    return tuple(merged.values())


def _unknown_words(
    name: str, row: Raw, where: Where, tables: Mapping[str, tuple[Raw, ...]]
) -> Iterator[Problem]:
    """A kind of load without a drop limit, and a word that says no time."""
    kinds = {each["kind"] for each in tables["drops"]}
    for column, known in (("kind", kinds), ("runs", set(DUTIES))):
        word = row.get(column) if name in ("loads", "kinds") else ""
        if word and word not in known:
            cure = nearest(word, known) or ", ".join(sorted(known))
            yield error(where, f"{column} '{word}' is not known", cure)


def _as_today(name: str, ours: Raw, row: Raw) -> Raw:
    """An own row in our columns, newer ones blank where it lacks them; a surplus cell stays."""
    whole = {**dict.fromkeys(NEWER.get(name, ()), ""), **row}
    if name == "kinds" and row.get("kind") in FORMER_KINDS:
        whole["kind"] = FORMER_KINDS[row["kind"]]
    return {column: cell for column, cell in whole.items() if column in ours or column is None}


def _unlike_heads(name: str, ours: Raw, own: Raw, file: str) -> list[Problem]:
    """What is wrong with the headings of a workshop's own catalogue."""
    known = (*ours, *DROPPED.get(name, ()))
    lacking = [c for c in ours if c not in own and c not in NEWER.get(name, ())]
    problems = []
    for number, column in enumerate(own):
        if column and column not in known:
            where = Where(file, "", f"{chr(ord('A') + number)}1")
            cure = nearest(column, lacking) or "take this column out"
            problems.append(error(where, f"column '{column}' is not known", cure))
    slips = {problem.cure for problem in problems}
    missing = [column for column in lacking if column not in slips]
    if missing:
        says, cure = f"columns missing: {', '.join(missing)}", f"the columns {', '.join(ours)}"
        problems.append(error(Where(file, "", "A1"), says, cure))
    return problems
