"""What the tests of the pages share: one browser, the pages, and visits that end with the test."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import ExitStack
from typing import TYPE_CHECKING

import pytest

from tests.pages.chromium import started, why_absent
from tests.pages.visits import Visitor
from tests.pages.written import Written

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A browser for all tests; where there is none they skip, or fail if REQUIRE_BROWSER is set."""
    reason = why_absent()
    if reason:
        (pytest.fail if os.environ.get("REQUIRE_BROWSER") else pytest.skip)(reason)
    with started() as browser:
        yield browser


@pytest.fixture(scope="session")
def written(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Written:
    """The pages that the command line writes; none is written where no browser could open it."""
    return Written(tmp_path_factory.mktemp("pages"))


@pytest.fixture
def visit(browser: Browser) -> Iterator[Visitor]:
    """Opens pages, and closes them at the end of the test."""
    with ExitStack() as closing:
        yield Visitor(browser, closing)
