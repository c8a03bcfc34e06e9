"""A page of ten thousand modules opens, and says what it folded."""

import pytest

from tests.pages.measures import overflows, structural_faults
from tests.pages.visits import PHONE, Visitor
from tests.pages.written import Written

MOST_ELEMENTS = 60_000
"""With three times as many, an older machine takes seconds to open a page and to filter it."""
PAGES = [("check", "huge"), ("check", "varied"), ("capacity", "huge")]


@pytest.mark.parametrize(("command", "kit"), PAGES)
def test_it_opens(written: Written, visit: Visitor, command: str, kit: str) -> None:
    visited = visit(written.page(command, kit), width=PHONE)
    assert visited.said == []
    assert visited.page.locator("*").count() < MOST_ELEMENTS
    assert overflows(visited.page) == []
    assert structural_faults(visited.page) == []


def test_modules_alike_share_a_row(written: Written, visit: Visitor) -> None:
    page = visit(written.page("check", "huge")).page
    assert "of 10,000 modules" in page.inner_text("h1")
    rows = page.locator("#matrix tbody tr").all_inner_texts()
    assert len(rows) < 30
    assert any("TG-0000001..TG-0000012" in row and "(9,663)" in row for row in rows)


def test_a_module_that_shares_its_row_is_found(written: Written, visit: Visitor) -> None:
    page = visit(written.page("check", "huge")).page
    page.get_by_role("searchbox").fill("tg-0005000")
    (row,) = page.locator("#matrix tbody tr:visible").all_inner_texts()
    assert "ready" in row


def test_what_is_left_out_is_named(written: Written, visit: Visitor) -> None:
    words = visit(written.page("check", "varied")).page.inner_text("#climb")
    assert "more modules are not shown" in words
    assert "--format json" in words
