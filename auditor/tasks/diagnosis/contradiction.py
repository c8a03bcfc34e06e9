"""What was seen and does not fit together, under any cause there is."""

from collections.abc import Mapping
from itertools import combinations

from auditor.tasks.diagnosis.causes import Values
from auditor.tasks.diagnosis.reasoning import Reasoning

_Seen = tuple[str, str]


def contradiction(reasoning: Reasoning) -> str | None:
    """Return what does not fit together of what was seen, and why; None where a cause explains it.

    Two things are named that no cause predicts together, the least likely two; where any two fit,
    the cause that comes nearest to all is.
    """
    things = list(reasoning.seen.items())
    if reasoning.is_explained(things):
        return None
    pairs = [p for p in combinations(things, 2) if not reasoning.is_explained(p)]
    said = _two(min(pairs, key=reasoning.likelihood), reasoning) if pairs else _all(reasoning)
    broken = " (or the indicator itself is broken)" if "indicator" in reasoning.seen else ""
    return (
        f"{said} Look at each once more, and whether it is this board; if all of it is so, two "
        f"things are wrong at once{broken}."
    )


def _two(pair: tuple[_Seen, _Seen], reasoning: Reasoning) -> str:
    """Say which two things no cause explains, and what goes with the one and with the other."""
    first, second = pair
    named = f"{_written(first)} and {_written(second)}"
    reasons = "; ".join(filter(None, (_goes(*pair, reasoning), _goes(second, first, reasoning))))
    return f"No cause explains {named} together{f': {reasons}' if reasons else ''}."


def _goes(thing: _Seen, other: _Seen, reasoning: Reasoning) -> str:
    """Say what goes with a thing under its likeliest cause; nothing where no cause explains it."""
    for cause in reasoning.ranked(reasoning.after(dict([thing]))):
        row = reasoning.predictions[cause]
        if thing[1] in row[thing[0]]:
            name = reasoning.causes[cause].name
            return f"{_written(thing)} (as by {name}) goes with {_expected(other[0], row)}"
    return ""


def _all(reasoning: Reasoning) -> str:
    """Say which cause comes nearest, and what it would show otherwise."""
    nearest = reasoning.ranked(reasoning.probabilities)[0]
    row = reasoning.predictions[nearest]
    missed = [name for name, value in reasoning.seen.items() if value not in row[name]]
    otherwise = " and ".join(_expected(name, row) for name in missed)
    name = reasoning.causes[nearest].name
    return f"No cause explains all that is seen; the nearest, {name}, would show {otherwise}."


def _expected(name: str, row: Mapping[str, Values]) -> str:
    return f"{name}={' or '.join(row[name])}"


def _written(thing: _Seen) -> str:
    return "=".join(thing)
