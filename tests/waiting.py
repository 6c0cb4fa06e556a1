"""Wait in a test until a page has come to be as expected."""

from __future__ import annotations

import time

from playwright.sync_api import Page

_PAUSE_MS = 50


def wait_until(page: Page, expression: str, *, timeout_s: float = 10.0) -> None:
    """Evaluate a JavaScript expression again and again until it is true.

    The browser's own waiting (``wait_for_function``) evaluates text inside the page whenever
    the first look is not enough, which the site's content security policy forbids: it works
    on a quick machine and fails on a slow one. Each look from here is a call of the debugger,
    which the policy does not concern.

    Raises
    ------
    AssertionError
        When the expression is still false after `timeout_s` seconds.
    """
    end = time.monotonic() + timeout_s
    while not page.evaluate(expression):
        assert time.monotonic() < end, f"still not so after {timeout_s} s: {expression}"
        page.wait_for_timeout(_PAUSE_MS)
