"""What makes a function a check: its metadata beside it, and one list of them all."""

import inspect
import textwrap
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any, TypeVar

from auditor.findings import Finding, Found, Stage
from auditor.models.words import Severity

Function = TypeVar("Function", bound=Callable[..., Iterator[Found]])


class Scope(Enum):
    """What a check answers for, and when it is asked."""

    MODULE = "each module"
    KIT = "the kit"
    CLOSING = "the kit, once everything else is found"


@dataclass(frozen=True)
class Part:
    """A function of a check, and what it answers for."""

    scope: Scope
    function: Callable[..., Iterator[Found]]


@dataclass(frozen=True)
class Check:
    """A check: what it is called, where it belongs, and what its docstring tells a reader.

    `after` names checks: where one of them has found more than an advice for a module, this one
    stays silent. A check without a stage takes that of the setting it speaks of.
    """

    id: str
    stage: Stage | None
    severity: Severity
    source: str
    after: tuple[str, ...]
    title: str
    why: str
    remedy: str
    example: str
    parts: tuple[Part, ...]

    def is_grave(self, found: Found) -> bool:
        """Say whether it is more than an advice, whatever a policy makes of it."""
        return (found.severity or self.severity) is not Severity.ADVICE

    def finding(self, found: Found, severity: Severity | None) -> Finding:
        """Return what was found, complete; `severity` is the policy's, where it has one."""
        stage = found.stage or self.stage
        if stage is None:
            raise ValueError(f"{self.id} found something at no stage")
        return Finding(
            check=self.id,
            stage=stage,
            shows_at=found.shows_at or stage,
            severity=severity or found.severity or self.severity,
            message=found.message,
            remedy=found.remedy,
            where=found.where,
            source=self.source,
            figures=found.figures,
            concerns=found.concerns,
        )


CHECKS: dict[str, Check] = {}
"""Every check by its id."""


def in_order() -> list[Check]:
    """Return the checks in the order of the ladder; those of any stage come last."""
    return sorted(CHECKS.values(), key=lambda each: each.stage.step if each.stage else len(Stage))


def functions(scope: Scope) -> Iterator[tuple[Check, Callable[..., Iterator[Found]]]]:
    """Give every function of one scope with its check, in the order of the ladder."""
    for check in in_order():
        for part in check.parts:
            if part.scope is scope:
                yield check, part.function


def check(
    stage: Stage | None,
    severity: Severity,
    source: str,
    *,
    scope: Scope = Scope.MODULE,
    after: tuple[str, ...] = (),
) -> Callable[[Function], Function]:
    """Register a function as a check; its name, with hyphens, is the id.

    The docstring has a first sentence (what is true when it fires), a paragraph that says why it
    matters, one that begins with "Mend:", and a last one that begins with "Example:" and holds
    lines of a fleet file that make it fire.

    Raises:
        ValueError: the id is taken, or the docstring lacks a part.
    """

    def register(function: Function) -> Function:
        id = function.__name__.replace("_", "-")
        if id in CHECKS:
            raise ValueError(f"two checks are called {id}")
        told = _parts(id, function)
        CHECKS[id] = Check(id, stage, severity, source, after, *told, (Part(scope, function),))
        return function

    return register


def part_of(id: str, scope: Scope) -> Callable[[Function], Function]:
    """Register a further function of a check, for what it says of the kit or of each module."""

    def register(function: Function) -> Function:
        known = CHECKS[id]
        CHECKS[id] = replace(known, parts=(*known.parts, Part(scope, function)))
        return function

    return register


def _parts(id: str, function: Callable[..., Any]) -> tuple[str, str, str, str]:
    """Split a docstring into title, why, remedy and example."""
    text = inspect.cleandoc(function.__doc__ or "")
    head, _, example = text.partition("\n\nExample:\n")
    explanation, _, remedy = head.partition("\n\nMend: ")
    title, _, why = explanation.partition("\n\n")
    parts = (_flowing(title), _flowing(why), _flowing(remedy), textwrap.dedent(example).strip())
    if not all(parts):
        raise ValueError(f"the docstring of {id} lacks a title, a reason, a remedy or an example")
    return parts


def _flowing(text: str) -> str:
    return "\n\n".join(" ".join(part.split()) for part in text.split("\n\n"))
