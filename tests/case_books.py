"""Books of the cases that no `.csv` can be: made when the case runs, so that none is committed."""

from collections.abc import Callable, Mapping
from pathlib import Path

RECIPES: Mapping[str, Callable[[Path], None]] = {}
"""Name in a case's file `books` -> what makes them in its folder."""
