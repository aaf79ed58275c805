"""Limits in seconds of CPU are those of an idle machine: elsewhere they stretch with all work."""

import re
from pathlib import Path

import pytest

from tests.bench import yardstick
from tests.bench.yardstick import too_long


@pytest.mark.parametrize(
    ("second_s", "cpu_s", "told"),
    [
        (1.5, 5.0, ""),
        (1.5, 7.4, ""),  # 5 s there are 7.5 s here
        (1.5, 7.6, "7.60 s CPU: over 5 s, though all takes 1.50 times as long here"),
        (0.5, 5.0, ""),  # a quicker machine makes no limit shorter
        (0.5, 5.1, "5.10 s CPU: over 5 s, though all takes 1.00 times as long here"),
    ],
)
def test_a_limit_stretches_with_the_yardstick(
    second_s: float, cpu_s: float, told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Five seconds, where a second of work takes so long."""
    monkeypatch.setattr(yardstick, "_taken_s", lambda: second_s)
    assert too_long(cpu_s, 5) == told


def test_the_yardstick_is_of_its_own() -> None:
    """It measures something, and what it measures has nothing of the program in it."""
    assert yardstick.times_as_long() >= 1
    assert "bom" not in Path(yardstick.__file__).read_text()


def test_no_limit_is_laid_on_seconds_alone() -> None:
    """CPU is compared by `too_long` or as the exponent of a growth, never with a figure."""
    alone = re.compile(r"(?:cpu_s|seconds|process_time\(\))[^,<>=:\n]*(?<!-)[<>]=?\s*[\w.]+")
    kept = {"yardstick.py", "growth.py", "test_yardstick.py"}
    here = Path(__file__).parent
    found = [
        (path.name, said[0])
        for path in here.rglob("*.py")
        if path.name not in kept
        for said in alone.finditer(path.read_text(encoding="utf-8"))
    ]
    assert not found
