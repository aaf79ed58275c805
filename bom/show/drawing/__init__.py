"""The loom drawn to scale: branches kept apart, labels that do not lie on each other, SVG.

`tree` finds trunk and breakouts, `place` gives every branch its straight line, `labels` finds
room for the words, `svg` draws it all on a sheet, or at full size on pages to be pinned together.
"""

from bom.show.drawing.svg import Picture, drawn, full_size
from bom.show.drawing.tree import Stretch

__all__ = ["Picture", "Stretch", "drawn", "full_size"]
