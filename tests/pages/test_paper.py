"""A printed page has its tables whole, on A4 and on Letter, and none of its controls."""

from pathlib import Path

import pytest

from tests.pages import planted
from tests.pages.measures import overflows
from tests.pages.paper import WHITE, contrast, lay_out_for, printed, table_words
from tests.pages.visits import Visitor
from tests.pages.written import COMMANDS, Written

PAPERS = ("A4", "Letter")
WIDE = "<table><tr>" + "<td style='min-width: 300px'>tide</td>" * 9 + "<td>last</td></tr></table>"
"""Wider than the browser is ready to make small so that it fits."""


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kit", ["demo", "hostile", "long_names", "many"])
@pytest.mark.parametrize("command", COMMANDS)
def test_nothing_is_wider_than_the_paper(
    written: Written, visit: Visitor, command: str, kit: str, paper: str
) -> None:
    page = visit(written.page(command, kit)).page
    lay_out_for(page, paper)
    assert overflows(page, paged=True) == []


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("command", COMMANDS)
def test_every_word_of_the_tables_is_on_the_paper(
    written: Written, visit: Visitor, command: str, paper: str
) -> None:
    page = visit(written.page(command, "demo"), dark=True).page
    words = table_words(page)
    sheets = printed(page, paper)
    assert words
    assert (sheets.lacks(words), sheets.cut_off) == ([], "")


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("command", COMMANDS)
def test_no_letter_is_faint_on_the_paper(
    written: Written, visit: Visitor, command: str, dark: bool
) -> None:
    assert printed(visit(written.page(command, "demo"), dark=dark).page, "A4").faint == ""


def test_planted_faint_letters_are_caught(visit: Visitor, tmp_path: Path) -> None:
    words = "<b>ready</b> <b class='kept'>blocked</b> <i>tide</i>"
    style = "b { color: #fff; background: #000 } .kept { print-color-adjust: exact }"
    assert printed(visit(planted.page(tmp_path, words, style)).page, "A4").faint == "ready"


def test_contrast_is_that_of_the_standard() -> None:
    # WCAG 2.2, "contrast ratio": 1 to 21. G18, whose examples of greys are from memory, unverified.
    assert contrast(WHITE, (0, 0, 0)) == pytest.approx(21)
    assert contrast(WHITE, WHITE) == 1
    assert contrast(WHITE, (0x76, 0x76, 0x76)) == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(
    "body", [WIDE, f"<div style='overflow: auto' tabindex='0'>{WIDE}</div>"], ids=["bare", "region"]
)
def test_a_planted_table_that_is_cut_off_is_caught(
    visit: Visitor, tmp_path: Path, body: str, paper: str
) -> None:
    page = visit(planted.page(tmp_path, planted.GOOD + body)).page
    words = table_words(page)
    sheets = printed(page, paper)
    lay_out_for(page, paper)
    assert overflows(page, paged=True) != []
    assert sheets.lacks(words) or sheets.cut_off


@pytest.mark.parametrize("command", COMMANDS)
def test_no_control_is_printed(written: Written, visit: Visitor, command: str) -> None:
    page = visit(written.page(command, "demo")).page
    page.emulate_media(media="print")
    controls = page.locator("input, select, button, textarea")
    assert [control for control in controls.all() if control.is_visible()] == []
