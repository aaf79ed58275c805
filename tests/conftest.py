"""What all tests share: LibreOffice tests run where LibreOffice is, and say so where not."""

import shutil

import pytest

HAS_LIBREOFFICE = shutil.which("soffice") is not None


def pytest_report_header() -> str:
    """Say whether the tests that open books in LibreOffice take part."""
    return "LibreOffice: " + ("found" if HAS_LIBREOFFICE else "not found, its tests are left out")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what this machine cannot run, and the slow ones unless asked for with -m."""
    chosen = config.getoption("-m")
    left_out = [
        item
        for item in items
        if (item.get_closest_marker("libreoffice") and not HAS_LIBREOFFICE)
        or (item.get_closest_marker("slow") and "slow" not in chosen)
    ]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]
