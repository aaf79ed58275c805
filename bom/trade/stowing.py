"""What stands in a place, square to its walls, and what finds no room there; lengths in mm."""

from typing import Literal, TypeAlias

from msgspec import Struct

from bom.trade.job_book import Place, Sides

MOST_PROVED = 8
"""So many boxes at one place are looked through in every way; of more some ways are tried."""

BoxKind: TypeAlias = Literal["", "battery", "hot"]
"""A battery and what gets hot are not brought together."""


class Boxed(Struct, frozen=True):
    """A component with a size: its sides, and the free room that it wants all round."""

    name: str
    sides: Sides
    air_mm: int
    upright: bool = False
    """It stands as it is typed: length and width may change places."""
    kind: BoxKind = ""

    @property
    def needs(self) -> Sides:
        """Its sides with its room, which is its own: no neighbour's and no wall's."""
        length, width, height = self.sides
        return length + 2 * self.air_mm, width + 2 * self.air_mm, height + 2 * self.air_mm


class Stowed(Struct, frozen=True):
    """A box where it stands, without its room.

    `corner` is how far it is from the left, the back and the floor, `sides` are as it is turned.
    """

    box: Boxed
    corner: Sides
    sides: Sides


class LeftOut(Struct, frozen=True):
    """A box that found no room at its place."""

    box: Boxed
    proved: bool
    """Every way was looked through: it does not go in."""
    alone: bool
    """It does not go into the place, were that empty."""
    lying: bool = False
    """It would go in alone if it need not stand upright."""
    goes_to: str = ""
    """Another place in which it goes beside what stands there; empty where there is none."""
    beside: tuple[str, ...] = ()
    """What stands there."""


class Filled(Struct, frozen=True):
    """A place with what stands in it, and what found no room there."""

    place: Place
    stowed: tuple[Stowed, ...]
    left_out: tuple[LeftOut, ...]
