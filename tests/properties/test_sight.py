"""What a check looks at before it finds something is what its stage is said to see."""

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

import pytest
from hypothesis import given, settings

from auditor import audit as asking
from auditor.audit import audit
from auditor.checks.registry import Check
from auditor.findings import Found, Stage
from auditor.reading.fleet import fleet_of_text
from auditor.survey.module import Module
from auditor.survey.sight import SIGHTS, Sight
from tests.kits.faults.planting import Planted, kits_with_faults
from tests.kits.kit import Kit
from tests.properties.test_laws import TODAY
from tests.properties.test_likeness import judged_alone, some_kits
from tests.properties.test_random_kits import KITS
from tests.properties.wild import DOCUMENTS, ENVIRONMENT, text_of

FIELDS = {field.name for field in fields(Module)}
TRAITS = {
    "id": {"id"},
    "hardware_address": {"hardware_address"},
    "address": {"address"},
}
"""Which fields the traits stand for; whether a module is a talker is asked by its position."""
READ_ANYWAY = {"index", "_file"}

looked_at: set[str] = set()


class WatchedModule(Module):
    """A module that takes note of which of its fields are read, and whose it says they are."""

    def __getattribute__(self, name: str) -> Any:
        if name in FIELDS:
            looked_at.add(name)
        return super().__getattribute__(name)

    def says(self, key: str) -> bool:
        looked_at.add(key)
        return super().says(key)


def seen_by(sight: Sight) -> set[str]:
    """Return the fields that a stage is said to see."""
    return {*sight.settings}.union(*(TRAITS[trait] for trait in sight.traits if trait in TRAITS))


def watched(module: Module) -> WatchedModule:
    """Return a module to be asked about; what a survey finds out of its own is not watched."""
    return WatchedModule(**{name: getattr(module, name) for name in FIELDS})


@pytest.fixture(autouse=True)
def every_check_is_watched(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let no check be silent that looked at more of a module than its stage sees."""
    ask = asking._found

    def watching(check: Check, function: Any, whom: str, *arguments: Any) -> list[Found]:
        if check.stage is None or not isinstance(arguments[0], Module):
            return ask(check, function, whom, *arguments)
        module = watched(arguments[0])
        looked_at.clear()
        found = ask(check, function, whom, module, *arguments[1:])
        beyond = looked_at - seen_by(SIGHTS[check.stage]) - READ_ANYWAY
        assert found or not beyond, f"{check.id} looks at {beyond}"
        return found

    monkeypatch.setattr(asking, "_found", watching)
    with judged_alone():
        yield


@settings(some_kits, max_examples=int(KITS or "60"))
@given(kits_with_faults())
def test_no_check_of_a_planted_kit_looks_beyond_the_sight_of_its_stage(
    planting: tuple[Kit, list[Planted]],
) -> None:
    kit, _ = planting
    assert kit.audited().modules


@given(DOCUMENTS)
def test_no_check_of_a_wild_file_looks_beyond_the_sight_of_its_stage(
    document: dict[str, Any],
) -> None:
    assert audit(fleet_of_text(text_of(document), "kit.toml", ENVIRONMENT), TODAY).modules


def test_every_stage_is_said_what_it_sees() -> None:
    assert list(SIGHTS) == list(Stage)
