"""What the default run takes of a long row of examples; CI takes them all."""

from collections.abc import Iterable
from typing import Any

import pytest


def one_in(step: int, values: Iterable[Any]) -> list[Any]:
    """One value in so many as it is, the others marked `slow`."""
    return [
        pytest.param(value, marks=pytest.mark.slow) if number % step else value
        for number, value in enumerate(values)
    ]


def examples(few: int, many: int) -> pytest.MarkDecorator:
    """So many drawn examples in the default run, and so many in the slow one."""
    return pytest.mark.parametrize("count", [few, pytest.param(many, marks=pytest.mark.slow)])
