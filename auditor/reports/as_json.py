"""The audit as JSON, format 1: `docs/report.schema.json` describes it."""

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from auditor.findings import AuditResult, Finding, ModuleResult, NotChecked, Standing
from auditor.models.places import Place
from auditor.reports.summary import check_counts, verdict_counts

FORMAT = 1
_ENCODER = json.JSONEncoder(indent=2, ensure_ascii=True, allow_nan=False)


def as_json(result: AuditResult) -> Iterator[str]:
    """Give the report as a JSON text, piece by piece: a kit may have a million modules."""
    ids = [module.id for module in result.modules]
    kit = {
        "name": result.name,
        "file": result.file,
        "checked_at": result.checked_at.isoformat(timespec="seconds"),
        "modules": len(result.modules),
        "network_inferred": result.network_inferred,
    }
    yield f'{{\n  "format": {FORMAT},\n  "kit": {_text(kit, 2)},\n'
    yield f'  "summary": {_text(_summary(result), 2)},\n'
    of_kit = [_kit_finding(finding, ids) for finding in result.kit_findings]
    yield f'  "kit_findings": {_text(of_kit, 2)},\n  "modules": ['
    yield from _modules(result.modules)
    not_checked = [_not_checked(entry) for entry in result.not_checked]
    yield f'],\n  "not_checked": {_text(not_checked, 2)}\n}}\n'


def json_text(value: object) -> str:
    r"""Return a value as a JSON text of printable ASCII characters; others are written \uXXXX.

    Source: RFC 8259, section 7; it lets DELETE stand as it is, which is written \u007f here
    (from memory, unverified).
    """
    return _text(value, 0) + "\n"


def _text(value: object, indent: int) -> str:
    """Return a value as JSON whose further lines are set in by some blanks."""
    text = _ENCODER.encode(value)
    return text.replace("\x7f", r"\u007f").replace("\n", "\n" + " " * indent)


def _modules(modules: Iterable[ModuleResult]) -> Iterator[str]:
    """Give the elements of the list of modules; what many share is written once, and kept."""
    kept: dict[int, str] = {}
    before = "\n    "
    for module in modules:
        shared = module.standing
        text = kept.get(id(shared))
        if text is None:
            text = _text(_standing(shared), 4).removeprefix("{")
            if not shared.findings:
                kept[id(shared)] = text
        yield f'{before}{{\n      "id": {_text(module.id, 0)},{text}'
        before = ",\n    "
    yield "\n  "


def _summary(result: AuditResult) -> dict[str, Any]:
    counts: dict[str, Any] = {str(verdict): n for verdict, n in verdict_counts(result).items()}
    return {**counts, "by_check": check_counts(result)}


def _standing(standing: Standing) -> dict[str, Any]:
    return {
        "verdict": standing.verdict,
        "stops_at": standing.stops_at,
        "expected_indicator": standing.expected_indicator,
        "stages": dict(standing.stages),
        "findings": [_finding(finding) for finding in standing.findings],
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
