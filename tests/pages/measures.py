"""What a script measures on an open page: sentences, and none where all is well."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

STANDARDS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
"""The tags of axe-core for WCAG 2.0, 2.1 and 2.2 at the levels A and AA, and for good practice."""


def overflows(page: Page, paged: bool = False) -> list[str]:
    """Say what is wider than what holds it; on paged media nothing scrolls, and so nothing may."""
    found: list[str] = page.evaluate(script("overflow"), paged)
    return found


def overlaps(page: Page) -> list[str]:
    """Say which labels of a picture lie on each other."""
    found: list[str] = page.evaluate(script("overlap"))
    return found


def structural_faults(page: Page) -> list[str]:
    """Say what is wrong with ids, links, headings, and names of pictures."""
    found: list[str] = page.evaluate(script("structure"))
    return found


def barriers(page: Page) -> list[str]:
    """Say what axe-core finds that keeps somebody from using the page."""
    from axe_playwright_python.sync_playwright import Axe

    options = {"runOnly": list(STANDARDS), "resultTypes": ["violations"]}
    results = Axe().run(page, options=options)
    return [
        f"{violation['id']}: {node['html'][:120]}: {node['failureSummary']}"
        for violation in results.response["violations"]
        for node in violation["nodes"]
    ]


def script(name: str) -> str:
    """Return the script of a measure: a function, to be called on the page."""
    return (Path(__file__).parent / f"{name}.js").read_text(encoding="utf-8")
