"""Cutting: which pieces come from which lengths.

Whole millimetres and nothing else: no cable, no money.  `sizes` count the pieces to cut
by their size, `lengths` are what they are cut from; a `Patterns` holds, for each length in
its order, the sizes cut from it.

- `pack`: do all pieces go on the lengths, as far as that is known without a solver?
- `pack_most`: as much of them as goes.
- `open_more`: all of them, on as many lengths as it takes.
- `dealt`: loads that somebody else found, set on the lengths.
- `tidy`: all of them, with the least scrap and the fewest lengths opened.

Where every cut takes a trim, add it to each size and each length: the last piece on a
length needs no cut when it ends where the length does.
"""

from bom.buy.cutting.lengths_and_sizes import Packing, Patterns, Sizes
from bom.buy.cutting.pack import dealt, open_more, pack, pack_most
from bom.buy.cutting.tidy import Tidiness, tidy

__all__ = [
    "Packing",
    "Patterns",
    "Sizes",
    "Tidiness",
    "dealt",
    "open_more",
    "pack",
    "pack_most",
    "tidy",
]
