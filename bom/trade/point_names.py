"""What the name of a point or pin tells: a battery, an earth, a fuse."""

import re
from functools import lru_cache

from bom.trade.job_book import Pin

_BATTERY = re.compile(
    r"battery(?:\s*(?:[+-]|pos|positive|neg|negative|plus|minus|\d+)(?=\s|\d|[+-]|$))*"
)

EARTHS = frozenset(("earth", "earthing", "ground", "frame", "chassis", "31"))
"""What a pin at an earth is called."""

_EARTH_POINT = re.compile(
    r"(?:.* )?(?:earth|earthing|ground|frame|chassis)"
    r"(?: (?:stud|bolt|screw|point|post|tag|splice|joint|connector|strap|bar|block|[a-z]|\d+))*"
)
"""A name that ends in an earth; what it is made as, a letter or a number may follow."""

_FUSES = frozenset(("fuse", "fuses", "fusebox", "fuseboxes"))


@lru_cache(maxsize=100_000)
def is_battery(name: str) -> bool:
    """True for a battery: after the first word only a pole or a number may follow.

    >>> is_battery("Battery"), is_battery("battery 2 +"), is_battery("battery box")
    (True, True, False)
    """
    words = " ".join(name.casefold().split())
    return words.startswith("battery") and _BATTERY.fullmatch(words) is not None


@lru_cache(maxsize=100_000)
def is_earth(pin: Pin) -> bool:
    """True for a battery, and for an end named as an earth; a lamp called `left 31` is none.

    >>> [is_earth(Pin(*end)) for end in (("frame earth", "2"), ("lamp", "31"), ("left 31", ""))]
    [True, True, False]
    """
    if is_battery(pin.point):
        return True
    names = (" ".join(text.casefold().replace("-", " ").split()) for text in pin)
    return any(name == "31" or _EARTH_POINT.fullmatch(name) for name in names)


def is_fuse(point: str) -> bool:
    """True for a point called a fuse, a fuse box or a fuse panel."""
    return not _FUSES.isdisjoint(point.casefold().split())
