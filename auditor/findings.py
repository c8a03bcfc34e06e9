"""The ladder, and what is found on it: plain data that every report is made from."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from functools import cached_property
from typing import NamedTuple

from auditor.models.places import Place
from auditor.models.words import Severity


class Stage(StrEnum):
    """A step of the climb; the order is the order of the climb."""

    RECORD = "record"
    POWER = "power"
    DISCOVERY = "discovery"
    ADMISSION = "admission"
    KEYS = "keys"
    ADDRESS = "address"
    DELIVERY = "delivery"
    SERIAL = "serial"
    MESSAGE = "message"

    @property
    def step(self) -> int:
        """The number of steps below this one."""
        return _STEPS[self]


_STEPS = {stage: step for step, stage in enumerate(Stage)}

NETWORK_CLIMB = (Stage.DISCOVERY, Stage.ADMISSION, Stage.KEYS, Stage.ADDRESS, Stage.DELIVERY)
"""The stages without whose facts nobody can say that a module will work."""

JOINING = NETWORK_CLIMB[:3]
"""The stages that a module passes before its indicator shows that it has joined."""


class State(StrEnum):
    """How a module stands at one stage."""

    CLEAR = "clear"
    AT_RISK = "at-risk"
    BLOCKED = "blocked"
    UNKNOWN = "unknown"


class Verdict(StrEnum):
    """How a module stands as a whole."""

    BLOCKED = "blocked"
    AT_RISK = "at-risk"
    UNKNOWN = "unknown"
    READY = "ready"


Figure = str | int | float | bool | None | list[str]
Figures = Mapping[str, Figure]


@dataclass(frozen=True)
class Found:
    """What a check says: the sentence, the way out, the figures and the places.

    `severity`, `stage` and `shows_at` are given where they differ from the check's own;
    `concerns` has the positions of the modules that a finding about the whole kit puts at risk.
    """

    message: str
    remedy: str
    where: tuple[Place, ...]
    figures: Figures = field(default_factory=dict)
    severity: Severity | None = None
    shows_at: Stage | None = None
    stage: Stage | None = None
    concerns: Sequence[int] = ()


@dataclass(frozen=True)
class Acceptance:
    """Why and until when a finding was accepted on purpose."""

    reason: str
    until: date | None


@dataclass(frozen=True)
class Finding:
    """A found fault, risk or advice, complete with what its check says of itself."""

    check: str
    stage: Stage
    shows_at: Stage
    severity: Severity
    message: str
    remedy: str
    where: tuple[Place, ...]
    source: str
    figures: Figures
    concerns: Sequence[int] = ()
    waived: Acceptance | None = None

    @property
    def counts(self) -> bool:
        """Whether it changes verdicts, counts and exit status."""
        return self.waived is None


def concerning(of_kit: Iterable[Finding], modules: int) -> list[tuple[int, ...]]:
    """Return for each of so many modules which findings of the kit, by number, put it at risk."""
    found: list[tuple[int, ...]] = [()] * modules
    for number, finding in enumerate(of_kit):
        if finding.counts and finding.severity is not Severity.ADVICE:
            for index in finding.concerns:
                found[index] += (number,)
    return found


def kit_title(name: str | None, term: str | None, file: str) -> str:
    """Return what to call a kit: its name and term, or else its file."""
    return ", ".join(part for part in (name, term) if part) or file


@dataclass(frozen=True)
class NotChecked:
    """Something that could not be looked at, why, and for whom (nobody named: the whole kit)."""

    stage: Stage
    reason: str
    modules: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Standing:
    """How a module stands, stage by stage; modules that fare alike share one."""

    verdict: Verdict
    stops_at: Stage | None
    shows_at: Stage | None
    expected_indicator: str | None
    stages: Mapping[Stage, State]
    findings: tuple[Finding, ...]


class ModuleResult(NamedTuple):
    """One module, and how it stands; a kit may have a million of them."""

    id: str
    standing: Standing

    @property
    def verdict(self) -> Verdict:
        """How it stands as a whole."""
        return self.standing.verdict

    @property
    def stops_at(self) -> Stage | None:
        """The first stage that it cannot pass."""
        return self.standing.stops_at

    @property
    def shows_at(self) -> Stage | None:
        """The stage at which one sees that it stops."""
        return self.standing.shows_at

    @property
    def expected_indicator(self) -> str | None:
        """What its indicator should show, in words."""
        return self.standing.expected_indicator

    @property
    def stages(self) -> Mapping[Stage, State]:
        """How it stands at each stage."""
        return self.standing.stages

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was found on it alone."""
        return self.standing.findings


@dataclass(frozen=True)
class AuditResult:
    """Everything that a report shows.

    `only` names the checks that were kept, if not all were; `without_secrets` says that
    passphrases were left unread on purpose.
    """

    name: str | None
    term: str | None
    file: str
    network_name: str | None
    network_inferred: bool
    checked_at: datetime
    only: tuple[str, ...]
    modules: tuple[ModuleResult, ...]
    kit_findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    without_secrets: bool = False

    @property
    def title(self) -> str:
        """What to call the kit: its name and term, or else its file."""
        return kit_title(self.name, self.term, self.file)

    @cached_property
    def faulty(self) -> tuple[ModuleResult, ...]:
        """The modules on which something was found."""
        return tuple(module for module in self.modules if module.standing.findings)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, those of the kit first."""
        return (*self.kit_findings, *(f for module in self.faulty for f in module.findings))

    def reaches(self, severity: Severity) -> bool:
        """Say whether anything not waived is at least as grave as `severity`."""
        return any(f.counts and f.severity.rank >= severity.rank for f in self.findings)
