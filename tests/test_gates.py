"""The share of lines and branches that CI demands, on a package small enough to count by hand."""

import runpy
from pathlib import Path

import pytest
from coverage import Coverage

from tests import gates

TINY = """\
def larger(one, other):
    if one > other:
        return one
    return other
"""


@pytest.fixture
def measured(tmp_path: Path) -> Coverage:
    """A package of two modules: `whole` with both ways taken, `half` with one."""
    for name in ("whole", "half"):
        (tmp_path / "bom").mkdir(exist_ok=True)
        (tmp_path / "bom" / f"{name}.py").write_text(TINY, encoding="utf-8")
    coverage = Coverage(data_file=None, branch=True, config_file=False, include=[f"{tmp_path}/*"])
    for name, pairs in (("whole", [(1, 2), (2, 1)]), ("half", [(1, 2)])):
        coverage.start()
        larger = runpy.run_path(str(tmp_path / "bom" / f"{name}.py"))["larger"]
        for pair in pairs:
            larger(*pair)
        coverage.stop()
    return coverage


def test_the_share_of_a_group_is_counted_over_its_modules(measured: Coverage) -> None:
    """Four lines and two branches each: `half` has 3 + 1 of 6, both together 10 of 12."""
    groups = {"good": ("whole",), "poor": ("half",), "both": ("whole", "half")}
    found = gates.shares(measured, groups)
    assert found == pytest.approx({"good": 100, "poor": 100 * 4 / 6, "both": 100 * 10 / 12})


def test_a_share_below_what_is_demanded_is_named() -> None:
    """95 is enough, a hair less is not, and then the group says so."""
    assert gates.verdicts({"stages": 95.0}) == (["stages: 95.0 % of lines and branches"], True)
    lines, enough = gates.verdicts({"stages": 97.0, "stockbook": 94.9})
    assert not enough
    assert lines[1] == "stockbook: 94.9 % of lines and branches, where 95 % are demanded"


def test_every_module_that_is_named_is_there() -> None:
    """A module that was renamed would be demanded no more without anybody noticing."""
    package = Path(gates.__file__).parent.parent / "bom"
    for name in (name for names in gates.GROUPS.values() for name in names):
        assert (package / f"{name}.py").exists() or (package / name).is_dir(), name
