"""The catalogues: published and trade figures, one CSV a table, a source on each row.

The tables come with the package (`catalogs/`); a workshop's own `catalogs/` folder
overrides them row by row: a row with the same key takes the place of ours, any other
is added.
"""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from typing import TypeVar

from msgspec import Struct

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
    Raw,
    Shrink,
    TaskWords,
    by_voltage,
    read_cable,
    read_covering,
    read_drop,
    read_end,
    read_part,
    read_runs,
    read_task_words,
    source_of,
)
from bom.trade.layers import read_layer
from bom.trade.needs import KINDS, SHRINK
from bom.trade.phrases import Phrases

IN_LINE = "in-line"
"""The holder of a fuse for which none is named (common practice)."""


class Catalogue(Struct, frozen=True, dict=True):
    """Every table as typed rows, in the order of the files."""

    tables: Mapping[str, tuple[Raw, ...]]

    @cached_property
    def cables(self) -> Mapping[str, Cable]:
        """Cables by gauge, from the thinnest conductor to the thickest."""
        rows = sorted(map(read_cable, self.tables["cables"]), key=lambda cable: cable.area_mm2)
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
                source_of(row),
            )
            for row in self.tables["colours"]
        )

    @cached_property
    def ends(self) -> Mapping[str, EndStyle]:
        """End styles by name."""
        return {row["end"]: read_end(row) for row in self.tables["ends"]}

    @cached_property
    def loads(self) -> Mapping[str, Load]:
        """Loads by their name in small letters."""
        rows: dict[str, list[Raw]] = {}
        for row in self.tables["loads"]:
            rows.setdefault(row["load"].casefold(), []).append(row)
        return {name: by_voltage(found) for name, found in rows.items()}

    @cached_property
    def drops(self) -> Mapping[str, Drop]:
        """The voltage drop allowed by kind of load."""
        return {row["kind"]: read_drop(row) for row in self.tables["drops"]}

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
        return tuple(sorted(map(read_part, self.tables[table]), key=lambda part: part.most))

    @cached_property
    def housings(self) -> tuple[Housing, ...]:
        """Housings and sleeved connectors, the smallest first."""
        rows = (
            Housing(row["item"], row["family"], row["half"], int(row["ways"]), source_of(row))
            for row in self.tables["housings"]
        )
        return tuple(sorted(rows, key=lambda housing: housing.ways))

    @cached_property
    def coverings(self) -> tuple[Covering, ...]:
        """Tape by width, tube and braid by bore, the smallest first."""
        rows = map(read_covering, self.tables["coverings"])
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
                source_of(row),
            )
            for row in self.tables["shrink"]
        )
        return tuple(sorted(rows, key=lambda row: row.supplied_mm))

    @cached_property
    def fuses(self) -> tuple[FuseType, ...]:
        """Fuses of every kind, the smallest rating first."""
        rows = (
            FuseType(row["item"], row["kind"], Fraction(row["amps"]), source_of(row))
            for row in self.tables["fuses"]
        )
        return tuple(sorted(rows, key=lambda row: row.amps))

    @cached_property
    def fuse_holders(self) -> tuple[FuseHolder, ...]:
        """Fuse holders and boxes, the smallest first."""
        rows = (
            FuseHolder(row["item"], row["holder"], row["kind"], int(row["ways"]), source_of(row))
            for row in self.tables["fuse_holders"]
        )
        return tuple(sorted(rows, key=lambda row: row.ways))

    @cached_property
    def labour(self) -> Mapping[str, Operation]:
        """Counted operations of the bench by name."""
        return {
            row["operation"]: Operation(
                row["operation"], row["per"], Fraction(row["minutes"]), source_of(row)
            )
            for row in self.tables["labour"]
        }

    @cached_property
    def task_words(self) -> tuple[TaskWords, ...]:
        """What owners call counted operations."""
        return tuple(map(read_task_words, self.tables["tasks"]))

    @cached_property
    def _kinds(self) -> Phrases[tuple[str, str, bool]]:
        rows = self.tables["kinds"]
        meanings = ((row["kind"], read_runs(row), row["hot"] == "yes") for row in rows)
        words = (row["word"] for row in rows)
        return Phrases(zip(words, meanings, strict=True), ("", "", False))

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

    def gets_hot(self, name: str) -> bool:
        """True for what needs air round it by the words of its name: a regulator."""
        return self._kinds.meaning(name)[2]

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
