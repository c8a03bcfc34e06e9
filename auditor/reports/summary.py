"""What every report counts and names alike."""

from collections import Counter

from auditor.findings import AuditResult, Finding, ModuleResult, Verdict
from auditor.models.words import Severity

VERDICTS = (Verdict.READY, Verdict.AT_RISK, Verdict.BLOCKED, Verdict.UNKNOWN)
"""The verdicts in the order in which a summary gives them."""


def verdict_counts(result: AuditResult) -> dict[Verdict, int]:
    """Return how many modules have each verdict."""
    counts = Counter(module.standing.verdict for module in result.modules)
    return {verdict: counts[verdict] for verdict in VERDICTS}


def check_counts(result: AuditResult) -> dict[str, int]:
    """Return how many findings each check has, without those accepted on purpose."""
    return dict(sorted(Counter(f.check for f in result.findings if f.counts).items()))


def severity_counts(result: AuditResult) -> dict[Severity, int]:
    """Return how many findings have each severity, without those accepted on purpose."""
    counts = Counter(finding.severity for finding in result.findings if finding.counts)
    return {severity: counts[severity] for severity in Severity if counts[severity]}


def with_owners(result: AuditResult) -> list[tuple[ModuleResult | None, Finding]]:
    """Return every finding with its module, None for the kit, those of the kit first."""
    of_kit = [(None, finding) for finding in result.kit_findings]
    return of_kit + [(module, f) for module in result.faulty for f in module.findings]
