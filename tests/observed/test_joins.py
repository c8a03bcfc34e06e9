"""The stage at which each observed client stopped, against the one that the audit predicts.

Source of every expectation: observed on hostapd 2.10 / wpa_supplicant 2.10 / dnsmasq 2.90,
November 2026.
"""

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from auditor.audit import audit
from auditor.findings import AuditResult, ModuleResult
from auditor.models.words import Severity
from auditor.reading.fleet import read_fleet
from tests.observed.fleets import cases, write_fleet

CLIENTS = [(case["id"], client) for case in cases().values() for client in case["clients"]]
SOME_OF_MANY = {"stations-over-limit", "pool-too-small", "pool-runs-out"}
"""Findings that stop some of those they concern, nobody can say which."""


def judged(case: dict[str, Any], client: dict[str, Any], folder: Path) -> AuditResult:
    """Audit a client in its kit."""
    file = read_fleet(str(write_fleet(case, client, folder)), environment={})
    return audit(file, datetime(2026, 3, 1))


def predicted(result: AuditResult, module: ModuleResult) -> str | None:
    """Return the stage at which a module is seen to stop, by its own findings or the kit's."""
    if module.shows_at is not None:
        return module.shows_at.value
    index = result.modules.index(module)
    for finding in result.kit_findings:
        if finding.check in SOME_OF_MANY and index in finding.concerns:
            return finding.shows_at.value
    return None


def blocking(module: ModuleResult) -> set[str]:
    """Return the checks that block a module."""
    return {f.check for f in module.findings if f.severity is Severity.FAULT}


@pytest.mark.parametrize(
    ("case_id", "client"), CLIENTS, ids=[f"{id}/{each['settings']['name']}" for id, each in CLIENTS]
)
def test_a_client_stops_where_it_was_seen_to_stop(
    case_id: str, client: dict[str, Any], tmp_path: Path
) -> None:
    result = judged(cases()[case_id], client, tmp_path)
    module = next(each for each in result.modules if each.id == client["settings"]["name"])
    if client["stops_at"] is not None:
        assert predicted(result, module) == client["stops_at"]
    else:
        assert blocking(module) - {"duplicate-static-address"} == set()


def test_of_two_on_one_address_one_was_seen_to_stop() -> None:
    """Which of the two is a matter of who came first: the audit names both."""
    clients = cases()["G-same-static-in-turn"]["clients"]
    stops = [each["stops_at"] for each in clients if each["settings"]["name"] in "ab"]
    assert sorted(stops, key=str) == [None, "address"]


def test_every_observed_client_is_here() -> None:
    assert len(cases()) == 27
    assert len(CLIENTS) == 149
