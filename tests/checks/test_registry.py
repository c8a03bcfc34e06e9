"""What makes a function a check: what its docstring has to say, and where a finding belongs."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from auditor.checks import CHECKS
from auditor.checks.registry import Scope, check, functions, part_of
from auditor.findings import Found, Stage
from auditor.models.words import Severity

WHOLE = """A rope is loose.

It may slip.

Mend: Pull it tight.

Example:
    [kit]
    name = "ropes"
"""
PARTS = ("A rope is loose.", "It may slip.", "Mend: Pull it tight.", "Example:\n")


@pytest.fixture
def _no_new_checks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep what a test registers out of the other tests."""
    monkeypatch.setattr("auditor.checks.registry.CHECKS", dict(CHECKS))


def rope_loose() -> Iterator[Found]:
    yield Found("A rope is loose.", "Pull it tight.", ())


@pytest.mark.usefixtures("_no_new_checks")
@pytest.mark.parametrize("missing", PARTS)
def test_a_docstring_without_one_of_its_parts_is_refused(
    missing: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rope_loose, "__doc__", WHOLE.replace(missing, "", 1))
    with pytest.raises(ValueError, match=r"^the docstring of rope-loose lacks a title, a reason"):
        check(Stage.RECORD, Severity.RISK, "common practice, no source")(rope_loose)


@pytest.mark.usefixtures("_no_new_checks")
def test_an_id_is_taken_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rope_loose, "__doc__", WHOLE)
    register = check(Stage.RECORD, Severity.RISK, "common practice, no source")
    assert register(rope_loose) is rope_loose
    with pytest.raises(ValueError, match=r"^two checks are called rope-loose$"):
        register(rope_loose)


@pytest.mark.usefixtures("_no_new_checks")
def test_a_further_part_is_asked_in_its_own_scope(monkeypatch: pytest.MonkeyPatch) -> None:
    def of_the_kit() -> Iterator[Found]:
        yield Found("The ropes are loose.", "Pull them tight.", ())

    monkeypatch.setattr(rope_loose, "__doc__", WHOLE)
    check(Stage.RECORD, Severity.RISK, "common practice, no source")(rope_loose)
    assert part_of("rope-loose", Scope.KIT)(of_the_kit) is of_the_kit
    asked = {
        scope: [function for each, function in functions(scope) if each.id == "rope-loose"]
        for scope in Scope
    }
    assert asked == {Scope.MODULE: [rope_loose], Scope.KIT: [of_the_kit], Scope.CLOSING: []}


def test_a_finding_belongs_to_a_stage() -> None:
    known = CHECKS["odd-one-out"]
    nowhere = replace(known, stage=None)
    found = Found("A rope is loose.", "Pull it tight.", (), stage=Stage.KEYS)
    assert nowhere.finding(found, None).stage is Stage.KEYS
    with pytest.raises(ValueError, match=r"^odd-one-out found something at no stage$"):
        nowhere.finding(replace(found, stage=None), None)
