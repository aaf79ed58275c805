"""Rows of the catalogues as types: cables, ends, terminals, coverings, fuses, loads."""

from fractions import Fraction
from typing import Literal

from msgspec import Struct

LAMP_VOLTS = 12
"""The rated voltage of the lamps whose test figures are in catalogs/loads.csv."""


class Load(Struct, frozen=True):
    """What a lamp or a device takes: so many watts, or amps at any voltage."""

    amount: Fraction
    unit: Literal["W", "A"]
    name: str = ""
    duty: str = ""
    test_watts: Fraction | None = None
    test_volts: Fraction | None = None

    def amps(self, volts: Fraction) -> Fraction:
        """Current in amps at the machine's voltage, exact (watts / volts and nothing else)."""
        return self.amount if self.unit == "A" else self.amount / volts

    def highest_amps(self, volts: Fraction) -> Fraction:
        """The current to size a cable for: that of a published test figure where it is higher.

        Test figures are for lamps of 12 V, at a little over it (UN regulation 37).
        """
        if self.test_watts is None or not self.test_volts or volts != LAMP_VOLTS:
            return self.amps(volts)
        return max(self.amps(volts), self.test_watts / self.test_volts)


class Cable(Struct, frozen=True, kw_only=True):
    """A row of catalogs/cables.csv: amps and ohms are the table's, before any factor."""

    gauge: str
    area_mm2: Fraction
    kind: str
    rated_amps: Fraction
    outside_mm: float
    ohm_per_km_20c: float
    max_c: float
    ref_c: float
    colours: tuple[str, ...]
    source: str

    @property
    def is_awg(self) -> bool:
        """True for a size of the American gauge."""
        return self.gauge.endswith("AWG")

    @property
    def is_bundled(self) -> bool:
        """True where the rating is that of a wire in a bundle already (AC 43.13-1B table 11-9)."""
        return self.is_awg


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
    """A part of a family and half, for a range of areas or diameters (mm2 or mm)."""

    item: str
    family: str
    half: str
    least: Fraction
    most: Fraction
    source: str


class Housing(Struct, frozen=True):
    """A housing, a sleeved connector or a fuse holder: `ways` is how many it takes."""

    item: str
    family: str
    half: str
    ways: int
    source: str


class Covering(Struct, frozen=True):
    """Tape (width), tube and braid (bore and outside), all in mm."""

    item: str
    covering: str
    width_mm: float
    bore_mm: float
    outside_mm: float
    source: str


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


def takes(style: EndStyle, area_mm2: Fraction) -> bool:
    """True when the style's terminals take this area; solder and bare ends take any."""
    return not style.max_mm2 or style.min_mm2 <= area_mm2 <= style.max_mm2
