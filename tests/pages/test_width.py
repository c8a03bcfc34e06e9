"""Nothing on a page is wider than what holds it, on a phone, a tablet and a desktop."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.pages import planted
from tests.pages.measures import overflows, overlaps
from tests.pages.visits import DESKTOP, HEIGHT, PHONE, TABLET, Visitor
from tests.pages.written import COMMANDS, Written

if TYPE_CHECKING:
    from playwright.sync_api import Page

NARROW = 320
"""WCAG 2.2, 1.4.10: at 320 CSS px nobody should have to scroll in two directions."""
WIDTHS = (NARROW, PHONE, TABLET, DESKTOP)
KITS = ("demo", "hostile", "long_names", "many")
LONG = "M" * 300


@pytest.mark.parametrize("kit", KITS)
@pytest.mark.parametrize("command", COMMANDS)
def test_nothing_overflows(written: Written, visit: Visitor, command: str, kit: str) -> None:
    page = visit(written.page(command, kit)).page
    assert at_all_widths(page, overflows) == []


@pytest.mark.parametrize("kit", KITS)
@pytest.mark.parametrize("command", COMMANDS)
def test_no_label_lies_on_another(written: Written, visit: Visitor, command: str, kit: str) -> None:
    page = visit(written.page(command, kit)).page
    assert at_all_widths(page, overlaps) == []


def at_all_widths(page: Page, measure: Callable[[Page], list[str]]) -> list[str]:
    """Return what a measure finds at any width, with the width in CSS pixels."""
    found = []
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": HEIGHT})
        found += [f"at {width}: {sentence}" for sentence in measure(page)]
    return found


def test_every_width_is_tried(visit: Visitor, tmp_path: Path) -> None:
    body = "<p style='width: 1420px'>tide</p>"
    page = visit(planted.page(tmp_path, body, "body { margin: 0 }")).page
    widths = {sentence.split(":")[0] for sentence in at_all_widths(page, overflows)}
    assert widths == {"at 320", "at 360", "at 768"}


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (f"<p>{LONG}</p>", "px wide in a window of 360"),
        (f"<p style='overflow-x: clip; width: 100px'>{LONG}</p>", 'p "MMM'),
        (f"<div style='overflow: auto'><p style='width: 99px'>{LONG}</p></div>", 'p "MMM'),
        (f"<p style='overflow: auto; position: relative; left: 99px'>{LONG}</p>", "outside"),
        ("<a href='#' style='position: absolute; left: -99px'>tide</a>", "outside"),
        (f"<svg width='99' height='20'><text y='15'>{LONG}</text></svg>", "cut off"),
        ("<svg width='99' height='20'><text y='29'>M</text></svg>", "cut off"),
    ],
)
def test_a_planted_overflow_is_caught(visit: Visitor, tmp_path: Path, body: str, said: str) -> None:
    page = visit(planted.page(tmp_path, planted.GOOD + body), width=PHONE).page
    assert said in " ".join(overflows(page))


def test_what_scrolls_in_its_own_region_is_no_overflow(visit: Visitor, tmp_path: Path) -> None:
    region = f"<div style='overflow: auto'>{LONG}</div>"
    page = visit(planted.page(tmp_path, planted.GOOD + region), width=PHONE).page
    assert overflows(page) == []
    assert overflows(page, paged=True) != []


def test_what_comes_into_the_window_when_focused_is_no_overflow(
    visit: Visitor, tmp_path: Path
) -> None:
    style = "a { position: absolute; left: -99px } a:focus { left: 0 }"
    page = visit(planted.page(tmp_path, "<a href='#'>skip</a>", style), width=PHONE).page
    assert overflows(page) == []


def test_planted_labels_that_lie_on_each_other_are_caught(visit: Visitor, tmp_path: Path) -> None:
    labels = "<text y='15'>pool</text><text y='40'>gateway</text><text x='5' y='17'>logger</text>"
    page = visit(planted.page(tmp_path, f"<svg width='99' height='50'>{labels}</svg>")).page
    assert overlaps(page) == ['"pool" and "logger" overlap']
