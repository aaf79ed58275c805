"""A pin of its own for a wire that shares one: what it would be called, and what passes to it."""

import re
from itertools import count

from bom.reckon.net import Net
from bom.trade.job_book import Pin
from bom.trade.point_names import is_earth
from bom.trade.wires import WireEnd


def pin_of_its_own(net: Net, end: WireEnd, nth: int = 0) -> tuple[str, str]:
    """A free pin with the cell to type it in, and what to add under `passes` for it, if anything.

    Of several asked for at one pin the `nth`, from 0.
    """
    pin = end.pin
    own = _free_pin(net, pin, nth)
    cell = end.wire.row.where(end.heading.removesuffix(" end")).cell
    return f"{pin.point}:{own} in {cell}", _passed(net, end, own)


def _free_pin(net: Net, pin: Pin, nth: int) -> str:
    """A pin that no wire uses yet, called after one: `+ 2` after `+`, `5` after earth 4."""
    bare = re.sub(r" \d+$", "", pin.pin)
    numbers = map(str, count(2))
    names = numbers if is_earth(pin) and bare.isdigit() else (f"{bare} {n}" for n in numbers)
    free = (name for name in names if name not in net.pins[pin.point])
    return [next(free) for _ in range(nth + 1)][-1]


def _passed(net: Net, end: WireEnd, own: str) -> str:
    """The way to the new pin, where the component would join it with the old one no more."""
    pin = end.pin
    through = pin in net.starting and pin in net.arriving
    through |= net.passing(pin.point) == "named" and pin.pin in net.passes(pin.point).named
    if not through or net.passing(pin.point) == "all" or pin.point in net.sources:
        return ""
    way = f"{pin.pin} > {own}" if end.heading == "from end" else f"{own} > {pin.pin}"
    return f", with {way} added under passes"
