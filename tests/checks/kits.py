"""The words of the tests of checks: what fires on the clean kit with some lines laid over it."""

import json
from datetime import datetime

from auditor.audit import audit
from auditor.examples import fleet_of
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


def severities(lines: str, check: str) -> dict[str, str]:
    """Return how grave one check finds each module, or the kit."""
    result = audited(lines)
    on = {THE_KIT: result.kit_findings} | {each.id: each.findings for each in result.modules}
    return {
        whom: finding.severity.value
        for whom, listed in on.items()
        for finding in listed
        if finding.check == check
    }


def module(id: str, **settings: str | int | bool) -> str:
    """Return lines that set a module otherwise, or add one."""
    written = [f"{key} = {json.dumps(value)}" for key, value in {"id": id, **settings}.items()]
    return "\n".join(["[[module]]", *written, ""])
