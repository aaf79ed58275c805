"""Stand-in."""

from collections.abc import Sequence

from bom.problem import Where
from bom.stockbook.edits import Edit, NewRow


def relined(data: bytes, where: Where, edits: Sequence[Edit], rows: Sequence[NewRow]) -> bytes:
    """Stand-in."""
    raise AssertionError
