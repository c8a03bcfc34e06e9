"""The audit as JSON, format 1: `docs/report.schema.json` describes it."""

import json
from collections.abc import Sequence
from typing import Any

from auditor.findings import AuditResult, Finding, ModuleResult, NotChecked
from auditor.models.places import Place
from auditor.reports.summary import check_counts, verdict_counts

FORMAT = 1


def as_json(result: AuditResult) -> str:
    """Return the report as a JSON text."""
    ids = [module.id for module in result.modules]
    report = {
        "format": FORMAT,
        "kit": {
            "name": result.name,
            "file": result.file,
            "checked_at": result.checked_at.isoformat(timespec="seconds"),
            "modules": len(result.modules),
            "network_inferred": result.network_inferred,
        },
        "summary": _summary(result),
        "kit_findings": [_kit_finding(finding, ids) for finding in result.kit_findings],
        "modules": [_module(module) for module in result.modules],
        "not_checked": [_not_checked(entry) for entry in result.not_checked],
    }
    return json_text(report)


def json_text(value: object) -> str:
    r"""Return a value as a JSON text of printable ASCII characters; others are written \uXXXX.

    Source: RFC 8259, section 7; it lets DELETE stand as it is, which is written \u007f here
    (from memory, unverified).
    """
    text = json.dumps(value, indent=2, ensure_ascii=True, allow_nan=False)
    return text.replace("\x7f", r"\u007f") + "\n"


def _summary(result: AuditResult) -> dict[str, Any]:
    counts: dict[str, Any] = {str(verdict): n for verdict, n in verdict_counts(result).items()}
    return {**counts, "by_check": check_counts(result)}


def _module(module: ModuleResult) -> dict[str, Any]:
    return {
        "id": module.id,
        "verdict": module.verdict,
        "stops_at": module.stops_at,
        "expected_indicator": module.expected_indicator,
        "stages": dict(module.stages),
        "findings": [_finding(finding) for finding in module.findings],
    }


def _kit_finding(finding: Finding, ids: Sequence[str]) -> dict[str, Any]:
    return {**_finding(finding), "concerns": [ids[index] for index in finding.concerns]}


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "check": finding.check,
        "stage": finding.stage,
        "shows_at": finding.shows_at,
        "severity": finding.severity,
        "message": finding.message,
        "figures": dict(finding.figures),
        "remedy": finding.remedy,
        "where": [_place(place) for place in finding.where],
        "source": finding.source,
        "waived": _waived(finding),
    }


def _place(place: Place) -> dict[str, Any]:
    return {"file": place.file, "line": place.line, "column": place.column}


def _waived(finding: Finding) -> dict[str, Any] | None:
    if finding.waived is None:
        return None
    until = finding.waived.until
    return {"reason": finding.waived.reason, "until": until.isoformat() if until else None}


def _not_checked(entry: NotChecked) -> dict[str, Any]:
    return {"stage": entry.stage, "reason": entry.reason, "modules": list(entry.modules)}
