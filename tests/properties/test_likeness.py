"""What is judged once for modules that fare alike is what each would be told alone."""

from collections.abc import Collection, Hashable, Iterator
from contextlib import contextmanager
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.findings import AuditResult, Stage
from auditor.reading.fleet import fleet_of_text
from auditor.survey.addressing import Addressing
from auditor.survey.kit import Survey
from auditor.survey.likeness import Group, Traits
from auditor.survey.sight import Sightings
from tests.kits.faults.planting import Planted, kits_with_faults
from tests.kits.kit import Kit
from tests.properties.test_laws import TODAY
from tests.properties.test_random_kits import KITS
from tests.properties.wild import ADDRESS, DOCUMENTS, ENVIRONMENT, HARDWARE, text_of

some_kits = settings(max_examples=int(KITS or "300"), suppress_health_check=[HealthCheck.too_slow])
TWINS = st.lists(
    st.fixed_dictionaries(
        {"id": st.integers(0, 9).map(lambda number: f"TG-0{number}")},
        optional={"address": ADDRESS, "hardware_address": HARDWARE},
    ),
    min_size=1,
    max_size=6,
)


def each_alone(kit: Addressing, talkers: Collection[int] | None) -> tuple[Group, ...]:
    """Return every module in a group of its own, with nothing in common with another."""
    return tuple(
        Group(kit.modules[index], (index,), Traits(index, index, index, index, index))
        for index in kit.everyone
    )


def all_of_it(_: Sightings, group: Group, stage: Stage | None) -> Hashable:
    """Return what is seen of a group by checks that look at all of it."""
    return group.traits, stage


@contextmanager
def judged_alone() -> Iterator[None]:
    """Let every check be asked of every module."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("auditor.survey.kit.groups", each_alone)
        patch.setattr(Sightings, "of", all_of_it)
        yield


def with_twins(document: dict[str, Any], twins: list[dict[str, Any]]) -> dict[str, Any]:
    """Return a document with more modules that are set up as the first one is."""
    document = deepcopy(document)
    first = document["module"][0]
    document["module"] += [{**first, **twin} for twin in twins]
    return document


def as_told(result: AuditResult) -> tuple[Any, ...]:
    """Return a result for comparison: whom a finding concerns may be a range."""
    of_kit = [(repr(found.message), list(found.concerns), found.where) for found in result.findings]
    return result.modules, of_kit, result.not_checked


@given(DOCUMENTS, TWINS)
def test_modules_that_fare_alike_are_told_what_each_is_told_alone(
    document: dict[str, Any], twins: list[dict[str, Any]]
) -> None:
    file = fleet_of_text(text_of(with_twins(document, twins)), "kit.toml", ENVIRONMENT)
    together = audit(file, TODAY)
    with judged_alone():
        alone = audit(file, TODAY)
    assert as_told(together) == as_told(alone)


@some_kits
@given(kits_with_faults())
def test_a_planted_kit_is_told_the_same_together_and_alone(
    planting: tuple[Kit, list[Planted]],
) -> None:
    kit, _ = planting
    together = kit.audited()
    with judged_alone():
        alone = kit.audited()
    assert as_told(together) == as_told(alone)


def test_modules_of_one_setting_and_ordinary_addresses_are_one_group() -> None:
    rows = [f'[[module]]\nid = "TG-{n}"\naddress = "10.20.0.{n}"' for n in range(10, 40)]
    plan = '[network]\nname = "saltmarsh-gauges"\n[network.ipv4]\nsubnet = "10.20.0.0/24"\n'
    file = fleet_of_text(plan + "\n".join(rows), "kit.toml", {})
    assert [len(group.indexes) for group in Survey(file, TODAY.date()).groups] == [30]
