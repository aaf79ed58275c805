"""Every complaint of the program stands in a case, word for word."""

import re
from functools import cache
from pathlib import Path

from tests.messages import Template, Walk

CASES = Path(__file__).parent / "cases"

_PLACE = "(?:[^:]+: )?"
LINES = {
    "error": "error: " + _PLACE + "{}(?:; try: .*)?",
    "caution": "caution: " + _PLACE + "{}",
    "either": "(?:error|caution): " + _PLACE + "{}",
    "raise": r"error: (?:.*[:(] ?)?{}\)?",
    "cure": "(?:    try: |.*; try: ){}",
    "usage": "Error: Invalid value: {}",
    "fault": "error: " + _PLACE + "the cell holds {}",
    "why": r"error: .*\({}\)",
}
"""How a text of each kind is printed."""


@cache
def found() -> tuple[list[Template], list[str]]:
    """All templates of the package, and what cannot be followed."""
    return Walk().collected()


def printed() -> str:
    """What all cases print."""
    return "\n".join(path.read_text("utf-8") for path in sorted(CASES.glob("*/expected.txt")))


def uncovered(templates: list[Template], lines: str) -> list[Template]:
    """The templates that no line says."""
    return [
        one
        for one in templates
        if not re.search("^" + LINES[one.kind].format(one.text.pattern) + "$", lines, re.M)
    ]


def test_every_text_can_be_followed() -> None:
    """Of every call that complains the texts can be told from the source."""
    assert found()[1] == []
