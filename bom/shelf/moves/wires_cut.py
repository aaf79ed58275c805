"""What a move says of the wires that were cut: `1.0 red; wires P1 1.6 m, P2 0.9 m`."""

import re
from collections.abc import Iterable
from decimal import Decimal

from bom.files.spelling import plain
from bom.files.units import shown

_WIRES = "; wires "
_WIRE = re.compile(r"(.+?) (\d+(?:\.\d+)?) m(?:, |$)")
_PER_M = Decimal(1000)

CutWire = tuple[str, int]
"""A wire's label, and the length in mm that was cut for it."""


def cut_note(cable: str, wires: Iterable[CutWire]) -> str:
    """What a move says that takes these wires off a piece of a cable, such as `1.0 red`."""
    each = (f"{label} {plain(shown(Decimal(mm), _PER_M))} m" for label, mm in wires)
    return f"{cable}{_WIRES}{', '.join(each)}"


def wires_cut(note: str, taken_mm: int) -> tuple[CutWire, ...]:
    """The wires that a move says were cut, when it took so much.

    Lengths were not written down at first: then one wire is all that was taken, and of several
    each is 0.

    >>> wires_cut("1.0 red; wires P1 1.6 m, left 2 0.9 m", 2500)
    (('P1', 1600), ('left 2', 900))
    >>> wires_cut("1.0 red; wires P1", 1600), wires_cut("1.0 red; wires P1 P2", 2500)
    ((('P1', 1600),), (('P1', 0), ('P2', 0)))
    """
    said = note.partition(_WIRES)[2]
    found = list(_WIRE.finditer(said))
    if "".join(wire[0] for wire in found) == said:
        return tuple((wire[1], int(Decimal(wire[2]) * _PER_M)) for wire in found)
    labels = said.split()
    return tuple((label, taken_mm if len(labels) == 1 else 0) for label in labels)


def gauge_and_colour(cable: str) -> tuple[str, str]:
    """A cable in words taken apart.

    >>> gauge_and_colour("1.0 light green/black"), gauge_and_colour("18 AWG red")
    (('1.0', 'light green/black'), ('18 AWG', 'red'))
    """
    gauge, awg, colour = cable.partition(" AWG ")
    if awg:
        return f"{gauge} AWG", colour
    gauge, _, colour = cable.partition(" ")
    return gauge, colour


def cable_of(note: str) -> str:
    """The cable that a move says it is of, such as `1.0 red`; '' for one that says none.

    >>> cable_of("18 AWG red; wires P1"), cable_of("1.0 red; more taken"), cable_of("more taken")
    ('18 AWG red', '1.0 red', '')
    """
    cable, parted, _ = note.partition("; ")
    return cable if parted else ""
