"""The catalogue of checks: each from its own docstring, with what its own example gives.

`python -m auditor.catalogue docs/checks.md` writes the page.
"""

import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from textwrap import indent

from auditor.audit import audit
from auditor.checks.registry import Check, in_order
from auditor.examples import fleet_of
from auditor.findings import Finding, Stage
from auditor.reports.as_json import json_text
from auditor.reports.layout import headline, wrapped

WIDTH = 80
EXAMPLE_DAY = datetime(2026, 2, 1, tzinfo=UTC)
"""The day on which the examples are audited: a month before the example kit's first session."""

_OPENING = """\
# The checks

Each check belongs to the stage of the climb at which its fault stops a module.
A fault blocks the stage, a risk may fail or is unsafe, advice changes no
verdict; a policy can change how grave a check is. Each example is laid over a
clean kit, audited, and quoted with the first thing that the check says of it."""


def listing() -> str:
    """Return every check in two lines or more: what it is called, and when it fires."""
    return "\n".join(_listed(check) for check in in_order()) + "\n"


def as_json() -> str:
    """Return every check as a JSON text."""
    return json_text(
        [
            {
                "id": check.id,
                "stage": check.stage,
                "severity": check.severity,
                "title": check.title,
                "source": check.source,
            }
            for check in in_order()
        ]
    )


def page() -> str:
    """Return the whole page of the manual."""
    stages = (_section(stage) for stage in (*Stage, None))
    return "\n\n".join([_OPENING, *(section for section in stages if section)]) + "\n"


def entry(check: Check) -> str:
    """Return what there is to say of one check, with an example of what it finds."""
    return "\n\n".join([f"{check.id}: {_standing(check)}", *_parts(check)]) + "\n"


def _listed(check: Check) -> str:
    head = headline(f"{check.id}: {_standing(check)}", f"[{check.source}]", WIDTH)
    return f"{head}\n{wrapped(check.title, WIDTH, '  ')}"


def _standing(check: Check) -> str:
    return f"{check.severity} at {check.stage or 'the stage of the setting'}"


def _section(stage: Stage | None) -> str:
    entries = [_chapter(check) for check in in_order() if check.stage is stage]
    heading = stage.capitalize() if stage else "Any stage"
    return "\n\n".join([f"## {heading}", *entries]) if entries else ""


def _chapter(check: Check) -> str:
    return "\n\n".join([f"### {check.id}", f"{_standing(check).capitalize()}.", *_parts(check)])


def _parts(check: Check) -> Iterator[str]:
    for paragraph in (check.title, *check.why.split("\n\n")):
        yield wrapped(paragraph, WIDTH)
    yield wrapped(f"To mend it: {check.remedy}", WIDTH)
    yield "Example, laid over a kit in which all is well:" if _is_toml(check) else "Example:"
    yield indent(check.example, "    ")
    yield from _outcome(_first_finding(check))
    yield wrapped(f"Source: {check.source}.", WIDTH)


def _is_toml(check: Check) -> bool:
    return check.example.startswith("[")


def _first_finding(check: Check) -> Finding:
    result = audit(fleet_of(check.example), EXAMPLE_DAY, {check.id})
    return result.findings[0]


def _outcome(finding: Finding) -> Iterator[str]:
    place = f" ({finding.where[0]})" if finding.where else ""
    yield wrapped(f"What is said of it{place}:", WIDTH)
    yield "\n".join(wrapped(text, WIDTH, "    ") for text in (finding.message, finding.remedy))


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(page(), encoding="utf-8")
