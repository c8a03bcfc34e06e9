"""Everything on a page is reached with the keyboard, and one sees where one is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.pages import planted
from tests.pages.keyboard import walk
from tests.pages.visits import DESKTOP, PHONE, Visitor
from tests.pages.written import COMMANDS, Written

if TYPE_CHECKING:
    from playwright.sync_api import Page

FOCUSABLE = "a[href], button, input, select, textarea, summary, [tabindex='0']"


@pytest.mark.parametrize(("width", "dark"), [(PHONE, False), (DESKTOP, False), (DESKTOP, True)])
@pytest.mark.parametrize("command", COMMANDS)
def test_the_focus_goes_everywhere_and_is_seen(
    written: Written, visit: Visitor, command: str, width: int, dark: bool
) -> None:
    page = visit(written.page(command, "demo"), width=width, dark=dark).page
    stops = list(walk(page))
    reachable = [each for each in page.locator(FOCUSABLE).all() if each.is_visible()]
    assert [stop for stop in stops if stop.faults] == []
    assert len(stops) >= len(reachable) > 0


@pytest.mark.parametrize("command", COMMANDS)
def test_the_first_stop_skips_to_the_content(
    written: Written, visit: Visitor, command: str
) -> None:
    page = visit(written.page(command, "demo")).page
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.querySelector(location.hash)?.closest('main') !== null")


@pytest.mark.parametrize(
    ("body", "style", "said"),
    [
        ("<button>go</button>", ":focus { outline: none }", "its outline is none"),
        ("<button>go</button>", ":focus { outline: 1px solid #000 }", "solid 1px"),
        ("<button>go</button>", ":focus { outline: 3px solid #ddd }", "a contrast of 1."),
        (
            "<button>go</button><div class='over'></div>",
            ":focus { outline: 3px solid #000 } .over { position: fixed; inset: 0 }",
            "div hides it",
        ),
    ],
)
def test_a_planted_focus_that_is_not_seen_is_caught(
    visit: Visitor, tmp_path: Path, body: str, style: str, said: str
) -> None:
    (stop,) = walk(visit(planted.page(tmp_path, planted.GOOD + body, style)).page)
    assert len(stop.faults) == 1
    assert said in stop.faults[0]


def test_a_planted_focus_that_is_seen_is_not(visit: Visitor, tmp_path: Path) -> None:
    style = ":focus-visible { outline: 2px solid #06c }"
    (stop,) = walk(visit(planted.page(tmp_path, "<button>go</button>", style)).page)
    assert stop.faults == ()


def test_a_planted_trap_is_caught(visit: Visitor, tmp_path: Path) -> None:
    body = "<button onkeydown='event.preventDefault()'>go</button><button>on</button>"
    with pytest.raises(AssertionError, match="still on the page after"):
        list(walk(visit(planted.page(tmp_path, body)).page))


def test_typing_keeps_the_modules_that_fit(written: Written, visit: Visitor) -> None:
    page = visit(written.page("check", "demo")).page
    go_to(page, "find")
    page.keyboard.type("reversed capacitor")
    assert (rows(page), sections(page)) == (["TG-25"], ["TG-25"])
    assert "1 of" in page.get_by_role("status").inner_text()
    page.keyboard.type(" and nothing else")
    assert rows(page) == []
    assert page.get_by_text("No module fits").is_visible()


def test_a_verdict_is_taken_away_and_comes_back(written: Written, visit: Visitor) -> None:
    page = visit(written.page("check", "demo")).page
    go_to(page, "find")
    everything = rows(page)
    while not page.evaluate("document.activeElement.value === 'blocked'"):
        page.keyboard.press("Tab")
    page.keyboard.press("Space")
    assert "TG-25" not in rows(page)
    assert "TG-09" in rows(page)
    page.keyboard.press("Space")
    assert rows(page) == everything


def test_the_order_is_chosen(written: Written, visit: Visitor) -> None:
    page = visit(written.page("check", "demo")).page
    by_gravity = rows(page)
    go_to(page, "order")
    page.keyboard.press("ArrowDown")
    assert rows(page) != by_gravity
    page.keyboard.press("ArrowUp")
    assert rows(page) == by_gravity


def test_a_link_leads_to_what_the_filter_hides(written: Written, visit: Visitor) -> None:
    page = visit(written.page("check", "demo")).page
    go_to(page, "find")
    page.keyboard.type("TG-25")
    page.evaluate("location.hash = '#module-TG-04'")
    page.locator("#module-TG-04").wait_for(state="visible")


def go_to(page: Page, id: str) -> None:
    """Press Tab until the element with an id has the focus."""
    while page.evaluate("document.activeElement.id") != id:
        page.keyboard.press("Tab")


def rows(page: Page) -> list[str]:
    """Return what the rows of the matrix that are shown are called."""
    return page.locator("#matrix tbody tr:visible th").all_inner_texts()


def sections(page: Page) -> list[str]:
    """Return the headings of the sections that are shown."""
    return page.locator("#modules h3:visible").all_inner_texts()
