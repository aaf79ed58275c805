"""What all tests share: which are left out, how examples are drawn, and one solver for all."""

import gc
import os
import shutil
import time
from collections.abc import Iterator
from unittest import mock

import pytest
from hypothesis import HealthCheck, settings

from bom.buy import order
from bom.buy.solver import Solver
from tests.browser import CHROMIUM

HAS_LIBREOFFICE = shutil.which("soffice") is not None
HAS_CHROMIUM = CHROMIUM is not None or "CI" in os.environ  # there it is never left out

# an example may take as long as a busy machine needs, and a run draws what the last one drew
settings.register_profile(
    "steady",
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
settings.load_profile("steady")


def pytest_report_header() -> str:
    """Say whether the tests that open books in LibreOffice and pages in Chromium take part."""
    there = {"LibreOffice": HAS_LIBREOFFICE, "Chromium": HAS_CHROMIUM}
    told = {True: "found", False: "not found, its tests are left out"}
    return ", ".join(f"{name}: {told[found]}" for name, found in there.items())


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what this machine cannot run, and the slow ones unless asked for with -m."""
    chosen = config.getoption("-m")
    left_out = [
        item
        for item in items
        if (item.get_closest_marker("libreoffice") and not HAS_LIBREOFFICE)
        or (item.get_closest_marker("chromium") and not HAS_CHROMIUM)
        or (item.get_closest_marker("slow") and "slow" not in chosen)
    ]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]


def pytest_collection_finish() -> None:
    """What is loaded by now stays: it is not looked through for garbage again and again."""
    gc.freeze()


class PatientSolver(Solver):
    """One child for all orders, each with thirty times its seconds.

    To start a child takes longer than most orders do, and what is proved on an idle machine must
    be proved on a busy one.
    """

    def within(self, seconds: float) -> Solver:
        """The solver for one order."""
        self._deadline = time.monotonic() + 30 * seconds
        return self

    def __exit__(self, *_: object) -> None:
        """The child stays for the next order."""


@pytest.fixture(autouse=True, scope="session")
def patient_solver() -> Iterator[None]:
    """Orders in the tests' own process are bought by the one solver."""
    solver = PatientSolver(0)
    with mock.patch.object(order, "Solver", solver.within):
        yield
    assert not solver._dead, "the child must not die of a question"
    solver._kill()
