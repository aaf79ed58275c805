"""Cable as an item of an order names it: `cable, 1.0 mm2, red`."""

import re

from bom.files import spelling
from bom.trade.catalogue import Catalogue
from bom.trade.job_book import Colour

_CABLE = re.compile(r"cable(?:,.*)?", re.IGNORECASE)
_WHOLE = re.compile(r"cable,\s*(.+?),\s*([^,]+)", re.IGNORECASE)


def is_cable(item: str) -> bool:
    """True for `cable`, whatever stands behind its comma; a cable tie is none."""
    return _CABLE.fullmatch(item) is not None


def cable_in(item: str, catalogue: Catalogue) -> tuple[str, Colour | None]:
    """Gauge and colour that an item names, '' and None where it names none.

    Raises `Misspelt` where they are not to be read.
    """
    named = _WHOLE.fullmatch(item)
    if named is None:
        return "", None
    return spelling.gauge(named[1], "", catalogue), spelling.colour(named[2], catalogue)
