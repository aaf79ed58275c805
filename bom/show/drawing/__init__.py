"""The loom drawn to scale: branches kept apart, labels that do not lie on each other, SVG.

`tree` finds trunk and breakouts, `parts` what goes on one sheet, `place` gives every branch its
straight line and `spread` its direction, `labels` finds room for the words (in `boxes`, by the
`lines`), `layout` puts it together, `svg` draws it all on a sheet, or at full size on pages to be
pinned together; `places` draws what stands in a place.
"""

from bom.show.drawing.parts import LoomPart, in_parts
from bom.show.drawing.places import drawn_place
from bom.show.drawing.svg import Picture, drawn, full_size, overview
from bom.show.drawing.tree import Stretch

__all__ = [
    "LoomPart",
    "Picture",
    "Stretch",
    "drawn",
    "drawn_place",
    "full_size",
    "in_parts",
    "overview",
]
