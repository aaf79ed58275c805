"""Colours for the parts of circuits: none twice in a branch, and what they are cut from.

What is wanted, one level after the other: each is the least there is, and held for the next.

- `question`: parts, branches, what is sold and on the shelf in; colours, cuts and levels out
- `money`: what a length costs on the price lists
- `model`: the question as a programme in whole numbers
- `first`: colours at a first look
- `search`: the answer, and how good each level of it is known to be
- `weigh`: what other colours would cost
"""

from bom.buy.colours.money import least_cost
from bom.buy.colours.question import (
    LEVELS,
    Answer,
    CableOffer,
    CircuitPart,
    Level,
    Line,
    LineGoods,
    Question,
)
from bom.buy.colours.search import coloured
from bom.buy.colours.weigh import WeighedColours

__all__ = [
    "LEVELS",
    "Answer",
    "CableOffer",
    "CircuitPart",
    "Level",
    "Line",
    "LineGoods",
    "Question",
    "WeighedColours",
    "coloured",
    "least_cost",
]
