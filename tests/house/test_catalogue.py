"""The page of the checks is made from the checks; it must not be stale."""

from pathlib import Path

import pytest

from auditor import catalogue
from auditor.checks import CHECKS

PAGE = Path(__file__).parents[2] / "docs" / "checks.md"


def test_the_page_is_fresh() -> None:
    fresh = PAGE.is_file() and PAGE.read_text(encoding="utf-8") == catalogue.page()
    assert fresh, "docs/checks.md is stale; run: python -m auditor.catalogue docs/checks.md"


@pytest.mark.parametrize("id", CHECKS)
def test_an_entry_shows_what_its_example_gives(id: str) -> None:
    entry = catalogue.entry(CHECKS[id])
    assert entry.startswith(f"{id}: ")
    head, _, outcome = entry.partition("What is said of it")
    assert CHECKS[id].example.splitlines()[0] in head
    assert len(outcome.split("\n\n")[1].splitlines()) >= 2
    assert all(len(line) <= catalogue.WIDTH for line in outcome.splitlines())
