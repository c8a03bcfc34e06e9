"""What the text and the page say of a kit as a whole, in the same words."""

from collections.abc import Iterator

from auditor.findings import AuditResult, Verdict
from auditor.reports.layout import counted


def title(result: AuditResult) -> str:
    """Return what the kit is called, its modules and its network."""
    modules = counted(len(result.modules), "module")
    named = f"{result.title}: {modules}"
    if not result.network_inferred:
        return named if result.network_name is None else f'{named} on "{result.network_name}"'
    majority = f' (most say "{result.network_name}")' if result.network_name else ""
    return f"{named}; no network is planned, so they are compared with each other{majority}"


def partial(result: AuditResult) -> Iterator[str]:
    """Give the sentences that say what may be wrong in spite of the verdicts."""
    if result.only:
        yield f"Only {', '.join(result.only)} counts here: a module may fail at something else."
    if result.without_secrets:
        yield "Passphrases were not read: a wrong one is not found here."


def shortage(result: AuditResult) -> Iterator[str]:
    """Give the sentence that says when addresses run out."""
    for finding in result.kit_findings:
        if finding.check == "pool-runs-out" and finding.counts:
            yield finding.message.partition(". ")[0].removesuffix(".") + "."


def in_words(verdict: Verdict) -> str:
    """Return a verdict as people say it."""
    return verdict.value.replace("-", " ")
