"""What makes an input unusable: one line each, with its place and what would be right."""

from collections.abc import Iterable
from dataclasses import dataclass

from auditor.models.places import Place

LONGEST_QUOTE = 48
"""Characters of a value that a problem repeats."""


@dataclass(frozen=True)
class Problem:
    """One thing that cannot be read, and where."""

    place: Place
    message: str

    def __str__(self) -> str:
        line = "" if self.place.line is None else f":{self.place.line}"
        column = "" if self.place.column is None else f"{self.place.column}: "
        return f"{self.place.file}{line}: {column}{self.message}"


class UnusableError(Exception):
    """The input cannot be used; `problems` says why, in the order of the lines."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(f"{len(self.problems)} problems")


def unusable(place: Place, message: str) -> UnusableError:
    """Return the error for a single problem."""
    return UnusableError([Problem(place, message)])


def quoted(value: object) -> str:
    """Return a value in quotes, cut where it is long."""
    text = value if isinstance(value, str) else str(value)
    if len(text) > LONGEST_QUOTE:
        text = f"{text[:LONGEST_QUOTE]}… ({len(text)} characters)"
    return f'"{text}"'
