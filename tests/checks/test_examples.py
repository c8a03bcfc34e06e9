"""Every check's own example: a planted fault in a clean kit, which fires that check alone."""

from datetime import datetime

import pytest

from auditor.audit import audit
from auditor.checks import CHECKS
from auditor.examples import fleet_of
from auditor.models.words import Severity

TODAY = datetime(2026, 2, 1)

FOLLOWS: dict[str, set[str]] = {
    "airtime-high": {"broadcast-waits-for-beacon"},
}
"""What else honestly follows from an example, by the check that the example is for."""

GRAVER = {"destination-unassigned": Severity.FAULT}
"""Examples that are graver than usual: the clean kit lists its hosts, which makes this a fault."""


def fired(lines: str) -> dict[str, set[str]]:
    """Return the checks that fire on the clean kit with some lines laid over it, and where."""
    result = audit(fleet_of(lines), TODAY)
    found: dict[str, set[str]] = {}
    for finding in result.kit_findings:
        found.setdefault(finding.check, set()).add("the kit")
    for module in result.modules:
        for finding in module.findings:
            found.setdefault(finding.check, set()).add(module.id)
    return found


def test_the_clean_kit_gives_nothing_and_leaves_nothing_unchecked() -> None:
    result = audit(fleet_of(""), TODAY)
    assert result.findings == ()
    assert result.not_checked == ()
    assert {module.verdict for module in result.modules} == {"ready"}


@pytest.mark.parametrize("id", CHECKS)
def test_an_example_fires_its_check_and_nothing_that_does_not_follow(id: str) -> None:
    assert set(fired(CHECKS[id].example)) == {id} | FOLLOWS.get(id, set())


@pytest.mark.parametrize("id", CHECKS)
def test_an_example_fires_at_the_severity_that_the_catalogue_names(id: str) -> None:
    result = audit(fleet_of(CHECKS[id].example), TODAY)
    severities = {finding.severity for finding in result.findings if finding.check == id}
    assert GRAVER.get(id, CHECKS[id].severity) in severities
