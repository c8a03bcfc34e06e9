"""The ladder, and what is found on it: plain data that every report is made from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

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
    `concerns` names the modules that a finding about the whole kit puts at risk.
    """

    message: str
    remedy: str
    where: tuple[Place, ...]
    figures: Figures = field(default_factory=dict)
    severity: Severity | None = None
    shows_at: Stage | None = None
    stage: Stage | None = None
    concerns: tuple[int, ...] = ()


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
    concerns: tuple[int, ...] = ()
    waived: Acceptance | None = None

    @property
    def counts(self) -> bool:
        """Whether it changes verdicts, counts and exit status."""
        return self.waived is None


@dataclass(frozen=True)
class NotChecked:
    """Something that could not be looked at, why, and for whom (nobody named: the whole kit)."""

    stage: Stage
    reason: str
    modules: tuple[str, ...] = ()


@dataclass(frozen=True)
class ModuleResult:
    """How one module stands, stage by stage."""

    id: str
    verdict: Verdict
    stops_at: Stage | None
    shows_at: Stage | None
    expected_indicator: str | None
    stages: Mapping[Stage, State]
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class AuditResult:
    """Everything that a report shows; `only` names the checks that were kept, if not all were."""

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

    @property
    def title(self) -> str:
        """What to call the kit: its name and term, or else its file."""
        return ", ".join(part for part in (self.name, self.term) if part) or self.file

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, those of the kit first."""
        return (*self.kit_findings, *(f for module in self.modules for f in module.findings))

    def reaches(self, severity: Severity) -> bool:
        """Say whether anything not waived is at least as grave as `severity`."""
        return any(f.counts and f.severity.rank >= severity.rank for f in self.findings)
