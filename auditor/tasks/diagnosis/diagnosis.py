"""Ranks what may be wrong with one board, and says what to look at next."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from auditor.compute.inference import normalised
from auditor.findings import AuditResult, Finding, Stage
from auditor.models.fleet_file import FleetFile
from auditor.models.words import Severity
from auditor.survey.kit import Survey
from auditor.tasks.diagnosis.causes import HURTS, ON_NO_FILE, Cause, Values
from auditor.tasks.diagnosis.circumstances import Circumstances, circumstances
from auditor.tasks.diagnosis.contradiction import contradiction
from auditor.tasks.diagnosis.found import causes_found, findings_on
from auditor.tasks.diagnosis.ladder import healthy, open_observations, predictions
from auditor.tasks.diagnosis.observations import OBSERVATIONS
from auditor.tasks.diagnosis.reasoning import Reasoning
from auditor.tasks.diagnosis.weights import IN_FILE
from auditor.tasks.diagnosis.weights import ON_NO_FILE as WEIGHTS

LEAST_GAIN_BITS = 0.005
"""An observation that tells less is not worth a walk."""
DANGEROUS = 0.1
"""From here on a cause that hurts is likely enough to leave a board switched off; common practice,
no source."""
_NAMED_IN_MEANING = 3
"""So many causes are named for each answer that an observation can have."""


@dataclass(frozen=True)
class RankedCause:
    """A cause, how likely it is from 0 to 1, and what speaks for it and against it.

    `expected` has, for each observation against it, what it would have shown.
    """

    cause: str
    stage: Stage
    probability: float
    message: str
    remedy: str
    found_at: str | None
    supporting: tuple[str, ...]
    opposing: tuple[str, ...]
    expected: Mapping[str, Values]


@dataclass(frozen=True)
class NextObservation:
    """What to look at next, what it tells on average, and what each answer would mean."""

    observation: str
    minutes: float
    information_bits: float
    how: str
    meanings: Mapping[str, str]


@dataclass(frozen=True)
class Diagnosis:
    """All that can be said of one board; the causes stand in the order of their probability."""

    id: str
    title: str
    seen: Mapping[str, str]
    findings: tuple[Finding, ...]
    causes: tuple[RankedCause, ...]
    next: NextObservation | None
    contradiction: str | None
    is_something_wrong: bool
    """Whether the file has a fault of this board, or what is seen is not as it should be."""


def diagnosis(
    file: FleetFile, result: AuditResult, index: int, seen: Mapping[str, str]
) -> Diagnosis:
    """Return what may be wrong with the module at a position, after what was seen of it.

    `result` is the audit of the same file; `seen` has the values of observations by their names.
    """
    survey = Survey(file, result.checked_at.date())
    about = circumstances(survey.modules[index], survey)
    reasoning = _reasoning(result, index, about, seen)
    found = findings_on(result, index)
    usual = healthy(about)
    return Diagnosis(
        id=result.modules[index].id,
        title=result.title,
        seen=seen,
        findings=found,
        causes=tuple(_ranked(reasoning)),
        next=_next(reasoning, about),
        contradiction=contradiction(reasoning),
        is_something_wrong=any(finding.severity is Severity.FAULT for finding in found)
        or any(value not in usual[name] for name, value in seen.items()),
    )


def _reasoning(
    result: AuditResult, index: int, about: Circumstances, seen: Mapping[str, str]
) -> Reasoning:
    """Return the causes that a board can have: a cause that is in the file is none besides."""
    weighted = [(cause, IN_FILE[severity]) for cause, severity in causes_found(result, index)]
    known = {cause.name for cause, _ in weighted}
    weighted += [
        (_with_values(cause, about), WEIGHTS[cause.name])
        for cause in ON_NO_FILE
        if cause.needs <= about.traits and cause.name not in known
    ]
    causes = tuple(cause for cause, _ in weighted)
    return Reasoning(
        causes,
        normalised([weight for _, weight in weighted]),
        tuple(predictions(cause, about) for cause in causes),
        seen,
    )


def _with_values(cause: Cause, about: Circumstances) -> Cause:
    """Return a cause whose remedy names the values that are right for this board."""
    values = defaultdict(lambda: "what the plan says", about.right)
    return replace(cause, remedy=cause.remedy.format_map(values))


def _ranked(reasoning: Reasoning) -> Iterator[RankedCause]:
    for index in reasoning.ranked(reasoning.probabilities):
        cause, row = reasoning.causes[index], reasoning.predictions[index]
        opposing = [name for name, value in reasoning.seen.items() if value not in row[name]]
        yield RankedCause(
            cause=cause.name,
            stage=cause.stage,
            probability=reasoning.probabilities[index],
            message=cause.message,
            remedy=cause.remedy,
            found_at=cause.found_at,
            supporting=tuple(
                name
                for name, value in reasoning.seen.items()
                if name not in opposing and reasoning.supports(name, value, index)
            ),
            opposing=tuple(opposing),
            expected={name: row[name] for name in opposing},
        )


def _next(reasoning: Reasoning, about: Circumstances) -> NextObservation | None:
    """Return the open observation that tells most per minute; None where none tells anything."""
    gains = {
        name: bits
        for name in _safe(open_observations(about), reasoning)
        if name not in reasoning.seen and (bits := reasoning.gain_bits(name)) >= LEAST_GAIN_BITS
    }
    if not gains:
        return None
    best = OBSERVATIONS[max(gains, key=lambda name: gains[name] / OBSERVATIONS[name].minutes)]
    return NextObservation(
        observation=best.name,
        minutes=best.minutes,
        information_bits=gains[best.name],
        how=best.how,
        meanings={value: _meaning(reasoning, best.name, value) for value in best.values},
    )


def _safe(names: Iterable[str], reasoning: Reasoning) -> Iterator[str]:
    """Give the observations that may be made: none at a live board that may well be hurt by it."""
    pairs = zip(reasoning.causes, reasoning.probabilities, strict=True)
    danger = sum(probability for cause, probability in pairs if cause.name in HURTS)
    return (name for name in names if danger < DANGEROUS or OBSERVATIONS[name].is_cold)


def _meaning(reasoning: Reasoning, name: str, value: str) -> str:
    """Say what would be likely if an observation had a value."""
    then = reasoning.after({**reasoning.seen, name: value})
    first = reasoning.ranked(then)[:_NAMED_IN_MEANING]
    causes = ", ".join(f"{reasoning.causes[i].name} {percent(then[i])}" for i in first)
    return f"most likely {causes}"


def percent(probability: float) -> str:
    """Return a probability in whole per cent; what is there and rounds to none is below 1."""
    whole = round(probability * 100)
    return f"{whole} %" if whole else "< 1 %"
