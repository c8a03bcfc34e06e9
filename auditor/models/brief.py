"""A brief: a fleet file without modules, and what it asks of those that are to be made."""

import re
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from auditor.models import forms as f
from auditor.models.fleet import Fleet
from auditor.models.fleet_file import FleetFile
from auditor.models.json_forms import Form

LONGEST_PATTERN = 64
_PATTERN = r"[^{}]*\{n(:0[1-9])?\}[^{}]*"
_FORMULA = ("=", "+", "-", "@")
"""What a spreadsheet takes for the beginning of a formula; common practice, no source."""


def _pattern(written: object) -> str:
    if not isinstance(written, str):
        raise ValueError('is not a text; write it like "TG-{n:02}"')
    if not re.fullmatch(_PATTERN, written, re.DOTALL):
        raise ValueError(
            "is not a pattern of ids; it has {n} or {n:02} once, where the number goes, "
            "and no other braces, as in GAUGE-{n:02}"
        )
    if len(written) > LONGEST_PATTERN:
        raise ValueError(f"is longer than {LONGEST_PATTERN} characters")
    if not written.isprintable() or written != written.strip():
        raise ValueError("has a blank at an end or a character that cannot be seen; leave it out")
    if written.startswith(_FORMULA):
        raise ValueError("begins like a formula of a spreadsheet; begin with a letter")
    return written


IdPattern = Annotated[
    str, f.Reader(_pattern, Form(lambda: {"type": "string", "pattern": f"^{_PATTERN}$"}))
]


class Plan(f.Table):
    """How many modules are to be made, and how each of them comes by its id and its address."""

    modules: f.ModuleCount
    """How many modules the kit has."""
    id: IdPattern
    """How their ids are made: "TG-{n:02}" makes TG-01, TG-02, and so on."""
    addressing: f.AddressingWord
    """Where their addresses come from."""
    first_address: f.Address | None = None
    """The static address of the first of them; left out, it is the lowest that suits."""
    keep: dict[f.Name, f.Address] = Field(default_factory=dict)
    """Static addresses that must stay, by id."""

    @property
    def ids(self) -> list[str]:
        """The ids of all modules."""
        return [self.id.format(n=number) for number in range(1, self.modules + 1)]


class Brief(Fleet):
    """A fleet file in which [plan] stands for the modules."""

    plan: Plan
    """The modules that are to be made."""


@dataclass(frozen=True)
class BriefFile:
    """A brief as it was read: its text, what it asks for, and the fleet, which has no modules."""

    text: str
    plan: Plan
    file: FleetFile
