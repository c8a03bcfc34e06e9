"""What was made of a brief, as text; and why nothing was, a line a problem."""

import shlex
from collections.abc import Iterator
from pathlib import Path

from auditor.findings import AuditResult
from auditor.models.places import Place
from auditor.models.words import Severity
from auditor.reading.problems import Problem
from auditor.reports.grouping import Group, groups
from auditor.reports.layout import USUAL_WIDTH, counted, listed, wrapped
from auditor.reports.sentences import in_words, title
from auditor.reports.summary import verdict_counts
from auditor.tasks.planning import Planned

MOST_PROBLEMS = 50
"""So many findings are said; who has more has one cause for many of them."""
MOST_KEPT = 20
"""So many kept addresses are listed."""


def text(planned: Planned, folder: str, width: int = USUAL_WIDTH) -> str:
    """Return what was written where, who has which address, and what the audit says of it."""
    paths = " and ".join(_paths(planned, folder))
    lines = [title(planned.result), f"Written: {paths}.", ""]
    lines += [*_addresses(planned), "", *_audit(planned.result), ""]
    said = [wrapped(line, width, hanging="  ") for line in lines]
    return "\n".join(
        [*said, "Check it again, once something changes:", _check(planned, folder), ""]
    )


def problems(result: AuditResult) -> list[Problem]:
    """Return what keeps a kit from being written: each fault and risk, and what may be done."""
    found = [group for group in groups(result) if group.finding.severity is not Severity.ADVICE]
    said = [Problem(group.finding.where[0], _sentence(group)) for group in found[:MOST_PROBLEMS]]
    more = f"; {len(found) - MOST_PROBLEMS} more are not listed" if found[MOST_PROBLEMS:] else ""
    reason = (
        f"nothing is written, for the kit would have {_tally(found)}{more}; put these right in the "
        "brief, or accept one on purpose with a [[waiver]]"
    )
    return [*said, Problem(Place(result.file), reason)]


def _sentence(group: Group) -> str:
    finding = group.finding
    whom = f" on {listed(group.modules)}" if group.modules else ""
    return f"{finding.check} ({finding.severity}{whom}): {finding.message} {finding.remedy}"


def _tally(found: list[Group]) -> str:
    severities = [group.finding.severity for group in found]
    counts = {each: severities.count(each) for each in Severity if each in severities}
    return " and ".join(counted(number, severity) for severity, number in counts.items())


def _paths(planned: Planned, folder: str) -> list[str]:
    return [str(Path(folder) / name) for name in planned.files]


def _addresses(planned: Planned) -> Iterator[str]:
    """Give a sentence for those that got an address, that keep theirs, and that lease one."""
    kept = set(planned.kept)
    pairs = list(zip(planned.ids, planned.addresses, strict=True))
    fresh = [(id, address) for id, address in pairs if address and id not in kept]
    leasing = [id for id, address in pairs if address is None]
    if fresh:
        ends = dict.fromkeys((str(fresh[0][1]), str(fresh[-1][1])))
        yield f"{listed(id for id, _ in fresh)} ({len(fresh)}): static, {' to '.join(ends)}"
    keeping = [f"{id}: static, keeps {address}" for id, address in pairs if id in kept]
    yield from keeping[:MOST_KEPT]
    if keeping[MOST_KEPT:]:
        yield f"{len(keeping) - MOST_KEPT} more keep theirs"
    if leasing:
        pool = f" of {planned.pool.first} to {planned.pool.last}" if planned.pool else ""
        yield f"{listed(leasing)} ({len(leasing)}): pooled, an address{pool}"


def _audit(result: AuditResult) -> Iterator[str]:
    """Give what the audit says of a kit without faults and risks."""
    verdicts = (f"{n} {in_words(verdict)}" for verdict, n in verdict_counts(result).items() if n)
    advice = dict.fromkeys(group.finding.check for group in groups(result))
    beside = f"; advice: {', '.join(advice)}" if advice else ""
    yield f"The audit finds no fault and no risk: {', '.join(verdicts)}{beside}."
    waived = dict.fromkeys(f.check for f in result.findings if f.waived)
    if waived:
        yield f"Accepted on purpose: {', '.join(waived)}."
    for each in result.not_checked:
        yield f"Not checked, {each.stage}: {each.reason}."


def _check(planned: Planned, folder: str) -> str:
    options = [word for each in planned.allow for word in ("--allow-folder", each)]
    return f"  {shlex.join(['auditor', 'check', _paths(planned, folder)[0], *options])}"
