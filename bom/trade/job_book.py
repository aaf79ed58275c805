"""A job book as it is typed: wires, branches, components, fuses; nothing is reckoned yet."""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple, TypeAlias

from msgspec import Struct

from bom.trade.accept import Accept
from bom.trade.catalogue_rows import Load
from bom.trade.problem import Where
from bom.trade.rows import Row

NO_FUSE = "none"
"""Typed in a fuse cell: unfused on purpose (starter cable, stator, magneto)."""


class Pin(NamedTuple):
    """One end of a wire: a point, and a pin on it or an empty string at a bare point."""

    point: str
    pin: str = ""

    def __str__(self) -> str:
        return f"{self.point}:{self.pin}" if self.pin else self.point


class Colour(Struct, frozen=True, order=True):
    """A cable colour in words: the body, and the trace or an empty string."""

    body: str
    trace: str = ""

    def __str__(self) -> str:
        return f"{self.body}/{self.trace}" if self.trace else self.body


UNREAD = Load(Fraction(0), "A", "a load that could not be read")
"""Stands in for a faulty load cell, so that one bad cell starts no further alarms."""

UNREAD_MM = Fraction(1)
"""Stands in for a faulty length cell, for the same reason."""


Sides: TypeAlias = tuple[int, int, int]
"""Length, width and height in whole mm, or how far along each of them."""


class OneOf(NamedTuple):
    """A word for what is never on together; an empty choice makes the row its own choice."""

    word: str
    choice: str = ""


class Wire(Struct, frozen=True, kw_only=True, eq=False):
    """A wire as asked for: one row of the Circuits sheet; a wire is only equal to itself."""

    label: str
    circuit: str
    start: Pin
    finish: Pin
    colour: Colour | None
    gauge: str | None
    load: Load | None
    fuse: str | None
    length_mm: Fraction | None
    start_end: str | None
    finish_end: str | None
    one_of: OneOf | None
    qty: int
    note: str
    row: Row
    runs: str = ""

    @property
    def ends(self) -> tuple[tuple[Pin, str | None, str], tuple[Pin, str | None, str]]:
        """Both ends: the pin, the style typed for it, and the heading of its cell."""
        return (
            (self.start, self.start_end, "from end"),
            (self.finish, self.finish_end, "to end"),
        )


class Branch(Struct, frozen=True, kw_only=True):
    """One stretch of the loom between two points, as measured on the machine."""

    start: str
    finish: str
    length_mm: Fraction
    exposure: str
    slack_mm: Fraction
    covering: str
    row: Row
    doubt_percent: Decimal = Decimal()
    """How unsure the length is, as one standard deviation in per cent of it."""
    ambient_c: Decimal | None = None
    """The air around it in degrees C; None: as everywhere on the machine."""

    def __str__(self) -> str:
        return f"{self.start}-{self.finish}"


class Component(Struct, frozen=True, kw_only=True):
    """A thing that wires end at; `at` is the loom point it sits at."""

    name: str
    at: str
    load: Load | None
    tail_mm: Fraction
    end: str | None
    passes: str
    one_of: OneOf | None
    note: str
    row: Row | None
    ways: int | None = None
    """Of a plug or fuse box, where more are wanted than are wired."""
    doubt_percent: Decimal = Decimal()
    """How unsure tail and load are, both at once, as one standard deviation in per cent."""
    runs: str = ""
    face: tuple[tuple[str, ...], ...] = ()
    """Of a plug the rows of its pins as they stand, seen from the side of the wires."""
    size: Sides | None = None
    """As it is measured, without the room round it."""


class Place(Struct, frozen=True, kw_only=True):
    """A box, tray or panel of the machine in which things stand: its clear room inside."""

    point: str
    sides: Sides
    note: str
    row: Row


class FuseRow(Struct, frozen=True, kw_only=True):
    """One row of the Fuses sheet; a blank rating is chosen by the program."""

    name: str
    rating: Fraction | None
    holder: str
    spares: int | None
    row: Row


class Extra(Struct, frozen=True, kw_only=True):
    """Anything else the job needs, counted or measured by hand."""

    item: str
    qty: Decimal
    unit: str
    price: Decimal | None
    row: Row


class LabourRow(Struct, frozen=True, kw_only=True):
    """A task of the Labour sheet: so many times, so many hours each."""

    task: str
    qty: Decimal
    hours: Decimal
    row: Row
    doubt_percent: Decimal = Decimal()
    """How unsure the hours are, as one standard deviation in per cent of them."""


class JobBook(Struct, frozen=True, kw_only=True):
    """A whole job book as read: every cell understood, nothing reckoned yet."""

    file: str
    job: str
    customer: str
    machine: str
    wires: tuple[Wire, ...]
    branches: tuple[Branch, ...]
    components: Mapping[str, Component]
    fuses: tuple[FuseRow, ...]
    extras: tuple[Extra, ...]
    labour: tuple[LabourRow, ...]
    places: tuple[Place, ...] = ()
    whole: bool
    """False when a row had to be left out, so that nothing is said of what it left open."""
    lists_read: bool = True
    """False when a whole list could not be read, or it was not known which sheet it is."""
    lists: frozenset[str] = frozenset()
    """The lists that have a sheet: Circuits, Loom, Components ..."""
    accepts: tuple[Accept, ...] = ()
    not_read: tuple[str, ...] = ()
    """The sheets that hold none of these lists."""
    named_at: Where | None = None
    """Where the job's name is typed; None where the file's name is taken."""

    def place(self, point: str) -> str:
        """The point of the loom that a component sits at: its own where it has no row."""
        component = self.components.get(point)
        return component.at if component else point

    def component(self, point: str) -> Component:
        """The component called `point`; one without a row has no load and passes all."""
        return self.components.get(point) or _unlisted(point)


@lru_cache(maxsize=200_000)  # asked for again and again, once for each wire and stage
def _unlisted(point: str) -> Component:
    """A component without a row."""
    return Component(
        name=point,
        at=point,
        load=None,
        tail_mm=Fraction(0),
        end=None,
        passes="",
        one_of=None,
        note="",
        row=None,
    )
