"""Wires, fuses and terminals as the stages hand them on: another type after each stage."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from msgspec import Struct

from bom.trade.catalogue_rows import BY_SLEEVE, Cable, EndStyle
from bom.trade.figures import fuse_floor_amps
from bom.trade.job_book import Branch, Pin, Wire
from bom.trade.one_of import Ways, numbers
from bom.trade.roads import Road, backwards


class MeasuredWire(Struct, frozen=True, kw_only=True):
    """A wire with its way through the loom (indexes of branches) and its piece."""

    wire: Wire
    branches: tuple[int, ...]
    path_mm: Fraction
    slack_mm: Fraction
    tails_mm: Fraction
    piece_mm: int


class LoadedWire(Struct, frozen=True, kw_only=True):
    """A measured wire with its current; one that leads to no load is a return.

    Amps are those of one of its `qty`: the peak, the root mean square over minutes that warms
    it, and the share of starter motors in the peak.
    """

    wire: Wire
    """The row this wire was asked for in."""
    measured: MeasuredWire
    amps: Fraction
    heat_amps: float
    starter_amps: Fraction
    is_return: bool
    is_link: bool
    """Between the poles of batteries: neither a feed nor a return."""
    charges: bool
    """A charging current runs through it."""
    fuse: str | None
    loads: int
    """Those that it leads to or comes from, as bits: their numbers in `Currents.names`."""

    @property
    def steady_amps(self) -> Fraction:
        """The peak without starter motors, for what is rated for minutes."""
        return self.amps - self.starter_amps if self.starter_amps else self.amps

    def share_of_drop(self, kind: str) -> float:
        """Share of the peak that counts on the way of a load: no starter turns but on its own."""
        if kind == STARTER or not self.starter_amps:
            return 1.0
        return float(self.steady_amps / self.amps)


STARTER = "starter"
"""The kind of a starter motor: its limits are for each side, and at 20 C."""


class Supply(Struct, frozen=True, kw_only=True):
    """The way of one load: wires from the supply to it and back, and the drops allowed on it."""

    load: str
    kind: str
    amps: Fraction
    feed: Road
    back: Road
    """The wire at the load is the last step of both."""
    allowed_volts: float
    feed_volts: float | None = None
    """The limit of the way there alone, where there is one."""
    back_volts: float | None = None
    """The limit of the way back alone, where there is one."""

    @property
    def wires(self) -> tuple[str, ...]:
        """The labels of the wires there and back."""
        return WayPart(self.feed, self.back, self.allowed_volts).wires

    @property
    def length_mm(self) -> int:
        """The pieces there and back."""
        return sum(road.length_mm for road in (self.feed, self.back) if road)

    @property
    def limits(self) -> tuple["WayPart", ...]:
        """Every stretch of the way with the volts that it may lose."""
        found = [WayPart(self.feed, self.back, self.allowed_volts)]
        if self.feed and self.feed_volts is not None:
            found.append(WayPart(self.feed, None, self.feed_volts))
        if self.back and self.back_volts is not None:
            found.append(WayPart(None, self.back, self.back_volts))
        return tuple(found)


class WayPart(NamedTuple):
    """The feed of a load, its way back or both, and the volts that may be lost there."""

    feed: Road
    back: Road
    volts: float

    @property
    def wires(self) -> tuple[str, ...]:
        """The labels of its wires, from the supply to the load and on to where it ends."""
        return (*reversed((*backwards(self.feed),)), *backwards(self.back))


class FuseLoad(Struct, frozen=True, kw_only=True):
    """A fuse by name: what its first wires carry in amps, and the fuses that it feeds."""

    name: str
    fed_amps: Fraction
    """What the wires behind it draw."""
    charging_amps: Fraction
    """The charging current through it."""
    feeds: tuple[str, ...]
    loads: int
    """As bits: their numbers in `Currents.names`."""
    wires: tuple[str, ...]
    """The labels of the wires behind it, the first ones first."""

    @property
    def amps(self) -> Fraction:
        """What it carries: the two go opposite ways, so that the larger counts."""
        return max(self.fed_amps, self.charging_amps)

    def least_rating(self, load_percent: Decimal) -> Fraction:
        """The least rating in amps, exact, for what it carries."""
        return fuse_floor_amps(self.amps, load_percent)


class ChosenFuse(Struct, frozen=True, kw_only=True):
    """A fuse with its rating in amps, its holder, and the load it was chosen for."""

    name: str
    rating: Fraction
    load_amps: Fraction
    kind: str
    holder: str
    spares: int | None
    typed: bool


class SizedWire(Struct, frozen=True, kw_only=True):
    """A wire ready for the bench: cable, ends, fuse rating in amps, its own drop."""

    wire: Wire
    """The row this wire was asked for in."""
    loaded: LoadedWire
    cable: Cable
    start_end: str
    finish_end: str
    fuse_amps: Fraction | None
    drop_volts: float
    decided: str = ""
    """What decided a gauge that was chosen, in words; empty for one that was typed."""
    lacks: tuple[str, ...] = ()
    """What this cable does not meet; empty for one that meets all."""
    enough: str = ""
    """The gauge that would meet it, whatever the ends take and the shop keeps; empty for none."""
    rejected: tuple[str, ...] = ()
    """Thinner cables of the house, each with what it lacks."""

    @property
    def piece_mm(self) -> int:
        """Length of one piece in millimetres, whole steps."""
        return self.loaded.measured.piece_mm


class BranchHeat(Struct, frozen=True, kw_only=True):
    """How warm a branch gets: the hottest conductor, in degrees C, and the most allowed."""

    rise_k: float
    hottest_c: float
    """Ambient and 1.4 times the rise: what is compared with the limit."""
    most_c: float
    wire: str
    """The wire in it that gives off most."""


class WireEnd(NamedTuple):
    """One end of one wire; `heading` is the column its style is typed in."""

    wire: Wire
    heading: str

    @property
    def pin(self) -> Pin:
        """Where this end sits."""
        return self.wire.start if self.heading == "from end" else self.wire.finish

    @property
    def typed(self) -> str | None:
        """The style typed for this end."""
        start = self.heading == "from end"
        return self.wire.start_end if start else self.wire.finish_end


class Joint(Struct, frozen=True, kw_only=True):
    """One terminal (or splice) and the wire ends in it; `count` of them are identical.

    `half` is `plug`, `socket` or empty.  `mate` marks the half that stands opposite the
    loom's own: at a component it takes the thickest of the wires, not their sum.
    """

    pin: Pin
    style: EndStyle
    half: str
    ends: tuple[WireEnd, ...]
    count: int = 1
    mate: bool = False

    def area_mm2(self, areas: Mapping[str, Fraction]) -> Fraction:
        """Area in mm2 that the terminal must take, from the areas by wire label."""
        each = [areas[end.wire.label] for end in self.ends]
        if len(each) == 1 and (self.mate or self.count > 1 or self.ends[0].wire.qty == 1):
            return each[0]
        if self.mate:
            return max(each)
        shared = self.count == 1
        return sum(
            (a * (e.wire.qty if shared else 1) for a, e in zip(each, self.ends, strict=True)),
            Fraction(0),
        )


def terminals(
    pin: Pin, style: EndStyle, ends: tuple[WireEnd, ...], count: int = 1
) -> tuple[Joint, ...]:
    """The terminals of some ends at a pin, and for a joint the half that stands opposite.

    A sleeved bullet takes one wire: each of them has its own.
    """
    half = "socket" if style.half == "joint" else style.half
    own = [((end,), end.wire.qty) for end in ends] if style.family == BY_SLEEVE else [(ends, count)]
    made = [Joint(pin=pin, style=style, half=half, ends=some, count=of) for some, of in own]
    if style.half == "joint":
        made.append(Joint(pin=pin, style=style, half="plug", ends=ends, count=count, mate=True))
    return tuple(made)


class Ends(Struct, frozen=True):
    """Styles by (wire label, heading), and every terminal of the job."""

    styles: Mapping[tuple[str, str], str]
    joints: tuple[Joint, ...]


class Currents(Struct, frozen=True):
    """What the reckoning found: wires with their currents, fuses with their loads."""

    wires: tuple[LoadedWire, ...]
    fuses: tuple[FuseLoad, ...]
    names: tuple[str, ...]
    """The name that each load goes under, by its number."""
    amps: Mapping[str, Fraction]
    """Each load's own current, by its name."""
    typed: Mapping[str, str]
    """For loads typed on a row: the load's name by the wire's label."""
    runs: Mapping[str, str]
    """How long each load is on: always, flashing, brief or starting."""
    kinds: Mapping[str, str]
    """What each load is, as catalogs/drops.csv has it."""
    roads: Mapping[str, tuple[str, ...]]
    """The wires between each charging wire's end and the battery, by its label."""
    worded: Mapping[str, Ways]
    """The words on every way from the supply to each load; none for one that can always be on."""

    def of(self, loads: int) -> list[str]:
        """The names of loads given as bits."""
        return [self.names[number] for number in numbers(loads)]


class Sized(Struct, frozen=True):
    """Every wire with its cable, every fuse with its rating, the heat of every branch."""

    wires: tuple[SizedWire, ...]
    fuses: tuple[ChosenFuse, ...]
    heats: Mapping[int, BranchHeat]
    """By the branch's index, of those that hold wires."""


class Bundle(Struct, frozen=True, kw_only=True):
    """What runs in a branch, and its diameter in mm."""

    branch: Branch
    wires: tuple[SizedWire, ...]
    diameter_mm: float
