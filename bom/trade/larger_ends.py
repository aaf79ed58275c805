"""The end style to take where one does not take a wire: what a cure names."""

from collections.abc import Iterable
from fractions import Fraction

from bom.trade.catalogue_rows import BY_SLEEVE, EndStyle, takes
from bom.trade.job_book import Pin
from bom.trade.point_names import is_earth

_ON_STUDS = ("ring", "lug")
"""Shapes for a stud, the thinner cable's first."""
_EYES = (*_ON_STUDS, "fork")
"""Shapes of which several go on one stud."""
_HAVE_STUDS = frozenset(("starter", "solenoid", "motor", "stud"))
_USUAL_STUD = "M6"
"""Of a battery and an earth (common practice)."""


def larger_end(
    ends: Iterable[EndStyle], small: EndStyle, pin: Pin, area_mm2: Fraction, amps: Fraction
) -> str:
    """The style nearest to one too small that takes an area and a current; empty for none.

    On a stud a ring or a lug; elsewhere the same shape, a blade, for a joint in the wire a splice,
    and then a ring or a lug.
    """
    shapes = _shapes(small, pin)
    found = [end for end in ends if _shape(end) in shapes and _suits(end, small, area_mm2, amps)]
    size = small.end.split()[1:]
    best = min(
        found,
        key=lambda end: (
            shapes.index(_shape(end)),
            end.end.split()[1:] not in (size, [_USUAL_STUD]),
        ),
        default=None,
    )
    return best.end if best else ""


def is_eye(style: str) -> bool:
    """True for an end style that goes on a stud, where others have room beside it.

    >>> [is_eye(style) for style in ("ring M6", "lug M8", "bullet joint")]
    [True, True, False]
    """
    return style.split()[0] in _EYES


def _shape(end: EndStyle) -> str:
    return end.end.split()[0]


def _shapes(small: EndStyle, pin: Pin) -> tuple[str, ...]:
    shape = _shape(small)
    if small.housing and small.family != BY_SLEEVE:
        return (shape,)
    stud = is_earth(pin) or not _HAVE_STUDS.isdisjoint(pin.point.casefold().split())
    if stud or shape in _EYES:
        return _ON_STUDS
    return (shape, "blade", *["splice"] * (small.half == "joint"), *_ON_STUDS)


def _suits(end: EndStyle, small: EndStyle, area_mm2: Fraction, amps: Fraction) -> bool:
    """True for an end of the same half, or for a stud, that takes area and current."""
    fits = end.half == small.half or not end.half
    carries = end.amps is None or end.amps >= amps
    return fits and carries and bool(end.max_mm2) and takes(end, area_mm2)


def at_ends(found: Iterable[tuple[Pin, str]]) -> str:
    """New ends of a wire in words: `lug M8 at both ends`, `ring M6 at battery:+`.

    >>> at_ends([(Pin("battery", "+"), "ring M6"), (Pin("fuse", "in"), "blade 9.5")])
    'ring M6 at battery:+ and blade 9.5 at fuse:in'
    """
    pairs = [(pin, style or "larger ends") for pin, style in found]
    if len(pairs) > 1 and len({style for _, style in pairs}) == 1:
        return f"{pairs[0][1]} at both ends"
    return " and ".join(f"{style} at {pin}" for pin, style in pairs)
