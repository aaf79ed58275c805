"""The words of cutting: sizes to cut, and loads of the lengths they are cut from."""

from collections.abc import Mapping
from dataclasses import dataclass

Sizes = Mapping[int, int]
"""Pieces to cut: how many, by size in mm."""

Loads = tuple[tuple[int, ...], ...]
"""What is cut from each length, in the order of the lengths; sizes in mm, falling."""


@dataclass(frozen=True, slots=True)
class Packing:
    """The loads, or None where none were found; `proved` False: that is not known for sure."""

    loads: Loads | None
    proved: bool
