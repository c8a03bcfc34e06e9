"""The browser: Chromium as Debian packages it, driven by Playwright, without a window."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Browser

LIBRARIES = ("playwright", "axe_playwright_python", "pypdfium2")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
"""No sandbox, for it cannot be had as root or in most containers; the pages are our own."""


def why_absent() -> str | None:
    """Say what is missing to open a page and how to get it; None where nothing is missing."""
    missing = [library for library in LIBRARIES if find_spec(library) is None]
    if missing:
        return f"{missing[0]} is not installed: pip install '.[test]'"
    if shutil.which("chromium") is None:
        return "Chromium is not installed: apt install chromium"
    return None


@contextmanager
def started() -> Iterator[Browser]:
    """Start Chromium, and end it with the block."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        yield browser
        browser.close()
