"""The words of the tests of checks: what fires on the clean kit with some lines laid over it."""

from datetime import datetime

from auditor.audit import audit
from auditor.checks.examples import fleet_of
from auditor.findings import AuditResult, Finding

TODAY = datetime(2026, 2, 1)
THE_KIT = "the kit"


def audited(lines: str) -> AuditResult:
    """Return the audit of the clean kit with some lines laid over it."""
    return audit(fleet_of(lines), TODAY)


def fired(lines: str) -> dict[str, set[str]]:
    """Return the checks that fire, and on whom: module ids, or the kit."""
    result = audited(lines)
    found: dict[str, set[str]] = {}
    for finding in result.kit_findings:
        found.setdefault(finding.check, set()).add(THE_KIT)
    for module in result.modules:
        for finding in module.findings:
            found.setdefault(finding.check, set()).add(module.id)
    return found


def findings(lines: str, check: str) -> list[Finding]:
    """Return what one check finds, of the kit first and then module by module."""
    return [finding for finding in audited(lines).findings if finding.check == check]
