"""A walk over a page with the Tab key, looking where the focus is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tests.pages.measures import script

if TYPE_CHECKING:
    from playwright.sync_api import Page

LONGEST = 200
"""Stops of a walk: with more, the keyboard is caught in a circle or has far to go."""


@dataclass(frozen=True)
class Stop:
    """An element that has the focus, and what keeps people from seeing that it has."""

    name: str
    faults: tuple[str, ...]


def walk(page: Page) -> Iterator[Stop]:
    """Press Tab until the focus has left the page, and give each stop on the way."""
    for _ in range(LONGEST):
        page.keyboard.press("Tab")
        stop = page.evaluate(script("focus"))
        if stop is None:
            return
        yield Stop(stop["name"], tuple(stop["faults"]))
    raise AssertionError(f"the focus is still on the page after {LONGEST} stops")
