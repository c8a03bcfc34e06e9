"""What may be wrong with one board, as a text and as JSON."""

from collections.abc import Iterable, Iterator, Sequence

from tabulate import tabulate

from auditor.findings import Finding
from auditor.reports.as_json import FORMAT, json_text
from auditor.reports.layout import USUAL_WIDTH, counted, headline, wrapped
from auditor.tasks.diagnosis.diagnosis import (
    Diagnosis,
    NextObservation,
    RankedCause,
    percent,
)

MOST_CAUSES = 10
MOST_REMEDIES = 3
LIKELY = 0.1
"""From here on a cause is worth acting on."""
IN_FILE = "the file"
_HEADERS = ("chance", "cause", "stage", "for", "against")
_GAP = 2


def text(found: Diagnosis, width: int = USUAL_WIDTH) -> str:
    """Return the diagnosis as lines of at most `width` characters, what to do next at the end."""
    parts = (
        _head(found, width),
        _findings(found.findings, width),
        _table(found.causes[:MOST_CAUSES], width),
        _remedies(found, width),
        _next(found.next, width),
    )
    return "\n\n".join(part for part in parts if part) + "\n"


def json(found: Diagnosis) -> str:
    """Return the diagnosis as JSON, format 1."""
    return json_text(
        {
            "format": FORMAT,
            "id": found.id,
            "seen": dict(found.seen),
            "causes": [_cause(cause, found) for cause in found.causes],
            "next": _as_json(found.next),
            "contradiction": found.contradiction,
        }
    )


def _cause(cause: RankedCause, found: Diagnosis) -> dict[str, object]:
    in_file = [] if cause.found_at is None else [f"found in the file: {cause.found_at}"]
    return {
        "cause": cause.cause,
        "stage": cause.stage,
        "probability": round(cause.probability, 6),
        "for": [*in_file, *(f"{name}={found.seen[name]}" for name in cause.supporting)],
        "against": [_against(name, cause, found) for name in cause.opposing],
        "remedy": cause.remedy,
    }


def _against(name: str, cause: RankedCause, found: Diagnosis) -> str:
    return f"{name}={found.seen[name]} (it would be {' or '.join(cause.expected[name])})"


def _as_json(following: NextObservation | None) -> dict[str, object] | None:
    if following is None:
        return None
    return {
        "observation": following.observation,
        "minutes": following.minutes,
        "information_bits": round(following.information_bits, 6),
        "how": following.how,
        "meanings": dict(following.meanings),
    }


def _head(found: Diagnosis, width: int) -> str:
    seen = ", ".join("=".join(each) for each in found.seen.items())
    said = f"seen: {seen}" if seen else "Nothing is seen yet: this is from the file alone."
    lines = [f"{found.id}: {found.title}", said]
    lines += [found.contradiction] if found.contradiction else []
    return "\n".join(wrapped(line, width, hanging="  ") for line in lines)


def _findings(findings: Iterable[Finding], width: int) -> str:
    lines = [line for finding in findings for line in _finding(finding, width)]
    return (
        "\n".join(["The audit finds in the file:", *lines])
        if lines
        else ("The audit finds nothing wrong with it in the file.")
    )


def _finding(finding: Finding, width: int) -> Iterator[str]:
    where = str(finding.where[0]) if finding.where else ""
    yield headline(f"  {finding.check}: {finding.severity} at {finding.stage}", where, width)
    yield wrapped(finding.message, width, "    ")


def _table(causes: Sequence[RankedCause], width: int) -> str:
    """Return the likeliest causes with what speaks for and against each."""
    named = [(percent(cause.probability), cause.cause, cause.stage) for cause in causes]
    rows = [_HEADERS, *((*row, *_reasons(cause)) for row, cause in zip(named, causes, strict=True))]
    widest = [max(len(row[column]) for row in rows) for column in range(len(_HEADERS))]
    left = width - sum(widest[:3]) - _GAP * (len(_HEADERS) - 1)
    against = min(widest[4], left // 2)
    cells = [(*row[:3], wrapped(row[3], left - against), wrapped(row[4], against)) for row in rows]
    drawn = tabulate(
        cells,
        tablefmt="plain",
        disable_numparse=True,
        colalign=("right", "left", "left", "left", "left"),
    )
    return "\n".join(line.rstrip() for line in drawn.splitlines())


def _reasons(cause: RankedCause) -> tuple[str, str]:
    in_file = () if cause.found_at is None else (IN_FILE,)
    return ", ".join((*in_file, *cause.supporting)), ", ".join(cause.opposing)


def _remedies(found: Diagnosis, width: int) -> str:
    """Return what to do about the likeliest causes; what they are, where no finding has said it."""
    parts = []
    for cause in found.causes[:MOST_REMEDIES]:
        if cause.probability < LIKELY:
            break
        lines = [cause.cause] + ([cause.message] if cause.found_at is None else [])
        parts += [wrapped(lines[0], width)]
        parts += [wrapped(line, width, "  ") for line in (*lines[1:], cause.remedy)]
    return "\n".join(parts)


def _next(following: NextObservation | None, width: int) -> str:
    if following is None:
        return wrapped(
            "Nothing that is left to look at tells more: try what is said above, from the top.",
            width,
        )
    name, values = following.observation, list(following.meanings)
    widest = max(map(len, values))
    lines = [f"Look at this next: {name} ({_minutes(following.minutes)})"]
    lines.append(wrapped(following.how, width, "  "))
    lines += [
        wrapped(f"{value:{widest}}  {meaning}", width, "  ", " " * (widest + 4))
        for value, meaning in following.meanings.items()
    ]
    choices = " or ".join([", ".join(values[:-1]), values[-1]])
    lines.append(wrapped(f"Then ask again with --seen {name}= added: {choices}.", width))
    return "\n".join(lines)


def _minutes(minutes: float) -> str:
    return "half a minute" if minutes == 0.5 else counted(round(minutes), "minute")
