"""Rows of the catalogues: their types, and how the words of a row become one."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from bom.trade.figures import DUTIES

Raw = Mapping[str, str]
"""A row as it stands in the file: its words by their columns."""
BY_SLEEVE = "bullet 4.7"
"""The family whose sockets are sleeved connectors: every wire at a pin has a bullet in it."""
HELIX, ALONG = "helix", "along"
"""How the length of a layer is found: wound as tape is, or as long as the branch."""


class Load(Struct, frozen=True):
    """What a lamp or a device takes: so many watts, or amps at any voltage.

    `kind` (catalogs/drops.csv) and `runs` are those of its row in catalogs/loads.csv, empty for
    one that was typed; `by_volts` has the row of each voltage that a lamp is made for.
    """

    amount: Fraction
    unit: Literal["W", "A"]
    name: str = ""
    kind: str = ""
    runs: str = ""
    by_volts: tuple[tuple[Fraction, "Load"], ...] = ()

    def amps(self, volts: Fraction) -> Fraction:
        """Current in amps at the machine's voltage, exact (watts / volts and nothing else)."""
        return self.amount if self.unit == "A" else self.amount / volts

    def at(self, volts: Fraction) -> "Load | None":
        """The load on a machine of that voltage; None for a lamp that is not made for it."""
        return dict(self.by_volts).get(volts) if self.by_volts else self


class Cable(Struct, frozen=True, kw_only=True):
    """A row of catalogs/cables.csv: amps and ohms are the table's; `max_c` the insulation's."""

    gauge: str
    area_mm2: Fraction
    kind: str
    rated_amps: Fraction
    outside_mm: float
    ohm_per_km_20c: float
    max_c: float
    cost_per_m: float
    """What a metre costs a workshop, about: for weighing one cable against another."""
    colours: tuple[str, ...]
    source: str

    @property
    def is_awg(self) -> bool:
        """True for a size of the American gauge."""
        return self.gauge.endswith("AWG")


class Drop(Struct, frozen=True):
    """The drop allowed for a kind of load at 12 V: in the plus lead (None: as all), all the way."""

    kind: str
    feed_volts: float | None
    volts: float
    source: str


class ColourRow(Struct, frozen=True):
    """A colour word with its codes; `plain` says that plain cable of it can be had."""

    word: str
    iec60757: str
    bs_au_7: str
    also: tuple[str, ...]
    hex: str
    plain: bool
    source: str


class EndStyle(Struct, frozen=True, kw_only=True):
    """How a wire ends; areas in mm2 are of all wires in one terminal, amps of the contact."""

    end: str
    family: str
    half: str
    mates: str
    min_mm2: Fraction
    max_mm2: Fraction
    strip_mm: str
    closure: str
    amps: Fraction | None
    housing: str
    source: str


class Part(Struct, frozen=True):
    """A part of a family and half, for a range of areas or diameters (mm2 or mm).

    A lug has the outside of its barrel in mm; 0 where that is of no account.
    """

    item: str
    family: str
    half: str
    least: Fraction
    most: Fraction
    source: str
    barrel_mm: float = 0.0


class Housing(Struct, frozen=True):
    """A housing, a sleeved connector or a fuse holder: `ways` is how many it takes."""

    item: str
    family: str
    half: str
    ways: int
    source: str


class Covering(Struct, frozen=True):
    """Tape (width), tube and braid (bore and outside), all in mm.

    An expandable one has the least and the most that it closes on; its bore and outside are
    of one and the same state, so that they give its wall.
    """

    item: str
    covering: str
    width_mm: float
    bore_mm: float
    outside_mm: float
    source: str
    least_mm: float = 0.0
    most_mm: float = 0.0
    shortening_percent: float = 0.0
    """So much more of it is needed than is covered."""

    def on(self, inside_mm: float) -> "Covering":
        """An expandable one as it lies on what is inside: the wall stays."""
        outside_mm = inside_mm + self.outside_mm - self.bore_mm
        return replace(self, bore_mm=inside_mm, outside_mm=outside_mm)


class Layer(Struct, frozen=True, kw_only=True):
    """A word for what covers a branch, and the layer that it adds over those `inside` it.

    Without a `length` it adds none.  `waste_percent` is None where the house's counts,
    `heat_k_m_per_w` where it is that of an air gap.  `ends` is the kind of shrink that closes it.
    On a drawing: `look` in a word, dashes in mm, and the share of the line that is left white.
    """

    covering: str
    inside: tuple[str, ...]
    length: str
    waste_percent: Decimal | None
    group: str
    labour: str
    heat_k_m_per_w: float | None
    ends: str
    look: str
    dashes: str
    core: float


class Shrink(Struct, frozen=True):
    """Heat-shrink, plain or adhesive-lined: bore as supplied and recovered, in mm."""

    item: str
    kind: str
    supplied_mm: float
    recovered_mm: float
    source: str


class FuseType(Struct, frozen=True):
    """A fuse that can be bought: its kind and its rating in amps."""

    item: str
    kind: str
    amps: Fraction
    source: str


class FuseHolder(Struct, frozen=True):
    """A holder by the word typed on the Fuses sheet."""

    item: str
    holder: str
    kind: str
    ways: int
    source: str


class Operation(Struct, frozen=True):
    """One counted operation of the bench and its minutes."""

    operation: str
    per: str
    minutes: Fraction
    source: str


class TaskWords(Struct, frozen=True):
    """What owners call a counted operation: the words for what is done, and for what to.

    Each word of `called` says it alone; those of `beside` say nothing of it and go with the rest.
    """

    operation: str
    called: frozenset[str]
    does: frozenset[str]
    things: frozenset[str]
    beside: frozenset[str]

    @property
    def words(self) -> frozenset[str]:
        """All that may stand in its name."""
        return self.called | self.does | self.things | self.beside | {*self.operation.split()}


def read_task_words(row: Raw) -> TaskWords:
    """A row of tasks.csv."""
    words = (frozenset(row[name].split()) for name in ("called", "does", "things", "beside"))
    return TaskWords(row["operation"], *words)


def takes(style: EndStyle, area_mm2: Fraction) -> bool:
    """True when the style's terminals take this area; solder and bare ends take any."""
    return not style.max_mm2 or style.min_mm2 <= area_mm2 <= style.max_mm2


# ------------------------------------------------------------------ from words to rows


def _number(text: str) -> Fraction:
    return Fraction(text) if text else Fraction(0)


def _float(text: str) -> float:
    return float(text) if text else 0.0


def read_cable(row: Raw) -> Cable:
    """A row of cables.csv."""
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
        source=source_of(row),
    )


def source_of(row: Raw) -> str:
    """Where a row's figures are from."""
    return ", ".join(part for part in (row["source"], row["place"]) if part)


def read_end(row: Raw) -> EndStyle:
    """A row of ends.csv."""
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
        source=source_of(row),
    )


def read_part(row: Raw) -> Part:
    """A row of terminals.csv, covers.csv or seals.csv."""
    unit = "mm2" if "min_mm2" in row else "mm"
    least, most = row.get(f"min_{unit}", ""), row.get(f"max_{unit}", "")
    return Part(
        row["item"],
        row["family"],
        row.get("half", ""),
        _number(least),
        _number(most),
        source_of(row),
        _float(row.get("barrel_mm", "")),
    )


def read_covering(row: Raw) -> Covering:
    """A row of coverings.csv."""
    return Covering(
        row["item"],
        row["covering"],
        _float(row["width_mm"]),
        _float(row["bore_mm"]),
        _float(row["outside_mm"]),
        source_of(row),
        _float(row["least_mm"]),
        _float(row["most_mm"]),
        _float(row["shortening_percent"]),
    )


def read_ways(row: Raw) -> int:
    """The ways of a row of housings.csv or fuse_holders.csv; ValueError for none."""
    ways = int(row["ways"])
    if ways < 1:
        raise ValueError(ways)
    return ways


def read_load(row: Raw) -> Load:
    """A row of loads.csv."""
    unit, amount = ("W", row["watts"]) if row["watts"] else ("A", row["amps"])
    return Load(
        Fraction(amount),
        "W" if unit == "W" else "A",
        row["load"],
        row["kind"],
        read_runs(row),
    )


def read_runs(row: Raw) -> str:
    """How long it is on; a word that is not known says nothing (and is told)."""
    return row["runs"] if row["runs"] in DUTIES else ""


def by_voltage(rows: Sequence[Raw]) -> Load:
    """A load with all its rows: one for any voltage, or one for each; where none is known, 12 V."""
    at = tuple((Fraction(row["volts"]), read_load(row)) for row in rows if row["volts"])
    if len(at) < len(rows):  # a workshop's own row for any voltage, over ours for some
        return read_load(rows[-1])
    return replace(dict(at).get(Fraction(12), at[-1][1]), by_volts=at)


def read_drop(row: Raw) -> Drop:
    """A row of drops.csv."""
    feed = float(row["feed_volts"]) if row["feed_volts"] else None
    return Drop(row["kind"], feed, float(row["volts"]), source_of(row))
