"""The same finding on many modules, as one thing."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from auditor.findings import AuditResult, Finding, ModuleResult
from auditor.models.places import Place
from auditor.reports.summary import with_owners


@dataclass
class Group:
    """A finding, the ids of the modules that have it (none: the kit has), and where it stands."""

    finding: Finding
    modules: list[str] = field(default_factory=list)
    places: dict[Place, None] = field(default_factory=dict)

    def add(self, module: ModuleResult | None, finding: Finding) -> None:
        """Take in one more module that has the same finding."""
        self.modules += [module.id] if module else []
        self.places.update(dict.fromkeys(finding.where[:1]))


def groups(result: AuditResult) -> list[Group]:
    """Return the findings that count: grave ones first, then by the ladder, a check at a time."""
    found = _grouped((owner, finding) for owner, finding in with_owners(result) if finding.counts)
    first = {group.finding.check: number for number, group in reversed([*enumerate(found)])}
    return sorted(found, key=lambda group: (*_gravity(group.finding), first[group.finding.check]))


def waived_groups(result: AuditResult) -> list[Group]:
    """Return the findings that were accepted on purpose, each check and reason once."""
    accepted: dict[tuple[object, ...], Group] = {}
    for owner, finding in with_owners(result):
        if not finding.counts:
            key = (finding.check, finding.waived, owner is None)
            accepted.setdefault(key, Group(finding)).add(owner, finding)
    return list(accepted.values())


def _grouped(owned: Iterable[tuple[ModuleResult | None, Finding]]) -> list[Group]:
    alike: dict[tuple[object, ...], Group] = {}
    for owner, finding in owned:
        key = (finding.check, finding.severity, finding.message, finding.remedy, owner is None)
        alike.setdefault(key, Group(finding)).add(owner, finding)
    return list(alike.values())


def _gravity(finding: Finding) -> tuple[int, int]:
    return -finding.severity.rank, finding.stage.step
