"""Laws for the whole, on kits that are made without asking any check."""

import os
from collections import defaultdict
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from auditor.checks import CHECKS
from auditor.findings import AuditResult, Finding, ModuleResult
from auditor.models.words import Severity
from tests.kits.clean import clean_kits
from tests.kits.faults import FAULTS, PLAN_FAULTS
from tests.kits.faults.planting import (
    Fault,
    PlanFault,
    Planted,
    expected_severity,
    kits_with_fault,
    kits_with_faults,
    kits_with_faults_at_modules,
)
from tests.kits.kit import Kit
from tests.kits.unplanned import kits_without_plan

KITS = os.environ.get("RANDOM_KITS")
"""How many kits to try of each law: others each time; unset, the same 2,000 every time."""

many_kits = settings(
    max_examples=int(KITS or "2000"),
    deadline=None,
    derandomize=KITS is None,
    suppress_health_check=[HealthCheck.too_slow],
)
few_kits = settings(
    max_examples=20,
    deadline=None,
    derandomize=KITS is None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


@many_kits
@given(clean_kits())
def test_a_clean_kit_gives_no_fault_and_no_risk(kit: Kit) -> None:
    assert _grave(kit) == []


@few_kits
@given(kits_without_plan())
def test_a_kit_that_agrees_without_a_plan_gives_no_fault_and_no_risk(kit: Kit) -> None:
    assert _grave(kit) == []


def _grave(kit: Kit) -> list[Finding]:
    return [each for each in kit.audited().findings if each.severity is not Severity.ADVICE]


@many_kits
@given(kits_with_faults())
def test_every_planted_fault_is_found(planting: tuple[Kit, list[Planted]]) -> None:
    kit, planted = planting
    result = kit.audited()
    assert [each for each in planted if not _is_found(each, kit, result)] == []


@many_kits
@given(kits_with_faults_at_modules())
def test_a_fault_changes_nothing_at_a_module_that_it_does_not_touch(
    planting: tuple[Kit, Kit, list[Planted]],
) -> None:
    clean, kit, _ = planting
    before, after = clean.audited().modules, kit.audited().modules
    untouched = list(kit.untouched())
    assert [_standing(after[i]) for i in untouched] == [_standing(before[i]) for i in untouched]


def test_there_is_a_fault_to_plant_for_every_check() -> None:
    planted = {each.check for each in FAULTS} | {each.check for each in PLAN_FAULTS}
    assert planted == set(CHECKS)


@few_kits
@pytest.mark.parametrize(
    "chosen", [*FAULTS, *PLAN_FAULTS], ids=lambda chosen: chosen.plant.__name__.strip("_")
)
@given(data=st.data())
def test_each_fault_alone_is_found(chosen: Fault | PlanFault, data: Any) -> None:
    kit, planted = data.draw(kits_with_fault(chosen))
    assert _is_found(planted, kit, kit.audited())


def _standing(module: ModuleResult) -> tuple[object, ...]:
    """Return how a module stands: verdict, stages, and what was found on it."""
    found = sorted((each.check, each.severity) for each in module.findings)
    return module.verdict, module.stages, found


def _is_found(planted: Planted, kit: Kit, result: AuditResult) -> bool:
    """Say whether a planted fault is found wherever it must be, and as grave as it is."""
    found = _severities(planted.check, result)
    wanted = expected_severity(planted, kit)
    places = planted.at or {None}
    return all(
        wanted in found[place] if wanted is not None else bool(found[place]) for place in places
    )


def _severities(check: str, result: AuditResult) -> dict[int | None, set[str]]:
    """Return how grave the findings of a check are, by module; None is the kit."""
    found: dict[int | None, set[str]] = defaultdict(set)
    found[None].update(each.severity for each in result.kit_findings if each.check == check)
    for index, module in enumerate(result.modules):
        found[index].update(each.severity for each in module.findings if each.check == check)
    return found
