"""What makes a function a check: its metadata beside it, and one list of them all."""

import inspect
import textwrap
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import Enum
from typing import Any, TypeVar

from auditor.findings import Finding, Found, Stage
from auditor.models.words import Severity
from auditor.survey.kit import Survey
from auditor.survey.module import Module

ModuleCheck = Callable[[Module, Survey], Iterator[Found]]
KitCheck = Callable[[Survey], Iterator[Found]]
ClosingCheck = Callable[[Survey, Iterable[Finding]], Iterator[Found]]
Function = TypeVar("Function", bound=Callable[..., Iterator[Found]])


class Scope(Enum):
    """What a check answers for, and when it is asked."""

    MODULE = "each module"
    KIT = "the kit"
    CLOSING = "the kit, once everything else is found"


@dataclass(frozen=True)
class Check:
    """A check: what it is called, where it belongs, and what its docstring tells a reader.

    `after` names checks: where one of them has fired for a module, this one stays silent.
    """

    id: str
    stage: Stage
    severity: Severity
    source: str
    scope: Scope
    after: tuple[str, ...]
    title: str
    why: str
    remedy: str
    example: str
    function: Callable[..., Iterator[Found]]

    def finding(self, found: Found, severity: Severity | None) -> Finding:
        """Return what was found, complete; `severity` is the policy's, where it has one."""
        return Finding(
            check=self.id,
            stage=self.stage,
            shows_at=found.shows_at or self.stage,
            severity=severity or found.severity or self.severity,
            message=found.message,
            remedy=found.remedy,
            where=found.where,
            source=self.source,
            figures=found.figures,
            concerns=found.concerns,
        )


CHECKS: dict[str, Check] = {}
"""Every check by its id, in the order of the ladder."""


def check(
    stage: Stage,
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
        CHECKS[id] = Check(
            id, stage, severity, source, scope, after, *_parts(id, function), function
        )
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
