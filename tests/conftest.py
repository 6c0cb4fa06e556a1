"""What every folder of tests has: the browser, and the patience of property tests."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator

import hypothesis
import pytest
from playwright.sync_api import Browser, Page, sync_playwright

# A slow machine is no fault of the code. On CI machines Hypothesis has a profile of its own, which
# has no deadline either and draws the same examples every time.
if not os.environ.get("CI"):
    hypothesis.settings.register_profile("patient", deadline=None)
    hypothesis.settings.load_profile("patient")

# Quiet and self-contained: whatever the browser fetches, a page of ours asked for.
CHROMIUM_ARGUMENTS = [
    "--no-sandbox",  # test machines often run as root, where the sandbox refuses to start
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium_path() -> str | None:
    """Return the Chromium to test with: ``CHROMIUM`` names one, else the first installed."""
    names = (os.environ.get("CHROMIUM"), "/usr/bin/chromium", "chromium", "chromium-browser")
    return next((found for name in names if name and (found := shutil.which(name))), None)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Return a running Chromium, one for the whole run.

    Where there is none the test is skipped, but never on a CI machine: there it fails.
    """
    path = chromium_path()
    if path is None:
        lacking = "no Chromium found: install it, or name one in the variable CHROMIUM"
        if os.environ.get("CI"):
            pytest.fail(lacking)
        pytest.skip(lacking)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=CHROMIUM_ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """Return an empty page with storage of its own, at a desk's width, in British English."""
    context = browser.new_context(
        viewport={"width": 1280, "height": 900}, locale="en-GB", timezone_id="Europe/London"
    )
    yield context.new_page()
    context.close()
