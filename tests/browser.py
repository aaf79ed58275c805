"""Chromium, headless, driven as a hand would: by touch, by keys, by what a screen reader reads."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize, sync_playwright

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)

PHONE: ViewportSize = {"width": 390, "height": 844}
TABLET: ViewportSize = {"width": 1280, "height": 800}


@contextmanager
def chromium() -> Iterator[Browser]:
    """The browser of this machine; nothing is downloaded for it."""
    with sync_playwright() as driver:
        # as root (in a container) Chromium's own sandbox cannot be
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@contextmanager
def device(browser: Browser, size: ViewportSize, **how: Any) -> Iterator[BrowserContext]:
    """A phone or a tablet with a memory of its own; `how` as Playwright's contexts take it."""
    context = browser.new_context(viewport=size, has_touch=True, **how)
    yield context
    context.close()


def heard(page: Page) -> list[str]:
    """What the page wrote into the browser's console from now on, faults above all."""
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda fault: said.append(str(fault)))
    return said
