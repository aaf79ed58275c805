"""Stand-in."""

from collections.abc import Sequence


def with_sheet(data: bytes, file: str, name: str, headings: Sequence[str]) -> bytes:
    """Stand-in."""
    raise AssertionError
