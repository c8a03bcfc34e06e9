"""The audit: runs the checks over a kit in the order of the ladder, and draws the verdicts."""

from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from itertools import chain

from auditor.checks.registry import Check, Scope, functions
from auditor.findings import (
    JOINING,
    NETWORK_CLIMB,
    AuditResult,
    Finding,
    Found,
    ModuleResult,
    NotChecked,
    Stage,
    Standing,
    State,
    Verdict,
    concerning,
)
from auditor.indicator import expected_indicator
from auditor.models.fleet_file import FleetFile
from auditor.models.secrets import Standing as SecretStanding
from auditor.models.words import Severity
from auditor.survey.facts import Gap, gaps, unknown_to_all
from auditor.survey.kit import Survey
from auditor.survey.likeness import Group
from auditor.survey.module import Module, Modules
from auditor.survey.sight import Sightings
from auditor.waivers import Waivers

_Asked = tuple[Check, Callable[..., Iterator[Found]]]


class CheckBrokeError(Exception):
    """A check failed by a fault of ours; the text names the check and the module, no value."""


def audit(
    file: FleetFile,
    checked_at: datetime,
    only: Collection[str] = (),
    watched: Callable[[Sequence[Group]], Iterable[Group]] = iter,
) -> AuditResult:
    """Return everything that the checks say of a kit.

    `only` names the checks whose findings are kept; none named means all of them. `watched`
    gives the groups of modules that fare alike one by one, and may show how far it has come.

    Raises:
        CheckBrokeError: a check failed on a valid file.
    """
    survey = Survey(file, checked_at.date())
    run = _Run(survey, frozenset(only), Waivers(survey))
    own = dict(chain.from_iterable(map(run.of_group, watched(survey.groups))))
    of_kit = run.of_kit()
    of_kit += run.closing()
    missing = [tuple(gaps(group.module, survey)) for group in survey.groups]
    return AuditResult(
        name=survey.fleet.kit.name,
        term=survey.fleet.kit.term,
        file=file.file,
        network_name=survey.network_name,
        network_inferred=survey.is_inferred,
        checked_at=checked_at,
        only=tuple(only),
        modules=_results(survey, own, of_kit, missing),
        kit_findings=tuple(of_kit),
        not_checked=_not_checked(survey, missing),
        without_secrets=any(s.standing is SecretStanding.WITHHELD for s in file.secrets),
    )


@dataclass(frozen=True)
class _Run:
    """One run over one kit: which findings are kept, and which are waived."""

    survey: Survey
    only: frozenset[str]
    waivers: Waivers

    @cached_property
    def _questions(self) -> "_Questions":
        return _Questions(self.survey.modules)

    def of_group(self, group: Group) -> Iterator[tuple[int, list[Finding]]]:
        """Give what is found on each of the modules that fare alike, by position.

        What is not silent on the first module is asked of the others too, for the places and
        the words: nobody else is in the group for whom more would fire.
        """
        first, *others = group.indexes
        loud, findings = self._of_module(group.module, self._questions.of(group))
        self._questions.answered(group, loud)
        if findings:
            yield first, findings
            for index in others:
                yield index, self._of_module(self.survey.modules[index], loud)[1]

    def _of_module(
        self, module: Module, asked: Iterable[_Asked]
    ) -> tuple[list[_Asked], list[Finding]]:
        """Return the checks that were not silent on a module, and what they found.

        One that another's finding kept from being asked was not silent.
        """
        findings: list[Finding] = []
        loud: list[_Asked] = []
        grave: set[str] = set()
        for check, function in asked:
            if grave.isdisjoint(check.after):
                found = _found(check, function, f"module {module.id}", module, self.survey)
                if not found:
                    continue
                grave.update([check.id] if any(map(check.is_grave, found)) else [])
                findings += self._complete(check, found)
            loud.append((check, function))
        return loud, self._chosen(self.waivers.apply(findings, module))

    def of_kit(self) -> list[Finding]:
        findings: list[Finding] = []
        for check, function in functions(Scope.KIT):
            findings += self._complete(check, _found(check, function, "the kit", self.survey))
        return self._chosen(self.waivers.apply(findings, None))

    def closing(self) -> list[Finding]:
        findings: list[Finding] = []
        for check, function in functions(Scope.CLOSING):
            found = _found(check, function, "the kit", self.survey, self.waivers.used)
            findings += self._complete(check, found)
        return self._chosen(self.waivers.apply(findings, None))

    def _chosen(self, findings: list[Finding]) -> list[Finding]:
        return [finding for finding in findings if not self.only or finding.check in self.only]

    def _complete(self, check: Check, found: Iterable[Found]) -> list[Finding]:
        setting = self.survey.policy.severities.get(check.id)
        if setting == "off":
            return []
        severity = None if setting is None else Severity(setting)
        return [check.finding(each, severity) for each in found]


class _Questions:
    """Which checks may find something: not those that were silent when they saw the same."""

    def __init__(self, modules: Modules) -> None:
        self._sightings = Sightings(modules)
        self._open: dict[Hashable, list[_Asked]] = {}
        self._of_stages: dict[Stage | None, list[_Asked]] = defaultdict(list)
        for check, function in functions(Scope.MODULE):
            self._of_stages[check.stage].append((check, function))

    def of(self, group: Group) -> Iterator[_Asked]:
        """Give the checks to ask of modules that fare alike, in the order of the ladder."""
        for stage, checks in self._of_stages.items():
            yield from self._open.get(self._sightings.of(group, stage), checks)

    def answered(self, group: Group, loud: Collection[_Asked]) -> None:
        """Take note of the checks that were asked and were not silent."""
        for stage, checks in self._of_stages.items():
            seen = self._sightings.of(group, stage)
            self._open[seen] = [each for each in self._open.get(seen, checks) if each in loud]


def _found(
    check: Check, function: Callable[..., Iterator[Found]], whom: str, *arguments: object
) -> list[Found]:
    try:
        return list(function(*arguments))
    except Exception as fault:
        raise CheckBrokeError(
            f"the check {check.id} broke on {whom} ({type(fault).__name__})"
        ) from fault


def _results(
    survey: Survey,
    own: Mapping[int, Sequence[Finding]],
    of_kit: Sequence[Finding],
    missing: Sequence[Sequence[Gap]],
) -> tuple[ModuleResult, ...]:
    """Return how each module stands, in the order of the file."""
    shared = concerning(of_kit, len(survey.modules))
    standings: dict[int, Standing] = {}
    for group, gaps_of_group in zip(survey.groups, missing, strict=True):
        alike: dict[tuple[int, ...], Standing] = {}
        for index in group.indexes:
            found, numbers = own.get(index, ()), shared[index]
            standing = None if found else alike.get(numbers)
            if standing is None:
                at_risk = [of_kit[number] for number in numbers]
                standing = _standing(group.module, found, at_risk, gaps_of_group)
                if not found:
                    alike[numbers] = standing
            standings[index] = standing
    ids = survey.entries.ids
    return tuple(ModuleResult(id, standings[index]) for index, id in enumerate(ids))


def _standing(
    module: Module,
    own: Sequence[Finding],
    shared: Sequence[Finding],
    missing: Sequence[Gap],
) -> Standing:
    blocking = [f for f in own if f.counts and f.severity is Severity.FAULT]
    at_risk = [f for f in own if f.counts and f.severity is Severity.RISK]
    stages = _stages(blocking, [*at_risk, *shared], missing)
    shows_at = min((f.shows_at for f in blocking), key=lambda stage: stage.step, default=None)
    return Standing(
        verdict=_verdict(stages, missing),
        stops_at=next((stage for stage in Stage if stages[stage] is State.BLOCKED), None),
        shows_at=shows_at,
        expected_indicator=None
        if shows_at is None and _may_not_join(missing)
        else expected_indicator(module, shows_at),
        stages=stages,
        findings=tuple(own),
    )


def _may_not_join(missing: Iterable[Gap]) -> bool:
    """Say whether a fact is missing without which nobody knows that a module joins."""
    return any(gap.counts and gap.stage in JOINING for gap in missing)


def _stages(
    blocking: Iterable[Finding], at_risk: Iterable[Finding], missing: Iterable[Gap]
) -> dict[Stage, State]:
    """Return the state of each stage, the gravest that anything gives it."""
    stages = dict.fromkeys(Stage, State.CLEAR)
    stages.update((gap.stage, State.UNKNOWN) for gap in missing)
    stages.update((finding.stage, State.AT_RISK) for finding in at_risk)
    stages.update((finding.stage, State.BLOCKED) for finding in blocking)
    return stages


def _verdict(stages: Mapping[Stage, State], missing: Iterable[Gap]) -> Verdict:
    states = set(stages.values())
    if State.BLOCKED in states:
        return Verdict.BLOCKED
    if State.AT_RISK in states:
        return Verdict.AT_RISK
    lacking = any(gap.counts and gap.stage in NETWORK_CLIMB for gap in missing)
    return Verdict.UNKNOWN if lacking else Verdict.READY


def _not_checked(survey: Survey, missing: Sequence[Sequence[Gap]]) -> tuple[NotChecked, ...]:
    """Return what could not be looked at, each thing once, with the modules that it touches."""
    whom: dict[tuple[Stage, str], list[int]] = defaultdict(list)
    for group, gaps_of_group in zip(survey.groups, missing, strict=True):
        for entry in dict.fromkeys((gap.stage, gap.reason) for gap in gaps_of_group):
            whom[entry] += group.indexes
    entries = list(unknown_to_all(survey))
    entries += [
        NotChecked(stage, reason, tuple(survey.ids(sorted(indexes))))
        for (stage, reason), indexes in whom.items()
    ]
    everyone = len(survey.modules)
    return tuple(
        replace(entry, modules=()) if len(entry.modules) == everyone else entry
        for entry in sorted(entries, key=lambda entry: entry.stage.step)
    )
