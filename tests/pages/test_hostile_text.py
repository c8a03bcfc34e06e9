"""Text of a fleet file is text on the page, whatever it looks like."""

from pathlib import Path

import pytest

from auditor.reports.escaping import on_one_line
from tests.pages import planted
from tests.pages.kits import HOSTILE_IDS, MARKUP
from tests.pages.visits import Visitor
from tests.pages.written import COMMANDS, Written

RAW = r"""() => [...document.documentElement.innerHTML]
  .filter(letter => letter !== "\n" && /[\p{Cc}\p{Cf}]/u.test(letter))"""
"""The control and format characters of a page (Unicode 15, general categories Cc and Cf)."""


@pytest.mark.parametrize("command", COMMANDS)
def test_nothing_in_a_name_runs(written: Written, visit: Visitor, command: str) -> None:
    file = written.page(command, "hostile")
    visited = visit(file)
    visited.page.wait_for_load_state("networkidle")
    assert (visited.asked, visited.said, visited.requested) == ([], [], [file.as_uri()])
    assert visited.page.locator("[onload], [onerror], main script").count() == 0


@pytest.mark.parametrize("command", COMMANDS)
def test_markup_is_read_as_it_was_written(written: Written, visit: Visitor, command: str) -> None:
    page = visit(written.page(command, "hostile")).page
    assert MARKUP in page.inner_text("h1")
    assert MARKUP in page.title()


def test_every_id_is_read_as_it_was_written(written: Written, visit: Visitor) -> None:
    words = visit(written.page("check", "hostile")).page.inner_text("main")
    assert [id for id in HOSTILE_IDS if on_one_line(id) not in words] == []


@pytest.mark.parametrize("command", COMMANDS)
def test_no_control_character_is_left(written: Written, visit: Visitor, command: str) -> None:
    assert visit(written.page(command, "hostile")).page.evaluate(RAW) == []


def test_a_planted_page_that_believes_its_names_is_caught(visit: Visitor, tmp_path: Path) -> None:
    visited = visit(planted.page(tmp_path, f"<h1>{MARKUP}</h1><p>\x1b[31m \u202e</p>"))
    assert visited.asked == ["1"]
    assert MARKUP not in visited.page.inner_text("h1")
    assert visited.page.evaluate(RAW) == ["\x1b", "\u202e"]
