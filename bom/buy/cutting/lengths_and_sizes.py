"""The words of cutting: sizes to cut, and loads of the lengths they are cut from."""

from collections.abc import Mapping

from msgspec import Struct

Sizes = Mapping[int, int]
"""Pieces to cut: how many, by size in mm."""

Patterns = tuple[tuple[int, ...], ...]
"""What is cut from each length, in the order of the lengths; sizes in mm, falling."""


class Packing(Struct, frozen=True):
    """The loads, or None where none were found; `proved` False: that is not known for sure."""

    loads: Patterns | None
    proved: bool
