"""The catalogues: published and trade figures, one CSV a table, a source on each row.

The tables come with the package (`catalogs/`); a workshop's own `catalogs/` folder
overrides them row by row: a row with the same key takes the place of ours, any other
is added.
"""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from importlib.resources import files
from importlib.resources.abc import Traversable
from math import isfinite
from pathlib import Path
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from bom.trade.catalogue_rows import (
    Cable,
    ColourRow,
    Covering,
    Drop,
    EndStyle,
    FuseHolder,
    FuseType,
    Housing,
    Layer,
    Load,
    Operation,
    Part,
    Shrink,
)
from bom.trade.figures import DUTIES
from bom.trade.layers import layer_faults, read_layer
from bom.trade.needs import KINDS, SHRINK
from bom.trade.phrases import Phrases
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
    "kinds": ("word",),
    "colour_uses": ("word",),
    "words": ("word",),
}
"""Every table with the columns that make a row unique."""

NEWER: Mapping[str, tuple[str, ...]] = {
    "cables": ("cost_per_m",),
    "coverings": ("least_mm", "most_mm", "shortening_percent"),
    "kinds": ("runs",),
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

IN_LINE = "in-line"
"""The holder of a fuse for which none is named (common practice)."""

Raw = Mapping[str, str]


def _number(text: str) -> Fraction:
    return Fraction(text) if text else Fraction(0)


def _float(text: str) -> float:
    return float(text) if text else 0.0


def _cable(row: Raw) -> Cable:
    return Cable(
        gauge=row["gauge"],
        area_mm2=Fraction(row["area_mm2"]),
        kind=row["kind"],
        rated_amps=Fraction(row["rated_amps"]),
        outside_mm=float(row["outside_mm"]),
        ohm_per_km_20c=float(row["ohm_per_km_20c"]),
        max_c=float(row["max_c"]),
        cost_per_m=_float(row["cost_per_m"]),
        colours=() if row["colours"] == "all" else tuple(row["colours"].split()),
        source=_source(row),
    )


def _source(row: Raw) -> str:
    return ", ".join(part for part in (row["source"], row["place"]) if part)


def _end(row: Raw) -> EndStyle:
    return EndStyle(
        end=row["end"],
        family=row["family"],
        half=row["half"],
        mates=row["mates"],
        min_mm2=_number(row["min_mm2"]),
        max_mm2=_number(row["max_mm2"]),
        strip_mm=row["strip_mm"],
        closure=row["closure"],
        amps=Fraction(row["amps"]) if row["amps"] else None,
        housing=row["housing"],
        source=_source(row),
    )


def _part(row: Raw) -> Part:
    unit = "mm2" if "min_mm2" in row else "mm"
    least, most = row.get(f"min_{unit}", ""), row.get(f"max_{unit}", "")
    return Part(
        row["item"],
        row["family"],
        row.get("half", ""),
        _number(least),
        _number(most),
        _source(row),
        _float(row.get("barrel_mm", "")),
    )


def _covering(row: Raw) -> Covering:
    return Covering(
        row["item"],
        row["covering"],
        _float(row["width_mm"]),
        _float(row["bore_mm"]),
        _float(row["outside_mm"]),
        _source(row),
        _float(row["least_mm"]),
        _float(row["most_mm"]),
        _float(row["shortening_percent"]),
    )


def _ways(row: Raw) -> int:
    ways = int(row["ways"])
    if ways < 1:
        raise ValueError(ways)
    return ways


def _load(row: Raw) -> Load:
    unit, amount = ("W", row["watts"]) if row["watts"] else ("A", row["amps"])
    return Load(
        Fraction(amount),
        "W" if unit == "W" else "A",
        row["load"],
        row["kind"],
        _runs(row),
    )


def _runs(row: Raw) -> str:
    """How long it is on; a word that is not known says nothing (and is told)."""
    return row["runs"] if row["runs"] in DUTIES else ""


def _by_voltage(rows: Sequence[Raw]) -> Load:
    """A load with all its rows: one for any voltage, or one for each; where none is known, 12 V."""
    at = tuple((Fraction(row["volts"]), _load(row)) for row in rows if row["volts"])
    if len(at) < len(rows):  # a workshop's own row for any voltage, over ours for some
        return _load(rows[-1])
    return replace(dict(at).get(Fraction(12), at[-1][1]), by_volts=at)


def _drop(row: Raw) -> Drop:
    feed = float(row["feed_volts"]) if row["feed_volts"] else None
    return Drop(row["kind"], feed, float(row["volts"]), _source(row))


class Catalogue(Struct, frozen=True, dict=True):
    """Every table as typed rows, in the order of the files."""

    tables: Mapping[str, tuple[Raw, ...]]

    @cached_property
    def cables(self) -> Mapping[str, Cable]:
        """Cables by gauge, from the thinnest conductor to the thickest."""
        rows = sorted(map(_cable, self.tables["cables"]), key=lambda cable: cable.area_mm2)
        return {cable.gauge: cable for cable in rows}

    @cached_property
    def colours(self) -> tuple[ColourRow, ...]:
        """Colour words with their codes."""
        return tuple(
            ColourRow(
                row["colour"],
                row["iec60757"],
                row["bs_au_7"],
                tuple(filter(None, row["also"].split("|"))),
                row["hex"],
                row["plain"] == "yes",
                _source(row),
            )
            for row in self.tables["colours"]
        )

    @cached_property
    def ends(self) -> Mapping[str, EndStyle]:
        """End styles by name."""
        return {row["end"]: _end(row) for row in self.tables["ends"]}

    @cached_property
    def loads(self) -> Mapping[str, Load]:
        """Loads by their name in small letters."""
        rows: dict[str, list[Raw]] = {}
        for row in self.tables["loads"]:
            rows.setdefault(row["load"].casefold(), []).append(row)
        return {name: _by_voltage(found) for name, found in rows.items()}

    @cached_property
    def drops(self) -> Mapping[str, Drop]:
        """The voltage drop allowed by kind of load."""
        return {row["kind"]: _drop(row) for row in self.tables["drops"]}

    @cached_property
    def items(self) -> tuple[str, ...]:
        """The name of every part in the catalogues."""
        return tuple(row["item"] for rows in self.tables.values() for row in rows if "item" in row)

    def unit_of(self, item: str) -> str:
        """`m` for what is measured (tape, tube, braid, shrink), else `each`."""
        measured = (row["item"] for name in ("coverings", "shrink") for row in self.tables[name])
        return "m" if item.casefold() in map(str.casefold, measured) else "each"

    @cached_property
    def _terminals(self) -> tuple[Part, ...]:
        return self._parts("terminals")

    @cached_property
    def _covers(self) -> tuple[Part, ...]:
        return self._parts("covers")

    @cached_property
    def _seals(self) -> tuple[Part, ...]:
        return self._parts("seals")

    def _parts(self, table: str) -> tuple[Part, ...]:
        return tuple(sorted(map(_part, self.tables[table]), key=lambda part: part.most))

    @cached_property
    def housings(self) -> tuple[Housing, ...]:
        """Housings and sleeved connectors, the smallest first."""
        rows = (
            Housing(row["item"], row["family"], row["half"], int(row["ways"]), _source(row))
            for row in self.tables["housings"]
        )
        return tuple(sorted(rows, key=lambda housing: housing.ways))

    @cached_property
    def coverings(self) -> tuple[Covering, ...]:
        """Tape by width, tube and braid by bore, the smallest first."""
        rows = map(_covering, self.tables["coverings"])
        return tuple(sorted(rows, key=lambda row: (row.bore_mm, row.width_mm)))

    @cached_property
    def shrinks(self) -> tuple[Shrink, ...]:
        """Heat-shrink, the smallest first."""
        rows = (
            Shrink(
                row["item"],
                row["kind"],
                float(row["supplied_mm"]),
                float(row["recovered_mm"]),
                _source(row),
            )
            for row in self.tables["shrink"]
        )
        return tuple(sorted(rows, key=lambda row: row.supplied_mm))

    @cached_property
    def fuses(self) -> tuple[FuseType, ...]:
        """Fuses of every kind, the smallest rating first."""
        rows = (
            FuseType(row["item"], row["kind"], Fraction(row["amps"]), _source(row))
            for row in self.tables["fuses"]
        )
        return tuple(sorted(rows, key=lambda row: row.amps))

    @cached_property
    def fuse_holders(self) -> tuple[FuseHolder, ...]:
        """Fuse holders and boxes, the smallest first."""
        rows = (
            FuseHolder(row["item"], row["holder"], row["kind"], int(row["ways"]), _source(row))
            for row in self.tables["fuse_holders"]
        )
        return tuple(sorted(rows, key=lambda row: row.ways))

    @cached_property
    def labour(self) -> Mapping[str, Operation]:
        """Counted operations of the bench by name."""
        return {
            row["operation"]: Operation(
                row["operation"], row["per"], Fraction(row["minutes"]), _source(row)
            )
            for row in self.tables["labour"]
        }

    @cached_property
    def _kinds(self) -> Phrases[tuple[str, str]]:
        rows = self.tables["kinds"]
        return Phrases(((row["word"], (row["kind"], _runs(row))) for row in rows), ("", ""))

    @cached_property
    def _uses(self) -> Phrases[str]:
        return Phrases(((row["word"], row["colour"]) for row in self.tables["colour_uses"]), "")

    @cached_property
    def _fitting(self) -> dict[tuple[str, str, Fraction], Part | None]:
        """Terminals looked for before."""
        return {}

    def kind_of(self, name: str) -> str:
        """Kind of a load by the longest known phrase in a name; empty if there is none."""
        return self._kinds.meaning(name)[0]

    def runs_of(self, name: str) -> str:
        """How long a thing is on by the words of its name; empty if they do not say."""
        return self._kinds.meaning(name)[1]

    def usual_colour(self, circuit: str) -> str:
        """The colour that practice gives a circuit by its name, as typed; empty if none."""
        return self._uses.meaning(circuit)

    def terminal(self, family: str, half: str, area_mm2: Fraction) -> Part | None:
        """The terminal with the smallest upper limit >= the summed area, if there is one."""
        key = (family, half, area_mm2)
        if key not in self._fitting:
            self._fitting[key] = _smallest(self._terminals, family, half, area_mm2)
        return self._fitting[key]

    def seal(self, family: str, outside_mm: float) -> Part | None:
        """The wire seal for an insulation diameter in mm."""
        return _smallest(self._seals, family, "", Fraction(str(outside_mm)))

    def cavity_plug(self, family: str) -> Part | None:
        """What closes a way of a sealed housing that has no wire: a seal without a range."""
        return next((p for p in self._seals if p.family == family and not p.most), None)

    def cover(self, family: str, half: str) -> Part | None:
        """The cover that goes over a terminal."""
        return next((p for p in self._covers if (p.family, p.half) == (family, half)), None)

    def housing_set(self, family: str, half: str, ways: int) -> tuple[Housing, ...]:
        """The smallest set of housings with enough ways; empty when there are none."""
        return _smallest_set(
            [h for h in self.housings if (h.family, h.half) == (family, half)], ways
        )

    def holder(self, word: str) -> FuseHolder | None:
        """The holder a word means: `front fuse box` is a `fuse box`; blank is in-line."""
        typed = word or IN_LINE
        fitting = [h for h in self.fuse_holders if h.holder in typed]
        return max(fitting, key=lambda holder: len(holder.holder), default=None)

    def is_in_line(self, word: str) -> bool:
        """True where the holder that a word means takes one fuse: it lies in the wire."""
        holder = self.holder(word)
        alike = (h.ways for h in self.fuse_holders if holder and h.holder == holder.holder)
        return max(alike, default=0) == 1

    def holder_set(self, holder: str, kind: str, ways: int) -> tuple[FuseHolder, ...]:
        """The smallest set of fuse boxes of one word with enough ways."""
        return _smallest_set(
            [h for h in self.fuse_holders if h.holder == holder and h.kind == kind], ways
        )

    @cached_property
    def layers(self) -> Mapping[str, Layer]:
        """Every word for what covers a branch, with the layer that it adds."""
        return {row["covering"]: read_layer(row) for row in self.tables["layers"]}

    def layers_of(self, covering: str) -> tuple[Layer, ...]:
        """What a word puts over a branch, from the inside out."""
        whole = self.layers[covering]
        inside = tuple(self.layers[word] for word in whole.inside)
        return (*inside, whole) if whole.length else inside

    @cached_property
    def kinds(self) -> Mapping[str, str]:
        """The group of the estimate of every kind of need, in the order of the take-off."""
        found: dict[str, str] = {}
        for kind, group in KINDS.items():
            if kind == SHRINK:  # it lies on the layers
                found |= {word: layer.group for word, layer in self.layers.items() if layer.length}
            found[kind] = group
        return found

    @cached_property
    def sizes(self) -> Mapping[str, Sequence[Covering]]:
        """The goods of each layer, the smallest first."""
        found: dict[str, list[Covering]] = {}
        for row in self.coverings:
            found.setdefault(row.covering, []).append(row)
        return found

    def tape(self, covering: str, width_mm: float) -> Covering | None:
        """The tape of exactly this width."""
        return next((c for c in self.sizes[covering] if c.width_mm == width_mm), None)

    def sleeve(self, covering: str, least_bore_mm: float) -> Covering | None:
        """The one of a fixed size with the smallest bore >= the one asked for."""
        fixed = (c for c in self.sizes[covering] if not c.most_mm)
        return next((c for c in fixed if c.bore_mm >= least_bore_mm - 1e-9), None)

    def expandable(self, covering: str, inside_mm: float) -> Covering | None:
        """The one that closes on this and stretches least, as it lies there."""
        closing = [c for c in self.sizes[covering] if c.least_mm <= inside_mm <= c.most_mm]
        tightest = min(closing, key=lambda row: row.most_mm, default=None)
        return tightest.on(inside_mm) if tightest else None

    def shrink(self, kind: str, object_mm: float) -> Shrink | None:
        """The smallest shrink with supplied bore > object > recovered bore."""
        return next(
            (
                s
                for s in self.shrinks
                if s.kind == kind and s.supplied_mm > object_mm > s.recovered_mm
            ),
            None,
        )

    def ratings(self, kind: str) -> tuple[FuseType, ...]:
        """Fuses of a kind, the smallest rating first."""
        return tuple(fuse for fuse in self.fuses if fuse.kind == kind)


def _smallest(parts: Iterable[Part], family: str, half: str, measure: Fraction) -> Part | None:
    return next(
        (p for p in parts if p.family == family and p.half == half and p.most >= measure), None
    )


HasWays = TypeVar("HasWays", Housing, FuseHolder)


def _smallest_set(sizes: list[HasWays], ways: int) -> tuple[HasWays, ...]:
    """Fewest parts first, then the fewest ways to spare; `sizes` rise."""
    if not sizes or ways <= 0:
        return ()
    largest = sizes[-1]
    full = max(0, -(-ways // largest.ways) - 1)
    rest = ways - full * largest.ways
    last = next(size for size in sizes if size.ways >= rest)
    return (largest,) * full + (last,)


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
        for path in sorted(own.glob("*.csv"), key=lambda p: (p.stem.casefold() == "layers", p)):
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
    "cables": _cable,
    "ends": _end,
    "terminals": _part,
    "covers": _part,
    "seals": _part,
    "loads": _load,
    "housings": _ways,
    "fuse_holders": _ways,
    "coverings": _covering,
    "layers": read_layer,
    "shrink": lambda row: [float(row[c]) for c in ("supplied_mm", "recovered_mm")],
    "fuses": lambda row: Fraction(row["amps"]),
    "labour": lambda row: Fraction(row["minutes"]),
    "drops": _drop,
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
