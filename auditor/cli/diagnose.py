"""`auditor diagnose`: one board that does not work, at the bench."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from auditor.cli.choices import (
    AllowOption,
    ColumnOption,
    FleetArgument,
    ForceOption,
    Format,
    FormatOption,
    OutputOption,
    PolicyOption,
    WithoutSecretsOption,
)
from auditor.cli.status import Status

if TYPE_CHECKING:
    from collections.abc import Iterable

    from auditor.models.fleet_file import FleetFile
    from auditor.tasks.diagnosis.diagnosis import Diagnosis


def diagnose(
    fleet: FleetArgument,
    id: Annotated[str, typer.Argument(metavar="ID", help="The board that does not work.")],
    seen: Annotated[
        list[str] | None,
        typer.Option(metavar="WHAT=VALUE", help="Something that was seen of it (repeatable)."),
    ] = None,
    format: FormatOption = Format.TEXT,
    output: OutputOption = None,
    force: ForceOption = False,
    policy: PolicyOption = None,
    column: ColumnOption = None,
    without_secrets: WithoutSecretsOption = False,
    allow_folder: AllowOption = None,
) -> None:
    """Ranks what keeps a board from working, and what to see next.

    What can be seen: indicator (dark, steady, blinking, restarting), others-work, ping (yes, no)
    and more; start without, and it asks for the next.

    Exit status: 0 nothing is wrong in the file or in what is seen, 1 something is, 2 the input
    cannot be used.
    """
    from auditor.cli.auditing import audited, read
    from auditor.cli.output import deliver, line_width, refuse_inputs
    from auditor.reading.inputs import inputs
    from auditor.reports import diagnosis as reports
    from auditor.reports.redaction import redacted
    from auditor.tasks.diagnosis.diagnosis import diagnosis
    from auditor.tasks.diagnosis.vocabulary import observed

    observations = observed(seen or ())
    file = read(
        fleet,
        column or (),
        policy=policy,
        with_secrets=not without_secrets,
        allowed=allow_folder or (),
    )
    refuse_inputs(output, inputs(file, policy))
    index = _position(file, id)
    found = redacted(diagnosis(file, audited(file), index, observations), file.secrets)
    is_json = format is Format.JSON
    deliver(
        reports.json(found) if is_json else reports.text(found, line_width(output)),
        output,
        force=force,
    )
    raise typer.Exit(_status(found))


def _status(found: Diagnosis) -> Status:
    return Status.FOUND if found.is_something_wrong else Status.CLEAN


def _position(file: FleetFile, id: str) -> int:
    """Return the position of the module with an id, the first where several have it."""
    from auditor.compute.near_misses import nearest
    from auditor.models.places import Place
    from auditor.reading.problems import Problem, UnusableError, quoted
    from auditor.reading.quoting import named
    from auditor.reports.redaction import redacted

    ids = file.entries.ids
    if id in ids:
        return ids.index(id)
    close = nearest(id[:100], ids)
    given = quoted(id) if close else named(id, "what is given")
    hint = f"did you mean {quoted(close)}?" if close else _some(ids)
    problem = Problem(Place(file.file), f"{given} is no module of this kit; {hint}")
    raise UnusableError(redacted((problem,), file.secrets))


def _some(ids: Iterable[str]) -> str:
    from auditor.reports.layout import listed

    return f"its modules are {listed(ids, 5)}"
