"""What CI demands of the coverage: a plugin of pytest, `-p tests.gates`, beside `--cov`.

It is a plugin so that the runner's own closing line stays the last one, and so that the share of
each group is demanded, not that of the package.  A share below fails the run.
"""

import io
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from coverage import Coverage

LEAST_PERCENT = 95.0
STAGES = (
    *("read", "measure", "current", "supply", "ends", "size", "check", "takeoff", "allot", "buy"),
    *("cutting", "cut", "price", "doubt", "figures", "net", "words", "parts"),
)
GROUPS = {"stages": STAGES, "stockbook": ("stockbook", "moves")}


def shares(coverage: "Coverage", groups: Mapping[str, Sequence[str]]) -> dict[str, float]:
    """Per cent of the lines and branches of each group of modules and rooms that were reached."""
    return {
        group: coverage.report(
            include=[f"*/bom/{name}{rest}" for name in names for rest in (".py", "/*.py")],
            omit=[],
            file=io.StringIO(),
        )
        for group, names in groups.items()
    }


def verdicts(found: Mapping[str, float], least: float = LEAST_PERCENT) -> tuple[list[str], bool]:
    """A line for each group, and whether all have enough."""
    lines = [
        f"{group}: {share:.1f} % of lines and branches"
        + ("" if share >= least else f", where {least:g} % are demanded")
        for group, share in found.items()
    ]
    return lines, all(share >= least for share in found.values())


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Fail a run whose coverage is too low; the workers of a run have only parts of it."""
    measured = session.config.pluginmanager.getplugin("_cov")
    if hasattr(session.config, "workerinput") or measured is None:
        return
    from coverage import Coverage

    coverage = Coverage()
    coverage.load()
    lines, enough = verdicts(shares(coverage, GROUPS))
    session.config.stash[_LINES] = lines
    if not enough and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the shares above the closing line."""
    for line in terminalreporter.config.stash.get(_LINES, []):
        terminalreporter.write_line(line)


_LINES = pytest.StashKey[list[str]]()
