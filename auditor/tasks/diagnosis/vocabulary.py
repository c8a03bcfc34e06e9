"""What was seen, as people write it: "indicator=steady"."""

from collections.abc import Iterable, Iterator

from auditor.compute.near_misses import nearest
from auditor.models.places import Place
from auditor.reading.problems import Problem, UnusableError, quoted
from auditor.reading.quoting import named
from auditor.tasks.diagnosis.observations import OBSERVATIONS

OPTION = Place("--seen")
_LONGEST = 100
"""So many characters of a word are compared with the vocabulary."""


def observed(written: Iterable[str]) -> dict[str, str]:
    """Return the values of observations by their names.

    Raises:
        UnusableError: with all that no observation is called or can show, or that is said twice.
    """
    seen: dict[str, str] = {}
    problems: list[str] = []
    for each in written:
        name, _, value = (part.strip().lower() for part in each.partition("="))
        found = list(_problems(each, name, value))
        if not found and seen.setdefault(name, value) != value:
            found = [f"{name} cannot be both {seen[name]} and {value}; keep the one that is so"]
        problems += found
    if problems:
        raise UnusableError(Problem(OPTION, problem) for problem in problems)
    return seen


def _problems(written: str, name: str, value: str) -> Iterator[str]:
    """Give what is wrong with something that was seen: its form, its name or its value."""
    if "=" not in written:
        given = named(written, "what is given")
        yield f'{given} is not of the form "observation=value", as in "indicator=steady"'
    elif name not in OBSERVATIONS:
        yield _unknown(name, "nothing to look at", OBSERVATIONS)
    elif value not in OBSERVATIONS[name].values:
        yield _unknown(value, f"nothing that {name} shows", OBSERVATIONS[name].values)


def _unknown(word: str, what: str, known: Iterable[str]) -> str:
    known = list(known)
    close = nearest(word[:_LONGEST], known)
    hint = f'did you mean "{close}"?' if close else f"there is {', '.join(known)}"
    given = quoted(word) if close else named(word, "what is given")
    return f"{given} is {what}; {hint}"
