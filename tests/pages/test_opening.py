"""A page opens in silence, asks for nothing, and needs no script."""

from pathlib import Path

import pytest

from tests.pages import planted
from tests.pages.visits import Visitor
from tests.pages.written import COMMANDS, Written

EVERYTHING_ELSE = """() => {
  const said = [];
  const note = event => said.push(event.effectiveDirective);
  document.addEventListener("securitypolicyviolation", note);
  const add = (name, attributes) =>
    document.body.append(Object.assign(document.createElement(name), attributes));
  add("img", {src: "https://gauges.example/tide.png"});
  add("script", {textContent: "window.ran = true"});
  add("iframe", {src: "https://gauges.example/"});
  return new Promise(resolve => setTimeout(() => resolve([window.ran ?? false, said.sort()]), 200));
}"""
"""Adds what a page could load or run, and says whether it ran and what the policy refused."""


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
@pytest.mark.parametrize("command", COMMANDS)
def test_it_says_nothing_and_requests_nothing_but_itself(
    written: Written, visit: Visitor, command: str, script: bool
) -> None:
    file = written.page(command, "demo")
    visited = visit(file, script=script)
    visited.page.wait_for_load_state("networkidle")
    assert (visited.said, visited.requested, visited.asked) == ([], [file.as_uri()], [])


def test_a_planted_page_that_speaks_and_asks_is_caught(visit: Visitor, tmp_path: Path) -> None:
    script = "console.info('hello'); alert('tide'); throw new Error('ebb')"
    body = f"{planted.GOOD}<img src='tide.png' alt=''><script>{script}</script>"
    file = planted.page(tmp_path, body)
    visited = visit(file)
    visited.page.wait_for_load_state("networkidle")
    assert {"hello", "ebb"} <= set(visited.said)
    assert visited.requested == [file.as_uri(), (tmp_path / "tide.png").as_uri()]
    assert visited.asked == ["tide"]


@pytest.mark.parametrize("command", COMMANDS)
def test_its_policy_refuses_everything_from_elsewhere(
    written: Written, visit: Visitor, command: str
) -> None:
    page = visit(written.page(command, "demo")).page
    assert page.evaluate(EVERYTHING_ELSE) == [False, ["frame-src", "img-src", "script-src-elem"]]


def test_a_planted_page_without_a_policy_runs_everything(visit: Visitor, tmp_path: Path) -> None:
    visited = visit(planted.page(tmp_path))
    visited.page.route("https://gauges.example/**", lambda route: route.abort())
    assert visited.page.evaluate(EVERYTHING_ELSE) == [True, []]


def test_it_is_read_without_a_script(written: Written, visit: Visitor) -> None:
    file = written.page("check", "demo")
    with_script, without = (visit(file, script=script).page for script in (True, False))
    assert without.locator("h1").inner_text() == with_script.locator("h1").inner_text()
    assert without.locator("article.module:visible").count() >= 13
    assert without.locator("form, input, select, button").locator("visible=true").count() == 0
    assert with_script.locator("form").is_visible()


def test_the_capacity_page_is_read_without_a_script(written: Written, visit: Visitor) -> None:
    file = written.page("capacity", "demo")
    with_script, without = (visit(file, script=script).page for script in (True, False))
    assert without.locator("main").inner_text() == with_script.locator("main").inner_text() != ""
